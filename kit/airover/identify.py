"""From a nameplate to the circuits that could be behind it.

A plate gives two equations (current and power at the rated slip) for about ten unknowns. So we
draw eight of them from what such motors usually have, solve the other two (rotor resistance and
magnetising reactance) exactly, and weigh each draw by how usual the solved pair is. What is left
is an ensemble: every figure taken from it has a band. What is usual stands in ``priors``.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover import priors
from airover.bands import normal_draws, uniform
from airover.errors import InputError
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.operating_point import OperatingPoint, fan_coefficient, settle
from airover.physics.saturation import Saturation
from airover.records import Nameplate

PROPOSALS_PER_DRAW = 4
PROPOSALS_PER_DRAW_MEASURED = 16  # a reading leaves few of them over
NOT_WORTH_WORKING = 12.0  # in the logarithm of a weight


class Point(NamedTuple):
    """One set of readings on the running motor at ``voltage`` [V]; what was not read is None.

    ``current`` [A] in the line, ``power_in`` [W], ``speed_rpm``, ``voltage_capacitor`` [V];
    ``coefficient`` [N m s^2] of the fan it was read on, None for the fan of its rating. Numbers,
    or columns of shape (motors, 1) where an ensemble is of several motors.
    """

    voltage: float
    current: float | None = None
    power_in: float | None = None
    speed_rpm: float | None = None
    voltage_capacitor: float | None = None
    coefficient: float | None = None
    printed: bool = False


@dataclass(frozen=True)
class Plate:
    """What plates say, in SI: one value per motor, NaN where it cannot be read.

    voltage [V], frequency [Hz], poles, power [W], current [A], speed_rpm, capacitance [F] and the
    voltage [V] that the capacitor is made for.
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
                raise InputError(f"nameplate.{needed}", "nothing", "a value from the plate")
        if np.any(np.isnan(self.power) & np.isnan(self.current)):
            raise InputError("nameplate", "neither power nor current", "at least one of the two")


@dataclass(frozen=True)
class Ensemble:
    """Circuits that agree with a plate; every array has the same shape, draws on the last axis.

    ``voltage`` [V], ``power`` [W] and ``speed_rpm`` are the rated ones of each draw;
    ``temp_reference`` [degC] is the winding temperature at which the circuit's resistances hold.
    ``met`` is False for a motor whose plate no such circuit can meet: usual ones stand in then.
    """

    circuit: CapacitorRun
    voltage: np.ndarray
    power: np.ndarray
    speed_rpm: np.ndarray
    temp_reference: np.ndarray
    met: np.ndarray

    @property
    def coefficient(self):
        """Fan coefficient [N m s^2] of the rated fan of each draw."""
        return fan_coefficient(self.power, self.speed_rpm)

    def at_rating(self) -> Solution:
        """The steady state that the plate states."""
        frequency = self.circuit.frequency
        slip = 1 - self.speed_rpm * self.circuit.poles / (120 * frequency)
        return self.circuit.balance(self.voltage, frequency, slip)

    def settle(self, voltage) -> OperatingPoint:
        """Draws (of one plate) x voltages [V, shape (n,)] on the rated cube-law fan."""
        column = self.rearranged(lambda value: value[:, None])
        voltage = np.atleast_1d(np.asarray(voltage, dtype=float))
        circuit = column.circuit
        return settle(circuit, voltage, circuit.frequency, column.coefficient)

    def amps(self, voltage):
        """Line current [A], draws x voltages, on the rated cube-law fan."""
        return np.abs(self.settle(voltage).solution.current)

    def rearranged(self, rearrange) -> "Ensemble":
        """The same draws in other arrays: ``rearrange`` picks from, or reshapes, each of them."""
        figures = (self.voltage, self.power, self.speed_rpm, self.temp_reference, self.met)
        return Ensemble(self.circuit.rearranged(rearrange), *map(rearrange, figures))


def from_nameplate(nameplate, draws=300, seed=0, measured=()) -> Ensemble:
    """Ensemble of shape (draws,) for one ``records.Nameplate`` (or a mapping that makes one).

    Volts, and power or current, and poles or speed must be there; the rest may be missing and
    is then drawn too. Each ``Point`` in ``measured`` narrows the ensemble to what agrees with it
    as far as a meter in the field can tell. The same seed gives the same draws. Raises
    InputError.
    """
    if not isinstance(nameplate, Nameplate):
        nameplate = Nameplate(**nameplate)
    found = ensemble(plate_of(nameplate), draws, seed, measured)
    found = found.rearranged(lambda value: value[0])
    if not found.met.all():
        given = "volts, amps, power, speed and microfarads that do not go together"
        raise InputError("nameplate", given, "what some capacitor-run motor could have")
    return found


