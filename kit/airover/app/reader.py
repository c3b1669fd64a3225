"""Who reads the page: in which language and units; labels, values and refusals for them."""

from airover.core.errors import InputError
from airover.core.texts import Texts, Writer

LONGEST_SHOWN = 28  # letters of what was typed, as a refusal shows it


class Reader:
    """A ``language`` ("en" or "es") and a ``system`` of units ("US" or "SI").

    ``texts`` are the catalog of the language, ``said`` tells values in both, ``write`` writes
    messages and errors. Raises InputError for another language.
    """

    def __init__(self, language: str, system: str):
        self.language, self.system = language, system
        self.texts = Texts(language)
        self.said = Writer(language, system, signs=True)
        self.write = Writer(language, system)

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

    def refusal(self, error: InputError, typed: str) -> str:
        """Why what was ``typed`` into a field is refused; it stands in it, cut to its beginning."""
        accepted = self.write.value(error.accepted)
        if not typed:
            return self("wrong.nothing", accepted=accepted)
        given = typed if len(typed) <= LONGEST_SHOWN else f"{typed[:LONGEST_SHOWN]}..."
        return self("wrong.field", given=given, accepted=accepted)
