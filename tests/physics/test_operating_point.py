"""Where motors settle: against a root finder called case by case, and by common sense."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from airover.core.errors import InputError
from airover.physics.circuit import CapacitorRun, Saturation
from airover.physics.operating_point import (
    FINE_SCAN,
    SCAN,
    crossings,
    fan_coefficient,
    settle,
    step,
)

MOTOR = CapacitorRun(6, 60.0, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6, 4e-4, 3.0145e-4)
SATURATED = replace(MOTOR, saturation=Saturation(0.25, 6.0, 185.0))
THIRD_HP = float(fan_coefficient(745.7 / 3, 1075.0))
# Much leakage and a rotor of little resistance: weak from standstill up to half speed.
WEAK_BELOW = replace(MOTOR, R2=8, X1=40, X2=40, turns_ratio=2.2, R_aux=116, X_aux=194)
WEAK_BELOW = replace(WEAK_BELOW, capacitance=1.5e-6)
# Stiff bearings and a weak capacitor: a torque that falls from standstill and rises once more.
DIPPED = CapacitorRun(4, 60.0, 45, 40, 12, 11, 76, 1.35, 83, 44, 1.8e-6, 0.0, 4.3e-3)


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
    assert found.starts.shape == found.runs.shape == found.solution.current.shape == (2, 3)
    alone = settle(replace(MOTOR, R2=30.0), 208.0, 60.0, THIRD_HP)
    assert found.slip[0, 2] == pytest.approx(alone.slip, abs=1e-9)


def counted(motor, share):
    """Each balance as "stable" or "unstable", from standstill upwards."""
    found = crossings(motor, 230.0, 60.0, share * THIRD_HP)
    assert [one.slip for one in found] == sorted((one.slip for one in found), reverse=True)
    return ["stable" if one.stable else "unstable" for one in found]


def test_crossings_are_counted_and_told_apart():
    assert counted(MOTOR, 1.0) == ["stable"]
    assert counted(SATURATED, 1.0) == ["stable"]
    assert counted(WEAK_BELOW, 0.4) == ["stable", "unstable", "stable"]
    backwards = replace(MOTOR, reversed=True)
    assert counted(backwards, 0.1) == ["unstable", "stable"]  # runs on when somebody spins it
    assert counted(backwards, 4.0) == []


@pytest.mark.parametrize("motor", [MOTOR, SATURATED, WEAK_BELOW, DIPPED])
def test_torques_meet_at_every_crossing(motor):
    for one in crossings(motor, 230.0, 60.0, 0.4 * THIRD_HP):
        speed = one.speed_rpm * np.pi / 30
        assert one.torque == pytest.approx(0.4 * THIRD_HP * speed**2, rel=1e-7)
        beside = motor.solve(230.0, 60.0, one.slip + np.array([-1e-4, 1e-4]))
        surplus = beside.torque - 0.4 * THIRD_HP * (beside.speed_rpm * np.pi / 30) ** 2
        assert (surplus[1] > 0 > surplus[0]) == one.stable


@pytest.mark.parametrize("motor", [MOTOR, SATURATED, WEAK_BELOW, DIPPED], ids=repr)
@pytest.mark.parametrize("share", [0.02, 0.2, 0.4, 1.0, 1.3, 5.0])
def test_it_settles_at_the_first_stable_crossing(motor, share):
    found = settle(motor, 230.0, 60.0, share * THIRD_HP)
    stable = [one for one in crossings(motor, 230.0, 60.0, share * THIRD_HP) if one.stable]
    assert found.slip == (pytest.approx(stable[0].slip, abs=1e-9) if found.starts else 1.0)


def test_one_that_does_not_start_may_still_cross():
    backwards = replace(MOTOR, reversed=True)
    assert settle(backwards, 230.0, 60.0, 0.1 * THIRD_HP).slip == 1
    assert crossings(backwards, 230.0, 60.0, 0.1 * THIRD_HP)


def test_both_scans_go_from_standstill_to_synchronous_speed():
    """What a settling motor looks at, `crossings` looks at too, and more closely."""
    assert len(crossings(MOTOR, 230.0, 60.0, THIRD_HP)) == 1
    for scan in (SCAN, FINE_SCAN):
        assert scan[0] == 1 and scan[-1] == 0 and np.all(np.diff(scan) < 0)
    assert np.max(np.abs(np.diff(FINE_SCAN))) == pytest.approx(1 / 400)
    assert np.all(np.min(np.abs(SCAN[:, None] - FINE_SCAN), axis=1) < 1e-12)


def test_a_step_is_short_and_stays_between_standstill_and_synchronous_speed():
    emf = MOTOR.balance(230.0, 60.0, 0.1).emf
    load, far = np.array([1.0, 2.0]) * THIRD_HP, np.array([0.3, 0.05])
    slip, _ = step(MOTOR, 230.0, 60.0, load, far, emf, True)
    np.testing.assert_allclose(slip, [0.25, 0.1], atol=1e-12)
    # On the far side of a breakdown Newton's rule runs away.
    for R2, load, far, end in ((0.1, THIRD_HP, 0.02, 0.0), (0.3, 1e-8, 0.97, 1.0)):
        assert step(replace(MOTOR, R2=R2), 230.0, 60.0, load, far, emf, True)[0] == end
    assert step(MOTOR, 230.0, 60.0, THIRD_HP, 1.0, emf, False)[0] == 1.0


@pytest.mark.parametrize("which", ["circuit", "voltage", "frequency", "coefficient"])
def test_crossings_are_of_one_case(which):
    one = {"circuit": MOTOR, "voltage": 230.0, "frequency": 60.0, "coefficient": THIRD_HP}
    two = replace(MOTOR, R2=[20.0, 25.0]) if which == "circuit" else [one[which], one[which]]
    with pytest.raises(InputError) as refused:
        crossings(**(one | {which: two}))
    assert refused.value.field == "crossings"
    assert str(refused.value) == (
        "crossings: an array of shape (2,). Needed: one motor with one fan."
    )
    with pytest.raises(InputError, match="voltage"):
        crossings(MOTOR, 23000.0, 60.0, THIRD_HP)


@pytest.mark.parametrize(
    ("frequency", "share"), [([50.0, 60.0], 1.0), (60.0, [1.0, 10.0]), ([50.0, 60.0], [10.0, 1.0])]
)
def test_each_case_is_as_if_it_were_alone(frequency, share):
    found = settle(MOTOR, 230.0, frequency, np.multiply(share, THIRD_HP))
    assert found.slip.shape == found.starts.shape == found.runs.shape == (2,)
    for i, one in enumerate(zip(*np.broadcast_arrays(frequency, share), strict=True)):
        alone = settle(MOTOR, 230.0, one[0], one[1] * THIRD_HP)
        assert alone.slip.shape == alone.solution.torque.shape == ()
        assert found.slip[i] == pytest.approx(alone.slip, abs=1e-9)
        assert (found.starts[i], found.runs[i]) == (alone.starts, alone.runs) == (True, one[1] < 2)


def test_in_the_working_range_it_runs():
    found = settle(SATURATED, [187.0, 230.0, 253.0], 60.0, THIRD_HP)
    assert np.all(found.runs)


def test_a_motor_of_high_rotor_resistance_runs_at_any_slip():
    """Its torque is greatest at standstill: there is no speed below breakdown."""
    found = settle(replace(MOTOR, R2=200.0), 230.0, 60.0, [THIRD_HP, 4 * THIRD_HP])
    assert np.all(found.slip > 0.3) and np.all(found.runs)


def test_one_that_hangs_below_breakdown_does_not_run():
    for motor, share in ((MOTOR, 10.0), (WEAK_BELOW, 0.4)):
        found = settle(motor, 230.0, 60.0, share * THIRD_HP)
        assert found.starts and not found.runs


@pytest.mark.parametrize("motor", [MOTOR, SATURATED])
def test_it_runs_up_to_its_breakdown(motor):
    """A hundredth of slip to either side, with the next slips of the scan further down."""
    slips = np.linspace(0.1, 0.6, 5001)
    breakdown = slips[np.argmax(motor.solve(230.0, 60.0, slips).torque)]
    beside = breakdown + np.array([-0.01, 0.01])
    load = motor.solve(230.0, 60.0, beside).torque / ((1 - beside) * 40 * np.pi) ** 2
    found = settle(motor, 230.0, 60.0, load)
    np.testing.assert_allclose(found.slip, beside, atol=1e-8)
    np.testing.assert_array_equal(found.runs, [True, False])


def test_one_on_the_slow_side_of_a_dip_does_not_run():
    """More slip means more torque there as well, but past the dip there is far more."""
    found = settle(DIPPED, 263.0, 60.0, 1.3e-5)
    slower, here = DIPPED.solve(263.0, 60.0, found.slip + np.array([1e-3, 0.0])).torque
    assert slower > here
    assert found.starts and not found.runs
    assert settle(replace(DIPPED, friction=3e-4), 263.0, 60.0, 1.3e-5).runs


def test_one_that_stands_still_does_not_run():
    assert not settle(replace(MOTOR, reversed=True), 230.0, 60.0, THIRD_HP).runs


def test_horsepower_for_watts_is_not_hidden():
    with pytest.raises(InputError, match="coefficient"):
        settle(MOTOR, 230.0, 60.0, fan_coefficient(1e-4, 1075.0))
