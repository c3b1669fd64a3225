"""The panel of worksheet 02: what one motor draws."""

from functools import lru_cache

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import Fields, choice, english, hint, number, reach, slider, text
from airover.app.panel import Panel, Picture, read_job, read_motors
from airover.app.replacement import NAMEPLATE
from airover.core.errors import InputError
from airover.core.message import Quantity
from airover.core.texts import Writer
from airover.core.units import show
from airover.model.expected import Expected, Mounted, loaded, mounted
from airover.model.identify import Point
from airover.model.motor import Beside, CapacitorStep, beside, capacitors
from airover.physics import compiled
from airover.records.job import Job
from airover.records.readings import Reading
from airover.records.scope import check_scope
from airover.reports import motor as tables_motor
from airover.reports.motor import MotorPicture
from airover.selection.answer import CAUTIONS

# The same answers either way; compiled ones come while a slider is still moving.
QUICKEST = compiled.quickest
SAMPLES = 100  # few enough that a slider stays live, enough for the ends of a band
OF_THE_PLATE = -1  # in ``motor``: not of the catalog
RATED_FAN, JOBS_BLADE = "rated", "job"
PRICE, HOURS = 0.15, 2000.0  # USD a kWh and hours a year: assumed


_BARS = {"within": "fits", "at": "fits with work", "beyond": "does not fit"}
_ASKED = (
    "voltage", "frequency", "power", "current", "speed", "poles", "capacitor",
    "capacitor_voltage", "insulation_class", "ambient_rating",
)  # fmt: skip

PLATE = {"Nameplate": {name: NAMEPLATE["Nameplate"][name] for name in _ASKED}}

READING = {
    "voltage": "236 V",
    "current": "1.85 A",
    "power": "340 W",
    "speed": "1085 rpm",
    "capacitor_voltage": "365 V",
}
READINGS = 3


class MotorPanel(Panel):
    """A motor, its fan, sliders and readings; amps across voltage at the right, verdict on top.

    ``job_path`` and ``catalog`` are files, by default the sample job and the catalog that come
    with the kit; ``units`` is "US" or "SI", ``language`` "en" or "es". Controls: ``motor`` (a place in the catalog, or -1
    for ``nameplate``), ``rating`` [W], ``fan``, the sliders ``voltage`` [V], ``capacitor`` and
    ``blade`` [%], ``readings`` (three, each with its fields as attributes), ``price``, ``hours``,
    ``units``, ``path``. A slider works one motor anew and nothing else; the circuits behind the
    plate are looked for again only when the motor, its fan or a reading changes. ``picture`` is
    the last one drawn. Raises InputError when the files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalog=None, units="US", language="en"):
        super().__init__(language)
        self._motors = with_capacitor(read_motors(catalog))
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
        found, write = self.answer, self.writer
        if self._pictured is None or self._pictured.mounted is not found.mounted:
            self._pictured = MotorPicture(found.mounted)
        self.verdict.value = verdict_html(found, self.job.invented, write)
        self.picture = picture_of(found, self._pictured.png(found), write)
        self.picture_shown.value = self.picture.html()
        self._draw_tables(found, write)

    def refused(self, error: InputError | None) -> None:
        for record in self._records():
            record.show_problem(error)

    @property
    def chosen(self):
        """The catalog's motor that ``motor`` points at, or None for the plate in the fields."""
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
        """The catalog's motor beside dedicated ones on each of its fans; () for a plate."""
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
            self.voltages.value = voltages_html(found, write)
            self._told_sweep = *self._swept, system
        told = found.mounted, system, price, hours
        if told != self._told_still:
            volts, rows = found.mounted.voltage_high, self.rating_steps
            steps = self.capacitor_steps
            self.capacitors.value = capacitors_html(steps, found.mounted, write)
            self.ratings.value = ratings_html(rows, volts, hours, price, write)
            self._told_still = told

    def _take_motor(self) -> None:
        """Offer the ratings of the chosen motor, and forget what was read on another one."""
        for record in self.readings:
            for control in record.controls.values():
                control.value = ""
        watts = () if self.chosen is None else self.chosen.ratings[::-1]
        shown = [(show(one, "power", self.units.value), one) for one in watts]
        self.rating.options = shown or self._one_rating
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
        write = Writer(self._language, units)
        self.nameplate = Fields("nameplate", PLATE, write=write)
        names = [f"reading {number}" for number in range(1, READINGS + 1)]
        self.readings = tuple(Fields(name, {name: READING}, write=write) for name in names)
        self._one_rating = [(write("panel.motors.one_rating"), 0.0)]
        fans = [(write(f"panel.motors.fans.{one}"), one) for one in (RATED_FAN, JOBS_BLADE)]
        named = [(f"{row.name} ({_powers(row)})", at) for at, row in enumerate(self._motors)]
        self.motor = choice(
            write("panel.motor"), [(write("panel.motors.plate_below"), OF_THE_PLATE), *named]
        )
        self.rating = choice(write("panel.motors.rating"), self._one_rating)
        self.fan = choice(write("panel.motors.fan"), fans)
        self.units = fields.units_shown(units, write)
        self.voltage = slider(write("panel.motors.voltage"), 180, 260, 230)
        self.capacitor = slider(write("panel.motors.capacitor"), 50, 200, 100, 5)
        self.blade = slider(write("panel.motors.blade"), 50, 120, 100, 5)
        self.price = number(write("panel.motors.price"), PRICE, 0.0, 100.0)
        self.hours = number(write("panel.motors.hours"), HOURS, 1.0, 8784.0)
        self.path = text(write("panel.job_file"), "my-job.toml", write)

    def _arrange(self) -> None:
        sliders = [self.voltage, self.capacitor, self.blade]
        left = [self.motor, self.rating, self.fan, *sliders, self._tab()]
        right = [self.picture_shown, widgets.HTML(cautions_html(self.writer))]
        below = [self.voltages, self.ratings, self.capacitors]
        self.arrange([self.verdict], left, right, below)

    def _tab(self) -> widgets.Tab:
        readings = [hint(self.text("motors.how_to_read"))]
        for one in self.readings:
            (page,) = one.pages.values()
            number = one.record.split()[1]
            readings += [widgets.HTML(style.heading(self.text("motors.reading", number=number)))]
            readings.append(page)
        more = [self.path, self.units, self.price, self.hours, hint(self.text("motors.assumed"))]
        return fields.tab(
            {
                self.text("answer.tab.Nameplate"): [self.nameplate_page],
                self.text("motors.readings"): readings,
                self.text("motors.more"): more,
            }
        )

    @property
    def nameplate_page(self) -> widgets.VBox:
        return self.nameplate.pages["Nameplate"]


