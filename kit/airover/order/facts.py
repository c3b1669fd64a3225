"""What the steps of a work order are made of, and what a step is."""

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from airover.answer import Answer
from airover.cause.why import Why
from airover.choose import Candidate
from airover.choose.case import Case
from airover.choose.check import Check
from airover.order.warranty import Cover
from airover.records import CatalogueMotor, Job
from airover.units import show


class Blank(NamedTuple):
    """What to measure and write down, in which ``unit``, and what is ``expected``, if anything."""

    what: str
    unit: str = ""
    expected: str = ""


class Step(NamedTuple):
    """One step: what to ``do``, ``why``, what to ``write`` down, and the day it was ``done``.

    ``key`` is its name in the job's ticks.
    """

    key: str
    title: str
    why: str
    do: tuple[str, ...]
    write: tuple[Blank, ...] = ()
    done: date | None = None


@dataclass(frozen=True)
class Facts:
    """What the steps are made of: a ``candidate`` of an ``answer``, its ``cover``, and ``why`` the
    old motor failed, None where nothing was found."""

    answer: Answer
    candidate: Candidate
    cover: Cover
    why: Why | None

    @property
    def case(self) -> Case:
        return self.candidate.case

    @property
    def job(self) -> Job:
        return self.answer.job

    @property
    def motor(self) -> CatalogueMotor:
        return self.case.motor

    @property
    def position(self) -> str | None:
        """Which way the shaft points."""
        return self.job.nameplate.shaft_position

    def check(self, name: str) -> Check:
        return next(check for check in self.candidate.checks if check.name == name)

    def shown(self, value: float, kind: str) -> str:
        return show(value, kind, self.answer.system)

    def amps(self, voltage: int) -> str:
        """Amps to expect at the low, usual or high voltage."""
        volts, band = (
            self.case.conditions.voltage[voltage],
            self.case.band("current_a", voltage),
        )
        return f"{band.low:.2f} to {band.high:.2f} A at {volts:.0f} V"
