"""The import panel: a table is shown, its match can be changed, and nothing is lost unsaid."""

import base64
import re
from pathlib import Path

import pytest

from airover.app.current_job import sample_job
from airover.app.import_panel import ImportPanel
from airover.app.page import App
from airover.app.replacement import ReplacementPanel
from airover.core.errors import InputError
from airover.records.importing import open_catalog

TABLES = Path(__file__).parents[1] / "records" / "tables"
PRICES = TABLES / "prices-copper-pine.csv"


def column(panel: ImportPanel, heading: str) -> int:
    return [one.heading for one in panel.answer.matches].index(heading)


def test_a_price_list_is_shown_with_its_match_its_counts_and_its_reasons():
    panel = ImportPanel("catalog", PRICES)
    assert "7 of 9 rows were used; 2 were left out" in panel.counts.value
    assert "KIT-BB" in panel.problems.value and "row left out" in panel.problems.value
    assert panel.fields[column(panel, "H.P.")].value == "power"
    assert panel.units_of[column(panel, "H.P.")].value == "hp"
    assert "CP-4014" in panel.preview.value and "120 f / n" in panel.problems.value


def test_the_match_of_a_column_and_its_unit_can_be_changed():
    panel = ImportPanel("catalog", PRICES)
    panel.fields[column(panel, "Net $")].value = ""
    assert panel.catalog()[0].price is None
    panel.fields[column(panel, "Old #")].value = "model"  # is taken from the other column
    assert panel.fields[column(panel, "CPM #")].value == ""
    assert panel.good == 1 and len(panel.answer.left_out) == 8
    panel.fields[column(panel, "CPM #")].value = "model"
    assert panel.good == 7
    panel.units_of[column(panel, "H.P.")].value = "kW"
    assert panel.catalog()[0].ratings[0] == pytest.approx(250, rel=1e-4)


def test_a_table_of_another_kind_is_matched_anew():
    panel = ImportPanel("catalog", TABLES / "calls-high-desert.csv")
    assert "date" not in [one.field for one in panel.answer.matches]
    panel.kind.value = "calls"
    assert panel.good == 6 and "date" in [one.field for one in panel.answer.matches]


def test_a_table_without_a_usable_row_is_shown_with_the_reasons():
    panel = ImportPanel("catalog", TABLES / "units-lakeside.csv")
    panel.fields[column(panel, "Condenser motor: amps")].value = ""
    assert panel.good == 0 and "ao-problem" in panel.counts.value and panel.save_button.disabled
    assert "missing: current" in panel.problems.value


def test_what_was_read_is_written_with_the_match_and_the_rows_left_out(tmp_path):
    panel = ImportPanel("catalog", PRICES)
    panel.folder.value = str(tmp_path)
    panel.write()
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {f"prices-copper-pine.{end}" for end in
                     ("catalog.csv", "columns.toml", "left-out.csv")}  # fmt: skip
    assert len(open_catalog(tmp_path / "prices-copper-pine.catalog.csv")) == 7


def test_the_links_save_the_same_files():
    panel = ImportPanel("calls", TABLES / "calls-sierra-verde.xlsx")
    links = dict(re.findall(r'download="(.*?)" href="data:.*?;base64,(.*?)"', panel.links.value))
    assert set(links) == {f"calls-sierra-verde.{end}" for end in
                          ("calls.csv", "columns.toml", "left-out.csv")}  # fmt: skip
    assert b"2024-07-03" in base64.b64decode(links["calls-sierra-verde.calls.csv"])


@pytest.mark.parametrize("name", ["missing.csv", "tests"])
def test_a_file_that_cannot_be_read_is_refused_in_a_sentence(name):
    panel = ImportPanel()
    panel.path.value = name
    assert "ao-problem" in panel.status.value and panel.answer is None
    with pytest.raises(InputError):
        ImportPanel("motors")


def test_in_spanish():
    panel = ImportPanel("catalog", TABLES / "precios-nopal.csv", language="es")
    assert (
        "Se usaron 4 de 5 filas" in panel.counts.value and "falta: voltaje" in panel.problems.value
    )
    labels = {value: shown for shown, value in panel.fields[0].options}
    assert labels["maker"] == "Fabricante" and labels["power"] == "Potencia"


def test_worksheet_01_uses_the_imported_catalog_and_says_what_was_left_out(tmp_path):
    panel = ReplacementPanel()
    panel.imports.folder.value = str(tmp_path)
    panel.imports.maker.value = "Copper Pine"
    panel.imports.path.value = str(PRICES)
    panel.imports.use_it()
    assert panel.catalog.value == str(tmp_path / PRICES.name)
    assert {one.case.motor.maker for one in panel.answer.candidates} == {"Copper Pine"}
    assert "2 of 9 rows" in panel.verdict.value


def test_the_page_opens_any_catalog_and_says_what_was_left_out():
    page = App()
    page.open_catalog(PRICES.name, PRICES.read_bytes())
    assert len(page.form.motors) == 7 and "2 of 9 rows" in page.file_told.value
    workbook = TABLES / "prices-rio-salado.xlsx"
    page.open_catalog(workbook.name, workbook.read_bytes())
    assert len(page.form.motors) == 4
    page.imports.open_file(PRICES.name, PRICES.read_bytes())
    page.imports.fields[column(page.imports, "Net $")].value = ""
    page.imports.use_it()
    assert len(page.form.motors) == 7 and page.form.motors[0].price is None
    page.fill(sample_job())
    assert "2 of 9 rows" in page.panels[0].verdict.value


def test_on_the_page_no_control_names_a_file_of_the_server():
    imports = App().imports
    assert not any(hasattr(imports, name) for name in ("path", "folder", "save_button"))
