"""How long a small sleeve bearing may last: screening models, as ranges.

No standard gives the life of a wick-fed or porous sleeve bearing. Two models screen it, and the
shorter life counts: what wears away where surfaces touch, and how long the oil stays good. A wear
coefficient is known within a factor of 10 to 100, so hours are orders of size until it is known
how long motors on the same kind of work last. Give ranges as arrays of draws. Dirt, a shaft out of
line and oil that creeps away end many bearings and are not in it.
"""

import numpy as np

from airover.limits import SPEED_RPM, TEMP_BEARING, Range, check

LOAD = Range(0.0, 1e5, "N")
SIZE = Range(0.001, 0.2, "m")
WEAR_RANGE = Range(1e-20, 1e-10, "m2/N")
PRESSURE_MEAN = Range(0.0, 1e9, "Pa")
DISTANCE = Range(0.0, 1e12, "m")
ALLOWANCE = Range(1e-7, 2e-3, "m")
RUBBING_SPEED = Range(0.0, 100.0, "m/s")
LAMBDA = Range(0.0, np.inf, "")
REVOLUTIONS = Range(0.0, 1e6, "")
STARTS = Range(0.0, 3600.0, "")
LIFE = Range(1.0, 1e6, "h")
INTERVAL = Range(1.0, 50.0, "K")

FULL = 3.0  # lambda above which nothing touches, any handbook
# Common practice, no source: oiled bronze on steel, worn volume over load and distance.
WEAR_COEFFICIENT = (1e-17, 1e-15)  # m2/N
# Porous bronze; recalled of such bearings in general, not verified. A thrust face bears a fifth.
PV_SLEEVE = 1.75e6  # Pa m/s
PV_WASHER = PV_SLEEVE / 5
OIL_HALVING = 10.0  # K, common practice
HOUR = 3600.0  # s


def sleeve_pv(load, speed_rpm, diameter, length):
    """Mean pressure times sliding speed [Pa m/s] in a sleeve bearing, to compare with PV_SLEEVE.

    ``load`` [N] radial, ``speed_rpm``, ``diameter`` of the shaft and ``length`` of the bore [m].
    Arrays broadcast. Raises InputError out of range.

    >>> round(float(sleeve_pv(20.0, 1075.0, 0.0127, 0.01905) / PV_SLEEVE), 3)
    0.034
    """
    area = check("diameter", diameter, SIZE) * check("length", length, SIZE)
    speed = check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 60 * diameter
    return check("load", load, LOAD) / area * speed


def rubbing(diameter, speed_rpm, lambda_ratio, revolutions_rubbing, starts_per_hour):
    """Distance rubbed in a sleeve bearing over its running time [m/s].

    All of the way where ``lambda_ratio`` at running is below 3; else that of starting and stopping,
    ``revolutions_rubbing`` below lambda 3 for each of ``starts_per_hour`` of running. ``diameter``
    [m] of the shaft, ``speed_rpm``. A thrust washer rubs all the time: its sliding speed. Arrays
    broadcast. Raises InputError out of range.

    >>> round(float(rubbing(0.0127, 1075.0, 10.0, 6.0, 3.0)), 6)
    0.000199
    """
    around = np.pi * check("diameter", diameter, SIZE)
    always = around * check("speed_rpm", speed_rpm, SPEED_RPM) / 60
    turns = check("revolutions_rubbing", revolutions_rubbing, REVOLUTIONS)
    seldom = around * turns * check("starts_per_hour", starts_per_hour, STARTS) / HOUR
    return np.where(check("lambda_ratio", lambda_ratio, LAMBDA) < FULL, always, seldom)[()]


def wear_depth(wear_coefficient, pressure_mean, distance):
    """Depth [m] worn away: ``wear_coefficient`` [m2/N] times pressure [Pa] times distance [m].

    Archard 1953. ``pressure_mean`` [Pa] over the projected face, ``distance`` [m] rubbed. Depth is
    taken as even; in a bore it is some two to four times that at its deepest, which the
    coefficient's range covers. Arrays broadcast. Raises InputError out of range.

    >>> round(float(wear_depth(1e-16, 1e5, 2.6e6)) * 1e6, 6)
    26.0
    """
    wear = check("wear_coefficient", wear_coefficient, WEAR_RANGE)
    pressure = check("pressure_mean", pressure_mean, PRESSURE_MEAN)
    return wear * pressure * check("distance", distance, DISTANCE)


def wear_life(allowance, wear_coefficient, pressure_mean, rubbing_speed):
    """Running time [h] until the ``allowance`` [m] is worn away, infinite where nothing rubs.

    ``rubbing_speed`` [m/s] over the running time; ``wear_coefficient`` [m2/N], from
    WEAR_COEFFICIENT or wear_coefficient_seen; ``pressure_mean`` [Pa]. Arrays broadcast. Raises
    InputError out of range.

    >>> round(float(wear_life(26e-6, 1e-16, 1e5, 0.5)))
    1444
    """
    allowance = check("allowance", allowance, ALLOWANCE)
    speed = check("rubbing_speed", rubbing_speed, RUBBING_SPEED)
    each_hour = wear_depth(wear_coefficient, pressure_mean, speed * HOUR)
    rubs = each_hour > 0
    return np.where(rubs, allowance / np.where(rubs, each_hour, 1.0), np.inf)[()]


def wear_coefficient_seen(life_reference, allowance, pressure_mean, rubbing_speed):
    """Wear coefficient [m2/N] of bearings that are known to last ``life_reference`` [h].

    Wear_life turned round, for bearings that wore out: ``allowance`` [m], ``pressure_mean`` [Pa]
    and ``rubbing_speed`` [m/s], above 0, there. Where something else ended them, it is the upper
    bound. Arrays broadcast. Raises InputError out of range.

    >>> round(float(wear_coefficient_seen(1444.0, 26e-6, 1e5, 0.5)) * 1e16, 3)
    1.0
    """
    life = check("life_reference", life_reference, LIFE)
    pressure = check("pressure_mean", pressure_mean, PRESSURE_MEAN._replace(low=1.0))
    speed = check("rubbing_speed", rubbing_speed, RUBBING_SPEED._replace(low=1e-9))
    return check("allowance", allowance, ALLOWANCE) / (pressure * speed * life * HOUR)


def oil_life(temp_oil, life_reference, temp_oil_reference, halving_interval=OIL_HALVING):
    """Hours [h] that the oil lasts at ``temp_oil`` [degC], from a point that is known.

    ``life_reference`` [h] at ``temp_oil_reference`` [degC] is the user's own: these motors last
    so long here. Half as long for each ``halving_interval`` [K] more, 10 K as common practice has
    it. The oil was good for that long at least, whatever ended those motors. Arrays broadcast.
    Raises InputError out of range.

    >>> float(oil_life(70.0, 20000.0, 60.0))
    10000.0
    """
    hotter = check("temp_oil", temp_oil, TEMP_BEARING) - check(
        "temp_oil_reference", temp_oil_reference, TEMP_BEARING
    )
    interval = check("halving_interval", halving_interval, INTERVAL)
    return check("life_reference", life_reference, LIFE) * 2.0 ** (-hotter / interval)
