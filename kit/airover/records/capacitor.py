"""A run capacitor as it is marked or measured: one value, or the two values of a dual capacitor.

A dual run capacitor has two sections in one can with three terminals: C (common), FAN and HERM.
The smaller value is the fan motor's section, the larger one the compressor's (common practice, no
source). Both "45/5 uF" and "45+5 MFD 440 V" are read; what was typed is kept.
"""

import re
from dataclasses import dataclass, replace

from airover.errors import InputError
from airover.message import Message
from airover.records.fields import read_by
from airover.units import LONGEST_TEXT, Amount, quoted, read, show

_VOLTS = re.compile(
    r"[\s,x@]*\b(?P<volts>[0-9]{3}(?:\s*[/-]\s*[0-9]{3})?\s*V(?:AC)?)\.?\s*$", re.IGNORECASE
)
_TOLERANCE = re.compile(r"\s*,?\s*(?:\+/-|\+-|\u00b1)\s*[0-9.]+\s*%")
_NUMBER, _UNIT = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+", r"[a-z\u00b5\u03bc]*"
_DUAL = re.compile(
    rf"\s*(?P<one>{_NUMBER})\s*(?P<unit>{_UNIT})\s*(?:[/+&]|\band\b)\s*(?P<other>{_NUMBER})\s*"
    rf"(?P<last>{_UNIT})\.?\s*",
    re.IGNORECASE,
)
_ZERO = re.compile(r"0+(?:\.0*)?|\.0+")


@dataclass(frozen=True)
class RunCapacitor(Amount):
    """A run capacitor's capacitance [F] for the fan motor, with the text that was typed.

    ``compressor`` [F] is the other section of a dual capacitor, None for a single capacitor.
    """

    compressor: float | None = None

    @property
    def is_dual(self) -> bool:
        """True for a capacitor that the compressor uses too."""
        return self.compressor is not None

    @property
    def fan_text(self) -> str:
        """The fan motor's capacitance as people write it."""
        return show(self.mid, "capacitance") if self.is_dual else self.text

    @property
    def compressor_text(self) -> str:
        """The compressor's capacitance as people write it, "" for a single capacitor."""
        return show(self.compressor, "capacitance") if self.is_dual else ""


def read_capacitor(text: object, field: str, kind: str = "capacitance") -> RunCapacitor:
    """Read a run capacitor's marking or reading, ``kind`` "capacitance" or "meter_capacitance".

    Two values are taken for a dual capacitor; microfarads are understood where two values have no
    unit. A rated voltage or a tolerance behind the value is left to `marked_voltage`. Raises
    InputError, which names ``field``, for what cannot be read.

    >>> dual = read_capacitor("45/5 MFD 440V", "capacitor")
    >>> dual.fan_text, dual.compressor_text
    ('5 uF', '45 uF')
    """
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        return _single(read(text, kind, field))
    bare = _TOLERANCE.sub("", _VOLTS.sub("", text))
    dual = _DUAL.fullmatch(bare)
    if dual is None:
        return _single(replace(read(bare or text, kind, field), text=text.strip()))
    last = dual["last"] or dual["unit"] or "uF"
    unit = dual["unit"] or last
    try:
        fan, compressor = sorted(
            read(f"{number} {word}", kind, field).mid
            for number, word in ((dual["one"], unit), (dual["other"], last))
        )
    except InputError as error:
        accepted = Message("error.amount.dual", accepted=error.accepted, example="45/5 uF")
        raise InputError(field, quoted(text), accepted) from None
    return RunCapacitor(fan, fan, "F", text.strip(), compressor)


def _single(amount: Amount) -> RunCapacitor:
    return RunCapacitor(amount.low, amount.high, amount.unit, amount.text)


def marked_voltage(text: object) -> str | None:
    """The rated voltage that stands behind a capacitor's value, such as "440V", or None.

    Of two voltages, "370/440 V", the higher one is the capacitor's rating.
    """
    text = text.text if isinstance(text, Amount) else text
    found = _VOLTS.search(text) if isinstance(text, str) and len(text) <= LONGEST_TEXT else None
    if found is None or found.start() == 0:
        return None
    return f"{max(re.findall('[0-9]{3}', found['volts']))} V"


def capacitor_field():
    """The type of a field that holds a run capacitor's marking, or nothing."""
    return read_by(lambda value, field: read_capacitor(_typed(value), field))


def capacitor_reading():
    """The type of a field that holds what a meter showed on a run capacitor, or nothing.

    Zero, with or without a unit, is a reading: a capacitor that has failed open shows it.
    """

    def validate(value, field: str) -> RunCapacitor:
        typed = _typed(value)
        zero = type(typed) in (int, float) and typed == 0
        if zero or (isinstance(typed, str) and _ZERO.fullmatch(typed.strip())):
            return RunCapacitor(0.0, 0.0, "F", "0 uF")
        return read_capacitor(typed, field, "meter_capacitance")

    return read_by(validate)


def _typed(value):
    return value.text if isinstance(value, Amount) else value
