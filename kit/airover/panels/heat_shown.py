"""A winding's heat in pieces of HTML, as its panel places them."""

from airover.answer import CAUTIONS
from airover.figures import heat as figures_heat
from airover.heat.answer import HeatAnswer
from airover.heat.trip_cycle import RESET_BELOW_TRIP, TRIP_BELOW_LIMIT
from airover.message import Message
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports import heat as told
from airover.tables import heat as tables_heat
from airover.texts import Writer

_BARS = {"below": "fits", "near": "fits with work", "above": "does not fit"}
WIDE = 1020


def verdict(answer: HeatAnswer, invented: bool, writer: Writer) -> str:
    below = told.details(answer, writer) + [writer("heat.hint.invented")] * invented
    return style.verdict(_BARS[answer.state], told.verdict(answer, writer), " ".join(below))


def picture(answer: HeatAnswer, png: bytes, writer: Writer) -> Picture:
    parts = [
        Message(
            "heat.words.part",
            step=Message(f"heat.step.{part.name}"),
            rise=told.kelvin(part.kelvin.mid),
        )
        for part in answer.study.budget[1:]
    ]
    words = writer(
        "heat.words.stack",
        outdoor=told.degree(answer.asked.temp_outdoor),
        parts=parts,
        verdict=told.verdict(answer, writer),
    )
    return Picture(png, words)


def steps(answer: HeatAnswer, writer: Writer) -> str:
    both = [tables_heat.steps(answer, writer), tables_heat.limits(answer, writer)]
    tables = "".join(style.table(one, "figures") for one in both)
    return tables + style.quiet(writer("heat.hint.steps"))


def day(answer: HeatAnswer, writer: Writer) -> Picture:
    words = writer("heat.words.day", told=told.day(answer, writer))
    return Picture(figures_heat.day(answer, writer), words)


def trip(answer: HeatAnswer, writer: Writer) -> Picture:
    words = writer("heat.words.trip", told=told.locked(answer, writer))
    return Picture(figures_heat.trip(answer, writer), words)


def height(answer: HeatAnswer, writer: Writer) -> Picture:
    words = writer("heat.words.height", told=told.height(answer, writer))
    return Picture(figures_heat.height(answer, writer), words)


def day_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.day", told=told.day(answer, writer))
    return day(answer, writer).html(WIDE) + style.quiet(hint)


def trip_page(answer: HeatAnswer, writer: Writer) -> str:
    (near, far), (less, more) = (
        map(told.kelvin, ends) for ends in (TRIP_BELOW_LIMIT, RESET_BELOW_TRIP)
    )
    locked = told.locked(answer, writer)
    hint = writer("heat.hint.trip", told=locked, near=near, far=far, less=less, more=more)
    return trip(answer, writer).html(WIDE) + style.quiet(hint)


def year_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.year", told=told.trips(answer, writer))
    return style.table(tables_heat.year(answer, writer), "narrow") + style.quiet(hint)


def classes_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.classes", told=told.classes(answer, writer))
    return style.table(tables_heat.classes(answer, writer), "figures") + style.quiet(hint)


def height_page(answer: HeatAnswer, writer: Writer) -> str:
    hint = writer("heat.hint.height", told=told.height(answer, writer))
    table = style.table(tables_heat.heights(answer, writer), "figures")
    return height(answer, writer).html(WIDE) + table + style.quiet(hint)


def cautions(writer: Writer) -> str:
    told = [*map(writer.value, CAUTIONS), writer("heat.hint.hot")]
    return style.listed(writer("heat.hint.before"), told)
