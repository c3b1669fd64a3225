"""A choice among the motors that fit, or among the nearest where none does."""

import ipywidgets as widgets

from airover.answer import Answer
from airover.choose import Candidate
from airover.page.reader import Reader

NEAREST = 3
MOST = 12


class MotorChoice:
    """``control`` offers motors by name; ``chosen`` is the candidate, or None for ``other``.
    ``wanted`` is the name that was chosen, also while it is not offered.

    ``other`` says in a key of the page's texts what else may be chosen, first in the list.
    """

    def __init__(self, other: str = ""):
        self._other, self._among, self.wanted = other, {}, ""
        self.control = widgets.Dropdown(options=[("", "")])
        self.control.observe(self._chosen, "value")

    def offer(self, found: Answer, reader: Reader) -> None:
        """Offer the motors of ``found``; one that was chosen before stays, if it is still there."""
        among = found.fitting[:MOST] or found.candidates[:NEAREST]
        self._among = {one.case.motor.name: one for one in among}
        shown = [(_named(one, reader), name) for name, one in self._among.items()]
        others = [(reader(self._other), "")] if self._other else []
        wanted = self.wanted
        self.control.options = [*others, *shown]
        self.control.value = wanted if wanted in self._among else self.control.options[0][1]
        self.wanted = wanted

    def want(self, name: str) -> None:
        """Choose the motor of that ``name`` once it is offered."""
        self.wanted = name
        if name in self._among:
            self.control.value = name

    def _chosen(self, change) -> None:
        self.wanted = self.control.value or ""

    @property
    def chosen(self) -> Candidate | None:
        return self._among.get(self.control.value)


def _named(one: Candidate, reader: Reader) -> str:
    rating = reader.said.amount(one.case.rating, "power")
    return f"{one.case.motor.name}, {rating}: {reader(f'fit.{one.verdict}')}"
