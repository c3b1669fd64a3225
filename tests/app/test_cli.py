"""The command line: help and messages in the reader's language."""

import json
import os
import re
import subprocess
import sys
import tomllib

import pytest

from airover.app.cli import BAD_INPUT, FITS, LESSON, TEXTS, VERBS, main
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import LANGUAGES, Texts, Writer
from airover.records.calls import read_calls

COMMANDS = [[name] for name in VERBS] + [["lesson", name] for name in LESSON]


def told_help(command, capsys) -> str:
    with pytest.raises(SystemExit) as ended:
        main([*command, "--help"])
    assert ended.value.code == 0
    return " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_verb_explains_itself_in_the_readers_language(language, capsys):
    say = Texts(language)
    listed = told_help(["--language", language], capsys)
    assert say("cli.about") in listed
    for command in COMMANDS:
        told = told_help([*command, "--language", language], capsys)
        assert re.search(r"--language \{en,es\}", told)
        (_, arguments) = VERBS.get(command[-1]) or LESSON[command[-1]]
        for argument in arguments:
            key = argument.removeprefix("--")
            own = f"cli.{command[-1]}.{key}"
            assert say(own if say.has(own) else f"cli.common.{key}") in told


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_help_is_of_an_argument_that_is_gone(language):
    words = tomllib.loads((TEXTS / language / "cli.toml").read_text(encoding="utf-8"))["cli"]
    for name, (_, arguments) in (VERBS | LESSON).items():
        known = {argument.removeprefix("--") for argument in arguments}
        assert words[name].keys() - {"about", "epilog"} <= known


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_error_comes_in_the_readers_language(language, tmp_path, capsys):
    missing = tmp_path / "none.csv"
    with pytest.raises(InputError) as caught:
        read_calls(missing)
    assert main(["stock", str(missing), "--language", language]) == BAD_INPUT
    assert capsys.readouterr().err.strip() == Writer(language).error(caught.value)


def test_a_typed_nameplate_becomes_a_job_for_the_other_commands(tmp_path, capsys):
    text = "1/4 HP 208-230 V 1.6 A 1075 RPM CAP 5/370 CWLE SHAFT 1/2 X 6"
    main(["work", "--nameplate", text, "--out", str(tmp_path), "--json"])
    typed = json.loads(capsys.readouterr().out)
    file = tmp_path / "job-from-nameplate.toml"
    main(["work", str(file), "--json"])
    assert json.loads(capsys.readouterr().out) == typed
    assert main(["order", str(file)]) == FITS
    assert typed["candidates"][0]["motor"] in capsys.readouterr().out


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
def test_output_that_cannot_be_written_is_one_sentence():
    command = [sys.executable, "-m", "airover", "work", str(data_folder() / "jobs/roof-unit.toml")]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, check=False, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert line.startswith("output: cannot be written")


@pytest.mark.skipif(os.name == "nt", reason="a closed pipe has another error there")
def test_a_reader_who_closes_the_pipe_is_told_nothing():
    command = [sys.executable, "-m", "airover", "work", str(data_folder() / "jobs/roof-unit.toml")]
    ours, theirs = os.pipe()
    os.close(ours)
    done = subprocess.run(command, check=False, stdout=theirs, stderr=subprocess.PIPE, text=True)
    os.close(theirs)
    assert done.returncode == FITS and done.stderr == ""
