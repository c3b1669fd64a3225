"""Insulation: class temperatures, life, and what the standards allow.

Two kinds of temperature that must never be compared with each other: a *class temperature*
is that of the hottest spot of the winding; a *rise by resistance* is an average over the
whole winding above its ambient, and the hottest spot lies above that average.
"""

import numpy as np

from airover.errors import InputError
from airover.limits import ELEVATION, TEMP_AIR, Range, check

# Class temperature [degC], of the hottest spot.
CLASS_TEMPERATURES = {
    "Y": 90.0, "A": 105.0, "E": 120.0, "B": 130.0, "F": 155.0, "H": 180.0, "N": 200.0, "R": 220.0,
}
CLASS_SOURCE = "IEC 60085, thermal classes, from memory, recomputed"

# Allowed average rise by resistance [K] of small motors of service factor 1.0 over 40 degC.
_OPEN = {"A": 60.0, "B": 80.0, "F": 105.0, "H": 125.0}
# Class H: 130 or 135 in memory; the lower figure is used.
_ENCLOSED = {"A": 65.0, "B": 85.0, "F": 110.0, "H": 130.0}
# Air over has no row of its own that we know: it is taken as totally enclosed.
RISE_LIMITS = {"open": _OPEN, "totally enclosed": _ENCLOSED, "air over": _ENCLOSED}
RISE_SOURCE = "NEMA MG 1, 12.43, from memory, not verified"
RISE_AMBIENT = 40.0  # [degC]

# Highest winding temperature [degC] that a thermal protector may allow in running overload.
PROTECTOR_LIMITS = {"A": 140.0, "B": 165.0, "F": 190.0, "H": 215.0}
PROTECTOR_SOURCE = "UL 1004-3, running overload, from memory, not verified"

REFERENCE_LIFE = 20000.0  # [h] at the temperature index, IEC 60216
ALTITUDE_FREE = 1000.0  # [m] IEC 60034-1
ALTITUDE_LOSS = 1e-4  # [1/m] IEC 60034-1: 1 % per 100 m

TEMP_INDEX = Range(80.0, 250.0, "degC")
# Narrower than the winding's own range, so that the kelvin of any warm winding is refused.
TEMP_HOT_SPOT = Range(-60.0, 300.0, "degC")
HALVING_INTERVAL = Range(5.0, 20.0, "K")


def temperature_index(insulation_class):
    """Hot-spot temperature [degC] of a thermal class of IEC 60085.

    ``insulation_class`` is a letter (Y, A, E, B, F, H, N, R) or a temperature index [degC], or
    an array of either. Raises InputError for another letter or an index out of range.

    >>> float(temperature_index("F"))
    155.0
    """
    if np.asarray(insulation_class).dtype.kind in "iuf":
        return check("insulation_class", insulation_class, TEMP_INDEX)[()]
    return _looked_up("insulation_class", insulation_class, CLASS_TEMPERATURES)


def life(temp_winding, insulation_class, halving_interval=10.0):
    """Life [h] of insulation at a steady ``temp_winding`` [degC] of its hottest spot.

    20 000 h at the class temperature, half of it for every ``halving_interval`` [K] more (8 to
    10 K): the straight-line form of IEC 60216. It compares temperatures; a single motor may
    live half or twice as long, and damp, dirt and voltage surges are not in it.
    ``insulation_class`` as in temperature_index. Arrays broadcast. Raises InputError out of
    range.

    >>> round(float(life(115.0, "B")), 1)
    56568.5
    """
    temp_winding = check("temp_winding", temp_winding, TEMP_HOT_SPOT)
    interval = check("halving_interval", halving_interval, HALVING_INTERVAL)
    below = temperature_index(insulation_class) - temp_winding
    return REFERENCE_LIFE * 2 ** (below / interval)


def rise_limit(insulation_class, enclosure="totally enclosed", temp_ambient=RISE_AMBIENT):
    """Highest average rise by resistance [K] of a small motor over ``temp_ambient`` [degC].

    NEMA MG 1, 12.43, service factor 1.0, for classes A, B, F, H and the enclosures "open",
    "totally enclosed" and "air over" (taken as totally enclosed). The excess of the ambient
    over 40 degC is subtracted; a cooler ambient adds nothing. Compare it with an average rise
    by resistance only, never with a hot spot. Arrays broadcast. Raises InputError for another
    class or enclosure and out of range.

    >>> float(rise_limit("B", temp_ambient=60.0))
    65.0
    """
    limits = RISE_LIMITS.get(str(enclosure))
    if limits is None:
        raise InputError("enclosure", repr(enclosure), " or ".join(RISE_LIMITS))
    excess = np.maximum(check("temp_ambient", temp_ambient, TEMP_AIR) - RISE_AMBIENT, 0)
    return _looked_up("insulation_class", insulation_class, limits) - excess


def protector_limit(insulation_class):
    """Highest winding temperature [degC] that a thermal protector may allow in overload.

    Running overload, steady, for classes A, B, F, H or an array of them. A protector trips at
    or below it. Raises InputError for another class.

    >>> float(protector_limit("B"))
    165.0
    """
    return _looked_up("insulation_class", insulation_class, PROTECTOR_LIMITS)


def altitude_factor(elevation):
    """Factor on a rise limit at an ``elevation`` [m]: 1 % less per 100 m above 1000 m.

    IEC 60034-1, which covers heights up to 4000 m; above, it is extended. It is meant for a
    limit that is checked by a test near sea level: with the thin air already in the heat
    balance the factor would count it twice. Arrays keep their shape. Raises InputError out of
    range.

    >>> float(altitude_factor(2000.0))
    0.9
    """
    elevation = check("elevation", elevation, ELEVATION)
    return 1 - ALTITUDE_LOSS * np.maximum(elevation - ALTITUDE_FREE, 0)


def _looked_up(field, names, table):
    shape, names = np.shape(names), np.ravel(names).tolist()
    found = [table.get(str(name).strip().upper()) for name in names]
    if None in found:
        raise InputError(field, repr(names[found.index(None)]), ", ".join(table))
    return np.array(found, dtype=float).reshape(shape)[()]
