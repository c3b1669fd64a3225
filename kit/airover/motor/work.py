"""Every catalogue motor put to work on the job's blade: speed, amps, watts, air, heat.

All motors, all draws of what is uncertain and three line voltages are worked at once, as arrays
of shape (voltages, motors, draws).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from airover import identify
from airover.bands import Band
from airover.identify import Ensemble, Plate
from airover.motor.conditions import Conditions, conditions
from airover.motor.warm import Body, Shell, Stream, at_temperature, warmed
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.thermal import Nodes
from airover.records import CatalogueMotor, Job

DRAWS = 40
LOW, USUAL, HIGH = 0, 1, 2  # places on the voltage axis


@dataclass(frozen=True)
class Worked:
    """A job and a catalogue, worked. Arrays are (voltages, motors, draws), SI, degC.

    ``nodes`` [degC] are the whole thermal network, ``temp_winding`` what resistance would show;
    ``reserve`` (motors, draws) is the breakdown torque at the low voltage over the fan's torque.
    """

    job: Job
    motors: tuple[CatalogueMotor, ...]
    conditions: Conditions
    rated: Ensemble
    shell: Shell
    starts: np.ndarray
    slip: np.ndarray
    solution: Solution
    nodes: Nodes
    temp_winding: np.ndarray
    reserve: np.ndarray

    @property
    def draws(self) -> int:
        return self.conditions.draws

    @property
    def temp_shell(self):
        return self.nodes.shell

    @property
    def speed_ratio(self):
        """Speed over the one at which the blade's load is stated."""
        return self.solution.speed_rpm / self.conditions.speed_rpm

    def warm_circuit(self, voltage: int, number: int) -> CapacitorRun:
        """Motor ``number`` as warm as it gets at one of the three voltages; shape (draws,)."""
        circuit = at_temperature(self.rated, self.shell, self.nodes.part(voltage))
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
    shell = Shell.of(bodies(motors), rated, seed)
    air = Stream(asked.temp_air, asked.cooling_speed, asked.speed_rpm, asked.sun)
    voltage = asked.voltage[:, None, None]
    warm = warmed(rated, shell, air, voltage, asked.frequency, asked.coefficient)
    circuit = at_temperature(rated, shell, warm.nodes).rearranged(_at_low)
    return Worked(
        job=job,
        motors=tuple(motors),
        conditions=asked,
        rated=rated,
        shell=shell,
        starts=warm.starts,
        slip=warm.slip,
        solution=warm.solution,
        nodes=warm.nodes,
        temp_winding=warm.temp_winding,
        reserve=breakdown_torque(circuit, asked.voltage[LOW], asked.frequency) / asked.torque,
    )


def _at_low(value):
    """The low voltage's part of an array whose first axis is voltages."""
    return value[LOW] if np.ndim(value) == 3 else value


def breakdown_torque(circuit: CapacitorRun, voltage, frequency):
    """Highest torque [N m] near the working range, at ``voltage`` [V] and ``frequency`` [Hz].

    The highest of six slips; arrays broadcast.
    """
    slips = np.array([0.1, 0.15, 0.2, 0.27, 0.36, 0.5])
    torques = [circuit.balance(voltage, frequency, slip).torque for slip in slips]
    return np.max(torques, axis=0)


def plates(motors) -> Plate:
    """The plates of catalogue motors at their highest rating, at which their rpm is stated."""

    def of(read):
        return [read(motor) for motor in motors]  # Plate takes None as not known

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


def bodies(motors) -> Body:
    """The bodies of catalogue motors."""
    return Body.of(
        (m.body_diameter, m.body_length, m.ambient_rating, m.insulation_class) for m in motors
    )
