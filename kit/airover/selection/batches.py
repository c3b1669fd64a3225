"""Simulate many jobs in batches with the motors in one catalog.

The samples, rules and verdicts are the same as for a single job. Tests confirm this for random
rows. The circuits and thermal networks of the catalog motors do not depend on the job, so they are
identified only once. The plain rules, which need no simulation, are evaluated once for each
distinct set of job data, and motors that fail any of them are not simulated. Jobs with the same
nameplate and air conditions share a simulation. The remaining job-motor pairs form one long axis,
which is split into batches.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from operator import attrgetter
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.steps import Progress, finished
from airover.model.conditions import Conditions, site_conditions
from airover.model.simulation import (
    SAMPLES,
    Identified,
    MotorOnFan,
    assembled,
    identify_failed,
    identify_motors,
    lowest_voltage_of,
    lowest_voltages,
    run_on_fan,
)
from airover.physics.compiled import quickest
from airover.records.job import Job
from airover.records.scope import check_scope
from airover.selection import load
from airover.selection.check import FAIL, STATES, Rule
from airover.selection.comparison import Comparison
from airover.selection.rules import PLAIN

PAIRS = 120  # pairs per batch, which results in arrays of about 100 MB
# Rules about load and air that do not require simulation.
EARLY = tuple(
    rule for rule in load.RULES if rule.name in ("shaft power", "horsepower", "ambient rating")
)
# Job fields that determine the conditions and the failed motor's simulation.
_NAMEPLATE = (
    "voltage", "frequency", "power", "current", "speed_rpm", "poles", "capacitor",
    "capacitor_voltage", "insulation_class", "ambient_rating", "body_diameter", "body_length",
)  # fmt: skip
_PHYSICS = attrgetter(*(f"nameplate.{name}" for name in _NAMEPLATE), "blade", "site")


def load_key(job: Job):
    """Return a key that is the same for jobs with the same conditions and failed motor."""
    return _PHYSICS(job), job.nameplate.shaft_position == "horizontal"


class PlainRanks:
    """Cache for the results of the plain rules for the motors in one catalog.

    A rule reads only a few fields, so thousands of jobs share a small number of distinct values.
    """

    def __init__(self, motors):
        self.motors = tuple(motors)
        self._known = {}

    def ranks(self, rule: Rule, job: Job) -> np.ndarray:
        """Return the index in STATES of each motor's state under a plain ``rule``, shape (motors,)."""
        key = rule.name, rule.needs(job), job.limits
        if key not in self._known:
            self._known[key] = rule.rank(rule.evaluate(Comparison(job, self.motors)))
        return self._known[key]

    def fail(self, job: Job) -> np.ndarray:
        """Return True for motors that fail any plain rule, shape (motors,)."""
        return np.max([self.ranks(rule, job) for rule in PLAIN], axis=0) == STATES.index(FAIL)


@dataclass
class _Group:
    """Jobs with the same load, their conditions, and the motors to simulate."""

    conditions: Conditions
    jobs: list = field(default_factory=list)
    left: list = field(default_factory=list)  # motor numbers for each job

    @cached_property
    def motors(self) -> np.ndarray:
        return np.unique(np.concatenate(self.left))


class Batches(NamedTuple):
    """Jobs prepared for simulation.

    Attributes
    ----------
    groups : list[_Group]
        Jobs to simulate.
    refused : dict[int, InputError]
        Reason for each rejected job, by job number.
    """

    jobs: tuple[Job, ...]
    facts: PlainRanks
    identified: Identified
    groups: list[_Group]
    refused: dict[int, InputError]
    seed: int

    def simulated(self, using=quickest) -> Iterator[tuple[int, np.ndarray, Comparison]]:
        """Yield the number, the simulated motors and the Comparison of each job.

        Each job is yielded once, in no particular order. Jobs without motors to simulate are
        omitted.

        Parameters
        ----------
        using : optional
            Function that finds the operating point.
        """
        for part in _cut(self.groups):
            yield from _simulated(self, part, using)


def ready(jobs, motors, samples: int = SAMPLES, seed: int = 0) -> Batches:
    """Prepare all ``jobs`` for simulation with the ``motors`` that pass all plain rules.

    A job that the method does not cover, or that does not contain enough information, is rejected
    without affecting the other jobs.
    """
    return finished(readying(jobs, motors, samples, seed))


