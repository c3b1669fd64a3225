"""The curve drawn back to switch-off against SciPy's fit and the straight line of the standards."""

import contextlib

import numpy as np
import pytest
from scipy.optimize import curve_fit

from airover.core.errors import InputError
from airover.physics import heat

TIME = np.arange(8.0, 128.0, 12.0)
NOISE = np.random.default_rng(5).normal(0, 0.02, TIME.size)
OHMS = 40.0 + 11.0 * np.exp(-TIME / 95.0) + NOISE  # invented readings


def falling(time, start, constant, end):
    return end + (start - end) * np.exp(-time / constant)


@pytest.mark.parametrize("end", [None, 40.0])
def test_drawn_back_as_scipy_does(book, end):
    free = 3 if end is None else 2

    def model(time, *found):
        return falling(time, *found, *([] if end is None else [end]))

    fitted, covariance = curve_fit(model, TIME, OHMS, p0=[51.0, 90.0, 39.0][:free])
    ours = heat.at_switch_off(TIME, OHMS, end)
    asked = "end found" if end is None else "end known"
    source = "SciPy, optimize.curve_fit, run in this test"
    error = np.sqrt(covariance[0, 0])
    # both stop their search at about one part in a million
    for name, mine, theirs, within in (
        ("ohm", ours.resistance_hot, fitted[0], 1e-5),
        ("s", ours.time_constant, fitted[1], 1e-3),
        ("error, ohm", ours.standard_error, error, 1e-2),
    ):
        road = "heat", f"switch-off, {name}"
        book.agrees(f"{asked}, {name}", mine, theirs, within=within, source=source, road=road)


def test_drawn_back_as_a_line_in_the_logarithm(book):
    slope, height = np.polyfit(TIME, np.log(OHMS - 40.0), 1)
    ours = heat.at_switch_off(TIME, OHMS, 40.0)
    source = "IEEE 112 and IEC 60034-1, line in the logarithm, NumPy polyfit, run in this test"
    # the line weighs late readings more, so it differs by less than the scatter of 0.02 ohm
    line = 40.0 + np.exp(height)
    book.agrees("line, ohm", ours.resistance_hot, line, within=5e-4, source=source)
    book.agrees("line, s", ours.time_constant, -1 / slope, within=0.02, source=source)


@pytest.mark.parametrize("end", [None, 40.0])
def test_error_by_a_meter_of_known_deviation(book, end):
    """A small coil that cools within a second, whose start and rate are equally unsure."""
    time, meter, free = TIME / 100, 0.05, 3 if end is None else 2

    def model(time, *found):
        return falling(time, *found, *([] if end is None else [end]))

    known = {"sigma": np.full(TIME.size, meter), "absolute_sigma": True}
    _, covariance = curve_fit(model, time, OHMS, p0=[51.0, 0.9, 39.0][:free], **known)
    ours = heat.at_switch_off(time, OHMS, end, meter).standard_error
    theirs = np.sqrt(covariance[0, 0])
    source = "SciPy, optimize.curve_fit with sigma, run in this test"
    asked = "end found" if end is None else "end known"
    road = "heat", "error from the meter, ohm"
    item = f"{asked}, error by a meter of 0.05 ohm"
    book.agrees(item, ours, theirs, within=1e-3, source=source, road=road)


def test_the_standards_time_to_the_first_reading(book):
    source = "IEC 60034-1, rise by resistance, up to 50 kW, from memory, not verified"
    taken = []
    for first in range(20, 70):
        time = first + TIME - TIME[0]
        with contextlib.suppress(InputError):
            taken.append((heat.at_switch_off(time, falling(time, 51, 95, 40)).late, first))
    soon = max(first for late, first in taken if not late)
    latest = max(first for _, first in taken)
    book.agrees("first reading within, s", soon, 30, within=0, source=source)
    book.agrees("no first reading after, s", latest, 60, within=0, source=source)


@pytest.mark.parametrize(
    ("k", "material", "cold", "rise"),
    [(235, "copper", 25, 83.2), (225, "aluminum", 25, 80.0), (235, "copper", 20, 81.6)],
)
def test_rise_from_the_drawn_back_resistance(book, k, material, cold, rise):
    """10 ohm cold and 13.2 ohm at switch-off, seen only from 10 s on."""
    time = np.arange(10.0, 100.0, 10.0)
    ohms = 10.0 + 3.2 * np.exp(-time / 70.0)
    found = heat.at_switch_off(time, ohms)
    ours = heat.rise_by_resistance(10.0, found.resistance_hot, cold, cold, material)
    source = f"IEC 60034-1, rise by resistance, k {k}, from memory, recomputed"
    # 1e-4 of the resistance is 1e-3 of the rise
    book.agrees(f"rise, {material}, {cold} degC, K", ours, rise, within=1e-3, source=source)
