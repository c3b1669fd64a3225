"""Panel for worksheet 03, which calculates the required shaft power of a fan.

The panel shows the fan curve, the system curve, and the motor for the operating point.
"""

from functools import lru_cache

import ipywidgets as widgets
import numpy as np

from airover.app import fields, style
from airover.app.current_job import enough
from airover.app.fields import AmountSlider, Entries, Fields, choice, hint, slider, text, worded
from airover.app.panel import read_motors
from airover.app.subject_panel import SubjectPanel, table_page
from airover.core.errors import NOTHING, InputError
from airover.core.files import data_folder
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.core.units import read
from airover.model.conditions import DENSITY_STANDARD, curve_of
from airover.model.fan_at_site import (
    FanSite,
    Sized,
    assumed_system,
    conditions_with,
    measured_system,
    prices,
)
from airover.physics.air_path import System, system_resistance
from airover.records.fan import (
    Curve,
    read_curve,
    read_points,
    usual_units,
    with_units,
    written,
)
from airover.records.fields import Record, amount
from airover.records.job import Job
from airover.records.scope import check_scope
from airover.reports import fan as reports

CURVE = {"curve": {"speed": "1075 rpm", "density": "0.075 lb/ft3"}}
MEASURED = {
    "measured": {"airflow": "2400 cfm", "pressure": "0.2 in. wg", "density": "0.075 lb/ft3"}
}
LOSSES = {
    "losses": {
        "airflow": "2400 cfm", "coil": "0.14 in. wg", "others": "0.06 in. wg",
        "density": "0.075 lb/ft3",
    }
}  # fmt: skip


class MeasuredSystem(Record):
    """Airflow and static pressure measured on the unit, and the air density."""

    airflow: amount("flow") = None
    pressure: amount("pressure") = None
    density: amount("density") = None


class Losses(Record):
    """Pressure drops at a given airflow, and the air density."""

    airflow: amount("flow") = None
    coil: amount("pressure") = None
    others: amount("pressure") = None
    density: amount("density") = None


class CurveFacts(Record):
    """Speed and air density at which a fan curve was measured."""

    speed: amount("speed") = None
    density: amount("density") = None


SYSTEMS = POINT, PARTS, AIRFLOW, PLATE = "measured", "losses", "airflow", "plate"
POINTS = JOINED, SCATTERED = "joined", "scattered"
POINT_EXAMPLES = {"US": "2400, 0.15, 0.28", "SI": "1.13, 37, 209"}
SPEEDS = (1075, 825)  # rpm, for six and eight poles
ELEVATIONS = {"US": ("ft", 0, 11000, 100), "SI": ("m", 0, 3500, 50)}
TEMPERATURES = {"US": ("degF", -20, 130, 1), "SI": ("degC", -30, 55, 1)}
TEMP_USUAL, ELEVATION_USUAL = 35.0, 0.0  # degC and m, used if the job does not give them


@lru_cache
def example_curve() -> Curve:
    """Return the fictional fan curve of the sample job."""
    return read_curve(data_folder() / "curves" / "example-blade.csv")


def size(panel: "FanPanel") -> str:
    return table_page(reports.sizing(panel.answer, panel.writer), panel.writer("fan.hint.sizing"))


def speeds(panel: "FanPanel") -> str:
    return table_page(reports.speeds(panel.answer, panel.writer), panel.writer("fan.hint.speeds"))


def motors(panel: "FanPanel") -> str:
    voltage = float(panel.answer.conditions.voltage[1])
    hint = panel.writer("fan.hint.motors", voltage=round(voltage))
    return table_page(reports.motors(panel.tried, panel.writer), hint)


def dirt(panel: "FanPanel") -> str:
    sweep, costs, write = panel.dirty, panel.prices, panel.writer
    hints = [write("fan.hint.dirt", motor=panel.chosen.name)]
    if sweep.beyond:
        hints.append(write("fan.hint.beyond", beyond=sweep.beyond))
    hints.append(write(f"fan.hint.{'compressor' if any(costs) else 'no_heat'}"))
    return table_page(reports.dirt(sweep, costs, write), " ".join(hints))


def measure(panel: "FanPanel") -> str:
    write = panel.writer
    advice = [write(ask.advice) for ask in panel.answer.asks]
    if not advice:
        return style.quiet(write("fan.hint.nothing"))
    return style.listed(write("fan.hint.important"), advice)


