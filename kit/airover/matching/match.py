"""What fits each need: verdicts as for one job, and in which of the draws a motor would do.

A draw is one equally likely version of all that is not known: the motor's circuit, the blade's
load, the air. A motor does in a draw if it passes there all that decides; its chance is the share
of draws in which it does. A motor whose verdict is "does not fit" does in none, and a fact that a
catalogue does not tell is never a pass.

What a call does not tell of rotation, frame, shaft, body and mounting is taken, draw by draw, from
calls that tell all of it and have as many poles: gaps are filled with what is usual in this
history, all of them from one call. Volts and amps that nobody noted count as met, since they are
read at the unit; capacitors are fitted new, so they never forbid.
"""

from dataclasses import dataclass

import numpy as np

from airover.choose import FITS_WITH_WORK, VERDICTS, electrical, load, mechanical
from airover.choose.case import Case
from airover.choose.check import ADAPT, FAIL, MISSING
from airover.in_steps import Step, finished
from airover.matching.many_jobs import Batches, readying
from airover.matching.plain_facts import HELD, SEES, STATES
from airover.motor.conditions import completed
from airover.motor.one import SLIP_RUNNING
from airover.motor.work import DRAWS, LOW, USUAL, Worked
from airover.physics import compiled, operating_point
from airover.records import CatalogueMotor, Job

QUICKEST = compiled.settle if compiled.numba else operating_point.settle  # the same either way
AT_WORK = (
    electrical.plate, load.shaft_power, load.torque, load.speed, load.airflow, load.ambient,
    load.winding, electrical.running_amps, electrical.capacitor_voltage, electrical.starting,
)  # fmt: skip
READ_AT_THE_UNIT = (electrical.voltage, electrical.full_load_amps)
GAPS = (
    "rotation", "rotation_seen_from", "frame", "shaft_diameter", "shaft_length", "body_length",
    "mounting", "shaft_position",
)  # fmt: skip
BANDED = (mechanical.frame, mechanical.mounting)  # adapted with a belly band


@dataclass(frozen=True)
class Matched:
    """Needs against motors. ``passes`` is (needs, motors, draws); ``verdict`` (needs, motors)
    counts in ``VERDICTS``; ``banded`` (needs, motors) says where a belly band is wanted;
    ``refused`` tells why a need is outside the method, by its number."""

    needs: tuple[Job, ...]
    motors: tuple[CatalogueMotor, ...]
    passes: np.ndarray
    verdict: np.ndarray
    banded: np.ndarray
    refused: dict[int, str]

    @property
    def chance(self) -> np.ndarray:
        """Share of the draws in which a motor would do, (needs, motors)."""
        return self.passes.mean(axis=2)


def match(needs, motors, counts=None, draws: int = DRAWS, seed: int = 0) -> Matched:
    """Every one of ``needs`` (jobs) against every one of ``motors``.

    ``counts`` (needs,) says how often each need was called, for filling gaps. Needs outside the
    method are refused, not raised. The same ``seed`` gives the same.
    """
    return finished(matching(needs, motors, counts, draws, seed))


def matching(needs, motors, counts=None, draws: int = DRAWS, seed: int = 0):
    """The same as ``match`` in steps; a generator that returns the Matched."""
    batches = yield from readying(needs, motors, draws, seed)
    shape = len(needs), len(motors)
    passes = np.zeros((*shape, draws), bool)
    verdict = np.full(shape, len(VERDICTS) - 1, np.int8)
    banded = np.zeros(shape, bool)
    fill = _Filling(batches, np.ones(len(needs)) if counts is None else counts, draws, seed)
    kept = sum(len(group.jobs) for group in batches.groups)
    for done, (number, left, worked) in enumerate(batches.worked(QUICKEST)):
        yield Step("putting motors to work on each need", done, kept)
        judged = _verdicts(batches, number, left, worked)
        held, bands = fill.held(number, left, worked.conditions)
        fits = judged < len(VERDICTS) - 1
        verdict[number, left] = judged
        passes[number, left] = fits[:, None] & held & does(worked)
        banded[number, left] = bands
    return Matched(tuple(needs), tuple(motors), passes, verdict, banded, batches.refused)


def _verdicts(batches: Batches, number: int, left, worked: Worked) -> np.ndarray:
    """Places in VERDICTS of the motors ``left``, from all checks that decide."""
    job, asked = batches.jobs[number], worked.conditions
    plain = [batches.facts.states(check, job, asked)[left] for check in SEES]
    cases = [Case(worked, at) for at in range(len(left))]
    work = [[STATES.index(check(case).state) for case in cases] for check in AT_WORK]
    worst = np.max([*plain, *work], axis=0)
    with_work = VERDICTS.index(FITS_WITH_WORK)
    judged = np.where(worst >= STATES.index(ADAPT), with_work, 0)
    return np.where(worst == STATES.index(FAIL), len(VERDICTS) - 1, judged)


