"""Checks of what a hand can hold: size, shaft, mounting, rotation, position, drains."""

import re

from airover.choose.case import Case
from airover.choose.check import ADAPT, FAIL, MISSING, NOTE, PASS, TRADE, Check, same, unknown
from airover.records.rotation import LEAD_END, REVERSIBLE, from_shaft_end

SAME_DIAMETER = 0.0003  # m: the same nominal shaft
SAME_LENGTH = 0.003  # m
BODY_ROOM = 0.006  # m: a body longer by this still sits where the old one sat


def rotation(case: Case) -> Check:
    """Senses are compared as seen from the shaft end; plates mostly state the lead end."""
    has = case.motor.rotation_shaft_end
    needed = case.job.blade.rotation_shaft_end or case.job.nameplate.rotation_shaft_end
    shown = {"source": TRADE, "found": has, "limit": needed}
    if has is None:
        why = "The catalogue does not say its rotation and the end it is seen from: ask for both."
        return Check("rotation", MISSING, why, **shown)
    if needed is None or needed == REVERSIBLE:
        if has == REVERSIBLE:
            why = "Needed rotation unknown: see which way the blade throws air, then set the plug."
            return Check("rotation", ADAPT, why, **shown)
        why = f"It turns {_both_ends(has)} only; see which way the blade must turn."
        return Check("rotation", MISSING, why, **shown)
    if has == REVERSIBLE:
        sense = _both_ends(needed)
        why = f"Reversible: set the plug for {sense}, and look before the guard closes."
        return Check("rotation", PASS, why, **shown)
    if has == needed:
        return Check("rotation", PASS, f"Turns {_both_ends(has)} like the old one.", **shown)
    return Check("rotation", FAIL, f"Turns {_both_ends(has)} only, the wrong way.", **shown)


def _both_ends(sense: str) -> str:
    from_leads = from_shaft_end(sense, LEAD_END)  # seeing from the other end swaps the sense
    return f"{sense} seen from the shaft end ({from_leads} from the lead end)"


def frame(case: Case) -> Check:
    """The same frame number; a smaller one is carried by a belly band."""
    old, new = (_frame_number(text) for text in (case.job.nameplate.frame, case.motor.frame))
    band = "belly band" in case.motor.mounting
    if old and new and new < old and band:
        why = f"Frame {new} is smaller than {old}: a belly band with spacers carries it."
        return Check("frame", ADAPT, why, TRADE, new, old)
    return same("frame", new, old, f"Frame {new} does not fit where a frame {old} sat.")


def _frame_number(text: str) -> int | None:
    """Frame 48, 48Y and 48 frame have the same body."""
    digits = re.search(r"\d+", text)
    return int(digits[0]) if digits else None


def shaft_diameter(case: Case) -> Check:
    """The shaft sits in the blade's hub (or is as thick as the old one) without play."""
    new = case.motor.shaft_diameter
    old = case.job.blade.bore or case.job.nameplate.shaft_diameter
    facts = _lengths("shaft diameter", new, old)
    if isinstance(facts, Check):
        return facts
    sizes = f"{case.shown(new, 'shaft_diameter')} in a hub for {old.text}"
    if abs(new - old.mid) <= SAME_DIAMETER:
        return Check("shaft diameter", PASS, f"The same: {old.text}.", **facts)
    return Check("shaft diameter", FAIL, f"{sizes}: the hub has to sit without play.", **facts)


def shaft_length(case: Case) -> Check:
    """Long enough to keep the blade's height; a longer one is cut."""
    new, old = case.motor.shaft_length, case.job.nameplate.shaft_length
    facts = _lengths("shaft length", new, old)
    if isinstance(facts, Check):
        return facts
    sizes = f"{case.shown(new, 'shaft_length')} against the old {old.text}"
    if new < old.low - SAME_LENGTH:
        return Check("shaft length", FAIL, f"{sizes}: too short for the blade's height.", **facts)
    if new <= old.high + SAME_LENGTH:
        return Check("shaft length", PASS, f"{sizes}: the blade keeps its height.", **facts)
    why = f"{sizes}: mark the blade's height before removal and cut the shaft to it."
    return Check("shaft length", ADAPT, why, **facts)


def body_length(case: Case) -> Check:
    """A longer body moves the blade in its orifice, or meets the coil or the base."""
    new, old, room = (
        case.motor.body_length, case.job.nameplate.body_length, case.job.site.max_body_length,
    )  # fmt: skip
    if room is not None and new is not None and new > room.high:
        why = f"{case.shown(new, 'body_length')} long, there is room for {room.text}."
        return Check("body length", FAIL, why, TRADE, new, room.high, room.high - new, "m")
    facts = _lengths("body length", new, old)
    if isinstance(facts, Check):
        return facts
    sizes = f"{case.shown(new, 'body_length')} long against the old {old.text}"
    if new <= old.high + BODY_ROOM:
        return Check("body length", PASS, f"{sizes}.", **facts)
    why = f"{sizes}: check the room, and set the blade to its old height in the orifice."
    return Check("body length", ADAPT, why, **facts)


