"""Motor size for a fan, from a fan curve and system or from a nameplate.

The duty is a set of equally likely samples, so results are 90 % ranges. The rating is the next
standard horsepower above the shaft power with a 10 % margin (common practice). All values in an
input range are assumed to be equally likely. The change in sound level, 50 log10 of the speed ratio
(common practice), is only a rough guide. The results are no substitute for amps and volts measured
on the running motor.

`tried` simulates motors with the required rating and with the next larger and smaller ratings.
`dirty_coil` simulates a coil as it gets dirty. Amps, watts and winding temperature are calculated
by `model.motor.Motor`, which the caller creates from a catalog motor or from a nameplate with
readings.
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
# Standard ratings up to 1 hp (NEMA MG 1, 10.33, cited from memory, not verified).
STANDARD = ("1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4", "1")
MARGIN = 0.10  # fraction of the shaft power, common practice; no published source
# fraction of rated voltage at which a motor delivers its rating (NEMA MG 1, 12.44)
SERVICE_LOW = 0.9
SOUND_PER_DECADE = 50.0  # dB per factor of ten in fan speed, common practice; no published source

MARGIN_RANGE = Range(0.0, 1.0, "")
VOLTAGE_SHARE = Range(0.5, 1.2, "of rated voltage")
SPREAD = (0.5, 2.0)  # range of the pressure multiplier that represents scatter of the points


NO_PRESSURE = 0.05  # fraction of the maximum pressure; effectively free delivery


SAME_POWER = 0.02  # ratings within this fraction count as the same horsepower
SERVICE = 0.10  # above and below rated voltage (NEMA MG 1 12.44, cited from memory, not verified)
DIRTS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)


class Horsepower(NamedTuple):
    """Standard rating, as printed on a nameplate and as power [W]."""

    text: str
    power: float


RATINGS = tuple(Horsepower(f"{text} hp", float(Fraction(text)) * HORSEPOWER) for text in STANDARD)


@dataclass(frozen=True)
class Duty:
    """Duty of a fan at a given speed, as arrays of shape (samples,).

    Attributes
    ----------
    speed_rpm : ndarray
        Speed [rpm].
    density : ndarray
        Air density [kg/m3].
    flow : ndarray
        Airflow [m3/s].
    pressure : ndarray
        Static pressure [Pa].
    power : ndarray
        Shaft power [W].
    several, extrapolated : float
        Fractions of the samples for which these fields of `fan.OperatingPoint` are True.
    variances : dict
        Power variance [W2] due to each uncertain input.
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
        """Create a Duty from the fan curve or the nameplate of a job."""
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
        """Shaft torque [N m]."""
        return self.power / (self.speed_rpm * np.pi / 30)

    def bands(self) -> dict[str, Band]:
        """Return flow, pressure, power, torque and density as 90 % ranges."""
        return {
            "flow_m3s": Band.of(self.flow),
            "pressure_pa": Band.of(self.pressure),
            "power_shaft_w": Band.of(self.power),
            "torque_nm": Band.of(self.torque),
            "density_kgm3": Band.of(self.density),
        }


