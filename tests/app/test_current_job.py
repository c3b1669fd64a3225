"""One job in all worksheets: what one stores, the next one opens; two windows notice each other."""

import asyncio

import pytest

from airover.app import job_bar
from airover.app.fan_panel import FanPanel
from airover.app.heat_panel import HeatPanel
from airover.app.job_folder import JobFolder, new_job, the_sample, user_folder
from airover.app.motor_panel import MotorPanel
from airover.app.replacement import ReplacementPanel
from airover.app.verify_panel import VerifyPanel
from airover.core.errors import InputError
from airover.records.job import Job

PLATE = {"voltage": "208-230 V", "power": "1/4 hp", "current": "1.5 A", "speed": "1075 rpm"}
OTHERS = (MotorPanel, FanPanel, HeatPanel, VerifyPanel)


@pytest.fixture
def folder():
    return JobFolder(user_folder())


def in_worksheet(work):
    """Run ``work`` as in a worksheet, where an event loop runs; in a script nothing is stored."""

    async def working():
        return work()

    return asyncio.run(working())


def test_a_first_start_shows_the_sample_and_stores_nothing(folder):
    panel = in_worksheet(MotorPanel)
    in_worksheet(panel.settled)
    assert panel.bar.current == the_sample() and "fictional sample" in panel.bar.name.value
    assert not (folder.folder / "job.json").exists()


def test_a_blank_job_asks_for_facts_and_shows_no_result_of_the_sample():
    panel = ReplacementPanel()
    panel.bar.buttons["new"].click()
    assert panel.answer is None and "Enter the nameplate first" in panel.verdict.value
    assert "ao-blank" in panel.view._dom_classes and panel.job() == Job()
    for kind in OTHERS:
        other = kind()
        assert other.answer is None and "nter " in other.verdict.value, kind
        assert other.own_job() == Job()


def test_a_job_typed_in_one_worksheet_is_there_in_the_next():
    panel = ReplacementPanel()
    panel.bar.begin_new()
    for name, words in PLATE.items():
        getattr(panel.nameplate, name).value = words
    in_worksheet(panel.settled)
    motor, heat = MotorPanel(), HeatPanel()
    assert motor.nameplate.power.value == "1/4 hp"
    assert motor.answer is not None and motor.own_job() == heat.job == panel.job()
    motor.nameplate.capacitor.value = "5 uF"
    in_worksheet(motor.settled)
    assert ReplacementPanel().nameplate.capacitor.value == "5 uF"


def test_no_curve_and_no_readings_of_the_sample_go_to_another_job(folder):
    assert FanPanel().points.value and VerifyPanel().reading.voltage.value
    folder.store(new_job(Job(nameplate=PLATE)))
    fan, readings = FanPanel(), VerifyPanel()
    assert not fan.points.value and "no fan curve" in fan.verdict.value
    assert not readings.reading.voltage.value and "Enter the readings" in readings.verdict.value
    changed = the_sample().job.model_copy(update={"nameplate": Job(nameplate=PLATE).nameplate})
    folder.store(the_sample().changed(changed))
    assert not FanPanel().points.value and not VerifyPanel().reading.voltage.value


def test_a_curve_typed_in_03_is_part_of_the_job(folder):
    folder.store(new_job(Job(nameplate=PLATE)))
    fan = FanPanel()
    with fan.filling():
        fan.points.value = (
            "1000 cfm, 0.4 in. wg, 120 W\n2000 cfm, 0.3 in. wg, 140 W\n3000 cfm, 0.1 in. wg, 130 W"
        )
        fan.curve.speed.value = "1075 rpm"
    fan.update()
    in_worksheet(fan.settled)
    assert fan.answer is not None and len(ReplacementPanel().job().blade.curve.flow) == 3


