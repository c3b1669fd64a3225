"""Every text that is said in several languages: a folder of catalogues (TOML) for each of them.

All languages have the same files and keys, and each text the same places to fill; no two files
have a table in common. A test holds them to it.
"""

import datetime
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from airover.bands import Band
from airover.errors import InputError, shown
from airover.kinds import KINDS
from airover.limits import Range
from airover.message import Message, Quantity, Word
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import read_text
from airover.units import convert, quoted, show

FOLDER = Path(__file__).parent / "texts"
LANGUAGES = ("en", "es")
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


class Texts:
    """The texts of a ``language``, "en" or "es"; raises InputError for another one.

    >>> Texts("en")("limit.least", value="5 A")
    'at least 5 A'
    """

    def __init__(self, language: str):
        if language not in LANGUAGES:
            raise InputError("language", quoted(language), " or ".join(LANGUAGES))
        self.language = language
        self.texts = _catalogue(language)

    def __call__(self, key: str, **values) -> str:
        """The text of ``key`` with its places filled; a brace in a value stays a brace.

        Raises KeyError for a key or a value that is missing: the code is wrong, not the input.
        """
        return PLACE.sub(lambda place: str(values[place[1]]), self.texts[key])

    def has(self, key: str) -> bool:
        return key in self.texts

    def below(self, key: str) -> list[str]:
        """The texts of the table ``key``, in the order of the catalogue."""
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
            raise InputError("system", quoted(system), '"US" or "SI"')
        self.language, self.system, self.signs = language, system, signs

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
            case Quantity():
                return self.amount(value.value, value.kind, value.digits)
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
        if isinstance(value, Band):
            return self.range(value.low, value.high, kind, digits)
        return self.set(show(float(value), kind, self.system, digits))

    def range(self, low, high, kind: str, digits: int | None = None) -> str:
        """Two ends, or one value where both look the same."""
        first, last = (show(float(x), kind, self.system, digits) for x in (low, high))
        if first == last:
            return self.set(last)
        number, _, unit = first.rpartition(" ")
        shared = number if unit and last.endswith(f" {unit}") else first
        return self.texts("to", low=self.set(shared), high=self.set(last))

    def median(self, band: Band, kind: str, digits: int | None = None) -> str:
        """The median of a Band and its ends, with the unit once: "123 degF (110 to 131)"."""
        low, mid, high = (show(float(end), kind, self.system, digits) for end in band)
        if low == high:
            return self.set(mid)
        low, high = (end.removesuffix(f" {self.unit(kind)}") for end in (low, high))
        return self.texts("median", mid=self.set(mid), low=low, high=high)

    def unit(self, kind: str) -> str:
        """The unit of ``kind`` (a key of KINDS) that the reader's system uses."""
        return (KINDS[kind].us if self.system == "US" else KINDS[kind].si)[0]

    def number(self, value, kind: str):
        """``value`` (number or array) of ``kind`` in that unit, as for a picture's axis."""
        return convert(value, kind, self.unit(kind))

    def error(self, error: InputError) -> str:
        """An error as one sentence on one line: the field, what was given, what is accepted."""
        given = shown(f"{self.value(error.given)} {error.unit}".strip())
        accepted = self.value(error.accepted)
        return self("error.frame", field=self.value(error.field), given=given, accepted=accepted)

    def set(self, amount: str) -> str:
        """An amount as it is set in print, if it is."""
        return typeset(amount).replace(" ", NO_BREAK) if self.signs else amount


def typeset(text: str) -> str:
    """``text`` with the typographic signs of units."""
    for plain, sign in _SIGNS:
        text = text.replace(plain, sign)
    return text


@lru_cache
def _catalogue(language: str) -> dict[str, str]:
    files = sorted((FOLDER / language).glob("*.toml"))
    texts = (read_text(path, "texts", LARGEST_FILE) for path in files)
    return dict(pair for text in texts for pair in _flat(toml_table(text, "texts")))


def _flat(table: dict, above: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{above}{name}.")
        else:
            yield f"{above}{name}", value
