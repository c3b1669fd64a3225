"""Tables and blocks of the project's own pages, for the tests that hold code to them."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]


def section(page: str, heading: str) -> str:
    """The text of ``page`` (named from the top folder) below ``heading``, up to the next one."""
    text = (ROOT / page).read_text(encoding="utf-8")
    return re.split(r"^#+ .*\n", text.split(f"# {heading}\n")[1], flags=re.MULTILINE)[0]


def table(page: str, heading: str, first: str) -> list[list[str]]:
    """The rows, cell by cell, of the table below ``heading`` whose first column is ``first``."""
    for block in section(page, heading).split("\n\n"):
        titles, *rows = [_cells(line) for line in block.splitlines() if line.startswith("|")] or [
            []
        ]
        if titles[:1] == [first]:
            return rows[1:]
    raise LookupError(f"{page} has no table of {first!r} below {heading!r}")


def names(cell: str) -> list[str]:
    """What stands between backticks in a cell."""
    return re.findall(r"`([^`]+)`", cell)


def blocks(page: str, language: str) -> list[str]:
    """The fenced blocks of ``page`` in ``language``."""
    text = (ROOT / page).read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")]
