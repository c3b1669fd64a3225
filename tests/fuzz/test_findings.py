"""What was found once, and bombs: files that are small and hold very much, or very large ones."""

import io
import os
import re
import tracemalloc
import zipfile
import zlib

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from airover.app.unsaved import Unsaved
from airover.business.truck import Terms
from airover.core.errors import InputError, one_of
from airover.core.files import data_folder
from airover.core.toml import toml_table
from airover.core.units import read
from airover.lesson.bank import read_bank
from airover.model.climate import read_year
from airover.records.calls import read_calls
from airover.records.catalog import catalog_of, read_catalog
from airover.records.causes import causes_of
from airover.records.company import Company
from airover.records.fan import read_curve
from airover.records.importing import CATALOG, import_table, read_matches
from airover.records.job import Job
from airover.records.lesson import Draw, read_cases
from airover.records.readings import last_place
from airover.records.sheets import sheet_of, workbook_rows
from airover.records.tables import headed_rows
from airover.reports.proposal import read_template
from tests.fuzz import samples
from tests.fuzz.rules import is_sentence

MB = 1_000_000


def refused(call, *given) -> str:
    """The sentence that ``call`` refuses ``given`` with. Slow reading of a bomb takes minutes."""
    with pytest.raises(InputError) as caught:
        call(*given)
    is_sentence(caught.value)
    return str(caught.value)


@pytest.mark.parametrize("text", [
    "self = 1",
    "[nameplate]\nself = 1",
    "[nameplate]\nvoltage = [0x" + "f" * 6000 + "]",
    "[nameplate]\nvoltage" + ".a" * 45 + " = 1",
    "[nameplate]\nvoltage" + ".a" * 300_000 + " = 1",
    "[nameplate" + ' . "a b"' * 60_000 + "]\nx = 1",
    "name = " + "[" * 400_000,
    "name = " + "{a = " * 80 + "1" + "}" * 80,
    "[nameplate]\n" + "".join(f"a{n} = 1\n" for n in range(60_000)),
    "k" * 900_000 + " = 1",
    '"a\\nb" = 1',
])  # fmt: skip
def test_tables_that_nobody_writes(text):
    refused(Job.from_toml, text)


def test_a_note_with_many_points_is_no_key():
    text = 'note = "Seen on site. Fan. Coil. Lid. 1.2.3.4.5. a.b.c.d.e.f ........."'
    assert toml_table(text, "job")["note"].startswith("Seen")


def test_names_that_people_typed_stay_on_the_line():
    told = refused(causes_of, 'basis = "x"\n[causes."a\\nb\\u001b[31m"]\nx = 1\n[causes.b]')
    assert "\n" not in told and "\x1b" not in told


