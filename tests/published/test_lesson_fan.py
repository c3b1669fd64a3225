"""The lesson's figures beside the fan laws, the standard atmosphere and a textbook's synchronous speed."""

import numpy as np
import pytest

from airover.core.files import data_folder
from airover.lesson.fan_laws import ELEVATIONS, FAST_RPM, FanLesson
from airover.records.catalog import read_catalog
from airover.records.fan import read_curve
from airover.records.job import Job

FAN_LAWS = "fan laws as in ISO 5801 and the ASHRAE Handbook, from memory, recomputed"
ATMOSPHERE = "ISO 2533 standard atmosphere, pressure at 3500 m, from memory, recomputed"
SYNCHRONOUS = "120 f / p, any textbook on electric machines, recomputed"


@pytest.fixture(scope="module")
def lesson():
    data = data_folder()
    job = Job.read(data / "jobs" / "roof-unit.toml")
    curve = read_curve(data / "curves" / "example-blade.csv")
    return FanLesson.of(job, curve, read_catalog(data / "catalogue.csv"))


@pytest.mark.parametrize("change, published", [(10, (1.1, 1.21, 1.331)), (-10, (0.9, 0.81, 0.729))])
def test_speed_and_what_follows(book, lesson, change, published):
    swept = lesson.speed
    for name, theirs in zip(("flow", "pressure", "power"), published, strict=True):
        ours = swept.change(name, swept.at.index(change)).mid
        # exact laws: only rounding of floats
        book.agrees(f"{name} at {change:+d} % speed", ours, theirs, within=1e-9, source=FAN_LAWS)


def test_thin_air(book, lesson):
    """At a held speed power goes with density: pressure of the atmosphere over absolute temperature
    of the air at the fan. The motor's gain in speed is taken out by its airflow."""
    swept = lesson.height
    faster = swept.change("flow", -1).mid
    # within 1 %: the air is moist, and middles of draws are compared
    hot = [
        float(np.median(lesson.at_place(elevation=float(height)).temp_air)) + 273.15
        for height in (ELEVATIONS[0], ELEVATIONS[-1])
    ]
    ours = swept.change("power", -1).mid / faster**3 * hot[1] / hot[0]
    book.agrees(
        "air density at 3500 m over sea-level density", ours, 0.6490, within=0.01, source=ATMOSPHERE
    )


def test_a_motor_of_eight_poles_stays_below_its_synchronous_speed(book, lesson):
    """Almost without load it is nearly there: slip 0 at the end of the torque line."""
    run = lesson.fitted[FAST_RPM, 8].run
    solution = run.solution
    ours = float(np.median(solution.speed_rpm / (1 - run.warm.slip)))
    book.agrees("synchronous speed, 8 poles, rpm", ours, 900.0, within=1e-9, source=SYNCHRONOUS)
