"""Grade the answers of a class, read from a CSV file with one row per student."""

import csv
import io
import os
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cached_property

from airover.core.errors import InputError, is_plain
from airover.core.files import LANGUAGES, read_bytes
from airover.core.message import Message
from airover.core.texts import Texts
from airover.core.units import quoted
from airover.lesson.marking import Mark
from airover.lesson.question import Paper, StudentQuestion, make_paper
from airover.records.lesson import CHOICE, SchoolClass, Template, same_name, text_of
from airover.records.sheets import is_workbook, workbook_rows
from airover.records.tables import headed_rows
from airover.reports.writing import guarded

FILE = Message("error.answers.file")
LARGEST_SHEET = 1_000_000  # bytes
LONGEST_ANSWER = 200  # characters
RIGHT, PART, MISSED, UNREAD, BLANK = STATES = ("right", "part", "missed", "unread", "blank")


def answer_sheet(room: SchoolClass, count: int, answers=None) -> str:
    """Return the answer sheet as CSV text.

    The first column contains the student names, followed by one column for each of ``count``
    questions. Text that a spreadsheet would evaluate as a formula is prefixed with an apostrophe.

    Parameters
    ----------
    answers : optional
        Answers by student, as returned by ``read_answers``, or None to leave all cells empty.
    """
    page = io.StringIO(newline="")
    writer = csv.writer(page, lineterminator="\n")
    student = Texts(room.language)("lesson_paper.sheet.student")
    writer.writerow([student, *range(1, count + 1)])
    for name in room.students:
        cells = answers[name] if answers else [""] * count
        writer.writerow([guarded(one) for one in (name, *cells)])
    return page.getvalue()


def read_answers(path: str | os.PathLike, room: SchoolClass, count: int) -> dict[str, tuple]:
    """Read the answer sheet at ``path`` and return ``count`` answers for each student, by name.

    The sheet is a workbook (.xlsx) or a CSV file with commas or semicolons. A student in ``room`` without a row, or with
    an empty row, is omitted.

    Raises
    ------
    InputError
        If the file is unreadable, a column is missing, unknown or duplicated, or a student is not
        in the class or is listed twice.
    """
    content = read_bytes(path, FILE, LARGEST_SHEET)
    if is_workbook(content):
        headings, rows = _of_workbook(content)
    else:
        text = text_of(path, FILE, LARGEST_SHEET)
        divider = ";" if text.partition("\n")[0].count(";") >= count else ","
        headings, rows = headed_rows(text, "answers", divider)
    student, *numbers = _places(headings, count)
    names = {same_name(name): name for name in room.students}
    found = {}
    for line, row in rows:
        field = Message("lesson.error.student", line=line)
        name = names.get(same_name(row[student]))
        if name is None:
            accepted = Message("lesson.error.of_class", name=quoted(room.students[0]))
            raise InputError(field, quoted(row[student]), accepted)
        if name in found:
            given = Message("lesson.error.second_time", name=quoted(name))
            raise InputError(field, given, Message("lesson.error.one_row"))
        found[name] = tuple(_answer(row[at], line, number) for number, at in enumerate(numbers, 1))
    return {name: answers for name, answers in found.items() if any(answers)}


def _of_workbook(content: bytes):
    """Return the headings and the rows with their line numbers, without empty rows and columns."""
    rows = [(line, row) for line, row in workbook_rows(content)[1] if any(row)]
    if len(rows) < 2:
        raise InputError(FILE, Message("error.answers.none"), Message("error.answers.rows"))
    width = max(at for _, row in rows for at, cell in enumerate(row, 1) if cell)
    (_, headings), *rest = [(line, [*row, *[""] * width][:width]) for line, row in rows]
    return headings, rest


@dataclass(frozen=True)
class Script:
    """Test handed in by a student, with the answers ``given`` and their ``marks``."""

    paper: Paper
    given: tuple[str, ...]
    marks: tuple[Mark, ...]

    @property
    def student(self) -> str:
        return self.paper.student

    @property
    def points(self) -> float:
        """Points earned by the student, not counting the answers that could not be read."""
        return sum(mark.points for mark in self.marks)

    @property
    def open_points(self) -> int:
        """Points possible for the answers that the instructor must grade."""
        pairs = zip(self.paper.questions, self.states, strict=True)
        return sum(question.points for question, state in pairs if state == UNREAD)

    @cached_property
    def states(self) -> tuple[str, ...]:
        """State of each question, as defined in STATES."""
        return tuple(map(_state, self.given, self.marks))


@dataclass(frozen=True)
class CommonSlip:
    """Common mistake, described by ``words``, that appears in ``count`` answers to a question."""

    key: str
    count: int
    words: str


@dataclass(frozen=True)
class QuestionResult:
    """Class results for one question.

    Attributes
    ----------
    counts : Mapping[str, int]
        Number of papers in each of STATES.
    share : float
        Points earned as a fraction of the points possible, over all papers handed in. Answers that
        could not be read earn no points here.
    slips : tuple[CommonSlip, ...]
        Mistakes in the answers, most common first.
    """

    number: int
    key: str
    subject: str
    counts: Mapping[str, int]
    share: float
    slips: tuple[CommonSlip, ...]


