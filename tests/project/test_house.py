"""The files of the project: nothing astray, nothing that names one machine; ruff agrees."""

import re
import subprocess
import sys
from pathlib import Path

from tests.markdown import ROOT

TOP = {
    ".ci", ".gitattributes", ".gitignore", "CHANGELOG.md", "CITATION.cff", "DEVELOPERS.md",
    "LICENSE", "README.md", "data", "kit", "pyproject.toml", "tests", "worksheets",
}  # fmt: skip
IGNORED = set((ROOT / ".gitignore").read_text(encoding="utf-8").replace("/", "").split())
TEXTS = {".py", ".md", ".toml", ".txt", ".csv", ".cff", ".ipynb", ".svg", ".json", ""}

# Places of one machine: folders of users, of temporary files and of systems, and drives.
PLACE = re.compile(
    r"(?<![\w.~*/-])(?!/usr/bin/env\b)/(?:home|root|tmp|work|usr|opt|var|mnt|Users)/\w"
    r"|\b[A-Z]:\\\w"
)
# A name of the Internet, but for those that are kept free for examples or name a standard format.
HOST = re.compile(r"\b(?:[a-z0-9-]+\.)+(?:com|org|net|io|dev|cloud)\b(?!\()", re.IGNORECASE)
HARMLESS_HOST = re.compile(r"(?:^|\.)(?:example\.(?:com|org|net)|w3\.org)$")


def ours(folder: Path = ROOT) -> list[Path]:
    """Every file of the project: all that git does not ignore."""
    found = []
    for path in sorted(folder.iterdir()):
        if path.name == ".git" or path.name in IGNORED:
            continue
        found += ours(path) if path.is_dir() else [path]
    return found


FILES = {path.relative_to(ROOT).as_posix(): path for path in ours()}


def text(path: Path) -> str:
    content = path.read_bytes()  # a few sample tables are in UTF-16, as some programs write them
    code = "utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"
    return content.decode(code, "replace")


def astray(source: str) -> list[str]:
    """The places of a machine and the hosts that ``source`` names."""
    hosts = [host for host in HOST.findall(source) if not HARMLESS_HOST.search(host.lower())]
    return PLACE.findall(source) + hosts


def test_the_top_level_holds_what_belongs_there():
    here = {path.name for path in ROOT.iterdir()} - {".git"} - IGNORED
    assert here == TOP


def test_files_name_no_place_of_a_machine_and_no_host():
    texts = {name: text(path) for name, path in FILES.items() if path.suffix in TEXTS}
    assert not {name: astray(source) for name, source in texts.items() if astray(source)}


def test_ruff_has_nothing_to_say():
    done = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--no-cache", str(ROOT)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_place_and_a_host_are_found():
    assert astray("open('" + "/ho" + "me/someone/data.csv')")
    assert not astray("#!/usr/bin/env bash\nPath('results') / 'torque.png'")
    assert astray("pip install --index-url packages.somewhere." + "org/simple")
    assert not astray("write to nobody@example.com; np.linalg.norm(x).net(3)")
