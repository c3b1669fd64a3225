"""One candidate on one job: its simulated figures, and remarks on winding and bearing life.

A remark is never a rule: it changes no verdict.
"""

from dataclasses import dataclass
from functools import cached_property

from airover.core.intervals import Band
from airover.core.texts import LONGEST_YEARS
from airover.model.ageing import Life, winding_life
from airover.model.bearing_life import HOURS_A_YEAR as SERVICE_HOURS
from airover.model.bearing_life import MOST_YEARS, SEASON_OVER_DESIGN, bearing_life
from airover.model.conditions import Conditions
from airover.model.simulation import USUAL, MotorOnFan
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.selection.check import MODEL, TRADE, Check, remark
from airover.selection.comparison import Comparison
from airover.selection.load import HOURS_A_YEAR

NOTHING = Life(None, governed_by="not simulated")


BEARING_SOURCES = {
    "ball": "ISO 281:2007 and grease life after Booser, from memory",
    "sleeve": "no standard: Archard's wear and oil that ages, ranges of common practice",
}
WINDING_SOURCE = "IEC 60216, halving per 8 to 10 K, from memory"


@dataclass(frozen=True, eq=False)
class Case:
    """Motor ``number`` of a comparison.

    Bands are over the samples; None for a motor that was not simulated, since its supply, speed or
    size is another.
    """

    at: Comparison
    number: int

    @property
    def worked(self) -> MotorOnFan:
        return self.at.worked

    @property
    def conditions(self) -> Conditions:
        return self.at.conditions

    @property
    def row(self) -> int | None:
        """The motor's row in the simulation, None if it was not simulated."""
        row = int(self.at.rows[self.number])
        return None if row < 0 else row

    @property
    def job(self) -> Job:
        return self.at.job

    @property
    def motor(self) -> CatalogMotor:
        return self.at.motors[self.number]

    @property
    def rating_number(self) -> int:
        """Place of the rating to be used among the motor's ratings."""
        return int(self.at.rating_number[self.number])

    @property
    def rating(self) -> float:
        """Rated power [W] to be used."""
        return self.motor.ratings[self.rating_number]

    @property
    def rated_current(self) -> float:
        """Full-load current [A] at that rating."""
        return self.motor.currents[self.rating_number]

    @cached_property
    def needed_power(self) -> Band:
        return Band.of(self.conditions.shaft_power)

    def band(self, figure: str, voltage=USUAL) -> Band | None:
        """Band of one of the simulated figures of this motor at one of the three voltages."""
        if self.row is None:
            return None
        return Band(*(float(ends[voltage, self.row]) for ends in self.worked.bands[figure]))

    @cached_property
    def winding_life(self) -> Life:
        return NOTHING if self.row is None else winding_life(self.worked, self.row)

    @cached_property
    def bearing_life(self) -> Life:
        if self.row is None:
            return NOTHING._replace(kind=self.motor.bearings or "unknown")
        return bearing_life(self.worked, self.row)

    @property
    def current(self) -> Band | None:
        return self.band("current_a")

    @property
    def speed_rpm(self) -> Band | None:
        return self.band("speed_rpm")

    @property
    def winding(self) -> Band | None:
        """Average winding temperature [degC] at the usual voltage."""
        return self.band("temp_c")

    @cached_property
    def winding_without_rating(self) -> Band | None:
        """The same where the maker's rating is not taken as evidence."""
        if self.row is None:
            return None
        return Band.of(self.worked.winding_without_rating[self.row])


def winding_check(case: Case) -> Check:
    """Hours of insulation at the design temperature."""
    hours = case.winding_life.hours
    facts = _years(hours)
    outcome = "unlisted" if hours is None else "hours"
    if hours is not None and facts["years"][0].low > LONGEST_YEARS:
        outcome = "long"
    return remark("winding life", outcome, WINDING_SOURCE, hours, "h", "two_digits", facts)


def rating_check(case: Case) -> Check:
    """Winding temperature if the maker's rating were not true."""
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
