"""Step-by-step calculations with equations, numbers, results and 90 % ranges.

The results are uncertain, but checking an equation by hand requires a single number for each
symbol. The equations therefore show the sample nearest to the medians, and each result also has a
90 % range over all samples. The numbers come from the functions that calculate the answer.
Tests compare them with the evaluated expressions.

Each module named ``calculation_...`` returns the sections for one subject.
"""

from typing import NamedTuple

import numpy as np

from airover.core.formula import symbols
from airover.core.intervals import Band

# Origins of a value; keys of messages under ``calculation.origin``.
MEASURED, NAMEPLATE, CATALOG, ASSUMED = "measured", "nameplate", "catalog", "assumed"
ENTERED, IDENTIFIED, CONSTANT, CALCULATED = "entered", "identified", "constant", "calculated"
SOLVED = "solved"  # found by iteration


class Value(NamedTuple):
    """Value of a symbol.

    Attributes
    ----------
    number : complex or float
        Value, complex for a phasor or an impedance.
    unit : str
        SI unit.
    origin : str
        Origin of the value.
    kind : str
        Type of quantity for unit conversion, or empty.
    """

    number: complex | float
    unit: str
    origin: str
    kind: str = ""


class Step(NamedTuple):
    """Equation and its numerical values.

    Attributes
    ----------
    symbol : str
        Symbol of the result, which is also its key in the text files.
    expression : str
        Right side of the equation (see `core.formula`).
    values : dict[str, Value]
        Value of each symbol in the expression.
    result : Value
        Result.
    band : Band or None
        90 % range of the result or of its magnitude, or None if the result is exact.
    source : str
        Key of the source of the equation.
    """

    symbol: str
    expression: str
    values: dict[str, Value]
    result: Value
    band: Band | None
    source: str


class Section(NamedTuple):
    """Group of steps under a heading.

    Attributes
    ----------
    subject : str
        Subject: "motor", "fan", "heat" or "bearings". Also the key of the symbol table in the text
        files.
    key : str
        Key of the heading and introduction in the text files.
    steps : tuple[Step, ...]
        Steps in order.
    """

    subject: str
    key: str
    steps: tuple[Step, ...]


class Sheet:
    """Symbols with their samples, from which the steps are created.

    Attributes
    ----------
    samples
        Number of samples.
    chosen
        Index of the sample that is shown in the equations.
    subject
        Subject, as in `Section`.
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
        """Define a symbol with a known value (a number or an array of samples)."""
        self._values[name] = Value(self.one(samples), unit, origin, kind)

    def step(
        self, name: str, expression: str, samples, unit: str, source: str, kind: str = ""
    ) -> None:
        """Add a step that calculates the symbol ``name``, with the result ``samples``."""
        result = Value(self.one(samples), unit, CALCULATED, kind)
        values = {one: self._values[one] for one in symbols(expression)}
        self._sections[-1][1].append(
            Step(name, expression, values, result, self._band(samples), source)
        )
        self._values[name] = result

    def value(self, name: str) -> complex | float:
        """Return the number shown in the equations for a symbol."""
        return self._values[name].number

    def one(self, samples) -> complex | float:
        """Return the number shown in the equations for an array of samples."""
        return np.broadcast_to(samples, (self._samples,))[self._chosen].item()

    def _band(self, samples) -> Band | None:
        samples = np.broadcast_to(samples, (self._samples,))
        size = np.abs(samples) if np.iscomplexobj(samples) else samples
        return None if np.ptp(size) <= 1e-9 * np.abs(size).max() else Band.of(size)


def nearest_to_medians(*figures) -> int:
    """Return the index of the sample that is nearest to the medians of ``figures``.

    Distances are measured in standard deviations.
    """
    distance = np.zeros(np.broadcast_shapes(*map(np.shape, figures)))
    for figure in figures:
        spread = np.std(figure)
        distance = distance + ((figure - np.median(figure)) / (spread or 1.0)) ** 2
    return int(np.argmin(distance))


def origin_of(inputs, name: str, otherwise: str = CALCULATED) -> str:
    """Return the origin of the input ``name`` in the ``inputs`` of `Conditions`."""
    return next((one.origin for one in inputs if one.name == name), otherwise)
