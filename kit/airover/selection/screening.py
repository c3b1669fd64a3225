"""Define arrays and constants for screening a fleet.

The module `screening_kernel` evaluates these arrays for every unit. For each motor and sample,
polynomials represent the values that were simulated with a cube-law fan
(`business.fleet_response`).
"""

from typing import NamedTuple

import numpy as np

RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN, INPUT = range(7)  # values given by polynomials
BEST = 3  # number of motors kept for each unit
VERTICAL, HORIZONTAL = 0, 1  # the sun shines on the upper end of a vertical motor
REACH = 0.87  # fraction of cold breakdown torque up to which a motor's polynomials are valid
NOT_FIT = 99  # cost of a failed rule
MEASURE = 2  # same cost as 1, but the supply must be measured first
# Rules that the screening itself evaluates, by their names in `selection`.
(LISTED, VOLTAGE, SHAFT_POWER, AMBIENT, STARTING, AIRFLOW, WINDING, TORQUE) = range(8)
STOPS = (
    "catalog's plate",
    "voltage",
    "shaft power",
    "ambient rating",
    "starting on low voltage",
    "airflow",
    "winding temperature",
    "torque",
)
# Bits of the tasks, which are the checks whose data must be found out or whose parts must be
# adapted: first the rules in STOPS, then the plain rules, then these two.
RUNNING_AMPS, CAPACITOR_VOLTAGE = 28, 29
ADAPTED = 30  # a bit this much higher is a part to adapt


class Surfaces(NamedTuple):
    """Motor polynomials and their ranges of validity.

    The polynomials give the slip and the natural logarithms of the temperature rise [K], the
    maximum load coefficient [N m s^2] at which the warm motor can start and come up to speed at its
    lowest rated voltage, the current [A], the capacitor voltage [V], the breakdown torque [N m] at
    the lowest rated voltage, and the input power [W].

    The polynomials are valid within the limits ``voltage`` [V], shape (motors, 2), ``air`` [degC],
    shape (2,), and ``log_cooling`` (ln of m/s per rpm), shape (2,).

    Attributes
    ----------
    terms : ndarray
        Degrees of the terms in voltage, load, air and cooling, shape (terms, 4).
    coefficients : ndarray
        Coefficients for vertical and horizontal shafts, shape (2, motors, figures, terms, samples).
    breakdown : ndarray
        Cold breakdown torque divided by synchronous speed squared [N m s^2], as a cubic polynomial
        in voltage, shape (motors, 4, samples).
    heaviest : ndarray
        Maximum simulated load [N m s^2], shape (motors, samples).
    works : ndarray
        False if the nameplate is physically impossible, shape (motors,).
    lightest : float
        Minimum simulated load as a fraction of ``heaviest``.
    """

    terms: np.ndarray
    coefficients: np.ndarray
    breakdown: np.ndarray
    heaviest: np.ndarray
    works: np.ndarray
    voltage: np.ndarray
    air: np.ndarray
    log_cooling: np.ndarray
    lightest: float


EACH_FAILED = ("own", "shared", "breakdown", "heaviest", "voltage")  # arrays with one row per motor


class FailedSurfaces(NamedTuple):
    """Polynomials of failed motors for temperature rise, slip and maximum load.

    The units, the ranges of validity and the other attributes are the same as in `Surfaces`. The
    first polynomial terms have one coefficient for each sample, and the others have the same
    coefficients for all samples of a motor.

    Attributes
    ----------
    own : ndarray
        Coefficients of the first terms, shape (motors, figures, first terms, samples).
    shared : ndarray
        Contribution of the sun to vertical motors, then the coefficients of the other terms, shape
        (motors, figures, 1 + other terms).
    """

    terms: np.ndarray
    own: np.ndarray
    shared: np.ndarray
    breakdown: np.ndarray
    heaviest: np.ndarray
    voltage: np.ndarray
    air: np.ndarray
    log_cooling: np.ndarray
    lightest: float


class Motors(NamedTuple):
    """Catalog motor data, shape (motors,). Values that are not in the catalog are NaN.

    Attributes
    ----------
    voltage_low, voltage_high : ndarray
        Limits of the supply voltage [V].
    synchronous : ndarray
        Synchronous speed [rpm].
    works : ndarray
        False if the nameplate is physically impossible, shape (motors,).
    ratings, currents : ndarray
        Ratings [W] and full-load currents [A], shape (motors, ratings).
    ambient : ndarray
        Rated ambient temperature [degC].
    winding : ndarray
        Winding temperature limit [degC].
    capacitor : ndarray
        Rated capacitor voltage [V].
    price : ndarray
        Price.
    place : ndarray
        Position in alphabetical order.
    """

    voltage_low: np.ndarray
    voltage_high: np.ndarray
    synchronous: np.ndarray
    works: np.ndarray
    ratings: np.ndarray
    currents: np.ndarray
    ambient: np.ndarray
    winding: np.ndarray
    capacitor: np.ndarray
    price: np.ndarray
    place: np.ndarray


class Old(NamedTuple):
    """Failed motors in a table, one for each distinct nameplate.

    Comparisons with catalog motors have shape (nameplates, motors). Other arrays have shape
    (nameplates,).

    Attributes
    ----------
    cost, unlike, failing, tasks : ndarray
        Values as in `FactTables`.
    rating_number : ndarray
        Index of the rating to use.
    size_up : ndarray
        1 if the horsepower is larger than the old horsepower.
    same_size : ndarray
        1 if the rating is at least as large as the old rating.
    estimated : ndarray
        1 if the old power is an estimate that is not confirmed by the amps.
    ambient, winding : ndarray
        Temperature limits of the old motor [degC], or NaN.
    trip : ndarray
        Trip temperature of the protector [degC].
    synchronous : ndarray
        Synchronous speed [rpm].
    """

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray
    tasks: np.ndarray
    rating_number: np.ndarray
    size_up: np.ndarray
    same_size: np.ndarray
    estimated: np.ndarray
    ambient: np.ndarray
    winding: np.ndarray
    trip: np.ndarray
    synchronous: np.ndarray


