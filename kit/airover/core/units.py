"""Read and write amounts with units. No other module converts units.

``read`` accepts entries such as "1/3 hp", "208-230 V", "5 5/8 in", "7.5 mfd" or "95 degF" and
returns floats in the SI unit used by the rest of the package. Numbers are parsed with a small
grammar, and units are looked up in the word list for the type of quantity. Input is never evaluated
as code.

Commas are read as follows: "1,075 rpm" is 1075 and "1,4 A" is 1.4. A single comma followed by
exactly three digits is a thousands separator, as in the United States and Mexico, unless the number
begins with 0. Any other single comma is a decimal comma. An ambiguous comma is rejected, and the
error asks the user to clarify it. Examples are "5,625 in" (a motor cannot be 5625 in. long) and
"50,60 Hz" (one or two frequencies). "1.075,5 rpm", with a period as the thousands separator and a
decimal comma, is read as 1075.5.

``show`` writes amounts with thousands separators (except rpm) and without an exponent. No more
digits are written than are significant for the type of quantity.
"""

import math
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from airover.core import cache
from airover.core.errors import InputError, Range, either, one_of, shown
from airover.core.kinds import KINDS
from airover.core.message import Message, Quantity

LONGEST_TEXT = 80
_LARGEST = 1e12  # larger numbers, infinity and NaN are rejected as typed


@dataclass(frozen=True)
class Amount:
    """Amount from ``low`` to ``high`` in ``unit``, with the ``text`` as typed.

    A message shows the amount as typed if its unit belongs to the reader's unit system. Otherwise,
    the amount is converted.
    """

    low: float
    high: float
    unit: str
    text: str
    kind: str = field(default="", compare=False)

    @property
    def mid(self) -> float:
        """Midpoint of the range [``unit``]."""
        return (self.low + self.high) / 2

    @property
    def is_range(self) -> bool:
        """Return True if the amount is a range."""
        return self.high > self.low


FRACTIONS_HP = ("1/20", "1/15", "1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4")
_HP = {text: float(Fraction(text)) for text in FRACTIONS_HP}
_SIGNS = str.maketrans({"\u2013": "-", "\u2014": "-", "\u2212": "-", "\u2044": "/", "\u2019": "'",
                        "\u2032": "'", "\u201d": '"', "\u2033": '"',
                        "\u00ba": "\u00b0"})  # fmt: skip
_GROUPED = r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?![0-9,])"
_POINTED = r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+,[0-9]+(?![0-9.,])"
_COMMA = r"[0-9]*,[0-9]+(?![0-9.]|,[0-9])"
_PLAIN = rf"(?:{_GROUPED}|[0-9]+)(?:\.[0-9]*)?|\.[0-9]+"
_DECIMAL = rf"(?:{_POINTED}|{_GROUPED}\.[0-9]+|{_GROUPED}|{_COMMA}|{_PLAIN})(?:e[+-]?[0-9]+)?"
_FRACTION = r"(?:[0-9]{1,3}(?:\s+|\s*-\s*))?[0-9]{1,3}/[1-9][0-9]{0,2}"
_SINGLE = re.compile(  # most entries
    r"(?P<number>[+-]?(?:[0-9]{1,3}/[1-9][0-9]{0,2}|[0-9]+(?:\.[0-9]+)?))\s*(?P<unit>[a-z\u00b0%]+)"
)
_BETWEEN = r"\s*(?P<to>-|to\b|a\b)\s*"  # "a" is Spanish for "to"
_AMONG = r"\s*(?:,\s|;|or\b|and\b|o\b|y\b|&)\s*"
_UNGROUPED = ("rpm",)  # nameplates and catalogs print 1075 rpm without a comma
_US_ONLY = {
    "inch", "foot", "degF", "delta_degF", "hp", "foot**3/minute", "inH2O", "Btu_it/hour",
    "kiloBtu_it/hour", "ton_of_refrigeration", "pound", "ounce", "foot**3", "pound/foot**3",
    "pound_force", "ounce_force*foot", "pound_force*inch", "pound_force*foot", "thou", "psi",
}  # fmt: skip
_SI_ONLY = {
    "millimeter", "centimeter", "meter", "degC", "delta_degC", "kelvin", "meter**3/hour",
    "meter**3/second", "liter/second", "mmH2O", "pascal", "kilogram", "gram", "meter**3", "liter",
    "kilogram/meter**3", "newton", "newton*meter", "micrometer", "kilopascal",
}  # fmt: skip


