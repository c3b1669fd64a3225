"""A unit's cycles, a day and a stop, as one motor feels them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.model.expected import picked
from airover.model.temperature_history import (
    SAMPLES,
    Stretch,
    cycle,
    day,
    followed,
    idle,
    moved,
    representative,
    running,
    year_of_cycles,
)
from tests.motor_on_roof import ASKED, LOAD, MOTOR, SEASON, VOLTAGE, YEAR, in_air, of_class

HOT_DAY = YEAR.temp_outdoor.reshape(-1, 24)[np.argmax(YEAR.temp_outdoor) // 24]
STEADY = MOTOR.run(in_air(45.0), VOLTAGE).warm.temp_winding[0]


def test_the_representative_samples_have_the_band_of_all():
    few = representative(MOTOR, LOAD, VOLTAGE, 20)
    temps = MOTOR.run(LOAD, VOLTAGE).warm.temp_winding[0]
    assert len(set(few.tolist())) == 20
    # half a sample of 20 is 2.5 % of the probability; the hottest samples lie some kelvin apart
    for end in (0.05, 0.5, 0.95):
        low, high = np.quantile(temps, (end - 0.025, end + 0.025))
        assert low <= np.quantile(temps[few], end) <= high


def test_a_unit_that_never_stops_is_steady():
    found = cycle(MOTOR, in_air(45.0), VOLTAGE, 1.0, 35.0)
    np.testing.assert_allclose(
        found.average, np.broadcast_to(STEADY, found.average.shape), atol=0.5
    )
    assert found.powered[1:].all()


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_a_cycle_begins_as_it_ends_and_peaks_where_the_run_ends(share):
    found = cycle(MOTOR, in_air(45.0), VOLTAGE, share, 35.0)
    length = found.time[-1]
    assert length == pytest.approx(3600 / (12 * share * (1 - share)))
    np.testing.assert_allclose(found.average[0], found.average[-1], atol=0.6)
    peak = found.time[np.argmax(found.average, axis=0)]
    np.testing.assert_allclose(peak, share * length, atol=30)
    assert np.all(found.average.max(axis=0) < STEADY)
    assert np.all(found.average.min(axis=0) > 35.0)


def test_a_cycle_is_nearly_the_sum_of_decaying_exponentials_of_the_network():
    """Closed form: each way of fading has a peak of its own, (1 - e^-on) / (1 - e^-whole).

    The longest and the winding's time constant bound where the peak can be.
    """
    share, air = 0.5, 45.0
    found = cycle(MOTOR, in_air(air), VOLTAGE, share, air)
    warm = MOTOR.run(in_air(air), VOLTAGE).warm
    film = MOTOR.shell.film(LOAD.air.speed, air)
    nodes = type(warm.nodes)(*(node[0] for node in warm.nodes))
    network = MOTOR.shell.network
    fanned = network.time_constants(nodes, film, air)[:, 0]
    stopped = network.time_constants(nodes, 0.0, air)[:, 0]
    length = found.time[-1]
    on, off = share * length / fanned, (1 - share) * length / stopped
    reached = -np.expm1(-on) / -np.expm1(-(on + off))
    ours = (found.average.max(axis=0) - air) / (STEADY - air)
    slowest, fast = reached[0], reached[1]
    assert np.all((slowest - 0.05 < ours) & (ours < fast + 0.05))


@settings(deadline=None, max_examples=6)
@given(st.floats(0.1, 0.85))
def test_a_longer_run_never_cools(share):
    less, more = (
        cycle(MOTOR, in_air(45.0), VOLTAGE, s, 35.0).average.max(axis=0)
        for s in (share, share + 0.1)
    )
    assert np.all(more > less - 0.3)


def test_a_days_trace_follows_the_weather():
    found = day(MOTOR, ASKED, HOT_DAY, SEASON.temp_design)
    assert found.time[0] == 0 and found.time[-1] == 24 * 3600
    assert found.average.shape == (found.time.size, SAMPLES)
    hour = found.time / 3600
    afternoon, night = (hour > 15) & (hour < 17), (hour > 3) & (hour < 5)
    assert found.powered[afternoon].all() and not found.powered[night].all()
    assert found.average[afternoon].min() > np.median(found.average[night]) + 15
    outdoor = HOT_DAY[np.minimum(hour.astype(int), 23)]
    assert np.all(found.average.min(axis=1) > outdoor - 8)


def test_the_hottest_hour_of_a_day_is_as_hot_as_steady_running_there():
    found = day(MOTOR, ASKED, np.full(24, 45.0), SEASON.temp_design)
    noon = np.argmin(np.abs(found.time - 12 * 3600))
    over = LOAD.air.temp_air - ASKED.temp_outdoor
    steady = MOTOR.run(moved(LOAD, 45.0 + over), VOLTAGE).warm.temp_winding[0]
    assert np.median(found.average[noon]) == pytest.approx(np.median(steady), abs=1.0)


def test_a_cold_day_leaves_the_motor_alone():
    found = day(MOTOR, ASKED, np.full(24, 10.0), SEASON.temp_design)
    assert not found.powered.any()
    night = found.time < 6 * 3600
    np.testing.assert_allclose(found.average[night], 10.0, atol=1e-6)
    assert found.average.max() < 30.0  # the sun alone


def test_a_warm_motor_that_stops_warms_its_shell_and_starts_again():
    motor, load = picked(MOTOR, LOAD, representative(MOTOR, LOAD, VOLTAGE))
    on, off, warm = running(motor, load, VOLTAGE), idle(motor, load), motor.run(load, VOLTAGE)
    stretches = [Stretch(360.0, True, on), Stretch(960.0, False, off), Stretch(4560.0, True, on)]
    found = followed(motor, stretches, warm.warm.nodes)
    stopped = (found.time > 360) & (found.time <= 960)
    shell, before = found.temps.shell, found.temps.shell[np.searchsorted(found.time, 359.0)]
    assert np.median(shell[stopped].max(axis=0) - before) > 1.0  # the winding's heat comes out
    assert np.all(np.diff(found.average[stopped], axis=0) < 0)
    assert not found.powered[stopped].any() and found.powered[~stopped].all()
    assert warm.chance_of_start()[0] > 0.9


def test_short_cycles_age_the_winding_less_than_steady_heat():
    found = year_of_cycles(MOTOR, ASKED, SEASON)
    assert found.years.low > found.steady.low and found.years.mid >= found.steady.mid
    assert np.all(np.diff(found.reached.mid) > 0)  # the warmer, the longer the runs
    assert found.reached.mid[0] < 0.5 and found.reached.mid[-1] > 0.98


def test_where_the_unit_never_stops_both_ways_of_counting_agree():
    season = SEASON.__class__(np.array([46.0, 47.0]), np.array([500.0, 500.0]), np.ones(2), 38.0)
    motor = of_class("A")
    found = year_of_cycles(motor, ASKED, season)
    np.testing.assert_allclose(found.years, found.steady, rtol=0.05)


def test_without_a_class_there_are_no_years():
    found = year_of_cycles(of_class(None), ASKED, SEASON, samples=10)
    assert found.years is None and found.steady is None
    assert found.reached.mid.shape == found.temp_outdoor.shape


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: cycle(MOTOR, LOAD, VOLTAGE, 0.0, 30.0), "run_share: 0"),
        (lambda: cycle(MOTOR, LOAD, VOLTAGE, 0.5, 300.0), "temp_outdoor: 300 degC"),
        (lambda: day(MOTOR, ASKED, [30.0] * 23, 38.0), "temps_outdoor: 23 .* 24"),
        (lambda: day(MOTOR, ASKED, [300.0] * 24, 38.0), "temps_outdoor: 300 degC"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
