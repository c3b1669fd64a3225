"""An outdoor coil: the air that leaves it and the temperature at which it condenses.

In a draw-through unit the motor stands in the air that LEAVES the coil, not in the weather.
"""

import numpy as np

from airover.limits import DENSITY, FLOW, TEMP_AIR, Range, check

DENSITY_STANDARD = 0.075 * 0.45359237 / 0.3048**3  # [kg/m3] 0.075 lb/ft3, common practice
HEAT_CAPACITY = 0.24 * 4186.8  # [J/kgK] 0.24 Btu/(lb degF), common practice

HEAT = Range(0.0, 100e3, "W")
FLOW_POSITIVE = Range(0.01, FLOW.high, FLOW.unit)
EFFECTIVENESS = Range(0.01, 1.0, "")
EFFECTIVENESS_RATED = Range(0.01, 0.99, "")  # 1 would need an endless coil
FLOW_RATIO = Range(0.01, 10.0, "")
EXPONENT = Range(0.0, 1.0, "")


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
    density = check("density", DENSITY_STANDARD if density is None else density, DENSITY)
    flow = check("flow", flow, FLOW_POSITIVE)
    return check("heat", heat, HEAT) / (density * HEAT_CAPACITY * flow)
