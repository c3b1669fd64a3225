"""A protector: locked rotor, overload, trips in a year."""

from dataclasses import replace

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.model.climate import Season
from airover.model.temperature_history import (
    CAUSES,
    RESET_BELOW_TRIP,
    TRIP_BELOW_LIMIT,
    locked_rotor,
    nuisance_trips,
    overload,
    usual_protector,
)
from airover.physics import insulation
from tests.motor_on_roof import ASKED, DRAWS, LOAD, MOTOR, SEASON, VOLTAGE, in_air, of_class


@pytest.mark.parametrize("letter", "ABFH")
def test_a_usual_protector_opens_below_the_standards_limit_and_closes_lower(letter):
    found = usual_protector(letter, 200)
    below = insulation.protector_limit(letter) - found.trip
    assert np.all((below >= TRIP_BELOW_LIMIT[0]) & (below <= TRIP_BELOW_LIMIT[1]))
    apart = found.trip - found.reset
    assert np.all((apart >= RESET_BELOW_TRIP[0]) & (apart <= RESET_BELOW_TRIP[1]))
    np.testing.assert_allclose(sum(found.senses), 1.0)


@pytest.fixture(scope="module")
def blocked():
    return locked_rotor(MOTOR, LOAD, VOLTAGE)


def test_a_blocked_blade_trips_the_protector_and_cycles_it(blocked):
    assert blocked.share == 1.0
    assert 60 < blocked.time_to_trip.mid and blocked.time_to_trip.high < 900
    assert 300 < blocked.time_to_reset.mid < 3600
    assert 1 < blocked.cycles_per_hour.mid < 6
    # on a hot roof some of the likely motors are at their trip temperature before they stall
    assert 20 < locked_rotor(MOTOR, in_air(40.0), VOLTAGE).time_to_trip.low


def test_a_locked_windings_peak_keeps_the_standards_limit(blocked):
    trip = usual_protector("B", 20).trip
    assert blocked.peak.low > trip.min()
    assert blocked.peak.high < blocked.first_hour == 225.0
    assert blocked.later == 200.0
    after_an_hour = blocked.history.hottest[blocked.history.time > 3600]
    assert after_an_hour.max() < blocked.later


def test_times_are_those_of_the_history(blocked):
    history, samples = blocked.history, blocked.history.closed.shape[1]
    for at in range(samples):
        flips = np.flatnonzero(np.diff(history.closed[:, at].astype(int)))
        assert np.all(np.diff(history.closed[flips + 1, at].astype(int)) != 0)  # in turns
    first = [history.time[np.argmin(history.closed[:, at])] for at in range(samples)]
    assert min(first) == 0  # so warm from its work that the protector is open from the beginning
    np.testing.assert_allclose(blocked.time_to_trip, np.quantile(first, (0.05, 0.5, 0.95)))


def test_an_open_capacitor_begins_cool_and_takes_longer(blocked):
    found = locked_rotor(MOTOR, LOAD, VOLTAGE, "capacitor open")
    start = found.history.average[0]
    assert np.all(np.isin(np.round(start, 6), np.round(LOAD.air.temp_air, 6)))
    assert found.time_to_trip.mid > blocked.time_to_trip.mid


def test_a_higher_class_takes_longer_to_trip(blocked):
    found = locked_rotor(of_class("F"), LOAD, VOLTAGE)
    assert found.time_to_trip.mid > blocked.time_to_trip.mid
    assert found.first_hour == 250.0


def test_a_motor_within_its_rating_runs_on():
    """Rated for 60 degC, in air of 50; on the roof, at 54 degC with sun, one of 20 may trip."""
    found = overload(MOTOR, in_air(50.0), VOLTAGE, duration=7200.0)
    assert found.share == 0 and found.time_to_trip is None and found.cycles_per_hour is None
    assert found.time_to_reset is None
    assert found.history.closed.all()
    assert overload(MOTOR, LOAD, VOLTAGE, duration=7200.0).share <= 0.05


