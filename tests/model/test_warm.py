"""Warming up: speed, losses and temperature agree, and what finds no agreement is said."""

import numpy as np
import pytest

from airover.model import identify
from airover.model.conditions import site_conditions
from airover.model.cooling import (
    RATED_AIR_SPEED,
    TEMP_NO_WORK,
    WINDING_OVER_SHELL,
    AirStream,
    Body,
    Shell,
    at_temperature,
    losses_of,
    warmed,
)
from airover.model.simulation import identify_motors
from airover.physics import compiled, operating_point
from airover.physics.thermal_network import Nodes
from airover.records.job import Job
from tests.model.test_motor import CATALOG, PLATE

AIR = AirStream(temp_air=50.0, speed=5.0, speed_rpm=1075.0)


@pytest.fixture(scope="module")
def rated():
    return identify.from_nameplate(PLATE, 30)


@pytest.fixture(scope="module")
def shell(rated):
    return Shell.of(Body.of([(0.142, 0.13, 60.0, "B")]), rated, seed=0)


@pytest.fixture(scope="module")
def bare(rated):
    """The same body, and the rating is not trusted."""
    return Shell.of(Body.of([(0.142, 0.13, 60.0, "B")]), rated, seed=0, trust_rating=False)


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


def rise_at_rating(rated, shell, ambient=60.0, air_speed=5.0):
    losses = losses_of(rated.at_rating())
    nodes = shell.temperatures(losses, air_speed, ambient)
    return np.squeeze(shell.average(nodes) - ambient), np.squeeze(nodes.shell - ambient)


def test_a_winding_lies_above_the_shell_as_common_practice_says(rated, bare):
    """10 to 20 K at rated losses (common practice, no source), in a motor that is cooled as its
    body suggests: all conductances of a sample change alike."""
    rise, of_shell = rise_at_rating(rated, bare, 40.0)
    over = (rise - of_shell) / np.squeeze(bare.rise_factor)
    assert np.all((WINDING_OVER_SHELL[0] - 1 < over) & (over < WINDING_OVER_SHELL[1] + 1))


def test_a_rating_is_evidence_and_may_be_untrue(rated, shell, bare):
    """NEMA MG 1, 12.43: 65 K for class B in an ambient of 60 degC. True rises of 0.6 to 1.15 of it
    are all possible; what the body alone suggests counts less."""
    rise, _ = rise_at_rating(rated, shell)
    low, mid, high = np.quantile(rise / 65.0, (0.05, 0.5, 0.95))
    assert 0.5 < low < 0.75 and 0.75 < mid < 1.0 and 1.0 < high < 1.3
    alone, _ = rise_at_rating(rated, bare)
    assert np.std(np.log(rise)) < 0.6 * np.std(np.log(alone))


def test_a_nameplate_without_class_counts_as_a_usual_one(rated, bare):
    """A motor of unknown class is as warm as the classes in use, not as hot as its losses allow."""
    rises = {
        letter: np.median(rise_at_rating(rated, Shell.of(Body.of([facts]), rated, 0), 40.0))
        for letter, facts in {
            "A": (0.142, 0.13, 40.0, "A"),
            "F": (0.142, 0.13, 60.0, "F"),
            None: (0.142, 0.13, None, None),
        }.items()
    }
    assert rises["A"] < rises[None] < rises["F"]


def test_two_ratings_pull_the_same_body_apart(rated):
    """Class F promises more rise than class A: the same body is taken to be warmer."""
    warmer, cooler = (
        rise_at_rating(rated, Shell.of(Body.of([(0.142, 0.13, 40.0, c)]), rated, seed=0), 40.0)[0]
        for c in ("F", "A")
    )
    assert np.all(warmer > cooler)


def test_the_air_speed_at_the_rating_is_sampled(rated):
    """A motor rated in slow air is cooled better at a site's 5 m/s than one rated in fast air: at
    one promise the rises at the site differ by more than the promise's spread alone."""
    shell = Shell.of(Body.of([(0.142, 0.13, 60.0, "B")]), rated, seed=0)
    fast, _ = rise_at_rating(rated, shell, air_speed=RATED_AIR_SPEED[1])
    slow, _ = rise_at_rating(rated, shell, air_speed=RATED_AIR_SPEED[0])
    assert np.all(slow > 1.2 * fast)


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


def test_a_narrowed_shell_keeps_its_samples(rated, bare):
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


@pytest.mark.skipif(not compiled.AVAILABLE, reason="numba is not installed")
def test_compiled_code_finds_what_the_array_code_finds():
    """Motors of the catalog from light loads to loads that stall them, also as they warm up."""
    motors = [one for one in CATALOG if one.voltage_high == 230][:40]
    conditions = site_conditions(Job(nameplate=PLATE), 20)
    rated, shell = identify_motors(tuple(motors), 20)
    air, volts = AirStream.of(conditions), conditions.voltage[:, None, None]
    for share in (0.3, 1.0, 2.0, 4.0):
        load = share * conditions.coefficient
        given = rated, shell, air, volts, conditions.frequency, load
        quick, slow = (warmed(*given, how) for how in (compiled.settle, operating_point.settle))
        np.testing.assert_array_equal(quick.starts, slow.starts)
        # Above 240 degC both stop before the temperatures stand still.
        cool = (quick.temp_winding < 240) & (slow.temp_winding < 240)
        apart = np.abs(quick.temp_winding - slow.temp_winding)[cool]
        np.testing.assert_array_less(np.quantile(apart, 0.999), 0.02)
        np.testing.assert_array_less(np.abs(quick.slip - slow.slip)[cool & slow.starts], 2e-6)
        for one, other in zip(quick.nodes, slow.nodes, strict=True):
            assert np.quantile(np.abs(one - other)[cool], 0.999) < 0.02
        running = cool & slow.starts
        for name in ("current", "power_in", "loss_rotor", "voltage_capacitor"):
            one, other = (getattr(found.solution, name)[running] for found in (quick, slow))
            np.testing.assert_allclose(one, other, rtol=1e-4, atol=1e-6)
