"""Single-phase motors in steady state and their run capacitor."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import circuit
from airover.physics.circuit import CapacitorRun, Saturation, single_winding

MOTOR = CapacitorRun(6, 60.0, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6, 4e-4, 3.0145e-4)
SATURATED = replace(MOTOR, saturation=Saturation(0.25, 6.0, 185.0))


def coupled_windings(motor, voltage, slip, frequency=60.0):
    """Currents by the voltage equations of four coupled windings, no revolving fields assumed.

    Stator main and auxiliary in quadrature, rotor a two-phase cage in the stator's frame, where
    a moving conductor adds speed times the other axis's flux. Solved as one complex 4 x 4 system
    of inductances, so that the line may have another frequency than the motor's.
    """
    w, rated = 2 * np.pi * frequency, 2 * np.pi * motor.frequency
    speed = (1 - slip) * w
    a = -motor.turns_ratio if motor.reversed else motor.turns_ratio
    M, Ma = motor.Xm / rated, a * motor.Xm / rated
    L1, L_aux = motor.X1 / rated + M, motor.X_aux / rated + a * Ma
    L2 = motor.X2 / rated + M
    j = 1j * w
    capacitor = 1 / (j * motor.capacitance)
    matrix = np.array(
        [
            [motor.R1 + j * L1, 0, j * M, 0],
            [0, motor.R_aux + j * L_aux + capacitor, 0, j * Ma],
            [j * M, -speed * Ma, motor.R2 + j * L2, -speed * L2],
            [speed * M, j * Ma, speed * L2, motor.R2 + j * L2],
        ]
    )
    # The rotor turns from the auxiliary's axis to the main's: the auxiliary leads.
    return np.linalg.solve(matrix, np.array([voltage, voltage, 0, 0], dtype=complex))


@pytest.mark.parametrize("slip", [0.02, 0.1, 0.5, 1.0])
def test_four_coupled_windings_give_the_same_currents(slip):
    main, aux, *_ = coupled_windings(MOTOR, 230.0, slip)
    at = MOTOR.solve(230.0, 60.0, slip)
    np.testing.assert_allclose([at.current_main, at.current_aux], [main, aux], rtol=1e-12)


ohms = st.floats(2.0, 60.0)


@settings(max_examples=100, deadline=None)
@given(
    st.tuples(ohms, ohms, ohms, ohms, st.floats(60.0, 400.0), st.floats(0.7, 2.0), ohms, ohms),
    st.floats(2e-6, 20e-6),
    st.floats(0.0, 0.45),
    st.floats(3.0, 9.0),
    st.floats(120.0, 290.0),
    st.floats(-0.2, 2.0),
)
def test_powers_balance(ohm, capacitance, share, exponent, voltage, slip):
    saturation = Saturation(share, exponent, 180.0)
    motor = CapacitorRun(6, 60.0, *ohm, capacitance, 4e-4, 3e-4, saturation)
    at = motor.solve(voltage, 60.0, slip)
    assert at.power_in == pytest.approx(at.power_out + at.loss, rel=1e-9)


@given(st.floats(0.01, 1.0))
def test_open_auxiliary_is_a_motor_with_one_winding(slip):
    cut = replace(MOTOR, R_aux=1e9, core_conductance=0.0, friction=0.0)
    alone = single_winding(230, 60, 6, slip, 20, 15.5, 25, 15.5, 140)
    at = cut.solve(230, 60, slip)
    np.testing.assert_allclose(abs(at.current), alone.current, rtol=1e-6)
    np.testing.assert_allclose(at.torque, alone.torque, rtol=1e-6, atol=1e-6)


def test_double_voltage_winding_draws_half_the_amps_for_the_same_torque():
    four = {k: 4 * getattr(MOTOR, k) for k in ("R1", "X1", "R2", "X2", "Xm", "R_aux", "X_aux")}
    high = replace(
        MOTOR,
        **four,
        capacitance=MOTOR.capacitance / 4,
        core_conductance=MOTOR.core_conductance / 4,
    )
    low, at = MOTOR.solve(230, 60, 0.1), high.solve(460, 60, 0.1)
    assert abs(at.current) == pytest.approx(abs(low.current) / 2, rel=1e-12)
    assert at.torque == pytest.approx(low.torque, rel=1e-12)


@given(st.floats(0.95, 1.05))
def test_leakage_may_be_booked_in_stator_or_rotor(c):
    a = MOTOR.turns_ratio
    shift = MOTOR.Xm * (1 - c)
    moved = replace(
        MOTOR,
        X1=MOTOR.X1 + shift,
        X_aux=MOTOR.X_aux + a**2 * shift,
        X2=c**2 * (MOTOR.X2 + MOTOR.Xm) - c * MOTOR.Xm,
        Xm=c * MOTOR.Xm,
        R2=c**2 * MOTOR.R2,
    )
    here, there = MOTOR.solve(230, 60, 0.1), moved.solve(230, 60, 0.1)
    assert there.torque == pytest.approx(here.torque, rel=1e-9)
    assert there.current == pytest.approx(here.current, rel=1e-9)


def test_slip_zero_is_finite_and_brakes():
    at = MOTOR.solve(230, 60, 0.0)
    assert np.isfinite(at.torque) and at.torque < 0


def test_saturation_is_neutral_at_its_rated_voltage_and_costs_amps_above():
    emf = float(MOTOR.solve(230, 60, 0.1).emf)
    saturated = replace(MOTOR, saturation=Saturation(0.3, 6.0, emf))
    same = [abs(m.solve(230, 60, 0.1).current) for m in (MOTOR, saturated)]
    assert same[0] == pytest.approx(same[1], rel=1e-9)
    more = [abs(m.solve(260, 60, 0.1).current) for m in (MOTOR, saturated)]
    assert more[1] > 1.05 * more[0]


def test_at_fifty_hertz_iron_saturates_at_five_sixths_of_the_voltage():
    """Volts per hertz: 50 Hz at 5/6 of the voltage drives the same flux as 60 Hz at all of it."""
    bare = replace(SATURATED, R1=0.0, R_aux=0.0)
    far = replace(bare, R_aux=1e9)  # no capacitor, so that all reactances go with frequency
    sixty, fifty = far.solve(250, 60, 0.0), far.solve(250 * 5 / 6, 50, 0.0)
    assert sixty.emf / fifty.emf == pytest.approx(6 / 5, rel=0.002)


def test_arrays_give_what_scalars_give():
    slip = np.array([[0.05], [0.2]])
    volts = np.array([200.0, 230.0, 260.0])
    table = SATURATED.solve(volts, 60.0, slip)
    assert table.torque.shape == (2, 3)
    for i, j in np.ndindex(2, 3):
        one = SATURATED.solve(volts[j], 60.0, slip[i, 0])
        assert table.torque[i, j] == pytest.approx(one.torque, rel=1e-9)
        assert table.current[i, j] == pytest.approx(one.current, rel=1e-9)


@pytest.mark.parametrize(
    "field, value", [("capacitance", 7.5), ("poles", 1075), ("R2", 0.0), ("Xm", np.nan)]
)
def test_a_wrong_unit_or_value_is_named(field, value):
    with pytest.raises(InputError, match=field):
        replace(MOTOR, **{field: value})


def test_kilovolts_and_cycles_are_refused():
    with pytest.raises(InputError, match="voltage"):
        MOTOR.solve(0.23, 60, 0.1)
    with pytest.raises(InputError, match="frequency"):
        MOTOR.solve(230, 377, 0.1)


class Counted(Saturation):
    """Iron that counts how often its curve is read."""

    readings = 0

    def factor(self, emf):
        Counted.readings += 1
        return super().factor(emf)


def readings(motor, *line, emf=None):
    """How many steps the saturated state takes."""
    Counted.readings = 0
    replace(motor, saturation=Counted(*motor.saturation)).balance(*line, emf)
    return Counted.readings


def test_saturated_iron_takes_few_steps():
    """Every slider waits for them. The hard ones are near resonance, of all kinds at once."""
    usual = [readings(SATURATED, volts, 60.0, 0.1) for volts in (100.0, 190.0, 230.0, 253.0)]
    assert max(usual) <= 6
    random = np.random.default_rng(5)
    iron = Saturation(
        random.uniform(0.01, 0.99, 4000),
        random.uniform(0.5, 25, 4000),
        random.uniform(60, 250, 4000),
    )
    hard = replace(
        MOTOR,
        R1=10 ** random.uniform(0, 1.5, 4000),
        R2=10 ** random.uniform(0, 2, 4000),
        capacitance=10 ** random.uniform(-6.5, -3.5, 4000),
        Xm=10 ** random.uniform(1.5, 2.6, 4000),
        saturation=iron,
    )
    slip = random.choice([0.0, 0.02, 0.1, 0.3, 1.0, 1.8], 4000)
    assert readings(hard, 10 ** random.uniform(0, 3, 4000), 60.0, slip) <= 20


def test_a_state_close_by_saves_steps_and_changes_nothing():
    at = SATURATED.balance(230.0, 60.0, 0.1)
    assert readings(SATURATED, 230.0, 60.0, 0.1, emf=at.emf) == 1
    assert readings(SATURATED, 230.0, 60.0, 0.101, emf=at.emf) < readings(
        SATURATED, 230.0, 60.0, 0.101
    )
    far = SATURATED.balance(230.0, 60.0, 0.1, emf=at.emf / 15)
    assert far.emf == pytest.approx(at.emf, rel=1e-9)


@pytest.mark.parametrize("emf_rated", [1.0, 1e6])
def test_iron_of_another_motor_finds_no_balance_and_says_so(emf_rated):
    """It used to give the end of its bracket for an answer."""
    odd = replace(MOTOR, saturation=Saturation(0.2, 1.0, emf_rated))
    with pytest.raises(ArithmeticError, match="^the saturated magnetising path found no balance$"):
        odd.solve(230.0, 60.0, 0.1)


def test_one_winding_does_not_pull_at_standstill():
    at = single_winding(230.0, 60.0, 6, [1.0, 0.1], 20, 15.5, 25, 15.5, 140, 30.0, 10.0)
    assert at.torque[0] == 0 and at.speed_rpm[0] == 0
    assert at.torque[1] == pytest.approx(at.power_out[1] / (0.9 * 40 * np.pi), rel=1e-12)
    assert isinstance(single_winding(230.0, 60.0, 6, 1.0, 20, 15.5, 25, 15.5, 140).torque, float)


def test_motors_are_rearranged_with_their_iron_and_their_polarity():
    motors = replace(
        SATURATED,
        R2=np.array([20.0, 25.0]),
        saturation=Saturation(0.25, np.array([[6.0], [7.0]]), 185.0),
    )
    assert motors.shape == (2, 2) and MOTOR.shape == ()
    motors = replace(motors, reversed=np.array([True, False]))
    picked = motors.rearranged(lambda value: np.broadcast_to(value, (2, 2))[1, 0])
    assert picked.shape == () and bool(picked.reversed)
    alone = replace(
        SATURATED, R2=20.0, saturation=Saturation(0.25, 7.0, 185.0), reversed=True
    ).solve(230.0, 60.0, 0.1)
    assert picked.solve(230.0, 60.0, 0.1).torque == pytest.approx(alone.torque, rel=1e-12)
    assert MOTOR.rearranged(np.ravel).saturation is None


def test_skin_raises_the_rotor_s_resistance_with_its_frequency():
    """At standstill both fields see R2 (1 + skin): the motor of that resistance without skin."""
    standing = replace(SATURATED, skin=0.3).solve(230.0, 60.0, 1.0)
    thick = replace(SATURATED, R2=1.3 * SATURATED.R2).solve(230.0, 60.0, 1.0)
    assert standing.current == pytest.approx(thick.current, rel=1e-9)
    assert standing.torque == pytest.approx(thick.torque, rel=1e-9)
    running = replace(SATURATED, skin=0.3).solve(230.0, 60.0, 0.1)
    np.testing.assert_allclose(running.power_in, running.power_out + running.loss, rtol=1e-9)
    assert running.power_in > running.power_out * SATURATED.solve(230.0, 60.0, 0.1).power_in / (
        SATURATED.solve(230.0, 60.0, 0.1).power_out
    )  # more of it in the backward field


def test_an_auxiliary_on_a_tap_is_another_one_across_the_whole_line():
    """A hand-written node analysis: main in two parts in series, auxiliary from their joint."""
    tap = 0.4
    motor = replace(MOTOR, tap=tap, turns_ratio=0.6, R_aux=9.0, X_aux=5.0, capacitance=40e-6)
    at = motor.solve(230.0, 60.0, 0.1)
    forward, backward = (
        0.5 / (-1j / MOTOR.Xm + s / (MOTOR.R2 + 1j * s * MOTOR.X2)) for s in (0.1, 1.9)
    )
    own, turned = forward + backward, 1j * (forward - backward)
    a, xc = motor.turns_ratio, 1 / (2 * np.pi * 60.0 * motor.capacitance)
    # Loops: line through both parts; from the tap through the auxiliary. Unknown: the current in
    # the first part, and the auxiliary's. Magnetizing current of the main: first - tap * aux.
    # E_main = own m - turned a x; E_aux = a turned m + a^2 own x (m, x these two currents).
    z1, z_aux = 1j * MOTOR.X1, motor.R_aux + 1j * (motor.X_aux - xc)

    def equations(first, aux):
        m = first - tap * aux
        e_main, e_aux = own * m - turned * a * aux, a * turned * m + a**2 * own * aux
        whole = MOTOR.R1 * ((1 - tap) * first + tap * (first - aux)) + z1 * m + e_main
        part = MOTOR.R1 * tap * (first - aux) + tap * (z1 * m + e_main)
        return np.array([whole, z_aux * aux + e_aux - part])

    matrix = np.stack([equations(1, 0), equations(0, 1)], axis=1)
    first, aux = np.linalg.solve(matrix, np.array([230.0, 0.0]))
    assert at.current - MOTOR.core_conductance * 230.0 == pytest.approx(first, rel=1e-9)
    assert at.current_aux == pytest.approx(aux, rel=1e-9)
    assert at.voltage_capacitor == pytest.approx(-1j * xc * aux, rel=1e-9)
    assert at.power_in == pytest.approx(at.power_out + at.loss, rel=1e-9)


@given(st.floats(1e-6, 60e-6), st.floats(100, 600), st.sampled_from([50.0, 60.0]))
def test_it_finds_the_capacitance_behind_a_current(farads, voltage, frequency):
    reactance = abs(1 / (2j * np.pi * frequency * farads))
    assert circuit.capacitance(voltage / reactance, voltage, frequency) == pytest.approx(farads)


def test_arrays_broadcast_and_equal_scalars():
    found = circuit.capacitance([[1.0], [1.2]], [370.0, 440.0], 60.0)
    assert found.shape == (2, 2)
    assert found[1, 0] == circuit.capacitance(1.2, 370.0, 60.0)
    assert isinstance(circuit.capacitance(1.2, 370.0, 60.0), float)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.0, 370.0, 60.0), "current: 0 A is not accepted. Enter a value from 0.001 to 100 A"),
        ((1.05, 0.37, 60.0), "voltage: 0.37 V"),
        ((1.05, 370.0, 377.0), "frequency: 377 Hz"),
        ((1050.0, 370.0, 60.0), "current: 1,050 A"),
        (([1.0, np.nan], 370.0, 60.0), "current: nan A"),
    ],
)
def test_bad_input_of_a_capacitor_is_refused_in_one_sentence(arguments, words):
    with pytest.raises(InputError, match=words):
        circuit.capacitance(*arguments)


def test_life_halves_per_interval_and_falls_with_a_power_of_the_voltage():
    at_rating = circuit.life(370.0, 70.0, 370.0, "A")
    assert at_rating == 30000
    assert circuit.life(370.0, 80.0, 370.0, "A") == pytest.approx(at_rating / 2)
    assert circuit.life(407.0, 70.0, 370.0, "A", exponent=8.0) == pytest.approx(at_rating / 1.1**8)


@given(st.floats(250, 480), st.floats(20, 90), st.floats(1.01, 1.2), st.floats(0.5, 20))
def test_more_volts_or_heat_never_lengthen_life(voltage, temp, more, hotter):
    here = circuit.life(voltage, temp, 440.0)
    assert circuit.life(voltage * more, temp, 440.0) < here
    assert circuit.life(voltage, temp + hotter, 440.0) < here


def test_life_is_of_class_b_at_70_degrees_unless_told():
    told = circuit.life(400.0, 80.0, 370.0, "B", 70.0, 8.0, 10.0)
    assert circuit.life(400.0, 80.0, 370.0) == told


def test_life_refuses_an_unknown_class_and_kelvin():
    with pytest.raises(InputError) as refused:
        circuit.life(370.0, 70.0, 370.0, "S")
    assert refused.value.field == "life_class"
    assert str(refused.value) == "life_class: 'S' is not accepted. Enter A, B, C, D."
    with pytest.raises(InputError, match="temp_capacitor"):
        circuit.life(370.0, 343.0, 370.0)
