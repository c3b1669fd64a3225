"""Class temperatures, life and standard limits of motor insulation.

Two types of temperature are used, and they must not be compared with each other. A *class
temperature* applies to the hot spot of the winding. A *rise by resistance* is the average
temperature rise of the entire winding above ambient, calculated from its resistance. The hot spot
is hotter. Each `Row` states its type. Air-over motors are treated as totally enclosed motors.

Life is 20,000 h at the class temperature and is halved for every additional 8 to 10 K. The
Arrhenius line through the same two points gives a longer life at other temperatures (1.5 times as
long at 40 K below the class temperature, and 3 times as long at 70 K below it). The halving rule is
used because it is more conservative. Use the result only to compare motors. Most winding failures
are caused by moisture, surges, starts and dirt, which are not included.
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
    """Table row from a standard, with a limit for each insulation class.

    The citation is not translated.

    Attributes
    ----------
    meant : str
        Type of temperature: HOT_SPOT, AVERAGE_RISE or GUARDED. Rows of different types must not be
        compared.
    by_class : dict[str, float]
        Limit for each class letter.
    standard : str
        Standard and clause.
    applies : str
        Scope of the row.
    sure : str
        Confidence in the numbers.
    """

    meant: str
    by_class: dict[str, float]
    standard: str
    applies: str
    sure: str

    @property
    def source(self) -> str:
        """Return the standard, clause and scope of the row, and the confidence in its numbers."""
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


_NEMA_ENCLOSED = _by_class("ABFH", 65, 85, 110, 130)  # class H: 130 or 135 (uncertain)
_IEC_SMALL = _by_class("AEBFH", 65, 75, 85, 110, 130)
# Rise above 40 degC ambient at service factor 1.0, by standard and enclosure. No separate row
# for air-over motors is known, so they are treated as totally enclosed.
RISES = {
    (NEMA, "open"): _rise(_by_class("ABFH", 60, 80, 105, 125), NEMA, "12.43, small motors, open"),
    (NEMA, "totally enclosed"): _rise(_NEMA_ENCLOSED, NEMA, "12.43, small motors, enclosed"),
    (NEMA, "air over"): _rise(_NEMA_ENCLOSED, NEMA, "12.43, small motors, taken as enclosed"),
    (IEC, "open"): _rise(_IEC_SMALL, IEC, "table of rises, item 1 d, below 600 W"),
    (IEC, "totally enclosed"): _rise(_IEC_SMALL, IEC, "table of rises, item 1 d, below 600 W"),
    (IEC, "air over"): _rise(_IEC_SMALL, IEC, "table of rises, item 1 d, below 600 W"),
}

# Limits with a thermal protector: constant running overload, and locked rotor with automatic
# reset (during the first hour, after the first hour, and average after the first hour).
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
# Narrower than the winding temperature range, so that a warm winding temperature in K is rejected.
TEMP_HOT_SPOT = Range(-60.0, 300.0, "degC")
HALVING_INTERVAL = Range(5.0, 20.0, "K")


def temperature_index(insulation_class):
    """Return the hot-spot temperature [degC] for a thermal class in IEC 60085.

    ``insulation_class`` is a letter (Y, A, E, B, F, H, N, R), a temperature index [degC], or an
    array of either.

    Raises
    ------
    InputError
        If the letter is unknown or the index is out of range.

    Examples
    --------
    >>> float(temperature_index("F"))
    155.0
    """
    if np.asarray(insulation_class).dtype.kind in "iuf":
        return check("insulation_class", insulation_class, TEMP_INDEX)[()]
    return _looked_up("insulation_class", insulation_class, CLASS_TEMPERATURES)


def life(temp_winding, insulation_class, halving_interval=10.0):
    """Return the insulation life [h] at a constant hot-spot temperature [degC].

    The life is 20,000 h at the class temperature and is halved for every additional
    ``halving_interval`` [K], which is 8 to 10 K (IEC 60216, linear form). ``insulation_class`` is
    the same as in `temperature_index`. Use the result only to compare temperatures. The life of a
    particular motor may be half as long or twice as long, and moisture, dirt and voltage surges are
    not included. Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(life(115.0, "B")), 1)
    56568.5
    """
    temp_winding = check("temp_winding", temp_winding, TEMP_HOT_SPOT)
    interval = check("halving_interval", halving_interval, HALVING_INTERVAL)
    below = temperature_index(insulation_class) - temp_winding
    return REFERENCE_LIFE * 2 ** (below / interval)


class Arrhenius(NamedTuple):
    """Arrhenius line: ln(life in h) = ``intercept`` + ``slope`` / absolute temperature.

    The ``life`` method raises InputError if the temperature is out of range.

    Attributes
    ----------
    intercept : float
        Intercept, dimensionless.
    slope : float
        Slope [K].
    """

    intercept: float
    slope: float

    def life(self, temp_winding):
        """Return the life [h] at a constant hot-spot temperature [degC]."""
        temp = check("temp_winding", temp_winding, TEMP_HOT_SPOT) + ZERO_CELSIUS
        return np.exp(self.intercept + self.slope / temp)


def arrhenius(insulation_class, halving_interval=10.0) -> Arrhenius:
    """Return the Arrhenius line of IEC 60216 for an insulation class and a halving interval.

    The line passes through 20,000 h at the class temperature and 10,000 h at ``halving_interval``
    [K] above it, so it agrees with `life` at both temperatures. Between the two, it is at most 0.5
    % below `life` (for 10 K). At other temperatures, it exceeds `life` by an increasing factor. For
    an index of 130 degC and 10 K, the factor is 1.5 at 90 degC, 3.2 at 60 degC and 1.4 at 180 degC.
    `life` is therefore more conservative. ``insulation_class`` is the same as in
    `temperature_index`. Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
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
    """Return the maximum average temperature rise [K] of a small motor by resistance.

    The limit is taken from RISES and is reduced by the difference between the ambient temperature
    and 40 degC. The limit is not increased for a lower ambient temperature. Compare the limit only
    with a temperature rise by resistance, never with a hot-spot temperature. Array arguments are
    broadcast against each other.

    Parameters
    ----------
    insulation_class : array_like
        Insulation class listed in the standard.
    enclosure : str or array_like, optional
        Enclosure: "open", "totally enclosed" or "air over", which is treated as totally enclosed.
    temp_ambient : array_like, optional
        Ambient temperature [degC].
    standard : str, optional
        Standard: "NEMA MG 1" (12.43, service factor 1.0, classes A, B, F and H) or "IEC 60034-1"
        (motors below 600 W, also class E).

    Raises
    ------
    InputError
        If the class, enclosure or standard is unknown, or if a value is out of range.

    Examples
    --------
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
    """Return the maximum winding temperature [degC] that a protector may allow in an overload.

    The limit applies to a constant running overload. ``insulation_class`` is A, B, F or H, or an
    array of these letters. A thermal protector trips at or below the limit.

    Raises
    ------
    InputError
        If the class has no limit.

    Examples
    --------
    >>> float(protector_limit("B"))
    165.0
    """
    return _looked_up("insulation_class", insulation_class, PROTECTOR_LIMITS)


def altitude_factor(elevation):
    """Return the factor that corrects a temperature rise limit for elevation.

    The limit is reduced by 1 % for every 100 m above 1000 m. IEC 60034-1 covers an ``elevation``
    [m] of up to 4000 m, and the factor is extrapolated above 4000 m. Apply the factor only to a
    limit for a test near sea level. Do not combine it with a heat balance that includes the lower
    air density, because elevation would then be counted twice. The result has the same shape as the
    input.

    Raises
    ------
    InputError
        If the elevation is out of range.

    Examples
    --------
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
