"""The panel of worksheet 01, driven as a Python object: no browser, no notebook."""

import asyncio
import re
import shutil

import numpy as np
import pytest

from airover.app import current_job, replacement
from airover.app.checked import figures_of
from airover.app.fields import Fields
from airover.app.live import checked
from airover.app.panel import Picture
from airover.app.replacement import ReplacementPanel
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.fan import Blade
from airover.records.job import Job, Site
from airover.records.nameplate import Nameplate
from airover.reports.torque import TorquePicture

from .conftest import begin_with_the_sample

JOBS = data_folder() / "jobs"
HOSTILE = "<script>alert('x')</script>"


@pytest.fixture(scope="module")
def shared():
    return ReplacementPanel()


@pytest.fixture
def panel(shared):
    """One panel for the module, brought back to the sample job without working it again."""
    before = shared.answer
    begin_with_the_sample(shared)
    yield shared
    begin_with_the_sample(shared)
    shared.fill(before.job)
    with shared.filling():
        shared.units.value, shared.catalog.value = "US", ""
    shared.answer = before
    shared.draw()
    shared.refused(None)
    shared._blank(False)
    shared._tell("", earlier=False)


def test_the_default_job_is_answered_on_top(panel):
    assert Writer()(panel.answer.verdict) in panel.verdict.value
    assert panel.answer.fitting
    assert panel.answer.job == Job.read(JOBS / "roof-unit.toml")


def test_every_field_of_the_records_has_a_control():
    asked = (
        ("nameplate", current_job.NAMEPLATE, Nameplate),
        ("blade", current_job.BLADE, Blade),
        ("site", current_job.SITE, Site),
    )
    for name, pages, record in asked:
        without = {"curve"} if record is Blade else set()
        assert set(Fields(name, pages).controls) == set(record.names()) - without


def test_every_example_in_an_empty_field_is_accepted():
    for name, pages in (
        ("nameplate", current_job.NAMEPLATE),
        ("blade", current_job.BLADE),
        ("site", current_job.SITE),
    ):
        for asked in pages.values():
            for field, accepted in asked.items():
                example = accepted if isinstance(accepted, str) else list(accepted)
                one = next(iter(accepted)) if isinstance(accepted, dict) else example
                Job(**{name: {field: one}})


def test_another_line_voltage_gives_other_amps_in_one_computation(panel, monkeypatch):
    before, calls, whole = panel.answer, [], replacement.answer
    monkeypatch.setattr(replacement, "answer", lambda *a: calls.append(a) or whole(*a))
    panel.site.voltage.value = "215 V"
    assert len(calls) == 1
    name = before.candidates[0].case.motor.name
    amps = [
        next(c.case.current.mid for c in found.candidates if c.case.motor.name == name)
        for found in (before, panel.answer)
    ]
    assert abs(amps[1] / amps[0] - 1) > 0.01
    assert f"{panel.answer.candidates[0].case.current.low:.2f}" in panel.candidates.value


def test_compute_draws_nothing(panel):
    drawn = panel.verdict.value
    with panel.filling():
        panel.nameplate.power.value = "1/2 hp"
    assert panel.compute().verdict != panel.answer.verdict
    assert panel.verdict.value == drawn


def test_bad_text_gives_a_sentence_and_keeps_the_last_good_answer(panel):
    before = panel.answer
    panel.nameplate.voltage.value = "23 apples"
    assert panel.answer is before
    assert "nameplate voltage" in panel.status.value and "23 apples" in panel.status.value
    assert "for the previous entry" in panel.status.value
    assert "ao-earlier" in panel.view._dom_classes
    assert "Enter a voltage" in panel.nameplate.problems["voltage"].value
    assert [n for n, place in panel.nameplate.problems.items() if place.value] == ["voltage"]

    panel.nameplate.current.value = "nineteen"  # every refused field is told beside it
    assert "nineteen" in panel.nameplate.problems["current"].value
    assert "23 apples" in panel.nameplate.problems["voltage"].value
    panel.nameplate.current.value = "1.9 A"

    panel.nameplate.voltage.value = "208-230 V"
    assert panel.answer is not before and panel.answer.verdict == before.verdict
    assert panel.status.value == "" and panel.nameplate.problems["voltage"].value == ""
    assert "ao-earlier" not in panel.view._dom_classes


def test_a_job_outside_the_method_is_told_like_bad_text(panel):
    panel.nameplate.phase.value = "3"
    assert "three-phase" in panel.status.value
    assert panel.nameplate.problems["phase"].value


def test_an_unexpected_error_is_raised_and_no_old_answer_stands_as_new(panel, monkeypatch):
    def explode(*_):
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setattr(replacement, "answer", explode)
    with pytest.raises(ZeroDivisionError):
        panel.site.voltage.value = "215 V"
    assert "Calculating" in panel.status.value and "ao-earlier" in panel.view._dom_classes


