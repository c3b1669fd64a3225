"""Checks that need no motor at work: equal facts are judged once, for all motors of a catalogue.

Most motors of a catalogue fail a job on a plain fact, as other poles, volts or amps. A check here
looks at few facts of a job, which ``SEES`` names, and thousands of jobs share them.
"""

from operator import attrgetter
from typing import NamedTuple

import numpy as np

from airover.choose import electrical, mechanical
from airover.choose.case import Case
from airover.choose.check import ADAPT, FAIL, MISSING, NOTE, PASS
from airover.identify import Ensemble
from airover.motor.conditions import Conditions
from airover.records import CatalogueMotor, Job

STATES = (PASS, NOTE, ADAPT, MISSING, FAIL)
_PLATE = ("voltage", "frequency", "power", "current", "speed_rpm", "poles", "capacitor",
          "capacitor_voltage")  # fmt: skip
# what `conditions` reads of a job
PHYSICS = attrgetter(*(f"nameplate.{name}" for name in _PLATE), "blade", "site")


def _sees_amps(job: Job):
    """Without a rating on the plate, which of a motor's ratings is meant hangs on the load."""
    plate = job.nameplate
    return plate.current, PHYSICS(job) if plate.power is None else plate.power


SEES = {
    electrical.voltage: attrgetter("site.voltage", "nameplate.voltage"),
    electrical.phase: attrgetter("nameplate.phase"),
    electrical.frequency: attrgetter("site.frequency", "nameplate.frequency"),
    electrical.full_load_amps: _sees_amps,
    electrical.capacitor: attrgetter("nameplate.capacitor"),
    mechanical.rotation: attrgetter(
        "nameplate.rotation", "nameplate.rotation_seen_from", "blade.rotation",
        "blade.rotation_seen_from",
    ),
    mechanical.frame: attrgetter("nameplate.frame"),
    mechanical.shaft_diameter: attrgetter("nameplate.shaft_diameter", "blade.bore"),
    mechanical.shaft_length: attrgetter("nameplate.shaft_length"),
    mechanical.body_length: attrgetter("nameplate.body_length", "site.max_body_length"),
    mechanical.mounting: attrgetter("nameplate.mounting"),
    mechanical.shaft_position: attrgetter("nameplate.shaft_position"),
    mechanical.drain_plugs: attrgetter("nameplate.shaft_position"),
    mechanical.enclosure: attrgetter("nameplate.enclosure"),
    mechanical.protector: lambda job: None,
}  # fmt: skip
HELD = tuple(check for check in SEES if check.__module__ == mechanical.__name__)


def load_key(job: Job):
    """Two jobs with the same key have the same `conditions`, but for the texts of their inputs."""
    return PHYSICS(job), job.nameplate.shaft_position == "horizontal"


class Unworked(NamedTuple):
    """A job before any motor is put to work on it: what a `Case` needs for these checks."""

    job: Job
    motors: tuple[CatalogueMotor, ...]
    conditions: Conditions
    rated: Ensemble


class PlainFacts:
    """States of plain checks for the motors of one catalogue, each worked out once.

    A state is its place in ``STATES``, from pass to fail.
    """

    def __init__(self, motors, rated: Ensemble):
        self.motors, self.rated = tuple(motors), rated
        self._known = {}

    def states(self, check, job: Job, asked: Conditions) -> np.ndarray:
        """How every motor ends in ``check`` on ``job`` in the conditions ``asked``, (motors,)."""
        key = check, SEES[check](job)
        if key not in self._known:
            self._known[key] = self.judge(check, job, asked, range(len(self.motors)))
        return self._known[key]

    def judge(self, check, job: Job, asked: Conditions, numbers) -> np.ndarray:
        """The same for the motors with these ``numbers``, not kept."""
        before = Unworked(job, self.motors, asked, self.rated)
        found = (STATES.index(check(Case(before, number)).state) for number in numbers)
        return np.fromiter(found, np.int8, len(numbers))

    def fails(self, job: Job, asked: Conditions) -> np.ndarray:
        """Which motors fail any plain check, (motors,)."""
        rows = (self.states(check, job, asked) for check in SEES)
        return np.maximum.reduce(list(rows)) == STATES.index(FAIL)
