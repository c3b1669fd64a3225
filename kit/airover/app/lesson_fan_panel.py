"""Panel for worksheet 09, in which students predict the behavior of a fan.

Each step has prediction fields and a slider. The slider is disabled until the predictions are
entered, and then shows the calculated values.
"""

from functools import lru_cache
from typing import NamedTuple

import ipywidgets as widgets

from airover.app import style
from airover.app.fields import SYSTEMS, choice, text
from airover.app.panel import FollowingPicture, Panel, Picture, read_job, read_motors
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Texts, languages
from airover.core.units import quoted, read
from airover.lesson import fan_laws_shown as shown
from airover.lesson.fan_laws import FALLS, RISES, STILL, FanLesson
from airover.lesson.fan_laws_shown import (
    ASKED,
    DPI,
    STEPS,
    FanWriter,
    SweptPicture,
    guessed,
    question,
    sentence,
    slider_words,
    swept_of,
)
from airover.lesson.notes import Notes
from airover.records.fan import read_curve
from airover.reports.drawing import png

DIRECTIONS = (RISES, STILL, FALLS)
EXAMPLES = {
    "US": {"flow": "2000 cfm", "pressure": "0.1 in. wg"},
    "SI": {"flow": "0.9 m3/s", "pressure": "30 Pa"},
}
BOTH = {"power": "200 W", "current": "2.5 A", "speed": "950 rpm"}


