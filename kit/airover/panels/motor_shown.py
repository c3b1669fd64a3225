"""What one motor is expected to draw, in pieces of HTML as its panel places them."""

from airover.answer import CAUTIONS
from airover.motor.compare import Beside
from airover.motor.expected import Expected, Mounted
from airover.motor.one import CapacitorStep
from airover.motor.supply import VOLTAGE_SOURCE
from airover.panels import style
from airover.panels.parts import Picture
from airover.tables import motor as tables_motor
from airover.texts import Writer

_BARS = {"within": "fits", "at": "fits with work", "beyond": "does not fit"}
LIVE = "Measuring on live parts is for persons who are licensed and equipped for it."
HOW_TO_READ = (
    "Read at one moment with the motor warm, on the fan chosen above at 100 %, with the capacitor "
    "that belongs to it. Volts and at least one figure more; choosing another motor clears them. "
    f"{LIVE}"
)
ASSUMED = "Price and hours are assumed, until you put in your own."


def verdict(expected: Expected, invented: bool, write: Writer) -> str:
    told = [write(one) for one in (*expected.warnings, *expected.facts)]
    told += ["Invented scenario and motors."] * invented
    return style.verdict(_BARS[expected.state], write(expected.verdict), " ".join(told))


def picture(expected: Expected, png: bytes) -> Picture:
    low, _, high = expected.current
    rpm, newton_metres = (expected.bands[name].mid for name in ("speed_rpm", "torque_nm"))
    words = (
        f"Amps against voltage with their band; at {expected.voltage:.0f} V {low:.2f} to "
        f"{high:.2f} A. Torque against speed: motor and fan meet at {rpm:.0f} rpm and "
        f"{newton_metres:.2f} N m."
    )
    return Picture(png, words)


def voltages(expected: Expected, write: Writer) -> str:
    table = style.table(tables_motor.voltages(expected, write), "figures")
    hint = (
        "The plate's volts, and 10 % below and above them, where the motor must still work though "
        f"not as on its plate ({VOLTAGE_SOURCE}). Ranges hold in 9 cases of 10; winding and room "
        "to the trip of a protector of its class are the middle ones."
    )
    return style.heading(f"Across voltage, on {write(expected.fan)}") + table + style.quiet(hint)


def capacitors(steps: tuple[CapacitorStep, ...], mounted: Mounted, write: Writer) -> str:
    table = style.table(tables_motor.capacitors(steps, write), "figures")
    title = f"Another capacitor, at {mounted.voltage_high:.0f} V on {write(mounted.fan)}"
    hint = (
        "Starting torque is over the fan's at synchronous speed. Put in the microfarads of the "
        "plate; this table is for knowing a worn or a wrong one, not for choosing one."
    )
    return style.heading(title) + table + style.quiet(hint)


def ratings(found: tuple[Beside, ...], voltage, hours: float, price: float, write: Writer) -> str:
    """Nothing for a motor of one rating."""
    if len(found) < 2:
        return ""
    own = style.table(tables_motor.ratings(found, hours, price, write), "figures")
    other = style.table(tables_motor.dedicated(found, hours, price, write), "figures")
    assumed = (
        f"At {voltage:.0f} V. Assumed: {hours:.0f} h of running a year, {price:g} USD per kWh. The "
        "other motor is the one of that single rating with the least amps on its plate. It turns "
        "at its own speed, so it moves another amount of air too."
    )
    return (
        style.heading("On the fan of each of its ratings")
        + own
        + style.heading("Beside it on the same fan: a motor made for that rating alone")
        + other
        + style.quiet(assumed)
    )


def cautions() -> str:
    return style.listed("Before anyone touches or measures it", (*CAUTIONS, LIVE))
