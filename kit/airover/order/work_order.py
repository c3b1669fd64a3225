"""A work order: one motor of an answer, installed step by step with this job's own numbers."""

from dataclasses import dataclass, replace

from airover.answer import CAUTIONS, Answer
from airover.cause.why import Why, cause
from airover.choose import Candidate
from airover.errors import InputError
from airover.message import Message
from airover.order.steps import Facts, Step, steps
from airover.order.warranty import Cover, cover
from airover.records import Found, Job, Ticks
from airover.records.causes import Causes

ORDER_CAUTIONS = (*CAUTIONS, Message("safety.dual_capacitor"))


@dataclass(frozen=True)
class WorkOrder:
    """The ``steps`` for a ``candidate`` of ``answer``, its warranty, and ``why`` the old one
    failed, None where nothing was found."""

    answer: Answer
    candidate: Candidate
    cover: Cover
    why: Why | None
    steps: tuple[Step, ...]

    @property
    def job(self) -> Job:
        return self.answer.job

    @property
    def done(self) -> int:
        """How many steps are ticked."""
        return sum(step.done is not None for step in self.steps)

    def with_ticks(self, ticks: Ticks) -> "WorkOrder":
        """The same order with the days of ``ticks``."""
        done = (step._replace(done=getattr(ticks, step.key)) for step in self.steps)
        return replace(self, steps=tuple(done))


def work_order(answer: Answer, name: str | None = None, causes: Causes | None = None) -> WorkOrder:
    """The work order for the motor called ``name`` (or its model), by default the best one.

    ``causes`` are those that `cause` takes. Raises InputError for a name that the answer does not
    have, and for a motor that does not fit.
    """
    if not answer.fitting:
        raise InputError("catalogue", "no motor that fits", f"one that has some. {answer.verdict}")
    candidate = answer.fitting[0] if name is None else answer.named(name)
    why = None
    if answer.job.found != Found():
        why = cause(answer.job, causes)
    covered = cover(candidate.case.motor, answer.job.dates)
    made = steps(Facts(answer, candidate, covered, why))
    return WorkOrder(answer, candidate, covered, why, made).with_ticks(answer.job.ticks)
