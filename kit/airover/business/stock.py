"""A stock study: match, plan, cost curve, next motors, counter, replay.

`study` plans once, thoroughly. `Live` plans again and again for other money or another truck, from
one history of calls that is matched once (`Ground`): from fewer calls and with a gap of one
percent, so that a plan comes in a second or two. Results are kept. In a short history the shares of
needs are uncertain, so these calls come by 20 samples of all rates.

Left out: needs that the history never had, a trend, the season's swing in a plan (one truck for all
year), travel, several trucks at one call, trucks that differ, returns, the cost of a second visit.
"""

from dataclasses import asdict, dataclass, replace
from functools import cached_property

import numpy as np

from airover.business.counter import CounterStock, counter_stock
from airover.business.replay import REPEATS, Confirmed, confirm, split
from airover.business.truck import (
    CALLS,
    Goods,
    NextMotor,
    Terms,
    TruckLoads,
    TruckPlan,
    budgets_up_to,
    curve,
    goods_of,
    next_motors,
    plan,
    sampled_loads,
    served,
)
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.steps import Progress, finished
from airover.records.calls import Calls
from airover.selection.cover import Matched, matching

CURVE_CALLS = 700  # sampled for each plan of a curve
CURVE_SECONDS = 5.0  # for each plan of a curve
# Of a plan that comes in a second or two.
PLANNED, TRIED = 400, 1500  # sampled calls
RATES = 20  # samples of how often each need is called, for so many calls
GAP = 1e-2  # of the calls fixed, at which HiGHS may stop: far less than a forecast is sure of
SECONDS = 10.0  # for one plan; the gap comes long before
AMOUNTS = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0)  # of the most money, on a curve
KEPT = 60  # plans


@dataclass(frozen=True)
class StockStudy:
    """All that is found for one history of calls.

    ``plans`` are those of the curve, ``single`` the same with motors of one rating only;
    ``confirmed`` is what a season that was held out says of the plan made without it.
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

    @property
    def currency(self) -> str:
        return self.matched.motors[self.goods.motor[0]].currency

    @property
    def reach(self) -> float:
        """Share of the calls for which the catalog has any motor."""
        return float(self.matched.passes.any(axis=1).mean(axis=1) @ self.calls.counts) / len(
            self.calls
        )

    @property
    def names(self) -> tuple[str | Message, ...]:
        """Names of the goods."""
        motors = (self.matched.motors[at].name for at in self.goods.motor)
        sizes = (
            Message("stock.item.capacitor", size=Quantity(size, "capacitance"))
            for size in self.goods.sizes
        )
        return (*motors, *sizes, Message("stock.item.band"))

    def load_list(self) -> list[dict]:
        """Lines of all that goes on the truck and on the counter's shelf."""
        kept = np.flatnonzero((self.plan.units > 0) | (self.counter.level > 0))
        return [self._line(at) for at in kept]

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

    def to_dict(self, writer) -> dict:
        """The study as JSON takes it; ``writer`` is a Writer."""
        return {
            "calls": len(self.calls),
            "needs": len(self.matched.needs),
            "outside_the_method": _share(self.calls, self.matched.refused),
            "reach": round(self.reach, 4),
            "terms": asdict(self.terms),
            "currency": self.currency,
            "plan": _plan(self.plan),
            "load_list": [line | {"item": writer.value(line["item"])} for line in self.load_list()],
            "curve": [_plan(one) for one in self.plans],
            "single_rating_curve": [_plan(one) for one in self.single],
            "next": [self._next(one, writer) for one in self.next],
            "counter": {"money": round(self.counter.money, 2)},
            "replay": _confirmed(self.confirmed),
        }

    def _next(self, one: NextMotor, writer) -> dict:
        gain = {"gain": round(one.gain, 5), "money": round(one.money, 2), "why": writer(one.why)}
        return {"motor": self.names[one.motor], **gain}


@dataclass(frozen=True)
class Ground:
    """Calls with what fits them, which hangs on no terms; the last year is ``held_out``."""

    calls: Calls
    history: Calls
    held_out: Calls
    matched: Matched

    @classmethod
    def found(cls, calls: Calls, motors, seed: int = 0):
        """Match ``calls`` with ``motors``, in steps: a generator that returns the Ground.

        Raises InputError for calls over less than two years.
        """
        history, held_out = split(calls)
        matched = yield from matching(calls.needs, motors, calls.counts, seed=seed)
        return cls(calls, history, held_out, matched)


