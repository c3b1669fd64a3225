"""The answer as JSON and text, and the command that prints it."""

import json
import math
import subprocess
import sys

import pytest

from airover.app.cli import main
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.reports import answer_tables as tables
from airover.reports.answer import answer_dict, report
from airover.selection.answer import answer
from tests.jobs import MOTOR, job, motor

ENGLISH = Writer("en")
JOBS = data_folder() / "jobs"
MOTORS = read_catalog(data_folder() / "catalogue.csv")

DUTY = {
    "speed_rpm", "current_a", "power_in_w", "power_shaft_w", "efficiency", "power_factor",
    "flow_m3s", "pressure_pa",
}  # fmt: skip
WINDING = {"temp_c", "temp_without_rating_c", "rise_k", "limit_c", "margin_k", "life_h"}
CHECK = {"name", "found", "limit", "margin", "unit", "state", "why", "source", "outcome"}


@pytest.fixture(scope="module", params=["roof-unit", "hot-court", "half-plate"])
def sample(request):
    return answer(Job.read(JOBS / f"{request.param}.toml"), MOTORS)


def numbers(value):
    if isinstance(value, dict):
        return [x for v in value.values() for x in numbers(v)]
    if isinstance(value, list):
        return [x for v in value for x in numbers(v)]
    return [value] if isinstance(value, int | float) else []


def test_json_has_the_agreed_keys(sample):
    found = json.loads(json.dumps(answer_dict(sample, ENGLISH), allow_nan=False))
    assert {"job", "needed", "candidates", "assumed"} <= found.keys()
    assert set(found["needed"]) == {"shaft_power_w", "speed_rpm", "torque_nm", "temp_at_motor_c"}
    assert set(found["failed_motor"]["duty"]) == DUTY
    assert set(found["failed_motor"]["winding"]) == {"temp_c", "rise_k"}
    assert len(found["candidates"]) == len(MOTORS) >= 120
    for candidate in found["candidates"]:
        assert {"motor", "rating_hp", "verdict", "checks", "cost"} <= candidate.keys()
        assert candidate["verdict"] in ("fits", "fits with work", "does not fit")
        assert set(candidate["duty"]) == DUTY
        assert candidate["winding"].keys() == WINDING
        assert {"kind", "life_h", "governed_by"} == candidate["bearing"].keys()
        for check in candidate["checks"]:
            assert set(check) == CHECK
            assert check["state"] in ("pass", "adapt", "fail", "missing", "note")


def test_json_has_no_figure_that_is_not_finite(sample):
    assert all(math.isfinite(x) for x in numbers(answer_dict(sample, ENGLISH)))


def test_bands_are_in_order(sample):
    for candidate in answer_dict(sample, ENGLISH)["candidates"]:
        bands = [*candidate["duty"].values(), candidate["winding"]["temp_c"]]
        known = [band for band in bands if band is not None]
        assert len(known) in (0, len(bands))  # none for a motor that was not simulated
        assert all(band["low"] <= band["mid"] <= band["high"] for band in known)


def test_every_motor_that_fits_was_simulated(sample):
    for candidate in sample.fitting:
        assert candidate.case.row is not None and candidate.case.current is not None


def test_what_was_assumed_is_listed_with_the_reason(sample):
    assert answer_dict(sample, ENGLISH)["assumed"]
    assert all(one["why"] for one in answer_dict(sample, ENGLISH)["assumed"])


def test_no_verdict_hides_a_missing_fact(sample):
    for candidate in sample.candidates:
        if candidate.having("missing"):
            assert candidate.verdict != "fits"


def test_the_roof_unit_gets_a_motor_that_fits_as_it_is():
    found = answer(Job.read(JOBS / "roof-unit.toml"), MOTORS)
    best = found.candidates[0]
    assert best.verdict == "fits"
    assert "fits as is" in ENGLISH(found.verdict)
    assert best.case.motor.poles == 6 and best.case.rating == pytest.approx(248.6, abs=0.1)
    # 92 % of 1/3 hp, in air of 53 degC and 1.06 kg/m3: 248.6 W x 0.925 x 1.06 / 1.20.
    assert found.needed["shaft_power_w"].mid == pytest.approx(201, abs=8)


def test_the_hot_court_gets_none_and_is_told_why():
    found = answer(Job.read(JOBS / "hot-court.toml"), MOTORS)
    assert found.fitting == ()
    said = ENGLISH(found.verdict)
    assert (
        f"None of the {len(MOTORS)} motors fits" in said and "Air temperature at the motor" in said
    )


def test_the_half_plate_gets_motors_with_questions():
    found = answer(Job.read(JOBS / "half-plate.toml"), MOTORS)
    assert {c.verdict for c in found.fitting} == {"fits with work"}
    assert "horsepower is not known" in ENGLISH(found.fitting[0].check("shaft power").why)
    assert found.asked and all(len(one.having("missing")) <= 2 for one in found.candidates)
    power = found.needed["shaft_power_w"]
    assert power.high / power.low > 1.3  # wider than with a readable plate


def test_text_in_both_systems_of_units(sample):
    us = report(sample)
    assert "degF" in us and sample.job.name in us
    in_si = report(sample, Writer("en", "SI"))
    assert "degC" in in_si and "degF" not in in_si


