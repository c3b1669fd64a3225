"""Uncertain values: percentiles, and samples from common distributions."""

from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri


class Band(NamedTuple):
    """The 5th, 50th and 95th percentiles of a value."""

    low: float
    mid: float
    high: float

    @classmethod
    def of(cls, samples, axis=-1) -> "Band":
        """Return the Band of ``samples`` along ``axis``."""
        ends = np.quantile(samples, (0.05, 0.5, 0.95), axis=axis)
        return cls(*(ends if ends.ndim > 1 else ends.tolist()))

    def first(self) -> "Band":
        """Return a Band that contains the first element of each array in a Band."""
        return Band(*(float(ends[0]) for ends in self))

    def scaled(self, factor: float) -> "Band":
        """Return the Band multiplied by a positive ``factor``."""
        return Band(*(factor * x for x in self))


def normal_draws(rng: np.random.Generator, names, draws: int) -> dict:
    """Return standard normal deviates, shape (draws,), for each of ``names``.

    With Latin hypercube sampling, each variable takes the same set of equally probable values in
    random order. Even a few dozen samples therefore have an exact median and accurate tails.
    """
    levels = ndtri((np.arange(draws) + 0.5) / draws)
    return {name: rng.permutation(levels) for name in names}


def uniform(ends, deviates):
    """Convert standard normal deviates to uniformly distributed values between ``ends``."""
    low, high = ends
    return low + (high - low) * ndtr(deviates)


def normal(ends, deviates):
    """Convert standard normal deviates to normal values, 90 % of which are between ``ends``."""
    low, high = ends
    return (low + high) / 2 + (high - low) / 2 * deviates / ndtri(0.95)


def log_normal(ends, deviates):
    """Convert deviates to log-normal values, 90 % of which are between the positive ``ends``."""
    return np.exp(normal(np.log(ends), deviates))


def normal_within(ends, limits, deviates):
    """Convert standard normal deviates as in ``normal``, and truncate at ``limits``."""
    middle, scale = sum(ends) / 2, (ends[1] - ends[0]) / 2 / ndtri(0.95)
    low, high = (ndtr((limit - middle) / scale) for limit in limits)
    return middle + scale * ndtri(low + (high - low) * ndtr(deviates))