def _lengths(name, new, old):
    """Found, limit and margin of a length, or the check itself where one of both is missing."""
    limit = None if old is None else old.mid
    if missing := unknown(name, new, limit, "m"):
        return missing
    return {"source": TRADE, "found": new, "limit": limit, "margin": new - limit, "unit": "m"}


def mounting(case: Case) -> Check:
    """Held as the old one was, or by a belly band."""
    old, offered = case.job.nameplate.mounting, case.motor.mounting
    shown = {"source": TRADE, "found": ", ".join(offered) or None, "limit": old}
    if not offered:
        return Check("mounting", MISSING, "The catalogue does not say how it mounts.", **shown)
    if old is None:
        why = f"How the old motor is held is not known; this one takes {', '.join(offered)}."
        return Check("mounting", MISSING, why, **shown)
    if old in offered:
        return Check("mounting", PASS, f"Takes {old} like the old one.", **shown)
    if "belly band" in offered:
        why = f"No {old}: hold it with a belly band that leaves its vents and drains free."
        return Check("mounting", ADAPT, why, **shown)
    return Check("mounting", FAIL, f"Takes {', '.join(offered)}, the unit has {old}.", **shown)


def shaft_position(case: Case) -> Check:
    """The motor may stand as the old one stood."""
    asked, allowed = case.job.nameplate.shaft_position, case.motor.shaft_positions
    shown = {"source": TRADE, "found": ", ".join(allowed) or None, "limit": asked}
    name = "shaft position"
    its = " ".join(filter(None, ("Its", case.motor.bearings, "bearings")))
    if len(allowed) == 3:
        return Check(name, PASS, f"{its} take every angle.", **shown)
    if not allowed:
        return Check(name, MISSING, "The catalogue does not say in which positions.", **shown)
    if asked is None:
        why = f"It may run shaft {' or '.join(allowed)}; see how the old one stands."
        return Check(name, MISSING, why, **shown)
    if asked in allowed:
        return Check(name, PASS, f"It may run shaft {asked}.", **shown)
    why = f"{its} may run shaft {' or '.join(allowed)} only."
    return Check(name, FAIL, why, **shown)


def drain_plugs(case: Case) -> Check:
    """Water has to leave at the low end; the plug at the other end stays in."""
    has, position = case.motor.drain_plugs, case.job.nameplate.shaft_position
    low_end = {"up": "lead end", "down": "shaft end"}.get(position)
    shown = {"source": TRADE, "found": has, "limit": low_end}
    if has is None:
        why = "The catalogue does not say where its drain plugs are."
        return Check("drain plugs", MISSING, why, **shown)
    if has == "none":
        why = "It has no drains; outdoors the water that gets in has to get out."
        return Check("drain plugs", FAIL, why, **shown)
    if position == "horizontal":
        why = "Turn the body so that its drains point down, and take out the lowest plugs."
        return Check("drain plugs", PASS, why, **shown)
    if low_end is None:
        why = "Take out the plug at the low end, leave the other in."
        state = PASS if has == "both ends" else MISSING
        return Check("drain plugs", state, why, **shown)
    if has in ("both ends", low_end):
        why = f"Shaft {position}: take out the plug at the {low_end}, leave the other in."
        return Check("drain plugs", PASS, why, **shown)
    why = f"Shaft {position} needs a drain at the {low_end}; it has one at the {has}."
    return Check("drain plugs", FAIL, why, **shown)


def enclosure(case: Case) -> Check:
    """Totally enclosed air over is right outdoors; else it has to be like the old one's."""
    old, new = case.job.nameplate.enclosure, case.motor.enclosure
    if new == "totally enclosed air over":
        why = "Totally enclosed, cooled by the fan's air: right for outdoors."
        return Check("enclosure", PASS, why, TRADE, new, old)
    why_not = f"{new} instead of {old}: rain and dust get in, or no cooling."
    return same("enclosure", new, old, why_not)


def bearings(case: Case) -> Check:
    """Which kind it has and which the old one had: a note."""
    old, new = case.job.nameplate.bearings, case.motor.bearings
    why = f"{new or 'unknown'} bearings, the old one had {old or 'unknown'} ones".capitalize()
    return Check("bearing kind", NOTE, why + ".", TRADE, new, old)


def protector(case: Case) -> Check:
    """Whether it has a thermal protector: without one a stalled blade would burn it."""
    has = case.motor.protector
    if has is None:
        why = "The catalogue does not say whether it has a thermal protector: ask for it."
        return Check("thermal protector", MISSING, why, TRADE)
    if has == "none":
        why = "No thermal protector inside: a stalled blade would burn it."
        return Check("thermal protector", FAIL, why, TRADE, has)
    return Check("thermal protector", PASS, f"Protected: {has}.", TRADE, has)


CHECKS = (
    rotation, frame, shaft_diameter, shaft_length, body_length, mounting, shaft_position,
    drain_plugs, enclosure, protector, bearings,
)  # fmt: skip
