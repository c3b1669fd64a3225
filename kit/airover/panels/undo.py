"""Steps of the controls, back and forth."""

from collections.abc import Callable

import ipywidgets as widgets

MOST = 100  # steps that are kept


class Undo:
    """What stood in ``controls`` at each step. ``put`` writes the values of a step into them.

    A step is what the controls say when somebody calls ``note``: one more only where something
    has changed. ``buttons`` go back and forth; they are dead where there is nothing to go to.
    """

    def __init__(self, controls, put: Callable[[tuple], None]):
        self.controls, self._put = tuple(controls), put
        self.back = widgets.Button(description="Undo", tooltip="One change back")
        self.forth = widgets.Button(description="Redo", tooltip="One change forth again")
        self.back.on_click(lambda _: self.step(-1))
        self.forth.on_click(lambda _: self.step(1))
        self.buttons = [self.back, self.forth]
        self._going = False
        self.begin()

    def begin(self) -> None:
        """Forget all steps: what stands in the controls is the first."""
        self._steps, self._at = [self._now()], 0
        self._show()

    def note(self) -> None:
        """Take down what stands in the controls, if it is not the step that was gone to."""
        if not self._going and self._now() != self._steps[self._at]:
            self._steps = [*self._steps[: self._at + 1], self._now()][-MOST:]
            self._at = len(self._steps) - 1
            self._show()

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

    def _now(self) -> tuple:
        return tuple(control.value for control in self.controls)

    def _show(self) -> None:
        self.back.disabled = self._at == 0
        self.forth.disabled = self._at == len(self._steps) - 1
