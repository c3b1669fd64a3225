"""The panel of worksheet 03: what the blade really asks for."""

import os
from functools import lru_cache

import ipywidgets as widgets
import numpy as np

from airover.conditions import DENSITY_STANDARD, curve_of
from airover.errors import InputError
from airover.figures_fan import FanPicture
from airover.locations import data_folder
from airover.panels import fan_fields, fan_shown, style
from airover.panels.fan_fields import AIRFLOW, LOSSES, MEASURED, PARTS, PLATE, POINT
from airover.panels.parts import Fields, Panel, choice, text
from airover.physics.system import System, system_resistance
from airover.records import Curve, Job, read_catalogue
from airover.records.curve_points import read_curve, read_points, written
from airover.scope import check_scope
from airover.sized import Place, Sized, asked_with, assumed_system, measured_system, prices
from airover.units import coherent, convert, read

SYSTEMS = [("US customary", "US"), ("SI", "SI")]
ELEVATIONS = {"US": ("ft", 0, 11000, 100), "SI": ("m", 0, 3500, 50)}
TEMPERATURES = {"US": ("degF", -20, 130, 1), "SI": ("degC", -30, 55, 1)}
JOINED, SCATTERED = "joined", "scattered"
POINTS = [("on the curve, joined", JOINED), ("scattered, smoothed", SCATTERED)]
PAGES = ("Size", "825 against 1075 rpm", "Motors on it", "Dirty coil", "What else to measure")
TEMP_USUAL, ELEVATION_USUAL = 35.0, 0.0  # degC and m, where a job says nothing


