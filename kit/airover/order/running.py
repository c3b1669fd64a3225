"""The new motor under power: leads, capacitor, guard, first start, warm readings, warranty."""

import numpy as np

from airover.bands import Band
from airover.choose.check import ADAPT
from airover.choose.load import winding_limit
from airover.motor.supply import voltage_limits
from airover.motor.work import HIGH, LOW, USUAL
from airover.order.facts import Blank, Facts, Step
from airover.physics import heat
from airover.physics.capacitor import OVERVOLTAGE
from airover.records.rotation import REVERSIBLE

OVER_PLATE = 1.10  # amps at which it is stopped, common practice, no source
TEMP_COLD = 25.0  # degC, for which the ohms of a warm winding are told


def _leads(facts: Facts) -> Step:
    ratings = [facts.shown(watts, "power") for watts in facts.motor.ratings]
    do = [
        (
            "Read the ohms of the new winding cold, between its line leads with the capacitor's "
            "leads apart, and the air's temperature beside it."
        ),
        (
            "Connect as the new motor's own diagram says, not by the old colours: line leads to "
            "the contactor, ground to the shell, capacitor leads to the capacitor alone."
        ),
        (
            "Lead the cable in from below with a drip loop, tie it out of the blade's reach and "
            "off sharp edges and hot pipes; insulate each unused lead by itself."
        ),
    ]
    if len(ratings) > 1:
        told = f"Its ratings {', '.join(ratings)} need no choice at the leads: the blade sets the "
        do.insert(2, f"{told}load, here {facts.shown(facts.case.rating, 'power')}.")
    return Step(
        "leads",
        "Leads",
        "A lead in the blade, or water that runs along a lead, ends the job within a season. Ohms "
        "that are read cold now tell later how warm the winding gets.",
        tuple(do),
        (Blank("New winding, line leads, cold", "ohm"), Blank("At a temperature of")),
    )


def _capacitor(facts: Facts) -> Step:
    microfarads, volts = facts.motor.capacitor, facts.motor.capacitor_voltage
    across = facts.case.band("capacitor_v")
    if facts.check("capacitor voltage").state == ADAPT:
        volts = across.mid / OVERVOLTAGE
    size = "" if microfarads is None else f"{facts.shown(microfarads, 'capacitance')}"
    rated = "" if volts is None else f"{volts:.0f} V or more"
    old = facts.job.nameplate.capacitor
    compared = "" if old is None else f" The old one was marked {old.text}."
    marked = ", ".join(text for text in (size, rated) if text)
    blanks = [Blank("New capacitor, measured", "uF", size and f"{size} as marked")]
    if not (size and rated):
        blanks.append(Blank("Asked for on the new motor's plate", "uF and V"))
    return Step(
        "capacitor",
        f"New run capacitor: {marked}" if size else "New run capacitor, as the new plate says",
        "A weak or wrong capacitor heats the winding and keeps it from starting; the old one has "
        f"aged with the old motor. In running about {across.mid:.0f} V ({across.low:.0f} to "
        f"{across.high:.0f}) stand across it, more than the line has.",
        (
            (
                f"Fit a run capacitor of {marked or 'what the new plate says'}, no start capacitor "
                f"and not the old one.{compared} Measure it first."
            ),
            "Mark it with the motor's name and today's date; fix it upright, terminals covered.",
        ),
        tuple(blanks),
    )


def _guard(facts: Facts) -> Step:
    return Step(
        "guard",
        "Guard on before power",
        "The blade turns without warning once there is power.",
        (
            "Blade turned by hand: it clears orifice, leads, band and guard all the way round.",
            "Tools out, guard on with every screw, nobody at the blade; then unlock and switch on.",
        ),
    )


