"""Insulation: class temperatures, life, and limits of the standards.

Never compare two kinds of temperature: a *class temperature* is that of the winding's hottest spot;
a *rise by resistance* is an average over the whole winding above its ambient, and the hottest spot
lies above it. Each row of a standard says which one it means. Air-over motors are taken as totally
enclosed.

Life is 20,000 h at the class temperature, halved for every 8 to 10 K more. The Arrhenius line
through the same two points gives more everywhere else (1.5 times at 40 K below the index, 3 times
at 70 K), so the halving rule is the cautious one and is used. It ranks motors: damp, surges, starts
and dirt end most windings and are not in it.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import ELEVATION, TEMP_AIR, InputError, Range, check, either
from airover.physics.air import ZERO_CELSIUS

FROM_MEMORY, RECOMPUTED = "from memory, not verified", "from memory, recomputed"
HOT_SPOT = "temperature of the hottest spot, degC"
AVERAGE_RISE = "average rise by resistance, K"
GUARDED = "winding temperature while a protector guards it, degC"


class Row(NamedTuple):
    """One row of a standard's table: a figure ``by_class`` letter.

    ``meant`` says which temperature it is, HOT_SPOT, AVERAGE_RISE or GUARDED, and its unit: rows
    that mean different ones must not be compared. ``standard`` and ``applies`` are its
    place and its use, ``sure`` the confidence in the numbers: a citation, which stays one string
    in every language.
    """

    meant: str
    by_class: dict[str, float]
    standard: str
    applies: str
    sure: str

    @property
    def source(self) -> str:
        """Standard and clause, scope, and how sure we are of it."""
        return f"{self.standard}, {self.applies}, {self.sure}"


def _by_class(letters: str, *values: float) -> dict[str, float]:
    return dict(zip(letters, map(float, values), strict=True))


CLASSES = Row(
    HOT_SPOT, _by_class("YAEBFHNR", 90, 105, 120, 130, 155, 180, 200, 220),
    "IEC 60085", "thermal classes", RECOMPUTED,
)  # fmt: skip

NEMA, IEC = "NEMA MG 1", "IEC 60034-1"


def _rise(values: dict[str, float], standard: str, applies: str) -> Row:
    return Row(AVERAGE_RISE, values, standard, applies, FROM_MEMORY)


_NEMA_ENCLOSED = _by_class("ABFH", 65, 85, 110, 130)  # class H: 130 or 135 in memory
_IEC_SMALL = _by_class("AEBFH", 65, 75, 85, 110, 130)
# Over 40 degC, service factor 1.0, by standard and enclosure. Air over has no row of its own
# that we know: it is taken as totally enclosed.
RISES = {
    (NEMA, "open"): _rise(_by_class("ABFH", 60, 80, 105, 125), NEMA, "12.43, small motors, open"),
    (NEMA, "totally enclosed"): _rise(_NEMA_ENCLOSED, NEMA, "12.43, small motors, enclosed"),
    (NEMA, "air over"): _rise(_NEMA_ENCLOSED, NEMA, "12.43, small motors, taken as enclosed"),
    (IEC, "open"): _rise(_IEC_SMALL, IEC, "table of rises, item 1 d, below 600 W"),
    (IEC, "totally enclosed"): _rise(_IEC_SMALL, IEC, "table of rises, item 1 d, below 600 W"),
    (IEC, "air over"): _rise(_IEC_SMALL, IEC, "table of rises, item 1 d, below 600 W"),
}

# What a protector may allow: steadily in running overload; with a locked rotor and an automatic
# protector in the first hour, after it, and on average after it.
RUNNING_OVERLOAD, FIRST_HOUR, LATER_PEAK, LATER_AVERAGE = (
    Row(GUARDED, _by_class("ABFH", *values), "UL 1004-3", applies, FROM_MEMORY)
    for applies, values in {
        "running overload": (140, 165, 190, 215),
        "locked rotor, automatic, first hour": (200, 225, 250, 275),
        "locked rotor, automatic, later peaks": (175, 200, 225, 250),
        "locked rotor, automatic, later average": (150, 175, 200, 225),
    }.items()
)

CLASS_TEMPERATURES = CLASSES.by_class
PROTECTOR_LIMITS = RUNNING_OVERLOAD.by_class
RISE_AMBIENT = 40.0  # [degC]

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


class Arrhenius(NamedTuple):
    """The line ln(life in h) = ``intercept`` + ``slope`` [K] over the absolute temperature.

    Its life raises InputError out of range.
    """

    intercept: float
    slope: float

    def life(self, temp_winding):
        """Life [h] at a steady ``temp_winding`` [degC] of the hottest spot; errors as in life."""
        temp = check("temp_winding", temp_winding, TEMP_HOT_SPOT) + ZERO_CELSIUS
        return np.exp(self.intercept + self.slope / temp)


def arrhenius(insulation_class, halving_interval=10.0) -> Arrhenius:
    """The Arrhenius line of IEC 60216 through two points of the same index and interval.

    20 000 h at the class temperature, 10 000 h ``halving_interval`` [K] above it, so it meets
    ``life`` in both. Between them it lies below ``life`` by at most half a per cent (at 10 K);
    outside it lies above, the more the further: at an index of 130 degC and 10 K by 1.5 times at
    90 degC, 3.2 times at 60 degC, 1.4 times at 180 degC. So ``life`` is the more cautious one.
    ``insulation_class`` as in temperature_index. Arrays broadcast. Raises InputError.

    >>> round(float(arrhenius("B").life(90.0)))
    468747
    """
    index = temperature_index(insulation_class) + ZERO_CELSIUS
    interval = check("halving_interval", halving_interval, HALVING_INTERVAL)
    slope = np.log(2) * index * (index + interval) / interval
    return Arrhenius(np.log(REFERENCE_LIFE) - slope / index, slope)


def rise_limit(
    insulation_class, enclosure="totally enclosed", temp_ambient=RISE_AMBIENT, standard=NEMA
):
    """Highest average rise by resistance [K] of a small motor over ``temp_ambient`` [degC].

    A row of RISES: by ``standard`` "NEMA MG 1" (12.43, service factor 1.0; classes A, B, F, H)
    or "IEC 60034-1" (motors below 600 W; E too), and by ``enclosure`` "open", "totally enclosed"
    or "air over" (taken as totally enclosed). The excess of the ambient over 40 degC is
    subtracted; a cooler ambient adds nothing. Compare it with an average rise by resistance
    only, never with a hot spot. Arrays broadcast. Raises InputError for another class,
    enclosure or standard and out of range.

    >>> float(rise_limit("B", temp_ambient=60.0))
    65.0
    """
    for field, given, place in (("standard", standard, 0), ("enclosure", enclosure, 1)):
        known = dict.fromkeys(key[place] for key in RISES)
        if str(given) not in known:
            raise InputError(field, repr(given), either(known))
    excess = np.maximum(check("temp_ambient", temp_ambient, TEMP_AIR) - RISE_AMBIENT, 0)
    row = RISES[str(standard), str(enclosure)]
    return _looked_up("insulation_class", insulation_class, row.by_class) - excess


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
    return np.array(found).reshape(shape)[()]
