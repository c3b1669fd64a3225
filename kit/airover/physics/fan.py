"""Fan laws, measured fan curves, and their intersections with system curves.

Measured points are joined by monotone cubics and scaled with the fan laws. The curve can be
extrapolated linearly by up to one tenth of the measured flow range. A system curve p = k Q^2 meets
the fan curve where g = p / Q^2 = k. The extrema of g divide the fan curve into branches, each of
which crosses a system curve at most once. A crossing is stable where g falls with flow (p' < 2 k
Q), because if the flow increases slightly, the system needs more pressure than the fan delivers. A
crossing where g rises is unstable (common practice).

If the pressure rises with flow in part of the curve, there can be several stable crossings. The
crossing with the largest flow is used, and the others are reported. The model does not predict
which crossing a fan reaches from rest, and it does not include hysteresis in stall.

The fan laws do not apply to a change in blade count or pitch, because the new fan is not
geometrically similar to the old fan. `changed_fan` uses exponents from the blade-element momentum
theory of a rotor in uniform inflow (Leishman, Principles of Helicopter Aerodynamics, chapter 3,
cited from memory, not verified). The theory relates thrust to solidity s and pitch:

    C_T = (s a / 2) (pitch / 3 - sqrt(C_T / 2) / 2),    induced power ~ C_T^(3/2).

For a solidity of 0.15 to 0.5, a lift slope a of 4 to 6 per rad and a pitch of 15 to 35 degrees,
thrust is proportional to s^n with n from 0.4 to 0.8, and to pitch^m with m from 1.2 to 1.6. Fan
pressure is proportional to thrust, and flow in the same system is proportional to the square root
of pressure. The function uses wider ranges (engineering judgment), because ducted fans and cambered
or overlapping blades deviate from the theory. The effects of the hub and casing are not included.
The result is a rough estimate that shows whether a motor could drive the new fan. Measure amps and
flow with the new fan before you rely on it.
"""

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from airover.core.errors import (
    DENSITY,
    DIAMETER,
    FLOW,
    PRESSURE_FAN,
    SHAFT_POWER,
    SPEED_RPM,
    InputError,
    Range,
    array_of,
    check,
)
from airover.core.intervals import Band
from airover.core.message import Message
from airover.physics.fan_points import checked, columns, outliers, smoothed

if TYPE_CHECKING:
    from scipy.interpolate import PPoly

SCALE_RATIO = Range(0.01, 100.0, "")
RESISTANCE = Range(0.0, 1e9, "Pa s2/m6")
ROUNDING = 1e-9  # relative tolerance that keeps end points within the range
EXTRAPOLATION = 0.1  # fraction of the flow range at each end, engineering judgment
BLADES = Range(2, 8, "blades")
BLADES_RATIO = Range(0.6, 1.7, "times as many blades")
PITCH = Range(np.radians(12.0), np.radians(40.0), "rad")
PITCH_CHANGE = np.radians(5.0)  # rad; blades stall or unload if the change is larger

# Exponents (low, mid, high) for a fixed system at constant speed and density.
FLOW_OF_BLADES, POWER_OF_BLADES = (0.15, 0.3, 0.5), (0.5, 0.9, 1.3)
FLOW_OF_PITCH, POWER_OF_PITCH = (0.5, 0.7, 1.0), (1.4, 2.1, 3.0)


class FanPoint(NamedTuple):
    """Operating point with ``flow`` [m3/s], static ``pressure`` [Pa] and shaft ``power`` [W]."""

    flow: np.ndarray
    pressure: np.ndarray
    power: np.ndarray


class OperatingPoint(NamedTuple):
    """Operating point of a fan in a system.

    Attributes
    ----------
    flow : ndarray
        Airflow [m3/s].
    pressure : ndarray
        Static pressure [Pa].
    power : ndarray
        Shaft power [W].
    several : ndarray
        True if the system curve crosses the fan curve more than once. The fan may then stall.
    extrapolated : ndarray
        True if the point is outside the range of measured flows.
    """

    flow: np.ndarray
    pressure: np.ndarray
    power: np.ndarray
    several: np.ndarray
    extrapolated: np.ndarray


