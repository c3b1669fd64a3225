"""What meters show of a running motor: every figure that can be read, simulated for every fault."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.conditions import Conditions
from airover.faults import Cell, Changes, cells, changes
from airover.motor import SLIP_RUNNING, Load, Motor
from airover.physics.thermal import Nodes
from airover.warm import at_temperature, warmed

ZERO_CELSIUS = 273.15  # K
FEWEST_RUNNING = 30  # draws of a cell that have to come up to speed for it to count
VOLTAGE_LOOKED_AT = 0.012  # least deviation of the voltages around the one that was read, a share


class Shown(NamedTuple):
    """A figure that can be read: its name in ``words``, the ``kind`` of its unit, the ``meter`` in
    ``records.Meters``, whether it is ``scaled`` (worked in logarithms), and how it is ``measured``."""

    words: str
    kind: str
    meter: str
    scaled: bool
    measured: str


READINGS = {
    "voltage": Shown("volts", "voltage", "voltage", True, "Read the volts at the motor's leads"),
    "current": Shown("amps", "current", "current", True, "Clamp one line lead for the amps"),
    "power": Shown("watts", "meter_power", "power", True, "Read the watts with a wattmeter"),
    "speed_rpm": Shown("rpm", "speed", "speed", False, "Read the rpm with a strobe or tachometer"),
    "capacitor_voltage": Shown(
        "capacitor volts", "voltage", "voltage", True, "Read the volts across the capacitor"
    ),
    "capacitor_current": Shown(
        "capacitor amps", "current", "current", True, "Clamp one lead of the capacitor"
    ),
    "entering_temperature": Shown(
        "air into the coil", "temperature", "temperature", False,
        "Read the air's temperature at the coil's face",
    ),
    "motor_air_temperature": Shown(
        "air at the motor", "temperature", "temperature", False,
        "Read the temperature of the air at the motor",
    ),
    "leaving_temperature": Shown(
        "air out of the coil", "temperature", "temperature", False,
        "Read the temperature of the air behind the coil",
    ),
    "shell_temperature": Shown(
        "shell", "temperature", "shell", False, "Read the temperature of the motor's shell"
    ),
    "winding_temperature": Shown(
        "winding, by resistance", "temperature", "resistance", False,
        "Read the winding's resistance cold, and again just after switching off",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Simulated:
    """A motor at the moments of its readings, as expected and with every fault.

    ``readings`` by the names of READINGS and ``figures`` (shaft power [W], speed, airflow [m3/s],
    winding [degC], load and microfarads as shares): arrays (moments, cells, draws). ``runs``
    (cells, draws) are those that come up to speed. ``locked`` are bands of current [A] and power
    [W] of a motor that stands, at the first moment.
    """

    cells: tuple[Cell, ...]
    readings: dict[str, np.ndarray]
    figures: dict[str, np.ndarray]
    runs: np.ndarray
    locked: dict[str, Band]


def simulated(motor: Motor, asked, volts, seed: int = 0) -> Simulated:
    """``motor`` at moments whose blade and air ``asked`` (a Conditions each) tells.

    ``volts`` holds for each moment the voltage's middle and deviation [V]. Draws of motor and
    conditions stand in the same order. Raises InputError out of range.
    """
    kinds = cells()
    draws = len(motor.rated.power)
    changed = changes(kinds, draws, seed)
    voltage = np.stack([_voltages(*pair, draws, seed) for pair in volts])[:, None, :]
    load, air = _loads(asked, changed)
    faulty = _with_faults(motor, changed)
    warm = warmed(
        faulty.rated, faulty.shell, load.air, voltage, motor.frequency, load.coefficient,
        motor.settle,
    )  # fmt: skip
    at = warm.solution
    turns = at.speed_rpm / load.air.speed_rpm
    shape = at.speed_rpm.shape
    readings = {
        "voltage": np.broadcast_to(voltage, shape),
        "current": np.abs(at.current),
        "power": at.power_in,
        "speed_rpm": at.speed_rpm,
        "capacitor_voltage": np.abs(at.voltage_capacitor),
        "capacitor_current": np.abs(at.current_aux),
        "entering_temperature": air["entering"],
        "motor_air_temperature": air["leaving"],
        "leaving_temperature": air["leaving"],
        "shell_temperature": warm.temp_shell,
        "winding_temperature": warm.temp_winding,
    }
    figures = {
        "power_shaft_w": at.power_out,
        "speed_rpm": at.speed_rpm,
        "flow_m3s": air["flow"] * turns,
        "temp_winding_c": warm.temp_winding,
        "load_share": load.coefficient / _middle_load(asked),
        "capacitor_share": np.broadcast_to(changed.capacitor, shape),
    }
    runs = (warm.slip < SLIP_RUNNING).all(axis=0)
    return Simulated(kinds, readings, figures, runs, _locked(motor, voltage[0, 0], asked[0]))


def _voltages(middle: float, deviation: float, draws: int, seed: int) -> np.ndarray:
    z = normal_draws(np.random.default_rng([seed, 8]), ["voltage"], draws)["voltage"]
    return middle + deviation * z


def _loads(asked: list[Conditions], changed: Changes):
    """Load at each moment with every change, (moments, cells, draws), and the air around it.

    The density follows the air's temperature; the coil's rise goes with the inverse of the flow.
    """

    def stacked(name):
        return np.stack([getattr(one, name) for one in asked])[:, None, :]

    before, speed_rpm = stacked("temp_air"), stacked("speed_rpm")
    entering = stacked("temp_entering") + changed.hotter
    rise = (before - stacked("temp_entering")) / changed.flow
    leaving = entering + rise
    thinner = (before + ZERO_CELSIUS) / (leaving + ZERO_CELSIUS)
    coefficient = stacked("coefficient") * changed.load * thinner
    stream = Load.of(asked[0]).air._replace(
        temp_air=leaving,
        speed=stacked("cooling_speed") * changed.flow,
        speed_rpm=speed_rpm,
        sun=stacked("sun") * uniform((0.0, 1.0), _sky(asked)),  # any hour of the day
    )
    air = {"entering": entering, "leaving": leaving, "flow": stacked("flow") * changed.flow}
    air["entering"] = np.broadcast_to(entering, leaving.shape)
    return Load(coefficient, stream), air


def _sky(asked: list[Conditions]) -> np.ndarray:
    return normal_draws(np.random.default_rng(9), ["sky"], asked[0].draws)["sky"]


def _middle_load(asked: list[Conditions]) -> np.ndarray:
    return np.stack([np.median(one.coefficient) for one in asked])[:, None, None]


def _with_faults(motor: Motor, changed: Changes) -> Motor:
    """The motor with its capacitor, shorted turns (watts across the line) and cooling changed."""
    rated, circuit = motor.rated, motor.rated.circuit
    extra = changed.shorted * rated.power / rated.voltage**2
    circuit = replace(
        circuit,
        capacitance=circuit.capacitance * changed.capacitor,
        core_conductance=circuit.core_conductance + extra,
    )
    shell = replace(motor.shell, network=motor.shell.network.better(changed.cooling))
    return replace(motor, rated=replace(rated, circuit=circuit), shell=shell)


def _locked(motor: Motor, voltage, asked: Conditions) -> dict[str, Band]:
    """Amps and watts of a rotor that stands, its windings cold to hot."""
    ends = []
    for temp in (asked.temp_air, asked.temp_air + 80.0):
        circuit = at_temperature(motor.rated, motor.shell, Nodes.all_at(temp))
        ends.append(circuit.balance(voltage, motor.frequency, 1.0))
    current = np.concatenate([np.abs(at.current) for at in ends])
    power = np.concatenate([at.power_in for at in ends])
    return {"current": Band.of(current), "power": Band.of(power)}
