"""A fan's curve by other roads: straight lines in closed form, a bracketing root finder, grids."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from airover.core.errors import InputError
from airover.physics.fan import FanCurve

# Static pressure 80 - 50 Q [Pa] and shaft power 220 - 60 Q [W], Q in m3/s, at 1000 rpm and
# 1.2 kg/m3: whatever is monotone joins points of a straight line by that line.
STRAIGHT = np.array([0.4, 0.6, 0.9, 1.1, 1.4])
CONDITIONS = [(1000.0, 1.2), (800.0, 1.2), (1000.0, 0.9), (1150.0, 1.05)]  # rpm, kg/m3

# Invented fans with one stall, two, a large one whose peak is flat, and one that was measured from
# within its stall.
STALLS = {
    "one": (
        [0.0, 0.3, 0.5, 0.75, 0.9, 1.2, 1.5],
        [60.0, 30.0, 22.0, 45.0, 42.0, 25.0, 0.0],
    ),
    "two": (
        [0.0, 0.2, 0.35, 0.5, 0.65, 0.8, 1.2, 1.6],
        [70.0, 40.0, 58.0, 20.0, 24.0, 48.0, 26.0, 2.0],
    ),
    "large": (
        [0.0, 2.0, 4.0, 5.0, 7.0, 9.0],
        [60.0, 40.0, 23.0, 44.0, 44.6, 5.0],
    ),
    "from within": (
        [0.62, 0.75, 0.9, 1.2, 1.5],
        [26.0, 58.0, 54.0, 31.0, 3.0],
    ),
}
stalls = pytest.mark.parametrize("stall", STALLS)
conditions = pytest.mark.parametrize(("speed_rpm", "density"), CONDITIONS)
WATTS = 400.0, 10.0  # at no flow, and how much less for each m3/s
CLOSED = "straight lines in closed form, the fan laws written out"


def straight():
    return FanCurve(STRAIGHT, 80 - 50 * STRAIGHT, 220 - 60 * STRAIGHT, 1000.0, 1.2)


def stalling(stall):
    flow, pressure = map(np.array, STALLS[stall])
    return FanCurve(flow, pressure, WATTS[0] - WATTS[1] * flow, 1000.0, 1.2)


def crossing(resistance, speed, density):
    """Where d (80 s^2 - 50 s Q) = k Q^2, by the formula of the quadratic."""
    half = 25 * density * speed
    return (np.sqrt(half**2 + 80 * density * speed**2 * resistance) - half) / resistance


@conditions
@pytest.mark.parametrize("resistance", [8.0, 30.0, 95.0])
def test_a_straight_fan_settles(road, resistance, speed_rpm, density):
    ours = straight().operating_point(resistance, speed_rpm, density)
    speed, thin = speed_rpm / 1000, density / 1.2
    flow = crossing(resistance, speed, thin)
    theirs = flow, resistance * flow**2, thin * (220 * speed**3 - 60 * speed**2 * flow)
    what = "flow, pressure and power of a linear fan"
    road("fan", what, ours[:3], theirs, by=CLOSED, within=1e-8)


@conditions
def test_the_flow_from_the_power(road, speed_rpm, density):
    speed, thin = speed_rpm / 1000, density / 1.2
    least, most = thin * speed**3 * (220 - 60 * 1.4), thin * speed**3 * (220 - 60 * 0.4)
    ours = straight().working_powers(speed_rpm, density)
    road("fan", "range of a linear fan's power", ours, (least, most), by=CLOSED, within=1e-12)
    power = np.array([least, 0.7 * least + 0.3 * most, most])
    ours = straight().flow_at_power(power, speed_rpm, density)
    theirs = (220 * speed**3 - power / thin) / (60 * speed**2)
    road("fan", "flow of a linear fan from its power", ours, theirs, by=CLOSED, within=1e-8)


@pytest.mark.parametrize("stall", ["one", "two"])
def test_the_flow_from_the_power_beyond_a_stall(road, stall):
    """Power bends here, so the monotone curve is asked for its root by another solver."""
    flow, pressure = map(np.array, STALLS[stall])
    power = 260 - 30 * flow**2 + 25 * np.exp(-40 * (flow - 0.3) ** 2)
    fan, bent = FanCurve(flow, pressure, power, 1000.0, 1.2), PchipInterpolator(flow, power)
    peak = {"one": 0.75, "two": 0.8}[stall]
    asked = np.linspace(bent(flow[-1]), bent(peak), 5)
    theirs = [brentq(lambda q, w=w: bent(q) - w, peak - 1e-9, flow[-1] + 1e-9) for w in asked]
    ours, by = fan.flow_at_power(asked, 1000.0, 1.2), "SciPy brentq between peak and last flow"
    road("fan", "flow from the power, beyond the stall", ours, theirs, by=by, within=1e-8)
    ours = fan.working_powers(1000.0, 1.2)
    road(
        "fan", "range of the power there", ours, asked[[0, -1]], by="both end points", within=1e-12
    )


@stalls
def test_where_the_stall_is(road, stall):
    """The last top of the curve on a fine grid."""
    fan, grid = stalling(stall), np.linspace(*np.array(STALLS[stall][0])[[0, -1]], 20001)
    pressure = PchipInterpolator(fan.flow, fan.pressure)(grid)
    top = np.flatnonzero((pressure[1:-1] > pressure[:-2]) & (pressure[1:-1] >= pressure[2:])) + 1
    step = grid[1] - grid[0]
    by = "last peak on a fine grid"
    road("fan", "stall flow", fan.stall_flow, grid[top[-1]], by=by, within=step, over=1)


def test_a_straight_fan_has_no_stall():
    assert straight().stall_flow is None


@stalls
@pytest.mark.parametrize(("speed_rpm", "density"), [(1000.0, 1.2), (800.0, 0.9)])
@pytest.mark.parametrize("resistance", [1.6, 12.0, 62.0, 80.0, 86.0])
def test_where_a_stalling_fan_settles(road, stall, resistance, speed_rpm, density):
    """Changes of sign on a grid, each narrowed by brentq; the fan laws written out."""
    fan, speed, thin = stalling(stall), speed_rpm / 1000, density / 1.2
    own, resistance = PchipInterpolator(fan.flow, fan.pressure), resistance * thin

    def excess(flow):
        return thin * speed**2 * own(flow / speed) - resistance * flow**2

    grid = np.linspace(fan.flow[0], fan.flow[-1], 4001) * speed
    turns = np.flatnonzero(np.diff(excess(grid) > 0))
    flows = np.array([brentq(excess, grid[at], grid[at + 1], xtol=1e-14) for at in turns])
    theirs = np.array(
        [flows, resistance * flows**2, thin * speed**2 * (WATTS[0] * speed - WATTS[1] * flows)]
    )
    ours = fan.operating_points(resistance, speed_rpm, density)
    by, over = "sign changes on a grid, SciPy brentq, fan laws written out", (1.0, 50.0, 200.0)
    for one, other in zip(ours, theirs.T, strict=True):
        what = "all crossings: flow, pressure, power; over 1, 50, 200"
        road("fan", what, one[:3], other, by=by, within=1e-8, over=over)
    falling = excess(flows + 1e-6) < 0
    assert [one.stable for one in ours] == falling.tolist()
    point = fan.operating_point(resistance, speed_rpm, density)
    what = "operating point with the largest flow; over 1, 50, 200"
    road("fan", what, point[:3], theirs[:, -1], by=by, within=1e-8, over=over)
    assert point.several == (len(flows) > 1) and not point.extrapolated


@stalls
@pytest.mark.parametrize("density", [1.2, 0.9])
def test_between_which_resistances(road, stall, density):
    """Steepness p / Q^2 on a fine grid; where it falls, that resistance has a stable point."""
    fan = stalling(stall)
    grid = np.linspace(max(fan.flow[0], 0.02), fan.flow[-1], 200001)
    steepness = PchipInterpolator(fan.flow, fan.pressure)(grid) / grid**2 * density / 1.2
    falls = np.flatnonzero(np.diff(steepness) < 0)
    least, most = fan.resistances(density)
    by = "p/Q^2 on a fine grid"
    theirs = steepness[falls + 1].min()
    road("fan", "smallest resistance, over 1", least, theirs, by=by, within=1e-9, over=1)
    if fan.flow[0]:
        road("fan", "largest resistance", most, steepness[falls].max(), by=by, within=1e-7)
    else:
        assert most == np.inf


@conditions
@pytest.mark.parametrize("flow", [0.31, 0.39, 1.41, 1.49])  # drawn on: 0.3 to 1.5 m3/s
def test_a_straight_fan_drawn_on_goes_on_straight(road, flow, speed_rpm, density):
    speed, thin = speed_rpm / 1000, density / 1.2
    flow = flow * speed
    pressure = thin * (80 * speed**2 - 50 * speed * flow)
    ours = straight().operating_point(pressure / flow**2, speed_rpm, density, extrapolate=True)
    theirs = flow, pressure, thin * (220 * speed**3 - 60 * speed**2 * flow)
    what = "flow, pressure and power, extrapolated"
    road("fan", what, ours[:3], theirs, by=CLOSED, within=1e-8)
    assert ours.extrapolated and not ours.several


@stalls
@pytest.mark.parametrize("share", [-0.09, -0.01, 0.01, 0.09])
def test_a_bent_fan_is_drawn_on_in_its_slope(road, share, stall):
    """The tangent at the end, its slope by a quotient of differences."""
    flow, pressure = (np.array(one)[-4:] for one in STALLS[stall])
    pressure, power = pressure + 15, 900 - 4 * flow**2
    fan, step = FanCurve(flow, pressure, power, 1000.0, 1.2), 1e-6
    end, inwards = (flow[0], step) if share < 0 else (flow[-1], -step)
    asked = end + share * np.ptp(flow)
    theirs = []
    for values in (pressure, power):
        curve = PchipInterpolator(flow, values)
        # of second order, from the end inwards
        slope = (4 * curve(end + inwards) - 3 * curve(end) - curve(end + 2 * inwards)) / 2 / inwards
        theirs.append(curve(end) + slope * (asked - end))
    found = fan.operating_points(theirs[0] / asked**2, 1000.0, 1.2, extrapolate=True)
    (ours,) = (one for one in found if one.extrapolated)
    by, what = "tangent by finite differences", "curved fan, extrapolated; over 1, 50, 200"
    over = (1.0, 50.0, 200.0)
    road("fan", what, ours[:3], (asked, *theirs), by=by, within=1e-7, over=over)


def test_no_more_air_power_than_shaft_power():
    """Conservation of energy: static pressure times flow is never above the shaft's power."""
    flow = np.array([0.4, 0.8, 1.2])
    pressure = np.array([60.0, 50.0, 20.0])
    FanCurve(flow, pressure, flow * pressure, 1000.0, 1.2)
    for at in range(3):
        power = flow * pressure
        power[at] *= 1 - 1e-9
        with pytest.raises(InputError, match=f"power: .* at {flow[at]:g} m3/s"):
            FanCurve(flow, pressure, power, 1000.0, 1.2)
