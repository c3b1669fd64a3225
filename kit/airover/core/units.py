"""Amounts as people write them, and back: the only place where units are converted.

``read`` takes "1/3 hp", "208-230 V", "5 5/8 in", "7.5 mfd" or "95 degF" and returns floats in the
unit that the rest of the kit uses. A number is read by the small grammar below, its unit is
looked up among the words of its kind; nothing that was typed is ever evaluated.

A comma groups thousands ("1,075 rpm") and nothing else: a decimal comma ("7,5 uF") is rejected,
since "1,075" could then mean two amounts.
"""

import math
import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

from airover.core.errors import InputError, Range, one_of, shown
from airover.core.kinds import KINDS
from airover.core.message import Message

LONGEST_TEXT = 80


@dataclass(frozen=True)
class Amount:
    """A typed amount: from ``low`` to ``high`` in ``unit``, and the ``text`` itself."""

    low: float
    high: float
    unit: str
    text: str

    @property
    def mid(self) -> float:
        """Middle of the range, in ``unit``."""
        return (self.low + self.high) / 2

    @property
    def is_range(self) -> bool:
        """True when more than one value was typed."""
        return self.high > self.low


FRACTIONS_HP = ("1/20", "1/15", "1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4")
_SIGNS = str.maketrans({"\u2013": "-", "\u2014": "-", "\u2212": "-", "\u2044": "/", "\u2019": "'",
                        "\u2032": "'", "\u201d": '"', "\u2033": '"',
                        "\u00ba": "\u00b0"})  # fmt: skip
_GROUPED = r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9,])"
_DECIMAL = rf"(?:{_GROUPED}|[0-9]+)(?:\.[0-9]*)?(?:e[+-]?[0-9]+)?|\.[0-9]+(?:e[+-]?[0-9]+)?"
_FRACTION = r"(?:[0-9]{1,3}(?:\s+|\s*-\s*))?[0-9]{1,3}/[1-9][0-9]{0,2}"
_BETWEEN = r"\s*(?P<to>-|to\b)\s*"
_AMONG = r"\s*(?:,\s|;|or\b|and\b|&)\s*"


def quoted(value: object) -> str | Message:
    """``value`` as an error shows it: one line, at most 60 characters."""
    if isinstance(value, int) and abs(value) > 10**50:
        return Message("error.long_number")  # Python refuses to write out very long ones
    text = shown(str(value), 60)
    return f'"{text}"' if isinstance(value, str) else text


def read(text: object, kind: str, field: str) -> Amount:
    """The Amount that ``text`` tells, in the SI unit of ``kind`` (a key of KINDS).

    ``field`` is named in the InputError that is raised for text that is empty, not a number, has
    no unit or another kind's, puts high before low, or lies outside the accepted range.

    >>> read("5 5/8 in", "body_length", "body length").mid
    0.142875
    """
    spec = KINDS[kind]
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise InputError(field, _wrong("no_unit", text), spec.described())
    if not isinstance(text, str):
        raise InputError(field, _wrong("no_text", text), spec.described())
    found, between = _values(text, kind, field)
    values = [_in_range(_number(number), unit, text, kind, field) for number, unit in found]
    if between and values[0] > values[-1]:
        raise InputError(field, _wrong("high_low", text), spec.described())
    return Amount(min(values), max(values), spec.unit, text.strip())


def convert(value, kind: str, unit: str):
    """``value`` (float or array) of ``kind`` from its SI unit to ``unit``, as people write it.

    Raises InputError for a unit of another kind.

    >>> round(convert(248.5666, "power", "hp"), 4)
    0.3333
    """
    return _pint(value, _si(kind), _named(unit, kind, "unit"))


def coherent(value, kind: str, unit: str, field: str):
    """``value`` (float or array) in ``unit``, as people write it, to the SI unit of ``kind``.

    Raises InputError, naming ``field``, for a unit of another kind. No range is checked.
    """
    return _pint(value, _named(unit, kind, field), _si(kind))


