"""Steps of what stands in the controls, back and forth."""

from collections.abc import Callable

import ipywidgets as widgets

from airover.texts import Writer

MOST = 200  # steps that are kept


class Undo:
    """Steps one after the other. ``now`` returns what stands in the controls, as something that can
    be compared; ``put`` writes such a step into them.

    A step is what the controls say when somebody calls ``note``: one more only where something
    has changed. ``buttons`` go back and forth; they are dead where there is nothing to go to.
    """

    def __init__(self, now: Callable[[], object], put: Callable[[object], None]):
        self._now, self._put = now, put
        self.back, self.forth = widgets.Button(), widgets.Button()
        self.say(Writer())
        # ipywidgets only logs what a click raises: the handlers do nothing but call this one.
        self.back.on_click(lambda _: self.step(-1))
        self.forth.on_click(lambda _: self.step(1))
        self.buttons = [self.back, self.forth]
        self._going = False
        self.begin()

    def say(self, write: Writer) -> None:
        """The words of the buttons."""
        self.back.description, self.forth.description = write("panel.undo"), write("panel.redo")
        self.back.tooltip, self.forth.tooltip = write("panel.undo_tip"), write("panel.redo_tip")

    def begin(self) -> None:
        """Forget all steps: what stands in the controls is the first."""
        self._steps, self._at = [self._now()], 0
        self._show()

    def note(self) -> bool:
        """Take down what stands in the controls; whether it is a new step, not one gone to."""
        now = self._now()
        if self._going or now == self._steps[self._at]:
            return False
        self._steps = [*self._steps[: self._at + 1], now][-MOST:]
        self._at = len(self._steps) - 1
        self._show()
        return True

    def step(self, by: int) -> None:
        """Back (-1) or forth (1); nothing where there is no such step."""
        self.note()
        if 0 <= self._at + by < len(self._steps):
            self._at += by
            self._go()

    def _go(self) -> None:
        self._going = True
        try:
            self._put(self._steps[self._at])
        finally:
            self._going = False
        self._steps[self._at] = self._now()  # a span that has changed since may have moved one
        self._show()

    def _show(self) -> None:
        self.back.disabled = self._at == 0
        self.forth.disabled = self._at == len(self._steps) - 1
