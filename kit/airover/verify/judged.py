"""Each reading beside what was expected before it, and beside what the plate allows."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.motor.supply import VOLTAGE_SOURCE, voltage_limits
from airover.units import show
from airover.verify.inferred import SCALED, Taken, worked_value
from airover.verify.readings import READINGS, Simulated, told

AGREES, DIFFERS, OPEN = "agrees", "differs", "cannot tell yet"
BAND_90, BAND_99 = 1.6449, 2.5758  # deviations on either side
OVER_PLATE = 1.10  # amps, and watts at the shaft, over the plate's: common practice, no source


class Judged(NamedTuple):
    """One comparison: ``name`` and ``moment`` of the reading, its ``text``, ``value`` and the
    ``limit`` of its error; ``against`` "expected" or "plate"; from ``low`` to ``high`` [SI unit
    of ``kind`` in units] it agrees. ``state`` is AGREES, DIFFERS or OPEN, ``why`` a sentence."""

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
    why: str


def expected_band(before: Simulated, one: Taken, deviations=BAND_90) -> Band:
    """What the meter would show of the motor as expected [SI]: 9 cases of 10, its errors in it."""
    draws = before.readings[one.name][one.moment, 0, before.runs[0]]
    draws = np.log(draws) if one.name in SCALED else draws
    centre, wide = draws.mean(), np.hypot(draws.std(), worked_value(one)[1])
    ends = (centre - deviations * wide, centre, centre + deviations * wide)
    return Band(*map(float, np.exp(ends) if one.name in SCALED else ends))


def against_expected(before: Simulated, one: Taken, system: str) -> Judged:
    """Within 9 cases of 10 it agrees; beyond 99 of 100 it differs; between nobody can tell."""
    band, wide = expected_band(before, one), expected_band(before, one, BAND_99)
    state = AGREES if band.low <= one.value <= band.high else OPEN
    if not wide.low <= one.value <= wide.high:
        state = DIFFERS
    shown = READINGS[one.name]
    low, high = (told(shown.kind, end, system) for end in (band.low, band.high))
    why = f"{_named(one)} {one.text}: {low} to {high} was expected, the meter's error in it"
    if state != AGREES:
        side = "above" if one.value > band.high else "below"
        why += f"; {side} that" + ("" if state == DIFFERS else ", but not by much")
    return Judged(
        one.name, one.moment, one.text, one.value, one.limit, "expected", band.low, band.high,
        shown.kind, state, f"{why}.",
    )  # fmt: skip


def _named(one: Taken) -> str:
    return READINGS[one.name].words.capitalize()


def within(value: float, limit: float, low, high) -> str:
    """AGREES or DIFFERS where the meter's error cannot change it, else OPEN."""
    low = -np.inf if low is None else low
    high = np.inf if high is None else high
    if low <= value - limit and value + limit <= high:
        return AGREES
    return DIFFERS if value + limit < low or value - limit > high else OPEN


def volts(one: Taken, voltage_low: float, voltage_high: float) -> Judged:
    """Line volts within 10 % of the plate's."""
    low, high = voltage_limits(voltage_low, voltage_high)
    state = within(one.value, one.limit, low, high)
    why = (
        f"Volts {one.text}: the motor is made for {low:.0f} to {high:.0f} V, the plate's volts and "
        f"10 % either side ({VOLTAGE_SOURCE})"
    )
    return _plate(one, low, high, state, why + _end(state, one, low, high))


def amps(one: Taken, current: float) -> Judged:
    """Amps up to the nameplate's agree; above it the trade's 10 % includes the meter's error."""
    high = OVER_PLATE * current
    state = AGREES if one.value <= current else within(one.value, one.limit, None, high)
    why = f"Amps {one.text}: the plate says {current:g} A"
    if one.value > current:
        why += f", and the trade lets up to 10 % more, {high:.2f} A, pass (common practice)"
    return _plate(one, None, high, state, why + _end(state, one, None, high))


def air(one: Taken, temp_ambient: float, system: str) -> Judged:
    """Air at the motor against its ambient rating."""
    state = within(one.value, one.limit, None, temp_ambient)
    rated = show(temp_ambient, "temperature", system)
    why = f"Air at the motor {one.text}: its plate allows {rated}"
    return _plate(one, None, temp_ambient, state, why + _end(state, one, None, temp_ambient))


def winding(one: Taken, limit: float, system: str) -> Judged:
    """Average of the main winding against what its class allows at its rated ambient."""
    state = within(one.value, one.limit, None, limit)
    shown = show(one.value, "temperature", system)
    why = f"Main winding {shown} by resistance: its class allows an average of "
    why += show(limit, "temperature", system)
    return _plate(one, None, limit, state, why + _end(state, one, None, limit))


class Remark(NamedTuple):
    """What was seen, or worked out of several readings: ``topic``, ``state``, ``sentence``."""

    topic: str
    state: str
    sentence: str


def overload(power_out: Band, power, system: str) -> list[Remark]:
    """The inferred ``power_out`` [W] against the plate's."""
    if power is None:
        return []
    most = OVER_PLATE * power
    state = DIFFERS if power_out.low > most else OPEN if power_out.mid > most else AGREES
    low, high, rated = (f"{watts:.0f} W" for watts in (power_out.low, power_out.high, power))
    named = show(power, "power", system)
    said = f"its shaft gives {low} to {high}; its plate says {named}, {rated}"
    if state == DIFFERS:
        said += ": overloaded by more than 10 %"
    elif power_out.mid > power:
        said += ": more than its plate's"
    return [Remark("shaft power", state, f"{said}.")]


def _plate(one: Taken, low, high, state: str, why: str) -> Judged:
    kind = READINGS[one.name].kind
    return Judged(
        one.name, one.moment, one.text, one.value, one.limit, "plate", low, high, kind, state,
        f"{why}.",
    )  # fmt: skip


def _end(state: str, one: Taken, low, high) -> str:
    if state == AGREES:
        return ""
    if state == OPEN:
        return "; the meter's error leaves that open"
    return "; below that" if low is not None and one.value < low else "; above that"
