"""The third step: what a meter shows of the new motor, beside what was expected of it."""

import ipywidgets as widgets

from airover.page import opened
from airover.page.choosing import MotorChoice
from airover.page.measured_said import parts
from airover.page.sections import take, upload
from airover.page.view import CAUTIONS, View, shown
from airover.panels import style
from airover.panels.fields import Fields
from airover.panels.motor_panel import QUICKEST
from airover.panels.reader import Reader
from airover.panels.verify_panel import READING
from airover.records import Measurements, Moment
from airover.records.found import STARTS
from airover.units import show
from airover.verify.verified import Verified, verify

_ASKED = ("voltage", "current", "power", "speed", "capacitor_voltage")
OF_THE_PLATE = "measured.of_plate"


class MeasuredForm:
    """Which motor runs, what was read on it, how it starts; ``file`` is an uploaded text, of which
    all that has no field here counts too."""

    record = "measured"

    def __init__(self):
        self.motor = MotorChoice(OF_THE_PLATE)
        self.reading = Fields("reading", {"reading": {n: READING[n] for n in _ASKED}}, Moment)
        self.seen = Fields("seen", {"seen": {"start": STARTS}}, Measurements)
        self.forms = (self.reading, self.seen)
        self.file, self._told = "", Measurements()

    def controls(self) -> list[widgets.Widget]:
        fields = [one for form in self.forms for one in form.controls.values()]
        return [self.motor.control, *fields]

    def fill(self, text: str) -> None:
        """Take the measurements of a TOML ``text``; raises InputError."""
        self._keep(text)
        first = self._told.reading[0] if self._told.reading else None
        self.reading.fill(first)
        self.seen.fill(self._told)

    def typed(self) -> dict[str, str]:
        motor = {} if self.motor.wanted is None else {"motor": self.motor.wanted}
        return motor | ({"file": self.file} if self.file else {})

    def restore(self, typed: dict[str, str]) -> None:
        """Put back what `typed` told; raises InputError for a damaged one."""
        self._keep(typed.get("file", ""))
        self.motor.want(typed.get("motor"))

    def enough(self) -> bool:
        """Whether anything is there to be judged."""
        return bool(self.reading.given() or self.seen.given() or self._told.reading[1:])

    def measured(self) -> Measurements:
        """What was measured on the motor that is chosen; raises InputError."""
        told, chosen = self._told, self.motor.chosen
        kept = {name: getattr(told, name) for name in ("rotation", "rotation_seen_from",
                "capacitor_tolerance", "winding", "meters", "invented")}  # fmt: skip
        named = {}
        if chosen is not None:
            named = {"motor": chosen.case.motor.name, "rating": show(chosen.case.rating, "power")}
        reading = [self._first(), *told.reading[1:]]
        return Measurements(**named, **kept, **self.seen.given(), reading=reading)

    def _first(self) -> dict:
        """What is typed, and what the file's first reading has besides."""
        first = self._told.reading[0] if self._told.reading else Moment()
        values = dict(zip(first.names(), dict(first).values(), strict=True))
        other = {name: one for name, one in values.items() if name not in _ASKED}
        return {**other, **self.reading.given()}

    def _keep(self, text: str) -> None:
        self._told, self.file = Measurements.from_toml(text), text
        self.motor.want(self._told.motor)


class MeasuredView(View):
    """Few fields for what was read, and what each reading, and all together, make of the motor."""

    step = "measured"
    cautions = (*CAUTIONS, "live", "never")

    def __init__(self, page):
        super().__init__(page)
        self.form = MeasuredForm()

    @property
    def forms(self) -> list:
        return [self.form, *self.form.forms]

    @property
    def controls(self) -> list[widgets.Widget]:
        return self.form.controls()

    def build(self):
        self.upload = upload(".toml")
        take(self.upload, self.open)
        self.how = widgets.HTML()
        self.parts = {name: shown() for name in ("verdict", "readings", "likely", "inferred")}
        fields = [box for form in self.form.forms for box in form.pages.values()]
        top = [self.how, self.form.motor.control, *fields, self.upload, self.told]
        return [*top, *self.parts.values()]

    def open(self, name: str, content: bytes) -> None:
        """Take an uploaded file of measurements; one that is refused is told."""
        text = self.page.opened(_checked, name, content)
        if text is not None:
            with self.page.filling():
                self.form.fill(text)
                if self.page.answer is not None:
                    self.form.motor.offer(self.page.answer, self.page.reader)
            self.old = True
            self.page.work()
        self.told.value = self.page.file_told.value

    def compute(self) -> Verified | None:
        with self.page.filling():
            self.form.motor.offer(self.page.answer, self.page.reader)
        if not self.form.enough():
            return None
        found = self.page.answer
        motors = [one.case.motor for one in found.candidates]
        return verify(found.job, self.form.measured(), motors, settle=QUICKEST)

    def say(self, reader: Reader) -> None:
        self.how.value = style.text(reader("measured.how"), "p", "soft")
        self.form.motor.control.description = reader("measured.motor")
        self.upload.description = reader("file.measured")
        for form in self.form.forms:
            form.say(reader)
        if self.page.answer is not None:
            with self.page.filling():
                self.form.motor.offer(self.page.answer, reader)

    def draw(self, reader: Reader) -> None:
        told = parts(self.result, reader)
        for name, place in self.parts.items():
            place.value = told.get(name, "")


def _checked(name: str, content: bytes) -> str:
    """The text of a file of measurements; raises InputError."""
    opened.measurements(name, content)
    return opened.text_of(name, content, ".toml")
