"""Write step-by-step work orders for installing a motor, with the values for the job.

The steps and their order are common practice (no source). Local codes, including licensing
requirements, and the manufacturers' instructions take precedence over the work order. Amps, watts,
volts and ohms are 90 % ranges from the simulation of the design day. Ranges for a cool day are not
available. Resistances are given at the average temperature of both windings. Where a value is
unknown, the order has a blank for a measurement. The text consists of messages with keys under
``order``.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word
from airover.model.bearing_duty import POSITION
from airover.model.bearing_life import motor_suits
from airover.model.conditions import voltage_limits
from airover.model.expected import OVER_PLATE
from airover.model.simulation import HIGH, LOW, USUAL
from airover.physics import heat, unbalance
from airover.records.catalog import CatalogMotor
from airover.records.causes import Causes
from airover.records.found import Found
from airover.records.job import Job, Ticks
from airover.records.nameplate import LEAD_END, REVERSIBLE, SHAFT_END, RunCapacitor, from_shaft_end
from airover.selection.answer import CAUTIONS, Answer
from airover.selection.check import ADAPT, MISSING, PASS
from airover.selection.comparison import winding_limit
from airover.selection.rules import Candidate, Case
from airover.service.cause import Why, cause
from airover.service.warranty import Cover, cover

# modifications described in later steps
WITH_A_STEP = (
    "capacitor", "capacitor voltage", "rotation", "frame", "shaft length", "body length",
    "mounting",
)  # fmt: skip
# readings taken on a running motor; they have no blank before installation
SHOWN_RUNNING = (
    "winding temperature", "running amps", "starting on low voltage", "shaft power",
)  # fmt: skip
BALANCE = (6.3, 16.0)  # mm/s, ISO 21940-11 balance quality grades for a good fan and a worn fan
LOW_END = {"up": LEAD_END, "down": SHAFT_END}
OTHER_END = {LEAD_END: SHAFT_END, SHAFT_END: LEAD_END}
SAME_BODY = 0.003  # m, maximum difference in diameter for the same belly band
STANDARD_VOLTS = (370.0, 440.0)  # run capacitors sold in the US, common practice, no source
TEMP_COLD = 25.0  # degC, reference temperature for the resistance of a warm winding


ORDER_CAUTIONS = (*CAUTIONS, Message("safety.dual_capacitor"))


class Blank(NamedTuple):
    """Quantity to measure and write down.

    Attributes
    ----------
    what : Message
        Name of the quantity.
    unit : str
        Unit displayed by the meter.
    expected : Message or Quantity or Word or str or None
        Expected value, or None if unknown.
    """

    what: Message
    unit: str = ""
    expected: Message | Quantity | Word | str | None = None


class Step(NamedTuple):
    """Step of a work order.

    Attributes
    ----------
    key : str
        Name of the step in the job's completion record.
    why : Message
        Reason for the step.
    do : tuple[Message, ...]
        Instructions for the step.
    write : tuple[Blank, ...]
        Blanks to fill in during the step.
    done : date or None
        Date of completion, or None.
    """

    key: str
    title: Message
    why: Message
    do: tuple[Message, ...]
    write: tuple[Blank, ...] = ()
    done: date | None = None


@dataclass(frozen=True)
class OrderFacts:
    """Data on which the steps are based.

    Attributes
    ----------
    candidate : Candidate
        Selected motor in ``answer``.
    cover : Cover
        Warranty coverage of the selected motor.
    why : Why or None
        Causes of the old motor's failure, or None if there are no findings.
    """

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
    def motor(self) -> CatalogMotor:
        return self.case.motor

    @property
    def position(self) -> str | None:
        """Shaft position of the new motor."""
        return self.job.nameplate.shaft_position

    @property
    def supply(self) -> Band:
        """Supply voltage [V] for which the motor is rated, with its tolerance."""
        low, high = voltage_limits(self.motor.voltage_low, self.motor.voltage_high)
        return Band(low, (low + high) / 2, high)

    @property
    def most_amps(self) -> float:
        """Current [A] above which the motor must be shut off."""
        return OVER_PLATE * self.case.rated_current

    @cached_property
    def to_adapt(self) -> frozenset[str]:
        """Names of the checks that the motor passes only after a modification."""
        return frozenset(check.name for check in self.candidate.having(ADAPT))

    @property
    def capacitor_volts(self) -> float | None:
        """Minimum rated voltage [V] of the new run capacitor, or None if unknown."""
        if "capacitor voltage" not in self.to_adapt:
            return self.motor.capacitor_voltage
        across = self.case.band("capacitor_v").mid
        least = across / (1 + self.job.limits.values.capacitor_voltage)
        return next((one for one in STANDARD_VOLTS if one >= least), least)

    @property
    def capacitor(self) -> Message:
        """Run capacitor to install, such as "7.5 uF, 370 V or higher"."""
        known = {
            "size": _amount(self.motor.capacitor, "capacitance"),
            "volts": _amount(self.capacitor_volts, "voltage"),
        }
        key = "_and_".join(name for name, value in known.items() if value) or "unknown"
        return Message(f"order.capacitor.needed.{key}", **known)

    @property
    def rotation(self) -> str | None:
        """Required rotation viewed from the shaft end, or None if unknown."""
        plate, blade = self.job.nameplate, self.job.blade
        needed = blade.rotation_shaft_end or plate.rotation_shaft_end
        return None if needed == REVERSIBLE else needed

    @property
    def mountings(self) -> tuple[str, ...]:
        """Mounting method, or all of the motor's mounting methods if the old one is unknown."""
        held, offered = self.job.nameplate.mounting, self.motor.mounting
        if held in offered:
            return (held,)
        return ("belly band",) if held and "belly band" in offered else tuple(offered)


