"""A whole nameplate as text: what is read, what is left blank, and what is never guessed."""

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


# Twenty nameplates in ordinary styles; a field with two readings is left blank.
ORDINARY = [
    ('COND FAN MOTOR\nHP 1/4   RPM 1075\nVOLTS 208-230  AMPS 1.5\nHZ 60  PH 1\nCAP 5 MFD 370 VAC\nINS CLASS B   AMB 60\xb0C\nROT CCWLE',
     {'phase': '1', 'rotation': 'counterclockwise', 'rotation_seen_from': 'lead end', 'insulation_class': 'B', 'capacitor': '5 uF', 'capacitor_voltage': '370 V', 'power': '1/4 hp', 'speed': '1075 rpm', 'voltage': '208-230 V', 'current': '1.5 A', 'frequency': '60 Hz', 'ambient_rating': '60 degC'}),
    ('1/3HP 1075RPM 208/230V 60HZ 1PH 1.9FLA 48Y FR TEAO CL.B 60C AMB CAP.7.5MFD/370VAC REV.',
     {'rotation': 'reversible', 'enclosure': 'totally enclosed air over', 'phase': '1', 'insulation_class': 'B', 'frame': '48Y', 'capacitor': '7.5 uF', 'capacitor_voltage': '370 V', 'power': '1/3 hp', 'speed': '1075 rpm', 'voltage': '208-230 V', 'frequency': '60 Hz', 'current': '1.9 A', 'ambient_rating': '60 degC'}),
    ('H.P. 1/6; R.P.M. 825; Volts 230; F.L.A. 1.0; Cycles 60; Frame 48; Sleeve Brg; Rotation CW',
     {'bearings': 'sleeve', 'rotation': 'clockwise', 'frame': '48', 'power': '1/6 hp', 'speed': '825 rpm', 'voltage': '230 V', 'current': '1.0 A', 'frequency': '60 Hz'}),
    ('OUTPUT 1/2 HP  VOLTAGE 460  CURRENT 1.4 A  SPEED 1075 R/MIN  FREQ 60 HZ  POLES 6',
     {'power': '1/2 hp', 'voltage': '460 V', 'current': '1.4 A', 'speed': '1075 rpm', 'frequency': '60 Hz', 'poles': '6'}),
    ('MOD CX12-1075 S/N 0412A HP: 1/5 V: 208-230 A: 1.3 RPM: 1100 HZ: 60 THERMALLY PROTECTED',
     {'power': '1/5 hp', 'voltage': '208-230 V', 'current': '1.3 A', 'speed': '1100 rpm', 'frequency': '60 Hz'}),
    ('P 250 W  U 230 V  I 1.9 A  n 1080 r/min  f 60 Hz',
     {'power': '250 W', 'voltage': '230 V', 'current': '1.9 A', 'speed': '1080 rpm', 'frequency': '60 Hz'}),
    ('TYPE PSC  HP .25  V 200-230/60/1  FLA 1.6  RPM 825  CAP 5uF 440V  CL F  40C AMB',
     {'kind': 'permanent split capacitor', 'insulation_class': 'F', 'capacitor': '5 uF', 'capacitor_voltage': '440 V', 'power': '.25 hp', 'voltage': '200-230 V', 'frequency': '60 Hz', 'phase': '1', 'current': '1.6 A', 'speed': '825 rpm', 'ambient_rating': '40 degC'}),
    ('VOLTS 208-230 PHASE 1 CYCLES 60\nHORSEPOWER 1/3 RPM 1075 FL AMPS 2.0\nDUTY CONT AMB 70 C INS B\nUSE 7.5 MFD 370V CAPACITOR',
     {'phase': '1', 'insulation_class': 'B', 'capacitor': '7.5 uF', 'capacitor_voltage': '370 V', 'voltage': '208-230 V', 'frequency': '60 Hz', 'power': '1/3 hp', 'speed': '1075 rpm', 'current': '2.0 A', 'ambient_rating': '70 degC'}),
    ('3/4 HP 1140 RPM 460V 3PH 60HZ 1.3A 56Y BALL BRG TEFC CL F SF 1.15',
     {'bearings': 'ball', 'enclosure': 'totally enclosed fan cooled', 'phase': '3', 'insulation_class': 'F', 'frame': '56Y', 'power': '3/4 hp', 'speed': '1140 rpm', 'voltage': '460 V', 'frequency': '60 Hz', 'current': '1.3 A'}),
    ('HP 1/8 V 115 A 2.4 RPM 1550 HZ 60 SHADED POLE CWSE',
     {'kind': 'shaded pole', 'rotation': 'clockwise', 'rotation_seen_from': 'shaft end', 'power': '1/8 hp', 'voltage': '115 V', 'current': '2.4 A', 'speed': '1550 rpm', 'frequency': '60 Hz'}),
    ('HP 1/3-1/4-1/5 V 208-230 A 2.0/1.6/1.4 RPM 1075 CAP 7.5/370 REV ROT',
     {'rotation': 'reversible', 'capacitor': '7.5 uF', 'capacitor_voltage': '370 V', 'voltage': '208-230 V', 'speed': '1075 rpm'}),
    ('Potencia 1/4 HP Voltaje 208-230 V Corriente 1,5 A RPM 1075 Capacitor 5 uF 370 V',
     {'capacitor': '5 uF', 'capacitor_voltage': '370 V', 'power': '1/4 hp', 'voltage': '208-230 V', 'current': '1.5 A', 'speed': '1075 rpm'}),
    ('RPM 1075 6 POLE 1/4 HORSEPOWER 208-230 VOLTS 1.4 AMPS 5 MFD 370 VOLT CAP ROTATION CCW FACING LEAD END',
     {'rotation': 'counterclockwise', 'rotation_seen_from': 'lead end', 'capacitor': '5 uF', 'capacitor_voltage': '370 V', 'poles': '6', 'power': '1/4 hp', 'voltage': '208-230 V', 'current': '1.4 A', 'speed': '1075 rpm'}),
    ('1/3 208-230 1075 1.9A 7.5/370 CCWLE 48Y',
     {'rotation': 'counterclockwise', 'rotation_seen_from': 'lead end', 'frame': '48Y', 'capacitor': '7.5 uF', 'capacitor_voltage': '370 V', 'current': '1.9 A', 'power': '1/3 hp', 'voltage': '208-230 V', 'speed': '1075 rpm'}),
    ('HP|V|A|RPM|HZ\n1/4|208-230|1.5|1075|60',
     {'power': '1/4 hp', 'voltage': '208-230 V', 'current': '1.5 A', 'speed': '1075 rpm', 'frequency': '60 Hz'}),
    ('HP 1/4 HZ 60 PH 1 V 208-230 AMPS 1.5 LRA 3.2 RPM 1075',
     {'phase': '1', 'power': '1/4 hp', 'frequency': '60 Hz', 'voltage': '208-230 V', 'current': '1.5 A', 'speed': '1075 rpm'}),
    ('MTR HP 1/3, 1075, 208-230-1-60, FLA 1.9, AMB 60C, INS. B',
     {'insulation_class': 'B', 'power': '1/3 hp', 'current': '1.9 A', 'ambient_rating': '60 degC', 'speed': '1075 rpm', 'voltage': '208-230 V', 'frequency': '60 Hz', 'phase': '1'}),
    ('200-230V 50/60Hz 1Ph 1/4HP 950/1140RPM 1.6/1.4A CAP 5MFD370V',
     {'phase': '1', 'capacitor': '5 uF', 'capacitor_voltage': '370 V', 'voltage': '200-230 V', 'frequency': '50-60 Hz', 'power': '1/4 hp', 'current': '1.4-1.6 A'}),
    ('EFF. OUTPUT 1/3 HP; VOLTS 265; AMPS 1.7; RPM 1075; MAX AMB 140\xb0F; OPEN AIR OVER; BALL',
     {'bearings': 'ball', 'enclosure': 'open air over', 'power': '1/3 hp', 'voltage': '265 V', 'current': '1.7 A', 'speed': '1075 rpm', 'ambient_rating': '140 degF'}),
    ('A 1.9 V 208-230 HP 1/3 RPM 1075 CL B AMB 60\xb0C TEAO 45/7.5/440 CAP',
     {'enclosure': 'totally enclosed air over', 'insulation_class': 'B', 'capacitor': '45/7.5 uF', 'capacitor_voltage': '440 V', 'current': '1.9 A', 'voltage': '208-230 V', 'power': '1/3 hp', 'speed': '1075 rpm', 'ambient_rating': '60 degC'}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "fields"), [*TEXTS, *ORDINARY])
