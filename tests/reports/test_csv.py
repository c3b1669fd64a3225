"""CSV files for spreadsheets: no cell is worked as a formula, and no number is broken."""

import csv
import io

import pandas as pd
import pytest

from airover.core.texts import Writer
from airover.reports import writing
from airover.reports.answer_tables import write_all
from airover.reports.writing import guarded
from airover.selection.answer import answer
from tests.jobs import job, motor

FORMULAS = (
    '=HYPERLINK("http://example.com";"x")', "+cmd|' /C calc'!A0", "-2+3", "@SUM(1;2)", "\t=1+1",
    "\r=1", "\n=1", " =1+1", "--1", "-1 to =2", "\uff1d1+1", "=", "-",
)  # fmt: skip
HARMLESS = (
    "-12.5", "+3", "1e-5", "-1.2E+04", ".5", "-34.2 to -19.5", "1/3 hp", "demo-A005", "a=b", "",
    "48", "O'Neill",
)  # fmt: skip


def rows(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_becomes_text(text):
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", HARMLESS)
def test_other_texts_stay(text):
    assert guarded(text) == text


def test_a_formula_after_another_separator_becomes_text():
    assert guarded("x;=1+1;y") == "x;'=1+1;y" and guarded("x\t=1") == "x\t'=1"
    assert guarded("cold; -3 V") == "cold; -3 V"


def test_headings_index_and_cells_are_guarded_and_numbers_are_not():
    frame = pd.DataFrame({"=a": ["=1", "-3"], "b": [-1.5, None]}, index=["+x", "y"])
    assert rows(writing.csv(frame, index=True)) == [
        ["", "'=a", "b"], ["'+x", "'=1", "-1.5"], ["y", "-3", ""],
    ]  # fmt: skip


def test_a_spreadsheet_reads_a_number_without_its_thousands_separators():
    frame = pd.DataFrame(
        {"price [USD]": ["2,029", "1,234,567.5", "82"], "words": ["1,2", "a", "2,029 USD"]}
    )
    assert rows(writing.csv(frame))[1:] == [
        ["2029", "1,2"],
        ["1234567.5", "a"],
        ["82", "2,029 USD"],
    ]


def test_the_files_of_a_job_hold_no_formula(tmp_path):
    evil = motor(maker="=1+1", model='@x"y')
    asked = job(blade__diameter="22 in")
    write_all(answer(asked, [evil]), tmp_path, Writer())
    for path in tmp_path.glob("*.csv"):
        cells = [cell for row in rows(path.read_text(encoding="utf-8")) for cell in row]
        assert cells
        assert not [cell for cell in cells if guarded(cell) != cell]
    assert "'=1+1" in (tmp_path / "candidates.csv").read_text(encoding="utf-8")
