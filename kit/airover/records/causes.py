"""Causes of failure and the findings that indicate them, read from an editable file."""

import os
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError, part
from airover.core.files import read_text
from airover.core.message import Message
from airover.core.toml import LARGEST_FILE, as_typed, only, plain, toml_table
from airover.core.units import quoted
from airover.records import found
from airover.records.fields import BEARINGS, SHAFT_POSITIONS

WHOLE = 100.0
ROUNDING = 0.5  # tolerance for the sum of a row
_FILE = Message("error.causes.file")

WITHIN, BY_LOW, BY_HIGH, BY_AIR, BY_MORE = (
    "within its class",
    "over by low voltage",
    "over by high voltage",
    "over by the air",
    "over by more than one",
)
COOL_AIR, HOT_AIR = "within the rating", "above the rating"
WITHIN_TOLERANCE, WEAK, FAR_BELOW, DEAD, TOO_LARGE = (
    "within tolerance",
    "weak",
    "far below its marking",
    "dead",
    "too large",
)
IN_RANGE, LOW_VOLTS, HIGH_VOLTS = "within 10 % of its rating", "low", "high"
AS_RATED, HIGH_AMPS, LOW_AMPS = "as rated", "high", "low"
# Findings and their states. Observed findings come before simulated findings.
STATES: dict[str, tuple[str, ...]] = {
    "winding": tuple(found.WINDINGS),
    "bearings": tuple(found.BEARINGS),
    "inside": tuple(found.INSIDE),
    "drain_plugs": tuple(found.PLUGS),
    "slinger": tuple(found.SLINGERS),
    "start": tuple(found.STARTS),
    "trips": tuple(found.TRIPS),
    "blade": tuple(found.BLADES),
    "coil": tuple(found.COILS),
    "leads": tuple(found.LEADS),
    "supply": tuple(found.SUPPLY),
    "rotation": tuple(found.TURNS),
    "age": ("under 3 years", "3 to 10 years", "over 10 years"),
    "earlier_failures": ("none", "one or more"),
    "shaft_position": tuple(SHAFT_POSITIONS),
    "bearing_kind": tuple(BEARINGS),
    "heat": (WITHIN, BY_LOW, BY_HIGH, BY_AIR, BY_MORE),
    "air": (COOL_AIR, HOT_AIR),
    "capacitor": (WITHIN_TOLERANCE, WEAK, FAR_BELOW, DEAD, TOO_LARGE),
    "current": (AS_RATED, HIGH_AMPS, LOW_AMPS),
    "voltage": (IN_RANGE, LOW_VOLTS, HIGH_VOLTS),
}


# Causes whose names and corrections are in the message files. For any other cause, the file of
# causes must provide them.
KNOWN_CAUSES = (
    "low_voltage", "high_voltage", "hot_air", "blocked_coil", "capacitor", "water", "bearing_wear",
    "blade", "overload", "backward", "wiring", "surge", "old_insulation", "other",
)  # fmt: skip


class Cause(NamedTuple):
    """Cause of failure.

    Attributes
    ----------
    key : str
        Key of the cause in the file.
    name : str or Message
        Displayed name.
    correct : tuple[str or Message, ...]
        Corrections for the cause.
    """

    key: str
    name: str | Message
    correct: tuple[str | Message, ...]


class FindingTable(NamedTuple):
    """Finding to look for, with the probability of each of its states for each cause.

    Attributes
    ----------
    key : str
        Key of the finding in the file.
    ask : str or Message
        Question for the technician.
    states : tuple[str, ...]
        Possible states.
    table : ndarray
        Probability of each state for each cause, shape (causes, states). The sum of each row is 1.
    own : ndarray
        False for causes that use a default row, shape (causes,).
    unless : str
        Key of a finding that makes this finding irrelevant, or "".
    """

    key: str
    ask: str | Message
    states: tuple[str, ...]
    table: np.ndarray
    own: np.ndarray
    unless: str = ""


@dataclass(frozen=True)
class Causes:
    """Causes and findings with their probabilities.

    Attributes
    ----------
    causes : tuple[Cause, ...]
        Causes in file order.
    prior : ndarray
        Prior probability of each cause, shape (causes,). The sum is 1.
    findings : dict[str, FindingTable]
        Finding tables by key.
    basis : str or Message
        Source of the probabilities.
    """

    causes: tuple[Cause, ...]
    prior: np.ndarray
    findings: dict[str, FindingTable]
    basis: str | Message


