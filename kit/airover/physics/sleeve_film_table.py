"""Films of sleeve bearings read off a table of solved ones, both ways, thousands at a time.

`sleeve_bearing.film` is solved at 12 eccentricities times 6 lengths, once in a process (an eighth
of a second), and joined by cubic splines of logarithms. Everywhere between it is within 1 % of the
solution (0.3 % seen). Eccentricities are even in log(e / (1 - e)): over it log S is nearly straight
for a light load as for a heavy one.
"""

import functools
from typing import NamedTuple

import numpy as np
from scipy.interpolate import RectBivariateSpline

from airover.limits import Range, check
from airover.physics.sleeve_bearing import ECCENTRICITY, START, Film, film

SOMMERFELD = Range(0.0, np.inf, "")
LENGTH_TO_DIAMETER = Range(0.2, 2.0, "")
ECCENTRICITIES, LENGTHS = 12, 6  # in the table
TABLES = 4  # kept in memory, one for each start of the film
STEPS, TOLERANCE = 30, 1e-9  # of the way back from S to e


def film_read(eccentricity_ratio, length_to_diameter, start=0.0) -> Film:
    """The film at ``eccentricity_ratio`` in a bearing of ``length_to_diameter``, off the table.

    As sleeve_bearing.film within 1 %, for bores 0.2 to 2 diameters long; ``start`` [rad] is one
    number, with a table of its own. Arrays broadcast. Raises InputError out of range.

    >>> round(float(film_read(0.6, 1.0).sommerfeld), 2)
    0.12
    """
    eccentricity = check("eccentricity_ratio", eccentricity_ratio, ECCENTRICITY)
    length = check("length_to_diameter", length_to_diameter, LENGTH_TO_DIAMETER)
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
    length = check("length_to_diameter", length_to_diameter, LENGTH_TO_DIAMETER)
    wanted, length = np.broadcast_arrays(wanted, np.log(length))
    table = _table(float(check("start", start, START)))
    return _film(table, _found(table.sommerfeld, wanted, length), length)


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
    lengths = np.linspace(*np.log(LENGTH_TO_DIAMETER[:2]), LENGTHS)
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
    return np.clip(np.exp(place), *LENGTH_TO_DIAMETER[:2])


def _film(table: _Table, place, length) -> Film:
    numbers = {name: np.exp(getattr(table, name).ev(place, length)) for name in _Table._fields}
    return Film(_eccentricity(place), **numbers)


def _found(spline, wanted, length):
    """Where ``spline`` has the ``wanted`` value, by Newton's rule; the nearer end where nowhere."""
    low, high = _ends()
    place = np.zeros(wanted.shape)  # half of the clearance
    for _ in range(STEPS):
        step = (spline.ev(place, length) - wanted) / spline.ev(place, length, dx=1)
        moved = np.clip(place - step, low, high)
        if np.all(np.abs(moved - place) < TOLERANCE):
            return moved
        place = moved
    raise ArithmeticError("no eccentricity was found for a Sommerfeld number")
