"""Run long calculations in short slices so that sliders and a Stop button stay responsive."""

import threading
import time
from collections.abc import Callable

from airover.app.running import running_loop
from airover.core.errors import InputError

SLICE, PAUSE = 0.15, 0.02  # s


class InSlices:
    """Calculation that runs in steps (`in_steps`) on the event loop.

    In a script, which has no event loop, the calculation runs immediately.

    JupyterLab may handle a widget event in a different thread than the one that runs the cells, and
    each thread has its own event loop. Therefore, a lock allows only one step to run at a time, and
    a stop takes effect between steps.

    Parameters
    ----------
    told : Callable
        Function that is called with a Progress at regular intervals.
    refused : Callable
        Function that is called with an InputError.
    broken : Callable
        Function that is called before any other error is raised.
    """

    def __init__(self, told: Callable, refused: Callable, broken: Callable):
        self._told, self._refused, self._broken = told, refused, broken
        self._work = self._ended = self._turn = None
        self._halted = False
        self._one_step = threading.RLock()
        self._last = ("", 0.0)

    @property
    def under_way(self) -> bool:
        """True while a calculation is unfinished, including while it is stopped."""
        return self._work is not None

    @property
    def stopped(self) -> bool:
        """True while a calculation is stopped and can be resumed."""
        return self.under_way and self._halted

    def start(self, work, ended: Callable) -> None:
        """Run ``work`` and call ``ended`` with its result. Any earlier calculation is discarded."""
        self._work, self._ended = work, ended
        self.go_on()

    def go_on(self) -> None:
        """Start the calculation, or resume it after a stop."""
        self._halted = False
        if running_loop() is None:
            self.finish()
        else:
            self._turn = object()
            self._wait(self._turn)

    def stop(self) -> None:
        """Stop after the current step until `go_on` is called."""
        self._halted = True

    def forget(self) -> None:
        """Discard the calculation."""
        self._work = None

    def finish(self) -> None:
        """Finish the calculation, and any others that it starts, unless stopped in the meantime."""
        self._halted = False
        self._do(float("inf"))

    def _wait(self, turn) -> None:
        running_loop().call_later(PAUSE, self._slice, turn)

    def _slice(self, turn) -> None:
        if turn is self._turn:  # otherwise it was restarted, perhaps on another event loop
            self._do(time.monotonic() + SLICE)
            if turn is self._turn and self.under_way and not self._halted:
                self._wait(turn)

    def _do(self, until: float) -> None:
        while self.under_way and not self._halted and time.monotonic() < until:
            with self._one_step:
                self._step(self._work)

    def _step(self, work) -> None:
        if work is None:  # discarded while another thread was running a step
            return
        try:
            step = next(work)
        except StopIteration as end:
            if self._is_still(work):
                self._ended(end.value)
        except InputError as error:
            if self._is_still(work):
                self._refused(error)
        except Exception:
            self._work = None
            self._broken()
            raise
        else:
            self._tell(step)

    def _is_still(self, work) -> bool:
        """Return True if the finished ``work`` is still needed, and mark it as done."""
        wanted = self._work is work
        if wanted:
            self._work = None
        return wanted

    def _tell(self, step) -> None:
        """Report each new step, and report progress within a step a few times per second."""
        words, told = self._last
        if step.words != words or time.monotonic() > told + SLICE:
            self._last = step.words, time.monotonic()
            self._told(step)
