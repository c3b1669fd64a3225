"""The sheet on which a class's answers are typed: a CSV with a row for each student."""

import csv
import io
import os

from airover.errors import InputError, is_plain
from airover.message import Message
from airover.records.rows import headed_rows
from airover.records.school_class import SchoolClass, same_name
from airover.safe_file import read_text
from airover.tables.writing import guarded
from airover.texts import LANGUAGES, Texts
from airover.units import quoted

FILE = Message("error.answers.file")
LARGEST_SHEET = 1_000_000  # bytes
LONGEST_ANSWER = 200  # characters


def answer_sheet(room: SchoolClass, count: int, answers=None) -> str:
    """The sheet as CSV text: the students' names, then a column for each of ``count`` questions.

    ``answers`` are texts by student, as ``read_answers`` gives them; None leaves all cells empty.
    What a spreadsheet would work as a formula gets an apostrophe first.
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
    """The answers in the sheet at ``path``: ``count`` texts by the name of their student.

    Columns may be divided by commas or semicolons. A student of ``room`` without a row, or with
    an empty one, is left out. Raises InputError for a file that cannot be read, a missing,
    unknown or double column, and a student who is not in the class or stands there twice.
    """
    text = read_text(path, FILE, LARGEST_SHEET)
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


def _places(headings: list[str], count: int) -> list[int]:
    """Where the student's column is, and those of the questions 1 to ``count``."""
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
