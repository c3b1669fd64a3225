"""Find the motors that cover each job in a list of service calls, for truck and counter stock.

A motor covers a job in a sample if it passes every decisive check in that sample and if its verdict
allows it to be used. The chance that a motor covers a job is the fraction of the samples in which
it does. If the catalog does not give a value that a check needs, the check never counts as passed.

If a call does not give the rotation, frame, shaft, body or mounting, the missing values are sampled
from calls that give all of these and have the same number of poles. Within a sample, all missing
values come from the same call. If no call gives all of them, each value is sampled from the calls
that give it. A value that no call gives is sampled from the catalog motors with the same number of
poles, because failed motors resemble the motors that are sold to replace them (engineering
judgment). Those samples are the same for all jobs, so that a wrong guess affects all jobs at once.
Volts and amps that were not recorded count as a match, because they can be read at the unit.
Capacitors are replaced, so they never rule out a motor.
"""

from collections import Counter
from dataclasses import dataclass, field
from functools import cache, cached_property

import numpy as np

from airover.core.cache import code_hash, key_of, load, save
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.steps import Progress, finished
from airover.core.units import Amount
from airover.model.conditions import completed, site_conditions
from airover.model.simulation import (
    SAMPLES,
)
from airover.records.catalog import CatalogMotor
from airover.records.job import Job
from airover.records.nameplate import LEAD_END, REVERSIBLE, SENSES
from airover.records.scope import check_scope
from airover.records.tables import LeftOut, left_out_of
from airover.selection import mechanical
from airover.selection.batches import Batches, readying
from airover.selection.check import ADAPT, MISSING, STATES
from airover.selection.rules import DOES_NOT_FIT, PLAIN, VERDICTS, apply_rules

READ_AT_THE_UNIT = ("voltage", "nameplate")
HELD = mechanical.RULES
# rules that a belly band can satisfy
BANDED = tuple(rule for rule in HELD if rule.name in ("frame", "mounting"))
GAPS = (
    "rotation", "rotation_seen_from", "frame", "shaft_diameter", "shaft_length", "body_length",
    "mounting", "shaft_position",
)  # fmt: skip
FROM_CALLS, FROM_CATALOG = "calls", "catalog"  # sources of filled values


@dataclass(frozen=True)
class Matched:
    """Result of matching jobs with motors.

    Attributes
    ----------
    passes : ndarray
        True for each sample in which a motor covers a job, shape (needs, motors, samples).
    verdict : ndarray
        Indices into ``VERDICTS``, shape (needs, motors).
    banded : ndarray
        True if a belly band is needed, shape (needs, motors).
    refused : dict[int, InputError]
        Error for each job that the method does not cover, by job number.
    left_out
        Rows of the catalog that could not be used.
    filled : dict[tuple[str, str], float]
        Number of calls whose missing value was filled, by field and source (FROM_CALLS or
        FROM_CATALOG).
    """

    needs: tuple[Job, ...]
    motors: tuple[CatalogMotor, ...]
    passes: np.ndarray
    verdict: np.ndarray
    banded: np.ndarray
    refused: dict[int, InputError]
    left_out: tuple[LeftOut, ...] = ()
    filled: dict[tuple[str, str], float] = field(default_factory=dict)

    @property
    def guessed(self) -> bool:
        """Return True if values that no call gives were filled from the catalog."""
        return any(source == FROM_CATALOG for _, source in self.filled)

    @cached_property
    def versatility(self) -> np.ndarray:
        """Fraction of all jobs and samples that each motor covers, shape (motors,)."""
        return self.passes.mean(axis=(0, 2))

    @property
    def chance(self) -> np.ndarray:
        """Fraction of the samples in which a motor covers a job, shape (needs, motors)."""
        return self.passes.mean(axis=2)


def match(needs, motors, counts=None, samples: int = SAMPLES, seed: int = 0) -> Matched:
    """Match every job in ``needs`` with every motor in ``motors``.

    Jobs that the method does not cover are listed in ``refused``, and no error is raised. The same
    ``seed`` gives the same result.

    Parameters
    ----------
    counts : optional
        Number of calls for each job, used as weights for filling gaps, shape (needs,).
    """
    return finished(matching(needs, motors, counts, samples, seed))