def read_causes(path: str | os.PathLike) -> Causes:
    """Read the causes from a TOML file.

    Raises
    ------
    InputError
        If an entry is missing or unknown, or if a row does not add up to 100. The error names the
        table and the row.
    """
    return causes_of(read_text(path, _FILE, LARGEST_FILE))


@lru_cache(maxsize=4)
def causes_of(text: str) -> Causes:
    """Read the causes from TOML text. Raises the same InputError as `read_causes`."""
    given = toml_table(text, _FILE)
    only(given, ("basis", "causes", "findings"), _FILE)
    tables = _table(given, "causes", _FILE)
    if len(tables) < 2:
        given = Message("error.causes.count", count=len(tables))
        raise InputError(part(_FILE, "causes"), given, Message("error.causes.two"))
    prior = np.array([_prior(key, table) for key, table in tables.items()])
    seen = _table(given, "findings", _FILE)
    only(seen, STATES, part(_FILE, "findings"))
    findings = {key: _finding(key, seen, tuple(tables)) for key in seen}
    return Causes(
        causes=tuple(_cause(key, table) for key, table in tables.items()),
        prior=prior / prior.sum(),
        findings=findings,
        basis=_text(given, "basis", _FILE) if "basis" in given else Message("failure.basis"),
    )


def _prior(key: str, table: object) -> float:
    place, names = part(_FILE, f"causes {key}"), ("name", "prior", "correct")
    if not isinstance(table, dict):
        raise InputError(place, quoted(table), Message("error.field.table_of", names=names))
    only(table, names, place)
    return _parts([table.get("prior")], part(place, "prior"))[0]


def _cause(key: str, table: dict) -> Cause:
    place = part(_FILE, f"causes {key}")
    known, correct, field = key in KNOWN_CAUSES, table.get("correct"), part(place, "correct")
    if known and correct is None:
        sentences = (Message(f"failure.correct.{key}"),)
    elif not isinstance(correct, list) or not correct:
        raise InputError(field, quoted(correct), Message("error.causes.sentences"))
    else:
        sentences = tuple(plain(one, field) for one in correct)
    named = known and "name" not in table
    return Cause(key, Message(f"cause.{key}") if named else _text(table, "name", place), sentences)


def _finding(key: str, tables: dict, causes: tuple[str, ...]) -> FindingTable:
    place = part(_FILE, f"findings {key}")
    table, states = _table(tables, key, part(_FILE, "findings")), STATES[key]
    only(table, ("ask", "states", "unless", "others", *causes), place)
    if table.get("states") != list(states):
        words = ", ".join(f'"{state}"' for state in states)
        accepted = Message("error.causes.in_order", words=words)
        raise InputError(part(place, "states"), quoted(str(table.get("states"))), accepted)
    unless = table.get("unless", "")
    if not isinstance(unless, str) or (unless and unless not in tables):
        accepted = Message("error.causes.other_finding")
        raise InputError(part(place, "unless"), quoted(str(unless)), accepted)
    rows = np.array([_row(table, cause, len(states), place) for cause in causes])
    own = np.array([cause in table for cause in causes])
    ask = _text(table, "ask", place) if "ask" in table else Message(f"failure.ask.{key}")
    return FindingTable(key, ask, states, rows, own, unless)


def _row(table: dict, cause: str, count: int, place: Message) -> np.ndarray:
    """Return the probabilities of the states for a given cause."""
    name = cause if cause in table else "others"
    row, place = table.get(name), part(place, name)
    if not isinstance(row, list) or len(row) != count:
        raise InputError(place, as_typed(row), Message("error.causes.numbers", count=count))
    parts = _parts(row, place)
    if abs(parts.sum() - WHOLE) > ROUNDING:
        given = Message("error.causes.sum", sum=f"{parts.sum():g}")
        raise InputError(place, given, Message("error.causes.whole"))
    return parts / parts.sum()


def _parts(numbers: list, place: Message) -> np.ndarray:
    """Check percentages. Zeros are rejected, because no other finding could outweigh them."""
    for number in numbers:
        typed = isinstance(number, int | float) and not isinstance(number, bool)
        if not typed or not 0 < number <= WHOLE:
            raise InputError(place, as_typed(number), Message("error.causes.share"))
    return np.array(numbers, dtype=float)


def _table(table: dict, name: str, place: Message) -> dict:
    found_table = table.get(name)
    if not isinstance(found_table, dict):
        accepted = Message("error.field.a_table")
        raise InputError(part(place, name), as_typed(found_table), accepted)
    return found_table


def _text(table: dict, name: str, place: Message) -> str:
    return plain(table.get(name), part(place, name))
