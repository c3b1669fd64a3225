"""The compiled operating point against the one in NumPy and SciPy, and against brentq."""

import platform
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from airover.core.errors import InputError
from airover.physics import compiled, operating_point
from airover.physics.circuit import CapacitorRun, Saturation, synchronous_speed
from airover.physics.operating_point import fan_coefficient

INTEL_MAC = sys.platform == "darwin" and platform.machine() != "arm64"
pytestmark = pytest.mark.skipif(
    INTEL_MAC, reason="there is no numba for Macs with an Intel processor"
)

KERNELS = None if INTEL_MAC else import_module("airover.physics.kernels")
MOTOR = CapacitorRun(6, 60.0, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6, 4e-4, 3.0145e-4)
SATURATED = replace(MOTOR, saturation=Saturation(0.25, 6.0, 185.0), skin=0.2)
THIRD_HP = float(fan_coefficient(745.7 / 3, 1075.0))


def spread(low, high):
    return st.floats(np.log(low), np.log(high)).map(np.exp)


@st.composite
def motors(draw, saturated):
    """Wide of the usual on every side; some do not start, some crawl."""
    main = draw(spread(5.0, 40.0))
    turns_ratio = draw(spread(0.6, 2.2))
    saturation = Saturation(draw(st.floats(0.05, 0.45)), draw(st.floats(3.0, 9.0)), 185.0)
    return CapacitorRun(
        poles=draw(st.sampled_from([2, 4, 6, 8])),
        frequency=draw(st.sampled_from([50.0, 60.0])),
        R1=main,
        X1=draw(spread(6.0, 40.0)),
        R2=draw(spread(4.0, 100.0)),
        X2=draw(spread(6.0, 40.0)),
        Xm=draw(spread(60.0, 300.0)),
        turns_ratio=turns_ratio,
        R_aux=turns_ratio**2 * main * draw(spread(0.6, 2.4)),
        X_aux=turns_ratio**2 * draw(spread(6.0, 40.0)),
        capacitance=draw(spread(0.2e-6, 15e-6)),
        core_conductance=draw(st.floats(0.0, 1e-3)),
        friction=draw(st.floats(0.0, 2e-3)),
        saturation=saturation if saturated else None,
        reversed=draw(st.booleans()),
        skin=draw(st.sampled_from([0.0, 0.1, 0.5])),
        tap=draw(st.sampled_from([1.0, 0.5])),
    )


def both(motor, voltage, frequency, coefficient):
    return tuple(
        module.settle(motor, voltage, frequency, coefficient)
        for module in (compiled, operating_point)
    )


def agree(ours, reference):
    np.testing.assert_array_equal(ours.starts, reference.starts)
    np.testing.assert_array_equal(ours.runs, reference.runs)
    np.testing.assert_allclose(ours.slip, reference.slip, rtol=0, atol=1e-9)
    for name, one, other in zip(
        ours.solution._fields, ours.solution, reference.solution, strict=True
    ):
        scale = np.max(np.abs(other)) + 1e-3
        np.testing.assert_allclose(one, other, rtol=0, atol=1e-6 * scale, err_msg=name)


@pytest.mark.parametrize("saturated", [False, True])
def test_it_is_where_the_reference_finds_it(saturated):
    @settings(max_examples=100, deadline=None)
    @given(
        motors(saturated),
        st.floats(150.0, 280.0),
        st.sampled_from([50.0, 60.0]),
        st.floats(0.2, 1.3),
    )
    def compare(motor, voltage, frequency, share):
        rated = fan_coefficient(250.0, 0.9 * 120 * frequency / motor.poles)
        agree(*both(motor, voltage, frequency, share * rated))

    compare()


def drawn(number, saturated, seed=1):
    """Motors around a usual one, and their loads, as arrays."""
    random = np.random.default_rng(seed)

    def around(centre, sigma=0.35):
        return centre * np.exp(random.normal(0.0, sigma, number))

    share, exponent = random.uniform(0.05, 0.45, number), random.uniform(3.0, 9.0, number)
    motor = CapacitorRun(
        random.choice([4.0, 6.0, 8.0], number), random.choice([50.0, 60.0], number), around(20),
        around(15.5), around(25, 0.5), around(15.5), around(140), around(1.3, 0.25), around(42),
        around(26), around(5e-6, 0.7), around(4e-4), around(3e-4),
        Saturation(share, exponent, around(185, 0.08)) if saturated else None,
        random.random(number) < 0.1, random.choice([0.0, 0.3], number),
        random.choice([0.9, 1.0], number),
    )  # fmt: skip
    frequency = random.choice([50.0, 60.0], number)
    rated = fan_coefficient(250.0, 0.9 * 120 * frequency / motor.poles)
    return (
        motor,
        random.uniform(150, 280, number),
        frequency,
        rated * random.uniform(0.2, 4, number),
    )


