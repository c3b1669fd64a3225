"""Load of a truck: motors, capacitors and belly bands within money and space.

A mixed-integer program, solved by HiGHS, over sampled loads of calls. In a load each unit on the
truck serves one call; so substitution, depth and shared capacitors are in one program::

    most   sum of y[call, motor]                           calls fixed at the first visit
    with   sum over motors of y[call, .] <= 1
           sum over a load's calls of y[., motor] <= x[motor]
           the same for the capacitors of one size, and for belly bands
           prices . x <= budget, volumes . x <= space      x whole

For whole x the y may be fractions: units and their capacitors are nested, so the y are flows, and
their sum is right; where belly bands are short it may be high by a fraction of a call in a load.
The program knows a load's later calls and is fitted to the calls sampled, so its share is too high
by some points. Use the shares of other calls (``TruckPlan.fresh``) and of `replay`.

`sampled_loads` samples the needs of one truck between two restockings. The number of calls follows
a negative binomial law fitted to the history, so heat waves are in it. Needs are sampled with a
gamma rate for each (the Bayesian bootstrap, Rubin 1981, from memory), and each takes one of its
samples, as found at the unit. Needs that the history never had are not in it. Prices of capacitors
and bands and packed volumes are engineering judgment. Motors without a price, or with a deciding
fact that the catalog leaves open, are never stocked.
"""

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from scipy import optimize, sparse, stats

from airover.core.errors import InputError, Range, check
from airover.core.message import Message, Quantity
from airover.records.calls import Calls
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.selection.cover import Matched

CALLS = 1500  # sampled for one plan
BOX_ROOM = 0.05  # m of packing around a motor
USUAL_VOLUME = 0.012  # m3 of a box where the catalog has no body size
MEAN = Range(0.0, 1e9, "")  # calls
# Beyond these a typing error is likelier than a shop.
ACCEPTED = {
    "budget": Range(1.0, 1e7, ""),
    "space": Range(0.001, 100.0, "m3"),
    "trucks": Range(1, 1000, ""),
    "days": Range(0.5, 366.0, ""),
    "lead_days": Range(0.1, 1000.0, ""),
}


SECONDS = 20.0  # for one program
PATIENCE = (1, 6, 36)  # times longer on a busy machine that found no plan in time
GAP = 2e-3  # of the calls fixed, at which HiGHS may stop
MOST_UNITS = 8  # of one motor on one truck


@dataclass(frozen=True)
class Terms:
    """Terms of a stock. Prices of parts are usual ones, no source.

    ``budget`` in the catalog's currency and ``space`` [m3] of one truck; ``trucks``; working
    ``days`` between two restockings; ``lead_days`` of the counter's supplier and the ``service``
    level kept there; prices and volumes [m3] of a capacitor and of a belly band.
    """

    budget: float = 2500.0
    space: float = 0.35
    trucks: int = 4
    days: float = 7.0
    lead_days: float = 10.0
    service: float = 0.95
    capacitor_price: float = 12.0
    band_price: float = 9.0
    capacitor_volume: float = 0.0006
    band_volume: float = 0.0010

    def __post_init__(self):
        for name, accepted in ACCEPTED.items():
            if not accepted.low <= (value := getattr(self, name)) <= accepted.high:
                raise InputError(name, f"{value:g}", accepted, accepted.unit)
        if not 0 < self.service < 1:
            raise InputError("service", f"{self.service:g}", Message("stock.accepts.share"))


class Goods(NamedTuple):
    """Goods that can be stocked: motors by number, then capacitors by size, then belly bands.

    ``price`` and ``volume`` [m3] are those of one unit; ``capacitor`` (motors,) is the place
    among ``sizes`` [F]; ``motor`` the numbers in the catalog.
    """

    motor: np.ndarray
    capacitor: np.ndarray
    sizes: np.ndarray
    price: np.ndarray
    volume: np.ndarray

    @property
    def motors(self) -> int:
        return len(self.motor)


class TruckLoads(NamedTuple):
    """Sampled calls in the order of their loads: the need of each and the motors that cover it.

    ``fits`` and ``banded`` are (calls, motors of the goods); ``load`` (calls,) ascends from 0,
    and there are ``count`` loads, empty ones too.
    """

    need: np.ndarray
    fits: np.ndarray
    banded: np.ndarray
    load: np.ndarray
    count: int


