"""Long calculations in steps: a generator that reports progress and returns its result at the end.

The caller can display progress and stop between steps. A calculation with several parts uses
``yield from``.
"""

from collections.abc import Generator
from typing import NamedTuple, TypeVar

from airover.core.message import Message

Found = TypeVar("Found")


class Progress(NamedTuple):
    """Progress of a calculation: ``words`` names the step; ``done`` of ``of`` steps are complete."""

    words: Message
    done: int
    of: int


def finished(work: Generator[Progress, None, Found]) -> Found:
    """Run ``work`` to completion without pausing and return its result."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return end.value
