"""Generate questions and a student's test paper from templates in the bank.

All students in a class get the same questions with different numbers. The numbers do not depend on
the Python or NumPy version.
"""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import count, pairwise, zip_longest

from airover.core.errors import InputError, one_of
from airover.core.message import Message
from airover.core.texts import PLACE, Texts
from airover.core.units import convert, quoted, read, show
from airover.lesson.answers import ANSWERS, Solved
from airover.lesson.marking import ChoiceMarking, Mark, NumberMarking, OrderMarking, shown_number
from airover.records.lesson import CHOICE, NUMBER, Template

LETTERS = "ABCDEFGH"
MAIN = "fan_laws", "fitting"  # subjects of half of a paper on all subjects
TRIES = 200
# Minimum distance between the answer and each mistake, as a multiple of the tolerance.
APART = 2.5


class Chance:
    """Random number generator seeded only with text.

    The same text always gives the same numbers. Each number is part of the SHA-256 hash of the text
    and a counter. NumPy does not guarantee the same random numbers in later versions, and a paper
    must be reproducible.

    >>> Chance("7", "Student 1").shuffled("ABCD")
    ['A', 'C', 'D', 'B']
    """

    def __init__(self, *texts: object):
        self._of = "\x1f".join(map(str, texts))
        self._count = count()

    def below(self, most: int) -> int:
        """Return a whole number from 0 to ``most`` - 1.

        All numbers are equally likely to within 1 part in 2^200.
        """
        text = f"{self._of}\x1f{next(self._count)}"
        return int.from_bytes(hashlib.sha256(text.encode("utf-8", "replace")).digest()) % most

    def one_of(self, things: Sequence):
        return things[self.below(len(things))]

    def shuffled(self, things: Sequence) -> list:
        """Return ``things`` in random order, with every order equally likely."""
        left = list(things)
        return [left.pop(self.below(len(left))) for _ in things]


@dataclass(frozen=True)
class StudentQuestion:
    """Question with one student's numbers, in one language and unit system.

    Attributes
    ----------
    kind : str
        Kind of question, "number", "choice" or "order".
    subject : str
        Subject. Its name is the message "lesson.subject.<subject>".
    unit : str
        Unit requested for the answer, or "".
    options : tuple[str, ...]
        Options lettered A, B, C in order, or empty for a number.
    answer, solution, tolerance : str
        Correct answer (such as "512 W", "B" or "C A D B"), worked solution and tolerance ("within 3
        %" or "") for the answer key.
    """

    key: str
    kind: str
    subject: str
    text: str
    unit: str
    options: tuple[str, ...]
    points: int
    minutes: float
    answer: str
    solution: str
    tolerance: str
    marking: NumberMarking | ChoiceMarking | OrderMarking = field(repr=False)

    def mark(self, given: str) -> Mark:
        """Return the Mark for a student's answer ``given``.

        A blank answer earns 0 points. This method never raises an exception.
        """
        return self.marking.mark(given)


def ask(
    template: Template, chance: Chance, language: str = "en", system: str = "US"
) -> StudentQuestion:
    """Return a StudentQuestion generated from ``template`` with ``chance``.

    The arguments ``language`` and ``system`` ("US" or "SI") change the words and units, but not the
    sampled values. The answer is calculated from the displayed amounts, so that a student can get
    the same result.

    Raises
    ------
    InputError
        If the language or unit system is not supported.
    ArithmeticError
        If the answer and the mistakes are still too close to each other after 200 attempts.
    """
    texts, raw = Texts(language), drawn(template, chance)
    values, places = _as_shown(template, raw, texts, system)
    if template.kind == NUMBER:
        return _number(template, values, places, texts, system)
    return _lettered(template, values, places, texts, chance)


def drawn(template: Template, chance: Chance) -> dict:
    """Return a value for each placeholder, as a number in SI units or a word."""
    for _ in range(TRIES):
        values = {name: chance.one_of(draw.values) for name, draw in template.draw.items()}
        if template.kind != NUMBER or _apart(template, ANSWERS[template.answer](**values)):
            return values
    raise ArithmeticError(f"question {template.key}: no draw keeps the answer and slips apart")


def within(template: Template, value: float) -> float:
    """Return the tolerance of an answer around ``value``, in its SI unit."""
    return abs(value) * template.tolerance / 100 + template.tolerance_k


def filled(text: str, places: dict[str, str]) -> str:
    """Return ``text`` with each placeholder in braces replaced by its value in ``places``."""
    return PLACE.sub(lambda place: places[place[1]], text)


def _apart(template: Template, solved: Solved) -> bool:
    values = sorted([solved.value, *solved.slips.values()])
    return all(
        high - low > max(APART * max(within(template, low), within(template, high)), 1e-6)
        for low, high in pairwise(values)
    )


def _as_shown(template: Template, raw: dict, texts: Texts, system: str):
    """Return the values as displayed on the paper, and the displayed strings."""
    values, places = {}, {}
    for name, draw in template.draw.items():
        value, said = raw[name], None
        if isinstance(value, str):
            said = texts.word(value)
        elif draw.kind:
            said = show(value, draw.kind, system)
            value = read(said, draw.kind, name).mid
        values[name], places[name] = value, f"{value:g}" if said is None else said
    return values, places


