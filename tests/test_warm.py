"""Warming up: speed, losses and temperature agree, and what finds no agreement is said."""

import numpy as np
import pytest

from airover import identify
from airover.bands import normal_draws, uniform
from airover.motor.warm import (
    RATED_AIR_SPEED,
    TEMP_NO_WORK,
    WINDING_OVER_SHELL,
    Body,
    Shell,
    Stream,
    at_temperature,
    losses_of,
    warmed,
)
from airover.physics.thermal import Nodes

from .test_motor import PLATE

AIR = Stream(temp_air=50.0, speed=5.0, speed_rpm=1075.0)


@pytest.fixture(scope="module")
def rated():
    return identify.from_nameplate(PLATE, 30)


@pytest.fixture(scope="module")
def shell(rated):
    return Shell.of(Body.of([(0.142, 0.13, 60.0, "B")]), rated, seed=0)


@pytest.fixture(scope="module")
def bare(rated):
    """The same body without a class: nothing is promised."""
    return Shell.of(Body.of([(0.142, 0.13, None, None)]), rated, seed=0)


def in_air(rated, shell, air):
    return warmed(rated, shell, air, np.array([[230.0]]), 60.0, rated.coefficient)


def test_losses_at_the_temperature_found_give_that_temperature(rated, shell):
    warm = in_air(rated, shell, AIR)
    air_speed = 5.0 * warm.solution.speed_rpm / 1075.0
    again = shell.temperatures(losses_of(warm.solution), air_speed, 50.0)
    np.testing.assert_allclose(again, warm.nodes, atol=0.05)
    np.testing.assert_allclose(shell.average(again), warm.temp_winding, atol=0.05)
    circuit = at_temperature(rated, shell, warm.nodes)
    torque = circuit.balance(230.0, 60.0, warm.slip).torque
    speed = warm.solution.speed_rpm * np.pi / 30
    np.testing.assert_allclose(torque, rated.coefficient * speed**2, rtol=1e-4)


def test_heat_that_a_running_motor_gives_off_is_its_losses(rated, shell):
    warm = in_air(rated, shell, AIR)
    film = shell.film(5.0 * warm.solution.speed_rpm / 1075.0, 50.0)
    given = sum(shell.network.to_air(warm.nodes, film, 50.0))
    # Temperatures stand still within 0.02 K of some 50 K.
    np.testing.assert_allclose(given, warm.solution.loss, rtol=2e-3)


def test_the_winding_average_is_what_both_windings_in_series_show(rated, shell):
    warm = in_air(rated, shell, AIR)
    cold = rated.circuit.R1 + rated.circuit.R_aux
    at = [at_temperature(rated, shell, nodes) for nodes in (warm.nodes, Nodes.all_at(30.0))]
    hot, cool = (circuit.R1 + circuit.R_aux for circuit in at)
    assert np.all(hot > cool)
    part = rated.circuit.R1 / cold
    shown = part * warm.nodes.winding_main + (1 - part) * warm.nodes.winding_aux
    np.testing.assert_allclose(warm.temp_winding, shown, rtol=1e-12)


def test_at_its_reference_the_circuit_is_the_identified_one(rated, shell):
    temps = Nodes(*(rated.temp_reference + over for over in shell.over_winding))
    same = at_temperature(rated, shell, temps)
    for name in ("R1", "R_aux", "R2"):
        np.testing.assert_allclose(
            np.squeeze(getattr(same, name)), getattr(rated.circuit, name), rtol=1e-12
        )


def test_a_bare_winding_lies_as_far_over_the_shell_as_common_practice_says(rated, bare):
    """10 to 20 K at rated losses: the drawn figure comes out of the network within 0.3 K, which
    is what bearings cooler than the shell take away."""
    nodes = bare.temperatures(losses_of(rated.at_rating()), RATED_AIR_SPEED, 40.0)
    names = ("place", "factor", "winding")
    z = normal_draws(np.random.default_rng([0, 1]), names, 30)
    drawn = uniform(WINDING_OVER_SHELL, z["winding"])
    over = np.squeeze(bare.average(nodes) - nodes.shell)
    np.testing.assert_allclose(over, drawn, atol=0.3)


