"""The second step: what a motor that may be taken draws at which voltage."""

from functools import lru_cache

import ipywidgets as widgets

from airover.app import style
from airover.app.motor_panel import SAMPLES
from airover.app.page_job import MotorChoice
from airover.app.page_view import CAUTIONS, View, shown
from airover.app.panel import Picture
from airover.app.reader import Reader
from airover.model.expected import Expected, Mounted, mounted
from airover.reports.motor import AmpsPicture

_BARS = {"within": "fits", "at": "fits with work", "beyond": "does not fit"}
WIDE = 640  # pixels, where there is room
_WORDS = ("across", "up", "band")


class AmpsView(View):
    """A motor, a slider of the line's voltage, the amps to expect, their picture and the plate.

    Controls: ``motor`` (a MotorChoice) and ``voltage`` [V]. ``picture`` is the last one drawn.
    """

    step = "amps"
    cautions = (*CAUTIONS, "live")

    def build(self):
        self._mount = lru_cache(maxsize=4)(_mounted)
        self._swept = self._drawn = self._of = None
        self.motor = MotorChoice()
        self.voltage = widgets.IntSlider(min=1, max=1000, value=230)
        self.verdict, self.pictured, self.facts = shown(), shown(), shown()
        self._filling = False
        self.motor.control.observe(self._chosen, "value")
        self.voltage.observe(self._slid, "value")
        return [self.motor.control, self.voltage, self.verdict, self.pictured, self.facts]

    def compute(self) -> Expected:
        self._fill(lambda: self.motor.offer(self.page.answer, self.page.reader))
        case = self.motor.chosen.case
        found = self._mount(case.motor, case.rating, self.page.answer.job)
        if self._swept is None or self._swept[0] is not found:
            self._reach(found)
            self._swept = found, found.across(self.voltage.value)[0]
        return self._at(self.voltage.value)

    def slide(self) -> None:
        """Show what the slider says: one voltage is worked anew and nothing else."""
        self.result = self._at(self.voltage.value)
        self.draw(self.page.reader)

    def say(self, reader: Reader) -> None:
        self.motor.control.description = reader("amps.motor")
        self.voltage.description = reader("amps.voltage")
        if self.page.answer is not None:
            self._fill(lambda: self.motor.offer(self.page.answer, reader))

    def draw(self, reader: Reader) -> None:
        found = self.result
        told = map(reader.said, (*found.warnings, *found.facts))
        self.verdict.value = style.verdict(_BARS[found.state], reader.said(found.verdict), *told)
        self.picture = self._picture(found, reader)
        self.pictured.value = self.picture.html(WIDE)
        self.facts.value = _facts(found, reader)

    def _at(self, voltage: float) -> Expected:
        known, sweep = self._swept
        return Expected(known, voltage, 1.0, 1.0, known.at(voltage), sweep)

    def _picture(self, found: Expected, reader: Reader) -> Picture:
        if self._of is None or self._of[0] is not found.sweep or self._of[1] is not reader:
            words = {name: reader(f"amps.{name}") for name in _WORDS}
            words["plate"] = reader("amps.plate", amps=f"{found.mounted.current:g}")
            ends = zip(("low", "high"), found.mounted.limits, strict=True)
            words |= {name: reader(f"amps.{name}", volts=f"{end:.0f}") for name, end in ends}
            self._drawn, self._of = AmpsPicture(found, words), (found.sweep, reader)
        volts, amps = _volts_and_amps(found, reader)
        png = self._drawn.png(found.voltage, found.current, f"{volts}: {amps}")
        return Picture(png, reader("amps.words", volts=volts, amps=amps))

    def _reach(self, found: Mounted) -> None:
        """A slider over the motor's voltages, at the line's where it can be."""
        low, high = found.span
        usual = round(self.motor.chosen.case.conditions.voltage[1])

        def put():
            self.voltage.min, self.voltage.max = 1, 1000
            self.voltage.value = min(max(usual, low), high)
            self.voltage.min, self.voltage.max = low, high

        self._fill(put)

    def _fill(self, put) -> None:
        self._filling = True
        try:
            put()
        finally:
            self._filling = False

    def _chosen(self, change) -> None:
        if not self._filling:
            self.old = True
            self.work()

    def _slid(self, change) -> None:
        if not self._filling and self.result is not None:
            self.slide()


def _facts(found: Expected, reader: Reader) -> str:
    said, bands = reader.said, found.bands
    pairs = [
        (reader("best.speed"), said.amount(bands["speed_rpm"], "speed")),
        (reader("amps.watts"), said.amount(bands["power_in_w"], "watts")),
        (reader("best.winding"), said.amount(bands["temp_winding_c"], "temperature")),
    ]
    return style.facts(pairs) + style.text(reader("amps.bands"), "p", "soft")


def _volts_and_amps(found: Expected, reader: Reader) -> tuple[str, str]:
    volts = reader.said.amount(found.voltage, "voltage")
    return volts, reader.said.amount(found.current, "current")


def _mounted(row, rating, job) -> Mounted:
    return mounted(row, rating, job, (), SAMPLES)
