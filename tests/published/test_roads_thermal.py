"""Independent methods for the network of heat: balances written out, closed forms, conduction."""

import math
from dataclasses import replace

import ht
import numpy as np
import pytest
from scipy import constants
from scipy.integrate import quad, simpson, solve_ivp
from scipy.optimize import root

from airover.physics import heat, thermal_network
from airover.physics.thermal_network import Inside, Network, Nodes, placed, usual_network
from airover.physics.thermal_transient import ThermalMoment, follow, follow_many

from .test_roads_heat import dry_air

FILM, AIR = 25.0, 50.0
LOSSES = placed(60.0, 40.0, 42.0, 20.0, 3.71)
USUAL = usual_network(0.142, 0.13)


def lopsided():
    """Invented, no two ways or nodes alike: painted and upright, as is usual."""
    return Network(
        inside=Inside(5.0, 8.0, 2.0, 0.2, 0.5, 11.0, 1.3, 0.4, 0.1, 0.25, 1.7, 0.8),
        diameter=0.15,
        length=0.12,
        area=0.08,
        hub=0.006,
        fin=0.2,
        capacity=Nodes(190.0, 140.0, 700.0, 1300.0, 600.0, 110.0, 80.0),
    )


def lying():
    return usual_network(0.142, 0.13, emissivity=0.3, upright=0.25)


# how it is made, its emissivity, how upright it is
NETWORKS = {
    "usual": (lambda: USUAL, 0.9, 1.0),
    "lopsided": (lopsided, 0.9, 1.0),
    "lying": (lying, 0.3, 0.25),
}


def conductances(network):
    """(7, 7) from the names of the ways: what joins "rotor_core" is at those two nodes."""
    short = {"main": 0, "aux": 1, "rotor": 2, "core": 3, "shell": 4, "blade": 5, "far": 6}
    between = np.zeros((7, 7))
    for name, value in network.inside._asdict().items():
        one, other = (short[end] for end in name.split("_"))
        between[one, other] = between[other, one] = value
    return between


def left_over(name, temps, losses, film, draught=None):
    """Heat [W] that each node keeps, written out once more; ``draught`` of a shell at that rise."""
    made, emissivity, upright = NETWORKS[name]
    network = made()
    rise = temps - AIR
    driving = rise[4] if draught is None else draught
    free = heat.free_film(network.diameter, network.length, driving, AIR)
    still = upright * free.vertical + (1 - upright) * free.horizontal
    swept = (film**3 + still**3) ** (1 / 3)
    black = emissivity * constants.Stefan_Boltzmann
    hub = network.hub * (swept + 4 * black * (AIR + 273.15) ** 3)
    out = np.zeros(7)
    out[4] = network.area * swept * rise[4]
    out[4] += network.area * black * ((temps[4] + 273.15) ** 4 - (AIR + 273.15) ** 4)
    out[5:] = (hub + network.fin) * rise[5], hub * rise[6]
    between = conductances(network)
    return np.array(losses) - out - (between * (temps[:, None] - temps)).sum(axis=1)


@pytest.mark.parametrize("name", NETWORKS)
@pytest.mark.parametrize("film", [0.0, 10.0, 40.0])
def test_seven_balances_at_once(road, name, film):
    ours = np.array(NETWORKS[name][0]().steady(LOSSES, film, AIR))
    found = root(lambda t: left_over(name, t, LOSSES, film), np.full(7, 120.0), tol=1e-12)
    by = "seven balances written out in the test, SciPy root"
    road("thermal_network", "rises of all nodes", ours - AIR, found.x - AIR, by=by, within=1e-6)


def by_differences(name, end, film, draught=None):
    """Time constants [s]: each node nudged in turn, all balances looked at."""
    rates = [
        left_over(name, end - nudge, LOSSES, film, draught)
        - left_over(name, end + nudge, LOSSES, film, draught)
        for nudge in 1e-3 * np.eye(7)
    ]
    capacity = np.array(NETWORKS[name][0]().capacity)
    matrix = np.transpose(rates) / 2e-3 / capacity[:, None]
    return np.sort(1 / np.linalg.eigvals(matrix).real)[::-1]


