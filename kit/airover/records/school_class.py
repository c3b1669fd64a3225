"""A class that sits a paper: who is in it, in which language and units, and what is drawn."""

import os
from typing import Self

from airover.errors import NOTHING, InputError, is_plain
from airover.message import Message
from airover.records.fields import Flag, Record, Text, choice, read_by, whole
from airover.records.toml import LARGEST_FILE, toml_table
from airover.safe_file import read_text
from airover.units import quoted

FILE = Message("error.class.file")
MOST_STUDENTS, LONGEST_NAME = 200, 80
MOST_QUESTIONS = 40
LANGUAGES = {"en": ("english",), "es": ("spanish", "español")}
SYSTEMS = {"US": (), "SI": ()}


def _names(value, field: str) -> tuple[str, ...]:
    """Names in a list, each of them once; case and spaces around do not make another name."""
    if not isinstance(value, (list, tuple)) or not 1 <= len(value) <= MOST_STUDENTS:
        accepted = Message("error.class.names", most=MOST_STUDENTS)
        raise InputError(field, quoted(value), accepted)
    places = (
        Message("error.class.name", field=field, number=at) for at in range(1, len(value) + 1)
    )
    names = tuple(_name(one, place) for one, place in zip(value, places, strict=True))
    seen = set()
    for name in names:
        if same_name(name) in seen:
            given = Message("error.class.twice", name=quoted(name))
            raise InputError(field, given, Message("error.class.once"))
        seen.add(same_name(name))
    return names


def _name(value, field: Message) -> str:
    fits = isinstance(value, str) and 0 < len(value.strip()) <= LONGEST_NAME
    if not fits or not is_plain(value) or "\n" in value or "\t" in value:
        raise InputError(field, quoted(value), Message("error.class.line", most=LONGEST_NAME))
    return value.strip()


def same_name(name: str) -> str:
    """What two ways to write one name have in common: letters without case, single spaces.

    A first apostrophe, by which a spreadsheet keeps a text from being a formula, does not count.
    """
    return " ".join(name.strip().removeprefix("'").casefold().split())


class SchoolClass(Record):
    """A class; ``subjects`` are those of the bank that are asked, none for all of them.

    ``count`` is how many questions a paper has, ``seed`` draws them and their numbers, and
    ``invented`` marks demonstration data.
    """

    name: Text = ""
    language: choice(LANGUAGES) = "en"
    system: choice(SYSTEMS) = "US"
    seed: whole(0, 999_999) = 1
    subjects: read_by(_names) = None
    count: whole(1, MOST_QUESTIONS) = 12
    students: read_by(_names) = None
    invented: Flag = False

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """The class in the TOML file at ``path``; raises InputError that says what is wrong."""
        found = cls(**toml_table(read_text(path, FILE, LARGEST_FILE), FILE))
        if not found.name:
            raise InputError("class name", NOTHING, Message("error.class.title"))
        if not found.students:
            raise InputError("students", NOTHING, Message("error.class.students"))
        return found

    def said_in(self, language: str | None, system: str | None) -> Self:
        """The same class in another language or system of units; None keeps its own."""
        changed = {"language": language, "system": system}
        return self.model_copy(update={k: v for k, v in changed.items() if v is not None})
