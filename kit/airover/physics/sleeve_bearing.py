"""Oil film of a sleeve bearing, from solutions of the two-dimensional Reynolds equation.

The shaft turns in a full 360 degree bearing without grooves and is displaced from the center by the
load. The angle t is measured from the widest gap in the direction of rotation, the gap is h = c (1
+ e cos t), and z is the axial coordinate. The Reynolds equation is

    d/dx (h^3 dp/dx) + d/dz (h^3 dp/dz) = 6 mu U dh/dx

The boundary conditions follow Raimondi and Boyd (Trans. ASLE 1, 1958). The pressure is 0 at the
start of the film (the widest gap) and at both ends. Past the narrowest gap, the film cavitates
where the pressure and its slope both reach 0 (Reynolds condition). The results do not apply to a
film that is continuous around the shaft, or to a cavitated film that re-forms before the widest
gap. The model assumes a steady load, laminar flow, constant viscosity, parallel axes, rigid smooth
walls, and enough oil at the start of the film.

`film` uses finite volumes on half of the bearing, which is symmetric about its mid-plane. A banded
Cholesky solver calculates the pressures in the full volumes. The set of full volumes is corrected
until no pressure is negative and no cavitated volume receives more oil than it passes on.

`film_read` and `film_under_load` interpolate thousands of films at once with cubic splines of the
logarithms. The table has 12 eccentricities and 6 lengths and is calculated once per process, which
takes about 0.12 s. The results are within 1 % of the solution (0.3 % observed). Eccentricities are
evenly spaced in log(e / (1 - e)), in which log S is nearly linear for light and heavy loads.
"""

import functools
from typing import NamedTuple

import numpy as np

from airover.core import cache
from airover.core.errors import InputError, Range, array_of, check
from airover.core.message import Message

ECCENTRICITY = Range(0.01, 0.98, "")
LENGTH_TO_DIAMETER = Range(0.02, 20.0, "")
START = Range(0.0, 3.0, "rad")
AROUND, ALONG = 180, 16  # volumes around the shaft, and along half of the bearing
COARSEST = 40  # with fewer volumes around, the film is initially assumed to cover half the bearing
GATHER = 0.8  # concentration of volumes at the narrowest gap, see _grid
LEAK = 1e-12  # fraction of the largest source below which a flow is zero
MOST_CORRECTIONS = 100
SOMMERFELD = Range(0.0, np.inf, "")
TABLE_LENGTH_TO_DIAMETER = Range(0.2, 2.0, "")
ECCENTRICITIES, LENGTHS = 12, 6  # in the table
TABLES = 4  # maximum number kept in memory, one for each start angle of the film
STEPS, TOLERANCE = 30, 1e-9  # for the iteration that finds e from S


class Film(NamedTuple):
    """Dimensionless numbers of an oil film, as defined by Raimondi and Boyd.

    Attributes
    ----------
    eccentricity_ratio : ndarray
        Eccentricity ratio e.
    sommerfeld : ndarray
        Sommerfeld number S = (r/c)^2 mu N / P. P is the load divided by length times diameter, and
        N is the speed in revolutions per second.
    attitude_deg : ndarray
        Angle [degrees] from the load line to the narrowest gap.
    flow : ndarray
        Flow number Q/(r c N l), where Q is the oil flow [m3/s] that enters at the start of the
        film.
    side_flow_ratio : ndarray
        Fraction of the oil flow that leaves at the ends.
    carried_flow : ndarray
        Flow number of the cavitated film.
    pressure_ratio : ndarray
        Ratio of P to the maximum pressure.
    """

    eccentricity_ratio: np.ndarray
    sommerfeld: np.ndarray
    attitude_deg: np.ndarray
    flow: np.ndarray
    side_flow_ratio: np.ndarray
    carried_flow: np.ndarray
    pressure_ratio: np.ndarray

    @property
    def friction(self):
        """Return the friction number (r/c) f for oil around the full circumference.

        The number is 2 pi^2 S / sqrt(1 - e^2) + (e/2) sin(attitude), according to Raimondi and
        Boyd. Oil streaks in the cavitated half are counted as a full film, so the value is an upper
        bound.
        """
        e = self.eccentricity_ratio
        drag = 2 * np.pi**2 * self.sommerfeld / np.sqrt(1 - e**2)
        return drag + e / 2 * np.sin(np.radians(self.attitude_deg))