def test_the_answer_exists_in_spanish(sample):
    spanish = Writer("es", "SI")
    text = report(sample, Writer("es", "SI"))
    told = answer_dict(sample, spanish)
    assert spanish(sample.verdict) == told["verdict"] != answer_dict(sample, ENGLISH)["verdict"]
    assert "Valores supuestos:" in text and "bobinado" in text and "degF" not in text
    for frame in (
        tables.candidates(sample, spanish),
        tables.inputs(sample, spanish),
        tables.checks(sample.candidates[0], spanish),
    ):
        assert not {"verdict", "value", "state"} & set(frame.columns)


def test_a_job_that_is_not_covered_is_refused():
    with pytest.raises(InputError, match="three-phase"):
        answer(job(nameplate__phase=3), (MOTOR,))


def test_a_single_motor_that_lacks_every_optional_fact_is_judged():
    bare = motor(
        kind="", capacitor=None, capacitor_voltage=None, insulation_class=None,
        ambient_rating=None, bearings=None, rotation=None, frame="", shaft_diameter=None,
        shaft_length=None, body_diameter=None, body_length=None, mass=None, mounting=(),
        shaft_positions=(), drain_plugs=None, enclosure=None, protector=None, price=None,
        warranty_from_installation=None, warranty_from_manufacture=None,
    )  # fmt: skip
    found = answer(job(), (bare,))
    assert found.candidates[0].verdict == "fits with work"
    best = found.candidates[0]
    remarks = [ENGLISH(check.why) for check in best.having("note")]
    assert len(best.having("missing")) == 2  # the facts that decide most; the others are remarks
    assert sum("The catalog does not" in why for why in remarks) >= 8
    json.dumps(answer_dict(found, ENGLISH), allow_nan=False)
    assert report(found)


def run(*arguments):
    command = [sys.executable, "-m", "airover", *map(str, arguments)]
    return subprocess.run(command, check=False, capture_output=True, text=True)


@pytest.mark.parametrize("name, code", [("roof-unit", 0), ("half-plate", 0), ("hot-court", 3)])
def test_exit_codes_of_the_command(name, code, capsys):
    assert main(["work", str(JOBS / f"{name}.toml")]) == code
    assert "CAUTION" in capsys.readouterr().out.upper()


def test_the_command_as_a_process_prints_json():
    done = run("work", JOBS / "roof-unit.toml", "--json")
    assert done.returncode == 0 and done.stderr == ""
    assert json.loads(done.stdout)["candidates"][0]["verdict"] == "fits"


@pytest.mark.parametrize(
    "text, named",
    [
        ('[nameplate]\npower = "1/3 A"', "power"),
        ('[nameplate]\nvoltagee = "230 V"', "voltage"),
        ('[nameplate]\npower = "1/3 hp"\nphase = 3', "phase"),
        ("[nameplate", "job"),
        ("", "voltage"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_2(tmp_path, capsys, text, named):
    path = tmp_path / "job.toml"
    path.write_text(text)
    assert main(["work", str(path)]) == 2
    said = capsys.readouterr()
    assert named in said.err and said.err.count("\n") == 1
    assert "Traceback" not in said.err and said.out == ""


def test_a_job_that_is_not_there_is_said(capsys):
    assert main(["work", "nowhere.toml"]) == 2
    assert "nowhere.toml" in capsys.readouterr().err


def test_out_writes_text_tables_json_and_picture(tmp_path, capsys):
    folder = tmp_path / "a" / "b"
    assert main(["work", str(JOBS / "roof-unit.toml"), "--out", str(folder)]) == 0
    written = sorted(path.name for path in folder.iterdir())
    assert written == [
        "answer.json", "answer.txt", "calculation.pdf", "candidates.csv",
        "checks-of-the-first.csv", "inputs.csv", "job.xlsx", "torque.png",
    ]  # fmt: skip
    assert (folder / "torque.png").read_bytes().startswith(b"\x89PNG")
    assert json.loads((folder / "answer.json").read_text())["verdict"]
    assert str(folder / "answer.txt") in capsys.readouterr().out


def test_out_on_a_file_is_refused(tmp_path, capsys):
    target = tmp_path / "file"
    target.write_text("mine")
    assert main(["work", str(JOBS / "roof-unit.toml"), "--out", str(target)]) == 2
    assert target.read_text() == "mine"
    assert "out" in capsys.readouterr().err


def test_a_catalog_of_ones_own(tmp_path, capsys):
    lines = (data_folder() / "catalogue.csv").read_text().splitlines()[:9]
    own = tmp_path / "own.csv"
    own.write_text("\n".join(lines))
    main(["work", str(JOBS / "roof-unit.toml"), "--catalog", str(own), "--json"])
    assert len(json.loads(capsys.readouterr().out)["candidates"]) == 8
    own.write_text("\n".join(lines).replace("voltage [V]", "volts"))
    assert main(["work", str(JOBS / "roof-unit.toml"), "--catalog", str(own)]) == 2
    assert "voltage" in capsys.readouterr().err


def test_the_answer_is_the_same_every_time():
    a, b = (
        answer_dict(answer(Job.read(JOBS / "half-plate.toml"), MOTORS[:20]), ENGLISH)
        for _ in range(2)
    )
    assert a == b
