"""Fan on the motor shaft, and its fan curve.

A point on a fan curve consists of airflow, static pressure and shaft power, such as "2400 cfm, 0.15
in. w.g., 210 W". The points can be typed in any order, one per line, or read from a CSV file with
the unit in each heading. In addition to these three columns, a file contains the speed at which the
curve was measured, and the air density if known. Speed and density are given once, or the same
value is repeated in every row.
"""

import os
import re
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from pydantic import Field, model_validator

from airover.core import kinds
from airover.core.errors import NOTHING, InputError, part
from airover.core.files import read_text
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.core.units import Amount, quoted, read, with_unit
from airover.records.fields import Record, Text, amount, amounts, choice, whole
from airover.records.nameplate import ENDS, SENSES, from_shaft_end
from airover.records.tables import file_of, headed_rows

FEWEST_POINTS = 3
_FILE = "curve"  # message key of the file
_HEADING = Message("error.curve.heading")
LARGEST_FILE = 200_000  # bytes
MOST_POINTS = 200
KINDS = {"airflow": "flow", "static pressure": "pressure", "shaft power": "power"}
CONSTANT = ("speed", "density")  # constant over a curve; density is optional in a file

HEADINGS = (
    "airflow [cfm]", "static pressure [in. wg]", "shaft power [W]", "speed [rpm]",
    "density [lb/ft3]",
)  # fmt: skip

# The comma in "2,400 cfm" is not a separator.
_BETWEEN = Pattern(r"[;\t]|,(?=\s)|(?<=[^0-9\s]),")
_BARE = ((r"\s+", r"[\d.]*[.,]?\d+"), (",", r"\d*\.?\d+"))  # three numbers without units


class Curve(Record):
    """Points on a fan curve at a constant speed and air density.

    Attributes
    ----------
    flow : tuple[Amount, ...]
        Airflow [m3/s] in ascending order.
    pressure : tuple[Amount, ...]
        Static pressure [Pa] at each flow.
    power : tuple[Amount, ...]
        Shaft power [W] at each flow.
    speed_rpm : Amount or None
        Speed [rpm].
    density : Amount or None
        Air density [kg/m3], or None if unknown.
    """

    flow: amounts("flow") = ()
    pressure: amounts("pressure") = ()
    power: amounts("power") = ()
    speed_rpm: amount("speed") = Field(None, alias="speed")
    density: amount("density") = None

    def arrays(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return airflow [m3/s], static pressure [Pa] and shaft power [W] as arrays."""
        columns = (self.flow, self.pressure, self.power)
        return tuple(np.array([amount.mid for amount in column]) for column in columns)

    def contradictions(self) -> Iterator[InputError]:
        counts = [len(self.flow), len(self.pressure), len(self.power)]
        if min(counts) < FEWEST_POINTS or len(set(counts)) > 1:
            names = ("flows", "pressures", "powers")
            given = Message("error.curve.counts", **dict(zip(names, counts, strict=True)))
            yield InputError("points", given, Message("error.curve.as_many", count=FEWEST_POINTS))
        if any(high.low <= low.high for low, high in zip(self.flow, self.flow[1:])):
            given = quoted(", ".join(amount.text for amount in self.flow))
            yield InputError("flow", given, Message("error.curve.ascending"))
        if self.speed_rpm is None:
            yield InputError("speed", NOTHING, Message("error.curve.speed", example="1075 rpm"))


class Blade(Record):
    """Fan data in SI units, with ``pitch`` in rad. Unknown fields are None."""

    diameter: amount("blade_diameter") = None
    blades: whole(2, 24) = None
    pitch: amount("angle") = None
    mass: amount("mass") = None
    rotation: choice(SENSES) = None
    rotation_seen_from: choice(ENDS) = None
    bore: amount("shaft_diameter") = None
    hub_diameter: amount("length") = None
    height_in_orifice: amount("length") = None
    material: Text = ""
    curve: Curve | None = None

    @model_validator(mode="before")
    @classmethod
    def _divided(cls, given):
        return cls.divided(given, "rotation")

    @property
    def rotation_shaft_end(self) -> str | None:
        """Rotation viewed from the shaft end, or None if it cannot be determined."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)

    def contradictions(self) -> Iterator[InputError]:
        yield from _inside("bore", self.bore, "below_hub", self.hub_diameter)
        yield from _inside("hub diameter", self.hub_diameter, "below_blade", self.diameter)


def read_points(text: str, speed: str, density: str = "") -> Curve:
    """Read a fan curve from text with one point per line.

    ``speed`` and ``density`` are amounts with units and apply to the entire curve. An empty density
    means that the density is unknown. Empty lines are skipped.

    Raises
    ------
    InputError
        If a point cannot be read or if a flow is repeated. The error names the line.
    """
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip()]
    return _curve([(at, _parted(at, line)) for at, line in lines], speed, density)


def usual_units(system: str) -> dict[str, str]:
    """Return the units assumed for a point without units, by type of quantity."""
    return {kind: kinds.KINDS[kind].usual_unit(system) for kind in KINDS.values()}


def with_units(text: str, system: str) -> str:
    """Add the default units of a unit system to numbers without units.

    >>> with_units("2400, 0.15, 0.28", "US")
    '2400 cfm, 0.15 in. wg, 0.28 hp'
    >>> with_units("2400 0.15 0.28", "US") == with_units("2400,0.15,0.28", "US")
    True
    """
    units = usual_units(system)
    lines = []
    for line in text.splitlines():
        parts = _parts(line)
        if len(parts) == len(units):
            named = zip(parts, units.items(), strict=True)
            line = ", ".join(with_unit(part, kind, unit) for part, (kind, unit) in named)
        lines.append(line)
    return "\n".join(lines)


