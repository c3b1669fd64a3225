"""Standalone lesson pages, which all students open on their phones with the same link.

Each student types a name and sees only their own answers. The instructor's view lists each
student's answers. Answers are held in memory and are also added to a CSV file in the user's folder.
"""

import csv
import datetime
import io
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

import ipywidgets as widgets

from airover.app import style
from airover.app.fields import text
from airover.app.lesson_case_panel import LessonCasePanel, cases_of_the_kit
from airover.app.lesson_fan_panel import LessonFanPanel, fan_lesson
from airover.core.errors import InputError, is_plain, without_direction_marks
from airover.core.files import make_folder
from airover.core.message import Message
from airover.core.texts import Texts, Writer
from airover.core.units import quoted
from airover.lesson.fan_laws_shown import STEPS, correct
from airover.records.lesson import LONGEST_NAME, MOST_STUDENTS
from airover.reports.writing import guarded

FAN, CASE = "fan", "case"
# The panels are made for worksheets. On a phone, labels are above their fields and plots scroll.
_STYLE = """<style>
.ao-class .ao-top, .ao-class .ao-top .ao-status { min-height: 0 !important; height: auto; }
.ao-class .widget-text .widget-label, .ao-class .widget-dropdown .widget-label {
  text-align: left !important; width: auto !important; align-self: flex-start; }
.ao-class .widget-checkbox, .ao-class .widget-checkbox .widget-label-basic {
  height: auto; white-space: normal; }
.ao-class .ao-both .ao-controls .widget-html, .ao-class .ao-below { overflow-x: auto; }
.ao-class .ao-result img { min-width: 620px; }
.ao-class .ao-result .widget-html-content { overflow-x: auto; }
</style>"""


class Answer(NamedTuple):
    """Student's answer to one step of a lesson.

    Attributes
    ----------
    given : dict[str, str]
        Values of the student's controls, which are restored after a reload.
    said : tuple[str, ...]
        Answer in words.
    right, count : int
        Number of correct entries and total number of entries.
    """

    given: dict[str, str]
    said: tuple[str, ...]
    right: int
    count: int
    time: datetime.datetime


@dataclass(eq=False)
class Student:
    """Student who has joined, with the latest ``answers`` by lesson and step."""

    name: str
    answers: dict[tuple[str, str], Answer] = field(default_factory=dict)


class ClassBook:
    """Students in a class and their answers, shared by all pages of a server.

    Parameters
    ----------
    folder : Path
        Folder for the CSV file. It is created with the first answer.
    """

    def __init__(self, folder: Path):
        self._folder, self._lock = folder, threading.Lock()
        self._students: dict[str, Student] = {}  # by browser session
        self._left: list[Student] = []  # students whose browser was handed to another student
        self.trouble: InputError | None = None

    @property
    def students(self) -> list[Student]:
        """All students, sorted by name."""
        with self._lock:
            found = [*self._left, *self._students.values()]
        return sorted(found, key=lambda one: one.name.casefold())

    @property
    def path(self) -> Path:
        """CSV file with today's answers."""
        return self._folder / f"class-{datetime.date.today():%Y-%m-%d}.csv"

    def student(self, session: str) -> Student | None:
        """Return the student who joined in a browser session."""
        return self._students.get(session)

    def join(self, session: str, name: str) -> Student:
        """Add a student.

        Raises
        ------
        InputError
            If the name is empty, too long or not on one line, or if the class is full.
        """
        name = " ".join(without_direction_marks(name).split())
        if not 0 < len(name) <= LONGEST_NAME or not is_plain(name):
            accepted = Message("error.class.line", most=LONGEST_NAME)
            raise InputError(Message("lesson_page.field"), quoted(name), accepted)
        with self._lock:
            if len(self._students) + len(self._left) >= MOST_STUDENTS:
                accepted = Message("lesson_page.full", most=MOST_STUDENTS)
                raise InputError(Message("lesson_page.field"), quoted(name), accepted)
            return self._students.setdefault(session, Student(name))

    def leave(self, session: str) -> None:
        """Let another student join from the same browser."""
        with self._lock:
            if session in self._students:
                self._left.append(self._students.pop(session))

    def note(self, student: Student, lesson: str, step: str, answer: Answer) -> None:
        """Store an answer, replacing any earlier answer to the same step."""
        with self._lock:
            student.answers[lesson, step] = answer
            try:
                self._write(student, lesson, step, answer)
                self.trouble = None
            except InputError as error:
                self.trouble = error

    def _write(self, student: Student, lesson: str, step: str, answer: Answer) -> None:
        field = Message("lesson_page.folder")
        make_folder(self._folder, field)
        try:
            with open(self.path, "a", encoding="utf-8", newline="") as file:
                file.write(_line(student, lesson, step, answer, heads=file.tell() == 0))
        except OSError as error:
            accepted = Message("lesson_page.writable")
            raise InputError(field, f"{self.path} ({error.strerror})", accepted) from None


