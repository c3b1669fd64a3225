"""Measured points of a fan curve: checks, outliers, smoothing.

Points from a test rig or a printed curve are accurate and are joined. Points measured on a roof
scatter and are smoothed. The 90 % range applies to single points, so it is wider than the range of
the curve itself. Outliers are identified from a low-degree polynomial, which does not follow a deep
stall: near a deep stall, good points may be flagged.
"""

from itertools import combinations
from typing import NamedTuple

import numpy as np
from scipy.interpolate import make_smoothing_spline
from scipy.optimize import isotonic_regression

from airover.core.errors import FLOW, PRESSURE_FAN, SHAFT_POWER, InputError, Range, array_of, check
from airover.core.message import Message

FEWEST = 3
FEWEST_TO_SMOOTH = 5
LEAST_EFFICIENCY = 0.005  # peak static efficiency; less means pressures in another unit
HINTS = {FLOW: "flow", PRESSURE_FAN: "pressure", SHAFT_POWER: "power"}  # for common unit errors
VALUES = Range(-1e6, 1e6, "")
THRESHOLD = Range(1.0, 20.0, "")
DEVIATION_OF_MAD = 0.6745  # median absolute deviation over standard deviation, normal errors
READING = 0.01  # of the value range: finest resolution of a field meter (common practice)
ALONE = 1e-6  # 1 - leverage of a point that the fit always follows
STIFFNESS = np.logspace(-5, 1, 13)  # of the spline, from interpolation to a straight line
COST = 1.4  # per degree of freedom in cross-validation; 1 follows scatter in small samples


def checked(flow, pressure, power):
    """Return the three columns of a curve as arrays of shape (n,), n >= 3, in order of rising flow.

    Parameters
    ----------
    flow
        Airflow [m3/s].
    pressure
        Static pressure [Pa].
    power
        Shaft power [W].

    Raises
    ------
    InputError
        If the points are not a fan curve: columns that `columns` rejects, repeated flow, more air
        power than shaft power, pressures too small for the power, or pressure that rises at the
        end.
    """
    flow, pressure, power = columns(flow, pressure, power)
    _check_flow(flow)
    _check_pressure(flow, pressure)
    _check_power(flow, pressure, power)
    return flow, pressure, power


def columns(flow, pressure, power):
    """Return the three columns as arrays of shape (n,), n >= 3, in the original order.

    Parameters
    ----------
    flow
        Airflow [m3/s].
    pressure
        Static pressure [Pa].
    power
        Shaft power [W].

    Raises
    ------
    InputError
        For too few points, for columns of different length, and for values out of range, such as
        cfm entered as m3/s.
    """
    flow = _columned("flow", flow, FLOW)
    pressure = _columned("pressure", pressure, PRESSURE_FAN, flow.size)
    return flow, pressure, _columned("power", power, SHAFT_POWER, flow.size)


def _columned(field, values, accepted, size=None):
    try:
        values = np.atleast_1d(check(field, values, accepted))
    except InputError as error:
        if accepted in HINTS:
            accepted = Message(f"error.curve.hint.{HINTS[accepted]}", range=accepted)
        raise InputError(field, error.given, accepted, error.unit) from None
    if values.ndim != 1 or values.size < FEWEST:
        given = _points(values) if values.ndim == 1 else array_of(values.shape)
        raise InputError(field, given, Message("error.curve.list", count=FEWEST))
    if size not in (None, values.size):
        raise InputError(field, _points(values), Message("error.curve.same_count", count=size))
    return values


def _points(values) -> Message:
    one = values.size == 1
    return Message("error.curve.one_point" if one else "error.curve.points", count=values.size)


def _check_flow(flow):
    steps = np.diff(flow)
    if np.any(steps == 0):
        given = Message("error.curve.twice", flow=f"{flow[:-1][steps == 0][0]:g} m3/s")
        raise InputError("flow", given, Message("error.curve.each_flow"))
    if np.any(steps < 0):
        first, then = (f"{side[steps < 0][0]:g}" for side in (flow[:-1], flow[1:]))
        given = Message("error.curve.then", first=first, then=f"{then} m3/s")
        raise InputError("flow", given, Message("error.curve.rising"))


