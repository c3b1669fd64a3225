"""Checks at the terminals: supply, amps, capacitor, starting."""

import numpy as np

from airover.bands import Band
from airover.choose.case import Case
from airover.choose.check import ADAPT, FAIL, MISSING, MODEL, NOTE, PASS, TRADE, Check, same
from airover.motor.one import SLIP_RUNNING
from airover.motor.supply import VOLTAGE_SOURCE, voltage_limits
from airover.motor.work import LOW
from airover.physics.capacitor import OVERVOLTAGE

CURRENT_TOLERANCE, CURRENT_STRICT = 0.10, 0.05
SAME_CAPACITANCE = 0.03
CAPACITOR_RULE = "IEC 60252-1, 1.1 times the rated voltage, from memory, not verified"


def plate(case: Case) -> Check:
    """A misprinted row of a catalogue must not pass for a motor."""
    if case.worked.rated.met[case.number].all():
        why = "A motor of this kind can have this plate."
        return Check("catalogue's plate", PASS, why, MODEL)
    why = "No capacitor-run motor has these volts, amps, power, speed and microfarads together."
    return Check("catalogue's plate", FAIL, why, MODEL)


def voltage(case: Case) -> Check:
    """The line's range within the motor's limits; a usual voltage outside fails by itself."""
    motor, line = case.motor, Band(*case.worked.conditions.voltage)
    low, high = voltage_limits(motor.voltage_low, motor.voltage_high)
    margin = min(line.low - low, high - line.high)
    limit = f"{low:.0f} to {high:.0f} V"
    seen = f"{line.low:.0f} to {line.high:.0f} V"
    facts = {"source": VOLTAGE_SOURCE, "found": line, "limit": limit, "margin": margin, "unit": "V"}
    if not low <= line.mid <= high:
        why = f"The line has {line.mid:.0f} V, this motor takes {limit}."
        return Check("voltage", FAIL, why, **facts)
    if case.job.site.voltage is None:
        why = f"The line voltage was not measured; this motor takes {limit}."
        why += " Measure it at the unit."
        return Check("voltage", MISSING, why, **facts)
    if margin >= 0:
        return Check("voltage", PASS, f"{seen} lies within {limit}.", **facts)
    if case.job.site.voltage.is_range:
        why = f"The line was seen at {seen}; this motor takes {limit}."
        return Check("voltage", FAIL, why, **facts)
    why = f"The line may reach {seen}, this motor takes {limit}: log the voltage over a hot day."
    return Check("voltage", MISSING, why, **facts)


def frequency(case: Case) -> Check:
    """The line's hertz are the motor's."""
    asked, has = case.worked.conditions.frequency, case.motor.frequency
    same_line = abs(asked - has) < 0.5
    why = f"The line has {asked:g} Hz, the motor is for {has:g} Hz."
    state = PASS if same_line else FAIL
    return Check("frequency", state, why, TRADE, has, asked, unit="Hz")


def phase(case: Case) -> Check:
    """As many phases as the line has: one, unless the old plate says three."""
    why = f"The motor has {case.motor.phase} phases, the line has one."
    return same("number of phases", case.motor.phase, case.job.nameplate.phase or 1, why)


def full_load_amps(case: Case) -> Check:
    """The trade's first look. Amps are a poor measure of load, so the worked duty stands beside."""
    amps, plate = case.rated_current, case.job.nameplate.current
    name = "full-load amps"
    at = f"{amps:.1f} A at {case.shown(case.rating, 'power')}"
    if plate is None:
        why = f"The old motor's amps cannot be read; this one has {at}."
        return Check(name, MISSING, why, TRADE, amps, unit="A")
    share = round(amps / plate.mid - 1, 9)  # 2.1 A is 5 % over 2.0 A, and not a last digit more
    limit = Band(*(plate.mid * (1 + step) for step in (-CURRENT_TOLERANCE, 0, CURRENT_TOLERANCE)))
    margin = plate.mid * CURRENT_TOLERANCE - abs(amps - plate.mid)
    facts = {"source": TRADE, "found": amps, "limit": limit, "margin": margin, "unit": "A"}
    compared = f"{at} is {share:+.0%} against the old motor's {plate.mid:.1f} A"
    if abs(share) > CURRENT_TOLERANCE:
        return Check(name, FAIL, f"{compared}: more than 10 % apart.", **facts)
    strict = " (some technicians keep to 5 %)" if abs(share) > CURRENT_STRICT else ""
    why = f"{compared}{strict}. Amps fall far less than load: the clamp meter proves it afterwards."
    return Check(name, PASS, why, **facts)


