"""One motor on its blade: across voltage, with other capacitors, on the fans of its ratings."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.intervals import Band
from airover.model.conditions import site_conditions
from airover.model.identify import Point
from airover.model.motor import Load, Motor, capacitors, ratings
from airover.physics import compiled
from airover.records.catalog import read_catalog
from airover.records.nameplate import Nameplate
from tests.jobs import HORSEPOWER, job

PLATE = Nameplate(
    voltage="208-230 V",
    frequency="60 Hz",
    power="1/3 hp",
    current="2.0 A",
    speed="1075 rpm",
    capacitor="7.5 uF",
    capacitor_voltage="370 V",
    insulation_class="B",
    ambient_rating="60 degC",
)
VOLTAGES = np.array([187.0, 208.0, 230.0, 253.0])
CATALOG = read_catalog(data_folder() / "catalogue.csv")


@pytest.fixture(scope="module")
def motor():
    return Motor.from_nameplate(PLATE, samples=120)


@pytest.fixture(scope="module")
def run(motor):
    return motor.run(motor.rated_load(), VOLTAGES)


def test_figures_belong_together(run):
    """Volts, amps and power factor give the watts; torque and speed give the shaft's."""
    found = run.figures()
    volt_amps = np.array(VOLTAGES)[:, None] * found["current_a"]
    np.testing.assert_allclose(found["power_factor"] * volt_amps, found["power_in_w"])
    turning = found["torque_nm"] * found["speed_rpm"] * np.pi / 30
    np.testing.assert_allclose(turning, found["power_shaft_w"], rtol=1e-6)
    np.testing.assert_allclose(found["efficiency"] * found["power_in_w"], turning, rtol=1e-6)
    for name, rises in (("speed_rpm", True), ("capacitor_v", True), ("efficiency", False)):
        medians = np.median(found[name], axis=1)
        assert (medians[-1] > medians[0]) == rises, name


def test_powers_balance_in_every_draw(run):
    at = run.solution
    np.testing.assert_allclose(at.power_in, at.power_out + at.loss, rtol=1e-9)


def test_at_the_rating_it_does_what_the_plate_says(run):
    """Warm in rated air, so a little slower than the plate, whose test stand is cooler."""
    bands = run.bands()
    assert bands["current_a"].mid[2] == pytest.approx(1.94, rel=0.04)  # nameplates are high
    assert bands["speed_rpm"].mid[2] == pytest.approx(1070, abs=15)


def test_compiled_it_does_the_same(motor, run):
    if not compiled.AVAILABLE:
        pytest.skip("numba has no build for this computer")
    same = replace(motor, settle=compiled.settle).run(run.load, VOLTAGES)
    np.testing.assert_allclose(same.warm.slip, run.warm.slip, rtol=1e-6)
    np.testing.assert_allclose(same.warm.temp_winding, run.warm.temp_winding, rtol=1e-6)


def test_speed_rises_with_voltage_and_the_winding_is_hottest_at_high_line(run):
    bands = run.bands()
    assert np.all(np.diff(bands["speed_rpm"].mid) > 0)
    assert bands["temp_winding_c"].mid[3] == max(bands["temp_winding_c"].mid)


def test_room_to_trip_is_the_protectors_limit_less_the_winding(run):
    room = run.room_to_trip()
    hottest = run.bands()["temp_winding_c"]
    assert room.low[3] == pytest.approx(165 - hottest.high[3])  # class B, UL 1004-3
    unknown = Motor.from_nameplate(Nameplate(**dict(PLATE) | {"insulation_class": None}), 40)
    assert unknown.run(unknown.rated_load(), 230.0).room_to_trip() is None


def test_on_a_smaller_fan_it_still_takes_three_quarters_of_its_amps(motor):
    """A 1/3 hp motor on a 1/6 hp fan: about 1140 rpm and three quarters (own computation)."""
    light = motor.run(motor.rated_load(HORSEPOWER / 6, 1075.0), 230.0).bands()
    assert light["speed_rpm"].mid[0] == pytest.approx(1135, abs=12)
    assert 0.70 < light["current_a"].mid[0] / 2.0 < 0.88


def test_a_job_s_blade_is_a_load(motor):
    load = Load.of(site_conditions(job(), 120))
    bands = motor.run(load, 230.0).bands()
    assert 1050 < bands["speed_rpm"].mid[0] < 1110


def test_a_reading_narrows_the_amps(run):
    amps = run.bands()["current_a"]
    known = Motor.from_nameplate(PLATE, 120, measured=[Point(250.0, current=2.2)])
    after = known.run(known.rated_load(), VOLTAGES).bands()["current_a"]
    assert after.high[3] - after.low[3] < 0.7 * (amps.high[3] - amps.low[3])


