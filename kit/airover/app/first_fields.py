"""First fields of the page as plain HTML, which can be filled in before the widgets are loaded.

On a slow network, the widgets take several seconds to load. The browser shows these fields at once
and later copies what was typed to the widgets.
"""

from functools import lru_cache
from typing import NamedTuple

from airover.app.current_job import NAMEPLATE
from airover.app.fields import Fields
from airover.app.unsaved import State
from airover.core.texts import Writer
from airover.records.nameplate import Nameplate


class First(NamedTuple):
    """First fields of a page and their title."""

    title: str
    fields: list[dict]


class _Field(NamedTuple):
    record: str
    field: str
    label: str
    hint: str  # HTML
    is_number: bool
    choices: dict[str, str]  # displayed text by accepted word


def first_fields(language: str, system: str, state: State) -> First:
    """Return the nameplate fields with the entries in ``state``.

    Parameters
    ----------
    system : str
        Unit system, "US" or "SI".
    """
    fields = []
    for one in _fields(language, system):
        entry = state.get(one.record, {}).get(one.field, "")
        told = {"label": one.label, "hint": one.hint, "is_number": one.is_number}
        choices, entry = list(one.choices.values()), one.choices.get(entry, entry)
        name = f"ao-at-{one.record}-{one.field}"
        fields.append({**told, "name": name, "choices": choices, "entry": entry})
    return First(Writer(language, system)("page.section.plate"), fields)


@lru_cache(maxsize=16)
def _fields(language: str, system: str) -> list[_Field]:
    write = Writer(language, system, signs=True)
    asked = NAMEPLATE["Nameplate"]
    form = Fields("nameplate", {"Nameplate": asked}, Nameplate, write, hints=True)
    found = []
    for name, control in form.controls.items():
        choices = {value: words for words, value in getattr(control, "options", ())}
        is_number = "ao-number" in control._dom_classes
        label, hint = control.description, form.problems[name].value
        found.append(_Field(form.record, name, label, hint, is_number, choices))
    for control in (*form.controls.values(), *form.problems.values()):
        control.close()
    return found
