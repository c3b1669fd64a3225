"""The panel of worksheet 06, driven as a Python object: no browser, no notebook."""

import re

import pytest

from airover.app import verify_panel
from airover.app.checked import figures_of_verified
from airover.app.live import checked
from airover.app.panel import Picture
from airover.app.verify_panel import AIR, METERS, READING, WINDING, VerifyPanel
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.job import Job
from airover.records.readings import Measurements, ReadingMoment

from .conftest import begin_with_the_sample

MEASURED = data_folder() / "measured"
SAMPLE = Measurements.read(MEASURED / "roof-unit-first-start.toml")


@pytest.fixture(scope="module")
def shared():
    return VerifyPanel()


@pytest.fixture
def panel(shared):
    """One panel for the module, brought back to the sample files."""
    begin_with_the_sample(shared)
    shared.fill(Job.read(data_folder() / "jobs" / "roof-unit.toml"))
    shared.fill_measured(SAMPLE)
    with shared.filling():
        shared.units.value = "US"
    shared.update()
    assert not shared.status.value
    return shared


def test_the_default_is_the_sample(panel):
    assert panel.reading.voltage.value == "236 V" and panel.motor.value == SAMPLE.motor
    assert panel.answer.state == "agrees"
    assert Writer("en")(panel.answer.verdict) in panel.verdict.value
    assert "Fictional job" in panel.verdict.value


def test_the_fields_say_what_the_file_says(panel):
    assert panel.measured.reading[0].power.text == SAMPLE.reading[0].power.text
    assert dict(panel.measured) == dict(SAMPLE) | {"note": panel.measured.note}


def test_a_reading_changes_the_answer(panel):
    panel.reading.capacitor_voltage.value = "352 V"
    panel.reading.capacitor_current.value = "0.66 A"
    assert panel.answer.state == "differs" and panel.answer.findings[0].key == "weak capacitor"
    assert "too few microfarads" in panel.verdict.value
    assert re.search(r"Not OK: 0.66 A at 352 V works out to 4.9\d uF", panel.shown("remarks"))
    assert "capacitor current" in panel.shown("comparisons")
    assert isinstance(panel.picture, Picture) and "0.66 A not OK" in repr(panel.picture)


def test_a_bad_reading_is_questioned_in_the_panel(panel):
    panel.reading.current.value = "0.00 A"
    assert "around both leads" in panel.shown("remarks")
    assert "questionable, left out" in panel.shown("comparisons") and not panel.status.value


def test_text_that_cannot_be_read_is_told_at_its_field(panel):
    before = panel.answer
    panel.reading.current.value = "apples"
    assert 'reading 1 current: "apples"' in panel.status.value.replace("&quot;", '"')
    assert panel.reading.problems["current"].value and panel.answer is before
    assert "ao-earlier" in panel.view._dom_classes
    panel.reading.current.value = "1.70 A"
    assert not panel.status.value and "ao-earlier" not in panel.view._dom_classes


def test_meters_that_are_better_widen_no_band(panel):
    before = panel.answer.bands["speed_rpm"]
    panel.meters.speed.value = "1 rpm"
    after = panel.answer.bands["speed_rpm"]
    assert after.high - after.low < 0.6 * (before.high - before.low)
    panel.meters.speed.value = "excellent"
    assert "meters speed" in panel.status.value and panel.meters.problems["speed"].value


def test_ohms_cold_and_hot(panel):
    for name, value in (("cold_resistance", "14.2 ohm"), ("cold_temperature", "75 degF"),
                        ("hot_resistance", "18.4 ohm")):  # fmt: skip
        getattr(panel.winding, name).value = value
    assert not panel.status.value
    assert "main winding, by resistance" in panel.shown("comparisons")


def test_direction_and_start(panel):
    panel.seen.rotation.value = "clockwise"
    assert panel.answer.state == "differs" and "rotation plug" in panel.verdict.value
    panel.seen.start.value = "hums, won't start"
    assert panel.shown("faults") == "" == panel.shown("next_readings")
    assert "find out why the motor is not turning" in panel.verdict.value
    assert panel.picture.png


def test_files_of_another_kind_are_told(panel):
    before = panel.answer
    panel.measured_path.value = str(data_folder() / "jobs" / "roof-unit.toml")
    assert "Unknown" in panel.status.value and panel.answer is before
    panel.measured_path.value = str(MEASURED / "roof-unit-odd-readings.toml")
    assert not panel.status.value and len(panel.answer.questioned) == 4


def test_another_job_is_taken(panel):
    panel.open(data_folder() / "jobs" / "hot-court.toml")
    assert not panel.reading.given()
    with panel.filling():
        panel.reading.restore(
            {"voltage": "230 V", "current": "1.5 A", "outdoor_temperature": "95 degF"}
        )
    panel.update()
    assert panel.answer.job.name == "Courtyard, Customer 2"
    panel.open("no-such.toml")
    assert "no-such.toml" in panel.bar.told.value


def test_more_readings_of_a_file_count_too(panel, tmp_path):
    path = tmp_path / "two.toml"
    path.write_text('[[reading]]\nvoltage = "236 V"\ncurrent = "1.8 A"\n'
                    '[[reading]]\nvoltage = "225 V"\ncurrent = "1.7 A"\n', encoding="utf-8")  # fmt: skip
    panel.measured_path.value = str(path)
    assert "current, reading 2" in panel.shown("comparisons") and panel.motor.value == ""


def test_si_units(panel):
    panel.units.value = "SI"
    assert "degC" in panel.shown("inferred") and "degF" not in panel.shown("inferred")


def test_every_example_is_accepted():
    assert ReadingMoment(**READING, **AIR).is_complete
    lists = {
        name: list(text) if isinstance(text, tuple) else text for name, text in WINDING.items()
    }
    assert Measurements(winding=lists, meters=METERS).winding.is_complete
    assert set(METERS) == set(type(Measurements().meters).model_fields)


def test_checked_figures(panel):
    lines = checked(figures_of_verified(panel.answer)).splitlines()
    assert lines[-1] == f"{len(lines) - 1} figures" and len(lines) > 20


def test_an_unexpected_error_is_raised(panel, monkeypatch):
    def explode(*_, **__):
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setattr(verify_panel, "verify", explode)
    with pytest.raises(ZeroDivisionError):
        panel.rating.value = ""
    assert "Calculating" in panel.status.value
