"""Motor size for a fan: from a fan curve and a system, or from a failed motor's nameplate.

The duty is a set of equally likely samples, so every figure is a band. The rating is the next
standard horsepower above the shaft power with 10 % margin (common practice). Ranges are taken as
evenly likely. Sound is 50 log10 of the ratio of speeds (common practice): no more than a hint.
Nothing here replaces amps and volts measured on the running motor.

`Tried` motors on a sized duty, the next larger and smaller ones, and a coil that gets dirty
(`dirty_coil`): their amps, watts and winding temperature come from `model.motor.Motor`, which the
caller makes from a catalog row or from a nameplate with readings.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from airover.core.errors import (
    DENSITY,
    DIAMETER,
    SHAFT_POWER,
    SPEED_RPM,
    InputError,
    Range,
    array_of,
    check,
)
from airover.core.intervals import Band, normal_draws, uniform
from airover.core.message import Message
from airover.model.conditions import AIR_SPEED_AT_MOTOR, Conditions
from airover.model.cooling import AirStream
from airover.model.motor import Load, Motor
from airover.physics import coil
from airover.physics.fan import RESISTANCE, FanCurve
from airover.physics.operating_point import fan_coefficient
from airover.records.catalog import CatalogMotor

SAMPLES = 200
HORSEPOWER = 745.6999  # W
# Standard ratings of small motors up to 1 hp, as in NEMA MG 1 10.33; from memory, not verified.
STANDARD = ("1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4", "1")
MARGIN = 0.10  # of the shaft power, common practice, no source
SERVICE_LOW = 0.9  # of rated voltage, down to which a motor carries its rating (NEMA MG 1 12.44)
SOUND_PER_DECADE = 50.0  # dB per tenfold speed of one fan, common practice, no source

MARGIN_RANGE = Range(0.0, 1.0, "")
VOLTAGE_SHARE = Range(0.5, 1.2, "of rated voltage")
SPREAD = (0.5, 2.0)  # what scatter of the points may do to the pressure, at most


NO_PRESSURE = 0.05  # of the highest pressure: as good as free delivery


SAME_POWER = 0.02  # ratings this close are the same horsepower
SERVICE = 0.10  # either side of rated voltage (NEMA MG 1 12.44, from memory, not verified)
DIRTS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)


class Horsepower(NamedTuple):
    """A standard rating: its ``text``, as on a nameplate, and ``power`` [W]."""

    text: str
    power: float


RATINGS = tuple(Horsepower(f"{text} hp", float(Fraction(text)) * HORSEPOWER) for text in STANDARD)


@dataclass(frozen=True)
class Duty:
    """Duty of a fan at one speed; arrays of shape (samples,).

    ``flow`` [m3/s], static ``pressure`` [Pa], shaft ``power`` [W], ``torque`` [N m], air
    ``density`` [kg/m3]. ``several`` and ``extrapolated`` as in ``fan.OperatingPoint``, as shares
    of the samples. ``variances`` of the power [W2], by what is not known.
    """

    speed_rpm: np.ndarray
    density: np.ndarray
    flow: np.ndarray
    pressure: np.ndarray
    power: np.ndarray
    several: float = 0.0
    extrapolated: float = 0.0
    variances: dict = field(default_factory=dict)

    @classmethod
    def of(cls, conditions: Conditions) -> "Duty":
        """The duty of a job: from its fan's curve, or from the failed motor's nameplate."""
        facts = (
            conditions.speed_rpm,
            conditions.density,
            conditions.flow,
            conditions.pressure,
            conditions.shaft_power,
        )
        return cls(*facts)

    @property
    def torque(self):
        """At the shaft [N m]."""
        return self.power / (self.speed_rpm * np.pi / 30)

    def bands(self) -> dict[str, Band]:
        """Flow, pressure, power, torque and density as bands, each with its unit in its name."""
        return {
            "flow_m3s": Band.of(self.flow),
            "pressure_pa": Band.of(self.pressure),
            "power_shaft_w": Band.of(self.power),
            "torque_nm": Band.of(self.torque),
            "density_kgm3": Band.of(self.density),
        }


def duty(curve, resistance, speed_rpm, density, samples=SAMPLES, seed=0, extrapolate=False) -> Duty:
    """The duty of a ``fan.FanCurve`` on a system, in air of the site.

    ``resistance`` [Pa s2/m6] of the system in that air and ``density`` [kg/m3] are each one number,
    a pair (low, high) in which every value is as likely, or (samples,). ``speed_rpm`` is one
    number. The scatter of measured points counts too, as that of single points, which is more than
    the curve's own. With ``extrapolate`` as in ``FanCurve.operating_point``. Raises InputError out
    of range or out of the curve's reach.
    """
    z = normal_draws(
        np.random.default_rng(seed), ("resistance", "density", "pressure", "power"), samples
    )
    unknown = {
        "resistance": _sampled("resistance", resistance, RESISTANCE, z),
        "density": _sampled("density", density, DENSITY, z),
        "pressure": z["pressure"] * (curve.scatter.pressure > 0),
        "power": z["power"] * (curve.scatter.power > 0),
    }
    speed_rpm = float(check("speed_rpm", speed_rpm, SPEED_RPM))
    found = _fan_at(curve, speed_rpm, extrapolate, **unknown)
    middle = {name: np.median(values) for name, values in unknown.items()}
    variances = {
        name: float(np.var(_fan_at(curve, speed_rpm, extrapolate, **middle | {name: one})[2]))
        for name, one in unknown.items()
    }
    flow, pressure, power, several, extrapolated = found
    shape = (samples,)
    return Duty(
        np.full(shape, speed_rpm),
        unknown["density"],
        *(np.broadcast_to(one, shape) for one in (flow, pressure, power)),
        float(np.mean(several)),
        float(np.mean(extrapolated)),
        variances,
    )


@dataclass(frozen=True)
class Size:
    """The motor that a duty requires.

    ``needed`` shaft power [W] with its margin; ``standard`` the rating above its middle, ``sure``
    the one above its high end: where they differ, measuring pays. ``smaller`` and ``larger`` are
    the ratings beside ``standard`` (None at the list's ends), ``load`` the duty's power over
    ``standard``.
    """

    needed: Band
    torque: Band
    standard: Horsepower
    sure: Horsepower
    smaller: Horsepower | None
    larger: Horsepower | None
    load: Band


def size(duty, margin=MARGIN, voltage_share=SERVICE_LOW) -> Size:
    """The standard horsepower for a ``Duty``.

    ``margin`` on the shaft power, 0 to 1. ``voltage_share`` is the lowest voltage of the line over
    the motor's rated one: a motor carries its rating down to 0.9 of that (NEMA MG 1 12.44, from
    memory, not verified), and below it torque goes with the square of the voltage. Raises
    InputError out of range and for more than 1 hp.
    """
    margin = float(check("margin", margin, MARGIN_RANGE))
    share = float(check("voltage_share", voltage_share, VOLTAGE_SHARE))
    needed = duty.power * (1 + margin) * max(SERVICE_LOW / share, 1.0) ** 2
    band = Band.of(needed)
    standard, sure = above(band.mid), above(band.high)
    place = RATINGS.index(standard)
    return Size(
        needed=band,
        torque=Band.of(duty.torque),
        standard=standard,
        sure=sure,
        smaller=RATINGS[place - 1] if place else None,
        larger=RATINGS[place + 1] if place + 1 < len(RATINGS) else None,
        load=Band.of(duty.power / standard.power),
    )


def above(power) -> Horsepower:
    """The smallest standard rating of at least ``power`` [W]. Raises InputError above 1 hp.

    >>> above(200.0).text
    '1/3 hp'
    """
    power = float(check("power", power, SHAFT_POWER))
    for rating in RATINGS:
        if power <= rating.power * (1 + 1e-9):
            return rating
    raise InputError(
        "power", f"{power:.0f} W", Message("limit.most", value=f"1 hp, {HORSEPOWER:.0f} W")
    )


@dataclass(frozen=True)
class Overload:
    """Shaft power along the whole measured curve at one speed and density.

    ``largest`` [W] (a band where the points scatter) at ``flow`` [m3/s], and ``working``, the
    largest beyond the stall; ``over``: the least and greatest flow between which a rating is
    exceeded, None where it never is or none was given; ``load``: largest power over the rating.
    ``to_free_delivery`` and ``to_stall`` say whether the curve was measured that far.
    """

    largest: Band
    flow: float
    working: Band
    stall_flow: float | None
    over: tuple[float, float] | None
    load: float | None
    to_free_delivery: bool
    to_stall: bool


def overload(curve, speed_rpm, density, rating=None) -> Overload:
    """Largest shaft power along the curve, as with a blocked coil or no coil at all.

    ``curve`` a ``fan.FanCurve``; ``speed_rpm`` and ``density`` [kg/m3] one number each; ``rating``
    [W] of the motor. The speed is held, so this is the worst case: an overloaded motor slows.
    Raises InputError out of range.
    """
    speed_ratio = float(check("speed_rpm", speed_rpm, SPEED_RPM)) / curve.speed_rpm
    carried = float(check("density", density, DENSITY)) / curve.density * speed_ratio**3
    # between its points the curve is monotone: the largest power is one of theirs
    most = int(np.argmax(curve.power))
    working = curve.flow >= (curve.flow[0] if curve.stall_flow is None else curve.stall_flow)
    spread = Band(-1.645, 0.0, 1.645).scaled(curve.scatter.power * carried)
    highest = carried * curve.power[most]
    blocked = curve.flow[0] == 0 or curve.stall_flow is not None
    return Overload(
        largest=_shifted(spread, highest),
        flow=float(curve.flow[most] * speed_ratio),
        working=_shifted(spread, carried * curve.power[working].max()),
        stall_flow=None if curve.stall_flow is None else curve.stall_flow * speed_ratio,
        over=None if rating is None else _over(curve, speed_rpm, density, rating),
        load=None if rating is None else float(highest / check("rating", rating, SHAFT_POWER)),
        to_free_delivery=bool(curve.pressure[-1] <= NO_PRESSURE * curve.pressure.max()),
        to_stall=bool(blocked),
    )


class SpeedStep(NamedTuple):
    """The same fan on the same system at another speed.

    ``bands`` as of a ``Duty``; ``standard`` horsepower with its margin; ``sound`` [dB] over that
    of the first speed, a hint by a rule of the trade: 50 times the decadic logarithm.
    """

    speed_rpm: float
    duty: Duty
    bands: dict[str, Band]
    standard: Horsepower
    sound: float


def at_speeds(curve, resistance, density, speeds_rpm=(1075.0, 825.0), samples=SAMPLES, seed=0):
    """One ``SpeedStep`` for each of ``speeds_rpm``: what a motor of other poles would make of it.

    ``curve``, ``resistance`` [Pa s2/m6] and ``density`` [kg/m3] as in duty. The system's line does
    not change, so the fan laws hold whole. Raises InputError as duty does.
    """
    steps = []
    for speed_rpm in speeds_rpm:
        found = duty(curve, resistance, speed_rpm, density, samples, seed)
        sound = SOUND_PER_DECADE * float(np.log10(speed_rpm / speeds_rpm[0]))
        step = SpeedStep(speed_rpm, found, found.bands(), size(found).standard, sound)
        steps.append(step)
    return tuple(steps)


class Air(NamedTuple):
    """The air of a unit: ``temp_in`` [degC] that enters its coil, the ``heat`` [W] that the coil
    gives off (0: the motor is in the entering air), the fan's ``diameter`` [m]."""

    temp_in: float
    heat: float
    diameter: float


