"""Fit polynomials to the response of each motor to fan load, voltage, air temperature and cooling.

A motor's response is a smooth function of these four variables. Each motor and each sample is
therefore simulated with `model.cooling.warmed` at about two hundred combinations, and polynomials
fitted to the results replace the iterative solution for a fleet. The load variable is the slip that
the load requires, divided by the breakdown slip (Kloss formula), so the curves are smooth up to
breakdown. Failed motors, which are identified from nameplates, have polynomials of lower degree.

The polynomials of a catalog motor do not depend on the fleet, so they are saved in the cache
folder.
"""

from functools import lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np

from airover.core.cache import code_hash, key_of, load, save
from airover.model.conditions import SERVICE_VOLTAGE, site_conditions, voltage_limits
from airover.model.cooling import AirStream, at_temperature, warmed
from airover.model.simulation import RUNNING_UP as AROUND_BREAKDOWN
from airover.model.simulation import (
    SAMPLES,
    SLIP_RUNNING,
    Identified,
    identify_motors,
    lowest_voltages,
    ratings_key,
)
from airover.physics import compiled
from airover.physics.operating_point import BREAKAWAY
from airover.records.job import Job
from airover.selection.screening import INPUT, OF_THE_FAILED, REACH, Surfaces

AIR = (10.0, 80.0)  # degC
COOLING = (0.8e-3, 25e-3)  # m/s per rpm: 0.9 to 27 m/s at 1075 rpm
HEAVIEST = 1.5  # times the motor's rated load
# slips checked at standstill and during acceleration
RUNNING_UP = np.array([1.0, 0.8, 0.6, 0.45, 0.33, SLIP_RUNNING])
LIGHTEST_TORQUE = 1e-9  # N m s^2, used if the motor has no torque during acceleration
GROUP = 1  # motors simulated together, so that the result of one depends on no other
GOLDEN = 1.1673039782614187  # root of x^5 = x + 1, for points that fill four dimensions evenly


class Polynomials(NamedTuple):
    """Degrees and nodes of the polynomials.

    Attributes
    ----------
    degrees : tuple[int, int, int, int]
        Maximum degrees in voltage, load, air temperature and cooling.
    together : int
        Maximum total degree.
    sun : int
        Degree of the solar heat contribution.
    nodes : int
        Number of nodes.
    lightest : float
        Lowest load as a fraction of the highest load.
    """

    degrees: tuple[int, int, int, int]
    together: int
    sun: int
    nodes: int
    lightest: float


# Code that determines the polynomials.
CODE = ("core", "physics", "records", "model", "selection/screening.py")
CODE += ("business/fleet_response.py",)
CATALOG = Polynomials((4, 4, 2, 3), together=4, sun=2, nodes=224, lightest=0.1)
FAILED = Polynomials((2, 2, 1, 2), together=2, sun=0, nodes=28, lightest=0.3)  # one per nameplate


def groups(motors) -> list[tuple]:
    """Return the ``motors`` in groups that give the same Surfaces on any machine."""
    return [tuple(motors[at : at + GROUP]) for at in range(0, len(motors), GROUP)]


def joined(parts: list[Surfaces]) -> Surfaces:
    """Combine the Surfaces of several groups of motors into one."""
    shared = ("terms", "air", "log_cooling", "lightest")
    axes = {"coefficients": 1}
    whole = {
        name: np.concatenate([getattr(part, name) for part in parts], axis=axes.get(name, 0))
        for name in Surfaces._fields
        if name not in shared
    }
    return Surfaces(**whole, **{name: getattr(parts[0], name) for name in shared})


def spread(parts: Surfaces, places, count: int) -> Surfaces:
    """Return Surfaces for ``count`` motors, with ``parts`` at the motor numbers ``places``.

    The other motors have no polynomials, because the screening never evaluates them.
    """
    whole = {}
    for name, value in parts._asdict().items():
        if name in ("terms", "air", "log_cooling", "lightest"):
            whole[name] = value
            continue
        axis = 1 if name == "coefficients" else 0
        shape = (*value.shape[:axis], count, *value.shape[axis + 1 :])
        whole[name] = np.ones(shape, value.dtype)
        whole[name][(slice(None),) * axis + (places,)] = value
    return Surfaces(**whole)


def surfaces(motors) -> Surfaces:
    """Return the Surfaces for a group of catalog ``motors``, with the same samples as for a job."""
    frequency = np.array([[motor.frequency] for motor in motors])
    lowest = np.array(lowest_voltages(motors))[:, None]
    identified = identify_motors(tuple(motors), SAMPLES)
    return fitted(identified, _ends(motors), lowest, frequency, CATALOG)


