"""Motors followed in time: one closely, many at once, against each other and closed forms."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import simpson

from airover.core.errors import InputError
from airover.physics import thermal_transient
from airover.physics.thermal_network import Nodes, placed, usual_inside, usual_network
from airover.physics.thermal_transient import Protector, ThermalMoment, follow, follow_many

FILM, AIR = 25.0, 50.0
LOSSES = placed(60.0, 40.0, 42.0, 20.0, 3.71)  # 165.71 W
USUAL = usual_network(0.142, 0.13)
COLD = Nodes.all_at(AIR)


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
    monkeypatch.setattr(thermal_transient, "MOST_SWITCHINGS", count)
    follow(USUAL, locked, COLD, 4.0, QUICK)
    monkeypatch.setattr(thermal_transient, "MOST_SWITCHINGS", count - 1)
    with pytest.raises(ArithmeticError, match=f"^the protector switched {count - 1} times$"):
        follow(USUAL, locked, COLD, 4.0, QUICK)


def test_an_integration_that_scipy_gives_up_is_said(monkeypatch):
    gives_up = SimpleNamespace(status=-1, message="step too small")
    monkeypatch.setattr(thermal_transient, "solve_ivp", lambda *_, **__: gives_up)
    with pytest.raises(ArithmeticError) as said:
        follow(USUAL, locked, COLD, 1.0)
    assert str(said.value) == "temperatures could not be followed: step too small"


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
            "reset: 130 degC is not accepted. Enter less than its trip temperature, 130 degC.",
        ),
        ({"reset": -61.0}, "reset: -61 degC is not accepted. Enter a value from -60 to 400 degC."),
        ({"trip": 401.0}, "trip: 401 degC is not accepted. Enter a value from -60 to 400 degC."),
        (
            {"senses": SWITCH.senses._replace(rotor=2e-6)},
            "senses: the weights add up to 1.000002. Needed: weights that add up to 1.",
        ),
        (
            {"senses": NOTHING},
            "senses: the weights add up to 0. Needed: weights that add up to 1.",
        ),
    ],
)
def test_a_protector_that_cannot_work_is_refused_in_one_sentence(changed, said):
    with pytest.raises(InputError) as refused:
        follow(USUAL, locked, COLD, 1.0, SWITCH._replace(**changed))
    assert str(refused.value) == said


def test_a_winding_out_of_range_is_named():
    with pytest.raises(InputError, match="^temps: 900 degC"):
        follow(USUAL, locked, Nodes.all_at(900.0), 1.0)


AIR_OF_MANY, FILM_OF_MANY, LOSS = 30.0, 60.0, 150.0
WINDINGS = Nodes(0.5, 0.5, 0, 0, 0, 0, 0)
ANYWHERE = Nodes(1, 0, 0, 0, 0, 0, 0)
SWITCH_OF_MANY = Protector(63.0, 61.0, WINDINGS)


def lump():
    """A motor whose nodes are one: all conductances inside a hundred thousand times as large."""
    inside = usual_inside(0.14, 0.14)
    found = usual_network(0.14, 0.14, type(inside)(*(1e5 * g for g in inside)), emissivity=0.0)
    return found.rearranged(lambda value: np.atleast_1d(np.asarray(value, dtype=float)))


def time_constant(one):
    conductance = (one.area + 2 * one.hub) * FILM_OF_MANY + one.fin  # the draught adds under 0.1 %
    return float((sum(one.capacity) / conductance)[0]), float(conductance[0])


def heated(share=None):
    """Losses all at the core; with ``share`` a timetable: (seconds on, seconds of a cycle)."""

    def moment(time, temps, closed):
        on = closed if share is None else closed & (time % share[1] < share[0])
        return ThermalMoment(placed(0.0, 0.0, 0.0, LOSS * on, 0.0), FILM_OF_MANY, AIR_OF_MANY)

    return moment


def test_one_node_is_an_exponential():
    one = lump()
    constant, conductance = time_constant(one)
    found = follow_many(one, heated(), Nodes.all_at(AIR_OF_MANY), 3 * constant, 20.0)
    closed_form = AIR_OF_MANY + LOSS / conductance * -np.expm1(-found.time / constant)
    np.testing.assert_allclose(found.temps.core[:, 0], closed_form, atol=0.02)


def test_peak_and_valley_of_a_cycle_are_those_of_the_closed_form():
    one = lump()
    constant, conductance = time_constant(one)
    on, whole = 600.0, 1500.0
    instants = [k * whole + shift for k in range(40) for shift in (0.0, on)]
    found = follow_many(
        one, heated((on, whole)), Nodes.all_at(AIR_OF_MANY), 40 * whole, 50.0, None, instants
    )
    last = found.temps.core[found.time >= 39 * whole - 1e-6, 0]
    highest = LOSS / conductance * np.expm1(-on / constant) / np.expm1(-whole / constant)
    lowest = highest * np.exp(-(whole - on) / constant)
    assert last.max() - AIR_OF_MANY == pytest.approx(highest, abs=0.02)
    assert last.min() - AIR_OF_MANY == pytest.approx(lowest, abs=0.02)


def test_trip_and_reset_come_when_the_closed_form_says():
    one = lump()
    constant, conductance = time_constant(one)
    above = LOSS / conductance
    protector = Protector(AIR_OF_MANY + 0.8 * above, AIR_OF_MANY + 0.3 * above, ANYWHERE)
    first = constant * np.log(1 / 0.2)
    opened, heating = constant * np.log(0.8 / 0.3), constant * np.log(0.7 / 0.2)
    found = follow_many(
        one, heated(), Nodes.all_at(AIR_OF_MANY), first + opened + 1.1 * heating, 2.0, protector
    )
    switched = found.time[1:][np.diff(found.closed[:, 0].astype(int)) != 0]
    expected = np.cumsum([first, opened, heating])
    np.testing.assert_allclose(switched, expected, atol=2.0 + 1e-3 * expected[-1])


@pytest.mark.parametrize(
    ("duration", "step", "changes", "times"),
    [
        (9.0, 4.0, (), [0.0, 3.0, 6.0, 9.0]),
        (1.1, 0.1, (), np.linspace(0.0, 1.1, 12)),  # 1.1 / 0.1 is more than 11 by rounding
        (3.0, 1000.0, (2.0, 0.5), [0.0, 0.5, 2.0, 3.0]),
        (3.0, 1000.0, (0.0, 3.0, 7.0), [0.0, 3.0]),
        (121.0, 1000.0, (), [0.0, 121 / 3, 242 / 3, 121.0]),  # held for 60 s at the most
    ],
)
def test_steps_are_even_and_as_long_as_they_may_be(duration, step, changes, times):
    found = follow_many(
        lump(), heated(), Nodes.all_at(AIR_OF_MANY), duration, step, changes=changes
    )
    np.testing.assert_allclose(found.time, times, rtol=1e-12)
    assert found.temps.core.shape == found.closed.shape == (len(times), 1)


def test_many_too_hot_at_the_beginning_are_switched_off_at_once():
    found = follow_many(lump(), heated(), Nodes.all_at(90.0), 1.0, 1.0, Protector(90, 50, ANYWHERE))
    assert not found.closed.any()
    assert np.all(np.diff(found.temps.core, axis=0) < 0)


def test_motors_in_rows_are_the_same_as_in_one_line():
    """Voltages times draws: all axes but the nodes' are kept."""
    diameter, start = np.array([0.12, 0.14, 0.16]), np.array([[45.0], [60.0]])
    rows = follow_many(
        usual_network(diameter, 0.13),
        locked_and_warming,
        Nodes.all_at(start),
        20.0,
        2.0,
        SWITCH_OF_MANY,
    )
    assert rows.temps.shell.shape == rows.closed.shape == (11, 2, 3)
    single = usual_network(diameter[1:2], 0.13)
    one = follow_many(single, locked_and_warming, Nodes.all_at(60.0), 20.0, 2.0, SWITCH_OF_MANY)
    for ours, alone in zip(rows.temps, one.temps, strict=True):
        np.testing.assert_allclose(ours[:, 1, 1], alone[:, 0], rtol=1e-10)


