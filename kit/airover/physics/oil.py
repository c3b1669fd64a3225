"""Viscosity and density of lubricating oil as functions of temperature."""

import numpy as np

from airover.core.errors import TEMP_BEARING, InputError, Range, check
from airover.core.message import Message
from airover.physics.air import ZERO_CELSIUS

VISCOSITY = Range(5e-7, 5e-3, "m2/s")

# Turbine and spindle oils (common practice; no published source): 850 to 890 kg/m3 at
# 15 degC, 6.5e-4 to 7.5e-4 1/K, 1800 to 2100 J/kgK from 30 to 90 degC.
DENSITY_15 = 870.0  # kg/m3
EXPANSION = 7e-4  # 1/K
HEAT_CAPACITY = 1950.0  # J/kgK


def oil_viscosity(temp_bearing, viscosity_40, viscosity_100):
    """Return the kinematic viscosity [m2/s] of an oil or base oil at ``temp_bearing`` [degC].

    ``viscosity_40`` and ``viscosity_100`` are the viscosities [m2/s] at 40 and 100 degC. The
    viscosity is interpolated with the Walther equation of ASTM D341, in which log log (nu + 0.7
    mm2/s) is linear in log T. Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range or if the viscosity does not decrease with temperature.

    Examples
    --------
    >>> round(float(oil_viscosity(50.0, 32e-6, 5.4e-6)) * 1e6, 3)
    21.496
    """
    temp = check("temp_bearing", temp_bearing, TEMP_BEARING) + ZERO_CELSIUS
    cool = _walther("viscosity_40", viscosity_40)
    hot = _walther("viscosity_100", viscosity_100)
    if np.any(hot >= cool):
        given, accepted = Message("error.physics.no_thinner"), Message("error.physics.thinner")
        raise InputError("viscosity_100", given, accepted)
    share = np.log(temp / 313.15) / np.log(373.15 / 313.15)
    return (10 ** (10 ** (cool + share * (hot - cool))) - 0.7) * 1e-6


def _walther(field, viscosity):
    return np.log10(np.log10(check(field, viscosity, VISCOSITY) * 1e6 + 0.7))


def oil_density(temp_bearing):
    """Return the density [kg/m3] of a mineral oil at ``temp_bearing`` [degC].

    The density is 870 kg/m3 at 15 degC and decreases by 0.07 % per K. The density of a real mineral
    oil is within 3 % of this value (common practice; no published source). The result has the same
    shape as the input.

    Raises
    ------
    InputError
        If the temperature is out of range.

    Examples
    --------
    >>> round(float(oil_density(60.0)))
    843
    """
    return DENSITY_15 * (1 - EXPANSION * (check("temp_bearing", temp_bearing, TEMP_BEARING) - 15))


def dynamic_viscosity(temp_bearing, viscosity_40, viscosity_100):
    """Return the dynamic viscosity [Pa s] of an oil at ``temp_bearing`` [degC].

    The result is the product of `oil_viscosity` and `oil_density`. ``viscosity_40`` and
    ``viscosity_100`` are the viscosities [m2/s] at 40 and 100 degC. Array arguments are broadcast
    against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(dynamic_viscosity(50.0, 32e-6, 5.4e-6)), 4)
    0.0182
    """
    return oil_viscosity(temp_bearing, viscosity_40, viscosity_100) * oil_density(temp_bearing)
