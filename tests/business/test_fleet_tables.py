"""A fleet from a company's own table, in US units, and one in which nothing can be screened."""

import datetime
import io
import itertools
import json
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from airover.business.fleet import fleet
from airover.business.fleet_files import units_file
from airover.business.fleet_lives import Weather
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.model.climate import example_year
from airover.records.importing import UNITS, open_table
from airover.reports.fleet import progress, summary_text, write_report
from tests.business.test_fleet import GOOD, INTEL_MAC, some_motors

pa = pytest.importorskip("pyarrow")
pq = pytest.importorskip("pyarrow.parquet")
pytestmark = pytest.mark.skipif(INTEL_MAC, reason="there is no numba for Intel Macs")
TABLES = Path(__file__).parents[1] / "records" / "tables"


@pytest.fixture(scope="module")
def catalog(tmp_path_factory) -> Path:
    return some_motors(tmp_path_factory.mktemp("fleet"), 2)


def screened(units, folder: Path, catalog) -> dict:
    return fleet(units, folder, catalog, workers=1)


@pytest.mark.parametrize(
    ("name", "good", "out"), [("units-granite-hills.xlsx", 4, 2), ("units-lakeside.csv", 4, 1)]
)
def test_a_portfolio_in_us_units_is_screened_whole(name, good, out, tmp_path, catalog):
    found = screened(TABLES / name, tmp_path, catalog)
    assert found["accepted"] + found["rejected"] == found["rows"] == good
    assert found["accepted"] == good
    assert [len(one.reasons) for one in found["left_out"]] == [out]
    text = summary_text(found, tmp_path, Writer("en"))
    assert f"{out} of {good + out} rows" in text and name in text
    told = json.loads((tmp_path / "fleet.json").read_text())
    assert told["left_out"][0]["left_out"][0]["reason"]
    units = pq.read_table(tmp_path / "part-00000.parquet").column("unit").to_pylist()
    assert len(units) == good and units[0] in ("RTU-1", "LS-001")
    again = screened(TABLES / name, tmp_path, catalog)  # goes on in the same folder
    assert again["accepted"] == good


def test_us_units_become_the_fleets_own():
    content = units_file(open_table(UNITS, TABLES / "units-granite-hills.xlsx"))
    first = pq.read_table(io.BytesIO(content)).to_pylist()[0]
    wanted = {"power_w": 248.57, "blade_diameter_mm": 558.8, "outdoor_temperature_c": 40.56,
              "elevation_m": 335.3, "plate_voltage_low_v": 208, "plate_voltage_high_v": 230,
              "line_voltage_low_v": 236, "current_a": 1.9, "speed_rpm": 1075}  # fmt: skip
    assert {name: first[name] for name in wanted} == pytest.approx(wanted, rel=1e-3)
    assert first["shaft_position"] == "down" and first["phase"] == 1


def test_a_fleet_in_which_every_row_is_refused_says_so(tmp_path, catalog):
    """Without power and amps there is no fan load."""
    units = tmp_path / "units.csv"
    units.write_text("Asset,Motor RPM,Volts\nU1,1075,208-230\nU2,825,230\n")
    found = screened(units, tmp_path / "out", catalog)
    assert (found["accepted"], found["rejected"], found["does_not_fit"]) == (0, 2, 0)
    assert "every row was rejected" in summary_text(found, tmp_path, Writer("en"))
    assert "se rechazaron todas" in summary_text(found, tmp_path, Writer("es"))


def test_a_fleet_without_units_says_so(tmp_path, catalog):
    full = pq.read_table(io.BytesIO(units_file(open_table(UNITS, TABLES / "units-lakeside.csv"))))
    pq.write_table(full.slice(0, 0), tmp_path / "none.parquet")
    found = screened(tmp_path / "none.parquet", tmp_path / "out", catalog)
    assert found["rows"] == 0 and "does not list any units" in summary_text(
        found, tmp_path, Writer("en")
    )
    nothing = tmp_path / "nothing.csv"
    nothing.write_text("Asset,Motor HP,Volts\nU1,,\nU2,none,\n")
    with pytest.raises(InputError, match="none of the"):
        screened(nothing, tmp_path / "other", catalog)


