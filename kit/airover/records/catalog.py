"""Motor catalogs in CSV format, and the definitions of their columns.

A file must have the required headings in ``COLUMNS``, with the unit in each heading. A length can
also be in [mm], a rating in [W] and a temperature in [degF]. An empty cell or a missing column
means that the value is unknown. Units are converted for an entire column at once, so that a catalog
with a thousand motors opens without delay.
"""

import difflib
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError, Range, either, is_plain, one_of, part
from airover.core.files import read_text
from airover.core.kinds import KINDS
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.core.units import coherent, convert, parse_number, quoted
from airover.records.fields import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    MOUNTINGS,
    PROTECTORS,
    SHAFT_POSITIONS,
    spelled,
)
from airover.records.nameplate import ENDS, SENSES, from_shaft_end
from airover.records.tables import LeftOut, file_of, headed_rows, line_of

CATALOG = "catalog"  # message key of the file
HEADING = Message("error.catalog.heading")
HIGHEST_PRICE = 1e6
LONGEST_CELL = 500
_LIST = Pattern(r";")
_RANGE = Pattern(r"[-/\u2013]|\bto\b")
LARGEST_FILE = 5_000_000
LONGEST_HEADING = 200  # characters; a longer heading cannot be one of COLUMNS
_HEADED = Pattern(r"(.*?) ?(?:\[ ?(.*?) ?\] ?)?")


@dataclass(frozen=True, slots=True)
class CatalogMotor:
    """Catalog motor in SI units, with speed in rpm and temperatures in degC.

    A value that is missing from the catalog is None or an empty string or tuple.

    Attributes
    ----------
    maker, model : str
        Manufacturer and model number.
    kind : str
        Type of motor.
    voltage_low, voltage_high : float
        Rated voltage range [V].
    frequency : float
        Rated frequency [Hz].
    phase : int
        Number of phases.
    poles : int
        Number of poles.
    speed_rpm : float
        Rated speed [rpm].
    ratings : tuple[float, ...]
        Rated shaft powers [W] in ascending order.
    currents : tuple[float, ...]
        Full-load current [A] at each rating.
    capacitor : float or None
        Capacitance [F] of the run capacitor.
    capacitor_voltage : float or None
        Rated voltage [V] of the run capacitor.
    insulation_class : str or None
        Insulation class.
    ambient_rating : float or None
        Rated ambient temperature [degC].
    bearings : str or None
        Bearing type.
    bearing_bore : float or None
        Bore diameter [m] of the bearings.
    rotation, rotation_seen_from : str or None
        Rotation, and the end from which it is viewed.
    frame : str
        Frame size.
    shaft_diameter, shaft_length : float or None
        Shaft dimensions [m].
    body_diameter, body_length : float or None
        Body dimensions [m].
    mass : float or None
        Mass [kg].
    mounting : tuple[str, ...]
        Mounting types.
    shaft_positions : tuple[str, ...]
        Allowed shaft positions.
    drain_plugs : str or None
        Type of drain plugs.
    enclosure : str or None
        Enclosure.
    protector : str or None
        Type of thermal protector.
    price : float or None
        Price in ``currency``.
    currency : str
        Three-letter currency code.
    warranty_from_installation, warranty_from_manufacture : float or None
        Warranty period [months].
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
        """Manufacturer and model, which together are unique in a catalog."""
        return f"{self.maker} {self.model}"

    def is_named(self, name: str) -> bool:
        """Return True if ``name`` is the name or the model of this motor, ignoring case."""
        return " ".join(name.lower().split()) in (self.name.lower(), self.model.lower())

    @property
    def synchronous_rpm(self) -> float:
        """Synchronous speed [rpm]."""
        return 120 * self.frequency / self.poles

    @property
    def rotation_shaft_end(self) -> str | None:
        """Rotation viewed from the shaft end, or None if it cannot be determined."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)

    def contradictions(self, line: int) -> Iterator[InputError]:
        """Yield an InputError for each pair of values that contradict each other."""
        ratings, currents = of_column(line, "ratings"), of_column(line, "currents")
        pairs = list(zip(self.ratings, self.currents))
        if any(low >= high for low, high in zip(self.ratings, self.ratings[1:])):
            given = Message("error.catalog.falling")
            yield InputError(ratings, given, Message("error.catalog.ascending"))
        counts = {"currents": len(self.currents), "ratings": len(self.ratings)}
        if counts["currents"] != counts["ratings"]:
            given = Message("error.catalog.counts", **counts)
            yield InputError(currents, given, Message("error.catalog.current_each"))
        lines = 3**0.5 if self.phase == 3 else 1.0
        if any(watts >= lines * self.voltage_high * amps for watts, amps in pairs):
            given = Message("error.catalog.more_power")
            yield InputError(ratings, given, Message("error.catalog.below_input"))
        if self.speed_rpm >= self.synchronous_rpm:
            accepted = Message("error.catalog.below_field", speed=f"{self.synchronous_rpm:.0f} rpm")
            yield InputError(of_column(line, "speed"), f"{self.speed_rpm:g} rpm", accepted)