def matching(needs, motors, counts=None, samples: int = SAMPLES, seed: int = 0):
    """Match the jobs in steps, as a generator that returns a Matched object.

    The result is kept in the cache folder, so that the same calls are matched again at once.
    """
    needs, offered = tuple(needs), tuple(motors)
    counts = np.ones(len(needs)) if counts is None else np.asarray(counts, float)
    code = code_hash("core", "physics", "records", "model", "selection")
    key = key_of(code, "matched", repr(needs), repr(offered), counts, samples, seed)
    arrays = load(key)
    if arrays is not None:
        return _unpacked(arrays, needs, motors, samples, seed)
    found = yield from _simulated(needs, motors, counts, samples, seed)
    save(key, **_packed(found))
    return found


def _packed(found: Matched) -> dict[str, np.ndarray]:
    filled = [(gap, source, str(count)) for (gap, source), count in found.filled.items()]
    return {
        "passes": np.packbits(found.passes),
        "verdict": found.verdict,
        "banded": found.banded,
        "refused": np.array(list(found.refused), int),
        "filled": np.array(filled, str).reshape(-1, 3),
    }


def _unpacked(arrays, needs, motors, samples: int, seed: int) -> Matched:
    shape = len(needs), len(motors), samples
    passes = np.unpackbits(arrays["passes"], count=np.prod(shape)).reshape(shape).astype(bool)
    refused = {int(at): _reason(needs[at], samples, seed) for at in arrays["refused"]}
    filled = {(gap, source): float(n) for gap, source, n in arrays["filled"].tolist()}
    kept = arrays["verdict"], arrays["banded"]
    left_out = left_out_of(motors)
    return Matched(needs, tuple(motors), passes, *kept, refused, left_out, filled)


def _reason(job: Job, samples: int, seed: int) -> InputError | None:
    """Return the error for a job that the method does not cover."""
    try:
        check_scope(job)
        site_conditions(job, samples, seed)
    except InputError as error:
        return error.with_traceback(None)


def _simulated(needs, motors, counts, samples: int, seed: int):
    """Match the jobs in steps without the cache."""
    batches = yield from readying(needs, motors, samples, seed)
    shape = len(needs), len(motors)
    passes = np.zeros((*shape, samples), bool)
    verdict = np.full(shape, VERDICTS.index(DOES_NOT_FIT), np.int8)
    banded = np.zeros(shape, bool)
    fill = _Filling(batches, counts, samples, seed)
    kept = sum(len(group.jobs) for group in batches.groups)
    for done, (number, left, at) in enumerate(batches.simulated()):
        yield Progress(Message("stock.step.simulate"), done, kept)
        judged = apply_rules(at)
        held, bands = fill.held(number, left)
        fits = judged.verdict != VERDICTS.index(DOES_NOT_FIT)
        verdict[number, left] = judged.verdict
        passes[number, left] = fits[:, None] & held & judged.passes
        banded[number, left] = bands
    return Matched(
        needs, tuple(motors), passes, verdict, banded, batches.refused, left_out_of(motors),
        dict(fill.filled),
    )  # fmt: skip


