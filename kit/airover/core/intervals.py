"""Figures with uncertainty: 5, 50 and 95 % points, and samples from common distributions."""

from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri


class Band(NamedTuple):
    """The 5 %, 50 % and 95 % points of a figure."""

    low: float
    mid: float
    high: float

    @classmethod
    def of(cls, samples, axis=-1) -> "Band":
        """Return the Band of ``samples`` (floats or arrays) along ``axis``."""
        ends = np.quantile(samples, (0.05, 0.5, 0.95), axis=axis)
        return cls(*(ends if ends.ndim > 1 else ends.tolist()))

    def first(self) -> "Band":
        """Return the Band of the first element of a Band of arrays."""
        return Band(*(float(ends[0]) for ends in self))

    def scaled(self, factor: float) -> "Band":
        """Return the Band multiplied by a positive ``factor``."""
        return Band(*(factor * x for x in self))


def normal_draws(rng: np.random.Generator, names, draws: int) -> dict:
    """Return standard normal deviates, shape (draws,), for each of ``names``.

    Latin hypercube sampling: each name has the same equally probable values in random order, so
    even a few dozen samples have an exact median and accurate tails.
    """
    levels = ndtri((np.arange(draws) + 0.5) / draws)
    return {name: rng.permutation(levels) for name in names}


def uniform(ends, deviates):
    """Return values distributed uniformly from ``ends[0]`` to ``ends[1]``, from normal deviates."""
    low, high = ends
    return low + (high - low) * ndtr(deviates)


def normal(ends, deviates):
    """Return normal values, 90 % of them between ``ends``, from standard normal deviates."""
    low, high = ends
    return (low + high) / 2 + (high - low) / 2 * deviates / ndtri(0.95)


def log_normal(ends, deviates):
    """Return log-normal values, 90 % of them between positive ``ends``, from normal deviates."""
    return np.exp(normal(np.log(ends), deviates))


def normal_within(ends, limits, deviates):
    """Return values as from ``normal``, truncated at ``limits``, from standard normal deviates."""
    middle, scale = sum(ends) / 2, (ends[1] - ends[0]) / 2 / ndtri(0.95)
    low, high = (ndtr((limit - middle) / scale) for limit in limits)
    return middle + scale * ndtri(low + (high - low) * ndtr(deviates))
