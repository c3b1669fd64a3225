"""Panel for worksheet 10, in which students read a nameplate and select a motor.

The readings do not use `Fields` because an empty field is an answer that is graded here ("cannot be
read").
"""

from collections.abc import Callable
from functools import lru_cache
from html import escape

import ipywidgets as widgets
import pandas as pd

from airover.app import current_job, style
from airover.app.fields import SYSTEMS, choice, text
from airover.app.panel import Panel, Picture
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.texts import languages
from airover.core.units import convert
from airover.lesson import case_shown as figures
from airover.lesson.case import WELL, WORK, Graded, Lesson, Outcome, graded
from airover.lesson.case_shown import Told
from airover.records.catalog import read_catalog
from airover.records.lesson import LessonCase, read_cases
from airover.reports.answer_tables import amps_by_voltage
from airover.reports.drawing import png

_GOOD, _SOME, _BAD = "fits", "fits with work", "does not fit"  # color bars for the verdict
_PLATE = (
    "font-family: monospace; font-size: 12.5px; line-height: 1.7; white-space: pre-wrap; "
    "border: 2px solid var(--ao-line); border-radius: 6px; padding: 8px 14px; margin: 4px 0 8px; "
    "background: var(--ao-wash);"
)


def opening(told: Told) -> str:
    """Return the text shown in place of the verdict before the first try."""
    return style.verdict(_SOME, told("choose_first"), told("invented"))


def verdict(told: Told, outcome: Outcome) -> str:
    """Return the verdict for a try and its main reason."""
    bar = _BAD if outcome.failed else _GOOD if outcome.when == WELL else _SOME
    found = told.of(outcome)
    return style.verdict(bar, f"{outcome.case.motor.model}: {found.verdict}", found.decides)


def story(told: Told, lesson: Lesson) -> str:
    """Return the story, the nameplate as shown to the student, and the hints."""
    case = told.story(lesson)
    plate = "\n".join(map(escape, lesson.case.plate))
    words = escape(told("plate_words"), quote=True)
    return (
        style.heading(case.title)
        + style.text(case.story)
        + style.heading(told("plate"))
        + f'<div style="{_PLATE}" role="img" aria-label="{words}">{plate}</div>'
        + style.folded(told("hints"), style.listed("", case.hints))
    )


def grades(told: Told, found: tuple[Graded, ...]) -> str:
    """Return the number of correct readings as a sentence."""
    right = sum(one.state in ("right", "left") for one in found)
    return style.quiet(told("score", right=right, all=len(found)))


def listed(told: Told, lesson: Lesson) -> str:
    """Return the motors on the short list as a table of catalog data."""
    names = ("speed", "power", "voltage", "ambient_rating", "rotation", "shaft_position")
    heads = [told.texts("options.motor"), *(told(f"field.{name}") for name in names)]
    heads += [told("field.shaft_length"), told("field.mounting"), told("field.bearings")]
    return _table(heads, [_row(told, motor) for motor in lesson.motors])


def _row(told: Told, motor) -> list[str]:
    said, texts, none = told.said, told.texts, told("none")
    rotation = motor.rotation_shaft_end
    seen = "" if rotation in (None, "reversible") else f" ({texts.word('shaft end')})"
    volts = (motor.voltage_low, motor.voltage_high)
    powers = {said.amount(watts, "power") for watts in (motor.ratings[0], motor.ratings[-1])}
    ambient, shaft = motor.ambient_rating, motor.shaft_length
    letter = motor.insulation_class or none
    return [
        motor.model,
        said.amount(motor.speed_rpm, "speed"),
        " - ".join(sorted(powers)),
        f"{said.range(*volts, 'voltage')}, {motor.frequency:g} Hz",
        f"{none if ambient is None else said.amount(ambient, 'temperature')}, {letter}",
        (texts.word(rotation) if rotation else none) + seen,
        texts.words(motor.shaft_positions) or none,
        none if shaft is None else said.amount(shaft, "shaft_length"),
        texts.words(motor.mounting) or none,
        texts.word(motor.bearings) if motor.bearings else none,
    ]


