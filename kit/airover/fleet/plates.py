"""Nameplates of a fleet: many rows, few different plates. Each is read once, as a job reads it."""

from typing import NamedTuple

import numpy as np

from airover import identify
from airover.errors import InputError
from airover.fleet.columns import ELECTRICAL, job_of
from airover.motor.conditions import completed
from airover.motor.work import DRAWS
from airover.records import Nameplate
from airover.scope import check_scope

STRONGEST = 4000.0  # W, so that a load that is drawn higher is still one
REMEMBERED = 20_000  # plates
TOGETHER = 256  # plates that are identified at a time


class PlateRead(NamedTuple):
    """A plate's electrical side: rated ``power`` [W] and ``speed_rpm`` (draws,), ``written`` power
    [W] or NaN, ``voltage`` low and high [V], ``frequency`` [Hz], ``poles``, ``current`` [A] or
    None."""

    power: np.ndarray
    speed_rpm: np.ndarray
    written: float
    voltage: tuple[float, float]
    frequency: float
    poles: int
    current: float | None


class Plates:
    """The plates that were met: what they say, or why they are refused, by the values of the
    columns ELECTRICAL."""

    def __init__(self):
        self._known = {}

    def read(self, plates: list[tuple]) -> list[PlateRead | str]:
        """Each of ``plates``; a text is the reason for refusing it."""
        if len(self._known) > REMEMBERED:
            self._known.clear()  # memory does not grow with the table
        new = [values for values in plates if values not in self._known]
        for at in range(0, len(new), TOGETHER):
            self._meet(new[at : at + TOGETHER])
        return [self._known[values] for values in plates]

    def _meet(self, new: list[tuple]) -> None:
        able = {}
        for values in new:
            try:
                able[values] = _checked(dict(zip(ELECTRICAL, values, strict=True)))
            except InputError as error:
                self._known[values] = str(error)
        if able:
            found = zip(able, able.values(), _identified(able.values()), strict=True)
            for values, plate, (power, speed_rpm) in found:
                self._known[values] = _read(plate, values, power, speed_rpm)


def _checked(row: dict) -> Nameplate:
    """The plate of a ``row``, which says enough to know a load; raises InputError."""
    job = job_of(row)
    check_scope(job)
    plate = completed(job)
    if plate.voltage is None:
        raise InputError("plate_voltage_high_v", "nothing", "the plate's voltage")
    if plate.pole_count is None:
        given = "neither the rated speed nor the number of poles"
        raise InputError("speed_rpm", given, "one of the two")
    if plate.power is None and plate.current is None:
        raise InputError("power_w", "neither power nor current", "at least one of the two")
    if plate.power is not None and plate.power.high > STRONGEST:
        raise InputError("power_w", f"{plate.power.high:g}", f"at most {STRONGEST:g} W", "W")
    return plate


def _identified(plates):
    """Draws of each plate's power and speed; NaN where no motor can have such a plate.

    A plate gives the same draws in whatever company it is identified.
    """
    each = [identify.plate_of(plate) for plate in plates]
    fields = identify.Plate.__dataclass_fields__
    joined = {name: np.concatenate([getattr(one, name) for one in each]) for name in fields}
    found = identify.ensemble(identify.Plate(**joined), DRAWS)
    return [
        (np.where(met.all(), power, np.nan), speed)
        for power, speed, met in zip(found.power, found.speed_rpm, found.met, strict=True)
    ]


def _read(plate: Nameplate, values, power, speed_rpm) -> PlateRead | str:
    if np.isnan(power).any():
        given = "volts, amps, power, speed and microfarads that do not go together"
        return str(InputError("nameplate", given, "what some capacitor-run motor could have"))
    if power.max() > STRONGEST:
        return str(
            InputError("current_a", f"{plate.current.text}", f"at most {STRONGEST:g} W of it")
        )
    return PlateRead(
        power=power,
        speed_rpm=speed_rpm,
        written=np.nan if plate.power is None else plate.power.mid,
        voltage=(plate.voltage.low, plate.voltage.high),
        frequency=plate.frequency.mid,
        poles=plate.pole_count,
        current=values[ELECTRICAL.index("current_a")],
    )