def plate_of(nameplate: Nameplate) -> Plate:
    """The numbers of one nameplate; a voltage range counts at its upper end, where amps hold."""

    def mid(amount):
        return np.nan if amount is None else amount.mid

    return Plate(
        voltage=np.nan if nameplate.voltage is None else nameplate.voltage.high,
        frequency=60.0 if nameplate.frequency is None else nameplate.frequency.mid,
        poles=np.nan if nameplate.pole_count is None else nameplate.pole_count,
        power=mid(nameplate.power),
        current=mid(nameplate.current),
        speed_rpm=mid(nameplate.speed_rpm),
        capacitance=mid(nameplate.capacitor),
        capacitor_voltage=mid(nameplate.capacitor_voltage),
    )


def ensemble(plate: Plate, draws: int, seed=0, measured=()) -> Ensemble:
    """Ensemble of shape (motors, draws); each motor sees the same deviates, in one pass."""
    per_draw = PROPOSALS_PER_DRAW_MEASURED if measured else PROPOSALS_PER_DRAW
    proposal, weight = _propose(plate, draws * per_draw, seed)
    for point in measured:
        weight = _weighed(weight, proposal, point)
    chosen = resample(weight, draws)
    return proposal.rearranged(lambda value: np.take_along_axis(value, chosen, axis=1))


class _Drawn(NamedTuple):
    """A plate with its gaps filled and its readings scattered; arrays (motors, proposals)."""

    voltage: np.ndarray
    current: np.ndarray
    power: np.ndarray
    slip: np.ndarray
    capacitance: np.ndarray


_DEVIATES = (
    "R1", "X1", "X2", "turns", "R_aux", "X_aux", "core", "friction", "current", "slip", "product",
    "capacitor", "share", "exponent", "knee", "temp",
)  # fmt: skip


def _propose(plate: Plate, proposals: int, seed):
    """Circuits that meet the plate, and the weight of each."""
    z = normal_draws(np.random.default_rng(seed), _DEVIATES, proposals)
    drawn = _drawn(plate, z)
    start = _start(plate, drawn, z)
    circuit, log_weight = _solve_pair(start, drawn)
    log_weight += _log_usual(circuit, drawn, plate.capacitor_voltage[:, None])
    met = np.isfinite(log_weight).any(axis=1, keepdims=True)
    circuit = replace(
        circuit, R2=np.where(met, circuit.R2, start.R2), Xm=np.where(met, circuit.Xm, start.Xm)
    )

    rated = circuit.balance(drawn.voltage, circuit.frequency, drawn.slip)
    saturation = Saturation(
        uniform(priors.SATURATION_SHARE, z["share"]),
        uniform(priors.SATURATION_EXPONENT, z["exponent"]),
        rated.emf / uniform(priors.SATURATION_KNEE, z["knee"]),
    )
    # The pair was solved with the reactance as it is at the rating, saturated.
    unsaturated = circuit.Xm * saturation.factor(rated.emf)
    circuit = replace(circuit, Xm=unsaturated, saturation=saturation)
    shape = drawn.voltage.shape

    def full(value):
        return np.broadcast_to(value, shape)

    speed_rpm = (1 - drawn.slip) * _synchronous_rpm(plate)
    temp = uniform(priors.TEMP_WINDING_PLATE, z["temp"])
    proposal = Ensemble(circuit, drawn.voltage, drawn.power, speed_rpm, temp, met).rearranged(full)
    return proposal, np.where(met, log_weight, 0.0)


def _synchronous_rpm(plate: Plate):
    """Field speed [rpm], a column: one row per motor."""
    return 120 * plate.frequency[:, None] / plate.poles[:, None]


