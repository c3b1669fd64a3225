"""Fan laws and curves: invariants, every crossing with a system line, stalls, bad input."""

import pickle

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from airover.core.errors import InputError
from airover.physics.air_path import system_resistance
from airover.physics.fan import EXTRAPOLATION, FanCurve, scale
from tests.refusals import assert_refused

FLOW = np.array([0.0, 0.5, 0.9, 1.2, 1.5])
PRESSURE = np.array([80.0, 62.0, 50.0, 31.0, 0.0])
POWER = np.array([150.0, 160.0, 165.0, 160.0, 140.0])
ratios = st.floats(0.3, 1.5)
speeds = st.floats(400, 1800)
densities = st.floats(0.8, 1.3)


def curve(pressure=PRESSURE, flow=FLOW, power=POWER, speed_rpm=1075.0, density=1.2):
    return FanCurve(flow, pressure, power, speed_rpm, density)


@st.composite
def curves(draw):
    size = draw(st.integers(3, 8))
    steps = st.lists(st.floats(0.05, 0.5), min_size=size, max_size=size)
    flow = np.cumsum(draw(steps)) - 0.05
    pressure = np.cumsum(draw(steps))[::-1] * 50
    power = flow * pressure + np.array(draw(steps)) * 100  # a static efficiency of 3 % or more
    return FanCurve(flow, pressure, power, draw(speeds), draw(densities))


@given(ratios, ratios, ratios)
def test_fan_laws_invert(speed, diameter, density):
    there = scale(1.0, 30.0, 100.0, speed, diameter, density)
    back = scale(*there, 1 / speed, 1 / diameter, 1 / density)
    assert back == pytest.approx((1.0, 30.0, 100.0), rel=1e-12)


@given(st.floats(0.5, 1.5), st.floats(0.5, 1.5), st.floats(0.8, 1.2), st.floats(0.8, 1.2))
def test_fan_laws_compose(first, second, small, large):
    steps = scale(*scale(1.0, 30.0, 150.0, first, small, large), second, large, small)
    at_once = scale(1.0, 30.0, 150.0, first * second, small * large, large * small)
    assert steps == pytest.approx(at_once, rel=1e-12)


@given(ratios, ratios)
def test_fan_laws_keep_the_efficiency_at_any_speed_and_density(speed, density):
    point = scale(1.0, 30.0, 150.0, speed, density_ratio=density)
    assert point.flow * point.pressure / point.power == pytest.approx(0.2, rel=1e-12)


@given(curves(), st.floats(0.05, 1), speeds, densities)
def test_the_operating_point_lies_on_both_curves(fan, share, speed_rpm, density):
    flow = fan.flow[0] + share * (fan.flow[-1] - fan.flow[0])
    there = fan.at(flow * (speed_rpm / fan.speed_rpm), speed_rpm, density)
    resistance = there.pressure / there.flow**2
    found = fan.operating_point(resistance, speed_rpm, density)
    assert found[:3] == pytest.approx(there, rel=1e-6)
    assert found.pressure == pytest.approx(resistance * found.flow**2, rel=1e-6)


@given(st.floats(1, 500), speeds, densities)
def test_the_operating_point_obeys_the_fan_laws(resistance, speed_rpm, density):
    own = curve().operating_point(resistance, 1075.0, 1.2)
    ratios = {"speed_ratio": speed_rpm / 1075.0, "density_ratio": density / 1.2}
    # a system's pressure is in proportion to the density of its air
    found = curve().operating_point(resistance * density / 1.2, speed_rpm, density)
    assert found[:3] == pytest.approx(scale(*own[:3], **ratios), rel=1e-9)


@given(st.floats(0, 300), st.floats(0.1, 50))
def test_more_resistance_means_less_flow(resistance, more):
    low = curve().operating_point(resistance, 1075.0, 1.2)
    assert curve().operating_point(resistance + more, 1075.0, 1.2).flow < low.flow


def test_arrays_broadcast_and_equal_scalars():
    resistance, speed = np.array([[5.0], [20.0], [80.0]]), np.array([825.0, 1075.0])
    many = curve().operating_point(resistance, speed, 1.1)
    assert many.flow.shape == many.pressure.shape == many.power.shape == (3, 2)
    one = curve().operating_point(80.0, 825.0, 1.1)
    assert isinstance(one.flow, float) and isinstance(one.power, float)
    assert [x[2, 0] for x in many] == pytest.approx(one, rel=1e-12)


def test_zero_resistance_is_free_delivery():
    point = curve().operating_point([0.0, 1e-12], 1075.0, 1.2)
    assert point.flow == pytest.approx([1.5, 1.5])
    assert point.pressure == pytest.approx([0.0, 0.0], abs=1e-9)