@pytest.mark.parametrize("saturated", [False, True])
def test_thousands_at_once_agree(saturated):
    ours, reference = both(*drawn(5000, saturated))
    agree(ours, reference)
    assert 0.02 < np.mean(~ours.starts) < 0.3  # there were some of every kind
    assert 0.02 < np.mean(ours.starts & ~ours.runs) < 0.5
    assert 0.3 < np.mean(ours.runs)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([MOTOR, SATURATED]), st.floats(190.0, 270.0), st.floats(0.3, 1.1))
def test_it_is_where_brentq_finds_it(motor, voltage, share):
    def surplus(slip):
        speed = (1 - slip) * synchronous_speed(60.0, motor.poles)
        return float(motor.solve(voltage, 60.0, slip).torque) - share * THIRD_HP * speed**2

    found = compiled.settle(motor, voltage, 60.0, share * THIRD_HP)
    assert found.slip == pytest.approx(brentq(surplus, 0.0, 0.35, xtol=1e-13), abs=1e-9)


def test_it_keeps_the_first_stable_of_three_crossings():
    weak = replace(MOTOR, R2=8, X1=40, X2=40, turns_ratio=2.2, R_aux=116, X_aux=194)
    weak = replace(weak, capacitance=1.5e-6)
    first, _, last = operating_point.crossings(weak, 230.0, 60.0, 0.4 * THIRD_HP)
    found = compiled.settle(weak, 230.0, 60.0, 0.4 * THIRD_HP)
    assert found.slip == pytest.approx(first.slip, abs=1e-9) and found.slip > last.slip + 0.4
    assert found.starts and not found.runs


def test_cases_broadcast_with_the_motors():
    motor = replace(SATURATED, R2=np.array([20.0, 25.0, 30.0]))
    ours, reference = both(motor, np.array([[208.0], [230.0]]), 60.0, THIRD_HP)
    assert ours.slip.shape == (2, 3)
    assert {np.shape(x) for x in ours.solution} == {(2, 3)}
    agree(ours, reference)


@pytest.mark.parametrize("value", ["core_conductance", "reversed", "poles"])
def test_any_value_of_the_motor_may_be_the_array(value):
    several = {"core_conductance": [1e-4, 4e-4], "reversed": [0, 1], "poles": [6, 8]}[value]
    ours, reference = both(replace(SATURATED, **{value: np.array(several)}), 230.0, 60.0, 1e-5)
    assert ours.slip.shape == (2,)
    agree(ours, reference)


def test_one_case_gives_single_numbers():
    ours, reference = both(MOTOR, 230.0, 60.0, THIRD_HP)
    assert np.shape(ours.slip) == np.shape(ours.solution.current) == ()
    agree(ours, reference)


def test_no_cases_give_none():
    assert compiled.settle(MOTOR, np.array([]), 60.0, THIRD_HP).slip.shape == (0,)


@pytest.mark.parametrize(
    ("voltage", "frequency", "coefficient"),
    [(23000.0, 60.0, 1e-4), (230.0, 6.0, 1e-4), (230.0, 60.0, 100.0), ("230 V", 60.0, 1e-4)],
)
def test_bad_input_is_told_in_the_same_words(voltage, frequency, coefficient):
    said = []
    for module in (compiled, operating_point):
        with pytest.raises(InputError) as caught:
            module.settle(MOTOR, voltage, frequency, coefficient)
        said.append(str(caught.value))
    assert said[0] == said[1]


def test_iron_without_a_balance_is_an_error():
    """No such iron exists: it carries its magnetising current at a millionth of a microvolt."""
    with pytest.raises(ArithmeticError, match="no balance"):
        compiled.settle(replace(MOTOR, saturation=Saturation(0.3, 6.0, 1e-12)), 230.0, 60.0, 1e-4)
    impossible = np.array([1e-12, 185.0])  # the other motor has a balance
    motors = replace(MOTOR, saturation=Saturation(0.3, 6.0, impossible))
    with pytest.raises(ArithmeticError, match="no balance"):
        compiled.settle(motors, 230.0, 60.0, 1e-4)
    with pytest.raises(ArithmeticError, match="no balance"):
        compiled.shaft_torques(replace(motors), 230.0, 60.0, np.array([0.1, 0.5]))


