"""Texts in the reader's language, from a folder of TOML files for each language.

Adding a folder adds a language. All languages have the same files and keys, and each text the same
places to fill; no two files have a table in common. Tests cover this.
"""

import datetime
import re
from collections.abc import Iterator
from functools import lru_cache

from airover.core.errors import InputError, Range, either, one_of, shown
from airover.core.files import LANGUAGES, TEXTS, read_text
from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.message import Estimate, Message, Money, Quantity, Word
from airover.core.toml import LARGEST_FILE, toml_table
from airover.core.units import Amount, convert, quoted, show

PLACE = re.compile(r"\{([a-z_]+)\}")
NO_BREAK = "\u00a0"
# How units look in print, where a terminal has plain letters.
_SIGNS = (
    ("degF", "°F"),
    ("degC", "°C"),
    ("m3/s", "m³/\u2060s"),
    ("uF", "µF"),
    ("+-", "±"),
    ("W/m2", "W/\u2060m²"),
)
LONGEST_YEARS = 40  # of a life; beyond, "more than" says enough


def _two_digits(value: float) -> str:
    return f"{float(f'{value:.2g}'):,.10g}"


def _years_of_life(value: float) -> str:
    return "<1" if value < 0.5 else f">{LONGEST_YEARS}" if value > LONGEST_YEARS else f"{value:.0f}"


# Figures of no kind in `kinds`, the same in every system of units: a factor and how it is written.
FIGURES = {
    "percent": (100, "{:.0f} %".format),
    "times": (1, "{:.2f}".format),
    "count": (1, "{:,.0f}".format),
    "difference": (1, "{:+.0f}".format),
    "amps": (1, "{:.2f} A".format),
    "watts": (1, "{:.0f} W".format),
    "kwh": (1, lambda value: f"{_two_digits(value)} kWh"),
    "irradiance": (1, "{:.0f} W/m2".format),
    "two_digits": (1, _two_digits),
    "years": (1, _years_of_life),
}
_DIGITS = {"temperature": 0, "air_temperature": 0}  # a tenth of a degree is not known


class Texts:
    """The texts of a ``language`` of LANGUAGES; raises InputError for another one.

    >>> Texts("en")("limit.least", value="5 A")
    'at least 5 A'
    """

    def __init__(self, language: str):
        if language not in LANGUAGES:
            raise InputError("language", quoted(language), either(LANGUAGES))
        self.language = language

    @property
    def texts(self) -> dict[str, str]:
        """All texts by their keys, read from the files when first used."""
        return _catalog(self.language)

    def __call__(self, key: str, **values) -> str:
        """The text of ``key`` with its places filled; a brace in a value stays a brace.

        Raises KeyError for a key or a value that is missing: the code is wrong, not the input.
        """
        return PLACE.sub(lambda place: str(values[place[1]]), self.texts[key])

    def has(self, key: str) -> bool:
        return key in self.texts

    def below(self, key: str) -> list[str]:
        """The texts of the table ``key``, in the order of the catalog."""
        return [text for name, text in self.texts.items() if name.startswith(f"{key}.")]

    def word(self, word: str) -> str:
        """A word that this kit uses for a choice; what people typed stays as it is."""
        return self.texts.get(f"word.{word}", word)

    def words(self, words) -> str:
        """Words in a row."""
        return ", ".join(self.word(word) for word in words)

    def date(self, date: datetime.date) -> str:
        month = self(f"month.{date.month}")
        return self("date", day=date.day, month=month, year=date.year)


