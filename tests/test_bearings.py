"""Life of a motor's bearings on a job: loads, what governs, and what changes it."""

from functools import cache

import numpy as np
import pytest

from airover.bands import Band
from airover.bearings import life as bearings
from airover.bearings import place as bearing_place
from airover.errors import InputError
from airover.motor.work import USUAL, work
from airover.physics import ball_bearing, bearing_loads, fan

from .jobs import job, motor

SIZE = ball_bearing.DEEP_GROOVE_02[15]


@cache
def worked(**of_job):
    return work(job(**of_job), (motor(bearings="ball", bearing_bore=0.015),))


def stand(**of_job) -> bearing_place.Stand:
    return bearing_place.Stand.of(worked(**of_job), 0)


def ball(changes=None, **more) -> bearings.Ball:
    place = stand()
    return bearings.ball(place, place.met(**changes or {}), SIZE, **more)


def test_the_lower_bearing_carries_weight_and_air():
    place = stand()
    found = worked()
    flow, pressure = (found.figures[name][USUAL, 0] for name in ("flow_m3s", "pressure_pa"))
    asked = found.conditions
    thrust = fan.thrust(flow, pressure, asked.blade_diameter, asked.density)
    weight = bearing_loads.GRAVITY * (asked.blade_mass + bearing_place.ROTOR_SHARE * 6.0)
    up, down = place.met("up"), place.met("down")
    np.testing.assert_allclose(up.loads.far.axial, weight + thrust)
    np.testing.assert_allclose(down.loads.blade.axial, weight + thrust)
    assert (up.loads.blade.axial == 0).all() and (down.loads.far.axial == 0).all()


def test_the_blades_overhang_makes_its_bearing_carry_more_than_the_blade():
    loads = stand().met("horizontal").loads
    blade = bearing_loads.GRAVITY * 3.5 * 0.45359237
    assert (loads.blade.steady > 1.5 * blade).all()


def test_a_known_shaft_narrows_the_overhang():
    known, not_known = stand(), bearing_place.Stand.of(
        work(job(nameplate__shaft_length=None), (motor(shaft_length=None, body_length=None),)), 0
    )  # fmt: skip
    assert np.ptp(known.overhang) < np.ptp(not_known.overhang)
    assert (known.overhang > 0).all() and (known.span < 0.127).all()


def test_lost_grams_outweigh_the_grade_and_cost_fatigue_life():
    whole, dented = (stand().met(grade=6.3, mass_lost=lost) for lost in (0.0, 0.005))
    assert (dented.loads.blade.turning > 5 * whole.loads.blade.turning).all()
    assert (ball({"mass_lost": 0.02}).fatigue < 0.5 * ball({"mass_lost": 0.0}).fatigue).all()


def test_grease_governs_and_ages_with_heat():
    usual = ball()
    assert usual.governed_by == "grease" and np.array_equal(usual.hours, usual.grease)
    cooler, hotter = ball({"warmer": -15.0}), ball({"warmer": 15.0})
    assert np.median(cooler.hours) == pytest.approx(2 * np.median(usual.hours), rel=0.25)
    assert (hotter.hours < usual.hours).all()


def test_a_horizontal_shaft_spares_the_grease():
    assert (ball({"shaft_position": "horizontal"}).grease > ball().grease).all()


def test_two_bearings_live_shorter_than_one():
    place = stand()
    met = place.met("horizontal")
    both = bearings.ball(place, met, SIZE)
    alone = [
        ball_bearing.rating_life(
            SIZE.load_rating,
            np.maximum(
                ball_bearing.equivalent_load(
                    one.radial, one.axial, SIZE.load_rating_static, bearings.F0
                ),
                both.load_least,
            ),
            met.speed_rpm,
        )
        for one in met.loads
    ]
    assert (both.basic < np.minimum(*alone)).all()
    expected = (alone[0] ** -1.5 + alone[1] ** -1.5) ** (-1 / 1.5)
    np.testing.assert_allclose(both.basic, expected)


def test_more_reliability_means_fewer_hours_of_both():
    usual, sure = ball(), ball(reliability=0.99)
    np.testing.assert_allclose(sure.fatigue, 0.25 * usual.fatigue)
    np.testing.assert_allclose(
        sure.grease, ball_bearing.grease_reliability_factor(0.99) * usual.grease
    )


def test_dirt_costs_fatigue_life_and_no_grease():
    dirty = ball(cleanliness="severe contamination")
    assert (dirty.fatigue < ball().fatigue).all() and (dirty.grease == ball().grease).all()


def test_a_light_load_is_flagged():
    assert ball({"shaft_position": "up", "grade": 6.3}).skids  # nothing but a little unbalance
    assert not ball({"shaft_position": "down"}).skids


def test_a_fall_in_its_box_dents_no_raceway():
    place = stand()
    mass = np.median(place.blade_mass + place.rotor_mass)
    expected = SIZE.load_rating_static / (mass * 9.80665 * bearings.TRANSPORT_SHOCK)
    assert ball().safety == pytest.approx(expected) and ball().safety > 1.5


def test_temperatures_broadcast():
    place = stand()
    met = place.met(warmer=np.array([[-20.0], [0.0], [20.0]]))
    found = bearings.ball(place, met, SIZE)
    assert found.hours.shape == (3, len(place.grade))
    np.testing.assert_allclose(found.hours[1], ball().hours)


def test_the_answers_life_is_that_of_the_pair():
    life = bearings.bearing_life(worked(), 0)
    assert life.kind == "ball" and life.governed_by == "grease"
    assert life.hours == Band.of(ball().hours)


def test_bad_changes_are_refused_in_one_sentence():
    for changes, words in (
        ({"shaft_position": "left"}, "shaft_position: 'left'"),
        ({"mass_lost": 5.0}, "mass_lost: 5 kg"),
        ({"discharge": "north"}, "discharge: 'north'"),
    ):
        with pytest.raises(InputError, match=words):
            stand().met(**changes)
