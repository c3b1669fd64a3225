"""Write tables (pandas) with headings in the reader's language as HTML and CSV."""

import re
from html import escape

import pandas as pd

from airover.core.intervals import Band
from airover.core.texts import Writer

# A spreadsheet evaluates cells that begin with these characters as formulas.
_FORMULA = re.compile(r"\s*[=+\-@\uff0b\uff0d\uff1d\uff20]|[\t\r\n]")
MATH = re.compile(r"[$\\]")  # signs that begin an equation in JupyterLab
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_LATER_FORMULA = re.compile(r"(?!\A)([;\t|]\s*)([=+@\uff0b\uff1d\uff20]|-(?![\s\d.]))")
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FIGURES = re.compile(rf"{_NUMBER}(?: (?:to|a) {_NUMBER})?")


def table(rows, texts: str, writer: Writer, columns=None, kinds=None, **values) -> pd.DataFrame:
    """Return ``rows`` (dicts, or tuples in the order of ``columns``) as a table.

    The heading of a column is the message with the key ``texts``.COLUMN, filled in with ``values``
    and, for a column in ``kinds``, with the unit of that quantity type. Missing cells are empty.
    """
    kinds = kinds or {}

    def heading(column: str) -> str:
        unit = writer.unit(kinds[column]) if column in kinds else ""
        return writer(f"{texts}.{column}", unit=unit, **values)

    return pd.DataFrame(rows, columns=columns).fillna("").rename(columns=heading)


def between(band: Band, decimals: int, writer: Writer) -> str:
    """Format the limits of a ``band`` without a unit.

    Return a single number if both limits round to the same value.
    """
    low, high = (f"{end:.{decimals}f}" for end in (band.low, band.high))
    return low if low == high else writer("to", low=low, high=high)


def bare(value: float, kind: str, writer: Writer, digits: int | None = None) -> str:
    """Return an amount without its unit, for a column whose heading shows the unit."""
    return writer.amount(value, kind, digits).split()[0]


def percent(share: float) -> str:
    """Return a fraction as a percentage, such as "57 %"."""
    return f"{100 * share:.0f} %"


def html(frame: pd.DataFrame, classes: str = "") -> str:
    """Return a table as HTML without its index, with all text escaped and none truncated."""
    head = _row_of("th", frame.columns)
    body = "".join(_row_of("td", row) for row in frame.itertuples(index=False, name=None))
    names = f"dataframe {classes}".strip()
    whole = f'<table class="{names}"><thead>{head}</thead><tbody>{body}</tbody></table>'
    return no_equation(whole)


def _row_of(tag: str, cells) -> str:
    return f"<tr>{''.join(f'<{tag}>{escape(str(cell))}</{tag}>' for cell in cells)}</tr>\n"


def no_equation(html: str) -> str:
    """Change HTML without such signs in its attributes, so that JupyterLab typesets no equation.

    JupyterLab looks for pairs of dollar signs and for backslashes, but only within one element.
    """
    return MATH.sub(r"<span>\g<0></span>", html)


def in_markdown(text: str) -> str:
    """Return ``text`` for Markdown, without any sign that JupyterLab would format or typeset.

    JupyterLab removes equations before it renders Markdown, so such signs are written as numbers.
    """
    signs = MATH.sub(lambda sign: f"<span>&#{ord(sign[0])};</span>", escape(text))
    return f"<div>{' '.join(signs.split())}</div>"


def csv(frame: pd.DataFrame, index: bool = False) -> str:
    """Return a table as CSV.

    Text that a spreadsheet would evaluate as a formula is prefixed with an apostrophe. Numbers and
    ranges such as "-3.2 to 1.5" (English) or "-3.2 a 1.5" (Spanish) are unchanged. Numbers are
    written without thousands separators.
    """
    safe = frame.map(_ungrouped).map(guarded).rename(columns=guarded)
    return safe.rename(index=guarded).to_csv(index=index)


def _ungrouped(cell):
    grouped = isinstance(cell, str) and _GROUPED.fullmatch(cell)
    return cell.replace(",", "") if grouped else cell


def guarded(cell):
    """Prefix ``cell`` with an apostrophe if a spreadsheet would evaluate it as a formula.

    A spreadsheet that uses semicolons or tabs as separators can also detect a formula after one of
    these characters.
    """
    if not isinstance(cell, str):
        return cell
    cell = _LATER_FORMULA.sub(r"\1'\2", cell)
    return f"'{cell}" if _FORMULA.match(cell) and not _FIGURES.fullmatch(cell) else cell
