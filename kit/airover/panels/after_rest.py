"""Slow work that waits until the controls rest."""

import asyncio
from collections.abc import Callable

REST = 0.4  # s without a move


class AfterRest:
    """Calls ``work`` once nothing has asked for it for a while.

    Slow work must not run on every move of a slider. Where no event loop runs, in a script, there
    is nothing to wait for: it is worked at once.
    """

    def __init__(self, work: Callable[[], None], rest: float = REST):
        self._work, self._rest, self._waiting = work, rest, None

    def ask(self) -> None:
        """Work after the next rest; an earlier request that still waits is forgotten."""
        self.forget()
        loop = running_loop()
        if loop is None:
            self._work()
        else:
            self._waiting = loop.call_later(self._rest, self._run)

    def forget(self) -> None:
        """Do not work what still waits."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def hurry(self) -> None:
        """Work now what still waits, if anything does."""
        if self._waiting is not None:
            self.forget()
            self._work()

    def _run(self) -> None:
        self._waiting = None
        self._work()


def running_loop() -> asyncio.AbstractEventLoop | None:
    """The event loop that runs, as in a worksheet; None in a script."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None
