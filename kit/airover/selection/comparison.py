"""Compare a job with every motor in a catalog.

The module provides the data for the rules: the catalog columns, the rating to use and the
simulation.
"""

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.cache import last_kept
from airover.core.intervals import Band
from airover.model.bearing_life import BearingLives
from airover.model.conditions import Conditions, completed, failed_motor, voltage_limits
from airover.model.simulation import SAMPLES, USUAL, MotorOnFan
from airover.physics import insulation
from airover.records.catalog import CatalogMotor
from airover.records.found import IN_HEAT
from airover.records.job import Job
from airover.records.limits import LIMITS, LimitValues
from airover.records.nameplate import REVERSIBLE

# A rating within this fraction of the old rating is considered the same rating.
SAME_RATING = 0.97
SAME_AMPS = LIMITS["full_load_amps"].usual  # the trade matches horsepower by full-load amps


class Columns(NamedTuple):
    """Catalog motor data, as arrays of shape (motors,).

    Numbers are stored as arrays in SI units, and words are stored as tuples. A value that is
    missing from the catalog is NaN or None.
    """

    voltage_low: np.ndarray
    voltage_high: np.ndarray
    frequency: np.ndarray
    phase: np.ndarray
    poles: np.ndarray
    speed_rpm: np.ndarray
    capacitor: np.ndarray
    capacitor_voltage: np.ndarray
    ambient: np.ndarray
    winding_limit: np.ndarray
    shaft_diameter: np.ndarray
    shaft_length: np.ndarray
    body_length: np.ndarray
    frame: np.ndarray
    price: np.ndarray
    ratings: np.ndarray  # shape (motors, maximum number of ratings) [W]
    currents: np.ndarray  # shape (motors, maximum number of ratings) [A]
    insulation_class: tuple
    rotation: tuple  # viewed from the shaft end
    mounting: tuple
    shaft_positions: tuple
    drain_plugs: tuple
    enclosure: tuple
    bearings: tuple
    protector: tuple


@lru_cache(maxsize=8)
def columns(motors: tuple[CatalogMotor, ...]) -> Columns:
    """Return the data of ``motors`` as columns."""

    def numbers(read):
        return np.array([read(motor) for motor in motors], dtype=float)

    def words(read):
        return tuple(read(motor) for motor in motors)

    limits = [voltage_limits(motor.voltage_low, motor.voltage_high) for motor in motors]
    most = max(len(motor.ratings) for motor in motors)
    ladder = np.full((2, len(motors), most), np.nan)
    for row, motor in enumerate(motors):
        ladder[0, row, : len(motor.ratings)] = motor.ratings
        ladder[1, row, : len(motor.currents)] = motor.currents
    return Columns(
        voltage_low=np.array([low for low, _ in limits]),
        voltage_high=np.array([high for _, high in limits]),
        frequency=numbers(lambda m: m.frequency),
        phase=numbers(lambda m: m.phase),
        poles=numbers(lambda m: m.poles),
        speed_rpm=numbers(lambda m: m.speed_rpm),
        capacitor=numbers(lambda m: m.capacitor),
        capacitor_voltage=numbers(lambda m: m.capacitor_voltage),
        ambient=numbers(lambda m: m.ambient_rating),
        winding_limit=numbers(lambda m: winding_limit(m.insulation_class)),
        shaft_diameter=numbers(lambda m: m.shaft_diameter),
        shaft_length=numbers(lambda m: m.shaft_length),
        body_length=numbers(lambda m: m.body_length),
        frame=numbers(lambda m: frame_number(m.frame)),
        price=numbers(lambda m: m.price),
        ratings=ladder[0],
        currents=ladder[1],
        insulation_class=words(lambda m: m.insulation_class),
        rotation=words(lambda m: m.rotation_shaft_end),
        mounting=words(lambda m: m.mounting),
        shaft_positions=words(lambda m: m.shaft_positions),
        drain_plugs=words(lambda m: m.drain_plugs),
        enclosure=words(lambda m: m.enclosure),
        bearings=words(lambda m: m.bearings),
        protector=words(lambda m: m.protector),
    )


_last_columns = last_kept(columns)


@lru_cache
def winding_limit(insulation_class: str | None) -> float | None:
    """Return the maximum average winding temperature [degC] for an insulation class."""
    if insulation_class is None:
        return None
    return insulation.RISE_AMBIENT + float(insulation.rise_limit(insulation_class))


def frame_number(text: str) -> int | None:
    """Return the frame number, such as 48 for 48, 48Y and "48 frame"."""
    digits = re.search(r"\d+", text or "")
    return int(digits[0]) if digits else None


