"""What each motor does on any fan, voltage and air, as polynomials fitted to the full warm model.

A motor's answer is a smooth function of four things: voltage, the fan's load, the air's
temperature and its cooling speed. So each motor and each draw is warmed up at some two hundred
combinations, by `warm.warmed` itself, and polynomials take the place of the iterations. The load
counts as the slip that it asks for over that of breakdown: so the curves stay smooth close to it.
"""

from itertools import product

import numpy as np

from airover import identify
from airover.motor.conditions import SERVICE_VOLTAGE, conditions
from airover.motor.supply import voltage_limits
from airover.motor.warm import Shell, Stream, at_temperature, warmed
from airover.motor.work import DRAWS, bodies, breakdown_torque, plates
from airover.physics import compiled
from airover.physics.operating_point import BREAKAWAY
from airover.physics.screening import LIGHTEST, REACH, Surfaces
from airover.records import Job

DEGREES = (4, 4, 2, 3)  # in voltage, load, air, cooling; together at most the first
SUN_DEGREE = 2  # of what the sun adds
NODES = 224
AIR = (10.0, 80.0)  # degC
COOLING = (0.8e-3, 25e-3)  # m/s per rpm: 0.9 to 27 m/s at 1075 rpm
HEAVIEST = 1.5  # of the load that the motor is rated for
RUNNING_UP = (0.8, 0.6, 0.45, 0.33, 0.27)  # slips on the way
VOLTAGES = 17  # at which running up is looked at
GROUP = 8  # motors that are warmed up together
GOLDEN = 1.1673039782614187  # root of x^5 = x + 1, for points that fill four dimensions evenly


def groups(motors) -> list[tuple]:
    """The ``motors`` in groups; each group gives the same surfaces wherever it is worked."""
    return [tuple(motors[at : at + GROUP]) for at in range(0, len(motors), GROUP)]


def together(parts: list[Surfaces]) -> Surfaces:
    """The surfaces of all groups as one."""
    shared = ("terms", "air", "log_cooling")
    axes = {"coefficients": 1}
    joined = {
        name: np.concatenate([getattr(part, name) for part in parts], axis=axes.get(name, 0))
        for name in Surfaces._fields
        if name not in shared
    }
    return Surfaces(**joined, **{name: getattr(parts[0], name) for name in shared})


def surfaces(motors, draws: int = DRAWS, seed: int = 0) -> Surfaces:
    """The Surfaces of one group of catalogue ``motors``, by the draws that a job works with."""
    rated = identify.ensemble(plates(motors), draws, seed)
    shell = Shell.of(bodies(motors), rated, seed)
    frequency = np.array([motor.frequency for motor in motors])[:, None]
    voltage = np.array([_ends(motor) for motor in motors])
    synchronous = 4 * np.pi * frequency / np.array([motor.poles for motor in motors])[:, None]
    cold = _breakdown_cubic(rated, voltage, frequency, synchronous)
    return Surfaces(
        terms=terms(),
        coefficients=_fitted(rated, shell, voltage, frequency, cold, draws),
        breakdown=cold,
        heaviest=HEAVIEST * rated.coefficient,
        run_up=_run_up(rated, voltage, frequency, synchronous),
        works=rated.met.all(axis=1),
        voltage=voltage,
        air=np.array(AIR),
        log_cooling=np.log(COOLING),
    )


def terms() -> np.ndarray:
    """Degrees of the polynomials' terms, (terms, 4)."""
    ranges = (range(degree + 1) for degree in DEGREES)
    return np.array([one for one in product(*ranges) if sum(one) <= DEGREES[0]])


def _ends(motor) -> tuple[float, float]:
    """Line voltages [V] that a motor may meet where it is not ruled out at once."""
    low, high = voltage_limits(motor.voltage_low, motor.voltage_high)
    return low * (1 - SERVICE_VOLTAGE), high * (1 + SERVICE_VOLTAGE)


def _at(ends, x):
    """From -1 to 1 on to ``ends``, (motors, 2); the result is (points, motors, 1)."""
    low, high = ends[:, 0], ends[:, 1]
    return (low + (np.asarray(x)[:, None] + 1) / 2 * (high - low))[:, :, None]


def _breakdown_cubic(rated, voltage, frequency, synchronous):
    """Cold breakdown torque over synchronous speed squared, (motors, 4, draws)."""
    x = np.cos(np.pi * (np.arange(7) + 0.5) / 7)
    torque = breakdown_torque(rated.circuit, _at(voltage, x), frequency) / synchronous**2
    inverse = np.linalg.pinv(np.vander(x, 4, increasing=True))
    return np.ascontiguousarray(np.einsum("tn,nmd->mtd", inverse, torque))