@dataclass(frozen=True)
class WorkOrder(OrderFacts):
    """Work order with its data, its ``steps``, and their completion dates (``ticks``)."""

    ticks: Ticks

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        return tuple(step._replace(done=getattr(self.ticks, step.key)) for step in steps(self))

    @property
    def done(self) -> int:
        """Number of completed steps."""
        return sum(step.done is not None for step in self.steps)

    def with_ticks(self, ticks: Ticks) -> "WorkOrder":
        """Return the same order with the completion dates in ``ticks``."""
        return replace(self, ticks=ticks)


def work_order(answer: Answer, name: str | None = None, causes: Causes | None = None) -> WorkOrder:
    """Return the work order for a motor in ``answer``.

    Parameters
    ----------
    name : str or None, optional
        Name or model of the motor, or None for the best motor.
    causes : Causes or None, optional
        Causes of failure, as in `cause`.

    Raises
    ------
    InputError
        If the name is not in the answer, or if the motor does not fit.
    """
    if not answer.fitting:
        accepted = Message("order.error.some_fit", verdict=answer.verdict)
        raise InputError("catalog", Message("order.error.none_fits"), accepted)
    candidate = answer.fitting[0] if name is None else answer.named(name)
    job = answer.job
    why = None if job.found == Found() else cause(job, causes)
    return WorkOrder(answer, candidate, cover(candidate.case.motor, job.dates), why, job.ticks)


def steps(facts: OrderFacts) -> tuple[Step, ...]:
    """Return all steps in order of execution, without completion dates."""
    return tuple(make(facts) for make in _STEPS)


def _step(key: str, do, write=(), title: Message | None = None, why: Message | None = None) -> Step:
    """Return a step with the default title and reason, unless ``title`` or ``why`` is given."""
    title = title or Message(f"order.{key}.title")
    why = why or Message(f"order.{key}.why")
    return Step(key, title, why, tuple(do), tuple(write))


# Steps before the new motor is installed


def _isolation(facts: OrderFacts) -> Step:
    volts = Quantity(facts.case.conditions.voltage[HIGH], "voltage")
    left = Blank(Message("order.isolation.left"), "V", Quantity(0.0, "voltage"))
    do = (
        Message("order.isolation.secure"),
        Message("order.isolation.lock"),
        Message("order.isolation.prove", volts=volts),
    )
    return _step("isolation", do, [left])


