"""Ball bearings: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import ball_bearing as bb

loads = st.floats(1, 4000)
kappas = st.floats(0.1, 10)
ratios = st.floats(0, 5)


@given(loads, st.floats(100, 4000), st.floats(0.1, 50))
def test_half_the_load_means_eight_times_the_life(load, speed_rpm, a_iso):
    life = bb.rating_life(9560.0, load, speed_rpm, 0.64, a_iso)
    assert bb.rating_life(9560.0, load / 2, speed_rpm, 0.64, a_iso) == pytest.approx(8 * life)
    assert bb.rating_life(9.56, load / 1000, speed_rpm, 0.64, a_iso) == pytest.approx(life)


@given(st.floats(0.9, 0.9994))
def test_more_reliability_means_less_life(reliability):
    assert bb.reliability_factor(reliability + 1e-4) < bb.reliability_factor(reliability)


@given(loads, loads, st.floats(10, 16))
def test_equivalent_load_is_never_below_the_radial_nor_falls_with_thrust(radial, axial, f0):
    some = bb.equivalent_load(radial, axial / 4, 4500.0, f0)
    assert radial <= some
    assert some <= bb.equivalent_load(radial, axial / 4 + 50, 4500.0, f0) * 1.02  # table's steps


@given(kappas, ratios)
def test_a_iso_stays_in_the_standard_and_grows_with_cleanliness(kappa, ratio):
    assert 0.1 <= bb.a_iso(kappa, ratio) <= bb.a_iso(kappa, ratio * 1.5 + 0.01) <= 50


@given(st.floats(0.1, 5), st.floats(0.01, 0.1), st.sampled_from(list(bb.CLEANLINESS)))
def test_contamination_factor_stays_between_0_and_1(kappa, diameter, cleanliness):
    assert 0 <= bb.contamination_factor(kappa, diameter, cleanliness) <= 1


def test_very_severe_dirt_in_a_small_bearing_gives_the_least_life_factor():
    assert bb.contamination_factor(1.0, 0.0285, "very severe contamination") == 0
    assert bb.a_iso(1.0, 0.0) == pytest.approx(0.1)


def test_kappa_above_4_earns_nothing_more():
    assert bb.a_iso(9.0, 0.1) == bb.a_iso(4.0, 0.1) > bb.a_iso(3.9, 0.1)
    for name in bb.CLEANLINESS:
        assert bb.contamination_factor(9, 0.03, name) == bb.contamination_factor(4, 0.03, name)


@given(st.floats(40, 149), st.floats(0, 3))
def test_grease_dies_sooner_when_hotter_and_halves_per_subtraction(temp, subtraction):
    life = bb.grease_life(temp, subtraction)
    assert bb.grease_life(temp + 1, subtraction) < life
    assert bb.grease_life(temp, subtraction + 1) == pytest.approx(life / 2, rel=2e-4)
    assert bb.grease_life_l10(temp, subtraction) == pytest.approx(0.44 * life)


@given(st.floats(0.9, 0.9994))
def test_grease_that_more_have_to_reach_lives_less(reliability):
    assert bb.grease_reliability_factor(0.9) == 1
    further = bb.grease_reliability_factor(reliability + 1e-4)
    assert further < bb.grease_reliability_factor(reliability) <= 1


@given(loads, loads)
def test_static_load_is_never_below_the_radial(radial, axial):
    load = bb.static_load(radial, axial)
    assert radial <= load <= radial + axial
    assert bb.static_safety(2 * load, load) == pytest.approx(2)


def test_cold_gives_grease_no_credit():
    assert bb.grease_life(-20.0) == bb.grease_life(40.0)


def test_grease_governs_a_lightly_loaded_bearing_on_a_vertical_shaft():
    size = bb.DEEP_GROOVE_02[17]
    load = bb.equivalent_load(2.0, 40.0, size.load_rating_static, 13.1)
    assert bb.rating_life(size.load_rating, load, 1075) > 20 * bb.grease_life(70.0)
    assert load < bb.minimum_load(size.load_rating) == pytest.approx(95.6)


@given(st.lists(st.floats(100, 1e9), min_size=1, max_size=5), st.sampled_from([10 / 9, 1.5]))
def test_a_system_lives_no_longer_than_its_shortest_part(lives, exponent):
    together = bb.system_life(lives, exponent)
    shortest = min(lives)
    assert shortest / len(lives) ** (1 / exponent) * (1 - 1e-9) <= together
    assert together <= shortest * (1 + 1e-9)


@given(st.floats(-40, 149), st.floats(10e-6, 100e-6), st.floats(0.1, 0.5))
def test_oil_thins_as_it_warms(temp, viscosity_40, share):
    line = viscosity_40, viscosity_40 * share
    assert bb.oil_viscosity(temp + 1, *line) < bb.oil_viscosity(temp, *line)
    assert bb.oil_viscosity([40, 100], *line) == pytest.approx(line)


def test_arrays_broadcast_and_equal_scalars():
    load, speed = np.array([[100.0], [200.0], [400.0]]), np.array([825.0, 1075.0])
    life = bb.rating_life(9560.0, load, speed)
    assert life.shape == (3, 2) and life[2, 1] == bb.rating_life(9560, 400, 1075)
    assert bb.equivalent_load(load, speed[0] / 10, 4500, 13.1).shape == (3, 1)
    assert bb.a_iso([[0.2], [0.5], [2.0]], [0.1, 0.2]).shape == (3, 2)
    assert bb.reference_viscosity(speed, load / 10000).shape == (3, 2)
    assert bb.contamination_factor([0.5, 1], load / 10000, "normal cleanliness").shape == (3, 2)
    assert bb.system_life([[1e3, 2e3], [3e3, 4e3]], 1.5).tolist() == [
        bb.system_life([1e3, 2e3], 1.5),
        bb.system_life([3e3, 4e3], 1.5),
    ]


def test_scalars_give_plain_numbers():
    for value in (
        bb.rating_life(9560, 300, 1075),
        bb.reliability_factor(0.95),
        bb.a_iso(1, 0.1),
        bb.equivalent_load(100, 10, 4500, 13),
        bb.grease_life(70),
        bb.system_life([1, 2], 1.5),
        bb.reference_viscosity(1075, 0.0285),
        bb.oil_viscosity(60, 32e-6, 5.4e-6),
        bb.contamination_factor(1, 0.0285, "normal cleanliness"),
        bb.minimum_load(9560),
        bb.fatigue_load_limit(4500),
    ):
        assert isinstance(value, float)


def test_bearing_sizes_are_in_metres_and_newtons():
    for bore, size in bb.DEEP_GROOVE_02.items():
        assert size.bore == pytest.approx(bore / 1000)
        assert size.bore < size.diameter_pitch < size.outside < 0.06
        assert 2000 < size.load_rating_static < size.load_rating


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bb.rating_life(9560, 0, 1075), "load: 0 N"),
        (lambda: bb.rating_life(9.56, 371.3, 1075), "load: 38.8 times load_rating.* same unit"),
        (lambda: bb.rating_life(9560, 371.3, 0), "speed_rpm: 0 rpm"),
        (lambda: bb.rating_life(9560, 371.3, 1075, a1=-1), "a1: -1"),
        (lambda: bb.reliability_factor(95), "reliability: 95 is not accepted.* 0.9 to 0.9995"),
        (lambda: bb.reliability_factor(0.5), "reliability: 0.5"),
        (lambda: bb.equivalent_load(100, 5000, 4500, 13.1), "load_axial.*14.5.*0 to 6.89"),
        (lambda: bb.equivalent_load(-100, 50, 4500, 13.1), "load_radial: -100 N"),
        (lambda: bb.a_iso(0.09, 0.1), "kappa: 0.09 is not accepted. Enter a value from 0.1"),
        (lambda: bb.a_iso(1.0, -0.1), "contamination_ratio: -0.1"),
        (lambda: bb.contamination_factor(0.05, 0.0285, "normal cleanliness"), "kappa: 0.05"),
        (lambda: bb.contamination_factor(1, 28.5, "normal cleanliness"), "28.5 m is not"),
        (lambda: bb.contamination_factor(1, 0.0285, "dirty"), "'dirty' is not .* slight contam"),
        (lambda: bb.reference_viscosity(1075, 28.5), "diameter_pitch: 28.5 m"),
        (lambda: bb.oil_viscosity(323.15, 32e-6, 5.4e-6), "temp_bearing: 323.15 degC"),
        (lambda: bb.oil_viscosity(50, 32, 5.4), "viscosity_40: 32 m2/s"),
        (
            lambda: bb.oil_viscosity(50, 5.4e-6, 32e-6),
            "viscosity_100: the viscosity is not lower than at 40 degC",
        ),
        (lambda: bb.grease_life(343.15), "temp_bearing: 343.15 degC"),
        (lambda: bb.grease_life([70, np.nan]), "temp_bearing: nan"),
        (lambda: bb.grease_life(70, -1), "half_life_subtraction: -1"),
        (lambda: bb.system_life([1e4, -1], 1.5), "lives: -1 h"),
        (lambda: bb.system_life([1e4, 1e4], 0), "exponent: 0"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: bb.rating_life(9.56, [1.0, 371.3], 1075),
            ("load: 38.8 times load_rating. Needed: up to load_rating (both in the same unit)."),
        ),
        (
            lambda: bb.equivalent_load(100, 5000, 4500, 13.1),
            "f0 x load_axial / load_rating_static: 14.5556 is not accepted. Enter a value from 0 to 6.89.",
        ),
        (
            lambda: bb.contamination_factor(1, 0.0285, "dirty"),
            (
                "cleanliness: 'dirty' is not accepted. Enter high cleanliness, normal "
                "cleanliness, slight contamination, severe contamination, very severe "
                "contamination."
            ),
        ),
    ],
)
def test_the_whole_sentence(call, sentence):
    with pytest.raises(InputError) as refused:
        call()
    assert str(refused.value) == sentence
