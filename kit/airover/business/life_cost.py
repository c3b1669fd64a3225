"""Calculate the life-cycle cost of each motor that fits, as the present value of all expenses.

The expenses are the initial cost, energy and repairs. Each year's amounts are booked at the end of
the year in constant currency (without inflation) and discounted at a real rate. Motors share the
samples of all common inputs, so the difference between two motors is less uncertain than the cost
of either motor. Half of the variance of a life is specific to the manufacturer (engineering
judgment). A motor that moves more air than the old motor is credited with the savings in compressor
energy. The cost of a second visit is its probability times its price. Failures from water,
lightning or an unbalanced fan are not included.

With 10,000 samples, the sampling error is about 0.3 % in a mean and 0.5 % in a probability. The
assumptions have a much larger effect. The function `recounted` applies different prices without
simulating the year again.
"""

from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.business.costs import (
    NOT_DRAWN,
    PARTS,
    SHAPES,
    Repairs,
    Yearly,
    completed,
    life_at,
    noted,
    repairs,
    served,
    service,
    term,
    weibull_scale,
    yearly,
)
from airover.core.errors import InputError
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message
from airover.model.climate import Season, example_year
from airover.model.conditions import Input
from airover.records.company import CostBasis
from airover.records.job import Job
from airover.selection.answer import Answer
from airover.selection.check import ADAPT, MISSING
from airover.selection.rules import Candidate

SAMPLES = 10_000
SHORTEST, LONGEST = 0.02, 1000.0  # years, limits of a sampled life
MAKERS_PART = 0.5  # manufacturer's fraction of the variance of a life, engineering judgment
# Engineering judgment: hours of labor added by each modification, and the probability that missing
# data requires a second visit.
ADAPT_HOURS = {"frame": 0.25, "mounting": 0.25, "shaft length": 0.25, "body length": 0.25}
SECOND_VISIT_PER_FACT, MOST_SECOND_VISITS = 0.1, 0.5
BELLY_BAND = ("frame", "mounting")  # modifications that require a belly band


@dataclass(frozen=True)
class Plan:
    """Inputs to the cost calculation, with motors along the first axis and samples along the last.

    Attributes
    ----------
    horizon : int
        Number of years in the calculation.
    inputs : dict[str, ndarray]
        Samples by CostBasis name, shape (samples,).
    price, extra_hours, bands : ndarray
        Price, extra labor [h] and number of belly bands (0 or 1) for the installation, shape
        (motors,).
    open_share : ndarray
        Probability of a second visit, shape (motors,).
    warranty : ndarray
        Term [years], shape (motors,).
    energy, air : ndarray
        Motor energy and extra compressor energy [kWh per year], shape (motors, samples).
    life : ndarray
        Median lives [years], shape (motors, parts, samples).
    seed : int
        Random seed of the repairs.
    """

    horizon: int
    inputs: dict[str, np.ndarray]
    price: np.ndarray
    extra_hours: np.ndarray
    bands: np.ndarray
    open_share: np.ndarray
    warranty: np.ndarray
    energy: np.ndarray
    air: np.ndarray
    life: np.ndarray
    seed: int = 0


class Spent(NamedTuple):
    """Present values of the expenses by purpose.

    Attributes
    ----------
    parts : dict[str, ndarray]
        Amounts by purpose, shape (motors, samples).
    today : ndarray
        Amount paid up front, shape (motors, samples).
    repairs : Repairs
        Repairs in each year.
    """

    parts: dict[str, np.ndarray]
    today: np.ndarray
    repairs: Repairs

    @property
    def total(self):
        """Total present value, shape (motors, samples)."""
        return sum(self.parts.values())


@dataclass(frozen=True)
class LifeCost:
    """Life-cycle cost of one motor over ``horizon`` years, with arrays of shape (samples,).

    Attributes
    ----------
    candidate : Candidate
        Motor with its checks for the job.
    parts : dict[str, ndarray]
        Amounts by purpose.
    today : ndarray
        Amount paid up front.
    failures : dict[str, float]
        Mean number of failures by part.
    untroubled : float
        Fraction of samples without a failure.
    cover : float
        Warranty term [months].
    yearly : Yearly
        Simulated year of the motor.
    """

    candidate: Candidate
    currency: str
    horizon: int
    parts: dict[str, np.ndarray]
    today: np.ndarray
    failures: dict[str, float]
    untroubled: float
    cover: float
    yearly: Yearly

    @property
    def name(self) -> str:
        return self.candidate.case.motor.name

    @cached_property
    def total(self) -> np.ndarray:
        """Total present value, shape (samples,)."""
        return sum(self.parts.values())

    @cached_property
    def band(self) -> Band:
        return Band.of(self.total)

    @property
    def mean(self) -> float:
        """Expected cost, used to rank the motors."""
        return float(self.total.mean())

    @property
    def error(self) -> float:
        """Standard error of the mean from the finite number of samples."""
        return float(self.total.std() / np.sqrt(self.total.size))

    @property
    def energy(self) -> Band:
        """Motor energy use [kWh/year]."""
        return Band.of(self.yearly.energy)


