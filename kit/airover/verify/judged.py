"""Each reading beside what was expected before it, and beside what the nameplate allows."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.message import Message, Quantity
from airover.motor.expected import OVER_PLATE
from airover.motor.supply import voltage_limits
from airover.verify.inferred import SCALED, MeterReading, worked_value
from airover.verify.readings import READINGS, Simulated

AGREES, DIFFERS, OPEN = "agrees", "differs", "cannot tell yet"
BAND_90, BAND_99 = 1.6449, 2.5758  # deviations on either side


class JudgedReading(NamedTuple):
    """One comparison: ``name`` and ``moment`` of the reading, its ``text``, ``value`` and the
    ``limit`` of its error; ``against`` "expected" or "plate"; from ``low`` to ``high`` [SI unit of
    ``kind``] it agrees. ``state`` is AGREES, DIFFERS or OPEN, ``why`` says so."""

    name: str
    moment: int
    text: str
    value: float
    limit: float
    against: str
    low: float | None
    high: float | None
    kind: str
    state: str
    why: Message


class Remark(NamedTuple):
    """What was seen, or calculated from several readings: ``topic``, ``state``, ``sentence``."""

    topic: str
    state: str
    sentence: Message


def expected_band(before: Simulated, one: MeterReading, deviations=BAND_90) -> Band:
    """Range that the meter would show of the motor as expected [SI], its error included; 90 % by
    default."""
    samples = before.readings[one.name][one.moment, 0, before.runs[0]]
    samples = np.log(samples) if one.name in SCALED else samples
    centre, wide = samples.mean(), np.hypot(samples.std(), worked_value(one)[1])
    ends = (centre - deviations * wide, centre, centre + deviations * wide)
    return Band(*map(float, np.exp(ends) if one.name in SCALED else ends))


def against_expected(before: Simulated, one: MeterReading) -> JudgedReading:
    """Inside the 90 % range it agrees; outside the 99 % range it differs; between it is open."""
    band, wide = expected_band(before, one), expected_band(before, one, BAND_99)
    state = AGREES if band.low <= one.value <= band.high else OPEN
    if not wide.low <= one.value <= wide.high:
        state = DIFFERS
    outcome = "above" if one.value > band.high else "below"
    outcome = {AGREES: AGREES, OPEN: f"{outcome}_little", DIFFERS: outcome}[state]
    kind = READINGS[one.name].kind
    name, span = Message(f"verify.begun.{one.name}"), Quantity(band, kind)
    why = Message(f"verify.expected.{outcome}", name=name, text=one.text, span=span)
    return _judged(one, "expected", band.low, band.high, state, why)


def within(value: float, limit: float, low, high) -> str:
    """AGREES or DIFFERS where the meter's error cannot change it, else OPEN."""
    low = -np.inf if low is None else low
    high = np.inf if high is None else high
    if low <= value - limit and value + limit <= high:
        return AGREES
    return DIFFERS if value + limit < low or value - limit > high else OPEN


def volts(one: MeterReading, voltage_low: float, voltage_high: float) -> JudgedReading:
    """Supply voltage within 10 % of the nameplate's."""
    low, high = voltage_limits(voltage_low, voltage_high)
    state = within(one.value, one.limit, low, high)
    span = Quantity(Band(low, (low + high) / 2, high), "voltage")
    why = _plate_message("volts", one, state, low, text=one.text, span=span)
    return _judged(one, "plate", low, high, state, why)


def amps(one: MeterReading, current: float) -> JudgedReading:
    """Amps up to the nameplate's agree; above it the trade's 10 % includes the meter's error."""
    high, rated = OVER_PLATE * current, Quantity(current, "current")
    if one.value <= current:
        why = Message("verify.plate_amps.within", text=one.text, rated=rated)
        return _judged(one, "plate", None, high, AGREES, why)
    state = within(one.value, one.limit, None, high)
    most = Quantity(high, "current")
    why = _plate_message("amps", one, state, text=one.text, rated=rated, high=most)
    return _judged(one, "plate", None, high, state, why)


def air(one: MeterReading, temp_ambient: float) -> JudgedReading:
    """Air at the motor against its ambient rating."""
    state = within(one.value, one.limit, None, temp_ambient)
    limit = Quantity(temp_ambient, "temperature")
    why = _plate_message("air", one, state, text=one.text, limit=limit)
    return _judged(one, "plate", None, temp_ambient, state, why)


def winding(one: MeterReading, limit: float) -> JudgedReading:
    """Average of the main winding against what its class allows at its rated ambient."""
    state = within(one.value, one.limit, None, limit)
    found, allowed = Quantity(one.value, "temperature"), Quantity(limit, "temperature")
    why = _plate_message("winding", one, state, found=found, limit=allowed)
    return _judged(one, "plate", None, limit, state, why)


def overload(power_out: Band, power) -> list[Remark]:
    """Remark on the inferred ``power_out`` [W] against the nameplate's, if that is known."""
    if power is None:
        return []
    most = OVER_PLATE * power
    state = DIFFERS if power_out.low > most else OPEN if power_out.mid > most else AGREES
    key = "shaft_over" if state == DIFFERS else "shaft_more" if power_out.mid > power else "shaft"
    sentence = Message(
        f"verify.seen.{key}",
        span=Quantity(power_out, "watts"),
        named=Quantity(power, "power"),
        rated=Quantity(power, "watts"),
    )
    return [Remark("shaft power", state, sentence)]


def _judged(one: MeterReading, against: str, low, high, state: str, why: Message) -> JudgedReading:
    kind = READINGS[one.name].kind
    return JudgedReading(
        one.name, one.moment, one.text, one.value, one.limit, against, low, high, kind, state, why
    )


def _plate_message(what: str, one: MeterReading, state: str, least=None, **values) -> Message:
    outcome = {AGREES: "agrees", OPEN: "open", DIFFERS: "above"}[state]
    if state == DIFFERS and least is not None and one.value < least:
        outcome = "below"
    return Message(f"verify.plate_{what}.{outcome}", **values)
