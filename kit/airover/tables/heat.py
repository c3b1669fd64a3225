"""A winding's heat as tables (pandas), in the language and units of their Writer."""

import pandas as pd

from airover.bands import Band
from airover.heat.answer import BETTER_CLASS, USUAL_CLASS, HeatAnswer
from airover.message import Message
from airover.reports.heat import degree, degrees, kelvin, kelvins, years_text
from airover.texts import Writer


def steps(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """One row for each step from outdoor air to the hottest spot."""
    first, *others = answer.study.budget
    rows = [(first, ""), *((part, kelvins(part.kelvin, writer)) for part in others)]
    told = [
        (writer(f"heat.step.{part.name}"), adds, degrees(part.upto, writer)) for part, adds in rows
    ]
    return _table(writer, ("step", "adds", "after"), told)


def limits(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """What each limit is held against: four kinds of temperature, never one for another."""
    study, motor = answer.study, answer.place.motor
    air, felt = Band.of(answer.conditions.temp_air), answer.room
    spot_limit, rise_limit = study.class_temperature, answer.rise_allowed
    felt_limit = Message("heat.limit.felt_limit")
    left = None if motor.ambient is None else Band(*(motor.ambient - end for end in air[::-1]))
    rows = [
        ("spot", degrees(answer.hot_spot, writer), spot_limit and degree(spot_limit), study.margin),
        ("rise", kelvins(study.rise, writer), rise_limit and kelvin(rise_limit), study.rise_margin),
        (
            "felt", Message("heat.limit.felt_found"), felt_limit,
            None if felt is None else Band.of(felt),
        ),
        ("air", degrees(air, writer), motor.ambient and degree(motor.ambient), left),
    ]  # fmt: skip
    letter, missing = motor.insulation_class, Message("heat.missing")
    told = [
        (
            writer(f"heat.limit.{name}"),
            writer.value(found),
            writer.value(missing if limit is None or room is None else limit),
            writer.value(missing if room is None else kelvins(room, writer)),
            writer(f"heat.limit.{name}_source", letter=letter),
        )
        for name, found, limit, room in rows
    ]
    return _table(writer, ("kind", "found", "limit", "room", "source"), told)


def classes(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """The motor as class B for 60 degC and as class F for 70 degC, on the job as it is."""
    found = answer.place.classes
    names = [
        writer("heat.classes.motor", letter=letter, ambient=degree(at))
        for letter, at in (USUAL_CLASS, BETTER_CLASS)
    ]
    each = zip(names, found.margins, found.ambient_margins, found.years, strict=True)
    rows = [
        (name, kelvins(margin, writer), kelvins(air, writer), years_text(years, writer))
        for name, margin, air, years in each
    ]
    low, mid, high = (f"{times:.1f}" for times in found.times)
    rows.append(
        (
            writer("heat.classes.second"),
            kelvins(found.more_margin, writer),
            writer.value(kelvin(BETTER_CLASS[1] - USUAL_CLASS[1])),
            writer("heat.classes.times", low=low, mid=mid, high=high),
        )
    )
    return _table(writer, ("motor", "spot", "air", "years"), rows)


def heights(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """What height does to the winding, effect by effect, and the standard's factor beside it."""
    rows = []
    for one in answer.place.heights:
        effects = (writer.value(kelvin(each.mid)) for each in (one.load, one.cooling, one.coil))
        key, loss = "factor", None
        if one.standard_loss is not None:
            key, loss = "factor_of_rise", kelvin(one.standard_loss)
        factor = writer(f"heat.height.{key}", factor=f"{one.factor:.2f}", loss=loss)
        elevation = writer.amount(one.elevation, "elevation", 0)
        rows.append((elevation, *effects, kelvins(one.together, writer), factor))
    names = ("elevation", "load", "cooling", "coil", "together", "factor")
    return _table(writer, names, rows)


def year(answer: HeatAnswer, writer: Writer) -> pd.DataFrame:
    """The winding's years two ways, and how far a run warms it on days of each kind."""
    found = answer.year.cycled
    rows = [
        (writer(f"heat.year.{name}"), _years(years, writer))
        for name, years in (("cycled", found.years), ("steady", found.steady))
    ]
    for temp, *reached in zip(found.temp_outdoor, *found.reached, strict=True):
        run = writer("heat.year.run", temp=degree(temp))
        share = writer.median(Band(*reached), "share", 0)
        rows.append((run, writer("heat.year.reached", share=share)))
    return _table(writer, ("what", "found"), rows)


def _table(writer: Writer, names, rows) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=[writer(f"heat.column.{name}") for name in names])


def _years(years: Band | None, writer: Writer) -> str:
    return writer("heat.years.class_missing") if years is None else years_text(years, writer)
