"""Calls to a stock: matched, planned, curves of money, the next motor, the counter, a replay."""

from dataclasses import asdict, dataclass

import numpy as np

from airover.bands import Band
from airover.in_steps import finished
from airover.matching.match import Matched, matching
from airover.records.calls import Calls
from airover.stock.counter import CounterStock, counter_stock
from airover.stock.plan import Next, Plan, budgets_up_to, curve, next_motors
from airover.stock.replay import REPEATS, Confirmed, confirm, split
from airover.stock.truck_loads import CALLS, Goods, Loads, Terms, drawn_loads, goods_of
from airover.units import show

CURVE_CALLS = 700  # drawn for each plan of a curve
CURVE_SECONDS = 5.0  # for each plan of a curve


@dataclass(frozen=True)
class Study:
    """All that is found for one history of calls.

    ``plans`` are those of the curve, ``single`` the same with motors of one rating only;
    ``confirmed`` is what a season that was held out says of the plan made without it.
    """

    calls: Calls
    matched: Matched
    terms: Terms
    goods: Goods
    loads: Loads
    plan: Plan
    plans: tuple[Plan, ...]
    single: tuple[Plan, ...]
    next: tuple[Next, ...]
    counter: CounterStock
    confirmed: Confirmed

    @property
    def currency(self) -> str:
        return self.matched.motors[self.goods.motor[0]].currency

    @property
    def reach(self) -> float:
        """Share of the calls for which the catalogue has any motor."""
        return float(self.matched.passes.any(axis=1).mean(axis=1) @ self.calls.counts) / len(
            self.calls
        )

    @property
    def names(self) -> tuple[str, ...]:
        """What each of the goods is called."""
        motors = (self.matched.motors[at].name for at in self.goods.motor)
        sizes = (f"run capacitor {show(size, 'capacitance')}" for size in self.goods.sizes)
        return (*motors, *sizes, "belly band")

    def load_list(self) -> list[dict]:
        """What goes on the truck and on the counter's shelf, nothing left out."""
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

    def to_dict(self) -> dict:
        """The study as JSON takes it."""
        return {
            "calls": len(self.calls),
            "needs": len(self.matched.needs),
            "outside_the_method": _share(self.calls, self.matched.refused),
            "reach": round(self.reach, 4),
            "terms": asdict(self.terms),
            "currency": self.currency,
            "plan": _plan(self.plan),
            "load_list": self.load_list(),
            "curve": [_plan(one) for one in self.plans],
            "single_rating_curve": [_plan(one) for one in self.single],
            "next": [self._next(one) for one in self.next],
            "counter": {"money": round(self.counter.money, 2)},
            "replay": _confirmed(self.confirmed),
        }

    def _next(self, one: Next) -> dict:
        gain = {"gain": round(one.gain, 5), "money": round(one.money, 2), "why": one.why}
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


def study(calls: Calls, motors, terms: Terms, seed: int = 0, repeats: int = REPEATS) -> Study:
    """Plan a stock of ``motors`` for ``calls`` on ``terms``.

    The last year of the calls is held out: plans are made from what came before, and replayed on
    it. The same ``seed`` gives the same. Raises InputError for calls over less than two years,
    and where no motor fits any call.
    """
    ground = finished(Ground.found(calls, motors, seed))
    history, matched = ground.history, ground.matched
    goods = goods_of(matched, terms)
    loads = drawn_loads(history, matched, goods, terms, seed, CALLS)
    few = drawn_loads(history, matched, goods, terms, seed + 1, CURVE_CALLS)
    (planned,) = curve(loads, few, goods, [terms.budget], terms.space)
    setting = few, loads, goods, budgets_up_to(goods, terms.budget), terms.space
    one_rating = of_one_rating(matched, goods)
    counter = counter_stock(planned, loads, history, terms)
    names = [motors[at].name for at in goods.motor]
    return Study(
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
    """Which motors of the goods have one rating only, (motors of the goods,)."""
    return np.array([len(matched.motors[at].ratings) == 1 for at in goods.motor])


def _share(calls: Calls, numbers) -> float:
    return round(float(calls.counts[list(numbers)].sum() / len(calls)), 4)


def _plan(one: Plan) -> dict:
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


def mean_ends(outcomes) -> dict[str, float]:
    """How the calls of several seasons end on average, by the fields of an Outcome."""
    means = np.mean(outcomes, axis=0)
    return {name: round(float(x), 4) for name, x in zip(outcomes[0]._fields, means, strict=True)}
