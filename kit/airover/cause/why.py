"""Why the old motor failed: what was seen and what the models say, weighed by Bayes' rule.

One cause is taken to have begun it, and findings count as independent once the cause is known
(naive Bayes), so findings that go together make the answer look surer than it is. How common a
cause is, and how likely a finding is under it, are common practice and own judgement: a file that
people may edit. Each answer carries a band: every one of these figures may be wrong by a factor of
2.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.bayes import information, posterior
from airover.cause.old_motor import Evidence, old_motor, physical_evidence
from airover.errors import InputError
from airover.locations import data_folder
from airover.records import Found, Job
from airover.records.causes import STATES, Cause, Causes, read_causes

FACTOR = 2.0  # by which nine of ten priors and likelihoods are right, own judgement
_SPREAD = np.log(FACTOR) / 1.6449  # of a normal deviate whose 5 and 95 % points are that factor
DRAWS = 2000
WORTH = 0.10  # a cause is worth correcting from this chance on, at the upper end of its band
AGES = (36.0, 120.0)  # months that part the ages
SEEN = (
    "winding", "bearings", "inside", "drain_plugs", "slinger", "start", "trips", "blade", "coil",
)  # fmt: skip


class Likely(NamedTuple):
    """A cause with its ``chance``, 0 to 1, by the figures as they stand, and the ``band`` over
    figures that are wrong by a factor of 2."""

    cause: Cause
    chance: float
    band: Band


class Question(NamedTuple):
    """A finding that nobody made yet: what to ``ask``, the ``bits`` that it is expected to tell
    between the two leading causes (1 would decide), and which answer speaks for which of them."""

    finding: str
    ask: str
    bits: float
    speaks: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Why:
    """Causes of one failure, likeliest first, with the ``evidence`` that was weighed.

    ``left_out`` are sentences about what was known and not weighed, or could not be worked.
    """

    job: Job
    causes: Causes
    evidence: tuple[Evidence, ...]
    left_out: tuple[str, ...]
    likely: tuple[Likely, ...]

    @property
    def verdict(self) -> str:
        """The answer in one sentence."""
        first, second = self.likely[:2]
        said = f"Likeliest cause: {first.cause.name}, {percent(first.band)}"
        if second.band.high >= first.band.low:
            return f"{said}; {second.cause.name}, {percent(second.band)}, is not ruled out."
        return f"{said}."

    @property
    def worth_correcting(self) -> tuple[Likely, ...]:
        """Causes that should be put right before the new motor runs."""
        return tuple(one for one in self.likely if one.band.high >= WORTH)

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """What to look at next, what tells most between the two leading causes first."""
        known = {one.finding for one in self.evidence}
        open_ones = [
            finding
            for key, finding in self.causes.findings.items()
            if key not in known and finding.unless not in known
        ]
        asked = (_question(self, finding) for finding in open_ones)
        return tuple(sorted(asked, key=lambda one: -one.bits))

    def to_dict(self) -> dict:
        """The answer as JSON takes it."""
        return {
            "job": {"name": self.job.name, "invented": self.job.invented},
            "verdict": self.verdict,
            "causes": [_likely_dict(one) for one in self.likely],
            "evidence": [_evidence_dict(one) for one in self.evidence],
            "left_out": list(self.left_out),
            "next": [_question_dict(one) for one in self.questions],
            "basis": self.causes.basis,
        }


def percent(band: Band) -> str:
    """A band of chances in per cent, such as "45 to 80 %"; never "0" or "100"."""
    low, high = round(100 * band.low), round(100 * band.high)
    if low >= 99:
        return "above 98 %"
    if low < 1:
        return f"up to {max(high, 1)} %"
    return f"{low} to {min(high, 99)} %"


def cause(job: Job, causes: Causes | None = None, system: str = "US", seed: int = 0) -> Why:
    """Weigh what was found on the old motor of ``job``; ``causes`` are the kit's by default.

    ``system`` "US" or "SI" is for texts. Raises InputError where nothing was found.
    """
    causes = read_causes(data_folder() / "causes.toml") if causes is None else causes
    if job.found == Found():
        accepted = "at least one finding, such as winding, bearings, inside or trips"
        raise InputError("found", "nothing", accepted)
    known, left_out = _evidence(job, system)
    named = {one.finding for one in known}
    weighed, aside = [], list(left_out)
    for one in known:
        finding = causes.findings.get(one.finding)
        if finding is None:
            aside.append(f"{one.said}: not weighed, the causes file has no {one.finding}.")
        elif finding.unless in named:
            aside.append(f"{one.said}: not weighed beside {finding.unless}, which says the same.")
        else:
            weighed.append(one)
    return Why(job, causes, tuple(weighed), tuple(aside), likely(causes, weighed, seed))


def likely(causes: Causes, evidence, seed: int = 0) -> tuple[Likely, ...]:
    """The ``causes`` with their chances after the ``evidence``, likeliest first.

    The likelihood of a finding that is known in shares is the mean over its states. Bands come
    from draws in which each figure of the file is moved by a factor of its own.
    """
    known = np.array([likelihood(causes, one) for one in evidence]).reshape(-1, len(causes.prior))
    own = np.array([causes.findings[one.finding].own for one in evidence]).reshape(known.shape)
    rng = np.random.default_rng(seed)
    prior = causes.prior * _moved(rng, (DRAWS, len(causes.prior)))
    shared = _moved(rng, (DRAWS, len(known), 1))  # one figure in the file, wrong for all alike
    moved = known * np.where(own, _moved(rng, (DRAWS, *known.shape)), shared)
    chance, band = posterior(causes.prior, known), Band.of(posterior(prior, moved), axis=0)
    found = [
        Likely(one, float(chance[at]), Band(*(float(ends[at]) for ends in band)))
        for at, one in enumerate(causes.causes)
    ]
    return tuple(sorted(found, key=lambda one: -one.chance))


def _moved(rng: np.random.Generator, shape) -> np.ndarray:
    """Factors around 1, nine of ten of them within FACTOR."""
    return np.exp(_SPREAD * rng.standard_normal(shape))


def likelihood(causes: Causes, evidence: Evidence) -> np.ndarray:
    """How likely the ``evidence`` is under each of the ``causes``, (causes,)."""
    return causes.findings[evidence.finding].table @ evidence.shares


def _evidence(job: Job, system: str) -> tuple[list[Evidence], list[str]]:
    """All that is known, and why something could not be worked."""
    known = [*_seen(job)]
    try:
        known += physical_evidence(old_motor(job, system))
    except InputError as error:
        return known, [f"The models could not be asked: {error}"]
    return known, []


def _seen(job: Job):
    """What people saw or the plate says, each in one state."""
    for name in SEEN:
        state = getattr(job.found, name)
        if state is not None:
            yield _in_state(name, state, True)
    if job.found.age is not None:
        yield _age(job)
    if job.found.earlier_failures is not None:
        count = job.found.earlier_failures
        yield _in_state("earlier_failures", "one or more" if count else "none", True)
    for finding, state in (
        ("shaft_position", job.nameplate.shaft_position),
        ("bearing_kind", job.nameplate.bearings),
    ):
        if state is not None:
            yield _in_state(finding, state, False)


def _in_state(finding: str, state: str, seen: bool) -> Evidence:
    shares = np.array([float(state == one) for one in STATES[finding]])
    return Evidence(finding, shares, f"{_words(finding)}: {state}", seen)


def _age(job: Job) -> Evidence:
    """An age that is a range counts in parts, evenly."""
    age = job.found.age
    ends = np.clip([0.0, *AGES, np.inf], age.low, max(age.high, age.low))
    parts = np.diff(ends)
    if not age.is_range:
        parts = np.array([age.mid < AGES[0], AGES[0] <= age.mid < AGES[1], age.mid >= AGES[1]])
    return Evidence("age", parts / parts.sum(), f"Age: {age.text}", True)


def _words(finding: str) -> str:
    return finding.replace("_", " ").capitalize()


def _question(why: Why, finding) -> Question:
    """What ``finding`` would tell between the two leaders."""
    keys = [one.key for one in why.causes.causes]
    leaders = why.likely[:2]
    rows = finding.table[[keys.index(one.cause.key) for one in leaders]]
    chances = np.array([one.chance for one in leaders])
    bits = information(chances / chances.sum(), rows)
    names = [one.cause.name for one in leaders]
    speaks = [
        (state, names[int(second > first)])
        for state, first, second in zip(finding.states, *rows, strict=True)
        if first != second
    ]
    return Question(finding.key, finding.ask, bits, tuple(speaks))


def _likely_dict(one: Likely) -> dict:
    band = {name: round(value, 4) for name, value in one.band._asdict().items()}
    return {
        "key": one.cause.key,
        "name": one.cause.name,
        "chance": round(one.chance, 4),
        "band": band,
        "correct": list(one.cause.correct) if one.band.high >= WORTH else [],
    }


def _evidence_dict(one: Evidence) -> dict:
    states = zip(STATES[one.finding], one.shares, strict=True)
    return {
        "finding": one.finding,
        "said": one.said,
        "seen": one.seen,
        "shares": {state: round(float(share), 4) for state, share in states if share},
    }


def _question_dict(one: Question) -> dict:
    return {
        "finding": one.finding,
        "ask": one.ask,
        "bits": round(one.bits, 4),
        "speaks": [{"answer": answer, "for": name} for answer, name in one.speaks],
    }
