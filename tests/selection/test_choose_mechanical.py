"""Rules of what a hand can hold: the outcome and the state of each, right at its limits.

The limits are common practice; they stand here a second time, so that a change is seen.
"""

import pytest

from tests.one_case import check, why

INCH = 0.0254
UNSEEN = {"nameplate__rotation_seen_from": None}  # the ordinary nameplate: CCW from the lead end
CW = {"rotation": "clockwise", "rotation_seen_from": "shaft end"}
CCW = {"rotation": "clockwise", "rotation_seen_from": "lead end"}
FAN_CW = {"blade__rotation": "clockwise", "blade__rotation_seen_from": "shaft end"}
FAN_CCW = {"blade__rotation": "clockwise", "blade__rotation_seen_from": "lead end"}
BANDED = ("through-bolts", "belly band")


def size(part, new, old="100-110 mm"):
    return {"a_job": {f"nameplate__{part}": old}, "a_motor": {part: new}}


def room(new, most, old=None):
    told = {"nameplate__body_length": old, "site__max_body_length": most}
    return {"a_job": told, "a_motor": {"body_length": new}}


def drains(has, position="up", old=None):
    told = {"nameplate__shaft_position": position, "nameplate__drain_plugs": old}
    return {"a_job": told, "a_motor": {"drain_plugs": has}}


def enclosed(new, old="totally enclosed air over"):
    return {"a_job": {"nameplate__enclosure": old}, "a_motor": {"enclosure": new}}


CASES = [
    ("rotation", {}, "reversible", "pass"),
    ("rotation", {"a_motor": CW}, "same", "pass"),
    ("rotation", {"a_motor": CCW}, "wrong", "fail"),
    ("rotation", {"a_motor": {"rotation": "clockwise"}}, "unlisted", "missing"),
    ("rotation", {"a_job": UNSEEN}, "reversible_look", "note"),
    ("rotation", {"a_job": UNSEEN, "a_motor": CW}, "one_way", "missing"),
    ("rotation", {"a_job": {"nameplate__rotation": "reversible"}}, "reversible_look", "note"),
    # the fan must turn the right way; the old nameplate counts where the fan says nothing
    ("rotation", {"a_job": FAN_CW, "a_motor": CW}, "same", "pass"),
    ("rotation", {"a_job": FAN_CCW, "a_motor": CW}, "wrong", "fail"),
    ("frame", {}, "same", "pass"),
    ("frame", {"a_job": {"nameplate__frame": "48Y"}}, "same", "pass"),
    ("frame", {"a_job": {"nameplate__frame": "48 frame"}}, "same", "pass"),
    ("frame", {"a_motor": {"frame": "56", "mounting": BANDED}}, "other", "fail"),
    ("frame", {"a_motor": {"frame": "42Y", "mounting": BANDED}}, "smaller", "adapt"),
    ("frame", {"a_motor": {"frame": "42"}}, "other", "fail"),  # no belly band
    ("frame", {"a_job": {"nameplate__frame": None}}, "old_unknown", "note"),
    ("frame", {"a_job": {"nameplate__frame": "round"}}, "old_unknown", "note"),
    ("frame", {"a_motor": {"frame": ""}}, "unlisted", "missing"),
    # 0.3 mm of play between shaft and hub
    ("shaft diameter", size("shaft_diameter", 0.01299, "12.7 mm"), "same", "pass"),
    ("shaft diameter", size("shaft_diameter", 0.01241, "12.7 mm"), "same", "pass"),
    ("shaft diameter", size("shaft_diameter", 0.01301, "12.7 mm"), "other", "fail"),
    ("shaft diameter", size("shaft_diameter", 0.01239, "12.7 mm"), "other", "fail"),
    ("shaft diameter", {"a_job": {"blade__bore": "5/8 in"}}, "other", "fail"),
    ("shaft diameter", {"a_job": {"nameplate__shaft_diameter": None}}, "old_unknown", "missing"),
    ("shaft diameter", size("shaft_diameter", None, "1/2 in"), "unlisted", "missing"),
    # 3 mm of a shaft's length beyond what was measured
    ("shaft length", size("shaft_length", 0.0971), "same", "pass"),
    ("shaft length", size("shaft_length", 0.0969), "shorter", "fail"),
    ("shaft length", size("shaft_length", 0.1129), "same", "pass"),
    ("shaft length", size("shaft_length", 0.1131), "longer", "adapt"),
    ("shaft length", size("shaft_length", 0.1, None), "old_unknown", "missing"),
    ("shaft length", size("shaft_length", None), "unlisted", "missing"),
    # 6 mm of a body's
    ("body length", size("body_length", 0.1159), "same", "pass"),
    ("body length", size("body_length", 0.05), "same", "pass"),
    ("body length", size("body_length", 0.1161), "longer", "adapt"),
    ("body length", room(0.110, "100-110 mm", "150 mm"), "same", "pass"),
    ("body length", room(0.1101, "100-110 mm", "150 mm"), "no_room", "fail"),
    ("body length", room(0.110, "100-110 mm"), "has_room", "pass"),
    ("body length", room(0.1101, "100-110 mm"), "no_room", "fail"),
    ("body length", size("body_length", 0.1, None), "unmeasured", "note"),
    ("body length", size("body_length", None), "unlisted", "note"),
    ("mounting", {}, "same", "pass"),
    ("mounting", {"a_motor": {"mounting": ("belly band",)}}, "band", "adapt"),
    ("mounting", {"a_motor": {"mounting": ("base",)}}, "other", "fail"),
    ("mounting", {"a_job": {"nameplate__mounting": None}}, "old_unknown", "missing"),
    ("mounting", {"a_motor": {"mounting": ()}}, "unlisted", "missing"),
    ("shaft position", {}, "every_angle", "pass"),
    ("shaft position", {"a_motor": {"shaft_positions": ("up",)}}, "allowed", "pass"),
    ("shaft position", {"a_motor": {"shaft_positions": ("horizontal",)}}, "wrong", "fail"),
    (
        "shaft position",
        {
            "a_job": {"nameplate__shaft_position": None},
            "a_motor": {"shaft_positions": ("up", "down")},
        },
        "old_unknown",
        "missing",
    ),
    ("shaft position", {"a_motor": {"shaft_positions": ()}}, "unlisted", "missing"),
    # with the shaft up the lead end is low, with the shaft down the shaft end
    ("drain plugs", drains("both ends"), "low_end", "pass"),
    ("drain plugs", drains("lead end"), "low_end", "pass"),
    ("drain plugs", drains("shaft end", "down"), "low_end", "pass"),
    ("drain plugs", drains("shaft end"), "wrong_end", "fail"),
    ("drain plugs", drains("lead end", "down"), "wrong_end", "fail"),
    ("drain plugs", drains("shaft end", "up", "shaft end"), "wrong_end_like_old", "note"),
    ("drain plugs", drains("lead end", "horizontal"), "horizontal", "pass"),
    ("drain plugs", drains("both ends", None), "look", "pass"),
    ("drain plugs", drains("lead end", None), "one_end", "missing"),
    ("drain plugs", drains("none", "up", "both ends"), "none", "fail"),
    ("drain plugs", drains("none"), "none_ask", "missing"),
    ("drain plugs", drains("none", "up", "none"), "none_like_old", "note"),
    ("drain plugs", drains(None), "unlisted", "missing"),
    ("enclosure", enclosed("totally enclosed air over", "open air over"), "enclosed", "pass"),
    ("enclosure", enclosed("open air over", "open air over"), "same", "pass"),
    ("enclosure", enclosed("open air over"), "other", "fail"),
    ("enclosure", enclosed("totally enclosed fan cooled"), "other", "fail"),
    ("enclosure", enclosed("open air over", None), "old_unknown", "missing"),
    ("enclosure", enclosed(None), "unlisted", "missing"),
    ("thermal protector", {}, "has", "pass"),
    ("thermal protector", {"a_motor": {"protector": "none"}}, "none", "fail"),
    ("thermal protector", {"a_motor": {"protector": None}}, "unlisted", "missing"),
    ("bearing kind", {}, "kind", "note"),
]