@pytest.mark.parametrize("read", [read_catalog, read_calls, read_curve])
def test_a_table_of_ten_million_lines_takes_no_memory(read, tmp_path):
    """Twenty million bytes: a reader refuses them by their size, or by their number of lines."""
    path = tmp_path / "long.csv"
    path.write_bytes(b"1\n" * 10_000_000)
    tracemalloc.start()
    refused(read, path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 70 * MB


@pytest.mark.parametrize("read", [read_catalog, read_calls, read_year, Job.read, Company.read])
def test_a_file_beyond_the_limit_is_not_read(read, tmp_path):
    path = tmp_path / "large"
    path.touch()
    os.truncate(path, 20_000 * MB)
    tracemalloc.start()
    assert "a file of at most" in refused(read, path)
    assert tracemalloc.get_traced_memory()[1] < MB
    tracemalloc.stop()


def test_headings_without_number():
    refused(headed_rows, "date," * 100_000 + "\n1\n", "calls")


def test_a_parquet_file_of_very_many_rows_all_alike(tmp_path):
    pa = pytest.importorskip("pyarrow")
    path = tmp_path / "calls.parquet"
    path.write_bytes(samples.parquet_of(pa.table({"date": pa.nulls(3_000_000)})))
    assert path.stat().st_size < 20_000
    assert "3000000 rows" in refused(read_calls, path)


def test_a_parquet_file_that_is_pressed_a_thousandfold(tmp_path, monkeypatch):
    pa = pytest.importorskip("pyarrow")
    monkeypatch.setattr("airover.records.calls.LARGEST_FILE", 3 * MB)
    path = tmp_path / "calls.parquet"
    cells = [f"{at}{'0' * MB}" for at in range(8)]
    path.write_bytes(samples.parquet_of(pa.table({"date": cells})))
    assert path.stat().st_size < MB
    assert "8 MB" in refused(read_calls, path)


def test_columns_that_hold_no_plain_cells(tmp_path):
    pa = pytest.importorskip("pyarrow")
    path = tmp_path / "calls.parquet"
    for column in (pa.array([[1]]), pa.array([{"a": 1}]), pa.array([2**31 - 1], pa.date32())):
        path.write_bytes(samples.parquet_of(pa.table({"date": column})))
        refused(read_calls, path)


def company(tmp_path, logo: str) -> Company:
    path = tmp_path / "own" / "company.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(f'name = "E"\nlogo = "{logo}"\n')
    return Company.read(path)


def test_a_logo_stays_in_its_folder(tmp_path):
    (tmp_path / "logo.png").write_bytes(samples.png(3, 3))
    refused(company, tmp_path, "../logo.png")
    refused(company, tmp_path, str(tmp_path / "logo.png"))
    (tmp_path / "own" / "link.png").symlink_to(tmp_path / "logo.png")
    refused(company, tmp_path, "link.png")
    (tmp_path / "own" / "logo.png").write_bytes(samples.png(3, 3))
    assert company(tmp_path, "logo.png").logo_bytes() == samples.png(3, 3)


def test_pictures_that_unpack_to_very_much(tmp_path):
    packed = b"x\0\0" + zlib.compress(bytes(100 * MB))
    good = samples.png(2, 2)
    with_profile = good[:33] + samples.chunk(b"iCCP", packed) + good[33:]
    for name, content in (("a.png", samples.png(60_000, 60_000, rows=1)), ("b.png", with_profile),
                          ("c.jpg", samples.jpeg(65_000, 65_000)), ("d.png", good[:20]),
                          ("e.jpg", b"\xff" * MB)):  # fmt: skip
        one = company(tmp_path, name)
        (tmp_path / "own" / name).write_bytes(content)
        refused(one.logo_bytes)


@pytest.mark.parametrize("read", [read_bank, read_cases])
def test_a_link_out_of_a_folder_is_not_followed(read, tmp_path):
    outside, folder = tmp_path / "outside.toml", tmp_path / "folder"
    outside.write_text("secret = 1")
    folder.mkdir()
    (folder / "plate.toml").symlink_to(outside)
    assert "secret" not in refused(read, folder)


@pytest.mark.parametrize("given", [
    {"low": 0.0, "high": 1.0, "step": float("inf")},
    {"low": float("nan"), "high": 1.0, "step": 0.1},
    {"low": -1e308, "high": 1e308, "step": 1e308},
    {"among": [float("nan")]},
    {"low": 10**400, "high": 1.0, "step": 1.0},
])  # fmt: skip
def test_draws_that_cannot_be_reckoned_with(given):
    refused(lambda: Draw(**given))


def test_a_question_with_a_word_that_no_function_knows(tmp_path):
    text = (data_folder() / "questions" / "fitting.toml").read_text(encoding="utf-8")
    assert '["clockwise"' in text
    changed = text.replace('["clockwise"', '["sideways"')
    (tmp_path / "fitting.toml").write_text(changed, encoding="utf-8")
    assert "values that cannot be evaluated" in refused(read_bank, tmp_path)


def test_a_heading_of_a_catalog_without_end():
    refused(catalog_of, "maker,model" + " " * 20_000 + "[" * 20_000 + ",x" * 100 + "\na,b\n")


def test_an_amount_of_a_catalog_that_is_endless_in_its_unit():
    text = (data_folder() / "catalogue.csv").read_text(encoding="utf-8").splitlines()
    at = text[0].split(",").index("ratings [hp]")
    cells = text[1].split(",")
    cells[at] = "1e307"
    refused(catalog_of, f"{text[0]}\n{','.join(cells)}\n")


def test_a_finding_of_causes_that_is_bound_to_a_table():
    text = (data_folder() / "causes.toml").read_text(encoding="utf-8")
    name = re.search(r"^\[findings\.(\w+)\]$", text, re.MULTILINE)
    changed = text.replace(name[0], f"{name[0]}\nunless = {{ x = 1 }}", 1)
    refused(causes_of, changed)


def test_a_list_of_no_words_is_nothing():
    assert one_of([]) == "" and one_of(["a"]) == '"a"'


@pytest.mark.parametrize("left", ["[" * 3000 + "]" * 3000, "x" * 2 * MB, '{"typed": 1}'])
def test_unsaved_work_that_is_damaged_is_told_when_it_is_wanted(left, tmp_path):
    (tmp_path / "job.json").write_text(left)
    refused(Unsaved(tmp_path / "job.json").load)


def test_a_template_with_marks_without_end(tmp_path):
    path = tmp_path / "mine.typ"
    path.write_text("}" + "#" * 40_000)
    refused(read_template, path)


@pytest.mark.parametrize("terms", [{"days": 1e-300}, {"budget": 1e308}, {"trucks": 10**9}])
def test_terms_of_a_stock_that_would_not_end(terms):
    refused(lambda: Terms(**terms))


@pytest.mark.parametrize("text", ["columns = 1", "sheet = [1]", "[columns]\nFLA = true"])
def test_matches_that_are_no_text(text, tmp_path):
    path = tmp_path / "shop.columns.toml"
    path.write_text(text, encoding="utf-8")
    refused(read_matches, path)


def test_a_cell_that_holds_the_rest_of_its_table():
    """Quotation marks that do not close. A search that tries every digit of it takes minutes."""
    text = "Model,Volts,Price\n" + 'A-1,208-230,"' + "0" * 130_000 + "\n"
    found = import_table(CATALOG, sheet_of("shop.csv", text.encode()))
    assert {one.field for one in found.matches} == {"model", "voltage", "price"}


def test_a_reading_in_a_fraction_of_one_character():
    assert last_place(read("\u2153 A", "meter_current", "amps")) == 1.0


def sheet_with(rows: str) -> bytes:
    """A workbook whose only sheet has these rows."""
    book, out = io.BytesIO(), io.BytesIO()
    openpyxl.Workbook().save(book)
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name).decode()
            if name.endswith("sheet1.xml"):
                text = re.sub("<sheetData.*?/>", f"<sheetData>{rows}</sheetData>", text)
            new.writestr(name, text)
    return out.getvalue()


