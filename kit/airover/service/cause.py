"""Estimate the cause of the old motor's failure from findings and simulations by Bayes' rule.

The model assumes that a single cause started the failure and that the findings are independent
given the cause (naive Bayes). It does not include combined causes or correlated findings, so the
result appears more certain than it really is. The prior probability of each cause and the
likelihood of each finding are based on engineering judgment and are stored in a file that users can
edit.

The 90 % range of a probability allows for each value in the file to be off by a factor of 2. Causes
that share a default row share its error. A cause is clear if its range lies above the ranges of all
other causes. The range is displayed only for a clear cause. The capacitor is evaluated by comparing
its reading with its marking, not by simulation, because a simulated motor can still start with a
capacitor that would be too weak in practice. The recommended next inspection is the one expected to
provide the most information about the leading causes.

The failed motor is simulated in steady state on the design day with its own fan, air temperature
and supply voltage, at the less favorable end of the logged voltage range. A sample fails if the
winding exceeds its class temperature, the air exceeds the ambient rating on the nameplate, or the
motor does not come up to speed. The simulation is repeated with only the voltage corrected (to the
nearest nameplate voltage) and with only the air temperature corrected (to the ambient rating) to
determine which of the two is responsible. The probability of a state is the fraction of samples in
that state. Fan torque decreases as the fan slows down, so low voltage heats a fan motor less than
is commonly assumed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache, reduce
from typing import NamedTuple

import numpy as np

from airover.core.errors import NOTHING, InputError
from airover.core.files import data_folder
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.units import Amount
from airover.model.conditions import completed, site_conditions, voltage_limits
from airover.model.motor import Load, Motor, Run
from airover.model.simulation import SAMPLES, SLIP_RUNNING
from airover.physics.operating_point import BREAKAWAY
from airover.records.causes import (
    AS_RATED,
    DEAD,
    FAR_BELOW,
    HIGH_AMPS,
    HIGH_VOLTS,
    IN_RANGE,
    LOW_AMPS,
    LOW_VOLTS,
    STATES,
    TOO_LARGE,
    WEAK,
    WITHIN_TOLERANCE,
    Cause,
    Causes,
    read_causes,
)
from airover.records.found import DEAD_BELOW, Found
from airover.records.job import Job
from airover.records.scope import check_scope
from airover.selection.comparison import winding_limit

AGES = (36.0, 120.0)  # months, limits between the age groups
# Fractions of the marked capacitance (common practice, no source). A marked tolerance is used
# instead of TOLERANCE.
TOLERANCE, FAR, GONE = 0.10, 0.70, 0.10
AMPS_TOLERANCE = 0.10  # fraction of the full-load amps, common practice, no source
SEEN = (
    "winding", "bearings", "inside", "drain_plugs", "slinger", "start", "trips", "blade", "coil",
    "leads", "supply", "rotation",
)  # fmt: skip
SIMULATED = ("voltage", "capacitor")  # findings that the simulation of the old motor uses
FACTOR = 2.0  # 90 % range of priors and likelihoods, engineering judgment
_SPREAD = np.log(FACTOR) / 1.6449  # 5th and 95th percentiles are 1 / FACTOR and FACTOR
RANGE_SAMPLES = 2000  # samples of the values in the file for the 90 % ranges
WORTH = 0.10  # probability at or above which a cause is worth correcting
CLEAR, LIKELY, OPEN = "clear", "likely", "open"  # degree of certainty of the result
AHEAD = 2.0  # minimum ratio of the highest probability to the next for a cause to be "likely"
BESIDE, LEAST, MOST_LEADERS = 0.35, 0.05, 4  # fraction of the highest, minimum probability, count
SURE = 0.8  # probability of a clear cause above which no other cause is listed
TELLS = 0.02  # bits, minimum for a finding that helps to distinguish the leading causes
SPEAKS = 1.5  # probability ratio at which a finding supports a cause
SLOW = 0.05  # fraction of samples at which "did not come up to speed" is reported
STARTS = 0.5  # fraction of samples that start with the correct capacitor
NO_CAPACITANCE = 1e-9  # F, for an open capacitor


class Evidence(NamedTuple):
    """Observed or simulated finding.

    Attributes
    ----------
    shares : ndarray
        Probability of each state of the finding. The probabilities sum to 1.
    said : tuple[Message, ...]
        Messages that describe the finding.
    seen : bool
        True for an observed finding, False for a simulated finding.
    """

    finding: str
    shares: np.ndarray
    said: tuple[Message, ...]
    seen: bool


@dataclass(frozen=True)
class OldMotor:
    """Failed ``motor`` of a ``job`` with its fan ``load``.

    Attributes
    ----------
    limit : float or None
        Limit of the average winding temperature for the insulation class [degC], or None if the
        class is unreadable.
    """

    job: Job
    motor: Motor
    load: Load
    limit: float | None

    @property
    def log(self) -> Amount | None:
        """Supply voltage from the voltage log, or as measured at the site."""
        return self.job.found.voltage or self.job.site.voltage


def old_motor(job: Job, samples: int = SAMPLES, seed: int = 0) -> OldMotor:
    """Return the failed motor of ``job``, identified from its nameplate.

    Raises
    ------
    InputError
        If the job is outside the scope of the method, or if the nameplate is incomplete or
        inconsistent.
    """
    check_scope(job)
    asked = site_conditions(job, samples, seed)
    insulating = job.nameplate.insulation_class
    limit = None if insulating is None else winding_limit(insulating)
    motor = Motor.from_nameplate(completed(job), samples, seed)
    return OldMotor(job, motor, Load.of(asked), limit)


def physical_evidence(old: OldMotor) -> tuple[Evidence, ...]:
    """Return the evidence from the simulated winding temperature or from air temperature alone."""
    found = _heat(old) or _air(old)
    return () if found is None else (found,)


def capacitor_effect(old: OldMotor) -> Message | None:
    """Return a message about the old motor with its measured capacitor, or None if unknown."""
    measured, marked = old.job.found.capacitor, old.job.nameplate.capacitor
    if measured is None or marked is None:
        return None
    share = max(measured.mid, NO_CAPACITANCE) / marked.mid
    volts = old.motor.voltage if old.log is None else old.log.mid
    changed = old.motor.with_capacitor(share * old.motor.rated.circuit.capacitance)
    run, right = (one.run(old.load, volts) for one in (changed, old.motor))
    starts, started = (float(_runs(one).mean()) for one in (run, right))
    at = Quantity(volts, "voltage")
    if starts < STARTS * started:
        return Message("failure.said.not_reliably", volts=at)
    hotter = Band.of(run.warm.temp_winding - right.warm.temp_winding).first().mid
    key = "hotter" if hotter > 0 else "cooler"
    return Message(f"failure.said.{key}", volts=at, rise=_degrees(hotter))


def _heat(old: OldMotor) -> Evidence | None:
    """Return the winding temperature evidence at the less favorable logged voltage limit.

    A sample is over its limit if the winding exceeds its class temperature, the air exceeds the
    nameplate's ambient rating, or the motor does not come up to speed. The simulation is repeated
    with the nearest nameplate voltage, and with air no hotter than the ambient rating, to determine
    whether either correction is sufficient. Returns None if a required value is unknown.
    """
    plate, log = old.job.nameplate, old.log
    if None in (old.limit, log, plate.voltage, plate.ambient_rating):
        return None
    logged = np.array([log.low, log.high])
    right = np.clip(logged, plate.voltage.low, plate.voltage.high)
    run = old.motor.run(old.load, np.append(logged, right))
    worse = int(np.argmax(np.median(run.warm.temp_winding[:2], axis=1)))
    put_right = run.part(slice(worse + 2, worse + 3))
    run = run.part(slice(worse, worse + 1))
    cool = np.minimum(old.load.air.temp_air, plate.ambient_rating.mid)
    in_right_air = old.load._replace(air=old.load.air._replace(temp_air=cool))
    shares = _blamed(
        as_it_was=_over(old, run),
        right_volts=_over(old, put_right),
        right_air=_over(old, old.motor.run(in_right_air, run.voltage)),
        low=bool(logged[worse] < right[worse]),
    )
    return Evidence("heat", shares, _heat_said(old, run, put_right), seen=False)


def _over(old: OldMotor, run: Run) -> np.ndarray:
    """Return True for the samples of a single-voltage run that exceed the limits of the motor."""
    hot = (run.warm.temp_winding > old.limit) | ~_runs(run)
    return hot[0] | (run.load.air.temp_air > old.job.nameplate.ambient_rating.high)


def _blamed(as_it_was, right_volts, right_air, low: bool) -> np.ndarray:
    """Return heat state probabilities from runs with the voltage or air temperature corrected."""
    by_volts = as_it_was & ~right_volts & right_air
    by_air = as_it_was & ~right_air & right_volts
    nothing = np.zeros_like(by_volts)
    by_low, by_high = (by_volts, nothing) if low else (nothing, by_volts)
    return _shares(~as_it_was, by_low, by_high, by_air, as_it_was & ~by_volts & ~by_air)


def _runs(run: Run) -> np.ndarray:
    return (run.starting() > BREAKAWAY) & (run.warm.slip < SLIP_RUNNING)


def _degrees(kelvin: float) -> Quantity:
    """Return the absolute value of a temperature difference in whole degrees."""
    return Quantity(abs(kelvin), "temperature_rise", 0)


def _heat_said(old: OldMotor, run: Run, put_right: Run) -> tuple[Message, ...]:
    excess = Band.of(run.warm.temp_winding - old.limit).first()
    key = "over" if excess.mid > 0 else "below"
    values = {
        "volts": Quantity(float(run.voltage[0]), "voltage"),
        "excess": _degrees(excess.mid),
        "limit": Quantity(old.limit, "temperature"),
        "letter": old.job.nameplate.insulation_class,
    }
    if excess.low < 0 < excess.high:  # the sign is uncertain, so the range is reported
        key += "_range"
        values |= {"low": _degrees(excess.low), "high": _degrees(excess.high)}
    said = [Message(f"failure.said.{key}", **values)]
    if put_right.voltage[0] != run.voltage[0]:
        eased = float(np.median(run.warm.temp_winding - put_right.warm.temp_winding))
        key = "eased_cooler" if eased > 0 else "eased_hotter"
        volts = Quantity(float(put_right.voltage[0]), "voltage")
        said.append(Message(f"failure.said.{key}", eased=_degrees(eased), volts=volts))
    slow = float(1 - _runs(run).mean())
    if slow >= SLOW:
        said.append(Message("failure.said.slow", share=Quantity(slow, "share")))
    return (*said, _air_said(old))


def _air(old: OldMotor) -> Evidence | None:
    rating = old.job.nameplate.ambient_rating
    if rating is None:
        return None
    air = np.asarray(old.load.air.temp_air)
    shares = _shares(air <= rating.mid, air > rating.mid)
    return Evidence("air", shares, (_air_said(old),), seen=False)


def _air_said(old: OldMotor) -> Message:
    air = float(np.median(old.load.air.temp_air))
    rated = old.job.nameplate.ambient_rating.mid
    found, allowed = (Quantity(temp, "air_temperature") for temp in (air, rated))
    return Message("failure.said.air", found=found, rated=allowed)


def _shares(*states: np.ndarray) -> np.ndarray:
    """Return the fraction of samples in each of ``states``."""
    return np.array([state.mean() for state in states])


class Likely(NamedTuple):
    """Cause of failure with its probability ``chance`` and the 90 % range ``band``."""

    cause: Cause
    chance: float
    band: Band


class OpenFinding(NamedTuple):
    """Finding that is still unknown, and how it would affect the leading causes.

    Attributes
    ----------
    ask : str or Message
        Inspection instructions.
    bits : float
        Expected information [bit]. One bit is enough to decide between two equally likely causes.
    speaks : tuple[tuple[str, Cause], ...]
        Pairs of a state and the leading cause that the state supports.
    """

    finding: str
    ask: str | Message
    bits: float
    speaks: tuple[tuple[str, Cause], ...]


@dataclass(frozen=True)
class Why:
    """Causes of a failure, most likely first, with the ``evidence`` used.

    Attributes
    ----------
    left_out : tuple[Message, ...]
        Messages about facts that were not used or could not be simulated.
    """

    job: Job
    causes: Causes
    evidence: tuple[Evidence, ...]
    left_out: tuple[Message, ...]
    likely: tuple[Likely, ...]

    @property
    def standing(self) -> str:
        """Certainty of the result: CLEAR, LIKELY or OPEN."""
        first, second = self.likely[:2]
        if first.band.low >= second.band.high:
            return CLEAR
        return LIKELY if first.chance >= AHEAD * second.chance else OPEN

    @property
    def leaders(self) -> tuple[Likely, ...]:
        """Most likely cause and any causes with a similar probability.

        The list contains at least two causes, unless the first cause is clear and has a probability
        of at least SURE.
        """
        first, second, *others = self.likely
        if self.standing == CLEAR and first.chance >= SURE:
            return (first,)
        least = max(LEAST, BESIDE * first.chance)
        near = [one for one in others[: MOST_LEADERS - 2] if one.chance >= least]
        return (first, second, *near)

    @property
    def verdict(self) -> Message:
        """Verdict as a single sentence."""
        names = [one.cause.name for one in self.leaders]
        if self.standing == CLEAR:
            chance = percent(self.likely[0].band)
            return Message("failure.verdict.clear", first=names[0], chance=chance)
        if self.standing == LIKELY:
            return Message("failure.verdict.likely", first=names[0], others=_row(names[1:]))
        return Message("failure.verdict.open", causes=_row(names))

    @property
    def worth_correcting(self) -> tuple[Likely, ...]:
        """Causes to correct before the new motor is started."""
        named = self.likely[:1] if self.standing == CLEAR else self.leaders
        return tuple(one for one in self.likely if one in named or one.chance >= WORTH)

    @cached_property
    def questions(self) -> tuple[OpenFinding, ...]:
        """Findings that would distinguish the leading causes, most informative first."""
        known = {one.finding for one in self.evidence}
        unmade = {key: one for key, one in self.causes.findings.items() if key not in known}
        open_ones = [one for one in unmade.values() if one.unless not in {*known, *unmade}]
        asked = (_question(self, finding) for finding in open_ones)
        return tuple(sorted(asked, key=lambda one: -one.bits))


def cause(job: Job, causes: Causes | None = None, seed: int = 0) -> Why:
    """Return the causes of failure from the findings on the old motor of ``job``.

    Parameters
    ----------
    causes : Causes or None, optional
        Table of causes, by default the file shipped with the kit.
    seed : int, optional
        Random seed.

    Raises
    ------
    InputError
        If there are no findings.
    """
    causes = read_causes(data_folder() / "causes.toml") if causes is None else causes
    if job.found == Found():
        raise InputError("found", NOTHING, Message("failure.nothing_found"))
    known, left_out = _evidence(job)
    named = {one.finding for one in known}
    weighed, aside = [], list(left_out)
    for one in known:
        finding = causes.findings.get(one.finding)
        if finding is None:
            lacking = {"said": one.said[0], "finding": one.finding}
            aside.append(Message("failure.aside.not_in_file", **lacking))
        elif finding.unless in named:
            twice = {"said": one.said[0], "other": Message(f"failure.finding.{finding.unless}")}
            aside.append(Message("failure.aside.said_twice", **twice))
        else:
            weighed.append(one)
    return Why(job, causes, tuple(weighed), tuple(aside), likely(causes, weighed, seed))


def likely(causes: Causes, evidence, seed: int = 0) -> tuple[Likely, ...]:
    """Return ``causes`` with their probabilities given the ``evidence``, most likely first.

    If only the probabilities of a finding's states are known, its likelihood is the mean over these
    states. The 90 % ranges are calculated from samples in which each value in the file is
    multiplied by an independent random factor.
    """
    known = np.array([likelihood(causes, one) for one in evidence]).reshape(-1, len(causes.prior))
    own = np.array([causes.findings[one.finding].own for one in evidence]).reshape(known.shape)
    of_prior, shared, of_each = _errors(*known.shape, seed)
    # All causes that share a value in the file also share its error.
    moved = known * np.where(own, of_each, shared)
    moved = posterior(causes.prior * of_prior, moved)
    chance, band = posterior(causes.prior, known), Band.of(moved, axis=0)
    found = [
        Likely(one, float(chance[at]), Band(*(float(ends[at]) for ends in band)))
        for at, one in enumerate(causes.causes)
    ]
    return tuple(sorted(found, key=lambda one: -one.chance))


def likelihood(causes: Causes, evidence: Evidence) -> np.ndarray:
    """Return the likelihood of the ``evidence`` for each of ``causes``, shape (causes,)."""
    return causes.findings[evidence.finding].table @ evidence.shares


def percent(band: Band) -> Message | Quantity:
    """Format the 90 % range of a probability for display, but never as 0 or 100 %."""
    low, high = round(100 * band.low), round(100 * band.high)
    if low >= 99:
        return Message("failure.chance.above", value=Quantity(0.98, "share"))
    if low < 1:
        return Message("failure.chance.most", value=Quantity(max(high, 1) / 100, "share"))
    return Quantity(Band(low / 100, band.mid, min(high, 99) / 100), "share")


def findings(job: Job) -> Iterator[Evidence]:
    """Yield the findings on the old motor of ``job`` and the facts from its nameplate."""
    found = job.found
    for name in SEEN:
        state = getattr(found, name)
        if state is not None:
            yield _in_state(name, state, True)
    yield from _capacitor(job)
    yield from _current(job)
    yield from _voltage(job)
    if found.age is not None:
        yield _age(job)
    if found.earlier_failures is not None:
        count = found.earlier_failures
        yield _in_state("earlier_failures", "one or more" if count else "none", True)
    for finding, state in (
        ("shaft_position", job.nameplate.shaft_position),
        ("bearing_kind", job.nameplate.bearings),
    ):
        if state is not None:
            yield _in_state(finding, state, False)


def unused(job: Job) -> Iterator[Message]:
    """Yield messages about readings in ``job`` that cannot be used without another value."""
    found, plate = job.found, job.nameplate
    measured, marked = found.capacitor, plate.capacitor
    if found.capacitor_fault is None and measured is not None and _capacitor_state(job) is None:
        if marked is None:
            yield Message("failure.aside.no_marking", text=measured)
        else:
            near = {"text": measured, "marked": marked.compressor_text}
            yield Message("failure.aside.near_compressor", **near)
    if found.current is not None and plate.current is None:
        yield Message("failure.aside.no_rated_amps", text=found.current)
    if measured is not None and measured.is_dual and marked is not None and marked.is_dual:
        share = measured.compressor / marked.compressor
        if share < 1 - TOLERANCE:
            weak = Quantity(measured.compressor, "capacitance")
            yield Message(
                "failure.aside.compressor_weak", found=weak, marked=marked.compressor_text
            )


def posterior(prior, likelihoods):
    """Return the probabilities of the causes given the findings, shape (..., causes).

    The findings are assumed to be independent given the cause (naive Bayes; Mitchell, Machine
    Learning, 1997, section 6.9).

    Parameters
    ----------
    prior
        Prior probabilities, shape (..., causes). They do not need to sum to 1.
    likelihoods
        Probability of each finding for each cause, shape (..., findings, causes).

    Raises
    ------
    ArithmeticError
        If no cause is consistent with the findings.
    """
    chances = np.asarray(prior) * np.prod(likelihoods, axis=-2)
    total = chances.sum(axis=-1, keepdims=True)
    if not np.all(total > 0):
        raise ArithmeticError("no cause can give all of these findings together")
    return chances / total


def entropy(chances):
    """Return the entropy [bit] of ``chances``, which must sum to 1 along the last axis."""
    chances = np.asarray(chances)
    return -np.sum(chances * np.log2(np.where(chances > 0, chances, 1.0)), axis=-1)


def information(chances, table):
    """Return the expected information [bit] about the cause from the answer to a question.

    The result is the information gain in Mitchell, Machine Learning, 1997, section 3.4.1.

    Parameters
    ----------
    chances
        Probability of each cause, shape (causes,). The probabilities sum to 1.
    table
        Probability of each answer for each cause, shape (causes, answers). Each row sums to 1.
    """
    joint = np.asarray(chances)[:, None] * np.asarray(table)
    of_answers = joint.sum(axis=0)
    seen = of_answers > 0
    left = entropy((joint[:, seen] / of_answers[seen]).T)
    return float(entropy(chances) - np.sum(of_answers[seen] * left))


def _capacitor_state(job: Job) -> str | None:
    """Return the state of the fan motor's capacitor from its reading, or None if unknown."""
    measured, marked = job.found.capacitor, job.nameplate.capacitor
    if measured.mid < DEAD_BELOW:
        return DEAD
    if marked is None:
        return None
    if marked.is_dual and not measured.is_dual:
        of_compressor = abs(measured.mid / marked.compressor - 1) < 1 - FAR
        if of_compressor and measured.mid > (1 + TOLERANCE) * marked.mid:
            return None
    share = measured.mid / marked.mid
    if share > 1 + TOLERANCE:
        return TOO_LARGE
    limits = ((1 - TOLERANCE, WITHIN_TOLERANCE), (FAR, WEAK), (GONE, FAR_BELOW))
    return next((state for least, state in limits if share >= least), DEAD)


