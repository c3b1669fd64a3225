"""Calculate the base stock of each item at the counter for a service level.

The counter restocks the trucks and supplies motors for second visits. Each unit issued is reordered
immediately, and its replacement arrives after the lead time. Demand during a lead time plus one
replenishment interval (a truck picks up several units at once) follows the negative binomial
distribution of `predictive`, which adds a margin for slow-moving items and items with a short
history.

Calls are modeled as a Poisson process with a rate that is estimated from a call history. With a
gamma distribution for the rate, future demand is negative binomial, which is wider than Poisson if
the history is short. Sources: Gelman et al., Bayesian Data Analysis (gamma and Poisson); Zipkin,
Foundations of Inventory Management (newsvendor, base stock, loss functions); Sherbrooke, METRIC
(1968), with Palm's theorem: with a base stock, the number on order has the distribution of the
demand during one lead time. All are cited from memory.
"""

from typing import NamedTuple

import numpy as np
import scipy  # loads scipy.stats on first use, which takes 0.5 s

from airover.business.truck import Goods, Terms, TruckLoads, TruckPlan
from airover.core.errors import InputError, Range, check
from airover.core.message import Message
from airover.records.calls import Calls
from airover.records.catalog import CatalogMotor

DAYS_A_YEAR = 365.25
SHAPE_BEFORE = 0.5  # Jeffreys prior for a Poisson rate
COUNT = Range(0.0, 1e9, "")
TIME = Range(1e-9, 1e9, "day")
SERVICE = Range(0.0, 0.9999, "")
SAME_VOLTS = 12.0  # V, voltages of one column of the counter card, such as 208-230 V and 230 V
SAME_POWER = 0.02  # relative difference of ratings that are the same class


class CounterStock(NamedTuple):
    """Base stock of each item at the counter, in the order of ``goods``.

    Attributes
    ----------
    level : ndarray
        Number of units kept.
    asked : ndarray
        Demand from all trucks and second visits [1/year].
    fill : ndarray
        Fraction of the demand that is filled immediately.
    """

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
    """Return the counter's base stock for ``terms.trucks`` trucks with the ``planned`` load.

    The base stock is 0 if the shop has no counter.
    """
    goods = planned.goods
    exposure = float((calls.days.max() - calls.days.min()).astype(int) + 1)
    in_a_load = _with_parts(planned.sold + _second(planned, loads), planned, loads)
    count = in_a_load * terms.trucks * exposure / terms.load_days
    law = predictive(count, exposure, terms.lead_days + terms.days)
    level = np.where((count > 0) & terms.counter, base_stock(law, terms.service), 0)
    fill = np.where(level > 0, fill_rate(law, level), 0.0)
    return CounterStock(goods, level, count / exposure * DAYS_A_YEAR, fill)


def _second(planned: TruckPlan, loads: TruckLoads) -> np.ndarray:
    """Return the number of units of each motor needed for second visits, per truck load.

    The motors cover the remaining calls with as few models as possible.
    """
    open_to = loads.fits & planned.left[:, None]
    taken = np.zeros(planned.goods.motors)
    while open_to.any():
        motor = np.argmax(open_to.sum(axis=0) + 1e-6 * planned.sold)
        taken[motor] += open_to[:, motor].sum()
        open_to[open_to[:, motor]] = False
    return taken / loads.count


def _with_parts(motors: np.ndarray, planned: TruckPlan, loads: TruckLoads) -> np.ndarray:
    """Return the number of units of each item: ``motors``, their capacitors and belly bands."""
    goods = planned.goods
    capacitors = np.bincount(goods.capacitor, motors, len(goods.sizes))
    wanted = loads.banded.sum() / max(loads.fits.sum(), 1)
    return np.concatenate([motors, capacitors, [wanted * motors.sum()]])


