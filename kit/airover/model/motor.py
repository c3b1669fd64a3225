"""Motor with a fan at any voltage, capacitance and rating.

A `Motor` uses the same ensemble and the same function, `model.cooling.warmed`, as the `simulation`
of a job. Arrays have shape (steps, samples), where a step is a voltage, a capacitor or a rating.
Results are 90 % ranges. `beside` compares a multi-rating motor with single-rating motors to show
the cost of excess power.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message
from airover.model import identify
from airover.model.conditions import HOURS_A_YEAR, Conditions, as_printed
from airover.model.cooling import AirStream, Body, Shell, Warm, at_temperature, warmed
from airover.model.identify import Ensemble
from airover.model.simulation import (
    SAMPLES,
    SLIP_RUNNING,
    bodies,
    catalog_ratings,
    identify_motors,
    lower_ratings,
)
from airover.physics import circuit as capacitor
from airover.physics import insulation
from airover.physics.circuit import Solution
from airover.physics.compiled import quickest
from airover.physics.operating_point import BREAKAWAY, fan_coefficient
from airover.records.catalog import CatalogMotor
from airover.records.nameplate import Nameplate

UNNAMED = "the motor"  # name of a motor known from its nameplate
USUAL_AMBIENT = 40.0  # degC, if neither the site nor the rating provides a value


RATED_STREAM = 5.0  # m/s at a motor with its rated fan, common practice


SHARES = (0.5, 0.8, 0.9, 1.0, 1.1, 1.33, 2.0)
TEMP_CAPACITOR = 55.0  # degC in the control box of a unit on a hot day, common practice


SAME_POWER = 0.01  # ratings within this fraction count as the same horsepower


class Load(NamedTuple):
    """Load of a motor: fan coefficient [N m s^2], and air at the motor.

    Samples lie along the last axis, or a single value applies to all samples.
    """

    coefficient: np.ndarray
    air: AirStream

    @classmethod
    def of(cls, conditions: Conditions) -> "Load":
        """Create a Load from the conditions of a job."""
        return cls(conditions.coefficient, AirStream.of(conditions))


@dataclass(frozen=True)
class Motor:
    """Motor identified from its nameplate and readings.

    Attributes
    ----------
    rated : Ensemble
        Ensemble of equivalent circuits, shape (samples,).
    shell : Shell
        Thermal network.
    name : str
        Name of the motor.
    power : float or None
        Power [W] at the highest nameplate rating, or None if unreadable.
    current : float or None
        Current [A] at the highest nameplate rating, or None if unreadable.
    insulation_class : str or None
        Insulation class.
    ambient : float or None
        Rated ambient temperature [degC].
    capacitor_voltage : float or None
        Rated voltage [V] of the capacitor.
    settle : Callable
        Function that solves for the operating point. The function is compiled if numba is
        available.
    """

    rated: Ensemble
    shell: Shell
    name: str
    power: float | None
    current: float | None
    insulation_class: str | None
    ambient: float | None
    capacitor_voltage: float | None
    settle: Callable = quickest

    @classmethod
    def from_nameplate(cls, nameplate: Nameplate, samples=SAMPLES, seed=0, measured=()) -> "Motor":
        """Create a Motor from a nameplate and readings on the running motor.

        May raise InputError.
        """
        if not measured:
            return _unmeasured(nameplate, samples, seed)
        rated = identify.from_nameplate(nameplate, samples, seed, measured)
        return cls._of(rated, nameplate, seed)

    @classmethod
    def _of(cls, rated: Ensemble, nameplate: Nameplate, seed: int) -> "Motor":
        body = (nameplate.body_diameter, nameplate.body_length, nameplate.ambient_rating)
        facts = (*(_mid(amount) for amount in body), nameplate.insulation_class)
        return cls(
            rated=rated,
            shell=Shell.of(Body.of([facts]).first(), rated, seed),
            name=UNNAMED,
            power=_mid(nameplate.power),
            current=_mid(nameplate.current),
            insulation_class=nameplate.insulation_class,
            ambient=facts[2],
            capacitor_voltage=_mid(nameplate.capacitor_voltage),
        )

    @classmethod
    def from_catalog(cls, motor: CatalogMotor, samples=SAMPLES, seed=0, measured=()) -> "Motor":
        """Create a Motor from a catalog motor, with the same results as `simulation.simulate`.

        ``measured`` are readings on the motor in SI units. May raise InputError.
        """
        rated, shell = identify_motors((motor,), samples, seed)
        if measured:
            points = [*lower_ratings((motor,)), *measured]
            rated = identify.ensemble(catalog_ratings((motor,)), samples, seed, points)
            shell = Shell.of(bodies((motor,)), rated, seed)
        shape = rated.power.shape

        def first(value):
            return np.broadcast_to(value, shape)[0]

        return cls(
            rated=rated.rearranged(first),
            shell=shell.rearranged(first),
            name=motor.name,
            power=motor.ratings[-1],
            current=motor.currents[-1],
            insulation_class=motor.insulation_class,
            ambient=motor.ambient_rating,
            capacitor_voltage=motor.capacitor_voltage,
        )

    @property
    def of_catalog(self) -> bool:
        """True for a catalog motor, False for a motor known only from its nameplate."""
        return self.name != UNNAMED

    @property
    def voltage(self) -> float:
        """Rated voltage [V]."""
        return float(self.rated.voltage.flat[0])

    @property
    def frequency(self) -> float:
        return float(np.ravel(self.rated.circuit.frequency)[0])

    @property
    def poles(self) -> int:
        return int(np.ravel(self.rated.circuit.poles)[0])

    def rated_load(self, power=None, speed_rpm=None) -> Load:
        """Return a cube-law fan load that matches the rating, or ``power`` [W] at ``speed_rpm``."""
        speed = self.rated.speed_rpm if speed_rpm is None else speed_rpm
        coefficient = fan_coefficient(self.rated.power if power is None else power, speed)
        ambient = USUAL_AMBIENT if self.ambient is None else self.ambient
        return Load(coefficient, AirStream(ambient, RATED_STREAM, speed))

    def with_capacitor(self, capacitance) -> "Motor":
        """Return the same motor with a different capacitance [F]."""
        circuit = replace(self.rated.circuit, capacitance=capacitance)
        return replace(self, rated=replace(self.rated, circuit=circuit))

    def run(self, load: Load, voltage) -> "Run":
        """Return the warmed-up motor with a load at one or more voltages [V]."""
        voltage = np.atleast_1d(np.asarray(voltage, dtype=float))
        volts, fan = voltage[:, None], load.coefficient
        warm = warmed(self.rated, self.shell, load.air, volts, self.frequency, fan, self.settle)
        return Run(self, load, voltage, warm)


@lru_cache(maxsize=64)
def _unmeasured(nameplate: Nameplate, samples: int, seed: int) -> Motor:
    rated, used, _ = as_printed(nameplate, samples, seed)
    return Motor._of(rated, used, seed)


@dataclass(frozen=True)
class Run:
    """Motor running with a load, as arrays of shape (voltages, samples)."""

    motor: Motor
    load: Load
    voltage: np.ndarray
    warm: Warm

    @property
    def solution(self) -> Solution:
        return self.warm.solution

    def figures(self) -> dict[str, np.ndarray]:
        """Return the results, with names that include the units.

        The results are current, power, speed, torque, efficiency, power factor and heat.
        """
        at = self.solution
        current = np.abs(at.current)
        return {
            "current_a": current,
            "power_in_w": at.power_in,
            "power_shaft_w": at.power_out,
            "speed_rpm": at.speed_rpm,
            "torque_nm": at.torque,
            "efficiency": at.power_out / at.power_in,
            "power_factor": at.power_in / (self.voltage[:, None] * current),
            "capacitor_v": np.abs(at.voltage_capacitor),
            "temp_winding_c": self.warm.temp_winding,
        }

    def bands(self) -> dict[str, Band]:
        """Return the results as 90 % ranges, each with shape (voltages,)."""
        return {name: Band.of(values) for name, values in self.figures().items()}

    def first_bands(self) -> dict[str, Band]:
        """Return the 90 % ranges at the first voltage as numbers."""
        return {name: band.first() for name, band in self.bands().items()}

    def part(self, which: slice) -> "Run":
        """Return the run at selected voltages."""
        return replace(self, voltage=self.voltage[which], warm=self.warm.part(which))

    def starting(self) -> np.ndarray:
        """Return the ratio of warm standstill torque to fan torque at synchronous speed.

        The result has shape (voltages, samples). If the ratio is below `operating_point.BREAKAWAY`,
        bearing friction prevents the motor from starting.
        """
        circuit = at_temperature(self.motor.rated, self.motor.shell, self.warm.nodes)
        torque = circuit.balance(self.voltage[:, None], self.motor.frequency, 1.0).torque
        synchronous = 4 * np.pi * self.motor.frequency / self.motor.poles
        return torque / (self.load.coefficient * synchronous**2)

    def chance_of_start(self) -> np.ndarray:
        """Return the fraction of samples that start and run when warm, shape (voltages,)."""
        runs = (self.starting() > BREAKAWAY) & (self.warm.slip < SLIP_RUNNING)
        return runs.mean(axis=1)

    def room_to_trip(self) -> Band | None:
        """Return the margin [K] from winding temperature to trip temperature, shape (voltages,)."""
        if self.motor.insulation_class is None:
            return None
        trip = float(insulation.protector_limit(self.motor.insulation_class))
        return Band.of(trip - self.warm.temp_winding)


class CapacitorStep(NamedTuple):
    """Motor with a given capacitor. Results are 90 % ranges.

    Attributes
    ----------
    share : float
        Capacitance as a fraction of the correct value.
    capacitance : float
        Capacitance [F].
    current : Band
        Line current [A].
    power_in : Band
        Input power [W].
    temp_winding : Band
        Average winding temperature [degC].
    voltage_capacitor : Band
        Capacitor voltage [V].
    starting : Band
        Ratio of standstill torque to fan torque, as in `Run.starting`.
    chance_of_start : float
        Fraction of samples in which the motor starts.
    life : Band or None
        Life [h] of the capacitor, or None if its marked voltage is not known.
    """

    share: float
    capacitance: float
    current: Band
    power_in: Band
    temp_winding: Band
    voltage_capacitor: Band
    starting: Band
    chance_of_start: float
    life: Band | None


def capacitors(motor: Motor, load: Load, voltage, shares=SHARES, temp_capacitor=TEMP_CAPACITOR):
    """Return the motor with weak and oversized capacitors at a ``voltage`` [V].

    ``temp_capacitor`` is the capacitor temperature [degC]. Capacitor life depends on this
    temperature and on the voltage across the capacitor. Capacitor class B per IEC 60252-1 is
    assumed.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    right, made_for = motor.rated.circuit.capacitance, motor.capacitor_voltage
    volts = np.full(len(shares), voltage)  # one row for each capacitor
    run = motor.with_capacitor(np.multiply.outer(shares, right)).run(load, volts)
    bands = run.bands() | {"starting": Band.of(run.starting())}
    steps = []
    for at, (share, chance) in enumerate(zip(shares, run.chance_of_start().tolist(), strict=True)):
        one = {name: Band(*(float(ends[at]) for ends in band)) for name, band in bands.items()}
        across, hours = one["capacitor_v"], None
        if made_for is not None:  # the highest voltage gives the shortest life
            lives = (capacitor.life(v, temp_capacitor, made_for) for v in across[::-1])
            hours = Band(*map(float, lives))
        step = CapacitorStep(
            share=share,
            capacitance=float(np.median(right)) * share,
            current=one["current_a"],
            power_in=one["power_in_w"],
            temp_winding=one["temp_winding_c"],
            voltage_capacitor=across,
            starting=one["starting"],
            chance_of_start=chance,
            life=hours,
        )
        steps.append(step)
    return tuple(steps)


