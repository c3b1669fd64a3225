"""Heat from winding and shell into the air, and winding temperature from ohms.

The shell loses heat as a cylinder across an airstream (two correlations), by natural convection,
and by radiation to surroundings as warm as the air. Cubes of forced and natural convection
coefficients add up, so natural convection against the airstream is not seen; the ends count like
the cylinder.

Winding resistance at switch-off is extrapolated from ohms read while the motor cools, since an
ohmmeter cannot be on a running winding. The curve is one exponential. A winding first cools to its
iron, so readings that begin late give too little.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize_scalar

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
LOSS = Range(0.0, 50000.0, "W")  # a stalled 3/4 hp motor at 508 V turns over 5 kW into heat
AREA = Range(1e-3, 500.0, "m2")
FILM = Range(0.1, 500.0, "W/m2K")
FILM_PART = Range(0.0, 5000.0, "W/m2K")  # of the airstream or of natural convection alone
RISE = Range(-500.0, 1e4, "K")  # a locked motor without a protector is simulated too
EMISSIVITY = Range(0.0, 1.0, "")
IRRADIANCE = Range(0.0, 1400.0, "W/m2")
STEFAN_BOLTZMANN = 5.670374419e-8  # W/m2K4, CODATA 2018

# Temperature [degC] below zero at which the resistance's straight line meets zero.
# IEC 60034-1 writes 235 for copper (NEMA MG 1: 234.5) and 225 for aluminium.
INTERCEPT = {"copper": 235.0, "aluminium": 225.0}

# IEC 60034-1, rise by resistance, motors up to 50 kW (from memory, not verified): a first reading
# within so many seconds needs no curve; later than twice that it is not accepted.
SOON = 30.0  # [s]
TOO_LATE = 2 * SOON
TIME_OFF = Range(0.0, 7200.0, "s")
METER = Range(0.0, 1e3, "ohm")
TIME_CONSTANTS = (0.05, 50.0)  # searched, over the time from first to last reading
JUMP = 0.34  # share of the whole fall by which no reading may lie above the one before


def resistance_factor(temp_winding, temp_reference, material="copper"):
    """Resistance at ``temp_winding`` [degC] over that at ``temp_reference`` [degC].

    Straight line of IEC 60034-1. Arrays broadcast. Raises InputError out of range.

    >>> round(float(resistance_factor(115.0, 25.0)), 4)
    1.3462
    """
    k = _intercept(material)
    temp_winding = check("temp_winding", temp_winding, TEMP_WINDING)
    temp_reference = check("temp_reference", temp_reference, TEMP_WINDING)
    return (k + temp_winding) / (k + temp_reference)


def rise_by_resistance(resistance_cold, resistance_hot, temp_cold, temp_ambient, material="copper"):
    """Average rise [K] of a winding over ``temp_ambient`` from its resistance cold and hot.

    Resistances [ohm] of the same winding, ``temp_cold`` [degC] at the cold reading,
    ``temp_ambient`` [degC] of the cooling air at the hot one. IEC 60034-1, rise by resistance:
    an average of the winding, not its hottest spot. Arrays broadcast. Raises InputError.

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
        return np.sum(_Exponential.through(time, ohms, np.exp(log_constant), end).miss ** 2)

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
    line = _Exponential.through(time, ohms, constant, end)
    return SwitchOff(line.start, line.error(noise), constant, line.end, bool(time[0] > SOON))


class ConvectionCoefficient(NamedTuple):
    """Convection coefficient [W/m2K] by the lower and the higher of the two correlations."""

    low: float
    high: float


