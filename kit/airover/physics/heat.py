"""Heat transfer from a motor shell, and winding temperature from resistance.

The shell is a cylinder that loses heat by forced convection in cross-flow (two correlations), by
natural convection, and by radiation to surroundings at air temperature. The cubes of the forced and
natural convection coefficients are added. The sum does not represent natural convection that
opposes the airstream. The coefficient of the cylinder is also used for the ends.

The winding resistance at shutdown is extrapolated from readings taken while the motor cools,
because an ohmmeter cannot be connected to an energized winding. The cooling curve is a single
exponential. A winding first cools to the temperature of its core, so readings that begin late give
a resistance that is too low.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import (
    AIR_SPEED,
    RATIO,
    TEMP_AIR,
    TEMP_WINDING,
    InputError,
    Range,
    check,
    either,
)
from airover.core.message import Message
from airover.physics import air
from airover.physics.air import GRAVITY, ZERO_CELSIUS

OHM = Range(1e-6, 1e9, "ohm")
DIAMETER_SHELL = Range(0.02, 0.5, "m")
LENGTH_SHELL = Range(0.02, 1.0, "m")
LOSS = Range(0.0, 50000.0, "W")  # a stalled 3/4 hp motor at 508 V dissipates over 5 kW
AREA = Range(1e-3, 500.0, "m2")
FILM = Range(0.1, 500.0, "W/m2K")
FILM_PART = Range(0.0, 5000.0, "W/m2K")  # forced or natural convection alone
RISE = Range(-500.0, 1e4, "K")  # includes a locked motor without a protector
EMISSIVITY = Range(0.0, 1.0, "")
IRRADIANCE = Range(0.0, 1400.0, "W/m2")
STEFAN_BOLTZMANN = 5.670374419e-8  # W/m2K4, CODATA 2018

# Degrees Celsius below zero at which the linearly extrapolated resistance is zero. IEC 60034-1
# specifies 235 for copper (NEMA MG 1: 234.5) and 225 for aluminum.
INTERCEPT = {"copper": 235.0, "aluminum": 225.0}

# IEC 60034-1, rise by resistance, motors up to 50 kW (from memory, not verified). If the first
# reading is taken within this time, no extrapolation is needed. If it is taken later than twice
# this time, it is not accepted.
SOON = 30.0  # [s]
TOO_LATE = 2 * SOON
TIME_OFF = Range(0.0, 7200.0, "s")
METER = Range(0.0, 1e3, "ohm")
TIME_CONSTANTS = (0.05, 50.0)  # search range, as a multiple of the time from first to last reading
JUMP = 0.34  # maximum rise from one reading to the next, as a fraction of the total fall


def resistance_factor(temp_winding, temp_reference, material="copper"):
    """Return the ratio of the resistance at ``temp_winding`` to that at ``temp_reference``.

    The resistance is linear in temperature (IEC 60034-1). Array arguments are broadcast against
    each other.

    Parameters
    ----------
    temp_winding, temp_reference : array_like
        Winding temperatures [degC].
    material : str, optional
        Conductor material, a key in INTERCEPT.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(resistance_factor(115.0, 25.0)), 4)
    1.3462
    """
    k = _intercept(material)
    temp_winding = check("temp_winding", temp_winding, TEMP_WINDING)
    temp_reference = check("temp_reference", temp_reference, TEMP_WINDING)
    return (k + temp_winding) / (k + temp_reference)


def rise_by_resistance(resistance_cold, resistance_hot, temp_cold, temp_ambient, material="copper"):
    """Return the average winding temperature rise [K] from the cold and hot resistances.

    This is the resistance method of IEC 60034-1. The rise is an average over the winding. The hot
    spot is hotter. Array arguments are broadcast against each other.

    Parameters
    ----------
    resistance_cold, resistance_hot : array_like
        Cold and hot resistance [ohm] of the same winding.
    temp_cold : array_like
        Winding temperature [degC] when the cold resistance is read.
    temp_ambient : array_like
        Temperature [degC] of the cooling air when the hot resistance is read.
    material : str, optional
        Conductor material, a key in INTERCEPT.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(rise_by_resistance(10.0, 13.2, 25.0, 25.0)), 6)
    83.2
    """
    k = _intercept(material)
    cold = check("resistance_cold", resistance_cold, OHM)
    hot = check("resistance_hot", resistance_hot, OHM)
    temp_cold = check("temp_cold", temp_cold, TEMP_AIR)
    temp_ambient = check("temp_ambient", temp_ambient, TEMP_AIR)
    return (hot - cold) / cold * (k + temp_cold) + temp_cold - temp_ambient


class SwitchOff(NamedTuple):
    """Winding resistance at shutdown, from a fitted cooling curve.

    Attributes
    ----------
    resistance_hot : float
        Resistance at shutdown [ohm].
    standard_error : float
        Standard error [ohm] of the resistance at shutdown.
    time_constant : float
        Time constant [s] of the curve.
    resistance_end : float
        Final resistance [ohm] of the curve.
    late : bool
        True if the first reading was taken later than the 30 s allowed by the standard.
    """

    resistance_hot: float
    standard_error: float
    time_constant: float
    resistance_end: float
    late: bool


def at_switch_off(time_off, resistance_hot, resistance_end=None, meter=0.0) -> SwitchOff:
    """Extrapolate the resistance readings of a cooling winding to the time of shutdown.

    All arrays are one-dimensional.

    The function fits an exponential by least squares, which is equivalent to a straight line
    through the logarithm of resistance minus ``resistance_end`` (IEC 60034-1 and IEEE 112,
    extrapolation to shutdown). A winding cools rapidly to the temperature of its core, and then
    slowly together with the core. If the readings cover the first two or three minutes, set
    ``resistance_end`` to None. With later readings, the extrapolated value is too low. The standard
    error is based on the scatter of the readings or on ``meter``, whichever is larger.

    Parameters
    ----------
    time_off
        Time [s] of each reading after shutdown.
    resistance_hot : array_like
        Resistance [ohm] at each time.
    resistance_end : optional
        Resistance [ohm] of the winding at air temperature, or None to estimate it from the
        readings. The estimate requires one additional reading.
    meter : optional
        Standard deviation [ohm] of one reading.

    Raises
    ------
    InputError
        If a value is out of range, if there are too few readings, if the times do not increase, if
        the resistances do not decrease, or if the first reading is later than twice the time in the
        standard.

    Examples
    --------
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
        return np.sum(_Exponential.through(time, ohms, np.exp(log_constant), end).miss ** 2)

    grid = np.linspace(*ends, 60)
    best = int(np.argmin([misfit(one) for one in grid]))
    if best == 0:
        given, accepted = Message("error.cooling.at_once"), Message("error.cooling.faster")
        raise InputError("resistance_hot", given, accepted)
    if best == len(grid) - 1:
        given, accepted = Message("error.cooling.straight"), Message("error.cooling.bent")
        raise InputError("resistance_hot", given, accepted)
    from scipy.optimize import minimize_scalar  # takes long

    around = (grid[best - 1], grid[best + 1])
    best = minimize_scalar(misfit, bounds=around, method="bounded")
    constant = float(np.exp(best.x))
    line = _Exponential.through(time, ohms, constant, end)
    return SwitchOff(line.start, line.error(noise), constant, line.end, bool(time[0] > SOON))


