"""The benchmarks run, and what ours finds is what the peers find; no time is asserted."""

import subprocess
import sys

from tests.markdown import ROOT, section

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


def benchmarks_told() -> list[str]:
    lines = section("tests/bench/RESULTS.md", "Benchmarks").splitlines()
    return [line for line in lines if line.startswith("|")][2:]
