"""Life of a motor's two bearings in its place, and what ends it.

Fatigue alone says nothing about a small ball bearing: what ages is its grease. Both are given, for
the two bearings together, and the shorter governs. A sleeve bearing's hours are a screening
estimate, see ``sleeve``: no standard gives any. Both kinds are given at the same reliability, see
``reliability``.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, uniform
from airover.bearings.place import Met, Stand
from airover.bearings.reliability import GREASE_SLOPE, MEDIAN, fatigue_over_l10, over_median
from airover.bearings.sleeve import SCREENING, sleeve
from airover.motor.lifetime import LONGEST, Life
from airover.motor.work import Worked
from airover.physics import ball_bearing, bearing_loads
from airover.physics.bearing_loads import BearingLoad

# Common practice or own judgement, no source.
TRANSPORT_SHOCK = 20.0  # times gravity: a box that falls from a hand's height
# Light load, sealed. A vertical shaft halves the life: bearing makers' rule for capped bearings.
HALF_LIFE_SUBTRACTION = {"horizontal": (0.0, 0.5), "vertical": (1.0, 1.5)}
# Booser's line is for bearings near their speed limit. A fan motor's bearings turn at a tenth of it
# or less, and today's greases last longer: 1.4 times (a maker's line for wide-range greases at 90
# degC) to three times and more (another maker's diagram of L10 at the lowest speed; from memory).
SLOW_AND_SEALED = (1.0, 4.0)
F0 = 13.0  # ISO 281 geometry factor of small deep groove bearings, 12 to 13.5 in makers' tables
OIL_40, OIL_100 = 100e-6, 11e-6  # m2/s, base oil of a usual polyurea motor grease
CLEANLINESS = "normal cleanliness"  # sealed and greased for life


class Ball(NamedTuple):
    """Two ball bearings, samples. Hours [h] that both reach at the requested reliability:
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
    def first(self) -> dict[str, float]:
        """Share of the samples in which each ends the bearing first."""
        grease = float(np.mean(self.grease <= self.fatigue))
        return {"grease": grease, "fatigue": 1 - grease}

    @property
    def governed_by(self) -> str:
        """The end that comes first in most of the samples."""
        return max(self.first, key=self.first.get)

    @property
    def skids(self) -> bool:
        """True where the usual load is below the minimum load."""
        return bool(np.median(self.load) < self.load_least)


def ball(stand: Stand, met: Met, size, reliability=MEDIAN, cleanliness=CLEANLINESS) -> Ball:
    """Both ball bearings of ``size`` (a ball_bearing.BearingSize) in what they have ``met``.

    ``stand`` describes the motor; ``reliability`` 0.5 (median) to 0.9995; ``cleanliness`` a key of
    ball_bearing.CLEANLINESS. The two bearings fail independently, Weibull slope 1.5 for fatigue and
    2.29 for grease. Raises InputError out of range.
    """
    both = [_fatigue(load, temp, met.speed_rpm, size, cleanliness) for load, temp in met.each]
    a1 = fatigue_over_l10(reliability)
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
    """Life [h] of the grease in both bearings at the ``reliability``."""
    key = "vertical" if met.vertical else "horizontal"
    halvings = uniform(HALF_LIFE_SUBTRACTION[key], stand.deviates["grease"])
    longer = np.exp(uniform(np.log(SLOW_AND_SEALED), stand.deviates["seal"]))
    lives = [longer * ball_bearing.grease_life(temp, halvings) for temp in met.temp]
    together = ball_bearing.system_life(np.stack(lives, axis=-1), GREASE_SLOPE)
    return over_median(reliability, GREASE_SLOPE) * together


def size_of(motor, shaft_diameter: float) -> ball_bearing.BearingSize:
    """Ball bearing that ``motor`` has or would have: the catalog's, else the next of series 02
    above the ``shaft_diameter`` [m]."""
    known = ball_bearing.DEEP_GROOVE_02.get(round((motor.bearing_bore or 0) * 1000))
    larger = [size for size in ball_bearing.DEEP_GROOVE_02.values() if size.bore > shaft_diameter]
    return known or min(larger, default=ball_bearing.DEEP_GROOVE_02[25])


def bearing_life(worked: Worked, number: int, seed: int = 0) -> Life:
    """Median hours of the pair of bearings of motor ``number`` as a 90 % range: half of such pairs
    last longer, for both kinds alike. For sleeve bearings it is a screening estimate. None where
    the kind or the size is not known."""
    motor = worked.motors[number]
    size = ball_bearing.DEEP_GROOVE_02.get(round((motor.bearing_bore or 0) * 1000))
    if motor.bearings is None or (motor.bearings == "ball" and size is None):
        return Life(None, motor.bearings or "unknown", "bearing size unknown")
    stand = Stand.of(worked, number, seed)
    if motor.bearings == "sleeve":
        found = sleeve(stand, stand.met())
        governs = f"{found.governed_by} ({SCREENING})"
    else:
        found = ball(stand, stand.met(), size)
        governs = found.governed_by
    return Life(Band.of(found.hours), motor.bearings, governs)
