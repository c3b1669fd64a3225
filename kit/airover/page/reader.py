"""Who reads the page: in which language and units; labels, values and refusals for them."""

from airover.errors import InputError
from airover.page.phrases import phrase
from airover.proposal.said import Said
from airover.texts import Texts

LONGEST_SHOWN = 28  # letters of what was typed, as a refusal shows it


class Reader:
    """A ``language`` ("en" or "es") and a ``system`` of units ("US" or "SI").

    ``texts`` are the catalogue of the language, ``said`` tells values in both. Raises InputError
    for another language.
    """

    def __init__(self, language: str, system: str):
        self.language, self.system = language, system
        self.texts = Texts(language)
        self.said = Said(self.texts, system)

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
        """A sentence of this kit that is in the table of phrases; raises KeyError if it is not."""
        found = phrase(english, self.said)
        if found is None:
            raise KeyError(english)
        return found

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
        """Why a file is refused: the place in it, and what is accepted where that can be said."""
        accepted = phrase(error.accepted, self.said)
        if accepted:
            return self("wrong.other", field=error.field, accepted=accepted)
        if self.language == "en":
            return str(error)
        return self("wrong.unread", field=error.field)
