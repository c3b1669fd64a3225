"""Bad readings are questioned and left out; good ones and those of faults are not."""

import json
import re

import pytest

from airover.app.cli import BAD_INPUT, FITS, NOTHING_FITS, main
from airover.core.files import data_folder
from airover.core.message import Message
from airover.core.texts import Writer
from airover.records.job import Job
from airover.records.readings import Measurements
from airover.reports.verify import verified_dict
from airover.service.judgment import AGREES, DIFFERS, OPEN
from airover.service.verification import verify
from tests.markdown import blocks, table

JOB = Job.read(data_folder() / "jobs" / "roof-unit.toml")
ENGLISH = Writer("en")
GOOD = {
    "voltage": "236 V",
    "current": "1.81 A",
    "power": "372 W",
    "speed": "1091 rpm",
    "capacitor_voltage": "365 V",
    "capacitor_current": "1.03 A",
    "outdoor_temperature": "95 degF",
    "motor_air_temperature": "116 degF",
}


def verified(more=None, **changes):
    """The ordinary readings with other figures; None leaves one out."""
    reading = {name: text for name, text in (GOOD | changes).items() if text is not None}
    return verify(JOB, Measurements(reading=[reading], **(more or {})), samples=120)


def test_good_readings_are_not_questioned():
    found = verified()
    assert not found.questioned and found.state == AGREES
    assert found.verdict == Message("verify.verdict.agrees")


@pytest.mark.parametrize(
    "name, text, said",
    [
        ("current", "0.00 A", "around both leads"),
        ("current", "18.1 A", "ten turns"),
        ("current", "9.05 A", "five turns"),
        ("current", "0.18 A", "ten times too low"),
        ("power", "0.372 W", "kilowatts entered as watts"),
        ("power", "372 kW", "watts entered as kilowatts"),
        ("power", "0.499 W", "horsepower entered as watts"),
        ("power", "37.2 W", "ten times too low"),
        ("power", "3720 W", "ten times too high"),
        ("power", "0 W", "the meter may be off"),
        ("speed", "545 rpm", "strobe at half the fan speed"),
        ("speed", "2182 rpm", "strobe at twice the fan speed"),
        ("capacitor_voltage", "36.5 V", "ten times too low"),
        ("capacitor_voltage", "236 V", "supply voltage"),
        ("capacitor_current", "1.81 A", "supply current"),
        ("capacitor_current", "0.00 A", "around both leads"),
        ("motor_air_temperature", "116 degC", "Fahrenheit entered as Celsius"),
        ("motor_air_temperature", "47 degF", "Celsius entered as Fahrenheit"),
        ("outdoor_temperature", "95 degC", "Fahrenheit entered as Celsius"),
        ("outdoor_temperature", "300 degF", "not a possible outdoor temperature"),
        ("voltage", "118 V", "one leg to ground"),
        ("voltage", "100 V", "one leg to ground"),
        ("voltage", "99 V", "no common reading error"),
        ("voltage", "0 V", "the meter may be off"),
        ("voltage", "480 V", "no common reading error explains this value"),
        ("shell_temperature", "-40 degC", "with any of the faults considered"),
    ],
)
def test_a_bad_reading_is_questioned_and_the_rest_goes_on(name, text, said):
    (one,) = verified(**{name: text}).questioned
    asked = "speed_rpm" if name == "speed" else name
    assert one.name == asked and text in ENGLISH(one.sentence) and said in ENGLISH(one.why)
    sentence = ENGLISH(one.sentence)
    assert sentence.startswith("Reading 1, ") and " was entered but left out (" in sentence


def test_without_the_bad_one_the_others_are_judged():
    found = verified(current="0.00 A")
    assert ENGLISH(found.verdict).startswith("Without the questionable readings, the")
    assert "current" not in {one.name for one in found.judged}
    assert found.bands["power_shaft_w"] == pytest.approx(
        verified(current=None).bands["power_shaft_w"]
    )


def test_two_bad_ones_are_both_named():
    names = {one.name for one in verified(current="18.1 A", power="0.372 W").questioned}
    assert names == {"current", "power"}


def test_more_watts_than_volt_amps():
    found = verified(power="520 W", speed=None, capacitor_voltage=None, capacitor_current=None)
    (one,) = found.questioned
    assert one.name == "power" and "520 W is more than 236 V times 1.81 A" in ENGLISH(one.why)


