"""Panel for worksheet 02, which calculates the amps of one motor."""

from functools import lru_cache

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.current_job import NAMEPLATE, enough
from airover.app.export import CarryAway
from airover.app.fields import (
    Fields,
    MotorChoice,
    choice,
    english,
    hint,
    number,
    reach,
    slider,
)
from airover.app.panel import Drawing, FollowingPicture, Panel, Picture, read_motors
from airover.app.replacement import CAUTIONED, candidate_named, offered
from airover.core.errors import InputError
from airover.core.message import Quantity
from airover.core.texts import Writer
from airover.core.units import show
from airover.model.conditions import HOURS_A_YEAR, completed
from airover.model.expected import Expected, Mounted, loaded, mounted, starts, usual_cases
from airover.model.identify import Point
from airover.model.motor import Beside, CapacitorStep, beside, capacitors
from airover.physics import compiled
from airover.records.job import Job
from airover.records.nameplate import Nameplate
from airover.records.readings import Reading
from airover.records.scope import check_scope
from airover.reports import motor as tables_motor
from airover.reports.motor import AmpsPicture, MotorPicture
from airover.selection.answer import CAUTIONS

# Results are the same with or without compilation, but sliders need the speed of compiled code.
QUICKEST = compiled.quickest
SAMPLES = 100  # few enough for a responsive slider, and enough for the limits of a 90 % range
OF_THE_PLATE = ""  # value of ``motor`` if the motor is not in the catalog
RATED_FAN, JOBS_BLADE = "rated", "job"
PRICE = 0.15  # assumed USD/kWh


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
MOST_VOLTS = 1000  # V, before the motor limits the slider


