"""The answer as text, tables and JSON, against the values that were simulated."""

from functools import cache

import numpy as np
import pytest

from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.model.simulation import USUAL
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.reports.answer import answer_dict, report
from airover.reports.answer_tables import amps_by_voltage, candidates
from airover.selection.answer import answer
from tests.jobs import job, motor

SAY = Writer("en")
JOBS = data_folder() / "jobs"


@cache
def found():
    return answer(Job.read(JOBS / "roof-unit.toml"), read_catalog(data_folder() / "catalogue.csv"))


def test_the_old_motor_comes_first_with_its_own_values():
    row = candidates(found(), SAY, 3).iloc[0]
    old = found().failed
    assert row.name == 0 and row["motor"] == "old motor" and "1/3 hp" in row["rating"]
    for column in ("verdict", "price", "because of", "decided by"):
        assert row[column] == ""
    amps = [float(one) for one in row["current [A]"].split(" to ")]
    assert amps == pytest.approx([old["current_a"].low, old["current_a"].high], abs=0.006)
    assert list(candidates(found(), SAY, 3).index) == [0, 1, 2, 3]


def test_an_old_motor_that_was_not_simulated_has_no_row():
    changes = {"site__voltage": "460 V", "nameplate__capacitor": None}
    other = answer(job(**changes), [motor(voltage_low=460.0, voltage_high=460.0)])
    assert other.failed is None
    assert list(candidates(other, SAY).index) == [1]


def test_amps_by_voltage_agree_with_the_answer():
    case = found().fitting[0].case
    volts, amps = amps_by_voltage(case, case.conditions.voltage)
    line = case.conditions.voltage
    assert volts[0] <= line[0] and volts[-1] >= line[-1] and np.all(np.diff(volts) > 0)
    for end in ("low", "mid", "high"):
        at = np.interp(line[USUAL], volts, getattr(amps, end))
        assert at == pytest.approx(getattr(case.current, end), rel=0.02)  # between two voltages


def test_every_reason_is_a_line_of_a_list():
    half = answer(Job.read(JOBS / "half-plate.toml"), read_catalog(data_folder() / "catalogue.csv"))
    text = report(half, SAY)
    for number, one in enumerate(half.candidates[:3], 1):
        block = text[text.index(f"{number}. {one.case.motor.name} at") :].split("\n\n")[0]
        _, figures, *reasons = block.split("\n")
        assert figures.startswith("   ") and figures[3].isdigit()
        assert all(line.startswith(("   - ", "     ")) for line in reasons)
        said = " ".join(line.strip() for line in reasons)
        for why in one.reasons:
            assert " ".join(SAY(why).split()) in said


def test_winding_data_are_consistent():
    data = answer_dict(found(), SAY)
    for one, row in zip(found().fitting, data["candidates"], strict=False):
        winding, case = row["winding"], one.case
        assert winding["life_h"]["mid"] == pytest.approx(case.winding_life.hours.mid, rel=1e-5)
        air = found().needed["temp_at_motor_c"].mid
        assert winding["temp_c"]["mid"] - winding["rise_k"]["mid"] == pytest.approx(air, abs=1.5)
        left = winding["limit_c"] - winding["temp_c"]["high"]
        assert winding["margin_k"]["low"] == pytest.approx(left, abs=1e-3)
        assert winding["temp_without_rating_c"]["low"] < winding["temp_without_rating_c"]["high"]
