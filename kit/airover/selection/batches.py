"""Simulate many jobs in batches with the motors in one catalog.

The samples, rules and verdicts are the same as for a single job. Tests confirm this for random
rows. The circuits and thermal networks of the catalog motors do not depend on the job, so they are
identified only once. Failed motors are identified several at a time. The plain rules, which need no
simulation, are evaluated once for each distinct set of job data, and motors that fail any of them
are not simulated. Jobs with the same nameplate and air conditions share a simulation. The remaining
job-motor pairs form one long axis, which is split into batches.
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
from airover.model.conditions import (
    Conditions,
    Failed,
    all_as_printed,
    completed,
    site_conditions,
)
from airover.model.simulation import (
    SAMPLES,
    Identified,
    MotorOnFan,
    assembled,
    has_failed_motor,
    identify_motors,
    lowest_voltage_of,
    lowest_voltages,
    run_on_fan,
    with_networks,
)
from airover.physics.compiled import quickest
from airover.records.job import Job
from airover.records.scope import check_scope
from airover.selection import load
from airover.selection.check import FAIL, STATES, Rule
from airover.selection.comparison import Comparison
from airover.selection.rules import PLAIN

PAIRS = 120  # pairs per batch, which results in arrays of about 100 MB
TOGETHER = 15  # failed motors identified at a time, which fill one block of `identify.ensemble`
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
    """Jobs with the same load, their conditions, and the motors to simulate.

    ``failed`` is the index of the failed motor in `Batches.identified`, or None if it cannot be
    simulated.
    """

    conditions: Conditions
    failed: int | None
    jobs: list = field(default_factory=list)
    left: list = field(default_factory=list)  # motor numbers for each job

    @cached_property
    def motors(self) -> np.ndarray:
        return np.unique(np.concatenate(self.left))


class Batches(NamedTuple):
    """Jobs prepared for simulation.

    Attributes
    ----------
    identified : Identified
        Catalog motors, followed by the failed motors.
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
    """Prepare the jobs in steps, as a generator that returns the Batches."""
    jobs, motors = tuple(jobs), tuple(motors)
    everything, facts = [identify_motors(motors, samples, seed)], PlainRanks(motors)
    met = everything[0].rated.met.all(axis=1)
    alike, groups, refused = {}, [], {}
    for number, job in enumerate(jobs):
        try:
            check_scope(job)
            completed(job)
        except InputError as error:
            refused[number] = error.with_traceback(None)
        else:
            alike.setdefault(load_key(job), []).append(number)
    loads, row = list(alike.values()), len(motors)
    for start in range(0, len(loads), TOGETHER):
        part = loads[start : start + TOGETHER]
        known, found = _failed_motors([jobs[same[0]] for same in part], samples, seed)
        everything += found
        for done, (same, failed) in enumerate(zip(part, known, strict=True), start):
            yield Progress(Message("stock.step.read_calls"), done, len(loads))
            job = jobs[same[0]]
            old = row if failed is not None and has_failed_motor(job) else None
            row += failed is not None
            try:
                group = _Group(site_conditions(job, samples, seed, failed), old)
            except InputError as error:
                refused |= dict.fromkeys(same, error.with_traceback(None))
                continue
            for number in same:
                able = np.flatnonzero(met & ~facts.fail(jobs[number]))
                left = able[~_weak_or_hot(jobs[number], motors, able, group.conditions)]
                if len(left):
                    group.jobs.append(number)
                    group.left.append(left)
            groups += [group] * bool(group.jobs)
    identified = everything[0].and_then(*everything[1:])
    return Batches(jobs, facts, identified, groups, dict(sorted(refused.items())))


def _failed_motors(jobs, samples: int, seed: int) -> tuple[list[Failed | None], list[Identified]]:
    """Identify the failed motors of several jobs together.

    Returns the failed motor of each job, or None if its nameplate does not contain enough data, and
    the same motors with their thermal networks, as a list with no or one item.
    """
    plates = [completed(job) for job in jobs]
    able = [one.voltage is not None and (one.power or one.current) is not None for one in plates]
    known = [None] * len(jobs)
    if not any(able):
        return known, []
    chosen = np.flatnonzero(able).tolist()
    rated, used, doubtful = all_as_printed([plates[at] for at in chosen], samples, seed)
    for row, at in enumerate(chosen):
        own = rated.rearranged(lambda value, row=row: value[row])
        known[at] = Failed(own, used[row], bool(doubtful[row]))
    return known, [with_networks(rated, used, seed)]


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
    conditions = part[0].conditions
    rows, lowest, counts = [], [], []
    for group in part:
        own = [] if group.failed is None else [group.failed]
        if own:
            lowest.append(lowest_voltage_of(ready.jobs[group.jobs[0]]))
        lowest += lowest_voltages(ready.facts.motors[number] for number in group.motors)
        rows += [own, group.motors]
        counts.append(len(own) + len(group.motors))
    everything = ready.identified.picked(np.concatenate(rows).astype(int))
    load = _Load(*(_stacked(part, counts, name) for name in _Load._fields))
    voltage = np.repeat(
        np.stack([group.conditions.voltage for group in part], axis=1), counts, axis=1
    )
    found = run_on_fan(
        everything, load, np.array(lowest)[:, None], voltage[:, :, None], conditions.frequency,
        using,
    )  # fmt: skip
    start = 0
    for group, count in zip(part, counts, strict=True):
        yield from _of_group(ready, group, everything, found, start)
        start += count


def _stacked(part: list[_Group], counts, name: str) -> np.ndarray:
    """Return one of the conditions as an array with a row of samples for each pair."""
    samples = part[0].conditions.samples
    values = [np.broadcast_to(getattr(group.conditions, name), samples) for group in part]
    return np.repeat(values, counts, axis=0)


def _of_group(ready: Batches, group: _Group, everything: Identified, found, start):
    """Yield the jobs of a group, each with a Comparison as returned by `rules.compared`."""
    first, has_failed = ready.jobs[group.jobs[0]], group.failed is not None

    def part(job, motors, rows, failed) -> MotorOnFan:
        rated, shell = everything.picked(rows)
        return assembled(job, motors, group.conditions, rated, shell, found.picked(rows), failed)

    failed = part(first, (), np.array([start]), None) if has_failed else None
    for number, left in zip(group.jobs, group.left, strict=True):
        job, motors = ready.jobs[number], tuple(ready.facts.motors[at] for at in left)
        rows = start + has_failed + np.searchsorted(group.motors, left)
        simulation = part(job, motors, rows, failed)
        yield (
            number,
            left,
            Comparison(job, motors, group.conditions, simulation, np.arange(len(left))),
        )