def load_of(duty, temp_air, diameter, seed=0) -> Load:
    """A `Duty` as the load of a motor in air of ``temp_air`` [degC].

    The air's speed at the motor is the mean through the circle of the fan's ``diameter`` [m] times
    0.8 to 1.4 (engineering judgment). Samples as the duty has. Raises InputError out of range.
    """
    area = np.pi / 4 * check("diameter", diameter, DIAMETER) ** 2
    samples = duty.power.shape[-1]
    deviates = normal_draws(np.random.default_rng([seed, 2]), ["air"], samples)["air"]
    speed = duty.flow / area * uniform(AIR_SPEED_AT_MOTOR, deviates)
    air = AirStream(np.asarray(temp_air, dtype=float), speed, duty.speed_rpm)
    return Load(fan_coefficient(duty.power, duty.speed_rpm), air)


def at_rating(motors, rating, poles, voltage) -> CatalogMotor | None:
    """The single-phase motor of ``motors`` with the top ``rating`` [W], or None.

    It has that many ``poles`` and is made for a line of ``voltage`` [V], within 10 %. Of several,
    the one of least amps by its nameplate.
    """
    same = [one for one in motors if _serves(one, rating, poles, voltage)]
    return min(same, key=lambda one: one.currents[-1], default=None)


class Tried(NamedTuple):
    """One rating on the duty; all but ``rating`` None where no motor has it.

    ``bands`` as of ``model.motor.Run``: speed, amps, watts, winding temperature and more; ``load``:
    shaft power over the rating; ``room`` [K] to the protector's trip, None where its class is not
    known; ``chance_of_start`` warm, a share of the samples.
    """

    rating: Horsepower
    motor: CatalogMotor | None
    bands: dict[str, Band] | None
    load: Band | None
    room: Band | None
    chance_of_start: float | None


