"""A choice among the motors that fit, or among the nearest where none does."""

import ipywidgets as widgets

from airover.answer import Answer
from airover.choose import Candidate
from airover.panels.reader import Reader

NEAREST = 3
MOST = 12


class MotorChoice:
    """``control`` offers motors by name; ``chosen`` is the candidate, or None for ``other``.
    ``wanted`` is the name that was chosen, also while it is not offered; None before.

    ``other`` says in a key of the page's texts what else may be chosen, ``first`` in the list or
    last. What comes first is chosen until somebody chooses.
    """

    def __init__(self, other: str = "", first: bool = False):
        self._other, self._first, self._among = other, first, {}
        self.wanted: str | None = None
        self.control = widgets.Dropdown(options=[])
        self.control.observe(self._chosen, "value")

    def offer(self, found: Answer, reader: Reader) -> None:
        """Offer the motors of ``found``; one that was chosen before stays, if it is still there."""
        among = found.fitting[:MOST] or found.candidates[:NEAREST]
        self._among = {one.case.motor.name: one for one in among}
        shown = [(_named(one, reader), name) for name, one in self._among.items()]
        others = [(reader(self._other), "")] if self._other else []
        options = [*others, *shown] if self._first else [*shown, *others]
        wanted, names = self.wanted, [name for _, name in options]
        self.control.options = options
        self.control.value = wanted if wanted in names else names[0]
        self.wanted = wanted

    def want(self, name: str | None) -> None:
        """Choose the motor of that ``name`` ("" is the other one) once it is offered."""
        if name in [value for _, value in self.control.options]:
            self.control.value = name
        self.wanted = name

    def _chosen(self, change) -> None:
        self.wanted = self.control.value

    @property
    def chosen(self) -> Candidate | None:
        return self._among.get(self.control.value)


def _named(one: Candidate, reader: Reader) -> str:
    rating = reader.said.amount(one.case.rating, "power")
    return f"{one.case.motor.name}, {rating}: {reader(f'fit.{one.verdict}')}"
