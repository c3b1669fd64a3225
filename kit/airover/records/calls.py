"""Service calls: a table of what was read at the unit, when and where, full of gaps.

A CSV file, or a Parquet file where pyarrow is at hand. A heading is a field of a nameplate, or
"date", "place", "outdoor temperature", "elevation" or "line voltage", with the unit of its cells
in brackets: "power [hp]". A cell without a unit in its heading tells its own: "1/3 hp". Only the
date must be there; an empty cell is a fact that nobody noted.
"""

import difflib
import os
import re
from dataclasses import dataclass

import numpy as np

from airover.errors import InputError
from airover.records.dates import read_day
from airover.records.fields import listed
from airover.records.job import Job
from airover.records.nameplate import Nameplate
from airover.records.rows import headed_rows
from airover.records.site import Site
from airover.safe_file import decoded, read_bytes
from airover.units import quoted

LARGEST_FILE = 200_000_000
DATE, PLACE = "date", "place"
OF_SITE = {
    "outdoor temperature": "outdoor_temperature",
    "elevation": "elevation",
    "line voltage": "voltage",
}
OF_PLATE = {name.replace("_", " "): name for name in Nameplate.names()}
HEADINGS = (DATE, PLACE, *OF_SITE, *OF_PLATE)


@dataclass(frozen=True)
class Calls:
    """Calls in the order of their file, each pointing to what it needs.

    ``needs`` are the distinct facts as jobs; ``need`` (calls,) says which of them a call has.
    ``days`` (calls,) are datetime64[D], NaT where the file has no dates; ``places`` one per call.
    """

    days: np.ndarray
    places: tuple[str, ...]
    needs: tuple[Job, ...]
    need: np.ndarray

    def __len__(self) -> int:
        return len(self.need)

    @property
    def counts(self) -> np.ndarray:
        """How many calls have each need, (needs,)."""
        return np.bincount(self.need, minlength=len(self.needs))

    def part(self, which) -> "Calls":
        """Some of the calls, ``which`` a mask or numbers; all ``needs`` keep their places."""
        chosen = np.arange(len(self))[which]
        places = tuple(self.places[at] for at in chosen)
        return Calls(self.days[chosen], places, self.needs, self.need[chosen])


def read_calls(path: str | os.PathLike, dated: bool = True) -> Calls:
    """The calls in the file at ``path``; with ``dated`` False a date may be left out.

    Raises InputError, naming line and field, for an unknown or doubled heading, a cell that cannot
    be read and facts that contradict each other, as a job does.
    """
    content = read_bytes(path, "calls file", LARGEST_FILE)
    if content[:4] == b"PAR1":
        headings, rows = _parquet_rows(path)
    else:
        headings, rows = headed_rows(
            decoded(content, path, "calls file"), "calls file", "calls line", "call"
        )
    columns = [_heading(text) for text in headings]
    _refuse_columns([name for name, _ in columns], dated)
    return _calls(columns, rows)


def _parquet_rows(path):
    """Headings and rows of texts; the rows count as lines from 2 on, as in a CSV file."""
    try:
        import pyarrow
        import pyarrow.parquet
    except ModuleNotFoundError:
        accepted = 'a CSV file, or the package pyarrow (pip install "airover[fleet]")'
        raise InputError("calls file", "a Parquet file, without pyarrow,", accepted) from None
    try:
        table = pyarrow.parquet.read_table(path)
    except pyarrow.ArrowException as error:
        given = f"{quoted(str(path))} ({error})"
        raise InputError("calls file", given, "a Parquet file that can be read") from None
    columns = (["" if cell is None else str(cell) for cell in c.to_pylist()] for c in table.columns)
    rows = list(enumerate(map(list, zip(*columns, strict=True)), 2))
    if not rows:
        raise InputError("calls file", "no call", "a row for each call")
    return table.column_names, rows


def _heading(text: str) -> tuple[str, str]:
    """The field of a heading and the unit in its brackets."""
    match = re.fullmatch(r"\s*(.*?)\s*(?:\[\s*(.*?)\s*\]\s*)?", text, re.DOTALL)
    name = " ".join(match[1].lower().replace("_", " ").split())
    if name not in HEADINGS:
        near = difflib.get_close_matches(name, HEADINGS, n=1)
        accepted = f'"{near[0]}"' if near else listed(HEADINGS)
        raise InputError("calls heading", quoted(text), accepted)
    return name, match[2] or ""


def _refuse_columns(names: list[str], dated: bool) -> None:
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise InputError("calls heading", f'"{twice}" twice', "each heading once")
    if dated and DATE not in names:
        raise InputError("calls heading", f'no "{DATE}"', "a file with that heading")


def _calls(columns, rows) -> Calls:
    names = [name for name, _ in columns]
    days, places, needs, need = [], [], {}, []
    for line, row in rows:
        cells = dict(zip(names, (cell.strip() for cell in row), strict=True))
        days.append(_day(cells.pop(DATE, None), line))
        places.append(cells.pop(PLACE, ""))
        facts = tuple((n, f"{cells[n]} {unit}".strip()) for n, unit in columns if cells.get(n))
        if facts not in needs:
            needs[facts] = len(needs), _need(dict(facts), line)
        need.append(needs[facts][0])
    jobs = tuple(job for _, job in needs.values())
    return Calls(np.array(days, dtype="datetime64[D]"), tuple(places), jobs, np.array(need))


def _day(cell: str | None, line: int):
    return np.datetime64("NaT") if cell is None else read_day(cell, f"calls line {line}, date")


def _need(facts: dict[str, str], line: int) -> Job:
    """The job of one distinct row."""
    plate = {OF_PLATE[name]: text for name, text in facts.items() if name in OF_PLATE}
    site = {OF_SITE[name]: text for name, text in facts.items() if name in OF_SITE}
    try:
        return Job(nameplate=Nameplate(**plate), site=Site(**site))
    except InputError as error:
        field = f"calls line {line}, {error.field}"
        raise InputError(field, error.given, error.accepted, error.unit) from None