@pytest.mark.parametrize(("film", "within"), [(FILM, 5e-3), (60.0, 5e-4), (0.0, 0.08)])
def test_time_constants_by_differences(road, film, within):
    """Ours holds the draught, which makes the difference."""
    end = USUAL.steady(LOSSES, film, AIR)
    ours, theirs = USUAL.time_constants(end, film, AIR), by_differences("usual", end, film)
    by = "balances written out in the test, differences and NumPy eigvals"
    what = f"time constants in an airstream of {film:g} W/m2K"
    road("thermal_network", what, ours, theirs, by=by, within=within)


@pytest.mark.parametrize("name", NETWORKS)
def test_time_constants_while_the_draught_is_held(road, name):
    network = NETWORKS[name][0]()
    end = network.steady(LOSSES, 0.0, AIR)
    ours = network.time_constants(end, 0.0, AIR)
    theirs = by_differences(name, end, 0.0, draught=end.shell - AIR)
    by = "balances with the same natural convection, differences and NumPy eigvals"
    road("thermal_network", "time constants in still air", ours, theirs, by=by, within=1e-5)


def test_windings_over_a_held_shell(road):
    ours = lopsided().inner_rises(LOSSES)
    between = conductances(lopsided())
    inner = np.diag(between.sum(axis=1)) - between
    theirs = np.linalg.solve(inner[:4, :4], LOSSES[:4])
    by = "balances of the inner nodes, NumPy solve"
    road(
        "thermal_network", "temperature rises over a fixed shell", ours, theirs, by=by, within=1e-10
    )


def test_three_motors_grown_together(road):
    """They give off three times the heat of one at the same temperatures."""
    ours = lopsided().better(3.0).steady(Nodes(*(3 * loss for loss in LOSSES)), 10.0, AIR)
    theirs = lopsided().steady(LOSSES, 10.0, AIR)
    road(
        "thermal_network",
        "motors in parallel",
        ours,
        theirs,
        by="symmetry: each the same as alone",
        within=1e-8,
    )


def test_losses_are_all_at_some_node(road):
    ours = sum(placed(60.0, 40.0, 42.0, 20.0, 3.71, sun=12.0))
    by = "conservation: parts add up to the whole"
    road(
        "thermal_network",
        "distribution of losses",
        ours,
        60.0 + 40.0 + 42.0 + 20.0 + 3.71 + 12.0,
        by=by,
        within=1e-12,
    )


@pytest.mark.parametrize("name", ["usual", "lopsided"])
def test_the_motor_warming_up_written_out(road, name):
    """The seven balances of the test by SciPy's implicit Radau, beside our own course."""
    network = NETWORKS[name][0]()
    capacity = np.array(network.capacity)
    ours = follow(
        network, lambda *_: ThermalMoment(LOSSES, FILM, AIR), Nodes.all_at(AIR), 3600.0, samples=401
    )
    theirs = solve_ivp(
        lambda _, temps: left_over(name, temps, LOSSES, FILM) / capacity,
        (0, 3600), np.full(7, AIR), "Radau", [900.0, 3600.0], rtol=1e-9, atol=1e-9,
    ).y  # fmt: skip
    at = [np.argmin(np.abs(ours.time - time)) for time in (900.0, 3600.0)]
    np.testing.assert_allclose(ours.time[at], [900.0, 3600.0])
    rises = np.array(ours.temps)[:, at] - AIR
    by = "seven balances written out in the test, SciPy Radau"
    road(
        "thermal_transient", "temperature rises over time", rises, theirs - AIR, by=by, within=1e-5
    )


