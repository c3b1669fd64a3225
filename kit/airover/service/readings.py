"""Simulate all quantities that can be measured on a running motor, for each fault.

Each fault is modeled as the expected motor with one quantity changed, by an amount within the
limits of the fault's severity cells. The prior probability of each fault and the minimum severity
that counts as a fault are based on engineering judgment (no source). When a reading is taken, the
heat is assumed to be within 15 % and the airflow within 8 % of the job values, and the thermal
model is assumed to be accurate within 15 % (engineering judgment). Only one fault is assumed to be
present at a time. Shorted turns are modeled as a load connected across the supply. The change in
leakage reactance and the location of the heat are not modeled.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.core.errors import TEMP_AIR
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
    """Motor or system fault.

    The name of the fault and the inspection advice are stored in the text files under its ``key``.

    Attributes
    ----------
    quantity : str
        Field of Changes that the fault changes.
    edges : tuple[float, ...]
        Limits of the severity cells.
    prior : float
        Prior probability of the fault.
    """

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
CAPACITOR_MADE = 0.05  # +/- fraction of the marked value, common practice
COOLING_MADE = 0.15  # +/- fraction, error of the thermal model, engineering judgment
FLOW_HEAVY = (0.6, 1.25)  # a blocked coil, or a larger fan
FLOW_LIGHT = (0.6, 1.0)


ZERO_CELSIUS = 273.15  # K
FEWEST_RUNNING = 30  # minimum number of samples that come up to speed in a cell
# Possible error (+/-) in a unit's heat and airflow when a reading is taken (engineering judgment,
# no source).
HEAT_NOW, FLOW_NOW = 0.15, 0.08
# Quantities that are inferred rather than read, and their types.
FIGURES = {
    "power_shaft_w": "shaft_power",
    "speed_rpm": "speed",
    "flow_m3s": "flow",
    "temp_winding_c": "temperature",
    "load_share": "share",
    "capacitor_share": "share",
}


class Changes(NamedTuple):
    """Differences from the expected motor and fan, as arrays with shape (cells, samples).

    Attributes
    ----------
    load, capacitor : ndarray
        Ratios to the expected values.
    shorted : ndarray
        Power loss in shorted turns divided by the rated shaft power.
    hotter : ndarray
        Increase in coil entering air temperature [K].
    cooling : ndarray
        Multiplier for the thermal conductances from the motor to the air.
    flow : ndarray
        Multiplier for the airflow at the same speed.
    """

    load: np.ndarray
    capacitor: np.ndarray
    shorted: np.ndarray
    hotter: np.ndarray
    cooling: np.ndarray
    flow: np.ndarray


class Cell(NamedTuple):
    """Part of a ``fault``'s severity range, from ``low`` to ``high``, with its prior probability.

    For the state "as expected", both limits are 0.
    """

    fault: str
    low: float
    high: float
    prior: float


def cells() -> tuple[Cell, ...]:
    """Return the cell for the healthy motor, followed by the cells for all faults."""
    found = [Cell(HEALTHY, 0.0, 0.0, PRIOR_HEALTHY)]
    for fault in FAULTS:
        ends = list(zip(fault.edges[:-1], fault.edges[1:], strict=True))
        found += [Cell(fault.key, *pair, fault.prior / len(ends)) for pair in ends]
    return tuple(found)


def changes(kinds: tuple[Cell, ...], samples: int, seed: int) -> Changes:
    """Return uniformly distributed random severities for each cell in ``kinds``.

    Quantities that a cell does not change keep their expected values.
    """
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
    """Quantity that can be measured.

    Attributes
    ----------
    kind : str
        Type of the quantity.
    meter : str
        Field of ``records.Meters``.
    scaled : bool
        True if calculations use the logarithm of the value.
    """

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
    """Return the display name of a reading by its key."""
    return Message(f"verify.name.{name}")


@dataclass(frozen=True)
class Simulated:
    """Motor simulated at the time of each reading, both healthy and with each fault.

    Attributes
    ----------
    readings : dict[str, ndarray]
        Simulated readings by the names in READINGS, shape (moments, cells, samples).
    figures : dict[str, ndarray]
        Shaft power [W], speed [rpm], airflow [m3/s], winding temperature [degC], and the ratios of
        load and microfarads to the expected values, shape (moments, cells, samples).
    runs : ndarray
        True for samples in which the motor comes up to speed, shape (cells, samples).
    locked : dict[str, Band]
        Ranges of current [A] and power [W] with a locked rotor at the first moment.
    """

    cells: tuple[Cell, ...]
    readings: dict[str, np.ndarray]
    figures: dict[str, np.ndarray]
    runs: np.ndarray
    locked: dict[str, Band]


def simulated(motor: Motor, asked, line, seed: int = 0) -> Simulated:
    """Simulate ``motor`` at the time of each reading, both healthy and with each fault.

    The samples of the motor and the conditions must be in the same order.

    Parameters
    ----------
    asked
        Fan and air conditions at each moment.
    line
        Median and standard deviation of the supply voltage at each moment [V].

    Raises
    ------
    InputError
        If a value is out of range.
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
    """Unknown conditions when a reading is taken, shape (samples,).

    Attributes
    ----------
    heat, flow : ndarray
        Ratios to the job values.
    sun : ndarray
        Fraction of full sun.
    """

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
    """Return the fan load and the air around the motor at each moment, for every change.

    The load coefficient has shape (moments, cells, samples). Air density varies with air
    temperature, and the air temperature rise across the coil is inversely proportional to airflow.
    """
    flow = changed.flow * now.flow

    def stacked(name):
        return np.stack([getattr(one, name) for one in asked])[:, None, :]

    before, speed_rpm = stacked("temp_air"), stacked("speed_rpm")
    entering = stacked("temp_entering") + changed.hotter
    rise = (before - stacked("temp_entering")) * now.heat / flow
    leaving = np.minimum(entering + rise, TEMP_AIR.high)  # a dirty coil in very hot air
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
    """Return the motor with changes to its capacitor, shorted turns and cooling.

    Shorted turns are modeled as a load connected across the supply.
    """
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
    """Return the ranges of locked-rotor amps and watts for windings from cold to hot."""
    ends = []
    for temp in (asked.temp_air, asked.temp_air + 80.0):
        circuit = at_temperature(motor.rated, motor.shell, Nodes.all_at(temp))
        ends.append(circuit.balance(voltage, motor.frequency, 1.0))
    current = np.concatenate([np.abs(at.current) for at in ends])
    power = np.concatenate([at.power_in for at in ends])
    return {"current": Band.of(current), "power": Band.of(power)}
