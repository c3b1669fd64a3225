"""Heat of one motor on one job: parts of its winding temperature, and the margin to limits.

Two limits are kept apart: the class temperature is for the hottest spot, the standard's rise for
the average by resistance, above the air at the motor. Parts of the temperature are bands of their
own; only the levels between them may be stacked. Elevation acts through density only: lighter load,
less cooling, hotter coil leaving air. The standard's elevation factor is shown beside it, never
applied on top.

Temperatures read on the running motor update its cooling: samples of motor and load are weighed as
pairs by a winding resistance or a shell thermocouple. On independent synthetic cases, 90 % ranges
contained the true value in 83 to 92 of 100 (keep 200 samples or more).
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
from airover.core.message import Message
from airover.core.units import read
from airover.model.aging import LONGEST_HOURS, STEPS, hot_spot, life_hours, winding_temperatures
from airover.model.climate import Season
from airover.model.conditions import Conditions, site_conditions
from airover.model.cooling import Warm
from airover.model.expected import FAR, STRAINED, picked
from airover.model.identify import resample
from airover.model.motor import Load, Motor, Run
from airover.model.simulation import SAMPLES, USUAL, simulate
from airover.model.temperature_history import moved
from airover.physics import heat, insulation
from airover.physics.heat import SwitchOff
from airover.records.job import Job

# Deviations of readings; common practice, no source.
OHMMETER = 0.003  # share, of the cold resistance; a meter's own slope cancels out
TEMP_COLD = 1.0  # K, how well the cold winding's temperature is known
TEMP_AIR_READ = 1.0  # K, of a thermometer in the air before the motor
THERMOCOUPLE = 1.5  # K, of class 2 (IEC 60584, 2.5 K at the most, from memory, not verified)
DEVIATION = Range(0.1, 50.0, "K")
CONTACT = 0.05  # share of the shell's rise that tape and air may take from a thermocouple


LONGEST_YEARS = 100.0


class Part(NamedTuple):
    """A step from outdoor air to the hottest spot: ``kelvin`` [K] that it adds, and ``upto``
    [degC], the temperature after it. Medians of parts do not add up; those of ``upto`` rise."""

    name: str
    kelvin: Band
    upto: Band


@dataclass(frozen=True, eq=False)
class HeatStudy:
    """One motor on a job's fan at one voltage. ``run`` has two rows: in the sun, and without."""

    motor: Motor
    conditions: Conditions
    run: Run
    seed: int = 0

    @classmethod
    def of(cls, motor: Motor, conditions: Conditions, voltage=None, seed=0) -> "HeatStudy":
        """``motor`` under ``conditions`` of as many samples; ``voltage`` [V] is the usual one
        if None. Raises InputError out of range."""
        load = Load.of(conditions)
        both = load.air._replace(sun=np.array([[1.0], [0.0]]) * load.air.sun)
        volts = np.full(2, conditions.voltage[USUAL] if voltage is None else float(voltage))
        return cls(motor, conditions, motor.run(load._replace(air=both), volts), seed)

    @property
    def winding(self) -> np.ndarray:
        """The winding's average [degC] in the sun, (samples,)."""
        return self.run.warm.temp_winding[0]

    @cached_property
    def hot_spot(self) -> np.ndarray:
        """Its hottest spot [degC], (samples,)."""
        return hot_spot(self.winding, self.seed)

    @cached_property
    def budget(self) -> tuple[Part, ...]:
        """Steps from outdoor air to the hottest spot; the first is the air itself."""
        conditions, shell = self.conditions, self.run.warm.temp_shell
        cooler = conditions.temp_air + shell[0] - shell[1]  # as the sun alone would warm the shell
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
        """Temperature [degC] of the class, for the hottest spot; None where it is not known."""
        letter = self.motor.insulation_class
        return None if letter is None else float(insulation.temperature_index(letter))

    @property
    def margin(self) -> Band | None:
        """Kelvin from the hottest spot to the class temperature."""
        limit = self.class_temperature
        return None if limit is None else Band.of(limit - self.hot_spot)

    @property
    def rise(self) -> Band:
        """Average rise [K] by resistance over the air at the motor."""
        return Band.of(self.winding - self.conditions.temp_air)

    @property
    def rise_margin(self) -> Band | None:
        """Kelvin from that rise to what the standard allows in air as hot as this; None for a
        class that the standard's table does not have."""
        letter = self.motor.insulation_class
        if letter not in insulation.PROTECTOR_LIMITS:
            return None
        allowed = insulation.rise_limit(letter, "air over", self.conditions.temp_air)
        return Band.of(allowed - (self.winding - self.conditions.temp_air))

    @property
    def hours(self) -> Band | None:
        """Hours of insulation life at this heat without pause."""
        return _hours(self.winding, self.motor.insulation_class, self.seed)


class AgainstAmbient(NamedTuple):
    """A winding against the weather. Members of bands have shape (temperatures,): ``temp_air`` at
    the motor, ``hot_spot`` [degC], ``margin`` [K] to the class temperature and ``hours`` [h] of
    life at that heat without pause, both None where the class is not known. ``winding`` [degC],
    its average, is (temperatures, samples)."""

    temps_outdoor: np.ndarray
    temp_air: Band
    hot_spot: Band
    margin: Band | None
    hours: Band | None
    winding: np.ndarray


