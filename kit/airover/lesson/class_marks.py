"""A class's answers marked: each student's points, each question's share, and the usual slips."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from airover.lesson.marking import Mark
from airover.lesson.paper import Paper, make_paper
from airover.lesson.question import StudentQuestion
from airover.records.questions import CHOICE, Template
from airover.records.school_class import SchoolClass
from airover.texts import Texts

RIGHT, PART, MISSED, BLANK = STATES = ("right", "part", "missed", "blank")


@dataclass(frozen=True)
class Script:
    """One student's ``paper`` as it was handed in: what was ``given``, and the ``marks``."""

    paper: Paper
    given: tuple[str, ...]
    marks: tuple[Mark, ...]

    @property
    def student(self) -> str:
        return self.paper.student

    @property
    def points(self) -> float:
        """Points earned."""
        return sum(mark.points for mark in self.marks)

    @cached_property
    def states(self) -> tuple[str, ...]:
        """One of STATES for each question."""
        return tuple(map(_state, self.given, self.marks))


@dataclass(frozen=True)
class CommonSlip:
    """What went wrong in ``count`` answers to one question, in ``words``."""

    key: str
    count: int
    words: str


@dataclass(frozen=True)
class QuestionResult:
    """One question of the class: how many papers ended in each of STATES, and its slips.

    ``share`` is of the question's points, over all papers that were handed in; ``slips`` begin
    with the most common one.
    """

    number: int
    key: str
    subject: str
    counts: Mapping[str, int]
    share: float
    slips: tuple[CommonSlip, ...]


@dataclass(frozen=True)
class ClassMarks:
    """All ``scripts`` of a class in its order, and who is ``absent``: handed in nothing."""

    room: SchoolClass
    scripts: tuple[Script, ...]
    absent: tuple[str, ...]

    @property
    def most(self) -> int:
        """Points of a whole paper; 0 where none was handed in."""
        return self.scripts[0].paper.points if self.scripts else 0

    @cached_property
    def asked(self) -> tuple[QuestionResult, ...]:
        """The questions in the order of the paper."""
        count = len(self.scripts[0].marks) if self.scripts else 0
        return tuple(_asked(self.scripts, at, self.room.language) for at in range(count))

    @property
    def hardest(self) -> tuple[QuestionResult, ...]:
        """The questions, the one that was right least often first."""
        return tuple(sorted(self.asked, key=lambda one: (one.counts[RIGHT], one.share)))

    def to_dict(self) -> dict:
        """Plain data, for JSON."""
        return {
            "class": self.room.name,
            "seed": self.room.seed,
            "language": self.room.language,
            "system": self.room.system,
            "points_at_most": self.most,
            "absent": list(self.absent),
            "students": [_told(script) for script in self.scripts],
            "questions": [_question(one) for one in self.asked],
        }


def class_papers(bank: tuple[Template, ...], room: SchoolClass) -> tuple[Paper, ...]:
    """A paper for each student of the class; raises InputError as ``make_paper`` does."""
    return tuple(
        make_paper(
            bank, room.seed, name, room.subjects, room.count, room.language, room.system
        )
        for name in room.students
    )  # fmt: skip


def mark_class(bank: tuple[Template, ...], room: SchoolClass, answers: Mapping) -> ClassMarks:
    """The class's ``answers`` marked: texts in the order of the paper, by the student's name.

    A student without an entry is absent, and counts in no share. Raises InputError as
    ``make_paper`` does.
    """
    papers = class_papers(bank, room)
    scripts = tuple(
        _script(paper, answers[name])
        for name, paper in zip(room.students, papers, strict=True)
        if name in answers
    )
    absent = tuple(name for name in room.students if name not in answers)
    return ClassMarks(room, scripts, absent)


def _script(paper: Paper, given) -> Script:
    marks = (one.mark(text) for one, text in zip(paper.questions, given, strict=True))
    return Script(paper, tuple(given), tuple(marks))


def _state(given: str, mark: Mark) -> str:
    if mark.right:
        return RIGHT
    if mark.points > 0:
        return PART
    return MISSED if given.strip() else BLANK


def _asked(scripts: tuple[Script, ...], at: int, language: str) -> QuestionResult:
    first = scripts[0].paper.questions[at]
    states = Counter(script.states[at] for script in scripts)
    earned = sum(script.marks[at].points for script in scripts)
    return QuestionResult(
        number=at + 1,
        key=first.key,
        subject=Texts(language)(f"lesson.subject.{first.subject}"),
        counts={state: states[state] for state in STATES},
        share=earned / (first.points * len(scripts)),
        slips=_slips(scripts, at, Texts(language)),
    )


def _slips(scripts: tuple[Script, ...], at: int, texts: Texts) -> tuple[CommonSlip, ...]:
    """The slips of one question; the words are those that the first of the students was told."""
    found = Counter()
    words = {}
    for script in scripts:
        if script.states[at] in (PART, MISSED):
            mark = script.marks[at]
            found[mark.slip] += 1
            words.setdefault(mark.slip, _words(script.paper.questions[at], mark, texts))
    return tuple(CommonSlip(key, count, words[key]) for key, count in found.most_common())


def _words(question: StudentQuestion, mark: Mark, texts: Texts) -> str:
    if question.kind == CHOICE and mark.slip:
        return question.options[question.marking.keys.index(mark.slip)]
    if mark.slip in ("unit", "order"):
        return texts(f"lesson_paper.slip.{mark.slip}")
    return mark.told if mark.slip else texts("lesson_paper.slip.other")


def _told(script: Script) -> dict:
    rows = zip(script.paper.questions, script.given, script.states, script.marks, strict=True)
    return {
        "student": script.student,
        "points": script.points,
        "questions": [
            {
                "key": question.key,
                "given": given,
                "answer": question.answer,
                "state": state,
                "points": mark.points,
                "slip": mark.slip,
                "told": mark.told,
            }
            for question, given, state, mark in rows
        ],
    }


def _question(one: QuestionResult) -> dict:
    slips = [{"slip": slip.key, "count": slip.count, "words": slip.words} for slip in one.slips]
    return {
        "number": one.number,
        "key": one.key,
        "subject": one.subject,
        "counts": dict(one.counts),
        "share_of_points": one.share,
        "slips": slips,
    }
