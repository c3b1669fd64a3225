"""The checks of what a hand can hold: what each says in each of its states, and at its limit.

A whole check is compared: state, sentence, source, found, limit, margin and unit. The limits are
common practice; they stand here a second time, so that one that moves is seen.
"""

import pytest

from airover.choose import mechanical
from airover.choose.check import Check

from .one_case import case, name, near

TRADE = "common practice, no source"
INCH = 0.0254
CW = "clockwise seen from the shaft end (counterclockwise from the lead end)"
CCW = "counterclockwise seen from the shaft end (clockwise from the lead end)"
UNSEEN = {"nameplate__rotation_seen_from": None}  # the ordinary plate turns clockwise
TURNS_CW = {"rotation": "clockwise", "rotation_seen_from": "shaft end"}
TURNS_CCW = {"rotation": "clockwise", "rotation_seen_from": "lead end"}

SAID = [
    (mechanical.rotation, {}, Check(
        "rotation", "pass",
        f"Reversible: set the plug for {CW}, and look before the guard closes.", TRADE,
        "reversible", "clockwise")),
    (mechanical.rotation, {"a_motor": TURNS_CW}, Check(
        "rotation", "pass", f"Turns {CW} like the old one.", TRADE, "clockwise", "clockwise")),
    (mechanical.rotation, {"a_motor": TURNS_CCW}, Check(
        "rotation", "fail", f"Turns {CCW} only, the wrong way.", TRADE,
        "counterclockwise", "clockwise")),
    (mechanical.rotation, {"a_motor": {"rotation": "clockwise"}}, Check(
        "rotation", "missing",
        "The catalogue does not say its rotation and the end it is seen from: ask for both.",
        TRADE, None, "clockwise")),
    (mechanical.rotation, {"a_job": UNSEEN}, Check(
        "rotation", "adapt",
        "Needed rotation unknown: see which way the blade throws air, then set the plug.", TRADE,
        "reversible")),
    (mechanical.rotation, {"a_job": UNSEEN, "a_motor": TURNS_CW}, Check(
        "rotation", "missing", f"It turns {CW} only; see which way the blade must turn.", TRADE,
        "clockwise")),
    (mechanical.rotation, {"a_job": {"nameplate__rotation": "reversible"}}, Check(
        "rotation", "adapt",
        "Needed rotation unknown: see which way the blade throws air, then set the plug.", TRADE,
        "reversible", "reversible")),
    (mechanical.frame, {}, Check("frame", "pass", "Same frame: 48.", TRADE, 48, 48)),
    (mechanical.frame, {"a_motor": {"frame": "56"}}, Check(
        "frame", "fail", "Frame 56 does not fit where a frame 48 sat.", TRADE, 56, 48)),
    (mechanical.frame, {"a_motor": {"frame": "42Y", "mounting": ("belly band",)}}, Check(
        "frame", "adapt", "Frame 42 is smaller than 48: a belly band with spacers carries it.",
        TRADE, 42, 48)),
    (mechanical.frame, {"a_job": {"nameplate__frame": None}}, Check(
        "frame", "missing", "The old motor's frame is not known: read or measure it.", TRADE,
        48)),
    (mechanical.frame, {"a_motor": {"frame": ""}}, Check(
        "frame", "missing", "The catalogue does not say this motor's frame: ask for it.", TRADE,
        None, 48)),
    (mechanical.shaft_diameter, {}, Check(
        "shaft diameter", "pass", "The same: 1/2 in.", TRADE, 0.0127, 0.0127, 0.0, "m")),
    (mechanical.shaft_diameter, {"a_motor": {"shaft_diameter": 0.375 * INCH}}, Check(
        "shaft diameter", "fail", "3/8 in in a hub for 1/2 in: the hub has to sit without play.",
        TRADE, 0.375 * INCH, 0.0127, -0.125 * INCH, "m")),
    (mechanical.shaft_diameter, {"a_job": {"blade__bore": "16 mm"}, "system": "SI"}, Check(
        "shaft diameter", "fail", "12.7 mm in a hub for 16 mm: the hub has to sit without play.",
        TRADE, 0.0127, 0.016, -0.0033, "m")),
    (mechanical.shaft_diameter, {"a_job": {"nameplate__shaft_diameter": None}}, Check(
        "shaft diameter", "missing",
        "The old motor's shaft diameter is not known: read or measure it.", TRADE,
        0.0127, unit="m")),
    (mechanical.shaft_diameter, {"a_motor": {"shaft_diameter": None}}, Check(
        "shaft diameter", "missing",
        "The catalogue does not say this motor's shaft diameter: ask for it.", TRADE,
        None, 0.0127, unit="m")),
    (mechanical.shaft_length, {"system": "SI"}, Check(
        "shaft length", "pass", "127 mm against the old 5 in: the blade keeps its height.", TRADE,
        0.127, 0.127, 0.0, "m")),
    (mechanical.shaft_length, {"a_motor": {"shaft_length": 4 * INCH}}, Check(
        "shaft length", "fail", "4 in against the old 5 in: too short for the blade's height.",
        TRADE, 4 * INCH, 5 * INCH, -INCH, "m")),
    (mechanical.shaft_length, {"a_motor": {"shaft_length": 6 * INCH}}, Check(
        "shaft length", "adapt",
        "6 in against the old 5 in: mark the blade's height before removal and cut the shaft to "
        "it.", TRADE, 6 * INCH, 5 * INCH, INCH, "m")),
    (mechanical.shaft_length, {"a_motor": {"shaft_length": None}}, Check(
        "shaft length", "missing",
        "The catalogue does not say this motor's shaft length: ask for it.", TRADE,
        None, 0.127, unit="m")),
    (mechanical.body_length, {"system": "SI"}, Check(
        "body length", "pass", "127 mm long against the old 5 in.", TRADE,
        0.127, 0.127, 0.0, "m")),
    (mechanical.body_length, {"a_motor": {"body_length": 6 * INCH}}, Check(
        "body length", "adapt",
        "6 in long against the old 5 in: check the room, and set the blade to its old height in "
        "the orifice.", TRADE, 6 * INCH, 5 * INCH, INCH, "m")),
    (mechanical.body_length, {"a_job": {"site__max_body_length": "4 in"}}, Check(
        "body length", "fail", "5 in long, there is room for 4 in.", TRADE,
        5 * INCH, 4 * INCH, -INCH, "m")),
    (mechanical.body_length, {"a_job": {"nameplate__body_length": None}}, Check(
        "body length", "missing", "The old motor's body length is not known: read or measure it.",
        TRADE, 0.127, unit="m")),
    (mechanical.body_length,
     {"a_job": {"site__max_body_length": "4 in"}, "a_motor": {"body_length": None}}, Check(
        "body length", "missing",
        "The catalogue does not say this motor's body length: ask for it.", TRADE,
        None, 0.127, unit="m")),
    (mechanical.mounting, {}, Check(
        "mounting", "pass", "Takes through-bolts like the old one.", TRADE,
        "shell holes, through-bolts", "through-bolts")),
    (mechanical.mounting, {"a_motor": {"mounting": ("shell holes", "belly band")}}, Check(
        "mounting", "adapt",
        "No through-bolts: hold it with a belly band that leaves its vents and drains free.",
        TRADE, "shell holes, belly band", "through-bolts")),
    (mechanical.mounting, {"a_motor": {"mounting": ("shell holes", "base")}}, Check(
        "mounting", "fail", "Takes shell holes, base, the unit has through-bolts.", TRADE,
        "shell holes, base", "through-bolts")),
    (mechanical.mounting, {"a_motor": {"mounting": ()}}, Check(
        "mounting", "missing", "The catalogue does not say how it mounts.", TRADE,
        None, "through-bolts")),
    (mechanical.mounting, {"a_job": {"nameplate__mounting": None}}, Check(
        "mounting", "missing",
        "How the old motor is held is not known; this one takes shell holes, through-bolts.",
        TRADE, "shell holes, through-bolts")),
    (mechanical.shaft_position, {}, Check(
        "shaft position", "pass", "Its sleeve bearings take every angle.", TRADE,
        "up, down, horizontal", "up")),
    (mechanical.shaft_position, {"a_motor": {"bearings": None}}, Check(
        "shaft position", "pass", "Its bearings take every angle.", TRADE,
        "up, down, horizontal", "up")),
    (mechanical.shaft_position, {"a_motor": {"shaft_positions": ("up", "down")}}, Check(
        "shaft position", "pass", "It may run shaft up.", TRADE, "up, down", "up")),
    (mechanical.shaft_position, {"a_motor": {"shaft_positions": ("down", "horizontal")}}, Check(
        "shaft position", "fail", "Its sleeve bearings may run shaft down or horizontal only.",
        TRADE, "down, horizontal", "up")),
    (mechanical.shaft_position, {"a_motor": {"shaft_positions": ()}}, Check(
        "shaft position", "missing", "The catalogue does not say in which positions.", TRADE,
        None, "up")),
    (mechanical.shaft_position,
     {"a_job": {"nameplate__shaft_position": None}, "a_motor": {"shaft_positions": ("up", "down")}},
     Check(
        "shaft position", "missing", "It may run shaft up or down; see how the old one stands.",
        TRADE, "up, down")),
    (mechanical.drain_plugs, {}, Check(
        "drain plugs", "pass",
        "Shaft up: take out the plug at the lead end, leave the other in.", TRADE,
        "both ends", "lead end")),
    (mechanical.drain_plugs, {"a_motor": {"drain_plugs": "shaft end"}}, Check(
        "drain plugs", "fail",
        "Shaft up needs a drain at the lead end; it has one at the shaft end.", TRADE,
        "shaft end", "lead end")),
    (mechanical.drain_plugs, {"a_motor": {"drain_plugs": "lead end"}}, Check(
        "drain plugs", "pass",
        "Shaft up: take out the plug at the lead end, leave the other in.", TRADE,
        "lead end", "lead end")),
    (mechanical.drain_plugs,
     {"a_job": {"nameplate__shaft_position": "down"}, "a_motor": {"drain_plugs": "shaft end"}},
     Check(
        "drain plugs", "pass",
        "Shaft down: take out the plug at the shaft end, leave the other in.", TRADE,
        "shaft end", "shaft end")),
    (mechanical.drain_plugs,
     {"a_job": {"nameplate__shaft_position": "horizontal"},
      "a_motor": {"drain_plugs": "lead end"}}, Check(
        "drain plugs", "pass",
        "Turn the body so that its drains point down, and take out the lowest plugs.", TRADE,
        "lead end")),
    (mechanical.drain_plugs, {"a_job": {"nameplate__shaft_position": None}}, Check(
        "drain plugs", "pass", "Take out the plug at the low end, leave the other in.", TRADE,
        "both ends")),
    (mechanical.drain_plugs,
     {"a_job": {"nameplate__shaft_position": None}, "a_motor": {"drain_plugs": "lead end"}}, Check(
        "drain plugs", "missing", "Take out the plug at the low end, leave the other in.", TRADE,
        "lead end")),
    (mechanical.drain_plugs, {"a_motor": {"drain_plugs": "none"}}, Check(
        "drain plugs", "fail",
        "It has no drains; outdoors the water that gets in has to get out.", TRADE,
        "none", "lead end")),
    (mechanical.drain_plugs, {"a_motor": {"drain_plugs": None}}, Check(
        "drain plugs", "missing", "The catalogue does not say where its drain plugs are.", TRADE,
        None, "lead end")),
    (mechanical.enclosure, {"a_job": {"nameplate__enclosure": "open air over"}}, Check(
        "enclosure", "pass", "Totally enclosed, cooled by the fan's air: right for outdoors.",
        TRADE, "totally enclosed air over", "open air over")),
    (mechanical.enclosure,
     {"a_job": {"nameplate__enclosure": "open air over"},
      "a_motor": {"enclosure": "open air over"}}, Check(
        "enclosure", "pass", "Same enclosure: open air over.", TRADE,
        "open air over", "open air over")),
    (mechanical.enclosure, {"a_motor": {"enclosure": "open air over"}}, Check(
        "enclosure", "fail",
        "open air over instead of totally enclosed air over: rain and dust get in, or no cooling.",
        TRADE, "open air over", "totally enclosed air over")),
    (mechanical.enclosure, {"a_motor": {"enclosure": "totally enclosed fan cooled"}}, Check(
        "enclosure", "fail",
        "totally enclosed fan cooled instead of totally enclosed air over: rain and dust get in, "
        "or no cooling.", TRADE, "totally enclosed fan cooled", "totally enclosed air over")),
    (mechanical.enclosure, {"a_motor": {"enclosure": None}}, Check(
        "enclosure", "missing", "The catalogue does not say this motor's enclosure: ask for it.",
        TRADE, None, "totally enclosed air over")),
    (mechanical.enclosure,
     {"a_job": {"nameplate__enclosure": None}, "a_motor": {"enclosure": "open air over"}}, Check(
        "enclosure", "missing", "The old motor's enclosure is not known: read or measure it.",
        TRADE, "open air over")),
    (mechanical.bearings, {"a_motor": {"bearings": "ball"}}, Check(
        "bearing kind", "note", "Ball bearings, the old one had sleeve ones.", TRADE,
        "ball", "sleeve")),
    (mechanical.bearings,
     {"a_job": {"nameplate__bearings": None}, "a_motor": {"bearings": None}}, Check(
        "bearing kind", "note", "Unknown bearings, the old one had unknown ones.", TRADE)),
    (mechanical.protector, {}, Check(
        "thermal protector", "pass", "Protected: automatic thermal.", TRADE, "automatic thermal")),
    (mechanical.protector, {"a_motor": {"protector": "none"}}, Check(
        "thermal protector", "fail", "No thermal protector inside: a stalled blade would burn it.",
        TRADE, "none")),
    (mechanical.protector, {"a_motor": {"protector": None}}, Check(
        "thermal protector", "missing",
        "The catalogue does not say whether it has a thermal protector: ask for it.", TRADE)),
]  # fmt: skip


