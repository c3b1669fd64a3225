"""Grade a student's nameplate readings and calculate the consequences of the motor choice.

The data come from the answer, the simulated year and the life-cycle costs of the motors on the
short list. Each wrong choice is shown at the point where it would be discovered, earliest first.
The times in `WHEN` and the consequences are based on engineering judgment. Reusing the old
capacitor is the only forgotten task that is simulated. A fan that turns backward is not simulated,
nor is oil loss or water entry in the bearings of a motor mounted in a position that it is not
designed for.
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

SAME = 0.004  # fraction of a reading; allows for rounding in unit conversion
CURRENCY = "USD"  # currency of the kit's default prices
# Point at which a failed check would be discovered (engineering judgment).
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
# Installation tasks, and the checks that require them.
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
    """Student's graded entry for a nameplate field.

    Attributes
    ----------
    field : str
        Name of the field.
    state : str
        Grade, one of "right", "left" (correctly left blank), "another" (wrong value), "not_there"
        (should be blank), "open" (readable but left blank) and "unreadable".
    typed : str
        Entry as typed.
    known : object
        Value on the nameplate, or None if unreadable.
    """

    field: str
    state: str
    typed: str
    known: object


def graded(case: LessonCase, typed: dict[str, str]) -> tuple[Graded, ...]:
    """Grade every field that ``case`` requests.

    Parameters
    ----------
    typed : dict[str, str]
        Entries by field name, with an empty string for a blank field.

    Raises
    ------
    InputError
        If the case does not include a field.
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
    """Motor with the old capacitor.

    Attributes
    ----------
    old : float
        Old capacitance [F].
    current : Band
        Current [A].
    winding : Band
        Winding temperature [degC].
    starts : float
        Fraction of samples in which the motor starts.
    """

    old: float
    current: Band
    winding: Band
    starts: float


