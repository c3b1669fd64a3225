"""Remarks on a candidate, never a rule: how long winding and bearings last, and how hot the
winding is where the maker's rating is not trusted."""

from airover.bands import Band
from airover.bearings.suits import HOURS_A_YEAR as SERVICE_HOURS
from airover.bearings.suits import MOST_YEARS, SEASON_OVER_DESIGN
from airover.choose.case import Case
from airover.choose.check import MODEL, TRADE, Check, remark
from airover.choose.electrical import HOURS_A_YEAR

BEARING_SOURCES = {
    "ball": "ISO 281:2007 and grease life after Booser, from memory",
    "sleeve": "no standard: Archard's wear and oil that ages, ranges of common practice",
}
WINDING_SOURCE = "IEC 60216, halving per 8 to 10 K, from memory"


def winding_check(case: Case) -> Check:
    """Hours of insulation at the design temperature."""
    hours = case.winding_life.hours
    outcome = "unlisted" if hours is None else "hours"
    facts = _years(hours)
    return remark("winding life", outcome, WINDING_SOURCE, hours, "h", "two_digits", facts)


def rating_check(case: Case) -> Check:
    """How hot the winding would be if the maker's rating were not true."""
    found = case.winding_without_rating
    facts = {"with": (case.winding, "temperature")}
    name = "winding without the rating"
    return remark(name, "found", MODEL, found, "degC", "temperature", facts)


def bearing_check(case: Case) -> Check:
    """Hours of the bearings, and what ends them."""
    life = case.bearing_life
    source = BEARING_SOURCES.get(life.kind, TRADE)
    outcome = "unlisted" if life.hours is None else "hours"
    facts = {"kind": (life.kind, ""), "governs": (life.governed_by, "")}
    if life.hours is not None:
        service = life.hours.scaled(1 / (SEASON_OVER_DESIGN * SERVICE_HOURS))
        years = Band(*(min(end, MOST_YEARS) for end in service))
        facts |= {"years": (years, "years"), "a_year": (SERVICE_HOURS, "two_digits")}
    return remark("bearing life", outcome, source, life.hours, "h", "two_digits", facts)


def _years(hours: Band | None) -> dict:
    if hours is None:
        return {}
    years = hours.scaled(1 / HOURS_A_YEAR)
    return {"years": (years, "years"), "a_year": (HOURS_A_YEAR, "two_digits")}
