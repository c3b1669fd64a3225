"""Questions on bearings and balance, and the values of usual slips."""

from airover.lesson.worked import Worked
from airover.physics import ball_bearing, unbalance

PROBE = 0.01, 0.2  # kg at m: any lost mass gives the same ratio of forces


def bearing_hours(load_rating, load, speed) -> Worked:
    """Fatigue life [h] of a ball bearing by load and speed."""
    ratio = load_rating / load
    value = float(ball_bearing.rating_life(load_rating, load, speed))
    slips = {"linear": value / ratio**2, "square": value / ratio, "minutes": value * 60}
    return Worked(value, slips, {"ratio": (ratio, "")})


def life_left(percent) -> Worked:
    """Life that is left, as a share, where the load grows by ``percent``."""
    more = 1 + percent / 100
    light, heavy = (float(ball_bearing.rating_life(100.0, load, 1000.0)) for load in (1.0, more))
    slips = {"linear": 1 / more, "square": 1 / more**2, "lost": 1 - heavy / light}
    return Worked(heavy / light, slips, {"ratio": (more, "")})


def shaking(force, speed, speed_new) -> Worked:
    """Turning force [N] of the same unbalance at another speed."""
    old, new = (float(unbalance.force_of_loss(*PROBE, rpm)) for rpm in (speed, speed_new))
    ratio = speed_new / speed
    slips = {"linear": force * ratio, "cube": force * ratio**3}
    return Worked(force * new / old, slips, {"ratio": (ratio, "")})


ANSWERS = (bearing_hours, life_left, shaking)
