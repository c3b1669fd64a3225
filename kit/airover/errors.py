"""The one error that bad input raises."""

from importlib import import_module

from airover.message import Message

LONGEST = 300  # characters of a field and of what was given, as a sentence shows them


class InputError(ValueError):
    """A value that cannot be accepted.

    Attributes say which ``field``, what was ``given``, in which ``unit``, and what is ``accepted``:
    a Range, a `Message`, or text that is the same in every language. The error itself reads as one
    English sentence on one line, whatever was typed; `airover.texts.Writer.error` writes it in the
    reader's language.
    """

    def __init__(self, field: str | Message, given: object, accepted: object, unit: str = ""):
        super().__init__(field, given, accepted, unit)
        self.field = shown(field) if isinstance(field, str) else field
        self.given = given
        self.accepted = accepted
        self.unit = unit

    def __str__(self) -> str:
        # Only a sentence that is asked for needs the texts, which are built on this module.
        return import_module("airover.texts").Writer("en").error(self)

    def __reduce__(self):
        return type(self), (self.field, self.given, self.accepted, self.unit)


def shown(text: str) -> str:
    """``text`` on one line of at most LONGEST characters, without what a terminal would obey."""
    shown = text if len(text) <= LONGEST else f"{text[:LONGEST]}..."
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in shown)
