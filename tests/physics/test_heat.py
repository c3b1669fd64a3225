"""Heat from winding and shell, and the resistance of a cooling winding at switch-off."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student

from airover.core.errors import InputError
from airover.physics import heat
from airover.physics.heat import SOON, TOO_LATE, at_switch_off

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


def test_both_spellings_of_aluminum_are_read():
    values = (10.0, 13.2, 25.0, 25.0)
    british, american = (
        heat.rise_by_resistance(*values, metal) for metal in ("aluminium", "aluminum")
    )
    assert british == american == pytest.approx(80.0)


@pytest.mark.parametrize("call", [heat.resistance_factor, heat.rise_by_resistance])
def test_a_metal_that_windings_are_not_made_of_is_refused_in_one_sentence(call):
    values = [25.0] * (2 if call is heat.resistance_factor else 4)
    with pytest.raises(InputError) as refused:
        call(*values, material="iron")
    assert str(refused.value) == "material: 'iron' is not accepted. Enter copper or aluminum."


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


TIME = np.arange(10.0, 130.0, 10.0)
START, END, CONSTANT = 13.0, 10.0, 80.0
METER = 0.01


def cooling(time=TIME, start=START, end=END, constant=CONSTANT):
    return end + (start - end) * np.exp(-time / constant)


@settings(deadline=None)
@given(st.floats(1, 500), st.floats(1.02, 1.6), st.floats(30, 600), st.booleans())
def test_a_clean_exponential_is_found_again(end, over, constant, known):
    ohms = cooling(TIME, over * end, end, constant)
    found = at_switch_off(TIME, ohms, end if known else None)
    assert found.resistance_hot == pytest.approx(over * end, rel=1e-4)
    assert found.time_constant == pytest.approx(constant, rel=0.01)
    assert found.resistance_hot > ohms[0]


@settings(deadline=None)
@given(st.floats(0.1, 100))
def test_the_unit_of_resistance_does_not_matter(factor):
    once, other = (at_switch_off(TIME, k * cooling(), k * END, k * METER) for k in (1.0, factor))
    for ours, theirs in zip(once[:2], other[:2], strict=True):
        assert theirs == pytest.approx(factor * ours, rel=1e-6)


@pytest.mark.parametrize("known", [True, False])
def test_the_standard_error_holds_the_truth_as_often_as_it_says(known):
    rng, end = np.random.default_rng(2), END if known else None
    reach = student.ppf(0.95, len(TIME) - (2 if known else 3))
    inside = 0
    for _ in range(300):
        found = at_switch_off(TIME, cooling() + rng.normal(0, METER, TIME.size), end)
        inside += abs(found.resistance_hot - START) < reach * found.standard_error
    assert 0.85 < inside / 300 < 0.95


def test_the_meters_own_deviation_is_the_least_error():
    clean, metered = (at_switch_off(TIME, cooling(), END, meter) for meter in (0.0, METER))
    assert clean.standard_error < 1e-6
    assert 0.5 * METER < metered.standard_error < 2 * METER
    assert at_switch_off(TIME, cooling(), END, 2 * METER).standard_error == pytest.approx(
        2 * metered.standard_error, rel=1e-3
    )


def test_an_end_that_has_to_be_found_costs_certainty():
    known, free = (at_switch_off(TIME, cooling(), end, METER) for end in (END, None))
    assert free.standard_error > 1.2 * known.standard_error


def test_a_winding_that_cools_to_its_iron_first_is_drawn_back_too_low_by_a_late_line():
    """Two exponentials, as of a winding on its iron: the docstring's advice, in figures."""

    def true(time):
        return 10 + 0.8 * np.exp(-time / 60) + 2.2 * np.exp(-time / 2000)

    early, late = np.arange(5.0, 125.0, 10.0), np.arange(50.0, 650.0, 50.0)
    free = at_switch_off(early, true(early)).resistance_hot
    slow = at_switch_off(late, true(late), 10.0).resistance_hot
    assert free == pytest.approx(13.0, abs=0.01)
    assert slow < 12.8


