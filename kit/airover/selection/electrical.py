"""Evaluate the electrical rules for the supply, amps, capacitor and starting."""

from operator import attrgetter

import numpy as np

from airover.core.intervals import Band, median
from airover.model.conditions import HOURS_A_YEAR
from airover.model.simulation import SLIP_RUNNING, USUAL
from airover.records.limits import LIMITS
from airover.selection.check import (
    ADAPT,
    FAIL,
    MISSING,
    MODEL,
    NOTE,
    PASS,
    UNJUDGED,
    Rule,
    RuleResult,
)
from airover.selection.comparison import SAME_RATING, Comparison

CURRENT_TOLERANCE, CURRENT_STRICT = LIMITS["full_load_amps"].usual, 0.05
LIKELY = 0.50  # fraction of the samples in which the running amps exceed their limit


def listed(at: Comparison) -> RuleResult:
    """Reject a misprinted catalog row, so that the motor is never offered."""
    met = at.per_sample(at.simulation.rated.met, fill=True).all(axis=1)
    return RuleResult(np.where(met, "possible", "impossible").astype(object))


def nameplate(at: Comparison) -> RuleResult:
    """Check that the values on the old nameplate agree with each other and with the supply."""
    doubts, old, supply = at.nameplate.doubts(), at.nameplate.voltage, at.job.site.voltage
    if doubts:
        first = doubts[0]
        limit = first.low if first.found < first.low else first.high
        return RuleResult(at.all(first.code.replace(" ", "_")), found=first.found, limit=limit)
    if None not in (old, supply):  # one of the values was misread
        other = at.limits.supply_difference
        low, high = (1 - other) * old.low, (1 + other) * old.high
        if not low <= supply.mid <= high:
            facts = {"supply": (supply.mid, "voltage"), "old": (old.text, "")}
            limit = low if supply.mid < low else high
            return RuleResult(at.all("other_supply"), found=supply.mid, limit=limit, facts=facts)
    return RuleResult(at.all("consistent"))


def voltage(at: Comparison) -> RuleResult:
    """Compare the supply with the motor's voltage range.

    The tolerance covers meter error and normal variation of the supply.
    """
    near = at.limits.supply_voltage
    takes_low, takes_high = at.columns.voltage_low, at.columns.voltage_high
    site, marked = at.job.site.voltage, at.nameplate.voltage
    facts = {"lowest": (takes_low, "voltage"), "highest": (takes_high, "voltage")}
    line = site or marked

    def outside(volts, share):
        return (volts < (1 - share) * takes_low) | (volts > (1 + share) * takes_high)

    low, usual, high = line.low, line.mid, line.high
    margin = np.minimum(low - takes_low, takes_high - high)
    limit = np.where(usual - takes_low < takes_high - usual, takes_low, takes_high)
    found = np.full(len(at.motors), usual)
    if site is None:
        covered = ~outside(low, 0) & ~outside(high, 0)
        none = (high < takes_low) | (low > takes_high)
        outcome = np.select([covered, none], ["unmeasured", "other_voltage"], "measure")
        facts |= {"from": (low, "voltage"), "to": (high, "voltage")}
        found = np.where(high < takes_low, high, low)
        limit = np.where(high < takes_low, takes_low, takes_high)
        return RuleResult(outcome.astype(object), found, limit, margin, facts)
    inside = ~outside(low, -near) & ~outside(high, -near)
    conditions = [inside, outside(usual, near), ~outside(low, 0) & ~outside(high, 0)]
    outcome = np.select(conditions, ["inside", "outside", "near"], "beyond")
    return RuleResult(outcome.astype(object), found, limit, margin, facts)


def frequency(at: Comparison) -> RuleResult:
    """Check that the rated frequency of the motor equals the supply frequency."""
    known = at.job.site.frequency or at.nameplate.frequency
    hertz = 60.0 if known is None else known.mid
    same = np.abs(at.columns.frequency - hertz) < 0.5
    return RuleResult(np.where(same, "same", "other").astype(object), at.columns.frequency, hertz)


def phase(at: Comparison) -> RuleResult:
    """Require a single-phase motor unless the old nameplate states three-phase."""
    phases = float(at.nameplate.phase or 1)
    same = at.columns.phase == phases
    return RuleResult(np.where(same, "same", "other").astype(object), at.columns.phase, phases)


