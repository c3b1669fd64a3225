"""Fit polynomials to the response of each motor to fan load, voltage, air temperature and cooling.

A motor's response is a smooth function of these four variables. Each motor and each sample is
therefore simulated as in `model.cooling.warmed` at about two hundred combinations, and polynomials
fitted to the results replace the iterative solution for a fleet. The load variable is the slip that
the load requires, divided by the breakdown slip (Kloss formula), so the curves are smooth up to
breakdown.

Failed motors, which are identified from nameplates, have polynomials of second degree. A fleet can
have thousands of nameplates, so each sample of a failed motor is simulated at only nine
combinations: the center of the ranges, and half of the 16 corners of a smaller range (a fractional
factorial design, in which products of two variables do not change the slopes). This is enough for
the constant and the slopes of the sample. The terms of second degree differ little between the
samples of a nameplate. They are fitted to all samples together, whose ranges have different sizes.
For a variable x, terms of third degree do not change the slope if the square of the half-range is
the mean of x^4 divided by the mean of x^2 over the fleet. On the scale from -1 to 1, this half-range
is between 0.4 and 0.7 for invented fleets. Half-ranges from 0.3 to 0.6 gave the smallest errors for
six of them. worksheets/guide/fleet.md states the errors for eight others.

The polynomials of a catalog motor do not depend on the fleet, so they are saved in the cache
folder.
"""

from functools import lru_cache
from itertools import combinations, product
from typing import NamedTuple

import numpy as np

from airover.core.cache import code_hash, key_of, load, save
from airover.model.conditions import SERVICE_VOLTAGE, site_conditions, voltage_limits
from airover.model.cooling import AirStream, at_temperature, warm_nodes
from airover.model.simulation import (
    SAMPLES,
    SLIP_RUNNING,
    Identified,
    breakdown_torque,
    identify_motors,
    lowest_voltages,
    ratings_key,
)
from airover.physics import compiled, machine_code
from airover.physics.operating_point import BREAKAWAY
from airover.records.job import Job
from airover.selection.screening import INPUT, REACH, FailedSurfaces, Surfaces

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
        Number of nodes, of each sample for failed motors.
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
FAILED = Polynomials((2, 2, 1, 2), together=2, sun=0, nodes=9, lightest=0.3)  # one per nameplate
SHARED = ("terms", "air", "log_cooling", "lightest")  # arrays that are the same for all motors
SIZES = (0.3, 0.6)  # half-range of a variable in a failed motor's sample


def groups(motors) -> list[tuple]:
    """Return the ``motors`` in groups that give the same Surfaces on any machine."""
    return [tuple(motors[at : at + GROUP]) for at in range(0, len(motors), GROUP)]


def joined(parts: list[Surfaces]) -> Surfaces:
    """Combine the Surfaces of several groups of motors into one.

    The list is emptied on the way, so that the polynomials are not in memory twice.
    """
    first, count, start = parts[0], sum(len(part.works) for part in parts), 0
    whole = {}
    for name, value in first._asdict().items():
        if name not in SHARED:
            axis = _axis(name)
            shape = (*value.shape[:axis], count, *value.shape[axis + 1 :])
            whole[name] = np.empty(shape, value.dtype)
    while parts:
        part = parts.pop(0)
        rows = slice(start, start + len(part.works))
        for name, value in whole.items():
            value[(slice(None),) * _axis(name) + (rows,)] = getattr(part, name)
        start = rows.stop
    return first._replace(**whole)


def _axis(name: str) -> int:
    """Return the axis of the motors."""
    return 1 if name == "coefficients" else 0


def spread(parts: Surfaces, places, count: int) -> Surfaces:
    """Return Surfaces for ``count`` motors, with ``parts`` at the motor numbers ``places``.

    The other motors have no polynomials, because the screening never evaluates them.
    """
    if len(places) == count:
        return parts
    whole = {}
    for name, value in parts._asdict().items():
        if name in SHARED:
            whole[name] = value
            continue
        axis = _axis(name)
        shape = (*value.shape[:axis], count, *value.shape[axis + 1 :])
        whole[name] = np.ones(shape, value.dtype)
        whole[name][(slice(None),) * axis + (places,)] = value
    return Surfaces(**whole)


