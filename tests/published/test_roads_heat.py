"""Second roads to figures of heat: SciPy's roots and integrals, property libraries, conservation."""

import math
from dataclasses import replace

import CoolProp.CoolProp as coolprop
import ht
import numpy as np
import pytest
from scipy import constants
from scipy.integrate import quad, simpson, solve_ivp
from scipy.optimize import brentq, root

from airover.physics import coil, heat, insulation, natural_convection, thermal_body
from airover.physics.thermal import Nodes, placed
from airover.physics.thermal_body import usual_network
from airover.physics.thermal_many import follow_many
from airover.physics.thermal_time import Moment, follow

FILM, AIR = 25.0, 50.0
LOSSES = placed(60.0, 40.0, 42.0, 20.0, 3.71)
USUAL = usual_network(0.142, 0.13)
NO_OTHER = "differential equation of the same law, SciPy solve_ivp (no other formula)"


def dry_air(temp):
    """Kinematic viscosity, Prandtl number and conductivity by CoolProp at 1 atm."""
    state = ("T", temp + 273.15, "P", 101325.0, "Air")
    density, viscosity, prandtl, conductivity = (
        coolprop.PropsSI(name, *state) for name in ("D", "viscosity", "Prandtl", "conductivity")
    )
    return viscosity / density, prandtl, conductivity


@pytest.mark.parametrize("speed", [1.5, 6.0, 12.0])
def test_film_of_a_stream(road, speed):
    ours = heat.film_coefficient(0.142, speed, AIR)
    viscosity, prandtl, conductivity = dry_air(AIR)
    library = ht.conv_external
    theirs = sorted(
        nusselt(speed * 0.142 / viscosity, prandtl) * conductivity / 0.142
        for nusselt in (
            library.Nu_cylinder_Churchill_Bernstein,
            library.Nu_cylinder_Zukauskas,
        )
    )
    by = "library ht on CoolProp's air"
    road("heat", "film of a stream, both correlations", sorted(ours), theirs, by=by, within=5e-3)


@pytest.mark.parametrize("rise", [5.0, 40.0, 100.0])
def test_film_in_still_air(road, rise):
    viscosity, prandtl, conductivity = dry_air(AIR + rise / 2)
    driving = constants.g * rise / (AIR + rise / 2 + 273.15) / viscosity**2
    lying = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(prandtl, driving * 0.142**3)
    standing = ht.conv_free_immersed.Nu_vertical_plate_Churchill(prandtl, driving * 0.13**3)
    theirs = lying * conductivity / 0.142, standing * conductivity / 0.13
    ours = natural_convection.free_film(0.142, 0.13, rise, AIR)
    by = "library ht on CoolProp's air"
    road("natural_convection", "film in still air", ours, theirs, by=by, within=5e-3)


@pytest.mark.parametrize("emissivity", [0.0, 0.5, 0.9])
def test_shell_that_cools_until_it_stays(road, emissivity):
    """The balance by SciPy's brentq, and as the end of warming up in time."""
    area, loss = 0.09, 165.71

    def gained(rise):
        radiated = constants.Stefan_Boltzmann * ((323.15 + rise) ** 4 - 323.15**4)
        return loss - area * (FILM * rise + emissivity * radiated)

    ours = heat.shell_rise(loss, area, FILM, AIR, emissivity)
    theirs = brentq(gained, 0, 1000, xtol=1e-12)
    road("heat", "rise of a shell", ours, theirs, by="SciPy brentq", within=1e-8)
    end = solve_ivp(lambda _, rise: gained(rise) / 100, (0, 2000), [0.0], rtol=1e-9, atol=1e-9)
    by = "warming up in time until nothing changes, SciPy solve_ivp"
    road("heat", "rise of a shell", ours, end.y[0, -1], by=by, within=1e-6)


@pytest.mark.parametrize(("material", "coefficient"), [("copper", 3.93e-3), ("aluminium", 4.03e-3)])
def test_resistance_by_its_coefficient(road, material, coefficient):
    """The metal's coefficient at 20 degC instead of the temperature at which it would vanish."""
    theirs = (1 + coefficient * 80) / (1 + coefficient * 5)
    ours = heat.resistance_factor(100.0, 25.0, material)
    by = "coefficients of IEC 60028 and IEC 60889; from memory, not verified"
    road("heat", "resistance at 100 over 25 degC", ours, theirs, by=by, within=5e-3)
    rise = heat.rise_by_resistance(10.0, 10.0 * theirs, 25.0, 25.0, material)
    road("heat", "rise by resistance", rise, 75.0, by=by, within=2e-2)