def duty(curve, resistance, speed_rpm, density, samples=SAMPLES, seed=0, extrapolate=False) -> Duty:
    """Return the duty of a fan for a given system and air density.

    The resistance and the density can each be a number, a pair (low, high) with equally likely
    values in between, or an array of shape (samples,). Measurement scatter is included as the
    scatter of individual points, which is larger than the uncertainty of the curve itself.

    Parameters
    ----------
    curve : FanCurve
        Fan curve.
    resistance
        System resistance [Pa s2/m6] in the air at the site.
    speed_rpm
        Speed [rpm], a number.
    density
        Air density [kg/m3].
    samples : int, optional
        Number of samples.
    seed : int, optional
        Random seed.
    extrapolate : bool, optional
        True to extend the curve, as in `FanCurve.operating_point`.

    Raises
    ------
    InputError
        If a value is out of range or if the operating point is outside the curve.
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
    """Motor size required for a duty.

    If ``standard`` and ``sure`` differ, it is worthwhile to take measurements.

    Attributes
    ----------
    needed : Band
        Required shaft power [W] with margin.
    torque : Band
        Required torque [N m].
    standard : Horsepower
        Next standard rating above the median of ``needed``.
    sure : Horsepower
        Next standard rating above the upper limit of ``needed``.
    smaller, larger : Horsepower or None
        Next smaller and next larger rating, or None at the ends of the list.
    load : Band
        Ratio of duty power to ``standard``.
    """

    needed: Band
    torque: Band
    standard: Horsepower
    sure: Horsepower
    smaller: Horsepower | None
    larger: Horsepower | None
    load: Band


def size(duty, margin=MARGIN, voltage_share=SERVICE_LOW) -> Size:
    """Return the standard horsepower required for a duty.

    A motor delivers its rating down to 90 % of rated voltage (NEMA MG 1, 12.44, cited from memory,
    not verified). At lower voltages, torque is proportional to the square of the voltage.

    Parameters
    ----------
    duty : Duty
        Duty of the fan.
    margin : optional
        Margin on the shaft power, 0 to 1.
    voltage_share : optional
        Ratio of the lowest supply voltage to the rated voltage of the motor.

    Raises
    ------
    InputError
        If a value is out of range or if more than 1 hp is required.
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
    """Return the smallest standard rating of at least ``power`` [W].

    Raises
    ------
    InputError
        If the power exceeds 1 hp.

    Examples
    --------
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
    """Maximum shaft power on the measured curve at a given speed and density.

    Attributes
    ----------
    largest : Band
        Maximum shaft power [W], a 90 % range if the points have scatter.
    flow : float
        Airflow [m3/s] at the maximum.
    working : Band
        Maximum shaft power [W] at flows above stall.
    stall_flow : float or None
        Airflow [m3/s] at stall.
    over : tuple[float, float] or None
        Minimum and maximum flow between which the rating is exceeded, or None if it is never
        exceeded or if no rating was given.
    load : float or None
        Ratio of the maximum power to the rating.
    to_free_delivery, to_stall : bool
        True if the curve was measured up to this point.
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
    """Return the maximum shaft power on a fan curve.

    The maximum can occur with a blocked coil or without a coil. Speed and density are single
    numbers. The speed is assumed to be constant, which is the worst case, because an overloaded
    motor actually slows down.

    Parameters
    ----------
    curve
        Fan curve (`fan.FanCurve`).
    speed_rpm
        Speed [rpm].
    density
        Air density [kg/m3].
    rating : optional
        Motor rating [W].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    speed_ratio = float(check("speed_rpm", speed_rpm, SPEED_RPM)) / curve.speed_rpm
    carried = float(check("density", density, DENSITY)) / curve.density * speed_ratio**3
    # the curve is monotonic between its points, so the maximum power is at one of the points
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
    """Fan in the same system at a different speed.

    Attributes
    ----------
    speed_rpm : float
        Speed [rpm].
    duty : Duty
        Duty at this speed.
    bands : dict[str, Band]
        90 % ranges, as in `Duty.bands`.
    standard : Horsepower
        Standard horsepower with margin.
    sound : float
        Sound level [dB] relative to the first speed, as 50 log10 of the speed ratio (a rough
        guide).
    """

    speed_rpm: float
    duty: Duty
    bands: dict[str, Band]
    standard: Horsepower
    sound: float


def at_speeds(curve, resistance, density, speeds_rpm=(1075.0, 825.0), samples=SAMPLES, seed=0):
    """Return a SpeedStep for each speed, to compare motors with different numbers of poles.

    ``curve``, ``resistance`` and ``density`` are the same as in `duty`. The system resistance does
    not change, so the fan laws apply exactly. Raises the same errors as `duty`.
    """
    steps = []
    for speed_rpm in speeds_rpm:
        found = duty(curve, resistance, speed_rpm, density, samples, seed)
        sound = SOUND_PER_DECADE * float(np.log10(speed_rpm / speeds_rpm[0]))
        step = SpeedStep(speed_rpm, found, found.bands(), size(found).standard, sound)
        steps.append(step)
    return tuple(steps)


class Air(NamedTuple):
    """Air conditions in a unit.

    Attributes
    ----------
    temp_in : float
        Air temperature entering the coil [degC].
    heat : float
        Heat [W] rejected by the coil, 0 if the motor is in the entering air.
    diameter : float
        Fan diameter [m].
    """

    temp_in: float
    heat: float
    diameter: float


def load_of(duty, temp_air, diameter, seed=0) -> Load:
    """Convert a duty to the load of a motor in air of ``temp_air`` [degC].

    The air speed at the motor is 0.8 to 1.4 times the mean speed through the fan area, which is
    calculated from ``diameter`` [m] (engineering judgment). The number of samples is the same as
    for the duty.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    area = np.pi / 4 * check("diameter", diameter, DIAMETER) ** 2
    samples = duty.power.shape[-1]
    deviates = normal_draws(np.random.default_rng([seed, 2]), ["air"], samples)["air"]
    speed = duty.flow / area * uniform(AIR_SPEED_AT_MOTOR, deviates)
    air = AirStream(np.asarray(temp_air, dtype=float), speed, duty.speed_rpm)
    return Load(fan_coefficient(duty.power, duty.speed_rpm), air)


