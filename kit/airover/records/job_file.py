"""A job's file as it was read, and ticks written into it that leave all the rest as it is."""

import os
import tomllib
from dataclasses import dataclass
from datetime import date
from typing import Self

import tomlkit

from airover.errors import InputError, one_of
from airover.message import Message
from airover.records.job import FILE, Job
from airover.records.ticks import Ticks
from airover.records.toml import LARGEST_FILE
from airover.safe_file import decoded, read_bytes, write_bytes
from airover.units import quoted

TABLE = "ticks"
MARK = b"\xef\xbb\xbf"  # byte order mark that some editors put in front of UTF-8


@dataclass(frozen=True)
class JobFile:
    """The ``job`` in the file at ``path``, whose ``content`` was read with it."""

    path: str | os.PathLike
    content: bytes
    job: Job

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """Read the file; raises InputError as ``Job.read`` does."""
        content = read_bytes(path, FILE, LARGEST_FILE)
        return cls(path, content, Job.from_toml(decoded(content, path, FILE)))

    def ticked(self, step: str, day: date | None) -> Self:
        """Write into the file that ``step``, a field of Ticks, was done on ``day``; None unticks.

        The table ``[ticks]`` changes and no other byte; the file is replaced whole or not at all.
        Returns the file as it is now. Raises InputError for an unknown step, and when the file is
        no longer as it was read: then nothing is written.
        """
        if step not in Ticks.names():
            raise InputError("step", quoted(step), one_of(Ticks.names()))
        text = decoded(self.content, self.path, FILE)
        changed = with_tick(text, step, day).encode("utf-8")
        if self.content.startswith(MARK):
            changed = MARK + changed
        write_bytes(self.path, changed, FILE, seen=self.content)
        return type(self)(self.path, changed, Job.from_toml(decoded(changed, self.path, FILE)))

    def saved(self, job: Job) -> Self:
        """Write ``job`` in the place of the one that was read; comments of the file are lost.

        Raises InputError when the file cannot be written or is no longer as it was read.
        """
        content = job.to_toml().encode("utf-8")
        write_bytes(self.path, content, FILE, seen=self.content)
        return type(self)(self.path, content, job)


def with_tick(text: str, step: str, day: date | None) -> str:
    """TOML ``text`` with ``step`` done on ``day``, or without it; other bytes stay.

    Raises InputError for a file whose ticks are written in a way that cannot be changed so.
    """
    expected = _expected(tomllib.loads(text), step, day)
    changed = _added(text, step, day) if TABLE not in tomllib.loads(text) else _set(text, step, day)
    if tomllib.loads(changed) != expected:
        given, accepted = Message("error.job.fixed_table"), Message("error.job.table", name=TABLE)
        raise InputError(TABLE, given, accepted)
    return changed


def _expected(given: dict, step: str, day: date | None) -> dict:
    ticks = {name: done for name, done in given.get(TABLE, {}).items() if name != step}
    ticks |= {} if day is None else {step: day}
    had = TABLE in given or day is not None
    return given | ({TABLE: ticks} if had else {})


def _added(text: str, step: str, day: date | None) -> str:
    """A new table at the end; what stands there is not touched."""
    if day is None:
        return text
    line_end = "\r\n" if "\r\n" in text else "\n"
    between = line_end * (2 if text and not text.endswith("\n") else 1 if text else 0)
    return f"{text}{between}[{TABLE}]{line_end}{step} = {day.isoformat()}{line_end}"


def _set(text: str, step: str, day: date | None) -> str:
    """The table that is there with one line more, less or changed."""
    document = tomlkit.parse(text)
    ticks = document[TABLE]
    if day is None:
        ticks.pop(step, None)
        return tomlkit.dumps(document)
    new = step not in ticks
    ticks[step] = day
    if new and "\r\n" in text:
        ticks[step].trivia.trail = "\r\n"
    return tomlkit.dumps(document)
