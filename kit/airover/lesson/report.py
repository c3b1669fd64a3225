"""Write the papers, answer key and feedback for a class as PDF, and the results in other formats.

All documents are in the language of the class. The content is passed as data to the templates
stored with this module and is displayed as text. The pages have no date, so the same class always
gives identical files.
"""

import datetime
import json
import re
from dataclasses import asdict
from pathlib import Path

import pandas as pd

from airover.core.files import write_files
from airover.core.texts import Texts
from airover.lesson.marking import shown_number
from airover.lesson.marks import (
    BLANK,
    MISSED,
    PART,
    RIGHT,
    STATES,
    UNREAD,
    ClassMarks,
    CommonSlip,
    QuestionResult,
    Script,
    answer_sheet,
)
from airover.lesson.question import LETTERS, Paper, StudentQuestion
from airover.records.lesson import NUMBER, SchoolClass
from airover.reports import drawing, writing
from airover.reports.drawing import SMALL, THIN, Figure, frame, title, unframed
from airover.reports.palette import INK, PAPER
from airover.reports.plain import listed, paragraphs, wrapped
from airover.reports.typeset import everywhere, plain, typeset

FOLDER = Path(__file__).parent
TO_GRADE = "to-grade.csv"
SIZES = {"US": "us-letter", "SI": "a4"}
# typst requires a date, but the templates do not display or store it.
_NO_DAY = datetime.date(2000, 1, 1)
_AMOUNT = re.compile(r"(?<=\d) (?=[^\W\d_]{1,4}\b|%)")  # between a number and its unit


def paper_pdf(room: SchoolClass, papers: tuple[Paper, ...]) -> bytes:
    """Return the papers as PDF, with a header, cautions and questions for each student."""
    return _pdf("paper", paper_content(room, papers))


def key_pdf(room: SchoolClass, papers: tuple[Paper, ...]) -> bytes:
    """Return the answer key as PDF, with a grid of all answers and worked solutions.

    The answers include their tolerances.
    """
    return _pdf("key", key_content(room, papers))


def feedback_pdf(marks: ClassMarks) -> bytes:
    """Return the feedback as PDF, with each student's grades and an explanation of each mistake."""
    return _pdf("feedback", feedback_content(marks))


def _pdf(name: str, content: dict) -> bytes:
    common = {"common.typ": (FOLDER / "common.typ").read_bytes()}
    template = (FOLDER / f"{name}.typ").read_text(encoding="utf-8")
    return typeset(name, content, common, _NO_DAY, template)


def paper_content(room: SchoolClass, papers: tuple[Paper, ...]) -> dict:
    """Return the content of the papers as plain data."""
    texts = Texts(room.language)
    own = {
        "caution": {
            "title": texts("lesson_paper.caution.title"),
            "items": texts.below("lesson_paper.caution")[1:],
        },
        "how": texts.below("lesson_paper.how"),
        "words": _table(texts, "words"),
        "students": [_paper(at, paper, texts) for at, paper in enumerate(papers, 1)],
    }
    return _content(room, "title", own)


def _content(room: SchoolClass, title: str, own: dict) -> dict:
    texts = Texts(room.language)
    common = {
        "paper": SIZES[room.system],
        "language": room.language,
        "title": texts(f"lesson_paper.{title}"),
        "class": room.name,
        "invented": texts("lesson_paper.invented") if room.invented else "",
        "seed": texts("lesson_paper.seed", seed=room.seed),
        "page": texts("lesson_paper.page", page="{page}", pages="{pages}"),
    }
    return everywhere(plain, common | own)


def _table(texts: Texts, name: str) -> dict[str, str]:
    start = f"lesson_paper.{name}."
    return {k.removeprefix(start): v for k, v in texts.texts.items() if k.startswith(start)}


def _paper(at: int, paper: Paper, texts: Texts) -> dict:
    total = texts("lesson_paper.total", count=len(paper.questions),
                  points=_points(paper.points, texts), minutes=f"{paper.minutes:.0f}")  # fmt: skip
    questions = [_question(number, one, texts) for number, one in enumerate(paper.questions, 1)]
    number = texts("lesson_paper.number", number=at)
    return {"name": paper.student, "paper": number, "total": total, "questions": questions}