def _check_pressure(flow, pressure):
    if pressure[-1] > pressure[-2]:
        ends = {"first": f"{pressure[-2]:g}", "then": f"{pressure[-1]:g} Pa"}
        given = Message("error.curve.last_rises", **ends)
        raise InputError("pressure", given, Message("error.curve.last_falls"))
    if flow[0] == 0 and pressure[0] <= 0:
        given = Message("error.curve.at_no_flow", pressure=f"{pressure[0]:g} Pa")
        raise InputError("pressure", given, Message("error.curve.above_zero"))


def _check_power(flow, pressure, power):
    """Check that air power does not exceed shaft power (also detects hp or kW entered as W)."""
    short = flow * pressure > power
    if np.any(short):
        needed = (flow * pressure)[short][0]
        point = {"power": f"{power[short][0]:g} W", "flow": f"{flow[short][0]:g} m3/s"}
        accepted = Message("error.curve.air_power", power=f"{needed:.4g} W")
        raise InputError("power", Message("error.curve.power_at", **point), accepted)
    if np.all(flow * pressure < LEAST_EFFICIENCY * power):
        most = {"pressure": f"{pressure.max():g} Pa", "power": f"{power.max():g} W"}
        accepted = Message("error.curve.efficiency", least="0.5 %")
        raise InputError("pressure", Message("error.curve.most_for", **most), accepted)


def outliers(flow, values, threshold=3.5):
    """Return the indices, from 0, of points that deviate from a robust smooth line.

    The line is a polynomial of degree 2 to 4 through all points except the 1 to 3 points whose
    removal minimizes the sum of squares (least trimmed squares, Rousseeuw 1984), so an outlier
    cannot distort the line. The removed points are restored one by one, the closest first, until
    the next point has ``0.6745 |residual| / MAD`` above ``threshold``: that point and the remaining
    removed points are returned. MAD is the median absolute deviation, at least the resolution of a
    meter (1 % of the range). Each residual is divided by its own standard deviation, because the
    line is closer to points at the ends. Rule and threshold: Iglewicz & Hoaglin, How to Detect and
    Handle Outliers, ASQC 1993; all from memory.

    In and near a deep stall, which no low-degree polynomial follows, outliers may be missed and
    good points may be flagged.

    Parameters
    ----------
    flow
        Airflow [m3/s], shape (n,), n >= 5.
    values
        Values in any unit, shape (n,).
    threshold : optional
        Limit of the modified z-score, 1 to 20.

    Raises
    ------
    InputError
        If an input is invalid.

    Examples
    --------
    >>> flow = np.linspace(0.2, 1.8, 10)
    >>> pressure = 60 - 18 * flow**2
    >>> pressure[6] += 12
    >>> [int(number) for number in outliers(flow, pressure)]
    [6]
    """
    flow, values = _scattered(flow, values)
    threshold = check("threshold", threshold, THRESHOLD)
    basis = _basis(flow)
    few = _trimmed(basis, values)
    while few.size:
        kept = np.setdiff1d(np.arange(flow.size), few)
        residual = _residual(basis, values, kept)
        least = DEVIATION_OF_MAD * READING * np.ptp(values[kept])
        closest = np.argmin(residual[few])
        typical = max(np.median(residual), least)
        if DEVIATION_OF_MAD * residual[few[closest]] > threshold * typical:
            break
        few = np.delete(few, closest)
    return few


def _scattered(flow, values):
    flow = _columned("flow", flow, FLOW)
    values = _columned("values", values, VALUES, flow.size)
    count = np.unique(flow).size
    if count < FEWEST_TO_SMOOTH:
        key = "error.curve.one_different" if count == 1 else "error.curve.different"
        given = Message(key, count=count)
        raise InputError("flow", given, Message("error.curve.to_smooth", count=FEWEST_TO_SMOOTH))
    return flow, values


def _basis(flow):
    """Return the columns of a polynomial with points left over to estimate the scatter."""
    degree = 2 + (flow.size >= 10) + (flow.size >= 18)
    scaled = 2 * (flow - flow.min()) / np.ptp(flow) - 1
    return np.polynomial.chebyshev.chebvander(scaled, degree)


