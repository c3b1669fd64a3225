"""From outdoor air to the hottest spot, margins, life against ambient, classes, altitude."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.model.aging import HOT_SPOT_OVER_AVERAGE, life_hours
from airover.model.conditions import site_conditions
from airover.model.heat_study import (
    LONGEST_YEARS,
    HeatStudy,
    against_ambient,
    altitude_effects,
    class_change,
)
from airover.model.motor import Load, Motor
from airover.physics import insulation
from tests.motor_on_roof import ASKED, DRAWS, JOB, LOAD, MOTOR, ROW, SEASON, VOLTAGE, of_class

BETTER = replace(ROW, insulation_class="F", ambient_rating=70.0)


@pytest.fixture(scope="module")
def study():
    return HeatStudy.of(MOTOR, ASKED)


def test_the_budget_starts_outdoors_and_ends_at_the_hottest_spot(study):
    parts = study.budget
    assert parts[0].name == "outdoor air" and parts[0].kelvin == parts[0].upto
    np.testing.assert_allclose(parts[-1].upto, np.quantile(study.hot_spot, (0.05, 0.5, 0.95)))
    mids = [part.upto.mid for part in parts]
    assert np.all(np.diff(mids) > 0)
    low, high = HOT_SPOT_OVER_AVERAGE
    assert low <= parts[-1].kelvin.low <= parts[-1].kelvin.high <= high


def test_the_parts_of_each_draw_add_up():
    """Of one draw, since medians of parts do not add up where a range is skewed."""
    study = HeatStudy.of(Motor.from_catalog(ROW, 1), site_conditions(JOB, 1))
    total = sum(part.kelvin.mid for part in study.budget)
    assert total == pytest.approx(study.hot_spot[0], abs=1e-9)


def test_the_suns_part_is_what_the_sun_adds(study):
    dark = HeatStudy.of(MOTOR, replace(ASKED, sun=0 * ASKED.sun))
    by_name = {part.name: part for part in study.budget}
    dark_parts = {part.name: part for part in dark.budget}
    np.testing.assert_allclose(dark_parts["sun on the shell"].kelvin, 0, atol=1e-9)
    assert by_name["sun on the shell"].kelvin.mid > 0.3
    shells = (one.run.warm.temp_shell[0] for one in (study, dark))
    difference = np.median(np.subtract(*shells))
    assert by_name["sun on the shell"].kelvin.mid == pytest.approx(difference, abs=1e-3)


def test_it_is_the_steady_run(study):
    np.testing.assert_allclose(study.winding, MOTOR.run(LOAD, VOLTAGE).warm.temp_winding[0])


def test_each_limit_is_held_against_its_own_kind_of_temperature(study):
    """Pitfall: a class temperature is a hottest spot's, a rise by resistance an average's."""
    np.testing.assert_allclose(study.margin, np.quantile(130.0 - study.hot_spot, (0.05, 0.5, 0.95)))
    rise = study.winding - ASKED.temp_air
    allowed = 85.0 - (ASKED.temp_air - 40.0)
    np.testing.assert_allclose(study.rise_margin, np.quantile(allowed - rise, (0.05, 0.5, 0.95)))
    assert study.rise.mid == pytest.approx(np.median(rise))
    # the standard leaves room for the hottest spot: 130 - (40 + 85) = 5 K
    apart = np.median(130.0 - study.hot_spot) - study.rise_margin.mid
    assert apart == pytest.approx(5.0 - 7.5, abs=1.0)


def test_without_a_class_margins_are_missing():
    found = HeatStudy.of(of_class(None), ASKED)
    assert found.margin is None and found.hours is None and found.rise_margin is None
    rare = HeatStudy.of(of_class("E"), ASKED)
    assert rare.margin is not None and rare.rise_margin is None


def test_against_ambient_is_the_study_on_each_day(study):
    outdoor = np.array([20.0, float(np.median(ASKED.temp_outdoor)), 50.0])
    found = against_ambient(MOTOR, ASKED, outdoor)
    assert found.hot_spot.mid.shape == found.margin.mid.shape == found.hours.mid.shape == (3,)
    assert found.hot_spot.mid[1] == pytest.approx(np.median(study.hot_spot), abs=0.3)
    np.testing.assert_allclose(found.margin.mid, 130.0 - found.hot_spot.mid)
    assert found.hours.mid[1] == pytest.approx(study.hours.mid, rel=0.03)


@settings(deadline=None, max_examples=10)
@given(st.floats(-10, 45), st.floats(1, 12))
def test_warmer_weather_never_leaves_more(temp, more):
    found = against_ambient(MOTOR, ASKED, [temp, temp + more])
    for band in (found.margin, found.hours):
        assert all(np.all(np.diff(end) <= 1e-9) for end in band)
    assert np.all(np.diff(found.hot_spot.mid) < 1.3 * more)


def test_one_temperature_is_enough():
    assert against_ambient(MOTOR, ASKED, 35.0).margin.mid.shape == (1,)
    assert against_ambient(of_class(None), ASKED, 35.0).hours is None


@pytest.fixture(scope="module")
def change():
    return class_change(JOB, [ROW, BETTER], SEASON)


def test_class_f_at_70_buys_less_than_the_25_kelvin_between_the_classes(change):
    """It may be cooled less well: its rating allows 80 K at 70 degC, the other 65 K at 60.

    That takes 23 % of the rise, so the hottest of the likely motors, whose rise is near 95 K,
    keeps almost nothing of the 25 K, and the usual one with 62 K about ten.
    """
    first, second = change.margins
    assert second.mid > first.mid
    assert 0 < change.more_margin.low <= change.more_margin.high <= 25.001
    assert 5 < change.more_margin.mid < 15
    assert change.more_margin.mid == pytest.approx(second.mid - first.mid, abs=3.0)
    at_60, at_70 = change.ambient_margins
    assert at_70.mid - at_60.mid == pytest.approx(10.0)


def test_the_years_it_buys_follow_from_the_kelvin(change):
    """Halving in 8 to 10 K: so many kelvin are so many times the life, in every hour alike."""
    low, high = 2 ** (change.more_margin.low / 10), 2 ** (change.more_margin.high / 8)
    assert low * 0.9 < change.times.low < change.times.mid < change.times.high < high * 1.1
    assert change.years[1].mid >= change.years[0].mid
    assert change.years[1].high <= LONGEST_YEARS


def test_the_same_motor_twice_buys_nothing():
    found = class_change(JOB, [ROW, ROW], SEASON, samples=10)
    np.testing.assert_allclose(found.more_margin, 0, atol=0.05)  # settled to 0.02 K
    np.testing.assert_allclose(found.times, 1, atol=0.01)
    assert found.ambient_margins[0] == found.ambient_margins[1]


def test_a_rating_that_is_not_known_has_no_margin():
    found = class_change(JOB, [ROW, replace(BETTER, ambient_rating=None)], SEASON, samples=10)
    assert found.ambient_margins[1] is None


def test_height_lightens_the_load_and_thins_the_stream():
    found = altitude_effects(MOTOR, JOB, 1600.0)
    # the losses of some motors, balanced near full load, hardly fall or even rise with less load
    assert found.load.mid < 0 < found.cooling.low
    assert found.load.high < -found.load.low
    assert found.coil.low > 0
    parts = found.load.mid + found.cooling.mid + found.coil.mid
    assert found.together.mid == pytest.approx(parts, abs=1.0)
    assert found.factor == pytest.approx(0.94)
    assert found.standard_loss == pytest.approx(0.06 * 85.0)


def test_the_standards_factor_is_of_the_size_of_what_it_stands_for():
    """Outside check of the sum: 1 % of the rise for each 100 m above 1000 m."""
    low, high = (altitude_effects(MOTOR, JOB, height) for height in (1000.0, 3000.0))
    ours = high.together.mid - low.together.mid
    standard = 0.2 * HeatStudy.of(MOTOR, ASKED).rise.mid
    assert 0.2 * standard < ours < 1.5 * standard


def test_at_sea_level_height_changes_nothing():
    found = altitude_effects(MOTOR, JOB, 0.0)
    for band in (found.load, found.cooling, found.coil, found.together):
        np.testing.assert_allclose(band, 0, atol=0.05)
    assert found.factor == 1 and found.standard_loss == 0
    assert altitude_effects(of_class("E"), JOB, 0.0).standard_loss is None


def test_a_high_site_is_in_the_budget_once():
    """The job's own elevation is in its load, stream and coil; the factor is nowhere in it."""
    site = JOB.site.model_copy(update={"elevation": None})
    flat = site_conditions(JOB.model_copy(update={"site": site}), DRAWS)
    rises = [
        np.median(MOTOR.run(Load.of(asked), VOLTAGE).warm.temp_winding) for asked in (flat, ASKED)
    ]
    expected = altitude_effects(MOTOR, JOB, JOB.site.elevation.mid, VOLTAGE).together.mid
    assert rises[1] - rises[0] == pytest.approx(expected, abs=0.4)


def test_life_at_the_study_is_that_of_the_standards_line(study):
    hours = np.minimum(life_hours(study.winding, "B"), 1e6)
    assert study.hours.mid == pytest.approx(np.median(hours))
    slowest = insulation.life(study.hot_spot, "B", 8.0)
    assert study.hours.high <= np.maximum(slowest, insulation.life(study.hot_spot, "B", 10.0)).max()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: against_ambient(MOTOR, ASKED, [300.0]), "temps_outdoor: 300 degC"),
        (lambda: class_change(JOB, [ROW], SEASON), "motors: .* is 1.* two"),
        (
            lambda: class_change(JOB, [ROW, replace(ROW, insulation_class=None)], SEASON),
            "motors: .*insulation class",
        ),
        (lambda: altitude_effects(MOTOR, JOB, 16_000.0), "elevation: 16,000 m"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()