@dataclass(frozen=True)
class LifeCosts:
    """Life-cycle costs, over ``horizon`` years, of the motors that fit, lowest expected cost first.

    Attributes
    ----------
    costs : tuple[LifeCost, ...]
        Life-cycle costs of the motors.
    basis : CostBasis
        Completed cost basis.
    inputs : tuple[Input, ...]
        Each input with its source.
    unpriced : tuple[str, ...]
        Names of the motors without a price.
    recommended : str
        Name of the motor that the answer lists first.
    season : Season
        Example year that was simulated.
    plan : Plan
        Inputs to the cost calculation.
    repairs : Repairs
        Repairs of each motor.
    """

    costs: tuple[LifeCost, ...]
    horizon: int
    basis: CostBasis
    inputs: tuple[Input, ...]
    unpriced: tuple[str, ...]
    recommended: str
    season: Season = field(repr=False)
    plan: Plan = field(repr=False)
    repairs: Repairs = field(repr=False)

    @property
    def currency(self) -> str:
        return self.costs[0].currency

    @property
    def assumed(self) -> tuple[Input, ...]:
        return tuple(one for one in self.inputs if one.origin == "assumed")

    def flows(self, number: int) -> np.ndarray:
        """Return the amounts for the motor ``costs[number]`` by year in which they are due.

        The shape is (years + 1, samples).
        """
        plan, price = self.plan, self.plan.inputs["energy_price"]
        yearly = plan.energy[number] * price + plan.air[number] * price
        mended = _mended(plan, self.repairs, number)
        return np.concatenate([self.costs[number].today[None], mended + yearly])


def life_cost(
    answered: Answer, basis: CostBasis | None = None, season: Season | None = None,
    samples: int = SAMPLES, seed: int = 0,
) -> LifeCosts:  # fmt: skip
    """Return the life-cycle cost of every motor that fits a job, with or without modifications.

    Parameters
    ----------
    basis : CostBasis or None, optional
        Cost inputs, by default from the job, with default values in empty fields.
    season : Season or None, optional
        Year to simulate, by default the example year with the design temperature of the job.

    Raises
    ------
    InputError
        If no priced motor fits, if the currency differs from the catalog's currency, or if a
        default amount is not available in that currency.
    """
    priced = [c for c in answered.fitting if c.case.motor.price is not None]
    unpriced = tuple(c.case.motor.name for c in answered.fitting if c not in priced)
    if not priced:
        given = Message(f"cost.refused.{'unpriced' if unpriced else 'none_fits'}")
        field = Message("cost.refused.motors")
        raise InputError(field, given, Message("cost.refused.priced"))
    currency = priced[0].case.motor.currency
    basis = answered.job.cost if basis is None else basis
    whole = completed(basis, currency)
    season = job_season(answered.job) if season is None else season
    motors = [c.case.motor for c in priced]
    years = yearly(
        answered.job, motors, season, service(whole), priced[0].case.conditions.samples, seed
    )
    names = answered.fitting[0].case.motor.name, unpriced
    return _counted((basis, whole), priced, years, season, (samples, seed), names)


def recounted(costed: LifeCosts, basis: CostBasis) -> LifeCosts:
    """Return the costs of ``costed`` with a different ``basis`` and the same simulated year.

    The motors are not simulated again. The repairs are calculated again only if a life or the
    horizon changes.

    Raises
    ------
    InputError
        If the currency differs from the catalog's currency, or if a default amount is not available
        in that currency.
    """
    whole = completed(basis, costed.currency)
    candidates = [cost.candidate for cost in costed.costs]
    years = [served(cost.yearly, service(whole)) for cost in costed.costs]
    drawn = costed.plan.life.shape[-1], costed.plan.seed
    names = costed.recommended, costed.unpriced
    return _counted((basis, whole), candidates, years, costed.season, drawn, names, costed)