def kept_surfaces(motors) -> Surfaces | None:
    """Return the Surfaces for a group of ``motors`` from the cache, or None."""
    arrays = load(_key(motors))
    if arrays is None:
        return None
    degrees, ends = terms(CATALOG), _ends(motors)
    few = degrees.sum(axis=1) <= CATALOG.sun
    lying = arrays["lying"]
    upright = lying.copy()
    upright[:, :, few] = arrays["sunny"]
    return Surfaces(
        terms=degrees,
        coefficients=np.stack([upright, lying]),
        breakdown=arrays["breakdown"],
        heaviest=arrays["heaviest"],
        works=arrays["works"],
        voltage=ends,
        air=np.array(AIR),
        log_cooling=np.log(COOLING),
        lightest=CATALOG.lightest,
    )


def keep_surfaces(motors, found: Surfaces) -> None:
    """Save the Surfaces for a group of ``motors`` in the cache."""
    upright, lying = found.coefficients
    save(
        _key(motors),
        lying=lying,
        sunny=upright[:, :, found.terms.sum(axis=1) <= CATALOG.sun],
        breakdown=found.breakdown,
        heaviest=found.heaviest,
        works=found.works,
    )


def _key(motors) -> str:
    told = *ratings_key(motors), SAMPLES, _ends(motors)
    return key_of(code_hash(*CODE), "surfaces", compiled.build(), *told)


def _ends(motors) -> np.ndarray:
    return np.array([ends_of(motor.voltage_low, motor.voltage_high) for motor in motors])


def fitted(motors: Identified, voltage, lowest, frequency, fit: Polynomials) -> Surfaces:
    """Return the Surfaces of identified ``motors``, fitted with the degrees and nodes of ``fit``.

    Motors with a physically impossible nameplate are skipped.

    Parameters
    ----------
    voltage
        Supply voltage limits [V], shape (motors, 2).
    lowest
        Lowest rated voltage [V], shape (motors, 1).
    frequency
        Frequency [Hz], shape (motors, 1).
    """
    works = motors.rated.met.all(axis=1)
    count, samples = motors.rated.power.shape
    points, degrees = nodes(fit.nodes), terms(fit)
    figures = OF_THE_FAILED if fit is FAILED else INPUT + 1
    coefficients = np.zeros((2, count, figures, len(degrees), samples))
    breakdown, heaviest = np.ones((count, 4, samples)), np.ones((count, samples))
    if works.any():
        able = motors.picked(works)
        ends, lowest, frequency = (one[works] for one in (voltage, lowest, frequency))
        synchronous = 4 * np.pi * frequency / able.rated.circuit.poles
        breakdown[works] = _breakdown_cubic(able.rated, ends, frequency, synchronous)
        heaviest[works] = HEAVIEST * able.rated.coefficient
        load = _load(points, breakdown[works], heaviest[works], fit.lightest)
        sunny = (np.arange(fit.nodes) % 2).astype(float)
        found = _worked(able, points, sunny, load, ends, lowest, frequency, synchronous)
        coefficients[:, works] = _fitted(points, degrees, sunny, found[:figures], fit.sun)
    return Surfaces(
        terms=degrees,
        coefficients=coefficients,
        breakdown=breakdown,
        heaviest=heaviest,
        works=works,
        voltage=voltage,
        air=np.array(AIR),
        log_cooling=np.log(COOLING),
        lightest=fit.lightest,
    )


def terms(fit: Polynomials) -> np.ndarray:
    """Return the degrees of the polynomial terms, shape (terms, 4)."""
    ranges = (range(degree + 1) for degree in fit.degrees)
    return np.array([one for one in product(*ranges) if sum(one) <= fit.together])


def ends_of(voltage_low, voltage_high) -> tuple[float, float]:
    """Return the supply voltage range [V] within which a motor is not ruled out."""
    low, high = voltage_limits(voltage_low, voltage_high)
    return low * (1 - SERVICE_VOLTAGE), high * (1 + SERVICE_VOLTAGE)


def _at(ends, x):
    """Map ``x`` from [-1, 1] to the ranges ``ends``, shape (motors, 2).

    The result has shape (points, motors, 1).
    """
    low, high = ends[:, 0], ends[:, 1]
    return (low + (np.asarray(x)[:, None] + 1) / 2 * (high - low))[:, :, None]


def _breakdown_cubic(rated, voltage, frequency, synchronous):
    """Return cubic polynomials for the cold breakdown torque divided by synchronous speed squared.

    The coefficients have shape (motors, 4, samples).
    """
    x = np.cos(np.pi * (np.arange(7) + 0.5) / 7)
    torque = _breakdown_torque(rated.circuit, _at(voltage, x), frequency) / synchronous**2
    inverse = np.linalg.pinv(np.vander(x, 4, increasing=True))
    return np.ascontiguousarray(np.einsum("tn,nmd->mtd", inverse, torque))


