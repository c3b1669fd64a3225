"""Oil film of a sleeve bearing: Reynolds' equation in two dimensions, and a table of its solutions.

A shaft turns in a full 360 degree bearing without grooves, displaced from its center by its load.
With the angle t from the widest gap in the direction of turning, the gap is h = c (1 + e cos t),
and z runs along the axis:

    d/dx (h^3 dp/dx) + d/dz (h^3 dp/dz) = 6 mu U dh/dx

Boundary conditions are those of Raimondi and Boyd (Trans. ASLE 1, 1958): the pressure is 0 where
the film begins, at the widest gap, and at both ends; behind the narrowest gap the film cavitates
where pressure and its slope both reach 0 (Reynolds' condition). A film that closes all round, or
a cavitated film that forms again before the widest gap, gives other numbers. Steady load, laminar
flow of one constant viscosity, parallel axes, stiff smooth walls, enough oil where the film begins.

`film` uses finite volumes on half of the bearing, which is symmetric about its mid-plane. Pressures
of the volumes with a film are solved directly (banded Cholesky); which volumes have a film is
corrected until no pressure is negative and no cavitated volume gets more oil than it can pass on.

`film_read` and `film_under_load` interpolate thousands of films at once, by cubic splines of
logarithms over 12 eccentricities times 6 lengths, solved once per process (an eighth of a second).
Within 1 % of the solution (0.3 % seen). Eccentricities are evenly spaced in log(e / (1 - e)):
against it log S is nearly straight for light and for heavy loads.
"""

import functools
from typing import NamedTuple

import numpy as np
from scipy.interpolate import RectBivariateSpline
from scipy.linalg import solveh_banded

from airover.core.errors import InputError, Range, array_of, check
from airover.core.message import Message

ECCENTRICITY = Range(0.01, 0.98, "")
LENGTH_TO_DIAMETER = Range(0.02, 20.0, "")
START = Range(0.0, 3.0, "rad")
AROUND, ALONG = 180, 16  # volumes around the shaft, and along half of the bearing
COARSEST = 40  # volumes around: below, the first guess of the cavitated film is plain
GATHER = 0.8  # how strongly volumes gather at the narrowest gap, see _grid
LEAK = 1e-12  # of the greatest source: oil that counts as none
MOST_CORRECTIONS = 100
SOMMERFELD = Range(0.0, np.inf, "")
TABLE_LENGTH_TO_DIAMETER = Range(0.2, 2.0, "")
ECCENTRICITIES, LENGTHS = 12, 6  # in the table
TABLES = 4  # kept in memory, one for each start of the film
STEPS, TOLERANCE = 30, 1e-9  # of the way back from S to e