def _capacitor(job: Job) -> Iterator[Evidence]:
    """Yield the evidence from the run capacitor reading or from an observed capacitor fault."""
    measured, marked = job.found.capacitor, job.nameplate.capacitor
    if job.found.capacitor_fault is not None:
        said = Message(f"failure.said.capacitor_{job.found.capacitor_fault}")
        yield _in_state("capacitor", DEAD, True, said)
        return
    state = None if measured is None else _capacitor_state(job)
    if state is None:
        return
    reading = Quantity(measured.mid, "capacitance") if measured.is_dual else measured
    values = {"reading": reading, "state": _state("capacitor", state)}
    key = "capacitor"
    if marked is not None:
        key = "capacitor_of_dual" if marked.is_dual else "capacitor_of"
        values |= {"marked": marked.fan_text, "share": Quantity(measured.mid / marked.mid, "share")}
    said = Message(f"failure.said.{key}", **values)
    yield _in_state("capacitor", state, True, said)


def _current(job: Job) -> Iterator[Evidence]:
    """Yield the evidence from the running amps and full-load amps, if both are known."""
    measured, rated = job.found.current, job.nameplate.current
    if measured is None or rated is None:
        return
    share = measured.mid / rated.mid
    state = HIGH_AMPS if share > 1 + AMPS_TOLERANCE else AS_RATED
    state = LOW_AMPS if share < 1 - 2 * AMPS_TOLERANCE else state
    said = Message("failure.said.current", text=measured, share=Quantity(share, "share"))
    yield _in_state("current", state, True, said)