def show(value: float, kind: str, system: str = "US", digits: int | None = None) -> str:
    """``value`` [SI unit of ``kind``] as people of ``system`` ("US" or "SI") read it.

    ``digits`` after the point at most; None takes the kind's own. Raises InputError when the value
    is not finite or the system unknown.

    >>> show(248.6, "power"), show(35.0, "air_temperature"), show(0.25, "length", "SI")
    ('1/3 hp', '95 degF', '250 mm')
    """
    if system not in ("US", "SI"):
        raise InputError("system", quoted(system), one_of(("US", "SI")))
    if not math.isfinite(value):
        raise InputError(kind, quoted(value), Message("error.amount.finite"))
    unit, decimals = KINDS[kind].us if system == "US" else KINDS[kind].si
    number = convert(float(value), kind, unit)
    fraction = _fraction(number, unit) if digits is None else ""
    return f"{fraction or _rounded(number, decimals if digits is None else digits)} {unit}".strip()


def parse_number(text: str, fractions: bool = False) -> float | None:
    """The number that ``text`` is, without sign and unit, by the grammar of ``read``; or None."""
    number = _number_pattern(fractions).fullmatch(_plain(text))
    return _number(number[0]) if number else None


@lru_cache
def _registry():
    """The one registry of pint, imported on first need: it costs a fifth of a second."""
    import pint

    return pint.UnitRegistry(str(Path(__file__).with_name("units.txt")))


@lru_cache
def _line(source: str, target: str) -> tuple[float, float]:
    """Factor and offset from one unit to another: pint is slow, and all its lines are straight."""
    offset = _registry().convert(0.0, source, target)
    return _registry().convert(1.0, source, target) - offset, offset


def _pint(value, source: str, target: str):
    if source == target:
        return value
    factor, offset = _line(source, target)
    return value * factor + offset


def _si(kind: str) -> str:
    """The name in pint of the SI unit of ``kind``."""
    return KINDS[kind].words.get(KINDS[kind].unit, "dimensionless")


@lru_cache
def _lookup(kind: str) -> dict[str, str]:
    return {word.lower(): name for word, name in KINDS[kind].words.items()}


def _named(unit: str, kind: str, field: str) -> str:
    """The name in pint of ``unit`` as people write it; InputError if ``kind`` has no such unit."""
    word = re.sub(r"[\s.]", "", _plain(unit))
    if word not in _lookup(kind):
        raise InputError(field, _wrong("as_unit", unit), KINDS[kind].described())
    return _lookup(kind)[word]


def _plain(text: str) -> str:
    """``text`` in lower case and plain characters, without the dots of abbreviations."""
    spaced = re.sub("([\u00bc-\u00be\u2150-\u215e])", r" \1", text)  # one-character fractions
    plain = unicodedata.normalize("NFKC", spaced.translate(_SIGNS)).translate(_SIGNS)
    return re.sub(r"(?<![0-9])\.(?![0-9])", "", plain).strip().lower()


@lru_cache
def _number_pattern(fractions: bool) -> re.Pattern:
    return re.compile(f"{_FRACTION}|{_DECIMAL}" if fractions else _DECIMAL)


@lru_cache
def _value_pattern(kind: str) -> re.Pattern:
    """One value: a sign, a number and perhaps a unit of ``kind``."""
    words = sorted(_lookup(kind), key=len, reverse=True)
    units = "|".join(r"\s*".join(map(re.escape, word)) for word in words)
    number = _number_pattern(KINDS[kind].fractions).pattern
    return re.compile(rf"(?P<number>[+-]?(?:{number}))\s*(?P<unit>(?:{units})(?![^\s,;/&-]))?")


@lru_cache
def _separator_pattern(kind: str) -> re.Pattern:
    """Pattern between values; a slash only where it does not write a fraction."""
    spec = KINDS[kind]
    slash = r"|\s*/\s*" if spec.several and not spec.fractions else ""
    return re.compile(_BETWEEN + (f"|{_AMONG}" if spec.several else "") + slash)


