"""Why the old motor failed: findings and simulations weighed by Bayes' rule.

One cause is assumed to have started the failure, and findings count as independent once the cause
is known (naive Bayes), so findings that go together make the answer look surer than it is. How
common a cause is, and how likely a finding is with it, are engineering judgment: a file that people
may edit. The 90 % range of a probability is that of figures which may each be wrong by a factor of
2. A range decides where it lies above every other cause's; only then is it shown.
"""

from dataclasses import dataclass
from functools import cached_property, reduce
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.bayes import information, posterior
from airover.cause.findings import findings, unused
from airover.cause.old_motor import Evidence, capacitor_effect, old_motor, physical_evidence
from airover.errors import InputError
from airover.locations import data_folder
from airover.message import Message, Quantity
from airover.records import Found, Job
from airover.records.causes import STATES, Cause, Causes, read_causes
from airover.texts import Writer

FACTOR = 2.0  # by which nine of ten priors and likelihoods are right, engineering judgment
_SPREAD = np.log(FACTOR) / 1.6449  # of a normal deviate whose 5 and 95 % points are that factor
SAMPLES = 2000
WORTH = 0.10  # a cause is worth correcting from this probability on
CLEAR, LIKELY, OPEN = "clear", "likely", "open"  # how far the answer is decided
AHEAD = 2.0  # times the next cause's probability, from which a cause is called the most likely
BESIDE, LEAST, MOST_LEADERS = 0.35, 0.05, 4  # of the first cause's probability; of 1; causes
SURE = 0.8  # probability of a clear cause, from which nothing is left to separate
TELLS = 0.02  # bits, from which a finding separates the leading causes
SPEAKS = 1.5  # times another leader's chance of a finding, from which it speaks for a cause


class Likely(NamedTuple):
    """A cause with its probability, ``chance``, and the 90 % range of it, ``band``."""

    cause: Cause
    chance: float
    band: Band


class OpenFinding(NamedTuple):
    """A finding that nobody has made yet, and what it would say of the leading causes.

    ``ask`` is what to do, ``bits`` the information that it is expected to give (1 decides between
    two equal causes), ``speaks`` each answer with the leading cause that it supports.
    """

    finding: str
    ask: str | Message
    bits: float
    speaks: tuple[tuple[str, Cause], ...]


@dataclass(frozen=True)
class Why:
    """Causes of one failure, most likely first, with the ``evidence`` that was weighed.

    ``left_out`` are sentences about what was known and not weighed, or could not be simulated.
    """

    job: Job
    causes: Causes
    evidence: tuple[Evidence, ...]
    left_out: tuple[Message, ...]
    likely: tuple[Likely, ...]

    @property
    def standing(self) -> str:
        """CLEAR where the first cause's range is above all others, LIKELY where it is far ahead."""
        first, second = self.likely[:2]
        if first.band.low >= second.band.high:
            return CLEAR
        return LIKELY if first.chance >= AHEAD * second.chance else OPEN

    @property
    def leaders(self) -> tuple[Likely, ...]:
        """The first cause and those near it: two at least, unless the first is clear and sure."""
        first, second, *others = self.likely
        if self.standing == CLEAR and first.chance >= SURE:
            return (first,)
        least = max(LEAST, BESIDE * first.chance)
        near = [one for one in others[: MOST_LEADERS - 2] if one.chance >= least]
        return (first, second, *near)

    @property
    def verdict(self) -> Message:
        """The answer in one sentence."""
        names = [one.cause.name for one in self.leaders]
        if self.standing == CLEAR:
            chance = percent(self.likely[0].band)
            return Message("failure.verdict.clear", first=names[0], chance=chance)
        if self.standing == LIKELY:
            return Message("failure.verdict.likely", first=names[0], others=_row(names[1:]))
        return Message("failure.verdict.open", causes=_row(names))

    @property
    def worth_correcting(self) -> tuple[Likely, ...]:
        """Causes to correct before the new motor runs: those in the verdict, and any near them."""
        named = self.likely[:1] if self.standing == CLEAR else self.leaders
        return tuple(one for one in self.likely if one in named or one.chance >= WORTH)

    @cached_property
    def questions(self) -> tuple[OpenFinding, ...]:
        """Findings that would separate the leading causes, the most telling first."""
        known = {one.finding for one in self.evidence}
        unmade = {key: one for key, one in self.causes.findings.items() if key not in known}
        open_ones = [one for one in unmade.values() if one.unless not in {*known, *unmade}]
        asked = (_question(self, finding) for finding in open_ones)
        return tuple(sorted(asked, key=lambda one: -one.bits))

    def to_dict(self, write) -> dict:
        """The answer as JSON takes it; ``write`` is a `airover.texts.Writer`."""
        return {
            "job": {"name": self.job.name, "invented": self.job.invented},
            "verdict": write(self.verdict),
            "standing": self.standing,
            "causes": [
                _likely_dict(one, one in self.worth_correcting, write) for one in self.likely
            ],
            "evidence": [_evidence_dict(one, write) for one in self.evidence],
            "left_out": [write.value(one) for one in self.left_out],
            "next": [_question_dict(one, write) for one in self.questions],
            "basis": write.value(self.causes.basis),
        }


