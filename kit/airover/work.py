"""Every catalogue motor put to work on the job's blade: speed, amps, watts, air, heat.

All motors, all draws of what is uncertain and three line voltages are worked at once, as arrays
of shape (voltages, motors, draws).
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from airover import identify
from airover.bands import Band, normal_draws, uniform
from airover.conditions import Conditions, conditions
from airover.identify import Ensemble, Plate
from airover.physics import heat, insulation
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.operating_point import resettle, settle
from airover.records import CatalogueMotor, Job

DRAWS = 40
LOW, USUAL, HIGH = 0, 1, 2  # places on the voltage axis

# Common practice, no source.
SHELL_DIAMETER = 0.14  # m, where a catalogue does not say
SHELL_LENGTH = 0.14  # m, likewise
WINDING_OVER_SHELL = (10.0, 20.0)  # K at rated losses
FILM_SPREAD = (0.75, 1.25)  # axial or blocked flow against clean cross-flow
ROTOR_OVER_WINDING = 10.0  # K
RATED_AIR_SPEED = 5.0  # m/s (about 1000 ft/min) over a motor on the fan it is rated for
PROMISE_USED = (0.7, 0.95)  # share of the standard's rise that a motor takes at its rating
STILL_AIR = 0.3  # m/s, the draught that a hot shell makes for itself
TEMP_NO_WORK = 250.0  # degC: hotter than any protector allows, so nothing runs there


@dataclass(frozen=True)
class Worked:
    """A job and a catalogue, worked. Arrays are (voltages, motors, draws), SI, degC.

    ``reserve`` (motors, draws) is the breakdown torque at the low voltage over the fan's torque.
    """

    job: Job
    motors: tuple[CatalogueMotor, ...]
    conditions: Conditions
    rated: Ensemble
    starts: np.ndarray
    slip: np.ndarray
    solution: Solution
    temp_winding: np.ndarray
    temp_shell: np.ndarray
    reserve: np.ndarray

    @property
    def draws(self) -> int:
        return self.conditions.draws

    @property
    def speed_ratio(self):
        """Speed over the one at which the blade's load is stated."""
        return self.solution.speed_rpm / self.conditions.speed_rpm

    def warm_circuit(self, voltage: int, number: int) -> CapacitorRun:
        """Motor ``number`` as warm as it gets at one of the three voltages; shape (draws,)."""
        circuit = _at(self.rated, self.temp_winding[voltage])
        return circuit.rearranged(lambda value: np.broadcast_to(value, self.reserve.shape)[number])

    @cached_property
    def figures(self) -> dict[str, np.ndarray]:
        """What people ask of a motor on its blade, each (voltages, motors, draws)."""
        at, asked = self.solution, self.conditions
        current = np.abs(at.current)
        return {
            "speed_rpm": at.speed_rpm,
            "current_a": current,
            "power_in_w": at.power_in,
            "power_shaft_w": at.power_out,
            "efficiency": at.power_out / at.power_in,
            "power_factor": at.power_in / (asked.voltage[:, None, None] * current),
            "flow_m3s": asked.flow * self.speed_ratio,
            "pressure_pa": asked.pressure * self.speed_ratio**2,
            "speed_ratio": self.speed_ratio,
            "capacitor_v": np.abs(at.voltage_capacitor),
            "temp_c": self.temp_winding,
            "rise_k": self.temp_winding - asked.temp_air,
        }

    @cached_property
    def bands(self) -> dict[str, Band]:
        """The same figures as bands over the draws, each member (voltages, motors)."""
        return {name: Band.of(values) for name, values in self.figures.items()}


def work(job: Job, motors, draws: int = DRAWS, seed: int = 0, system: str = "US") -> Worked:
    """Put every one of ``motors`` to work on ``job``; texts in ``system``. Raises InputError."""
    asked = conditions(job, draws, seed, system)
    rated = identify.ensemble(plates(motors), draws, seed)
    shell = _Shell.of(motors, rated, asked, seed)
    voltage = asked.voltage[:, None, None]
    load = np.broadcast_to(asked.coefficient, rated.power.shape)
    first = settle(rated.circuit, voltage, asked.frequency, load)
    slip, temp_shell, temp_winding = _warmed(rated, shell, asked, voltage, load, first)
    circuit = _at(rated, temp_winding)
    solution = circuit.balance(voltage, asked.frequency, slip)
    return Worked(
        job=job,
        motors=tuple(motors),
        conditions=asked,
        rated=rated,
        starts=first.starts,
        slip=slip,
        solution=solution,
        temp_winding=temp_winding,
        temp_shell=temp_shell,
        reserve=_breakdown(circuit.rearranged(_at_low), asked) / asked.torque,
    )


def _at_low(value):
    """The low voltage's part of an array whose first axis is voltages."""
    return value[LOW] if np.ndim(value) == 3 else value


def _breakdown(circuit, asked: Conditions):
    """Highest torque [N m] near the working range, at the low voltage."""
    slips = np.array([0.1, 0.15, 0.2, 0.27, 0.36, 0.5])
    torques = [circuit.balance(asked.voltage[LOW], asked.frequency, slip).torque for slip in slips]
    return np.max(torques, axis=0)