def happened(told: Told, outcome: Outcome, best: bool) -> str:
    """Return the consequences, values, modifications, open questions and best choice."""
    found = told.of(outcome)
    parts = [style.listed(when, sentences) for when, sentences in found.happened]
    title = style.heading(told("happened")) if parts else ""
    lists = [("figures", found.figures), ("works", found.works), ("open", found.open)]
    lists += [("best_title", found.compared)] if best else []
    shown = "".join(style.listed(told(key), sentences) for key, sentences in lists)
    heads = [told(f"check_{name}") for name in ("name", "sentence", "state")]
    checks = style.folded(told("all_checks"), _table(heads, found.checks))
    quiet = style.quiet(told("years_meaning")) + style.quiet(told("caution"))
    return title + "".join(parts) + shown + checks + quiet


def tries(told: Told, named: list[tuple[str, Outcome]], best: bool, saved: bool = False) -> str:
    """Return a table of all tries, with the best choices below them.

    If the tries are not ``saved``, a note below the table says so.
    """
    if not named:
        return ""
    lesson = named[0][1].lesson
    rows = [
        _try(told, name or told("own_try", number=number), outcome)
        for number, (name, outcome) in enumerate(named, start=1)
    ]
    if best:
        chosen = (lesson.choose(c.case.motor.name, WORK) for c in lesson.best)
        rows += [_try(told, told("best"), outcome) for outcome in chosen]
    years = next((cost.horizon for cost in lesson.costs.values()), 0)
    keys = ("outcome", "when", "amps", "winding", "winding_years", "bearing_years")
    heads = [told("try"), told.texts("options.motor"), *map(told, keys), told("money", years=years)]
    note = "" if saved else style.quiet(told("not_saved"))
    return style.heading(told("tries")) + _table(heads, rows) + note


def _try(told: Told, name: str, outcome: Outcome) -> list[str]:
    found, none = told.of(outcome), told("none")
    values, lives, cost = found.values, outcome.lives, outcome.cost
    money = none if cost is None else told.said.money(cost.band, cost.currency, 2)
    return [
        name,
        values["motor"],
        found.word,
        found.moment,
        f"{values['amps']} ({values['plate']})",
        f"{values['winding']} ({values['allowed']})",
        *(told.years(lives.get(part)) for part in ("winding", "bearing")),
        money,
    ]


def picture(told: Told, outcome: Outcome, best: bool) -> Picture:
    """Plot amps and full-load amps, temperatures and their limits, and life in years."""
    beside = _beside(outcome) if best else None
    words = {
        name: told(f"picture.{name}")
        for name in ("amps", "volts_axis", "amps_axis", "line", "ladder", "years", "years_axis")
    }
    unit = (KINDS["temperature"].us if told.said.system == "US" else KINDS["temperature"].si)[0]
    words["temp_axis"] = told("picture.temp_axis", unit=told.said.set(unit))
    words["plate"] = told("picture.plate", amps=f"{outcome.case.rated_current:g}")
    figure = figures.choice(
        _sweep(outcome), _ladder(told, outcome, beside, unit), _years(told, outcome, beside), words
    )
    return Picture(png(figure, 100), _words(told, outcome, beside))


def _words(told: Told, outcome: Outcome, beside: Outcome | None) -> str:
    values = told.of(outcome).values
    if beside is None:
        return told("picture.words_alone", **values)
    return told("picture.words", **values, best=beside.case.motor.model)


def _beside(outcome: Outcome) -> Outcome | None:
    """Return the best choice, or None if the student selected one of the best choices."""
    lesson = outcome.lesson
    if outcome.is_best or not lesson.best:
        return None
    return lesson.choose(lesson.best[0].case.motor.name, WORK)


def _sweep(outcome: Outcome) -> figures.Sweep:
    """Return amps against voltage, using the same samples as the answer."""
    case = outcome.case
    line = tuple(float(volts) for volts in case.conditions.voltage)
    voltage, current = amps_by_voltage(case, line)
    return figures.Sweep(voltage, current, line, case.rated_current)


def _ladder(told: Told, outcome: Outcome, beside, unit) -> list[figures.Rung]:
    """Return the temperatures of the outdoor air, the air at the motor and the winding."""
    limits = {"air": (outcome.case.motor.ambient_rating, "rated"), "winding": _class(outcome)}
    rungs = [
        _rung(told, told(f"picture.{name}"), band, limits.get(name), outcome, unit)
        for name, band in outcome.ladder.items()
        if band is not None  # a motor that was not simulated has no winding temperature
    ]
    if beside is not None:
        name = f"{told('picture.winding')}, {told('best')}"
        band = beside.ladder["winding"]
        rungs.append(_rung(told, name, band, _class(beside), beside, unit))
    return rungs