def _trimmed(basis, values):
    """Return the indices of the few points whose removal gives the best polynomial fit.

    Removing a set S lowers the sum of squares by r_S (I - H_SS)^-1 r_S, with the residuals r and
    the hat matrix H of the fit to all points (any book on regression).
    """
    hat = basis @ np.linalg.pinv(basis)
    left = values - hat @ values
    few = 1 + (values.size >= 8) + (values.size >= 14)
    sets = np.array(list(combinations(range(values.size), few)))
    held = (1 + ALONE) * np.eye(few) - hat[sets[:, :, None], sets[:, None, :]]
    gain = np.sum(left[sets] * np.linalg.solve(held, left[sets][..., None])[..., 0], axis=1)
    return sets[np.argmax(gain)]


def _residual(basis, values, kept):
    """Return each point's residual from the fit to ``kept``, over its standard deviation."""
    inverse = np.linalg.pinv(basis[kept])
    residual = values - basis @ (inverse @ values[kept])
    spread = np.sum((basis @ inverse) ** 2, axis=1)  # variance of the line over variance of a point
    spread[kept] *= -1  # the line follows the kept points, which reduces their residuals
    return np.abs(residual) / np.sqrt(np.maximum(1 + spread, ALONE))


class Smooth(NamedTuple):
    """Smooth line through measured points.

    Attributes
    ----------
    flow : ndarray
        Distinct flows [m3/s], shape (m,).
    values : ndarray
        Values of the line, shape (m,).
    deviation : float
        Standard deviation of single points about the line, in the unit of the values.
    """

    flow: np.ndarray
    values: np.ndarray
    deviation: float


def smoothed(flow, values, falling=False) -> Smooth:
    """Return a smooth line through scattered ``values`` at ``flow`` [m3/s], shape (n,), n >= 5.

    SciPy's cubic smoothing spline (`make_smoothing_spline`) bends only as far as the points
    require, needs no knots, and accepts unevenly spaced points; binned means would waste data.
    Points at the same flow are averaged. The stiffness minimizes the generalized cross-validation
    score (Craven & Wahba, Numer. Math. 31, 1979), with each degree of freedom counted 1.4 times as
    usual for small samples. With ``falling``, rises of less than twice the standard deviation are
    removed as scatter (`isotonic_regression`); a larger rise is the fan's stall and is kept.

    Raises
    ------
    InputError
        If an input is invalid.
    """
    flow, values = _scattered(flow, values)
    at, place, weight = np.unique(flow, return_inverse=True, return_counts=True)
    mean = np.bincount(place, values) / weight
    within = np.sum((values - mean[place]) ** 2)
    line, freedom = _spline(at, mean, weight, within)
    squares = within + np.sum(weight * (mean - line) ** 2)
    deviation = float(np.sqrt(squares / (flow.size - freedom)))
    return Smooth(at, _falling(line, deviation) if falling else line, deviation)


def _spline(at, mean, weight, within):
    """Return the best-scoring spline's values at ``at`` and its degrees of freedom."""
    scaled = (at - at[0]) / np.ptp(at)
    found = []
    for stiffness in STIFFNESS:
        # lines through unit vectors: columns of the matrix that maps points to the line
        columns = [make_smoothing_spline(scaled, one, weight, stiffness) for one in np.eye(at.size)]
        hat = np.stack([column(scaled) for column in columns], axis=1)
        line, freedom = hat @ mean, np.trace(hat)
        left = weight.sum() - COST * freedom
        if left > 0:
            squares = within + np.sum(weight * (mean - line) ** 2)
            found.append((squares / left**2, line, freedom))
    return min(found, key=lambda one: one[0])[1:]


def _falling(line, deviation):
    """Return ``line`` without rises of less than twice ``deviation`` on its falling side."""
    rise = line - np.minimum.accumulate(line)
    start = int(np.argmax(rise)) if rise.max() > 2 * deviation else 0
    fallen = isotonic_regression(line[start:], increasing=False).x
    return np.r_[line[:start], fallen]
