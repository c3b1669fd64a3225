"""A table (pandas) as HTML and as CSV, whatever texts are in its cells."""

import re

import pandas as pd

# A spreadsheet takes a cell that begins so for a formula, and works it.
_FORMULA = re.compile(r"\s*[=+\-@\uff0b\uff0d\uff1d\uff20]|[\t\r\n]")
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FIGURES = re.compile(rf"{_NUMBER}(?: (?:to|a) {_NUMBER})?")


def html(frame: pd.DataFrame, classes: str | None = None) -> str:
    """A table as HTML without its index: every text escaped and none shortened."""
    with pd.option_context("display.max_colwidth", None):
        return frame.to_html(index=False, border=0, escape=True, justify="left", classes=classes)


def csv(frame: pd.DataFrame, index: bool = False) -> str:
    """A table as CSV; a text that a spreadsheet would work as a formula gets an apostrophe first.

    Numbers, and bands written as "-3.2 to 1.5" in any language, stay as they are.
    """
    safe = frame.map(guarded).rename(columns=guarded)
    return safe.rename(index=guarded).to_csv(index=index)


def guarded(cell):
    """``cell`` as a spreadsheet may have it: a text that would be a formula begins with "'"."""
    text = isinstance(cell, str)
    return f"'{cell}" if text and _FORMULA.match(cell) and not _FIGURES.fullmatch(cell) else cell
