"""Equivalent circuits that agree with a nameplate, and their prior distributions.

A nameplate provides two equations, for current and power at rated slip, but about ten parameters
are unknown. None of the nameplate values is exact. True amps and true slip are therefore sampled
from their tolerances, and eight parameters are sampled from typical values for this type of motor.
The other two parameters, rotor resistance and magnetizing reactance, are solved for. Each sample is
weighted by the prior density of the solved pair. Amps at lower ratings and field readings provide
additional evidence. A motor with several ratings is identified at its highest rating, to which its
nameplate rpm applies. The result is an ensemble, so every quantity calculated from it has a range.

A single clamp-meter reading halves the range of the amps. A nameplate says nothing about
saturation, so the saturation remains uncertain. Leakage saturation is not modeled. X1 and X2 are
effective values between the running and locked-rotor values, with ranges wide enough to cover both.
`python -m tests.model.test_calibration` prints how often the 90 % ranges contain the true value for
three independent populations. One population includes effects that this model leaves out.

Below 150 V, different priors apply. A run capacitor of the usual 370 V class would be used at half
of its rated voltage if the turns ratio were the same as at 230 V. The turns ratio is usually chosen
so that the capacitor voltage is close to the capacitor's rated voltage (from a public web page on
motor capacitors). The capacitance at 115 V is then no higher than at 230 V, although a balanced
motor would need four times as much. The windings are less balanced, so the power factor is lower
and the amps are more than twice those at 230 V (common practice, no source: 5 to 7.5 uF, 370 V and
about 4 A for 1/4 hp at 115 V).

The priors are constants at the top of this module. The priors for impedances and losses are based
on engineering judgment and common practice, with no published source. The priors for nameplate
errors are based on:

- NEMA MG 1, 12.47: at rated voltage and power, input amps are within 10 % of the nameplate value
  (as quoted on public web pages, not checked against the standard). UL 1004-1: amps are at most 110
  % of the marked value (cited from memory, not verified).
- IEC 60034-1, table of tolerances: slip +-20 % (+-30 % below 1 kW), efficiency -15 % of (1 - eta)
  up to 150 kW, power factor -1/6 (1 - cos phi), locked-rotor current +20 %, breakdown torque -10 %,
  locked-rotor torque -15/+25 % (as quoted in a public gearmotor manual). NEMA MG 1, 12.46: slip
  +-20 % (as quoted by T. Bishop, "How Precise Are Motor Nameplate Ratings?", 2013).

Manufacturers print amps with a margin, so nameplate amps are more often too high than too low
(common practice; no published source). Speeds such as 1075 and 825 rpm are nominal values, not the
actual speed of a motor.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.errors import NOTHING, InputError
from airover.core.intervals import normal_draws, uniform
from airover.core.message import Message
from airover.physics.circuit import CapacitorRun, Saturation, Solution
from airover.physics.operating_point import NUDGE, MotorPoint, fan_coefficient, settle
from airover.records.nameplate import Nameplate


class Usual(NamedTuple):
    """Log-normal prior with median ``centre`` and standard deviation ``spread`` of the logarithm."""

    centre: float
    spread: float

    def at(self, deviates):
        return self.centre * np.exp(self.spread * deviates)

    def deviates(self, value):
        """Return the deviation of a positive value from the median, in standard deviations."""
        return np.log(np.maximum(value, np.finfo(float).tiny) / self.centre) / self.spread

    def log_density(self, value):
        """Return the log density of positive values, or the lowest float for other values."""
        return -0.5 * self.deviates(value) ** 2


class SupplyPriors(NamedTuple):
    """Priors that depend on the supply voltage.

    Attributes
    ----------
    turns_ratio : Usual
        Turns ratio for a capacitor voltage of 1.55 times the supply voltage. For other capacitor
        voltages, the ratio is scaled as in a motor with balanced windings.
    x_capacitor : Usual
        Reactance of the run capacitor / (rated volts / amps), if the microfarads are unreadable.
    product : Usual
        Efficiency times power factor, if the nameplate amps or power are unreadable.
    power_factor : Usual
        Power factor at the rating.
    voltage_capacitor : Usual
        Capacitor voltage / supply voltage at the rating.
    """

    turns_ratio: Usual
    x_capacitor: Usual
    product: Usual
    power_factor: Usual
    voltage_capacitor: Usual


USUAL_SUPPLY = SupplyPriors(
    turns_ratio=Usual(1.2, 0.18),
    x_capacitor=Usual(2.9, 0.20),
    product=Usual(0.53, 0.11),
    power_factor=Usual(0.92, 0.06),
    voltage_capacitor=Usual(1.55, 0.15),
)
LOW_SUPPLY = SupplyPriors(
    turns_ratio=Usual(1.2, 0.25),
    x_capacitor=Usual(13.0, 0.45),
    product=Usual(0.43, 0.16),
    power_factor=Usual(0.80, 0.12),
    voltage_capacitor=Usual(2.2, 0.20),
)
LOW_SUPPLY_BELOW = 150.0  # V

# Impedances divided by rated volts / amps.
R1 = Usual(0.12, 0.40)
X1 = Usual(0.108, 0.42)
X2_TO_X1 = Usual(1.0, 0.35)
R_AUX_TO_R1 = Usual(1.2, 0.30)  # both referred to the same number of turns
X_AUX_TO_X1 = Usual(1.0, 0.20)  # both referred to the same number of turns
R2_PER_SLIP = Usual(2.3, 0.30)  # rotor resistance is proportional to rated slip
XM = Usual(1.3, 0.35)
CORE_SHARE = Usual(0.10, 0.40)  # fraction of rated power
FRICTION_SHARE = Usual(0.015, 0.40)  # fraction of rated power
SLIP_RATED = Usual(0.10, 0.18)  # if the nameplate rpm is unreadable
BREAKDOWN_TORQUE = Usual(1.7, 0.22)  # divided by rated torque

# possible range of efficiency times power factor, calculated from printed values
PRODUCT_POSSIBLE = (0.2, 0.85)
# capacitor voltage / line voltage: below this, a main-winding tap feeds the capacitor
TAPPED_BELOW = 1.2
TAPPED_ABOVE = 300.0  # V: above this line voltage, a tap is possible

AMPS_PRINTED = Usual(1.02, 0.065)  # nameplate amps / true amps at the rating: 0.92 to 1.14
AMPS_ROUNDED = 0.029  # A: nameplate amps are printed to one decimal place
SLIP_PRINTED = Usual(0.97, 0.15)  # true slip / nameplate slip at the rating
SLIP_LEAST = 0.01
SKIN = (0.0, 0.2)  # fractional increase of cage resistance at line frequency
# typical capacitor voltage at the rating as a fraction of the marked voltage, if that is the limit
CAPACITOR_USED = 0.95
# fraction by which the capacitor voltage may exceed its marked voltage
CAPACITOR_VOLTAGE_READ = 0.04
SATURATION_SHARE = (0.05, 0.45)
SATURATION_EXPONENT = (4.0, 8.0)
SATURATION_KNEE = (0.80, 1.05)  # air-gap voltage at the rating / saturation voltage
TEMP_WINDING_PLATE = (70.0, 100.0)  # degC: nameplate values apply to the hot motor

# Assumed standard deviations of field readings, common practice.
CURRENT_METER = 0.015  # fraction
POWER_METER = 0.02  # fraction
VOLTAGE_METER = 0.01  # fraction of the capacitor voltage
TACHOMETER = 0.003  # fraction: about 3 rpm
THERMOMETER = 1.0  # K, in the airstream ahead of the motor


PROPOSALS_PER_SAMPLE = 4
PROPOSALS_PER_SAMPLE_MEASURED = 16  # only a few remain after an update with a reading
NOT_WORTH_WORKING = 12.0  # logarithm of a weight
BLOCK = 6000  # maximum number of proposals at a time, so that arrays fit in the processor cache


_DEVIATES = (
    "R1", "X1", "X2", "turns", "R_aux", "X_aux", "core", "friction", "current", "slip", "product",
    "capacitor", "share", "exponent", "knee", "temp", "skin", "tap",
)  # fmt: skip


class Point(NamedTuple):
    """Readings on the running motor, or nameplate amps at a lower rating.

    Values are numbers, or columns of shape (motors, 1) for an ensemble of several motors. A value
    that was not measured is None (or NaN for individual motors) and is ignored.

    Attributes
    ----------
    voltage : float
        Supply voltage [V].
    current : float or None
        Line current [A].
    power_in : float or None
        Input power [W].
    speed_rpm : float or None
        Speed [rpm].
    voltage_capacitor : float or None
        Capacitor voltage [V].
    coefficient : float or None
        Fan coefficient [N m s^2] during the reading, or None for the rated fan.
    printed : bool
        True for the nameplate amps at a lower rating (at rated voltage with the rated fan, with
        nameplate tolerance), False for meter readings.
    """

    voltage: float
    current: float | None = None
    power_in: float | None = None
    speed_rpm: float | None = None
    voltage_capacitor: float | None = None
    coefficient: float | None = None
    printed: bool = False

    def figures(self) -> dict:
        """Return the readings by name as arrays, with NaN for motors without a reading."""
        names = ("current", "power_in", "speed_rpm", "voltage_capacitor")
        read = {name: getattr(self, name) for name in names}
        return {k: np.asarray(x, dtype=float) for k, x in read.items() if x is not None}

    def rearranged(self, rearrange) -> "Point":
        """Return the point with ``rearrange``, a selection or reshape, applied to each array."""
        given = {k: x for k, x in self._asdict().items() if x is not None and k != "printed"}
        return self._replace(**{k: rearrange(np.asarray(x, float)) for k, x in given.items()})


@dataclass(frozen=True)
class Ratings:
    """Nameplate values in SI units, with one value per motor and NaN if unreadable.

    Attributes
    ----------
    voltage : ndarray
        Rated voltage [V].
    frequency : ndarray
        Rated frequency [Hz].
    poles : ndarray
        Number of poles.
    power : ndarray
        Output power [W].
    current : ndarray
        Full-load current [A].
    speed_rpm : ndarray
        Rated speed [rpm].
    capacitance : ndarray
        Capacitance [F] of the run capacitor.
    capacitor_voltage : ndarray
        Rated capacitor voltage [V].
    """

    voltage: np.ndarray
    frequency: np.ndarray
    poles: np.ndarray
    power: np.ndarray
    current: np.ndarray
    speed_rpm: np.ndarray
    capacitance: np.ndarray
    capacitor_voltage: np.ndarray

    def __post_init__(self):
        for field in self.__dataclass_fields__:
            value = np.atleast_1d(np.asarray(getattr(self, field), dtype=float))
            object.__setattr__(self, field, value)
        for needed in ("voltage", "frequency", "poles"):
            if np.any(np.isnan(getattr(self, needed))):
                accepted = Message("error.plate.needed")
                raise InputError(f"nameplate.{needed}", NOTHING, accepted)
        if np.any(np.isnan(self.power) & np.isnan(self.current)):
            given, accepted = Message("error.plate.neither"), Message("error.plate.one_of_two")
            raise InputError("nameplate", given, accepted)

    def part(self, rows) -> "Ratings":
        """Return the nameplates with the indices ``rows``."""
        return Ratings(**{name: getattr(self, name)[rows] for name in self.__dataclass_fields__})


@dataclass(frozen=True)
class Ensemble:
    """Equivalent circuits that agree with a nameplate.

    All arrays have the same shape, with samples along the last axis.

    Attributes
    ----------
    circuit : CapacitorRun
        Equivalent circuits.
    voltage : ndarray
        Rated voltage [V].
    power : ndarray
        Rated power [W] of each sample.
    speed_rpm : ndarray
        Rated speed [rpm] of each sample.
    temp_reference : ndarray
        Winding temperature [degC] to which the resistances apply.
    met : ndarray
        False if no circuit agrees with the nameplate. Typical circuits are then used instead.
    """

    circuit: CapacitorRun
    voltage: np.ndarray
    power: np.ndarray
    speed_rpm: np.ndarray
    temp_reference: np.ndarray
    met: np.ndarray

    @property
    def coefficient(self):
        """Coefficient [N m s^2] of the rated fan in each sample."""
        return fan_coefficient(self.power, self.speed_rpm)

    def at_rating(self) -> Solution:
        """Return the steady state at the nameplate rating."""
        frequency = self.circuit.frequency
        slip = 1 - self.speed_rpm * self.circuit.poles / (120 * frequency)
        return self.circuit.balance(self.voltage, frequency, slip)

    def settle(self, voltage) -> MotorPoint:
        """Return the operating points with the rated cube-law fan, shape (samples, voltages).

        ``voltage`` contains supply voltages [V], shape (voltages,). The ensemble must be for a
        single nameplate.
        """
        column = self.rearranged(lambda value: value[:, None])
        voltage = np.atleast_1d(np.asarray(voltage, dtype=float))
        circuit = column.circuit
        return settle(circuit, voltage, circuit.frequency, column.coefficient)

    def amps(self, voltage):
        """Return the line current [A] with the rated cube-law fan, shape (samples, voltages)."""
        return np.abs(self.settle(voltage).solution.current)

    def rearranged(self, rearrange) -> "Ensemble":
        """Return the samples with ``rearrange``, a selection or reshape, applied to each array."""
        figures = (self.voltage, self.power, self.speed_rpm, self.temp_reference, self.met)
        return Ensemble(self.circuit.rearranged(rearrange), *map(rearrange, figures))

    def replaced(self, row: int, other: "Ensemble") -> "Ensemble":
        """Return the circuits with those of one motor replaced by the ``other``, a single motor."""
        kept = np.arange(len(self.power)) != row
        values = []
        other.rearranged(values.append)
        rest = iter(values)
        return self.rearranged(lambda value: np.where(kept[:, None], value, next(rest)))


def from_nameplate(nameplate, draws=300, seed=0, measured=()) -> Ensemble:
    """Return an Ensemble of shape (draws,) for a nameplate.

    ``nameplate`` is a `records.Nameplate` or a mapping. The nameplate must give the voltage, either
    the power or the current, and either the number of poles or the speed. Other missing values are
    sampled. Each `Point` in ``measured`` updates the ensemble within the error of a field meter.
    The same seed gives the same samples. May raise InputError.
    """
    if not isinstance(nameplate, Nameplate):
        nameplate = Nameplate(**nameplate)
    found = ensemble(ratings_of(nameplate), draws, seed, measured)
    found = found.rearranged(lambda value: value[0])
    if not found.met.all():
        given, accepted = Message("error.plate.apart"), Message("error.plate.some_motor")
        raise InputError("nameplate", given, accepted)
    return found


def ratings_of(*nameplates: Nameplate) -> Ratings:
    """Return the numeric values on nameplates.

    The upper limit of a voltage range is used, because the nameplate amps apply at that voltage.
    """

    def of(name, read=lambda value: value.mid, otherwise=np.nan):
        values = (getattr(one, name) for one in nameplates)
        return [otherwise if value is None else read(value) for value in values]

    return Ratings(
        voltage=of("voltage", lambda value: value.high),
        frequency=of("frequency", otherwise=60.0),
        poles=of("pole_count", float),
        power=of("power"),
        current=of("current"),
        speed_rpm=of("speed_rpm"),
        capacitance=of("capacitor"),
        capacitor_voltage=of("capacitor_voltage"),
    )


def ensemble(ratings: Ratings, samples: int, seed=0, measured=()) -> Ensemble:
    """Return an Ensemble of shape (motors, samples).

    All motors use the same random deviates, so the samples of a motor do not depend on the other
    motors. Each `Point` in ``measured`` has one value per motor, or NaN for a motor without a
    reading.
    """
    motors = len(ratings.voltage)
    points = [point.rearranged(lambda x: np.broadcast_to(x, (motors, 1))) for point in measured]
    read = np.zeros(motors, dtype=bool)
    for point in points:
        if not point.printed:
            read |= _known(point)[:, 0]
    parts, order = [], []
    for per_sample, rows in (
        (PROPOSALS_PER_SAMPLE, np.flatnonzero(~read)),
        (PROPOSALS_PER_SAMPLE_MEASURED, np.flatnonzero(read)),
    ):
        proposals = samples * per_sample
        blocks = min(int(np.ceil(len(rows) * proposals / BLOCK)), len(rows))
        for part in np.array_split(rows, blocks) if len(rows) else ():
            order.append(part)
            few = [point.rearranged(lambda x, part=part: x[part]) for point in points]
            parts.append(_ensemble(ratings.part(part), samples, proposals, seed, few))
    return _stacked(parts, np.argsort(np.concatenate(order)))


def misses(solution: Solution, point: Point) -> dict:
    """Return the difference between a solution and each reading.

    The difference is expressed in standard deviations of the meter error, or of the nameplate value
    if ``printed`` is True. The difference is 0 if there is no reading.
    """
    amps = np.abs(solution.current)
    shown = {
        "current": (amps, CURRENT_METER),
        "power_in": (solution.power_in, POWER_METER),
        "voltage_capacitor": (np.abs(solution.voltage_capacitor), VOLTAGE_METER),
        "speed_rpm": (solution.speed_rpm, TACHOMETER),
    }
    away = {}
    for name, read in point.figures().items():
        value, deviation = shown[name]
        miss = (value / read - 1) / deviation
        if point.printed and name == "current":
            miss = AMPS_PRINTED.deviates(read / amps)
        away[name] = np.where(np.isnan(read), 0.0, miss)
    return away


def resample(log_weight, samples: int):
    """Return the indices of the samples to keep, shape (motors, samples).

    Systematic resampling by weight is used.
    """
    best = log_weight.max(axis=1, keepdims=True)
    weight = _tempered(log_weight - best, samples / 8)
    cumulative = np.cumsum(weight, axis=1)
    cumulative /= cumulative[:, -1:]
    positions = (np.arange(samples) + 0.5) / samples
    return np.stack([np.searchsorted(row, positions) for row in cumulative])


def _ensemble(ratings: Ratings, samples: int, proposals: int, seed, measured) -> Ensemble:
    """Return the ensemble of a few motors."""
    proposal, weight = _propose(ratings, proposals, seed)
    for point in measured:
        weight = _weighed(weight, proposal, point)
    chosen = resample(weight, samples)
    return proposal.rearranged(lambda value: np.take_along_axis(value, chosen, axis=1))


def _stacked(parts: list[Ensemble], order) -> Ensemble:
    """Return all motors as a single ensemble, in the given order."""
    columns = []
    for part in parts:
        columns.append([])
        part.rearranged(columns[-1].append)
    joined = iter([np.concatenate(same)[order] for same in zip(*columns, strict=True)])
    return parts[0].rearranged(lambda value: next(joined))


def _known(point: Point):
    """Return True for motors with at least one reading, shape (motors, 1)."""
    read = [~np.isnan(value) for value in point.figures().values()]
    return np.any(read, axis=0) if read else np.zeros(np.shape(point.voltage), dtype=bool)


class _Drawn(NamedTuple):
    """Sampled true values of nameplate entries, as arrays of shape (motors, proposals)."""

    voltage: np.ndarray
    current: np.ndarray
    power: np.ndarray
    slip: np.ndarray
    capacitance: np.ndarray
    tap: np.ndarray


def _propose(ratings: Ratings, proposals: int, seed):
    """Return circuits that agree with the nameplate, and their weights."""
    z = normal_draws(np.random.default_rng(seed), _DEVIATES, proposals)
    drawn = _drawn(ratings, z)
    start = _start(ratings, drawn, z)
    circuit, log_weight = _solve_pair(start, drawn)
    rated = circuit.balance(drawn.voltage, circuit.frequency, drawn.slip)
    log_weight += _log_usual(circuit, drawn, rated, ratings)
    met = np.isfinite(log_weight).any(axis=1, keepdims=True) & _possible(ratings)
    R2, Xm = np.where(met, circuit.R2, start.R2), np.where(met, circuit.Xm, start.Xm)
    rated_emf = np.where(met, rated.emf, 0.8 * drawn.voltage)

    saturation = Saturation(
        uniform(SATURATION_SHARE, z["share"]),
        uniform(SATURATION_EXPONENT, z["exponent"]),
        rated_emf / uniform(SATURATION_KNEE, z["knee"]),
    )
    # The pair was solved for with the saturated reactance at the rating.
    unsaturated = Xm * saturation.factor(rated_emf)
    circuit = circuit.changed(R2=R2, Xm=unsaturated, **saturation._asdict())
    shape = drawn.voltage.shape

    def full(value):
        return np.broadcast_to(value, shape)

    speed_rpm = (1 - drawn.slip) * _synchronous_rpm(ratings)
    temp = uniform(TEMP_WINDING_PLATE, z["temp"])
    proposal = Ensemble(circuit, drawn.voltage, drawn.power, speed_rpm, temp, met).rearranged(full)
    return proposal, np.where(met, log_weight, 0.0)


def _possible(ratings: Ratings):
    """Return True for motors with consistent amps and horsepower, as a column."""
    product = ratings.power / (ratings.voltage * ratings.current)
    low, high = PRODUCT_POSSIBLE
    return (np.isnan(product) | ((low < product) & (product < high)))[:, None]


def _synchronous_rpm(ratings: Ratings):
    """Return the synchronous speed [rpm] as a column with one row per motor."""
    return 120 * ratings.frequency[:, None] / ratings.poles[:, None]


def _drawn(ratings: Ratings, z) -> _Drawn:
    """Return sampled true values of nameplate entries and typical values for missing entries."""
    usual = _supply_priors(ratings)
    product = usual.product.at(z["product"])
    voltage, printed, power, capacitance = (
        np.broadcast_to(getattr(ratings, k)[:, None], product.shape)
        for k in ("voltage", "current", "power", "capacitance")
    )
    over = AMPS_PRINTED
    spread = np.hypot(over.spread, AMPS_ROUNDED / printed)
    current = printed / (over.centre * np.exp(spread * z["current"]))
    current = np.where(np.isnan(printed), power / (voltage * product), current)
    power = np.where(np.isnan(power), voltage * current * product, power)

    synchronous = _synchronous_rpm(ratings)
    printed_slip = np.maximum(1 - ratings.speed_rpm[:, None] / synchronous, SLIP_LEAST)
    slip = np.where(
        np.isnan(printed_slip),
        SLIP_RATED.at(z["slip"]),
        printed_slip * SLIP_PRINTED.at(z["slip"]),
    )

    x_capacitor = usual.x_capacitor.at(z["capacitor"]) * voltage / current
    tap = _tap(ratings, z)
    sampled = 1 / (2 * np.pi * ratings.frequency[:, None] * x_capacitor * tap**2)
    capacitance = np.where(np.isnan(capacitance), sampled, capacitance)
    return _Drawn(voltage, current, power, slip, capacitance, tap)


def _supply_priors(ratings: Ratings) -> SupplyPriors:
    """Return the priors that apply to each motor, as columns."""
    low = (ratings.voltage < LOW_SUPPLY_BELOW)[:, None]
    pairs = zip(LOW_SUPPLY, USUAL_SUPPLY, strict=True)
    return SupplyPriors(*(Usual(*(np.where(low, *ends) for ends in zip(*pair))) for pair in pairs))


def _tap(ratings: Ratings, z):
    """Return the fraction of the line voltage across the auxiliary winding, 0.5 or 1.

    The fraction is 0.5 (center tap on the main winding) if the capacitor cannot withstand the full
    line voltage. If the capacitor voltage is not known and the line voltage is high, each sample is
    assigned one of the two connections.
    """
    over_line = (ratings.capacitor_voltage / ratings.voltage)[:, None]
    high = (ratings.voltage > TAPPED_ABOVE)[:, None]
    tapped = np.where(np.isnan(over_line), high & (z["tap"] > 0), over_line < TAPPED_BELOW)
    return np.where(tapped, 0.5, 1.0)


def _over_line(ratings: Ratings, drawn: _Drawn):
    """Return the typical ratio of capacitor voltage to auxiliary circuit voltage at the rating.

    The actual capacitor voltage is less than the capacitor's rated voltage.
    """
    marked = ratings.capacitor_voltage[:, None] / (drawn.voltage * drawn.tap)
    usual = _supply_priors(ratings).voltage_capacitor.centre
    return np.clip(CAPACITOR_USED * np.nan_to_num(marked, nan=np.inf), 1.1, usual)


def _start(ratings: Ratings, drawn: _Drawn, z) -> CapacitorRun:
    """Return circuits with eight sampled parameters and typical values for the other two."""
    base = drawn.voltage / drawn.current
    quadrature = np.sqrt(_over_line(ratings, drawn) ** 2 - 1)  # for balanced windings
    usual = np.sqrt(USUAL_SUPPLY.voltage_capacitor.centre**2 - 1)
    a = _supply_priors(ratings).turns_ratio.at(z["turns"]) * drawn.tap * quadrature / usual
    per_ohm = R1.at(z["R1"])
    leakage = X1.at(z["X1"])
    speed = (1 - drawn.slip) * _synchronous_rpm(ratings) * np.pi / 30
    return CapacitorRun(
        poles=ratings.poles[:, None],
        frequency=ratings.frequency[:, None],
        R1=per_ohm * base,
        X1=leakage * base,
        R2=R2_PER_SLIP.centre * drawn.slip * base,
        X2=X2_TO_X1.at(z["X2"]) * leakage * base,
        Xm=XM.centre * base,
        turns_ratio=a,
        R_aux=R_AUX_TO_R1.at(z["R_aux"]) * a**2 * per_ohm * base,
        X_aux=X_AUX_TO_X1.at(z["X_aux"]) * a**2 * leakage * base,
        capacitance=drawn.capacitance,
        core_conductance=CORE_SHARE.at(z["core"]) * drawn.power / drawn.voltage**2,
        friction=FRICTION_SHARE.at(z["friction"]) * drawn.power / speed**2,
        skin=uniform(SKIN, z["skin"]),
        tap=drawn.tap,
    )


def _solve_pair(circuit: CapacitorRun, drawn: _Drawn, steps=12):
    """Solve for rotor resistance and magnetizing reactance from rated current and power.

    The equations apply at rated slip and are solved with Newton's method in terms of logarithms,
    with steps limited to a factor of 1.6. Converged cases are not iterated further. Returns the
    circuits and the logarithms of their weights, which are the negative logarithm of the absolute
    Jacobian, or minus infinity if no solution was found.
    """
    nudge = 1e-6
    shape = drawn.voltage.shape

    def flat(value):
        return np.broadcast_to(value, shape).ravel()

    whole = circuit.rearranged(flat)
    targets = np.stack([flat(x) for x in (drawn.voltage, drawn.slip, drawn.current, drawn.power)])
    solution = np.log(np.stack([whole.R2, whole.Xm]))
    determinants, misses = np.ones(whole.shape), np.full(whole.shape, np.inf)
    left = np.arange(len(misses))
    for _ in range(steps):
        some = whole.rearranged(lambda value, left=left: value[left])
        x = solution[:, left]
        here = _miss(some, targets[:, left], *x)
        aside = _miss(some, targets[:, left], x[0] + nudge, x[1])
        above = _miss(some, targets[:, left], x[0], x[1] + nudge)
        by_R2, by_Xm = (aside - here) / nudge, (above - here) / nudge
        determinant = by_R2[0] * by_Xm[1] - by_Xm[0] * by_R2[1]
        misses[left], determinants[left] = np.hypot(*here), determinant
        safe = np.where(np.abs(determinant) < 1e-9, 1e-9, determinant)
        step_R2 = (by_Xm[0] * here[1] - by_Xm[1] * here[0]) / safe
        step_Xm = (by_R2[1] * here[0] - by_R2[0] * here[1]) / safe
        step = np.clip([step_R2, step_Xm], -0.5, 0.5)
        solution[:, left] = np.clip(x + step, -5, 12)
        left = left[misses[left] > 1e-5]  # the last step squares the residual
        if not len(left):
            break

    R2, Xm = np.exp(solution.reshape(2, *shape))
    weight = np.where(misses < 1e-5, -np.log(np.abs(determinants) + 1e-300), -np.inf)
    return circuit.changed(R2=R2, Xm=Xm), weight.reshape(shape)


def _miss(circuit: CapacitorRun, targets, log_R2, log_Xm):
    """Return the log ratios of current and power to their targets, shape (2, cases)."""
    voltage, slip, current, power = targets
    trial = circuit.changed(R2=np.exp(log_R2), Xm=np.exp(log_Xm))
    at = trial.balance(voltage, circuit.frequency, slip)
    ratio = np.maximum(at.power_out / power, 1e-3)
    return np.log(np.stack([np.abs(at.current) / current, ratio]))


def _log_usual(circuit: CapacitorRun, drawn: _Drawn, rated: Solution, ratings: Ratings):
    """Return the log prior density of the solved circuits.

    The priors apply to the solved pair, the power factor, the breakdown torque and the capacitor
    voltage. The rated voltage of a capacitor is at least as high as its actual voltage at the
    rating, so a circuit with a capacitor voltage above the nameplate or catalog value is ruled out.
    """
    base = drawn.voltage / drawn.current
    supply = _supply_priors(ratings)
    breakdown = _breakdown_torque(circuit, drawn.voltage, circuit.frequency)
    beyond = circuit.balance(drawn.voltage, circuit.frequency, drawn.slip * 1.01).torque
    power_factor = rated.power_in / (drawn.voltage * np.abs(rated.current))
    voltage_capacitor = np.abs(rated.voltage_capacitor)
    excess = np.maximum(np.log(voltage_capacitor / ratings.capacitor_voltage[:, None]), 0.0)
    usual = (
        R2_PER_SLIP.log_density(circuit.R2 / (base * drawn.slip))
        + XM.log_density(circuit.Xm / base)
        + supply.power_factor.log_density(power_factor)
        + BREAKDOWN_TORQUE.log_density(breakdown / rated.torque)
        + Usual(_over_line(ratings, drawn), supply.voltage_capacitor.spread).log_density(
            voltage_capacitor / (drawn.voltage * drawn.tap)
        )
        - 0.5 * np.nan_to_num(excess / CAPACITOR_VOLTAGE_READ) ** 2  # zero if no value is given
    )
    return np.where(beyond > rated.torque, usual, -np.inf)  # stable side of breakdown


def _breakdown_torque(circuit: CapacitorRun, voltage, frequency):
    """Return the maximum shaft torque [N m] over five slips from full load to standstill."""
    slips = (0.15, 0.2, 0.27, 0.36, 0.5)
    return np.max([circuit.balance(voltage, frequency, slip).torque for slip in slips], axis=0)


def _weighed(log_weight, proposal: Ensemble, point: Point):
    """Return the weights after an update with a reading.

    Meter or nameplate errors are included. The weights of motors without a reading do not change.
    """
    known = _known(point)
    worth = known & (log_weight > log_weight.max(axis=1, keepdims=True) - NOT_WORTH_WORKING)
    if not worth.any():
        return log_weight

    def picked(value):
        return np.broadcast_to(value, worth.shape)[worth]

    some, read = proposal.rearranged(picked), point.rearranged(picked)
    fan = some.coefficient
    if read.coefficient is not None:
        fan = np.where(np.isnan(read.coefficient), fan, read.coefficient)
    run = _lighter if point.printed else _settled
    log_likelihood = -0.5 * sum(
        miss**2 for miss in misses(run(some, read.voltage, fan), read).values()
    )
    weighed = np.where(known, -np.inf, log_weight)
    weighed[worth] = log_weight[worth] + log_likelihood
    return weighed


def _settled(rated: Ensemble, voltage, fan) -> Solution:
    return settle(rated.circuit, voltage, rated.circuit.frequency, fan).solution


def _lighter(rated: Ensemble, voltage, fan) -> Solution:
    """Return the steady state with a lighter fan load near the rated voltage.

    Newton's method starts at rated slip. Slip and saturation are updated together. After seven
    steps the error is less than 1e-4.
    """
    circuit, frequency = rated.circuit, rated.circuit.frequency
    synchronous = 4 * np.pi * frequency / circuit.poles
    slip = 1 - rated.speed_rpm * np.pi / 30 / synchronous
    slip = slip * np.minimum(fan / rated.coefficient, 1.0)
    level = np.log(circuit.saturation.emf_rated)
    for _ in range(7):
        straight = circuit.at_level(np.exp(level))
        at, beside = (straight.balance(voltage, frequency, s) for s in (slip, slip + NUDGE))
        surplus = at.torque - fan * ((1 - slip) * synchronous) ** 2
        slope = (beside.torque - at.torque) / NUDGE + 2 * fan * (1 - slip) * synchronous**2
        slip = np.clip(slip - surplus / np.where(slope == 0, 1.0, slope), 0.001, 0.5)
        level = level + (np.log(at.emf) - level) / 1.5
    return at


def _tempered(log_weight, effective):
    """Return weights, tempered to an effective sample size of about ``effective`` per motor.

    With an unusual nameplate, a few proposals outweigh all the others. Without tempering, the range
    would be based on perhaps three circuits and would be narrow, even though the uncertainty is
    large.
    """
    power = np.ones((len(log_weight), 1))
    for _ in range(12):
        weight = np.exp(power * log_weight)
        counting = weight.sum(axis=1) ** 2 / (weight**2).sum(axis=1)
        power = np.where(counting[:, None] < effective, power / 1.5, power)
    return np.exp(power * log_weight)
