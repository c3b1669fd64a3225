"""Failures over the years as competing risks: whichever part fails first decides what is done.

Winding and bearing end the motor: it is replaced by one of the same kind, with a new capacitor.
The capacitor alone is replaced alone. Each life is Weibull; the same deviates serve every motor,
so motors differ by what they are and not by luck.
"""

from typing import NamedTuple

import numpy as np

from airover.limits import Range, check

PARTS = ("winding", "bearing", "capacitor")
CAPACITOR = PARTS.index("capacitor")
# Weibull shapes. Own judgement, but for bearings: with 2.3 grease has its L10 at 0.44 of its L50.
SHAPES = {"winding": 3.0, "bearing": 2.3, "capacitor": 2.0}

SHAPE = Range(0.5, 20.0, "")
SURVIVORS = Range(0.01, 0.999, "")
TERM = Range(0.0, 50.0, "years")
LIFE = Range(0.02, 1e5, "years")  # a week, and so long that it never ends


class Repairs(NamedTuple):
    """Counts of shape (cases, years, draws); ``paid`` and ``covered`` by warranty are motors that
    were replaced, ``capacitors`` those replaced alone; ``causes`` (cases, parts) is the mean count
    of failures by part; ``none`` (cases, draws) is true where nothing failed."""

    paid: np.ndarray
    covered: np.ndarray
    capacitors: np.ndarray
    causes: np.ndarray

    @property
    def none(self):
        return (self.paid + self.covered + self.capacitors).sum(axis=1) == 0


def weibull_scale(life, survivors, shape):
    """Scale (63 % point) of the Weibull law of which a share ``survivors`` reaches ``life``.

    life / (-ln survivors)^(1/shape), in the unit of ``life`` [years]; arrays broadcast. Raises
    InputError out of range.

    >>> round(float(weibull_scale(10.0, 0.9, 1.0)), 2)
    94.91
    """
    life, shape = check("life", life, LIFE), check("shape", shape, SHAPE)
    return life / (-np.log(check("survivors", survivors, SURVIVORS))) ** (1 / shape)


def half_life(life, survivors, shape):
    """Years that half of such parts reach, where a share ``survivors`` reaches ``life`` [years].

    Same Weibull law, ``shape`` and errors as in weibull_scale.

    >>> round(float(half_life(1.0, 0.9, 2.3)) * 0.44, 2)
    1.0
    """
    return weibull_scale(life, survivors, shape) * np.log(2) ** (1 / np.asarray(shape))


def repairs(scale, shape, horizon: int, warranty, seed: int = 0) -> Repairs:
    """Failures of motors within ``horizon`` years, each renewed by the same kind.

    ``scale`` [years] of shape (cases, parts, draws) and ``shape`` (parts,) of the lives, parts as
    in PARTS; ``warranty`` [years] of shape (cases,), which each motor that is paid for starts anew
    and a motor given for it carries on. Raises InputError out of range.
    """
    scale, shape = check("scale", scale, LIFE), check("shape", shape, SHAPE)
    warranty = check("warranty", warranty, TERM)
    cases, _, draws = scale.shape
    rng = np.random.default_rng([seed, 5])
    ends = scale * _unit_lives(rng, shape, draws)
    covered_until = np.repeat(warranty[:, None], draws, axis=1)
    counts = np.zeros((3, cases, horizon, draws), dtype=np.int16)
    causes = np.zeros((cases, len(PARTS)))
    # In each round a case has at most one event of a draw, so no place is counted twice.
    while (first := _first(ends, horizon)).case.size:
        case, draw, part, time = first
        motor, covered = part != CAPACITOR, time < covered_until[case, draw]
        kind = np.where(motor, covered, 2)
        counts[kind, case, np.ceil(time).astype(int) - 1, draw] += 1
        causes += _counted(case, part, cases)
        anew = time + warranty[case]
        covered_until[case, draw] = np.where(kind == 0, anew, covered_until[case, draw])
        renewed = time[:, None] + scale[case, :, draw] * _unit_lives(rng, shape, draws)[:, draw].T
        whole = motor[:, None] | (np.arange(len(PARTS)) == CAPACITOR)
        ends[case, :, draw] = np.where(whole, renewed, ends[case, :, draw])
    return Repairs(*counts, causes / draws)


class _First(NamedTuple):
    """The next failure of each case and draw that has one: which, and when [years]."""

    case: np.ndarray
    draw: np.ndarray
    part: np.ndarray
    time: np.ndarray


def _first(ends, horizon) -> _First:
    time = ends.min(axis=1)
    case, draw = np.nonzero(time <= horizon)
    return _First(case, draw, ends[case, :, draw].argmin(axis=1), time[case, draw])


def _counted(case, part, cases):
    """How often each part of each case, (cases, parts)."""
    places = case * len(PARTS) + part
    return np.bincount(places, minlength=cases * len(PARTS)).reshape(cases, len(PARTS))


def _unit_lives(rng, shape, draws):
    """Lives of scale 1, (parts, draws); never quite 0."""
    lives = rng.standard_exponential((len(PARTS), draws)) ** (1 / shape[:, None])
    return np.maximum(lives, 1e-9)