def test_the_pictured_motor_can_be_any_candidate(panel):
    first = panel.picture.value
    rejected = len(panel.answer.candidates) - 1
    panel.motor.value = rejected
    assert panel.chosen is panel.answer.candidates[rejected]
    assert panel.picture.value != first
    assert "Why it does not fit" in panel.reasons.value
    assert panel.chosen.case.motor.name in panel.checks.value


def test_the_load_of_the_shown_motor_stands_against_its_limits(panel):
    case = panel.chosen.case
    for words in ("Shaft power", "Torque", "Running amps", "Winding temperature"):
        assert words in panel.load.value
    assert f"{case.current.mid:.2f} A ({case.current.low:.2f}-" in panel.load.value
    assert f"limit {case.rated_current:g} A: may exceed the limit" in panel.load.value
    assert "within the limit" in panel.load.value and case.motor.name in panel.load.value
    shares = re.findall(r"<i style=\"width:([\d.]+)%", panel.load.value)
    assert float(shares[2]) == pytest.approx(75 * case.current.mid / case.rated_current, abs=0.1)
    panel.motor.value = len(panel.answer.candidates) - 1
    assert panel.chosen.case.motor.name in panel.load.value


def test_every_rejected_motor_is_listed_with_its_reason(panel):
    for candidate in panel.answer.candidates[len(panel.answer.fitting) :]:
        assert f">{candidate.case.motor.name}<" in panel.folded.value
    assert "<td>Shaft length</td>" in panel.folded.value


def test_what_is_missing_is_asked_and_what_is_assumed_is_said(panel):
    panel.open(JOBS / "half-plate.toml")
    assert panel.answer.asked
    assert "Information needed" in panel.open_points.value
    assert "What the verdict depends on" in panel.open_points.value
    assert "from size, losses and airflow alone" in panel.open_points.value
    assert "Find out first: “Mounting”" in panel.open_points.value
    assert "Assumed (not entered" in panel.open_points.value
    assert "Unusual" in panel.open_points.value
    assert "verify that it is off" in "".join(
        child.value for child in _all_html(panel.view) if "Before you touch" in child.value
    )


def test_a_job_that_no_motor_fits_shows_the_nearest(panel):
    panel.open(JOBS / "hot-court.toml")
    assert not panel.answer.fitting
    assert "No motor fits" in panel.candidates.value
    assert Writer()(panel.answer.verdict) in panel.verdict.value


@pytest.mark.parametrize("name", ["roof-unit", "half-plate", "hot-court"])
def test_a_job_comes_back_from_the_controls_as_it_was(panel, name):
    job = Job.read(JOBS / f"{name}.toml")
    panel.fill(job)
    assert panel.job() == job


def test_a_curve_that_has_no_control_is_kept(panel):
    curve = {
        "flow": ["1000 cfm", "2000 cfm", "3000 cfm"],
        "pressure": ["0.4 in. w.g.", "0.3 in. w.g.", "0.1 in. w.g."],
        "power": ["120 W", "140 W", "130 W"],
        "speed": "1075 rpm",
    }
    job = Job(blade={"curve": curve})
    panel.fill(job)
    assert panel.job() == job


def test_save_and_open_by_the_buttons(panel, tmp_path):
    panel.bar.path.value = str(tmp_path / "mine.toml")
    panel.site.elevation.value = "2500 ft"
    panel.bar.buttons["save"].click()
    assert "Saved" in panel.bar.told.value
    saved = panel.job()
    panel.site.elevation.value = "10 ft"
    panel.bar.buttons["open"].click()
    assert panel.site.elevation.value == "2500 ft"
    assert panel.job() == saved == panel.answer.job


def test_save_replaces_only_files_of_its_own(panel, tmp_path):
    theirs = tmp_path / "theirs.toml"
    shutil.copy(JOBS / "hot-court.toml", theirs)
    before = theirs.read_bytes()
    panel.save(theirs)
    assert "exists already" in panel.bar.told.value and theirs.read_bytes() == before
    for name in ("", str(tmp_path)):
        panel.save(name)
        assert "Not saved. job file" in panel.bar.told.value
    panel.open(theirs)
    panel.save(theirs)
    assert "Saved" in panel.bar.told.value


def test_what_another_saved_meanwhile_is_not_replaced(panel, tmp_path):
    path = tmp_path / "shared.toml"
    panel.save(path)
    Job(name="of somebody else").save(path)
    panel.save(path)
    assert "was changed by someone else" in panel.bar.told.value
    assert Job.read(path).name == "of somebody else"
    panel.open(path)
    panel.save(path)
    assert "Saved" in panel.bar.told.value


def test_nothing_is_saved_while_a_field_is_wrong(panel, tmp_path):
    panel.nameplate.power.value = "a lot"
    panel.save(tmp_path / "wrong.toml")
    assert "nameplate power" in panel.bar.told.value
    assert not list(tmp_path.iterdir())


