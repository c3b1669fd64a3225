"""The panel of worksheet 05: sleeve or ball."""

from functools import lru_cache

import ipywidgets as widgets
import numpy as np

from airover.answer import answer
from airover.bearing_notes import prices
from airover.bearing_study import GRADE, Asked, Place, Study
from airover.errors import InputError
from airover.figures_bearing import FilmPicture, LifePicture
from airover.locations import data_folder
from airover.panels import bearing_shown, style
from airover.panels.bearing_fields import (
    DIRT,
    DISCHARGES,
    GRADES,
    KNOWN,
    MOST_LOST,
    POSITIONS,
    RELIABILITIES,
    SYSTEMS,
    TEMPERATURES,
)
from airover.panels.parts import Panel, Picture, choice, text
from airover.records import Job, read_catalogue
from airover.scope import check_scope
from airover.sleeve_life import Reference, bore_of
from airover.units import coherent, convert

OFFERED = 12  # motors, best first
PAGES = ("Side by side", "Shaft position", "What balancing buys", "Film pressure", "Notes")


class BearingPanel(Panel):
    """Both kinds of bearing in one motor's place; hours at the right, the recommendation on top.

    ``job_path`` and ``catalogue`` are files, by default the sample job and the catalogue that come
    with the kit; ``units`` is "US" or "SI". Controls: ``motor`` (a place among the job's best),
    ``position``, the sliders ``temperature`` (outdoors, in the units shown), ``grade`` [mm/s] and
    ``lost`` [g]; ``discharge``, ``reliability``, ``dirt``, ``known_hours`` [h] at
    ``known_temperature``, ``units``, ``path``. ``pages`` has the tables: the one that is looked at
    is worked. ``picture`` is the last one drawn. Raises InputError when the files cannot be read
    or worked.
    """

    def __init__(self, job_path=None, catalogue=None, units="US"):
        super().__init__()
        self._motors = read_catalogue(catalogue or data_folder() / "catalogue.csv")
        self._place = lru_cache(maxsize=4)(Place.of)
        self._pictured, self._told = {}, None
        self._make_controls(units)
        self.fill(_read(job_path or data_folder() / "jobs" / "roof-unit.toml"))
        self.answer = self.compute()
        self.draw()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: the motors that suit it best, its shaft position and weather."""
        found = [one.case for one in answer(job, self._motors).candidates[:OFFERED]]
        with self.filling():
            self.job = job
            self._offered = [case.motor for case in found]
            self.motor.options = [(_named(case), at) for at, case in enumerate(found)]
            self.motor.value = 0
            usual = self.place.usual
            self.position.value, self.grade.value, self.lost.value = usual.shaft_position, GRADE, 0
            self._set_temperature(usual.temp_outdoor)

    def open(self, path) -> None:
        """Read the job file at ``path`` and work it; what is wrong with it is told."""
        self.open_with(_read, path, self.fill)

    def compute(self) -> Study:
        motor = self._offered[self.motor.value]
        return Study(self.place, self.asked, prices(motor, self._motors), self.units.value)

    @property
    def place(self) -> Place:
        """The chosen motor on the job; worked once."""
        return self._place(self.job, self._offered[self.motor.value])

    @property
    def asked(self) -> Asked:
        """What the controls say."""
        degrees = TEMPERATURES[self.units.value][0]
        known = None
        if self.known_hours.value:
            hot = coherent(self.known_temperature.value, "temperature", degrees, "temperature")
            known = Reference(self.known_hours.value, hot)
        return Asked(
            temp_outdoor=coherent(
                float(self.temperature.value), "air_temperature", degrees, "outdoor air"
            ),
            shaft_position=self.position.value,
            grade=self.grade.value,
            mass_lost=self.lost.value / 1000,
            discharge=self.discharge.value,
            reliability=self.reliability.value,
            cleanliness=self.dirt.value,
            reference=known,
        )

    def slide(self) -> None:
        """Work and show what a slider says: too quick to tell that it is being worked."""
        try:
            self.answer = self.compute()
            self.draw()
        except InputError as error:
            self._refuse(error)
            return
        except Exception:  # what stands below must not look new; the error itself goes on
            self._tell(style.problem("This could not be worked."), earlier=True)
            raise
        self._tell("", earlier=False)

    def draw(self) -> None:
        study = self.answer
        self.verdict.value = bearing_shown.verdict(study, self.job.invented)
        if study.shown not in self._pictured:
            self._pictured[study.shown] = LifePicture(study.shown)
        self.picture = bearing_shown.picture(study, self._pictured[study.shown].png(study))
        self.picture_shown.value = self.picture.html()
        self.draw_page()

    def draw_page(self) -> None:
        """The page that is looked at, if it is not that of this answer already."""
        at = self.tables.selected_index or 0
        if self._told != (at, self.answer):
            self.pages[at].value = self._page(at)
            self._told = at, self.answer

    def refused(self, error: InputError | None) -> None:
        """Every control has a range of its own: what is wrong stands on top."""

    @property
    def film(self) -> Picture:
        """The pressure of the oil film in the blade's sleeve bearing."""
        return bearing_shown.film(self.answer, self._film_png())

    def _film_png(self) -> bytes:
        stand = self.answer.place.stand
        length = float(np.median(bore_of(stand).length))
        key = stand.shaft_diameter, length
        if key not in self._pictured:
            self._pictured[key] = FilmPicture(*key)
        return self._pictured[key].png(self.answer)

    def _page(self, at: int) -> str:
        study = self.answer
        if at == PAGES.index("Film pressure"):
            return bearing_shown.film_page(study, self._film_png())
        shown = (
            bearing_shown.side_by_side, bearing_shown.positions, bearing_shown.balancing, None,
            bearing_shown.notes,
        )  # fmt: skip
        return shown[at](study)

    def _set_temperature(self, temp: float) -> None:
        """The slider of outdoor air at ``temp`` [degC], in the units shown."""
        degrees, least, most = TEMPERATURES[self.units.value]
        shown = round(float(convert(temp, "air_temperature", degrees)))
        self.temperature.description = f"Outdoor air [{degrees}]"
        self.temperature.min = min(self.temperature.min, least)
        self.temperature.max = max(self.temperature.max, most)
        self.temperature.value = min(max(shown, least), most)
        self.temperature.min, self.temperature.max = least, most
        self.known_temperature.description = f"with bearings at [{degrees}]"

    def _units_changed(self, change) -> None:
        if not self._filling:
            before = self.answer.asked.temp_outdoor
            known = TEMPERATURES[change["old"]][0]
            hot = coherent(self.known_temperature.value, "temperature", known, "temperature")
            with self.filling():
                self._set_temperature(before)
                degrees = TEMPERATURES[self.units.value][0]
                self.known_temperature.value = round(float(convert(hot, "temperature", degrees)))
            self.update()

    def _slid(self, change) -> None:
        if not self._filling:
            self.slide()

    def _path_given(self, change) -> None:
        if not self._filling:
            self.open(self.path.value.strip())

    def _page_chosen(self, change) -> None:
        self.draw_page()

    def _observe(self) -> None:
        self.watch([self.motor, self.known_hours, self.known_temperature])
        for control in (
            self.temperature, self.grade, self.lost, self.position, self.discharge,
            self.reliability, self.dirt,
        ):  # fmt: skip
            control.observe(self._slid, "value")
        self.units.observe(self._units_changed, "value")
        self.path.observe(self._path_given, "value")
        self.tables.observe(self._page_chosen, "selected_index")

    def _make_controls(self, units: str) -> None:
        shape = {"style": {"description_width": "150px"}, "layout": {"width": "auto"}}
        self.motor = choice("Motor", [])
        self.motor.style.description_width = "60px"
        narrow = {"button_width": "112px"}
        self.position = widgets.ToggleButtons(options=POSITIONS, style=narrow)
        self.temperature = widgets.IntSlider(value=95, min=68, max=131, **shape)
        self.grade = widgets.SelectionSlider(
            description="Balance of the blade", options=GRADES, value=GRADE, **shape
        )
        self.lost = widgets.IntSlider(
            description="Lost at its tip [g]", min=0, max=MOST_LOST, value=0, **shape
        )
        self.discharge = choice("Air leaves", DISCHARGES)
        self.reliability = choice("Ball: pairs that survive", RELIABILITIES)
        self.dirt = choice("Ball: dirt", DIRT)
        self.dirt.value = "normal cleanliness"
        self.known_hours = _number("Sleeve motors last [h]", 0.0, 0.0, 1e6)
        self.known_temperature = _number("with bearings at", 158.0, 20.0, 300.0)
        self.units = choice("Units shown", SYSTEMS)
        self.units.value = units
        if units == "SI":
            self.known_temperature.value = 70.0
        self.path = text("Job file", "my-job.toml")
        for name in ("verdict", "picture_shown"):
            setattr(self, name, widgets.HTML())
            getattr(self, name).add_class("ao-answer")
        self.pages = [widgets.HTML() for _ in PAGES]
        self.tables = widgets.Tab(children=self.pages, titles=list(PAGES), selected_index=0)
        self.tables.add_class("ao-answer")

    def _arrange(self) -> None:
        sliders = [self.motor, self.position, self.temperature, self.grade, self.lost]
        left = widgets.VBox([*sliders, self._tab()], layout={"flex": "0 0 384px"})
        right = widgets.VBox([self.picture_shown], layout={"flex": "1 1 0", "min_width": "0"})
        right.layout.padding = "0 0 0 22px"
        head = [widgets.HTML(style.STYLE), self.status, self.verdict]
        below = [self.tables, widgets.HTML(bearing_shown.cautions())]
        self.view.children = [*head, widgets.HBox([left, right]), *below]

    def _tab(self) -> widgets.Tab:
        known = [widgets.HTML(style.quiet(KNOWN)), self.known_hours, self.known_temperature]
        pages = {
            "What you know": widgets.VBox(known),
            "More": widgets.VBox(
                [self.discharge, self.reliability, self.dirt, self.units, self.path]
            ),
        }
        return widgets.Tab(children=list(pages.values()), titles=list(pages))


def _read(path) -> Job:
    job = Job.read(path)
    check_scope(job)
    return job


def _named(case) -> str:
    """A motor with its kind of bearing."""
    return f"{case.motor.name}, {case.motor.bearings or 'bearings not known'}"


def _number(label: str, value: float, least: float, most: float) -> widgets.BoundedFloatText:
    return widgets.BoundedFloatText(
        description=label, value=value, min=least, max=most,
        style={"description_width": "168px"}, layout={"width": "auto"},
    )  # fmt: skip
