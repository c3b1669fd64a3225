"""Motor temperature, overload trips and winding life on a job, for interactive use.

The module extends `heat_study` with a one-day history, locked-rotor operation, a full year, a
different insulation class and the effect of elevation. The day, the locked rotor and the year are
simulated in the time domain with fewer samples.
"""

from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band
from airover.model.aging import winding_year
from airover.model.climate import Season, Year, example_year
from airover.model.conditions import Conditions, site_conditions
from airover.model.expected import PROPOSALS
from airover.model.heat_study import (
    AgainstAmbient,
    AltitudeEffects,
    ClassChange,
    HeatFit,
    HeatStudy,
    against_ambient,
    altitude_effects,
    class_change,
    fitted,
)
from airover.model.motor import Load, Motor
from airover.model.simulation import USUAL
from airover.model.temperature_history import (
    CycledYear,
    HeatHistory,
    NuisanceTrips,
    TripCycle,
    day,
    locked_rotor,
    nuisance_trips,
    usual_protector,
    year_of_cycles,
)
from airover.physics import insulation
from airover.physics.heat import ZERO_CELSIUS
from airover.physics.operating_point import settle
from airover.records.catalog import CatalogMotor
from airover.records.job import Job

SAMPLES, SAMPLES_READ = 100, 200  # few enough for a slider; updates from readings need more
TEMPS = (18.0, 55.0)  # degC outdoors, from the temperature at which cooling begins
POINTS = 15
HEIGHTS = (500.0, 1000.0, 1500.0, 2000.0, 2500.0, 3000.0, 3500.0)  # m
USUAL_CLASS, BETTER_CLASS = ("B", 60.0), ("F", 70.0)  # with the rated ambient temperature [degC]


class HeatInput(NamedTuple):
    """Slider values.

    Attributes
    ----------
    temp_outdoor : float
        Outdoor temperature [degC].
    voltage : float
        Supply voltage [V].
    blade : float
        Fan power as a fraction of the job value.
    stream : float
        Air speed at the motor as a fraction of the job value.
    sunshine : float
        Solar heat as a fraction of the job value.
    """

    temp_outdoor: float
    voltage: float
    blade: float = 1.0
    stream: float = 1.0
    sunshine: float = 1.0


@dataclass(frozen=True, eq=False)
class HeatPlace:
    """Catalog motor on a job.

    Attributes
    ----------
    job : Job
        Job with the fan and site.
    row : CatalogMotor
        Catalog motor.
    by_plate : Motor
        Motor before the update from readings.
    motor, conditions
        Motor and conditions after the update, with samples in the same order.
    read : tuple[HeatReading, ...]
        Readings, if any.
    """

    job: Job
    row: CatalogMotor
    by_plate: Motor
    motor: Motor
    conditions: Conditions
    read: HeatFit | None = None
    _across: dict = field(init=False, default_factory=dict, repr=False)

    @classmethod
    def of(cls, job: Job, row: CatalogMotor, readings=(), settle=settle) -> "HeatPlace":
        """Create a HeatPlace from a catalog motor, a job and HeatReadings.

        Raises
        ------
        InputError
            If the job or the motor does not have enough information, or if the readings are
            physically impossible.
        """
        samples = PROPOSALS if readings else SAMPLES
        motor = replace(Motor.from_catalog(row, samples), settle=settle)
        conditions = site_conditions(job, samples)
        if not readings:
            return cls(job, row, motor, motor, conditions)
        found = fitted(motor, Load.of(conditions), readings, SAMPLES_READ)
        by_plate = replace(Motor.from_catalog(row, SAMPLES), settle=settle)
        return cls(job, row, by_plate, found.motor, _kept(conditions, found.chosen), found)

    @property
    def usual(self) -> HeatInput:
        """Slider values that match the job."""
        outdoor = float(np.median(self.conditions.temp_outdoor))
        return HeatInput(outdoor, float(self.conditions.voltage[USUAL]))

    def across(self, asked: HeatInput) -> AgainstAmbient:
        """Return results vs. outdoor temperature. The last result is cached."""
        if asked not in self._across:
            self._across.clear()
            there, temps = HeatAnswer(self, asked).conditions, np.linspace(*TEMPS, POINTS)
            self._across[asked] = against_ambient(self.motor, there, temps, asked.voltage)
        return self._across[asked]

    @cached_property
    def weather(self) -> tuple[Year, Season]:
        """Fictional weather year, and running hours of the unit.

        The unit runs continuously at its design temperature.
        """
        year = example_year()
        return year, Season.of(year)

    @cached_property
    def classes(self) -> ClassChange:
        """Comparison of a class F, 70 degC motor with a class B, 60 degC motor."""
        rows = [
            replace(self.row, insulation_class=letter, ambient_rating=ambient)
            for letter, ambient in (USUAL_CLASS, BETTER_CLASS)
        ]
        return class_change(self.job, rows, self.weather[1])

    @cached_property
    def heights(self) -> tuple[AltitudeEffects, ...]:
        """Effects of each elevation in HEIGHTS, before the motor is updated from readings."""
        return tuple(altitude_effects(self.by_plate, self.job, height) for height in HEIGHTS)


class DayTrace(NamedTuple):
    """Temperature history of one day, with 24 hourly outdoor temperatures [degC]."""

    outdoor: np.ndarray
    history: HeatHistory


class YearOfHeat(NamedTuple):
    """Simulated year with on/off cycling, and nuisance trips if the insulation class is known."""

    cycled: CycledYear
    trips: NuisanceTrips | None