def test_a_bad_job_file_changes_nothing(panel, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text('[nameplate]\npower = "1/3 horses"\n')
    before = panel.answer
    for path in (bad, tmp_path / "absent.toml"):
        panel.open(path)
        assert panel.answer is before and panel.job() == before.job
        assert "ao-problem" in panel.bar.told.value


def test_a_panel_on_a_bad_file_does_not_start(tmp_path):
    with pytest.raises(InputError, match="job file"):
        ReplacementPanel(tmp_path / "absent.toml")


def test_the_catalog_is_read_once_for_each_path(panel, tmp_path, monkeypatch):
    reads, whole = [], replacement.open_catalog
    monkeypatch.setattr(replacement, "open_catalog", lambda p: reads.append(p) or whole(p))
    short = tmp_path / "short.csv"
    lines = (data_folder() / "catalogue.csv").read_text().splitlines()
    short.write_text("\n".join(lines[:8]) + "\n")
    panel.catalog.value = str(short)
    panel.site.voltage.value = "230 V"
    assert len(panel.answer.candidates) == 7 and reads == [str(short)]
    panel.catalog.value = str(tmp_path / "absent.csv")
    assert "catalog file" in panel.status.value


def test_texts_follow_the_units(panel):
    assert "degF" in panel.candidates.value
    panel.units.value = "SI"
    assert "degF" not in panel.candidates.value and "degC" in panel.needed.value


def test_hostile_names_are_shown_and_never_obeyed(panel, tmp_path):
    text = (data_folder() / "catalogue.csv").read_text()
    hostile = tmp_path / "hostile.csv"
    hostile.write_text(text.replace("demo-", "<script>alert('y')</script>"))
    with panel.filling():
        panel.catalog.value = str(hostile)
    panel.name.value = HOSTILE
    panel.nameplate.current.value = HOSTILE
    for child in _all_html(panel.view):
        assert "<script" not in child.value
    assert "&lt;script&gt;alert(&#x27;x&#x27;)" in panel.verdict.value


def test_the_picture_is_the_same_bytes_each_time_and_has_words(panel):
    one, other = (TorquePicture().png(panel.chosen) for _ in range(2))
    assert one == other and one.startswith(b"\x89PNG")
    picture = Picture(one, 'a "word" <b>')
    assert 'alt="a &quot;word&quot; &lt;b&gt;"' in picture.html()
    assert picture._repr_png_() == picture.png and repr(picture) == picture.words


def test_torque_is_drawn_in_the_readers_unit(panel):
    plots = [TorquePicture(Writer("en", one)) for one in ("US", "SI")]
    for plot in plots:
        plot.set(panel.chosen)
    us, si = (plot.axes for plot in plots)
    assert "oz-ft" in us.get_ylabel() and "N m" in si.get_ylabel()
    high = [max(np.max(line.get_ydata()) for line in axes.lines) for axes in (us, si)]
    # 16 oz in a pound, 1.356 N m in a lb-ft
    assert high[0] / high[1] == pytest.approx(11.8, rel=0.01)
    assert max(high) < us.get_ylim()[1]


def test_collapsed_sections_are_marked_as_outdated_until_they_follow_the_answer(panel):
    async def edited():
        before = panel.folded.value
        panel.nameplate.current.value = "0.9 A"
        assert panel.folded.value == before and "ao-earlier" in panel.details._dom_classes
        await asyncio.sleep(replacement.AT_LEISURE + 0.1)
        assert panel.folded.value != before and "ao-earlier" not in panel.details._dom_classes

    asyncio.run(edited())


def test_labels_of_the_picture_lie_on_no_other_label_and_on_no_curve(panel):
    plot = TorquePicture()
    plot.set(panel.chosen)
    axes = plot.axes
    texts = [text.get_window_extent() for text in axes.texts if text.get_text()]
    legend = axes.get_legend().get_window_extent()
    assert len(texts) == 2 and len(axes.get_legend().get_texts()) == 3
    boxes = [*texts, legend]
    for at, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[:at])
    for line in axes.lines:
        points = line.get_transform().transform(np.column_stack(line.get_data()))
        assert not any(legend.contains(x, y) for x, y in points)


def test_checked_figures_do_not_sit_on_a_rounding_edge(panel):
    """Another platform may differ in the tenth digit; the text must not."""
    found = figures_of(panel.answer)
    for factor in (1 - 1e-6, 1 + 1e-6):
        assert checked({name: factor * value for name, value in found.items()}) == checked(found)


def test_checked_figures_have_three_digits_and_a_count():
    text = checked({"one [A]": 1.23456, "two [rpm]": 1076.4})
    assert text.splitlines() == ["one [A]    1.23", "two [rpm]  1080", "2 figures"]


def _all_html(view):
    for child in getattr(view, "children", ()):
        yield from _all_html(child)
    if type(view).__name__ == "HTML":
        yield view