def test_a_weak_capacitors_figures_are_no_bad_reading():
    weak = {"capacitor_current": "0.68 A", "capacitor_voltage": "345 V", "current": "1.92 A"}
    found = verified(speed="1078 rpm", **weak)
    assert not found.questioned and found.findings[0].key == "weak capacitor"


@pytest.mark.parametrize(
    "changes, more",
    [
        ({"current": "4.5 A", "power": "930 W", "speed": "0 rpm"}, {}),
        ({}, {"start": "hums, won't start"}),
        ({"current": "0.00 A", "power": "0 W"}, {"start": "dead"}),
        (dict.fromkeys(GOOD) | {"voltage": "236 V", "current": "4.5 A"}, {}),
    ],
)
def test_a_motor_that_stands(changes, more):
    found = verified(more, **changes)
    assert found.state == DIFFERS and found.known is None and not found.questioned
    verdict = ENGLISH(found.verdict)
    assert "not turn" in verdict or "won't start" in verdict or "does not run or hum" in verdict
    assert found.next_sentences == [Message("verify.next.stands")] and not found.next
    assert not [one for one in found.judged if one.against == "expected"]
    json.dumps(verified_dict(found, ENGLISH), allow_nan=False)


def test_amps_of_a_standing_rotor_are_not_believed_of_one_that_was_seen_to_start():
    only = dict.fromkeys(GOOD) | {"voltage": "236 V", "current": "4.5 A"}
    (one,) = verified({"start": "by itself"}, **only).questioned
    assert one.name == "current"


def test_volts_alone_tell_nothing_yet():
    found = verified(**dict.fromkeys(GOOD) | {"voltage": "236 V"})
    assert found.state == OPEN and found.chance_expected == pytest.approx(0.7)
    assert "not yet enough readings to decide" in ENGLISH(found.verdict)


@pytest.mark.parametrize(
    "name, code", [("first-start", FITS), ("weak-capacitor", NOTHING_FITS), ("odd-readings", NOTHING_FITS)]
)  # fmt: skip
def test_the_samples_end_as_their_comments_tell(name, code, tmp_path, capsys):
    job = data_folder() / "jobs" / "roof-unit.toml"
    measured = data_folder() / "measured" / f"roof-unit-{name}.toml"
    folder = tmp_path / "out"
    assert main(["verify", str(job), str(measured), "--json", "--out", str(folder)]) == code
    told = json.loads(capsys.readouterr().out)
    assert told["state"] == {FITS: AGREES, NOTHING_FITS: told["state"]}[code]
    assert len(told["questioned"]) == (4 if name == "odd-readings" else 0)
    assert {one.suffix for one in folder.iterdir()} == {".txt", ".json", ".csv", ".png"}
    assert json.loads((folder / "verified.json").read_text(encoding="utf-8")) == told


def test_bad_input_ends_in_one_sentence(tmp_path, capsys):
    job = str(data_folder() / "jobs" / "roof-unit.toml")
    path = tmp_path / "measured.toml"
    for text, said in [
        ("", "reading is missing"),
        ('[[reading]]\ncurrent = "1,800 A"', "comma"),
        ('motor = "demo"\n[[reading]]\ncurrent = "1.8 A"', "motor in the catalog"),
        ('motor = "Demo A-005"\nrating = "2 hp"\n[[reading]]\ncurrent = "1.8 A"', "rating: 2 hp"),
    ]:  # fmt: skip
        path.write_text(text, encoding="utf-8")
        assert main(["verify", job, str(path)]) == BAD_INPUT
        assert said in capsys.readouterr().err


def test_the_measurements_that_the_guide_shows_are_judged(tmp_path, capsys):
    (text,) = (
        block for block in blocks("worksheets/guide/verify.md", "ini") if "[[reading]]" in block
    )
    path = tmp_path / "measured.toml"
    path.write_text(text, encoding="utf-8")
    job = str(data_folder() / "start" / "job.toml")
    assert main(["verify", job, str(path), "--json"]) == FITS
    told = json.loads(capsys.readouterr().out)
    rows = table("worksheets/guide/reference-json.md", "verify", "key")
    assert set(told) == {re.match(r"`(\w+)", row[0])[1] for row in rows}
    assert not told["questioned"]
