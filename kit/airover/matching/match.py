"""What fits each need: verdicts as for one job, and in which of the samples a motor would do.

A sample is one equally likely version of all that is not known: the motor's circuit, the blade's
load, the air. A motor does in a sample if it passes there all that decides; its chance is the share
of samples in which it does. A motor whose verdict is "does not fit" does in none, and a fact that a
catalogue does not tell is never a pass.

What a call does not tell of rotation, frame, shaft, body and mounting is taken, sample by sample, from
calls that tell all of it and have as many poles: gaps are filled with what is usual in this
history, all of them from one call. Volts and amps that nobody noted count as met, since they are
read at the unit; capacitors are fitted new, so they never forbid.
"""

from dataclasses import dataclass

import numpy as np

from airover.choose import DOES_NOT_FIT, PLAIN, VERDICTS, judge, mechanical
from airover.choose.check import ADAPT, MISSING, STATES
from airover.errors import InputError
from airover.in_steps import Step, finished
from airover.matching.many_jobs import Batches, readying
from airover.message import Message
from airover.motor.conditions import completed
from airover.motor.work import SAMPLES
from airover.records import CatalogueMotor, Job

READ_AT_THE_UNIT = ("voltage", "nameplate")
HELD = mechanical.RULES
BANDED = tuple(rule for rule in HELD if rule.name in ("frame", "mounting"))  # by a belly band
GAPS = (
    "rotation", "rotation_seen_from", "frame", "shaft_diameter", "shaft_length", "body_length",
    "mounting", "shaft_position",
)  # fmt: skip


@dataclass(frozen=True)
class Matched:
    """Needs against motors. ``passes`` is (needs, motors, samples); ``verdict`` (needs, motors)
    counts in ``VERDICTS``; ``banded`` (needs, motors) says where a belly band is wanted;
    ``refused`` tells why a need is outside the method, by its number."""

    needs: tuple[Job, ...]
    motors: tuple[CatalogueMotor, ...]
    passes: np.ndarray
    verdict: np.ndarray
    banded: np.ndarray
    refused: dict[int, InputError]

    @property
    def chance(self) -> np.ndarray:
        """Share of the samples in which a motor would do, (needs, motors)."""
        return self.passes.mean(axis=2)


def match(needs, motors, counts=None, samples: int = SAMPLES, seed: int = 0) -> Matched:
    """Every one of ``needs`` (jobs) against every one of ``motors``.

    ``counts`` (needs,) says how often each need was called, for filling gaps. Needs outside the
    method are refused, not raised. The same ``seed`` gives the same.
    """
    return finished(matching(needs, motors, counts, samples, seed))


def matching(needs, motors, counts=None, samples: int = SAMPLES, seed: int = 0):
    """The same as ``match`` in steps; a generator that returns the Matched."""
    batches = yield from readying(needs, motors, samples, seed)
    shape = len(needs), len(motors)
    passes = np.zeros((*shape, samples), bool)
    verdict = np.full(shape, VERDICTS.index(DOES_NOT_FIT), np.int8)
    banded = np.zeros(shape, bool)
    fill = _Filling(batches, np.ones(len(needs)) if counts is None else counts, samples, seed)
    kept = sum(len(group.jobs) for group in batches.groups)
    for done, (number, left, at) in enumerate(batches.worked()):
        yield Step(Message("stock.step.simulate"), done, kept)
        judged = judge(at)
        held, bands = fill.held(number, left)
        fits = judged.verdict != VERDICTS.index(DOES_NOT_FIT)
        verdict[number, left] = judged.verdict
        passes[number, left] = fits[:, None] & held & judged.passes
        banded[number, left] = bands
    return Matched(tuple(needs), tuple(motors), passes, verdict, banded, batches.refused)


class _Filling:
    """Plain facts sample by sample, gaps filled from calls without."""

    def __init__(self, batches: Batches, counts, samples: int, seed: int):
        self.facts, self.jobs = batches.facts, batches.jobs
        self.counts, self.samples, self.seed = np.asarray(counts, float), samples, seed
        whole = [not _gaps(job) for job in self.jobs]
        self.donors = {}  # numbers of the calls without gaps, by poles
        for number in np.flatnonzero(whole):
            self.donors.setdefault(completed(self.jobs[number]).pole_count, []).append(number)

    def held(self, number: int, left):
        """Where motors ``left`` pass all plain facts, (motors, samples), and where most of those
        passes want a belly band, (motors,)."""
        job = self.jobs[number]
        versions, which = self._versions(number)
        passes, bands = (
            np.array(found)[which].T
            for found in zip(*(self._judged(one, left) for one in versions))
        )
        fixed = np.logical_and.reduce(
            [self._passed(rule, job, left) for rule in PLAIN if rule not in HELD]
        )
        wanted = (bands & passes).sum(axis=1)
        return fixed[:, None] & passes, 2 * wanted > passes.sum(axis=1)

    def _versions(self, number: int):
        """The job with its gaps filled in several ways, and the way of each sample."""
        job = self.jobs[number]
        gaps = _gaps(job)
        donors = self.donors.get(completed(job).pole_count)
        if not gaps or donors is None:
            return [job], np.zeros(self.samples, int)
        rng = np.random.default_rng([self.seed, number])
        chance = self.counts[donors] / self.counts[donors].sum()
        drawn = rng.choice(donors, self.samples, p=chance)
        filled = [
            tuple(getattr(self.jobs[donor].nameplate, gap) for gap in gaps) for donor in drawn
        ]
        ways = list(dict.fromkeys(filled))
        return [_with(job, gaps, way) for way in ways], np.array(
            [ways.index(way) for way in filled]
        )

    def _judged(self, job: Job, left):
        """Which motors pass what a hand can hold, and which of them want a belly band."""
        passed = [self._passed(rule, job, left) for rule in HELD]
        adapt = STATES.index(ADAPT)
        banded = [self.facts.ranks(rule, job)[left] == adapt for rule in BANDED]
        return np.logical_and.reduce(passed), np.logical_or.reduce(banded)

    def _passed(self, rule, job: Job, left) -> np.ndarray:
        known_at_unit = rule.name in READ_AT_THE_UNIT
        return self.facts.ranks(rule, job)[left] < STATES.index(MISSING) + known_at_unit


def _gaps(job: Job) -> tuple[str, ...]:
    """The facts that are to be filled; a rotation and the end it is seen from go together."""
    gaps = tuple(name for name in GAPS if getattr(job.nameplate, name) in (None, ""))
    both = GAPS[:2]
    return tuple(dict.fromkeys((*both, *gaps))) if set(both) & set(gaps) else gaps


def _with(job: Job, gaps, facts) -> Job:
    """The job with ``facts`` in its ``gaps``."""
    filled = job.nameplate.model_copy(update=dict(zip(gaps, facts, strict=True)))
    return job.model_copy(update={"nameplate": filled})