def quoted(value: object) -> str | Message:
    """Return ``value`` as one line of at most 60 characters, for an error message."""
    if isinstance(value, int) and abs(value) > 10**50:
        return Message("error.long_number")  # Python does not convert very long integers to text
    text = shown(str(value), 60)
    return f'"{text}"' if isinstance(value, str) else text


def read(text: object, kind: str, field: str, unit: str = "") -> Amount:
    """Read ``text`` as an Amount in the SI unit of ``kind`` (a key of KINDS).

    ``unit`` is added to a number that has no unit, and becomes part of the Amount's text.

    Raises
    ------
    InputError
        If the text is empty or not a number, has no unit or a unit for another type of quantity,
        gives the high value before the low value, has an ambiguous comma, or is outside the
        accepted range. The error names ``field``.

    Examples
    --------
    >>> read("5 5/8 in", "body_length", "body length").mid
    0.142875
    """
    spec, text = KINDS[kind], with_unit(text, kind, unit)
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise InputError(field, _wrong("no_unit", text), accepted_text(kind))
    if not isinstance(text, str):
        raise InputError(field, _wrong("no_text", text), accepted_text(kind))
    found, between = _values(text, kind, field)
    values = [_in_range(number, unit, text, kind, field) for number, unit in found]
    if between and values[0] > values[-1]:
        raise InputError(field, _wrong("high_low", text), accepted_text(kind))
    return Amount(min(values), max(values), spec.unit, text.strip(), kind)


def with_unit(value: object, kind: str, unit: str) -> object:
    """Add ``unit`` to a number or range of ``kind`` that has no unit.

    Any other value is returned unchanged. A percentage from 0 to 1 is also returned unchanged,
    because it may be a fraction.

    >>> with_unit("208-230", "voltage", "V"), with_unit(1075, "speed", "rpm")
    ('208-230 V', '1075 rpm')
    >>> with_unit("1/4 hp", "power", "hp"), with_unit("0.3", "share", "%")
    ('1/4 hp', '0.3')
    """
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not unit or not (isinstance(value, str) or (number and abs(value) < _LARGEST)):
        return value
    if isinstance(value, str) and _single(_plain(value[:LONGEST_TEXT]), kind):
        return value
    text = f"{f'{value:.12g}' if number else value.strip()} {unit}"
    found, _ = _split(_plain(text), kind) if len(text) <= LONGEST_TEXT else ([], False)
    if not found or any(one["unit"] for one in found[:-1]):
        return value
    numbers = [_number(one["number"]) or 0 for one in found]
    return value if unit == "%" and 0 < max(numbers) <= 1 else text


def in_unit(text: str, kind: str, unit: str) -> str:
    """Convert the example ``text`` of ``kind`` to ``unit`` and round it.

    >>> in_unit("22 in", "blade_diameter", "mm"), in_unit("1.9 A", "current", "A")
    ('560 mm', '1.9 A')
    """
    typed, usual = _values(text, kind, kind)[0][0][1], _named(unit, kind, kind)
    if typed == usual:
        return text
    digits = 3 if kind == "shaft_diameter" else 2  # standard sizes are exact: 1/2 in. is 12.7 mm
    value = convert(read(text, kind, kind).mid, kind, unit)
    value = round(value) if "temperature" in kind else value
    return f"{number_text(value, digits).replace(',', '')} {unit}"


def accepted_text(kind: str) -> Message:
    """Return the name, units and an example of ``kind`` for an error message."""
    spec, firsts = KINDS[kind], {}
    for word, name in spec.words.items():
        firsts.setdefault(name, word)
    values = {"kind": Message(f"kind.{spec.name}"), "units": either(firsts.values())}
    return Message("error.amount.accepted", **values, example=Quantity(_example(kind), kind))


def convert(value, kind: str, unit: str):
    """Convert ``value``, a float or array, from the SI unit of ``kind`` to ``unit``.

    Raises
    ------
    InputError
        If the unit is for another type of quantity.

    Examples
    --------
    >>> round(convert(248.5666, "power", "hp"), 4)
    0.3333
    """
    return _pint(value, _si(kind), _named(unit, kind, "unit"))


def coherent(value, kind: str, unit: str, field: str):
    """Convert ``value``, a float or array, from ``unit`` to the SI unit of ``kind``.

    The value is not checked against a range.

    Raises
    ------
    InputError
        If the unit is for another type of quantity. The error names ``field``.
    """
    return _pint(value, _named(unit, kind, field), _si(kind))


