"""Rows of CSV files with a heading row, and rows that could not be used."""

import csv
import io
from dataclasses import dataclass

from airover.core.errors import InputError, without_direction_marks
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.core.texts import Writer
from airover.core.units import parse_number

MOST_LINES = 1_000_000
MOST_HEADINGS = 200


@dataclass(frozen=True)
class LeftOut:
    """Rows of a table that could not be used.

    Attributes
    ----------
    table : str
        Type of table: "catalog", "calls", "nameplates" or "units".
    file : str
        Name of the file.
    rows : int
        Number of rows in the table.
    reasons : tuple
        Line number and reason (error or Message) for each row that could not be used.
    cells : tuple, optional
        Line number, heading and reason for each cell in the other rows that could not be used.
    """

    table: str
    file: str
    rows: int
    reasons: tuple[tuple[int, InputError | Message], ...]
    cells: tuple[tuple[int, str, InputError | Message], ...] = ()

    @property
    def told(self) -> Message:
        """Message with the number of unused rows and cells and the command that lists them."""
        key = "told" if not self.cells else "both" if self.reasons else "cells"
        counts = {"count": len(self.reasons), "rows": self.rows, "cells": len(self.cells)}
        name = Message(f"left_out.table.{self.table}")
        return Message(f"left_out.{key}", name=name, table=self.table, file=self.file, **counts)

    def as_dict(self, writer: Writer) -> dict:
        """Return the rows and the reasons for JSON."""
        lines = [{"line": line, "reason": said(reason, writer)} for line, reason in self.reasons]
        cells = [{"line": line, "heading": heading, "reason": said(reason, writer)}
                 for line, heading, reason in self.cells]  # fmt: skip
        whole = {"table": self.table, "file": self.file, "rows": self.rows}
        return whole | {"left_out": lines, "cells": cells}


def said(reason: InputError | Message, writer: Writer) -> str:
    """Return a sentence that explains why a row or cell was not used."""
    return writer.error(reason) if isinstance(reason, InputError) else writer(reason)


def count_in(cell: str) -> int | None:
    """Return the whole number in a cell such as "4", "4 ea" or "qty 4", or None if there is none.

    >>> [count_in(one) for one in ("4", "2 ea", "qty 3", "x2", "", "1.5", "two")]
    [4, 2, 3, 2, None, None, None]
    """
    bare = _ABOUT_A_COUNT.sub("", cell.strip().lower())
    number = parse_number(bare.strip())
    return int(number) if number is not None and number >= 0 and number == int(number) else None


_ABOUT_A_COUNT = Pattern(r"^(?:qty|cant)\b[.:]?|^x(?=\s*\d)|(?:ea|each|pcs?|pzas?|x)\.?$")


def left_out_of(*tables) -> tuple[LeftOut, ...]:
    """Return the LeftOut of each table that has unused rows."""
    found = (getattr(one, "left_out", None) for one in tables)
    return tuple(one for one in found if one is not None)


def headed_rows(text: str, file: str, divider: str = ","):
    """Return the headings in CSV text, and the rows with their line numbers.

    Parameters
    ----------
    text : str
        CSV text.
    file : str
        Message key for the names of the file, its lines and its rows.
    divider : str, optional
        Cell separator.

    Raises
    ------
    InputError
        If the text is not CSV, has no rows, has rows of different lengths, or has too many lines or
        headings.
    """
    lines = max(text.count("\n"), text.count("\r"))
    if lines > MOST_LINES:
        given = Message("error.rows.lines", count=lines)
        raise InputError(file_of(file), given, Message("limit.most", value=MOST_LINES))
    found = _rows(text, file, divider)
    _, headings = next(found, (0, []))
    if len(headings) > MOST_HEADINGS:
        given = Message("error.rows.headings", count=len(headings))
        raise InputError(file_of(file), given, Message("limit.most", value=MOST_HEADINGS))
    rows = []
    for line, row in found:  # one at a time, because only the first error is reported
        if len(row) != len(headings):
            given = Message("error.rows.cells", count=len(row))
            accepted = Message("error.rows.for_headings", count=len(headings))
            raise InputError(line_of(file, line), given, accepted)
        rows.append((line, row))
    if not rows:
        given, accepted = Message(f"error.{file}.none"), Message(f"error.{file}.rows")
        raise InputError(file_of(file), given, accepted)
    return headings, rows


def file_of(file: str) -> Message:
    """Return a message that identifies a file, for use in error messages."""
    return Message(f"error.{file}.file")


def line_of(file: str, number: int) -> Message:
    """Return a message that identifies a line in a file, for use in error messages."""
    return Message(f"error.{file}.line", number=number)


def _rows(text: str, file: str, divider: str):
    """Yield the nonempty rows with their line numbers."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, strict=True)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield reader.line_num, [without_direction_marks(cell) for cell in row]
    except csv.Error as error:
        given = Message("error.rows.broken", reason=str(error))
        accepted = Message("error.rows.separated")
        raise InputError(line_of(file, reader.line_num), given, accepted) from None
