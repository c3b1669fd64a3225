"""Lay out texts, lists and tables as a printable page and as a PDF.

A printed sheet is a list of blocks. The page and the PDF are written from the same blocks.
"""

import datetime

from airover.core.texts import Writer
from airover.reports.html import TEMPLATES, html_page
from airover.reports.typeset import everywhere, plain, typeset

PAPERS = {"US": "us-letter", "SI": "a4"}
BOX = "\N{BALLOT BOX}"
_NAME = "printed"
TEMPLATE = TEMPLATES / f"{_NAME}.typ"


def text(words: str) -> dict:
    """Return a paragraph."""
    return {"kind": "text", "text": words}


def strong(words: str) -> dict:
    """Return a paragraph in larger type."""
    return {"kind": "strong", "text": words}


def note(words: str) -> dict:
    """Return a paragraph in smaller type."""
    return {"kind": "note", "text": words}


def heading(words: str) -> dict:
    """Return a heading."""
    return {"kind": "heading", "text": words}


def listed(items) -> dict:
    """Return a list of sentences."""
    return {"kind": "list", "items": list(items)}


def columns(headings, rows, widths=None, right=(), bold=()) -> dict:
    """Return a table.

    Parameters
    ----------
    widths : optional
        Relative width of each column.
    right : optional
        Indices of the columns that are aligned to the right.
    bold : optional
        Indices of the rows in bold type.
    """
    widths = [1] * len(headings) if widths is None else list(widths)
    total = sum(widths)
    return {
        "kind": "table",
        "headings": list(headings),
        "rows": [[str(cell) for cell in row] for row in rows],
        "widths": [round(100 * width / total, 2) for width in widths],
        "right": list(right),
        "bold": list(bold),
    }


def page(title: str, blocks, writer: Writer, wide: bool = False, small: bool = False) -> str:
    """Return a self-contained HTML page.

    ``wide`` selects landscape paper, and ``small`` selects small type.
    """
    return html_page(
        _NAME,
        writer=writer, title=title, blocks=list(blocks), wide=wide, small=small,
    )  # fmt: skip


def pdf(
    title: str, blocks, writer: Writer, wide: bool = False, small: bool = False, date=None
) -> bytes:
    """Return a PDF of the same sheet."""
    content = {
        "title": title, "blocks": list(blocks), "wide": wide, "small": small,
        "paper": PAPERS[writer.system], "language": writer.language,
    }  # fmt: skip
    content = everywhere(plain, content)
    template = TEMPLATE.read_text(encoding="utf-8")
    return typeset(_NAME, content, {}, date or datetime.date.today(), template)