def _first_start(facts: Facts) -> Step:
    low, high = voltage_limits(facts.motor.voltage_low, facts.motor.voltage_high)
    rated, needed = facts.case.rated_current, facts.check("rotation").limit
    amps = "; ".join(facts.amps(at) for at in (LOW, USUAL, HIGH))
    turns = needed if needed not in (None, REVERSIBLE) else ""
    stop = f"{OVER_PLATE * rated:.2f} A ({rated:g} A on the plate and 10 %)"
    if facts.case.current.high > OVER_PLATE * rated:
        stop += ", though some of the worked cases do"
    return Step(
        "first_start",
        "First start: volts, amps, direction, vibration",
        "A wrong plug, capacitor or blade shows within the first minute. This is live work: leave "
        "it to a person qualified for it.",
        (
            f"Volts at the unit, running: within {low:.0f} to {high:.0f} V.",
            (
                f"Clamp around one line lead only. Expect, once warm, {amps}; nine of ten such "
                "motors lie within. Cold it may draw a little otherwise."
            ),
            "See through the guard which way it turns and feel that the air leaves as before.",
            (
                f"Switch off at once if it hums and stands, turns the wrong way, shakes, or draws "
                f"more than {stop}."
            ),
        ),
        (
            Blank("Volts", "V", f"{low:.0f} to {high:.0f}"),
            Blank("Amps", "A", f"{facts.case.current.low:.2f} to {facts.case.current.high:.2f}"),
            Blank("Turns, from the shaft end", "", turns),
            Blank("Vibration and noise", "", "even and quiet"),
        ),
    )


def _warm(facts: Facts) -> Step:
    case, frequency = facts.case, facts.case.conditions.frequency
    across = case.band("capacitor_v")
    blanks = [
        Blank("Volts", "V"),
        Blank("Amps", "A", _between(case.current, 2)),
        Blank("Watts", "W", _between(case.band("power_in_w"), 0)),
        Blank("Speed", "rpm", _between(case.speed_rpm, 0)),
        Blank("Across the capacitor", "V", _between(across, 0)),
    ]
    if facts.motor.capacitor is not None:
        carried = across.scaled(2 * np.pi * frequency * facts.motor.capacitor)
        blanks.append(Blank("In the capacitor's lead", "A", _between(carried, 2)))
    low, high = (
        facts.shown(end, "air_temperature") for end in facts.answer.needed["temp_at_motor_c"][::2]
    )
    blanks.append(Blank("Air at the motor", "", f"{low} to {high} on the design day"))
    blanks.append(Blank("Ohms hot over ohms cold", "", _between(_factor(case.winding), 2)))
    cold = facts.shown(TEMP_COLD, "air_temperature")
    do = [
        (
            "Read again after an hour of running. The figures beside the lines are for the line's "
            "usual voltage on the design day; on a cooler day the motor stays cooler."
        ),
        f"Ohms: the same leads as cold (here {cold}), hot within seconds of switching off, "
        "locked out, proved dead, capacitor discharged." + _hottest(facts),
        "What lies outside is a finding: look for volts, capacitor, blade and coil before leaving.",
    ]
    return Step(
        "warm",
        "Readings after it has warmed up",
        "A computed number never replaces a measurement: these readings prove the choice, and the "
        "next one who works here compares with them.",
        tuple(do),
        tuple(blanks),
    )


def _hottest(facts: Facts) -> str:
    letter = facts.motor.insulation_class
    if letter is None:
        return ""
    limit = winding_limit(letter)
    ratio = float(heat.resistance_factor(limit, TEMP_COLD))
    return f" Class {letter} allows {facts.shown(limit, 'temperature')} on average: {ratio:.2f}."


def _factor(winding: Band) -> Band:
    return Band(*(float(heat.resistance_factor(temp, TEMP_COLD)) for temp in winding))


def _between(band: Band, digits: int) -> str:
    return f"{band.low:.{digits}f} to {band.high:.{digits}f}"


def _handover(facts: Facts) -> Step:
    return Step(
        "handover",
        "Hand over, and keep the days of the warranty",
        "A claim needs the days and the plate, and the next fault is found sooner with this sheet.",
        (
            *_days(facts),
            *facts.cover.sentences,
            "Leave this sheet at the unit; the old motor and capacitor go where local rules say.",
        ),
        (
            Blank("New motor made on (date code)"),
            Blank("Installed on"),
            Blank("Serial number"),
            Blank("Done by"),
        ),
    )


def _days(facts: Facts) -> list[str]:
    """The days that the job knows already."""
    made, put_in = facts.job.dates.manufactured, facts.job.dates.installed
    told = [f"made {made.text}"] if made else []
    told += [f"installed {put_in.text}"] if put_in else []
    return [f"By the job's file: {', '.join(told)}."] if told else []


STEPS = (_leads, _capacitor, _guard, _first_start, _warm, _handover)
