"""A figure with its uncertainty: 5, 50 and 95 per cent."""

from typing import NamedTuple

import numpy as np


class Band(NamedTuple):
    """The 5 %, 50 % and 95 % points of a figure."""

    low: float
    mid: float
    high: float

    @classmethod
    def of(cls, draws, axis=-1) -> "Band":
        """Band of ``draws`` along ``axis``; with more axes each member is an array."""
        return cls(*np.quantile(draws, (0.05, 0.5, 0.95), axis=axis))

    def scaled(self, factor: float) -> "Band":
        """The same band in another unit; ``factor`` is positive."""
        return Band(*(factor * x for x in self))
