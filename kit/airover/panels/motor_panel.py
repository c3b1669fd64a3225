"""The panel of worksheet 02: what one motor draws."""

from dataclasses import replace
from functools import lru_cache

import ipywidgets as widgets

from airover.compare import beside
from airover.errors import InputError
from airover.expected import Expected, Mounted, loaded, mounted
from airover.figures_motor import MotorPicture
from airover.identify import Point
from airover.locations import data_folder
from airover.motor import capacitors
from airover.panels import motor_shown, style
from airover.panels.motor_fields import PLATE, READING, READINGS
from airover.panels.parts import Fields, Panel, choice, text
from airover.physics import compiled, operating_point
from airover.records import Job, Reading, read_catalogue
from airover.scope import check_scope
from airover.units import show

# The same answers either way; compiled ones come while a slider is still moving.
QUICKEST = compiled.settle if compiled.numba else operating_point.settle
DRAWS = 100  # few enough that a slider stays live, enough for the ends of a band
SYSTEMS = [("US customary", "US"), ("SI", "SI")]
OF_THE_PLATE = -1  # in ``motor``: not of the catalogue
RATED_FAN, JOBS_BLADE = "rated", "job"
FANS = [("the fan of the rating", RATED_FAN), ("the job's blade, in its air", JOBS_BLADE)]
ONE_RATING = [("the one of the plate", 0.0)]
PRICE, HOURS = 0.15, 2000.0  # USD a kWh and hours a year: assumed


