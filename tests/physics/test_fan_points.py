"""Scattered points of a fan: strays are named, the smooth line keeps what is a fan's."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics.fan import FanCurve
from airover.physics.fan_points import outliers, smoothed
from tests.refusals import assert_refused

FLOW = np.linspace(0.2, 1.8, 12)
TRUE = 60 - 18 * FLOW**2
WATTS = 210 - 6 * FLOW - 12 * FLOW**2


def scattered(seed, deviation=0.8, flow=FLOW):
    return 60 - 18 * flow**2 + np.random.default_rng(seed).normal(0, deviation, flow.size)


@pytest.mark.parametrize("number", range(12))
def test_a_stray_is_named_wherever_it_stands(number):
    pressure = TRUE.copy()
    pressure[number] += 10.0
    assert outliers(FLOW, pressure).tolist() == [number]


def test_two_strays_are_named():
    pressure = scattered(5)
    pressure[[3, 8]] += [-14.0, 14.0]
    assert outliers(FLOW, pressure).tolist() == [3, 8]


def test_honest_scatter_is_seldom_called_stray():
    named = [outliers(FLOW, scattered(seed)).size > 0 for seed in range(60)]
    assert np.mean(named) < 0.1


@given(st.integers(0, 11), st.floats(0.01, 1000.0), st.permutations(range(12)))
@settings(deadline=None, max_examples=30)
def test_neither_units_nor_order_change_what_is_a_stray(number, factor, order):
    pressure = scattered(1)
    pressure[number] += 15.0
    named = outliers(FLOW[order], factor * pressure[order])
    assert order.index(number) in named
    assert sorted(order[one] for one in named) == outliers(FLOW, pressure).tolist()


def test_a_higher_threshold_names_fewer():
    pressure = TRUE.copy()
    pressure[4] += 4.0
    assert outliers(FLOW, pressure).size == 1 and outliers(FLOW, pressure, 20.0).size == 0


def test_the_deviation_is_that_of_the_scatter():
    """An outside truth: the scatter was made with 0.8 Pa."""
    found = [smoothed(FLOW, scattered(seed), falling=True).deviation for seed in range(25)]
    assert np.median(found) == pytest.approx(0.8, rel=0.2)


def test_the_smooth_line_lies_nearer_to_the_truth_than_the_points():
    errors = []
    for seed in range(25):
        values = scattered(seed)
        line = smoothed(FLOW, values, falling=True).values
        errors.append(np.std(line - TRUE) / np.std(values - TRUE))
    assert np.median(errors) < 0.75


def test_points_on_a_smooth_line_are_kept():
    line = smoothed(FLOW, TRUE, falling=True)
    np.testing.assert_allclose(line.values, TRUE, atol=0.3)
    assert line.deviation < 0.3


@pytest.mark.parametrize("seed", range(5))
def test_waves_of_scatter_are_taken_out_of_a_falling_line(seed):
    values = np.r_[50.0, 50.0, 50.0, 50.0, 50.0, scattered(seed)[5:]]
    values[:5] += np.random.default_rng(seed).normal(0, 0.5, 5)
    assert np.all(np.diff(smoothed(FLOW, values, falling=True).values) <= 1e-9)


def test_a_stall_is_no_scatter_and_stays():
    flow = np.linspace(0.1, 1.8, 18)
    stall = np.interp(flow, [0.1, 0.5, 0.8, 1.8], [90.0, 40.0, 62.0, 0.0])
    values = stall + np.random.default_rng(2).normal(0, 0.5, flow.size)
    line = smoothed(flow, values, falling=True).values
    peak = np.argmax(line[5:]) + 5
    assert flow[peak] == pytest.approx(0.8, abs=0.11) and line[peak] - line[:peak].min() > 12
    assert np.all(np.diff(line[peak:]) <= 1e-9)


def test_readings_repeated_at_one_flow_are_averaged_and_tell_the_scatter():
    flow = np.repeat(np.linspace(0.2, 1.8, 6), 4)
    values = scattered(3, flow=flow)
    line = smoothed(flow, values)
    assert line.flow.size == 6 and line.deviation == pytest.approx(0.8, rel=0.3)


def test_a_curve_from_scattered_points_leaves_strays_out_and_says_its_scatter():
    pressure, power = scattered(4), WATTS + np.random.default_rng(9).normal(0, 2.0, 12)
    pressure[6] += 14.0
    power[2] *= 1.2
    fan = FanCurve.from_measured(FLOW, pressure, power, 1075.0, 1.2)
    assert fan.left_out == (2, 6)
    assert 0.3 < fan.scatter.pressure < 1.6 and 0.7 < fan.scatter.power < 4.0
    true = FanCurve(FLOW, TRUE, WATTS, 1075.0, 1.2).operating_point(25.0, 1075.0, 1.2)
    found = fan.operating_point(25.0, 1075.0, 1.2)
    assert found.flow == pytest.approx(true.flow, rel=0.02)
    assert found.power == pytest.approx(true.power, rel=0.02)
    assert not found.several
    kept = FanCurve.from_measured(FLOW, pressure, power, 1075.0, 1.2, leave_out=False)
    assert kept.left_out == () and kept.scatter.pressure > 2 * fan.scatter.pressure


def test_scattered_pressure_falls_and_scattered_power_need_not():
    pressure, power = scattered(4), 160 + 20 * FLOW + scattered(7) - TRUE
    pressure[:5] = 50.0 + np.array([-0.5, 0.4, -0.3, 0.6, 0.1])
    fan = FanCurve.from_measured(FLOW, pressure, power, 1075.0, 1.2)
    assert fan.left_out == ()
    falls, free = (smoothed(FLOW, pressure, falling=one) for one in (True, False))
    assert fan.pressure.tolist() == falls.values.tolist() != free.values.tolist()
    assert np.all(np.diff(fan.pressure) <= 0) and np.all(np.diff(fan.power) > 0)
    assert fan.scatter == (falls.deviation, smoothed(FLOW, power).deviation)
    assert smoothed(FLOW, pressure).values.tolist() == free.values.tolist()


def test_the_order_of_scattered_points_does_not_matter():
    pressure, order = scattered(4), np.random.default_rng(0).permutation(12)
    one = FanCurve.from_measured(FLOW, pressure, WATTS, 1075.0, 1.2)
    other = FanCurve.from_measured(FLOW[order], pressure[order], WATTS[order], 1075.0, 1.2)
    np.testing.assert_allclose(other.pressure, one.pressure, rtol=1e-9)


@pytest.mark.parametrize(
    ("call", "field", "said"),
    [
        (lambda: outliers(FLOW[:4], TRUE[:4]), "flow", (4, 5, "scatter")),
        (lambda: smoothed(FLOW[:4], TRUE[:4]), "flow", (4, 5, "scatter")),
        (lambda: outliers(FLOW, TRUE[:9]), "values", (9, 12)),
        (lambda: outliers(FLOW, TRUE, 0.5), "threshold", (0.5, 1, 20)),
        (lambda: outliers(FLOW * 2119, TRUE), "flow", (423.8, 0, 20, 2119, 1)),
        (lambda: smoothed(FLOW, np.where(FLOW > 1, np.nan, TRUE)), "values", (np.nan, -1e6, 1e6)),
        (
            lambda: FanCurve.from_measured(FLOW, TRUE, -WATTS, 1075, 1.2),
            "power",
            (-208.32, 0, 5000, 1, 745.7),
        ),
        (
            lambda: FanCurve.from_measured([1] * 6, [40] * 6, [180] * 6, 1075, 1.2),
            "flow",
            ("only 1 airflow", 1, 5),
        ),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, field, said):
    with pytest.raises(InputError) as refused:
        call()
    assert_refused(refused.value, field, *said)


def test_five_points_are_enough():
    line = smoothed(FLOW[:5], TRUE[:5])
    np.testing.assert_allclose(line.values, TRUE[:5], atol=0.5)
    assert line.flow.size == 5 and isinstance(line.deviation, float)
    assert outliers(FLOW[:5], TRUE[:5]).size == 0


def test_a_stray_is_one_by_its_own_threshold():
    """3.5 unless another is given: what 3.4 names and 3.6 does not."""
    found = {}
    for size in np.linspace(0.5, 4.0, 36):
        values = scattered(0, deviation=0.4)
        values[5] += size
        for threshold in (3.4, 3.5, 3.6, None):
            told = () if threshold is None else (threshold,)
            found.setdefault(threshold, []).append(outliers(FLOW, values, *told).tolist())
    assert found[None] == found[3.5] and found[3.4] != found[3.6]
