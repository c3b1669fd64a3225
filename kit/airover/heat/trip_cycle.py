"""A motor's thermal protector: when it opens with a locked rotor, and how often in a year.

A plate says that there is a protector and not where it opens. It is taken to open some way below
the highest temperature that the standard allows for the class, and to close again 30 to 60 K lower
(common practice, no source). It feels the windings and the shell, so with a locked rotor, where
the winding runs away from the shell, the winding gets hotter than where it opens.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.climate.season import Season
from airover.errors import InputError, either
from airover.heat.in_time import (
    HOUR,
    SAMPLES,
    HeatHistory,
    Stretch,
    followed,
    moved,
    representative,
    running,
    standing,
)
from airover.limits import Range, check
from airover.motor.conditions import Conditions
from airover.motor.narrow import picked
from airover.motor.one import Load, Motor
from airover.physics import insulation
from airover.physics.thermal import Nodes
from airover.physics.thermal_time import Protector

# Common practice, no source.
TRIP_BELOW_LIMIT = (5.0, 30.0)  # K
RESET_BELOW_TRIP = (30.0, 60.0)  # K
SENSES_WINDING = (0.5, 1.0)  # share of what it feels; the rest is the shell's
CAUSES = ("blade blocked", "capacitor open")
OPEN_CAPACITOR = 1e-4  # of the right one's microfarads
LOCKED_STEP = 1.0  # s: a locked winding warms by about a kelvin in each
VOLTAGES, TEMPS = 9, 5  # at which a year is looked at
OVERLOAD = 4 * HOUR  # s
DURATION = Range(60.0, 48 * HOUR, "s")


def usual_protector(insulation_class, samples, seed=0) -> Protector:
    """Protectors of a class, as samples: where they trip and reset [degC] and what they feel.

    ``insulation_class`` A, B, F or H. Raises InputError for another one, or None.
    """
    limit = insulation.protector_limit(insulation_class)
    names = ("trip", "reset", "winding")
    z = normal_draws(np.random.default_rng([seed, 8]), names, samples)
    trip = limit - uniform(TRIP_BELOW_LIMIT, z["trip"])
    winding = uniform(SENSES_WINDING, z["winding"])
    senses = Nodes.all_at(0.0)._replace(
        winding_main=winding / 2, winding_aux=winding / 2, shell=1 - winding
    )
    return Protector(trip, trip - uniform(RESET_BELOW_TRIP, z["reset"]), senses)


@dataclass(frozen=True)
class TripCycle:
    """A protector's work over the ``history``: when it opened and closed, how hot it got.

    Bands are over the samples in which it opened (closed again, opened twice), and None where those
    are fewer than half. ``first_hour`` and ``later`` [degC] are the highest windings that
    the standard allows a locked rotor of the class.
    """

    history: HeatHistory
    first_hour: float
    later: float

    @property
    def share(self) -> float:
        """Share of the samples in which it opens at all."""
        return float(np.mean(self._openings(1) < np.inf))

    @property
    def time_to_trip(self) -> Band | None:
        """Seconds from the beginning to the first opening."""
        return _band(self._openings(1))

    @property
    def time_to_reset(self) -> Band | None:
        """Seconds from the first opening to the closing again."""
        return _band(_after(self._openings(1), self._switchings(1, 1)))

    @property
    def cycles_per_hour(self) -> Band | None:
        """Openings an hour, from the first two: later ones come a little slower."""
        period = _band(self.period)
        return None if period is None else Band(*(HOUR / end for end in reversed(period)))

    @property
    def period(self) -> np.ndarray:
        """Seconds from the first to the second opening, (samples,); inf where it never comes."""
        return _after(self._openings(1), self._openings(2))

    @property
    def peak(self) -> Band:
        """Hottest temperature [degC] that the hotter winding's average reaches."""
        return Band(*map(float, Band.of(self.history.hottest.max(axis=0))))

    def _openings(self, number):
        return self._switchings(number, -1)

    def _switchings(self, number, way):
        """Seconds of each sample's switching of this ``number`` and ``way``; inf where there is
        none. One that is open from the beginning opened at 0 s."""
        flips = np.diff(self.history.closed.astype(int), axis=0, prepend=1) == way
        reached = np.cumsum(flips, axis=0) >= number
        at = np.argmax(reached, axis=0)
        return np.where(reached.any(axis=0), self.history.time[at], np.inf)


def locked_rotor(
    motor: Motor,
    load: Load,
    voltage,
    cause="blade blocked",
    duration=1.5 * HOUR,
    samples=SAMPLES,
    seed=0,
) -> TripCycle:
    """A motor that is under ``voltage`` [V] and does not turn, guarded, for a ``duration`` [s].

    ``cause`` is "blade blocked", which finds it warm from its work on ``load``, or "capacitor
    open", with which a motor does not start, so that it begins as warm as the air. Its class has
    to be A, B, F or H. Raises InputError.
    """
    if cause not in CAUSES:
        raise InputError("cause", repr(cause), either(CAUSES))
    motor, load, warm = _thinned(motor, load, voltage, samples)
    start = warm
    if cause == CAUSES[1]:
        start = Nodes.all_at(load.air.temp_air)
        motor = motor.with_capacitor(OPEN_CAPACITOR * motor.rated.circuit.capacitance)
    held = standing(motor, load, voltage)
    return _guarded(motor, held, start, duration, LOCKED_STEP, seed)


