"""Tables in workbooks, in CSV files with any separator and encoding, and in Parquet files.

Cells are read as text. `records.importing` determines the meaning of the columns. Rows above the
headings, such as a shop name or a date, are skipped. The heading row is the first row that has
nearly as many filled cells as the fullest row and contains words instead of numbers.
"""

import csv
import datetime
import io
import math
import os
import re
import zipfile
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

from airover.core.errors import InputError, without_direction_marks
from airover.core.files import read_bytes
from airover.core.message import Message
from airover.core.units import quoted

FILE = Message("sheet.file")
LARGEST_FILE = 100_000_000  # bytes
LARGEST_INSIDE = 1_000_000_000  # bytes; total size of a workbook's parts, decompressed
MOST_ROWS = 1_000_000
MOST_COLUMNS = 200
MOST_CELLS = 20_000_000  # with the empty cells of a row; they need 200 MB
LONGEST_CELL = 2000  # characters
_SEARCHED = 30  # rows searched for the headings
_LONGEST_HEADING_ROW = 50_000  # bytes
_DIVIDERS = ",;\t|"
_FORMULA_ERRORS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!")


@dataclass(frozen=True)
class Sheet:
    """Table with headings and rows of text cells.

    Each row has as many cells as there are headings.

    Attributes
    ----------
    headings : list[str]
        Headings.
    rows : list[list[str]]
        Rows of cells.
    lines : tuple[int, ...]
        Line number of each row in the file.
    sheet : str
        Name of the sheet in the workbook, or "" for other files.
    divider : str
        Separator in a CSV file.
    file : str
        Name of the file.
    uneven : dict[int, int]
        Number of cells by line, for rows in a CSV file that have too few or too many cells.
    width : int
        Number of cells in the heading row of a CSV file.
    above : tuple[str, ...]
        Cells above the headings, such as a title.
    """

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    sheet: str = ""
    divider: str = ""
    file: str = ""
    uneven: dict[int, int] = field(default_factory=dict)
    width: int = 0
    above: tuple[str, ...] = ()

    def below(self) -> "Sheet":
        """Return the table with the first row as its headings."""
        below = {"headings": self.rows[0], "rows": self.rows[1:], "lines": self.lines[1:]}
        return replace(self, **below, uneven={}, above=(*self.above, *self.headings))

    def column(self, at: int) -> list[str]:
        """Return the cells in the column with index ``at``."""
        return [row[at] for row in self.rows]


def read_sheet(path: str | os.PathLike, sheet: str = "") -> Sheet:
    """Read a table from a file, or a sheet from a workbook.

    Raises
    ------
    InputError
        If the file cannot be read, is not a table, has no rows or has too many rows.
    """
    content = read_bytes(path, FILE, LARGEST_FILE)
    return sheet_of(Path(path).name, content, sheet)