def full_load_amps(at: Comparison) -> RuleResult:
    """Compare the old full-load amps with the full-load amps at the rating to use.

    Technicians compare the full-load amps first. If the job limits allow an increase of more than
    the usual 10 %, the result is a note about the branch circuit.
    """
    amps, old_amps, same = at.rated_current, at.nameplate.current, at.limits.full_load_amps
    facts = {"rating": (at.rating, "power")}
    if old_amps is None:
        return RuleResult(at.all("old_unknown"), amps, facts=facts)
    # remove floating-point error: 2.1 A must be exactly 5 % over 2.0 A
    share = np.round(amps / old_amps.mid - 1, 9)
    limit = Band(*(np.full(len(amps), (1 + step) * old_amps.mid) for step in (-same, 0, same)))
    facts |= {"share": (np.abs(share), "percent"), "old": (old_amps.mid, "current")}
    margin = same * old_amps.mid - np.abs(amps - old_amps.mid)
    old = at.nameplate.power
    same_size = np.ones(len(amps), bool) if old is None else at.rating >= SAME_RATING * old.mid
    below, above = share < -same, share > same
    outcome = np.select(
        [
            np.full(len(amps), at.old_current is None),
            np.abs(share) <= min(CURRENT_STRICT, same),
            (share > CURRENT_TOLERANCE) & ~above,
            ~below & ~above,
            above & at.below_top,
            np.full(len(amps), old is None),
            below & same_size,
            below,
        ],
        [
            "doubtful",
            "same",
            "higher_allowed",
            "within",
            "lower_rating",
            "hp_unknown",
            "lower",
            "smaller",
        ],
        "higher",
    )
    return RuleResult(outcome.astype(object), amps, limit, margin, facts)


def running_amps(at: Comparison) -> RuleResult:
    """Compare the expected amps with the nameplate amps."""
    current, rated = at.band("current_a"), at.rated_current
    samples = at.per_sample(at.simulation.figures["current_a"][USUAL])
    power = at.band("power_in_w")
    most = (1 + at.limits.running_amps) * rated
    over = np.mean(samples > most[:, None], axis=1) > LIKELY
    facts = {"volts": (float(at.conditions.voltage[USUAL]), "voltage"),
             "rating": (at.rating, "power")}  # fmt: skip
    failed = at.simulation.failed
    outcome = np.where(over, "over", "expected")
    if failed is not None:
        old = median(failed.figures["power_in_w"][USUAL])
        energy = (power.mid - old) * HOURS_A_YEAR / 1000
        facts |= {"more": (np.abs(energy), "count"), "hours": (HOURS_A_YEAR, "count")}
        costs = np.round(np.abs(energy)) >= 10
        outcome = np.select(
            [over, costs & (energy > 0), costs], ["over", "more", "less"], "expected"
        )
    outcome = np.where(at.simulated, outcome, UNJUDGED).astype(object)
    return RuleResult(outcome, current, rated, rated - current.mid, facts, samples <= most[:, None])


def capacitor(at: Comparison) -> RuleResult:
    """Compare the run capacitor that the motor requires with the old capacitor."""
    new, old = at.columns.capacitor, at.nameplate.capacitor
    facts = {"volts": (at.columns.capacitor_voltage, "voltage")}
    if old is not None:
        facts["old"] = (old.fan_text, "")
    unlisted = np.isnan(new)
    if old is None:
        outcome = np.where(unlisted, "unlisted", "old_unknown").astype(object)
        return RuleResult(outcome, 1e6 * new, facts=facts)
    same = np.abs(new / old.mid - 1) <= at.limits.capacitance
    outcome = np.select([unlisted, same], ["unlisted", "same"], "other").astype(object)
    return RuleResult(outcome, 1e6 * new, 1e6 * old.mid, -1e6 * np.abs(new - old.mid), facts)


def capacitor_voltage(at: Comparison) -> RuleResult:
    """Check the capacitor voltage with this fan."""
    found, limit = at.band("capacitor_v"), at.columns.capacitor_voltage
    most = (1 + at.limits.capacitor_voltage) * limit
    outcome = np.select(
        [~at.simulated, np.isnan(limit), found.mid <= most],
        [UNJUDGED, "unlisted", "enough"],
        "higher",
    )
    facts = {"marked": (limit, "voltage")}
    return RuleResult(outcome.astype(object), found, most, most - found.mid, facts)


