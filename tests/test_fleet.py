"""A fleet: the same as single jobs, the same bytes after a kill and on a cluster, nothing lost."""

import csv
import json
import os
import platform
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from airover.answer import answer
from airover.bands import Band
from airover.choose import mechanical
from airover.choose.check import FAIL
from airover.errors import InputError
from airover.fleet import facts, lives, response
from airover.locations import data_folder
from airover.motor.conditions import conditions
from airover.motor.work import DRAWS
from airover.records import read_catalogue

pa = pytest.importorskip("pyarrow")
import pyarrow.parquet as pq

from airover.fleet.columns import job_of
from airover.fleet.parquet import Table, rows_of
from airover.fleet.plates import Plates
from airover.fleet.run import fleet
from airover.fleet.screen import Screener
from airover.fleet.site import site_air

INTEL_MAC = sys.platform == "darwin" and platform.machine() != "arm64"
pytestmark = pytest.mark.skipif(
    INTEL_MAC, reason="there is no numba for Macs with an Intel processor"
)

SAMPLE = data_folder() / "fleet" / "example-units.parquet"
# The error that DEVELOPERS.md states: of amps, capacitor volts and reserve as shares.
AMPS, WINDING, RESERVE, AIRFLOW, VOLTS = 0.015, 2.0, 0.03, 0.004, 0.01
AMPS_ENDS, WINDING_ENDS = 0.035, 4.0  # of the bands' ends


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory) -> Path:
    """Eight motors for the usual line, of which one group is made."""
    with open(data_folder() / "catalogue.csv", encoding="utf-8", newline="") as file:
        heading, *rows = csv.reader(file)
    usual = [row for row in rows if row[3] == "208-230" and row[6] == "6"]
    path = tmp_path_factory.mktemp("fleet") / "motors.csv"
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([heading, *usual[:: len(usual) // 8][:8]])
    return path


@pytest.fixture(scope="module")
def screener(catalogue):
    motors = read_catalogue(catalogue)
    return Screener(motors, response.surfaces(motors))


@pytest.fixture(scope="module")
def sample():
    return next(Table(SAMPLE).parts())


def test_every_check_of_what_a_hand_can_hold_is_asked():
    asked = {check for check, _ in facts.CHECKS}
    assert set(mechanical.CHECKS) - asked == {mechanical.bearings}  # a note, which costs nothing


def near_a_limit(candidate) -> bool:
    """Whether only checks that lie within the stated error of their limit decide on a motor."""
    checks = {check.name: check for check in candidate.checks}
    reach = {
        "running amps": AMPS * candidate.case.current.mid, "winding temperature": WINDING,
        "torque": RESERVE * 1.25, "airflow": AIRFLOW,
        "capacitor voltage": VOLTS * candidate.case.band("capacitor_v").mid,
    }  # fmt: skip
    over = {"running amps": 0.1 * candidate.case.rated_current}  # what the check lets pass
    near = {
        name
        for name, most in reach.items()
        if (margin := checks[name].margin) is not None
        and abs((margin.low if isinstance(margin, Band) else margin) + over.get(name, 0.0)) <= most
    }
    failed = {check.name for check in candidate.having(FAIL)}
    return bool(near) and failed <= near


def close_to(figures, candidate):
    """Asserts that a unit's figures are those of the job, within the stated error."""
    case = candidate.case
    checks = {check.name: check for check in candidate.checks}
    assert figures[1] == pytest.approx(case.current.mid, rel=AMPS)
    assert figures[:3] == pytest.approx(case.current, rel=AMPS_ENDS)
    assert figures[4] == pytest.approx(case.winding.mid, abs=WINDING)
    assert figures[3:6] == pytest.approx(case.winding, abs=WINDING_ENDS)
    assert figures[7] == pytest.approx(checks["torque"].found.low, rel=RESERVE)
    assert figures[8] == pytest.approx(checks["airflow"].found.mid, abs=AIRFLOW)
    assert figures[9] == pytest.approx(case.band("capacitor_v").mid, rel=VOLTS)


def test_a_unit_is_judged_as_its_job(screener, sample):
    usual = pa.compute.and_(
        pa.compute.equal(sample["plate_voltage_high_v"], 230.0),
        pa.compute.equal(sample["frequency_hz"], 60.0),
    )
    rows = sample.filter(usual)
    found = screener.screened(rows_of(rows))
    best, place = found.best, {int(row): at for at, row in enumerate(found.taken)}
    with_motor = {int(found.taken[at]) for at in np.flatnonzero(best.motor[:, 0] >= 0)}
    rng = np.random.default_rng(0 if os.environ.get("CI") else None)  # other rows at a desk
    picked = [*rng.choice(sorted(with_motor), 20, replace=False), *rng.choice(len(rows), 5)]
    compared = near = 0
    for row in map(int, picked):
        if row in found.reasons:
            with pytest.raises(InputError):
                answer(job_of(rows.slice(row, 1).to_pylist()[0]), screener.motors)
            continue
        single = answer(job_of(rows.slice(row, 1).to_pylist()[0]), screener.motors)
        if any(near_a_limit(candidate) for candidate in single.candidates):
            near += 1
            continue
        at = place[row]
        words = [candidate.verdict for candidate in single.candidates]
        assert best.counts[at, 0] == words.count("fits"), row
        assert best.counts[at, 1] == words.count("fits with work"), row
        by_name = {candidate.case.motor.name: candidate for candidate in single.candidates}
        for number, work, rating, figures in zip(
            best.motor[at], best.work[at], best.rating_number[at], best.figures[at], strict=True
        ):
            if number >= 0:
                candidate = by_name[screener.motors[number].name]
                assert work == len(candidate.reasons)
                assert rating == candidate.case.rating_number
                close_to(figures, candidate)
        compared += 1
    assert compared >= 12, f"{near} of {len(picked)} lie near a limit"


def test_load_and_air_are_those_of_the_job(sample):
    rows = sample.slice(0, 60)
    told = rows_of(rows)
    plates = Plates().read(told.plates.values)
    each = [plates[at] for at in told.plates.place]
    good = [at for at, one in enumerate(each) if not isinstance(one, str)]
    good = [at for at in good if not told.site["outdoor_temperature_c"][at] > 60]
    site = {name: value[good] for name, value in told.site.items()}
    power, speed = (np.stack([getattr(each[at], n) for at in good]) for n in ("power", "speed_rpm"))
    synchronous = np.array([120 * each[at].frequency / each[at].poles for at in good])
    air = site_air(site, power, speed, synchronous)
    for place, at in enumerate(good):
        asked = conditions(job_of(rows.slice(at, 1).to_pylist()[0]), DRAWS)
        assert air.coefficient[place] == pytest.approx(asked.coefficient, rel=1e-9)
        assert air.temp_air[place] == pytest.approx(asked.temp_air, abs=1e-9)
        assert air.cooling_speed[place] == pytest.approx(asked.cooling_speed, rel=1e-9)
        assert air.temp_over[place] == pytest.approx(asked.temp_air - asked.temp_outdoor, abs=1e-9)


def test_a_plate_is_the_same_in_any_company(sample):
    values = rows_of(sample).plates.values[:40]
    together = Plates().read(values)
    for one, other in zip(together[::7], (Plates().read([v])[0] for v in values[::7]), strict=True):
        if isinstance(one, str):
            assert one == other
        else:
            assert one.power.tobytes() == other.power.tobytes()
            assert one.speed_rpm.tobytes() == other.speed_rpm.tobytes()


GOOD = {
    "unit": "1", "plate_voltage_high_v": 230.0, "power_w": 249.0, "current_a": 1.9,
    "speed_rpm": 1075.0, "outdoor_temperature_c": 41.0, "blade_diameter_mm": 558.8,
}  # fmt: skip
WRONG = {
    "named": ({"unit": None}, "unit: nothing was given"),
    "hot": ({"outdoor_temperature_c": 140.0}, "outdoor_temperature_c: 140 was given"),
    "speed": ({"speed_rpm": 4000.0}, "speed: 4000.0 rpm"),
    "silent": ({"power_w": None, "current_a": None}, "neither power nor current"),
    "word": ({"mounting": "glue"}, "mounting: "),
    "strong": ({"power_w": 4900.0, "current_a": 30.0}, "at most 4000 W"),
    "gale": ({"airflow_m3h": 30000.0}, "airflow: "),
    "phases": ({"phase": 3}, "nameplate phase"),
    "frozen": ({"outdoor_temperature_c": -40.0}, "air at the motor: "),
}


def test_every_refused_row_has_its_reason(screener):
    rows = [GOOD, *(GOOD | change for change, _ in WRONG.values()), GOOD]
    names = dict.fromkeys(name for row in rows for name in row)
    table = pa.table({name: [row.get(name) for row in rows] for name in names})
    found = screener.screened(rows_of(table))
    assert found.taken.tolist() == [0, len(rows) - 1]
    for number, (_, reason) in enumerate(WRONG.values(), 1):
        assert reason in found.reasons[number]
    assert len(found.taken) + len(found.reasons) == len(rows)
    assert np.array_equal(found.best.figures[0], found.best.figures[1], equal_nan=True)


def test_no_rows_at_all(screener, sample):
    found = screener.screened(rows_of(sample.slice(0, 0)))
    assert len(found.taken) == 0 and not found.reasons and not found.counted.any()


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture(scope="module")
def whole(catalogue, tmp_path_factory):
    """A run that nothing disturbed, in parts of 60."""
    out = tmp_path_factory.mktemp("whole")
    return fleet(SAMPLE, out, catalogue, workers=2, part=60), out


SCRIPT = """
import sys
from airover.fleet.run import fleet
if __name__ == "__main__":
    fleet(sys.argv[1], sys.argv[2], sys.argv[3], workers=1, part=60)
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")
def test_killed_and_resumed_gives_the_same_bytes(catalogue, whole, tmp_path):
    script, out = tmp_path / "run.py", tmp_path / "out"
    script.write_text(SCRIPT, encoding="utf-8")
    command = [sys.executable, script, SAMPLE, out, catalogue]
    run = subprocess.Popen(command, start_new_session=True)
    late = time.monotonic() + 300
    while len(list(out.glob("part-*.parquet"))) < 3:
        assert run.poll() is None and time.monotonic() < late
        time.sleep(0.01)
    os.killpg(run.pid, signal.SIGKILL)
    run.wait()
    done = json.loads((out / "manifest.json").read_text())["parts"]
    assert 2 <= len(done) < 17 and not (out / "fleet.json").exists()
    before = {
        name: (out / name).stat().st_mtime_ns for part in done.values() for name in part["files"]
    }
    (out / ".part-00016.parquet.1.draft").write_bytes(b"half a part")
    assert fleet(SAMPLE, out, catalogue, workers=2, part=60) == whole[0]
    assert bytes_of(out) == bytes_of(whole[1])
    assert all((out / name).stat().st_mtime_ns == when for name, when in before.items())


def test_a_cluster_gives_the_same_bytes(catalogue, whole, tmp_path):
    distributed = pytest.importorskip("distributed")
    settings = {"threads_per_worker": 1, "dashboard_address": ":0"}
    with distributed.LocalCluster(n_workers=2, **settings) as cluster:
        address = cluster.scheduler_address
        found = fleet(SAMPLE, tmp_path / "out", catalogue, scheduler=address, part=60)
    assert found == whole[0]
    assert bytes_of(tmp_path / "out") == bytes_of(whole[1])


def test_the_manifest_counts_every_row(whole):
    summary, out = whole
    told = json.loads((out / "manifest.json").read_text())
    assert told["rows_done"] == told["accepted"] + told["rejected"] == 1000
    assert summary["rejected"] == told["rejected"] > 0
    # It is written anew with every part: only small ones keep a fleet of 1e8 units quick.
    assert (out / "manifest.json").stat().st_size < 1500 * len(told["parts"])
    parts = [pq.read_table(path) for path in sorted(out.glob("part-*.parquet"))]
    rejects = pa.concat_tables(pq.read_table(path) for path in sorted(out.glob("rejects-*")))
    assert sum(map(len, parts)) == told["accepted"] and len(rejects) == told["rejected"]
    units = pq.read_table(SAMPLE)["unit"].to_pylist()
    assert [units[row - 1] for row in rejects["row"].to_pylist()] == rejects["unit"].to_pylist()
    left = pa.concat_tables(parts)["unit"].to_pylist()
    assert sorted(left + rejects["unit"].to_pylist()) == sorted(units)


def test_a_finished_run_is_not_worked_again(whole, catalogue):
    before = bytes_of(whole[1])
    assert fleet(SAMPLE, whole[1], catalogue, part=60) == whole[0]
    assert bytes_of(whole[1]) == before


def refused(sentence, *given, **named):
    with pytest.raises(InputError) as caught:
        fleet(*given, **named)
    assert sentence in str(caught.value)


def test_a_folder_of_other_inputs_is_refused(whole, catalogue, tmp_path, sample):
    other = tmp_path / "other.parquet"
    pq.write_table(sample.slice(0, 10), other)
    refused("which was begun with another units", other, whole[1], catalogue, part=60)
    refused("begun with another rows in a part", SAMPLE, whole[1], catalogue, part=61)
    motors = data_folder() / "catalogue.csv"
    refused("begun with another catalogue", SAMPLE, whole[1], motors, part=60)
    (tmp_path / "held").mkdir()
    (tmp_path / "held" / "mine.parquet").write_bytes(b"")
    refused("which has Parquet files but no manifest", other, tmp_path / "held", catalogue)


def test_tables_that_are_refused(catalogue, tmp_path, sample):
    text = tmp_path / "units.csv"
    text.write_text("unit\n1\n", encoding="utf-8")
    refused("accepted is a Parquet file", text, tmp_path / "out", catalogue)
    refused("accepted is a Parquet file", tmp_path / "none.parquet", tmp_path / "out", catalogue)
    for table, sentence in (
        (sample.drop_columns(["power_w"]), "a table without the column power_w"),
        (sample.append_column("colour", [[""] * len(sample)]), 'the column "colour"'),
        (sample.drop_columns(["power_w"]).append_column("power_w", [["1"] * len(sample)]),
         "power_w as string"),
    ):  # fmt: skip
        pq.write_table(table, tmp_path / "units.parquet")
        refused(sentence, tmp_path / "units.parquet", tmp_path / "out", catalogue)


def test_a_scheduler_that_does_not_answer(catalogue, tmp_path, monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr("airover.fleet.run.PATIENCE", "1s")
    refused("scheduler: ", SAMPLE, tmp_path, catalogue, scheduler="tcp://127.0.0.1:9")


def test_renewals_of_lives_without_memory_are_a_straight_line():
    until = np.array([0.1, 1.0, 3.7, 20.0])
    assert lives.renewals(until, 1.0) == pytest.approx(until, rel=1e-3)


def test_renewals_against_a_simulation():
    rng = np.random.default_rng(5)
    for shape in (2.0, 2.3, 3.0):
        ends = np.cumsum(rng.weibull(shape, (40_000, 20)), axis=1)
        for until in (0.3, 1.0, 2.5, 7.5):
            mean = (ends <= until).sum(axis=1).mean()
            assert lives.renewals(until, shape) == pytest.approx(mean, abs=0.012)


def test_lives_that_are_counted_fail_as_each_of_them():
    rng = np.random.default_rng(6)
    scale = np.exp(rng.uniform(np.log(2.0), np.log(80.0), (50, 3, DRAWS)))
    ages = lives.Ages(scale)
    total = lives.failures(ages.counted())[:, : lives.HORIZON].sum(axis=(0, 1))
    assert total == pytest.approx(ages.within(lives.HORIZON).sum(axis=0), rel=2e-3)
