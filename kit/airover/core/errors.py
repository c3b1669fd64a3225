"""Exception for invalid input, and the accepted ranges of physical arguments.

The ranges are narrow enough to catch common unit mistakes, such as K instead of degC, hPa instead
of Pa, hp instead of W, or mm instead of m.
"""

import unicodedata
from importlib import import_module
from typing import NamedTuple

import numpy as np

from airover.core.message import Message

NOTHING = Message("error.nothing")  # given value in the error for a missing required field
LONGEST = 300  # maximum characters of a field name or given value in an error


class InputError(ValueError):
    """Exception raised for an invalid value.

    The exception message is always a single line in English. `airover.core.texts.Writer.error`
    writes the message in the reader's language.

    Attributes
    ----------
    field : str or Message
        Name of the field.
    given : object
        Rejected value, in ``unit``.
    accepted : Range, Message or str
        Accepted values.
    others : tuple[InputError, ...]
        Further errors in the same record.
    """

    others: tuple["InputError", ...] = ()

    def __init__(self, field: str | Message, given: object, accepted: object, unit: str = ""):
        super().__init__(field, given, accepted, unit)
        self.field = shown(field) if isinstance(field, str) else field
        self.given = given
        self.accepted = accepted
        self.unit = unit

    def __str__(self) -> str:
        # Imported here because texts imports this module. It is needed only to print the error.
        return import_module("airover.core.texts").Writer("en").error(self)

    def __reduce__(self):
        return type(self), (self.field, self.given, self.accepted, self.unit)

    def alone(self) -> "InputError":
        """Return the same error without its traceback, its cause and the other errors."""
        return InputError(self.field, self.given, self.accepted, self.unit)

    def within(self, place: str | Message, key: str = "error.part") -> "InputError":
        """Return the same error with ``place`` added to the name of each field."""
        field = Message(key, place=place, field=self.field)
        placed = InputError(field, self.given, self.accepted, self.unit)
        return with_others(placed, *(other.within(place, key) for other in self.others))


def with_others(first: InputError, *others: InputError) -> InputError:
    """Return ``first`` with the ``others`` attached. Python displays them as notes."""
    first.others = others
    for other in others:
        first.add_note(str(other))
    return first


def part(place: str | Message, name: str) -> Message:
    """Return the display name of a field in a table, line or file."""
    return Message("error.part", place=place, field=name)


def either(words) -> Message | str:
    """Return the allowed ``words`` as "a, b or c", or "" for an empty list."""
    *others, last = [str(word) for word in words] or [""]
    return Message("error.either", words=", ".join(others), last=last) if others else last


def one_of(words) -> Message | str:
    """Return the allowed ``words``, each in quotes."""
    return either([f'"{word}"' for word in words])


def shown(text: str, longest: int = LONGEST) -> str:
    """Return ``text`` as one line of at most ``longest`` characters, without control characters."""
    shown = text if len(text) <= longest else f"{text[:longest]}..."
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in shown)


def is_plain(text: str) -> bool:
    """Return True if ``text`` has no control characters, which can corrupt the terminal display."""
    return all(c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs") for c in text)


def without_direction_marks(text: str) -> str:
    """Return ``text`` without the invisible characters that reverse the text direction.

    These characters can make one name look like another.
    """
    return text.translate(_DIRECTION_MARKS)


_DIRECTION_MARKS = dict.fromkeys(
    (0x61C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A))
)


class Range(NamedTuple):
    """Range of accepted values [``unit``] from ``low`` to ``high``, inclusive."""

    low: float
    high: float
    unit: str


RATIO = Range(0.0, 1.0, "")
TEMP_AIR = Range(-60.0, 90.0, "degC")
TEMP_WINDING = Range(-60.0, 400.0, "degC")
TEMP_BEARING = Range(-40.0, 150.0, "degC")
ELEVATION = Range(-500.0, 6000.0, "m")
PRESSURE_AIR = Range(40e3, 110e3, "Pa")
DENSITY = Range(0.4, 2.0, "kg/m3")
FLOW = Range(0.0, 20.0, "m3/s")
PRESSURE_FAN = Range(-100.0, 2000.0, "Pa")
SHAFT_POWER = Range(0.0, 5000.0, "W")
SPEED_RPM = Range(1.0, 5000.0, "rpm")
VOLTAGE = Range(1.0, 1000.0, "V")
FREQUENCY = Range(10.0, 120.0, "Hz")
SLIP = Range(-1.0, 3.0, "")
AIR_SPEED = Range(0.05, 40.0, "m/s")
DIAMETER = Range(0.01, 2.0, "m")
MASS = Range(0.0, 100.0, "kg")


def array_of(shape: tuple[int, ...]) -> Message:
    """Describe an array that was passed instead of a single number."""
    return Message("error.physics.array", shape=str(shape))


def check(field: str, value, accepted: Range) -> np.ndarray:
    """Check ``value`` (a scalar or an array of any shape) and return it as an array of floats.

    Raises
    ------
    InputError
        If a value is not a number or is outside the ``accepted`` range. The error names the field
        and the first invalid value.
    """
    if isinstance(value, float) and accepted.low <= value <= accepted.high:
        return np.asarray(value)
    try:
        values = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise InputError(field, repr(value), accepted) from None
    if values.size == 0 or (
        _least(values, axis=None) >= accepted.low and _greatest(values, axis=None) <= accepted.high
    ):
        return values
    good = (values >= accepted.low) & (values <= accepted.high)
    worst = values[~good].flat[0] if values.ndim else values[()]
    raise InputError(field, float(worst), accepted, accepted.unit)


_least, _greatest = np.minimum.reduce, np.maximum.reduce  # NaN if any value is NaN
