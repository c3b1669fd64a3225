"""The standard refrigerant cycle with real properties; it needs CoolProp.

`physics.compressor` fits the same cycle with NumPy only. `fitted` makes such fits, also for other
superheats and subcoolings.
"""

import numpy as np

from airover.core.errors import InputError, Range, check
from airover.core.message import Message
from airover.physics import compressor
from airover.physics.compressor import (
    EFFICIENCY,
    SUBCOOLING,
    SUPERHEAT,
    TEMP_EVAPORATING,
    CompressorFit,
)

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
RANGE_CONDENSING = Range(20.0, 70.0, "degC")


def cooling_ratio(
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
        check("temp_condensing", temp_condensing, RANGE_CONDENSING),
        check("temp_evaporating", temp_evaporating, compressor.RANGE_EVAPORATING),
        check("superheat", superheat, KELVINS),
        check("subcooling", subcooling, KELVINS),
    )
    efficiency = check("efficiency", efficiency, compressor.RANGE_EFFICIENCY)
    properties, fluid = _properties(), FLUIDS[refrigerant]
    rows = zip(*(state.flat for state in states), strict=True)
    ratios = [_ideal_ratio(properties, fluid, *row) for row in rows]
    return efficiency * np.reshape(ratios, states[0].shape)[()]


def fitted(refrigerant, highest=66.0, superheat=SUPERHEAT, subcooling=SUBCOOLING) -> CompressorFit:
    """The closed form of ``physics.compressor``, fitted to cycles of a ``refrigerant``.

    Least squares of the relative difference on a grid of 2.5 K, from -5 to 15 degC evaporating
    and 25 to ``highest`` [degC] condensing, at 15 K of lift or more; ``superheat`` [K] and
    ``subcooling`` [K]. Raises as cooling_ratio does, InputError or ArithmeticError.
    """
    highest = float(check("highest", highest, Range(40.0, 70.0, "degC")))
    grid = np.meshgrid(np.append(np.arange(25.0, highest, 2.5), highest), np.arange(-5, 15.1, 2.5))
    wide = grid[0] - grid[1] >= compressor.LEAST_LIFT
    hot, cold = (temps[wide] for temps in grid)
    ratio = cooling_ratio(hot, cold, refrigerant, 0.5, superheat, subcooling) / 0.5
    share = ratio * (hot - cold) / (cold + compressor.ZERO_CELSIUS)
    terms = np.stack([np.ones_like(hot), cold, -hot, -(hot**2)], axis=-1)
    found = np.linalg.lstsq(terms / share[:, None], np.ones_like(hot))[0]
    within = float(np.max(np.abs(terms @ found / share - 1)))
    return CompressorFit(*(float(x) for x in found), within, highest)


def _ideal_ratio(properties, fluid, condensing, evaporating, superheat, subcooling) -> float:
    """The ratio of one cycle whose compression keeps the entropy."""
    try:
        hot, cold = condensing + compressor.ZERO_CELSIUS, evaporating + compressor.ZERO_CELSIUS
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