def unit_shown(kind: str, system: str = "US", value: float = 0.0) -> tuple[str, int]:
    """Return the display unit of ``kind`` in ``system``, and its number of decimals."""
    spec = KINDS[kind]
    if system == "US" and spec.large and abs(value) >= spec.large[0]:
        return spec.large[1:]
    return spec.us if system == "US" else spec.si


def show(
    value: float,
    kind: str,
    system: str = "US",
    digits: int | None = None,
    unit: tuple[str, int] | None = None,
) -> str:
    """Write ``value`` [SI unit of ``kind``] in the units of ``system`` ("US" or "SI").

    Parameters
    ----------
    value : float
        Value in the SI unit of ``kind``.
    kind : str
        Type of quantity, a key of KINDS.
    system : str, optional
        System of units, "US" or "SI".
    digits : int or None, optional
        Maximum number of decimals, or None for the default of the ``kind``.
    unit : tuple[str, int] or None, optional
        Unit and number of decimals that replace the default of the unit system.

    Raises
    ------
    InputError
        If the value is not finite or the unit system is unknown.

    Examples
    --------
    >>> show(248.6, "power"), show(35.0, "air_temperature"), show(0.25, "length", "SI")
    ('1/3 hp', '95 degF', '250 mm')
    """
    if system not in ("US", "SI"):
        raise InputError("system", quoted(system), one_of(("US", "SI")))
    unit = unit or unit_shown(kind, system, value)
    return f"{show_numbers([value], kind, unit, digits)[0]} {unit[0]}".strip()


def show_numbers(
    values: Sequence[float], kind: str, unit: tuple[str, int], digits: int | None = None
) -> list[str]:
    """Write the limits of a range without their unit, with the same number of decimals.

    A large limit can have fewer decimals because its digits would not be significant. If one of the
    limits cannot be written as a fraction, all of them are written as decimals.

    Parameters
    ----------
    values : Sequence[float]
        Values in the SI unit of ``kind``.
    kind : str
        Type of quantity, a key of KINDS.
    unit : tuple[str, int]
        Displayed unit and its maximum number of decimals.
    digits : int or None, optional
        Maximum number of decimals, or None for the default of the ``kind``.

    Raises
    ------
    InputError
        If a value is not finite.

    Examples
    --------
    >>> show_numbers([149.1, 246.1], "power", ("hp", 3), digits=2)
    ['0.20', '0.33']
    """
    return list(_numbers_shown(tuple(map(float, values)), kind, unit, digits))


@lru_cache(maxsize=20_000)
def _numbers_shown(values: tuple, kind: str, unit: tuple[str, int], digits: int | None):
    for value in values:
        if not math.isfinite(value):
            raise InputError(kind, quoted(value), Message("error.amount.finite"))
    spec, (word, decimals) = KINDS[kind], unit
    numbers = [convert(value, kind, word) for value in values]
    if digits is not None:
        return _alike([(number, digits) for number in numbers], word)
    meant = [_meant(number, spec.rounded) for number in numbers]
    places = [min(decimals, max(spec.significant - _before_point(x), 0)) for x in meant]
    pairs = list(zip(meant, places, strict=True))
    if spec.fractions:
        short = [_fraction(x, word, kind) for x in numbers]
        short = [text or _rounded(*pair, word) for text, pair in zip(short, pairs, strict=True)]
        if not any("." in text for text in short):
            return short
    return _alike(pairs, word)


def as_typed(amount: Amount, kind: str, system: str) -> str:
    """Return ``amount`` as typed if its units belong to ``system``, or "" otherwise.

    A single value is written with the standard name of its unit and with thousands separators. The
    function returns "" if the text has a decimal comma or if more text follows the value, such as
    the "370 V" of a capacitor.

    >>> as_typed(read("5 in.", "length", "x"), "length", "US")
    '5 in'
    >>> as_typed(read("5 in", "length", "x"), "length", "SI")
    ''
    """
    try:
        found, _ = _values(amount.text, kind, "")
    except InputError:
        return ""
    foreign = _SI_ONLY if system == "US" else _US_ONLY | {"delta_degC"}  # a rise in kelvins
    if any(unit in foreign or _has_comma(number) for number, unit in found):
        return ""
    if len(found) > 1:
        return amount.text
    number, unit = found[0]
    word = next(word for word, name in KINDS[kind].words.items() if name == unit)
    usual = unit_shown(kind, system)[0]
    word = usual if _lookup(kind).get(usual.lower().replace(" ", "")) == unit else word
    if re.fullmatch(r"[+-]?[0-9]+(?:\.[0-9]*)?|[+-]?\.[0-9]+", number):
        number = _rounded(float(number), len(number.partition(".")[2]), word, keep_zeros=True)
    return f"{number} {word}"


