"""Loads and temperatures of the two bearings in an installed motor.

The loads result from weight, air thrust and unbalance, and they are calculated once, so that ball
and sleeve bearings are compared under the same conditions. The fan position on the shaft, the
bearing span and the rotor mass are based on engineering judgment. The model assumes that air is
discharged upward and that the lower bearing locates a vertical shaft axially.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.intervals import normal_draws, uniform
from airover.model.simulation import USUAL, MotorOnFan
from airover.physics import bearing_loads, fan, unbalance
from airover.physics.bearing_loads import BearingLoad, Pair, PairLoads

# Common practice or engineering judgment; no published source.
ROTOR_SHARE = 0.4  # fraction of the motor's mass
MOTOR_MASS = 7.0  # kg, if not in the catalog
BODY_LENGTH = (0.10, 0.14)  # m, if not known
SHAFT_LENGTH = (0.09, 0.16)  # m, shaft extension outside the body, if not known
SHAFT_DIAMETER = 0.0127  # m (half an inch), if not known
SPAN = (0.6, 0.85)  # bearing span divided by body length
BLADE_PLACE = (0.5, 0.9)  # fan center position as a fraction of the shaft extension
UNBALANCE_GRADE = (6.3, 16.0)  # mm/s: a new fan, and a fan after years of service
ROTOR_GRADE = 6.3  # mm/s, small armatures per ISO 21940-11
POSITION = "down"  # default shaft position, if not given in the job
# Temperature rise of the bearings above the air at the motor, and of the opposite-end bearing above
# the fan-end bearing, for a motor that is not simulated. The thermal network gives 35 to 60 K for
# heavily loaded motors.
RISE, FAR_RISE = (25.0, 50.0), 3.0  # K
BLADE_DIAMETER = 0.56  # m (22 in.); affects only the unbalance from lost mass
TEMP_LOW, TEMP_HIGH = 40.0, 140.0  # degC, range for which life is calculated

# Random deviates of each sample. Deviates for each bearing type are also generated here, so that a
# motor has the same samples in every comparison.
DEVIATES = (
    "span", "place", "body", "shaft", "grade", "grease", "length", "clearance", "roughness", "oil",
    "feed", "starts", "coasting", "wear", "bore", "washer", "washer size", "oil life", "halving",
    "housing", "seal", "kept",
)  # fmt: skip


class BearingDuty(NamedTuple):
    """Loads, temperatures and speed of two bearings.

    Attributes
    ----------
    loads : PairLoads
        Loads [N] on each bearing.
    temp : Pair
        Temperature [degC] of each bearing.
    speed_rpm : ndarray
        Speed [rpm].
    shaft_position : str
        Shaft position: "up", "down" or "horizontal".
    force : ndarray
        Rotating unbalance force [N] of the fan, which is included in the loads.
    """

    loads: PairLoads
    temp: Pair
    speed_rpm: np.ndarray
    shaft_position: str
    force: np.ndarray

    @property
    def each(self) -> tuple[tuple[BearingLoad, np.ndarray], ...]:
        """Load and temperature of the fan-end bearing and of the opposite-end bearing."""
        return tuple(zip(self.loads, self.temp, strict=True))

    @property
    def both(self) -> tuple[BearingLoad, np.ndarray]:
        """Loads and temperatures, with the two bearings on the first axis."""
        (_, blade), (_, far) = self.each
        arrays = np.broadcast_arrays(*self.loads.blade, *self.loads.far, blade, far)
        pairs = [np.stack([arrays[at], arrays[at + 3]]) for at in range(3)]
        return BearingLoad(*pairs), np.stack(arrays[6:])

    @property
    def vertical(self) -> bool:
        return self.shaft_position != "horizontal"


@dataclass(frozen=True)
class Stand:
    """Installed motor, with arrays of shape (samples,).

    Attributes
    ----------
    blade_mass, rotor_mass
        Masses [kg] of the fan and the rotor.
    blade_radius : ndarray
        Fan radius [m].
    overhang : ndarray
        Distance [m] from the fan to the fan-end bearing.
    span : ndarray
        Distance [m] between the bearings.
    thrust : ndarray
        Axial thrust [N] of the air.
    speed_rpm : ndarray
        Speed [rpm].
    temp : Pair
        Temperatures [degC] of both bearings.
    grade : ndarray
        Balance grade [mm/s] of the fan.
    shaft_diameter : float
        Shaft diameter [m].
    shaft_position : str
        Shaft position: "up", "down" or "horizontal".
    deviates : dict[str, ndarray]
        Random deviates for each bearing type, by name (see DEVIATES).
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
    def of(cls, simulation: MotorOnFan, number: int | list[int], seed: int = 0) -> "Stand":
        """Create a Stand from motor ``number`` in a simulation.

        The motor runs at the usual voltage and the design temperature. For a list of numbers, the
        motors are the first axis of the arrays.
        """
        z, conditions = _deviates(seed, simulation.samples), simulation.conditions
        motors = [simulation.motors[one] for one in np.ravel(number).tolist()]
        places = [_geometry(simulation.job.nameplate, motor, z) for motor in motors]
        mass = [motor.mass or MOTOR_MASS for motor in motors]
        shaft_diameter = [motor.shaft_diameter or SHAFT_DIAMETER for motor in motors]
        if isinstance(number, list):
            span, overhang = map(np.stack, zip(*places, strict=True))
            mass, shaft_diameter = np.array([mass, shaft_diameter])[..., np.newaxis]
        else:
            [(span, overhang)], [mass], [shaft_diameter] = places, mass, shaft_diameter
        speed_rpm = np.maximum(simulation.solution.speed_rpm[USUAL, number], 1.0)
        flow, pressure = (
            simulation.figures[name][USUAL, number] for name in ("flow_m3s", "pressure_pa")
        )
        return cls(
            blade_mass=conditions.blade_mass,
            rotor_mass=ROTOR_SHARE * mass,
            blade_radius=conditions.blade_diameter / 2,
            overhang=overhang,
            span=span,
            thrust=fan.thrust(flow, pressure, conditions.blade_diameter, conditions.density),
            speed_rpm=speed_rpm,
            temp=_temperatures(simulation, number),
            grade=uniform(UNBALANCE_GRADE, z["grade"]),
            shaft_diameter=shaft_diameter,
            shaft_position=simulation.job.nameplate.shaft_position or POSITION,
            deviates=z,
        )

    @classmethod
    def at(
        cls, shaft_position: str, temp_air, blade_mass: float, thrust: float, speed_rpm: float,
        motor_mass: float = MOTOR_MASS, samples: int = 100, seed: int = 0,
    ) -> "Stand":  # fmt: skip
        """Create a Stand for a typical motor, without a job.

        Parameters
        ----------
        shaft_position : str
            Shaft position: "up", "down" or "horizontal".
        temp_air
            Lower and upper air temperature [degC] at the motor.
        blade_mass, motor_mass : float
            Masses [kg] of the fan and the motor.
        thrust : float
            Axial thrust [N] of the air.
        speed_rpm : float
            Speed [rpm].
        samples : int, optional
            Number of samples.
        seed : int, optional
            Random seed.
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
        """Return the bearing duty under the job conditions, with optional changes.

        Parameters
        ----------
        shaft_position, discharge : str, optional
            Shaft position and discharge direction, as in `bearing_loads`.
        grade : optional
            Balance grade [mm/s] of the fan.
        mass_lost : optional
            Mass [kg] missing from the blade tip.
        warmer : optional
            Temperature increase [K] above the job conditions.

        Raises
        ------
        InputError
            If a value is out of range.
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


