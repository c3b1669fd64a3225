"""Capacitor: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.errors import InputError
from airover.physics import capacitor


@given(st.floats(1e-6, 60e-6), st.floats(100, 600), st.sampled_from([50.0, 60.0]))
def test_it_finds_the_capacitance_behind_a_current(farads, voltage, frequency):
    reactance = abs(1 / (2j * np.pi * frequency * farads))
    assert capacitor.capacitance(voltage / reactance, voltage, frequency) == pytest.approx(farads)


def test_arrays_broadcast_and_equal_scalars():
    found = capacitor.capacitance([[1.0], [1.2]], [370.0, 440.0], 60.0)
    assert found.shape == (2, 2)
    assert found[1, 0] == capacitor.capacitance(1.2, 370.0, 60.0)
    assert isinstance(capacitor.capacitance(1.2, 370.0, 60.0), float)


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
        capacitor.capacitance(*arguments)
