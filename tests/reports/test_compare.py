"""Motors side by side: the same numbers as the answer, in a table, a figure, text and JSON."""

import json
from dataclasses import replace

import numpy as np
import pytest

from airover.app import cli
from airover.business.compare import Compared, compare, motor_named
from airover.business.life_cost import life_cost
from airover.core.errors import InputError
from airover.core.files import LANGUAGES, data_folder
from airover.core.texts import Writer
from airover.model.simulation import USUAL
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.records.limits import Limits
from airover.reports import compare as reports
from airover.selection.answer import answer
from tests.jobs import MOTOR, job, motor

ENGLISH = Writer("en")
SAMPLE = data_folder() / "jobs" / "roof-unit.toml"


@pytest.fixture(scope="module")
def motors():
    return read_catalog(data_folder() / "catalogue.csv")


@pytest.fixture(scope="module")
def found(motors) -> Compared:
    named = [motor_named(motors, name) for name in ("A-005", "demo  a-012", "Demo B-014")]
    return compare(Job.read(SAMPLE), named)


def test_the_figures_are_those_of_the_answer(found, motors):
    """Amps, speed, winding, verdict and life cost, as `work` and the proposal give them."""
    whole = answer(Job.read(SAMPLE), motors)
    costs = {one.name: one for one in life_cost(found.answer).costs}
    assert [one.motor.name for one in found.offered] == ["Demo A-005", "Demo A-012", "Demo B-014"]
    for one in found.offered:
        candidate = whole.named(one.motor.name)
        assert one.candidate.verdict == candidate.verdict
        for name in ("current_a", "speed_rpm", "temp_c", "power_in_w"):
            assert one.band(name) == pytest.approx(candidate.case.band(name), rel=1e-3), name
        assert one.rated_current == candidate.case.rated_current
        assert one.cost.mean == pytest.approx(costs[one.motor.name].mean)
    old = found.motors[0]
    assert old.is_old and old.rated_current == 1.9
    assert old.band("current_a") == pytest.approx(whole.failed["current_a"], rel=1e-3)


