"""Conditions at the blade and motors at work there: balances, monotony, plausibility."""

from operator import attrgetter
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.intervals import Band
from airover.model import simulation
from airover.model.conditions import site_conditions
from airover.model.simulation import (
    HIGH,
    LOW,
    SAMPLES,
    USUAL,
    breakdown_torque,
    catalog_ratings,
    simulate,
)
from airover.physics import operating_point
from airover.records.catalog import read_catalog
from tests.jobs import HORSEPOWER, MOTOR, job, motor

SMALL = motor(model="test-6", ratings=(HORSEPOWER / 6,), currents=(1.1,), capacitor=5e-6)


@pytest.fixture(scope="module")
def worked():
    return simulate(job(), (MOTOR, SMALL))


def middle(values):
    return float(np.median(values))


def test_the_fan_load_is_70_to_115_percent_of_the_nameplate_in_standard_air():
    asked = site_conditions(job(), 200)
    ratio = asked.density / 1.2014
    np.testing.assert_allclose(
        asked.shaft_power, asked.coefficient * (asked.speed_rpm * np.pi / 30) ** 3, rtol=1e-12
    )
    share = np.quantile(asked.shaft_power / ratio / (HORSEPOWER / 3), (0.05, 0.95))
    np.testing.assert_allclose(share, (0.70, 1.15), rtol=0.02)


def test_the_motor_stands_in_the_coils_leaving_air():
    """45000 Btu/h into 2400 cfm of standard air is 17.4 degF (ASHRAE's 1.08); in thin air more."""
    rise = middle(site_conditions(job(), 60).temp_air) - (105 - 32) / 1.8
    assert 17.4 / 1.8 < rise < 1.12 * 17.4 / 1.8


def test_a_rise_given_is_taken_as_given():
    asked = site_conditions(job(site__heat=None, site__coil_temperature_rise="20 degF"), 60)
    assert middle(asked.temp_air) == pytest.approx((125 - 32) / 1.8, abs=0.01)


def test_a_curve_of_the_blade_gives_its_power_and_pressure():
    curve = {
        "flow": ["1600 cfm", "2000 cfm", "2400 cfm", "2800 cfm"],
        "pressure": ["0.34 in. w.g.", "0.26 in. w.g.", "0.15 in. w.g.", "0.02 in. w.g."],
        "power": ["240 W", "228 W", "210 W", "180 W"],
        "speed": "1075 rpm",
        "density": "0.075 lb/ft3",
    }
    asked = site_conditions(job(blade__curve=curve, nameplate__speed="1075 rpm"), 60)
    ratio = asked.density / 1.2014
    assert middle(asked.shaft_power / ratio) == pytest.approx(210, rel=0.03)
    assert middle(asked.pressure / ratio) == pytest.approx(0.15 * 249.089, rel=0.05)


def test_every_input_says_where_it_came_from():
    inputs = site_conditions(job(site__voltage=None, blade__diameter=None), 40).inputs
    origins = {one.name: one.origin for one in inputs}
    assert origins["airflow"] == "measured"
    assert origins["rated power"] == "nameplate"
    assert origins["line voltage"] == origins["fan diameter"] == "assumed"
    assert all(one.why for one in inputs if one.origin == "assumed")


@pytest.mark.parametrize(
    "changes, named",
    [
        ({"nameplate__voltage": None, "site__voltage": None}, "voltage"),
        ({"nameplate__power": None, "nameplate__current": None}, "power"),
        ({"site__airflow": "9000 cfm"}, "airflow: 9,000 cfm .* 22 in .* 7,790 cfm"),
    ],
)
def test_too_little_to_work_with_is_said(changes, named):
    with pytest.raises(InputError, match=named):
        site_conditions(job(**changes), 40)


def test_a_speed_that_nobody_can_read_is_assumed_and_said():
    asked = site_conditions(job(nameplate__speed=None), 40)
    assert {one.origin for one in asked.inputs if one.name == "number of poles"} == {"assumed"}


def test_motor_and_fan_agree(worked):
    at, asked = worked.solution, worked.conditions
    speed = at.speed_rpm * np.pi / 30
    np.testing.assert_allclose(at.torque, asked.coefficient * speed**2, rtol=2e-4)
    np.testing.assert_allclose(at.power_in, at.power_out + at.loss, rtol=1e-9)


def test_the_right_motor_runs_as_rated_and_the_weak_one_slow(worked):
    speed = [middle(worked.solution.speed_rpm[USUAL, number]) for number in (0, 1)]
    assert speed[0] == pytest.approx(1085, abs=20)
    assert speed[1] < 1020


