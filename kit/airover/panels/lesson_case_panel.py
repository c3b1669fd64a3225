"""The panel of worksheet 10: read a plate, choose a motor, see what the choice would have done."""

from functools import lru_cache

import ipywidgets as widgets

from airover.errors import InputError
from airover.exercise.case import WORK, Lesson, Outcome, graded
from airover.locations import data_folder
from airover.panels import job_fields, lesson_case_shown, style
from airover.panels.parts import Panel, choice, text
from airover.records import read_catalogue
from airover.records.lesson_case import read_cases
from airover.reports.case import Told

LANGUAGES = [("English", "en"), ("Español", "es")]
SYSTEMS = [("US", "US"), ("SI", "SI")]
ASKED = {name: how for page in job_fields.NAMEPLATE.values() for name, how in page.items()}


class LessonCasePanel(Panel):
    """A case for a class: story and plate, the student's readings, a choice, what comes of it.

    ``cases`` is a folder of case files and ``catalogue`` a CSV file, by default those of the kit;
    ``language`` is "en" or "es", ``units`` "US" or "SI". Controls: ``chosen_case``, ``language``,
    ``units``, ``readings`` (a control for each asked field, by its name), ``check_button``,
    ``motor``, ``works`` (a tick box for each key of WORK), ``who``, ``install_button``,
    ``best_too``, ``reset_button``. ``answer`` is the Lesson, ``tries`` the named outcomes, the
    newest last, kept nowhere but here. Raises InputError when files cannot be read.
    """

    def __init__(self, cases=None, catalogue=None, language="en", units="US"):
        super().__init__()
        folder = cases or data_folder() / "lesson" / "cases"
        self.cases = {case.key: case for case in read_cases(folder)}
        self._motors = read_catalogue(catalogue or data_folder() / "catalogue.csv")
        self._lesson = lru_cache(maxsize=8)(self._judged)
        self.tries, self.readings, self.graded, self.pictured = [], {}, (), None
        self._make_controls(language, units)
        self.told = Told(language, units)
        self._read_again()
        self.answer = self.compute()
        self.draw()
        self._observe()
        self._arrange()

    def compute(self) -> Lesson:
        """The chosen case with its short list judged."""
        return self._lesson(self.chosen_case.value)

    def _judged(self, key: str) -> Lesson:
        return Lesson.of(self.cases[key], self._motors)

    @property
    def given(self) -> dict[str, str]:
        """What was typed, by field; empty where nothing was."""
        return {name: control.value for name, control in self.readings.items()}

    @property
    def outcome(self) -> Outcome | None:
        """The newest try, None before the first."""
        return self.tries[-1][1] if self.tries else None

    @property
    def watch(self) -> tuple[str, ...]:
        """What the instructor should look for in the chosen case."""
        return self.told.story(self.answer).watch

    def grade(self) -> None:
        """Say at each field how right the reading is."""
        self.graded = graded(self.answer.case, self.given)
        for one in self.graded:
            place = self._places[one.field]
            place.value, place.layout.display = style.quiet(self.told.grade(one)), None
        self.score.value = lesson_case_shown.grades(self.told, self.graded)

    def install(self) -> None:
        """Put the chosen motor in and show what it would have done; no motor is told."""
        if not self.motor.value:
            self.asked_for.value = style.problem(self.told("not_chosen"))
            return
        self.asked_for.value = style.quiet(self.told("working"))
        if any(self.given.values()):
            self.grade()
        done = [work for work, box in self.works.items() if box.value]
        self.tries.append((self.who.value.strip(), self.answer.choose(self.motor.value, done)))
        self.draw_tries()
        self.asked_for.value = ""

    def reset(self) -> None:
        """Clear readings, choice and tries for the next student."""
        self.tries, self.graded = [], ()
        self._read_again(keep=False)
        self.motor.value = ""
        for box in self.works.values():
            box.value = False
        self.who.value = self.asked_for.value = ""
        self.draw_tries()

    def draw(self) -> None:
        self.story.value = lesson_case_shown.story(self.told, self.answer)
        self.listed.value = style.folded(
            self.told("listed"), lesson_case_shown.listed(self.told, self.answer)
        )
        self.draw_tries()

    def draw_tries(self) -> None:
        """What came of the newest try, and all of them side by side."""
        told, best, outcome = self.told, self.best_too.value, self.outcome
        self.tried.value = lesson_case_shown.tries(told, self.tries, best)
        if outcome is None:
            self.pictured = None
            self.verdict.value = lesson_case_shown.opening(told)
            self.picture.value = self.happened.value = ""
            return
        self.pictured = lesson_case_shown.picture(told, outcome, best)
        self.verdict.value = lesson_case_shown.verdict(told, outcome)
        self.picture.value = self.pictured.html()
        self.happened.value = lesson_case_shown.happened(told, outcome, best)

    def refused(self, error: InputError | None) -> None:
        """Nothing that is typed here is refused: readings are graded instead."""

    def _make_controls(self, language: str, units: str) -> None:
        self.language, self.units = choice("", LANGUAGES), choice("", SYSTEMS)
        self.language.value, self.units.value = language, units
        self.chosen_case = choice("", list(self.cases))
        self.motor = widgets.Select(options=[("", "")], rows=9, layout={"width": "auto"})
        self.works = {work: widgets.Checkbox(indent=False) for work in WORK}
        for box in self.works.values():
            box.layout.width = "auto"
        self.who = text("")
        self.best_too = widgets.Checkbox(value=True, indent=False, layout={"width": "auto"})
        for name in ("check", "install", "reset"):
            setattr(self, f"{name}_button", widgets.Button(layout={"width": "auto"}))
        self.install_button.button_style = "primary"
        for name in (
            "story", "score", "verdict", "picture", "happened", "tried", "listed", "asked_for",
            "_read_title", "_choose_title", "_work_title",
        ):  # fmt: skip
            setattr(self, name, widgets.HTML())
        self._fields = widgets.VBox()

    def _read_again(self, keep: bool = True) -> None:
        """All words in the language, fields and motors of the chosen case; readings are kept."""
        case, before = self.cases[self.chosen_case.value], self.given if keep else {}
        self.told = Told(self.language.value, self.units.value)
        self.readings = {name: self._field(name) for name in case.fields}
        self._places = {name: _hidden() for name in case.fields}
        for name in case.fields:
            self.readings[name].value = before.get(name, "")
        self._fields.children = [
            widget for name in case.fields for widget in (self.readings[name], self._places[name])
        ]
        self.score.value = ""
        with self.filling():
            self._say()

    def _field(self, name: str):
        accepted = ASKED[name]
        if isinstance(accepted, str):
            control = text(self.told(f"field.{name}"))
            control.placeholder = self.told("such_as", example=accepted)
            return control
        words = [(self.told.texts.word(word), word) for word in accepted]
        return choice(self.told(f"field.{name}"), [(self.told("field.unknown"), ""), *words])

    def _say(self) -> None:
        """Every word of the controls in the language that is chosen."""
        told, cases, motor = self.told, self.cases.values(), self.motor.value
        at, language = self.chosen_case.value, self.language.value
        self.chosen_case.options = [
            (told("level", level=case.level, title=case.stories[language].title), case.key)
            for case in cases
        ]
        self.chosen_case.value = at
        self.motor.options = [(told("not_chosen"), ""), *self._offered()]
        self.motor.value = motor if motor in self.cases[at].motors else ""
        for name, control in (("case", self.chosen_case), ("language", self.language)):
            control.description = told(name)
        self.units.description, self.who.description = told("units"), told("who")
        self.who.placeholder = told("such_as", example=told("who_example"))
        self.best_too.description = told("best_too")
        for work, box in self.works.items():
            box.description = told(f"do.{work}")
        for name in ("check", "install", "reset"):
            getattr(self, f"{name}_button").description = told(name)
        self.install_button.tooltip, self.reset_button.tooltip = (
            told("install_hint"),
            told("reset_hint"),
        )
        self._read_title.value = style.heading(told("read")) + style.quiet(told("read_hint"))
        self._choose_title.value = style.heading(told("choose"))
        self._work_title.value = style.heading(told("work"))

    def _offered(self) -> list[tuple[str, str]]:
        lesson = self.compute()
        return [(self.told.offered(motor), motor.name) for motor in lesson.motors]

    def _observe(self) -> None:
        for control in (self.language, self.units):
            control.observe(self._worded, "value")
        self.chosen_case.observe(self._other_case, "value")
        self.best_too.observe(lambda _: self.draw_tries(), "value")
        # ipywidgets only logs what a click raises: the handlers do nothing but call these.
        self.check_button.on_click(lambda _: self.grade())
        self.install_button.on_click(lambda _: self.install())
        self.reset_button.on_click(lambda _: self.reset())

    def _worded(self, change) -> None:
        """Another language or system: the same readings, choice and tries, said anew."""
        if self._filling:
            return
        graded_before = bool(self.graded)
        self._read_again()
        self.slide()
        if graded_before:
            self.grade()

    def _other_case(self, change) -> None:
        """Another case begins without readings and tries."""
        if not self._filling:
            self.reset()
            self.slide()

    def _arrange(self) -> None:
        boxes = widgets.VBox(list(self.works.values()))
        buttons = widgets.HBox([self.install_button, self.reset_button])
        left = [
            self._read_title, self._fields, self.check_button, self.score, self._choose_title,
            self.motor, self._work_title, boxes, self.who, buttons, self.asked_for, self.best_too,
        ]  # fmt: skip
        head = [widgets.HBox([self.chosen_case, self.language, self.units])]
        right = [self.verdict, self.picture, self.happened]
        self.arrange([*head, self.story, self.listed], left, right, [self.tried])


def _hidden() -> widgets.HTML:
    return widgets.HTML(layout={"display": "none"})
