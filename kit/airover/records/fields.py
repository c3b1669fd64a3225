"""Fields of a record: readers, words for choices, dates, and errors for bad values."""

import difflib
import re
from calendar import monthrange
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from typing import Annotated, get_args

from pydantic import BaseModel, ConfigDict, PlainValidator, ValidationError, ValidationInfo

from airover.core.errors import InputError, is_plain, one_of, with_others
from airover.core.message import Message
from airover.core.units import Amount, quoted, read

MOUNTINGS = {
    "shell holes": ("shell hole", "shell mount"),
    "through-bolts": ("through bolt", "thru bolts", "thru bolt", "studs", "stud mount"),
    "belly band": ("band", "band mount"),
    "bracket": (),
    "base": ("rigid base", "resilient base", "cradle"),
}

SHAFT_POSITIONS = {
    "up": ("shaft up", "vertical up", "vertical shaft up"),
    "down": ("shaft down", "vertical down", "vertical shaft down"),
    "horizontal": ("shaft horizontal", "horizontal shaft"),
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
LONGEST_NOTE = 2000
MOST_ERRORS = 20  # maximum number listed for one record

# words that people use for a field with another name
_OTHER_NAMES = {
    "hp": "power", "horsepower": "power", "amps": "current", "fla": "current", "rpm": "speed",
    "volts": "voltage", "hz": "frequency", "hertz": "frequency", "uf": "capacitor",
    "capacitance": "capacitor", "cfm": "airflow", "altitude": "elevation",
    "class": "insulation_class",
}  # fmt: skip
_PHASES = {"1": ("single", "single phase", "1 phase", "one"), "3": ("three", "three phase")}
FIRST_YEAR, LAST_YEAR = 1950, 2149  # leaves room to add the longest warranty to a date
_DAY = {"first": FIRST_YEAR, "last": LAST_YEAR, "example": "2026-03-15"}
ACCEPTED_DAY = Message("error.date.day", **_DAY)
ACCEPTED_SPAN = Message("error.date.span", **_DAY, month="2026-03")
ENDS_FIRST, ENDS_LAST = "first", "last"

RULES = {
    ENDS_FIRST: ("whichever ends first", "whichever comes first"),
    ENDS_LAST: ("whichever ends last", "whichever comes last"),
}


class Record(BaseModel):
    """Facts about one subject; every field is optional.

    Raises InputError for the first field that is rejected, with the errors of any other fields
    attached.
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
    def parts(cls) -> list[str]:
        """Return the names of fields that are records themselves."""
        return [name for name, field in cls.model_fields.items() if _is_record(field.annotation)]

    def contradictions(self) -> Iterator[InputError]:
        """Yield one InputError for each pair of fields that contradict each other."""
        return iter(())

    def model_post_init(self, context) -> None:
        if found := list(self.contradictions()):
            raise with_others(*found)


def amount(kind: str):
    """Return the type of an optional field for an amount of ``kind`` with its unit."""

    def validate(value, info: ValidationInfo):
        if value is None:
            return None
        return read(value.text if isinstance(value, Amount) else value, kind, in_words(info))

    return Annotated[Amount | None, PlainValidator(validate)]


def amounts(kind: str):
    """Return the type of a field for a list of amounts of ``kind``."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, (list, tuple)):
            raise InputError(in_words(info), quoted(value), Message("error.field.amounts"))
        texts = (item.text if isinstance(item, Amount) else item for item in value)
        return tuple(read(text, kind, in_words(info)) for text in texts)

    return Annotated[tuple[Amount, ...], PlainValidator(validate)]


def read_by(reading):
    """Return the type of an optional field that is read by ``reading(value, field)``."""

    def validate(value, info: ValidationInfo):
        return None if value is None else reading(value, in_words(info))

    return Annotated[object, PlainValidator(validate)]


def choice(words: dict[str, tuple[str, ...]]):
    """Return the type of an optional field for one of ``words``, each with alternative spellings."""

    def validate(value, info: ValidationInfo):
        return None if value is None else chosen(value, words, in_words(info))

    return Annotated[str | None, PlainValidator(validate)]


def choices(words: dict[str, tuple[str, ...]]):
    """Return the type of a field for several of ``words``, in the order given."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, (list, tuple)):
            accepted = Message("error.field.choices", words=one_of(words))
            raise InputError(in_words(info), quoted(value), accepted)
        return tuple(dict.fromkeys(chosen(item, words, in_words(info)) for item in value))

    return Annotated[tuple[str, ...], PlainValidator(validate)]


def whole(low: int, high: int, *, even: bool = False):
    """Return the type of an optional field for a whole number from ``low`` to ``high``."""
    accepted = Message(f"error.field.{'even' if even else 'whole'}", low=low, high=high)

    def validate(value, info: ValidationInfo):
        if value is None:
            return None
        typed = isinstance(value, str) and re.fullmatch("[0-9]{1,6}", value.strip())
        number = int(value) if typed or type(value) is int else low - 1
        if not low <= number <= high or (even and number % 2):
            raise InputError(in_words(info), quoted(value), accepted)
        return number

    return Annotated[int | None, PlainValidator(validate)]


def phase_field():
    """Return the type of an optional field for 1 or 3 phases."""

    def validate(value, info: ValidationInfo):
        said = str(value) if type(value) is int and value in (1, 3) else value
        return None if value is None else int(chosen(said, _PHASES, in_words(info)))

    return Annotated[int | None, PlainValidator(validate)]


def text_field(value, info: ValidationInfo) -> str:
    """Read free text; a frame size such as 48 may be a number."""
    text = str(value) if type(value) is int and abs(value) < 10**9 else value
    if not isinstance(text, str) or len(text) > LONGEST_NOTE or not is_plain(text):
        accepted = Message("error.field.plain", count=LONGEST_NOTE)
        raise InputError(in_words(info), quoted(value), accepted)
    return text.strip()


Text = Annotated[str, PlainValidator(text_field)]


def flag_field(value, info: ValidationInfo) -> bool:
    """Read True or False."""
    if not isinstance(value, bool):
        raise InputError(in_words(info), quoted(value), Message("error.field.flag"))
    return value


Flag = Annotated[bool, PlainValidator(flag_field)]


def spelled(text: str, words: dict[str, tuple[str, ...]]) -> str | None:
    """Return the key in ``words`` that matches ``text``, ignoring case, hyphens and underscores."""
    said = _bare(text)
    spellings = ((word, (word, *others)) for word, others in words.items())
    return next((word for word, same in spellings if said in map(_bare, same)), None)


def chosen(value, words: dict[str, tuple[str, ...]], field: str) -> str:
    """Return the key in ``words`` that matches ``value``; raises InputError naming ``field``."""
    found = spelled(value, words) if isinstance(value, str) else None
    if found is None:
        raise InputError(field, quoted(value), one_of(words))
    return found


@dataclass(frozen=True)
class Span:
    """Date known to be from ``first`` to ``last``, both included, and its ``text`` as typed.

    An unknown limit is None.
    """

    first: date | None
    last: date | None
    text: str = ""


def read_day(value: object, field) -> date:
    """Return the date for ``value``, a date or "2026-03-15"; raises InputError naming ``field``."""
    found = _day(value)
    if found is None:
        raise InputError(field, quoted(value), ACCEPTED_DAY)
    return found


def read_span(value: object, field: str) -> Span:
    """Read a date, or a month such as "2026-03" as a Span; raises InputError naming ``field``."""
    if isinstance(value, Span):
        return value
    if (day := _day(value)) is not None:
        return Span(day, day, day.isoformat())
    parts = re.fullmatch(r"\s*([0-9]{4})-([0-9]{2})\s*", value) if isinstance(value, str) else None
    first = _accepted(int(parts[1]), int(parts[2]), 1) if parts else None
    if first is None:
        raise InputError(field, quoted(value), ACCEPTED_SPAN)
    last = first.replace(day=monthrange(first.year, first.month)[1])
    return Span(first, last, value.strip())


class Dates(Record):
    """Key dates of the new motor, each a Span or None, and which of the two warranties applies.

    ``warranty_ends``: "first" or "last", for coverage that ends with the earlier or the later of
    the two warranties under the manufacturer's terms. Raises InputError for an installation date
    before the date of manufacture.
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
    """Return the first error in a record with its other errors attached, MOST_ERRORS at most."""
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
    """Return an error in the nested record ``name``, with its field in words: "nameplate voltage"."""
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


def _day(value: object) -> date | None:
    if isinstance(value, date) and not isinstance(value, datetime):
        return _accepted(value.year, value.month, value.day)
    pattern = r"\s*([0-9]{4})-([0-9]{2})-([0-9]{2})\s*"
    parts = re.fullmatch(pattern, value) if isinstance(value, str) else None
    return _accepted(*map(int, parts.groups())) if parts else None


def _accepted(year: int, month: int, day: int) -> date | None:
    known = FIRST_YEAR <= year <= LAST_YEAR and 1 <= month <= 12
    return date(year, month, day) if known and 1 <= day <= monthrange(year, month)[1] else None
