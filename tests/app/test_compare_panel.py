"""Panel that compares motors: alone, on another panel's job, and as a step of the page."""

import pytest

from airover.app.compare_panel import ComparePanel
from airover.app.page import App
from airover.app.replacement import ReplacementPanel
from airover.business.compare import compare
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.reports.compare import compare_dict

US = Writer("en")
SAMPLE = data_folder() / "jobs" / "roof-unit.toml"


@pytest.fixture(scope="module")
def panel():
    return ComparePanel()


def names(panel) -> list[str]:
    return [one.motor.name.strip() or "old" for one in panel.answer.motors]


def test_the_best_motors_are_compared_with_the_old_one(panel):
    assert names(panel) == ["old", "Demo A-005", "Demo A-009"]
    assert "Old motor, Demo A-005, Demo A-009 compared" in panel.verdict.value
    assert "<img" in panel.picture_shown.value and panel.figure is not None
    assert "Expected amps" in panel.table.value


def test_a_choice_changes_the_comparison(panel):
    panel.motors[2].value = "Demo B-014"
    assert names(panel)[-1] == "Demo B-014"
    panel.motors[3].value = "Demo A-012"
    assert "2 to 4 motors" in panel.status.value and "ao-earlier" in panel.view._dom_classes
    panel.old.value = False
    assert names(panel) == ["Demo A-005", "Demo A-009", "Demo B-014", "Demo A-012"]
    assert panel.status.value == "" and "ao-earlier" not in panel.view._dom_classes
    assert {"compare": panel.typed()["compare"]} == {
        "compare": {"first": "Demo A-005", "second": "Demo A-009", "third": "Demo B-014",
                    "fourth": "Demo A-012", "old": "no"}
    }  # fmt: skip


def test_without_the_old_motor_the_others_stay_the_same():
    panel = ComparePanel()
    panel.old.value = False
    motors = [one.motor for one in panel.answer.motors]
    alone = compare(panel.found.job, motors, old=False)
    assert compare_dict(panel.answer, US) == compare_dict(alone, US)
    assert not any(one.is_old for one in panel.answer.motors)


def test_it_follows_another_panels_job_when_asked():
    """A change there does not wait for the comparison, which is marked as earlier."""
    source = ReplacementPanel(SAMPLE, language="es", units="SI")
    panel = ComparePanel(source)
    assert "Motor anterior" in panel.verdict.value and panel.again.disabled
    before = panel.answer
    source.limits.winding_margin.value = "10 K"
    assert panel.answer is before and not panel.again.disabled
    assert "cambió" in panel.status.value
    panel.again.click()
    assert panel.answer.job.limits.values.winding_margin == 10.0
    assert "Límites cambiados" in panel.table.value and panel.status.value == ""


def test_it_waits_for_a_job():
    """A blank job has nothing to compare; once it is entered, a click compares."""
    source = ReplacementPanel()
    source.bar.begin_new()
    panel = ComparePanel(source)
    assert panel.answer is None and "No result yet" in panel.verdict.value
    for name, typed in {"voltage": "208-230", "power": "1/3", "speed": "1075"}.items():
        getattr(source.nameplate, name).value = typed
    assert source.answer is not None and not panel.again.disabled
    panel.again.click()
    assert names(panel)[0] == "old" and len(names(panel)) == 3


def test_the_page_has_it_as_a_step():
    page = App()
    page.open_job(SAMPLE.name, SAMPLE.read_bytes())
    at = page.steps.titles.index("Compare")
    page.steps.selected_index = at
    panel = page.shown
    assert names(panel) == ["old", "Demo A-005", "Demo A-009"]
    panel.motors[1].value = "Demo A-012"
    state = page.typed()
    other = App()
    other.restore(state)
    other.steps.selected_index = at
    assert names(other.shown) == ["old", "Demo A-005", "Demo A-012"]
    page.language.value = "es"
    page.steps.selected_index = at
    assert "Motor anterior" in page.shown.verdict.value
    assert names(page.shown) == ["old", "Demo A-005", "Demo A-012"]
