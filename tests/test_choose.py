"""Verdicts: each check of the trade with a fact that passes, one that has to be adapted, fails."""

import pytest

from airover.answer import answer
from airover.choose import DOES_NOT_FIT, FITS, FITS_WITH_WORK
from airover.units import read

from .jobs import HORSEPOWER, MOTOR, job, motor


def judged(a_job=None, a_motor=MOTOR):
    return answer(a_job or job(), (a_motor,)).candidates[0]


def check(candidate, name):
    return next(one for one in candidate.checks if one.name == name)


@pytest.fixture(scope="module")
def ordinary():
    return judged()


def test_the_ordinary_motor_fits_the_ordinary_job(ordinary):
    assert ordinary.verdict == FITS, ordinary.reasons
    assert ordinary.reasons == ()


def test_every_check_says_why_and_whose_rule(ordinary):
    for one in ordinary.checks:
        assert one.why.endswith("."), one.name
        assert one.source, one.name
        assert one.state in ("pass", "note"), one.name
    names = [one.name for one in ordinary.checks]
    assert len(names) == len(set(names)) >= 27


INCH = 0.0254

# check, its state, changes of the job, changes of the motor
CASES = [
    ("catalogue's plate", "fail", {}, {"capacitor": 60e-6, "currents": (1.2,)}),
    ("voltage", "fail", {}, {"voltage_low": 460.0, "voltage_high": 460.0}),
    ("voltage", "missing", {"site__voltage": None}, {}),
    ("voltage", "fail", {"site__voltage": "180-240 V"}, {}),
    ("voltage", "missing", {"site__voltage": "245 V"}, {}),
    ("frequency", "fail", {}, {"frequency": 50.0, "speed_rpm": 900.0}),
    ("speed", "fail", {}, {"poles": 8, "speed_rpm": 825.0}),
    ("shaft power", "fail", {}, {"ratings": (HORSEPOWER / 4,), "currents": (1.5,)}),
    ("shaft power", "missing", {"nameplate__power": None}, {"ratings": (HORSEPOWER / 3.4,)}),
    ("torque", "fail", {"site__voltage": "150 V"}, {}),
    ("airflow", "fail", {}, {"ratings": (HORSEPOWER / 6,), "currents": (1.1,)}),
    ("full-load amps", "fail", {"nameplate__current": "2.2 A"}, {}),
    ("full-load amps", "pass", {"nameplate__current": "2.05 A"}, {}),
    ("full-load amps", "missing", {"nameplate__current": None}, {}),
    ("ambient rating", "fail", {}, {"ambient_rating": 40.0}),
    ("ambient rating", "missing", {}, {"ambient_rating": None}),
    ("ambient rating", "missing", {"site__recirculation": "0-12 K"}, {}),
    (
        "winding temperature",
        "fail",
        {"site__outdoor_temperature": "135 degF", "site__airflow": "1400 cfm"},
        {},
    ),
    ("winding temperature", "missing", {}, {"insulation_class": None}),
    ("capacitor", "adapt", {"nameplate__capacitor": "10 uF"}, {}),
    ("capacitor", "adapt", {"nameplate__capacitor": None}, {}),
    ("capacitor", "missing", {}, {"capacitor": None}),
    ("capacitor voltage", "missing", {}, {"capacitor_voltage": None}),
    ("rotation", "pass", {}, {"rotation": "clockwise", "rotation_seen_from": "shaft end"}),
    ("rotation", "pass", {}, {"rotation": "counterclockwise", "rotation_seen_from": "lead end"}),
    ("rotation", "fail", {}, {"rotation": "counterclockwise", "rotation_seen_from": "shaft end"}),
    ("rotation", "missing", {}, {"rotation": "clockwise", "rotation_seen_from": None}),
    ("rotation", "adapt", {"nameplate__rotation_seen_from": None}, {}),
    ("frame", "fail", {}, {"frame": "56"}),
    ("frame", "adapt", {}, {"frame": "42", "mounting": ("through-bolts", "belly band")}),
    ("frame", "pass", {"nameplate__frame": "48Y"}, {}),
    ("shaft diameter", "fail", {}, {"shaft_diameter": 0.375 * INCH}),
    ("shaft diameter", "fail", {"blade__bore": "5/8 in"}, {}),
    ("shaft diameter", "missing", {"nameplate__shaft_diameter": None}, {}),
    ("shaft length", "fail", {}, {"shaft_length": 4 * INCH}),
    ("shaft length", "adapt", {}, {"shaft_length": 6 * INCH}),
    ("body length", "adapt", {}, {"body_length": 6 * INCH}),
    ("body length", "fail", {"site__max_body_length": "4 1/2 in"}, {}),
    ("mounting", "adapt", {}, {"mounting": ("belly band",)}),
    ("mounting", "fail", {}, {"mounting": ("shell holes",)}),
    ("mounting", "missing", {"nameplate__mounting": None}, {}),
    ("shaft position", "fail", {}, {"shaft_positions": ("down", "horizontal")}),
    ("shaft position", "missing", {"nameplate__shaft_position": None}, {"shaft_positions": ("up",)}),
    ("drain plugs", "fail", {}, {"drain_plugs": "none"}),
    ("drain plugs", "fail", {}, {"drain_plugs": "shaft end"}),
    ("drain plugs", "pass", {"nameplate__shaft_position": "down"}, {"drain_plugs": "shaft end"}),
    ("enclosure", "fail", {}, {"enclosure": "open drip proof"}),
    ("thermal protector", "fail", {}, {"protector": "none"}),
    ("starting on low voltage", "fail", {"site__voltage": "120 V"}, {}),
]


