"""The panel of worksheet 02, driven as a Python object: no browser, no notebook."""

import pytest

from airover.app import motor_panel
from airover.app.checked import figures_of_motor
from airover.app.live import checked
from airover.app.motor_panel import JOBS_BLADE, OF_THE_PLATE, RATED_FAN, READING, MotorPanel
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.message import Message
from airover.core.texts import Writer
from airover.model import expected
from airover.model.identify import Point
from airover.model.motor import dedicated
from airover.records.job import Job
from airover.records.readings import Reading
from airover.reports import motor as figures_motor
from airover.reports import motor as tables_motor

from .conftest import begin_with_the_sample, rows

JOB = Job.read(data_folder() / "jobs" / "roof-unit.toml")
ENGLISH = Writer("en")


@pytest.fixture(scope="module")
def shared():
    return MotorPanel()


@pytest.fixture
def panel(shared):
    """One panel for the module, brought back to the sample job."""
    with shared.filling():
        shared.capacitor.value, shared.blade.value, shared.units.value = 100, 100, "US"
    begin_with_the_sample(shared)
    shared.fill(JOB)
    shared.update()
    assert not shared.status.value
    return shared


def width(band) -> float:
    return band.high - band.low


def choose_motor_of(panel, ratings: int) -> None:
    names = (row.name for row in panel._motors if len(row.ratings) == ratings)
    panel.motor.value = next(names)


def test_the_default_is_the_sample_jobs_motor_on_its_blade_and_line(panel):
    assert panel.voltage.value == 236 and panel.answer.mounted.fan == Message("expected.fan.job")
    assert ENGLISH(panel.answer.verdict).startswith("At 236 V with the job's fan, expect 1.")
    assert ENGLISH(panel.answer.verdict).replace("'", "&#x27;") in panel.verdict.value
    assert "the nameplate says 1.9 A" in ENGLISH(panel.answer.verdict)


def test_the_voltage_slider_moves_the_amps(panel):
    panel.voltage.value = 208
    low = panel.answer.current
    panel.voltage.value = 253
    assert panel.answer.current.mid > 1.05 * low.mid  # a saturated motor at high voltage
    assert f"{panel.answer.current.low:.2f} to {panel.answer.current.high:.2f} A" in (
        panel.verdict.value
    )


def test_a_slider_works_the_motor_and_looks_for_no_circuits(panel, monkeypatch):
    calls = []
    monkeypatch.setattr(motor_panel, "mounted", lambda *a: calls.append(a))
    before = panel.answer
    panel.voltage.value, panel.capacitor.value, panel.blade.value = 210, 80, 90
    assert not calls and panel.answer.mounted is before.mounted


def test_the_voltage_slider_leaves_the_run_across_voltage_alone(panel):
    before = panel.answer.sweep
    panel.voltage.value = 215
    assert panel.answer.sweep is before
    panel.blade.value = 90
    assert panel.answer.sweep is not before


def test_one_pass_across_voltage_is_the_same_as_each_voltage_alone(panel):
    found = panel.answer.mounted
    sweep, now = found.across(221.0, 0.8, 0.9)
    alone = found.at(221.0, 0.8, 0.9)
    assert now.bands()["current_a"].mid == pytest.approx(alone.bands()["current_a"].mid, rel=1e-4)
    assert set(found.steps) <= set(sweep.voltage) and 221.0 not in sweep.voltage


def test_a_lighter_blade_turns_faster_on_fewer_amps(panel):
    before = panel.answer
    panel.blade.value = 60
    assert panel.answer.bands["speed_rpm"].low > before.bands["speed_rpm"].mid
    assert panel.answer.current.mid < before.current.mid
    assert "at a fan load of 60 %" in ENGLISH(panel.answer.verdict)


def test_amps_are_a_poor_sign_of_load(panel):
    half, *_, whole, _ = panel.loads

    def share(name):
        return half.bands[name].mid / whole.bands[name].mid

    assert share("power_shaft_w") < share("power_in_w") < share("current_a")
    assert 0.84 < share("current_a") < 0.91  # "seven eighths" of the worksheet
    assert len(tables_motor.loads(panel.loads)) == len(panel.loads)