@pytest.mark.parametrize(("humidity", "within"), [(0.0, 4e-3), (0.4, 0.02)])
def test_air_that_leaves_a_coil(road, humidity, within):
    """Enthalpy from a property library instead of one specific heat."""
    flow, temp, watts = 1.1327, 35.0, 13188.0
    state = ("T", temp + 273.15, "P", 101325.0, "R", humidity)
    enthalpy, ratio, volume = (coolprop.HAPropsSI(name, *state) for name in ("H", "W", "V"))
    found = coolprop.HAPropsSI(
        "T", "H", enthalpy + watts / (flow / volume), "P", 101325.0, "W", ratio
    )
    density = (1 + ratio) / volume
    ours = coil.leaving_temperature(watts, flow, temp, density) - temp
    by = "enthalpy of moist air, CoolProp HAPropsSI"
    # one specific heat of dry air for all: the vapour of 40 % makes 1.2 %
    what = f"rise of air of {100 * humidity:.0f} %"
    road("coil", what, ours, found - 273.15 - temp, by=by, within=within)


def test_coil_strip_by_strip(road):
    """Air that passes 2000 strips of one temperature, each warming it a little."""
    units, apart = coil.transfer_units(1434.0, 1.1327), 1.0
    for _ in range(2000):
        apart *= (1 - units / 4000) / (1 + units / 4000)
    by = "2000 strips passed one after the other, mean difference in each"
    ours = coil.effectiveness_of(units)
    road("coil", "effectiveness", ours, 1 - apart, by=by, within=1e-6)


def conductances(network):
    """(7, 7) from the names of the ways: what joins "rotor_core" is at those two nodes."""
    short = {"main": 0, "aux": 1, "rotor": 2, "core": 3, "shell": 4, "blade": 5, "far": 6}
    between = np.zeros((7, 7))
    for name, value in network.inside._asdict().items():
        one, other = (short[end] for end in name.split("_"))
        between[one, other] = between[other, one] = value
    return between


def left_over(network, temps, losses, film):
    """Heat [W] that each node keeps, written out once more."""
    rise = temps - AIR
    free = natural_convection.free_film(network.diameter, network.length, rise[4], AIR)
    swept = (film**3 + free.standing**3) ** (1 / 3)
    black = 0.9 * constants.Stefan_Boltzmann
    hub = network.hub * (swept + 4 * black * (AIR + 273.15) ** 3)
    out = np.zeros(7)
    out[4] = network.area * swept * rise[4]
    out[4] += network.area * black * ((temps[4] + 273.15) ** 4 - (AIR + 273.15) ** 4)
    out[5:] = (hub + network.fin) * rise[5], hub * rise[6]
    between = conductances(network)
    return np.array(losses) - out - (between * (temps[:, None] - temps)).sum(axis=1)


@pytest.mark.parametrize("film", [0.0, 10.0, 40.0])
def test_seven_balances_at_once(road, film):
    ours = np.array(USUAL.steady(LOSSES, film, AIR))
    found = root(lambda t: left_over(USUAL, t, LOSSES, film), np.full(7, 120.0), tol=1e-12)
    by = "seven balances written out in the test, SciPy root"
    road("thermal", "rises of all nodes", ours - AIR, found.x - AIR, by=by, within=1e-6)


@pytest.mark.parametrize(("film", "within"), [(FILM, 5e-3), (60.0, 5e-4), (0.0, 0.08)])
def test_time_constants_by_differences(road, film, within):
    """Each node nudged in turn, all balances looked at. Ours holds the draught, which makes it."""
    end = USUAL.steady(LOSSES, film, AIR)
    ours = USUAL.time_constants(end, film, AIR)
    nudges = 1e-3 * np.eye(7)
    rates = [
        (left_over(USUAL, end - nudge, LOSSES, film) - left_over(USUAL, end + nudge, LOSSES, film))
        for nudge in nudges
    ]
    matrix = np.transpose(rates) / 2e-3 / np.array(USUAL.capacity)[:, None]
    theirs = np.sort(1 / np.linalg.eigvals(matrix).real)[::-1]
    by = "balances written out in the test, differences and NumPy eigvals"
    what = f"time constants in a stream of {film:g} W/m2K"
    road("thermal", what, ours, theirs, by=by, within=within)


