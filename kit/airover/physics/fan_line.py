"""A fan's pressure and power as piecewise cubics of its flow, and every crossing with a system.

A system line p = k Q^2 meets the curve where the curve's steepness g = p / Q^2 equals k. So the
turns of g cut the curve into branches that each line meets at most once. Where g falls, the fan's
pressure falls steeper than the system's rises (p' < 2 k Q is the same as g' < 0): with a little
more flow the system asks for more than the fan gives, and the flow comes back. Those crossings are
stable, the others are not. (Stability of fan and system: any handbook, common practice.)
"""

from typing import NamedTuple

import numpy as np
from scipy.interpolate import PPoly
from scipy.optimize import elementwise

from airover.errors import InputError
from airover.message import Message

ROUNDING = 1e-9  # of the highest pressure: a line through an end point meets it


class Line:
    """Static ``pressure`` [Pa] and shaft ``power`` [W] of one fan, as SciPy's PPoly of flow [m3/s].

    Raises InputError where the pressure follows a system line, so that the flow is undecided.
    """

    def __init__(self, pressure: PPoly, power: PPoly):
        self.pressure, self.power = pressure, power
        turns = _turns(pressure)
        at = pressure(turns)
        # g falls: p2 / Q2^2 < p1 / Q1^2, multiplied out because Q1 may be 0
        falls = at[1:] * turns[:-1] ** 2 < at[:-1] * turns[1:] ** 2
        kept = np.r_[True, falls[1:] != falls[:-1], True]
        self.turns, self.falls = turns[kept], falls[kept[:-1]]

    def met(self, resistance) -> "Met":
        """Where lines of ``resistance`` [Pa s2/m6], of any shape, meet the branches.

        Raises no error: out of reach, nothing is met.
        """
        resistance = np.asarray(resistance, dtype=float)
        at = self.pressure(self.turns)
        column = (-1,) + (1,) * resistance.ndim
        excess = at.reshape(column) - resistance * self.turns.reshape(column) ** 2
        excess = np.where(np.abs(excess) <= ROUNDING * np.abs(at).max(), 0.0, excess)
        first, last, falls = excess[:-1], excess[1:], self.falls.reshape(column)
        holds = np.where(falls, (first >= 0) & (last <= 0), (first < 0) & (last > 0))
        return Met(self, resistance, excess, holds, holds & falls)

    def extended(self, stretch) -> "Line":
        """The line with both ends drawn on straight by ``stretch`` of the range of its flows.

        It is not drawn below half of the first flow. Raises InputError as the class does.
        """
        ends = self.pressure.x[[0, -1]]
        beyond = stretch * np.ptp(ends)
        low, high = max(ends[0] - beyond, ends[0] / 2), ends[1] + beyond
        return Line(_drawn_on(self.pressure, low, high), _drawn_on(self.power, low, high))


class Met(NamedTuple):
    """Which branches of ``line`` meet lines of ``resistance`` [Pa s2/m6].

    ``excess`` [Pa] of fan over system has shape (turns, ...); ``holds`` and ``stable`` are true for
    a branch, shape (branches, ...), that is met, and met stably.
    """

    line: Line
    resistance: np.ndarray
    excess: np.ndarray
    holds: np.ndarray
    stable: np.ndarray

    def flow(self, branch):
        """Flow [m3/s] at which ``branch`` (a number, of the shape of the lines) is met."""
        turns, branch = self.line.turns, np.asarray(branch)
        first, last = turns[branch], turns[branch + 1]
        at_first, at_last = (
            np.take_along_axis(self.excess, one[np.newaxis], axis=0)[0]
            for one in (branch, branch + 1)
        )
        found = elementwise.find_root(
            lambda flow, k: self.line.pressure(flow) - k * flow**2,
            (first, last),
            args=(self.resistance,),
        )
        # A line through an end point may miss the bracket by the last digit.
        return np.where(at_first == 0, first, np.where(at_last == 0, last, found.x))


def _turns(pressure: PPoly):
    """Both ends, and the flows between them at which g = p / Q^2 turns: p' Q = 2 p."""
    a, b, c, d = pressure.c
    at = pressure.x[:-1]
    # p' Q - 2 p in the piece's own coordinate, Q = at + x
    turning = PPoly(np.array([a, 3 * a * at, 2 * b * at - c, c * at - 2 * d]), pressure.x)
    roots = turning.roots(discontinuity=False, extrapolate=False)
    if np.any(np.isnan(roots)):
        flow = f"{roots[~np.isnan(roots)][0]:.4g} m3/s"
        given = Message("error.curve.along_line", flow=flow)
        raise InputError("pressure", given, Message("error.curve.crosses"))
    inside = roots[(roots > at[0]) & (roots < pressure.x[-1])]
    return np.unique(np.r_[pressure.x[0], inside, pressure.x[-1]])


def _drawn_on(line: PPoly, low, high) -> PPoly:
    """``line`` with straight pieces down to ``low`` and up to ``high``, in its slopes there."""
    slope, (first, last) = line.derivative(), line.x[[0, -1]]
    drawn = PPoly(line.c, line.x)
    after = [[0.0], [0.0], [slope(last)], [line(last)]]
    drawn.extend(np.array(after), [high])
    if low < first:
        before = [[0.0], [0.0], [slope(first)], [line(first) + slope(first) * (low - first)]]
        drawn.extend(np.array(before), [low])
    return drawn
