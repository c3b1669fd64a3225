"""What a blade asks for, in pieces of HTML as its panel places them."""

from airover.answer import CAUTIONS
from airover.panels import style
from airover.panels.parts import Picture
from airover.records import CatalogueMotor
from airover.sizing.at_place import Price, Sized
from airover.sizing.motors import DirtSweep, Tried
from airover.tables import fan as tables_fan

_BARS = {"carried": "fits", "close": "fits with work", "doubtful": "does not fit"}
AT_THE_FAN = "A manometer's hoses and a wattmeter's leads go in with the power locked out."


def verdict(found: Sized, invented: bool) -> str:
    told = [*found.warnings, *found.facts, "Invented scenario, blade and motors." * invented]
    return style.verdict(_BARS[found.state], found.verdict, " ".join(filter(None, told)))


def picture(found: Sized, png: bytes) -> Picture:
    flow, pressure = found.bands["flow_m3s"].mid, found.bands["pressure_pa"].mid
    words = (
        f"Static pressure of the blade falls with airflow, the system's rises; they meet at "
        f"{found.show(pressure, 'pressure')} and {found.show(flow, 'flow')}. Below, shaft power "
        f"over airflow: {found.bands['power_shaft_w'].mid:.0f} W there, beside the "
        f"{found.size.standard.text} of the motor."
    )
    return Picture(png, words)


def sizing(found: Sized) -> str:
    hint = (
        "Ten per cent in hand is common practice, and a motor carries its rating down to 90 % of "
        "its voltage. The whole curve is taken at this speed, held: an overloaded motor slows. "
        "A motor much too large costs watts all year."
    )
    return style.table(tables_fan.sizing(found), "figures") + style.quiet(hint)


def speeds(found: Sized) -> str:
    hint = (
        "By the fan laws on the same system: power goes with the cube of the speed. Sound is a "
        "hint by a rule of the trade. Less air raises the condensing temperature: a slower motor "
        "is the equipment maker's choice."
    )
    return style.table(tables_fan.speeds(found), "figures") + style.quiet(hint)


def motors(tried: tuple[Tried, ...], voltage: float, shown: str) -> str:
    hint = (
        f"At {voltage:.0f} V, warm. Each is the one of its rating with the least amps on its "
        "plate; ranges hold in 9 cases of 10, the winding's is the middle one. Each turns at a "
        "speed of its own."
    )
    return style.table(tables_fan.motors(tried, shown), "figures") + style.quiet(hint)


def dirt(
    sweep: DirtSweep, prices: tuple[Price | None, ...], row: CatalogueMotor, shown: str
) -> str:
    beyond = ", ".join(f"{dirt:g}" for dirt in sweep.beyond)
    hint = (
        f"On the {row.name}. Its amps hardly tell a dirty coil; airflow and winding do. "
        + (f"At {beyond} times the curve was not measured. " if beyond else "")
        + (
            "The compressor's kilowatt-hours are over the clean coil's, for the same cooling in "
            "the kit's invented year: a size, not a bill."
            if any(prices)
            else "The coil's heat is not known, so the motor's air is that which enters, and the "
            "compressor is not worked."
        )
    )
    return style.table(tables_fan.dirt(sweep, prices, shown), "figures") + style.quiet(hint)


def asks(found: Sized) -> str:
    sentences = [ask.sentence for ask in found.asks]
    if not sentences:
        return style.quiet("Nothing that would narrow the answer much.")
    return style.listed("The most important first", sentences)


def cautions() -> str:
    return style.listed("Before anyone touches or measures it", (*CAUTIONS, AT_THE_FAN))
