"""The table on the benchmark page: write it, and compare later runs with it."""

import datetime
import os
import platform
import re
from pathlib import Path

from row import HEAD, Row

PAGE = Path(__file__).with_name("RESULTS.md")
SLOWER = 1.5  # factor by which a ratio may fall, as other work on the machine moves it
_TABLE = re.compile(r"^Measured on [^\n]*\n\n(?:\|[^\n]*\n)+", re.MULTILINE)


def write(rows: list[Row]) -> None:
    """Replace the table, with today's date and this machine."""
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} processors"
    told = f"Measured on {datetime.date.today()} ({machine}, Python {platform.python_version()})."
    table = "\n".join([told, "", HEAD, *(row.line() for row in rows), ""])
    text, count = _TABLE.subn(lambda _: table, PAGE.read_text(encoding="utf-8"))
    assert count == 1, "the page must have one table that was measured"
    PAGE.write_text(text, encoding="utf-8")


def ratios() -> dict[tuple[str, str], float]:
    """The stored ratios of the peer's time to ours, by row and peer."""
    lines = _TABLE.search(PAGE.read_text(encoding="utf-8"))[0].splitlines()[4:]
    cells = ([cell.strip() for cell in line.split("|")] for line in lines)
    return {(what, peer): float(ratio) for _, what, _, peer, _, ratio, *_ in cells}


def slower(rows: list[Row]) -> list[str]:
    """What has become slower in relation to its peer, in a sentence for each row."""
    before = ratios()
    found = []
    for row in rows:
        earlier, now = before.get((row.what, row.peer_name)), row.peer / row.ours
        if earlier is not None and now < earlier / SLOWER:
            found.append(f"{row.what}: peer / ours fell from {earlier:.3g} to {now:.3g}")
    return found
