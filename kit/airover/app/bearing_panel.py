"""Panel for worksheet 05, which compares sleeve and ball bearings in one motor."""

import ipywidgets as widgets
import numpy as np

from airover.app import fields, style
from airover.app.fields import AmountNumber, AmountSlider, choice, slider, worded
from airover.app.panel import Picture
from airover.app.subject_panel import JobMotorPanel, table_page
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Quantity, Word
from airover.core.texts import Writer
from airover.model.bearing_life import (
    EXPECTED,
    SEASON_OVER_DESIGN,
    Reference,
    bore_of,
    motor_suits,
)
from airover.model.conditions import HOURS_A_YEAR
from airover.physics.ball_bearing import CLEANLINESS
from airover.records.fields import EXPOSURES
from airover.records.job import Job
from airover.reports import bearings as reports
from airover.selection.bearing_choice import (
    GRADE,
    WARM_START,
    BearingPlace,
    BearingStudy,
    BearingUse,
    prices,
)

POSITIONS, DISCHARGES = ("down", "up", "horizontal"), ("up", "down")
GRADES = {2.5: "plain", 6.3: "new", GRADE: "old", 40.0: "plain", 100.0: "plain"}  # mm/s
RELIABILITIES = {0.50: "half", 0.90: "l10", 0.95: "plain", 0.99: "plain"}
STARTS = {"US": ("degF", -40, 68, 1), "SI": ("degC", -40, 20, 1)}  # coldest start
PLACE = ("quiet", "rain", "dust", "salt")
WARM, USUALLY_WARM = {"US": ("degF", 68, 300, 1), "SI": ("degC", 20, 150, 1)}, 70.0  # bearings
MOST_LOST = 30  # g


def side_by_side(panel: "BearingPanel") -> str:
    study, write = panel.answer, panel.writer
    hint = write(
        "bearings.hint.side_by_side",
        who=reports.share_text(study.asked.reliability, write),
        counted=Quantity(SEASON_OVER_DESIGN, "share", 0),
        a_year=f"{study.asked.hours_a_year:,.0f}",
    )
    return table_page(reports.side_by_side(study, write), hint)


def motors(panel: "BearingPanel") -> str:
    hint = panel.writer("bearings.hint.motors", expected=round(EXPECTED))
    return table_page(reports.motors(panel.suits, panel.writer), hint, "")


def positions(panel: "BearingPanel") -> str:
    hint = panel.writer("bearings.hint.positions")
    return table_page(reports.positions(panel.answer, panel.writer), hint)


def balancing(panel: "BearingPanel") -> str:
    study, write = panel.answer, panel.writer
    hint = write("bearings.hint.balancing", gained=reports.balancing_text(study, write))
    return table_page(reports.balancing_table(study, write), hint)


def film_page(panel: "BearingPanel") -> str:
    flooded, starved = (Band.of(one.lambda_ratio) for one in panel.answer.film)
    hint = panel.writer(
        "bearings.hint.film",
        flooded_low=round(flooded.low), flooded_high=round(flooded.high),
        starved_low=round(starved.low), starved_high=round(starved.high),
    )  # fmt: skip
    return panel.film.html() + style.quiet(hint)


def notes(panel: "BearingPanel") -> str:
    title = panel.writer("bearings.hint.beside")
    return style.listed(title, reports.notes(panel.answer, panel.writer))


BARS = {"clear": "fits", "same": "fits with work", "short": "does not fit"}
PAGES = {
    "side_by_side": side_by_side,
    "motors": motors,
    "positions": positions,
    "balancing": balancing,
    "film": film_page,
    "notes": notes,
}


