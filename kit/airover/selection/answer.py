"""Find the requirements, the ranked candidates and the assumptions for a job.

The function `counter_list` uses the same samples and rules to find the motors that fit each of many
nameplates.
"""

import difflib
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from airover.core.errors import InputError, one_of
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.units import quoted
from airover.model.conditions import Input, site_conditions
from airover.model.simulation import (
    SAMPLES,
    USUAL,
)
from airover.records.job import Job
from airover.records.scope import check_scope
from airover.records.tables import LeftOut, left_out_of
from airover.selection.batches import EARLY, ready
from airover.selection.check import ADAPT, FAIL, MISSING
from airover.selection.comparison import Comparison
from airover.selection.large_catalog import Screened, chosen
from airover.selection.measurement import Decisive, decisive_measurement
from airover.selection.rules import (
    DOES_NOT_FIT,
    FITS,
    PLAIN,
    Candidate,
    Case,
    apply_rules,
    choose,
    unlikeness,
)

NAMED = 5  # number of motors named in an error message
CAUTIONS = tuple(
    Message(f"safety.{name}") for name in ("power", "capacitor", "guard", "codes", "measure")
)


@dataclass(frozen=True)
class Answer:
    """Candidates for a job, best first, and the requirements ``needed`` as 90 % ranges.

    Attributes
    ----------
    left_out : tuple[LeftOut, ...]
        Rows of the catalog that could not be used.
    screened : Screened or None
        Numbers of motors in a large catalog, of which only the nearest are candidates.
    """

    job: Job
    needed: dict[str, Band]
    candidates: tuple[Candidate, ...]
    inputs: tuple[Input, ...]
    left_out: tuple[LeftOut, ...] = ()
    screened: Screened | None = None

    @property
    def fitting(self) -> tuple[Candidate, ...]:
        return tuple(c for c in self.candidates if c.verdict != DOES_NOT_FIT)

    def named(self, name: str) -> Candidate:
        """Return the fitting candidate with this ``name`` or model, ignoring case.

        Raises
        ------
        InputError
            If no candidate has this name or the motor does not fit.
        """
        for one in self.candidates:
            motor = one.case.motor
            if motor.is_named(name):
                if one.verdict == DOES_NOT_FIT:
                    name, why = quoted(motor.name), one.reasons[0]
                    given = Message("answer.refused.motor", motor=name, why=why)
                    raise InputError("motor", given, self._offered())
                return one
        raise InputError("motor", quoted(name), self._offered(name))

    def _offered(self, name: str = "") -> str | Message:
        """Return the accepted names, or only those similar to ``name`` if there are any."""
        names = [one.case.motor.name for one in self.fitting]
        near = difflib.get_close_matches(name, names, n=NAMED)
        return one_of((near or names)[:NAMED]) or Message("answer.refused.no_motor")

    @property
    def failed(self) -> dict[str, Band] | None:
        """Simulated values of the failed motor at the usual voltage under the same conditions.

        The value is None if the nameplate gives neither power nor amps, or if no motor can run on
        this supply.
        """
        simulation = self.candidates[0].case.simulation
        if simulation is None or simulation.failed is None:
            return None
        return {
            name: Band(*(float(end[USUAL, 0]) for end in band))
            for name, band in simulation.failed.bands.items()
        }

    @property
    def warnings(self) -> list[Message]:
        return self.job.nameplate.warnings()

    @property
    def assumed(self) -> tuple[Input, ...]:
        return tuple(one for one in self.inputs if one.origin == "assumed")

    @property
    def asked(self) -> tuple[Message, ...]:
        """Questions about the recommended motor (at most two)."""
        return tuple(check.why for one in self.fitting[:1] for check in one.having(MISSING))

    @cached_property
    def measurement(self) -> Decisive:
        """Measurement that could change the recommendation most."""
        return decisive_measurement(self.candidates[0], self.job.found)

    @property
    def verdict(self) -> Message:
        """Verdict as a single sentence."""
        if not self.fitting:
            return self._none_fits()
        best = self.fitting[0]
        named = {"motor": best.case.motor.name, "rating": Quantity(best.case.rating, "power")}
        if best.verdict == FITS:
            return Message("answer.fits", **named)
        adapt, facts = len(best.having(ADAPT)), len(best.having(MISSING))
        work = [_counted(name, n) for name, n in (("adapt", adapt), ("open", facts)) if n]
        if len(work) == 2:
            work = [Message("answer.both", adapt=work[0], open=work[1])]
        return Message("answer.with_work", work=work[0], **named)

    def _none_fits(self) -> Message:
        """Return the verdict that no motor fits, and name the check that most motors fail."""
        names = [check.name for c in self.candidates for check in c.having(FAIL)]
        name = max(sorted(set(names)), key=names.count)
        failing, count = names.count(name), len(self.candidates)
        values = {"count": count, "check": Message(f"check.{name}")}
        if failing == count:
            return Message("answer.none_fits_all", **values)
        return Message("answer.none_fits", failing=failing, **values)


