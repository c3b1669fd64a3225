"""Calculations step by step, as data: equation, numbers with their origin, result and 90 % range.

A result is an uncertain number, but an equation that a reader checks by hand needs one number for
each symbol. The equations therefore show one sample, the one nearest to the medians, and each
result has the 90 % range over all samples. Numbers come from the functions of the answer; the
expressions only say how they are connected, and tests compare the two.

The modules ``calculation_...`` return the sections of one subject each.
"""

from typing import NamedTuple

import numpy as np

from airover.core.formula import symbols
from airover.core.intervals import Band

# Origins of a value, keys of texts under ``calculation.origin``.
MEASURED, NAMEPLATE, CATALOG, ASSUMED = "measured", "nameplate", "catalog", "assumed"
ENTERED, IDENTIFIED, CONSTANT, CALCULATED = "entered", "identified", "constant", "calculated"
SOLVED = "solved"  # found by iteration


class Value(NamedTuple):
    """Value of a symbol.

    Attributes
    ----------
    number : complex or float
        Float, or complex for a phasor or an impedance.
    unit : str
        SI unit.
    origin : str
        One of the origins.
    kind : str
        Type of quantity for other units, empty if it has no such type.
    """

    number: complex | float
    unit: str
    origin: str
    kind: str = ""


class Step(NamedTuple):
    """One equation with its numbers.

    Attributes
    ----------
    symbol : str
        Symbol of the result, also the key of its name in the texts.
    expression : str
        Right side (`core.formula`).
    values : dict[str, Value]
        Value of each symbol in it.
    result : Value
        Result.
    band : Band or None
        90 % range of the result, of its magnitude if complex, None if it is exact.
    source : str
        Key of the equation's source.
    """

    symbol: str
    expression: str
    values: dict[str, Value]
    result: Value
    band: Band | None
    source: str


class Section(NamedTuple):
    """Steps under one heading.

    Attributes
    ----------
    subject : str
        "motor", "fan", "heat" or "bearings", the table of its symbols in the texts.
    key : str
        Key of its heading and introduction in the texts.
    """

    subject: str
    key: str
    steps: tuple[Step, ...]


class Sheet:
    """Symbols with their samples, from which the steps are written.

    Attributes
    ----------
    subject
        As in `Section`.
    samples
        Number of samples.
    chosen
        Index of the sample that the equations show.
    """

    def __init__(self, subject: str, samples: int, chosen: int):
        self._subject, self._samples, self._chosen = subject, samples, chosen
        self._values: dict[str, Value] = {}
        self._sections: list[tuple[str, list[Step]]] = []

    @property
    def sections(self) -> tuple[Section, ...]:
        """Return the sections that have steps."""
        sections = ((key, tuple(steps)) for key, steps in self._sections if steps)
        return tuple(Section(self._subject, key, steps) for key, steps in sections)

    def begin(self, key: str) -> None:
        """Begin a section."""
        self._sections.append((key, []))

    def given(self, name: str, samples, unit: str, origin: str, kind: str = "") -> None:
        """Define a symbol with a known value, a number or an array of samples."""
        self._values[name] = Value(self.one(samples), unit, origin, kind)

    def step(
        self, name: str, expression: str, samples, unit: str, source: str, kind: str = ""
    ) -> None:
        """Add a step whose result, ``samples`` of the symbol ``name``, a function has returned."""
        result = Value(self.one(samples), unit, CALCULATED, kind)
        values = {one: self._values[one] for one in symbols(expression)}
        self._sections[-1][1].append(
            Step(name, expression, values, result, self._band(samples), source)
        )
        self._values[name] = result

    def value(self, name: str) -> complex | float:
        """Return the number of a symbol."""
        return self._values[name].number

    def one(self, samples) -> complex | float:
        """Return the number that the equations show for ``samples``."""
        return np.broadcast_to(samples, (self._samples,))[self._chosen].item()

    def _band(self, samples) -> Band | None:
        samples = np.broadcast_to(samples, (self._samples,))
        size = np.abs(samples) if np.iscomplexobj(samples) else samples
        return None if np.ptp(size) <= 1e-9 * np.abs(size).max() else Band.of(size)


def nearest_to_medians(*figures) -> int:
    """Return the index of the sample nearest to the medians of ``figures``, arrays of samples.

    Distances are in standard deviations.
    """
    distance = np.zeros(np.broadcast_shapes(*map(np.shape, figures)))
    for figure in figures:
        spread = np.std(figure)
        distance = distance + ((figure - np.median(figure)) / (spread or 1.0)) ** 2
    return int(np.argmin(distance))


def origin_of(inputs, name: str, otherwise: str = CALCULATED) -> str:
    """Return the origin of the input called ``name`` among the ``inputs`` of `Conditions`."""
    return next((one.origin for one in inputs if one.name == name), otherwise)