def overload(motor: Motor, load: Load, voltage, duration=OVERLOAD, samples=SAMPLES, seed=0):
    """A running motor with its protector for a ``duration`` [s] after a start in air as warm as
    ``load`` has it, at ``voltage`` [V]: a TripCycle. Raises InputError as locked_rotor does."""
    motor, load, _ = _thinned(motor, load, voltage, samples)
    at_work = running(motor, load, voltage)
    return _guarded(
        motor, at_work, Nodes.all_at(load.air.temp_air), duration, 10 * LOCKED_STEP, seed
    )


def _thinned(motor, load, voltage, samples):
    motor, load = picked(motor, load, representative(motor, load, voltage, samples))
    return motor, load, motor.run(load, voltage).warm.nodes


def _guarded(motor: Motor, acting, start, duration, step, seed) -> TripCycle:
    letter = motor.insulation_class
    protector = usual_protector(letter, len(motor.rated.power), seed)
    stretch = Stretch(float(check("duration", duration, DURATION)), True, acting)
    limits = (float(row.by_class[letter]) for row in (insulation.FIRST_HOUR, insulation.LATER_PEAK))
    return TripCycle(followed(motor, [stretch], start, step, protector), *limits)


class NuisanceTrips(NamedTuple):
    """How often a protector opens in a year though nothing is broken.

    ``hours`` [h a year] in which a steady run would open it, ``trips`` a year, ``chance`` the
    share of the samples with any; ``room`` [K] between what it feels and where it opens in the
    warmest hour at the worst voltage."""

    hours: Band
    trips: Band
    chance: float
    room: Band


def nuisance_trips(motor: Motor, asked: Conditions, season: Season, seed=0) -> NuisanceTrips:
    """Trips a year of ``motor`` on the job, ``asked``, over a ``season``, nothing being broken.

    ``motor`` has as many samples as the job. The line's voltage is taken as a triangle over its
    range, its top at the usual one. Steady running in each hour, so short cycles make it a little
    too many. How fast it cycles is followed in time at the warmest hour. Raises InputError.
    """
    protector = usual_protector(motor.insulation_class, len(motor.rated.power), seed)
    grid = np.linspace(season.temp_outdoor[0], season.temp_outdoor[-1], TEMPS)
    over = [_over_trip(motor, asked, protector, grid, volts) for volts in asked.voltage]
    table = np.array([_at_hours(season, grid, one) for one in over])  # (3, temperatures, samples)
    volts = _triangle(*asked.voltage)
    between = np.array([_between(asked.voltage, table, v) for v in volts])
    hours = np.mean(season.hours @ (between >= 0), axis=0)
    warmest = table[:, -1].max(axis=0)
    chance = float(np.mean(hours > 0))
    if chance == 0:
        return NuisanceTrips(Band(0.0, 0.0, 0.0), Band(0.0, 0.0, 0.0), 0.0, _plain(-warmest))
    worst = asked.voltage[int(np.argmax(np.median(table[:, -1], axis=-1)))]
    load = moved(Load.of(asked), grid[-1] + Load.of(asked).air.temp_air - asked.temp_outdoor)
    acting = running(motor, load, worst)
    at = _guarded(motor, acting, Nodes.all_at(load.air.temp_air), OVERLOAD, 20.0, seed)
    trips = hours * HOUR / np.minimum(at.period, OVERLOAD)
    return NuisanceTrips(_plain(hours), _plain(trips), chance, _plain(-warmest))


def _over_trip(motor, asked, protector, grid, voltage):
    """Kelvin of what the protector feels over where it opens, (temperatures, samples)."""
    load = Load.of(asked)
    there = moved(load, grid[:, None] + load.air.temp_air - asked.temp_outdoor)
    nodes = motor.run(there, np.full(len(grid), voltage)).warm.nodes
    return protector.felt(nodes) - protector.trip


def _at_hours(season, grid, over):
    return np.stack([np.interp(season.temp_outdoor, grid, sample) for sample in over.T], axis=-1)


def _triangle(low, usual, high):
    """Voltages [V] that are evenly likely where a triangle says how likely each one is."""
    if low == high:
        return np.array([usual])
    u = (np.arange(VOLTAGES) + 0.5) / VOLTAGES
    rising = low + np.sqrt(u * (high - low) * (usual - low))
    falling = high - np.sqrt((1 - u) * (high - low) * (high - usual))
    return np.where(u < (usual - low) / (high - low), rising, falling)


def _between(voltages, table, voltage):
    """The table at a voltage, by straight lines between its three."""
    hats = [np.interp(voltage, voltages, hat) for hat in np.eye(len(voltages))]
    return np.tensordot(hats, table, axes=1)


def _after(earlier, later):
    """Seconds from one to the other, inf where there is no later one."""
    return np.subtract(later, earlier, out=np.full_like(later, np.inf), where=np.isfinite(later))


def _band(values) -> Band | None:
    found = values[np.isfinite(values)]
    return _plain(found) if len(found) >= len(values) / 2 else None


def _plain(values) -> Band:
    return Band(*map(float, Band.of(values)))
