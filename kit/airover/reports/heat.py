"""What a day, a locked rotor, a year, another class and height show, in the reader's words."""

import numpy as np

from airover.bands import Band
from airover.heat.answer import HeatAnswer
from airover.heat.trip_cycle import usual_protector
from airover.motor.lifetime import hot_spot
from airover.units import show


def day(answer: HeatAnswer) -> str:
    """How hot the day gets the winding, when, and whether a usual protector would open."""
    history = answer.day.history
    peaks = history.average.max(axis=0)
    hour = float(np.median(history.time[np.argmax(history.average, axis=0)])) / 3600
    told = (
        f"Average of the winding at most {answer.degrees(Band.of(peaks))}, at about {hour:.0f} "
        f"o'clock; its hottest spot is then {answer.degrees(Band.of(hot_spot(peaks)))}."
    )
    if answer.room is None:
        return told
    cases = history.closed.shape[1]
    protector = usual_protector(answer.place.motor.insulation_class, cases)
    opens = np.any(protector.felt(history.temps) > protector.trip, axis=0).sum()
    return f"{told} A usual protector would open in {opens} of {cases} cases."


def locked(answer: HeatAnswer) -> str:
    """When the protector of a locked rotor opens and closes, and how hot the winding gets."""
    found = answer.locked
    if found.time_to_trip is None:
        return "In most cases the protector does not open within an hour and a half."
    told = [f"A blocked blade opens the protector after {_minutes(found.time_to_trip)}"]
    if found.time_to_reset is not None:
        told.append(f"it closes again {_minutes(found.time_to_reset)} later")
    if found.cycles_per_hour is not None:
        low, _, high = found.cycles_per_hour
        told.append(f"{low:.1f} to {high:.1f} times an hour")
    return (
        f"{', '.join(told)}. The hotter winding gets to {answer.degrees(found.peak)}; the standard "
        f"allows {answer.degree(found.first_hour)} in the first hour and "
        f"{answer.degree(found.later)} later."
    )


def trips(answer: HeatAnswer) -> str:
    """Trips in the year though nothing is broken."""
    found = answer.year.trips
    if found is None:
        return "Trips are not worked: where a protector of this class opens is not known."
    if found.chance > 0:
        return found.sentence
    return (
        "No trips of the protector are expected in a usual year: in the warmest hour there is room "
        f"of {answer.kelvins(found.room)}."
    )


def classes(answer: HeatAnswer) -> str:
    """What class F for 70 degC buys over class B for 60, in kelvin and as life."""
    found = answer.place.classes
    low, mid, high = found.times
    return (
        f"The class F motor has {answer.kelvins(found.more_margin)} more to its class; by the "
        f"hours of a usual year that is {mid:.1f} times the life ({low:.1f} to {high:.1f})."
    )


def height(answer: HeatAnswer) -> str:
    """What a high site does to the winding, effect by effect; of HEIGHTS the middle one."""
    one = answer.place.heights[len(answer.place.heights) // 2]
    at = show(one.elevation, "elevation", answer.shown, 0)
    return (
        f"At {at} the winding is {answer.kelvins(one.together)} hotter than at sea level: lighter "
        f"load {answer.kelvin(one.load.mid)}, thinner stream {answer.kelvin(one.cooling.mid)}, "
        f"hotter air from the coil {answer.kelvin(one.coil.mid)}."
    )


def _minutes(seconds: Band) -> str:
    """Seconds of a band, said in minutes where its high end is two minutes or more."""
    unit, over = ("min", 60) if seconds.high >= 120 else ("s", 1)
    low, high = (f"{float(f'{end / over:.2g}'):g}" for end in (seconds.low, seconds.high))
    return f"{low} to {high} {unit}"
