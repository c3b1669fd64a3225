"""Define a selection rule, its result for all motors, and the resulting check of one motor.

A rule evaluates all motors in a catalog at once and assigns an outcome, which is a single word, to
each motor. The rule's table gives the state for each outcome (pass, adapt, fail, missing or note),
and the messages under ``why`` explain it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from math import isnan

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word
from airover.records.limits import ChangedLimit

PASS, ADAPT, FAIL, MISSING, NOTE = "pass", "adapt", "fail", "missing", "note"
STATES = (PASS, NOTE, ADAPT, MISSING, FAIL)  # from best to worst
# outcomes that occur only if a limit was changed; their messages are under `limits.why`
OUTCOMES_OF_A_LIMIT = ("higher_allowed", "below_margin")
FIGURES = ("found", "limit", "margin")  # values of every rule
UNJUDGED = "unjudged"  # outcome of a motor that was not simulated because it fails another rule
MOST_QUESTIONS = 2  # only the most decisive questions are asked; the others become remarks

# Message keys under `source`.
TRADE, MODEL = "trade", "model"


@dataclass(frozen=True, eq=False)
class RuleResult:
    """Result of a rule for all motors.

    Attributes
    ----------
    outcome : ndarray
        Outcome for each motor, a key of ``Rule.states``, shape (motors,).
    found, limit, margin : object
        Arrays of shape (motors,), a Band of such arrays, a sequence of words, or one value for all
        motors (NaN or None if unknown).
    facts : dict
        Additional values for the message, with their types of quantity.
    passes : ndarray or None
        True for each sample in which a motor passes, shape (motors, samples), or None if the rule
        does not depend on samples.
    """

    outcome: np.ndarray
    found: object = None
    limit: object = None
    margin: object = None
    facts: dict = field(default_factory=dict)
    passes: np.ndarray | None = None

    @cached_property
    def rows(self) -> list[tuple]:
        """Outcome, values of FIGURES and values of the facts of each motor. NaN becomes None.

        They are converted for all motors at once.
        """
        outcomes = self.outcome.tolist()
        values = [getattr(self, name) for name in FIGURES]
        values += [value for value, _ in self.facts.values()]
        columns = [_column(value, len(outcomes)) for value in values]
        return list(zip(outcomes, *columns, strict=True))

    def row(self, number: int) -> tuple:
        """Return the row of motor ``number`` in `rows`, without converting the others."""
        values = [getattr(self, name) for name in FIGURES]
        values += [value for value, _ in self.facts.values()]
        return self.outcome[number], *(_value(value, number) for value in values)


@dataclass(frozen=True)
class Rule:
    """Selection rule.

    Attributes
    ----------
    evaluate : Callable
        Function that takes a Comparison and returns a RuleResult.
    states : dict[str, str]
        State for each outcome.
    needs : Callable or None
        Function that returns the job data used by a plain rule, or None for a rule that needs the
        job's conditions.
    simulated : bool
        True if the motor must be simulated.
    source : str
        Message key of the source.
    unit : str
        Unit of the displayed values.
    kind : str
        Type of quantity of the displayed values.
    priority : int
        Priority of the question. The lowest number is the most decisive.
    limits : tuple[str, ...]
        Names of the job limits that the rule uses.
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
    limits: tuple[str, ...] = ()

    @cached_property
    def ranks(self) -> dict[str, int]:
        """Index in STATES for each outcome."""
        return {outcome: STATES.index(state) for outcome, state in self.states.items()} | {
            UNJUDGED: STATES.index(NOTE)
        }

    def rank(self, found: RuleResult) -> np.ndarray:
        """Return the index in STATES of each motor's state, shape (motors,)."""
        return np.array([self.ranks[one] for one in found.outcome.tolist()], dtype=np.int8)