def _discharge(facts: OrderFacts) -> Step:
    marked, measured = facts.job.nameplate.capacitor, facts.job.found.capacitor
    if marked is not None and marked.is_dual:
        fan, compressor = _sections(marked)
        told = Message("order.discharge.dual", marked=marked.text, fan=fan, compressor=compressor)
        blanks = [
            Blank(Message("order.discharge.old_fan"), "uF", _as_marked(fan)),
            Blank(Message("order.discharge.old_herm"), "uF", _as_marked(compressor)),
        ]
    else:
        told = Message("order.discharge.maybe_dual")
        blanks = [
            Blank(Message("order.discharge.old"), "uF", marked and _as_marked(marked.text)),
            Blank(Message("order.discharge.herm"), "uF"),
        ]
    do = [Message("order.discharge.bridge"), told, Message("order.discharge.measure")]
    if measured is not None:
        do.append(Message("order.discharge.measured", value=measured.text))
    return _step("discharge", do, blanks)


def _amount(value: float | None, kind: str) -> Quantity | None:
    return None if value is None else Quantity(value, kind)


def _sections(dual: RunCapacitor) -> tuple[Quantity, Quantity]:
    """Return the capacitances of the fan motor section and the compressor section."""
    return Quantity(dual.mid, "capacitance"), Quantity(dual.compressor, "capacitance")


def _as_marked(value) -> Message:
    return Message("order.as_marked", value=value)


def _record(facts: OrderFacts) -> Step:
    missing = facts.candidate.having(MISSING)
    others = [one for one in facts.candidate.having(ADAPT) if one.name not in WITH_A_STEP]
    do = [Message("order.record.photograph"), *(one.why for one in (*missing, *others))]
    lines = [
        Blank(Message(f"check.{one.name}")) for one in missing if one.name not in SHOWN_RUNNING
    ]
    if missing:
        return _step("record", do, lines, why=Message("order.record.why_missing"))
    return _step("record", [*do, Message("order.record.nothing_missing")])


def _cause(facts: OrderFacts) -> Step:
    air, rating = facts.answer.needed["temp_at_motor_c"], facts.motor.ambient_rating
    key = "air" if rating is None else "air_and_rating"
    hot = Message(
        f"order.cause.{key}",
        air=Quantity(air.mid, "air_temperature"),
        range=Quantity(air, "air_temperature"),
        rating=_amount(rating, "air_temperature"),
    )
    if facts.why is None:
        looked_at = ("winding", "winding_to_shell", "shaft", "inside")
        lines = [Blank(Message(f"order.cause.old_{name}")) for name in looked_at]
        return _step("cause", [Message("order.cause.look"), hot], lines)
    corrections = (
        Message("order.cause.correct", cause=one.cause.name, correct=sentence)
        for one in facts.why.worth_correcting
        for sentence in one.cause.correct
    )
    return _step("cause", [facts.why.verdict, *corrections, hot])


def _blade_height(facts: OrderFacts) -> Step:
    height = facts.job.blade.height_in_orifice
    do, expected = [Message("order.blade_height.measure")], None
    if height is not None:
        do.append(Message("order.blade_height.by_the_job", height=height))
        expected = Message("order.blade_height.expected", height=height)
    return _step("blade_height", do, [Blank(Message("order.blade_height.height"), "", expected)])


def _blade(facts: OrderFacts) -> Step:
    blade, rpm, seen = facts.job.blade, facts.case.speed_rpm.mid, facts.job.found.blade
    mass = Band.of(facts.case.conditions.blade_mass).mid
    good, tired = (
        Quantity(float(unbalance.force(mass, grade, rpm)), "force", 1) for grade in BALANCE
    )
    why = Message(
        "order.blade.why",
        rpm=Quantity(rpm, "speed"), mass=Quantity(mass, "mass"), good=good, tired=tired,
    )  # fmt: skip
    known = [blade.diameter] if blade.diameter else []
    known += [Message("order.blade.blades", count=blade.blades)] if blade.blades else []
    key = "flat_known" if known else "flat"
    do = [Message(f"order.blade.{key}", known=known), Message("order.blade.balance")]
    if seen not in (None, "good"):
        do = [Message(f"found.blade.{seen}"), Message("order.blade.replace"), *do]
    return _step("blade", do, why=why)