class Catalog(tuple):
    """Motors in a catalog, in file order.

    ``left_out`` contains the rows of the file that could not be used, or is None if all rows were
    used.
    """

    def __new__(cls, motors=(), left_out: LeftOut | None = None):
        new = super().__new__(cls, motors)
        new.left_out = left_out
        return new

    def __eq__(self, other):  # answers are cached by catalog and report its left-out rows
        same = super().__eq__(other)
        return same is True and self.left_out == getattr(other, "left_out", None)

    def __ne__(self, other):
        return not self == other

    __hash__ = tuple.__hash__


def read_catalog(path: str | os.PathLike) -> tuple[CatalogMotor, ...]:
    """Read the motors from a CSV file, in file order.

    Raises the same InputError as `catalog_of`.
    """
    return catalog_of(read_text(path, file_of(CATALOG), LARGEST_FILE))


def catalog_of(text: str) -> tuple[CatalogMotor, ...]:
    """Read the motors from CSV text, in file order.

    Raises
    ------
    InputError
        If a required heading is missing or a heading is misspelled, if a cell cannot be read, if
        values contradict each other, if a motor is listed twice, or if there are no motors. The error
        names the line and the column.
    """
    headings, rows = headed_rows(text, CATALOG)
    found = [_read(*column, rows) for column in columns_in(headings)]
    motors = []
    for at, (line, _) in enumerate(rows):
        facts = {name: values[at] for column in found for name, values in column.items()}
        motors.append(_checked(CatalogMotor(**facts), line))
    _refuse_twins(motors, rows)
    return tuple(motors)


def of_column(line: int, heading: str) -> Message:
    """Return a message that identifies a cell by line and heading, for use in error messages."""
    return part(line_of(CATALOG, line), Message("error.catalog.column", heading=heading))


class Cells(NamedTuple):
    """Text cells in a column, with line numbers and the unit from the heading."""

    name: str
    unit: str
    required: bool
    texts: list[tuple[int, str]]

    @property
    def heading(self) -> str:
        return f"{self.name} [{self.unit}]" if self.unit else self.name

    def refusal(self, line: int, text: str, accepted) -> InputError:
        given = quoted(text) if text else Message("error.catalog.empty_cell")
        return InputError(of_column(line, self.heading), given, accepted)

    def each(self, read: Callable[[str], object], accepted, empty) -> list:
        """Apply ``read`` to each distinct cell, and reject cells for which it returns None.

        An empty cell becomes ``empty`` unless the column is required.
        """
        known = {} if self.required else {"": empty}
        for line, text in self.texts:
            if text not in known:
                known[text] = read(text)
                if known[text] is None:
                    raise self.refusal(line, text, accepted)
        return [known[text] for _, text in self.texts]


class Column(NamedTuple):
    """Column definition, with the heading, the default unit and the reader."""

    name: str
    unit: str
    required: bool
    read: Callable[[Cells], dict[str, list]]

    @property
    def heading(self) -> str:
        return f"{self.name} [{self.unit}]" if self.unit else self.name


def _text(attribute: str, required: bool = False) -> Column:
    def plain(text: str) -> str | None:
        return text if text and len(text) <= LONGEST_CELL and is_plain(text) else None

    def read(cells: Cells) -> dict[str, list]:
        accepted = Message("error.field.plain", count=LONGEST_CELL)
        return {attribute: cells.each(plain, accepted, "")}

    return Column(attribute, "", required, read)


def _word(name: str, words: dict) -> Column:
    """Define a column that has one of several ``words`` in each cell.

    The attribute name is the column name with underscores.
    """

    def read(cells: Cells) -> dict[str, list]:
        found = cells.each(lambda text: spelled(text, words), one_of(words), None)
        return {name.replace(" ", "_"): found}

    return Column(name, "", False, read)