class RatingStep(NamedTuple):
    """Current and energy use of a motor with a fan that matches one of its ratings."""

    power: float
    plate_current: float
    bands: dict[str, Band]
    energy: Band  # kWh per year


def ratings(motor: CatalogMotor, voltage, hours=HOURS_A_YEAR, samples=SAMPLES, seed=0):
    """Return a motor with a cube-law fan that matches each of its ratings, at a ``voltage`` [V].

    ``hours`` is the running time per year [h], from which the energy use is calculated. A
    comparison with a single-rating motor shows the cost of excess power. May raise InputError.
    """
    if hours <= 0:
        raise InputError("hours", f"{hours:g} h", Message("error.plate.hours"))
    known = Motor.from_catalog(motor, samples, seed)
    steps = []
    for power, current in zip(motor.ratings, motor.currents, strict=True):
        run = known.run(known.rated_load(power, motor.speed_rpm), voltage)
        bands = run.first_bands()
        energy = bands["power_in_w"].scaled(hours / 1000)
        steps.append(RatingStep(power, current, bands, energy))
    return tuple(steps)


class Beside(NamedTuple):
    """Comparison of a multi-rating motor with a single-rating motor.

    Attributes
    ----------
    power : float
        Rated power [W] of the fan.
    step : RatingStep
        Multi-rating motor.
    other, other_step
        Single-rating motor, or None if the catalog does not have one.
    """

    power: float
    step: RatingStep
    other: CatalogMotor | None
    other_step: RatingStep | None


