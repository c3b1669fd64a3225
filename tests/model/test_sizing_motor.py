"""Motors on a sized duty: larger and smaller ones, and a coil that gets dirty."""

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.model.motor import Motor
from airover.model.sizing import HORSEPOWER, Air, at_rating, dirty_coil, duty, load_of, tried
from airover.physics.air_path import System
from airover.physics.fan import FanCurve
from tests.jobs import MOTOR, motor
from tests.model.test_sizing import FAN, FLOW, POWER, PRESSURE

QUARTER = motor(model="test-4", ratings=(HORSEPOWER / 4,), currents=(1.5,), capacitor=6e-6)
HALF = motor(model="test-2", ratings=(HORSEPOWER / 2,), currents=(2.7,), capacitor=10e-6)
AIR = Air(38.0, 13000.0, 0.56)
PARTS = System(20.0, (8.0,), 1.1)


@pytest.fixture(scope="module")
def swept():
    known = Motor.from_catalog(MOTOR, samples=80)
    return dirty_coil(FAN, PARTS, known, AIR, 1.1, 230.0, 1075.0, (1.0, 1.5, 2.0, 3.0, 4.0))


def column(swept, name):
    return np.array([step.bands[name].mid for step in swept.steps])


def test_dirt_moves_everything_the_way_it_must(swept):
    assert swept.beyond == () and [step.dirt for step in swept.steps] == [1.0, 1.5, 2.0, 3.0, 4.0]
    for falls in ("flow_m3s", "speed_rpm"):
        assert np.all(np.diff(column(swept, falls)) < 0)
    for rises in ("power_shaft_w", "current_a", "power_in_w", "temp_air_c", "temp_winding_c"):
        assert np.all(np.diff(column(swept, rises)) > 0)


def test_motor_fan_and_coil_agree_in_each_step(swept):
    """Another road: the curve at the motor's own speed, and the balance of the coil's heat."""
    for step in swept.steps:
        speed = step.bands["speed_rpm"].mid
        point = FAN.operating_point(PARTS.resistance(1.1, step.dirt), speed, 1.1)
        assert step.bands["flow_m3s"].mid == pytest.approx(point.flow, rel=2e-3)
        assert step.bands["power_shaft_w"].mid == pytest.approx(point.power, rel=5e-3)
        rise = 13000 / (1.1 * 1004.8 * point.flow)
        assert step.bands["temp_air_c"].mid - 38.0 == pytest.approx(rise, rel=0.03)


def test_dirt_beyond_the_measured_curve_is_said_and_not_made_up():
    fan = FanCurve(FLOW[4:], PRESSURE[4:], POWER[4:], 1075.0, 1.2)
    known = Motor.from_catalog(MOTOR, samples=30)
    swept = dirty_coil(fan, PARTS, known, AIR, 1.1, 230.0, 1075.0, (1.0, 2.0, 20.0))
    assert [step.dirt for step in swept.steps] == [1.0, 2.0] and swept.beyond == (20.0,)
    with pytest.raises(InputError, match="resistance"):
        dirty_coil(fan, System(500.0, (), 1.1), known, AIR, 1.1, 230.0, 1075.0)


def test_the_next_smaller_and_larger_motor():
    found = tried(duty(FAN, 30.0, 1075.0, 1.1, 60), (QUARTER, MOTOR, HALF), 48.0, 0.56, 230.0)
    assert [one.rating.text for one in found] == ["1/4 hp", "1/3 hp", "1/2 hp"]
    assert [one.motor for one in found] == [QUARTER, MOTOR, HALF]
    for name in ("speed_rpm", "current_a", "power_in_w"):
        values = [one.bands[name].mid for one in found]
        assert values == sorted(values)
    assert found[0].load.mid > 1 > found[1].load.mid > found[2].load.mid
    assert found[0].room.mid < found[1].room.mid


def test_a_rating_that_no_motor_has_is_shown_empty():
    found = tried(duty(FAN, 30.0, 1075.0, 1.1, 20), (MOTOR,), 48.0, 0.56, 230.0)
    assert [one.motor for one in found] == [None, MOTOR, None]
    assert found[0].bands is None and found[0].rating.text == "1/4 hp"


def test_a_motor_is_chosen_for_its_line():
    high = motor(voltage_low=460.0, voltage_high=460.0, currents=(0.95,))
    assert at_rating((high, MOTOR), HORSEPOWER / 3, 6, 230.0) is MOTOR
    assert at_rating((high, MOTOR), HORSEPOWER / 3, 6, 460.0) is high
    assert at_rating((high, MOTOR), HORSEPOWER / 3, 8, 230.0) is None
    assert at_rating((MOTOR,), HORSEPOWER / 2, 6, 230.0) is None


def test_the_load_is_the_duty_over_the_cube_of_the_speed():
    known = duty(FAN, (25.0, 35.0), 1075.0, 1.1, 50)
    load = load_of(known, 45.0, 0.56)
    np.testing.assert_allclose(load.coefficient * (1075 * np.pi / 30) ** 3, known.power)
    mean = known.flow / (np.pi / 4 * 0.56**2)
    assert np.all((load.air.speed > 0.79 * mean) & (load.air.speed < 1.41 * mean))
    with pytest.raises(InputError, match="diameter: 22 m"):
        load_of(known, 45.0, 22.0)
