"""A winding's heat in pieces of HTML, as its panel places them."""

from airover.answer import CAUTIONS
from airover.figures import heat as figures_heat
from airover.heat.answer import HeatAnswer
from airover.heat.trip_cycle import RESET_BELOW_TRIP, TRIP_BELOW_LIMIT
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports import heat as heat_told
from airover.tables import heat as tables_heat

_BARS = {"below": "fits", "near": "fits with work", "above": "does not fit"}
WIDE = 1020
HOT = "A motor that has run is hot enough to burn; one that has tripped starts again unasked."


def verdict(answer: HeatAnswer, invented: bool) -> str:
    told = [*answer.warnings, *answer.facts, "Invented scenario and motors." * invented]
    return style.verdict(_BARS[answer.state], answer.verdict, " ".join(filter(None, told)))


def picture(answer: HeatAnswer, png: bytes) -> Picture:
    parts = ", ".join(
        f"{part.name} {answer.kelvin(part.kelvin.mid)}" for part in answer.study.budget[1:]
    )
    words = (
        f"A bar that stacks up from outdoor air, {answer.degree(answer.asked.temp_outdoor)}: "
        f"{parts}. {answer.verdict} Beside it, room and life against the weather."
    )
    return Picture(png, words)


def steps(answer: HeatAnswer) -> str:
    hint = (
        "Bands of the steps do not add up; those of the temperatures after them hold. A class "
        "temperature is that of the hottest spot, a rise by resistance is an average over the air "
        "at the motor: neither limit may be held against the other's figure."
    )
    both = [tables_heat.steps(answer), tables_heat.limits(answer)]
    return "".join(style.table(one, "figures") for one in both) + style.quiet(hint)


def day(answer: HeatAnswer) -> Picture:
    return Picture(figures_heat.day(answer), f"A day's temperatures. {heat_told.day(answer)}")


def trip(answer: HeatAnswer) -> Picture:
    return Picture(figures_heat.trip(answer), f"A locked rotor in time. {heat_told.locked(answer)}")


def height(answer: HeatAnswer) -> Picture:
    words = f"What height changes, effect by effect. {heat_told.height(answer)}"
    return Picture(figures_heat.height(answer), words)


def day_page(answer: HeatAnswer) -> str:
    hint = (
        f"{heat_told.day(answer)} The hottest day of the kit's invented year, moved so that its "
        "warmest hour is as the slider says; it begins cold. Cycles are equal within an hour, the "
        "sun shines from 6 to 18 o'clock, no wind blows while the fan stands."
    )
    return day(answer).html(WIDE) + style.quiet(hint)


def trip_page(answer: HeatAnswer) -> str:
    (near, far), (less, more) = (
        map(answer.kelvin, ends) for ends in (TRIP_BELOW_LIMIT, RESET_BELOW_TRIP)
    )
    hint = (
        f"{heat_told.locked(answer)} The lines are three of twenty cases, by when they trip first. "
        f"No plate says where a protector opens: {near} to {far} below what the standard allows "
        f"for the class in running overload, closing {less} to {more} lower (common practice, no "
        "source). The limits of a locked rotor are from memory, not verified."
    )
    return trip(answer).html(WIDE) + style.quiet(hint)


def year_page(answer: HeatAnswer) -> str:
    hint = (
        f"{heat_told.trips(answer)} The year is the kit's invented one. A run that is too short to "
        "warm the motor up ages it less than steady running; no life is counted beyond 100 years. "
        "Insulation only: bearings, damp and voltage surges end many motors earlier."
    )
    return style.table(tables_heat.year(answer), "narrow") + style.quiet(hint)


def classes_page(answer: HeatAnswer) -> str:
    hint = (
        f"{heat_told.classes(answer)} The same motor with another plate, on the job as it is: "
        "sliders and readings do not count here. A rating is evidence of how well a motor is "
        "cooled, so the one with the better class may also run hotter, and gains less than what "
        "parts the classes."
    )
    return style.table(tables_heat.classes(answer), "figures") + style.quiet(hint)


def height_page(answer: HeatAnswer) -> str:
    hint = (
        f"{heat_told.height(answer)} By the plate alone, at rated voltage, in the job's weather. "
        "The three effects act at once and are worked together, not added. The standard's factor "
        "on a rise stands for the same, for a test near sea level: taken as well it would count "
        "height twice."
    )
    table = style.table(tables_heat.heights(answer), "figures")
    return height(answer).html(WIDE) + table + style.quiet(hint)


def cautions() -> str:
    return style.listed("Before anyone touches or measures it", (*CAUTIONS, HOT))