class FanPanel(Panel):
    """A blade's curve, its system and sliders; the point where they meet, the motor for it.

    ``curve_path`` is a CSV file (by default the job's own curve, else the example that comes with
    the kit), ``job_path`` a job file; ``units`` is "US" or "SI". Controls: ``points`` (one a line),
    ``curve`` (speed and density), ``taken``, ``system`` with ``measured``, ``losses`` and
    ``coil_share`` [%]; the sliders ``speed`` [rpm], ``resistance`` [%], ``dirt``, ``elevation`` and
    ``temperature`` in the units shown; ``speeds``, ``units``, ``path``, ``job_file``. ``pages``
    has the tables: the one that is looked at is worked. ``picture`` is the last one drawn. Raises
    InputError when the files cannot be read or worked.
    """

    def __init__(self, curve_path=None, job_path=None, units="US"):
        super().__init__()
        self._motors = read_catalogue(data_folder() / "catalogue.csv")
        self._still = lru_cache(maxsize=1)(self._read_still)
        self._told, self._pictured = None, {}
        self._make_controls(units)
        job = _job(job_path or data_folder() / "jobs" / "roof-unit.toml")
        curve = job.blade.curve
        if curve_path is not None or curve is None:
            curve = read_curve(curve_path or data_folder() / "curves" / "example-blade.csv")
        self._fill_job(job)
        self.fill(curve)
        self.answer = self.compute()
        self.draw()
        self._observe()
        self._arrange()

    def fill(self, curve: Curve) -> None:
        """Write ``curve`` into the controls; nothing is worked."""
        with self.filling():
            self.points.value = written(curve)
            self.curve.speed.value = curve.speed_rpm.text
            self.curve.density.value = "" if curve.density is None else curve.density.text

    def open(self, path) -> None:
        """Read the curve file at ``path`` and work it; what is wrong with it is told."""
        self.open_with(read_curve, path, self.fill)

    def open_job(self, path) -> None:
        """Read the job file at ``path`` (and the curve, if it has one) and work it."""
        self.open_with(_job, path, self._fill_all)

    def compute(self) -> Sized:
        points, system, asked = self._still(*self._asked())
        return Sized.of(points, system, self.place, self.job, asked, self.units.value)

    @property
    def place(self) -> Place:
        """What the sliders say."""
        unit, *_ = ELEVATIONS[self.units.value]
        degrees, *_ = TEMPERATURES[self.units.value]
        return Place(
            speed_rpm=float(self.speed.value),
            elevation=coherent(float(self.elevation.value), "elevation", unit, "elevation"),
            temp_outdoor=coherent(float(self.temperature.value), "air_temperature", degrees, "air"),
            dirt=float(self.dirt.value),
            resistance=self.resistance.value / 100,
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
        if found.shown not in self._pictured:
            self._pictured[found.shown] = FanPicture(found.shown)
        self.verdict.value = fan_shown.verdict(found, self.job.invented)
        self.picture = fan_shown.picture(found, self._pictured[found.shown].png(found))
        self.picture_shown.value = self.picture.html()
        self.draw_page()

    def draw_page(self) -> None:
        """The table that is looked at, if it is not that of this answer already."""
        at = self.tables.selected_index or 0
        if self._told != (at, self.answer):
            self.pages[at].value = self._page(at)
            self._told = at, self.answer

    def refused(self, error: InputError | None) -> None:
        for fields in (self.curve, self.measured, self.losses):
            fields.show_problem(error)

    @property
    def tried(self):
        """The rating below, the right one and the one above, from the catalogue, on this duty."""
        return self.answer.motors(self._motors)

    @property
    def chosen(self):
        """The catalogue's motor of the right rating; None where there is none."""
        return self.answer.motor(self._motors)

    @property
    def dirty(self):
        """The chosen motor as the coil gets dirty. Raises InputError where there is none."""
        if self.chosen is None:
            given = f"no motor of {self.answer.size.standard.text} and {self.answer.poles} poles"
            raise InputError("catalogue", given, "a catalogue that has one")
        return self.answer.dirty(self.chosen)

    @property
    def prices(self):
        """What each state of the coil costs at the compressor."""
        return prices(self.answer, self.dirty)

    def _page(self, at: int) -> str:
        found, shown = self.answer, self.units.value
        try:
            if at == 0:
                return fan_shown.sizing(found)
            if at == 1:
                return fan_shown.speeds(found)
            if at == 2:
                return fan_shown.motors(self.tried, float(found.asked.voltage[1]), shown)
            if at == 3:
                sweep = self.dirty
                return fan_shown.dirt(sweep, prices(found, sweep), self.chosen, shown)
            return fan_shown.asks(found)
        except InputError as error:  # the answer holds; this table alone cannot be worked
            return style.problem(f"This table cannot be worked. {error}")

    def _asked(self) -> tuple:
        """All that decides about curve and system; it can be a key of a cache."""
        fields = (self.curve, self.measured, self.losses)
        told = tuple(tuple(one.given().items()) for one in fields)
        return self.points.value, self.taken.value, self.system.value, self.coil_share.value, (
            told, self.job)  # fmt: skip

    def _read_still(self, points, taken, system, share, others):
        """What no slider changes: the curve as written and worked, the system, the conditions."""
        (curve, measured, losses), job = others
        curve = dict(curve)
        told = read_points(points, curve.get("speed", ""), curve.get("density", ""))
        worked = curve_of(told, smooth=taken == SCATTERED)
        parts = _system(system, dict(measured), dict(losses), share / 100, told, job)
        job = _without_airflow(job) if system == PLATE else job
        flow = None if system in (AIRFLOW, PLATE) else _duty_flow(worked, parts, job)
        return worked, parts, asked_with(told, _placed(job), flow)

    def _fill_job(self, job: Job) -> None:
        site = job.site
        temp = TEMP_USUAL if site.outdoor_temperature is None else site.outdoor_temperature.mid
        height = ELEVATION_USUAL if site.elevation is None else site.elevation.mid
        with self.filling():
            self.job = job
            self._set_place(height, temp)

    def _fill_all(self, job: Job) -> None:
        """The job, and its blade's curve if it has one."""
        self._fill_job(job)
        if job.blade.curve is not None:
            self.fill(job.blade.curve)

    def _set_place(self, height: float, temp: float) -> None:
        """Sliders of elevation [m] and temperature [degC] in the units shown."""
        system = self.units.value
        _reach(self.elevation, "Elevation", ELEVATIONS[system], height, "elevation")
        _reach(self.temperature, "Outdoor air", TEMPERATURES[system], temp, "air_temperature")

    def _units_changed(self, change) -> None:
        if not self._filling:
            before = self.answer.place
            with self.filling():
                self._set_place(before.elevation, before.temp_outdoor)
            self.update()

    def _slid(self, change) -> None:
        if not self._filling:
            with self.filling():
                named = [rpm for _, rpm in fan_fields.SPEEDS]
                self.speeds.value = self.speed.value if self.speed.value in named else 0
            self.slide()

    def _speed_chosen(self, change) -> None:
        if not self._filling and self.speeds.value:
            self.speed.value = self.speeds.value

    def _system_chosen(self, change) -> None:
        self.measured.pages["Measured"].layout.display = _display(self.system.value == POINT)
        self.losses.pages["Losses"].layout.display = _display(self.system.value == PARTS)
        self.coil_share.layout.display = _display(self.system.value != PARTS)

    def _path_given(self, change) -> None:
        if not self._filling:
            self.open(self.path.value.strip())

    def _job_given(self, change) -> None:
        if not self._filling:
            self.open_job(self.job_file.value.strip())

    def _page_chosen(self, change) -> None:
        self.draw_page()

    def _observe(self) -> None:
        fields = (self.curve, self.measured, self.losses)
        typed = [one for record in fields for one in record.controls.values()]
        self._system_chosen(None)
        self.system.observe(self._system_chosen, "value")
        self.watch([*typed, self.points, self.taken, self.system, self.coil_share])
        for slider in (self.speed, self.resistance, self.dirt, self.elevation, self.temperature):
            slider.observe(self._slid, "value")
        self.speeds.observe(self._speed_chosen, "value")
        self.units.observe(self._units_changed, "value")
        self.path.observe(self._path_given, "value")
        self.job_file.observe(self._job_given, "value")
        self.tables.observe(self._page_chosen, "selected_index")

    def _make_controls(self, units: str) -> None:
        self.points = widgets.Textarea(rows=11, continuous_update=False)
        self.points.layout.width = "auto"
        self.curve = Fields("curve", fan_fields.CURVE)
        self.measured = Fields("measured", MEASURED)
        self.losses = Fields("losses", LOSSES)
        for fields, asked in ((self.measured, MEASURED), (self.losses, LOSSES)):
            for page in asked.values():
                for name, example in page.items():
                    fields.controls[name].value = example
        self.taken = choice("Points are", POINTS)
        self.system = choice("System", fan_fields.SYSTEMS)
        self.units = choice("Units shown", SYSTEMS)
        self.units.value = units
        self.path = text("Curve file (CSV)", "my-blade.csv")
        self.job_file = text("Job file", "my-job.toml")
        self.coil_share = _slider("Coil's share [%]", 0, 100, 70, 5)
        self.coil_share.continuous_update = False
        narrow = {"button_width": "92px"}
        self.speeds = widgets.ToggleButtons(options=fan_fields.SPEEDS, style=narrow)
        self.speed = _slider("Speed [rpm]", 500, 1300, 1075, 5)
        self.resistance = _slider("Resistance [%]", 25, 400, 100, 5)
        self.dirt = widgets.FloatSlider(
            description="Dirt on the coil, times", min=1, max=6, value=1, step=0.25, **_SHAPE
        )
        self.elevation = _slider("Elevation", 0, 11000, 0, 100)
        self.temperature = _slider("Outdoor air", -20, 130, 95, 1)
        for name in ("verdict", "picture_shown"):
            setattr(self, name, widgets.HTML())
            getattr(self, name).add_class("ao-answer")
        self.pages = [widgets.HTML() for _ in PAGES]
        self.tables = widgets.Tab(children=self.pages, titles=list(PAGES), selected_index=0)
        self.tables.add_class("ao-answer")

    def _arrange(self) -> None:
        sliders = [self.speeds, self.speed, self.resistance, self.dirt]
        left = widgets.VBox([*sliders, self.elevation, self.temperature, self._tab()])
        left.layout = {"flex": "0 0 384px"}
        right = widgets.VBox([self.picture_shown], layout={"flex": "1 1 0", "min_width": "0"})
        right.layout.padding = "0 0 0 22px"
        head = [widgets.HTML(style.STYLE), self.status, self.verdict]
        below = [self.tables, widgets.HTML(fan_shown.cautions())]
        self.view.children = [*head, widgets.HBox([left, right]), *below]

    def _tab(self) -> widgets.Tab:
        hints = [
            widgets.HTML(style.quiet(words))
            for words in (fan_fields.HOW_TO_WRITE, fan_fields.OF_THE_SYSTEM)
        ]
        curve = [hints[0], self.points, self.curve.pages["Curve"], self.taken]
        parts = [self.measured.pages["Measured"], self.losses.pages["Losses"]]
        pages = {
            "Curve": widgets.VBox(curve),
            "System": widgets.VBox([self.system, *parts, self.coil_share, hints[1]]),
            "More": widgets.VBox([self.path, self.job_file, self.units]),
        }
        return widgets.Tab(children=list(pages.values()), titles=list(pages))


def _system(kind: str, measured: dict, losses: dict, share: float, told: Curve, job: Job) -> System:
    """The system that the controls tell; raises InputError."""
    if kind == POINT:
        flow, pressure = (_read("measured", measured, name) for name in ("airflow", "pressure"))
        return measured_system(flow, pressure, share, _density("measured", measured))
    if kind == PARTS:
        flow = _read("losses", losses, "airflow")
        coil, others = (
            float(system_resistance(flow, _read("losses", losses, name)))
            for name in ("coil", "others")
        )
        return System(coil, (others,), _density("losses", losses))
    if kind == AIRFLOW and job.site.airflow is None:
        accepted = 'a job that states it, such as "2400 cfm", or another way to know the system'
        raise InputError("job's airflow", "nothing", accepted)
    return assumed_system(told, job if kind == AIRFLOW else _without_airflow(job), share)


def _read(record: str, given: dict, name: str) -> float:
    kind = "flow" if name == "airflow" else "pressure"
    return read(given.get(name, ""), kind, f"{record} {name}").mid


def _density(record: str, given: dict) -> float:
    if "density" not in given:
        return DENSITY_STANDARD
    return read(given["density"], "density", f"{record} density").mid


def _duty_flow(worked, parts: System, job: Job) -> float:
    """Airflow [m3/s] at the plate's speed, kept on the measured curve: a job then knows it."""
    density, plate = worked.density, job.nameplate.speed_rpm
    faster = 1.0 if plate is None else plate.mid / worked.speed_rpm
    point = worked.operating_point(parts.resistance(density), worked.speed_rpm, density, True)
    low, high = worked.flow[[0, -1]]
    within = 0.05 * (high - low)
    return float(np.clip(point.flow, low + within, high - within)) * faster


def _without_airflow(job: Job) -> Job:
    return job.model_copy(update={"site": job.site.model_copy(update={"airflow": None})})


def _placed(job: Job) -> Job:
    """The job at a stated place: the sliders say the elevation and the temperature."""
    site = job.site
    stated = {
        "elevation": site.elevation or read("0 m", "elevation", "elevation"),
        "outdoor_temperature": site.outdoor_temperature
        or read("35 degC", "air_temperature", "outdoor temperature"),
    }
    return job.model_copy(update={"site": site.model_copy(update=stated)})


def _job(path: str | os.PathLike) -> Job:
    job = Job.read(path)
    check_scope(job)
    return job


def _display(shown: bool) -> str | None:
    return None if shown else "none"


def _reach(slider, label: str, span: tuple, value: float, kind: str) -> None:
    """``slider`` over another span, its ``value`` [SI] in that span's unit."""
    unit, least, most, step = span
    shown = convert(value, kind, unit)
    slider.description, slider.step = f"{label} [{unit}]", step
    slider.min, slider.max = min(slider.min, least), max(slider.max, most)
    slider.value = round(min(max(shown, least), most))
    slider.min, slider.max = least, most


_SHAPE = {"style": {"description_width": "150px"}, "layout": {"width": "auto"}}


def _slider(label: str, least: int, most: int, value: int, step: int) -> widgets.IntSlider:
    return widgets.IntSlider(
        description=label, min=least, max=most, value=value, step=step, **_SHAPE
    )