@pytest.mark.parametrize(("name", "told", "outcome", "state"), CASES)
def test_an_outcome_and_its_state(name, told, outcome, state):
    found = check(name, **told)
    assert (found.outcome, found.state) == (outcome, state), found.why


REFUSALS = [
    ("rotation", {"a_motor": CCW}, ("Turns counterclockwise", "must turn clockwise")),
    ("frame", {"a_motor": {"frame": "56"}}, ("56", "48")),
    ("shaft diameter", {"a_motor": {"shaft_diameter": 0.375 * INCH}}, ("3/8 in", "1/2 in")),
    ("shaft length", {"a_motor": {"shaft_length": 4 * INCH}}, ("4 in", "5 in")),
    ("body length", room(6 * INCH, "5 1/2 in"), ("6 in", "5 1/2 in")),
    ("mounting", {"a_motor": {"mounting": ("base",)}}, ("base", "through-bolts")),
    ("shaft position", {"a_motor": {"shaft_positions": ("down",)}}, ("shaft down", "shaft is up")),
    ("drain plugs", drains("shaft end"), ("lead end", "shaft end")),
    ("enclosure", enclosed("open air over"), ("open, air over", "enclosed, air over")),
]


@pytest.mark.parametrize(("name", "told", "figures"), REFUSALS)
def test_a_refusal_names_what_it_found_and_what_is_needed(name, told, figures):
    found = check(name, **told)
    assert found.state == "fail"
    assert all(figure in why(found) for figure in figures), why(found)


def test_a_rotation_is_said_from_both_ends():
    """A nameplate mostly states it from the lead end, where it is the opposite."""
    both = "viewed from the shaft end (counterclockwise from the lead end)"
    assert both in why(check("rotation", a_motor=CW)) and both in why(check("rotation"))


def test_the_plug_at_the_low_end_comes_out():
    assert "remove the drain plug at the lead end" in why(
        check("drain plugs", **drains("both ends"))
    )
    down = why(check("drain plugs", **drains("both ends", "down")))
    assert "remove the drain plug at the shaft end" in down


def test_a_length_is_said_in_the_reader_s_units():
    assert "127 mm" in why(check("shaft length"), "SI")
    assert "5 in" in why(check("shaft length"))
