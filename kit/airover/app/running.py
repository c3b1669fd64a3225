"""Find a worksheet's event loop, delay calls, and keep entries in order."""

import asyncio
import sys
from collections.abc import Callable

REST = 0.4  # s without movement


class AfterRest:
    """Delayed call of ``work`` after ``rest`` [s] without a new request.

    This keeps a slow calculation from running each time a slider moves. In a script, which has no
    event loop, the calculation runs immediately.
    """

    def __init__(self, work: Callable[[], None], rest: float = REST):
        self._work, self._rest, self._waiting = work, rest, None

    def ask(self) -> None:
        """Schedule the call after the next pause, replacing any pending request."""
        self.forget()
        loop = running_loop()
        if loop is None:
            self._work()
        else:
            self._waiting = loop.call_later(self._rest, self._run)

    def forget(self) -> None:
        """Discard any pending request."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def hurry(self) -> None:
        """Run a pending request now."""
        if self._waiting is not None:
            self.forget()
            self._work()

    def _run(self) -> None:
        self._waiting = None
        self._work()


def running_loop() -> asyncio.AbstractEventLoop | None:
    """Return the running event loop of a worksheet, or None in a script."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


def keep_order() -> None:
    """Have this kernel handle the messages of all widgets in its main thread, in order.

    ipykernel 7.4 sends the messages of a widget to the thread that last changed the widget. Without
    this call, a click on *Save as* can be handled before text that the user entered earlier.
    """
    comms = sys.modules.get("ipykernel.comm.comm")
    if hasattr(comms, "BaseComm"):
        comms.BaseComm._reply_subshell_for = lambda self, data, default: None
