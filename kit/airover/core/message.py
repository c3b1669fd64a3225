"""Messages stored as data: a message key and the values of the placeholders.

Calculation modules return a `Message`. `airover.core.texts.Writer` writes it in the reader's
language and units.
"""

from typing import NamedTuple


class Message:
    """Message key, which is the same in every language, and the values of the {placeholders}.

    A value can be a `Quantity`, an `Estimate`, a `Money`, a `Word`, another Message, an
    `airover.core.units.Amount`, a string as typed, an integer, a date, or a sequence of these
    types.

    >>> Message("limit.least", value=Quantity(5.0, "current"))
    Message('limit.least', value=Quantity(value=5.0, kind='current', digits=None))
    """

    __slots__ = ("key", "values")

    def __init__(self, key: str, /, **values):
        self.key = key
        self.values = values

    def __eq__(self, other):
        return isinstance(other, Message) and (self.key, self.values) == (other.key, other.values)

    def __hash__(self):
        try:
            return hash((self.key, frozenset(self.values.items())))
        except TypeError:  # a value is a list
            return hash(self.key)

    def __repr__(self):
        values = "".join(f", {name}={value!r}" for name, value in self.values.items())
        return f"Message({self.key!r}{values})"

    def __reduce__(self):
        return _again, (self.key, self.values)


def _again(key: str, values: dict) -> Message:
    return Message(key, **values)


class Quantity(NamedTuple):
    """Number, Band or Amount in the SI unit of its ``kind``.

    Attributes
    ----------
    value : float, Band or Amount
        Value in the SI unit of its ``kind``.
    kind : str
        A key of `core.kinds.KINDS`, or of `core.texts.FIGURES` for unitless values.
    digits : int or None
        Maximum number of decimals, or None for the default of the ``kind``.
    """

    value: object
    kind: str
    digits: int | None = None


class Estimate(NamedTuple):
    """Number or Band in the SI unit of its ``kind``, written with two significant digits."""

    value: object
    kind: str


class Money(NamedTuple):
    """Amount of money in a ``currency``, such as "USD" or "USD/kWh".

    The amount is a number, a Band or an Amount. ``digits`` is the maximum number of significant
    digits.
    """

    value: object
    currency: str
    digits: int = 3


class Word(NamedTuple):
    """Word from a list of choices, such as "shorted turns". Unknown words are not translated."""

    word: str