class ConvectionCoefficient(NamedTuple):
    """Lower and higher convection coefficients [W/m2K] from two correlations."""

    low: float
    high: float


def film_coefficient(diameter, speed, temp_air) -> ConvectionCoefficient:
    """Return the convection coefficient [W/m2K] of a motor shell in cross-flow.

    The function evaluates two correlations for a cylinder in undisturbed cross-flow. The
    coefficient of a shell in axial or blocked flow may be 25 % higher or lower (common practice; no
    published source). Array arguments are broadcast against each other.

    Parameters
    ----------
    diameter : array_like
        Shell diameter [m].
    speed : array_like
        Air speed [m/s].
    temp_air : array_like
        Air temperature [degC].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> [round(float(h)) for h in film_coefficient(0.142, 3.0, 50.0)]
    [17, 19]
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    speed = check("speed", speed, AIR_SPEED)
    of_air = air.properties(check("temp_air", temp_air, TEMP_AIR))
    reynolds = speed * diameter / of_air.kinematic_viscosity
    both = [
        nusselt(reynolds, of_air.prandtl) * of_air.conductivity / diameter
        for nusselt in (nusselt_churchill_bernstein, nusselt_zukauskas)
    ]
    return ConvectionCoefficient(np.minimum(*both), np.maximum(*both))


def nusselt_churchill_bernstein(reynolds, prandtl):
    """Return the Nusselt number of a cylinder in cross-flow for Re Pr > 0.2.

    The correlation is from Churchill and Bernstein (1977), as given in Incropera and DeWitt,
    equation 7.54. Their example 7.4 gives:

    >>> round(float(nusselt_churchill_bernstein(10 * 0.0127 / 20.92e-6, 0.700)), 1)
    40.6
    """
    bracket = (1 + (reynolds / 282000) ** (5 / 8)) ** (4 / 5)
    damping = (1 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    return 0.3 + 0.62 * np.sqrt(reynolds) * np.cbrt(prandtl) / damping * bracket


def nusselt_zukauskas(reynolds, prandtl):
    """Return the Nusselt number of a cylinder in cross-flow for Re from 40 to 1e6.

    The correlation is from Zukauskas, as given in Incropera and DeWitt, equation 7.53 and table
    7.4. Properties are evaluated at the air temperature. The factor for the Prandtl number at the
    surface temperature is omitted, because it is within 0.5 % of 1 in air. The table has steps at
    Re 1e3 and 2e5. To avoid them, the function returns the maximum of the three correlations in the
    table, which exceeds the table by at most 2 %. Example 7.4 includes the factor:

    >>> of_surface = (0.707 / 0.690) ** 0.25
    >>> round(float(nusselt_zukauskas(10 * 0.0127 / 15.89e-6, 0.707) * of_surface), 1)
    50.5
    """
    laws = [0.51 * reynolds**0.5, 0.26 * reynolds**0.6, 0.076 * reynolds**0.7]
    return np.maximum.reduce(np.broadcast_arrays(*laws)) * prandtl**0.37


class FreeFilm(NamedTuple):
    """Natural convection coefficients [W/m2K] for a horizontal and a vertical shaft."""

    horizontal: float
    vertical: float


def free_film(diameter, length, rise, temp_air) -> FreeFilm:
    """Return the natural convection coefficient [W/m2K] of a shell in still air.

    The coefficient of the cylindrical surface is also used for the ends. Air properties are
    evaluated at the mean temperature, which is limited to 200 degC. Array arguments are broadcast
    against each other.

    Parameters
    ----------
    diameter, length : array_like
        Dimensions of the shell [m].
    rise : array_like
        Shell temperature rise [K] above the air. The sign has no effect.
    temp_air : array_like
        Air temperature [degC].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> [round(float(h), 1) for h in free_film(0.142, 0.13, 50.0, 40.0)]
    [5.4, 6.0]
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    length = check("length", length, LENGTH_SHELL)
    rise = np.abs(check("rise", rise, RISE))
    mean = check("temp_air", temp_air, TEMP_AIR) + rise / 2
    of_air = air.properties(np.minimum(mean, air.TEMP_FILM.high))
    driving = rise / (mean + ZERO_CELSIUS) * of_air.prandtl / of_air.kinematic_viscosity**2
    horizontal = nusselt_horizontal_cylinder(GRAVITY * driving * diameter**3, of_air.prandtl)
    vertical = nusselt_vertical_plate(GRAVITY * driving * length**3, of_air.prandtl)
    k = of_air.conductivity
    return FreeFilm(horizontal * k / diameter, vertical * k / length)


