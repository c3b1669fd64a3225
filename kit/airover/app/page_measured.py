"""The third step: what a meter shows of the new motor, beside what was expected of it.

A verified motor in the reader's language: pieces of HTML by the name of their place.
"""

import ipywidgets as widgets

from airover.app import page_job, style
from airover.app.fields import Fields
from airover.app.motor_panel import QUICKEST
from airover.app.page_job import MotorChoice
from airover.app.page_view import CAUTIONS, View, shown, take, upload
from airover.app.reader import Reader
from airover.app.verify_panel import READING
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import show
from airover.records.found import STARTS
from airover.records.readings import Measurements, ReadingMoment
from airover.reports.verify_tables import allowed, reading_label
from airover.service.judgment import AGREES, DIFFERS, OPEN
from airover.service.readings import FIGURES
from airover.service.verification import SUSPECTED, Verified, percent, verify

_BARS = {AGREES: "fits", DIFFERS: "does not fit", OPEN: "fits with work"}
_BESIDE = {"expected": "measured.of_expected", "plate": "measured.of_plate_limit"}
WORTH = 0.05  # chance from which a fault is named
MOST = 3  # faults that are named
_SHOWN = ("power_shaft_w", "speed_rpm", "flow_m3s", "temp_winding_c")


def parts(found: Verified | None, reader: Reader) -> dict[str, str]:
    """HTML of each place; without readings only how to begin."""
    if found is None:
        return {"verdict": style.text(reader("measured.begin"))}
    return {
        "verdict": _verdict(found, reader, reader.said),
        "readings": _readings(found, reader, reader.said),
        "likely": _likely(found, reader, reader.said),
        "inferred": _inferred(found, reader, reader.said),
    }


def _verdict(found: Verified, reader: Reader, write: Writer) -> str:
    below = [write(one) for one in found.next_sentences]
    if found.measured.invented or found.job.invented:
        below.append(reader("invented"))
    return style.verdict(_BARS[found.state], write(found.verdict), *below)


def _readings(found: Verified, reader: Reader, write: Writer) -> str:
    heads = [reader(f"measured.{key}") for key in ("reading", "read", "expected", "word")]
    rows = [_row(found, one, reader, write) for one in found.judged]
    table = style.rows(heads, rows) if rows else ""
    odd = [write(one.sentence) for one in found.questioned]
    seen = [write(one.sentence) for one in found.remarks]
    hint = style.text(reader("measured.bands"), "p", "soft") if rows else ""
    return (
        table + hint + style.listed(reader("measured.questioned"), odd)
        + style.listed(reader("measured.seen"), seen)
    )  # fmt: skip


def _row(found: Verified, one, reader: Reader, write: Writer) -> tuple[str, ...]:
    beside = reader(_BESIDE[one.against], value=allowed(one, write))
    state = write(f"verify.state.{one.state}")
    return reading_label(found, one, write), write.value(one.text), beside, state


def _likely(found: Verified, reader: Reader, write: Writer) -> str:
    """The faults that are likely or open, with what to look at."""
    if not found.findings:
        return ""
    told = [write("verify.as_expected", chance=percent(found.chance_expected))]
    for one in found.findings[:MOST]:
        if one.state == SUSPECTED or one.chance >= WORTH:
            state = Message(f"verify.state.{one.state}")
            values = {"chance": percent(one.chance), "state": state, "look": one.look}
            told.append(write("verify.fault_state_look", fault=one.name, **values))
    return style.listed(reader("measured.may_be"), [_begun(one) for one in told])


def _inferred(found: Verified, reader: Reader, write: Writer) -> str:
    pairs = [
        (_begun(write(f"verify.figure.{name}")), write.amount(found.bands[name], FIGURES[name]))
        for name in _SHOWN
        if name in found.bands
    ]
    return style.folded(reader("measured.follows"), style.facts(pairs)) if pairs else ""


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]


_ASKED = ("voltage", "current", "power", "speed", "capacitor_voltage")
OF_THE_PLATE = "measured.of_plate"


class MeasuredForm:
    """Which motor runs, what was read on it, how it starts; ``file`` is an uploaded text, of which
    all that has no field here counts too."""

    record = "measured"

    def __init__(self):
        self.motor = MotorChoice(OF_THE_PLATE)
        self.reading = Fields(
            "reading", {"reading": {n: READING[n] for n in _ASKED}}, ReadingMoment
        )
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
        first = self._told.reading[0] if self._told.reading else ReadingMoment()
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
    page_job.measurements(name, content)
    return page_job.text_of(name, content, ".toml")