def test_a_weak_capacitor_changes_start_and_amps(panel):
    before = panel.answer
    panel.capacitor.value = 50
    assert panel.answer.now.starting().mean() < 0.7 * before.now.starting().mean()
    assert panel.answer.current.mid > 1.05 * before.current.mid
    assert "with the capacitor at 50 % of its rated capacitance" in ENGLISH(panel.answer.verdict)
    weak = panel.capacitor_steps[0]
    assert weak.share == 0.5 and "<td>50 %</td>" in panel.capacitors.value


def test_a_motor_that_does_not_start_is_told_so(panel):
    panel.voltage.min = 60  # no such line; the sentence has to be there all the same
    panel.answer = expected.Expected(
        panel.answer.mounted, 60.0, 1.0, 1.0, panel.answer.mounted.at(60.0, 0.5, 3.0),
        panel.answer.sweep,
    )  # fmt: skip
    assert panel.answer.chance < 0.3 and panel.answer.state == "beyond"
    assert "does not come up to speed" in ENGLISH(panel.answer.verdict)
    assert any("60 V is outside" in ENGLISH(sentence) for sentence in panel.answer.warnings)


def test_a_reading_narrows_the_band(panel):
    before = panel.answer.current
    panel.readings[0].voltage.value = "236 V"
    assert panel.answer.current == pytest.approx(before, rel=1e-4)  # volts alone say nothing
    panel.readings[0].current.value = "1.86 A"
    after = panel.answer.current
    assert width(after) < 0.7 * width(before)
    assert after.low < 1.86 < after.high
    panel.readings[0].current.value = ""
    assert panel.answer.current == pytest.approx(before, rel=1e-4)


def test_more_figures_and_more_readings_narrow_other_bands_too(panel):
    before = panel.answer.bands
    panel.readings[1].voltage.value = "236 V"
    panel.readings[1].current.value = "1.86 A"
    panel.readings[1].power.value = "385 W"
    panel.readings[2].voltage.value = "212 V"
    panel.readings[2].speed.value = "1070 rpm"
    for name in ("power_in_w", "speed_rpm"):
        assert width(panel.answer.bands[name]) < 0.7 * width(before[name])
    assert [point.voltage for point in panel.answer.mounted.measured] == [236.0, 212.0]


def test_another_motor_starts_without_readings(panel):
    panel.readings[0].voltage.value, panel.readings[0].current.value = "236 V", "1.86 A"
    assert panel.answer.mounted.measured
    choose_motor_of(panel, 1)
    assert not panel.answer.mounted.measured and not panel.readings[0].given()


def test_a_reading_knows_motor_and_fan_together(panel):
    """Amps at the voltage of the reading are known nearly as well as the meter reads them."""
    found = expected.mounted(JOB.nameplate, job=JOB, measured=[Point(236.0, 1.86)], samples=200)
    band = found.at(236.0).first_bands()["current_a"]
    assert width(band) / band.mid < 2 * 1.645 * 0.025  # the meter's 1.5 %, and some rounding


def test_every_example_of_a_reading_is_accepted():
    assert Reading(**READING).is_complete
    assert not Reading(voltage="236 V").is_complete and not Reading(current="2 A").is_complete