def _breakdown_torque(circuit, voltage, frequency):
    """Return the same torque [N m] as `model.simulation.breakdown_torque`, calculated faster."""
    return compiled.shaft_torques(circuit, voltage, frequency, AROUND_BREAKDOWN).max(axis=-1)


def _running_load(circuit, voltage, frequency, synchronous):
    """Return the highest load coefficient [N m s^2] at which a motor starts and comes up to speed.

    The motor with the equivalent ``circuit`` must reach the slip SLIP_RUNNING.
    """

    torques = compiled.shaft_torques(circuit, voltage, frequency, RUNNING_UP)
    loads = torques / np.append(BREAKAWAY, (1 - RUNNING_UP[1:]) ** 2)
    return np.maximum(loads.min(axis=-1) / synchronous**2, LIGHTEST_TORQUE)


def nodes(count: int) -> np.ndarray:
    """Return points in four dimensions from -1 to 1, shape (count, 4), denser near the limits."""
    steps = GOLDEN ** -np.arange(1.0, 5.0)
    even = (0.5 + np.arange(1, count + 1)[:, None] * steps) % 1
    return np.sin(np.pi / 2 * (2 * even - 1))


def load_scale(ratio):
    """Return the slip divided by the breakdown slip (Kloss formula).

    Parameters
    ----------
    ratio
        Torque divided by breakdown torque.
    """
    return (1 - np.sqrt(1 - ratio**2)) / ratio


def basis(points, degrees) -> np.ndarray:
    """Return the products of Chebyshev polynomials at ``points``, shape (count, terms)."""
    tables = [np.polynomial.chebyshev.chebvander(column, degrees.max()) for column in points.T]
    parts = [table[:, degrees[:, place]] for place, table in enumerate(tables)]
    return np.prod(parts, axis=0)


def _fitted(points, degrees, sunny, figures, sun):
    """Return the polynomial coefficients for vertical and horizontal motors.

    The array has shape (2, motors, figures, terms, samples). Every second node includes solar heat,
    whose contribution is a separate polynomial of lower degree.
    """
    few = degrees.sum(axis=1) <= sun
    plain = basis(points, degrees)
    inverse = np.linalg.pinv(np.hstack([plain, sunny[:, None] * plain[:, few]]))
    found = np.einsum("tn,fnmd->mftd", inverse, figures)
    lying = found[:, :, : len(degrees)]
    upright = lying.copy()
    upright[:, :, few] += found[:, :, len(degrees) :]
    return np.stack([upright, lying])


def _worked(motors: Identified, points, sunny, load, voltage, lowest, frequency, synchronous):
    """Return full-model results at ``points``, shape (figures, points, motors, samples)."""
    rated, shell = motors
    volts = _at(voltage, points[:, 0])
    temp_air = AIR[0] + (points[:, 2] + 1) / 2 * (AIR[1] - AIR[0])
    low, high = np.log(COOLING)
    speed = np.exp(low + (points[:, 3] + 1) / 2 * (high - low)) * 1000
    sun = sunny[:, None, None] * _sun(rated.power.shape[-1])
    air = AirStream(temp_air[:, None, None], speed[:, None, None], 1000.0, sun)
    warm = warmed(rated, shell, air, volts, frequency, load, settle=compiled.settle)
    hot = at_temperature(rated, shell, warm.nodes)
    figures = (
        np.log(warm.temp_winding - air.temp_air),
        warm.slip,
        np.log(_running_load(hot, lowest, frequency, synchronous)),
        np.log(np.abs(warm.solution.current)),
        np.log(np.abs(warm.solution.voltage_capacitor)),
        np.log(_breakdown_torque(hot, lowest, frequency)),
        np.log(warm.solution.power_in),
    )
    return np.stack([np.broadcast_to(figure, warm.slip.shape) for figure in figures])


def _load(points, cold, heaviest, lightest):
    """Return the fan load coefficient [N m s^2] at ``points``, shape (points, motors, samples)."""
    least, most = load_scale(np.array([REACH * lightest, REACH]))
    scaled = least + (points[:, 1] + 1) / 2 * (most - least)
    share = 2 * scaled / (1 + scaled**2) / REACH
    powers = np.vander(points[:, 0], 4, increasing=True)
    breakdown = REACH * np.einsum("nt,mtd->nmd", powers, cold)
    return share[:, None, None] * (breakdown**-8 + heaviest**-8) ** (-1 / 8)


@lru_cache
def _sun(samples):
    """Return the solar heat [W/m2] absorbed by a vertical motor, sampled as for a single job."""
    nameplate = {
        "voltage": "230 V",
        "power": "200 W",
        "speed": "1075 rpm",
        "shaft_position": "down",
    }
    return site_conditions(Job(nameplate=nameplate), samples).sun
