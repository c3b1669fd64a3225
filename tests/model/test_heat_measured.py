"""Readings of temperature narrow the band, and it holds the truth as often as it says."""

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.model.conditions import site_conditions
from airover.model.heat_study import (
    HeatReading,
    Measured,
    fitted,
    shell_by_thermocouple,
    winding_by_resistance,
)
from airover.model.motor import Load, Motor
from airover.physics import heat
from airover.physics.heat import at_switch_off
from tests.motor_on_roof import JOB, ROW

PROPOSALS, CASES, DRAWS = 600, 120, 200
MOTOR = Motor.from_catalog(ROW, PROPOSALS)
LOAD = Load.of(site_conditions(JOB, PROPOSALS))
READ_AT, ASKED_AT = (230.0, 40.0), (250.0, 55.0)  # V, degC of the air at the motor


def warm(motor, load, volts, temp_air):
    air = load.air._replace(temp_air=temp_air + np.zeros(len(motor.rated.power)))
    return motor.run(load._replace(air=air), volts).warm


@pytest.fixture(scope="module")
def truths():
    """Motors and loads of the same kind that the fit never saw: seed 77."""
    motor = Motor.from_catalog(ROW, CASES, seed=77)
    load = Load.of(site_conditions(JOB, CASES, seed=77))
    read, asked = (warm(motor, load, *where) for where in (READ_AT, ASKED_AT))
    return read.nodes.winding_main[0], read.nodes.shell[0], asked.temp_winding[0]


@pytest.fixture(scope="module")
def bands(truths):
    """Bands of the winding where nobody read, before and after a reading of each truth."""
    rng = np.random.default_rng(4)
    before = Band.of(warm(MOTOR, LOAD, *ASKED_AT).temp_winding).first()
    after = []
    for winding, shell, _ in zip(*truths, strict=True):
        air = READ_AT[1] + rng.normal(0, 1.0)  # the thermometer in the air is off as well
        by_ohms, by_wire = Measured(winding, 2.0), shell_by_thermocouple(shell, READ_AT[1])
        by_ohms, by_wire = (
            one._replace(temp=one.temp + rng.normal(0, one.deviation)) for one in (by_ohms, by_wire)
        )
        found = fitted(MOTOR, LOAD, [HeatReading(READ_AT[0], air, by_ohms, by_wire)], DRAWS)
        after.append(Band.of(warm(found.motor, found.load, *ASKED_AT).temp_winding).first())
    return before, after


def test_the_band_holds_the_truth_as_often_as_it_says(bands, truths):
    _, after = bands
    held = [band.low <= true <= band.high for band, true in zip(after, truths[2], strict=True)]
    assert 0.83 <= np.mean(held) <= 0.97


def test_a_reading_narrows_the_band(bands):
    before, after = bands
    widths = [band.high - band.low for band in after]
    assert np.median(widths) < 0.6 * (before.high - before.low)


def test_the_middle_follows_the_truth(bands, truths):
    mids = [band.mid for band in bands[1]]
    assert np.corrcoef(mids, truths[2])[0, 1] > 0.75


def usual(winding=None, shell=None, deviation=2.0):
    def measured(temp):
        return None if temp is None else Measured(temp, deviation)

    return HeatReading(*READ_AT, measured(winding), measured(shell))


def medians():
    found = warm(MOTOR, LOAD, *READ_AT).nodes
    return float(np.median(found.winding_main)), float(np.median(found.shell))


def test_a_shell_alone_tells_less_than_the_winding():
    winding, shell = medians()
    by_shell, by_winding = (
        fitted(MOTOR, LOAD, [usual(**kind)], DRAWS).after
        for kind in ({"shell": shell}, {"winding": winding})
    )
    widths = [band.high - band.low for band in (by_winding, by_shell)]
    assert widths[0] < widths[1]


