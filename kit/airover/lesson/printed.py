"""A class's papers, their key and its feedback as PDF pages, in the language of the class.

Everything goes to the templates beside this module as data and is shown as text. No page has a
date: the same class gives the same bytes.
"""

import datetime
import re
from pathlib import Path

from airover.core.texts import Texts
from airover.lesson.marking import shown_number
from airover.lesson.marks import BLANK, MISSED, PART, RIGHT, ClassMarks, Script
from airover.lesson.paper import Paper
from airover.lesson.question import LETTERS, StudentQuestion
from airover.records.lesson import NUMBER, SchoolClass
from airover.reports.typeset import breakable, everywhere, plain, typeset

FOLDER = Path(__file__).parent
SIZES = {"US": "us-letter", "SI": "a4"}
_NO_DAY = datetime.date(2000, 1, 1)  # typst asks for one; the templates show and store none
_AMOUNT = re.compile(r"(?<=\d) (?=[^\W\d_]{1,4}\b|%)")  # between a figure and a unit


def paper_pdf(room: SchoolClass, papers: tuple[Paper, ...]) -> bytes:
    """A part for each student: head, cautions, questions with room to write."""
    return _pdf("paper", paper_content(room, papers))


def key_pdf(room: SchoolClass, papers: tuple[Paper, ...]) -> bytes:
    """A grid of all answers, then each student's with tolerance and worked solution."""
    return _pdf("key", key_content(room, papers))


def feedback_pdf(marks: ClassMarks) -> bytes:
    """A part for each student who handed in a paper: the marks, and what each slip is."""
    return _pdf("feedback", feedback_content(marks))


def _pdf(name: str, content: dict) -> bytes:
    common = {"common.typ": (FOLDER / "common.typ").read_bytes()}
    template = (FOLDER / f"{name}.typ").read_text(encoding="utf-8")
    return typeset(name, everywhere(breakable, content), common, _NO_DAY, template)


def paper_content(room: SchoolClass, papers: tuple[Paper, ...]) -> dict:
    """All that the papers say, as plain data."""
    texts = Texts(room.language)
    own = {
        "caution": {
            "title": texts("lesson_paper.caution.title"),
            "items": texts.below("lesson_paper.caution")[1:],
        },
        "how": texts.below("lesson_paper.how"),
        "words": _table(texts, "words"),
        "students": [_paper(paper, texts) for paper in papers],
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


def _paper(paper: Paper, texts: Texts) -> dict:
    total = texts("lesson_paper.total", count=len(paper.questions),
                  points=_points(paper.points, texts), minutes=f"{paper.minutes:.0f}")  # fmt: skip
    questions = [_question(number, one, texts) for number, one in enumerate(paper.questions, 1)]
    return {"name": paper.student, "total": total, "questions": questions}


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
    """``text`` whose amounts stay in one line with their units."""
    return _AMOUNT.sub("\u00a0", text)


def key_content(room: SchoolClass, papers: tuple[Paper, ...]) -> dict:
    """All that the key says, as plain data."""
    texts = Texts(room.language)
    words = _table(texts, "key")
    numbers = [str(number) for number, _ in enumerate(papers[0].questions, 1)]
    rows = [[paper.student, *(_kept(one.answer) for one in paper.questions)] for paper in papers]
    own = {
        "grid": {"head": [words["student"], *numbers], "rows": rows, "note": words["note"]},
        "head": [words[name] for name in ("number", "answer", "solution", "points")],
        "students": [_key(paper, texts) for paper in papers],
    }
    return _content(room, "key_title", own)


def _key(paper: Paper, texts: Texts) -> dict:
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
    return {"name": paper.student, "total": _points(paper.points, texts), "rows": rows}


def feedback_content(marks: ClassMarks) -> dict:
    """All that the students are told, as plain data."""
    texts = Texts(marks.room.language)
    own = {
        "note": texts("lesson_paper.feedback.note"),
        "students": [_feedback(script, texts) for script in marks.scripts],
    }
    return _content(marks.room, "feedback_title", own)


def _feedback(script: Script, texts: Texts) -> dict:
    counts = {state: script.states.count(state) for state in (RIGHT, PART, MISSED, BLANK)}
    places = {"count": len(script.states), **counts}
    perfect = counts[RIGHT] == len(script.states)
    summary = "feedback.good" if perfect else "feedback.summary"
    return {
        "name": script.student,
        "points": earned(script.points, script.paper.points, texts),
        "summary": texts(f"lesson_paper.{summary}", **places),
        "rows": [_row(script, at, texts) for at in range(len(script.states))],
    }


def earned(points: float, most: float, texts: Texts) -> str:
    """Points of a paper or a question beside those that can be had."""
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
        "points": earned(mark.points, question.points, texts),
    }
