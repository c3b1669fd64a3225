"""Service calls: motor data recorded on site, with the date and place.

Calls are read from a CSV file, or from a Parquet file if pyarrow is installed. A heading is the
name of a nameplate field, or "date", "place", "outdoor temperature", "elevation" or "line voltage".
The unit of the cells follows the name in brackets, as in "power [hp]". If the heading has no unit,
each cell must include the unit, such as "1/3 hp". Only the date is required. An empty cell means
that the value was not recorded. Columns with job, order or customer numbers are used as the
reference for each call. In a list of nameplates, a column with quantities gives the number of
motors wanted for each nameplate.
"""

import difflib
import io
import os
import re
from dataclasses import dataclass, replace

import numpy as np

from airover.core.errors import InputError, is_plain, one_of, part
from airover.core.files import decoded, read_bytes
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.core.units import quoted
from airover.records.fields import read_day
from airover.records.job import Job, Site
from airover.records.limits import Limits
from airover.records.nameplate import Nameplate
from airover.records.tables import (
    MOST_LINES,
    LeftOut,
    count_in,
    file_of,
    headed_rows,
    line_of,
)

_CALLS = "calls"  # message key of the file
FILE = file_of(_CALLS)
_HEADED = Message("error.calls.heading")
LARGEST_FILE = 200_000_000  # bytes
LONGEST_PLACE = 200  # characters
AT_ONCE = 1000  # Parquet rows read per batch
DATE, PLACE = "date", "place"
OF_SITE = {
    "outdoor temperature": "outdoor_temperature",
    "elevation": "elevation",
    "line voltage": "voltage",
}
OF_PLATE = {name.replace("_", " "): name for name in Nameplate.names()}
HEADINGS = (DATE, PLACE, *OF_SITE, *OF_PLATE)
MOST_REFERENCES = 2  # columns
_REFERENCE = Pattern(
    r"\b(?:ref|reference|job|order|wo|po|ticket|invoice|customer|cust|client|account|acct|quote|case|"
    r"tag|asset|referencia|orden|pedido|folio|cliente|cuenta|trabajo)\b",
    re.IGNORECASE,
)
MOST_UNITS = 9999  # for one nameplate
_QUANTITY = Pattern(
    r"\b(?:qty|qnty|quan|quantity|quantities|count|pcs|pieces|how many|needed|cant|cantidad|"
    r"pzas?|piezas|unidades)\b",
    re.IGNORECASE,
)
_IN_STOCK = Pattern(r"\b(?:on hand|stock|available|existencias?|disponibles?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Calls:
    """Service calls in file order.

    Attributes
    ----------
    days : ndarray
        Date of each call, datetime64[D], shape (calls,), or NaT if the file has no dates.
    places : tuple[str, ...]
        Place of each call.
    needs : tuple[Job, ...]
        Distinct motor requirements, stored as jobs.
    need : ndarray
        Index in ``needs`` for each call, shape (calls,).
    left_out : LeftOut or None
        Rows of the file that could not be used, or None if all rows were used.
    evidence : float
        Weight of the counts as evidence of future calls, below 1 if needs were filled in or if the
        history is short.
    references : tuple[str, ...]
        Reference of each call in the user's own system, or an empty tuple if there is none.
    unused : tuple[str, ...]
        Headings of the columns that were not read.
    quantities : tuple[int, ...]
        Number of motors wanted for each nameplate, or an empty tuple if the list gives none.
    """

    days: np.ndarray
    places: tuple[str, ...]
    needs: tuple[Job, ...]
    need: np.ndarray
    left_out: LeftOut | None = None
    evidence: float = 1.0
    references: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()
    quantities: tuple[int, ...] = ()

    def __len__(self) -> int:
        return len(self.need)

    @property
    def counts(self) -> np.ndarray:
        """Number of calls for each job in ``needs``, shape (needs,)."""
        return np.bincount(self.need, minlength=len(self.needs))

    def with_limits(self, limits: Limits) -> "Calls":
        """Return the same calls with different limits for the checks."""
        needs = (need.model_copy(update={"limits": limits}) for need in self.needs)
        return replace(self, needs=tuple(needs))

    def part(self, which) -> "Calls":
        """Return the calls selected by a mask or by indices. ``needs`` is not changed."""
        chosen = np.arange(len(self))[which]
        places = tuple(self.places[at] for at in chosen)
        references = tuple(self.references[at] for at in chosen if self.references)
        quantities = tuple(self.quantities[at] for at in chosen if self.quantities)
        days, need = self.days[chosen], self.need[chosen]
        return replace(
            self, days=days, places=places, need=need, references=references, quantities=quantities
        )


def read_calls(path: str | os.PathLike, dated: bool = True) -> Calls:
    """Read service calls from a file. Dates are optional if ``dated`` is False.

    Raises
    ------
    InputError
        If a heading is unknown or repeated, if a cell cannot be read, or if the values in a row
        contradict each other. The error names the line and the field.
    """
    return calls_of(path, read_bytes(path, FILE, LARGEST_FILE), dated)


def calls_of(path: str | os.PathLike, content: bytes, dated: bool = True) -> Calls:
    """Return the calls in a file, given its contents. Raises the same errors as `read_calls`."""
    if content[:4] == b"PAR1":
        headings, rows = _parquet_rows(content)
    else:
        text = decoded(content, path, FILE)
        headings, rows = headed_rows(text, _CALLS)
    wanted = None if dated else quantity_column(headings, ())
    kept = [at for at, text in enumerate(headings) if at != wanted and not _is_reference(text)]
    columns = [_heading(headings[at]) for at in kept]
    _refuse_columns([name for name, _ in columns], dated)
    found = _calls(columns, [(line, [row[at] for at in kept]) for line, row in rows])
    quantities = ()
    if wanted is not None:
        quantities = tuple(_quantity(row[wanted], line) for line, row in rows)
    kept = references(headings, (*kept, wanted), [row for _, row in rows])
    return replace(found, references=kept, quantities=quantities)


def quantity_column(headings, used) -> int | None:
    """Return the index of the column with the number of motors wanted, or None.

    Parameters
    ----------
    used
        Indices of the columns that are read as something else.
    """
    wanted = (at for at, text in enumerate(headings) if at not in used and _is_quantity(text))
    return next(wanted, None)


def _is_quantity(heading: str) -> bool:
    name = heading.replace("_", " ")
    return bool(_QUANTITY.search(name)) and not _IN_STOCK.search(name)


def quantity_of(cell: str) -> int:
    """Return the number of motors wanted. An empty cell means one.

    Raises
    ------
    InputError
        If the cell is not a whole number from 1 to MOST_UNITS.
    """
    count = count_in(cell) if cell.strip() else 1
    if count is None or not 1 <= count <= MOST_UNITS:
        accepted = Message("error.calls.quantity", most=MOST_UNITS)
        raise InputError(Message("error.calls.wanted"), quoted(cell.strip()), accepted)
    return count


def _quantity(cell: str, line: int) -> int:
    try:
        return quantity_of(cell)
    except InputError as error:
        raise error.within(line_of(_CALLS, line)) from None


def references(headings, used, rows) -> tuple[str, ...]:
    """Return the reference of each row, from columns that look like job or customer numbers.

    The result is empty if there are no such columns.

    Parameters
    ----------
    used
        Indices of the columns that are not references.
    """
    at = [n for n, text in enumerate(headings) if n not in used and _REFERENCE.search(text)]
    at = at[:MOST_REFERENCES]
    said = [" / ".join(row[n].strip() for n in at if row[n].strip()) for row in rows]
    return tuple(text[:LONGEST_PLACE] for text in said) if any(said) else ()


def unread(headings, used) -> tuple[str, ...]:
    """Return the headings of the columns that are neither ``used`` nor references."""
    others = (text for at, text in enumerate(headings) if at not in used)
    return tuple(text for text in others if text.strip() and not _REFERENCE.search(text))


def _is_reference(heading: str) -> bool:
    """Return True if a heading has no unit, is not a field and looks like a reference."""
    name = " ".join(heading.lower().replace("_", " ").split())
    return name not in HEADINGS and "[" not in name and bool(_REFERENCE.search(name))


def _parquet_rows(content: bytes):
    """Return the headings and the rows as text. Rows are numbered from 2, as in a CSV file."""
    try:
        import pyarrow
        import pyarrow.parquet
    except ModuleNotFoundError:
        given, accepted = Message("error.calls.no_reader"), Message("error.calls.csv")
        raise InputError(FILE, given, accepted) from None
    try:
        file = pyarrow.parquet.ParquetFile(io.BytesIO(content))
        _refuse_large(file.metadata)
        names = file.schema_arrow.names
        known = [name for name in names if not _is_reference(name)]
        _refuse_columns([name for name, _ in map(_heading, known)], dated=False)
        rows = [row for batch in file.iter_batches(AT_ONCE) for row in _rows_of(batch)]
    except InputError:
        raise
    except (OSError, ValueError, OverflowError, pyarrow.ArrowException) as error:
        reason = (str(error).splitlines() or [""])[0][:100]
        given = Message("error.calls.broken", reason=reason)
        raise InputError(FILE, given, Message("error.calls.whole")) from None
    if not rows:
        raise InputError(FILE, Message("error.calls.none"), Message("error.calls.row"))
    return names, list(enumerate(rows, 2))


def _refuse_large(told) -> None:
    """Reject a small file that decompresses to a very large table.

    If many cells are repeated, the compressed file can be very small.
    """
    if told.num_rows > MOST_LINES:
        given = Message("error.calls.row_count", count=told.num_rows)
        raise InputError(FILE, given, Message("limit.most", value=MOST_LINES))
    size = sum(told.row_group(at).total_byte_size for at in range(told.num_row_groups))
    if size > LARGEST_FILE:
        given = Message("error.calls.size", size=f"{size / 1e6:.0f} MB")
        accepted = Message("error.calls.most", size=f"{LARGEST_FILE / 1e6:g} MB")
        raise InputError(FILE, given, accepted)


def _rows_of(batch):
    """Return the rows of a batch as text. Raises InputError for nested values."""
    from pyarrow import types

    plain = (types.is_integer, types.is_floating, types.is_string, types.is_large_string,
             types.is_date32, types.is_null, types.is_decimal)  # fmt: skip
    columns = []
    for name, column in zip(batch.schema.names, batch.columns, strict=True):
        kind = column.type.value_type if types.is_dictionary(column.type) else column.type
        if not any(is_one(kind) for is_one in plain):
            column = Message("error.calls.column", name=quoted(name))
            raise InputError(column, str(kind), Message("error.calls.cells"))
        columns.append(["" if one is None else str(one) for one in column.to_pylist()])
    return map(list, zip(*columns, strict=True))


def _heading(text: str) -> tuple[str, str]:
    """Return the field name and the unit in a heading."""
    match = re.fullmatch(r"\s*(.*?)\s*(?:\[\s*(.*?)\s*\]\s*)?", text, re.DOTALL)
    name = " ".join(match[1].lower().replace("_", " ").split())
    if name not in HEADINGS:
        near = difflib.get_close_matches(name, HEADINGS, n=1)
        raise InputError(_HEADED, quoted(text), one_of(near or HEADINGS))
    return name, match[2] or ""


def columns_in(headings: list[str]) -> dict[int, tuple[str, str]]:
    """Return the field and the unit of each known heading, by position.

    Raises
    ------
    InputError
        If a heading is repeated or resembles a known heading.
    """
    found = {}
    for at, text in enumerate(headings):
        try:
            found[at] = _heading(text)
        except InputError:
            if difflib.get_close_matches(text.split("[")[0].strip().lower(), HEADINGS, n=1):
                raise
    _refuse_columns([name for name, _ in found.values()], dated=False)
    return found


def _refuse_columns(names: list[str], dated: bool) -> None:
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        given = Message("error.heading.twice", heading=twice)
        raise InputError(_HEADED, given, Message("error.heading.once"))
    if dated and DATE not in names:
        given = Message("error.heading.missing", heading=DATE)
        raise InputError(_HEADED, given, Message("error.heading.needed"))


def _calls(columns, rows) -> Calls:
    names = [name for name, _ in columns]
    days, places, needs, need = [], [], {}, []
    for line, row in rows:
        cells = dict(zip(names, (cell.strip() for cell in row), strict=True))
        days.append(_day(cells.pop(DATE, None), line))
        places.append(_place(cells.pop(PLACE, ""), line))
        facts = tuple((n, f"{cells[n]} {unit}".strip()) for n, unit in columns if cells.get(n))
        if facts not in needs:
            needs[facts] = len(needs), need_of(dict(facts), line)
        need.append(needs[facts][0])
    jobs = tuple(job for _, job in needs.values())
    return Calls(np.array(days, dtype="datetime64[D]"), tuple(places), jobs, np.array(need))


def _day(cell: str | None, line: int):
    return np.datetime64("NaT") if cell is None else read_day(cell, _cell(line, DATE))


def _place(cell: str, line: int) -> str:
    if len(cell) > LONGEST_PLACE or not is_plain(cell):
        accepted = Message("error.field.plain", count=LONGEST_PLACE)
        raise InputError(_cell(line, PLACE), quoted(cell), accepted)
    return cell


def _cell(line: int, name: str) -> Message:
    return part(line_of(_CALLS, line), name)


def need_of(facts: dict[str, str], line: int) -> Job:
    """Return the job for one distinct row."""
    plate = {OF_PLATE[name]: text for name, text in facts.items() if name in OF_PLATE}
    site = {OF_SITE[name]: text for name, text in facts.items() if name in OF_SITE}
    try:
        return Job(nameplate=Nameplate(**plate), site=Site(**site))
    except InputError as error:
        raise error.within(line_of(_CALLS, line)) from None
