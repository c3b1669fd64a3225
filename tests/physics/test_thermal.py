"""The network of heat: balances, symmetry, monotony, and the same motor followed in time."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import simpson

from airover.core.errors import InputError
from airover.physics import thermal, thermal_time
from airover.physics.heat import combined_film, free_film
from airover.physics.thermal import Nodes, placed, usual_capacity, usual_inside, usual_network
from airover.physics.thermal_time import Protector, ThermalMoment, follow

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
    assert 3.0 < still.lying < 8.0 and 3.0 < still.standing < 8.0
    assert combined_film(30.0, still.lying) == pytest.approx(30.0, rel=0.003)
    assert combined_film(0.0, still.lying) == pytest.approx(still.lying)


def steadily(made, film=FILM, temp_air=AIR):
    return lambda time, temps, closed: ThermalMoment(made, film, temp_air)


def test_what_is_followed_long_enough_ends_at_the_steady_state():
    course = follow(USUAL, steadily(LOSSES), COLD, 30000.0)
    last = [temp[-1] for temp in course.temps]
    np.testing.assert_allclose(last, USUAL.steady(LOSSES, FILM, AIR), atol=1e-3)


def test_heat_in_is_heat_stored_and_heat_given_off():
    made = placed(300.0, 200.0, 250.0, 20.0, 0.0)
    course = follow(USUAL, steadily(made, film=0.0), COLD, 1800.0, samples=3001)
    stored = sum(
        capacity * (temp[-1] - temp[0])
        for capacity, temp in zip(USUAL.capacity, course.temps, strict=True)
    )
    given_off = simpson(course.heat_out, x=course.time)
    taken_in = simpson(course.heat_in, x=course.time)
    assert taken_in == pytest.approx(770.0 * 1800.0)
    assert stored + given_off == pytest.approx(taken_in, rel=1e-5)
    assert stored > 0.2 * taken_in and given_off > 0.2 * taken_in


def test_the_slowest_time_constant_is_that_of_the_last_of_cooling():
    """A small lukewarm rest fades by exp(-t / tau): its slope, taken late, is the eigenvalue."""
    end = USUAL.steady(LOSSES, FILM, AIR)
    tau = USUAL.time_constants(end, FILM, AIR)
    assert np.all(np.diff(tau) < 0) and np.all(tau > 0)
    start = Nodes(*(temp + 1.0 for temp in end))
    course = follow(USUAL, steadily(LOSSES), start, 4 * tau[0])
    away = course.temps.shell - end.shell
    late = course.time > 2 * tau[0]
    slope = np.polyfit(course.time[late], np.log(away[late]), 1)[0]
    assert -1 / slope == pytest.approx(tau[0], rel=5e-3)


LOCKED = placed(500.0, 300.0, 500.0, 20.0, 0.0)
ENDS = Nodes(0.4, 0.3, 0.0, 0.0, 0.3, 0.0, 0.0)
SWITCH = Protector(130.0, 85.0, ENDS)
NOTHING = Nodes.all_at(0.0)


def locked(time, temps, closed):
    return ThermalMoment(LOCKED if closed else NOTHING, 0.0, AIR)


def test_a_protector_trips_and_resets_where_it_should():
    course = follow(USUAL, locked, COLD, 3600.0, protector=SWITCH)
    assert len(course.switched) >= 4
    felt = SWITCH.felt(course.temps)
    at = np.searchsorted(course.time, course.switched)
    np.testing.assert_allclose(felt[at[::2]], 130.0, atol=0.01)
    np.testing.assert_allclose(felt[at[1::2]], 85.0, atol=0.01)
    assert felt.max() < 130.01 and felt[course.time > course.switched[0]].min() > 84.99
    assert np.all(course.heat_in[course.closed] == pytest.approx(sum(LOCKED)))
    assert np.all(course.heat_in[~course.closed] == 0.0)
    # The shell warms from cycle to cycle, so the motor rests longer each time.
    rests = course.switched[1::2][:2] - course.switched[::2][:2]
    assert rests[1] > rests[0]


@pytest.mark.parametrize("at", [130.0, 140.0])
def test_a_motor_too_hot_at_the_beginning_is_switched_off_at_once(at):
    course = follow(USUAL, locked, Nodes.all_at(at), 10.0, protector=SWITCH)
    assert course.switched.tolist() == [0.0] and not course.closed.any()


def test_a_protector_may_be_open_at_the_beginning():
    course = follow(USUAL, locked, Nodes.all_at(140.0), 10.0, SWITCH, closed=False)
    assert not course.switched.size and not course.closed.any()
    quick = SWITCH._replace(reset=129.0)
    course = follow(USUAL, locked, Nodes.all_at(129.1), 60.0, quick, closed=False)
    assert not course.closed[0] and course.closed.any()
    at = np.searchsorted(course.time, course.switched[0])
    assert quick.felt(course.temps)[at] == pytest.approx(129.0, abs=1e-3)


def test_without_a_protector_nothing_opens():
    course = follow(USUAL, locked, Nodes.all_at(140.0), 10.0)
    assert course.closed.all() and not course.switched.size
    np.testing.assert_allclose(course.time, np.linspace(0.0, 10.0, 200))


def test_a_change_stands_there_twice_and_one_outside_of_the_time_does_not():
    course = follow(USUAL, locked, COLD, 2.0, changes=(0.5, 0.0, 2.0, 3.0), samples=3)
    np.testing.assert_allclose(course.time, [0.0, 0.25, 0.5, 0.5, 1.25, 2.0])


QUICK = Protector(52.0, 51.9, Nodes(1, 0, 0, 0, 0, 0, 0))


def test_a_protector_that_chatters_is_said(monkeypatch):
    count = len(follow(USUAL, locked, COLD, 4.0, QUICK).switched)
    assert count > 2
    monkeypatch.setattr(thermal_time, "MOST_SWITCHINGS", count)
    follow(USUAL, locked, COLD, 4.0, QUICK)
    monkeypatch.setattr(thermal_time, "MOST_SWITCHINGS", count - 1)
    with pytest.raises(ArithmeticError, match=f"^the protector switched {count - 1} times$"):
        follow(USUAL, locked, COLD, 4.0, QUICK)


def test_an_integration_that_scipy_gives_up_is_said(monkeypatch):
    gives_up = SimpleNamespace(status=-1, message="step too small")
    monkeypatch.setattr(thermal_time, "solve_ivp", lambda *_, **__: gives_up)
    with pytest.raises(ArithmeticError) as said:
        follow(USUAL, locked, COLD, 1.0)
    assert str(said.value) == "temperatures could not be followed: step too small"


def test_film_and_rise_that_find_no_agreement_are_said(monkeypatch):
    monkeypatch.setattr(thermal, "STILL", -1.0)
    with pytest.raises(ArithmeticError, match="^the shell's film and its rise found no agreement$"):
        USUAL.steady(LOSSES, FILM, AIR)


def test_a_duty_cycle_in_one_piece_is_that_in_several():
    def cycling(time, temps, closed):
        runs = time % 900.0 < 600.0
        return ThermalMoment(LOSSES if runs else NOTHING, FILM if runs else 0.0, AIR)

    whole = follow(USUAL, cycling, COLD, 1500.0, changes=(600.0, 900.0))
    first = follow(USUAL, steadily(LOSSES), COLD, 600.0)
    rest = follow(USUAL, steadily(NOTHING, film=0.0), last(first), 300.0)
    again = follow(USUAL, steadily(LOSSES), last(rest), 600.0)
    np.testing.assert_allclose(last(whole), last(again), atol=2e-3)


def last(course) -> Nodes:
    return course.temps.part(-1)


def test_losses_may_follow_the_temperatures():
    def copper(time, temps, closed):
        warmer = (235.0 + temps.winding_main) / (235.0 + AIR)
        return ThermalMoment(LOSSES._replace(winding_main=60.0 * warmer), FILM, AIR)

    course = follow(USUAL, copper, COLD, 30000.0)
    end = last(course)
    made = LOSSES._replace(winding_main=60.0 * (235.0 + end.winding_main) / (235.0 + AIR))
    np.testing.assert_allclose(end, USUAL.steady(made, FILM, AIR), atol=2e-3)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (
            {"reset": 130.0},
            "reset: 130 degC was given; accepted is less than the 130 degC of its trip.",
        ),
        ({"reset": -61.0}, "reset: -61 degC was given; accepted is -60 to 400 degC."),
        ({"trip": 401.0}, "trip: 401 degC was given; accepted is -60 to 400 degC."),
        (
            {"senses": SWITCH.senses._replace(rotor=2e-6)},
            "senses: weights that add up to 1.000002 was given; accepted is weights that add up to 1.",
        ),
        (
            {"senses": NOTHING},
            "senses: weights that add up to 0 was given; accepted is weights that add up to 1.",
        ),
    ],
)
def test_a_protector_that_cannot_work_is_refused_in_one_sentence(changed, said):
    with pytest.raises(InputError) as refused:
        follow(USUAL, locked, COLD, 1.0, SWITCH._replace(**changed))
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("group", "field", "value", "said"),
    [
        (
            "inside",
            "rotor_far",
            0.9e-6,
            "rotor_far: 9e-07 W/K was given; accepted is 1e-06 to 1e+07 W/K.",
        ),
        (
            "inside",
            "main_core",
            2e7,
            "main_core: 2e+07 W/K was given; accepted is 1e-06 to 1e+07 W/K.",
        ),
        (
            "capacity",
            "shell",
            0.9e-3,
            "shell: 0.0009 J/K was given; accepted is 0.001 to 1e+06 J/K.",
        ),
        ("capacity", "rotor", 2e6, "rotor: 2e+06 J/K was given; accepted is 0.001 to 1e+06 J/K."),
    ],
)
def test_a_way_or_a_node_out_of_range_is_refused_by_its_name(group, field, value, said):
    with pytest.raises(InputError) as refused:
        replace(USUAL, **{group: getattr(USUAL, group)._replace(**{field: value})})
    assert str(refused.value) == said


def test_friction_is_shared_by_bearings_and_rotor():
    """Seven tenths in the two bearings is the project's own judgement."""
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
        (lambda: follow(USUAL, locked, Nodes.all_at(900.0), 1.0), "temps"),
    ],
)
def test_bad_input_is_named(call, field):
    with pytest.raises(InputError) as refused:
        call()
    assert refused.value.field == field
