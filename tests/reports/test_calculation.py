"""The calculation on a worksheet, on the page, in print and in a workbook."""

import datetime
import io
import re
import xml.etree.ElementTree as ET

import numpy as np
import openpyxl
import pandas as pd
import pytest
from matplotlib.mathtext import MathTextParser

from airover import Job, answer, read_catalog
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.model.expected import Expected, mounted
from airover.model.heat_answer import HeatAnswer, HeatPlace
from airover.records.nameplate import Nameplate
from airover.records.readings import Measurements
from airover.reports import numbers
from airover.reports.calculation import calculation_of, equation_svg, grouped
from airover.reports.export import Export, write_job
from airover.reports.workbook import workbook
from airover.service.verification import verify

DATE = datetime.date(2026, 7, 1)


@pytest.fixture(scope="module")
def found():
    job = Job.read(data_folder() / "jobs" / "roof-unit.toml")
    return answer(job, read_catalog(data_folder() / "catalogue.csv"))


@pytest.fixture(scope="module")
def export(found):
    return Export(found, found.job, Writer("en", "US"), prepared="A. Nother", date=DATE)


def test_each_step_can_be_opened(found):
    text = calculation_of(found, Writer("en", "US")).markdown()
    steps = sum(len(section.steps) for section in calculation_of(found).sections)
    assert text.count("<details>") == text.count("</details>") == steps
    assert text.count("$$") == 6 * steps  # equation, numbers, result
    assert r"\dfrac{120\,f}{p}" in text and r"120 \cdot 60\,\mathrm{Hz}" in text
    assert "Source: Fitzgerald" in text


def test_every_equation_is_in_the_subset_of_matplotlib(found):
    parser = MathTextParser("path")
    for group in calculation_of(found).groups:
        for line in group.lines:
            for equation in line.equations:
                parser.parse(f"${equation}$")


def test_a_picture_of_an_equation_is_svg_with_its_size():
    picture = ET.fromstring(equation_svg(r"a = \dfrac{b}{c}", 10))
    assert picture.attrib["width"].endswith("pt") and float(picture.attrib["width"][:-2]) > 10
    assert picture[0].attrib["d"].startswith("M")


def test_us_readers_get_their_units_beside_si(found):
    us, si = (calculation_of(found, Writer("en", system)).markdown() for system in ("US", "SI"))
    assert re.search(r"Shaft power: [\d.]+ W \([\d.]+ hp\)", us)
    assert " hp)" not in si and re.search(r"Shaft power: [\d.]+ W \(90 % range", si)


def test_the_page_shows_equations_as_pictures(found):
    html = calculation_of(found, Writer("es", "SI")).html()
    assert html.count("<details>") > 30 and "data:image/svg+xml" in html
    assert "Corriente de alimentación" in html


def test_a_motor_that_was_not_simulated_has_no_calculation(found):
    out = next(one for one in found.candidates if one.case.row is None)
    shown = calculation_of(out, Writer())
    assert not shown.sections and out.case.motor.name in shown.markdown()


def test_results_are_numbers_with_units(export):
    table = export.results
    assert list(table.columns) == ["quantity", "unit", "low (5 %)", "median", "high (95 %)"]
    rows = table.set_index("quantity")
    amps = rows.loc["Supply current (line amps)"]
    assert amps["unit"] == "A"
    assert amps["low (5 %)"] < amps["median"] < amps["high (95 %)"]
    assert rows.loc["Average winding temperature"]["unit"] == "degF"
    si = numbers.results(export.found, Writer("en", "SI")).set_index("quantity")
    assert si.loc["Shaft power"]["unit"] == "W"
    celsius = si.loc["Average winding temperature"]["median"]
    fahrenheit = rows.loc["Average winding temperature"]["median"]
    assert fahrenheit == pytest.approx(1.8 * celsius + 32)


def test_needed_and_candidates_as_numbers(found):
    needed = numbers.needed(found, Writer("en", "SI")).set_index("quantity")
    assert needed.loc["Required torque"]["median"] == pytest.approx(found.needed["torque_nm"].mid)
    motors = numbers.candidates(found, Writer("en", "SI"))
    assert len(motors) == len(found.candidates)
    assert motors["current, median [A]"].iloc[0] == pytest.approx(
        found.candidates[0].case.current.mid
    )


def test_the_workbook_has_numbers_as_numbers(export):
    book = openpyxl.load_workbook(io.BytesIO(export.workbook()))
    names = ["inputs", "results", "checks", "motors", "calculation", "symbols"]
    assert book.sheetnames == names
    results = list(book["results"].values)
    assert results[0][:2] == ("quantity", "unit")
    assert all(isinstance(cell, int | float) for row in results[1:] for cell in row[2:])
    origins = {row[2] for row in book["inputs"].iter_rows(min_row=2, values_only=True)}
    assert origins <= {"measured", "nameplate", "catalog", "assumed", "entered"}
    steps = sum(len(section.steps) for section in export.calculation.sections)
    assert book["calculation"].max_row == steps + 1


def test_typed_text_is_never_a_formula():
    table = pd.DataFrame({"=1+1": ["=HYPERLINK(0)", "+1", "-2 A", "@x", "a\x07b"]})
    sheet = openpyxl.load_workbook(io.BytesIO(workbook({"a/b": table}, DATE)))["a b"]
    cells = [cell for row in sheet.iter_rows() for cell in row]
    assert [cell.data_type for cell in cells] == ["s"] * 6
    assert cells[1].value == "=HYPERLINK(0)" and cells[1].quotePrefix


