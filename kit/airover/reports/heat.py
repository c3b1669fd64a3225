"""One motor's heat in words: verdict, facts and warnings; a day, a locked rotor, a year, another
class and elevation.

Every function takes the Writer of the reader's language and units.
"""

import numpy as np

from airover.bands import Band
from airover.heat.answer import HeatAnswer
from airover.heat.study import LONGEST_YEARS
from airover.heat.trip_cycle import usual_protector
from airover.message import Message, Quantity
from airover.motor.lifetime import LONGEST, hot_spot
from airover.texts import Writer


def verdict(answer: HeatAnswer, writer: Writer) -> str:
    """Room from the hottest spot to its class, and whether the motor trips."""
    margin, spot = answer.study.margin, degrees(answer.hot_spot, writer)
    if margin is None:
        return writer("heat.class_missing", spot=spot)
    return writer(
        f"heat.margin_{'below' if margin.mid >= 0 else 'above'}",
        spot=spot,
        room=kelvin(abs(margin.mid)),
        limit=degree(answer.study.class_temperature),
        letter=answer.place.motor.insulation_class,
        trip=_trip(answer.trips),
    )


def _trip(share: float | None) -> Message:
    if share is None:
        return Message("heat.trip.unknown")
    if share == 0:
        return Message("heat.trip.never")
    shown = Quantity(max(share, 0.01), "share", 0)
    return Message(f"heat.trip.{'some' if share < 0.5 else 'most'}", share=shown)


def details(answer: HeatAnswer, writer: Writer) -> list[str]:
    """Warnings, then facts: what stands below the verdict."""
    return [*warnings(answer, writer), *facts(answer, writer)]


def facts(answer: HeatAnswer, writer: Writer) -> list[str]:
    """Life, room to the protector, and the standard's rise, which is another temperature."""
    told, study = [], answer.study
    if study.hours is not None:
        hours, years = _hours(study.hours), years_text(answer.years, writer)
        told.append(writer("heat.life", hours=hours, years=years))
    if answer.room is not None:
        told.append(writer("heat.protector", room=kelvins(Band.of(answer.room), writer)))
    rise, allowed = kelvins(study.rise, writer), answer.rise_allowed
    if allowed is None:
        return [*told, writer("heat.rise", rise=rise)]
    return [*told, writer("heat.rise_allowed", rise=rise, allowed=kelvin(allowed))]


def warnings(answer: HeatAnswer, writer: Writer) -> list[str]:
    """Doubts about the motor or the estimate; the effect of readings."""
    told, rated, read = [], answer.place.motor.ambient, answer.place.read
    if not answer.starts:
        told.append(writer("heat.warning.crawls"))
    air = Band.of(answer.conditions.temp_air)
    if rated is not None and air.mid > rated:
        shown = degrees(air, writer)
        told.append(writer("heat.warning.ambient", air=shown, rated=degree(rated)))
    if read:
        before, after = (Quantity(band, "temperature", 0) for band in (read.before, read.after))
        told.append(writer("heat.warning.read", before=before, after=after))
        told += [writer("heat.warning.strained")] * bool(read.strained)
    return told


def day(answer: HeatAnswer, writer: Writer) -> str:
    """How hot the day gets the winding, when, and whether a usual protector would open."""
    history = answer.day.history
    peaks = history.average.max(axis=0)
    hour = float(np.median(history.time[np.argmax(history.average, axis=0)])) / 3600
    told = writer(
        "heat.day.told",
        average=degrees(Band.of(peaks), writer),
        hour=round(hour),
        spot=degrees(Band.of(hot_spot(peaks)), writer),
    )
    if answer.room is None:
        return told
    cases = history.closed.shape[1]
    protector = usual_protector(answer.place.motor.insulation_class, cases)
    opens = np.any(protector.felt(history.temps) > protector.trip, axis=0).sum()
    return f"{told} {writer('heat.day.opens', opens=int(opens), cases=cases)}"


