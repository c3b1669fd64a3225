"""Findings on the failed motor, each compared with its marking or rating and put into one state."""

from collections.abc import Iterator

import numpy as np

from airover.bands import Band
from airover.cause.old_motor import Evidence
from airover.message import Message, Quantity
from airover.motor.supply import voltage_limits
from airover.records import Job
from airover.records.causes import (
    AS_RATED,
    DEAD,
    FAR_BELOW,
    HIGH_AMPS,
    HIGH_VOLTS,
    IN_RANGE,
    LOW_AMPS,
    LOW_VOLTS,
    STATES,
    TOO_LARGE,
    WEAK,
    WITHIN_TOLERANCE,
)
from airover.records.found import DEAD_BELOW

AGES = (36.0, 120.0)  # months that part the ages
# of the marked capacitance: common practice, no source; the marking's own tolerance decides
TOLERANCE, FAR, GONE = 0.10, 0.70, 0.10
AMPS_TOLERANCE = 0.10  # of the full-load amps, common practice, no source
SEEN = (
    "winding", "bearings", "inside", "drain_plugs", "slinger", "start", "trips", "blade", "coil",
    "leads", "supply", "rotation",
)  # fmt: skip


def findings(job: Job) -> Iterator[Evidence]:
    """Findings on the old motor of ``job``, each in one state, and what its nameplate says."""
    found = job.found
    for name in SEEN:
        state = getattr(found, name)
        if state is not None:
            yield _in_state(name, state, True)
    yield from _capacitor(job)
    yield from _current(job)
    yield from _voltage(job)
    if found.age is not None:
        yield _age(job)
    if found.earlier_failures is not None:
        count = found.earlier_failures
        yield _in_state("earlier_failures", "one or more" if count else "none", True)
    for finding, state in (
        ("shaft_position", job.nameplate.shaft_position),
        ("bearing_kind", job.nameplate.bearings),
    ):
        if state is not None:
            yield _in_state(finding, state, False)


def unused(job: Job) -> Iterator[Message]:
    """Sentences on readings of ``job`` that say nothing without another figure, or on more work."""
    found, plate = job.found, job.nameplate
    measured, marked = found.capacitor, plate.capacitor
    if found.capacitor_fault is None and measured is not None and _capacitor_state(job) is None:
        if marked is None:
            yield Message("failure.aside.no_marking", text=measured.text)
        else:
            near = {"text": measured.text, "marked": marked.compressor_text}
            yield Message("failure.aside.near_compressor", **near)
    if found.current is not None and plate.current is None:
        yield Message("failure.aside.no_rated_amps", text=found.current.text)
    if measured is not None and measured.is_dual and marked is not None and marked.is_dual:
        share = measured.compressor / marked.compressor
        if share < 1 - TOLERANCE:
            weak = Quantity(measured.compressor, "capacitance")
            yield Message(
                "failure.aside.compressor_weak", found=weak, marked=marked.compressor_text
            )


def _capacitor_state(job: Job) -> str | None:
    """State of the fan motor's capacitor by its reading; None where that cannot be known."""
    measured, marked = job.found.capacitor, job.nameplate.capacitor
    if measured.mid < DEAD_BELOW:
        return DEAD
    if marked is None:
        return None
    if marked.is_dual and not measured.is_dual:
        of_compressor = abs(measured.mid / marked.compressor - 1) < 1 - FAR
        if of_compressor and measured.mid > (1 + TOLERANCE) * marked.mid:
            return None
    share = measured.mid / marked.mid
    if share > 1 + TOLERANCE:
        return TOO_LARGE
    limits = ((1 - TOLERANCE, WITHIN_TOLERANCE), (FAR, WEAK), (GONE, FAR_BELOW))
    return next((state for least, state in limits if share >= least), DEAD)


def _capacitor(job: Job) -> Iterator[Evidence]:
    """The run capacitor by its reading, or by the fault that was seen."""
    measured, marked = job.found.capacitor, job.nameplate.capacitor
    if job.found.capacitor_fault is not None:
        said = Message(f"failure.said.capacitor_{job.found.capacitor_fault}")
        yield _in_state("capacitor", DEAD, True, said)
        return
    state = None if measured is None else _capacitor_state(job)
    if state is None:
        return
    reading = Quantity(measured.mid, "capacitance") if measured.is_dual else measured.text
    values = {"reading": reading, "state": _state("capacitor", state)}
    key = "capacitor"
    if marked is not None:
        key = "capacitor_of_dual" if marked.is_dual else "capacitor_of"
        values |= {"marked": marked.fan_text, "share": Quantity(measured.mid / marked.mid, "share")}
    said = Message(f"failure.said.{key}", **values)
    yield _in_state("capacitor", state, True, said)


def _current(job: Job) -> Iterator[Evidence]:
    """Running amps against the full-load amps, where both are known."""
    measured, rated = job.found.current, job.nameplate.current
    if measured is None or rated is None:
        return
    share = measured.mid / rated.mid
    state = HIGH_AMPS if share > 1 + AMPS_TOLERANCE else AS_RATED
    state = LOW_AMPS if share < 1 - 2 * AMPS_TOLERANCE else state
    said = Message("failure.said.current", text=measured.text, share=Quantity(share, "share"))
    yield _in_state("current", state, True, said)


def _voltage(job: Job) -> Iterator[Evidence]:
    """Supply voltage, logged or measured, against 10 % either side of the nameplate's."""
    log, rated = job.found.voltage or job.site.voltage, job.nameplate.voltage
    if log is None or rated is None:
        return
    low, high = voltage_limits(rated.low, rated.high)
    state = LOW_VOLTS if log.low < low else HIGH_VOLTS if log.high > high else IN_RANGE
    if log.low < low and log.high > high:  # the end that is farther off
        state = LOW_VOLTS if low - log.low > log.high - high else HIGH_VOLTS
    span = Quantity(Band(low, (low + high) / 2, high), "voltage")
    said = Message("failure.said.voltage", text=log.text, span=span)
    yield _in_state("voltage", state, True, said)


def _in_state(finding: str, state: str, seen: bool, said: Message | None = None) -> Evidence:
    shares = np.array([float(state == one) for one in STATES[finding]])
    if said is None and state == "open winding":
        said = Message("failure.said.open_winding")
    elif said is None:
        name = Message(f"failure.finding.{finding}")
        said = Message("failure.said.seen", finding=name, state=_state(finding, state))
    return Evidence(finding, shares, (said,), seen)


def _state(finding: str, state: str) -> Message:
    return Message(f"failure.state.{finding}.{state}")


def _age(job: Job) -> Evidence:
    """An age that is a range counts in parts, evenly."""
    age = job.found.age
    ends = np.clip([0.0, *AGES, np.inf], age.low, max(age.high, age.low))
    parts = np.diff(ends)
    if not age.is_range:
        parts = np.array([age.mid < AGES[0], AGES[0] <= age.mid < AGES[1], age.mid >= AGES[1]])
    said = Message("failure.said.age", text=age.text)
    return Evidence("age", parts / parts.sum(), (said,), True)
