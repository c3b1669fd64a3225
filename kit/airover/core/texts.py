"""Messages in the reader's language, read from one folder of TOML files per language.

To add a language, add a folder. All languages have the same files and keys, and each message has
the same placeholders in every language. Each table appears in only one file. Tests check these
rules.
"""

import datetime
import json
import re
from collections.abc import Iterator
from functools import lru_cache
from math import inf

import numpy as np

from airover.core import cache
from airover.core.errors import InputError, Range, either, one_of, shown
from airover.core.files import LANGUAGES, TEXTS, read_text
from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.message import Estimate, Message, Money, Quantity, Word
from airover.core.toml import LARGEST_FILE, toml_table
from airover.core.units import (
    Amount,
    as_typed,
    convert,
    number_text,
    numbers_text,
    quoted,
    show,
    show_numbers,
    unit_shown,
)

PLACE = re.compile(r"\{([a-z_]+)\}")
NO_BREAK = "\u00a0"
# Typographic symbols for units in print. A terminal uses plain letters.
_SIGNS = (
    ("degF", "°F"),
    ("degC", "°C"),
    ("m3/s", "m³/\u2060s"),
    ("m3/h", "m³/\u2060h"),
    ("uF", "µF"),
    ("+-", "±"),
    ("W/m2", "W/\u2060m²"),
)
LONGEST_YEARS = 40  # years; a longer life is written as "more than"


def _two_digits(value: float) -> str:
    return number_text(value, 2)


def _years_of_life(value: float) -> str:
    return "<1" if value < 0.5 else f">{LONGEST_YEARS}" if value > LONGEST_YEARS else f"{value:.0f}"


# Factor and format for quantities that have no unit and no type in `kinds`.
FIGURES = {
    "percent": (100, "{:.0f} %".format),
    "times": (1, "{:.2f}".format),
    "count": (1, "{:,.0f}".format),
    "rpm": (1, "{:.0f}".format),
    "difference": (1, "{:+.0f}".format),
    "amps": (1, "{:.2f} A".format),
    "watts": (1, "{:,.0f} W".format),
    "kwh": (1, lambda value: f"{_two_digits(value)} kWh"),
    "irradiance": (1, "{:.0f} W/m2".format),
    "two_digits": (1, _two_digits),
    "years": (1, _years_of_life),
}
_DIGITS = {"temperature": 0, "air_temperature": 0}  # tenths of a degree are not significant


class Texts:
    """Message strings in a ``language`` from LANGUAGES.

    Raises
    ------
    InputError
        If the language is not in LANGUAGES.

    Examples
    --------
    >>> Texts("en")("limit.least", value="5 A")
    'at least 5 A'
    """

    def __init__(self, language: str):
        if language not in LANGUAGES:
            raise InputError("language", quoted(language), either(LANGUAGES))
        self.language = language

    @property
    def texts(self) -> dict[str, str]:
        """All strings by key, read from the files on first use."""
        return _catalog(self.language)

    def __call__(self, key: str, **values) -> str:
        """Return the ``key`` string with its placeholders filled in. Braces in a value are kept.

        Raises
        ------
        KeyError
            If a key or a value is missing. This is a programming error, not bad input.
        """
        return PLACE.sub(lambda place: str(values[place[1]]), self.texts[key])

    def has(self, key: str) -> bool:
        return key in self.texts

    def below(self, key: str) -> list[str]:
        """Return the strings in the table ``key``, in file order."""
        return [text for name, text in self.texts.items() if name.startswith(f"{key}.")]

    def word(self, word: str) -> str:
        """Translate a word from a list of choices. Any other word is returned unchanged."""
        return self.texts.get(f"word.{word}", word)

    def words(self, words) -> str:
        """Translate several words and join them with commas."""
        return ", ".join(self.word(word) for word in words)

    def date(self, date: datetime.date) -> str:
        month = self(f"month.{date.month}")
        return self("date", day=date.day, month=month, year=date.year)


