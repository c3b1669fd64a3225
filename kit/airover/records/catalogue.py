"""A catalogue of motors: a CSV file with the unit in each heading.

Any file with these columns can be read; a length may as well be in [mm], a rating in [W], a
temperature in [degF]. An empty cell is a missing fact. Units are converted once for a whole
column, so that a catalogue of a thousand motors opens at once.
"""

import difflib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass

from airover.errors import InputError
from airover.message import Message
from airover.records.catalogue_columns import (
    CATALOGUE,
    COLUMNS,
    HEADING,
    Cells,
    Column,
    of_column,
)
from airover.records.rotation import from_shaft_end
from airover.records.rows import file_of, headed_rows, line_of
from airover.safe_file import read_text
from airover.units import quoted

LARGEST_FILE = 5_000_000
LONGEST_HEADING = 200  # letters; a longer one is none of ours
_HEADING = re.compile(r"(.*?) ?(?:\[ ?(.*?) ?\] ?)?")


@dataclass(frozen=True, slots=True)
class CatalogueMotor:
    """One motor of a catalogue, in SI units, speed in rpm, temperatures in degC.

    ``ratings`` [W] ascend and each has its full-load current in ``currents`` [A]. What the
    catalogue leaves empty is None, or an empty text or tuple. Warranties are in months.
    """

    maker: str
    model: str
    kind: str
    voltage_low: float
    voltage_high: float
    frequency: float
    phase: int
    poles: int
    speed_rpm: float
    ratings: tuple[float, ...]
    currents: tuple[float, ...]
    capacitor: float | None
    capacitor_voltage: float | None
    insulation_class: str | None
    ambient_rating: float | None
    bearings: str | None
    bearing_bore: float | None
    rotation: str | None
    rotation_seen_from: str | None
    frame: str
    shaft_diameter: float | None
    shaft_length: float | None
    body_diameter: float | None
    body_length: float | None
    mass: float | None
    mounting: tuple[str, ...]
    shaft_positions: tuple[str, ...]
    drain_plugs: str | None
    enclosure: str | None
    protector: str | None
    price: float | None
    currency: str
    warranty_from_installation: float | None
    warranty_from_manufacture: float | None

    @property
    def name(self) -> str:
        """Maker and model, which no two motors of a catalogue share."""
        return f"{self.maker} {self.model}"

    @property
    def synchronous_rpm(self) -> float:
        """Synchronous speed [rpm]."""
        return 120 * self.frequency / self.poles

    @property
    def rotation_shaft_end(self) -> str | None:
        """The rotation as seen from the shaft end; None when that cannot be known."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)

    def contradictions(self, line: int) -> Iterator[InputError]:
        """One InputError, naming the ``line``, for each thing that cannot be true."""
        ratings, currents = of_column(line, "ratings"), of_column(line, "currents")
        pairs = list(zip(self.ratings, self.currents))
        if any(low >= high for low, high in zip(self.ratings, self.ratings[1:])):
            given = Message("error.catalogue.falling")
            yield InputError(ratings, given, Message("error.catalogue.ascending"))
        counts = {"currents": len(self.currents), "ratings": len(self.ratings)}
        if counts["currents"] != counts["ratings"]:
            given = Message("error.catalogue.counts", **counts)
            yield InputError(currents, given, Message("error.catalogue.current_each"))
        lines = 3**0.5 if self.phase == 3 else 1.0
        if any(watts >= lines * self.voltage_high * amps for watts, amps in pairs):
            given = Message("error.catalogue.more_power")
            yield InputError(ratings, given, Message("error.catalogue.below_input"))
        if self.speed_rpm >= self.synchronous_rpm:
            accepted = Message(
                "error.catalogue.below_field", speed=f"{self.synchronous_rpm:.0f} rpm"
            )
            yield InputError(of_column(line, "speed"), f"{self.speed_rpm:g} rpm", accepted)


def read_catalogue(path: str | os.PathLike) -> tuple[CatalogueMotor, ...]:
    """The motors of the CSV file at ``path``, in its order; raises InputError as `catalogue_of`."""
    return catalogue_of(read_text(path, file_of(CATALOGUE), LARGEST_FILE))


def catalogue_of(text: str) -> tuple[CatalogueMotor, ...]:
    """The motors of a CSV ``text``, in its order.

    Raises InputError, naming line and column, for a missing or unknown heading, a cell that cannot
    be read, a motor that contradicts itself or is listed twice, and a text without motors.
    """
    headings, rows = headed_rows(text, CATALOGUE)
    found = [_column(column, headings, rows) for column in COLUMNS]
    motors = []
    for at, (line, _) in enumerate(rows):
        facts = {name: values[at] for column in found for name, values in column.items()}
        motors.append(_checked(CatalogueMotor(**facts), line))
    _refuse_twins(motors, rows)
    return tuple(motors)


def _column(column: Column, headings: list[str], rows) -> dict[str, list]:
    """The values of one column, by attribute of CatalogueMotor."""
    named = [_HEADING.fullmatch(" ".join(h.split())[:LONGEST_HEADING]) for h in headings]
    places = [at for at, match in enumerate(named) if match[1].lower() == column.name]
    if len(places) != 1:
        _refuse_heading(column, headings, len(places))
    unit = named[places[0]][2]
    if column.unit and not unit:
        given = Message("error.amount.no_unit", given=quoted(headings[places[0]]))
        accepted = Message("error.catalogue.another_unit", heading=column.heading)
        raise InputError(HEADING, given, accepted)
    cells = [(line, row[places[0]].strip()) for line, row in rows]
    return column.read(Cells(column.name, unit or "", column.required, cells))


def _refuse_heading(column: Column, headings: list[str], count: int) -> None:
    if count:
        given = Message("error.heading.times", heading=column.name, count=count)
        raise InputError(HEADING, given, Message("error.heading.once"))
    names = {known.name for known in COLUMNS}
    strangers = [text for text in headings if text.split("[")[0].strip().lower() not in names]
    near = difflib.get_close_matches(column.heading, strangers, n=1, cutoff=0.4)
    given = Message("error.heading.missing", heading=column.heading)
    if near:
        given = Message("error.heading.instead", heading=column.heading, other=quoted(near[0]))
    raise InputError(HEADING, given, Message("error.heading.needed"))


def _checked(motor: CatalogueMotor, line: int) -> CatalogueMotor:
    for error in motor.contradictions(line):
        raise error
    return motor


def _refuse_twins(motors: list[CatalogueMotor], rows) -> None:
    """Raise InputError when two motors have the same maker and model."""
    first = {}
    for motor, (line, _) in zip(motors, rows):
        before = first.setdefault((motor.maker, motor.model), line)
        if before != line:
            given = Message("error.rows.already", given=quoted(motor.name), number=before)
            raise InputError(line_of(CATALOGUE, line), given, Message("error.catalogue.once"))
