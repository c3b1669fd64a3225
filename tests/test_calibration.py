"""The band holds the truth as often as it says, on motors that the code never saw."""

import runpy

import numpy as np
import pytest

from airover.identify import Plate, Point, ensemble
from airover.locations import data_folder
from airover.motor import work
from airover.physics.operating_point import settle
from airover.records import read_catalogue

from .recipe import FREQUENCY, VOLTAGE, truths

MOTORS, DRAWS = 400, 80
VOLTAGES = np.linspace(180.0, 260.0, 5)
READ_AT = 245.0
METER = 0.015  # deviation of a clamp meter, as a share


@pytest.fixture(scope="module")
def motors():
    return truths(MOTORS, seed=11)


def plates(motors) -> Plate:
    def everywhere(value):
        return np.full(MOTORS, value)

    return Plate(
        voltage=everywhere(VOLTAGE),
        frequency=everywhere(FREQUENCY),
        poles=motors.circuit.poles,
        power=motors.power,
        current=motors.plate_current,
        speed_rpm=motors.plate_rpm,
        capacitance=motors.circuit.capacitance,
        capacitor_voltage=everywhere(np.nan),
    )


def band(motors, measured=()):
    """Low and high end of the amps' band, motors x voltages."""
    found = ensemble(plates(motors), DRAWS, measured=measured)
    assert found.met.all()
    ends = [
        np.quantile(
            np.abs(settle(found.circuit, volts, FREQUENCY, found.coefficient).solution.current),
            (0.05, 0.95),
            axis=1,
        )
        for volts in VOLTAGES
    ]
    return np.moveaxis(np.array(ends), 0, -1)


@pytest.fixture(scope="module")
def from_plate(motors):
    return band(motors)


@pytest.fixture(scope="module")
def with_a_reading(motors):
    error = np.random.default_rng(3).normal(0.0, METER, (MOTORS, 1))
    amps = motors.amps(READ_AT) * (1 + error)
    return band(motors, [Point(READ_AT, current=amps)])


def held(ends, truth):
    return float(np.mean((ends[0] <= truth) & (truth <= ends[1])))


def test_amps_from_the_plate_alone(motors, from_plate):
    assert 0.85 <= held(from_plate, motors.amps(VOLTAGES)) <= 0.95


def test_amps_with_one_reading(motors, with_a_reading):
    assert 0.85 <= held(with_a_reading, motors.amps(VOLTAGES)) <= 0.95


def test_one_reading_narrows_the_band_visibly(from_plate, with_a_reading):
    before, after = (np.median(high - low, axis=0) for low, high in (from_plate, with_a_reading))
    near = np.abs(VOLTAGES - READ_AT) <= 15
    assert np.all(after[near] < 0.7 * before[near])
    assert np.mean(after) < 0.8 * np.mean(before)


def test_amps_of_the_catalogue_s_motors_whose_circuits_are_known():
    """A second recipe: the circuits from which data/make_catalogue.py makes the plates."""
    made = runpy.run_path(str(data_folder() / "make_catalogue.py"))
    motors = read_catalogue(data_folder() / "catalogue.csv")
    rows = [
        (motor, design)
        for motor, design in zip(motors, made["designs"](), strict=True)
        if motor.voltage_high == VOLTAGE and motor.frequency == FREQUENCY
    ]
    rated = ensemble(work.plates([motor for motor, _ in rows]), 160)
    inside = []
    for volts in VOLTAGES:
        fans = rated.coefficient
        found = np.abs(settle(rated.circuit, volts, FREQUENCY, fans).solution.current)
        low, high = np.quantile(found, (0.05, 0.95), axis=1)
        true = np.array([abs(design.on_fans(volts).solution.current[-1]) for _, design in rows])
        inside.append((low <= true) & (true <= high))
    assert len(rows) > 100
    # 5 x 110 cases that are not independent: a wider gate than for the 400 motors above.
    assert 0.82 <= np.mean(inside) <= 0.97