def _line(student: Student, lesson: str, step: str, answer: Answer, heads: bool) -> str:
    page = io.StringIO(newline="")
    writer = csv.writer(page, lineterminator="\n")
    if heads:
        writer.writerow(["time", "student", "lesson", "step", "answer", "correct", "entries"])
    said = (student.name, lesson, step, "; ".join(answer.said))
    time = f"{answer.time:%Y-%m-%d %H:%M:%S}"
    writer.writerow([time, *map(guarded, said), answer.right, answer.count])
    return page.getvalue()


class LessonPage:
    """Page of a ``lesson`` for one student, displayed by the widget ``view``.

    The controls are ``name``, ``join_button`` and ``other_button``. The attribute ``panel`` is the
    panel of the worksheet, or None before the student has joined.

    Parameters
    ----------
    session : str
        Browser session. A student who reloads the page continues with the same answers.
    """

    def __init__(self, lesson: str, language: str, units: str, session: str, book: ClassBook):
        self.lesson, self._begins, self._session, self.book = (
            lesson,
            (language, units),
            session,
            book,
        )
        self.panel = self.student = None
        self.view = widgets.VBox()
        for name in ("airover", "ao-page", "ao-class"):
            self.view.add_class(name)
        self.head, self.told, self.invited = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.name = text("")
        self.join_button, self.other_button = widgets.Button(), widgets.Button()
        self.join_button.add_class("ao-main")
        self.join_box = widgets.VBox([self.invited, self.name, self.join_button])
        self.joined_box = widgets.HBox([self.other_button])
        self.place = widgets.VBox()
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        self.join_button.on_click(lambda _: self.join())
        self.other_button.on_click(lambda _: self.other())
        self.view.children = [self.head, self.told, self.join_box, self.place, self.joined_box]
        self.student = book.student(session)
        self._show()

    @property
    def texts(self) -> Texts:
        """Texts in the language that the student selected."""
        return Texts(self.panel.language.value if self.panel else self._begins[0])

    def join(self) -> None:
        """Join with the name that the student typed, or show why it is rejected."""
        try:
            self.student = self.book.join(self._session, self.name.value)
        except InputError as error:
            self.told.value = style.problem(Writer(self.texts.language).error(error))
            return
        self._show()

    def other(self) -> None:
        """Ask for the name of another student. The first student's answers are saved."""
        self.book.leave(self._session)
        self.student = self.panel = None
        self.name.value = ""
        self._show()

    def leave(self) -> None:
        """Do nothing when the page is closed, because every answer is already stored."""

    def _show(self) -> None:
        joined = self.student is not None
        if joined:
            self.panel = PANELS[self.lesson](self)
            self.panel.language.observe(lambda _: self._say(), "value")
        self.place.children = [self.panel.view] if joined else []
        self.join_box.layout.display = "none" if joined else None
        self.joined_box.layout.display = None if joined else "none"
        self._say()

    def _say(self) -> None:
        texts = self.texts
        self.head.value = (
            style.STYLE + _STYLE + style.title(texts(f"lesson_page.title.{self.lesson}"), texts)
        )
        self.invited.value = style.text(texts("lesson_page.invited"))
        self.name.description = texts("lesson_page.name")
        self.join_button.description = texts("lesson_page.join")
        self.other_button.description = texts("lesson_page.other")
        if self.student is None:
            self.told.value = ""
        else:
            self.told.value = style.status(texts("lesson_page.joined", name=self.student.name))

    def earlier(self, step: str) -> dict[str, str] | None:
        """Return the controls for the student's answer to a step, or None."""
        found = self.student.answers.get((self.lesson, step))
        return None if found is None else found.given

    def note(self, step: str, given: dict, said, right: int, count: int) -> None:
        """Store the student's answer."""
        answer = Answer(given, tuple(said), right, count, datetime.datetime.now())
        self.book.note(self.student, self.lesson, step, answer)

    def begin(self) -> tuple[str, str]:
        """Return the language and units of the page."""
        return self._begins


def _fan(page: LessonPage) -> LessonFanPanel:
    """Return the fan law panel with the student's earlier predictions."""
    language, units = page.begin()
    panel = LessonFanPanel(language=language, units=units)
    panel.reset.layout.display = "none"
    for name in STEPS:
        if given := page.earlier(name):
            typed = {key: value for key, value in given.items() if key != "ahead"}
            if name == STEPS[0]:
                panel.ahead.value = int(given["ahead"])
            panel.predict(name, **typed)
    if any(one.guesses for one in panel.steps.values()):
        panel.step.value = next(
            (name for name, one in panel.steps.items() if not one.guesses), STEPS[-1]
        )

    def note(name: str) -> None:
        step = panel.steps[name]
        if not step.guesses:  # an entry could not be read
            return
        given = {key: control.value for key, control in step.fields.items()}
        said = [f"{one.description}: {_label(one)}" for one in step.fields.values()]
        if name == STEPS[0]:
            given["ahead"] = str(panel.ahead.value)
        right = correct(panel.lesson, name, step.guesses, panel.ahead.value)
        page.note(name, given, said, sum(right), len(right))

    for name, step in panel.steps.items():  # called after the panel's own handler
        step.keep.on_click(lambda _, name=name: note(name))
    return panel


