"""The counter's cross-reference: for each nameplate of a list the motors that fit.

Each nameplate is evaluated as one job is; where a nameplate says little, much is left to find out.
"""

from dataclasses import dataclass

from airover.choose import DOES_NOT_FIT, Candidate, choose
from airover.errors import InputError
from airover.matching.many_jobs import ready
from airover.message import Message
from airover.motor.work import SAMPLES
from airover.records import Job


@dataclass(frozen=True)
class Fitting:
    """One motor for a nameplate; ``chance`` is the share of the samples in which its load, heat and
    starting are right, None where the catalog does not give their limits."""

    candidate: Candidate
    chance: float | None


@dataclass(frozen=True)
class Entry:
    """One nameplate of the list: the job, its motors, best first, or why it is ``refused``."""

    job: Job
    fitting: tuple[Fitting, ...]
    refused: InputError | None = None


def crossref(needs, motors, samples: int = SAMPLES, seed: int = 0) -> tuple[Entry, ...]:
    """An Entry for each of ``needs`` (jobs), in their order, against ``motors``.

    Raises InputError for an empty list.
    """
    if not needs:
        raise InputError("plates", Message("crossref.none"), Message("crossref.accepts"))
    batches = ready(needs, motors, samples, seed)
    found = {
        number: tuple(_fitting(one) for one in choose(at) if one.verdict != DOES_NOT_FIT)
        for number, _, at in batches.worked()
    }
    return tuple(
        Entry(job, found.get(number, ()), batches.refused.get(number))
        for number, job in enumerate(needs)
    )


def _fitting(one: Candidate) -> Fitting:
    motor = one.case.motor
    untold = None in (motor.ambient_rating, motor.insulation_class)
    return Fitting(one, None if untold else float(one.judged.passes[one.case.number].mean()))
