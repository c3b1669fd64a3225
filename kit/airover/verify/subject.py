"""Motor that was measured, and its fan, air and supply voltage at the moments of the readings.

The motor is one of a catalog, or the one of the job's nameplate.
"""

import difflib
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.errors import InputError
from airover.message import Message, Quantity
from airover.motor.conditions import OUTDOOR_TEMPERATURE, Input, completed, conditions
from airover.motor.one import Motor
from airover.records import CatalogueMotor, Job, Measurements, Moment, Site
from airover.units import quoted
from airover.verify.readings import FLOW_NOW, HEAT_NOW

COOL_DAY = 15.0  # degC outdoors, taken as the least where it was not read
LEAST_DEVIATION = 0.012  # of the voltage, a share: what is simulated around the reading


class Subject(NamedTuple):
    """The ``motor`` that was measured and its nameplate: ``current`` [A], ``power`` [W] (None where
    not known), volts from ``voltage_low`` to ``voltage_high``, ``rotation`` from the shaft end."""

    motor: Motor
    current: float | None
    power: float | None
    voltage_low: float
    voltage_high: float
    rotation: str | None


def subject_of(job: Job, measured: Measurements, motors, samples: int, seed: int) -> Subject:
    """Motor that ``measured`` names among ``motors``, or that of the job's nameplate, in ``samples``
    samples. Raises InputError for a name or rating that is not there."""
    if not measured.motor:
        plate = completed(job)
        power, current = (None if a is None else a.mid for a in (plate.power, plate.current))
        motor = Motor.from_nameplate(plate, samples, seed)
        ends = plate.voltage.low, plate.voltage.high
        return Subject(motor, current, power, *ends, plate.rotation_shaft_end)
    row = _named(measured.motor, motors)
    power = row.ratings[-1] if measured.rating is None else measured.rating.mid
    near = [number for number, one in enumerate(row.ratings) if abs(one / power - 1) < 0.02]
    if not near:
        accepted = [Quantity(one, "power") for one in row.ratings]
        raise InputError("rating", measured.rating.text, accepted)
    motor = Motor.from_catalogue(row, samples, seed)
    current, power = row.currents[near[0]], row.ratings[near[0]]
    return Subject(motor, current, power, row.voltage_low, row.voltage_high, None)


def asked_at(job: Job, moments, odd, samples: int, seed: int) -> list:
    """Fan and air at each moment: the job's, in the weather that was read.

    What is ``odd`` (Questioned) counts as not read. Raises InputError.
    """
    weather = []
    for number, moment in enumerate(moments):
        is_odd = any((number, "outdoor_temperature") == (one.moment, one.name) for one in odd)
        read = None if is_odd else moment.outdoor_temperature
        weather.append(_weather(job.site, read))
    found = {text: conditions(_in(job, text), samples, seed) for text in dict.fromkeys(weather)}
    return [found[text] for text in weather]


def inputs_of(asked, moment: Moment, odd) -> tuple[Input, ...]:
    """Inputs of the first moment, and which of them nobody read."""
    inputs = list(asked.inputs)
    is_odd = any((0, "outdoor_temperature") == (one.moment, one.name) for one in odd)
    if moment.outdoor_temperature is None or is_odd:
        ends = (float(reduce(asked.temp_outdoor)) for reduce in (np.min, np.mean, np.max))
        temps = Quantity(Band(*ends), "air_temperature")
        weather = Input("outdoor temperature", temps, "assumed", Message("verify.input.not_read"))
        inputs = [weather if one.name == weather.name else one for one in inputs]
    heat, flow = Quantity(HEAT_NOW, "share"), Quantity(FLOW_NOW, "share")
    shares = Message("verify.input.now_value", heat=heat, flow=flow)
    why = Message("verify.input.now_why")
    return (*inputs, Input("heat and airflow at the moment", shares, "assumed", why))


def _weather(site: Site, read) -> str:
    """Outdoor temperature at a reading, or its range where nobody read it."""
    if read is not None:
        return read.text
    design = site.outdoor_temperature
    hottest = OUTDOOR_TEMPERATURE[1] if design is None else design.high
    return f"{min(COOL_DAY, hottest):.1f} degC to {hottest:.1f} degC"


def _in(job: Job, weather: str) -> Job:
    facts = {**dict(job.site), "outdoor_temperature": weather, "outdoor_temperature_min": None}
    return job.model_copy(update={"site": Site(**facts)})


def volts_at(number: int, taken, asked) -> tuple[float, float]:
    """Supply voltage [V] at a moment, and its standard deviation: around the reading, or the job's
    range."""
    for one in taken:
        if (one.moment, one.name) == (number, "voltage"):
            return one.value, max(1.5 * one.deviation, LEAST_DEVIATION * one.value)
    low, usual, high = map(float, asked.voltage)
    return usual, max((high - low) / 3.3, LEAST_DEVIATION * usual)


def _named(name: str, motors) -> CatalogueMotor:
    by_name = {row.name.lower(): row for row in motors}
    if name.lower() not in by_name:
        near = difflib.get_close_matches(name.lower(), by_name, n=1)
        accepted = Message("verify.error.motor")
        if near:
            accepted = Message("verify.error.motor_such_as", name=quoted(by_name[near[0]].name))
        raise InputError("motor", quoted(name), accepted)
    return by_name[name.lower()]
