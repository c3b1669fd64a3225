"""Sizing against rules of the trade: torque, standard ratings, fan laws by the speeds of poles."""

import numpy as np
import pytest

from airover.model.sizing import HORSEPOWER, Duty, above, at_speeds, size
from tests.model.test_sizing import FAN


def exactly(power, speed_rpm):
    one = np.ones(3)
    return Duty(speed_rpm * one, 1.2 * one, one, 30 * one, power * one)


@pytest.mark.parametrize("text, horsepower, speed_rpm", [("1/3", 1 / 3, 1075), ("1/6", 1 / 6, 825)])
def test_torque_by_the_trades_rule(book, text, horsepower, speed_rpm):
    found = size(exactly(horsepower * HORSEPOWER, speed_rpm), margin=0.0)
    book.agrees(
        f"torque of {text} hp at {speed_rpm} rpm, lbf ft",
        found.torque.mid / 1.3558179,
        5252 * horsepower / speed_rpm,
        within=1e-4,  # 5252 has four figures
        source="lbf ft = 5252 hp/rpm, common practice, no source",
    )


@pytest.mark.parametrize(
    "watts, text, rating",
    [
        (100.0, "1/6", 124.28),
        (190.0, "1/3", 248.57),
        (300.0, "1/2", 372.85),
        (400.0, "3/4", 559.27),
    ],
)
def test_the_standard_horsepower_above(book, watts, text, rating):
    found = above(watts)
    assert found.text == f"{text} hp"
    source = "list of ratings as in NEMA MG 1 10.33, from memory, not verified"
    book.agrees(
        f"rating above {watts:g} W: {text} hp, W", found.power, rating, within=1e-4, source=source
    )


def test_eight_poles_for_six(book):
    fast, slow = at_speeds(FAN, 30.0, 1.2)
    source = "fan laws as in ISO 5801 and the ASHRAE Handbook, from memory, recomputed"
    for name, theirs in (("flow_m3s", 0.76744), ("pressure_pa", 0.58897), ("power_shaft_w", 0.452)):
        ours = slow.bands[name].mid / fast.bands[name].mid
        item = f"{name.rpartition('_')[0]}, 1075 to 825 rpm on one system"
        book.agrees(item, ours, theirs, within=4e-5, source=source)  # five figures
