"""The new motor in its place: shaft, mounting, rotation, water."""

from collections.abc import Iterator

from airover.bearings.place import POSITION
from airover.bearings.suits import motor_suits
from airover.choose.check import ADAPT, PASS
from airover.order.facts import Blank, Facts, Step
from airover.records.rotation import LEAD_END, REVERSIBLE, SHAFT_END, from_shaft_end
from airover.texts import Writer

LOW_END = {"up": LEAD_END, "down": SHAFT_END}
OTHER_END = {LEAD_END: SHAFT_END, SHAFT_END: LEAD_END}
SAME_BODY = 0.003  # m, of diameters that one band takes


def _shaft(facts: Facts) -> Step:
    check, new, old = (
        facts.check("shaft length"), facts.motor.shaft_length, facts.job.nameplate.shaft_length,
    )  # fmt: skip
    title, reason = "Shaft length", "The blade has to sit at its old height and clear the guard."
    if check.state == ADAPT:
        cut = facts.shown(new - old.mid, "shaft_length")
        return Step(
            "shaft",
            f"Cut the shaft by about {cut}",
            reason,
            (
                (
                    f"New shaft {facts.shown(new, 'shaft_length')}, old one {old.text}: {cut} "
                    "too long. Hold it beside the old one with the blade's height marked before "
                    "you cut."
                ),
                (
                    "Wrap motor and bearing against chips, cut, take off the burr, clean the "
                    "shaft. What is cut off cannot be returned: no cut where it clears the guard "
                    "as it is."
                ),
            ),
            (Blank("Cut off", "", cut),),
        )
    if check.state == PASS:
        return Step("shaft", title, reason, (f"No cut: {check.why}",))
    known = "" if new is None else f"The new shaft has {facts.shown(new, 'shaft_length')}. "
    return Step(
        "shaft",
        title,
        reason,
        (f"{known}Measure both from the shell's face, then cut what is too long.",),
        (Blank("Old shaft, from the shell's face"), Blank("New shaft, the same")),
    )


_HELD = {
    "shell holes": "Bolt it by its shell holes with bolts no longer than the old ones: a long bolt "
    "reaches the winding.",
    "through-bolts": "Hang it on its through-bolts; never loosen the nuts that hold its end "
    "shields.",
    "belly band": "Belly band round the shell's smooth part, clear of ventilation openings, drain "
    "holes and the lead outlet: they stay open.",
    "bracket": "Bolt its bracket where the old one sat.",
    "base": "Bolt its base down flat, without twisting it.",
}


def _mounting(facts: Facts) -> Step:
    held, offered = facts.job.nameplate.mounting, facts.motor.mounting
    blanks = () if held else (Blank("How the old motor was held"),)
    if held and held not in offered and "belly band" in offered:
        held = "belly band"
    ways = [held] if held in offered else list(offered)
    do = [_HELD[way] for way in ways] or ["See how it can be held: the catalogue does not say."]
    do += [
        check.why
        for check in map(facts.check, ("mounting", "frame", "body length"))
        if check.state == ADAPT
    ]
    do += _other_body(facts)
    do.append(_bearings(facts))
    closed = (facts.motor.enclosure or "").startswith("totally enclosed")
    air = "Its shell is closed and" if closed else "It"
    do.append("Blade in the middle of its orifice; turn it once by hand all the way round.")
    return Step(
        "mounting",
        f"Mount it: {held or 'as the old one was'}",
        f"{air} is cooled by the fan's air alone: what covers the shell or its openings makes it "
        "hotter.",
        tuple(do),
        blanks,
    )


def _other_body(facts: Facts) -> Iterator[str]:
    new, old = facts.motor.body_diameter, facts.job.nameplate.body_diameter
    if new is not None and old is not None and abs(new - old.mid) > SAME_BODY:
        both = f"{facts.shown(new, 'body_diameter')}, the old one's {old.text}"
        yield f"Its body's diameter is {both}: take a band or spacers for it."


def _bearings(facts: Facts) -> str:
    """Verdict on the motor's own bearings in this shaft position and heat."""
    found = motor_suits(facts.case.worked, facts.case.row)
    if found is None:
        return "The catalog does not say which bearings it has: read it on the motor's label."
    position = f"shaft {facts.position}" if facts.position else f"shaft taken as {POSITION}"
    return f"Bearings, {position}: {Writer('en')(found.sentence)}"


