"""The rows of a CSV file, for every kind of file that has a row of headings."""

import csv
import io

from airover.errors import InputError


def headed_rows(text: str, file: str, line_of: str, thing: str, divider: str = ","):
    """The headings of ``text``, and each row with the number of its line.

    ``file`` and ``line_of`` name the file and a line of it in a refusal, ``thing`` is what a row
    is about, ``divider`` stands between two cells. Raises InputError for text that is no CSV, has
    no row, or a row of another length.
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, strict=True)
    try:
        lines = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        field = f"{line_of} {reader.line_num}"
        raise InputError(field, f"a row with an error ({error})", "comma-separated cells") from None
    if len(lines) < 2:
        raise InputError(file, f"no {thing}", f"a row of headings and a row for each {thing}")
    (_, headings), *rows = lines
    for line, row in rows:
        if len(row) != len(headings):
            accepted = f"one for each of the {len(headings)} headings"
            raise InputError(f"{line_of} {line}", f"a row of {len(row)} cells", accepted)
    return headings, rows
