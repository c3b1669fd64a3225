"""The figures that the screening of a fleet keeps for each motor, and its faster arithmetic."""

import numpy as np
import pytest

from airover.selection import screening_kernel
from airover.selection.screening import (
    BREAKDOWN,
    CAPACITOR,
    CURRENT,
    INPUT,
    LOAD,
    RISE,
    SLIP,
    STOPS,
)


def test_each_figure_has_its_polynomial():
    """Those of a failed motor, which has few, come first."""
    assert sorted([RISE, SLIP, LOAD]) == list(range(3))
    assert sorted([RISE, SLIP, LOAD, CURRENT, CAPACITOR, BREAKDOWN, INPUT]) == list(range(7))
    assert len(STOPS) == len(set(STOPS)) == 8


@pytest.mark.skipif(screening_kernel.numba is None, reason="there is no numba here")
def test_exponentials_in_single_precision():
    scratch = screening_kernel._scratch_of(np.zeros((1, 4), int), 4001)
    values = np.linspace(-80, 80, 4001, dtype=np.float32)
    found = np.empty_like(values)
    screening_kernel._exponentials(values, scratch, found)
    # the product with log2(e) is rounded to 24 bits, which is 4e-6 of the result at 80
    near = np.abs(values) < 8
    exact = np.exp(values.astype(float))
    assert np.max(np.abs(found / exact - 1)[near]) < 1e-6
    assert np.max(np.abs(found / exact - 1)) < 1e-5
    assert found[2000] == 1


@pytest.mark.skipif(screening_kernel.numba is None, reason="there is no numba here")
@pytest.mark.parametrize("count", [9, 10, 100])
def test_a_median_is_compared_by_counting(count):
    rng = np.random.default_rng(count)
    met = set()
    for _ in range(400):
        values = rng.integers(0, 6, count).astype(np.float32)
        limit = float(rng.integers(0, 12)) / 2
        wanted = np.sign(np.median(values) - limit)
        assert screening_kernel._compared(values.copy(), limit) == wanted
        met.add(int(wanted))
    assert met == {-1, 0, 1}
    assert screening_kernel._compared(values, np.nan) == 0