class Writer:
    """Message writer for a ``language`` and a unit ``system`` ("US" or "SI").

    If ``signs`` is True, units are written with typographic symbols and are kept on the same line
    as the number.

    Raises
    ------
    InputError
        If the language or the unit system is unknown.

    Examples
    --------
    >>> Writer("en")(Message("limit.least", value=Quantity(0.127, "length")))
    'at least 5 in'
    """

    def __init__(self, language: str = "en", system: str = "US", signs: bool = False):
        self.texts = Texts(language)
        if system not in ("US", "SI"):
            raise InputError("system", quoted(system), one_of(("US", "SI")))
        self.language, self.system, self.signs = language, system, signs

    @property
    def in_english(self) -> "Writer":
        """Return a Writer for JSON, in English with the same units and no typographic symbols."""
        return Writer("en", self.system)

    @property
    def for_print(self) -> "Writer":
        """Return the same Writer with typographic symbols."""
        return Writer(self.language, self.system, signs=True)

    def __call__(self, message: Message | str, **values) -> str:
        """Write a message, or the string for a key with ``values`` filled in.

        Raises
        ------
        KeyError
            If a key or a value is missing. This is a programming error.
        """
        if isinstance(message, str):
            message = Message(message, **values)
        used = _places(self.texts.texts[message.key])  # a check can have unused values
        shown = {name: self.value(value) for name, value in message.values.items() if name in used}
        return self.texts(message.key, **shown)

    def value(self, value) -> str:
        """Write the value of a placeholder, which can be of any type."""
        match value:
            case Message():
                return self(value)
            case InputError():
                return self.error(value)
            case Quantity():
                return self.amount(*value)
            case Amount():
                return self.amount(value, value.kind) if value.kind else value.text
            case Estimate():
                return self.about(*value)
            case Money():
                return self.money(*value)
            case Word():
                return self.texts.word(value.word)
            case Range(unit="month"):
                return self.duration(value.low, value.high)
            case Range() if value.high == inf:
                least = f"{number_text(value.low)} {value.unit}".strip()
                return self("limit.or_more", value=least)
            case Range():
                low, high = (number_text(end, unit=value.unit) for end in value[:2])
                return self("limit.range", low=low, high=high, unit=value.unit).strip()
            case datetime.date():
                return self.texts.date(value)
            case None:
                return self.texts.word("unknown")
            case list() | tuple():
                return ", ".join(map(self.value, value))
        return number_text(value) if isinstance(value, float) else str(value)

    def amount(self, value, kind: str, digits: int | None = None) -> str:
        """Write a number of ``kind`` with its unit, or a Band as "low to high".

        An Amount is written as typed if its unit belongs to the reader's unit system.
        """
        if value is None:
            return self.texts.word("unknown")
        if kind == "duration":
            ends = (value.low, value.high) if isinstance(value, Band | Amount) else (value, value)
            return self.duration(*ends)
        if isinstance(value, Amount):
            typed = as_typed(value, kind, self.system) if value.text and digits is None else ""
            return self.set(typed) if typed else self.range(value.low, value.high, kind, digits)
        if isinstance(value, Band):
            return self.range(value.low, value.high, kind, digits)
        return self.range(value, value, kind, digits)

    def range(self, low, high, kind: str, digits: int | None = None) -> str:
        """Write the limits of a range, or a single value if both limits round to the same text."""
        ends = self._shown((low,) if low == high else (low, high), kind, digits)
        first, last = ends[0], ends[-1]
        text = self.set(last)
        if first != last:
            number, _, word = first.rpartition(" ")
            shared = number if word and last.endswith(f" {word}") else first
            text = self.texts("to", low=self.set(shared), high=text)
        beside = self._beside(kind)
        if not beside:
            return text
        ends = _span(show_numbers((low, high), kind, beside))
        return f"{text} ({self.set(f'{ends} {beside[0]}')})"

    def about(self, value, kind: str) -> str:
        """Write a number or a Band with two significant digits: "0.18-0.29 hp"."""
        ends = (value.low, value.high) if isinstance(value, Band) else (value,)
        numbers = numbers_text([self.number(float(x), kind) for x in ends], 2)
        return self.set(f"{_span(numbers)} {self.unit(kind)}")

    def unit(self, kind: str) -> str:
        """Return the unit of ``kind`` (a key of KINDS) in the reader's unit system."""
        return unit_shown(kind, self.system)[0]

    def number(self, value, kind: str):
        """Convert a number or array of ``kind`` to the reader's unit, for example for a plot."""
        return convert(value, kind, self.unit(kind))

    def estimate(self, band: Band, kind: str, digits: int | None = None) -> str:
        """Write the median of a Band and its 90 % range: "1.71 A (1.61-1.78)".

        If ``kind`` has a second unit, the result is "0.27 hp / 198 W (0.20-0.33 hp)".
        """
        unit = self._unit_of(kind, *band)
        word = unit[0]
        if digits is None:
            low, mid, high = (one.removesuffix(f" {word}") for one in self._shown(band, kind))
        else:
            low, mid, high = (f"{convert(x, kind, word):,.{digits}f}" for x in band)
        if beside := self._beside(kind):
            second = show(float(band.mid), kind, "SI", unit=beside)
            return self.set(f"{mid} {word} / {second} ({_span([low, high])} {word})")
        return self.set(f"{mid} {word} ({_span([low, high])})")

    def money(self, value, currency: str = "", digits: int = 3) -> str:
        """Write an amount of money or a Band with at most ``digits`` significant digits.

        >>> Writer().money(1766.2, "USD"), Writer().money(-0.25, "USD")
        ('1,770 USD', '-0.25 USD')
        """
        if isinstance(value, Band | Amount):
            low, high = numbers_text((value.low, value.high), digits)
            text = low if low == high else self.texts("to", low=low, high=high)
        else:
            text = number_text(value, digits)
        return text + self.set(f" {currency}") if currency else text

    def price(self, amount: float, currency: str, cents: bool = False) -> str:
        """Write an exact amount of money, with cents if it has any or if ``cents`` is True."""
        decimals = 2 if cents or not float(amount).is_integer() else 0
        return self.set(f"{amount:,.{decimals}f} {currency}")

    def months(self, count: float) -> str:
        """Write a number of months, such as "1 month" or "18 months"."""
        one = round(count) == 1
        return (
            self.texts("months.one") if one else self.texts("months.many", count=number_text(count))
        )

    def duration(self, low: float, high: float) -> str:
        """Write the range ``low`` to ``high`` [months], in years if both are whole years."""
        in_years = high > 12 and low % 12 == high % 12 == 0
        unit, months = ("years", 12) if in_years else ("months", 1)
        first, last = number_text(low / months), number_text(high / months)
        if first == last == "1":
            return self.texts(f"{unit}.one")
        count = last if first == last else self.texts("to", low=first, high=last)
        return self.texts(f"{unit}.many", count=count)

    def named(self, table: str, key: str, otherwise: str = "") -> str:
        """Return the name of an input, check or cause, or ``key`` if no name is defined."""
        full = f"{table}.{key}"
        return self.texts(full) if self.texts.has(full) else otherwise or key

    def input(self, one) -> tuple[str, str, str]:
        """Return the name, value and reason for an `airover.model.conditions.Input`."""
        message = isinstance(one.name, Message)
        name = self(one.name) if message else self.named("input", one.name)
        value = self.value(one.value)
        if getattr(one.value, "kind", "") == "temperature_rise" and self.system == "US":
            value = self.texts("field.rise", amount=value)  # degF alone could mean a temperature
        if one.motor:
            name = self.texts("input.of_motor", name=name, motor=one.motor)
        return name, value, self.value(one.why) if one.why else ""

    def check(self, check) -> tuple[str, str, str]:
        """Return the name, sentence and result for an `airover.selection.check.Check`."""
        state = self.texts(f"state.{check.state}")
        return self.named("check", check.name), self(check.why), state

    def _shown(self, values, kind: str, digits: int | None = None) -> list[str]:
        """Write the limits of a range, each with its unit."""
        if kind in FIGURES:
            times, form = FIGURES[kind]
            return [form(times * value) for value in values]
        digits = _DIGITS.get(kind) if digits is None else digits
        unit = self._unit_of(kind, *values)
        return [f"{one} {unit[0]}".strip() for one in show_numbers(values, kind, unit, digits)]

    def _unit_of(self, kind: str, *values) -> tuple[str, int]:
        """Return a common unit for all ``values``, and its number of decimals."""
        if kind in FIGURES:
            return FIGURES[kind][1](0).partition(" ")[2], 0
        return unit_shown(kind, self.system, max(abs(float(x)) for x in values))

    def _beside(self, kind: str) -> tuple[str, int] | None:
        """Return the second unit of ``kind`` that US readers see, or None."""
        return KINDS[kind].beside if self.system == "US" and kind in KINDS else None

    def error(self, error: InputError) -> str:
        """Write an error on one line, with the field, the problem and the accepted input."""
        value = error.given
        given = (
            number_text(value, unit=error.unit) if isinstance(value, float) else self.value(value)
        )
        given = shown(f"{given} {error.unit}".strip())
        accepted = self.value(error.accepted)
        field = shown(self.field(error.field))
        return self(self._frame(error), field=field, given=given, accepted=accepted)

    def beside(self, error: InputError, typed: str) -> str:
        """Write an error for display next to its field.

        The sentence states what is wrong with the ``typed`` entry and what input is accepted.
        """
        frame = self._frame(error)
        own = (
            f"page.wrong.{frame.removeprefix('error.sentence.')}",
            f"field.beside.{frame.removeprefix('field.sentence.')}",
        )
        key = next(filter(self.texts.has, own), "page.wrong.field")
        return self(key, given=typed, accepted=error.accepted, why=error.given)

    def _frame(self, error: InputError) -> str:
        """Return the message key for an error, or the default key if the error has none."""
        said = [one.key for one in (error.given, error.accepted) if isinstance(one, Message)]
        own = [f"error.sentence.{key.removeprefix('error.')}" for key in said]
        own += [f"field.sentence.{key.removeprefix('field.')}" for key in said]
        if isinstance(error.given, Message):
            usual = "error.frame_said"
        else:
            ranged = isinstance(error.accepted, Range) and error.accepted.high < inf
            usual = "error.frame_range" if ranged else "error.frame"
        return next(filter(self.texts.has, own), usual)

    def field(self, field: str | Message) -> str:
        """Return the field name as written in a file (English) or its label (other languages)."""
        if isinstance(field, Message):
            return self(field)
        record, _, name = field.partition(" ")
        label = f"page.{record}.{name.replace(' ', '_')}"
        labelled = self.language != "en" and self.texts.has(label)
        return self.texts(label) if labelled else field

    def set(self, amount: str) -> str:
        """Typeset an amount if this Writer uses typographic symbols."""
        return typeset(amount).replace(" ", NO_BREAK) if self.signs else amount