def _words(name: str, words: dict) -> Column:
    """Define a column that can have several ``words`` in each cell, separated by semicolons."""

    def several(text: str) -> tuple[str, ...] | None:
        found = tuple(spelled(part, words) for part in text.split(";"))
        return None if None in found else found

    def read(cells: Cells) -> dict[str, list]:
        accepted = Message("error.catalog.several", words=one_of(words))
        return {name.replace(" ", "_"): cells.each(several, accepted, ())}

    return Column(name, "", False, read)


def _whole(name: str, low: int, high: int, step: int) -> Column:
    def whole(text: str) -> int | None:
        number = int(text) if re.fullmatch("[0-9]{1,3}", text) else -1
        return number if number in range(low, high + 1, step) else None

    def read(cells: Cells) -> dict[str, list]:
        accepted = either(range(low, high + 1, step))
        return {name: cells.each(whole, accepted, None)}

    return Column(name, "", True, read)


def _amount(name: str, kind: str, unit: str, *, attribute: str = "", required=False) -> Column:
    """Define a column that has one number of ``kind`` in each cell."""

    def read(cells: Cells) -> dict[str, list]:
        found = _amounts(cells, kind, None)
        return {
            attribute or name.replace(" ", "_"): [values[0] if values else None for values in found]
        }

    return Column(name, unit, required, read)


def _ascending(name: str, kind: str, unit: str) -> Column:
    """Define a column of cells with ascending numbers of ``kind``, separated by semicolons."""
    return Column(name, unit, True, lambda cells: {name: _amounts(cells, kind, _LIST)})


def _range(name: str, kind: str, unit: str) -> Column:
    """Define a column that has a number or range of ``kind`` in each cell.

    The limits are stored in the attributes name_low and name_high.
    """

    def read(cells: Cells) -> dict[str, list]:
        found = _amounts(cells, kind, _RANGE)
        return {f"{name}_low": [min(values) for values in found],
                f"{name}_high": [max(values) for values in found]}  # fmt: skip

    return Column(name, unit, True, read)


def _price() -> Column:
    """Define the price column. The unit in its heading is a three-letter currency code."""

    def price(text: str) -> float | None:
        number = parse_number(text)
        return number if number is not None and number <= HIGHEST_PRICE else None

    def read(cells: Cells) -> dict[str, list]:
        if not re.fullmatch("[A-Z]{3}", cells.unit):
            given = Message("error.money.as_currency", given=quoted(cells.unit))
            accepted = Message("error.money.capitals", example="price [USD]")
            raise InputError(HEADING, given, accepted)
        accepted = Message("error.catalog.price", most=float(HIGHEST_PRICE))
        prices = cells.each(price, accepted, None)
        return {"price": prices, "currency": [cells.unit] * len(prices)}

    return Column("price", "USD", False, read)


def _amounts(cells: Cells, kind: str, divider: re.Pattern | None) -> list[tuple[float, ...]]:
    """Return the numbers in each cell in the SI unit of ``kind``."""

    def numbers(text: str) -> tuple[float, ...] | None:
        parts = divider.split(text) if divider else [text]
        found = tuple(parse_number(part, KINDS[kind].fractions) for part in parts)
        return None if None in found else found

    accepted = _accepted(cells, kind, divider)
    typed = cells.each(numbers, accepted, ())
    flat = np.array([number for group in typed for number in group])
    with np.errstate(over="ignore"):  # infinite values are rejected below as out of range
        amounts = coherent(flat, kind, cells.unit, _named(cells))
    values = iter(amounts.tolist())
    found = [tuple(float(f"{x:.12g}") for x in islice(values, len(group))) for group in typed]
    low, high, _ = KINDS[kind].accepted
    for (line, text), group in zip(cells.texts, found):
        if not all(low <= value <= high for value in group):
            raise cells.refusal(line, text, accepted)
    return found


def _accepted(cells: Cells, kind: str, divider: re.Pattern | None) -> Message:
    """Return the accepted values for a numeric cell, in the unit of its heading."""
    coherent(1.0, kind, cells.unit, _named(cells))
    low, high = (float(f"{convert(end, kind, cells.unit):.4g}") for end in KINDS[kind].accepted[:2])
    many = {_LIST: "numbers", _RANGE: "range"}.get(divider, "number")
    return Message(f"error.catalog.{many}", span=Range(low, high, cells.unit))