class Film(NamedTuple):
    """Raimondi and Boyd's numbers of a film, each a scalar or an array; all without a unit.

    ``eccentricity_ratio`` e; ``sommerfeld`` S = (r/c)^2 mu N / P, with P the load over length and
    diameter and N in turns a second; ``attitude_deg`` [degrees] from the load's line to the
    narrowest gap; ``flow`` Q/(r c N l) of the oil [Q in m3/s] that enters where the film begins;
    ``side_flow_ratio`` the share of it that leaves at the ends; ``carried_flow`` in the same unit
    as ``flow``, of the cavitated film; ``pressure_ratio`` P over the highest pressure.
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
        """(r/c) f with f the friction coefficient, oil counted all round, cavitated or not.

        2 pi^2 S / sqrt(1 - e^2) + (e/2) sin(attitude): Raimondi and Boyd's way. The share of
        streaks in the cavitated half that stand still is not taken off, so it is the upper bound.
        """
        e = self.eccentricity_ratio
        drag = 2 * np.pi**2 * self.sommerfeld / np.sqrt(1 - e**2)
        return drag + e / 2 * np.sin(np.radians(self.attitude_deg))


class PressureField(NamedTuple):
    """Pressure in one bearing: its angles, axial positions and the pressure at each.

    ``angles`` [rad] from the widest gap on, in the direction of turning, shape (around + 1,);
    ``positions`` 0 at the mid-plane to 1 at an end, shape (along + 1,); ``pressure`` p [Pa] over
    the mean load pressure, shape (around + 1, along + 1), 0 where the film is cavitated.
    """

    angles: np.ndarray
    positions: np.ndarray
    pressure: np.ndarray


def film(eccentricity_ratio, length_to_diameter, start=0.0, around=AROUND, along=ALONG) -> Film:
    """Numbers of the film at ``eccentricity_ratio`` 0.01 to 0.98, bore 0.02 to 20 diameters long.

    ``eccentricity_ratio``: offset of the shaft's centre over the radial clearance;
    ``length_to_diameter``; ``start`` [rad], 0 to 3: where the film begins behind the widest gap,
    0 in a bearing with oil enough and more in a starved one; ``around`` and ``along``: volumes
    around, and along half of the bearing (both even; 180 and 16 are within 0.3 % of the limit of
    fine ones). Arrays broadcast, some 2 ms each. Module docstring for equation, conditions and
    source. Raises InputError out of range, ArithmeticError where the cavitated film is not found.

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
    """Pressure over one bearing's surface, for a picture.

    Arguments as in film, scalars only. Raises InputError out of range and for arrays, and
    ArithmeticError as film does.

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
    """The film at ``eccentricity_ratio`` in a bearing of ``length_to_diameter``, off the table.

    As `film` within 1 %, for bores 0.2 to 2 diameters long; ``start`` [rad] is one
    number, with a table of its own. Arrays broadcast. Raises InputError out of range.

    >>> round(float(film_read(0.6, 1.0).sommerfeld), 2)
    0.12
    """
    eccentricity = check("eccentricity_ratio", eccentricity_ratio, ECCENTRICITY)
    length = check("length_to_diameter", length_to_diameter, TABLE_LENGTH_TO_DIAMETER)
    place = np.broadcast_arrays(_logit(eccentricity), np.log(length))
    return _film(_table(float(check("start", start, START))), *place)


def film_under_load(sommerfeld, length_to_diameter, start=0.0) -> Film:
    """The film that carries a load of Sommerfeld number ``sommerfeld``, off the table.

    Other arguments, accuracy and errors as in film_read. A load too light or too heavy for the
    table's eccentricities, 0.01 and 0.98, gets the film at that end: then the film's own
    ``sommerfeld`` is not the one asked for. Arrays broadcast.

    >>> round(float(film_under_load(0.121, 1.0).eccentricity_ratio), 2)
    0.6
    """
    # The floor stands for no viscosity, and is far outside the table.
    wanted = np.log(np.maximum(check("sommerfeld", sommerfeld, SOMMERFELD), 1e-12))
    length = check("length_to_diameter", length_to_diameter, TABLE_LENGTH_TO_DIAMETER)
    wanted, length = np.broadcast_arrays(wanted, np.log(length))
    table = _table(float(check("start", start, START)))
    return _film(table, _found(table.sommerfeld, wanted, length), length)


def _cases(eccentricity_ratio, length_to_diameter, start, around, along):
    """The checked arguments, broadcast together."""
    for field, count in (("around", around), ("along", along)):
        if not (isinstance(count, int) and count >= 4 and count % 2 == 0):
            raise InputError(field, repr(count), Message("error.physics.even", low=4))
    return np.broadcast_arrays(
        check("eccentricity_ratio", eccentricity_ratio, ECCENTRICITY),
        check("length_to_diameter", length_to_diameter, LENGTH_TO_DIAMETER),
        check("start", start, START),
    )


class _Grid(NamedTuple):
    """Nodes carry pressures; faces lie between them. Gaps are over c, lengths over r or l/2."""

    angles: np.ndarray  # [rad], nodes
    gaps: np.ndarray  # nodes inside
    faces: np.ndarray  # gaps at faces
    widths: np.ndarray  # [rad] of the volumes inside
    positions: np.ndarray  # nodes, 0 at the mid-plane and 1 at an end
    heights: np.ndarray  # of the volumes but the last, which is at the end and has no pressure


def _grid(eccentricity, start, around, along) -> _Grid:
    """Volumes gather at the narrowest gap by Sommerfeld's substitution, and at the bearing's end.

    His 1 + e cos t = (1 - e^2) / (1 - e cos g) makes even steps of g short where the gap is
    narrow. With all of e the steps at the widest gap get too long for the flow that enters.
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
    """Balance of oil of each volume with a film: what pressure drives out is what motion brings."""

    turning: np.ndarray  # conductances to the volumes before and behind, (around, along)
    side: np.ndarray  # conductances towards the end, (around - 1, along)
    total: np.ndarray  # of each volume's conductances
    source: np.ndarray  # what motion brings in


def _network(grid: _Grid, length_to_diameter) -> _Network:
    turning = grid.faces[:, None] ** 3 / np.diff(grid.angles)[:, None] * grid.heights
    side = (grid.gaps**3 * grid.widths)[:, None] / np.diff(grid.positions) / length_to_diameter**2
    total = turning[:-1] + turning[1:] + side
    total[:, 1:] += side[:, :-1]
    return _Network(turning, side, total, -np.diff(grid.faces)[:, None] * grid.heights)


