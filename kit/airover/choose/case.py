"""One candidate on one job, as the checks look at it."""

from dataclasses import dataclass
from functools import cached_property

from airover.bands import Band
from airover.bearings.life import bearing_life
from airover.motor.lifetime import Life, winding_life
from airover.motor.work import HIGH, LOW, USUAL, Worked
from airover.records import CatalogueMotor, Job
from airover.units import show

# A rating this little below the old one is the same rating, printed in other digits.
SAME_RATING = 0.97


@dataclass(frozen=True)
class Case:
    """Motor ``number`` of what was worked; bands are over the draws."""

    worked: Worked
    number: int

    def shown(self, value, kind: str) -> str:
        """A value, or the middle of a band, in the job's system of units."""
        system = self.worked.conditions.system
        return show(value.mid if isinstance(value, Band) else value, kind, system)

    @property
    def job(self) -> Job:
        return self.worked.job

    @property
    def motor(self) -> CatalogueMotor:
        return self.worked.motors[self.number]

    @cached_property
    def rating_number(self) -> int:
        """Which of the motor's ratings is to be used: the smallest that covers the old one."""
        plate = self.job.nameplate.power
        wanted = self.needed_power.mid if plate is None else plate.mid
        for number, rating in enumerate(self.motor.ratings):
            if rating >= SAME_RATING * wanted:
                return number
        return len(self.motor.ratings) - 1

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
        return Band.of(self.worked.conditions.shaft_power)

    def band(self, figure: str, voltage=USUAL) -> Band:
        """Band of one of the worked ``figures`` for this motor at one of the three voltages."""
        return Band(*(ends[voltage, self.number] for ends in self.worked.bands[figure]))

    @cached_property
    def winding_life(self) -> Life:
        return winding_life(self.worked, self.number)

    @cached_property
    def bearing_life(self) -> Life:
        return bearing_life(self.worked, self.number)

    @property
    def current(self) -> Band:
        return self.band("current_a")

    @property
    def speed_rpm(self) -> Band:
        return self.band("speed_rpm")

    @property
    def winding(self) -> Band:
        """Average winding temperature [degC] at the usual voltage."""
        return self.band("temp_c")

    @property
    def hottest_winding(self) -> Band:
        """The same at the voltage, low, usual or high, that makes it hottest."""
        bands = (self.band("temp_c", at) for at in (LOW, USUAL, HIGH))
        return max(bands, key=lambda band: band.mid)
