"""Independent methods for figures of heat: SciPy's roots and integrals, property libraries, conservation."""

import math

import CoolProp.CoolProp as coolprop
import ht
import numpy as np
import pytest
from scipy import constants
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from airover.physics import coil, heat, insulation

FILM, AIR = 25.0, 50.0
NO_OTHER = "differential equation of the same law, SciPy solve_ivp (no independent formula)"


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
    road(
        "heat",
        "forced convection coefficient, both correlations",
        sorted(ours),
        theirs,
        by=by,
        within=5e-3,
    )


@pytest.mark.parametrize("rise", [5.0, 40.0, 100.0])
def test_film_in_still_air(road, rise):
    viscosity, prandtl, conductivity = dry_air(AIR + rise / 2)
    driving = constants.g * rise / (AIR + rise / 2 + 273.15) / viscosity**2
    lying = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(prandtl, driving * 0.142**3)
    standing = ht.conv_free_immersed.Nu_vertical_plate_Churchill(prandtl, driving * 0.13**3)
    theirs = lying * conductivity / 0.142, standing * conductivity / 0.13
    ours = heat.free_film(0.142, 0.13, rise, AIR)
    by = "library ht on CoolProp's air"
    road("heat", "natural convection coefficient", ours, theirs, by=by, within=5e-3)


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
    by = "warm-up over time until steady, SciPy solve_ivp"
    road("heat", "rise of a shell", ours, end.y[0, -1], by=by, within=1e-6)


def test_painted_shell(road):
    """Without an emissivity it is that of paint: 0.90 acrylic, Incropera and DeWitt, table A.11."""
    painted = 0.90 * constants.Stefan_Boltzmann
    theirs = brentq(
        lambda rise: 0.09 * (FILM * rise + painted * ((323.15 + rise) ** 4 - 323.15**4)) - 165.71,
        0,
        1000,
        xtol=1e-12,
    )
    ours = heat.shell_rise(165.71, 0.09, FILM, AIR)
    by = "SciPy brentq, emissivity of white acrylic paint; from memory, not verified"
    road("heat", "rise of a painted shell", ours, theirs, by=by, within=1e-8)


def test_sun_on_a_face_in_part_behind_bars(road):
    """The guard's bars leave 60 % of the face lit: heat added up over one bar and its gap."""
    lit = quad(lambda x: 900.0 * 0.3 * (x < 0.6), 0.0, 1.0, points=[0.6])[0]
    ours = heat.sun_absorbed(900.0, 0.3, 0.6)
    road(
        "heat",
        "solar load behind a guard",
        ours,
        lit,
        by="SciPy quad over the sunlit part",
        within=1e-9,
    )


@pytest.mark.parametrize(("material", "coefficient"), [("copper", 3.93e-3), ("aluminum", 4.03e-3)])
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
    what = f"temperature rise of air at {100 * humidity:.0f} %"
    road("coil", what, ours, found - 273.15 - temp, by=by, within=within)


def test_coil_strip_by_strip(road):
    """Air that passes 2000 strips of one temperature, each warming it a little."""
    units, apart = coil.transfer_units(1434.0, 1.1327), 1.0
    for _ in range(2000):
        apart *= (1 - units / 4000) / (1 + units / 4000)
    by = "2000 strips in series, mean temperature difference in each"
    ours = coil.effectiveness_of(units)
    road("coil", "effectiveness", ours, 1 - apart, by=by, within=1e-6)


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
    by = "reaction rate, activation energy by SciPy brentq"
    for temp in (100.0, 120.0, 145.0, 170.0):
        ours = insulation.arrhenius("B", interval).life(temp)
        theirs = 20000.0 / rate(energy, temp)
        road("insulation", "life by Arrhenius", ours, theirs, by=by, within=1e-8)
