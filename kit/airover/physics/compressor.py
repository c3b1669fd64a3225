"""Compressor power against the condensing temperature of its coil.

Carnot's ratio times a share fitted to one standard cycle: saturated evaporation, 5 K superheat, 5 K
subcooling, one isentropic efficiency (within 0.6 % of CoolProp, 2.3 % for R454B). It compares one
condensing temperature with another; it is not a maker's performance table, and the watts of a real
unit are read with a meter.
"""

from typing import NamedTuple

from airover.core.errors import InputError, Range, check
from airover.physics.air import ZERO_CELSIUS

TEMP_EVAPORATING = 7.22  # [degC] 45 degF, common practice for comfort cooling
EFFICIENCY = 0.65  # isentropic, over all losses; common practice, 0.6 to 0.7
SUPERHEAT = SUBCOOLING = 5.0  # [K] for which the fits hold

COOLING = Range(100.0, 100e3, "W")
RANGE_EVAPORATING = Range(-5.0, 15.0, "degC")
RANGE_CONDENSING = Range(20.0, 66.0, "degC")
RANGE_EFFICIENCY = Range(0.3, 0.9, "")
LEAST_LIFT = 15.0  # [K] the fits were made from here on


class CompressorFit(NamedTuple):
    """Share of Carnot's ratio of a cycle without losses in the compressor, te and tc in degC.

    share = ``at_zero`` + ``evaporating`` te - ``condensing`` tc - ``squared`` tc^2; within
    ``within`` of the cycle with real properties, up to ``highest`` [degC] condensing.
    """

    at_zero: float
    evaporating: float
    condensing: float
    squared: float
    within: float
    highest: float


# Made by model.refrigerant.fitted with CoolProp 8.0; tests/published compares with it again.
FITS = {
    "R410A": CompressorFit(0.95411, 0.0031736, 0.0016759, 5.8969e-5, 0.005, 66.0),
    "R32": CompressorFit(0.97114, 0.0030043, 0.0026766, 3.4531e-5, 0.006, 66.0),
    "R22": CompressorFit(0.98841, 0.0031790, 0.0024851, 2.8567e-5, 0.002, 66.0),
    "R134a": CompressorFit(1.00190, 0.0039360, 0.0023920, 3.6424e-5, 0.005, 66.0),
    "R454B": CompressorFit(0.84304, 0.0019551, -0.0009197, 6.5752e-5, 0.023, 55.0),
}


def cooling_ratio(
    temp_condensing, temp_evaporating=TEMP_EVAPORATING, refrigerant="R410A", efficiency=EFFICIENCY
):
    """Heat taken up indoors over the compressor's power (COP) of the standard cycle.

    Carnot's ratio Te/(Tc - Te) [K], times ``efficiency`` of the compression, times a share fitted
    for each ``refrigerant``, a key of FITS or your own CompressorFit, to cycles with CoolProp's
    properties: the share falls as the critical temperature comes near. ``temp_condensing`` [degC]
    is that of boiling liquid and ``temp_evaporating`` [degC] that of dry vapour, as a mixture's
    gauges are read. Valid for 5 K of superheat and of subcooling, from 15 K of lift to the fit's
    highest condensing temperature; above, up to 66 degC, it is extended. Fans are not in it.
    Arrays broadcast. Raises InputError out of range.

    >>> round(float(cooling_ratio(49.84)), 2)
    3.19
    """
    condensing = check("temp_condensing", temp_condensing, RANGE_CONDENSING)
    evaporating = check("temp_evaporating", temp_evaporating, RANGE_EVAPORATING)
    lift = condensing - evaporating
    check("temp_condensing over temp_evaporating", lift, Range(LEAST_LIFT, 70.0, "K"))
    carnot = (evaporating + ZERO_CELSIUS) / lift
    share = _share(condensing, evaporating, refrigerant)
    return check("efficiency", efficiency, RANGE_EFFICIENCY) * share * carnot


def compressor_power(
    cooling,
    temp_condensing,
    temp_evaporating=TEMP_EVAPORATING,
    refrigerant="R410A",
    efficiency=EFFICIENCY,
):
    """Power [W] of the compressor for ``cooling`` [W] taken up indoors.

    The other arguments, ``temp_condensing`` [degC], ``temp_evaporating`` [degC], ``refrigerant``
    and ``efficiency``, as in cooling_ratio. The same cooling is asked at any temperature; a real
    unit then gives less and runs longer. Arrays broadcast. Raises InputError out of range.

    >>> round(float(compressor_power(10e3, 49.84)))
    3131
    """
    ratio = cooling_ratio(temp_condensing, temp_evaporating, refrigerant, efficiency)
    return check("cooling", cooling, COOLING) / ratio


def _share(condensing, evaporating, refrigerant):
    fit = refrigerant if isinstance(refrigerant, CompressorFit) else FITS.get(refrigerant)
    if fit is None:
        raise InputError("refrigerant", repr(refrigerant), ", ".join(FITS))
    curve = fit.condensing * condensing + fit.squared * condensing**2
    return fit.at_zero + fit.evaporating * evaporating - curve