def _label(control) -> str:
    return control.label if hasattr(control, "options") else control.value.strip()


def _case(page: LessonPage) -> LessonCasePanel:
    """Return the case panel with the student's latest choice in the first case."""
    language, units = page.begin()
    panel = LessonCasePanel(language=language, units=units)
    panel.best_too.value = False  # the instructor shows the best choice after the discussion
    for control in (panel.who, panel.reset_button, panel.best_too):
        control.layout.display = "none"
    panel.saved, panel.who.value = True, page.student.name
    panel.chosen_case.observe(lambda _: again(), "value")

    def again() -> None:
        panel.who.value = page.student.name
        given = page.earlier(panel.chosen_case.value)
        if given is not None:
            panel.motor.value = given["motor"]
            for work, box in panel.works.items():
                box.value = work in given
            for name, control in panel.readings.items():
                control.value = given.get(f"reading {name}", "")
            panel.install()

    def note() -> None:
        outcome = panel.outcome
        if not panel.motor.value or outcome is None:
            return
        done = [work for work, box in panel.works.items() if box.value]
        given = {"motor": panel.motor.value} | dict.fromkeys(done, "yes")
        given |= {f"reading {name}": value for name, value in panel.given.items() if value}
        tries = 1 + int((page.earlier(panel.chosen_case.value) or {}).get("tries", 0))
        given["tries"] = str(tries)
        texts, found = page.texts, panel.told.of(outcome)
        said = [outcome.case.motor.model, found.verdict]
        said += [panel.works[work].description for work in done]
        read = sum(one.state in ("right", "left") for one in panel.graded)
        if panel.graded:
            said.append(texts("lesson_page.read", right=read, count=len(panel.graded)))
        said.append(texts("lesson_page.tries", count=tries))
        page.note(panel.chosen_case.value, given, said, int(outcome.is_best), 1)

    again()
    panel.install_button.on_click(lambda _: note())  # called after the panel's own handler
    return panel


PANELS: dict[str, Callable[[LessonPage], LessonFanPanel | LessonCasePanel]] = {
    FAN: _fan, CASE: _case,
}  # fmt: skip


def get_lessons_ready() -> None:
    """Evaluate the lessons in advance so that a class need not wait for the first result."""
    lesson = fan_lesson()
    for name in ("speed", "blocked", "fitted", "height"):
        getattr(lesson, name)
    cases, evaluated = cases_of_the_kit()
    for key in cases:
        found = evaluated(key)
        for name in ("season", "years", "costs"):
            getattr(found, name)


def class_view(book: ClassBook, language: str) -> dict:
    """Return the content of the instructor's view as plain data."""
    texts, students = Texts(language), book.students
    cases = {key: case.story(language).title for key, case in cases_of_the_kit()[0].items()}
    steps = {
        FAN: {name: texts(f"lesson_fan.step.{name}") for name in STEPS},
        CASE: cases,
    }
    path = texts("lesson_page.file", path=book.path)
    return {
        "title": texts("lesson_page.view"),
        "joined": texts("lesson_page.count", count=len(students)),
        "note": texts("lesson_page.refreshed"),
        "file": path if any(one.answers for one in students) else "",
        "trouble": "" if book.trouble is None else Writer(language).error(book.trouble),
        "student": texts("lesson_page.student"),
        "lessons": [
            {
                "title": texts(f"lesson_page.title.{lesson}"),
                "heads": [
                    (title, texts("lesson_page.answered", count=_count(students, lesson, step),
                                  all=len(students)))
                    for step, title in titles.items()
                ],
                "rows": [
                    (one.name, [_cell(one.answers.get((lesson, step)), lesson, texts)
                                for step in titles])
                    for one in students
                ],
            }
            for lesson, titles in steps.items()
        ],
    }  # fmt: skip


def _count(students: list[Student], lesson: str, step: str) -> int:
    return sum((lesson, step) in one.answers for one in students)


def _cell(answer: Answer | None, lesson: str, texts: Texts) -> dict:
    if answer is None:
        return {"head": "", "said": []}
    if lesson == FAN:
        head = texts("lesson_page.correct", right=answer.right, count=answer.count)
    else:
        head = texts(f"lesson_page.{'best' if answer.right else 'not_best'}")
    return {"head": f"{head} ({answer.time:%H:%M})", "said": answer.said}
