"""House rules that a machine can see: plain code, clean names, nothing astray."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from .markdown import ROOT

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


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


FILES = {named(path): path for path in ours()}
CODE = {name: path for name, path in FILES.items() if path.suffix == ".py"}
KIT = {name: path for name, path in CODE.items() if not name.startswith("tests/")}


def text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def faults(source: str) -> list[str]:
    """What in Python ``source`` goes against the house's rules, each with its line."""
    return [f"line {node.lineno}: {said}" for node in ast.walk(ast.parse(source))
            for said in _faults(node)]  # fmt: skip


def _faults(node: ast.AST):
    if isinstance(node, ast.Attribute) and node.attr == "vectorize":
        yield "np.vectorize is a loop: write array code"
    if isinstance(node, ast.ImportFrom) and any(alias.name == "*" for alias in node.names):
        yield "a star import hides where names come from"
    if isinstance(node, ast.ExceptHandler) and node.type is None:
        yield "a bare except catches what nobody meant"
    if isinstance(node, ast.ExceptHandler) and all(map(_does_nothing, node.body)):
        yield "an error is passed over in silence"


def _does_nothing(statement: ast.stmt) -> bool:
    constant = isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)
    return constant or isinstance(statement, ast.Pass)


def places(source: str) -> list[str]:
    return PLACE.findall(source)


def hosts(source: str) -> list[str]:
    return [host for host in HOST.findall(source) if not HARMLESS_HOST.search(host.lower())]


def test_the_top_level_holds_what_belongs_there():
    here = {path.name for path in ROOT.iterdir()} - {".git"} - IGNORED
    assert here == TOP


@pytest.mark.parametrize("name", CODE)
def test_code_is_plain(name):
    assert not faults(text(CODE[name]))


@pytest.mark.parametrize("name", [name for name, path in FILES.items() if path.suffix in TEXTS])
def test_files_name_no_place_of_a_machine_and_no_host(name):
    content = text(FILES[name])
    assert not places(content)
    assert not hosts(content)


def test_ruff_has_nothing_to_say():
    done = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--no-cache", str(ROOT)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_these_rules_find_what_they_look_for():
    assert len(faults("from numpy import *\nnp.vectorize(f)")) == 2
    assert len(faults("try:\n    x\nexcept:\n    y")) == 1
    assert len(faults("try:\n    x\nexcept ValueError:\n    ...")) == 1
    assert not faults("try:\n    x\nexcept ValueError:\n    continue")
    assert places("open('" + "/ho" + "me/someone/data.csv')")
    assert not places("#!/usr/bin/env bash\nPath('results') / 'torque.png'")
    assert hosts("pip install --index-url packages.somewhere." + "org/simple")
    assert not hosts("write to nobody@example.com; np.linalg.norm(x).net(3)")
