"""Heat transfer from handbook correlations and a general-purpose library."""

import ht
import numpy as np
import pytest

from airover.physics import heat
from airover.physics.heat import nusselt_churchill_bernstein, nusselt_zukauskas

INCROPERA = "Incropera, DeWitt, Fundamentals of Heat and Mass Transfer, example 7.4; from memory, recomputed"
IEC = "IEC 60034-1, rise by resistance; from memory, recomputed"
INCROPERA_FREE = "Incropera, DeWitt, Fundamentals of Heat and Mass Transfer, example 9.4; from memory, recomputed"
HT = "library ht 1.2, run in the test"


def test_incropera_cylinder_in_cross_flow(book):
    # Air of 26 degC at 10 m/s on 12.7 mm. One correlation takes air at the film's 350 K, the
    # other at 300 K times (Pr / Pr of the surface)^(1/4), which ours leaves out.
    churchill = nusselt_churchill_bernstein(10 * 0.0127 / 20.92e-6, 0.700)
    zukauskas = nusselt_zukauskas(10 * 0.0127 / 15.89e-6, 0.707) * (0.707 / 0.690) ** 0.25
    # Printed to three digits: half a per cent.
    book.agrees("Churchill-Bernstein Nu", churchill, 40.6, within=0.005, source=INCROPERA)
    book.agrees("Zukauskas Nu", zukauskas, 50.5, within=0.005, source=INCROPERA)


@pytest.mark.parametrize("speed, low, high", [(3.0, 17.259, 19.041), (9.0, 33.910, 36.810)])
def test_film_band_of_a_motor_shell(book, speed, low, high):
    film = heat.film_coefficient(0.142, speed, 50.0)
    source = "both correlations with air properties of 50 degC; from memory, recomputed"
    # The two differ in air properties by a few tenths of a per cent.
    item = f"shell 0.142 m, {speed:g} m/s"
    book.agrees(
        f"{item}, lower convection coefficient, W/m2K", film.low, low, within=0.005, source=source
    )
    book.agrees(
        f"{item}, higher convection coefficient, W/m2K",
        film.high,
        high,
        within=0.005,
        source=source,
    )


def test_correlations_against_a_library(book):
    reynolds, prandtl = 23702.0, 0.7044
    # Called by its own name: the library's selector by method runs another correlation there.
    theirs = ht.conv_external.Nu_cylinder_Churchill_Bernstein(reynolds, prandtl)
    ours = nusselt_churchill_bernstein(reynolds, prandtl)
    book.agrees("Churchill-Bernstein Nu at Re 23702", ours, theirs, within=1e-6, source=HT)
    theirs = ht.conv_external.Nu_cylinder_Zukauskas(reynolds, prandtl)
    ours = nusselt_zukauskas(reynolds, prandtl)
    book.agrees("Zukauskas Nu at Re 23702", ours, theirs, within=1e-6, source=HT)


@pytest.mark.parametrize("reynolds", np.geomspace(60, 9e5, 9))
def test_correlations_against_a_library_over_their_range(road, reynolds):
    theirs = ht.conv_external.Nu_cylinder_Churchill_Bernstein(reynolds, 0.71)
    ours = nusselt_churchill_bernstein(reynolds, 0.71)
    road("heat", "Churchill-Bernstein Nu", ours, theirs, by=HT, within=1e-9)
    theirs = ht.conv_external.Nu_cylinder_Zukauskas(reynolds, 0.71)
    ours = nusselt_zukauskas(reynolds, 0.71)
    road("heat", "Zukauskas Nu", ours, theirs, by=HT, within=1e-9)


def test_rise_by_resistance(book):
    rise = heat.rise_by_resistance(10.0, 13.2, 25.0, 25.0)
    book.agrees("copper 10.0 to 13.2 ohm at 25 degC, K", rise, 83.200, within=1e-6, source=IEC)
    rise = heat.rise_by_resistance(10.0, 13.2, 25.0, 25.0, material="aluminum")
    book.agrees("aluminum, the same, K", rise, 80.000, within=1e-6, source=IEC)