@pytest.mark.parametrize("share, met", [(1e-3, True), (0.9, True), (1.1, False)])
def test_a_line_through_an_end_point_is_met_but_for_rounding(share, met):
    """A line may miss it by a billionth of the highest pressure, 69 Pa."""
    fan = curve(PRESSURE[1:] + 7.0, FLOW[1:], POWER[1:])
    missed = share * 1e-9 * 69.0
    for flow, pressure in ((0.5, 69.0 + missed), (1.5, 7.0 - missed)):
        resistance = pressure / flow**2
        if met:
            assert fan.operating_point(resistance, 1075.0, 1.2).flow == flow
        else:
            with pytest.raises(InputError, match="within 0.5 to 1.5 m3/s"):
                fan.operating_point(resistance, 1075.0, 1.2)


def test_the_curve_goes_through_its_points_and_stays_between_them():
    fan = curve()
    np.testing.assert_allclose(fan.at(FLOW, 1075.0, 1.2), [FLOW, PRESSURE, POWER], atol=1e-9)
    assert np.all(np.diff(fan.at(np.linspace(0, 1.5, 200), 1075.0, 1.2).pressure) < 0)


def test_a_dip_that_system_lines_still_meet_once_is_accepted():
    dip = curve([80.0, 45.0, 47.0, 31.0, 0.0])
    assert dip.operating_point(47.0 / 0.9**2, 1075.0, 1.2).flow == pytest.approx(0.9)


def test_a_curve_can_be_sent_to_another_process():
    copy = pickle.loads(pickle.dumps(curve()))
    assert copy.operating_point(25, 1000, 1.1) == curve().operating_point(25, 1000, 1.1)


CFM, INCHES, HORSEPOWER = (
    (0, 20, "m3/s", 2119, 1),
    (-100, 2000, "Pa", 1, 249),
    (0, 5000, "W", 1, 745.7),
)
FALLING = [170.0, 168.0, 165.0, 160.0, 140.0]


