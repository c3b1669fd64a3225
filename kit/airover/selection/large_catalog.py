"""Select the motors in a large catalog that are simulated for a job.

The rules that require no simulation rank all motors, and the motors that rank highest are
simulated. Simulated rules can lower a motor in this ranking but cannot raise it. More motors are
therefore simulated until the best of them ranks above all others, so that the recommended motor is
the same as without this selection. The search stops at MOST motors and reports if the best motor
was not confirmed.
"""

from dataclasses import dataclass

import numpy as np

from airover.core.message import Message
from airover.model.conditions import Conditions
from airover.records.job import Job
from airover.selection.comparison import Comparison
from airover.selection.rules import (
    RULES,
    Candidate,
    apply_rules,
    can_be_simulated,
    choose,
    compared,
    nearness,
)

LARGE = 1000  # motors; a smaller catalog is evaluated in full
FIRST, MOST = 150, 600  # motors that are simulated first, and at most; 600 need less than 1 GB
WITHOUT_SIMULATION = tuple(rule for rule in RULES if not rule.simulated)


@dataclass(frozen=True)
class Screened:
    """Numbers of motors in a large catalog.

    Attributes
    ----------
    motors : int
        Motors in the catalog.
    suitable : int
        Motors with the speed, supply and size of the job.
    calculated : int
        Motors that were evaluated with all rules.
    is_best : bool
        True if none of the other motors can rank above the recommended motor.
    """

    motors: int
    suitable: int
    calculated: int
    is_best: bool

    @property
    def told(self) -> Message:
        """Message with the numbers of motors."""
        key = "told" if self.is_best else "unconfirmed"
        return Message(f"large_catalog.{key}", **vars(self))


def chosen(
    job: Job,
    motors,
    conditions: Conditions,
    samples: int,
    seed: int,
    thorough: bool = False,
    named: str = "",
) -> tuple[tuple[Candidate, ...], Screened | None]:
    """Return the candidates, best first, and the numbers of motors if the catalog is large.

    The candidates are all motors in a small catalog, or the motors in a large catalog that are
    nearest to the requirements and any motor whose name or model is ``named``.
    """
    motors = tuple(motors)
    if len(motors) <= LARGE:
        return choose(compared(job, motors, conditions, samples, seed, thorough)), None
    judged = apply_rules(Comparison(job, motors, conditions), WITHOUT_SIMULATION)
    keys, suitable = nearness(judged), int(can_be_simulated(judged).sum())
    order, count = np.lexsort(keys[::-1]), FIRST
    asked = [number for number, motor in enumerate(motors) if motor.is_named(named)]
    while True:
        kept = tuple(motors[number] for number in np.union1d(order[:count], asked).astype(int))
        found = choose(compared(job, kept, conditions, samples, seed, thorough))
        best = nearness(found[0].judged)[:, found[0].case.number]
        is_best = best.tolist() < keys[:, order[count]].tolist()
        if is_best or count >= MOST:
            return found, Screened(len(motors), suitable, len(kept), is_best)
        count *= 2