def test_a_nameplate_is_read_in_any_order(text, fields):
    assert read_nameplate(text).fields == fields


@pytest.mark.parametrize(
    "text, fields",
    [
        ("SHAFT 1/2", {"shaft_diameter": "1/2 in"}),
        ("SHAFT 1/2 X 6", {"shaft_diameter": "1/2 in", "shaft_length": "6 in"}),
        (
            'SHAFT DIA .5" X 4.5" LONG BODY 5-5/8',
            {"shaft_diameter": ".5 in", "shaft_length": "4.5 in", "body_diameter": "5 5/8 in"},
        ),
        ("FLECHA 12.7 MM X 150 MM", {"shaft_diameter": "12.7 mm", "shaft_length": "150 mm"}),
        ("SHAFT DOWN", {"shaft_position": "down"}),
        ("SHAFT", {}),
        ("SHAFT 1/3", {}),  # no shaft has this diameter
    ],
)
def test_dimensions_added_to_the_nameplate_are_read(text, fields):
    read = read_nameplate(f"1/4 HP 208-230 V 1075 RPM {text}").fields
    assert read == {"power": "1/4 hp", "voltage": "208-230 V", "speed": "1075 rpm"} | fields


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


@settings(max_examples=75, deadline=None)
@given(st.text(alphabet="HPVARMCL BFWkOS0123456789./-+,\n|\u00b5\u00bd", max_size=120))
def test_any_text_is_read_or_refused(text):
    try:
        found = read_nameplate(text)
    except InputError:
        return
    assert found.found


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [("CAP4UF440V6POLE 1/4HP 460V", "voltage", "460 V"), ("CAP4UF440V6POLE", "capacitor_voltage", "440 V"),
     ("CAP 5MFD 370V208-230V", "voltage", "208-230 V"), ("CAP 5/370VOLTS208-230", "voltage", "208-230 V"),
     ("RPM 1158.87790 HP 1/4", "speed", None)],
)  # fmt: skip
def test_entries_that_run_together_are_told_apart_or_left(text, field, value):
    assert read_nameplate(text).fields.get(field) == value


def test_volts_that_are_probably_the_capacitors_are_to_be_checked():
    found = {one.field: one for one in read_nameplate("HP 1/4 V 440 A 1.0 CAP 5 UF").found}
    assert found["voltage"].certainty == CHECK and found["capacitor"].value == "5 uF"
