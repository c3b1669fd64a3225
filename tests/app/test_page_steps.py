"""Steps of the page after a change of the job: what each shows is what a new page would show."""

import re

import ipywidgets as widgets

from airover.app.page import STEPS, App
from airover.core.files import data_folder

SAMPLE = data_folder() / "jobs" / "roof-unit.toml"
NAMES = [kind.step for kind in STEPS]
SHOWN = [name for name in NAMES if name != "proposal"]  # made by a click, see its own tests
CHANGES = [
    ("nameplate", "current", "2.4 A"),
    ("site", "outdoor_temperature", "96 degF"),
    ("site", "airflow", "2150 cfm"),
]


def shown(page: App, name: str) -> str:
    """The words of a step, without those of its controls."""
    page.steps.selected_index = NAMES.index(name)

    def html(top) -> str:
        own = top.value if isinstance(top, widgets.HTML) else ""
        return own + "".join(map(html, getattr(top, "children", ())))

    text = re.sub(r'(?:src|href|id|for)="[^"]*"', "", html(page.shown.view))
    return " ".join(re.sub(r"<[^>]*>", " ", text).split())


def test_each_step_shows_the_job_as_it_is_now():
    """Every step is opened, the job changed, and every step looked at again beside a new page."""
    page = App()
    page.open_job(SAMPLE.name, SAMPLE.read_bytes())
    before = {name: shown(page, name) for name in SHOWN}
    page.steps.selected_index = 0
    with page.filling():
        for form, field, typed in CHANGES:
            getattr(page.form, form).controls[field].value = typed
    page.update()
    assert "Up to date" in page.status.value
    new = App()
    new.open_job("job.toml", page.form.job().to_toml().encode())
    for name in SHOWN:
        now = shown(page, name)
        assert now == shown(new, name), name
        assert name == "measured" or now != before[name], name  # no readings
