"""What an instructor reads before a lesson, from the texts: objectives, timing, talk, questions."""

from airover.texts import Texts


class LessonNotes:
    """Markdown that a worksheet renders, and plain text elsewhere."""

    def __init__(self, markdown: str):
        self.markdown = markdown

    def __repr__(self) -> str:
        return self.markdown

    def _repr_markdown_(self) -> str:
        return self.markdown


def lesson_notes(lesson: str, language: str = "en") -> LessonNotes:
    """The notes of a ``lesson``, the name of its table of texts, in a ``language``, "en" or "es".

    Below ``LESSON.notes`` each section is a table: its ``title``, then a line for each other key.
    Raises InputError for another language.
    """
    texts = Texts(language)
    above = f"{lesson}.notes."
    keys = [key.removeprefix(above) for key in texts.texts if key.startswith(above)]
    sections = dict.fromkeys(key.partition(".")[0] for key in keys)
    return LessonNotes("\n\n".join(_section(texts, f"{above}{name}") for name in sections))


def _section(texts: Texts, table: str) -> str:
    title, *lines = texts.below(table)
    return "\n".join([f"**{title}**", "", *(f"- {line}" for line in lines)])