class PressureField(NamedTuple):
    """Pressure field of one bearing.

    Attributes
    ----------
    angles : ndarray
        Angle [rad] from the widest gap in the direction of rotation, shape (around + 1,).
    positions : ndarray
        Axial position, 0 at the mid-plane and 1 at an end, shape (along + 1,).
    pressure : ndarray
        Ratio of pressure to mean pressure, shape (around + 1, along + 1). The ratio is 0 in the
        cavitated film.
    """

    angles: np.ndarray
    positions: np.ndarray
    pressure: np.ndarray


def film(eccentricity_ratio, length_to_diameter, start=0.0, around=AROUND, along=ALONG) -> Film:
    """Return the dimensionless numbers of the oil film at a given eccentricity ratio.

    Array arguments are broadcast against each other. Each film takes about 2 ms to calculate. The
    module docstring describes the equation, the boundary conditions and the source.

    Parameters
    ----------
    eccentricity_ratio : array_like
        Ratio of the offset of the shaft center to the radial clearance, 0.01 to 0.98.
    length_to_diameter : array_like
        Ratio of length to diameter, 0.02 to 20.
    start : array_like, optional
        Angle [rad] from the widest gap to the start of the film, 0 to 3. It is 0 if there is enough
        oil and larger in a starved bearing.
    around, along : array_like, optional
        Even numbers of volumes around the bearing and along half of its length. With 180 and 16
        volumes, the results are within 0.3 % of the fine-grid limit.

    Raises
    ------
    InputError
        If a value is out of range.
    ArithmeticError
        If the iteration for the cavitated film does not converge.

    Examples
    --------
    >>> round(float(film(0.6, 1.0).sommerfeld), 3)
    0.121
    """
    cases = _cases(eccentricity_ratio, length_to_diameter, start, around, along)
    found = [_numbers(*_solved(*case, around, along)) for case in zip(*map(np.ravel, cases))]
    shape = cases[0].shape
    return Film(cases[0][()], *(np.reshape(part, shape)[()] for part in zip(*found)))


def pressure_field(
    eccentricity_ratio, length_to_diameter, start=0.0, around=AROUND, along=ALONG
) -> PressureField:
    """Return the pressure distribution on the surface of one bearing.

    The arguments are the same as in `film`, but they must be scalars.

    Raises
    ------
    InputError
        If a value is out of range or is an array.
    ArithmeticError
        If the iteration for the cavitated film does not converge.

    Examples
    --------
    >>> round(float(1 / pressure_field(0.6, 1.0).pressure.max()), 3)
    0.415
    """
    cases = _cases(eccentricity_ratio, length_to_diameter, start, around, along)
    if cases[0].ndim:
        given, accepted = array_of(cases[0].shape), Message("error.physics.one_bearing")
        raise InputError("eccentricity_ratio", given, accepted)
    grid, _, pressure = _solved(*map(float, cases), around, along)
    mean = np.hypot(*_load(grid, pressure)) / 2
    return PressureField(grid.angles, grid.positions, pressure / mean)


def film_read(eccentricity_ratio, length_to_diameter, start=0.0) -> Film:
    """Return the film at an eccentricity ratio, interpolated from the table.

    The result is within 1 % of `film` for a length of 0.2 to 2 diameters. ``start`` is the start
    angle [rad] of the film, a scalar, because each start angle has its own table. Array arguments
    are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(film_read(0.6, 1.0).sommerfeld), 2)
    0.12
    """
    eccentricity = check("eccentricity_ratio", eccentricity_ratio, ECCENTRICITY)
    length = check("length_to_diameter", length_to_diameter, TABLE_LENGTH_TO_DIAMETER)
    place = np.broadcast_arrays(_logit(eccentricity), np.log(length))
    return _film(_table(float(check("start", start, START))), *place)


