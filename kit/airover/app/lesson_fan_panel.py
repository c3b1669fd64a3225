"""The panel of worksheet 09: predict what a fan does, then move the slider and see.

What a student fills in at one step of the lesson on fan laws: predictions, then a slider.

The lesson on fan laws in pieces of HTML: what its panel shows, and notes for the instructor.
"""

from html import escape
from typing import NamedTuple

import ipywidgets as widgets

from airover.app import style
from airover.app.fields import choice, text
from airover.app.panel import Panel, Picture, read_job, read_motors
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Texts, languages
from airover.core.units import quoted, read
from airover.lesson import fan_laws_shown as figures_lesson_fan
from airover.lesson import fan_laws_shown as tables_lesson_fan
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
from airover.records.fan import read_curve
from airover.reports.drawing import png

DIRECTIONS = (RISES, STILL, FALLS)
EXAMPLES = {
    "US": {"flow": "2000 cfm", "pressure": "0.1 in. wg"},
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


LISTS = (
    ("objectives", "objective"), ("timing", "timing"), ("points", "point"), ("wrong", "wrong"),
    ("limits", "limit"), ("safety", "safety"),
)  # fmt: skip


class Notes:
    """Notes or a table for paper: HTML in a worksheet, words elsewhere."""

    def __init__(self, html: str, words: str):
        self._html, self._words = html, words

    def _repr_html_(self) -> str:
        return self._html

    def __repr__(self) -> str:
        return self._words


def lesson_notes(language: str = "en", answers: bool = False) -> Notes:
    """Objectives, timing, talking points, usual slips, limits and questions of the lesson.

    In a ``language``, "en" or "es". Answers stand behind their questions and open by a click, or
    with ``answers`` stand open, for paper. Raises InputError for another language.
    """
    texts = Texts(language)
    parts = []
    for title, table in LISTS:
        said = texts.below(f"lesson_fan.{table}")
        if table == "timing":
            said = [_minutes(texts, one) for one in said]
        parts.append(_listed(texts(f"lesson_fan.notes.{title}"), said))
    asked = _questions(texts, answers)
    title = texts("lesson_fan.notes.title")
    html = f"<h3>{escape(title)}</h3>{''.join(parts)}{asked}"
    return Notes(html, title)


def picture(
    lesson: FanLesson, step: str, place: int, guesses: dict, told: FanWriter, drawn
) -> Picture:
    """The picture of a ``step`` as ``drawn`` (a PNG); what it shows is in its words, too."""
    said = sentence(lesson, step, place, told) if guesses else told.say("first")
    return Picture(drawn, told.say("picture", title=told.say(f"title.{step}"), told=said))


def verdict(lesson: FanLesson, step: str, place: int, guesses: dict, told: FanWriter) -> str:
    """What there is to see at the slider; before a prediction, that there is nothing yet."""
    invented = told.say("invented") if lesson.job.invented else ""
    if not guesses:
        return style.verdict("fits with work", told.say(f"title.{step}"), told.say("first"))
    said = f"{sentence(lesson, step, place, told)} {invented}".strip()
    return style.verdict("fits", told.say(f"title.{step}"), said)


def on_paper(frame) -> Notes:
    """A table with every text whole."""
    return Notes(style.table(frame.reset_index()), frame.to_string())


def _minutes(texts: Texts, line: str) -> str:
    """ "15: what is done" as a line of the timing."""
    minutes, _, what = line.partition(": ")
    return texts("lesson_fan.notes.minutes", minutes=minutes, what=what)


def _listed(title: str, sentences) -> str:
    items = "".join(f"<li>{escape(one)}</li>" for one in sentences)
    return f"<h4>{escape(title)}</h4><ul>{items}</ul>"


def _questions(texts: Texts, answers: bool) -> str:
    said = texts.below("lesson_fan.question")
    opened = " open" if answers else ""
    label = escape(texts("lesson_fan.notes.answer"))
    items = [
        f"<li>{escape(ask)}<details{opened}><summary>{label}</summary>{escape(answer)}"
        "</details></li>"
        for ask, answer in zip(said[::2], said[1::2], strict=True)
    ]
    title = escape(texts("lesson_fan.notes.questions"))
    return f"<h4>{title}</h4><ol>{''.join(items)}</ol>"


SYSTEMS = [("US: cfm, degF", "US"), ("SI: m3/s, degC", "SI")]
AHEAD = (-10, 5, 10)  # per cent of speed that a class may be asked about
ASKED_FIRST = 10


class Seen(NamedTuple):
    """What the panel shows: a ``step`` with its slider at ``place``, the ``guesses`` that were
    kept (empty before), and at which change of speed, ``ahead`` [%]."""

    step: str
    place: int
    guesses: dict
    ahead: int
    told: FanWriter


class LessonFanPanel(Panel):
    """Four steps; each opens its slider and its answer once every prediction was made.

    ``job_path``, ``curve_path`` and ``catalog`` are files, by default the sample job, the example
    blade and the catalog that come with the kit; ``language`` is "en" or "es", ``units`` "US" or
    "SI". Controls: ``step`` (a key of ``steps``), ``language``, ``units``, ``ahead`` [%] of the
    first step, ``reset``; each of ``steps`` has ``fields``, ``keep`` and ``slider``. ``picture`` is
    the last one drawn. Raises InputError when the files cannot be read or worked.
    """

    def __init__(
        self, job_path=None, curve_path=None, catalog=None, language="en", units="US"
    ):  # fmt: skip
        super().__init__()
        self._pictured = {}
        curve = read_curve(curve_path or data_folder() / "curves" / "example-blade.csv")
        self.lesson = FanLesson.of(read_job(job_path), curve, read_motors(catalog))
        self._make_controls(language, units)
        self.relabel()
        self.begin()
        self._observe()
        head = widgets.HBox([self.language, self.units, self.reset])
        self.arrange(
            [head, self.step, self.verdict], [self.left], [self.picture_shown], [self.tables]
        )  # fmt: skip

    @property
    def told(self) -> FanWriter:
        """The class's language and units."""
        return FanWriter(self.language.value, self.units.value)

    @property
    def now(self) -> Step:
        """The step that is looked at."""
        return self.steps[self.step.value]

    def predict(self, step: str, **typed: str) -> None:
        """Go to a ``step``, write the predictions ``typed`` by name, and keep them."""
        with self.filling():
            self.step.value = step
            self.now.clear(self.told)
            for name, said in typed.items():
                self.now.fields[name].value = said
        self.keep()

    def keep(self) -> None:
        """Keep the predictions of this step and show what is true, if all of them can be read.

        The slider of the first step goes to the speed that was asked about, others to their end.
        """
        with self.filling():
            if self.now.read(self.told) and self.now.slider is not None:
                at = self.lesson.speed.at.index(self.ahead.value)
                last = len(self.now.slider.options) - 1
                self.now.slider.value = at if self.step.value == "speed" else last
        self.update()

    def begin_anew(self) -> None:
        """Forget every prediction: the next student begins."""
        with self.filling():
            for one in self.steps.values():
                one.clear(self.told)
            self.step.value = STEPS[0]
        self.update()

    def relabel(self) -> None:
        """Every label in the class's language and units."""
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
            chosen = self.step.value
            self.step.options = [(told.say(f"step.{one}"), one) for one in STEPS]
            self.step.value = chosen
            for one in self.steps.values():
                one.say(question(self.lesson, one.name, told, self.ahead.value), told)

    def update(self) -> None:
        """Work out what the controls say and show it."""
        self._tell(style.quiet(self.told.say("working")), earlier=True)
        try:
            self.answer = self.compute()
            self.draw()
        except Exception:  # what stands below must not look new; the error itself goes on
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
        self.picture = picture(lesson, *places, seen.told, self._drawn(seen))
        self.picture_shown.value = self.picture.html(700)
        tables = [self.judged, self.figures] if seen.guesses else []
        self.tables.value = "".join(style.table(one.reset_index()) for one in tables)
        self.left.children = self._controls()

    def refused(self, error: InputError | None) -> None:
        """Nothing is refused as a whole: what is wrong with a prediction stands beside it."""

    @property
    def judged(self):
        """Each prediction that was kept at this step, beside the truth."""
        seen = self.answer
        return tables_lesson_fan.judged(
            self.lesson, seen.step, seen.guesses, seen.ahead, seen.told
        )  # fmt: skip

    @property
    def paper(self) -> Notes:
        """The same as a table with every text whole."""
        return on_paper(self.judged)

    @property
    def figures(self):
        """The figures of this step, before and at the slider."""
        seen = self.answer
        return tables_lesson_fan.figures(self.lesson, seen.step, seen.place, seen.told)

    def _drawn(self, seen: Seen) -> bytes:
        """The picture as a PNG; what stands still in it is drawn once for each prediction."""
        if seen.step == "swap":
            return png(figures_lesson_fan.swap(self.lesson, seen.guesses, seen.told), DPI)
        key = (
            seen.step,
            tuple(seen.guesses.items()),
            seen.ahead,
            self.language.value,
            seen.told.system,
        )
        if key not in self._pictured:
            still = SweptPicture(self.lesson, seen.step, seen.guesses, seen.ahead, seen.told)
            self._pictured = {key: still}
        return self._pictured[key].png(seen.place)

    def _make_controls(self, language: str, units: str) -> None:
        Texts(language)  # refuses another one
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

    def _observe(self) -> None:
        sliders = [one.slider for one in self.steps.values() if one.slider is not None]
        self.watch([self.step, *sliders])
        for control in (self.language, self.units):
            control.observe(self._retold, "value")
        self.ahead.observe(self._asked_anew, "value")
        # ipywidgets only logs what a click raises: the handlers do nothing but call these.
        self.reset.on_click(lambda _: self.begin_anew())
        for one in self.steps.values():
            one.keep.on_click(lambda _: self.keep())

    def _retold(self, change) -> None:
        if not self._filling:
            self.relabel()
            self.update()

    def _asked_anew(self, change) -> None:
        """Another change of speed is another question."""
        if not self._filling:
            self.steps[STEPS[0]].clear(self.told)
            self._retold(change)

    def _controls(self) -> list:
        asked, *rest = self.now.controls
        return [asked, *([self.ahead] if self.step.value == STEPS[0] else []), *rest]
