"""Verify a new motor by comparing its readings with expected values and nameplate limits.

Each reading is converted to a value with the error limit of its meter. The motor is taken from a
catalog or identified from the nameplate of the job. It is simulated with the fan, air temperature
and supply voltage at the time of each reading.

The result never says that a unit is safe. Agreement means only that no fault was detected. A fault
is named only if its probability is at least 90 %.

The accuracy was tested with independent synthetic motors that have a different thermal model and
different meter errors (tests/service/test_verify.py). In these tests, a fault counts as detectable
if an error-free value is outside the range of 99 % of good motors, or outside the nameplate limit,
by more than the error limit of the meter. Of 600 faulty motors with seven readings, 345 have a
detectable fault, and 99.7 % of these are reported as different. A fault is named for 175 motors,
and it is correct for all of them. Of all faulty motors, 77 % are reported as different and 12 % as
agreeing; most of the latter have a fan load that is 25 % too high. Of the good motors, 1 % are
reported as different and 27 % need another reading (90 % with only volts and amps, 60 % with watts
and rpm as well). The 90 % range contains the true shaft power in 89 % of the cases, the true
winding temperature in 90 % and the true speed in 94 %. No real motor has been measured.
"""

import difflib
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from airover.core.errors import NOTHING, InputError
from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word
from airover.core.units import quoted
from airover.model.conditions import OUTDOOR_TEMPERATURE, Input, completed, site_conditions
from airover.model.heat_study import winding_by_resistance
from airover.model.motor import Motor
from airover.physics import circuit
from airover.physics.heat import SwitchOff, at_switch_off
from airover.physics.operating_point import settle as plain_settle
from airover.records.catalog import CatalogMotor
from airover.records.job import Job, Site
from airover.records.nameplate import CLOCKWISE, COUNTERCLOCKWISE
from airover.records.readings import Measurements, ReadingMoment, last_place
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
    within,
)
from airover.service.readings import (
    FAULTS,
    FLOW_NOW,
    HEALTHY,
    HEAT_NOW,
    READINGS,
    Simulated,
    reading_name,
    simulated,
)

SAMPLES = 200
LIKELY, UNLIKELY = 0.90, 0.05  # probabilities at which a fault is reported or ruled out
EXPECTED_FROM = 0.80  # minimum probability of "as expected" for agreement
SUSPECTED, RULED_OUT = "likely", "no sign of it"
COOL_DAY = 15.0  # degC, lowest outdoor temperature assumed if none was read
LEAST_DEVIATION = 0.012  # minimum spread of the simulated supply, fraction of the voltage
# Observations that the simulation does not use
NOTHING_SEEN = {
    "start": None, "rotation": None, "rotation_seen_from": None, "capacitor_tolerance": None,
}  # fmt: skip


FEWEST_FOR_A_CURVE = 4
STANDS_BELOW = 0.05  # fraction of the expected speed; a slower motor counts as being at rest
LOCKED_WIDER = 0.15  # fraction by which locked-rotor limits are widened (engineering judgment)


class Subject(NamedTuple):
    """Measured ``motor`` with its nameplate data.

    Attributes
    ----------
    current : float or None
        Full-load current [A], or None if unknown.
    power : float or None
        Rated shaft power [W], or None if unknown.
    voltage_low, voltage_high : float
        Nameplate voltage range [V].
    rotation : str or None
        Rotation as seen from the shaft end, or None if unknown.
    """

    motor: Motor
    current: float | None
    power: float | None
    voltage_low: float
    voltage_high: float
    rotation: str | None


def subject_of(job: Job, measured: Measurements, motors, samples: int, seed: int) -> Subject:
    """Return the motor in ``motors`` named in ``measured``, or the motor on the job's nameplate.

    Parameters
    ----------
    samples : int
        Number of Monte Carlo samples.

    Raises
    ------
    InputError
        If the name or rating is unknown.
    """
    if not measured.motor:
        plate = completed(job)
        power, current = (None if a is None else a.mid for a in (plate.power, plate.current))
        motor = Motor.from_nameplate(plate, samples, seed)
        ends = plate.voltage.low, plate.voltage.high
        return Subject(motor, current, power, *ends, plate.rotation_shaft_end)
    row = _named(measured.motor, motors)
    power = row.ratings[-1] if measured.rating is None else measured.rating.mid
    near = [number for number, one in enumerate(row.ratings) if abs(one / power - 1) < 0.02]
    if not near:
        accepted = [Quantity(one, "power") for one in row.ratings]
        raise InputError("rating", measured.rating.text, accepted)
    motor = Motor.from_catalog(row, samples, seed)
    current, power = row.currents[near[0]], row.ratings[near[0]]
    return Subject(motor, current, power, row.voltage_low, row.voltage_high, None)