def _drawn(plate: Plate, z) -> _Drawn:
    """Scatter what the plate says and draw what it does not say."""
    product = priors.EFFICIENCY_TIMES_POWER_FACTOR.at(z["product"])
    voltage, current, power, capacitance = (
        np.broadcast_to(getattr(plate, k)[:, None], (len(plate.voltage), len(product)))
        for k in ("voltage", "current", "power", "capacitance")
    )
    current = np.where(np.isnan(current), power / (voltage * product), current)
    power = np.where(np.isnan(power), voltage * current * product, power)
    current_read = np.hypot(priors.CURRENT_MADE, priors.AMPS_ROUNDED / current)
    current = current * np.exp(current_read * z["current"])

    synchronous = _synchronous_rpm(plate)
    slip_read = 1 - (plate.speed_rpm[:, None] + priors.SPEED_READ * z["slip"]) / synchronous
    usual = priors.SLIP_RATED.at(z["slip"])
    slip = np.where(np.isnan(slip_read), usual, np.maximum(slip_read, 0.01))

    x_capacitor = priors.X_CAPACITOR.at(z["capacitor"]) * voltage / current
    usual = 1 / (2 * np.pi * plate.frequency[:, None] * x_capacitor)
    capacitance = np.where(np.isnan(capacitance), usual, capacitance)
    return _Drawn(voltage, current, power, slip, capacitance)


def _start(plate: Plate, drawn: _Drawn, z) -> CapacitorRun:
    """Circuits with the eight drawn values and usual ones for the two that are to be solved."""
    base = drawn.voltage / drawn.current
    a = priors.TURNS_RATIO.at(z["turns"])
    per_ohm = priors.R1.at(z["R1"])
    leakage = priors.X1.at(z["X1"])
    speed = (1 - drawn.slip) * _synchronous_rpm(plate) * np.pi / 30
    return CapacitorRun(
        poles=plate.poles[:, None],
        frequency=plate.frequency[:, None],
        R1=per_ohm * base,
        X1=leakage * base,
        R2=priors.R2_PER_SLIP.centre * drawn.slip * base,
        X2=priors.X2_TO_X1.at(z["X2"]) * leakage * base,
        Xm=priors.XM.centre * base,
        turns_ratio=a,
        R_aux=priors.R_AUX_TO_R1.at(z["R_aux"]) * a**2 * per_ohm * base,
        X_aux=priors.X_AUX_TO_X1.at(z["X_aux"]) * a**2 * leakage * base,
        capacitance=drawn.capacitance,
        core_conductance=priors.CORE_SHARE.at(z["core"]) * drawn.power / drawn.voltage**2,
        friction=priors.FRICTION_SHARE.at(z["friction"]) * drawn.power / speed**2,
    )


def _solve_pair(circuit: CapacitorRun, drawn: _Drawn, steps=12):
    """Rotor resistance and magnetising reactance that meet current and power at rated slip.

    Newton in logarithms with steps held to a factor of 1.6. Returns the circuits and the
    logarithm of their weight so far: 1/|Jacobian|, and minus infinity where no pair was found.
    """
    nudge = 1e-6

    def miss(log_R2, log_Xm):
        trial = replace(circuit, R2=np.exp(log_R2), Xm=np.exp(log_Xm))
        at = trial.balance(drawn.voltage, circuit.frequency, drawn.slip)
        ratio = np.maximum(at.power_out / drawn.power, 1e-3)
        return np.log(np.abs(at.current) / drawn.current), np.log(ratio)

    x = np.log(circuit.R2), np.log(circuit.Xm)
    for _ in range(steps):
        current, power = miss(*x)
        current_R2, power_R2 = (b - a for a, b in zip((current, power), miss(x[0] + nudge, x[1])))
        current_Xm, power_Xm = (b - a for a, b in zip((current, power), miss(x[0], x[1] + nudge)))
        determinant = (current_R2 * power_Xm - current_Xm * power_R2) / nudge**2
        safe = np.where(np.abs(determinant) < 1e-9, 1e-9, determinant) * nudge
        step_R2 = (current_Xm * power - power_Xm * current) / safe
        step_Xm = (power_R2 * current - current_R2 * power) / safe
        x = x[0] + np.clip(step_R2, -0.5, 0.5), x[1] + np.clip(step_Xm, -0.5, 0.5)
        x = np.clip(x[0], -5, 12), np.clip(x[1], -5, 12)

    met = np.hypot(*miss(*x)) < 1e-8
    weight = np.where(met, -np.log(np.abs(determinant) + 1e-300), -np.inf)
    return replace(circuit, R2=np.exp(x[0]), Xm=np.exp(x[1])), weight


