"""The motor in time: against the closed form, by its energy, and in the starts people ask about."""

from dataclasses import replace
from math import inf, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson

from airover.core.errors import InputError
from airover.physics.circuit import CapacitorRun, Saturation
from airover.physics.operating_point import BREAKAWAY, fan_coefficient, settle
from airover.physics.transient import disc_inertia, integrate, run_up
from tests.refusals import assert_refused

MOTOR = CapacitorRun(6, 60.0, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6, 4e-4, 3.0145e-4)
SATURATED = replace(MOTOR, saturation=Saturation(0.25, 6.0, 185.0))
THIRD_HP = float(fan_coefficient(745.7 / 3, 1075.0))
LIGHT = 0.004  # kg m2; a tenth of a real blade's, so that a test does not wait
BLADE = float(disc_inertia(1.2, 0.559) + disc_inertia(1.5, 0.08, 0.71))
CYCLE = 64  # samples

PHASORS = ("current", "current_main", "current_aux", "voltage_capacitor")
MEANS = ("torque", "loss_main", "loss_aux", "loss_rotor")


def last_cycle(values, frequency=60.0, time=None):
    """Mean of the last cycle; with ``time`` the phasor (rms) of its fundamental."""
    values = values[-CYCLE:]
    if time is None:
        return np.mean(values)
    return sqrt(2) * np.mean(values * np.exp(-2j * pi * frequency * time[-CYCLE:]))


def steady(motor, voltage, frequency, slip, duration):
    """Phasors and means of the last cycle at a held speed, and the closed form's."""
    speed_rpm = (1 - slip) * 120 * frequency / float(motor.poles)
    run = integrate(motor, voltage, frequency, 0.0, inf, duration, speed_rpm)
    at = motor.solve(voltage, frequency, slip)
    ours = {name: last_cycle(getattr(run, name), frequency, run.time) for name in PHASORS}
    ours |= {name: last_cycle(getattr(run, name)) for name in MEANS}
    return ours, {name: getattr(at, name) for name in ours}


def assert_steady_agrees(motor, voltage, frequency, slip, duration, rtol):
    ours, closed = steady(motor, voltage, frequency, slip, duration)
    scale = {name: abs(value) for name, value in closed.items()}
    scale["torque"] = max(scale["torque"], 1.0)  # N m: it is a difference of two fields'
    for name, value in closed.items():
        assert abs(ours[name] - value) <= rtol * scale[name], name


@pytest.mark.parametrize("slip", [0.02, 0.1, 0.3, 1.0, 1.8])
def test_the_closed_form_is_its_steady_state(slip):
    """Two roads without a formula in common; what is left is the integration's tolerance."""
    assert_steady_agrees(MOTOR, 230.0, 60.0, slip, 1.0, rtol=1e-6)


@settings(max_examples=12, deadline=None)
@given(
    st.tuples(
        st.floats(5.0, 40.0),  # R1
        st.floats(5.0, 40.0),  # X1
        st.floats(10.0, 50.0),  # R2; with Xm it says how soon the start is forgotten
        st.floats(0.0, 40.0),  # X2
        st.floats(80.0, 250.0),  # Xm
        st.floats(0.7, 2.0),  # turns ratio
        st.floats(10.0, 90.0),  # R_aux
        st.floats(5.0, 60.0),  # X_aux
    ),
    st.floats(3e-6, 20e-6),
    st.sampled_from([4, 6, 8]),
    st.sampled_from([50.0, 60.0]),
    st.floats(0.02, 1.0),
    st.booleans(),
)
def test_the_closed_form_is_the_steady_state_of_any_motor(ohm, farad, poles, hertz, slip, mirrored):
    motor = CapacitorRun(poles, 60.0, *ohm, farad, 4e-4, 3e-4, reversed=mirrored)
    # A thousandth of a percent: motors of little resistance forget their start slowly.
    assert_steady_agrees(motor, 230.0, hertz, slip, 2.5, rtol=1e-5)


@pytest.mark.parametrize("slip, rtol", [(0.1, 0.016), (0.3, 0.013), (0.5, 0.006), (1.0, 0.003)])
def test_saturated_iron_agrees_as_far_as_phasors_can_say_it(slip, rtol):
    """Both roads use one curve of the iron, the phasors at the mean square of the flux.

    A field that is not round swings about that mean twice a cycle. The magnetising current then
    has a third harmonic, which no phasor has, and part of the forward field's current appears in
    the backward one. So per cents are left at 260 V, where straight iron is off by many more.
    """
    ours, closed = steady(SATURATED, 260.0, 60.0, slip, 1.0)
    for name in (*PHASORS, "torque", "loss_main", "loss_aux"):
        assert abs(ours[name] / closed[name] - 1) < rtol, name
    straight = MOTOR.solve(260.0, 60.0, slip).current_main
    assert abs(straight / ours["current_main"] - 1) > 3 * rtol


