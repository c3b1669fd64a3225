"""One candidate on one job, with its simulated figures."""

from dataclasses import dataclass
from functools import cached_property

from airover.bands import Band
from airover.bearings.life import bearing_life
from airover.choose.comparison import Comparison
from airover.motor.conditions import Conditions
from airover.motor.lifetime import Life, winding_life
from airover.motor.work import HIGH, LOW, USUAL, Worked
from airover.records import CatalogueMotor, Job

NOTHING = Life(None, governed_by="not simulated")


@dataclass(frozen=True, eq=False)
class Case:
    """Motor ``number`` of a comparison.

    Bands are over the samples; None for a motor that was not simulated, since its supply, speed or
    size is another.
    """

    at: Comparison
    number: int

    @property
    def worked(self) -> Worked:
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
    def motor(self) -> CatalogueMotor:
        return self.at.motors[self.number]

    @property
    def rating_number(self) -> int:
        """Which of the motor's ratings is to be used."""
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
        return Band(*map(float, Band.of(self.worked.winding_without_rating[self.row])))

    @property
    def hottest_winding(self) -> Band | None:
        """The same at the voltage, low, usual or high, that makes it hottest."""
        bands = [self.band("temp_c", at) for at in (LOW, USUAL, HIGH)]
        return None if None in bands else max(bands, key=lambda band: band.mid)
