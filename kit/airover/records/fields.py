"""Record fields, with their readers, choices, dates, and errors for invalid values."""

import difflib
import re
from calendar import monthrange
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from itertools import islice
from typing import Annotated, NamedTuple, get_args

from pydantic import BaseModel, ConfigDict, ValidationError, ValidationInfo
from pydantic_core import core_schema

from airover.core.errors import (
    InputError,
    is_plain,
    one_of,
    with_others,
    without_direction_marks,
)
from airover.core.files import LANGUAGES
from airover.core.kinds import KINDS
from airover.core.message import Message, Word
from airover.core.texts import Texts
from airover.core.units import LONGEST_TEXT, Amount, quoted, read
from airover.records.printed import printed_facts, printed_word

MOUNTINGS = {
    "shell holes": ("shell hole", "shell mount"),
    "through-bolts": ("through bolt", "thru bolts", "thru bolt", "studs", "stud mount"),
    "belly band": ("band", "band mount"),
    "bracket": (),
    "base": ("rigid base", "resilient base", "cradle"),
}

SHAFT_POSITIONS = {
    "up": ("shaft up", "vertical up", "vertical shaft up"),
    "down": ("dn", "shaft down", "shaft dn", "vertical down", "vertical shaft down"),
    "horizontal": ("horiz", "shaft horizontal", "horizontal shaft"),
}

ENCLOSURES = {
    "totally enclosed air over": ("teao", "enclosed air over"),
    "open air over": ("oao", "open", "air over open"),
    "totally enclosed nonventilated": ("tenv", "totally enclosed non ventilated"),
    "totally enclosed fan cooled": ("tefc",),
    "open drip proof": ("odp", "drip proof"),
    "explosion proof": ("xp", "explosionproof"),
}
CLASSES = {name: (f"class {name}",) for name in "ABFH"}

BEARINGS = {
    "sleeve": ("sleeve bearing", "sleeve bearings"),
    "ball": ("ball bearing", "ball bearings"),
}

DRAIN_PLUGS = {
    "both ends": ("both",),
    "shaft end": ("shaft",),
    "lead end": ("lead",),
    "none": ("no",),
}

EXPOSURES = {
    "rain": ("wet",),
    "salt": ("salt air", "coastal", "sea", "seaside"),
    "dust": ("dusty", "sand"),
}

PROTECTORS = {
    "automatic thermal": ("automatic", "auto", "thermal", "yes"),
    "none": ("no",),
}
# entries that mean "unknown", in capitals
UNKNOWN = {"-", "--", "?", "??", "N/A", "NA", "N.A.", "N/D", "S/D", "UNK", "TBD", "UNKNOWN", "NOT GIVEN",
           "ILLEGIBLE", "DESCONOCIDO", "ILEGIBLE", "NO LEGIBLE"}  # fmt: skip
LONGEST_NOTE = 2000
MOST_ERRORS = 20  # maximum number listed for one record

_SINGLE = re.compile(r"[0-9.]+ [A-Za-z]+")  # entry with one value, such as "5 uF"
# other names that people use for fields
_OTHER_NAMES = {
    "hp": "power", "horsepower": "power", "amps": "current", "fla": "current", "rpm": "speed",
    "volts": "voltage", "hz": "frequency", "hertz": "frequency", "uf": "capacitor",
    "capacitance": "capacitor", "cfm": "airflow", "altitude": "elevation",
    "class": "insulation_class",
}  # fmt: skip
_PHASES = {"1": ("single", "single phase", "1 phase", "one"), "3": ("three", "three phase")}
FIRST_YEAR, LAST_YEAR = 1950, 2149  # so that the longest warranty can be added to any date
_DAY = {"first": FIRST_YEAR, "last": LAST_YEAR, "example": "2026-03-15"}
ACCEPTED_DAY = Message("error.date.day", **_DAY)
ACCEPTED_SPAN = Message("error.date.span", **_DAY, month="2026-03")
ENDS_FIRST, ENDS_LAST = "first", "last"

RULES = {
    ENDS_FIRST: ("whichever ends first", "whichever comes first"),
    ENDS_LAST: ("whichever ends last", "whichever comes last"),
}


