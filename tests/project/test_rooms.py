"""The rooms of the kit: each imports only those above it, and nothing slow is loaded at the start."""

import ast
import json
import subprocess
import sys
import tomllib

import pytest
from importlinter.cli import lint_imports

from tests.markdown import ROOT, names, table

LATE = ("pandas", "matplotlib", "ipywidgets", "pint", "scipy.stats")


def test_no_room_imports_a_room_below_it(capsys):
    # The contracts stand in pyproject.toml; what they found broken is printed.
    code = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == 0, capsys.readouterr().out


def test_the_developers_page_names_the_rooms_in_their_order():
    told = [names(row[0])[0] for row in table("DEVELOPERS.md", "Ten rooms", "room")]
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = settings["tool"]["importlinter"]["contracts"][0]["layers"]
    assert told == layers[::-1]
    folders = {path.parent.name for path in (ROOT / "kit/airover").glob("*/__init__.py")}
    assert folders == set(told)


def test_worksheets_import_the_kit_and_nothing_else():
    paths = sorted((ROOT / "worksheets").glob("*.ipynb"))
    assert paths
    for path in paths:
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                for node in ast.walk(ast.parse("".join(cell["source"]))):
                    assert not isinstance(node, ast.Import), path.name
                    if isinstance(node, ast.ImportFrom):
                        assert node.module.split(".")[0] == "airover", path.name


def loaded(program: str) -> set[str]:
    """Return which of the slow packages a fresh Python has loaded after ``program``."""
    told = f"import sys\n{program}\nprint(*sys.modules.keys() & {set(LATE)!r}, file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    return set(done.stderr.split())


JOB = ROOT / "data" / "jobs" / "roof-unit.toml"


def test_the_look_sees_a_slow_package():
    assert loaded("import pint") == {"pint"}


@pytest.mark.parametrize("program, may_load", [
    ("import airover, airover.app.cli", set()),
    (f"from airover.app.cli import main; main(['work', {str(JOB)!r}, '--json'])", {"pint"}),
])  # fmt: skip
def test_the_command_starts_without_the_slow_packages(program, may_load):
    assert loaded(program) <= may_load
