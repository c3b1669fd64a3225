"""Expected readings for a motor with its fan, and updates from actual readings.

- `Expected` gives clamp-meter readings vs. voltage and compares them with the nameplate limits.
- `starts` simulates the start in the time domain with cold windings, as for the first start of the
  day. The circuit with the median standstill torque represents all samples. `Run` gives the
  probability of starting, based on all samples.
- `narrowed` updates the motor and fan samples from readings. Readings are taken with a real fan,
  whose load is also uncertain. Each pair of a motor sample and a load sample, with the motor at
  operating temperature, is therefore weighted by how well it matches the readings. The update assumes the air conditions of the job (or
  of the rating), an undamaged fan and a capacitor with its marked capacitance. A reading on a cool
  day or with a worn capacitor is therefore misleading. A reading that does not agree with any pair
  is rejected.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.model.conditions import site_conditions, voltage_limits
from airover.model.cooling import at_temperature
from airover.model.identify import Point, misses, resample
from airover.model.motor import Load, Motor, Run
from airover.model.simulation import SAMPLES
from airover.physics.thermal_network import Nodes
from airover.physics.transient import RunUp, disc_inertia, run_up
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.records.nameplate import Nameplate

# Common practice; no published source: a 22 in. sheet-metal fan and a 48-frame rotor.
BLADE_MASS, BLADE_DIAMETER = 1.4, 0.56  # kg, m
# kg, m, and radius of gyration divided by radius, for a solid cylinder
ROTOR_MASS, ROTOR_DIAMETER, ROTOR_GYRATION = 1.5, 0.08, 0.71


ON_JOB = "expected.fan.job"  # description of the job's fan
PROPOSALS = 1000  # number of motor and load pairs before the update
FAR = 3.0  # standard deviations of the meter; a larger difference cannot be meter error
STRAINED = (
    1.5  # standard deviations of the meter between a reading and the median of the kept samples
)
_KINDS = {
    "current": "current",
    "power_in": "watts",
    "voltage_capacitor": "voltage",
    "speed_rpm": "speed",
}


SPAN = (180 / 230, 260 / 230)  # fractions of the rated voltage
# a warning is given below this probability of starting
USUAL_CHANCE = 0.95
OVER_PLATE = 1.10  # ratio of allowable amps to nameplate amps, common practice; no published source


@dataclass(frozen=True, eq=False)
class Mounted:
    """Motor with a fan. Objects are compared by identity, so they can be used as cache keys.

    Attributes
    ----------
    motor : Motor
        Motor.
    load : Load
        Fan load and air.
    current : float or None
        Nameplate current [A] for this rating, or None if unreadable.
    voltage_low, voltage_high : float
        Limits [V] of the nameplate voltage range.
    fan : Message
        Description of the fan.
    measured : tuple[Point, ...]
        Readings used for the update.
    strained : tuple[Point, ...]
        Readings that are barely consistent with the nameplate.
    """

    motor: Motor
    load: Load
    current: float | None
    voltage_low: float
    voltage_high: float
    fan: Message
    measured: tuple[Point, ...] = ()
    strained: tuple[Point, ...] = ()

    @property
    def on_job(self) -> bool:
        """True for the fan of a job, False for the cube-law fan that matches the rating."""
        return self.fan.key == ON_JOB

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest supply voltage [V] for which the motor is rated."""
        return voltage_limits(self.voltage_low, self.voltage_high)

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest voltage [V] to evaluate."""
        return tuple(round(share * self.voltage_high) for share in SPAN)

    @property
    def steps(self) -> np.ndarray:
        """Voltages [V] in a table: both limits and both nameplate voltages."""
        low, high = self.limits
        return np.unique(np.round([low, self.voltage_low, self.voltage_high, high], 6))

    def at(self, voltage, capacitor=1.0, blade=1.0) -> Run:
        """Return the operating points at each voltage.

        Parameters
        ----------
        voltage
            Supply voltage [V].
        capacitor : optional
            Capacitance as a fraction of the correct value.
        blade : optional
            Fan power as a fraction of this fan's power.
        """
        motor = self.motor
        if capacitor != 1.0:
            motor = motor.with_capacitor(capacitor * motor.rated.circuit.capacitance)
        return motor.run(self.load._replace(coefficient=blade * self.load.coefficient), voltage)

    def across(self, voltage, capacitor=1.0, blade=1.0) -> tuple[Run, Run]:
        """Return the operating points over a range of voltages and at ``voltage`` [V].

        The first result covers the voltages in the span and in the table. All voltages are
        calculated together, which takes little longer than a single voltage.
        """
        across = np.union1d(np.linspace(*self.span, 5), self.steps)
        run = self.at(np.append(across, voltage), capacitor, blade)
        return run.part(slice(len(across))), run.part(slice(len(across), None))


def mounted(motor, rating=None, job: Job | None = None, measured=(), samples=SAMPLES) -> Mounted:
    """Return a motor with a fan.

    ``motor`` is a Nameplate, or a CatalogMotor at a ``rating`` [W]. The fan and the air conditions
    are taken from the job. Without a job, the load is a cube-law fan that matches the rating.
    ``measured`` contains readings taken with this fan.

    Raises
    ------
    InputError
        If the input is inconsistent.
    """
    proposals = PROPOSALS if measured else samples
    if isinstance(motor, CatalogMotor):
        found = _of_catalog(motor, motor.ratings[-1] if rating is None else rating, proposals)
    else:
        found = _of_nameplate(motor, proposals)
    if job is not None:
        load = Load.of(site_conditions(job, proposals))
        found = replace(found, load=load, fan=Message(ON_JOB))
    if measured:
        known, load = narrowed(found.motor, found.load, measured, samples)
        off = strained(known, load, measured)
        found = replace(found, motor=known, load=load, measured=tuple(measured), strained=off)
    return found


@dataclass(frozen=True)
class Expected:
    """Expected readings at a voltage (``now``) and over a range (``sweep``).

    ``capacitor`` and ``blade`` are fractions, as in `Mounted.at`.
    """

    mounted: Mounted
    voltage: float
    capacitor: float
    blade: float
    now: Run
    sweep: Run

    @cached_property
    def bands(self) -> dict[str, Band]:
        """90 % ranges of the quantities in `Run.figures` at the selected voltage."""
        return self.now.first_bands()

    @cached_property
    def across(self) -> dict[str, Band]:
        """90 % ranges over the range of voltages, each with shape (voltages,)."""
        return self.sweep.bands()

    @property
    def current(self) -> Band:
        """Line current [A]."""
        return self.bands["current_a"]

    @cached_property
    def room(self) -> Band | None:
        """Margin [K] to the overload trip temperature for the insulation class, or None."""
        room = self.now.room_to_trip()
        return None if room is None else room.first()

    @cached_property
    def chance(self) -> float:
        """Fraction of samples that start and reach running speed."""
        return float(self.now.chance_of_start()[0])

    @property
    def verdict(self) -> Message:
        """Verdict in one sentence."""
        rated = self.mounted.current
        values = {
            "volts": Quantity(self.voltage, "voltage"),
            "fan": self.fan,
            "amps": Quantity(self.current, "current"),
        }
        if self.chance < USUAL_CHANCE / 2:
            return Message("expected.stuck", **values)
        if rated is None:
            return Message("expected.at_unrated", **values)
        return Message("expected.at", rated=Quantity(rated, "current"), **values)

    @property
    def fan(self) -> Message:
        """Description of the fan, and of the capacitor if its capacitance is wrong."""
        values = {"fan": self.mounted.fan}
        if self.blade != 1:
            values["power"] = Quantity(self.blade, "share")
        if self.capacitor != 1:
            values["capacitor"] = Quantity(self.capacitor, "share")
        if len(values) == 1:
            return self.mounted.fan
        key = "both" if len(values) == 3 else list(values)[-1]
        return Message(f"expected.fan.{key}", **values)

    @property
    def facts(self) -> list[Message]:
        """Sentences about starting, heat and the capacitor."""
        return [self._starting(), self._heat(), self._capacitor()]

    @property
    def warnings(self) -> list[Message]:
        """Warnings for results that exceed a limit."""
        return [
            *self._over_amps(),
            *self._voltage_out(),
            *self._capacitor_over(),
            *self._strained(),
        ]

    @property
    def state(self) -> str:
        """State relative to the limits: "within", "at" or "beyond".

        The limits are the nameplate amps, the trip temperature and the
        minimum probability of starting.
        """
        _, mid, high = self.current
        rated = np.inf if self.mounted.current is None else self.mounted.current
        room = self.room or Band(np.inf, np.inf, np.inf)
        if self.chance < USUAL_CHANCE / 2 or mid > OVER_PLATE * rated or room.mid < 0:
            return "beyond"
        within = self.chance >= USUAL_CHANCE and high <= rated and room.low > 0
        return "within" if within else "at"

    def _starting(self) -> Message:
        if self.chance == 1:
            return Message("expected.starts.always")
        return Message("expected.starts.share", count=round(100 * self.chance))

    def _heat(self) -> Message:
        if self.room is None:
            return Message("expected.heat.unknown")
        values = {
            "room": Quantity(abs(self.room.mid), "temperature_rise", 0),
            "letter": self.mounted.motor.insulation_class,
        }
        if self.room.low > 0:
            span = Quantity(self.room, "temperature_rise", 0)
            return Message("expected.heat.below_range", span=span, **values)
        return Message(f"expected.heat.{'below' if self.room.mid >= 0 else 'above'}", **values)

    def _capacitor(self) -> Message:
        band, made_for = self.bands["capacitor_v"], self.mounted.motor.capacitor_voltage
        values = {"volts": Quantity(band.mid, "voltage"), "span": Quantity(band, "voltage")}
        if made_for is None:
            return Message("expected.capacitor.unmarked", **values)
        return Message("expected.capacitor.marked", marked=Quantity(made_for, "voltage"), **values)

    def _over_amps(self):
        rated, (_, mid, high) = self.mounted.current, self.current
        if rated is not None and high > rated:
            key = "amps_over" if mid > rated else "amps_may_be"
            share = Quantity(max(high / rated - 1, 0.01), "share")
            yield Message(f"expected.warning.{key}", rated=Quantity(rated, "current"), share=share)

    def _voltage_out(self):
        low, high = self.mounted.limits
        if not low <= self.voltage <= high:
            span = Quantity(Band(low, (low + high) / 2, high), "voltage")
            volts = Quantity(self.voltage, "voltage")
            yield Message("expected.warning.voltage", volts=volts, span=span)

    def _strained(self):
        for point in self.mounted.strained:
            yield Message("expected.warning.strained", volts=Quantity(point.voltage, "voltage"))

    def _capacitor_over(self):
        made_for, sees = self.mounted.motor.capacitor_voltage, self.bands["capacitor_v"].mid
        if made_for is not None and sees > made_for:
            yield Message("expected.warning.capacitor", marked=Quantity(made_for, "voltage"))


class Loaded(NamedTuple):
    """Motor loaded with a fraction of the fan power, as 90 % ranges of the `Run.figures`."""

    share: float
    bands: dict[str, Band]


def loaded(found: Mounted, voltage, shares=(0.5, 0.75, 1.0, 1.2)) -> tuple[Loaded, ...]:
    """Return the motor with lighter and heavier fan loads at a ``voltage`` [V]."""
    runs = (found.at(voltage, blade=share) for share in shares)
    return tuple(Loaded(share, run.first_bands()) for share, run in zip(shares, runs, strict=True))


class Torques(NamedTuple):
    """Torque [N m] of the warmed-up motor and median torque [N m] of the fan vs. speed."""

    speed_rpm: np.ndarray
    motor: Band
    fan: np.ndarray


def torques(run: Run, steps=25) -> Torques:
    """Return the motor and fan torques at the first voltage of ``run``."""
    motor = run.motor
    slip = np.linspace(1.0, 0.0, steps)[:, None]
    circuit = at_temperature(motor.rated, motor.shell, run.warm.nodes.part(0))
    torque = circuit.balance(run.voltage[0], motor.frequency, slip).torque
    speed_rpm = (1 - slip[:, 0]) * 120 * motor.frequency / motor.poles
    fan = np.median(run.load.coefficient) * (speed_rpm * np.pi / 30) ** 2
    return Torques(speed_rpm, Band.of(torque), fan)


def narrowed(motor: Motor, load: Load, measured, samples) -> tuple[Motor, Load]:
    """Return the pairs of motor and load samples that agree best with the readings.

    Motor and load samples are in the same order along their last axes.

    Parameters
    ----------
    motor, load
        Motor and load.
    measured
        An `identify.Point` for each reading, taken on the warmed-up motor with this load and its
        own capacitor.
    samples
        Number of pairs to keep.

    Raises
    ------
    InputError
        If no pair agrees with the readings.
    """
    log_weight = np.zeros((1, len(motor.rated.power)))
    for point in measured:
        away = misses(motor.run(load, point.voltage).solution, point)
        _refuse_far(point, away)
        log_weight = log_weight - 0.5 * sum(miss**2 for miss in away.values())
    return picked(motor, load, resample(log_weight, samples)[0])


def strained(motor: Motor, load: Load, measured) -> tuple[Point, ...]:
    """Return the readings that the updated pairs do not reproduce.

    The nameplate and the reading are then inconsistent: few pairs agree with both, and the range
    lies between the two.
    """

    def is_off(point: Point) -> bool:
        away = misses(motor.run(load, point.voltage).solution, point)
        return any(abs(np.median(miss)) > STRAINED for miss in away.values())

    return tuple(point for point in measured if is_off(point))


def picked(motor: Motor, load: Load, chosen) -> tuple[Motor, Load]:
    """Return the motor and load with the ``chosen`` samples, in that order."""
    samples = len(motor.rated.power)

    def part(value):
        has_samples = np.ndim(value) and np.shape(value)[-1] == samples
        return np.asarray(value)[..., chosen] if has_samples else value

    rated, shell = motor.rated.rearranged(part), motor.shell.rearranged(part)
    motor = replace(motor, rated=rated, shell=shell)
    return motor, Load(part(load.coefficient), type(load.air)(*map(part, load.air)))


class StartCase(NamedTuple):
    """Start conditions.

    Attributes
    ----------
    name : str
        Name of the case.
    voltage : float
        Supply voltage [V].
    capacitor : float
        Capacitance as a fraction of the correct value.
    wind_rpm : float
        Speed [rpm] at which the wind turns the idle fan, negative for reverse rotation.
    """

    name: str
    voltage: float
    capacitor: float = 1.0
    wind_rpm: float = 0.0


@dataclass(frozen=True)
class Start:
    """Simulated start."""

    case: StartCase
    run_up: RunUp


def usual_cases(voltage, lowest) -> tuple[StartCase, ...]:
    """Return typical start cases.

    The cases are starts at ``voltage`` [V], at the ``lowest`` nameplate voltage [V], with half the
    capacitance, and against the wind.
    """
    return (
        StartCase("as it should be", voltage),
        StartCase("lowest voltage", lowest),
        StartCase("half of the capacitor", voltage, capacitor=0.5),
        StartCase("wind turns the blade backwards", voltage, wind_rpm=-200.0),
    )


def starts(motor: Motor, load: Load, cases, mass=BLADE_MASS, diameter=BLADE_DIAMETER):
    """Simulate motor starts.

    Parameters
    ----------
    motor, load
        Motor and load.
    cases
        A StartCase for each start.
    mass : optional
        Fan mass [kg].
    diameter : optional
        Fan diameter [m].

    Raises
    ------
    InputError
        If a value is out of range.
    ArithmeticError
        If the speed is still changing after a minute.
    """
    inertia = disc_inertia(mass, diameter)
    inertia = float(inertia + disc_inertia(ROTOR_MASS, ROTOR_DIAMETER, ROTOR_GYRATION))
    return tuple(Start(case, _run_up(motor, load, case, inertia)) for case in cases)


def _run_up(motor: Motor, load: Load, case: StartCase, inertia: float) -> RunUp:
    changed = motor.with_capacitor(case.capacitor * motor.rated.circuit.capacitance)
    cold = at_temperature(changed.rated, changed.shell, Nodes.all_at(load.air.temp_air))
    standing = cold.balance(case.voltage, motor.frequency, 1.0).torque
    middle = int(np.argsort(standing)[len(standing) // 2])
    shape = standing.shape
    circuit = cold.rearranged(lambda value: np.broadcast_to(value, shape)[middle])
    fan = float(np.median(load.coefficient))
    return run_up(circuit, case.voltage, motor.frequency, fan, inertia, wind_rpm=case.wind_rpm)


def _refuse_far(point: Point, away: dict) -> None:
    """Raise InputError if a reading, or the set of readings, does not agree with any pair."""
    volts = Quantity(point.voltage, "voltage")
    for name, miss in away.items():
        if np.min(np.abs(miss)) > FAR:
            figure = Message(f"expected.error.{name}")
            field = Message("expected.error.reading_of", volts=volts, figure=figure)
            given = Quantity(getattr(point, name), _KINDS[name])
            accepted = Message(f"expected.error.{'more' if np.median(miss) > 0 else 'less'}")
            raise InputError(field, given, accepted)
    if np.min(np.max(np.abs(list(away.values())), axis=0)) > FAR:
        field = Message("expected.error.reading", volts=volts)
        given = Message("expected.error.not_together")
        raise InputError(field, given, Message("expected.error.one_moment"))


def _of_nameplate(nameplate: Nameplate, samples: int) -> Mounted:
    motor = Motor.from_nameplate(nameplate, samples)
    low, high = nameplate.voltage.low, nameplate.voltage.high
    fan = Message("expected.fan.rating")
    return Mounted(motor, motor.rated_load(), motor.current, low, high, fan)


def _of_catalog(row: CatalogMotor, rating: float, samples: int) -> Mounted:
    if rating not in row.ratings:
        ratings = [Quantity(one, "power") for one in row.ratings]
        accepted = Message("expected.error.rating", ratings=ratings)
        raise InputError("rating", Quantity(rating, "power"), accepted)
    motor = Motor.from_catalog(row, samples)
    amps = row.currents[row.ratings.index(rating)]
    load = motor.rated_load(rating, row.speed_rpm)
    fan = Message("expected.fan.of_rating", power=Quantity(rating, "power"))
    return Mounted(motor, load, amps, row.voltage_low, row.voltage_high, fan)
