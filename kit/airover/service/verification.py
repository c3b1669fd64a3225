"""Verification of a new motor: readings against expectation and nameplate, faults, next reading.

It never says that a unit is safe: a figure that agrees only says that nothing was seen in it. A
fault is named from a chance of 90 % on.

Accuracy on synthetic motors from another recipe, with a thermal model and meter errors of their own
(tests/service/test_verify.py). A fault counts where a figure without error lies outside what 99 of
100 good motors show, or the nameplate allows, by more than the meter's limit. Of 600 faulty motors
with seven readings, 345 count, and 99.7 % of these differ; all of the 175 faults that are named are
right. Of all faulty motors 77 % differ and 12 % agree, most of them with a load of +25 %. Of good
motors 1 % differ and 27 % are asked for another reading (nine in ten with volts and amps alone, six
in ten with watts and rpm as well). The 90 % range contains shaft power in 89 %, winding temperature
in 90 %, speed in 94 % of cases. No real motor was measured.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.model.conditions import Input
from airover.physics.operating_point import settle as plain_settle
from airover.records.job import Job
from airover.records.readings import Measurements, ReadingMoment
from airover.records.scope import check_scope
from airover.selection.answer import CAUTIONS
from airover.selection.comparison import winding_limit
from airover.service import judgment
from airover.service.inference import (
    LEAST,
    SETTLED,
    Inferred,
    MeterReading,
    NextReading,
    inferred,
    next_readings,
    open_bits,
)
from airover.service.judgment import (
    AGREES,
    DIFFERS,
    OPEN,
    JudgedReading,
    Questioned,
    Remark,
    question,
    question_line,
    question_outdoor,
)
from airover.service.readings import FAULTS, HEALTHY, READINGS, Simulated, reading_name, simulated
from airover.service.taken import (
    Subject,
    asked_at,
    inputs_of,
    marked_capacitor,
    read_figures,
    seen,
    subject_of,
    volts_at,
    winding_figure,
)

SAMPLES = 200
LIKELY, UNLIKELY = 0.90, 0.05  # chances from which a fault is told, and ruled out
EXPECTED_FROM = 0.80  # chance of "as expected" from which readings are said to agree
SUSPECTED, RULED_OUT = "likely", "no sign of it"


class FaultChance(NamedTuple):
    """A fault by its ``key``: its ``chance`` after the readings and ``before`` them, how many times
    ``likelier`` they are with it than without, its ``state`` (SUSPECTED, RULED_OUT or OPEN)."""

    key: str
    chance: float
    before: float
    likelier: float
    state: str

    @property
    def name(self) -> Message:
        return Message(f"verify.fault.{self.key}")

    @property
    def look(self) -> Message:
        """Advice what to look at."""
        return Message(f"verify.look.{self.key}")


@dataclass(frozen=True)
class Verified:
    """A ``job`` and what was ``measured``, judged.

    ``judged`` are the comparisons, ``questioned`` the readings left out, ``known`` what is inferred
    from the rest (None where the motor stands), ``before`` what was expected, ``remarks`` are on
    what was seen and calculated.
    """

    job: Job
    measured: Measurements
    subject: Subject
    before: Simulated
    known: Inferred | None
    judged: tuple[JudgedReading, ...]
    questioned: tuple[Questioned, ...]
    remarks: tuple[Remark, ...]
    taken: tuple[MeterReading, ...]
    inputs: tuple[Input, ...]

    @cached_property
    def findings(self) -> tuple[FaultChance, ...]:
        """Every fault, the likeliest first; none where the motor stands."""
        if self.known is None:
            return ()
        found = [_finding(self.known, fault) for fault in FAULTS]
        return tuple(sorted(found, key=lambda one: -one.chance))

    @property
    def chance_expected(self) -> float:
        """Chance that nothing is wrong that the method looks for, 0 where the motor stands."""
        return 0.0 if self.known is None else self.known.chance(HEALTHY)

    @cached_property
    def state(self) -> str:
        """AGREES, DIFFERS or OPEN of all together."""
        states = [*(one.state for one in self.judged), *(one.state for one in self.remarks)]
        if DIFFERS in states or any(one.state == SUSPECTED for one in self.findings):
            return DIFFERS
        plate_open = any(one.state == OPEN for one in self.judged if one.against == "plate")
        expected = any(one.against == "expected" for one in self.judged)
        return AGREES if self._is_clear and expected and not plate_open else OPEN

    @property
    def agrees_so_far(self) -> bool:
        """True where every comparison agrees and a fault is still less likely than none."""
        expected = any(one.against == "expected" for one in self.judged)
        agree = all(one.state == AGREES for one in self.judged)
        return expected and agree and self.is_explained and self.chance_expected > 0.5

    @property
    def _is_clear(self) -> bool:
        # how near a capacitor is to its tolerance is weighed with the faults already
        seen_open = any(one.state == OPEN and one.topic != "capacitor" for one in self.remarks)
        return self.chance_expected >= EXPECTED_FROM and not seen_open and self.is_explained

    @property
    def verdict(self) -> Message:
        """The answer in one sentence."""
        table = "verify.verdict_of_rest" if self.questioned else "verify.verdict"
        if self.state == AGREES:
            return Message(f"{table}.agrees")
        if self.state == OPEN:
            return Message(f"{table}.{'agrees_so_far' if self.agrees_so_far else 'open'}")
        off = [reading_name(one.name) for one in self.judged if one.state == DIFFERS]
        values = {"readings": list(dict.fromkeys(off))} if off else {}
        seen = {one.topic: one.sentence for one in self.remarks if one.state == DIFFERS}
        first = seen.get("start") or seen.get("rotation")
        if first is None and not self._names_a_fault and not off:
            first = next(iter(seen.values()))
        if first is not None:
            return Message("verify.verdict.seen", seen=first)
        if self._names_a_fault:
            leading = self.findings[0]
            values |= {"fault": leading.name, "chance": percent(leading.chance)}
            return Message(f"{table}.{'readings_fault' if off else 'fault'}", **values)
        alone = self.chance_expected >= EXPECTED_FROM
        return Message(f"{table}.{'readings_alone' if alone else 'readings'}", **values)

    @property
    def is_explained(self) -> bool:
        """False where no fault, nor none, gives these readings together: then one is wrong, or
        something else is the matter."""
        return self.known is None or self.known.is_explained

    @property
    def _names_a_fault(self) -> bool:
        return self.is_explained and self.findings[0].chance > max(self.chance_expected, 0.5)

    @cached_property
    def bands(self) -> dict[str, Band]:
        """Inferred figures, by name and unit, at the first reading."""
        figures = () if self.known is None else self.known.simulated.figures
        return {name: self.known.band(name) for name in figures}

    @cached_property
    def bands_before(self) -> dict[str, Band]:
        """The same as it was expected before the readings."""
        runs = self.before.runs[0]
        return {name: Band.of(values[0, 0, runs]) for name, values in self.before.figures.items()}

    @cached_property
    def next(self) -> tuple[NextReading, ...]:
        """Readings to take next, the most useful first; a motor that stands is looked at
        instead."""
        if self.known is None:
            return ()
        done = {one.name for one in self.taken if one.moment == 0}
        return next_readings(self.known, tuple(done))

    @property
    def open_bits(self) -> float:
        """Uncertainty [bit] that is left about which fault it is, if any."""
        return 0.0 if self.known is None else open_bits(self.known)

    @property
    def next_sentences(self) -> list[Message]:
        """Advice where a fault is likely, then the most useful reading with its number."""
        if not self.next:
            return [Message("verify.next.stands")]
        closed = self.open_bits < SETTLED or self.next[0].bits < LEAST
        first, reading = self.findings[0], self.next[0].sentence(closed)
        return [first.look, reading] if first.state == SUSPECTED else [reading]

    @property
    def assumed(self) -> tuple[Input, ...]:
        """Assumed inputs, the accuracies of the meters that were used among them."""
        used = {READINGS[one.name].meter for one in self.taken}
        meters, why = self.measured.meters, Message("verify.input.accuracy_why")
        of_meters = (
            Input(f"accuracy of {name}", getattr(meters, name).shown, "assumed", why)
            for name in meters.assumed
            if name in used
        )
        return (*(one for one in self.inputs if one.origin == "assumed"), *of_meters)

    @property
    def cautions(self) -> tuple:
        mine = (Message("verify.caution.live"), Message("verify.caution.never_safe"))
        return (*CAUTIONS, *mine)


def percent(chance: float) -> Message | Quantity:
    """A chance for people; never none and never all."""
    if chance > 0.99:
        return Message("verify.above", value=Quantity(0.99, "share"))
    if chance < 0.01:
        return Message("verify.below", value=Quantity(0.01, "share"))
    return Quantity(chance, "share")


@dataclass(frozen=True)
class Expectation:
    """Expectation before a meter is read: of ``subject`` on the fan and air of ``job``.

    ``odd`` readings are left out of it, ``measured`` tells what was seen and which meters are used.
    """

    job: Job
    measured: Measurements
    subject: Subject
    before: Simulated
    odd: tuple[Questioned, ...]
    inputs: tuple[Input, ...]


def verify(
    job: Job, measured: Measurements, motors=(), samples=SAMPLES, seed=0, settle=plain_settle,
) -> Verified:  # fmt: skip
    """Judge what was ``measured`` on the new motor of ``job``.

    ``motors`` are those of a catalog, among which ``measured.motor`` names one; without it the
    motor is that of the job's nameplate. ``settle`` as in `model.motor.Motor`. Raises InputError
    for a job that is not covered, an unknown motor, and measurements without a reading.
    """
    check_scope(job)
    if not measured.reading and measured.start is None and measured.rotation is None:
        nothing = Message("error.nothing")
        raise InputError("reading", nothing, Message("verify.error.no_reading"))
    subject = subject_of(job, measured, motors, samples, seed)
    subject = subject._replace(motor=replace(subject.motor, settle=settle))
    moments = measured.reading or (ReadingMoment(),)
    odd = (*_odd_lines(moments, subject), *_odd_weather(moments))
    taken = [one for one in read_figures(moments, measured.meters) if not _is_odd(one, odd)]
    taken += winding_figure(measured, len(moments) - 1)
    asked = asked_at(job, moments, odd, samples, seed)
    line = [volts_at(number, taken, one) for number, one in enumerate(asked)]
    before = simulated(subject.motor, asked, line, seed)
    inputs = inputs_of(asked[0], moments[0], odd)
    return judge(Expectation(job, measured, subject, before, odd, inputs), taken, seed)


def judge(expectation: Expectation, taken, seed=0) -> Verified:
    """The readings ``taken`` beside their ``expectation``."""
    job, measured, subject, before, odd, inputs = vars(expectation).values()
    remarks, stands = seen(job, measured, subject.rotation, before, taken)
    kept, questioned = (tuple(taken), ()) if stands else question(before, taken)
    known = None if stands else inferred(before, kept, seed)
    comparisons = tuple(_judged(before, kept, subject, stands))
    if not stands:
        remarks += marked_capacitor(kept, measured, subject.motor)
        remarks += judgment.overload(known.band("power_shaft_w"), subject.power)
        remarks += _unexplained(known)
    return Verified(
        job, measured, subject, before, known, comparisons, (*odd, *questioned), tuple(remarks),
        kept, inputs,
    )  # fmt: skip


def _odd_lines(moments, subject: Subject) -> list[Questioned]:
    ends = subject.voltage_low, subject.voltage_high
    found = (question_line(number, one.voltage, *ends) for number, one in enumerate(moments))
    return [one for one in found if one is not None]


def _odd_weather(moments) -> list[Questioned]:
    found = (
        question_outdoor(number, one.outdoor_temperature) for number, one in enumerate(moments)
    )
    return [one for one in found if one is not None]


def _is_odd(one: MeterReading, odd) -> bool:
    return any((one.moment, one.name) == (other.moment, other.name) for other in odd)


def _judged(before: Simulated, kept, subject: Subject, stands: bool):
    """Every comparison that can be made; what a motor at rest shows is compared with the
    nameplate's volts only."""
    for one in kept:
        if one.name == "voltage":
            yield judgment.volts(one, subject.voltage_low, subject.voltage_high)
        elif not stands:
            yield judgment.against_expected(before, one)
            yield from _plate_limits(one, subject)


def _plate_limits(one: MeterReading, subject: Subject):
    motor = subject.motor
    if one.name == "current" and subject.current is not None:
        yield judgment.amps(one, subject.current)
    if one.name == "motor_air_temperature" and motor.ambient is not None:
        yield judgment.air(one, motor.ambient)
    if one.name == "winding_temperature" and motor.insulation_class is not None:
        yield judgment.winding(one, winding_limit(motor.insulation_class))


def _unexplained(known: Inferred) -> list[Remark]:
    if known.is_explained:
        return []
    return [Remark("together", OPEN, Message("verify.seen.unexplained"))]


def _finding(known: Inferred, fault) -> FaultChance:
    chance, likelier = known.chance(fault.key), known.against_expected(fault.key)
    state = SUSPECTED if chance >= LIKELY and known.is_explained else OPEN
    if chance <= UNLIKELY and chance < fault.prior / 3:
        state = RULED_OUT
    likelier = float(np.clip(likelier, 1e-6, 1e6))
    return FaultChance(fault.key, chance, fault.prior, likelier, state)
