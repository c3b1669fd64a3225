"""The one error that bad input raises."""

import unicodedata
from importlib import import_module

from airover.message import Message

NOTHING = Message("error.nothing")  # what was given for a field that is needed
LONGEST = 300  # characters of a field and of what was given, as a sentence shows them


class InputError(ValueError):
    """A value that cannot be accepted.

    Attributes say which ``field``, what was ``given``, in which ``unit``, and what is ``accepted``:
    a Range, a `Message`, or text that is the same in every language. ``others`` are further errors
    of the same record. The error itself reads as one English sentence on one line, whatever was
    typed; `airover.texts.Writer.error` writes it in the reader's language.
    """

    others: tuple["InputError", ...] = ()

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

    def within(self, place: str | Message, key: str = "error.part") -> "InputError":
        """The same error, its field a part of ``place``, and the others too."""
        field = Message(key, place=place, field=self.field)
        placed = InputError(field, self.given, self.accepted, self.unit)
        return with_others(placed, *(other.within(place, key) for other in self.others))


def with_others(first: InputError, *others: InputError) -> InputError:
    """``first``, with the ``others`` behind it; Python shows them as its notes."""
    first.others = others
    for other in others:
        first.add_note(str(other))
    return first


def part(place: str | Message, name: str) -> Message:
    """The field ``name`` of a table, a line or a file."""
    return Message("error.part", place=place, field=name)


def either(words) -> Message | str:
    """One of the ``words``: "a, b or c"; nothing for none."""
    *others, last = [str(word) for word in words] or [""]
    return Message("error.either", words=", ".join(others), last=last) if others else last


def one_of(words) -> Message | str:
    """One of the ``words``, each in quotes."""
    return either([f'"{word}"' for word in words])


def shown(text: str) -> str:
    """``text`` on one line of at most LONGEST characters, without what a terminal would obey."""
    shown = text if len(text) <= LONGEST else f"{text[:LONGEST]}..."
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in shown)


def is_plain(text: str) -> bool:
    """True for text without control characters, which a terminal would obey."""
    return all(c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs") for c in text)