def tried(duty, motors, temp_air, diameter, voltage, poles=6, around=None) -> tuple[Tried, ...]:
    """The next smaller, the right and the next larger motor simulated on a ``Duty``.

    ``motors`` of a catalog; ``temp_air`` [degC] at the motor, fan ``diameter`` [m], ``voltage``
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
    """Flow, shaft power, amps and winding temperature together as a coil gets dirty.

    ``curve`` a ``fan.FanCurve``, ``parts`` a ``fan_change.System`` [Pa s2/m6] of one number per
    part, ``motor`` a ``model.motor.Motor``, ``unit_air`` an ``Air``; ``density`` [kg/m3] at the
    fan, ``voltage`` [V], ``speed_rpm`` near the motor's own. Each step has a cube-law coefficient
    of its own, less air at the motor, and that air hotter, since the same heat goes into less of
    it. Density is kept as given, which leaves out that hotter air takes less shaft power: about 1 %
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


def _sampled(name, given, accepted, z):
    values = check(name, given, accepted)
    shape = z[name].shape
    if isinstance(given, tuple) and values.shape == (2,):
        return uniform(np.sort(values), z[name])
    if values.shape not in ((), shape):
        accepted = Message("error.fan.samples", shape=str(shape))
        raise InputError(name, array_of(values.shape), accepted)
    return np.broadcast_to(values, shape)