def test_shell_of_a_third_horsepower_motor(book):
    area = heat.shell_area(0.142, 0.13)
    film = heat.film_coefficient(0.142, 6.0, 50.0).low
    source = (
        "heat balance of a painted cylinder, 165.71 W, air 50 degC, 6 m/s; from memory, recomputed"
    )
    # The recalled figures imply a film of 25.46 W/m2K, ours is 26.20: 3 % lets that pass, well
    # inside the 10 % between the two correlations.
    with_radiation = heat.shell_rise(165.71, area, film, 50.0, 0.9)
    book.agrees("shell rise with radiation, K", with_radiation, 53.7, within=0.03, source=source)
    without = heat.shell_rise(165.71, area, film, 50.0, 0.0)
    book.agrees("shell rise without radiation, K", without, 72.6, within=0.03, source=source)


@pytest.mark.parametrize(
    ("surface", "absorptivity", "excess"), [("dark", 0.9, 52.0), ("light", 0.45, 26.0)]
)
def test_sol_air_excess(book, surface, absorptivity, excess):
    """Kelvin by which 1000 W/m2 of sun seem to warm the air, with 17 W/m2K outdoors."""
    ours = heat.sun_absorbed(1000.0, absorptivity, 1.0) / 17.0
    source = "ASHRAE Handbook Fundamentals, sol-air temperature, 0.052 and 0.026 m2K/W; from memory, not verified"
    # two printed figures
    book.agrees(f"sun on a {surface} surface, K", ours, excess, within=0.02, source=source)


def test_incropera_lying_cylinder_in_still_air(book):
    # D 0.1 m, surface 165 degC, air 23 degC, with the properties that the example takes.
    rayleigh = 9.8 * 2.725e-3 * (165 - 23) * 0.1**3 / (22.8e-6 * 32.8e-6)
    nusselt = heat.nusselt_horizontal_cylinder(rayleigh, 0.697)
    book.agrees("Rayleigh number", rayleigh, 5.073e6, within=0.001, source=INCROPERA_FREE)
    # Recomputed it is 23.09 and 7.23; the printed 23.3 and 7.29 are rounded on the way: 1 %.
    book.agrees("Churchill-Chu Nu", nusselt, 23.3, within=0.01, source=INCROPERA_FREE)
    film = nusselt * 0.0313 / 0.1
    book.agrees("film, W/m2K", film, 7.29, within=0.01, source=INCROPERA_FREE)
    # By our own properties of air at the mean of 94 degC.
    ours = heat.free_film(0.1, 0.1, 142.0, 23.0).horizontal
    book.agrees(
        "convection coefficient with our air properties, W/m2K",
        ours,
        7.29,
        within=0.02,
        source=INCROPERA_FREE,
    )


def test_free_convection_against_a_library(book):
    rayleigh, prandtl = 5.073e6, 0.697
    theirs = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(prandtl, rayleigh / prandtl)
    ours = heat.nusselt_horizontal_cylinder(rayleigh, prandtl)
    book.agrees("Churchill-Chu, horizontal cylinder, Nu", ours, theirs, within=1e-6, source=HT)
    theirs = ht.conv_free_immersed.Nu_vertical_plate_Churchill(prandtl, rayleigh / prandtl)
    ours = heat.nusselt_vertical_plate(rayleigh, prandtl)
    book.agrees("Churchill-Chu, vertical plate, Nu", ours, theirs, within=1e-6, source=HT)


@pytest.mark.parametrize("rayleigh", np.geomspace(1e2, 1e11, 7))
def test_free_convection_against_a_library_over_its_range(road, rayleigh):
    for prandtl in (0.69, 0.72):
        grashof = rayleigh / prandtl
        theirs = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(prandtl, grashof)
        ours = heat.nusselt_horizontal_cylinder(rayleigh, prandtl)
        road("heat", "horizontal cylinder, Nu", ours, theirs, by=HT, within=1e-9)
        theirs = ht.conv_free_immersed.Nu_vertical_plate_Churchill(prandtl, grashof)
        ours = heat.nusselt_vertical_plate(rayleigh, prandtl)
        road("heat", "vertical plate, Nu", ours, theirs, by=HT, within=1e-9)


def test_stream_and_draught_together(book):
    # Cubes add up, as section 9.9 gives for streams that help each other: equal ones 2^(1/3).
    both = heat.combined_film(10.0, 10.0)
    source = "Incropera and DeWitt, section 9.9, exponent 3; from memory, not verified"
    book.agrees(
        "equal forced and natural convection, factor", both / 10, 1.2599, within=1e-4, source=source
    )
