"""Loads and temperatures of a motor's two bearings in its place: weight, air thrust, unbalance.

Ball and sleeve bearings are compared in the same place, so both start here. Engineering judgment:
where the fan sits on the shaft, how far apart the bearings are, the rotor's mass. Air leaves
upward, and the lower bearing locates a vertical shaft.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.intervals import normal_draws, uniform
from airover.model.simulation import USUAL, MotorOnFan
from airover.physics import bearing_loads, fan, unbalance
from airover.physics.bearing_loads import BearingLoad, Pair, PairLoads

# Common practice or engineering judgment, no source.
ROTOR_SHARE = 0.4  # of the motor's mass
MOTOR_MASS = 7.0  # kg, where a catalog does not say
BODY_LENGTH = (0.10, 0.14)  # m, where it is not known
SHAFT_LENGTH = (0.09, 0.16)  # m outside of the body, likewise
SHAFT_DIAMETER = 0.0127  # m, likewise: half an inch
SPAN = (0.6, 0.85)  # distance of the bearings over the body's length
BLADE_PLACE = (0.5, 0.9)  # of the fan's middle on the shaft outside of the body
UNBALANCE_GRADE = (6.3, 16.0)  # mm/s, a fan as it leaves the works and one after years
ROTOR_GRADE = 6.3  # mm/s, small armatures by ISO 21940-11
POSITION = "down"  # where a job does not say: the usual one
# Of the bearings over the air at the motor, and of the far bearing over that at the fan, for one
# that is not simulated. The thermal network gives 35 to 60 K for well-loaded motors.
RISE, FAR_RISE = (25.0, 50.0), 3.0  # K
BLADE_DIAMETER = 0.56  # m, 22 in: only a lost piece of the fan depends on it
TEMP_LOW, TEMP_HIGH = 40.0, 140.0  # degC, for which lives are calculated

# Deviates of each sample; those of the kinds of bearing are made here too, so that the same motor
# has the same samples in every comparison.
DEVIATES = (
    "span", "place", "body", "shaft", "grade", "grease", "length", "clearance", "roughness", "oil",
    "feed", "starts", "coasting", "wear", "bore", "washer", "washer size", "oil life", "halving",
    "housing", "seal", "kept",
)  # fmt: skip


class BearingDuty(NamedTuple):
    """Duty of two bearings: ``loads`` [N] and ``temp`` [degC] at each, ``speed_rpm``; and the
    turning ``force`` [N] of the fan that is behind the loads."""

    loads: PairLoads
    temp: Pair
    speed_rpm: np.ndarray
    shaft_position: str
    force: np.ndarray

    @property
    def each(self) -> tuple[tuple[BearingLoad, np.ndarray], ...]:
        """Load and temperature of the fan's bearing, then of the far one."""
        return tuple(zip(self.loads, self.temp, strict=True))

    @property
    def both(self) -> tuple[BearingLoad, np.ndarray]:
        """The same with the two bearings on a first axis."""
        (_, blade), (_, far) = self.each
        arrays = np.broadcast_arrays(*self.loads.blade, *self.loads.far, blade, far)
        pairs = [np.stack([arrays[at], arrays[at + 3]]) for at in range(3)]
        return BearingLoad(*pairs), np.stack(arrays[6:])

    @property
    def vertical(self) -> bool:
        return self.shaft_position != "horizontal"


