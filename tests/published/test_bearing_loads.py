"""Reactions of an overhung shaft against statics solved another way, and fan thrust on it."""

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
        "3 kg and the air, shaft down, N", ours, 29.420 + 11.951, within=3e-5, source=source
    )