@pytest.mark.parametrize("name, state, of_job, of_motor", CASES)
def test_a_check_decides(name, state, of_job, of_motor):
    candidate = judged(job(**of_job), motor(**of_motor))
    found = check(candidate, name)
    assert found.state == state, found.why
    if state == "fail":
        assert candidate.verdict == DOES_NOT_FIT
        assert found.why in candidate.reasons
    elif state in ("adapt", "missing"):
        assert candidate.verdict != FITS
        if candidate.verdict == FITS_WITH_WORK:
            assert found.why in candidate.reasons


def test_the_rating_used_is_the_smallest_that_covers_the_old_one():
    ratings = tuple(HORSEPOWER / n for n in (6, 5, 4, 3))
    four = motor(ratings=ratings, currents=(1.4, 1.5, 1.7, 1.9))
    quarter = judged(job(nameplate__power="1/4 hp", nameplate__current="1.7 A"), four)
    assert quarter.case.rating == pytest.approx(HORSEPOWER / 4)
    assert quarter.case.rated_current == 1.7
    assert check(quarter, "full-load amps").state == "pass"


def test_rotation_from_the_other_end_is_the_other_sense(ordinary):
    why = check(ordinary, "rotation").why
    assert "clockwise seen from the shaft end (counterclockwise from the lead end)" in why


def test_the_drain_at_the_low_end_is_named(ordinary):
    assert "take out the plug at the lead end" in check(ordinary, "drain plugs").why


def test_both_kinds_of_bearing_get_hours_as_a_note(ordinary):
    ball = judged(None, motor(bearings="ball", bearing_bore=0.015))
    hours = check(ball, "bearing life").found
    assert 1_000 < hours.low < hours.high < 50_000  # L10 of grease, 80 to 115 degC, Booser's line
    assert "grease governs" in check(ball, "bearing life").why
    sleeve = check(ordinary, "bearing life")
    assert "screening estimate, no standard" in sleeve.why and sleeve.state == "note"
    assert sleeve.found.high > 5 * sleeve.found.low  # its band says how little is known


def test_the_hot_spot_and_not_the_average_ages_the_winding(ordinary):
    """Class B at its 130 degC lives 20 000 h; 10 K cooler twice that (IEC 60216)."""
    hours, temp = check(ordinary, "winding life").found, ordinary.case.winding.mid
    plain = 20_000 * 2 ** ((130 - (temp + 7.5)) / 9)
    assert hours.mid == pytest.approx(plain, rel=0.15)


def test_order_is_fits_then_least_work_then_rest():
    longer = motor(model="longer", shaft_length=6 * INCH)
    longest = motor(model="longest", shaft_length=6 * INCH, capacitor=10e-6)
    wrong = motor(model="wrong", poles=8, speed_rpm=825.0)
    order = answer(job(), (wrong, longest, longer, MOTOR)).candidates
    assert [c.case.motor.model for c in order] == ["test-1", "longer", "longest", "wrong"]


def test_units_are_the_readers_choice():
    in_si = answer(job(), (MOTOR,), system="SI").candidates[0]
    assert "degC" in check(in_si, "ambient rating").why
    us = answer(job(), (MOTOR,)).candidates[0]
    assert "degF" in check(us, "ambient rating").why
    assert read("60 degC", "temperature", "t").mid == check(us, "ambient rating").limit
