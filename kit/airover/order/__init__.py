"""The steps of a work order, each with its reason and one job's own numbers.

The order and what each step asks are common practice, no source. Local codes, the makers'
instructions and licensed practice come before them. A number that is not known becomes a line to
measure and write down.
"""

from airover.order import before, mounting, running
from airover.order.facts import Blank, Facts, Step

__all__ = ["Blank", "Facts", "Step", "steps"]


def steps(facts: Facts) -> tuple[Step, ...]:
    """All steps in the order of the work; no day is written beside them yet."""
    makers = (*before.STEPS, *mounting.STEPS, *running.STEPS)
    return tuple(make(facts) for make in makers)
