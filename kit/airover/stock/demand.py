"""Demand for one thing, and how many of it to keep: closed forms.

Calls come as a Poisson process whose rate is known from a history only. With a gamma law for the
rate, what is asked for in a time to come has a negative binomial law: wider than Poisson's where
the history is short. Sources: Gelman and others, Bayesian Data Analysis (gamma and Poisson);
Zipkin, Foundations of Inventory Management (newsvendor, base stock, loss functions); Sherbrooke,
METRIC (1968), with Palm's theorem: under a base stock the number on order has the law of what is
asked for in one lead time. From memory.
"""

import numpy as np
from scipy import stats

from airover.errors import InputError
from airover.limits import Range, check

SHAPE_BEFORE = 0.5  # Jeffreys' prior of a Poisson rate
COUNT = Range(0.0, 1e9, "")
TIME = Range(1e-9, 1e9, "day")
SERVICE = Range(0.0, 0.9999, "")


def predictive(count, exposure, period):
    """What is asked for in ``period`` [day], after ``count`` in ``exposure`` [day] of history.

    A scipy.stats law, negative binomial. Jeffreys' prior keeps a rate above 0 where nothing was
    asked for yet. Arrays broadcast. Raises InputError out of range.

    >>> float(predictive(20, 100.0, 10.0).mean().round(3))
    2.05
    """
    shape = check("count", count, COUNT) + SHAPE_BEFORE
    exposure = check("exposure", exposure, TIME)
    return stats.nbinom(shape, exposure / (exposure + check("period", period, TIME)))


def overdispersed(mean: float, variance: float):
    """The law of counts with that ``mean`` and ``variance``: negative binomial, else Poisson.

    Raises InputError for a mean below 0.
    """
    mean = float(check("mean", mean, COUNT))
    if variance <= mean * (1 + 1e-9) or mean == 0:
        return stats.poisson(mean)
    return stats.nbinom(mean**2 / (variance - mean), mean / variance)


def sales(law, units):
    """Expected number sold of ``units`` at hand: the sum of P(asked for >= k), k = 1 to ``units``.

    Concave in ``units``: each further one sells less. ``units`` is a whole number.

    >>> float(sales(stats.poisson(1.0), 1).round(4))
    0.6321
    """
    return np.sum([law.sf(k) for k in range(int(units))], axis=0) + 0.0 * law.mean()


def newsvendor(law, underage: float, overage: float) -> int:
    """How many to keep for one period where a sale gains and a leftover costs.

    The smallest number with P(asked for <= it) at least the critical ratio, underage /
    (underage + overage); ``underage`` is what a sale missed would have brought over its cost,
    ``overage`` what one left over loses, in the same money. Raises InputError unless both
    are above 0.
    """
    if not (underage > 0 and overage > 0):
        given = f"{underage:g} and {overage:g}"
        raise InputError("underage and overage", given, "amounts of money above 0")
    return int(law.ppf(underage / (underage + overage)))


def fill_rate(law, level):
    """Share of calls served at once from a base stock of ``level`` units, restocked one for one.

    ``law`` is that of what is asked for in a lead time. A call is served when fewer than
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
