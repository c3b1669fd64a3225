"""Bearing loads of a fan motor from weight, overhang, thrust and unbalance.

The fan is overhung, that is, it is mounted outboard of both bearings. In names, "blade" refers to
the fan-end bearing and "far" refers to the opposite-end bearing. Steady forces have a fixed
direction, and rotating forces turn with the shaft. For bearing life, the two are added. This is
conservative, because the maximum occurs only once per revolution. The model does not include
magnetic pull in the motor, a bent shaft, or wind on a stationary fan.
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
    """Forces [N] on the fan-end (``blade``) and opposite-end (``far``) bearings."""

    blade: np.ndarray
    far: np.ndarray


class BearingLoad(NamedTuple):
    """Nonnegative forces [N] on one bearing.

    Attributes
    ----------
    steady : ndarray
        Radial force [N] in a fixed direction.
    turning : ndarray
        Radial force [N] that rotates with the shaft.
    axial : ndarray
        Force [N] along the shaft.
    """

    steady: np.ndarray
    turning: np.ndarray
    axial: np.ndarray

    @property
    def radial(self):
        """Return the maximum radial force during one revolution [N]."""
        return self.steady + self.turning


class PairLoads(NamedTuple):
    """Loads [N] on the fan-end (``blade``) and opposite-end (``far``) bearings."""

    blade: BearingLoad
    far: BearingLoad


def reactions(force, overhang, span) -> Pair:
    """Return the bearing reactions [N] to a radial force on an overhung shaft.

    With overhang a and span l, the reaction to a force F is F (1 + a / l) at the nearer bearing and
    -F a / l at the far bearing. The equations follow from the moment balances about the two
    bearings. A negative reaction acts in the opposite direction. Array arguments are broadcast
    against each other.

    Parameters
    ----------
    force : array_like
        Radial force [N].
    overhang : array_like
        Distance from the force to the fan-end bearing [m].
    span : array_like
        Distance between the bearings [m].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> blade, far = reactions(10.0, 0.05, 0.1)
    >>> float(blade), float(far)
    (15.0, -5.0)
    """
    force = check("force", force, FORCE)
    lever = check("overhang", overhang, OVERHANG) / check("span", span, SPAN)
    return Pair(force * (1 + lever), -force * lever)


def axial_forces(weight, thrust, shaft_position, discharge="up") -> Pair:
    """Return the axial force [N] on each bearing.

    The air pushes the fan opposite to the discharge direction. With upward discharge, the thrust
    acts downward and adds to the weight. On a vertical shaft, the lower bearing supports a downward
    force and the upper bearing supports an upward force. On a horizontal shaft, the thrust is
    assigned to the fan-end bearing, which is conservative. Array arguments are broadcast against
    each other.

    Parameters
    ----------
    weight : array_like
        Weight of all rotating parts [N].
    thrust : array_like
        Aerodynamic thrust [N].
    shaft_position : str or array_like
        Shaft position: "up", "down" or "horizontal".
    discharge : str, optional
        Discharge direction: "up" or "down". It is ignored for a horizontal shaft.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
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
    """Return the bearing loads [N] of a motor with its fan.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    blade_mass : array_like
        Mass of the fan [kg].
    rotor_mass : array_like
        Mass of the rotor [kg].
    blade_unbalance, rotor_unbalance : array_like
        Rotating forces [N] at the fan and at the center of the rotor. They are assumed to peak at
        the same time.
    thrust : array_like
        Aerodynamic thrust [N].
    overhang : array_like
        Distance from the fan to the fan-end bearing [m].
    span : array_like
        Distance between the bearings [m].
    shaft_position, discharge : str or array_like
        Shaft position and discharge direction, as in `axial_forces`.

    Raises
    ------
    InputError
        If a value is out of range.
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
    """Return the force [N] on a stationary bearing during a shock.

    ``mass`` is the mass [kg] that the bearing must stop, and ``shock`` is the acceleration as a
    multiple of gravity. The entire mass is assumed to act on one bearing, which is conservative.
    Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(shock_force(2.0, 20.0)))
    392
    """
    return check("mass", mass, MASS) * GRAVITY * check("shock", shock, SHOCK)
