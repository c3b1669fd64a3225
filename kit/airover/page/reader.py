"""Who reads the page: in which language and units; labels, values and refusals for them."""

import re

from airover.errors import InputError
from airover.page.phrases import phrase
from airover.texts import Texts, Writer

_QUOTED = re.compile(r'"([^"]*)"')
LONGEST_SHOWN = 28  # letters of what was typed, as a refusal shows it


class Reader:
    """A ``language`` ("en" or "es") and a ``system`` of units ("US" or "SI").

    ``texts`` are the catalogue of the language, ``said`` tells values in both. Raises InputError
    for another language.
    """

    def __init__(self, language: str, system: str):
        self.language, self.system = language, system
        self.texts = Texts(language)
        self.said = Writer(language, system, signs=True)

    def __call__(self, key: str, **values) -> str:
        """The text of ``page.key``."""
        return self.texts(f"page.{key}", **values)

    def word(self, word: str) -> str:
        """A word of a choice; what people typed stays as it is."""
        own = f"page.word.{word}"
        return self.texts(own) if self.texts.has(own) else self.texts.word(word)

    def label(self, record: str, name: str) -> str:
        """What a field is called."""
        return self(f"{record}.{name}")

    def sentence(self, english: str) -> str:
        """A sentence of this kit; one that the table of phrases does not have is quoted."""
        return phrase(english, self.said) or self("quoted", english=english)

    def refusal(self, error: InputError, typed: str = "", example: str = "") -> str:
        """Why a field is refused; ``typed`` stands in it, ``example`` is what it could be."""
        accepted = phrase(error.accepted, self.said)
        if not typed:
            key = "wrong.nothing" if accepted else "wrong.plain"
            return self(key, accepted=accepted) if accepted else self(key)
        given = typed if len(typed) <= LONGEST_SHOWN else f"{typed[:LONGEST_SHOWN]}..."
        if accepted:
            return self("wrong.field", given=given, accepted=accepted)
        if example:
            return self("wrong.example", given=given, example=example)
        return self("wrong.short", given=given)

    def of_file(self, error: InputError) -> str:
        """Why a file is refused: the place in it, what stands there, and what is accepted."""
        if self.language == "en":
            return str(error)
        accepted = phrase(error.accepted, self.said) or self("quoted", english=error.accepted)
        given = phrase(f"{error.given} {error.unit}".strip(), self.said) or str(error.given)
        place = self._place(error.field)
        told = self("wrong.file", field=place, given=given, accepted=accepted)
        return _QUOTED.sub(r"«\1»", told)

    def _place(self, field: str) -> str:
        """The name of a field of a job where it is one; else as the file has it."""
        record, _, name = field.partition(" ")
        own = f"page.{record}.{name.replace(' ', '_')}"
        return self.texts(own) if self.texts.has(own) else phrase(field, self.said) or field