class FactTables(NamedTuple):
    """Tables for the plain rules, shape (motors, values).

    Attributes
    ----------
    cost : ndarray
        Number of modifications and missing facts, or NOT_FIT.
    unlike : ndarray
        Contribution of the value to the dissimilarity to the failed motor.
    failing : ndarray
        Bit mask of the failed rules.
    tasks : ndarray
        Bit mask of the tasks.
    always : ndarray
        Dissimilarity that does not depend on the values, shape (motors,).
    """

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray
    tasks: np.ndarray
    always: np.ndarray


class ScreenedUnits(NamedTuple):
    """Units in a table, as arrays of shape (units, samples) or (units,).

    Attributes
    ----------
    coefficient : ndarray
        Fan coefficient [N m s^2].
    speed_rpm : ndarray
        Speed [rpm] to which the load and air data apply.
    temp_air : ndarray
        Air temperature at the motor [degC].
    log_cooling : ndarray
        Natural logarithm of the cooling air speed per rpm [m/s per rpm].
    temp_over : ndarray
        Temperature rise of the air above outdoor air [K].
    voltage : ndarray
        Supply voltages [V], shape (units, 3).
    said : ndarray
        Lowest and highest voltage [V], as measured or from the nameplate, shape (units, 2).
    measured : ndarray
        Type of voltage reading: 0 for none, 1 for a single reading, 2 for a range.
    weather : ndarray
        True if the outdoor temperature is known.
    sideways : ndarray
        Shaft orientation, VERTICAL or HORIZONTAL.
    old : ndarray
        Index of the failed motor.
    facts : ndarray
        Column indices in the fact tables, shape (units, groups).
    """

    coefficient: np.ndarray
    speed_rpm: np.ndarray
    temp_air: np.ndarray
    log_cooling: np.ndarray
    temp_over: np.ndarray
    voltage: np.ndarray
    said: np.ndarray
    measured: np.ndarray
    weather: np.ndarray
    sideways: np.ndarray
    old: np.ndarray
    facts: np.ndarray


class ScreeningLimits(NamedTuple):
    """Rule limits, from `records.limits`.

    Attributes
    ----------
    power, torque : float
        Minimum ratios of rating to fan load and of breakdown torque to fan torque, or 0 if no
        margin is set.
    near_flow : float
        Airflow fraction below which a motor is rejected.
    no_worse, even, likely : float
        Risk limits, as in `selection.load` and `selection.electrical`.
    """

    supply_voltage: float
    question_risk: float
    rejection_risk: float
    ambient_excess: float
    power: float
    torque: float
    near_flow: float
    running_amps: float
    capacitor_voltage: float
    no_worse: float
    even: float
    likely: float


class Best(NamedTuple):
    """Best motors for each unit, shape (units, BEST). The number is -1 if there is no motor.

    The array ``counts``, shape (units, 4), contains four counts of motors: those that fit, those
    that fit with work, those that pass the plain rules, and those that pass them and can also carry
    the load.

    Attributes
    ----------
    work : ndarray
        Number of modifications and missing facts.
    rating_number : ndarray
        Index of the rating to use.
    figures : ndarray
        Array of shape (units, BEST, 10) with the low, median and high amps [A], the low, median and
        high winding temperatures [degC], the winding margin [K], the torque reserve, the airflow
        fraction and the capacitor voltage [V].
    failing : ndarray
        Number of motors that fail each rule, only for units without a fitting motor, shape (units,
        rules). The rules in STOPS come before the rules with a bit in `FactTables`.
    tasks : ndarray
        Bit mask of the tasks for each of the best motors, shape (units, BEST).
    nearest, obstacles : ndarray
        Motor that fails the fewest rules, and the bit mask of these rules, for units without a
        fitting motor, shape (units,). Otherwise -1 and 0.
    """

    motor: np.ndarray
    work: np.ndarray
    rating_number: np.ndarray
    figures: np.ndarray
    counts: np.ndarray
    failing: np.ndarray
    tasks: np.ndarray
    nearest: np.ndarray
    obstacles: np.ndarray

    @classmethod
    def none(cls, units: int, rules: int) -> "Best":
        """Create an empty result for a number of units and a number of rules."""
        number = np.full((units, BEST), -1)
        work, counts = np.zeros((units, BEST), dtype=int), np.zeros((units, 4), dtype=int)
        figures, failing = np.full((units, BEST, 10), np.nan), np.zeros((units, rules), dtype=int)
        tasks, nearest = np.zeros((units, BEST), dtype=np.int64), np.full(units, -1)
        obstacles = np.zeros(units, dtype=np.int64)
        return cls(number, work, work.copy(), figures, counts, failing, tasks, nearest, obstacles)


class Options(NamedTuple):
    """Number of tasks and input power for every motor that fits a unit.

    Attributes
    ----------
    work : ndarray
        Number of tasks, or NOT_FIT, shape (units, motors).
    power : ndarray
        Mean input power [W], shape (units, motors).
    """

    work: np.ndarray
    power: np.ndarray

    @classmethod
    def none(cls, units: int, motors: int) -> "Options":
        """Create an empty result for a number of units and motors."""
        power = np.zeros((units, motors), dtype=np.float32)
        return cls(np.full((units, motors), NOT_FIT, dtype=np.int8), power)