def test_the_report_of_a_portfolio(tmp_path, catalog):
    """Ages from years of installation, and reasons in words, in the page and the workbook."""
    year = datetime.date.today().year - 20
    lines = ["Asset,Motor HP,FLA,RPM,Volts,Shaft dia (in),Prop dia,Year installed"]
    lines += [f"U{n},1/5,1.3,1075,208-230,{0.5 if n < 5 else 1.5},22,{year}" for n in range(8)]
    units = tmp_path / "units.csv"
    units.write_text("\n".join(lines) + "\n")
    out = tmp_path / "out"
    found = screened(units, out, catalog)
    assert found["does_not_fit"] == 3
    assert found["no_motor_because"]["shaft diameter"] == 3
    assert found["standard"]["units"] == 5 and found["standard"]["fewest"] == 1
    first = found["standard"]["lists"][0]
    assert first["units"] == 5 and first["share"] == 1.0
    budget = found["budget"]
    assert budget["units_without_age"] == 0 and budget["units"] == 5
    years = [one["replacements"]["mid"] for one in budget["years"]]
    assert sum(years) > 10 * 5 / 25.0  # at least as many as with the longest usual life
    part = pq.read_table(out / "part-00000.parquet").to_pylist()
    assert [one["nearest_fails_on"] for one in part[5:]] == ["shaft diameter"] * 3
    assert part[0]["to_find_out_1"] is None or "shaft diameter" not in part[0]["to_find_out_1"]
    options = pq.read_table(out / "options-00000.parquet").to_pylist()
    assert {one["row"] for one in options} == set(range(5))
    hours = Weather.of(example_year()).hours_of(np.array([np.nan])).sum()
    power = [
        1000 * one["kwh_per_year"] / hours for one in options
    ]  # W, by nameplate 149 out of 299
    assert 100 < min(power) and max(power) < 300
    for language, why, sheet in (
        ("en", "different shaft diameter", "Why no motor fits"),
        ("es", "otro diámetro de flecha", "Por qué no sirve ningún motor"),
    ):
        page, book = write_report(found, out, Writer(language))
        text = page.read_text(encoding="utf-8")
        assert why in text and "U7" in text and "NaN" not in text and "nan<" not in text
        sheets = openpyxl.load_workbook(book)
        assert sheet in sheets.sheetnames
        rows = [[cell.value for cell in row] for row in sheets.worksheets[-1].iter_rows()]
        assert len(rows) == 9 and [row[0] for row in rows[1:4]] == ["U5", "U6", "U7"]
        assert why in rows[1][-1]


def test_rejected_rows_are_listed_in_the_language_of_the_report(tmp_path, catalog):
    """Ranges, words, contradictions and missing values."""
    rows = [
        {"outdoor_temperature_c": 140.0},
        {"mounting": "glue"},
        {"power_w": None, "current_a": None},
        {"phase": 3},
        {"power_w": 9000.0},
        {"airflow_m3h": 30000.0},
        {"unit": None},
    ]
    rows = [GOOD | row for row in rows]
    names = dict.fromkeys(name for row in rows for name in row)
    pq.write_table(
        pa.table({name: [row.get(name) for row in rows] for name in names}),
        tmp_path / "units.parquet",
    )
    found = screened(tmp_path / "units.parquet", tmp_path / "out", catalog)
    written = pq.read_table(tmp_path / "out" / "rejects-00000.parquet").to_pylist()
    for language in ("en", "es"):
        _, book = write_report(found, tmp_path / "out", Writer(language))
        sheets = openpyxl.load_workbook(book)
        sheet = sheets["Rejected rows" if language == "en" else "Filas rechazadas"]
        reasons = [row[2].value for row in sheet.iter_rows(min_row=2)]
        if language == "en":
            assert reasons == [row["reason"] for row in written] and len(reasons) == len(rows)
        else:
            assert not set(reasons) & {row["reason"] for row in written}
            assert "faltan" in reasons[2] or "falta" in reasons[2]


def test_progress_says_how_much_time_is_left(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    clock = itertools.count(0, 10)
    monkeypatch.setattr("airover.reports.fleet.time.monotonic", lambda: next(clock))
    stream = Terminal()
    tell = progress(stream, Writer("en"))
    tell(0, 100, "units")
    tell(20, 100, "units")
    line = stream.getvalue().rsplit("\r", 1)[1]
    assert "20 of 100 units, about 40 s left" in line
    assert progress(io.StringIO(), Writer("en")) is None
