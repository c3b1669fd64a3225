"""A lumped motor's cycles beside the closed form of one node: peak, valley, trip and reset."""

import numpy as np
import pytest

from airover.physics.thermal_network import Nodes, placed, usual_inside, usual_network
from airover.physics.thermal_transient import Protector, ThermalMoment, follow, follow_many

AIR, FILM, LOSS, ON, WHOLE = 40.0, 55.0, 165.7, 600.0, 1200.0
SOURCE = "one node heated and cooled, closed form, any handbook, recomputed in this test"


@pytest.fixture(scope="module")
def lump():
    """A motor whose nodes are one, its time constant [s] and its steady rise [K]."""
    inside = usual_inside(0.142, 0.13)
    inside = type(inside)(*(1e5 * g for g in inside))
    found = usual_network(0.142, 0.13, inside, emissivity=0.0)
    one = found.rearranged(lambda value: np.atleast_1d(np.asarray(value, dtype=float)))
    conductance = float(((one.area + 2 * one.hub) * FILM + one.fin)[0])
    return one, float(sum(one.capacity)[0]) / conductance, LOSS / conductance


def heated(on=np.inf):
    def moment(time, temps, closed):
        return ThermalMoment(placed(0, 0, 0, LOSS * closed * (time % WHOLE < on), 0), FILM, AIR)

    return moment


def test_peak_and_valley_of_equal_cycles(book, lump):
    one, constant, rise = lump
    instants = [k * WHOLE + part for k in range(30) for part in (0.0, ON)]
    start = Nodes.all_at(AIR)
    found = follow_many(one, heated(ON), start, 30 * WHOLE, 60.0, None, instants)
    core = found.temps.core[found.time >= 29 * WHOLE - 1e-6, 0] - AIR
    peak = rise * np.expm1(-ON / constant) / np.expm1(-WHOLE / constant)
    valley = peak * np.exp(-(WHOLE - ON) / constant)
    # the shell's own draught adds up to 0.1 % to the film, and is not in the closed form
    book.agrees("peak of a cycle, K", core.max(), peak, within=2e-3, source=SOURCE)
    book.agrees("minimum of a cycle, K", core.min(), valley, within=4e-3, source=SOURCE)


def many(one, *asked):
    found = follow_many(one, heated(), *asked[:2], 0.5, asked[2])
    return found.time[1:][np.diff(found.closed[:, 0].astype(int)) != 0]


def alone(one, *asked):
    single = one.rearranged(lambda value: float(value[0]))
    return follow(single, heated(), *asked).switched


# Many: a step of 0.5 s in some hundreds; both: the draught as above.
@pytest.mark.parametrize(("by", "way"), [("", many), (", a single motor", alone)])
def test_trip_and_reset(book, lump, by, way):
    one, constant, rise = lump
    protector = Protector(AIR + 0.7 * rise, AIR + 0.35 * rise, Nodes(1, 0, 0, 0, 0, 0, 0))
    trip, reset = -constant * np.log(0.3), constant * np.log(2)
    again = constant * np.log(0.65 / 0.3)
    flips = way(one, Nodes.all_at(AIR), trip + reset + 1.1 * again, protector)
    times = np.diff(flips, prepend=0.0)
    for name, ours, closed_form in zip(
        ("to trip", "to reset", "to trip again"), times, (trip, reset, again), strict=True
    ):
        book.agrees(f"time {name}{by}, s", ours, closed_form, within=4e-3, source=SOURCE)
