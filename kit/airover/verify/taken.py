"""Measurements as figures with the errors of their meters, and what was seen with bare eyes."""

import numpy as np

from airover.bands import Band
from airover.heat.measured import winding_by_resistance
from airover.message import Message, Quantity, Word
from airover.motor.one import Motor
from airover.physics import capacitor
from airover.physics.cooling_curve import SwitchOff, at_switch_off
from airover.records import Job, Measurements
from airover.records.meters import last_place
from airover.records.rotation import CLOCKWISE, COUNTERCLOCKWISE
from airover.verify.inferred import MeterReading
from airover.verify.judged import AGREES, DIFFERS, OPEN, Remark, within
from airover.verify.readings import READINGS, Simulated

FEWEST_FOR_A_CURVE = 4
STANDS_BELOW = 0.05  # of the synchronous speed
LOCKED_WIDER = 0.15  # either side of the band of locked-rotor amps and watts, engineering judgment


def read_figures(moments, meters) -> list[MeterReading]:
    """Every figure of ``moments`` with the limit of its meter's error."""
    found = []
    for number, moment in enumerate(moments):
        for name, shown in READINGS.items():
            amount = getattr(moment, name, None)
            if amount is not None:
                limit = getattr(meters, shown.meter).limit(amount)
                limit = max(limit, last_place(amount) / 2)  # what the text can tell at all
                found.append(MeterReading(number, name, amount.mid, limit, amount.text))
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
    text = Message("verify.input.resistances", hot=hot_ohms, cold=ohms.cold_resistance.text)
    return [MeterReading(moment, "winding_temperature", temp, deviation * np.sqrt(3.0), text)]


def seen(job: Job, measured: Measurements, sense, before: Simulated, taken):
    """Remarks on start and direction, and whether the motor stands.

    ``sense`` is the motor's own rotation, from the shaft end, where the blade's is not known.
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


def marked_capacitor(kept, measured: Measurements, motor: Motor) -> list[Remark]:
    """The capacitor's microfarads by its amps and volts against the motor's nameplate."""
    found = {(one.moment, one.name): one for one in kept}
    for moment in sorted({one.moment for one in kept}):
        pair = [found.get((moment, name)) for name in ("capacitor_current", "capacitor_voltage")]
        if None not in pair:
            return [_microfarads(*pair, measured, motor)]
    return []


def _microfarads(
    amps: MeterReading, volts: MeterReading, measured: Measurements, motor: Motor
) -> Remark:
    """I / (2 pi f V) and its error beside the right microfarads and their tolerance.

    A good capacitor is rarely within its tolerance by more than the meters' error, so what lies
    within it agrees; what lies outside differs only if the error cannot explain it.
    """
    right = float(np.median(motor.rated.circuit.capacitance))
    value = float(capacitor.capacitance(amps.value, volts.value, motor.frequency))
    limit = value * float(np.hypot(amps.limit / amps.value, volts.limit / volts.value))
    marked = measured.capacitor_tolerance
    tolerance = capacitor.TOLERANCES[0] if marked is None else marked.high
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
