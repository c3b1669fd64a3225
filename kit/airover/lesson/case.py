"""Consequences of a student's choice: graded nameplate readings and an installed motor.

The data come from an answer, a year and a life cost of the short list. A wrong choice is shown at
the time it would have been discovered, earliest first: `WHEN` and the consequences are engineering
judgment. Of the work left undone, only the old capacitor is simulated. Not included: a fan that
turns backward, and water or oil in a bearing in the wrong position.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.business.costs import Yearly, completed, service, yearly
from airover.business.life_cost import LifeCost, job_season, life_cost
from airover.core.errors import InputError, one_of
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.units import Amount, quoted
from airover.model.aging import WindingYear, lifetime_over_year
from airover.model.climate import Season
from airover.model.motor import Load, Motor
from airover.model.simulation import LOW, SLIP_RUNNING, USUAL
from airover.physics import insulation
from airover.records.catalog import CatalogMotor
from airover.records.lesson import LessonCase
from airover.records.nameplate import REVERSIBLE, Nameplate
from airover.selection.answer import Answer, answer
from airover.selection.check import ADAPT, FAIL, MISSING, PASS, Check
from airover.selection.comparison import winding_limit
from airover.selection.rules import DOES_NOT_FIT, Candidate, Case

SAME = 0.004  # fraction of a reading: rounding error of unit conversion
CURRENCY = "USD"  # currency of the kit's usual prices
# Time at which a failed check would be discovered: engineering judgment.
BEFORE, START, HOT, RATED, YEARS, PAPER = "before", "start", "hot", "rated", "years", "paper"
WHEN = {
    BEFORE: ("frame", "shaft diameter", "shaft length", "body length", "mounting"),
    START: ("voltage", "number of phases", "frequency", "starting on low voltage", "rotation"),
    HOT: ("winding temperature", "airflow", "speed", "shaft power"),
    RATED: ("ambient rating",),
    YEARS: ("shaft position", "drain plugs", "enclosure", "thermal protector"),
    PAPER: ("horsepower", "torque", "catalog's plate"),
}  # fmt: skip
UNDONE, UNREAD, WELL = "undone", "unread", "well"  # nothing fails
# Tasks when installing a motor, and the checks that require them.
WORK = {
    "capacitor": ("capacitor", "capacitor voltage"),
    "plug": ("rotation",),
    "cut": ("shaft length",),
    "height": ("body length",),
    "band": ("frame", "mounting"),
    "drain": ("drain plugs",),
}
RIGHT, LEFT, ANOTHER, NOT_THERE, OPEN, UNREADABLE = (
    "right",
    "left",
    "another",
    "not_there",
    "open",
    "unreadable",
)


class Graded(NamedTuple):
    """Student's entry for a nameplate field.

    ``field``: name of the field; ``state``: "right", "left" (correctly left blank), "another"
    (wrong value), "not_there" (should be blank), "open" (readable but left blank) or "unreadable";
    ``typed``: the text typed; ``known``: the value readable on the nameplate, None if unreadable.
    """

    field: str
    state: str
    typed: str
    known: object


def graded(case: LessonCase, typed: dict[str, str]) -> tuple[Graded, ...]:
    """Grade every requested field of ``case``.

    ``typed``: entries by field name, empty if left blank. Raises InputError for a field that the
    case does not include.
    """
    for name in typed:
        if name not in case.fields:
            raise InputError("field", quoted(name), one_of(case.fields))
    return tuple(_graded(name, typed.get(name, ""), known) for name, known in case.readable.items())


def _graded(name: str, typed: str, known) -> Graded:
    typed = typed.strip()
    if not typed:
        return Graded(name, LEFT if known is None else OPEN, typed, known)
    if known is None:
        return Graded(name, NOT_THERE, typed, known)
    try:
        nameplate = Nameplate(**{name: typed})
    except InputError:
        return Graded(name, UNREADABLE, typed, known)
    values = dict(zip(nameplate.names(), dict(nameplate).values(), strict=True))
    return Graded(name, RIGHT if _same(values[name], known) else ANOTHER, typed, known)


def _same(one, other) -> bool:
    if not isinstance(one, Amount):
        return one == other
    pairs = zip((one.low, one.high), (other.low, other.high), strict=True)
    return all(abs(a - b) <= SAME * abs(b) for a, b in pairs)


class Kept(NamedTuple):
    """A motor with the old capacitor.

    ``old``: old capacitance [F]; ``current``: current [A]; ``winding``: winding temperature [degC];
    ``starts``: fraction of the samples in which the motor starts.
    """

    old: float
    current: Band
    winding: Band
    starts: float


@dataclass(frozen=True, eq=False)
class Lesson:
    """A ``case`` with its short list evaluated; two Lessons are never equal.

    ``motors``: the motors in the order of the case; ``answer``: their evaluation.
    """

    case: LessonCase
    motors: tuple[CatalogMotor, ...]
    answer: Answer

    @classmethod
    def of(cls, case: LessonCase, catalog) -> "Lesson":
        """Return the lesson of ``case`` with the motors of ``catalog`` that the case names.

        Raises InputError for a name that is not in the catalog, and for the same reasons as answer.
        """
        known = {motor.name: motor for motor in catalog}
        for name in case.motors:
            if name not in known:
                field = Message("lesson.error.case_motors", name=case.key)
                raise InputError(field, quoted(name), Message("lesson.error.catalog_names"))
        motors = tuple(known[name] for name in case.motors)
        return cls(case, motors, answer(case.job, motors, thorough=True))

    @property
    def best(self) -> tuple[Candidate, ...]:
        """Best choices: no other motor has a better verdict or fewer open points.

        Open points are adaptations and open questions.
        """
        first = self.answer.candidates[0]
        if first.verdict == DOES_NOT_FIT:
            return ()
        rank = first.verdict, len(first.reasons)
        return tuple(c for c in self.answer.fitting if (c.verdict, len(c.reasons)) == rank)

    @cached_property
    def season(self) -> Season:
        """Example year (invented), adjusted to the job's design day."""
        return job_season(self.case.job)

    @cached_property
    def years(self) -> dict[str, tuple[Yearly, WindingYear]]:
        """Simulated year of each motor, by name."""
        whole, job = completed(self.case.job.cost, CURRENCY), self.case.job
        lives = yearly(job, self.motors, self.season, service(whole))
        winding = lifetime_over_year(job, self.motors, self.season)
        names = (motor.name for motor in self.motors)
        return dict(zip(names, zip(lives, winding, strict=True), strict=True))

    @cached_property
    def costs(self) -> dict[str, LifeCost]:
        """Life cost of each motor that fits and has a price, by name."""
        if not any(c.case.motor.price for c in self.answer.fitting):
            return {}
        return {cost.name: cost for cost in life_cost(self.answer, season=self.season).costs}

    def choose(self, name: str, done: Iterable[str] = ()) -> "Outcome":
        """Return the Outcome of the motor ``name`` with the tasks in WORK that are ``done``.

        Raises InputError for a name that is not in the list, or an unknown task.
        """
        done = frozenset(done)
        for one in done - WORK.keys():
            raise InputError("work", quoted(one), one_of(WORK))
        for candidate in self.answer.candidates:
            if candidate.case.motor.name == name:
                return Outcome(self, candidate, done)
        raise InputError("motor", quoted(name), one_of(self.case.motors))