def asked_at(job: Job, moments, odd, samples: int, seed: int) -> list:
    """Return the fan and air conditions at each moment for the measured outdoor temperature.

    A temperature that is listed in ``odd`` (the Questioned readings) is treated as missing.

    Raises
    ------
    InputError
        If an input is invalid.
    """
    weather = []
    for number, moment in enumerate(moments):
        is_odd = any((number, "outdoor_temperature") == (one.moment, one.name) for one in odd)
        read = None if is_odd else moment.outdoor_temperature
        weather.append(_weather(job.site, read))
    found = {
        text: site_conditions(_in(job, text), samples, seed) for text in dict.fromkeys(weather)
    }
    return [found[text] for text in weather]


def inputs_of(asked, moment: ReadingMoment, odd) -> tuple[Input, ...]:
    """Return the inputs for the first set of readings. Values that were not read are assumed."""
    inputs = list(asked.inputs)
    is_odd = any((0, "outdoor_temperature") == (one.moment, one.name) for one in odd)
    if moment.outdoor_temperature is None or is_odd:
        ends = (float(reduce(asked.temp_outdoor)) for reduce in (np.min, np.mean, np.max))
        temps = Quantity(Band(*ends), "air_temperature")
        weather = Input("outdoor temperature", temps, "assumed", Message("verify.input.not_read"))
        inputs = [weather if one.name == weather.name else one for one in inputs]
    heat, flow = Quantity(HEAT_NOW, "share"), Quantity(FLOW_NOW, "share")
    shares = Message("verify.input.now_value", heat=heat, flow=flow)
    why = Message("verify.input.now_why")
    return (*inputs, Input("heat and airflow at the moment", shares, "assumed", why))


def volts_at(number: int, taken, asked) -> tuple[float, float]:
    """Return the supply voltage [V] at a moment and its standard deviation [V].

    If the voltage was not read, both values come from the voltage range of the job.
    """
    for one in taken:
        if (one.moment, one.name) == (number, "voltage"):
            return one.value, max(1.5 * one.deviation, LEAST_DEVIATION * one.value)
    low, usual, high = map(float, asked.voltage)
    return usual, max((high - low) / 3.3, LEAST_DEVIATION * usual)


def read_figures(moments, meters) -> list[MeterReading]:
    """Return every reading in ``moments`` with the error limit of its meter."""
    found = []
    for number, moment in enumerate(moments):
        for name, shown in READINGS.items():
            amount = getattr(moment, name, None)
            if amount is not None:
                limit = getattr(meters, shown.meter).limit(amount)
                limit = max(limit, last_place(amount) / 2)  # resolution of the value as typed
                found.append(MeterReading(number, name, amount.mid, limit, amount))
    return found


def winding_figure(measured: Measurements, moment: int) -> list[MeterReading]:
    """Return the main winding temperature [degC] from its cold and hot resistance, if read.

    If there are too few hot readings for a cooling curve, the first one is taken as the reading at
    shutdown, so the temperature is slightly too low.

    Raises
    ------
    InputError
        If the resistances are inconsistent with a winding that is cooling down.
    """
    ohms = measured.winding
    if not ohms.is_complete:
        return []
    hot, meter = ohms.hot_resistance, measured.meters.resistance
    noise = (meter.digits * last_place(hot[0]) + meter.least) / np.sqrt(3.0)
    if len(hot) >= FEWEST_FOR_A_CURVE:
        times = [one.mid for one in ohms.time_off]
        off = at_switch_off(times, [one.mid for one in hot], meter=noise)
    else:
        off = SwitchOff(hot[0].mid, noise, np.inf, hot[0].mid, False)
    cold = ohms.cold_resistance.mid, ohms.cold_temperature.mid
    temp, deviation = winding_by_resistance(*cold, off)
    hot_ohms = Quantity(off.resistance_hot, "resistance")
    text = Message("verify.input.resistances", hot=hot_ohms, cold=ohms.cold_resistance)
    return [MeterReading(moment, "winding_temperature", temp, deviation * np.sqrt(3.0), text)]


