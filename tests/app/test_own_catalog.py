"""The catalog that a page uses is still used after a reload."""

import csv
import io

import pytest

from airover.app.page import App
from airover.core.files import data_folder

LINES = (data_folder() / "catalogue.csv").read_text(encoding="utf-8").splitlines()
OWN = "\n".join(LINES[:7]).encode()


@pytest.fixture
def file(tmp_path):
    return tmp_path / "unsaved.json"


def names(page: App) -> list[str]:
    return [one.model for one in page.form.motors]


def test_an_opened_catalog_is_there_after_a_reload(file):
    page = App(unsaved=file)
    page.open_catalog("own.csv", OWN)
    page.sample.click()
    assert len(page.answer.candidates) == 6 and "own.csv" in page.used.value
    again = App(unsaved=file, language="es")
    assert names(again) == names(page) and again.answer.verdict == page.answer.verdict
    assert "own.csv" in again.used.value and "own.csv" in again.file_told.value
    again.use_the_kits()
    assert len(names(App(unsaved=file))) == len(LINES) - 1


def test_rows_that_were_left_out_are_told_again(file):
    page = App(unsaved=file)
    page.open_catalog("own.csv", OWN.replace(b",1075,", b",fast,", 1))
    assert len(names(page)) == 5
    again = App(unsaved=file)
    assert names(again) == names(page)
    assert again.form.own_motors.left_out == page.form.own_motors.left_out is not None


def test_an_imported_table_is_there_after_a_reload(file):
    page, rows = App(unsaved=file), list(csv.reader(io.StringIO(OWN.decode())))
    table = io.StringIO()
    csv.writer(table, delimiter=";").writerows(rows)
    page.imports.open_file("their table.csv", table.getvalue().encode())
    page.imports.use_it()
    assert len(names(page)) == 6
    again = App(unsaved=file)
    assert names(again) == names(page) and len(names(again)) == 6


def test_the_catalog_of_an_earlier_page_comes_with_its_entries(file, tmp_path):
    before = App(unsaved=tmp_path / "before.json")
    before.open_catalog("own.csv", OWN)
    before.fill(before.form.job().model_copy(update={"name": "Roof"}))
    page = App()
    page.keep_in(file, tmp_path / "before.json")
    assert len(names(page)) == len(LINES) - 1
    page.take_before()
    assert page.form.name.value == "Roof" and names(page) == names(before)
    assert names(App(unsaved=file)) == names(before)


@pytest.mark.parametrize("damaged", ["", "{}", "[]", '{"name": "a.csv", "content": "?"}'])
def test_a_damaged_catalog_is_not_used(damaged, file):
    file.with_suffix(".catalog").write_text(damaged, encoding="utf-8")
    assert len(names(App(unsaved=file))) == len(LINES) - 1
