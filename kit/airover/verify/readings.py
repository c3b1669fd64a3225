"""What meters show of a running motor: every figure that can be read, simulated for every fault."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.message import Message
from airover.motor.conditions import Conditions
from airover.motor.one import SLIP_RUNNING, Load, Motor
from airover.motor.warm import at_temperature, warmed
from airover.physics.thermal import Nodes
from airover.verify.faults import Cell, Changes, cells, changes

ZERO_CELSIUS = 273.15  # K
FEWEST_RUNNING = 30  # samples of a cell that have to come up to speed for it to count
# How far a unit's heat and airflow may be off at the moment of a reading, either side: engineering
# judgment, no source.
HEAT_NOW, FLOW_NOW = 0.15, 0.08


class ReadingKind(NamedTuple):
    """A figure that can be read: the ``kind`` of its unit, the ``meter`` in ``records.Meters``, and
    whether it is ``scaled`` (handled as a logarithm)."""

    kind: str
    meter: str
    scaled: bool


READINGS = {
    "voltage": ReadingKind("voltage", "voltage", True),
    "current": ReadingKind("current", "current", True),
    "power": ReadingKind("watts", "power", True),
    "speed_rpm": ReadingKind("speed", "speed", False),
    "capacitor_voltage": ReadingKind("voltage", "voltage", True),
    "capacitor_current": ReadingKind("current", "current", True),
    "entering_temperature": ReadingKind("temperature", "temperature", False),
    "motor_air_temperature": ReadingKind("temperature", "temperature", False),
    "leaving_temperature": ReadingKind("temperature", "temperature", False),
    "shell_temperature": ReadingKind("temperature", "shell", False),
    "winding_temperature": ReadingKind("temperature", "resistance", False),
}
# Figures that are inferred, not read, and the kind of their unit.
FIGURES = {
    "power_shaft_w": "watts",
    "speed_rpm": "speed",
    "flow_m3s": "flow",
    "temp_winding_c": "temperature",
    "load_share": "share",
    "capacitor_share": "share",
}


def reading_name(name: str) -> Message:
    """Name of a reading, of the outdoor temperature, or of the pair at the capacitor."""
    return Message(f"verify.name.{name}")


@dataclass(frozen=True)
class Simulated:
    """A motor at the moments of its readings, as expected and with every fault.

    ``readings`` by the names of READINGS and ``figures`` (shaft power [W], speed, airflow [m3/s],
    winding [degC], load and microfarads as shares): arrays (moments, cells, samples). ``runs``
    (cells, samples) are those that come up to speed. ``locked`` are bands of current [A] and power
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
    samples = len(motor.rated.power)
    changed = changes(kinds, samples, seed)
    now = _of_the_moment(samples, seed)
    voltage = np.stack([_voltages(*pair, samples, seed) for pair in line])[:, None, :]
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


def _voltages(middle: float, deviation: float, samples: int, seed: int) -> np.ndarray:
    z = normal_draws(np.random.default_rng([seed, 8]), ["voltage"], samples)["voltage"]
    return middle + deviation * z


class _Now(NamedTuple):
    """What nobody knows of the moment of a reading, (samples,): heat and airflow over the job's, and
    how much of the sun there is."""

    heat: np.ndarray
    flow: np.ndarray
    sun: np.ndarray


def _of_the_moment(samples: int, seed: int) -> _Now:
    z = normal_draws(np.random.default_rng([seed, 9]), ("heat", "flow", "sun"), samples)
    heat, flow = (
        uniform((1 - wide, 1 + wide), z[name])
        for wide, name in ((HEAT_NOW, "heat"), (FLOW_NOW, "flow"))
    )
    return _Now(heat, flow, uniform((0.0, 1.0), z["sun"]))


def _loads(asked: list[Conditions], changed: Changes, now: _Now):
    """Load at each moment with every change, (moments, cells, samples), and the air around it.

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
