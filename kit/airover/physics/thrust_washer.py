"""A thrust washer: a flat ring that carries a vertical shaft, without an oil film of its own.

Its faces are parallel, so that nothing draws oil into a wedge: it runs in boundary lubrication at
all speeds, and friction is a coefficient and not a solution. Give ranges, as arrays of draws.
"""

from typing import NamedTuple

import numpy as np

from airover.errors import InputError
from airover.limits import SPEED_RPM, Range, check
from airover.message import Message

LOAD = Range(0.0, 1e5, "N")
DIAMETER_WASHER = Range(0.002, 0.2, "m")
FRICTION_COEFFICIENT = Range(0.0, 1.0, "")

# Common practice, no source: oiled steel on bronze, polymer or laminate.
FRICTION_WASHER = (0.05, 0.15)


class Washer(NamedTuple):
    """``pressure_mean`` [Pa], ``sliding_speed`` [m/s] at the mean diameter, ``pv`` [Pa m/s] as
    their product (compare with sleeve_wear.PV_WASHER), ``torque`` [N m] and ``loss`` [W]."""

    pressure_mean: np.ndarray
    sliding_speed: np.ndarray
    pv: np.ndarray
    torque: np.ndarray
    loss: np.ndarray


def washer(load_axial, speed_rpm, bore, outside, friction_coefficient) -> Washer:
    """A thrust washer under ``load_axial`` [N] at ``speed_rpm``.

    ``bore`` and ``outside`` diameter [m] of the ring that touches; ``friction_coefficient``, for
    a range FRICTION_WASHER. It has run in: where faces wear alike, pressure times speed is even and
    the torque acts at the mean diameter (Shigley, Mechanical Engineering Design, chapter 16,
    uniform wear). Arrays broadcast. Raises InputError out of range.

    >>> found = washer(20.0, 1075.0, 0.014, 0.024, 0.1)
    >>> round(float(found.loss), 3), round(float(found.pv))
    (2.139, 71667)
    """
    load = check("load_axial", load_axial, LOAD)
    turning = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30
    bore = check("bore", bore, DIAMETER_WASHER)
    outside = check("outside", outside, DIAMETER_WASHER)
    if np.any(bore >= outside):
        raise InputError("bore", f"{np.max(bore):g}", Message("error.size.below_outside"), "m")
    radius = (bore + outside) / 4
    pressure = load / (np.pi / 4 * (outside**2 - bore**2))
    rubs = check("friction_coefficient", friction_coefficient, FRICTION_COEFFICIENT)
    torque, speed = rubs * load * radius, turning * radius
    return Washer(*np.broadcast_arrays(pressure, speed, pressure * speed, torque, torque * turning))
