"""One motor across voltage, capacitors and ratings, as tables (pandas)."""

import numpy as np
import pandas as pd

from airover.bands import Band
from airover.motor.compare import Beside
from airover.motor.expected import Expected, Loaded
from airover.motor.one import CapacitorStep, RatingStep
from airover.motor.starting import Start
from airover.texts import Writer

ENGLISH = Writer("en")
_ENDS = {1: "runs", 0: "stands", -1: "backward"}


def voltages(expected: Expected, write: Writer = ENGLISH) -> pd.DataFrame:
    """At the ends of the nameplate's voltage and at its limits: what to expect there."""
    run = expected.sweep
    places = np.flatnonzero(np.isin(run.voltage, expected.mounted.steps))
    chance, room = run.chance_of_start(), run.room_to_trip()
    rows = []
    for at in places:
        bands = {name: _at(band, at) for name, band in expected.across.items()}
        rows.append(
            {
                "volts": f"{run.voltage[at]:.0f}",
                "amps": _between(bands["current_a"], 2, write),
                "watts": _between(bands["power_in_w"], 0, write),
                "rpm": _between(bands["speed_rpm"], 0, write),
                "winding": _temp(bands["temp_winding_c"].mid, write),
                "room": _rise(room and _at(room, at), write),
                "starts": _share(chance[at]),
            }
        )
    return _frame(rows, write)


def capacitors(steps: tuple[CapacitorStep, ...], write: Writer = ENGLISH) -> pd.DataFrame:
    """One row for each capacitor: what it does to amps, heat, its own voltage and starting."""
    rows = [
        {
            "share": _share(step.share),
            "capacitance": f"{1e6 * step.capacitance:.3g}",
            "amps": _between(step.current, 2, write),
            "watts": _between(step.power_in, 0, write),
            "winding": _temp(step.temp_winding.mid, write),
            "capacitor_volts": _between(step.voltage_capacitor, 0, write),
            "starting": f"{step.starting.mid:.2f}",
            "starts": _share(step.chance_of_start),
        }
        for step in steps
    ]
    return _frame(rows, write)


def starts(found: tuple[Start, ...], write: Writer = ENGLISH) -> pd.DataFrame:
    """One row for each start that was followed in time; crests are not what a meter shows."""
    rows = [
        {
            "start": write.texts.texts.get(f"expected.start.{one.case.name}", one.case.name),
            "volts": f"{one.case.voltage:.0f}",
            "end": write(f"expected.end.{_ENDS[one.run_up.direction]}"),
            "after": f"{one.run_up.time:.1f}",
            "rpm": f"{one.run_up.speed_rpm:.0f}",
            "crest_amps": f"{one.run_up.current_peak:.1f}",
            "crest_volts": f"{one.run_up.voltage_capacitor_peak:.0f}",
        }
        for one in found
    ]
    return _frame(rows, write)


def loads(steps: tuple[Loaded, ...], write: Writer = ENGLISH) -> pd.DataFrame:
    """One row for each load: how much of it the amps show, and how much the watts do."""
    (whole,) = [one.bands for one in steps if one.share == 1]

    def of_whole(bands: dict, name: str) -> str:
        return _share(bands[name].mid / whole[name].mid)

    rows = [
        {
            "fan": _share(share),
            "shaft_watts": f"{bands['power_shaft_w'].mid:.0f}",
            "shaft_power": of_whole(bands, "power_shaft_w"),
            "amps": f"{bands['current_a'].mid:.2f}",
            "current": of_whole(bands, "current_a"),
            "watts_in": f"{bands['power_in_w'].mid:.0f}",
            "power_in": of_whole(bands, "power_in_w"),
            "rpm": f"{bands['speed_rpm'].mid:.0f}",
        }
        for share, bands in steps
    ]
    return _frame(rows, write)


def ratings(
    found: tuple[Beside, ...], hours: float, price: float, write: Writer = ENGLISH
) -> pd.DataFrame:
    """One row for each rating of a motor; ``hours`` [h] a year at ``price`` [USD per kWh]."""
    return _frame([_rating(one.step, hours, price, write) for one in found], write)


def dedicated(
    found: tuple[Beside, ...], hours: float, price: float, write: Writer = ENGLISH
) -> pd.DataFrame:
    """The motor that was made for each of these ratings alone, and what it saves a year."""
    rows = []
    for one in found:
        if one.other_step is None:
            fan, none = write.amount(one.power, "power"), write("expected.table.no_motor")
            rows.append({"fan": fan, "motor": none})
            continue
        more = one.step.energy.mid - one.other_step.energy.mid
        row = _rating(one.other_step, hours, price, write)
        saved = {"saves": f"{hours * more * price:.2f}"}
        rows.append({"fan": row.pop("fan"), "motor": one.other.name, **row, **saved})
    return _frame(rows, write).fillna("")


def _rating(step: RatingStep, hours: float, price: float, write: Writer) -> dict:
    bands, energy = step.bands, step.energy.scaled(hours)
    return {
        "fan": write.amount(step.power, "power"),
        "rpm": f"{bands['speed_rpm'].mid:.0f}",
        "amps": _between(bands["current_a"], 2, write),
        "rated_amps": f"{step.plate_current:g}",
        "watts": _between(bands["power_in_w"], 0, write),
        "efficiency": f"{bands['efficiency'].mid:.2f}",
        "power_factor": f"{bands['power_factor'].mid:.2f}",
        "winding": _temp(bands["temp_winding_c"].mid, write),
        "energy": f"{energy.mid:.0f}",
        "cost": f"{energy.mid * price:.2f}",
    }


def _frame(rows, write: Writer) -> pd.DataFrame:
    """Rows under headings that have their unit, which is that of the texts' amounts."""
    kinds = {"winding": "temperature", "room": "temperature_rise"}
    units = {name: write.amount(0.0, kind).split()[-1] for name, kind in kinds.items()}
    frame = pd.DataFrame(rows)
    heads = {name: {"unit": units[name]} if name in units else {} for name in frame.columns}
    return frame.rename(columns={n: write(f"expected.table.{n}", **v) for n, v in heads.items()})


def _at(band: Band, place: int) -> Band:
    return Band(*(float(ends[place]) for ends in band))


def _between(band: Band, decimals: int, write: Writer) -> str:
    low, high = (f"{end:.{decimals}f}" for end in (band.low, band.high))
    return low if low == high else write("to", low=low, high=high)


def _temp(value: float, write: Writer) -> str:
    return write.amount(value, "temperature", 0).split()[0]


def _rise(room: Band | None, write: Writer) -> str:
    """The median of the room to the trip; nothing below zero is room."""
    if room is None:
        return write("expected.table.no_class")
    if room.mid < 0:
        return write("expected.table.no_room")
    return write.amount(room.mid, "temperature_rise", 0).split()[0]


def _share(share: float) -> str:
    return f"{100 * share:.0f} %"
