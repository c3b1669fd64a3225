"""Values, inputs and checks in the reader's language and units."""

import re

from airover.bands import Band
from airover.choose.check import ADAPT, MISSING, Check
from airover.errors import InputError
from airover.motor.conditions import Input
from airover.texts import Texts
from airover.units import read, show

# How the units of this kit look to a customer.
_SIGNS = (
    ("degF", "°F"),
    ("degC", "°C"),
    ("m3/s", "m³/\u2060s"),
    ("uF", "µF"),
    ("+-", "±"),
    ("W/m2", "W/\u2060m²"),
)
_INPUTS = {
    "line voltage": "voltage", "range of the line voltage": "voltage", "frequency": "frequency",
    "rated power": "power", "rated speed": "speed", "airflow": "flow",
    "outdoor temperature": "air_temperature", "recirculation": "temperature_rise",
    "elevation": "elevation", "relative humidity": "humidity", "heat of the coil": "heat",
    "air temperature rise across the coil": "temperature_rise", "fan load": "power",
    "fan diameter": "blade_diameter", "blade mass": "mass",
}  # fmt: skip
_ELSEWHERE = ("winding life", "bearing life", "bearing kind")  # in the section on life
_ROUTINE = (
    "catalogue's plate", "nameplate", "number of phases", "frequency", "winding without the rating",
)  # fmt: skip
_DIGITS = {"temperature": 0, "air_temperature": 0}  # a tenth of a degree is not known
NO_BREAK = "\u00a0"
_RANGE = re.compile(r"(?<=[0-9])-(?=[0-9])")
_CONNECTING = re.compile(r"\b(?:to|or|and|about|points|years|months)\b")


class Said:
    """What is said in one language and one ``system`` of units, "US" or "SI"."""

    def __init__(self, texts: Texts, system: str):
        self.texts = texts
        self.system = system

    def amount(self, value, kind: str) -> str:
        """A number, or a band as "low to high", of a ``kind`` of quantity, with its unit once."""
        if isinstance(value, Band):
            return self.range(value.low, value.high, kind)
        return _kept_together(show(float(value), kind, self.system, _DIGITS.get(kind)))

    def range(self, low, high, kind: str) -> str:
        """Two ends, or one value where both look the same."""
        first, last = (show(float(x), kind, self.system, _DIGITS.get(kind)) for x in (low, high))
        if first == last:
            return _kept_together(last)
        number, _, unit = first.rpartition(" ")
        shared = number if unit and last.endswith(f" {unit}") else first
        return self.texts("to", low=_kept_together(shared), high=_kept_together(last))

    def money_band(self, band: Band, currency: str) -> str:
        """An exact amount to the hundredth; a range in whole units, since it is no exact one."""
        if band.low == band.high:
            return f"{band.mid:,.2f}{NO_BREAK}{currency}"
        low, high = (f"{end:,.0f}" for end in (band.low, band.high))
        return self.texts("to", low=low, high=high) + NO_BREAK + currency

    def money_about(self, value, currency: str) -> str:
        """An amount or a band in two digits, as an expectation over years has no more."""
        return f"{self._numbers(value, _in_two_digits)}{NO_BREAK}{currency}"

    def kilowatt_hours(self, band: Band) -> str:
        return self._numbers(band, _in_two_digits) + f"{NO_BREAK}kWh"

    def working_time(self, band: Band) -> str:
        return self._numbers(band, lambda hours: f"{hours:.3g}") + f"{NO_BREAK}h"

    def hours(self, value: float) -> str:
        """Hours in two digits: an estimate has no more."""
        return _in_two_digits(value)

    def months(self, count: float) -> str:
        one = round(count) == 1
        return self.texts("months.one") if one else self.texts("months.many", count=f"{count:g}")

    def typed(self, text: str) -> str:
        """A value as this kit, or a person, wrote it: its connecting words in this language."""
        between = _RANGE.sub(" to ", text)
        return _signs(_CONNECTING.sub(lambda word: self.texts.word(word[0]), between))

    def input(self, one: Input) -> tuple[str, str]:
        """An input's name and value."""
        return self.named("input", one.name), self._value(one)

    def named(self, table: str, key: str, otherwise: str = "") -> str:
        """The name of an input, a check or a cause; one without a text stays as it is."""
        full = f"{table}.{key}"
        return self.texts(full) if self.texts.has(full) else otherwise or key

    def percent(self, band: Band) -> str:
        """Chances from and to, in whole per cent that are never 0 or 100."""
        ends = (min(max(end, 0.01), 0.99) for end in band)
        return self._numbers(Band(*ends), lambda x: f"{100 * x:.0f}") + f"{NO_BREAK}%"

    def _value(self, one: Input) -> str:
        """In the reader's units where the text is an amount; else with its words turned."""
        if one.name not in _INPUTS:
            return self.typed(one.value)
        try:
            found = read(one.value, _INPUTS[one.name], one.name)
        except InputError:
            return self.typed(one.value)
        return self.range(found.low, found.high, _INPUTS[one.name])

    def check(self, check: Check) -> tuple[str, str, str]:
        """A check's name, its sentence and its result."""
        name, state = self.named("check", check.name), self.texts(f"state.{check.state}")
        return name, self.sentence(check), state

    def sentence(self, check: Check) -> str:
        """A check's own sentence."""
        return check.sentence(self.texts, self.system, _kept_together)

    def values(self, check: Check) -> dict[str, str]:
        """The values of a check's sentence by name."""
        return check.values(self.texts, self.system, _kept_together)

    def watts(self, value) -> str:
        """Watts in whole ones, a number or a band."""
        return self._numbers(value, lambda x: f"{x:.0f}") + f"{NO_BREAK}W"

    def _numbers(self, value, shown) -> str:
        if not isinstance(value, Band):
            return shown(value)
        low, high = shown(value.low), shown(value.high)
        return low if low == high else self.texts("to", low=low, high=high)


def _signs(text: str) -> str:
    for plain, sign in _SIGNS:
        text = text.replace(plain, sign)
    return text


def _kept_together(amount: str) -> str:
    """An amount whose unit does not part from its number at the end of a line."""
    return _signs(amount).replace(" ", NO_BREAK)


def _in_two_digits(value: float) -> str:
    return f"{float(f'{value:.2g}'):,.0f}"


def shown_checks(checks) -> list[Check]:
    """The checks of a table: all but those of how long the motor lasts."""
    return [check for check in checks if check.name not in _ELSEWHERE]


def closed_checks(checks) -> list[Check]:
    """The checks of the customer's table: neither routine nor in the list of what is to be done."""
    return [
        check
        for check in shown_checks(checks)
        if check.name not in _ROUTINE and check.state not in (ADAPT, MISSING)
    ]


def open_checks(checks) -> list[Check]:
    """What is to be adapted, then what is to be found out."""
    return [check for state in (ADAPT, MISSING) for check in checks if check.state == state]
