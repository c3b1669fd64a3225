"""Centrifugal force of an unbalanced rotor, from its balance grade or lost mass."""

import numpy as np

from airover.core.errors import MASS, SPEED_RPM, Range, check

GRADE = Range(0.1, 4000.0, "mm/s")
MASS_LOST = Range(0.0, 1.0, "kg")
RADIUS = Range(0.0, 1.0, "m")
FORCE = Range(0.0, 1e5, "N")
MASS_TURNING = Range(0.01, 100.0, "kg")


def eccentricity(grade, speed_rpm):
    """Return the permissible offset [m] of the center of mass for a balance grade.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    grade : array_like
        Balance grade G [mm/s] of ISO 21940-11, the offset times the angular speed.
    speed_rpm : array_like
        Speed [rpm].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(eccentricity(6.3, 1075.0)) * 1e6, 3)
    55.963
    """
    grade = check("grade", grade, GRADE)
    speed_rpm = check("speed_rpm", speed_rpm, SPEED_RPM)
    return grade / 1000 / (speed_rpm * np.pi / 30)


def force(mass, grade, speed_rpm):
    """Return the rotating force [N] of a rotor from its mass [kg] and balance grade [mm/s].

    The force is F = m e w^2, with the eccentricity e according to ISO 21940-11. ``speed_rpm`` is
    the speed [rpm]. Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(force(2.0, 6.3, 1075.0)), 4)
    1.4184
    """
    mass = check("mass", mass, MASS)
    angular_speed = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30
    return mass * eccentricity(grade, speed_rpm) * angular_speed**2


def force_of_loss(mass_lost, radius, speed_rpm):
    """Return the rotating force [N] of a fan that lost a mass [kg] at a ``radius`` [m].

    The force is F = m r w^2. The mass can represent a lost balance weight, metal displaced by a
    dent, or ice or dirt on one blade. ``speed_rpm`` is the speed [rpm]. The force adds to the
    existing unbalance of the fan, and in the worst case acts in the same direction. Array arguments
    are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(force_of_loss(0.005, 0.28, 1075.0)), 2)
    17.74
    """
    moment = check("mass_lost", mass_lost, MASS_LOST) * check("radius", radius, RADIUS)
    return moment * (check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30) ** 2


def grade_of(force, mass, speed_rpm):
    """Return the balance grade [mm/s] of a rotor from its mass [kg] and rotating force [N].

    The function is the inverse of `force`. The grade is F / (m w), according to ISO 21940-11.
    ``speed_rpm`` is the speed [rpm]. Array arguments are broadcast against each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(grade_of(1.4184, 2.0, 1075.0)), 2)
    6.3
    """
    force = check("force", force, FORCE)
    mass = check("mass", mass, MASS_TURNING)
    return 1000 * force / (mass * check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30)
