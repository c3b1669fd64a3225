"""Draws that stay the same for ever, whatever version of Python or NumPy runs them."""

import hashlib
from collections.abc import Sequence
from itertools import count


class Chance:
    """A row of draws that hangs on some texts alone: the same texts give the same row for ever.

    Each draw is a part of the SHA-256 of the texts and a running number. NumPy does not promise
    that a generator's methods draw the same in later versions, and a paper has to come out again.

    >>> Chance("7", "Student 1").shuffled("ABCD")
    ['A', 'C', 'D', 'B']
    """

    def __init__(self, *texts: object):
        self._of = "\x1f".join(map(str, texts))
        self._count = count()

    def below(self, most: int) -> int:
        """A whole number from 0 to ``most`` - 1, all equally likely to 1 part in 2^200."""
        text = f"{self._of}\x1f{next(self._count)}"
        return int.from_bytes(hashlib.sha256(text.encode("utf-8", "replace")).digest()) % most

    def one_of(self, things: Sequence):
        return things[self.below(len(things))]

    def shuffled(self, things: Sequence) -> list:
        """The same ``things`` in another order, each order equally likely."""
        left = list(things)
        return [left.pop(self.below(len(left))) for _ in things]
