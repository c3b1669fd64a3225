"""A fleet's run: workers end with their parent, and damaged files are noticed."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from airover.business import fleet_processes
from airover.business.fleet import fleet
from airover.business.fleet_workers import MOTORS_DONE
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.reports.fleet import summary_text
from tests.business.test_fleet import INTEL_MAC, SAMPLE, bytes_of, some_motors

pq = pytest.importorskip("pyarrow.parquet")
pytestmark = pytest.mark.skipif(INTEL_MAC, reason="there is no numba for Intel Macs")
ROWS, PART = 40, 10


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Units, catalog and the folder of a finished run."""
    folder = tmp_path_factory.mktemp("run")
    pq.write_table(pq.read_table(SAMPLE).slice(0, ROWS), folder / "units.parquet")
    catalog = some_motors(folder, 3)
    fleet(folder / "units.parquet", folder / "out", catalog, workers=1, part=PART)
    return folder / "units.parquet", catalog, folder / "out"


@pytest.fixture
def damaged(run, tmp_path):
    """Copy of the finished run, to be damaged."""
    return shutil.copytree(run[2], tmp_path / "out")


def test_damaged_parts_are_named_and_calculated_again(run, damaged):
    """Parts that are empty, cut, missing or have a flipped bit, and the summary."""
    units, catalog, whole = run
    (damaged / "part-00000.parquet").write_bytes(b"")
    flipped = bytearray((damaged / "options-00001.parquet").read_bytes())
    flipped[len(flipped) // 2] ^= 1
    (damaged / "options-00001.parquet").write_bytes(flipped)
    (damaged / "rejects-00002.parquet").unlink()
    cut = (damaged / "plan-00002.json").read_bytes()[:-5]
    (damaged / "plan-00002.json").write_bytes(cut)
    (damaged / "fleet.json").write_text("")
    kept = (damaged / "part-00003.parquet").stat().st_mtime_ns
    found = fleet(units, damaged, catalog, workers=1, part=PART)
    names = ["part-00000.parquet", "options-00001.parquet", "rejects-00002.parquet"]
    assert found["damaged"] == [*names, "plan-00002.json"]
    for language in ("en", "es"):
        told = summary_text(found, damaged, Writer(language))
        assert all(name in told for name in found["damaged"])
    assert bytes_of(damaged) == bytes_of(whole)
    assert (damaged / "part-00003.parquet").stat().st_mtime_ns == kept


def test_kept_motors_give_the_same_bytes(run, tmp_path, monkeypatch):
    """The motors are saved, loaded, damaged and loaded again."""
    units, catalog, whole = run
    kept = tmp_path / "kept"
    monkeypatch.setenv("AIROVER_CACHE", str(kept))

    def motors_done(out: str) -> int:
        stages = []
        told = {"progress": lambda done, total, stage: stages.append(stage)}
        fleet(units, tmp_path / out, catalog, workers=1, part=PART, **told)
        assert bytes_of(tmp_path / out) == bytes_of(whole)
        return stages.count(MOTORS_DONE)

    assert motors_done("first") > 1
    assert motors_done("second") == 0
    max(kept.iterdir(), key=lambda path: path.stat().st_size).write_bytes(b"damaged")
    assert motors_done("third") == 1


def without(*keys):
    def cut(text: str) -> str:
        told = json.loads(text)
        inside = told
        for key in keys[:-1]:
            inside = inside[key]
        del inside[keys[-1]]
        return json.dumps(told)

    return cut


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: "",
        lambda text: text[: len(text) // 2],
        lambda text: "[]",
        lambda text: "[" * 100_000,
        lambda text: text.replace('"rows": 10', '"rows": "ten"'),
        lambda text: text.replace('"chosen": {', '"chosen": {"99": 1, '),
        lambda text: text.replace('"chosen": {', '"chosen": {"99999999999": "many", '),
        without("inputs"),
        without("parts", "0", "rows"),
        without("parts", "0", "files"),
    ],
)
def test_a_damaged_manifest_is_one_sentence(damage, run, damaged):
    units, catalog, _ = run
    path = damaged / "manifest.json"
    path.write_text(damage(path.read_text()))
    before = bytes_of(damaged)
    with pytest.raises(InputError) as caught:
        fleet(units, damaged, catalog, workers=1, part=PART)
    assert "manifest.json in" in str(caught.value) and "is damaged" in str(caught.value)
    assert bytes_of(damaged) == before


PARENT = """
import os, sys, time
from airover.business import fleet_processes
if __name__ == "__main__":
    fleet_processes.FORKS = sys.argv[1] == "forks"
    with fleet_processes.worker_pool(2) as pool:
        print(*{pool.submit(os.getpid).result() for _ in range(20)}, flush=True)
        print("ready", flush=True)
        [pool.submit(time.sleep, 300) for _ in range(6)]
        time.sleep(300)
"""


def alive(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{number}/stat")
    return not state.exists() or state.read_text().rsplit(")", 1)[1].split()[0] != "Z"


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")
@pytest.mark.parametrize("way", ["forks", "spawns"])
def test_workers_end_when_their_parent_is_killed(way, tmp_path):
    if way == "forks" and not fleet_processes.FORKS:
        pytest.skip("workers are copied on Linux only")
    script = tmp_path / "parent.py"
    script.write_text(PARENT, encoding="utf-8")
    parent = subprocess.Popen([sys.executable, script, way], stdout=subprocess.PIPE, text=True)
    workers = [int(one) for one in parent.stdout.readline().split()]
    assert parent.stdout.readline() == "ready\n" and workers and all(map(alive, workers))
    parent.send_signal(signal.SIGKILL)
    parent.wait()
    parent.stdout.close()
    late = time.monotonic() + 30
    while any(map(alive, workers)):
        assert time.monotonic() < late
        time.sleep(0.05)
