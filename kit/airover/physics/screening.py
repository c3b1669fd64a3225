"""Units and motors as the screening of a fleet takes them: plain arrays by name, and constants.

Each motor and draw has polynomials of what it does on a cube-law fan (see `fleet.response`);
`screen_compiled` evaluates them for every unit.
"""

from typing import NamedTuple

import numpy as np

RISE, CURRENT, CAPACITOR, SLIP, BREAKDOWN = range(5)  # the figures that have a polynomial
BEST = 3  # motors that are kept of each unit
UPRIGHT, LYING = 0, 1  # an upright motor has sun on its upper end
REACH = 0.87  # of its cold breakdown torque, up to which a motor's polynomials hold
LIGHTEST = 0.1  # share of the heaviest load, down to which they hold
NOT_FIT = 99  # what a plain fact costs that cannot be made good


class Surfaces(NamedTuple):
    """Polynomials of motors, and where they hold.

    ``terms`` (terms, 4): degree in voltage, load, air, cooling; ``coefficients`` (2, motors,
    figures, terms, draws), upright and lying: ln of rise [K], of amps [A], of capacitor volts [V],
    slip, ln of breakdown torque [N m]. ``breakdown`` (motors, 4, draws) [N m s^2] is the cold one
    over synchronous speed squared as a cubic of the voltage, ``heaviest`` (motors, draws) the
    load [N m s^2] beyond which a motor is not followed; ``run_up`` (motors, voltages, draws)
    [N m s^2] the heaviest load that it starts and runs up with, at even steps of the voltage.
    ``works`` (motors,) is False where no motor can have the plate. ``voltage`` (motors, 2) [V],
    ``air`` (2,) [degC] and ``log_cooling`` (2,), ln of m/s per rpm: ends.
    """

    terms: np.ndarray
    coefficients: np.ndarray
    breakdown: np.ndarray
    heaviest: np.ndarray
    run_up: np.ndarray
    works: np.ndarray
    voltage: np.ndarray
    air: np.ndarray
    log_cooling: np.ndarray


class Motors(NamedTuple):
    """What is asked of motors, (motors,); NaN for what a catalogue does not say.

    ``voltage_low`` and ``voltage_high`` [V] that it takes, ``frequency`` [Hz], ``poles``,
    ``synchronous`` [rpm], ``works`` as in Surfaces, ``ratings`` [W] and ``currents`` [A] of
    shape (motors, ratings), ``ambient`` [degC], ``winding`` [degC], ``capacitor`` [V], ``price``,
    ``place`` in the order of names.
    """

    voltage_low: np.ndarray
    voltage_high: np.ndarray
    frequency: np.ndarray
    poles: np.ndarray
    synchronous: np.ndarray
    works: np.ndarray
    ratings: np.ndarray
    currents: np.ndarray
    ambient: np.ndarray
    winding: np.ndarray
    capacitor: np.ndarray
    price: np.ndarray
    place: np.ndarray


class Units(NamedTuple):
    """Units as they ask; (units, draws) but where said.

    ``coefficient`` [N m s^2], ``speed_rpm`` at which load and air are stated, ``temp_air`` [degC],
    ``log_cooling`` (ln of m/s per rpm), ``temp_over`` [K] of the air over the weather. (units,):
    ``voltage`` (units, 3) [V], ``frequency`` [Hz], ``poles``, ``sideways`` (UPRIGHT or LYING),
    ``power`` [W] of the plate or NaN, ``measured`` line voltage (0 no, 1 one reading, 2 a range).
    ``facts`` (units, checks) are rows of the table of facts, ``amps`` rows of the one of amps.
    """

    coefficient: np.ndarray
    speed_rpm: np.ndarray
    temp_air: np.ndarray
    log_cooling: np.ndarray
    temp_over: np.ndarray
    voltage: np.ndarray
    frequency: np.ndarray
    poles: np.ndarray
    sideways: np.ndarray
    power: np.ndarray
    measured: np.ndarray
    facts: np.ndarray
    amps: np.ndarray


class Limits(NamedTuple):
    """The limits of the checks, by the names they have there."""

    same_rating: float
    current_over: float
    overvoltage: float
    least_reserve: float
    least_flow: float
    least_starting: float


class Best(NamedTuple):
    """The best motors of each unit, (units, BEST), number -1 where there is none.

    ``work`` is how much has to be adapted or found out, ``rating_number`` which of its ratings is
    used; ``figures`` (units, BEST, 10): amps low, mid, high, winding low, mid, high [degC], margin
    of the winding [K], reserve of torque, share of the airflow, volts across the capacitor.
    ``counts`` (units, 4): motors that fit, that fit with work, whose plain facts suit, that carry
    the load too.
    """

    motor: np.ndarray
    work: np.ndarray
    rating_number: np.ndarray
    figures: np.ndarray
    counts: np.ndarray

    @classmethod
    def none(cls, units: int) -> "Best":
        """Nothing found yet for so many units."""
        number = np.full((units, BEST), -1)
        work, counts = np.zeros((units, BEST), dtype=int), np.zeros((units, 4), dtype=int)
        return cls(number, work, work.copy(), np.full((units, BEST, 10), np.nan), counts)