def _counted(
    bases, candidates, years, season: Season, drawn, names, earlier: LifeCosts | None = None
) -> LifeCosts:
    """Return the life-cycle costs of ``candidates``.

    Parameters
    ----------
    bases
        Cost basis as entered and as completed.
    drawn
        Number of samples and seed.
    names
        Name of the recommended motor and names of the motors without a price.
    earlier : LifeCosts or None, optional
        Costs of the same candidates, in the same order, with another basis.
    """
    basis, whole = bases
    recommended, unpriced = names
    life = None if earlier is None else _same_lives(earlier, years)
    plan = _plan(whole, candidates, years, *drawn, life)
    spent = spend(plan, None if earlier is None else _same_repairs(earlier, plan))
    none = spent.repairs.none
    costs = [_one(at, c, years[at], plan, spent, none[at]) for at, c in enumerate(candidates)]
    order = sorted(range(len(costs)), key=lambda at: (costs[at].mean, costs[at].name))
    motors = ((candidates[at].case.motor, years[at]) for at in order)
    return LifeCosts(
        costs=tuple(costs[at] for at in order),
        horizon=whole.years,
        basis=whole,
        inputs=noted(basis, whole, season, motors),
        unpriced=unpriced,
        recommended=recommended,
        season=season,
        plan=chosen(plan, order),
        repairs=Repairs(*(one[order] for one in spent.repairs)),
    )


def _same_lives(earlier: LifeCosts, years) -> np.ndarray | None:
    """Return the sampled lives from the ``earlier`` costs if they also apply to ``years``."""
    before = [(cost.yearly.lives, cost.yearly.assumed) for cost in earlier.costs]
    now = [(year.lives, year.assumed) for year in years]
    return earlier.plan.life if before == now else None


def _same_repairs(earlier: LifeCosts, plan: Plan) -> Repairs | None:
    """Return the repairs from the ``earlier`` costs if they also apply to ``plan``."""
    before = earlier.plan
    same = before.horizon == plan.horizon and before.life is plan.life
    return earlier.repairs if same else None


def job_season(job: Job) -> Season:
    """Return the fictional example year, adjusted to the job's design-day temperature."""
    outdoor = job.site.outdoor_temperature
    return Season.of(example_year(), None if outdoor is None else outdoor.mid)


def cheaper(one: LifeCost, other: LifeCost) -> float:
    """Return the probability that ``one`` costs less than ``other``, from paired samples."""
    return float(np.mean(one.total < other.total) + np.mean(one.total == other.total) / 2)


def difference(one: LifeCost, other: LifeCost) -> Band:
    """Return, as a Band, the cost of ``one`` minus the cost of ``other`` in paired samples."""
    return Band.of(one.total - other.total)


def spend(plan: Plan, repaired: Repairs | None = None) -> Spent:
    """Return the present values of a ``plan`` by purpose.

    Parameters
    ----------
    repaired : Repairs or None, optional
        Repairs of a plan with the same lives, horizon, warranties and seed, or None to calculate
        the repairs. Prices do not affect the repairs.
    """
    given, done = plan.inputs, repaired
    if done is None:
        done = repairs(_scales(plan.life), _shapes(), plan.horizon, plan.warranty, plan.seed)
    first = _installation(plan)
    worth = (1 + given["discount_rate"]) ** -np.arange(1.0, plan.horizon + 1)[:, None]
    parts = {
        **first,
        "energy of the motor": plan.energy * given["energy_price"] * worth.sum(axis=0),
        "compressor's extra energy": plan.air * given["energy_price"] * worth.sum(axis=0),
        # One motor at a time, because an array for all motors takes longer than the sums.
        "repairs": np.stack([
            np.einsum("ys,ys->s", _mended(plan, done, motor), worth)
            for motor in range(len(plan.price))
        ]),
    }  # fmt: skip
    return Spent(parts, sum(first.values()), done)


def _mended(plan: Plan, done: Repairs, motor: int) -> np.ndarray:
    """Return the cost of the repairs of one motor by year, shape (years, samples)."""
    given = plan.inputs
    second = 1 + given["second_visits"]
    exchange = given["labour_rate"] * given["labour_hours"] + given["visit_price"] * second
    exchange = exchange + given["capacitor_price"] + given["lost_cooling"]
    alone = given["labour_rate"] * given["capacitor_hours"] + given["visit_price"]
    alone = alone + given["capacitor_price"] + given["lost_cooling"]
    mended = done.paid[motor] * (plan.price[motor] + exchange)
    mended += done.covered[motor] * exchange
    mended += done.capacitors[motor] * alone
    return mended


