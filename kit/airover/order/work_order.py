"""A work order: one motor of an answer, installed step by step with this job's own numbers."""

from dataclasses import dataclass, replace
from functools import cached_property

from airover.answer import CAUTIONS, Answer
from airover.cause.why import cause
from airover.errors import InputError
from airover.message import Message
from airover.order.steps import Facts, Step, steps
from airover.order.warranty import cover
from airover.records import Found, Ticks
from airover.records.causes import Causes

ORDER_CAUTIONS = (*CAUTIONS, Message("safety.dual_capacitor"))


@dataclass(frozen=True)
class WorkOrder(Facts):
    """The facts of an order, its ``steps``, and the days on which they were done, ``ticks``."""

    ticks: Ticks

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        return tuple(step._replace(done=getattr(self.ticks, step.key)) for step in steps(self))

    @property
    def done(self) -> int:
        """How many steps are ticked."""
        return sum(step.done is not None for step in self.steps)

    def with_ticks(self, ticks: Ticks) -> "WorkOrder":
        """The same order with the days of ``ticks``."""
        return replace(self, ticks=ticks)


def work_order(answer: Answer, name: str | None = None, causes: Causes | None = None) -> WorkOrder:
    """The work order for the motor called ``name`` (or its model), by default the best one.

    ``causes`` are those that `cause` takes. Raises InputError for a name that the answer does not
    have, and for a motor that does not fit.
    """
    if not answer.fitting:
        accepted = Message("order.error.some_fit", verdict=answer.verdict)
        raise InputError("catalogue", Message("order.error.none_fits"), accepted)
    candidate = answer.fitting[0] if name is None else answer.named(name)
    job = answer.job
    why = None if job.found == Found() else cause(job, causes)
    return WorkOrder(answer, candidate, cover(candidate.case.motor, job.dates), why, job.ticks)
