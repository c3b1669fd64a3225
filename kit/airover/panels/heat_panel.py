"""The panel of worksheet 04: will it trip, and how long does the winding last."""

from functools import lru_cache

import ipywidgets as widgets

from airover.answer import answer
from airover.errors import InputError
from airover.figures_heat import HeatPicture
from airover.heat_answer import Asked, HeatAnswer, HeatPlace
from airover.locations import data_folder
from airover.panels import heat_shown, style
from airover.panels.after_rest import AfterRest
from airover.panels.heat_fields import SYSTEMS, TEMPERATURES, VOLTS, HeatReadings, readings
from airover.panels.motor_panel import QUICKEST
from airover.panels.parts import Panel, Picture, choice, text
from airover.records import Job, read_catalogue
from airover.scope import check_scope
from airover.units import coherent, convert

OFFERED = 12  # motors, best first
STEPS = "Step by step"
# Pages that take a second or more: those of what the sliders say, and those of the job alone.
SLOW = {
    "A day": heat_shown.day_page,
    "Blade blocked": heat_shown.trip_page,
    "A year": heat_shown.year_page,
}
STILL = {"Class B or F": heat_shown.classes_page, "Height": heat_shown.height_page}
PAGES = {STEPS: heat_shown.steps, **SLOW, **STILL}