def readying(jobs, motors, samples: int = SAMPLES, seed: int = 0):
    """Prepare the jobs one at a time, as a generator that returns the Batches."""
    motors = tuple(motors)
    identified, facts = identify_motors(motors, samples, seed), PlainRanks(motors)
    met = identified.rated.met.all(axis=1)
    groups, refused = {}, {}
    for number, job in enumerate(jobs):
        yield Progress(Message("stock.step.read_calls"), number, len(jobs))
        try:
            check_scope(job)
            if (key := load_key(job)) not in groups:
                groups[key] = _Group(site_conditions(job, samples, seed))
        except InputError as error:
            refused[number] = error.with_traceback(None)
            continue
        group = groups[key]
        able = np.flatnonzero(met & ~facts.fail(job))
        left = able[~_weak_or_hot(job, motors, able, group.conditions)]
        if len(left):
            group.jobs.append(number)
            group.left.append(left)
    used = [group for group in groups.values() if group.jobs]
    return Batches(tuple(jobs), facts, identified, used, refused, seed)


def _weak_or_hot(job: Job, motors, able, conditions: Conditions) -> np.ndarray:
    """Return True for ``able`` motors that fail because of load, size or air temperature."""
    if not len(able):
        return np.zeros(0, bool)
    at = Comparison(job, tuple(motors[number] for number in able), conditions)
    ranks = [rule.rank(rule.evaluate(at)) for rule in EARLY]
    return np.max(ranks, axis=0) == STATES.index(FAIL)


def _cut(groups) -> Iterator[list[_Group]]:
    """Split the groups into parts that have about PAIRS pairs and a single frequency."""
    part, pairs = [], 0
    for group in sorted(groups, key=lambda one: one.conditions.frequency):
        other = part and part[0].conditions.frequency != group.conditions.frequency
        if part and (other or pairs + len(group.motors) > PAIRS):
            yield part
            part, pairs = [], 0
        part.append(group)
        pairs += len(group.motors)
    if part:
        yield part


class _Load(NamedTuple):
    """Fan and air data for many pairs, as used by `run_on_fan`, shape (pairs, samples)."""

    coefficient: np.ndarray
    temp_air: np.ndarray
    cooling_speed: np.ndarray
    speed_rpm: np.ndarray
    sun: np.ndarray


def _simulated(
    ready: Batches, part: list[_Group], using
) -> Iterator[tuple[int, np.ndarray, Comparison]]:
    """Simulate one batch with arrays of shape (voltages, pairs, samples).

    In each group, the failed motor comes before the other motors.
    """
    motors, conditions = ready.facts.motors, part[0].conditions
    rows, lowest, counts, everything = [], [], [], None
    for group in part:
        job = ready.jobs[group.jobs[0]]
        old = identify_failed(job, conditions.samples, ready.seed)
        mine = ready.identified.picked(group.motors)
        limits = lowest_voltages(motors[number] for number in group.motors)
        if old is not None:
            mine, limits = old.and_then(mine), [lowest_voltage_of(job), *limits]
        everything = mine if everything is None else everything.and_then(mine)
        rows.append(old is not None)
        counts.append(len(limits))
        lowest += limits
    load = _Load(*(_stacked(part, counts, name) for name in _Load._fields))
    voltage = np.repeat(
        np.stack([group.conditions.voltage for group in part], axis=1), counts, axis=1
    )
    found = run_on_fan(
        everything, load, np.array(lowest)[:, None], voltage[:, :, None], conditions.frequency,
        using,
    )  # fmt: skip
    start = 0
    for group, has_failed, count in zip(part, rows, counts, strict=True):
        yield from _of_group(ready, group, has_failed, everything, found, start)
        start += count


def _stacked(part: list[_Group], counts, name: str) -> np.ndarray:
    """Return one of the conditions as an array with a row of samples for each pair."""
    samples = part[0].conditions.samples
    values = [np.broadcast_to(getattr(group.conditions, name), samples) for group in part]
    return np.repeat(values, counts, axis=0)


def _of_group(ready: Batches, group: _Group, has_failed, everything: Identified, found, start):
    """Yield the jobs of a group, each with a Comparison as returned by `rules.compared`."""
    first = ready.jobs[group.jobs[0]]

    def part(job, motors, rows, failed) -> MotorOnFan:
        rated, shell = everything.picked(rows)
        return assembled(job, motors, group.conditions, rated, shell, found.picked(rows), failed)

    failed = part(first, (), np.array([start]), None) if has_failed else None
    for number, left in zip(group.jobs, group.left, strict=True):
        job, motors = ready.jobs[number], tuple(ready.facts.motors[at] for at in left)
        rows = start + int(has_failed) + np.searchsorted(group.motors, left)
        simulation = part(job, motors, rows, failed)
        yield (
            number,
            left,
            Comparison(job, motors, group.conditions, simulation, np.arange(len(left))),
        )
