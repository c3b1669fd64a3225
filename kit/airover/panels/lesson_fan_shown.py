"""The lesson on fan laws in pieces of HTML: what its panel shows, and notes for the instructor."""

from html import escape

from airover.exercise.fan_laws import FanLesson
from airover.panels import style
from airover.panels.parts import Picture
from airover.tables.fan_laws import FanWriter, sentence
from airover.texts import Texts

LISTS = (
    ("objectives", "objective"), ("timing", "timing"), ("points", "point"), ("wrong", "wrong"),
    ("limits", "limit"), ("safety", "safety"),
)  # fmt: skip


class Notes:
    """Notes or a table for paper: HTML in a worksheet, words elsewhere."""

    def __init__(self, html: str, words: str):
        self._html, self._words = html, words

    def _repr_html_(self) -> str:
        return self._html

    def __repr__(self) -> str:
        return self._words


def lesson_notes(language: str = "en", answers: bool = False) -> Notes:
    """Objectives, timing, talking points, usual slips, limits and questions of the lesson.

    In a ``language``, "en" or "es". Answers stand behind their questions and open by a click, or
    with ``answers`` stand open, for paper. Raises InputError for another language.
    """
    texts = Texts(language)
    parts = []
    for title, table in LISTS:
        said = texts.below(f"lesson_fan.{table}")
        if table == "timing":
            said = [_minutes(texts, one) for one in said]
        parts.append(_listed(texts(f"lesson_fan.notes.{title}"), said))
    asked = _questions(texts, answers)
    title = texts("lesson_fan.notes.title")
    html = f"<h3>{escape(title)}</h3>{''.join(parts)}{asked}"
    return Notes(html, title)


def picture(
    lesson: FanLesson, step: str, place: int, guesses: dict, told: FanWriter, drawn
) -> Picture:
    """The picture of a ``step`` as ``drawn`` (a PNG); what it shows is in its words, too."""
    said = sentence(lesson, step, place, told) if guesses else told.say("first")
    return Picture(drawn, told.say("picture", title=told.say(f"title.{step}"), told=said))


def verdict(lesson: FanLesson, step: str, place: int, guesses: dict, told: FanWriter) -> str:
    """What there is to see at the slider; before a prediction, that there is nothing yet."""
    invented = told.say("invented") if lesson.job.invented else ""
    if not guesses:
        return style.verdict("fits with work", told.say(f"title.{step}"), told.say("first"))
    said = f"{sentence(lesson, step, place, told)} {invented}".strip()
    return style.verdict("fits", told.say(f"title.{step}"), said)


def on_paper(frame) -> Notes:
    """A table with every text whole."""
    return Notes(style.table(frame.reset_index()), frame.to_string())


def _minutes(texts: Texts, line: str) -> str:
    """ "15: what is done" as a line of the timing."""
    minutes, _, what = line.partition(": ")
    return texts("lesson_fan.notes.minutes", minutes=minutes, what=what)


def _listed(title: str, sentences) -> str:
    items = "".join(f"<li>{escape(one)}</li>" for one in sentences)
    return f"<h4>{escape(title)}</h4><ul>{items}</ul>"


def _questions(texts: Texts, answers: bool) -> str:
    said = texts.below("lesson_fan.question")
    opened = " open" if answers else ""
    label = escape(texts("lesson_fan.notes.answer"))
    items = [
        f"<li>{escape(ask)}<details{opened}><summary>{label}</summary>{escape(answer)}"
        "</details></li>"
        for ask, answer in zip(said[::2], said[1::2], strict=True)
    ]
    title = escape(texts("lesson_fan.notes.questions"))
    return f"<h4>{title}</h4><ol>{''.join(items)}</ol>"
