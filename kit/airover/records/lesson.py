"""Lesson records: replacement cases, question templates and classes.

A case consists of a story, a nameplate, a job and a short list of motors, all of which are checked
when the case is read. Cases and questions can be written in the languages of this package
(`core.files.LANGUAGES`). English is required, and it is used if there is no translation into the
reader's language.
"""

import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, NamedTuple, Self

from pydantic import Field, ValidationInfo, create_model

from airover.core.errors import (
    NOTHING,
    InputError,
    Range,
    either,
    is_plain,
    one_of,
    part,
    without_direction_marks,
)
from airover.core.files import LANGUAGES, beside, decoded, read_bytes, read_text
from airover.core.kinds import KINDS
from airover.core.message import Message
from airover.core.texts import Texts
from airover.core.toml import LARGEST_FILE, as_typed, only, plain, toml_table
from airover.core.units import coherent, quoted
from airover.records.fields import Flag, ReadWith, Record, Text, choice, chosen, read_by, whole
from airover.records.job import Job
from airover.records.nameplate import Nameplate

NUMBER, CHOICE, ORDER = "number", "choice", "order"
KINDS_OF_QUESTION = {NUMBER: (), CHOICE: (), ORDER: ()}
FEWEST_OPTIONS = {NUMBER: 0, CHOICE: 3, ORDER: 4}
MOST_OPTIONS = 8
MOST_VALUES = 1000
WIDEST = 100  # maximum tolerance, in percent or K
LARGEST = 1e9  # maximum absolute value of any number in a question
CLASS_FILE = Message("error.class.file")
MOST_STUDENTS, LONGEST_NAME = 200, 80
MOST_QUESTIONS = 40
SYSTEMS = {"US": (), "SI": ()}
LEVELS = (1, 2, 3)  # basic, intermediate, advanced
FEWEST_MOTORS, MOST_MOTORS = 4, 10  # in the list of motors
CASE_FILE = Message("error.case.file")
_TABLES = ("level", "motors", "fields", "plate", "job", *LANGUAGES)


class Story(NamedTuple):
    """Text of a case in one language.

    Attributes
    ----------
    title : str
        Title of the case.
    story : str
        Description of the situation.
    hints : tuple[str, ...]
        Hints for students.
    watch : tuple[str, ...]
        Points for the instructor to watch for.
    """

    title: str
    story: str
    hints: tuple[str, ...]
    watch: tuple[str, ...]


@dataclass(frozen=True)
class LessonCase:
    """Replacement case for students.

    Attributes
    ----------
    key : str
        Key of the case.
    level : str
        Level: basic, intermediate or advanced.
    motors : tuple[str, ...]
        Names of motors in the catalog.
    fields : tuple[str, ...]
        Nameplate fields that students must read. A field that is empty in ``job`` is unreadable.
    plate : tuple[str, ...]
        Lines on the nameplate of the old motor.
    stories : dict[str, Story]
        Stories by language.
    job : Job
        Job for the case.
    """

    key: str
    level: int
    motors: tuple[str, ...]
    fields: tuple[str, ...]
    plate: tuple[str, ...]
    stories: dict[str, Story]
    job: Job

    def story(self, language: str) -> Story:
        """Return the story in a language, or in English if it has not been translated."""
        return self.stories.get(language, self.stories["en"])

    @property
    def readable(self) -> dict:
        """Value of each requested field, or None if unreadable."""
        nameplate = self.job.nameplate
        values = dict(zip(nameplate.names(), dict(nameplate).values(), strict=True))
        return {name: values[name] or None for name in self.fields}


def read_cases(folder: str | os.PathLike) -> tuple[LessonCase, ...]:
    """Read the cases from a folder of TOML files, sorted from basic to advanced.

    Raises
    ------
    InputError
        If the folder has no cases or if a case is invalid.
    """
    paths = sorted(Path(folder).glob("*.toml"))
    if not paths:
        given, accepted = quoted(str(folder)), Message("error.case.files")
        raise InputError(Message("error.case.folder"), given, accepted)
    for path in paths:
        beside(folder, path.name, path.name)
    return tuple(sorted(map(read_case, paths), key=lambda case: (case.level, case.key)))


def read_case(path: str | os.PathLike) -> LessonCase:
    """Read a case from a TOML file. Its key is the file name.

    Raises
    ------
    InputError
        If an entry is missing, unknown or not accepted. The error names the field.
    """
    return case_of(read_text(path, CASE_FILE, LARGEST_FILE), Path(path).stem)


