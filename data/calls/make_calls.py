"""Generate calls.csv and one-truck.csv next to this file: invented service calls.

Each file contains three years of calls with deliberate gaps: one for a shop with four trucks, the
other for a shop with one truck. Units, places, days and gaps are invented. A failed motor's
nameplate is based on a single-rating motor from the invented catalog, as installed at the factory;
amps, speed, capacitor and shaft differ within the usual variation between equivalent motors. Most
calls therefore have motors that fit, more than in a real history.

Command: python data/calls/make_calls.py
"""

import csv
import io
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.core.files import data_folder
from airover.core.units import convert, show
from airover.records.catalog import read_catalog


class History(NamedTuple):
    """File of calls: the number of calls, and the number of unit types they come from."""

    file: str
    seed: int
    calls: int
    kinds: int


HISTORIES = (History("calls.csv", 7411, 5000, 620), History("one-truck.csv", 7412, 600, 60))
FIRST, DAYS = np.datetime64("2023-01-01"), 3 * 365 + 1
# location: outdoor design temperature [degF], elevation [ft], fraction of calls
PLACES = {
    "North": (95, 900, 0.22), "East": (98, 700, 0.30), "South": (102, 400, 0.33),
    "Hills": (93, 2600, 0.15),
}  # fmt: skip
LINES = ("", "", 232, 238, 242)  # volts over 230 V nominal; not measured in two of five calls
WEIGHTS = {(115, 60): 0.15, (230, 60): 1.0, (460, 60): 0.35, (230, 50): 0.0}
CAPACITORS = np.array([2, 2.5, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 17.5, 20, 25, 30, 35, 40])
HEADINGS = (
    "date", "place", "voltage [V]", "frequency [Hz]", "power [hp]", "current [A]", "speed [rpm]",
    "capacitor [uF]",
    "rotation", "rotation seen from", "frame", "shaft diameter [in]", "shaft length [in]",
    "body length [in]", "mounting", "shaft position", "kind", "outdoor temperature [degF]",
    "elevation [ft]", "line voltage [V]",
)  # fmt: skip
# cells left blank, and how often: the nameplate weathers, the tape measure stays in the truck
GAPS = (
    ((), 0.62), (("power [hp]",), 0.05), (("current [A]",), 0.03), (("speed [rpm]",), 0.01),
    (("capacitor [uF]",), 0.05), (("rotation", "rotation seen from"), 0.06),
    (("rotation seen from",), 0.03), (("shaft length [in]", "body length [in]"), 0.08),
    (("mounting", "shaft position"), 0.04), (("frame", "shaft length [in]"), 0.02),
    (("power [hp]", "capacitor [uF]", "frame"), 0.01),
)  # fmt: skip


def units(rng, count: int) -> list[dict]:
    """Return ``count`` unit types for the calls: nameplate, location and supply voltage."""
    listed = read_catalog(data_folder() / "catalogue.csv")
    motors = [m for m in listed if m.body_length and len(m.ratings) == 1]
    weight = np.array([WEIGHTS[round(m.voltage_high), round(m.frequency)] for m in motors])
    weight *= [0.15 if m.frame in ("42", "56") else 1.0 for m in motors]
    chosen = rng.choice(len(motors), count, p=weight / weight.sum())
    return [unit(motors[at], rng) for at in chosen]


def unit(motor, rng) -> dict:
    """Return an invented unit whose failed motor was similar to a catalog motor."""
    place = str(rng.choice(list(PLACES), p=[share for _, _, share in PLACES.values()]))
    temp, elevation, _ = PLACES[place]
    capacitor = CAPACITORS[np.abs(CAPACITORS - motor.capacitor * 1e6).argmin()]
    line = LINES[rng.integers(len(LINES))]
    shaft = convert(motor.shaft_length, "shaft_length", "in") - rng.choice([0, 0, 0.5, 1])
    voltage = {motor.voltage_low, motor.voltage_high}
    kind = "electronically commutated" if rng.random() < 0.015 else ""
    return {
        "place": place,
        "voltage [V]": "-".join(f"{volts:g}" for volts in sorted(voltage)),
        "frequency [Hz]": f"{motor.frequency:g}",
        "power [hp]": show(motor.ratings[0], "power").removesuffix(" hp"),
        "current [A]": f"{motor.currents[0] * np.exp(0.04 * rng.standard_normal()):.2g}",
        "speed [rpm]": f"{motor.speed_rpm - rng.choice([0, 0, 0, 15]):.0f}",
        "capacitor [uF]": f"{capacitor:g}",
        "rotation": str(rng.choice(["clockwise", "counterclockwise"])),
        "rotation seen from": "lead end",
        "frame": motor.frame,
        "shaft diameter [in]": show(motor.shaft_diameter, "shaft_diameter").removesuffix(" in"),
        "shaft length [in]": f"{max(shaft, 2.5):g}",
        "body length [in]": f"{convert(motor.body_length, 'body_length', 'in') + 0.25:.4g}",
        "mounting": str(rng.choice(motor.mounting)),
        "shaft position": str(rng.choice(["down", "down", "down", "up", "horizontal"])),
        "kind": kind,
        "outdoor temperature [degF]": temp,
        "elevation [ft]": elevation,
        "line voltage [V]": line if line == "" else round(line * motor.voltage_high / 230),
    }  # fmt: skip


def days(rng, calls: int) -> np.ndarray:
    """Return the days of the ``calls``: seasonal wave, heat waves and random clusters."""
    day = np.arange(DAYS)
    rate = 1 + 1.1 * np.maximum(-np.cos(2 * np.pi * (day - 20) / 365.25), -0.6)
    for start in rng.choice(day[(day % 365 > 150) & (day % 365 < 250)], 9):
        rate[start : start + 6] *= 2.0
    rate *= rng.gamma(6.0, 1 / 6.0, DAYS)  # overdispersion from day to day
    return np.sort(rng.choice(day, calls, p=rate / rate.sum()))


def rows(history: History):
    """Return the rows of the table, by heading."""
    rng = np.random.default_rng(history.seed)
    kinds = units(rng, history.kinds)
    often = 1 / np.arange(2, history.kinds + 2) ** 0.75  # a few unit types are very common
    chances = [chance for _, chance in GAPS]
    for day in days(rng, history.calls):
        found = dict(kinds[rng.choice(history.kinds, p=often / often.sum())])
        for heading in GAPS[rng.choice(len(GAPS), p=chances)][0]:
            found[heading] = ""
        yield {"date": str(FIRST + day), **found}


def main() -> None:
    """Write both files next to this one."""
    for history in HISTORIES:
        text = io.StringIO()
        writer = csv.DictWriter(text, HEADINGS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows(history))
        Path(__file__).with_name(history.file).write_text(text.getvalue(), encoding="utf-8")


if __name__ == "__main__":
    main()
