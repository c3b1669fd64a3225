"""A marked class as plain text for a terminal, and lessons as files in a folder."""

import json
from pathlib import Path

from airover.figures import drawing
from airover.lesson.answer_sheet import answer_sheet
from airover.lesson.class_marks import BLANK, PART, RIGHT, Asked, ClassMarks, Slip
from airover.lesson.figures import missed
from airover.lesson.marking import shown_number
from airover.lesson.paper import Paper
from airover.lesson.printed import earned, feedback_pdf, key_pdf, paper_pdf
from airover.lesson.tables import class_points
from airover.records.school_class import SchoolClass
from airover.reports.answer import listed, wrapped
from airover.safe_file import make_folder, write_bytes, write_text
from airover.tables import writing
from airover.texts import Texts

MOST_SLIPS = 3  # of a question that are told


def class_text(marks: ClassMarks) -> str:
    """Points of the class, its questions with their slips, its students."""
    texts = Texts(marks.room.language)
    students = [
        f"{one.student}: {earned(one.points, marks.most, texts)}" for one in marks.scripts
    ]  # fmt: skip
    parts = [
        wrapped(_summary(marks, texts)),
        _titled(texts("lesson_paper.report.questions"), _questions(marks, texts)),
        listed(texts("lesson_paper.report.students"), students),
        listed(texts("lesson_paper.report.absent"), marks.absent),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _summary(marks: ClassMarks, texts: Texts) -> str:
    places = {"name": marks.room.name, "students": len(marks.room.students)}
    if not marks.scripts:
        return texts("lesson_paper.report.none", **places)
    points = [one.points for one in marks.scripts]
    mean = f"{sum(points) / len(points):.1f}"
    least, best = (shown_number(one) if one else "0" for one in (min(points), max(points)))
    figures_told = {"mean": mean, "low": least, "best": best, "most": marks.most}
    return texts("lesson_paper.report.summary", present=len(points), **places, **figures_told)


def _titled(title: str, lines: list[str]) -> str:
    return "\n".join([f"{title}:", *lines]) if lines else ""


def _questions(marks: ClassMarks, texts: Texts) -> list[str]:
    return [line for one in marks.hardest for line in _question(one, marks, texts)]


def _question(one: Asked, marks: ClassMarks, texts: Texts) -> list[str]:
    said = texts(
        "lesson_paper.report.question", number=one.number, subject=one.subject,
        present=len(marks.scripts), right=one.counts[RIGHT], part=one.counts[PART],
        blank=one.counts[BLANK],
    )  # fmt: skip
    slips = [wrapped(_slip(slip, texts), "     ", "       ") for slip in one.slips[:MOST_SLIPS]]
    return [wrapped(said, "  ", "     "), *slips]


def _slip(slip: Slip, texts: Texts) -> str:
    if slip.count == 1:
        return texts("lesson_paper.slip.once", words=slip.words)
    return texts("lesson_paper.slip.told", count=slip.count, words=slip.words)


def write_papers(room: SchoolClass, papers: tuple[Paper, ...], folder: Path) -> list[Path]:
    """Write papers, key and an empty sheet for the answers; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    pages = {"paper.pdf": paper_pdf(room, papers), "key.pdf": key_pdf(room, papers)}
    sheet = answer_sheet(room, len(papers[0].questions))
    return _write(folder, pages, {"answers.csv": sheet})


def write_marks(marks: ClassMarks, folder: Path) -> list[Path]:
    """Write a marked class: text, table, JSON, picture, a page for each student.

    Returns the paths. Raises InputError when the folder or a file in it cannot be written.
    """
    texts = {
        "marks.txt": class_text(marks),
        "marks.csv": writing.csv(class_points(marks)),
        "marks.json": json.dumps(marks.to_dict(), indent=1, ensure_ascii=False) + "\n",
    }
    pages = {}
    if marks.scripts:
        pages = {"missed.png": drawing.png(missed(marks)), "feedback.pdf": feedback_pdf(marks)}
    return _write(folder, pages, texts)


def _write(folder: Path, pages: dict[str, bytes], texts: dict[str, str]) -> list[Path]:
    folder = Path(folder)
    make_folder(folder, "out")
    for name, content in pages.items():
        write_bytes(folder / name, content, "out")
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    return [folder / name for name in (*pages, *texts)]