def case_of(text: str, key: str = "case") -> LessonCase:
    """Read a case from TOML text. Raises the same InputError as `read_case`."""
    given = toml_table(text, CASE_FILE)
    only(given, _TABLES, CASE_FILE)
    job = given.get("job")
    return LessonCase(
        key=key,
        level=_level(given.get("level")),
        motors=_motors(given.get("motors")),
        fields=_fields(given.get("fields")),
        plate=_sentences(given.get("plate"), part(CASE_FILE, "plate")),
        stories={
            language: _story(given.get(language), language)
            for language in LANGUAGES
            if language == "en" or language in given
        },
        job=Job(**_table(job, part(CASE_FILE, "job"), Message("error.case.job"))),
    )


def _story(table: object, language: str) -> Story:
    place = part(CASE_FILE, language)
    table = _table(table, place, Message("error.field.table_of", names=Story._fields))
    only(table, Story._fields, place)
    single = (plain(table.get(name), part(place, name)) for name in ("title", "story"))
    lists = (_sentences(table.get(name), part(place, name)) for name in ("hints", "watch"))
    return Story(*single, *lists)


def _level(value: object) -> int:
    if type(value) is not int or value not in LEVELS:
        raise InputError(part(CASE_FILE, "level"), as_typed(value), either(LEVELS))
    return value


def _motors(value: object) -> tuple[str, ...]:
    place = part(CASE_FILE, "motors")
    names = tuple(dict.fromkeys(_sentences(value, place)))
    if not FEWEST_MOTORS <= len(names) <= MOST_MOTORS:
        given = Message("error.case.names", count=len(names))
        raise InputError(
            place, given, Message("error.case.motors", low=FEWEST_MOTORS, high=MOST_MOTORS)
        )
    return names


def _fields(value: object) -> tuple[str, ...]:
    place = part(CASE_FILE, "fields")
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


def _number(value, info: ValidationInfo) -> float:
    if not _is_number(value):
        accepted = Message("error.question.number", most=f"{LARGEST:g}")
        raise InputError(info.field_name, quoted(value), accepted)
    return float(value)


Number = Annotated[float, ReadWith(_number)]


def _is_number(value) -> bool:
    """Return True for a number that is not NaN and not larger than LARGEST."""
    return type(value) in (int, float) and abs(value) <= LARGEST


def _among(value, info: ValidationInfo) -> tuple:
    """Read a list of numbers or words."""
    listed_values = isinstance(value, list | tuple) and len(value) > 0
    words = listed_values and all(isinstance(one, str) for one in value)
    if words:
        return tuple(value)
    if not listed_values or not all(map(_is_number, value)):
        accepted = Message("error.question.among")
        raise InputError(info.field_name, quoted(str(value)), accepted)
    return tuple(map(float, value))


def tables(record: type[Record]):
    """Return the type of a field that contains several tables of a record type, by key."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, dict) or not all(isinstance(one, dict) for one in value.values()):
            accepted = Message("error.question.tables")
            raise InputError(info.field_name, quoted(str(value)), accepted)
        return {key: _inner(record, given, f"{info.field_name} {key}") for key, given in
                value.items()}  # fmt: skip

    return Annotated[dict, ReadWith(validate)]


def table(record: type[Record]):
    """Return the type of an optional field that contains a table of a record type."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, dict):
            accepted = Message("error.field.table_of", names=record.names())
            raise InputError(info.field_name, quoted(str(value)), accepted)
        return _inner(record, value, info.field_name)

    return Annotated[record | None, ReadWith(validate)]


def _inner(record: type[Record], given: dict, place: str) -> Record:
    try:
        return record(**given)
    except InputError as error:
        raise error.within(place) from None


class _Translated(Record):
    """Text in several languages. English is required."""

    def contradictions(self) -> Iterator[InputError]:
        if not self.en:
            yield InputError("en", NOTHING, Message("error.field.text"))

    @property
    def languages(self) -> tuple[str, ...]:
        """Languages in which the text is available."""
        return tuple(language for language in LANGUAGES if getattr(self, language))

    def text(self, language: str) -> str:
        """Return the text in a language, or in English if it has not been translated."""
        return getattr(self, language) or self.en


Translated = create_model(
    "Translated", __base__=_Translated, __module__=__name__, __doc__=_Translated.__doc__,
    **{language: (Text, "") for language in LANGUAGES},
)  # fmt: skip


