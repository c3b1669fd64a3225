"""Calculate, together with an answer, what a step of the page shows of it.

The functions run in the process that calculated the answer (`calculators`), which has its simulation
and knows the failed motor. Their results, and what they add to the answer, are sent with it.
"""

from dataclasses import replace

from airover.model.simulation import MotorOnFan
from airover.records.job import Job
from airover.selection.answer import Answer
from airover.service.order import work_order
from airover.service.roof_sheet import RoofSheet


def whole(found: Answer) -> MotorOnFan | None:
    """Return the simulation of all motors."""
    return found.candidates[0].case.simulation


def best(found: Answer) -> None:
    """Calculate the checks and torque curves of the first motor and the best measurement."""
    first = found.candidates[0]
    _ = first.checks, first.case.torque_curves, found.measurement


def sheet(found: Answer, job: Job, name: str | None) -> RoofSheet | None:
    """Return the roof sheet for the motor called ``name``, or None if no motor fits.

    If this motor does not fit, the sheet is for the best motor. The customer and the dates come from
    ``job``.
    """
    made = _sheet(found, job, name)
    _ = made and made.printed_amps
    return made


def _sheet(found: Answer, job: Job, name: str | None) -> RoofSheet | None:
    if not found.fitting:
        return None
    names = [one.case.motor.name for one in found.fitting]
    added = {"customer": job.customer, "dates": job.dates}
    named = replace(found, job=found.job.model_copy(update=added))
    return RoofSheet(work_order(named, name if name in names else names[0]))


def steps(found: Answer, job: Job, name: str | None) -> RoofSheet | None:
    """Return the roof sheet as in `sheet`, with the steps of its work order."""
    made = _sheet(found, job, name)
    _ = made and made.order.steps
    return made
