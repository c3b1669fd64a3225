"""A template of a question, as a file of the bank writes it: checked as it is read."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field, PlainValidator, ValidationInfo

from airover.errors import NOTHING, InputError, one_of
from airover.kinds import KINDS
from airover.limits import Range
from airover.message import Message
from airover.records.fields import Record, Text, choice, whole
from airover.units import coherent, quoted

NUMBER, CHOICE, ORDER = "number", "choice", "order"
KINDS_OF_QUESTION = {NUMBER: (), CHOICE: (), ORDER: ()}
FEWEST_OPTIONS = {NUMBER: 0, CHOICE: 3, ORDER: 4}
MOST_OPTIONS = 8
MOST_VALUES = 1000
WIDEST = 100  # per cent or K, of a tolerance
LARGEST = 1e9  # of any number in a question, either sign


def _number(value, info: ValidationInfo) -> float:
    if not _is_number(value):
        accepted = Message("error.question.number", most=f"{LARGEST:g}")
        raise InputError(info.field_name, quoted(value), accepted)
    return float(value)


def _is_number(value) -> bool:
    """True for a number that can be reckoned with: neither NaN nor beyond all measure."""
    return type(value) in (int, float) and abs(value) <= LARGEST


Number = Annotated[float, PlainValidator(_number)]


def _among(value, info: ValidationInfo) -> tuple:
    """A list of numbers, or of words."""
    listed_values = isinstance(value, list | tuple) and len(value) > 0
    words = listed_values and all(isinstance(one, str) for one in value)
    if words:
        return tuple(value)
    if not listed_values or not all(map(_is_number, value)):
        accepted = Message("error.question.among")
        raise InputError(info.field_name, quoted(str(value)), accepted)
    return tuple(map(float, value))


def tables(record: type[Record]):
    """The type of a field that holds tables of one ``record``, each by its key."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, dict) or not all(isinstance(one, dict) for one in value.values()):
            accepted = Message("error.question.tables")
            raise InputError(info.field_name, quoted(str(value)), accepted)
        return {key: _inner(record, given, f"{info.field_name} {key}") for key, given in
                value.items()}  # fmt: skip

    return Annotated[dict, PlainValidator(validate)]


def table(record: type[Record]):
    """The type of a field that holds one ``record``, or nothing."""

    def validate(value, info: ValidationInfo):
        if not isinstance(value, dict):
            accepted = Message("error.field.table_of", names=record.names())
            raise InputError(info.field_name, quoted(str(value)), accepted)
        return _inner(record, value, info.field_name)

    return Annotated[record | None, PlainValidator(validate)]


def _inner(record: type[Record], given: dict, place: str) -> Record:
    try:
        return record(**given)
    except InputError as error:
        raise error.within(place) from None


class Said(Record):
    """One text in every language; each of them is needed."""

    en: Text = ""
    es: Text = ""

    def contradictions(self) -> Iterator[InputError]:
        for language in ("en", "es"):
            if not getattr(self, language):
                yield InputError(language, NOTHING, Message("error.field.text"))


class Draw(Record):
    """What a place of the text may be: ``low`` to ``high`` by ``step``, or one ``among`` several.

    Numbers have a ``kind`` of `kinds.KINDS` and are in ``unit``; without a kind they are plain.
    Words are those of the kit's choices, such as "up", or stay as they are.
    """

    low: Number = None
    high: Number = None
    step: Number = None
    among: Annotated[tuple, PlainValidator(_among)] = ()
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
        """Everything that may be drawn: words, or numbers in SI units (plain ones as they are)."""
        if self.among and isinstance(self.among[0], str):
            return self.among
        numbers = self.among or self._range()
        if not self.kind:
            return numbers
        return tuple(coherent(one, self.kind, self.unit, "unit") for one in numbers)

    def _range(self) -> tuple[float, ...]:
        steps = int((self.high - self.low) / self.step + 1e-9)
        return tuple(self.low + count * self.step for count in range(steps + 1))


class Slip(Said):
    """What a usual slip is told; it gets ``share`` of the points, 0 to 1."""

    share: Number = 0.0

    def contradictions(self) -> Iterator[InputError]:
        yield from super().contradictions()
        if not 0 <= self.share < 1:
            yield InputError("share", f"{self.share:g}", Message("error.question.share"))


class Option(Said):
    """One option, or one step of an order; ``told`` is what who chose it wrongly is told."""

    told: table(Said) = None


class Units(Record):
    """The unit in which the answer is asked, in each system."""

    US: Text = ""
    SI: Text = ""


class Template(Record):
    """A question with places for what is drawn; `lesson.question.ask` makes Questions of it.

    ``answer`` names the function that works it: for a number always, else where what is drawn
    decides. Without one ``right`` is the key of the right option, and steps of an order stand in
    their right order. ``quantity`` (a key of `kinds.KINDS`, "" for a plain number) and ``unit``
    are the answer's; ``tolerance`` is in per cent of it, ``tolerance_k`` in K.
    """

    key: Text = ""
    subject: Text = ""
    kind: choice(KINDS_OF_QUESTION) = None
    points: whole(1, 20) = None
    minutes: Number = 0.0
    draw: tables(Draw) = Field(default_factory=dict)
    ask: table(Said) = None
    solution: table(Said) = None
    answer: Text = ""
    quantity: Text = ""
    unit: table(Units) = Units()
    tolerance: Number = 0.0
    tolerance_k: Number = 0.0
    slips: tables(Slip) = Field(default_factory=dict)
    options: tables(Option) = Field(default_factory=dict)
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