class Draw(Record):
    """Possible values for a placeholder in a question.

    The values are either ``low`` to ``high`` in steps of ``step``, or the values in ``among``.
    Numbers with a ``kind`` (a key of `kinds.KINDS`) are in ``unit``, and numbers without a ``kind``
    have no unit. Words from lists of choices, such as "up", are translated. Other words are left
    unchanged.
    """

    low: Number = None
    high: Number = None
    step: Number = None
    among: Annotated[tuple, ReadWith(_among)] = ()
    unit: Text = ""
    kind: Text = ""

    def contradictions(self) -> Iterator[InputError]:
        ends = (self.low, self.high, self.step)
        whole_range = None not in ends and self.low < self.high and self.step > 0
        if bool(self.among) == whole_range or (self.among and ends != (None, None, None)):
            given, accepted = Message("error.question.not_one"), Message("error.question.draw")
            yield InputError("range", given, accepted)
        elif whole_range and (self.high - self.low) / self.step > MOST_VALUES:
            accepted = Message("error.question.step", most=MOST_VALUES)
            yield InputError("step", f"{self.step:g}", accepted)
        if self.kind and self.kind not in KINDS:
            yield InputError("kind", quoted(self.kind), one_of(KINDS))
        elif self.kind:
            coherent(1.0, self.kind, self.unit, "unit")

    @property
    def values(self) -> tuple:
        """Possible values: words, or numbers in SI units or without a unit."""
        if self.among and isinstance(self.among[0], str):
            return self.among
        numbers = self.among or self._range()
        if not self.kind:
            return numbers
        return tuple(coherent(one, self.kind, self.unit, "unit") for one in numbers)

    def _range(self) -> tuple[float, ...]:
        steps = int((self.high - self.low) / self.step + 1e-9)
        return tuple(self.low + count * self.step for count in range(steps + 1))


class Slip(Translated):
    """Feedback on a common mistake, and the fraction of the points awarded for it."""

    share: Number = 0.0

    def contradictions(self) -> Iterator[InputError]:
        yield from super().contradictions()
        if not 0 <= self.share < 1:
            yield InputError("share", f"{self.share:g}", Message("error.question.share"))


class AnswerOption(Translated):
    """Answer option, or a step to be put in order.

    ``told`` is the feedback for a student who incorrectly selects the option.
    """

    told: table(Translated) = None


class Units(Record):
    """Unit of the answer in each system of units."""

    US: Text = ""
    SI: Text = ""


class Template(Record):
    """Question with placeholders for random values, used by `lesson.question.ask`.

    Attributes
    ----------
    key, subject : str
        Key and subject of the question.
    kind : str or None
        Type of question.
    points : int or None
        Points for the correct answer.
    minutes : float
        Time [min] allowed for the question.
    draw : dict[str, Draw]
        Possible values for the placeholders.
    ask, solution : Translated
        Question and solution.
    answer : str
        Name of the function that calculates the answer. It is required for a numerical answer and
        for any answer that depends on the random values.
    quantity : str
        The answer's type of quantity, a key of `kinds.KINDS`, or "" for a number without a unit.
    unit
        Unit of the answer.
    tolerance : float
        Tolerance as a percentage of the answer.
    tolerance_k : float
        Tolerance in K.
    slips : dict[str, Slip]
        Common mistakes.
    options
        Answer options, or steps in their correct order.
    right : str
        Key of the correct option, if there is no ``answer``.
    """

    key: Text = ""
    subject: Text = ""
    kind: choice(KINDS_OF_QUESTION) = None
    points: whole(1, 20) = None
    minutes: Number = 0.0
    draw: tables(Draw) = Field(default_factory=dict)
    ask: table(Translated) = None
    solution: table(Translated) = None
    answer: Text = ""
    quantity: Text = ""
    unit: table(Units) = Units()
    tolerance: Number = 0.0
    tolerance_k: Number = 0.0
    slips: tables(Slip) = Field(default_factory=dict)
    options: tables(AnswerOption) = Field(default_factory=dict)
    right: Text = ""

    def contradictions(self) -> Iterator[InputError]:
        for name in ("kind", "points", "ask", "solution"):
            if getattr(self, name) is None:
                yield InputError(name, NOTHING, Message("error.question.needed"))
        if not 0 < self.minutes <= 60:
            accepted = Message("error.question.above_zero", most=60)
            yield InputError("minutes", f"{self.minutes:g}", accepted)
        for name in ("tolerance", "tolerance_k"):
            if not 0 <= getattr(self, name) <= WIDEST:
                yield InputError(name, f"{getattr(self, name):g}", Range(0, WIDEST, ""))
        if self.kind is not None:
            yield from self._options_wrong()
            yield from self._answer_wrong()
        texts = self.texts()
        for language in {one: None for text in texts.values() for one in text.languages}:
            for name, text in texts.items():
                if not getattr(text, language):
                    yield InputError(f"{name} {language}", NOTHING, Message("error.field.text"))

    def texts(self) -> dict[str, Translated]:
        """Return all translatable text in the question, by location in the file."""
        places = {"ask": self.ask, "solution": self.solution}
        places |= {f"slips {key}": slip for key, slip in self.slips.items()}
        for key, option in self.options.items():
            places |= {f"options {key}": option, f"options {key}, told": option.told}
        return {place: text for place, text in places.items() if text is not None}

    def _options_wrong(self) -> Iterator[InputError]:
        least, most = FEWEST_OPTIONS[self.kind], 0 if self.kind == NUMBER else MOST_OPTIONS
        if not least <= len(self.options) <= most:
            values = {"low": least, "high": most, "kind": f'"{self.kind}"'}
            accepted = Message("error.question.options", **values)
            yield InputError("options", f"{len(self.options)}", accepted)
        if self.kind == CHOICE and not self.answer and self.right not in self.options:
            yield InputError("right", quoted(self.right), one_of(self.options))

    def _answer_wrong(self) -> Iterator[InputError]:
        if self.kind != NUMBER:
            return
        if not self.answer:
            yield InputError("answer", NOTHING, Message("error.question.function"))
        if self.quantity and self.quantity not in KINDS:
            yield InputError("quantity", quoted(self.quantity), one_of(KINDS))
        elif self.quantity:
            for unit in (self.unit.US, self.unit.SI):
                coherent(1.0, self.quantity, unit, "unit")


