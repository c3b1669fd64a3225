"""Panel for worksheet 06, which verifies the installed motor."""

import ipywidgets as widgets
import pandas as pd

from airover.app import fields, style, uploads
from airover.app.current_job import enough
from airover.app.fields import Fields, MotorChoice, hint, text
from airover.app.motor_panel import OF_THE_PLATE, QUICKEST, with_capacitor
from airover.app.panel import FollowingPicture, Panel, Picture, read_motors
from airover.app.replacement import CAUTIONED, candidate_named, named, offered
from airover.app.unsaved import State
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import quoted, show
from airover.records.found import STARTS
from airover.records.job import Job
from airover.records.nameplate import CLOCKWISE, COUNTERCLOCKWISE, ENDS
from airover.records.readings import Measurements, Meters, ReadingMoment, WindingOhms
from airover.records.scope import check_scope
from airover.reports import numbers
from airover.reports import verify_tables as tables_verify
from airover.reports.drawing import png
from airover.reports.verify import fault_lines, next_text, remark_lines
from airover.reports.verify_tables import DPI, beside_expected
from airover.service.judgment import AGREES, DIFFERS
from airover.service.roof_sheet import STOP
from airover.service.verification import Verified, verify

_BARS = {AGREES: "fits", DIFFERS: "does not fit"}
READING = {
    "voltage": "236 V",
    "current": "1.85 A",
    "power": "372 W",
    "speed": "1091 rpm",
    "capacitor_voltage": "365 V",
    "capacitor_current": "1.03 A",
}
AIR = {
    "outdoor_temperature": "95 degF",
    "entering_temperature": "97 degF",
    "motor_air_temperature": "116 degF",
    "leaving_temperature": "116 degF",
    "shell_temperature": "190 degF",
}
WINDING = {
    "cold_resistance": "14.2 ohm",
    "cold_temperature": "75 degF",
    "hot_resistance": ("18.6 ohm", "18.4 ohm"),
    "time_off": ("15 s", "30 s"),
}
METERS = {
    "voltage": "1 % + 2 digits",
    "current": "2 % + 2 digits",
    "power": "3 % + 2 digits",
    "speed": "0.3 % + 2 digits",
    "temperature": "1.5 K",
    "shell": "5 K",
    "resistance": "1 % + 1 digit",
}
SEEN = {
    "start": STARTS,
    "rotation": {CLOCKWISE: (), COUNTERCLOCKWISE: ()},
    "rotation_seen_from": ENDS,
    "capacitor_tolerance": "6 %",
}


