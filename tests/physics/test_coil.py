"""Coil: behaviour, bad input and invariants."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import coil

heats = st.floats(1000, 30e3)
flows = st.floats(0.3, 4)
shares = st.floats(0.05, 0.95)


@given(heats, flows, st.floats(-20, 50), shares)
def test_it_condenses_above_the_leaving_air(heat, flow, temp_in, share):
    leaving = coil.leaving_temperature(heat, flow, temp_in)
    assert temp_in < leaving < coil.condensing_temperature(heat, flow, temp_in, share)


@given(heats, flows, st.floats(0.8, 1.3))
def test_the_air_takes_all_the_heat(heat, flow, density):
    rise = coil.leaving_temperature(heat, flow, 0.0, density)
    assert rise * flow * density * coil.HEAT_CAPACITY == pytest.approx(heat, rel=1e-12)


@given(shares, st.floats(0.2, 2), st.floats(0.3, 0.9))
def test_less_air_is_used_better_but_never_enough(share, ratio, exponent):
    there = coil.effectiveness(share, ratio, exponent)
    back = coil.effectiveness(np.clip(there, 0.01, 0.99), 1 / ratio, exponent)
    assert not 0.01 < there < 0.99 or back == pytest.approx(share, rel=1e-9)
    assert coil.effectiveness(share, ratio * 0.9, exponent) >= there
    # the heat carried per kelvin still falls with the airflow
    assert coil.effectiveness(share, ratio * 0.9, exponent) * 0.9 < there


shares_again = st.floats(0, 0.6)


@given(heats, flows, st.floats(0, 45), shares_again)
def test_air_drawn_in_again_is_what_going_round_and_round_finds(heat, flow, outdoor, again):
    entering = outdoor
    for _ in range(200):  # 0.6^200 is nothing
        leaving = coil.leaving_temperature(heat, flow, min(entering, 90.0))
        entering = (1 - again) * outdoor + again * leaving
    assume(entering < 90)
    ours = coil.entering_temperature(heat, flow, outdoor, again)
    assert ours == pytest.approx(entering, abs=1e-9)
    assert ours >= outdoor


@given(heats, flows, shares_again, st.floats(0, 0.1))
def test_more_air_drawn_in_again_is_never_cooler(heat, flow, again, more):
    before = coil.entering_temperature(heat, flow, 35.0, again)
    assert coil.entering_temperature(heat, flow, 35.0, again + more) >= before


@given(st.floats(100, 5000), flows)
def test_conductance_gives_the_effectiveness_that_a_marched_coil_has(conductance, flow):
    # the coil cut in 2000 slices, each warming the air by its share of the conductance
    units = coil.transfer_units(conductance, flow)
    assume(units < 6)
    left = (1 - units / 2000 / (1 + units / 4000)) ** 2000
    assert coil.effectiveness_of(units) == pytest.approx(1 - left, abs=1e-5)


@given(heats, st.floats(0.3, 3), shares, st.floats(0.3, 1), st.floats(0.3, 0.9))
def test_less_airflow_never_lowers_the_condensing_temperature(heat, flow, share, ratio, exponent):
    assume(coil.effectiveness(share, ratio, exponent) <= 1)
    full = coil.condensing_temperature(heat, flow, 20.0, share)
    short = coil.effectiveness(share, ratio, exponent)
    assert coil.condensing_temperature(heat, flow * ratio, 20.0, short) >= full - 1e-9


def test_what_is_taken_where_nothing_is_said():
    assert coil.effectiveness(0.65, 0.5) == coil.effectiveness(0.65, 0.5, 0.6)
    assert coil.entering_temperature(9e3, 1.0, 35.0) == 35.0
    standard = coil.DENSITY_STANDARD
    assert coil.leaving_temperature(9e3, 1.0, 35.0) == coil.leaving_temperature(
        9e3, 1.0, 35.0, standard
    )
    thin, again = coil.entering_temperature(9e3, 1.0, 35.0, [0.2, 0.4], standard / 2) - 35, 0.2
    rise = 2 * (coil.leaving_temperature(9e3, 1.0, 35.0) - 35)
    assert thin == pytest.approx([again / (1 - again) * rise, 0.4 / 0.6 * rise])
    assert coil.transfer_units(1e3, 1.0, standard) == coil.transfer_units(1e3, 1.0)


def test_arrays_broadcast_and_equal_scalars():
    heat, flow = np.array([[9e3], [13e3], [18e3]]), np.array([0.9, 1.2])
    temps = coil.condensing_temperature(heat, flow, 35.0, 0.65, 1.1)
    assert temps.shape == (3, 2)
    assert temps[1, 1] == coil.condensing_temperature(13e3, 1.2, 35.0, 0.65, 1.1)
    assert coil.leaving_temperature(heat, flow, 35.0).shape == (3, 2)
    assert coil.effectiveness(0.65, flow / 1.2).shape == (2,)
    assert coil.entering_temperature(heat, flow, 35.0, 0.1).shape == (3, 2)
    assert coil.transfer_units(heat, flow).shape == (3, 2)
    assert isinstance(coil.leaving_temperature(9e3, 1, 35), float)
    assert isinstance(coil.effectiveness(0.65, 0.8), float)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: coil.leaving_temperature(13e3, 2400.0, 35.0), "flow: 2,400 m3/s"),
        (lambda: coil.leaving_temperature(13e3, 0.0, 35.0), "flow: 0 m3/s"),
        (lambda: coil.leaving_temperature(13e3, 1.1, 308.15), "temp_in: 308.15 degC"),
        (lambda: coil.leaving_temperature(13e3, 1.1, 95.0), "temp_in: 95 degC"),
        (lambda: coil.leaving_temperature(13e3, 1.1, 35.0, 0.075), "density: 0.075 kg/m3"),
        (lambda: coil.leaving_temperature([9e3, np.nan], 1.1, 35.0), "heat: nan W"),
        (lambda: coil.condensing_temperature(13e3, 1.1, 35, 65), "effectiveness: 65"),
        (lambda: coil.effectiveness(1.0, 0.8), "effectiveness_rated: 1 is not accepted"),
        (lambda: coil.effectiveness(0.65, 80), "flow_ratio: 80"),
        (lambda: coil.entering_temperature(13e3, 1.1, 35.0, 15), "recirculated: 15"),
        (lambda: coil.entering_temperature(13e3, 1.1, 95.0, 0.1), "temp_outdoor: 95 degC"),
        (lambda: coil.transfer_units(0.1, 1.1), "conductance: 0.1 W/K"),
        (lambda: coil.effectiveness_of(-1.0), "transfer_units: -1"),
        (lambda: coil.effectiveness(0.65, 0.8, 1.6), "exponent: 1.6"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
