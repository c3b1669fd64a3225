"""Compressor power as a function of condensing temperature.

The model multiplies the Carnot COP by a fraction that is fitted to a standard cycle with 5 K
superheat, 5 K subcooling and a constant isentropic efficiency. The fit is within 0.6 % of CoolProp
(2.3 % for R454B). Use the model to compare condensing temperatures. It does not replace a
manufacturer's performance table. Measure the power of a real unit with a meter.

`cycle_cooling_ratio` calculates the same cycle with real-fluid properties, and `fitted` fits the
model to other superheats and subcoolings. Both functions require CoolProp.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError, Range, check
from airover.core.message import Message
from airover.physics.air import ZERO_CELSIUS

TEMP_EVAPORATING = 7.22  # [degC] 45 degF, common practice for comfort cooling
EFFICIENCY = 0.65  # isentropic, includes all losses; common practice, 0.6 to 0.7
SUPERHEAT = SUBCOOLING = 5.0  # [K] at which the fits apply

COOLING = Range(100.0, 100e3, "W")
RANGE_EVAPORATING = Range(-5.0, 15.0, "degC")
RANGE_CONDENSING = Range(20.0, 66.0, "degC")
RANGE_EFFICIENCY = Range(0.3, 0.9, "")
LEAST_LIFT = 15.0  # [K] minimum lift in the fits
# Names in CoolProp. R454B is 68.9 % R32 and 31.1 % R1234yf by mass. Fractions are molar.
FLUIDS = {
    "R410A": "R410A",
    "R32": "R32",
    "R22": "R22",
    "R134a": "R134a",
    "R454B": "R32[0.8292]&R1234yf[0.1708]",
}
KELVINS = Range(0.0, 30.0, "K")
# Below the critical temperature of each refrigerant: R410A has the lowest, 71.3 degC.
RANGE_CYCLE = Range(20.0, 70.0, "degC")


class CompressorFit(NamedTuple):
    """Fitted fraction of the Carnot COP for a cycle with an ideal compressor.

    The fraction is ``at_zero`` + ``evaporating`` te - ``condensing`` tc - ``squared`` tc^2, where
    te is the evaporating temperature and tc is the condensing temperature in degC.

    Attributes
    ----------
    at_zero, evaporating, condensing, squared : float
        Coefficients of the fit.
    within : float
        Maximum relative difference from the cycle with real-fluid properties.
    highest : float
        Highest condensing temperature [degC] of the fit.
    """

    at_zero: float
    evaporating: float
    condensing: float
    squared: float
    within: float
    highest: float


# Made by `fitted` with CoolProp 8.0; tests/published repeats the comparison.
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
    """Return the COP of the standard cycle, the ratio of cooling capacity to compressor power.

    The COP is the Carnot COP Te/(Tc - Te), with temperatures in K, times ``efficiency``, times a
    fraction fitted to cycles that were calculated with CoolProp. The fraction decreases toward the
    critical temperature. The fit is valid for 5 K superheat, 5 K subcooling and a lift of at least
    15 K. Above the highest condensing temperature of the fit, it is extrapolated up to 66 degC. Fan
    power is not included. Array arguments are broadcast against each other.

    Parameters
    ----------
    temp_condensing : array_like
        Condensing temperature [degC] at the bubble point.
    temp_evaporating : array_like, optional
        Evaporating temperature [degC] at the dew point, as read from gauges for a refrigerant
        mixture.
    refrigerant : str, optional
        Key in FITS, or a CompressorFit.
    efficiency : array_like, optional
        Isentropic efficiency.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
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
    """Return the compressor power [W] for an indoor cooling capacity.

    The cooling capacity is assumed to be independent of temperature. A real unit delivers less at a
    high condensing temperature and runs longer. Array arguments are broadcast against each other.

    Parameters
    ----------
    cooling : array_like
        Indoor cooling capacity [W].
    temp_condensing : array_like
        Condensing temperature [degC].
    temp_evaporating : array_like, optional
        Evaporating temperature [degC].
    refrigerant : str or CompressorFit, optional
        Refrigerant, as in `cooling_ratio`.
    efficiency : array_like, optional
        Isentropic efficiency, as in `cooling_ratio`.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
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
    """Return the COP of the refrigeration cycle, calculated with CoolProp.

    The COP is the ratio of cooling capacity to compressor power. Pressure losses are not included.
    Array arguments are broadcast against each other.

    Parameters
    ----------
    temp_condensing : array_like
        Condensing temperature [degC] at the bubble point.
    temp_evaporating : array_like, optional
        Evaporating temperature [degC] at the dew point.
    refrigerant : str, optional
        Key in FLUIDS.
    efficiency : array_like, optional
        Isentropic efficiency.
    superheat : array_like, optional
        Superheat [K] of the suction gas.
    subcooling : array_like, optional
        Subcooling [K] of the liquid.

    Raises
    ------
    InputError
        If a value is out of range or CoolProp is not installed.
    ArithmeticError
        If CoolProp does not find a state, for example for a mixture near its critical temperature.
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
    """Return a fit for `cooling_ratio`, calculated from the cycles of a refrigerant.

    The fit minimizes the squared relative difference on a 2.5 K grid, with evaporating temperatures
    from -5 to 15 degC, condensing temperatures from 25 degC to ``highest``, and a lift of at least
    15 K. Raises the same exceptions as `cycle_cooling_ratio`.

    Parameters
    ----------
    refrigerant : str
        Key in FLUIDS.
    highest : optional
        Highest condensing temperature [degC].
    superheat : optional
        Superheat [K] of the suction gas.
    subcooling : optional
        Subcooling [K] of the liquid.
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
    """Return the COP of a cycle with isentropic compression."""
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
    """Return the enthalpy and the entropy of the suction gas."""
    state = ("P", pressure) if superheat else ("Q", 1)
    return {name: properties(name, "T", temp + superheat, *state, fluid) for name in "HS"}


def _properties():
    try:
        from CoolProp.CoolProp import PropsSI
    except ImportError:
        given, accepted = Message("error.weather.no_reader"), Message("error.refrigerant.coolprop")
        raise InputError(Message("error.refrigerant.library"), given, accepted) from None
    return PropsSI
