"""A job: one failed motor on its blade at its site, kept in a TOML file."""

import json
import os
from collections.abc import Iterator
from datetime import date
from typing import Self

from airover.message import Message
from airover.records.blade import Blade
from airover.records.cost_basis import CostBasis
from airover.records.customer import Customer, Finding
from airover.records.dates import Dates, Span
from airover.records.fields import Flag, Record, Text
from airover.records.found import Found
from airover.records.nameplate import Nameplate
from airover.records.site import Site
from airover.records.ticks import Ticks
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import read_text, write_text
from airover.units import Amount

FILE = Message("error.job.file")


class Job(Record):
    """What is known about one replacement. ``invented`` marks demonstration data.

    ``found`` is what was seen on the old motor, ``dates`` are the new motor's, ``ticks`` the days
    on which steps of the work order were done.

    >>> Job.from_toml('[nameplate]\\npower = "1/3 hp"').nameplate.power.text
    '1/3 hp'
    """

    name: Text = ""
    note: Text = ""
    invented: Flag = False
    customer: Customer = Customer()
    finding: Finding = Finding()
    nameplate: Nameplate = Nameplate()
    blade: Blade = Blade()
    site: Site = Site()
    found: Found = Found()
    dates: Dates = Dates()
    ticks: Ticks = Ticks()
    cost: CostBasis = CostBasis()

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """The job that TOML ``text`` tells; raises InputError that says what is wrong."""
        return cls(**toml_table(text, Message("error.job.job")))

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """The job in the file at ``path``; raises InputError as ``from_toml`` does."""
        return cls.from_toml(read_text(path, FILE, LARGEST_FILE))

    def to_toml(self) -> str:
        """The job as TOML: every amount as it was typed, what is unknown left out."""
        return "\n".join(_lines(self, "")).strip() + "\n"

    def save(self, path: str | os.PathLike) -> None:
        """Write the job to ``path``, whole or not at all; comments of an older file are lost.

        Raises InputError when the file cannot be written.
        """
        write_text(path, self.to_toml(), FILE)


def _lines(record: Record, table: str) -> Iterator[str]:
    """The lines of ``record`` under the heading ``table``: its own fields, then its parts."""
    written = dict(zip(record.names(), dict(record).values(), strict=True))
    known = {name: value for name, value in written.items() if value not in (None, "", ())}
    parts = {name: known.pop(name) for name in record.parts() if name in known}
    if table and known:
        yield from ("", f"[{table}]")
    yield from (f"{name} = {_toml(value)}" for name, value in known.items())
    for name, part in parts.items():
        yield from _lines(part, f"{table}.{name}".lstrip("."))


def _toml(value) -> str:
    """``value`` in TOML, whose strings, numbers and truths are written as in JSON."""
    if isinstance(value, tuple):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, date):
        return value.isoformat()
    typed = isinstance(value, Amount | Span)
    return json.dumps(value.text if typed else value, ensure_ascii=False)
