"""Nameplates of a fleet: many rows, few different plates. Each is read once, as a job reads it."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from airover import identify
from airover.conditions import completed
from airover.errors import InputError
from airover.fleet.columns import PLATE, job_of
from airover.records import Job
from airover.scope import check_scope
from airover.work import DRAWS

REMEMBERED = 20_000  # plates
STRONGEST = 4000.0  # W, so that a load that is drawn higher is still one


class PlateRead(NamedTuple):
    """A plate: the ``job`` with nothing but it, rated ``power`` [W] and ``speed_rpm`` (draws,), the
    ``power_written`` [W] or NaN, ``voltage`` low and high [V], ``frequency`` [Hz], ``poles``."""

    job: Job
    power: np.ndarray
    speed_rpm: np.ndarray
    power_written: float
    voltage: tuple[float, float]
    frequency: float
    poles: int


@lru_cache(REMEMBERED)
def plate_read(values: tuple) -> PlateRead | str:
    """The plate whose columns PLATE hold ``values``, or why it is refused, in a sentence."""
    try:
        job = job_of(dict(zip(PLATE, values, strict=True)))
        check_scope(job)
        return _read(job)
    except InputError as error:
        return str(error)


def _read(job: Job) -> PlateRead:
    plate = completed(job)
    if plate.voltage is None:
        raise InputError("plate_voltage_high_v", "nothing", "the plate's voltage")
    if plate.pole_count is None:
        given = "neither the rated speed nor the number of poles"
        raise InputError("speed_rpm", given, "one of the two")
    if plate.power is None and plate.current is None:
        raise InputError("power_w", "neither power nor current", "at least one of the two")
    found = identify.from_nameplate(plate, DRAWS)
    if (most := float(found.power.max())) > STRONGEST:
        raise InputError("power_w", f"{most:.0f}", f"at most {STRONGEST:.0f} W", "W")
    return PlateRead(
        job=job,
        power=found.power,
        speed_rpm=found.speed_rpm,
        power_written=np.nan if plate.power is None else plate.power.mid,
        voltage=(plate.voltage.low, plate.voltage.high),
        frequency=plate.frequency.mid,
        poles=plate.pole_count,
    )
