"""Arrays and constants of a fleet's screening: units, motors, failed motors, limits.

`screening_kernel` evaluates them for every unit. Each motor and sample has polynomials of its
figures on a cube-law fan (`business.fleet_response`).
"""

from typing import NamedTuple

import numpy as np

RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN = range(6)  # the figures that have a polynomial
OF_THE_FAILED = 3  # the first of them are those that a failed motor has
BEST = 3  # motors that are kept for each unit
VERTICAL, HORIZONTAL = 0, 1  # a vertical motor has sun on its upper end
REACH = 0.87  # of its cold breakdown torque, up to which a motor's polynomials hold
NOT_FIT = 99  # the cost of a rule that fails
MEASURE = 2  # the supply must be measured first; costs 1
# The rules whose failures the screening itself finds, by their names in `selection`.
(LISTED, VOLTAGE, SHAFT_POWER, AMBIENT, STARTING, AIRFLOW, WINDING) = range(7)
STOPS = (
    "catalog's plate",
    "voltage",
    "shaft power",
    "ambient rating",
    "starting on low voltage",
    "airflow",
    "winding temperature",
)


class Surfaces(NamedTuple):
    """Polynomials of motors, and where they hold.

    ``terms`` (terms, 4): degree in voltage, load, air, cooling; ``coefficients`` (2, motors,
    figures, terms, samples), vertical and horizontal: ln of rise [K], slip, ln of the heaviest load
    [N m s^2] with which the warm motor starts and runs up at the lowest voltage of its rating, ln
    of amps [A], of capacitor volts [V], of breakdown torque [N m] at that lowest voltage.
    ``breakdown`` (motors, 4, samples) [N m s^2] is the cold one over synchronous speed squared as a
    cubic of the voltage, ``heaviest`` (motors, samples) the load [N m s^2] beyond which a motor is
    not followed, ``lightest`` the share of it below which it is not. ``works`` (motors,) is False
    where no motor can have the nameplate. ``voltage`` (motors, 2) [V], ``air`` (2,) [degC] and
    ``log_cooling`` (2,), ln of m/s per rpm: ends.
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


class Motors(NamedTuple):
    """Facts of catalog motors, (motors,); NaN for what a catalog does not say.

    ``voltage_low`` and ``voltage_high`` [V] that it takes, ``synchronous`` [rpm], ``works`` as in
    Surfaces, ``ratings`` [W] and ``currents`` [A] of shape (motors, ratings), ``ambient`` [degC],
    ``winding`` [degC], ``capacitor`` [V], ``price``, ``place`` in the order of names.
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
    """The failed motors of a table, one for each different nameplate: (nameplates, motors) where
    a catalog motor is compared with it, (nameplates,) else.

    ``cost``, ``unlike`` and ``failing`` as in FactTables; ``rating_number`` which rating is used,
    ``size_up`` 1 for a larger horsepower, ``same_size`` 1 where the rating is as large as the old
    one, ``estimated`` 1 where the old power is an estimate that amps do not confirm. ``ambient``
    [degC] and ``winding`` [degC] are the old motor's own limits or NaN, ``trip`` [degC] its
    protector's, ``synchronous`` [rpm] its speed.
    """

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray
    rating_number: np.ndarray
    size_up: np.ndarray
    same_size: np.ndarray
    estimated: np.ndarray
    ambient: np.ndarray
    winding: np.ndarray
    trip: np.ndarray
    synchronous: np.ndarray


class FactTables(NamedTuple):
    """Tables of plain facts, (motors, values): ``cost`` is 0, 1 for each rule with something to
    adapt or to find out, NOT_FIT; ``unlike`` is what the value adds to how little a motor is like
    the failed one; ``failing`` has a bit for each rule that fails. ``always`` (motors,) is the
    unlikeness that depends on no value."""

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray
    always: np.ndarray


class ScreenedUnits(NamedTuple):
    """Units of a table; (units, samples) but where said.

    ``coefficient`` [N m s^2], ``speed_rpm`` at which load and air are stated, ``temp_air`` [degC],
    ``log_cooling`` (ln of m/s per rpm), ``temp_over`` [K] of the air over outdoor air. (units,):
    ``voltage`` (units, 3) [V] of the supply, ``said`` (units, 2) [V] the lowest and highest that
    was measured or is on the nameplate, ``measured`` (0 no, 1 one reading, 2 a range), ``weather``
    true where the outdoor temperature is known, ``sideways`` (VERTICAL or HORIZONTAL), ``old`` the
    number of the failed motor. ``facts`` (units, groups) are columns of the tables of facts.
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


class Limits(NamedTuple):
    """The limits of the rules, by the names they have in `selection`."""

    near_limit: float
    small_risk: float
    even: float
    no_worse: float
    most_excess: float
    sure: float
    likely: float
    near_flow: float
    same_amps: float
    overvoltage: float


class Best(NamedTuple):
    """The best motors of each unit, (units, BEST), number -1 where there is none.

    ``work`` is how much has to be adapted or found out, ``rating_number`` which of its ratings is
    used; ``figures`` (units, BEST, 10): amps low, mid, high, winding low, mid, high [degC], margin
    of the winding [K], reserve of torque, share of the airflow, volts across the capacitor.
    ``counts`` (units, 4): motors that fit, that fit with work, whose plain facts suit, that carry
    the load too. ``failing`` (units, rules): motors that fail on each rule, of units without a
    motor; first come the rules of STOPS, then those with a bit in FactTables.
    """

    motor: np.ndarray
    work: np.ndarray
    rating_number: np.ndarray
    figures: np.ndarray
    counts: np.ndarray
    failing: np.ndarray

    @classmethod
    def none(cls, units: int, rules: int) -> "Best":
        """Nothing found yet for so many units, and so many rules that can fail."""
        number = np.full((units, BEST), -1)
        work, counts = np.zeros((units, BEST), dtype=int), np.zeros((units, 4), dtype=int)
        figures, failing = np.full((units, BEST, 10), np.nan), np.zeros((units, rules), dtype=int)
        return cls(number, work, work.copy(), figures, counts, failing)
