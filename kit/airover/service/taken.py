"""Measurements as figures with the errors of their meters, and the motor that was measured.

The motor is one of a catalog, or the one of the job's nameplate, with its fan, air and supply
voltage at the moments of the readings.
"""

import difflib
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word
from airover.core.units import quoted
from airover.model.conditions import OUTDOOR_TEMPERATURE, Input, completed, site_conditions
from airover.model.heat_study import winding_by_resistance
from airover.model.motor import Motor
from airover.physics import circuit
from airover.physics.heat import SwitchOff, at_switch_off
from airover.records.catalog import CatalogMotor
from airover.records.job import Job, Site
from airover.records.nameplate import CLOCKWISE, COUNTERCLOCKWISE
from airover.records.readings import Measurements, ReadingMoment, last_place
from airover.service.inference import MeterReading
from airover.service.judgment import AGREES, DIFFERS, OPEN, Remark, within
from airover.service.readings import FLOW_NOW, HEAT_NOW, READINGS, Simulated

COOL_DAY = 15.0  # degC outdoors, taken as the least where it was not read
LEAST_DEVIATION = 0.012  # of the voltage, a share: what is simulated around the reading


FEWEST_FOR_A_CURVE = 4
STANDS_BELOW = 0.05  # of the synchronous speed
LOCKED_WIDER = 0.15  # either side of the band of locked-rotor amps and watts, engineering judgment


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
    """Motor that ``measured`` names among ``motors``, or that of the job's nameplate, in
    ``samples`` samples. Raises InputError for a name or rating that is not there."""
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
    motor = Motor.from_catalog(row, samples, seed)
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
    found = {
        text: site_conditions(_in(job, text), samples, seed) for text in dict.fromkeys(weather)
    }
    return [found[text] for text in weather]


def inputs_of(asked, moment: ReadingMoment, odd) -> tuple[Input, ...]:
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


def volts_at(number: int, taken, asked) -> tuple[float, float]:
    """Supply voltage [V] at a moment, and its standard deviation: around the reading, or the job's
    range."""
    for one in taken:
        if (one.moment, one.name) == (number, "voltage"):
            return one.value, max(1.5 * one.deviation, LEAST_DEVIATION * one.value)
    low, usual, high = map(float, asked.voltage)
    return usual, max((high - low) / 3.3, LEAST_DEVIATION * usual)


def read_figures(moments, meters) -> list[MeterReading]:
    """Every figure of ``moments`` with the limit of its meter's error."""
    found = []
    for number, moment in enumerate(moments):
        for name, shown in READINGS.items():
            amount = getattr(moment, name, None)
            if amount is not None:
                limit = getattr(meters, shown.meter).limit(amount)
                limit = max(limit, last_place(amount) / 2)  # what the text can tell at all
                found.append(MeterReading(number, name, amount.mid, limit, amount))
    return found


def winding_figure(measured: Measurements, moment: int) -> list[MeterReading]:
    """The main winding's temperature [degC] by its resistance, if it was read cold and hot.

    One reading, or too few for a curve, counts as at switch-off: a little too cold. Raises
    InputError for resistances that are not of a winding that cools.
    """
    ohms = measured.winding
    if not ohms.is_complete:
        return []
    hot, meter = ohms.hot_resistance, measured.meters.resistance
    noise = (meter.digits * last_place(hot[0]) + meter.least) / np.sqrt(3.0)
    if len(hot) >= FEWEST_FOR_A_CURVE:
        times = [one.mid for one in ohms.time_off]
        off = at_switch_off(times, [one.mid for one in hot], meter=noise)
    else:
        off = SwitchOff(hot[0].mid, noise, np.inf, hot[0].mid, False)
    cold = ohms.cold_resistance.mid, ohms.cold_temperature.mid
    temp, deviation = winding_by_resistance(*cold, off)
    hot_ohms = Quantity(off.resistance_hot, "resistance")
    text = Message("verify.input.resistances", hot=hot_ohms, cold=ohms.cold_resistance)
    return [MeterReading(moment, "winding_temperature", temp, deviation * np.sqrt(3.0), text)]


