"""Tables as companies write them (invented): all come in without editing, and nothing is lost unsaid.

The files in ``tables`` have title rows, footers, headings in two rows, units in headings, mixed
dates, notes, several encodings and separators, and workbooks with two sheets.
"""

from pathlib import Path

import pytest

from airover.core.texts import Writer
from airover.records.importing import (
    CALLS,
    CATALOG,
    NAMEPLATES,
    UNITS,
    import_table,
    imported_calls,
    imported_units,
    open_calls,
    open_catalog,
    open_table,
    save_matches,
)
from airover.records.sheets import read_sheet, sheet_of
from airover.reports.importing import as_file, left_out_table

TABLES = Path(__file__).parent / "tables"
# kind, rows used, rows left out
FILES = {
    "prices-copper-pine.csv": (CATALOG, 7, 2),
    "prices-rio-salado.xlsx": (CATALOG, 4, 2),
    "precios-nopal.csv": (CATALOG, 4, 1),
    "precios-ocotal.csv": (CATALOG, 6, 1),
    "prices-si-units.txt": (CATALOG, 4, 0),
    "prices-tamarack.xlsx": (CATALOG, 5, 3),
    "calls-free-text.txt": (CALLS, 3, 1),
    "calls-juniper.xlsx": (CALLS, 5, 2),
    "equipos-altura.csv": (UNITS, 3, 1),
    "units-rosewater.xlsx": (UNITS, 4, 2),
    "calls-high-desert.csv": (CALLS, 6, 2),
    "calls-sierra-verde.xlsx": (CALLS, 4, 1),
    "servicios-costa.csv": (CALLS, 3, 1),
    "units-granite-hills.xlsx": (UNITS, 4, 2),
    "units-lakeside.csv": (UNITS, 4, 1),
    "equipos-hotel.txt": (UNITS, 3, 1),
    "plates-counter.csv": (NAMEPLATES, 3, 1),
    "plates-truck.xlsx": (NAMEPLATES, 3, 1),
    "placas-taller.csv": (NAMEPLATES, 2, 1),
}


def test_every_file_of_the_folder_is_tried():
    assert {path.name for path in TABLES.iterdir()} == set(FILES)


@pytest.mark.parametrize("name", FILES)
def test_a_companys_table_comes_in_without_editing(name):
    kind, good, out = FILES[name]
    found = open_table(kind, TABLES / name)
    _, used = as_file(found, "x")
    assert (used, len(found.left_out)) == (good, out)
    assert used + len(found.left_out) == len(found.sheet.rows)
    lost = found.lost
    if not found.problems:
        assert lost is None and out == 0
        return
    assert lost.file == name and lost.rows == good + out and len(lost.reasons) == out
    for write in (Writer("en"), Writer("es")):
        assert name in write(lost.told)
        assert len(left_out_table(found, write)) == out


@pytest.mark.parametrize("name", FILES)
def test_the_imported_table_and_the_saved_match_read_the_same(name, tmp_path):
    """The table in airover's own format is read again, and the saved match gives the same facts."""
    kind, _, _ = FILES[name]
    found = open_table(kind, TABLES / name)
    text, used = as_file(found, "x")
    again = tmp_path / "again.csv"
    again.write_text(text, encoding="utf-8")
    if kind == CATALOG:
        assert len(open_catalog(again)) == used
    elif kind == UNITS:
        assert imported_units(open_table(UNITS, again)) == {
            line: facts for line, facts in enumerate(found.facts.values(), 2)
        }
    else:
        assert len(open_calls(again, kind == CALLS)) == used
    import tomllib

    columns = tomllib.loads(save_matches(found))["columns"]
    sheet = read_sheet(TABLES / name, found.sheet.sheet)
    assert import_table(kind, sheet, columns).matches[0].field == found.matches[0].field


def test_what_the_price_lists_say_is_read():
    first = open_catalog(TABLES / "prices-copper-pine.csv")
    four = next(one for one in first if one.model == "CP-8016")
    assert (four.bearings, four.enclosure) == ("sleeve", "totally enclosed air over")
    assert (four.rotation, four.rotation_seen_from) == ("counterclockwise", "lead end")
    assert four.capacitor_voltage == 370 and four.price == 89.0 and four.insulation_class == "B"
    assert (four.shaft_diameter, four.shaft_length) == pytest.approx((0.0127, 0.127))
    asked = open_catalog(TABLES / "prices-rio-salado.xlsx")  # no currency in the file
    assert {one.price for one in asked} == {None}
    assert "currency" in Writer("en").error(asked.left_out.cells[0][2])
    second = open_catalog(TABLES / "prices-rio-salado.xlsx", "USD")
    thirds = next(one for one in second if one.model == "710333")
    assert thirds.ratings[0] == pytest.approx(745.7 / 3, rel=1e-3)  # saved as the third of January
    assert thirds.price == 105.0  # the net price, not the list price
    assert second[0].rotation_seen_from == "lead end"  # from the heading
    third = open_catalog(TABLES / "precios-nopal.csv")
    assert [one.bearings for one in third] == ["ball", "ball", "sleeve", "ball"]
    assert [one.price for one in third] == [1845.0, 2210.5, 1640.0, 2980.0]
    assert {one.speed_rpm for one in third} == {1075.0, 825.0} and third[0].currency == "MXN"


