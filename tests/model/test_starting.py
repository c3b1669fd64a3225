"""Starts followed in time: they end where the closed form settles, or as one expects."""

import pytest

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.model.expected import Start, StartCase, starts, usual_cases
from airover.model.motor import Motor
from airover.physics.transient import RunUp
from airover.reports.motor import starts as table
from tests.model.test_motor import PLATE


@pytest.fixture(scope="module")
def motor():
    return Motor.from_nameplate(PLATE, samples=60)


@pytest.fixture(scope="module")
def found(motor):
    cases = usual_cases(230.0, 187.0)
    return dict(zip(cases, starts(motor, motor.rated_load(), cases), strict=True))


def test_a_sound_motor_starts_in_seconds_to_its_usual_speed(motor, found):
    usual = next(one.run_up for case, one in found.items() if case.name == "as it should be")
    settled = motor.run(motor.rated_load(), 230.0).bands()["speed_rpm"]
    assert usual.starts and 1.0 < usual.time < 5.0
    assert usual.speed_rpm == pytest.approx(settled.mid[0], abs=35)  # cold, so a little faster


def test_low_voltage_weak_capacitor_and_wind_take_longer(found):
    times = {case.name: one.run_up.time for case, one in found.items()}
    usual = times.pop("as it should be")
    assert all(time > usual for time in times.values())


def test_too_strong_a_wind_carries_a_weak_motor_backwards(motor):
    gale = StartCase("gale", 187.0, capacitor=0.4, wind_rpm=-500.0)
    (one,) = starts(motor, motor.rated_load(), [gale])
    assert one.run_up.direction == -1 and not one.run_up.starts


def test_a_heavier_blade_takes_longer(motor, found):
    usual = next(iter(found.values())).run_up
    (heavy,) = starts(motor, motor.rated_load(), [StartCase("heavy", 230.0)], mass=4.0)
    assert heavy.run_up.time > 1.5 * usual.time
    with pytest.raises(InputError, match="mass"):
        starts(motor, motor.rated_load(), [StartCase("wrong unit", 230.0)], mass=1400.0)


def test_the_table_says_in_words_how_a_start_ends():
    up = RunUp(True, 1, 2.38, 1099.0, 530.2, 6.44, 444.0, 777.0)
    back = up._replace(starts=False, direction=-1, speed_rpm=-900.0)
    rows = table((Start(StartCase("a", 230.0), up), Start(StartCase("b", 187.2), back)))
    assert list(rows["result"]) == ["runs", "runs backward"]
    assert list(rows["after [s]"]) == ["2.4", "2.4"]
    assert list(rows["volts"]) == ["230", "187"]


def test_the_table_is_in_spanish_too():
    up = RunUp(True, 1, 2.38, 1099.0, 530.2, 6.44, 444.0, 777.0)
    cases = [*usual_cases(230.0, 187.0), StartCase("my own", 230.0)]
    rows = table([Start(case, up) for case in cases], Writer("es"))
    assert list(rows["resultado"]) == ["gira"] * 5
    names = list(rows.iloc[:, 0])
    assert names[-1] == "my own" and "as it should be" not in names
