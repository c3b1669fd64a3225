"""Loads on two bearings: balance of forces, directions, bad input."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import bearing_loads as bl

forces = st.floats(0.1, 500)
lengths = st.floats(0.02, 0.5)


@given(forces, lengths, lengths)
def test_forces_and_moments_balance(force, overhang, span):
    blade, far = bl.reactions(force, overhang, span)
    assert blade + far == pytest.approx(force)
    assert blade * span == pytest.approx(force * (span + overhang))  # about the far bearing


def test_a_load_over_its_bearing_is_carried_by_it_alone():
    assert [float(one) for one in bl.reactions(20.0, 0.0, 0.1)] == [20.0, 0.0]


@given(forces, forces)
def test_an_upward_discharge_pushes_down_on_the_lower_bearing(weight, thrust):
    down, up = (bl.axial_forces(weight, thrust, position) for position in ("down", "up"))
    assert down.blade == up.far == pytest.approx(weight + thrust)
    assert down.far == up.blade == 0


def test_air_blown_downwards_lifts_the_rotor_to_the_upper_bearing():
    blade, far = bl.axial_forces(30.0, [10.0, 50.0], "up", "down")
    assert blade.tolist() == [0.0, 20.0] and far.tolist() == [20.0, 0.0]


def test_a_horizontal_shaft_carries_its_weight_across_and_the_thrust_along():
    found = bl.loads(1.5, 2.0, 0.0, 0.0, 12.0, 0.1, 0.1, "horizontal")
    blade, rotor = 1.5 * bl.GRAVITY, 2.0 * bl.GRAVITY
    assert found.blade.steady == pytest.approx(2 * blade + rotor / 2)
    assert found.far.steady == pytest.approx(abs(rotor / 2 - blade))
    assert (found.blade.axial, found.far.axial) == (12.0, 0.0)


def test_a_vertical_shaft_has_only_turning_forces_across():
    found = bl.loads(1.5, 2.0, 3.0, 2.0, 12.0, 0.1, 0.1, "down")
    assert (found.blade.steady, found.far.steady) == (0.0, 0.0)
    assert found.blade.radial == pytest.approx(2 * 3.0 + 1.0)
    assert found.far.radial == pytest.approx(3.0 + 1.0)
    assert found.blade.axial == pytest.approx(3.5 * bl.GRAVITY + 12)


def test_arrays_broadcast():
    found = bl.loads([1.0, 2.0], 2.0, [[1.0], [9.0]], 1.0, 12.0, 0.1, 0.1, "up")
    assert found.blade.radial.shape == (2, 2) and found.far.axial.shape == (2,)
    alone = bl.loads(2.0, 2.0, 9.0, 1.0, 12.0, 0.1, 0.1, "up")
    assert found.blade.radial[1, 1] == alone.blade.radial
    assert found.far.axial[1] == alone.far.axial
    assert bl.shock_force([1.0, 2.0], 10.0).shape == (2,)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bl.reactions(10.0, 125.0, 0.1), "overhang: 125 m"),
        (lambda: bl.reactions(10.0, 0.1, 0.0), "span: 0 m"),
        (lambda: bl.reactions(np.nan, 0.1, 0.1), "force: nan N"),
        (lambda: bl.axial_forces(10.0, 1.0, "sideways"), "shaft_position: 'sideways'"),
        (lambda: bl.axial_forces(10.0, 1.0, "up", "left"), "discharge: 'left'"),
        (lambda: bl.loads(1500.0, 2.0, 0, 0, 1.0, 0.1, 0.1, "up"), "blade_mass: 1,500 kg"),
        (lambda: bl.shock_force(1.0, -3.0), "shock: -3 times gravity"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            ("sideways", "up"),
            "shaft_position: 'sideways' is not accepted. Enter up, down, horizontal.",
        ),
        (("up", "left"), "discharge: 'left' is not accepted. Enter up, down."),
    ],
)
def test_the_whole_sentence(words, sentence):
    with pytest.raises(InputError) as refused:
        bl.axial_forces(10.0, 1.0, *words)
    assert str(refused.value) == sentence


def test_loads_pass_the_discharge_on():
    lifted = bl.loads(1.0, 1.0, 0.0, 0.0, 12.0, 0.1, 0.1, "down", "down")
    assert lifted.blade.axial == pytest.approx(2 * bl.GRAVITY - 12)


def test_forces_of_a_horizontal_shaft_have_one_shape():
    blade, far = bl.axial_forces(10.0, [1.0, -2.0], "horizontal")
    assert blade.tolist() == [1.0, 2.0] and far.tolist() == [0.0, 0.0]