def test_run_all_keeps_sliders_readings_and_a_rejected_entry():
    motor = MotorPanel()
    motor.voltage.value = 241
    motor.readings[0].voltage.value = "236 V"
    motor.nameplate.current.value = "plenty"
    in_worksheet(motor.settled)
    again = MotorPanel()
    assert again.voltage.value == 241 and again.readings[0].voltage.value == "236 V"
    assert again.nameplate.current.value == "plenty" and again.bar.current.job == the_sample().job
    again.bar.begin_new()
    assert not again.readings[0].voltage.value and not again.nameplate.current.value


def test_two_windows_of_one_job_notice_each_other():
    one, other = MotorPanel(), MotorPanel()
    one.nameplate.current.value = "2.1 A"
    in_worksheet(one.settled)
    in_worksheet(other.bar.look)
    assert other.bar._notice.layout.display is None
    other.nameplate.current.value = "1.7 A"
    in_worksheet(other.settled)  # waits for the user's choice
    assert MotorPanel().nameplate.current.value == "2.1 A"
    other.bar.buttons["keep_this"].click()
    assert MotorPanel().nameplate.current.value == "1.7 A"
    one.bar.look()
    one.bar.buttons["load_other"].click()
    assert one.nameplate.current.value == "1.7 A" and one.bar._notice.layout.display == "none"


def test_an_open_worksheet_looks_for_changes_by_itself(monkeypatch):
    monkeypatch.setattr(job_bar, "LOOK", 0.02)

    async def open_worksheet():
        panel = MotorPanel()
        other = MotorPanel()
        other.nameplate.current.value = "2.1 A"
        other.settled()
        for _ in range(200):
            await asyncio.sleep(0.01)
            if panel.bar._notice.layout.display is None:
                return True
        return False

    assert asyncio.run(open_worksheet())


def test_an_unsaved_job_stays_among_the_recent_ones_when_another_is_opened(tmp_path):
    panel = MotorPanel()
    panel.bar.begin_new()
    for name in ("voltage", "power", "speed"):
        panel.nameplate.controls[name].value = PLATE[name]
    panel.save(tmp_path / "mine.toml")
    assert "saved in mine.toml" in panel.bar.name.value
    panel.nameplate.current.value = "1.5 A"
    in_worksheet(panel.settled)
    assert "changed since" in panel.bar.name.value
    panel.bar.begin_new()
    shown = [text for text, _ in panel.bar.recent.options]
    assert shown[1:] == ["mine.toml", "unnamed job (not saved)", "Fictional sample"]
    panel.bar.recent.value = job_bar.ASIDE
    assert panel.nameplate.current.value == "1.5 A"
    panel.bar.recent.value = str(tmp_path / "mine.toml")
    assert not panel.nameplate.current.value and panel.nameplate.power.value == "1/4 hp"
    panel.bar.recent.value = job_bar.SAMPLE
    assert panel.bar.current.is_sample


def test_a_named_file_changes_only_on_save(tmp_path):
    path = tmp_path / "mine.toml"
    Job(nameplate=PLATE).save(path)
    before = path.read_bytes()
    panel = MotorPanel()
    panel.open(path)
    panel.nameplate.current.value = "1.4 A"
    in_worksheet(panel.settled)
    assert path.read_bytes() == before
    MotorPanel().bar.save()  # another worksheet knows the file
    assert Job.read(path).nameplate.current.text == "1.4 A"


def test_a_damaged_store_is_said_and_the_sample_shown(folder):
    folder.store(new_job(Job(nameplate=PLATE)))
    (folder.folder / "job.json").write_text("{", encoding="utf-8")
    panel = MotorPanel()
    assert "cannot be read" in panel.bar.told.value and panel.answer is not None


def test_a_job_of_its_own_is_not_shared(tmp_path, folder):
    Job(nameplate=PLATE).save(tmp_path / "mine.toml")
    panel = MotorPanel(tmp_path / "mine.toml")
    panel.nameplate.current.value = "1.4 A"
    in_worksheet(panel.settled)
    assert folder.load() == the_sample()
    with pytest.raises(InputError, match="job file"):
        MotorPanel(tmp_path / "absent.toml")
