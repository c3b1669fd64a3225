"""Hours of running, the air at the motor, and the price of too little airflow."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.model.climate import (
    HOURS,
    Season,
    Unit,
    Year,
    example_year,
    run_fraction,
    running,
    shortfall,
)
from airover.physics import coil, compressor

temps = st.floats(-60, 60)
YEAR = example_year()
SEASON = Season.of(YEAR)
THREE_TONS = Unit(cooling=10.55e3, flow=1.1327)  # 36 000 Btu/h, 2400 cfm


def moved(kelvin):
    """The example year, hotter by ``kelvin``, with its moisture in per cent unchanged."""
    temp = np.clip(YEAR.temp_outdoor + kelvin, -60, 60)
    return Year("", "", YEAR.elevation, temp, YEAR.relative_humidity, YEAR.pressure)


@given(st.lists(temps, min_size=1, max_size=20), st.floats(-20, 30), st.floats(1.01, 30))
def test_the_share_of_running_lies_within_0_and_1_and_rises(outdoor, balance, over):
    share = run_fraction(sorted(outdoor), balance + over, balance)
    assert np.all((0 <= share) & (share <= 1))
    assert np.all(np.diff(share) >= 0)


def test_the_cooling_line_by_hand():
    outdoor = [[17.9, 18.0, 23.0], [28.0, 38.0, 50.0]]
    expected = [[0.0, 0.0, 0.25], [0.5, 1.0, 1.0]]
    np.testing.assert_allclose(run_fraction(outdoor, 38.0), expected)
    assert isinstance(run_fraction(25.0, 38.0), float)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: run_fraction(95.0, 38.0), "temp_outdoor: 95 degC"),
        (lambda: run_fraction(25.0, 18.5), "temp_design over temp_balance: 0.5 K"),
        (lambda: run_fraction(25.0, 100.0), "temp_design: 100 degC"),
        (lambda: Season.of(moved(-50), 38.0), "warmest hour of the weather file: -8.3 degC"),
        (lambda: running(THREE_TONS, 35.0, 1.13, 0.1), "flow_ratio: 0.1"),
        (lambda: running(THREE_TONS, 35.0, 1.13, [1, 80]), "flow_ratio: 80"),
        (lambda: running(Unit(3.0, 1.1), 35.0, 1.13), "cooling: 3 W"),
        (lambda: running(Unit(10e3, 2400.0), 35.0, 1.13), "flow: 2,400 m3/s"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError, match=words):
        call()


def test_hours_of_running_are_the_degree_hours_over_the_line():
    # below the design temperature each kelvin above balance is 1/(design - balance) of an hour
    season = Season.of(YEAR, temp_design=45.0)
    degree_hours = np.maximum(YEAR.temp_outdoor - 18.0, 0).sum()
    assert season.total == pytest.approx(degree_hours / 27.0, rel=1e-12)
    assert np.all(np.diff(season.temp_outdoor) > 0)
    assert season.temp_outdoor[0] > 18.0


def test_density_is_that_of_the_hours_at_each_temperature():
    at = len(SEASON.temp_outdoor) // 2
    same = YEAR.temp_outdoor == SEASON.temp_outdoor[at]
    assert SEASON.density[at] == pytest.approx(YEAR.density[same].mean(), rel=1e-12)


@settings(deadline=None, max_examples=20)
@given(st.floats(0, 8), st.floats(0, 3))
def test_a_hotter_year_runs_longer(kelvin, more):
    cooler, hotter = (Season.of(moved(k), 38.0) for k in (kelvin, kelvin + more))
    assert hotter.total >= cooler.total - 1e-9


# The unit


def test_the_balance_of_heat_and_power_holds():
    unit = Unit(10.55e3, 1.1327, recirculated=0.08)
    at = running(unit, 35.0, 1.13, 0.9)
    heat = 10.55e3 + at.power
    entering = coil.entering_temperature(heat, 1.1327 * 0.9, 35.0, 0.08, 1.13)
    share = coil.effectiveness(0.65, 0.9, 0.6)
    condensing = coil.condensing_temperature(heat, 1.1327 * 0.9, entering, share, 1.13)
    assert at.temp_condensing == pytest.approx(condensing, abs=1e-5)
    assert at.power == pytest.approx(compressor.compressor_power(10.55e3, condensing), rel=1e-7)
    leaving = coil.leaving_temperature(heat, 1.1327 * 0.9, entering, 1.13)
    assert at.temp_motor == pytest.approx(leaving, abs=1e-5)
    assert not at.beyond


@settings(deadline=None)
@given(
    st.floats(18, 40), st.floats(0.4, 1.2), st.floats(0.02, 0.3), st.floats(0, 0.15),
    st.sampled_from(sorted(compressor.FITS)),
)  # fmt: skip
def test_less_air_never_condenses_cooler_nor_takes_less_power(outdoor, ratio, less, again, name):
    unit = Unit(9e3, 1.2, recirculated=again, refrigerant=name)
    more, fewer = (running(unit, outdoor, 1.15, r) for r in (ratio, max(ratio - less, 0.3)))
    assert fewer.temp_condensing >= more.temp_condensing - 1e-5
    assert fewer.temp_motor > more.temp_motor
    assert fewer.power >= more.power - 1e-3


def test_where_it_would_condense_too_hot_it_says_so():
    at = running(Unit(10.55e3, 1.1327), [30.0, 50.0], 1.1, 0.6)
    assert at.beyond.tolist() == [False, True]
    assert at.temp_condensing[1] > compressor.RANGE_CONDENSING.high
    limit = compressor.compressor_power(10.55e3, compressor.RANGE_CONDENSING.high)
    assert at.power[1] == pytest.approx(limit)


def test_in_cool_air_the_head_pressure_is_held():
    at = running(Unit(2e3, 1.5), 5.0, 1.25)
    assert at.temp_condensing == pytest.approx(22.23, abs=0.01)


def test_a_fifth_less_air_costs_about_a_tenth_of_the_compressors_year():
    # the trade's figure for one hour, from memory; here with the compressor's own heat as well
    found = shortfall(SEASON, THREE_TONS, 0.8)
    assert 0.08 < found.share.mid < 0.16
    assert found.extra.mid == pytest.approx(found.share.mid * found.energy.mid)
    assert found.motor.mid > 2


def test_a_year_hour_by_hour_gives_the_same_energy():
    share = run_fraction(YEAR.temp_outdoor, SEASON.temp_design)
    runs = share > 0
    power = running(THREE_TONS, YEAR.temp_outdoor[runs], YEAR.density[runs]).power
    by_hour = share[runs] @ power / 1000
    assert shortfall(SEASON, THREE_TONS, 1.0).energy.mid == pytest.approx(by_hour, rel=1e-4)


def test_nothing_is_paid_at_full_airflow_and_more_the_less_air():
    unit = Unit.usual(9e3, 1.1327, samples=60)
    extra = [shortfall(SEASON, unit, ratio).extra for ratio in (1.0, 0.9, 0.8, 0.6)]
    assert extra[0] == (0, 0, 0)
    assert all(np.all(np.diff(each) > 0) for each in zip(*extra))
    assert shortfall(SEASON, unit, 1.1).extra.high < 0


def test_samples_of_airflow_and_unit_go_together():
    unit = Unit.usual(9e3, 1.1327, samples=60, seed=3)
    found = shortfall(SEASON, unit, np.linspace(0.7, 1.0, 60))
    assert found.extra.low < found.extra.mid < found.extra.high
    assert found == shortfall(SEASON, Unit.usual(9e3, 1.1327, samples=60, seed=3),
                              np.linspace(0.7, 1.0, 60))  # fmt: skip
    assert shortfall(SEASON, Unit(9e3, 1.1327, 0.6), [0.8, 0.9]).extra.high > 0


def test_hours_add_up_to_a_year_at_most():
    assert Season.of(YEAR, 19.5, 18.0).total < HOURS