def read_curve(path: str | os.PathLike) -> Curve:
    """Read a fan curve from a CSV file.

    Raises
    ------
    InputError
        If a heading is missing or has no unit, if a cell cannot be read, if a flow is repeated, or
        if speeds or densities differ. The error names the line.
    """
    text = read_text(path, file_of(_FILE), LARGEST_FILE)
    headings, rows = headed_rows(text, _FILE)
    places = {name: _place(name, headings) for name in (*KINDS, *CONSTANT)}
    cells = {
        name: [_with_unit(row[at], unit) for _, row in rows]
        for name, (at, unit) in places.items()
        if at is not None
    }
    points = zip(*(cells[name] for name in KINDS), strict=True)
    numbered = [(line, point) for (line, _), point in zip(rows, points, strict=True)]
    return _curve(numbered, *(_same(name, cells.get(name, [])) for name in CONSTANT))


def written(curve: Curve) -> str:
    """Write the points on a curve as text that `read_points` can read."""
    columns = zip(curve.flow, curve.pressure, curve.power, strict=True)
    return "\n".join(", ".join(amount.text for amount in point) for point in columns)


def _inside(name: str, inner: Amount | None, accepted: str, outer: Amount | None):
    """Yield an InputError if ``inner`` does not fit in ``outer``."""
    if inner is not None and outer is not None and inner.low >= outer.high:
        yield InputError(name, inner.text, Message(f"error.size.{accepted}", diameter=outer))


def _parts(line: str) -> list[str]:
    """Split a line at commas, semicolons or tabs, or at the spaces between bare numbers."""
    line = line.strip().rstrip(",;")
    for between, number in _BARE:
        parts = re.split(between, line)
        if len(parts) == len(KINDS) and all(re.fullmatch(number, part) for part in parts):
            return parts
    return [part.strip() for part in _BETWEEN.split(line)]


def _parted(at: int, line: str) -> list[str]:
    parts = _parts(line)
    if len(parts) != len(KINDS):
        accepted = Message("error.curve.point", example="2400 cfm, 0.15 in. wg, 210 W")
        raise InputError(_line(at), quoted(line.strip()), accepted)
    return parts


def _line(number: int) -> Message:
    return Message("error.curve.point_line", number=number)


def _curve(points: list[tuple[int, list[str]]], speed: str, density: str) -> Curve:
    """Return the curve for a list of numbered points, sorted by flow."""
    if len(points) > MOST_POINTS:
        given = Message("error.curve.points", count=len(points))
        raise InputError("curve", given, Message("limit.most", value=MOST_POINTS))
    found = sorted((_point(*point) for point in points), key=lambda one: one[1][0].mid)
    _refuse_repeated(found)
    columns = list(zip(*(point for _, point in found), strict=True)) or [(), (), ()]
    facts = {"speed": speed.strip() or None, "density": density.strip() or None}
    try:
        return Curve(**dict(zip(("flow", "pressure", "power"), columns, strict=True)), **facts)
    except InputError as error:
        raise error.within("curve", "error.field.inside") from None


def _point(line: int, parts) -> tuple[int, list[Amount]]:
    named = zip(KINDS.items(), parts, strict=True)
    return line, [read(text, kind, part(_line(line), name)) for (name, kind), text in named]


def _refuse_repeated(found) -> None:
    for (before, one), (line, other) in pairwise(found):
        if other[0].low <= one[0].high:
            given = Message("error.rows.already", given=quoted(other[0].text), number=before)
            raise InputError(part(_line(line), "airflow"), given, Message("error.curve.once"))


def _place(name: str, headings: list[str]) -> tuple[int | None, str]:
    """Return the index of the column ``name``, and the unit in its heading."""
    parted = [re.fullmatch(r"\s*([^\[]*?)\s*(?:\[([^\]]*)\]\s*)?", text) for text in headings]
    found = [at for at, match in enumerate(parted) if match and match[1].lower() == name]
    if not found and name == "density":
        return None, ""
    usual = next(heading for heading in HEADINGS if heading.startswith(name))
    if len(found) != 1:
        given = Message("error.heading.missing", heading=name)
        if found:
            given = Message("error.heading.times", heading=name, count=len(found))
        raise InputError(_HEADING, given, Message("error.heading.one", example=usual))
    kind = kinds.KINDS[KINDS.get(name, name)]
    unit = (parted[found[0]][2] or kind.only_unit).strip()
    if not unit:
        given = Message("error.amount.no_unit", given=quoted(headings[found[0]]))
        raise InputError(_HEADING, given, Message("error.heading.one", example=usual))
    return found[0], unit


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell.strip()} {unit}" if cell.strip() else ""


def _same(name: str, texts: list[str]) -> str:
    """Return the value that all rows have in common. Raises InputError if the rows differ."""
    told = list(dict.fromkeys(text for text in texts if text))
    if len(told) > 1:
        given = Message("error.curve.differ", one=quoted(told[0]), other=quoted(told[1]))
        raise InputError(part(file_of(_FILE), name), given, Message(f"error.curve.one_{name}"))
    return told[0] if told else ""
