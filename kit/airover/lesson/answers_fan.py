"""Questions on fan laws, worked by `physics.fan`, and the values of usual slips."""

from airover.lesson.worked import Worked
from airover.physics import fan


def _scaled(ratio: float, **of) -> fan.FanPoint:
    """A fan point of 1 m3/s, 1 Pa and 1 W, or ``of`` others, at another speed."""
    return fan.scale(of.get("flow", 1.0), of.get("pressure", 1.0), of.get("power", 1.0), ratio)


def flow_at_speed(flow, speed, speed_new) -> Worked:
    """Airflow [m3/s] of the same blade at another speed."""
    ratio = speed_new / speed
    slips = {"square": flow * ratio**2, "inverse": flow / ratio}
    return Worked(float(_scaled(ratio, flow=flow).flow), slips, {"ratio": (ratio, "")})


def pressure_at_speed(pressure, speed, speed_new) -> Worked:
    """Static pressure [Pa] of the same blade at another speed."""
    ratio = speed_new / speed
    slips = {"linear": pressure * ratio, "cube": pressure * ratio**3}
    value = _scaled(ratio, pressure=pressure).pressure
    return Worked(float(value), slips, {"ratio": (ratio, "")})


def power_at_speed(power, speed, speed_new) -> Worked:
    """Shaft power [W] of the same blade at another speed."""
    ratio = speed_new / speed
    slips = {"linear": power * ratio, "square": power * ratio**2, "inverse": power / ratio**3}
    return Worked(float(_scaled(ratio, power=power).power), slips, {"ratio": (ratio, "")})


def power_gain(percent) -> Worked:
    """Share by which power grows where speed grows by ``percent``."""
    ratio = 1 + percent / 100
    slips = {"linear": ratio - 1, "square": ratio**2 - 1, "whole": ratio**3}
    return Worked(float(_scaled(ratio).power) - 1, slips, {"ratio": (ratio, "")})


def power_at_diameter(power, diameter, diameter_new) -> Worked:
    """Shaft power [W] of a similar blade of another diameter."""
    ratio = diameter_new / diameter
    value = fan.scale(1.0, 1.0, power, diameter_ratio=ratio).power
    slips = {"cube": power * ratio**3, "linear": power * ratio}
    return Worked(float(value), slips, {"ratio": (ratio, "")})


ANSWERS = (flow_at_speed, pressure_at_speed, power_at_speed, power_gain, power_at_diameter)