def test_near_no_load_saturated_phasors_are_a_few_per_cent_off():
    """The flux is greatest there and the torque small: the worst of the range, and known."""
    ours, closed = steady(SATURATED, 230.0, 60.0, 0.02, 1.0)
    for name in PHASORS:
        assert abs(ours[name] / closed[name] - 1) < 0.015, name
    assert 0.01 < abs(ours["torque"] / closed["torque"] - 1) < 0.05


def test_saturated_current_has_a_third_harmonic_and_a_linear_one_has_none():
    def third(motor):
        run = integrate(motor, 250.0, 60.0, 0.0, inf, 1.0, 1180.0)
        first, at_180 = (abs(last_cycle(run.current_main, f, run.time)) for f in (60.0, 180.0))
        return at_180 / first

    assert third(MOTOR) < 1e-6
    assert third(SATURATED) > 0.01


@pytest.mark.parametrize("motor", [MOTOR, SATURATED, replace(MOTOR, X1=0.0, reversed=True)])
def test_energy_of_a_run_up_balances(motor):
    run = integrate(motor, 230.0, 60.0, THIRD_HP, LIGHT, 0.5, -60.0, samples=128)
    speed = run.speed_rpm * pi / 30
    friction = float(motor.friction) * speed**2
    fan = THIRD_HP * np.abs(speed) ** 3
    core = float(motor.core_conductance) * run.voltage**2
    losses = run.loss_main + run.loss_aux + run.loss_rotor + core + friction
    taken = simpson(run.voltage * run.current, x=run.time)
    given_off = simpson(losses + fan, x=run.time) + held(run, speed)
    kinetic = LIGHT * (speed[-1] ** 2 - speed[0] ** 2) / 2
    stored = run.energy_stored[-1] - run.energy_stored[0]
    assert kinetic > 0.05 * taken
    assert taken == pytest.approx(given_off + kinetic + stored, rel=1e-6)


def held(run, speed):
    """Work done on sticking bearings [J]: a rounded torque with its crest at 1 rad/s."""
    u = speed / sqrt(3)
    crest = BREAKAWAY * THIRD_HP * (40 * pi) ** 2
    return simpson(crest * 16 / (3 * sqrt(3)) * u / (1 + u**2) ** 2 * speed, x=run.time)


def test_torque_is_what_turns_the_shaft():
    run = integrate(MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, 0.2, samples=512)
    speed = run.speed_rpm * pi / 30
    gained = simpson(run.torque - THIRD_HP * speed * np.abs(speed), x=run.time)
    assert LIGHT * speed[-1] == pytest.approx(gained, rel=1e-6)


@pytest.mark.parametrize("motor", [MOTOR, replace(MOTOR, capacitance=5e-6, R2=20.0)])
def test_the_fan_settles_where_torques_meet(motor):
    """A heavy rotor hardly follows the pulsing torque, so that its mean decides alone."""
    at = settle(motor, 230.0, 60.0, THIRD_HP)
    near = float(at.solution.speed_rpm) - 5
    end = run_up(motor, 230.0, 60.0, THIRD_HP, 0.04, speed_rpm=near)
    assert end.starts and end.direction == 1
    assert end.speed_rpm == pytest.approx(float(at.solution.speed_rpm), rel=2e-5)


def test_starts_and_standstills_are_those_of_settle():
    volts = np.array([35.0, 45.0, 52.0, 80.0])
    expected = settle(MOTOR, volts, 60.0, THIRD_HP).starts
    assert set(expected) == {True, False}
    ours = [run_up(MOTOR, v, 60.0, THIRD_HP, LIGHT).starts for v in volts]
    np.testing.assert_array_equal(ours, expected)


def test_a_held_back_fan_stands():
    end = run_up(MOTOR, 40.0, 60.0, THIRD_HP, LIGHT)
    assert not end.starts and end.direction == 0 and abs(end.speed_rpm) < 10


def test_a_mirrored_motor_runs_the_other_way():
    right = run_up(MOTOR, 230.0, 60.0, THIRD_HP, LIGHT)
    left = run_up(replace(MOTOR, reversed=True), 230.0, 60.0, THIRD_HP, LIGHT)
    assert left.starts and left.direction == -1
    assert -left.speed_rpm == pytest.approx(right.speed_rpm, rel=1e-6)
    assert left.time == pytest.approx(right.time, rel=1e-6)
    assert left.voltage_capacitor_peak == pytest.approx(right.voltage_capacitor_peak, rel=1e-6)


