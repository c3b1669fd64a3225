"""Write instructor's notes and tables for a lesson, as HTML in a worksheet or as text."""

from airover.core.texts import Texts
from airover.reports.html import html_page

FAN_LAWS = "lesson_fan"
# Sections of the notes on fan laws: key of the title, and table that contains the lines.
SECTIONS = {
    "objectives": "objective", "timing": "timing", "points": "point", "wrong": "wrong",
    "limits": "limit", "safety": "safety",
}  # fmt: skip


class Notes:
    """HTML for display in a worksheet, and plain text (``words``) for display elsewhere."""

    def __init__(self, html: str, words: str):
        self._html, self._words = html, words

    def _repr_html_(self) -> str:
        return self._html

    def __repr__(self) -> str:
        return self._words


def lesson_notes(lesson: str, language: str = "en", answers: bool = False) -> Notes:
    """Return the objectives, timing, talking points and questions of a ``lesson``.

    Parameters
    ----------
    lesson : str
        Name of the table in the text files, "lesson_fan" or "lesson_case".
    answers : bool, optional
        If True, show the answers for printing. Otherwise, each answer opens with a click.

    Raises
    ------
    InputError
        If the ``language`` is not available.
    """
    texts = Texts(language)
    if lesson == FAN_LAWS:
        title, sections = texts("lesson_fan.notes.title"), _fan_laws(texts)
        told = texts.below("lesson_fan.question")
        questions = list(zip(told[::2], told[1::2], strict=True))
    else:
        title, sections, questions = "", _sections(texts, f"{lesson}.notes."), []
    page = html_page(
        "lesson_notes", texts=texts, title=title, sections=sections, questions=questions,
        answers=answers,
    )  # fmt: skip
    return Notes(page, title or sections[0][0])


def _fan_laws(texts: Texts) -> list[tuple[str, list[str]]]:
    found = []
    for title, table in SECTIONS.items():
        lines = texts.below(f"lesson_fan.{table}")
        if table == "timing":  # "15: the question"
            timed = [line.partition(": ") for line in lines]
            lines = [
                texts("lesson_fan.notes.minutes", minutes=minutes, what=what)
                for minutes, _, what in timed
            ]
        found.append((texts(f"lesson_fan.notes.{title}"), lines))
    return found


def _sections(texts: Texts, above: str) -> list[tuple[str, list[str]]]:
    """Return the title and lines of each table under the key prefix ``above``."""
    keys = [key.removeprefix(above) for key in texts.texts if key.startswith(above)]
    tables = (
        texts.below(above + name) for name in dict.fromkeys(k.partition(".")[0] for k in keys)
    )
    return [(title, lines) for title, *lines in tables]