def _hub(facts: OrderFacts) -> Step:
    bore = facts.job.blade.bore or facts.job.nameplate.shaft_diameter
    new = facts.motor.shaft_diameter
    sizes, lines = [], []
    if bore is None:
        lines.append(Blank(Message("order.hub.bore_line")))
    else:
        sizes.append(Message("order.hub.bore", bore=bore))
    if new is None:
        lines.append(Blank(Message("order.hub.shaft_line")))
    else:
        sizes.append(Message("order.hub.shaft", shaft=Quantity(new, "shaft_diameter")))
    fit = Message("order.hub.fit", sizes=sizes) if sizes else Message("order.hub.fit_unknown")
    return _step("hub", [fit, Message("order.hub.screw")], lines)


# Steps for installing the new motor


def _shaft(facts: OrderFacts) -> Step:
    check = facts.candidate.check("shaft length")
    new, old = facts.motor.shaft_length, facts.job.nameplate.shaft_length
    if check.state == ADAPT:
        cut, long = Quantity(new - old.mid, "shaft_length"), Quantity(new, "shaft_length")
        do = (
            Message("order.shaft.hold", new=long, old=old, cut=cut),
            Message("order.shaft.cut"),
            Message("order.shaft.not_returned"),
        )
        title = Message("order.shaft.title_cut", cut=cut)
        return _step("shaft", do, [Blank(Message("order.shaft.cut_line"), "", cut)], title)
    if check.state == PASS:
        return _step("shaft", [Message("order.shaft.no_cut"), check.why])
    do = [Message("order.shaft.measure")]
    if new is not None:
        do.insert(0, Message("order.shaft.new", new=Quantity(new, "shaft_length")))
    lines = (Blank(Message("order.shaft.old_line")), Blank(Message("order.shaft.new_line")))
    return _step("shaft", do, lines)


def _mounting(facts: OrderFacts) -> Step:
    held, ways = facts.job.nameplate.mounting, facts.mountings
    lines = () if held else (Blank(Message("order.mounting.held_line")),)
    closed = (facts.motor.enclosure or "").startswith("totally enclosed")
    own = {"belly band": "order.mounting.closed_band"} if closed else {}
    do = [Message(own.get(way, f"order.mounting.by.{way}")) for way in ways]
    do = do or [Message("order.mounting.unknown")]
    checks = map(facts.candidate.check, ("mounting", "frame", "body length"))
    do += [check.why for check in checks if check.state == ADAPT]
    do += _other_body(facts)
    do += [_bearings(facts), Message("order.mounting.turn")]
    title = Message("order.mounting.title_by", way=Word(ways[0])) if held and ways else None
    why = Message("order.mounting.why_closed") if closed else None
    return _step("mounting", do, lines, title, why)


def _other_body(facts: OrderFacts) -> Iterator[Message]:
    new, old = facts.motor.body_diameter, facts.job.nameplate.body_diameter
    if new is not None and old is not None and abs(new - old.mid) > SAME_BODY:
        yield Message("order.mounting.body", new=Quantity(new, "body_diameter"), old=old)


def _bearings(facts: OrderFacts) -> Message:
    """Return the verdict on the bearings of the motor at this shaft position and temperature."""
    found = motor_suits(facts.case.simulation, facts.case.row)
    if found is None:
        return Message("order.mounting.bearings_unknown")
    key = "bearings" if facts.position else "bearings_assumed"
    position = Word(facts.position or POSITION)
    return Message(f"order.mounting.{key}", position=position, verdict=found.sentence)


