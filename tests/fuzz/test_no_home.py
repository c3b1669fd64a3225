"""A computer without a home folder that can be written: an answer or one sentence, no traceback."""

import os
import subprocess
import sys

import httpx
import pytest

from airover.app.cli import BAD_INPUT, FITS, main
from airover.core.files import data_folder
from tests.served_page import TOKEN, served

START = data_folder() / "start"
JOB, CLASS = str(START / "job.toml"), str(START / "class.toml")
FOLDERS = ("STATE", "CACHE", "CONFIG", "DATA")
MOTORS = ["--catalog", str(START / "motors.csv")]
OWN = "import", "lesson", "cause"  # without the option of a catalog
COMMANDS = (
    ["work", JOB, "--out", "out"],
    ["order", JOB, "--out", "out"],
    ["roof", JOB, "--out", "out"],
    ["compare", JOB, "A-005", "A-009"],
    ["proposal", JOB, "--out", "out"],
    ["cause", JOB],
    ["verify", JOB, str(START / "measured.toml")],
    ["counter", str(START / "nameplates.csv"), "--out", "out"],
    ["stock", str(START / "calls.csv"), "--out", "out"],
    ["import", "catalog", str(START / "price-list.csv"), "--out", "out"],
    ["fleet", str(START / "units.csv"), "--out", "out"],
    ["lesson", "paper", CLASS, "--out", "out"],
    ["lesson", "mark", CLASS, str(START / "answers.csv"), "--out", "out"],
)


@pytest.fixture
def no_home(tmp_path, monkeypatch):
    """A home below a file, where nobody can make a folder."""
    (tmp_path / "file").write_text("")
    for name in ("AIROVER_STATE", "AIROVER_CACHE", "AIROVER_JOBS", "MPLCONFIGDIR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "file" / "home"))
    for name in FOLDERS:
        monkeypatch.setenv(f"XDG_{name}_HOME", str(tmp_path / "file" / name.lower()))
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")


@pytest.mark.skipif(os.name == "nt", reason="the home has other names there")
@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_a_command_answers_without_a_home(command, no_home, capsys):
    if command[0] == "fleet":
        pytest.importorskip("pyarrow")
    assert main([*command, *([] if command[0] in OWN else MOTORS)]) in (
        FITS, 3)  # fmt: skip
    assert "Traceback" not in capsys.readouterr().err


def alone(*words: str) -> subprocess.CompletedProcess:
    command = [sys.executable, "-m", "airover", *words]
    return subprocess.run(command, check=False, capture_output=True, text=True)


@pytest.mark.skipif(os.name == "nt", reason="the home has other names there")
@pytest.mark.parametrize("words", [[], ["--network"], ["--language", "es"]])
def test_the_page_says_in_a_sentence_that_it_cannot_save(words, no_home):
    done = alone("page", "--no-open", "--port", "0", *words)
    assert done.returncode == BAD_INPUT and done.stdout == ""
    (line,) = done.stderr.splitlines()
    assert ("no se puede crear" if "es" in words else "cannot be created") in line


@pytest.mark.skipif(os.name == "nt", reason="the home has other names there")
def test_a_new_process_draws_without_a_home_and_complains_of_nothing(no_home):
    done = alone("counter", str(START / "nameplates.csv"), *MOTORS)
    assert done.returncode == FITS and done.stderr == ""


def test_a_home_that_is_lost_while_the_page_is_open_is_told(tmp_path):
    with served(tmp_path) as (_, port, _):
        (tmp_path / "airover").rename(tmp_path / "lost")
        (tmp_path / "airover").write_text("")
        address = f"http://127.0.0.1:{port}/?job={'0' * 24}"
        headers = {"Authorization": f"token {TOKEN}"}
        answer = httpx.get(address, headers=headers, timeout=120)
        assert answer.status_code == 500
        assert "folder for unsaved work" in answer.text and "cannot be created" in answer.text
        (tmp_path / "airover").unlink()
        (tmp_path / "lost").rename(tmp_path / "airover")
        assert httpx.get(address, headers=headers, timeout=120).status_code == 200
    assert (tmp_path / "errors").read_text() == ""
