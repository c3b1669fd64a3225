"""Every report that uses a table says how many of its rows were lost, apart from "no motor fits"."""

import json
from pathlib import Path

import pytest

from airover.app.cli import main
from airover.core.texts import Writer
from airover.records.importing import open_calls, open_catalog
from airover.records.job import Job
from airover.records.tables import left_out_of
from airover.reports.answer import answer_dict, report
from airover.reports.counter import counter_page, counter_rows, counter_text
from airover.selection.answer import answer, counter_list
from tests.fuzz import samples

TABLES = Path(__file__).parents[1] / "records" / "tables"
PRICES, PLATES = TABLES / "prices-copper-pine.csv", TABLES / "plates-truck.xlsx"


def test_an_answer_says_what_its_catalog_lost():
    found = answer(samples.job(), open_catalog(PRICES))
    for language, words in (("en", "2 of 9 rows of the catalog"), ("es", "2 de 9 filas")):
        assert words in " ".join(report(found, Writer(language)).split())
    (lost,) = answer_dict(found, Writer())["left_out"]
    assert lost["file"] == PRICES.name and lost["rows"] == 9
    assert [one["line"] for one in lost["left_out"]] == [15, 17]
    assert all(one["reason"] for one in lost["left_out"])


def test_an_answer_from_a_whole_catalog_has_lost_nothing():
    found = answer(samples.job(), samples.motors())
    assert answer_dict(found, Writer())["left_out"] == []


def test_a_counter_list_says_what_both_tables_lost():
    plates, motors = open_calls(PLATES, dated=False), open_catalog(PRICES)
    entries, left_out = counter_list(plates.needs, motors), left_out_of(plates, motors)
    rows = counter_rows(entries, Writer(), left_out)
    lost = [one["left_out"] for one in rows if "left_out" in one]
    assert lost == [{"table": "nameplates", "line": 6}, {"table": "catalog", "line": 15},
                    {"table": "catalog", "line": 17}]  # fmt: skip
    text = " ".join(counter_text(entries, Writer(), left_out).split())
    for words in ("1 of 4 rows of the nameplate list", "2 of 9 rows of the catalog"):
        assert words in text and words in counter_page(entries, Writer(), left_out)


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_document_about_one_motor_says_it_on_standard_error(language, tmp_path, capsys):
    job = tmp_path / "job.toml"
    job.write_text(samples.job().to_toml(), encoding="utf-8")
    main(["order", str(job), "--catalog", str(PRICES), "--language", language])
    assert "airover import catalog" in capsys.readouterr().err


def test_json_of_work_has_the_left_out_rows(tmp_path, capsys):
    job = tmp_path / "job.toml"
    job.write_text(Job.to_toml(samples.job()), encoding="utf-8")
    main(["work", str(job), "--catalog", str(PRICES), "--json"])
    assert len(json.loads(capsys.readouterr().out)["left_out"][0]["left_out"]) == 2
