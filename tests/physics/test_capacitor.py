"""Capacitor: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import circuit


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
        ((0.0, 370.0, 60.0), "current: 0 A was given; accepted is 0.001 to 100 A"),
        ((1.05, 0.37, 60.0), "voltage: 0.37 V"),
        ((1.05, 370.0, 377.0), "frequency: 377 Hz"),
        ((1050.0, 370.0, 60.0), "current: 1050 A"),
        (([1.0, np.nan], 370.0, 60.0), "current: nan A"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(arguments, words):
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
    assert str(refused.value) == "life_class: 'S' was given; accepted is A, B, C, D."
    with pytest.raises(InputError, match="temp_capacitor"):
        circuit.life(370.0, 343.0, 370.0)
