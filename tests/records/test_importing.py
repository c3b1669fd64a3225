"""Tables as shops have them: invented price lists, calls and portfolios come in without editing."""

import csv
import datetime
import io

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.catalog import catalog_of
from airover.records.importing import (
    catalog_from,
    catalog_in,
    import_table,
    imported_calls,
    imported_catalog,
    matched,
    open_calls,
    open_catalog,
    open_table,
    save_matches,
)
from airover.records.sheets import sheet_of
from airover.records.tables import said

PRICES = """Hollow Creek Supply (invented);;;;;;;;;;;
Price sheet 2026;;;;;;;;;;;
Item #;Product Description;Horse Power;Volts;FLA;RPM;Run Cap;Rot.;Brg;Shaft Dia (in);Amb;Dealer Net
HC-1001;COND FAN MTR 48FR TEAO CL B;1/4;208-230;1.5;1075;5/370;REV;SLEEVE;1/2";60C;$98.40
HC-1002;COND FAN MTR 48FR TEAO CL F;1/3;208-230;1.9;1,075;7.5/370;REV;BALL;1/2";70C;$1,121.10
HC-1003;COND FAN MTR 48FR TEAO CL B;1/6;208-230;1.0;825;5/370;CCWLE;SLEEVE;1/2";60C;$88.00
HC-1004;MULTI HP COND FAN MTR;1/2-1/3-1/4;208-230;2.8/2.0/1.5;1075;10/370;REV;BALL;1/2";70C;$155.25
HC-1005;COND FAN MTR 460V;1/3;460;1.0;1075;5/440;REV;BALL;1/2";70C;$140.00
HC-1006;BELT PULLEY;;;;;;;;;;$12.00
HC-1007;COND FAN MTR 2SP;1/4;208-230;1.6;1075/825;5/370;REV;BALL;1/2";60C;$130.00
HC-1001;SAME AGAIN;1/4;208-230;1.5;1075;5/370;REV;SLEEVE;1/2";60C;$98.40
"""
PRECIOS = """Marca\tModelo\tPotencia\tVoltaje\tAmperaje\tVelocidad\tCapacitor\tGiro\tBaleros\tPrecio (MXN)
Inventada\tA1\t1/4\t208-230\t1,5\t1075\t5/370\tREV\tball\t1.800,50
Inventada\tA2\t1/3\t208-230\t1,9\t1075\t7,5/370\tREV\tball\t2.100
Inventada\tA3\t1/6\t208-230\t1,0\t825\t5/370\tCW\tsleeve\t1.500
"""
CALLS = """Job #,Completed On,Customer City,Equip Notes,Mtr HP,Mtr Volts,Mtr Amps,RPM,MFD,Rotation,Outside Temp
10231,7/14/2025,Springfield,"nameplate worn, CCWLE",1/3,208-230,2.1,1075,5,CCW,98
10232,7/15/2025,Springfield,"HP 1/4 V 208-230 A 1.5 RPM 1075",,,,,,,99
10233,7/22/2025,Shelby,,1/6,230,1.0,825,5/370,CWLE,101
10234,13/25/2025,Shelby,,1/6,230,1.0,825,5/370,CWLE,101
10235,7/23/2025,Ogden,no access,,,,,,,
10236,7/23/2025,Ogden,,1/3 HP,230V,1.9 A,1050,7.5 MFD,N/A,95F
"""
PORTFOLIO = """Asset Tag;Building;Motor HP;Voltage;FLA;Motor RPM;Design Temp (C);Altitude (m);CFM
RTU-01;North;1/2;460;1,1;1075;41;340;4200
RTU-02;North;1/3;208-230;1,9;1075;41;340;2800
RTU-03;South;0.25;208-230;1,5;825;39;340;
"""


