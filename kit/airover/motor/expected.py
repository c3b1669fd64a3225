"""What a clamp meter will show: one motor on one fan, across voltage, beside the plate's limits."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.errors import InputError
from airover.identify import Point
from airover.motor.conditions import conditions
from airover.motor.narrow import PROPOSALS, narrowed, strained
from airover.motor.one import DRAWS, Load, Motor, Run
from airover.motor.supply import voltage_limits
from airover.motor.warm import at_temperature
from airover.records import CatalogueMotor, Job, Nameplate
from airover.units import show

SPAN = (180 / 230, 260 / 230)  # of the rated voltage, what is looked at
USUAL_CHANCE = 0.95  # of starting: with less the answer says that it may not start
OVER_PLATE = 1.10  # amps over the plate's that the trade lets pass, common practice, no source


@dataclass(frozen=True, eq=False)
class Mounted:
    """A motor on a fan; two of them are never equal, so one can be a key of a cache.

    ``current`` [A] is the plate's for this rating (None if not readable); the plate's voltage
    [V] runs from ``voltage_low`` to ``voltage_high``. ``fan`` says in words which fan it is;
    ``strained`` are those of the ``measured`` readings that hardly go with the plate.
    """

    motor: Motor
    load: Load
    current: float | None
    voltage_low: float
    voltage_high: float
    fan: str
    measured: tuple[Point, ...] = ()
    strained: tuple[Point, ...] = ()

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest voltage [V] that the motor is made to run at."""
        return voltage_limits(self.voltage_low, self.voltage_high)

    @property
    def span(self) -> tuple[float, float]:
        """Voltages [V] that are looked at, from and to."""
        return tuple(round(share * self.voltage_high) for share in SPAN)

    @property
    def steps(self) -> np.ndarray:
        """Voltages [V] of a table: both limits, and what the plate says."""
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


def mounted(motor, rating=None, job: Job | None = None, measured=(), draws=DRAWS) -> Mounted:
    """``motor`` (a Nameplate, or a CatalogueMotor at its ``rating`` [W]) on a fan.

    The fan is the blade of ``job`` in its air, or without a job the cube-law fan of the rating.
    ``measured`` are readings on that fan. Raises InputError.
    """
    proposals = PROPOSALS if measured else draws
    if isinstance(motor, CatalogueMotor):
        found = _of_catalogue(motor, motor.ratings[-1] if rating is None else rating, proposals)
    else:
        found = _of_plate(motor, proposals)
    if job is not None:
        load = Load.of(conditions(job, proposals))
        found = replace(found, load=load, fan="the job's blade")
    if measured:
        known, load = narrowed(found.motor, found.load, measured, draws)
        off = strained(known, load, measured)
        found = replace(found, motor=known, load=load, measured=tuple(measured), strained=off)
    return found


def _of_plate(plate: Nameplate, draws: int) -> Mounted:
    motor = Motor.from_nameplate(plate, draws)
    low, high = plate.voltage.low, plate.voltage.high
    return Mounted(motor, motor.rated_load(), motor.current, low, high, "the fan of its rating")


def _of_catalogue(row: CatalogueMotor, rating: float, draws: int) -> Mounted:
    if rating not in row.ratings:
        raise InputError("rating", f"{rating:g} W", f"one of {', '.join(map(str, row.ratings))} W")
    motor = Motor.from_catalogue(row, draws)
    amps = row.currents[row.ratings.index(rating)]
    load = motor.rated_load(rating, row.speed_rpm)
    fan = f"the fan of its {show(rating, 'power')} rating"
    return Mounted(motor, load, amps, row.voltage_low, row.voltage_high, fan)


