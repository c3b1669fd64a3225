"""Grade a student's answer. An answer is never evaluated as code."""

import math
from dataclasses import dataclass
from itertools import combinations

from airover.core.errors import InputError
from airover.core.kinds import KINDS
from airover.core.texts import Texts
from airover.core.units import coherent, convert
from airover.lesson import written

ROUNDING = 1e-9
SMALLEST = 0.5  # points, the step of the points for an order that is correct in part


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
    read : bool
        False if the answer could not be read, so that the instructor must grade it.
    """

    points: float
    right: bool
    told: str
    slip: str = ""
    read: bool = True


def shown_number(value: float) -> str:
    """Format ``value`` with three significant figures, or more for whole numbers below 10,000.

    >>> shown_number(0.45204), shown_number(56568.5), shown_number(1075.0)
    ('0.452', '56600', '1075')
    """
    if value == round(value) and abs(value) < 10_000:
        return f"{value:.0f}"
    digits = 2 - math.floor(math.log10(abs(value)))
    text = f"{round(value, digits):.{max(digits, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


class _Marking:
    """Base class for all grading methods, with an ``answer``, ``points`` and a ``language``."""

    answer: str
    points: int
    language: str

    def mark(self, given: str) -> Mark:
        texts, text = Texts(self.language), written.plain(given)
        if not text:
            return Mark(0.0, False, texts("lesson.blank", answer=self.answer))
        points = written.awarded(text, self.points)
        if points is not None:
            told = texts("lesson.awarded", answer=self.answer)
            return Mark(points, points == self.points, told)
        return self._of(text, texts)

    def _unread(self, texts: Texts) -> Mark:
        return Mark(0.0, False, texts("lesson.unread", answer=self.answer), read=False)

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
        found = written.number(text)
        if found is None:
            return self._unread(texts)
        numbers, rest = found
        values = [self._in_si(number, rest) for number in numbers]
        if None not in values:
            return self._judged(numbers, values, texts)
        if not any(_fits(rest, kind) for kind in KINDS):
            return self._unread(texts)
        told = texts("lesson.other_unit", unit=self.unit, answer=self.answer)
        return Mark(0.0, False, told, "unit")

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
            return number
        return self._si(number, rest or self.unit) if _fits(rest, self.quantity) else None

    def _si(self, number: float, unit: str) -> float:
        return coherent(number, self.quantity, unit, "answer")

    def _near(self, value: float, wanted: float) -> bool:
        room = abs(wanted) * (self.tolerance / 100 + ROUNDING) + self.tolerance_k
        return abs(value - wanted) <= room


def _fits(unit: str, kind: str) -> bool:
    """Return True if ``unit`` is empty or a unit of ``kind``."""
    if unit:
        try:
            coherent(1.0, kind, unit, "answer")
        except InputError:
            return False
    return True


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
        letter = written.letter(text)
        at = ord(letter) - ord("A") if letter else -1
        if not 0 <= at < len(self.keys):
            return self._unread(texts)
        if letter == self.answer:
            return Mark(float(self.points), True, texts("lesson.right"))
        told = self.told[at] or texts("lesson.wrong", answer=self.answer)
        return Mark(0.0, False, told, self.keys[at])


@dataclass(frozen=True)
class OrderMarking(_Marking):
    """Grading of an ordering question.

    Each pair of steps in the right order earns credit, and each pair in the wrong order loses the
    same amount. The result is rounded down to a multiple of `SMALLEST` points.
    """

    answer: str
    options: tuple[str, ...]
    points: int
    language: str

    def _of(self, text: str, texts: Texts) -> Mark:
        right = self.answer.split()
        letters = written.letters(text, "".join(right))
        if not letters:
            return self._unread(texts)
        if letters == right:
            return Mark(float(self.points), True, texts("lesson.right"))
        place = next(
            (at for at, pair in enumerate(zip(letters, right)) if pair[0] != pair[1]), len(letters)
        )
        step = self.options[ord(right[place]) - ord("A")].rstrip(".")
        places = {"place": place + 1, "right": right[place], "step": step, "answer": self.answer}
        if place == len(letters):
            told = texts("lesson.steps_missing", **places)
        else:
            told = texts("lesson.out_of_order", given=letters[place], **places)
        return Mark(self._in_part(letters, right), False, told, "order")

    def _in_part(self, letters: list[str], right: list[str]) -> float:
        pairs = combinations(map(right.index, letters), 2)
        net = sum(1 if one < other else -1 for one, other in pairs)
        share = max(net, 0) / math.comb(len(right), 2)
        return math.floor(self.points * share / SMALLEST) * SMALLEST
