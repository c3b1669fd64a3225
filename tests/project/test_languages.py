"""A folder of texts is a language; adding one needs no other change."""

import shutil
import subprocess
import sys

from tests.markdown import ROOT

KIT, JOB = ROOT / "kit" / "airover", ROOT / "data" / "jobs" / "roof-unit.toml"
CATALOG = ROOT / "data" / "catalogue.csv"


def test_a_third_folder_of_texts_is_a_third_language(tmp_path):
    shutil.copytree(KIT, tmp_path / "airover")  # with its compiled code
    texts = tmp_path / "airover" / "texts"
    shutil.copytree(texts / "en", texts / "xx")
    answers = texts / "xx" / "answer.toml"
    english = answers.read_text(encoding="utf-8")
    answers.write_text(english.replace("Required:", "Xrequired:"), encoding="utf-8")

    def told(*words: str) -> str:
        command = [sys.executable, "-m", "airover", *words]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
        return done.stdout

    assert "{en,es,xx}" in told("--language", "xx", "work", "--help")
    job = ("work", str(JOB), "--catalog", str(CATALOG))
    answer = told(*job, "--language", "xx")
    assert "Xrequired:" in answer
    assert answer.replace("Xrequired:", "Required:").split() == told(*job).split()

    # Questions and cases that nobody has translated are in English.
    room = ("lesson", "paper", str(ROOT / "data" / "lesson" / "class.toml"), "--questions")
    folders = {one: tmp_path / one for one in ("en", "xx")}
    for language, folder in folders.items():
        told(*room, str(ROOT / "data" / "questions"), "--language", language, "--out", str(folder))
    sheets = [(folder / "answers.csv").read_bytes() for folder in folders.values()]
    assert sheets[0] == sheets[1] and (folders["xx"] / "paper.pdf").stat().st_size > 0