@dataclass(frozen=True)
class Check:
    """Result of a rule for one motor, or for several motors with the same result.

    Attributes
    ----------
    state : str
        State that corresponds to the ``outcome``, or a milder state.
    source : str
        Key of the rule's source.
    found, limit, margin
        Values in ``unit`` (a number, a Band, words or None).
    changed : tuple[ChangedLimit, ...]
        Limits of the rule that are changed in the job.
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
    changed: tuple[ChangedLimit, ...] = ()

    @cached_property
    def why(self) -> Message:
        """Message that explains the result and names any limits that are changed in the job."""
        if self.outcome == UNJUDGED:
            return Message(f"why.{UNJUDGED}")
        own = self.outcome in OUTCOMES_OF_A_LIMIT
        table = "limits.why" if own else "why"
        why = Message(f"{table}.{self.name}.{self.outcome}", **self.values)
        if not self.changed:
            return why
        limits = tuple(one.message for one in self.changed)
        return Message("limits.said", why=why, limits=limits)

    @cached_property
    def values(self) -> dict:
        """Values for the message, with the limits of a Band under separate names."""
        named = {name: (getattr(self, name), self.kind) for name in FIGURES}
        values = {}
        for name, (value, kind) in (named | self.facts).items():
            if isinstance(value, Band):
                for end in ("low", "high"):
                    values[f"{name}_{end}"] = _placed(getattr(value, end), kind)
                value = value.mid
            values[name] = _placed(value, kind)
        return values


def check_of(
    rule: Rule, found: RuleResult, row: tuple, state: str, changed: tuple[ChangedLimit, ...]
) -> Check:
    """Return the check for a motor's ``row``, with the rule's ``state`` or a milder one.

    ``changed`` are the limits of the rule that are changed in the job.
    """
    outcome, *values = row
    figures, values = values[: len(FIGURES)], values[len(FIGURES) :]
    named = zip(found.facts.items(), values, strict=True)
    facts = {name: (value, kind) for (name, (_, kind)), value in named}
    told = rule.unit, rule.kind, facts, changed
    return Check(rule.name, state, outcome, rule.source, *figures, *told)


def remark(name: str, outcome: str, source: str, found, unit: str, kind: str, facts) -> Check:
    """Return a Check that is a note and does not result from a rule."""
    return Check(name, NOTE, outcome, source, found, unit=unit, kind=kind, facts=facts)


def _placed(value, kind: str):
    """Return a value in the form used in a Message."""
    if isinstance(value, Message):
        return value
    if _words(value):
        return tuple(map(Word, value))
    if value is None or isinstance(value, str):
        return value and Word(value)
    return Quantity(1e-6 * value, "capacitance") if kind == "microfarad" else Quantity(value, kind)


def _words(value) -> bool:
    """Return True if ``value`` is a sequence of words."""
    return isinstance(value, tuple) and not isinstance(value, Band)


def _value(value, number: int):
    """Return one motor's value out of the values for all motors, as `_column` converts them."""
    if isinstance(value, Band):
        ends = [_value(end, number) for end in value]
        return None if None in ends else Band(*ends)
    if isinstance(value, (list, tuple)):
        return value[number]
    if isinstance(value, np.ndarray) and value.ndim:
        value = value[number]
    if isinstance(value, (np.ndarray, np.generic)):
        value = value.item()
    return None if isinstance(value, float) and isnan(value) else value


def _column(value, motors: int):
    """Return the value for each of the motors. NaN becomes None."""
    if isinstance(value, Band):
        rows = zip(*(_column(end, motors) for end in value), strict=True)
        return [None if None in row else Band(*row) for row in rows]
    if isinstance(value, (list, tuple)):
        return value
    if isinstance(value, np.ndarray) and value.ndim:
        unknown = np.isnan(value).tolist() if value.dtype.kind == "f" else [False] * motors
        return [None if no else one for one, no in zip(value.tolist(), unknown, strict=True)]
    value = value.item() if isinstance(value, (np.ndarray, np.generic)) else value
    return [None if isinstance(value, float) and isnan(value) else value] * motors
