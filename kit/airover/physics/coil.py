"""Outdoor coil: its leaving air temperature and its condensing temperature.

In a draw-through unit the motor is in the air that LEAVES the coil, not in outdoor air. The
refrigerant has one temperature along the whole coil, so effectiveness is 1 - exp(-NTU), with NTU
proportional to flow^(m - 1). Leaving air is taken as well mixed; a hot corner of a coil is hotter.
"""

import numpy as np

from airover.core.errors import DENSITY, FLOW, TEMP_AIR, Range, check

DENSITY_STANDARD = 0.075 * 0.45359237 / 0.3048**3  # [kg/m3] 0.075 lb/ft3, common practice
HEAT_CAPACITY = 0.24 * 4186.8  # [J/kgK] 0.24 Btu/(lb degF), common practice

HEAT = Range(0.0, 100e3, "W")
FLOW_POSITIVE = Range(0.01, FLOW.high, FLOW.unit)
EFFECTIVENESS = Range(0.01, 1.0, "")
EFFECTIVENESS_RATED = Range(0.01, 0.99, "")  # 1 would need an endless coil
FLOW_RATIO = Range(0.01, 10.0, "")
EXPONENT = Range(0.0, 1.0, "")
CONDUCTANCE = Range(1.0, 50e3, "W/K")
TRANSFER_UNITS = Range(0.0, 20.0, "")
RECIRCULATED = Range(0.0, 0.8, "")


def leaving_temperature(heat, flow, temp_in, density=None):
    """Mixed temperature [degC] of the air that leaves the coil.

    Balance of heat: ``heat`` [W] into ``flow`` [m3/s] of air entering at ``temp_in`` [degC] and
    ``density`` [kg/m3], taken at the flow; None is 0.075 lb/ft3, with which the rise in degF is
    the trade's Btu/h over 1.08 cfm. Hot gas leaving one corner of a coil can be hotter than
    the mixture. Arrays broadcast. Raises InputError out of range.

    >>> round(float(leaving_temperature(13188.0, 1.1327, 35.0)), 2)
    44.64
    """
    return check("temp_in", temp_in, TEMP_AIR) + _rise(heat, flow, density)


def entering_temperature(heat, flow, temp_outdoor, recirculated=0.0, density=None):
    """Temperature [degC] of the air that enters a coil that recirculates some of its discharge air.

    ``recirculated`` is the share of the leaving air that is recirculated, 0 to 0.8. With r
    for it and dT for the coil's rise, T = (1 - r) T_outdoor + r (T + dT), so the entering air is
    r/(1 - r) dT and the leaving air dT/(1 - r) above the weather: a balance of well-mixed air.
    ``heat`` [W], ``flow`` [m3/s] through the coil, ``temp_outdoor`` [degC], ``density`` [kg/m3]
    as in leaving_temperature. Arrays broadcast. Raises InputError out of range.

    >>> round(float(entering_temperature(13188.0, 1.1327, 35.0, 0.2)), 2)
    37.41
    """
    share = check("recirculated", recirculated, RECIRCULATED)
    outdoor = check("temp_outdoor", temp_outdoor, TEMP_AIR)
    return outdoor + share / (1 - share) * _rise(heat, flow, density)


def transfer_units(conductance, flow, density=None):
    """Number of transfer units: a coil's ``conductance`` [W/K] over the air's heat capacity rate.

    ``conductance`` is UA, from the refrigerant to the air; ``flow`` [m3/s], ``density`` [kg/m3]
    as in leaving_temperature. Incropera & DeWitt, heat exchangers, from memory. Arrays broadcast.
    Raises InputError out of range.

    >>> round(float(transfer_units(1434.0, 1.1327)), 3)
    1.049
    """
    conductance = check("conductance", conductance, CONDUCTANCE)
    return conductance / _capacity_rate(flow, density)


def effectiveness_of(transfer_units):
    """Effectiveness of a condenser of ``transfer_units``: 1 - exp(-NTU).

    For one fluid at constant temperature the arrangement of the passes does not matter. Kays &
    London, Compact Heat Exchangers. Arrays keep their shape. Raises InputError out of range.

    >>> round(float(effectiveness_of(1.0)), 4)
    0.6321
    """
    return -np.expm1(-check("transfer_units", transfer_units, TRANSFER_UNITS))


def effectiveness(effectiveness_rated, flow_ratio, exponent=0.6):
    """Effectiveness of a condensing coil at ``flow_ratio`` times its rated airflow.

    1 - exp(-NTU) with NTU ~ flow^(m - 1): the air side decides, its film growing with flow^m;
    ``exponent`` m is 0.5 to 0.6 (common practice). ``effectiveness_rated`` 0.01 to 0.99. Arrays
    broadcast. Raises InputError out of range.

    >>> round(float(effectiveness(0.65, 0.5)), 5)
    0.74974
    """
    rated = check("effectiveness_rated", effectiveness_rated, EFFECTIVENESS_RATED)
    ratio = check("flow_ratio", flow_ratio, FLOW_RATIO)
    units = -np.log1p(-rated) * ratio ** (check("exponent", exponent, EXPONENT) - 1)
    return -np.expm1(-units)


def condensing_temperature(heat, flow, temp_in, effectiveness, density=None):
    """Temperature [degC] at which the coil rejects ``heat`` [W].

    One temperature all along the refrigerant's side: ``temp_in`` [degC] + air's rise /
    ``effectiveness``. ``flow`` [m3/s], ``density`` [kg/m3] as in leaving_temperature. It is a
    measure for comparing airflows, not a gauge reading. Arrays broadcast. Raises InputError
    out of range.

    >>> round(float(condensing_temperature(13188.0, 1.1327, 35.0, 0.65)), 2)
    49.84
    """
    rise = _rise(heat, flow, density)
    share = check("effectiveness", effectiveness, EFFECTIVENESS)
    return check("temp_in", temp_in, TEMP_AIR) + rise / share


def _rise(heat, flow, density):
    return check("heat", heat, HEAT) / _capacity_rate(flow, density)


def _capacity_rate(flow, density):
    """Heat capacity rate [W/K] of the air stream."""
    density = check("density", DENSITY_STANDARD if density is None else density, DENSITY)
    return density * HEAT_CAPACITY * check("flow", flow, FLOW_POSITIVE)