def _class(outcome: Outcome) -> tuple[float | None, str]:
    return outcome.allowed, "allowed"


def _rung(told: Told, name, band: Band, limit, outcome: Outcome, unit) -> figures.Rung:
    shown = Band(*(float(convert(end, "temperature", unit)) for end in band))
    if limit is None or limit[0] is None:
        return figures.Rung(name, shown)
    letter = outcome.case.motor.insulation_class
    temp = told.said.amount(limit[0], "temperature")
    word = told(f"picture.{limit[1]}", temp=temp, letter=letter)
    return figures.Rung(name, shown, float(convert(limit[0], "temperature", unit)), word)


def _years(told: Told, outcome: Outcome, beside: Outcome | None) -> list[figures.LifeBar]:
    spans = []
    for part in ("winding", "bearing"):
        name = told(f"picture.{part}_part")
        band = outcome.lives.get(part)
        why = told("fact.unknown") if outcome.runs_up else told("picture.no_years")
        spans.append(figures.LifeBar(name, band, "" if band else why))
        if beside is not None and part in beside.lives:
            spans.append(figures.LifeBar(f"{name}, {told('best')}", beside.lives[part]))
    return spans


def _table(heads: list[str], rows: list) -> str:
    return style.table(pd.DataFrame(rows, columns=heads))


ASKED = {name: how for page in current_job.NAMEPLATE.values() for name, how in page.items()}


def _read(cases, catalog) -> tuple[dict[str, LessonCase], Callable[[str], Lesson]]:
    """Return the cases by key, and the function that evaluates a case."""
    found = {
        case.key: case for case in read_cases(cases or data_folder() / "lesson" / "cases")
    }  # fmt: skip
    motors = read_catalog(catalog or data_folder() / "catalogue.csv")
    return found, lru_cache(maxsize=8)(lambda key: Lesson.of(found[key], motors))


@lru_cache(maxsize=1)  # shared by all students of a class
def cases_of_the_kit() -> tuple[dict[str, LessonCase], Callable[[str], Lesson]]:
    """Return the cases supplied with airover, and the function that evaluates a case."""
    return _read(None, None)


