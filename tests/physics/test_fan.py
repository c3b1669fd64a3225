"""Fan: behaviour, bad input and invariants."""

import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics.fan import FanCurve, scale
from airover.physics.fan_change import system_resistance

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


POINTS = "a list of at least 3 points"
SINGLE = "one number: that of the whole curve"
OFF = "0 to 1.5 m3/s at 1075 rpm"
CFM, INCHES, HORSEPOWER = (
    "0 to 20 m3/s; cfm / 2119 are m3/s",
    "-100 to 2000 Pa; inches of water x 249 are Pa",
    "0 to 5000 W; hp x 745.7 are W",
)
FALLING = [170.0, 168.0, 165.0, 160.0, 140.0]


@pytest.mark.parametrize(
    ("call", "given", "accepted"),
    [
        (lambda: curve(PRESSURE[:4]), "pressure: 4 points", "as many as flow has, 5"),
        (lambda: curve(power=POWER[:4]), "power: 4 points", "as many as flow has, 5"),
        (lambda: curve([1, 2], [1, 2], [3, 3]), "flow: 2 points", POINTS),
        (lambda: FanCurve([0.9], [50], [165], 1075, 1.2), "flow: 1 point", POINTS),
        (lambda: FanCurve(0.9, 50, 165, 1075, 1.2), "flow: 1 point", POINTS),
        (lambda: FanCurve([], [], [], 1075, 1.2), "flow: 0 points", POINTS),
        (lambda: curve(flow=[FLOW] * 2), "flow: an array of shape (2, 5)", POINTS),
        (lambda: curve(flow=["a"] * 5), "flow: ['a', 'a', 'a', 'a', 'a']", CFM),
        (
            lambda: curve(flow=[0, 0.5, 0.4, 1.2, 1.1]),
            "flow: 0.5 then 0.4 m3/s",
            "points in order of rising flow",
        ),
        (
            lambda: curve(flow=[0, 0.9, 0.9, 1.2, 1.2]),
            "flow: 0.9 m3/s twice",
            "each flow once; scattered points go to from_measured",
        ),
        (lambda: curve([0, 62, 50, 31, 0]), "pressure: 0 Pa at no flow", "above 0 Pa there"),
        (
            lambda: curve([80, 62, 50, 0, 0]),
            "pressure: points that lie on one system line near 1.2 m3/s",
            "a curve that crosses each system line",
        ),
        (
            lambda: curve([80, 62, 50, 10, 20]),
            "pressure: 10 then 20 Pa at the largest flows",
            "a pressure that falls at the largest flows",
        ),
        (
            lambda: curve(PRESSURE / 249.089),
            "pressure: at most 0.32117 Pa for 165 W",
            "a static efficiency above 0.5 % somewhere; inches of water x 249 are Pa",
        ),
        (lambda: curve(PRESSURE * 249.089), "pressure: 19927.1 Pa", INCHES),
        (lambda: curve(power=-POWER), "power: -150 W", HORSEPOWER),
        (
            lambda: curve(power=POWER / 745.7),
            "power: 0.214563 W at 0.5 m3/s",
            "at least flow x pressure there, 31 W",
        ),
        (lambda: curve(flow=FLOW * 2118.88), "flow: 1059.44 m3/s", CFM),
        (lambda: curve(density=0.075), "density: 0.075 kg/m3", "0.4 to 2 kg/m3"),
        (lambda: curve(speed_rpm=[1075.0, 825.0]), "speed_rpm: an array of shape (2,)", SINGLE),
        (lambda: curve(density=[1.2]), "density: an array of shape (1,)", SINGLE),
        (lambda: curve().resistances([1.2, 1.1]), "density: an array of shape (2,)", SINGLE),
        (lambda: curve([80, 62, np.nan, 31, 0]), "pressure: nan Pa", INCHES),
        (
            lambda: curve(PRESSURE + 7).operating_point([25, 0], 1075, 1.2),
            "resistance: 0 Pa s2/m6 at the curve's density",
            "one that the curve meets within 0 to 1.5 m3/s at 1075 rpm",
        ),
        (
            lambda: curve(PRESSURE[1:], FLOW[1:], POWER[1:]).operating_point(
                [25, 1000, 2000], 900.0, 0.6
            ),
            "resistance: 2000 Pa s2/m6 at the curve's density",
            "one that the curve meets within 0.5 to 1.5 m3/s at 1075 rpm",
        ),
        (lambda: curve().at(1.4, 825, 1.2), "flow: 1.82424 m3/s at 1075 rpm", OFF),
        (
            lambda: curve().flow_at_power(150.0, 1075.0, 1.2),
            "power: a curve whose power rises and falls beyond the stall",
            "one whose power tells the flow",
        ),
        (
            lambda: curve(power=FALLING).flow_at_power([150.0, 250.0], 1075.0, 1.2),
            "power: 250 W at 1075 rpm",
            "140 to 170 W at 1075 rpm",
        ),
        (lambda: system_resistance(0.0, 30.0), "flow: 0 m3/s", "1e-06 to 20 m3/s"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, given, accepted):
    with pytest.raises(InputError) as refused:
        call()
    assert str(refused.value) == f"{given} was given; accepted is {accepted}."


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
        with pytest.raises(InputError, match="flow: .* at 1075 rpm was .* 0.5 to 1.5 m3/s at 1075"):
            fan.at(end * (1 + outwards * beyond), 1075.0, 1.2)


def test_a_curve_that_starts_above_zero_flow_says_how_far_it_reaches():
    fan = curve(PRESSURE[1:], FLOW[1:], POWER[1:])
    with pytest.raises(InputError, match="1000 Pa s2/m6 .* within 0.5 to 1.5 m3/s"):
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
        with pytest.raises(InputError, match="140 to 170 W at 1075 rpm"):
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
