"""The panel of worksheet 03: what the blade really asks for.

What the panel of a blade asks: its curve, and the system that it blows through.

The motor that a fan needs, in pieces of HTML as its panel places them.
"""

from functools import lru_cache

import ipywidgets as widgets
import numpy as np

from airover.app import fields, style
from airover.app.fields import AmountSlider, Fields, Lines, choice, hint, slider, text
from airover.app.panel import PagedPanel, Picture, read_job, read_motors
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.message import Quantity
from airover.core.texts import Writer
from airover.core.units import read
from airover.model.conditions import DENSITY_STANDARD, curve_of
from airover.model.fan_at_site import (
    CompressorPrice,
    FanSite,
    Sized,
    assumed_system,
    conditions_with,
    measured_system,
    prices,
)
from airover.model.sizing import DirtSweep, Tried
from airover.physics.air_path import System, system_resistance
from airover.records.catalog import CatalogMotor
from airover.records.fan import Curve, read_curve, read_points, written
from airover.records.job import Job
from airover.reports import fan as tables_fan
from airover.reports import fan as told
from airover.reports.fan import FanPicture
from airover.selection.answer import CAUTIONS

CURVE = {"Curve": {"speed": "1075 rpm", "density": "0.075 lb/ft3"}}
MEASURED = {
    "Measured": {"airflow": "2400 cfm", "pressure": "0.2 in. wg", "density": "0.075 lb/ft3"}
}
LOSSES = {
    "Losses": {
        "airflow": "2400 cfm", "coil": "0.14 in. wg", "others": "0.06 in. wg",
        "density": "0.075 lb/ft3",
    }
}  # fmt: skip
POINT, PARTS, AIRFLOW, PLATE = "measured", "losses", "airflow", "plate"
SYSTEMS = [
    ("measured: one point", POINT),
    ("losses of coil and the rest", PARTS),
    ("from the job's airflow", AIRFLOW),
    ("not known: the plate's power", PLATE),
]
SPEEDS = [("1075 rpm", 1075), ("825 rpm", 825), ("another", 0)]


_BARS = {"carried": "fits", "close": "fits with work", "doubtful": "does not fit"}


def verdict(found: Sized, invented: bool, writer: Writer) -> str:
    below = told.details(found, writer) + [writer("fan.hint.invented")] * invented
    return style.verdict(_BARS[found.state], told.verdict(found, writer), " ".join(below))


def picture(found: Sized, png: bytes, writer: Writer) -> Picture:
    words = writer(
        "fan.picture.words",
        pressure=Quantity(found.bands["pressure_pa"].mid, "pressure"),
        flow=Quantity(found.bands["flow_m3s"].mid, "flow"),
        power=round(found.bands["power_shaft_w"].mid),
        rating=found.size.standard.text,
    )
    return Picture(png, words)


def sizing(found: Sized, writer: Writer) -> str:
    table = style.table(tables_fan.sizing(found, writer), "figures")
    return table + style.quiet(writer("fan.hint.sizing"))


def speeds(found: Sized, writer: Writer) -> str:
    table = style.table(tables_fan.speeds(found, writer), "figures")
    return table + style.quiet(writer("fan.hint.speeds"))


def motors(tried: tuple[Tried, ...], voltage: float, writer: Writer) -> str:
    hint = writer("fan.hint.motors", voltage=round(voltage))
    return style.table(tables_fan.motors(tried, writer), "figures") + style.quiet(hint)


def dirt(
    sweep: DirtSweep,
    prices: tuple[CompressorPrice | None, ...],
    row: CatalogMotor,
    writer: Writer,
) -> str:
    hints = [writer("fan.hint.dirt", motor=row.name)]
    if sweep.beyond:
        hints.append(writer("fan.hint.beyond", beyond=sweep.beyond))
    hints.append(writer(f"fan.hint.{'compressor' if any(prices) else 'no_heat'}"))
    table = style.table(tables_fan.dirt(sweep, prices, writer), "figures")
    return table + style.quiet(" ".join(hints))


def asks(found: Sized, writer: Writer) -> str:
    advice = [writer(ask.advice) for ask in found.asks]
    if not advice:
        return style.quiet(writer("fan.hint.nothing"))
    return style.listed(writer("fan.hint.important"), advice)


def cautions(writer: Writer) -> str:
    told = [*map(writer.value, CAUTIONS), writer("fan.hint.meters")]
    return style.listed(writer("fan.hint.before"), told)