def test_the_report_can_be_signed(export):
    content = export.content()
    assert content["head"]["rows"][0] == ["Job", found_name(export)]
    assert content["sign"]["who"] == [["Prepared by", "A. Nother"], ["Reviewed by", ""]]
    assert content["head"]["invented"]
    assert [row[0] for row in content["checks"]["rows"]]
    assert any("°F" in cell for row in content["results"]["rows"] for cell in row)
    assert len(content["caution"]["items"]) == 5
    steps = [step for group in content["calculation"]["groups"] for step in group["steps"]]
    assert all(len(step["lines"]) == 3 and step["source"] for step in steps)


def test_inputs_name_the_motors_data_and_their_origin(export):
    rows = {name: (value, origin) for name, value, origin in export.content()["inputs"]["rows"]}
    assert rows["Supply voltage"] == ("236\u00a0V", "measured")
    motor = export.found.candidates[0].case.motor
    value, origin = rows[f"Amps of {motor.name}"]
    assert value.startswith(f"{motor.currents[-1]:g}") and origin == "catalog"


def test_a_motor_on_the_fan_of_its_rating_takes_nothing_from_the_job(found):
    motor = mounted(found.job.nameplate)
    sweep, now = motor.across(230.0)
    shown = Expected(motor, 230.0, 1.0, 1.0, now, sweep)
    names = [str(one.name) for one in Export(shown, found.job).inputs]
    assert "line voltage" in names and "fan load" not in names
    on_job = mounted(found.job.nameplate, job=found.job)
    shown = Expected(on_job, 230.0, 1.0, 1.0, *on_job.across(230.0)[::-1])
    inputs = Export(shown, found.job).inputs
    assert [one.origin for one in inputs if one.name == "line voltage"] == ["given"]
    assert "fan load" in [one.name for one in inputs]


def found_name(export) -> str:
    return export.job.name


def test_the_report_is_a_pdf_of_a_few_pages(export):
    pages = export.pages(40)
    assert 4 <= len(pages) <= 10
    assert export.pdf().startswith(b"%PDF")


def test_a_spanish_report_is_in_spanish(found):
    content = Export(found, found.job, Writer("es", "SI"), date=DATE).content()
    assert content["head"]["title"] == "Memoria de cálculo" and content["paper"] == "a4"
    assert "bobinado" in str(content["calculation"])


def test_pictures_for_print_are_seven_inches_wide(export):
    assert export.figure().get_size_inches()[0] == 7.0
    assert b"<svg" in export.svg()[:600]
    width = int.from_bytes(export.png()[16:20], "big")
    assert width == 2100
    assert export.svg() == export.svg()


def test_the_files_of_a_job(found, tmp_path):
    paths = write_job(found, tmp_path, Writer())
    assert [path.name for path in paths] == ["calculation.pdf", "job.xlsx"]
    assert paths[0].read_bytes().startswith(b"%PDF")


def test_hours_have_commas():
    assert grouped("198000") == "198,000" and grouped("1075") == "1075"


def test_a_capacitor_that_is_not_marked_is_not_called_nameplate_data():
    plate = {"voltage": "460 V", "power": "1/2 hp", "current": "1.6 A", "speed": "825 rpm",
             "poles": 8, "frequency": "60 Hz"}  # fmt: skip
    for marked in ({}, {"capacitor": "10 uF"}):
        motor = mounted(Nameplate(**plate, **marked))
        expected = Expected(motor, 460.0, 1.0, 1.0, *motor.across(460.0)[::-1])
        export = Export(expected, Job())
        inputs = [one.name.key for one in export.inputs if hasattr(one.name, "key")]
        assert ("page.nameplate.capacitor" in inputs) == bool(marked)
        (origin,) = {row.origin for row in export.calculation.inputs().itertuples()
                     if row.symbol == "C"}  # fmt: skip
        assert origin == ("nameplate" if marked else "identified from the motor's data")


def test_temperatures_as_numbers(found):
    place = HeatPlace.of(found.job, found.fitting[0].case.motor)
    study = HeatAnswer(place, place.usual).study
    table = numbers.temperatures(HeatAnswer(place, place.usual), Writer("en", "SI"))
    assert list(table.columns) == ["quantity", "unit", "low (5 %)", "median", "high (95 %)"]
    assert set(table["unit"]) == {"degC"} and len(table) == 10  # seven parts of the motor
    air, winding, spot = table.iloc[0], table.iloc[-2], table.iloc[-1]
    assert air["quantity"] == "Air temperature at the motor"
    for row, values in ((air, study.conditions.temp_air), (winding, study.winding),
                        (spot, study.hot_spot)):  # fmt: skip
        assert row["median"] == pytest.approx(float(np.median(values)), abs=0.01)
    assert (
        winding["quantity"] == "Average winding temperature" and spot["median"] > winding["median"]
    )
    assert (table["low (5 %)"] <= table["median"]).all()
    assert (table["median"] <= table["high (95 %)"]).all()


def test_readings_as_numbers(found):
    reading = {"voltage": "236 V", "current": "1.81 A", "power": "372 W"}
    judged = verify(found.job, Measurements(reading=[reading]), samples=60)
    table = numbers.readings(judged, Writer("en", "SI"))
    assert list(table.columns)[3:5] == ["low (5 %)", "high (95 %)"]
    by_unit = {row["unit"]: row for _, row in table.iterrows()}
    assert {"A", "W"} <= by_unit.keys()
    for one, (_, row) in zip(judged.judged, table.iterrows(), strict=True):
        assert row.iloc[2] == pytest.approx(one.value)
        ends = [one.low, one.high]
        for shown, end in zip(row.iloc[3:5], ends, strict=True):
            assert (pd.isna(shown) and end is None) or shown == pytest.approx(end, rel=1e-6)
