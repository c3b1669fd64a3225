"""Long work in slices, so that sliders and a Stop button are heard meanwhile."""

import time
from collections.abc import Callable

from airover.errors import InputError
from airover.panels.after_rest import running_loop

SLICE, PAUSE = 0.15, 0.02  # s


class InSlices:
    """Does work in steps (`in_steps`) on the event loop, a slice at a time.

    ``told`` is called with a Step now and then, ``refused`` with an InputError, ``broken`` before
    any other error is raised. Where no event loop runs, in a script, work is done at once.
    """

    def __init__(self, told: Callable, refused: Callable, broken: Callable):
        self._told, self._refused, self._broken = told, refused, broken
        self._work = self._ended = self._waiting = None
        self._last = ("", 0.0)

    @property
    def under_way(self) -> bool:
        """Whether there is work to be done, be it stopped or not."""
        return self._work is not None

    @property
    def stopped(self) -> bool:
        return self.under_way and self._waiting is None

    def start(self, work, ended: Callable) -> None:
        """Do ``work`` and call ``ended`` with what it finds; what was under way is forgotten."""
        self.forget()
        self._work, self._ended = work, ended
        self.go_on()

    def go_on(self) -> None:
        """Begin, or go on where it was stopped."""
        loop = running_loop()
        if loop is None:
            self.finish()
        else:
            self._waiting = loop.call_later(PAUSE, self._slice)

    def stop(self) -> None:
        """Wait, until somebody lets it go on."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def forget(self) -> None:
        self.stop()
        self._work = None

    def finish(self) -> None:
        """Do now all that is still to be done, and what that starts."""
        while self.under_way:
            self.stop()
            self._do(float("inf"))

    def _slice(self) -> None:
        self._waiting = None
        work = self._work
        self._do(time.monotonic() + SLICE)
        if self._work is work and work is not None:
            self.go_on()

    def _do(self, until: float) -> None:
        work = self._work
        while time.monotonic() < until:
            try:
                step = next(work)
            except StopIteration as end:
                self._work = None
                self._ended(end.value)
                return
            except InputError as error:
                self._work = None
                self._refused(error)
                return
            except Exception:
                self._work = None
                self._broken()
                raise
            self._tell(step)

    def _tell(self, step) -> None:
        """Not each of hundreds: what is new, and a few in a second."""
        words, told = self._last
        if step.words != words or time.monotonic() > told + SLICE:
            self._last = step.words, time.monotonic()
            self._told(step)
