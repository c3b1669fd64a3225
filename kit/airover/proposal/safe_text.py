"""Text that people typed, made fit for a page: no control characters, no line that never ends.

It is never code: templates get it as data, and HTML gets it escaped.
"""

import re
import unicodedata

LONGEST_WORD, PIECE = 24, 6  # letters; a longer word may break after any of its pieces
_LONG = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")
_PIECE = re.compile(rf"\S{{{PIECE}}}(?=\S)")
_BREAK = "\u200b"
_ISOLATE, _END = "\u2068", "\u2069"
_FROM_THE_RIGHT = ("R", "AL", "AN")
_TURNING = ("LRE", "LRO", "RLE", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")


def plain(text: str) -> str:
    """``text`` without control characters, nor those that turn its direction.

    What is written from right to left is set apart, so that its neighbours stay in their order.
    """
    kept = "".join(_allowed(c) for c in text)
    apart = any(unicodedata.bidirectional(c) in _FROM_THE_RIGHT for c in kept)
    return f"{_ISOLATE}{kept}{_END}" if apart else kept


def breakable(text: str) -> str:
    """``text`` with places where a very long word may break."""
    return _LONG.sub(lambda word: _PIECE.sub(rf"\g<0>{_BREAK}", word[0]), text)


def everywhere(change, value):
    """``change`` made to every text in plain data."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {name: everywhere(change, one) for name, one in value.items()}
    return [everywhere(change, one) for one in value]


def _allowed(letter: str) -> str:
    if letter in "\n\t":
        return " "
    if unicodedata.bidirectional(letter) in _TURNING:
        return ""
    return "\N{REPLACEMENT CHARACTER}" if unicodedata.category(letter) in ("Cc", "Cs") else letter