@dataclass(frozen=True)
class Unread:
    """Answer that could not be read, for the instructor to grade.

    Attributes
    ----------
    given : str
        Answer as written.
    answer : str
        Correct answer.
    points : int
        Points possible.
    """

    student: str
    number: int
    text: str
    given: str
    answer: str
    points: int


@dataclass(frozen=True)
class ClassMarks:
    """Graded papers of a class.

    Attributes
    ----------
    scripts : tuple[Script, ...]
        Graded papers in the order of the class list.
    absent : tuple[str, ...]
        Students who did not hand in a paper.
    """

    room: SchoolClass
    scripts: tuple[Script, ...]
    absent: tuple[str, ...]

    @property
    def most(self) -> int:
        """Points possible on a paper, or 0 if no paper was handed in."""
        return self.scripts[0].paper.points if self.scripts else 0

    @cached_property
    def asked(self) -> tuple[QuestionResult, ...]:
        """Results for the questions, in the order shown on the paper."""
        count = len(self.scripts[0].marks) if self.scripts else 0
        return tuple(_asked(self.scripts, at, self.room.language) for at in range(count))

    @property
    def hardest(self) -> tuple[QuestionResult, ...]:
        """Results for the questions, from fewest to most correct answers."""
        return tuple(sorted(self.asked, key=lambda one: (one.counts[RIGHT], one.share)))

    @cached_property
    def unread(self) -> tuple[Unread, ...]:
        """Answers that the instructor must grade, in the order of the class list."""
        return tuple(
            Unread(
                script.student, at + 1, question.text, script.given[at], question.answer,
                question.points,
            )
            for script in self.scripts
            for at, question in enumerate(script.paper.questions)
            if script.states[at] == UNREAD
        )  # fmt: skip

    def to_dict(self) -> dict:
        """Return plain data for JSON."""
        return {
            "class": self.room.name,
            "seed": self.room.seed,
            "language": self.room.language,
            "system": self.room.system,
            "points_at_most": self.most,
            "absent": list(self.absent),
            "to_grade": [asdict(one) for one in self.unread],
            "students": [_told(script) for script in self.scripts],
            "questions": [_question(one) for one in self.asked],
        }


def class_papers(bank: tuple[Template, ...], room: SchoolClass) -> tuple[Paper, ...]:
    """Return a paper for each student in the class.

    Raises
    ------
    InputError
        For the same reasons as in ``make_paper``.
    """
    return tuple(
        make_paper(
            bank, room.seed, name, room.subjects, room.count, room.language, room.system
        )
        for name in room.students
    )  # fmt: skip


def mark_class(bank: tuple[Template, ...], room: SchoolClass, answers: Mapping) -> ClassMarks:
    """Grade the ``answers`` of a class, listed for each student in the order of the questions.

    A student without an entry counts as absent and is not included in any fraction.

    Raises
    ------
    InputError
        For the same reasons as in ``make_paper``.
    """
    papers = class_papers(bank, room)
    scripts = tuple(
        _script(paper, answers[name])
        for name, paper in zip(room.students, papers, strict=True)
        if name in answers
    )
    absent = tuple(name for name in room.students if name not in answers)
    return ClassMarks(room, scripts, absent)


def _places(headings: list[str], count: int) -> list[int]:
    """Return the indices of the student column and the columns for questions 1 to ``count``."""
    said = [_heading(one) for one in headings]
    wanted = ["student", *map(str, range(1, count + 1))]
    accepted = Message("lesson.error.columns", count=count)
    for one, heading in zip(said, headings, strict=True):
        if one not in wanted or said.count(one) > 1:
            key = "second_column" if one in wanted else "unknown_column"
            given = Message(f"lesson.error.{key}", name=quoted(heading))
            raise InputError(FILE, given, accepted)
    for one in wanted:
        if one not in said:
            given = Message("lesson.error.no_column", name=quoted(one))
            raise InputError(FILE, given, accepted)
    return [said.index(one) for one in wanted]


def _heading(text: str) -> str:
    words = {Texts(one)("lesson_paper.sheet.student") for one in LANGUAGES}
    return "student" if same_name(text) in words else text.strip()


def _answer(cell: str, line: int, number: int) -> str:
    field = Message("lesson.error.cell", line=line, number=number)
    if len(cell) > LONGEST_ANSWER or not is_plain(cell):
        raise InputError(field, quoted(cell), Message("lesson.error.plain", most=LONGEST_ANSWER))
    return " ".join(cell.strip().removeprefix("'").split())


def _script(paper: Paper, given) -> Script:
    marks = (one.mark(text) for one, text in zip(paper.questions, given, strict=True))
    return Script(paper, tuple(given), tuple(marks))


def _state(given: str, mark: Mark) -> str:
    if mark.right:
        return RIGHT
    if mark.points > 0:
        return PART
    if not given.strip():
        return BLANK
    return MISSED if mark.read else UNREAD


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
    """Return the mistakes in a question, with the feedback to the first student who made each."""
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
