"""Density and transport properties of outdoor air."""

from typing import NamedTuple

import numpy as np

from airover.core.errors import ELEVATION, PRESSURE_AIR, RATIO, TEMP_AIR, InputError, Range, check
from airover.core.message import Message

ZERO_CELSIUS = 273.15  # [K]
GRAVITY = 9.80665  # [m/s2] standard
PRESSURE_SEA_LEVEL = 101325.0  # [Pa] ISO 2533
TEMP_SEA_LEVEL = 288.15  # [K] ISO 2533
LAPSE_RATE = 0.0065  # [K/m] ISO 2533, up to 11 km
STANDARD_EXPONENT = GRAVITY / (287.05287 * LAPSE_RATE)  # g / (R L), ISO 2533

GAS_CONSTANT_DRY_AIR = 287.042  # [J/kgK] ASHRAE Handbook of Fundamentals
VAPOUR_TO_AIR = 0.621945  # ratio of molar masses, ASHRAE Handbook of Fundamentals

# Hyland & Wexler 1983 as printed in the ASHRAE Handbook of Fundamentals: ln(p/Pa) is the sum of
# these coefficients times T^-1, 1, T, T^2, T^3, T^4 [K] and, for the last coefficient, ln T.
OVER_ICE = (
    -5.6745359e3,
    6.3925247,
    -9.677843e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.484024e-13,
    4.1635019,
)
OVER_WATER = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    0.0,
    6.5459673,
)
TRIPLE_POINT = 273.16  # [K]

# Lemmon & Jacobsen 2004: dilute-gas viscosity and conductivity of air.
COLLISION = (0.431, -0.4623, 0.08406, 0.005341, -0.00331)
HEAT_CAPACITY = 1007.0  # [J/kgK] dry air at 1 atm; within 0.4 % from -60 to 100 degC
# Film temperatures can exceed air temperatures. Values in kelvin (213 and up) are still rejected.
TEMP_FILM = Range(-60.0, 200.0, "degC")


class Properties(NamedTuple):
    """Transport properties of dry air at 1 atm.

    Attributes
    ----------
    kinematic_viscosity : ndarray
        Kinematic viscosity [m2/s].
    prandtl : ndarray
        Prandtl number.
    conductivity : ndarray
        Thermal conductivity [W/mK].
    """

    kinematic_viscosity: np.ndarray
    prandtl: np.ndarray
    conductivity: np.ndarray


def standard_pressure(elevation):
    """Return the pressure [Pa] of the standard atmosphere at an ``elevation`` [m].

    The equation is from ISO 2533 and applies below 11 km. The standard uses geopotential elevation.
    Maps give geometric elevation, which causes an error of 4 Pa at 1600 m. The result has the same
    shape as the input.

    Raises
    ------
    InputError
        If the elevation is out of range.

    Examples
    --------
    >>> round(float(standard_pressure(1000.0)), 1)
    89874.6
    """
    elevation = check("elevation", elevation, ELEVATION)
    return PRESSURE_SEA_LEVEL * (1 - LAPSE_RATE * elevation / TEMP_SEA_LEVEL) ** STANDARD_EXPONENT


def saturation_pressure(temp_air):
    """Return the saturation pressure of water vapor [Pa].

    ``temp_air`` is the air temperature [degC]. Below 0.01 degC, the result is the saturation
    pressure over ice. The equation is from Hyland and Wexler (1983), as given in the ASHRAE
    Handbook of Fundamentals. The result has the same shape as the input.

    Raises
    ------
    InputError
        If the temperature is out of range.

    Examples
    --------
    >>> round(float(saturation_pressure(20.0)), 1)
    2338.8
    """
    temp = check("temp_air", temp_air, TEMP_AIR) + ZERO_CELSIUS
    powers = np.stack([1 / temp, temp**0, temp, temp**2, temp**3, temp**4, np.log(temp)], axis=-1)
    over_ice, over_water = powers @ np.array(OVER_ICE), powers @ np.array(OVER_WATER)
    return np.exp(np.where(temp <= TRIPLE_POINT, over_ice, over_water))[()]


def moist_air_density(temp_air, pressure, relative_humidity=0.0):
    """Return the density [kg/m3] of moist air as a mixture of two ideal gases.

    At sea level, real air is 0.03 to 0.04 % denser than the result. The method is from the ASHRAE
    Handbook of Fundamentals. Array arguments are broadcast against each other.

    Parameters
    ----------
    temp_air : array_like
        Air temperature [degC].
    pressure : array_like
        Local air pressure [Pa], not reduced to sea level.
    relative_humidity : array_like, optional
        Relative humidity, 0 to 1.

    Raises
    ------
    InputError
        If a value is out of range or if the vapor pressure alone would exceed ``pressure``.

    Examples
    --------
    >>> round(float(moist_air_density(20.0, 101325.0, 0.5)), 4)
    1.1989
    """
    pressure = check("pressure", pressure, PRESSURE_AIR)
    humidity = check("relative_humidity", relative_humidity, RATIO)
    vapour = humidity * saturation_pressure(temp_air)
    _refuse_boiling(vapour, pressure)
    temp = np.asarray(temp_air, dtype=float) + ZERO_CELSIUS
    return (pressure - (1 - VAPOUR_TO_AIR) * vapour) / (GAS_CONSTANT_DRY_AIR * temp)


def _refuse_boiling(vapour, pressure):
    vapour, pressure = np.broadcast_arrays(vapour, pressure)
    boiling = vapour >= pressure
    if np.any(boiling):
        given = Message("error.physics.vapour", pressure=f"{vapour[boiling][0]:,.0f}")
        limit = f"{pressure[boiling][0]:,.0f} Pa"
        accepted = Message("error.physics.below_air_pressure", pressure=limit)
        raise InputError("relative_humidity", given, accepted, "Pa")


def properties(temp_air) -> Properties:
    """Return the transport properties of dry air at 1 atm and ``temp_air`` [degC].

    Viscosity and conductivity are the dilute-gas values of Lemmon and Jacobsen, Int. J.
    Thermophysics 25 (2004) 21. The heat capacity is constant. The kinematic viscosity is inversely
    proportional to density. The result has the same shape as the input.

    Raises
    ------
    InputError
        If the temperature is out of range.

    Examples
    --------
    >>> round(float(properties(50.0).prandtl), 3)
    0.704
    """
    temp = check("temp_air", temp_air, TEMP_FILM) + ZERO_CELSIUS
    # Chapman-Enskog in uPa s: molar mass 28.9586 g/mol, size 0.360 nm, energy 103.3 K
    x, fit = np.log(temp / 103.3), COLLISION[-1]
    for coefficient in reversed(COLLISION[:-1]):
        fit = coefficient + fit * x
    collision = np.exp(fit)
    viscosity = 0.0266958 * np.sqrt(28.9586 * temp) / (0.360**2 * collision)
    reduced = 132.6312 / temp
    conductivity = (1.308 * viscosity + 1.405 * reduced**-1.1 - 1.036 * reduced**-0.3) / 1000
    density = PRESSURE_SEA_LEVEL / (GAS_CONSTANT_DRY_AIR * temp)
    prandtl = viscosity * 1e-6 * HEAT_CAPACITY / conductivity
    return Properties(viscosity * 1e-6 / density, prandtl, conductivity)