@dataclass(frozen=True)
class Stand:
    """One motor at its place; arrays of shape (samples,).

    Masses [kg], ``blade_radius``, ``overhang``, ``span`` and ``shaft_diameter`` [m], the air's
    ``thrust`` [N], ``temp`` [degC] of both bearings, balance ``grade`` [mm/s] of the fan.
    ``deviates`` are deviates of each kind of bearing, by name in DEVIATES.
    """

    blade_mass: np.ndarray
    rotor_mass: float
    blade_radius: np.ndarray
    overhang: np.ndarray
    span: np.ndarray
    thrust: np.ndarray
    speed_rpm: np.ndarray
    temp: Pair
    grade: np.ndarray
    shaft_diameter: float
    shaft_position: str
    deviates: dict[str, np.ndarray]

    @classmethod
    def of(cls, simulation: MotorOnFan, number: int, seed: int = 0) -> "Stand":
        """Motor ``number`` of ``simulation`` at the job's usual voltage and design heat."""
        z = normal_draws(np.random.default_rng([seed, 3]), DEVIATES, simulation.samples)
        conditions, motor = simulation.conditions, simulation.motors[number]
        span, overhang = _geometry(simulation.job.nameplate, motor, z)
        speed_rpm = np.maximum(simulation.solution.speed_rpm[USUAL, number], 1.0)
        flow, pressure = (
            simulation.figures[name][USUAL, number] for name in ("flow_m3s", "pressure_pa")
        )
        return cls(
            blade_mass=conditions.blade_mass,
            rotor_mass=ROTOR_SHARE * (motor.mass or MOTOR_MASS),
            blade_radius=conditions.blade_diameter / 2,
            overhang=overhang,
            span=span,
            thrust=fan.thrust(flow, pressure, conditions.blade_diameter, conditions.density),
            speed_rpm=speed_rpm,
            temp=_temperatures(simulation, number),
            grade=uniform(UNBALANCE_GRADE, z["grade"]),
            shaft_diameter=motor.shaft_diameter or SHAFT_DIAMETER,
            shaft_position=simulation.job.nameplate.shaft_position or POSITION,
            deviates=z,
        )

    @classmethod
    def at(
        cls, shaft_position: str, temp_air, blade_mass: float, thrust: float, speed_rpm: float,
        motor_mass: float = MOTOR_MASS, samples: int = 100, seed: int = 0,
    ) -> "Stand":  # fmt: skip
        """A usual motor in a place that is described in plain facts, without a job.

        ``shaft_position`` "up", "down" or "horizontal"; ``temp_air`` low and high [degC] at the
        motor; ``blade_mass`` of the fan and ``motor_mass`` [kg]; ``thrust`` of the air [N];
        ``speed_rpm`` [rpm].
        """
        z = normal_draws(np.random.default_rng([seed, 3]), (*DEVIATES, "air", "rise"), samples)
        span = uniform(BODY_LENGTH, z["body"]) * uniform(SPAN, z["span"])
        outside = uniform(SHAFT_LENGTH, z["shaft"]) * uniform(BLADE_PLACE, z["place"])
        temp = uniform(temp_air, z["air"]) + uniform(RISE, z["rise"])
        return cls(
            blade_mass=np.full(samples, blade_mass),
            rotor_mass=ROTOR_SHARE * motor_mass,
            blade_radius=np.full(samples, BLADE_DIAMETER / 2),
            overhang=outside + (uniform(BODY_LENGTH, z["body"]) - span) / 2,
            span=span,
            thrust=np.full(samples, thrust),
            speed_rpm=np.full(samples, speed_rpm),
            temp=Pair(temp, temp + FAR_RISE),
            grade=uniform(UNBALANCE_GRADE, z["grade"]),
            shaft_diameter=SHAFT_DIAMETER,
            shaft_position=shaft_position,
            deviates=z,
        )

    def met(
        self, shaft_position=None, grade=None, mass_lost=0.0, warmer=0.0, discharge="up"
    ) -> BearingDuty:
        """Duty of the bearings, as the job has it or with something changed.

        ``shaft_position`` and the air's ``discharge`` as in bearing_loads, balance ``grade`` [mm/s]
        of the fan, ``mass_lost`` [kg] at its tip, ``warmer`` [K] than the job. Raises InputError
        out of range.
        """
        position = shaft_position or self.shaft_position
        grade = self.grade if grade is None else grade
        turning = unbalance.force(self.blade_mass, grade, self.speed_rpm)
        turning = turning + unbalance.force_of_loss(mass_lost, self.blade_radius, self.speed_rpm)
        of_rotor = unbalance.force(self.rotor_mass, ROTOR_GRADE, self.speed_rpm)
        loads = bearing_loads.loads(
            self.blade_mass, self.rotor_mass, turning, of_rotor, self.thrust,
            self.overhang, self.span, position, discharge,
        )  # fmt: skip
        temp = Pair(*(np.clip(one + warmer, TEMP_LOW, TEMP_HIGH) for one in self.temp))
        return BearingDuty(loads, temp, self.speed_rpm, position, turning)


def _geometry(nameplate, motor, z):
    """Distance of the bearings, and of the fan from its bearing [m]; samples.

    The fan keeps its height, so its place follows from the failed motor's shaft first, then from
    the new one's.
    """
    body = motor.body_length or uniform(BODY_LENGTH, z["body"])
    if nameplate.shaft_length is None:
        outside = motor.shaft_length or uniform(SHAFT_LENGTH, z["shaft"])
    else:
        outside = uniform((nameplate.shaft_length.low, nameplate.shaft_length.high), z["shaft"])
    span = body * uniform(SPAN, z["span"])
    return span, outside * uniform(BLADE_PLACE, z["place"]) + (body - span) / 2


def _temperatures(simulation: MotorOnFan, number: int) -> Pair:
    """Of the fan's bearing and of the far one [degC]."""
    nodes = simulation.nodes.bearing_blade, simulation.nodes.bearing_far
    return Pair(*(node[USUAL, number] for node in nodes))
