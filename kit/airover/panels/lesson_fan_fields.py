"""What a student fills in at one step of the lesson on fan laws: predictions, then a slider."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.exercise.fan_laws import FALLS, RISES, STILL, FanLesson
from airover.panels import style
from airover.panels.fields import choice, text
from airover.tables.fan_laws import ASKED, FanWriter, guessed, slider_words, swept_of
from airover.units import quoted, read

DIRECTIONS = (RISES, STILL, FALLS)
EXAMPLES = {
    "US": {"flow": "2000 cfm", "pressure": "0.1 in. w.g."},
    "SI": {"flow": "0.9 m3/s", "pressure": "30 Pa"},
}
BOTH = {"power": "200 W", "current": "2.5 A", "speed": "950 rpm"}


class Step:
    """The fields of ``name``, a step, and its slider, dead until predictions are kept.

    ``guesses`` is empty until then. ``fields`` has the control of each prediction by name,
    ``problems`` the place beside it; ``slider`` is None at a step without one.
    """

    def __init__(self, name: str, lesson: FanLesson):
        self.name, self.guesses = name, {}
        self._lesson = lesson
        self.fields = {one: _field(name, one) for one in ASKED[name]}
        self.problems = {one: widgets.HTML() for one in self.fields}
        self.asked, self.keep = widgets.HTML(), widgets.Button(button_style="primary")
        self.keep.layout.width = "auto"
        self.kept = widgets.HTML()
        self.slider = None if name == "swap" else _slider(swept_of(lesson, name))

    @property
    def place(self) -> int:
        """The number of the slider's place; of today's where there is no slider."""
        return 0 if self.slider is None else self.slider.value

    @property
    def controls(self) -> list:
        rows = [widget for name, field in self.fields.items() for widget in
                (field, self.problems[name])]  # fmt: skip
        slider = [] if self.slider is None else [self.slider]
        return [self.asked, *rows, self.keep, self.kept, *slider]

    def say(self, question: str, told: FanWriter) -> None:
        """Put ``question`` and every label into the class's language and units."""
        self.asked.value = style.quiet(question)
        for name, field in self.fields.items():
            field.description = told.say(f"name.{name}")
            if isinstance(field, widgets.Dropdown):
                _relabel(field, [("choose", ""), *_words(self.name, name)], told)
            else:
                key = "or_change" if self.name == "speed" else "such_as"
                field.placeholder = told.say(key, example=_example(name, told))
        self.keep.description = told.say("keep")
        self._say_state(told)
        if self.slider is not None:
            self.slider.description = told.say(f"slider.{self.name}", unit=told.height_unit())
            labels, place = slider_words(self._lesson, self.name, told), self.slider.value
            self.slider.options = [(label, at) for at, label in enumerate(labels)]
            self.slider.value = place

    def read(self, told: FanWriter) -> bool:
        """Keep what was predicted, if all of it can be read; else say beside each field why not."""
        found = {name: self._read(name, told) for name in self.fields}
        if None in found.values():
            return False
        self.guesses = found
        self._lock(True, told)
        return True

    def clear(self, told: FanWriter) -> None:
        """Empty for the next student."""
        self.guesses = {}
        for name, field in self.fields.items():
            field.value, self.problems[name].value = "", ""
        if self.slider is not None:
            self.slider.value = swept_of(self._lesson, self.name).start
        self._lock(False, told)

    def _lock(self, kept: bool, told: FanWriter) -> None:
        for widget in (*self.fields.values(), self.keep):
            widget.disabled = kept
        if self.slider is not None:
            self.slider.disabled = not kept
        self._say_state(told)

    def _say_state(self, told: FanWriter) -> None:
        kept = "kept_swap" if self.slider is None else "kept"
        self.kept.value = style.quiet(told.say(kept if self.guesses else "first"))

    def _read(self, name: str, told: FanWriter):
        """A prediction, or None where it cannot be read; said beside the field."""
        field, place = self.fields[name], self.problems[name]
        typed, place.value = field.value.strip(), ""
        if not typed:
            place.value = style.problem(told.say("empty"))
            return None
        if isinstance(field, widgets.Dropdown):
            return typed
        try:
            return self._number(name, typed)
        except InputError:
            said = told.say("unreadable", given=quoted(typed), example=_example(name, told))
            place.value = style.problem(said)
            return None

    def _number(self, name: str, typed: str) -> float:
        if self.name == "swap":
            return read(typed, "speed", name).mid
        swept = swept_of(self._lesson, self.name)
        return guessed(name, typed, swept.at_step(name, swept.start).mid)


def _field(step: str, name: str):
    typed = step == "speed" or name.endswith("_speed")
    field = text("") if typed else choice("", [("", ""), *((one, one) for one in DIRECTIONS)])
    field.style.description_width = "176px"
    return field


def _slider(swept) -> widgets.SelectionSlider:
    options = [(str(place), at) for at, place in enumerate(swept.at)]
    return widgets.SelectionSlider(
        options=options, value=swept.start, disabled=True,
        style={"description_width": "150px"}, layout={"width": "auto"},
    )  # fmt: skip


def _words(step: str, name: str) -> list[tuple[str, str]]:
    """Key of its text, and value, for each option of a choice."""
    table = {"flow": "air", "amps": "plate"}[name.partition("_")[2]] if step == "swap" else "word"
    return [(f"{table}.{one}", one) for one in DIRECTIONS]


def _relabel(field, options, told: FanWriter) -> None:
    value = field.value
    field.options = [(told.say(key), one) for key, one in options]
    field.value = value


def _example(name: str, told: FanWriter) -> str:
    return (EXAMPLES[told.system] | BOTH)[name.removeprefix("slow_").removeprefix("fast_")]