def seen(job: Job, measured: Measurements, sense, before: Simulated, taken):
    """Remarks on start and direction, and whether the motor stands.

    ``sense`` is the motor's own rotation, from the shaft end, where the fan's is not known.
    """
    remarks = []
    if measured.start not in (None, "by itself"):
        remarks.append(Remark("start", DIFFERS, Message(f"verify.seen.{measured.start}")))
    remarks += _direction(measured, job.blade.rotation_shaft_end or sense)
    stands = measured.start in ("hums, won't start", "dead")
    if not stands and (why := _standing(measured, before, taken)):
        remarks.append(Remark("start", DIFFERS, why))
        stands = True
    return remarks, stands


def marked_capacitor(kept, measured: Measurements, motor: Motor) -> list[Remark]:
    """The capacitor's microfarads by its amps and volts against the motor's nameplate."""
    found = {(one.moment, one.name): one for one in kept}
    for moment in sorted({one.moment for one in kept}):
        pair = [found.get((moment, name)) for name in ("capacitor_current", "capacitor_voltage")]
        if None not in pair:
            return [_microfarads(*pair, measured, motor)]
    return []


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


def _named(name: str, motors) -> CatalogMotor:
    by_name = {row.name.lower(): row for row in motors}
    if name.lower() not in by_name:
        near = difflib.get_close_matches(name.lower(), by_name, n=1)
        accepted = Message("verify.error.motor")
        if near:
            accepted = Message("verify.error.motor_such_as", name=quoted(by_name[near[0]].name))
        raise InputError("motor", quoted(name), accepted)
    return by_name[name.lower()]


def _direction(measured: Measurements, wanted: str | None):
    if measured.rotation is None:
        return
    turns = measured.rotation_shaft_end
    if turns is None:
        state, said = OPEN, Message("verify.seen.turns_unseen")
    elif wanted not in (CLOCKWISE, COUNTERCLOCKWISE):
        state, said = OPEN, Message("verify.seen.turns_unknown")
    elif turns == wanted:
        state, said = AGREES, Message("verify.seen.turns_right", sense=Word(turns))
    else:
        senses = {"sense": Word(turns), "wanted": Word(wanted)}
        state, said = DIFFERS, Message("verify.seen.turns_wrong", **senses)
    yield Remark("rotation", state, said)


def _standing(measured: Measurements, before: Simulated, taken) -> Message | None:
    """Sentence on a rotor that stands; None where it turns or nothing shows that it stands."""
    first = {one.name: one for one in taken if one.moment == 0}
    turning = np.median(before.readings["speed_rpm"][0, 0])
    if speed := first.get("speed_rpm"):
        stands = speed.value < STANDS_BELOW * turning
        return Message("verify.seen.stands_by_speed", speed=speed.text) if stands else None
    locked = [first[name] for name in ("current", "power") if name in first]
    if not locked or measured.start == "by itself" or "capacitor_voltage" in first:
        return None
    for one in locked:
        low, _, high = before.locked[one.name]
        if not low * (1 - LOCKED_WIDER) <= one.value <= high * (1 + LOCKED_WIDER):
            return None
        if one.value < np.quantile(before.readings[one.name][0, :, :][before.runs], 0.99):
            return None
    if len(locked) == 1:
        return Message("verify.seen.stands", first=locked[0].text)
    return Message("verify.seen.stands_both", first=locked[0].text, second=locked[1].text)


def _microfarads(
    amps: MeterReading, volts: MeterReading, measured: Measurements, motor: Motor
) -> Remark:
    """I / (2 pi f V) and its error beside the right microfarads and their tolerance.

    A good capacitor is rarely within its tolerance by more than the meters' error, so what lies
    within it agrees; what lies outside differs only if the error cannot explain it.
    """
    right = float(np.median(motor.rated.circuit.capacitance))
    value = float(circuit.capacitance(amps.value, volts.value, motor.frequency))
    limit = value * float(np.hypot(amps.limit / amps.value, volts.limit / volts.value))
    marked = measured.capacitor_tolerance
    tolerance = circuit.TOLERANCES[0] if marked is None else marked.high
    ends = (1 - tolerance) * right, (1 + tolerance) * right
    state = AGREES if ends[0] <= value <= ends[1] else within(value, limit, *ends)
    key = "microfarads_assumed" if marked is None else "microfarads_marked"
    sentence = Message(
        f"verify.seen.{key}",
        amps=amps.text,
        volts=volts.text,
        value=Quantity(value, "capacitance", 2),
        span=Quantity(Band(value - limit, value, value + limit), "capacitance", 2),
        right=Quantity(right, "capacitance"),
        tolerance=Quantity(tolerance, "share"),
    )
    return Remark("capacitor", state, sentence)