def _fan_at(curve: FanCurve, speed_rpm, extrapolate, resistance, density, pressure, power):
    """Operating points with ``pressure`` and ``power`` off by so many deviations of the scatter.

    A curve that gives f times the pressure meets the system where the curve itself would meet 1/f
    of its resistance.
    """
    point = curve.operating_point(resistance, speed_rpm, density, extrapolate)
    carried = density / curve.density * (speed_rpm / curve.speed_rpm) ** 2
    off = pressure * curve.scatter.pressure * carried
    factor = np.clip(1 + off / np.maximum(point.pressure, np.abs(off) + 1e-9), *SPREAD)
    if np.any(factor != 1):
        # in reach: scatter moves the point along the measured curve and not off it
        least, most = (end * density / curve.density for end in curve.resistances(curve.density))
        moved = np.clip(
            resistance / factor, np.minimum(least, resistance), np.maximum(most, resistance)
        )
        point = curve.operating_point(moved, speed_rpm, density, extrapolate)
    watts = point.power + power * curve.scatter.power * carried * speed_rpm / curve.speed_rpm
    watts = np.maximum(watts, point.flow * point.pressure)
    return point.flow, resistance * point.flow**2, watts, point.several, point.extrapolated


def _shifted(spread: Band, power) -> Band:
    return Band(*(float(power + end) for end in spread))


def _over(curve, speed_rpm, density, rating):
    """The ends of the flows at which the shaft takes more than ``rating``, to a 400th part."""
    ends = curve.flow[[0, -1]] * speed_rpm / curve.speed_rpm
    flow = np.union1d(np.linspace(*ends, 401), curve.flow * speed_rpm / curve.speed_rpm)
    exceeded = flow[curve.at(flow, speed_rpm, density).power > rating]
    return (float(exceeded[0]), float(exceeded[-1])) if exceeded.size else None


def _serves(one: CatalogMotor, rating, poles, voltage) -> bool:
    low, high = (1 - SERVICE) * one.voltage_low, (1 + SERVICE) * one.voltage_high
    same_power = abs(one.ratings[-1] / rating - 1) < SAME_POWER
    return one.phase == 1 and one.poles == poles and same_power and low <= voltage <= high


def _tried(rating, motor, load, voltage) -> Tried:
    if motor is None:
        return Tried(rating, None, None, None, None, None)
    run = Motor.from_catalog(motor, samples=load.coefficient.shape[-1]).run(load, voltage)
    bands, room = run.first_bands(), run.room_to_trip()
    return Tried(
        rating=rating,
        motor=motor,
        bands=bands,
        load=bands["power_shaft_w"].scaled(1 / rating.power),
        room=None if room is None else room.first(),
        chance_of_start=float(run.chance_of_start()[0]),
    )


def _reaches(curve, parts, density, dirt) -> bool:
    least, most = curve.resistances(density)
    return bool(least <= parts.resistance(density, dirt) <= most)


def _stacked(duties) -> Duty:
    """Duties as one, of arrays (steps, samples)."""
    names = ("speed_rpm", "density", "flow", "pressure", "power")
    return Duty(*(np.stack([getattr(one, name) for one in duties]) for name in names))
