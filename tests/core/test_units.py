"""Amounts as people write them: published factors, the grammar, refusals, what is shown."""

import subprocess
import sys

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.texts import Writer
from airover.core.units import (
    FRACTIONS_HP,
    Amount,
    coherent,
    convert,
    parse_number,
    quoted,
    read,
    show,
)


@pytest.mark.parametrize(
    ("text", "kind", "published", "within"),
    [  # within: half a unit of the last published figure
        ("1 hp", "power", 7.456999e2, 1e-7),  # horsepower (550 ft lbf/s)
        ("1 in", "length", 2.54e-2, 1e-12),  # exact
        ("1 ft", "elevation", 3.048e-1, 1e-12),  # exact
        ("1 lb", "mass", 4.535924e-1, 2e-7),  # pound (avoirdupois)
        ("1 oz", "mass", 2.834952e-2, 2e-7),  # ounce (avoirdupois)
        ("1 cfm", "flow", 4.719474e-4, 2e-7),  # cubic foot per minute
        ("1 inH2O", "pressure", 2.490889e2, 3e-7),  # inch of water, conventional
        ("1 mmH2O", "pressure", 9.80665, 1e-12),  # millimeter of water, conventional; exact
        ("1000 Btu/h", "heat", 2.930711e2, 2e-7),  # Btu_IT per hour
        ("1 ton", "heat", 3.516853e3, 3e-7),  # ton of refrigeration, 12 000 Btu_IT/h
        ("1 deg", "angle", 1.745329e-2, 3e-7),  # degree
        ("0.1 lb/ft3", "density", 1.601846, 3e-7),  # a tenth of a pound per cubic foot
    ],
)
def test_factors_are_those_of_nist_sp_811(text, kind, published, within):
    """NIST Special Publication 811 (2008), appendix B.8; from memory, recomputed."""
    assert read(text, kind, "field").mid == pytest.approx(published, rel=within)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [  # t/degC = (t/degF - 32)/1.8, T/K = t/degC + 273.15, exact: NIST SP 811 (2008), appendix B.8; from memory, recomputed
        ("95 degF", "air_temperature", 35.0),
        ("-40 degF", "air_temperature", -40.0),
        ("308.15 K", "air_temperature", 35.0),
        ("212 °F", "temperature", 100.0),
        ("18 degF", "temperature_rise", 10.0),
        ("10 degC", "temperature_rise", 10.0),
        ("10 K", "temperature_rise", 10.0),
    ],
)
def test_temperatures_have_an_offset_and_rises_have_none(text, kind, expected):
    assert read(text, kind, "field").mid == pytest.approx(expected, abs=1e-10)


