"""The panel of worksheet 05: sleeve or ball.

Choices in the bearing panel: position, balance, reliability, dirt, frost, quiet.

Ball and sleeve bearings side by side, in pieces of HTML as their panel places them.
"""

from functools import lru_cache

import ipywidgets as widgets
import numpy as np

from airover.app import fields, style
from airover.app.fields import OUTDOORS, AmountNumber, AmountSlider, choice, slider, text
from airover.app.panel import PagedPanel, Picture, read_job, read_motors
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Quantity, Word
from airover.core.texts import Writer
from airover.model.bearing_life import (
    EXPECTED,
    HOURS_A_YEAR,
    SEASON_OVER_DESIGN,
    Reference,
    Suits,
    bore_of,
    motor_suits,
)
from airover.physics.ball_bearing import CLEANLINESS
from airover.records.fields import EXPOSURES
from airover.records.job import Job
from airover.reports import bearings as tables_bearing
from airover.reports import bearings as told
from airover.reports.bearings import FilmPicture, LifePicture
from airover.selection.answer import CAUTIONS, answer
from airover.selection.bearing_choice import (
    GRADE,
    WARM_START,
    BearingPlace,
    BearingStudy,
    BearingUse,
    prices,
)

POSITIONS = [("shaft down", "down"), ("shaft up", "up"), ("horizontal", "horizontal")]
GRADES = [
    ("G 2.5", 2.5), ("G 6.3 new", 6.3), ("G 16 old", 16.0),
    ("G 40", 40.0), ("G 100", 100.0),
]  # fmt: skip
DISCHARGES = [("upwards", "up"), ("downwards", "down")]
RELIABILITIES = [
    ("50 %: half last longer", 0.50), ("90 % (L10)", 0.90), ("95 %", 0.95), ("99 %", 0.99),
]  # fmt: skip
STARTS = {"US": ("degF", -40, 68, 1), "SI": ("degC", -40, 20, 1)}  # coldest start
PLACE = {"quiet": "Noise matters", "rain": "Rain", "dust": "Dust", "salt": "Salt air"}
DIRT = [(name, name) for name in CLEANLINESS]
WARM, USUALLY_WARM = {"US": ("degF", 68, 300, 1), "SI": ("degC", 20, 150, 1)}, 70.0  # bearings
MOST_LOST = 30  # g


_BARS = {"clear": "fits", "same": "fits with work", "short": "does not fit"}


def verdict(study: BearingStudy, invented: bool, writer: Writer) -> str:
    below = told.details(study, writer) + [writer("bearings.hint.invented")] * invented
    return style.verdict(_BARS[study.state], told.verdict(study, writer), " ".join(below))


def picture(study: BearingStudy, png: bytes, writer: Writer) -> Picture:
    ends = (writer(f"bearings.row.{end}") for end in study.governing)
    hours = {kind: told.hours_text(study.bands[kind], writer) for kind in ("ball", "sleeve")}
    named = dict(zip(("ball_end", "sleeve_end"), ends, strict=True))
    return Picture(png, writer("bearings.picture.words", **named, **hours))


def film(study: BearingStudy, png: bytes, writer: Writer) -> Picture:
    highest = float(np.median(study.film.flooded.pressure_highest)) / 1000
    return Picture(png, writer("bearings.picture.film_words", pressure=round(highest)))


def side_by_side(study: BearingStudy, writer: Writer) -> str:
    hint = writer(
        "bearings.hint.side_by_side",
        who=told.share_text(study.asked.reliability, writer),
        counted=Quantity(SEASON_OVER_DESIGN, "share", 0),
        a_year=f"{study.asked.hours_a_year:,.0f}",
    )
    return style.table(tables_bearing.side_by_side(study, writer), "figures") + style.quiet(hint)


def motors(study: BearingStudy, found: list[tuple[str, Suits | None]], writer: Writer) -> str:
    hint = writer("bearings.hint.motors", expected=round(EXPECTED))
    return style.table(tables_bearing.motors(found, writer)) + style.quiet(hint)


def positions(study: BearingStudy, writer: Writer) -> str:
    table = style.table(tables_bearing.positions(study, writer), "figures")
    return table + style.quiet(writer("bearings.hint.positions"))


def balancing(study: BearingStudy, writer: Writer) -> str:
    hint = writer("bearings.hint.balancing", gained=told.balancing_text(study, writer))
    return style.table(tables_bearing.balancing_table(study, writer), "figures") + style.quiet(hint)


