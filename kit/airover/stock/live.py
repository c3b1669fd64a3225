"""A stock for other money and another truck, again and again, from one history of calls.

Calls are matched once (`stock.study.Ground`). A plan is made from fewer drawn calls than a study's
and with a wider gap, so that it comes in a second or two, and is tried on other calls. The curve
does not hang on the truck's money, so another amount asks for one plan only. What was found is
kept.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from airover.in_steps import Step
from airover.stock.counter import counter_stock
from airover.stock.plan import next_motors, plan, served
from airover.stock.replay import confirm
from airover.stock.study import Ground, Study, of_one_rating
from airover.stock.truck_loads import Goods, Terms, drawn_loads, goods_of

PLANNED, TRIED = 400, 1500  # drawn calls
RATES = 20  # draws of how often each need is called, for so many calls
GAP = 1e-2  # of the calls fixed, at which HiGHS may stop: far less than a forecast is sure of
SECONDS = 10.0  # for one plan; the gap comes long before
AMOUNTS = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0)  # of the most money, on a curve
KEPT = 60  # plans


@dataclass(frozen=True)
class Live:
    """Plans from ``ground`` on any Terms; the same terms and ``seed`` give the same."""

    ground: Ground
    seed: int = 0

    def planning(self, terms: Terms):
        """The plan on ``terms`` with its counter and replay, in steps; a generator that returns a
        Study without a curve. Raises InputError where no motor fits any call."""
        yield Step("planning the truck", 0, 3)
        goods = goods_of(self.ground.matched, terms)
        loads, _ = self._drawn(terms, goods)
        planned = self._plan(terms, goods, terms.budget)
        history, matched = self.ground.history, self.ground.matched
        counter = counter_stock(planned, loads, history, terms)
        yield Step("replaying the year held out", 2, 3)
        setting = self.ground.held_out, matched, planned, counter, terms
        return Study(
            self.ground.calls, matched, terms, goods, loads, planned, (), (),
            next_motors(planned, loads, matched.needs, self._names(goods)),
            counter, confirm(history, *setting, seed=self.seed),
        )  # fmt: skip

    def curving(self, found: Study, most: float):
        """The same study with its curve up to the money ``most``, in steps, as ``planning``."""
        goods, curves, count = found.goods, [], len(AMOUNTS)
        for kind, single in enumerate((False, True)):
            plans = []
            for at, share in enumerate(AMOUNTS):
                if not self._keeps(found.terms, share * most, single):
                    yield Step("working the curve", kind * count + at, 2 * count)
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
            loads, tried = self._drawn(terms, goods)
            allowed = of_one_rating(self.ground.matched, goods) if single else None
            found = plan(loads, goods, budget, terms.space, allowed, SECONDS, GAP)
            while len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = replace(found, fresh=served(found.units, tried, goods))
        return self._kept[key]

    def _drawn(self, terms: Terms, goods: Goods):
        """Calls to plan by, and others to try a plan on."""
        given = self.ground.history, self.ground.matched, goods, terms
        return (
            drawn_loads(*given, self.seed, PLANNED, RATES),
            drawn_loads(*given, self.seed + 1, TRIED, RATES),
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