def dedicated(motor: CatalogMotor, motors, power) -> CatalogMotor | None:
    """Return the single-rating motor with the lowest nameplate amps for a ``power`` [W].

    The voltage, frequency and number of poles match ``motor``.
    """
    same = [
        one
        for one in motors
        if len(one.ratings) == 1
        and abs(one.ratings[0] / power - 1) < SAME_POWER
        and _line(one) == _line(motor)
    ]
    return min(same, key=lambda one: one.currents[0], default=None)


def beside(motor: CatalogMotor, motors, voltage) -> tuple[Beside, ...]:
    """Compare a motor with single-rating motors at each of its ratings.

    ``voltage`` is the supply voltage [V]. The energy in each step is for one hour [kWh]. May raise
    InputError.
    """
    steps = ratings(motor, voltage, hours=1.0, samples=SAMPLES)
    found = []
    for power, step in zip(motor.ratings, steps, strict=True):
        other = dedicated(motor, motors, power)
        other_step = None if other is None else _on_fan(other, power, motor.speed_rpm, voltage)
        found.append(Beside(power, step, other, other_step))
    return tuple(found)


def _mid(amount):
    return None if amount is None else amount.mid


def _on_fan(motor: CatalogMotor, power, speed_rpm, voltage) -> RatingStep:
    known = Motor.from_catalog(motor, SAMPLES)
    run = known.run(known.rated_load(power, speed_rpm), voltage)
    bands = run.first_bands()
    return RatingStep(power, motor.currents[0], bands, bands["power_in_w"].scaled(1e-3))


def _line(motor: CatalogMotor) -> tuple:
    return motor.phase, motor.voltage_low, motor.voltage_high, motor.frequency, motor.poles
