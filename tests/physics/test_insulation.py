"""Insulation: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
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


@given(temps, classes, intervals)
def test_the_arrhenius_line_meets_the_straight_one_twice_and_bends_away(temp, letter, interval):
    index = insulation.temperature_index(letter)
    line = insulation.arrhenius(letter, interval)
    for at in (index, index + interval):
        assert line.life(at) == pytest.approx(insulation.life(at, letter, interval), rel=1e-9)
    ratio = line.life(temp) / insulation.life(temp, letter, interval)
    between = index <= temp <= index + interval
    assert 0.97 < ratio <= 1 + 1e-9 if between else ratio >= 1 - 1e-9


def test_where_the_two_forms_part_as_the_docstring_says():
    line = insulation.arrhenius("B")
    ratio = [round(float(line.life(t) / insulation.life(t, "B")), 1) for t in (90, 60, 180)]
    assert ratio == [1.5, 3.2, 1.4]
    inside = line.life(135.0) / insulation.life(135.0, "B")
    assert 0.995 < inside < 1


@pytest.mark.parametrize("letter", "ABFH")
def test_averages_and_hottest_spots_are_kept_apart(letter):
    """Pitfall: a rise by resistance leaves 25 K or less below the class for the hottest spot."""
    for row in insulation.RISES.values():
        assert row.meant == insulation.AVERAGE_RISE
        room = insulation.temperature_index(letter) - (40 + row.by_class[letter])
        assert 0 <= room <= 15
    assert insulation.CLASSES.meant == insulation.HOT_SPOT


@pytest.mark.parametrize("letter", "ABFH")
def test_a_locked_rotor_may_be_hotter_than_a_running_one_and_cools_as_the_hour_passes(letter):
    running, first, later, average = (
        row.by_class[letter]
        for row in (
            insulation.RUNNING_OVERLOAD,
            insulation.FIRST_HOUR,
            insulation.LATER_PEAK,
            insulation.LATER_AVERAGE,
        )
    )
    assert running < average < later < first


MEMORY = "from memory, not verified"
IEC_SMALL = f"IEC 60034-1, table of rises, item 1 d, below 600 W, {MEMORY}"
RISE_SOURCES = {
    ("NEMA MG 1", "open"): f"NEMA MG 1, 12.43, small motors, open, {MEMORY}",
    ("NEMA MG 1", "totally enclosed"): f"NEMA MG 1, 12.43, small motors, enclosed, {MEMORY}",
    ("NEMA MG 1", "air over"): f"NEMA MG 1, 12.43, small motors, taken as enclosed, {MEMORY}",
    ("IEC 60034-1", "open"): IEC_SMALL,
    ("IEC 60034-1", "totally enclosed"): IEC_SMALL,
    ("IEC 60034-1", "air over"): IEC_SMALL,
}


def test_every_row_of_rises_says_where_it_stands_and_how_sure_we_are():
    assert {key: row.source for key, row in insulation.RISES.items()} == RISE_SOURCES
    assert {row.meant for row in insulation.RISES.values()} == {"average rise by resistance, K"}


def test_every_row_of_temperatures_says_where_it_stands_and_how_sure_we_are():
    classes = insulation.CLASSES
    assert classes.meant == "temperature of the hottest spot, degC"
    assert classes.source == "IEC 60085, thermal classes, from memory, recomputed"
    for row, when in (
        (insulation.RUNNING_OVERLOAD, "running overload"),
        (insulation.FIRST_HOUR, "locked rotor, automatic, first hour"),
        (insulation.LATER_PEAK, "locked rotor, automatic, later peaks"),
        (insulation.LATER_AVERAGE, "locked rotor, automatic, later average"),
    ):
        assert row.meant == "winding temperature while a protector guards it, degC"
        assert row.source == f"UL 1004-3, {when}, {MEMORY}"


def test_a_table_has_a_figure_for_each_letter():
    with pytest.raises(ValueError, match="zip"):
        insulation._by_class("ABF", 65, 85)
    assert insulation._by_class("AB", 65, 85) == {"A": 65.0, "B": 85.0}


@given(st.sampled_from("ABFH"), st.floats(-60, 90))
def test_a_hotter_ambient_never_raises_the_limit(letter, ambient):
    limit = insulation.rise_limit(letter, "open", ambient)
    assert limit <= insulation.RISES["NEMA MG 1", "open"].by_class[letter]
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
        (lambda: insulation.life(115, "Q"), "insulation_class: 'Q' is not accepted.* Y, A, E, B"),
        (lambda: insulation.life(115, ["B", "X"]), "insulation_class: 'X'"),
        (lambda: insulation.life(115, None), "insulation_class: None"),
        (lambda: insulation.life(115, 403.15), "insulation_class: 403.15 degC"),
        (lambda: insulation.life(115, "B", 0.0), "halving_interval: 0 K"),
        (lambda: insulation.rise_limit("E"), "insulation_class: 'E' is not accepted.* A, B, F, H"),
        (
            lambda: insulation.rise_limit("B", "sealed"),
            "^enclosure: 'sealed' is not accepted. Enter open, totally enclosed or air over.$",
        ),
        (
            lambda: insulation.rise_limit("B", standard="ISO 1"),
            "^standard: 'ISO 1' is not accepted. Enter NEMA MG 1 or IEC 60034-1.$",
        ),
        (lambda: insulation.arrhenius("Q"), "insulation_class: 'Q'"),
        (lambda: insulation.arrhenius("B", 1.0), "halving_interval: 1 K"),
        (lambda: insulation.arrhenius("B").life(388.15), "temp_winding: 388.15 degC"),
        (lambda: insulation.rise_limit("B", temp_ambient=333.15), "temp_ambient: 333.15 degC"),
        (lambda: insulation.protector_limit("Y"), "insulation_class: 'Y'"),
        (lambda: insulation.altitude_factor(16000), "elevation: 16,000 m"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