def _rotation(facts: OrderFacts) -> Step:
    needed, has = facts.rotation, facts.motor.rotation_shaft_end
    if needed is None:
        typed = facts.job.blade.rotation or facts.job.nameplate.rotation
        do = [Message("order.rotation.look")]
        do += [Message("order.rotation.one_end_unknown", sense=Word(typed))] if typed else []
        lines = [Blank(Message(f"order.rotation.{name}")) for name in ("turns", "seen_from")]
        return _step("rotation", do, lines)
    senses = {"sense": Word(needed), "from_lead_end": Word(from_shaft_end(needed, LEAD_END))}
    key = "unlisted" if has is None else "plug" if has == REVERSIBLE else "fixed"
    do = (Message("order.rotation.needed", **senses), Message(f"order.rotation.{key}"))
    return _step("rotation", do, title=Message("order.rotation.title_known", **senses))


def _drains(facts: OrderFacts) -> Step:
    has, low = facts.motor.drain_plugs, LOW_END.get(facts.position)
    if facts.position == "horizontal":
        title = Message("order.drains.title_level")
        return _step("drains", [Message("order.drains.level")], title=title)
    if low is None:
        lines = [Blank(Message(f"order.drains.{name}")) for name in ("position", "taken_out")]
        return _step("drains", [Message("order.drains.low_end")], lines)
    end, other = Word(low), Word(OTHER_END[low])
    do = [Message("order.drains.take_out", position=Word(facts.position), end=end)]
    if has in (None, "both ends"):
        do.append(Message("order.drains.stays", end=other))
    if has is None:
        do.append(Message("order.drains.unlisted"))
    return _step("drains", do, title=Message("order.drains.title_known", end=end))


def _slinger(facts: OrderFacts) -> Step:
    ways = [facts.position] if facts.position else list(LOW_END)
    ways += facts.job.site.exposure
    return _step("slinger", [Message(f"order.slinger.{one}") for one in ways])


# Steps for running the new motor


def _leads(facts: OrderFacts) -> Step:
    names = ["cold", "diagram", "four", "three", "route"]
    do = [Message(f"order.leads.{name}") for name in names]
    if len(facts.motor.ratings) > 1:
        rating = Quantity(facts.case.rating, "power")
        ratings = [Quantity(watts, "power") for watts in facts.motor.ratings]
        amps = Quantity(facts.case.rated_current, "current")
        do[4:4] = (
            Message("order.leads.ratings", ratings=ratings, rating=rating),
            Message("order.leads.mark", motor=facts.motor.name, rating=rating, amps=amps),
        )
    lines = (Blank(Message("order.leads.cold_line"), "ohm"), Blank(Message("order.leads.temp")))
    return _step("leads", do, lines)


def _capacitor(facts: OrderFacts) -> Step:
    across, needed, title = facts.case.band("capacitor_v"), facts.capacitor, None
    size = _amount(facts.motor.capacitor, "capacitance")
    if size:
        title = Message("order.capacitor.title_known", needed=needed)
    lines = [Blank(Message("order.capacitor.measured"), "uF", size and _as_marked(size))]
    if None in (size, facts.capacitor_volts):
        lines.append(Blank(Message("order.capacitor.required")))
    key = "why_above" if across.low > facts.motor.voltage_high else "why"
    why = Message(
        f"order.capacitor.{key}",
        volts=Quantity(across.mid, "voltage"), range=Quantity(across, "voltage"),
    )  # fmt: skip
    do = (*_which_capacitor(facts, size, needed), Message("order.capacitor.measure"))
    return _step("capacitor", do, lines, title, why)


def _which_capacitor(
    facts: OrderFacts, size: Quantity | None, needed: Message
) -> Iterator[Message]:
    """Yield fan motor capacitor instructions that leave the compressor section unchanged."""
    old, new = facts.job.nameplate.capacitor, facts.motor.capacitor
    if old is None or not old.is_dual:
        yield Message("order.capacitor.fit", needed=needed)
        if old is not None:
            yield Message("order.capacitor.old", marked=old.text)
        yield Message("order.capacitor.if_dual")
    else:
        fan, compressor = _sections(old)
        same = facts.job.limits.values.capacitance
        alike = new is not None and abs(new / old.mid - 1) <= same
        key = "separate" if new is None else "same" if alike else "other"
        yield Message("order.capacitor.dual", marked=old.text)
        yield Message(
            f"order.capacitor.{key}", needed=needed, size=size, fan=fan, compressor=compressor
        )
        yield Message("order.capacitor.keep")
    yield Message("order.capacitor.never_parallel")


