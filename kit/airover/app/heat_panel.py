"""The panel of worksheet 04: will it trip, and how long does the winding last.

What the panel of heat asks: sliders' ends, and readings of ohms and of the shell.

A winding's heat in pieces of HTML, as its panel places them.
"""

from functools import lru_cache

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import (
    OUTDOORS,
    AmountSlider,
    accepted,
    below,
    choice,
    english,
    slider,
    text,
)
from airover.app.motor_panel import QUICKEST
from airover.app.panel import PagedPanel, Picture, read_job, read_motors
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import parse_number, quoted, read
from airover.model.heat_answer import HeatAnswer, HeatInput, HeatPlace
from airover.model.heat_study import HeatReading, shell_by_thermocouple, winding_by_resistance
from airover.model.temperature_history import RESET_BELOW_TRIP, TRIP_BELOW_LIMIT
from airover.physics.heat import at_switch_off
from airover.records.job import Job
from airover.reports import heat as figures_heat
from airover.reports import heat as tables_heat
from airover.reports import heat as told
from airover.reports.heat import HeatPicture
from airover.selection.answer import CAUTIONS, answer

VOLTS = (0.85, 1.12)  # over the line's usual ones
# Label and example of each.
_COLD, _HOT = ("cold_ohms", "temp_cold"), ("times", "hot_ohms")
FIELDS = {
    "voltage": ("Line [V]", "236 V"),
    "temp_air": ("Air at the motor", "127 degF"),
    "cold_ohms": ("Cold winding [ohm]", "10.42"),
    "temp_cold": ("when it has", "77 degF"),
    "times": ("Off since [s]", "10, 20, 30, 40"),
    "hot_ohms": ("then [ohm]", "13.3, 13.2, 13.1"),
    "shell": ("Shell, running", "204 degF"),
}


class HeatReadings:
    """Lines for what was read, each an attribute of its name in FIELDS; ``view`` has them all."""

    def __init__(self, write: Writer):
        self._write = write
        self.controls = {
            name: text(write(f"panel.heat.field.{name}"), example, write)
            for name, (_, example) in FIELDS.items()
        }
        vars(self).update(self.controls)
        self.problems = {name: below() for name in FIELDS}
        self.missing = widgets.HTML(layout={"min_height": "44px"})  # so that it moves nothing
        rows = [one for name in FIELDS for one in (self.controls[name], self.problems[name])]
        self.view = widgets.VBox(
            [widgets.HTML(style.quiet(write("panel.heat.how_to_read"))), *rows, self.missing]
        )

    def fill(self, typed: dict[str, str]) -> None:
        """Write what was ``typed``, by field; all others become empty."""
        for name, control in self.controls.items():
            control.value = typed.get(name, "")

    def given(self) -> tuple[tuple[str, str], ...]:
        """What was typed, by field; empty ones left out. It can be a key of a cache."""
        typed = ((name, control.value.strip()) for name, control in self.controls.items())
        return tuple((name, value) for name, value in typed if value)

    def show_problem(self, error: InputError | None) -> None:
        """Say at the field that ``error`` names what it accepts; clear all others."""
        field = english(error)
        for name, place in self.problems.items():
            at_fault = field == _field(name)
            place.value = style.wrong(accepted(error, self._write)) if at_fault else ""

    def tell(self) -> None:
        """Say below the lines what a reading still lacks."""
        lacking = lacks(dict(self.given()))
        names = [self._write(f"panel.heat.missing.{name}") for name in lacking]
        told = style.quiet(self._write("panel.heat.not_used", names=names))
        self.missing.value = told if lacking else ""


def lacks(given: dict[str, str]) -> list[str]:
    """Fields that what was ``given`` needs beside it."""
    ohms = any(name in given for name in (*_COLD, *_HOT))
    needed = ["voltage", "temp_air"] if given else []
    if ohms or (given and "shell" not in given):
        needed += [*_COLD, *_HOT]
    return [name for name in needed if name not in given]


def readings(given: dict[str, str]) -> list[HeatReading]:
    """The reading that was ``given``, or none as long as it lacks something. Raises InputError."""
    if not given or lacks(given):
        return []
    volts = read(given["voltage"], "voltage", _field("voltage")).mid
    air = _temp(given, "temp_air")
    winding = shell = None
    if "hot_ohms" in given:
        off = at_switch_off(_numbers(given, "times"), _numbers(given, "hot_ohms"))
        (cold,) = _numbers(given, "cold_ohms", 1)
        winding = winding_by_resistance(cold, _temp(given, "temp_cold"), off)
    if "shell" in given:
        shell = shell_by_thermocouple(_temp(given, "shell"), air)
    return [HeatReading(volts, air, winding, shell)]


def _temp(given, name) -> float:
    kind = "temperature" if name == "shell" else "air_temperature"
    return read(given[name], kind, _field(name)).mid


def _field(name: str) -> str:
    return f"reading, {FIELDS[name][0].split(' [')[0].lower()}"


