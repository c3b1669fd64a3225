"""Grade a student's answer. An answer is never evaluated as code."""

import math
import re
import unicodedata
from dataclasses import dataclass

from airover.core.errors import InputError
from airover.core.kinds import KINDS
from airover.core.texts import Texts
from airover.core.units import coherent, convert, parse_number

LONGEST = 200  # maximum number of characters read from an answer
ROUNDING = 1e-9
# A number, which may have a fraction, and the text after it.
_WRITTEN = re.compile(
    r"[=~\u2248$\s]*(?P<sign>[+-]?)\s*"
    r"(?P<number>[0-9][0-9.,]*(?:\s+[0-9]+/[0-9]+|/[0-9]+)?|[.,][0-9]+)\s*(?P<rest>.*)",
    re.DOTALL,
)
_LETTER = re.compile(r"\W*([A-Za-z])\W*")


@dataclass(frozen=True)
class Mark:
    """Grade of an answer.

    Attributes
    ----------
    points : float
        Points earned.
    right : bool
        True if the answer is correct.
    told : str
        Feedback for the student.
    slip : str
        Key of the mistake in the question, "unit" for a number that would be correct in another
        unit, "order" for steps out of order, the key of the selected option, or "".
    """

    points: float
    right: bool
    told: str
    slip: str = ""


def shown_number(value: float) -> str:
    """Format ``value`` with three significant figures, or more for whole numbers below 10 000.

    >>> shown_number(0.45204), shown_number(56568.5), shown_number(1075.0)
    ('0.452', '56600', '1075')
    """
    if value == round(value) and abs(value) < 10_000:
        return f"{value:.0f}"
    digits = 2 - math.floor(math.log10(abs(value)))
    text = f"{round(value, digits):.{max(digits, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def plain(given: object) -> str:
    """Return the student's answer in plain characters, truncated to the maximum length."""
    text = "" if given is None else str(given)[:LONGEST]
    minus = text.translate({0x2212: "-", 0x2013: "-", 0x2044: "/"})
    return unicodedata.normalize("NFKC", minus).strip()


class _Marking:
    """Base class for all grading methods, with an ``answer`` and a ``language``."""

    answer: str
    language: str

    def mark(self, given: str) -> Mark:
        texts, text = Texts(self.language), plain(given)
        if not text:
            return Mark(0.0, False, texts("lesson.blank", answer=self.answer))
        return self._of(text, texts)

    def _of(self, text: str, texts: Texts) -> Mark:
        """Return the Mark for a ``text`` that is not blank."""
        raise NotImplementedError


