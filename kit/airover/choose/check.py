"""What a selection rule is, what it finds for every motor, and one motor's check of it.

A rule exists once: it looks at all motors of a catalog at a time and says for each which outcome
it found. The state of an outcome (pass, adapt, fail, missing, note) stands in the rule, its
sentence in the texts under ``why``.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from airover.bands import Band
from airover.texts import Texts
from airover.units import show

PASS, ADAPT, FAIL, MISSING, NOTE = "pass", "adapt", "fail", "missing", "note"
STATES = (PASS, NOTE, ADAPT, MISSING, FAIL)  # from good to bad
UNJUDGED = "unjudged"  # outcome for a motor that was not simulated; it fails for another reason
MOST_QUESTIONS = 2  # more than these are remarks: a person asks what decides, not everything

# Figures of sentences that have no kind of quantity in ``units``, or digits of their own.
PLAIN_FIGURES = {
    "percent": (100, "{:.0f} %"), "times": (1, "{:.2f}"), "count": (1, "{:,.0f}"),
    "amps": (1, "{:.2f} A"),
}  # fmt: skip

TRADE = "common practice, no source"
MODEL = "calculated by this kit's motor and heat models"


@dataclass(frozen=True, eq=False)
class Found:
    """What a rule finds: ``outcome`` (motors,), words of the rule's ``states``.

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

    ``evaluate`` takes a Comparison and returns what it Found. ``states`` maps each outcome to its
    state. ``needs`` reads the facts of a job that a plain rule looks at, None for a rule that needs
    the job's conditions; ``simulated`` says that the motor must be simulated. ``unit`` is that of
    the figures, ``kind`` their kind of quantity in texts. ``priority`` orders questions: low
    numbers decide most.
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

    def rank(self, found: Found) -> np.ndarray:
        """Places in STATES, (motors,)."""
        return np.array([self.ranks[one] for one in found.outcome.tolist()], dtype=np.int8)


@dataclass(frozen=True)
class Check:
    """One rule on one motor: ``found``, ``limit`` and ``margin`` in ``unit`` (a number, a Band, a
    word or None), its ``outcome`` and the ``state`` that follows, and the ``source`` of the rule.
    """

    name: str
    state: str
    outcome: str
    source: str
    found: float | Band | str | None = None
    limit: float | Band | str | None = None
    margin: float | Band | None = None
    unit: str = ""
    kind: str = ""
    facts: dict = field(default_factory=dict)
    system: str = "US"

    @cached_property
    def why(self) -> str:
        """The sentence for people, in English."""
        return self.sentence(Texts("en"), self.system)

    def sentence(self, texts: Texts, system: str, written=str) -> str:
        """The sentence in the language of ``texts``, amounts in ``system`` "US" or "SI".

        ``written`` gives each amount its typographic signs.
        """
        key = self.outcome if self.outcome == UNJUDGED else f"{self.name}.{self.outcome}"
        return texts(f"why.{key}", **self.values(texts, system, written))

    def values(self, texts: Texts, system: str, written=str) -> dict[str, str]:
        """The values of the sentence by name, as texts; a band has its ends as well."""
        named = {"found": self.found, "limit": self.limit, "margin": self.margin}
        given = {name: (value, self.kind) for name, value in named.items()} | self.facts
        for name, (value, kind) in tuple(given.items()):
            if isinstance(value, Band):
                given |= {f"{name}_low": (value.low, kind), f"{name}_high": (value.high, kind)}
        return {
            name: _shown(value, kind, texts, system, written)
            for name, (value, kind) in given.items()
        }

    def to_dict(self) -> dict:
        """The contract's fields of a check."""
        names = ("name", "state", "found", "limit", "margin", "unit", "why", "source", "outcome")
        return {name: getattr(self, name) for name in names}


def check_of(rule: Rule, found: Found, number: int, state: str, system: str) -> Check:
    """The check of motor ``number`` by ``rule``; ``state`` may be milder than the rule's own."""
    facts = {name: (_one(value, number), kind) for name, (value, kind) in found.facts.items()}
    figures = (_one(value, number) for value in (found.found, found.limit, found.margin))
    outcome = str(found.outcome[number])
    return Check(
        rule.name, state, outcome, rule.source, *figures, rule.unit, rule.kind, facts, system
    )


def remark(name: str, outcome: str, source: str, found, unit: str, kind: str, facts, system):
    """A Check that is a note and follows from no rule."""
    given = replace(Check(name, NOTE, outcome, source), found=found, unit=unit, kind=kind)
    return replace(given, facts=facts, system=system)


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


def _shown(value, kind: str, texts: Texts, system: str, written) -> str:
    """A value of a sentence: an amount of its ``kind``, a plain figure, or words."""
    if value is None:
        return texts.word("unknown")
    if isinstance(value, str):
        return texts.word(value) if texts.has(f"word.{value}") else texts.words(value.split(", "))
    if isinstance(value, Band):
        value = value.mid
    if kind == "hours":
        return written(f"{float(f'{value:.2g}'):,.0f}")
    if kind == "years":
        return "<1" if value < 0.5 else ">40" if value > 40 else f"{value:.0f}"
    if kind in PLAIN_FIGURES:
        times, form = PLAIN_FIGURES[kind]
        return written(form.format(times * value))
    if kind == "microfarad":
        value, kind = value * 1e-6, "capacitance"
    return written(show(float(value), kind, system))
