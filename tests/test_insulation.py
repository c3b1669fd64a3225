"""Insulation: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.errors import InputError
from airover.physics import insulation

classes = st.sampled_from("YAEBFHNR")
temps = st.floats(-60, 280)
intervals = st.floats(5, 20)


@given(temps, classes, intervals)
def test_life_halves_per_interval(temp, letter, interval):
    shorter = insulation.life(temp + interval, letter, interval)
    assert 2 * shorter == pytest.approx(insulation.life(temp, letter, interval), rel=1e-12)


@given(classes, intervals)
def test_life_is_20_000_h_at_the_class_temperature(letter, interval):
    temp = insulation.temperature_index(letter)
    assert insulation.life(temp, letter, interval) == insulation.life(temp, temp, 10) == 20000


@given(st.sampled_from("ABFH"), st.floats(-60, 90))
def test_a_hotter_ambient_never_raises_the_limit(letter, ambient):
    limit = insulation.rise_limit(letter, "open", ambient)
    assert limit <= insulation.RISE_LIMITS["open"][letter]
    assert limit + max(ambient, 40) <= insulation.temperature_index(letter)
    assert limit <= insulation.rise_limit(letter, "totally enclosed", ambient)


@pytest.mark.parametrize("letter", "ABFH")
def test_a_protector_allows_more_than_the_class_and_average_less(letter):
    hot_spot = insulation.temperature_index(letter)
    assert 40 + insulation.rise_limit(letter) <= hot_spot < insulation.protector_limit(letter)


def test_air_over_is_taken_as_totally_enclosed():
    assert insulation.rise_limit("B", "air over") == insulation.rise_limit("B", "totally enclosed")


@given(st.floats(-500, 6000))
def test_altitude_never_raises_a_limit(elevation):
    assert 0.5 <= insulation.altitude_factor(elevation) <= 1
    assert (insulation.altitude_factor(elevation) == 1) == (elevation <= 1000)


def test_arrays_broadcast_and_equal_scalars():
    temps, letters = np.array([[90.0], [120.0], [150.0]]), np.array(["B", "F"])
    hours = insulation.life(temps, letters)
    assert hours.shape == (3, 2)
    assert hours[2, 1] == insulation.life(150.0, "F") == insulation.life(150.0, 155)
    assert insulation.rise_limit(letters, temp_ambient=temps - 90).shape == (3, 2)
    assert insulation.protector_limit(["b ", "F"]).tolist() == [165, 190]
    assert isinstance(insulation.life(120, "B"), float)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: insulation.life(388.15, "B"), "temp_winding: 388.15 degC"),
        (lambda: insulation.life([100, np.inf], "B"), "temp_winding: inf degC"),
        (lambda: insulation.life(115, "Q"), "insulation_class: 'Q' was given; .* Y, A, E, B"),
        (lambda: insulation.life(115, ["B", "X"]), "insulation_class: 'X'"),
        (lambda: insulation.life(115, None), "insulation_class: None"),
        (lambda: insulation.life(115, 403.15), "insulation_class: 403.15 degC"),
        (lambda: insulation.life(115, "B", 0.0), "halving_interval: 0 K"),
        (lambda: insulation.rise_limit("E"), "insulation_class: 'E' was given; .* A, B, F, H"),
        (lambda: insulation.rise_limit("B", "sealed"), "enclosure: 'sealed'"),
        (lambda: insulation.rise_limit("B", temp_ambient=333.15), "temp_ambient: 333.15 degC"),
        (lambda: insulation.protector_limit("Y"), "insulation_class: 'Y'"),
        (lambda: insulation.altitude_factor(16000), "elevation: 16000 m"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
