"""What a motor does in a year of weather: energy, and how many years its parts last.

Motors are worked at a few outdoor temperatures at the job's usual voltage, straight lines between.
A part uses up one part in so many hours as it would last at each temperature (Miner's rule). A
life that nobody can work out is taken from a wide range, and named. What such motors last by
experience is evidence about their bearings, beside hours that are worked out within a factor.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.bearings.life import bearing_life
from airover.climate.season import FLOW_RATIO, Season, Unit, running
from airover.cost.failures import LIFE, SHAPES, half_life
from airover.heat.ageing import LONGEST, STEPS, at_outdoor, winding_year
from airover.motor.conditions import conditions
from airover.motor.work import DRAWS, USUAL, Known, Worked, known, simulate
from airover.physics import capacitor, coil
from airover.records import Job

# Own judgement: running hours that half of such parts reach, where too little is known to work
# them out; 5, 50 and 95 per cent.
ASSUMED_HOURS = {
    "winding": Band(15e3, 40e3, 100e3),
    "capacitor": Band(10e3, 30e3, 80e3),
}
# The share that reaches the hours calculated: half of the bearings, of either kind, and of the
# windings; nine of ten capacitors (windings and capacitors: engineering judgment).
SURVIVORS = {"winding": 0.5, "ball": 0.5, "sleeve": 0.5, "capacitor": 0.9}
LEAST_SPREAD = 0.05  # of a life's logarithm, end to end: nothing is surer
# Common practice, no source.
COOLING_OVER_HEAT = (0.74, 0.82)  # of what the coil gives off; the rest is the compressor's power
CAPACITOR_OVER_OUTDOOR = (10.0, 25.0)  # K, in the unit's box of controls
CAPACITOR_CLASSES = ("C", "B")  # IEC 60252-1: hours between those of the two
CAPACITOR_EXPONENT = (7.0, 10.0)
CAPACITOR_HALVING = (8.0, 12.0)  # K
CAPACITOR_VOLTAGES = (250.0, 370.0, 440.0, 540.0)  # V, that a shop has


class Yearly(NamedTuple):
    """A motor over a year. ``hours`` [h] of running, ``energy`` [kWh] of the motor and ``air``
    [kWh] that the compressor takes more than with the old airflow, less than none where the motor
    moves more air, (draws,); ``lives`` [years] that half of such parts reach, by part; ``assumed``
    names the parts whose life is not known and was taken from a usual range. ``bearing`` [years] is
    the band worked out alone, if any."""

    hours: float
    energy: np.ndarray
    air: np.ndarray
    lives: dict[str, Band]
    assumed: tuple[str, ...]
    bearing: Band | None


def yearly(job: Job, motors, season: Season, service: Band, draws: int = DRAWS, seed: int = 0):
    """A Yearly for each of ``motors`` on ``job`` in a ``season``.

    ``service`` [years] is what half of such motors reach by experience. Raises
    InputError for a job that says too little.
    """
    outdoor = season.temp_outdoor
    grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
    of_their_own = _independent(motors, known(tuple(motors), draws, seed), seed)
    each = [
        simulate(placed, motors, of_their_own, conditions(placed, draws, seed), seed)
        for placed in (at_outdoor(job, temp) for temp in grid)
    ]
    hours = _hours_on(grid, season)
    energy = _sum(hours, [worked.figures["power_in_w"][USUAL] for worked in each])
    air = _sum(hours, _more_compressor_power(each, grid, season, seed))
    return tuple(
        Yearly(season.total, energy[at], air[at], *_lives(each, at, grid, season, service, seed))
        for at in range(len(motors))
    )


def _independent(motors, motors_known: Known, seed) -> Known:
    """The same samples of each motor in an order of its own.

    Motors share the fan, the air and the supply. How far one maker's nameplate is from his motor
    says nothing about another's, so the difference of two motors is as uncertain as it is.
    """
    count = motors_known.rated.power.shape[-1]
    order = [
        np.random.default_rng([seed, 10, *motor.name.encode()]).permutation(count)
        for motor in motors
    ]
    return motors_known.picked((np.arange(len(order))[:, None], np.array(order)))


def served(year: Yearly, service: Band) -> Yearly:
    """The same ``year`` of a motor, where ``service`` [years] is what half of such motors reach by
    experience: nothing else in it follows from that."""
    return year._replace(lives=year.lives | {"bearing": _bearing(year.bearing, service)})


def _hours_on(grid, season: Season):
    """The season's hours given to the grid's temperatures, as straight lines between them do."""
    hats = [np.interp(season.temp_outdoor, grid, hat) for hat in np.eye(len(grid))]
    return np.array(hats) @ season.hours


def _sum(hours, watts):
    """Kilowatt-hours, (motors, draws), from watts (temperatures, motors, draws)."""
    return np.tensordot(hours, np.asarray(watts), axes=1) / 1000


def _more_compressor_power(each: list[Worked], grid, season: Season, seed):
    """Watts, (temperatures, motors, draws), over those at the old motor's airflow."""
    unit = _unit(each[-1], seed)
    density = np.interp(grid, season.temp_outdoor, season.density)[:, None, None]
    ratio = np.stack([worked.speed_ratio[USUAL] for worked in each])
    at, full = grid[:, None, None], np.ones((1, 1, each[0].draws))
    flows = (np.clip(ratio, FLOW_RATIO.low, FLOW_RATIO.high), full)
    more, usual = (running(unit, at, density, flow).power for flow in flows)
    return more - usual


