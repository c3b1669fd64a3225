"""Before the new motor is touched: safety, what is missing, the cause, blade and hub."""

from airover.bands import Band
from airover.choose.check import ADAPT, MISSING
from airover.motor.work import HIGH
from airover.order.facts import Blank, Facts, Step
from airover.physics import unbalance
from airover.texts import Writer

# what later steps say how to adapt
WITH_A_STEP = (
    "capacitor", "capacitor voltage", "rotation", "frame", "shaft length", "body length",
    "mounting",
)  # fmt: skip
# what only a running motor shows: no blank before it is installed
SHOWN_RUNNING = (
    "winding temperature", "running amps", "starting on low voltage", "shaft power",
)  # fmt: skip
BALANCE = (6.3, 16.0)  # mm/s, grades of ISO 21940-11: a good fan blade and a tired one


def _isolation(facts: Facts) -> Step:
    volts = facts.case.conditions.voltage[HIGH]
    return Step(
        "isolation",
        "Power off, locked, tagged, proved dead",
        "A disconnect can be wired wrong or leave one leg live, and a thermostat, a contactor or a "
        "protector that cools starts the fan unasked.",
        (
            "Secure yourself and what you carry against falling; mind the edge and the weather.",
            "Switch off the unit, lock the disconnect, hang your tag, keep the key.",
            (
                f"Prove the meter on a live source (AC, above {volts:.0f} V), measure line to line "
                "and each line to ground at the motor's leads, prove the meter again."
            ),
        ),
        (Blank("Volts left, line to line and to ground", "V", "0"),),
    )


def _discharge(facts: Facts) -> Step:
    marked, measured = facts.job.nameplate.capacitor, facts.job.found.capacitor
    already = "" if measured is None else f" It was measured before: {measured.text}."
    if marked is not None and marked.is_dual:
        kind = (
            f"It is a dual capacitor, {marked.text}: FAN to C is the fan motor's section, "
            f"{marked.fan_text}; HERM to C is the compressor's, {marked.compressor_text}."
        )
        blanks = (
            Blank("Old capacitor, FAN to C", "uF", f"{marked.fan_text} as marked"),
            Blank("Old capacitor, HERM to C", "uF", f"{marked.compressor_text} as marked"),
        )
    else:
        kind = (
            "Three terminals (C, FAN, HERM) and two values such as 45/5 uF mean a dual capacitor: "
            "FAN to C is the fan motor's section, HERM to C is the compressor's."
        )
        blanks = (
            Blank("Old capacitor", "uF", "" if marked is None else f"{marked.text} as marked"),
            Blank("HERM to C, if it is dual", "uF"),
        )
    return Step(
        "discharge",
        "Discharge the capacitor, then measure it",
        "It can hold several hundred volts after the power is off, each section of a dual one for "
        "itself. Its reading helps to tell why the old motor failed.",
        (
            (
                "With insulated probes, bridge each pair of terminals through a resistor of about "
                "20 kilohm, 5 W, for ten seconds: on a dual capacitor C to FAN, C to HERM and FAN "
                "to HERM. Measure that no voltage is left on any pair."
            ),
            f"{kind} Photograph and mark every wire on it before you move one.",
            f"Take its wires off and measure its microfarads, section by section.{already}",
        ),
        blanks,
    )


def _record(facts: Facts) -> Step:
    missing = facts.candidate.having(MISSING)
    others = [one for one in facts.candidate.having(ADAPT) if one.name not in WITH_A_STEP]
    do = ["Photograph plate, wiring diagram and every lead before anything is undone."]
    do += [check.why for check in (*missing, *others)]
    why = "What is still not known of this job decides whether the new motor is the right one."
    if not missing:
        do.append("No fact that a check asks for is missing.")
        why = "The next one who works here will want it, and so will you when the leads are off."
    return Step(
        "record",
        "Photograph, and write down what is missing",
        why,
        tuple(do),
        tuple(
            Blank(check.name.capitalize()) for check in missing if check.name not in SHOWN_RUNNING
        ),
    )


