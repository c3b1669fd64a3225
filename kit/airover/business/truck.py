"""Optimize a truck load of motors, capacitors and belly bands for a given budget and volume.

The load is the solution of a mixed-integer program over sampled calls, solved with HiGHS.
Each unit on the truck serves one call in a load, so a single program covers substitution,
quantities and shared capacitors::

    most   sum of y[call, motor]                           calls completed on the first visit
    with   sum over motors of y[call, .] <= 1
           sum over a load's calls of y[., motor] <= x[motor]
           the same for the capacitors of one size, and for belly bands
           prices . x <= budget, volumes . x <= space      x whole

As long as x is an integer, y may be fractional. The constraints on motors and on their capacitors
are nested, so the values of y are network flows, and the sum of y is exact. If belly bands run
short, the sum can be too high by a fraction of a call per load. The program knows all calls in a
load in advance and is fitted to the sampled calls, so its fraction of completed calls is several
percentage points too high. Use the fraction for other calls (``TruckPlan.fresh``) or the fraction
from the replay.

The function `sampled_loads` samples the needs of one truck between restockings. The number of calls
follows a negative binomial distribution fitted to the history, which includes heat waves. Needs are
sampled with a gamma-distributed rate for each need (the Bayesian bootstrap, Rubin 1981, cited from
memory). Each call uses one sample of the missing facts of its need. Needs that never occur in the
history are not included. Capacitor and band prices and packed volumes are based on engineering
judgment. Motors that have no price or lack a fact required for a decision are never stocked.
"""

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
import scipy  # loads scipy.stats on first use, which takes 0.5 s
from scipy import optimize, sparse

from airover.core.errors import InputError, Range, check
from airover.core.message import Message, Quantity
from airover.model.conditions import completed
from airover.records.calls import Calls
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.selection.cover import Matched

CALLS = 1500  # calls sampled for one plan
BOX_ROOM = 0.05  # m, packing clearance around a motor
USUAL_VOLUME = 0.012  # m3, box volume if the catalog does not list the body size
MEAN = Range(0.0, 1e9, "")  # calls
# Values outside these ranges are more likely to be typing errors than actual shop data.
ACCEPTED = {
    "budget": Range(1.0, 1e7, ""),
    "space": Range(0.001, 100.0, "m3"),
    "trucks": Range(1, 1000, ""),
    "days": Range(0.5, 366.0, ""),
    "lead_days": Range(0.1, 1000.0, ""),
    "second_visit": Range(0.0, 1e6, ""),
    "visit_hours": Range(0.0, 100.0, "h"),
}

GAP = 1e-2  # HiGHS optimality gap as a fraction of completed calls, below the forecast error
NODES = 25  # branch-and-bound nodes after which HiGHS stops
OPTIMAL = 0  # status of HiGHS for a plan within the gap
MOST_UNITS = 8  # maximum number of units of one motor on a truck