@pytest.mark.parametrize(
    ("texts", "kind", "low", "high"),
    [
        (["1/3 hp", "1/3 HP", "1/3 H.P.", "⅓ hp", "1/3 horsepower"], "power", 248.56662, 248.56662),
        (["1/6-1/3 hp", "1/6, 1/5, 1/4, 1/3 hp", "1/6 to 1/3 hp"], "power", 124.28331, 248.56662),
        (["1 1/2 hp", "1-1/2 hp", "1.5 hp", "1½ hp"], "power", 1118.5498, 1118.5498),
        (["0.25 kW", "250 W", "250 watts"], "power", 250, 250),
        (
            ["208-230 V", "208/230 V", "208 to 230 V", "208 V to 230 V", "208–230 VAC",
             "208V/230V", "208 or 230 volts", "208 - 230 v"],
            "voltage", 208, 230,
        ),
        (["7.5 uF", "7.5 µF", "7.5 μF", "7.5 mfd", "7.5 MFD", "7.5MF"], "capacitance", 7.5e-6, 7.5e-6),
        (["0 uF", "0.0 uF", "0 nF"], "meter_capacitance", 0, 0),  # a capacitor that is open
        (["12 nF", "0.012 uF"], "meter_capacitance", 12e-9, 12e-9),
        (["95 degF", "95 F", "95 °F", "95ºF", "95 deg. F"], "air_temperature", 35, 35),
        (["-10 to 5 degC", "-10 - 5 C"], "air_temperature", -10, 5),
        (["5 5/8 in", "5-5/8 in", '5 5/8"', "5⅝ in.", "5.625 inches", "5 5/8″"], "length", 0.142875, 0.142875),
        (["1,075 rpm", "1075 RPM", "1075 r.p.m.", "1075 r/min", "1.075e3 rpm"], "speed", 1075, 1075),
        (["1075/825 rpm", "825/1075 rpm", "1075, 825 rpm"], "speed", 825, 1075),
        (["2.0 A", "2.0 amps", "2 amp", "+2 A", "2. A", "2.0 FLA"], "current", 2, 2),
        (["60 Hz", "60 cycles", "60 hertz"], "frequency", 60, 60),
        (["50/60 Hz", "60/50 Hz"], "frequency", 50, 60),
        (['0.25 in. w.g.', "0.25 inWC", "0.25 inH2O", '.25" w.g.'], "pressure", 62.27222, 62.27222),
        (["3600 m3/h", "3600 m³/h", "1 m3/s", "1000 l/s"], "flow", 1, 1),
        (["12,000 Btu/h", "1 ton", "12 MBH"], "heat", 3516.853, 3516.853),
        (["1 1/2 lb", "24 oz"], "mass", 0.68038856, 0.68038856),
        (["5 years", "60 months"], "duration", 60, 60),
        (["50 %", "50%"], "humidity", 0.5, 0.5),
    ],
)  # fmt: skip
def test_texts_that_people_write(texts, kind, low, high):
    for text in texts:
        amount = read(text, kind, "field")
        assert amount.low == pytest.approx(low, rel=1e-6), text
        assert amount.high == pytest.approx(high, rel=1e-6), text
        assert amount.text == text
        assert amount.unit == KINDS[kind].unit


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("1,4 A", "current", 1.4),
        ("1,85 A", "current", 1.85),
        ("1,4 a 1,9 A", "current", 1.65),  # Spanish "a"
        ("1,4 A a 1,9 A", "current", 1.65),
        ("208 a 230 V", "voltage", 219.0),
        ("1,075 rpm", "speed", 1075.0),
        ("1,075.5 rpm", "speed", 1075.5),
        ("1.075,5 rpm", "speed", 1075.5),
        ("12,000 Btu/h", "heat", 3516.853),
        ("2,400 cfm", "flow", 1.132674),
        ("0,075 lb/ft3", "density", 1.201385),
        ("5,6 in", "length", 0.14224),
        ("7,5 uF", "capacitance", 7.5e-6),
        ("35,6 degC", "air_temperature", 35.6),
        ("-1,5 degC", "air_temperature", -1.5),
        ("14,25 ohm", "resistance", 14.25),
        ("1,2,1,9 A", "current", None),
        ("50,60 Hz", "frequency", None),  # 50.6 Hz, or 50 and 60 Hz
        ("1075,825 rpm", "speed", None),
        ("208,230 V", "voltage", None),
        ("5,625 in", "length", None),  # 5.625 in, or a slip in typing
        ("1,200 kg/m3", "density", None),
        ("1,075,5 rpm", "speed", None),
    ],
)
def test_a_comma_groups_thousands_or_is_a_decimal_comma_and_is_never_guessed(text, kind, value):
    if value is None:
        with pytest.raises(InputError):
            read(text, kind, "field")
    else:
        assert read(text, kind, "field").mid == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "kind", "us", "si"),
    [
        ("5 in.", "body_diameter", "5 in", "127 mm"),
        ("165.1 mm", "shaft_length", "6 1/2 in", "165.1 mm"),
        ("1/3 HP", "power", "1/3 hp", "249 W"),
        ("250 W", "power", "250 W", "250 W"),
        ("208/230 V", "voltage", "208/230 V", "208/230 V"),
        ("1100 ft", "elevation", "1,100 ft", "335 m"),
        ("1075 rpm", "speed", "1075 rpm", "1075 rpm"),
        ("2.0 A", "current", "2.0 A", "2.0 A"),
        ("1,4 A", "current", "1.4 A", "1.4 A"),
        ("17 degF", "temperature_rise", "17 degF", "9.4 K"),
        ("95 to 105 degF", "air_temperature", "95 to 105 degF", "35 to 41 degC"),
        ("9 to 11 years", "duration", "9 to 11 years", "9 to 11 years"),
        ("7.5 mfd", "capacitance", "7.5 uF", "7.5 uF"),
    ],
)
def test_what_was_typed_is_shown_as_typed_where_the_reader_has_its_units(text, kind, us, si):
    amount = read(text, kind, "field")
    assert Writer("en", "US").amount(amount, kind) == us
    assert Writer("en", "SI").amount(amount, kind) == si


def test_an_error_has_an_example_in_the_readers_units():
    with pytest.raises(InputError) as caught:
        read("5.5", "length", "bore")
    assert '"5 5/8 in"' in Writer("en", "US").error(caught.value)
    assert '"143 mm"' in Writer("en", "SI").error(caught.value)