class Writer:
    """Writes messages in a ``language``, quantities in a ``system`` of units, "US" or "SI".

    With ``signs``, units have their typographic signs and stay on one line with their number.
    Raises InputError for another language or system.

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
        """A writer of the same units in English without signs, for JSON."""
        return Writer("en", self.system)

    @property
    def for_print(self) -> "Writer":
        """A writer of the same language and units with typographic signs."""
        return Writer(self.language, self.system, signs=True)

    def __call__(self, message: Message | str, **values) -> str:
        """The text of a message, or of a key with ``values``; KeyError where the code is wrong."""
        if isinstance(message, str):
            message = Message(message, **values)
        shown = {name: self.value(value) for name, value in message.values.items()}
        return self.texts(message.key, **shown)

    def value(self, value) -> str:
        """A value of a place, whatever it is."""
        match value:
            case Message():
                return self(value)
            case InputError():
                return self.error(value)
            case Quantity():
                return self.amount(*value)
            case Estimate():
                return self.about(*value)
            case Money():
                return self.money(*value)
            case Word():
                return self.texts.word(value.word)
            case Range():
                return self(
                    "limit.range", low=f"{value.low:g}", high=f"{value.high:g}", unit=value.unit
                ).strip()
            case datetime.date():
                return self.texts.date(value)
            case None:
                return self.texts.word("unknown")
            case list() | tuple():
                return ", ".join(map(self.value, value))
        return f"{value:g}" if isinstance(value, float) else str(value)

    def amount(self, value, kind: str, digits: int | None = None) -> str:
        """A number, or a Band as "low to high", of a ``kind`` of quantity, with its unit once."""
        if value is None:
            return self.texts.word("unknown")
        if isinstance(value, Band | Amount):
            return self.range(value.low, value.high, kind, digits)
        return self.set(self._shown(value, kind, digits))

    def range(self, low, high, kind: str, digits: int | None = None) -> str:
        """Two ends, or one value where both look the same."""
        first, last = (self._shown(x, kind, digits) for x in (low, high))
        if first == last:
            return self.set(last)
        number, _, unit = first.rpartition(" ")
        shared = number if unit and last.endswith(f" {unit}") else first
        return self.texts("to", low=self.set(shared), high=self.set(last))

    def about(self, value, kind: str) -> str:
        """A number or a Band in two significant digits, with its unit once: "0.18-0.29 hp"."""
        ends = (value.low, value.high) if isinstance(value, Band) else (value,)
        shown = [f"{float(f'{self.number(float(x), kind):.2g}'):g}" for x in ends]
        return self.set(f"{'-'.join(dict.fromkeys(shown))} {self.unit(kind)}")

    def unit(self, kind: str) -> str:
        """The unit of ``kind`` (a key of KINDS) that the reader's system uses."""
        return (KINDS[kind].us if self.system == "US" else KINDS[kind].si)[0]

    def number(self, value, kind: str):
        """``value`` (number or array) of ``kind`` in that unit, as for a picture's axis."""
        return convert(value, kind, self.unit(kind))

    def estimate(self, band: Band, kind: str, digits: int | None = None) -> str:
        """The middle of a Band and its 90 % range in brackets, "1.71 A (1.61-1.78)"."""
        if digits is None:
            low, mid, high = (self._shown(x, kind, None).partition(" ") for x in band)
            return self.set(f"{''.join(mid)} ({low[0]}-{high[0]})")
        low, mid, high = (f"{self.number(x, kind):.{digits}f}" for x in band)
        return self.set(f"{mid} {self.unit(kind)} ({low}-{high})")

    def money(self, value, currency: str = "", digits: int = 3) -> str:
        """An amount, or a Band, of money in so many significant ``digits``.

        >>> Writer().money(1766.2, "USD"), Writer().money(-0.25, "USD")
        ('1,770 USD', '-0.25 USD')
        """
        if isinstance(value, Band | Amount):
            low, high = (f"{float(f'{x:.{digits}g}'):,.10g}" for x in (value.low, value.high))
            text = low if low == high else self.texts("to", low=low, high=high)
        else:
            text = f"{float(f'{value:.{digits}g}'):,.10g}"
        return text + self.set(f" {currency}") if currency else text

    def price(self, band: Band, currency: str) -> str:
        """Whole units of money; an exact amount with hundredths keeps them."""
        if band.low == band.high:
            cents = 0 if float(band.mid).is_integer() else 2
            return self.set(f"{band.mid:,.{cents}f} {currency}")
        low, high = (f"{end:,.0f}" for end in (band.low, band.high))
        return self.texts("to", low=low, high=high) + self.set(f" {currency}")

    def months(self, count: float) -> str:
        one = round(count) == 1
        return self.texts("months.one") if one else self.texts("months.many", count=f"{count:g}")

    def named(self, table: str, key: str, otherwise: str = "") -> str:
        """The name of an input, a check or a cause; one without a text stays as it is."""
        full = f"{table}.{key}"
        return self.texts(full) if self.texts.has(full) else otherwise or key

    def input(self, one) -> tuple[str, str, str]:
        """The name of an `airover.model.conditions.Input`, its value, and why if assumed."""
        message = isinstance(one.name, Message)
        name = self(one.name) if message else self.named("input", one.name)
        if one.motor:
            name = self.texts("input.of_motor", name=name, motor=one.motor)
        return name, self.value(one.value), self.value(one.why) if one.why else ""

    def check(self, check) -> tuple[str, str, str]:
        """The name of an `airover.selection.check.Check`, its sentence and its result."""
        state = self.texts(f"state.{check.state}")
        return self.named("check", check.name), self(check.why), state

    def _shown(self, value, kind: str, digits: int | None) -> str:
        """One number with its unit."""
        if kind in FIGURES:
            times, form = FIGURES[kind]
            return form(times * value)
        digits = _DIGITS.get(kind) if digits is None else digits
        return show(float(value), kind, self.system, digits)

    def error(self, error: InputError) -> str:
        """An error as one sentence on one line: the field, what was given, what is accepted."""
        given = shown(f"{self.value(error.given)} {error.unit}".strip())
        accepted = self.value(error.accepted)
        field = shown(self.field(error.field))
        return self("error.frame", field=field, given=given, accepted=accepted)

    def field(self, field: str | Message) -> str:
        """The name of a field: in English as in a file, elsewhere its label where it has one."""
        if isinstance(field, Message):
            return self(field)
        record, _, name = field.partition(" ")
        label = f"page.{record}.{name.replace(' ', '_')}"
        labelled = self.language != "en" and self.texts.has(label)
        return self.texts(label) if labelled else field

    def set(self, amount: str) -> str:
        """An amount as it is set in print, if it is."""
        return typeset(amount).replace(" ", NO_BREAK) if self.signs else amount


ENGLISH = Writer()


def languages() -> list[tuple[str, str]]:
    """Return each language by its own name, to choose from: ("English", "en") and so on."""
    return [(Texts(one)("language"), one) for one in LANGUAGES]


def typeset(text: str) -> str:
    """``text`` with the typographic signs of units."""
    for plain, sign in _SIGNS:
        text = text.replace(plain, sign)
    return text


@lru_cache
def _catalog(language: str) -> dict[str, str]:
    files = sorted((TEXTS / language).glob("*.toml"))
    texts = (read_text(path, "texts", LARGEST_FILE) for path in files)
    return dict(pair for text in texts for pair in _flat(toml_table(text, "texts")))


def _flat(table: dict, above: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{above}{name}.")
        else:
            yield f"{above}{name}", value
