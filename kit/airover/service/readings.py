"""Every figure that meters can read on a running motor, simulated for every fault.

Each fault is the expected motor with one quantity changed, by a severity within the edges of its
cells. How common each is, and from which severity on it counts, is engineering judgment, no source.
Heat and airflow are within 15 % and 8 % of the job's at the moment of a reading, the thermal model
within 15 % (engineering judgment). One fault at a time. Shorted turns are watts across the supply;
their own leakage and the place of their heat are left out.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message
from airover.model.conditions import Conditions
from airover.model.cooling import at_temperature, warmed
from airover.model.motor import Load, Motor
from airover.model.simulation import SLIP_RUNNING
from airover.physics.thermal_network import Nodes

HEALTHY = "as expected"
PRIOR_HEALTHY = 0.70


class Fault(NamedTuple):
    """A fault: the ``quantity`` of Changes that it changes, the ``edges`` of its cells, and how
    common it is (``prior``). Its name and what to look at are texts under its ``key``."""

    key: str
    quantity: str
    edges: tuple[float, ...]
    prior: float


FAULTS = (
    Fault("heavy load", "load", (1.12, 1.25, 1.42, 1.7), 0.08),
    Fault("light load", "load", (0.55, 0.75, 0.88), 0.03),
    Fault("weak capacitor", "capacitor", (0.25, 0.4, 0.55, 0.7, 0.88), 0.06),
    Fault("large capacitor", "capacitor", (1.13, 1.4, 1.9), 0.03),
    Fault("shorted turns", "shorted", (0.10, 0.25, 0.5, 1.0), 0.03),
    Fault("hot air", "hotter", (5.0, 12.0, 25.0), 0.04),
    Fault("poor cooling", "cooling", (0.45, 0.62, 0.82), 0.03),
)
BY_KEY = {fault.key: fault for fault in FAULTS}
CAPACITOR_MADE = 0.05  # either side of its marking: common practice
COOLING_MADE = 0.15  # either side of the thermal model, engineering judgment: none was measured
FLOW_HEAVY = (0.6, 1.25)  # a blocked coil, or a bigger fan
FLOW_LIGHT = (0.6, 1.0)


ZERO_CELSIUS = 273.15  # K
FEWEST_RUNNING = 30  # samples of a cell that have to come up to speed for it to count
# How far a unit's heat and airflow may be off at the moment of a reading, either side: engineering
# judgment, no source.
HEAT_NOW, FLOW_NOW = 0.15, 0.08
# Figures that are inferred, not read, and the kind of their unit.
FIGURES = {
    "power_shaft_w": "shaft_power",
    "speed_rpm": "speed",
    "flow_m3s": "flow",
    "temp_winding_c": "temperature",
    "load_share": "share",
    "capacitor_share": "share",
}


class Changes(NamedTuple):
    """Differences from the expected motor on its fan: arrays (cells, samples).

    ``load`` and ``capacitor`` are shares of the expected ones; ``shorted`` the power lost in
    shorted turns over the rated shaft power; ``hotter`` [K] the air into the coil; ``cooling`` a
    share of the motor's conductances to the air; ``flow`` of the airflow at the same speed.
    """

    load: np.ndarray
    capacitor: np.ndarray
    shorted: np.ndarray
    hotter: np.ndarray
    cooling: np.ndarray
    flow: np.ndarray


class Cell(NamedTuple):
    """A part of a ``fault``'s severities, from ``low`` to ``high``; "as expected" has none."""

    fault: str
    low: float
    high: float
    prior: float


def cells() -> tuple[Cell, ...]:
    """The motor as expected, then every fault's cells; their priors add up to 1."""
    found = [Cell(HEALTHY, 0.0, 0.0, PRIOR_HEALTHY)]
    for fault in FAULTS:
        ends = list(zip(fault.edges[:-1], fault.edges[1:], strict=True))
        found += [Cell(fault.key, *pair, fault.prior / len(ends)) for pair in ends]
    return tuple(found)


def changes(kinds: tuple[Cell, ...], samples: int, seed: int) -> Changes:
    """Severities of each of ``kinds``, evenly likely within its ends; the rest as expected."""
    names = ("severity", "made", "cooled", "flow")
    z = normal_draws(np.random.default_rng([seed, 7]), names, samples)
    ones = np.ones((len(kinds), samples))
    made = 1 + uniform((-CAPACITOR_MADE, CAPACITOR_MADE), z["made"])
    cooled = 1 + uniform((-COOLING_MADE, COOLING_MADE), z["cooled"])
    found = Changes(ones.copy(), made * ones, 0 * ones, 0 * ones, cooled * ones, ones.copy())
    for place, cell in enumerate(kinds):
        if cell.fault == HEALTHY:
            continue
        quantity = BY_KEY[cell.fault].quantity
        severity = uniform((cell.low, cell.high), z["severity"])
        getattr(found, quantity)[place] = severity
        if quantity == "load":
            ends = FLOW_HEAVY if cell.low > 1 else FLOW_LIGHT
            found.flow[place] = uniform(ends, z["flow"])
    return found


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


def reading_name(name: str) -> Message:
    """Name of a reading, of the outdoor temperature, or of the pair at the capacitor."""
    return Message(f"verify.name.{name}")


@dataclass(frozen=True)
class Simulated:
    """A motor at the moments of its readings, as expected and with every fault.

    ``readings`` by the names of READINGS and ``figures`` (shaft power [W], speed, airflow [m3/s],
    winding [degC], load and microfarads as shares): arrays (moments, cells, samples). ``runs``
    (cells, samples) are those that come up to speed. ``locked`` are bands of current [A] and power
    [W] of a motor at rest, at the first moment.
    """

    cells: tuple[Cell, ...]
    readings: dict[str, np.ndarray]
    figures: dict[str, np.ndarray]
    runs: np.ndarray
    locked: dict[str, Band]


def simulated(motor: Motor, asked, line, seed: int = 0) -> Simulated:
    """``motor`` at moments whose fan and air ``asked`` (a Conditions each) tells.

    ``line`` holds for each moment the voltage's middle and deviation [V]. Samples of motor and
    conditions are in the same order. Raises InputError out of range.
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
    """Unknowns of the moment of a reading, (samples,): heat and airflow over the job's,
    and how much of the sun there is."""

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
    """Amps and watts with locked rotor, windings cold to hot."""
    ends = []
    for temp in (asked.temp_air, asked.temp_air + 80.0):
        circuit = at_temperature(motor.rated, motor.shell, Nodes.all_at(temp))
        ends.append(circuit.balance(voltage, motor.frequency, 1.0))
    current = np.concatenate([np.abs(at.current) for at in ends])
    power = np.concatenate([at.power_in for at in ends])
    return {"current": Band.of(current), "power": Band.of(power)}