def _unit(worked: Worked, seed) -> Unit:
    """The unit as the job tells it: what its coil gives off, else a usual rise of the air."""
    asked, site = worked.conditions, worked.job.site
    names = ("rise", "cooling")
    z = normal_draws(np.random.default_rng([seed, 6]), names, worked.draws)
    rise = site.coil_temperature_rise
    if rise is None and site.heat is not None:
        heat = uniform((site.heat.low, site.heat.high), z["rise"])
    else:
        rise = asked.temp_air - asked.temp_entering
        heat = rise * asked.flow * asked.density * coil.HEAT_CAPACITY
    cooling = uniform(COOLING_OVER_HEAT, z["cooling"]) * heat
    return Unit.usual(cooling, asked.flow, worked.draws, seed)


def _lives(each: list[Worked], at: int, grid, season: Season, service: Band, seed):
    """Years of each part of motor ``at``, which of them are assumed, the bearing's alone."""
    motor = each[0].motors[at]
    temps = np.stack([worked.temp_winding[USUAL, at] for worked in each])
    winding = winding_year(season, grid, temps, motor.insulation_class, seed)
    bearing = _half("bearing", motor.bearings, _bearing_years(each, at, grid, season))
    found = {
        "winding": _half("winding", "winding", winding.years),
        "bearing": None if bearing is None else _bearing(bearing, service),
        "capacitor": _half("capacitor", "capacitor", _capacitor_years(each[-1], at, season, seed)),
    }
    usual = {part: _years(hours, season) for part, hours in ASSUMED_HOURS.items()}
    usual["bearing"] = _bearing(None, service)
    lives = {part: years or usual[part] for part, years in found.items()}
    return lives, tuple(part for part, years in found.items() if years is None), bearing


def _bearing(alone: Band | None, service: Band) -> Band:
    """Years worked out ``alone`` with experience as evidence; experience where none were."""
    return service if alone is None else weighed(alone, service)


def weighed(one: Band, other: Band) -> Band:
    """Two bands of the same life as one: each logarithm weighs by how sure it is.

    Two independent normal estimates of one figure, so the result is narrower than either; that is
    Bayes' rule with one of them as what was believed before.
    """
    middles = np.log([one.mid, other.mid])
    spreads = np.array([np.log(band.high / band.low) for band in (one, other)])
    weights = 1 / np.maximum(spreads, LEAST_SPREAD) ** 2
    mid = float(weights @ middles / weights.sum())
    reach = float(weights.sum() ** -0.5 / 2)
    return Band(*(float(np.exp(mid + step)) for step in (-reach, 0, reach)))


def _half(part: str, kind: str | None, years: Band | None) -> Band | None:
    """Years that half of such parts reach."""
    if years is None:
        return None
    life = half_life(np.maximum(years, LIFE.low), SURVIVORS[kind], SHAPES[part])
    return Band(*(float(end) for end in life))


def _years(hours: Band, season: Season) -> Band:
    return Band(*(min(end / season.total, LONGEST) for end in hours))


def _bearing_years(each: list[Worked], at: int, grid, season: Season) -> Band | None:
    """Each end of the band by itself: what makes a bearing poor does so at every temperature."""
    hours = [bearing_life(worked, at).hours for worked in each]
    if any(one is None for one in hours):
        return None
    ends = np.log(np.array(hours)).T
    lives = [np.exp(np.interp(season.temp_outdoor, grid, end)) for end in ends]
    return Band(*(float(min(1 / (season.hours @ (1 / life)), LONGEST)) for life in lives))


def _capacitor_years(worked: Worked, at: int, season: Season, seed) -> Band | None:
    """A new capacitor of the motor's voltage, or of the next higher where that is too low."""
    rated = worked.motors[at].capacitor_voltage
    if rated is None:
        return None
    z = normal_draws(
        np.random.default_rng([seed, 7]), ("over", "class", "exponent", "halving"), worked.draws
    )
    voltage = worked.figures["capacitor_v"][USUAL, at]
    least = np.median(voltage) / capacitor.OVERVOLTAGE
    fitted = min((v for v in CAPACITOR_VOLTAGES if v >= least), default=rated)
    temp = season.temp_outdoor[:, None] + uniform(CAPACITOR_OVER_OUTDOOR, z["over"])
    classes = np.log([capacitor.LIFE_CLASSES[letter] for letter in CAPACITOR_CLASSES])
    share = np.exp(uniform(classes, z["class"])) / capacitor.LIFE_CLASSES["B"]
    life = share * capacitor.life(
        voltage,
        temp,
        max(rated, fitted),
        exponent=uniform(CAPACITOR_EXPONENT, z["exponent"]),
        halving_interval=uniform(CAPACITOR_HALVING, z["halving"]),
    )
    years = np.minimum(1 / (season.hours @ (1 / life)), LONGEST)
    return Band(*(float(end) for end in Band.of(years)))
