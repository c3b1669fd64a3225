"""Start of a fan followed in time, with the median circuit of a nameplate.

Cold windings, as at the first start of a day. One circuit stands for all of them, the one whose
torque at standstill is the middle one; the chance of starting over all of them is `one.Run`'s.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.motor.one import Load, Motor
from airover.motor.warm import at_temperature
from airover.physics.thermal import Nodes
from airover.physics.transient import RunUp, disc_inertia, run_up

# Common practice, no source: a 22 in. fan of sheet metal, and the rotor of a 48 frame.
BLADE_MASS, BLADE_DIAMETER = 1.4, 0.56  # kg, m
ROTOR_MASS, ROTOR_DIAMETER, ROTOR_GYRATION = 1.5, 0.08, 0.71  # kg, m, of a plain cylinder


class StartCase(NamedTuple):
    """A start: its ``name``, line ``voltage`` [V], ``capacitor`` as a share of the right
    microfarads, and the speed [rpm] at which wind would turn the idle fan (minus: backward)."""

    name: str
    voltage: float
    capacitor: float = 1.0
    wind_rpm: float = 0.0


@dataclass(frozen=True)
class Start:
    """How one ``case`` went."""

    case: StartCase
    run_up: RunUp


def usual_cases(voltage, lowest) -> tuple[StartCase, ...]:
    """Starts worth looking at: at ``voltage`` [V], at the ``lowest`` [V] of the nameplate's range, with
    half a capacitor, and against wind."""
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