def test_a_motor_whose_protector_opens_loses_its_stream_and_the_others_keep_theirs():
    """The first warms up for good; the second trips on the way and cools in a weak stream."""
    one, weak, trip = lump(), 20.0, AIR_OF_MANY + 20.0
    constant, conductance = time_constant(one)
    steady = LOSS / conductance
    loss = np.array([0.5, 1.5]) * LOSS

    def moment(time, temps, closed):
        return ThermalMoment(
            placed(0.0, 0.0, 0.0, loss * closed, 0.0),
            np.where(closed, FILM_OF_MANY, weak),
            AIR_OF_MANY,
        )

    tripping = -constant * np.log(1 - 20.0 / (1.5 * steady))
    found = follow_many(
        one,
        moment,
        Nodes.all_at(np.full(2, AIR_OF_MANY)),
        tripping + 200.0,
        1.0,
        Protector(trip, AIR_OF_MANY, ANYWHERE),
        held=1e4,
    )
    assert found.closed[-1].tolist() == [True, False]
    rise = found.temps.core[-1] - AIR_OF_MANY
    fading = np.exp(-200.0 / constant * ((one.area + 2 * one.hub) * weak + one.fin) / conductance)
    assert rise[0] == pytest.approx(-0.5 * steady * np.expm1(-found.time[-1] / constant), abs=0.02)
    # a step late at the most, and the draught adds 0.5 % to a stream so weak
    assert rise[1] == pytest.approx(20.0 * fading[0], abs=0.1)