def number_text(value: float, digits: int = 6, unit: str = "") -> str:
    """Write a number with ``digits`` significant digits and thousands separators.

    ``unit`` is not written, but it determines the format. For example, rpm is written without
    commas. An exponent is used only for values below 1e-9 and values of 1e15 or more.

    >>> number_text(-1640.0), number_text(2e-7), number_text(1234.5678, 2), number_text(1e5)
    ('-1,640', '0.0000002', '1,200', '100,000')
    """
    if not (value == 0 or 1e-9 <= abs(value) < 1e15):
        return f"{value:g}"
    return numbers_text([value], digits, unit)[0]


def numbers_text(values: Sequence[float], digits: int = 6, unit: str = "") -> list[str]:
    """Write the limits of a range as in ``number_text``, with the same number of decimals.

    >>> numbers_text([0.2, 0.33], 2), numbers_text([50, 120.5], 2)
    (['0.20', '0.33'], ['50', '120'])
    """
    if any(value != 0 and not 1e-9 <= abs(value) < 1e15 for value in values):
        return [number_text(value, digits, unit) for value in values]
    rounded = [float(f"{value:.{digits}g}") for value in values]
    return _alike([(x, max(digits - _before_point(x), 0) + _zeros(x)) for x in rounded], unit)


def parse_number(text: str, fractions: bool = False) -> float | None:
    """Parse a number without a sign or unit. Return None for anything else.

    The number format is the same as in ``read``. "1,075" is read as 1075, and the caller must check
    the range.
    """
    number = _number_pattern(fractions).fullmatch(_plain(text))
    return _number(number[0]) if number else None


def decimals_typed(text: str) -> int:
    """Count the digits after the decimal mark of the first number in ``text``.

    >>> decimals_typed("1.85 A"), decimals_typed("1,85 A"), decimals_typed("1,075 rpm")
    (2, 2, 0)
    """
    found = _number_pattern(False).search(_plain(text))
    number = re.sub(rf"^{_GROUPED}", "0", found[0]) if found else ""
    return len(re.split("[e]", re.split("[.,]", number)[-1])[0]) if re.search("[.,]", number) else 0


@lru_cache
def _registry():
    """Return the pint registry, imported on first use because the import takes 0.4 s."""
    import pint

    return pint.UnitRegistry(str(Path(__file__).with_name("units.txt")))


@lru_cache
def _lines() -> dict[tuple[str, str], tuple[float, float]]:
    """Return the factor and offset of every conversion to and from an SI unit.

    The factors and offsets are kept in the cache folder, so that most runs do not import pint. All
    conversions used here are linear.
    """
    units = {(name, _si(kind)) for kind in KINDS for name in KINDS[kind].words.values()}
    pairs = sorted(units | {(target, source) for source, target in units})
    installed = Path(find_spec("pint").origin).stat().st_mtime_ns
    key = cache.key_of(cache.code_hash("core", "core/units.txt"), "units", installed)
    kept = cache.load(key)
    if kept is None:
        offset = [_registry().convert(0.0, *pair) for pair in pairs]
        factor = [_registry().convert(1.0, *pair) - at for pair, at in zip(pairs, offset)]
        kept = {"factor": np.array(factor), "offset": np.array(offset)}
        cache.save(key, **kept)
    return dict(zip(pairs, zip(kept["factor"].tolist(), kept["offset"].tolist())))


def _pint(value, source: str, target: str):
    if source == target:
        return value
    factor, offset = _lines()[source, target]
    return value * factor + offset


def _si(kind: str) -> str:
    """Return the pint name of the SI unit of ``kind``."""
    return KINDS[kind].words.get(KINDS[kind].unit, "dimensionless")


@lru_cache
def _lookup(kind: str) -> dict[str, str]:
    return {word.lower(): name for word, name in KINDS[kind].words.items()}


@lru_cache(maxsize=4096)
def _named(unit: str, kind: str, field: str) -> str:
    """Return the pint name of a typed unit. Raises InputError if ``kind`` has no such unit."""
    word = re.sub(r"[\s.]", "", _plain(unit))
    if word not in _lookup(kind):
        raise InputError(field, _wrong("as_unit", unit), accepted_text(kind))
    return _lookup(kind)[word]