def _row(names) -> str | Message:
    """Names in a row; they may have commas in them."""
    return reduce(lambda row, name: Message("failure.row", row=row, name=name), names)


def percent(band: Band) -> Message | Quantity:
    """A 90 % range of a probability for people; never 0 or 100 %."""
    low, high = round(100 * band.low), round(100 * band.high)
    if low >= 99:
        return Message("failure.chance.above", value=Quantity(0.98, "share"))
    if low < 1:
        return Message("failure.chance.most", value=Quantity(max(high, 1) / 100, "share"))
    return Quantity(Band(low / 100, band.mid, min(high, 99) / 100), "share")


def cause(job: Job, causes: Causes | None = None, seed: int = 0) -> Why:
    """Weigh the findings on the old motor of ``job``; ``causes`` are the kit's by default.

    Raises InputError where nothing was found.
    """
    causes = read_causes(data_folder() / "causes.toml") if causes is None else causes
    if job.found == Found():
        raise InputError("found", Message("error.nothing"), Message("failure.nothing_found"))
    known, left_out = _evidence(job)
    named = {one.finding for one in known}
    weighed, aside = [], list(left_out)
    for one in known:
        finding = causes.findings.get(one.finding)
        if finding is None:
            lacking = {"said": one.said[0], "finding": one.finding}
            aside.append(Message("failure.aside.not_in_file", **lacking))
        elif finding.unless in named:
            twice = {"said": one.said[0], "other": finding.unless}
            aside.append(Message("failure.aside.said_twice", **twice))
        else:
            weighed.append(one)
    return Why(job, causes, tuple(weighed), tuple(aside), likely(causes, weighed, seed))


def likely(causes: Causes, evidence, seed: int = 0) -> tuple[Likely, ...]:
    """The ``causes`` with their chances after the ``evidence``, likeliest first.

    The likelihood of a finding that is known in shares is the mean over its states. Bands come
    from samples in which each figure of the file is moved by a factor of its own.
    """
    known = np.array([likelihood(causes, one) for one in evidence]).reshape(-1, len(causes.prior))
    own = np.array([causes.findings[one.finding].own for one in evidence]).reshape(known.shape)
    rng = np.random.default_rng(seed)
    prior = causes.prior * _moved(rng, (SAMPLES, len(causes.prior)))
    shared = _moved(rng, (SAMPLES, len(known), 1))  # one figure in the file, wrong for all alike
    moved = known * np.where(own, _moved(rng, (SAMPLES, *known.shape)), shared)
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


def _evidence(job: Job) -> tuple[list[Evidence], list[Message]]:
    """All that is known, and sentences on what was not used."""
    known, aside = [*findings(job)], [*unused(job)]
    warnings = job.nameplate.warnings() if job.nameplate.doubts() else []
    doubts = list(map(Writer("en"), warnings))
    try:
        old = old_motor(job)
        effect = capacitor_effect(old)
        known = [
            one._replace(said=(*one.said, effect))
            if effect and one.finding == "capacitor" and not one.shares[0]
            else one
            for one in known
        ]
        known += physical_evidence(old)
    except InputError as error:
        aside += doubts or [Message("failure.aside.not_simulated", error=error)]
        return known, aside
    return known, aside + doubts


def _question(why: Why, finding) -> OpenFinding:
    """Information of ``finding`` about the leading causes, and which answer supports which."""
    keys = [one.key for one in why.causes.causes]
    rows = finding.table[[keys.index(one.cause.key) for one in why.leaders]]
    chances = np.array([one.chance for one in why.leaders])
    bits = information(chances / chances.sum(), rows)
    speaks = [
        (state, why.leaders[int(np.argmax(column))].cause)
        for state, column in zip(finding.states, rows.T, strict=True)
        if column.max() >= SPEAKS * column.min()
    ]
    return OpenFinding(finding.key, finding.ask, bits, tuple(speaks))


def _likely_dict(one: Likely, worth: bool, write) -> dict:
    band = {name: round(value, 4) for name, value in one.band._asdict().items()}
    return {
        "key": one.cause.key,
        "name": write.value(one.cause.name),
        "chance": round(one.chance, 4),
        "band": band,
        "correct": [write.value(sentence) for sentence in one.cause.correct] if worth else [],
    }


def _evidence_dict(one: Evidence, write) -> dict:
    states = zip(STATES[one.finding], one.shares, strict=True)
    return {
        "finding": one.finding,
        "said": " ".join(map(write, one.said)),
        "seen": one.seen,
        "shares": {state: round(float(share), 4) for state, share in states if share},
    }


def _question_dict(one: OpenFinding, write) -> dict:
    speaks = [{"answer": state, "for": write.value(kind.name)} for state, kind in one.speaks]
    ask = write.value(one.ask)
    return {"finding": one.finding, "ask": ask, "bits": round(one.bits, 4), "speaks": speaks}
