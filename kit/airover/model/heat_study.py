"""Contributions to the winding temperature of a motor, and margins to limits.

There are two limits. The class temperature applies to the hot spot. The limit in
the standard applies to the temperature rise by resistance above the air at the motor. Each
contribution to the temperature has its own 90 % range, and only the temperature levels between
contributions may be stacked in a plot. Elevation has an effect only through air density: thinner
air reduces the load, reduces the cooling and increases the temperature of the coil leaving air. The
standard's elevation factor is displayed for comparison and is never applied on top of these
effects.

The cooling estimate is updated with temperature readings on the running motor. Pairs of motor and
load samples are weighted by the winding resistance or the reading of a shell thermocouple. In 83 to
92 % of independent synthetic cases, the 90 % ranges contained the true value. At least 200 samples
should be kept.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.errors import (
    ELEVATION,
    NOTHING,
    TEMP_AIR,
    TEMP_WINDING,
    VOLTAGE,
    InputError,
    Range,
    check,
    part,
)
from airover.core.intervals import Band, normal_draws
from airover.core.message import Message, Quantity
from airover.core.units import read
from airover.model.aging import LONGEST_HOURS, STEPS, hot_spot, life_hours, winding_temperatures
from airover.model.climate import Season
from airover.model.conditions import Conditions, site_conditions
from airover.model.cooling import Warm
from airover.model.expected import FAR, STRAINED, picked
from airover.model.identify import THERMOMETER, resample
from airover.model.motor import Load, Motor, Run
from airover.model.simulation import SAMPLES, USUAL, simulate
from airover.model.temperature_history import moved
from airover.physics import heat, insulation
from airover.physics.heat import SwitchOff
from airover.records.job import Job

# Standard deviations of readings (common practice; no published source).
OHMMETER = 0.003  # fraction of the cold resistance; the gain error of the meter cancels out
TEMP_COLD = 1.0  # K, uncertainty of the cold winding's temperature
THERMOCOUPLE = 1.5  # K, for class 2 (IEC 60584, maximum 2.5 K, cited from memory, not verified)
DEVIATION = Range(0.1, 50.0, "K")
# error of a taped thermocouple as a fraction of the shell temperature rise
CONTACT = 0.05


LONGEST_YEARS = 100.0


class Part(NamedTuple):
    """Step in the temperature from outdoor air to the hot spot.

    The medians of the increases cannot be added together. The medians of ``upto`` increase from
    step to step.

    Attributes
    ----------
    name : str
        Name of the step.
    kelvin : Band
        Temperature increase [K] in this step.
    upto : Band
        Temperature [degC] after this step.
    """

    name: str
    kelvin: Band
    upto: Band


@dataclass(frozen=True, eq=False)
class HeatStudy:
    """Motor that drives the fan of a job at one voltage, with and without sun."""

    motor: Motor
    conditions: Conditions
    run: Run
    seed: int = 0

    @classmethod
    def of(cls, motor: Motor, conditions: Conditions, voltage=None, seed=0) -> "HeatStudy":
        """Create a HeatStudy for a motor and conditions with the same number of samples.

        ``voltage`` is the supply voltage [V], or None for the usual voltage.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        load = Load.of(conditions)
        both = load.air._replace(sun=np.array([[1.0], [0.0]]) * load.air.sun)
        volts = np.full(2, conditions.voltage[USUAL] if voltage is None else float(voltage))
        return cls(motor, conditions, motor.run(load._replace(air=both), volts), seed)

    @property
    def winding(self) -> np.ndarray:
        """Average winding temperature [degC] in the sun, shape (samples,)."""
        return self.run.warm.temp_winding[0]

    @cached_property
    def hot_spot(self) -> np.ndarray:
        """Hot-spot temperature [degC], shape (samples,)."""
        return hot_spot(self.winding, self.seed)

    @cached_property
    def budget(self) -> tuple[Part, ...]:
        """Steps from outdoor air to the hot spot, starting with the outdoor air temperature."""
        conditions, shell = self.conditions, self.run.warm.temp_shell
        cooler = conditions.temp_air + shell[0] - shell[1]  # with solar heat only
        levels = {
            "outdoor air": conditions.temp_outdoor,
            "air drawn in again": conditions.temp_entering,
            "coil": conditions.temp_air,
            "sun on the shell": cooler,
            "shell over air": shell[0],
            "winding over shell": self.winding,
            "hottest spot over average": self.hot_spot,
        }
        below = [np.zeros_like(conditions.temp_outdoor), *levels.values()]
        return tuple(
            Part(name, Band.of(level - under), Band.of(level))
            for (name, level), under in zip(levels.items(), below, strict=False)
        )

    @property
    def class_temperature(self) -> float | None:
        """Class temperature [degC], which applies to the hot spot, or None if not known."""
        letter = self.motor.insulation_class
        return None if letter is None else float(insulation.temperature_index(letter))

    @property
    def margin(self) -> Band | None:
        """Margin [K] from the hot spot to the class temperature."""
        limit = self.class_temperature
        return None if limit is None else Band.of(limit - self.hot_spot)

    @property
    def rise(self) -> Band:
        """Average temperature rise [K] by resistance, above the air at the motor."""
        return Band.of(self.winding - self.conditions.temp_air)

    @property
    def rise_margin(self) -> Band | None:
        """Margin [K] from the average rise to the standard's limit in this air.

        The value is None if the insulation class is not in the standard's table.
        """
        letter = self.motor.insulation_class
        if letter not in insulation.PROTECTOR_LIMITS:
            return None
        allowed = insulation.rise_limit(letter, "air over", self.conditions.temp_air)
        return Band.of(allowed - (self.winding - self.conditions.temp_air))

    @property
    def hours(self) -> Band | None:
        """Insulation life [h] in continuous operation at this temperature."""
        return _hours(self.winding, self.motor.insulation_class, self.seed)