def sheet_of(name: str, content: bytes, sheet: str = "", inside: int = LARGEST_INSIDE) -> Sheet:
    """Return the table in a file, given its contents. Raises the same InputError as `read_sheet`.

    ``inside`` is the maximum total size [bytes] of the decompressed parts of a workbook.
    """
    if content[:4] == b"PAR1":
        found = _headed(_parquet(content))
    elif is_workbook(content):
        found = _workbook(content, sheet, inside)
    elif content[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        raise InputError(FILE, quoted(name), Message("sheet.old_workbook"))
    else:
        found = _csv(_decoded(content, name))
    return replace(found, file=name)


def first_headings(content: bytes) -> list[str]:
    """Return the first row of a comma-separated file, or the column names of a Parquet file.

    Returns an empty list for any other file.
    """
    if content[:4] == b"PAR1":
        with suppress(Exception):  # pyarrow is missing, or the file is damaged
            import pyarrow.parquet

            return list(pyarrow.parquet.read_schema(io.BytesIO(content)).names)
        return []
    lines = content[:_LONGEST_HEADING_ROW].decode("utf-8-sig", "replace").splitlines()
    first = next((line for line in lines if line.strip()), "")
    with suppress(csv.Error):
        return next(csv.reader([first]), [])
    return []


def _decoded(content: bytes, name: str) -> str:
    """Decode the text of a CSV file.

    The encoding is determined from the byte order mark or from the zero bytes of UTF-16. Otherwise
    it is UTF-8, or cp1252 if the bytes are not valid UTF-8.
    """
    for mark, code in (
        (b"\xef\xbb\xbf", "utf-8-sig"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):
        if content.startswith(mark):
            return content.decode(code, "replace")
    if content[1:2] == b"\0" and content[:1] != b"\0":
        return content.decode("utf-16-le", "replace")
    if b"\0" in content[:1000]:
        raise InputError(FILE, quoted(name), Message("sheet.no_table"))
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _csv(text: str) -> Sheet:
    """Return the table in CSV text.

    The separator is the character that produces the most rows of equal length.
    """
    if text.count("\n") > MOST_ROWS:
        raise _too_many(text.count("\n"))
    named = re.match(r"sep=(.)\r?\n", text)  # some spreadsheets write this as the first line
    if named:
        return _divided(text[named.end() :], named[1], 1)
    divider = max(_DIVIDERS, key=lambda one: _evenness(text, one))
    return _divided(text, divider, 0)


def _evenness(text: str, divider: str) -> tuple[int, int]:
    """Return the number of rows that have the most common cell count, and that count."""
    rows = csv.reader(io.StringIO(text[:100_000], newline=""), delimiter=divider)
    counts = []
    try:
        for row, _ in zip(rows, range(200)):
            if len(row) > 1:
                counts.append(len(row))
    except csv.Error:
        return 0, 0
    if not counts:
        return 0, 0
    commonest = max(set(counts), key=counts.count)
    return counts.count(commonest), commonest


def _divided(text: str, divider: str, skipped: int) -> Sheet:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider)
    rows = []
    try:
        for row in reader:
            rows.append(
                (reader.line_num + skipped, [without_direction_marks(cell).strip() for cell in row])
            )
    except csv.Error as error:
        line = Message("sheet.line", number=reader.line_num + skipped)
        raise InputError(line, str(error), Message("error.rows.separated")) from None
    return _headed(rows, divider=divider)


def _workbook(content: bytes, wanted: str, inside: int) -> Sheet:
    """Return a sheet of a workbook, by default the one with the most filled cells."""
    title, rows = workbook_rows(content, wanted, inside)
    return _headed(rows, sheet=title)


def is_workbook(content: bytes) -> bool:
    """Return True if the contents of a file are those of a workbook (.xlsx)."""
    return content[:4] == b"PK\x03\x04"


def workbook_rows(content: bytes, wanted: str = "", inside: int = LARGEST_INSIDE):
    """Return the name of a sheet of a workbook, and its rows as text cells with their lines.

    By default, the sheet is the one with the most filled cells.

    Raises
    ------
    InputError
        If the workbook is damaged or too large, or if it has no sheet named ``wanted``.
    """
    import openpyxl

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            if sum(part.file_size for part in parts.infolist()) > inside:
                given = Message("sheet.too_large", size=f"{inside / 1e6:g} MB")
                raise InputError(FILE, given, Message("sheet.smaller"))
        book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        names = [one.title for one in book.worksheets]
        if wanted and wanted not in names:
            raise InputError(Message("sheet.sheet"), quoted(wanted), ", ".join(names))
        chosen = [book[wanted]] if wanted else book.worksheets
        tables = [(one.title, _cells(one)) for one in chosen]
    except (InputError, MemoryError):
        raise
    except Exception as error:  # noqa: BLE001  openpyxl raises many errors for a damaged file
        reason = (str(error).splitlines() or [type(error).__name__])[0][:100]
        given = Message("sheet.broken", reason=reason)
        raise InputError(FILE, given, Message("sheet.save_again")) from None
    if not tables:
        raise InputError(FILE, Message("sheet.no_rows"), Message("sheet.rows"))
    return max(tables, key=lambda one: sum(bool(cell) for _, row in one[1] for cell in row))


def _cells(sheet) -> list[tuple[int, list[str]]]:
    """Return the filled rows of a sheet with their lines, all equally wide."""
    sheet.reset_dimensions()  # some programs write a wrong size, and rows beyond it are lost
    rows, gap, width = [], None, 0
    for number, row in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS), 1):
        if row is gap:  # openpyxl repeats one empty row up to the next row of the file
            continue
        gap = row
        texts = [
            "" if cell.value is None else without_direction_marks(_shown(cell)) for cell in row
        ]
        while texts and not texts[-1]:
            texts.pop()
        if texts:
            rows.append((number, texts))
            width = max(width, len(texts))
            _check_size(len(rows), width)
    return [(number, texts + [""] * (width - len(texts))) for number, texts in rows]