def study(calls: Calls, motors, terms: Terms, seed: int = 0, repeats: int = REPEATS) -> StockStudy:
    """Plan a stock of ``motors`` for ``calls`` on ``terms``.

    The last year of the calls is held out: plans are made from what came before, and replayed on
    it. The same ``seed`` gives the same. Raises InputError for calls over less than two years,
    and where no motor fits any call.
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
        calls=calls,
        matched=matched,
        terms=terms,
        goods=goods,
        loads=loads,
        plan=planned,
        plans=curve(*setting, seconds=CURVE_SECONDS),
        single=curve(*setting, allowed=one_rating, seconds=CURVE_SECONDS),
        next=next_motors(planned, loads, matched.needs, names),
        counter=counter,
        confirmed=confirm(
            history, ground.held_out, matched, planned, counter, terms, repeats, seed
        ),
    )


def of_one_rating(matched: Matched, goods: Goods) -> np.ndarray:
    """True for motors with one rating only, (motors of the goods,)."""
    return np.array([len(matched.motors[at].ratings) == 1 for at in goods.motor])


def mean_ends(outcomes) -> dict[str, float]:
    """Mean ends of the calls of several seasons, by the fields of SeasonEnds."""
    means = np.mean(outcomes, axis=0)
    return {name: round(float(x), 4) for name, x in zip(outcomes[0]._fields, means, strict=True)}


@dataclass(frozen=True)
class Live:
    """Plans from ``ground`` on any Terms; the same terms and ``seed`` give the same."""

    ground: Ground
    seed: int = 0

    def planning(self, terms: Terms):
        """The plan on ``terms`` with its counter and replay, in steps; a generator that returns a
        StockStudy without a curve. Raises InputError where no motor fits any call."""
        yield Progress(Message("stock.step.plan"), 0, 3)
        goods = goods_of(self.ground.matched, terms)
        loads, _ = self._sampled(terms, goods)
        planned = self._plan(terms, goods, terms.budget)
        history, matched = self.ground.history, self.ground.matched
        counter = counter_stock(planned, loads, history, terms)
        yield Progress(Message("stock.step.replay"), 2, 3)
        setting = self.ground.held_out, matched, planned, counter, terms
        return StockStudy(
            self.ground.calls, matched, terms, goods, loads, planned, (), (),
            next_motors(planned, loads, matched.needs, self._names(goods)),
            counter, confirm(history, *setting, seed=self.seed),
        )  # fmt: skip

    def curving(self, found: StockStudy, most: float):
        """The same study with its curve up to the money ``most``, in steps, as ``planning``."""
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
        return (replace(terms, budget=budget), single) in self._kept

    def _plan(self, terms: Terms, goods: Goods, budget: float, single: bool = False):
        """The plan for ``budget``, tried on other calls; worked once."""
        key = replace(terms, budget=budget), single
        if key not in self._kept:
            loads, tried = self._sampled(terms, goods)
            allowed = of_one_rating(self.ground.matched, goods) if single else None
            found = plan(loads, goods, budget, terms.space, allowed, SECONDS, GAP)
            while len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = replace(found, fresh=served(found.units, tried, goods))
        return self._kept[key]

    def _sampled(self, terms: Terms, goods: Goods):
        """Calls to plan by, and others to try a plan on."""
        given = self.ground.history, self.ground.matched, goods, terms
        return (
            sampled_loads(*given, self.seed, PLANNED, RATES),
            sampled_loads(*given, self.seed + 1, TRIED, RATES),
        )

    def _names(self, goods: Goods) -> list[str]:
        return [self.ground.matched.motors[at].name for at in goods.motor]


def usual_money(motors) -> float:
    """Twice what a truck of some 25 of these ``motors`` costs: a round sum in their currency, up
    to which it is worth looking. 0 where no motor has a price."""
    prices = [motor.price for motor in motors if motor.price is not None]
    if not prices:
        return 0.0
    most = 50 * float(np.median(prices))
    size = 10 ** np.floor(np.log10(most))
    return float(round(most / size) * size)


def _share(calls: Calls, numbers) -> float:
    return round(float(calls.counts[list(numbers)].sum() / len(calls)), 4)


def _plan(one: TruckPlan) -> dict:
    return {
        "money": round(one.money, 2),
        "space_m3": round(one.space, 4),
        "motors": int(one.units[: one.goods.motors].sum()),
        "kinds": int((one.units[: one.goods.motors] > 0).sum()),
        "fixed": round(one.fixed, 4),
        "fixed_of_other_calls": round(one.fresh, 4),
        "bound": round(one.bound, 4),
        "gap": round(one.gap, 5),
    }


def _confirmed(one: Confirmed) -> dict:
    return {
        "planned": round(one.planned, 4),
        "forecast": _band(one.forecast),
        "replayed": _band(one.replayed),
        "forecast_ends": mean_ends(one.forecasts),
        "replayed_ends": mean_ends(one.replays),
        "unseen_needs": round(one.unseen, 4),
    }


def _band(band: Band) -> dict:
    return {name: round(float(end), 4) for name, end in band._asdict().items()}