class AgainstAmbient(NamedTuple):
    """Winding temperature and life vs. outdoor temperature.

    Ranges have shape (temperatures,). ``margin`` and ``hours`` are None if the insulation class is
    not known.

    Attributes
    ----------
    temps_outdoor : ndarray
        Outdoor temperature [degC].
    temp_air : Band
        Air temperature at the motor [degC].
    hot_spot : Band
        Hot-spot temperature [degC].
    margin : Band or None
        Margin [K] to the class temperature.
    hours : Band or None
        Life [h] in continuous operation.
    winding : ndarray
        Average winding temperature [degC], shape (temperatures, samples).
    """

    temps_outdoor: np.ndarray
    temp_air: Band
    hot_spot: Band
    margin: Band | None
    hours: Band | None
    winding: np.ndarray


def against_ambient(
    motor: Motor, conditions: Conditions, temps_outdoor, voltage=None, seed=0
) -> AgainstAmbient:
    """Return the winding temperatures of a motor at several outdoor temperatures.

    ``temps_outdoor`` contains outdoor temperatures [degC] in ascending order. The motor is
    simulated at five temperatures, and the results are interpolated linearly. ``voltage`` is the
    same as in `HeatStudy.of`.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    outdoor = np.atleast_1d(check("temps_outdoor", temps_outdoor, TEMP_AIR))
    load, over = Load.of(conditions), conditions.temp_air - conditions.temp_outdoor
    grid = np.unique(np.linspace(outdoor.min(), outdoor.max(), STEPS))
    volts = np.full(len(grid), conditions.voltage[USUAL] if voltage is None else float(voltage))
    worked = motor.run(moved(load, grid[:, None] + over), volts).warm.temp_winding
    winding = np.stack([np.interp(outdoor, grid, sample) for sample in worked.T], axis=-1)
    spot, letter = hot_spot(winding, seed), motor.insulation_class
    margin = None
    if letter is not None:
        margin = Band.of(float(insulation.temperature_index(letter)) - spot)
    hours = _hours(winding, letter, seed)
    air = Band.of(outdoor[:, None] + over)
    return AgainstAmbient(outdoor, air, Band.of(spot), margin, hours, winding)


class ClassChange(NamedTuple):
    """Comparison of two motors at a site. Pairs are (first motor, second motor).

    Both motors are simulated sample by sample with the same fan, air and supply.

    Attributes
    ----------
    margins : tuple[Band, Band]
        Margins [K] from hot spot to class temperature at the design temperature.
    ambient_margins : tuple[Band or None, Band or None]
        Margins [K] from the air temperature at the motor to the rated ambient temperature, None if
        not known.
    years : tuple[Band, Band]
        Winding life [years] based on a year of weather, limited to 100 years.
    more_margin : Band
        Difference in margin [K] between the motors.
    times : Band
        Ratio of the lives without the limit of 100 years.
    """

    margins: tuple[Band, Band]
    ambient_margins: tuple[Band | None, Band | None]
    years: tuple[Band, Band]
    more_margin: Band
    times: Band


def class_change(job: Job, motors, season: Season, samples=SAMPLES, seed=0) -> ClassChange:
    """Compare two catalog motors on a job.

    For example, compare a class B, 60 degC motor with a class F, 70 degC motor. The model
    assumes that the rating shows how well a motor is cooled, so the calculated temperature may be
    higher for the motor with the higher rating.

    Raises
    ------
    InputError
        If there are not exactly two motors, if a motor has no class, or if the job does not have
        enough information.
    """
    if len(motors) != 2:
        given = Message("error.heat.motors", count=len(motors))
        raise InputError("motors", given, Message("error.heat.two"))
    letters = [motor.insulation_class for motor in motors]
    for motor, letter in zip(motors, letters, strict=True):
        if letter is None:
            given = Message("error.heat.no_class", motor=motor.name)
            raise InputError("motors", given, Message("error.heat.classes"))
    design = simulate(job, motors, samples, seed)
    limits = [float(insulation.temperature_index(letter)) for letter in letters]
    margins = [
        limit - hot_spot(design.temp_winding[USUAL, at], seed) for at, limit in enumerate(limits)
    ]
    years = _years(job, motors, season, samples, seed)
    capped = np.minimum(years, LONGEST_YEARS)
    return ClassChange(
        margins=tuple(Band.of(margin) for margin in margins),
        ambient_margins=tuple(
            _ambient_margin(motor, design.conditions.temp_air) for motor in motors
        ),
        years=tuple(Band.of(each) for each in capped),
        more_margin=Band.of(margins[1] - margins[0]),
        times=Band.of(years[1] / years[0]),
    )


class AltitudeEffects(NamedTuple):
    """Individual effects of elevation on winding temperature [K].

    ``factor`` and ``standard_loss`` apply only to a test near sea level, where the other effects do
    not occur. These two values must never be combined with the other effects.

    Attributes
    ----------
    elevation : float
        Elevation [m].
    load : Band
        Effect of the lower fan load in thin air, negative for most motors.
    cooling : Band
        Effect of reduced cooling in a thinner airstream.
    coil : Band
        Effect of the higher air temperature rise across the coil.
    together : Band
        All effects, simulated together.
    factor : float
        Multiplier for the temperature rise limit in the standard.
    standard_loss : float or None
        Reduction [K] in the rise limit due to the factor, or None if the class is not in the table.
    """

    elevation: float
    load: Band
    cooling: Band
    coil: Band
    together: Band
    factor: float
    standard_loss: float | None


def altitude_effects(motor: Motor, job: Job, elevation, voltage=None) -> AltitudeEffects:
    """Return the effects of an ``elevation`` [m] compared with sea level.

    ``voltage`` is the same as in `HeatStudy.of`.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    elevation = float(check("elevation", elevation, ELEVATION))
    samples = len(motor.rated.power)
    low, high = (Load.of(site_conditions(_at(job, height), samples)) for height in (0.0, elevation))
    heights = {"load": (1, 0, 0), "cooling": (0, 1, 0), "coil": (0, 0, 1), "all": (1, 1, 1)}
    rows = [(0, 0, 0), *heights.values()]
    pairs = [
        (low.coefficient, high.coefficient),
        (low.air.speed, high.air.speed),
        (low.air.temp_air, high.air.temp_air),
    ]
    coefficient, speed, temp_air = (
        np.stack([pair[row[place]] for row in rows]) for place, pair in enumerate(pairs)
    )
    volts = np.full(len(rows), motor.voltage if voltage is None else float(voltage))
    load = Load(coefficient, low.air._replace(speed=speed, temp_air=temp_air))
    winding = motor.run(load, volts).warm.temp_winding
    factor, letter = float(insulation.altitude_factor(elevation)), motor.insulation_class
    known = letter in insulation.PROTECTOR_LIMITS
    loss = float((1 - factor) * insulation.rise_limit(letter)) if known else None
    return AltitudeEffects(elevation, *map(Band.of, winding[1:] - winding[0]), factor, loss)