def plates(motors) -> Plate:
    """The plates of catalogue motors at their highest rating, at which their rpm is stated."""

    def of(read):
        return np.array([np.nan if read(motor) is None else read(motor) for motor in motors])

    return Plate(
        voltage=of(lambda motor: motor.voltage_high),
        frequency=of(lambda motor: motor.frequency),
        poles=of(lambda motor: motor.poles),
        power=of(lambda motor: motor.ratings[-1]),
        current=of(lambda motor: motor.currents[-1]),
        speed_rpm=of(lambda motor: motor.speed_rpm),
        capacitance=of(lambda motor: motor.capacitor),
        capacitor_voltage=of(lambda motor: motor.capacitor_voltage),
    )


@dataclass(frozen=True)
class _Shell:
    """The way of the heat, (motors, draws): shell, film factors, winding to shell, and how much
    better than those figures the motor must be cooled if its rating is true."""

    diameter: np.ndarray
    area: np.ndarray
    film_place: np.ndarray
    film_factor: np.ndarray
    winding_to_shell: np.ndarray
    rise_factor: np.ndarray

    @classmethod
    def of(cls, motors, rated: Ensemble, asked: Conditions, seed: int) -> "_Shell":
        rng = np.random.default_rng([seed, 1])
        z = normal_draws(rng, ("place", "factor", "winding", "promise"), asked.draws)
        diameter = np.array([motor.body_diameter or SHELL_DIAMETER for motor in motors])[:, None]
        length = np.array([motor.body_length or SHELL_LENGTH for motor in motors])[:, None]
        loss = rated.at_rating().loss
        bare = cls(
            diameter=diameter,
            area=heat.shell_area(diameter, length),
            film_place=uniform((0.0, 1.0), z["place"]),
            film_factor=uniform(FILM_SPREAD, z["factor"]),
            winding_to_shell=uniform(WINDING_OVER_SHELL, z["winding"]) / loss,
            rise_factor=1.0,
        )
        ambient, promised = _promises(motors)
        _, temp_winding = bare.temperatures(loss, RATED_AIR_SPEED, ambient)
        allowed = promised * uniform(PROMISE_USED, z["promise"])
        return replace(bare, rise_factor=np.minimum(allowed / (temp_winding - ambient), 1.0))

    def temperatures(self, loss, air_speed, temp_air):
        """Shell and average winding temperature [degC] for ``loss`` [W] in this air."""
        film = heat.film_coefficient(self.diameter, np.maximum(air_speed, STILL_AIR), temp_air)
        film = (film.low + self.film_place * (film.high - film.low)) * self.film_factor
        shell = heat.shell_rise(loss, self.area, film, temp_air)
        winding = shell + self.winding_to_shell * loss
        return temp_air + self.rise_factor * shell, temp_air + self.rise_factor * winding


def _promises(motors):
    """Ambient [degC] of each motor's rating and the rise [K] that its class allows there.

    A rating is evidence: the maker holds that the motor, fully loaded in its own fan's air, keeps
    within the standard's rise. Where a catalogue names no class or ambient nothing is promised.
    """
    ambient = np.array([40.0 if m.ambient_rating is None else m.ambient_rating for m in motors])
    rise = [
        np.inf
        if motor.insulation_class is None or motor.ambient_rating is None
        else insulation.rise_limit(motor.insulation_class, temp_ambient=motor.ambient_rating)
        for motor in motors
    ]
    return ambient[:, None], np.array(rise)[:, None]


def _at(rated: Ensemble, temp_winding):
    """The circuits at a winding temperature: copper and the cage's aluminium change."""
    temp = _workable(temp_winding)
    reference = rated.temp_reference
    return rated.circuit.at_temperature(
        heat.resistance_factor(temp, reference),
        heat.resistance_factor(
            temp + ROTOR_OVER_WINDING, reference + ROTOR_OVER_WINDING, "aluminium"
        ),
    )


def _warmed(rated, shell, asked, voltage, load, first, steps=40):
    """Slip, shell and winding temperature [degC] that agree with each other.

    Warmer windings have more resistance, so losses, speed and temperature are found together:
    one Newton step of the slip and one of the temperature in turn. A motor that does not start
    stays at slip 1; one that the heat pulls out of its working range is left where it crawls.
    """
    slip, temp = first.slip, rated.temp_reference + np.zeros(first.slip.shape)
    circuit, at = rated.circuit, first.solution
    for step in range(1, steps):
        if step % 12 == 0:  # something was pulled out: look for its crawling speed from standstill
            slip = settle(circuit, voltage, asked.frequency, load).slip
        air_speed = asked.air_speed * _ratio(rated, slip, asked)
        temp_shell, following = shell.temperatures(at.loss, air_speed, asked.temp_air)
        warmed = np.abs(_workable(following) - _workable(temp))
        temp = following
        circuit = _at(rated, temp)
        stepped = resettle(circuit, voltage, asked.frequency, load, slip, at.emf)
        stepped = np.where(first.starts, stepped, 1.0)
        moved = np.abs(stepped - slip)
        slip = stepped
        at = circuit.balance(voltage, asked.frequency, slip, at.emf)
        if np.max(moved) < 1e-6 and np.max(warmed) < 0.02:
            return slip, temp_shell, temp
    raise ArithmeticError("a motor's speed and temperature found no balance")


def _workable(temp):
    return np.minimum(temp, TEMP_NO_WORK)


def _ratio(rated, slip, asked):
    synchronous = 120 * asked.frequency / rated.circuit.poles
    return (1 - slip) * synchronous / asked.speed_rpm
