"""All samples of a motor in time, against the steady state and against one followed directly."""

import numpy as np
import pytest

from airover.model.cooling import at_temperature, losses_of
from airover.model.expected import picked
from airover.model.temperature_history import Stretch, followed, idle, running, standing
from airover.physics.thermal_network import Nodes
from airover.physics.thermal_transient import Protector, ThermalMoment, follow
from tests.motor_on_roof import DRAWS, LOAD, MOTOR, VOLTAGE, in_air

STEADY = MOTOR.run(LOAD, VOLTAGE).warm


def test_a_long_run_ends_at_the_steady_temperatures():
    found = followed(
        MOTOR, [Stretch(6 * 3600.0, True, running(MOTOR, LOAD, VOLTAGE))], Nodes.all_at(30.0)
    )
    np.testing.assert_allclose(found.average[-1], STEADY.temp_winding[0], atol=0.4)
    np.testing.assert_allclose(found.temps.shell[-1], STEADY.nodes.shell[0], atol=0.4)
    assert np.all(np.diff(found.average, axis=0) > -0.05)
    assert found.closed.all() and found.powered.all()


def one_of(at):
    """Draw ``at`` alone: motor, load, and its network in numbers."""
    motor, load = picked(MOTOR, LOAD, np.array([at]))
    network = motor.shell.network.rearranged(lambda value: float(np.ravel(value)[0]))
    return motor, load, network


@pytest.mark.parametrize("at", [0, 30, 59])
def test_a_locked_rotor_agrees_with_the_circuit_worked_at_every_moment(at):
    """Another road: SciPy's integration of one draw, its circuit solved anew at each step."""
    motor, load, network = one_of(at)
    sun = float(np.ravel(load.air.sun * np.pi / 4 * network.diameter**2)[0])

    def moment(time, temps, closed):
        held = at_temperature(motor.rated, motor.shell, temps).balance(VOLTAGE, 60.0, 1.0)
        losses = Nodes(*(float(np.ravel(x)[0]) for x in losses_of(held, sun)))
        return ThermalMoment(losses, 0.0, float(load.air.temp_air[0]))

    warm = Nodes(*(node[0] for node in STEADY.nodes))
    careful = follow(network, moment, Nodes(*(float(node[at]) for node in warm)), 180.0)
    held = standing(MOTOR, LOAD, VOLTAGE)
    found = followed(MOTOR, [Stretch(180.0, True, held)], warm, step=1.0)
    ours = np.interp(careful.time, found.time, found.temps.winding_main[:, at])
    rise = careful.temps.winding_main[-1] - careful.temps.winding_main[0]
    assert rise > 35
    # the table knows one winding temperature, and here the auxiliary stays cooler than the main
    np.testing.assert_allclose(ours, careful.temps.winding_main, atol=0.03 * rise)


def test_what_a_running_motor_loses_is_the_steady_runs_loss():
    nodes = Nodes(*(node[0] for node in STEADY.nodes))
    losses = running(MOTOR, LOAD, VOLTAGE).losses(nodes, STEADY.temp_winding[0])
    expected = STEADY.solution.loss[0]
    np.testing.assert_allclose(sum(losses), expected, rtol=0.01)


def test_a_standing_motor_loses_more_and_an_idle_one_nothing():
    nodes = Nodes.all_at(np.full(DRAWS, 80.0))
    held, idling = standing(MOTOR, LOAD, VOLTAGE), idle(MOTOR, LOAD)
    assert np.all(sum(held.losses(nodes, nodes.core)) > 3 * STEADY.solution.loss[0])
    assert sum(idling.losses(nodes, nodes.core)) == 0
    assert np.all(held.convection == 0) and np.all(idling.convection == 0)


def test_an_idle_motor_comes_to_the_air_it_is_in():
    load = LOAD._replace(air=LOAD.air._replace(sun=0.0))
    acting = idle(MOTOR, load, 25.0)
    found = followed(MOTOR, [Stretch(12 * 3600.0, False, acting)], Nodes.all_at(90.0), step=60.0)
    assert np.all(np.diff(found.hottest, axis=0) < 0)
    np.testing.assert_allclose(found.hottest[-1], 25.0, atol=1.0)
    assert not found.powered.any()


def test_an_open_protector_stops_the_heat():
    """In air without sun the heat in the motor then only falls. One winding may still warm up a
    little: a locked rotor gets hotter than the windings and heats them."""
    felt = Nodes(1, 0, 0, 0, 0, 0, 0)
    held = standing(MOTOR, in_air(45.0), VOLTAGE)
    found = followed(
        MOTOR, [Stretch(1200.0, True, held)], Nodes.all_at(50.0), 1.0, Protector(120.0, 90.0, felt)
    )
    assert np.all(found.temps.winding_main.max(axis=0) < 124)  # a step late at the most
    assert np.all(np.diff(found.closed.astype(int), axis=0).min(axis=0) == -1)
    open_now = ~found.closed[:-1]
    heat = sum(c * t for c, t in zip(MOTOR.shell.network.capacity, found.temps, strict=True))
    assert np.all(np.diff(heat, axis=0)[open_now] < 0)
    assert np.all(np.diff(heat, axis=0)[~open_now] > 0)


def test_bands_have_the_times_on_their_axis():
    found = followed(
        MOTOR, [Stretch(60.0, True, running(MOTOR, LOAD, VOLTAGE))], Nodes.all_at(30.0)
    )
    for band in found.bands().values():
        assert band.mid.shape == found.time.shape
        assert np.all(band.low <= band.mid) and np.all(band.mid <= band.high)
