"""Counter stock behind the trucks: a base stock of each item for a service level.

The counter replenishes the trucks and supplies second visits. Each unit that leaves is reordered at
once and arrives after the lead time. Demand in a lead time and one replenishment
interval (trucks take several at once) follows the negative binomial law of `predictive`, so
slow and barely known items get a margin.

Calls are a Poisson process whose rate is known from a history only. With a gamma law for the
rate, future demand has a negative binomial law: wider than Poisson's where the history is short.
Sources: Gelman and others, Bayesian Data Analysis (gamma and Poisson); Zipkin, Foundations of
Inventory Management (newsvendor, base stock, loss functions); Sherbrooke, METRIC (1968), with
Palm's theorem: under a base stock the number on order has the law of the demand in one lead time.
From memory.
"""

from typing import NamedTuple

import numpy as np
from scipy import stats

from airover.business.truck import Goods, Terms, TruckLoads, TruckPlan
from airover.core.errors import InputError, Range, check
from airover.core.message import Message
from airover.records.calls import Calls

SHAPE_BEFORE = 0.5  # Jeffreys' prior of a Poisson rate
COUNT = Range(0.0, 1e9, "")
TIME = Range(1e-9, 1e9, "day")
SERVICE = Range(0.0, 0.9999, "")


class CounterStock(NamedTuple):
    """``level`` units kept of each of the ``goods``; ``asked`` is the demand [a year]
    of all trucks and second visits; ``fill`` is the share served at once."""

    goods: Goods
    level: np.ndarray
    asked: np.ndarray
    fill: np.ndarray

    @property
    def money(self) -> float:
        return float(self.goods.price @ self.level)


def counter_stock(
    planned: TruckPlan, loads: TruckLoads, calls: Calls, terms: Terms
) -> CounterStock:
    """Base stocks of the counter behind ``terms.trucks`` trucks that carry ``planned``."""
    goods = planned.goods
    exposure = float((calls.days.max() - calls.days.min()).astype(int) + 1)
    in_a_load = _with_parts(planned.sold + _second(planned, loads), planned, loads)
    count = in_a_load * terms.trucks * exposure / terms.days
    law = predictive(count, exposure, terms.lead_days + terms.days)
    level = np.where(count > 0, base_stock(law, terms.service), 0)
    fill = np.where(level > 0, fill_rate(law, level), 0.0)
    return CounterStock(goods, level, count / exposure * 365.25, fill)


def _second(planned: TruckPlan, loads: TruckLoads) -> np.ndarray:
    """Units of each motor per load for second visits: of the motors that cover the calls
    left over, as few kinds as possible."""
    open_to = loads.fits & planned.left[:, None]
    taken = np.zeros(planned.goods.motors)
    while open_to.any():
        motor = np.argmax(open_to.sum(axis=0) + 1e-6 * planned.sold)
        taken[motor] += open_to[:, motor].sum()
        open_to[open_to[:, motor]] = False
    return taken / loads.count


def _with_parts(motors: np.ndarray, planned: TruckPlan, loads: TruckLoads) -> np.ndarray:
    """Units with the capacitors and belly bands that go with the motors."""
    goods = planned.goods
    capacitors = np.bincount(goods.capacitor, motors, len(goods.sizes))
    wanted = loads.banded.sum() / max(loads.fits.sum(), 1)
    return np.concatenate([motors, capacitors, [wanted * motors.sum()]])


def predictive(count, exposure, period):
    """Demand in ``period`` [day], after ``count`` in ``exposure`` [day] of history.

    A scipy.stats law, negative binomial. Jeffreys' prior keeps a rate above 0 where there was no
    demand yet. Arrays broadcast. Raises InputError out of range.

    >>> float(predictive(20, 100.0, 10.0).mean().round(3))
    2.05
    """
    shape = check("count", count, COUNT) + SHAPE_BEFORE
    exposure = check("exposure", exposure, TIME)
    return stats.nbinom(shape, exposure / (exposure + check("period", period, TIME)))


def sales(law, units):
    """Expected number sold of ``units`` at hand: the sum of P(demand >= k), k = 1 to ``units``.

    Concave in ``units``: each further one sells less. ``units`` is a whole number.

    >>> float(sales(stats.poisson(1.0), 1).round(4))
    0.6321
    """
    return np.sum([law.sf(k) for k in range(int(units))], axis=0) + 0.0 * law.mean()


def newsvendor(law, underage: float, overage: float) -> int:
    """Number to keep for one period where a sale gains and a leftover costs.

    The smallest number with P(demand <= number) at least the critical ratio, underage /
    (underage + overage); ``underage`` is the margin lost with a missed sale,
    ``overage`` the loss on a leftover, in the same money. Raises InputError unless both
    are above 0.
    """
    if not (underage > 0 and overage > 0):
        given = f"{underage:g}, {overage:g}"
        raise InputError("underage, overage", given, Message("stock.accepts.money"))
    return int(law.ppf(underage / (underage + overage)))


def fill_rate(law, level):
    """Share of calls served at once from a base stock of ``level`` units, restocked one for one.

    ``law`` is that of the demand in a lead time. A call is served when fewer than
    ``level`` are on order (Palm).
    """
    return law.cdf(np.asarray(level) - 1)


def base_stock(law, service_level):
    """The smallest base stock whose fill rate is at least ``service_level``, 0 to 0.9999.

    ``law`` as in ``fill_rate``; arrays broadcast. Raises InputError out of range.
    """
    wanted = check("service_level", service_level, SERVICE)
    level = np.asarray(law.ppf(wanted), dtype=int) + 1
    return np.where(wanted > 0, level, 0)


def backorders(law, level):
    """Expected number waiting for a base stock of ``level`` units, ``law`` as in ``fill_rate``."""
    return law.mean() - sales(law, level)