def film_coefficient(diameter, speed, temp_air) -> ConvectionCoefficient:
    """Convection coefficient [W/m2K] of a motor shell across an air stream.

    ``diameter`` [m] of the shell, ``speed`` [m/s] of the air, ``temp_air`` [degC]. A cylinder in
    clean cross-flow by two correlations; a shell in axial or blocked flow may lie 25 % to
    either side (common practice, no source). Arrays broadcast. Raises InputError out of range.

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
    """Nusselt number of a cylinder in cross-flow; Re Pr above 0.2.

    Churchill and Bernstein 1977, as in Incropera and DeWitt, equation 7.54; its example 7.4:

    >>> round(float(nusselt_churchill_bernstein(10 * 0.0127 / 20.92e-6, 0.700)), 1)
    40.6
    """
    bracket = (1 + (reynolds / 282000) ** (5 / 8)) ** (4 / 5)
    damping = (1 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    return 0.3 + 0.62 * np.sqrt(reynolds) * np.cbrt(prandtl) / damping * bracket


def nusselt_zukauskas(reynolds, prandtl):
    """Nusselt number of a cylinder in cross-flow, properties at the air's own temperature.

    Zukauskas, as in Incropera and DeWitt, equation 7.53 and table 7.4, Re 40 to 1e6; the factor
    for the surface's own Prandtl number is 1 within half a per cent in air and left out. The
    table's ranges meet with a step at Re 1e3 and 2e5; taking the highest of its three laws closes
    it, at most 2 % above the table next to a step. Example 7.4, with that factor:

    >>> of_surface = (0.707 / 0.690) ** 0.25
    >>> round(float(nusselt_zukauskas(10 * 0.0127 / 15.89e-6, 0.707) * of_surface), 1)
    50.5
    """
    laws = [0.51 * reynolds**0.5, 0.26 * reynolds**0.6, 0.076 * reynolds**0.7]
    return np.maximum.reduce(np.broadcast_arrays(*laws)) * prandtl**0.37


class FreeFilm(NamedTuple):
    """Convection coefficient [W/m2K] of a shell in still air, by the position of its shaft."""

    horizontal: float
    vertical: float


def free_film(diameter, length, rise, temp_air) -> FreeFilm:
    """Convection coefficient [W/m2K] of a shell in still air, by the mantle's law for its ends too.

    ``diameter`` and ``length`` [m], ``rise`` [K] of the shell over ``temp_air`` [degC]; a shell
    colder than the air counts alike. Properties of air at the mean of both temperatures, which
    is held to the 200 degC up to which they are known. Arrays broadcast. Raises InputError out of
    range.

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
    """Nusselt number over the diameter of a horizontal cylinder; Rayleigh number up to 1e12.

    ``rayleigh`` and ``prandtl`` of the air at the mean temperature. Churchill and Chu 1975, as in
    Incropera and DeWitt, equation 9.34. Arrays broadcast. Its example 9.4, which prints 23.3 by
    rounding on the way:

    >>> round(float(nusselt_horizontal_cylinder(5.073e6, 0.697)), 1)
    23.1
    """
    damping = (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.60 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2


def nusselt_vertical_plate(rayleigh, prandtl):
    """Nusselt number over the height of a vertical plate, any Rayleigh number.

    ``rayleigh`` and ``prandtl`` as above. Churchill and Chu 1975, as in Incropera and DeWitt,
    equation 9.26. It holds for a vertical cylinder thicker than 35 / Gr^(1/4) of its height, as
    motors are. Arrays broadcast.
    """
    damping = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.825 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2


def combined_film(film, free):
    """Convection coefficient [W/m2K] of an airstream and of natural convection together.

    ``film`` [W/m2K] of the airstream alone and ``free`` [W/m2K] of still air: cubes add up, which
    Incropera and DeWitt, section 9.9, give as the usual best exponent for streams that do not
    oppose each other. Arrays broadcast. Raises InputError out of range.

    >>> round(float(combined_film(20.0, 6.0)), 2)
    20.18
    """
    film, free = check("film", film, FILM_PART), check("free", free, FILM_PART)
    return np.cbrt(film**3 + free**3)


def shell_area(diameter, length):
    """Surface [m2] of a closed shell: its mantle and both ends.

    ``diameter`` and ``length`` [m]. Arrays broadcast. Raises InputError out of range.

    >>> round(float(shell_area(0.142, 0.13)), 5)
    0.08967
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    length = check("length", length, LENGTH_SHELL)
    return np.pi * diameter * length + np.pi / 2 * diameter**2


def shell_rise(loss, area, film, temp_air, emissivity=0.9):
    """Rise [K] of the shell over the air that carries ``loss`` [W] away.

    ``area`` [m2], ``film`` [W/m2K]; radiation goes to surroundings at ``temp_air`` [degC],
    emissivity 0.9 for paint and 0 without radiation. Heat balance of a small grey body,
    any handbook. Arrays broadcast. Raises InputError out of range.

    >>> round(float(shell_rise(165.71, shell_area(0.142, 0.13), 25.46, 50.0, 0.0)), 1)
    72.6
    """
    loss = check("loss", loss, LOSS)
    area = check("area", area, AREA)
    film = check("film", film, FILM)
    emissivity = check("emissivity", emissivity, EMISSIVITY)
    base = check("temp_air", temp_air, TEMP_AIR) + ZERO_CELSIUS
    radiant = emissivity * STEFAN_BOLTZMANN

    # Newton from the rise with radiation's first straight line: the balance is convex, so this
    # starts above the root and comes down to it without passing it.
    rise = loss / (area * (film + 4 * radiant * base**3))
    for _ in range(50):
        excess = area * (film * rise + radiant * ((base + rise) ** 4 - base**4)) - loss
        step = excess / (area * (film + 4 * radiant * (base + rise) ** 3))
        rise = rise - step
        if np.all(np.abs(step) <= 1e-9 * np.maximum(rise, 1)):
            return rise
    raise ArithmeticError("the shell's heat balance did not settle")


def sun_absorbed(irradiance, absorptivity, unshaded):
    """Heat of the sun [W/m2] that a surface takes up, per square metre facing it.

    ``irradiance`` [W/m2] on that surface, ``absorptivity`` 0 to 1 of its paint (some 0.3 for
    white, 0.9 for dark), ``unshaded`` 0 to 1: the share that no guard shades. Any handbook. Arrays
    broadcast. Raises InputError out of range.

    >>> float(sun_absorbed(1000.0, 0.9, 0.5))
    450.0
    """
    irradiance = check("irradiance", irradiance, IRRADIANCE)
    absorptivity = check("absorptivity", absorptivity, RATIO)
    return irradiance * absorptivity * check("unshaded", unshaded, RATIO)


def _intercept(material: str) -> float:
    if material not in INTERCEPT:
        raise InputError("material", repr(material), either(INTERCEPT))
    return INTERCEPT[material]


class _Exponential(NamedTuple):
    """An exponential of a given time constant through readings: end + fall exp(-t / constant)."""

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
