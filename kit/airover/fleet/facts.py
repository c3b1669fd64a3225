"""What plain facts cost: nothing, one thing to adapt or to find out, or the motor.

The rules are those of `choose`, asked once for each different value that a table of units has.
"""

from functools import partial
from types import SimpleNamespace

import numpy as np

from airover.choose import electrical, mechanical
from airover.choose.case import Case
from airover.choose.check import ADAPT, FAIL, MISSING
from airover.fleet.columns import job_of
from airover.physics.screening import NOT_FIT

REMEMBERED = 20_000  # values
COST = {FAIL: NOT_FIT, ADAPT: 1, MISSING: 1}
# Each check with the columns that it looks at.
CHECKS = (
    (electrical.phase, ("phase",)),
    (electrical.capacitor, ("capacitor_uf",)),
    (mechanical.rotation, ("rotation", "rotation_seen_from")),
    (mechanical.frame, ("frame",)),
    (mechanical.shaft_diameter, ("shaft_diameter_mm",)),
    (mechanical.shaft_length, ("shaft_length_mm",)),
    (mechanical.body_length, ("body_length_mm",)),
    (mechanical.mounting, ("mounting",)),
    (mechanical.shaft_position, ("shaft_position",)),
    (mechanical.drain_plugs, ("shaft_position",)),
    (mechanical.enclosure, ("enclosure",)),
    (mechanical.protector, ()),
)


class Facts:
    """Tables of what facts cost with the ``motors`` of a catalogue, growing as facts are met."""

    def __init__(self, motors):
        self.motors = motors
        self._facts, self._amps = _Table(), _Table()

    def forget(self) -> None:
        """Start anew when very many different values were met: memory stays what it is."""
        if len(self._facts.rows) + len(self._amps.rows) > REMEMBERED:
            self._facts, self._amps = _Table(), _Table()

    @property
    def facts(self) -> np.ndarray:
        """(motors, values), so that one motor's costs lie together"""
        return np.ascontiguousarray(self._facts.array.T)

    @property
    def amps(self) -> np.ndarray:
        """(values, motors, ratings)"""
        return self._amps.array

    def place(self, number: int, values: tuple) -> int:
        """The row of ``facts`` for a check, by its ``number``, on the ``values`` of its columns.

        Raises InputError for a value that is refused.
        """
        check, columns = CHECKS[number]
        told = dict(zip(columns, values, strict=True))
        return self._facts.place((number, *values), partial(self._costs, check, told))

    def amps_place(self, current) -> int:
        """The row of ``amps`` for an old motor's ``current`` [A] or None."""
        return self._amps.place(current, partial(self._amps_costs, current))

    def _costs(self, check, told) -> list[int]:
        return [_cost(check(case)) for case in _cases(job_of(told), self.motors)]

    def _amps_costs(self, current) -> list[list[int]]:
        """A motor's rated amps are those of the rating in use, so each of them is looked at."""
        most = max(len(motor.ratings) for motor in self.motors)
        costs = np.full((len(self.motors), most), NOT_FIT)
        for number, motor in enumerate(self.motors):
            for at, rating in enumerate(motor.ratings):
                job = job_of({"power_w": rating, "current_a": current})
                case = _cases(job, [motor])[0]
                costs[number, at] = _cost(electrical.full_load_amps(case))
        return costs.tolist()


class _Table:
    """Rows by key, made when first asked for."""

    def __init__(self):
        self.rows, self.places = [], {}
        self._array = np.empty(0)

    def place(self, key, make) -> int:
        if key not in self.places:
            row = make()
            self.places[key] = len(self.rows)
            self.rows.append(row)
        return self.places[key]

    @property
    def array(self) -> np.ndarray:
        if len(self._array) < len(self.rows):
            self._array = np.array(self.rows, dtype=np.int8)
        return self._array


def _cases(job, motors) -> list[Case]:
    """Cases that know the job and the motor, and nothing that has to be worked out."""
    shown = SimpleNamespace(system="SI")
    worked = SimpleNamespace(job=job, motors=motors, conditions=shown)
    return [Case(worked, number) for number in range(len(motors))]


def _cost(check) -> int:
    return COST.get(check.state, 0)
