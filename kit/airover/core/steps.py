"""Long calculations in steps: a generator that reports progress and returns its result at the end.

The caller can show progress and stop between two steps. A calculation in parts uses ``yield from``.
"""

from collections.abc import Generator
from typing import NamedTuple, TypeVar

from airover.core.message import Message

Found = TypeVar("Found")


class Progress(NamedTuple):
    """Progress of a calculation: ``words`` for the step, the steps ``done``, all steps ``of``."""

    words: Message
    done: int
    of: int


def finished(work: Generator[Progress, None, Found]) -> Found:
    """Run ``work`` to its end without a pause and return its result."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return end.value
