"""A replacement as a case for a class: story, plate, what is true of the job, a short list."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from airover.errors import InputError, either, one_of, part
from airover.message import Message
from airover.records.job import Job
from airover.records.nameplate import Nameplate
from airover.records.toml import LARGEST_FILE, as_typed, only, plain, toml_table
from airover.safe_file import beside, read_text
from airover.units import quoted

LANGUAGES = ("en", "es")  # in which a story is told
LEVELS = (1, 2, 3)  # plain, harder, hard
FEWEST, MOST = 4, 10  # motors to choose from
_FILE = Message("error.case.file")
_TABLES = ("level", "motors", "fields", "plate", "job", *LANGUAGES)


class Story(NamedTuple):
    """A case in one language: its ``title``, the ``story``, ``hints`` for students, and what the
    instructor should ``watch`` for."""

    title: str
    story: str
    hints: tuple[str, ...]
    watch: tuple[str, ...]


@dataclass(frozen=True)
class LessonCase:
    """One case. ``motors`` are names of a catalogue; ``fields`` of a Nameplate are asked of the
    students, and those that the ``job`` leaves open cannot be read; ``plate`` are the lines of the
    old motor's plate as they look; ``stories`` by language."""

    key: str
    level: int
    motors: tuple[str, ...]
    fields: tuple[str, ...]
    plate: tuple[str, ...]
    stories: dict[str, Story]
    job: Job

    @property
    def readable(self) -> dict:
        """What can be known of each asked field, None where it cannot be read."""
        plate = self.job.nameplate
        values = dict(zip(plate.names(), dict(plate).values(), strict=True))
        return {name: values[name] or None for name in self.fields}


def read_cases(folder: str | os.PathLike) -> tuple[LessonCase, ...]:
    """The cases of a ``folder`` of TOML files, the plainest first.

    Raises InputError for a folder without cases, and as read_case does.
    """
    paths = sorted(Path(folder).glob("*.toml"))
    if not paths:
        given, accepted = quoted(str(folder)), Message("error.case.files")
        raise InputError(Message("error.case.folder"), given, accepted)
    for path in paths:
        beside(folder, path.name, path.name)
    return tuple(sorted(map(read_case, paths), key=lambda case: (case.level, case.key)))


def read_case(path: str | os.PathLike) -> LessonCase:
    """The case in the TOML file at ``path``; its key is the file's name.

    Raises InputError that names the field for whatever is missing, unknown or not accepted.
    """
    return case_of(read_text(path, _FILE, LARGEST_FILE), Path(path).stem)


def case_of(text: str, key: str = "case") -> LessonCase:
    """The case that TOML ``text`` tells; raises InputError as in read_case."""
    given = toml_table(text, _FILE)
    only(given, _TABLES, _FILE)
    job = given.get("job")
    return LessonCase(
        key=key,
        level=_level(given.get("level")),
        motors=_motors(given.get("motors")),
        fields=_fields(given.get("fields")),
        plate=_sentences(given.get("plate"), part(_FILE, "plate")),
        stories={language: _story(given.get(language), language) for language in LANGUAGES},
        job=Job(**_table(job, part(_FILE, "job"), Message("error.case.job"))),
    )


def _story(table: object, language: str) -> Story:
    place = part(_FILE, language)
    table = _table(table, place, Message("error.field.table_of", names=Story._fields))
    only(table, Story._fields, place)
    single = (plain(table.get(name), part(place, name)) for name in ("title", "story"))
    lists = (_sentences(table.get(name), part(place, name)) for name in ("hints", "watch"))
    return Story(*single, *lists)


def _level(value: object) -> int:
    if type(value) is not int or value not in LEVELS:
        raise InputError(part(_FILE, "level"), as_typed(value), either(LEVELS))
    return value


def _motors(value: object) -> tuple[str, ...]:
    place = part(_FILE, "motors")
    names = tuple(dict.fromkeys(_sentences(value, place)))
    if not FEWEST <= len(names) <= MOST:
        given = Message("error.case.names", count=len(names))
        raise InputError(place, given, Message("error.case.motors", low=FEWEST, high=MOST))
    return names


def _fields(value: object) -> tuple[str, ...]:
    place = part(_FILE, "fields")
    names = _sentences(value, place)
    for name in names:
        if name not in Nameplate.names():
            raise InputError(place, quoted(name), one_of(Nameplate.names()))
    return names


def _sentences(value: object, place: Message) -> tuple[str, ...]:
    if not isinstance(value, list) or not value:
        raise InputError(place, as_typed(value), Message("error.field.texts"))
    return tuple(plain(one, place) for one in value)


def _table(value: object, place: Message, accepted: Message) -> dict:
    if not isinstance(value, dict):
        raise InputError(place, as_typed(value), accepted)
    return value