BARS = {"carried": "fits", "close": "fits with work", "doubtful": "does not fit"}
PAGES = {"size": size, "speeds": speeds, "motors": motors, "dirt": dirt, "measure": measure}


class FanPanel(SubjectPanel):
    """Panel for a fan curve, a system curve, the operating point and a suitable motor.

    The controls are ``points`` (one per line), ``curve`` (speed and density), ``taken``, ``system``
    (with ``measured``, ``losses`` and ``coil_share`` [%]), ``speeds``, ``units``, ``path`` (a curve
    file) and ``bar`` (the current job). The sliders are ``speed`` [rpm], ``resistance`` [%],
    ``dirt``, and ``elevation`` and ``temperature`` in the display units. The attribute ``pages``
    contains the tables, and only the visible table is calculated. The attribute ``picture`` is the
    latest plot.

    Parameters
    ----------
    curve_path : str or os.PathLike, optional
        CSV file, by default the curve of the job.
    job_path : str or os.PathLike, optional
        Job file, by default the current job of all worksheets.
    units : str, optional
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es".

    Raises
    ------
    InputError
        If a file cannot be read or evaluated.
    """

    subject, reports, step = "fan", reports, "fan"
    bars, PAGES = BARS, PAGES

    def __init__(self, curve_path=None, job_path=None, units="US", language="en"):
        super().__init__(language, units)
        self._motors = read_motors()
        self._still = lru_cache(maxsize=1)(self._read_still)
        self.use_job(job_path)
        if curve_path is not None:
            self.fill_curve(read_curve(curve_path))
        self._observe()
        self.resume()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Load ``job`` and its fan curve without calculating.

        The example curve shipped with airover is used only for the sample job.
        """
        site = job.site
        temp = TEMP_USUAL if site.outdoor_temperature is None else site.outdoor_temperature.mid
        elevation = ELEVATION_USUAL if site.elevation is None else site.elevation.mid
        curve, self._example = job.blade.curve, None
        if curve is None and self.bar is not None and self.bar.current.is_sample:
            curve = self._example = example_curve()
        with self.filling():
            self.job = job
            self.elevation.show(elevation, self.units.value)
            self.temperature.show(temp, self.units.value)
            for record, example in ((self.measured, MEASURED), (self.losses, LOSSES)):
                record.restore({} if self._example is None else example[record.record])
            usual = PLATE if site.airflow is None else AIRFLOW
            self.system.value = POINT if self._example else usual
        self.fill_curve(curve)

    def fill_curve(self, curve: Curve | None) -> None:
        """Enter ``curve`` in the controls without calculating, or clear them if it is None."""
        with self.filling():
            self.points.value = "" if curve is None else written(curve)
            speed, density = (None, None) if curve is None else (curve.speed_rpm, curve.density)
            self.curve.speed.value = "" if speed is None else speed.text
            self.curve.density.value = "" if density is None else density.text

    def lacks(self) -> str:
        if not self.points.value.strip():
            return self.writer("worksheet.enter_curve")
        return "" if enough(self.job) else self.writer("worksheet.enter_nameplate_in_01")

    def own_job(self) -> Job:
        curve = None
        if self.points.value.strip():
            given = self.curve.given()
            curve = read_points(self.points.value, given.get("speed", ""), given.get("density", ""))
        if curve == self._example:
            curve = None
        return self.job.model_copy(
            update={"blade": self.job.blade.model_copy(update={"curve": curve})}
        )

    def job_controls(self) -> list:
        return [self.points, *self.curve.controls.values()]

    def open_curve(self, path) -> None:
        """Read the curve file at ``path`` and recalculate, or show the error."""
        self.open_with(read_curve, path, self.fill_curve)
        self.settled()

    def compute(self) -> Sized:
        check_scope(self.job)
        points, system, conditions = self._still(*self._asked())
        return Sized.of(points, system, self.place, self.job, conditions)

    def draw(self) -> None:
        with self.filling():
            self.speeds.value = self.speed.value if self.speed.value in SPEEDS else 0
        super().draw()

    @property
    def place(self) -> FanSite:
        """Return the site conditions set by the sliders."""
        return FanSite(
            speed_rpm=float(self.speed.value),
            elevation=self.elevation.amount,
            temp_outdoor=self.temperature.amount,
            dirt=float(self.dirt.value),
            resistance=self.resistance.value / 100,
        )

    def update(self) -> None:
        self._tell_units()
        super().update()

    def refused(self, error: InputError | None) -> None:
        for record in self.records():
            record.show_problem(error)
        at_line = fields.english(error).startswith("curve line")
        self.points_problem.value = style.wrong(self.writer.error(error)) if at_line else ""

    @property
    def said(self) -> str:
        """Return the verdict, its details, and the most important measurements."""
        asks = [f"- {self.writer(ask.advice)}" for ask in self.answer.asks]
        return "\n".join([super().said, *asks])

    @property
    def tried(self):
        """Evaluate catalog motors with the recommended rating and the adjacent ratings."""
        return self.answer.motors(self._motors)

    @property
    def chosen(self):
        """Return the catalog motor with the recommended rating, or None if there is none."""
        return self.answer.motor(self._motors)

    @property
    def dirty(self):
        """Evaluate the selected motor with a dirty coil.

        Raises
        ------
        InputError
            If no motor is selected.
        """
        if self.chosen is None:
            rating, poles = self.answer.size.standard.text, self.answer.poles
            given = Message("panel.fan.no_motor", rating=rating, poles=poles)
            raise InputError("catalog", given, Message("panel.fan.other_catalog"))
        return self.answer.dirty(self.chosen)

    @property
    def prices(self):
        """Return the extra compressor energy cost for each coil condition."""
        return prices(self.answer, self.dirty)

    def _new_picture(self, writer: Writer) -> reports.FanPicture:
        return reports.FanPicture(writer)

    def _picture_words(self) -> str:
        found = self.answer
        return self.writer(
            "fan.picture.words",
            pressure=Quantity(found.bands["pressure_pa"].mid, "pressure"),
            flow=Quantity(found.bands["flow_m3s"].mid, "flow"),
            power=round(found.bands["power_shaft_w"].mid),
            rating=found.size.standard.text,
        )

    def _asked(self) -> tuple:
        """Return a cache key made from all inputs that determine the fan and system curves."""
        typed = tuple(tuple(one.given().items()) for one in self.records())
        return (
            self.points.value, self.taken.value, self.system.value, self.coil_share.value, typed,
            self.job,
        )  # fmt: skip

    def _read_still(self, lines, taken, system, share, typed, job):
        """Read the inputs that are not controlled by sliders."""
        curve, measured, losses = map(dict, typed)
        given = read_points(lines, curve.get("speed", ""), curve.get("density", ""))
        points = curve_of(given, smooth=taken == SCATTERED)
        parts = _system(system, measured, losses, share / 100, given, job)
        job = _without_airflow(job) if system == PLATE else job
        flow = None if system in (AIRFLOW, PLATE) else _duty_flow(points, parts, job)
        return points, parts, conditions_with(given, _placed(job), flow)

    def _speed_chosen(self) -> None:
        if self.speeds.value:
            self.speed.value = self.speeds.value

    def _tell_units(self) -> None:
        """Show the units of the points, and an example if no points have been entered."""
        system = self.units.value
        self.points_told.value = style.quiet(self.writer("field.points", **usual_units(system)))
        self.points.placeholder = self.writer("page.such_as", example=POINT_EXAMPLES[system])

    def _system_chosen(self) -> None:
        for control, shown in (
            (self.measured.pages["measured"], self.system.value == POINT),
            (self.losses.pages["losses"], self.system.value == PARTS),
            (self.coil_share, self.system.value != PARTS),
        ):
            control.layout.display = None if shown else "none"

    def records(self) -> tuple[Fields, ...]:
        return self.curve, self.measured, self.losses

    def _observe(self) -> None:
        typed = [one for record in self.records() for one in record.controls.values()]
        asked = [*typed, self.points, self.taken, self.system, self.coil_share]
        sliders = [self.speed, self.resistance, self.dirt, self.elevation, self.temperature]
        self._system_chosen()
        self.system.observe(lambda _: self._system_chosen(), "value")
        self.watch(asked)
        self.follow_sliders(sliders)
        self.follow([self.speeds], self._speed_chosen)
        self.follow_units([self.elevation, self.temperature])
        self.follow_path(self.path, self.open_curve)
        self.keep_steps([self.units, *asked, *sliders], first=[self.units])

    def _make_controls(self, write: Writer) -> None:
        self.points, self.points_problem = Entries(rows=11, continuous_update=False), fields.below()
        self.points.layout.width = "auto"
        self.points.settle = lambda text: with_units(text, self.units.value)
        self.points_told = widgets.HTML()
        self._tell_units()
        self.curve = Fields("curve", CURVE, CurveFacts, write)
        self.measured = Fields("measured", MEASURED, MeasuredSystem, write)
        self.losses = Fields("losses", LOSSES, Losses, write)
        self.taken = choice(write("panel.fan.points"), worded(POINTS, "fan.taken", write))
        self.system = choice(write("panel.fan.system"), worded(SYSTEMS, "fan.systems", write))
        for control in (self.taken, self.system):  # long words
            control.style.description_width = "84px"
        self.path = text(write("panel.fan.curve_file"), "my-blade.csv", write)
        self.coil_share = slider(write("panel.fan.coil_share"), 0, 100, 70, 5)
        self.coil_share.continuous_update = False
        usual = [(f"{rpm} rpm", rpm) for rpm in SPEEDS]
        self.speeds = widgets.ToggleButtons(
            options=[*usual, (write("panel.fan.another_speed"), 0)], style={"button_width": "116px"}
        )
        self.speed = slider(write("panel.fan.speed"), 500, 1300, 1075, 5)
        self.resistance = slider(write("panel.fan.resistance"), 25, 400, 100, 5)
        self.dirt = slider(write("panel.fan.dirt"), 1, 6, 1, 0.25)
        self.elevation = AmountSlider(write("page.site.elevation"), "elevation", ELEVATIONS)
        self.temperature = AmountSlider(write("panel.outdoors"), "air_temperature", TEMPERATURES)

    def _arrange(self) -> None:
        how = hint(self.text("fan.how_to_write"))
        points = [how, self.points_told, self.points, self.points_problem]
        parts = [self.measured.pages["measured"], self.losses.pages["losses"], self.coil_share]
        density = Quantity(DENSITY_STANDARD, "density")
        of_the_system = self.text("fan.of_the_system", density=density)
        asked = fields.tab({
            self.text("fan.tab.curve"): [*points, self.curve.pages["curve"], self.taken],
            self.text("fan.system"): [self.system, *parts, hint(of_the_system)],
            self.text("motors.more"): [self.path, self.units],
            self.writer("export.title"): [self.export_part()],
        })  # fmt: skip
        sliders = [self.speeds, self.speed, self.resistance, self.dirt]
        left = [*sliders, self.elevation, self.temperature, asked]
        self.arrange_pages(left, self.writer("fan.hint.meters"))


def _system(kind: str, measured: dict, losses: dict, share: float, told: Curve, job: Job) -> System:
    """Return the system defined by the controls.

    Raises
    ------
    InputError
        If an input is invalid.
    """
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
        accepted = Message("panel.fan.no_airflow", example="2400 cfm")
        raise InputError("site airflow", NOTHING, accepted)
    return assumed_system(told, job if kind == AIRFLOW else _without_airflow(job), share)


def _read(record: str, given: dict, name: str) -> float:
    kind = "flow" if name == "airflow" else "pressure"
    return read(given.get(name, ""), kind, f"{record} {name}").mid


def _density(record: str, given: dict) -> float:
    if "density" not in given:
        return DENSITY_STANDARD
    return read(given["density"], "density", f"{record} density").mid


def _duty_flow(points, parts: System, job: Job) -> float:
    """Return the airflow [m3/s] at nameplate speed, limited to the measured curve."""
    density, rated = points.density, job.nameplate.speed_rpm
    faster = 1.0 if rated is None else rated.mid / points.speed_rpm
    point = points.operating_point(parts.resistance(density), points.speed_rpm, density, True)
    low, high = points.flow[[0, -1]]
    within = 0.05 * (high - low)
    return float(np.clip(point.flow, low + within, high - within)) * faster


def _without_airflow(job: Job) -> Job:
    return job.model_copy(update={"site": job.site.model_copy(update={"airflow": None})})


def _placed(job: Job) -> Job:
    """Return the job with defaults for a missing elevation or outdoor temperature."""
    site = job.site
    stated = {
        "elevation": site.elevation or read("0 m", "elevation", "elevation"),
        "outdoor_temperature": site.outdoor_temperature
        or read("35 degC", "air_temperature", "outdoor temperature"),
    }
    return job.model_copy(update={"site": site.model_copy(update=stated)})