def _rotation(facts: Facts) -> Step:
    plate, blade = facts.job.nameplate, facts.job.blade
    needed = blade.rotation_shaft_end or plate.rotation_shaft_end
    has = facts.motor.rotation_shaft_end
    reason = "A blade that turns the wrong way moves little air and throws it the wrong way."
    if needed in (None, REVERSIBLE):
        typed = blade.rotation or plate.rotation
        told = f" The job says {typed}, but not seen from which end." if typed else ""
        do = [
            (
                "See from the blade's pitch and the old plug which way it has to turn, and from "
                f"which end you look; then set the plug for it.{told}"
            )
        ]
        blanks = (Blank("Turns"), Blank("Seen from (shaft end or lead end)"))
        return Step("rotation", "Rotation and reversing plug", reason, tuple(do), blanks)
    sense = (
        f"{needed} seen from the shaft end ({from_shaft_end(needed, LEAD_END)} from the lead end)"
    )
    if has is None:
        told = "The catalogue does not say how this motor turns: read its label before mounting."
    elif has == REVERSIBLE:
        told = (
            "It is reversible. Read on its label how the plug stands as delivered; where that "
            "differs, pull the reversing plug, turn it, push it home. No tape over a half plug."
        )
    else:
        told = "It turns this way only: there is no plug to set."
    return Step("rotation", f"Rotation: {needed} from the shaft end", reason,
                (f"Needed is {sense}.", told))  # fmt: skip


def _drains(facts: Facts) -> Step:
    has, low = facts.motor.drain_plugs, LOW_END.get(facts.position)
    reason = "Water that gets in has to get out below; a hole above lets the rain in."
    if facts.position == "horizontal":
        do = [("Shaft level: turn the body so that its drains point straight down, take out the "
              "plugs that are lowest, at both ends; every other plug stays in.")]  # fmt: skip
        return Step("drains", "Drain plugs: the lowest out", reason, tuple(do))
    if low is None:
        do = [
            (
                "Take out the plug at the low end and leave the one at the high end in: with the "
                "shaft up the low end is the lead end, with the shaft down it is the shaft end. "
                "With a level shaft the plugs that point straight down come out."
            )
        ]
        blanks = (Blank("Shaft points (up, down, level)"), Blank("Plug taken out at"))
        return Step("drains", "Drain plugs: the low one out", reason, tuple(do), blanks)
    do = [f"Shaft {facts.position}: the low end is the {low}. Take out the plug at the {low}."]
    if has in (None, "both ends"):
        do.append(f"The plug at the {OTHER_END[low]}, which is on top, stays in.")
    if has is None:
        do.append("The catalogue does not say where its plugs are: look before you mount it.")
    title = f"Drain plugs: the one at the {low} out"
    return Step("drains", title, reason, tuple(do))


def _slinger(facts: Facts) -> Step:
    up = (
        "Shaft up: water runs down the shaft into the upper bearing. Slide the slinger on, close "
        "over the end shield but not rubbing, below the hub."
    )
    down = (
        "Shaft down: the body shelters the bearing at the shaft; put the slinger back if the old "
        "motor had one. The lead end is on top: its cap and lead outlet must be tight."
    )
    level = "Shaft level: slinger on the shaft close to the end shield, lead outlet downwards."
    by_position = {"up": [up], "down": [down], "horizontal": [level]}
    do = list(by_position.get(facts.position, [up, down]))
    exposure = facts.job.site.exposure
    if "rain" in exposure:
        do.append("This place gets rain: see that nothing drips on the motor.")
    if {"salt", "dust"} & set(exposure):
        told = " and ".join(one for one in exposure if one != "rain")
        do.append(f"This place has {told}: keep it out of the slinger's gap, look each season.")
    return Step(
        "slinger",
        "Slinger and rain",
        "Water in a bearing washes out its oil; water in a winding ends it.",
        tuple(do),
    )


STEPS = (_shaft, _mounting, _rotation, _drains, _slinger)
