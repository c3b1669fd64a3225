"""What the screening of a fleet is told and gives: shapes, and nothing found at first."""

import numpy as np

from airover.selection.screening import (
    BEST,
    BREAKDOWN,
    CAPACITOR,
    CURRENT,
    HORIZONTAL,
    INPUT,
    LOAD,
    OF_THE_FAILED,
    RISE,
    SLIP,
    STOPS,
    VERTICAL,
    Best,
)


def test_nothing_is_found_at_first():
    """Three motors are kept of each unit, with ten figures; four counts and how many motors each rule stops."""
    best = Best.none(4, 20)
    assert BEST == 3
    assert (VERTICAL, HORIZONTAL) == (0, 1)  # rows of a motor's polynomials
    for numbers in (best.motor, best.rating_number):
        assert numbers.shape in {(4, 3)}
    assert np.all(best.motor == -1)
    assert best.work.shape == (4, 3) and best.counts.shape == (4, 4)
    assert best.failing.shape == (4, 20)
    assert best.tasks.shape == (4, 3) and not best.tasks.any()
    assert best.nearest.tolist() == [-1] * 4 and not best.obstacles.any()
    for whole in (best.work, best.rating_number, best.counts, best.failing):
        assert whole.dtype.kind == "i" and not np.any(whole)
    assert best.figures.shape == (4, 3, 10) and np.all(np.isnan(best.figures))
    best.work[:] = 7  # each has its own memory
    assert not np.any(best.rating_number)


def test_each_figure_has_its_polynomial():
    """Those of a failed motor, which has few, come first."""
    assert sorted([RISE, SLIP, LOAD]) == list(range(OF_THE_FAILED))
    assert sorted([RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN, INPUT]) == list(range(7))
    assert len(STOPS) == len(set(STOPS)) == 8