class Step:
    """Fields and slider for the step ``name``.

    Attributes
    ----------
    guesses
        Predictions; empty until they are submitted.
    fields
        Prediction controls by name.
    problems
        Areas that show an error next to each field.
    slider
        Slider for the step, or None for a step without a slider.
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
        """Return the index of the slider position, or 0 if there is no slider."""
        return 0 if self.slider is None else self.slider.value

    @property
    def controls(self) -> list:
        rows = [widget for name, field in self.fields.items() for widget in
                (field, self.problems[name])]  # fmt: skip
        slider = [] if self.slider is None else [self.slider]
        return [self.asked, *rows, self.keep, self.kept, *slider]

    def say(self, question: str, told: FanWriter) -> None:
        """Show ``question`` and all labels in the class language and units."""
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
        """Store the predictions if all can be read, or show the error next to each field."""
        found = {name: self._read(name, told) for name in self.fields}
        if None in found.values():
            return False
        self.guesses = found
        self._lock(True, told)
        return True

    def clear(self, told: FanWriter) -> None:
        """Clear the step for the next student."""
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
        """Return a prediction, or show an error next to its field and return None."""
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
    """Return the text key and value of each option in a dropdown list."""
    table = {"flow": "air", "amps": "plate"}[name.partition("_")[2]] if step == "swap" else "word"
    return [(f"{table}.{one}", one) for one in DIRECTIONS]


def _relabel(field, options, told: FanWriter) -> None:
    value = field.value
    field.options = [(told.say(key), one) for key, one in options]
    field.value = value


def _example(name: str, told: FanWriter) -> str:
    return (EXAMPLES[told.system] | BOTH)[name.removeprefix("slow_").removeprefix("fast_")]


def picture(
    lesson: FanLesson, step: str, place: int, guesses: dict, told: FanWriter, drawn
) -> Picture:
    """Return the plot for a ``step`` from the PNG file ``drawn``, with a description."""
    said = sentence(lesson, step, place, told) if guesses else told.say("first")
    return Picture(drawn, told.say("picture", title=told.say(f"title.{step}"), told=said))


def verdict(lesson: FanLesson, step: str, place: int, guesses: dict, told: FanWriter) -> str:
    """Return the conclusion for the slider position, or a request to enter predictions."""
    invented = told.say("invented") if lesson.job.invented else ""
    if not guesses:
        return style.verdict("fits with work", told.say(f"title.{step}"), told.say("first"))
    said = f"{sentence(lesson, step, place, told)} {invented}".strip()
    return style.verdict("fits", told.say(f"title.{step}"), said)


def on_paper(frame) -> Notes:
    """Return a table in which no text is truncated."""
    return Notes(style.table(frame.reset_index()), frame.to_string())


AHEAD = (-10, 5, 10)  # speed changes [%] that the question may use
ASKED_FIRST = 10


@lru_cache(maxsize=4)  # shared by all students of a class
def fan_lesson(job_path=None, curve_path=None, catalog=None) -> FanLesson:
    """Return the lesson for the given files, by default the sample job, example fan and catalog.

    Raises
    ------
    InputError
        If a file cannot be read or evaluated.
    """
    curve = read_curve(curve_path or data_folder() / "curves" / "example-blade.csv")
    return FanLesson.of(read_job(job_path), curve, read_motors(catalog))


class Seen(NamedTuple):
    """Displayed state of a lesson step.

    Attributes
    ----------
    place : int
        Index of the slider position.
    guesses : dict
        Predictions; empty before they are submitted.
    ahead : int
        Speed change in the question [%].
    """

    step: str
    place: int
    guesses: dict
    ahead: int
    told: FanWriter


class LessonFanPanel(Panel):
    """Panel for a lesson with four steps.

    Entering all predictions in a step enables its slider and shows its answer. The controls are
    ``step`` (a key of ``steps``), ``language``, ``units``, ``ahead`` (the speed change in the first
    step [%]) and ``reset``. Each entry in ``steps`` has ``fields``, ``keep`` and ``slider``. The
    attribute ``picture`` is the latest plot.

    Parameters
    ----------
    job_path, curve_path, catalog : str or os.PathLike, optional
        Files, by default the sample job, example fan and catalog shipped with airover.
    language : str, optional
        Language, "en" or "es".
    units : str, optional
        Unit system, "US" or "SI".

    Raises
    ------
    InputError
        If a file cannot be read or evaluated.
    """

    def __init__(
        self, job_path=None, curve_path=None, catalog=None, language="en", units="US"
    ):  # fmt: skip
        super().__init__()
        self._pictured = {}
        self.lesson = fan_lesson(job_path, curve_path, catalog)
        self._make_controls(language, units)
        self.relabel()
        self.begin()
        self._observe()
        head = widgets.HBox([self.language, self.units, self.reset])
        self.arrange(
            [head, self.step, self.verdict], [self.left], [self._following.view], [self.tables]
        )  # fmt: skip

    @property
    def told(self) -> FanWriter:
        """Return the writer for the class language and units."""
        return FanWriter(self.language.value, self.units.value)

    @property
    def now(self) -> Step:
        """Return the visible step."""
        return self.steps[self.step.value]

    def predict(self, step: str, **typed: str) -> None:
        """Go to ``step`` and enter the predictions from ``typed``, keyed by name."""
        with self.filling():
            self.step.value = step
            self.now.clear(self.told)
            for name, said in typed.items():
                self.now.fields[name].value = said
        self.keep()

    def keep(self) -> None:
        """Store the predictions in this step if all can be read, and show the calculated values.

        The slider of the first step moves to the speed in the question. The other sliders move to
        their maximum positions.
        """
        with self.filling():
            if self.now.read(self.told) and self.now.slider is not None:
                at = self.lesson.speed.at.index(self.ahead.value)
                last = len(self.now.slider.options) - 1
                self.now.slider.value = at if self.step.value == "speed" else last
        self.update()

    def begin_anew(self) -> None:
        """Clear all predictions for the next student."""
        with self.filling():
            for one in self.steps.values():
                one.clear(self.told)
            self.step.value = STEPS[0]
        self.update()

    def relabel(self) -> None:
        """Set all labels in the class language and units."""
        told = self.told
        with self.filling():
            self.language.description, self.units.description = (
                told.say("language"),
                told.say("units"),
            )
            self.ahead.description, self.reset.description = (
                told.say("slider.ahead"),
                told.say("reset"),
            )
            self.units.options = [(told(f"panel.system.{one}"), one) for one in SYSTEMS]
            self.units.value = told.system
            chosen = self.step.value
            self.step.options = [(told.say(f"step.{one}"), one) for one in STEPS]
            self.step.value = chosen
            for one in self.steps.values():
                one.say(question(self.lesson, one.name, told, self.ahead.value), told)

    def update(self) -> None:
        """Recalculate and show the answer."""
        self._tell(style.quiet(self.told.say("working")), earlier=True)
        try:
            self.answer = self.compute()
            self.draw()
        except Exception:  # do not show outdated results as current
            self._tell(style.problem(self.told.say("failed")), earlier=True)
            raise
        self._tell("", earlier=False)

    def compute(self) -> Seen:
        return Seen(
            self.step.value, self.now.place, self.now.guesses, self.ahead.value, self.told
        )  # fmt: skip

    def draw(self) -> None:
        seen, lesson = self.answer, self.lesson
        places = seen.step, seen.place, seen.guesses
        self.verdict.value = verdict(lesson, *places, seen.told)
        if self._key(seen) in self._pictured:
            self._draw_picture()
        else:  # drawing the axes takes 0.1 s
            self._following.follow()
        tables = [self.judged, self.figures] if seen.guesses else []
        self.tables.value = "".join(style.table(one.reset_index()) for one in tables)
        self.left.children = self._controls()

    @property
    def picture(self) -> Picture:
        """Return the plot of the answer."""
        self._following.hurry()
        return self._picture

    def _draw_picture(self) -> None:
        seen = self.answer
        places = seen.step, seen.place, seen.guesses
        self._picture = picture(self.lesson, *places, seen.told, self._drawn(seen))
        self.picture_shown.value = self._picture.html(700)

    def refused(self, error: InputError | None) -> None:
        """Do nothing, because errors are shown next to the predictions."""

    @property
    def judged(self):
        """Return the predictions in this step with the calculated values."""
        seen = self.answer
        return shown.judged(
            self.lesson, seen.step, seen.guesses, seen.ahead, seen.told
        )  # fmt: skip

    @property
    def paper(self) -> Notes:
        """Return the predictions and calculated values as a table with no text truncated."""
        return on_paper(self.judged)

    @property
    def figures(self):
        """Return the values in this step at the start and at the slider position."""
        seen = self.answer
        return shown.figures(self.lesson, seen.step, seen.place, seen.told)

    def _drawn(self, seen: Seen) -> bytes:
        """Return the plot as a PNG file, drawing its axes and lines only once per prediction."""
        if seen.step == "swap":
            return png(shown.swap(self.lesson, seen.guesses, seen.told), DPI)
        key = self._key(seen)
        if key not in self._pictured:
            still = SweptPicture(self.lesson, seen.step, seen.guesses, seen.ahead, seen.told)
            self._pictured = {key: still}
        return self._pictured[key].png(seen.place)

    def _key(self, seen: Seen) -> tuple:
        """Return what the axes and lines of the plot depend on."""
        ahead = seen.ahead if seen.guesses else None
        language, system = self.language.value, seen.told.system
        return seen.step, tuple(seen.guesses.items()), ahead, language, system

    def _make_controls(self, language: str, units: str) -> None:
        Texts(language)  # raises an error for an unknown language
        self.language, self.units = choice("", languages()), choice("", SYSTEMS)
        self.language.value, self.units.value = language, units
        for control in (self.language, self.units):
            control.style.description_width = "72px"
        self.ahead = choice("", [(f"{change:+d} %", change) for change in AHEAD])
        self.ahead.value = ASKED_FIRST
        self.ahead.style.description_width = "176px"
        self.reset = widgets.Button(layout={"width": "auto"})
        self.step = widgets.ToggleButtons(options=STEPS)
        self.step.style.button_width = "auto"
        self.steps = {name: Step(name, self.lesson) for name in STEPS}
        self.left = widgets.VBox()
        self.places("verdict", "picture_shown", "tables")
        self._following = FollowingPicture(self._draw_picture, self.picture_shown)

    def _observe(self) -> None:
        sliders = [one.slider for one in self.steps.values() if one.slider is not None]
        self.watch([self.step, *sliders])
        for control in (self.language, self.units):
            control.observe(self._retold, "value")
        self.ahead.observe(self._asked_anew, "value")
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        self.reset.on_click(lambda _: self.begin_anew())
        for one in self.steps.values():
            one.keep.on_click(lambda _: self.keep())

    def _retold(self, change) -> None:
        if not self._filling:
            self.relabel()
            self.update()

    def _asked_anew(self, change) -> None:
        """Ask the question again with a different speed change."""
        if not self._filling:
            self.steps[STEPS[0]].clear(self.told)
            self._retold(change)

    def _controls(self) -> list:
        asked, *rest = self.now.controls
        return [asked, *([self.ahead] if self.step.value == STEPS[0] else []), *rest]