def against_ambient(
    motor: Motor, conditions: Conditions, temps_outdoor, voltage=None, seed=0
) -> AgainstAmbient:
    """``motor`` under ``conditions``, on days of other ``temps_outdoor`` [degC], which rise.

    Simulated at five temperatures, straight lines between them. ``voltage`` [V] as in HeatStudy.of.
    Raises InputError out of range.
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
    """Gain of the second of two motors on one site; pairs are (first, second).

    ``margins`` [K] from hottest spot to class temperature at the design heat, ``ambient_margins``
    [K] from the air at the motor to the rated ambient (None if not known), ``years`` of life over
    the hourly year, at most 100. ``more_margin`` [K] and ``times`` (lives over one another,
    as far as hours go) compare the two sample by sample: same fan, air and line.
    """

    margins: tuple[Band, Band]
    ambient_margins: tuple[Band | None, Band | None]
    years: tuple[Band, Band]
    more_margin: Band
    times: Band


def class_change(job: Job, motors, season: Season, samples=SAMPLES, seed=0) -> ClassChange:
    """Gain of the second of two catalog ``motors`` over the first on ``job`` and its season.

    As a class F, 70 degC motor over a class B, 60 degC one. A rating counts as evidence of how
    well a motor is cooled, so the second may also run hotter. Raises InputError for other than
    two motors, for one without a class, and for a job that says too little.
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
    """Effects of elevation on a winding [K], one at a time: ``load`` (thin air loads
    the fan less: below 0 for most motors), ``cooling`` (a thinner stream takes less heat),
    ``coil`` (the same heat warms less air more) and all ``together``, worked and not added.

    ``factor`` is the standard's on a rise limit, and ``standard_loss`` [K] what it would take from
    this class. They are for a test near sea level, where none of the above is seen: never take
    both. ``standard_loss`` is None for a class that the table does not have.
    """

    elevation: float
    load: Band
    cooling: Band
    coil: Band
    together: Band
    factor: float
    standard_loss: float | None


def altitude_effects(motor: Motor, job: Job, elevation, voltage=None) -> AltitudeEffects:
    """Effects of an ``elevation`` [m] on ``motor`` on ``job`` against sea level, same weather.

    ``voltage`` [V] as in HeatStudy.of. Raises InputError out of range.
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
    """A temperature [degC] that was read, ``temp``, and its ``deviation`` [K]."""

    temp: float
    deviation: float


class HeatReading(NamedTuple):
    """Readings once the motor was warm, at ``voltage`` [V] in air of ``temp_air`` [degC] at
    the motor: the main ``winding``, the ``shell``, or both."""

    voltage: float
    temp_air: float
    winding: Measured | None = None
    shell: Measured | None = None


def winding_by_resistance(
    resistance_cold, temp_cold, switch_off: SwitchOff, material="copper"
) -> Measured:
    """Average of a winding from its ``resistance_cold`` [ohm] at ``temp_cold`` [degC] and what
    `heat.at_switch_off` found, ``switch_off``.

    ``material`` as in heat.rise_by_resistance. Both resistances are of the same winding by the
    same meter. Raises InputError out of range, and where the hot one is the lower one.
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
    """The shell's ``temp_shell`` [degC] by a taped thermocouple, in air of ``temp_air`` [degC].

    The further from the air, the less sure: the wire and the stream cool the junction. Raises
    InputError out of range.
    """
    temp = float(check("temp_shell", temp_shell, TEMP_WINDING))
    rise = temp - float(check("temp_air", temp_air, TEMP_AIR))
    return Measured(temp, float(np.hypot(THERMOCOUPLE, CONTACT * rise)))


class HeatFit(NamedTuple):
    """Samples of ``motor`` and ``load`` that agree with the readings.

    ``before`` and ``after`` are bands of the winding's average [degC] at the first reading;
    ``strained`` are those readings that hardly go with the rest; ``chosen`` are the numbers of
    the samples that were kept.
    """

    motor: Motor
    load: Load
    before: Band
    after: Band
    strained: tuple[HeatReading, ...]
    chosen: np.ndarray


def fitted(motor: Motor, load: Load, readings, samples=SAMPLES) -> HeatFit:
    """The ``samples`` pairs of ``motor`` and ``load`` that agree best with ``readings``.

    Give many more samples of motor and load than are asked for, in one order; each of the
    HeatReadings was taken on this load, warm. Raises InputError out of range, without readings,
    and for a reading that none of the pairs could give.
    """
    if not readings:
        raise InputError("readings", NOTHING, Message("error.heat.reading"))
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
    """The warm samples, each with its own error of the air's thermometer."""
    voltage = float(check("voltage", reading.voltage, VOLTAGE))
    rng = np.random.default_rng([number, 9])
    off = normal_draws(rng, ("air",), len(motor.rated.power))["air"]
    temp = check("temp_air", reading.temp_air, TEMP_AIR) + TEMP_AIR_READ * off
    return motor.run(load._replace(air=load.air._replace(temp_air=temp)), voltage).warm


def _misses(warm: Warm, reading: HeatReading) -> dict:
    """Distances of each sample from the readings, in standard deviations."""
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
    """Raise InputError where no sample gives a temperature, or none gives both together."""
    volts, air = f"{reading.voltage:.4g} V", f"{reading.temp_air:.4g} degC"
    at = Message("error.heat.at", voltage=volts, temp=air)
    for name, miss in away.items():
        if np.min(np.abs(miss)) > FAR:
            accepted = Message(f"error.heat.{'hotter' if np.min(miss) > 0 else 'cooler'}")
            read = f"{getattr(reading, name).temp:.4g} degC"
            raise InputError(part(at, Message(f"error.heat.{name}")), read, accepted)
    if np.min(np.max(np.abs(list(away.values())), axis=0)) > FAR:
        given, accepted = Message("error.heat.not_both"), Message("error.heat.one_moment")
        raise InputError(at, given, accepted)


def _ambient_margin(motor, temp_air) -> Band | None:
    return None if motor.ambient_rating is None else Band.of(motor.ambient_rating - temp_air)


def _years(job, motors, season, samples, seed):
    """Years of each motor, (motors, samples), without a cap."""
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