def surfaces(motors) -> Surfaces:
    """Return the Surfaces for a group of catalog ``motors``, with the same samples as for a job."""
    frequency = np.array([[motor.frequency] for motor in motors])
    lowest = np.array(lowest_voltages(motors))[:, None]
    identified = identify_motors(tuple(motors), SAMPLES)
    return fitted(identified, _ends(motors), lowest, frequency)


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
    return key_of(code_hash(*CODE), "surfaces", machine_code.build(), *told)


def _ends(motors) -> np.ndarray:
    return np.array([ends_of(motor.voltage_low, motor.voltage_high) for motor in motors])


def fitted(motors: Identified, voltage, lowest, frequency) -> Surfaces:
    """Return the Surfaces of identified catalog ``motors``.

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
    degrees = terms(CATALOG)
    coefficients = np.zeros((2, count, INPUT + 1, len(degrees), samples), np.float32)
    breakdown, heaviest = np.ones((count, 4, samples)), np.ones((count, samples))
    if works.any():
        able = motors.picked(works)
        values = (one[works] for one in (voltage, lowest, frequency))
        points = nodes(CATALOG.nodes)[:, None]
        sunny = (np.arange(CATALOG.nodes) % 2).astype(float)
        breakdown[works], heaviest[works], found = _simulated(
            able, points, sunny[:, None], *values, CATALOG
        )
        coefficients[:, works] = _fitted(points[:, 0], degrees, sunny, found)
    return Surfaces(
        terms=degrees,
        coefficients=coefficients,
        breakdown=breakdown,
        heaviest=heaviest,
        works=works,
        voltage=voltage,
        air=np.array(AIR),
        log_cooling=np.log(COOLING),
        lightest=CATALOG.lightest,
    )


def fitted_failed(motors: Identified, voltage, lowest, frequency) -> FailedSurfaces:
    """Return the polynomials of identified failed ``motors``, with arguments as in `fitted`.

    All nameplates must be possible.
    """
    few = _few(motors.rated.power.shape[1])
    breakdown, heaviest, found = _simulated(
        motors, few.points, few.sunny, voltage, lowest, frequency, FAILED
    )
    shared = np.einsum("cns,fnms->mfc", few.shared, found)
    rest = found - np.einsum("nsc,mfc->fnms", few.of_shared, shared)
    return FailedSurfaces(
        terms=few.terms,
        own=np.einsum("tns,fnms->mfts", few.own, rest).astype(np.float32),
        shared=shared.astype(np.float32),
        breakdown=breakdown,
        heaviest=heaviest,
        voltage=voltage,
        air=np.array(AIR),
        log_cooling=np.log(COOLING),
        lightest=FAILED.lightest,
    )


class _Few(NamedTuple):
    """Combinations at which the samples of a failed motor are simulated, and the fit to them.

    Attributes
    ----------
    points, sunny : ndarray
        Combinations, shape (nodes, samples, 4), and 1 for those with solar heat, shape (nodes,
        samples).
    terms : ndarray
        Degrees of the terms. The first terms, the constant and the slopes, are fitted to each
        sample.
    shared : ndarray
        Weights of the simulated values in the coefficients of the solar heat and of the other
        terms, shape (coefficients, nodes, samples).
    of_shared : ndarray
        Values of these terms at the combinations, shape (nodes, samples, coefficients).
    own : ndarray
        Weights of the remaining values in the other coefficients, shape (terms, nodes, samples).
    """

    points: np.ndarray
    sunny: np.ndarray
    terms: np.ndarray
    shared: np.ndarray
    of_shared: np.ndarray
    own: np.ndarray


@lru_cache
def _few(samples: int) -> _Few:
    """Return the combinations for failed motors and the least-squares fit as constant weights."""
    points, sunny = _combinations(samples)
    degrees = terms(FAILED)
    degrees = degrees[np.argsort(degrees.sum(axis=1), kind="stable")]
    linear = degrees.sum(axis=1) <= 1
    of_terms = np.stack([basis(points[:, d], degrees) for d in range(samples)])
    of_own = of_terms[:, :, linear]
    of_shared = np.dstack([sunny.T, of_terms[:, :, ~linear]])
    own = np.linalg.pinv(of_own)
    beyond = of_shared - of_own @ (own @ of_shared)  # what the own terms cannot represent
    weights = np.linalg.pinv(beyond.reshape(-1, of_shared.shape[2]))
    return _Few(
        points,
        sunny,
        degrees,
        np.swapaxes(weights.reshape(-1, samples, FAILED.nodes), 1, 2).copy(),
        np.swapaxes(of_shared, 0, 1).copy(),
        np.moveaxis(own, 0, 2).copy(),
    )


def _combinations(samples: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the combinations for failed motors from -1 to 1, and 1 for those with solar heat.

    The shapes are (nodes, samples, 4) and (nodes, samples). At the corners, the sun shines where
    two variables are both above or both below the center, or where one of them is. The variables
    change with the sample.
    """
    number = np.arange(samples)
    three = np.array(list(product((-1, 1), repeat=3)))
    signs = np.stack([np.column_stack([three, last * three.prod(axis=1)]) for last in (-1, 1)])
    corners = signs[number % 2]
    pairs = np.array(list(combinations(range(4), 2)))[number // 2 % 6]
    both = np.take_along_axis(corners, pairs[:, None], axis=2).prod(axis=2)
    sunny = both * np.where(number // 12 % 2, 1, -1)[:, None] > 0
    sizes = SIZES[0] + (SIZES[1] - SIZES[0]) * _even(samples)
    points = np.concatenate([corners * sizes[:, None], np.zeros((samples, 1, 4))], axis=1)
    sunny = np.column_stack([sunny, number % 2]).astype(float)
    return np.swapaxes(points, 0, 1).copy(), sunny.T.copy()


def terms(fit: Polynomials) -> np.ndarray:
    """Return the degrees of the polynomial terms, shape (terms, 4).

    Terms that differ only in the degree of the voltage come one after the other, because the
    screening evaluates them together. The terms without air temperature and cooling come first,
    because they are often sufficient for a decision.
    """
    voltage, *others = (range(degree + 1) for degree in fit.degrees)
    degrees = [(one[-1], *one[:-1]) for one in product(*others, voltage)]
    degrees.sort(key=lambda one: one[2] + one[3] > 0)
    return np.array([one for one in degrees if sum(one) <= fit.together])


def ends_of(voltage_low, voltage_high) -> tuple[float, float]:
    """Return the supply voltage range [V] within which a motor is not ruled out."""
    low, high = voltage_limits(voltage_low, voltage_high)
    return low * (1 - SERVICE_VOLTAGE), high * (1 + SERVICE_VOLTAGE)


def _at(ends, x):
    """Map ``x`` from [-1, 1], shape (points, samples), to the ranges ``ends``, shape (motors, 2).

    The result has shape (points, motors, samples).
    """
    low, high = ends[:, :1], ends[:, 1:]
    return low + (x[:, None] + 1) / 2 * (high - low)


def _breakdown_cubic(rated, voltage, frequency, synchronous):
    """Return cubic polynomials for the cold breakdown torque divided by synchronous speed squared.

    The coefficients have shape (motors, 4, samples).
    """
    x = np.cos(np.pi * (np.arange(7) + 0.5) / 7)
    torque = breakdown_torque(rated.circuit, _at(voltage, x[:, None]), frequency) / synchronous**2
    inverse = np.linalg.pinv(np.vander(x, 4, increasing=True))
    return np.ascontiguousarray(np.einsum("tn,nmd->mtd", inverse, torque))


def _running_load(circuit, voltage, frequency, synchronous):
    """Return the highest load coefficient [N m s^2] at which a motor starts and comes up to speed.

    The motor with the equivalent ``circuit`` must reach the slip SLIP_RUNNING.
    """

    torques = compiled.shaft_torques(circuit, voltage, frequency, RUNNING_UP)
    loads = torques / np.append(BREAKAWAY, (1 - RUNNING_UP[1:]) ** 2)
    return np.maximum(loads.min(axis=-1) / synchronous**2, LIGHTEST_TORQUE)


def nodes(count: int) -> np.ndarray:
    """Return points in four dimensions from -1 to 1, shape (count, 4), denser near the limits."""
    return np.sin(np.pi / 2 * (2 * _even(count) - 1))


def _even(count: int) -> np.ndarray:
    """Return points that fill four dimensions from 0 to 1 evenly, shape (count, 4)."""
    steps = GOLDEN ** -np.arange(1.0, 5.0)
    return (0.5 + np.arange(1, count + 1)[:, None] * steps) % 1


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


def _fitted(points, degrees, sunny, figures):
    """Return the polynomial coefficients for vertical and horizontal catalog motors.

    The array has shape (2, motors, figures, terms, samples). Every second node includes solar heat,
    whose contribution is a separate polynomial of lower degree.
    """
    few = degrees.sum(axis=1) <= CATALOG.sun
    plain = basis(points, degrees)
    inverse = np.linalg.pinv(np.hstack([plain, sunny[:, None] * plain[:, few]]))
    found = np.einsum("tn,fnmd->mftd", inverse, figures)
    lying = found[:, :, : len(degrees)]
    upright = lying.copy()
    upright[:, :, few] += found[:, :, len(degrees) :]
    return np.stack([upright, lying])


def _simulated(motors: Identified, points, sunny, voltage, lowest, frequency, fit: Polynomials):
    """Return the breakdown polynomials, the maximum loads and the results of the full model.

    The results have shape (figures, points, motors, samples).

    Parameters
    ----------
    points
        Combinations, shape (points, samples or 1, 4).
    sunny
        1 for combinations with solar heat, shape (points, samples or 1).
    """
    rated, shell = motors
    synchronous = 4 * np.pi * frequency / rated.circuit.poles
    breakdown = _breakdown_cubic(rated, voltage, frequency, synchronous)
    heaviest = HEAVIEST * rated.coefficient
    load = _load(points, breakdown, heaviest, fit.lightest)
    volts = _at(voltage, points[..., 0])
    temp_air = AIR[0] + (points[..., 2] + 1) / 2 * (AIR[1] - AIR[0])
    low, high = np.log(COOLING)
    speed = np.exp(low + (points[..., 3] + 1) / 2 * (high - low)) * 1000
    sun = sunny[:, None] * _sun(rated.power.shape[-1])
    air = AirStream(temp_air[:, None], speed[:, None], 1000.0, sun)
    slip, emf, _, temps = warm_nodes(rated, shell, air, volts, frequency, load)
    hot = at_temperature(rated, shell, temps)
    figures = [
        np.log(shell.average(temps) - air.temp_air),
        slip,
        np.log(_running_load(hot, lowest, frequency, synchronous)),
    ]
    if fit is CATALOG:
        at = hot.balance(volts, frequency, slip, emf)
        figures += [
            np.log(np.abs(at.current)),
            np.log(np.abs(at.voltage_capacitor)),
            np.log(breakdown_torque(hot, lowest, frequency)),
            np.log(at.power_in),
        ]
    return breakdown, heaviest, np.stack(figures)


def _load(points, cold, heaviest, lightest):
    """Return the fan load coefficient [N m s^2] at ``points``, shape (points, motors, samples)."""
    least, most = load_scale(np.array([REACH * lightest, REACH]))
    scaled = least + (points[:, None, :, 1] + 1) / 2 * (most - least)
    share = 2 * scaled / (1 + scaled**2) / REACH
    x = points[:, None, :, 0]
    cold = np.moveaxis(cold, 1, 0)
    breakdown = REACH * (cold[0] + x * (cold[1] + x * (cold[2] + x * cold[3])))
    return share * (breakdown**-8 + heaviest**-8) ** (-1 / 8)


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
