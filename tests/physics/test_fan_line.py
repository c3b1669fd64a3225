"""Fan curves that rise in their stall: every crossing with a system line, and drawing on."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from airover.core.errors import InputError
from airover.physics.fan import EXTRAPOLATION, FanCurve

# An invented propeller fan: pressure falls into the stall's dip and rises out of it.
FLOW = np.array([0.0, 0.3, 0.5, 0.62, 0.75, 0.9, 1.2, 1.5])
PRESSURE = np.array([90.0, 50.0, 22.0, 26.0, 58.0, 54.0, 31.0, 0.0])
POWER = np.array([260.0, 250.0, 245.0, 243.0, 240.0, 235.0, 220.0, 190.0])
STALLING = FanCurve(FLOW, PRESSURE, POWER, 1075.0, 1.2)

resistances = st.floats(0.0, 500.0)
speeds = st.floats(400, 1800)
densities = st.floats(0.8, 1.3)


@st.composite
def any_curves(draw):
    """Curves of any shape that end falling, down to zero pressure or below."""
    size = draw(st.integers(3, 9))
    flow = np.cumsum([draw(st.floats(0.05, 0.4)) for _ in range(size)]) - 0.049
    pressure = np.array([draw(st.floats(5.0, 100.0)) for _ in range(size)])
    pressure[-1] = draw(st.floats(-5.0, 0.0))
    power = np.maximum(flow * pressure, 0) * draw(st.floats(1.1, 5.0)) + draw(st.floats(0.0, 10.0))
    return FanCurve(flow, pressure, power, draw(speeds), draw(densities))


def test_a_line_through_the_stall_has_three_crossings_told_apart():
    found = STALLING.operating_points(88.0, 1075.0, 1.2)
    assert [one.stable for one in found] == [True, False, True]
    assert [round(one.flow, 2) for one in found] == [0.5, 0.68, 0.81]  # 88 x 0.5^2 = 22
    assert STALLING.stall_flow == 0.75


def test_the_operating_point_is_the_stable_one_of_largest_flow_and_says_of_others():
    point = STALLING.operating_point([20.0, 88.0, 200.0], 1075.0, 1.2)
    assert point.several.tolist() == [False, True, False]
    assert point.flow[1] == pytest.approx(STALLING.operating_points(88.0, 1075.0, 1.2)[-1].flow)
    assert not np.any(point.extrapolated)


@settings(deadline=None)
@given(any_curves(), resistances, speeds, densities)
def test_every_crossing_lies_on_both_lines(fan, resistance, speed_rpm, density):
    for one in fan.operating_points(resistance, speed_rpm, density):
        on_fan = fan.at(one.flow, speed_rpm, density)
        slack = 1e-6 * abs(fan.pressure).max() * (speed_rpm / fan.speed_rpm) ** 2
        assert one.pressure == pytest.approx(on_fan.pressure, rel=1e-6, abs=slack)
        assert one.pressure == pytest.approx(resistance * one.flow**2, rel=1e-6, abs=slack)


@settings(deadline=None)
@given(any_curves(), resistances)
def test_stable_and_unstable_take_turns_and_the_last_is_stable(fan, resistance):
    found = fan.operating_points(resistance, 1075.0, 1.2)
    own = resistance * fan.density / 1.2
    if fan.pressure[0] > own * fan.flow[0] ** 2 * (1 + 1e-6):
        assert found and found[0].stable
    turned = [one.stable for one in found[::-1]]
    assert turned == [n % 2 == 0 for n in range(len(found))]
    assert np.all(np.diff([one.flow for one in found]) > 0)


@settings(deadline=None)
@given(any_curves(), st.lists(resistances, min_size=1, max_size=4))
def test_arrays_give_the_same_as_one_at_a_time(fan, several):
    met = [fan.operating_points(one, 900.0, 1.1) for one in several]
    assume(all(met))
    many = fan.operating_point(several, 900.0, 1.1)
    assert many.flow == pytest.approx([one[-1].flow for one in met], rel=1e-9)
    assert many.several.tolist() == [len(one) > 1 for one in met]


@settings(deadline=None)
@given(any_curves(), resistances, st.floats(0.01, 100))
def test_more_resistance_never_raises_the_flow(fan, resistance, more):
    low, high = (fan.operating_points(k, 1075.0, 1.2) for k in (resistance, resistance + more))
    assume(low and high)
    assert high[-1].flow <= low[-1].flow * (1 + 1e-9)


@settings(deadline=None)
@given(any_curves(), resistances)
def test_a_fine_look_along_the_curve_sees_no_other_crossing(fan, resistance):
    """Another road to the same: changes of sign on a grid, with no branches."""
    flow = np.linspace(fan.flow[0], fan.flow[-1], 4001)
    own = resistance * fan.density / 1.2
    excess = PchipInterpolator(fan.flow, fan.pressure)(flow) - own * flow**2
    assume(np.all(np.abs(excess[np.r_[0, -1]]) > 1e-6))
    seen = np.count_nonzero(np.diff(excess > 0))
    found = fan.operating_points(resistance, fan.speed_rpm, 1.2)
    close = np.diff([one.flow for one in found]).min(initial=np.inf) < 2 * (flow[1] - flow[0])
    assert len(found) == seen or close


@given(st.floats(0.01, 2.0))
def test_stable_means_that_the_fan_falls_steeper_than_the_system_rises(share):
    resistance = 88.0 * share
    for one in STALLING.operating_points(resistance, 1075.0, 1.2):
        step = 1e-6
        less, more = (STALLING.at(one.flow + d, 1075.0, 1.2).pressure for d in (-step, step))
        assert one.stable == ((more - less) / (2 * step) < 2 * resistance * one.flow)


def test_a_curve_measured_from_within_its_stall():
    fan = FanCurve(FLOW[3:], PRESSURE[3:], POWER[3:], 1075.0, 1.2)
    assert [one.stable for one in fan.operating_points(88.0, 1075.0, 1.2)] == [False, True]
    with pytest.raises(InputError, match="resistance: 150 Pa s2/m6 .* 0.62 to 1.5 m3/s"):
        fan.operating_point([20.0, 150.0], 1075.0, 1.2)
    least, most = fan.resistances(1.2)
    assert least == pytest.approx(0.0, abs=1e-9) and most > 58 / 0.75**2
    assert fan.operating_points(most * 1.01, 1075.0, 1.2) == ()
    assert fan.operating_point(most * 0.999, 1075.0, 1.2).flow < 0.75


@pytest.mark.parametrize("share", [1.0, 0.5])
def test_the_reach_in_resistance_is_where_points_are_found(share):
    fan = FanCurve(FLOW[4:7], PRESSURE[4:7], POWER[4:7], 1075.0, 1.2)
    least, most = fan.resistances(1.2 * share)
    assert fan.operating_point([least, most], 825.0, 1.2 * share).flow == pytest.approx(
        np.array([1.2, 0.75]) * 825 / 1075
    )
    for beyond in (least * 0.999, most * 1.001):
        with pytest.raises(InputError, match="within 0.75 to 1.2 m3/s at 1075 rpm"):
            fan.operating_point(beyond, 825.0, 1.2 * share)


def test_going_beyond_the_points_is_asked_for_and_marked():
    fan = FanCurve(FLOW[4:7], PRESSURE[4:7], POWER[4:7], 1075.0, 1.2)
    least, most = fan.resistances(1.2)
    asked = [least * 0.9, 40.0, most * 1.04]
    point = fan.operating_point(asked, 1075.0, 1.2, extrapolate=True)
    assert point.extrapolated.tolist() == [True, False, True]
    assert 1.2 < point.flow[0] <= 1.2 + EXTRAPOLATION * 0.45 + 1e-12
    np.testing.assert_allclose(point.pressure, asked * point.flow**2, rtol=1e-9)
    (only,) = fan.operating_points(least * 0.9, 1075.0, 1.2, extrapolate=True)
    assert only.extrapolated and only.flow == pytest.approx(point.flow[0])
    with pytest.raises(InputError, match="within 0.705 to 1.245 m3/s"):
        fan.operating_point(0.0, 1075.0, 1.2, extrapolate=True)


@pytest.mark.parametrize("first, drawn_from", [(0.0, "0"), (0.05, "0.025"), (0.4, "0.29")])
def test_it_is_not_drawn_below_half_of_the_first_flow(first, drawn_from):
    fan = FanCurve([first, 0.9, 1.5], [60.0, 50.0, 30.0], [180.0, 150.0, 120.0], 1075.0, 1.2)
    end = 1.5 + EXTRAPOLATION * (1.5 - first)
    with pytest.raises(InputError, match=f"within {drawn_from} to {end:g} m3/s at 1075 rpm"):
        fan.operating_point(0.0, 1075.0, 1.2, extrapolate=True)


def test_the_end_points_are_measured_but_for_rounding():
    fan = FanCurve(FLOW[4:7], PRESSURE[4:7], POWER[4:7], 1075.0, 1.2)
    for end, outwards in ((0, -1), (-1, 1)):
        for beyond, marked in ((0.9e-9, False), (1.5e-9, True)):
            flow = fan.flow[end] * (1 + outwards * beyond)
            pressure = fan.pressure[end] + slope_at(fan, end) * (flow - fan.flow[end])
            found = fan.operating_point(pressure / flow**2, 1075.0, 1.2, extrapolate=True)
            assert found.flow == pytest.approx(flow, rel=1e-11)
            assert found.extrapolated == marked


def test_a_line_that_just_misses_the_last_point_of_a_stalling_fan_meets_it():
    fan = FanCurve(FLOW, PRESSURE + 7, POWER, 1075.0, 1.2)
    assert fan.operating_point(7 / 1.5**2 * (1 - 1e-12), 1075.0, 1.2).flow == 1.5


def slope_at(fan, end):
    return PchipInterpolator(fan.flow, fan.pressure).derivative()(fan.flow[end])


def test_marks_have_the_shape_of_the_point():
    fan = FanCurve(FLOW[4:7], PRESSURE[4:7], POWER[4:7], 1075.0, 1.2)
    at = fan.operating_point([[22.0], [40.0]], [900.0, 1000.0, 1100.0], 1.2)
    assert [one.shape for one in at] == [(2, 3)] * 5
    assert [np.shape(one) for one in fan.operating_point(40.0, 900.0, 1.2)] == [()] * 5
    (only,) = fan.operating_points(40.0, 900.0, 1.2)
    assert [type(one) for one in only] == [float, float, float, bool, bool]


def test_drawing_on_does_not_change_what_was_measured():
    for resistance in (5.0, 40.0, 88.0):
        plain = STALLING.operating_point(resistance, 1000.0, 1.1)
        drawn = STALLING.operating_point(resistance, 1000.0, 1.1, extrapolate=True)
        assert drawn == pytest.approx(plain, rel=1e-12)


def test_power_drawn_on_below_the_airs_is_refused():
    fan = FanCurve([0.6, 0.9, 1.2], [60.0, 50.0, 45.0], [180.0, 90.0, 54.5], 1075.0, 1.2)
    with pytest.raises(InputError) as refused:
        fan.operating_point(45 / 1.2**2 * 0.96, 1075.0, 1.2, extrapolate=True)
    given = "extrapolate: a point where the power drawn on is less than the air's"
    assert (
        str(refused.value) == f"{given} was given; accepted is a point within the measured flows."
    )


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: STALLING.operating_points([1.0, 2.0], 1075, 1.2),
            "resistance: an array of shape .2,.",
        ),
        (
            lambda: STALLING.operating_points(1.0, [1075, 825], 1.2),
            "speed_rpm: an array of shape .2,.",
        ),
        (lambda: STALLING.operating_points(-1.0, 1075, 1.2), "resistance: -1 Pa s2/m6"),
        (lambda: STALLING.resistances(0.075), "density: 0.075 kg/m3"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


numbers = st.one_of(st.floats(), st.floats(-10, 3000), st.none(), st.text(max_size=3))
columns = st.one_of(st.lists(numbers, max_size=6), numbers, st.lists(st.lists(numbers), max_size=3))


@settings(deadline=None)
@given(columns, columns, columns, st.one_of(numbers, st.just(1075.0)))
def test_what_is_no_curve_gets_one_sentence(flow, pressure, power, speed_rpm):
    for make in (FanCurve, FanCurve.from_measured):
        try:
            make(flow, pressure, power, speed_rpm, 1.2)
        except InputError as error:
            assert str(error).count("\n") == 0 and "accepted is" in str(error)


@settings(deadline=None)
@given(st.integers(3, 7).flatmap(lambda n: st.tuples(
    *(st.lists(st.floats(-1.0, top), min_size=n, max_size=n) for top in (3.0, 100.0, 300.0)))))  # fmt: skip
def test_whatever_is_accepted_can_be_worked_with(columns):
    try:
        fan = FanCurve(*columns, 1075.0, 1.2)
    except InputError:
        return
    for one in fan.operating_points(20.0, 1075.0, 1.2):
        assert np.all(np.isfinite(one))
