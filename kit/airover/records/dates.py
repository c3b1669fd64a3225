"""Days as people write them: when a motor was made, when it was installed."""

import re
from calendar import monthrange
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from airover.errors import InputError
from airover.message import Message
from airover.records.fields import Record, choice, read_by
from airover.units import quoted

FIRST_YEAR, LAST_YEAR = 1950, 2149  # with the longest warranty still a date
_DAY = {"first": FIRST_YEAR, "last": LAST_YEAR, "example": "2026-03-15"}
ACCEPTED_DAY = Message("error.date.day", **_DAY)
ACCEPTED_SPAN = Message("error.date.span", **_DAY, month="2026-03")
ENDS_FIRST, ENDS_LAST = "first", "last"
RULES = {
    ENDS_FIRST: ("whichever ends first", "whichever comes first"),
    ENDS_LAST: ("whichever ends last", "whichever comes last"),
}


@dataclass(frozen=True)
class Span:
    """A day that is known to lie from ``first`` to ``last``, both included, and how it was typed.

    An end that nobody knows is None.
    """

    first: date | None
    last: date | None
    text: str = ""


def read_day(value: object, field) -> date:
    """The day that ``value``, a date or "2026-03-15", tells; raises InputError naming ``field``."""
    found = _day(value)
    if found is None:
        raise InputError(field, quoted(value), ACCEPTED_DAY)
    return found


def read_span(value: object, field: str) -> Span:
    """A day, or any day of a month such as "2026-03"; raises InputError naming ``field``."""
    if isinstance(value, Span):
        return value
    if (day := _day(value)) is not None:
        return Span(day, day, day.isoformat())
    parts = re.fullmatch(r"\s*([0-9]{4})-([0-9]{2})\s*", value) if isinstance(value, str) else None
    first = _accepted(int(parts[1]), int(parts[2]), 1) if parts else None
    if first is None:
        raise InputError(field, quoted(value), ACCEPTED_SPAN)
    last = first.replace(day=monthrange(first.year, first.month)[1])
    return Span(first, last, value.strip())


class Dates(Record):
    """The new motor's days, each a Span or None, and which of two warranties counts.

    ``warranty_ends`` "first" or "last": whether the maker's terms let the cover end with whichever
    of them ends first or last. Raises InputError for an installation before the manufacture.
    """

    manufactured: read_by(read_span) = None
    installed: read_by(read_span) = None
    warranty_ends: choice(RULES) = None

    def contradictions(self) -> Iterator[InputError]:
        made, put_in = self.manufactured, self.installed
        if made is not None and put_in is not None and put_in.last < made.first:
            accepted = Message("error.date.after", day=made.text)
            yield InputError("installed", put_in.text, accepted)


def _day(value: object) -> date | None:
    if isinstance(value, date) and not isinstance(value, datetime):
        return _accepted(value.year, value.month, value.day)
    pattern = r"\s*([0-9]{4})-([0-9]{2})-([0-9]{2})\s*"
    parts = re.fullmatch(pattern, value) if isinstance(value, str) else None
    return _accepted(*map(int, parts.groups())) if parts else None


def _accepted(year: int, month: int, day: int) -> date | None:
    known = FIRST_YEAR <= year <= LAST_YEAR and 1 <= month <= 12
    return date(year, month, day) if known and 1 <= day <= monthrange(year, month)[1] else None
