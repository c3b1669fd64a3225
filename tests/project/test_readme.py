"""What README and guide show is true: commands, example, job, columns, words, code.

``python -m tests.project.test_readme`` writes the sample answer that the README quotes anew.
"""

import re
import subprocess
import sys

import pytest

from airover.app.cli import BAD_INPUT, FITS, NOTHING_FITS, main
from airover.core.texts import Texts
from airover.records import scope
from airover.records.catalog import COLUMNS, read_catalog
from airover.records.job import Job
from airover.reports.answer import report
from airover.selection.answer import answer
from airover.selection.check import ADAPT, FAIL, MISSING, NOTE, PASS
from airover.selection.rules import VERDICTS
from tests.markdown import ROOT, blocks, names, table

README = ROOT / "README.md"
TEXT = README.read_text(encoding="utf-8")
ANSWER = re.compile(r"(?<=^```text\n)(?:(?!```).*\n)*", flags=re.MULTILINE)


def sample_answer() -> str:
    """The beginning of what `airover work` prints for the sample job."""
    job = Job.read(ROOT / "data" / "jobs" / "roof-unit.toml")
    text = report(answer(job, read_catalog(ROOT / "data" / "catalogue.csv")))
    return text.partition("\n\nAssumed:")[0] + "\n...\n"


def test_the_quoted_answer_is_the_programs():
    assert ANSWER.findall(TEXT) == [sample_answer()], "run python -m tests.project.test_readme"


def test_what_the_example_tells_of_the_answer_is_so():
    found = answer(
        Job.read(ROOT / "data" / "jobs" / "roof-unit.toml"),
        read_catalog(ROOT / "data" / "catalogue.csv"),
    )
    outdoor = found.job.site.outdoor_temperature.mid
    hotter = (found.needed["temp_at_motor_c"].mid - outdoor) * 1.8
    assert 18 < hotter < 24  # "some 20 degF hotter than the weather"
    assert abs(found.candidates[0].case.speed_rpm.mid / 1075 - 1) > 0.005  # "another speed"
    assert f"{len(found.candidates)} motors" in TEXT


@pytest.mark.parametrize("name, code", [("half-plate", FITS), ("hot-court", NOTHING_FITS)])
def test_the_other_jobs_end_as_told(name, code, capsys):
    assert main(["work", str(ROOT / "data" / "jobs" / f"{name}.toml")]) == code
    assert ("Find out before you order:" in capsys.readouterr().out) == (code == FITS)


def test_the_job_to_start_from_runs(tmp_path, capsys):
    (job,) = blocks("worksheets/guide/job.md", "toml")
    path = tmp_path / "my-job.toml"
    path.write_text(job, encoding="utf-8")
    assert main(["work", str(path), "--units", "SI", "--out", str(tmp_path / "out")]) == FITS
    printed = capsys.readouterr().out
    assert "Back garden" in printed
    assert "degF" not in printed
    assert {one.suffix for one in (tmp_path / "out").iterdir()} == {".txt", ".json", ".csv", ".png"}


def test_exit_codes():
    told = [int(row[0]) for row in table("worksheets/guide/job.md", "Your own job", "exit code")]
    assert told == [FITS, BAD_INPUT, NOTHING_FITS]


def test_words_of_verdicts_and_checks():
    heading = "What the words mean"
    assert [row[0] for row in table("worksheets/guide/job.md", heading, "word")] == list(VERDICTS)
    states = [row[0] for row in table("worksheets/guide/job.md", heading, "a check's state")]
    assert states == [PASS, ADAPT, FAIL, MISSING, NOTE]


def test_columns_of_a_catalog():
    rows = table("worksheets/guide/catalog.md", "Your own catalog", "heading")
    told = [(names(row[0])[0], row[1] == "yes") for row in rows]
    assert told == [(column.heading, column.required) for column in COLUMNS]


def test_what_is_not_covered():
    told = TEXT.split("refuses:")[1].split("It recognises")[0]
    assert all(Texts("en")(f"error.scope.subject.{one.subject}") in told for one in scope.PATTERNS)
    limits = (scope.HIGHEST_SITE, scope.HOTTEST_OUTDOOR, scope.COLDEST_OUTDOOR)
    for limit in (*limits, scope.HIGHEST_VOLTAGE):
        assert f"{limit:g} " in told


def test_the_code_for_python_runs():
    (code,) = blocks("worksheets/guide/python.md", "python")
    more = "\nassert low < mid < high"
    command = [sys.executable, "-c", code + more]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    verdict, *checks = done.stdout.splitlines()
    assert verdict.startswith("Take the ")
    assert any(line.startswith("full-load amps pass") for line in checks)


def test_every_worksheet_has_its_row():
    rows = table("README.md", "Which worksheet answers which question", "worksheet")
    told = [re.findall(r"\((.*?)\)", row[0] + row[2]) for row in rows]
    every = sorted(path.stem for path in ROOT.glob("worksheets/*.ipynb"))
    assert told == [[f"worksheets/{name}.ipynb", f"worksheets/guide/{name}.md"] for name in every]


def test_every_command_has_its_line(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    verbs = re.findall(r"^    (\w+) ", capsys.readouterr().out, flags=re.MULTILINE)
    told = [names(row[0])[0] for row in table("README.md", "One line for each command", "command")]
    assert sorted(told) == sorted(verbs)


if __name__ == "__main__":
    README.write_text(ANSWER.sub(lambda _: sample_answer(), TEXT), encoding="utf-8")