class _Filling:
    """Plain job data for each sample, with gaps filled from complete calls."""

    def __init__(self, batches: Batches, counts, samples: int, seed: int):
        self.facts, self.jobs = batches.facts, batches.jobs
        self.counts, self.samples, self.seed = np.asarray(counts, float), samples, seed
        self.filled = Counter()
        whole = [not _gaps(job) for job in self.jobs]
        self.donors = {}  # job numbers without gaps, by number of poles
        for number in np.flatnonzero(whole):
            self.donors.setdefault(completed(self.jobs[number]).pole_count, []).append(number)

    def held(self, number: int, left):
        """Return the motors in ``left`` that pass all plain rules and those that need a belly band.

        The first array has shape (motors, samples). The second array has shape (motors,) and is
        True if a belly band is needed in more than half of the passing samples.
        """
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
        """Return the variants of the job with gaps filled, and the variant used in each sample."""
        job = self.jobs[number]
        gaps, poles = _gaps(job), completed(job).pole_count
        if not gaps:
            return [job], np.zeros(self.samples, int)
        rng = np.random.default_rng([self.seed, number])
        donors = self.donors.get(poles)
        if donors is None:
            filled = self._one_by_one(number, gaps, poles, rng)
        else:
            filled = self._from_calls(donors, gaps, rng)
            self._count(number, gaps, FROM_CALLS)
        ways = list(dict.fromkeys(filled))
        return [_with(job, gaps, way) for way in ways], np.array(
            [ways.index(way) for way in filled]
        )

    def _from_calls(self, donors, gaps, rng) -> list[tuple]:
        """Return the values of ``gaps`` in each sample, all from the same call."""
        chance = self.counts[donors] / self.counts[donors].sum()
        drawn = rng.choice(donors, self.samples, p=chance)
        return [tuple(getattr(self.jobs[donor].nameplate, gap) for gap in gaps) for donor in drawn]

    def _one_by_one(self, number: int, gaps, poles, rng) -> list[tuple]:
        """Return the values of ``gaps`` in each sample, each field from calls or the catalog."""
        columns = {}
        for group in _grouped(gaps):
            donors = self._giving(group, poles) or self._giving(group, None)
            if donors:
                values = self._from_calls(donors, group, rng)
            else:
                offered = _offered(group, self.facts.motors, poles)
                at = np.random.default_rng([self.seed, 5, GAPS.index(group[0])])
                values = [offered[one] for one in at.integers(len(offered), size=self.samples)]
            self._count(number, group, FROM_CALLS if donors else FROM_CATALOG)
            columns |= dict(zip(group, zip(*values, strict=True), strict=True))
        return list(zip(*(columns[gap] for gap in gaps), strict=True))

    @cache  # noqa: B019, lives as long as the matching
    def _giving(self, group, poles) -> list[int]:
        """Return the jobs that give all of ``group``, with this number of ``poles`` if not None."""
        return [
            number
            for number, job in enumerate(self.jobs)
            if not set(group) & set(_gaps(job))
            and (poles is None or completed(job).pole_count == poles)
        ]

    def _count(self, number: int, gaps, source: str) -> None:
        for gap in gaps:
            if getattr(self.jobs[number].nameplate, gap) in (None, ""):
                self.filled[gap, source] += float(self.counts[number])

    def _judged(self, job: Job, left):
        """Return the motors that pass the mechanical rules and those that need a belly band."""
        passed = [self._passed(rule, job, left) for rule in HELD]
        adapt = STATES.index(ADAPT)
        banded = [self.facts.ranks(rule, job)[left] == adapt for rule in BANDED]
        return np.logical_and.reduce(passed), np.logical_or.reduce(banded)

    def _passed(self, rule, job: Job, left) -> np.ndarray:
        known_at_unit = rule.name in READ_AT_THE_UNIT
        return self.facts.ranks(rule, job)[left] < STATES.index(MISSING) + known_at_unit


def _gaps(job: Job) -> tuple[str, ...]:
    """Return the missing fields to fill in. The rotation and its viewing end are filled together."""
    gaps = tuple(name for name in GAPS if getattr(job.nameplate, name) in (None, ""))
    both = GAPS[:2]
    return tuple(dict.fromkeys((*both, *gaps))) if set(both) & set(gaps) else gaps


def _grouped(gaps) -> list[tuple[str, ...]]:
    """Return the fields to fill together."""
    both = tuple(name for name in GAPS[:2] if name in gaps)
    return [both] * bool(both) + [(name,) for name in gaps if name not in both]


def _offered(group, motors, poles) -> list[tuple]:
    """Return the values that the catalog motors with this number of ``poles`` offer.

    If there are none, the values of all motors are used. Rotation is either of the two senses.
    """
    if group[0] == "rotation":
        return [(sense, LEAD_END) for sense in SENSES if sense != REVERSIBLE]
    near = [one for one in motors if one.poles == poles] or list(motors)
    values = []
    for motor in near:
        if group[0] == "mounting":
            values += motor.mounting
        elif group[0] == "shaft_position":
            values += motor.shaft_positions
        elif group[0] == "frame":
            values += [motor.frame] * bool(motor.frame)
        elif (found := getattr(motor, group[0])) is not None:
            values.append(Amount(found, found, "m", f"{found:g} m", group[0]))
    return [(one,) for one in values] or [(None,)]


def _with(job: Job, gaps, facts) -> Job:
    """Return the job with its ``gaps`` filled with ``facts``."""
    filled = job.nameplate.model_copy(update=dict(zip(gaps, facts, strict=True)))
    return job.model_copy(update={"nameplate": filled})
