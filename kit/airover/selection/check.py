"""A selection rule, its result for every motor, and one motor's check.

A rule exists once: it evaluates all motors of a catalog at a time and gives each an outcome, a
word. The rule's table gives the state of an outcome (pass, adapt, fail, missing, note), the texts
under ``why`` its sentence.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word

PASS, ADAPT, FAIL, MISSING, NOTE = "pass", "adapt", "fail", "missing", "note"
STATES = (PASS, NOTE, ADAPT, MISSING, FAIL)  # from good to bad
UNJUDGED = "unjudged"  # outcome for a motor that was not simulated; it fails for another reason
MOST_QUESTIONS = 2  # more than these are remarks: a person asks only what decides

# Keys of the texts `source`.
TRADE, MODEL = "trade", "model"


@dataclass(frozen=True, eq=False)
class RuleResult:
    """Result of a rule: ``outcome`` (motors,), words of the rule's ``states``.

    ``found``, ``limit`` and ``margin`` are arrays (motors,), a Band of such arrays, a sequence of
    words, or one value for all; NaN and None where there is none. ``facts`` are further values of
    the sentence, each with its kind of quantity. ``passes`` (motors, samples), of rules that depend
    on samples: where the motor does its job.
    """

    outcome: np.ndarray
    found: object = None
    limit: object = None
    margin: object = None
    facts: dict = field(default_factory=dict)
    passes: np.ndarray | None = None


@dataclass(frozen=True)
class Rule:
    """One rule of selection.

    ``evaluate`` takes a Comparison and returns a RuleResult. ``states`` maps each outcome to its
    state. ``needs`` reads the facts of a job that a plain rule looks at, None for a rule that needs
    the job's conditions; ``simulated`` says that the motor must be simulated. ``unit`` is that of
    the figures, ``kind`` their kind of quantity in texts. ``priority`` orders questions: low
    numbers decide most; ``source`` is a key of the texts `source`.
    """

    name: str
    evaluate: Callable
    states: dict[str, str]
    needs: Callable | None = None
    simulated: bool = False
    source: str = TRADE
    unit: str = ""
    kind: str = ""
    priority: int = 9

    @cached_property
    def ranks(self) -> dict[str, int]:
        """The place in STATES of each outcome."""
        return {outcome: STATES.index(state) for outcome, state in self.states.items()} | {
            UNJUDGED: STATES.index(NOTE)
        }

    def rank(self, found: RuleResult) -> np.ndarray:
        """Places in STATES, (motors,)."""
        return np.array([self.ranks[one] for one in found.outcome.tolist()], dtype=np.int8)


@dataclass(frozen=True)
class Check:
    """One rule on one motor: ``found``, ``limit`` and ``margin`` in ``unit`` (a number, a Band,
    words or None), its ``outcome`` and the ``state`` that follows, and the key of the rule's
    ``source``.
    """

    name: str
    state: str
    outcome: str
    source: str
    found: float | Band | str | tuple[str, ...] | None = None
    limit: float | Band | str | None = None
    margin: float | Band | None = None
    unit: str = ""
    kind: str = ""
    facts: dict = field(default_factory=dict)

    @property
    def why(self) -> Message:
        """The sentence for people."""
        key = self.outcome if self.outcome == UNJUDGED else f"{self.name}.{self.outcome}"
        return Message(f"why.{key}", **self.values)

    @cached_property
    def values(self) -> dict:
        """The values of the sentence: of a Band its middle, and its ends by names of their own."""
        named = {name: (getattr(self, name), self.kind) for name in ("found", "limit", "margin")}
        values = {}
        for name, (value, kind) in (named | self.facts).items():
            if isinstance(value, Band):
                for end in ("low", "high"):
                    values[f"{name}_{end}"] = _placed(getattr(value, end), kind)
                value = value.mid
            values[name] = _placed(value, kind)
        return values


def check_of(rule: Rule, found: RuleResult, number: int, state: str) -> Check:
    """The check of motor ``number`` by ``rule``; ``state`` may be milder than the rule's own."""
    facts = {name: (_one(value, number), kind) for name, (value, kind) in found.facts.items()}
    figures = (_one(value, number) for value in (found.found, found.limit, found.margin))
    outcome = str(found.outcome[number])
    return Check(rule.name, state, outcome, rule.source, *figures, rule.unit, rule.kind, facts)


def remark(name: str, outcome: str, source: str, found, unit: str, kind: str, facts) -> Check:
    """A Check that is a note and follows from no rule."""
    return Check(name, NOTE, outcome, source, found, unit=unit, kind=kind, facts=facts)


def _placed(value, kind: str):
    """A value as a Message has it."""
    if isinstance(value, Message):
        return value
    if _words(value):
        return tuple(map(Word, value))
    if value is None or isinstance(value, str):
        return value and Word(value)
    return Quantity(1e-6 * value, "capacitance") if kind == "microfarad" else Quantity(value, kind)


def _words(value) -> bool:
    """True where ``value`` is several words; a Band is figures."""
    return isinstance(value, tuple) and not isinstance(value, Band)


def _one(value, number: int):
    """The value of one motor; None where it is not known."""
    if isinstance(value, Band):
        ends = [_one(end, number) for end in value]
        return None if None in ends else Band(*ends)
    if isinstance(value, (list, tuple)):
        return value[number]
    if isinstance(value, np.ndarray):
        value = value[number] if value.ndim else value[()]
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and np.isnan(value) else value
