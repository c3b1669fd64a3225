"""Text that people typed, made fit for a page: no control characters, no line that never ends.

It is never code: templates get it as data, and HTML gets it escaped.
"""

import re
import unicodedata

LONGEST_WORD = 24  # letters; a longer run may break after any of so many
_RUN = re.compile(rf"(\S{{{LONGEST_WORD}}})(?=\S)")
_BREAK = "\u200b"
_ISOLATE, _END = "\u2068", "\u2069"
_TURNING = ("R", "AL", "RLE", "RLO", "RLI", "LRE", "LRO", "LRI", "FSI", "PDI", "PDF", "AN")


def plain(text: str) -> str:
    """``text`` without control characters; one that is written from right to left stays apart."""
    kept = "".join(_allowed(c) for c in text)
    turns = any(unicodedata.bidirectional(c) in _TURNING for c in kept)
    return f"{_ISOLATE}{_closed(kept)}{_END}" if turns else kept


def breakable(text: str) -> str:
    """``text`` with places where a very long word may break."""
    return _RUN.sub(rf"\1{_BREAK}", text)


def _allowed(letter: str) -> str:
    if letter in "\n\t":
        return " "
    return "\N{REPLACEMENT CHARACTER}" if unicodedata.category(letter) in ("Cc", "Cs") else letter


def _closed(text: str) -> str:
    """No end of an isolate that the text did not begin."""
    return "".join(c for c in text if unicodedata.bidirectional(c) != "PDI")


def everywhere(change, value):
    """``change`` made to every text in plain data."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {name: everywhere(change, one) for name, one in value.items()}
    return [everywhere(change, one) for one in value]