CUT = replace(MOTOR, R_aux=1e9)


@pytest.mark.parametrize("speed_rpm, direction", [(0.0, 0), (600.0, 1), (-600.0, -1)])
def test_without_auxiliary_it_only_keeps_on_turning(speed_rpm, direction):
    end = run_up(CUT, 230.0, 60.0, THIRD_HP, LIGHT, speed_rpm=speed_rpm)
    assert end.direction == direction
    assert end.starts == (direction == 1)


def test_a_cut_auxiliary_is_that_of_the_closed_form():
    run = integrate(CUT, 230.0, 60.0, 0.0, inf, 1.0, 1080.0)
    at = CUT.solve(230.0, 60.0, 0.1)
    current = last_cycle(run.current, time=run.time)
    assert abs(current / at.current - 1) < 1e-6
    assert last_cycle(run.torque) == pytest.approx(float(at.torque), rel=1e-6)
    assert np.max(np.abs(run.current_aux)) < 1e-5


def test_wind_from_behind_delays_a_start_and_beats_a_weak_capacitor():
    calm, turned = (run_up(MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, speed_rpm=w) for w in (0.0, -200.0))
    assert turned.starts and turned.time > 1.2 * calm.time
    assert turned.energy_windings > 1.2 * calm.energy_windings
    weak = replace(MOTOR, capacitance=2e-6)
    assert run_up(weak, 230.0, 60.0, THIRD_HP, LIGHT).starts
    carried = run_up(weak, 230.0, 60.0, THIRD_HP, LIGHT, speed_rpm=-400.0)
    assert not carried.starts and carried.direction == -1 and carried.speed_rpm < -800


def test_wind_that_goes_on_pushing_is_worse_than_wind_that_stops():
    def start(wind_rpm):
        return run_up(MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, speed_rpm=-300.0, wind_rpm=wind_rpm)

    calm, pushed = start(0.0), start(-300.0)
    assert pushed.time > 1.1 * calm.time
    assert pushed.speed_rpm < calm.speed_rpm


def test_wind_alone_keeps_its_speed():
    """Almost without voltage nothing but wind and fan act; friction takes the small rest."""
    free = replace(MOTOR, friction=0.0)
    run = integrate(free, 1.0, 60.0, THIRD_HP, LIGHT, 0.5, -300.0, -300.0)
    assert run.speed_rpm[-1] == pytest.approx(-300.0, abs=1.0)


def test_heavier_blades_take_longer_in_proportion():
    short, long = (run_up(MOTOR, 230.0, 60.0, THIRD_HP, j) for j in (0.02, 0.04))
    assert long.time == pytest.approx(2 * short.time, rel=0.01)
    assert long.speed_rpm == pytest.approx(short.speed_rpm, rel=1e-4)


def test_a_real_blade_is_up_within_seconds_and_the_cage_takes_its_heat():
    end = run_up(SATURATED, 230.0, 60.0, THIRD_HP, BLADE)
    assert 1.0 < end.time < 5.0
    kinetic = BLADE * (0.95 * end.speed_rpm * pi / 30) ** 2 / 2
    # Run up from rest, a cage takes at least what the rotor stores, more with a fan on it.
    assert end.energy_rotor > kinetic
    rated = sqrt(2) * abs(SATURATED.solve(230.0, 60.0, 0.104).voltage_capacitor)
    assert end.voltage_capacitor_peak == pytest.approx(rated, rel=0.02)


def test_a_run_that_is_too_short_says_so():
    with pytest.raises(ArithmeticError, match="^the fan's speed still changes after 1 s$"):
        run_up(MOTOR, 230.0, 60.0, THIRD_HP, BLADE, duration=1.0)


def test_blade_of_rods_and_disc():
    """Handbook: a disc's inertia is m R^2/2, a rod's about its middle m L^2/12."""
    assert disc_inertia(2.0, 0.5, sqrt(1 / 2)) == pytest.approx(2.0 * 0.25**2 / 2)
    assert disc_inertia(2.0, 0.5, sqrt(1 / 3)) == pytest.approx(2.0 * 0.5**2 / 12)
    np.testing.assert_allclose(disc_inertia([1.0, 2.0], 0.5), [0.0225, 0.045])


def test_a_fan_that_stands_from_the_first_moment_took_no_time():
    end = run_up(CUT, 230.0, 60.0, THIRD_HP, LIGHT)
    assert (end.direction, end.time, end.energy_windings, end.energy_rotor) == (0, 0.0, 0.0, 0.0)