def _question(number: int, one: StudentQuestion, texts: Texts) -> dict:
    return {
        "number": str(number),
        "kind": one.kind,
        "text": _kept(one.text),
        "unit": one.unit,
        "options": [list(pair) for pair in zip(LETTERS, map(_kept, one.options), strict=False)],
        "points": _points(one.points, texts),
    }


def _points(value: float, texts: Texts) -> str:
    said = shown_number(value) if value else "0"
    return texts("lesson_paper.point") if value == 1 else texts("lesson_paper.points", value=said)


def _kept(text: str) -> str:
    """Return ``text`` with each amount and its unit kept on the same line."""
    return _AMOUNT.sub("\u00a0", text)


def key_content(room: SchoolClass, papers: tuple[Paper, ...]) -> dict:
    """Return the content of the answer key as plain data."""
    texts = Texts(room.language)
    words = _table(texts, "key")
    numbers = [str(number) for number, _ in enumerate(papers[0].questions, 1)]
    rows = [
        [f"{at}. {paper.student}", *(_kept(one.answer) for one in paper.questions)]
        for at, paper in enumerate(papers, 1)
    ]
    own = {
        "grid": {"head": [words["student"], *numbers], "rows": rows, "note": words["note"]},
        "head": [words[name] for name in ("number", "answer", "solution", "points")],
        "students": [_key(at, paper, texts) for at, paper in enumerate(papers, 1)],
    }
    return _content(room, "key_title", own)


def _key(at: int, paper: Paper, texts: Texts) -> dict:
    rows = [
        {
            "number": str(number),
            "answer": _kept(one.answer),
            "tolerance": _kept(one.tolerance),
            "solution": _kept(one.solution),
            "points": str(one.points),
        }
        for number, one in enumerate(paper.questions, 1)
    ]
    name = f"{at}. {paper.student}"
    return {"name": name, "total": _points(paper.points, texts), "rows": rows}


def feedback_content(marks: ClassMarks) -> dict:
    """Return the content of the students' feedback as plain data."""
    texts = Texts(marks.room.language)
    own = {
        "note": texts("lesson_paper.feedback.note"),
        "students": [_feedback(script, marks.room, texts) for script in marks.scripts],
    }
    return _content(marks.room, "feedback_title", own)


def _feedback(script: Script, room: SchoolClass, texts: Texts) -> dict:
    counts = {state: script.states.count(state) for state in STATES}
    places = {"count": len(script.states), **counts}
    perfect = counts[RIGHT] == len(script.states)
    summary = "feedback.good" if perfect else "feedback.summary"
    number = room.students.index(script.student) + 1
    return {
        "name": script.student,
        "paper": texts("lesson_paper.number", number=number),
        "points": earned(script.points, script.paper.points, texts),
        "summary": " ".join([texts(f"lesson_paper.{summary}", **places), *_open(script, texts)]),
        "rows": [_row(script, at, texts) for at in range(len(script.states))],
    }


def _open(script: Script, texts: Texts) -> list[str]:
    """Return a sentence about the answers that are not graded yet, or an empty list."""
    count = script.states.count(UNREAD)
    if not count:
        return []
    points = _points(script.open_points, texts)
    return [texts("lesson_paper.feedback.open", count=count, points=points)]


def earned(points: float, most: float, texts: Texts) -> str:
    """Format the points earned out of the points possible for a paper or a question."""
    said = shown_number(points) if points else "0"
    return texts("lesson_paper.earned", value=said, most=shown_number(most))


def _row(script: Script, at: int, texts: Texts) -> dict:
    question, mark, state = script.paper.questions[at], script.marks[at], script.states[at]
    given, wrong = script.given[at], state != RIGHT
    answers = [texts("lesson_paper.feedback.wrote", given=given)] if given else []
    if wrong and question.answer not in mark.told:
        answers.append(texts("lesson_paper.feedback.answer", answer=question.answer))
    return {
        "number": str(at + 1),
        "state": state,
        "word": texts(f"lesson_paper.state.{state}"),
        "subject": texts(f"lesson.subject.{question.subject}"),
        "text": _kept(question.text) if wrong else "",
        "answers": _kept(" ".join(answers)),
        "told": _kept(mark.told) if wrong else "",
        "solution": _kept(question.solution) if wrong and question.kind == NUMBER else "",
        "points": texts("lesson_paper.feedback.not_graded")
        if state == UNREAD
        else earned(mark.points, question.points, texts),
    }