def answer(
    job: Job,
    motors,
    *,
    samples: int = SAMPLES,
    seed: int = 0,
    thorough: bool = False,
    named: str | None = None,
) -> Answer:
    """Simulate ``motors`` on ``job`` and check them against the selection rules.

    Motors with a different speed or size are not simulated unless ``thorough`` is True. In a large
    catalog, only the nearest motors and the motor ``named`` by the user are evaluated.

    Raises
    ------
    InputError
        If the method does not cover the job, or if the job does not contain enough information.
    """
    check_scope(job)
    conditions = site_conditions(job, samples, seed)
    needed = {
        "shaft_power_w": Band.of(conditions.shaft_power),
        "speed_rpm": Band.of(conditions.speed_rpm),
        "torque_nm": Band.of(conditions.torque),
        "temp_at_motor_c": Band.of(conditions.temp_air),
    }
    candidates, screened = chosen(job, motors, conditions, samples, seed, thorough, named or "")
    return Answer(job, needed, candidates, conditions.inputs, left_out_of(motors), screened)


def _counted(name: str, count: int) -> Message:
    return (
        Message(f"answer.{name}.one") if count == 1 else Message(f"answer.{name}.many", count=count)
    )


@dataclass(frozen=True)
class Fitting:
    """Motor that fits a nameplate.

    Attributes
    ----------
    chance : float or None
        Fraction of the samples in which load, heat and starting are within limits, or None if the
        catalog does not give the limits.
    """

    candidate: Candidate
    chance: float | None


@dataclass(frozen=True)
class Entry:
    """Job from one nameplate, with the motors that fit (best first) or the error ``refused``.

    Attributes
    ----------
    closest : Candidate or None
        Motor that fails the fewest checks, if no motor fits.
    """

    job: Job
    fitting: tuple[Fitting, ...]
    refused: InputError | None = None
    closest: Candidate | None = None


def counter_list(needs, motors, samples: int = SAMPLES, seed: int = 0) -> tuple[Entry, ...]:
    """Return an Entry for each job in ``needs``, in the same order, with the ``motors`` that fit.

    Raises
    ------
    InputError
        If the list is empty.
    """
    if not needs:
        raise InputError("plates", Message("counter_list.none"), Message("counter_list.accepts"))
    batches = ready(needs, motors, samples, seed)
    found = {number: choose(at) for number, _, at in batches.simulated()}
    return tuple(
        _entry(job, found.get(number, ()), batches.refused.get(number), motors, seed)
        for number, job in enumerate(needs)
    )


def _entry(job: Job, candidates, refused, motors, seed: int) -> Entry:
    fitting = tuple(_fitting(one) for one in candidates if one.verdict != DOES_NOT_FIT)
    closest = None
    if not fitting and refused is None and motors:
        closest = candidates[0] if candidates else _closest(job, tuple(motors), seed)
    return Entry(job, fitting, refused, closest)


def _closest(job: Job, motors, seed: int) -> Candidate:
    """Return the motor that fails the fewest of the rules that do not require simulation."""
    at = Comparison(job, motors, site_conditions(job, SAMPLES, seed))
    judged = apply_rules(at, (*PLAIN, *EARLY))
    return Candidate(Case(at, int(np.lexsort((unlikeness(at), judged.fails))[0])), judged)


def _fitting(one: Candidate) -> Fitting:
    motor = one.case.motor
    untold = None in (motor.ambient_rating, motor.insulation_class)
    return Fitting(one, None if untold else float(one.judged.passes[one.case.number].mean()))
