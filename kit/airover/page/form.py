"""Fields of a record on the page, each with its label above and its help or refusal below."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.page import look
from airover.page.asked import IN_SI
from airover.page.reader import Reader
from airover.panels.parts import Fields
from airover.records.fields import Record

UNKNOWN = ""


class Form:
    """The fields of a record of ``kind``, which are called ``record`` in texts and refusals.

    ``asked`` maps each section to its fields as `panels.parts.Fields` takes them. ``sections``
    has the view of each. What is typed is kept as typed, also where it is not accepted.
    """

    def __init__(self, record: str, kind: type[Record], asked: dict[str, dict]):
        self.record, self.kind = record, kind
        self.fields = Fields(record, asked)
        self.asked = {name: given for page in asked.values() for name, given in page.items()}
        self.controls = self.fields.controls
        self._help = {name: widgets.HTML() for name in self.asked}
        self.sections = {title: self._section(names) for title, names in asked.items()}
        self._told: dict[str, InputError] = {}

    def given(self) -> dict:
        """What was typed, by field; empty ones left out."""
        return self.fields.given()

    def typed(self) -> dict[str, str]:
        """The text of every field that has one."""
        return {name: one.value for name, one in self.controls.items() if one.value}

    def restore(self, typed: dict[str, str]) -> None:
        """Put texts back as they were typed; those of fields that are not here are left out."""
        for name in self.controls:
            self._put(name, typed.get(name, ""))

    def fill(self, record: Record | None) -> None:
        """Write what ``record`` knows; None empties every field."""
        if record is None:
            self.restore({})
            return
        for name, accepted in self.asked.items():
            if isinstance(accepted, dict):  # a word that is no choice of this page becomes one
                value = dict(zip(record.names(), dict(record).values(), strict=True))[name]
                self._offer(name, _word(value))
        self.fields.fill(record)

    def problems(self) -> dict[str, InputError]:
        """Every field that is refused by itself, then those that contradict each other."""
        found = {}
        for name, value in self.given().items():
            try:
                self.kind(**{name: value})
            except InputError as error:
                found[name] = error
        if not found:
            try:
                self.kind(**self.given())
            except InputError as error:
                if (name := error.field.replace(" ", "_")) in self.asked:
                    found[name] = error
        return found

    def tell(self, problems: dict[str, InputError], reader: Reader) -> None:
        """Show what is wrong beside each field; an example beside the others."""
        self._told = problems
        for name, place in self._help.items():
            error, typed = problems.get(name), self.controls[name].value.strip()
            if error is not None:
                place.value = look.wrong(reader.refusal(error, typed))
            else:
                place.value = look.text(self._hint(name, reader), "span")

    def say(self, reader: Reader) -> None:
        """Labels, examples and words of choices for ``reader``."""
        for name, control in self.controls.items():
            control.description = reader.label(self.record, name)
            if isinstance(self.asked[name], dict):
                self._say_choice(control, reader)
            else:
                control.placeholder = ""
        self.tell(self._told, reader)

    def label(self, name: str, reader: Reader) -> str:
        return reader.label(self.record, name)

    def _say_choice(self, control, reader: Reader) -> None:
        value = control.value
        words = [word for _, word in control.options if word]
        named = [(reader.word(word), word) for word in words]
        control.options = [(reader("unknown"), UNKNOWN), *named]
        control.value = value

    def _offer(self, name: str, word: str) -> None:
        control = self.controls[name]
        if word not in [value for _, value in control.options]:
            control.options = [*control.options, (word, word)]

    def _put(self, name: str, text: str) -> None:
        if isinstance(self.asked[name], dict):
            self._offer(name, text)
        self.controls[name].value = text

    def _example(self, name: str) -> str:
        return "" if isinstance(self.asked[name], dict) else self.asked[name]

    def _hint(self, name: str, reader: Reader) -> str:
        example = self._example(name)
        if reader.system == "SI" and self.record != "nameplate":  # a plate is copied as it is
            example = IN_SI.get(example, example)
        return reader("such_as", example=example) if example else ""

    def _section(self, names) -> widgets.VBox:
        rows = [widgets.VBox([self.controls[name], self._help[name]]) for name in names]
        for name, row in zip(names, rows, strict=True):
            row.add_class("ap-field")
            self._help[name].add_class("ap-help")
            if hasattr(self.controls[name], "continuous_update"):
                self.controls[name].continuous_update = True
        section = widgets.VBox(rows)
        section.add_class("ap-fields")
        return section


def _word(value) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)
