"""Read a table of units in batches and write the results as Parquet files (pyarrow)."""

import datetime
import io
import json
import os
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np

from airover.business import fleet_lives
from airover.business.fleet_screen import Grouped, Rows, Screened
from airover.business.fleet_units import (
    AGE,
    FLOATS,
    GROUPS,
    KNOWN,
    LINE_VOLTAGE,
    MOST_NAMEPLATES,
    NAMEPLATE,
    NAMEPLATE_VOLTAGE,
    NUMBERS,
    REASONS,
    REQUIRED,
    SITE_NUMBERS,
    TASKS,
    WHOLE,
    WORDS,
)
from airover.core.errors import InputError, Range, shown, without_direction_marks
from airover.core.memory import return_memory
from airover.core.message import Estimate, Message, Money, Quantity, Word
from airover.core.units import convert, quoted, read
from airover.records.fields import SHAFT_POSITIONS, spelled
from airover.records.importing import Imported, imported_units
from airover.selection.rules import VERDICTS
from airover.selection.screening import ADAPTED, BEST

try:
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.parquet as pq
except ModuleNotFoundError:
    pa = None


PART, SMALL_PART = 10_000, 2_000  # rows in a part at most, and at least if there are enough
PARTS = 8  # parts of a table of medium size, so that every worker has some
# Types of the values in errors, besides Message.
_IN_ERRORS = {one.__name__: one for one in (Estimate, Money, Quantity, Range, Word)}
NAMED = 3  # maximum number of rules listed if no motor fits
FIGURES = (
    "amps_low_a", "amps_a", "amps_high_a", "winding_low_c", "winding_c", "winding_high_c",
    "winding_margin_k", "torque_reserve", "airflow_share",
)  # fmt: skip