def _check_size(rows: int, width: int) -> None:
    """Raise InputError if a table has too many rows, or too many cells for the memory."""
    if rows > MOST_ROWS:
        raise _too_many(rows)
    if rows * width > MOST_CELLS:
        given = Message("sheet.cells", count=rows * width)
        raise InputError(FILE, given, Message("limit.most", value=MOST_CELLS))


def _shown(cell) -> str:
    """Return a cell of a workbook as text, with the currency or % that the spreadsheet displays."""
    number = isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool)
    if number and cell.number_format.endswith("%"):
        return f"{_text(100.0 * cell.value)}%"
    text = _text(cell.value)
    money = number and _currency_shown(cell.number_format)
    return f"{money} {text}" if money else text


@lru_cache
def _currency_shown(number_format: str) -> str:
    """Return the currency code or symbol in the number format of a cell, or "".

    >>> _currency_shown("[$$-80A]#,##0.00"), _currency_shown('"$"#,##0.00'), _currency_shown("0.0")
    ('MXN', '$', '')
    """
    named = re.search(r"\[\$([^\]-]*)(?:-([0-9A-Fa-f]+))?\]", number_format)
    sign, region = (named[1].strip(), named[2]) if named else ("", "")
    if sign == "$" and region:
        return _DOLLARS.get(region.upper(), "$")
    signs = re.findall(r"\b[A-Z]{3}\b|[$\u20ac]", sign or number_format)
    return signs[0] if signs else ""


_DOLLARS = {"409": "USD", "80A": "MXN", "1009": "CAD"}  # by region of a spreadsheet


def _parquet(content: bytes) -> list[tuple[int, list[str]]]:
    try:
        import pyarrow
        import pyarrow.parquet
    except ModuleNotFoundError:
        raise InputError(
            FILE, Message("error.calls.no_reader"), Message("error.calls.csv")
        ) from None
    try:
        file = pyarrow.parquet.ParquetFile(io.BytesIO(content))
        if file.metadata.num_rows > MOST_ROWS:
            raise _too_many(file.metadata.num_rows)
        table = file.read()
        columns = [column.to_pylist() for column in table.columns]
    except (OSError, ValueError, OverflowError, pyarrow.ArrowException) as error:
        reason = (str(error).splitlines() or [""])[0][:100]
        given = Message("sheet.broken", reason=reason)
        raise InputError(FILE, given, Message("sheet.save_again")) from None
    rows = [(1, list(table.column_names))]
    rows += [(at, [_text(cell) for cell in row]) for at, row in enumerate(zip(*columns), 2)]
    return rows


def _text(cell: object) -> str:
    """Return a cell as text, as a person would type it."""
    if cell is None or (isinstance(cell, float) and math.isnan(cell)) or cell in _FORMULA_ERRORS:
        return ""
    if isinstance(cell, datetime.datetime):
        return cell.date().isoformat()
    if isinstance(cell, float):
        return f"{cell:.10g}" if abs(cell) < 1e10 else str(int(cell))
    return " ".join(str(cell).split())[:LONGEST_CELL]


