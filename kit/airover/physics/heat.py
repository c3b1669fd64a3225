"""Heat from the winding through the shell into the fan's air."""

from typing import NamedTuple

import numpy as np

from airover.errors import InputError, either
from airover.limits import AIR_SPEED, RATIO, TEMP_AIR, TEMP_WINDING, Range, check
from airover.physics import air

OHM = Range(1e-6, 1e9, "ohm")
DIAMETER_SHELL = Range(0.02, 0.5, "m")
LENGTH_SHELL = Range(0.02, 1.0, "m")
LOSS = Range(0.0, 50000.0, "W")  # a stalled 3/4 hp motor at 508 V turns over 5 kW into heat
AREA = Range(1e-3, 500.0, "m2")
FILM = Range(0.1, 500.0, "W/m2K")
EMISSIVITY = Range(0.0, 1.0, "")
IRRADIANCE = Range(0.0, 1400.0, "W/m2")
STEFAN_BOLTZMANN = 5.670374419e-8  # W/m2K4, CODATA 2018
ZERO_CELSIUS = 273.15  # K

# Temperature [degC] below zero at which the resistance's straight line meets zero.
# IEC 60034-1 writes 235 for copper (NEMA MG 1: 234.5) and 225 for aluminium.
INTERCEPT = {"copper": 235.0, "aluminium": 225.0}


def _intercept(material: str) -> float:
    if material not in INTERCEPT:
        raise InputError("material", repr(material), either(INTERCEPT))
    return INTERCEPT[material]


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


class ConvectionCoefficient(NamedTuple):
    """Convection coefficient [W/m2K] by the lower and the higher of the two correlations."""

    low: float
    high: float


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