def test_heat_of_a_locked_motor(road):
    made = placed(300.0, 200.0, 250.0, 20.0, 0.0)
    course = follow(
        USUAL, lambda *_: ThermalMoment(made, 0.0, AIR), Nodes.all_at(AIR), 1800.0, samples=3001
    )
    kept = sum(c * (t[-1] - t[0]) for c, t in zip(USUAL.capacity, course.temps, strict=True))
    gone = simpson(course.heat_out, x=course.time)
    by = "generated heat is stored or given off, Simpson's rule"
    road("thermal_transient", "heat of 1800 s", kept + gone, 770.0 * 1800.0, by=by, within=1e-5)


def test_many_at_once_beside_each_alone(road):
    sizes = np.array([0.12, 0.14, 0.16])

    def moment(time, temps, closed):
        loss = 300.0 * (1 - 0.002 * (temps.winding_main - 25))
        return ThermalMoment(placed(loss, 0.6 * loss, 0.8 * loss, 0.0, 0.0), 0.0, 45.0)

    def networks(diameter):
        return usual_network(diameter, 0.13)

    ours = follow_many(networks(sizes), moment, Nodes.all_at(45.0), 600.0, 1.0)
    by = "`thermal_time`: one motor at a time, SciPy solve_ivp"
    for number, size in enumerate(sizes):
        alone = follow(networks(float(size)), moment, Nodes.all_at(45.0), 600.0)
        rise = np.array([node[-1, number] for node in ours.temps]) - 45.0
        theirs = np.array([node[-1] for node in alone.temps]) - 45.0
        # ways to the air are held for a stretch at a time
        road("thermal_transient", "rises of a locked motor", rise, theirs, by=by, within=5e-3)


SWEPT = 200.0 * heat.shell_area(0.142, 0.13)  # W/K of a lump in a film of 200 W/m2K


@pytest.fixture(scope="module")
def lump():
    """A motor whose nodes are one and radiate nothing, and its heat capacity [J/K]."""
    one = replace(USUAL, inside=Inside(*[1e5] * 12), emissivity=0.0, fin=0.0)
    one = one.rearranged(lambda value: np.atleast_1d(np.asarray(value, dtype=float)))
    return one, sum(float(c[0]) for c in one.capacity)


def test_many_at_once_as_one_lump(road, lump):
    one, capacity = lump
    tau = capacity / SWEPT
    made = placed(0.0, 0.0, 0.0, 150.0, 0.0)
    found = follow_many(
        one, lambda *_: ThermalMoment(made, 200.0, AIR), Nodes.all_at(AIR), 2 * tau, 2.0
    )
    ours = found.temps.core[-1, 0] - AIR
    theirs = -150.0 / SWEPT * math.expm1(-found.time[-1] / tau)
    by = "one lump's exponential, closed form"
    road("thermal_transient", "rise of one lump", ours, theirs, by=by, within=1e-3)


def test_a_lump_whose_losses_grow_in_time_and_fall_as_it_warms(road, lump):
    """C x' = a + b t - (c + G) x, which has a closed form."""
    one, capacity = lump
    falls, length = 0.5 * SWEPT, 2 * capacity / SWEPT
    grows = 200.0 / length

    def moment(time, temps, closed):
        loss = 100.0 + grows * time - falls * (temps.core - AIR)
        return ThermalMoment(placed(0.0, 0.0, 0.0, loss, 0.0), 200.0, AIR)

    found = follow_many(one, moment, Nodes.all_at(AIR), length, length / 100)
    leads = falls + SWEPT
    behind = grows * capacity / leads
    fading = np.exp(-found.time * leads / capacity)
    theirs = (100.0 - behind) / leads * (1 - fading) + grows * found.time / leads
    by = "one lump's linear equation, closed form"
    ours = found.temps.core[50:, 0] - AIR
    road("thermal_transient", "changing losses", ours, theirs[50:], by=by, within=3e-4)


