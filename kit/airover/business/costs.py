"""Calculate the annual energy, part lives and failures for a life-cycle cost.

Motors are simulated at several outdoor temperatures and at the usual voltage of the job, with
linear interpolation between temperatures. Each hour at a given temperature uses up a fraction of a
part's life equal to one hour divided by the life at that temperature (Miner's rule).

The winding, bearing and capacitor are competing risks with Weibull-distributed lives. The
uncertainty in each median life is log-normal on either side of the median. If a winding or bearing
fails, the motor is replaced with the same model and a new capacitor. If the capacitor fails, only
the capacitor is replaced. All motors share the same random deviates, so differences between motors
are due to their design and not to chance.

The calculated bearing life is uncertain by a large factor, so it is combined by Bayes' rule with
the observed life of similar motors (``motor_life``, 5 to 25 years by default). If a life cannot be
calculated, a wide range is assumed and is sampled separately for each motor. The Weibull shapes are
based on engineering judgment, except for the bearing shape, which follows from grease life. The
fractions of parts that reach their calculated hours (half of the windings and sleeve bearings, 90 %
of the capacitors), the capacitor temperature and class, the default prices and the probability of a
second visit are also based on engineering judgment. Every input is listed with its source.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import NOTHING, InputError, Range, check
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message, Money, Quantity
from airover.core.units import Amount, quoted
from airover.model.aging import LONGEST, STEPS, at_outdoor, winding_year
from airover.model.bearing_life import bearing_life
from airover.model.climate import FLOW_RATIO, Season, Unit, running
from airover.model.conditions import Input, site_conditions
from airover.model.simulation import (
    SAMPLES,
    USUAL,
    Identified,
    MotorOnFan,
    identify_motors,
    simulate_identified,
)
from airover.physics import circuit, coil
from airover.records.catalog import CatalogMotor
from airover.records.company import CostBasis
from airover.records.job import Job

PARTS = ("winding", "bearing", "capacitor")
CAPACITOR = PARTS.index("capacitor")
# Weibull shapes (engineering judgment). With a shape of 2.3, the L10 of grease is 0.44 times its
# L50.
SHAPES = {"winding": 3.0, "bearing": 2.3, "capacitor": 2.0}

NINETY_FIVE = 1.6449  # standard deviations between the median and a limit of a band

SHAPE = Range(0.5, 20.0, "")
SURVIVOR_RANGE = Range(0.01, 0.999, "")
TERM = Range(0.0, 50.0, "years")
LIFE = Range(0.02, 1e5, "years")  # years, from one week to virtually unlimited


# Fictional defaults in US dollars.
USUAL_BASIS = {
    "horizon": "15 years",
    "motor_life": "5-25 years",  # common practice, no source
    "energy_price": "0.12-0.24 USD/kWh",
    "labour_rate": "85-135 USD/h",
    "labour_hours": "1.5-2.5 h",
    "capacitor_hours": "0.5-1 h",
    "visit_price": "60-120 USD",
    "second_visits": "15-45 %",
    "discount_rate": "1-4 %",
    "capacitor_price": "12-30 USD",
    "belly_band_price": "12-25 USD",
}
NOT_DRAWN = ("horizon", "motor_life")
SERVICE_EITHER_SIDE = 1.25  # multiplier for a life entered as a single number, engineering judgment
SHELF_MONTHS = 6.0  # from manufacture to installation, engineering judgment
_CURRENCY = "USD"
# Quantity types in a cost basis that are neither money nor years.
_KINDS = {
    "labour_hours": "working_time", "capacitor_hours": "working_time", "second_visits": "share",
    "discount_rate": "yearly_rate",
}  # fmt: skip
_YEARS = ("horizon", "motor_life")


# Median life in running hours if it cannot be calculated (engineering judgment): 5th, 50th and
# 95th percentiles.
ASSUMED_HOURS = {
    "winding": Band(15e3, 40e3, 100e3),
    "capacitor": Band(10e3, 30e3, 80e3),
}
# Fraction that survives to the calculated hours: half of the bearings (both types) and windings,
# and 90 % of the capacitors (engineering judgment for windings and capacitors).
SURVIVORS = {"winding": 0.5, "ball": 0.5, "sleeve": 0.5, "capacitor": 0.9}
LEAST_SPREAD = 0.05  # minimum width of the logarithm of a life, from low to high limit
# Common practice, no source.
COOLING_OVER_HEAT = (0.74, 0.82)  # cooling as a fraction of heat rejected
CAPACITOR_OVER_OUTDOOR = (10.0, 25.0)  # K, rise inside the control box
CAPACITOR_CLASSES = ("C", "B")  # IEC 60252-1: hours are interpolated between these classes
CAPACITOR_EXPONENT = (7.0, 10.0)
CAPACITOR_HALVING = (8.0, 12.0)  # K
CAPACITOR_VOLTAGES = (250.0, 370.0, 440.0, 540.0)  # V, standard ratings


class Repairs(NamedTuple):
    """Repair counts, as arrays of shape (cases, years, samples) unless stated otherwise.

    Attributes
    ----------
    paid, covered : ndarray
        Number of motors replaced at the customer's cost and under warranty.
    capacitors : ndarray
        Number of capacitors replaced on their own.
    causes : ndarray
        Mean number of failures by part, shape (cases, parts).
    none
        True if nothing failed, shape (cases, samples).
    """

    paid: np.ndarray
    covered: np.ndarray
    capacitors: np.ndarray
    causes: np.ndarray

    @property
    def none(self):
        return (self.paid + self.covered + self.capacitors).sum(axis=1) == 0


def weibull_scale(life, survivors, shape):
    """Return the Weibull scale at which a fraction ``survivors`` of parts reaches ``life``.

    The scale is life / (-ln survivors)^(1/shape), in the unit of ``life`` [years]. Array arguments
    are broadcast.

    Raises
    ------
    InputError
        If an input is out of range.

    Examples
    --------
    >>> round(float(weibull_scale(10.0, 0.9, 1.0)), 2)
    94.91
    """
    life, shape = check("life", life, LIFE), check("shape", shape, SHAPE)
    return life / (-np.log(check("survivors", survivors, SURVIVOR_RANGE))) ** (1 / shape)


def half_life(life, survivors, shape):
    """Return the median life [years] at which a fraction ``survivors`` reaches ``life`` [years].

    The Weibull distribution, ``shape`` and errors are the same as in `weibull_scale`.

    >>> round(float(half_life(1.0, 0.9, 2.3)) * 0.44, 2)
    1.0
    """
    return weibull_scale(life, survivors, shape) * np.log(2) ** (1 / np.asarray(shape))


def life_at(band: Band, deviates):
    """Return the lives at standard normal ``deviates`` from the median of a ``band``.

    The life is log-normal on either side of the median, and the limits of the band are the 5th and
    95th percentiles.
    """
    low, mid, high = np.log(band)
    return np.exp(mid + np.where(deviates < 0, mid - low, high - mid) * deviates / NINETY_FIVE)


def repairs(scale, shape, horizon: int, warranty, seed: int = 0) -> Repairs:
    """Return the failures within ``horizon`` years if failed parts are replaced in kind.

    A motor that the customer pays for starts a new warranty term. A motor replaced under warranty
    continues the old term.

    Parameters
    ----------
    scale
        Weibull scales [years], shape (cases, parts, samples), with the parts in the order of PARTS.
    shape
        Weibull shapes, shape (parts,).
    warranty
        Warranty term [years], shape (cases,).

    Raises
    ------
    InputError
        If an input is out of range.
    """
    scale, shape = check("scale", scale, LIFE), check("shape", shape, SHAPE)
    warranty = check("warranty", warranty, TERM)
    cases, _, samples = scale.shape
    rng = np.random.default_rng([seed, 5])
    ends = scale * _unit_lives(rng, shape, samples)
    counts = np.zeros((3, cases, horizon, samples), dtype=np.int16)
    causes = np.zeros((cases, len(PARTS)))
    case, sample = np.nonzero(ends.min(axis=1) <= horizon)
    ends, covered_until = ends[case, :, sample], warranty[case]
    # In each round, a case has at most one event per sample, so no index is counted twice. Only the
    # samples with an event in this round can have another one.
    while case.size:
        part, time = ends.argmin(axis=1), ends.min(axis=1)
        motor, covered = part != CAPACITOR, time < covered_until
        kind = np.where(motor, covered, 2)
        counts[kind, case, np.ceil(time).astype(int) - 1, sample] += 1
        causes += _counted(case, part, cases)
        covered_until = np.where(kind == 0, time + warranty[case], covered_until)
        lives = _unit_lives(rng, shape, samples, sample)
        renewed = time[:, None] + scale[case, :, sample] * lives.T
        whole = motor[:, None] | (np.arange(len(PARTS)) == CAPACITOR)
        ends = np.where(whole, renewed, ends)
        more = ends.min(axis=1) <= horizon
        case, sample, ends, covered_until = (
            one[more] for one in (case, sample, ends, covered_until)
        )
    return Repairs(*counts, causes / samples)


def completed(basis: CostBasis, currency: str) -> CostBasis:
    """Return ``basis`` with default values in its empty fields, in the catalog's ``currency``.

    Raises
    ------
    InputError
        If an amount is in a different currency, or if amounts are missing and the currency is not
        US dollars, which is the currency of the default values.
    """
    if basis.currency and basis.currency != currency:
        given = Message("field.currencies", job=basis.currency, catalog=currency)
        raise InputError("cost", given, Message("field.in_currency", currency=currency))
    given = {name: amount.text for name, amount in basis if amount is not None}
    for name, text in USUAL_BASIS.items():
        if name not in given and _CURRENCY in text and currency != _CURRENCY:
            accepted = Message("cost.refused.money_like", currency=currency, text=quoted(text))
            raise InputError(f"cost {_words(name)}", NOTHING, accepted)
    return CostBasis(**(USUAL_BASIS | given))


def service(whole: CostBasis) -> Band:
    """Return the observed median life of similar motors [years] as a Band.

    The median of the band is the geometric mean of its limits.
    """
    low, high = (end / 12 for end in (whole.motor_life.low, whole.motor_life.high))
    if not whole.motor_life.is_range:
        low, high = low / SERVICE_EITHER_SIDE, high * SERVICE_EITHER_SIDE
    return Band(low, (low * high) ** 0.5, high)


def term(motor: CatalogMotor) -> float | None:
    """Return the free-replacement term [months] from installation, or None if not listed.

    A term that starts at manufacture is shortened by SHELF_MONTHS.
    """
    fitted, made = motor.warranty_from_installation, motor.warranty_from_manufacture
    ends = [] if fitted is None else [fitted]
    if made is not None:
        ends.append(max(made - SHELF_MONTHS, 0.0))
    return min(ends, default=None)


def noted(basis: CostBasis, whole: CostBasis, season: Season, motors) -> tuple[Input, ...]:
    """Return every input with its source.

    Parameters
    ----------
    basis : CostBasis
        Cost basis as entered by the user.
    whole : CostBasis
        Cost basis with default values for empty fields.
    motors
        Pairs of a CatalogMotor and its Yearly.
    """
    found = [
        _noted(name, amount, getattr(basis, name) is not None)
        for name, amount in whole
        if amount is not None
    ]
    design = Quantity(season.temp_design, "air_temperature")
    running = Message("cost.running", hours=Quantity(season.total, "count"), design=design)
    found.append(Input("running", running, "assumed", Message("cost.assumed.running")))
    laws = Message("cost.weibull")
    found.append(Input("how failures scatter", laws, "assumed", Message("cost.assumed.scatter")))
    for motor, year in motors:
        found += _noted_motor(motor, year)
    return tuple(found)


def written(name: str, value: float | Amount, unit: str) -> Message | Quantity | Money:
    """Format a ``value`` in ``unit`` of the CostBasis field ``name`` for display."""
    if name in _YEARS:
        return years(Band(*(end / 12 for end in (value.low, value.mid, value.high))))
    return Quantity(value, _KINDS[name]) if name in _KINDS else Money(value, unit)


def years(count: float | Band) -> Message:
    """Format a number of years for display, such as "1 year" or "5 to 25 years"."""
    if isinstance(count, Band) and count.low == count.high:
        count = count.mid
    if not isinstance(count, Band) and f"{count:.2g}" == "1":
        return Message("years.one")
    return Message("years.many", count=Quantity(count, "two_digits"))


class Yearly(NamedTuple):
    """Operation of one motor over one year.

    Attributes
    ----------
    hours : float
        Running time [h].
    energy : ndarray
        Motor energy [kWh], shape (samples,).
    air : ndarray
        Extra compressor energy [kWh] relative to the old airflow, negative if the motor moves more
        air, shape (samples,).
    lives : dict[str, Band]
        Median life [years] by part.
    assumed : tuple[str, ...]
        Names of the parts whose life was taken from a typical range because it could not be
        calculated.
    bearing : Band or None
        Bearing life [years] as calculated, before it is combined with experience, or None if not
        available.
    """

    hours: float
    energy: np.ndarray
    air: np.ndarray
    lives: dict[str, Band]
    assumed: tuple[str, ...]
    bearing: Band | None


def yearly(job: Job, motors, season: Season, service: Band, samples: int = SAMPLES, seed: int = 0):
    """Return a Yearly for each of ``motors`` on ``job`` in a ``season``.

    Parameters
    ----------
    service : Band
        Observed median life of similar motors [years].

    Raises
    ------
    InputError
        If the job lacks required data.
    """
    outdoor = season.temp_outdoor
    grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
    of_their_own = _independent(motors, identify_motors(tuple(motors), samples, seed), seed)
    each = [
        simulate_identified(
            placed, motors, of_their_own, site_conditions(placed, samples, seed), seed
        )
        for placed in (at_outdoor(job, temp) for temp in grid)
    ]
    hours = _hours_on(grid, season)
    energy = _sum(hours, [worked.figures["power_in_w"][USUAL] for worked in each])
    air = _sum(hours, _more_compressor_power(each, grid, season, seed))
    return tuple(
        Yearly(season.total, energy[at], air[at], *_lives(each, at, grid, season, service, seed))
        for at in range(len(motors))
    )


def served(year: Yearly, service: Band) -> Yearly:
    """Return a copy of ``year`` in which similar motors lasted ``service`` [years].

    None of the other values in ``year`` depend on ``service``.
    """
    return year._replace(lives=year.lives | {"bearing": _bearing(year.bearing, service)})


def weighed(one: Band, other: Band) -> Band:
    """Combine two estimates of the same life, weighting the logarithm of each by its precision.

    This is Bayes' rule for independent normal estimates, with one of the estimates as the prior.
    """
    middles = np.log([one.mid, other.mid])
    spreads = np.array([np.log(band.high / band.low) for band in (one, other)])
    weights = 1 / np.maximum(spreads, LEAST_SPREAD) ** 2
    mid = float(weights @ middles / weights.sum())
    reach = float(weights.sum() ** -0.5 / 2)
    return Band(*(float(np.exp(mid + step)) for step in (-reach, 0, reach)))


def _counted(case, part, cases):
    """Return the number of failures of each part in each case, shape (cases, parts)."""
    places = case * len(PARTS) + part
    return np.bincount(places, minlength=cases * len(PARTS)).reshape(cases, len(PARTS))


def _unit_lives(rng, shape, samples, which=slice(None)):
    """Return positive lives for a Weibull scale of 1, shape (parts, samples).

    Lives are generated for all ``samples``, but only those selected by ``which`` are returned.
    """
    drawn = rng.standard_exponential((len(PARTS), samples))[:, which]
    return np.maximum(drawn ** (1 / shape[:, None]), 1e-9)


def _noted(name: str, amount: Amount, given: bool) -> Input:
    shown = written(name, amount, amount.unit)
    if given:
        return Input(_words(name), shown, "given")
    return Input(_words(name), shown, "assumed", Message("cost.assumed.usual"))


def _noted_motor(motor: CatalogMotor, year) -> list[Input]:
    months, why = term(motor), Message("cost.assumed.warranty_shelf")
    origin = "catalog"
    if months is None:
        months, origin, why = 0.0, "assumed", Message("cost.assumed.no_warranty")
    notes = [Input("warranty", _months(months), origin, why, motor.name)]
    if year.bearing is not None:
        both = years(year.lives["bearing"])
        why = Message("cost.assumed.bearing_alone", alone=years(year.bearing))
        notes.append(Input("bearing life", both, "assumed", why, motor.name))
    for part in (part for part in PARTS if part in year.assumed):
        why = Message(f"cost.assumed.{part}")
        notes.append(Input(f"{part} life", years(year.lives[part]), "assumed", why, motor.name))
    return notes


def _months(count: float) -> Message:
    if round(count) == 1:
        return Message("months.one")
    return Message("months.many", count=Quantity(count, "count"))


def _words(name: str) -> str:
    return name.replace("_", " ")


def _independent(motors, identified: Identified, seed) -> Identified:
    """Return ``identified`` with the samples of each motor in a separate random order.

    Motors share the fan, the air and the supply, but the nameplate errors of different
    manufacturers are independent.
    """
    count = identified.rated.power.shape[-1]
    order = [
        np.random.default_rng([seed, 10, *motor.name.encode()]).permutation(count)
        for motor in motors
    ]
    return identified.picked((np.arange(len(order))[:, None], np.array(order)))


def _hours_on(grid, season: Season):
    """Return the hours of the season, distributed linearly among the grid temperatures."""
    hats = [np.interp(season.temp_outdoor, grid, hat) for hat in np.eye(len(grid))]
    return np.array(hats) @ season.hours


def _sum(hours, watts):
    """Return the energy use [kWh], shape (motors, samples).

    Parameters
    ----------
    watts
        Power [W], shape (temperatures, motors, samples).
    """
    return np.tensordot(hours, np.asarray(watts), axes=1) / 1000


def _more_compressor_power(each: list[MotorOnFan], grid, season: Season, seed):
    """Return the compressor power [W] in excess of the power at the old motor's airflow.

    The array has shape (temperatures, motors, samples).
    """
    unit = _unit(each[-1], seed)
    density = np.interp(grid, season.temp_outdoor, season.density)[:, None, None]
    ratio = np.stack([worked.speed_ratio[USUAL] for worked in each])
    at, full = grid[:, None, None], np.ones((1, 1, each[0].samples))
    flows = (np.clip(ratio, FLOW_RATIO.low, FLOW_RATIO.high), full)
    more, usual = (running(unit, at, density, flow).power for flow in flows)
    return more - usual


def _unit(worked: MotorOnFan, seed) -> Unit:
    """Return the job's unit, based on its heat rejection or the typical air temperature rise."""
    asked, site = worked.conditions, worked.job.site
    names = ("rise", "cooling")
    z = normal_draws(np.random.default_rng([seed, 6]), names, worked.samples)
    rise = site.coil_temperature_rise
    if rise is None and site.heat is not None:
        heat = uniform((site.heat.low, site.heat.high), z["rise"])
    else:
        rise = asked.temp_air - asked.temp_entering
        heat = rise * asked.flow * asked.density * coil.HEAT_CAPACITY
    cooling = uniform(COOLING_OVER_HEAT, z["cooling"]) * heat
    return Unit.usual(cooling, asked.flow, worked.samples, seed)