def starting(at: Comparison) -> RuleResult:
    """Check that the motor starts and reaches a stable speed at its lowest rated voltage.

    A motor is not rejected if the failed motor was no better.
    """
    runs = at.per_sample(at.simulation.runs_low, fill=False)
    share, failed = runs.mean(axis=1), at.simulation.failed
    speed = Band.of(at.per_sample(at.simulation.speed_low))
    limit = (1 - SLIP_RUNNING) * 120 * at.columns.frequency / at.columns.poles
    like_old = np.zeros(len(share), bool)
    if failed is not None:
        like_old = share >= failed.runs_low.mean() - 0.05
        runs = runs | ~failed.runs_low
    outcome = np.select(
        [
            ~at.simulated,
            share >= 1 - at.limits.question_risk,
            like_old,
            share >= 1 - at.limits.rejection_risk,
        ],
        [UNJUDGED, "starts", "like_old", "may_not"],
        "does_not",
    )
    facts = {"volts": (at.columns.voltage_low, "voltage"), "share": (1 - share, "percent")}
    return RuleResult(outcome.astype(object), speed, limit, speed.mid - limit, facts, runs)


RULES = (
    Rule(
        "catalog's plate",
        listed,
        {"possible": PASS, "impossible": FAIL},
        simulated=True,
        source=MODEL,
    ),
    Rule(
        "nameplate",
        nameplate,
        {
            "consistent": PASS,
            "power_factor": MISSING,
            "speed": MISSING,
            "poles": MISSING,
            "capacitor": MISSING,
            "other_supply": MISSING,
        },
        needs=attrgetter("nameplate", "site.voltage"),
        kind="times",
        priority=0,
        limits=("supply_difference",),
    ),
    Rule(
        "voltage",
        voltage,
        {
            "inside": PASS,
            "near": NOTE,
            "beyond": MISSING,
            "outside": FAIL,
            "unmeasured": PASS,
            "measure": MISSING,
            "other_voltage": FAIL,
        },
        needs=attrgetter("site.voltage", "nameplate.voltage"),
        source="supply_voltage",
        unit="V",
        kind="voltage",
        priority=1,
        limits=("supply_voltage",),
    ),
    Rule(
        "number of phases",
        phase,
        {"same": PASS, "other": FAIL},
        needs=attrgetter("nameplate.phase"),
        kind="count",
    ),
    Rule(
        "frequency",
        frequency,
        {"same": PASS, "other": FAIL},
        needs=attrgetter("site.frequency", "nameplate.frequency"),
        unit="Hz",
        kind="frequency",
    ),
    Rule(
        "full-load amps",
        full_load_amps,
        {
            "same": PASS,
            "within": PASS,
            "higher_allowed": NOTE,
            "lower": NOTE,
            "lower_rating": NOTE,
            "higher": ADAPT,
            "smaller": NOTE,
            "hp_unknown": MISSING,
            "old_unknown": NOTE,
            "doubtful": NOTE,
        },
        unit="A",
        kind="amps",
        priority=3,
        limits=("full_load_amps",),
    ),
    Rule(
        "running amps",
        running_amps,
        {"expected": NOTE, "more": NOTE, "less": NOTE, "over": MISSING},
        simulated=True,
        source=MODEL,
        unit="A",
        kind="amps",
        priority=8,
        limits=("running_amps",),
    ),
    Rule(
        "capacitor",
        capacitor,
        {"same": PASS, "other": ADAPT, "old_unknown": NOTE, "unlisted": MISSING},
        needs=attrgetter("nameplate.capacitor"),
        unit="uF",
        kind="microfarad",
        priority=12,
        limits=("capacitance",),
    ),
    Rule(
        "capacitor voltage",
        capacitor_voltage,
        {"enough": PASS, "higher": ADAPT, "unlisted": NOTE},
        simulated=True,
        source="capacitor_voltage",
        unit="V",
        kind="voltage",
        limits=("capacitor_voltage",),
    ),
    Rule(
        "starting on low voltage",
        starting,
        {"starts": PASS, "like_old": NOTE, "may_not": MISSING, "does_not": FAIL},
        simulated=True,
        source="supply_voltage",
        unit="rpm",
        kind="speed",
        priority=6,
        limits=("question_risk", "rejection_risk"),
    ),
)