def _voltage(job: Job) -> Iterator[Evidence]:
    """Yield the evidence from the logged or measured supply voltage.

    The normal range is the nameplate voltage +/-10 %.
    """
    log, rated = job.found.voltage or job.site.voltage, job.nameplate.voltage
    if log is None or rated is None:
        return
    low, high = voltage_limits(rated.low, rated.high)
    state = LOW_VOLTS if log.low < low else HIGH_VOLTS if log.high > high else IN_RANGE
    if log.low < low and log.high > high:  # report the limit that is exceeded by the larger amount
        state = LOW_VOLTS if low - log.low > log.high - high else HIGH_VOLTS
    span = Quantity(Band(low, (low + high) / 2, high), "voltage")
    said = Message("failure.said.voltage", text=log, span=span)
    yield _in_state("voltage", state, True, said)


def _in_state(finding: str, state: str, seen: bool, said: Message | None = None) -> Evidence:
    shares = np.array([float(state == one) for one in STATES[finding]])
    if said is None and state == "open winding":
        said = Message("failure.said.open_winding")
    elif said is None:
        name = Message(f"failure.finding.{finding}")
        said = Message("failure.said.seen", finding=name, state=_state(finding, state))
    return Evidence(finding, shares, (said,), seen)


def _state(finding: str, state: str) -> Message:
    return Message(f"failure.state.{finding}.{state}")