def motors(number=6):
    rng = np.random.default_rng(3)
    return usual_network(rng.uniform(0.12, 0.16, number), rng.uniform(0.1, 0.16, number))


def locked_and_warming(time, temps, closed):
    """Copper losses that fall as the windings warm up; the fan stands."""
    loss = 300.0 * closed * (1 - 0.002 * (temps.winding_main - 25))
    return ThermalMoment(placed(loss, 0.6 * loss, 0.8 * loss, 0.0, 0.0), 0.0, 45.0)


def test_it_agrees_with_the_careful_one_motor_by_motor():
    all_of_them, protector = motors(), Protector(150.0, 100.0, WINDINGS)
    found = follow_many(all_of_them, locked_and_warming, Nodes.all_at(45.0), 3000.0, 1.0, protector)
    for at in (0, 5):
        one = all_of_them.rearranged(lambda v, at=at: float(np.broadcast_to(v, 6)[at]))
        careful = follow(one, locked_and_warming, Nodes.all_at(45.0), 3000.0, protector)
        flips = np.diff(found.closed[:, at].astype(int)) != 0
        np.testing.assert_allclose(found.time[1:][flips], careful.switched, rtol=0.005, atol=2.0)
        assert found.temps.winding_main[:, at].max() == pytest.approx(
            careful.temps.winding_main.max(), abs=1.5
        )


def test_a_motor_is_the_same_in_other_company():
    together = follow_many(motors(), locked_and_warming, Nodes.all_at(45.0), 600.0, 2.0)
    alone = motors().rearranged(lambda v: np.broadcast_to(v, 6)[2:3])
    found = follow_many(alone, locked_and_warming, Nodes.all_at(45.0), 600.0, 2.0)
    np.testing.assert_allclose(found.temps.shell[:, 0], together.temps.shell[:, 2], rtol=1e-12)


@settings(deadline=None, max_examples=20)
@given(st.floats(0, 400), st.floats(0, 60), st.floats(-20, 60))
def test_it_comes_to_the_steady_temperatures(loss, film, temp_air):
    def steady(time, temps, closed):
        return ThermalMoment(placed(loss, 0.0, loss, 10.0, 5.0), film, temp_air)

    one = motors(2)
    found = follow_many(one, steady, Nodes.all_at(temp_air), 60_000.0, 600.0, held=600.0)
    expected = one.steady(placed(loss, 0.0, loss, 10.0, 5.0), film, temp_air)
    for ours, theirs in zip(found.temps, expected, strict=True):
        np.testing.assert_allclose(ours[-1], theirs, atol=0.05)


@settings(deadline=None, max_examples=20)
@given(st.floats(-20, 60), st.floats(60, 200))
def test_without_losses_it_only_cools_and_never_below_the_air(temp_air, start):
    def idle(time, temps, closed):
        return ThermalMoment(Nodes.all_at(0.0), 0.0, temp_air)

    found = follow_many(motors(2), idle, Nodes.all_at(start), 20_000.0, 100.0)
    hottest = np.max(found.temps, axis=0)
    assert np.all(np.diff(hottest, axis=0) <= 1e-9)
    assert np.min(found.temps) >= temp_air - 1e-9


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"duration": -1.0}, "^duration: -1 s"),
        ({"step": 0.0}, "^step: 0 s"),
        ({"temps": Nodes.all_at(500.0)}, "^temps: 500 degC"),
    ],
)
def test_bad_input_is_refused(changed, words):
    asked = {"temps": Nodes.all_at(45.0), "duration": 10.0, "step": 1.0} | changed
    with pytest.raises(InputError, match=words):
        follow_many(motors(), locked_and_warming, **asked)