def does(worked: Worked) -> np.ndarray:
    """Where the motors of ``worked`` pass what hangs on draws, (motors, draws); a limit that the
    catalogue does not tell is passed nowhere."""
    asked, figures = worked.conditions, worked.figures
    cases = [Case(worked, at) for at in range(len(worked.motors))]
    rating = np.array([case.rating for case in cases])[:, None]
    amps = np.array([case.rated_current for case in cases])[:, None]
    ambient, limit = (
        np.array(column, dtype=float)[:, None] for column in zip(*map(limits, worked.motors))
    )  # NaN compares as False: what a catalogue does not tell is no pass
    runs = worked.starts[LOW] & (worked.slip[LOW] < SLIP_RUNNING)
    does = (rating >= asked.shaft_power) & (worked.reserve >= load.LEAST_RESERVE) & runs
    does &= (figures["speed_ratio"][USUAL] >= load.LEAST_FLOW) & (asked.temp_air <= ambient)
    most = (1 + electrical.CURRENT_TOLERANCE) * amps
    return does & (figures["temp_c"][USUAL] <= limit) & (figures["current_a"][USUAL] <= most)


def limits(motor: CatalogueMotor):
    """Ambient rating and winding limit [degC], or None."""
    insulating = motor.insulation_class
    return motor.ambient_rating, None if insulating is None else load.winding_limit(insulating)


class _Filling:
    """Plain facts draw by draw, gaps filled from calls without."""

    def __init__(self, batches: Batches, counts, draws: int, seed: int):
        self.facts, self.jobs = batches.facts, batches.jobs
        self.counts, self.draws, self.seed = np.asarray(counts, float), draws, seed
        whole = [not _gaps(job) for job in self.jobs]
        self.donors = {}  # numbers of the calls without gaps, by poles
        for number in np.flatnonzero(whole):
            self.donors.setdefault(completed(self.jobs[number]).pole_count, []).append(number)

    def held(self, number: int, left, asked):
        """Where motors ``left`` pass all plain facts, (motors, draws), and where most of those
        passes want a belly band, (motors,)."""
        job = self.jobs[number]
        versions, which = self._versions(number)
        passes, bands = (
            np.array(found)[which].T
            for found in zip(*(self._judged(one, left, asked) for one in versions))
        )
        fixed = np.logical_and.reduce(
            [self._passed(check, job, left, asked) for check in SEES if check not in HELD]
        )
        wanted = (bands & passes).sum(axis=1)
        return fixed[:, None] & passes, 2 * wanted > passes.sum(axis=1)

    def _versions(self, number: int):
        """The job with its gaps filled in several ways, and the way of each draw."""
        job = self.jobs[number]
        gaps = _gaps(job)
        donors = self.donors.get(completed(job).pole_count)
        if not gaps or donors is None:
            return [job], np.zeros(self.draws, int)
        rng = np.random.default_rng([self.seed, number])
        chance = self.counts[donors] / self.counts[donors].sum()
        drawn = rng.choice(donors, self.draws, p=chance)
        filled = [
            tuple(getattr(self.jobs[donor].nameplate, gap) for gap in gaps) for donor in drawn
        ]
        ways = list(dict.fromkeys(filled))
        return [_with(job, gaps, way) for way in ways], np.array(
            [ways.index(way) for way in filled]
        )

    def _judged(self, job: Job, left, asked):
        """Which motors pass what a hand can hold, and which of them want a belly band."""
        passed = [self._passed(check, job, left, asked) for check in HELD]
        adapt = STATES.index(ADAPT)
        banded = [self.facts.states(check, job, asked)[left] == adapt for check in BANDED]
        return np.logical_and.reduce(passed), np.logical_or.reduce(banded)

    def _passed(self, check, job: Job, left, asked) -> np.ndarray:
        states = self.facts.states(check, job, asked)[left]
        missing = STATES.index(MISSING)
        return states < missing + (check in READ_AT_THE_UNIT)


def _gaps(job: Job) -> tuple[str, ...]:
    """The facts that are to be filled; a rotation and the end it is seen from go together."""
    gaps = tuple(name for name in GAPS if getattr(job.nameplate, name) in (None, ""))
    both = GAPS[:2]
    return tuple(dict.fromkeys((*both, *gaps))) if set(both) & set(gaps) else gaps


def _with(job: Job, gaps, facts) -> Job:
    """The job with ``facts`` in its ``gaps``."""
    filled = job.nameplate.model_copy(update=dict(zip(gaps, facts, strict=True)))
    return job.model_copy(update={"nameplate": filled})
