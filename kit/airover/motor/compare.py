"""A motor of several ratings beside motors that were made for one: what its spare power costs."""

from typing import NamedTuple

from airover.motor.one import Motor, RatingStep, ratings
from airover.records import CatalogueMotor

SAMPLES = 100
SAME_POWER = 0.01  # ratings this close are the same horsepower


class Beside(NamedTuple):
    """One fan: ``step`` of the motor of several ratings there, the motor that was made for this
    ``power`` [W] alone, and its ``other_step``; None where the catalog has no such motor."""

    power: float
    step: RatingStep
    other: CatalogueMotor | None
    other_step: RatingStep | None


def dedicated(motor: CatalogueMotor, motors, power) -> CatalogueMotor | None:
    """Motor of one rating, of this ``power`` [W], that draws the least amps by its nameplate.

    It has the volts, hertz and poles of ``motor``.
    """
    same = [
        one
        for one in motors
        if len(one.ratings) == 1
        and abs(one.ratings[0] / power - 1) < SAME_POWER
        and _line(one) == _line(motor)
    ]
    return min(same, key=lambda one: one.currents[0], default=None)


def beside(motor: CatalogueMotor, motors, voltage) -> tuple[Beside, ...]:
    """``motor`` and dedicated ones of ``motors`` on the fan of each of its ratings.

    ``voltage`` [V]. The energy of each step is that of one hour [kWh]. Raises InputError.
    """
    steps = ratings(motor, voltage, hours=1.0, draws=SAMPLES)
    found = []
    for power, step in zip(motor.ratings, steps, strict=True):
        other = dedicated(motor, motors, power)
        other_step = None if other is None else _on_fan(other, power, motor.speed_rpm, voltage)
        found.append(Beside(power, step, other, other_step))
    return tuple(found)


def _on_fan(motor: CatalogueMotor, power, speed_rpm, voltage) -> RatingStep:
    known = Motor.from_catalogue(motor, SAMPLES)
    run = known.run(known.rated_load(power, speed_rpm), voltage)
    bands = run.first_bands()
    return RatingStep(power, motor.currents[0], bands, bands["power_in_w"].scaled(1e-3))


def _line(motor: CatalogueMotor) -> tuple:
    return motor.phase, motor.voltage_low, motor.voltage_high, motor.frequency, motor.poles