def test_a_lump_in_a_stream_that_changes(road, lump):
    """Film and air change at 100 s and not before, in steps as long as the ways are held."""
    one, capacity = lump
    made = placed(0.0, 0.0, 0.0, 150.0, 0.0)

    def moment(time, temps, closed):
        return (
            ThermalMoment(made, 200.0, AIR)
            if time < 100.0
            else ThermalMoment(made, 100.0, AIR - 5.0)
        )

    found = follow_many(one, moment, Nodes.all_at(AIR), 250.0, 1000.0, changes=[100.0])
    first = AIR - 150.0 / SWEPT * math.expm1(-100.0 * SWEPT / capacity)
    end = AIR - 5.0 + 300.0 / SWEPT
    theirs = end + (first - end) * math.exp(-150.0 * 0.5 * SWEPT / capacity)
    by = "one lump's exponentials, closed form"
    ours = found.temps.core[-1, 0] - AIR
    road("thermal_transient", "changing airstream", ours, theirs - AIR, by=by, within=1e-3)


STEEL = 60.5  # W/mK, plain carbon steel, Incropera and DeWitt, table A.1; from memory, not verified
SIZES = [(0.14, 0.14), (0.224, 0.098)]


def ways_by_conduction(diameter, length):
    """Some ways inside [W/K] of a motor whose sizes grow with its shell, gaps and sheets excepted.

    At 0.14 by 0.14 m: rotor of 80 mm, stack of 50 mm, gap 0.35 mm of still air at 80 degC; 36
    slots, half of them each winding's, 11 mm deep and 4 mm wide with a liner on three sides, and
    windings that lie side by side at the 11 mm of 18 slots; press fit on a core of 135 mm; end
    windings 22 mm high on 100 mm, both of their sides in the air inside; rings of 25 mm at the
    rotor's ends; shields of 2.5 mm from half of the radius out; 59 mm of 1/2 in shaft. 300 W/m2K
    of a liner, 700 of a press fit, 22.5 of the air inside.
    """
    wide, long = diameter / 0.14, length / 0.14
    stack, rotor = 0.05 * long, 0.04 * wide

    def ring(conductivity, thick, inner, outer):
        return 1 / quad(lambda r: 1 / (conductivity * 2 * np.pi * r * thick), inner, outer)[0]

    pin = STEEL * np.pi / 4 * (0.0127 * wide) ** 2
    slots = 300 * 18 * stack * wide
    turns = 22.5 * np.pi * 0.1 * 0.022 * wide**2
    face = quad(lambda r: 2 * np.pi * r, 0, rotor)[0]
    shield = ring(STEEL, 0.0025 * wide, 0.035 * wide, 0.07 * wide)
    bearing = 1 / quad(lambda x: 1 / pin, 0, 0.059 * long)[0]
    return Inside(
        main_core=slots * 0.026,
        aux_core=slots * 0.026,
        main_aux=slots * 0.011,
        main_shell=2 * turns,
        aux_shell=2 * turns,
        core_shell=700 * np.pi * 0.135 * wide * stack,
        rotor_core=ring(dry_air(80.0)[2], stack, rotor, rotor + 0.00035),
        rotor_shell=22.5 * 2 * (face + 2 * np.pi * rotor * 0.025 * wide),
        rotor_blade=bearing,
        rotor_far=bearing,
        blade_shell=shield,
        far_shell=shield,
    )


# Rounded to a figure or two; the gap's air is warmer or cooler, and shields are not all ring.
NEAR = {"rotor_core": 0.15, "core_shell": 0.15, "blade_shell": 0.15, "far_shell": 0.15}


@pytest.mark.parametrize(("diameter", "length"), SIZES)
@pytest.mark.parametrize("way", Inside._fields)
def test_ways_inside_by_conduction(road, way, diameter, length):
    ours = getattr(thermal_network.usual_inside(diameter, length), way)
    theirs = getattr(ways_by_conduction(diameter, length), way)
    by = "conduction with typical motor dimensions (our estimates), SciPy quad"
    what = "gap, fit, shields" if way in NEAR else "slots, air inside, shaft"
    road("thermal_network", what, ours, theirs, by=by, within=NEAR.get(way, 0.05))


