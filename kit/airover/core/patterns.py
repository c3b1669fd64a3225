"""Regular expressions that are compiled on first use, because most commands use only a few."""

import re


class Pattern:
    """Regular expression with the methods of a compiled pattern.

    >>> Pattern("[0-9]+").search("6 poles")[0]
    '6'
    """

    def __init__(self, text: str, flags: int = 0):
        self._given = text, flags

    def __getattr__(self, name: str):
        return getattr(re.compile(*self._given), name)  # which keeps compiled patterns