class MotorPanel(Panel):
    """A motor, its fan, sliders and readings; amps across voltage at the right, verdict on top.

    ``job_path`` and ``catalogue`` are files, by default the sample job and the catalogue that come
    with the kit; ``units`` is "US" or "SI". Controls: ``motor`` (a place in the catalogue, or -1
    for ``nameplate``), ``rating`` [W], ``fan``, the sliders ``voltage`` [V], ``capacitor`` and
    ``blade`` [%], ``readings`` (three, each with its fields as attributes), ``price``, ``hours``,
    ``units``, ``path``. A slider works one motor anew and nothing else; the circuits behind the
    plate are looked for again only when the motor, its fan or a reading changes. ``picture`` is
    the last one drawn. Raises InputError when the files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalogue=None, units="US"):
        super().__init__()
        rows = read_catalogue(catalogue or data_folder() / "catalogue.csv")
        self._motors = [row for row in rows if row.phase == 1 and row.capacitor is not None]
        self._mount = lru_cache(maxsize=1)(_mounted)
        self._capacitors = lru_cache(maxsize=1)(_capacitors)
        self._beside = lru_cache(maxsize=1)(self._rows_beside)
        self._swept, self._sweep, self._pictured = None, None, None
        self._told_sweep, self._told_still = None, None
        self._make_controls(units)
        self._make_places()
        self.fill(_read(job_path or data_folder() / "jobs" / "roof-unit.toml"))
        self.answer = self.compute()
        self.draw()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: its plate, blade and line voltage; nothing is worked."""
        with self.filling():
            self.job = job
            self.nameplate.fill(job.nameplate)
            self.motor.value, self.fan.value = OF_THE_PLATE, JOBS_BLADE
            self._take_motor()
            if job.site.voltage is not None:
                _fit(self.voltage, (0, 1000), round(job.site.voltage.mid))

    def open(self, path) -> None:
        """Read the job file at ``path`` and work it; what is wrong with it is told."""
        self.open_with(_read, path, self.fill)

    def compute(self) -> Expected:
        found = self._mount(*self._asked())
        if self.voltage.value < found.span[0] or self.voltage.value > found.span[1]:
            with self.filling():
                _fit(self.voltage, found.span, round(found.voltage_high))
        shares = self.capacitor.value / 100, self.blade.value / 100
        sweep, now = self._worked(found, *shares)
        self._capacitors(found), self._beside(self.motor.value)  # kept: refuse here, not in draw
        return Expected(found, self.voltage.value, *shares, now, sweep, self.units.value)

    def slide(self) -> None:
        """Work and show what a slider says: too quick to tell that it is being worked."""
        try:
            self.answer = self.compute()
            self.draw()
        except InputError as error:
            self._refuse(error)
        except Exception:  # what stands below must not look new; the error itself goes on
            self._tell(style.problem("This could not be worked."), earlier=True)
            raise

    def draw(self) -> None:
        found = self.answer
        if self._pictured is None or self._pictured.mounted is not found.mounted:
            self._pictured = MotorPicture(found.mounted)
        self.verdict.value = motor_shown.verdict(found, self.job.invented)
        self.picture = motor_shown.picture(found, self._pictured.png(found))
        self.picture_shown.value = self.picture.html()
        self._draw_tables(found)

    def refused(self, error: InputError | None) -> None:
        for fields in (self.nameplate, *self.readings):
            fields.show_problem(error)

    @property
    def chosen(self):
        """The catalogue's motor that ``motor`` points at, or None for the plate in the fields."""
        return None if self.motor.value == OF_THE_PLATE else self._motors[self.motor.value]

    @property
    def capacitor_steps(self):
        """What other capacitors do at the plate's voltage, on the whole fan."""
        return self._capacitors(self.answer.mounted)

    @property
    def loads(self):
        """What a lighter or heavier fan changes at the line's voltage."""
        return loaded(self.answer.mounted, self.answer.voltage)

    @property
    def rating_steps(self):
        """The catalogue's motor beside dedicated ones on each of its fans; () for a plate."""
        return self._beside(self.motor.value)

    def _asked(self) -> tuple:
        """All that decides which circuits are behind the motor; it can be a key of a cache."""
        plate = tuple(self.nameplate.given().items()) if self.chosen is None else ()
        readings = tuple(tuple(fields.given().items()) for fields in self.readings)
        job = self.job if self.fan.value == JOBS_BLADE else None
        return self.chosen, plate, self.rating.value, job, readings

    def _worked(self, found: Mounted, capacitor: float, blade: float):
        """Runs across voltage and at the line's; the first only where it is not the last one's."""
        if self._swept == (found, capacitor, blade):
            return self._sweep, found.at(self.voltage.value, capacitor, blade)
        self._sweep, now = found.across(self.voltage.value, capacitor, blade)
        self._swept = found, capacitor, blade
        return self._sweep, now

    def _rows_beside(self, place: int):
        if place == OF_THE_PLATE or len(self._motors[place].ratings) < 2:
            return ()
        return beside(self._motors[place], self._motors, self._motors[place].voltage_high)

    def _draw_tables(self, found: Expected) -> None:
        """The table across voltage when that run is a new one; those that no slider changes."""
        system, price, hours = self.units.value, self.price.value, self.hours.value
        if self._told_sweep != (*self._swept, system):
            self.voltages.value = motor_shown.voltages(found)
            self._told_sweep = *self._swept, system
        told = found.mounted, system, price, hours
        if told != self._told_still:
            volts, fan = found.mounted.voltage_high, found.mounted.fan
            steps, rows = self.capacitor_steps, self.rating_steps
            self.capacitors.value = motor_shown.capacitors(steps, volts, fan, system)
            self.ratings.value = motor_shown.ratings(rows, volts, hours, price, system)
            self._told_still = told

    def _take_motor(self) -> None:
        """Offer the ratings of the chosen motor, and forget what was read on another one."""
        for fields in self.readings:
            for control in fields.controls.values():
                control.value = ""
        watts = () if self.chosen is None else self.chosen.ratings[::-1]
        shown = [(show(one, "power", self.units.value), one) for one in watts]
        self.rating.options = shown or ONE_RATING
        self.rating.value = self.rating.options[0][1]
        self.nameplate_page.layout.display = None if self.chosen is None else "none"

    def _motor_chosen(self, change) -> None:
        if self._filling:
            return
        with self.filling():
            self._take_motor()
            if self.chosen is not None:
                self.fan.value = RATED_FAN
        self.update()

    def _slid(self, change) -> None:
        if not self._filling:
            self.slide()

    def _path_given(self, change) -> None:
        if not self._filling:
            self.open(self.path.value.strip())

    def _observe(self) -> None:
        fields = [one for record in self._records() for one in record.controls.values()]
        self.watch([*fields, self.rating, self.fan, self.units, self.price, self.hours])
        for slider in (self.voltage, self.capacitor, self.blade):
            slider.observe(self._slid, "value")
        self.motor.observe(self._motor_chosen, "value")
        self.path.observe(self._path_given, "value")

    def _records(self) -> tuple[Fields, ...]:
        return self.nameplate, *self.readings

    def _make_controls(self, units: str) -> None:
        self.nameplate = Fields("nameplate", PLATE)
        names = [f"reading {number}" for number in range(1, READINGS + 1)]
        self.readings = tuple(Fields(name, {name: READING}) for name in names)
        named = [(f"{row.name} ({_powers(row)})", at) for at, row in enumerate(self._motors)]
        self.motor = choice("Motor", [("of the nameplate below", OF_THE_PLATE), *named])
        self.rating = choice("Rating", ONE_RATING)
        self.fan = choice("On", FANS)
        self.units = choice("Units shown", SYSTEMS)
        self.units.value = units
        self.voltage = _slider("Line voltage [V]", 180, 260, 230, 1)
        self.capacitor = _slider("Capacitor [%]", 50, 200, 100, 5)
        self.blade = _slider("Blade's power [%]", 50, 120, 100, 5)
        self.price = _number("Price [USD per kWh]", PRICE, 0.0, 100.0)
        self.hours = _number("Hours a year", HOURS, 1.0, 8784.0)
        self.path = text("Job file", "my-job.toml")

    def _make_places(self) -> None:
        for name in ("verdict", "picture_shown", "voltages", "capacitors", "ratings"):
            setattr(self, name, widgets.HTML())
            getattr(self, name).add_class("ao-answer")

    def _arrange(self) -> None:
        sliders = [self.voltage, self.capacitor, self.blade]
        left = widgets.VBox([self.motor, self.rating, self.fan, *sliders, self._tab()])
        left.layout = {"flex": "0 0 384px"}
        right = widgets.VBox([self.picture_shown, widgets.HTML(motor_shown.cautions())])
        right.layout = {"flex": "1 1 0", "min_width": "0", "padding": "0 0 0 22px"}
        head = [widgets.HTML(style.STYLE), self.status, self.verdict]
        below = [self.voltages, self.ratings, self.capacitors]
        self.view.children = [*head, widgets.HBox([left, right]), *below]

    def _tab(self) -> widgets.Tab:
        readings = [widgets.HTML(style.quiet(motor_shown.HOW_TO_READ))]
        for fields in self.readings:
            (name,) = fields.pages
            readings += [widgets.HTML(style.heading(name.capitalize())), fields.pages[name]]
        more = [self.path, self.units, self.price, self.hours]
        pages = {
            "Nameplate": widgets.VBox([self.nameplate_page]),
            "Readings": widgets.VBox(readings),
            "More": widgets.VBox([*more, widgets.HTML(style.quiet(motor_shown.ASSUMED))]),
        }
        return widgets.Tab(children=list(pages.values()), titles=list(pages))

    @property
    def nameplate_page(self) -> widgets.VBox:
        return self.nameplate.pages["Nameplate"]