@pytest.mark.parametrize("package", ["numba", "llvmlite"])
def test_without_a_package_the_module_loads_and_says_what_is_missing(package):
    program = (
        f"import sys; sys.modules['{package}'] = None\n"
        "from airover.physics import compiled, operating_point\n"
        "from airover.physics.circuit import CapacitorRun\n"
        "case = CapacitorRun(6, 60, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6), 230, 60, 1e-4\n"
        "assert compiled.quickest is operating_point.settle\n"
        "print(operating_point.settle(*case).slip)\n"
        "compiled.settle(*case)\n"
    )
    command = [sys.executable, "-c", program]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 1 and 0 < float(done.stdout) < 0.2
    assert "need numba: install airover[fast]" in done.stderr.splitlines()[-1]


def test_threads_share_the_machine_code():
    loads = THIRD_HP * np.linspace(0.2, 1.2, 2000)
    alone = compiled.settle(SATURATED, 230.0, 60.0, loads).slip
    with ThreadPoolExecutor(4) as pool:
        runs = pool.map(lambda _: compiled.settle(SATURATED, 230.0, 60.0, loads).slip, range(20))
        assert all(np.array_equal(slip, alone) for slip in runs)


def case_of(motor, frequency=60.0, voltage=230.0, coefficient=THIRD_HP):
    """A motor's numbers as the kernel's functions take them."""
    values = (float(getattr(motor, name)) for name in compiled.VALUES)
    iron = motor.saturation or (0.0, 1.0, 1.0)
    return KERNELS._case(
        voltage, frequency, coefficient, *values, bool(motor.reversed), *map(float, iron)
    )


def by_small_steps(function, at, step=1e-6):
    """Slopes of all of a function's results, by differences."""
    ahead, behind = (np.array(function(at + side)) for side in (step, -step))
    return (ahead - behind) / (2 * step)


@pytest.mark.parametrize("slip", [0.02, 0.15, 0.6, 1.0])
@pytest.mark.parametrize("level", [-0.4, 0.0, 0.15])
def test_slopes_are_those_of_small_steps(slip, level):
    """A wrong slope would cost Newton's rule steps and no accuracy: no result would show it."""
    motor = case_of(SATURATED)
    iron = KERNELS._iron(motor, slip, level)
    along = by_small_steps(lambda at: KERNELS._iron(motor, at, level), slip)
    up = by_small_steps(lambda at: KERNELS._iron(motor, slip, at), level)
    assert iron.by_slip == pytest.approx(along[0], rel=1e-5)
    assert iron.mismatch_by_slip == pytest.approx(along[3], rel=1e-5)
    assert iron.by_level == pytest.approx(up[0], rel=1e-5)
    assert iron.mismatch_by_level == pytest.approx(up[3], rel=1e-5)


@pytest.mark.parametrize("motor", [MOTOR, SATURATED])
@pytest.mark.parametrize("slip", [0.02, 0.15, 0.6])
def test_slopes_of_a_balance_are_those_of_small_steps(motor, slip):
    case = case_of(motor)
    straight = KERNELS._lines(case, case.y)

    def balance(at):
        return KERNELS._balance(case, straight, at, 0.0, KERNELS.NONE)

    here, along = balance(slip), by_small_steps(balance, slip)
    assert here.surplus_by_slip == pytest.approx(along[0], rel=1e-4)
    assert here.shaft_by_slip == pytest.approx(along[2], rel=1e-4)
    assert here.level_by_slip == pytest.approx(along[4], rel=1e-4, abs=1e-12)


@pytest.mark.parametrize("ratio", [1e-6, 0.5, 0.81, 0.95, 1.0, 1.1, 1.24, 2.0, 50.0])
def test_half_a_logarithm(ratio):
    """The series ends at q^7, so the next term, 0.11^9 / 9, is what it may be off."""
    assert KERNELS._half_logarithm(ratio) == pytest.approx(np.log(ratio) / 2, abs=4e-10)


@pytest.mark.parametrize("frequency", [50.0, 60.0])
def test_a_motor_on_the_other_frequency(frequency):
    for motor in (MOTOR, replace(SATURATED, frequency=50.0)):
        agree(*both(motor, 230.0, frequency, THIRD_HP))
