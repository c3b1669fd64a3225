"""Warming up: speed, losses and temperature agree, and what finds no agreement is said."""

from dataclasses import dataclass

import numpy as np
import pytest

from airover import identify
from airover.warm import TEMP_NO_WORK, Body, Shell, Stream, at_temperature, warmed

from .test_motor import PLATE

AIR = Stream(temp_air=50.0, speed=5.0, speed_rpm=1075.0)


@pytest.fixture(scope="module")
def rated():
    return identify.from_nameplate(PLATE, 30)


@pytest.fixture(scope="module")
def shell(rated):
    return Shell.of(Body.of([(0.142, 0.13, 60.0, "B")]), rated, seed=0)


def test_losses_at_the_temperature_found_give_that_temperature(rated, shell):
    warm = warmed(rated, shell, AIR, np.array([[230.0]]), 60.0, rated.coefficient)
    air_speed = 5.0 * warm.solution.speed_rpm / 1075.0
    _, again = shell.temperatures(warm.solution.loss, air_speed, 50.0)
    np.testing.assert_allclose(again, warm.temp_winding, atol=0.05)
    circuit = at_temperature(rated, warm.temp_winding)
    torque = circuit.balance(230.0, 60.0, warm.slip).torque
    speed = warm.solution.speed_rpm * np.pi / 30
    np.testing.assert_allclose(torque, rated.coefficient * speed**2, rtol=1e-4)


def test_a_motor_at_its_rating_keeps_within_what_its_class_allows(rated, shell):
    """NEMA MG 1, 12.43: 65 K for class B in an ambient of 60 degC; the model holds it to that."""
    loss = rated.at_rating().loss
    _, winding = shell.temperatures(loss, 5.0, 60.0)
    assert np.all(winding - 60.0 <= 65.0)


def test_without_a_class_nothing_is_promised(rated):
    bare = Shell.of(Body.of([(0.142, 0.13, None, None)]), rated, seed=0)
    assert np.all(bare.rise_factor == 1.0)


@dataclass
class Hunting:
    """A shell that cools a hot motor and heats a cool one: no temperature agrees with itself."""

    last: float = 60.0

    def temperatures(self, loss, air_speed, temp_air):
        self.last = 200.0 if self.last == 60.0 else 60.0
        return np.full_like(loss, self.last), np.full_like(loss, self.last)


def test_what_finds_no_temperature_is_shown_as_no_longer_working(rated):
    warm = warmed(rated, Hunting(), AIR, np.array([[230.0]]), 60.0, rated.coefficient)
    assert np.all(warm.temp_winding == TEMP_NO_WORK)
    assert np.all(np.isfinite(warm.solution.power_in))


def test_a_gale_is_no_reason_to_stop(rated, shell):
    gale = AIR._replace(speed=60.0)
    warm = warmed(rated, shell, gale, np.array([[230.0]]), 60.0, rated.coefficient)
    assert np.all(warm.temp_winding < 110.0)
