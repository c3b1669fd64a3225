"""A running sleeve bearing: heat balance, regime, starts and stops, washer, wear, oil life."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import oil, sleeve_running
from airover.physics import sleeve_running as sr
from airover.physics.sleeve_bearing import film_under_load
from tests.refusals import assert_refused

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
        (
            lambda: sr.speed_at_lambda(SLEEVE, 10, 50.0, 40),
            "lambda_ratio: 50 .* up to 22.5 for this bearing",
        ),
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
    ("call", "field", "said"),
    [
        (
            lambda: replace(SLEEVE, clearance=[12.7e-6, 3.0 * SLEEVE.roughness]),
            "clearance",
            (3, 3.03, "times the roughness"),
        ),
        (
            lambda: sr.speed_at_lambda(SLEEVE, 10.0, [1.0, 22.6], 40.0),
            "lambda_ratio",
            (22.6, 22.5),
        ),
    ],
)
def test_a_limit_that_depends_on_the_bearing_is_said(call, field, said):
    with pytest.raises(InputError) as refused:
        call()
    assert_refused(refused.value, field, *said)


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


WASHER = (0.014, 0.024)


@given(st.floats(1e-18, 1e-14), st.floats(1e3, 1e7), st.floats(1e-6, 2.0), st.floats(1e-6, 1e-4))
def test_after_its_life_the_allowance_is_worn_away(wear, pressure, speed, allowance):
    life = sleeve_running.wear_life(allowance, wear, pressure, speed)
    depth = sleeve_running.wear_depth(wear, pressure, min(speed * life * 3600, 1e12))
    assert depth == pytest.approx(allowance) or speed * life * 3600 > 1e12


@given(st.floats(100, 1e5), st.floats(1e4, 1e6), st.floats(1e-4, 1.0))
def test_what_was_seen_here_is_what_is_told_for_here(life, pressure, speed):
    wear = sleeve_running.wear_coefficient_seen(life, 25e-6, pressure, speed)
    assert sleeve_running.wear_life(25e-6, wear, pressure, speed) == pytest.approx(life)
    assert sleeve_running.wear_life(25e-6, wear, 2 * pressure, speed) == pytest.approx(life / 2)
    assert sleeve_running.oil_life(60.0, life, 60.0) == pytest.approx(life)


def test_what_never_rubs_does_not_wear():
    lives = sleeve_running.wear_life(25e-6, 1e-16, [0.0, 1e5], [0.5, 0.0])
    assert np.all(np.isinf(lives))


def test_a_journal_rubs_at_starts_and_without_a_film_always():
    film, bare = sleeve_running.rubbing(0.0127, 1075.0, [3.0, 2.9], 8.0, 4.0)
    assert film == pytest.approx(np.pi * 0.0127 * 8 * 4 / 3600)
    assert bare == pytest.approx(np.pi * 0.0127 * 1075 / 60)
    assert sleeve_running.rubbing(0.0127, 1075.0, 5.0, 8.0, 0.0) == 0


def test_oil_halves_with_each_interval():
    lives = sleeve_running.oil_life([60.0, 70.0, 80.0, 50.0], 20000.0, 60.0)
    assert lives == pytest.approx([20000, 10000, 5000, 40000])
    assert sleeve_running.oil_life(75.0, 20000.0, 60.0, 15.0) == pytest.approx(10000)


def test_a_range_of_draws_gives_a_range_of_lives():
    wear = np.geomspace(*sleeve_running.WEAR_COEFFICIENT, 5)
    lives = sleeve_running.wear_life(25e-6, wear, 1e5, 0.02)
    assert lives.shape == (5,) and lives[0] == pytest.approx(100 * lives[-1])


@given(st.floats(0.1, 200), st.floats(200, 1800), st.floats(0.05, 0.15))
def test_a_washers_parts_agree(load, speed_rpm, friction):
    found = sleeve_running.washer(load, speed_rpm, *WASHER, friction)
    area = np.pi / 4 * (WASHER[1] ** 2 - WASHER[0] ** 2)
    assert found.pressure_mean * area == pytest.approx(load)
    assert found.pv == pytest.approx(found.pressure_mean * found.sliding_speed)
    assert found.loss == pytest.approx(friction * load * found.sliding_speed)
    assert found.loss == pytest.approx(found.torque * speed_rpm * np.pi / 30)


def test_a_thin_ring_needs_no_model_of_its_pressure():
    # where the ring is thin, even pressure and even wear give the same torque
    bore, outside = 0.0199, 0.02
    found = sleeve_running.washer(20.0, 1075.0, bore, outside, 0.1)
    even_pressure = 0.1 * 20 / 3 * (outside**3 - bore**3) / (outside**2 - bore**2)
    assert found.torque == pytest.approx(even_pressure, rel=1e-4)


def test_washers_broadcast():
    found = sleeve_running.washer([[10.0], [20.0]], [825.0, 1075.0], *WASHER, [0.05, 0.15])
    assert all(part.shape == (2, 2) for part in found)


def test_a_porous_sleeve_bears_five_times_the_pv_of_its_washer():
    assert sleeve_running.PV_SLEEVE == pytest.approx(5 * sleeve_running.PV_WASHER)
    pv = sleeve_running.sleeve_pv([10.0, 20.0], 1075.0, 0.0127, 0.01905)
    speed = np.pi * 0.0127 * 1075 / 60
    assert pv == pytest.approx(np.array([10, 20]) / (0.0127 * 0.01905) * speed)


def test_oil_gets_lighter_and_thinner_as_it_warms():
    temp = np.array([-20.0, 15.0, 60.0, 120.0])
    assert oil.oil_density(15.0) == 870
    assert np.all(np.diff(oil.oil_density(temp)) < 0)
    dynamic = oil.dynamic_viscosity(temp, 32e-6, 5.4e-6)
    kinematic = oil.oil_viscosity(temp, 32e-6, 5.4e-6)
    assert dynamic == pytest.approx(kinematic * oil.oil_density(temp))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: sleeve_running.wear_depth(1e-5, 1e5, 1.0),
            "wear_coefficient: 0.00001 m2/N .* 1e-20 to 1e-10",
        ),
        (lambda: sleeve_running.wear_depth(1e-16, -1.0, 1.0), "pressure_mean: -1 Pa"),
        (lambda: sleeve_running.wear_depth(1e-16, 1e5, -1.0), "distance: -1 m"),
        (lambda: sleeve_running.wear_life(25.0, 1e-16, 1e5, 0.5), "allowance: 25 m"),
        (lambda: sleeve_running.wear_life(25e-6, 1e-16, 1e5, 500.0), "rubbing_speed: 500 m/s"),
        (
            lambda: sleeve_running.wear_coefficient_seen(1e4, 25e-6, 1e5, 0.0),
            "rubbing_speed: 0 m/s",
        ),
        (lambda: sleeve_running.wear_coefficient_seen(0.0, 25e-6, 1e5, 0.5), "life_reference: 0 h"),
        (lambda: sleeve_running.rubbing(12.7, 1075, 5, 8, 4), "diameter: 12.7 m"),
        (lambda: sleeve_running.rubbing(0.0127, 1075, -5, 8, 4), "lambda_ratio: -5"),
        (lambda: sleeve_running.rubbing(0.0127, 1075, 5, -8, 4), "revolutions_rubbing: -8"),
        (lambda: sleeve_running.rubbing(0.0127, 1075, 5, 8, -4), "starts_per_hour: -4"),
        (lambda: sleeve_running.sleeve_pv(-1, 1075, 0.0127, 0.019), "load: -1 N"),
        (lambda: sleeve_running.oil_life(333.0, 2e4, 60.0), "temp_oil: 333 degC"),
        (lambda: sleeve_running.oil_life(60.0, 2e4, 333.0), "temp_oil_reference: 333 degC"),
        (lambda: sleeve_running.oil_life(60.0, 2e4, 60.0, 0.0), "halving_interval: 0 K"),
        (lambda: sleeve_running.washer(-1, 1075, *WASHER, 0.1), "load_axial: -1 N"),
        (
            lambda: sleeve_running.washer(10, 1075, 0.024, 0.014, 0.1),
            "bore: 0.024 m.*less than the value of .out",
        ),
        (lambda: sleeve_running.washer(10, 1075, 14.0, 24.0, 0.1), "bore: 14 m"),
        (lambda: sleeve_running.washer(10, 1075, *WASHER, 10.0), "friction_coefficient: 10"),
        (lambda: oil.oil_density(333.0), "temp_bearing: 333 degC"),
    ],
)
def test_bad_input_of_washer_and_wear_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize("viscosity_100", [[2e-6, 32e-6], 5.4e-6])
def test_oil_that_does_not_thin_is_refused(viscosity_100):
    with pytest.raises(InputError) as refused:
        oil.oil_viscosity(50.0, 5.4e-6, viscosity_100)
    assert_refused(refused.value, "viscosity_100", 40, "viscosity_40")


@pytest.mark.parametrize("outside", [0.014, 0.024])
def test_a_washer_without_a_face_is_refused(outside):
    with pytest.raises(InputError) as refused:
        sleeve_running.washer(10.0, 1075.0, [0.010, 0.024], outside, 0.1)
    assert_refused(refused.value, "bore", 0.024, 'less than the value of "outside"')
    assert refused.value.unit == "m"


def test_a_washer_slides_at_its_mean_diameter():
    found = sleeve_running.washer(10.0, 600.0, 0.014, 0.024, 0.1)
    assert found.sliding_speed == pytest.approx(0.19 * np.pi)  # 10 turns a second of 19 mm
