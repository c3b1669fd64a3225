"""A fan with other blades on its system: bands in order, reach, bad input."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics.fan import changed_fan

POINT = (1.1, 35.0, 200.0)
pitches = st.tuples(st.floats(0.3, 0.6), st.floats(-0.08, 0.08))


def test_the_same_blade_stays_where_it_is():
    same = changed_fan(*POINT, blades=4, blades_new=4, pitch=0.4, pitch_new=0.4)
    for band, known in zip(same, POINT):
        assert band == pytest.approx((known,) * 3)


@given(st.integers(3, 5), st.integers(3, 5), pitches)
def test_bands_are_in_order_and_hold_the_system_line(old, new, pitch):
    change = changed_fan(*POINT, old, new, pitch[0], sum(pitch))
    for band in change[:3]:
        assert band.low <= band.mid <= band.high
    for flow, pressure in zip(change.flow, change.pressure):
        assert pressure == pytest.approx(35.0 * (flow / 1.1) ** 2)


@given(pitches, st.floats(0.001, 0.006))
def test_a_steeper_blade_takes_more_power_and_moves_more_air(pitch, more):
    old, new = pitch[0], pitch[0] + abs(sum(pitch) - pitch[0])
    less, steeper = (changed_fan(*POINT, 3, 3, old, one) for one in (new, new + more))
    assert steeper.power.mid > less.power.mid > 0 and steeper.flow.mid > less.flow.mid


def test_fewer_blades_take_less_and_the_ends_do_not_swap():
    change = changed_fan(*POINT, blades=4, blades_new=3)
    assert change.power.low < change.power.mid < change.power.high < 200.0


def test_three_blades_of_half_a_radian_unless_said():
    said = changed_fan(*POINT, blades=3, blades_new=4, pitch=0.5, pitch_new=0.5)
    assert changed_fan(*POINT, blades_new=4) == said
    assert changed_fan(*POINT, pitch_new=0.45) == changed_fan(*POINT, 3, 3, 0.5, 0.45)
    assert changed_fan(*POINT) == changed_fan(*POINT, 3, 3, 0.5, 0.5)


@pytest.mark.parametrize("blades, least, most", [(5, 3.0, 8.0), (4, 2.4, 6.8)])
def test_the_reach_in_blades_and_pitch(blades, least, most):
    """0.6 to 1.7 times as many and 5 degrees, our own decisions."""
    band = changed_fan(*POINT, blades, [least, most], 0.4, 0.4 + np.radians([[-5.0], [5.0]]))
    assert band.power.mid.shape == (2, 2)
    with pytest.raises(InputError, match="blades_new: 0.599 times .* 0.6 to 1.7 times"):
        changed_fan(*POINT, blades, blades * 0.599)
    for change in (-5.01, 5.01):
        with pytest.raises(InputError, match="^pitch_new: a pitch change of 5.01 degrees. Needed"):
            changed_fan(*POINT, 3, 3, 0.4, 0.4 + np.radians([1.0, change]))


def test_arrays_broadcast():
    change = changed_fan(np.array([[1.0], [1.2]]), 35.0, 200.0, 3, [3, 4, 5])
    assert change.power.mid.shape == (3,) and change.flow.low.shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: changed_fan(*POINT, 3, 6),
            "^blades_new: 2 times as many blades is not accepted. Enter a value from 0.6 to 1.7 times as many",
        ),
        (
            lambda: changed_fan(*POINT, 3, 3, 0.4, 0.5),
            "^pitch_new: a pitch change of 5.73 degrees. Needed: a pitch change of at most 5 degrees.$",
        ),
        (lambda: changed_fan(*POINT, 1, 2), "blades: 1 blades"),
        (lambda: changed_fan(*POINT, 3, 3, 24, 26), "pitch: 24 rad"),
        (lambda: changed_fan(2330, 35, 200), "flow: 2,330 m3/s"),
    ],
)
def test_beyond_the_relation_is_refused(call, words):
    with pytest.raises(InputError, match=words):
        call()
