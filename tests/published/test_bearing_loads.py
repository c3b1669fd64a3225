"""Reactions of an overhung shaft against statics solved another way, fan thrust on it, and shocks."""

import numpy as np
import pytest

from airover.physics import bearing_loads, fan

STATICS = "Shigley, Mechanical Engineering Design, statics of a simply supported shaft with an "
STATICS += "overhung load (beam table A-9), from memory, recomputed"


@pytest.mark.parametrize(("force", "overhang", "span"), [(10.0, 0.05, 0.10), (15.6, 0.125, 0.097)])
def test_overhung_load(book, force, overhang, span):
    # the beam's two equations (sum of forces, sum of moments) solved as a system
    balance = np.array([[1.0, 1.0], [span, 0.0]])
    blade, far = np.linalg.solve(balance, [force, force * (span + overhang)])
    ours = bearing_loads.reactions(force, overhang, span)
    item = f"{force:g} N, {1000 * overhang:g} mm outside, span {1000 * span:g} mm, "
    road = "bearing_loads", "reactions"
    book.agrees(item + "near, N", ours.blade, blade, within=1e-12, source=STATICS, road=road)
    book.agrees(item + "far, N", ours.far, far, within=1e-12, source=STATICS, road=road)


def test_thrust_adds_to_the_weight(book):
    # 2400 cfm, 22 in, 37 Pa, 1.1 kg/m3 under an upward discharge: 11.951 N on top of 3 kg
    thrust = fan.thrust(2400 * 4.719474e-4, 37.0, 0.5588, 1.1)
    ours = bearing_loads.axial_forces(3.0 * 9.80665, thrust, "down").blade
    source = "momentum theory of a propeller fan, from memory, recomputed"
    # five printed figures of the thrust
    book.agrees(
        "3 kg fan and air thrust, shaft down, N", ours, 29.420 + 11.951, within=3e-5, source=source
    )


# Weight of 30 N; the air's push 12 or 50 N. By hand: it goes against the discharge; the lower bearing
# stops what is left downwards, the upper one what is left upwards. (blade's bearing, far one)
ALONG = {
    (12.0, "down", "up"): (42.0, 0.0),
    (12.0, "up", "up"): (0.0, 42.0),
    (12.0, "down", "down"): (18.0, 0.0),
    (12.0, "up", "down"): (0.0, 18.0),
    (50.0, "down", "down"): (0.0, 20.0),
    (50.0, "up", "down"): (20.0, 0.0),
    (12.0, "horizontal", "up"): (12.0, 0.0),
    (-12.0, "horizontal", "up"): (12.0, 0.0),
}


@pytest.mark.parametrize(("thrust", "shaft", "discharge"), ALONG)
def test_forces_along_the_shaft(book, thrust, shaft, discharge):
    ours = bearing_loads.axial_forces(30.0, thrust, shaft, discharge)
    source = "balance of forces along the shaft, by hand"
    item = f"30 N, air {thrust:g} N, shaft {shaft}, discharge {discharge}: "
    for name, mine, by_hand in zip(("near, N", "far, N"), ours, ALONG[thrust, shaft, discharge]):
        book.agrees(item + name, mine, by_hand, within=1e-12, source=source)


def test_all_of_it_hangs_on_the_lower_bearing(book):
    ours = bearing_loads.loads(1.2, 2.0, 6.0, 2.0, 5.0, 0.08, 0.1, "down")
    source = "balance of forces along the shaft, by hand"
    # 3.2 kg of standard gravity and 5 N
    item = "blade 1.2 kg, rotor 2 kg, air 5 N, shaft down: "
    book.agrees(item + "along, N", ours.blade.axial, 36.38128, within=1e-12, source=source)
    for name, one in (("near", ours.blade), ("far", ours.far)):
        book.agrees(item + f"weight across, {name}, N", one.steady, 0.0, within=0, source=source)


def test_shock_of_a_fall(book):
    # 2 kg that fall 0.2 m and stop evenly within 0.01 m: 20 times gravity, m v^2 / (2 s)
    squared = 2 * 9.80665 * 0.2
    road = "bearing_loads", "shock"
    source = "work of a uniform deceleration after a fall, from memory, recomputed"
    ours, theirs = bearing_loads.shock_force(2.0, 20.0), 2.0 * squared / (2 * 0.01)
    item = "2 kg stopped at 20 times gravity, N"
    book.agrees(item, ours, theirs, within=1e-12, source=source, road=road)