def seen(job: Job, measured: Measurements, sense, before: Simulated, taken):
    """Return remarks about starting and rotation, and a flag that is True if the motor is at rest.

    Parameters
    ----------
    sense
        Motor rotation as seen from the shaft end, used if the fan rotation is unknown.
    """
    remarks = []
    if measured.start not in (None, "by itself"):
        remarks.append(Remark("start", DIFFERS, Message(f"verify.seen.{measured.start}")))
    remarks += _direction(measured, job.blade.rotation_shaft_end or sense)
    at_rest = measured.start in ("hums, won't start", "dead")
    if not at_rest and (why := _standing(measured, before, taken)):
        remarks.append(Remark("start", DIFFERS, why))
        at_rest = True
    return remarks, at_rest


def marked_capacitor(kept, measured: Measurements, motor: Motor) -> list[Remark]:
    """Return a remark that compares the capacitance from amps and volts with the nameplate."""
    found = {(one.moment, one.name): one for one in kept}
    for moment in sorted({one.moment for one in kept}):
        pair = [found.get((moment, name)) for name in ("capacitor_current", "capacitor_voltage")]
        if None not in pair:
            return [_microfarads(*pair, measured, motor)]
    return []


def _weather(site: Site, read) -> str:
    """Return the outdoor temperature as read, or an assumed range if it was not read."""
    if read is not None:
        return read.text
    design = site.outdoor_temperature
    hottest = OUTDOOR_TEMPERATURE[1] if design is None else design.high
    return f"{min(COOL_DAY, hottest):.1f} degC to {hottest:.1f} degC"


def _in(job: Job, weather: str) -> Job:
    facts = {**dict(job.site), "outdoor_temperature": weather, "outdoor_temperature_min": None}
    return job.model_copy(update={"site": Site(**facts)})


def _named(name: str, motors) -> CatalogMotor:
    by_name = {row.name.lower(): row for row in motors}
    if name.lower() not in by_name:
        near = difflib.get_close_matches(name.lower(), by_name, n=1)
        accepted = Message("verify.error.motor")
        if near:
            accepted = Message("verify.error.motor_such_as", name=quoted(by_name[near[0]].name))
        raise InputError("motor", quoted(name), accepted)
    return by_name[name.lower()]


def _direction(measured: Measurements, wanted: str | None):
    if measured.rotation is None:
        return
    turns = measured.rotation_shaft_end
    if turns is None:
        state, said = OPEN, Message("verify.seen.turns_unseen")
    elif wanted not in (CLOCKWISE, COUNTERCLOCKWISE):
        state, said = OPEN, Message("verify.seen.turns_unknown")
    elif turns == wanted:
        state, said = AGREES, Message("verify.seen.turns_right", sense=Word(turns))
    else:
        senses = {"sense": Word(turns), "wanted": Word(wanted)}
        state, said = DIFFERS, Message("verify.seen.turns_wrong", **senses)
    yield Remark("rotation", state, said)


def _standing(measured: Measurements, before: Simulated, taken) -> Message | None:
    """Return a message if the readings show that the motor is at rest, otherwise None."""
    first = {one.name: one for one in taken if one.moment == 0}
    turning = np.median(before.readings["speed_rpm"][0, 0])
    if speed := first.get("speed_rpm"):
        at_rest = speed.value < STANDS_BELOW * turning
        return Message("verify.seen.stands_by_speed", speed=speed.text) if at_rest else None
    locked = [first[name] for name in ("current", "power") if name in first]
    if not locked or measured.start == "by itself" or "capacitor_voltage" in first:
        return None
    for one in locked:
        low, _, high = before.locked[one.name]
        if not low * (1 - LOCKED_WIDER) <= one.value <= high * (1 + LOCKED_WIDER):
            return None
        if one.value < np.quantile(before.readings[one.name][0, :, :][before.runs], 0.99):
            return None
    if len(locked) == 1:
        return Message("verify.seen.stands", first=locked[0].text)
    return Message("verify.seen.stands_both", first=locked[0].text, second=locked[1].text)