def _run_up(rated, voltage, frequency, synchronous):
    """Heaviest load that still starts and runs up, cold, (motors, voltages, draws)."""
    volts = _at(voltage, np.linspace(-1, 1, VOLTAGES))

    def torque(slip):
        return rated.circuit.balance(volts, frequency, slip).torque / synchronous**2

    most = torque(1.0) / BREAKAWAY
    for slip in RUNNING_UP:
        most = np.minimum(most, torque(slip) / (1 - slip) ** 2)
    return np.ascontiguousarray(most.transpose(1, 0, 2))


def nodes(count: int) -> np.ndarray:
    """Points in four dimensions from -1 to 1, denser towards the ends, (count, 4)."""
    steps = GOLDEN ** -np.arange(1.0, 5.0)
    even = (0.5 + np.arange(1, count + 1)[:, None] * steps) % 1
    return np.sin(np.pi / 2 * (2 * even - 1))


def load_scale(ratio):
    """Slip over that of breakdown at a share of the breakdown torque (Kloss's rule)."""
    return (1 - np.sqrt(1 - ratio**2)) / ratio


def basis(points, degrees) -> np.ndarray:
    """Products of Chebyshev polynomials at ``points``, (count, terms)."""
    tables = [np.polynomial.chebyshev.chebvander(column, DEGREES[0]) for column in points.T]
    parts = [table[:, degrees[:, place]] for place, table in enumerate(tables)]
    return np.prod(parts, axis=0)


def _fitted(rated, shell, voltage, frequency, cold, draws):
    """Coefficients, (2, motors, figures, terms, draws), upright and lying.

    Every second node has the sun: what it adds is a smaller polynomial of its own.
    """
    points, degrees = nodes(NODES), terms()
    sunny = (np.arange(NODES) % 2).astype(float)
    few = degrees.sum(axis=1) <= SUN_DEGREE
    plain = basis(points, degrees)
    inverse = np.linalg.pinv(np.hstack([plain, sunny[:, None] * plain[:, few]]))
    figures = _worked(rated, shell, points, sunny, voltage, frequency, cold, draws)
    found = np.einsum("tn,fnmd->mftd", inverse, figures)
    lying = found[:, :, : len(degrees)]
    upright = lying.copy()
    upright[:, :, few] += found[:, :, len(degrees) :]
    return np.stack([upright, lying])


def _worked(rated, shell, points, sunny, voltage, frequency, cold, draws):
    """The figures at ``points``, (figures, points, motors, draws), by the full model."""
    volts = _at(voltage, points[:, 0])
    load = _load(points, cold, HEAVIEST * rated.coefficient)
    temp_air = AIR[0] + (points[:, 2] + 1) / 2 * (AIR[1] - AIR[0])
    low, high = np.log(COOLING)
    speed = np.exp(low + (points[:, 3] + 1) / 2 * (high - low)) * 1000
    sun = sunny[:, None, None] * _sun(draws)
    air = Stream(temp_air[:, None, None], speed[:, None, None], 1000.0, sun)
    warm = warmed(rated, shell, air, volts, frequency, load, settle=compiled.settle)
    circuit = at_temperature(rated, shell, warm.nodes)
    figures = (
        np.log(warm.temp_winding - air.temp_air),
        np.log(np.abs(warm.solution.current)),
        np.log(np.abs(warm.solution.voltage_capacitor)),
        warm.slip,
        np.log(breakdown_torque(circuit, volts, frequency)),
    )
    return np.stack([np.broadcast_to(figure, warm.slip.shape) for figure in figures])


def _load(points, cold, heaviest):
    """The fan's coefficient [N m s^2] at ``points``, (points, motors, draws)."""
    least, most = load_scale(np.array([REACH * LIGHTEST, REACH]))
    scaled = least + (points[:, 1] + 1) / 2 * (most - least)
    share = 2 * scaled / (1 + scaled**2) / REACH
    powers = np.vander(points[:, 0], 4, increasing=True)
    breakdown = REACH * np.einsum("nt,mtd->nmd", powers, cold)
    return share[:, None, None] * (breakdown**-8 + heaviest**-8) ** (-1 / 8)


def _sun(draws):
    """What a motor that stands takes up [W/m2], as every job draws it."""
    plate = {"voltage": "230 V", "power": "200 W", "speed": "1075 rpm", "shaft_position": "down"}
    return conditions(Job(nameplate=plate), draws).sun
