"""How exactly meters read, as their makers state it: "2 % + 2 digits"."""

import re
from typing import Annotated, NamedTuple

from pydantic import PlainValidator, ValidationInfo

from airover.errors import InputError, one_of
from airover.kinds import KINDS
from airover.message import Message
from airover.records.fields import Record
from airover.units import Amount, parse_number, quoted, read

LARGEST_SHARE = 0.25
_SHARE = re.compile(r"([0-9.]+)\s*%")
_DIGITS = re.compile(r"([0-9]+)\s*(?:digits?|counts?)")
_NUMBER = re.compile(r"[0-9][0-9,]*(?:\.([0-9]*))?")


class Accuracy(NamedTuple):
    """Limit of a meter's error: a ``share`` of the reading, ``digits`` of the last place that it
    shows, and a fixed part ``least`` [SI unit of its kind]. ``text`` is as it was written."""

    share: float
    digits: float
    least: float
    text: str

    def limit(self, amount: Amount) -> float:
        """The largest error [SI unit] of the reading ``amount``, half of a typed range added."""
        wide = (amount.high - amount.low) / 2
        return self.share * abs(amount.mid) + self.digits * last_place(amount) + self.least + wide


def last_place(amount: Amount) -> float:
    """What one digit of the last place that was written counts [SI unit].

    >>> last_place(read("1.85 A", "current", "amps"))
    0.01
    """
    written = _NUMBER.search(amount.text)
    number = float(written[0].replace(",", ""))
    factor = amount.low / number if number else 1.0
    return float(f"{factor * 10.0 ** -len(written[1] or ''):.12g}")


def accuracy(text: str, kind: str, field: str) -> Accuracy:
    """The Accuracy that ``text`` states for readings of ``kind``; parts are joined by "+".

    Raises InputError, naming ``field``.

    >>> accuracy("2 % + 3 digits", "current", "amps")[:3]
    (0.02, 3.0, 0.0)
    """
    examples = one_of(("2 % + 2 digits", KINDS[kind].example))
    accepted = Message("error.measured.accuracy", examples=examples, most="25 %")
    if not isinstance(text, str):
        raise InputError(field, quoted(text), accepted)
    found = [0.0, 0.0, 0.0]
    for part in text.split("+"):
        place, value = _part(part.strip(), kind, field, accepted)
        found[place] += value
    if not 0 < found[0] + found[1] + found[2] or found[0] > LARGEST_SHARE:
        raise InputError(field, quoted(text), accepted)
    return Accuracy(*found, text.strip())


def _part(part: str, kind: str, field: str, accepted: Message) -> tuple[int, float]:
    """Which of share, digits and fixed part ``part`` is, and its value."""
    for place, pattern, unit in ((0, _SHARE, 0.01), (1, _DIGITS, 1.0)):
        match = pattern.fullmatch(part)
        number = parse_number(match[1]) if match else None
        if number is not None:
            return place, round(unit * number, 12)
    try:
        return 2, read(part, kind, field).mid
    except InputError as error:
        raise InputError(field, error.given, accepted) from None


def stated(kind: str, usual: str):
    """The type of a field that holds an Accuracy for readings of ``kind``; ``usual`` if none."""

    def validate(value, info: ValidationInfo):
        name = info.field_name.removesuffix("_rpm").replace("_", " ")
        return accuracy(value.text if isinstance(value, Accuracy) else value, kind, name)

    return Annotated[Accuracy, PlainValidator(validate)], accuracy(usual, kind, "usual")


_FIELDS = {  # common practice, no source: usual classes of meters in the trade
    "voltage": ("meter_voltage", "1 % + 2 digits"),
    "current": ("meter_current", "2 % + 2 digits"),
    "power": ("meter_power", "3 % + 2 digits"),
    "speed": ("meter_speed", "0.3 % + 2 digits"),
    "temperature": ("temperature_rise", "1.5 K"),
    "shell": ("temperature_rise", "5 K"),
    "resistance": ("resistance", "1 % + 1 digit"),
}
_TYPES = {name: stated(*facts) for name, facts in _FIELDS.items()}


class Meters(Record):
    """Accuracy of the meters that were used; the usual class where nothing is stated.

    ``temperature`` is that of air, ``shell`` that of a motor's outside. Raises InputError for what
    is not written as "2 % + 2 digits".
    """

    voltage: _TYPES["voltage"][0] = _TYPES["voltage"][1]
    current: _TYPES["current"][0] = _TYPES["current"][1]
    power: _TYPES["power"][0] = _TYPES["power"][1]
    speed: _TYPES["speed"][0] = _TYPES["speed"][1]
    temperature: _TYPES["temperature"][0] = _TYPES["temperature"][1]
    shell: _TYPES["shell"][0] = _TYPES["shell"][1]
    resistance: _TYPES["resistance"][0] = _TYPES["resistance"][1]

    @property
    def assumed(self) -> list[str]:
        """The meters whose accuracy nobody stated."""
        return [name for name in type(self).model_fields if name not in self.model_fields_set]