def test_amps_at_the_supply_are_on_the_curve(found):
    """The middle voltage of the sweep is the usual supply voltage."""
    usual = found.conditions.voltage[USUAL]
    assert found.voltage[len(found.voltage) // 2] == pytest.approx(usual, rel=0.01)
    for one in found.motors:
        amps = np.interp(usual, found.voltage, one.amps.mid)
        assert amps == pytest.approx(one.band("current_a").mid, rel=0.01)
        assert np.all(one.amps.low <= one.amps.mid) and np.all(one.amps.mid <= one.amps.high)


def test_torque_curves_cross_the_fan_at_the_operating_point(found):
    speed, load = found.fan_torque
    for one in found.motors:
        rpm = one.band("speed_rpm").mid
        own = np.interp(rpm, speed, one.torque(speed))
        assert own == pytest.approx(np.interp(rpm, speed, load), rel=0.1)
        assert one.running_torque == pytest.approx(own, rel=0.1)


def test_the_numbers_are_numbers(found):
    table = reports.numbers(found, Writer("en", "SI"))
    assert list(table.columns) == ["motor", "figure", "unit", "low", "median", "high"]
    known = table.dropna()
    assert np.all(known["low"] <= known["median"]) and np.all(known["median"] <= known["high"])
    winding = table[table["figure"] == "Winding temperature"].set_index("motor")
    assert winding.loc["Old motor", "unit"] == "degC"
    assert 110 < winding.loc["Old motor", "median"] < 130
    us = reports.numbers(found, ENGLISH)
    warm = us[us["figure"] == "Winding temperature"].set_index("motor")["median"]
    assert warm["Old motor"] == pytest.approx(1.8 * winding.loc["Old motor", "median"] + 32)


def test_the_table_says_what_has_to_be_adapted(found):
    table = reports.side_by_side(found, ENGLISH)
    assert list(table.columns) == ["Old motor", "Demo A-005", "Demo A-012", "Demo B-014"]
    assert "5 uF run capacitor" in table.loc["To adapt", "Demo A-012"]
    assert table.loc["To adapt", "Demo A-005"] == table.loc["To adapt", "Old motor"] == ""
    assert table.loc["Verdict"].tolist() == ["", "fits", "fits with work", "fits with work"]
    assert table.loc["Run capacitor", "Demo B-014"] == "7.5 uF, 440 V"
    checks = reports.differing(found, ENGLISH)
    assert "Run capacitor" in checks["Check"].tolist() and "Phases" not in checks["Check"].tolist()


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("system", ("US", "SI"))
def test_every_text_is_in_the_language_and_the_units(found, language, system):
    writer = Writer(language, system)
    text = reports.compare_text(found, writer)
    assert "{" not in text and "nan" not in text
    assert ("degF" in text) is (system == "US") and ("degC" in text) is (system == "SI")
    assert ("Old motor" in text) is (language == "en")
    assert "Demo A-012" in reports.words(found, writer)


@pytest.mark.parametrize("narrow", (False, True))
def test_no_label_lies_on_another_or_on_a_curve(found, narrow):
    """Names stand in their column beside the curves, each on lines of its own."""
    figure = reports.picture(found, ENGLISH, narrow)
    figure.canvas.draw()
    for axes in figure.axes:
        names = [one for one in axes.texts if one.get_text() in
                 {reports.name_of(one, ENGLISH) for one in found.motors}]  # fmt: skip
        assert len(names) == 4
        boxes = [one.get_window_extent() for one in axes.texts]
        for at, box in enumerate(boxes):
            assert not any(box.overlaps(other) for other in boxes[at + 1 :])
        curves = [one for one in axes.lines if len(one.get_xdata()) > 2]
        assert len(curves) >= 4
        for curve in curves:
            points = axes.transData.transform(np.column_stack(curve.get_data()))
            points = points[np.isfinite(points).all(axis=1)]
            for box in boxes:
                assert not any(box.contains(*point) for point in points)


def test_motors_with_the_same_curve_keep_their_own_labels(motors):
    """Equal amps and torque: the labels are moved apart."""
    twin = replace(MOTOR, model="test-2")
    found = compare(job(), (MOTOR, twin), costs=False)
    figure = reports.picture(found, ENGLISH)
    figure.canvas.draw()
    boxes = [one.get_window_extent() for one in figure.axes[0].texts]
    assert not any(a.overlaps(b) for at, a in enumerate(boxes) for b in boxes[at + 1 :])
    assert reports.differing(found, ENGLISH).empty
    assert "same result" in reports.compare_text(found, ENGLISH)


def test_a_motor_that_does_not_fit_is_compared_with_its_reason():
    """One of eight poles has amps and torque too, and the check that rejects it."""
    slow = motor(model="slow", poles=8, speed_rpm=825.0)
    found = compare(job(), (MOTOR, slow))
    other = found.motors[-1]
    assert other.row is not None and other.cost is None
    table = reports.side_by_side(found, ENGLISH)
    assert "8 poles" in table.iloc[:, -1]["Does not fit"]
    assert table.iloc[:, -1]["Expected cost over 15 years, including energy and repairs"] == "none"
    assert any("Life-cycle cost" in note for note in reports.notes(found, ENGLISH))


def test_an_old_nameplate_that_says_too_little_is_left_out():
    unread = job(nameplate__power=None, nameplate__current=None, blade__curve=None)
    with pytest.raises(InputError):
        compare(unread, (MOTOR, motor(model="test-2")))
    far = job(site__voltage="460 V", nameplate__voltage="208-230 V")
    with pytest.raises(InputError, match="cannot be included"):
        compare(far, (MOTOR,), costs=False)


def test_two_to_four_motors_are_compared(motors):
    for some, old, count in ((motors[:1], False, 1), (motors[:4], True, 5), ((), True, 0)):
        with pytest.raises(InputError, match="2 to 4 motors") as caught:
            compare(Job.read(SAMPLE), some, old)
        assert str(count) in ENGLISH.error(caught.value)
    with pytest.raises(InputError, match='Enter "Demo A-005"'):
        motor_named(motors, "A-0055")


def test_the_command_writes_its_files(tmp_path, capsys):
    words = ["compare", str(SAMPLE), "A-005", "B-014", "--json", "--out", str(tmp_path)]
    assert cli.main(words) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["motor"] for one in told["motors"]] == ["Old motor", "Demo A-005", "Demo B-014"]
    assert told["limits"] == [] and len(told["voltage_v"]) == len(told["motors"][0]["amps_a"]) == 9
    names = {"compare.txt", "compare.json", "compare.csv", "compare-numbers.csv", "compare.png"}
    assert {path.name for path in tmp_path.iterdir()} == names
    assert cli.main(["compare", str(SAMPLE), "A-005", "--without-old"]) == 2
    assert "2 to 4 motors" in capsys.readouterr().err


def test_a_changed_limit_is_stated_with_the_comparison():
    limited = job().model_copy(update={"limits": Limits(winding_margin="5 K")})
    found = compare(limited, (MOTOR,), costs=False)
    assert "cooler than its insulation class allows" in reports.compare_text(found, ENGLISH)
    assert reports.compare_dict(found, ENGLISH)["limits"][0]["name"] == "winding_margin"
