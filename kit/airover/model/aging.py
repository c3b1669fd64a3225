"""Aging of a winding: life at one temperature, and over a year of weather.

Damage adds up linearly (Miner's rule, common practice for insulation): an hour at a temperature
uses up one part in so many hours as the insulation would last there. A winding that is off is cool
and is not counted. In every running hour it is as hot as in steady running, and the sun shines as
at noon, so short runs and shade make it look a little too hot. The hottest spot is 5 to 10 K above
the average winding temperature.

Life at the design temperature assumes that the motor never pauses; `winding_year` counts a year's
hours. Bearings are in `bearing_life`.
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

# Common practice, no source.
HOT_SPOT_OVER_AVERAGE = (5.0, 10.0)  # K
HALVING_INTERVAL = (8.0, 10.0)  # K, IEC 60216 names the range
HOTTEST = insulation.TEMP_HOT_SPOT.high  # degC
LONGEST_HOURS = 1e6  # h: beyond a century of running an estimate says nothing


STEPS = 5  # outdoor temperatures at which the motors are simulated; between them a straight line
LONGEST = 100.0  # years: beyond, an estimate says nothing


class Life(NamedTuple):
    """Hours as a band; ``kind`` of bearing and what ``governs`` are empty for the winding."""

    hours: Band | None
    kind: str = ""
    governed_by: str = ""


def hot_spot(temp_winding, seed: int = 0):
    """Hottest spot [degC] of a winding whose average is ``temp_winding`` [degC], samples last."""
    spot = _drawn(temp_winding, seed)["spot"]
    return np.minimum(temp_winding + uniform(HOT_SPOT_OVER_AVERAGE, spot), HOTTEST)


def life_hours(temp_winding, insulation_class, seed: int = 0):
    """Hours that insulation lasts at the average ``temp_winding`` [degC], samples on the last axis.

    Hot spot and halving interval are samples. Raises InputError for an unknown class.
    """
    interval = uniform(HALVING_INTERVAL, _drawn(temp_winding, seed)["interval"])
    return insulation.life(hot_spot(temp_winding, seed), insulation_class, interval)


def winding_life(simulation: MotorOnFan, number: int, seed: int = 0) -> Life:
    """Hours of insulation life of motor ``number`` at the job's usual voltage and design heat."""
    motor = simulation.motors[number]
    if motor.insulation_class is None:
        return Life(None, governed_by="insulation class unknown")
    hours = life_hours(simulation.temp_winding[USUAL, number], motor.insulation_class, seed)
    return Life(Band.of(np.minimum(hours, LONGEST_HOURS)))


class WindingYear(NamedTuple):
    """A winding over a year: ``hours`` [h] of running, ``temp`` [degC] average of the winding
    while it runs and ``hottest`` [degC] in the warmest hour, ``years`` of life, ``trip`` [h a year]
    above what a protector of its class allows. None where the class is not known."""

    hours: float
    temp: Band
    hottest: Band
    years: Band | None
    trip: Band | None


def lifetime_over_year(job: Job, motors, season: Season, samples=SAMPLES, seed=0):
    """A WindingYear for each of ``motors`` on ``job``, over the outdoor temperatures of ``season``.

    Each motor is simulated at a few outdoor temperatures at the job's usual voltage. Raises
    InputError for a job that says too little.
    """
    outdoor = season.temp_outdoor
    grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
    winding = winding_temperatures(job, motors, grid, samples, seed)
    return tuple(
        winding_year(season, grid, winding[:, at], motor.insulation_class, seed)
        for at, motor in enumerate(motors)
    )


def winding_temperatures(job: Job, motors, temps_outdoor, samples=SAMPLES, seed=0):
    """Average winding temperature [degC], (temperatures, motors, samples), at the usual voltage.

    ``temps_outdoor`` [degC], (temperatures,), stand in the place of the job's own; what else the
    job says of its air (humidity, coil, recirculation) stays. Raises InputError as `simulate` does.
    """
    each = (simulate(at_outdoor(job, temp), motors, samples, seed) for temp in temps_outdoor)
    return np.stack([simulation.temp_winding[USUAL] for simulation in each])


def at_outdoor(job: Job, temp_outdoor: float) -> Job:
    """The ``job`` on a day of another outdoor temperature ``temp_outdoor`` [degC]."""
    amount = read(f"{temp_outdoor:.3f} degC", "air_temperature", "outdoor temperature")
    site = job.site.model_copy(update={"outdoor_temperature": amount})
    return job.model_copy(update={"site": site})


def winding_year(
    season: Season, temps_outdoor, temp_winding, insulation_class, seed=0
) -> WindingYear:
    """A WindingYear from average ``temp_winding`` [degC] against ``temps_outdoor`` [degC].

    The table, (temperatures, samples) on rising (temperatures,), has to reach over the season's
    temperatures; between its rows a straight line. Raises InputError when it does not reach.
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
    """Calendar years, (samples,), that insulation lasts at the average ``temp_winding`` [degC].

    ``temp_winding`` has shape (temperatures, samples), as ``season`` has them. The year's damage is
    the sum of its hours over the hours of life at each; life is one over it, at most 100 years.
    Raises InputError for an unknown class.
    """
    life = life_hours(temp_winding, insulation_class, seed)
    return np.minimum(1 / (season.hours @ (1 / life)), LONGEST)


def _drawn(temp_winding, seed):
    rng = np.random.default_rng([seed, 2])
    return normal_draws(rng, ("spot", "interval"), np.shape(temp_winding)[-1])


def _interpolated(temp_outdoor, grid, winding):
    """The table's columns at ``temp_outdoor``: (temperatures, samples)."""
    grid, winding = np.asarray(grid, dtype=float), np.asarray(winding, dtype=float)
    reaches = grid[0] <= temp_outdoor[0] and temp_outdoor[-1] <= grid[-1]
    if not (reaches and np.all(np.diff(grid) > 0)):
        given = Range(float(grid[0]), float(grid[-1]), "degC")
        span = Range(float(temp_outdoor[0]), float(temp_outdoor[-1]), "degC")
        raise InputError("temps_outdoor", given, Message("error.heat.table", span=span))
    return np.stack([np.interp(temp_outdoor, grid, sample) for sample in winding.T], axis=-1)


def _trip(season: Season, average, insulation_class) -> Band | None:
    """Hours a year above the highest temperature that a protector of the class may allow."""
    if insulation_class not in insulation.PROTECTOR_LIMITS:
        return None
    return Band.of(season.hours @ (average > insulation.protector_limit(insulation_class)))