def film_under_load(sommerfeld, length_to_diameter, start=0.0) -> Film:
    """Return the film at a Sommerfeld number, interpolated from the table.

    The other arguments, the accuracy and the errors are the same as in `film_read`. If the load is
    too light or too heavy for the table, the film at the end of the table (eccentricity 0.01 or
    0.98) is returned, and its ``sommerfeld`` differs from the argument. Array arguments are
    broadcast against each other.

    >>> round(float(film_under_load(0.121, 1.0).eccentricity_ratio), 2)
    0.6
    """
    # The lower bound represents zero viscosity and is far outside the table.
    wanted = np.log(np.maximum(check("sommerfeld", sommerfeld, SOMMERFELD), 1e-12))
    length = check("length_to_diameter", length_to_diameter, TABLE_LENGTH_TO_DIAMETER)
    wanted, length = np.broadcast_arrays(wanted, np.log(length))
    splines = _table(float(check("start", start, START)))
    return _film(splines, _found(splines, wanted, length), length)


def _cases(eccentricity_ratio, length_to_diameter, start, around, along):
    """Check the arguments and broadcast them against each other."""
    for field, count in (("around", around), ("along", along)):
        if not (isinstance(count, int) and count >= 4 and count % 2 == 0):
            raise InputError(field, repr(count), Message("error.physics.even", low=4))
    return np.broadcast_arrays(
        check("eccentricity_ratio", eccentricity_ratio, ECCENTRICITY),
        check("length_to_diameter", length_to_diameter, LENGTH_TO_DIAMETER),
        check("start", start, START),
    )


class _Grid(NamedTuple):
    """Finite-volume grid with pressures at the nodes and flows through the faces.

    Gaps are divided by c, and lengths are divided by r or l/2.
    """

    angles: np.ndarray  # [rad], nodes
    gaps: np.ndarray  # gaps at inner nodes
    faces: np.ndarray  # gaps at faces
    widths: np.ndarray  # widths of inner volumes [rad]
    positions: np.ndarray  # nodes, 0 at the mid-plane and 1 at an end
    heights: np.ndarray  # axial size of each volume except the last, which has zero pressure


def _grid(eccentricity, start, around, along) -> _Grid:
    """Return a grid that is refined at the narrowest gap and at the end of the bearing.

    The grid uses the Sommerfeld substitution 1 + e cos t = (1 - e^2) / (1 - e cos g), in which
    equal steps in g are short at a narrow gap. A reduced value of e is used, because with the full
    value, the steps at the widest gap would be too long to resolve the inlet flow.
    """
    gather = GATHER * eccentricity
    narrow, wide = np.sqrt(1 - gather), np.sqrt(1 + gather)
    first = 2 * np.arctan2(narrow * np.sin(start / 2), wide * np.cos(start / 2))
    even = np.linspace(first, 2 * np.pi, 2 * around + 1)
    angles = 2 * np.arctan2(wide * np.sin(even / 2), narrow * np.cos(even / 2))
    gaps = 1 + eccentricity * np.cos(angles)
    stretch = (1 + gather * np.cos(angles)) / (narrow * wide)
    positions = np.sin(np.linspace(0, np.pi / 2, 2 * along + 1))
    return _Grid(
        angles[::2], gaps[2:-1:2], gaps[1::2], (stretch * (even[1] - even[0]) * 2)[2:-1:2],
        positions[::2], np.diff(positions[1::2], prepend=0.0),
    )  # fmt: skip


class _Network(NamedTuple):
    """Oil balance of each volume: outflow due to pressure equals inflow due to motion."""

    turning: np.ndarray  # conductances to the adjacent volumes, shape (around, along)
    side: np.ndarray  # conductances toward the end, shape (around - 1, along)
    total: np.ndarray  # sum of the conductances of each volume
    source: np.ndarray  # inflow due to motion


def _network(grid: _Grid, length_to_diameter) -> _Network:
    turning = grid.faces[:, None] ** 3 / np.diff(grid.angles)[:, None] * grid.heights
    side = (grid.gaps**3 * grid.widths)[:, None] / np.diff(grid.positions) / length_to_diameter**2
    total = turning[:-1] + turning[1:] + side
    total[:, 1:] += side[:, :-1]
    return _Network(turning, side, total, -np.diff(grid.faces)[:, None] * grid.heights)