def nusselt_horizontal_cylinder(rayleigh, prandtl):
    """Return the Nusselt number of a horizontal cylinder for Ra up to 1e12.

    ``rayleigh`` and ``prandtl`` are the Rayleigh number, based on diameter, and the Prandtl number
    at the mean temperature. The correlation is from Churchill and Chu (1975), as given in Incropera
    and DeWitt, equation 9.34. Array arguments are broadcast against each other. Example 9.4 gives
    23.3, because its intermediate values are rounded:

    >>> round(float(nusselt_horizontal_cylinder(5.073e6, 0.697)), 1)
    23.1
    """
    damping = (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.60 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2


def nusselt_vertical_plate(rayleigh, prandtl):
    """Return the Nusselt number of a vertical plate for any Rayleigh number.

    ``rayleigh`` and ``prandtl`` are the Rayleigh number, based on height, and the Prandtl number at
    the mean temperature. The correlation is from Churchill and Chu (1975), as given in Incropera
    and DeWitt, equation 9.26. The correlation is also valid for vertical cylinders with a diameter
    of at least 35 / Gr^(1/4) times the height. Motors meet this condition. Array arguments are
    broadcast against each other.
    """
    damping = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.825 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2


def combined_film(film, free):
    """Return the combined coefficient [W/m2K] for forced and natural convection.

    The cubes of the coefficients are added. Incropera and DeWitt, section 9.9, recommend an
    exponent of 3 in most cases in which the flows do not oppose each other. Array arguments are
    broadcast against each other.

    Parameters
    ----------
    film : array_like
        Forced convection coefficient [W/m2K].
    free : array_like
        Natural convection coefficient [W/m2K].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(combined_film(20.0, 6.0)), 2)
    20.18
    """
    film, free = check("film", film, FILM_PART), check("free", free, FILM_PART)
    return np.cbrt(film * film * film + free * free * free)


def shell_area(diameter, length):
    """Return the surface area [m2] of a cylindrical shell, including both ends.

    ``diameter`` and ``length`` are the dimensions [m] of the shell. Array arguments are broadcast
    against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(shell_area(0.142, 0.13)), 5)
    0.08967
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    length = check("length", length, LENGTH_SHELL)
    return np.pi * diameter * length + np.pi / 2 * diameter**2


def shell_rise(loss, area, film, temp_air, emissivity=0.9):
    """Return the temperature rise [K] of a shell that rejects heat to the air.

    The function solves the heat balance of a small gray body, which can be found in any heat
    transfer handbook. Array arguments are broadcast against each other.

    Parameters
    ----------
    loss : array_like
        Heat rejected to the air [W].
    area : array_like
        Surface area [m2].
    film : array_like
        Convection coefficient [W/m2K].
    temp_air : array_like
        Temperature [degC] of the air and the surroundings.
    emissivity : array_like, optional
        Emissivity of the surface: 0.9 for paint, 0 for no radiation.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(shell_rise(165.71, shell_area(0.142, 0.13), 25.46, 50.0, 0.0)), 1)
    72.6
    """
    loss = check("loss", loss, LOSS)
    area = check("area", area, AREA)
    film = check("film", film, FILM)
    emissivity = check("emissivity", emissivity, EMISSIVITY)
    base = check("temp_air", temp_air, TEMP_AIR) + ZERO_CELSIUS
    radiant = emissivity * STEFAN_BOLTZMANN

    # Newton's method from the rise with linearized radiation: the balance is convex, so the
    # iteration starts above the root and approaches it without overshoot. Powers are products,
    # because NumPy's power function takes twenty times as long.
    base_cubed = base * base * base
    rise = loss / (area * (film + 4 * radiant * base_cubed))
    for _ in range(50):
        hot = base + rise
        hot_cubed = hot * hot * hot
        excess = area * (film * rise + radiant * (hot_cubed * hot - base_cubed * base)) - loss
        step = excess / (area * (film + 4 * radiant * hot_cubed))
        rise = rise - step
        if np.all(np.abs(step) <= 1e-9 * np.maximum(rise, 1)):
            return rise
    raise ArithmeticError("the shell's heat balance did not settle")


def sun_absorbed(irradiance, absorptivity, unshaded):
    """Return the solar heat [W/m2] absorbed by a surface.

    The heat is the product of the three arguments. Array arguments are broadcast against each
    other.

    Parameters
    ----------
    irradiance : array_like
        Irradiance [W/m2] on the surface.
    absorptivity : array_like
        Absorptivity of the paint, 0 to 1 (about 0.3 for white and 0.9 for dark paint).
    unshaded : array_like
        Fraction of the surface that is not shaded by a guard, 0 to 1.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(sun_absorbed(1000.0, 0.9, 0.5))
    450.0
    """
    irradiance = check("irradiance", irradiance, IRRADIANCE)
    absorptivity = check("absorptivity", absorptivity, RATIO)
    return irradiance * absorptivity * check("unshaded", unshaded, RATIO)


def _intercept(material: str) -> float:
    material = "aluminum" if material == "aluminium" else material  # IEC spelling
    if material not in INTERCEPT:
        raise InputError("material", repr(material), either(INTERCEPT))
    return INTERCEPT[material]


class _Exponential(NamedTuple):
    """Exponential end + fall exp(-t / constant), fitted for a given time constant."""

    time: np.ndarray
    constant: float
    fall: float
    end: float
    end_known: bool
    miss: np.ndarray

    @classmethod
    def through(cls, time, ohms, constant, end) -> "_Exponential":
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
        """Return the standard error of the value at time zero, to first order."""
        decay = np.exp(-self.time / self.constant)
        columns = [decay, self.fall * self.time * decay]  # derivatives w.r.t. fall and rate
        if not self.end_known:
            columns.append(np.ones_like(decay))
        slopes = np.stack(columns, axis=1)
        free = len(decay) - slopes.shape[1]
        variance = max(float(self.miss @ self.miss) / free, noise**2)
        weight = np.array([1.0, 0.0, 1.0])[: slopes.shape[1]]
        return float(np.sqrt(variance * weight @ np.linalg.pinv(slopes.T @ slopes) @ weight))


def _readings(time_off, resistance_hot, fewest: int):
    """Return the times and resistances as arrays. Check that the resistances decrease."""
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
