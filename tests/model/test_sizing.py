"""Sizing from a curve or a plate: duty, standard horsepower, overload, other speeds."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.model.conditions import site_conditions
from airover.model.sizing import HORSEPOWER, RATINGS, Duty, above, at_speeds, duty, overload, size
from airover.physics.fan import FanCurve
from tests.jobs import job

# Ten invented points of a propeller fan; the density is standard air's.
FLOW = np.array([0.0, 0.3, 0.5, 0.62, 0.75, 0.9, 1.05, 1.2, 1.35, 1.5])
PRESSURE = np.array([90.0, 70.0, 52.0, 50.0, 58.0, 54.0, 45.0, 31.0, 17.0, 0.0])
POWER = np.array([300.0, 290.0, 280.0, 275.0, 268.0, 255.0, 240.0, 220.0, 200.0, 180.0])
FAN = FanCurve(FLOW, PRESSURE, POWER, 1075.0, 1.2)
resistances = st.floats(5.0, 60.0)


def scattered(seed=0):
    rng = np.random.default_rng(seed)
    flow = np.linspace(0.6, 1.5, 12)
    pressure = 62 - 26 * flow**2 + rng.normal(0, 1.0, 12)
    return FanCurve.from_measured(flow, pressure, 280 - 66 * flow + rng.normal(0, 4, 12), 1075, 1.2)


def test_what_is_known_exactly_gives_the_curves_own_point():
    found, point = duty(FAN, 30.0, 1000.0, 1.1), FAN.operating_point(30.0, 1000.0, 1.1)
    for name in ("flow", "pressure", "power"):
        np.testing.assert_allclose(getattr(found, name), getattr(point, name), rtol=1e-9)
    np.testing.assert_allclose(found.torque * 1000 * np.pi / 30, found.power)


@given(resistances, st.floats(1.0, 20.0), st.floats(0.01, 0.2))
@settings(deadline=None, max_examples=25)
def test_a_range_gives_a_band_that_holds_both_ends(low, more, thinner):
    found = duty(FAN, (low, low + more), 1075.0, (1.2 - thinner, 1.2), samples=50)
    ends = [
        FAN.operating_point(k, 1075.0, rho).power for k in (low, low + more) for rho in (1.2 - thinner, 1.2)
    ]  # fmt: skip
    assert min(ends) * 0.99 <= found.power.min() and found.power.max() <= max(ends) * 1.01
    assert found.bands()["power_shaft_w"].low < found.bands()["power_shaft_w"].high
    assert np.allclose(
        found.pressure / found.flow**2, np.clip(found.pressure / found.flow**2, low, low + more)
    )


def test_samples_of_a_resistance_are_taken_as_they_are():
    k = np.linspace(20, 40, 30)
    found = duty(FAN, k, 1075.0, 1.1, samples=30)
    np.testing.assert_allclose(found.flow, FAN.operating_point(k, 1075.0, 1.1).flow)


def test_scatter_of_the_points_widens_the_band_and_only_it():
    fan = scattered()
    found = duty(fan, 25.0, 1075.0, 1.2)
    assert found.variances["resistance"] == pytest.approx(0, abs=1e-20)
    assert np.std(found.power) == pytest.approx(fan.scatter.power, rel=0.3)
    slope = (fan.at(1.19, 1075, 1.2).pressure - fan.at(1.21, 1075, 1.2).pressure) / 0.02
    # first-order error of a crossing: dQ = dp / (2 k Q - p')
    expected = fan.scatter.pressure / (2 * 25 * np.median(found.flow) + slope)
    assert np.std(found.flow) == pytest.approx(expected, rel=0.3)


def test_the_true_power_lies_in_the_band_about_as_often_as_it_says():
    """Curves made with known scatter: the band is that of single points, so it may hold more."""
    held = []
    for seed in range(40):
        band = duty(scattered(seed), 25.0, 1075.0, 1.2, samples=60).bands()["power_shaft_w"]
        true = FanCurve(FLOW2, 62 - 26 * FLOW2**2, 280 - 66 * FLOW2, 1075, 1.2)
        held.append(band.low < true.operating_point(25.0, 1075.0, 1.2).power < band.high)
    assert np.mean(held) >= 0.85


FLOW2 = np.linspace(0.6, 1.5, 40)


def test_thin_air_needs_less_power():
    thin, thick = (size(duty(FAN, 30.0 * rho / 1.2, 1075.0, rho)) for rho in (0.9, 1.2))
    assert thin.needed.mid == pytest.approx(thick.needed.mid * 0.75)
    assert thin.torque.mid == pytest.approx(thick.torque.mid * 0.75)


def test_the_standard_above_and_its_neighbours():
    found = size(duty(FAN, (25.0, 40.0), 1075.0, (1.05, 1.15)))
    assert (found.standard.text, found.sure.text) == ("1/3 hp", "1/2 hp")
    assert (found.smaller.text, found.larger.text) == ("1/4 hp", "1/2 hp")
    assert found.load.mid < 1 / 1.1
    bare = size(duty(FAN, 30.0, 1075.0, 1.1), margin=0.0)
    assert bare.needed.mid == pytest.approx(FAN.operating_point(30.0, 1075.0, 1.1).power)


@given(st.floats(1.0, 745.0))
def test_above_is_the_least_that_holds(power):
    found = above(power)
    assert found.power >= power * (1 - 1e-9)
    assert all(one.power < power for one in RATINGS if one.power < found.power)


def test_low_voltage_within_tolerance_asks_for_nothing_and_below_it_for_the_square():
    known = duty(FAN, 30.0, 1075.0, 1.1)
    usual, low = size(known, voltage_share=0.95), size(known, voltage_share=0.8)
    assert usual.needed == size(known).needed
    assert low.needed.mid == pytest.approx(usual.needed.mid * (0.9 / 0.8) ** 2)


def test_from_a_failed_motors_plate():
    asked = site_conditions(job(), 80)
    found = Duty.of(asked)
    np.testing.assert_allclose(found.torque, asked.torque)
    assert size(found, margin=0.0).needed.mid == pytest.approx(np.median(asked.shaft_power))


def test_overload_looks_at_the_whole_curve():
    found = overload(FAN, 1075.0, 1.2, HORSEPOWER / 3)
    assert found.largest.mid == 300.0 and found.flow == 0.0
    assert found.working.mid == 268.0 and found.stall_flow == 0.75
    assert found.over[0] == 0.0 and FAN.at(found.over[1], 1075, 1.2).power == pytest.approx(
        249, abs=1
    )
    assert found.load == pytest.approx(300 / (HORSEPOWER / 3))
    assert found.to_free_delivery and found.to_stall
    assert overload(FAN, 1075.0, 1.2, HORSEPOWER / 2).over is None
    assert overload(FAN, 1075.0, 1.2).load is None


@given(st.floats(600, 1200), st.floats(0.8, 1.3))
def test_nowhere_does_the_curve_take_more_than_the_largest_power(speed_rpm, density):
    found = overload(FAN, speed_rpm, density)
    flow = np.linspace(0, 1.5, 200) * speed_rpm / 1075
    assert FAN.at(flow, speed_rpm, density).power.max() <= found.largest.mid * (1 + 1e-9)


def test_a_curve_cut_short_says_so():
    cut = FanCurve(FLOW[5:8], PRESSURE[5:8], POWER[5:8], 1075.0, 1.2)
    found = overload(cut, 1075.0, 1.2)
    assert not found.to_free_delivery and not found.to_stall


def test_scatter_makes_the_largest_power_a_band():
    band = overload(scattered(), 1075.0, 1.2).largest
    assert band.low < band.mid < band.high


def test_six_against_eight_poles():
    fast, slow = at_speeds(FAN, 30.0, 1.1)
    assert (fast.speed_rpm, slow.speed_rpm) == (1075.0, 825.0)
    ratio = 825 / 1075
    assert slow.bands["flow_m3s"].mid == pytest.approx(fast.bands["flow_m3s"].mid * ratio)
    assert slow.bands["power_shaft_w"].mid == pytest.approx(
        fast.bands["power_shaft_w"].mid * ratio**3
    )
    assert slow.bands["torque_nm"].mid == pytest.approx(fast.bands["torque_nm"].mid * ratio**2)
    assert fast.sound == 0 and slow.sound == pytest.approx(-5.75, abs=0.01)
    assert slow.standard.power < fast.standard.power


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: duty(FAN, [1.0, 2.0, 3.0], 1075, 1.2),
            "resistance: an array of shape .3,...* a pair",
        ),
        (lambda: duty(FAN, 30.0, 1075, (0.075, 0.08)), "density: 0.075 kg/m3"),
        (lambda: duty(FAN, (-3.0, 5.0), 1075, 1.2), "resistance: -3 Pa s2/m6"),
        (lambda: size(duty(FAN, 30.0, 1075, 1.2), margin=10), "margin: 10 is not accepted"),
        (
            lambda: size(duty(FAN, 30.0, 1075, 1.2), voltage_share=208),
            "voltage_share: 208 of rated",
        ),
        (
            lambda: size(duty(FAN, 30.0, 1800, 1.2)),
            "power: .* W is not accepted. Enter at most 1 hp",
        ),
        (lambda: overload(FAN, 1075, 1.2, rating=-1), "rating: -1 W"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
