"""How readings are worked in, against closed forms and tables."""

import numpy as np

from airover.core.intervals import normal_draws
from airover.service.inference import MeterReading, farthest, inferred
from airover.service.readings import Simulated, cells

CHI_SQUARED = "Table of the chi-squared distribution, upper 0.1 % point, from memory, not verified"


def motor(draws=400) -> Simulated:
    """Every cell alike: speed normal about 1080 rpm with a deviation of 10, power following it."""
    z = normal_draws(np.random.default_rng(1), ["speed"], draws)["speed"]
    kinds = cells()
    speed = np.broadcast_to(1080.0 + 10.0 * z, (1, len(kinds), draws))
    figures = {"speed_rpm": speed, "temp_winding_c": 100 - 0.5 * (speed - 1080)}
    runs = np.ones((len(kinds), draws), bool)
    return Simulated(kinds, {"speed_rpm": speed}, figures, runs, {})


def test_errors_of_a_meter(book):
    deviation = MeterReading(0, "voltage", 230.0, 1.0, "230 V").deviation
    source = "GUM (JCGM 100:2008), 4.3.7, uniform between the limits, from memory, recomputed"
    book.agrees(
        "standard deviation of a meter over its error limit",
        deviation,
        0.57735,
        within=1e-5,
        source=source,
    )


def test_a_normal_reading_of_a_normal_quantity(book):
    """Prior 1080 +- 10, reading 1090 +- 5: the middle goes to 1088, the deviation to sqrt(20)."""
    read = MeterReading(0, "speed_rpm", 1090.0, 5.0 * np.sqrt(3.0), "1090 rpm")
    low, mid, high = inferred(motor(4000), (read,)).band("speed_rpm")
    source = "Gelman and others, Bayesian Data Analysis, 3rd ed., 2.5, recomputed"
    book.agrees("rpm after a reading", mid, 1088.0, within=1e-3, source=source)
    # 4000 draws: 2 % of a width; 400 miss it by 6 %
    ours = (high - low) / (2 * 1.6449)
    book.agrees("its standard deviation", ours, np.sqrt(20.0), within=0.02, source=source)


def test_a_quantity_that_follows_the_reading(book):
    read = MeterReading(0, "speed_rpm", 1090.0, 5.0 * np.sqrt(3.0), "1090 rpm")
    ours = inferred(motor(), (read,)).band("temp_winding_c").mid
    source = "Gelman and others, Bayesian Data Analysis, 3rd ed., 2.5 and A.1, recomputed"
    book.agrees("winding, on a straight line with rpm", ours, 96.0, within=2e-3, source=source)


def test_farthest_good_readings(book):
    for number, published in ((3, 16.266), (6, 22.458), (10, 29.588)):
        item = f"chi-squared, {number} readings, 0.1 %"
        book.agrees(item, farthest(number), published, within=0.02, source=CHI_SQUARED)
