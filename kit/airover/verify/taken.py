"""Measurements as figures with the errors of their meters, and what was seen with bare eyes."""

import numpy as np

from airover.heat.measured import winding_by_resistance
from airover.motor.one import Motor
from airover.physics import capacitor
from airover.physics.cooling_curve import SwitchOff, at_switch_off
from airover.records import Job, Measurements
from airover.records.meters import last_place
from airover.records.rotation import CLOCKWISE, COUNTERCLOCKWISE
from airover.units import show
from airover.verify.inferred import Taken
from airover.verify.judged import AGREES, DIFFERS, OPEN, Remark, within
from airover.verify.readings import READINGS, Simulated

FEWEST_FOR_A_CURVE = 4
STANDS_BELOW = 0.05  # of the synchronous speed
LOCKED_WIDER = 0.15  # either side of the band of locked amps and watts, own judgement
SWITCH_OFF = (
    "Switch off: locked amps burn a winding within minutes, and its protector tries again, unasked."
)
_START = {
    "only with a push": (
        "it starts only with a push: look at the capacitor first, then at the auxiliary winding "
        "and the bearings. A push by hand is no test: locked out, always."
    ),
    "hums, won't start": (
        f"it hums and stands: locked out, turn it by hand and look at the capacitor. {SWITCH_OFF}"
    ),
    "dead": "it does nothing: look for volts at its leads, an open protector, a wrong lead. It may "
    "start unasked once a protector cools.",
}


def read_figures(moments, meters) -> list[Taken]:
    """Every figure of ``moments`` with the limit of its meter's error."""
    found = []
    for number, moment in enumerate(moments):
        for name, shown in READINGS.items():
            amount = getattr(moment, name, None)
            if amount is not None:
                limit = getattr(meters, shown.meter).limit(amount)
                limit = max(limit, last_place(amount) / 2)  # what the text can tell at all
                found.append(Taken(number, name, amount.mid, limit, amount.text))
    return found


def winding_figure(measured: Measurements, moment: int) -> list[Taken]:
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
    text = f"{show(off.resistance_hot, 'resistance')} hot, {ohms.cold_resistance.text} cold"
    return [Taken(moment, "winding_temperature", temp, deviation * np.sqrt(3.0), text)]


def seen(job: Job, measured: Measurements, sense, before: Simulated, taken):
    """Remarks on start and direction, and whether the motor stands.

    ``sense`` is the motor's own rotation, from the shaft end, where the blade's is not known.
    """
    remarks = []
    if measured.start in _START:
        remarks.append(Remark("start", DIFFERS, _START[measured.start]))
    remarks += _direction(measured, job.blade.rotation_shaft_end or sense)
    stands = measured.start in ("hums, won't start", "dead")
    if not stands and (why := _standing(measured, before, taken)):
        remarks.append(Remark("start", DIFFERS, f"{why}: it stands. {SWITCH_OFF}"))
        stands = True
    return remarks, stands


def _direction(measured: Measurements, wanted: str | None):
    if measured.rotation is None:
        return
    turns = measured.rotation_shaft_end
    state, said = AGREES, f"it turns {turns} from the shaft end, as the blade asks."
    if turns is None:
        state, said = OPEN, "the direction was seen, but from which end is not told."
    elif wanted not in (CLOCKWISE, COUNTERCLOCKWISE):
        state, said = OPEN, "which way this blade has to turn is not known: see where its air goes."
    elif turns != wanted:
        state, said = (
            DIFFERS,
            (
                f"it turns {turns} from the shaft end and the blade asks for {wanted}: locked out, "
                "change the rotation plug or leads as the motor's diagram says."
            ),
        )
    yield Remark("rotation", state, said)


def _standing(measured: Measurements, before: Simulated, taken) -> str:
    """What tells that the rotor stands; empty where it turns or nothing tells it."""
    first = {one.name: one for one in taken if one.moment == 0}
    turning = np.median(before.readings["speed_rpm"][0, 0])
    if speed := first.get("speed_rpm"):
        return f"{speed.text} was read" if speed.value < STANDS_BELOW * turning else ""
    locked = [first[name] for name in ("current", "power") if name in first]
    if not locked or measured.start == "by itself" or "capacitor_voltage" in first:
        return ""
    for one in locked:
        low, _, high = before.locked[one.name]
        if not low * (1 - LOCKED_WIDER) <= one.value <= high * (1 + LOCKED_WIDER):
            return ""
        if one.value < np.quantile(before.readings[one.name][0, :, :][before.runs], 0.99):
            return ""
    figures = " and ".join(one.text for one in locked)
    return f"{figures} is what a standing rotor takes"


def marked_capacitor(kept, measured: Measurements, motor: Motor) -> list[Remark]:
    """The capacitor's microfarads by its amps and volts against the motor's plate."""
    found = {(one.moment, one.name): one for one in kept}
    for moment in sorted({one.moment for one in kept}):
        pair = [found.get((moment, name)) for name in ("capacitor_current", "capacitor_voltage")]
        if None not in pair:
            return [_microfarads(*pair, measured, motor)]
    return []


def _microfarads(amps: Taken, volts: Taken, measured: Measurements, motor: Motor) -> Remark:
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
    least, most = (show(end, "capacitance", digits=2) for end in (value - limit, value + limit))
    said = "as marked" if marked is not None else "the tightest usual one, assumed"
    asked = f"{show(right, 'capacitance')} within {100 * tolerance:.0f} %"
    sentence = (
        f"{amps.text} at {volts.text} are {show(value, 'capacitance', digits=2)} ({least} to "
        f"{most}); the motor asks for {asked} ({said})."
    )
    return Remark("capacitor", state, sentence)
