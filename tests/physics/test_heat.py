"""Behaviour of the heat model: balances, monotony, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import heat

losses = st.floats(1.0, 2000.0)
films = st.floats(1.0, 100.0)


@given(losses, films, st.floats(-40.0, 80.0), st.floats(0.0, 1.0))
def test_heat_out_is_heat_in(loss, film, temp_air, emissivity):
    area = 0.09
    rise = heat.shell_rise(loss, area, film, temp_air, emissivity)
    kelvin = temp_air + 273.15
    radiated = emissivity * 5.670374419e-8 * ((kelvin + rise) ** 4 - kelvin**4)
    assert area * (film * rise + radiated) == pytest.approx(loss, rel=1e-8)


@given(losses, films)
def test_radiation_and_faster_air_only_cool(loss, film):
    plain = heat.shell_rise(loss, 0.09, film, 40.0, 0.0)
    assert heat.shell_rise(loss, 0.09, film, 40.0, 0.9) < plain
    assert heat.shell_rise(loss, 0.09, 1.2 * film, 40.0, 0.0) < plain


@given(st.floats(0.08, 0.25), st.floats(0.5, 15.0), st.floats(-30.0, 80.0))
def test_film_band_is_ordered_and_grows_with_speed(diameter, speed, temp_air):
    slow = heat.film_coefficient(diameter, speed, temp_air)
    fast = heat.film_coefficient(diameter, 1.3 * speed, temp_air)
    assert 0 < slow.low <= slow.high
    assert fast.low > slow.low and fast.high > slow.high


@given(st.floats(0.0, 60.0), st.floats(0.0, 200.0))
def test_rise_by_resistance_undoes_the_resistance_factor(temp_cold, temp_hot):
    hot = 7.0 * heat.resistance_factor(temp_hot, temp_cold)
    rise = heat.rise_by_resistance(7.0, hot, temp_cold, temp_cold)
    assert rise == pytest.approx(temp_hot - temp_cold, abs=1e-9)


def test_a_rise_beyond_all_motors_settles_too():
    """A step of rounding there is larger than any step of Kelvins that a motor would show."""
    loss, area, film = 3554.3164114655788, 0.0022129168692070077, 0.12622706401387745
    rise = heat.shell_rise(loss, area, film, 40.0, 0.0)
    assert rise == pytest.approx(loss / area / film, rel=1e-9)


@pytest.mark.parametrize("call", [heat.resistance_factor, heat.rise_by_resistance])
def test_a_metal_that_windings_are_not_made_of_is_refused_in_one_sentence(call):
    values = [25.0] * (2 if call is heat.resistance_factor else 4)
    with pytest.raises(InputError) as refused:
        call(*values, material="iron")
    assert str(refused.value) == "material: 'iron' was given; accepted is copper or aluminium."


def test_arrays_broadcast():
    film = heat.film_coefficient([0.14, 0.16], [[3.0], [6.0]], 45.0)
    assert film.low.shape == (2, 2)
    assert film.low[1, 0] == heat.film_coefficient(0.14, 6.0, 45.0).low
    rise = heat.shell_rise(100.0, 0.09, film.low, 45.0)
    assert rise.shape == (2, 2) and np.all(rise > 0)


@pytest.mark.parametrize(
    "call, field",
    [
        (lambda: heat.film_coefficient(142.0, 3.0, 50.0), "diameter"),
        (lambda: heat.film_coefficient(0.142, 3.0, 323.0), "temp_air"),
        (lambda: heat.rise_by_resistance(10, 13, 298.0, 25.0), "temp_cold"),
        (lambda: heat.shell_rise(-1.0, 0.09, 20.0, 40.0), "loss"),
        (lambda: heat.sun_absorbed(1.0e6, 0.9, 0.5), "irradiance"),
        (lambda: heat.sun_absorbed(1000.0, 90.0, 0.5), "absorptivity"),
        (lambda: heat.sun_absorbed(1000.0, 0.9, -0.5), "unshaded"),
    ],
)
def test_a_wrong_unit_is_named(call, field):
    with pytest.raises(InputError, match=field):
        call()