def predictive(count, exposure, period):
    """Return the distribution of demand in ``period`` [days], based on a demand history.

    Returns a scipy.stats distribution (negative binomial). The Jeffreys prior keeps the rate above
    0 even if there has been no demand yet. Array arguments are broadcast.

    Parameters
    ----------
    count : array_like
        Demand in the history [units].
    exposure : array_like
        Length of the history [days].

    Raises
    ------
    InputError
        If an input is out of range.

    Examples
    --------
    >>> float(predictive(20, 100.0, 10.0).mean().round(3))
    2.05
    """
    shape = check("count", count, COUNT) + SHAPE_BEFORE
    exposure = check("exposure", exposure, TIME)
    return scipy.stats.nbinom(shape, exposure / (exposure + check("period", period, TIME)))


def sales(law, units):
    """Return the expected number of units sold from a stock of ``units``.

    The result is the sum of P(demand >= k) for k from 1 to ``units``. It is concave in ``units``,
    because each additional unit adds fewer sales. The value of ``units`` must be a whole number.

    >>> float(sales(scipy.stats.poisson(1.0), 1).round(4))
    0.6321
    """
    return np.sum([law.sf(k) for k in range(int(units))], axis=0) + 0.0 * law.mean()


def newsvendor(law, underage: float, overage: float) -> int:
    """Return the number of units to stock for one period in the newsvendor problem.

    The result is the smallest number for which P(demand <= number) is at least the critical ratio,
    underage / (underage + overage).

    Parameters
    ----------
    underage : float
        Margin lost on a missed sale.
    overage : float
        Loss on a leftover unit, in the same currency.

    Raises
    ------
    InputError
        If a cost is not positive.
    """
    if not (underage > 0 and overage > 0):
        given = f"{underage:g}, {overage:g}"
        raise InputError("underage, overage", given, Message("stock.accepts.money"))
    return int(law.ppf(underage / (underage + overage)))


def fill_rate(law, level):
    """Return the fraction of calls filled immediately from a base stock of ``level`` units.

    Each unit used is reordered immediately. A call can be filled if fewer than ``level`` units are
    on order (Palm's theorem).

    Parameters
    ----------
    law
        Distribution of the demand during a lead time.
    """
    return law.cdf(np.asarray(level) - 1)


def base_stock(law, service_level):
    """Return the smallest base stock with a fill rate of at least ``service_level``, 0 to 0.9999.

    Parameters
    ----------
    law
        Distribution of the demand during a lead time. Array arguments are broadcast.

    Raises
    ------
    InputError
        If an input is out of range.
    """
    wanted = check("service_level", service_level, SERVICE)
    level = np.asarray(law.ppf(wanted), dtype=int) + 1
    return np.where(wanted > 0, level, 0)


def backorders(law, level):
    """Return the expected number of backorders for a base stock of ``level`` units.

    Parameters
    ----------
    law
        Distribution of the demand during a lead time.
    """
    return law.mean() - sales(law, level)


class Cover(NamedTuple):
    """Smallest set of motors that covers a list of nameplates.

    Attributes
    ----------
    covers : dict[CatalogMotor, list[int]]
        Indices of the nameplates that each motor covers. The motor of which the most units are
        wanted is first.
    open : list[int]
        Indices of the nameplates that no motor covers.
    units : ndarray
        Number of motors wanted for each nameplate, shape (nameplates,).
    """

    covers: dict[CatalogMotor, list[int]]
    open: list[int]
    units: np.ndarray

    def count(self, lines) -> int:
        """Return the number of motors wanted for the nameplates with the indices ``lines``."""
        return int(self.units[list(lines)].sum())