@pytest.mark.parametrize(("check", "told", "said"), SAID, ids=name)
def test_what_a_check_says(check, told, said):
    assert check(case(**told)) == near(said)


BLADE_CW = {"blade__rotation": "clockwise", "blade__rotation_seen_from": "shaft end"}
BLADE_CCW = {"blade__rotation": "clockwise", "blade__rotation_seen_from": "lead end"}
BAND = ("through-bolts", "belly band")


def length(part, new, old="100-110 mm"):
    return {"a_job": {f"nameplate__{part}": old}, "a_motor": {part: new}}


def room(new, most):
    return length("body_length", new, "150 mm") | {
        "a_job": {"nameplate__body_length": "150 mm", "site__max_body_length": most}
    }


AT_LIMITS = [
    # the blade is what has to turn the right way; the old plate is asked where it says nothing
    (mechanical.rotation, {"a_job": BLADE_CW, "a_motor": TURNS_CW}, "pass"),
    (mechanical.rotation, {"a_job": BLADE_CCW, "a_motor": TURNS_CW}, "fail"),
    (mechanical.rotation, {"a_job": BLADE_CW | UNSEEN, "a_motor": TURNS_CW}, "pass"),
    (mechanical.frame, {"a_job": {"nameplate__frame": "48Y"}}, "pass"),
    (mechanical.frame, {"a_job": {"nameplate__frame": "48 frame"}}, "pass"),
    (mechanical.frame, {"a_job": {"nameplate__frame": "round"}}, "missing"),
    (mechanical.frame, {"a_motor": {"frame": "42"}}, "fail"),  # no belly band
    (mechanical.frame, {"a_motor": {"frame": "56", "mounting": BAND}}, "fail"),
    (mechanical.frame, {"a_motor": {"mounting": BAND}}, "pass"),
    (mechanical.frame, {"a_motor": {"frame": "", "mounting": BAND}}, "missing"),
    (mechanical.frame,
     {"a_job": {"nameplate__frame": None}, "a_motor": {"mounting": BAND}}, "missing"),
    # 0.3 mm of play
    (mechanical.shaft_diameter, length("shaft_diameter", 0.01299, "12.7 mm"), "pass"),
    (mechanical.shaft_diameter, length("shaft_diameter", 0.01241, "12.7 mm"), "pass"),
    (mechanical.shaft_diameter, length("shaft_diameter", 0.01301, "12.7 mm"), "fail"),
    (mechanical.shaft_diameter, length("shaft_diameter", 0.01239, "12.7 mm"), "fail"),
    # 3 mm of a shaft's length beyond what was measured
    (mechanical.shaft_length, length("shaft_length", 0.0971), "pass"),
    (mechanical.shaft_length, length("shaft_length", 0.0969), "fail"),
    (mechanical.shaft_length, length("shaft_length", 0.1129), "pass"),
    (mechanical.shaft_length, length("shaft_length", 0.1131), "adapt"),
    # 6 mm of a body's
    (mechanical.body_length, length("body_length", 0.1159), "pass"),
    (mechanical.body_length, length("body_length", 0.1161), "adapt"),
    (mechanical.body_length, length("body_length", 0.05), "pass"),
    (mechanical.body_length, room(0.110, "100-110 mm"), "pass"),
    (mechanical.body_length, room(0.1101, "100-110 mm"), "fail"),
    (mechanical.shaft_position, {"a_motor": {"shaft_positions": ("up",)}}, "pass"),
]  # fmt: skip


@pytest.mark.parametrize(("check", "told", "state"), AT_LIMITS)
def test_a_check_at_its_limit(check, told, state):
    assert check(case(**told)).state == state