def _numbers(given, name, count=None) -> list[float]:
    numbers = [parse_number(part) for part in given[name].replace(";", ",").split(",")]
    if None in numbers or (count is not None and len(numbers) != count):
        accepted = "one number" if count == 1 else "numbers with commas between them"
        raise InputError(
            _field(name), quoted(given[name]), f"{accepted}, such as {FIELDS[name][1]}"
        )
    return numbers


_BARS = {"below": "fits", "near": "fits with work", "above": "does not fit"}
WIDE = 1020


def verdict(answer: HeatAnswer, invented: bool, writer: Writer) -> str:
    below = told.details(answer, writer) + [writer("heat.hint.invented")] * invented
    return style.verdict(_BARS[answer.state], told.verdict(answer, writer), " ".join(below))


def picture(answer: HeatAnswer, png: bytes, writer: Writer) -> Picture:
    parts = [
        Message(
            "heat.words.part",
            step=Message(f"heat.step.{part.name}"),
            rise=told.kelvin(part.kelvin.mid),
        )
        for part in answer.study.budget[1:]
    ]
    words = writer(
        "heat.words.stack",
        outdoor=told.degree(answer.asked.temp_outdoor),
        parts=parts,
        verdict=told.verdict(answer, writer),
    )
    return Picture(png, words)


def steps(answer: HeatAnswer, writer: Writer) -> str:
    both = [tables_heat.steps(answer, writer), tables_heat.limits(answer, writer)]
    tables = "".join(style.table(one, "figures") for one in both)
    return tables + style.quiet(writer("heat.hint.steps"))


def day(answer: HeatAnswer, writer: Writer) -> Picture:
    words = writer("heat.words.day", told=told.day_text(answer, writer))
    return Picture(figures_heat.day_figure(answer, writer), words)


def trip(answer: HeatAnswer, writer: Writer) -> Picture:
    words = writer("heat.words.trip", told=told.locked(answer, writer))
    return Picture(figures_heat.trip(answer, writer), words)


def height(answer: HeatAnswer, writer: Writer) -> Picture:
    words = writer("heat.words.height", told=told.height_text(answer, writer))
    return Picture(figures_heat.height_figure(answer, writer), words)


def day_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.day", told=told.day_text(answer, writer))
    return day(answer, writer).html(WIDE) + style.quiet(hint)


def trip_page(answer: HeatAnswer, writer: Writer) -> str:
    (near, far), (less, more) = (
        map(told.kelvin, ends) for ends in (TRIP_BELOW_LIMIT, RESET_BELOW_TRIP)
    )
    locked = told.locked(answer, writer)
    hint = writer("heat.hint.trip", told=locked, near=near, far=far, less=less, more=more)
    return trip(answer, writer).html(WIDE) + style.quiet(hint)


def year_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.year", told=told.trips(answer, writer))
    return style.table(tables_heat.year(answer, writer), "narrow") + style.quiet(hint)


def classes_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.classes", told=told.classes_text(answer, writer))
    return style.table(tables_heat.classes_table(answer, writer), "figures") + style.quiet(hint)


def height_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.height", told=told.height_text(answer, writer))
    table = style.table(tables_heat.heights(answer, writer), "figures")
    return height(answer, writer).html(WIDE) + table + style.quiet(hint)


def cautions(writer: Writer) -> str:
    told = [*map(writer.value, CAUTIONS), writer("heat.hint.hot")]
    return style.listed(writer("heat.hint.before"), told)


OFFERED = 12  # motors, best first
STEPS = "Step by step"
# Pages that take about a second: those of what the sliders say, and those of the job alone.
SLOW = {
    "A day": day_page,
    "Blade blocked": trip_page,
    "A year": year_page,
}
STILL = {"Class B or F": classes_page, "Height": height_page}
PAGES = {STEPS: steps, **SLOW, **STILL}