@dataclass(frozen=True, eq=False)
class Outcome:
    """A ``candidate`` of a ``lesson``, installed with the tasks in ``done``."""

    lesson: Lesson
    candidate: Candidate
    done: frozenset[str]

    @property
    def case(self) -> Case:
        return self.candidate.case

    @property
    def name(self) -> str:
        return self.case.motor.name

    @property
    def is_best(self) -> bool:
        return self.candidate in self.lesson.best

    def check(self, name: str) -> Check:
        return next(check for check in self.candidate.checks if check.name == name)

    @cached_property
    def failed(self) -> tuple[tuple[str, Check], ...]:
        """Failed checks, each with the time of discovery, earliest first."""
        failing = {check.name: check for check in self.candidate.having(FAIL)}
        return tuple(
            (when, failing[name])
            for when, names in WHEN.items()
            for name in names
            if name in failing
        )

    @property
    def when(self) -> str:
        """Time at which the first fault is discovered.

        "undone" if only a task was forgotten, "unread" if only information is missing, "well" if
        nothing is wrong.
        """
        if self.failed:
            return self.failed[0][0]
        if self.forgotten:
            return UNDONE
        return UNREAD if self.candidate.having(MISSING) else WELL

    @cached_property
    def needed(self) -> tuple[str, ...]:
        """Tasks that this motor requires on this job, by WORK key."""
        return tuple(work for work in WORK if self._asks(work))

    @property
    def forgotten(self) -> tuple[str, ...]:
        return tuple(work for work in self.needed if work not in self.done)

    @property
    def unneeded(self) -> tuple[str, ...]:
        return tuple(work for work in WORK if work in self.done and work not in self.needed)

    def _asks(self, work: str) -> bool:
        """Return True if the motor requires a task.

        Every motor requires a new capacitor; the rotation plug and drains apply to motors that have
        them.
        """
        motor = self.case.motor
        if work == "capacitor":
            return True
        if work == "plug":
            return motor.rotation_shaft_end == REVERSIBLE
        if work == "drain":
            return self.check("drain plugs").state == PASS
        return any(self.check(name).state == ADAPT for name in WORK[work])

    @property
    def stalls(self) -> float:
        """Fraction of the samples in which the motor does not start or come up to speed.

        The voltage is the lowest rated voltage or this supply voltage.
        """
        simulation, row = self.case.simulation, self.case.row
        if row is None:
            return 1.0
        here = simulation.starts[LOW, row] & (simulation.slip[LOW, row] < SLIP_RUNNING)
        return 1 - float(np.mean(simulation.runs_low[row] & here))

    @cached_property
    def runs_up(self) -> bool:
        """True if the motor starts and reaches running speed at low voltage in most samples."""
        return self.check("starting on low voltage").state == PASS and self.stalls < 0.5

    @property
    def ladder(self) -> dict[str, Band | None]:
        """Temperatures [degC] on the design day, from outdoor air up.

        "outdoor"; "entering": air entering the coil; "air": air at the motor; "winding": average
        winding at the usual supply voltage, None for a motor that cannot run on this supply.
        """
        asked = self.case.conditions
        air = (asked.temp_outdoor, asked.temp_entering, asked.temp_air)
        bands = {name: Band.of(draws) for name, draws in zip(("outdoor", "entering", "air"), air)}
        return {**bands, "winding": self.case.winding}

    @property
    def allowed(self) -> float | None:
        """Maximum average winding temperature [degC] of the motor's class, None if not known."""
        letter = self.case.motor.insulation_class
        return None if letter is None else winding_limit(letter)

    @property
    def trip(self) -> float | None:
        """Winding temperature [degC] at which a protector of the motor's class must have opened."""
        letter = self.case.motor.insulation_class
        return None if letter is None else float(insulation.protector_limit(letter))

    @property
    def lives(self) -> dict[str, Band]:
        """Median lives [years] of windings and bearings by part.

        Parts without data are omitted; empty if the motor does not come up to speed.
        """
        year = self.lesson.years[self.name][0]
        known = [part for part in ("winding", "bearing") if part not in year.assumed]
        return {part: year.lives[part] for part in known} if self.runs_up else {}

    @property
    def hours_above(self) -> Band | None:
        """Hours per year with the winding above ``trip``, None if not known."""
        return self.lesson.years[self.name][1].trip if self.runs_up else None

    @property
    def cost(self) -> LifeCost | None:
        """Life cost; None for a motor that does not fit or has no price."""
        return self.lesson.costs.get(self.name)

    @cached_property
    def kept(self) -> Kept | None:
        """The motor with the old capacitor, if the old capacitor is known and unsuitable."""
        old = self.lesson.case.job.nameplate.capacitor
        if old is None or self.check("capacitor").state != ADAPT:
            return None
        asked = self.case.conditions
        motor = Motor.from_catalog(self.case.motor, asked.samples).with_capacitor(old.mid)
        run = motor.run(Load.of(asked), asked.voltage[USUAL])
        found = run.first_bands()
        starts = float(run.chance_of_start()[0])
        return Kept(old.mid, found["current_a"], found["temp_winding_c"], starts)
