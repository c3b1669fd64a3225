"""A work order: one motor of an answer, installed step by step with this job's own numbers."""

from dataclasses import dataclass, replace

from airover.answer import CAUTIONS, Answer
from airover.cause.why import Why, cause
from airover.choose import Candidate
from airover.errors import InputError
from airover.order import Facts, Step, steps
from airover.order.warranty import Cover, cover
from airover.records import Found, Job, Ticks
from airover.records.causes import Causes
from airover.texts import Writer
from airover.units import convert

ORDER_CAUTIONS = (
    *CAUTIONS,
    (
        "A dual run capacitor (C, FAN, HERM) also serves the compressor: discharge every section, "
        "and never remove or discard it without keeping or replacing the compressor's section."
    ),
)


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
    def title(self) -> str:
        """The motor and its rating, in words."""
        case = self.candidate.case
        return f"{case.motor.name} at {case.shown(case.rating, 'power')}"

    @property
    def done(self) -> int:
        """How many steps are ticked."""
        return sum(step.done is not None for step in self.steps)

    def with_ticks(self, ticks: Ticks) -> "WorkOrder":
        """The same order with the days of ``ticks``."""
        done = (step._replace(done=getattr(ticks, step.key)) for step in self.steps)
        return replace(self, steps=tuple(done))

    def to_dict(self) -> dict:
        """The order as JSON takes it; days as ISO 8601 texts, None where there is none."""
        case = self.candidate.case
        return {
            "job": {"name": self.job.name, "invented": self.job.invented},
            "motor": case.motor.name,
            "rating_hp": round(convert(case.rating, "power", "hp"), 6),
            "verdict": self.candidate.verdict,
            "reasons": list(self.candidate.reasons),
            "steps": [_step_dict(step) for step in self.steps],
            "warranty": _cover_dict(self.cover),
            "cause": None
            if self.why is None
            else self.why.to_dict(Writer("en", self.answer.system)),
            "assumed": [one._asdict() for one in self.answer.assumed],
            "cautions": list(ORDER_CAUTIONS),
        }


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


def _step_dict(step: Step) -> dict:
    return {
        "key": step.key,
        "title": step.title,
        "why": step.why,
        "do": list(step.do),
        "write": [blank._asdict() for blank in step.write],
        "done": None if step.done is None else step.done.isoformat(),
    }


def _cover_dict(covered: Cover) -> dict:
    spans = ("last", "from_manufacture", "from_installation")
    return {
        **{name: _span_dict(getattr(covered, name)) for name in spans},
        "rule": covered.rule,
        "rule_stated": covered.stated,
        "sentences": covered.sentences,
    }


def _span_dict(span) -> dict | None:
    if span is None:
        return None
    ends = {"first": span.first, "last": span.last}
    return {name: None if day is None else day.isoformat() for name, day in ends.items()}