def _headed(rows: list[tuple[int, list[str]]], sheet: str = "", divider: str = "") -> Sheet:
    """Return the table below the heading row, without empty rows and columns."""
    rows = [(line, row) for line, row in rows if any(row)]
    if len(rows) < 2:
        raise InputError(FILE, Message("sheet.no_rows"), Message("sheet.rows"))
    width = max(len(row) for _, row in rows)
    if width > MOST_COLUMNS:
        given = Message("error.rows.headings", count=width)
        raise InputError(FILE, given, Message("limit.most", value=MOST_COLUMNS))
    _check_size(len(rows), width)
    filled = [(line, [*row, *[""] * (width - len(row))]) for line, row in rows]
    top = _heading_row([row for _, row in filled[:_SEARCHED]])
    headings, top = _whole_headings(filled, top)
    body = filled[top + 1 :]
    printed = [row for _, row in filled[: top + 1]]
    kept = [at for at in range(width) if headings[at] or any(row[at] for _, row in body)]
    wide = len(rows[top][1])
    uneven = _uneven(rows[top + 1 :], wide) if divider else {}
    above = tuple(cell for row in printed[:-1] for cell in row if cell)
    body = [(line, row) for line, row in body if row not in printed]  # repeated on each page
    headings = _distinct(headings)
    if not body:
        raise InputError(FILE, Message("sheet.no_rows"), Message("sheet.rows"))
    return Sheet(
        tuple(headings[at] for at in kept),
        tuple(tuple(row[at] for at in kept) for _, row in body),
        tuple(line for line, _ in body),
        sheet, divider, uneven=uneven, width=wide, above=above,
    )  # fmt: skip


def _uneven(rows: list[tuple[int, list[str]]], wanted: int) -> dict[int, int]:
    """Return, by line, the number of cells in each row that does not have the ``wanted`` number.

    Extra empty cells at the end of a row are ignored. If most rows have more cells than the heading
    row, the last columns have no headings.
    """
    filled = {line: max(at for at, cell in enumerate(row, 1) if cell) for line, row in rows}
    long = {line: count for line, count in filled.items() if count > wanted}
    short = {line: len(row) for line, row in rows if len(row) < wanted}
    return short | (long if 2 * len(long) < len(rows) else {})


def _whole_headings(rows: list[tuple[int, list[str]]], top: int) -> tuple[list[str], int]:
    """Return the headings, which can span one or two rows, and the index of their last row.

    A group heading, such as "Failed motor" above HP, Volts and Amps, also applies to the empty
    cells next to it.
    """
    first = rows[top][1]
    second = rows[top + 1][1] if top + 2 < len(rows) else []
    named = [at for at, cell in enumerate(second) if cell]
    if (
        len(named) < 2
        or all(first[at] for at in named)
        or any(re.search(r"\d", second[at]) for at in named)
    ):
        return first, top
    whole, group = [], ""
    for above, below in zip(first, second):
        group = above or (group if below else "")
        whole.append(" ".join(filter(None, (above or group, below))))
    return whole, top + 1


def _distinct(headings: list[str]) -> list[str]:
    """Return the headings, with a number added to repeated headings."""
    return [
        f"{one} ({headings[: at + 1].count(one)})" if one in headings[:at] else one
        for at, one in enumerate(headings)
    ]


def _heading_row(rows: list[list[str]]) -> int:
    """Return the index of the heading row.

    The heading row is the first row that is nearly as full as the fullest row and contains mostly
    words.
    """
    counts = [sum(map(bool, row)) for row in rows]
    for at, row in enumerate(rows):
        words = sum(bool(cell) and not re.fullmatch(r"[\d\s.,/$%-]+", cell) for cell in row)
        if counts[at] >= 0.6 * max(counts) and words >= 0.8 * counts[at]:
            return at
    return counts.index(max(counts))


def _too_many(count: int) -> InputError:
    given = Message("error.rows.lines", count=count)
    return InputError(FILE, given, Message("limit.most", value=MOST_ROWS))