class HeatPanel(Panel):
    """One motor's heat on a job; the stack and the weather at the right, the verdict on top.

    ``job_path`` and ``catalogue`` are files, by default the sample job and the catalogue that come
    with the kit; ``units`` is "US" or "SI". Controls: ``motor`` (a place among the job's best), the
    sliders ``temperature`` (outdoors, in the units shown), ``voltage`` [V], ``blade``, ``stream``
    and ``sunshine`` [% of the job's]; ``readings`` (lines of ``heat_fields.FIELDS``), ``units``,
    ``path``. ``pages`` has the tables and traces by title; the one that is looked at is worked, a
    slow one once the sliders rest. ``picture`` is the last one drawn. Raises InputError when the
    files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalogue=None, units="US"):
        super().__init__()
        self._motors = read_catalogue(catalogue or data_folder() / "catalogue.csv")
        self._place = lru_cache(maxsize=4)(_place)
        self._pictured, self._told, self._stale = {}, {}, set()
        self._later = AfterRest(self.draw_slow)
        self._make_controls(units)
        self.fill(_read(job_path or data_folder() / "jobs" / "roof-unit.toml"))
        self.answer = self.compute()
        self.draw()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: the motors that suit it best, its weather and line; no readings."""
        found = [one.case for one in answer(job, self._motors).candidates[:OFFERED]]
        with self.filling():
            self.job = job
            self._offered = [case.motor for case in found]
            self.motor.options = [(_named(row), at) for at, row in enumerate(self._offered)]
            self.motor.value = 0
            self.readings.fill({})
            self._set_usual()

    def open(self, path) -> None:
        """Read the job file at ``path`` and work it; what is wrong with it is told."""
        self.open_with(_read, path, self.fill)

    def read(self, **typed: str) -> None:
        """Type the readings ``typed`` by field, and work them; none clears them."""
        with self.filling():
            self.readings.fill(typed)
        self.update()

    def compute(self) -> HeatAnswer:
        self.readings.tell()
        return HeatAnswer(self.place, self.asked, self.units.value).worked()

    @property
    def place(self) -> HeatPlace:
        """The chosen motor on the job, narrowed by the readings; worked once."""
        return self._place(self.job, self._offered[self.motor.value], self.readings.given())

    @property
    def asked(self) -> Asked:
        """What the sliders say."""
        degrees = TEMPERATURES[self.units.value][0]
        outdoor = float(self.temperature.value)
        return Asked(
            temp_outdoor=coherent(outdoor, "air_temperature", degrees, "outdoor air"),
            voltage=float(self.voltage.value),
            blade=self.blade.value / 100,
            stream=self.stream.value / 100,
            sunshine=self.sunshine.value / 100,
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
        found = self.answer
        self.verdict.value = heat_shown.verdict(found, self.job.invented)
        if found.shown not in self._pictured:
            self._pictured[found.shown] = HeatPicture(found.shown)
        self.picture = heat_shown.picture(found, self._pictured[found.shown].png(found))
        self.picture_shown.value = self.picture.html(700)
        self.draw_page()

    def draw_page(self) -> None:
        """The page that is looked at, if it is not up to date; a slow one once controls rest."""
        title = self.page_shown
        if self._told.get(title) == self._key(title):
            self._later.forget()
            return
        if title == STEPS:
            self._write(title)
            return
        if title not in self._stale:
            self._stale.add(title)
            self.pages[title].value = heat_shown.working(self.pages[title].value)
        self._later.ask()

    def draw_slow(self) -> None:
        """Work the page that is looked at, now."""
        try:
            self._write(self.page_shown)
        except Exception:
            self.pages[self.page_shown].value = style.problem("This could not be worked.")
            raise

    def refused(self, error: InputError | None) -> None:
        """Sliders have ranges of their own: what is wrong with a reading stands on top."""

    @property
    def page_shown(self) -> str:
        """Title of the page that is looked at."""
        return list(PAGES)[self.tables.selected_index or 0]

    @property
    def day(self) -> Picture:
        """A hot day's temperatures, worked now."""
        return heat_shown.day(self.answer)

    @property
    def trip(self) -> Picture:
        """A locked rotor and its protector in time, worked now."""
        return heat_shown.trip(self.answer)

    @property
    def height(self) -> Picture:
        """What height changes, effect by effect."""
        return heat_shown.height(self.answer)

    def _key(self, title: str):
        """What the page of that ``title`` depends on."""
        if title in STILL:
            return self.job, self._offered[self.motor.value], self.units.value
        return self.answer

    def _write(self, title: str) -> None:
        try:
            shown = PAGES[title](self.answer)
        except InputError as error:  # such as a class without limits: the page says so
            shown = style.problem(str(error))
        self.pages[title].value = shown
        self._told[title] = self._key(title)
        self._stale.discard(title)

    def _set_usual(self) -> None:
        """Sliders where the job has them."""
        usual = self.place.usual
        self._set_temperature(usual.temp_outdoor)
        least, most = (round(share * usual.voltage) for share in VOLTS)
        self.voltage.min, self.voltage.max = 0, 1000
        self.voltage.value = round(usual.voltage)
        self.voltage.min, self.voltage.max = least, most
        for slider in (self.blade, self.stream, self.sunshine):
            slider.value = 100

    def _set_temperature(self, temp: float) -> None:
        """The slider of outdoor air at ``temp`` [degC], in the units shown."""
        degrees, least, most = TEMPERATURES[self.units.value]
        shown = round(float(convert(temp, "air_temperature", degrees)))
        self.temperature.description = f"Outdoor air [{degrees}]"
        self.temperature.min = min(self.temperature.min, least)
        self.temperature.max = max(self.temperature.max, most)
        self.temperature.value = min(max(shown, least), most)
        self.temperature.min, self.temperature.max = least, most

    def _units_changed(self, change) -> None:
        if not self._filling:
            with self.filling():
                self._set_temperature(self.answer.asked.temp_outdoor)
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
        self.watch([self.motor, *self.readings.controls.values()])
        for slider in self._sliders:
            slider.observe(self._slid, "value")
        self.units.observe(self._units_changed, "value")
        self.path.observe(self._path_given, "value")
        self.tables.observe(self._page_chosen, "selected_index")

    def _make_controls(self, units: str) -> None:
        self.motor = choice("Motor", [])
        self.motor.style.description_width = "60px"
        self.temperature = _slider("Outdoor air", 68, 131, 95, 1)
        self.voltage = _slider("Line voltage [V]", 180, 260, 230, 1)
        self.blade = _slider("Blade's power [%]", 50, 130, 100, 5)
        self.stream = _slider("Air at the motor [%]", 30, 150, 100, 5)
        self.sunshine = _slider("Sun on the motor [%]", 0, 150, 100, 10)
        self._sliders = (
            self.temperature, self.voltage, self.blade, self.stream, self.sunshine,
        )  # fmt: skip
        self.readings = HeatReadings()
        self.units = choice("Units shown", SYSTEMS)
        self.units.value = units
        self.path = text("Job file", "my-job.toml")
        for name in ("verdict", "picture_shown"):
            setattr(self, name, widgets.HTML())
            getattr(self, name).add_class("ao-answer")
        self.pages = {title: widgets.HTML() for title in PAGES}
        self.tables = widgets.Tab(
            children=list(self.pages.values()), titles=list(PAGES), selected_index=0
        )
        self.tables.add_class("ao-answer")

    def _arrange(self) -> None:
        more = widgets.VBox([self.units, self.path])
        tab = widgets.Tab(children=[self.readings.view, more], titles=["Readings", "More"])
        left = widgets.VBox([self.motor, *self._sliders, tab], layout={"flex": "0 0 384px"})
        right = widgets.VBox([self.picture_shown], layout={"flex": "1 1 0", "min_width": "0"})
        right.layout.padding = "0 0 0 22px"
        head = [widgets.HTML(style.STYLE), self.status, self.verdict]
        below = [self.tables, widgets.HTML(heat_shown.cautions())]
        self.view.children = [*head, widgets.HBox([left, right]), *below]


def _place(job: Job, row, given: tuple) -> HeatPlace:
    return HeatPlace.of(job, row, readings(dict(given)), QUICKEST)


def _read(path) -> Job:
    job = Job.read(path)
    check_scope(job)
    return job


def _named(row) -> str:
    """A motor with its class and rating."""
    return f"{row.name}, class {row.insulation_class or 'not known'}"


def _slider(label: str, least: int, most: int, value: int, step: int) -> widgets.IntSlider:
    return widgets.IntSlider(
        description=label, min=least, max=most, value=value, step=step,
        style={"description_width": "150px"}, layout={"width": "auto"},
    )  # fmt: skip
