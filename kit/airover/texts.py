"""Every text that is said in several languages: a folder of catalogues (TOML) for each of them.

All languages have the same files and keys, and each text the same places to fill; no two files
have a table in common. A test holds them to it.
"""

import datetime
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from airover.errors import InputError
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import read_text
from airover.units import quoted

FOLDER = Path(__file__).parent / "texts"
LANGUAGES = ("en", "es")
PLACE = re.compile(r"\{([a-z_]+)\}")


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