def test_a_blade_that_the_wind_had_turned_stands_when_it_is_as_good_as_standing():
    """It is followed down to 40 rpm of where it ends."""
    line = CUT, 20.0, 60.0, THIRD_HP, 0.0005
    end = run_up(*line, speed_rpm=200.0)
    run = integrate(*line, 1.2 * end.time, 200.0)
    assert end.direction == 0 and not end.starts
    assert run.speed_rpm[np.searchsorted(run.time, end.time) - 2] > end.speed_rpm + 40
    assert np.interp(end.time, run.time, run.speed_rpm) <= end.speed_rpm + 40


def test_from_rest_without_wind_from_the_crest_on_unless_told():
    line = MOTOR, 230.0, 60.0, THIRD_HP, 0.001
    told = integrate(*line, 0.02, 0.0, 0.0, 0.0, 64)
    for one, other in zip(integrate(*line, 0.02), told, strict=True):
        np.testing.assert_array_equal(one, other)
    assert len(told.time) == 78 and told.voltage[0] == pytest.approx(230 * sqrt(2))
    end = run_up(*line)
    assert end == run_up(*line, 60.0, 0.0, 0.0, 0.0)
    assert (type(end.starts), type(end.direction), type(end.time)) == (bool, int, float)


def test_an_auxiliary_of_more_than_ten_kilohms_is_cut():
    thin, cut = (
        integrate(replace(MOTOR, R_aux=ohm), 230.0, 60.0, 0.0, inf, 0.02) for ohm in (1e4, 1.001e4)
    )
    assert np.max(np.abs(thin.current_aux)) > 0.01
    assert np.max(np.abs(cut.current_aux)) < 1e-4


@pytest.mark.parametrize(
    ("arguments", "field", "said"),
    [
        ({"voltage": [200.0, 230.0]}, "voltage", (2, "one number")),
        ({"circuit": replace(MOTOR, R2=[20.0, 30.0])}, "circuit", (2, "one motor")),
        ({"circuit": replace(MOTOR, X1=0.0, X2=0.0)}, "X2", ("leakage reactance",)),
        ({"circuit": replace(MOTOR, X_aux=0.0, X2=0.0)}, "X2", ("leakage reactance",)),
        ({"circuit": replace(MOTOR, capacitance=0.9e-7)}, "capacitance", (9e-8, 1e-7, 0.002, "F")),
        (
            {"circuit": replace(MOTOR, saturation=Saturation(0.2, 1.9, 185.0))},
            "exponent",
            (1.9, 2, 30),
        ),
        (
            {"circuit": replace(MOTOR, saturation=Saturation(0.2, 30.1, 185.0))},
            "exponent",
            (30.1, 2, 30),
        ),
    ],
)
def test_what_one_motor_cannot_have_is_told_in_a_sentence(arguments, field, said):
    usual = {"circuit": MOTOR, "voltage": 230.0, "frequency": 60.0, "coefficient": THIRD_HP}
    with pytest.raises(InputError) as refused:
        integrate(**(usual | {"inertia": LIGHT, "duration": 0.01} | arguments))
    assert_refused(refused.value, field, *said)


@pytest.mark.parametrize(
    "field, arguments",
    [
        ("voltage", (MOTOR, 0.23, 60.0, THIRD_HP, LIGHT, 0.1)),
        ("inertia", (MOTOR, 230.0, 60.0, THIRD_HP, 350.0, 0.1)),
        ("duration", (MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, 3000.0)),
        ("coefficient", (MOTOR, 230.0, 60.0, -1.0, LIGHT, 0.1)),
        ("speed_rpm", (MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, 0.1, np.nan)),
        ("voltage", (MOTOR, [200.0, 230.0], 60.0, THIRD_HP, LIGHT, 0.1)),
        ("inertia", (MOTOR, 230.0, 60.0, THIRD_HP, np.array([LIGHT, inf]), 0.1)),
        ("circuit", (replace(MOTOR, poles=[4, 6]), 230.0, 60.0, THIRD_HP, LIGHT, 0.1)),
        ("circuit", (replace(MOTOR, R2=[20.0, 30.0]), 230.0, 60.0, THIRD_HP, LIGHT, 0.1)),
        ("X2", (replace(MOTOR, X1=0.0, X2=0.0), 230.0, 60.0, THIRD_HP, LIGHT, 0.1)),
        ("capacitance", (replace(MOTOR, capacitance=1e-12), 230.0, 60.0, THIRD_HP, LIGHT, 0.1)),
    ],
)
def test_what_cannot_be_followed_is_refused_by_name(field, arguments):
    with pytest.raises(InputError, match=field):
        integrate(*arguments)
