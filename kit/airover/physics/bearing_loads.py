"""Loads on the two bearings of a fan motor: weight, overhang, thrust, unbalance.

Statics of an overhung shaft: the fan sits outside both bearings. "blade" is the bearing next to
the fan, "far" the other one. Steady forces keep their direction and turning forces rotate with the
shaft; for life the two are added, which is their sum once in each turn (the safe side). Left out:
the motor's magnetic pull, a bent shaft, wind on a fan that stands still.
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import MASS, InputError, Range, check
from airover.physics.air import GRAVITY

FORCE = Range(-1e5, 1e5, "N")
OVERHANG = Range(0.0, 1.0, "m")
SPAN = Range(0.01, 2.0, "m")
SHOCK = Range(0.0, 1000.0, "times gravity")
POSITIONS = ("up", "down", "horizontal")
DISCHARGES = ("up", "down")


class Pair(NamedTuple):
    """Forces [N] on the ``blade`` bearing and on the ``far`` one."""

    blade: np.ndarray
    far: np.ndarray


class BearingLoad(NamedTuple):
    """Forces [N] on one bearing, none below 0: ``steady`` and ``turning`` across the shaft,
    ``axial`` along it."""

    steady: np.ndarray
    turning: np.ndarray
    axial: np.ndarray

    @property
    def radial(self):
        """Largest force across the shaft in a turn [N]."""
        return self.steady + self.turning


class PairLoads(NamedTuple):
    """A ``BearingLoad`` [N] for the ``blade`` bearing and for the ``far`` one."""

    blade: BearingLoad
    far: BearingLoad


def reactions(force, overhang, span) -> Pair:
    """Reactions of both bearings to a ``force`` [N] across the shaft, ``overhang`` [m] outside.

    A beam on two supports ``span`` [m] apart with an overhung load: F (1 + a / l) at the bearing
    next to it, -F a / l at the far one, which is lifted (moments about each support; any textbook
    of statics). A negative force points the other way. Arrays broadcast. Raises InputError out of
    range.

    >>> blade, far = reactions(10.0, 0.05, 0.1)
    >>> float(blade), float(far)
    (15.0, -5.0)
    """
    force = check("force", force, FORCE)
    lever = check("overhang", overhang, OVERHANG) / check("span", span, SPAN)
    return Pair(force * (1 + lever), -force * lever)


def axial_forces(weight, thrust, shaft_position, discharge="up") -> Pair:
    """Forces [N] along the shaft, by the bearing that stops them.

    ``weight`` [N] of all that turns, ``thrust`` [N] of the air, ``shaft_position`` "up", "down" or
    "horizontal". The air pushes the blade against its ``discharge``, "up" or "down": down on a fan
    that blows upwards, so it adds to the weight; with a horizontal shaft this is not asked. On a
    vertical shaft the lower bearing stops what weighs down, the upper one what lifts. On a
    horizontal shaft the thrust is put on the blade's bearing, the safe side. Arrays broadcast.
    Raises InputError out of range.

    >>> blade, far = axial_forces(40.0, 12.0, "down")
    >>> float(blade), float(far)
    (52.0, 0.0)
    """
    weight, thrust = check("weight", weight, FORCE), check("thrust", thrust, FORCE)
    for name, word, words in (
        ("shaft_position", shaft_position, POSITIONS), ("discharge", discharge, DISCHARGES),
    ):  # fmt: skip
        if word not in words:
            raise InputError(name, repr(word), ", ".join(words))
    if shaft_position == "horizontal":
        stopped = np.abs(thrust)
        return Pair(stopped, np.zeros_like(stopped))
    down = weight + thrust if discharge == "up" else weight - thrust
    lower, upper = np.maximum(down, 0.0), np.maximum(-down, 0.0)
    return Pair(lower, upper) if shaft_position == "down" else Pair(upper, lower)


def loads(
    blade_mass, rotor_mass, blade_unbalance, rotor_unbalance, thrust, overhang, span,
    shaft_position, discharge="up",
) -> PairLoads:  # fmt: skip
    """``PairLoads`` of a blade of ``blade_mass`` [kg] on a rotor of ``rotor_mass`` [kg].

    ``blade_unbalance`` and ``rotor_unbalance`` [N] are turning forces at the blade and in the
    middle of the rotor, both at their worst at one moment; ``thrust`` [N] of the air; blade
    ``overhang`` [m] outside of bearings ``span`` [m] apart. ``shaft_position`` and ``discharge``
    as in axial_forces. Arrays broadcast. Raises InputError out of range.
    """
    blade_weight = GRAVITY * check("blade_mass", blade_mass, MASS)
    rotor_weight = GRAVITY * check("rotor_mass", rotor_mass, MASS)
    along = axial_forces(blade_weight + rotor_weight, thrust, shaft_position, discharge)
    blade_unbalance = np.abs(check("blade_unbalance", blade_unbalance, FORCE))
    turning = reactions(blade_unbalance, overhang, span)
    across = 1.0 if shaft_position == "horizontal" else 0.0
    steady = reactions(across * blade_weight, overhang, span)
    half = rotor_weight * across / 2
    of_rotor = np.abs(check("rotor_unbalance", rotor_unbalance, FORCE)) / 2
    return PairLoads(*(
        BearingLoad(np.abs(weight + half), np.abs(force) + of_rotor, push)
        for weight, force, push in zip(steady, turning, along, strict=True)
    ))  # fmt: skip


def shock_force(mass, shock):
    """Force [N] on a standing bearing that stops ``mass`` [kg] in a ``shock`` [times gravity].

    Newton's law, the whole mass on one bearing (the safe side). Arrays broadcast. Raises
    InputError out of range.

    >>> round(float(shock_force(2.0, 20.0)))
    392
    """
    return check("mass", mass, MASS) * GRAVITY * check("shock", shock, SHOCK)