def fewest(entries, need, quantities=()) -> Cover:
    """Return the smallest set of motors that covers all nameplates.

    Of equally small sets, the one with the lowest prices is preferred. A motor's price counts in
    proportion to the units that it is likely to supply: the units wanted for a nameplate are
    divided among all motors that fit it.

    Parameters
    ----------
    entries : sequence of Entry
        Motors that fit each distinct nameplate, as in `selection.answer.counter_list`.
    need : array_like
        Index in ``entries`` of each nameplate.
    quantities : optional
        Number of motors wanted for each nameplate, by default one.
    """
    units = np.asarray(quantities, int) if len(quantities) else np.ones(len(need), int)
    motors, fitting = {}, []  # motors by identity, because comparing their values takes longer
    for entry in entries:
        some = [one.candidate.case.motor for one in entry.fitting]
        motors |= {id(motor): motor for motor in some}
        fitting.append([id(motor) for motor in some])
    open_to = [line for line, at in enumerate(need) if not fitting[at]]
    if not motors:
        return Cover({}, open_to, units)
    place = {key: at for at, key in enumerate(motors)}
    used = [at for at in dict.fromkeys(need) if fitting[at]]
    fits = np.zeros((len(used), len(motors)))
    for row, at in zip(fits, used, strict=True):
        row[[place[key] for key in fitting[at]]] = 1
    wanted = np.bincount(need, units, len(entries))[used]
    share = wanted @ (fits / fits.sum(axis=1, keepdims=True))
    prices = [motor.price for motor in motors.values()]
    chosen = _smallest_cover(
        fits, [None if price is None else price * part for price, part in zip(prices, share)]
    )
    keys = list(motors)
    covers = {keys[at]: [] for at in chosen}
    for line, at in enumerate(need):
        best = next((key for key in fitting[at] if key in covers), None)
        if best is not None:
            covers[best].append(line)
    most = sorted(covers.items(), key=lambda one: (-units[one[1]].sum(), motors[one[0]].name))
    return Cover({motors[key]: lines for key, lines in most}, open_to, units)


def _smallest_cover(fits: np.ndarray, prices) -> np.ndarray:
    """Return the smallest set of columns that covers all rows of ``fits``, at the lowest price."""
    known = [price for price in prices if price is not None]
    dear = max(known, default=1.0)
    cost = np.array([dear if price is None else price for price in prices])
    cost = 1 + cost / (1 + cost.sum())  # the prices of all columns together are less than one
    found = scipy.optimize.milp(
        cost,
        integrality=np.ones(len(cost)),
        bounds=scipy.optimize.Bounds(0, 1),
        constraints=scipy.optimize.LinearConstraint(fits, 1, np.inf),
    )
    return np.flatnonzero(np.rint(found.x))


class Setting(NamedTuple):
    """Line on the counter card: a motor, with the rating [W] and current [A] to set."""

    motor: CatalogMotor
    rating: float
    current: float


def card(motors) -> tuple[Setting, ...]:
    """Return one motor and setting for each combination of voltage, speed and power in ``motors``.

    As few models as possible are used, at the lowest total price. The lines are sorted by voltage,
    speed and power.
    """
    lines = {}
    for number, motor in enumerate(motors):
        for rating, current in zip(motor.ratings, motor.currents, strict=True):
            key = _volts_class(motor), motor.frequency, motor.poles, _power_class(rating)
            lines.setdefault(key, {})[number] = Setting(motor, rating, current)
    if not lines:
        return ()
    fits = np.array([[n in some for n in range(len(motors))] for some in lines.values()], float)
    chosen = _smallest_cover(fits, [motor.price for motor in motors])
    rank = {int(n): place for place, n in enumerate(chosen[np.argsort(-fits[:, chosen].sum(0))])}
    best = {
        key: some[min((n for n in some if n in rank), key=rank.get)] for key, some in lines.items()
    }
    return tuple(
        best[key] for key in sorted(best, key=lambda key: (key[0], key[1], -key[2], key[3]))
    )


def _volts_class(motor: CatalogMotor) -> float:
    """Return the upper rated voltage, rounded to classes such as 120, 240, 276 and 480 V."""
    return round(motor.voltage_high / SAME_VOLTS) * SAME_VOLTS


def _power_class(rating: float) -> int:
    """Return a number that is the same for ratings of the same class, such as 248 and 249 W."""
    return round(np.log(rating) / SAME_POWER)