def _named(cells: Cells) -> Message:
    """Return a message that identifies a column by its heading, for use in error messages."""
    return Message("error.catalog.this_heading", heading=cells.heading)


COLUMNS = (
    _text("maker", required=True),
    _text("model", required=True),
    _text("kind"),
    _range("voltage", "voltage", "V"),
    _amount("frequency", "frequency", "Hz", required=True),
    _whole("phase", 1, 3, 2),
    _whole("poles", 2, 16, 2),
    _amount("speed", "speed", "rpm", attribute="speed_rpm", required=True),
    _ascending("ratings", "power", "hp"),
    _ascending("currents", "current", "A"),
    _amount("capacitor", "capacitance", "uF"),
    _amount("capacitor voltage", "voltage", "V"),
    _word("insulation class", CLASSES),
    _amount("ambient rating", "air_temperature", "degC"),
    _word("bearings", BEARINGS),
    _amount("bearing bore", "shaft_diameter", "mm"),
    _word("rotation", SENSES),
    _word("rotation seen from", ENDS),
    _text("frame"),
    _amount("shaft diameter", "shaft_diameter", "in"),
    _amount("shaft length", "shaft_length", "in"),
    _amount("body diameter", "body_diameter", "in"),
    _amount("body length", "body_length", "in"),
    _amount("mass", "mass", "lb"),
    _words("mounting", MOUNTINGS),
    _words("shaft positions", SHAFT_POSITIONS),
    _word("drain plugs", DRAIN_PLUGS),
    _word("enclosure", ENCLOSURES),
    _word("protector", PROTECTORS),
    _price(),
    _amount("warranty from installation", "duration", "months"),
    _amount("warranty from manufacture", "duration", "months"),
)


def columns_in(headings: list[str]) -> list[tuple[Column, int | None, str]]:
    """Return the position and the unit of each column in COLUMNS, from the headings of a file.

    The position is None for an optional column that the file does not have.

    Raises
    ------
    InputError
        If a required heading is missing, or if a heading is repeated, misspelled or has no unit.
    """
    named = [_HEADED.fullmatch(" ".join(h.split())[:LONGEST_HEADING]) for h in headings]
    return [_placed(column, headings, named) for column in COLUMNS]


def _placed(column: Column, headings: list[str], named) -> tuple[Column, int | None, str]:
    places = [at for at, match in enumerate(named) if match[1].lower() == column.name]
    if len(places) != 1:
        _refuse_heading(column, headings, len(places))
        return column, None, column.unit
    unit = named[places[0]][2]
    if column.unit and not unit:
        given = Message("error.amount.no_unit", given=quoted(headings[places[0]]))
        accepted = Message("error.catalog.another_unit", heading=column.heading)
        raise InputError(HEADING, given, accepted)
    return column, places[0], unit or ""


def _read(column: Column, at: int | None, unit: str, rows) -> dict[str, list]:
    """Return the values in a column, by attribute of CatalogMotor."""
    cells = [(line, "" if at is None else row[at].strip()) for line, row in rows]
    return column.read(Cells(column.name, unit, column.required, cells))


def _refuse_heading(column: Column, headings: list[str], count: int) -> None:
    """Reject a required heading that is missing, and a heading that is misspelled or repeated."""
    if count:
        given = Message("error.heading.times", heading=column.name, count=count)
        raise InputError(HEADING, given, Message("error.heading.once"))
    names = {known.name for known in COLUMNS}
    strangers = [text for text in headings if text.split("[")[0].strip().lower() not in names]
    cutoff = 0.4 if column.required else 0.8
    near = difflib.get_close_matches(column.heading, strangers, n=1, cutoff=cutoff)
    if not column.required and not near:
        return
    given = Message("error.heading.missing", heading=column.heading)
    if near:
        given = Message("error.heading.instead", heading=column.heading, other=quoted(near[0]))
    raise InputError(HEADING, given, Message("error.heading.needed"))


def _checked(motor: CatalogMotor, line: int) -> CatalogMotor:
    for error in motor.contradictions(line):
        raise error
    return motor


def _refuse_twins(motors: list[CatalogMotor], rows) -> None:
    """Raise InputError if two motors have the same manufacturer and model."""
    first = {}
    for motor, (line, _) in zip(motors, rows):
        before = first.setdefault((motor.maker, motor.model), line)
        if before != line:
            given = Message("error.rows.already", given=quoted(motor.name), number=before)
            raise InputError(line_of(CATALOG, line), given, Message("error.catalog.once"))
