"""Checks, outlier detection and smoothing of measured fan curve points.

Points from a test rig or a printed curve are accurate, so they are interpolated. Points measured on
a roof have scatter, so they are smoothed. The 90 % range applies to individual points, so it is
wider than the range of the curve itself. Outliers are identified with a low-degree polynomial,
which cannot follow a deep stall. Good points near a deep stall may therefore be flagged.
"""

from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import numpy as np

from airover.core.errors import FLOW, PRESSURE_FAN, SHAFT_POWER, InputError, Range, array_of, check
from airover.core.message import Message

FEWEST = 3
FEWEST_TO_SMOOTH = 5
LEAST_EFFICIENCY = 0.005  # peak static efficiency; a lower value indicates a pressure unit error
HINTS = {FLOW: "flow", PRESSURE_FAN: "pressure", SHAFT_POWER: "power"}  # detects unit errors
VALUES = Range(-1e6, 1e6, "")
THRESHOLD = Range(1.0, 20.0, "")
DEVIATION_OF_MAD = 0.6745  # median absolute deviation over standard deviation, normal errors
READING = 0.01  # finest resolution of a field meter, as a fraction of the range (common practice)
ALONE = 1e-6  # 1 - leverage, for a point that alone determines part of the fit
STIFFNESS = np.logspace(-5, 1, 13)  # of the spline, from interpolation to a straight line
COST = 1.4  # weight of a degree of freedom; a weight of 1 overfits small samples


def checked(flow, pressure, power):
    """Check the points of a fan curve and return them in order of increasing flow.

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
        If `columns` rejects the points, if a flow is repeated, if the air power exceeds the shaft
        power, if the pressures are too small for the power, or if the pressure rises at the end.
    """
    flow, pressure, power = columns(flow, pressure, power)
    _check_flow(flow)
    _check_pressure(flow, pressure)
    _check_power(flow, pressure, power)
    return flow, pressure, power


def columns(flow, pressure, power):
    """Return the three columns as arrays of at least three values in the original order.

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
        If there are too few points, if the columns have different lengths, or if a value is out of
        range, for example cfm entered as m3/s.
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
    """Check that air power does not exceed shaft power, as it would if hp were entered as W."""
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
    """Return the indices of points that deviate from a robust smooth line.

    The line is a polynomial of degree 2 to 4 that is fitted to all points except the 1 to 3 points
    whose removal minimizes the sum of squares (least trimmed squares, Rousseeuw 1984), so that an
    outlier cannot distort it. The removed points are restored one at a time, closest point first,
    until ``0.6745 |residual| / MAD`` of the next point exceeds ``threshold``. The function returns
    this point and the other points that have not been restored. MAD is the median absolute
    deviation, or the resolution of a meter (1 % of the range) if that is larger. Each residual is
    divided by its standard deviation, because the line fits the points at the ends more closely.
    The rule and the threshold are from Iglewicz and Hoaglin, How to Detect and Handle Outliers,
    ASQC 1993 (cited from memory).

    A low-degree polynomial cannot follow a deep stall. In or near a deep stall, outliers may
    therefore be missed and good points may be flagged.

    Parameters
    ----------
    flow
        Airflow [m3/s], shape (n,), n >= 5.
    values
        Values in any unit, shape (n,).
    threshold : optional
        Threshold for the modified z-score, 1 to 20.

    Raises
    ------
    InputError
        If an argument is invalid.

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
    """Return the polynomial basis, with fewer columns than points."""
    degree = 2 + (flow.size >= 10) + (flow.size >= 18)
    scaled = 2 * (flow - flow.min()) / np.ptp(flow) - 1
    return np.polynomial.chebyshev.chebvander(scaled, degree)


def _trimmed(basis, values):
    """Return the indices of the points whose removal gives the best polynomial fit.

    Removing a set S reduces the sum of squares by r_S (I - H_SS)^-1 r_S, where r are the residuals
    and H is the hat matrix of the fit to all points.
    """
    hat = basis @ np.linalg.pinv(basis)
    left = values - hat @ values
    few = 1 + (values.size >= 8) + (values.size >= 14)
    sets = np.array(list(combinations(range(values.size), few)))
    held = (1 + ALONE) * np.eye(few) - hat[sets[:, :, None], sets[:, None, :]]
    gain = np.sum(left[sets] * np.linalg.solve(held, left[sets][..., None])[..., 0], axis=1)
    return sets[np.argmax(gain)]


def _residual(basis, values, kept):
    """Return the residuals from the fit to ``kept``, divided by their standard deviations."""
    inverse = np.linalg.pinv(basis[kept])
    residual = values - basis @ (inverse @ values[kept])
    spread = np.sum((basis @ inverse) ** 2, axis=1)  # variance of the line over variance of a point
    spread[kept] *= -1  # the line fits the kept points more closely
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
        Standard deviation of individual points about the line, in the unit of ``values``.
    """

    flow: np.ndarray
    values: np.ndarray
    deviation: float


def smoothed(flow, values, falling=False) -> Smooth:
    """Return a smooth line through scattered ``values`` at ``flow`` [m3/s].

    At least five points are required. The line is a cubic smoothing spline (SciPy's
    `make_smoothing_spline`), which accepts unevenly spaced points and does not require the user to
    choose knots. Points at the same flow are averaged. The smoothing parameter minimizes the
    generalized cross-validation score (Craven and Wahba, Numer. Math. 31, 1979). Each degree of
    freedom has a weight of 1.4, which is usual for small samples. If ``falling`` is True, rises of
    less than twice the standard deviation are treated as scatter and removed
    (`isotonic_regression`). A larger rise indicates a fan stall and is kept.

    Raises
    ------
    InputError
        If an argument is invalid.
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
    """Return the values of the best spline at ``at``, and its degrees of freedom."""
    found = []
    for hat in _smoothers(tuple(at.tolist()), tuple(weight.tolist())):
        line, freedom = hat @ mean, np.trace(hat)
        left = weight.sum() - COST * freedom
        if left > 0:
            squares = within + np.sum(weight * (mean - line) ** 2)
            found.append((squares / left**2, line, freedom))
    return min(found, key=lambda one: one[0])[1:]


@lru_cache(maxsize=4)
def _smoothers(at: tuple[float, ...], weight: tuple[float, ...]) -> list[np.ndarray]:
    """Return the smoother matrix for each stiffness, which pressure and power have in common."""
    from scipy.interpolate import make_smoothing_spline  # takes long

    # fits to unit vectors are the columns of the matrix
    scaled, units = (np.array(at) - at[0]) / np.ptp(at), np.eye(len(at))
    return [make_smoothing_spline(scaled, units, weight, one)(scaled) for one in STIFFNESS]


def _falling(line, deviation):
    """Remove rises of less than twice ``deviation`` from the falling side of ``line``."""
    from scipy.optimize import isotonic_regression  # takes long

    rise = line - np.minimum.accumulate(line)
    start = int(np.argmax(rise)) if rise.max() > 2 * deviation else 0
    fallen = isotonic_regression(line[start:], increasing=False).x
    return np.r_[line[:start], fallen]