ELEVATIONS = {"US": ("ft", 0, 11000, 100), "SI": ("m", 0, 3500, 50)}
TEMPERATURES = {"US": ("degF", -20, 130, 1), "SI": ("degC", -30, 55, 1)}
JOINED, SCATTERED = "joined", "scattered"
POINTS = [("on the curve, joined", JOINED), ("scattered, smoothed", SCATTERED)]
PAGES = {
    "Size": sizing,
    "825 against 1075 rpm": speeds,
    "Motors on it": motors,
    "Dirty coil": dirt,
    "What else to measure": asks,
}
TEMP_USUAL, ELEVATION_USUAL = 35.0, 0.0  # degC and m, where a job says nothing


class FanPanel(PagedPanel):
    """A blade's curve, its system and sliders; the point where they meet, the motor for it.

    ``curve_path`` is a CSV file (by default the job's own curve, else the example that comes with
    the kit), ``job_path`` a job file; ``units`` is "US" or "SI", ``language``
    "en" or "es". Controls: ``points`` (one a line),
    ``curve`` (speed and density), ``taken``, ``system`` with ``measured``, ``losses`` and
    ``coil_share`` [%]; the sliders ``speed`` [rpm], ``resistance`` [%], ``dirt``, ``elevation`` and
    ``temperature`` in the units shown; ``speeds``, ``units``, ``path``, ``job_file``. ``pages``
    has the tables: the one that is looked at is worked. ``picture`` is the last one drawn. Raises
    InputError when the files cannot be read or worked.
    """

    def __init__(self, curve_path=None, job_path=None, units="US", language="en"):
        super().__init__(language)
        self._motors = read_motors()
        self._still = lru_cache(maxsize=1)(self._read_still)
        self._pictured = {}
        self._make_controls(units)
        job = read_job(job_path)
        curve = job.blade.curve
        if curve_path is not None or curve is None:
            curve = read_curve(curve_path or data_folder() / "curves" / "example-blade.csv")
        self._fill_job(job)
        self.fill(curve)
        self.begin()
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
        self.open_with(read_job, path, self._fill_all)

    def compute(self) -> Sized:
        points, system, asked = self._still(*self._asked())
        return Sized.of(points, system, self.place, self.job, asked)

    @property
    def place(self) -> FanSite:
        """What the sliders say."""
        return FanSite(
            speed_rpm=float(self.speed.value),
            elevation=self.elevation.amount,
            temp_outdoor=self.temperature.amount,
            dirt=float(self.dirt.value),
            resistance=self.resistance.value / 100,
        )

    def draw(self) -> None:
        found, named = self.answer, [rpm for _, rpm in SPEEDS]
        with self.filling():
            self.speeds.value = self.speed.value if self.speed.value in named else 0
        shown, writer = self.units.value, self.writer
        if shown not in self._pictured:
            self._pictured[shown] = FanPicture(writer)
        self.verdict.value = verdict(found, self.job.invented, writer)
        self.picture = picture(found, self._pictured[shown].png(found), writer)
        self.picture_shown.value = self.picture.html()
        self.draw_page()

    def page(self, title: str) -> str:
        found, writer, key = self.answer, self.writer, self._pages[title]
        if key == "Motors on it":
            return motors(self.tried, float(found.conditions.voltage[1]), writer)
        if key == "Dirty coil":
            sweep = self.dirty
            return dirt(sweep, prices(found, sweep), self.chosen, writer)
        return PAGES[key](found, writer)

    def refused(self, error: InputError | None) -> None:
        for record in self._records():
            record.show_problem(error)
        line = error is not None and str(error).startswith("curve line")
        self.points_problem.value = style.wrong(self.writer.error(error)) if line else ""

    @property
    def tried(self):
        """The rating below, the right one and the one above, from the catalog, on this duty."""
        return self.answer.motors(self._motors)

    @property
    def chosen(self):
        """The catalog's motor of the right rating; None where there is none."""
        return self.answer.motor(self._motors)

    @property
    def dirty(self):
        """The chosen motor as the coil gets dirty. Raises InputError where there is none."""
        if self.chosen is None:
            given = f"no motor of {self.answer.size.standard.text} and {self.answer.poles} poles"
            raise InputError("catalog", given, "a catalog that has one")
        return self.answer.dirty(self.chosen)

    @property
    def prices(self):
        """What each state of the coil costs at the compressor."""
        return prices(self.answer, self.dirty)

    def _asked(self) -> tuple:
        """All that decides about curve and system; it can be a key of a cache."""
        told = tuple(tuple(one.given().items()) for one in self._records())
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
        return worked, parts, conditions_with(told, _placed(job), flow)

    def _fill_job(self, job: Job) -> None:
        site = job.site
        temp = TEMP_USUAL if site.outdoor_temperature is None else site.outdoor_temperature.mid
        height = ELEVATION_USUAL if site.elevation is None else site.elevation.mid
        with self.filling():
            self.job = job
            self.elevation.show(height, self.units.value)
            self.temperature.show(temp, self.units.value)

    def _fill_all(self, job: Job) -> None:
        """The job, and its blade's curve if it has one."""
        self._fill_job(job)
        if job.blade.curve is not None:
            self.fill(job.blade.curve)

    def _units_changed(self) -> None:
        with self.filling():
            for amount in (self.elevation, self.temperature):
                amount.show(amount.amount, self.units.value)
        self.update()

    def _speed_chosen(self) -> None:
        if self.speeds.value:
            self.speed.value = self.speeds.value

    def _system_chosen(self) -> None:
        self.measured.pages["Measured"].layout.display = _display(self.system.value == POINT)
        self.losses.pages["Losses"].layout.display = _display(self.system.value == PARTS)
        self.coil_share.layout.display = _display(self.system.value != PARTS)

    def _records(self) -> tuple[Fields, ...]:
        return self.curve, self.measured, self.losses

    def _observe(self) -> None:
        typed = [one for record in self._records() for one in record.controls.values()]
        asked = [*typed, self.points, self.taken, self.system, self.coil_share]
        sliders = [self.speed, self.resistance, self.dirt, self.elevation, self.temperature]
        self._system_chosen()
        self.system.observe(lambda _: self._system_chosen(), "value")
        self.watch(asked)
        self.follow_sliders(sliders)
        self.follow([self.speeds], self._speed_chosen)
        self.follow([self.units], self._units_changed)
        self.follow_path(self.path, self.open)
        self.follow_path(self.job_file, self.open_job)
        self.keep_steps([self.units, *asked, *sliders], first=[self.units])

    def _make_controls(self, units: str) -> None:
        self.points, self.points_problem = Lines(rows=11), fields.below()
        self.points.layout.width = "auto"
        write = Writer(self._language, units)
        self.curve = Fields("curve", CURVE, write=write)
        self.measured = Fields("measured", MEASURED, write=write)
        self.losses = Fields("losses", LOSSES, write=write)
        for record, asked in ((self.measured, MEASURED), (self.losses, LOSSES)):
            for page in asked.values():
                for name, example in page.items():
                    record.controls[name].value = example
        self.taken = choice(write("panel.fan.points"), fields.worded(POINTS, "fan.choice", write))
        self.system = choice(write("panel.fan.system"), fields.worded(SYSTEMS, "fan.choice", write))
        self.units = fields.units_shown(units, write)
        self.path = text(write("panel.fan.curve_file"), "my-blade.csv", write)
        self.job_file = text(write("panel.job_file"), "my-job.toml", write)
        self.coil_share = slider(write("panel.fan.coil_share"), 0, 100, 70, 5)
        self.coil_share.continuous_update = False
        narrow = {"button_width": "92px"}
        self.speeds = widgets.ToggleButtons(
            options=fields.worded(SPEEDS, "fan.choice", write), style=narrow
        )
        self.speed = slider(write("panel.fan.speed"), 500, 1300, 1075, 5)
        self.resistance = slider(write("panel.fan.resistance"), 25, 400, 100, 5)
        self.dirt = slider(write("panel.fan.dirt"), 1, 6, 1, 0.25)
        self.elevation = AmountSlider(write("page.site.elevation"), "elevation", ELEVATIONS)
        self.temperature = AmountSlider(write("panel.outdoors"), "air_temperature", TEMPERATURES)
        self.places("verdict", "picture_shown")
        self._pages = {write(f"panel.fan.page.{key}"): key for key in PAGES}
        self.make_pages(self._pages)

    def _arrange(self) -> None:
        sliders = [self.speeds, self.speed, self.resistance, self.dirt]
        left = [*sliders, self.elevation, self.temperature, self._tab()]
        below = [self.tables, widgets.HTML(cautions(self.writer))]
        self.arrange([self.verdict], left, [self.picture_shown], below)

    def _tab(self) -> widgets.Tab:
        points = [hint(self.text("fan.how_to_write")), self.points, self.points_problem]
        parts = [self.measured.pages["Measured"], self.losses.pages["Losses"], self.coil_share]
        of_the_system = self.text(
            "fan.of_the_system", density=Quantity(DENSITY_STANDARD, "density")
        )
        return fields.tab({
            self.text("fan.tab.curve"): [*points, self.curve.pages["Curve"], self.taken],
            self.text("fan.system"): [self.system, *parts, hint(of_the_system)],
            self.text("motors.more"): [self.path, self.job_file, self.units],
        })  # fmt: skip


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


def _display(shown: bool) -> str | None:
    return None if shown else "none"
