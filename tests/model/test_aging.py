"""Life of a winding over a year's weather."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.model.aging import (
    LONGEST,
    lifetime_over_year,
    winding_life,
    winding_temperatures,
    winding_year,
    years_of_life,
)
from airover.model.climate import Season
from airover.model.simulation import simulate
from airover.physics import insulation
from airover.records.catalog import read_catalog
from airover.records.job import Job
from tests.model.test_season import SEASON, moved

JOB = Job.read(data_folder() / "jobs" / "roof-unit.toml")
MOTORS = read_catalog(data_folder() / "catalogue.csv")[:4]
DRAWS = 20
GRID = np.array([-60.0, 60.0])


def table(above, samples=DRAWS):
    """A winding that is ``above`` kelvin over the weather, on GRID."""
    return np.repeat(GRID[:, None] + above, samples, axis=1)


def one_temperature(temp, hours):
    return Season(np.array([temp]), np.array([hours]), np.array([1.1]), temp)


def test_a_year_at_one_temperature_lasts_as_the_standards_line_says():
    # class B at its own 130 degC hot spot: 20 000 h; 2000 h a year: ten years, whatever is drawn
    season = one_temperature(30.0, 2000.0)
    from_spot = years_of_life(season, np.full((1, 2000), 122.5), "B")
    assert np.median(from_spot) == pytest.approx(10.0, rel=0.02)  # hot spot 5 to 10 K, mean 7.5
    assert from_spot.min() > 10.0 * 2 ** (-2.6 / 8)
    assert from_spot.max() < 10.0 * 2 ** (2.6 / 8)


def test_damage_adds_up_as_the_rule_says():
    # hours at two temperatures use up the sum of what each uses up alone
    both = Season(np.array([20.0, 35.0]), np.array([1500.0, 300.0]), np.ones(2), 35.0)
    winding = np.array([[105.0] * 50, [130.0] * 50])
    together = 1 / years_of_life(both, winding, "B", seed=4)
    cool = 1 / years_of_life(one_temperature(20.0, 1500.0), winding[:1], "B", seed=4)
    hot = 1 / years_of_life(one_temperature(35.0, 300.0), winding[1:], "B", seed=4)
    np.testing.assert_allclose(together, cool + hot, rtol=1e-12)


def test_mixed_hours_age_more_than_their_mean_temperature_says():
    both = Season(np.array([20.0, 35.0]), np.array([500.0, 500.0]), np.ones(2), 35.0)
    winding = np.array([[110.0] * 50, [140.0] * 50])
    steady = years_of_life(one_temperature(27.5, 1000.0), np.full((1, 50), 125.0), "B")
    assert np.all(years_of_life(both, winding, "B") < steady)


@settings(deadline=None, max_examples=25)
@given(st.floats(-5, 8), st.floats(0, 4), st.floats(60, 110))
def test_a_hotter_year_never_means_a_longer_life(kelvin, more, above):
    cooler, hotter = (Season.of(moved(k), 38.0) for k in (kelvin, kelvin + more))
    lives = [winding_year(s, GRID, table(above), "B").years for s in (cooler, hotter)]
    assert all(after <= before * (1 + 1e-9) for before, after in zip(*lives))


@given(st.floats(40, 120), st.floats(0, 20))
def test_a_hotter_winding_never_lives_longer_nor_trips_less(above, more):
    cool, hot = (winding_year(SEASON, GRID, table(x), "B") for x in (above, above + more))
    assert hot.years.mid <= cool.years.mid
    assert hot.trip.mid >= cool.trip.mid
    assert hot.hottest.mid == pytest.approx(cool.hottest.mid + more)


def test_hours_above_the_protectors_limit_by_hand():
    # class B may reach 165 degC: with 130 K above the weather, from 35 degC on
    found = winding_year(SEASON, GRID, table(130.0), "B")
    expected = SEASON.hours[SEASON.temp_outdoor + 130.0 > 165.0].sum()
    assert found.trip.mid == pytest.approx(expected)
    assert 0 < expected < found.hours == SEASON.total
    assert found.temp.mid == pytest.approx(SEASON.hours @ SEASON.temp_outdoor / SEASON.total + 130)


def test_what_the_class_does_not_tell_is_not_known():
    unknown = winding_year(SEASON, GRID, table(80.0), None)
    assert unknown.years is None and unknown.trip is None
    rare = winding_year(SEASON, GRID, table(80.0), "E")  # no protector's limit in the list
    assert rare.years is not None and rare.trip is None


def test_a_cool_winding_has_no_more_than_the_longest_life():
    assert winding_year(SEASON, GRID, table(10.0), "H").years == (LONGEST, LONGEST, LONGEST)


@pytest.mark.parametrize("grid", [[20.0, 30.0], [50.0, 10.0], [19.0, 60.0]])
def test_a_table_that_does_not_reach_is_refused(grid):
    with pytest.raises(
        InputError, match="temps_outdoor: .* Enter an ascending table that covers 18"
    ):
        winding_year(SEASON, grid, np.ones((2, 3)), "B")


def test_an_unknown_class_is_refused():
    with pytest.raises(InputError, match="insulation_class: 'Q'"):
        winding_year(SEASON, GRID, table(80.0), "Q")


# With motors of the catalog


@pytest.fixture(scope="module")
def worked_over_the_year():
    return lifetime_over_year(JOB, MOTORS, SEASON, DRAWS)


def test_the_winding_is_hotter_in_hotter_weather_but_by_less():
    # cold air is denser and loads the blade more, so the rise is less in the heat
    temps = winding_temperatures(JOB, MOTORS, [20.0, 30.0, 40.0], DRAWS)
    assert temps.shape == (3, 4, DRAWS)
    step = np.diff(temps, axis=0) / 10.0
    assert np.all((step > 0.1) & (step < 1.3))
    assert 0.6 < np.median(step) < 1.0


def test_at_the_jobs_own_temperature_it_is_what_work_finds():
    known = JOB.site.outdoor_temperature
    assert not known.is_range
    ours = winding_temperatures(JOB, MOTORS, [known.mid], DRAWS)[0]
    theirs = simulate(JOB, MOTORS, DRAWS).temp_winding[1]
    np.testing.assert_allclose(ours, theirs, atol=0.01)  # the temperature is written to 1 mK


def test_five_rows_are_enough_for_a_straight_line_between_them(worked_over_the_year):
    fine = np.linspace(SEASON.temp_outdoor[0], SEASON.temp_outdoor[-1], 13)
    winding = winding_temperatures(JOB, MOTORS, fine, DRAWS)
    for at, motor in enumerate(MOTORS):
        found = winding_year(SEASON, fine, winding[:, at], motor.insulation_class)
        coarse = worked_over_the_year[at]
        np.testing.assert_allclose(coarse.temp, found.temp, atol=0.1)
        if found.years:
            np.testing.assert_allclose(coarse.years, found.years, rtol=0.01)


def test_real_hours_are_milder_than_the_design_heat(worked_over_the_year):
    worked = simulate(JOB, MOTORS, DRAWS)
    for at, motor in enumerate(MOTORS):
        if motor.insulation_class is None:
            continue
        found, steady = worked_over_the_year[at], winding_life(worked, at)
        assert found.years.mid > steady.hours.mid / found.hours
        assert found.years.low <= found.years.mid <= found.years.high


def test_the_same_seed_gives_the_same_answer(worked_over_the_year):
    assert lifetime_over_year(JOB, MOTORS, SEASON, DRAWS) == worked_over_the_year


def test_a_motor_has_the_same_life_in_other_company(worked_over_the_year):
    alone = lifetime_over_year(JOB, MOTORS[:1], SEASON, DRAWS)
    # temperatures are settled to 0.02 K, together with the slowest of the company
    np.testing.assert_allclose(alone[0].years, worked_over_the_year[0].years, rtol=5e-3)


def test_a_job_that_says_too_little_is_refused():
    with pytest.raises(InputError, match="nameplate"):
        lifetime_over_year(Job(), MOTORS, SEASON, DRAWS)


@pytest.mark.parametrize("letter", insulation.PROTECTOR_LIMITS)
def test_every_class_with_a_protectors_limit_has_a_life(letter):
    found = winding_year(SEASON, GRID, table(90.0), letter)
    assert 0 < found.years.mid <= LONGEST
    assert found.trip.mid >= 0