def _installation(plan: Plan) -> dict[str, np.ndarray]:
    """Return the amounts paid at installation by purpose, shape (motors, samples)."""
    given, ones = plan.inputs, np.ones_like(plan.energy)
    hours = given["labour_hours"] + plan.extra_hours[:, None]
    visits = 1 + plan.open_share[:, None]
    return {
        "motor": plan.price[:, None] * ones,
        "materials": given["capacitor_price"] + plan.bands[:, None] * given["belly_band_price"],
        "labour": given["labour_rate"] * hours,
        "visits": given["visit_price"] * visits,
    }


def chosen(plan: Plan, places) -> Plan:
    """Return the ``plan`` for the motors at the indices ``places``, in the same order."""
    names = ("price", "extra_hours", "bands", "open_share", "warranty", "energy", "air", "life")
    taken = {name: getattr(plan, name)[list(places)] for name in names}
    return Plan(horizon=plan.horizon, inputs=plan.inputs, seed=plan.seed, **taken)


def _plan(basis: CostBasis, candidates, years, samples, seed, life=None) -> Plan:
    """Return the Plan with sampled prices and fan load, and sampled lives unless ``life`` is given."""
    rng = np.random.default_rng([seed, 8])
    version = rng.permutation(np.arange(samples) % years[0].energy.size)
    motors = [c.case.motor for c in candidates]
    missing = np.array([len(c.having(MISSING)) for c in candidates])
    adapted = [{check.name for check in c.having(ADAPT)} for c in candidates]
    inputs = _drawn(basis, rng, samples)
    if life is None:
        life = _drawn_lives(motors, years, normal_draws(rng, PARTS, samples), seed)
    return Plan(
        horizon=basis.years,
        inputs=inputs,
        price=np.array([motor.price for motor in motors]),
        extra_hours=np.array([sum(ADAPT_HOURS.get(x, 0.0) for x in names) for names in adapted]),
        bands=np.array([float(not names.isdisjoint(BELLY_BAND)) for names in adapted]),
        open_share=np.minimum(SECOND_VISIT_PER_FACT * missing, MOST_SECOND_VISITS),
        warranty=np.array([(term(motor) or 0.0) / 12 for motor in motors]),
        energy=np.stack([year.energy[version] for year in years]),
        air=np.stack([year.air[version] for year in years]),
        life=life,
        seed=seed,
    )


def _drawn(basis: CostBasis, rng, samples) -> dict[str, np.ndarray]:
    amounts = {name: amount for name, amount in basis if name not in NOT_DRAWN}
    z = normal_draws(rng, amounts, samples)
    ends = {n: (0.0, 0.0) if a is None else (a.low, a.high) for n, a in amounts.items()}
    return {name: uniform(ends[name], z[name]) for name in ends}


def _drawn_lives(motors, years, shared, seed):
    """Return sampled lives [years], shape (motors, parts, samples).

    Motors share the deviates of the aging laws, but not the part of the variance that is specific
    to the manufacturer. Assumed lives do not share deviates.
    """
    deviates = []
    for motor, year in zip(motors, years, strict=True):
        rng = np.random.default_rng([seed, 9, *motor.name.encode()])
        own = normal_draws(rng, PARTS, shared[PARTS[0]].size)
        weights = {part: 1.0 if part in year.assumed else MAKERS_PART for part in PARTS}
        deviates.append(
            {p: (1 - w) ** 0.5 * shared[p] + w**0.5 * own[p] for p, w in weights.items()}
        )
    return lives([year.lives for year in years], deviates)


def lives(bands, deviates):
    """Return lives [years], shape (motors, parts, samples).

    Parameters
    ----------
    bands
        Dicts of bands by part, one for each motor.
    deviates
        Standard normal deviates with the same layout as ``bands``, each of shape (samples,).
    """
    pairs = zip(bands, deviates, strict=True)
    drawn = [[life_at(band[part], z[part]) for part in PARTS] for band, z in pairs]
    return np.clip(drawn, SHORTEST, LONGEST)


def _scales(life):
    return weibull_scale(life, 0.5, _shapes()[:, None])


def _shapes():
    return np.array([SHAPES[part] for part in PARTS])


def _one(at, candidate, year: Yearly, plan: Plan, spent: Spent, none) -> LifeCost:
    motor = candidate.case.motor
    return LifeCost(
        candidate=candidate,
        currency=motor.currency,
        horizon=plan.horizon,
        parts={name: value[at] for name, value in spent.parts.items()},
        today=spent.today[at],
        failures=dict(zip(PARTS, map(float, spent.repairs.causes[at]), strict=True)),
        untroubled=float(none.mean()),
        cover=12 * float(plan.warranty[at]),
        yearly=year,
    )
