"""What a truck carries: motors, capacitors and belly bands within money and space.

A mixed-integer programme, solved by HiGHS, over sampled loads of calls (`truck_loads`). In a load
each unit on the truck serves one call; so substitution, depth and shared capacitors are in one
programme, without further formulas:

    most   sum of y[call, motor]                           calls fixed at the first visit
    with   sum over motors of y[call, .] <= 1
           sum over a load's calls of y[., motor] <= x[motor]
           the same for the capacitors of one size, and for belly bands
           prices . x <= budget, volumes . x <= space      x whole

For whole x the y may be fractions: units and their capacitors are nested, so the y are flows, and
their sum is right; where belly bands are short it may be high by a fraction of a call in a load.
The programme hands out units knowing a load's later calls, and is fitted to the calls sampled, so
its share is rather too high: `replay` does without that.
"""

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from scipy import optimize, sparse

from airover.message import Message, Quantity
from airover.records import Job
from airover.stock.truck_loads import Goods, TruckLoads

SECONDS = 20.0  # for one programme
GAP = 2e-3  # of the calls fixed, at which HiGHS may stop
MOST_UNITS = 8  # of one motor on one truck


@dataclass(frozen=True)
class TruckPlan:
    """What one truck carries.

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
        """How far from the best a plan may be, as a share of all calls."""
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
    """The truck that fixes most of ``loads`` within ``budget`` and ``space`` [m3].

    ``allowed`` (motors of the goods,) may leave motors out. HiGHS stops at a ``gap`` (a share of
    the calls fixed), or after ``seconds`` [s] with the best plan found and its gap; a slower
    machine may then find another.
    Raises ArithmeticError when HiGHS finds none.
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


class _Program(NamedTuple):
    """The programme's rows: columns are the goods, then one for each call with a motor for it.

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
        found = optimize.milp(
            np.concatenate([np.zeros(len(goods.price)), -np.ones(pairs)]),
            integrality=np.concatenate([np.ones(len(goods.price)), np.zeros(pairs)]),
            bounds=optimize.Bounds(0, np.concatenate([self.most, np.ones(pairs)])),
            constraints=limits,
            options={"time_limit": seconds, "mip_rel_gap": gap},
        )
        if found.x is None:
            raise ArithmeticError(f"HiGHS found no plan: {found.message}")
        return found


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
    capacitor would fix, at least; ``money`` for both; ``why`` says for which calls."""

    motor: int
    gain: float
    money: float
    why: Message


def next_motors(
    planned: TruckPlan, loads: TruckLoads, needs: tuple[Job, ...], names, most: int = 5
):
    """The motors that fix most calls for their money beside a plan, best first.

    ``names`` are those of the goods' motors, ``needs`` as in `match.Matched`.
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
    return Message("stock.next.plate_volts", volts=plate.voltage.text, **values)
