"""Load, air and line of many units at once: what `conditions` works out for one job.

The same deviates by the same names, so that a unit is the same as its job; a test holds both
together. Arrays are (units, draws); NaN in a column is a fact that is not known.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import normal_draws, uniform
from airover.motor import conditions as usual
from airover.physics import air
from airover.physics.operating_point import fan_coefficient


class SiteAir(NamedTuple):
    """(units, draws) each: ``coefficient`` [N m s^2] and ``speed_rpm`` of the failed motor on it,
    ``temp_air`` [degC] at the motor, ``temp_over`` [K] of it over the weather, ``cooling_speed``
    [m/s] of air as dense as dry air at sea level; ``blade_speed`` [m/s], (units,), the middle of
    the speed through the blade's circle."""

    coefficient: np.ndarray
    speed_rpm: np.ndarray
    temp_air: np.ndarray
    temp_over: np.ndarray
    cooling_speed: np.ndarray
    blade_speed: np.ndarray


class _Draws:
    """Draws of what was written, or of the usual range where nothing was."""

    def __init__(self, columns, draws, seed):
        self.columns, self.draws, self.seed = columns, draws, seed

    def deviates(self, name):
        return normal_draws(np.random.default_rng([self.seed, *name.encode()]), [name], self.draws)[
            name
        ]

    def uniform(self, name, ends):
        return uniform(ends, self.deviates(name))

    def known(self, column, name, ends):
        """(units, draws), or (units, 1) where every unit tells it."""
        value = self.columns[column][:, None]
        missing = np.isnan(value)
        return np.where(missing, self.uniform(name, ends), value) if missing.any() else value


def site_air(columns: dict, power, speed_rpm, synchronous_rpm, seed: int = 0) -> SiteAir:
    """Load and air of units; ``power`` [W] and ``speed_rpm`` of their plates, (units, draws).

    ``synchronous_rpm`` (units,) of their motors; ``columns`` are arrays (units,) in SI by their
    names in the table. Raises InputError out of range.
    """
    read = _Draws(columns, power.shape[1], seed)
    deviates = read.deviates("fan load")
    load, speed_rpm = usual.fan_load(power, speed_rpm, synchronous_rpm[:, None], deviates)
    diameter = columns["blade_diameter_mm"][:, None]
    if np.isnan(diameter).any():
        expected = usual.usual_diameter(load, speed_rpm, read.deviates("fan diameter"))
        diameter = np.where(np.isnan(diameter), expected, diameter)
    expected = usual.usual_airflow(load, speed_rpm, diameter, read.deviates("airflow"))
    flow = columns["airflow_m3h"][:, None]
    flow = np.where(np.isnan(flow), expected, flow)
    outdoor = read.known("outdoor_temperature_c", "outdoor temperature", usual.OUTDOOR_TEMPERATURE)
    over = read.known("recirculation_k", "recirculation", usual.RECIRCULATION)
    humidity = read.known("humidity_percent", "relative humidity", (0.2, 0.4))
    pressure = air.standard_pressure(np.nan_to_num(columns["elevation_m"])[:, None])
    # The coil adds heat and no water: at the same vapour pressure density goes with 1 / T.
    weather = air.moist_air_density(outdoor, pressure, humidity)
    entering = air.moist_air_density(outdoor + over, pressure, humidity)
    rise = usual.usual_rise(entering, read.deviates(usual.RISE)) * np.sqrt(expected / flow)
    given = columns["coil_rise_k"][:, None]
    over = over + np.where(np.isnan(given), rise, given)
    temp_air = outdoor + over
    density = weather * (outdoor + air.ZERO_CELSIUS) / (temp_air + air.ZERO_CELSIUS)
    mean_speed = flow / (np.pi / 4 * diameter**2)
    at_motor = mean_speed * read.uniform("air speed at the motor", usual.AIR_SPEED_AT_MOTOR)
    thin = weather / air.moist_air_density(outdoor, air.PRESSURE_SEA_LEVEL)
    whole = np.broadcast_to
    return SiteAir(
        coefficient=fan_coefficient(load * density / usual.DENSITY_STANDARD, speed_rpm),
        speed_rpm=whole(speed_rpm, power.shape),
        temp_air=whole(temp_air, power.shape),
        temp_over=whole(over, power.shape),
        cooling_speed=whole(at_motor * thin, power.shape),
        blade_speed=np.median(mean_speed, axis=1),
    )


def line(columns: dict, plate_low, plate_high):
    """Low, usual and high supply voltage [V], (units, 3); the lowest and highest [V] that was
    measured or stands on the nameplate, (units, 2); and how it is known: 0 from the nameplate, 1
    from one reading, 2 from a range that was seen."""
    low, high = (columns[name] for name in ("line_voltage_low_v", "line_voltage_high_v"))
    low, high = np.fmin(low, high), np.fmax(low, high)
    seen = ~np.isnan(low)
    measured = np.where(seen, np.where(high > low, 2, 1), 0)
    spread = usual.SERVICE_VOLTAGE
    read = np.stack([low * (1 - spread), low, low * (1 + spread)], axis=1)
    logged = np.stack([low, (low + high) / 2, high], axis=1)
    plate = np.stack([plate_low * (1 - spread), plate_high, plate_high * (1 + spread)], axis=1)
    said = np.where(seen[:, None], np.stack([low, high], 1), np.stack([plate_low, plate_high], 1))
    return np.choose(measured[:, None], [plate, read, logged]), said, measured