class HeatPanel(PagedPanel):
    """One motor's heat on a job; the stack and the weather at the right, the verdict on top.

    ``job_path`` and ``catalog`` are files, by default the sample job and the catalog that come
    with the kit; ``units`` is "US" or "SI", ``language`` "en" or "es". Controls: ``motor`` (a place among the job's best), the
    sliders ``temperature`` (outdoors, in the units shown), ``voltage`` [V], ``blade``, ``stream``
    and ``sunshine`` [% of the job's]; ``readings`` (lines of ``heat_fields.FIELDS``), ``units``,
    ``path``. ``pages`` has the tables and traces by title; the one that is looked at is worked, a
    slow one once the sliders rest. ``picture`` is the last one drawn. Raises InputError when the
    files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalog=None, units="US", language="en"):
        super().__init__(language)
        self._motors = read_motors(catalog)
        self._place = lru_cache(maxsize=4)(_place)
        self._pictured = {}
        self._make_controls(units)
        self.fill(read_job(job_path))
        self.begin()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: the motors that suit it best, its weather and line; no readings."""
        found = [one.case for one in answer(job, self._motors).candidates[:OFFERED]]
        with self.filling():
            self.job = job
            self._offered = [case.motor for case in found]
            self.motor.options = [(self._named(row), at) for at, row in enumerate(self._offered)]
            self.motor.value = 0
            self.readings.fill({})
            self._set_usual()

    def read(self, **typed: str) -> None:
        """Type the readings ``typed`` by field, and work them; none clears them."""
        with self.filling():
            self.readings.fill(typed)
        self.update()

    def compute(self) -> HeatAnswer:
        self.readings.tell()
        return HeatAnswer(self.place, self.asked).worked()

    @property
    def place(self) -> HeatPlace:
        """The chosen motor on the job, narrowed by the readings; worked once."""
        return self._place(self.job, self._offered[self.motor.value], self.readings.given())

    @property
    def asked(self) -> HeatInput:
        """What the sliders say."""
        return HeatInput(
            temp_outdoor=self.temperature.amount,
            voltage=float(self.voltage.value),
            blade=self.blade.value / 100,
            stream=self.stream.value / 100,
            sunshine=self.sunshine.value / 100,
        )

    def draw(self) -> None:
        found, shown = self.answer, self.units.value
        self.verdict.value = verdict(found, self.job.invented, self.writer)
        if shown not in self._pictured:
            self._pictured[shown] = HeatPicture(self.writer)
        png = self._pictured[shown].png(found)
        self.picture = picture(found, png, self.writer)
        self.picture_shown.value = self.picture.html(700)
        self.draw_page()

    def refused(self, error: InputError | None) -> None:
        self.readings.show_problem(error)

    def page(self, title: str) -> str:
        return PAGES[self._pages[title]](self.answer, self.writer)

    def page_key(self, title: str):
        if self._pages[title] in STILL:
            return self.job, self._offered[self.motor.value], self.units.value
        return self.answer

    @property
    def day(self) -> Picture:
        """A hot day's temperatures, worked now."""
        return day(self.answer, self.writer)

    @property
    def trip(self) -> Picture:
        """A locked rotor and its protector in time, worked now."""
        return trip(self.answer, self.writer)

    @property
    def height(self) -> Picture:
        """What height changes, effect by effect."""
        return height(self.answer, self.writer)

    @property
    def SLOW(self):
        return [title for title, key in self._pages.items() if key in {**SLOW, **STILL}]

    def _named(self, row) -> str:
        """A motor with its class."""
        return self.text("heat.named", motor=row.name, letter=row.insulation_class)

    def _set_usual(self) -> None:
        """Sliders where the job has them."""
        usual = self.place.usual
        self.temperature.show(usual.temp_outdoor, self.units.value)
        ends = (round(share * usual.voltage) for share in VOLTS)
        fields.reach(self.voltage, *ends, round(usual.voltage))
        for share in (self.blade, self.stream, self.sunshine):
            share.value = 100

    def _units_changed(self) -> None:
        with self.filling():
            self.temperature.show(self.temperature.amount, self.units.value)
        self.update()

    def _observe(self) -> None:
        typed = self.readings.controls.values()
        self.watch([self.motor, *typed])
        self.follow_sliders(self._sliders)
        self.follow([self.units], self._units_changed)
        self.follow_path(self.path, self.open)
        steps = [self.units, self.motor]
        self.keep_steps([*steps, *self._sliders, *typed], first=steps)

    def _make_controls(self, units: str) -> None:
        write = Writer(self._language, units)
        self.motor = choice(write("panel.motor"), [])
        self.motor.style.description_width = "60px"
        self.temperature = AmountSlider(write("panel.outdoors"), "air_temperature", OUTDOORS)
        self.voltage = slider(write("panel.motors.voltage"), 180, 260, 230)
        self.blade = slider(write("panel.motors.blade"), 50, 130, 100, 5)
        self.stream = slider(write("panel.heat.stream"), 30, 150, 100, 5)
        self.sunshine = slider(write("panel.heat.sunshine"), 0, 150, 100, 10)
        self._sliders = (
            self.temperature, self.voltage, self.blade, self.stream, self.sunshine,
        )  # fmt: skip
        self.readings = HeatReadings(write)
        self.units = fields.units_shown(units, write)
        self.path = text(write("panel.job_file"), "my-job.toml", write)
        self.places("verdict", "picture_shown")
        self._pages = {write(f"panel.heat.page.{key}"): key for key in PAGES}
        self.make_pages(self._pages)

    def _arrange(self) -> None:
        asked = fields.tab(
            {
                self.text("motors.readings"): [self.readings.view],
                self.text("motors.more"): [self.units, self.path],
            }
        )
        left = [self.motor, *self._sliders, asked]
        below = [self.tables, widgets.HTML(cautions(self.writer))]
        self.arrange([self.verdict], left, [self.picture_shown], below)


def _place(job: Job, row, given: tuple) -> HeatPlace:
    return HeatPlace.of(job, row, readings(dict(given)), QUICKEST)
