"""Panel for worksheet 04, which calculates thermal overload trips and winding life.

The panel calculates the temperatures of one motor on a job and updates them using readings of
winding resistance and shell temperature.
"""

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import Fields, slider
from airover.app.motor_panel import QUICKEST
from airover.app.panel import Picture
from airover.app.subject_panel import JobMotorPanel, table_page
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import quoted
from airover.model.calculation_heat import Ohms
from airover.model.heat_answer import HeatAnswer, HeatInput, HeatPlace
from airover.model.heat_study import HeatReading, shell_by_thermocouple, winding_by_resistance
from airover.model.temperature_history import RESET_BELOW_TRIP, TRIP_BELOW_LIMIT
from airover.physics.heat import at_switch_off
from airover.records.fields import Record, amount, amounts
from airover.records.job import Job
from airover.reports import heat as reports

VOLTS = (0.85, 1.12)  # limits of the voltage slider, as fractions of the usual supply voltage
_COLD, _HOT = ("cold_ohms", "temp_cold"), ("times", "hot_ohms")
EXAMPLES = {
    "voltage": "236 V", "temp_air": "127 degF", "cold_ohms": "10.42 ohm", "temp_cold": "77 degF",
    "times": ("10 s", "20 s", "30 s", "40 s"),
    "hot_ohms": ("13.3 ohm", "13.2 ohm", "13.1 ohm", "13 ohm"), "shell": "204 degF",
}  # fmt: skip
# maps arguments of the calculations to the fields that supply them
_ARGUMENTS = {"time_off": "times", "resistance_hot": "hot_ohms", "resistance_cold": "cold_ohms",
              "resistance_end": "hot_ohms"}  # fmt: skip


class HeatEntry(Record):
    """Readings as entered, with the names in EXAMPLES and with ``times`` since shutdown."""

    voltage: amount("voltage") = None
    temp_air: amount("air_temperature") = None
    cold_ohms: amount("resistance") = None
    temp_cold: amount("air_temperature") = None
    times: amounts("seconds") = ()
    hot_ohms: amounts("resistance") = ()
    shell: amount("temperature") = None


class HeatReadings(Fields):
    """Fields for the readings named in EXAMPLES, in the widget ``view``."""

    def __init__(self, write: Writer):
        super().__init__("reading", {"reading": EXAMPLES}, HeatEntry, write)
        self.missing = widgets.HTML(layout={"min_height": "44px"})  # keeps the layout from shifting
        how = fields.hint(write("panel.heat.how_to_read"))
        self.view = widgets.VBox([how, self.pages["reading"], self.missing])

    def say_missing(self) -> None:
        """Show, below the fields, which values are missing from a reading."""
        lacking = lacks(self.given())
        names = [self._write(f"panel.heat.missing.{name}") for name in lacking]
        told = style.quiet(self._write("panel.heat.not_used", names=names))
        self.missing.value = told if lacking else ""


def lacks(given: dict) -> list[str]:
    """Return the required fields that are missing from ``given``."""
    ohms = any(name in given for name in (*_COLD, *_HOT))
    needed = ["voltage", "temp_air"] if given else []
    if ohms or (given and "shell" not in given):
        needed += [*_COLD, *_HOT]
    return [name for name in needed if name not in given]


def readings(given: dict) -> list[HeatReading]:
    """Return the reading in ``given`` as a list, or an empty list if it is incomplete.

    Raises
    ------
    InputError
        If an input is invalid.
    """
    if not given or lacks(given):
        return []
    try:
        return [_reading(HeatEntry(**given))]
    except InputError as error:
        name = _ARGUMENTS.get(error.field, str(error.field).replace(" ", "_"))
        if name not in given:
            raise
        typed = given[name] if isinstance(given[name], str) else ", ".join(given[name])
        said = error.given if isinstance(error.given, Message) else quoted(typed)
        field = f"reading {name.replace('_', ' ')}"
        raise InputError(field, said, error.accepted) from None