def _age(job: Job) -> Evidence:
    """Return the evidence from the motor's age."""
    age = job.found.age
    ends = np.clip([0.0, *AGES, np.inf], age.low, max(age.high, age.low))
    parts = np.diff(ends)
    if not age.is_range:
        parts = np.array([age.mid < AGES[0], AGES[0] <= age.mid < AGES[1], age.mid >= AGES[1]])
    said = Message("failure.said.age", text=age)
    return Evidence("age", parts / parts.sum(), (said,), True)


def _row(names) -> str | Message:
    """Return the names as a list, even if they contain commas."""
    return reduce(lambda row, name: Message("failure.row", row=row, name=name), names)


@lru_cache(maxsize=8)
def _errors(findings: int, causes: int, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return random factors for each cause, for each finding, and for each pair of both."""
    rng = np.random.default_rng(seed)
    shapes = (causes,), (findings, 1), (findings, causes)
    return tuple(_moved(rng, (RANGE_SAMPLES, *shape)) for shape in shapes)


def _moved(rng: np.random.Generator, shape) -> np.ndarray:
    """Return log-normal factors with a median of 1, 90 % of them within a factor of FACTOR."""
    return np.exp(_SPREAD * rng.standard_normal(shape))


def _evidence(job: Job) -> tuple[list[Evidence], list[Message]]:
    """Return the known evidence and the messages about unused facts."""
    known, aside = [*findings(job)], [*unused(job)]
    doubts = job.nameplate.warnings() if job.nameplate.doubts() else []
    try:
        found = {name: getattr(job.found, name) for name in SIMULATED}
        effect, physical = _simulated(
            job.model_copy(update={"found": Found().model_copy(update=found)})
        )
        known = [
            one._replace(said=(*one.said, effect))
            if effect and one.finding == "capacitor" and not one.shares[0]
            else one
            for one in known
        ]
        known += physical
    except InputError as error:
        aside += doubts or [Message("failure.aside.not_simulated", error=error)]
        return known, aside
    return known, aside + doubts


@lru_cache(maxsize=8)
def _simulated(job: Job) -> tuple[Message | None, tuple[Evidence, ...]]:
    """Return the effect of the old capacitor and the physical evidence, once for each ``job``."""
    old = old_motor(job)
    return capacitor_effect(old), physical_evidence(old)


def _question(why: Why, finding) -> OpenFinding:
    """Return the expected information from a ``finding`` and the cause that each state supports."""
    keys = [one.key for one in why.causes.causes]
    rows = finding.table[[keys.index(one.cause.key) for one in why.leaders]]
    chances = np.array([one.chance for one in why.leaders])
    bits = information(chances / chances.sum(), rows)
    speaks = [
        (state, why.leaders[int(np.argmax(column))].cause)
        for state, column in zip(finding.states, rows.T, strict=True)
        if column.max() >= SPEAKS * column.min()
    ]
    return OpenFinding(finding.key, finding.ask, bits, tuple(speaks))