def locked(answer: HeatAnswer, writer: Writer) -> str:
    """When the protector of a locked rotor opens and closes, and how hot the winding gets."""
    found = answer.locked
    if found.time_to_trip is None:
        return writer("heat.locked.never")
    values, key = {"trip": _time(found.time_to_trip)}, "once"
    if found.time_to_reset is not None:
        values["reset"], key = _time(found.time_to_reset), "closes"
        if found.cycles_per_hour is not None:
            low, _, high = found.cycles_per_hour
            values |= {"low": f"{low:.1f}", "high": f"{high:.1f}"}
            key = "cycles"
    peak = writer(
        "heat.locked.peak",
        peak=degrees(found.peak, writer),
        first=degree(found.first_hour),
        later=degree(found.later),
    )
    return f"{writer(f'heat.locked.{key}', **values)} {peak}"


def trips(answer: HeatAnswer, writer: Writer) -> str:
    """Trips in the year though nothing is broken."""
    found = answer.year.trips
    if found is None:
        return writer("heat.trips.unknown")
    if found.chance == 0:
        return writer("heat.trips.none", room=kelvins(found.room, writer))
    low, mid, high = map(round, found.trips)
    key, share = ("rare", 0.01) if found.chance < 0.01 else ("some", found.chance)
    shown = Quantity(share, "share", 0)
    return writer(f"heat.trips.{key}", low=low, mid=mid, high=high, share=shown)


def classes(answer: HeatAnswer, writer: Writer) -> str:
    """What class F for 70 degC gains over class B for 60, as room and as life."""
    found = answer.place.classes
    low, mid, high = (f"{times:.1f}" for times in found.times)
    room = kelvins(found.more_margin, writer)
    return writer("heat.classes.told", room=room, times=mid, low=low, high=high)


def height(answer: HeatAnswer, writer: Writer) -> str:
    """What a high site does to the winding, effect by effect; of HEIGHTS the middle one."""
    one = answer.place.heights[len(answer.place.heights) // 2]
    return writer(
        "heat.height.told",
        elevation=Quantity(one.elevation, "elevation", 0),
        together=kelvins(one.together, writer),
        **{name: kelvin(getattr(one, name).mid) for name in ("load", "cooling", "coil")},
    )


def years_text(years: Band, writer: Writer) -> str:
    """A range of ``years`` [years] with two figures; none is counted beyond LONGEST_YEARS."""
    if years.low >= LONGEST_YEARS:
        return writer("heat.years.beyond", longest=LONGEST_YEARS)
    low, high = (float(f"{end:.2g}") for end in (years.low, years.high))
    key = "and_more" if years.high >= LONGEST_YEARS else "range"
    return writer(f"heat.years.{key}", low=low, high=high)


def degree(temp) -> Quantity:
    """A temperature [degC], without decimals."""
    return Quantity(float(temp), "temperature", 0)


def kelvin(rise) -> Quantity:
    """A difference of temperatures [K], without decimals."""
    return Quantity(float(rise), "temperature_rise", 0)


def degrees(band: Band, writer: Writer) -> str:
    """The median and the 90 % range of temperatures [degC]."""
    return writer.estimate(band, "temperature", 0)


def kelvins(band: Band, writer: Writer) -> str:
    """The median and the 90 % range of differences [K]."""
    return writer.estimate(band, "temperature_rise", 0)


def _hours(hours: Band) -> Message:
    low, mid, high = (f"{float(f'{end:.2g}'):,.0f}" for end in hours)
    key = "beyond" if hours.low >= LONGEST else "median"
    return Message(f"heat.hours.{key}", low=low, mid=mid, high=high)


def _time(seconds: Band) -> Message:
    """A range of seconds, in minutes where its high end is two minutes or more."""
    key, over = ("minutes", 60) if seconds.high >= 120 else ("seconds", 1)
    low, high = (float(f"{end / over:.2g}") for end in (seconds.low, seconds.high))
    return Message(f"heat.locked.{key}", low=low, high=high)
