"""Expected readings of one motor on its fan: amps against voltage, start, update by readings.

- `Expected`: clamp-meter readings against voltage, beside the nameplate's limits.
- `starts`: run-up over time with the median circuit of a nameplate, cold windings, as at the first
  start of a day. The circuit with the median standstill torque represents them all; the
  chance of starting over all of them is `Run`'s.
- `narrowed`: motor and fan updated by readings. A reading is taken on a real fan, whose load is not
  known exactly either, so samples of motor and load are weighed as warm pairs. It assumes the job's
  air (or the rating's), the whole fan, and a capacitor with its marked microfarads: a reading on a
  cool day or with a worn capacitor misleads. A reading that no pair could give is rejected.
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

# Common practice, no source: a 22 in. fan of sheet metal, and the rotor of a 48 frame.
BLADE_MASS, BLADE_DIAMETER = 1.4, 0.56  # kg, m
ROTOR_MASS, ROTOR_DIAMETER, ROTOR_GYRATION = 1.5, 0.08, 0.71  # kg, m, of a plain cylinder


PROPOSALS = 1000  # equally likely pairs of motor and load, of which a reading leaves some over
FAR = 3.0  # deviations of the meter: what is further from every pair is not the meter's doing
STRAINED = (
    1.5  # deviations of the meter between a reading and the median of the samples that are left
)
_KINDS = {
    "current": "current",
    "power_in": "watts",
    "voltage_capacitor": "voltage",
    "speed_rpm": "speed",
}


SPAN = (180 / 230, 260 / 230)  # of the rated voltage, that are evaluated
USUAL_CHANCE = 0.95  # of starting: with less the answer says that it may not start
OVER_PLATE = 1.10  # amps over the nameplate's that the trade lets pass, common practice, no source


@dataclass(frozen=True, eq=False)
class Mounted:
    """A motor on a fan; two of them are never equal, so one can be a key of a cache.

    ``current`` [A] is the nameplate's for this rating (None if not readable); its voltage [V] runs
    from ``voltage_low`` to ``voltage_high``. ``fan`` says which fan it is; ``strained`` are those
    of the ``measured`` readings that hardly go with the nameplate.
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
    def limits(self) -> tuple[float, float]:
        """Lowest and highest voltage [V] that the motor is made for."""
        return voltage_limits(self.voltage_low, self.voltage_high)

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest voltage [V] that are evaluated."""
        return tuple(round(share * self.voltage_high) for share in SPAN)

    @property
    def steps(self) -> np.ndarray:
        """Voltages [V] of a table: both limits, and those of the nameplate."""
        low, high = self.limits
        return np.unique(np.round([low, self.voltage_low, self.voltage_high, high], 6))

    def at(self, voltage, capacitor=1.0, blade=1.0) -> Run:
        """At each ``voltage`` [V]; ``capacitor`` is a share of the right one's microfarads,
        ``blade`` of this fan's power."""
        motor = self.motor
        if capacitor != 1.0:
            motor = motor.with_capacitor(capacitor * motor.rated.circuit.capacitance)
        return motor.run(self.load._replace(coefficient=blade * self.load.coefficient), voltage)

    def across(self, voltage, capacitor=1.0, blade=1.0) -> tuple[Run, Run]:
        """Across the span and at the voltages of the table; and the run at ``voltage`` [V].

        Both in one pass, which costs little more than one voltage alone.
        """
        across = np.union1d(np.linspace(*self.span, 5), self.steps)
        run = self.at(np.append(across, voltage), capacitor, blade)
        return run.part(slice(len(across))), run.part(slice(len(across), None))


def mounted(motor, rating=None, job: Job | None = None, measured=(), samples=SAMPLES) -> Mounted:
    """``motor`` (a Nameplate, or a CatalogMotor at its ``rating`` [W]) on a fan.

    The fan is that of ``job`` in its air, or without a job the cube-law fan of the rating.
    ``measured`` are readings on that fan. Raises InputError.
    """
    proposals = PROPOSALS if measured else samples
    if isinstance(motor, CatalogMotor):
        found = _of_catalog(motor, motor.ratings[-1] if rating is None else rating, proposals)
    else:
        found = _of_nameplate(motor, proposals)
    if job is not None:
        load = Load.of(site_conditions(job, proposals))
        found = replace(found, load=load, fan=Message("expected.fan.job"))
    if measured:
        known, load = narrowed(found.motor, found.load, measured, samples)
        off = strained(known, load, measured)
        found = replace(found, motor=known, load=load, measured=tuple(measured), strained=off)
    return found