class VerifyPanel(Panel):
    """Panel that compares readings with their expected ranges.

    The controls are ``motor`` (a name in the catalog, or "" for the job's nameplate), ``rating``,
    ``reading``, ``winding``, ``seen`` and ``meters`` (with their fields as attributes), ``units``,
    ``bar`` (the current job) and ``measured_path``. If a file has several readings, the fields show
    the first one, but the evaluation uses all of them. The attribute ``picture`` is the latest
    plot. With a ``host``, the page provides the job, and no answer is shown until a reading is
    entered.

    Parameters
    ----------
    job_path, measured_path, catalog : str or os.PathLike, optional
        Files to use. The defaults are the current job of all worksheets, the readings entered for
        it, and the catalog supplied with airover.
    units : str, optional
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es".

    Raises
    ------
    InputError
        If the files cannot be read or evaluated.
    """

    step = "measured"
    cautions = (*CAUTIONED, "live", "never")

    def __init__(
        self, job_path=None, measured_path=None, catalog=None, units="US", language="en", host=None
    ):
        super().__init__(language, host)
        self._motors = () if self.on_page else with_capacitor(read_motors(catalog))
        self._others, self._measured, self._file = (), Measurements(), ""
        self._picture, self._offered = None, None
        self._make_controls(units)
        self._places = {
            name: widgets.HTML()
            for name in ("verdict", "picture", *(one.__name__ for one in _SECTIONS))
        }
        for place in self._places.values():
            place.add_class("ao-answer")
        self._pictured = FollowingPicture(self._draw_picture, self._places["picture"], self.on_page)
        if not self.on_page:
            self.use_job(job_path)
            if measured_path is not None:
                self.fill_measured(Measurements.read(measured_path))
        self._observe()
        if not self.on_page:
            self.resume()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Load ``job`` without calculating. Readings are blank unless it is the sample job."""
        self.job = job
        sample = self.bar is not None and self.bar.current.is_sample
        self.fill_measured(sample_readings() if sample else Measurements())

    def lacks(self) -> str:
        if self.on_page:
            return ""
        if not enough(self.job):
            return self.writer("worksheet.enter_nameplate_in_01")
        return "" if self._has_readings() else self.writer("worksheet.enter_readings")

    def _has_readings(self) -> bool:
        return bool(self.reading.given() or self.seen.given() or self._others)

    def entries(self) -> State:
        return self.typed() | super().entries()

    def _resume(self) -> None:
        kept = self.bar.restored()
        if self.step in kept:
            self.restore(kept)
        super()._resume()

    def fill_measured(self, measured: Measurements) -> None:
        """Enter ``measured`` in the controls without calculating."""
        names = {row.name.lower(): row.name for row in self._motors}
        if measured.motor and measured.motor.lower() not in names:
            raise InputError(
                "motor", quoted(measured.motor), Message("panel.verify.a_catalog_motor")
            )
        self._offered = None  # add the motor named in the file to the list
        with self.filling():
            self._keep(measured)
            self.motor.want(names.get(measured.motor.lower(), OF_THE_PLATE))
            self.rating.value = "" if measured.rating is None else measured.rating.text
            self.reading.fill(measured.reading[0] if measured.reading else None)
            self.winding.fill(measured.winding)
            self.seen.fill(measured)
            for name, control in self.meters.controls.items():
                stated = name in measured.meters.model_fields_set
                control.value = getattr(measured.meters, name).text if stated else ""

    def _keep(self, measured: Measurements) -> None:
        """Keep data that has no control here, such as the name and all but the first reading."""
        self._measured, self._others = measured, measured.reading[1:]

    def typed(self) -> dict[str, dict[str, str]]:
        state = super().typed()
        file = {"file": self._file} if self._file else {}
        rating = {"rating": self.rating.value} if self.rating.value else {}
        return state | {self.step: state[self.step] | file | rating}

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        own = state.get(self.step, {})
        self._file = own.get("file", "")
        self._keep(Measurements.from_toml(self._file))
        with self.filling():
            self.rating.value = own.get("rating", "")
        super().restore(state)

    def upload(self, name: str, content: bytes) -> None:
        """Load an uploaded file of measurements, or show the error if it is rejected."""
        found = self.host.opened(uploads.measurements, name, content)
        if found is not None:
            try:
                self.fill_measured(found)
            except InputError as error:
                self.host.refuse_file(name, error)
            else:
                self._file = uploads.text_of(name, content, ".toml")
                self.update()
                self.settled()
        self.file_told.value = self.host.file_told.value

    def open_measured(self, path) -> None:
        """Read the measurements from ``path`` and evaluate them, or show the error."""
        self.open_with(Measurements.read, path, self.fill_measured)

    @property
    def measured(self) -> Measurements:
        """Return the measurements entered in the controls.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        rating = self.rating.value.strip() or None
        if self.on_page and self.motor.value and rating is None:
            rating = show(candidate_named(self.host.answer, self.motor.value).case.rating, "power")
        return Measurements(
            name=self._measured.name,
            invented=self._measured.invented,
            motor=self.motor.value,
            rating=rating,
            winding=self.winding.given(),
            meters=self.meters.given(),
            reading=[self.reading.given(), *self._others],
            **self.seen.given(),
        )

    def compute(self) -> Verified | None:
        if self.on_page:
            self._take_job()
            if not self._has_readings():
                return None
        check_scope(self.job)
        return verify(self.job, self.measured, self._motors, settle=QUICKEST)

    def draw(self) -> None:
        found, write = self.answer, self.writer
        if found is None:
            for place in self._places.values():
                place.value = ""
            self._places["verdict"].value = style.text(write("page.measured.begin"))
            return
        self._places["verdict"].value = self._quick() + verdict_html(found, write)
        for section in _SECTIONS:
            if not (self.on_page and section is cautions):  # the page has its own cautions
                self._places[section.__name__].value = section(found, write)
        self._pictured.follow()

    def _draw_picture(self) -> None:
        if self.answer is not None:
            self._picture = picture_of(self.answer, self.writer)
            self._places["picture"].value = self._picture.own_size()

    @property
    def picture(self) -> Picture | None:
        """Return the plot of the answer, or None if there is no answer yet."""
        self._pictured.hurry()
        return self._picture

    def _quick(self) -> str:
        """Return the roof sheet's evaluation of the volts and amps, for display on the page."""
        sheet = self.host.sheet() if self.on_page else None
        if sheet is None or sheet.order.motor.name != self.motor.value:
            return ""
        read = self.answer.measured.reading[0]
        if read.voltage is None or read.current is None:
            return ""
        outdoor = read.outdoor_temperature and read.outdoor_temperature.mid
        state = sheet.judge(read.voltage.mid, read.current.mid, outdoor)
        said = self.writer(f"roof.state.{state}")
        return style.problem(said) if state in STOP else style.text(said)

    @property
    def said(self) -> str:
        """Return the verdict, the remarks and the next readings to take, one per line."""
        found, write = self.answer, self.writer
        questioned = [write(one.sentence) for one in found.questioned]
        lines = [write(found.verdict), *questioned, *remark_lines(found, write)]
        return "\n".join(filter(None, [*lines, next_text(found, write)]))

    @property
    def results(self) -> pd.DataFrame:
        """Table of the readings and their expected ranges as numbers."""
        return numbers.readings(self.answer, self.writer)

    def _take_job(self) -> None:
        """List the motors that fit the job or match it most closely, and the installed motor."""
        found, first = self.host.answer, self.host.motor_to_install
        if self._offered is not None and found is self._offered[0] and first == self._offered[1]:
            return
        self.job, self._offered = found.job, (found, first)
        self._motors = [one.case.motor for one in found.candidates]
        shown = offered(found, self.writer)
        installed = candidate_named(found, self.motor.wanted or "")
        if installed is not None and self.motor.wanted not in dict(map(reversed, shown)):
            shown.append((named(installed, self.writer), self.motor.wanted))
        shown.sort(key=lambda one: one[1] != first)  # the motor of the roof sheet first
        with self.filling():
            self.motor.offer([*shown, (self.text("verify.of_plate"), OF_THE_PLATE)])

    @property
    def verdict(self) -> widgets.HTML:
        return self._places["verdict"]

    def shown(self, name: str) -> str:
        """Return the HTML for a part, such as "comparisons" or "next_readings"."""
        return self._places[name].value

    def records(self) -> tuple[Fields, ...]:
        return self.reading, self.winding, self.seen, self.meters

    def choices(self) -> dict[str, MotorChoice]:
        return {"motor": self.motor}

    def _observe(self) -> None:
        typed = [one for record in self.records() for one in record.controls.values()]
        asked = [*typed, self.motor, self.rating]
        self.watch(asked)
        if not self.on_page:
            self.watch([self.units])
            self.follow_path(self.measured_path, self.open_measured)
            self.keep_steps([*asked, self.units])

    def _make_controls(self, units: str) -> None:
        if not self.on_page:
            self.units = fields.units_shown(units, self.writer)
        write = self.writer
        self.reading = self.fields("reading", {"Reading": READING, "Air": AIR}, ReadingMoment)
        self.winding = self.fields("winding", {"Ohms": WINDING}, WindingOhms)
        self.seen = self.fields("seen", {"Seen": SEEN}, Measurements)
        self.meters = self.fields("meters", {"Meters": METERS}, Meters)
        names = [(row.name, row.name) for row in self._motors]
        self.motor = MotorChoice(write("page.measured.motor" if self.on_page else "panel.motor"))
        self.motor.offer([(write("panel.verify.of_plate"), OF_THE_PLATE), *names])
        self.rating = text(write("panel.verify.rating"), "1/3 hp", write)
        if self.on_page:  # page visitors must not have access to files on this computer
            self.told_places("file_told")
            self.upload_button = uploads.upload(write("page.file.measured"), ".toml", self.upload)
        else:
            self.measured_path = text(write("panel.verify.measured_file"), "measured.toml", write)

    def _arrange(self) -> None:
        places = self._places
        right = [self._pictured.view, places["remarks"]]
        below = ("comparisons", "inferred", "next_readings", "faults", "cautions")
        left = [self.motor, self.rating, *self.parts(self._pages(), opened=True)]
        self.arrange([self.verdict], left, right, [places[name] for name in below])

    def _pages(self) -> dict[str, list]:
        pages = {
            "Reading": [hint(self.text("verify.how_to_read")), self.reading.pages["Reading"]],
            "Air": [self.reading.pages["Air"]],
            "Ohms": [hint(self.text("verify.ohms")), self.winding.pages["Ohms"]],
            "Seen": [self.seen.pages["Seen"]],
            "Meters": [hint(self.text("verify.accuracy")), self.meters.pages["Meters"]],
        }
        titled = {self.text(f"verify.tab.{title}"): page for title, page in pages.items()}
        if self.on_page:
            return titled | {
                self.text("verify.measured_file"): [self.upload_button, self.file_told]
            }
        files = [self.measured_path, self.units]
        return titled | {self.text("verify.tab.Files"): files}