class BearingPanel(JobMotorPanel):
    """Panel that compares sleeve and ball bearings in one motor.

    The recommendation is at the top, and the plot of life in hours is on the right. The arguments
    and common controls are the same as in `JobMotorPanel`.

    Attributes
    ----------
    position
        Dropdown list for the shaft orientation.
    grade, lost
        Sliders for the balance grade [mm/s] and the lost blade mass [g].
    discharge, reliability, dirt
        Controls for the discharge direction, the reliability and the cleanliness of the lubricant.
    hours
        Running time per year [h].
    start
        Bearing temperature at the coldest start, in the display units.
    ticked
        Check boxes by name ("quiet", "rain", "dust", "salt").
    known_hours, known_temperature
        Known bearing life [h] and the temperature at which it was determined.
    pages
        Tables by title. Only the visible table is calculated.
    picture
        Latest plot.
    """

    subject, reports, step = "bearings", reports, "bearings"
    bars, PAGES = BARS, PAGES

    def fill(self, job: Job) -> None:
        super().fill(job)
        simulated = [case for case in self._cases if case.row is not None]
        self.suits = [(one.motor.name, motor_suits(one.simulation, one.row)) for one in simulated]

    def compute(self) -> BearingStudy:
        self._offered()
        return BearingStudy(self.place, self.asked, prices(self.chosen, self._motors))

    @property
    def asked(self) -> BearingUse:
        """Return the operating conditions set by the controls."""
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

    def refused(self, error: InputError | None) -> None:
        """Show an error above the controls."""

    @property
    def said(self) -> str:
        """Return the recommendation, its details and other points to consider."""
        notes = [f"- {line}" for line in self.reports.notes(self.answer, self.writer)]
        return "\n".join([super().said, *notes])

    @property
    def film(self) -> Picture:
        """Return a plot of the oil film pressure in the fan-end sleeve bearing."""
        highest = float(np.median(self.answer.film.flooded.pressure_highest))
        pressure = Quantity(highest, "film_pressure")
        words = self.writer("bearings.picture.film_words", pressure=pressure)
        return Picture(self._drawn_film().png(self.answer), words)

    def _drawn_film(self) -> reports.FilmPicture:
        stand = self.answer.place.stand
        length = float(np.median(bore_of(stand).length))
        key = stand.shaft_diameter, length, self.units.value
        if key not in self._pictured:
            self._pictured[key] = reports.FilmPicture(stand.shaft_diameter, length, self.writer)
        return self._pictured[key]

    def _place(self, job: Job, motor) -> BearingPlace:
        return BearingPlace.of(job, motor)

    def _named(self, motor) -> str:
        return self.text(
            "bearings.named", motor=motor.name, kind=motor.bearings and Word(motor.bearings)
        )

    def _new_picture(self, writer: Writer) -> reports.LifePicture:
        return reports.LifePicture(writer)

    def _picture_words(self) -> str:
        study, write = self.answer, self.writer
        ball_end, sleeve_end = (write(f"bearings.row.{end}") for end in study.governing)
        ball, sleeve = (reports.hours_text(study.bands[kind], write) for kind in ("ball", "sleeve"))
        ends = {"ball_end": ball_end, "sleeve_end": sleeve_end}
        return write("bearings.picture.words", ball=ball, sleeve=sleeve, **ends)

    def _set_usual(self) -> None:
        super()._set_usual()
        usual = self.place.usual
        self.position.value, self.grade.value, self.lost.value = usual.shaft_position, GRADE, 0
        for name, box in self.ticked.items():
            box.value = name in usual.exposure

    def _observe(self) -> None:
        known = [self.known_hours, self.known_temperature]
        quick = [
            self.temperature, self.grade, self.lost, self.position, self.discharge,
            self.reliability, self.dirt, self.hours, self.start, *self.ticked.values(),
        ]  # fmt: skip
        self.watch([self.motor, *known])
        self.follow_sliders(quick)
        self.follow_units([self.temperature, self.known_temperature, self.start])
        self.keep_steps([self.units, self.motor, *quick, *known], first=[self.units, self.motor])

    def _make_controls(self, write: Writer) -> None:
        super()._make_controls(write)

        grades = [
            (write(f"panel.bearings.grade.{age}", grade=grade), grade)
            for grade, age in GRADES.items()
        ]
        shares = [
            (write(f"panel.bearings.reliability.{name}", share=round(100 * share)), share)
            for share, name in RELIABILITIES.items()
        ]
        self.position = widgets.ToggleButtons(
            options=worded(POSITIONS, "bearings.position", write), style={"button_width": "112px"}
        )
        self.grade = widgets.SelectionSlider(
            description=write("panel.bearings.balance"), options=grades, value=GRADE, **fields.SHAPE
        )
        self.lost = slider(write("panel.bearings.lost"), 0, MOST_LOST, 0)
        self.discharge = choice(
            write("panel.bearings.leaves"), worded(DISCHARGES, "bearings.discharge", write)
        )
        self.reliability = choice(write("panel.bearings.last_longer"), shares)
        self.hours = slider(write("panel.bearings.hours"), 300, 8700, int(HOURS_A_YEAR), 100)
        self.start = AmountSlider(write("panel.bearings.coldest"), "air_temperature", STARTS)
        self.start.show(WARM_START, write.system)
        self.ticked = {
            name: widgets.Checkbox(description=words, indent=False, layout={"width": "auto"})
            for words, name in worded(PLACE, "bearings.place", write)
        }
        self.dirt = choice(
            write("panel.bearings.dirt"), worded(CLEANLINESS, "bearings.choice", write)
        )
        self.dirt.value = "normal cleanliness"
        self.known_hours = fields.number(write("panel.bearings.sleeve_last"), 0.0, 0.0, 1e6)
        self.known_temperature = AmountNumber(
            write("panel.bearings.bearings_at"), "temperature", WARM
        )
        self.known_temperature.show(USUALLY_WARM, write.system)

    def _arrange(self) -> None:
        place = [widgets.HBox([*self.ticked.values()]), self.start, self.hours]
        known = [fields.hint(self.text("bearings.known")), self.known_hours, self.known_temperature]
        more = [self.discharge, self.reliability, self.dirt, self.units]
        asked = fields.tab(
            {
                self.text("bearings.tab.place"): place,
                self.text("bearings.tab.known"): known,
                self.text("motors.more"): more,
                self.writer("export.title"): [self.export_part()],
            }
        )
        left = [self.motor, self.position, self.temperature, self.grade, self.lost, asked]
        self.arrange_pages(left, self.writer("bearings.hint.fan"))
