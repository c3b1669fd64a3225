"""Measurements as people write them, and the accuracy of their meters."""

import pytest

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.units import read
from airover.records.readings import Measurements, accuracy, last_place

FOLDER = data_folder() / "measured"
FILES = sorted(FOLDER.glob("*.toml"))

TOML = """
motor = "Demo A-005"
start = "by itself"
capacitor_tolerance = "6 %"
[meters]
current = "1.5 % + 3 digits"
temperature = "2 degF"
[winding]
cold_resistance = "14.2 ohm"
cold_temperature = "75 degF"
hot_resistance = ["17.9 ohm", "17.8 ohm"]
time_off = ["10 s", "20 s"]
[[reading]]
voltage = "236 V"
current = "0.00 A"
power = "0.36 kW"
speed = "1,091 rpm"
[[reading]]
capacitor_current = "1.03 A"
outdoor_temperature = "95 degC"
"""


def refusal(text: str) -> str:
    with pytest.raises(InputError) as caught:
        Measurements.from_toml(text)
    return str(caught.value)


def test_measurements_as_people_write_them():
    found = Measurements.from_toml(TOML)
    first, second = found.reading
    assert (first.voltage.mid, first.current.mid, first.power.mid) == (236, 0, 360)
    assert first.speed_rpm.mid == 1091 and second.capacitor_current.mid == 1.03
    assert second.outdoor_temperature.mid == 95  # to be questioned later, not refused here
    assert found.winding.is_complete and found.winding.time_off[1].mid == 20
    assert found.meters.current.share == 0.015
    assert found.meters.assumed == ["voltage", "power", "speed", "shell", "resistance"]


def test_one_table_of_readings_is_enough():
    assert Measurements.from_toml('[reading]\nvoltage = "230 V"').reading[0].voltage.mid == 230


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_samples_are_invented_and_say_so(path):
    assert Measurements.read(path).invented
    assert path.read_text(encoding="utf-8").startswith("# Fictional demonstration")


def test_there_are_samples():
    assert len(FILES) >= 3


@pytest.mark.parametrize(
    "text, counts",
    [("1.85 A", 0.01), ("1.9 A", 0.1), ("2 A", 1.0), ("12.50 A", 0.01)],
)
def test_a_digit_counts_what_was_written(text, counts):
    assert last_place(read(text, "current", "amps")) == pytest.approx(counts)


def test_a_digit_in_another_unit():
    assert last_place(read("0.36 kW", "meter_power", "watts")) == pytest.approx(10)
    assert last_place(read("1,091 rpm", "speed", "rpm")) == pytest.approx(1)
    assert last_place(read("0.00 A", "meter_current", "amps")) == pytest.approx(0.01)


def test_limits_of_an_error():
    limit = accuracy("2 % + 3 digits", "current", "amps").limit
    assert limit(read("1.85 A", "current", "amps")) == pytest.approx(0.037 + 0.03)
    assert limit(read("1.8-1.9 A", "current", "amps")) == pytest.approx(0.037 + 0.3 + 0.05)
    assert accuracy("0.1 A", "current", "amps").limit(read("2 A", "current", "amps")) == 0.1
    rise = accuracy("1 % + 2 degF", "temperature_rise", "air")
    assert (rise.share, rise.least) == (0.01, pytest.approx(2 / 1.8))


@pytest.mark.parametrize(
    "text, said",
    [
        ('[[reading]]\nvoltage = "x"', 'reading 1 voltage: "x"'),
        ('[[reading]]\n[[reading]]\nvolt = "3 V"', 'reading 2 field "volt"'),
        ("reading = 3", "reading: 3 is not accepted"),
        ("[[reading]]\n" * 7, "up to 6"),
        ('[meters]\ncurrent = "50 %"', 'current: "50 %" is not accepted'),
        ('[meters]\ncurrent = "good"', "up to 25 %"),
        ('[meters]\ncurrent = "0 %"', "up to 25 %"),
        ('[meters]\ncurrent = "2"', "has no unit"),
        ("[meters]\ncurrent = 2", "current: 2 is not accepted"),
        ('rotation = "reversible"', '"clockwise" or "counterclockwise"'),
        ('start = "soon"', "by itself"),
        ('[winding]\nhot_resistance = ["3 ohm", "2 ohm"]', "0 times are listed for 2 resistances"),
        ('[winding]\ncold_resistance = "0 ohm"', "cold resistance"),
    ],
)
def test_what_cannot_be_read_is_said_in_a_sentence(text, said):
    sentence = refusal(text)
    assert said in sentence and sentence.endswith((".", "?")) and "\n" not in sentence