class Measured(NamedTuple):
    """Temperature reading [degC] with its standard deviation [K]."""

    temp: float
    deviation: float


class HeatReading(NamedTuple):
    """Temperature readings on a warmed-up motor.

    At least one of ``winding`` and ``shell`` is required.

    Attributes
    ----------
    voltage : float
        Supply voltage [V].
    temp_air : float
        Air temperature at the motor [degC].
    winding : Measured or None
        Temperature of the main winding.
    shell : Measured or None
        Temperature of the shell.
    """

    voltage: float
    temp_air: float
    winding: Measured | None = None
    shell: Measured | None = None


def winding_by_resistance(
    resistance_cold, temp_cold, switch_off: SwitchOff, material="copper"
) -> Measured:
    """Return the average winding temperature from cold and hot resistance.

    Both resistances must be measured on the same winding with the same meter.

    Parameters
    ----------
    resistance_cold
        Cold resistance [ohm].
    temp_cold
        Winding temperature [degC] at the cold measurement.
    switch_off : SwitchOff
        Result of `heat.at_switch_off`.
    material : str, optional
        Conductor material, as in `heat.rise_by_resistance`.

    Raises
    ------
    InputError
        If a value is out of range or if the hot resistance is lower than the cold resistance.
    """
    hot, cold = (
        switch_off.resistance_hot,
        float(check("resistance_cold", resistance_cold, heat.OHM)),
    )
    if hot <= cold:
        accepted = Message("error.heat.below_hot", resistance=f"{hot:.4g} ohm")
        raise InputError("resistance_cold", f"{cold:.4g}", accepted, "ohm")
    temp = float(heat.rise_by_resistance(cold, hot, temp_cold, 0.0, material))
    per_ohm = (heat.INTERCEPT[material] + temp_cold) / cold
    ohms = np.hypot(switch_off.standard_error, hot * OHMMETER)
    return Measured(temp, float(np.hypot(per_ohm * ohms, hot / cold * TEMP_COLD)))


