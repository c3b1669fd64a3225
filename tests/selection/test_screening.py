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


@pytest.mark.skipif(screening_kernel.numba is None, reason="there is no numba here")
@pytest.mark.parametrize("samples", [9, 40])
def test_decisions_from_bounds_are_those_of_the_whole_polynomials(samples):
    """Few terms and a bound for the others decide as all terms do, at limits near and far."""
    rng = np.random.default_rng(samples)
    terms = np.array([(i, j, k, 0) for k in (0, 1) for j in (0, 1) for i in (0, 1, 2)])
    synchronous, likely, met = 1200.0, 0.5, set()
    per_speed = rng.uniform(0.9, 1.1, samples).astype(np.float32) / 1080
    for _ in range(300):
        scratch = screening_kernel._scratch_of(terms, samples)
        scratch.basis[:] = rng.uniform(-1, 1, scratch.basis.shape)
        scratch.factors[:] = rng.uniform(-1, 1, len(terms))
        table = rng.uniform(-0.03, 0.03, (7, len(terms), samples)).astype(np.float32)
        table[SLIP, 0] += 0.1 / scratch.factors[0] / scratch.basis[0]
        screening_kernel._bounds(table, scratch)
        whole = np.einsum("ftd,t,td->fd", table, scratch.factors, scratch.basis[scratch.run])
        airflow = (1 - whole[SLIP]) * synchronous * per_speed
        for off in (-0.2, -0.05, -0.01, 0.01, 0.05, 0.2):
            near = float(np.median(airflow)) + off
            short = screening_kernel._short(table, synchronous, per_speed, near, scratch)
            assert short == (np.median(airflow) < near)
            limit = float(np.median(whole[CAPACITOR])) + off
            high = screening_kernel._overvoltage(table, limit, scratch)
            assert high == (np.median(whole[CAPACITOR]) > limit)
            limit = float(np.median(whole[CURRENT])) + off
            over = screening_kernel._overloaded(table, limit, likely, scratch)
            assert over == (np.mean(whole[CURRENT] > limit) > likely)
            met |= {(off, "short", short), (off, "high", high), (off, "over", over)}
    assert {one for _, _, one in met} == {False, True}
    for off in (-0.2, 0.2):  # far from the limit, the decision is the same in every case
        assert len({answer for of, name, answer in met if of == off and name == "high"}) == 1


@pytest.mark.skipif(screening_kernel.numba is None, reason="there is no numba here")
def test_margins_in_steps_and_percentiles_are_those_of_numpy():
    rng = np.random.default_rng(4)
    for spread in (0.5, 4.0, 40.0):
        temps = (90 + spread * rng.gamma(0.4, size=(300, 50))).astype(np.float32)
        for row in temps:
            steps = np.rint((120 - np.median(row.astype(float))) / 5)
            assert screening_kernel._steps(120.0, row) == steps
        ours = screening_kernel.percentiles(temps)
        np.testing.assert_allclose(ours, np.quantile(temps, (0.05, 0.5, 0.95), axis=1).T, rtol=1e-6)
    assert np.isnan(screening_kernel._steps(np.nan, temps[0]))
