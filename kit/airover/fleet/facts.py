"""What plain facts cost with every motor of a catalog, by the rules of `choose` themselves.

Each rule is applied once for each different value that a table of units has.
"""

from typing import NamedTuple

import numpy as np

from airover.choose import RULES, unlikeness
from airover.choose.check import ADAPT, FAIL, MISSING, STATES
from airover.choose.comparison import Comparison
from airover.fleet.columns import job_of
from airover.physics import screening
from airover.physics.screening import NOT_FIT, STOPS
from airover.records import Job

REMEMBERED = 20_000  # values
# Rules by the columns that they look at. The supply of each unit is another one, so the rule on
# voltage stands in the screening itself.
GROUPS = (
    (("rotation", "rotation_seen_from"), ("rotation",)),
    (("frame",), ("frame",)),
    (("shaft_diameter_mm",), ("shaft diameter",)),
    (("shaft_length_mm",), ("shaft length",)),
    (("mounting",), ("mounting",)),
    (("shaft_position",), ("shaft position", "drain plugs")),
    (("enclosure",), ("enclosure",)),
    ((), ("thermal protector", "bearing kind")),
)
OF_PLATE = (
    "nameplate",
    "number of phases",
    "frequency",
    "speed",
    "horsepower",
    "full-load amps",
    "capacitor",
    "body length",
)
PLAIN = (*OF_PLATE, *(name for _, names in GROUPS for name in names))  # in the order of their bits
REASONS = (*STOPS, *PLAIN)


class Judged(NamedTuple):
    """Some rules on some values, (motors,) each: as in screening.Facts."""

    cost: np.ndarray
    unlike: np.ndarray
    failing: np.ndarray


class Facts:
    """Tables of what facts cost with the ``motors`` of a catalog, growing as facts are met."""

    def __init__(self, motors):
        self.motors = tuple(motors)
        self.always = unlikeness(Comparison(Job(), self.motors))
        self._rows, self._places, self._tables = [], {}, None

    def forget(self) -> None:
        """Start anew when very many different values were met: memory stays what it is."""
        if len(self._rows) > REMEMBERED:
            self._rows, self._places, self._tables = [], {}, None

    @property
    def tables(self) -> screening.Facts:
        """The tables, (motors, values), so that one motor's costs lie together."""
        if self._tables is None or self._tables.cost.shape[1] != len(self._rows):
            columns = (np.stack(one, axis=1) for one in zip(*self._rows, strict=True))
            self._tables = screening.Facts(*columns, self.always)
        return self._tables

    def place(self, number: int, values: tuple) -> int:
        """The column of ``tables`` for a group, by its ``number``, on the ``values`` of its
        columns. Raises InputError for a value that is refused."""
        key = number, *values
        if key not in self._places:
            columns, names = GROUPS[number]
            row = dict(zip(columns, values, strict=True))
            judged = self.judged(Comparison(job_of(row), self.motors), names)
            self._places[key] = len(self._rows)
            self._rows.append(judged)
        return self._places[key]

    def of_plate(self, at: Comparison) -> Judged:
        """The rules that look at the electrical side and the body of the failed motor."""
        return self.judged(at, OF_PLATE)

    def judged(self, at: Comparison, names) -> Judged:
        """The rules of these ``names``."""
        cost = np.zeros(len(self.motors), dtype=int)
        failing = np.zeros(len(self.motors), dtype=np.int64)
        for rule in RULES:
            if rule.name in names:
                ranks = rule.rank(rule.evaluate(at))
                failed = ranks == STATES.index(FAIL)
                cost += np.isin(ranks, (STATES.index(ADAPT), STATES.index(MISSING)))
                cost[failed] = NOT_FIT
                failing |= failed.astype(np.int64) << PLAIN.index(rule.name)
        cost = np.minimum(cost, NOT_FIT).astype(np.int8)
        return Judged(cost, (unlikeness(at) - self.always).astype(np.float64), failing)
