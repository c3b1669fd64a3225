"""The panel of worksheet 02: what one motor draws."""

from functools import lru_cache

import ipywidgets as widgets

from airover.errors import InputError
from airover.figures.motor import MotorPicture
from airover.identify import Point
from airover.motor.compare import beside
from airover.motor.expected import Expected, Mounted, loaded, mounted
from airover.motor.one import capacitors
from airover.panels import fields, motor_shown, style
from airover.panels.fields import Fields, choice, hint, number, reach, slider, text
from airover.panels.motor_fields import PLATE, READING, READINGS
from airover.panels.parts import Panel, read_job, read_motors
from airover.physics import compiled
from airover.records import Job, Reading
from airover.scope import check_scope
from airover.texts import Writer
from airover.units import show

# The same answers either way; compiled ones come while a slider is still moving.
QUICKEST = compiled.quickest
DRAWS = 100  # few enough that a slider stays live, enough for the ends of a band
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
        self._motors = with_capacitor(read_motors(catalogue))
        self._mount = lru_cache(maxsize=1)(_mounted)
        self._capacitors = lru_cache(maxsize=1)(_capacitors)
        self._beside = lru_cache(maxsize=1)(self._rows_beside)
        self._swept, self._sweep, self._pictured = None, None, None
        self._told_sweep, self._told_still = None, None
        self._make_controls(units)
        self.places("verdict", "picture_shown", "voltages", "capacitors", "ratings")
        self.fill(read_job(job_path))
        self.begin()
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
                reach(self.voltage, 0, 1000, round(job.site.voltage.mid))

    def compute(self) -> Expected:
        found = self._mount(*self._asked())
        if self.voltage.value < found.span[0] or self.voltage.value > found.span[1]:
            with self.filling():
                reach(self.voltage, *found.span, round(found.voltage_high))
        shares = self.capacitor.value / 100, self.blade.value / 100
        sweep, now = self._worked(found, *shares)
        self._capacitors(found), self._beside(self.motor.value)  # kept: refuse here, not in draw
        return Expected(found, self.voltage.value, *shares, now, sweep)

    def draw(self) -> None:
        found, write = self.answer, Writer("en", self.units.value)
        if self._pictured is None or self._pictured.mounted is not found.mounted:
            self._pictured = MotorPicture(found.mounted)
        self.verdict.value = motor_shown.verdict(found, self.job.invented, write)
        self.picture = motor_shown.picture(found, self._pictured.png(found))
        self.picture_shown.value = self.picture.html()
        self._draw_tables(found, write)

    def refused(self, error: InputError | None) -> None:
        for record in self._records():
            record.show_problem(error)

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

    def _draw_tables(self, found: Expected, write: Writer) -> None:
        """The table across voltage when that run is a new one; those that no slider changes."""
        system, price, hours = self.units.value, self.price.value, self.hours.value
        if self._told_sweep != (*self._swept, system):
            self.voltages.value = motor_shown.voltages(found, write)
            self._told_sweep = *self._swept, system
        told = found.mounted, system, price, hours
        if told != self._told_still:
            volts, rows = found.mounted.voltage_high, self.rating_steps
            steps = self.capacitor_steps
            self.capacitors.value = motor_shown.capacitors(steps, found.mounted, write)
            self.ratings.value = motor_shown.ratings(rows, volts, hours, price, write)
            self._told_still = told

    def _take_motor(self) -> None:
        """Offer the ratings of the chosen motor, and forget what was read on another one."""
        for record in self.readings:
            for control in record.controls.values():
                control.value = ""
        watts = () if self.chosen is None else self.chosen.ratings[::-1]
        shown = [(show(one, "power", self.units.value), one) for one in watts]
        self.rating.options = shown or ONE_RATING
        self.rating.value = self.rating.options[0][1]
        self.nameplate_page.layout.display = None if self.chosen is None else "none"

    def _motor_chosen(self) -> None:
        with self.filling():
            self._take_motor()
            if self.chosen is not None:
                self.fan.value = RATED_FAN
        self.update()

    def _observe(self) -> None:
        typed = [one for record in self._records() for one in record.controls.values()]
        sliders = [self.voltage, self.capacitor, self.blade]
        others = [*typed, self.rating, self.fan, self.price, self.hours]
        self.watch([*others, self.units])
        self.follow_sliders(sliders)
        self.follow([self.motor], self._motor_chosen)
        self.follow_path(self.path, self.open)
        self.keep_steps([self.motor, *others, *sliders, self.units], first=[self.motor])

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
        self.units = fields.units_shown(units)
        self.voltage = slider("Line voltage [V]", 180, 260, 230)
        self.capacitor = slider("Capacitor [%]", 50, 200, 100, 5)
        self.blade = slider("Blade's power [%]", 50, 120, 100, 5)
        self.price = number("Price [USD per kWh]", PRICE, 0.0, 100.0)
        self.hours = number("Hours a year", HOURS, 1.0, 8784.0)
        self.path = text("Job file", "my-job.toml")

    def _arrange(self) -> None:
        sliders = [self.voltage, self.capacitor, self.blade]
        left = [self.motor, self.rating, self.fan, *sliders, self._tab()]
        right = [self.picture_shown, widgets.HTML(motor_shown.cautions())]
        below = [self.voltages, self.ratings, self.capacitors]
        self.arrange([self.verdict], left, right, below)

    def _tab(self) -> widgets.Tab:
        readings = [hint(motor_shown.HOW_TO_READ)]
        for one in self.readings:
            (name,) = one.pages
            readings += [widgets.HTML(style.heading(name.capitalize())), one.pages[name]]
        more = [self.path, self.units, self.price, self.hours, hint(motor_shown.ASSUMED)]
        return fields.tab({"Nameplate": [self.nameplate_page], "Readings": readings, "More": more})

    @property
    def nameplate_page(self) -> widgets.VBox:
        return self.nameplate.pages["Nameplate"]


def with_capacitor(rows) -> list:
    """Those of a catalogue's motors that the method is made for."""
    return [row for row in rows if row.phase == 1 and row.capacitor is not None]


def _mounted(row, plate: tuple, rating, job: Job | None, readings: tuple) -> Mounted:
    """The motor on its fan, from what stands in the controls; raises InputError."""
    points = [_point(f"reading {at}", dict(given)) for at, given in enumerate(readings, 1)]
    points = [point for point in points if point is not None]
    if row is None:
        told = Job(nameplate=dict(plate))
        check_scope(told)
        row, rating = told.nameplate, None
    return mounted(row, rating, job, points, DRAWS)


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


def _powers(row) -> str:
    return ", ".join(show(watts, "power") for watts in row.ratings)
