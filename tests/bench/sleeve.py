"""The film of a sleeve bearing beside plain sparse algebra, and the table beside root finding."""

import numpy as np
from row import Row, timed
from scipy.optimize import brentq
from scipy.sparse import diags_array, eye_array, kron
from scipy.sparse.linalg import spsolve

from airover.physics.sleeve_bearing import film, film_under_load

AROUND, ALONG = 180, 16


def sleeves(sample: int, repeats: int) -> list[Row]:
    """One film of 180 x 16 volumes, and 1,000 loads; the table is made beforehand."""
    ours, one = timed(lambda: film(0.6, 1.0), repeats)
    peer, other = timed(lambda: _plain(0.6, 1.0))
    apart = abs(one.sommerfeld / other - 1)
    rng = np.random.default_rng(0)
    eccentricity, length = rng.uniform(0.05, 0.95, 1000), rng.uniform(0.5, 1.5, 1000)
    wanted = film(eccentricity[:sample], length[:sample]).sommerfeld
    wanted = np.concatenate([wanted, np.geomspace(0.01, 10, 1000 - sample)])
    film_under_load(wanted, length)
    table, read = timed(lambda: film_under_load(wanted, length), repeats)
    loop, found = timed(lambda: np.array([_found(*one) for one in zip(wanted, length[:sample])]))
    worst = np.max(np.abs((1 - read.eccentricity_ratio[:sample]) / (1 - found) - 1))

    def row(what, ours, name, seconds, apart, allowed):
        return Row(what, ours, name, seconds, float(apart), allowed)

    loop, name = loop * 1000 / sample, f"brentq on the solver; {sample} timed, scaled"
    return [
        row("a sleeve bearing's film, 180 x 16", ours, "by spsolve", peer, apart, 0.005),
        row("1000 sleeves under load", table, name, loop, worst, 0.01),
    ]


def _found(sommerfeld, length):
    return brentq(lambda e: film(e, length).sommerfeld - sommerfeld, 0.02, 0.98, xtol=1e-6)


def _plain(eccentricity, length) -> float:
    """Sommerfeld number by even volumes and a sparse matrix, as a textbook would have it.

    Nodes of negative pressure are torn, torn ones with too much oil join again, one by one.
    """
    step, height = 2 * np.pi / AROUND, 1 / ALONG
    angles = step * np.arange(1, AROUND)
    cube = (1 + eccentricity * np.cos(np.append(angles, 2 * np.pi) - step / 2)) ** 3
    beside, whole = -cube[1:-1] / step**2, (cube[:-1] + cube[1:]) / step**2
    line = diags_array([whole, beside, beside], offsets=[0, 1, -1])
    along = np.full(ALONG, 2.0)
    mirror = np.full(ALONG - 1, -1.0)
    side = diags_array([along, np.append(-2.0, mirror[1:]), mirror], offsets=[0, 1, -1])
    middle = diags_array((1 + eccentricity * np.cos(angles)) ** 3)
    matrix = kron(line, eye_array(ALONG)) + kron(middle, side / height**2 / length**2)
    matrix, source = matrix.tocsr(), np.repeat(eccentricity * np.sin(angles), ALONG)
    wet = np.repeat(angles < np.pi, ALONG)
    for _ in range(100):
        pressure = np.zeros(wet.size)
        pressure[wet] = spsolve(matrix[wet][:, wet], source[wet])
        better = np.where(wet, pressure > 0, source - matrix @ pressure > 1e-12)
        if np.array_equal(better, wet):
            return 1 / (6 * np.pi * _load(pressure.reshape(-1, ALONG), angles, step, height))
        wet = better
    raise ArithmeticError("the peer did not find the torn film")


def _load(pressure, angles, step, height):
    line = (pressure.sum(axis=1) - pressure[:, 0] / 2) * height * step
    return np.hypot(line @ np.cos(angles), line @ np.sin(angles))