def test_units_tell_what_a_column_with_an_odd_heading_is():
    """ "Nameplate draw" is amps because its cells are, "I nom [A]" because its heading says so."""
    first = open_catalog(TABLES / "prices-tamarack.xlsx")  # titles, two columns "Shaft", a total
    assert [one.currents[0] for one in first] == [1.5, 1.9, 1.0, 1.4, 4.4]
    assert (first[0].shaft_diameter, first[0].shaft_length) == pytest.approx((0.0127, 0.127))
    assert first[2].ratings[0] == pytest.approx(745.7 / 6, rel=1e-3)  # only in the description
    assert (first[0].price, first[0].currency) == (88.5, "USD")  # from the format of the cells
    second = open_catalog(TABLES / "precios-ocotal.csv")
    assert (second[0].speed_rpm, second[1].currents, second[0].price) == (1075, (1.9,), 1890)
    assert (
        second[2].rotation == "counterclockwise" and second[0].currency == "MXN"
    )  # from the title
    third = open_catalog(TABLES / "prices-si-units.txt")
    assert [one.ratings[0] for one in third] == pytest.approx([186, 249, 124, 373])
    assert {one.voltage_low for one in third} == {230} and third[0].capacitor == 5e-6
    assert (third[0].price, third[0].currency) == (71.9, "EUR")
    units = open_table(UNITS, TABLES / "equipos-altura.csv").facts[2]
    assert (units["current"], units["power"]) == ("1.9 A", "1/3 hp")  # "Motor (A)", "Motor (HP)"
    assert (units["elevation"], units["airflow"]) == ("1550 m", "4800 m3/h")
    calls = open_calls(TABLES / "calls-free-text.txt")
    assert calls.needs[0].site.voltage.mid == 231.5 and calls.needs[1].nameplate.current.mid == 1.9


def test_what_the_calls_say_is_read():
    first = open_calls(TABLES / "calls-high-desert.csv")
    assert str(first.days[0]) == "2023-06-18" and first.places[0] == "Redrock"
    assert first.needs[first.need[0]].site.outdoor_temperature.mid == pytest.approx(40)
    assert first.needs[first.need[3]].nameplate.power.text == "1/4 hp"  # from the notes
    second = open_calls(TABLES / "calls-sierra-verde.xlsx")  # headings in two rows
    assert [job.nameplate.speed_rpm.mid for job in second.needs] == [1075, 1075, 825, 1075]
    third = open_calls(TABLES / "servicios-costa.csv")  # day before month
    assert [str(day) for day in third.days] == ["2024-06-14", "2024-07-02", "2024-07-25"]
    assert third.left_out.reasons[0][0] == 5


@pytest.mark.parametrize(
    ("written", "day"),
    [("45474", "2024-07-01"), ("14-Jul-25", "2025-07-14"), ("Jul 14, 2025", "2025-07-14"),
     ("14 de julio de 2025", "2025-07-14"), ("2025/7/14", "2025-07-14"), ("7/14/25", "2025-07-14")],
)  # fmt: skip
def test_a_date_in_any_usual_form_is_read(written, day):
    table = f'Date,HP,V,A,RPM\n"{written}",1/4,230,1.5,1075\n"{written}",1/3,230,1.9,1075\n'
    calls = imported_calls(import_table(CALLS, sheet_of("t.csv", table.encode())))
    assert str(calls.days[0]) == day


def test_columns_are_read_once(monkeypatch):
    """Each column is cleaned once, however many fields it is compared with."""
    from airover.records import importing

    cleaned = []
    whole = importing._known
    monkeypatch.setattr(importing, "_known", lambda cells: cleaned.append(1) or whole(cells))
    found = open_table(CATALOG, TABLES / "prices-copper-pine.csv")
    assert len(cleaned) == len(found.sheet.headings)


def test_a_file_of_calls_is_read_once(monkeypatch):
    from airover.records import importing

    opened = []
    whole = importing.read_bytes
    monkeypatch.setattr(importing, "read_bytes", lambda *of: opened.append(1) or whole(*of))
    open_calls(TABLES / "calls-high-desert.csv")
    assert len(opened) == 1
