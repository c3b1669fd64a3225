"""A winding's heat as tables (pandas), in the reader's units."""

import pandas as pd

from airover.bands import Band
from airover.heat.answer import BETTER_CLASS, USUAL_CLASS, HeatAnswer, years_text
from airover.units import show


def steps(answer: HeatAnswer) -> pd.DataFrame:
    """One row for each step from outdoor air to the hottest spot."""
    rows = [
        {
            "step": part.name,
            "adds": "" if part.name == "outdoor air" else answer.kelvins(part.kelvin),
            "temperature after it": answer.degrees(part.upto),
        }
        for part in answer.study.budget
    ]
    return pd.DataFrame(rows)


def limits(answer: HeatAnswer) -> pd.DataFrame:
    """What each limit is held against: four kinds of temperature, never one for another."""
    study, letter = answer.study, answer.place.motor.insulation_class
    rows = [
        _row(
            answer, "hottest spot, a temperature", answer.degrees(answer.hot_spot),
            study.class_temperature, study.margin, f"class {letter}, IEC 60085",
        )
    ]  # fmt: skip
    rise, allowed = answer.kelvins(study.rise), answer.rise_allowed
    told = "missing" if allowed is None else answer.kelvin(allowed)
    whose = "NEMA MG 1, from memory, not verified"
    rows.append(
        _row(
            answer,
            "average by resistance, a rise over the air",
            rise,
            told,
            study.rise_margin,
            whose,
        )
    )
    room = None if answer.room is None else Band.of(answer.room)
    felt, whose = "winding and shell, mixed", "a usual one; common practice"
    rows.append(_row(answer, "what a protector feels", felt, "on no plate", room, whose))
    air, rated = Band.of(answer.conditions.temp_air), answer.place.motor.ambient
    left = None if rated is None else Band(*(rated - end for end in air[::-1]))
    rows.append(_row(answer, "air at the motor", answer.degrees(air), rated, left, "its rating"))
    return pd.DataFrame(rows)


def classes(answer: HeatAnswer) -> pd.DataFrame:
    """The motor as class B for 60 degC and as class F for 70 degC, on the job as it is."""
    found = answer.place.classes
    names = [
        f"class {letter}, rated {answer.degree(at)}" for letter, at in (USUAL_CLASS, BETTER_CLASS)
    ]
    rows = [
        {
            "motor": name,
            "hottest spot to its class": answer.kelvins(margin),
            "air to its rating": answer.kelvins(ambient),
            "years in the usual year": years_text(years),
        }
        for name, margin, ambient, years in zip(
            names, found.margins, found.ambient_margins, found.years, strict=True
        )
    ]
    low, mid, high = found.times
    gained = {
        "motor": "the second buys",
        "hottest spot to its class": answer.kelvins(found.more_margin),
        "air to its rating": answer.kelvin(BETTER_CLASS[1] - USUAL_CLASS[1]),
        "years in the usual year": f"{mid:.1f} times the life ({low:.1f} to {high:.1f})",
    }
    return pd.DataFrame([*rows, gained])


def heights(answer: HeatAnswer) -> pd.DataFrame:
    """What height does to the winding, effect by effect, and the standard's factor beside it."""
    return pd.DataFrame([_height(answer, one) for one in answer.place.heights])


def _height(answer: HeatAnswer, one) -> dict:
    loss = one.standard_loss
    return {
        "elevation": show(one.elevation, "elevation", answer.shown, 0),
        "lighter load": answer.kelvin(one.load.mid),
        "thinner stream": answer.kelvin(one.cooling.mid),
        "hotter air from the coil": answer.kelvin(one.coil.mid),
        "together": answer.kelvins(one.together),
        "not taken: the standard's factor": f"{one.factor:.2f}"
        + ("" if loss is None else f", {answer.kelvin(loss)} of the rise"),
    }


def year(answer: HeatAnswer) -> pd.DataFrame:
    """The winding's years two ways, and how far a run warms it on days of each kind."""
    found = answer.year.cycled
    rows = [
        {"what": "years, with the unit's cycles", "found": _years(found.years)},
        {"what": "years, as hot as in steady running", "found": _years(found.steady)},
    ]
    for temp, *reached in zip(found.temp_outdoor, *found.reached, strict=True):
        low, mid, high = (f"{100 * share:.0f}" for share in reached)
        told = f"{mid} % of its steady rise ({low} to {high})"
        rows.append({"what": f"a run at {answer.degree(temp)} outdoors reaches", "found": told})
    return pd.DataFrame(rows)


def _years(years: Band | None) -> str:
    return "class missing" if years is None else years_text(years)


def _row(answer: HeatAnswer, kind, found, limit, room: Band | None, whose) -> dict:
    if not isinstance(limit, str):
        limit = "missing" if limit is None else answer.degree(limit)
    return {
        "kind of temperature": kind,
        "found": found,
        "limit": limit if room is not None else "missing",
        "room": "missing" if room is None else answer.kelvins(room),
        "whose limit": whose,
    }