@dataclass(frozen=True)
class Expected:
    """A motor at ``voltage`` [V]: ``now`` there, ``sweep`` across voltage.

    ``capacitor`` and ``blade`` are the shares that ``Mounted.at`` takes.
    """

    mounted: Mounted
    voltage: float
    capacitor: float
    blade: float
    now: Run
    sweep: Run

    @cached_property
    def bands(self) -> dict[str, Band]:
        """The figures of ``Run.figures`` at ``voltage``."""
        return self.now.first_bands()

    @cached_property
    def across(self) -> dict[str, Band]:
        """The same across voltage; each member has shape (voltages,)."""
        return self.sweep.bands()

    @property
    def current(self) -> Band:
        """Amps in the line."""
        return self.bands["current_a"]

    @cached_property
    def room(self) -> Band | None:
        """Kelvin from the winding to the trip of an overload of its class, None if not known."""
        room = self.now.room_to_trip()
        return None if room is None else room.first()

    @cached_property
    def chance(self) -> float:
        """Share of the samples that start and come up to speed."""
        return float(self.now.chance_of_start()[0])

    @property
    def verdict(self) -> Message:
        """The answer in one sentence."""
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
        """The fan, and the capacitor where it is not the right one."""
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
        """Starting, heat and capacitor, a sentence each."""
        return [self._starting(), self._heat(), self._capacitor()]

    @property
    def warnings(self) -> list[Message]:
        """Figures beyond a limit."""
        return [
            *self._over_amps(),
            *self._voltage_out(),
            *self._capacitor_over(),
            *self._strained(),
        ]

    @property
    def state(self) -> str:
        """ "within", "at" or "beyond" the nameplate's amps and the trip, starting counted in."""
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
    """A motor with ``share`` of its fan's power; ``bands`` as in ``Run.figures``."""

    share: float
    bands: dict[str, Band]


def loaded(found: Mounted, voltage, shares=(0.5, 0.75, 1.0, 1.2)) -> tuple[Loaded, ...]:
    """Lighter and heavier fans at one ``voltage`` [V]: amps change much less than load."""
    runs = (found.at(voltage, blade=share) for share in shares)
    return tuple(Loaded(share, run.first_bands()) for share, run in zip(shares, runs, strict=True))


class Torques(NamedTuple):
    """The warm motor's torque [N m], a Band over ``speed_rpm``, and the ``fan``'s, the middle."""

    speed_rpm: np.ndarray
    motor: Band
    fan: np.ndarray


def torques(run: Run, steps=25) -> Torques:
    """Motor and fan from standstill to synchronous speed, at the first voltage of ``run``."""
    motor = run.motor
    slip = np.linspace(1.0, 0.0, steps)[:, None]
    circuit = at_temperature(motor.rated, motor.shell, run.warm.nodes.part(0))
    torque = circuit.balance(run.voltage[0], motor.frequency, slip).torque
    speed_rpm = (1 - slip[:, 0]) * 120 * motor.frequency / motor.poles
    fan = np.median(run.load.coefficient) * (speed_rpm * np.pi / 30) ** 2
    return Torques(speed_rpm, Band.of(torque), fan)


def narrowed(motor: Motor, load: Load, measured, samples) -> tuple[Motor, Load]:
    """The ``samples`` pairs of ``motor`` and ``load`` that agree best with ``measured``.

    Samples of motor and load are in the same order on their last axes. Each ``identify.Point``
    was read warm, on this load, with the capacitor that belongs to the motor. Raises InputError
    for readings that none of the pairs could give.
    """
    log_weight = np.zeros((1, len(motor.rated.power)))
    for point in measured:
        away = misses(motor.run(load, point.voltage).solution, point)
        _refuse_far(point, away)
        log_weight = log_weight - 0.5 * sum(miss**2 for miss in away.values())
    return picked(motor, load, resample(log_weight, samples)[0])


def strained(motor: Motor, load: Load, measured) -> tuple[Point, ...]:
    """Those of ``measured`` that the updated pairs do not give back: nameplate and reading pull
    different ways, few pairs agree with both, and the band lies between."""

    def is_off(point: Point) -> bool:
        away = misses(motor.run(load, point.voltage).solution, point)
        return any(abs(np.median(miss)) > STRAINED for miss in away.values())

    return tuple(point for point in measured if is_off(point))


def picked(motor: Motor, load: Load, chosen) -> tuple[Motor, Load]:
    """Motor and load with the ``chosen`` samples, in that order."""
    samples = len(motor.rated.power)

    def part(value):
        has_samples = np.ndim(value) and np.shape(value)[-1] == samples
        return np.asarray(value)[..., chosen] if has_samples else value

    rated, shell = motor.rated.rearranged(part), motor.shell.rearranged(part)
    motor = replace(motor, rated=rated, shell=shell)
    return motor, Load(part(load.coefficient), type(load.air)(*map(part, load.air)))


class StartCase(NamedTuple):
    """A start: its ``name``, line ``voltage`` [V], ``capacitor`` as a share of the right
    microfarads, and the speed [rpm] at which wind would turn the idle fan (minus: backward)."""

    name: str
    voltage: float
    capacitor: float = 1.0
    wind_rpm: float = 0.0


@dataclass(frozen=True)
class Start:
    """One ``case`` followed to its end."""

    case: StartCase
    run_up: RunUp


def usual_cases(voltage, lowest) -> tuple[StartCase, ...]:
    """Starts worth looking at: at ``voltage`` [V], at the ``lowest`` [V] of the nameplate's range,
    with half a capacitor, and against wind."""
    return (
        StartCase("as it should be", voltage),
        StartCase("lowest voltage", lowest),
        StartCase("half of the capacitor", voltage, capacitor=0.5),
        StartCase("wind turns the blade backwards", voltage, wind_rpm=-200.0),
    )


def starts(motor: Motor, load: Load, cases, mass=BLADE_MASS, diameter=BLADE_DIAMETER):
    """Follow each of ``cases`` from switching on; ``mass`` [kg] and ``diameter`` [m] of the fan.

    Returns a Start for each. Raises InputError out of range and ArithmeticError where the speed
    still changes after a minute.
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
    """Raise InputError where no pair gives a figure, or none gives all of them together."""
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
