"""A sleeve bearing at work: heat balance, regime, starts and stops, bad input."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import oil
from airover.physics import sleeve_running as sr
from airover.physics.sleeve_bearing import film_under_load

# 12.7 x 19.05 mm, 0.025 mm clearance in diameter, VG 32
SLEEVE = sr.Sleeve(0.0127, 0.01905, 12.7e-6, 0.25e-6, 0.5e-6, 32e-6, 5.4e-6)
loads = st.floats(0.0, 150.0)
speeds = st.floats(200.0, 1800.0)
housings = st.floats(-20.0, 100.0)


def run(load=10.0, speed_rpm=1075.0, temp_housing=60.0, conductance=1.0, **given):
    return sr.running(SLEEVE, load, speed_rpm, temp_housing, conductance, **given)


@settings(max_examples=50, deadline=None)
@given(loads, speeds, housings, st.floats(0.2, 5.0), st.sampled_from([0.0, sr.STARVED]))
def test_the_heat_made_is_the_heat_that_leaves(load, speed_rpm, housing, conductance, start):
    found = run(load, speed_rpm, housing, conductance, start=start)
    assert conductance * (found.temp_oil - housing) == pytest.approx(found.loss, rel=1e-3, abs=1e-5)
    assert found.loss == pytest.approx(found.torque * speed_rpm * np.pi / 30)
    assert found.viscosity == pytest.approx(oil.dynamic_viscosity(found.temp_oil, 32e-6, 5.4e-6))


@settings(max_examples=50, deadline=None)
@given(st.floats(5.0, 100.0), speeds, housings)
def test_a_starved_film_is_the_thinner_and_warmer_one(load, speed_rpm, housing):
    flooded, starved = sr.bounds(SLEEVE, load, speed_rpm, housing, 1.0)
    assert starved.film_thickness < flooded.film_thickness
    assert starved.temp_oil > flooded.temp_oil - 1e-3
    assert starved.pressure_highest > flooded.pressure_highest
    assert starved.oil_flow < flooded.oil_flow


@settings(max_examples=50, deadline=None)
@given(st.floats(5.0, 100.0), speeds, housings)
def test_more_load_or_heat_thins_the_film(load, speed_rpm, housing):
    some = run(load, speed_rpm, housing)
    for worse in (run(load * 1.5, speed_rpm, housing), run(load, speed_rpm, housing + 10)):
        assert worse.film_thickness < some.film_thickness or worse.eccentricity_ratio < 0.0101


def test_the_parts_agree_with_each_other():
    found = run(30.0)
    assert found.film_thickness == pytest.approx(12.7e-6 * (1 - found.eccentricity_ratio))
    assert found.lambda_ratio == pytest.approx(found.film_thickness / SLEEVE.roughness)
    assert found.pressure_mean == pytest.approx(30 / (0.0127 * 0.01905))
    numbers = film_under_load(found.sommerfeld, 1.5)
    assert found.torque == pytest.approx(numbers.friction * 12.7e-6 * 30)
    assert found.oil_side_flow / found.oil_flow == pytest.approx(numbers.side_flow_ratio)


def test_without_load_friction_is_that_of_a_centred_shaft():
    found = run(0.0)
    turning, radius = 1075 * np.pi / 30, 0.0127 / 2
    petroff = 2 * np.pi * found.viscosity * turning * radius**3 * 0.01905 / 12.7e-6
    assert found.torque == pytest.approx(petroff, rel=1e-3)
    assert found.lambda_ratio == pytest.approx(0.99 * 12.7e-6 / SLEEVE.roughness)
    assert found.pressure_mean == 0


def test_a_crushing_load_is_boundary_lubricated():
    found = run(20000.0, 100.0, conductance=100.0)
    assert str(found.regime) == "boundary"
    assert found.torque == pytest.approx(0.1 * 20000 * 0.0127 / 2)
    slippery = run(20000.0, 100.0, conductance=100.0, friction_boundary=0.05)
    assert slippery.torque == pytest.approx(found.torque / 2)


def test_friction_goes_over_without_a_step_from_film_to_boundary():
    load = np.geomspace(50, 5000, 400)
    found = run(load, 100.0, conductance=100.0)
    assert set(found.regime) == {"full film", "mixed", "boundary"}
    assert np.all(np.diff(found.lambda_ratio) <= 0)
    steps = np.diff(found.torque / (0.1 * load * 0.0127 / 2))  # shares of dry friction
    assert np.all(np.abs(steps) < 0.03)


def test_fed_oil_cools():
    assert run(fed_share=1.0).temp_oil < run(fed_share=0.3).temp_oil < run().temp_oil


def test_regime_at_its_limits():
    assert sr.regime([0.5, 1.0, 2.9, 3.0]).tolist() == ["boundary", "mixed", "mixed", "full film"]


@settings(max_examples=50, deadline=None)
@given(st.floats(2.0, 100.0), st.sampled_from([1.0, 3.0, 10.0]), st.sampled_from([0, sr.STARVED]))
def test_at_that_speed_the_film_has_that_lambda(load, ratio, start):
    speed = sr.speed_at_lambda(SLEEVE, load, ratio, 40.0, start)
    turns = speed / 60
    stiff = (6.35e-3 / 12.7e-6) ** 2 * 0.0127 * 0.01905
    sommerfeld = oil.dynamic_viscosity(40.0, 32e-6, 5.4e-6) * turns * stiff / load
    film = film_under_load(sommerfeld, 1.5, start)
    wanted = min(1 - 0.02, 1 - ratio * SLEEVE.roughness / 12.7e-6)
    assert film.eccentricity_ratio == pytest.approx(wanted, rel=1e-6)


def test_a_film_forms_sooner_with_cold_oil_and_with_enough_of_it():
    cold, warm = (sr.speed_at_lambda(SLEEVE, 20.0, 3.0, temp) for temp in (10.0, 80.0))
    assert cold < warm < sr.speed_at_lambda(SLEEVE, 20.0, 3.0, 80.0, sr.STARVED)
    assert sr.speed_at_lambda(SLEEVE, 20.0, 1.0, 80.0) < warm < 1075


def test_revolutions_of_a_start_add_up():
    assert sr.revolutions_below(1e5, 1200.0, 4.0) == pytest.approx(1200 / 60 * 4 / 2)
    assert sr.revolutions_below(0.0, 1200.0, 4.0) == 0
    some = sr.revolutions_below([100.0, 200.0], 1200.0, 4.0)
    assert some[1] == pytest.approx(4 * some[0])


def test_arrays_broadcast_and_equal_scalars():
    wide = replace(SLEEVE, clearance=np.array([12.7e-6, 20e-6, 25e-6]))
    found = sr.running(wide, [[5.0], [50.0]], 1075.0, 60.0, 1.0)
    assert all(part.shape == (2, 3) for part in found)
    one = run(50.0)
    for ours, alone in zip(found, one, strict=True):
        assert ours[1, 0] == pytest.approx(alone, rel=1e-6)
        assert np.ndim(alone) == 0
    assert sr.speed_at_lambda(wide, [[5.0], [50.0]], 3.0, 60.0).shape == (2, 3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: replace(SLEEVE, clearance=12.7), "clearance: 12.7 m"),
        (lambda: replace(SLEEVE, clearance=1.5e-6), "clearance: 2.68 times the roughness"),
        (lambda: replace(SLEEVE, viscosity_40=32.0), "viscosity_40: 32 m2/s"),
        (lambda: replace(SLEEVE, diameter=12.7), "diameter: 12.7 m"),
        (lambda: sr.running(replace(SLEEVE, length=0.05), 1, 1075, 60, 1), "length_to_diameter"),
        (lambda: run(-1.0), "load: -1 N"),
        (lambda: run(10.0, 0.0), "speed_rpm: 0 rpm"),
        (lambda: run(temp_housing=333.0), "temp_housing: 333 degC"),
        (lambda: run(conductance=0.0), "conductance: 0 W/K"),
        (lambda: run(fed_share=2.0), "fed_share: 2"),
        (lambda: run(friction_boundary=-0.1), "friction_boundary: -0.1"),
        (lambda: run(start=5.0), "start: 5 rad"),
        (lambda: sr.regime(np.nan), "lambda_ratio: nan"),
        (lambda: sr.speed_at_lambda(SLEEVE, 10, 50.0, 40), "lambda_ratio: 50 .* up to 22.5 here"),
        (lambda: sr.speed_at_lambda(SLEEVE, 10, 3.0, 400), "temp_oil: 400 degC"),
        (lambda: sr.revolutions_below(-1.0, 1000, 4), "limit_rpm: -1 rpm"),
        (lambda: sr.revolutions_below(100.0, 1000, -4), "ramp_time: -4 s"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_a_bearing_that_burns_is_no_number():
    with pytest.raises(ArithmeticError, match="hotter than 150 degC"):
        run(2000.0, 1075.0, 130.0, 0.05)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: replace(SLEEVE, clearance=[12.7e-6, 3.0 * SLEEVE.roughness]),
            "clearance: 3 times the roughness was given; accepted is more than 3.03.",
        ),
        (
            lambda: sr.speed_at_lambda(SLEEVE, 10.0, [1.0, 22.6], 40.0),
            "lambda_ratio: 22.6 was given; accepted is up to 22.5 here.",
        ),
    ],
)
def test_the_whole_sentence(call, sentence):
    with pytest.raises(InputError) as refused:
        call()
    assert str(refused.value) == sentence


def test_just_inside_of_what_is_refused():
    assert replace(SLEEVE, clearance=3.04 * SLEEVE.roughness).clearance > 0
    assert sr.speed_at_lambda(SLEEVE, 10.0, 22.4, 40.0) > 0
    # at 150 degC hardly any heat is made, and hardly any leaves
    assert 140 < run(0.0, 20.0, 140.0, 0.01).temp_oil < 150


def test_the_thinnest_film_is_a_fiftieth_of_the_clearance():
    thin = 0.02 * 12.7e-6 / SLEEVE.roughness
    thinner = sr.speed_at_lambda(SLEEVE, 10.0, [thin, thin / 3], 40.0)
    assert thinner[0] == pytest.approx(thinner[1], rel=1e-9)


def test_bounds_are_two_runs():
    given = SLEEVE, 3000.0, 100.0, 60.0, 50.0, 0.5
    found = sr.bounds(*given, 0.05)
    for one, start in zip(found, (0.0, sr.STARVED)):
        assert one == sr.running(*given, start, 0.05)
    assert sr.bounds(*given[:-1]).flooded == sr.running(*given[:-1])
    assert str(found.starved.regime) == "boundary"  # so that the friction without a film counts


def test_a_bearing_that_burns_says_so():
    with pytest.raises(ArithmeticError) as burnt:
        sr.running(SLEEVE, [1.0, 2000.0], 1075.0, 130.0, 0.05)
    assert str(burnt.value) == "a sleeve bearing's oil would get hotter than 150 degC"