@dataclass(frozen=True)
class Expected:
    """A motor at ``voltage`` [V]: ``now`` there, ``sweep`` across voltage.

    ``capacitor`` and ``blade`` are the shares that ``Mounted.at`` takes; ``system``, "US" or
    "SI", is that of the texts.
    """

    mounted: Mounted
    voltage: float
    capacitor: float
    blade: float
    now: Run
    sweep: Run
    system: str = "US"

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
        """Kelvin from the winding to the trip of a protector of its class, None if not known."""
        room = self.now.room_to_trip()
        return None if room is None else room.first()

    @cached_property
    def chance(self) -> float:
        """Share of the draws that start and come up to speed."""
        return float(self.now.chance_of_start()[0])

    @property
    def verdict(self) -> str:
        """The answer in one sentence."""
        low, _, high = self.current
        where = f"At {self.voltage:.0f} V on {self.fan}"
        if self.chance < USUAL_CHANCE / 2:
            stuck = "this motor does not come up to speed; held there it draws"
            return f"{where} {stuck} {low:.2f} to {high:.2f} A."
        plate = self.mounted.current
        says = "the plate's amps are not known" if plate is None else f"the plate says {plate:g} A"
        return f"{where} expect {low:.2f} to {high:.2f} A; {says}."

    @property
    def fan(self) -> str:
        """The fan, and the capacitor where it is not the right one, in words."""
        power = "" if self.blade == 1 else f" at {100 * self.blade:.0f} % of its power"
        share = f" with {100 * self.capacitor:.0f} % of its capacitor"
        return self.mounted.fan + power + ("" if self.capacitor == 1 else share)

    @property
    def facts(self) -> list[str]:
        """Starting, heat and capacitor, a sentence each."""
        return [self._starting(), self._heat(), self._capacitor()]

    @property
    def warnings(self) -> list[str]:
        """What is beyond a limit."""
        return [
            *self._over_amps(),
            *self._voltage_out(),
            *self._capacitor_over(),
            *self._strained(),
        ]

    @property
    def state(self) -> str:
        """ "within", "at" or "beyond" the plate's amps and the trip, starting counted in."""
        _, mid, high = self.current
        plate = np.inf if self.mounted.current is None else self.mounted.current
        room = self.room or Band(np.inf, np.inf, np.inf)
        if self.chance < USUAL_CHANCE / 2 or mid > OVER_PLATE * plate or room.mid < 0:
            return "beyond"
        within = self.chance >= USUAL_CHANCE and high <= plate and room.low > 0
        return "within" if within else "at"

    def _starting(self) -> str:
        if self.chance == 1:
            return "It starts and comes up to speed in every case worked."
        return f"It starts and comes up to speed in {100 * self.chance:.0f} of 100 cases worked."

    def _heat(self) -> str:
        if self.room is None:
            return "The insulation class is missing, so the room to the protector's trip is too."
        low, mid, high = (self._rise(abs(end)) for end in self.room)
        side = "below" if self.room.mid >= 0 else "above"
        between = f" ({low} to {high})" if self.room.low > 0 else ""
        letter = self.mounted.motor.insulation_class
        return f"The winding is {mid}{between} {side} the trip of a class {letter} protector."

    def _rise(self, kelvin: float) -> str:
        return show(kelvin, "temperature_rise", self.system, 0)

    def _capacitor(self) -> str:
        low, mid, high = self.bands["capacitor_v"]
        made_for = self.mounted.motor.capacitor_voltage
        marked = "its marking is not known"
        if made_for is not None:
            marked = f"it is made for {made_for:g} V"
        return f"The capacitor sees {mid:.0f} V ({low:.0f} to {high:.0f}); {marked}."

    def _over_amps(self):
        plate, (_, mid, high) = self.mounted.current, self.current
        if plate is not None and high > plate:
            over = "Amps are over" if mid > plate else "Amps may be over"
            most = max(100 * (high / plate - 1), 1)
            yield f"{over} the plate's {plate:g} A, by up to {most:.0f} %."

    def _voltage_out(self):
        low, high = self.mounted.limits
        if not low <= self.voltage <= high:
            made_for = f"{low:.0f} to {high:.0f} V, the plate's volts and 10 % either side"
            yield f"{self.voltage:.0f} V is outside of what the motor is made for: {made_for}."

    def _strained(self):
        for point in self.mounted.strained:
            yield (
                f"The reading at {point.voltage:g} V and the plate hardly go together: read again, "
                "or look for another fan, capacitor or motor than they are taken to be."
            )

    def _capacitor_over(self):
        made_for, sees = self.mounted.motor.capacitor_voltage, self.bands["capacitor_v"].mid
        if made_for is not None and sees > made_for:
            yield f"The capacitor sees more than the {made_for:g} V that it is made for."


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