@pytest.mark.parametrize(
    "figure, text, said",
    [
        (
            "current",
            "4 A",
            "reading at 236 V, current: 4 A is too high for a motor with this nameplate",
        ),
        (
            "speed",
            "1190 rpm",
            "reading at 236 V, speed: 1190 rpm is too high for a motor with this nameplate",
        ),
        (
            "capacitor_voltage",
            "240 V",
            "capacitor voltage: 240 V is too low for a motor with this nameplate",
        ),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_a_sentence(panel, figure, text, said):
    panel.readings[0].voltage.value = "236 V"
    before = panel.answer
    getattr(panel.readings[0], figure).value = text
    assert said in panel.status.value and panel.answer is before
    assert "ao-earlier" in panel.view._dom_classes


def test_figures_of_one_reading_have_to_go_together():
    measured = [Point(236.0, current=1.95, power_in=260.0)]
    with pytest.raises(InputError, match="reading at 236 V"):
        expected.mounted(JOB.nameplate, job=JOB, measured=measured)


def test_a_reading_that_hardly_goes_with_the_plate_is_said(panel):
    panel.readings[0].voltage.value = "236 V"
    panel.readings[0].current.value = "1.95 A"
    assert not panel.answer.mounted.strained
    panel.readings[0].power.value = "320 W"
    assert panel.answer.mounted.strained == panel.answer.mounted.measured
    assert "The reading at 236 V does not agree well with the nameplate" in panel.verdict.value


def test_bad_text_gives_a_sentence_and_keeps_the_last_good_answer(panel):
    before = panel.answer
    panel.readings[1].current.value = "apples"
    assert 'reading 2 current: "apples"' in panel.status.value.replace("&quot;", '"')
    assert panel.readings[1].problems["current"].value
    panel.voltage.value = 220  # a slider does not hide the problem
    assert "reading 2 current" in panel.status.value and panel.answer is before
    panel.readings[1].current.value = ""
    assert not panel.status.value and panel.answer.voltage == 220

    panel.nameplate.voltage.value = "23 apples"
    assert "nameplate voltage" in panel.status.value
    assert panel.nameplate.problems["voltage"].value
    panel.nameplate.voltage.value = ""  # then the supply voltage of the job applies
    assert not panel.status.value and panel.answer.mounted.voltage_high == 236


def test_more_watts_than_volts_times_amps_is_refused():
    with pytest.raises(InputError, match=r"power: 900 W .* at most volts x amps, 448 W"):
        Reading(voltage="230 V", current="1.95 A", power="900 W")


def test_an_unexpected_error_is_raised_and_no_old_answer_stands_as_new(panel, monkeypatch):
    def explode(*_):
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setattr(expected.Mounted, "at", explode)
    with pytest.raises(ZeroDivisionError):
        panel.voltage.value = 216
    assert "No result" in panel.status.value
    assert "ao-earlier" in panel.view._dom_classes


def test_a_job_outside_the_method_is_refused(panel):
    before = panel.answer
    panel.nameplate.frequency.value = "400 Hz"
    assert "frequency" in panel.status.value and panel.answer is before


def test_a_catalog_motor_of_four_ratings_gives_four_rows(panel):
    choose_motor_of(panel, 4)
    assert panel.fan.value == RATED_FAN and len(panel.rating.options) == 4
    assert panel.rating.value == panel.chosen.ratings[-1]
    for table in (tables_motor.ratings, tables_motor.dedicated):
        assert len(table(panel.rating_steps, 2000.0, 0.15)) == 4
    own, other = panel.ratings.value.split(Writer("en")("panel.motors.dedicated"))
    assert len(rows(own)) == len(rows(other)) == 4
    panel.rating.value = panel.chosen.ratings[0]
    assert panel.answer.mounted.current == panel.chosen.currents[0]
    panel.motor.value = OF_THE_PLATE
    assert panel.ratings.value == "" and panel.rating.options[0][1] == 0.0


def test_the_dedicated_motor_is_of_that_rating_alone_and_takes_the_least_amps(panel):
    choose_motor_of(panel, 4)
    for one in panel.rating_steps:
        assert one.other.ratings == pytest.approx([one.power], rel=0.01)
        assert one.other.poles == panel.chosen.poles
        same = [row for row in panel._motors if row.ratings == one.other.ratings]
        line = ("voltage_low", "voltage_high", "frequency", "poles", "phase")
        alike = [
            row for row in same if all(getattr(row, n) == getattr(panel.chosen, n) for n in line)
        ]
        assert one.other.currents[0] == min(row.currents[0] for row in alike)
    assert dedicated(panel.chosen, (), 100.0) is None


def test_what_spare_power_costs_follows_hours_and_price(panel):
    choose_motor_of(panel, 4)
    (lowest, *_) = panel.rating_steps
    energy = lowest.step.energy.mid
    assert energy == pytest.approx(lowest.step.bands["power_in_w"].mid / 1000)
    assert f"<td>{1500 * 0.15 * energy:.2f}</td>" in panel.ratings.value
    panel.price.value = 0.30
    assert f"<td>{1500 * 0.30 * energy:.2f}</td>" in panel.ratings.value
    panel.hours.value = 1000
    assert f"<td>{1000 * energy:.0f}</td>" in panel.ratings.value
    panel.price.value, panel.hours.value = 0.15, 1500.0


def test_the_sliders_span_follows_the_motors_voltage(panel):
    high = next(row for row in panel._motors if row.voltage_high == 460)
    panel.motor.value = high.name
    assert (panel.voltage.min, panel.voltage.max, panel.voltage.value) == (360, 520, 460)
    assert panel.answer.mounted.limits == pytest.approx((414, 506))
    panel.motor.value = OF_THE_PLATE
    assert (panel.voltage.min, panel.voltage.max) == (180, 260)


def test_the_table_across_voltage_has_the_plates_ends_and_limits(panel):
    found = tables_motor.voltages(panel.answer)
    assert list(found["volts"]) == ["187", "208", "230", "253"]
    panel.units.value = "SI"
    assert "winding [degC]" in panel.voltages.value and "degF" not in panel.verdict.value


def test_missing_facts_are_said(panel):
    for name in ("insulation_class", "capacitor_voltage", "current"):
        getattr(panel.nameplate, name).value = ""
    assert "class is missing" in panel.verdict.value
    assert "voltage rating is not known" in panel.verdict.value
    assert "the nameplate amps are not known" in panel.verdict.value
    assert "class not known" in panel.voltages.value


def test_another_job_is_opened_by_its_path(panel, tmp_path):
    panel.open(data_folder() / "jobs" / "hot-court.toml")
    assert panel.job != JOB and not panel.status.value
    before = panel.answer
    panel.open(tmp_path / "absent.toml")
    assert "job file" in panel.bar.told.value and panel.answer is before


def test_a_redraw_is_the_picture_of_what_the_sliders_say(panel):
    first, start = panel.picture.png, panel.answer
    panel.voltage.value = 260
    between = panel.answer
    panel.voltage.value, panel.capacitor.value = 200, 150
    moved = panel.picture.png
    assert first != moved and moved.startswith(b"\x89PNG")
    redrawn, anew = figures_motor.MotorPicture(), figures_motor.MotorPicture()
    for one in (start, between):
        redrawn.png(one)
    anew.png(start)  # sets the axes
    assert redrawn.png(panel.answer) == anew.png(panel.answer)  # no trace of other curves
    panel.capacitor.value, panel.voltage.value = 100, 236
    assert f"{panel.answer.current.low:.2f}" in panel.picture.words


def test_everything_lies_within_the_axes(panel):
    for capacitor, blade in ((50, 50), (200, 120), (100, 100), (100, 50)):
        panel.capacitor.value, panel.blade.value = capacitor, blade
        bottom, top = panel._pictures["US"].amps.get_ylim()
        current = panel.answer.across["current_a"]
        assert bottom <= current.low.min() and current.high.max() <= top


@pytest.mark.parametrize("volts", [181, 208, 221, 236, 259])
def test_labels_of_the_picture_do_not_lie_on_each_other(panel, volts):
    panel.voltage.value = volts
    picture = figures_motor.MotorPicture()
    picture.png(panel.answer)
    for axes in (picture.amps, picture.torque):
        boxes = [text.get_window_extent() for text in axes.texts if text.get_text()]
        assert len(boxes) >= 3
        for at, box in enumerate(boxes):
            assert not any(box.overlaps(other) for other in boxes[:at])


def test_checked_figures_do_not_sit_on_a_rounding_edge(panel):
    """Another platform may differ in the tenth digit; the text must not."""
    found = figures_of_motor(panel.answer, panel.capacitor_steps)
    assert len(found) >= 15
    for factor in (1 - 1e-6, 1 + 1e-6):
        assert checked({name: factor * value for name, value in found.items()}) == checked(found)


def test_a_panel_on_a_bad_file_does_not_start(tmp_path):
    with pytest.raises(InputError, match="job file"):
        MotorPanel(tmp_path / "absent.toml")


def test_cautions_for_live_work_are_shown(panel):
    shown = "".join(child.value for child in _all_html(panel.view))
    assert "licensed, properly equipped" in shown and "Discharge the capacitor" in shown
    assert "Fictional job" in shown and JOBS_BLADE == panel.fan.value


def _all_html(view):
    for child in getattr(view, "children", ()):
        yield from _all_html(child)
    if type(view).__name__ == "HTML":
        yield view


def test_undo_goes_back_over_another_motor_with_its_ratings_and_readings(panel):
    panel.undo.begin()
    panel.readings[0].voltage.value = "236 V"
    choose_motor_of(panel, 4)
    panel.rating.value = panel.chosen.ratings[0]
    before = panel.answer.mounted.current
    panel.undo.step(-1), panel.undo.step(-1)
    assert panel.motor.value == OF_THE_PLATE and panel.readings[0].voltage.value == "236 V"
    panel.undo.step(1), panel.undo.step(1)
    assert panel.answer.mounted.current == before == panel.chosen.currents[0]