def _cause(facts: Facts) -> Step:
    title = "Correct what killed the old motor"
    reason = "The best motor fails again of the same cause."
    air, rating = facts.answer.needed["temp_at_motor_c"], facts.motor.ambient_rating
    hot = (
        f"The air at the motor reaches {facts.shown(air.mid, 'air_temperature')} "
        f"({facts.shown(air.low, 'air_temperature')} to {facts.shown(air.high, 'air_temperature')})"
        " on the design day"
    )
    if rating is not None:
        hot += f"; this motor is rated for {facts.shown(rating, 'air_temperature')}"
    do = [f"{hot}. Clean the coil and keep hot air from coming back."]
    if facts.why is None:
        do.insert(0, "Nobody wrote down what was found on the old motor: look now, with power out.")
        blanks = ("Old winding, lead to lead, ohm", "Old winding to the shell, ohm",
                  "Old shaft: free, worn, rough, seized",
                  "In its shell: dry, rust, water")  # fmt: skip
        return Step("cause", title, reason, tuple(do), tuple(map(Blank, blanks)))
    write = Writer("en", facts.answer.system)
    corrections = [
        f"{write.value(one.cause.name).capitalize()}: {' '.join(map(write.value, one.cause.correct))}"
        for one in facts.why.worth_correcting
    ]
    return Step("cause", title, reason, (write(facts.why.verdict), *corrections, *do))


def _blade_height(facts: Facts) -> Step:
    height = facts.job.blade.height_in_orifice
    expected = "" if height is None else f"{height.text} by the job"
    return Step(
        "blade_height",
        "Measure the blade's height before it comes off",
        "A blade that sits higher or lower in its orifice moves less air and loads the motor "
        "otherwise; the fan's figures here hold for the height as found.",
        (
            "Measure from the orifice's edge to the blade's edge at each blade, and mark the hub's "
            "place on the old shaft."
            + ("" if height is None else f" The job says {height.text}: go by what you measure."),
        ),
        (Blank("Height in the orifice", "", expected),),
    )


def _blade(facts: Facts) -> Step:
    blade, rpm = facts.job.blade, facts.case.speed_rpm.mid
    mass = Band.of(facts.case.conditions.blade_mass).mid
    good, tired = (float(unbalance.force(mass, grade, rpm)) for grade in BALANCE)
    sizes = [blade.diameter.text] if blade.diameter else []
    sizes += [f"{blade.blades} blades"] if blade.blades else []
    known = f" ({', '.join(sizes)})" if sizes else ""
    seen = facts.job.found.blade
    do = [
        (
            f"Lay the blade{known} on a flat table: all tips at one height; no dent, crack, loose "
            "rivet or rust-through. Wash it."
        ),
        (
            "Balance it on a level rod through its bore: no side may sink. Replace it where one "
            "does; never bend it back."
        ),
    ]
    if seen not in (None, "good"):
        do.insert(0, f"It was found {seen}: replace the blade, or its hub.")
    return Step(
        "blade",
        "Blade: balance, dents, cracks",
        f"At {rpm:.0f} rpm a blade of {facts.shown(mass, 'mass')} shakes its bearing with "
        f"{good:.1f} N when it is well balanced (G 6.3) and {tired:.1f} N at G 16; dirt and dents "
        "do more.",
        tuple(do),
    )


def _hub(facts: Facts) -> Step:
    bore = facts.job.blade.bore or facts.job.nameplate.shaft_diameter
    new = facts.motor.shaft_diameter
    sizes = []
    if bore is not None:
        sizes.append(f"hub {bore.text}")
    if new is not None:
        sizes.append(f"new shaft {facts.shown(new, 'shaft_diameter')}")
    blanks = []
    if bore is None:
        blanks.append(Blank("Bore of the hub"))
    if new is None:
        blanks.append(Blank("Diameter of the new shaft"))
    return Step(
        "hub",
        "Hub and set screw",
        "A hub with play works loose, and a blow on the shaft marks the new bearings.",
        (
            (
                f"Bore and shaft: {', '.join(sizes) or 'measure both'}. It has to slide on by "
                "hand, without play."
            ),
            (
                "Set screw square on the shaft's flat, tightened as the blade's maker says; a worn "
                "screw or hub is replaced. Never drive the blade on with a hammer."
            ),
        ),
        tuple(blanks),
    )


STEPS = (_isolation, _discharge, _record, _cause, _blade_height, _blade, _hub)