class Record(BaseModel):
    """Base class for input records. Every field is optional.

    Raises
    ------
    InputError
        If a field is rejected. Errors for any other rejected fields are attached.
    """

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, arbitrary_types_allowed=True
    )

    def __init__(self, /, **given):
        try:
            super().__init__(**given)
        except ValidationError as error:
            raise _input_error(error, type(self)) from None

    @classmethod
    def names(cls) -> list[str]:
        """Return the field names as written in a file."""
        return [field.alias or name for name, field in cls.model_fields.items()]

    @classmethod
    def entered(cls, name: str) -> "Entered | None":
        """Return the quantity entered in a field, or None if the field is not a quantity."""
        fields = zip(cls.names(), cls.model_fields.values(), strict=True)
        metadata = next((field.metadata for known, field in fields if known == name), ())
        return next((one for one in metadata if isinstance(one, Entered)), None)

    @classmethod
    def divided(cls, given: object, field: str) -> object:
        """Split an entry that contains values for several fields.

        ``given`` contains the values by field. For example, "208-230/60/1" in ``voltage`` also
        gives the frequency and the number of phases.

        Raises
        ------
        InputError
            If another field contains a conflicting value.
        """
        value = given.get(field) if isinstance(given, dict) else None
        text = value.text if isinstance(value, Amount) else value
        short = isinstance(text, str) and len(text) <= LONGEST_TEXT
        several = short and not _SINGLE.fullmatch(text)
        facts = printed_facts(field, text) if several else {}
        others = {name: given[name] for name in facts if not is_unknown(given.get(name))}
        for name, other in others.items():
            if name != field and not cls._agree(name, other, facts[name]):
                stated = {"entry": quoted(text), "other": quoted(getattr(other, "text", other))}
                label = Message(f"page.nameplate.{name}")
                given = Message("field.against", **stated, label=label)
                raise InputError(field.replace("_", " "), given, Message("field.one_of_both"))
        return given | facts | others | {field: facts[field]} if len(facts) > 1 else given

    @classmethod
    def _agree(cls, name: str, one, other) -> bool:
        """Return True if both entries have the same value, or if either entry is invalid."""
        try:
            values = [dict(cls(**{name: entry}))[name] for entry in (one, other)]
        except InputError:
            return True
        ends = [(value.low, value.high) if isinstance(value, Amount) else value for value in values]
        return ends[0] == ends[1]

    @classmethod
    def parts(cls) -> list[str]:
        """Return the names of fields that are themselves records."""
        return [name for name, field in cls.model_fields.items() if _is_record(field.annotation)]

    def contradictions(self) -> Iterator[InputError]:
        """Yield an InputError for each pair of contradictory fields."""
        return iter(())

    def model_post_init(self, context) -> None:
        if found := list(self.contradictions()):
            raise with_others(*found)


class ReadWith(NamedTuple):
    """Function that returns the value of a field, given the entry and a ValidationInfo.

    Pydantic's PlainValidator also prepares JSON output, which takes longer and is not needed.
    """

    read: Callable

    def __get_pydantic_core_schema__(self, source, handler):
        return core_schema.with_info_plain_validator_function(self.read)


@dataclass(frozen=True)
class Entered:
    """Type of quantity in a field, and its unit if it differs from the default unit."""

    kind: str
    unit: str = ""

    def usual_unit(self, system: str) -> str:
        """Return the unit assumed if a user of ``system`` types a bare number into this field."""
        return self.unit or KINDS[self.kind].usual_unit(system)


def amount(kind: str, unit: str = ""):
    """Return the type of an optional field for an amount of ``kind``.

    A number without a unit is assumed to be in the usual unit of ``kind``. If two units are common,
    the number is rejected. ``unit`` is the unit that a form displays, if it differs from the
    default unit of ``kind``.
    """

    def validate(value, info: ValidationInfo):
        return None if is_unknown(value) else _amount(value, kind, info)

    return Annotated[Amount | None, ReadWith(validate), Entered(kind, unit)]


def _amount(value, kind: str, info: ValidationInfo) -> Amount:
    text = value.text if isinstance(value, Amount) else value
    return read(text, kind, in_words(info), KINDS[kind].only_unit)


def is_unknown(value: object) -> bool:
    """Return True for None and for an entry such as "N/A" or "-"."""
    return value is None or (isinstance(value, str) and value.strip().upper() in UNKNOWN)


def amounts(kind: str):
    """Return the type of a field for a list of amounts of ``kind``."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, (list, tuple)):
            raise InputError(in_words(info), quoted(value), Message("error.field.amounts"))
        return tuple(_amount(item, kind, info) for item in value)

    return Annotated[tuple[Amount, ...], ReadWith(validate), Entered(kind)]


def read_by(reading, kind: str = ""):
    """Return the type of an optional field that is read with ``reading(value, field)``.

    ``kind`` is the type of quantity, or "" if the value is not a quantity.
    """

    def validate(value, info: ValidationInfo):
        return None if is_unknown(value) else reading(value, in_words(info))

    return Annotated[object, ReadWith(validate), Entered(kind) if kind else None]


def choice(words: dict[str, tuple[str, ...]]):
    """Return the type of an optional field for one of several words.

    Each word can have alternative spellings.
    """

    def validate(value, info: ValidationInfo):
        return None if is_unknown(value) else chosen(value, words, in_words(info))

    return Annotated[str | None, ReadWith(validate)]


def choices(words: dict[str, tuple[str, ...]]):
    """Return the type of a field for several words, which are kept in the order given."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, (list, tuple)):
            accepted = Message("error.field.choices", words=one_word_of(words))
            raise InputError(in_words(info), quoted(value), accepted)
        return tuple(dict.fromkeys(chosen(item, words, in_words(info)) for item in value))

    return Annotated[tuple[str, ...], ReadWith(validate)]


