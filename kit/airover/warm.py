"""Motors at work and warm: speed, amps and winding temperature that agree with each other.

Warmer windings have more resistance, so losses, speed and temperature are found together. Where
the heat goes is uncertain: every draw has a shell, a film and a way from winding to shell of its
own, held to what the motor's rating promises.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.bands import normal_draws, uniform
from airover.identify import Ensemble
from airover.limits import AIR_SPEED
from airover.physics import heat, insulation
from airover.physics.circuit import CapacitorRun, Solution
from airover.physics.operating_point import resettle, settle

# Common practice, no source.
SHELL_DIAMETER = 0.14  # m, where it is not known
SHELL_LENGTH = 0.14  # m, likewise
WINDING_OVER_SHELL = (10.0, 20.0)  # K at rated losses
FILM_SPREAD = (0.75, 1.25)  # axial or blocked flow against clean cross-flow
ROTOR_OVER_WINDING = 10.0  # K
RATED_AIR_SPEED = 5.0  # m/s (about 1000 ft/min) over a motor on the fan it is rated for
PROMISE_USED = (0.7, 0.95)  # share of the standard's rise that a motor takes at its rating
STILL_AIR = 0.3  # m/s, the draught that a hot shell makes for itself
TEMP_NO_WORK = 250.0  # degC: hotter than any protector allows, so nothing runs there


class Body(NamedTuple):
    """What is known of motors' bodies: arrays of shape (motors, 1), NaN where it is not known.

    ``diameter`` and ``length`` [m]; the rating's ``ambient`` [degC] and the average ``rise`` [K]
    that its insulation class allows there.
    """

    diameter: np.ndarray
    length: np.ndarray
    ambient: np.ndarray
    rise: np.ndarray

    @classmethod
    def of(cls, facts) -> "Body":
        """From (diameter, length, ambient rating, insulation class) per motor, None if unknown."""
        diameter, length, ambient, insulating = zip(*facts, strict=True)
        rise = [
            None if None in pair else insulation.rise_limit(pair[1], temp_ambient=pair[0])
            for pair in zip(ambient, insulating, strict=True)
        ]
        columns = (np.array(x, dtype=float)[:, None] for x in (diameter, length, ambient, rise))
        return cls(*columns)


class Stream(NamedTuple):
    """The air at the motor: ``temp_air`` [degC], and its ``speed`` [m/s] while the blade turns at
    ``speed_rpm``; draws on the last axis."""

    temp_air: np.ndarray
    speed: np.ndarray
    speed_rpm: np.ndarray


class Warm(NamedTuple):
    """Motors warmed up: slip and solution, whether they started, temperatures [degC]."""

    slip: np.ndarray
    starts: np.ndarray
    solution: Solution
    temp_shell: np.ndarray
    temp_winding: np.ndarray


@dataclass(frozen=True)
class Shell:
    """The way of the heat, (motors, draws): shell, film factors, winding to shell, and how much
    better than those figures the motor must be cooled if its rating is true."""

    diameter: np.ndarray
    area: np.ndarray
    film_place: np.ndarray
    film_factor: np.ndarray
    winding_to_shell: np.ndarray
    rise_factor: np.ndarray

    @classmethod
    def of(cls, body: Body, rated: Ensemble, seed: int) -> "Shell":
        """Shells for ``rated``, whose last axis is the draws.

        A rating is evidence: the maker holds that the motor, fully loaded in its own fan's air,
        keeps within the standard's rise. Where no class or ambient is known nothing is promised.
        """
        rng = np.random.default_rng([seed, 1])
        names = ("place", "factor", "winding", "promise")
        z = normal_draws(rng, names, rated.power.shape[-1])
        diameter = np.where(np.isnan(body.diameter), SHELL_DIAMETER, body.diameter)
        length = np.where(np.isnan(body.length), SHELL_LENGTH, body.length)
        loss = rated.at_rating().loss
        bare = cls(
            diameter=diameter,
            area=heat.shell_area(diameter, length),
            film_place=uniform((0.0, 1.0), z["place"]),
            film_factor=uniform(FILM_SPREAD, z["factor"]),
            winding_to_shell=uniform(WINDING_OVER_SHELL, z["winding"]) / loss,
            rise_factor=1.0,
        )
        ambient = np.nan_to_num(body.ambient, nan=insulation.RISE_AMBIENT)
        _, temp_winding = bare.temperatures(loss, RATED_AIR_SPEED, ambient)
        promised = np.nan_to_num(body.rise, nan=np.inf) * uniform(PROMISE_USED, z["promise"])
        return replace(bare, rise_factor=np.minimum(promised / (temp_winding - ambient), 1.0))

    def temperatures(self, loss, air_speed, temp_air):
        """Shell and average winding temperature [degC] for ``loss`` [W] in this air."""
        air_speed = np.clip(air_speed, STILL_AIR, AIR_SPEED.high)
        film = heat.film_coefficient(self.diameter, air_speed, temp_air)
        film = (film.low + self.film_place * (film.high - film.low)) * self.film_factor
        shell = heat.shell_rise(loss, self.area, film, temp_air)
        winding = shell + self.winding_to_shell * loss
        return temp_air + self.rise_factor * shell, temp_air + self.rise_factor * winding


def warmed(
    rated: Ensemble, shell: Shell, air: Stream, voltage, frequency, coefficient, settle=settle
) -> Warm:
    """Motors settled and warmed up; all arrays broadcast, draws on the last axis.

    ``voltage`` [V], ``frequency`` [Hz], fan ``coefficient`` [N m s^2]. After settling as the plate
    states the resistances, one Newton step of the slip and one of the temperature take turns. A
    motor that does not start stays at slip 1; one that the heat pulls out of its working range is
    left where it crawls, and one that hunts between the two, running cool and pulled out hot, is
    shown as no longer working: at TEMP_NO_WORK. ``settle`` may be `compiled.settle`, which gives
    the same sooner. Raises InputError out of range.
    """
    first = settle(rated.circuit, voltage, frequency, coefficient)
    slip, temp = first.slip, rated.temp_reference + np.zeros(first.slip.shape)
    circuit, at = rated.circuit, first.solution
    for step in range(1, 40):
        if step % 12 == 0:  # something was pulled out: look for its crawling speed from standstill
            slip = settle(circuit, voltage, frequency, coefficient).slip
        air_speed = air.speed * at.speed_rpm / air.speed_rpm
        temp_shell, following = shell.temperatures(at.loss, air_speed, air.temp_air)
        warming = np.abs(_workable(following) - _workable(temp))
        temp = following
        circuit = at_temperature(rated, temp)
        stepped = resettle(circuit, voltage, frequency, coefficient, slip, at.emf)
        stepped = np.where(first.starts, stepped, 1.0)
        moved = np.abs(stepped - slip)
        slip = stepped
        at = circuit.balance(voltage, frequency, slip, at.emf)
        hunting = (moved >= 1e-6) | (warming >= 0.02)
        if not hunting.any():
            return Warm(slip, first.starts, at, temp_shell, temp)
    temp = np.where(hunting, TEMP_NO_WORK, temp)
    temp_shell = np.where(hunting, TEMP_NO_WORK, temp_shell)
    circuit = at_temperature(rated, temp)
    slip = np.where(hunting, settle(circuit, voltage, frequency, coefficient).slip, slip)
    at = circuit.balance(voltage, frequency, slip, at.emf)
    return Warm(slip, first.starts, at, temp_shell, temp)


def at_temperature(rated: Ensemble, temp_winding) -> CapacitorRun:
    """The circuits at a winding temperature [degC]: copper and the cage's aluminium change."""
    temp, reference = _workable(temp_winding), rated.temp_reference
    return rated.circuit.at_temperature(
        heat.resistance_factor(temp, reference),
        heat.resistance_factor(
            temp + ROTOR_OVER_WINDING, reference + ROTOR_OVER_WINDING, "aluminium"
        ),
    )


def _workable(temp):
    return np.minimum(temp, TEMP_NO_WORK)