def at_rating(motors, rating, poles, voltage) -> CatalogMotor | None:
    """Return the single-phase motor with a highest rating of ``rating`` [W], or None.

    The motor has the given number of ``poles`` and is rated for the supply ``voltage`` [V], within
    10 %. If several motors match, the motor with the lowest nameplate amps is returned.
    """
    same = [one for one in motors if _serves(one, rating, poles, voltage)]
    return min(same, key=lambda one: one.currents[-1], default=None)


class Tried(NamedTuple):
    """Simulated motor with a given rating.

    Attributes
    ----------
    rating : Horsepower
        Rating.
    motor : CatalogMotor or None
        Motor. If it is None, all fields except ``rating`` are None.
    bands : dict[str, Band] or None
        Results as in `model.motor.Run`, such as speed, amps, watts and winding temperature.
    load : Band or None
        Ratio of shaft power to the rating.
    room : Band or None
        Margin [K] to the trip temperature of the protector, or None if the class is not known.
    chance_of_start : float or None
        Fraction of samples in which the motor starts when warm.
    """

    rating: Horsepower
    motor: CatalogMotor | None
    bands: dict[str, Band] | None
    load: Band | None
    room: Band | None
    chance_of_start: float | None


def tried(duty, motors, temp_air, diameter, voltage, poles=6, around=None) -> tuple[Tried, ...]:
    """Simulate the next smaller, the correct and the next larger motor at a given duty.

    There are no results for a rating if no motor has that rating and number of poles.

    Parameters
    ----------
    duty : Duty
        Duty of the fan.
    motors
        Catalog motors.
    temp_air
        Air temperature at the motor [degC].
    diameter
        Fan diameter [m].
    voltage
        Supply voltage [V].
    poles : optional
        Number of poles.
    around : optional
        Correct Horsepower, or None for the next rating above the median duty power.

    Raises
    ------
    InputError
        If a value is out of range.
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
    """Results for a given condition of the coil.

    Attributes
    ----------
    dirt : float
        Multiplier for the clean-coil resistance.
    bands : dict[str, Band]
        90 % ranges of flow, pressure, shaft power, speed, current, input power, air temperature and
        winding temperature. The names include the units.
    several : float
        Fraction of samples in which the fan may stall.
    """

    dirt: float
    bands: dict[str, Band]
    several: float


class DirtSweep(NamedTuple):
    """Results for several coil conditions, within and beyond the range of the curve."""

    steps: tuple[DirtStep, ...]
    beyond: tuple[float, ...]


def dirty_coil(curve, parts, motor, unit_air, density, voltage, speed_rpm, dirts=DIRTS, seed=0):
    """Return the flow, shaft power, amps and winding temperature as a coil gets dirty.

    In each step, the fan coefficient is recalculated, the airflow at the motor is lower, and the
    air is hotter, because the same heat is transferred to less air. The density is held constant,
    which neglects a reduction in shaft power of about 1 % per 3 K.

    Parameters
    ----------
    curve
        Fan curve (`fan.FanCurve`).
    parts
        Resistances of the parts (`air_path.System`), one number per part.
    motor
        Motor (`model.motor.Motor`).
    unit_air
        Air in the unit.
    density
        Air density [kg/m3] at the fan.
    voltage
        Supply voltage [V].
    speed_rpm
        Approximate speed [rpm] of the motor.
    dirts : optional
        Multipliers for the clean-coil resistance.
    seed : int, optional
        Random seed.

    Raises
    ------
    InputError
        If a value is out of range, or if the operating point with the clean coil is outside the
        curve.
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
    """Return operating points with scatter in pressure and power.

    ``pressure`` and ``power`` give the scatter in standard deviations. A curve with f times the
    pressure meets the system at the flow where the original curve meets a system with 1/f times the
    resistance.
    """
    point = curve.operating_point(resistance, speed_rpm, density, extrapolate)
    carried = density / curve.density * (speed_rpm / curve.speed_rpm) ** 2
    off = pressure * curve.scatter.pressure * carried
    factor = np.clip(1 + off / np.maximum(point.pressure, np.abs(off) + 1e-9), *SPREAD)
    if np.any(factor != 1):
        # within the measured range, because scatter moves the point along the curve
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
    """Return the flows between which the shaft power exceeds ``rating``."""
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
    """Return several duties as a single Duty with arrays of shape (steps, samples)."""
    names = ("speed_rpm", "density", "flow", "pressure", "power")
    return Duty(*(np.stack([getattr(one, name) for one in duties]) for name in names))