def test_ranges_are_written_once_with_one_unit():
    torque, load = Band(1.5, 1.74, 2.0), Band(150.0, 198.0, 244.0)
    us, si = Writer("en", "US"), Writer("en", "SI")
    assert us.amount(torque, "torque") == "17.7 to 23.6 oz-ft (1.5-2.0 N m)"
    assert us.range(149.0, 247.0, "shaft_power", 2).startswith("0.20 to 0.33 hp")
    assert us.range(149.0, 247.0, "power") == "1/5 to 1/3 hp"
    assert us.amount(1.74, "torque") == "20.5 oz-ft (1.74 N m)"
    assert us.amount(Band(4.0, 5.0, 6.0), "torque") == "35 to 53 in-lb (4-6 N m)"
    assert si.amount(1.74, "torque") == "1.74 N m"
    assert us.estimate(load, "shaft_power", 2) == "0.27 hp / 198 W (0.20-0.33 hp)"
    assert si.estimate(load, "shaft_power", 0) == "198 W (150-244)"
    assert us.estimate(Band(1.61, 1.71, 1.78), "current") == "1.71 A (1.61-1.78)"
    assert us.estimate(Band(-5.0, 1.0, 9.0), "air_temperature") == "34 degF (23-48)"
    assert si.estimate(Band(-5.0, 1.0, 9.0), "air_temperature") == "1 degC (-5...9)"
    assert us.about(Band(17090.0, 5e4, 135208.0), "hours") == "17,000-140,000 h"


def test_an_amount_has_a_middle_and_says_whether_it_is_a_range():
    assert read(" 208-230 V ", "voltage", "voltage") == Amount(208.0, 230.0, "V", "208-230 V")
    assert read("208-230 V", "voltage", "voltage").mid == 219.0
    assert read("208-230 V", "voltage", "voltage").is_range
    assert not read("230 V", "voltage", "voltage").is_range


@pytest.mark.parametrize(
    ("text", "kind", "sentence"),
    [
        ("", "voltage", 'line: nothing entered. Enter a voltage with its unit (V), such as "208-230 V".'),
        ("230", "voltage", 'line: "230" has no unit. Enter a voltage with its unit (V), such as "208-230 V".'),
        (230, "voltage", 'line: 230 has no unit. Enter a voltage with its unit (V), such as "208-230 V".'),
        (float("nan"), "voltage", 'line: nan has no unit. Enter a voltage with its unit (V), such as "208-230 V".'),
        (True, "voltage", 'line: True is not text. Enter a voltage with its unit (V), such as "208-230 V".'),
        (None, "speed", 'line: None is not text. Enter a speed with its unit (rpm), such as "1075 rpm".'),
        ("230 A", "voltage", 'line: "230 A" is not a number with a unit for this quantity. Enter a voltage with its unit (V), such as "208-230 V".'),
        ("1/3 V", "power", 'line: "1/3 V" is not a number with a unit for this quantity. Enter a power with its unit (hp, W or kW), such as "1/3 hp".'),
        ("1 5/4 hp", "power", 'line: "1 5/4 hp" is not a number with a unit for this quantity. Enter a power with its unit (hp, W or kW), such as "1/3 hp".'),
        ("1/0 hp", "power", 'line: "1/0 hp" is not a number with a unit for this quantity. Enter a power with its unit (hp, W or kW), such as "1/3 hp".'),
        ("nan hp", "power", 'line: "nan hp" does not start with a number. Enter a power with its unit (hp, W or kW), such as "1/3 hp".'),
        ("inf A", "current", 'line: "inf A" does not start with a number. Enter a current with its unit (A), such as "2.0 A".'),
        ("1e400 A", "current", 'line: "1e400 A" is not accepted. Enter a value from 0.05 to 50 A.'),
        ("-2 A", "current", 'line: "-2 A" is not accepted. Enter a value from 0.05 to 50 A.'),
        ("200 A", "current", 'line: "200 A" is not accepted. Enter a value from 0.05 to 50 A.'),
        ("1.075 rpm", "speed", 'line: "1.075 rpm" is not accepted. Enter a value from 100 to 5000 rpm.'),
        ("200 degF", "air_temperature", 'line: "200 degF" is not accepted. Enter a value from -76 to 194 degF.'),
        ("5 ft", "body_length", 'line: "5 ft" is not accepted. Enter a value from 0.0985 to 1.96 ft.'),
        ("230-208 V", "voltage", 'line: "230-208 V" has the high value first. Enter a voltage with its unit (V), such as "208-230 V".'),
        ("1 ft to 1 in", "length", 'line: "1 ft to 1 in" has the high value first. Enter a length with its unit (in, ft, mm, cm or m), such as "5 5/8 in".'),
        ("30,000 ft", "elevation", 'line: "30,000 ft" is not accepted. Enter a value from -1,640 to 19,600 ft.'),
        ("7,500 uF", "capacitance", 'line: the comma in "7,500 uF" could be a thousands separator or a decimal point. Enter a capacitance with its unit (uF or F), such as "7.5 uF", without a comma.'),
        ("1,0755 rpm", "speed", 'line: "1,0755 rpm" is not accepted. Enter a value from 100 to 5000 rpm.'),
        ("45/5 uF", "capacitance", 'line: "45/5 uF" is not a number with a unit for this quantity. Enter a capacitance with its unit (uF or F), such as "7.5 uF".'),
        ("9" * 500 + " V", "voltage", 'line: the entry has 502 characters. Enter a voltage with its unit (V), such as "208-230 V".'),
    ],
)  # fmt: skip
def test_what_cannot_be_read_gets_one_sentence(text, kind, sentence):
    with pytest.raises(InputError) as caught:
        read(text, kind, "line")
    assert str(caught.value) == sentence


