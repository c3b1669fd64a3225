"""Warranty: months on the calendar against dateutil and by hand, both rules, unknown days."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.fields import Dates
from airover.service.warranty import cover, last_day
from tests.jobs import motor

DAYS = st.dates(date(1950, 1, 1), date(2149, 12, 31))


def covered(from_manufacture=18.0, from_installation=12.0, **days):
    row = motor(
        warranty_from_manufacture=from_manufacture, warranty_from_installation=from_installation
    )
    return cover(row, Dates(**days))


def said(found) -> list[str]:
    """The sentences on a cover."""
    return [Writer()(one) for one in found.messages]


@given(DAYS, st.integers(0, 600))
def test_months_are_those_of_dateutil(start, months):
    assert last_day(start, months) == start + relativedelta(months=months)


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [  # counted on a calendar by hand
        ("2025-01-31", 1, "2025-02-28"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2023-02-28", 12, "2024-02-28"),
        ("2025-08-31", 18, "2027-02-28"),
        ("2100-01-30", 1, "2100-02-28"),  # no leap year
        ("2025-12-31", 2, "2026-02-28"),
        ("2025-03-15", 0, "2025-03-15"),
    ],
)
def test_ends_of_months_and_leap_days(start, months, end):
    assert last_day(date.fromisoformat(start), months) == date.fromisoformat(end)


def test_whichever_ends_first_or_last():
    days = {"manufactured": "2025-01-31", "installed": "2025-11-10"}
    first = covered(**days)
    assert first.from_manufacture.first == date(2026, 7, 31)
    assert first.from_installation.first == date(2026, 11, 10)
    assert first.last.first == first.last.last == date(2026, 7, 31)
    assert not first.stated and "assumed" in " ".join(said(first))
    last = covered(**days, warranty_ends="last")
    assert last.last.first == last.last.last == date(2026, 11, 10)
    assert last.stated and "Covered through November 10, 2026." in said(last)


def test_an_unknown_day_of_manufacture_leaves_what_can_be_said():
    found = covered(installed="2026-03-31")
    assert (found.last.first, found.last.last) == (None, date(2027, 3, 31))
    # 18 months before 31 March 2027 is 30 September 2025; from that day they end on 30 March
    assert found.made_since == date(2025, 10, 1)
    assert "Coverage ends no later than March 31, 2027" in " ".join(said(found))
    lasting = covered(installed="2026-03-31", warranty_ends="last")
    assert (lasting.last.first, lasting.last.last) == (date(2027, 3, 31), date(2027, 9, 30))
    assert lasting.made_since is None


def test_a_motor_not_installed_yet():
    found = covered(manufactured="2026-01")
    assert (found.last.first, found.last.last) == (date(2027, 1, 1), date(2027, 7, 31))
    assert (covered().last.first, covered().last.last) == (None, None)
    assert "depends on the installation date" in " ".join(said(covered()))


def test_a_catalog_that_gives_one_term_or_none():
    only = covered(from_manufacture=None, installed="2024-02-29")
    assert only.last.first == only.last.last == date(2025, 2, 28)
    assert "The warranty is 12 months from installation." in said(only)
    assert not any("applies" in one for one in said(only))
    none = covered(from_manufacture=None, from_installation=None)
    assert none.last is None and "Ask the manufacturer" in said(none)[0]


@given(DAYS, st.integers(0, 60), st.integers(0, 60), st.integers(0, 900))
def test_the_day_since_which_cover_is_whole_is_the_first_such_day(installed, make, use, before):
    since = covered(float(make), float(use), installed=installed).made_since
    made = installed - timedelta(days=before)
    if made.year >= 1950:
        full = covered(float(make), float(use), manufactured=made, installed=installed).last.first
        whole = full == installed + relativedelta(months=use)
        assert whole == (since is not None and made >= since)


@given(DAYS, DAYS, st.sampled_from(["first", "last"]), st.booleans(), st.booleans())
def test_what_is_said_of_unknown_days_holds_for_every_day_they_may_be(a, b, rule, know_a, know_b):
    made, put_in = sorted((a, b))
    truth = covered(manufactured=made, installed=put_in, warranty_ends=rule).last.first
    known = {"manufactured": made} if know_a else {}
    known |= {"installed": put_in} if know_b else {}
    said = covered(**known, warranty_ends=rule).last
    assert said.first is None or said.first <= truth
    assert said.last is None or truth <= said.last


@pytest.mark.parametrize("months", [12.5, -1.0, 601.0, float("nan")])
def test_terms_that_are_no_months_are_refused(months):
    with pytest.raises(InputError, match="months") as caught:
        last_day(date(2025, 1, 1), months)
    assert caught.value.field == "months"
