"""Calculate the data for a lesson on fan laws, blocked coils, number of poles and thin air.

All steps use the same fan and system, at the usual voltage, warmed up and in steady state. Arrays
have shape (steps, samples), where a step is a slider position. Values that a nameplate does not
give are sampled once for all steps, so a change between steps is less uncertain than the values
themselves.

Step 1 uses only the fan laws. The amps in this step are those of the next larger motor at the
required shaft power, because an induction motor cannot turn 10 % faster on the same supply. Steps 2
and 4 simulate the fan with its motor, including the temperature and density of the air leaving the
coil. The slow fan in step 3 is fictional and has the same airflow and power at 825 rpm. The
accuracy required of a prediction is based on engineering judgment.
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

SPEEDS = tuple(range(-25, 11))  # percent, where 825 rpm is 23 % below 1075 rpm
DIRTS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
ELEVATIONS = tuple(range(0, 3501, 250))  # m
LOADS = np.linspace(0.25, 2.0, 15)  # simulated motor loads, as multiples of the fan torque
FAST_RPM, SLOW_RPM = 1075.0, 825.0  # typical six- and eight-pole nameplate speeds at 60 Hz
POLES = (6, 8)
COIL_SHARE = 0.7  # fraction of the system resistance: engineering judgment, no source
# A prediction within this fraction of the change counts as correct (engineering judgment, no
# source).
NEAR = 0.3
LAWS = ("still", "straight", "squared", "cubed")  # speed exponents 0 to 3
EXPONENTS = {"flow": 1, "pressure": 2, "power": 3}
# Largest ratio change that counts as no change (engineering judgment, no source).
STAYS = {"flow": 0.05, "pressure": 0.03, "power": 0.01, "current": 0.01}
STAYS_K = 1.0  # K; the corresponding limit for temperatures
ABOUT_AMPS = 0.10  # +/- on full-load amps, typical trade tolerance, no source
ABOUT_FLOW = 0.05  # +/- on a unit's airflow, common practice, no source
NEAR_RPM, PLATE_RPM = 20.0, 25.0
RISES, STILL, FALLS = "rises", "stays", "falls"


@dataclass(frozen=True, eq=False)
class Swept:
    """Values that change with a slider.

    The names are "flow" [m3/s], "pressure" [Pa], "power" (shaft power) [W], "current" [A], and the
    "winding" and "condensing" temperatures [degC].

    Attributes
    ----------
    at : tuple
        Slider positions.
    figures : dict[str, ndarray]
        Values by name, shape (steps, samples).
    start : int
        Index of the step that the other steps are compared with.
    """

    at: tuple
    figures: dict[str, np.ndarray]
    start: int = 0

    def band(self, name: str) -> Band:
        """Return the Band of a value at every step, with members of shape (steps,)."""
        return Band.of(self.figures[name])

    def at_step(self, name: str, step: int) -> Band:
        return Band(*(float(ends[step]) for ends in self.band(name)))

    def change(self, name: str, step: int) -> Band:
        """Return the change in a value from the start to ``step``: a ratio or a difference [K]."""
        now, before = (self.figures[name][number] for number in (step, self.start))
        moved = now - before if _is_temperature(name) else now / before
        return Band(*map(float, Band.of(moved)))

    def direction(self, name: str) -> str:
        """Return RISES, STILL or FALLS for the median change from the start to the last step."""
        mid = self.change(name, -1).mid
        moved, least = (mid, STAYS_K) if _is_temperature(name) else (mid - 1, STAYS[name])
        return STILL if abs(moved) < least else RISES if moved > 0 else FALLS


class FittedMotor(NamedTuple):
    """Motor with a fan designed for ``blade_rpm``.

    Attributes
    ----------
    row : CatalogMotor
        Catalog row of the motor.
    run : Run
        Simulation of the motor.
    bands : dict[str, Band]
        Ranges with the names "speed" [rpm], "power" [W], "current" [A], "winding" [degC], "flow"
        (fraction of the airflow at design speed) and "amps" (fraction of nameplate amps).
    room : Band or None
        Margin from the winding temperature to the thermal overload trip temperature [K], or None if
        unknown.
    """

    blade_rpm: float
    row: CatalogMotor
    run: Run
    bands: dict[str, Band]
    room: Band | None

    @property
    def amps(self) -> str:
        """Comparison of the amps with the nameplate: RISES, STILL or FALLS."""
        return _beside(self.bands["amps"].mid, ABOUT_AMPS)

    @property
    def flow(self) -> str:
        """Comparison of the airflow with the required airflow: RISES, STILL or FALLS."""
        return _beside(self.bands["flow"].mid, ABOUT_FLOW)


@dataclass(frozen=True, eq=False)
class FanLesson:
    """Lesson about the fan of a ``job``.

    Attributes
    ----------
    points : FanCurve
        Points of the fan curve.
    motors : tuple[tuple[CatalogMotor, Motor], ...]
        Six-pole and eight-pole motors with the rating that the fan requires.
    strong : tuple[Horsepower, CatalogMotor, Motor]
        Six-pole motor that can also drive the fan at the highest speed in SPEEDS.
    """

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
        """Return the lesson for the fan ``curve`` at the airflow and pressure of ``job``.

        The motors are selected from ``catalog``.

        Raises
        ------
        InputError
            If the job or the catalog lacks required data.
        """
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
        """Fan values from the fan laws at SPEEDS relative to the fan speed.

        The value "current" is the current at which the strong motor delivers the shaft power of the
        fan, because an induction motor cannot turn that much faster on the same supply.
        """
        duty, ratio = self.found.duty, 1 + np.array(SPEEDS)[:, None] / 100
        moved = scale(duty.flow, duty.pressure, duty.power, speed_ratio=ratio)
        figures = {**moved._asdict(), "current": self._amps_at(moved.power)}
        return Swept(SPEEDS, figures, SPEEDS.index(0))

    @cached_property
    def blocked(self) -> Swept:
        """Fan and motor values for a coil with DIRTS times its clean resistance.

        The values include the effect of the hotter and thinner air that leaves a blocked coil.
        """
        return self._swept(DIRTS, lambda dirt: {"dirt": dirt})

    @cached_property
    def height(self) -> Swept:
        """Fan and motor values at ELEVATIONS [m] in the same weather."""
        return self._swept(ELEVATIONS, lambda elevation: {"elevation": float(elevation)})

    @cached_property
    def fitted(self) -> dict[tuple[float, int], FittedMotor]:
        """Both motors with this fan and with a fan designed for SLOW_RPM, by fan rpm and poles.

        The slow fan is fictional. At SLOW_RPM, its higher pitch gives it the same airflow, pressure
        and power as this fan at FAST_RPM.
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
        """Size a motor for this fan curve, or for other ``points``, with changes to ``place``."""
        points = self.points if points is None else points
        return Sized.of(
            points, self.system, self.place._replace(**place), self.job, self.conditions
        )

    def _run(self, found: Sized, motor: Motor) -> Run:
        return motor.run(self._load(found), float(self.conditions.voltage[1]))

    def _load(self, found: Sized) -> Load:
        """Return the fan as a motor load, with thin air treated as a slower airstream."""
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
        """Return the amps at which the motor delivers ``power``, shape (steps, samples)."""
        load = self._load(self.found)
        tried = load._replace(coefficient=load.coefficient * LOADS[:, None])
        volts = np.full(LOADS.size, float(self.conditions.voltage[1]))
        figures = self.strong[-1].run(tried, volts).figures()
        given, amps = figures["power_shaft_w"], figures["current_a"]
        return np.stack(
            [_on_line(*row) for row in zip(power.T, given.T, amps.T, strict=True)], axis=1
        )

    def _fitted(self, points: FanCurve, rpm: float, pair) -> FittedMotor:
        """Return the operating point of a motor that drives a fan.

        The motor's speed and the air at the motor depend on each other, so the motor is simulated
        twice.
        """
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
    """Identify the mistake behind a predicted ratio ``guess`` (new over old) at a ``speed_ratio``.

    Returns "right", the law that the prediction follows ("still", "straight", "squared" or "cubed"
    for speed exponents 0 to 3), or "opposite", "little" or "much".

    Parameters
    ----------
    name
        Name of the value, "flow", "pressure", "power" or "current".
    change
        Correct ratio.

    Examples
    --------
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
    """Identify the mistake behind a predicted rpm ``guess`` for a ``FittedMotor``.

    Returns "right", "plate" for the nameplate rpm of the motor, "blade" for the design rpm of the
    fan, or "little" or "much".
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
    """Return samples of the condensing temperature at a fraction ``share`` of the airflow.

    The median of ``share`` is used.
    """
    pressure = air.standard_pressure(place.elevation)
    density = air.moist_air_density(place.temp_outdoor, pressure, HUMIDITY)
    return running(unit, place.temp_outdoor, density, float(np.median(share))).temp_condensing


def _on_line(power: np.ndarray, given: np.ndarray, amps: np.ndarray) -> np.ndarray:
    """Return the amps at each ``power`` by interpolation.

    Only the range in which output power increases with load is used.

    Parameters
    ----------
    given : ndarray
        Shaft power at each load [W].
    amps : ndarray
        Current at each load [A].
    """
    rising = slice(0, int(np.argmax(given)) + 1)
    if power.max() > given[rising][-1] or power.min() < given[0]:
        accepted = Range(round(given[0]), round(given[rising][-1]), "W")
        raise InputError(Message("lesson.error.fan_power"), f"{power.max():.0f}", accepted, "W")
    return np.interp(power, given[rising], amps[rising])


def _beside(share: float, about: float) -> str:
    return STILL if abs(share - 1) <= about else RISES if share > 1 else FALLS


def _is_temperature(name: str) -> bool:
    return name in ("winding", "condensing")
