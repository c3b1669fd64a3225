"""Nameplates of a fleet: many rows, few different ones. Each is read once, as a job reads it.

The failed motor behind it gets polynomials of its own, so that every unit knows what its old motor
did: they are coarser than those of the catalog, since there may be thousands of nameplates.
"""

from typing import NamedTuple

import numpy as np

from airover.choose import OTHER_SIZE
from airover.choose.comparison import SAME_RATING, Comparison, winding_limit
from airover.choose.electrical import full_load_amps
from airover.choose.load import horsepower
from airover.errors import InputError
from airover.fleet.columns import PLATE, job_of
from airover.fleet.facts import Facts
from airover.fleet.response import FAILED, ends_of, fitted, joined
from airover.motor.conditions import completed
from airover.motor.work import DRAWS, failed_known, lowest_voltage_of
from airover.physics import insulation
from airover.physics.screening import Old, Surfaces
from airover.records import Job, Nameplate
from airover.scope import check_scope

STRONGEST = 4000.0  # W, so that a load that is drawn higher is still one
REMEMBERED = 2_000  # nameplates, of about 80 kB each


class PlateRead(NamedTuple):
    """A nameplate's ``power`` [W] and ``speed_rpm`` (draws,), ``voltage`` low and high [V]; the
    polynomials of the ``failed`` motor, and how the catalog's motors compare with it, as ``old``:
    (motors,) or one number."""

    power: np.ndarray
    speed_rpm: np.ndarray
    voltage: tuple[float, float]
    failed: Surfaces
    old: Old


class Plates:
    """The nameplates that were met: what they say, or why they are refused, by the values of the
    columns PLATE."""

    def __init__(self, facts: Facts):
        self.facts = facts
        self._known = {}

    def read(self, plates: list[tuple]) -> list[PlateRead | str]:
        """Each of ``plates``; a text is the reason for refusing it."""
        if len(self._known) > REMEMBERED:
            self._known.clear()  # memory does not grow with the table
        for values in plates:
            if values not in self._known:
                self._known[values] = self._met(dict(zip(PLATE, values, strict=True)))
        return [self._known[values] for values in plates]

    def _met(self, row: dict) -> PlateRead | str:
        try:
            job = job_of(row)
            plate = _checked(job)
            return self._read(job, plate)
        except InputError as error:
            return str(error)

    def _read(self, job: Job, plate: Nameplate) -> PlateRead:
        known = failed_known(job, DRAWS)
        if not known.rated.met.all():
            given = "volts, amps, power, speed and microfarads that do not go together"
            raise InputError("nameplate", given, "what some capacitor-run motor could have")
        power, speed_rpm = known.rated.power[0], known.rated.speed_rpm[0]
        if not power.max() <= STRONGEST:
            given = plate.current.text
            raise InputError("current_a", given, f"at most {STRONGEST:g} W of it")
        volts = plate.voltage.low, plate.voltage.high
        frequency = np.array([[plate.frequency.mid]])
        lowest = np.array([[lowest_voltage_of(job)]])
        ends = np.array([ends_of(*volts)])
        return PlateRead(
            power=power,
            speed_rpm=speed_rpm,
            voltage=volts,
            failed=fitted(known, ends, lowest, frequency, FAILED),
            old=self._compared(job, plate),
        )

    def _compared(self, job: Job, plate: Nameplate) -> Old:
        at = Comparison(job, self.facts.motors)
        letter, ambient = plate.insulation_class, plate.ambient_rating
        limit = winding_limit(letter)
        by_amps = np.isin(full_load_amps(at).outcome, ("same", "within"))
        return Old(
            *self.facts.of_plate(at),
            rating_number=at.rating_number.astype(np.int8),
            size_up=np.isin(horsepower(at).outcome, OTHER_SIZE).astype(np.int8),
            same_size=(at.size >= SAME_RATING).astype(np.int8),
            estimated=((plate.power is None) & ~by_amps).astype(np.int8),
            ambient=np.nan if ambient is None else ambient.mid,
            winding=np.nan if limit is None else limit,
            trip=float(insulation.protector_limit(letter or "B")),
            synchronous=plate.synchronous_rpm,
        )


def together(plates: list[PlateRead]) -> tuple[Surfaces, Old]:
    """The failed motors of some ``plates``, one after the other."""
    parts = [one.failed for one in plates]
    old = Old(*(np.stack(one) for one in zip(*(one.old for one in plates), strict=True)))
    return joined(parts), old


def _checked(job: Job) -> Nameplate:
    """The nameplate of a ``job``, which says enough to know a load; raises InputError."""
    check_scope(job)
    plate = completed(job)
    if plate.voltage is None:
        raise InputError("plate_voltage_high_v", "nothing", "the plate's voltage")
    if plate.power is None and plate.current is None:
        raise InputError("power_w", "neither power nor current", "at least one of the two")
    if plate.power is not None and plate.power.high > STRONGEST:
        raise InputError("power_w", f"{plate.power.high:g}", f"at most {STRONGEST:g} W", "W")
    return plate