def test_the_motor_warming_up_written_out(road):
    """The seven balances of the test by SciPy's implicit Radau, beside our own course."""
    capacity = np.array(USUAL.capacity)
    ours = follow(
        USUAL, lambda *_: Moment(LOSSES, FILM, AIR), Nodes.all_at(AIR), 3600.0, samples=401
    )
    theirs = solve_ivp(
        lambda _, temps: left_over(USUAL, temps, LOSSES, FILM) / capacity,
        (0, 3600), np.full(7, AIR), "Radau", [900.0, 3600.0], rtol=1e-9, atol=1e-9,
    ).y  # fmt: skip
    at = [np.argmin(np.abs(ours.time - time)) for time in (900.0, 3600.0)]
    np.testing.assert_allclose(ours.time[at], [900.0, 3600.0])
    rises = np.array(ours.temps)[:, at] - AIR
    by = "seven balances written out in the test, SciPy Radau"
    road("thermal_time", "rises on the way", rises, theirs - AIR, by=by, within=1e-5)


def test_heat_of_a_locked_motor(road):
    made = placed(300.0, 200.0, 250.0, 20.0, 0.0)
    course = follow(
        USUAL, lambda *_: Moment(made, 0.0, AIR), Nodes.all_at(AIR), 1800.0, samples=3001
    )
    kept = sum(c * (t[-1] - t[0]) for c, t in zip(USUAL.capacity, course.temps, strict=True))
    gone = simpson(course.heat_out, x=course.time)
    by = "heat made is stored or given off, Simpson's rule"
    road("thermal_time", "heat of 1800 s", kept + gone, 770.0 * 1800.0, by=by, within=1e-5)


def test_many_at_once_beside_each_alone(road):
    sizes = np.array([0.12, 0.14, 0.16])

    def moment(time, temps, closed):
        loss = 300.0 * (1 - 0.002 * (temps.winding_main - 25))
        return Moment(placed(loss, 0.6 * loss, 0.8 * loss, 0.0, 0.0), 0.0, 45.0)

    def networks(diameter):
        return usual_network(diameter, 0.13)

    ours = follow_many(networks(sizes), moment, Nodes.all_at(45.0), 600.0, 1.0)
    by = "`thermal_time`: one motor after the other, SciPy solve_ivp"
    for number, size in enumerate(sizes):
        alone = follow(networks(float(size)), moment, Nodes.all_at(45.0), 600.0)
        rise = np.array([node[-1, number] for node in ours.temps]) - 45.0
        theirs = np.array([node[-1] for node in alone.temps]) - 45.0
        # ways to the air are held for a stretch at a time
        road("thermal_many", "rises of a locked motor", rise, theirs, by=by, within=5e-3)


def test_many_at_once_as_one_lump(road):
    inside = type(USUAL.inside)(*[1e5] * 12)
    one = replace(USUAL, inside=inside, emissivity=0.0, fin=0.0)
    one = one.rearranged(lambda value: np.atleast_1d(np.asarray(value, dtype=float)))
    conductance = 200.0 * heat.shell_area(0.142, 0.13)
    tau = sum(float(c[0]) for c in one.capacity) / conductance
    made = placed(0.0, 0.0, 0.0, 150.0, 0.0)
    found = follow_many(one, lambda *_: Moment(made, 200.0, AIR), Nodes.all_at(AIR), 2 * tau, 2.0)
    ours = found.temps.core[-1, 0] - AIR
    theirs = -150.0 / conductance * math.expm1(-found.time[-1] / tau)
    by = "one lump's exponential, closed form"
    road("thermal_many", "rise of one lump", ours, theirs, by=by, within=1e-3)


STEEL = 60.5  # W/mK, plain carbon steel, Incropera and DeWitt, table A.1; from memory, not verified


