"""System resistance, and a fan with another blade count or pitch."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics.air_path import (
    System,
    changed_blade,
    fitting_resistance,
    resistance_at_density,
    system_resistance,
)
from airover.physics.fan import FanCurve

factors = st.floats(0.0, 50.0)
losses = st.floats(0.5, 60.0)
flows = st.floats(0.1, 5.0)
densities = st.floats(0.8, 1.3)


@given(st.lists(factors, min_size=1, max_size=5), st.floats(0.05, 2.0), densities)
def test_loss_factors_on_one_area_add(several, area, density):
    parts = [fitting_resistance(factor, area, density) for factor in several]
    at_once = fitting_resistance(sum(several), area, density)
    assert System(parts[0], tuple(parts[1:]), density).resistance(density) == pytest.approx(at_once)


@given(losses, losses, flows, densities)
def test_losses_at_one_flow_add(coil, guard, flow, density):
    system = System(system_resistance(flow, coil), (system_resistance(flow, guard),), density)
    assert system.resistance(density) * flow**2 == pytest.approx(coil + guard)


@given(losses, losses, densities, densities)
def test_resistance_goes_with_density(coil, guard, there, here):
    system = System(coil, (guard,), there)
    whole = resistance_at_density(coil + guard, there, here / there)
    assert system.resistance(here) == pytest.approx(float(whole))


@given(st.floats(1.0, 30.0), st.floats(0.0, 20.0), st.floats(1.0, 4.0), st.floats(0.01, 2.0))
def test_dirt_lowers_the_flow_and_touches_the_coil_only(coil, other, dirt, more):
    fan = FanCurve([0, 0.5, 0.9, 1.2, 1.5], [80, 62, 50, 31, 0], [150, 160, 165, 160, 140], 1075, 1.2)  # fmt: skip
    system = System(coil, (other,), 1.2)
    clean, dirty = (system.resistance(1.2, dirt=one) for one in (dirt, dirt + more))
    assert dirty - clean == pytest.approx(coil * more)
    point = fan.operating_point([clean, dirty], 1075, 1.2)
    assert point.flow[1] < point.flow[0]


def test_a_clean_coil_alone_in_usual_air_unless_said():
    assert System(12.0) == System(coil=12.0, others=(), density=1.2)
    assert System(12.0, (3.0,)).resistance(1.2) == 15.0


def test_draws_of_parts_broadcast():
    system = System(np.array([10.0, 12.0]), (np.array([[1.0], [2.0], [3.0]]),), 1.2)
    assert system.resistance(1.1, dirt=1.5).shape == (3, 2)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: system_resistance(0.0, 30.0), "flow: 0 m3/s"),
        (lambda: system_resistance(2400.0, 30.0), "flow: 2400 m3/s"),
        (lambda: system_resistance(1.0, -3.0), "pressure: -3 Pa"),
        (lambda: fitting_resistance(-1.0, 0.5, 1.2), "loss_factor: -1"),
        (lambda: fitting_resistance(1.0, 500.0, 1.2), "face_area: 500 m2"),
        (lambda: System(-1.0), "^coil: -1 Pa s2/m6 was given; accepted is 0 to 1e.09 Pa s2/m6.$"),
        (
            lambda: System(10.0, (2.0, np.nan)),
            "^others: nan Pa s2/m6 was given; accepted is 0 to 1e.09",
        ),
        (lambda: System(10.0, density=0.075), "density: 0.075 kg/m3"),
        (lambda: System(10.0).resistance(1.2, dirt=0.5), "dirt: 0.5 was given; accepted is 1 to"),
        (lambda: resistance_at_density(10.0, 1.2, 8.0), "density: 9.6 kg/m3"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


POINT = (1.1, 35.0, 200.0)
pitches = st.tuples(st.floats(0.3, 0.6), st.floats(-0.08, 0.08))


def test_the_same_blade_stays_where_it_is():
    same = changed_blade(*POINT, blades=4, blades_new=4, pitch=0.4, pitch_new=0.4)
    for band, known in zip(same, POINT):
        assert band == pytest.approx((known,) * 3)


@given(st.integers(3, 5), st.integers(3, 5), pitches)
def test_bands_are_in_order_and_hold_the_system_line(old, new, pitch):
    change = changed_blade(*POINT, old, new, pitch[0], sum(pitch))
    for band in change[:3]:
        assert band.low <= band.mid <= band.high
    for flow, pressure in zip(change.flow, change.pressure):
        assert pressure == pytest.approx(35.0 * (flow / 1.1) ** 2)


@given(pitches, st.floats(0.001, 0.006))
def test_a_steeper_blade_takes_more_power_and_moves_more_air(pitch, more):
    old, new = pitch[0], pitch[0] + abs(sum(pitch) - pitch[0])
    less, steeper = (changed_blade(*POINT, 3, 3, old, one) for one in (new, new + more))
    assert steeper.power.mid > less.power.mid > 0 and steeper.flow.mid > less.flow.mid


def test_fewer_blades_take_less_and_the_ends_do_not_swap():
    change = changed_blade(*POINT, blades=4, blades_new=3)
    assert change.power.low < change.power.mid < change.power.high < 200.0


def test_three_blades_of_half_a_radian_unless_said():
    said = changed_blade(*POINT, blades=3, blades_new=4, pitch=0.5, pitch_new=0.5)
    assert changed_blade(*POINT, blades_new=4) == said
    assert changed_blade(*POINT, pitch_new=0.45) == changed_blade(*POINT, 3, 3, 0.5, 0.45)
    assert changed_blade(*POINT) == changed_blade(*POINT, 3, 3, 0.5, 0.5)


@pytest.mark.parametrize("blades, least, most", [(5, 3.0, 8.0), (4, 2.4, 6.8)])
def test_the_reach_in_blades_and_pitch(blades, least, most):
    """0.6 to 1.7 times as many and 5 degrees, our own decisions."""
    band = changed_blade(*POINT, blades, [least, most], 0.4, 0.4 + np.radians([[-5.0], [5.0]]))
    assert band.power.mid.shape == (2, 2)
    with pytest.raises(InputError, match="blades_new: 0.59.* times as many blades was given"):
        changed_blade(*POINT, blades, blades * 0.599)
    for change in (-5.01, 5.01):
        with pytest.raises(InputError, match="^pitch_new: 5.01 degrees of change was given"):
            changed_blade(*POINT, 3, 3, 0.4, 0.4 + np.radians([1.0, change]))


def test_arrays_broadcast():
    change = changed_blade(np.array([[1.0], [1.2]]), 35.0, 200.0, 3, [3, 4, 5])
    assert change.power.mid.shape == (3,) and change.flow.low.shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: changed_blade(*POINT, 3, 6),
            "^blades_new: 2 times as many blades was given; accepted is 0.6 to 1.7 times as many",
        ),
        (
            lambda: changed_blade(*POINT, 3, 3, 0.4, 0.5),
            "^pitch_new: 5.73 degrees of change was given; accepted is at most 5 degrees of change.$",
        ),
        (lambda: changed_blade(*POINT, 1, 2), "blades: 1 blades"),
        (lambda: changed_blade(*POINT, 3, 3, 24, 26), "pitch: 24 rad"),
        (lambda: changed_blade(2330, 35, 200), "flow: 2330 m3/s"),
    ],
)
def test_beyond_the_relation_is_refused(call, words):
    with pytest.raises(InputError, match=words):
        call()
