"""Winding insulation life at a constant temperature and over a year of weather.

Damage is added linearly (Miner's rule, common practice for insulation). Each hour at a given
temperature uses up a fraction of the life equal to one hour divided by the insulation life at that
temperature. Hours with the motor off are not counted, because the winding is then cool. In every
running hour, the winding is assumed to be at its steady-state temperature in full noon sun, so the
calculated temperature is slightly high for short cycles and for units in the shade. The hot-spot
temperature is 5 to 10 K above the average winding temperature.

Life at the design temperature assumes that the motor runs continuously. `winding_year` evaluates
the running hours of a year. Bearing life is calculated in `bearing_life`.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError, Range
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message
from airover.core.units import read
from airover.model.climate import Season
from airover.model.simulation import SAMPLES, USUAL, MotorOnFan, simulate
from airover.physics import insulation
from airover.records.job import Job

# Common practice; no published source.
HOT_SPOT_OVER_AVERAGE = (5.0, 10.0)  # K
HALVING_INTERVAL = (8.0, 10.0)  # K, range in IEC 60216
HOTTEST = insulation.TEMP_HOT_SPOT.high  # degC
LONGEST_HOURS = 1e6  # h: estimates beyond a century of running are meaningless


STEPS = 5  # number of simulated outdoor temperatures; linear interpolation in between
LONGEST = 100.0  # years: estimates beyond this are meaningless


class Life(NamedTuple):
    """Life, given as a 90 % range.

    ``kind`` and ``governed_by`` are empty for a winding.

    Attributes
    ----------
    hours : Band or None
        Life [h].
    kind : str
        Bearing type.
    governed_by : str
        Failure mode that governs the life.
    """

    hours: Band | None
    kind: str = ""
    governed_by: str = ""


def hot_spot(temp_winding, seed: int = 0):
    """Return the hot-spot temperature [degC] for an average winding temperature.

    ``temp_winding`` is the average winding temperature [degC], with samples along the last axis.
    """
    spot = _drawn(temp_winding, seed)["spot"]
    return np.minimum(temp_winding + uniform(HOT_SPOT_OVER_AVERAGE, spot), HOTTEST)


def life_hours(temp_winding, insulation_class, seed: int = 0):
    """Return the insulation life [h] at an average winding temperature.

    ``temp_winding`` is the average winding temperature [degC], with samples along the last axis.
    The hot-spot allowance and the halving interval are sampled.

    Raises
    ------
    InputError
        If the class is unknown.
    """
    interval = halving_interval(temp_winding, seed)
    return insulation.life(hot_spot(temp_winding, seed), insulation_class, interval)


def halving_interval(temp_winding, seed: int = 0):
    """Return samples of the temperature increase [K] that halves the insulation life.

    Samples lie along the last axis of ``temp_winding``.
    """
    return uniform(HALVING_INTERVAL, _drawn(temp_winding, seed)["interval"])


def winding_life(simulation: MotorOnFan, number: int, seed: int = 0) -> Life:
    """Return the insulation life [h] at the usual voltage and the design temperature."""
    motor = simulation.motors[number]
    if motor.insulation_class is None:
        return Life(None, governed_by="insulation class unknown")
    hours = life_hours(simulation.temp_winding[USUAL, number], motor.insulation_class, seed)
    return Life(Band.of(np.minimum(hours, LONGEST_HOURS)))


class WindingYear(NamedTuple):
    """Winding temperature and life over a year.

    ``years`` and ``trip`` are None if the insulation class is not known.

    Attributes
    ----------
    hours : float
        Running time [h] per year.
    temp : Band
        Average winding temperature [degC] while running.
    hottest : Band
        Average winding temperature [degC] in the warmest hour.
    years : Band or None
        Winding life [years].
    trip : Band or None
        Hours per year in which the winding is hotter than the maximum trip temperature allowed for
        the class.
    """

    hours: float
    temp: Band
    hottest: Band
    years: Band | None
    trip: Band | None


def lifetime_over_year(job: Job, motors, season: Season, samples=SAMPLES, seed=0):
    """Return the WindingYear of each motor on a job for a given season.

    Each motor is simulated at several outdoor temperatures and at the usual voltage.

    Raises
    ------
    InputError
        If the job does not have enough information.
    """
    outdoor = season.temp_outdoor
    grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
    winding = winding_temperatures(job, motors, grid, samples, seed)
    return tuple(
        winding_year(season, grid, winding[:, at], motor.insulation_class, seed)
        for at, motor in enumerate(motors)
    )


def winding_temperatures(job: Job, motors, temps_outdoor, samples=SAMPLES, seed=0):
    """Return average winding temperatures [degC], shape (temperatures, motors, samples).

    ``temps_outdoor`` contains the outdoor temperatures [degC], shape (temperatures,), that replace
    the outdoor temperature of the job. Humidity, coil and recirculation are taken from the job. The
    motors run at the usual supply voltage. Raises the same errors as `simulate`.
    """
    each = (simulate(at_outdoor(job, temp), motors, samples, seed) for temp in temps_outdoor)
    return np.stack([simulation.temp_winding[USUAL] for simulation in each])


def at_outdoor(job: Job, temp_outdoor: float) -> Job:
    """Return a copy of ``job`` with a different outdoor temperature [degC]."""
    amount = read(f"{temp_outdoor:.3f} degC", "air_temperature", "outdoor temperature")
    site = job.site.model_copy(update={"outdoor_temperature": amount})
    return job.model_copy(update={"site": site})


def winding_year(
    season: Season, temps_outdoor, temp_winding, insulation_class, seed=0
) -> WindingYear:
    """Return a WindingYear from a table of winding temperatures.

    Parameters
    ----------
    season : Season
        Running hours by outdoor temperature.
    temps_outdoor
        Outdoor temperatures [degC] in ascending order, shape (temperatures,).
    temp_winding
        Average winding temperatures [degC], shape (temperatures, samples). They are interpolated
        linearly.
    insulation_class : str or None
        Insulation class.
    seed : int, optional
        Random seed.

    Raises
    ------
    InputError
        If the table does not cover the temperatures of the season.
    """
    average = _interpolated(season.temp_outdoor, temps_outdoor, temp_winding)
    known = insulation_class is not None
    return WindingYear(
        hours=season.total,
        temp=Band.of(season.hours @ average / season.total),
        hottest=Band.of(average[-1]),
        years=Band.of(years_of_life(season, average, insulation_class, seed)) if known else None,
        trip=_trip(season, average, insulation_class),
    )


def years_of_life(season: Season, temp_winding, insulation_class, seed=0):
    """Return the insulation life in calendar years, shape (samples,).

    ``temp_winding`` is the average winding temperature [degC] at each outdoor temperature of
    ``season``, shape (temperatures, samples). Annual damage is the sum of running hours divided by
    insulation life at each temperature. The life is the reciprocal of the annual damage, limited to
    100 years.

    Raises
    ------
    InputError
        If the class is unknown.
    """
    life = life_hours(temp_winding, insulation_class, seed)
    return np.minimum(1 / (season.hours @ (1 / life)), LONGEST)


def _drawn(temp_winding, seed):
    rng = np.random.default_rng([seed, 2])
    return normal_draws(rng, ("spot", "interval"), np.shape(temp_winding)[-1])


def _interpolated(temp_outdoor, grid, winding):
    """Interpolate the table at ``temp_outdoor``, with a result of shape (temperatures, samples)."""
    grid, winding = np.asarray(grid, dtype=float), np.asarray(winding, dtype=float)
    reaches = grid[0] <= temp_outdoor[0] and temp_outdoor[-1] <= grid[-1]
    if not (reaches and np.all(np.diff(grid) > 0)):
        given = Range(float(grid[0]), float(grid[-1]), "degC")
        span = Range(float(temp_outdoor[0]), float(temp_outdoor[-1]), "degC")
        raise InputError("temps_outdoor", given, Message("error.heat.table", span=span))
    return np.stack([np.interp(temp_outdoor, grid, sample) for sample in winding.T], axis=-1)


def _trip(season: Season, average, insulation_class) -> Band | None:
    """Return the hours per year above the maximum trip temperature for the insulation class."""
    if insulation_class not in insulation.PROTECTOR_LIMITS:
        return None
    return Band.of(season.hours @ (average > insulation.protector_limit(insulation_class)))