def workbook(*sheets) -> bytes:
    """A workbook of sheets, each a name and rows."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def read(table: str, content: str | bytes, name: str = "table.csv"):
    content = content if isinstance(content, bytes) else content.encode()
    return import_table(table, sheet_of(name, content))


def test_a_price_list_with_odd_headings_is_a_catalog():
    found = read("catalog", PRICES)
    motors = catalog_of(imported_catalog(found, "Hollow Creek"))
    assert [one.model for one in motors] == ["HC-1001", "HC-1002", "HC-1003", "HC-1004", "HC-1005"]
    first, second, third, several, high = motors
    assert second.price == 1121.10 and second.speed_rpm == 1075 and second.poles == 6
    assert third.poles == 8 and third.rotation_shaft_end == "clockwise"
    assert first.insulation_class == "B" and first.ambient_rating == 60 and first.frame == "48"
    assert first.capacitor == pytest.approx(5e-6) and first.capacitor_voltage == 370
    assert several.currents == (1.5, 2.0, 2.8) and high.voltage_low == 460
    assert first.shaft_diameter == pytest.approx(0.0127)


def test_rows_that_are_left_out_say_why_and_what_is_assumed_is_told():
    found = read("catalog", PRICES)
    imported_catalog(found, "Hollow Creek")
    assert found.left_out == {9, 10, 11}
    write = Writer("en")
    reasons = {one.line: write(one.reason) for one in found.problems if one.stops}
    assert "voltage" in reasons[9] and "speed" in reasons[10] and "line 4" in reasons[11]
    assert {one.values["field"] for one in found.assumed} == {
        "maker",
        "frequency",
        "phase",
        "poles",
        "currency",
    }


def test_a_spanish_list_with_tabs_decimal_commas_and_an_old_encoding():
    found = read("catalog", PRECIOS.encode("utf-16"))
    motors = catalog_of(imported_catalog(found, "x"))
    assert [one.currents[0] for one in motors] == [1.5, 1.9, 1.0]
    assert motors[0].price == 1800.50 and motors[1].price == 2100 and motors[0].currency == "MXN"
    assert motors[1].capacitor == pytest.approx(7.5e-6) and motors[2].rotation == "clockwise"


def test_a_workbook_whose_fractions_became_days():
    """A spreadsheet takes 1/3 for the third of January; units stand in the headings."""
    rows = [
        ["Price list"], [],
        ["Part #", "HP", "VAC", "Amps", "Speed", "Capacitor (uF)", "Weight (kg)", "Body Len (mm)"],
        ["Z1", 0.25, "208-230", 1.5, 1075, 5, 4.5, 140],
        ["Z2", datetime.datetime(2026, 1, 3), "208-230", 1.9, 1075, 7.5, 4.9, 150],
        ["Z3", "1/6", 230, 1.0, 825, 5, 4, 130],
    ]  # fmt: skip
    content = workbook(("Notes", [["see the other sheet"]]), ("Motors", rows))
    found = read("catalog", content, "m.xlsx")
    motors = catalog_of(imported_catalog(found, "x"))
    hp = [one.ratings[0] / 745.7 for one in motors]
    assert hp == pytest.approx([1 / 4, 1 / 3, 1 / 6], rel=1e-3) and found.sheet.sheet == "Motors"
    assert motors[0].body_length == pytest.approx(0.140) and motors[0].mass == pytest.approx(
        4.5, 1e-3
    )


def test_a_companys_calls_come_in_with_its_words():
    found = read("calls", CALLS)
    calls = imported_calls(found)
    assert [str(day) for day in calls.days] == [
        "2025-07-14",
        "2025-07-15",
        "2025-07-22",
        "2025-07-23",
    ]
    second = calls.needs[1].nameplate
    assert second.power.text == "1/4 hp" and second.speed_rpm.mid == 1075  # from the notes
    assert calls.needs[2].nameplate.rotation_shaft_end == "counterclockwise"
    assert calls.needs[3].site.outdoor_temperature.mid == pytest.approx(35)
    assert found.left_out == {5, 6}


def test_days_before_months_where_the_column_says_so():
    table = "fecha,hp,volts,amps,rpm\n25/12/2024,1/4,230,1.5,1075\n03/04/2025,1/4,230,1.5,1075\n"
    assert [str(day) for day in imported_calls(read("calls", table)).days] == [
        "2024-12-25",
        "2025-04-03",
    ]


def test_a_portfolio_of_units():
    found = read("units", PORTFOLIO)
    first = found.facts[2]
    assert (
        first["unit"] == "RTU-01" and first["current"] == "1.1 A" and first["elevation"] == "340 m"
    )
    assert first["outdoor temperature"] == "41 degC" and "airflow" not in found.facts[4]


def test_columns_without_headings_of_ours_are_known_by_their_cells():
    table = (
        "a1,b2,c3,d4,e5\n"
        + "X,1/4,208-230,CCW,1075\nY,1/6,208-230,CW,825\nZ,1/3,208-230,REV,1075\n"
    )
    fields = {one.heading: one.field for one in matched("calls", sheet_of("t.csv", table.encode()))}
    assert fields == {"a1": "", "b2": "power", "c3": "voltage", "d4": "rotation", "e5": "speed"}


def test_a_saved_match_reads_the_next_file_and_can_be_corrected():
    found = read("catalog", PRICES)
    import tomllib

    columns = tomllib.loads(save_matches(found))["columns"]
    assert columns["Horse Power"] == "power [hp]" and columns["FLA"] == "current [A]"
    columns["Dealer Net"] = ""
    sheet = sheet_of("next.csv", PRICES.encode())
    again = import_table("catalog", sheet, columns)
    assert all(motor.price is None for motor in catalog_of(imported_catalog(again, "x")))
    with pytest.raises(InputError, match="voltge"):
        import_table("catalog", sheet, {"Volts": "voltge"})


@pytest.mark.parametrize(
    "content",
    [b"", b"one line only", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1old", b"PK\x03\x04broken", b"PAR1broken",
     b"a,b\n1,2\n", b"\x89PNG\r\n\x1a\n\0\0\0"],
)  # fmt: skip
def test_what_is_no_table_of_motors_is_refused_in_a_sentence(content):
    with pytest.raises(InputError) as refused:
        imported_catalog(read("catalog", content), "x")
    assert str(refused.value).endswith(".")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.text(max_size=12), min_size=5, max_size=5), min_size=1, max_size=6))
def test_any_cells_are_read_or_told(rows):
    headings = ["Part #", "HP", "Volts", "Amps", "RPM"]
    found = None
    try:
        found = read("catalog", workbook(("s", [headings, *rows])), "t.xlsx")
        catalog_of(imported_catalog(found, "x"))
    except (InputError, openpyxl.utils.exceptions.IllegalCharacterError):
        return
    assert len(found.facts) + len(found.left_out) <= len(rows)


def own(name: str) -> list[list[str]]:
    """Rows of a sample file with the kit's own headings."""
    with open(data_folder() / "start" / name, encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def written(folder, rows, name="own.csv", divider=",", encoding="utf-8"):
    path = folder / name
    out = io.StringIO()
    csv.writer(out, delimiter=divider).writerows(rows)
    path.write_bytes(out.getvalue().encode(encoding))
    return path


def test_bad_rows_of_an_own_catalog_do_not_stop_the_others(tmp_path):
    rows = own("motors.csv")
    whole = open_catalog(written(tmp_path, rows))
    assert whole.left_out is None
    at = rows[0].index
    rows[2][at("ratings [hp]")] = "junk"
    rows[3][at("currents [A]")] = "1; 2; 3; 4; 5; 6; 7; 8; 9"  # not one for each rating
    rows[4] = rows[4][:-3]  # a comma is missing
    rows[5][at("model")] = rows[1][at("model")]
    rows[6][at("speed [rpm]")] = "1250"  # above the synchronous speed
    rows[7][at("bearings")] = "roller"
    rows[8][at("price [USD]")] = "95 MXN"
    path = written(tmp_path, rows)
    found, write = open_catalog(path), Writer("en")
    reasons = {line: said(reason, write) for line, reason in found.left_out.reasons}
    words = {3: "power", 4: "9 currents", 5: "29 cells", 6: "line 2", 7: "synchronous speed"}
    assert reasons.keys() == words.keys() and all(words[line] in reasons[line] for line in words)
    assert [(line, heading) for line, heading, _ in found.left_out.cells] == [
        (8, "bearings"), (9, "price [USD]"),
    ]  # fmt: skip
    assert found[-1].ratings == pytest.approx(whole[-1].ratings) and len(found) == len(whole) - 5
    assert found[1].bearings is None and found[2].price is None and found[0] == whole[0]
    assert "5 of 14 rows" in write(found.left_out.told) and "2 cells" in write(found.left_out.told)
    assert len(catalog_from(path.name, path.read_bytes())) == len(found)  # as on the page
    content = workbook(("motors", rows))
    assert len(catalog_from("m.xlsx", content)) == len(whole) - 4  # a sheet has no missing comma


def test_an_own_catalog_saved_by_another_spreadsheet_is_read(tmp_path):
    """Semicolons, decimal commas and another encoding, as a Spanish spreadsheet saves it."""
    rows = own("motors.csv")
    other = [rows[0], *([cell.replace(".", ",") for cell in row] for row in rows[1:])]
    found = open_catalog(written(tmp_path, other, divider=";", encoding="cp1252"))
    whole = open_catalog(written(tmp_path, rows))
    assert found.left_out is None and [one.price for one in found] == [one.price for one in whole]
    assert [one.currents for one in found] == [one.currents for one in whole]


def test_an_own_catalog_without_a_good_row_is_refused_in_one_sentence(tmp_path):
    rows = own("motors.csv")
    bad = [rows[0], *(["x" if at > 2 else cell for at, cell in enumerate(row)] for row in rows[1:])]
    with pytest.raises(
        InputError, match='^catalog line 2, column voltage \\[V\\]: "x" is not accepted'
    ):
        open_catalog(written(tmp_path, bad))
    rows[0][rows[0].index("bearings")] = "bearing"
    with pytest.raises(InputError, match='"bearing" instead of "bearings"'):
        open_catalog(written(tmp_path, rows))
    with pytest.raises(
        InputError, match="none of the 2 rows can be used. Line 2: missing: voltage"
    ):
        imported_catalog(read("catalog", "Part #,HP,RPM\nA1,1/4,1075\nA2,1/3,1075\n"), "x")


def test_bad_rows_of_own_calls_do_not_stop_the_others(tmp_path):
    rows = own("calls.csv")
    at = rows[0].index
    rows[2][0] = "2023-02-30"
    rows[3][at("speed [rpm]")] = "9000"
    rows[4][at("power [hp]")] = "third"
    rows[5] = rows[5][:5]
    rows[6][0] = "03/04/2024"  # March or April, so it is asked
    rows[7][at("rotation")] = "sideways"
    found, write = open_calls(written(tmp_path, rows)), Writer("en")
    assert [line for line, _ in found.left_out.reasons] == [3, 6, 7] and len(found) == 147
    assert [line for line, *_ in found.left_out.cells] == [4, 5, 8]
    assert "3 of 150 rows" in write(found.left_out.told)
    asked = import_table("calls", sheet_of("c.csv", written(tmp_path, rows).read_bytes())).problems
    assert any("2024-04-03" in said(one.reason, write) for one in asked if one.line == 7)


def test_a_row_with_a_comma_too_many_is_left_out():
    table = "Part #,HP,RPM,Volts,Amps,MFD\nA1,1/4,1075,230,1.5,5\nA2,1/4,1,075,230,1.5,5\nA3,1/3,1075,230,1.9,7.5\n"
    found = read("catalog", table)
    assert [one.model for one in catalog_of(imported_catalog(found, "x"))] == ["A1", "A3"]
    assert "7 cells, but the heading row has 6" in Writer("en")(found.problems[0].reason)


@pytest.mark.parametrize(
    ("heading", "cell", "title", "price"),
    [("Net price USD", "98.40", "", (98.40, "USD")), ("Net price", "98.40 MXN", "", (98.40, "MXN")),
     ("Net price", "98.40", "Prices in CAD", (98.40, "CAD")), ("Net price", "$98.40", "", (98.40, "USD")),
     ("Net price", "98.40", "", (None, "USD")), ("Precio neto", "$98.40", "", (None, "USD"))],
)  # fmt: skip
def test_a_price_has_the_currency_of_its_file_or_none(heading, cell, title, price):
    first = "Modelo,Potencia,Voltaje" if heading.startswith("Precio") else "Part #,HP,Volts"
    table = f"{title},,,,,\n{first},Amps,RPM,{heading}\nA1,1/4,230,1.5,1075,{cell}\nA2,1/3,230,1.9,1075,{cell}\n"
    (motor, _) = catalog_in(read("catalog", table), "x")
    assert (motor.price, motor.currency) == price
    asked = import_table("catalog", sheet_of("t.csv", table.encode()), currency="MXN")
    motors = catalog_in(asked, "x")
    assert (motors[0].price, motors[0].currency) == (
        98.4,
        price[1] if price[0] and "$" not in cell else "MXN",
    )


def test_lowest_and_highest_volts_in_two_columns_are_one_range():
    found = open_table("units", data_folder() / "start" / "units.csv").facts[2]
    assert (found["voltage"], found["line voltage"]) == ("208-230 V", "226-238 V")
    assert found["power"] == "186 W"


def test_no_row_is_lost_without_a_word():
    draw = np.random.default_rng(1)
    rows = [["m", "1/4", "208-230", "1.5", "1075"] for _ in range(200)]
    for at, row in enumerate(rows):
        row[0] = f"M{at}"
        if draw.random() < 0.3:
            row[draw.integers(1, 5)] = draw.choice(["", "junk", "99999", "-"])
    table = "\n".join(",".join(row) for row in [["Part #", "HP", "Volts", "Amps", "RPM"], *rows])
    found = read("catalog", table)
    motors = catalog_of(imported_catalog(found, "x"))
    assert len(motors) + len(found.left_out) == 200 and 30 < len(found.left_out) < 90
