"""Leaving air temperature and condensing temperature of an outdoor coil.

In a draw-through unit, the motor is in the air that leaves the coil, not in outdoor air. The
refrigerant temperature is assumed to be constant along the whole coil. The effectiveness is then 1
- exp(-NTU), with NTU proportional to flow^(m - 1). The leaving air is assumed to be well mixed. Air
leaving a hot corner of the coil is hotter than the mixed air.
"""

import numpy as np

from airover.core.errors import DENSITY, FLOW, TEMP_AIR, Range, check

DENSITY_STANDARD = 0.075 * 0.45359237 / 0.3048**3  # [kg/m3] 0.075 lb/ft3, common practice
HEAT_CAPACITY = 0.24 * 4186.8  # [J/kgK] 0.24 Btu/(lb degF), common practice

HEAT = Range(0.0, 100e3, "W")
FLOW_POSITIVE = Range(0.01, FLOW.high, FLOW.unit)
EFFECTIVENESS = Range(0.01, 1.0, "")
EFFECTIVENESS_RATED = Range(0.01, 0.99, "")  # 1 would require an infinitely large coil
FLOW_RATIO = Range(0.01, 10.0, "")
EXPONENT = Range(0.0, 1.0, "")
CONDUCTANCE = Range(1.0, 50e3, "W/K")
TRANSFER_UNITS = Range(0.0, 20.0, "")
RECIRCULATED = Range(0.0, 0.8, "")


def leaving_temperature(heat, flow, temp_in, density=None):
    """Return the mixed coil leaving air temperature [degC].

    The temperature is calculated from the energy balance. Air that leaves a hot corner of the coil
    can be hotter than the mixed air. Array arguments are broadcast against each other.

    Parameters
    ----------
    heat : array_like
        Heat rejected to the air [W].
    flow : array_like
        Airflow [m3/s].
    temp_in : array_like
        Entering air temperature [degC].
    density : array_like, optional
        Air density [kg/m3] at the point where the flow was measured, or None for 0.075 lb/ft3. With
        None, the temperature rise in degF agrees with the trade formula Btu/h / (1.08 cfm).

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(leaving_temperature(13188.0, 1.1327, 35.0)), 2)
    44.64
    """
    return check("temp_in", temp_in, TEMP_AIR) + _rise(heat, flow, density)


def entering_temperature(heat, flow, temp_outdoor, recirculated=0.0, density=None):
    """Return the entering air temperature [degC] of a coil with recirculated air.

    For an air temperature rise dT across the coil, the energy balance of well-mixed air is T = (1 -
    r) T_outdoor + r (T + dT). The entering air is therefore r/(1 - r) dT above outdoor temperature,
    and the leaving air is dT/(1 - r) above it. Array arguments are broadcast against each other.

    Parameters
    ----------
    heat : array_like
        Heat rejected to the air [W].
    flow : array_like
        Airflow through the coil [m3/s].
    temp_outdoor : array_like
        Outdoor temperature [degC].
    recirculated : array_like, optional
        Fraction r of the leaving air that is recirculated, 0 to 0.8.
    density : array_like, optional
        Air density [kg/m3], as in `leaving_temperature`.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(entering_temperature(13188.0, 1.1327, 35.0, 0.2)), 2)
    37.41
    """
    share = check("recirculated", recirculated, RECIRCULATED)
    outdoor = check("temp_outdoor", temp_outdoor, TEMP_AIR)
    return outdoor + share / (1 - share) * _rise(heat, flow, density)


def transfer_units(conductance, flow, density=None):
    """Return the number of transfer units (NTU) of a coil.

    NTU is the ratio of the coil conductance to the heat capacity rate of the air (Incropera and
    DeWitt, chapter on heat exchangers, cited from memory). Array arguments are broadcast against
    each other.

    Parameters
    ----------
    conductance : array_like
        Conductance UA [W/K] from refrigerant to air.
    flow : array_like
        Airflow [m3/s].
    density : array_like, optional
        Air density [kg/m3], as in `leaving_temperature`.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(transfer_units(1434.0, 1.1327)), 3)
    1.049
    """
    conductance = check("conductance", conductance, CONDUCTANCE)
    return conductance / _capacity_rate(flow, density)


def effectiveness_of(transfer_units):
    """Return the effectiveness 1 - exp(-NTU) of a condenser.

    The flow arrangement has no effect if one fluid is at a constant temperature (Kays and London,
    Compact Heat Exchangers). The result has the same shape as the input.

    Raises
    ------
    InputError
        If the value is out of range.

    Examples
    --------
    >>> round(float(effectiveness_of(1.0)), 4)
    0.6321
    """
    return -np.expm1(-check("transfer_units", transfer_units, TRANSFER_UNITS))


def effectiveness(effectiveness_rated, flow_ratio, exponent=0.6):
    """Return the effectiveness of a condenser coil at a different airflow.

    The effectiveness is 1 - exp(-NTU). NTU is proportional to flow^(m - 1), because the governing
    air-side convection coefficient is proportional to flow^m. Array arguments are broadcast against
    each other.

    Parameters
    ----------
    effectiveness_rated : array_like
        Effectiveness at rated airflow, 0.01 to 0.99.
    flow_ratio : array_like
        Ratio of the airflow to the rated airflow.
    exponent : array_like, optional
        Air-side exponent m, 0.5 to 0.6 (common practice).

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(effectiveness(0.65, 0.5)), 5)
    0.74974
    """
    rated = check("effectiveness_rated", effectiveness_rated, EFFECTIVENESS_RATED)
    ratio = check("flow_ratio", flow_ratio, FLOW_RATIO)
    units = -np.log1p(-rated) * ratio ** (check("exponent", exponent, EXPONENT) - 1)
    return -np.expm1(-units)


def condensing_temperature(heat, flow, temp_in, effectiveness, density=None):
    """Return the condensing temperature [degC] at which the coil rejects ``heat`` [W].

    The condensing temperature is ``temp_in`` plus the air temperature rise divided by
    ``effectiveness``. The refrigerant temperature is assumed to be constant along the coil. Use the
    result to compare airflows, not to predict a gauge reading. Array arguments are broadcast
    against each other.

    Parameters
    ----------
    heat : array_like
        Heat rejected by the coil [W].
    flow : array_like
        Airflow [m3/s].
    temp_in : array_like
        Entering air temperature [degC].
    effectiveness : array_like
        Coil effectiveness.
    density : array_like, optional
        Air density [kg/m3], as in `leaving_temperature`.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(condensing_temperature(13188.0, 1.1327, 35.0, 0.65)), 2)
    49.84
    """
    rise = _rise(heat, flow, density)
    share = check("effectiveness", effectiveness, EFFECTIVENESS)
    return check("temp_in", temp_in, TEMP_AIR) + rise / share


def _rise(heat, flow, density):
    return check("heat", heat, HEAT) / _capacity_rate(flow, density)


def _capacity_rate(flow, density):
    """Return the heat capacity rate [W/K] of the airstream."""
    density = check("density", DENSITY_STANDARD if density is None else density, DENSITY)
    return density * HEAT_CAPACITY * check("flow", flow, FLOW_POSITIVE)