@pytest.mark.parametrize(("fewest", "end"), [(3, END), (4, None)])
def test_the_fewest_readings_are_enough(fewest, end):
    found = at_switch_off(TIME[:fewest], cooling()[:fewest], end)
    assert found.resistance_hot == pytest.approx(START, rel=1e-4)
    assert found.resistance_end == pytest.approx(END, rel=1e-3)


@pytest.mark.parametrize("share", [0.055, 44.0])
def test_time_constants_from_a_twentieth_to_fifty_times_the_readings_are_found(share):
    constant = share * (TIME[-1] - TIME[0])
    found = at_switch_off(TIME, cooling(constant=constant), END)
    assert found.time_constant == pytest.approx(constant, rel=0.01)


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.047, "drops all at once.* faster than the winding cools"),
        (53.0, "on a straight line.* over a longer time"),
    ],
)
def test_readings_that_are_too_bent_or_too_straight_are_refused(share, words):
    ohms = cooling(constant=share * (TIME[-1] - TIME[0]))
    with pytest.raises(InputError, match=f"^resistance_hot: .*{words}"):
        at_switch_off(TIME, ohms, END)


@pytest.mark.parametrize(("share", "taken"), [(0.33, True), (0.35, False)])
def test_a_reading_may_lie_a_third_of_the_fall_above_the_one_before(share, taken):
    ohms = cooling()
    ohms[6] = ohms[5] + share * (ohms[0] - ohms[-1])
    if taken:
        assert at_switch_off(TIME, ohms, END).resistance_hot > ohms[0]
    else:
        with pytest.raises(InputError, match="falling resistances"):
            at_switch_off(TIME, ohms, END)


def test_a_late_first_reading_is_said():
    for first, late in ((SOON, False), (SOON + 1, True), (TOO_LATE, True)):
        time = first + TIME - TIME[0]
        assert at_switch_off(time, cooling(time), END).late is late


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: at_switch_off([10, 20, 30], [12, 11.5, 11.2]),
            "^time_off: 3 times and 3 .* at least 4",
        ),
        (
            lambda: at_switch_off([10, 20], [12, 11.5], 10.0),
            "^time_off: 2 times and 2 .* at least 3",
        ),
        (lambda: at_switch_off(TIME, cooling()[:-1]), "^time_off: 12 times and 11 resistances"),
        (
            lambda: at_switch_off([10, 20, 20, 30], [12.8, 12.6, 12.5, 12.3]),
            r"^time_off: \[10.0, 20.0, 20.0, 30.0\] s is not accepted. Enter times in ascending order.$",
        ),
        (
            lambda: at_switch_off(TIME + 51, cooling()),
            "^time_off: 61 s is not accepted. Enter a first reading within 60 s of shutdown.$",
        ),
        (lambda: at_switch_off(TIME, cooling()[::-1]), "falling resistances"),
        (lambda: at_switch_off(TIME, np.full(12, 12.0)), "falling resistances"),
        (
            lambda: at_switch_off([10, 20, 30, 40], [12.8, 12.0, 12.6, 12.2]),
            r"^resistance_hot: \[12.8, 12.0, 12.6, 12.2\] ohm .* falling resistances",
        ),
        (lambda: at_switch_off(TIME, 13 - TIME / 100), "straight line.* over a longer time"),
        (
            lambda: at_switch_off(TIME, cooling(), cooling()[-1]),
            "^resistance_end: 10.6694 ohm .* less than the lowest reading, 10.6694 ohm",
        ),
        (lambda: at_switch_off(TIME, -cooling()), "^resistance_hot: -"),
        (lambda: at_switch_off(TIME, cooling(), END, -1.0), "^meter: -1 ohm"),
        (lambda: at_switch_off(TIME, np.full(12, np.nan)), "resistance_hot: nan ohm"),
    ],
)
def test_bad_readings_are_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