def _number(template: Template, values, places, texts: Texts, system: str) -> StudentQuestion:
    solved = ANSWERS[template.answer](**values)
    if not math.isfinite(solved.value):
        raise ArithmeticError(f"question {template.key}: the answer is not finite")
    unit = getattr(template.unit, system)
    asked = convert(solved.value, template.quantity, unit) if template.quantity else solved.value
    answer = f"{shown_number(asked)} {unit}".strip()
    more = {name: _told(*one, system) for name, one in solved.shown.items()}
    places = places | more | {"answer": answer}
    marking = NumberMarking(
        value=solved.value,
        quantity=template.quantity,
        unit=unit,
        tolerance=template.tolerance,
        tolerance_k=template.tolerance_k,
        slips=tuple(
            (key, solved.slips[key], slip.share, filled(slip.text(texts.language), places))
            for key, slip in template.slips.items()
        ),
        answer=answer,
        points=template.points,
        language=texts.language,
    )
    said = _tolerance(template, texts, system)
    return _question(template, places, texts, unit, (), answer, said, marking)


def _told(value: float, kind: str, system: str) -> str:
    return show(value, kind, system) if kind else shown_number(value)


def _tolerance(template: Template, texts: Texts, system: str) -> str:
    if template.tolerance_k:
        said = show(template.tolerance_k, "temperature_rise", system)
    else:
        said = f"{template.tolerance:g} %" if template.tolerance else ""
    return texts("lesson.within", value=said) if said else ""


def _lettered(template: Template, values, places, texts: Texts, chance: Chance) -> StudentQuestion:
    keys = list(template.options)
    solved = ANSWERS[template.answer](**values) if template.answer else template.right
    placed = chance.shuffled(keys)
    while template.kind != CHOICE and placed == keys:  # avoid an order that is already correct
        placed = chance.shuffled(keys)
    said = {key: filled(template.options[key].text(texts.language), places) for key in keys}
    options = tuple(said[key] for key in placed)
    points, language = template.points, texts.language
    if template.kind == CHOICE:
        answer = LETTERS[placed.index(solved)]
        told = (template.options[key].told for key in placed)
        feedback = tuple(filled(one.text(language), places) if one else "" for one in told)
        marking = ChoiceMarking(answer, tuple(placed), feedback, points, language)
        places = places | {"answer": said[solved]}
    else:
        answer = " ".join(LETTERS[placed.index(key)] for key in keys)
        marking = OrderMarking(answer, options, points, language)
    return _question(template, places, texts, "", options, answer, "", marking)


def _question(
    template, places, texts, unit, options, answer, tolerance, marking
) -> StudentQuestion:
    return StudentQuestion(
        key=template.key,
        kind=template.kind,
        subject=template.subject,
        text=filled(template.ask.text(texts.language), places),
        unit=unit,
        options=options,
        points=template.points,
        minutes=template.minutes,
        answer=answer,
        solution=filled(template.solution.text(texts.language), places),
        tolerance=tolerance,
        marking=marking,
    )


@dataclass(frozen=True)
class Paper:
    """Test paper with its ``questions``; ``student`` is empty for a paper without a name."""

    seed: int
    student: str
    language: str
    system: str
    questions: tuple[StudentQuestion, ...]

    @property
    def points(self) -> int:
        """Total points of all questions."""
        return sum(question.points for question in self.questions)

    @property
    def minutes(self) -> float:
        """Typical total time for all questions [min]."""
        return sum(question.minutes for question in self.questions)


def make_paper(
    bank: tuple[Template, ...], seed: int, student: str = "", subjects=None, count: int = 12,
    language: str = "en", system: str = "US",
) -> Paper:  # fmt: skip
    """Return the test paper for ``student``.

    The paper has ``count`` questions on ``subjects`` (all subjects if None) from ``bank``. The same
    arguments always give the same paper. Students with the same ``seed`` get the same questions in
    the same order, but with different numbers and a different order of options.

    Parameters
    ----------
    language : str, optional
        One of `core.files.LANGUAGES`.
    system : str, optional
        Unit system, "US" or "SI".

    Raises
    ------
    InputError
        If the subject, language or unit system is unknown, or if there are fewer than ``count``
        questions.
    """
    student = student.strip()
    chosen = picked(bank, seed, subjects, count)
    questions = tuple(
        ask(template, Chance("numbers", seed, student, template.key), language, system)
        for template in chosen
    )
    return Paper(seed, student, language, system, questions)


def picked(bank: tuple[Template, ...], seed: int, subjects, count: int) -> tuple[Template, ...]:
    """Return the templates for a class, in the order of the question bank.

    Without ``subjects``, half of the questions are on the subjects in `MAIN`, and the others are
    spread across all other subjects as evenly as possible. With ``subjects``, all questions are
    spread across these subjects as evenly as possible.
    """
    known = list(dict.fromkeys(template.subject for template in bank))
    wanted = known if subjects is None else list(subjects)
    for subject in wanted:
        if subject not in known:
            raise InputError("subjects", quoted(subject), one_of(known))
    piles = {
        subject: Chance("templates", seed, subject).shuffled(
            [template for template in bank if template.subject == subject]
        )
        for subject in Chance("subjects", seed).shuffled([s for s in known if s in wanted])
    }
    most = sum(map(len, piles.values()))
    if type(count) is not int or not 1 <= count <= most:
        raise InputError("count", quoted(count), Message("lesson.error.count", most=most))
    main = [piles[subject] for subject in MAIN if subject in piles] if subjects is None else []
    chosen = _spread(main)[: (count + 1) // 2]
    others = [pile for pile in piles.values() if not any(pile is one for one in main)]
    # The other subjects come first; the rest of the main subjects fills a paper that is very long.
    chosen += [one for one in _spread(others) + _spread(main) if one not in chosen]
    keys = {template.key for template in chosen[:count]}
    return tuple(template for template in bank if template.key in keys)


def _spread(piles: list[list[Template]]) -> list[Template]:
    """Return the templates in ``piles``, one from each pile in turn."""
    turns = zip_longest(*piles)
    return [template for turn in turns for template in turn if template is not None]
