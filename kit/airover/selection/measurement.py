"""Find the single measurement that could change the recommendation.

The recommended motor depends on the check with the highest risk of failing. The margin of this
check is uncertain, and a reading that varies with the margin reduces the uncertainty. The share that
a reading explains is the squared rank correlation with the margin over all samples, reduced by the
error of the meter. The reading at which the motor would be rejected is found with a straight line
through the samples. If it is outside the 90 % range of the reading, the reading cannot change the
recommendation.

A missing fact that could reject the motor, such as the rotation, comes first. A reading that is
possible before ordering is preferred to a reading on the new motor. A reading that reduces the
margin at both ends of its range, such as the supply voltage of some motors, gets too small a share.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band, median, quantile
from airover.core.message import Message, Quantity
from airover.model.identify import (
    CURRENT_METER,
    POWER_METER,
    TACHOMETER,
    THERMOMETER,
    VOLTAGE_METER,
)
from airover.model.simulation import HIGH, LOW, SLIP_RUNNING, USUAL
from airover.records.found import Found
from airover.selection.check import FAIL, MISSING
from airover.selection.rules import DOES_NOT_FIT, Candidate, Case

BEFORE, AFTER = "before", "after"  # ordering
FACT, NONE = "fact", "none"
# A supply voltage that was not measured lies between its limits, with weights of 1, 4 and 1
# (Simpson's rule for a uniform distribution).
UNMEASURED = [LOW, USUAL, USUAL, USUAL, USUAL, HIGH]
LEAST_SHARE = 0.25  # a reading that explains less does not settle a check
# Standard deviations of one reading. Engineering judgment, no source.
AIRFLOW_METER = 0.10  # fraction, traverse with an anemometer
TAPE = 0.005  # fraction of the fan diameter
WINDING_READ = 1.5  # K, resistance method
# Findings on an old motor that cannot be run for a reading.
CANNOT_RUN = ("seized", "open winding", "shorted turns", "grounded", "hums, won't start", "dead")


class Reading(NamedTuple):
    """Quantity that a technician can measure.

    Attributes
    ----------
    name : str
        Key under ``measurement.reading`` in the text files.
    when : str
        BEFORE or AFTER ordering.
    kind : str
        Type of quantity.
    values : ndarray
        True values, shape (samples,) or (voltages, samples).
    error : float
        Standard deviation of the reading.
    """

    name: str
    when: str
    kind: str
    values: np.ndarray
    error: float


@dataclass(frozen=True)
class Decisive:
    """Measurement that could change the recommendation most.

    Attributes
    ----------
    when : str
        BEFORE or AFTER ordering, FACT for a missing fact, or NONE.
    check : str
        Name of the check that depends on the measurement, or "".
    reading : str
        Name of the reading, or "".
    share : float or None
        Fraction of the variation of the margin that the reading explains.
    limit : Quantity or None
        Reading beyond which the motor would be rejected.
    fails : str
        Side of the limit on which the motor would be rejected: "above", "below" or "".
    """

    when: str = NONE
    check: str = ""
    reading: str = ""
    share: float | None = None
    limit: Quantity | None = None
    fails: str = ""

    @property
    def message(self) -> Message:
        """Sentence for the technician."""
        if self.when == NONE:
            return Message("measurement.none")
        check = Message(f"check.{self.check}")
        if self.when == FACT:
            return Message("measurement.fact", check=check)
        return Message(
            f"measurement.{self.when}.{self.fails}",
            reading=Message(f"measurement.reading.{self.reading}"),
            share=Quantity(self.share, "percent"),
            check=check,
            limit=self.limit,
        )


def decisive_measurement(candidate: Candidate, seen: Found) -> Decisive:
    """Return the measurement that could change the recommendation of a motor most.

    ``seen`` contains the findings on the failed motor.
    """
    if facts := _missing_facts(candidate):
        return Decisive(FACT, facts[0])
    check = closest_check(candidate)
    if check is None:
        return Decisive()
    case, levels = candidate.case, _levels(candidate.case)
    margin = _spread_out(margins(case, levels)[check], case)
    found = [_decides(one, margin, check, case) for one in readings(case, levels, seen)]
    for when in (BEFORE, AFTER):
        able = [one for one in found if one.when == when]
        if able:
            return max(able, key=lambda one: one.share)
    return Decisive()


def _missing_facts(candidate: Candidate) -> list[str]:
    """Return the checks for which a missing fact could reject the motor, most decisive first."""
    if candidate.verdict == DOES_NOT_FIT:
        return []
    judged, missing = candidate.judged, {check.name for check in candidate.having(MISSING)}
    rules = [
        rule
        for rule, found in zip(judged.rules, judged.found, strict=True)
        if rule.name in missing and FAIL in rule.states.values() and found.passes is None
    ]
    return [rule.name for rule in sorted(rules, key=lambda rule: rule.priority)]


def closest_check(candidate: Candidate) -> str | None:
    """Return the check with the highest risk, or None if no check depends on a measurement.

    Checks that a motor passes because the failed motor was no better are left out. If a motor is
    rejected, the check is the only one that it fails.
    """
    case = candidate.case
    if case.row is None:
        return None
    usual, spread = margins(case, [USUAL]), margins(case, _levels(case))
    risks = {}
    for name, margin in usual.items():
        passes = candidate.judged.of(name).passes[case.number]
        excused = np.any(passes & (_spread_out(margin, case, 1) < 0))
        if not excused and not np.isnan(margin).any():
            risks[name] = float(np.mean(_spread_out(spread[name], case) < 0))
    if failed := [check.name for check in candidate.having(FAIL)]:
        return failed[0] if len(failed) == 1 and failed[0] in risks else None
    return max(risks, key=risks.get, default=None)


def _decides(reading: Reading, margin: np.ndarray, check: str, case: Case) -> Decisive:
    """Return the share and the limit of a reading, or NONE if it cannot change the verdict."""
    read = _spread_out(reading.values, case)
    variance = float(np.var(read))
    if variance <= reading.error**2:
        return Decisive()
    slope, start = np.polyfit(read, margin, 1)
    others = margin - start - slope * read
    limit = -(start + quantile(others, case.at.limits.rejection_risk)) / slope
    low, _, high = Band.of(read)
    if not low < limit < high:
        return Decisive()
    correlation = np.corrcoef(_ranks(read), _ranks(margin))[0, 1]
    share = correlation**2 * variance / (variance + reading.error**2)
    if share < LEAST_SHARE:
        return Decisive()
    fails = "above" if slope < 0 else "below"
    limit = Quantity(float(limit), reading.kind)
    return Decisive(reading.when, check, reading.name, float(share), limit, fails)


def _ranks(values: np.ndarray) -> np.ndarray:
    """Return the rank of each value. Equal values share their average rank."""
    _, place, count = np.unique(values, return_inverse=True, return_counts=True)
    return (np.cumsum(count) - (count - 1) / 2)[place]


def _levels(case: Case) -> list[int]:
    """Return the supply voltages that are possible, as indices on the voltage axis."""
    return UNMEASURED if case.job.site.voltage is None else [USUAL]


def _spread_out(values, case: Case, levels: int | None = None) -> np.ndarray:
    """Return ``values`` for every possible voltage and sample, as one axis."""
    count = len(_levels(case)) if levels is None else levels
    return np.broadcast_to(values, (count, case.conditions.samples)).ravel()


def margins(case: Case, levels) -> dict[str, np.ndarray]:
    """Return the margins of a simulated motor in the checks that depend on samples.

    Arrays have shape (samples,) or (levels, samples) and the unit of the check. A negative margin
    fails the check. The values are NaN if the catalog does not list the limit.
    """
    at, row, number = case.at, case.row, case.number
    simulation, conditions, limits = case.simulation, case.conditions, at.limits
    speed = simulation.speed_ratio[levels, row]
    if simulation.failed is not None:
        speed = speed / simulation.failed.speed_ratio[levels, 0]
    slowest = (1 - SLIP_RUNNING) * 120 * case.motor.frequency / case.motor.poles
    return {
        "shaft power": case.rating - conditions.shaft_power * (1 + limits.power_margin),
        "torque": simulation.reserve[row] - 1 - limits.torque_margin,
        "airflow": speed - limits.airflow,
        "ambient rating": at.columns.ambient[number] - conditions.temp_air,
        "winding temperature": at.winding_limit[number] - simulation.temp_winding[levels, row],
        "starting on low voltage": simulation.speed_low[row] - slowest,
    }


def readings(case: Case, levels, seen: Found) -> list[Reading]:
    """Return all readings that are possible on a job and on the new motor.

    Values that were entered for the job are left out.
    """
    job, conditions, simulation = case.job, case.conditions, case.simulation
    volts = conditions.voltage[levels][:, None]
    found = [
        Reading("air", BEFORE, "air_temperature", conditions.temp_air, THERMOMETER),
    ]
    if job.site.voltage is None:
        error = VOLTAGE_METER * conditions.voltage[USUAL]
        found.append(Reading("voltage", BEFORE, "voltage", volts, error))
    if job.site.airflow is None:
        error = AIRFLOW_METER * median(conditions.flow)
        found.append(Reading("airflow", BEFORE, "flow", conditions.flow, error))
    if job.blade.diameter is None:
        diameter = conditions.blade_diameter
        error = TAPE * median(diameter)
        found.append(Reading("diameter", BEFORE, "blade_diameter", diameter, error))
    stuck = {seen.bearings, seen.winding, seen.start} & set(CANNOT_RUN)
    if simulation.failed is not None and not stuck:
        found += _running("old", BEFORE, simulation.failed.figures, levels, 0)
    found += _running("new", AFTER, simulation.figures, levels, case.row)
    winding = simulation.temp_winding[levels, case.row]
    return [*found, Reading("winding", AFTER, "temperature", winding, WINDING_READ)]


def _running(motor: str, when: str, figures, levels, row: int) -> list[Reading]:
    """Return the readings on a running motor."""
    meters = (
        ("amps", "current_a", "current", CURRENT_METER),
        ("watts", "power_in_w", "watts", POWER_METER),
        ("speed", "speed_rpm", "speed", TACHOMETER),
    )
    found = []
    for name, figure, kind, meter in meters:
        values = figures[figure][levels, row]
        error = meter * median(values)
        found.append(Reading(f"{motor}_{name}", when, kind, values, error))
    return found
