"""A figure with its uncertainty: 5, 50 and 95 per cent."""

from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri


class Band(NamedTuple):
    """The 5 %, 50 % and 95 % points of a figure."""

    low: float
    mid: float
    high: float

    @classmethod
    def of(cls, draws, axis=-1) -> "Band":
        """Band of ``draws`` along ``axis``; with more axes each member is an array."""
        return cls(*np.quantile(draws, (0.05, 0.5, 0.95), axis=axis))

    def first(self) -> "Band":
        """The band of the first case, where each member is an array of cases."""
        return Band(*(float(ends[0]) for ends in self))

    def scaled(self, factor: float) -> "Band":
        """The same band in another unit; ``factor`` is positive."""
        return Band(*(factor * x for x in self))


def normal_draws(rng: np.random.Generator, names, draws: int) -> dict:
    """Standard normal deviates, shape (draws,), for each of ``names``.

    Stratified (Latin hypercube): each name's deviates are the same evenly likely values in an
    order of their own, so that even a few dozen draws have an exact median and honest ends.
    """
    levels = ndtri((np.arange(draws) + 0.5) / draws)
    return {name: rng.permutation(levels) for name in names}


def uniform(ends, deviates):
    """Values evenly likely from ``ends[0]`` to ``ends[1]``, from standard normal deviates."""
    low, high = ends
    return low + (high - low) * ndtr(deviates)