@lru_cache(maxsize=8)
def _deviates(seed: int, samples: int) -> dict[str, np.ndarray]:
    """Return the deviates of an installed motor, which are the same for all motors."""
    return normal_draws(np.random.default_rng([seed, 3]), DEVIATES, samples)


def _geometry(nameplate, motor, z):
    """Return samples of the bearing span [m] and the fan overhang [m].

    The fan stays at the same height in the unit, so its position depends on the shaft length of the
    failed motor, if known, and otherwise on the shaft length of the new motor.
    """
    body = motor.body_length or uniform(BODY_LENGTH, z["body"])
    if nameplate.shaft_length is None:
        outside = motor.shaft_length or uniform(SHAFT_LENGTH, z["shaft"])
    else:
        outside = uniform((nameplate.shaft_length.low, nameplate.shaft_length.high), z["shaft"])
    span = body * uniform(SPAN, z["span"])
    return span, outside * uniform(BLADE_PLACE, z["place"]) + (body - span) / 2


def _temperatures(simulation: MotorOnFan, number: int) -> Pair:
    """Temperatures [degC] of the fan-end and opposite-end bearings."""
    nodes = simulation.nodes.bearing_blade, simulation.nodes.bearing_far
    return Pair(*(node[USUAL, number] for node in nodes))
