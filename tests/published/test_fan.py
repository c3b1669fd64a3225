"""Fan laws, an operating point in closed form, and the thrust of a propeller fan."""

import numpy as np
import pytest
from scipy.optimize import brentq

from airover.physics.air import moist_air_density, standard_pressure
from airover.physics.fan import FanCurve, scale, thrust

FAN_LAWS = "fan laws as in ISO 5801 and the ASHRAE Handbook, from memory, recomputed"


@pytest.mark.parametrize(
    ("item", "ratios", "published"),
    [
        ("1075 to 825 rpm", {"speed_ratio": 825 / 1075}, (0.76744, 0.58897, 0.45200)),
        ("22 to 24 in", {"diameter_ratio": 24 / 22}, (1.2983, 1.1901, 1.5451)),
    ],
)
def test_fan_laws(book, item, ratios, published):
    names = ("flow", "pressure", "power")
    for name, ours, theirs in zip(names, scale(1.0, 1.0, 1.0, **ratios), published):
        # five printed figures
        book.agrees(f"{name}, {item}", ours, theirs, within=4e-5, source=FAN_LAWS)


# Air density over that of 0.075 lb/ft3: the factors by which a fan's pressure and power are
# corrected. From the standard atmosphere's pressure at 70 degF, and from the absolute temperature.
AIR_FACTORS = "altitude and temperature factors as in the ASHRAE Handbook, from memory, recomputed"
FACTORS = [(0, 70, 1.0), (1000, 70, 0.964), (5000, 70, 0.832), (8000, 70, 0.743), (0, 150, 0.869)]


@pytest.mark.parametrize(("feet", "degf", "factor"), FACTORS)
def test_thin_air(book, feet, degf, factor):
    there, standard = (
        moist_air_density((temp - 32) / 1.8, standard_pressure(height * 0.3048))
        for height, temp in ((feet, degf), (0, 70))
    )
    flow, pressure, power = scale(1.0, 1.0, 1.0, density_ratio=there / standard)
    item = f"{feet} ft, {degf} degF"
    # the same volume; three printed figures
    book.agrees(f"flow at {item}", flow, 1.0, within=1e-12, source=AIR_FACTORS)
    book.agrees(f"pressure at {item}", pressure, factor, within=7e-4, source=AIR_FACTORS)
    book.agrees(f"power at {item}", power, factor, within=7e-4, source=AIR_FACTORS)


def parabola(points):
    """The fan 60 - 60 (Q/1.8)^2 Pa from so many equally spaced points."""
    flow = np.linspace(0, 1.8, points)
    return FanCurve(flow, 60 - 60 * (flow / 1.8) ** 2, np.full(points, 150.0), 1075.0, 1.2)


@pytest.mark.parametrize(
    ("points", "within"),
    # 5 figures are printed; few points leave the error of the interpolation, up to
    # h^2/8 x curvature in the pressure: 0.2 % with 4 points
    [(200, 3e-5), (10, 2e-4), (4, 2e-3)],
)
def test_operating_point_of_a_parabola(book, points, within):
    found = parabola(points).operating_point(25.0, 1075.0, 1.2)
    source = "crossing of 60 - 60 (Q/1.8)^2 with 25 Q^2 in closed form, recomputed"
    item = f"crossing, {points} points, "
    book.agrees(item + "flow, m3/s", found.flow, 1.1742, within=within, source=source)
    book.agrees(item + "pressure, Pa", found.pressure, 34.468, within=within, source=source)


@pytest.mark.parametrize(("speed_rpm", "density"), [(825.0, 1.2), (1140.0, 0.95)])
def test_operating_point_at_another_speed_and_density(book, speed_rpm, density):
    share = speed_rpm / 1075

    def excess(flow):  # the fan laws written out, not scaled coordinates
        return density / 1.2 * (60 * share**2 - 60 * (flow / 1.8) ** 2) - 25 * flow**2

    book.agrees(
        f"crossing at {speed_rpm:g} rpm, {density:g} kg/m3, flow",
        parabola(400).operating_point(25.0, speed_rpm, density).flow,
        brentq(excess, 0.1, 1.9),
        within=1e-7,  # dense points: interpolation error below the fourth power of 1/400
        source="SciPy brentq on the closed form, run in this test",
        road=("fan", "operating point"),
    )


def test_thrust(book):
    flow, diameter = 2400 * 0.3048**3 / 60, 22 * 0.0254
    book.agrees(
        "thrust at 2400 cfm, 22 in, 37 Pa, 1.1 kg/m3, N",
        thrust(flow, 37.0, diameter, 1.1),
        11.951,
        within=1e-4,  # five printed figures
        source="momentum theory, from memory, recomputed",
    )