def _reading(entry: HeatEntry) -> HeatReading:
    air, winding, shell = entry.temp_air.mid, None, None
    if entry.hot_ohms:
        times, ohms = ([one.mid for one in both] for both in (entry.times, entry.hot_ohms))
        off = at_switch_off(times, ohms)
        winding = winding_by_resistance(entry.cold_ohms.mid, entry.temp_cold.mid, off)
    if entry.shell is not None:
        shell = shell_by_thermocouple(entry.shell.mid, air)
    return HeatReading(entry.voltage.mid, air, winding, shell)


def ohms_of(entry: HeatEntry) -> Ohms | None:
    """Return the cold and hot resistances of a complete ``entry``, or None.

    Raises
    ------
    InputError
        If an input is invalid.
    """
    if not entry.hot_ohms:
        return None
    times, ohms = ([one.mid for one in both] for both in (entry.times, entry.hot_ohms))
    hot = at_switch_off(times, ohms).resistance_hot
    return Ohms(entry.cold_ohms.mid, hot, entry.temp_cold.mid, entry.temp_air.mid)


def steps(panel: "HeatPanel") -> str:
    both = reports.steps, reports.limits
    tables = "".join(style.table(one(panel.answer, panel.writer), "figures") for one in both)
    return tables + style.quiet(panel.writer("heat.hint.steps"))


def day_page(panel: "HeatPanel") -> str:
    hint = panel.writer("heat.hint.day", told=reports.day_text(panel.answer, panel.writer))
    return panel.day.html(WIDE) + style.quiet(hint)


def trip_page(panel: "HeatPanel") -> str:
    (near, far), (less, more) = (
        map(reports.kelvin, ends) for ends in (TRIP_BELOW_LIMIT, RESET_BELOW_TRIP)
    )
    locked = reports.locked(panel.answer, panel.writer)
    hint = panel.writer("heat.hint.trip", told=locked, near=near, far=far, less=less, more=more)
    return panel.trip.html(WIDE) + style.quiet(hint)


def year_page(panel: "HeatPanel") -> str:
    hint = panel.writer("heat.hint.year", told=reports.trips(panel.answer, panel.writer))
    return table_page(reports.year(panel.answer, panel.writer), hint, "narrow")


def classes_page(panel: "HeatPanel") -> str:
    hint = panel.writer("heat.hint.classes", told=reports.classes_text(panel.answer, panel.writer))
    return table_page(reports.classes_table(panel.answer, panel.writer), hint)


def height_page(panel: "HeatPanel") -> str:
    hint = panel.writer("heat.hint.height", told=reports.height_text(panel.answer, panel.writer))
    table = table_page(reports.heights(panel.answer, panel.writer), hint)
    return panel.height.html(WIDE) + table


WIDE = 810  # px, width of the plots on pages
# Pages that take about a second. SLOW pages depend on the sliders, and STILL pages do not.
SLOW = {"day": day_page, "trip": trip_page, "year": year_page}
STILL = {"classes": classes_page, "height": height_page}
PAGES = {"steps": steps, **SLOW, **STILL}
BARS = {"below": "fits", "near": "fits with work", "above": "does not fit"}