@dataclass(frozen=True)
class NumberMarking(_Marking):
    """Grading of a numeric answer.

    Attributes
    ----------
    value : float
        Correct value in the SI unit of ``quantity``.
    unit : str
        Unit requested for the answer.
    tolerance, tolerance_k : float or None
        Tolerance [%] or [K].
    slips : tuple
        Common mistakes as tuples (key, value, fraction of the points, text).
    """

    value: float
    quantity: str
    unit: str
    tolerance: float
    tolerance_k: float
    slips: tuple[tuple[str, float, float, str], ...]
    answer: str
    points: int
    language: str

    def _of(self, text: str, texts: Texts) -> Mark:
        written = _WRITTEN.fullmatch(text)
        numbers = readings(written["sign"], written["number"]) if written else []
        if not numbers:
            return Mark(0.0, False, texts("lesson.no_number", answer=self.answer))
        rest = written["rest"].strip().rstrip(".")
        values = [self._in_si(number, rest) for number in numbers]
        if None in values:
            told = texts("lesson.other_unit", unit=self.unit, answer=self.answer)
            return Mark(0.0, False, told, "unit")
        return self._judged(numbers, values, texts)

    def _judged(self, numbers: list[float], values: list[float], texts: Texts) -> Mark:
        if any(self._near(value, self.value) for value in values):
            return Mark(float(self.points), True, texts("lesson.right"))
        for key, slip, share, told in self.slips:
            if any(self._near(value, slip) for value in values):
                return Mark(self.points * share, False, told, key)
        for unit in self._units():
            there = convert(self.value, self.quantity, unit)
            if any(self._near(self._si(number, unit), self.value) for number in numbers):
                told = texts("lesson.unit", unit=unit, answer=self.answer,
                             there=shown_number(there))  # fmt: skip
                return Mark(0.0, False, told, "unit")
        return Mark(0.0, False, texts("lesson.wrong", answer=self.answer))

    def _units(self) -> list[str]:
        """Return one name for each unit of the quantity."""
        if not self.quantity:
            return []
        firsts: dict[str, str] = {}
        for word, name in KINDS[self.quantity].words.items():
            firsts.setdefault(name, word)
        return list(firsts.values())

    def _in_si(self, number: float, rest: str) -> float | None:
        """Convert the number to the SI unit of the quantity.

        Returns None if the unit belongs to a different quantity.
        """
        if not self.quantity:
            return None if re.search("[0-9]", rest) else number
        try:
            return self._si(number, rest or self.unit)
        except InputError:
            return None

    def _si(self, number: float, unit: str) -> float:
        return coherent(number, self.quantity, unit, "answer")

    def _near(self, value: float, wanted: float) -> bool:
        room = abs(wanted) * (self.tolerance / 100 + ROUNDING) + self.tolerance_k
        return abs(value - wanted) <= room


def readings(sign: str, number: str) -> list[float]:
    """Return the possible values of a number as written.

    A comma can be a thousands separator or a decimal comma.

    >>> readings("", "1,075"), readings("-", "7,5")
    ([1075.0, 1.075], [-7.5])
    """
    texts = [number, number.replace(",", ".")] if number.count(",") == 1 else [number]
    found = dict.fromkeys(parse_number(text, fractions=True) for text in texts)
    factor = -1.0 if sign == "-" else 1.0
    return [factor * one for one in found if one is not None and math.isfinite(one)]


@dataclass(frozen=True)
class ChoiceMarking(_Marking):
    """Grading of a multiple-choice question.

    Attributes
    ----------
    answer : str
        Letter of the correct option.
    keys : tuple[str, ...]
        Key of each option.
    told : tuple[str, ...]
        Feedback for each option.
    """

    answer: str
    keys: tuple[str, ...]
    told: tuple[str, ...]
    points: int
    language: str

    def _of(self, text: str, texts: Texts) -> Mark:
        letter = _LETTER.fullmatch(text)
        at = ord(letter[1].upper()) - ord("A") if letter else -1
        if not 0 <= at < len(self.keys):
            return Mark(0.0, False, texts("lesson.no_letter", answer=self.answer))
        if letter[1].upper() == self.answer:
            return Mark(float(self.points), True, texts("lesson.right"))
        told = self.told[at] or texts("lesson.wrong", answer=self.answer)
        return Mark(0.0, False, told, self.keys[at])


@dataclass(frozen=True)
class OrderMarking(_Marking):
    """Grading of an ordering question."""

    answer: str
    options: tuple[str, ...]
    points: int
    language: str

    def _of(self, text: str, texts: Texts) -> Mark:
        letters, right = re.findall("[A-Z]", text.upper()), self.answer.split()
        if sorted(letters) != sorted(right):
            return Mark(0.0, False, texts("lesson.no_order", answer=self.answer))
        if letters == right:
            return Mark(float(self.points), True, texts("lesson.right"))
        place = next(at for at, pair in enumerate(zip(letters, right)) if pair[0] != pair[1])
        told = texts(
            "lesson.out_of_order",
            place=place + 1,
            given=letters[place],
            right=right[place],
            step=self.options[ord(right[place]) - ord("A")].rstrip("."),
            answer=self.answer,
        )
        return Mark(0.0, False, told, "order")
