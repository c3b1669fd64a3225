"""A fan curve as people have it: one point a line, or a CSV file with the unit in each heading.

A point is an airflow, a static pressure and a shaft power, as in "2400 cfm, 0.15 in. w.g., 210 W".
Points may stand in any order. A file has these three columns, the speed that they were measured
at, and the air's density if it is known: both once, or the same in every row.
"""

import os
import re
from itertools import pairwise

from airover.errors import InputError, part
from airover.message import Message
from airover.records.blade import Curve
from airover.records.rows import file_of, headed_rows
from airover.safe_file import read_text
from airover.units import Amount, quoted, read

_FILE = "curve"  # texts about the file
_HEADING = Message("error.curve.heading")
LARGEST_FILE = 200_000  # bytes
MOST_POINTS = 200
KINDS = {"airflow": "flow", "static pressure": "pressure", "shaft power": "power"}
CONSTANT = ("speed", "density")  # of the whole curve; a file may lack the second
HEADINGS = (
    "airflow [cfm]", "static pressure [in. w.g.]", "shaft power [W]", "speed [rpm]",
    "density [lb/ft3]",
)  # fmt: skip
# A comma within "2,400 cfm" divides nothing.
_BETWEEN = re.compile(r"[;\t]|,(?=\s)|(?<=[^0-9\s]),")


def read_points(text: str, speed: str, density: str = "") -> Curve:
    """The curve whose points stand in ``text``, one a line; empty lines do not count.

    ``speed`` and ``density`` are of the whole curve, each with its unit; an empty density is not
    known. Raises InputError, naming the line, for what cannot be read and for a repeated flow.
    """
    lines = [(at, line) for at, line in enumerate(text.splitlines(), 1) if line.strip()]
    return _curve([(at, _parted(at, line)) for at, line in lines], speed, density)


def read_curve(path: str | os.PathLike) -> Curve:
    """The curve in the CSV file at ``path``.

    Raises InputError, naming the line, for a missing heading, a heading without its unit, a cell
    that cannot be read, a repeated flow, and speeds or densities that differ.
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
    """The points of ``curve`` as `read_points` reads them."""
    columns = zip(curve.flow, curve.pressure, curve.power, strict=True)
    return "\n".join(", ".join(amount.text for amount in point) for point in columns)


def _parted(at: int, line: str) -> list[str]:
    parts = [part.strip() for part in _BETWEEN.split(line.strip().rstrip(",;"))]
    if len(parts) != len(KINDS):
        accepted = Message("error.curve.point", example="2400 cfm, 0.15 in. w.g., 210 W")
        raise InputError(_line(at), quoted(line.strip()), accepted)
    return parts


def _line(number: int) -> Message:
    return Message("error.curve.point_line", number=number)


def _curve(points: list[tuple[int, list[str]]], speed: str, density: str) -> Curve:
    """From points (each with its line), put in order of rising flow."""
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
    """Which column is called ``name``, and the unit in its brackets."""
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
    unit = (parted[found[0]][2] or "").strip()
    if not unit:
        given = Message("error.amount.no_unit", given=quoted(headings[found[0]]))
        raise InputError(_HEADING, given, Message("error.heading.one", example=usual))
    return found[0], unit


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell.strip()} {unit}" if cell.strip() else ""


def _same(name: str, texts: list[str]) -> str:
    """What all rows say, or the first alone."""
    told = list(dict.fromkeys(text for text in texts if text))
    if len(told) > 1:
        given = Message("error.curve.differ", one=quoted(told[0]), other=quoted(told[1]))
        raise InputError(part(file_of(_FILE), name), given, Message(f"error.curve.one_{name}"))
    return told[0] if told else ""
