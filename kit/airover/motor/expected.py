"""What a clamp meter will show: one motor on one fan, across voltage, beside its nameplate's limits."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.errors import InputError
from airover.identify import Point
from airover.message import Message, Quantity
from airover.motor.conditions import conditions
from airover.motor.narrow import PROPOSALS, narrowed, strained
from airover.motor.one import DRAWS, Load, Motor, Run
from airover.motor.supply import voltage_limits
from airover.motor.warm import at_temperature
from airover.records import CatalogueMotor, Job, Nameplate

SPAN = (180 / 230, 260 / 230)  # of the rated voltage, what is looked at
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
        """Voltages [V] that are looked at, from and to."""
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


def mounted(motor, rating=None, job: Job | None = None, measured=(), samples=DRAWS) -> Mounted:
    """``motor`` (a Nameplate, or a CatalogueMotor at its ``rating`` [W]) on a fan.

    The fan is the blade of ``job`` in its air, or without a job the cube-law fan of the rating.
    ``measured`` are readings on that fan. Raises InputError.
    """
    proposals = PROPOSALS if measured else samples
    if isinstance(motor, CatalogueMotor):
        found = _of_catalogue(motor, motor.ratings[-1] if rating is None else rating, proposals)
    else:
        found = _of_plate(motor, proposals)
    if job is not None:
        load = Load.of(conditions(job, proposals))
        found = replace(found, load=load, fan=Message("expected.fan.job"))
    if measured:
        known, load = narrowed(found.motor, found.load, measured, samples)
        off = strained(known, load, measured)
        found = replace(found, motor=known, load=load, measured=tuple(measured), strained=off)
    return found


def _of_plate(plate: Nameplate, samples: int) -> Mounted:
    motor = Motor.from_nameplate(plate, samples)
    low, high = plate.voltage.low, plate.voltage.high
    fan = Message("expected.fan.rating")
    return Mounted(motor, motor.rated_load(), motor.current, low, high, fan)


def _of_catalogue(row: CatalogueMotor, rating: float, samples: int) -> Mounted:
    if rating not in row.ratings:
        ratings = [Quantity(one, "power") for one in row.ratings]
        accepted = Message("expected.error.rating", ratings=ratings)
        raise InputError("rating", Quantity(rating, "power"), accepted)
    motor = Motor.from_catalogue(row, samples)
    amps = row.currents[row.ratings.index(rating)]
    load = motor.rated_load(rating, row.speed_rpm)
    fan = Message("expected.fan.of_rating", power=Quantity(rating, "power"))
    return Mounted(motor, load, amps, row.voltage_low, row.voltage_high, fan)


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
        """What is beyond a limit."""
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
    """A motor with ``share`` of its fan's power asked; ``bands`` as in ``Run.figures``."""

    share: float
    bands: dict[str, Band]


def loaded(found: Mounted, voltage, shares=(0.5, 0.75, 1.0, 1.2)) -> tuple[Loaded, ...]:
    """What a lighter or heavier fan changes at one ``voltage`` [V]: amps much less than load."""
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
