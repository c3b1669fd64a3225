"""Unbalance: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import unbalance

masses = st.floats(0.1, 20)
grades = st.floats(1, 40)
speeds = st.floats(300, 4000)


@given(masses, grades, speeds)
def test_force_is_mass_times_grade_times_angular_speed(mass, grade, speed_rpm):
    expected = mass * grade / 1000 * speed_rpm * 2 * np.pi / 60
    assert unbalance.force(mass, grade, speed_rpm) == pytest.approx(expected, rel=1e-12)


@given(grades, speeds)
def test_a_grade_is_offset_times_angular_speed(grade, speed_rpm):
    offset = unbalance.eccentricity(grade, speed_rpm)
    assert offset * speed_rpm * 2 * np.pi / 60 == pytest.approx(grade / 1000, rel=1e-12)


def test_arrays_broadcast_and_equal_scalars():
    force = unbalance.force([[1.0], [2.0]], 6.3, [825.0, 1075.0])
    assert force.shape == (2, 2)
    assert force[1, 1] == unbalance.force(2.0, 6.3, 1075.0)
    assert isinstance(unbalance.force(2.0, 6.3, 1075.0), float)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((2000.0, 6.3, 1075.0), "mass: 2,000 kg"),
        ((2.0, 0.0063, 1075.0), "grade: 0.0063 mm/s"),
        ((2.0, 6.3, 0.0), "speed_rpm: 0 rpm"),
        ((2.0, [6.3, np.nan], 1075.0), "grade: nan mm/s"),
        (("heavy", 6.3, 1075.0), "mass: 'heavy'"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(arguments, words):
    with pytest.raises(InputError, match=words):
        unbalance.force(*arguments)


@given(masses, st.floats(1, 300), speeds)
def test_grade_and_force_are_inverse(mass, grade, speed_rpm):
    force = unbalance.force(mass, grade, speed_rpm)
    assert unbalance.grade_of(force, mass, speed_rpm) == pytest.approx(grade)


@given(st.floats(0.0005, 0.05), st.floats(0.05, 0.4), speeds)
def test_a_lost_weight_pulls_with_the_square_of_the_speed(mass_lost, radius, speed_rpm):
    force = unbalance.force_of_loss(mass_lost, radius, speed_rpm)
    assert unbalance.force_of_loss(mass_lost, radius, speed_rpm / 2) == pytest.approx(force / 4)
    assert unbalance.force_of_loss(0.0, radius, speed_rpm) == 0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: unbalance.force_of_loss(5.0, 0.28, 1075.0), "mass_lost: 5 kg"),
        (lambda: unbalance.force_of_loss(0.005, 11.0, 1075.0), "radius: 11 m"),
        (lambda: unbalance.grade_of(-1.0, 2.0, 1075.0), "force: -1 N"),
        (lambda: unbalance.grade_of(1.0, 0.0, 1075.0), "mass: 0 kg"),
    ],
)
def test_bad_losses_are_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