def _microfarads(
    amps: MeterReading, volts: MeterReading, measured: Measurements, motor: Motor
) -> Remark:
    """Compare the capacitance I / (2 pi f V) with the required value and its tolerance.

    A value within the tolerance agrees, because the difference between a good capacitor and its
    tolerance limit is rarely larger than the meter error. A value outside the tolerance differs
    only if the meter error cannot explain it.
    """
    right = float(np.median(motor.rated.circuit.capacitance))
    value = float(circuit.capacitance(amps.value, volts.value, motor.frequency))
    limit = value * float(np.hypot(amps.limit / amps.value, volts.limit / volts.value))
    marked = measured.capacitor_tolerance
    tolerance = circuit.TOLERANCES[0] if marked is None else marked.high
    ends = (1 - tolerance) * right, (1 + tolerance) * right
    state = AGREES if ends[0] <= value <= ends[1] else within(value, limit, *ends)
    key = "microfarads_assumed" if marked is None else "microfarads_marked"
    sentence = Message(
        f"verify.seen.{key}",
        amps=amps.text,
        volts=volts.text,
        value=Quantity(value, "capacitance", 2),
        span=Quantity(Band(value - limit, value, value + limit), "capacitance", 2),
        right=Quantity(right, "capacitance"),
        tolerance=Quantity(tolerance, "share"),
    )
    return Remark("capacitor", state, sentence)


class FaultChance(NamedTuple):
    """Probability of a fault.

    Attributes
    ----------
    key : str
        Key of the fault.
    chance, before : float
        Probability of the fault after and before the readings.
    likelier : float
        Likelihood ratio (Bayes factor) of the readings with vs. without the fault.
    state : str
        State of the fault: SUSPECTED, RULED_OUT or OPEN.
    """

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
        """Inspection advice for the fault."""
        return Message(f"verify.look.{self.key}")


