"""Centrifugal force of an unbalanced rotor."""

import numpy as np

from airover.limits import MASS, SPEED_RPM, Range, check

GRADE = Range(0.1, 4000.0, "mm/s")


def eccentricity(grade, speed_rpm):
    """Permissible offset of the centre of mass [m] at a balance quality grade.

    The grade G [mm/s] of ISO 21940-11 is the offset times the angular speed.
    ``speed_rpm`` [rpm]. Arrays broadcast. Raises InputError out of range.

    >>> round(float(eccentricity(6.3, 1075.0)) * 1e6, 3)
    55.963
    """
    grade = check("grade", grade, GRADE)
    speed_rpm = check("speed_rpm", speed_rpm, SPEED_RPM)
    return grade / 1000 / (speed_rpm * np.pi / 30)


def force(mass, grade, speed_rpm):
    """Rotating force [N] of a rotor of ``mass`` [kg] at a balance grade [mm/s].

    F = m e w^2 with the eccentricity of ISO 21940-11; ``speed_rpm`` [rpm].
    Arrays broadcast. Raises InputError out of range.

    >>> round(float(force(2.0, 6.3, 1075.0)), 4)
    1.4184
    """
    mass = check("mass", mass, MASS)
    angular_speed = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30
    return mass * eccentricity(grade, speed_rpm) * angular_speed**2
