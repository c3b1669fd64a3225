"""A winding's resistance at switch-off, from ohms read while it cools.

An ohmmeter cannot be on a winding that runs. The first reading comes some seconds after switching
off, when the winding has already lost part of its rise; a curve through several readings is drawn
back to the moment of switching off.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize_scalar

from airover.errors import InputError
from airover.limits import Range, check
from airover.message import Message
from airover.physics.heat import OHM

# IEC 60034-1, rise by resistance, motors up to 50 kW (from memory, not verified): a first reading
# within so many seconds needs no curve; later than twice that it is not accepted.
SOON = 30.0  # [s]
TOO_LATE = 2 * SOON
TIME_OFF = Range(0.0, 7200.0, "s")
METER = Range(0.0, 1e3, "ohm")
TIME_CONSTANTS = (0.05, 50.0)  # looked at, over the time from first to last reading
JUMP = 0.34  # share of the whole fall by which no reading may lie above the one before


class SwitchOff(NamedTuple):
    """A winding at switch-off: ``resistance_hot`` [ohm] and its ``standard_error`` [ohm].

    The curve falls with ``time_constant`` [s] to ``resistance_end`` [ohm]. ``late`` says that the
    first reading came later than the standard's 30 s.
    """

    resistance_hot: float
    standard_error: float
    time_constant: float
    resistance_end: float
    late: bool


def at_switch_off(time_off, resistance_hot, resistance_end=None, meter=0.0) -> SwitchOff:
    """The SwitchOff behind readings of ``resistance_hot`` [ohm] at ``time_off`` [s] after it.

    Least squares of an exponential, which is a straight line where the logarithm of resistance
    over ``resistance_end`` [ohm] is drawn over time (IEC 60034-1 and IEEE 112, extrapolation to
    switch-off). That end is the cold winding's resistance at the air's temperature; None finds
    it from the readings, one more of which is then needed. A winding cools fast to its iron and
    then slowly with it: with readings of the first two or three minutes leave the end to them,
    with later ones the drawn-back value is too low. The error is that of the readings'
    scatter, or of ``meter`` [ohm], the deviation of a reading, where that is larger. Arrays of
    one axis. Raises InputError out of range, for too few readings, times that do not rise,
    resistances that do not fall, and a first reading later than twice the standard's time.

    >>> found = at_switch_off([10, 20, 30, 40], [12.8, 12.6, 12.42, 12.258])
    >>> round(found.resistance_hot, 3), round(found.time_constant, 1), found.late
    (13.022, 94.9, False)
    """
    time, ohms = _readings(time_off, resistance_hot, 3 if resistance_end is not None else 4)
    noise = float(check("meter", meter, METER))
    end = None if resistance_end is None else _end(resistance_end, ohms)
    span = time[-1] - time[0]
    ends = np.log(np.array(TIME_CONSTANTS) * span)

    def misfit(log_constant):
        return np.sum(_Line.through(time, ohms, np.exp(log_constant), end).miss ** 2)

    grid = np.linspace(*ends, 60)
    best = int(np.argmin([misfit(one) for one in grid]))
    if best == 0:
        given, accepted = Message("error.cooling.at_once"), Message("error.cooling.faster")
        raise InputError("resistance_hot", given, accepted)
    if best == len(grid) - 1:
        given, accepted = Message("error.cooling.straight"), Message("error.cooling.bent")
        raise InputError("resistance_hot", given, accepted)
    around = (grid[best - 1], grid[best + 1])
    constant = float(np.exp(minimize_scalar(misfit, bounds=around, method="bounded").x))
    line = _Line.through(time, ohms, constant, end)
    return SwitchOff(line.start, line.error(noise), constant, line.end, bool(time[0] > SOON))


class _Line(NamedTuple):
    """An exponential of a given time constant through readings: end + fall exp(-t / constant)."""

    time: np.ndarray
    constant: float
    fall: float
    end: float
    end_known: bool
    miss: np.ndarray

    @classmethod
    def through(cls, time, ohms, constant, end) -> "_Line":
        decay = np.exp(-time / constant)
        if end is None:
            fall, found = np.linalg.lstsq(np.stack([decay, np.ones_like(decay)], 1), ohms)[0]
        else:
            fall, found = decay @ (ohms - end) / (decay @ decay), end
        miss = ohms - found - fall * decay
        return cls(time, constant, float(fall), float(found), end is not None, miss)

    @property
    def start(self) -> float:
        return self.end + self.fall

    def error(self, noise: float) -> float:
        """Standard error of the start: the first-order one of least squares."""
        decay = np.exp(-self.time / self.constant)
        columns = [decay, self.fall * self.time * decay]  # by the fall, by the rate
        if not self.end_known:
            columns.append(np.ones_like(decay))
        slopes = np.stack(columns, axis=1)
        free = len(decay) - slopes.shape[1]
        variance = max(float(self.miss @ self.miss) / free, noise**2)
        weight = np.array([1.0, 0.0, 1.0])[: slopes.shape[1]]
        return float(np.sqrt(variance * weight @ np.linalg.pinv(slopes.T @ slopes) @ weight))


def _readings(time_off, resistance_hot, fewest: int):
    """Times and ohms as arrays, once they can be those of a winding that cools."""
    time = np.atleast_1d(check("time_off", time_off, TIME_OFF))
    ohms = np.atleast_1d(check("resistance_hot", resistance_hot, OHM))
    if time.ndim != 1 or time.shape != ohms.shape or len(time) < fewest:
        given = Message("error.cooling.counts", times=time.size, resistances=ohms.size)
        raise InputError("time_off", given, Message("error.cooling.each", count=fewest))
    if not np.all(np.diff(time) > 0):
        raise InputError("time_off", f"{time.tolist()}", Message("error.cooling.times"), "s")
    if time[0] > TOO_LATE:
        accepted = Message("error.cooling.first", time=f"{TOO_LATE:g} s")
        raise InputError("time_off", f"{time[0]:g}", accepted, "s")
    fall = ohms[0] - ohms[-1]
    if fall <= 0 or np.any(np.diff(ohms) > JUMP * fall):
        accepted = Message("error.cooling.resistances")
        raise InputError("resistance_hot", f"{ohms.tolist()}", accepted, "ohm")
    return time, ohms


def _end(resistance_end, ohms) -> float:
    end = float(check("resistance_end", resistance_end, OHM))
    if end >= ohms.min():
        accepted = Message("error.cooling.end", resistance=f"{ohms.min():g} ohm")
        raise InputError("resistance_end", f"{end:g}", accepted, "ohm")
    return end