@pytest.mark.parametrize(
    "text",
    ["2*3 hp", "__import__('os') hp", "1/3/3 hp", "hp 1/3", "1 hp/2", "1 kg*m**2/s**3", "0x10 hp",
     "1_000 W", "1e hp", "٣ hp", "1/3 metric_horsepower", "1 2 3 hp", "1-2-3 hp"],
)  # fmt: skip
def test_nothing_typed_is_evaluated(text):
    with pytest.raises(InputError, match="^power: "):
        read(text, "power", "power")


@given(st.text(max_size=100), st.sampled_from(sorted(KINDS)))
def test_any_text_is_an_amount_or_an_input_error(text, kind):
    _amount_or_refusal(text, kind)


WORDS = st.sampled_from(
    ["V", "hp", "uF", "in", '"', "degF", "rpm", "m3/h", "%", "in. w.g.", "Btu/h"]
)
PIECES = st.sampled_from(
    [" ", "-", "/", ",", ".", "to", "or", "e", "+", "½", "–", "1", "0", "230", "5/8"]
)


@given(st.lists(PIECES | WORDS, max_size=10).map("".join), st.sampled_from(sorted(KINDS)))
def test_any_heap_of_numbers_and_units_is_an_amount_or_an_input_error(text, kind):
    _amount_or_refusal(text, kind)


def _amount_or_refusal(text, kind):
    try:
        amount = read(text, kind, "field")
    except InputError as error:
        assert str(error).startswith("field: ") and "\n" not in str(error)
        return
    low, high, _ = KINDS[kind].accepted
    assert low <= amount.low <= amount.high <= high
    assert read(amount.text, kind, "field") == amount


def test_the_example_of_every_kind_can_be_read_and_every_word_is_known():
    for kind, spec in KINDS.items():
        read(spec.example, kind, "field")
        for word in spec.words:
            back = coherent(convert(spec.accepted.high, kind, word), kind, word, "field")
            assert back == pytest.approx(spec.accepted.high), (kind, word)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(KINDS)), st.sampled_from(["US", "SI"]), st.floats(0, 1))
def test_what_is_shown_can_be_read_again(kind, system, share):
    low, high, _ = KINDS[kind].accepted
    value = low + (0.01 + 0.98 * share) * (high - low)  # off the very ends
    again = coherent(convert(value, kind, KINDS[kind].us[0]), kind, KINDS[kind].us[0], "field")
    assert again == pytest.approx(value, rel=1e-9, abs=1e-9)
    text = show(value, kind, system, digits=9)
    try:
        assert read(text, kind, "field").mid == pytest.approx(value, rel=1e-6, abs=1e-6)
    except InputError as error:  # a value near the end of its range may round out of it
        assert "without a unit" not in str(error) and "such a unit" not in str(error)