def goods_of(matched: Matched, terms: Terms) -> Goods:
    """Return the motors that cover any need and have a price and a capacitor size, and their parts.

    Raises InputError when there is none.
    """
    known = [m.price is not None and m.capacitor is not None for m in matched.motors]
    motor = np.flatnonzero(matched.passes.any(axis=(0, 2)) & known)
    if not len(motor):
        raise InputError("calls", Message("stock.given.no_motor"), Message("stock.accepts.others"))
    chosen = [matched.motors[at] for at in motor]
    sizes, capacitor = np.unique([m.capacitor for m in chosen], return_inverse=True)
    parts = len(sizes)
    price = [m.price for m in chosen] + [terms.capacitor_price] * parts + [terms.band_price]
    volume = [_box(m) for m in chosen] + [terms.capacitor_volume] * parts + [terms.band_volume]
    return Goods(motor, capacitor, sizes, np.array(price), np.array(volume))


def calls_in_a_load(calls: Calls, terms: Terms):
    """Law of the number of calls of one truck between two restockings; scipy.stats.

    The history's ``calls`` are counted in stretches of ``terms.days`` and shared out to the trucks
    at random, which keeps the mean's share of the variance beyond Poisson.
    """
    day = (calls.days - calls.days.min()).astype(int)
    stretches = int(np.ceil((day.max() + 1) / terms.days))
    counts = np.bincount((day // terms.days).astype(int), minlength=stretches)
    share = 1 / terms.trucks
    beyond = max(np.var(counts, ddof=1) - counts.mean(), 0.0) if stretches > 1 else 0.0
    mean = counts.mean() * share
    return overdispersed(mean, mean + beyond * share**2)


def overdispersed(mean: float, variance: float):
    """The law of counts with that ``mean`` and ``variance``: negative binomial, else Poisson.

    Raises InputError for a mean below 0.
    """
    mean = float(check("mean", mean, MEAN))
    if variance <= mean * (1 + 1e-9) or mean == 0:
        return stats.poisson(mean)
    return stats.nbinom(mean**2 / (variance - mean), mean / variance)


def sampled_needs(calls: Calls, how_many: int, rng: np.random.Generator) -> np.ndarray:
    """Needs of ``how_many`` calls to come, (how_many,), by one sample of all rates."""
    weight = rng.gamma(np.maximum(calls.counts, 1e-12))
    return rng.choice(len(weight), how_many, p=weight / weight.sum())


def sampled_loads(
    calls: Calls, matched: Matched, goods: Goods, terms: Terms, seed=0, most=CALLS, rates=1
):
    """Loads with about ``most`` calls in all; the same ``seed`` gives the same.

    Their needs come by ``rates`` samples of all rates, each for as many calls: of a short history
    one sample alone may lie well beside the others.
    """
    rng = np.random.default_rng([seed, 3])
    law = calls_in_a_load(calls, terms)
    count = max(int(np.ceil(most / law.mean())), 1)
    sizes = law.rvs(count, random_state=rng)
    parts = np.array_split(np.arange(sizes.sum()), rates)
    need = np.concatenate([sampled_needs(calls, len(part), rng) for part in parts])
    sample = rng.integers(matched.passes.shape[2], size=len(need))
    fits = matched.passes[need, :, sample][:, goods.motor]
    banded = matched.banded[need][:, goods.motor] & fits
    return TruckLoads(need, fits, banded, np.repeat(np.arange(count), sizes), count)


@dataclass(frozen=True)
class TruckPlan:
    """Load of one truck.

    ``units`` (goods,) in the order of ``goods``; ``fixed`` is the share of the sampled calls that
    are fixed at the first visit, ``bound`` the highest share that any plan on these terms could
    reach there (proven by HiGHS); ``sold`` (motors of the goods,) are units used in a load;
    ``left`` (calls,) are the sampled calls that need a second visit; ``fresh`` is the share fixed
    of other calls than those that the plan was made from.
    """

    goods: Goods
    units: np.ndarray
    fixed: float
    bound: float
    sold: np.ndarray = field(repr=False)
    left: np.ndarray = field(repr=False)
    fresh: float | None = None

    @property
    def gap(self) -> float:
        """Distance that a plan may have from the best, as a share of all calls."""
        return max(self.bound - self.fixed, 0.0)

    @property
    def money(self) -> float:
        return float(self.goods.price @ self.units)

    @property
    def space(self) -> float:
        """Volume [m3]."""
        return float(self.goods.volume @ self.units)


def plan(
    loads: TruckLoads,
    goods: Goods,
    budget: float,
    space: float,
    allowed=None,
    seconds=SECONDS,
    gap=GAP,
):
    """Return the truck that fixes the most of ``loads`` within ``budget`` and ``space`` [m3].

    ``allowed`` (motors of the goods,) may leave motors out. HiGHS stops at a ``gap`` (a share of
    the calls fixed), or after ``seconds`` [s] with the best plan found and its gap; a slower
    machine may then find another, and searches longer where it found none. Raises ArithmeticError
    where it still finds none.
    """
    program = _Program.of(loads, goods, allowed)
    found = program.solve(goods, budget, space, seconds, gap)
    calls = max(len(loads.load), 1)
    units = np.rint(found.x[: len(goods.price)]).astype(int)
    served = np.clip(found.x[len(goods.price) :], 0, 1)  # HiGHS holds these to 1e-7 only
    sold = np.bincount(program.motor, served, goods.motors) / loads.count
    left = np.bincount(program.call, served, len(loads.load)) < 0.5
    bound = min(-found.mip_dual_bound / calls, 1.0)
    return TruckPlan(goods, units, float(-found.fun / calls), float(bound), sold, left)


def served(units, loads: TruckLoads, goods: Goods) -> float:
    """Share of the calls of ``loads`` that a truck with ``units`` (goods,) fixes."""
    program = _Program.of(loads, goods, None)._replace(most=np.asarray(units, dtype=float))
    found = program.solve(goods, np.inf, np.inf, SECONDS, GAP)
    return float(-found.fun / max(len(loads.load), 1))


def curve(
    loads: TruckLoads,
    fresh: TruckLoads,
    goods: Goods,
    budgets,
    space,
    allowed=None,
    seconds=SECONDS,
):
    """Plans for each of ``budgets``, tried on ``fresh`` loads; the rest as in ``plan``."""
    plans = (plan(loads, goods, budget, space, allowed, seconds) for budget in budgets)
    return tuple(replace(one, fresh=served(one.units, fresh, goods)) for one in plans)


def budgets_up_to(goods: Goods, budget: float, amounts: int = 7) -> np.ndarray:
    """Amounts of money from one motor with its capacitor to twice ``budget``, ``budget`` among
    them."""
    pair = goods.price[: goods.motors] + goods.price[goods.motors + goods.capacitor]
    one = min(float(np.median(pair)), budget / 2)
    below = np.geomspace(one, budget, amounts - 1)
    return np.append(below, 2 * budget)


class NextMotor(NamedTuple):
    """A motor to add to a plan: ``gain`` is the share of the sampled calls that it and its own
    capacitor would fix, at least; ``money`` for both; ``why`` names the calls."""

    motor: int
    gain: float
    money: float
    why: Message


def next_motors(
    planned: TruckPlan, loads: TruckLoads, needs: tuple[Job, ...], names, most: int = 5
):
    """The motors that fix most calls for their money beside a plan, best first.

    ``names`` are those of the goods' motors, ``needs`` as in `selection.cover.Matched`.
    """
    goods = planned.goods
    parts = goods.price[goods.motors + goods.capacitor]
    money = goods.price[: goods.motors] + parts
    useful = loads.fits & planned.left[:, None]
    found = []
    for motor in range(goods.motors):
        calls = np.flatnonzero(useful[:, motor])
        _, first = np.unique(loads.load[calls], return_index=True)  # a unit serves one in a load
        gain = len(first) / max(len(loads.load), 1)
        why = _why(names[motor], int(planned.units[motor]), [needs[at] for at in loads.need[calls]])
        found.append(NextMotor(motor, gain, float(money[motor]), why))
    found.sort(key=lambda one: (-one.gain / one.money, one.motor))
    return tuple(one for one in found[:most] if one.gain > 0)


def _box(motor: CatalogMotor) -> float:
    """Volume [m3] of a motor in its box."""
    if None in (motor.body_diameter, motor.body_length, motor.shaft_length):
        return USUAL_VOLUME
    side = motor.body_diameter + BOX_ROOM
    return side**2 * (motor.body_length + motor.shaft_length + BOX_ROOM)


class _Program(NamedTuple):
    """The program's rows: columns are the goods, then one for each call with a motor for it.

    ``call`` and ``motor`` (pairs,) are those of such a column.
    """

    rows: sparse.csr_array
    high: np.ndarray
    most: np.ndarray
    call: np.ndarray
    motor: np.ndarray

    @classmethod
    def of(cls, loads: TruckLoads, goods: Goods, allowed) -> "_Program":
        kept = np.ones(goods.motors, bool) if allowed is None else allowed
        call, motor = np.nonzero(loads.fits & kept)
        banded, load = loads.banded[call, motor], loads.load[call]
        size = goods.motors + goods.capacitor[motor]
        bands = np.full(banded.sum(), len(goods.price) - 1)
        pairs = np.arange(len(call))
        blocks = [
            _row_block(pairs, call, None, goods, len(call)),
            _row_block(pairs, load, motor, goods, len(call)),
            _row_block(pairs, load, size, goods, len(call)),
            _row_block(pairs[banded], load[banded], bands, goods, len(call)),
        ]
        rows, high = zip(*(block for block in blocks if block is not None))
        most = np.full(len(goods.price), np.inf)
        most[: goods.motors] = np.where(kept, MOST_UNITS, 0)
        return cls(sparse.vstack(rows, format="csr"), np.concatenate(high), most, call, motor)

    def solve(self, goods: Goods, budget: float, space: float, seconds: float, gap: float):
        pairs = len(self.motor)
        costs = np.zeros((2, len(goods.price) + pairs))
        costs[:, : len(goods.price)] = goods.price, goods.volume
        limits = [
            optimize.LinearConstraint(self.rows, -np.inf, self.high),
            optimize.LinearConstraint(costs, -np.inf, [budget, space]),
        ]
        for longer in PATIENCE:
            found = optimize.milp(
                np.concatenate([np.zeros(len(goods.price)), -np.ones(pairs)]),
                integrality=np.concatenate([np.ones(len(goods.price)), np.zeros(pairs)]),
                bounds=optimize.Bounds(0, np.concatenate([self.most, np.ones(pairs)])),
                constraints=limits,
                options={"time_limit": longer * seconds, "mip_rel_gap": gap},
            )
            if found.x is not None:
                return found
        raise ArithmeticError(f"HiGHS found no plan: {found.message}")


def _row_block(pairs, group, good, goods: Goods, count: int):
    """Rows "sum of the pairs of one group <= units of a good", or <= 1 where ``good`` is None."""
    if not len(pairs):
        return None
    keys = group if good is None else group * len(goods.price) + good
    distinct, row = np.unique(keys, return_inverse=True)
    column, one = len(goods.price) + pairs, np.ones(len(pairs))
    high = np.ones(len(distinct)) if good is None else np.zeros(len(distinct))
    if good is not None:
        row = np.concatenate([row, np.arange(len(distinct))])
        column = np.concatenate([column, distinct % len(goods.price)])
        one = np.concatenate([one, -np.ones(len(distinct))])
    shape = len(distinct), len(goods.price) + count
    return sparse.csr_array((one, (row, column)), shape=shape), high


def _why(name: str, carried: int, jobs: list[Job]) -> Message:
    if not jobs:
        return Message("stock.next.nothing", motor=name)
    common = tuple(one for one, _ in Counter(map(_nameplate, jobs)).most_common(2))
    key = "more" if carried else "first"
    return Message(f"stock.next.{key}", motor=name, carried=carried, plates=common)


def _nameplate(job: Job) -> Message:
    """The nameplate of a call in a few words."""
    plate = job.nameplate
    power = Message("stock.next.no_power")
    if plate.power is not None:
        power = Quantity(plate.power.mid, "power")
    values = {"poles": plate.pole_count or "?", "power": power}
    if plate.voltage is None:
        return Message("stock.next.plate", **values)
    return Message("stock.next.plate_volts", volts=plate.voltage, **values)
