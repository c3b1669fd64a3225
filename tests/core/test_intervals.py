"""Percentiles of samples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as of_numpy

from airover.core.intervals import Band, median, quantile

NUMBERS = st.floats(-1e6, 1e6) | st.just(np.nan)


@given(of_numpy.arrays(float, of_numpy.array_shapes(max_dims=3, max_side=9), elements=NUMBERS))
def test_a_band_is_that_of_numpy_quantile(samples):
    for axis in range(-1, samples.ndim):
        ours = np.array(Band.of(samples, axis))
        np.testing.assert_array_equal(ours, np.quantile(samples, (0.05, 0.5, 0.95), axis=axis))


@given(of_numpy.arrays(float, of_numpy.array_shapes(max_dims=2, max_side=9), elements=NUMBERS))
def test_medians_and_quantiles_are_those_of_numpy(samples):
    np.testing.assert_equal(median(samples), np.median(samples))
    for share in (0.0, 0.1, 0.5, 0.99, 1.0):
        np.testing.assert_equal(quantile(samples, share), np.quantile(samples, share))


def test_a_band_of_one_row_has_plain_numbers():
    band = Band.of([3, 1, 2])
    assert band == pytest.approx((1.1, 2.0, 2.9))
    assert {type(end) for end in band} == {float}
