"""The panel of worksheet 09: predict what a fan does, then move the slider and see."""

from typing import NamedTuple

import ipywidgets as widgets

from airover.errors import InputError
from airover.exercise.fan_laws import FanLesson
from airover.figures import fan_laws as figures_lesson_fan
from airover.figures.drawing import png
from airover.figures.fan_laws import DPI, SweptPicture
from airover.locations import data_folder
from airover.panels import lesson_fan_shown, style
from airover.panels.fields import choice
from airover.panels.lesson_fan_fields import Step
from airover.panels.parts import Panel, read_job, read_motors
from airover.records.curve_points import read_curve
from airover.tables import fan_laws as tables_lesson_fan
from airover.tables.fan_laws import STEPS, FanWriter, question
from airover.texts import Texts

TONGUES = [("English", "en"), ("Español", "es")]
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

    ``job_path``, ``curve_path`` and ``catalogue`` are files, by default the sample job, the example
    blade and the catalogue that come with the kit; ``language`` is "en" or "es", ``units`` "US" or
    "SI". Controls: ``step`` (a key of ``steps``), ``language``, ``units``, ``ahead`` [%] of the
    first step, ``reset``; each of ``steps`` has ``fields``, ``keep`` and ``slider``. ``picture`` is
    the last one drawn. Raises InputError when the files cannot be read or worked.
    """

    def __init__(
        self, job_path=None, curve_path=None, catalogue=None, language="en", units="US"
    ):  # fmt: skip
        super().__init__()
        self._pictured = {}
        curve = read_curve(curve_path or data_folder() / "curves" / "example-blade.csv")
        self.lesson = FanLesson.of(read_job(job_path), curve, read_motors(catalogue))
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
        self.verdict.value = lesson_fan_shown.verdict(lesson, *places, seen.told)
        self.picture = lesson_fan_shown.picture(lesson, *places, seen.told, self._drawn(seen))
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
    def paper(self) -> lesson_fan_shown.Notes:
        """The same as a table with every text whole."""
        return lesson_fan_shown.on_paper(self.judged)

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
        self.language, self.units = choice("", TONGUES), choice("", SYSTEMS)
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
