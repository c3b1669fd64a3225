"""The panel of worksheet 04: will it trip, and how long does the winding last."""

from functools import lru_cache

import ipywidgets as widgets

from airover.answer import answer
from airover.errors import InputError
from airover.figures.heat import HeatPicture
from airover.heat.answer import HeatAnswer, HeatInput, HeatPlace
from airover.panels import fields, heat_shown
from airover.panels.fields import OUTDOORS, AmountSlider, choice, slider, text
from airover.panels.heat_fields import VOLTS, HeatReadings, readings
from airover.panels.motor_panel import QUICKEST
from airover.panels.paged import PagedPanel
from airover.panels.parts import Picture, read_job, read_motors
from airover.records import Job
from airover.texts import Writer

OFFERED = 12  # motors, best first
STEPS = "Step by step"
# Pages that take about a second: those of what the sliders say, and those of the job alone.
SLOW = {
    "A day": heat_shown.day_page,
    "Blade blocked": heat_shown.trip_page,
    "A year": heat_shown.year_page,
}
STILL = {"Class B or F": heat_shown.classes_page, "Height": heat_shown.height_page}
PAGES = {STEPS: heat_shown.steps, **SLOW, **STILL}


class HeatPanel(PagedPanel):
    """One motor's heat on a job; the stack and the weather at the right, the verdict on top.

    ``job_path`` and ``catalogue`` are files, by default the sample job and the catalogue that come
    with the kit; ``units`` is "US" or "SI", ``language`` "en" or "es". Controls: ``motor`` (a place among the job's best), the
    sliders ``temperature`` (outdoors, in the units shown), ``voltage`` [V], ``blade``, ``stream``
    and ``sunshine`` [% of the job's]; ``readings`` (lines of ``heat_fields.FIELDS``), ``units``,
    ``path``. ``pages`` has the tables and traces by title; the one that is looked at is worked, a
    slow one once the sliders rest. ``picture`` is the last one drawn. Raises InputError when the
    files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalogue=None, units="US", language="en"):
        super().__init__(language)
        self._motors = read_motors(catalogue)
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
        self.verdict.value = heat_shown.verdict(found, self.job.invented, self.writer)
        if shown not in self._pictured:
            self._pictured[shown] = HeatPicture(self.writer)
        png = self._pictured[shown].png(found)
        self.picture = heat_shown.picture(found, png, self.writer)
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
        return heat_shown.day(self.answer, self.writer)

    @property
    def trip(self) -> Picture:
        """A locked rotor and its protector in time, worked now."""
        return heat_shown.trip(self.answer, self.writer)

    @property
    def height(self) -> Picture:
        """What height changes, effect by effect."""
        return heat_shown.height(self.answer, self.writer)

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
        below = [self.tables, widgets.HTML(heat_shown.cautions(self.writer))]
        self.arrange([self.verdict], left, [self.picture_shown], below)


def _place(job: Job, row, given: tuple) -> HeatPlace:
    return HeatPlace.of(job, row, readings(dict(given)), QUICKEST)
