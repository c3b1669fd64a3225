"""Nameplates: what is read, what follows from it, what contradicts itself."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.fan import Blade
from airover.records.fields import read_day
from airover.records.job import Job
from airover.records.nameplate import Nameplate, poles_at
from airover.records.readings import Measurements

PLATE = {
    "voltage": "208-230 V", "frequency": "60 Hz", "phase": 1, "power": "1/3 hp", "current": "2.0 A",
    "speed": "1075 rpm", "capacitor": "7.5 uF", "capacitor_voltage": "370 VAC",
    "rotation": "CW", "rotation_seen_from": "lead end", "frame": 48, "bearings": "Ball bearings",
    "shaft_diameter": "1/2 in", "body_diameter": "5 5/8 in", "mounting": "through bolts",
    "shaft_position": "shaft-down", "enclosure": "TEAO", "insulation_class": "class b",
    "ambient_rating": "60 degC", "drain_plugs": "both", "kind": "permanent split capacitor",
}  # fmt: skip


def refusal(**fields) -> str:
    with pytest.raises(InputError) as caught:
        Nameplate(**fields)
    return str(caught.value)


def test_a_plate_as_people_write_it():
    plate = Nameplate(**PLATE)
    assert (plate.voltage.low, plate.voltage.high) == (208, 230)
    assert plate.power.mid == pytest.approx(248.5666, rel=1e-6)
    assert plate.speed_rpm.mid == 1075
    assert plate.capacitor.mid == 7.5e-6
    assert (plate.phase, plate.frame, plate.bearings) == (1, "48", "ball")
    assert (plate.mounting, plate.shaft_position) == ("through-bolts", "down")
    assert (plate.enclosure, plate.insulation_class) == ("totally enclosed air over", "B")
    assert (plate.drain_plugs, plate.rotation) == ("both ends", "clockwise")
    assert plate.warnings() == []


def test_what_is_unknown_is_none_and_nothing_follows_from_it():
    plate = Nameplate()
    assert plate.voltage is plate.poles is plate.rotation is None
    assert plate.kind == ""
    assert plate.synchronous_rpm is plate.pole_count is None
    assert plate.rotation_shaft_end is plate.efficiency_times_pf is None
    assert plate.warnings() == []


def test_a_plate_does_not_change_and_takes_its_own_amounts_again():
    plate = Nameplate(**PLATE)
    with pytest.raises(ValueError):
        plate.phase = 3
    assert Nameplate(**dict(plate)) == plate
    assert Nameplate(**dict(plate) | {"power": "1/4 hp"}).power.text == "1/4 hp"


@pytest.mark.parametrize("phase", [1, "1", "single", "single-phase", "Single Phase"])
def test_ways_to_write_one_phase(phase):
    assert Nameplate(phase=phase).phase == 1


@pytest.mark.parametrize(
    ("rotation", "seen_from", "from_shaft_end"),
    [
        ("CW", "shaft end", "clockwise"),
        ("cw", "lead end", "counterclockwise"),
        ("CCW", "lead end", "clockwise"),
        ("counter-clockwise", "shaft end", "counterclockwise"),
        ("reversible", None, "reversible"),
        ("reversible", "lead end", "reversible"),
        ("CW", None, None),
        (None, "lead end", None),
    ],
)
def test_rotation_is_the_opposite_from_the_other_end(rotation, seen_from, from_shaft_end):
    plate = Nameplate(rotation=rotation, rotation_seen_from=seen_from)
    assert plate.rotation_shaft_end == from_shaft_end


@pytest.mark.parametrize(
    ("speed_rpm", "frequency", "poles"),
    [  # common nameplate speeds of the trade, no source; synchronous speed is 120 f / p
        (1075, 60, 6), (1140, 60, 6), (825, 60, 8), (1625, 60, 4), (1725, 60, 4), (3450, 60, 2),
        (925, 50, 6), (690, 50, 8), (1400, 50, 4), (555, 60, 12),
        (1200, 60, None), (1250, 60, None), (900, 60, None), (3600, 60, None), (1075, 50, None),
    ],
)  # fmt: skip
def test_poles_follow_from_speed(speed_rpm, frequency, poles):
    assert poles_at(speed_rpm, frequency) == poles
    if poles:
        plate = Nameplate(speed=f"{speed_rpm} rpm", frequency=f"{frequency} Hz")
        assert plate.pole_count == poles
        assert plate.synchronous_rpm == 120 * frequency / poles


@given(st.sampled_from([2, 4, 6, 8, 10, 12]), st.sampled_from([50, 60]), st.floats(0.01, 0.19))
def test_a_motor_of_small_slip_is_known_by_its_speed(poles, frequency, slip):
    speed = (1 - slip) * 120 * frequency / poles
    found = poles_at(speed, frequency)
    assert found >= poles  # at many poles the next synchronous speed lies nearer than the slip
    assert 0 < 1 - speed * found / (120 * frequency) <= slip + 1e-12


def test_poles_on_the_plate_come_first():
    plate = Nameplate(poles=6, frequency="60 Hz")
    assert (plate.pole_count, plate.synchronous_rpm) == (6, 1200)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"voltag": "230 V"}, 'Unknown field "voltag". Did you mean "voltage"?'),
        ({"rpm": "1075 rpm"}, 'Unknown field "rpm". Did you mean "speed"?'),
        ({"HP": "1/3 hp"}, 'Unknown field "HP". Did you mean "power"?'),
        ({"power": "1/3"}, 'power: "1/3" has no unit. Enter a power with its unit (hp, W or kW), such as "1/3 hp".'),
        ({"ambient_rating": 60}, 'ambient rating: 60 has no unit. Enter a temperature with its unit (degF, degC or K), such as "95 degF".'),
        ({"speed": "1075/1"}, 'speed: "1075/1 rpm" is not accepted. Enter a value from 100 to 5000 rpm.'),
        ({"poles": "7P"}, 'poles: "7P" is not accepted. Enter an even number from 2 to 16.'),
        ({"voltage": "208-230/60/1", "frequency": 50}, 'voltage: "208-230/60/1" does not agree with 50 in the field Hertz. Correct one of them.'),
        ({"rotation": "CCWSE", "rotation_seen_from": "lead end"}, 'rotation: "CCWSE" does not agree with "lead end" in the field Rotation viewed from. Correct one of them.'),
        ({"speed": "1075 Hz"}, 'speed: "1075 Hz" is not a number with a unit for this quantity. Enter a speed with its unit (rpm), such as "1075 rpm".'),
        ({"ambient_rating": "60 W"}, 'ambient rating: "60 W" is not a number with a unit for this quantity. Enter a temperature with its unit (degF, degC or K), such as "95 degF".'),
        ({"poles": 5}, "poles: 5 is not accepted. Enter an even number from 2 to 16."),
        ({"poles": True}, "poles: True is not accepted. Enter an even number from 2 to 16."),
        ({"poles": 10**5000}, "poles: a number with more than 50 digits. Needed: an even number from 2 to 16."),
        ({"phase": 2}, 'phase: 2 is not accepted. Enter "1" or "3".'),
        ({"rotation": "left"}, 'rotation: "left" is not accepted. Enter "clockwise", "counterclockwise" or "reversible".'),
        ({"bearings": 3}, 'bearings: 3 is not accepted. Enter "sleeve" or "ball".'),
        ({"insulation_class": "Z"}, 'insulation class: "Z" is not accepted. Enter "A", "B", "F" or "H".'),
        ({"service": "\x1b[0m"}, 'service: "\N{REPLACEMENT CHARACTER}[0m" is not accepted. Enter plain text, up to 2000 characters.'),
        ({"frame": ["48"]}, "frame: ['48'] is not accepted. Enter plain text, up to 2000 characters."),
    ],
)  # fmt: skip
def test_what_cannot_be_read_gets_one_sentence(fields, sentence):
    assert refusal(**fields) == sentence


def test_an_unknown_name_like_no_other_shows_them_all():
    assert '"voltage", "frequency"' in refusal(xyz="grey")


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        (
            {"speed": "4000 rpm", "frequency": "60 Hz"},
            "speed: 4000 rpm at 60 Hz. Needed: a value from 338 to 3600 rpm, such as 1075 rpm.",
        ),
        (
            {"speed": "107 rpm", "frequency": "60 Hz"},
            "speed: 107 rpm at 60 Hz. Needed: a value from 338 to 3600 rpm, such as 1075 rpm.",
        ),
        (
            {"capacitor_voltage": "200 V", "voltage": "208-230 V"},
            "capacitor voltage: 200 V is not accepted. Enter at least the supply voltage, 208-230 V.",
        ),
        (
            {"capacitor_voltage": "250 V", "voltage": "380 V"},
            "capacitor voltage: 250 V is not accepted. Enter at least the supply voltage, 380 V.",
        ),
        (
            {"shaft_diameter": "60 mm", "body_diameter": "55 mm"},
            "shaft diameter: 60 mm is not accepted. Enter less than the body diameter, 55 mm.",
        ),
    ],
)
def test_contradictions(fields, sentence):
    assert refusal(**fields) == sentence


@pytest.mark.parametrize(
    "fields",
    [
        {"power": "1/2 hp", "voltage": "115 V"},
        {"power": "1/3 hp", "voltage": "208-230 V", "current": "1.1 A"},  # 230 x 1.1 = 253 > 249 W
        {"power": "1 hp", "voltage": "230 V", "current": "2 A", "phase": 3},  # sqrt 3: 797 W
        {"speed": "1199 rpm", "poles": 6, "frequency": "60 Hz"},
        {"speed": "1250 rpm", "poles": 6},
        {"speed": "925 rpm", "poles": 6, "frequency": "50/60 Hz"},
        {"speed": "690 rpm", "poles": 8, "frequency": "60 Hz"},  # also 10 poles of little slip
        {"speed": "900/1075 rpm", "frequency": "50/60 Hz"},
        {"speed": "1075/825 rpm", "frequency": "60 Hz", "poles": 6},
        {"capacitor_voltage": "230 V", "voltage": "208-230 V"},
        {"capacitor_voltage": "370 V", "voltage": "460 V"},  # auxiliary fed from a tap
        {"capacitor_voltage": "440 VAC", "voltage": "575 V"},
    ],
)
def test_what_may_be_true_is_no_contradiction(fields):
    assert all(doubt.code == "power factor" for doubt in Nameplate(**fields).doubts())
    assert "poles" not in fields or Nameplate(**fields).pole_count == fields["poles"]


@pytest.mark.parametrize(
    ("hp", "volts", "amps", "in_doubt"),
    [  # the first six: ordinary nameplates of the trade, from memory, not verified
        ("1/12 hp", "208-230 V", "0.6 A", False),
        ("1/6 hp", "208-230 V", "1.0 A", False),
        ("1/6 hp", "115 V", "2.6 A", False),
        ("1/4 hp", "208-230 V", "1.5 A", False),
        ("1/3 hp", "460 V", "1.0 A", False),
        ("3/4 hp", "208-230 V", "4.2 A", False),
        ("1/6 hp", "230 V", "10 A", True),  # 2300 VA for 124 W
        ("1/3 hp", "230 V", "0.9 A", True),  # 207 VA for 249 W: more out than in
        ("1/2 hp", "115 V", "1 A", True),
        ("1/3 hp", "230 V", "1.2 A", True),
        ("1/3 hp", "230 V", "5 A", True),
    ],
)
def test_amps_and_horsepower_that_do_not_go_together_are_in_doubt(hp, volts, amps, in_doubt):
    plate = Nameplate(voltage=volts, power=hp, current=amps)
    assert [doubt.code for doubt in plate.doubts()] == ["power factor"] * in_doubt
    for doubt in plate.doubts():
        assert doubt.fields == ("power", "voltage", "current")
        assert not doubt.low <= doubt.found <= doubt.high
        (sentence,) = map(Writer("en"), plate.warnings())
        assert f"{hp} and {amps} at {volts} do not agree" in sentence
        assert f"is {doubt.found:.2f}, but 0.30 to 0.80 is usual" in sentence


@pytest.mark.parametrize(
    ("hp", "volts", "amps", "capacitor", "in_doubt"),
    [  # ordinary nameplates of the trade (common practice, no source)
        ("1/12 hp", "115 V", "1.6 A", "4 uF 370 V", False),
        ("1/6 hp", "115 V", "2.9 A", "5 uF 370 V", False),
        ("1/4 hp", "115 V", "4.0 A", "5 uF 370 V", False),
        ("1/4 hp", "115 V", "4.6 A", "5 uF 440 V", False),
        ("1/3 hp", "115 V", "5.2 A", "7.5 uF 370 V", False),
        ("1/2 hp", "115 V", "7.4 A", "10 uF", False),
        ("1/12 hp", "208-230 V", "0.6 A", "3 uF 370 V", False),
        ("1/4 hp", "208-230 V", "1.8 A", "5 uF 370 V", False),
        ("1/2 hp", "208-230 V", "3.2 A", "7.5 uF 440 V", False),
        ("1 hp", "208-230 V", "5.6 A", "15 uF 370 V", False),
        ("1/4 hp", "277 V", "1.4 A", "5 uF 370 V", False),
        ("1/3 hp", "460 V", "1.1 A", "10 uF 370 V", False),  # fed from a tap
        ("1 hp", "460 V", "2.9 A", "15 uF 440 V", False),
        ("1/4 hp", "115 V", "4.3 A", "45 uF 370 V", True),  # the compressor's section
        ("1/4 hp", "115 V", "4.3 A", "1 uF 370 V", True),
        ("1/4 hp", "208-230 V", "1.8 A", "35 uF 440 V", True),
        ("1/2 hp", "208-230 V", "3.2 A", "45 uF 370 V", True),
        ("1/2 hp", "208-230 V", "3.2 A", "1 uF", True),
        ("1/4 hp", "460 V", "0.9 A", "45 uF 370 V", True),
    ],
)
def test_microfarads_that_do_not_go_with_volts_and_amps_are_in_doubt(
    hp, volts, amps, capacitor, in_doubt
):
    plate = Nameplate(voltage=volts, power=hp, current=amps, capacitor=capacitor, frequency="60 Hz")
    assert [doubt.code for doubt in plate.doubts()] == ["capacitor"] * in_doubt
    for sentence in map(Writer("en"), plate.warnings()):
        assert f"does not match {volts} and {amps}" in sentence


@pytest.mark.parametrize(
    ("fields", "poles", "code", "sentence"),
    [
        ({"speed": "1300 rpm"}, 6, "speed", "Check the nameplate rpm again. 6 poles are assumed."),
        ({"speed": "1200 rpm"}, 6, "speed", "With 6 poles, a motor runs between 900 and 1200 rpm"),
        ({"speed": "900 rpm"}, 8, "speed", "With 8 poles, a motor runs between 675 and 900 rpm"),
        ({"speed": "1800 rpm"}, 4, "speed", "With 4 poles"),
        ({"speed": "1250 rpm", "poles": 8}, 8, "speed", "No motor runs at 1250 rpm on 60 Hz"),
        ({"speed": "1075 rpm", "poles": 8}, 6, "poles", "corresponds to 6 poles, not 8"),
        (
            {"speed": "825 rpm", "poles": 6},
            8,
            "poles",
            "825 rpm at 60 Hz corresponds to 8 poles, not 6",
        ),
    ],
)
def test_a_speed_that_does_not_go_with_the_poles_is_in_doubt(fields, poles, code, sentence):
    plate = Nameplate(frequency="60 Hz", **fields)
    (doubt,) = plate.doubts()
    assert (doubt.code, plate.pole_count) == (code, poles)
    assert sentence in Writer("en")(plate.warnings()[0])


@pytest.mark.parametrize(
    ("text", "fan", "compressor", "volts"),
    [
        ("45/5 uF", 5, 45, None),
        ("45/5 MFD 440V", 5, 45, 440),
        ("45+5 mfd", 5, 45, None),
        ("5/45 uF", 5, 45, None),
        ("45 uF / 5 uF 370 VAC", 5, 45, 370),
        ("35 and 7.5 mfd, 370/440 V", 7.5, 35, 440),
        ("45/5 uF \u00b16% 440 VAC", 5, 45, 440),
        ("80+7.5 uF x 440 V", 7.5, 80, 440),
        ("7.5 uF", 7.5, None, None),
        ("5 uF 370 VAC", 5, None, 370),
        ("4 to 5 uF", 4.5, None, None),
    ],
)
def test_a_capacitor_as_it_is_marked(text, fan, compressor, volts):
    """FAN is the smaller section of a dual capacitor, HERM the larger: common practice."""
    plate = Nameplate(capacitor=text)
    assert plate.capacitor.mid == pytest.approx(fan * 1e-6)
    assert plate.capacitor.text == text
    assert plate.capacitor.is_dual == (compressor is not None)
    if compressor:
        assert plate.capacitor.compressor == pytest.approx(compressor * 1e-6)
        assert plate.capacitor.compressor_text == f"{compressor} uF"
    assert (plate.capacitor_voltage and plate.capacitor_voltage.mid) == volts
    assert Nameplate(**dict(plate)) == plate


def test_typed_capacitor_volts_come_before_those_behind_the_value():
    assert Nameplate(capacitor="5 uF 370 V", capacitor_voltage="440 V").capacitor_voltage.mid == 440


@pytest.mark.parametrize("text", ["45/5 V", "45/0.1 uF", "45/900 uF", "440 V", "45/", "5/5/5 uF"])
def test_a_capacitor_that_cannot_be_read(text):
    assert refusal(capacitor=text).startswith(f'capacitor: "{text}"')


def test_every_problem_is_told_the_first_one_as_the_error():
    with pytest.raises(InputError) as caught:
        Nameplate(voltage="x", current="y", colour="grey")
    assert str(caught.value).startswith("voltage: ")
    assert [note.split(":")[0] for note in caught.value.__notes__] == [
        "current",
        'Unknown field "colour". Did you mean "enclosure"?',
    ]


def test_the_plate_fixes_efficiency_times_power_factor():
    """1/3 hp at 230 V: 2.5 A .432, 2.0 A .540, 1.8 A .600; common practice, recomputed."""
    for amps, product in (("2.5 A", 0.432), ("2.0 A", 0.540), ("1.8 A", 0.600)):
        plate = Nameplate(voltage="230 V", power="1/3 hp", current=amps)
        assert plate.efficiency_times_pf == pytest.approx((product, product), abs=5e-4)


def test_a_rotation_without_the_end_it_is_seen_from_is_a_warning():
    (warning,) = Nameplate(rotation="CCW").warnings()
    assert "Viewed from the other end, the rotation is opposite" in Writer("en")(warning)


@pytest.mark.parametrize(
    ("field", "typed", "stored"),
    [
        ("voltage", "208-230", {"voltage": "208-230 V"}),
        ("voltage", 230, {"voltage": "230 V"}),
        ("voltage", "200-230/60/1", {"voltage": "200-230 V", "frequency": "60 Hz", "phase": 1}),
        ("current", 1.9, {"current": "1.9 A"}),
        ("current", "N/A", {}),
        ("rotation", "-", {}),
        ("rotation", "CCWLE", {"rotation": "counterclockwise", "rotation_seen_from": "lead end"}),
        ("rotation", "CW SE", {"rotation": "clockwise", "rotation_seen_from": "shaft end"}),
        ("capacitor", "5/370", {"capacitor": "5 uF", "capacitor_voltage": "370 V"}),
        ("capacitor", "5 MFD 370V", {"capacitor": "5 MFD 370V", "capacitor_voltage": "370 V"}),
        ("capacitor", "5uF/370", {"capacitor": "5 uF", "capacitor_voltage": "370 V"}),
        ("capacitor", "45/5/440", {"capacitor": "45/5 uF", "capacitor_voltage": "440 V"}),
        ("capacitor", 7.5, {"capacitor": "7.5 uF"}),
        ("capacitor_voltage", "370/440", {"capacitor_voltage": "440 V"}),
        ("poles", "6P", {"poles": 6}),
        ("poles", "6 pole", {"poles": 6}),
        ("insulation_class", "CL B", {"insulation_class": "B"}),
        ("insulation_class", "INS F", {"insulation_class": "F"}),
        ("enclosure", "TEAO", {"enclosure": "totally enclosed air over"}),
        ("enclosure", "OPAO", {"enclosure": "open air over"}),
        ("bearings", "de bolas", {"bearings": "ball"}),
    ],
)
def test_a_field_is_read_as_printed_and_stored_with_its_unit(field, typed, stored):
    job = Job.from_toml(Job(nameplate={field: typed}).to_toml())
    plate = dict(zip(Nameplate.names(), dict(job.nameplate).values(), strict=True))
    known = {name: value for name, value in plate.items() if value not in (None, "")}
    assert {name: getattr(one, "text", one) for name, one in known.items()} == stored


def test_a_rotation_with_its_end_is_read_wherever_a_rotation_is_typed():
    assert Blade(rotation="CWLE").rotation_shaft_end == "counterclockwise"
    assert Measurements(rotation="CWSE").rotation_shaft_end == "clockwise"


@pytest.mark.parametrize(
    ("typed", "day"),
    [("01/24/2024", "2024-01-24"), ("24.1.2024", "2024-01-24"), ("5/5/24", "2024-05-05")],
)
def test_a_date_is_read_if_it_can_only_be_one_day(typed, day):
    assert read_day(typed, "installed").isoformat() == day


def test_a_date_with_two_meanings_is_asked_about():
    with pytest.raises(
        InputError, match="could mean two different dates. Enter 2024-03-04 or 2024-04-03"
    ):
        read_day("03/04/2024", "installed")
