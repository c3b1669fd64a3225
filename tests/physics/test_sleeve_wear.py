"""Screening of wear and oil life, and the thrust washer."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import oil, sleeve_running

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
        (lambda: sleeve_running.wear_depth(1e-5, 1e5, 1.0), "wear_coefficient: 1e-05 m2/N"),
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
            "bore: 0.024 m.*less than out",
        ),
        (lambda: sleeve_running.washer(10, 1075, 14.0, 24.0, 0.1), "bore: 14 m"),
        (lambda: sleeve_running.washer(10, 1075, *WASHER, 10.0), "friction_coefficient: 10"),
        (lambda: oil.oil_density(333.0), "temp_bearing: 333 degC"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize("viscosity_100", [[2e-6, 32e-6], 5.4e-6])
def test_oil_that_does_not_thin_is_refused(viscosity_100):
    with pytest.raises(InputError) as refused:
        oil.oil_viscosity(50.0, 5.4e-6, viscosity_100)
    assert str(refused.value) == (
        "viscosity_100: no less than at 40 degC was given; accepted is less than viscosity_40."
    )


@pytest.mark.parametrize("outside", [0.014, 0.024])
def test_a_washer_without_a_face_is_refused(outside):
    with pytest.raises(InputError) as refused:
        sleeve_running.washer(10.0, 1075.0, [0.010, 0.024], outside, 0.1)
    assert str(refused.value) == "bore: 0.024 m was given; accepted is less than outside."
    assert refused.value.unit == "m"


def test_a_washer_slides_at_its_mean_diameter():
    found = sleeve_running.washer(10.0, 600.0, 0.014, 0.024, 0.1)
    assert found.sliding_speed == pytest.approx(0.19 * np.pi)  # 10 turns a second of 19 mm