@dataclass(frozen=True)
class Verified:
    """Verification result for a ``job`` from the readings in ``measured``.

    Attributes
    ----------
    before : Simulated
        Expected motor before any readings.
    known : Inferred or None
        Motor and faults inferred from the accepted readings, or None if the motor is at rest.
    judged : tuple[JudgedReading, ...]
        Comparisons of readings with their limits.
    questioned : tuple[Questioned, ...]
        Readings that were excluded.
    remarks : tuple[Remark, ...]
        Remarks about observations and calculated results.
    taken : tuple[MeterReading, ...]
        Readings that were accepted.
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
        """All faults, most likely first, or an empty tuple if the motor is at rest."""
        if self.known is None:
            return ()
        found = [_finding(self.known, fault) for fault in FAULTS]
        return tuple(sorted(found, key=lambda one: -one.chance))

    @property
    def chance_expected(self) -> float:
        """Probability that no modeled fault is present, or 0 if the motor is at rest."""
        return 0.0 if self.known is None else self.known.chance(HEALTHY)

    @cached_property
    def state(self) -> str:
        """Overall result: AGREES, DIFFERS or OPEN."""
        states = [*(one.state for one in self.judged), *(one.state for one in self.remarks)]
        if DIFFERS in states or any(one.state == SUSPECTED for one in self.findings):
            return DIFFERS
        plate_open = any(one.state == OPEN for one in self.judged if one.against == "plate")
        expected = any(one.against == "expected" for one in self.judged)
        return AGREES if self._is_clear and expected and not plate_open else OPEN

    @property
    def agrees_so_far(self) -> bool:
        """True if all comparisons agree and the probability of no fault exceeds 50 %."""
        expected = any(one.against == "expected" for one in self.judged)
        agree = all(one.state == AGREES for one in self.judged)
        return expected and agree and self.is_explained and self.chance_expected > 0.5

    @property
    def _is_clear(self) -> bool:
        # The fault probabilities already allow for a capacitor near its tolerance limit.
        seen_open = any(one.state == OPEN and one.topic != "capacitor" for one in self.remarks)
        return self.chance_expected >= EXPECTED_FROM and not seen_open and self.is_explained

    @property
    def verdict(self) -> Message:
        """Verdict as a single sentence."""
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
        """True if the expected motor or a fault is consistent with all readings.

        If False, a reading is wrong or the motor has a fault that is not modeled.
        """
        return self.known is None or self.known.is_explained

    @property
    def _names_a_fault(self) -> bool:
        return self.is_explained and self.findings[0].chance > max(self.chance_expected, 0.5)

    @cached_property
    def bands(self) -> dict[str, Band]:
        """90 % ranges of the inferred quantities at the first reading, by name."""
        figures = () if self.known is None else self.known.simulated.figures
        return {name: self.known.band(name) for name in figures}

    @cached_property
    def bands_before(self) -> dict[str, Band]:
        """Expected 90 % ranges of the inferred quantities before the readings, by name."""
        runs = self.before.runs[0]
        return {name: Band.of(values[0, 0, runs]) for name, values in self.before.figures.items()}

    @cached_property
    def next(self) -> tuple[NextReading, ...]:
        """Recommended next readings, most useful first, or none for a motor at rest."""
        if self.known is None:
            return ()
        done = {one.name for one in self.taken if one.moment == 0}
        return next_readings(self.known, tuple(done))

    @property
    def open_bits(self) -> float:
        """Remaining uncertainty about the fault [bit]."""
        return 0.0 if self.known is None else open_bits(self.known)

    @property
    def next_sentences(self) -> list[Message]:
        """Advice about a likely fault, followed by the most useful next reading and its benefit."""
        if not self.next:
            return [Message("verify.next.stands")]
        closed = self.open_bits < SETTLED or self.next[0].bits < LEAST
        first, reading = self.findings[0], self.next[0].sentence(closed)
        return [first.look, reading] if first.state == SUSPECTED else [reading]

    @property
    def assumed(self) -> tuple[Input, ...]:
        """Assumed inputs, including the assumed accuracy of the meters."""
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
    """Format a probability for display, but never as 0 or 100 %."""
    if chance > 0.99:
        return Message("verify.above", value=Quantity(0.99, "share"))
    if chance < 0.01:
        return Message("verify.below", value=Quantity(0.01, "share"))
    return Quantity(chance, "share")


@dataclass(frozen=True)
class Expectation:
    """Expected behavior of ``subject`` with the fan and air of ``job``, before the readings.

    Attributes
    ----------
    measured : Measurements
        Readings, observations and meters used.
    before : Simulated
        Expected motor before any readings.
    odd : tuple[Questioned, ...]
        Questioned readings that were excluded.
    inputs : tuple[Input, ...]
        Inputs of the first readings.
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
    """Evaluate the readings in ``measured`` on the new motor of ``job``.

    Parameters
    ----------
    motors : optional
        Catalog that contains ``measured.motor``. If no name is given, the motor is identified from
        the job's nameplate.
    settle : optional
        Function that finds the operating point, as in `model.motor.Motor`.

    Raises
    ------
    InputError
        If the job is outside the scope of the method, if the motor is unknown, or if there is no
        reading.
    """
    check_scope(job)
    if not measured.reading and measured.start is None and measured.rotation is None:
        raise InputError("reading", NOTHING, Message("verify.error.no_reading"))
    figures = measured.model_copy(update=NOTHING_SEEN)
    expectation, taken = _expected(job, figures, tuple(motors), samples, seed, settle)
    return judge(replace(expectation, measured=measured), taken, seed)


@lru_cache(maxsize=4)
def _expected(job: Job, measured: Measurements, motors, samples: int, seed: int, settle):
    """Return the Expectation and the readings taken, which do not depend on what was seen."""
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
    return Expectation(job, measured, subject, before, odd, inputs), tuple(taken)


def judge(expectation: Expectation, taken, seed=0) -> Verified:
    """Compare the readings ``taken`` with the ``expectation``."""
    job, measured, subject, before, odd, inputs = vars(expectation).values()
    remarks, at_rest = seen(job, measured, subject.rotation, before, taken)
    kept, questioned = (tuple(taken), ()) if at_rest else question(before, taken)
    known = None if at_rest else inferred(before, kept, seed)
    comparisons = tuple(_judged(before, kept, subject, at_rest))
    if not at_rest:
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


def _judged(before: Simulated, kept, subject: Subject, at_rest: bool):
    """Yield every possible comparison, or only the voltage if the motor is at rest."""
    for one in kept:
        if one.name == "voltage":
            yield judgment.volts(one, subject.voltage_low, subject.voltage_high)
        elif not at_rest:
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