def sample_readings() -> Measurements:
    """Return the fictional readings for the sample job."""
    return Measurements.read(data_folder() / "measured" / "roof-unit-first-start.toml")


# HTML elements


def verdict_html(found: Verified, write: Writer) -> str:
    invented = found.measured.invented or found.job.invented
    told = [next_text(found, write), write("panel.invented_motors") * invented]
    bar = _BARS.get(found.state, "fits with work")
    return style.verdict(bar, write(found.verdict), " ".join(filter(None, told)))


def picture_of(found: Verified, write: Writer) -> Picture:
    states = [
        f"{write.value(one.text)} {write(f'verify.state.{one.state}')}"
        for one in found.judged
        if one.against == "expected"
    ]
    words = write(
        "panel.verify.picture",
        states=", ".join(states) or write.texts.word("none"),
        chances="; ".join(fault_lines(found, write)),
    )
    return Picture(png(beside_expected(found, write), DPI), words)


def remarks(found: Verified, write: Writer) -> str:
    questioned = [write(one.sentence) for one in found.questioned]
    seen = [line[0].upper() + line[1:] for line in remark_lines(found, write)]
    return style.listed(write("panel.verify.questioned"), questioned) + style.listed(
        write("panel.verify.seen"), seen
    )


def comparisons(found: Verified, write: Writer) -> str:
    hint = write("panel.verify.comparisons_hint")
    table = style.table(tables_verify.comparisons(found, write), "figures")
    return style.heading(write("panel.verify.comparisons")) + table + style.quiet(hint)


def inferred(found: Verified, write: Writer) -> str:
    """Return the inferred values as HTML, or an empty string if the motor is not turning."""
    if found.known is None:
        return ""
    return style.heading(write("panel.verify.inferred")) + style.table(
        tables_verify.inferred_figures(found, write), "figures"
    )


def faults(found: Verified, write: Writer) -> str:
    if found.known is None:
        return ""
    hint = write("panel.verify.faults_hint")
    return (
        style.heading(write("panel.verify.faults"))
        + style.table(tables_verify.faults(found, write))
        + style.quiet(hint)
    )


def next_readings(found: Verified, write: Writer) -> str:
    if not found.next:
        return ""
    hint = write("panel.verify.next_hint")
    table = style.table(tables_verify.next_figures(found, write), "narrow")
    return style.heading(write("panel.verify.next")) + table + style.quiet(hint)


def cautions(found: Verified, write: Writer) -> str:
    return style.listed(
        write("panel.before_measuring"), [write.value(one) for one in found.cautions]
    )


_SECTIONS = (comparisons, remarks, inferred, faults, next_readings, cautions)
