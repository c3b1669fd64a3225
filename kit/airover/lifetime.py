"""How long winding and bearings last at the temperatures and loads of this job.

Fatigue alone says nothing about a small motor's bearing: what ages is its grease. Both are given
and the shorter governs. A sleeve bearing's life has no standard; none is computed for it here.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.physics import ball_bearing, fan, insulation, unbalance
from airover.work import USUAL, Worked

# Common practice, no source.
HOT_SPOT_OVER_AVERAGE = (5.0, 10.0)  # K
HALVING_INTERVAL = (8.0, 10.0)  # K, IEC 60216 names the range
BEARING_OVER_SHELL = (-10.0, 5.0)  # K, the end shields stand in the air stream
ROTOR_SHARE = 0.4  # of the motor's mass
MOTOR_MASS = 7.0  # kg, where a catalogue does not say
OVERHANG = (1.0, 1.6)  # the blade's bearing carries more than the blade
UNBALANCE_GRADE = (6.3, 16.0)  # mm/s, a blade as it leaves the works and one after years
HALF_LIFE_SUBTRACTION = (0.0, 1.0)  # sealed bearing at light load; a vertical shaft costs most
F0 = 13.0  # ISO 281 geometry factor of small deep groove bearings, 12 to 13.5 in makers' tables
OIL_40, OIL_100 = 100e-6, 11e-6  # m2/s, base oil of a usual polyurea motor grease
GRAVITY = 9.80665  # m/s2
LONGEST = 1e6  # h: beyond a century of running an estimate says nothing


class Life(NamedTuple):
    """Hours as a band; ``kind`` of bearing and what ``governs`` are empty for the winding."""

    hours: Band | None
    kind: str = ""
    governed_by: str = ""


def winding_life(worked: Worked, number: int, seed: int = 0) -> Life:
    """Hours of insulation life of motor ``number`` at the job's usual voltage and design heat."""
    motor = worked.motors[number]
    if motor.insulation_class is None:
        return Life(None, governed_by="insulation class unknown")
    z = normal_draws(np.random.default_rng([seed, 2]), ("spot", "interval"), worked.draws)
    average = worked.temp_winding[USUAL, number]
    hot_spot = np.minimum(average + uniform(HOT_SPOT_OVER_AVERAGE, z["spot"]), 300.0)
    interval = uniform(HALVING_INTERVAL, z["interval"])
    hours = insulation.life(hot_spot, motor.insulation_class, interval)
    return Life(Band.of(np.minimum(hours, LONGEST)))


def bearing_life(worked: Worked, number: int, seed: int = 0) -> Life:
    """Hours that nine of ten bearings of motor ``number`` reach, at the blade's end."""
    motor = worked.motors[number]
    if motor.bearings == "sleeve":
        return Life(None, "sleeve", "wear and oil: no standard gives hours for a sleeve bearing")
    size = ball_bearing.DEEP_GROOVE_02.get(round((motor.bearing_bore or 0) * 1000))
    if motor.bearings != "ball" or size is None:
        return Life(None, motor.bearings or "unknown", "bearing size unknown")
    names = ("bearing", "overhang", "grade", "grease")
    z = normal_draws(np.random.default_rng([seed, 3]), names, worked.draws)
    temp = worked.temp_shell[USUAL, number] + uniform(BEARING_OVER_SHELL, z["bearing"])
    temp = np.clip(temp, 40.0, 150.0)
    fatigue = _fatigue_life(worked, number, size, temp, z)
    grease = ball_bearing.grease_life_l10(temp, uniform(HALF_LIFE_SUBTRACTION, z["grease"]))
    hours = Band.of(np.minimum(np.minimum(fatigue, grease), LONGEST))
    governs = "grease" if np.median(grease) <= np.median(fatigue) else "fatigue"
    return Life(hours, "ball", governs)


def _fatigue_life(worked: Worked, number, size, temp, z):
    """Modified rating life [h] of ISO 281 at 90 % reliability."""
    speed_rpm = np.maximum(worked.solution.speed_rpm[USUAL, number], 1.0)
    radial, axial = _loads(worked, number, speed_rpm, z)
    load = ball_bearing.equivalent_load(radial, axial, size.load_rating_static, F0)
    load = np.maximum(load, ball_bearing.minimum_load(size.load_rating))
    kappa = ball_bearing.oil_viscosity(temp, OIL_40, OIL_100) / ball_bearing.reference_viscosity(
        speed_rpm, size.diameter_pitch
    )
    kappa = np.maximum(kappa, 0.1)
    clean = ball_bearing.contamination_factor(kappa, size.diameter_pitch, "normal cleanliness")
    limit = ball_bearing.fatigue_load_limit(size.load_rating_static)
    a_iso = ball_bearing.a_iso(kappa, clean * limit / load)
    return ball_bearing.rating_life(size.load_rating, load, speed_rpm, a_iso=a_iso)


def _loads(worked: Worked, number, speed_rpm, z):
    """Radial and axial load [N] of the bearing at the blade's end."""
    asked = worked.conditions
    rotor = ROTOR_SHARE * (worked.motors[number].mass or MOTOR_MASS)
    blade_weight, rotor_weight = asked.blade_mass * GRAVITY, rotor * GRAVITY
    turning = unbalance.force(asked.blade_mass, uniform(UNBALANCE_GRADE, z["grade"]), speed_rpm)
    flow, pressure = (
        worked.figures[name][USUAL, number] for name in ("flow_m3s", "pressure_pa")
    )
    thrust = fan.thrust(flow, pressure, asked.blade_diameter, asked.density)
    overhang = uniform(OVERHANG, z["overhang"])
    if worked.job.nameplate.shaft_position == "horizontal":
        return overhang * (blade_weight + turning) + rotor_weight / 2, thrust
    # Vertical: one bearing carries all that hangs or stands, and the air's reaction with it.
    return overhang * turning, blade_weight + rotor_weight + thrust