def _plain(text: str) -> str:
    """Return ``text`` in lower case with plain characters, without periods in abbreviations."""
    spaced = re.sub("([\u00bc-\u00be\u2150-\u215e])", r" \1", text)  # single-character fractions
    plain = unicodedata.normalize("NFKC", spaced.translate(_SIGNS)).translate(_SIGNS)
    return re.sub(r"(?<![0-9])\.(?![0-9])", "", plain).strip().lower()


@lru_cache
def _number_pattern(fractions: bool) -> re.Pattern:
    return re.compile(f"{_FRACTION}|{_DECIMAL}" if fractions else _DECIMAL)


@lru_cache
def _value_pattern(kind: str) -> re.Pattern:
    """Return the pattern for a value: a sign, a number and an optional unit of ``kind``."""
    words = sorted(_lookup(kind), key=len, reverse=True)
    units = "|".join(r"\s*".join(map(re.escape, word)) for word in words)
    number = _number_pattern(KINDS[kind].fractions).pattern
    return re.compile(
        rf"(?P<number>[+-]?(?:{number}))\s*(?P<unit>(?:{units})(?![^\s,;/&-]|\s+[0-9]))?"
    )


@lru_cache
def _separator_pattern(kind: str) -> re.Pattern:
    """Return the pattern for a separator. A slash in a fraction is not a separator."""
    spec = KINDS[kind]
    slash = r"|\s*/\s*" if spec.several and not spec.fractions else ""
    return re.compile(_BETWEEN + (f"|{_AMONG}" if spec.several else "") + slash)


def _values(text: str, kind: str, field: str) -> tuple[list[tuple[str, str]], bool]:
    """Return the numbers in ``text`` with their pint units, and True if they form a range."""
    plain = _plain(text[: LONGEST_TEXT + 1])
    found, between = _split(plain, kind) if len(text) <= LONGEST_TEXT else ([], False)
    if not found or any(_number(match["number"]) is None for match in found):
        raise InputError(field, _complaint(text, plain, kind), accepted_text(kind))
    units = [re.sub(r"\s", "", match["unit"] or found[-1]["unit"]) for match in found]
    return [(m["number"], _lookup(kind)[unit]) for m, unit in zip(found, units)], between


def _split(plain: str, kind: str) -> tuple[list[re.Match], bool]:
    """Return the values in ``plain``, and True if they form a range."""
    if single := _single(plain, kind):
        return [single], False
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


def _single(plain: str, kind: str) -> re.Match | None:
    """Return the value in ``plain`` if it is a single number or fraction with a unit."""
    found = _SINGLE.fullmatch(plain)
    readable = found and found["unit"] in _lookup(kind)
    return found if readable and (KINDS[kind].fractions or "/" not in plain) else None


def _number(text: str) -> float | None:
    """Convert a number to float. Return None for an invalid mixed number such as "1 5/4"."""
    *whole, last = re.split(r"(?<=[0-9])[\s-]+", text.strip("+-")) if "/" in text else [text]
    if "/" not in last:
        if _has_comma(last):
            last = last.replace(".", "").replace(",", ".")
        return float(last.replace(",", ""))
    top, bottom = map(int, last.split("/"))
    if whole and top >= bottom:
        return None
    return math.copysign(sum(map(int, whole)) + top / bottom, -1 if text.startswith("-") else 1)


def _has_comma(number: str) -> bool:
    """Return True if the number has a decimal comma."""
    bare = number.strip("+-")
    return "," in bare and not re.match(_GROUPED, bare)


def _unclear_comma(number: str, unit: str, kind: str) -> bool:
    """Return True if the comma in ``number`` of ``unit`` is ambiguous."""
    parts = re.fullmatch("([0-9]+),([0-9]+)", number.strip("+-"))
    if not parts:
        return False
    whole, behind = parts.groups()
    if re.fullmatch(_GROUPED, parts[0]):  # thousands separator, if the amount is in range
        decimal = float(f"{whole}.{behind}")
        clear = behind == "000" or _accepts(_number(number), unit, kind)
        return not clear and _accepts(decimal, unit, kind)
    listed = len(whole) >= 2 and len(behind) >= min(len(whole), 3)
    return (
        KINDS[kind].several
        and listed
        and all(_accepts(float(part), unit, kind) for part in (whole, behind))
    )


def _accepts(number: float, unit: str, kind: str) -> bool:
    low, high, _ = KINDS[kind].accepted
    return low <= _pint(number, unit, _si(kind)) <= high


def _wrong(key: str, given: object) -> Message:
    """Return the error message for an amount, which is quoted as typed."""
    return Message(f"error.amount.{key}", given=quoted(given))


