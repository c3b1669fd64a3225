"""Calculate the warranty coverage of a motor in calendar months.

A term ends on the same day of the month as it started, or on the last day of the final month if
that month has no such day. The final day is included in the coverage. This is how Regulation (EEC,
Euratom) 1182/71, article 3, defines the end of a period (cited from memory, not verified). The
manufacturer's terms and local law take precedence. If there are two terms and the job does not
state which one applies, the term that ends first is used.
"""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from airover.core.errors import InputError, Range, check
from airover.core.message import Message
from airover.records.catalog import CatalogMotor
from airover.records.fields import ENDS_FIRST, Dates, Span

MONTHS = Range(0, 600, "months")
DEFAULT_RULE = ENDS_FIRST  # shorter coverage, used if the manufacturer's rule is unknown
UNKNOWN = Span(None, None)


def last_day(start: date, months) -> date:
    """Return the last day covered by a term of ``months`` that begins on ``start``.

    Raises
    ------
    InputError
        If ``months`` is not a whole number or is out of range.

    Examples
    --------
    >>> last_day(date(2024, 2, 29), 12), last_day(date(2025, 1, 31), 1)
    (datetime.date(2025, 2, 28), datetime.date(2025, 2, 28))
    """
    if check("months", months, MONTHS) != round(months):
        raise InputError("months", f"{months:g}", Message("order.error.whole_months"))
    return _moved(start, round(months))


def _moved(day: date, months: int) -> date:
    year, month = divmod(12 * day.year + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


@dataclass(frozen=True)
class Cover:
    """Warranty coverage of a motor.

    Attributes
    ----------
    last : Span or None
        Last day covered, as a Span because dates may be known only approximately.
    from_manufacture, from_installation : Span or None
        Last day of each term, or None if the manufacturer does not offer that term.
    rule : str
        Term that applies: "first" or "last" to end.
    stated : bool
        True if the job states the rule, False if the rule was assumed.
    made_since : date or None
        Earliest date of manufacture for which the full term from installation applies, or None if
        not relevant.
    terms : Message
        Warranty terms of the manufacturer.
    """

    last: Span | None
    from_manufacture: Span | None
    from_installation: Span | None
    rule: str
    stated: bool
    made_since: date | None
    terms: Message

    @property
    def messages(self) -> list[Message]:
        """Messages about the coverage."""
        said = [self.terms]
        if self.last is None:
            return said
        if None not in (self.from_manufacture, self.from_installation):
            assumed = "" if self.stated else "_assumed"
            said.append(Message(f"order.cover.ends_{self.rule}{assumed}"))
        said.append(_ending(self.last))
        if self.made_since is not None:
            said.append(Message("order.cover.made_since", day=self.made_since))
        return said


def cover(motor: CatalogMotor, dates: Dates) -> Cover:
    """Return the coverage of ``motor`` from its catalog warranty terms and the job ``dates``.

    Limits for an unknown date follow from the fact that a motor cannot be installed before it is
    made. If the job does not state which term applies, the term that ends first is used.

    Raises
    ------
    InputError
        If a term in the catalog is not a whole number of months.
    """
    made, put_in = _bounded(dates.manufactured or UNKNOWN, dates.installed or UNKNOWN)
    of_make = _term(made, motor.warranty_from_manufacture)
    of_use = _term(put_in, motor.warranty_from_installation)
    rule = dates.warranty_ends or DEFAULT_RULE
    ends = [one for one in (of_make, of_use) if one is not None]
    both_first = rule == ENDS_FIRST and len(ends) == 2
    return Cover(
        last=_combined(ends, rule),
        from_manufacture=of_make,
        from_installation=of_use,
        rule=rule,
        stated=dates.warranty_ends is not None,
        made_since=_made_since(motor, dates) if both_first else None,
        terms=_terms(motor),
    )


def _bounded(made: Span, put_in: Span) -> tuple[Span, Span]:
    """Return both dates, with unknown limits of one date replaced by the limits of the other."""
    first = made.first if put_in.first is None else put_in.first
    last = put_in.last if made.last is None else made.last
    return Span(made.first, last), Span(first, put_in.last)


def _term(start: Span, months) -> Span | None:
    if months is None:
        return None
    ends = (None if day is None else last_day(day, months) for day in (start.first, start.last))
    return Span(*ends)


def _combined(ends: list[Span], rule: str) -> Span | None:
    """Return the earliest or the latest last day in ``ends``, depending on ``rule``."""
    if not ends:
        return None
    if rule == ENDS_FIRST:
        firsts, lasts = [one.first for one in ends], [one.last for one in ends if one.last]
        return Span(None if None in firsts else min(firsts), min(lasts, default=None))
    firsts, lasts = [one.first for one in ends if one.first], [one.last for one in ends]
    return Span(max(firsts, default=None), None if None in lasts else max(lasts))


def _made_since(motor: CatalogMotor, dates: Dates) -> date | None:
    """Return the earliest date of manufacture that does not shorten the term from installation."""
    if dates.manufactured is not None or dates.installed is None:
        return None
    end = last_day(dates.installed.last, motor.warranty_from_installation)
    day = _moved(end, -round(motor.warranty_from_manufacture))
    while last_day(day, motor.warranty_from_manufacture) < end:  # in case the month is shorter
        day += timedelta(days=1)
    return day if day <= dates.installed.last else None


def _terms(motor: CatalogMotor) -> Message:
    months = {
        "installation": motor.warranty_from_installation,
        "manufacture": motor.warranty_from_manufacture,
    }
    known = {name: _months(count) for name, count in months.items() if count is not None}
    return Message(f"order.cover.from_{'_and_'.join(known) or 'unknown'}", **known)


def _months(count: float) -> Message:
    return Message("months.one") if count == 1 else Message("months.many", count=count)


def _ending(last: Span) -> Message:
    ends = {"first": last.first, "last": last.last}
    known = {name: day for name, day in ends.items() if day is not None}
    if last.first is not None and last.first == last.last:
        return Message("order.cover.exact", day=last.first)
    return Message(f"order.cover.{'_and_'.join(known) or 'open'}", **known)
