"""90 % ranges hold as often as they say, on motors that the code never saw.

``python -m tests.test_calibration`` prints the whole table: how often the range holds the truth
and its median width over its middle, for each population, nameplate and figure.
"""

import functools
import sys

import numpy as np
import pytest

from airover import identify, priors
from airover.identify import Point
from airover.motor.warm import Body, Shell, Stream, warmed

from . import recipe
from .recipe import FREQUENCY, VOLTAGE

MOTORS, DRAWS = 300, 100
METER = 0.015  # standard deviation of a clamp meter, as a share
NAMEPLATES = {
    # kind: least and most coverage that is accepted
    "adopted": (0.85, 0.95),
    "exact": (0.90, 1.0),
    "amps +-10 %, class rpm": (0.80, 1.0),
    "amps 0-15 % high, class rpm": (0.80, 1.0),
}
POPULATIONS = {
    "uniform": lambda: recipe.uniform_motors(MOTORS, seed=11),
    "catalog": recipe.catalog_motors,
    "unlike": lambda: recipe.unlike_motors(MOTORS, seed=12),
}
FIGURES = ("amps", "watts", "rpm", "locked-rotor amps", "breakdown torque")


@functools.cache
def motors_of(population: str):
    return POPULATIONS[population]()


def nameplates(motors, kind: str, seed=5):
    """The nameplates of ``motors`` with errors of one ``kind``."""
    rng = np.random.default_rng(seed)
    number = len(motors)
    if kind == "adopted":
        amps = priors.AMPS_PRINTED.at(rng.normal(size=number))
        slip = 1 - motors.speed_rpm * motors.poles / (120 * FREQUENCY)
        printed = slip / priors.SLIP_PRINTED.at(rng.normal(size=number))
        return motors.plates(amps, (1 - printed) * 120 * FREQUENCY / motors.poles)
    if kind == "exact":
        return motors.plates()
    low, high = (0.9, 1.1) if "+-10" in kind else (1.0, 1.15)
    return motors.plates(rng.uniform(low, high, number), motors.class_rpm)


def ranges(motors, plate, measured=()):
    """Low, middle and high end of every figure."""
    found = identify.ensemble(plate, DRAWS, measured=measured)
    assert found.met.all()
    figures = recipe.figures_of(found.circuit, found.coefficient)
    return {name: np.quantile(x, (0.05, 0.5, 0.95), axis=1) for name, x in figures.items()}


def held(ends, truth) -> float:
    return float(np.mean((ends[0] <= truth) & (truth <= ends[2])))


def width(ends) -> float:
    """Median width over the middle."""
    return float(np.median((ends[2] - ends[0]) / ends[1]))


@functools.cache
def answers(population: str, kind: str):
    motors = motors_of(population)
    return ranges(motors, nameplates(motors, kind))


@functools.cache
def with_a_reading(population: str, kind: str, volts=238.0):
    """Ranges after one clamp reading at a known voltage on the rated fan."""
    motors = motors_of(population)
    error = np.random.default_rng(3).normal(0.0, METER, len(motors))
    amps = [np.interp(volts, recipe.VOLTAGES, row) for row in motors.figures["amps"]]
    point = Point(volts, current=(np.array(amps) * (1 + error))[:, None])
    return ranges(motors, nameplates(motors, kind), [point])


@functools.cache
def winding(population: str, kind: str, trust_rating=True):
    """Range of the winding temperature [degC], and the truth."""
    motors = motors_of(population)
    site = recipe.warm_up(motors, seed=21)
    rated = identify.ensemble(nameplates(motors, kind), DRAWS)
    shell = Shell.of(Body.of(site.facts), rated, 0, trust_rating)
    speed = site.air_speed[:, None] * np.random.default_rng(4).uniform(0.75, 1.25, DRAWS)
    air = Stream(site.temp_air[:, None], speed, motors.speed_rpm[:, None])
    volts = site.voltage[:, None]
    warm = warmed(rated, shell, air, volts, FREQUENCY, rated.coefficient, recipe.settle)
    ends = np.quantile(warm.temp_winding, (0.05, 0.5, 0.95), axis=1)
    return ends, site.temp_winding


def table() -> str:
    """The whole table as text."""
    lines = [f"{'population':<10}{'nameplate':<30}" + "".join(f"{f:>24}" for f in FIGURES)]
    for population in POPULATIONS:
        truth = motors_of(population).figures
        for kind in NAMEPLATES:
            for note, found in (
                ("", answers(population, kind)),
                (" + clamp", with_a_reading(population, kind)),
            ):
                cells = [
                    f"{100 * held(found[f], truth[f]):5.0f} % / {100 * width(found[f]):4.1f} %"
                    for f in FIGURES
                ]
                kind_note = kind + note
                lines.append(f"{population:<10}{kind_note:<30}" + "".join(f"{c:>24}" for c in cells))
    return "\n".join(lines)


if __name__ == "__main__":
    sys.stdout.write(table() + "\n")
