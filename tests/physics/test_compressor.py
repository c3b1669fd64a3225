"""Compressor and refrigerant: behaviour, bad input and invariants."""

import builtins
import sys

import CoolProp.CoolProp
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import compressor

names = st.sampled_from(sorted(compressor.FITS))
hot, cold = st.floats(31, 65), st.floats(-4, 14)


@given(names, hot, cold, st.floats(0, 1))
def test_it_pays_to_condense_cooler_and_to_evaporate_warmer(name, condensing, evaporating, more):
    ratio = compressor.cooling_ratio(condensing, evaporating, name)
    assert compressor.cooling_ratio(condensing + more, evaporating, name) <= ratio
    assert compressor.cooling_ratio(condensing, evaporating + more, name) >= ratio


@given(names, hot, cold, st.floats(0.3, 0.9))
def test_it_stays_below_carnot_and_goes_with_the_efficiency(name, condensing, evaporating, good):
    carnot = (evaporating + 273.15) / (condensing - evaporating)
    ratio = compressor.cooling_ratio(condensing, evaporating, name, good)
    assert 0 < ratio < good * carnot
    whole = compressor.cooling_ratio(condensing, evaporating, name, 0.5) / 0.5
    assert ratio == pytest.approx(good * whole, rel=1e-12)


def test_power_is_cooling_over_the_ratio_and_arrays_broadcast():
    temps, cooling = np.array([[40.0], [55.0]]), np.array([5e3, 8e3, 10e3])
    power = compressor.compressor_power(cooling, temps)
    assert power.shape == (2, 3)
    assert power[1, 2] == 10e3 / compressor.cooling_ratio(55.0)
    assert isinstance(compressor.cooling_ratio(45.0), float)


def test_what_is_taken_where_nothing_is_said():
    said = (7.22, "R410A", 0.65)  # 45 degF to a hundredth of a kelvin; our own choice
    assert compressor.cooling_ratio(45.0) == compressor.cooling_ratio(45.0, *said)
    assert compressor.compressor_power(1e4, 45.0) == compressor.compressor_power(1e4, 45.0, *said)
    power = compressor.compressor_power(1e4, 45.0, 2.0, "R32", 0.7)
    assert power == 1e4 / compressor.cooling_ratio(45.0, 2.0, "R32", 0.7)


@pytest.mark.parametrize(
    "condensing, evaporating, beyond, told",
    [(20.0, 5.0, 0.001, 14.999), (66.0, -4.0, -0.001, 70.001)],
)
def test_the_lift_has_its_own_range(condensing, evaporating, beyond, told):
    """15 to 70 K, our own decision: from where the fits were made."""
    assert compressor.cooling_ratio(condensing, evaporating) > 0
    with pytest.raises(InputError) as refused:
        compressor.cooling_ratio(condensing, evaporating + beyond)
    given = f"temp_condensing over temp_evaporating: {told:g} K"
    assert str(refused.value) == f"{given} is not accepted. Enter a value from 15 to 70 K."


def test_a_fit_of_ones_own_takes_the_place_of_a_name():
    own = compressor.fitted("R134a", highest=60.0, superheat=8.0, subcooling=0.0)
    ours = compressor.cooling_ratio([40.0, 55.0], 5.0, own)
    theirs = compressor.cycle_cooling_ratio(
        [40.0, 55.0], 5.0, "R134a", superheat=8.0, subcooling=0.0
    )
    np.testing.assert_allclose(ours, theirs, rtol=own.within)
    # without subcooling there is less cooling in the same work
    assert np.all(ours < compressor.cooling_ratio([40.0, 55.0], 5.0, "R134a"))


@given(st.floats(30, 65), st.floats(0, 5))
def test_real_properties_pay_for_heat_as_well(condensing, more):
    ratio = compressor.cycle_cooling_ratio(condensing)
    assert compressor.cycle_cooling_ratio(condensing + more) <= ratio
    assert np.shape(ratio) == ()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: compressor.cooling_ratio(121.7), "temp_condensing: 121.7 degC"),
        (lambda: compressor.cooling_ratio(45, 45), "temp_evaporating: 45 degC"),
        (
            lambda: compressor.cooling_ratio(45, refrigerant="R1"),
            "^refrigerant: 'R1' is not accepted. Enter R410A, R32, R22, R134a, R454B.$",
        ),
        (lambda: compressor.cooling_ratio(45, efficiency=65), "efficiency: 65"),
        (lambda: compressor.compressor_power(3, 45), "cooling: 3 W"),
        (lambda: compressor.cycle_cooling_ratio(45, refrigerant="air"), "refrigerant: 'air'"),
        (lambda: compressor.cycle_cooling_ratio(45, superheat=278.15), "superheat: 278.15 K"),
        (lambda: compressor.cycle_cooling_ratio(75), "temp_condensing: 75 degC"),
        (lambda: compressor.fitted("R32", highest=140), "highest: 140 degC"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_where_the_library_finds_no_state_it_says_so(monkeypatch):
    def lost(*state):
        raise ValueError("solver_rho_Tp was unable to find a solution")

    monkeypatch.setattr(CoolProp.CoolProp, "PropsSI", lost)
    with pytest.raises(ArithmeticError, match="found no state of R32.* from 7.22 to 58 degC"):
        compressor.cycle_cooling_ratio(58.0, refrigerant="R454B")


def without(package, monkeypatch):
    """Let importing ``package`` fail as where it is not installed."""
    real = builtins.__import__

    def missing(name, *args, **kwargs):
        if name.split(".")[0] == package:
            raise ModuleNotFoundError(name)
        return real(name, *args, **kwargs)

    for name in [name for name in sys.modules if name.split(".")[0] == package]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(builtins, "__import__", missing)


def test_without_the_library_one_sentence_says_how_to_get_it(monkeypatch):
    without("CoolProp", monkeypatch)
    with pytest.raises(InputError, match=r'not installed. .*"airover\[refrigerant\]"'):
        compressor.cycle_cooling_ratio(45.0)
    assert compressor.cooling_ratio(45.0) > 3  # the closed form needs no library