MOST_SLIPS = 3  # mistakes listed per question
STEP = 0.25  # inches between marks
AROUND = 5.6, 2.1  # inches for labels: beside the marks, above and below
LETTER = 0.08  # inches of a long student's name per character
LONGEST = 26  # maximum number of characters in a student's name
# Filled marks draw attention to wrong answers, and each state has its own shape.
MARKS = {
    RIGHT: {"marker": "o", "mfc": PAPER, "fillstyle": "full"},
    PART: {"marker": "o", "mfc": INK, "mfcalt": PAPER, "fillstyle": "bottom"},
    MISSED: {"marker": "o", "mfc": INK, "fillstyle": "full"},
    UNREAD: {"marker": "s", "mfc": PAPER, "fillstyle": "full"},
    BLANK: {"marker": "_", "mfc": INK, "fillstyle": "full"},
}


def class_text(marks: ClassMarks) -> str:
    """Return the results of a class as text, with points, mistakes and students."""
    texts = Texts(marks.room.language)
    students = [_student(one, marks, texts) for one in marks.scripts]
    to_grade = [
        texts("lesson_paper.report.unread", **asdict(one) | {"points": _points(one.points, texts)})
        for one in marks.unread
    ]
    parts = [
        wrapped(_summary(marks, texts)),
        _titled(texts("lesson_paper.report.questions"), _questions(marks, texts)),
        listed(texts("lesson_paper.report.students"), students),
        listed(texts("lesson_paper.report.absent"), marks.absent),
        listed(texts("lesson_paper.report.to_grade"), to_grade),
    ]
    return paragraphs(parts)


def _student(script: Script, marks: ClassMarks, texts: Texts) -> str:
    said = f"{script.student}: {earned(script.points, marks.most, texts)}"
    if not script.open_points:
        return said
    return f"{said}, {texts('lesson_paper.report.more', value=shown_number(script.open_points))}"


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
    return [line for one in marks.hardest for line in _question_result(one, marks, texts)]


def _question_result(one: QuestionResult, marks: ClassMarks, texts: Texts) -> list[str]:
    said = texts(
        "lesson_paper.report.question", number=one.number, subject=one.subject,
        present=len(marks.scripts), right=one.counts[RIGHT], part=one.counts[PART],
        blank=one.counts[BLANK],
    )  # fmt: skip
    if one.counts[UNREAD]:
        said += " " + texts("lesson_paper.report.question_unread", count=one.counts[UNREAD])
    slips = [wrapped(_slip(slip, texts), "     ", "       ") for slip in one.slips[:MOST_SLIPS]]
    return [wrapped(said, "  ", "     "), *slips]


def _slip(slip: CommonSlip, texts: Texts) -> str:
    if slip.count == 1:
        return texts("lesson_paper.slip.once", words=slip.words)
    return texts("lesson_paper.slip.told", count=slip.count, words=slip.words)


def class_points(marks: ClassMarks) -> pd.DataFrame:
    """Return a table of points by student and question.

    A student who did not hand in a paper has a row of empty cells.
    """
    texts = Texts(marks.room.language)
    scripts = {one.student: one for one in marks.scripts}
    headings = [texts("lesson_paper.table.question", number=one.number) for one in marks.asked]
    rows = []
    for name in marks.room.students:
        one = scripts.get(name)
        told = [f"{mark.points:g}" for mark in one.marks] if one else [""] * len(headings)
        rows.append(
            {
                texts("lesson_paper.sheet.student"): name,
                texts("lesson_paper.table.points"): f"{one.points:g}" if one else "",
                texts("lesson_paper.table.most"): marks.most,
                **dict(zip(headings, told, strict=True)),
            }
        )
    return pd.DataFrame(rows)


def to_grade(marks: ClassMarks) -> pd.DataFrame:
    """Return a table of the answers that could not be read, with an empty column for points."""
    texts = Texts(marks.room.language)
    heads = ("student", "number", "text", "given", "answer", "points", "award")
    names = [texts(f"lesson_paper.to_grade.{one}") for one in heads]
    rows = [[*asdict(one).values(), ""] for one in marks.unread]
    return pd.DataFrame(rows, columns=names)


