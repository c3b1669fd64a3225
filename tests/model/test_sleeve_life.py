"""Screening of a motor's sleeve bearings: what ends them, and what narrows the band."""

from functools import cache

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.model.aging import LONGEST_HOURS
from airover.model.bearing_duty import Stand
from airover.model.bearing_life import Reference, SleeveLife, bore_of, film, sleeve, thick_when_cold
from airover.model.simulation import simulate
from airover.physics import sleeve_running
from tests.jobs import MOTOR, job


@cache
def stand() -> Stand:
    return Stand.of(simulate(job(), (MOTOR,)), 0)


def life(reference=None, **changes) -> SleeveLife:
    return sleeve(stand(), stand().met(**changes), reference)


def width(samples) -> float:
    band = Band.of(samples)
    return band.high / band.low


def test_the_thrust_washer_rubs_all_the_time_under_a_vertical_shaft():
    up, flat = life(shaft_position="up"), life(shaft_position="horizontal")
    assert (up.washer < flat.washer).all()  # weight and thrust against thrust alone
    assert width(up.washer) > 10  # the wear coefficient is taken within a factor of twenty


def test_hours_of_the_washer_by_hand():
    z, met = stand().deviates, stand().met("down")
    inside, found = 0.0127 + 0.002, life(shaft_position="down")
    outside = inside + 2 * (0.003 + 0.003 * _level(z["washer size"]))
    pressure = met.loads.blade.axial / (np.pi / 4 * (outside**2 - inside**2))
    speed = np.pi * met.speed_rpm / 60 * (inside + outside) / 2
    wear = 1e-17 * 20 ** _level(z["wear"])  # from 1e-17 to 2e-16
    allowed = 0.2e-3 + 0.4e-3 * _level(z["washer"])
    by_hand = allowed / (wear * pressure * speed * 3600)
    np.testing.assert_allclose(found.washer, np.minimum(by_hand, LONGEST_HOURS))


def _level(deviates):
    """Evenly likely values behind normal ones."""
    order = np.argsort(np.argsort(deviates))
    return (order + 0.5) / len(deviates)


def test_oil_halves_per_some_ten_kelvin_and_the_hotter_bearing_counts():
    usual, hotter = life(), life(warmer=10.0)
    assert np.median(usual.oil / hotter.oil) == pytest.approx(2.0, rel=0.05)
    temps = stand().met().temp
    alone = sleeve_running.oil_life(np.maximum(*temps), 20_000.0, 70.0)
    assert 0.4 < np.median(usual.oil / alone) < 2.5


def test_a_heavy_unbalance_wears_the_bore():
    usual, shaken = life(grade=6.3), life(grade=6.3, mass_lost=0.02)
    assert usual.governed_by != "wear of the bore"
    assert np.median(shaken.bore) < 0.1 * np.median(usual.bore)
    assert (shaken.film_rpm > 5 * usual.film_rpm).all()
    assert (shaken.pv_bore > usual.pv_bore).all()


def test_where_the_film_is_too_thin_the_bore_rubs_all_the_time():
    shaken = life(mass_lost=0.05)
    rubs = shaken.film_rpm > stand().speed_rpm
    assert rubs.any() and not rubs.all()
    assert np.median(shaken.bore[rubs]) < 0.1 * np.median(shaken.bore[~rubs])


def test_speed_of_the_film_agrees_with_the_film_at_work():
    place, met = stand(), stand().met()
    both = film(place, met)
    full = life().film_rpm < met.speed_rpm
    lambdas = np.where(
        place.deviates["feed"] < 0, both.flooded.lambda_ratio, both.starved.lambda_ratio
    )
    assert ((lambdas > sleeve_running.FULL_FILM) == full).all()
    assert (both.starved.film_thickness < both.flooded.film_thickness).all()


def test_three_ends_together_come_sooner_than_the_first_alone():
    found = life()
    ends = np.stack([found.oil, found.bore, found.washer])
    together = np.sum(ends**-2.0, axis=0) ** -0.5  # Weibull slope 2, as for two ball bearings
    np.testing.assert_allclose(found.hours, together)
    names = ("oil", "wear of the bore", "wear of the thrust washer")
    shares = [np.mean(ends.argmin(axis=0) == at) for at in range(3)]
    assert list(found.first.values()) == shares and tuple(found.first) == names
    assert found.governed_by == names[int(np.argmax(shares))]


def test_a_reliability_moves_every_end_alike():
    met = stand().met()
    median, l10 = (sleeve(stand(), met, None, share) for share in (0.5, 0.9))
    assert np.median(l10.oil / median.oil) == pytest.approx((np.log(1 / 0.9) / np.log(2)) ** 0.5)
    assert (l10.hours < median.hours).all()


def test_a_horizontal_shaft_keeps_its_oil():
    up, flat = life(shaft_position="up"), life(shaft_position="horizontal")
    gain = flat.oil / up.oil
    assert (gain >= 1).all() and (gain <= 2).all() and np.median(gain) > 1.2


def test_oil_is_too_thick_in_hard_frost_only():
    assert thick_when_cold(stand(), -25.0) and not thick_when_cold(stand(), 5.0)


def test_a_reference_of_the_users_own_narrows_the_band():
    met = stand().met()
    temp = float(np.median(met.temp.far))
    known = life(Reference(10_000.0, temp))
    # Oil lasts half as long per some 10 K, and the air at the motor stays unknown within 40 K.
    assert width(known.hours) < 0.75 * width(life().hours)
    assert (known.washer >= 10_000.0 * 0.999).all()  # they lasted that long, so it wears no faster
    assert np.median(known.oil) == pytest.approx(10_000, rel=0.25)


def test_a_bore_is_one_of_a_usual_motor():
    bore = bore_of(stand())
    assert bore.diameter == pytest.approx(0.0127)
    assert (bore.length_to_diameter >= 1.2).all() and (bore.clearance > 6 * bore.roughness).all()


def test_temperatures_broadcast():
    met = stand().met(warmer=np.array([[-20.0], [0.0], [20.0]]))
    found = sleeve(stand(), met)
    assert found.hours.shape == (3, len(stand().grade))
    np.testing.assert_allclose(found.hours[1], life().hours)


def test_a_bad_reference_is_refused_in_one_sentence():
    for reference, words in (
        (Reference(0.0, 70.0), "life_reference: 0 h"),
        (Reference(9000.0, 343.0), "temp_oil_reference: 343 degC"),
    ):
        with pytest.raises(InputError, match=words):
            life(reference)