def test_every_kind_of_reading_counts(motor):
    at = motor.rated.settle([230.0]).solution
    draw = 7
    readings = {
        "current": abs(at.current[draw, 0]),
        "power_in": at.power_in[draw, 0],
        "speed_rpm": at.speed_rpm[draw, 0],
        "voltage_capacitor": abs(at.voltage_capacitor[draw, 0]),
    }
    before = np.std(np.abs(at.voltage_capacitor))
    point = Point(230.0, **{name: float(value) for name, value in readings.items()})
    known = Motor.from_nameplate(PLATE, 120, measured=[point])
    after = known.rated.settle([230.0]).solution
    assert np.std(np.abs(after.voltage_capacitor)) < 0.6 * before
    assert np.median(after.power_in) == pytest.approx(readings["power_in"], rel=0.03)


@pytest.fixture(scope="module")
def steps(motor):
    return {step.share: step for step in capacitors(motor, motor.rated_load(), 230.0)}


def test_capacitors_are_named_by_their_microfarads(steps):
    assert steps[1.0].capacitance == pytest.approx(7.5e-6)
    assert steps[0.5].capacitance == pytest.approx(3.75e-6)


def test_a_weak_capacitor_starts_weakly_and_warms_the_winding(steps):
    assert steps[0.5].starting.mid < 0.6 * steps[1.0].starting.mid
    assert steps[0.5].temp_winding.mid > steps[1.0].temp_winding.mid + 3


def test_a_doubled_capacitor_starts_hard_and_burns(steps):
    assert steps[2.0].starting.mid > 1.5 * steps[1.0].starting.mid
    assert steps[2.0].temp_winding.mid > steps[1.0].temp_winding.mid + 20
    assert steps[2.0].voltage_capacitor.mid > steps[1.0].voltage_capacitor.mid


def test_a_capacitor_lives_longer_with_less_voltage_across_it(steps):
    assert steps[0.5].life.mid > steps[1.0].life.mid > steps[2.0].life.mid
    assert steps[1.0].life.low < steps[1.0].life.mid < steps[1.0].life.high


def four_rating():
    return next(m for m in CATALOG if len(m.ratings) == 4 and m.poles == 6)


def test_a_four_rating_motor_on_each_of_its_fans():
    motor = four_rating()
    steps = ratings(motor, motor.voltage_high, samples=80)
    assert [step.power for step in steps] == list(motor.ratings)
    for step in steps:
        amps = step.bands["current_a"]
        assert amps.low * 0.95 < step.plate_current < amps.high * 1.05
    # Efficiency peaks between half and full load (US DOE, "Determining Electric Motor Load and
    # Efficiency", fact sheet, from memory), and so much spare power costs efficiency.
    efficiency = [step.bands["efficiency"].mid for step in steps]
    assert efficiency[0] == min(efficiency)
    assert 0.5 <= steps[int(np.argmax(efficiency))].power / motor.ratings[-1] <= 1
    speed = [step.bands["speed_rpm"].mid for step in steps]
    assert speed == sorted(speed, reverse=True)


def test_energy_is_watts_times_hours():
    motor = four_rating()
    step = ratings(motor, 230.0, hours=1000.0, samples=40)[0]
    assert isinstance(step.energy, Band)
    assert step.energy.mid == pytest.approx(step.bands["power_in_w"].mid)
    with pytest.raises(InputError, match="hours"):
        ratings(motor, 230.0, hours=0.0)


def test_lower_ratings_amps_on_the_plate_narrow_the_ensemble():
    motor = four_rating()
    known = Motor.from_catalog(motor, 80)
    alone = Motor.from_nameplate(
        Nameplate(
            voltage=f"{motor.voltage_high:g} V", frequency="60 Hz", power="1/3 hp",
            current=f"{motor.currents[-1]} A", speed=f"{motor.speed_rpm:g} rpm",
            capacitor=f"{motor.capacitor * 1e6:g} uF",
        ),
        80,
    )  # fmt: skip
    spread = [
        np.std(m.run(m.rated_load(motor.ratings[0], motor.speed_rpm), 230.0).figures()["current_a"])
        for m in (known, alone)
    ]
    assert spread[0] < 0.6 * spread[1]


@settings(max_examples=10, deadline=None)
@given(st.sampled_from(range(len(CATALOG))))
def test_every_catalog_motor_runs_at_its_rating(number):
    """Amps within 10 % of the nameplate's, as NEMA MG 1, 12.47 allows."""
    row = CATALOG[number]
    motor = Motor.from_catalog(row, 40)
    bands = motor.run(motor.rated_load(), row.voltage_high).bands()
    assert bands["current_a"].mid[0] == pytest.approx(row.currents[-1], rel=0.10)
    assert motor.name == row.name


def test_on_fifty_hertz():
    plate = Nameplate(
        voltage="230 V", frequency="50 Hz", power="1/4 hp", current="1.5 A", speed="900 rpm",
        capacitor="6 uF",
    )  # fmt: skip
    motor = Motor.from_nameplate(plate, 40)
    bands = motor.run(motor.rated_load(), [207.0, 230.0]).bands()
    assert motor.poles == 6 and motor.frequency == 50
    assert 840 < bands["speed_rpm"].mid[1] < 920
