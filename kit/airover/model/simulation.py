"""Simulation of catalog motors and the failed motor with the fan of a job.

All results for a motor with a fan come from this simulation. Jobs, counter lists, stock lists,
lessons, the web page, documents and worksheets display the same numbers;
tests/project/test_one_motor.py checks that they do. The operating point is the first stable
intersection of motor torque and fan torque from standstill, with resistances at the node
temperatures. All motors, including the failed motor, use the same 100 samples of fan, air and
supply, so differences between motors are not due to chance.

Arrays have shape (voltages, motors, samples) for the lowest, usual and highest supply voltage. Each
motor is also evaluated at its lowest rated voltage. The simulation covers only the steady state.
Acceleration time, gusts and a windmilling fan are not modeled.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import islice
from typing import NamedTuple

import numpy as np

from airover.core.cache import code_hash, key_of, load, save
from airover.core.intervals import Band
from airover.model import identify
from airover.model.conditions import (
    Conditions,
    as_printed,
    completed,
    site_conditions,
    voltage_limits,
)
from airover.model.cooling import AirStream, Body, Shell, Warm, at_temperature, warmed
from airover.model.identify import Ensemble, Point, Ratings
from airover.physics import compiled
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.compiled import quickest
from airover.physics.operating_point import fan_coefficient
from airover.physics.thermal_network import Nodes
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.records.nameplate import Nameplate

SAMPLES = 100  # number of Monte Carlo samples for all motors and documents
LOW, USUAL, HIGH = 0, 1, 2  # indices on the voltage axis
SLIP_RUNNING = 0.30  # a motor with more slip is crawling
# fractions of the rated voltage; a motor is not simulated outside this range
ABLE_TO_RUN = (0.75, 1.25)
MOST_KNOWN = 1000  # identified motors kept in memory, 40 kB each
RUNNING_UP = np.array([0.1, 0.15, 0.2, 0.27, 0.36, 0.5])  # slips around breakdown


class Identified(NamedTuple):
    """Equivalent circuits at the rating and thermal networks of motors.

    Arrays have shape (motors, samples).
    """

    rated: Ensemble
    shell: Shell

    def picked(self, which) -> "Identified":
        """Return selected motors, given an index, a slice or an array of indices."""
        shape = self.rated.power.shape

        def part(value):
            return np.broadcast_to(value, shape)[which]

        return Identified(self.rated.rearranged(part), self.shell.rearranged(part))

    def and_then(self, *others: "Identified") -> "Identified":
        """Return these motors, followed by the ``others``."""
        shapes = [one.rated.power.shape for one in (self, *others)]
        return Identified(*(_joined(same, shapes) for same in zip(self, *others, strict=True)))


@dataclass(frozen=True)
class MotorOnFan:
    """Simulated motors on a job.

    Arrays have shape (voltages, motors, samples) and are in SI units and degC. ``reserve``,
    ``runs_low`` and ``speed_low`` have shape (motors, samples) and apply at the lowest rated
    voltage of each motor.

    Attributes
    ----------
    job : Job
        Job.
    motors : tuple[CatalogMotor, ...]
        Catalog motors.
    conditions : Conditions
        Conditions of the job.
    rated : Ensemble
        Equivalent circuits at the rating.
    shell : Shell
        Thermal networks.
    starts : ndarray
        True if the motor starts from standstill.
    slip : ndarray
        Slip at the operating point.
    solution : Solution
        Steady state of the circuits.
    nodes : Nodes
        Temperatures [degC] of all nodes in the thermal network.
    temp_winding : ndarray
        Average winding temperature [degC] by the resistance method.
    reserve : ndarray
        Ratio of breakdown torque to fan torque at the reference speed of the fan load.
    runs_low : ndarray
        True if the motor starts, comes up to speed and stays on the stable side of breakdown.
    speed_low : ndarray
        Speed [rpm].
    failed : MotorOnFan or None
        Failed motor under the same conditions. The value is None for the failed motor itself, or if
        its nameplate has neither power nor amps.
    """

    job: Job
    motors: tuple[CatalogMotor, ...]
    conditions: Conditions
    rated: Ensemble
    shell: Shell
    starts: np.ndarray
    slip: np.ndarray
    solution: Solution
    nodes: Nodes
    temp_winding: np.ndarray
    reserve: np.ndarray
    runs_low: np.ndarray
    speed_low: np.ndarray
    failed: "MotorOnFan | None" = None

    @property
    def samples(self) -> int:
        return self.conditions.samples

    @property
    def temp_shell(self):
        return self.nodes.shell

    @property
    def speed_ratio(self):
        """Ratio of the speed to the reference speed of the fan load."""
        return self.solution.speed_rpm / self.conditions.speed_rpm

    def warm_circuit(self, voltage: int, number: int) -> CapacitorRun:
        """Return the warmed-up circuit of a motor at one of the voltages, shape (samples,)."""
        circuit = at_temperature(self.rated, self.shell, self.nodes.part(voltage))
        return circuit.rearranged(lambda value: np.broadcast_to(value, self.reserve.shape)[number])

    @cached_property
    def figures(self) -> dict[str, np.ndarray]:
        """Results by name and unit, each with shape (voltages, motors, samples)."""
        at, conditions = self.solution, self.conditions
        current = np.abs(at.current)
        return {
            "speed_rpm": at.speed_rpm,
            "current_a": current,
            "power_in_w": at.power_in,
            "power_shaft_w": at.power_out,
            "efficiency": at.power_out / at.power_in,
            "power_factor": at.power_in / (conditions.voltage[:, None, None] * current),
            "flow_m3s": conditions.flow * self.speed_ratio,
            "pressure_pa": conditions.pressure * self.speed_ratio**2,
            "speed_ratio": self.speed_ratio,
            "capacitor_v": np.abs(at.voltage_capacitor),
            "temp_c": self.temp_winding,
            "rise_k": self.temp_winding - conditions.temp_air,
        }

    def winding_without_rating(self, rows) -> np.ndarray:
        """Return the winding temperature [degC] of selected motors without using the rating.

        The average temperature at the usual voltage, shape (rows, samples), is based only on body,
        losses and air.
        """
        rated = Identified(self.rated, self.shell).picked(rows).rated
        shell = Shell.of(bodies([self.motors[row] for row in rows]), rated, 0, trust_rating=False)
        conditions = self.conditions
        air = AirStream.of(conditions)
        at = conditions.voltage[USUAL], conditions.frequency, conditions.coefficient
        return warmed(rated, shell, air, *at, quickest).temp_winding

    @cached_property
    def bands(self) -> dict[str, Band]:
        """Results as 90 % ranges, each with shape (voltages, motors)."""
        return {name: Band.of(values) for name, values in self.figures.items()}


def simulate(job: Job, motors, samples: int = SAMPLES, seed: int = 0) -> MotorOnFan:
    """Simulate catalog motors and the failed motor on a job.

    The same seed gives the same samples.

    Raises
    ------
    InputError
        If the job does not have enough information.
    """
    motors = tuple(motors)
    conditions = site_conditions(job, samples, seed)
    return simulate_identified(
        job, motors, identify_motors(motors, samples, seed), conditions, seed
    )


def simulate_identified(
    job: Job, motors, identified: Identified, conditions: Conditions, seed: int = 0
) -> MotorOnFan:
    """Simulate identified motors under the conditions of a job.

    May raise InputError.
    """
    old = identify_failed(job, conditions.samples, seed)
    everything = identified if old is None else old.and_then(identified)
    limits = lowest_voltages(motors)
    if old is not None:
        limits.insert(0, lowest_voltage_of(job))
    found = run_on_fan(everything, conditions, np.array(limits)[:, None])
    return _split(found, job, motors, everything, conditions, has_failed=old is not None)


def identify_motors(
    motors: tuple[CatalogMotor, ...], samples: int = SAMPLES, seed: int = 0
) -> Identified:
    """Identify catalog motors from their nameplates, including the amps of all ratings.

    The circuits of a motor do not depend on the other motors, and each motor is identified only
    once.
    """
    return _known(samples, seed).identified(motors)


def identify_ahead(motors, most: int, samples: int = SAMPLES, seed: int = 0) -> bool:
    """Identify at most ``most`` single-phase ``motors`` that a later job may need.

    Returns False if there are no motors left to identify, or if no space is left for them.
    """
    return _known(samples, seed).go_on(motors, most)


@lru_cache(maxsize=4)
def _known(samples: int, seed: int) -> "_Known":
    return _Known(samples, seed)


class _Known:
    """Catalog motors that have been identified with the same number of samples and seed."""

    def __init__(self, samples: int, seed: int):
        self._samples, self._seed = samples, seed
        self._kept: tuple[dict[CatalogMotor, int], Identified | None] = ({}, None)
        self.identified = lru_cache(maxsize=8)(self._identified)

    def _identified(self, motors: tuple[CatalogMotor, ...]) -> Identified:
        rows, found = self._kept
        new = tuple(dict.fromkeys(motor for motor in motors if motor not in rows))
        if len(rows) + len(new) > MOST_KNOWN:
            rows, found, new = {}, None, tuple(dict.fromkeys(motors))
        if new:
            added = _identify(new, self._samples, self._seed)
            rows = rows | {motor: len(rows) + at for at, motor in enumerate(new)}
            found = added if found is None else found.and_then(added)
            self._kept = rows, found  # replaced at once, because the page has several threads
        return found.picked(np.array([rows[motor] for motor in motors]))

    def go_on(self, motors, most: int) -> bool:
        rows, _ = self._kept
        left = (one for one in motors if one.phase == 1 and one not in rows)
        new = tuple(islice(left, most))
        if not new or len(rows) + len(new) > MOST_KNOWN:
            return False
        self._identified(new)
        return True


def _identify(motors: tuple[CatalogMotor, ...], samples: int, seed: int) -> Identified:
    """Identify motors, and read those identified in earlier runs from the cache folder.

    New motors are copied in the same way, because NumPy rounds differently in other memory layouts.
    """
    code = code_hash("core", "physics", "records", "model")
    keys = [key_of(code, "identified", *ratings_key([one]), samples, seed) for one in motors]
    rows = [load(key) for key in keys]
    new = [at for at, row in enumerate(rows) if row is None]
    if new:
        found = _calculated(tuple(motors[at] for at in new), samples, seed)
        for at, values in zip(new, _numbers(found), strict=True):
            rows[at] = {"values": values}
            save(keys[at], **rows[at])
    else:
        found = _calculated(motors[:1], 1, seed)  # any motor, for the names of the values
    return _with_numbers(found, np.stack([row["values"] for row in rows], axis=1))


def _calculated(motors: tuple[CatalogMotor, ...], samples: int, seed: int) -> Identified:
    rated = identify.ensemble(catalog_ratings(motors), samples, seed, lower_ratings(motors))
    return Identified(rated, Shell.of(bodies(motors), rated, seed))


def _numbers(found: Identified) -> np.ndarray:
    """Return all values as one array of shape (motors, values, samples)."""
    shape = found.rated.power.shape
    values = [value for part in found for value in _values(part, shape)]
    return np.stack(values, axis=1, dtype=float)


def _with_numbers(found: Identified, numbers: np.ndarray) -> Identified:
    """Return ``found`` with its values replaced by ``numbers``, shape (values, motors, samples)."""
    values = iter(numbers)
    return Identified(
        *(part.rearranged(lambda one: next(values).astype(np.asarray(one).dtype)) for part in found)
    )


def identify_failed(job: Job, samples: int = SAMPLES, seed: int = 0) -> Identified | None:
    """Identify the failed motor, shape (1, samples), or return None if it cannot be simulated."""
    return _failed(completed(job), samples, seed) if has_failed_motor(job) else None


def has_failed_motor(job: Job) -> bool:
    """Return True if the failed motor can be simulated.

    Its nameplate must have power or amps, and the motor must be able to run at the measured supply
    voltage.
    """
    nameplate, supply = job.nameplate, job.site.voltage
    if nameplate.power is None and nameplate.current is None:
        return False
    if None in (supply, nameplate.voltage):
        return True
    low, high = ABLE_TO_RUN[0] * nameplate.voltage.low, ABLE_TO_RUN[1] * nameplate.voltage.high
    return low < supply.mid < high


@lru_cache(maxsize=256)
def _failed(nameplate: Nameplate, samples: int, seed: int) -> Identified:
    """Return the identified motor of a completed ``nameplate``, shape (1, samples)."""
    rated, nameplate, _ = as_printed(nameplate, samples, seed)
    rated = rated.rearranged(lambda value: np.broadcast_to(value, samples)[None])
    return with_networks(rated, [nameplate], seed)


def with_networks(rated: Ensemble, nameplates, seed: int = 0) -> Identified:
    """Return failed motors with the thermal networks that their ``nameplates`` suggest."""
    sizes = ((one.body_diameter, one.body_length, one.ambient_rating) for one in nameplates)
    sizes = ([size and size.mid for size in one] for one in sizes)
    letters = (one.insulation_class for one in nameplates)
    body = Body.of([(*size, letter) for size, letter in zip(sizes, letters, strict=True)])
    return Identified(rated, Shell.of(body, rated, seed))


def lower_ratings(motors) -> tuple[Point, ...]:
    """Return the amps of catalog motors at their lower ratings with cube-law fans.

    The first point contains the second-highest rating of each motor, the second point the
    third-highest rating, and so on. Values are NaN for motors that do not have that many ratings.
    """
    most = max(len(motor.ratings) for motor in motors)
    volts = np.array([[motor.voltage_high] for motor in motors])
    points = []
    for place in range(2, most + 1):
        amps, fan = np.full((2, len(motors), 1), np.nan)
        for row, motor in enumerate(motors):
            if len(motor.ratings) >= place:
                amps[row] = motor.currents[-place]
                fan[row] = fan_coefficient(motor.ratings[-place], motor.speed_rpm)
        points.append(Point(volts, current=amps, coefficient=fan, printed=True))
    return tuple(points)


class FanRun(NamedTuple):
    """Warmed-up motors with a fan at the supply voltages and at their lowest rated voltages."""

    warm: Warm
    runs_low: np.ndarray
    speed_low: np.ndarray
    breakdown: np.ndarray

    def picked(self, which) -> "FanRun":
        """Return selected motors."""
        low = (value[which] for value in (self.runs_low, self.speed_low, self.breakdown))
        return FanRun(self.warm.part((slice(None), which)), *low)


def run_on_fan(
    motors: Identified, load, lowest, voltage=None, frequency=None, settle=quickest
) -> FanRun:
    """Return warmed-up motors with a fan load.

    Parameters
    ----------
    motors : Identified
        Motors.
    load
        Conditions of a job, or an object with the same arrays.
    lowest
        Lowest rated voltage [V] of each motor, shape (motors, 1).
    voltage, frequency : optional
        Supply voltage [V] and frequency [Hz], by default taken from the load.
    settle : optional
        Function that solves for the operating point.
    """
    voltage = load.voltage[:, None, None] if voltage is None else voltage
    frequency = load.frequency if frequency is None else frequency
    air = AirStream.of(load)
    rated, shell = motors
    warm = warmed(rated, shell, air, voltage, frequency, load.coefficient, settle)
    hot = at_temperature(rated, shell, warm.nodes.part(LOW))
    at = settle(hot, lowest, frequency, load.coefficient)
    return FanRun(
        warm=warm,
        runs_low=at.starts & (at.slip < SLIP_RUNNING),
        speed_low=at.solution.speed_rpm,
        breakdown=breakdown_torque(hot, lowest, frequency, settle),
    )


def assembled(
    job, motors, conditions, rated, shell, found: FanRun, failed: MotorOnFan | None
) -> MotorOnFan:
    """Assemble a MotorOnFan that contains only the motors of the job."""
    return MotorOnFan(
        job=job,
        motors=tuple(motors),
        conditions=conditions,
        rated=rated,
        shell=shell,
        starts=found.warm.starts,
        slip=found.warm.slip,
        solution=found.warm.solution,
        nodes=found.warm.nodes,
        temp_winding=found.warm.temp_winding,
        reserve=found.breakdown / conditions.torque,
        runs_low=found.runs_low,
        speed_low=found.speed_low,
        failed=failed,
    )


def lowest_voltages(motors) -> list[float]:
    """Return the lowest rated supply voltage [V] of each motor."""
    return [voltage_limits(motor.voltage_low, motor.voltage_high)[0] for motor in motors]


def lowest_voltage_of(job: Job) -> float:
    """Return the lowest rated supply voltage [V] of the failed motor."""
    voltage = job.nameplate.voltage or job.site.voltage
    return voltage_limits(voltage.low, voltage.high)[0]


def breakdown_torque(circuit: CapacitorRun, voltage, frequency, settle=quickest):
    """Return the maximum torque [N m] near the running range.

    The result is the maximum over six slips. Array arguments are broadcast against each other.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuits of the motors.
    voltage
        Supply voltage [V].
    frequency
        Supply frequency [Hz].
    settle : optional
        Function that solves for the operating point. With `compiled.settle`, the torques are
        calculated with compiled code as well.
    """
    if settle is compiled.settle:
        return compiled.shaft_torques(circuit, voltage, frequency, RUNNING_UP).max(axis=-1)
    torques, emf = [], None
    for slip in RUNNING_UP:
        at = circuit.balance(voltage, frequency, slip, emf)
        emf = at.emf  # initial value for the next slip
        torques.append(at.torque)
    return np.max(torques, axis=0)


def catalog_ratings(motors) -> Ratings:
    """Return the nameplates of catalog motors at their highest rating."""

    def of(read):
        return [read(motor) for motor in motors]  # a nameplate has None for unknown values

    return Ratings(
        voltage=of(lambda motor: motor.voltage_high),
        frequency=of(lambda motor: motor.frequency),
        poles=of(lambda motor: motor.poles),
        power=of(lambda motor: motor.ratings[-1]),
        current=of(lambda motor: motor.currents[-1]),
        speed_rpm=of(lambda motor: motor.speed_rpm),
        capacitance=of(lambda motor: motor.capacitor),
        capacitor_voltage=of(lambda motor: motor.capacitor_voltage),
    )


def ratings_key(motors) -> list:
    """Return all catalog values that determine how ``motors`` are identified, as arrays."""
    nameplates, body = catalog_ratings(motors), bodies(motors)
    values = [getattr(nameplates, name) for name in nameplates.__dataclass_fields__]
    lower = [array for point in lower_ratings(motors) for array in point if array is not None]
    return [*values, *lower, *body, lowest_voltages(motors)]


def bodies(motors) -> Body:
    """Return the body data of catalog motors."""
    return Body.of(
        (m.body_diameter, m.body_length, m.ambient_rating, m.insulation_class) for m in motors
    )


def _joined(parts, shapes):
    """Join ensembles or shells along the motor axis."""
    columns = zip(*map(_values, parts, shapes), strict=True)
    return parts[0].rearranged(lambda _: np.concatenate(next(columns)))


def _values(part, shape) -> list[np.ndarray]:
    """Return all values of an ensemble or a shell, broadcast to ``shape``."""
    values = []

    def kept(value):
        values.append(np.broadcast_to(value, shape))
        return value

    part.rearranged(kept)
    return values


def _split(
    found: FanRun, job, motors, everything: Identified, conditions: Conditions, has_failed
) -> MotorOnFan:
    """Separate the failed motor, which is the first motor, from the other motors."""

    def of(which, motors, failed):
        mine, (rated, shell) = found.picked(which), everything.picked(which)
        return assembled(job, motors, conditions, rated, shell, mine, failed)

    if not has_failed:
        return of(slice(None), motors, None)
    return of(slice(1, None), motors, of(slice(0, 1), (), None))
