"""The motor that was measured: one of a catalogue, or the one of the job's own plate."""

import difflib
from typing import NamedTuple

from airover.errors import InputError
from airover.motor.conditions import completed
from airover.motor.one import Motor
from airover.records import CatalogueMotor, Job, Measurements
from airover.units import quoted, show


class Subject(NamedTuple):
    """The ``motor`` that was measured and its plate: ``current`` [A], ``power`` [W] (None where
    not known), volts from ``voltage_low`` to ``voltage_high``, ``rotation`` from the shaft end."""

    motor: Motor
    current: float | None
    power: float | None
    voltage_low: float
    voltage_high: float
    rotation: str | None


def subject_of(job: Job, measured: Measurements, motors, draws: int, seed: int) -> Subject:
    """The motor that ``measured`` names among ``motors``, or that of the job's plate, in ``draws``
    versions. Raises InputError for a name or rating that is not there."""
    if not measured.motor:
        plate = completed(job)
        power, current = (None if a is None else a.mid for a in (plate.power, plate.current))
        motor = Motor.from_nameplate(plate, draws, seed)
        ends = plate.voltage.low, plate.voltage.high
        return Subject(motor, current, power, *ends, plate.rotation_shaft_end)
    row = _named(measured.motor, motors)
    power = row.ratings[-1] if measured.rating is None else measured.rating.mid
    near = [number for number, one in enumerate(row.ratings) if abs(one / power - 1) < 0.02]
    if not near:
        accepted = ", ".join(show(one, "power") for one in row.ratings)
        raise InputError("rating", measured.rating.text, accepted)
    motor = Motor.from_catalogue(row, draws, seed)
    current, power = row.currents[near[0]], row.ratings[near[0]]
    return Subject(motor, current, power, row.voltage_low, row.voltage_high, None)


def _named(name: str, motors) -> CatalogueMotor:
    by_name = {row.name.lower(): row for row in motors}
    if name.lower() not in by_name:
        near = difflib.get_close_matches(name.lower(), by_name, n=1)
        other = f", such as {quoted(by_name[near[0]].name)}" if near else ""
        raise InputError("motor", quoted(name), f"the name of a motor in the catalogue{other}")
    return by_name[name.lower()]