@dataclass(frozen=True, eq=False)
class HeatAnswer:
    """Results at the slider values ``asked``. Objects are compared by identity.

    Each property is calculated on first access.
    """

    place: HeatPlace
    asked: HeatInput

    @cached_property
    def conditions(self) -> Conditions:
        """Conditions at the slider values. Warmer, thinner air reduces the fan load."""
        now, asked = self.place.conditions, self.asked
        warmer = asked.temp_outdoor - self.place.usual.temp_outdoor
        thinner = (now.temp_air + ZERO_CELSIUS) / (now.temp_air + warmer + ZERO_CELSIUS)
        return replace(
            now,
            coefficient=now.coefficient * asked.blade * thinner,
            shaft_power=now.shaft_power * asked.blade * thinner,
            air_speed=now.air_speed * asked.stream,
            temp_outdoor=now.temp_outdoor + warmer,
            temp_entering=now.temp_entering + warmer,
            temp_air=now.temp_air + warmer,
            density=now.density * thinner,
            sun=now.sun * asked.sunshine,
        )

    @cached_property
    def study(self) -> HeatStudy:
        return HeatStudy.of(self.place.motor, self.conditions, self.asked.voltage)

    @cached_property
    def across(self) -> AgainstAmbient:
        """Results vs. outdoor temperature.

        The results do not depend on the outdoor temperature slider, so moving it does not require a
        recalculation.
        """
        return self.place.across(self.asked._replace(temp_outdoor=self.place.usual.temp_outdoor))

    @cached_property
    def hot_spot(self) -> Band:
        """Hot-spot temperature [degC]."""
        return self.study.budget[-1].upto

    @cached_property
    def room(self) -> np.ndarray | None:
        """Margin [K] from sensed temperature to trip temperature of a typical protector.

        The shape is (samples,).
        """
        letter = self.place.motor.insulation_class
        if letter not in insulation.PROTECTOR_LIMITS:
            return None
        nodes = self.study.run.warm.nodes.part(0)
        protector = usual_protector(letter, nodes.shell.shape[-1])
        return protector.trip - protector.felt(nodes)

    def worked(self) -> "HeatAnswer":
        """Calculate all results that take less than a second, and return self."""
        _ = self.state, self.hot_spot, self.years, self.rise_allowed, self.across
        return self

    @property
    def trips(self) -> float | None:
        """Fraction of samples in which the protector opens."""
        return None if self.room is None else float(np.mean(self.room < 0))

    @cached_property
    def years(self) -> Band | None:
        """Winding life [years] for a year of weather, at the steady-state temperature in each hour.

        Raises
        ------
        InputError
            If the year has temperatures above TEMPS.
        """
        letter = self.place.motor.insulation_class
        if letter is None:
            return None
        found = self.across
        return winding_year(self.place.weather[1], found.temps_outdoor, found.winding, letter).years

    @cached_property
    def day(self) -> DayTrace:
        """Hottest day of the year, shifted to the outdoor temperature set with the slider.

        The calculation takes one to two seconds.
        """
        year, season = self.place.weather
        days = year.temp_outdoor.reshape(-1, 24)
        hottest = days[np.argmax(days.max(axis=1))]
        outdoor = hottest - hottest.max() + self.asked.temp_outdoor
        motor, volts = self.place.motor, self.asked.voltage
        return DayTrace(outdoor, day(motor, self.conditions, outdoor, season.temp_design, volts))

    @cached_property
    def locked(self) -> TripCycle:
        """Protector cycling for 1.5 hours after the fan of a warm motor is blocked.

        The calculation takes one to two seconds.

        Raises
        ------
        InputError
            If the class has no protector limit.
        """
        return locked_rotor(self.place.motor, Load.of(self.conditions), self.asked.voltage)

    @cached_property
    def year(self) -> YearOfHeat:
        """Year simulated with on/off cycling. The calculation takes several seconds."""
        season, motor = self.place.weather[1], self.place.motor
        volts = self.conditions.voltage + self.asked.voltage - self.conditions.voltage[USUAL]
        there = replace(self.conditions, voltage=volts)
        trips = None if self.room is None else nuisance_trips(motor, there, season)
        return YearOfHeat(year_of_cycles(motor, there, season), trips)

    @property
    def state(self) -> str:
        """State relative to the limit: "below", "near" or "above".

        The state is "near" if the 90 % range includes the limit or if some samples trip or do not
        start.
        """
        margin, trips = self.study.margin, self.trips or 0.0
        if (margin is not None and margin.mid < 0) or trips >= 0.5:
            return "above"
        near = margin is None or margin.low < 0 or trips > 0 or not self.starts
        return "near" if near else "below"

    @property
    def rise_allowed(self) -> float | None:
        """Median temperature rise by resistance [K] that the standard allows in this air."""
        letter = self.place.motor.insulation_class
        if letter not in insulation.PROTECTOR_LIMITS:
            return None
        air = float(np.median(self.conditions.temp_air))
        return float(insulation.rise_limit(letter, "air over", air))

    @property
    def starts(self) -> bool:
        """True if the warmed-up motor reaches running speed in all samples."""
        return bool(self.study.run.chance_of_start()[0] == 1)


def _kept(conditions: Conditions, chosen) -> Conditions:
    """Return the conditions with the ``chosen`` samples."""
    samples = conditions.samples
    values = {one.name: getattr(conditions, one.name) for one in fields(conditions)}
    arrays = {
        name: value[..., chosen]
        for name, value in values.items()
        if isinstance(value, np.ndarray) and value.shape[-1:] == (samples,)
    }
    return replace(conditions, **arrays)
