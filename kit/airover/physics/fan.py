"""Fan laws, a measured fan curve, and the point where it meets the system."""

from typing import NamedTuple

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import elementwise

from airover.errors import InputError
from airover.limits import (
    DENSITY,
    DIAMETER,
    FLOW,
    PRESSURE_FAN,
    SHAFT_POWER,
    SPEED_RPM,
    Range,
    check,
)

SCALE_RATIO = Range(0.01, 100.0, "")
FLOW_POSITIVE = Range(1e-6, FLOW.high, FLOW.unit)
PRESSURE_SYSTEM = Range(0.0, PRESSURE_FAN.high, PRESSURE_FAN.unit)
RESISTANCE = Range(0.0, 1e9, "Pa s2/m6")
STEPS = 20  # looks at the curve so often between two measured points
ROUNDING = 1e-9  # of the end flows and of the highest pressure


class FanPoint(NamedTuple):
    """``flow`` [m3/s], static ``pressure`` [Pa], shaft ``power`` [W]."""

    flow: np.ndarray
    pressure: np.ndarray
    power: np.ndarray


def scale(flow, pressure, power, speed_ratio=1, diameter_ratio=1, density_ratio=1) -> FanPoint:
    """Fan point at another speed, diameter (geometrically similar blade) and air density.

    Fan laws: flow ~ N D^3, pressure ~ rho N^2 D^2, power ~ rho N^3 D^5; each ratio is new over
    old. ``flow`` [m3/s], static ``pressure`` [Pa], shaft ``power`` [W]. Arrays broadcast.
    Raises InputError out of range.

    >>> flow, pressure, power = scale(1.0, 1.0, 1.0, speed_ratio=825 / 1075)
    >>> round(float(flow), 5), round(float(pressure), 5), round(float(power), 5)
    (0.76744, 0.58897, 0.452)
    """
    flow = check("flow", flow, FLOW)
    pressure = check("pressure", pressure, PRESSURE_FAN)
    power = check("power", power, SHAFT_POWER)
    speed = check("speed_ratio", speed_ratio, SCALE_RATIO)
    diameter = check("diameter_ratio", diameter_ratio, SCALE_RATIO)
    density = check("density_ratio", density_ratio, SCALE_RATIO)
    return FanPoint(
        flow * speed * diameter**3,
        pressure * density * speed**2 * diameter**2,
        power * density * speed**3 * diameter**5,
    )


def system_resistance(flow, pressure):
    """Resistance k [Pa s2/m6] of a system with ``pressure`` [Pa] at ``flow`` [m3/s].

    Turbulent flow: pressure = k flow^2 (common practice, no source). Arrays broadcast. Raises
    InputError out of range.

    >>> float(system_resistance(2.0, 100.0))
    25.0
    """
    flow = check("flow", flow, FLOW_POSITIVE)
    return check("pressure", pressure, PRESSURE_SYSTEM) / flow**2


def thrust(flow, pressure, diameter, density):
    """Axial force [N] of the air on a propeller fan: it pushes against the discharge.

    (Static ``pressure`` [Pa] + dynamic pressure) x swept area, the flow's momentum taken as
    uniform; ``flow`` [m3/s], blade ``diameter`` [m], ``density`` [kg/m3]. With upward discharge
    it adds to the weight. Arrays broadcast. Raises InputError out of range.

    >>> round(float(thrust(1.1327, 37.0, 0.5588, 1.1)), 2)
    11.95
    """
    area = np.pi / 4 * check("diameter", diameter, DIAMETER) ** 2
    velocity = check("flow", flow, FLOW) / area
    dynamic = check("density", density, DENSITY) * velocity**2 / 2
    return (check("pressure", pressure, PRESSURE_FAN) + dynamic) * area