def _lives(each: list[MotorOnFan], at: int, grid, season: Season, service: Band, seed):
    """Return a motor's part lives [years], the parts with assumed lives, and its bearing life."""
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
    """Return the life ``alone`` updated with the observed life ``service``."""
    return service if alone is None else weighed(alone, service)


def _half(part: str, kind: str | None, years: Band | None) -> Band | None:
    """Return the median life [years]."""
    if years is None:
        return None
    life = half_life(np.maximum(years, LIFE.low), SURVIVORS[kind], SHAPES[part])
    return Band(*(float(end) for end in life))


def _years(hours: Band, season: Season) -> Band:
    return Band(*(min(end / season.total, LONGEST) for end in hours))


def _bearing_years(each: list[MotorOnFan], at: int, grid, season: Season) -> Band | None:
    """Return the bearing life [years] at each limit of its range.

    Each limit is calculated separately, because a bearing with a short life at one temperature has
    a short life at all temperatures.
    """
    hours = [bearing_life(worked, at).hours for worked in each]
    if any(one is None for one in hours):
        return None
    ends = np.log(np.array(hours)).T
    lives = [np.exp(np.interp(season.temp_outdoor, grid, end)) for end in ends]
    return Band(*(float(min(1 / (season.hours @ (1 / life)), LONGEST)) for life in lives))


