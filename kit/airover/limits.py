"""Accepted ranges of physical arguments, in one place.

The ranges are narrow enough to catch the usual wrong unit: kelvin for degC,
hPa for Pa, horsepower for W, millimetres for m.
"""

from typing import NamedTuple

import numpy as np

from airover.errors import InputError
from airover.message import Message


class Range(NamedTuple):
    """Accepted values from ``low`` to ``high``, both included, in ``unit``."""

    low: float
    high: float
    unit: str


RATIO = Range(0.0, 1.0, "")
TEMP_AIR = Range(-60.0, 90.0, "degC")
TEMP_WINDING = Range(-60.0, 400.0, "degC")
TEMP_BEARING = Range(-40.0, 150.0, "degC")
ELEVATION = Range(-500.0, 6000.0, "m")
PRESSURE_AIR = Range(40e3, 110e3, "Pa")
DENSITY = Range(0.4, 2.0, "kg/m3")
FLOW = Range(0.0, 20.0, "m3/s")
PRESSURE_FAN = Range(-100.0, 2000.0, "Pa")
SHAFT_POWER = Range(0.0, 5000.0, "W")
SPEED_RPM = Range(1.0, 5000.0, "rpm")
VOLTAGE = Range(1.0, 1000.0, "V")
FREQUENCY = Range(10.0, 120.0, "Hz")
SLIP = Range(-1.0, 3.0, "")
AIR_SPEED = Range(0.05, 40.0, "m/s")
DIAMETER = Range(0.01, 2.0, "m")
MASS = Range(0.0, 100.0, "kg")


def array_of(shape: tuple[int, ...]) -> Message:
    """An array that was given in the place of one number."""
    return Message("error.physics.array", shape=str(shape))


def check(field: str, value, accepted: Range) -> np.ndarray:
    """Return ``value`` (scalar or array of any shape) as an array of floats.

    Raises InputError naming the field and the first value that is not a number
    or lies outside the ``accepted`` range.
    """
    try:
        values = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise InputError(field, repr(value), accepted) from None
    good = (values >= accepted.low) & (values <= accepted.high)
    if not np.all(good):
        worst = values[~good].flat[0] if values.ndim else values[()]
        raise InputError(field, f"{worst:g}", accepted, accepted.unit)
    return values
