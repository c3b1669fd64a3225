"""Motors put on a sized duty: the next larger and smaller ones, and a coil that gets dirty.

Amps, watts and winding temperature come from ``motor.one.Motor``, which the caller makes of a
catalogue's row or of a plate with readings: no typical plate is made up here.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.limits import DIAMETER, check
from airover.motor.conditions import AIR_SPEED_AT_MOTOR
from airover.motor.one import Load, Motor
from airover.motor.warm import Stream
from airover.physics import coil
from airover.physics.operating_point import fan_coefficient
from airover.records import CatalogueMotor
from airover.sizing.duty import RATINGS, Duty, Horsepower, duty

SAME_POWER = 0.02  # ratings this close are the same horsepower
SERVICE = 0.10  # either side of rated voltage (NEMA MG 1 12.44, from memory, not verified)
DIRTS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)


class Air(NamedTuple):
    """The air of a unit: ``temp_in`` [degC] that enters its coil, the ``heat`` [W] that the coil
    gives off (0: the motor stands in the entering air), the blade's ``diameter`` [m]."""

    temp_in: float
    heat: float
    diameter: float


def load_of(duty, temp_air, diameter, seed=0) -> Load:
    """A ``duty.Duty`` as the load of a motor that stands in air of ``temp_air`` [degC].

    The air's speed at the motor is the mean through the circle of the blade's ``diameter`` [m]
    times 0.8 to 1.4 (own judgement). Draws as the duty has. Raises InputError out of range.
    """
    area = np.pi / 4 * check("diameter", diameter, DIAMETER) ** 2
    samples = duty.power.shape[-1]
    deviates = normal_draws(np.random.default_rng([seed, 2]), ["air"], samples)["air"]
    speed = duty.flow / area * uniform(AIR_SPEED_AT_MOTOR, deviates)
    air = Stream(np.asarray(temp_air, dtype=float), speed, duty.speed_rpm)
    return Load(fan_coefficient(duty.power, duty.speed_rpm), air)


def at_rating(motors, rating, poles, voltage) -> CatalogueMotor | None:
    """The single-phase motor of ``motors`` with the top ``rating`` [W], or None.

    It has that many ``poles`` and is made for a line of ``voltage`` [V], within 10 %. Of several,
    the one of least amps by its plate.
    """
    same = [one for one in motors if _serves(one, rating, poles, voltage)]
    return min(same, key=lambda one: one.currents[-1], default=None)


def _serves(one: CatalogueMotor, rating, poles, voltage) -> bool:
    low, high = (1 - SERVICE) * one.voltage_low, (1 + SERVICE) * one.voltage_high
    same_power = abs(one.ratings[-1] / rating - 1) < SAME_POWER
    return one.phase == 1 and one.poles == poles and same_power and low <= voltage <= high


class Tried(NamedTuple):
    """One rating on the duty; all but ``rating`` None where no motor has it.

    ``bands`` as of ``motor.one.Run``: speed, amps, watts, winding temperature and more; ``load``:
    shaft power over the rating; ``room`` [K] to the protector's trip, None where its class is not
    known; ``chance_of_start`` warm, a share of the samples.
    """

    rating: Horsepower
    motor: CatalogueMotor | None
    bands: dict[str, Band] | None
    load: Band | None
    room: Band | None
    chance_of_start: float | None


def tried(duty, motors, temp_air, diameter, voltage, poles=6, around=None) -> tuple[Tried, ...]:
    """What the next smaller, the right and the next larger motor would do on a ``Duty``.

    ``motors`` of a catalogue; ``temp_air`` [degC] at the motor, blade ``diameter`` [m], ``voltage``
    [V]; ``around`` is the right ``Horsepower``, None for the one above the duty's middle. A rating
    that no motor of so many ``poles`` has is shown without figures. Raises InputError out of range.
    """
    load = load_of(duty, temp_air, diameter)
    middle = float(np.median(duty.power))
    powers = [rating.power for rating in RATINGS]
    place = RATINGS.index(around) if around else int(np.searchsorted(powers, middle))
    near = RATINGS[max(place - 1, 0) : place + 2]
    return tuple(
        _tried(rating, at_rating(motors, rating.power, poles, voltage), load, voltage)
        for rating in near
    )