def _solved(eccentricity, length_to_diameter, start, around, along):
    """Grid, network and pressures over 12 pi mu N (r/c)^2 of all nodes.

    The cavitated film is guessed from a solution with half as many volumes each way: two or three
    corrections are enough.
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
    """Nodes of a grid twice as dense that have a film: those with it, and those beside them."""
    fine = np.zeros([2 * n - 1 for n in wet.shape], dtype=bool)
    fine[::2, ::2] = wet
    fine[1::2] = fine[:-1:2] | fine[2::2]
    fine[:, 1::2] = fine[:, :-1:2] | fine[:, 2::2]
    return fine


def _corrected(network: _Network, wet):
    """Pressures with the film cavitated where it has to be, from a guess of the wet volumes."""
    none = LEAK * np.abs(network.source).max()
    for _ in range(MOST_CORRECTIONS):
        pressure = _balanced(network, wet)
        better = np.where(wet, pressure[1:-1, :-1] > 0, _gain(network, pressure) > none)
        if np.array_equal(better, wet):
            return pressure
        wet = better
    raise ArithmeticError("the edge of the cavitated film was not found")


def _balanced(network: _Network, wet):
    """Pressures that balance the oil of each wet volume, 0 in the others."""
    rows = np.flatnonzero(wet.any(axis=1))[-1] + 1
    wet, along = wet[:rows], wet.shape[1]
    bands = np.zeros((along + 1, rows, along))  # each row the part of a matrix below its diagonal
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
    """Oil gain of each volume without a film, below 0 where a cavitated film thins out.

    Its own pressure is 0, so that nothing is pressed out of it.
    """
    gain = network.turning[1:] * pressure[2:, :-1] + network.turning[:-1] * pressure[:-2, :-1]
    gain += network.side * pressure[1:-1, 1:] + network.source
    gain[:, 1:] += network.side[:, :-1] * pressure[1:-1, :-2]
    return gain


def _load(grid: _Grid, pressure):
    """Load towards the narrowest gap and across it, over 12 pi mu N (r/c)^2 r l."""
    angles = grid.angles[1:-1]
    line = pressure[1:-1, :-1] @ grid.heights * grid.widths
    return -line @ np.cos(angles), line @ np.sin(angles)


def _numbers(grid: _Grid, network: _Network, pressure):
    """The fields of a Film but its eccentricity."""
    towards, across = _load(grid, pressure)
    load = np.hypot(towards, across)
    # No oil leaves sideways at the film's beginning: what passes the first face has entered there.
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
    """Oil that motion takes past the film's last face of each ring, and pressure past its edge."""
    wet = pressure[1:-1, :-1] > 0
    last = wet.shape[0] - np.argmax(wet[::-1], axis=0)
    pushed = np.where(wet, 0, _gain(network, pressure) - network.source)
    return grid.faces[last] @ grid.heights + pushed.sum()


class _Table(NamedTuple):
    """Splines of the logarithms of a film's numbers over log(e / (1 - e)) and log(l/d)."""

    sommerfeld: RectBivariateSpline
    attitude_deg: RectBivariateSpline
    flow: RectBivariateSpline
    side_flow_ratio: RectBivariateSpline
    carried_flow: RectBivariateSpline
    pressure_ratio: RectBivariateSpline


@functools.lru_cache(maxsize=TABLES)
def _table(start: float) -> _Table:
    places = _ends()
    lengths = np.linspace(*np.log(TABLE_LENGTH_TO_DIAMETER[:2]), LENGTHS)
    around = np.linspace(*places, ECCENTRICITIES)
    solved = film(_eccentricity(around)[:, None], _length(lengths), start)
    return _Table(*(
        RectBivariateSpline(around, lengths, np.log(getattr(solved, name)))
        for name in _Table._fields
    ))  # fmt: skip


def _logit(eccentricity):
    return np.log(eccentricity / (1 - eccentricity))


def _ends():
    """The ends of log(e / (1 - e))."""
    return _logit(np.array(ECCENTRICITY[:2]))


def _eccentricity(place):
    return np.clip(1 / (1 + np.exp(-place)), *ECCENTRICITY[:2])


def _length(place):
    return np.clip(np.exp(place), *TABLE_LENGTH_TO_DIAMETER[:2])


def _film(table: _Table, place, length) -> Film:
    numbers = {name: np.exp(getattr(table, name).ev(place, length)) for name in _Table._fields}
    return Film(_eccentricity(place), **numbers)


def _found(spline, wanted, length):
    """Place of the ``wanted`` value on ``spline``, by Newton's rule; the nearer end if nowhere."""
    low, high = _ends()
    place = np.zeros(wanted.shape)  # half of the clearance
    for _ in range(STEPS):
        step = (spline.ev(place, length) - wanted) / spline.ev(place, length, dx=1)
        moved = np.clip(place - step, low, high)
        if np.all(np.abs(moved - place) < TOLERANCE):
            return moved
        place = moved
    raise ArithmeticError("no eccentricity was found for a Sommerfeld number")