class HeatPanel(JobMotorPanel):
    """Panel for the temperatures of one motor on a job.

    The arguments and common controls are the same as in `JobMotorPanel`. The additional controls
    are ``readings`` and the sliders ``voltage`` [V], ``blade``, ``stream`` and ``sunshine`` [% of
    the job's value]. The attribute ``pages`` contains tables and time plots by title. Only the
    visible page is calculated, and a slow page is calculated only after the sliders stop moving.
    The attribute ``picture`` is the latest plot.
    """

    subject, reports, wide, step = "heat", reports, 700, "heat"
    bars, PAGES = BARS, PAGES

    @property
    def SLOW(self):
        return [title for title, key in self._pages.items() if key in {**SLOW, **STILL}]

    def page_key(self, title: str):
        if self._pages[title] in STILL:
            return self.job, self.chosen, self.units.value
        return self.answer

    def read(self, **typed: str) -> None:
        """Fill in the readings from ``typed`` (or clear the fields if empty) and recalculate."""
        with self.filling():
            self.readings.restore(typed)
        self.update()

    def compute(self) -> HeatAnswer:
        self._offered()
        self.readings.say_missing()
        return HeatAnswer(self.place, self.asked).worked()

    @property
    def place(self) -> HeatPlace:
        """Return the selected motor on the job, updated from the readings."""
        given = self.readings.given().items()
        typed = tuple((name, tuple(one) if isinstance(one, list) else one) for name, one in given)
        return self._placed(self.job, self.chosen, typed)

    @property
    def asked(self) -> HeatInput:
        """Return the conditions set by the sliders."""
        return HeatInput(
            temp_outdoor=self.temperature.amount,
            voltage=float(self.voltage.value),
            blade=self.blade.value / 100,
            stream=self.stream.value / 100,
            sunshine=self.sunshine.value / 100,
        )

    def records(self) -> tuple[Fields, ...]:
        return (self.readings,)

    def carried(self, **more):
        given = self.readings.given()
        ohms = None if lacks(given) else ohms_of(HeatEntry(**given))
        return super().carried(**{"more": {"ohms": ohms}} | more)

    @property
    def day(self) -> Picture:
        """Return a plot of the temperatures on a hot day."""
        words = self.writer("heat.words.day", told=reports.day_text(self.answer, self.writer))
        return Picture(reports.day_figure(self.answer, self.writer), words)

    @property
    def trip(self) -> Picture:
        """Return a plot of the temperatures and overload trips with a locked rotor."""
        words = self.writer("heat.words.trip", told=reports.locked(self.answer, self.writer))
        return Picture(reports.trip(self.answer, self.writer), words)

    @property
    def height(self) -> Picture:
        """Return a plot of the separate effects of elevation."""
        words = self.writer("heat.words.height", told=reports.height_text(self.answer, self.writer))
        return Picture(reports.height_figure(self.answer, self.writer), words)

    def _place(self, job: Job, motor, given: tuple) -> HeatPlace:
        return HeatPlace.of(job, motor, readings(dict(given)), QUICKEST)

    def _named(self, motor) -> str:
        return self.text("heat.named", motor=motor.name, letter=motor.insulation_class)

    def _new_picture(self, writer: Writer) -> reports.HeatPicture:
        return reports.HeatPicture(writer)

    def _picture_words(self) -> str:
        answer, write = self.answer, self.writer
        parts = [
            Message(
                "heat.words.part",
                step=Message(f"heat.step.{part.name}"),
                rise=reports.kelvin(part.kelvin.mid),
            )
            for part in answer.study.budget[1:]
        ]
        return write(
            "heat.words.stack",
            outdoor=reports.degree(answer.asked.temp_outdoor),
            parts=parts,
            verdict=reports.verdict(answer, write),
        )

    def _set_usual(self) -> None:
        self.readings.restore({})
        super()._set_usual()
        usual = self.place.usual
        ends = (round(share * usual.voltage) for share in VOLTS)
        fields.reach(self.voltage, *ends, round(usual.voltage))
        for share in (self.blade, self.stream, self.sunshine):
            share.value = 100

    def _observe(self) -> None:
        typed = self.readings.controls.values()
        self.watch([self.motor, *typed])
        self.follow_sliders(self._sliders)
        self.follow_units([self.temperature])
        steps = [self.units, self.motor]
        self.keep_steps([*steps, *self._sliders, *typed], first=steps)

    def _make_controls(self, write: Writer) -> None:
        super()._make_controls(write)
        self.voltage = slider(write("panel.motors.voltage"), 180, 260, 230)
        self.blade = slider(write("panel.motors.blade"), 50, 130, 100, 5)
        self.stream = slider(write("panel.heat.stream"), 30, 150, 100, 5)
        self.sunshine = slider(write("panel.heat.sunshine"), 0, 150, 100, 10)
        self._sliders = (
            self.temperature, self.voltage, self.blade, self.stream, self.sunshine,
        )  # fmt: skip
        self.readings = HeatReadings(write)

    def _arrange(self) -> None:
        asked = fields.tab(
            {
                self.text("motors.readings"): [self.readings.view],
                self.text("motors.more"): [self.units],
                self.writer("export.title"): [self.export_part()],
            }
        )
        self.arrange_pages([self.motor, *self._sliders, asked], self.writer("heat.hint.hot"))