def film_page(study: BearingStudy, png: bytes, writer: Writer) -> str:
    flooded, starved = (Band.of(one.lambda_ratio) for one in study.film)
    hint = writer(
        "bearings.hint.film",
        flooded_low=round(flooded.low), flooded_high=round(flooded.high),
        starved_low=round(starved.low), starved_high=round(starved.high),
    )  # fmt: skip
    return film(study, png, writer).html() + style.quiet(hint)


def notes(study: BearingStudy, writer: Writer) -> str:
    return style.listed(writer("bearings.hint.beside"), told.notes(study, writer))


def cautions(writer: Writer) -> str:
    told = [*map(writer.value, CAUTIONS), writer("bearings.hint.fan")]
    return style.listed(writer("bearings.hint.before"), told)


OFFERED = 12  # motors, best first
PAGES = {
    "Side by side": side_by_side,
    "This job's motors": motors,
    "Shaft position": positions,
    "Balancing": balancing,
    "Film pressure": film_page,
    "Notes": notes,
}


class BearingPanel(PagedPanel):
    """Both kinds of bearing in one motor's place; hours at the right, the recommendation on top.

    ``job_path`` and ``catalog`` are files, by default the sample job and the catalog that come
    with the kit; ``units`` is "US" or "SI", ``language`` "en" or "es". Controls: ``motor`` (a place among the job's best),
    ``position``, the sliders ``temperature`` (outdoors, in the units shown), ``grade`` [mm/s] and
    ``lost`` [g]; ``discharge``, ``reliability``, ``dirt``, ``hours`` [h] of running a year, ``start``
    (coldest start, in the units shown), the boxes ``ticked`` by name ("quiet", "rain", "dust",
    "salt"), ``known_hours`` [h] at ``known_temperature``, ``units``, ``path``. ``pages`` has the
    tables: the visible page alone is calculated. ``picture`` is the last one drawn. Raises
    InputError when the files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalog=None, units="US", language="en"):
        super().__init__(language)
        self._motors = read_motors(catalog)
        self._place = lru_cache(maxsize=4)(BearingPlace.of)
        self._pictured = {}
        self._make_controls(units)
        self.fill(read_job(job_path))
        self.begin()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: the motors that suit it best, its shaft position and weather."""
        cases = [one.case for one in answer(job, self._motors).candidates]
        found = [case for case in cases if case.row is not None][:OFFERED]
        suit = [(case.motor.name, motor_suits(case.simulation, case.row)) for case in found]
        with self.filling():
            self.job, self.suits = job, suit
            self._offered = [case.motor for case in found]
            self.motor.options = [(self._named(case), at) for at, case in enumerate(found)]
            self.motor.value = 0
            usual = self.place.usual
            self.position.value, self.grade.value, self.lost.value = usual.shaft_position, GRADE, 0
            self.temperature.show(usual.temp_outdoor, self.units.value)
            for name, box in self.ticked.items():
                box.value = name in usual.exposure

    def compute(self) -> BearingStudy:
        motor = self._offered[self.motor.value]
        return BearingStudy(self.place, self.asked, prices(motor, self._motors))

    @property
    def place(self) -> BearingPlace:
        """The chosen motor on the job; worked once."""
        return self._place(self.job, self._offered[self.motor.value])

    @property
    def asked(self) -> BearingUse:
        """What the controls say."""
        known = None
        if self.known_hours.value:
            known = Reference(self.known_hours.value, self.known_temperature.amount)
        return BearingUse(
            temp_outdoor=self.temperature.amount,
            shaft_position=self.position.value,
            grade=self.grade.value,
            mass_lost=self.lost.value / 1000,
            discharge=self.discharge.value,
            reliability=self.reliability.value,
            cleanliness=self.dirt.value,
            reference=known,
            quiet=self.ticked["quiet"].value,
            exposure=tuple(name for name in EXPOSURES if self.ticked[name].value),
            temp_start=self.start.amount,
            hours_a_year=self.hours.value,
        )

    def draw(self) -> None:
        study = self.answer
        self.verdict.value = verdict(study, self.job.invented, self.writer)
        shown = self.units.value
        if shown not in self._pictured:
            self._pictured[shown] = LifePicture(self.writer)
        png = self._pictured[shown].png(study)
        self.picture = picture(study, png, self.writer)
        self.picture_shown.value = self.picture.html()
        self.draw_page()

    def refused(self, error: InputError | None) -> None:
        """Every control has a range of its own: what is wrong stands on top."""

    def page(self, title: str) -> str:
        key = self._pages[title]
        own = (self._film_png(),) if key == "Film pressure" else ()
        if key == "This job's motors":
            own = (self.suits,)
        return PAGES[key](self.answer, *own, self.writer)

    @property
    def film(self) -> Picture:
        """The pressure of the oil film in the blade's sleeve bearing."""
        return film(self.answer, self._film_png(), self.writer)

    def _named(self, case) -> str:
        """A motor with its kind of bearing."""
        kind = case.motor.bearings and Word(case.motor.bearings)
        return self.text("bearing.named", motor=case.motor.name, kind=kind)

    def _film_png(self) -> bytes:
        stand = self.answer.place.stand
        length = float(np.median(bore_of(stand).length))
        key = stand.shaft_diameter, length
        if key not in self._pictured:
            self._pictured[key] = FilmPicture(*key, self.writer)
        return self._pictured[key].png(self.answer)

    def _units_changed(self) -> None:
        with self.filling():
            for control in (self.temperature, self.known_temperature, self.start):
                control.show(control.amount, self.units.value)
        self.update()

    def _observe(self) -> None:
        known = [self.known_hours, self.known_temperature]
        quick = [
            self.temperature, self.grade, self.lost, self.position, self.discharge,
            self.reliability, self.dirt, self.hours, self.start, *self.ticked.values(),
        ]  # fmt: skip
        self.watch([self.motor, *known])
        self.follow_sliders(quick)
        self.follow([self.units], self._units_changed)
        self.follow_path(self.path, self.open)
        self.keep_steps([self.units, self.motor, *quick, *known], first=[self.units, self.motor])

    def _make_controls(self, units: str) -> None:
        write = Writer(self._language, units)

        def worded(options):
            return fields.worded(options, "bearing.choice", write)

        self.motor = choice(write("panel.motor"), [])
        self.motor.style.description_width = "60px"
        narrow = {"button_width": "112px"}
        self.position = widgets.ToggleButtons(options=worded(POSITIONS), style=narrow)
        self.temperature = AmountSlider(write("panel.outdoors"), "air_temperature", OUTDOORS)
        self.grade = widgets.SelectionSlider(
            description=write("panel.bearing.balance"),
            options=worded(GRADES),
            value=GRADE,
            **fields.SHAPE,
        )
        self.lost = slider(write("panel.bearing.lost"), 0, MOST_LOST, 0)
        self.discharge = choice(write("panel.bearing.leaves"), worded(DISCHARGES))
        self.reliability = choice(write("panel.bearing.last_longer"), worded(RELIABILITIES))
        self.hours = slider(write("panel.bearing.hours"), 300, 8700, int(HOURS_A_YEAR), 100)
        self.start = AmountSlider(write("panel.bearing.coldest"), "air_temperature", STARTS)
        self.start.show(WARM_START, units)
        self.ticked = {
            name: widgets.Checkbox(description=words, indent=False, layout={"width": "auto"})
            for words, name in worded([(words, name) for name, words in PLACE.items()])
        }
        self.dirt = choice(write("panel.bearing.dirt"), worded(DIRT))
        self.dirt.value = "normal cleanliness"
        self.known_hours = fields.number(write("panel.bearing.sleeve_last"), 0.0, 0.0, 1e6)
        self.known_temperature = AmountNumber(
            write("panel.bearing.bearings_at"), "temperature", WARM
        )
        self.known_temperature.show(USUALLY_WARM, units)
        self.units = fields.units_shown(units, write)
        self.path = text(write("panel.job_file"), "my-job.toml", write)
        self.places("verdict", "picture_shown")
        self._pages = {write(f"panel.bearing.page.{key}"): key for key in PAGES}
        self.make_pages(self._pages)

    def _arrange(self) -> None:
        more = [self.discharge, self.reliability, self.dirt, self.units, self.path]
        place = [widgets.HBox([*self.ticked.values()]), self.start, self.hours]
        known = [fields.hint(self.text("bearing.known")), self.known_hours, self.known_temperature]
        asked = fields.tab(
            {
                self.text("bearing.tab.place"): place,
                self.text("bearing.tab.known"): known,
                self.text("motors.more"): more,
            }
        )
        left = [self.motor, self.position, self.temperature, self.grade, self.lost, asked]
        below = [self.tables, widgets.HTML(cautions(self.writer))]
        self.arrange([self.verdict], left, [self.picture_shown], below)
