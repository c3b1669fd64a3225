"""The measurement that could change the verdict, compared with what happens if it is known."""

from pathlib import Path

import numpy as np
import pytest

from airover.core.texts import Writer
from airover.model.simulation import USUAL
from airover.records.catalog import read_catalog
from airover.records.found import Found
from airover.records.job import Job
from airover.reports.answer import answer_dict, report
from airover.selection.answer import answer
from airover.selection.measurement import AFTER, BEFORE, FACT, NONE, margins, readings
from airover.selection.rules import DOES_NOT_FIT, FITS
from tests.jobs import job, motor

DATA = Path(__file__).resolve().parents[2] / "data"
HOT = {"site__heat": None, "site__outdoor_temperature": "118 degF",
       "nameplate__ambient_rating": None}  # fmt: skip
SMALLER = {"ratings": (230.0,), "currents": (1.75,)}


def passing(check: str, own=None, **changes) -> float:
    """Return the fraction of samples in which the motor passes a check."""
    best = answer(job(**changes), [own or motor()]).candidates[0]
    return float(best.judged.of(check).passes[0].mean())


def test_hot_air_is_decided_by_its_temperature():
    found = answer(job(**HOT), [motor()])
    decisive = found.measurement
    assert (decisive.when, decisive.check, decisive.reading) == (BEFORE, "ambient rating", "air")
    assert decisive.fails == "above" and decisive.share > 0.8
    assert decisive.limit.value == pytest.approx(60.0, abs=0.1)  # the motor's ambient rating

    # Fix one input after another at both ends of its range.
    air = found.needed["temp_at_motor_c"]
    outdoor = (118 - 32) / 1.8
    rises = (f"{end - outdoor:.2f} K" for end in (air.low, air.high))
    known = {
        "site__coil_temperature_rise": tuple(rises),
        "site__voltage": ("220 V", "244 V"),
        "site__airflow": ("2200 cfm", "2600 cfm"),
        "blade__diameter": ("20 in", "24 in"),
        "site__elevation": ("0 ft", "600 ft"),
    }
    moved = {}
    for name, ends in known.items():
        chances = [passing("ambient rating", **(HOT | {name: end})) for end in ends]
        moved[name] = abs(chances[0] - chances[1])
    assert moved.pop("site__coil_temperature_rise") == 1.0  # settles the check
    assert max(moved.values()) < 0.5


def test_an_unknown_voltage_is_measured_if_the_motor_accepts_only_part_of_the_range():
    only_240 = motor(voltage_low=240.0, voltage_high=240.0)
    found = answer(job(site__voltage=None), [only_240])
    assert (found.measurement.when, found.measurement.check) == (FACT, "voltage")
    assert answer(job(site__voltage="205 V"), [only_240]).candidates[0].verdict == DOES_NOT_FIT
    verdict = answer(job(site__voltage="240 V"), [only_240]).candidates[0].verdict
    assert verdict != DOES_NOT_FIT


def test_a_small_motor_is_decided_by_a_reading_that_separates_the_samples():
    found = answer(job(), [motor(**SMALLER)])
    decisive, case = found.measurement, found.candidates[0].case
    assert (decisive.when, decisive.check) == (BEFORE, "shaft power")
    passes = found.candidates[0].judged.of("shaft power").passes[0]
    apart = {}
    for one in readings(case, [USUAL], Found()):
        order = np.argsort(np.broadcast_to(one.values, (1, 100)).ravel())
        apart[one.name] = abs(passes[order[:33]].mean() - passes[order[-33:]].mean())
    before = {one.name for one in readings(case, [USUAL], Found()) if one.when == BEFORE}
    assert apart[decisive.reading] > max(apart[name] for name in before) - 0.1  # two nearly tie
    # Beyond the limit, the motor passes in fewer samples than before it.
    able = readings(case, [USUAL], Found())
    read = next(one.values for one in able if one.name == decisive.reading)
    beyond = np.ravel(read) > decisive.limit.value
    beyond = beyond if decisive.fails == "above" else ~beyond
    assert passes[beyond].mean() < 0.6
    assert passes[~beyond].mean() > 0.8


def test_an_old_motor_that_does_not_run_cannot_be_measured():
    found = answer(job(found__start="hums, won't start"), [motor(**SMALLER)]).measurement
    assert found.when == AFTER and found.reading.startswith("new")


def test_a_winding_near_its_limit_can_be_measured_only_on_the_new_motor():
    changes = {"found__trips": "in the heat", "site__outdoor_temperature": "112 degF"}
    found = answer(job(**changes), [motor()])
    decisive, case = found.measurement, found.candidates[0].case
    assert (decisive.when, decisive.reading) == (AFTER, "winding")
    assert decisive.limit.value == pytest.approx(case.at.winding_limit[0], abs=0.5)
    # No reading before ordering separates the samples well.
    passes = found.candidates[0].judged.of("winding temperature").passes[0]
    for one in readings(case, [USUAL], Found()):
        order = np.argsort(np.broadcast_to(one.values, (1, 100)).ravel())
        apart = abs(passes[order[:33]].mean() - passes[order[-33:]].mean())
        assert apart > 0.9 if one.name == "winding" else one.when == AFTER or apart < 0.5


def test_nothing_is_to_be_measured_if_the_verdict_is_not_close():
    found = answer(job(), [motor()])
    assert found.measurement.when == NONE
    for changes in ({"site__voltage": "221 V"}, {"site__voltage": "243 V"},
                    {"site__airflow": "2100 cfm"}, {"site__airflow": "2700 cfm"},
                    {"site__coil_temperature_rise": "10 K"}):  # fmt: skip
        assert answer(job(**changes), [motor()]).candidates[0].verdict == FITS
    too_hot = answer(job(site__outdoor_temperature="140 degF"), [motor()])
    assert not too_hot.fitting and too_hot.measurement.when == NONE


def test_margins_agree_with_the_rules():
    catalog = read_catalog(DATA / "catalogue.csv")
    for name in ("roof-unit", "half-plate", "hot-court"):
        for one in answer(Job.read(DATA / f"jobs/{name}.toml"), catalog).candidates:
            if one.case.row is None:
                continue
            for check, margin in margins(one.case, [USUAL]).items():
                found = one.judged.of(check)
                passes = found.passes[one.case.number]
                assert np.all(passes[np.ravel(margin) >= 0]), (name, one.case.motor.name, check)
                if one.check(check).outcome in ("too_weak", "too_hot", "may_exceed", "short"):
                    np.testing.assert_array_equal(passes, np.ravel(margin) >= 0)


@pytest.mark.parametrize(
    ("language", "system", "words"),
    [
        (
            "en",
            "US",
            ("before you order: temperature of the air leaving the coil", "Above 140 degF"),
        ),
        ("es", "SI", ("antes de pedir el motor: temperatura del aire", "Por encima de 60 degC")),
    ],
)
def test_the_sentence_is_in_the_report_and_in_the_data(language, system, words):
    found, writer = answer(job(**HOT), [motor()]), Writer(language, system)
    text = " ".join(report(found, writer).split())
    data = answer_dict(found, writer)["measurement"]
    for word in words:
        assert word in text and word in data["why"]
    assert data["reading"] == "air" and data["unit"] == "degC"
    assert data["limit"] == pytest.approx(60.0, abs=0.1) and 0.8 < data["share"] <= 1