def test_a_last_row_far_below_the_others_takes_no_memory():
    """A spreadsheet keeps the row where somebody once typed something."""
    few = '<row r="{0}"><c r="A{0}"><v>1</v></c><c r="{1}{0}"><v>2</v></c></row>'
    content = sheet_with(few.format(1, "B") + few.format(2, "B") + few.format(1_048_576, "XFD"))
    tracemalloc.start()
    _, rows = workbook_rows(content)
    assert tracemalloc.get_traced_memory()[1] < 20 * MB
    tracemalloc.stop()
    assert rows == [(1, ["1", "2"]), (2, ["1", "2"]), (1_048_576, ["1", ""])]


@pytest.mark.parametrize("name", ["wide.csv", "wide.xlsx"])
def test_a_table_of_empty_cells_takes_no_memory(name):
    """Each row is as wide as the widest."""
    cells = "".join(f'<c r="{get_column_letter(at)}1"><v>1</v></c>' for at in range(1, 201))
    rows = "".join(f'<row r="{at}"><c r="A{at}"><v>1</v></c></row>' for at in range(2, 110_000))
    content = sheet_with(f'<row r="1">{cells}</row>{rows}')
    if name.endswith(".csv"):
        content = b"1," * 199 + b"1\n" + b"1\n" * 110_000
    assert "cells" in refused(sheet_of, name, content)