ENGLISH = Writer()


def languages() -> list[tuple[str, str]]:
    """Return the name and code of each language, such as ("English", "en")."""
    return [(Texts(one)("language"), one) for one in LANGUAGES]


def _span(ends: list[str]) -> str:
    """Join the limits of a range with a hyphen, or with "..." if either limit is negative."""
    apart = "..." if any(end.startswith("-") for end in ends) else "-"
    return apart.join(dict.fromkeys(ends))


def typeset(text: str) -> str:
    """Return ``text`` with typographic symbols for units."""
    for plain, sign in _SIGNS:
        text = text.replace(plain, sign)
    return text


@lru_cache(maxsize=4096)
def _places(text: str) -> frozenset[str]:
    """Return the names of the placeholders in ``text``."""
    return frozenset(PLACE.findall(text))


@lru_cache
def _catalog(language: str) -> dict[str, str]:
    """Return all strings by key, from the cache folder if the files are unchanged."""
    files = sorted((TEXTS / language).glob("*.toml"))
    sources = [f"{TEXTS.name}/{language}/{path.name}" for path in files]
    key = cache.key_of(cache.code_hash("core/texts.py", *sources))
    kept = cache.load(key)
    if kept is not None:
        return json.loads(kept["strings"].tobytes())
    tables = (toml_table(read_text(path, "texts", LARGEST_FILE), "texts") for path in files)
    found = dict(pair for table in tables for pair in _flat(table))
    cache.save(key, strings=np.frombuffer(json.dumps(found).encode(), dtype=np.uint8))
    return found


def _flat(table: dict, above: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{above}{name}.")
        else:
            yield f"{above}{name}", value
