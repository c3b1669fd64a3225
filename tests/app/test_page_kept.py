"""What a page shows again after a reload, and what its script can show."""

import re
from importlib import resources

import pytest

from airover.app.class_page import PANELS, ClassBook, LessonPage
from airover.app.page import STEPS, App
from airover.core.files import data_folder
from tests.app.test_page_steps import shown

SAMPLE = data_folder() / "jobs" / "roof-unit.toml"
SCRIPT = resources.files("airover.app") / "frame" / "widgets.js"
AMPS, PROPOSAL = ([kind.step for kind in STEPS].index(name) for name in ("amps", "proposal"))


def of(page: App, at: int):
    page.steps.selected_index = at
    return page.shown


@pytest.fixture
def file(tmp_path):
    return tmp_path / "unsaved.json"


def opened(file) -> App:
    page = App(unsaved=file)
    if not file.exists():
        page.open_job(SAMPLE.name, SAMPLE.read_bytes())
    return page


def test_sliders_details_and_logo_are_there_after_a_reload(file):
    page = opened(file)
    amps, proposal = of(page, AMPS), of(page, PROPOSAL)
    amps.voltage.value, amps.blade.value = 221, 85
    proposal.details.value = True
    logo = (data_folder() / "start" / "logo.png").read_bytes()
    proposal.upload_logo("logo.png", logo)
    page.settled()

    again = opened(file)
    amps, proposal = of(again, AMPS), of(again, PROPOSAL)
    assert (amps.voltage.value, amps.capacitor.value, amps.blade.value) == (221, 100, 85)
    assert "221" in amps.verdict.value and proposal.details.value
    assert "logo.png" in proposal.logo_told.value
    proposal.write()
    assert proposal.made.content["logo"] == "logo.png"

    again.fill(None)
    again.open_job(SAMPLE.name, SAMPLE.read_bytes())
    assert of(again, AMPS).voltage.value == 236 and not of(again, PROPOSAL).details.value
    assert of(again, PROPOSAL).logo_told.value == ""


def test_a_damaged_logo_is_left_out(file):
    page = opened(file)
    state = page.typed() | {"proposal": {"logo": "AAAAA", "logo_name": "logo.png"}}
    of(page, PROPOSAL).restore(state)
    assert of(page, PROPOSAL).logo_told.value == ""


def test_the_catalog_of_an_answer_is_named(file):
    page = opened(file)
    assert "built-in demo catalog, 213 motors" in page.used.value
    csv = (data_folder() / "catalogue.csv").read_text().splitlines(keepends=True)
    page.open_catalog("mine.csv", "".join(csv[:60]).encode())
    assert re.search(r"mine\.csv, \d+ motors", page.used.value)
    page.use_the_kits()
    assert "built-in demo catalog, 213 motors" in page.used.value


def test_units_that_are_words_are_in_the_language_of_the_page():
    page = App(language="es")
    age = next(
        form for form in page._all_forms() if "age" in form.controls and form.record == "found"
    )
    assert "[años]" in age.controls["age"].description
    assert "9 años" in age.problems["age"].value
    age.controls["age"].value = "7"
    assert age.controls["age"].value == "7 años" and not age.found()


def models(widget):
    yield widget._model_name
    for child in getattr(widget, "children", ()):
        yield from models(child)


def test_the_script_shows_every_kind_of_widget_on_the_pages(file, tmp_path):
    page = opened(file)
    for at in range(len(STEPS)):
        shown(page, STEPS[at].step)
    views = [page.view]
    book = ClassBook(tmp_path / "class")
    for lesson in PANELS:
        student = LessonPage(lesson, "en", "US", "session", book)
        student.name.value = "Ann"
        student.join()
        views.append(student.view)
    script = SCRIPT.read_text()
    kinds = set(re.findall(r"^    (\w+Model):", script, re.MULTILINE))
    assert {name for view in views for name in models(view)} == kinds
