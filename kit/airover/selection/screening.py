"""Arrays and constants for screening a fleet: units, motors, failed motors, limits.

`screening_kernel` evaluates them for every unit. Each motor and sample has polynomials of its
figures with a cube-law fan (`business.fleet_response`).
"""

from typing import NamedTuple

import numpy as np

RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN = range(6)  # figures that have a polynomial
OF_THE_FAILED = 3  # number of figures that a failed motor has: the first ones
BEST = 3  # number of motors kept for each unit
VERTICAL, HORIZONTAL = 0, 1  # a vertical motor has sun on its upper end
REACH = 0.87  # fraction of cold breakdown torque up to which a motor's polynomials are valid
NOT_FIT = 99  # cost of a failed rule
MEASURE = 2  # the supply must be measured first; counts as a cost of 1
# Rules whose failures the screening itself finds, by their names in `selection`.
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


class Surfaces(NamedTuple):
    """Polynomials of motors, and their ranges of validity.

    ``terms``: degrees in voltage, load, air and cooling, shape (terms, 4); ``coefficients``: for
    vertical and horizontal shafts, shape (2, motors, figures, terms, samples). The figures are ln
    of temperature rise [K], slip, ln of the heaviest load [N m s^2] with which the warm motor
    starts and runs up at its lowest rated voltage, ln of current [A], ln of capacitor voltage [V],
    and ln of breakdown torque [N m] at that lowest voltage.

    ``breakdown``: cold breakdown torque divided by synchronous speed squared [N m s^2], as a cubic
    polynomial in voltage, shape (motors, 4, samples); ``heaviest``: maximum simulated load [N m
    s^2], shape (motors, samples); ``lightest``: minimum simulated load as a fraction of
    ``heaviest``; ``works``: False if no motor can have the nameplate, shape (motors,). Limits of
    validity: ``voltage`` [V], shape (motors, 2); ``air`` [degC], shape (2,); ``log_cooling`` (ln of
    m/s per rpm), shape (2,).
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
    """Facts of catalog motors, shape (motors,); NaN if not in the catalog.

    ``voltage_low`` and ``voltage_high``: limits of the supply voltage [V]; ``synchronous``:
    synchronous speed [rpm]; ``works``: as in Surfaces; ``ratings`` [W] and ``currents`` [A]: shape
    (motors, ratings); ``ambient``: rated ambient temperature [degC]; ``winding``: winding
    temperature limit [degC]; ``capacitor``: rated capacitor voltage [V]; ``price``: price;
    ``place``: position in the order of names.
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
    """Failed motors of a table, one for each different nameplate.

    Comparisons with catalog motors have shape (nameplates, motors); other arrays have shape
    (nameplates,). ``cost``, ``unlike`` and ``failing``: as in FactTables; ``rating_number``: index
    of the rating to use; ``size_up``: 1 for a larger horsepower; ``same_size``: 1 if the rating is
    at least as large as the old one; ``estimated``: 1 if the old power is an estimate not confirmed
    by amps; ``ambient`` and ``winding``: limits of the old motor [degC] or NaN; ``trip``: trip
    temperature of its protector [degC]; ``synchronous``: its synchronous speed [rpm].
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
    """Tables of plain facts, shape (motors, values).

    ``cost``: 0, 1 for each modification or missing fact, or NOT_FIT; ``unlike``: contribution of
    the value to the dissimilarity from the failed motor; ``failing``: one bit for each failed rule;
    ``always``: dissimilarity that does not depend on a value, shape (motors,).
    """

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray
    always: np.ndarray


class ScreenedUnits(NamedTuple):
    """Units of a table; arrays have shape (units, samples) or (units,).

    Shape (units, samples): ``coefficient``: fan coefficient [N m s^2]; ``speed_rpm``: speed [rpm]
    at which load and air are stated; ``temp_air``: air temperature at the motor [degC];
    ``log_cooling``: ln of m/s per rpm; ``temp_over``: air temperature above outdoor air [K].

    Shape (units,) unless stated otherwise: ``voltage``: supply voltages [V], shape (units, 3);
    ``said``: lowest and highest voltage [V] that was measured or is on the nameplate, shape (units,
    2); ``measured``: 0 for no reading, 1 for one reading, 2 for a range; ``weather``: True if the
    outdoor temperature is known; ``sideways``: VERTICAL or HORIZONTAL; ``old``: number of the
    failed motor; ``facts``: columns of the fact tables, shape (units, groups).
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
    """Limits of the rules, usual or as set (`records.limits`).

    ``power`` and ``torque``: least ratio of the rating to the fan load, and of breakdown torque to
    fan torque, 0 if no margin is set; ``near_flow``: airflow below which a motor is rejected;
    ``no_worse``, ``even`` and ``likely``: as in `selection.load` and `selection.electrical`.
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
    """Best motors of each unit, shape (units, BEST); number -1 if there is none.

    ``work``: number of modifications and missing facts; ``rating_number``: index of the rating to
    use; ``figures``: shape (units, BEST, 10): amps low, mid, high, winding low, mid, high [degC],
    margin of the winding [K], torque reserve, fraction of the airflow, capacitor voltage [V].
    ``counts``: shape (units, 4): motors that fit, that fit with work, whose plain facts are
    suitable, and that also carry the load. ``failing``: number of motors that fail each rule, for
    units without a motor, shape (units, rules); the rules in STOPS come first, then the rules with
    a bit in FactTables.
    """

    motor: np.ndarray
    work: np.ndarray
    rating_number: np.ndarray
    figures: np.ndarray
    counts: np.ndarray
    failing: np.ndarray

    @classmethod
    def none(cls, units: int, rules: int) -> "Best":
        """Create an empty result for a number of units and a number of rules that can fail."""
        number = np.full((units, BEST), -1)
        work, counts = np.zeros((units, BEST), dtype=int), np.zeros((units, 4), dtype=int)
        figures, failing = np.full((units, BEST, 10), np.nan), np.zeros((units, rules), dtype=int)
        return cls(number, work, work.copy(), figures, counts, failing)