def _log_usual(circuit: CapacitorRun, drawn: _Drawn, capacitor_made_for):
    """How usual the solved circuit is: its pair, power factor, breakdown, capacitor voltage.

    A capacitor is chosen for at least the voltage that it sees at the rating, so a circuit with
    more across it than the plate's (or catalogue's) figure is not the one behind this plate.
    """
    base = drawn.voltage / drawn.current
    at = circuit.balance(drawn.voltage, circuit.frequency, drawn.slip)
    slips = np.array([0.15, 0.2, 0.27, 0.36, 0.5])[:, None, None] * np.ones_like(drawn.slip)
    breakdown = circuit.balance(drawn.voltage, circuit.frequency, slips).torque.max(axis=0)
    beyond = circuit.balance(drawn.voltage, circuit.frequency, drawn.slip * 1.01).torque
    power_factor = at.power_in / (drawn.voltage * np.abs(at.current))
    voltage_capacitor = np.abs(at.voltage_capacitor)
    excess = np.maximum(np.log(voltage_capacitor / capacitor_made_for), 0.0)
    usual = (
        priors.R2_PER_SLIP.log_density(circuit.R2 / (base * drawn.slip))
        + priors.XM.log_density(circuit.Xm / base)
        + priors.POWER_FACTOR.log_density(power_factor)
        + priors.BREAKDOWN_TORQUE.log_density(breakdown / at.torque)
        + priors.VOLTAGE_CAPACITOR.log_density(voltage_capacitor / drawn.voltage)
        - 0.5 * np.nan_to_num(excess / priors.CAPACITOR_VOLTAGE_READ) ** 2  # no figure: 0
    )
    return np.where(beyond > at.torque, usual, -np.inf)  # only on the stable side of breakdown


def _weighed(log_weight, proposal: Ensemble, point: Point):
    """The weights after a reading: normal errors of the meters on what each proposal would show."""
    worth = log_weight > log_weight.max(axis=1, keepdims=True) - NOT_WORTH_WORKING

    def picked(value):
        if value is None or isinstance(value, bool):
            return value
        return np.broadcast_to(value, worth.shape)[worth]

    some, read = proposal.rearranged(picked), Point(*map(picked, point))
    fan = some.coefficient if read.coefficient is None else read.coefficient
    fan = np.where(np.isnan(fan), some.coefficient, fan)
    at = settle(some.circuit, read.voltage, some.circuit.frequency, fan).solution
    log_likelihood = -0.5 * sum(miss**2 for miss in misses(at, read).values())
    weighed = np.full_like(log_weight, -np.inf)
    weighed[worth] = log_weight[worth] + log_likelihood
    return weighed


def misses(solution: Solution, point: Point) -> dict:
    """How far ``solution`` lies from each figure read at ``point``, in deviations of the meter."""
    shown = {
        "current": (np.abs(solution.current), priors.CURRENT_METER),
        "power_in": (solution.power_in, priors.POWER_METER),
        "voltage_capacitor": (np.abs(solution.voltage_capacitor), priors.VOLTAGE_METER),
        "speed_rpm": (solution.speed_rpm, priors.TACHOMETER),
    }
    return {
        name: np.nan_to_num(value / getattr(point, name) - 1) / deviation
        for name, (value, deviation) in shown.items()
        if getattr(point, name) is not None
    }


def resample(log_weight, draws: int):
    """Numbers of those that stay, (motors, ``draws``): systematic resampling by weight."""
    best = log_weight.max(axis=1, keepdims=True)
    weight = _tempered(log_weight - best, draws / 8)
    cumulative = np.cumsum(weight, axis=1)
    cumulative /= cumulative[:, -1:]
    positions = (np.arange(draws) + 0.5) / draws
    return np.stack([np.searchsorted(row, positions) for row in cumulative])


def _tempered(log_weight, effective):
    """Weights, flattened per motor until at least about ``effective`` proposals count.

    An unusual plate leaves a few proposals that outweigh all others; a band of three circuits
    would look certain where we know least.
    """
    power = np.ones((len(log_weight), 1))
    for _ in range(12):
        weight = np.exp(power * log_weight)
        counting = weight.sum(axis=1) ** 2 / (weight**2).sum(axis=1)
        power = np.where(counting[:, None] < effective, power / 1.5, power)
    return np.exp(power * log_weight)
