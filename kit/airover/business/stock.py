"""Plan truck and counter stock from a call history, and replay calls to verify the plan.

The function `study` makes one thorough plan. The class `Live` makes repeated plans for different
budgets or trucks from one call history, which is matched only once (`Ground`). It uses fewer calls,
so a plan takes one to two seconds, and it stores the results for reuse. Because the frequency of
each need is uncertain when the history is short, the calls are generated from 20 samples of all
rates.

The replay simulates a season day by day. A truck that carries a suitable motor, its capacitor and,
if needed, a belly band completes the call on the first visit. If it carries several suitable
motors, it uses the motor that covers the fewest needs, to save the more versatile motors. Later
calls are not known in advance. Every ``terms.days`` days, the counter restocks the trucks one at a
time until its stock runs out. The counter reorders each unit it issues, and orders arrive after the
lead time. If a call is not completed on the first visit, the counter supplies the motor if it is in
stock; otherwise, the supplier ships it. Without a counter, each truck orders the units it has used
every ``terms.days`` days, and they arrive on the truck after the lead time. Calls are assigned to
trucks at random, every day is a working day, and missing facts become known once the technician is
at the unit.

A call whose nameplate data are too sparse to calculate the fan load is replaced by a call with
similar data (`with_similar`). A history of less than two years is also accepted. In both cases, the
counts have less weight as evidence (``Calls.evidence``), so the ranges are wider.

The model does not include trends, seasonal changes in truck loads, travel, several trucks on one
call, trucks of different sizes, returns, or needs that never occur in the history.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.business.counter import DAYS_A_YEAR, CounterStock, counter_stock
from airover.business.truck import (
    CALLS,
    Goods,
    NextMotor,
    Terms,
    TruckLoads,
    TruckPlan,
    budgets_up_to,
    calls_in_a_load,
    curve,
    goods_of,
    next_motors,
    plan,
    sampled_loads,
    sampled_needs,
    served,
)
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.steps import Progress, finished
from airover.records.calls import Calls
from airover.records.scope import check_scope
from airover.records.tables import LeftOut, left_out_of
from airover.selection.cover import Matched, matching

CURVE_CALLS = 700  # calls sampled for each plan on a curve
# Values for a plan that takes a second or two.
PLANNED, TRIED = 400, 1500  # sampled calls
RATES = 20  # samples of the frequency of each need
AMOUNTS = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0)  # fractions of the maximum budget on a curve
KEPT = 60  # maximum number of plans kept
REPEATS = 40
YEAR = 365  # days
LEAST_DAYS = 28  # minimum length of a history
HELD_OUT = 3  # a history of less than two years is divided by this for the test
# Number of catalog motors that count as evidence if a value is filled from the catalog
# (engineering judgment). Fewer motors make the ranges wider.
GUESSES = 6.0
COMPARED = ("voltage", "power", "speed_rpm", "current", "frame")  # to find a similar call


class Arrivals(NamedTuple):
    """Service calls of a season in chronological order.

    Attributes
    ----------
    day : ndarray
        Day of each call, counted from 0.
    truck : ndarray
        Truck number of each call.
    need : ndarray
        Index of each call's need.
    sample : ndarray
        Sample index of the missing facts for each call.
    """

    day: np.ndarray
    truck: np.ndarray
    need: np.ndarray
    sample: np.ndarray


class SeasonEnds(NamedTuple):
    """Outcomes of a season's calls, as six fractions that add up to 1, and the counter fill rate.

    Attributes
    ----------
    first : float
        Fraction of the calls completed on the first visit.
    short : float
        Fraction for which the truck normally carries a motor that fits, but the motor or its parts
        had been used up.
    counter : float
        Fraction for which the truck carries no motor that fits, but the counter has one for a
        second visit.
    ordered : float
        Fraction for which no motor that fits is in stock, so one is ordered from the supplier.
    none : float
        Fraction for which no catalog motor fits.
    outside : float
        Fraction that the method does not cover, such as calls for three-phase motors.
    refilled : float
        Fraction of the units needed for restocking that the counter had in stock.
    """

    first: float
    short: float
    counter: float
    ordered: float
    none: float
    outside: float
    refilled: float


def sampled_season(calls: Calls, matched: Matched, terms: Terms, rng, days: int = 365) -> Arrivals:
    """Return a random season with the same statistics as the history.

    The number of calls per interval has the same variance as in the history, and the needs follow
    sampled rates.
    """
    law = calls_in_a_load(calls, terms)
    stretches = int(np.ceil(days / terms.days))
    counts = law.rvs((stretches, terms.trucks), random_state=rng).ravel()
    truck = np.repeat(np.tile(np.arange(terms.trucks), stretches), counts)
    begin = np.repeat(np.repeat(np.arange(stretches), terms.trucks), counts) * terms.days
    day = (begin + rng.random(len(begin)) * terms.days).astype(int)
    order = np.argsort(day, kind="stable")
    need = sampled_needs(calls, len(day), rng)
    return Arrivals(day[order], truck[order], need, _samples(matched, len(day), rng))


def _samples(matched: Matched, count: int, rng) -> np.ndarray:
    """Return a sample index for each call.

    If values were filled from the catalog, the samples have unequal weights in each season, because
    a wrong guess affects all calls in the season.
    """
    samples = matched.passes.shape[2]
    if not matched.guessed:
        return rng.integers(samples, size=count)
    weight = rng.dirichlet(np.full(samples, GUESSES / samples))
    return rng.choice(samples, count, p=weight)


def held_out_season(calls: Calls, matched: Matched, terms: Terms, rng) -> Arrivals:
    """Return the actual calls with their days and needs, but random trucks and samples."""
    order = np.argsort(calls.days, kind="stable")
    day = (calls.days[order] - calls.days.min()).astype(int)
    truck = rng.integers(terms.trucks, size=len(day))
    return Arrivals(day, truck, calls.need[order], _samples(matched, len(day), rng))


def run(
    arrivals: Arrivals, planned: TruckPlan, counter: CounterStock, matched: Matched, terms: Terms
):
    """Replay one season and return its SeasonEnds.

    Raises
    ------
    InputError
        If the season has no calls.
    """
    if not len(arrivals.day):
        raise InputError("calls", Message("error.calls.none"), Message("error.calls.row"))
    goods, stock = planned.goods, _Stock(planned, counter, terms)
    fits = matched.passes[arrivals.need, :, arrivals.sample][:, goods.motor]
    banded = matched.banded[arrivals.need][:, goods.motor]
    covered, outside = fits.any(axis=1), np.isin(arrivals.need, list(matched.refused))
    rank = matched.versatility[goods.motor]
    kept = np.flatnonzero((planned.carried > 0) | (counter.level[: goods.motors] > 0))
    kept = kept[np.argsort(rank[kept], kind="stable")]
    ends = dict.fromkeys(SeasonEnds._fields[:-1], 0)
    due = terms.days
    for call, (day, truck) in enumerate(zip(arrivals.day, arrivals.truck, strict=True)):
        while day >= due:
            stock.receive(due)
            stock.refill(due)
            due += terms.days
        stock.receive(day)
        if outside[call] or not covered[call]:
            ends["outside" if outside[call] else "none"] += 1
            continue
        can = kept[fits[call, kept]]
        ends[_call(stock, day, stock.trucks[truck], can, banded[call])] += 1
    shares = {name: count / len(arrivals.day) for name, count in ends.items()}
    return SeasonEnds(**shares, refilled=stock.had / max(stock.wanted, 1))


class Confirmed(NamedTuple):
    """Forecast and replay, as bands of the fraction of calls completed on the first visit.

    The middle value of each Band is the mean.

    Attributes
    ----------
    planned : float
        Fraction calculated by the optimization.
    forecast : Band
        Fraction in seasons sampled from the history.
    replayed : Band
        Fraction in the held-out season.
    forecasts, replays : tuple[SeasonEnds, ...]
        Outcomes of all seasons.
    unseen : float
        Fraction of the held-out calls whose need never occurs in the history.
    """

    planned: float
    forecast: Band
    replayed: Band
    forecasts: tuple[SeasonEnds, ...]
    replays: tuple[SeasonEnds, ...]
    unseen: float


def confirm(
    history: Calls, held_out: Calls, matched: Matched, planned: TruckPlan, counter: CounterStock,
    terms: Terms, repeats: int = REPEATS, seed: int = 0,
) -> Confirmed:  # fmt: skip
    """Compare seasons sampled from ``history`` with ``repeats`` replays of the ``held_out`` calls.

    The truck plan and counter stock must be based on ``history`` only. The same ``seed`` gives the
    same result.
    """
    setting = planned, counter, matched, terms
    sampled, rng = seasons(history, held_out, matched, terms, repeats, seed)
    forecasts = tuple(run(one, *setting) for one in sampled)
    real = (held_out_season(held_out, matched, terms, rng) for _ in range(repeats))
    replays = tuple(run(one, *setting) for one in real)
    unseen = float(np.mean(history.counts[held_out.need] == 0))
    counts = [len(one.day) for one in sampled]
    forecast = expected([one.first for one in forecasts], counts)
    replayed = expected([one.first for one in replays])
    return Confirmed(planned.fixed, forecast, replayed, forecasts, replays, unseen)


def expected(shares, counts=None) -> Band:
    """Return the mean over all calls of several seasons, with the 90 % range of the seasons.

    The mean makes the percentages of several loads consistent with their second visits per year.

    Parameters
    ----------
    shares
        Fraction of the calls in each season.
    counts : optional
        Number of calls in each season, by default the same for all.
    """
    return Band.of(shares)._replace(mid=float(np.average(shares, weights=counts)))


def seasons(history: Calls, held_out: Calls, matched, terms, repeats: int, seed: int):
    """Return sampled seasons with as many days as the held-out calls, and the random generator."""
    rng = np.random.default_rng([seed, 4])
    days = _span(held_out)
    sampled = [sampled_season(history, matched, terms, rng, days) for _ in range(repeats)]
    return sampled, rng


def _span(calls: Calls) -> int:
    """Return the number of days from the first call to the last."""
    return int((calls.days.max() - calls.days.min()).astype(int)) + 1


def split(calls: Calls, days: int = YEAR) -> tuple[Calls, Calls]:
    """Split the calls into a history and the held-out calls of the last ``days`` [days].

    If the calls cover less than twice as many days, the last third is held out, and the counts have
    less weight as evidence.

    Raises
    ------
    InputError
        If the calls cover less than LEAST_DAYS.
    """
    span = _span(calls)
    if span < LEAST_DAYS:
        given, accepted = Message("stock.given.span", days=span), "stock.accepts.span"
        raise InputError("calls", given, Message(accepted, days=LEAST_DAYS))
    if calls.days.min() > calls.days.max() - np.timedelta64(2 * days, "D"):
        calls = replace(calls, evidence=calls.evidence * min(span / (2 * days), 1.0))
        days = span // HELD_OUT
    last = calls.days.max() - np.timedelta64(days, "D")
    return calls.part(calls.days <= last), calls.part(calls.days > last)


def with_similar(calls: Calls, matched: Matched, seed: int = 0) -> tuple[Calls, int]:
    """Replace calls that have too little data with similar calls, and return the number replaced.

    A similar call has the most values of COMPARED in common with the given values. Calls that the
    method does not cover are not replaced.

    Raises
    ------
    InputError
        If no call has enough data.
    """
    sparse = [at for at in matched.refused if _in_scope(calls.needs[at])]
    usable = np.array([at for at in range(len(calls.needs)) if at not in matched.refused])
    if not sparse:
        return calls, 0
    if not len(usable):
        raise max(matched.refused.items(), key=lambda one: calls.counts[one[0]])[1]
    rng, need = np.random.default_rng([seed, 6]), calls.need.copy()
    counts = calls.counts[usable]
    for at in sparse:
        common = np.array([_in_common(calls.needs[at], calls.needs[one]) for one in usable])
        weight = counts * (common == common.max())
        rows = np.flatnonzero(calls.need == at)
        need[rows] = rng.choice(usable, len(rows), p=weight / weight.sum())
    count = int(np.isin(calls.need, sparse).sum())
    return replace(calls, need=need, evidence=calls.evidence * (1 - count / len(calls))), count


def _in_scope(job) -> bool:
    try:
        check_scope(job)
    except InputError:
        return False
    return True


def _in_common(one, other) -> int:
    """Return the number of nameplate values that two jobs have in common."""
    pairs = ((getattr(one.nameplate, name), getattr(other.nameplate, name)) for name in COMPARED)
    return sum(a == b for a, b in pairs if a not in (None, ""))


class _Stock:
    """Units on the trucks, at the counter and on order during a season."""

    def __init__(self, planned: TruckPlan, counter: CounterStock, terms: Terms):
        self.goods, self.terms = planned.goods, terms
        self.full = planned.units
        self.trucks = np.tile(planned.units, (terms.trucks, 1))
        self.counter = counter.level.copy()
        self.ordered = np.zeros_like(self.trucks)  # for the trucks, without a counter
        self.coming = []  # (day, units at the counter or on each truck), sorted by day
        self.wanted = self.had = 0

    def receive(self, day: float) -> None:
        """Add units that have arrived by ``day`` to the shelf, or to the trucks."""
        while self.coming and self.coming[0][0] <= day:
            _, units = self.coming.pop(0)
            if self.terms.counter:
                self.counter += units
            else:
                self.trucks += units
                self.ordered -= units

    def refill(self, day: float) -> None:
        """Restock the trucks one at a time and reorder the units issued by the counter.

        Without a counter, order the units that the trucks have used.
        """
        if not self.terms.counter:
            short = self.full - self.trucks - self.ordered
            self.ordered += short
            self.coming.append((day + self.terms.lead_days, short))
            return
        for truck in self.trucks:
            short = self.full - truck
            given = np.minimum(short, self.counter)
            self.wanted, self.had = self.wanted + short.sum(), self.had + given.sum()
            truck += given
            self.leave(day, given)

    def leave(self, day: float, units: np.ndarray) -> None:
        """Remove ``units`` from the shelf and reorder them."""
        self.counter -= units
        self.coming.append((day + self.terms.lead_days, units))

    def use(self, have: np.ndarray, can: np.ndarray, banded: np.ndarray) -> np.ndarray | None:
        """Return the units from ``have`` that a call uses, or None.

        The call uses the first motor of ``can`` for which all parts are at hand.
        """
        goods = self.goods
        for motor in can:
            parts = have[motor] > 0 and have[goods.motors + goods.capacitor[motor]] > 0
            if parts and (not banded[motor] or have[-1] > 0):
                return _unit(goods, motor, banded)
        return None


def _unit(goods: Goods, motor: int, banded) -> np.ndarray:
    """Return one motor with its capacitor and, if necessary, a belly band."""
    units = np.zeros(len(goods.price), int)
    units[[motor, goods.motors + goods.capacitor[motor]]] = 1
    units[-1] = banded[motor]
    return units


def _call(stock: _Stock, day, have, can, banded) -> str:
    """Return the outcome of one call that can use the stocked motors ``can``, and update the stock."""
    used = stock.use(have, can, banded)
    if used is not None:
        have -= used
        return "first"
    carried = (stock.full[can] > 0).any()
    used = stock.use(stock.counter, can, banded)
    if used is not None:
        stock.leave(day, used)
    if carried:
        return "short"
    return "ordered" if used is None else "counter"


@dataclass(frozen=True)
class StockStudy:
    """Results for one call history.

    Attributes
    ----------
    plans : tuple[TruckPlan, ...]
        Plans for the budgets on the curve.
    single : tuple[TruckPlan, ...]
        Plans for the same budgets with single-rating motors only.
    confirmed : Confirmed
        Comparison of the plan with the held-out season.
    ceiling : float
        Fraction of the calls for the curve that have a motor in the catalog.
    similar : int
        Number of calls that were replaced by similar calls.
    history, held_out : Calls
        Calls for the plans and calls for the test.
    seed : int
        Seed of the random numbers.
    """

    calls: Calls
    matched: Matched
    terms: Terms
    goods: Goods
    loads: TruckLoads
    plan: TruckPlan
    plans: tuple[TruckPlan, ...]
    single: tuple[TruckPlan, ...]
    next: tuple[NextMotor, ...]
    counter: CounterStock
    confirmed: Confirmed
    ceiling: float = 1.0
    similar: int = 0
    history: Calls | None = field(default=None, repr=False)
    held_out: Calls | None = field(default=None, repr=False)
    seed: int = 0

    @property
    def held_out_days(self) -> int:
        """Number of days from the first to the last held-out call."""
        return _span(self.held_out)

    @property
    def calls_a_year(self) -> float:
        """Number of calls for all trucks [1/year], from all calls in the list."""
        return len(self.calls) / _span(self.calls) * DAYS_A_YEAR

    @property
    def short(self) -> bool:
        """Return True if the calls cover less than two years."""
        return _span(self.calls) < 2 * YEAR

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """Rows in the call list and the catalog that could not be used."""
        return (*left_out_of(self.calls), *self.matched.left_out)

    @property
    def currency(self) -> str:
        return self.matched.motors[self.goods.motor[0]].currency

    @property
    def reach(self) -> float:
        """Fraction of the calls in scope for which the catalog has at least one motor that fits."""
        reached = float(self.matched.passes.any(axis=1).mean(axis=1) @ self.calls.counts)
        return reached / max(len(self.calls) - self.outside, 1)

    @property
    def outside(self) -> int:
        """Number of calls that the method does not cover."""
        return int(self.calls.counts[list(self.matched.refused)].sum())

    @property
    def names(self) -> tuple[str | Message, ...]:
        """Names of the stocked items."""
        motors = (self.matched.motors[at].name for at in self.goods.motor)
        sizes = (
            Message("stock.item.capacitor", size=Quantity(size, "capacitance"))
            for size in self.goods.sizes
        )
        return (*motors, *sizes, Message("stock.item.band"))

    def load_list(self) -> list[dict]:
        """Table rows for the items on the truck and at the counter."""
        kept = np.flatnonzero((self.plan.units > 0) | (self.counter.level > 0))
        return [self._line(at) for at in kept]

    def bins(self) -> dict[int, str]:
        """Return a bin label for each item on the truck: motors by speed and power, then parts."""
        carried = np.flatnonzero(self.plan.units)
        motors = sorted(
            (at for at in carried if at < self.goods.motors),
            key=lambda at: (self._motor(at).poles, max(self._motor(at).ratings), self.names[at]),
        )
        parts = [at for at in carried if at >= self.goods.motors]
        labels = {at: f"M{number}" for number, at in enumerate(motors, 1)}
        return labels | {at: f"P{number}" for number, at in enumerate(parts, 1)}

    def _motor(self, at: int):
        return self.matched.motors[self.goods.motor[at]]

    def _line(self, at: int) -> dict:
        used = self.plan.sold[at] if at < self.goods.motors else None
        return {
            "item": self.names[at],
            "truck": int(self.plan.units[at]),
            "counter": int(self.counter.level[at]),
            "price": float(self.goods.price[at]),
            "volume_m3": round(float(self.goods.volume[at]), 5),
            "used_in_a_load": None if used is None else round(float(used), 4),
            "asked_a_year": round(float(self.counter.asked[at]), 2),
        }


@dataclass(frozen=True)
class Ground:
    """Calls matched with the motors that fit, for any Terms.

    The last year, or the last third of a short history, is ``held_out``. ``similar`` is the number
    of calls that were replaced.
    """

    calls: Calls
    history: Calls
    held_out: Calls
    matched: Matched
    similar: int = 0

    @classmethod
    def found(cls, calls: Calls, motors, seed: int = 0):
        """Match ``calls`` with ``motors`` in steps, as a generator that returns a Ground object.

        Raises
        ------
        InputError
            If the calls cover less than LEAST_DAYS or if no call has enough data.
        """
        split(calls)  # reports a short history before the matching
        matched = yield from matching(calls.needs, motors, calls.counts, seed=seed)
        calls, similar = with_similar(calls, matched, seed)
        return cls(calls, *split(calls), matched, similar)


def study(calls: Calls, motors, terms: Terms, seed: int = 0, repeats: int = REPEATS) -> StockStudy:
    """Plan a stock of ``motors`` for ``calls`` under ``terms``.

    The last year of calls, or the last third of a short history, is held out. Plans are based on
    the earlier calls and replayed on the held-out calls. The same ``seed`` gives the same result.

    Raises
    ------
    InputError
        If the calls cover less than LEAST_DAYS, or if no motor fits any call.
    """
    ground = finished(Ground.found(calls, motors, seed))
    history, matched = ground.history, ground.matched
    goods = goods_of(matched, terms)
    loads = sampled_loads(history, matched, goods, terms, seed, CALLS)
    few = sampled_loads(history, matched, goods, terms, seed + 1, CURVE_CALLS)
    (planned,) = curve(loads, few, goods, [terms.budget], terms.space)
    setting = few, loads, goods, budgets_up_to(goods, terms.budget), terms.space
    one_rating = of_one_rating(matched, goods)
    counter = counter_stock(planned, loads, history, terms)
    names = [motors[at].name for at in goods.motor]
    return StockStudy(
        calls=ground.calls,
        matched=matched,
        terms=terms,
        goods=goods,
        loads=loads,
        history=history,
        held_out=ground.held_out,
        plan=planned,
        plans=curve(*setting),
        single=curve(*setting, allowed=one_rating),
        next=next_motors(planned, loads, matched.needs, names),
        counter=counter,
        confirmed=confirm(
            history, ground.held_out, matched, planned, counter, terms, repeats, seed
        ),
        ceiling=float(loads.fits.any(axis=1).mean()),
        similar=ground.similar,
        seed=seed,
    )


def of_one_rating(matched: Matched, goods: Goods) -> np.ndarray:
    """Return True for motors with a single rating, shape (stocked motors,)."""
    return np.array([len(matched.motors[at].ratings) == 1 for at in goods.motor])


def mean_ends(outcomes) -> dict[str, float]:
    """Return the mean outcomes of several seasons by SeasonEnds field."""
    means = np.mean(outcomes, axis=0)
    return {name: round(float(x), 4) for name, x in zip(outcomes[0]._fields, means, strict=True)}


@dataclass(frozen=True)
class Live:
    """Stock plans based on ``ground``, reproducible for the same Terms and ``seed``."""

    ground: Ground
    seed: int = 0

    def planning(self, terms: Terms):
        """Calculate, in steps, the plan under ``terms``, the counter stock and the replay.

        This is a generator that returns a StockStudy without a curve.

        Raises
        ------
        InputError
            If no motor fits any call.
        """
        yield Progress(Message("stock.step.plan"), 0, 3)
        goods = goods_of(self.ground.matched, terms)
        loads, tried = self._sampled(terms, goods)
        planned = self._plan(terms, goods, terms.budget)
        history, matched = self.ground.history, self.ground.matched
        counter = counter_stock(planned, loads, history, terms)
        yield Progress(Message("stock.step.replay"), 2, 3)
        setting = self.ground.held_out, matched, planned, counter, terms
        return StockStudy(
            self.ground.calls, matched, terms, goods, loads, planned, (), (),
            next_motors(planned, loads, matched.needs, self._names(goods)),
            counter, confirm(history, *setting, seed=self.seed),
            float(tried.fits.any(axis=1).mean()), self.ground.similar,
            history, self.ground.held_out, self.seed,
        )  # fmt: skip

    def curving(self, found: StockStudy, most: float):
        """Add, in steps as in ``planning``, the curve up to a budget of ``most`` to a study."""
        goods, curves, count = found.goods, [], len(AMOUNTS)
        for kind, single in enumerate((False, True)):
            plans = []
            for at, share in enumerate(AMOUNTS):
                if not self._keeps(found.terms, share * most, single):
                    yield Progress(Message("stock.step.curve"), kind * count + at, 2 * count)
                plans.append(self._plan(found.terms, goods, share * most, single))
            curves.append(tuple(plans))
        return replace(found, plans=curves[0], single=curves[1])

    @cached_property
    def _kept(self) -> dict:
        return {}

    def _keeps(self, terms: Terms, budget: float, single: bool) -> bool:
        return self._key(terms, budget, single) in self._kept

    @staticmethod
    def _key(terms: Terms, budget: float, single: bool):
        """Return the terms that affect the plan, which exclude the cost of a second visit."""
        return replace(terms, budget=budget, second_visit=0.0, visit_hours=0.0), single

    def _plan(self, terms: Terms, goods: Goods, budget: float, single: bool = False):
        """Return the plan for ``budget``, evaluated on other calls and stored for reuse."""
        key = self._key(terms, budget, single)
        if key not in self._kept:
            loads, tried = self._sampled(terms, goods)
            allowed = of_one_rating(self.ground.matched, goods) if single else None
            found = plan(loads, goods, budget, terms.space, allowed)
            while len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = replace(found, fresh=served(found.units, tried, goods))
        return self._kept[key]

    def _sampled(self, terms: Terms, goods: Goods):
        """Return the calls for making a plan and the calls for evaluating it."""
        given = self.ground.history, self.ground.matched, goods, terms
        return (
            sampled_loads(*given, self.seed, PLANNED, RATES),
            sampled_loads(*given, self.seed + 1, TRIED, RATES),
        )

    def _names(self, goods: Goods) -> list[str]:
        return [self.ground.matched.motors[at].name for at in goods.motor]


def usual_money(motors) -> float:
    """Return the maximum budget for a curve, about twice the cost of 25 median-priced ``motors``.

    Returns 0 if no motor has a price.
    """
    prices = [motor.price for motor in motors if motor.price is not None]
    if not prices:
        return 0.0
    most = 50 * float(np.median(prices))
    size = 10 ** np.floor(np.log10(most))
    return float(round(most / size) * size)
