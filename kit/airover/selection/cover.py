"""Motors that cover each of many needs: jobs from a list of calls, for truck and counter stock.

A motor covers a need in a sample if it passes there everything that decides and the verdict admits
it; its chance is the share of these samples. A fact that a catalog leaves open is never a pass.

Where a call does not state rotation, frame, shaft, body or mounting, they are taken, sample by
sample and all from one call, from calls that state all of them and have as many poles. Volts and
amps that nobody noted count as met, since they are read at the unit; capacitors are fitted new, so
they never rule out a motor.
"""

from dataclasses import dataclass

import numpy as np

from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.steps import Progress, finished
from airover.model.conditions import completed
from airover.model.simulation import (
    SAMPLES,
)
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.selection import mechanical
from airover.selection.batches import Batches, readying
from airover.selection.check import ADAPT, MISSING, STATES
from airover.selection.rules import DOES_NOT_FIT, PLAIN, VERDICTS, apply_rules

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
    counts in ``VERDICTS``; ``banded`` (needs, motors) says where a belly band is needed;
    ``refused`` has the error for each need outside the method, by its number."""

    needs: tuple[Job, ...]
    motors: tuple[CatalogMotor, ...]
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
    for done, (number, left, at) in enumerate(batches.simulated()):
        yield Progress(Message("stock.step.simulate"), done, kept)
        judged = apply_rules(at)
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
        """True where motors ``left`` pass all plain facts, (motors, samples), and where most of
        those passes want a belly band, (motors,)."""
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
        """True for motors that pass the mechanical rules, and for those that need a belly band."""
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