@dataclass(frozen=True, eq=False)
class Lesson:
    """Classroom ``case`` with its evaluated short list.

    Attributes
    ----------
    motors : tuple[CatalogMotor, ...]
        Motors in the order listed in the case.
    answer : Answer
        Answer that contains the evaluation of the motors.
    """

    case: LessonCase
    motors: tuple[CatalogMotor, ...]
    answer: Answer

    @classmethod
    def of(cls, case: LessonCase, catalog) -> "Lesson":
        """Return the lesson for ``case`` with the motors in ``catalog`` named in the case.

        Raises
        ------
        InputError
            If a name is not in the catalog, or for the same reasons as in `answer`.
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
        """Motors for which no other motor has a better verdict or fewer open items.

        Open items are required modifications and unanswered questions.
        """
        first = self.answer.candidates[0]
        if first.verdict == DOES_NOT_FIT:
            return ()
        rank = first.verdict, len(first.reasons)
        return tuple(c for c in self.answer.fitting if (c.verdict, len(c.reasons)) == rank)

    @cached_property
    def season(self) -> Season:
        """Fictional example year, adjusted to the design day of the job."""
        return job_season(self.case.job)

    @cached_property
    def years(self) -> dict[str, tuple[Yearly, WindingYear]]:
        """Simulated year of each motor by name."""
        whole, job = completed(self.case.job.cost, CURRENCY), self.case.job
        lives = yearly(job, self.motors, self.season, service(whole))
        winding = lifetime_over_year(job, self.motors, self.season)
        names = (motor.name for motor in self.motors)
        return dict(zip(names, zip(lives, winding, strict=True), strict=True))

    @cached_property
    def costs(self) -> dict[str, LifeCost]:
        """Life-cycle cost, by name, of each motor that fits and has a price."""
        if not any(c.case.motor.price for c in self.answer.fitting):
            return {}
        return {cost.name: cost for cost in life_cost(self.answer, season=self.season).costs}

    def choose(self, name: str, done: Iterable[str] = ()) -> "Outcome":
        """Return the Outcome for the motor ``name`` with the tasks in WORK that are ``done``.

        Raises
        ------
        InputError
            If the name is not in the list or a task is unknown.
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
    """Result of installing a ``candidate`` in a ``lesson`` with the tasks in ``done``."""

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
        """Failed checks and when they would be discovered, earliest first."""
        failing = {check.name: check for check in self.candidate.having(FAIL)}
        return tuple(
            (when, failing[name])
            for when, names in WHEN.items()
            for name in names
            if name in failing
        )

    @property
    def when(self) -> str:
        """Point at which the first fault is discovered.

        The value is "undone" if only a task was forgotten, "unread" if only information is missing,
        and "well" if nothing is wrong.
        """
        if self.failed:
            return self.failed[0][0]
        if self.forgotten:
            return UNDONE
        return UNREAD if self.candidate.having(MISSING) else WELL

    @cached_property
    def needed(self) -> tuple[str, ...]:
        """Keys (in WORK) of the tasks that this motor requires on the job."""
        return tuple(work for work in WORK if self._asks(work))

    @property
    def forgotten(self) -> tuple[str, ...]:
        return tuple(work for work in self.needed if work not in self.done)

    @property
    def unneeded(self) -> tuple[str, ...]:
        return tuple(work for work in WORK if work in self.done and work not in self.needed)

    def _asks(self, work: str) -> bool:
        """Return True if this motor requires the given task.

        Every motor requires a new capacitor. The rotation plug and drains apply only to motors that
        have them.
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
        """Fraction of samples in which the motor does not start or come up to speed.

        The voltage is the lowest rated voltage or the supply voltage of the job.
        """
        simulation, row = self.case.simulation, self.case.row
        if row is None:
            return 1.0
        here = simulation.starts[LOW, row] & (simulation.slip[LOW, row] < SLIP_RUNNING)
        return 1 - float(np.mean(simulation.runs_low[row] & here))

    @cached_property
    def runs_up(self) -> bool:
        """True if the motor reaches running speed at low voltage in most samples."""
        return self.check("starting on low voltage").state == PASS and self.stalls < 0.5

    @property
    def ladder(self) -> dict[str, Band | None]:
        """Temperatures [degC] on the design day, in ascending order from the outdoor temperature.

        The keys are "outdoor", "entering" (air entering the coil), "air" (air at the motor) and
        "winding" (average winding temperature at the usual supply voltage, or None for a motor that
        cannot run on this supply).
        """
        asked = self.case.conditions
        air = (asked.temp_outdoor, asked.temp_entering, asked.temp_air)
        bands = {name: Band.of(draws) for name, draws in zip(("outdoor", "entering", "air"), air)}
        return {**bands, "winding": self.case.winding}

    @property
    def allowed(self) -> float | None:
        """Winding temperature limit [degC] of the insulation class, or None if unknown."""
        letter = self.case.motor.insulation_class
        return None if letter is None else winding_limit(letter)

    @property
    def trip(self) -> float | None:
        """Maximum winding temperature [degC] at which a protector must open.

        It depends on the motor's insulation class and is None if the class is unknown.
        """
        letter = self.case.motor.insulation_class
        return None if letter is None else float(insulation.protector_limit(letter))

    @property
    def lives(self) -> dict[str, Band]:
        """Median lives of the windings and bearings by part [years].

        Parts without data are omitted. The result is empty if the motor does not come up to speed.
        """
        year = self.lesson.years[self.name][0]
        known = [part for part in ("winding", "bearing") if part not in year.assumed]
        return {part: year.lives[part] for part in known} if self.runs_up else {}

    @property
    def hours_above(self) -> Band | None:
        """Hours per year with the winding above ``trip``, or None if unknown."""
        return self.lesson.years[self.name][1].trip if self.runs_up else None

    @property
    def cost(self) -> LifeCost | None:
        """Life-cycle cost, or None for a motor that does not fit or has no price."""
        return self.lesson.costs.get(self.name)

    @cached_property
    def kept(self) -> Kept | None:
        """Motor with the old capacitor, if the old capacitor is known and unsuitable."""
        old = self.lesson.case.job.nameplate.capacitor
        if old is None or self.check("capacitor").state != ADAPT:
            return None
        asked = self.case.conditions
        motor = Motor.from_catalog(self.case.motor, asked.samples).with_capacitor(old.mid)
        run = motor.run(Load.of(asked), asked.voltage[USUAL])
        found = run.first_bands()
        starts = float(run.chance_of_start()[0])
        return Kept(old.mid, found["current_a"], found["temp_winding_c"], starts)