def _guard(facts: OrderFacts) -> Step:
    return _step("guard", [Message("order.guard.turn"), Message("order.guard.close")])


def _first_start(facts: OrderFacts) -> Step:
    case, supply, most = facts.case, Quantity(facts.supply, "voltage"), facts.most_amps
    expected = {}
    for name, at in (("low", LOW), ("usual", USUAL), ("high", HIGH)):
        expected[f"{name}_amps"] = Quantity(case.band("current_a", at), "current")
        expected[f"{name}_volts"] = Quantity(case.conditions.voltage[at], "voltage")
    stop = Message(
        "order.first_start.stop_some" if case.current.high > most else "order.first_start.stop",
        most=Quantity(most, "current"),
        rated=Quantity(case.rated_current, "current"),
        over=Quantity(OVER_PLATE - 1, "percent"),
    )
    do = (
        Message("order.first_start.supply", supply=supply),
        Message("order.first_start.expect", **expected),
        Message("order.first_start.look"),
        stop,
    )
    turns = facts.rotation and Word(facts.rotation)
    lines = (
        Blank(Message("order.volts"), "V", supply),
        Blank(Message("order.amps"), "A", Quantity(case.current, "current")),
        Blank(Message("order.first_start.turns"), "", turns),
        Blank(Message("order.first_start.vibration"), "", Message("order.first_start.quiet")),
    )
    return _step("first_start", do, lines)


def _warm(facts: OrderFacts) -> Step:
    case, motor = facts.case, facts.motor
    across = case.band("capacitor_v")
    lines = [
        Blank(Message("order.volts"), "V"),
        Blank(Message("order.amps"), "A", Quantity(case.current, "current")),
        Blank(Message("order.warm.watts"), "W", Quantity(case.band("power_in_w"), "watts")),
        Blank(Message("order.warm.speed"), "rpm", Quantity(case.speed_rpm, "speed")),
        Blank(Message("order.warm.across"), "V", Quantity(across, "voltage")),
    ]
    if motor.capacitor is not None:
        carried = across.scaled(2 * np.pi * case.conditions.frequency * motor.capacitor)
        lines.append(Blank(Message("order.warm.carried"), "A", Quantity(carried, "current")))
    air = Quantity(facts.answer.needed["temp_at_motor_c"], "air_temperature")
    factor = Band(*(float(heat.resistance_factor(temp, TEMP_COLD)) for temp in case.winding))
    lines += [
        Blank(Message("order.warm.air"), "", Message("order.warm.design_day", air=air)),
        Blank(Message("order.warm.ratio"), "", Quantity(factor, "times")),
    ]
    cold = Quantity(TEMP_COLD, "air_temperature")
    do = [Message("order.warm.again"), Message("order.warm.ohms", cold=cold)]
    if motor.insulation_class is not None:
        limit = winding_limit(motor.insulation_class)
        ratio = Quantity(float(heat.resistance_factor(limit, TEMP_COLD)), "times")
        limit = Quantity(limit, "temperature")
        letter = motor.insulation_class
        do.append(Message("order.warm.hottest", letter=letter, limit=limit, ratio=ratio))
    return _step("warm", [*do, Message("order.warm.outside")], lines)


def _handover(facts: OrderFacts) -> Step:
    dates = facts.job.dates
    days = {"made": dates.manufactured, "installed": dates.installed}
    do = [Message(f"order.handover.{key}", day=day.text) for key, day in days.items() if day]
    do += [*facts.cover.messages, Message("order.handover.leave")]
    names = ("made_line", "installed_line", "serial", "by")
    return _step("handover", do, [Blank(Message(f"order.handover.{name}")) for name in names])


_STEPS = (
    _isolation, _discharge, _record, _cause, _blade_height, _blade, _hub, _shaft, _mounting,
    _rotation, _drains, _slinger, _leads, _capacitor, _guard, _first_start, _warm, _handover,
)  # fmt: skip
