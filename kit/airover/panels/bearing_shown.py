"""Ball and sleeve bearings side by side, in pieces of HTML as their panel places them."""

import numpy as np

from airover.answer import CAUTIONS
from airover.bands import Band
from airover.bearing_choice.study import BearingStudy
from airover.bearings.suits import EXPECTED, SEASON_OVER_DESIGN, Suits
from airover.message import Quantity
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports import bearings as told
from airover.tables import bearings as tables_bearing
from airover.texts import Writer

_BARS = {"clear": "fits", "same": "fits with work", "short": "does not fit"}


def verdict(study: BearingStudy, invented: bool, writer: Writer) -> str:
    below = told.details(study, writer) + [writer("bearings.hint.invented")] * invented
    return style.verdict(_BARS[study.state], told.verdict(study, writer), " ".join(below))


def picture(study: BearingStudy, png: bytes, writer: Writer) -> Picture:
    ends = (writer(f"bearings.row.{end}") for end in study.governing)
    hours = {kind: told.hours_text(study.bands[kind], writer) for kind in ("ball", "sleeve")}
    named = dict(zip(("ball_end", "sleeve_end"), ends, strict=True))
    return Picture(png, writer("bearings.picture.words", **named, **hours))


def film(study: BearingStudy, png: bytes, writer: Writer) -> Picture:
    highest = float(np.median(study.film.flooded.pressure_highest)) / 1000
    return Picture(png, writer("bearings.picture.film_words", pressure=round(highest)))


def side_by_side(study: BearingStudy, writer: Writer) -> str:
    hint = writer(
        "bearings.hint.side_by_side",
        who=told.share_text(study.asked.reliability, writer),
        counted=Quantity(SEASON_OVER_DESIGN, "share", 0),
        a_year=f"{study.asked.hours_a_year:,.0f}",
    )
    return style.table(tables_bearing.side_by_side(study, writer), "figures") + style.quiet(hint)


def motors(study: BearingStudy, found: list[tuple[str, Suits | None]], writer: Writer) -> str:
    hint = writer("bearings.hint.motors", expected=round(EXPECTED))
    return style.table(tables_bearing.motors(found, writer)) + style.quiet(hint)


def positions(study: BearingStudy, writer: Writer) -> str:
    table = style.table(tables_bearing.positions(study, writer), "figures")
    return table + style.quiet(writer("bearings.hint.positions"))


def balancing(study: BearingStudy, writer: Writer) -> str:
    hint = writer("bearings.hint.balancing", gained=told.balancing(study, writer))
    return style.table(tables_bearing.balancing(study, writer), "figures") + style.quiet(hint)


def film_page(study: BearingStudy, png: bytes, writer: Writer) -> str:
    flooded, starved = (Band.of(one.lambda_ratio) for one in study.film)
    hint = writer(
        "bearings.hint.film",
        flooded_low=round(flooded.low), flooded_high=round(flooded.high),
        starved_low=round(starved.low), starved_high=round(starved.high),
    )  # fmt: skip
    return film(study, png, writer).html() + style.quiet(hint)


def notes(study: BearingStudy, writer: Writer) -> str:
    return style.listed(writer("bearings.hint.beside"), told.notes(study, writer))


def cautions(writer: Writer) -> str:
    told = [*map(writer.value, CAUTIONS), writer("bearings.hint.fan")]
    return style.listed(writer("bearings.hint.before"), told)
