"""The command ``airover lesson``: papers for a class, and the marking of its answers."""

import json
from pathlib import Path

MARKED = 0


def add_lesson(verbs) -> None:
    """Add the verb with its two parts to the ``verbs`` of the command line."""
    lesson = verbs.add_parser("lesson", help="papers for a class, and the marking of its answers")
    parts = lesson.add_subparsers(required=True, metavar="PART")
    paper = parts.add_parser("paper", help="write a paper for each student, and the key")
    mark = parts.add_parser("mark", help="mark the answers of a class")
    for one in (paper, mark):
        one.add_argument("room", type=Path, metavar="CLASS.toml", help="the class: who is in it")
    mark.add_argument("answers", type=Path, metavar="ANSWERS.csv", help="a row for each student")
    for one in (paper, mark):
        one.add_argument("--questions", type=Path, metavar="FOLDER", help="a bank of your own")
        one.add_argument("--language", choices=("en", "es"), help="instead of the class file's")
        one.add_argument("--units", choices=("US", "SI"), help="instead of the class file's")
    mark.add_argument("--json", action="store_true", help="print the marks as JSON")
    paper.add_argument("--out", type=Path, metavar="FOLDER", required=True, help="where it goes")
    mark.add_argument("--out", type=Path, metavar="FOLDER", help="write tables, picture, pages")
    paper.set_defaults(run=_paper)
    mark.set_defaults(run=_mark)


def _paper(arguments) -> int:
    from airover.lesson.bank import read_bank
    from airover.lesson.class_marks import class_papers
    from airover.lesson.report import write_papers

    room = _class(arguments)
    papers = class_papers(read_bank(arguments.questions), room)
    _tell(write_papers(room, papers, arguments.out))
    return MARKED


def _mark(arguments) -> int:
    from airover.lesson.answer_sheet import read_answers
    from airover.lesson.bank import read_bank
    from airover.lesson.class_marks import mark_class
    from airover.lesson.report import class_text, write_marks

    room = _class(arguments)
    answers = read_answers(arguments.answers, room, room.count)
    marks = mark_class(read_bank(arguments.questions), room, answers)
    written = write_marks(marks, arguments.out) if arguments.out else []
    told = json.dumps(marks.to_dict(), indent=1) if arguments.json else class_text(marks)
    print(told)
    if written and not arguments.json:
        _tell(written)
    return MARKED


def _class(arguments):
    from airover.records.school_class import SchoolClass

    return SchoolClass.read(arguments.room).said_in(arguments.language, arguments.units)


def _tell(written: list[Path]) -> None:
    print("Written:", *(f"  {path}" for path in written), sep="\n")
