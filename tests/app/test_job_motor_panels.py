"""Panels of one motor on a job (worksheets 04 and 05): what both do, driven as Python objects."""

from typing import NamedTuple

import pytest

from airover.app.bearing_panel import BearingPanel
from airover.app.checked import figures_of_bearings, figures_of_heat
from airover.app.heat_panel import HeatPanel
from airover.app.live import checked
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.model import heat_answer
from airover.records.catalog import read_catalog
from airover.reports.bearings import LifePicture
from airover.reports.heat import HeatPicture
from airover.selection import bearing_choice
from airover.selection.answer import answer

from .conftest import JOB, assert_in_units_of, shown_html

CATALOG = read_catalog(data_folder() / "catalogue.csv")


class Kind(NamedTuple):
    """A kind of panel: its fixture, a calculation to break and the slider that needs it, figures,
    picture, a caution."""

    name: str
    panel: type
    broken: tuple
    slider: str
    figures: object
    picture: type
    caution: str


KINDS = [
    Kind(
        "bearing", BearingPanel, (bearing_choice, "ball"), "temperature", figures_of_bearings,
        LifePicture, "Remove the fan from the unit before you balance it",
    ),
    Kind(
        "heat", HeatPanel, (heat_answer, "against_ambient"), "stream", figures_of_heat, HeatPicture,
        "hot enough to burn",
    ),
]  # fmt: skip


@pytest.fixture(params=KINDS, ids=[kind.name for kind in KINDS])
def kind(request):
    return request.param


@pytest.fixture
def panel(kind, request):
    return request.getfixturevalue(kind.name)


def test_the_default_is_the_best_motor_on_the_sample_job(panel):
    assert panel.chosen == answer(JOB, CATALOG).candidates[0].case.motor
    assert panel.temperature.value == 105
    assert panel.reports.verdict(panel.answer, Writer("en")) in panel.verdict.value
    assert "Fictional job" in panel.verdict.value


def test_another_motor_and_another_job_are_worked(panel, tmp_path):
    before = panel.answer.place
    panel.motor.value = 3
    assert panel.answer.place not in (before, None)
    panel.open(data_folder() / "jobs" / "hot-court.toml")
    assert panel.job != JOB and not panel.status.value
    before = panel.answer
    panel.open(tmp_path / "absent.toml")
    assert "job file" in panel.bar.told.value and panel.answer is before


def test_every_page_is_worked_when_it_is_looked_at(panel):
    for at in range(len(panel.PAGES)):
        panel.tables.selected_index = at
        shown = panel.pages[panel.page_shown].value
        assert shown and Writer("en")("panel.page_working") not in shown


def test_an_unexpected_error_is_raised_and_no_old_answer_stands_as_new(panel, kind, monkeypatch):
    def explode(*_):
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setattr(*kind.broken, explode)
    with pytest.raises(ZeroDivisionError):
        getattr(panel, kind.slider).value = 99
    assert Writer("en")("panel.broken") in panel.status.value
    assert "ao-earlier" in panel.view._dom_classes


def test_a_panel_on_a_bad_file_does_not_start(kind, tmp_path):
    with pytest.raises(InputError, match="job file"):
        kind.panel(tmp_path / "absent.toml")


def test_a_redraw_is_the_picture_of_what_the_sliders_say(panel, kind):
    first, before = panel.picture.png, panel.answer
    panel.temperature.value = 90
    assert panel.picture.png != first and panel.picture.png.startswith(b"\x89PNG")
    moved, new = kind.picture(Writer("en")), kind.picture(Writer("en"))
    moved.png(before)
    assert moved.png(panel.answer) == new.png(panel.answer)  # nothing of the earlier answer stays


@pytest.mark.parametrize("system", ["US", "SI"])
def test_pictures_are_in_the_units_of_their_reader(panel, kind, system):
    drawn = kind.picture(Writer("en", system))
    drawn.set(panel.answer)
    assert_in_units_of(drawn.figure, system)


def test_checked_figures_do_not_sit_on_a_rounding_edge(panel, kind):
    found = kind.figures(panel.answer)
    assert len(found) >= 15
    for factor in (1 - 1e-6, 1 + 1e-6):
        assert checked({name: factor * value for name, value in found.items()}) == checked(found)


def test_cautions_are_shown(panel, kind):
    shown = shown_html(panel.view)
    assert "Lock out the power" in shown and kind.caution in shown
