"""Windows and macOS, as far as another system can tell: what they do differently is put on here."""

import ast
import os
import subprocess
import sys

import pytest

from airover.business import fleet, fleet_processes
from airover.core import files
from airover.core.errors import InputError
from airover.core.files import data_folder
from tests.project.test_house import FILES, text

KIT = {name: path for name, path in FILES.items() if name.startswith("kit/")}
CODE = [name for name in KIT if name.endswith(".py")]

# Windows: a file of one of these names is a device, whatever its ending; these letters cannot be.
PORTS = {f"{port}{number}" for port in ("com", "lpt") for number in range(10)}
DEVICES = {"con", "prn", "aux", "nul"} | PORTS
LETTERS = set('<>:"|?*\\')
LONGEST_PATH = 100  # letters; Windows has 260 for the project's own place as well


# Texts: the usual code of Windows is another one in each region


def untold(source: str) -> list[str]:
    """The calls that read or write a text without a word on its code."""
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    return [ast.unparse(call) for call in calls if _opens_text(call) and not _has_code(call)]


def _opens_text(call: ast.Call) -> bool:
    name = getattr(call.func, "attr", getattr(call.func, "id", None))
    if name in ("read_text", "write_text"):
        return isinstance(call.func, ast.Attribute)  # safe_file's functions are called by name
    modes = [one.value for one in call.args if isinstance(one, ast.Constant)]
    if name == "open" and isinstance(call.func, ast.Name):
        return "b" not in "".join(map(str, modes[-1:]))
    return "text=True" in map(ast.unparse, call.keywords)  # of a process


def _has_code(call: ast.Call) -> bool:
    return any(word.arg == "encoding" for word in call.keywords)


def test_every_text_has_its_code():
    assert not {name: calls for name in CODE if (calls := untold(text(KIT[name])))}


def test_this_rule_finds_what_it_looks_for():
    assert len(untold("open(p)\nopen(p, 'w')\np.read_text()\np.write_text(t)")) == 4
    assert untold("run(c, text=True)") and not untold("draw(x, y, text=told)")
    assert not untold("open(p, 'rb')\np.read_text(encoding='utf-8')\nread_text(p, 'field', 9)")


def test_letters_that_the_terminal_lacks_are_written_as_numbers(tmp_path):
    job = text(data_folder() / "jobs" / "roof-unit.toml").replace("Roof unit", "Łódź", 1)
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "airover", "cause", tmp_path / "job.toml"],
        env=os.environ | {"PYTHONIOENCODING": "cp1252"}, capture_output=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert "\\u0141ód\\u017a".encode("cp1252") in done.stdout


# Files


def test_every_system_can_keep_the_names_of_the_files():
    parts = {part for name in FILES for part in name.split("/")}
    assert not [part for part in parts if part.lower().split(".")[0] in DEVICES]
    assert not [part for part in parts if LETTERS & set(part) or part[-1] in ". "]
    assert not [name for name in FILES if len(name) > LONGEST_PATH]
    assert len({name.lower() for name in FILES}) == len(FILES)


@pytest.fixture
def held(monkeypatch):
    """Windows, where somebody has the target open for so many tries to replace it."""
    monkeypatch.setattr(files, "WINDOWS", True)
    monkeypatch.setattr(files, "IN_THE_WAY", 0.2)

    def hold(tries: int) -> None:
        replace = os.replace

        def tried(*paths):
            nonlocal tries
            tries -= 1
            if tries >= 0:
                raise PermissionError(13, "Access is denied")
            replace(*paths)

        monkeypatch.setattr(os, "replace", tried)

    return hold


def test_a_file_that_is_read_for_a_moment_is_saved_after_it(tmp_path, held):
    path = tmp_path / "job.toml"
    path.write_bytes(b"old")
    held(3)
    files.write_bytes(path, b"new", "file")
    assert path.read_bytes() == b"new"


def test_a_file_that_stays_open_is_told_and_stays_whole(tmp_path, held):
    path = tmp_path / "job.toml"
    path.write_bytes(b"old")
    held(10**9)
    with pytest.raises(InputError, match="Access is denied"):
        files.write_bytes(path, b"new", "file")
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


# Processes


def test_windows_waits_for_so_many_processes_and_no_more():
    assert fleet_processes.worker_count(96, windows=True) == 61
    assert fleet_processes.worker_count(96, windows=False) == 96
    assert 1 <= fleet_processes.worker_count(None, windows=True) <= 61


def test_a_mac_without_numba_is_told_so(tmp_path, monkeypatch):
    monkeypatch.setattr(fleet.compiled, "AVAILABLE", False)
    with pytest.raises(InputError, match="^fleet: .*numba.*Needed"):
        fleet.fleet("units.parquet", tmp_path / "out", data_folder() / "catalogue.csv")
    assert not (tmp_path / "out").exists()