def _tried(rating, motor, load, voltage) -> Tried:
    if motor is None:
        return Tried(rating, None, None, None, None, None)
    run = Motor.from_catalogue(motor, draws=load.coefficient.shape[-1]).run(load, voltage)
    bands, room = run.first_bands(), run.room_to_trip()
    return Tried(
        rating=rating,
        motor=motor,
        bands=bands,
        load=bands["power_shaft_w"].scaled(1 / rating.power),
        room=None if room is None else room.first(),
        chance_of_start=float(run.chance_of_start()[0]),
    )


class DirtStep(NamedTuple):
    """One state of the coil: ``dirt`` times its clean resistance; bands with the unit in the name.

    ``bands``: flow, pressure, shaft power, speed, current, power in, air and winding temperature.
    ``several``: the share of samples in which the fan may stall.
    """

    dirt: float
    bands: dict[str, Band]
    several: float


class DirtSweep(NamedTuple):
    """``steps`` that the curve reaches, and the ``beyond`` ones whose flows were not measured."""

    steps: tuple[DirtStep, ...]
    beyond: tuple[float, ...]


def dirty_coil(curve, parts, motor, unit_air, density, voltage, speed_rpm, dirts=DIRTS, seed=0):
    """How flow, shaft power, amps and winding temperature move together as a coil gets dirty.

    ``curve`` a ``fan.FanCurve``, ``parts`` a ``system.System`` [Pa s2/m6] of one number per part,
    ``motor`` a ``motor.one.Motor``, ``unit_air`` an ``Air``; ``density`` [kg/m3] at the fan,
    ``voltage`` [V], ``speed_rpm`` near the motor's own. Each step has a cube-law coefficient of
    its own, less air at the motor, and that air hotter, since the same heat goes into less of it.
    Density is kept as given, which leaves out that hotter air takes less shaft power: about 1 %
    in 3 K. Raises InputError out of range, or where even the clean coil is out of the curve's
    reach.
    """
    samples = motor.rated.power.shape[-1]
    reached = [dirt for dirt in dirts if _reaches(curve, parts, density, dirt)] or dirts[:1]
    duties = [
        duty(curve, parts.resistance(density, dirt), speed_rpm, density, samples, seed)
        for dirt in reached
    ]
    stacked = _stacked(duties)
    temp_air = coil.leaving_temperature(unit_air.heat, stacked.flow, unit_air.temp_in, density)
    load = load_of(stacked, temp_air, unit_air.diameter, seed)
    figures = motor.run(load, np.full(len(reached), float(voltage))).figures()
    ratio = figures["speed_rpm"] / speed_rpm
    figures |= {
        "flow_m3s": stacked.flow * ratio,
        "pressure_pa": stacked.pressure * ratio**2,
        "temp_air_c": temp_air,
    }
    steps = tuple(
        DirtStep(dirt, {name: Band.of(one[place]) for name, one in figures.items()}, found.several)
        for place, (dirt, found) in enumerate(zip(reached, duties, strict=True))
    )
    return DirtSweep(steps, tuple(dirt for dirt in dirts if dirt not in reached))


def _reaches(curve, parts, density, dirt) -> bool:
    least, most = curve.resistances(density)
    return bool(least <= parts.resistance(density, dirt) <= most)


def _stacked(duties) -> Duty:
    """Duties as one, of arrays (steps, samples)."""
    names = ("speed_rpm", "density", "flow", "pressure", "power")
    return Duty(*(np.stack([getattr(one, name) for one in duties]) for name in names))
