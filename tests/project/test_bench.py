"""The benchmarks run, and what ours finds is what the peers find; no time is asserted."""

import subprocess
import sys
from importlib import import_module
from types import SimpleNamespace

from tests import slowest
from tests.markdown import ROOT, table

SCRIPT = ROOT / "tests" / "bench" / "run.py"


def tried(*arguments):
    command = [sys.executable, str(SCRIPT), *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_every_benchmark_runs_and_agrees_with_its_peer():
    done = tried("--tiny")
    assert done.returncode == 0, done.stdout + done.stderr
    printed = [line.split("|")[1:-1] for line in done.stdout.splitlines()]
    assert [len(cells) for cells in printed] == [6] * len(printed)
    assert len(printed) - 2 == len(benchmarks_told())


def test_the_guard_names_what_fell_behind_its_peer(tmp_path, monkeypatch):
    monkeypatch.syspath_prepend(SCRIPT.parent)
    page = import_module("page")
    stored = tmp_path / "RESULTS.md"
    stored.write_text(
        "# Speed\n\nMeasured on a day (x).\n\n| a |\n| - |\n\nMore.\n", encoding="utf-8"
    )
    monkeypatch.setattr(page, "PAGE", stored)
    fast, slow = (page.Row("a sum", ours, "in a loop", 8.0, 0.0, 0.0) for ours in (1.0, 2.0))
    page.write([fast])
    assert page.ratios() == {("a sum", "in a loop"): 8.0}
    assert stored.read_text(encoding="utf-8").endswith("\n\nMore.\n")
    assert page.slower([fast]) == []
    assert page.slower([slow]) == ["a sum: peer / ours fell from 8 to 4"]


def benchmarks_told() -> list[list[str]]:
    return table("tests/bench/RESULTS.md", "Benchmarks", "what")


def test_a_new_table_of_the_slowest_tests_replaces_the_old_one(tmp_path, monkeypatch):
    page = tmp_path / "RESULTS.md"
    page.write_text(f"# Speed\n\n{slowest.TITLE}\n\nold table\n", encoding="utf-8")
    monkeypatch.setattr(slowest, "PAGE", page)
    found = slowest.Slowest(processes=2)
    for nodeid, seconds in (("tests/a.py::b[x|y]", 1.0), ("tests/c.py", 2.0), ("tests/c.py", 2.0)):
        found.pytest_runtest_logreport(SimpleNamespace(nodeid=nodeid, duration=seconds))
    found.pytest_sessionfinish()
    text = page.read_text(encoding="utf-8")
    assert text.startswith("# Speed\n\n## Slowest tests\n\n`python3 kit test --slowest`")
    assert "old table" not in text
    assert text.endswith("| `c.py` | 4.0 | 80.0 |\n| `a.py::b[x\\|y]` | 1.0 | 20.0 |\n")
