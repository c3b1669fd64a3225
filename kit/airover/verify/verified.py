"""A motor that was put in, verified: readings against what was expected of it and what its plate
allows, what they tell of shaft power, speed, airflow and winding, which fault they point to, and
what to read next.

Never that a unit is safe: a figure that agrees only says that nothing was seen in it.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from importlib import import_module
from typing import NamedTuple

import numpy as np

from airover.answer import CAUTIONS
from airover.bands import Band
from airover.choose.load import winding_limit
from airover.errors import InputError
from airover.motor.conditions import Input
from airover.physics.operating_point import settle as plain_settle
from airover.records import Job, Measurements, Moment
from airover.scope import check_scope
from airover.verify import judged
from airover.verify.faults import FAULTS, HEALTHY
from airover.verify.inferred import Inferred, Taken, inferred
from airover.verify.judged import AGREES, DIFFERS, OPEN, Judged, Remark
from airover.verify.moments import asked_at, inputs_of, volts_at
from airover.verify.next_reading import LEAST, SETTLED, Next, next_readings, open_bits
from airover.verify.plausible import Questioned, question, question_line, question_outdoor
from airover.verify.readings import READINGS, Simulated, simulated
from airover.verify.subject import Subject, subject_of
from airover.verify.taken import marked_capacitor, read_figures, seen, winding_figure

DRAWS = 200
LIKELY, UNLIKELY = 0.90, 0.05  # chances from which a fault is told, and ruled out
EXPECTED_FROM = 0.80  # chance of "as expected" from which readings are said to agree
SUSPECTED, RULED_OUT = "likely", "no sign of it"


class Finding(NamedTuple):
    """A fault by its ``key``: its ``chance`` after the readings and ``before`` them, how many times
    ``likelier`` they are with it than without, its ``state`` (SUSPECTED, RULED_OUT or OPEN), its
    ``name`` and what to ``look`` at."""

    key: str
    chance: float
    before: float
    likelier: float
    state: str
    name: str
    look: str


@dataclass(frozen=True)
class Verified:
    """A ``job`` and what was ``measured``, judged.

    ``judged`` are the comparisons, ``questioned`` the readings left out, ``known`` what is inferred
    from the rest (None where the motor stands), ``before`` what was expected, ``remarks`` are on
    what was seen and worked out. ``system`` "US" or "SI" is that of the texts.
    """

    job: Job
    measured: Measurements
    subject: Subject
    before: Simulated
    known: Inferred | None
    judged: tuple[Judged, ...]
    questioned: tuple[Questioned, ...]
    remarks: tuple[Remark, ...]
    taken: tuple[Taken, ...]
    inputs: tuple[Input, ...]
    system: str

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
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
        """Whether every comparison agrees and a fault is still less likely than none."""
        expected = any(one.against == "expected" for one in self.judged)
        agree = all(one.state == AGREES for one in self.judged)
        return expected and agree and self.is_explained and self.chance_expected > 0.5

    @property
    def _is_clear(self) -> bool:
        # how near a capacitor is to its tolerance is weighed with the faults already
        seen_open = any(one.state == OPEN and one.topic != "capacitor" for one in self.remarks)
        return self.chance_expected >= EXPECTED_FROM and not seen_open and self.is_explained

    @property
    def verdict(self) -> str:
        """The answer in one sentence."""
        rest = "Without the readings that are questioned, " if self.questioned else ""
        if self.state == AGREES:
            return _begun(f"{rest}what was read agrees with what was expected of this motor.")
        if self.state == OPEN:
            further = "read those again" if self.questioned else "read more"
            if self.agrees_so_far:
                said = "what was read agrees with what was expected of this motor, but it is too "
                said += "little to rule out a fault"
            else:
                said = "it cannot be told yet whether this motor runs as expected"
            return _begun(f"{rest}{said}: {further}.")
        said = {one.topic: one.sentence for one in self.remarks if one.state == DIFFERS}
        first = said.get("start") or said.get("rotation")
        if first is None and not self._names_a_fault and not self._off:
            first = next(iter(said.values()))
        if first is not None:
            return f"It differs from what was expected: {first}"
        return _begun(f"{rest}it differs from what was expected: {self._difference}.")

    @property
    def is_explained(self) -> bool:
        """False where no fault, nor none, gives these readings together: then one is wrong, or
        something else is the matter."""
        return self.known is None or self.known.is_explained

    @property
    def _off(self) -> list[str]:
        off = [READINGS[one.name].words for one in self.judged if one.state == DIFFERS]
        return list(dict.fromkeys(off))

    @property
    def _names_a_fault(self) -> bool:
        return self.is_explained and self.findings[0].chance > max(self.chance_expected, 0.5)

    @property
    def _difference(self) -> str:
        words = ", ".join(self._off)
        if self._names_a_fault:
            leading = self.findings[0]
            named = f"likeliest is {leading.name} ({percent(leading.chance)})"
            return f"{words}; {named}" if words else named
        if self.chance_expected >= EXPECTED_FROM:
            return f"{words}; the rest goes with a motor as expected, so read that again"
        return f"{words}; no one fault that is looked for explains it"

    @cached_property
    def bands(self) -> dict[str, Band]:
        """What is inferred, by name and unit, at the first reading."""
        figures = () if self.known is None else self.known.simulated.figures
        return {name: self.known.band(name) for name in figures}

    @cached_property
    def bands_before(self) -> dict[str, Band]:
        """The same as it was expected before the readings."""
        runs = self.before.runs[0]
        return {
            name: Band(*map(float, Band.of(values[0, 0, runs])))
            for name, values in self.before.figures.items()
        }

    @cached_property
    def next(self) -> tuple[Next, ...]:
        """What to read next, the most useful first; a motor that stands is looked at instead."""
        if self.known is None:
            return ()
        done = {one.name for one in self.taken if one.moment == 0}
        return next_readings(self.known, tuple(done))

    @property
    def open_bits(self) -> float:
        """Uncertainty [bit] that is left about which fault it is, if any."""
        return 0.0 if self.known is None else open_bits(self.known)

    @property
    def next_sentence(self) -> str:
        """The most useful next reading with its number; before it, what a likely fault asks for."""
        if not self.next:
            return "First find out why it stands."
        closed = self.open_bits < SETTLED or self.next[0].bits < LEAST
        aim = "to narrow the shaft power" if closed else "to tell what is wrong, if anything"
        first = self.findings[0]
        look = f"Look first: {_small(first.look)} " if first.state == SUSPECTED else ""
        return f"{look}Read next, {aim}: {_small(self.next[0].sentence(closed))}"

    @property
    def assumed(self) -> tuple[Input, ...]:
        """What was taken for granted, accuracies of the meters that were used among it."""
        used = {READINGS[one.name].meter for one in self.taken}
        meters = self.measured.meters
        why = "not stated; a usual class, no source"
        of_meters = (
            Input(f"accuracy of {name}", getattr(meters, name).text, "assumed", why)
            for name in meters.assumed
            if name in used
        )
        return (*(one for one in self.inputs if one.origin == "assumed"), *of_meters)

    @property
    def cautions(self) -> tuple[str, ...]:
        return (*CAUTIONS, LIVE, NEVER_SAFE)

    def to_dict(self) -> dict:
        """The answer as JSON takes it: SI numbers, bands as low, mid, high."""
        writer = import_module("airover.texts").Writer("en", self.system)
        return {
            "job": {"name": self.job.name, "invented": self.job.invented},
            "state": self.state,
            "verdict": self.verdict,
            "readings": [_plain(one._asdict()) for one in self.judged],
            "questioned": [
                {**_plain(one._asdict()), "sentence": one.sentence} for one in self.questioned
            ],
            "remarks": [_plain(one._asdict()) for one in self.remarks],
            "inferred": {name: _plain(band._asdict()) for name, band in self.bands.items()},
            "expected": {name: _plain(band._asdict()) for name, band in self.bands_before.items()},
            "chance_as_expected": _number(self.chance_expected),
            "explained": self.is_explained,
            "faults": [_plain(one._asdict()) for one in self.findings],
            "open_bits": _number(self.open_bits),
            "next": [{**_plain(one._asdict()), "how": one.how} for one in self.next],
            "next_sentence": self.next_sentence,
            "assumed": [one.to_dict(writer) for one in self.assumed],
            "cautions": list(self.cautions),
        }


LIVE = "Measuring on live parts is for persons who are licensed and equipped for it."
NEVER_SAFE = "No figure here says that a unit is safe: it says what was seen in the readings, only."


def percent(chance: float) -> str:
    """A chance in words; never none and never all.

    >>> percent(0.934), percent(0.9999)
    ('93 %', 'above 99 %')
    """
    if chance > 0.99:
        return "above 99 %"
    return "below 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


@dataclass(frozen=True)
class Expectation:
    """What is expected before a meter is read: of ``subject`` on the blade and air of ``job``.

    ``odd`` readings are left out of it, ``measured`` tells what was seen and which meters are used.
    """

    job: Job
    measured: Measurements
    subject: Subject
    before: Simulated
    odd: tuple[Questioned, ...]
    inputs: tuple[Input, ...]
    system: str


def verify(
    job: Job, measured: Measurements, motors=(), system="US", draws=DRAWS, seed=0,
    settle=plain_settle,
) -> Verified:  # fmt: skip
    """Judge what was ``measured`` on the new motor of ``job``.

    ``motors`` are those of a catalogue, among which ``measured.motor`` names one; without it the
    motor is that of the job's plate. ``settle`` as in `motor.one.Motor`. Raises InputError for a
    job that is not covered, an unknown motor, and measurements without a reading.
    """
    check_scope(job)
    if not measured.reading and measured.start is None and measured.rotation is None:
        raise InputError("reading", "nothing", "at least one figure in a table [[reading]]")
    subject = subject_of(job, measured, motors, draws, seed)
    subject = subject._replace(motor=replace(subject.motor, settle=settle))
    moments = measured.reading or (Moment(),)
    odd = (*_odd_lines(moments, subject), *_odd_weather(moments))
    taken = [one for one in read_figures(moments, measured.meters) if not _is_odd(one, odd)]
    taken += winding_figure(measured, len(moments) - 1)
    asked = asked_at(job, moments, odd, draws, seed, system)
    line = [volts_at(number, taken, one) for number, one in enumerate(asked)]
    before = simulated(subject.motor, asked, line, seed)
    inputs = inputs_of(asked[0], moments[0], odd, system)
    return judge(Expectation(job, measured, subject, before, odd, inputs, system), taken, seed)


def judge(expectation: Expectation, taken, seed=0) -> Verified:
    """The readings ``taken`` beside their ``expectation``."""
    job, measured, subject, before, odd, inputs, system = vars(expectation).values()
    remarks, stands = seen(job, measured, subject.rotation, before, taken)
    kept, questioned = (tuple(taken), ()) if stands else question(before, taken)
    known = None if stands else inferred(before, kept, seed)
    comparisons = tuple(_judged(before, kept, subject, stands, system))
    if not stands:
        remarks += marked_capacitor(kept, measured, subject.motor)
        remarks += judged.overload(known.band("power_shaft_w"), subject.power, system)
        remarks += _unexplained(known)
    return Verified(
        job, measured, subject, before, known, comparisons, (*odd, *questioned), tuple(remarks),
        kept, inputs, system,
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


def _is_odd(one: Taken, odd) -> bool:
    return any((one.moment, one.name) == (other.moment, other.name) for other in odd)


def _judged(before: Simulated, kept, subject: Subject, stands: bool, system: str):
    """Every comparison that can be made; what a motor at rest shows is compared with the plate's
    volts only."""
    for one in kept:
        if one.name == "voltage":
            yield judged.volts(one, subject.voltage_low, subject.voltage_high)
        elif not stands:
            yield judged.against_expected(before, one, system)
            yield from _plate_limits(one, subject, system)


def _plate_limits(one: Taken, subject: Subject, system: str):
    motor = subject.motor
    if one.name == "current" and subject.current is not None:
        yield judged.amps(one, subject.current)
    if one.name == "motor_air_temperature" and motor.ambient is not None:
        yield judged.air(one, motor.ambient, system)
    if one.name == "winding_temperature" and motor.insulation_class is not None:
        yield judged.winding(one, winding_limit(motor.insulation_class), system)


def _unexplained(known: Inferred) -> list[Remark]:
    if known.is_explained:
        return []
    said = (
        "the readings do not go together under any fault that is looked for: read them again at "
        "one moment, or look for another motor, blade or line than they are taken to be."
    )
    return [Remark("together", OPEN, said)]


def _finding(known: Inferred, fault) -> Finding:
    chance, likelier = known.chance(fault.key), known.against_expected(fault.key)
    state = SUSPECTED if chance >= LIKELY and known.is_explained else OPEN
    if chance <= UNLIKELY and chance < fault.prior / 3:
        state = RULED_OUT
    likelier = float(np.clip(likelier, 1e-6, 1e6))
    return Finding(fault.key, chance, fault.prior, likelier, state, fault.name, fault.look)


def _begun(sentence: str) -> str:
    return sentence[0].upper() + sentence[1:]


def _small(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


def _number(value: float) -> float:
    """Six significant digits; a plain error if a figure is not finite."""
    if not np.isfinite(value):
        raise ArithmeticError("a figure of the answer is not finite")
    return float(f"{value:.6g}")


def _plain(facts: dict) -> dict:
    """The ``facts`` as JSON takes them; moments are counted from 1, as people count readings."""
    plain = {
        name: _number(value) if isinstance(value, float) else value for name, value in facts.items()
    }
    return {**plain, "moment": plain["moment"] + 1} if "moment" in plain else plain
