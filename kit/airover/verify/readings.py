"""What meters show of a running motor: every figure that can be read, simulated for every fault."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.motor.conditions import Conditions
from airover.motor.one import SLIP_RUNNING, Load, Motor
from airover.motor.warm import at_temperature, warmed
from airover.physics.thermal import Nodes
from airover.units import show
from airover.verify.faults import Cell, Changes, cells, changes

ZERO_CELSIUS = 273.15  # K
FEWEST_RUNNING = 30  # draws of a cell that have to come up to speed for it to count
# Own judgement: what a unit's heat and airflow may differ at the moment of a reading, either side.
HEAT_NOW, FLOW_NOW = 0.15, 0.08


class Shown(NamedTuple):
    """A figure that can be read: its name in ``words``, the ``kind`` of its unit, the ``meter`` in
    ``records.Meters``, whether it is ``scaled`` (worked in logarithms), how it is ``measured``."""

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
        "main winding, by resistance", "temperature", "resistance", False,
        "Read the main winding's resistance cold, and again just after switching off",
    ),
}  # fmt: skip


# What nobody reads but what follows: in words, and the kind of its unit ("share": of 1).
FIGURES = {
    "power_shaft_w": ("shaft power", "meter_power"),
    "speed_rpm": ("speed", "speed"),
    "flow_m3s": ("airflow", "flow"),
    "temp_winding_c": ("winding, average", "temperature"),
    "load_share": ("load over the expected one", "share"),
    "capacitor_share": ("microfarads over the right ones", "share"),
}


def told(kind: str, value: float, system: str) -> str:
    """``value`` [SI unit of ``kind``] as people of ``system`` read it; what goes into or comes out
    of this motor is in watts for both."""
    return f"{value:.0f} W" if kind == "meter_power" else show(value, kind, system)


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


def simulated(motor: Motor, asked, line, seed: int = 0) -> Simulated:
    """``motor`` at moments whose blade and air ``asked`` (a Conditions each) tells.

    ``line`` holds for each moment the voltage's middle and deviation [V]. Draws of motor and
    conditions stand in the same order. Raises InputError out of range.
    """
    kinds = cells()
    draws = len(motor.rated.power)
    changed = changes(kinds, draws, seed)
    now = _of_the_moment(draws, seed)
    voltage = np.stack([_voltages(*pair, draws, seed) for pair in line])[:, None, :]
    load, air = _loads(asked, changed, now)
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
        "winding_temperature": warm.nodes.winding_main,
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


class _Now(NamedTuple):
    """What nobody knows of the moment of a reading, (draws,): heat and airflow over the job's, and
    how much of the sun there is."""

    heat: np.ndarray
    flow: np.ndarray
    sun: np.ndarray


def _of_the_moment(draws: int, seed: int) -> _Now:
    z = normal_draws(np.random.default_rng([seed, 9]), ("heat", "flow", "sun"), draws)
    heat, flow = (
        uniform((1 - wide, 1 + wide), z[name])
        for wide, name in ((HEAT_NOW, "heat"), (FLOW_NOW, "flow"))
    )
    return _Now(heat, flow, uniform((0.0, 1.0), z["sun"]))


def _loads(asked: list[Conditions], changed: Changes, now: _Now):
    """Load at each moment with every change, (moments, cells, draws), and the air around it.

    The density follows the air's temperature; the coil's rise goes with the inverse of the flow.
    """
    flow = changed.flow * now.flow

    def stacked(name):
        return np.stack([getattr(one, name) for one in asked])[:, None, :]

    before, speed_rpm = stacked("temp_air"), stacked("speed_rpm")
    entering = stacked("temp_entering") + changed.hotter
    rise = (before - stacked("temp_entering")) * now.heat / flow
    leaving = entering + rise
    thinner = (before + ZERO_CELSIUS) / (leaving + ZERO_CELSIUS)
    coefficient = stacked("coefficient") * changed.load * thinner
    stream = Load.of(asked[0]).air._replace(
        temp_air=leaving,
        speed=stacked("cooling_speed") * flow,
        speed_rpm=speed_rpm,
        sun=stacked("sun") * now.sun,
    )
    entering = np.broadcast_to(entering, leaving.shape)
    air = {"entering": entering, "leaving": leaving, "flow": stacked("flow") * flow}
    return Load(coefficient, stream), air


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
