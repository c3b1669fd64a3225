"""What README and guide say is true: length, example, verdicts, limits, worksheets, commands."""

import re

import pytest

from airover.app.cli import FITS, NOTHING_FITS, main
from airover.core.texts import Texts
from airover.records import scope
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.selection.answer import answer
from airover.selection.check import ADAPT, FAIL, MISSING, NOTE, PASS
from airover.selection.rules import VERDICTS
from tests.markdown import ROOT, blocks, section, table

TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
MOST_WORDS = 600
JOB_PAGE = "worksheets/guide/job.md"


def test_the_readme_is_short():
    assert sum(bool(re.search(r"\w", word)) for word in TEXT.split()) <= MOST_WORDS


def test_the_tests_run_as_continuous_integration_runs_them():
    assert "python3 kit test" in blocks("README.md", "sh")[1].splitlines()
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert re.search(r"^CI=true python3 kit test$", script, flags=re.MULTILINE)


def test_what_the_example_tells_of_the_answer_is_so():
    job = Job.read(ROOT / "data" / "jobs" / "roof-unit.toml")
    found = answer(job, read_catalog(ROOT / "data" / "catalogue.csv"))
    outdoor = found.job.site.outdoor_temperature.high
    assert found.needed["temp_at_motor_c"].low > outdoor  # "hotter than the weather"


@pytest.mark.parametrize("name, code", [("half-plate", FITS), ("hot-court", NOTHING_FITS)])
def test_the_other_sample_jobs_end_as_meant(name, code, capsys):
    assert main(["work", str(ROOT / "data" / "jobs" / f"{name}.toml")]) == code
    assert ("Find out before you order:" in capsys.readouterr().out) == (code == FITS)


def test_the_job_to_start_from_runs(tmp_path, capsys):
    (job,) = blocks(JOB_PAGE, "toml")
    path = tmp_path / "my-job.toml"
    path.write_text(job, encoding="utf-8")
    assert main(["work", str(path), "--units", "SI", "--out", str(tmp_path / "out")]) == FITS
    printed = capsys.readouterr().out
    assert "Back yard" in printed
    assert "degF" not in printed
    saved = {one.suffix for one in (tmp_path / "out").iterdir()}
    assert saved == {".txt", ".json", ".csv", ".png", ".pdf", ".xlsx"}


def test_words_of_verdicts_and_checks():
    assert [row[0] for row in table(JOB_PAGE, "Verdicts", "verdict")] == list(VERDICTS)
    states = [row[0] for row in table(JOB_PAGE, "Verdicts", "a check's state")]
    assert states == [PASS, ADAPT, FAIL, MISSING, NOTE]


def test_what_is_not_covered():
    told = section("worksheets/guide/01-replacement.md", "Limits")
    assert all(Texts("en")(f"error.scope.subject.{one.subject}") in told for one in scope.PATTERNS)
    limits = (scope.HIGHEST_SITE, scope.HOTTEST_OUTDOOR, scope.COLDEST_OUTDOOR)
    for limit in (*limits, scope.HIGHEST_VOLTAGE):
        assert f"{limit:g} " in told


def test_every_worksheet_has_its_row_and_its_page():
    rows = table("README.md", "Worksheets", "worksheet")
    told = [re.search(r"\((.*?)\)", row[0])[1] for row in rows]
    every = sorted(path.stem for path in ROOT.glob("worksheets/*.ipynb"))
    assert told == [f"worksheets/{name}.ipynb" for name in every]
    index = (ROOT / "worksheets" / "guide" / "index.md").read_text(encoding="utf-8")
    assert all(f"]({name}.md)" in index for name in every)