def test_ways_inside_by_conduction(road):
    """The sizes that the module names, conducted through ring by ring.

    Rotor of 80 mm, stack of 50 mm, gap 0.35 mm of still air at 80 degC; press fit 700 W/m2K on a
    core of 135 mm; shields of 2.5 mm steel from half of the radius out; 59 mm of 1/2 in shaft.
    """
    air = dry_air(80.0)[2]

    def ring(conductivity, thick, inner, outer):
        return 1 / quad(lambda r: 1 / (conductivity * 2 * np.pi * r * thick), inner, outer)[0]

    ways = thermal_body.usual_inside(0.14, 0.14)
    shaft = 1 / quad(lambda x: 1 / (STEEL * np.pi / 4 * 0.0127**2), 0, 0.059)[0]
    ours = [ways.rotor_core, ways.core_shell, ways.blade_shell, ways.rotor_blade]
    theirs = [
        ring(air, 0.05, 0.04, 0.04035),
        700 * np.pi * 0.135 * 0.05,
        ring(STEEL, 0.0025, 0.035, 0.07),
        shaft,
    ]
    by = "conduction through the sizes that the module names, SciPy quad"
    what = "rotor to core, core to shell, shield, shaft"
    road("thermal_body", what, ours, theirs, by=by, within=0.2)


def test_pin_that_leads_heat_into_the_stream(road):
    """The shaft's end as a fin, its differential equation along 0.3 m of 12.7 mm steel in 6 m/s."""
    viscosity, prandtl, conductivity = dry_air(AIR)
    nusselt = ht.conv_external.Nu_cylinder_Churchill_Bernstein(6.0 * 0.0127 / viscosity, prandtl)
    film = nusselt * conductivity / 0.0127
    steep = 4 * film / (STEEL * 0.0127)  # 1/m2
    found = solve_ivp(
        lambda _, rise: [rise[1], steep * rise[0]], (0.3, 0.0), [1.0, 0.0], rtol=1e-8
    ).y[:, -1]
    theirs = -STEEL * np.pi / 4 * 0.0127**2 * found[1] / found[0]
    by = "a steel pin's differential equation, SciPy solve_ivp, film by ht"
    ours = thermal_body.usual_network(0.14, 0.14).fin
    # an own estimate: a real end is shorter and partly within the hub of the blade
    road("thermal_body", "shaft's end", ours, theirs, by=by, within=0.3)


@pytest.mark.parametrize(("diameter", "length"), [(0.12, 0.1), (0.142, 0.13), (0.16, 0.2)])
def test_what_a_body_is_made_of(road, diameter, length):
    """All surface and all mass are somewhere: nodes add up to a cylinder, filled."""
    body = thermal_body.usual_network(diameter, length)
    mantle = quad(lambda x: np.pi * diameter, 0, length)[0]
    ends = 2 * quad(lambda r: 2 * np.pi * r, 0, diameter / 2)[0]
    by = "conservation: parts add up to the whole, SciPy quad"
    surface = body.area + 2 * body.hub
    road("thermal_body", "surface", surface, mantle + ends, by=by, within=1e-12)
    warms = {"copper": 0.11, "aluminium": 0.03, "silicon steel": 0.55, "steel": 0.31}
    assert sum(warms.values()) == pytest.approx(1.0)
    each = {"copper": 385.0, "aluminium": 903.0, "silicon steel": 460.0, "steel": 434.0}
    mass = 3250.0 * mantle / np.pi / diameter * quad(lambda r: 2 * np.pi * r, 0, diameter / 2)[0]
    theirs = mass * sum(share * each[name] for name, share in warms.items())
    road("thermal_body", "heat capacity", sum(body.capacity), theirs, by=by, within=1e-12)


@pytest.mark.parametrize("temp", [95.0, 115.0, 150.0])
def test_insulation_that_ages_along_a_way(road, temp):
    def halving(_, life):
        return -np.log(2) / 10.0 * life

    end = solve_ivp(halving, (130.0, temp), [20000.0], rtol=1e-11, atol=1e-8).y[0, -1]
    ours = insulation.life(temp, "B", 10.0)
    road("insulation", "life by halving", ours, end, by=NO_OTHER, within=1e-8)


@pytest.mark.parametrize("interval", [8.0, 10.0])
def test_arrhenius_as_a_reaction(road, interval):
    """A rate that goes with exp(-E / kT), E found so that it doubles within the interval."""

    def rate(energy, temp):
        return math.exp(-energy * constants.e / constants.k * (1 / (temp + 273.15) - 1 / 403.15))

    energy = brentq(lambda energy: rate(energy, 130.0 + interval) - 2, 0.1, 5.0, xtol=1e-14)
    by = "rate of a reaction, its energy found by SciPy brentq"
    for temp in (100.0, 120.0, 145.0, 170.0):
        ours = insulation.arrhenius("B", interval).life(temp)
        theirs = 20000.0 / rate(energy, temp)
        road("insulation", "life by Arrhenius", ours, theirs, by=by, within=1e-8)
