"""Centrifugal force of an unbalanced rotor, from its balance grade or from lost mass."""

import numpy as np

from airover.core.errors import MASS, SPEED_RPM, Range, check

GRADE = Range(0.1, 4000.0, "mm/s")
MASS_LOST = Range(0.0, 1.0, "kg")
RADIUS = Range(0.0, 1.0, "m")
FORCE = Range(0.0, 1e5, "N")
MASS_TURNING = Range(0.01, 100.0, "kg")


def eccentricity(grade, speed_rpm):
    """Return the permissible offset of the center of mass [m] at a balance quality grade.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    grade : array_like
        Grade G of ISO 21940-11, the offset times the angular speed [mm/s].
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
    """Return the rotating force [N] of a rotor of ``mass`` [kg] at a balance grade [mm/s].

    F = m e w^2 with the eccentricity e of ISO 21940-11. ``speed_rpm``: speed [rpm]. Array arguments
    are broadcast against each other.

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
    """Return the rotating force [N] of a fan that has lost ``mass_lost`` [kg] at a ``radius`` [m].

    F = m r w^2, for a lost balance weight, a dent that displaced metal, or ice or dirt on one
    blade. ``speed_rpm``: speed [rpm]. The force adds to the unbalance the fan already had, at worst
    in the same direction. Array arguments are broadcast against each other.

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
    """Return the balance grade [mm/s] of a rotor of ``mass`` [kg] with a rotating ``force`` [N].

    Inverse of ``force``: F / (m w), ISO 21940-11. ``speed_rpm``: speed [rpm]. Array arguments are
    broadcast against each other.

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
