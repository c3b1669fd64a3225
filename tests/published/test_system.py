"""Losses of parts in series against a general library of fluid mechanics."""

import fluids
import pytest

from airover.physics.air_path import (
    System,
    fitting_resistance,
    resistance_at_density,
    system_resistance,
)

LIBRARY = "fluids, run in this test"


@pytest.mark.parametrize("factor, area, flow, density", [(1.0, 0.4, 1.13, 1.2), (2.7, 0.9, 2, 0.9)])
def test_loss_of_a_fitting(book, factor, area, flow, density):
    book.agrees(
        f"K {factor:g} on {area:g} m2 at {flow:g} m3/s, {density:g} kg/m3, Pa",
        fitting_resistance(factor, area, density) * flow**2,
        fluids.dP_from_K(factor, density, flow / area),
        within=1e-12,  # the same equation, written by others
        source=LIBRARY,
        road=("air_path", "loss of a fitting"),
    )


@pytest.mark.parametrize("density", [0.9, 1.1])
def test_loss_in_other_air(book, density):
    """The same volume of lighter air: the library's loss there from our resistance in 1.2 kg/m3."""
    flow, area, loss_factor = 1.13, 0.4, 1.7
    resistance = resistance_at_density(
        fitting_resistance(loss_factor, area, 1.2), 1.2, density / 1.2
    )
    book.agrees(
        f"K {loss_factor:g} on {area:g} m2 at {flow:g} m3/s, 1.2 to {density:g} kg/m3, Pa",
        resistance * flow**2,
        fluids.dP_from_K(loss_factor, density, flow / area),
        within=1e-12,  # the same equation, written by others
        source=LIBRARY,
        road=("air_path", "loss in other air"),
    )


def test_standard_air(book):
    source = "ISO 5801, standard air 1.2 kg/m3, from memory, not verified"
    item = "default density, kg/m3"
    book.agrees(item, System(10.0).density, 1.2, within=1e-12, source=source)


def test_a_coil_a_screen_and_the_way_out_in_series(book):
    """Guard of round wires with 70 % open area, discharge into the open, coil from its point."""
    flow, area, density = 1.13, 0.25, 1.15
    speed = flow / area
    guard = fluids.round_edge_screen(0.7, Re=speed * 0.003 / 1.6e-5)
    out = fluids.exit_normal()
    theirs = 18.0 + sum(fluids.dP_from_K(k, density, speed) for k in (guard, out))
    system = System(
        coil=system_resistance(flow, 18.0),
        others=tuple(fitting_resistance(k, area, density) for k in (guard, out)),
        density=density,
    )
    ours = system.resistance(density) * flow**2
    item = "coil 18 Pa, screen of 70 % open area and exit on 0.25 m2, Pa"
    road = "air_path", "coil, screen and exit in series"
    book.agrees(item, ours, theirs, within=1e-12, source=LIBRARY, road=road)


def test_system_resistance(book):
    source = "definition k = dp/Q^2, recomputed"
    ours = system_resistance(1.1742, 34.468)
    book.agrees("resistance, Pa s2/m6", ours, 25.0, within=1e-4, source=source)  # 5 figures


def test_velocity_pressure_of_standard_air(book):
    """Ductwork's rule: 4005 ft/min of standard air is 1 in. of water."""
    speed = 4005 * 0.3048 / 60
    book.agrees(
        "velocity pressure at 4005 ft/min in 0.075 lb/ft3, Pa",
        fitting_resistance(1.0, 1.0, 1.2014) * speed**2,
        248.84,  # 1 in. of water at 60 degF; at 39.2 degF 249.09
        within=1.5e-3,  # four printed figures of the rule, and which temperature the water has
        source="ASHRAE Handbook, Fundamentals, duct design, from memory, recomputed",
    )
