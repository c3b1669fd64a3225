"""What the counter keeps behind the trucks: a base stock of each thing, for a level of service.

The trucks are filled up from the counter, and second visits are supplied by it. Each unit that
leaves is ordered at once and comes after the lead time. What is asked for in a lead time and one
stretch between restockings (trucks take several at once) follows the negative binomial law of
`demand.predictive`, so that slow and barely known things get some room for that.
"""

from typing import NamedTuple

import numpy as np

from airover.records.calls import Calls
from airover.stock.demand import base_stock, fill_rate, predictive
from airover.stock.plan import Plan
from airover.stock.truck_loads import Goods, Loads, Terms


class CounterStock(NamedTuple):
    """``level`` units kept of each of the ``goods``; ``asked`` [a year] for them by all trucks
    and second visits; ``fill`` is the share of it that is served at once."""

    goods: Goods
    level: np.ndarray
    asked: np.ndarray
    fill: np.ndarray

    @property
    def money(self) -> float:
        return float(self.goods.price @ self.level)


def counter_stock(planned: Plan, loads: Loads, calls: Calls, terms: Terms) -> CounterStock:
    """Base stocks of the counter behind ``terms.trucks`` trucks that carry ``planned``."""
    goods = planned.goods
    exposure = float((calls.days.max() - calls.days.min()).astype(int) + 1)
    in_a_load = _with_parts(planned.sold + _second(planned, loads), planned, loads)
    count = in_a_load * terms.trucks * exposure / terms.days
    law = predictive(count, exposure, terms.lead_days + terms.days)
    level = np.where(count > 0, base_stock(law, terms.service), 0)
    fill = np.where(level > 0, fill_rate(law, level), 0.0)
    return CounterStock(goods, level, count / exposure * 365.25, fill)


def _second(planned: Plan, loads: Loads) -> np.ndarray:
    """Units of each motor in a load that second visits take: of the motors that do for the calls
    left over, as few kinds as will do."""
    open_to = loads.fits & planned.left[:, None]
    taken = np.zeros(planned.goods.motors)
    while open_to.any():
        motor = np.argmax(open_to.sum(axis=0) + 1e-6 * planned.sold)
        taken[motor] += open_to[:, motor].sum()
        open_to[open_to[:, motor]] = False
    return taken / loads.count


def _with_parts(motors: np.ndarray, planned: Plan, loads: Loads) -> np.ndarray:
    """The same with the capacitors and belly bands that go with the motors."""
    goods = planned.goods
    capacitors = np.bincount(goods.capacitor, motors, len(goods.sizes))
    wanted = loads.banded.sum() / max(loads.fits.sum(), 1)
    return np.concatenate([motors, capacitors, [wanted * motors.sum()]])