class LessonCasePanel(Panel):
    """Panel for a classroom case, with a nameplate to read and a motor to select.

    The controls are ``chosen_case``, ``language``, ``units``, ``readings`` (by field name),
    ``check_button``, ``motor``, ``works`` (a check box for each key of WORK), ``who``,
    ``install_button``, ``best_too`` and ``reset_button``. The attribute ``answer`` is the Lesson.
    The attribute ``tries`` contains the named outcomes, most recent last, and ``saved`` is True if
    they are also saved elsewhere.

    Parameters
    ----------
    cases : str or os.PathLike, optional
        Folder of case files, by default the folder supplied with airover.
    language : str, optional
        Language, "en" or "es".
    units : str, optional
        Unit system, "US" or "SI".

    Attributes
    ----------
    catalog : str or os.PathLike, optional
        CSV file of the catalog, by default the file supplied with airover.

    Raises
    ------
    InputError
        If the files cannot be read.
    """

    def __init__(self, cases=None, catalog=None, language="en", units="US"):
        super().__init__()
        if cases is None and catalog is None:
            self.cases, self._lesson = cases_of_the_kit()
        else:
            self.cases, self._lesson = _read(cases, catalog)
        self.tries, self.readings, self.graded, self.pictured = [], {}, (), None
        self.saved = False
        self._make_controls(language, units)
        self.told = Told(language, units)
        self._read_again()
        self.answer = self.compute()
        self.draw()
        self._observe()
        self._arrange()

    def compute(self) -> Lesson:
        """Evaluate the motors on the short list for the selected case."""
        return self._lesson(self.chosen_case.value)

    @property
    def given(self) -> dict[str, str]:
        """Return the text in each field, or an empty string if nothing was typed."""
        return {name: control.value for name, control in self.readings.items()}

    @property
    def outcome(self) -> Outcome | None:
        """Return the latest try, or None before the first try."""
        return self.tries[-1][1] if self.tries else None

    @property
    def watch(self) -> tuple[str, ...]:
        """Return the points that the instructor should watch for in the selected case."""
        return self.told.story(self.answer).watch

    def grade(self) -> None:
        """Grade each reading and show the grade below its field."""
        self.graded = graded(self.answer.case, self.given)
        for one in self.graded:
            place = self._places[one.field]
            place.value, place.layout.display = style.quiet(self.told.grade(one)), None
        self.score.value = grades(self.told, self.graded)

    def install(self) -> None:
        """Install the selected motor and show the consequences, or ask for a selection."""
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
        """Clear the readings, the selection and the tries for the next student."""
        self.tries, self.graded = [], ()
        self._read_again(keep=False)
        self.motor.value = ""
        for box in self.works.values():
            box.value = False
        self.who.value = self.asked_for.value = ""
        self.draw_tries()

    def draw(self) -> None:
        self.story.value = story(self.told, self.answer)
        self.listed.value = style.folded(self.told("listed"), listed(self.told, self.answer))
        self.draw_tries()

    def draw_tries(self) -> None:
        """Show the consequences of the latest try and the table of all tries."""
        told, best, outcome = self.told, self.best_too.value, self.outcome
        self.tried.value = tries(told, self.tries, best, self.saved)
        if outcome is None:
            self.pictured = None
            self.verdict.value = opening(told)
            self.picture.value = self.happened.value = ""
            return
        self.pictured = picture(told, outcome, best)
        self.verdict.value = verdict(told, outcome)
        self.picture.value = self.pictured.html()
        self.happened.value = happened(told, outcome, best)

    def refused(self, error: InputError | None) -> None:
        """Do nothing, because readings are graded and never rejected."""

    def _make_controls(self, language: str, units: str) -> None:
        self.language, self.units = choice("", languages()), choice("", SYSTEMS)
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
        self._fields, self._field = widgets.VBox(), lru_cache(maxsize=None)(self._make_field)
        self._places = {name: widgets.HTML() for name in ASKED}

    def _read_again(self, keep: bool = True) -> None:
        """Show the fields for the selected case, keeping the readings if ``keep`` is True."""
        case, before = self.cases[self.chosen_case.value], self.given if keep else {}
        self.told = Told(self.language.value, self.units.value)
        self.readings = {name: self._field(name, self.language.value) for name in case.fields}
        for name, control in self.readings.items():
            control.value = before.get(name, "")
            self._places[name].layout.display = "none"
        self._fields.children = [
            widget for name in case.fields for widget in (self.readings[name], self._places[name])
        ]
        self.score.value = ""
        with self.filling():
            self._say()

    def _make_field(self, name: str, language: str):
        """Return the control for the reading ``name``, with words in ``language``."""
        accepted = ASKED[name]
        if isinstance(accepted, str):
            control = text(self.told(f"field.{name}"))
            control.placeholder = self.told("such_as", example=accepted)
            return control
        words = [(self.told.texts.word(word), word) for word in accepted]
        return choice(self.told(f"field.{name}"), [(self.told("field.unknown"), ""), *words])

    def _say(self) -> None:
        """Set all control labels in the selected language."""
        told, cases, motor = self.told, self.cases.values(), self.motor.value
        at, language = self.chosen_case.value, self.language.value
        self.chosen_case.options = [
            (told("level", level=case.level, title=case.story(language).title), case.key)
            for case in cases
        ]
        self.chosen_case.value = at
        self.motor.options = [(told("not_chosen"), ""), *self._offered()]
        self.motor.value = motor if motor in self.cases[at].motors else ""
        for name, control in (("case", self.chosen_case), ("language", self.language)):
            control.description = told(name)
        self.units.description, self.who.description = told("units"), told("who")
        self.units.options = [(told.said(f"panel.system.{one}"), one) for one in SYSTEMS]
        self.units.value = told.said.system
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
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        self.check_button.on_click(lambda _: self.grade())
        self.install_button.on_click(lambda _: self.install())
        self.reset_button.on_click(lambda _: self.reset())

    def _worded(self, change) -> None:
        """Show the readings, selection and tries in another language or unit system."""
        if self._filling:
            return
        graded_before = bool(self.graded)
        self._read_again()
        self.slide()
        if graded_before:
            self.grade()

    def _other_case(self, change) -> None:
        """Start another case and discard the readings and tries."""
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
