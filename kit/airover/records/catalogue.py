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
from airover.records.catalogue_columns import COLUMNS, Cells, Column
from airover.records.rotation import from_shaft_end
from airover.records.rows import headed_rows
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

    def contradictions(self, field: str) -> Iterator[InputError]:
        """One InputError, naming ``field``, for each thing that cannot be true."""
        pairs = list(zip(self.ratings, self.currents))
        if any(low >= high for low, high in zip(self.ratings, self.ratings[1:])):
            yield InputError(f"{field}, column ratings", "an order that falls", "ascending ratings")
        if len(self.currents) != len(self.ratings):
            given = f"{len(self.currents)} for {len(self.ratings)} ratings"
            yield InputError(f"{field}, column currents", given, "one current for each rating")
        lines = 3**0.5 if self.phase == 3 else 1.0
        if any(watts >= lines * self.voltage_high * amps for watts, amps in pairs):
            accepted = "ratings below volts x amps"
            yield InputError(f"{field}, column ratings", "more power than goes in", accepted)
        if self.speed_rpm >= self.synchronous_rpm:
            accepted = f"less than 120 x hertz / poles, {self.synchronous_rpm:.0f} rpm"
            yield InputError(f"{field}, column speed", f"{self.speed_rpm:g} rpm", accepted)


def read_catalogue(path: str | os.PathLike) -> tuple[CatalogueMotor, ...]:
    """The motors of the CSV file at ``path``, in its order; raises InputError as `catalogue_of`."""
    return catalogue_of(read_text(path, "catalogue file", LARGEST_FILE))


def catalogue_of(text: str) -> tuple[CatalogueMotor, ...]:
    """The motors of a CSV ``text``, in its order.

    Raises InputError, naming line and column, for a missing or unknown heading, a cell that cannot
    be read, a motor that contradicts itself or is listed twice, and a text without motors.
    """
    headings, rows = headed_rows(text, "catalogue file", "catalogue line", "motor")
    found = [_column(column, headings, rows) for column in COLUMNS]
    motors = []
    for at, (line, _) in enumerate(rows):
        facts = {name: values[at] for column in found for name, values in column.items()}
        motors.append(_checked(CatalogueMotor(**facts), f"catalogue line {line}"))
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
        given = f"{quoted(headings[places[0]])} without a unit"
        raise InputError("catalogue heading", given, f'"{column.heading}" or another unit')
    cells = [(line, row[places[0]].strip()) for line, row in rows]
    return column.read(Cells(column.name, unit or "", column.required, cells))


def _refuse_heading(column: Column, headings: list[str], count: int) -> None:
    if count:
        given = f'"{column.name}" {count} times'
        raise InputError("catalogue heading", given, "each heading once")
    names = {known.name for known in COLUMNS}
    strangers = [text for text in headings if text.split("[")[0].strip().lower() not in names]
    near = difflib.get_close_matches(column.heading, strangers, n=1, cutoff=0.4)
    given = f"{quoted(near[0])} and no" if near else "no"
    raise InputError("catalogue heading", f'{given} "{column.heading}"', "a file with that heading")


def _checked(motor: CatalogueMotor, field: str) -> CatalogueMotor:
    for error in motor.contradictions(field):
        raise error
    return motor


def _refuse_twins(motors: list[CatalogueMotor], rows) -> None:
    """Raise InputError when two motors have the same maker and model."""
    first = {}
    for motor, (line, _) in zip(motors, rows):
        before = first.setdefault((motor.maker, motor.model), line)
        if before != line:
            given = f"{quoted(motor.name)}, which line {before} has already,"
            raise InputError(f"catalogue line {line}", given, "each maker and model once")