def shell_by_thermocouple(temp_shell, temp_air) -> Measured:
    """Return the shell temperature from a taped thermocouple.

    The uncertainty increases with the temperature difference, because the wire and the airstream
    cool the junction.

    Parameters
    ----------
    temp_shell
        Thermocouple reading [degC].
    temp_air
        Air temperature [degC].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    temp = float(check("temp_shell", temp_shell, TEMP_WINDING))
    rise = temp - float(check("temp_air", temp_air, TEMP_AIR))
    return Measured(temp, float(np.hypot(THERMOCOUPLE, CONTACT * rise)))


class HeatFit(NamedTuple):
    """Motor and load samples that agree with the readings.

    Attributes
    ----------
    motor : Motor
        Motor with the remaining samples.
    load : Load
        Load with the remaining samples.
    before, after : Band
        90 % ranges of the average winding temperature [degC] at the first reading, before and after
        the update.
    strained : tuple[HeatReading, ...]
        Readings that are inconsistent with the other readings.
    chosen : ndarray
        Indices of the samples kept.
    """

    motor: Motor
    load: Load
    before: Band
    after: Band
    strained: tuple[HeatReading, ...]
    chosen: np.ndarray


def fitted(motor: Motor, load: Load, readings, samples=SAMPLES) -> HeatFit:
    """Return the pairs of motor and load samples that agree best with the readings.

    ``samples`` is the number of pairs to keep. The motor and the load must have many more samples
    than this, in the same order. ``readings`` are HeatReadings taken on the warmed-up motor with
    this load.

    Raises
    ------
    InputError
        If a value is out of range, if there are no readings, or if a reading does not agree with
        any pair.
    """
    if not readings:
        raise InputError(Message("field.reading"), NOTHING, Message("field.one_reading"))
    warm = [_warm(motor, load, reading, number) for number, reading in enumerate(readings)]
    away = [_misses(*pair) for pair in zip(warm, readings, strict=True)]
    for reading, misses in zip(readings, away, strict=True):
        _refuse_far(reading, misses)
    log_weight = -0.5 * sum(miss**2 for misses in away for miss in misses.values())
    chosen = resample(log_weight[None], samples)[0]
    winding = warm[0].temp_winding[0]
    return HeatFit(
        *picked(motor, load, chosen),
        before=Band.of(winding),
        after=Band.of(winding[chosen]),
        strained=tuple(
            reading
            for reading, misses in zip(readings, away, strict=True)
            if any(abs(np.median(miss[chosen])) > STRAINED for miss in misses.values())
        ),
        chosen=chosen,
    )


def _warm(motor: Motor, load: Load, reading: HeatReading, number: int) -> Warm:
    """Return the samples of the warmed-up motor, including the error of the air thermometer."""
    voltage = float(check("voltage", reading.voltage, VOLTAGE))
    rng = np.random.default_rng([number, 9])
    off = normal_draws(rng, ("air",), len(motor.rated.power))["air"]
    temp = check("temp_air", reading.temp_air, TEMP_AIR) + THERMOMETER * off
    return motor.run(load._replace(air=load.air._replace(temp_air=temp)), voltage).warm


def _misses(warm: Warm, reading: HeatReading) -> dict:
    """Return the deviation of each sample from the readings, in standard deviations."""
    found = {"winding": warm.nodes.winding_main[0], "shell": warm.nodes.shell[0]}
    read = {name: getattr(reading, name) for name in found}
    known = {name: one for name, one in read.items() if one is not None}
    if not known:
        given, accepted = Message("error.heat.neither"), Message("error.plate.one_of_two")
        raise InputError("readings", given, accepted)
    return {
        name: (found[name] - one.temp) / float(check("deviation", one.deviation, DEVIATION))
        for name, one in known.items()
    }


def _refuse_far(reading: HeatReading, away: dict) -> None:
    """Raise InputError if either temperature, or the pair, does not agree with any sample."""
    volts, air = Quantity(reading.voltage, "voltage"), Quantity(reading.temp_air, "air_temperature")
    at = Message("error.heat.at", voltage=volts, temp=air)
    for name, miss in away.items():
        if np.min(np.abs(miss)) > FAR:
            accepted = Message(f"error.heat.{'hotter' if np.min(miss) > 0 else 'cooler'}")
            read = Quantity(getattr(reading, name).temp, "temperature")
            raise InputError(part(at, Message(f"error.heat.{name}")), read, accepted)
    if np.min(np.max(np.abs(list(away.values())), axis=0)) > FAR:
        given, accepted = Message("error.heat.not_both"), Message("error.heat.one_moment")
        raise InputError(at, given, accepted)


def _ambient_margin(motor, temp_air) -> Band | None:
    return None if motor.ambient_rating is None else Band.of(motor.ambient_rating - temp_air)


def _years(job, motors, season, samples, seed):
    """Return the uncapped life [years] of each motor, shape (motors, samples)."""
    outdoor = season.temp_outdoor
    grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
    temps = winding_temperatures(job, motors, grid, samples, seed)
    found = []
    for at, motor in enumerate(motors):
        winding = np.stack([np.interp(outdoor, grid, sample) for sample in temps[:, at].T], axis=-1)
        hours = life_hours(winding, motor.insulation_class, seed)
        found.append(1 / (season.hours @ (1 / hours)))
    return np.array(found)


def _at(job: Job, elevation: float) -> Job:
    amount = read(f"{elevation:.3f} m", "elevation", "elevation")
    site = job.site.model_copy(update={"elevation": amount})
    return job.model_copy(update={"site": site})


def _hours(winding, insulation_class, seed) -> Band | None:
    if insulation_class is None:
        return None
    return Band.of(np.minimum(life_hours(winding, insulation_class, seed), LONGEST_HOURS))