def test_a_good_motor_keeps_within_its_class_and_a_weak_one_is_hotter(worked):
    """A 1/3 hp shell stands some 50 to 75 K over its air (heat balance of check values)."""
    rise = worked.temp_winding[USUAL, :] - worked.conditions.temp_air
    assert 40 < middle(rise[0]) < 75
    assert middle(rise[1]) > middle(rise[0])


@settings(max_examples=12, deadline=None)
@given(st.integers(60, 110), st.integers(1, 20))
def test_hotter_air_never_lowers_the_winding_temperature(outdoor, more):
    cool, hot = (
        simulate(
            job(site__outdoor_temperature=f"{temp} degF"), (MOTOR, SMALL), samples=10
        ).temp_winding
        for temp in (outdoor, outdoor + more)
    )
    assert np.all(hot > cool)


@settings(max_examples=12, deadline=None)
@given(st.integers(195, 225), st.integers(1, 5))
def test_more_voltage_never_lowers_the_speed_up_to_the_rated_one(volts, more):
    """Above it a strongly saturated winding may warm so much that a few thousandths are lost."""
    slow, fast = (
        simulate(job(site__voltage=f"{v} V"), (MOTOR, SMALL), samples=10).solution.speed_rpm
        for v in (volts, volts + more)
    )
    assert np.all(fast[:HIGH] > slow[:HIGH])


def test_figures_by_their_definitions(worked):
    """Losses, the current's angle and the fan laws give what the figures say by another road."""
    at, asked = worked.solution, worked.conditions
    turns = at.speed_rpm / asked.speed_rpm
    expected = {
        "speed_rpm": at.speed_rpm,
        "current_a": np.hypot(at.current.real, at.current.imag),
        "power_in_w": at.power_out + at.loss,
        "power_shaft_w": at.torque * at.speed_rpm * np.pi / 30,
        "efficiency": 1 - at.loss / at.power_in,
        "power_factor": np.cos(np.angle(at.current)),
        "flow_m3s": asked.flow * turns,
        "pressure_pa": asked.pressure * turns * turns,
        "speed_ratio": turns,
        "capacitor_v": np.hypot(at.voltage_capacitor.real, at.voltage_capacitor.imag),
        "temp_c": worked.temp_winding,
        "rise_k": worked.temp_winding - worked.conditions.temp_air,
    }
    assert worked.figures.keys() == worked.bands.keys() == expected.keys()
    for name, values in expected.items():
        np.testing.assert_allclose(worked.figures[name], values, rtol=1e-6, err_msg=name)
        np.testing.assert_allclose(worked.bands[name], Band.of(values), rtol=1e-6, err_msg=name)


def test_what_was_worked_is_kept_with_the_job(worked):
    assert worked.job == job() and worked.motors == (MOTOR, SMALL)
    assert worked.rated.power.shape == worked.shell.share_main.shape == (2, SAMPLES)
    assert worked.samples == SAMPLES and worked.starts.all()
    np.testing.assert_allclose(worked.slip, 1 - worked.solution.speed_rpm / 1200, rtol=1e-6)
    np.testing.assert_array_equal(worked.temp_shell, worked.nodes.shell)


@pytest.mark.parametrize("number", [0, 1])
def test_the_warm_circuit_gives_the_torque_that_was_worked_and_the_reserve(worked, number):
    asked = worked.conditions
    for at in (LOW, HIGH):
        circuit = worked.warm_circuit(at, number)
        torque = circuit.balance(asked.voltage[at], 60.0, worked.slip[at, number]).torque
        np.testing.assert_allclose(torque, worked.solution.torque[at, number], rtol=1e-3)
    slips, lowest = np.linspace(0.05, 0.6, 56)[:, None], 0.9 * 208  # V, NEMA MG 1, 12.44
    highest = worked.warm_circuit(LOW, number).balance(lowest, 60.0, slips).torque
    load = asked.coefficient * (asked.speed_rpm * np.pi / 30) ** 2
    np.testing.assert_allclose(worked.reserve[number], highest.max(axis=0) / load, rtol=0.02)


def kloss(pull_out):
    """A motor of unit breakdown torque at the slip ``pull_out``, by Kloss's formula."""

    def balance(voltage, frequency, slip, emf):
        return SimpleNamespace(torque=2 / (slip / pull_out + pull_out / slip), emf=emf)

    return SimpleNamespace(balance=balance)