def whole(low: int, high: int, *, even: bool = False, unit: str = ""):
    """Return the type of an optional field for a whole number from ``low`` to ``high``.

    ``unit`` is a pattern for words that may follow the number, as in "6 poles".
    """
    accepted = Message(f"error.field.{'even' if even else 'whole'}", low=low, high=high)

    def validate(value, info: ValidationInfo):
        if is_unknown(value):
            return None
        pattern = rf"\s*([0-9]{{1,6}})\s*(?:{unit})?\s*"
        typed = re.fullmatch(pattern, value, re.IGNORECASE) if isinstance(value, str) else None
        number = int(typed[1]) if typed else value if type(value) is int else low - 1
        if not low <= number <= high or (even and number % 2):
            raise InputError(in_words(info), quoted(value), accepted)
        return number

    return Annotated[int | None, ReadWith(validate)]


def phase_field():
    """Return the type of an optional field for 1 or 3 phases."""

    def validate(value, info: ValidationInfo):
        said = str(value) if type(value) is int and value in (1, 3) else value
        return None if is_unknown(value) else int(chosen(said, _PHASES, in_words(info)))

    return Annotated[int | None, ReadWith(validate)]


def text_field(value, info: ValidationInfo) -> str:
    """Read free text. A number, such as the frame size 48, is also accepted."""
    text = str(value) if type(value) is int and abs(value) < 10**9 else value
    if not isinstance(text, str) or len(text) > LONGEST_NOTE or not is_plain(text):
        accepted = Message("error.field.plain", count=LONGEST_NOTE)
        raise InputError(in_words(info), quoted(value), accepted)
    return without_direction_marks(text).strip()


Text = Annotated[str, ReadWith(text_field)]


def flag_field(value, info: ValidationInfo) -> bool:
    """Read True or False."""
    if not isinstance(value, bool):
        raise InputError(in_words(info), quoted(value), Message("error.field.flag"))
    return value


Flag = Annotated[bool, ReadWith(flag_field)]


def spelled(text: str, words: dict[str, tuple[str, ...]]) -> str | None:
    """Return the key that matches ``text``, ignoring case, hyphens and underscores."""
    said = _bare(text)
    spellings = ((word, (word, *others)) for word, others in words.items())
    found = next((word for word, same in spellings if said in map(_bare, same)), None)
    return found or next((word for word in words if said in _translated(word)), None)


@lru_cache
def _translated(word: str) -> set[str]:
    """Return the ``word`` in all languages, converted with `_bare`."""
    texts = map(Texts, LANGUAGES)
    keys = f"word.{word}", f"page.word.{word}"
    return {_bare(one.texts[key]) for one in texts for key in keys if one.has(key)}


def chosen(value, words: dict[str, tuple[str, ...]], field: str) -> str:
    """Return the key that matches a value, either as typed or as printed on a nameplate.

    Raises
    ------
    InputError
        If the value cannot be read. The error names ``field``.
    """
    found = spelled(value, words) if isinstance(value, str) else None
    if found is None and isinstance(value, str) and len(value) <= LONGEST_TEXT:
        found = printed_word(field.replace(" ", "_"), value)
    if found not in words:
        raise InputError(field, quoted(value), one_word_of(words))
    return found


def one_word_of(words) -> Message:
    """Return the allowed words, each in quotes and in the reader's language."""
    *others, last = [Message("field.quoted", word=Word(word)) for word in words]
    return Message("error.either", words=others, last=last) if others else last


@dataclass(frozen=True)
class Span:
    """Date between ``first`` and ``last`` (inclusive), with the text as typed.

    An unknown limit is None.
    """

    first: date | None
    last: date | None
    text: str = ""


def read_day(value: object, field) -> date:
    """Read a date such as "2026-03-15" or "03/15/2026".

    Raises
    ------
    InputError
        If the date cannot be read or is ambiguous. For example, "03/04/2026" is March 4 in the
        United States and April 3 in other countries. The error names ``field``.
    """
    found = _days(value)
    if len(found) > 1:
        raise InputError(field, quoted(value), _which(found))
    if not found:
        raise InputError(field, quoted(value), ACCEPTED_DAY)
    return found[0]