def running_amps(case: Case) -> Check:
    """Amps to expect on this blade; fails only where they are well over the plate's."""
    low, mid, high = case.current
    rated = case.rated_current
    expected = f"{low:.2f} to {high:.2f} A"
    why = f"On this blade expect {expected} on the clamp meter at the line's voltage."
    facts = {"found": case.current, "limit": rated, "margin": rated - mid, "unit": "A"}
    if mid > rated * (1 + CURRENT_TOLERANCE):
        why += f" That is well over its plate's {rated:.1f} A: the blade overloads it."
        return Check("running amps", FAIL, why, MODEL, **facts)
    return Check("running amps", NOTE, why, MODEL, **facts)


def capacitor(case: Case) -> Check:
    """Which run capacitor the motor takes, and whether the old one had as many microfarads."""
    new, old = case.motor.capacitor, case.job.nameplate.capacitor
    if new is None:
        why = "The catalogue does not say this motor's capacitor: ask for it."
        return Check("capacitor", MISSING, why, TRADE, unit="uF")
    volts = case.motor.capacitor_voltage
    rating = "" if volts is None else f", {volts:.0f} V or more"
    fit = f"fit a new {case.shown(new, 'capacitance')} run capacitor{rating}"
    facts = {"source": TRADE, "found": new * 1e6, "unit": "uF"}
    if old is None:
        why = f"The old capacitor's size is not known: {fit}."
        return Check("capacitor", ADAPT, why, **facts)
    facts |= {"limit": old.mid * 1e6, "margin": -abs(new - old.mid) * 1e6}
    if abs(new / old.mid - 1) <= SAME_CAPACITANCE:
        why = f"Same microfarads as the old one; {fit} all the same."
        return Check("capacitor", PASS, why, **facts)
    why = f"The old capacitor ({old.text}) does not serve this motor: {fit}."
    return Check("capacitor", ADAPT, why, **facts)


def capacitor_voltage(case: Case) -> Check:
    """The capacitor stands well above the line's voltage, more so on a light load."""
    found = case.band("capacitor_v")
    limit = case.motor.capacitor_voltage
    name = "capacitor voltage"
    across = f"about {found.mid:.0f} V ({found.low:.0f} to {found.high:.0f} V) across it"
    if limit is None:
        why = f"The catalogue does not say the capacitor's voltage; the model finds {across}."
        return Check(name, MISSING, why, MODEL, found, unit="V")
    allowed = limit * OVERVOLTAGE
    facts = {"source": CAPACITOR_RULE, "found": found, "limit": allowed}
    facts |= {"margin": allowed - found.mid, "unit": "V"}
    made = f"it is made for {limit:.0f} V and 10 % more"
    if found.mid <= allowed:
        return Check(name, PASS, f"In running {across}; {made}.", **facts)
    why = f"In running {across}; {made}: fit one of the next higher voltage."
    return Check(name, ADAPT, why, **facts)


def starting(case: Case) -> Check:
    """On the lowest voltage it leaves standstill and comes up to its working range."""
    worked, at = case.worked, case.number
    volts = worked.conditions.voltage[LOW]
    share = float(np.mean(worked.starts[LOW, at] & (worked.slip[LOW, at] < SLIP_RUNNING)))
    speed = case.band("speed_rpm", LOW)
    limit = (1 - SLIP_RUNNING) * 120 * worked.conditions.frequency / case.motor.poles
    facts = {"source": MODEL, "found": speed, "limit": limit}
    facts |= {"margin": speed.low - limit, "unit": "rpm"}
    if share >= 0.95:
        why = f"At {volts:.0f} V it starts and runs up to about {speed.mid:.0f} rpm."
        return Check("starting on low voltage", PASS, why, **facts)
    why = f"At {volts:.0f} V it fails to start or to run up in {1 - share:.0%} of the cases worked."
    return Check("starting on low voltage", FAIL, why, **facts)


CHECKS = (
    plate, voltage, phase, frequency, full_load_amps, running_amps, capacitor, capacitor_voltage,
    starting,
)  # fmt: skip