class MotorPanel(CarryAway, Panel):
    """Panel for the amps of one motor against supply voltage.

    The controls are ``motor`` (a name in the catalog, or "" for ``nameplate``), ``rating`` [W],
    ``fan``, ``readings`` (three, with their fields as attributes), ``price``, ``hours``, ``units``
    and ``bar`` (the current job). The sliders are ``voltage`` [V], ``capacitor`` [%] and ``blade``
    [%]. Moving a slider repeats only the simulation. The equivalent-circuit parameters are
    identified again only if the motor, its fan or a reading changes. The attribute ``picture`` is
    the latest plot. With a ``host``, the panel lists the motors that fit the host's job and uses
    that job's fan.

    Parameters
    ----------
    job_path, catalog : str or os.PathLike, optional
        Files, by default the current job of all worksheets and the catalog shipped with airover.
    units : str, optional
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es".

    Raises
    ------
    InputError
        If the files cannot be read or evaluated.
    """

    step = "amps"
    cautions = (*CAUTIONED, "live")

    def __init__(self, job_path=None, catalog=None, units="US", language="en", host=None):
        super().__init__(language, host)
        self._motors = () if self.on_page else with_capacitor(read_motors(catalog))
        self._mount = lru_cache(maxsize=4)(_mounted)
        self._capacitors = lru_cache(maxsize=1)(_capacitors)
        self._beside = lru_cache(maxsize=1)(self._rows_beside)
        self._swept, self._sweep = None, None
        self._pictured = AmpsPicture() if self.on_page else None
        self._pictures = {}
        self._still, self._still_system = None, None
        self._told_sweep, self._told_still = None, None
        self.job, self._offered = None, None
        self._make_controls(units)
        self.places("verdict", "picture_shown", "voltages", "capacitors", "ratings")
        self._following = FollowingPicture(self._draw_picture, self.picture_shown, self.on_page)
        if not self.on_page:
            self.use_job(job_path)
        self._observe()
        if not self.on_page:
            self.resume()
        self._arrange()

    def lacks(self) -> str:
        if self.on_page or self.chosen is not None and self.fan.value == RATED_FAN:
            return ""
        try:
            return "" if enough(self.own_job()) else self.writer("worksheet.enter_nameplate")
        except InputError:
            return ""  # the error is shown at the field

    def own_job(self) -> Job:
        plate = self.nameplate.others(self.job.nameplate) | self.nameplate.given()
        return Job(**{**dict(self.job), "nameplate": plate})

    def job_controls(self) -> list:
        return [*self.nameplate.controls.values()]

    def fill(self, job: Job) -> None:
        """Load the nameplate, fan and supply voltage of ``job`` without calculating."""
        with self.filling():
            self.job = job
            self.nameplate.fill(job.nameplate)
            self.motor.want(OF_THE_PLATE)
            self.fan.value = JOBS_BLADE
            self._take_motor()
            self._take_voltage()

    def compute(self) -> Expected:
        if self.on_page:
            self._take_job()
        found = self._mount(*self._asked())
        volts = self.voltage.value
        if not found.span[0] <= volts <= found.span[1]:
            volts = self._usual_voltage = round(found.voltage_high)
        with self.filling():
            reach(self.voltage, *found.span, volts)
        shares = self.capacitor.value / 100, self.blade.value / 100
        sweep, now = self._worked(found, *shares)
        self._capacitors(found), self._beside(self.motor.value)  # cached, so draw cannot fail
        return Expected(found, self.voltage.value, *shares, now, sweep)

    def draw(self) -> None:
        found, write = self.answer, self.writer
        self.verdict.value = verdict_html(found, self.job.invented, write)
        still, system = found.sweep if self.on_page else found.mounted, self.units.value
        if still is self._still and system == self._still_system:
            self._draw_picture()
        else:  # drawing the axes takes 0.1 s
            self._still, self._still_system = still, system
            self._following.follow()
        self._draw_tables(found, write)
        if self.on_page:
            self.show_steps()

    @property
    def picture(self) -> Picture:
        """Return the plot of the answer."""
        self._following.hurry()
        return self._picture

    def _draw_picture(self) -> None:
        found, write = self.answer, self.writer
        if found is None:  # another job was opened in the meantime
            return
        words = described(found, write)
        if self.on_page:
            self._picture = Drawing(self._narrow(found, write), words)
        else:
            self._picture = Picture(self._wide(found), words)
        self.picture_shown.value = self._picture.html()

    def records(self) -> tuple[Fields, ...]:
        return self.readings if self.on_page else (self.nameplate, *self.readings)

    def choices(self) -> dict[str, MotorChoice]:
        return {"motor": self.motor}

    def settings(self) -> dict[str, tuple]:
        shares = {"capacitor": (self.capacitor, 100), "blade": (self.blade, 100)}
        return {"voltage": (self.voltage, self._usual_voltage), **shares}

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        with self.filling():
            reach(self.voltage, 0, MOST_VOLTS, self.voltage.value)
        super().restore(state)

    @property
    def chosen(self):
        """Return the selected catalog motor, or None if the nameplate fields are used."""
        return next((row for row in self._motors if row.name == self.motor.value), None)

    @property
    def capacitor_steps(self):
        """Return the effect of other capacitor sizes at rated voltage and full fan load."""
        return self._capacitors(self.answer.mounted)

    @property
    def loads(self):
        """Return the effect of smaller and larger fan loads at the supply voltage."""
        return loaded(self.answer.mounted, self.answer.voltage)

    @property
    def starts(self):
        """Return simulations of starts with cold windings under typical conditions."""
        found = self.answer.mounted
        return starts(found.motor, found.load, usual_cases(found.voltage_high, found.limits[0]))

    @property
    def said(self) -> str:
        """Return the verdict with its warnings and other sentences, one per line."""
        found = self.answer
        return "\n".join(map(self.writer, (found.verdict, *found.warnings, *found.facts)))

    @property
    def rating_steps(self):
        """Return a comparison of the catalog motor with single-rating motors."""
        return self._beside(self.motor.value)

    def _wide(self, found: Expected) -> bytes:
        system = self.units.value
        if system not in self._pictures:
            self._pictures[system] = MotorPicture(self.writer)
        return self._pictures[system].png(found)

    def _narrow(self, found: Expected, write: Writer) -> bytes:
        """Return the plot of amps with text large enough for a phone, as SVG."""
        words = {name: write(f"page.amps.{name}") for name in ("across", "up", "band")}
        words["plate"] = write("page.amps.plate", amps=f"{found.mounted.current or 0:g}")
        ends = zip(("low", "high"), found.mounted.limits, strict=True)
        words |= {name: write(f"page.amps.{name}", volts=f"{end:.0f}") for name, end in ends}
        volts, amps = write.amount(found.voltage, "voltage"), write.amount(found.current, "current")
        return self._pictured.svg(found, words, f"{volts}: {amps}")

    def _take_job(self) -> None:
        """List the motors that fit the job on the page, or the closest matches."""
        found = self.host.answer
        if found is self._offered:
            return
        before, read_on = self.job, self.motor.value
        first, self.job, self._offered = self._offered is None, found.job, found
        self._motors = with_capacitor([one.case.motor for one in found.candidates])
        names = {row.name for row in self._motors}
        shown = [pair for pair in offered(found, self.writer) if pair[1] in names]
        with self.filling():
            self.motor.offer([*shown, (self.text("motors.plate_below"), OF_THE_PLATE)])
            self._offer_ratings()
            if not first and self.motor.value != read_on:
                self._take_motor()
            self.fan.value = JOBS_BLADE
            if first or before.site.voltage != self.job.site.voltage:
                volts, was_moved = self.voltage.value, self.voltage.value != self._usual_voltage
                self._take_voltage()
                if first and was_moved:  # before the page was reloaded
                    self.voltage.value = volts

    def _take_voltage(self) -> None:
        known = self.job.site.voltage or self.job.nameplate.voltage
        if known is not None:
            volts = known.mid if known is self.job.site.voltage else known.high
            self._usual_voltage = round(volts)
            reach(self.voltage, 0, MOST_VOLTS, self._usual_voltage)

    def _asked(self) -> tuple:
        """Return a cache key made from all inputs that determine the circuit parameters."""
        motor, job = self.chosen, self.job
        if motor is None or self.fan.value == JOBS_BLADE:
            job = self.job if self.on_page else self.own_job()
            check_scope(job)
        if motor is None:
            motor = completed(job)
        readings = tuple(tuple(fields.given().items()) for fields in self.readings)
        job = job if self.fan.value == JOBS_BLADE else None
        return motor, self.rating.value, job, readings

    def _worked(self, found: Mounted, capacitor: float, blade: float):
        """Simulate at the supply voltage and, if inputs have changed, over the voltage range."""
        if self._swept == (found, capacitor, blade):
            return self._sweep, found.at(self.voltage.value, capacitor, blade)
        self._sweep, now = found.across(self.voltage.value, capacitor, blade)
        self._swept = found, capacitor, blade
        return self._sweep, now

    def _rows_beside(self, name: str):
        row = self.chosen
        if row is None or len(row.ratings) < 2:
            return ()
        return beside(row, self._motors, row.voltage_high)

    def _draw_tables(self, found: Expected, write: Writer) -> None:
        """Update the voltage table and the tables that do not depend on the sliders."""
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
        """List the ratings of the selected motor and clear readings taken on the previous motor."""
        for record in self.readings:
            record.fill(None)
        self._offer_ratings()

    def _offer_ratings(self) -> None:
        watts = () if self.chosen is None else self.chosen.ratings[::-1]
        shown = [(show(one, "power", self.units.value), one) for one in watts]
        self.rating.options = shown or self._one_rating
        self.rating.value = self.rating.options[0][1]
        if self.on_page and self.chosen is not None:
            self.rating.value = candidate_named(self.host.answer, self.chosen.name).case.rating
        self.nameplate_page.layout.display = None if self.chosen is None else "none"

    def _motor_chosen(self) -> None:
        with self.filling():
            self._take_motor()
            if self.chosen is not None and not self.on_page:
                self.fan.value = RATED_FAN
        self.update()

    def _observe(self) -> None:
        typed = [one for record in self.records() for one in record.controls.values()]
        sliders = [self.voltage, self.capacitor, self.blade]
        others = [*typed, self.rating, self.fan, self.price, self.hours]
        self.watch(others)
        self.follow_sliders(sliders)
        self.follow([self.motor], self._motor_chosen)
        if not self.on_page:
            self.watch([self.units])
            self.keep_steps([self.motor, *others, *sliders, self.units], first=[self.motor])

    def _make_controls(self, units: str) -> None:
        if not self.on_page:
            self.units = fields.units_shown(units, self.writer)
        write = self.writer
        self.nameplate = self.fields("nameplate", PLATE, Nameplate)
        names = [f"reading {number}" for number in range(1, READINGS + 1)]
        self.readings = tuple(self.fields(name, {name: READING}, Reading) for name in names)
        self._one_rating = [(write("panel.motors.one_rating"), 0.0)]
        fans = [(write(f"panel.motors.fans.{one}"), one) for one in (RATED_FAN, JOBS_BLADE)]
        self.motor = MotorChoice(write("page.amps.motor" if self.on_page else "panel.motor"))
        shown = [(f"{row.name} ({_powers(row)})", row.name) for row in self._motors]
        self.motor.offer([(write("panel.motors.plate_below"), OF_THE_PLATE), *shown])
        rating = "page.amps.rating" if self.on_page else "panel.motors.rating"
        self.rating = choice(write(rating), self._one_rating)
        self.fan = choice(write("panel.motors.fan"), fans)
        self._usual_voltage = 230
        self.voltage = slider(write("panel.motors.voltage"), 180, 260, self._usual_voltage)
        self.capacitor = slider(write("panel.motors.capacitor"), 50, 200, 100, 5)
        self.blade = slider(write("panel.motors.blade"), 50, 120, 100, 5)
        self.price = number(write("panel.motors.price"), PRICE, 0.0, 100.0)
        self.hours = number(write("panel.motors.hours"), HOURS_A_YEAR, 1.0, 8784.0)

    def _arrange(self) -> None:
        sliders = [self.voltage, self.capacitor, self.blade]
        left = [self.motor, self.rating, self.fan, *sliders]
        right = [self._following.view]
        if not self.on_page:
            right.append(widgets.HTML(cautions_html(self.writer)))
        below = [self.voltages, self.ratings, self.capacitors]
        extra = self.parts(self._pages()) + (self.page_parts() if self.on_page else [])
        self.arrange([self.verdict], left, right, below, extra=extra)

    def _pages(self) -> dict[str, list]:
        """Return the less frequently used controls by title."""
        readings = [hint(self.text("motors.how_to_read"))]
        for one in self.readings:
            (page,) = one.pages.values()
            number = one.record.split()[1]
            readings += [widgets.HTML(style.heading(self.text("motors.reading", number=number)))]
            readings.append(page)
        more = [self.price, self.hours, hint(self.text("motors.assumed"))]
        if self.on_page:
            return {self.text("motors.readings"): readings, self.text("motors.more"): more}
        return {
            self.text("answer.tab.Nameplate"): [self.nameplate_page],
            self.text("motors.readings"): readings,
            self.text("motors.more"): [self.units, *more],
            self.writer("export.title"): [self.export_part()],
        }

    @property
    def nameplate_page(self) -> widgets.VBox:
        return self.nameplate.pages["Nameplate"]


