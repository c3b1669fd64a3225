"""How long a motor's bearings last where it stands: loads, heat, and what governs.

Fatigue alone says nothing about a small ball bearing: what ages is its grease. Both are given, for
the two bearings together, and the shorter governs.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.lifetime import LONGEST, Life
from airover.physics import ball_bearing, bearing_loads, fan, unbalance
from airover.physics.bearing_loads import BearingLoad, Loads, Pair
from airover.work import USUAL, Worked

# Common practice or own judgement, no source.
BEARING_OVER_SHELL = (-10.0, 5.0)  # K, the end shields stand in the air stream
ROTOR_SHARE = 0.4  # of the motor's mass
MOTOR_MASS = 7.0  # kg, where a catalogue does not say
BODY_LENGTH = (0.10, 0.14)  # m, where it is not known
SHAFT_LENGTH = (0.09, 0.16)  # m outside of the body, likewise
SPAN = (0.6, 0.85)  # distance of the bearings over the body's length
BLADE_PLACE = (0.5, 0.9)  # of the blade's middle on the shaft outside of the body
UNBALANCE_GRADE = (6.3, 16.0)  # mm/s, a blade as it leaves the works and one after years
ROTOR_GRADE = 6.3  # mm/s, small armatures by ISO 21940-11
TRANSPORT_SHOCK = 20.0  # times gravity: a box that falls from a hand's height
POSITION = "down"  # where a job does not say: the usual one
HALF_LIFE_SUBTRACTION = {"horizontal": (0.0, 0.5), "vertical": (0.5, 1.0)}  # light load, sealed
F0 = 13.0  # ISO 281 geometry factor of small deep groove bearings, 12 to 13.5 in makers' tables
OIL_40, OIL_100 = 100e-6, 11e-6  # m2/s, base oil of a usual polyurea motor grease
CLEANLINESS = "normal cleanliness"  # sealed and greased for life
TEMP_LOW, TEMP_HIGH = 40.0, 150.0  # degC, for which the lives are worked


class Met(NamedTuple):
    """What two bearings meet: ``loads`` [N] and ``temp`` [degC] at each, ``speed_rpm``."""

    loads: Loads
    temp: Pair
    speed_rpm: np.ndarray
    shaft_position: str

    @property
    def each(self) -> tuple[tuple[BearingLoad, np.ndarray], ...]:
        """Load and temperature of the blade's bearing, then of the far one."""
        return tuple(zip(self.loads, self.temp, strict=True))

    @property
    def vertical(self) -> bool:
        return self.shaft_position != "horizontal"


@dataclass(frozen=True)
class Stand:
    """One motor at its place; arrays of shape (draws,).

    Masses [kg], ``blade_radius``, ``overhang`` and ``span`` [m], the air's ``thrust`` [N], ``temp``
    [degC] of both bearings, balance ``grade`` [mm/s] of the blade. ``deviates`` are those of what
    each kind of bearing draws for itself.
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
    shaft_position: str
    deviates: dict[str, np.ndarray]

    @classmethod
    def of(cls, worked: Worked, number: int, seed: int = 0) -> "Stand":
        """Motor ``number`` of ``worked`` at the job's usual voltage and design heat."""
        names = ("bearing", "far", "span", "place", "body", "shaft", "grade", "grease")
        z = normal_draws(np.random.default_rng([seed, 3]), names, worked.draws)
        asked, motor = worked.conditions, worked.motors[number]
        span, overhang = _geometry(worked.job.nameplate, motor, z)
        speed_rpm = np.maximum(worked.solution.speed_rpm[USUAL, number], 1.0)
        flow, pressure = (
            worked.figures[name][USUAL, number] for name in ("flow_m3s", "pressure_pa")
        )
        return cls(
            blade_mass=asked.blade_mass,
            rotor_mass=ROTOR_SHARE * (motor.mass or MOTOR_MASS),
            blade_radius=asked.blade_diameter / 2,
            overhang=overhang,
            span=span,
            thrust=fan.thrust(flow, pressure, asked.blade_diameter, asked.density),
            speed_rpm=speed_rpm,
            temp=_temperatures(worked, number, z),
            grade=uniform(UNBALANCE_GRADE, z["grade"]),
            shaft_position=worked.job.nameplate.shaft_position or POSITION,
            deviates=z,
        )

    def met(
        self, shaft_position=None, grade=None, mass_lost=0.0, warmer=0.0, discharge="up"
    ) -> Met:
        """What the bearings meet, as the job has it or with something changed.

        ``shaft_position`` and the air's ``discharge`` as in bearing_loads, balance ``grade`` [mm/s]
        of the blade, ``mass_lost`` [kg] at its tip, ``warmer`` [K] than the job. Raises InputError
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
        return Met(loads, temp, self.speed_rpm, position)


def _geometry(plate, motor, z):
    """Distance of the bearings, and of the blade from its bearing [m]; draws.

    The blade keeps its height, so the failed motor's shaft tells its place before the new one's.
    """
    body = motor.body_length or uniform(BODY_LENGTH, z["body"])
    if plate.shaft_length is None:
        outside = motor.shaft_length or uniform(SHAFT_LENGTH, z["shaft"])
    else:
        outside = uniform((plate.shaft_length.low, plate.shaft_length.high), z["shaft"])
    span = body * uniform(SPAN, z["span"])
    return span, outside * uniform(BLADE_PLACE, z["place"]) + (body - span) / 2


def _temperatures(worked: Worked, number: int, z) -> Pair:
    """Of the blade's bearing and of the far one [degC]."""
    shell = worked.temp_shell[USUAL, number]
    return Pair(*(shell + uniform(BEARING_OVER_SHELL, z[name]) for name in ("bearing", "far")))