class FanCurve:
    """Static pressure and shaft power of a fan against its airflow, from measured points.

    ``flow`` [m3/s], ``pressure`` [Pa] and ``power`` [W] have shape (n,), n >= 3, in order of
    rising flow, at one ``speed_rpm`` [rpm] and air ``density`` [kg/m3]. Between the points the
    curve is monotone (piecewise cubic Hermite, Fritsch & Carlson), so it never swings beyond
    them; outside them there is no curve. Raises InputError for points that are no fan curve:
    unequal lengths, flow not rising, more air power than shaft power, or pressure rising so
    that a system line meets the curve more than once.
    """

    def __init__(self, flow, pressure, power, speed_rpm, density):
        self.flow = _points("flow", flow, FLOW)
        self.pressure = _points("pressure", pressure, PRESSURE_FAN, self.flow.size)
        self.power = _points("power", power, SHAFT_POWER, self.flow.size)
        self.speed_rpm = _single("speed_rpm", speed_rpm, SPEED_RPM)
        self.density = _single("density", density, DENSITY)
        _check_flow(self.flow)
        _check_power(self.flow, self.pressure, self.power)
        self._pressure = PchipInterpolator(self.flow, self.pressure)
        self._power = PchipInterpolator(self.flow, self.power)
        self._check_crossings()

    def at(self, flow, speed_rpm, density) -> FanPoint:
        """The curve at ``flow`` [m3/s], scaled to ``speed_rpm`` and ``density`` [kg/m3].

        Arrays broadcast. Raises InputError out of range and beyond the measured flows.
        """
        speed_ratio, density_ratio = self._ratios(speed_rpm, density)
        own_flow = check("flow", flow, FLOW) / speed_ratio
        low, high = self.flow[0] * (1 - ROUNDING), self.flow[-1] * (1 + ROUNDING)
        check("flow", own_flow, Range(low, high, f"m3/s at {self.speed_rpm:g} rpm"))
        return self._scaled(own_flow, speed_ratio, density_ratio)

    def operating_point(self, resistance, speed_rpm, density) -> FanPoint:
        """Where the curve meets pressure = ``resistance`` x flow^2 [Pa s2/m6].

        The curve is scaled to ``speed_rpm`` [rpm] and ``density`` [kg/m3] by the fan laws.
        Resistance 0 is free delivery. Arrays broadcast. Raises InputError out of range and
        where the crossing lies beyond the measured flows.
        """
        resistance = check("resistance", resistance, RESISTANCE)
        speed_ratio, density_ratio = self._ratios(speed_rpm, density)
        # In the curve's own coordinates the speed drops out of the system line.
        own_flow = self._crossing(resistance / density_ratio)
        return self._scaled(own_flow, speed_ratio, density_ratio)

    def _ratios(self, speed_rpm, density):
        speed_ratio = check("speed_rpm", speed_rpm, SPEED_RPM) / self.speed_rpm
        return speed_ratio, check("density", density, DENSITY) / self.density

    def _scaled(self, own_flow, speed_ratio, density_ratio) -> FanPoint:
        flow = own_flow * speed_ratio
        pressure = self._pressure(own_flow) * density_ratio * speed_ratio**2
        power = self._power(own_flow) * density_ratio * speed_ratio**3
        return FanPoint(*(x[()] for x in np.broadcast_arrays(flow, pressure, power)))

    def _crossing(self, resistance):
        def excess(flow, resistance):
            return self._pressure(flow) - resistance * flow**2

        first, last = self.flow[[0, -1]]
        at_first, at_last = excess(first, resistance), excess(last, resistance)
        self._refuse_outside(resistance, at_first, at_last)
        flow = elementwise.find_root(excess, (first, last), args=(resistance,)).x
        # A line through an end point may miss the bracket by the last digit.
        return np.where(at_first <= 0, first, np.where(at_last >= 0, last, flow))

    def _refuse_outside(self, resistance, at_first, at_last):
        rounding = ROUNDING * self.pressure.max()
        outside = (at_first < -rounding) | (at_last > rounding)
        if np.any(outside):
            given = f"{resistance[outside].flat[0]:.4g} Pa s2/m6 at the curve's density"
            reach = f"{self.flow[0]:g} to {self.flow[-1]:g} m3/s"
            raise InputError("resistance", given, f"one that the curve meets within {reach}")

    def _check_crossings(self):
        """A system line meets the curve once if pressure / flow^2 falls all along it."""
        steps = np.arange(STEPS * (self.flow.size - 1) + 1) / STEPS
        flow = np.interp(steps, np.arange(self.flow.size), self.flow)
        pressure = self._pressure(flow)
        with np.errstate(divide="ignore", invalid="ignore"):  # vertical line at zero flow
            steepness = np.where(pressure > 0, pressure / flow**2, pressure)
        rising = np.diff(steepness) >= 0
        if np.any(rising):
            given = f"a pressure that rises or stays near {flow[1:][rising][0]:.4g} m3/s"
            raise InputError("pressure", given, "a curve that each system line meets only once")


def _points(field, values, accepted, size=None):
    values = check(field, values, accepted)
    if values.ndim != 1 or values.size < 3:
        raise InputError(field, f"shape {values.shape}", "a list of at least 3 points")
    if size not in (None, values.size):
        raise InputError(field, f"{values.size} points", f"as many as flow has, {size}")
    return values


def _single(field, value, accepted):
    value = check(field, value, accepted)
    if value.ndim:
        raise InputError(field, f"shape {value.shape}", "one number: that of the whole curve")
    return float(value)


def _check_flow(flow):
    falling = np.diff(flow) <= 0
    if np.any(falling):
        pair = f"{flow[:-1][falling][0]:g} then {flow[1:][falling][0]:g} m3/s"
        raise InputError("flow", pair, "points in order of rising flow")


def _check_power(flow, pressure, power):
    """The air cannot take more than the shaft gives (also catches hp and kW typed for W)."""
    short = flow * pressure > power
    if np.any(short):
        needed = (flow * pressure)[short][0]
        given = f"{power[short][0]:g} W at {flow[short][0]:g} m3/s"
        raise InputError("power", given, f"at least flow x pressure there, {needed:.4g} W")
