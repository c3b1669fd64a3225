"""How long winding and bearings of a candidate last: remarks, never a rule."""

from airover.bands import Band
from airover.choose.case import Case
from airover.choose.check import TRADE, Check, remark
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
    return remark(
        "winding life", outcome, WINDING_SOURCE, hours, "h", "count", _years(hours), case.system
    )


def bearing_check(case: Case) -> Check:
    """Hours of the bearings, and what ends them."""
    life = case.bearing_life
    source = BEARING_SOURCES.get(life.kind, TRADE)
    outcome = "unlisted" if life.hours is None else "hours"
    facts = {"kind": (life.kind, ""), "governs": (life.governed_by, ""), **_years(life.hours)}
    return remark("bearing life", outcome, source, life.hours, "h", "count", facts, case.system)


def _years(hours: Band | None) -> dict:
    if hours is None:
        return {}
    years = Band(*(float(f"{end / HOURS_A_YEAR:.2g}") for end in hours))
    return {"years": (years, "count"), "a_year": (HOURS_A_YEAR, "count")}
