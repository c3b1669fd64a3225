"""Long calculations in steps: a generator that reports progress and returns its result at the end.

The caller can show progress and stop between two steps. A calculation in several parts uses
``yield from``.
"""

from collections.abc import Generator
from typing import NamedTuple, TypeVar

from airover.core.message import Message

Found = TypeVar("Found")


class Progress(NamedTuple):
    """How far it is: ``words`` for what is being done, ``done`` of ``of`` of its steps."""

    words: Message
    done: int
    of: int


def finished(work: Generator[Progress, None, Found]) -> Found:
    """What ``work`` finds, done to its end without a pause."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return end.value