class Ball(NamedTuple):
    """Two ball bearings, draws. Hours [h] that a share of them, the reliability, reaches together:
    ``basic`` (load alone), ``fatigue`` (with lubrication and dirt), ``grease``.

    Of the blade's bearing: ``load`` P [N], ``load_least`` [N] below which its balls skid, viscosity
    ratio ``kappa``; ``safety`` S0 of one bearing in a transport shock.
    """

    basic: np.ndarray
    fatigue: np.ndarray
    grease: np.ndarray
    load: np.ndarray
    load_least: float
    kappa: np.ndarray
    safety: float

    @property
    def hours(self):
        """The shorter of fatigue and grease [h], at most LONGEST."""
        return np.minimum(np.minimum(self.fatigue, self.grease), LONGEST)

    @property
    def governed_by(self) -> str:
        return "grease" if np.median(self.grease) <= np.median(self.fatigue) else "fatigue"

    @property
    def skids(self) -> bool:
        """Whether the usual load is below the least one."""
        return bool(np.median(self.load) < self.load_least)


def ball(stand: Stand, met: Met, size, reliability=0.9, cleanliness=CLEANLINESS) -> Ball:
    """Both ball bearings of ``size`` (a ball_bearing.BearingSize) in what they have ``met``.

    ``stand`` tells the motor; ``reliability`` 0.9 to 0.9995; ``cleanliness`` a key of
    ball_bearing.CLEANLINESS. The two bearings fail apart from each other, by Weibull's law of slope
    1.5 for fatigue and 2.29 for grease. Raises InputError out of range.
    """
    both = [_fatigue(load, temp, met.speed_rpm, size, cleanliness) for load, temp in met.each]
    a1 = ball_bearing.reliability_factor(reliability)
    basic, modified = (
        a1 * ball_bearing.system_life(np.stack(lives, axis=-1), ball_bearing.FATIGUE_SLOPE)
        for lives in zip(*((one.basic, one.modified) for one in both), strict=True)
    )
    worst = bearing_loads.shock_force(stand.blade_mass + stand.rotor_mass, TRANSPORT_SHOCK)
    at_rest = ball_bearing.static_load(np.median(worst), 0.0)
    return Ball(
        basic=basic,
        fatigue=modified,
        grease=_grease(stand, met, reliability),
        load=both[0].load,
        load_least=float(ball_bearing.minimum_load(size.load_rating)),
        kappa=both[0].kappa,
        safety=float(ball_bearing.static_safety(size.load_rating_static, at_rest)),
    )


class _Fatigue(NamedTuple):
    load: np.ndarray
    kappa: np.ndarray
    basic: np.ndarray
    modified: np.ndarray


def _fatigue(meets: BearingLoad, temp, speed_rpm, size, cleanliness) -> _Fatigue:
    """Lives [h] of one bearing that nine of ten reach, ISO 281."""
    static = size.load_rating_static
    alone = ball_bearing.equivalent_load(meets.radial, meets.axial, static, F0)
    load = np.maximum(alone, ball_bearing.minimum_load(size.load_rating))
    pitch = size.diameter_pitch
    kappa = ball_bearing.viscosity_ratio(temp, OIL_40, OIL_100, speed_rpm, pitch)
    kappa = np.maximum(kappa, ball_bearing.KAPPA.low)
    clean = ball_bearing.contamination_factor(kappa, pitch, cleanliness)
    a_iso = ball_bearing.a_iso(kappa, clean * ball_bearing.fatigue_load_limit(static) / load)
    basic = ball_bearing.rating_life(size.load_rating, load, speed_rpm)
    basic, modified = np.broadcast_arrays(basic, basic * a_iso)
    return _Fatigue(alone, kappa, basic, modified)


def _grease(stand: Stand, met: Met, reliability):
    """Life [h] of the grease in both bearings."""
    key = "vertical" if met.vertical else "horizontal"
    halvings = uniform(HALF_LIFE_SUBTRACTION[key], stand.deviates["grease"])
    lives = [ball_bearing.grease_life_l10(temp, halvings) for temp in met.temp]
    together = ball_bearing.system_life(np.stack(lives, axis=-1), ball_bearing.GREASE_SLOPE)
    return ball_bearing.grease_reliability_factor(reliability) * together


def bearing_life(worked: Worked, number: int, seed: int = 0) -> Life:
    """Hours that nine of ten pairs of bearings of motor ``number`` reach."""
    motor = worked.motors[number]
    if motor.bearings == "sleeve":
        return Life(None, "sleeve", "wear and oil: no standard gives hours for a sleeve bearing")
    size = ball_bearing.DEEP_GROOVE_02.get(round((motor.bearing_bore or 0) * 1000))
    if motor.bearings != "ball" or size is None:
        return Life(None, motor.bearings or "unknown", "bearing size unknown")
    stand = Stand.of(worked, number, seed)
    found = ball(stand, stand.met(), size)
    return Life(Band.of(found.hours), "ball", found.governed_by)
