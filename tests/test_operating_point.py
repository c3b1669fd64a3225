"""Where motors settle: against a root finder called case by case, and by common sense."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from airover.errors import InputError
from airover.physics.circuit import CapacitorRun
from airover.physics.operating_point import fan_coefficient, settle
from airover.physics.saturation import Saturation

MOTOR = CapacitorRun(6, 60.0, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6, 4e-4, 3.0145e-4)
SATURATED = replace(MOTOR, saturation=Saturation(0.25, 6.0, 185.0))
THIRD_HP = float(fan_coefficient(745.7 / 3, 1075.0))


def one_by_one(motor, voltage, coefficient):
    """Slip by SciPy's brentq between breakdown and synchronous speed."""

    def surplus(slip):
        speed = (1 - slip) * 40 * np.pi
        return float(motor.solve(voltage, 60.0, slip).torque) - coefficient * speed**2

    return brentq(surplus, 0.0, 0.35, xtol=1e-13)


@settings(max_examples=60, deadline=None)
@given(st.floats(190.0, 270.0), st.floats(0.3, 1.1))
def test_it_is_where_brentq_finds_it(voltage, share):
    found = settle(SATURATED, voltage, 60.0, share * THIRD_HP)
    assert found.starts
    expected = one_by_one(SATURATED, voltage, share * THIRD_HP)
    assert found.slip == pytest.approx(expected, abs=1e-9)


def test_torques_meet_there():
    found = settle(SATURATED, [200.0, 230.0, 253.0], 60.0, THIRD_HP)
    speed = found.solution.speed_rpm * np.pi / 30
    np.testing.assert_allclose(found.solution.torque, THIRD_HP * speed**2, rtol=1e-7)


@settings(max_examples=60, deadline=None)
@given(st.floats(180.0, 240.0), st.floats(1.01, 1.1), st.floats(0.4, 1.0))
def test_more_voltage_never_lowers_the_speed_in_the_working_range(voltage, more, share):
    slow, fast = settle(SATURATED, [voltage, voltage * more], 60.0, share * THIRD_HP).slip
    assert fast <= slow


def test_a_motor_without_starting_torque_stands_still():
    no_auxiliary = replace(MOTOR, R_aux=1e9)
    found = settle(no_auxiliary, 230.0, 60.0, THIRD_HP)
    assert not found.starts
    assert found.slip == 1 and found.solution.power_out == 0


def test_a_fan_far_too_large_is_left_crawling_below_breakdown():
    found = settle(MOTOR, 230.0, 60.0, 10 * THIRD_HP)
    assert found.starts and found.slip > 0.5


def test_cases_broadcast_with_the_motors():
    motors = replace(MOTOR, R2=np.array([20.0, 25.0, 30.0]))
    found = settle(motors, np.array([[208.0], [230.0]]), 60.0, THIRD_HP)
    assert found.slip.shape == (2, 3)
    assert found.solution.current.shape == (2, 3)
    alone = settle(replace(MOTOR, R2=30.0), 208.0, 60.0, THIRD_HP)
    assert found.slip[0, 2] == pytest.approx(alone.slip, abs=1e-9)


def test_horsepower_for_watts_is_not_hidden():
    with pytest.raises(InputError, match="coefficient"):
        settle(MOTOR, 230.0, 60.0, fan_coefficient(1e-4, 1075.0))