def _values(text: str, kind: str, field: str) -> tuple[list[tuple[str, str]], bool]:
    """The numbers in ``text``, each with its unit's name in pint, and whether they are a range."""
    plain = _plain(text[: LONGEST_TEXT + 1])
    found, between = _split(plain, kind) if len(text) <= LONGEST_TEXT else ([], False)
    if not found or any(_number(match["number"]) is None for match in found):
        raise InputError(field, _complaint(text, plain, kind), KINDS[kind].described())
    units = [re.sub(r"\s", "", match["unit"] or found[-1]["unit"]) for match in found]
    return [(m["number"], _lookup(kind)[unit]) for m, unit in zip(found, units)], between


def _split(plain: str, kind: str) -> tuple[list[re.Match], bool]:
    """The values in ``plain`` and whether they are the ends of a range; nothing if unreadable."""
    value, separator = _value_pattern(kind), _separator_pattern(kind)
    found, between, place = [], False, 0
    while match := value.match(plain, place):
        found.append(match)
        if match.end() == len(plain):
            readable = match["unit"] and not (between and len(found) > 2)
            return (found, between) if readable else ([], False)
        gap = separator.match(plain, match.end())
        if not gap:
            break
        between, place = between or bool(gap["to"]), gap.end()
    return [], False


def _number(text: str) -> float | None:
    """The float that a number of the grammar writes; None for a mixed number such as "1 5/4"."""
    *whole, last = re.split(r"(?<=[0-9])[\s-]+", text.strip("+-")) if "/" in text else [text]
    if "/" not in last:
        return float(last.replace(",", ""))
    top, bottom = map(int, last.split("/"))
    if whole and top >= bottom:
        return None
    return math.copysign(sum(map(int, whole)) + top / bottom, -1 if text.startswith("-") else 1)


def _wrong(key: str, given: object) -> Message:
    """Error for a text that was ``given`` for an amount."""
    return Message(f"error.amount.{key}", given=quoted(given))


def _complaint(text: str, plain: str, kind: str) -> Message:
    """Complaint about a text that could not be read."""
    if not plain:
        return Message("error.amount.empty")
    if len(text) > LONGEST_TEXT:
        return Message("error.amount.too_long", count=len(text))
    if re.search(r"[0-9],[0-9]", re.sub(rf"(?<![0-9,.]){_GROUPED}", "0", plain)):
        return _wrong("decimal_comma", text)
    number = _value_pattern(kind).match(plain)
    if not number:
        return _wrong("not_begun", text)
    if number.end() == len(plain) and not number["unit"]:
        return _wrong("no_unit", text)
    return _wrong("not_number", text)


def _in_range(number: float, unit: str, text: str, kind: str, field: str) -> float:
    """``number`` of ``unit`` (its name in pint) in the SI unit of ``kind``, or InputError."""
    # twelve digits: 95 degF is 35 degC, without noise in the last bits
    value = float(f"{_pint(number, unit, _si(kind)):.12g}") if math.isfinite(number) else number
    low, high, _ = KINDS[kind].accepted
    if low <= value <= high:
        return value
    raise InputError(field, quoted(text), _accepted(kind, unit))


def _accepted(kind: str, unit: str) -> Range | Message:
    """The accepted range, once more in the ``unit`` that was typed where that is another one."""
    accepted = KINDS[kind].accepted
    if unit == _si(kind):
        return accepted
    low, high = (f"{_pint(value, _si(kind), unit):.4g}" for value in accepted[:2])
    word = next(word for word, name in KINDS[kind].words.items() if name == unit)
    return Message("error.amount.range", range=accepted, low=low, high=high, unit=word)


def _rounded(number: float, decimals: int) -> str:
    """``number`` with at most ``decimals`` after the point and no trailing zeros."""
    text = f"{number:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def _fraction(number: float, unit: str) -> str:
    """``number`` as a usual fraction: of a horsepower within 1 %, of an inch within 0.005 in."""
    if unit == "hp":
        near = (text for text in FRACTIONS_HP if abs(number / _number(text) - 1) < 0.01)
        return next(near, "")
    sixteenths = round(number * 16)
    if unit != "in" or not sixteenths or abs(number - sixteenths / 16) > 0.005:
        return ""
    whole, rest = divmod(sixteenths, 16)
    part = str(Fraction(rest, 16)) if rest else ""
    return f"{whole or ''} {part}".strip()