def _complaint(text: str, plain: str, kind: str) -> Message:
    """Return the error message for text that cannot be read."""
    if not plain:
        return Message("error.amount.empty")
    if len(text) > LONGEST_TEXT:
        return Message("error.amount.too_long", count=len(text))
    number = _value_pattern(kind).match(plain)
    if not number:
        return _wrong("not_begun", text)
    if number.end() == len(plain) and not number["unit"]:
        return _wrong("no_unit", text)
    return _wrong("not_number", text)


def _in_range(number: str, unit: str, text: str, kind: str, field: str) -> float:
    """Convert ``number`` from ``unit``, a pint name, to the SI unit of ``kind``.

    Raises
    ------
    InputError
        If the value is outside the accepted range.
    """
    if _unclear_comma(number, unit, kind):
        accepted = Message("error.amount.no_comma", accepted=accepted_text(kind))
        raise InputError(field, _wrong("comma", text), accepted)
    value = _number(number)
    if math.isfinite(value):  # round to twelve digits so that 95 degF is exactly 35 degC
        value = float(f"{_pint(value, unit, _si(kind)):.12g}")
    low, high, _ = KINDS[kind].accepted
    if low <= value <= high:
        return value
    raise InputError(field, quoted(text), _accepted(kind, unit))


def _accepted(kind: str, unit: str) -> Range:
    """Return the accepted range in the typed ``unit``, rounded inward to three digits."""
    accepted = KINDS[kind].accepted
    if unit == _si(kind) or kind == "duration":
        return accepted
    low, high = (_pint(value, _si(kind), unit) for value in accepted[:2])
    word = next(word for word, name in KINDS[kind].words.items() if name == unit)
    return Range(_inward(low, math.ceil), _inward(high, math.floor), word)


def _inward(value: float, way) -> float:
    """Round ``value`` to three significant digits with a function such as `math.floor`."""
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2) if value else 1.0
    return float(f"{way(round(value / step, 6)) * step:.12g}")


@lru_cache
def _example(kind: str) -> Amount:
    return read(KINDS[kind].example, kind, kind)


def _before_point(number: float) -> int:
    """Return the number of digits before the decimal point, or 0 for numbers below 1."""
    return len(str(int(abs(number)))) if abs(number) >= 1 else 0


def _zeros(number: float) -> int:
    """Return the number of zeros directly after the decimal point of a number below 1."""
    return max(-math.floor(math.log10(abs(number))) - 1, 0) if number else 0


def _meant(number: float, digits: int) -> float:
    """Return ``number`` with at most ``digits`` nonzero digits before the decimal point."""
    beyond = _before_point(number) - digits
    return round(number, -beyond) if beyond > 0 else number


def _alike(numbers: list[tuple[float, int]], unit: str) -> list[str]:
    """Write ``numbers``, each with its maximum number of decimals.

    Trailing zeros are written only in places where another number has a digit.
    """
    short = [_rounded(number, decimals, unit) for number, decimals in numbers]
    if len(set(short)) == 1:
        return short
    most = max(len(text.partition(".")[2]) for text in short)
    return [
        text if text == "0" else _rounded(number, min(decimals, most), unit, keep_zeros=True)
        for text, (number, decimals) in zip(short, numbers, strict=True)
    ]


def _rounded(number: float, decimals: int, unit: str = "", keep_zeros: bool = False) -> str:
    """Return ``number`` with at most ``decimals`` decimals and with thousands separators."""
    text = f"{number:.{decimals}f}" if unit in _UNGROUPED else f"{number:,.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text and not keep_zeros else text
    return "0" if text == "-0" else text


def _fraction(number: float, unit: str, kind: str) -> str:
    """Return ``number`` as a common fraction, or "" if no fraction is close enough.

    Horsepower ratings must match within 1 %. Lengths of 1 in. or more are rounded to the nearest
    1/16 in., as on a tape measure. Shaft sizes and shorter lengths must match within 0.005 in.
    """
    if unit == "hp":
        near = (text for text, value in _HP.items() if abs(number / value - 1) < 0.01)
        return next(near, "")
    sixteenths = round(number * 16)
    taped = kind != "shaft_diameter" and number >= 1
    if unit != "in" or not sixteenths or not (taped or abs(number - sixteenths / 16) <= 0.005):
        return ""
    whole, rest = divmod(sixteenths, 16)
    part = str(Fraction(rest, 16)) if rest else ""
    return f"{whole or ''} {part}".strip()
