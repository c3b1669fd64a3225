"""Catalogs: a CSV with the unit in each heading, and every way to get it wrong."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.records.catalog import COLUMNS, read_catalog

MOTOR = {
    "maker": "Example Motors A", "model": "A-1", "kind": "permanent split capacitor",
    "voltage [V]": "208-230", "frequency [Hz]": "60", "phase": "1", "poles": "6",
    "speed [rpm]": "1,075", "ratings [hp]": "1/6;1/5;1/4;1/3", "currents [A]": "1.2; 1.4; 1.6; 2.0",
    "capacitor [uF]": "7.5", "capacitor voltage [V]": "370", "insulation class": "B",
    "ambient rating [degC]": "60", "bearings": "ball", "bearing bore [mm]": "17",
    "rotation": "reversible", "rotation seen from": "", "frame": "48Y",
    "shaft diameter [in]": "1/2", "shaft length [in]": "6", "body diameter [in]": "5 5/8",
    "body length [in]": "5.5", "mass [lb]": "14", "mounting": "shell holes;through-bolts;belly band",
    "shaft positions": "up;down;horizontal", "drain plugs": "both ends",
    "enclosure": "totally enclosed air over", "protector": "automatic thermal",
    "price [USD]": "149.00", "warranty from installation [months]": "12",
    "warranty from manufacture [months]": "18",
}  # fmt: skip
REQUIRED = (
    "maker", "model", "voltage [V]", "frequency [Hz]", "phase", "poles", "speed [rpm]",
    "ratings [hp]", "currents [A]",
)  # fmt: skip


def table(*motors, headings=None) -> str:
    """CSV text of motors under their own headings, or under others."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(headings or motors[0])
    writer.writerows(motor.values() for motor in motors)
    return text.getvalue()


def renamed(old: str, new: str) -> list[str]:
    return [new if heading == old else heading for heading in MOTOR]


@pytest.fixture
def read(tmp_path):
    def read_text(text: str | bytes):
        path = tmp_path / "motors.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_catalog(path)

    return read_text


@pytest.fixture
def refusal(read):
    def sentence(text: str | bytes) -> str:
        with pytest.raises(InputError) as caught:
            read(text)
        return str(caught.value)

    return sentence


def test_the_headings_are_those_of_the_example():
    assert [column.heading for column in COLUMNS] == list(MOTOR)


def test_a_motor_in_si_units(read):
    (motor,) = read(table(MOTOR))
    assert motor.name == "Example Motors A A-1"
    assert (motor.voltage_low, motor.voltage_high, motor.frequency) == (208, 230, 60)
    assert (motor.phase, motor.poles, motor.speed_rpm, motor.synchronous_rpm) == (1, 6, 1075, 1200)
    # 745.699871582 W per mechanical horsepower: NIST SP 811 (2008); from memory, recomputed
    assert motor.ratings == pytest.approx([745.699871582 / n for n in (6, 5, 4, 3)])
    assert motor.currents == (1.2, 1.4, 1.6, 2.0)
    assert (motor.capacitor, motor.capacitor_voltage) == (7.5e-6, 370)
    assert (motor.insulation_class, motor.ambient_rating) == ("B", 60)
    assert (motor.bearings, motor.bearing_bore, motor.frame) == ("ball", 0.017, "48Y")
    assert (motor.shaft_diameter, motor.shaft_length) == (0.0127, 0.1524)
    assert (motor.body_diameter, motor.body_length) == (0.142875, 0.1397)
    assert motor.mass == pytest.approx(6.35029318)
    assert motor.mounting == ("shell holes", "through-bolts", "belly band")
    assert motor.shaft_positions == ("up", "down", "horizontal")
    assert (motor.rotation, motor.rotation_shaft_end) == ("reversible", "reversible")
    assert (motor.drain_plugs, motor.protector) == ("both ends", "automatic thermal")
    assert (motor.price, motor.currency) == (149.0, "USD")
    assert (motor.warranty_from_installation, motor.warranty_from_manufacture) == (12, 18)


