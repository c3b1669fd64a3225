"""Update of motor and fan together with readings on the running motor.

A reading is taken on a real fan, whose load is not known exactly either. So samples of motor and
load are weighed as pairs: after a reading of the amps both are known better, and what they do
together best of all.
"""

from dataclasses import replace

import numpy as np

from airover.errors import InputError
from airover.identify import Point, misses, resample
from airover.message import Message, Quantity
from airover.motor.one import Load, Motor

PROPOSALS = 1000  # equally likely pairs of motor and load, of which a reading leaves some over
FAR = 3.0  # deviations of the meter: what is further from every pair is not the meter's doing
STRAINED = 1.5  # deviations of the meter between a reading and the middle of what stayed
_KINDS = {
    "current": "current",
    "power_in": "watts",
    "voltage_capacitor": "voltage",
    "speed_rpm": "speed",
}


def narrowed(motor: Motor, load: Load, measured, samples) -> tuple[Motor, Load]:
    """The ``samples`` pairs of ``motor`` and ``load`` that agree best with ``measured``.

    Draws of motor and load stand in the same order on their last axes. Each ``identify.Point``
    was read warm, on this load, with the capacitor that belongs to the motor. Raises InputError
    for readings that none of the pairs could give.
    """
    log_weight = np.zeros((1, len(motor.rated.power)))
    for point in measured:
        away = misses(motor.run(load, point.voltage).solution, point)
        _refuse_far(point, away)
        log_weight = log_weight - 0.5 * sum(miss**2 for miss in away.values())
    return picked(motor, load, resample(log_weight, samples)[0])


def strained(motor: Motor, load: Load, measured) -> tuple[Point, ...]:
    """Those of ``measured`` that the narrowed pairs do not give back: nameplate and reading pull
    different ways, few pairs agree with both, and the band lies between."""

    def is_off(point: Point) -> bool:
        away = misses(motor.run(load, point.voltage).solution, point)
        return any(abs(np.median(miss)) > STRAINED for miss in away.values())

    return tuple(point for point in measured if is_off(point))


def _refuse_far(point: Point, away: dict) -> None:
    """Raise InputError where no pair gives a figure, or none gives all of them together."""
    volts = Quantity(point.voltage, "voltage")
    for name, miss in away.items():
        if np.min(np.abs(miss)) > FAR:
            figure = Message(f"expected.error.{name}")
            field = Message("expected.error.reading_of", volts=volts, figure=figure)
            given = Quantity(getattr(point, name), _KINDS[name])
            accepted = Message(f"expected.error.{'more' if np.median(miss) > 0 else 'less'}")
            raise InputError(field, given, accepted)
    if np.min(np.max(np.abs(list(away.values())), axis=0)) > FAR:
        field = Message("expected.error.reading", volts=volts)
        given = Message("expected.error.not_together")
        raise InputError(field, given, Message("expected.error.one_moment"))


def picked(motor: Motor, load: Load, chosen) -> tuple[Motor, Load]:
    """Motor and load with the ``chosen`` samples, in that order."""
    samples = len(motor.rated.power)

    def part(value):
        has_samples = np.ndim(value) and np.shape(value)[-1] == samples
        return np.asarray(value)[..., chosen] if has_samples else value

    rated, shell = motor.rated.rearranged(part), motor.shell.rearranged(part)
    motor = replace(motor, rated=rated, shell=shell)
    return motor, Load(part(load.coefficient), type(load.air)(*map(part, load.air)))