@pytest.mark.parametrize(
    ("call", "field", "said"),
    [
        (lambda: curve(PRESSURE[:4]), "pressure", (4, 5)),
        (lambda: curve(power=POWER[:4]), "power", (4, 5)),
        (lambda: curve([1, 2], [1, 2], [3, 3]), "flow", (2, "list", 3)),
        (lambda: FanCurve([0.9], [50], [165], 1075, 1.2), "flow", ("1 point.", 1, 3)),
        (lambda: FanCurve(0.9, 50, 165, 1075, 1.2), "flow", ("1 point.", 1, 3)),
        (lambda: FanCurve([], [], [], 1075, 1.2), "flow", (0, "list", 3)),
        (lambda: curve(flow=[FLOW] * 2), "flow", (2, 5, "list", 3)),
        (lambda: curve(flow=["a"] * 5), "flow", ("'a'", *CFM)),
        (lambda: curve(flow=[0, 0.5, 0.4, 1.2, 1.1]), "flow", (0.5, 0.4, "increasing")),
        (lambda: curve(flow=[0, 0.9, 0.9, 1.2, 1.2]), "flow", (0.9, "from_measured")),
        (lambda: curve([0, 62, 50, 31, 0]), "pressure", (0, 0, "zero airflow")),
        (lambda: curve([80, 62, 50, 0, 0]), "pressure", (1.2, "system curve")),
        (lambda: curve([80, 62, 50, 10, 20]), "pressure", (10, 20, "falls")),
        (lambda: curve(PRESSURE / 249.089), "pressure", (0.32117, 165, 0.5, 1, 249, "efficiency")),
        (lambda: curve(PRESSURE * 249.089), "pressure", (19927.1, *INCHES)),
        (lambda: curve(power=-POWER), "power", (-150, *HORSEPOWER)),
        (lambda: curve(power=POWER / 745.7), "power", (0.214563, 0.5, 31, "airflow x pressure")),
        (lambda: curve(flow=FLOW * 2118.88), "flow", (1059.44, *CFM)),
        (lambda: curve(density=0.075), "density", (0.075, 0.4, 2, "kg/m3")),
        (lambda: curve(speed_rpm=[1075.0, 825.0]), "speed_rpm", (2, "single number")),
        (lambda: curve(density=[1.2]), "density", (1, "single number")),
        (lambda: curve().resistances([1.2, 1.1]), "density", (2, "single number")),
        (lambda: curve([80, 62, np.nan, 31, 0]), "pressure", (np.nan, *INCHES)),
        (
            lambda: curve(PRESSURE + 7).operating_point([25, 0], 1075, 1.2),
            "resistance",
            (0, 0, 1.5, 1075),
        ),
        (
            lambda: curve(PRESSURE[1:], FLOW[1:], POWER[1:]).operating_point(
                [25, 1000, 2000], 900.0, 0.6
            ),
            "resistance",
            (2000, 0.5, 1.5, 1075),
        ),
        (lambda: curve().at(1.4, 825, 1.2), "flow", (1.82424, 1075, 0, 1.5, 1075)),
        (
            lambda: curve().flow_at_power(150.0, 1075.0, 1.2),
            "power",
            ("two airflows", "one airflow"),
        ),
        (
            lambda: curve(power=FALLING).flow_at_power([150.0, 250.0], 1075.0, 1.2),
            "power",
            (250, 1075, 140, 170, 1075),
        ),
        (lambda: system_resistance(0.0, 30.0), "flow", (0, 1e-6, 20, "m3/s")),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, field, said):
    with pytest.raises(InputError) as refused:
        call()
    assert_refused(refused.value, field, *said)


@pytest.mark.parametrize(
    "bad",
    [
        {"pressure": [80.0, 62.0, 50.0, 31.0, 31.0]},  # level at the largest flows
        {"flow": FLOW + 0.1, "pressure": [-1.0, 62.0, 50.0, 31.0, 0.0]},  # driven at its start
        {"pressure": [1.0, 2.0, 0.94, 0.0, -1.0]},  # 0.6 % efficient, at one point
        {"power": [150.0, 31.0, 165.0, 160.0, 140.0]},  # the air takes all that the shaft gives
    ],
)
def test_what_is_odd_but_a_curve(bad):
    fan = curve(**bad)
    assert fan.at(fan.flow, 1075.0, 1.2).pressure == pytest.approx(fan.pressure, abs=1e-9)


def test_level_pressure_is_no_stall():
    assert curve([80.0, 50.0, 50.0, 31.0, 0.0]).stall_flow is None


def test_joined_points_have_no_scatter():
    assert curve().scatter == (0.0, 0.0) and curve().left_out == ()
    assert curve().stall_flow is None


@pytest.mark.parametrize("at, outwards", [(0, -1), (-1, 1)])
def test_the_end_flows_are_met_but_for_rounding(at, outwards):
    fan = curve(PRESSURE[1:], FLOW[1:], POWER[1:])
    end = fan.flow[at]
    assert fan.at(end * (1 + outwards * 0.9e-9), 1075.0, 1.2).flow == pytest.approx(end)
    for beyond in (1.1e-9, 1e-3):
        with pytest.raises(
            InputError, match="flow: .* at 1075 rpm is not .* 0.5 to 1.5 m3/s at 1075"
        ):
            fan.at(end * (1 + outwards * beyond), 1075.0, 1.2)


def test_a_curve_that_starts_above_zero_flow_says_how_far_it_reaches():
    fan = curve(PRESSURE[1:], FLOW[1:], POWER[1:])
    with pytest.raises(InputError, match="1,000 Pa s2/m6 .* within 0.5 to 1.5 m3/s"):
        fan.operating_point(1000.0, 1075.0, 1.2)


@given(st.floats(0.0, 1.0), speeds, densities)
def test_power_tells_the_flow_beyond_its_peak(share, speed_rpm, density):
    fan = curve(power=[170.0, 168.0, 165.0, 160.0, 140.0])
    flow = share * 1.5 * speed_rpm / 1075
    power = fan.at(flow, speed_rpm, density).power
    assert fan.flow_at_power(power, speed_rpm, density) == pytest.approx(flow, rel=1e-6, abs=1e-6)
    low, high = fan.working_powers(speed_rpm, density)
    assert low * (1 - 1e-9) <= power <= high * (1 + 1e-9)


@pytest.mark.parametrize("order", [1, -1])
def test_the_end_powers_are_met_but_for_rounding(order):
    fan = curve(power=FALLING[::order])
    low, high = fan.working_powers(1075.0, 1.2)
    assert (low, high) == (140.0, 170.0)
    ends = fan.flow_at_power([low * (1 - 0.9e-9), high * (1 + 0.9e-9)], 1075.0, 1.2)
    assert ends == pytest.approx([1.5, 0.0][::order])
    for beyond in (low * (1 - 1.1e-9), high * (1 + 1.1e-9)):
        with pytest.raises(InputError, match="a value from 140 to 170 W at 1075 rpm"):
            fan.flow_at_power(beyond, 1075.0, 1.2)


@pytest.mark.parametrize("power", [POWER, np.full(5, 165.0)])
def test_power_that_rises_and_falls_or_stays_tells_no_flow(power):
    assert curve(power=power).working_powers(1075.0, 1.2) is None


@pytest.mark.parametrize("order", [1, -1])
def test_power_that_hardly_moves_tells_the_flow(order):
    power = np.array([170.4, 170.3, 170.2, 170.1, 170.0])[::order]
    assert curve(power=power).working_powers(1075.0, 1.2) == (170.0, 170.4)


def test_power_need_not_tell_the_flow_within_the_stall():
    fan = curve([80.0, 45.0, 47.0, 31.0, 0.0], power=[150.0, 170.0, 165.0, 160.0, 140.0])
    assert fan.stall_flow == 0.9 and fan.working_powers(1075.0, 1.2) == (140.0, 165.0)
    assert isinstance(fan.flow_at_power(150.0, 1075.0, 1.2), float)
    assert fan.flow_at_power([150.0], 1075.0, [[1.2], [1.19]]).shape == (2, 1)


# An invented propeller fan: pressure falls into the stall's dip and rises out of it.
STALL_FLOW = np.array([0.0, 0.3, 0.5, 0.62, 0.75, 0.9, 1.2, 1.5])
STALL_PRESSURE = np.array([90.0, 50.0, 22.0, 26.0, 58.0, 54.0, 31.0, 0.0])
STALL_POWER = np.array([260.0, 250.0, 245.0, 243.0, 240.0, 235.0, 220.0, 190.0])
STALLING = FanCurve(STALL_FLOW, STALL_PRESSURE, STALL_POWER, 1075.0, 1.2)

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
    fan = FanCurve(STALL_FLOW[3:], STALL_PRESSURE[3:], STALL_POWER[3:], 1075.0, 1.2)
    assert [one.stable for one in fan.operating_points(88.0, 1075.0, 1.2)] == [False, True]
    with pytest.raises(InputError, match="resistance: 150 Pa s2/m6 .* 0.62 to 1.5 m3/s"):
        fan.operating_point([20.0, 150.0], 1075.0, 1.2)
    least, most = fan.resistances(1.2)
    assert least == pytest.approx(0.0, abs=1e-9) and most > 58 / 0.75**2
    assert fan.operating_points(most * 1.01, 1075.0, 1.2) == ()
    assert fan.operating_point(most * 0.999, 1075.0, 1.2).flow < 0.75


@pytest.mark.parametrize("share", [1.0, 0.5])
def test_the_reach_in_resistance_is_where_points_are_found(share):
    fan = FanCurve(STALL_FLOW[4:7], STALL_PRESSURE[4:7], STALL_POWER[4:7], 1075.0, 1.2)
    least, most = fan.resistances(1.2 * share)
    assert fan.operating_point([least, most], 825.0, 1.2 * share).flow == pytest.approx(
        np.array([1.2, 0.75]) * 825 / 1075
    )
    for beyond in (least * 0.999, most * 1.001):
        with pytest.raises(InputError, match="within 0.75 to 1.2 m3/s at 1075 rpm"):
            fan.operating_point(beyond, 825.0, 1.2 * share)


def test_going_beyond_the_points_is_asked_for_and_marked():
    fan = FanCurve(STALL_FLOW[4:7], STALL_PRESSURE[4:7], STALL_POWER[4:7], 1075.0, 1.2)
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
    fan = FanCurve(STALL_FLOW[4:7], STALL_PRESSURE[4:7], STALL_POWER[4:7], 1075.0, 1.2)
    for end, outwards in ((0, -1), (-1, 1)):
        for beyond, marked in ((0.9e-9, False), (1.5e-9, True)):
            flow = fan.flow[end] * (1 + outwards * beyond)
            pressure = fan.pressure[end] + slope_at(fan, end) * (flow - fan.flow[end])
            found = fan.operating_point(pressure / flow**2, 1075.0, 1.2, extrapolate=True)
            assert found.flow == pytest.approx(flow, rel=1e-11)
            assert found.extrapolated == marked


def test_a_line_that_just_misses_the_last_point_of_a_stalling_fan_meets_it():
    fan = FanCurve(STALL_FLOW, STALL_PRESSURE + 7, STALL_POWER, 1075.0, 1.2)
    assert fan.operating_point(7 / 1.5**2 * (1 - 1e-12), 1075.0, 1.2).flow == 1.5


def slope_at(fan, end):
    return PchipInterpolator(fan.flow, fan.pressure).derivative()(fan.flow[end])


def test_marks_have_the_shape_of_the_point():
    fan = FanCurve(STALL_FLOW[4:7], STALL_PRESSURE[4:7], STALL_POWER[4:7], 1075.0, 1.2)
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
    assert_refused(refused.value, "extrapolate", "below the air power", "measured airflows")


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
def test_a_bad_crossing_is_refused_in_one_sentence(call, words):
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
            assert str(error).count("\n") == 0 and "Enter" in str(error) or "Needed" in str(error)


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