def test_other_units_columns_and_their_order_do_not_matter(read):
    other = {
        "note": "x", "ratings [W]": "124;249", "currents [A]": "1.2;2.0", "mass [kg]": "6.35",
        "ambient rating [degF]": "140", "body length [mm]": "139.7", "shaft diameter [cm]": "1.27",
        "price [CAD]": "200", "warranty from installation [years]": "1", "rotation": "CW",
        "rotation seen from": "lead end",
    }  # fmt: skip
    names = {heading.split(" [")[0] for heading in other}
    kept = {h: cell for h, cell in MOTOR.items() if h.split(" [")[0] not in names}
    (motor,) = read(table(other | kept))
    assert motor.ratings == (124, 249)
    assert (motor.mass, motor.ambient_rating, motor.body_length) == (6.35, 60, 0.1397)
    assert (motor.shaft_diameter, motor.price, motor.currency) == (0.0127, 200, "CAD")
    assert motor.warranty_from_installation == 12
    assert motor.rotation_shaft_end == "counterclockwise"


def test_empty_cells_are_missing_facts(read):
    (motor,) = read(table({h: cell if h in REQUIRED else "" for h, cell in MOTOR.items()}))
    assert motor.capacitor is motor.bearings is motor.bearing_bore is motor.price is None
    assert (
        motor.shaft_length is motor.rotation is motor.rotation_shaft_end is motor.enclosure is None
    )
    assert (motor.kind, motor.frame, motor.mounting, motor.shaft_positions) == ("", "", (), ())


@pytest.mark.parametrize("heading", REQUIRED)
def test_cells_that_may_not_be_empty(refusal, heading):
    sentence = refusal(table(MOTOR, MOTOR | {heading: " "}))
    assert sentence.startswith(f"catalog line 3, column {heading}: the cell is empty.")


@pytest.mark.parametrize(
    ("cells", "sentence"),
    [
        ({"voltage [V]": "230 V"}, 'catalog line 2, column voltage [V]: "230 V" is not accepted. Enter a number or a range such as 208-230, without a unit, from 1 to 1,000 V.'),
        ({"voltage [V]": "2300"}, 'catalog line 2, column voltage [V]: "2300" is not accepted. Enter a number or a range such as 208-230, without a unit, from 1 to 1,000 V.'),
        ({"speed [rpm]": "nan"}, 'catalog line 2, column speed [rpm]: "nan" is not accepted. Enter a number without a unit, from 100 to 5000 rpm.'),
        ({"ratings [hp]": "6-Jan"}, 'catalog line 2, column ratings [hp]: "6-Jan" is not accepted. Enter numbers without units, separated by semicolons, from 0.001341 to 6.705 hp.'),
        ({"shaft diameter [in]": "12"}, 'catalog line 2, column shaft diameter [in]: "12" is not accepted. Enter a number without a unit, from 0.1575 to 2.362 in.'),
        ({"phase": "2"}, 'catalog line 2, column phase: "2" is not accepted. Enter 1 or 3.'),
        ({"poles": "five"}, 'catalog line 2, column poles: "five" is not accepted. Enter 2, 4, 6, 8, 10, 12, 14 or 16.'),
        ({"bearings": "magnetic"}, 'catalog line 2, column bearings: "magnetic" is not accepted. Enter "sleeve" or "ball".'),
        ({"shaft positions": "up;left"}, 'catalog line 2, column shaft positions: "up;left" is not accepted. Enter "up", "down" or "horizontal", or several of them separated by semicolons.'),
        ({"price [USD]": "cheap"}, 'catalog line 2, column price [USD]: "cheap" is not accepted. Enter a number from 0 to 1,000,000.'),
        ({"maker": "A\x1b[0m"}, 'catalog line 2, column maker: "A\N{REPLACEMENT CHARACTER}[0m" is not accepted. Enter plain text, up to 500 characters.'),
        ({"ratings [hp]": "1/3;1/4;1/5;1/6"}, "catalog line 2, column ratings: the ratings are not in ascending order. Needed: ratings from lowest to highest."),
        ({"currents [A]": "1.2;2.0"}, "catalog line 2, column currents: 2 currents are listed for 4 ratings. Needed: one current for each rating."),
        ({"currents [A]": ".1;.2;.3;.4"}, "catalog line 2, column ratings: a rating is higher than the input power, volts x amps. Needed: ratings below volts x amps."),
        ({"poles": "8"}, "catalog line 2, column speed: 1075 rpm is not accepted. Enter less than the synchronous speed, 120 x hertz / poles = 900 rpm."),
    ],
)  # fmt: skip
def test_a_wrong_cell_is_named_by_line_and_column(refusal, cells, sentence):
    assert refusal(table(MOTOR | cells)) == sentence