@pytest.mark.parametrize(
    ("value", "kind", "us", "si"),
    [
        (248.57, "power", "1/3 hp", "249 W"),
        (320.65, "power", "0.43 hp", "321 W"),
        (230.0, "voltage", "230 V", "230 V"),
        (35.0, "air_temperature", "95 degF", "35 degC"),
        (9.4444, "temperature_rise", "17 degF", "9.4 K"),
        (62.2722, "pressure", "0.25 in. wg", "62 Pa"),
        (0.142875, "length", "5 5/8 in", "143 mm"),
        (0.0127, "shaft_diameter", "1/2 in", "12.7 mm"),
        (0.1524, "shaft_length", "6 in", "152 mm"),
        (0.1, "length", "3 15/16 in", "100 mm"),
        (0.145, "length", "5 11/16 in", "145 mm"),
        (7.5e-6, "capacitance", "7.5 uF", "7.5 uF"),
        (1075.0, "speed", "1075 rpm", "1075 rpm"),
        (1.132674, "flow", "2,400 cfm", "1.13 m3/s"),
        (13188.2, "heat", "45,000 Btu/h", "13.2 kW"),
        (0.4712389, "angle", "27 deg", "27 deg"),
        (350.52, "elevation", "1,150 ft", "351 m"),
        (0.5, "humidity", "50 %", "50 %"),
        (-0.2, "pressure", "-0.001 in. wg", "0 Pa"),
        (18.0, "duration", "18 months", "18 months"),
        (12345.0, "elevation", "40,500 ft", "12,340 m"),
        (134567.0, "hours", "130,000 h", "130,000 h"),
        (0.012, "shaft_diameter", "0.472 in", "12 mm"),  # no tape's sixteenth: a hub must fit
        (0.00005, "length", "0.002 in", "0.1 mm"),
        (21.1, "temperature_rise", "38 degF", "21 K"),
        (1.74, "torque", "20.5 oz-ft", "1.74 N m"),
        (7.5, "torque", "66 in-lb", "7.5 N m"),
        (216.0, "shaft_power", "0.29 hp", "216 W"),
    ],
)
def test_values_are_shown_as_people_of_each_system_read_them(value, kind, us, si):
    assert show(value, kind) == us
    assert show(value, kind, "SI") == si


def test_horsepower_is_a_fraction_within_one_per_cent_of_a_standard_one():
    for text in FRACTIONS_HP:
        watts = read(f"{text} hp", "power", "power").mid
        assert show(1.009 * watts, "power") == show(0.991 * watts, "power") == f"{text} hp"
        assert "/" not in show(1.011 * watts, "power")


def test_digits_are_those_after_the_point():
    assert show(248.5666, "power", digits=2) == "0.33 hp"
    assert show(1.4567, "current", digits=1) == "1.5 A"


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: show(float("nan"), "power"), "power: nan is not accepted"),
        (lambda: show(float("inf"), "power"), "power: inf is not accepted"),
        (
            lambda: show(1.0, "power", "metric"),
            'system: "metric" is not accepted. Enter "US" or "SI"',
        ),
        (
            lambda: convert(1.0, "power", "V"),
            'unit: "V" is not a unit for this quantity. Enter a power',
        ),
        (
            lambda: coherent(1.0, "length", "rpm", "heading"),
            'heading: "rpm" is not a unit for this quantity',
        ),
    ],
)
def test_what_cannot_be_shown_or_converted(call, words):
    with pytest.raises(InputError) as caught:
        call()
    assert str(caught.value).startswith(words)


def test_whole_columns_are_converted_at_once():
    si = coherent(np.array([0.5, 5.625]), "length", "in", "heading")
    np.testing.assert_allclose(si, [0.0127, 0.142875], rtol=1e-12)
    np.testing.assert_allclose(convert(si, "length", "in"), [0.5, 5.625], rtol=1e-12)


def test_a_bare_number_is_read_by_the_same_grammar():
    assert parse_number("1,075") == 1075.0
    assert parse_number("7,5") == parse_number("7.5") == 7.5
    assert parse_number("1/6", fractions=True) == pytest.approx(1 / 6)
    assert [parse_number(text) for text in ("1/6", "", "6-Jan", "7,5,", "-1", "1 V")] == [None] * 6


def test_quoted_is_one_short_line():
    assert quoted("a\nb\x1b") == '"a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}"'
    assert len(quoted("x" * 1000)) < 70
    assert "a number with more than 50 digits" in str(InputError("poles", quoted(10**5000), ""))


def test_pint_is_not_imported_before_it_is_needed():
    code = "import sys, airover.records, airover.records.scope; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_every_unit_is_worth_what_pints_own_list_says():
    whole = pint.UnitRegistry()
    for kind, spec in KINDS.items():
        unit = spec.words.get(spec.unit, "dimensionless")
        for word, name in spec.words.items():
            for value in (0.0, 37.0):
                theirs = whole.convert(value, name, unit)
                assert coherent(value, kind, word, "x") == pytest.approx(theirs, rel=1e-12)
