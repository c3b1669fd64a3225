"""Evaluate the rules for mechanical fit."""

from operator import attrgetter

import numpy as np

from airover.records.nameplate import LEAD_END, REVERSIBLE, from_shaft_end
from airover.selection.check import ADAPT, FAIL, MISSING, NOTE, PASS, Rule, RuleResult
from airover.selection.comparison import Comparison, frame_number

LOW_END = {"up": "lead end", "down": "shaft end"}  # by shaft position
ENCLOSED = "totally enclosed air over"  # suitable for outdoor use regardless of the old motor


def _each(motors, outcome_of) -> np.ndarray:
    """Return the outcome for each motor as a single word."""
    return np.array([outcome_of(one) for one in motors], dtype=object)


def rotation(at: Comparison) -> RuleResult:
    """Compare the rotations as viewed from the shaft end."""
    has, needed = at.columns.rotation, at.rotation

    def outcome_of(one):
        if one is None:
            return "unlisted"
        if one == REVERSIBLE:
            return "reversible_look" if needed is None else "reversible"
        if needed is None:
            return "one_way"
        return "same" if one == needed else "wrong"

    # Viewed from the other end, the rotation is reversed.
    turned = None if needed is None else from_shaft_end(needed, LEAD_END)
    from_leads = [
        one if one in (None, REVERSIBLE) else from_shaft_end(one, LEAD_END) for one in has
    ]
    facts = {"needed_leads": (turned, ""), "found_leads": (from_leads, "")}
    return RuleResult(_each(has, outcome_of), list(has), needed, facts=facts)


def frame(at: Comparison) -> RuleResult:
    """Require the same frame number, or a smaller frame with a belly band."""
    old, new = frame_number(at.nameplate.frame), at.columns.frame
    banded = np.array(["belly band" in one for one in at.columns.mounting])
    if old is None:
        return RuleResult(at.all("old_unknown"), new)
    outcome = np.select(
        [np.isnan(new), new == old, (new < old) & banded], ["unlisted", "same", "smaller"], "other"
    )
    return RuleResult(outcome.astype(object), new, float(old))


def shaft_diameter(at: Comparison) -> RuleResult:
    """Check that the shaft fits the fan hub without play, or matches the old shaft diameter."""
    new, old = at.columns.shaft_diameter, at.job.blade.bore or at.nameplate.shaft_diameter
    if old is None:
        return RuleResult(at.all("old_unknown"), new)
    same = np.abs(new - old.mid) <= at.limits.shaft_clearance
    outcome = np.select([np.isnan(new), same], ["unlisted", "same"], "other").astype(object)
    return RuleResult(outcome, new, old.mid, new - old.mid)


def shaft_length(at: Comparison) -> RuleResult:
    """Check that the shaft is long enough for the fan position."""
    new, old = at.columns.shaft_length, at.nameplate.shaft_length
    if old is None:
        return RuleResult(at.all("old_unknown"), new)
    same = at.limits.shaft_length
    outcome = np.select(
        [np.isnan(new), new < old.low - same, new <= old.high + same],
        ["unlisted", "shorter", "same"],
        "longer",
    )
    return RuleResult(outcome.astype(object), new, old.mid, new - old.mid)


def body_length(at: Comparison) -> RuleResult:
    """Check the body length, which affects the fan position and the clearance."""
    new, old, room = at.columns.body_length, at.nameplate.body_length, at.job.site.max_body_length
    most = np.inf if room is None else room.high
    if old is None:
        known = "unmeasured" if room is None else "has_room"
        outcome = np.select([np.isnan(new), new > most], ["unlisted", "no_room"], known)
        limit = None if room is None else room.high
        return RuleResult(
            outcome.astype(object), new, limit, None if room is None else room.high - new
        )
    outcome = np.select(
        [np.isnan(new), new > most, new <= old.high + at.limits.body_length],
        ["unlisted", "no_room", "same"],
        "longer",
    )
    limit = np.where(new > most, most, old.mid)
    margin = np.where(new > most, most - new, new - old.mid)
    return RuleResult(outcome.astype(object), new, limit, margin)


def mounting(at: Comparison) -> RuleResult:
    """Require the same mounting as the old motor, or a belly band."""
    old = at.nameplate.mounting

    def outcome_of(offered):
        if not offered:
            return "unlisted"
        if old is None:
            return "old_unknown"
        if old in offered:
            return "same"
        return "band" if "belly band" in offered else "other"

    found = [offered or None for offered in at.columns.mounting]
    return RuleResult(_each(at.columns.mounting, outcome_of), found, old)


def shaft_position(at: Comparison) -> RuleResult:
    """Check that the motor may be installed in the old motor's shaft position."""
    old = at.nameplate.shaft_position

    def outcome_of(allowed):
        if len(allowed) == 3:
            return "every_angle"
        if not allowed:
            return "unlisted"
        if old is None:
            return "old_unknown"
        return "allowed" if old in allowed else "wrong"

    found = [allowed or None for allowed in at.columns.shaft_positions]
    return RuleResult(_each(at.columns.shaft_positions, outcome_of), found, old)


