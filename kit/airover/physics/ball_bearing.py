"""Rating life, lubrication, contamination and grease life of deep groove ball bearings.

The bearings of a fan motor are lightly loaded. The calculated fatigue life of these bearings is 1e5
to 1e7 hours, which is not meaningful by itself, because the grease fails first. Below the minimum
load the balls skid, and no life equation applies. All viscosities are kinematic viscosities [m2/s]
(1 cSt is 1e-6 m2/s).
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import SPEED_RPM, TEMP_BEARING, InputError, Range, check
from airover.core.message import Message
from airover.physics.oil import oil_viscosity

LOAD = Range(0.0, 1e9, "N")
LOAD_POSITIVE = Range(1e-9, 1e9, "N")
LIFE_FACTOR = Range(0.001, 50.0, "")
RELIABILITY = Range(0.9, 0.9995, "")
CONTAMINATION_RATIO = Range(0.0, 1e6, "")
KAPPA = Range(0.1, 1000.0, "")
DIAMETER_PITCH = Range(0.005, 0.5, "m")
LIFE = Range(1e-6, 1e30, "h")
WEIBULL_SLOPE = Range(0.5, 5.0, "")
F0 = Range(5.0, 20.0, "")
SUBTRACTION = Range(0.0, 10.0, "")

KAPPA_TOP = 4.0  # ISO 281: no further life credit above this viscosity ratio
A_ISO_TOP = 50.0  # ISO 281
TEMP_GREASE_LOW = 40.0  # [degC]
GREASE_L10_RATIO = 0.44  # ratio of L10 to L50, common practice; no published source
# Weibull slope for this ratio, 2.29: ln(ln 2 / ln(1 / 0.9)) / ln(1 / 0.44)
GREASE_SLOPE = float(np.log(np.log(2) / np.log(1 / 0.9)) / np.log(1 / GREASE_L10_RATIO))
FATIGUE_SLOPE = 1.5  # Weibull slope for fatigue, ISO 281:2007
MINIMUM_LOAD_RATIO = 0.01  # fraction of the load rating, common practice; no published source

# ISO 281:2007, life modification factor for reliability, from a three-parameter Weibull
# distribution. The older factors (.62, .53, .44, .33 and .21) are based on a two-parameter
# distribution and must not be mixed with these. Above 99 %, the closed form is used. It agrees with
# the printed values.
A1 = np.array(
    [
        (0.90, 1.0),
        (0.95, 0.64),
        (0.96, 0.55),
        (0.97, 0.47),
        (0.98, 0.37),
        (0.99, 0.25),
        (0.999, 0.093),
        (0.9995, 0.077),
    ]
)

# ISO 281, radial contact groove ball bearings: f0 Fa / C0, e, Y. X is 0.56.
AXIAL = np.array(
    [
        (0.172, 0.19, 2.30),
        (0.345, 0.22, 1.99),
        (0.689, 0.26, 1.71),
        (1.03, 0.28, 1.55),
        (1.38, 0.30, 1.45),
        (2.07, 0.34, 1.31),
        (3.45, 0.38, 1.15),
        (5.17, 0.42, 1.04),
        (6.89, 0.44, 1.00),
    ]
)
X_AXIAL = 0.56

# ISO 281:2007, grease: constants c1 and c2 of the contamination factor.
CLEANLINESS = {
    "high cleanliness": (0.0864, 0.6796),
    "normal cleanliness": (0.0432, 1.141),
    "slight contamination": (0.0177, 1.887),
    "severe contamination": (0.0115, 2.662),
    "very severe contamination": (0.00617, 4.06),
}


class BearingSize(NamedTuple):
    """Dimensions and load ratings of a ball bearing.

    Attributes
    ----------
    bore, outside, width : float
        Bore diameter, outside diameter and width [m].
    load_rating, load_rating_static : float
        Dynamic and static load ratings [N].
    """

    bore: float
    outside: float
    width: float
    load_rating: float
    load_rating_static: float

    @property
    def diameter_pitch(self) -> float:
        """Return the pitch diameter [m], the mean of the bore and outside diameters."""
        return (self.bore + self.outside) / 2


# Dimension series 02 by bore in mm: Shigley, Mechanical Engineering Design, table 11-2.
DEEP_GROOVE_02 = {
    10: BearingSize(0.010, 0.030, 0.009, 5070.0, 2240.0),
    12: BearingSize(0.012, 0.032, 0.010, 6890.0, 3100.0),
    15: BearingSize(0.015, 0.035, 0.011, 7800.0, 3550.0),
    17: BearingSize(0.017, 0.040, 0.012, 9560.0, 4500.0),
    20: BearingSize(0.020, 0.047, 0.014, 12700.0, 6200.0),
    25: BearingSize(0.025, 0.052, 0.015, 14000.0, 6950.0),
}


def rating_life(load_rating, load, speed_rpm, a1=1.0, a_iso=1.0):
    """Return the fatigue life [h] of a ball bearing according to ISO 281.

    The life is 1e6 / (60 n) a1 aISO (C/P)^3. ISO 281 limits the equation to loads P of up to C/2.
    Array arguments are broadcast against each other.

    Parameters
    ----------
    load_rating : array_like
        Dynamic load rating C [N].
    load : array_like
        Equivalent load P [N].
    speed_rpm : array_like
        Speed n [rpm].
    a1 : array_like, optional
        Life factor for reliability.
    a_iso : array_like, optional
        Life factor for lubrication.

    Raises
    ------
    InputError
        If a value is out of range or if P exceeds C.

    Examples
    --------
    >>> round(float(rating_life(3211.0, 400.0, 1725.0)))
    4998
    """
    load_rating = check("load_rating", load_rating, LOAD_POSITIVE)
    load = check("load", load, LOAD_POSITIVE)
    speed_rpm = check("speed_rpm", speed_rpm, SPEED_RPM)
    factors = check("a1", a1, LIFE_FACTOR) * check("a_iso", a_iso, LIFE_FACTOR)
    capacity = load_rating / load
    if np.any(capacity < 1):
        given = Message("error.physics.times_rating", times=f"{1 / np.min(capacity):.3g}")
        raise InputError("load", given, Message("error.physics.up_to_rating"))
    return 1e6 / (60 * speed_rpm) * factors * capacity**3


def reliability_factor(reliability):
    """Return the life factor a1 of ISO 281:2007 for a ``reliability`` of 0.9 to 0.9995.

    Between the tabulated values, a1 is interpolated with the three-parameter Weibull distribution
    of the standard, in which a1 is linear in (ln 1/R)^(1/1.5). The result has the same shape as the
    input.

    Raises
    ------
    InputError
        If the reliability is out of range.

    Examples
    --------
    >>> float(reliability_factor(0.95))
    0.64
    """
    reliability = check("reliability", reliability, RELIABILITY)
    table = A1[::-1]
    return np.interp(_weibull(reliability), _weibull(table[:, 0]), table[:, 1])[()]


def _weibull(reliability):
    return np.log(1 / reliability) ** (1 / FATIGUE_SLOPE)


def equivalent_load(load_radial, load_axial, load_rating_static, f0):
    """Return the equivalent load P [N] of a deep groove ball bearing according to ISO 281.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    load_radial : array_like
        Radial load [N].
    load_axial : array_like
        Axial load [N] in either direction.
    load_rating_static : array_like
        Static load rating C0 [N].
    f0 : array_like
        Geometry factor, 10 to 16, from the bearing manufacturer's table.

    Raises
    ------
    InputError
        If a value is out of range or if f0 Fa / C0 exceeds 6.89, the end of the standard's table.

    Examples
    --------
    >>> round(float(equivalent_load(150.0, 150.0, 4500.0, 13.1)), 2)
    371.31
    """
    radial = check("load_radial", load_radial, LOAD)
    axial = check("load_axial", load_axial, LOAD)
    static = check("load_rating_static", load_rating_static, LOAD_POSITIVE)
    relative = check("f0", f0, F0) * axial / static
    check("f0 x load_axial / load_rating_static", relative, Range(0.0, AXIAL[-1, 0], ""))
    limit, factor = axial_factors(relative)
    combined = np.maximum(radial, X_AXIAL * radial + factor * axial)
    return np.where(axial > limit * radial, combined, radial)[()]


def axial_factors(relative):
    """Return the limit e and the factor Y of ISO 281.

    ``relative`` is the relative axial load f0 Fa / C0, from 0 to 6.89. The table in the standard is
    interpolated linearly.
    """
    return tuple(np.interp(relative, AXIAL[:, 0], AXIAL[:, i]) for i in (1, 2))


def static_load(load_radial, load_axial):
    """Return the static equivalent load P0 [N] of a deep groove ball bearing (ISO 76).

    P0 is the larger of 0.6 Fr + 0.5 Fa and Fr. Array arguments are broadcast against each other.

    Parameters
    ----------
    load_radial : array_like
        Radial load Fr [N].
    load_axial : array_like
        Axial load Fa [N] in either direction.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(static_load(100.0, 200.0))
    160.0
    """
    radial = check("load_radial", load_radial, LOAD)
    axial = check("load_axial", load_axial, LOAD)
    return np.maximum(0.6 * radial + 0.5 * axial, radial)


def static_safety(load_rating_static, load):
    """Return the static safety factor S0 = C0 / P0 (ISO 76).

    The factor is a margin against indentation of the raceways. Common practice requires at least
    1.5 for shock loads and 2 for quiet running. Array arguments are broadcast against each other.

    Parameters
    ----------
    load_rating_static : array_like
        Static load rating C0 [N].
    load : array_like
        Static equivalent load P0 [N].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(static_safety(4500.0, 1000.0))
    4.5
    """
    static = check("load_rating_static", load_rating_static, LOAD_POSITIVE)
    return static / check("load", load, LOAD_POSITIVE)


def minimum_load(load_rating):
    """Return the minimum load [N] that prevents the balls from skidding.

    The minimum load is 0.01 times ``load_rating`` [N] (common practice; no published source). The
    result has the same shape as the input.

    Raises
    ------
    InputError
        If the load rating is out of range.
    """
    return MINIMUM_LOAD_RATIO * check("load_rating", load_rating, LOAD_POSITIVE)


def fatigue_load_limit(load_rating_static):
    """Return the fatigue load limit Cu [N], which is C0/22 in ISO 281.

    The equation applies to ball bearings with a pitch diameter of up to 100 mm.
    ``load_rating_static`` is the static load rating C0 [N]. The result has the same shape as the
    input.

    Raises
    ------
    InputError
        If the load rating is out of range.

    Examples
    --------
    >>> round(float(fatigue_load_limit(4500.0)), 2)
    204.55
    """
    return check("load_rating_static", load_rating_static, LOAD_POSITIVE) / 22


def reference_viscosity(speed_rpm, diameter_pitch):
    """Return the reference viscosity nu1 [m2/s] required for adequate lubrication (ISO 281).

    The viscosity ratio kappa is the ratio of the oil viscosity at bearing temperature to this
    reference viscosity. Array arguments are broadcast against each other.

    Parameters
    ----------
    speed_rpm : array_like
        Speed [rpm].
    diameter_pitch : array_like
        Pitch diameter [m], the mean of the bore and outside diameters.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(reference_viscosity(1075.0, 0.0285)) * 1e6, 3)
    25.709
    """
    speed = check("speed_rpm", speed_rpm, SPEED_RPM)
    millimetres = check("diameter_pitch", diameter_pitch, DIAMETER_PITCH) * 1000
    by_speed = np.where(speed < 1000, 45000 * speed**-0.83, 4500 * speed**-0.5)
    return by_speed * millimetres**-0.5 * 1e-6


def viscosity_ratio(temp_bearing, viscosity_40, viscosity_100, speed_rpm, diameter_pitch):
    """Return the ratio kappa of oil viscosity to reference viscosity (ISO 281).

    Array arguments are broadcast against each other.

    Parameters
    ----------
    temp_bearing : array_like
        Bearing temperature [degC].
    viscosity_40, viscosity_100 : array_like
        Viscosity of the oil or base oil at 40 and 100 degC [m2/s].
    speed_rpm : array_like
        Speed [rpm].
    diameter_pitch : array_like
        Pitch diameter [m].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(viscosity_ratio(70.0, 100e-6, 11e-6, 1075.0, 0.0285)), 2)
    1.05
    """
    oil = oil_viscosity(temp_bearing, viscosity_40, viscosity_100)
    return oil / reference_viscosity(speed_rpm, diameter_pitch)


def contamination_factor(kappa, diameter_pitch, cleanliness):
    """Return the contamination factor eC (0 to 1) of a greased bearing (ISO 281:2007).

    For a small bearing with severe contamination, the formula gives a negative value. The function
    then returns 0, which results in a life factor aISO of 0.1. Array arguments are broadcast
    against each other.

    Parameters
    ----------
    kappa : array_like
        Viscosity ratio. Values above 4 are treated as 4.
    diameter_pitch : array_like
        Pitch diameter [m].
    cleanliness : array_like
        Cleanliness of the grease, a key in CLEANLINESS.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(contamination_factor(1.0, 0.0285, "normal cleanliness")), 5)
    0.17082
    """
    kappa = np.minimum(check("kappa", kappa, KAPPA), KAPPA_TOP)
    millimetres = check("diameter_pitch", diameter_pitch, DIAMETER_PITCH) * 1000
    if str(cleanliness) not in CLEANLINESS:
        raise InputError("cleanliness", repr(cleanliness), ", ".join(CLEANLINESS))
    c1, c2 = CLEANLINESS[str(cleanliness)]
    film = np.minimum(1, c1 * kappa**0.68 * millimetres**0.55)
    return np.maximum(film * (1 - c2 / millimetres ** (1 / 3)), 0)


def a_iso(kappa, contamination_ratio):
    """Return the life factor aISO (0.1 to 50) of radial ball bearings (ISO 281:2007).

    Array arguments are broadcast against each other.

    Parameters
    ----------
    kappa : array_like
        Viscosity ratio of at least 0.1. Values above 4 are treated as 4.
    contamination_ratio : array_like
        Ratio eC Cu/P, which is the contamination factor times the fatigue load limit over the load.

    Raises
    ------
    InputError
        If a value is out of range. ISO 281 does not apply if kappa is below 0.1.

    Examples
    --------
    >>> round(float(a_iso(1.0, 0.1)), 4)
    2.4305
    """
    kappa = np.minimum(check("kappa", kappa, KAPPA), KAPPA_TOP)
    ratio = check("contamination_ratio", contamination_ratio, CONTAMINATION_RATIO)
    film = np.select(
        [kappa < 0.4, kappa < 1],
        [2.2649 / kappa**0.054381, 1.9987 / kappa**0.19087],
        1.9987 / kappa**0.071739,
    )
    bracket = 1 - np.maximum(2.5671 - film, 0) ** 0.83 * np.cbrt(ratio)
    # The formula is unbounded as the bracket approaches 0. The standard's limit is 50, which is
    # reached at a bracket of 0.51.
    return np.minimum(0.1 * np.maximum(bracket, 0.2) ** -9.3, A_ISO_TOP)


def grease_life(temp_bearing, half_life_subtraction=0.0):
    """Return the median life L50 [h] of the grease in a sealed ball bearing.

    The equation, log10 L50 = -2.60 + 2450 / (273 + T) - 0.301 S, was published by E. R. Booser for
    a premium industrial grease (Khonsari and Booser, Applied Tribology). The equation is most
    accurate from 70 to 120 degC and is extrapolated from 40 to 70 degC and from 120 to 150 degC.
    Below 40 degC, the life at 40 degC is returned, because grease also ages at rest. Array
    arguments are broadcast against each other.

    Parameters
    ----------
    temp_bearing : array_like
        Bearing temperature [degC].
    half_life_subtraction : array_like, optional
        Half-life subtraction S, which accounts for load, speed, seals and a vertical shaft. Each
        unit of S halves the life.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(grease_life(70.0)))
    34903
    """
    temp = np.maximum(check("temp_bearing", temp_bearing, TEMP_BEARING), TEMP_GREASE_LOW)
    subtraction = check("half_life_subtraction", half_life_subtraction, SUBTRACTION)
    return 10 ** (-2.60 + 2450 / (273 + temp) - 0.301 * subtraction)


def grease_life_l10(temp_bearing, half_life_subtraction=0.0):
    """Return the L10 grease life [h], which 90 % of the bearings reach or exceed.

    The L10 life is 0.44 times the median life (common practice). The arguments, array shapes and
    errors are the same as in `grease_life`.

    >>> round(float(grease_life_l10(100.0)))
    4091
    """
    return GREASE_L10_RATIO * grease_life(temp_bearing, half_life_subtraction)


def grease_reliability_factor(reliability):
    """Return the ratio of the grease life at ``reliability`` to the life at a reliability of 0.9.

    The reliability is 0.9 to 0.9995. The ratio is from a two-parameter Weibull distribution with
    slope GREASE_SLOPE, fitted to L50 and L10 = 0.44 L50. This extension of common practice has no
    published source. The result has the same shape as the input.

    Raises
    ------
    InputError
        If the reliability is out of range.

    Examples
    --------
    >>> round(float(grease_reliability_factor(0.99)), 2)
    0.36
    """
    reliability = check("reliability", reliability, RELIABILITY)
    return (np.log(1 / reliability) / np.log(1 / 0.9)) ** (1 / GREASE_SLOPE)


def system_life(lives, exponent):
    """Return the life [h] of a set of bearings, which ends when the first bearing fails.

    The life is (sum Li^-b)^(-1/b). The result has the shape of ``lives`` without the last axis.

    Parameters
    ----------
    lives
        Life [h] of each bearing at the same reliability, shape (..., bearings).
    exponent
        Weibull slope b. For ball bearings, the slope is 1.5 in ISO 281:2007 and 10/9 in older
        editions.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(system_life([1000.0, 1000.0], 1.5)), 2)
    629.96
    """
    lives = np.atleast_1d(check("lives", lives, LIFE))
    exponent = check("exponent", exponent, WEIBULL_SLOPE)
    shortest = lives.min(axis=-1)
    together = np.sum((lives / shortest[..., None]) ** -exponent[..., None], axis=-1)
    return shortest * together ** (-1 / exponent)