def test_readings_at_the_middle_narrow_the_band_and_strain_nothing():
    winding, shell = medians()
    found = fitted(MOTOR, LOAD, [usual(winding, shell)], DRAWS)
    assert found.strained == ()
    assert found.after.high - found.after.low < found.before.high - found.before.low


def test_a_reading_at_the_edge_is_called_strained():
    hottest = float(np.max(warm(MOTOR, LOAD, *READ_AT).nodes.winding_main))
    found = fitted(MOTOR, LOAD, [usual(winding=hottest + 12.0, deviation=5.0)], DRAWS)
    assert found.strained


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        (usual(winding=190.0), "230 V in 104 degF air, winding: .* as hot as 374 degF"),
        (usual(shell=41.0), "shell: .* as cool as 106 degF"),
        (usual(winding=92.0, shell=98.0, deviation=0.5), "230 V in 104 degF air: .* cannot both"),
        (usual(), "the winding temperature and the shell temperature are both missing"),
        (HeatReading(230.0, 313.15, Measured(90.0, 2.0)), "temp_air: 313.15 degC"),
        (HeatReading(0.0, 40.0, Measured(90.0, 2.0)), "voltage: 0 V"),
    ],
)
def test_a_reading_that_contradicts_everything_is_refused_in_words(reading, words):
    with pytest.raises(InputError, match=words):
        fitted(MOTOR, LOAD, [reading], DRAWS)


def test_without_readings_there_is_nothing_to_fit():
    with pytest.raises(InputError, match="reading is missing"):
        fitted(MOTOR, LOAD, [], DRAWS)


# From ohms and wires to a reading


TIME = np.arange(10.0, 130.0, 10.0)


def test_a_winding_by_its_cooling_curve():
    switch_off = at_switch_off(TIME, 11.5 + 1.5 * np.exp(-TIME / 90))
    found = winding_by_resistance(10.0, 25.0, switch_off)
    assert found.temp == pytest.approx(103.0, abs=0.1)
    assert 1.0 < found.deviation < 3.0


def test_the_deviation_of_a_resistance_is_that_of_many_readings():
    """A thousand readings with the meter's errors scatter as one reading's deviation says."""
    rng = np.random.default_rng(8)
    hot, cold, temp_cold = 13.0, 10.0, 25.0
    colds = cold * (1 + rng.normal(0, 0.003, 1000))
    hots = hot + rng.normal(0, 0.02, 1000)
    temps = heat.rise_by_resistance(colds, hots, temp_cold + rng.normal(0, 1.0, 1000), 0.0)
    switch_off = at_switch_off(TIME, 11.5 + 1.5 * np.exp(-TIME / 90))
    found = winding_by_resistance(cold, temp_cold, switch_off._replace(standard_error=0.02))
    assert found.deviation == pytest.approx(temps.std(), rel=0.1)


def test_a_thermocouple_is_less_sure_the_further_from_the_air():
    near, far = (shell_by_thermocouple(temp, 40.0) for temp in (45.0, 110.0))
    assert 1.5 <= near.deviation < far.deviation < 6
    assert far.temp == 110.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda s: winding_by_resistance(14.0, 25.0, s),
            "resistance_cold: 14 ohm .* less than .* 13 ohm",
        ),
        (lambda s: winding_by_resistance(-1.0, 25.0, s), "resistance_cold: -1 ohm"),
        (lambda s: winding_by_resistance(10.0, 298.0, s), "temp_cold: 298 degC"),
        (lambda s: winding_by_resistance(10.0, 25.0, s, "silver"), "material: 'silver'"),
        (lambda s: shell_by_thermocouple(500.0, 40.0), "temp_shell: 500 degC"),
        (lambda s: shell_by_thermocouple(90.0, 313.0), "temp_air: 313 degC"),
    ],
)
def test_bad_readings_are_refused(call, words):
    with pytest.raises(InputError, match=words):
        call(at_switch_off(TIME, 11.5 + 1.5 * np.exp(-TIME / 90)))