class Table:
    """Parquet file of units with ``rows`` rows in ``count`` parts.

    Raises
    ------
    InputError
        If the file is not a Parquet file, lacks required columns, or has columns that are unknown
        or have the wrong type.
    """

    def __init__(self, path: str | os.PathLike, part: int | None = None):
        if pa is None:
            raise InputError(
                "fleet",
                Message("fleet.given.without", package="pyarrow"),
                Message("fleet.accepts.extra"),
            )
        try:
            self.file = pq.ParquetFile(path)
        except (OSError, pa.ArrowException, UnicodeDecodeError) as error:
            raise _damaged(error, path) from None
        _check(self.file.schema_arrow)
        self.rows = self.file.metadata.num_rows
        self.part = part or min(max(-(-self.rows // PARTS), SMALL_PART), PART)
        self.count = max(1, -(-self.rows // self.part))

    def start(self) -> "pa.Table":
        """Return up to PART rows from the start of the table."""
        batch = next(self._batches(PART), None)
        rows = [] if batch is None else [batch]
        return pa.Table.from_batches(rows, self.file.schema_arrow)

    def parts(self) -> Iterator["pa.Table"]:
        """Yield the table in parts. The last part may be shorter.

        An empty file yields one empty part.

        Raises
        ------
        InputError
            If a later section of the file is damaged.
        """
        held = []
        for batch in self._batches(self.part):
            held.append(batch)
            while sum(map(len, held)) >= self.part:
                whole = pa.Table.from_batches(held)
                yield whole.slice(0, self.part).combine_chunks()
                held = whole.slice(self.part).to_batches()
        if sum(map(len, held)) or not self.rows:
            yield pa.Table.from_batches(held, self.file.schema_arrow).combine_chunks()

    def nameplates(self, most: int = MOST_NAMEPLATES) -> list[tuple]:
        """Return the different nameplates, with similar ones next to each other.

        If there are more than ``most``, the list is empty.

        Raises
        ------
        InputError
            If a section of the file is damaged.
        """
        names = [name for name in NAMEPLATE if name in self.file.schema_arrow.names]
        found = {}
        for batch in self._batches(PART, names):
            met = _grouped(pa.Table.from_batches([batch]), NAMEPLATE).values
            found |= dict.fromkeys(met)
            if len(found) > most:
                return []
        poles = NAMEPLATE.index("poles")

        def order(values):  # nameplates that differ only in the number of poles come together
            others = values[:poles] + values[poles + 1 :]
            return [(one is None, "" if one is None else one) for one in others]

        return sorted(found, key=order)

    def _batches(self, rows: int, names: list[str] | None = None) -> Iterator["pa.RecordBatch"]:
        try:
            for batch in self.file.iter_batches(rows, columns=names):
                batch.validate(full=True)
                yield batch
        except (OSError, pa.ArrowException) as error:
            raise _damaged(error) from None


def is_ours(path: str | os.PathLike) -> bool:
    """Return True for a Parquet file that has at least one of the standard columns.

    The result is also True for a file that cannot be read.
    """
    if pa is None:
        return True
    try:
        names = pq.read_schema(path).names
    except (OSError, pa.ArrowException):
        with suppress(OSError), open(path, "rb") as file:
            return file.read(4) == b"PAR1"
        return True
    return any(name in REQUIRED[1:] for name in names)


def units_file(found: Imported) -> bytes:
    """Convert a table with other headings to a Parquet file for fleet screening.

    Raises
    ------
    InputError
        If no row has any data about a motor.
    """
    facts = imported_units(found)
    rows = list(facts.values())
    columns: dict[str, list] = {"unit": [row.get("unit", str(line)) for line, row in facts.items()]}
    for name, column in NUMBERS.items():
        heading = _HEADINGS.get(name, column.field.replace("_", " "))
        if any(heading in row for row in rows):
            amounts = (row.get(heading) for row in rows)
            columns[name] = [
                None
                if one is None
                else convert(read(one, column.kind, heading).mid, column.kind, column.unit)
                for one in amounts
            ]
    for heading, ends in (("voltage", NAMEPLATE_VOLTAGE), ("line voltage", LINE_VOLTAGE)):
        volts = [read(row[heading], "voltage", heading) if heading in row else None for row in rows]
        if any(volts):
            columns[ends[0]] = [None if one is None else one.low for one in volts]
            columns[ends[1]] = [None if one is None else one.high for one in volts]
    for name in (*WHOLE, *WORDS):
        heading = name.replace("_", " ")
        if any(heading in row for row in rows):
            cells = (row.get(heading) for row in rows)
            columns[name] = [one and int(one) if name in WHOLE else one for one in cells]
    ages = [_age(row) for row in rows]
    if any(age is not None for age in ages):
        columns[AGE] = ages
    columns |= {name: [None] * len(rows) for name in REQUIRED if name not in columns}
    out = io.BytesIO()
    pq.write_table(pa.table(columns), out)
    return out.getvalue()


def _age(row: dict[str, str]) -> float | None:
    """Return the age of a unit [years], as given or calculated from the year of installation."""
    if "age" in row:
        return convert(read(row["age"], "duration", "age").mid, "duration", "year")
    year = re.search(r"(?:19|20)\d\d", row.get("year installed", ""))
    return None if year is None else float(max(0, datetime.date.today().year - int(year[0])))


# Columns that have a different field name in a user's own table.
_HEADINGS = {"blade_diameter_mm": "blade diameter", "coil_rise_k": "coil temperature rise"}


def _damaged(error: Exception, path="") -> InputError:
    reason = (str(error).splitlines() or ["?"])[0][:80]
    given = f"{quoted(str(path))} ({reason})"
    if not path:
        given = Message("fleet.given.damaged", reason=reason)
    return InputError("units", given, Message("fleet.accepts.parquet"))


def versions() -> dict[str, str]:
    """Return the versions of the packages that affect file contents and rounding."""
    return {"numpy": np.__version__, "pyarrow": pa.__version__}


def _check(schema) -> None:
    for name in REQUIRED:
        if name not in schema.names:
            given = Message("fleet.given.no_column", name=name)
            raise InputError("units", given, Message("fleet.accepts.columns", names=REQUIRED))
    for name in schema.names:
        if name not in KNOWN:
            given = Message("fleet.given.column", name=quoted(name))
            raise InputError("units", given, ", ".join(KNOWN))
        if schema.names.count(name) > 1:
            raise InputError(
                "units", Message("fleet.given.twice", name=name), Message("fleet.accepts.once")
            )
    for name in schema.names:
        kind = schema.field(name).type
        numeric = pa.types.is_integer(kind) or pa.types.is_floating(kind)
        if name in FLOATS and not (numeric or pa.types.is_null(kind)):
            raise _other_kind(name, kind, "numbers")
        worded = pa.types.is_dictionary(kind) and pa.types.is_string(kind.value_type)
        worded |= pa.types.is_string(kind) or pa.types.is_large_string(kind)
        if name not in FLOATS and not (
            worded or pa.types.is_integer(kind) or pa.types.is_null(kind)
        ):
            raise _other_kind(name, kind, "texts")


def _other_kind(name: str, kind, wanted: str) -> InputError:
    given = Message("fleet.given.kind", name=name, kind=str(kind))
    return InputError("units", given, Message(f"fleet.accepts.{wanted}", name=name))


def rows_of(table) -> Rows:
    """Return the rows of an Arrow ``table`` as arrays."""
    site = {
        name: _floats(table, name) * (SITE_NUMBERS[name].scale if name in SITE_NUMBERS else 1.0)
        for name in (*LINE_VOLTAGE, *SITE_NUMBERS)
    }
    position = _grouped(table, ("shaft_position",))
    said = (spelled(one, SHAFT_POSITIONS) if one else None for (one,) in position.values)
    flat = [one == "horizontal" for one in said]
    return Rows(
        site=site,
        nameplates=_grouped(table, NAMEPLATE),
        facts=tuple(_grouped(table, columns) for columns, _ in GROUPS),
        lying=np.array(flat, dtype=bool)[position.place],
        named=table.column("unit").is_valid().to_numpy(),
        age=_floats(table, AGE),
    )


def _grouped(table, columns) -> Grouped:
    """Return the distinct combinations of values in ``columns``."""
    place = np.zeros(len(table), dtype=np.int64)
    coded = [_coded(table, name) for name in columns]
    for codes, values in coded:  # renumbered at each step to keep the numbers small
        place = np.unique(place * len(values) + codes, return_inverse=True)[1]
    _, first, place = np.unique(place, return_index=True, return_inverse=True)
    rows = [tuple(values[codes[at]] for codes, values in coded) for at in first.tolist()]
    return Grouped(rows, place)


def _floats(table, name) -> np.ndarray:
    if name not in table.column_names:
        return np.full(len(table), np.nan)
    return _numbers(table.column(name)).to_numpy()


def _numbers(column):
    """Return a column as an array of floats.

    Whole numbers beyond 2**53 would lose digits, so rows that contain them are rejected later.
    """
    return pc.cast(column, pa.float64(), safe=False)


def _coded(table, name):
    """Return the codes of the values in a column, and the distinct values."""
    if name not in table.column_names:
        return np.zeros(len(table), dtype=np.int64), [None]
    numeric = name in FLOATS
    column = table.column(name)
    column = _numbers(column) if numeric else pc.cast(column, pa.string())
    if numeric:
        column = pc.if_else(pc.is_nan(column), None, column)
    coded = column.combine_chunks().dictionary_encode()
    values = [None, *coded.dictionary.to_pylist()]
    return pc.fill_null(coded.indices, -1).to_numpy().astype(np.int64) + 1, values


def found_bytes(table, screened: Screened, motors) -> bytes:
    """Return the accepted units as a Parquet file in their original order."""
    best, taken = screened.best, pa.array(screened.taken)
    verdict = np.where(best.motor[:, 0] < 0, 2, np.minimum(best.work[:, 0], 1))
    names = pa.array([motor.name for motor in motors])
    columns = {
        "unit": pc.cast(table.column("unit").take(taken), pa.string()),
        "verdict": pa.array(np.array(VERDICTS)[verdict]),
        "none_fits_because": pa.array(_why_none(best), pa.string()),
        "nearest_motor": names.take(pa.array(best.nearest, mask=best.nearest < 0)),
        "nearest_fails_on": _named(best.obstacles),
        "motors_fit": pa.array(best.counts[:, 0].astype(np.int16)),
        "motors_fit_with_work": pa.array(best.counts[:, 1].astype(np.int16)),
        "motors_suit_by_facts": pa.array(best.counts[:, 2].astype(np.int16)),
        "motors_carry_load": pa.array(best.counts[:, 3].astype(np.int16)),
    }
    for at in range(BEST):
        columns |= _motor_columns(best, at, motors, names)
    none = best.motor[:, 0] < 0
    for name, failures in zip(("low", "mid", "high"), screened.failures.T, strict=True):
        column = pa.array(failures.astype(np.float32), mask=none)
        columns[f"failures_{fleet_lives.HORIZON}y_{name}"] = column
    return _bytes(pa.table(columns))


def _why_none(best) -> list[str | None]:
    """Return the most common failed rules, with motor counts, for each unit that no motor fits."""
    none = np.flatnonzero(best.motor[:, 0] < 0)
    found = [None] * len(best.motor)
    order = np.argsort(-best.failing[none], axis=1, kind="stable")[:, :NAMED].tolist()
    for unit, failing, places in zip(none.tolist(), best.failing[none].tolist(), order):
        found[unit] = ", ".join(f"{REASONS[at]} {failing[at]}" for at in places if failing[at])
    return found


def _motor_columns(best, at: int, motors, names) -> dict:
    """Return the columns of the best motor at index ``at``, or empty columns if there is none."""
    number, none = best.motor[:, at], best.motor[:, at] < 0
    ratings = np.array([[*m.ratings, *[np.nan] * 9][:9] for m in motors])
    watts = ratings[number, best.rating_number[:, at]].astype(np.float32)
    found = {
        "motor": names.take(pa.array(number, mask=none)),
        "rating_w": pa.array(watts, mask=none),
        "word": pa.array(np.array(VERDICTS)[np.minimum(best.work[:, at], 1)], mask=none),
        "to_adapt_or_find_out": pa.array(best.work[:, at].astype(np.int16), mask=none),
        "to_adapt": _named(best.tasks[:, at] >> ADAPTED),
        "to_find_out": _named(best.tasks[:, at] & ((1 << ADAPTED) - 1)),
    }
    for place, name in enumerate(FIGURES):
        figure = best.figures[:, at, place].astype(np.float32)
        found[name] = pa.array(figure, mask=none | np.isnan(figure))
    return {f"{name}_{at + 1}": column for name, column in found.items()}


def _named(masks) -> "pa.Array":
    """Return the names of the rules in bit ``masks``, such as "frame, shaft length", or null."""
    distinct, place = np.unique(masks, return_inverse=True)
    texts = [", ".join(names_of(mask)) or None for mask in distinct.tolist()]
    return pa.array(texts, pa.string()).take(pa.array(place))


def names_of(mask: int) -> list[str]:
    """Return the names of the rules in a bit mask of tasks or obstacles."""
    return [name for bit, name in TASKS.items() if mask >> bit & 1]


def fitting_bytes(screened: Screened) -> bytes:
    """Return every motor that fits each unit as a Parquet file.

    The column "row" is the index of the unit in the file of accepted units, counted from 0, and
    "motor" is the index of the motor in the catalog.
    """
    pairs = screened.fitting
    row = np.searchsorted(screened.taken, pairs.unit).astype(np.int32)
    columns = {"row": row, "motor": pairs.motor, "work": pairs.work, "kwh_per_year": pairs.energy}
    return _bytes(pa.table(columns))


def part_table(path, columns=None) -> "pa.Table":
    """Read the Parquet file of a part.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    try:
        return pq.read_table(path, columns=columns)
    except (OSError, pa.ArrowException) as error:
        raise _damaged(error, path) from None


def release_memory() -> None:
    """Return the unused memory of Arrow and the C library, which adds up over processes."""
    pa.default_memory_pool().release_unused()
    return_memory()


def places_of(column, names) -> np.ndarray:
    """Return the place of each text of an Arrow ``column`` in ``names``, or -1."""
    return pc.fill_null(pc.index_in(column, pa.array(names)), -1).to_numpy()


def rows_in(path) -> int:
    """Return the number of rows in the Parquet file of a part.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    try:
        return pq.read_metadata(path).num_rows
    except (OSError, pa.ArrowException) as error:
        raise _damaged(error, path) from None


def rejects_bytes(table, reasons: dict[int, InputError], start: int) -> bytes:
    """Return a Parquet file with the row number (from 1), unit and reason of each rejected row.

    The column "error" has the reason as data, from which `rejected_units` restores it.
    """
    numbers = sorted(reasons)
    unit = pc.cast(table.column("unit").take(pa.array(numbers, pa.int64())), pa.string())
    rows = pa.array([start + number + 1 for number in numbers], pa.int64())
    why = pa.array([str(reasons[number]) for number in numbers], pa.string())
    errors = pa.array([_as_json(reasons[number]) for number in numbers], pa.string())
    return _bytes(pa.table({"row": rows, "unit": unit, "reason": why, "error": errors}))


def _as_json(error: InputError) -> str:
    """Return an error as JSON, with the type of each value that is not a string or number."""

    def told(value):
        if isinstance(value, Message):
            return {"Message": [value.key, {k: told(one) for k, one in value.values.items()}]}
        if type(value).__name__ in _IN_ERRORS:
            return {type(value).__name__: list(map(told, value))}
        if isinstance(value, list | tuple):
            return list(map(told, value))
        return value if isinstance(value, str | int | float | None) else str(value)

    return json.dumps([told(one) for one in (error.field, error.given, error.accepted, error.unit)])


def _from_json(text: str) -> InputError:
    """Return the error that `_as_json` wrote."""

    def read(value):
        match value:
            case {"Message": [key, values]}:
                return Message(key, **{name: read(one) for name, one in values.items()})
            case dict():
                ((name, values),) = value.items()
                return _IN_ERRORS[name](*map(read, values))
            case list():
                return tuple(map(read, value))
        return value

    return InputError(*map(read, json.loads(text)))


def _bytes(table) -> bytes:
    file = io.BytesIO()
    pq.write_table(table, file, compression="zstd")
    return file.getvalue()


LISTED = (
    "unit", "verdict", "motor_1", "to_adapt_1", "to_find_out_1", "nearest_motor",
    "nearest_fails_on",
)  # fmt: skip


def listed_units(folder: str | os.PathLike, most: int) -> list[dict]:
    """Return at most ``most`` accepted units of a run, starting with those without a motor."""
    found = {verdict: [] for verdict in reversed(VERDICTS)}
    for path in sorted(Path(folder).glob("part-*.parquet")):
        table = part_table(path, list(LISTED))
        for verdict, rows in found.items():
            if len(rows) < most:
                chosen = table.filter(pc.equal(table["verdict"], verdict))
                rows += chosen.slice(0, most - len(rows)).to_pylist()
    return [_legible(row) for rows in found.values() for row in rows][:most]


def rejected_units(folder: str | os.PathLike, most: int) -> list[dict]:
    """Return the row number, the unit and the error of at most ``most`` rejected rows of a run."""
    found = []
    for path in sorted(Path(folder).glob("rejects-*.parquet")):
        rows = part_table(path).slice(0, most - len(found)).to_pylist()
        found += [{**_legible(row), "error": _from_json(row["error"])} for row in rows]
    return found


def _legible(row: dict) -> dict:
    """Return a row with its unit as text for people. The files keep the unit as it is."""
    unit = row["unit"]
    return row | {"unit": None if unit is None else shown(without_direction_marks(unit))}