def _solved(eccentricity, length_to_diameter, start, around, along):
    """Return the grid, the network, and the nodal pressures divided by 12 pi mu N (r/c)^2.

    The initial estimate of the cavitated film is a solution on a grid with half the resolution. Two
    or three corrections are usually enough.
    """
    grid = _grid(eccentricity, start, around, along)
    network = _network(grid, length_to_diameter)
    if around > COARSEST and around % 4 == along % 4 == 0:
        coarse = _solved(eccentricity, length_to_diameter, start, around // 2, along // 2)[2]
        wet = _refined(coarse > 0)[1:-1, :-1]
    else:
        wet = np.repeat(grid.angles[1:-1, None] < np.pi, along, axis=1)
    return grid, network, _corrected(network, wet)


def _refined(wet):
    """Return the film nodes of a refined grid: existing film nodes and their neighbors."""
    fine = np.zeros([2 * n - 1 for n in wet.shape], dtype=bool)
    fine[::2, ::2] = wet
    fine[1::2] = fine[:-1:2] | fine[2::2]
    fine[:, 1::2] = fine[:, :-1:2] | fine[:, 2::2]
    return fine


def _corrected(network: _Network, wet):
    """Return the pressures of a cavitated film, starting from an estimate of the wet volumes."""
    none = LEAK * np.abs(network.source).max()
    for _ in range(MOST_CORRECTIONS):
        pressure = _balanced(network, wet)
        better = np.where(wet, pressure[1:-1, :-1] > 0, _gain(network, pressure) > none)
        if np.array_equal(better, wet):
            return pressure
        wet = better
    raise ArithmeticError("the edge of the cavitated film was not found")


def _balanced(network: _Network, wet):
    """Return the pressures that balance the oil flow in wet volumes, and 0 in dry volumes."""
    from scipy.linalg import solveh_banded  # takes long

    rows = np.flatnonzero(wet.any(axis=1))[-1] + 1
    wet, along = wet[:rows], wet.shape[1]
    bands = np.zeros((along + 1, rows, along))  # per row, the part of a matrix below its diagonal
    bands[0] = np.where(wet, network.total[:rows], 1)
    bands[1, :, :-1] = np.where(wet[:, :-1] & wet[:, 1:], -network.side[:rows, :-1], 0)
    bands[along, :-1] = np.where(wet[:-1] & wet[1:], -network.turning[1:rows], 0)
    source = np.where(wet, network.source[:rows], 0).ravel()
    flat = bands.reshape(along + 1, -1)
    found = solveh_banded(flat, source, overwrite_ab=True, lower=True, check_finite=False)
    pressure = np.zeros((len(network.turning) + 1, along + 1))
    pressure[1 : rows + 1, :along] = found.reshape(rows, along)
    return pressure


def _gain(network: _Network, pressure):
    """Return the net oil flow into each cavitated volume, negative if its film is getting thinner.

    The pressure in these volumes is 0, so there is no outflow due to pressure.
    """
    gain = network.turning[1:] * pressure[2:, :-1] + network.turning[:-1] * pressure[:-2, :-1]
    gain += network.side * pressure[1:-1, 1:] + network.source
    gain[:, 1:] += network.side[:, :-1] * pressure[1:-1, :-2]
    return gain


def _load(grid: _Grid, pressure):
    """Return load components relative to the narrowest gap, divided by 12 pi mu N (r/c)^2 r l."""
    angles = grid.angles[1:-1]
    line = pressure[1:-1, :-1] @ grid.heights * grid.widths
    return -line @ np.cos(angles), line @ np.sin(angles)


def _numbers(grid: _Grid, network: _Network, pressure):
    """Return the fields of a Film except the eccentricity."""
    towards, across = _load(grid, pressure)
    load = np.hypot(towards, across)
    # There is no side flow at the start, so all flow through the first face entered there.
    whole = grid.heights.sum()
    enters = grid.faces[0] * whole - network.turning[0] @ pressure[1, :-1]
    leaves = network.side[:, -1] @ pressure[1:-1, -2]
    return (
        1 / (6 * np.pi * load),
        np.degrees(np.arctan2(across, towards)),
        np.pi * enters / whole,
        leaves / enters,
        np.pi * _carried(grid, network, pressure) / whole,
        load / (2 * pressure.max()),
    )


def _carried(grid: _Grid, network: _Network, pressure):
    """Return the oil flow past the edge of the film, due to motion and pressure."""
    wet = pressure[1:-1, :-1] > 0
    last = wet.shape[0] - np.argmax(wet[::-1], axis=0)
    pushed = np.where(wet, 0, _gain(network, pressure) - network.source)
    return grid.faces[last] @ grid.heights + pushed.sum()


TABLED = Film._fields[1:]  # numbers in the table


@functools.lru_cache(maxsize=TABLES)
def _table(start: float) -> np.ndarray:
    """Return bicubic splines for a film that begins at ``start``, from the cache folder if possible.

    The splines are those of the logarithms of the ``TABLED`` numbers against log(e / (1 - e)) and
    log(l/d). Their coefficients have the shape (lengths - 1, eccentricities - 1, 4, 4, numbers),
    with the powers of the distance from the start of a cell in falling order.
    """
    key = cache.key_of(cache.code_hash("core/errors.py", "physics/sleeve_bearing.py"), start)
    kept = cache.load(key)
    if kept is None:
        places, lengths = _places(), _lengths()
        solved = film(_eccentricity(places)[:, None], _length(lengths), start)
        logs = np.log(np.stack([getattr(solved, name) for name in TABLED], axis=-1))
        from scipy.interpolate import CubicSpline  # takes long

        along_places = CubicSpline(places, logs).c
        along_both = CubicSpline(lengths, along_places, axis=2).c
        kept = {"splines": along_both.transpose(1, 3, 0, 2, 4)}
        cache.save(key, **kept)
    return kept["splines"]


def _read(splines, place, length):
    """Return the values of ``splines``, and their slopes along ``place``, with the numbers last."""
    at, along = _cell(_lengths(), length)
    cell, around = _cell(_places(), place)
    third, second, first, rest = np.moveaxis(splines[at, cell], place.ndim, 0)
    along, around = along[..., np.newaxis, np.newaxis], around[..., np.newaxis]
    inner = ((third * along + second) * along + first) * along + rest
    a, b, c, d = np.moveaxis(inner, place.ndim, 0)
    return ((a * around + b) * around + c) * around + d, (3 * a * around + 2 * b) * around + c


def _cell(nodes, value):
    """Return the cell between evenly spaced ``nodes`` and the distance of ``value`` from its start."""
    step = (nodes[-1] - nodes[0]) / (len(nodes) - 1)
    cell = np.clip((value - nodes[0]) // step, 0, len(nodes) - 2).astype(int)
    return cell, value - nodes[cell]


@functools.cache
def _places():
    """Return the values of log(e / (1 - e)) in the table."""
    return np.linspace(*_logit(np.array(ECCENTRICITY[:2])), ECCENTRICITIES)


@functools.cache
def _lengths():
    """Return the values of log(l/d) in the table."""
    return np.linspace(*np.log(TABLE_LENGTH_TO_DIAMETER[:2]), LENGTHS)


def _logit(eccentricity):
    return np.log(eccentricity / (1 - eccentricity))


def _eccentricity(place):
    return np.clip(1 / (1 + np.exp(-place)), *ECCENTRICITY[:2])


def _length(place):
    return np.clip(np.exp(place), *TABLE_LENGTH_TO_DIAMETER[:2])


def _film(splines, place, length) -> Film:
    numbers = np.moveaxis(np.exp(_read(splines, place, length)[0]), -1, 0)
    return Film(_eccentricity(place), *numbers)


def _found(splines, wanted, length):
    """Return the place at which log S equals ``wanted``, or the nearer limit."""
    sommerfeld = splines[..., :1]
    low, high = _places()[[0, -1]]
    place = np.zeros(wanted.shape)  # start at half of the clearance
    for _ in range(STEPS):
        value, slope = _read(sommerfeld, place, length)
        moved = np.clip(place - ((value - wanted[..., np.newaxis]) / slope)[..., 0], low, high)
        if np.all(np.abs(moved - place) < TOLERANCE):
            return moved
        place = moved
    raise ArithmeticError("no eccentricity was found for a Sommerfeld number")