def with_capacitor(rows) -> list:
    """Return the catalog motors that airover can simulate."""
    return [row for row in rows if row.phase == 1 and row.capacitor is not None]


def _mounted(motor, rating, job: Job | None, readings: tuple) -> Mounted:
    """Return the motor with its fan, as specified by the controls.

    Raises
    ------
    InputError
        If an input is invalid.
    """
    points = [_point(f"reading {at}", dict(given)) for at, given in enumerate(readings, 1)]
    points = [point for point in points if point is not None]
    return mounted(motor, rating or None, job, points, SAMPLES)


def _point(name: str, given: dict) -> Point | None:
    """Return a reading, or None if the voltage or all other values are missing."""
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


# HTML elements


def verdict_html(expected: Expected, invented: bool, write: Writer) -> str:
    told = [write(one) for one in (*expected.warnings, *expected.facts)]
    told += [write("panel.invented_motors")] * invented
    return style.verdict(_BARS[expected.state], write(expected.verdict), " ".join(told))


def described(expected: Expected, write: Writer) -> str:
    """Return the plot in words."""
    rpm, newton_metres = (expected.bands[name].mid for name in ("speed_rpm", "torque_nm"))
    return write(
        "panel.motors.picture",
        volts=f"{expected.voltage:.0f}",
        amps=Quantity(expected.current, "current"),
        rpm=f"{rpm:.0f}",
        torque=Quantity(newton_metres, "torque"),
    )


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
    """Return a table of the ratings, or an empty string for a motor with one rating."""
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
