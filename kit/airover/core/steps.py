"""Long calculations as generators that report progress and return a result at the end.

The caller can display the progress and can stop between steps. A calculation with several parts
uses ``yield from``.
"""

from collections.abc import Generator
from typing import NamedTuple, TypeVar

from airover.core.message import Message

Found = TypeVar("Found")


class Progress(NamedTuple):
    """Progress of a calculation: the current step, the number of steps done and the total."""

    words: Message
    done: int
    of: int


def finished(work: Generator[Progress, None, Found]) -> Found:
    """Run ``work`` to completion and return its result."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return end.value