def _names(value, field: str) -> tuple[str, ...]:
    """Read a list of distinct names. Case and extra spaces are ignored."""
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


def _language(value, field: str) -> str:
    """Read a language from its two-letter code, its native name or its English name."""
    names = {one: (Texts(one)("language"), Texts(one)("language_in_english")) for one in LANGUAGES}
    return chosen(value, names, field)


def _name(value, field: Message) -> str:
    value = without_direction_marks(value) if isinstance(value, str) else value
    fits = isinstance(value, str) and 0 < len(value.strip()) <= LONGEST_NAME
    if not fits or not is_plain(value) or "\n" in value or "\t" in value:
        raise InputError(field, quoted(value), Message("error.class.line", most=LONGEST_NAME))
    return value.strip()


def same_name(name: str) -> str:
    """Return a name in normalized form, ignoring case and repeated spaces.

    A leading apostrophe, which prevents a spreadsheet from evaluating text as a formula, is also
    ignored.
    """
    return " ".join(name.strip().removeprefix("'").casefold().split())


def text_of(path: str | os.PathLike, field, largest: int) -> str:
    """Read the text of a file in UTF-8, or in cp1252 as spreadsheets on Windows save it.

    Raises the same InputError as `core.files.read_text`.
    """
    content = read_bytes(path, field, largest)
    try:
        return decoded(content, path, field)
    except InputError:
        with suppress(UnicodeDecodeError):
            return content.decode("cp1252")
        raise


class SchoolClass(Record):
    """Class, with the settings for its test.

    Attributes
    ----------
    name : str
        Name of the class.
    language : str
        Language of the test.
    system : str
        Unit system of the test.
    seed : int or None
        Random seed for the questions and their values.
    subjects
        Subjects in the question bank to include, or None for all.
    count : int or None
        Number of questions on a test.
    students : tuple[str, ...] or None
        Names of the students.
    invented : bool
        True for fictional demonstration data.
    """

    name: Text = ""
    language: read_by(_language) = "en"
    system: choice(SYSTEMS) = "US"
    seed: whole(0, 999_999) = 1
    subjects: read_by(_names) = None
    count: whole(1, MOST_QUESTIONS) = 12
    students: read_by(_names) = None
    invented: Flag = False

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """Read a class from a TOML file. Raises InputError if the file is invalid."""
        found = cls(**toml_table(text_of(path, CLASS_FILE, LARGEST_FILE), CLASS_FILE))
        if not found.name:
            raise InputError("class name", NOTHING, Message("error.class.title"))
        if not found.students:
            raise InputError("students", NOTHING, Message("error.class.students"))
        return found

    def said_in(self, language: str | None, system: str | None) -> Self:
        """Return the same class with a different language or unit system. None means no change."""
        changed = {"language": language, "system": system}
        return self.model_copy(update={k: v for k, v in changed.items() if v is not None})