def test_a_motor_at_its_rating_keeps_within_what_its_class_allows(rated, shell):
    """NEMA MG 1, 12.43: 65 K for class B in an ambient of 60 degC; the model holds it to that."""
    losses = losses_of(rated.at_rating())
    winding = shell.average(shell.temperatures(losses, 5.0, 60.0))
    assert np.all(winding - 60.0 <= 65.0)


def test_a_promise_is_kept_to_the_figure(rated, shell, bare):
    """Where the bare balance is too hot, the rise is the drawn share of 65 K: the 85 K of class B
    less the 20 K by which the ambient of 60 degC is above the standard's."""
    held = np.squeeze(shell.rise_factor) < 1
    assert held.any()
    losses = losses_of(rated.at_rating())
    rise = np.squeeze(shell.average(shell.temperatures(losses, RATED_AIR_SPEED, 60.0)) - 60.0)
    names = ("place", "factor", "winding", "promise")
    z = normal_draws(np.random.default_rng([0, 1]), names, 30)
    promised = 65.0 * uniform((0.7, 0.95), z["promise"])
    np.testing.assert_allclose(rise[held], promised[held], rtol=1e-3)
    hotter = np.squeeze(bare.average(bare.temperatures(losses, RATED_AIR_SPEED, 60.0)) - 60.0)
    assert np.all(hotter >= rise - 0.01)


def test_without_a_class_nothing_is_promised(bare):
    assert np.all(bare.rise_factor == 1.0)


def test_sun_on_the_upper_end_warms_the_shell_and_all_that_is_in_it(rated, shell):
    shade = in_air(rated, shell, AIR)
    sun = in_air(rated, shell, AIR._replace(sun=500.0))
    gained = np.array(sun.nodes) - np.array(shade.nodes)
    assert np.all(gained > 0.3) and np.all(gained < 10.0)  # 8 W beside some 150 W of losses
    assert np.all(gained[4] > gained[5])  # the bearing takes less of it than the shell


def test_a_standing_motor_is_cooled_by_the_draught_it_makes(rated, shell):
    """Without its stream a motor gets much hotter, yet it finds a temperature."""
    still = in_air(rated, shell, AIR._replace(speed=0.0))
    moved = in_air(rated, shell, AIR)
    assert np.all(np.isfinite(still.temp_winding))
    assert np.all(still.temp_shell > moved.temp_shell + 20.0)


def test_a_narrowed_shell_keeps_its_draws(rated, bare):
    picked = bare.rearranged(lambda v: v[..., [3, 5]] if np.shape(v)[-1:] == (30,) else v)
    losses = losses_of(rated.at_rating())
    few = Nodes(
        *(loss[..., [3, 5]] for loss in losses[:4]), 0.0, *(x[..., [3, 5]] for x in losses[5:])
    )
    whole = bare.temperatures(losses, 5.0, 40.0)
    np.testing.assert_allclose(picked.temperatures(few, 5.0, 40.0), whole.part((..., [3, 5])))


class Hunting(Shell):
    """A shell that cools a hot motor and heats a cool one: no temperature agrees with itself."""

    def temperatures(self, losses, air_speed, temp_air, temp_shell=None):
        following = 200.0 if np.all(temp_shell < 200.0) else 60.0
        return Nodes.all_at(np.full_like(losses.winding_main, following))


def test_what_finds_no_temperature_is_shown_as_no_longer_working(rated, shell):
    warm = in_air(rated, Hunting(**vars(shell)), AIR)
    assert np.all(warm.temp_winding == TEMP_NO_WORK)
    assert np.all(np.isfinite(warm.solution.power_in))


def test_a_gale_is_no_reason_to_stop(rated, shell):
    gale = AIR._replace(speed=60.0)
    warm = in_air(rated, shell, gale)
    assert np.all(warm.temp_winding < 110.0)