def drain_plugs(at: Comparison) -> RuleResult:
    """Check that water can drain from the low end of the motor."""
    position, old = at.nameplate.shaft_position, at.nameplate.drain_plugs
    low = LOW_END.get(position)

    def outcome_of(has):
        if has is None:
            return "unlisted"
        if has == "none":
            return "none_like_old" if old == "none" else "none" if old else "none_ask"
        if position == "horizontal":
            return "horizontal"
        if low is None:
            return "look" if has == "both ends" else "one_end"
        if has in ("both ends", low):
            return "low_end"
        return "wrong_end_like_old" if old == has else "wrong_end"

    has = at.columns.drain_plugs
    return RuleResult(_each(has, outcome_of), list(has), low, facts={"position": (position, "")})


def enclosure(at: Comparison) -> RuleResult:
    """Require a totally enclosed air-over motor, or the same enclosure as the old motor."""
    old = at.nameplate.enclosure

    def outcome_of(new):
        if new == ENCLOSED:
            return "enclosed"
        if new is None:
            return "unlisted"
        if old is None:
            return "old_unknown"
        return "same" if new == old else "other"

    new = at.columns.enclosure
    return RuleResult(_each(new, outcome_of), list(new), old)


def bearings(at: Comparison) -> RuleResult:
    """Report the bearing types of the new motor and the old motor."""
    return RuleResult(at.all("kind"), list(at.columns.bearings), at.nameplate.bearings)


def protector(at: Comparison) -> RuleResult:
    """Check for a thermal overload protector, which prevents winding burnout if the fan stalls."""
    has = at.columns.protector
    outcome = _each(
        has, lambda one: "unlisted" if one is None else "none" if one == "none" else "has"
    )
    return RuleResult(outcome, list(has))


RULES = (
    Rule(
        "rotation",
        rotation,
        {
            "same": PASS,
            "reversible": PASS,
            "reversible_look": NOTE,
            "one_way": MISSING,
            "wrong": FAIL,
            "unlisted": MISSING,
        },
        needs=attrgetter(
            "nameplate.rotation",
            "nameplate.rotation_seen_from",
            "blade.rotation",
            "blade.rotation_seen_from",
        ),
        priority=7,
    ),
    Rule(
        "frame",
        frame,
        {"same": PASS, "smaller": ADAPT, "other": FAIL, "old_unknown": NOTE, "unlisted": MISSING},
        needs=attrgetter("nameplate.frame"),
        kind="count",
        priority=14,
    ),
    Rule(
        "shaft diameter",
        shaft_diameter,
        {"same": PASS, "other": FAIL, "old_unknown": MISSING, "unlisted": MISSING},
        needs=attrgetter("nameplate.shaft_diameter", "blade.bore"),
        unit="m",
        kind="shaft_diameter",
        priority=10,
        limits=("shaft_clearance",),
    ),
    Rule(
        "shaft length",
        shaft_length,
        {
            "same": PASS,
            "longer": ADAPT,
            "shorter": FAIL,
            "old_unknown": MISSING,
            "unlisted": MISSING,
        },
        needs=attrgetter("nameplate.shaft_length"),
        unit="m",
        kind="shaft_length",
        priority=13,
        limits=("shaft_length",),
    ),
    Rule(
        "body length",
        body_length,
        {
            "same": PASS,
            "has_room": PASS,
            "longer": ADAPT,
            "no_room": FAIL,
            "unmeasured": NOTE,
            "unlisted": NOTE,
        },
        needs=attrgetter("nameplate.body_length", "site.max_body_length"),
        unit="m",
        kind="body_length",
        limits=("body_length",),
    ),
    Rule(
        "mounting",
        mounting,
        {"same": PASS, "band": ADAPT, "other": FAIL, "old_unknown": MISSING, "unlisted": MISSING},
        needs=attrgetter("nameplate.mounting"),
        priority=11,
    ),
    Rule(
        "shaft position",
        shaft_position,
        {
            "every_angle": PASS,
            "allowed": PASS,
            "wrong": FAIL,
            "old_unknown": MISSING,
            "unlisted": MISSING,
        },
        needs=attrgetter("nameplate.shaft_position"),
        priority=9,
    ),
    Rule(
        "drain plugs",
        drain_plugs,
        {
            "low_end": PASS,
            "horizontal": PASS,
            "look": PASS,
            "one_end": MISSING,
            "none": FAIL,
            "none_ask": MISSING,
            "none_like_old": NOTE,
            "wrong_end": FAIL,
            "wrong_end_like_old": NOTE,
            "unlisted": MISSING,
        },
        needs=attrgetter("nameplate.shaft_position", "nameplate.drain_plugs"),
        priority=15,
    ),
    Rule(
        "enclosure",
        enclosure,
        {
            "enclosed": PASS,
            "same": PASS,
            "other": FAIL,
            "old_unknown": MISSING,
            "unlisted": MISSING,
        },
        needs=attrgetter("nameplate.enclosure"),
        priority=8,
    ),
    Rule(
        "thermal protector",
        protector,
        {"has": PASS, "none": FAIL, "unlisted": MISSING},
        needs=lambda job: None,
        priority=16,
    ),
    Rule("bearing kind", bearings, {"kind": NOTE}, needs=attrgetter("nameplate.bearings")),
)