def test_air_too_hot_trips_a_running_motor_again_and_again():
    heavy = in_air(60.0)._replace(coefficient=1.8 * LOAD.coefficient)
    found = overload(of_class("A"), heavy, VOLTAGE, duration=6 * 3600.0)
    assert found.share > 0.8
    assert 600 < found.time_to_trip.mid < 4 * 3600
    assert 0.3 < found.cycles_per_hour.mid < 3
    assert np.all(found.history.hottest.max(axis=0) < 160)


def test_where_the_air_is_hotter_than_the_reset_it_stays_open():
    found = overload(of_class("A"), in_air(88.0), VOLTAGE, duration=6 * 3600.0)
    assert found.share > 0.8 and found.time_to_reset is None and found.cycles_per_hour is None


def test_no_trips_in_a_usual_year_is_a_band_of_none():
    found = nuisance_trips(of_class("H"), ASKED, SEASON)
    assert found.chance == 0
    assert found.trips == found.hours == (0, 0, 0)
    assert found.room.low > 0


def test_a_class_b_motor_on_a_hot_roof_most_likely_does_not_trip():
    """Its rise may be up to 1.18 times what its class allows, so a few in 100 do."""
    found = nuisance_trips(MOTOR, ASKED, SEASON)
    assert found.trips.mid == found.hours.mid == 0 and found.room.mid > 10
    assert 0 < found.chance < 0.2


@pytest.fixture(scope="module")
def scorching():
    """A class A motor in a court where the air is 45 K hotter than the weather."""
    asked = replace(ASKED, temp_air=ASKED.temp_air + 32.0)
    return asked, nuisance_trips(of_class("A"), asked, SEASON)


def test_a_motor_that_is_too_hot_trips_in_the_hot_hours(scorching):
    _, found = scorching
    assert found.chance > 0.5
    assert 0 < found.hours.mid < SEASON.total
    assert found.trips.high > found.hours.high * 0.25
    assert found.room.mid < 0


def test_hours_of_trips_by_hand(scorching):
    """At one voltage, draw by draw: those hours whose steady temperature is over the trip."""
    asked, _ = scorching
    asked = replace(asked, voltage=np.full(3, VOLTAGE))
    found = nuisance_trips(of_class("A"), asked, SEASON)
    protector = usual_protector("A", DRAWS)
    over = asked.temp_air - asked.temp_outdoor
    hours = np.zeros(DRAWS)
    for part in np.array_split(np.arange(SEASON.hours.size), 20):
        temp, each = SEASON.temp_outdoor[part].mean(), SEASON.hours[part].sum()
        load = LOAD._replace(
            coefficient=LOAD.coefficient * (asked.temp_air + 273.15) / (temp + over + 273.15),
            air=LOAD.air._replace(temp_air=temp + over),
        )
        nodes = MOTOR.run(load, VOLTAGE).warm.nodes
        hours += each * (protector.felt(nodes)[0] >= protector.trip)
    assert found.hours.mid == pytest.approx(np.median(hours), rel=0.1, abs=20)


def test_a_hotter_year_trips_more(scorching):
    asked, usual = scorching
    hotter = Season(SEASON.temp_outdoor + 2, SEASON.hours, SEASON.density, SEASON.temp_design + 2)
    found = nuisance_trips(of_class("A"), asked, hotter)
    assert found.hours.mid > usual.hours.mid and found.room.mid < usual.room.mid


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: usual_protector("E", 10), "insulation_class: 'E'"),
        (lambda: usual_protector(None, 10), "insulation_class: None"),
        (lambda: locked_rotor(of_class(None), LOAD, VOLTAGE), "insulation_class: None"),
        (lambda: locked_rotor(MOTOR, LOAD, VOLTAGE, "rust"), f"cause: 'rust' .* {CAUSES[0]}"),
        (lambda: overload(MOTOR, LOAD, VOLTAGE, duration=1.0), "duration: 1 s"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
