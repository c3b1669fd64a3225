"""Findings to verdicts: every motor's checks, its verdict with reasons, and the order of all."""

from dataclasses import dataclass

from airover.choose import electrical, load, mechanical
from airover.choose.case import Case
from airover.choose.check import ADAPT, FAIL, MISSING, Check
from airover.motor.work import Worked

FITS, FITS_WITH_WORK, DOES_NOT_FIT = "fits", "fits with work", "does not fit"
VERDICTS = (FITS, FITS_WITH_WORK, DOES_NOT_FIT)
ORDER = (
    "Motors that fit come first, then those with the fewest things to adapt or to find out, then "
    "the cooler winding (in steps of 5 K), then the lower price."
)


@dataclass(frozen=True)
class Candidate:
    """One motor judged: its case, checks and verdict."""

    case: Case
    checks: tuple[Check, ...]

    @property
    def verdict(self) -> str:
        """A missing fact never counts as a pass: with one open a motor does not plainly fit."""
        states = {check.state for check in self.checks}
        if FAIL in states:
            return DOES_NOT_FIT
        return FITS_WITH_WORK if states & {ADAPT, MISSING} else FITS

    def having(self, *states) -> tuple[Check, ...]:
        """The checks with one of these states, in their order."""
        return tuple(check for check in self.checks if check.state in states)

    @property
    def reasons(self) -> tuple[str, ...]:
        """The sentences that decide the verdict."""
        if self.verdict == DOES_NOT_FIT:
            return tuple(check.why for check in self.having(FAIL))
        return tuple(check.why for check in self.having(ADAPT, MISSING))

    @property
    def _place(self):
        margin = next(check.margin for check in self.checks if check.name == "winding temperature")
        price = self.case.motor.price
        return (
            VERDICTS.index(self.verdict),
            len(self.reasons),
            float("inf") if margin is None else -round(margin / 5),
            float("inf") if price is None else price,
            self.case.motor.name,
        )


def choose(worked: Worked) -> tuple[Candidate, ...]:
    """Judge every motor that was worked, best first."""
    tests = (*load.CHECKS, *electrical.CHECKS, *mechanical.CHECKS)
    cases = (Case(worked, number) for number in range(len(worked.motors)))
    candidates = [Candidate(case, tuple(test(case) for test in tests)) for case in cases]
    return tuple(sorted(candidates, key=lambda candidate: candidate._place))