class FanCrossing(NamedTuple):
    """Crossing of the fan curve and the system curve.

    Attributes
    ----------
    flow : float
        Airflow [m3/s].
    pressure : float
        Static pressure [Pa].
    power : float
        Shaft power [W].
    stable : bool
        True if the slope of the fan curve is less than the slope of the system curve.
    extrapolated : bool
        True if the crossing is outside the range of measured flows.
    """

    flow: float
    pressure: float
    power: float
    stable: bool
    extrapolated: bool


class Scatter(NamedTuple):
    """Standard deviation of measured points: ``pressure`` [Pa] and ``power`` [W]."""

    pressure: float
    power: float


def scale(flow, pressure, power, speed_ratio=1, diameter_ratio=1, density_ratio=1) -> FanPoint:
    """Scale a fan point to a different speed, diameter and air density with the fan laws.

    Flow is proportional to N D^3, pressure to rho N^2 D^2, and power to rho N^3 D^5. A fan with a
    different diameter must be geometrically similar. Array arguments are broadcast against each
    other.

    Parameters
    ----------
    flow : array_like
        Airflow [m3/s].
    pressure : array_like
        Static pressure [Pa].
    power : array_like
        Shaft power [W].
    speed_ratio, diameter_ratio, density_ratio : array_like, optional
        Ratio of the new value to the old value.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
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


def thrust(flow, pressure, diameter, density):
    """Return the axial force [N] of the air on a propeller fan.

    The force is the swept area times the sum of static and dynamic pressure, for a uniform flow.
    The force acts opposite to the discharge direction, so with upward discharge it adds to the
    weight. Array arguments are broadcast against each other.

    Parameters
    ----------
    flow : array_like
        Airflow [m3/s].
    pressure : array_like
        Static pressure [Pa].
    diameter : array_like
        Fan diameter [m].
    density : array_like
        Air density [kg/m3].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(thrust(1.1327, 37.0, 0.5588, 1.1)), 2)
    11.95
    """
    area = np.pi / 4 * check("diameter", diameter, DIAMETER) ** 2
    velocity = check("flow", flow, FLOW) / area
    dynamic = check("density", density, DENSITY) * velocity**2 / 2
    return (check("pressure", pressure, PRESSURE_FAN) + dynamic) * area


class FanCurve:
    """Static pressure and shaft power as functions of airflow, from measured points.

    The curve between the points is a monotone piecewise cubic (Fritsch and Carlson), which never
    overshoots the points. The curve is not defined outside the measured range unless a method
    extrapolates it. If pressure rises with flow, as when a propeller fan stalls, a system curve can
    cross the fan curve several times. ``scatter`` is 0 and ``left_out`` is empty unless the curve
    was created by `from_measured`.

    Attributes
    ----------
    flow
        Airflow [m3/s] in increasing order.
    pressure
        Static pressure [Pa].
    power
        Shaft power [W]. The three arrays have shape (n,) with n >= 3.
    speed_rpm
        Speed [rpm] at which the curve was measured.
    density
        Air density [kg/m3].

    Raises
    ------
    InputError
        If the points are not a valid fan curve, for example if there are too few points, if a flow
        is repeated, or if the air power exceeds the shaft power.
    """

    def __init__(self, flow, pressure, power, speed_rpm, density):
        self.flow, self.pressure, self.power = checked(flow, pressure, power)
        self.speed_rpm = _single("speed_rpm", speed_rpm, SPEED_RPM)
        self.density = _single("density", density, DENSITY)
        self.scatter = Scatter(0.0, 0.0)
        self.left_out = ()
        self._line = _Line(_joined(self.flow, self.pressure), _joined(self.flow, self.power))

    @classmethod
    def from_measured(cls, flow, pressure, power, speed_rpm, density, leave_out=True) -> "FanCurve":
        """Create a smooth curve from at least five scattered points.

        The points can be in any order, and flows can be repeated. Outliers in pressure or power, as
        identified by `fan_points.outliers`, are omitted, and ``left_out`` contains their indices in
        the original order. The other points are smoothed with `fan_points.smoothed`, and
        ``scatter`` is their standard deviation about the curve.

        Parameters
        ----------
        flow
            Airflow [m3/s].
        pressure
            Static pressure [Pa].
        power
            Shaft power [W]. The three arrays have shape (n,).
        speed_rpm
            Speed [rpm].
        density
            Air density [kg/m3].
        leave_out : bool, optional
            True to omit outliers, False to keep all points, for example if the fan has a deep
            stall.

        Raises
        ------
        InputError
            For the same reasons as in `FanCurve`.
        """
        given = columns(flow, pressure, power)
        strays = [outliers(given[0], one) for one in given[1:]] if leave_out else []
        strays = np.unique(np.concatenate([np.zeros(0, dtype=int), *strays]))
        flow, pressure, power = (np.delete(one, strays) for one in given)
        smooth, watts = smoothed(flow, pressure, falling=True), smoothed(flow, power)
        curve = cls(smooth.flow, smooth.values, watts.values, speed_rpm, density)
        curve.scatter = Scatter(smooth.deviation, watts.deviation)
        curve.left_out = tuple(int(number) for number in strays)
        return curve

    @property
    def stall_flow(self) -> float | None:
        """Flow [m3/s] at the pressure peak nearest to free delivery, at the measured speed.

        The value is None if no stall was measured, that is, if pressure falls over the whole flow
        range.
        """
        peaks = np.flatnonzero(np.diff(self.pressure) > 0) + 1
        return float(self.flow[peaks[-1]]) if peaks.size else None

    def at(self, flow, speed_rpm, density) -> FanPoint:
        """Return the fan point at a ``flow`` [m3/s] for a different speed and density [kg/m3].

        Array arguments are broadcast against each other.

        Raises
        ------
        InputError
            If a value is out of range or the flow is outside the measured range.
        """
        speed_ratio, density_ratio = self._ratios(speed_rpm, density)
        own_flow = check("flow", flow, FLOW) / speed_ratio
        low, high = self.flow[0] * (1 - ROUNDING), self.flow[-1] * (1 + ROUNDING)
        check("flow", own_flow, Range(low, high, f"m3/s at {self.speed_rpm:g} rpm"))
        return self._scaled(self._line, own_flow, speed_ratio, density_ratio)

    def working_powers(self, speed_rpm, density):
        """Return the minimum and maximum shaft power [W] on the working side of the curve.

        The working side is the part of the measured range with flows above the stall. Returns None
        if the power both rises and falls on the working side, because the flow then cannot be
        determined from the power.

        Parameters
        ----------
        speed_rpm : array_like
            Speed [rpm].
        density : array_like
            Air density [kg/m3].

        Raises
        ------
        InputError
            If a value is out of range.
        """
        power = self.power[self._first_working :]
        if not (np.all(np.diff(power) > 0) or np.all(np.diff(power) < 0)):
            return None
        speed_ratio, density_ratio = self._ratios(speed_rpm, density)
        carried = density_ratio * speed_ratio**3
        return power.min() * carried, power.max() * carried

    def flow_at_power(self, power, speed_rpm, density):
        """Return the flow [m3/s] on the working side at which the fan requires ``power``.

        Array arguments are broadcast against each other.

        Parameters
        ----------
        power : array_like
            Shaft power [W].
        speed_rpm : array_like
            Speed [rpm].
        density : array_like
            Air density [kg/m3].

        Raises
        ------
        InputError
            If a value is out of range, if the power does not occur on the working side, or if
            `working_powers` is None.
        """
        if self.working_powers(speed_rpm, density) is None:
            given, accepted = Message("error.curve.two_flows"), Message("error.curve.one_flow")
            raise InputError("power", given, accepted)
        speed_ratio, density_ratio = self._ratios(speed_rpm, density)
        own = check("power", power, SHAFT_POWER) / (density_ratio * speed_ratio**3)
        ends = self.flow[[self._first_working, -1]]
        low, high = np.sort(self._line.power(ends)) * (1 - ROUNDING, 1 + ROUNDING)
        own = check("power", own, Range(low, high, f"W at {self.speed_rpm:g} rpm"))
        own = np.clip(own, *np.sort(self._line.power(ends)))
        from scipy.optimize import elementwise  # takes long

        found = elementwise.find_root(
            lambda q, w: self._line.power(q) - w, tuple(ends), args=(own,)
        )
        return (found.x * speed_ratio)[()]

    @property
    def _first_working(self) -> int:
        return 0 if self.stall_flow is None else int(np.searchsorted(self.flow, self.stall_flow))

    def operating_point(self, resistance, speed_rpm, density, extrapolate=False) -> OperatingPoint:
        """Return the operating point in a system with a given flow resistance.

        The curve is scaled with the fan laws, and the pressure loss of the system is ``resistance``
        times the square of the flow. If there are several stable points, the function returns the
        point with the largest flow, which is on the working side of the fan curve. A fan that
        starts from rest may remain in stall at a smaller flow. Array arguments are broadcast
        against each other.

        Parameters
        ----------
        resistance : array_like
            System resistance [Pa s2/m6], 0 for free delivery.
        speed_rpm : array_like
            Speed [rpm].
        density : array_like
            Air density [kg/m3].
        extrapolate : bool, optional
            True to extend the curve linearly by at most one tenth of its measured range.
            Extrapolated points are flagged.

        Raises
        ------
        InputError
            If a value is out of range or if the crossing is outside the flow range.

        Examples
        --------
        The curve 60 - 60 (q / 1.8)^2 [Pa] meets 25 q^2 at 1.1742 m3/s and 34.468 Pa:

        >>> flow = np.linspace(0.0, 1.8, 10)
        >>> curve = FanCurve(flow, 60 - 60 * (flow / 1.8) ** 2, 80 - 5 * flow, 1075.0, 1.2)
        >>> at = curve.operating_point(25.0, 1075.0, 1.2)
        >>> round(float(at.flow), 3), round(float(at.pressure), 1)
        (1.174, 34.5)
        """
        resistance = check("resistance", resistance, RESISTANCE)
        speed_ratio, density_ratio = self._ratios(speed_rpm, density)
        # At the measured speed, the system curve does not depend on the speed argument.
        line = self._reaching(extrapolate)
        met = line.met(resistance / density_ratio)
        self._refuse_outside(met, line)
        # last stable branch: argmax finds the first one in reversed order
        own_flow = met.flow(len(met.stable) - 1 - np.argmax(met.stable[::-1], axis=0))
        point = self._scaled(line, own_flow, speed_ratio, density_ratio)
        marks = met.holds.sum(axis=0) > 1, self._beyond(own_flow)
        several, extrapolated = (np.broadcast_to(one, np.shape(point.flow))[()] for one in marks)
        return OperatingPoint(*point, several, extrapolated)

    def operating_points(
        self, resistance, speed_rpm, density, extrapolate=False
    ) -> tuple[FanCrossing, ...]:
        """Return all crossings with a system curve, in order of increasing flow.

        All arguments must be scalars. Returns an empty tuple if the curves do not cross.

        Parameters
        ----------
        resistance
            System resistance [Pa s2/m6].
        speed_rpm
            Speed [rpm].
        density
            Air density [kg/m3].
        extrapolate : bool, optional
            True to extend the curve, as in `operating_point`.

        Raises
        ------
        InputError
            If a value is out of range or is an array.
        """
        resistance = _single("resistance", resistance, RESISTANCE)
        ratios = self._ratios(
            _single("speed_rpm", speed_rpm, SPEED_RPM), _single("density", density, DENSITY)
        )
        line = self._reaching(extrapolate)
        met = line.met(resistance / ratios[1])
        found = []
        for branch in np.flatnonzero(met.holds):
            own_flow = met.flow(branch)
            point = self._scaled(line, own_flow, *ratios)
            marks = bool(met.stable[branch]), bool(self._beyond(own_flow))
            found.append(FanCrossing(*map(float, point), *marks))
        return tuple(found)

    def resistances(self, density) -> tuple[float, float]:
        """Return the resistance range [Pa s2/m6] in which the measured curve has a stable point.

        The result is the minimum and the maximum resistance. The two limits do not depend on speed,
        and the maximum is infinite if the curve starts at zero flow. ``density`` is the air density
        [kg/m3].

        Raises
        ------
        InputError
            If the density is out of range or if the curve has no stable point.
        """
        ratio = _single("density", density, DENSITY) / self.density
        with np.errstate(divide="ignore"):
            steepness = self._line.pressure(self._line.turns) / self._line.turns**2
        most, least = steepness[:-1][self._line.falls], steepness[1:][self._line.falls]
        return max(float(least.min()) * ratio, 0.0), float(most.max()) * ratio

    def _reaching(self, extrapolate) -> "_Line":
        return self._line.extended(EXTRAPOLATION) if extrapolate else self._line

    def _beyond(self, own_flow):
        low, high = self.flow[0] * (1 - ROUNDING), self.flow[-1] * (1 + ROUNDING)
        return (own_flow < low) | (own_flow > high)

    def _ratios(self, speed_rpm, density):
        speed_ratio = check("speed_rpm", speed_rpm, SPEED_RPM) / self.speed_rpm
        return speed_ratio, check("density", density, DENSITY) / self.density

    def _scaled(self, line, own_flow, speed_ratio, density_ratio) -> FanPoint:
        own_pressure, own_power = line.pressure(own_flow), line.power(own_flow)
        if np.any(self._beyond(own_flow) & (own_power < own_flow * own_pressure)):
            given, accepted = Message("error.curve.beyond"), Message("error.curve.measured")
            raise InputError("extrapolate", given, accepted)
        flow = own_flow * speed_ratio
        pressure = own_pressure * density_ratio * speed_ratio**2
        power = own_power * density_ratio * speed_ratio**3
        return FanPoint(*(x[()] for x in np.broadcast_arrays(flow, pressure, power)))

    def _refuse_outside(self, met, line):
        outside = ~met.stable.any(axis=0)
        if np.any(outside):
            resistance = f"{met.resistance[outside].flat[0]:,.6g} Pa s2/m6"
            given = Message("error.curve.resistance", resistance=resistance)
            reach = Range(float(line.turns[0]), float(line.turns[-1]), "m3/s")
            speed = f"{self.speed_rpm:g} rpm"
            accepted = Message("error.curve.met", range=reach, speed=speed)
            raise InputError("resistance", given, accepted)


def _joined(flow, values) -> "PPoly":
    from scipy.interpolate import PchipInterpolator, PPoly  # takes long

    monotone = PchipInterpolator(flow, values)
    return PPoly(monotone.c, monotone.x)


def _single(field, value, accepted):
    value = check(field, value, accepted)
    if value.ndim:
        raise InputError(field, array_of(value.shape), Message("error.curve.one_number"))
    return float(value)


class _Line:
    """Static pressure [Pa] and shaft power [W] as SciPy polynomials of flow [m3/s].

    Raises
    ------
    InputError
        If the pressure follows a system curve, in which case the flow is undetermined.
    """

    def __init__(self, pressure: "PPoly", power: "PPoly"):
        self.pressure, self.power = pressure, power
        turns = _turns(pressure)
        at = pressure(turns)
        # g falls: p2 / Q2^2 < p1 / Q1^2, multiplied out because Q1 may be 0
        falls = at[1:] * turns[:-1] ** 2 < at[:-1] * turns[1:] ** 2
        kept = np.r_[True, falls[1:] != falls[:-1], True]
        self.turns, self.falls = turns[kept], falls[kept[:-1]]

    def met(self, resistance) -> "_Met":
        """Return the crossings with system curves of ``resistance`` [Pa s2/m6], by branch.

        ``resistance`` can have any shape. No error is raised if a system curve crosses no branch.
        """
        resistance = np.asarray(resistance, dtype=float)
        at = self.pressure(self.turns)
        column = (-1,) + (1,) * resistance.ndim
        excess = at.reshape(column) - resistance * self.turns.reshape(column) ** 2
        excess = np.where(np.abs(excess) <= ROUNDING * np.abs(at).max(), 0.0, excess)
        first, last, falls = excess[:-1], excess[1:], self.falls.reshape(column)
        holds = np.where(falls, (first >= 0) & (last <= 0), (first < 0) & (last > 0))
        return _Met(self, resistance, excess, holds, holds & falls)

    def extended(self, stretch) -> "_Line":
        """Return the curve, extended linearly at both ends by ``stretch`` times its flow range.

        The curve is not extended below half of the first flow.

        Raises
        ------
        InputError
            If the points are not a valid fan curve.
        """
        ends = self.pressure.x[[0, -1]]
        beyond = stretch * np.ptp(ends)
        low, high = max(ends[0] - beyond, ends[0] / 2), ends[1] + beyond
        return _Line(_drawn_on(self.pressure, low, high), _drawn_on(self.power, low, high))


class _Met(NamedTuple):
    """Branches of the fan curve and their crossings with system curves.

    Attributes
    ----------
    line : _Line
        Fan curve.
    resistance : ndarray
        System resistance [Pa s2/m6].
    excess : ndarray
        Fan pressure minus system pressure [Pa], shape (turns, ...).
    holds : ndarray
        True for a branch that crosses the system curve, shape (branches, ...).
    stable : ndarray
        True if the crossing is stable, shape (branches, ...).
    """

    line: _Line
    resistance: np.ndarray
    excess: np.ndarray
    holds: np.ndarray
    stable: np.ndarray

    def flow(self, branch):
        """Return the flow [m3/s] at the crossing on each ``branch``, given by index."""
        turns, branch = self.line.turns, np.asarray(branch)
        first, last = turns[branch], turns[branch + 1]
        at_first, at_last = (
            np.take_along_axis(self.excess, one[np.newaxis], axis=0)[0]
            for one in (branch, branch + 1)
        )
        from scipy.optimize import elementwise  # takes long

        found = elementwise.find_root(
            lambda flow, k: self.line.pressure(flow) - k * flow**2,
            (first, last),
            args=(self.resistance,),
        )
        # Rounding can move a crossing at an end point out of the bracket.
        return np.where(at_first == 0, first, np.where(at_last == 0, last, found.x))


def _turns(pressure: "PPoly"):
    """Return the end flows, and the flows between them at which p / Q^2 has an extremum."""
    a, b, c, d = pressure.c
    at = pressure.x[:-1]
    # p' Q - 2 p in the local coordinate x of the segment, with Q = at + x
    rising = np.array([a, 3 * a * at, 2 * b * at - c, c * at - 2 * d])
    turning = type(pressure)(rising, pressure.x)
    roots = turning.roots(discontinuity=False, extrapolate=False)
    if np.any(np.isnan(roots)):
        flow = f"{roots[~np.isnan(roots)][0]:.4g} m3/s"
        given = Message("error.curve.along_line", flow=flow)
        raise InputError("pressure", given, Message("error.curve.crosses"))
    inside = roots[(roots > at[0]) & (roots < pressure.x[-1])]
    return np.unique(np.r_[pressure.x[0], inside, pressure.x[-1]])


def _drawn_on(line: "PPoly", low, high) -> "PPoly":
    """Extend ``line`` linearly to ``low`` and ``high`` with its end slopes."""
    slope, (first, last) = line.derivative(), line.x[[0, -1]]
    drawn = type(line)(line.c, line.x)
    after = [[0.0], [0.0], [slope(last)], [line(last)]]
    drawn.extend(np.array(after), [high])
    if low < first:
        before = [[0.0], [0.0], [slope(first)], [line(first) + slope(first) * (low - first)]]
        drawn.extend(np.array(before), [low])
    return drawn


class FanChange(NamedTuple):
    """Estimated operating point of the changed fan at the same speed and density.

    Attributes
    ----------
    flow : Band
        Airflow [m3/s].
    pressure : Band
        Static pressure [Pa].
    power : Band
        Shaft power [W].
    """

    flow: Band
    pressure: Band
    power: Band


def changed_fan(
    flow, pressure, power, blades=3, blades_new=3, pitch=0.5, pitch_new=0.5
) -> FanChange:
    """Estimate the operating point for a different blade count or blade pitch.

    The blade count and the pitch can both change. Array arguments are broadcast against each other.

    Parameters
    ----------
    flow : array_like
        Airflow [m3/s] with the old fan.
    pressure : array_like
        Static pressure [Pa] with the old fan.
    power : array_like
        Shaft power [W] with the old fan.
    blades, blades_new : array_like, optional
        Old and new number of blades, 2 to 8, with a ratio of 0.6 to 1.7. The blades have the same
        shape.
    pitch, pitch_new : array_like, optional
        Old and new pitch [rad], 12 to 40 degrees, at most 5 degrees apart.

    Raises
    ------
    InputError
        If a value is out of range. Larger changes are not covered by the theory.

    Examples
    --------
    >>> four = changed_fan(1.1, 35.0, 200.0, blades=3, blades_new=4)
    >>> [round(float(watts)) for watts in four.power]
    [231, 259, 291]
    """
    flow = check("flow", flow, FLOW)
    pressure = check("pressure", pressure, PRESSURE_FAN)
    power = check("power", power, SHAFT_POWER)
    more = _blades_ratio(blades, blades_new)
    steeper = _pitch_ratio(pitch, pitch_new)
    flow_ratio = _band(more, FLOW_OF_BLADES, steeper, FLOW_OF_PITCH)
    power_ratio = _band(more, POWER_OF_BLADES, steeper, POWER_OF_PITCH)
    return FanChange(
        Band(*(flow * ratio for ratio in flow_ratio)),
        Band(*(pressure * ratio**2 for ratio in flow_ratio)),
        Band(*(power * ratio for ratio in power_ratio)),
    )


def _blades_ratio(blades, blades_new):
    ratio = check("blades_new", blades_new, BLADES) / check("blades", blades, BLADES)
    return check("blades_new", ratio, BLADES_RATIO)


def _pitch_ratio(pitch, pitch_new):
    old, new = check("pitch", pitch, PITCH), check("pitch_new", pitch_new, PITCH)
    change = np.abs(new - old)
    if np.any(change > PITCH_CHANGE * (1 + 1e-9)):
        given = Message("error.physics.pitch_change", angle=f"{np.degrees(change.max()):.3g}")
        most = Message("error.physics.most_pitch_change", angle=f"{np.degrees(PITCH_CHANGE):.3g}")
        raise InputError("pitch_new", given, most)
    return new / old


def _band(more, of_blades, steeper, of_pitch):
    """Return the minimum, median and maximum of the product of two power laws."""
    ends = [
        np.sort([ratio**low, ratio**high], axis=0)
        for ratio, (low, _, high) in ((more, of_blades), (steeper, of_pitch))
    ]
    mid = more ** of_blades[1] * steeper ** of_pitch[1]
    return ends[0][0] * ends[1][0], mid, ends[0][1] * ends[1][1]