def with_capacitor(rows) -> list:
    """Those of a catalog's motors that the method is made for."""
    return [row for row in rows if row.phase == 1 and row.capacitor is not None]


def _mounted(row, plate: tuple, rating, job: Job | None, readings: tuple) -> Mounted:
    """The motor on its fan, from what stands in the controls; raises InputError."""
    points = [_point(f"reading {at}", dict(given)) for at, given in enumerate(readings, 1)]
    points = [point for point in points if point is not None]
    if row is None:
        told = Job(nameplate=dict(plate))
        check_scope(told)
        row, rating = told.nameplate, None
    return mounted(row, rating, job, points, SAMPLES)


def _point(name: str, given: dict) -> Point | None:
    """A reading; None as long as it lacks the volts or a figure beside them."""
    try:
        read = Reading(**given)
    except InputError as error:
        raise InputError(f"{name} {english(error)}", error.given, error.accepted) from None
    if not read.is_complete:
        return None
    amounts = (read.voltage, read.current, read.power, read.speed_rpm, read.capacitor_voltage)
    return Point(*(None if amount is None else amount.mid for amount in amounts))


def _capacitors(found: Mounted):
    return capacitors(found.motor, found.load, found.voltage_high)


def _powers(row) -> str:
    return ", ".join(show(watts, "power") for watts in row.ratings)


# Pieces of HTML


def verdict_html(expected: Expected, invented: bool, write: Writer) -> str:
    told = [write(one) for one in (*expected.warnings, *expected.facts)]
    told += [write("panel.invented_motors")] * invented
    return style.verdict(_BARS[expected.state], write(expected.verdict), " ".join(told))


def picture_of(expected: Expected, png: bytes, write: Writer) -> Picture:
    rpm, newton_metres = (expected.bands[name].mid for name in ("speed_rpm", "torque_nm"))
    words = write(
        "panel.motors.picture",
        volts=f"{expected.voltage:.0f}",
        amps=Quantity(expected.current, "current"),
        rpm=f"{rpm:.0f}",
        torque=f"{newton_metres:.2f}",
    )
    return Picture(png, words)


def voltages_html(expected: Expected, write: Writer) -> str:
    table = style.table(tables_motor.voltages(expected, write), "figures")
    title = write("panel.motors.voltages", fan=expected.fan)
    hint = write("panel.motors.voltages_hint")
    return style.heading(title) + table + style.quiet(hint)


def capacitors_html(steps: tuple[CapacitorStep, ...], mounted: Mounted, write: Writer) -> str:
    table = style.table(tables_motor.capacitors(steps, write), "figures")
    volts = f"{mounted.voltage_high:.0f}"
    title = write("panel.motors.capacitors", volts=volts, fan=mounted.fan)
    return style.heading(title) + table + style.quiet(write("panel.motors.capacitors_hint"))


def ratings_html(
    found: tuple[Beside, ...], voltage, hours: float, price: float, write: Writer
) -> str:
    """Nothing for a motor of one rating."""
    if len(found) < 2:
        return ""
    own = style.table(tables_motor.ratings(found, hours, price, write), "figures")
    other = style.table(tables_motor.dedicated(found, hours, price, write), "figures")
    known = {"volts": f"{voltage:.0f}", "hours": f"{hours:.0f}", "price": f"{price:g}"}
    assumed = write("panel.motors.ratings_hint", **known)
    return (
        style.heading(write("panel.motors.ratings"))
        + own
        + style.heading(write("panel.motors.dedicated"))
        + other
        + style.quiet(assumed)
    )


def cautions_html(write: Writer) -> str:
    told = [*map(write.value, CAUTIONS), write("panel.live")]
    return style.listed(write("panel.before_measuring"), told)
