"""One motor across voltage, capacitors and ratings, as tables (pandas)."""

import numpy as np
import pandas as pd

from airover.bands import Band
from airover.motor.compare import Beside
from airover.motor.expected import Expected, Loaded
from airover.motor.one import CapacitorStep, RatingStep
from airover.motor.starting import Start
from airover.units import show

# The unit that stands in a heading is that of what ``show`` writes.
_DEGREES = {"US": "degF", "SI": "degC"}
_RISES = {"US": "degF", "SI": "K"}


def voltages(expected: Expected) -> pd.DataFrame:
    """At the ends of the plate's volts and at its limits: what to expect there."""
    run, system = expected.sweep, expected.system
    places = np.flatnonzero(np.isin(run.voltage, expected.mounted.steps))
    chance, room = run.chance_of_start(), run.room_to_trip()
    rows = []
    for at in places:
        bands = {name: _at(band, at) for name, band in expected.across.items()}
        rows.append(
            {
                "volts": f"{run.voltage[at]:.0f}",
                "amps": _between(bands["current_a"], 2),
                "watts": _between(bands["power_in_w"], 0),
                "rpm": _between(bands["speed_rpm"], 0),
                f"winding [{_DEGREES[system]}]": _temp(bands["temp_winding_c"].mid, system),
                f"room to trip [{_RISES[system]}]": _rise(room and _at(room, at), system),
                "starts": _share(chance[at]),
            }
        )
    return pd.DataFrame(rows)


def capacitors(steps: tuple[CapacitorStep, ...], system: str) -> pd.DataFrame:
    """One row for each capacitor: what it does to amps, heat, its own voltage and starting."""
    rows = [
        {
            "of the right one": _share(step.share),
            "uF": f"{1e6 * step.capacitance:.3g}",
            "amps": _between(step.current, 2),
            "watts": _between(step.power_in, 0),
            f"winding [{_DEGREES[system]}]": _temp(step.temp_winding.mid, system),
            "capacitor volts": _between(step.voltage_capacitor, 0),
            "starting torque": f"{step.starting.mid:.2f}",
            "starts": _share(step.chance_of_start),
        }
        for step in steps
    ]
    return pd.DataFrame(rows)


def starts(found: tuple[Start, ...]) -> pd.DataFrame:
    """One row for each start that was followed in time; crests are not what a meter shows."""
    ends = {1: "runs", 0: "stands", -1: "runs backwards"}
    rows = [
        {
            "start": one.case.name,
            "volts": f"{one.case.voltage:.0f}",
            "in the end it": ends[one.run_up.direction],
            "after [s]": f"{one.run_up.time:.1f}",
            "rpm": f"{one.run_up.speed_rpm:.0f}",
            "crest of amps": f"{one.run_up.current_peak:.1f}",
            "crest of capacitor volts": f"{one.run_up.voltage_capacitor_peak:.0f}",
        }
        for one in found
    ]
    return pd.DataFrame(rows)


def loads(steps: tuple[Loaded, ...]) -> pd.DataFrame:
    """One row for each load: how much of it the amps show, and how much the watts do."""
    (whole,) = [one.bands for one in steps if one.share == 1]

    def of_whole(bands: dict, name: str) -> str:
        return _share(bands[name].mid / whole[name].mid)

    rows = [
        {
            "fan": _share(share),
            "shaft watts": f"{bands['power_shaft_w'].mid:.0f}",
            "shaft power": of_whole(bands, "power_shaft_w"),
            "amps": f"{bands['current_a'].mid:.2f}",
            "current": of_whole(bands, "current_a"),
            "watts in": f"{bands['power_in_w'].mid:.0f}",
            "power in": of_whole(bands, "power_in_w"),
            "rpm": f"{bands['speed_rpm'].mid:.0f}",
        }
        for share, bands in steps
    ]
    return pd.DataFrame(rows)


def ratings(found: tuple[Beside, ...], hours: float, price: float, system: str) -> pd.DataFrame:
    """One row for each rating of a motor; ``hours`` [h] a year at ``price`` [USD per kWh]."""
    return pd.DataFrame([_rating(one.step, hours, price, system) for one in found])


def dedicated(found: tuple[Beside, ...], hours: float, price: float, system: str) -> pd.DataFrame:
    """The motor that was made for each of these ratings alone, and what it saves a year."""
    rows = []
    for one in found:
        if one.other_step is None:
            rows.append({"fan": show(one.power, "power", system), "motor": "none in the catalogue"})
            continue
        more = one.step.energy.mid - one.other_step.energy.mid
        saved = {"saves [USD a year]": f"{hours * more * price:.2f}"}
        row = _rating(one.other_step, hours, price, system)
        rows.append({"fan": row.pop("fan"), "motor": one.other.name, **row, **saved})
    return pd.DataFrame(rows).fillna("")


def _rating(step: RatingStep, hours: float, price: float, system: str) -> dict:
    bands, energy = step.bands, step.energy.scaled(hours)
    return {
        "fan": show(step.power, "power", system),
        "rpm": f"{bands['speed_rpm'].mid:.0f}",
        "amps": _between(bands["current_a"], 2),
        "plate's amps": f"{step.plate_current:g}",
        "watts": _between(bands["power_in_w"], 0),
        "efficiency": f"{bands['efficiency'].mid:.2f}",
        "power factor": f"{bands['power_factor'].mid:.2f}",
        f"winding [{_DEGREES[system]}]": _temp(bands["temp_winding_c"].mid, system),
        "kWh a year": f"{energy.mid:.0f}",
        "USD a year": f"{energy.mid * price:.2f}",
    }


def _at(band: Band, place: int) -> Band:
    return Band(*(float(ends[place]) for ends in band))


def _between(band: Band, decimals: int) -> str:
    ends = dict.fromkeys(f"{end:.{decimals}f}" for end in (band.low, band.high))
    return " to ".join(ends)


def _temp(value: float, system: str) -> str:
    return show(value, "temperature", system, 0).split()[0]


def _rise(room: Band | None, system: str) -> str:
    """The middle of the room to the trip; nothing below zero is room."""
    if room is None:
        return "class not known"
    return "none" if room.mid < 0 else show(room.mid, "temperature_rise", system, 0).split()[0]


def _share(share: float) -> str:
    return f"{100 * share:.0f} %"