def missed(marks: ClassMarks) -> Figure:
    """Plot a mark for each question and student, hardest questions and best students first.

    If no paper was handed in, the figure contains only a note.
    """
    texts = Texts(marks.room.language)
    scripts = sorted(marks.scripts, key=lambda one: -one.points)
    rows = marks.hardest
    longest = max((len(_short(one.student)) for one in scripts), default=0)
    below = LETTER * max(longest - LONGEST // 2, 0)  # the usual names fit
    size = (
        STEP * max(len(scripts), 12) + AROUND[0],
        STEP * max(len(rows), 4) + AROUND[1] + below,
    )
    figure = Figure(figsize=size, layout="constrained")
    axes = figure.subplots()
    title(axes, texts("lesson_paper.picture.title"), pad=26)
    for state in MARKS:
        places = [
            (across, down)
            for down, row in enumerate(rows)
            for across, one in enumerate(scripts)
            if one.states[row.number - 1] == state
        ]
        _draw(axes, places, state)
    _name_rows(axes, marks, texts)
    _name_students(axes, scripts, marks, texts)
    _explain(axes, texts)
    axes.set(xlim=(-0.6, len(scripts) - 0.4), ylim=(len(rows) - 0.4, -0.6))
    _bare(axes)
    return figure


def _draw(axes, places, state: str) -> None:
    across, down = zip(*places, strict=True) if places else ((), ())
    axes.plot(across, down, ls="", ms=8.5, mec=INK, mew=THIN, clip_on=False, **MARKS[state])


def _name_rows(axes, marks: ClassMarks, texts: Texts) -> None:
    names = [f"{one.subject}, {one.number}" for one in marks.hardest]
    axes.set_yticks(range(len(names)), names)
    axes.set_ylabel(texts("lesson_paper.picture.questions"))
    for down, one in enumerate(marks.hardest):
        said = texts("lesson_paper.picture.count", right=one.counts[RIGHT],
                     present=len(marks.scripts))  # fmt: skip
        axes.annotate(
            said, (1, down), xycoords=("axes fraction", "data"), xytext=(8, 0),
            textcoords="offset points", va="center", fontsize=SMALL, color=INK,
            annotation_clip=False,
        )  # fmt: skip


def _name_students(axes, scripts, marks: ClassMarks, texts: Texts) -> None:
    names = [
        f"{_short(one.student)}, {shown_number(one.points) if one.points else 0}" for one in scripts
    ]
    axes.set_xticks(range(len(names)), names, rotation=90)
    axes.set_xlabel(texts("lesson_paper.picture.students", most=marks.most))


def _short(name: str) -> str:
    return name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}\u2026"


def _explain(axes, texts: Texts) -> None:
    """Add a legend for the four marks above the plot."""
    for state, form in MARKS.items():
        axes.plot(
            [], [], ls="", ms=8.5, mec=INK, mew=THIN, label=texts(f"lesson_paper.picture.{state}"),
            **form,
        )  # fmt: skip
    axes.legend(
        loc="lower left", bbox_to_anchor=(0, 1), ncols=len(MARKS), frameon=False, fontsize=SMALL,
        labelcolor=INK,
        handletextpad=0.2, borderaxespad=0.3, columnspacing=1.4,
    )  # fmt: skip


def _bare(axes) -> None:
    frame(axes, "y")
    axes.spines[["bottom", "left"]].set_visible(False)
    unframed(axes, "both")


def write_papers(room: SchoolClass, papers: tuple[Paper, ...], folder: Path) -> list[Path]:
    """Write the papers, answer key and blank answer sheet, and return their paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    pages = {"paper.pdf": paper_pdf(room, papers), "key.pdf": key_pdf(room, papers)}
    sheet = answer_sheet(room, len(papers[0].questions))
    return write_files(folder, {**pages, "answers.csv": sheet}, "out")


def write_marks(marks: ClassMarks, folder: Path) -> list[Path]:
    """Write the class results as text, a table, JSON, a figure, and a page for each student.

    Returns the paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    if not marks.unread:
        (folder / TO_GRADE).unlink(missing_ok=True)  # an earlier list that is done
    texts = {
        "marks.txt": class_text(marks),
        "marks.csv": writing.csv(class_points(marks)),
        "marks.json": json.dumps(marks.to_dict(), indent=1, ensure_ascii=False) + "\n",
    }
    if marks.unread:
        texts[TO_GRADE] = writing.csv(to_grade(marks))
    pages = {}
    if marks.scripts:
        pages = {"missed.png": drawing.png(missed(marks)), "feedback.pdf": feedback_pdf(marks)}
    return write_files(folder, pages | texts, "out")
