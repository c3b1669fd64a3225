"""A verified motor's capacitor and winding against closed forms that the trade uses."""

import pytest

from airover.core.files import data_folder
from airover.records.job import Job
from airover.records.readings import Measurements
from airover.service.verification import verify

JOB = Job.read(data_folder() / "jobs" / "roof-unit.toml")


@pytest.mark.parametrize(
    ("amps", "volts", "published"), [(1.03, 365.0, 7.484), (0.68, 345.0, 5.227)]
)
def test_microfarads_under_load(book, amps, volts, published):
    read = {"voltage": "236 V", "capacitor_current": f"{amps} A", "capacitor_voltage": f"{volts} V"}
    found = verify(JOB, Measurements(reading=[read]), samples=60)
    (remark,) = (one for one in found.remarks if one.topic == "capacitor")
    ours = 1e6 * remark.sentence.values["value"].value
    source = "uF = 2652 I/V at 60 Hz, common practice, recomputed"
    book.agrees(f"uF of {amps:g} A at {volts:g} V", ours, published, within=2e-3, source=source)


def test_winding_by_resistance(book):
    """10 ohm at 25 degC, 13.2 ohm hot: 10 x (235 + T) / 260 = 13.2, so T = 108.2 degC."""
    winding = {"cold_resistance": "10.00 ohm", "cold_temperature": "25 degC"}
    winding |= {"hot_resistance": ["13.20 ohm"]}
    found = verify(JOB, Measurements(reading=[{"voltage": "236 V"}], winding=winding), samples=60)
    (taken,) = (one for one in found.taken if one.name == "winding_temperature")
    source = "IEC 60034-1, rise by resistance, k = 235, from memory, recomputed"
    book.agrees("winding of 10 and 13.2 ohm, degC", taken.value, 108.2, within=1e-6, source=source)