def read_span(value: object, field: str) -> Span:
    """Read a date, or a month such as "2026-03". Raises the same InputError as `read_day`."""
    if isinstance(value, Span):
        return value
    if found := _days(value):
        day = read_day(value, field) if len(found) > 1 else found[0]
        return Span(day, day, day.isoformat())
    parts = re.fullmatch(r"\s*([0-9]{4})-([0-9]{2})\s*", value) if isinstance(value, str) else None
    first = _accepted(int(parts[1]), int(parts[2]), 1) if parts else None
    if first is None:
        raise InputError(field, quoted(value), ACCEPTED_SPAN)
    last = first.replace(day=monthrange(first.year, first.month)[1])
    return Span(first, last, value.strip())


def days_of(text: str) -> list[date]:
    """Return the possible dates for ``text``: none, one, or two if it is ambiguous.

    >>> days_of("01/24/2024"), len(days_of("03/04/2026"))
    ([datetime.date(2024, 1, 24)], 2)
    """
    if iso := re.fullmatch(r"\s*([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})\s*", text):
        found = [_accepted(int(iso[1]), int(iso[3]), int(iso[4]))]
    else:
        pattern = r"\s*([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})\s*"
        parts = re.fullmatch(pattern, text)
        one, other, year = (int(parts[at]) for at in (1, 3, 4)) if parts else (0, 0, 0)
        year += 2000 if year < 100 else 0
        found = [_accepted(year, one, other), _accepted(year, other, one)]
    return list(dict.fromkeys(day for day in found if day is not None))


class Dates(Record):
    """Dates of manufacture and installation of the new motor, and its warranty rule.

    Each date is a Span or None. ``warranty_ends`` is "first" if, according to the manufacturer's
    terms, coverage ends with the first of the two warranty periods to expire, or "last" if it ends
    with the last.

    Raises
    ------
    InputError
        If the installation date is before the date of manufacture.
    """

    manufactured: read_by(read_span) = None
    installed: read_by(read_span) = None
    warranty_ends: choice(RULES) = None

    def contradictions(self) -> Iterator[InputError]:
        made, put_in = self.manufactured, self.installed
        if made is not None and put_in is not None and put_in.last < made.first:
            accepted = Message("error.date.after", day=made.text)
            yield InputError("installed", put_in.text, accepted)


def _is_record(annotation) -> bool:
    kinds = get_args(annotation) or (annotation,)
    return any(isinstance(kind, type) and issubclass(kind, Record) for kind in kinds)


def in_words(info: ValidationInfo) -> str:
    """Return the field name in words, as written in a file."""
    return info.field_name.removesuffix("_rpm").replace("_", " ")


def _bare(text: str) -> str:
    return " ".join(text.lower().replace("-", " ").replace("_", " ").split())


def _input_error(error: ValidationError, record: type[Record]) -> InputError:
    """Return the first error in a record, with at most MOST_ERRORS other errors attached."""
    found = (one for problem in error.errors() for one in _problems(problem, record))
    return with_others(*islice(found, MOST_ERRORS))


def _problems(problem: dict, record: type[Record]) -> Iterator[InputError]:
    name = " ".join(str(part) for part in problem["loc"][:1])
    cause = problem.get("ctx", {}).get("error")
    if isinstance(cause, InputError):  # raised by a field, or by a nested record
        for one in (cause, *cause.others):
            yield _inside(name, one) if name in record.parts() else one
    elif problem["type"] == "extra_forbidden":
        yield _unknown_field(name, record)
    else:
        yield InputError(name, quoted(problem["input"]), Message("error.field.table"))


def _inside(name: str, cause: InputError) -> InputError:
    """Return the error for a nested record, with a field name such as "nameplate voltage"."""
    if not isinstance(cause.field, str):
        return cause.within(name, "error.field.inside")
    return InputError(f"{name} {cause.field}", cause.given, cause.accepted, cause.unit)


def _unknown_field(name: str, record: type[Record]) -> InputError:
    names = record.names()
    near = difflib.get_close_matches(name.lower(), names, n=1)
    other = _OTHER_NAMES.get(name.lower())
    field = Message("error.field.field", name=quoted(name))
    meant = [other] if other in names else near
    given = Message("error.field.misspelled" if meant else "error.field.unknown")
    return InputError(field, given, one_of(meant or names))


def _days(value: object) -> list[date]:
    if isinstance(value, date) and not isinstance(value, datetime):
        found = _accepted(value.year, value.month, value.day)
        return [] if found is None else [found]
    return days_of(value) if isinstance(value, str) and len(value) < LONGEST_NOTE else []


def _which(found: list[date]) -> Message:
    """Return the possible dates in an unambiguous format."""
    month_first, day_first = (day.isoformat() for day in found)
    return Message("field.which_day", month_first=month_first, day_first=day_first)


def _accepted(year: int, month: int, day: int) -> date | None:
    known = FIRST_YEAR <= year <= LAST_YEAR and 1 <= month <= 12
    return date(year, month, day) if known and 1 <= day <= monthrange(year, month)[1] else None