@dataclass(frozen=True)
class Terms:
    """Conditions for a stock plan. The part prices are typical values without a published source.

    Attributes
    ----------
    budget : float
        Budget for one truck in the currency of the catalog.
    space : float
        Volume available on one truck [m3].
    trucks : int
        Number of trucks.
    days : float
        Working days between restockings.
    lead_days : float
        Lead time of the supplier [days].
    service : float
        Service level of the counter, as a fraction.
    capacitor_price, band_price : float
        Prices of one capacitor and one belly band.
    capacitor_volume, band_volume : float
        Volumes of one capacitor and one belly band [m3].
    second_visit : float
        Cost of a second visit to the shop, in the currency of the catalog (engineering judgment).
    visit_hours : float
        Working time for a second visit [h] (engineering judgment).
    counter : bool
        False if the shop keeps no motors at a counter, so that the supplier restocks the trucks.
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
    second_visit: float = 180.0
    visit_hours: float = 2.5
    counter: bool = True

    def __post_init__(self):
        for name, accepted in ACCEPTED.items():
            if not accepted.low <= (value := getattr(self, name)) <= accepted.high:
                raise InputError(name, f"{value:g}", accepted, accepted.unit)
        if not 0 < self.service < 1:
            raise InputError("service", f"{self.service:g}", Message("stock.accepts.share"))

    @property
    def load_days(self) -> float:
        """Number of working days that a truck load must last.

        Without a counter, the units used are ordered at the next restocking and arrive after the
        lead time.
        """
        return self.days if self.counter else self.days + self.lead_days


class Goods(NamedTuple):
    """Items that can be stocked, in this order: motors, capacitors by size, belly bands.

    Attributes
    ----------
    motor : ndarray
        Index of each motor in the catalog.
    capacitor : ndarray
        Index of each motor's capacitor in ``sizes``, shape (motors,).
    sizes : ndarray
        Capacitances [F].
    price, volume : ndarray
        Price and volume [m3] of one unit of each item.
    """

    motor: np.ndarray
    capacitor: np.ndarray
    sizes: np.ndarray
    price: np.ndarray
    volume: np.ndarray

    @property
    def motors(self) -> int:
        return len(self.motor)

    def with_parts(self, motors, bands: int) -> np.ndarray:
        """Return the units of all goods: ``motors`` with one capacitor each, and ``bands``."""
        capacitors = np.bincount(self.capacitor, motors, len(self.sizes))
        return np.concatenate([motors, capacitors, [bands]]).astype(int)


class TruckLoads(NamedTuple):
    """Sampled calls in the order of the loads.

    Attributes
    ----------
    need : ndarray
        Index of the need for each call.
    fits, banded : ndarray
        True if a motor fits a call (``fits``) or needs a belly band (``banded``), shape (calls,
        stocked motors).
    load : ndarray
        Load number of each call in ascending order from 0, shape (calls,).
    count : int
        Number of loads, including empty loads.
    """

    need: np.ndarray
    fits: np.ndarray
    banded: np.ndarray
    load: np.ndarray
    count: int


def goods_of(matched: Matched, terms: Terms) -> Goods:
    """Return the Goods that contain the usable motors and their parts.

    A motor is usable if it covers at least one need and has a price and a capacitor size.

    Raises
    ------
    InputError
        If no motor is usable.
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
    """Return the scipy.stats distribution for the calls of one truck between restockings.

    The ``calls`` in the history are counted in intervals of ``terms.days`` and assigned to the
    trucks at random. The variance for each truck includes the excess over a Poisson distribution.
    """
    day = (calls.days - calls.days.min()).astype(int)
    stretches = int(np.ceil((day.max() + 1) / terms.days))
    counts = np.bincount((day // terms.days).astype(int), minlength=stretches)
    share = 1 / terms.trucks
    beyond = max(np.var(counts, ddof=1) - counts.mean(), 0.0) if stretches > 1 else 0.0
    mean = counts.mean() * share
    return overdispersed(mean, mean + beyond * share**2)


def overdispersed(mean: float, variance: float):
    """Return the distribution of counts with this ``mean`` and ``variance``.

    The distribution is negative binomial if the variance is greater than the mean, and Poisson
    otherwise.

    Raises
    ------
    InputError
        If the mean is below 0.
    """
    mean = float(check("mean", mean, MEAN))
    if variance <= mean * (1 + 1e-9) or mean == 0:
        return scipy.stats.poisson(mean)
    return scipy.stats.nbinom(mean**2 / (variance - mean), mean / variance)


def sampled_needs(calls: Calls, how_many: int, rng: np.random.Generator) -> np.ndarray:
    """Return the needs of ``how_many`` future calls, based on one sample of all rates."""
    weight = rng.gamma(np.maximum(calls.counts * calls.evidence, 1e-12))
    return rng.choice(len(weight), how_many, p=weight / weight.sum())


def sampled_loads(
    calls: Calls, matched: Matched, goods: Goods, terms: Terms, seed=0, most=CALLS, rates=1
):
    """Return sampled loads with a total of about ``most`` calls.

    A load contains the calls of one truck in ``terms.load_days``. The same ``seed`` gives the same
    loads. The rates are drawn ``rates`` times, and each draw gives the same number of calls. If the
    history is short, a single draw may differ considerably from the average.
    """
    rng = np.random.default_rng([seed, 3])
    law = calls_in_a_load(calls, replace(terms, days=terms.load_days))
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
    """Plan for the load of one truck.

    Attributes
    ----------
    units : ndarray
        Units of each item, in the order of ``goods``, shape (goods,).
    fixed : float
        Fraction of the sampled calls completed on the first visit.
    bound : float
        Upper bound on the fraction for any plan under these conditions (proven by HiGHS).
    sold : ndarray
        Number of units used per load, shape (stocked motors,).
    left : ndarray
        True for sampled calls that need a second visit, shape (calls,).
    fresh : float or None
        Fraction of calls completed, for calls that were not used to make the plan.
    budget : float
        Budget of the plan, or 0 for a given load.
    """

    goods: Goods
    units: np.ndarray
    fixed: float
    bound: float
    sold: np.ndarray = field(repr=False)
    left: np.ndarray = field(repr=False)
    fresh: float | None = None
    budget: float = 0.0

    @property
    def gap(self) -> float:
        """Maximum distance from the best possible plan, as a fraction of all calls."""
        return max(self.bound - self.fixed, 0.0)

    @property
    def carried(self) -> np.ndarray:
        """Units of each motor, shape (stocked motors,)."""
        return self.units[: self.goods.motors]

    @property
    def money(self) -> float:
        return float(self.goods.price @ self.units)

    @property
    def space(self) -> float:
        """Volume of the load [m3]."""
        return float(self.goods.volume @ self.units)


def plan(
    loads: TruckLoads,
    goods: Goods,
    budget: float,
    space: float,
    allowed=None,
    gap=GAP,
):
    """Return the load that completes the most calls within ``budget`` and ``space`` [m3].

    HiGHS stops at a ``gap`` (a fraction of the completed calls), or after NODES nodes with the best
    plan found and its gap. It has no time limit, so that every computer finds the same plan. A plan
    that was stopped early is compared with the load from `greedy_load`, and the better of the two
    is returned.

    Parameters
    ----------
    allowed : optional
        Boolean array that is False for motors to exclude, shape (stocked motors,).

    Raises
    ------
    ArithmeticError
        If HiGHS finds no plan.
    """
    program = _Program.of(loads, goods, allowed)
    found = program.solve(goods, budget, space, gap)
    planned = replace(_planned(found, program, loads, goods), budget=float(budget))
    if found.status == OPTIMAL:
        return planned
    other = loaded(greedy_load(loads, goods, budget, space, allowed), loads, goods)
    if other.fixed <= planned.fixed:
        return planned
    return replace(other, budget=float(budget), bound=planned.bound)


def greedy_load(loads: TruckLoads, goods: Goods, budget: float, space: float, allowed=None):
    """Return a load built up from the motors that complete the most calls for their price.

    Each motor is added with its capacitor. Calls that need a belly band are ignored. In each truck
    load, a motor is used for the call with the fewest suitable motors. The result contains the
    units of each item, shape (goods,).
    """
    kept = np.ones(goods.motors, bool) if allowed is None else allowed
    parts = goods.motors + goods.capacitor
    price, volume = (one[: goods.motors] + one[parts] for one in (goods.price, goods.volume))
    open_to = loads.fits & ~loads.banded & kept
    order = np.lexsort((open_to.sum(axis=1), loads.load))
    open_to, load = open_to[order], loads.load[order]
    begins = np.flatnonzero(np.diff(load, prepend=-1))
    motors = np.zeros(goods.motors, int)
    while len(load):
        gain = np.logical_or.reduceat(open_to, begins, axis=0).sum(axis=0) / price
        fits = (price @ motors + price <= budget) & (volume @ motors + volume <= space)
        gain[~fits | (motors >= MOST_UNITS)] = 0
        best = int(np.argmax(gain))
        if not gain[best]:
            break
        rows = np.flatnonzero(open_to[:, best])
        open_to[rows[np.unique(load[rows], return_index=True)[1]]] = False
        motors[best] += 1
    return goods.with_parts(motors, 0)


def loaded(units, loads: TruckLoads, goods: Goods) -> TruckPlan:
    """Return the plan that consists of the given ``units``, shape (goods,)."""
    units = np.asarray(units, dtype=float)
    carried = units[: goods.motors] > 0
    if not (loads.fits & carried).any():
        none, calls = np.zeros(goods.motors), np.ones(len(loads.load), bool)
        return TruckPlan(goods, units.astype(int), 0.0, 0.0, none, calls)
    program = _Program.of(loads, goods, carried)._replace(most=units)
    found = program.solve(goods, np.inf, np.inf, GAP, least=units)
    return replace(_planned(found, program, loads, goods), units=np.asarray(units, dtype=int))


def served(units, loads: TruckLoads, goods: Goods) -> float:
    """Return the fraction of calls in ``loads`` completed with ``units``, shape (goods,)."""
    return loaded(units, loads, goods).fixed


def _planned(found, program: "_Program", loads: TruckLoads, goods: Goods) -> TruckPlan:
    """Return the plan in a solution of the mixed-integer program."""
    calls = max(len(loads.load), 1)
    units = np.rint(found.x[: len(goods.price)]).astype(int)
    served = np.clip(found.x[len(goods.price) :], 0, 1)  # HiGHS satisfies limits to within 1e-7
    sold = np.bincount(program.motor, served, goods.motors) / loads.count
    left = np.bincount(program.call, served, len(loads.load)) < 0.5
    bound = min(-found.mip_dual_bound / calls, 1.0)
    return TruckPlan(goods, units, float(-found.fun / calls), float(bound), sold, left)


def curve(
    loads: TruckLoads,
    fresh: TruckLoads,
    goods: Goods,
    budgets,
    space,
    allowed=None,
):
    """Return a plan for each of ``budgets``, evaluated on ``fresh`` loads.

    The other parameters are as in ``plan``.
    """
    plans = []
    for budget in budgets:
        one = plan(loads, goods, budget, space, allowed)
        if plans and plans[-1].fixed > one.fixed and plans[-1].money <= budget:
            one = replace(plans[-1], budget=float(budget), bound=one.bound)
        plans.append(one)
    return tuple(replace(one, fresh=served(one.units, fresh, goods)) for one in plans)


def budgets_up_to(goods: Goods, budget: float, amounts: int = 7) -> np.ndarray:
    """Return budgets from the price of one motor and its capacitor to twice ``budget``.

    The result includes ``budget``.
    """
    pair = goods.price[: goods.motors] + goods.price[goods.motors + goods.capacitor]
    one = min(float(np.median(pair)), budget / 2)
    below = np.geomspace(one, budget, amounts - 1)
    return np.append(below, 2 * budget)


class NextMotor(NamedTuple):
    """Motor to add to a plan.

    Attributes
    ----------
    motor : int
        Index of the motor in ``goods``.
    gain : float
        Minimum fraction of the sampled calls that the motor and its capacitor would complete.
    money : float
        Price of the motor and its capacitor.
    why : Message
        Description of the calls that the motor completes.
    """

    motor: int
    gain: float
    money: float
    why: Message


def next_motors(
    planned: TruckPlan, loads: TruckLoads, needs: tuple[Job, ...], names, most: int = 5
):
    """Return the motors that complete the most additional calls for their cost, best first.

    Parameters
    ----------
    needs : tuple[Job, ...]
        Jobs that represent the needs, as in `selection.cover.Matched`.
    names
        Names of the motors in ``goods``.
    """
    goods = planned.goods
    parts = goods.price[goods.motors + goods.capacitor]
    money = goods.price[: goods.motors] + parts
    useful = loads.fits & planned.left[:, None]
    found = []
    for motor in range(goods.motors):
        calls = np.flatnonzero(useful[:, motor])
        _, first = np.unique(loads.load[calls], return_index=True)  # one call per unit and load
        gain = len(first) / max(len(loads.load), 1)
        why = _why(names[motor], int(planned.units[motor]), [needs[at] for at in loads.need[calls]])
        found.append(NextMotor(motor, gain, float(money[motor]), why))
    found.sort(key=lambda one: (-one.gain / one.money, one.motor))
    return tuple(one for one in found[:most] if one.gain > 0)


def _box(motor: CatalogMotor) -> float:
    """Return the volume of a motor in its box [m3]."""
    if None in (motor.body_diameter, motor.body_length, motor.shaft_length):
        return USUAL_VOLUME
    side = motor.body_diameter + BOX_ROOM
    return side**2 * (motor.body_length + motor.shaft_length + BOX_ROOM)


class _Program(NamedTuple):
    """Constraints of the mixed-integer program.

    The columns are the goods, followed by one column for each call-motor pair.

    Attributes
    ----------
    call, motor : ndarray
        Call and motor of each pair, shape (pairs,).
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

    def solve(self, goods: Goods, budget: float, space: float, gap: float, least=None):
        """Return the solution from HiGHS. ``least`` is the minimum number of units of each item."""
        least = np.zeros(len(goods.price)) if least is None else least
        pairs = len(self.motor)
        costs = np.zeros((2, len(goods.price) + pairs))
        costs[:, : len(goods.price)] = goods.price, goods.volume
        limits = [
            optimize.LinearConstraint(self.rows, -np.inf, self.high),
            optimize.LinearConstraint(costs, -np.inf, [budget, space]),
        ]
        found = optimize.milp(
            np.concatenate([np.zeros(len(goods.price)), -np.ones(pairs)]),
            integrality=np.concatenate([np.ones(len(goods.price)), np.zeros(pairs)]),
            bounds=optimize.Bounds(
                np.concatenate([least, np.zeros(pairs)]),
                np.concatenate([self.most, np.ones(pairs)]),
            ),
            constraints=limits,
            options={"node_limit": NODES, "mip_rel_gap": gap},
        )
        if found.x is None:
            raise ArithmeticError(f"HiGHS found no plan: {found.message}")
        return found


def _row_block(pairs, group, good, goods: Goods, count: int):
    """Return the constraints "sum over a group of pairs <= units of an item"."""
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
    """Return a short description of a call's nameplate."""
    plate = job.nameplate
    power = Message("stock.next.no_power")
    if plate.power is not None:
        power = Quantity(plate.power.mid, "power")
    read = plate.poles is not None or plate.speed_rpm is not None
    poles = completed(job).pole_count if read else None
    motors = Message("stock.next.poles", poles=poles) if poles else Message("stock.next.no_poles")
    values = {"motors": motors, "power": power}
    if plate.voltage is None:
        return Message("stock.next.plate", **values)
    return Message("stock.next.plate_volts", volts=plate.voltage, **values)
