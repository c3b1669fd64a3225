"""Many jobs worked at once: the same work as one job, in batches, without what fails before.

Circuits and ways of heat of a catalogue do not hang on the job, so they are found once. Motors
that fail a job on a plain fact are not put to work on it. Jobs with the same load and air share
their work. What is left is one long axis of pairs, job and motor, cut into batches.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from airover import identify
from airover.choose import load
from airover.errors import InputError
from airover.in_steps import Step, finished
from airover.matching.plain_facts import STATES, PlainFacts, load_key
from airover.motor.conditions import Conditions, completed, conditions
from airover.motor.one import Load
from airover.motor.warm import Shell, Stream, at_temperature, warmed
from airover.motor.work import DRAWS, LOW, Worked, bodies, breakdown_torque, plates
from airover.physics.operating_point import settle
from airover.records import Job
from airover.scope import check_scope

PAIRS = 250  # in a batch: its arrays then stay within some 100 MB
EARLY = (load.shaft_power, load.ambient)  # these need the job's air and load, but no motor at work


@dataclass
class _Group:
    """Jobs of one load: their conditions, numbers, and the motors left to be worked."""

    asked: Conditions
    jobs: list = field(default_factory=list)
    left: list = field(default_factory=list)  # numbers of motors for each job

    @property
    def motors(self) -> np.ndarray:
        return np.unique(np.concatenate(self.left))


class Batches(NamedTuple):
    """Jobs made ready: ``groups`` to be worked, and why a job was ``refused``, by its number."""

    jobs: tuple[Job, ...]
    facts: PlainFacts
    shell: Shell
    groups: list[_Group]
    refused: dict[int, str]

    def worked(self, using=settle) -> Iterator[tuple[int, np.ndarray, Worked]]:
        """A job's number, the numbers of the motors put to work on it, and that work.

        Each job comes once, in no order; one without motors left does not come. ``using`` is
        `operating_point.settle` or `compiled.settle`.
        """
        for part in _cut(self.groups):
            yield from _work(self, part, using)


def ready(jobs, motors, draws: int = DRAWS, seed: int = 0, system: str = "US") -> Batches:
    """Look at all ``jobs``: which are covered, and which ``motors`` fail none of the plain facts.

    A job outside the method, or that says too little, is refused with a sentence; others go on.
    ``system`` "US" or "SI" is for texts.
    """
    return finished(readying(jobs, motors, draws, seed, system))


def readying(jobs, motors, draws: int = DRAWS, seed: int = 0, system: str = "US"):
    """The same as ``ready`` in steps, one for each job; a generator that returns the Batches."""
    rated = identify.ensemble(plates(motors), draws, seed)
    shell = Shell.of(bodies(motors), rated, seed)
    facts = PlainFacts(motors, rated)
    groups, refused = {}, {}
    for number, job in enumerate(jobs):
        yield Step("reading what each call needs", number, len(jobs))
        try:
            check_scope(job)
            if (key := load_key(job)) not in groups:
                groups[key] = _Group(conditions(job, draws, seed, system))
        except InputError as error:
            refused[number] = str(error)
            continue
        group = groups[key]
        left = _left(facts, job, group.asked)
        if len(left):
            group.jobs.append(number)
            group.left.append(left)
    used = [group for group in groups.values() if group.jobs]
    return Batches(tuple(jobs), facts, shell, used, refused)


def _left(facts: PlainFacts, job: Job, asked: Conditions) -> np.ndarray:
    """Numbers of the motors that fail nothing that can be seen before they are put to work."""
    poles = completed(job).pole_count
    alike = np.array([motor.poles == poles for motor in facts.motors])
    numbers = np.flatnonzero(alike & facts.rated.met.all(axis=1) & ~facts.fails(job, asked))
    for check in EARLY:
        states = facts.judge(check, job, asked, numbers)
        numbers = numbers[states != len(STATES) - 1]
    return numbers


def _cut(groups) -> Iterator[list[_Group]]:
    """The groups in parts of about PAIRS pairs, each part of one frequency."""
    part, pairs = [], 0
    for group in sorted(groups, key=lambda one: one.asked.frequency):
        other = part and part[0].asked.frequency != group.asked.frequency
        if part and (other or pairs + len(group.motors) > PAIRS):
            yield part
            part, pairs = [], 0
        part.append(group)
        pairs += len(group.motors)
    if part:
        yield part


def _work(ready: Batches, part: list[_Group], using) -> Iterator[tuple[int, np.ndarray, Worked]]:
    """One batch put to work; arrays are (voltages, pairs, draws)."""
    motors = np.concatenate([group.motors for group in part])
    rated = _picked(ready.facts.rated, motors, ready)
    shell = _picked(ready.shell, motors, ready)
    load = _stacked(part, [Load.of(group.asked) for group in part])
    voltage = np.concatenate([_column(group) for group in part], axis=1)
    frequency = part[0].asked.frequency
    warm = warmed(rated, shell, load.air, voltage, frequency, load.coefficient, using)
    circuit = at_temperature(rated, shell, warm.nodes.part(LOW))
    breakdown = breakdown_torque(circuit, voltage[LOW], frequency)
    batch, start = (rated, shell, warm, breakdown), 0
    for group in part:
        for number, left in zip(group.jobs, group.left, strict=True):
            pairs = start + np.searchsorted(group.motors, left)
            yield number, left, _of_job(ready, number, group, left, pairs, batch)
        start += len(group.motors)


def _column(group: _Group) -> np.ndarray:
    """Line voltages of a group's pairs, (voltages, pairs, 1)."""
    return np.repeat(group.asked.voltage[:, None, None], len(group.motors), axis=1)


def _stacked(part: list[_Group], loads: list[Load]) -> Load:
    """The loads of a part, a row of draws for each pair."""
    counts = [len(group.motors) for group in part]
    draws = part[0].asked.draws

    def rows(values):
        return np.repeat([np.broadcast_to(value, draws) for value in values], counts, axis=0)

    air = Stream(*(rows(values) for values in zip(*(load.air for load in loads), strict=True)))
    return Load(rows([load.coefficient for load in loads]), air)


def _picked(thing, motors: np.ndarray, ready: Batches):
    """Rows of an ensemble or a shell, one for each pair."""
    shape = ready.facts.rated.power.shape
    return thing.rearranged(lambda value: np.broadcast_to(value, shape)[motors])


def _of_job(ready, number, group, left, pairs, batch) -> Worked:
    """One job's part of a batch, as `work.work` gives it; ``left`` motors stand at ``pairs``."""
    rated, shell, warm, breakdown = batch
    mine = warm.part((slice(None), pairs))
    return Worked(
        job=ready.jobs[number],
        motors=tuple(ready.facts.motors[at] for at in left),
        conditions=group.asked,
        rated=rated.rearranged(lambda value: value[pairs]),
        shell=shell.rearranged(lambda value: value[pairs]),
        starts=mine.starts,
        slip=mine.slip,
        solution=mine.solution,
        nodes=mine.nodes,
        temp_winding=mine.temp_winding,
        reserve=breakdown[pairs] / group.asked.torque,
    )
