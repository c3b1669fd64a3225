"""A whole nameplate as text: what is read, what is left open, and what is never guessed."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.records.nameplate_text import CHECK, LIKELY, OPEN, read_nameplate
from tests.nameplates import expected, invent, misread, printed

# As technicians and cameras write them; the makers' words are invented.
TEXTS = [
    ("HP 1/3 V 208-230 A 1.9 RPM 1075 CAP 7.5/370 CL B AMB 60C CCWLE",
     {"power": "1/3 hp", "voltage": "208-230 V", "current": "1.9 A", "speed": "1075 rpm",
      "capacitor": "7.5 uF", "capacitor_voltage": "370 V", "insulation_class": "B",
      "ambient_rating": "60 degC", "rotation": "counterclockwise", "rotation_seen_from": "lead end"}),
    ("6P0LES6 6OC A1.9RPM1075", {"poles": "6", "current": "1.9 A", "speed": "1075 rpm",
                                "ambient_rating": "60 degC"}),
    ("45/5/440 1/6 208/230 1,075 0.9 FLA",
     {"capacitor": "45/5 uF", "capacitor_voltage": "440 V", "power": "1/6 hp", "voltage": "208-230 V",
      "speed": "1075 rpm", "current": "0.9 A"}),
    ("200-230/60/1 .25 HP 1,4 A 825 RPM",
     {"voltage": "200-230 V", "frequency": "60 Hz", "phase": "1", "power": ".25 hp",
      "current": "1.4 A", "speed": "825 rpm"}),
    ("HP VOLTS AMPS RPM\n1/4 208-230 1.4 825",
     {"power": "1/4 hp", "voltage": "208-230 V", "current": "1.4 A", "speed": "825 rpm"}),
    (("Horsepower: 1/4\nVolts: 208-230\nAmps: 1.5\nSpeed: 1075\nCapacitor: 5 \u00b5F 440 VAC\n"
      "Rotation: CCW (lead end)\nIns. class B\nMax ambient 140\u00b0F\nThermally protected\nLRA 3.2"),
     {"power": "1/4 hp", "voltage": "208-230 V", "current": "1.5 A", "speed": "1075 rpm",
      "capacitor": "5 uF", "capacitor_voltage": "440 V", "rotation": "counterclockwise",
      "rotation_seen_from": "lead end", "insulation_class": "B", "ambient_rating": "140 degF"}),
    ("\u00bd HP 460V 1.1A 1075RPM CWSE 48Y FRAME TEAO BALL",
     {"power": "1/2 hp", "voltage": "460 V", "current": "1.1 A", "speed": "1075 rpm",
      "rotation": "clockwise", "rotation_seen_from": "shaft end", "frame": "48Y",
      "enclosure": "totally enclosed air over", "bearings": "ball"}),
    ("FLA N/A  HP 1/5  RPM -  V 230", {"power": "1/5 hp", "voltage": "230 V"}),
    ("FAN MOTOR 2.0 FLA 1/3HP 1 PH 60HZ 208/230V MFD 7.5 VAC 370 REV ROT",
     {"current": "2.0 A", "power": "1/3 hp", "phase": "1", "frequency": "60 Hz",
      "voltage": "208-230 V", "capacitor": "7.5 uF", "capacitor_voltage": "370 V",
      "rotation": "reversible"}),
    ("W 250 V 230 A 1.9 R/MIN 1080 Hz 60", {"power": "250 W", "voltage": "230 V", "current": "1.9 A",
                                            "speed": "1080 rpm", "frequency": "60 Hz"}),
    ("CAP 370V 5MFD HP 1/5 PSC", {"capacitor": "5 uF", "capacitor_voltage": "370 V",
                                  "power": "1/5 hp", "kind": "permanent split capacitor"}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "fields"), TEXTS)
def test_a_nameplate_is_read_in_any_order(text, fields):
    assert read_nameplate(text).fields == fields


def test_what_was_read_is_a_nameplate_with_its_words():
    found = read_nameplate("1/3 HP 208-230 V 1.9 A 1O75 RPM ZZTOP")
    plate = found.nameplate()
    assert plate.power.text == "1/3 hp" and plate.speed_rpm.mid == 1075
    words = {one.field: (one.words, one.certainty) for one in found.found}
    assert words["speed"] == ("1O75 RPM", LIKELY) and words["power"][0] == "1/3 HP"
    assert found.left == ("ZZTOP",)


@pytest.mark.parametrize(
    ("text", "field"),
    [("HP 1/3 HP 1/4", "power"), ("1075/825 RPM 1/3 HP", "speed"), ("V 115/230 HP 1/6", "voltage")],
)
def test_two_readings_are_left_open(text, field):
    found = read_nameplate(text)
    (one,) = (one for one in found.found if one.field == field)
    assert one.certainty == OPEN and one.others and field not in found.fields


def test_a_model_number_or_a_date_is_no_rating():
    found = read_nameplate("MODEL QX1075-230 SER 208230 DATE 01/24/2024 1/4 HP LRA 3.4")
    assert found.fields == {"power": "1/4 hp"}
    assert len(found.unused) == 4 and not found.left


def test_fields_that_do_not_go_together_are_to_be_checked():
    found = read_nameplate("1/3 HP 230 V 19 A 1075 RPM")
    doubtful = {one.field for one in found.found if one.certainty == CHECK}
    assert doubtful == {"power", "voltage", "current"}


@pytest.mark.parametrize("text", ["", "hello", "A B C", "x" * 5000])
def test_a_text_without_a_fact_is_refused(text):
    with pytest.raises(InputError):
        read_nameplate(text)


@pytest.mark.parametrize(("misprints", "right"), [(0.0, 0.995), (0.03, 0.985), (0.06, 0.975)])
def test_printed_in_many_ways_and_misread_it_is_seldom_wrong(misprints, right):
    """Of 300 invented nameplates; a wrong field is rarer than one in 300."""
    good = bad = count = 0
    for seed in range(300):
        draw = random.Random(seed)
        facts = invent(draw)
        found = read_nameplate(misread(printed(facts, draw), misprints, draw)).fields
        wanted = expected(facts)
        count += len(wanted)
        good += sum(found.get(field) == value for field, value in wanted.items())
        bad += sum(wanted.get(field, value) != value for field, value in found.items())
    assert good > right * count and bad < count / 300


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="HPVARMCL BFWkOS0123456789./-+,\n|\u00b5\u00bd", max_size=120))
def test_any_text_is_read_or_refused(text):
    try:
        found = read_nameplate(text)
    except InputError:
        return
    assert found.found
