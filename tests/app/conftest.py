"""Panels that several tests share: each is made once for a process, and brought back for a test."""

import re
from functools import lru_cache

import ipywidgets as widgets
import pytest

from airover.app import subject_panel
from airover.app.bearing_panel import BearingPanel
from airover.app.heat_panel import HeatPanel
from airover.app.job_folder import STATE, JobFolder, the_sample, user_folder
from airover.core.files import data_folder
from airover.records.job import Job
from airover.selection.answer import answer

JOB = Job.read(data_folder() / "jobs" / "roof-unit.toml")


@pytest.fixture(autouse=True)
def own_state(tmp_path_factory, monkeypatch):
    """Each test begins with the sample job."""
    monkeypatch.setenv(STATE, str(tmp_path_factory.mktemp("state")))


@pytest.fixture(scope="session")
def files(tmp_path_factory):
    """Every eighth call of the sample, and every fourth motor: matched in a second or two."""
    folder = tmp_path_factory.mktemp("stock")
    for name, rows in (("calls/one-truck.csv", 8), ("catalogue.csv", 4)):
        head, *lines = (data_folder() / name).read_text(encoding="utf-8").splitlines()
        text = "\n".join([head, *lines[::rows]]) + "\n"
        (folder / name.rpartition("/")[2]).write_text(text, encoding="utf-8")
    return folder / "one-truck.csv", folder / "catalogue.csv"


def begin_with_the_sample(panel, folder=None) -> None:
    """Bring the bar of a shared panel back to the sample job."""
    panel.bar.folder, panel.bar.current = JobFolder(folder or user_folder()), the_sample()
    panel.bar.told.value = panel.bar.path.value = ""
    panel.bar.say()


@pytest.fixture(scope="session")
def answered():
    """The job that every test comes back to is answered once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(subject_panel, "answer", lru_cache(answer))
        yield


@pytest.fixture(scope="session")
def shared_bearing(answered):
    return BearingPanel()


@pytest.fixture(scope="session")
def shared_heat(answered):
    return HeatPanel()


@pytest.fixture
def bearing(shared_bearing):
    """The bearing panel on the sample job, its choices as they are first."""
    panel = shared_bearing
    with panel.filling():
        panel.units.value, panel.known_hours.value, panel.known_temperature.value = "US", 0, 158
        panel.reliability.value, panel.dirt.value = 0.5, "normal cleanliness"
        panel.hours.value, panel.start.value = 1500, 50
        panel.discharge.value, panel.tables.selected_index = "up", 0
    return _on_sample_job(panel)


@pytest.fixture
def heat(shared_heat):
    """The heat panel on the sample job."""
    with shared_heat.filling():
        shared_heat.units.value = "US"
    shared_heat.tables.selected_index = 0
    return _on_sample_job(shared_heat)


def _on_sample_job(panel):
    begin_with_the_sample(panel)
    panel.fill(JOB)
    panel.update()
    assert not panel.status.value
    return panel


def rows(html: str) -> list[str]:
    """Rows of the tables in ``html``, without their headings."""
    return [row for row in re.findall(r"<tr>(.*?)</tr>", html, re.DOTALL) if "<td>" in row]


def shown_html(view) -> str:
    """All HTML below a ``view``."""
    below = "".join(map(shown_html, getattr(view, "children", ())))
    return below + (view.value if isinstance(view, widgets.HTML) else "")


def assert_words_apart(figure, texts) -> None:
    """Words lie within the ``figure`` and not on each other."""
    boxes = [text.get_window_extent() for text in texts if text.get_text()]
    for at, box in enumerate(boxes):
        assert figure.bbox.x1 >= box.x1 and box.x0 >= figure.bbox.x0
        assert not any(box.overlaps(other) for other in boxes[:at])


def assert_in_units_of(figure, system: str) -> None:
    """All words and axes of a ``figure`` are in the units of ``system``; each axis has a label."""
    other = {"US": r"degC|m3/s|\bPa\b|N m|\bmm\b", "SI": r"degF|cfm|in\. w|oz-ft|\[hp\]"}[system]
    for axes in figure.axes:
        labels = [axes.get_xlabel(), axes.get_ylabel()]
        shown = [*labels, axes.get_title(loc="left"), *(text.get_text() for text in axes.texts)]
        assert not re.search(other, " ".join(shown))
        for label, ticks in zip(labels, (axes.get_xticks(), axes.get_yticks()), strict=True):
            names = axes.get_yticklabels() if label is labels[1] else []
            named = any(re.search("[a-z]", name.get_text()) for name in names)
            assert re.search(r"\[.+\]", label) or named or not len(ticks)