def _mounted(row, plate: tuple, rating, job: Job | None, readings: tuple) -> Mounted:
    """The motor on its fan, from what stands in the controls; raises InputError."""
    points = [_point(f"reading {at}", dict(given)) for at, given in enumerate(readings, 1)]
    points = [point for point in points if point is not None]
    if row is None:
        told = Job(nameplate=dict(plate))
        check_scope(told)
        row, rating = told.nameplate, None
    found = mounted(row, rating, job, points, DRAWS)
    return replace(found, motor=replace(found.motor, settle=QUICKEST))


def _point(name: str, given: dict) -> Point | None:
    """A reading; None as long as it lacks the volts or a figure beside them."""
    try:
        read = Reading(**given)
    except InputError as error:
        raise InputError(f"{name} {error.field}", error.given, error.accepted) from None
    if not read.is_complete:
        return None
    amounts = (read.voltage, read.current, read.power, read.speed_rpm, read.capacitor_voltage)
    return Point(*(None if amount is None else amount.mid for amount in amounts))


def _capacitors(found: Mounted):
    return capacitors(found.motor, found.load, found.voltage_high)


def _read(path) -> Job:
    job = Job.read(path)
    check_scope(job)
    return job


def _powers(row) -> str:
    return ", ".join(show(watts, "power") for watts in row.ratings)


def _fit(slider: widgets.IntSlider, span: tuple, value: int) -> None:
    """Another span for ``slider``, never with its least above its most on the way."""
    slider.min = min(slider.min, span[0])
    slider.max = span[1]
    slider.min, slider.value = span[0], value


def _slider(label: str, least: int, most: int, value: int, step: int):
    return widgets.IntSlider(
        description=label, min=least, max=most, value=value, step=step,
        style={"description_width": "120px"}, layout={"width": "auto"},
    )  # fmt: skip


def _number(label: str, value: float, least: float, most: float) -> widgets.BoundedFloatText:
    return widgets.BoundedFloatText(
        description=label, value=value, min=least, max=most,
        style={"description_width": "168px"}, layout={"width": "auto"},
    )  # fmt: skip