def test_breakdown_torque_is_found_wherever_it_lies():
    """Six slips miss Kloss's curve by 2 per cent at most."""
    arrays = 230.0, 60.0, operating_point.settle
    at_the_six = breakdown_torque(kloss(np.array([0.1, 0.15, 0.2, 0.27, 0.36, 0.5])), *arrays)
    np.testing.assert_allclose(at_the_six, 1.0, rtol=1e-12)
    anywhere = breakdown_torque(kloss(np.linspace(0.085, 0.59, 200)), *arrays)
    assert np.all((anywhere > 0.979) & (anywhere <= 1.0))


def test_a_plate_is_that_of_the_highest_rating_and_what_is_unknown_is_nan():
    two = motor(ratings=(HORSEPOWER / 4, HORSEPOWER / 3), currents=(1.6, 1.9), capacitor=None,
                capacitor_voltage=None)  # fmt: skip
    found = catalog_ratings((MOTOR, two))
    nan = np.nan
    expected = {
        "voltage": (230.0, 230.0),
        "frequency": (60.0, 60.0),
        "poles": (6, 6),
        "power": (HORSEPOWER / 3, HORSEPOWER / 3),
        "current": (1.9, 1.9),
        "speed_rpm": (1075.0, 1075.0),
        "capacitance": (7.5e-6, nan),
        "capacitor_voltage": (370.0, nan),
    }
    assert vars(found).keys() == expected.keys()
    for name, values in expected.items():
        np.testing.assert_array_equal(getattr(found, name), values, err_msg=name)


def test_the_seed_reaches_all_that_is_drawn(worked):
    few = simulate(job(), (MOTOR,), samples=10)
    other = simulate(job(), (MOTOR,), samples=10, seed=1)
    assert few.samples == other.samples == 10
    for drawn in ("rated.circuit.X1", "shell.film_place", "conditions.temp_air"):
        one, two = (attrgetter(drawn)(which) for which in (few, other))
        assert one.shape == two.shape and not np.array_equal(one, two), drawn


def test_the_sun_on_an_upright_motor_is_a_kelvin_or_two(worked):
    """A lying one is in the shade of its own unit (common practice, no source)."""
    lying = simulate(job(nameplate__shaft_position="horizontal"), (MOTOR, SMALL))
    more = worked.temp_winding[USUAL, 0] - lying.temp_winding[USUAL, 0]
    assert 1 < middle(more) < 2 and more.min() > 0


def test_low_usual_and_high_voltage_are_in_this_order(worked):
    speed = worked.solution.speed_rpm
    assert np.all(speed[LOW] < speed[USUAL])
    # a lightly loaded motor gains no speed on high voltage: it saturates and warms
    assert np.mean(speed[USUAL] < speed[HIGH]) > 0.95


def test_a_motor_that_cannot_start_stays_at_standstill_and_is_hot():
    weak = motor(ratings=(HORSEPOWER / 8,), currents=(0.75,), capacitor=1e-6)
    worked = simulate(job(nameplate__power="3/4 hp", nameplate__current="4.2 A"), (weak,))
    speed, temp = worked.solution.speed_rpm[LOW, 0], worked.temp_winding[LOW, 0]
    assert middle(speed) < 700
    assert middle(temp) > 150


def test_the_whole_catalog_works_on_a_site_far_from_usual():
    motors = read_catalog(data_folder() / "catalogue.csv")
    far = job(site__voltage="175-262 V", site__elevation="9000 ft", site__airflow="900 cfm")
    worked = simulate(far, motors)
    for name, values in worked.figures.items():
        assert np.all(np.isfinite(values)), name


def test_the_same_seed_gives_the_same_answer(worked):
    again = simulate(job(), (MOTOR, SMALL))
    np.testing.assert_array_equal(again.temp_winding, worked.temp_winding)


def test_motors_from_the_cache_folder_are_the_same(tmp_path, monkeypatch):
    """A second run loads the motors, and a new motor among them changes nothing."""
    motors = read_catalog(data_folder() / "catalogue.csv")[:40:4]
    simulation._known.cache_clear()
    monkeypatch.setenv("AIROVER_CACHE", "")  # every motor is calculated
    before = simulate(job(), motors).figures
    monkeypatch.setenv("AIROVER_CACHE", str(tmp_path))
    for some in (motors[:7], motors, motors):
        simulation._known.cache_clear()
        found = simulate(job(), some).figures
    assert len(list(tmp_path.glob("*.arrays"))) >= len(motors)
    for name, values in before.items():
        np.testing.assert_array_equal(found[name], values, name)
    simulation._known.cache_clear()
