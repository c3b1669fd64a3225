"""Uncertain values: percentiles, and samples from common distributions.

Normal probabilities and quantiles are those of Python's standard library (`math.erfc` and, for the
quantile, algorithm AS 241 of Wichura, Applied Statistics 37, 1988). SciPy has faster ones for large
arrays, but importing them takes longer than all samples of a job.
"""

from functools import lru_cache
from math import erfc, sqrt
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

_NORMAL = NormalDist()
_HALF_OF_90 = _NORMAL.inv_cdf(0.95)  # half width of a 90 % range in standard deviations
_PROBABILITY = np.frompyfunc(lambda deviate: erfc(-deviate / sqrt(2)) / 2, 1, 1)
MOST_REMEMBERED = 256  # arrays of probabilities; the same samples are used for many motors
_QUANTILE = np.frompyfunc(_NORMAL.inv_cdf, 1, 1)


class Band(NamedTuple):
    """The 5th, 50th and 95th percentiles of a value."""

    low: float
    mid: float
    high: float

    @classmethod
    def of(cls, samples, axis=-1) -> "Band":
        """Return the Band of ``samples`` along ``axis``."""
        ordered = np.moveaxis(_ordered(samples, axis), axis, 0)
        ends = [_between(ordered, share) for share in (0.05, 0.5, 0.95)]
        return cls(*(ends if ordered.ndim > 1 else map(float, ends)))

    def first(self) -> "Band":
        """Return a Band that contains the first element of each array in a Band."""
        return Band(*(float(ends[0]) for ends in self))

    def scaled(self, factor: float) -> "Band":
        """Return the Band multiplied by a positive ``factor``."""
        return Band(*(factor * x for x in self))


# These functions return the same as those of NumPy, which take much longer for a few hundred samples
# and import numpy.ma.
def quantile(samples, share: float) -> float:
    """Return the quantile ``share`` of all ``samples``, such as 0.95."""
    return float(_between(_ordered(np.ravel(samples), -1), share))


def median(samples) -> float:
    """Return the median of all ``samples``."""
    ordered = _ordered(np.ravel(samples), -1)
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2


def _ordered(samples, axis: int):
    """Return ``samples`` in ascending order along ``axis``, or NaN if any of them is NaN."""
    ordered = np.sort(np.asarray(samples, dtype=float), axis=axis)
    unknown = np.isnan(np.take(ordered, [-1], axis=axis))  # NaN is last
    return np.where(unknown, np.nan, ordered) if unknown.any() else ordered


def _between(ordered, share: float):
    """Return the quantile ``share`` of values that are in ascending order along the first axis."""
    place = (len(ordered) - 1) * share
    low = int(place)
    rest, one, other = place - low, ordered[low], ordered[min(low + 1, len(ordered) - 1)]
    return one + (other - one) * rest if rest < 0.5 else other - (other - one) * (1 - rest)


def _probability(deviates):
    """Return the probability that a standard normal variable is below ``deviates``."""
    deviates = np.asarray(deviates, dtype=float)
    return _probabilities(deviates.tobytes()).reshape(deviates.shape)


@lru_cache(maxsize=MOST_REMEMBERED)
def _probabilities(deviates: bytes) -> np.ndarray:
    return _PROBABILITY(np.frombuffer(deviates)).astype(float)


def _quantile(probability):
    """Return the standard normal deviates below which ``probability`` lies."""
    return np.asarray(_QUANTILE(probability), dtype=float)


def normal_draws(rng: np.random.Generator, names, draws: int) -> dict:
    """Return standard normal deviates, shape (draws,), for each of ``names``.

    With Latin hypercube sampling, each variable takes the same set of equally probable values in
    random order. Even a few dozen samples therefore have an exact median and accurate tails.
    """
    return {name: rng.permutation(_levels(draws)) for name in names}


@lru_cache
def _levels(draws: int) -> np.ndarray:
    """Return standard normal deviates with equally probable values between them."""
    return _quantile((np.arange(draws) + 0.5) / draws)


def uniform(ends, deviates):
    """Convert standard normal deviates to uniformly distributed values between ``ends``."""
    low, high = ends
    return low + (high - low) * _probability(deviates)


def normal(ends, deviates):
    """Convert standard normal deviates to normal values, 90 % of which are between ``ends``."""
    low, high = ends
    return (low + high) / 2 + (high - low) / 2 * deviates / _HALF_OF_90


def log_normal(ends, deviates):
    """Convert deviates to log-normal values, 90 % of which are between the positive ``ends``."""
    return np.exp(normal(np.log(ends), deviates))


def normal_within(ends, limits, deviates):
    """Convert standard normal deviates as in ``normal``, and truncate at ``limits``."""
    middle, scale = sum(ends) / 2, (ends[1] - ends[0]) / 2 / _HALF_OF_90
    low, high = (_probability((limit - middle) / scale) for limit in limits)
    return middle + scale * _quantile(low + (high - low) * _probability(deviates))