def test_ways_inside_grow_as_their_sizes_do(road):
    ours, theirs = (
        np.divide(*(ways(*size) for size in reversed(SIZES)))
        for ways in (thermal_network.usual_inside, ways_by_conduction)
    )
    by = "the same conduction in a body 1.6 times as thick and 0.7 times as long"
    road("thermal_network", "increase of internal conductances", ours, theirs, by=by, within=5e-3)


def test_ways_of_each_kind_in_parallel(road):
    """Twice, three and five times the ways of the stator, of the rotor and of the shields."""
    ours = thermal_network.usual_inside(0.14, 0.14, 2.0, 3.0, 5.0)
    theirs = np.array(thermal_network.usual_inside(0.14, 0.14)) * (
        [2.0] * 6 + [3.0] * 4 + [5.0] * 2
    )
    road("thermal_network", "paths in parallel", ours, theirs, by="they add up", within=1e-12)


def pin(diameter, film):
    """Conductance [W/K] of a steel pin 0.5 m long, its differential equation."""
    steep = 4 * film / (STEEL * diameter)  # 1/m2
    found = solve_ivp(
        lambda _, rise: [rise[1], steep * rise[0]], (0.5, 0.0), [1.0, 0.0], rtol=1e-8
    ).y[:, -1]
    return -STEEL * np.pi / 4 * diameter**2 * found[1] / found[0]


def test_pin_that_leads_heat_into_the_stream(road):
    """The shaft end as a fin of 12.7 mm in 6 m/s."""
    viscosity, prandtl, conductivity = dry_air(AIR)
    nusselt = ht.conv_external.Nu_cylinder_Churchill_Bernstein(6.0 * 0.0127 / viscosity, prandtl)
    theirs = pin(0.0127, nusselt * conductivity / 0.0127)
    ours = thermal_network.usual_network(0.14, 0.14).fin
    by = "a steel pin's differential equation, SciPy solve_ivp, convection coefficient by ht"
    # an own estimate: a real end is shorter and partly within the hub of the blade
    road("thermal_network", "shaft end", ours, theirs, by=by, within=0.3)


@pytest.mark.parametrize("wide", [1.0, 1.6])
def test_pin_in_the_film_that_the_module_names(road, wide):
    """It grows with the body, in the same 47 W/m2K."""
    ours = thermal_network.usual_network(0.14 * wide, 0.14).fin
    by = "a steel pin's differential equation, SciPy solve_ivp"
    what = "shaft end in 47 W/m2K"
    # rounded to two figures
    road("thermal_network", what, ours, pin(0.0127 * wide, 47.0), by=by, within=0.03)


@pytest.mark.parametrize(("diameter", "length"), [(0.12, 0.1), (0.142, 0.13), (0.16, 0.2)])
def test_what_a_body_is_made_of(road, diameter, length):
    """All surface and all mass are somewhere: nodes add up to a cylinder, filled."""
    body = thermal_network.usual_network(diameter, length)
    mantle = quad(lambda x: np.pi * diameter, 0, length)[0]
    end = quad(lambda r: 2 * np.pi * r, 0, diameter / 2)[0]
    by = "conservation: parts add up to the whole, SciPy quad"
    surface = body.area + 2 * body.hub
    road("thermal_network", "surface", surface, mantle + 2 * end, by=by, within=1e-12)
    road(
        "thermal_network",
        "a quarter of an end",
        body.hub,
        0.25 * end,
        by="SciPy quad",
        within=1e-12,
    )
    warms = {"copper": 0.11, "aluminum": 0.03, "silicon steel": 0.55, "steel": 0.31}
    assert sum(warms.values()) == pytest.approx(1.0)
    each = {"copper": 385.0, "aluminum": 903.0, "silicon steel": 460.0, "steel": 434.0}
    mass = 3250.0 * mantle / np.pi / diameter * quad(lambda r: 2 * np.pi * r, 0, diameter / 2)[0]
    theirs = mass * sum(share * each[name] for name, share in warms.items())
    road("thermal_network", "heat capacity", sum(body.capacity), theirs, by=by, within=1e-12)
