"""Figures of a lesson on fan laws: other speeds, a blocked coil, other poles, thinner air.

All for one fan on one system, at the usual voltage, warm and steady. Arrays are (steps, samples): a
step is a place of a slider. What a nameplate does not tell is sampled once for all steps, so a
change from step to step is known better than the figures themselves.

Step 1 is the fan laws alone; its amps are those of the next larger motor, loaded until its shaft
gives that power, since no induction motor turns 10 % faster by itself. Steps 2 and 4 simulate the
fan with its motor, hotter coil leaving air and its density included. The slow fan of step 3 is
invented: the same air and power at 825 rpm. How close a prediction must be is engineering judgment.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.errors import NOTHING, InputError, Range
from airover.core.intervals import Band
from airover.core.message import Message
from airover.model.climate import Unit, running
from airover.model.conditions import Conditions, curve_of
from airover.model.fan_at_site import (
    HUMIDITY,
    FanSite,
    Sized,
    assumed_system,
    conditions_with,
    unit_behind,
)
from airover.model.motor import Load, Motor, Run
from airover.model.simulation import SAMPLES
from airover.model.sizing import Horsepower, above, at_rating, load_of
from airover.physics import air
from airover.physics.air_path import System
from airover.physics.fan import FanCurve, scale
from airover.records.catalog import CatalogMotor
from airover.records.fan import Curve
from airover.records.job import Job

SPEEDS = tuple(range(-25, 11))  # per cent; 825 rpm for 1075 is 23 % less
DIRTS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
ELEVATIONS = tuple(range(0, 3501, 250))  # m
LOADS = np.linspace(0.25, 2.0, 15)  # of the blade's torque, on which a motor is tried
FAST_RPM, SLOW_RPM = 1075.0, 825.0  # usual plates of six and of eight poles at 60 Hz
POLES = (6, 8)
COIL_SHARE = 0.7  # of the system's resistance: engineering judgment, no source
# A guess is right within this share of the change of speed: engineering judgment, no source.
NEAR = 0.3
LAWS = ("still", "straight", "squared", "cubed")  # exponents 0 to 3 of the speed
EXPONENTS = {"flow": 1, "pressure": 2, "power": 3}
# What counts as no change: engineering judgment, no source.
STAYS = {"flow": 0.05, "pressure": 0.03, "power": 0.01, "current": 0.01}
STAYS_K = 1.0  # of temperatures [K]
ABOUT_AMPS = 0.10  # either side of the full-load amps: what the trade lets pass, no source
ABOUT_FLOW = 0.05  # of a unit's airflow, common practice, no source
NEAR_RPM, PLATE_RPM = 20.0, 25.0
RISES, STILL, FALLS = "rises", "stays", "falls"


@dataclass(frozen=True, eq=False)
class Swept:
    """Figures that a slider moves: ``figures`` by name, each (steps, samples), at the places ``at``
    of it.

    ``start`` is the number of the step that the others are compared with. Names: "flow" [m3/s],
    "pressure" [Pa], "power" [W] at the shaft, "current" [A], "winding" and "condensing" [degC].
    """

    at: tuple
    figures: dict[str, np.ndarray]
    start: int = 0

    def band(self, name: str) -> Band:
        """Of a figure at every step; each member has shape (steps,)."""
        return Band.of(self.figures[name])

    def at_step(self, name: str, step: int) -> Band:
        return Band(*(float(ends[step]) for ends in self.band(name)))

    def change(self, name: str, step: int) -> Band:
        """Of a figure from the start to ``step``: a ratio, of a temperature a difference [K]."""
        now, before = (self.figures[name][number] for number in (step, self.start))
        moved = now - before if _is_temperature(name) else now / before
        return Band(*map(float, Band.of(moved)))

    def direction(self, name: str) -> str:
        """RISES, STILL or FALLS from the start to the last step, as most samples have it."""
        mid = self.change(name, -1).mid
        moved, least = (mid, STAYS_K) if _is_temperature(name) else (mid - 1, STAYS[name])
        return STILL if abs(moved) < least else RISES if moved > 0 else FALLS


class FittedMotor(NamedTuple):
    """A motor on a blade made for ``blade_rpm``: its ``row`` of the catalog and its ``run``.

    ``bands``: "speed" [rpm], "power" [W], "current" [A], "winding" [degC], and as shares "flow" (of
    what the blade moves at its own speed) and "amps" (of the nameplate's). ``room`` [K] from the
    winding to the trip of a protector of its class, None where that is not known.
    """

    blade_rpm: float
    row: CatalogMotor
    run: Run
    bands: dict[str, Band]
    room: Band | None

    @property
    def amps(self) -> str:
        """RISES, STILL or FALLS: amps beside the nameplate's."""
        return _beside(self.bands["amps"].mid, ABOUT_AMPS)

    @property
    def flow(self) -> str:
        """RISES, STILL or FALLS: air beside what the unit needs."""
        return _beside(self.bands["flow"].mid, ABOUT_FLOW)


@dataclass(frozen=True, eq=False)
class FanLesson:
    """One blade of a ``job`` for a class; ``points`` is its curve, ``motors`` one of six and one
    of eight poles, each with the rating that the blade asks for, and ``strong`` one of six that
    carries it at the highest of SPEEDS, too."""

    job: Job
    points: FanCurve
    system: System
    conditions: Conditions
    place: FanSite
    found: Sized
    motors: tuple[tuple[CatalogMotor, Motor], ...]
    strong: tuple[Horsepower, CatalogMotor, Motor]

    @classmethod
    def of(cls, job: Job, curve: Curve, catalog) -> "FanLesson":
        """The blade of ``curve`` on the airflow and pressure that ``job`` states, its motors from
        ``catalog``. Raises InputError where the job or the catalog lacks something."""
        for needed in ("heat", "airflow", "outdoor_temperature", "elevation"):
            if getattr(job.site, needed) is None:
                field, given = f"site {needed.replace('_', ' ')}", NOTHING
                raise InputError(field, given, Message("lesson.error.has_it"))
        points, site = curve_of(curve), job.site
        system = assumed_system(curve, job, COIL_SHARE)
        place = FanSite(FAST_RPM, site.elevation.mid, site.outdoor_temperature.mid)
        conditions = conditions_with(curve, job)
        found = Sized.of(points, system, place, job, conditions)
        rating = found.size.standard
        motors = tuple(_motor(catalog, rating, poles, conditions) for poles in POLES)
        most = float(np.median(found.duty.power)) * (1 + SPEEDS[-1] / 100) ** 3
        rating = above(most)
        strong = rating, *_motor(catalog, rating, POLES[0], conditions)
        return cls(job, points, system, conditions, place, found, motors, strong)

    @cached_property
    def speed(self) -> Swept:
        """The blade at SPEEDS over its own, by the fan laws. "current" is that of the strong motor,
        loaded until its shaft gives the blade's power: amps that go with a power, since no motor
        of induction turns so much faster on the same line by itself."""
        duty, ratio = self.found.duty, 1 + np.array(SPEEDS)[:, None] / 100
        moved = scale(duty.flow, duty.pressure, duty.power, speed_ratio=ratio)
        figures = {**moved._asdict(), "current": self._amps_at(moved.power)}
        return Swept(SPEEDS, figures, SPEEDS.index(0))

    @cached_property
    def blocked(self) -> Swept:
        """The blade with its motor on a coil of DIRTS times the clean resistance. The air that
        leaves a blocked coil is hotter, so thinner; that is counted."""
        return self._swept(DIRTS, lambda dirt: {"dirt": dirt})

    @cached_property
    def height(self) -> Swept:
        """The same at ELEVATIONS [m], in the same weather."""
        return self._swept(ELEVATIONS, lambda elevation: {"elevation": float(elevation)})

    @cached_property
    def fitted(self) -> dict[tuple[float, int], FittedMotor]:
        """Both motors on this blade and on one that is made for SLOW_RPM, by (rpm, poles).

        The slow blade is invented: at SLOW_RPM it moves the same air against the same pressure with
        the same power as this one at FAST_RPM, as more pitch makes it.
        """
        slow = FanCurve(
            self.points.flow, self.points.pressure, self.points.power,
            self.points.speed_rpm * SLOW_RPM / FAST_RPM, self.points.density,
        )  # fmt: skip
        blades = {FAST_RPM: self.points, SLOW_RPM: slow}
        return {
            (rpm, poles): self._fitted(points, rpm, pair)
            for rpm, points in blades.items()
            for poles, pair in zip(POLES, self.motors, strict=True)
        }

    def at_place(self, points: FanCurve | None = None, **place) -> Sized:
        """The blade, or one with other ``points``, where some of the ``place`` is another."""
        points = self.points if points is None else points
        return Sized.of(
            points, self.system, self.place._replace(**place), self.job, self.conditions
        )

    def _run(self, found: Sized, motor: Motor) -> Run:
        return motor.run(self._load(found), float(self.conditions.voltage[1]))

    def _load(self, found: Sized) -> Load:
        """The blade on a motor; thin air cools like a slower stream, as a job's does."""
        load = load_of(found.duty, found.temp_air, float(np.median(self.conditions.blade_diameter)))
        dry = air.moist_air_density(found.temp_air, air.PRESSURE_SEA_LEVEL)
        stream = load.air._replace(speed=load.air.speed * found.duty.density / dry)
        return load._replace(air=stream)

    def _swept(self, places: tuple, changed: Callable) -> Swept:
        steps = [self._step(self.at_place(**changed(place))) for place in places]
        flow = float(np.median(steps[0]["flow"]))
        unit = unit_behind(self.found.heat, flow)
        for place, step in zip(places, steps, strict=True):
            at = self.place._replace(**changed(place))
            step["condensing"] = _condensing(unit, at, step["flow"] / flow)
        return Swept(places, {name: np.stack([step[name] for step in steps]) for name in steps[0]})

    def _step(self, found: Sized) -> dict[str, np.ndarray]:
        figures = {k: v[0] for k, v in self._run(found, self.motors[0][1]).figures().items()}
        ratio = figures["speed_rpm"] / found.place.speed_rpm
        return {
            "flow": found.duty.flow * ratio,
            "pressure": found.duty.pressure * ratio**2,
            "power": figures["power_shaft_w"],
            "current": figures["current_a"],
            "winding": figures["temp_winding_c"],
        }

    def _amps_at(self, power: np.ndarray) -> np.ndarray:
        """Amps (steps, samples) at which the motor gives so much ``power`` (steps, samples)."""
        load = self._load(self.found)
        tried = load._replace(coefficient=load.coefficient * LOADS[:, None])
        volts = np.full(LOADS.size, float(self.conditions.voltage[1]))
        figures = self.strong[-1].run(tried, volts).figures()
        given, amps = figures["power_shaft_w"], figures["current_a"]
        return np.stack(
            [_on_line(*row) for row in zip(power.T, given.T, amps.T, strict=True)], axis=1
        )

    def _fitted(self, points: FanCurve, rpm: float, pair) -> FittedMotor:
        """The air at the motor is that which it makes itself, so its speed is found twice."""
        row, motor = pair
        own = self.at_place(points, speed_rpm=rpm)
        first = self._run(own, motor)
        settled = float(np.median(first.solution.speed_rpm))
        run = self._run(self.at_place(points, speed_rpm=settled), motor)
        bands = run.first_bands()
        room = run.room_to_trip()
        told = {
            "speed": bands["speed_rpm"],
            "power": bands["power_shaft_w"],
            "current": bands["current_a"],
            "winding": bands["temp_winding_c"],
            "flow": bands["speed_rpm"].scaled(1 / rpm),
            "amps": bands["current_a"].scaled(1 / row.currents[-1]),
        }
        return FittedMotor(rpm, row, run, told, None if room is None else room.first())


def slip(name, speed_ratio, guess, change) -> str:
    """Mistake behind a ``guess`` (new over old) of a figure at a ``speed_ratio``.

    ``name`` is "flow", "pressure", "power" or "current"; ``change`` the true one, a Band of ratios.
    "right"; else the law that it followed: "still", "straight", "squared" or "cubed" (with the
    speed's power of 0 to 3); else "opposite", "little" or "much".

    >>> slip("power", 1.1, 1.10, Band(1.331, 1.331, 1.331))
    'straight'
    """
    near = NEAR * abs(speed_ratio - 1)
    if change.low - near <= guess <= change.high + near:
        return "right"
    off = [abs(guess - speed_ratio**exponent) for exponent in range(len(LAWS))]
    law = int(np.argmin(off))
    if off[law] <= near and law != EXPONENTS.get(name):
        return LAWS[law]
    if (guess - 1) * (change.mid - 1) < 0:
        return "opposite"
    return "little" if abs(guess - 1) < abs(change.mid - 1) else "much"


def slip_rpm(fitted: FittedMotor, guess) -> str:
    """Mistake behind a ``guess`` of the rpm of a ``FittedMotor``.

    "right"; "plate": the motor's own rpm; "blade": that which the blade is made for; else "little"
    or "much".
    """
    low, mid, high = fitted.bands["speed"]
    for word, rpm in (("plate", fitted.row.speed_rpm), ("blade", fitted.blade_rpm)):
        if abs(guess - rpm) <= PLATE_RPM and abs(guess - mid) > NEAR_RPM:
            return word
    if low - NEAR_RPM <= guess <= high + NEAR_RPM:
        return "right"
    return "little" if guess < mid else "much"


def _motor(catalog, rating: Horsepower, poles: int, conditions: Conditions):
    row = at_rating(catalog, rating.power, poles, float(conditions.voltage[1]))
    if row is None:
        given = Message("lesson.error.no_motor", rating=rating.text, poles=poles)
        raise InputError("catalog", given, Message("lesson.error.has_one"))
    return row, Motor.from_catalog(row, samples=SAMPLES)


def _condensing(unit: Unit, place: FanSite, share: np.ndarray) -> np.ndarray:
    """Of the unit at the airflow's ``share``, samples; the median of the airflow counts."""
    pressure = air.standard_pressure(place.elevation)
    density = air.moist_air_density(place.temp_outdoor, pressure, HUMIDITY)
    return running(unit, place.temp_outdoor, density, float(np.median(share))).temp_condensing


def _on_line(power: np.ndarray, given: np.ndarray, amps: np.ndarray) -> np.ndarray:
    """Amps at each ``power``, along the loads on which the motor ``given`` more and more."""
    rising = slice(0, int(np.argmax(given)) + 1)
    if power.max() > given[rising][-1] or power.min() < given[0]:
        accepted = Range(round(given[0]), round(given[rising][-1]), "W")
        raise InputError(Message("lesson.error.fan_power"), f"{power.max():.0f}", accepted, "W")
    return np.interp(power, given[rising], amps[rising])


def _beside(share: float, about: float) -> str:
    return STILL if abs(share - 1) <= about else RISES if share > 1 else FALLS


def _is_temperature(name: str) -> bool:
    return name in ("winding", "condensing")
