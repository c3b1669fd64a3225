"""The thermal network: balances, symmetry, monotony, bad input."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.physics import thermal_network
from airover.physics.heat import combined_film, free_film
from airover.physics.thermal_network import (
    Nodes,
    placed,
    usual_capacity,
    usual_inside,
    usual_network,
)
from tests.refusals import assert_refused

FILM, AIR = 25.0, 50.0
LOSSES = placed(60.0, 40.0, 42.0, 20.0, 3.71)  # 165.71 W
USUAL = usual_network(0.142, 0.13)
COLD = Nodes.all_at(AIR)
factors = st.floats(0.2, 5.0)
networks = st.builds(
    lambda d, x, stator, rotor, shields, radiant, upright: usual_network(
        d, x, usual_inside(d, x, stator, rotor, shields), emissivity=radiant, upright=upright
    ),
    *(st.floats(0.09, 0.22), st.floats(0.08, 0.3), factors, factors, factors),
    *(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
)
losses = st.builds(Nodes, *[st.floats(0.0, 150.0)] * 4, *[st.floats(0.0, 10.0)] * 3)
films = st.floats(0.0, 80.0)
air = st.floats(-30.0, 70.0)


@given(networks, losses, films, air)
def test_heat_out_is_heat_in(network, made, film, temp_air):
    temps = network.steady(made, film, temp_air)
    out = network.to_air(temps, film, temp_air)
    assert sum(out) == pytest.approx(sum(made), rel=1e-9, abs=1e-9)
    between = network.matrix() @ np.array(temps)
    # Node by node too: what is made goes to other nodes or to the air.
    np.testing.assert_allclose(between + np.array(out), made, atol=1e-7)


@given(networks, losses, films, air, st.integers(0, 6))
def test_more_loss_anywhere_is_hotter_everywhere(network, made, film, temp_air, place):
    more = made._replace(**{Nodes._fields[place]: made[place] + 5.0})
    before, after = (network.steady(loss, film, temp_air) for loss in (made, more))
    assert np.all(np.array(after) > np.array(before))


@given(networks, losses, films, air)
def test_more_air_is_cooler_everywhere(network, made, film, temp_air):
    made = made._replace(shell=made.shell + 1.0)
    before, after = (network.steady(made, h, temp_air) for h in (film, 1.2 * film + 1.0))
    assert np.all(np.array(after) < np.array(before))


@given(networks)
def test_conductances_are_the_same_both_ways_and_keep_heat(network):
    matrix = network.matrix()
    np.testing.assert_array_equal(matrix, matrix.T)
    np.testing.assert_allclose(matrix.sum(axis=-1), 0.0, atol=1e-12 * matrix.max())


@given(networks, st.integers(0, 6), st.integers(0, 6))
def test_a_watt_here_warms_there_as_a_watt_there_warms_here(network, one, other):
    """Reciprocity, which holds without radiation; a strong stream drowns the draught."""
    plain = replace(network, emissivity=0.0)

    def rises(place):
        return plain.steady(Nodes(*np.eye(7)[place]), 400.0, 20.0)

    assert rises(one)[other] - 20.0 == pytest.approx(rises(other)[one] - 20.0, rel=1e-4)


def test_better_ways_are_the_same_as_less_loss():
    twice = USUAL.better(2.0).steady(Nodes(*(2.0 * x for x in LOSSES)), FILM, AIR)
    np.testing.assert_allclose(twice, USUAL.steady(LOSSES, FILM, AIR), rtol=1e-9)


def test_many_motors_at_once_are_the_same_as_each_alone():
    diameter, length = np.array([[0.12], [0.16]]), np.array([[0.1], [0.2]])
    rotor = np.array([0.5, 1.0, 2.0])
    many = usual_network(diameter, length, usual_inside(diameter, length, ways_rotor=rotor))
    film = np.array([5.0, 20.0, 40.0])[:, None, None] * np.ones((3, 2, 3))
    temps = many.steady(LOSSES, film, AIR)
    assert temps.shell.shape == temps.rotor.shape == (3, 2, 3)

    def alone(v, m, d):
        inside = usual_inside(diameter[m, 0], length[m, 0], ways_rotor=rotor[d])
        network = usual_network(diameter[m, 0], length[m, 0], inside)
        return network.steady(LOSSES, film[v, m, d], AIR)

    np.testing.assert_allclose(temps.part((2, 1, 0)), alone(2, 1, 0), rtol=1e-9)
    np.testing.assert_allclose(temps.part((0, 0, 2)), alone(0, 0, 2), rtol=1e-9)
    np.testing.assert_allclose(many.time_constants(temps, film, AIR).shape, (7, 3, 2, 3))


def test_a_larger_motor_holds_and_leads_more_heat():
    small, large = usual_network(0.12, 0.1), usual_network(0.16, 0.2)
    assert np.all(np.array(large.capacity) > np.array(small.capacity))
    assert np.all(np.array(large.inside[:8]) > np.array(small.inside[:8]))
    assert sum(usual_capacity(0.14, 0.14)) == pytest.approx(7.0 * 450, rel=0.03)  # mostly steel


def test_a_draught_is_felt_only_where_the_stream_is_weak():
    still = free_film(0.142, 0.13, 60.0, 40.0)
    assert 3.0 < still.horizontal < 8.0 and 3.0 < still.vertical < 8.0
    assert combined_film(30.0, still.horizontal) == pytest.approx(30.0, rel=0.003)
    assert combined_film(0.0, still.horizontal) == pytest.approx(still.horizontal)


def test_film_and_rise_that_find_no_agreement_are_said(monkeypatch):
    monkeypatch.setattr(thermal_network, "STILL", -1.0)
    with pytest.raises(ArithmeticError, match="^the shell's film and its rise found no agreement$"):
        USUAL.steady(LOSSES, FILM, AIR)


@pytest.mark.parametrize(
    ("group", "field", "value", "span"),
    [
        ("inside", "rotor_far", 0.9e-6, (1e-6, 1e7, "W/K")),
        ("inside", "main_core", 2e7, (1e-6, 1e7, "W/K")),
        ("capacity", "shell", 0.9e-3, (0.001, 1e6, "J/K")),
        ("capacity", "rotor", 2e6, (0.001, 1e6, "J/K")),
    ],
)
def test_a_way_or_a_node_out_of_range_is_refused_by_its_name(group, field, value, span):
    with pytest.raises(InputError) as refused:
        replace(USUAL, **{group: getattr(USUAL, group)._replace(**{field: value})})
    assert_refused(refused.value, field, value, *span)


def test_friction_is_shared_by_bearings_and_rotor():
    """Seven tenths in the two bearings is the project's engineering judgment."""
    found = placed(1.0, 2.0, 3.0, 4.0, 10.0)
    assert found == pytest.approx((1.0, 2.0, 6.0, 4.0, 0.0, 3.5, 3.5))


@pytest.mark.parametrize(
    "call, field",
    [
        (lambda: replace(USUAL, capacity=USUAL.capacity._replace(shell=np.nan)), "shell"),
        (lambda: usual_network(142.0, 0.13), "diameter"),
        (lambda: usual_inside(0.142, 0.13, ways_rotor=-1.0), "ways_rotor"),
        (lambda: usual_capacity(0.142, 0.13, density=3.25), "density"),
        (lambda: USUAL.steady(LOSSES, FILM, 323.0), "temp_air"),
        (lambda: USUAL.steady(LOSSES, -1.0, AIR), "film"),
        (lambda: free_film(0.142, 0.13, np.nan, AIR), "rise"),
    ],
)
def test_bad_input_is_named(call, field):
    with pytest.raises(InputError) as refused:
        call()
    assert refused.value.field == field