def test_the_line_is_that_of_the_file(refusal):
    text = table(
        MOTOR | {"kind": "two\nlines"}, MOTOR | {"model": "B"}, MOTOR | {"model": "C", "poles": "x"}
    )
    assert refusal("\n" + text).startswith("catalog line 6, column poles")


@pytest.mark.parametrize(
    ("headings", "sentence"),
    [
        (renamed("voltage [V]", "volts [V]"), 'catalog heading: "volts [V]" instead of "voltage [V]". Needed: a file with that heading.'),
        (renamed("poles", "zzz"), 'catalog heading: "poles" is missing. Needed: a file with that heading.'),
        (renamed("bearings", "bearing"), 'catalog heading: "bearing" instead of "bearings". Needed: a file with that heading.'),
        (renamed("voltage [V]", "voltage"), 'catalog heading: "voltage" has no unit. Needed: "voltage [V]" or another unit.'),
        (renamed("voltage [V]", "voltage [A]"), 'catalog heading "voltage [A]": "A" is not a unit for this quantity. Enter a voltage with its unit (V), such as "208-230 V".'),
        (renamed("frame", "maker"), 'catalog heading: "maker" appears 2 times. Needed: each heading only once.'),
        (renamed("price [USD]", "price [dollars]"), 'catalog heading: "dollars" is not a currency. Needed: three capital letters, such as "price [USD]".'),
    ],
)  # fmt: skip
def test_a_wrong_heading_is_named(refusal, headings, sentence):
    assert refusal(table(MOTOR, headings=headings)) == sentence


def test_columns_that_are_not_required_may_be_absent(read):
    (motor,) = read(table({h: cell for h, cell in MOTOR.items() if h in REQUIRED}))
    assert motor.speed_rpm == 1075 and motor.frame == motor.kind == ""
    assert motor.bearings is motor.price is motor.capacitor is None and motor.mounting == ()


def test_a_motor_may_be_listed_only_once(refusal):
    sentence = refusal(table(MOTOR, MOTOR | {"model": "B"}, MOTOR))
    assert sentence == (
        'catalog line 4: "Example Motors A A-1" already appears on line 2. '
        "Needed: each manufacturer and model only once."
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "catalog file: the file has no motors"),
        (table(MOTOR).splitlines()[0], "catalog file: the file has no motors"),
        (b"maker,model\nM\xfcller,1\n", "is not UTF-8 text"),
        (table(MOTOR) + "a,b\n", "catalog line 3: this row has 2 cells"),
        (table(MOTOR) + '"a', "catalog line 3: this row can't be read ("),
        (b"x" * 5_000_001, "Use a file of at most 5 MB"),
    ],
)
def test_files_that_are_no_catalog(refusal, text, words):
    assert words in refusal(text)


def test_blank_lines_and_a_byte_order_mark_are_read(read):
    text = table(MOTOR) + "\r\n" + "," * (len(MOTOR) - 1) + "\r\n"
    assert len(read(b"\xef\xbb\xbf" + text.encode())) == 1


@given(cell=st.text(max_size=12), heading=st.sampled_from(list(MOTOR)))
def test_any_cell_is_read_or_an_input_error(tmp_path_factory, cell, heading):
    path = tmp_path_factory.getbasetemp() / "cell.csv"
    path.write_bytes(table(MOTOR | {heading: cell}).encode("utf-8", "replace"))
    try:
        assert len(read_catalog(path)) == 1
    except InputError as error:
        assert "\n" not in str(error)
