"""The rows of a CSV file, for every kind of file that has a row of headings."""

import csv
import io

from airover.errors import InputError

MOST_LINES = 1_000_000
MOST_HEADINGS = 200


def headed_rows(text: str, file: str, line_of: str, thing: str, divider: str = ","):
    """The headings of ``text``, and each row with the number of its line.

    ``file`` and ``line_of`` name the file and a line of it in a refusal, ``thing`` is what a row
    is about, ``divider`` stands between two cells. Raises InputError for text that is no CSV, has
    no row, a row of another length, or more lines or headings than anybody's.
    """
    lines = max(text.count("\n"), text.count("\r"))
    if lines > MOST_LINES:
        raise InputError(file, f"{lines} lines", f"at most {MOST_LINES}")
    found = _rows(text, line_of, divider)
    _, headings = next(found, (0, []))
    if len(headings) > MOST_HEADINGS:
        raise InputError(file, f"{len(headings)} headings", f"at most {MOST_HEADINGS}")
    rows = []
    for line, row in found:  # one at a time: the first that is wrong is enough
        if len(row) != len(headings):
            accepted = f"one for each of the {len(headings)} headings"
            raise InputError(f"{line_of} {line}", f"a row of {len(row)} cells", accepted)
        rows.append((line, row))
    if not rows:
        raise InputError(file, f"no {thing}", f"a row of headings and a row for each {thing}")
    return headings, rows


def _rows(text: str, line_of: str, divider: str):
    """Each row that is not empty, with the number of its line."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, strict=True)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield reader.line_num, row
    except csv.Error as error:
        field = f"{line_of} {reader.line_num}"
        raise InputError(field, f"a row with an error ({error})", "comma-separated cells") from None