def _capacitor_years(worked: MotorOnFan, at: int, season: Season, seed) -> Band | None:
    """Return the life [years] of a new capacitor.

    The capacitor has the voltage rating specified for the motor, or a higher standard rating if
    necessary.
    """
    rated = worked.motors[at].capacitor_voltage
    if rated is None:
        return None
    z = normal_draws(
        np.random.default_rng([seed, 7]), ("over", "class", "exponent", "halving"), worked.samples
    )
    voltage = worked.figures["capacitor_v"][USUAL, at]
    least = np.median(voltage) / circuit.OVERVOLTAGE
    fitted = min((v for v in CAPACITOR_VOLTAGES if v >= least), default=rated)
    temp = season.temp_outdoor[:, None] + uniform(CAPACITOR_OVER_OUTDOOR, z["over"])
    classes = np.log([circuit.LIFE_CLASSES[letter] for letter in CAPACITOR_CLASSES])
    share = np.exp(uniform(classes, z["class"])) / circuit.LIFE_CLASSES["B"]
    life = share * circuit.life(
        voltage,
        temp,
        max(rated, fitted),
        exponent=uniform(CAPACITOR_EXPONENT, z["exponent"]),
        halving_interval=uniform(CAPACITOR_HALVING, z["halving"]),
    )
    return Band.of(np.minimum(1 / (season.hours @ (1 / life)), LONGEST))
