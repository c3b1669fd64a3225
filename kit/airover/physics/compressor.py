"""Compressor power against the condensing temperature of its coil.

Carnot's ratio times a share fitted to one standard cycle: saturated evaporation, 5 K superheat, 5 K
subcooling, one isentropic efficiency (within 0.6 % of CoolProp, 2.3 % for R454B). It compares one
condensing temperature with another; it is not a maker's performance table, and the watts of a real
unit are read with a meter.

`cycle_cooling_ratio` calculates the same cycle with real properties, and `fitted` makes fits for
other superheats and subcoolings; both need CoolProp.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError, Range, check
from airover.core.message import Message
from airover.physics.air import ZERO_CELSIUS

TEMP_EVAPORATING = 7.22  # [degC] 45 degF, common practice for comfort cooling
EFFICIENCY = 0.65  # isentropic, over all losses; common practice, 0.6 to 0.7
SUPERHEAT = SUBCOOLING = 5.0  # [K] for which the fits hold

COOLING = Range(100.0, 100e3, "W")
RANGE_EVAPORATING = Range(-5.0, 15.0, "degC")
RANGE_CONDENSING = Range(20.0, 66.0, "degC")
RANGE_EFFICIENCY = Range(0.3, 0.9, "")
LEAST_LIFT = 15.0  # [K] the fits were made from here on
# Names in CoolProp. R454B is 68.9 % R32 and 31.1 % R1234yf by mass; here the moles.
FLUIDS = {
    "R410A": "R410A",
    "R32": "R32",
    "R22": "R22",
    "R134a": "R134a",
    "R454B": "R32[0.8292]&R1234yf[0.1708]",
}
KELVINS = Range(0.0, 30.0, "K")
# Below the critical temperature of each of them: R410A has the lowest, 71.3 degC.
RANGE_CYCLE = Range(20.0, 70.0, "degC")


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


# Made by `fitted` with CoolProp 8.0; tests/published compares with it again.
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
    and ``efficiency``, as in cooling_ratio. Cooling is the same at any temperature; a real
    unit then delivers less and runs longer. Arrays broadcast. Raises InputError out of range.

    >>> round(float(compressor_power(10e3, 49.84)))
    3131
    """
    ratio = cooling_ratio(temp_condensing, temp_evaporating, refrigerant, efficiency)
    return check("cooling", cooling, COOLING) / ratio


def cycle_cooling_ratio(
    temp_condensing,
    temp_evaporating=TEMP_EVAPORATING,
    refrigerant="R410A",
    efficiency=EFFICIENCY,
    superheat=SUPERHEAT,
    subcooling=SUBCOOLING,
):
    """Heat taken up indoors over the compressor's power (COP) of the cycle, by CoolProp.

    ``temp_condensing`` [degC] is that of boiling liquid, ``temp_evaporating`` [degC] that of dry
    vapour; ``efficiency`` isentropic; ``superheat`` [K] of the gas drawn in and ``subcooling``
    [K] of the liquid; ``refrigerant`` a key of FLUIDS. No losses of pressure. Arrays broadcast.
    Raises InputError out of range or without CoolProp, ArithmeticError where CoolProp finds no
    state (a mixture near its critical temperature).
    """
    if refrigerant not in FLUIDS:
        raise InputError("refrigerant", repr(refrigerant), ", ".join(FLUIDS))
    states = np.broadcast_arrays(
        check("temp_condensing", temp_condensing, RANGE_CYCLE),
        check("temp_evaporating", temp_evaporating, RANGE_EVAPORATING),
        check("superheat", superheat, KELVINS),
        check("subcooling", subcooling, KELVINS),
    )
    efficiency = check("efficiency", efficiency, RANGE_EFFICIENCY)
    properties, fluid = _properties(), FLUIDS[refrigerant]
    rows = zip(*(state.flat for state in states), strict=True)
    ratios = [_ideal_ratio(properties, fluid, *row) for row in rows]
    return efficiency * np.reshape(ratios, states[0].shape)[()]


def fitted(refrigerant, highest=66.0, superheat=SUPERHEAT, subcooling=SUBCOOLING) -> CompressorFit:
    """The closed form of ``cooling_ratio``, fitted to cycles of a ``refrigerant``.

    Least squares of the relative difference on a grid of 2.5 K, from -5 to 15 degC evaporating
    and 25 to ``highest`` [degC] condensing, at 15 K of lift or more; ``superheat`` [K] and
    ``subcooling`` [K]. Raises as cycle_cooling_ratio does, InputError or ArithmeticError.
    """
    highest = float(check("highest", highest, Range(40.0, 70.0, "degC")))
    grid = np.meshgrid(np.append(np.arange(25.0, highest, 2.5), highest), np.arange(-5, 15.1, 2.5))
    wide = grid[0] - grid[1] >= LEAST_LIFT
    hot, cold = (temps[wide] for temps in grid)
    ratio = cycle_cooling_ratio(hot, cold, refrigerant, 0.5, superheat, subcooling) / 0.5
    share = ratio * (hot - cold) / (cold + ZERO_CELSIUS)
    terms = np.stack([np.ones_like(hot), cold, -hot, -(hot**2)], axis=-1)
    found = np.linalg.lstsq(terms / share[:, None], np.ones_like(hot))[0]
    within = float(np.max(np.abs(terms @ found / share - 1)))
    return CompressorFit(*(float(x) for x in found), within, highest)


def _share(condensing, evaporating, refrigerant):
    fit = refrigerant if isinstance(refrigerant, CompressorFit) else FITS.get(refrigerant)
    if fit is None:
        raise InputError("refrigerant", repr(refrigerant), ", ".join(FITS))
    curve = fit.condensing * condensing + fit.squared * condensing**2
    return fit.at_zero + fit.evaporating * evaporating - curve


def _ideal_ratio(properties, fluid, condensing, evaporating, superheat, subcooling) -> float:
    """The ratio of one cycle whose compression keeps the entropy."""
    try:
        hot, cold = condensing + ZERO_CELSIUS, evaporating + ZERO_CELSIUS
        low = properties("P", "T", cold, "Q", 1, fluid)
        high = properties("P", "T", hot, "Q", 0, fluid)
        gas = _gas(properties, fluid, low, cold, superheat)
        after = properties("H", "S", gas["S"], "P", high, fluid)
        liquid = ("T", hot - subcooling, *(("P", high) if subcooling else ("Q", 0)), fluid)
        return (gas["H"] - properties("H", *liquid)) / (after - gas["H"])
    except ValueError as error:
        said = f"CoolProp found no state of {fluid} from {evaporating:g} to {condensing:g} degC"
        raise ArithmeticError(said) from error


def _gas(properties, fluid, pressure, temp, superheat) -> dict[str, float]:
    """Enthalpy and entropy of the gas that the compressor draws in."""
    state = ("P", pressure) if superheat else ("Q", 1)
    return {name: properties(name, "T", temp + superheat, *state, fluid) for name in "HS"}


def _properties():
    try:
        from CoolProp.CoolProp import PropsSI
    except ImportError:
        given, accepted = Message("error.weather.no_reader"), Message("error.refrigerant.coolprop")
        raise InputError(Message("error.refrigerant.library"), given, accepted) from None
    return PropsSI
