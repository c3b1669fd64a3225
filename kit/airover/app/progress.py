"""Long work in slices, so that sliders and a Stop button are heard meanwhile."""

import threading
import time
from collections.abc import Callable

from airover.app.panel import running_loop
from airover.core.errors import InputError

SLICE, PAUSE = 0.15, 0.02  # s


class InSlices:
    """Does work in steps (`in_steps`) on the event loop, a slice at a time.

    ``told`` is called with a Progress now and then, ``refused`` with an InputError, ``broken`` before
    any other error is raised. Where no event loop runs, in a script, work is done at once.

    JupyterLab may hear a widget in another thread than the one that runs the cells, each with an
    event loop of its own. So one step is done at a time, and a stop is a mark between steps.
    """

    def __init__(self, told: Callable, refused: Callable, broken: Callable):
        self._told, self._refused, self._broken = told, refused, broken
        self._work = self._ended = self._turn = None
        self._halted = False
        self._one_step = threading.RLock()
        self._last = ("", 0.0)

    @property
    def under_way(self) -> bool:
        """True while there is work to be done, stopped or not."""
        return self._work is not None

    @property
    def stopped(self) -> bool:
        """True while work waits to go on."""
        return self.under_way and self._halted

    def start(self, work, ended: Callable) -> None:
        """Do ``work`` and call ``ended`` with its result; earlier work is dropped."""
        self._work, self._ended = work, ended
        self.go_on()

    def go_on(self) -> None:
        """Begin, or go on where it was stopped."""
        self._halted = False
        if running_loop() is None:
            self.finish()
        else:
            self._turn = object()
            self._wait(self._turn)

    def stop(self) -> None:
        """Wait after the present step until `go_on`."""
        self._halted = True

    def forget(self) -> None:
        """Do no more of it."""
        self._work = None

    def finish(self) -> None:
        """Do all remaining work now, and the work that it starts, unless somebody stops it."""
        self._halted = False
        self._do(float("inf"))

    def _wait(self, turn) -> None:
        running_loop().call_later(PAUSE, self._slice, turn)

    def _slice(self, turn) -> None:
        if turn is self._turn:  # else it was started again, perhaps on another loop
            self._do(time.monotonic() + SLICE)
            if turn is self._turn and self.under_way and not self._halted:
                self._wait(turn)

    def _do(self, until: float) -> None:
        while self.under_way and not self._halted and time.monotonic() < until:
            with self._one_step:
                self._step(self._work)

    def _step(self, work) -> None:
        if work is None:  # forgotten while another thread did a step
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
        """True where the ``work`` that ended is still wanted; it is no longer under way."""
        wanted = self._work is work
        if wanted:
            self._work = None
        return wanted

    def _tell(self, step) -> None:
        """Report new steps, and a few others in a second."""
        words, told = self._last
        if step.words != words or time.monotonic() > told + SLICE:
            self._last = step.words, time.monotonic()
            self._told(step)
