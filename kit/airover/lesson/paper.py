"""A paper: questions from the bank, the same for a class, with each student's own numbers."""

from dataclasses import dataclass

from airover.core.errors import InputError, one_of
from airover.core.message import Message
from airover.core.units import quoted
from airover.lesson.question import Chance, StudentQuestion, ask
from airover.records.lesson import Template


@dataclass(frozen=True)
class Paper:
    """The ``questions`` of one ``student`` ("" for a paper of nobody's own)."""

    seed: int
    student: str
    language: str
    system: str
    questions: tuple[StudentQuestion, ...]

    @property
    def points(self) -> int:
        """Points of all questions together."""
        return sum(question.points for question in self.questions)

    @property
    def minutes(self) -> float:
        """Minutes that they usually take."""
        return sum(question.minutes for question in self.questions)


def make_paper(
    bank: tuple[Template, ...], seed: int, student: str = "", subjects=None, count: int = 12,
    language: str = "en", system: str = "US",
) -> Paper:  # fmt: skip
    """The paper of ``student``: ``count`` questions of ``subjects`` (None: all) from ``bank``.

    The same arguments give the same paper for ever. Students of one ``seed`` get the same
    questions in the same order, each with their own numbers and order of options. ``language`` is
    one of `core.files.LANGUAGES`, ``system`` "US" or "SI". Raises InputError for an unknown subject, language or
    system, and for more questions than there are.
    """
    student = student.strip()
    chosen = picked(bank, seed, subjects, count)
    questions = tuple(
        ask(template, Chance("numbers", seed, student, template.key), language, system)
        for template in chosen
    )
    return Paper(seed, student, language, system, questions)


def picked(bank: tuple[Template, ...], seed: int, subjects, count: int) -> tuple[Template, ...]:
    """Templates of a class, in the bank's order; each subject gives as many as the others can."""
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
    rounds = (pile[turn] for turn in range(most) for pile in piles.values() if turn < len(pile))
    keys = [template.key for template, _ in zip(rounds, range(count))]
    return tuple(template for template in bank if template.key in keys)
