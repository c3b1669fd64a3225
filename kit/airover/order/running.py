"""The new motor under power: leads, capacitor, guard, first start, warm readings, warranty."""

import numpy as np

from airover.bands import Band
from airover.choose.check import ADAPT
from airover.choose.electrical import SAME_CAPACITANCE
from airover.choose.load import winding_limit
from airover.motor.supply import voltage_limits
from airover.motor.work import HIGH, LOW, USUAL
from airover.order.facts import Blank, Facts, Step
from airover.physics import heat
from airover.physics.capacitor import OVERVOLTAGE
from airover.records.rotation import REVERSIBLE

OVER_PLATE = 1.10  # amps at which it is stopped, common practice, no source
STANDARD_VOLTS = (370.0, 440.0)  # run capacitors as sold in the US, common practice, no source
NEVER_PARALLEL = (
    "Never wire the new capacitor in parallel with a section of a dual one, never join FAN and "
    "HERM, and never move the compressor's wire to another terminal."
)
TEMP_COLD = 25.0  # degC, for which the ohms of a warm winding are told


def _leads(facts: Facts) -> Step:
    ratings = [facts.shown(watts, "power") for watts in facts.motor.ratings]
    do = [
        (
            "Read the resistance of the new winding cold, between its line leads with the "
            "capacitor leads apart, and the air temperature with it."
        ),
        (
            "Have the new motor's wiring diagram in front of you and connect by it. Lead colors "
            "are not standard: do not go by the old motor's colors. Ground the shell."
        ),
        (
            "Four leads: the two line leads go to the two legs of the supply, the two capacitor "
            "leads to the fan motor's run capacitor alone. Do not join a capacitor lead to C of a "
            "dual capacitor or to a leg of the supply, unless the diagram shows the three-wire "
            "connection."
        ),
        (
            "Three leads: two line leads to the two legs, and one capacitor lead. The capacitor's "
            "other terminal (C of a dual) is fed from the leg that the diagram shows; from the "
            "other leg the motor hums and won't start."
        ),
        (
            "Route the cable in from below with a drip loop, tie it clear of the fan blade, sharp "
            "edges and hot pipes; insulate each unused lead separately."
        ),
    ]
    if len(ratings) > 1:
        rating = facts.shown(facts.case.rating, "power")
        told = f"Its ratings {', '.join(ratings)} need no choice at the leads: the fan sets the "
        do.insert(4, f"{told}load, here {rating}.")
        mark = f"{facts.motor.name}, {rating}, {facts.case.rated_current:g} A full load"
        do.insert(5, f"Mark the unit: {mark}, so that nobody goes by the highest rating.")
    return Step(
        "leads",
        "Leads",
        "A lead in the fan blade, or water that runs along a lead, ruins the motor in a season. "
        "The cold resistance read now tells later how hot the winding gets.",
        tuple(do),
        (Blank("New winding, line leads, cold", "ohm"), Blank("At a temperature of")),
    )


def _capacitor(facts: Facts) -> Step:
    microfarads, volts = facts.motor.capacitor, facts.motor.capacitor_voltage
    across = facts.case.band("capacitor_v")
    if facts.check("capacitor voltage").state == ADAPT:
        needed = across.mid / OVERVOLTAGE
        volts = next((one for one in STANDARD_VOLTS if one >= needed), needed)
    size = "" if microfarads is None else f"{facts.shown(microfarads, 'capacitance')}"
    rated = "" if volts is None else f"{volts:.0f} V or more"
    marked = ", ".join(text for text in (size, rated) if text)
    above = ", more than the supply" if across.low > facts.motor.voltage_high else ""
    blanks = [Blank("New capacitor, measured", "uF", size and f"{size} as marked")]
    if not (size and rated):
        blanks.append(Blank("Required by the new motor's nameplate", "uF and V"))
    return Step(
        "capacitor",
        f"New run capacitor: {marked}" if size else "New run capacitor, by the new nameplate",
        "A weak or wrong capacitor overheats the winding and keeps the motor from starting; the "
        f"old one has aged with the old motor. In operation it sees about {across.mid:.0f} V "
        f"({across.low:.0f} to {across.high:.0f}){above}.",
        (
            *_which_capacitor(facts, size, rated),
            (
                "Measure the new one first. Mark it with the motor's name and today's date; mount "
                "it upright with its terminals covered."
            ),
        ),
        tuple(blanks),
    )


def _which_capacitor(facts: Facts, size: str, rated: str) -> tuple[str, ...]:
    """Sentences on the fan motor's capacitor that leave the compressor its own."""
    old, new = facts.job.nameplate.capacitor, facts.motor.capacitor
    needed = ", ".join(text for text in (size, rated) if text) or "what the new nameplate says"
    if old is None or not old.is_dual:
        compared = "" if old is None else f" The old one was marked {old.text}."
        return (
            f"Fit a new run capacitor of {needed}; no start capacitor, not the old one.{compared}",
            (
                "If the old motor used the FAN section of a dual capacitor, the compressor uses "
                "the other section: leave the compressor's wires on HERM and C, fit a separate "
                "capacitor for the fan motor, and do not remove or discard the dual one. "
                + NEVER_PARALLEL
            ),
        )
    kept = f"leave the compressor's wires on HERM and C, {old.compressor_text}"
    uses = f"The old one is a dual capacitor, {old.text}: the compressor uses its HERM section."
    volts = f", {rated}" if rated else ""
    if new is None:
        choice = f"Fit a separate run capacitor of {needed} for the fan motor and {kept}."
    elif abs(new / old.mid - 1) <= SAME_CAPACITANCE:
        choice = (
            f"Its FAN section is the {size} that this motor needs. Replace it with a new dual "
            f"capacitor of the same two values, {old.compressor_text} and {size}{volts}; or fit a "
            f"separate run capacitor of {needed} for the fan motor and {kept}."
        )
    else:
        choice = (
            f"This motor needs {size}, not the {old.fan_text} of its FAN section. Fit a separate "
            f"run capacitor of {needed} for the fan motor, with nothing left on FAN, and {kept}; "
            f"or replace it with a new dual capacitor of {old.compressor_text} and {size}{volts}."
        )
    never = "Never remove or discard it without keeping or replacing the compressor's section."
    return uses, choice, f"{never} {NEVER_PARALLEL}"


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
                f"Switch off at once if it hums but won't start, turns backward, shakes, or draws "
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
            (
                "Leave this sheet at the unit. Dispose of the old motor, and of an old capacitor "
                "that nothing uses anymore, by local rules."
            ),
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