@dataclass(frozen=True, eq=False)
class Comparison:
    """Comparison of a job with the ``motors`` that might replace its failed motor.

    The attributes ``conditions``, ``simulation`` and ``rows`` are None if only plain job data is
    compared.

    Attributes
    ----------
    conditions : Conditions or None
        Conditions of the job.
    simulation : MotorOnFan or None
        Simulation of some of the motors.
    rows : ndarray or None
        Row of each motor in the simulation, or -1 if not simulated, shape (motors,).
    likely_power : float or None
        Most likely power [W] for the old amps, if it was calculated before.
    """

    job: Job
    motors: tuple[CatalogMotor, ...]
    conditions: Conditions | None = None
    simulation: MotorOnFan | None = None
    rows: np.ndarray | None = None
    likely_power: float | None = None

    @cached_property
    def bearing_lives(self) -> BearingLives:
        """Bearing lives by the row of a motor in the simulation."""
        return BearingLives(self.simulation)

    @cached_property
    def columns(self) -> Columns:
        return _last_columns(self.motors)

    @cached_property
    def limits(self) -> LimitValues:
        """Limits for the checks, either the usual limits or those set in the job."""
        return self.job.limits.values

    @cached_property
    def winding_limit(self) -> np.ndarray:
        """Maximum average winding temperature [degC] minus the margin set in the job limits."""
        return self.columns.winding_limit - self.limits.winding_margin

    @property
    def nameplate(self):
        return self.job.nameplate

    def all(self, outcome: str) -> np.ndarray:
        """Return the same outcome for every motor."""
        return np.full(len(self.motors), outcome, dtype=object)

    @cached_property
    def simulated(self) -> np.ndarray:
        """True for simulated motors, shape (motors,)."""
        return self.rows >= 0

    def per_sample(self, values, fill=np.nan) -> np.ndarray:
        """Expand the values of the simulated motors to all motors in the catalog.

        Motors that were not simulated get the value ``fill``.
        """
        out = np.full((len(self.motors), values.shape[-1]), fill, dtype=values.dtype)
        out[self.simulated] = values[self.rows[self.simulated]]
        return out

    def band(self, figure: str, voltage: int = USUAL) -> Band:
        """Return the 90 % range of a value for each motor, or NaN if not simulated."""
        ends = (end[voltage] for end in self.simulation.bands[figure])
        return Band(*(self.per_sample(end[:, None])[:, 0] for end in ends))

    @cached_property
    def has_curve(self) -> bool:
        return self.job.blade.curve is not None

    @cached_property
    def wanted(self) -> float:
        """Target rated power [W].

        The power is determined from the fan curve if available, otherwise from the failed motor's
        rating, and otherwise from the most likely power for its amps.
        """
        rated = self.nameplate.power
        if self.has_curve and self.conditions is not None:
            return float(np.median(self.conditions.shaft_power))
        if rated is not None:
            return rated.mid
        if self.likely_power is not None:
            return self.likely_power
        samples = SAMPLES if self.conditions is None else self.conditions.samples
        return float(np.median(failed_motor(self.job, samples).rated.power))

    @cached_property
    def rating_number(self) -> np.ndarray:
        """Index of the rating to use for each motor, shape (motors,).

        The smallest rating that covers the target power is used. If the target power was estimated
        from amps, the nearest rating is used.
        """
        ratings = self.columns.ratings
        if self.nameplate.power is None and not self.has_curve:
            return np.nanargmin(np.abs(np.log(ratings / self.wanted)), axis=1)
        covers = ratings >= SAME_RATING * self.wanted
        last = np.sum(~np.isnan(ratings), axis=1) - 1
        return np.where(covers.any(axis=1), covers.argmax(axis=1), last)

    @cached_property
    def base_power(self) -> float:
        """Rated power [W] that is the basis for comparing replacements.

        The power is the rating of the old motor, or the most likely rating from the fan curve or
        the old amps.
        """
        old = self.nameplate.power
        return self.wanted if old is None else max(old.mid, self.wanted)

    @cached_property
    def size(self) -> np.ndarray:
        """Rating to use, divided by the base power, shape (motors,)."""
        return self.rating / self.base_power

    @cached_property
    def same_size(self) -> np.ndarray:
        """True if the rating covers the base power plus the margin set in the job limits."""
        return self.size >= SAME_RATING * (1 + self.limits.power_margin)

    def _at_rating(self, ladder) -> np.ndarray:
        return np.take_along_axis(ladder, self.rating_number[:, None], axis=1)[:, 0]

    @cached_property
    def rating(self) -> np.ndarray:
        """Rated power [W] to use, shape (motors,)."""
        return self._at_rating(self.columns.ratings)

    @cached_property
    def rated_current(self) -> np.ndarray:
        """Full-load current [A] at the rating to use, shape (motors,)."""
        return self._at_rating(self.columns.currents)

    @cached_property
    def below_top(self) -> np.ndarray:
        """True for motors used below the highest of several ratings, shape (motors,)."""
        return self.rating < SAME_RATING * np.nanmax(self.columns.ratings, axis=1)

    @cached_property
    def poles(self) -> int | None:
        """Number of poles of the failed motor, or None if neither speed nor poles are known."""
        nameplate = self.nameplate
        known = nameplate.poles is not None or nameplate.speed_rpm is not None
        return completed(self.job).pole_count if known else None

    @property
    def died_of_heat(self) -> bool:
        """True if the failed motor was observed to trip in hot weather.

        In this case, the failed motor's temperature is not evidence of what the installation
        tolerates.
        """
        return self.job.found.trips == IN_HEAT

    @cached_property
    def old_current(self) -> float | None:
        """Full-load current [A] of the failed motor, or None if unknown or doubtful."""
        nameplate = self.nameplate
        doubtful = any("current" in doubt.fields for doubt in nameplate.doubts())
        return None if nameplate.current is None or doubtful else nameplate.current.mid

    @cached_property
    def rotation(self) -> str | None:
        """Rotation required by the fan, viewed from the shaft end, or None if unknown."""
        needed = self.job.blade.rotation_shaft_end or self.nameplate.rotation_shaft_end
        return None if needed == REVERSIBLE else needed
