"""A year of weather: the kit's invented one, readers' files, and what is refused."""

import csv
import importlib.util
import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.model.climate import HOURS, Year, example_year, read_year
from airover.physics import air
from tests.physics.test_compressor import without

HOUR = np.arange(HOURS)
TEMP = np.round(15 - 12 * np.cos(2 * np.pi * HOUR / HOURS) - 5 * np.cos(np.pi * HOUR / 12), 1)
HUMIDITY = 40 + HOUR % 50
PRESSURE = 98000 + 100 * (HOUR % 7)
DAYS = np.datetime64("2001-01-01") + HOUR // 24


def dates():
    """(month, day) of each hour of a year without a leap day."""
    return [(int(str(day)[5:7]), int(str(day)[8:])) for day in DAYS]


def epw(temp=TEMP, humidity=HUMIDITY, pressure=PRESSURE, year=1999, place="Sampleton"):
    """An EPW file: eight lines of heading, then 35 columns for each hour."""
    head = [f"LOCATION,{place},-,INV,made up,000000,40.0,-90.0,-6.0,320.0"]
    head += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,made up", "COMMENTS 2,made up"]
    head += ["DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
    columns = zip(dates(), HOUR % 24 + 1, temp, humidity, pressure)
    rows = [
        f"{year},{month},{day},{hour},60,?9,{t:.1f},5.0,{r},{p}" + ",0" * 25
        for (month, day), hour, t, r, p in columns
    ]
    return [*head, *rows]


def tmy3(temp=TEMP, humidity=HUMIDITY, pressure=PRESSURE, february=1996):
    """A TMY3 file: hours named by their end, each month of another year, one of them a leap year."""
    head = ['000000,"SAMPLETON",IN,-6.0,40.000,-90.000,320']
    head += ["Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),RHum (%),Pressure (mbar),GHI (W/m^2)"]
    columns = zip(dates(), HOUR % 24 + 1, temp, humidity, pressure)
    rows = [
        f"{month:02}/{day:02}/{february if month == 2 else 1999},{hour:02}:00,{t:.1f},{r},"
        f"{p / 100:g},0"
        for (month, day), hour, t, r, p in columns
    ]
    return [*head, *rows]


def own(temp=TEMP, humidity=HUMIDITY):
    head = ["place,Sampleton", "elevation [m],320"]
    head += ["hour,temp outdoor [degC],relative humidity [%]"]
    return [*head, *(f"{h + 1},{t:.1f},{r}" for h, t, r in zip(HOUR, temp, humidity))]


@pytest.fixture
def saved(tmp_path):
    def save(lines, encoding="utf-8"):
        path = tmp_path / "weather.txt"
        path.write_bytes("\n".join(lines).encode(encoding) + b"\n")
        return path

    return save


@pytest.mark.parametrize(("lines", "kind"), [(epw, "EPW"), (tmy3, "TMY3"), (own, "airover")])
def test_each_kind_of_file_is_read_hour_by_hour(saved, lines, kind):
    year = read_year(saved(lines()))
    assert (year.kind, year.place.lower(), year.elevation) == (kind, "sampleton", 320)
    np.testing.assert_allclose(year.temp_outdoor, TEMP, atol=1e-9)
    np.testing.assert_allclose(year.relative_humidity, HUMIDITY / 100)
    given = air.standard_pressure(320.0) if kind == "airover" else PRESSURE
    np.testing.assert_allclose(year.pressure, np.broadcast_to(given, HOURS))
    assert year.density.shape == (HOURS,)


def test_pressure_that_a_file_marks_as_missing_is_the_standard_one(saved):
    some = np.where(HOUR == 5, 999999, PRESSURE)
    pressure = read_year(saved(epw(pressure=some))).pressure
    assert pressure[5] == air.standard_pressure(320.0)
    assert pressure[6] == PRESSURE[6]
    some = np.where(HOUR == 5, -990000, PRESSURE)
    assert read_year(saved(tmy3(pressure=some))).pressure[5] == air.standard_pressure(320.0)


def test_a_name_in_an_older_code_does_not_stop_a_file(saved):
    year = read_year(saved(epw(place="S\xe3mpleton\x07"), encoding="latin-1"))
    assert year.place == "S\ufffdmpleton"


def test_fog_over_100_percent_is_100(saved):
    year = read_year(saved(epw(humidity=np.full(HOURS, 101))))
    assert np.all(year.relative_humidity == 1)


def changed(lines, at, line=None):
    """The ``lines`` with the one at ``at`` another one, or without it."""
    return [*lines[:at], *([] if line is None else [line]), *lines[at + 1 :]]


def spoilt(values, hour, value):
    return np.where(HOUR == hour - 1, value, values)


BAD = [
    (list, "this is a different type of file"),
    (lambda: ["when,where"], 'CSV (first cell "place"), EPW (first cell "LOCATION") or TMY3'),
    (lambda: changed(epw(), 100), "8759 hours. Needed: the 8760"),
    (lambda: epw() + epw()[-24:], "8784 hours"),
    (lambda: changed(epw(), 108, epw()[107]), "hour 100 where hour 101 should be"),
    (lambda: changed(tmy3(), 102, tmy3()[101]), "hour 100 where hour 101 should be"),
    (lambda: changed(own(), 103, own()[102]), "hour 100 where hour 101 should be"),
    (lambda: epw(temp=spoilt(TEMP, 60, 99.9)), "hour 60, temp outdoor: 99.9 degC"),
    (lambda: tmy3(temp=spoilt(TEMP, 60, -9900)), "hour 60, temp outdoor: -9,900 degC"),
    (lambda: own(temp=TEMP + 273.15), "hour 1, temp outdoor: 271.1 degC"),
    (lambda: epw(humidity=spoilt(HUMIDITY, 7, 999)), "hour 7, relative humidity: 999 %"),
    (lambda: own(humidity=spoilt(HUMIDITY, 7, -3)), "hour 7, relative humidity: -3 %"),
    (lambda: epw(pressure=PRESSURE / 100), "hour 1, pressure: 980 Pa"),
    (
        lambda: changed(own(), 9, "7,warm,50"),
        'line 10: "7,warm,50" is not accepted. Enter 3 numbers',
    ),
    (lambda: changed(own(), 9, "7,20.0"), 'line 10: "7,20.0" is not accepted'),
    (lambda: own()[:3], "0 hours"),
    (lambda: changed(own(), 9, '7,"20,50'), "this table can't be read"),
    (lambda: changed(own(), 9, "7,nan,50"), "hour 7, temp outdoor: nan degC"),
    (lambda: changed(own(), 2, "hour,temp,humidity"), "first three lines: .*hour,temp,humidity"),
    (
        lambda: changed(own(), 1, "elevation [m],high"),
        'elevation: "high" is not accepted. Enter one number',
    ),
    (lambda: changed(own(), 1, "elevation [m],32000"), "elevation: 32,000 m"),
    (lambda: ["place,Sampleton"], "first three lines"),
    (lambda: changed(epw(), 0, "LOCATION,Sampleton"), "this table can't be read"),
    (lambda: epw()[:20], "12 hours"),
    (lambda: changed(epw(), 50, "1999,1,2,x,60"), "this table can't be read"),
    (lambda: changed(tmy3(), 50, "13/40/1999,01:00,5,50,990,0"), "this table can't be read"),
    (lambda: [line.replace("RHum (%)", "Wet") for line in tmy3()], "'relative_humidity'"),
]


@pytest.mark.parametrize(("lines", "words"), BAD, ids=[words for _, words in BAD])
def test_bad_files_get_one_clear_sentence(saved, lines, words):
    words = words if ".*" in words else words.replace("(", r"\(").replace(")", r"\)")
    with pytest.raises(InputError, match=words.replace("[", r"\[")) as refusal:
        read_year(saved(lines()))
    assert "\n" not in str(refusal.value)
    assert len(str(refusal.value)) < 420


def test_a_file_that_is_too_large_or_not_there_is_refused(tmp_path):
    path = tmp_path / "long.csv"
    path.write_bytes(b"place," + b"x" * 10_000_001)
    with pytest.raises(InputError, match="at most 10 MB"):
        read_year(path)
    with pytest.raises(InputError, match="weather file: .*No such file"):
        read_year(tmp_path / "gone.epw")


@pytest.mark.parametrize("lines", [epw, tmy3])
def test_without_pvlib_one_sentence_says_how_to_get_it(saved, lines, monkeypatch):
    without("pvlib", monkeypatch)
    with pytest.raises(InputError, match=r'pvlib .pip install "airover\[weather\]"'):
        read_year(saved(lines()))
    assert read_year(saved(own())).kind == "airover"


# The invented year


@pytest.fixture(scope="module")
def made():
    """The script that made the example year."""
    path = data_folder() / "make_weather.py"
    spec = importlib.util.spec_from_file_location("make_weather", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_script_gives_the_same_bytes_again(made):
    content = (data_folder() / "weather" / "example-year.csv").read_bytes()
    assert content == made.text().encode()
    assert 60_000 < len(content) < 120_000


def test_the_example_says_that_it_is_invented():
    year = example_year()
    assert "Sampleton, an invented town" in year.place
    assert year.temp_outdoor.shape == year.relative_humidity.shape == (HOURS,)


def test_its_degree_hours_are_those_of_its_file_added_up_by_hand():
    text = (data_folder() / "weather" / "example-year.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(io.StringIO(text)))[3:]
    above = sum(max(float(temp) - 18.0, 0.0) for _, temp, _ in rows)
    ours = np.maximum(example_year().temp_outdoor - 18.0, 0.0).sum()
    assert ours == pytest.approx(above, rel=1e-12)
    assert above / 24 == pytest.approx(1462.6, abs=0.1)  # kelvin days; our own, a regression value


def test_its_degree_hours_are_those_of_its_definition(made):
    # waves without weather, and weather of the stated spread: its mean over many samples of years
    hour = np.arange(HOURS) + 0.5
    steady = sum(made.waves(hour))
    rng = np.random.default_rng(1)
    spread = np.hypot(made.WEATHER, made.GUST)
    expected = np.mean(
        [np.maximum(steady + spread * rng.normal(size=HOURS) - 18, 0).sum() for _ in range(50)]
    )
    ours = np.maximum(example_year().temp_outdoor - 18.0, 0.0).sum()
    # the mean of a year's weather deviates by 3.4 K sqrt(2 x 2.5 / 365) = 0.4 K (one sigma), over
    # about 4300 hours: 1700 of 35 000 K h; three sigma
    assert ours == pytest.approx(expected, abs=5200)


def test_its_weather_lasts_for_days_and_keeps_its_spread(made):
    deviation = np.concatenate([made.weather(np.random.default_rng(seed)) for seed in range(20)])
    assert deviation.std() == pytest.approx(made.WEATHER, rel=0.05)
    day = np.corrcoef(deviation[:-24], deviation[24:])[0, 1]
    assert day == pytest.approx(np.exp(-1 / made.DAYS), abs=0.05)


@given(st.floats(0.001, 0.2), st.floats(0, 0.1))
def test_fewer_hours_exceed_a_hotter_temperature(share, more):
    year = Year("x", "x", 0.0, TEMP, HUMIDITY / 100, PRESSURE)
    assert year.exceeded(share) >= year.exceeded(share + more)
    assert np.mean(year.temp_outdoor > year.exceeded(share)) <= share + 1 / HOURS
