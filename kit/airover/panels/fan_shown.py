"""The motor that a fan needs, in pieces of HTML as its panel places them."""

from airover.answer import CAUTIONS
from airover.message import Quantity
from airover.panels import style
from airover.panels.parts import Picture
from airover.records import CatalogueMotor
from airover.reports import fan as told
from airover.sizing.at_place import CompressorPrice, Sized
from airover.sizing.motors import DirtSweep, Tried
from airover.tables import fan as tables_fan
from airover.texts import Writer

_BARS = {"carried": "fits", "close": "fits with work", "doubtful": "does not fit"}


def verdict(found: Sized, invented: bool, writer: Writer) -> str:
    below = told.details(found, writer) + [writer("fan.hint.invented")] * invented
    return style.verdict(_BARS[found.state], told.verdict(found, writer), " ".join(below))


def picture(found: Sized, png: bytes, writer: Writer) -> Picture:
    words = writer(
        "fan.picture.words",
        pressure=Quantity(found.bands["pressure_pa"].mid, "pressure"),
        flow=Quantity(found.bands["flow_m3s"].mid, "flow"),
        power=round(found.bands["power_shaft_w"].mid),
        rating=found.size.standard.text,
    )
    return Picture(png, words)


def sizing(found: Sized, writer: Writer) -> str:
    table = style.table(tables_fan.sizing(found, writer), "figures")
    return table + style.quiet(writer("fan.hint.sizing"))


def speeds(found: Sized, writer: Writer) -> str:
    table = style.table(tables_fan.speeds(found, writer), "figures")
    return table + style.quiet(writer("fan.hint.speeds"))


def motors(tried: tuple[Tried, ...], voltage: float, writer: Writer) -> str:
    hint = writer("fan.hint.motors", voltage=round(voltage))
    return style.table(tables_fan.motors(tried, writer), "figures") + style.quiet(hint)


def dirt(
    sweep: DirtSweep,
    prices: tuple[CompressorPrice | None, ...],
    row: CatalogueMotor,
    writer: Writer,
) -> str:
    hints = [writer("fan.hint.dirt", motor=row.name)]
    if sweep.beyond:
        hints.append(writer("fan.hint.beyond", beyond=sweep.beyond))
    hints.append(writer(f"fan.hint.{'compressor' if any(prices) else 'no_heat'}"))
    table = style.table(tables_fan.dirt(sweep, prices, writer), "figures")
    return table + style.quiet(" ".join(hints))


def asks(found: Sized, writer: Writer) -> str:
    advice = [writer(ask.advice) for ask in found.asks]
    if not advice:
        return style.quiet(writer("fan.hint.nothing"))
    return style.listed(writer("fan.hint.important"), advice)


def cautions(writer: Writer) -> str:
    told = [*map(writer.value, CAUTIONS), writer("fan.hint.meters")]
    return style.listed(writer("fan.hint.before"), told)
