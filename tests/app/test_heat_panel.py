"""The panel of worksheet 04 and what stands behind it, driven as Python objects."""

import asyncio
import itertools
import re
from dataclasses import replace

import numpy as np
import pytest

from airover.app.heat_panel import EXAMPLES, PAGES, lacks, readings
from airover.app.panel import AfterRest
from airover.core.files import data_folder
from airover.core.intervals import Band
from airover.core.message import Quantity
from airover.core.texts import LANGUAGES, Writer
from airover.model import heat_answer
from airover.model.heat_answer import HeatAnswer, HeatInput, HeatPlace
from airover.model.heat_study import HeatStudy, against_ambient
from airover.model.simulation import USUAL
from airover.physics import heat
from airover.records.catalog import read_catalog
from airover.reports import heat as reports

from .conftest import JOB, assert_words_apart, rows

CATALOG = read_catalog(data_folder() / "catalogue.csv")
US = Writer("en")
TITLE = {key: US(f"panel.heat.page.{key}") for key in PAGES}
TITLES = list(TITLE.values())
COLD, TEMP_COLD = 10.42, 25.0


def ohms(temp: float) -> str:
    """Ohms of a winding that had ``temp`` at switch-off, as somebody would read them."""
    hot = COLD / float(heat.resistance_factor(TEMP_COLD, temp))
    seconds = np.arange(10.0, 61.0, 10.0)
    falling = COLD + (hot - COLD) * (0.6 + 0.4 * np.exp(-seconds / 80))
    return ", ".join(f"{ohm:.3f}" for ohm in falling)


def typed(temp: float, **others) -> dict:
    given = {
        "voltage": "236 V", "temp_air": "127 degF", "cold_ohms": f"{COLD}", "temp_cold": "25 degC",
        "times": "10, 20, 30, 40, 50, 60", "hot_ohms": ohms(temp),
    }  # fmt: skip
    return given | others


@pytest.fixture
def panel(heat):
    return heat


@pytest.fixture(scope="module")
def place():
    return HeatPlace.of(JOB, CATALOG[4])


@pytest.fixture(scope="module")
def found(place):
    """The answer with the sliders at rest, whose day, year and elevations take a second each."""
    return HeatAnswer(place, place.usual)


def width(band: Band) -> float:
    return band.high - band.low


def test_at_the_job_as_it_is_it_is_the_study_of_the_job(place):
    """Sliders at rest change nothing."""
    found = HeatAnswer(place, place.usual)
    plain = HeatStudy.of(place.motor, place.conditions)
    np.testing.assert_allclose(found.study.hot_spot, plain.hot_spot, atol=0.05)
    assert place.usual.voltage == place.conditions.voltage[USUAL]


def test_a_day_that_is_warmer_is_the_study_of_that_day(place):
    """Moved conditions against the sweep over the weather, which moves the load by itself."""
    for temp in (25.0, 50.0):
        found = HeatAnswer(place, place.usual._replace(temp_outdoor=temp))
        other = against_ambient(place.motor, place.conditions, [temp])
        assert found.hot_spot.mid == pytest.approx(float(other.hot_spot.mid[0]), abs=0.2)
        air = np.median(found.conditions.temp_air - place.conditions.temp_air)
        assert air == pytest.approx(temp - place.usual.temp_outdoor)


def test_the_sweep_is_worked_once_for_all_weather_and_anew_for_another_motor(place, monkeypatch):
    calls = []
    monkeypatch.setattr(heat_answer, "against_ambient", lambda *a: calls.append(a) or "swept")
    other = replace(place, by_plate=place.motor)
    for one in (place, place, other):
        for temp in (25.0, 50.0):
            asked = place.usual._replace(temp_outdoor=temp, stream=0.77)
            assert HeatAnswer(one, asked).across == "swept"
    assert len(calls) == 2


def test_the_sweep_does_not_follow_the_weather(place):
    """The one that is kept, against one that is worked from the day itself."""
    for temp in (25.0, 50.0):
        found = HeatAnswer(place, place.usual._replace(temp_outdoor=temp))
        own = against_ambient(place.motor, found.conditions, found.across.temps_outdoor)
        np.testing.assert_allclose(found.across.hot_spot.mid, own.hot_spot.mid, atol=0.3)


@pytest.mark.parametrize(
    ("control", "value"),
    [("temperature", 120), ("blade", 130), ("stream", 50), ("voltage", 262)],
)
def test_what_heats_a_motor_heats_it(panel, control, value):
    before = panel.answer
    getattr(panel, control).value = value
    assert panel.answer.hot_spot.mid > before.hot_spot.mid + 2
    assert panel.answer.study.margin.mid < before.study.margin.mid
    assert panel.answer.room.mean() < before.room.mean()
    assert panel.answer.study.hours.mid < before.study.hours.mid


def test_the_sun_is_one_of_the_steps(panel):
    before = panel.answer.study.budget
    panel.sunshine.value = 0
    after = panel.answer.study.budget
    assert after[3].kelvin.mid == pytest.approx(0, abs=1e-6)
    assert before[3].kelvin.mid > 0.5
    assert after[-1].upto.mid < before[-1].upto.mid


def test_the_weather_alone_does_not_change_the_years(panel):
    before = panel.answer.years
    panel.temperature.value = 90
    assert panel.answer.years.low == pytest.approx(before.low, rel=0.02)


def state_of(found: HeatAnswer, margin: Band | None, room) -> HeatAnswer:
    """The answer with another margin [K] and another room [K] to the protector."""
    other = HeatAnswer(found.place, found.asked)
    other.__dict__["study"] = type("Study", (), {
        "margin": margin, "class_temperature": 130.0, "budget": found.study.budget,
        "run": found.study.run,
    })  # fmt: skip
    other.__dict__["room"] = None if room is None else np.array(room)
    return other


@pytest.mark.parametrize(
    ("margin", "room", "state", "apart", "trip"),
    [
        ((5.0, 20.0, 40.0), [10.0] * 4, "below", "36 degF below", "never"),
        ((-5.0, 9.0, 20.0), [10.0] * 4, "near", "16 degF below", "never"),
        ((5.0, 20.0, 40.0), [-1.0, 9.0, 9.0, 9.0], "near", "36 degF below", "some"),
        ((-30.0, -10.0, 5.0), [10.0] * 4, "above", "18 degF above", "never"),
        ((5.0, 20.0, 40.0), [-1.0, -1.0, 9.0, 9.0], "above", "36 degF below", "most"),
        (None, None, "near", "class is missing", None),
        ((5.0, 20.0, 40.0), None, "below", "36 degF below", "unknown"),
    ],
)
def test_the_verdict_follows_the_bands(place, margin, room, state, apart, trip):
    whole = HeatAnswer(place, place.usual)
    found = state_of(whole, None if margin is None else Band(*margin), room)
    assert found.state == state
    told = reports.verdict(found, US)
    assert apart in told
    if trip:
        assert told.endswith(US(f"heat.trip.{trip}", share=Quantity(found.trips, "share", 0)))


def test_the_two_limits_stand_apart(panel):
    """A class temperature is a hottest spot's, a rise by resistance an average's."""
    table = reports.limits(panel.answer, US)
    kinds = list(table[US("heat.column.kind")])
    assert kinds[:2] == [US("heat.limit.spot"), US("heat.limit.rise")]
    limit = list(table[US("heat.column.limit")])
    assert limit[0] == "266 degF" and limit[1] != limit[0]
    assert "rise by resistance" in " ".join(reports.facts(panel.answer, US))
    assert panel.answer.rise_allowed == pytest.approx(
        85.0 - (np.median(panel.answer.conditions.temp_air) - 40.0)
    )


def test_a_motor_without_a_class_is_told_and_not_guessed(place):
    nameless = replace(place.motor, insulation_class=None)
    found = HeatAnswer(replace(place, motor=nameless), place.usual)
    assert "class is missing" in reports.verdict(found, US)
    assert found.trips is None and found.years is None
    assert reports.HeatPicture(Writer("en", "SI")).png(found).startswith(b"\x89PNG")
    assert reports.limits(found, US)[US("heat.column.room")][0] == US("heat.missing")


def test_low_volts_and_a_heavy_blade_are_warned_of(place):
    usual = place.usual
    found = HeatAnswer(place, usual._replace(voltage=150.0, blade=1.3, temp_outdoor=52.0))
    told = " ".join(reports.warnings(found, US))
    assert "does not come up to speed" in told and "hotter than the motor's ambient rating" in told


def test_readings_narrow_the_band_and_move_it(panel):
    before = panel.answer.hot_spot
    cool = float(np.quantile(panel.answer.study.run.warm.nodes.winding_main[0], 0.2))
    panel.read(**typed(cool))
    assert not panel.status.value and not panel.readings.missing.value
    assert width(panel.answer.hot_spot) < 0.8 * width(before)
    assert panel.answer.hot_spot.mid < before.mid
    assert "with the readings" in panel.verdict.value
    panel.read()
    assert panel.answer.hot_spot == before


def test_a_shell_alone_is_a_reading_as_well(panel):
    before = panel.answer.hot_spot
    panel.read(voltage="236 V", temp_air="127 degF", shell="204 degF")
    assert width(panel.answer.hot_spot) < width(before)
    assert panel.answer.place.read.strained == ()


def test_half_a_reading_is_not_used_and_what_it_lacks_is_told(panel):
    before = panel.answer.hot_spot
    panel.readings.cold_ohms.value = "10.4"
    assert panel.answer.hot_spot == before
    assert US("panel.heat.missing.temp_air") in panel.readings.missing.value
    assert US("panel.heat.missing.times") in panel.readings.missing.value
    assert lacks({}) == [] and readings({}) == []
    assert lacks({"shell": "200 degF"}) == ["voltage", "temp_air"]


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("hot_ohms", "13.3, cold, 13.1", "reading hot ohms"),
        ("cold_ohms", "10, 11", "Enter a resistance"),
        ("cold_ohms", "20", "13.83 ohm"),
        ("temp_air", "warm", "does not start with a number"),
        ("times", "10, 20", "reading times: 2 times and"),
        ("times", "70, 80, 90, 100, 110, 120", "within 60 s"),
        ("shell", "400", "127 degF air, shell: this motor cannot run as hot as 400 degF"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words(panel, field, value, words):
    before = panel.answer
    panel.read(**typed(110.0, **{field: value}))
    assert words in panel.status.value and panel.answer is before
    beside = [name for name, place in panel.readings.problems.items() if place.value]
    named = f"reading {field.replace('_', ' ')}" in panel.status.value
    assert beside == ([field] if named else [])


def test_every_reading_has_an_example_that_its_line_takes():
    example = EXAMPLES | {"hot_ohms": ["13.31 ohm", "13.15 ohm", "13.02 ohm", "12.90 ohm"]}
    (found,) = readings(example)
    assert found.voltage == 236 and found.shell.temp == pytest.approx(95.6, abs=0.1)
    assert 95 < found.winding.temp < 115


def test_pages_have_a_picture_or_a_row_for_each_thing(panel):
    for at in range(len(TITLES)):
        panel.tables.selected_index = at
    for key in ("day", "trip", "height"):
        assert "<img" in panel.pages[TITLE[key]].value
    assert len(rows(panel.pages[TITLE["classes"]].value)) == 3
    assert len(rows(panel.pages[TITLE["steps"]].value)) == 11


def test_a_slow_page_is_not_worked_by_moves_of_another_one(panel, monkeypatch):
    worked = []
    monkeypatch.setitem(PAGES, "day", lambda panel: worked.append(panel.answer) or "worked")
    panel.temperature.value = 100
    panel.voltage.value = 230
    assert worked == []
    panel.tables.selected_index = TITLES.index(TITLE["day"])
    assert worked == [panel.answer] and panel.pages[TITLE["day"]].value == "worked"


def test_where_a_loop_runs_a_slow_page_waits_until_the_slider_rests(panel, monkeypatch):
    worked = []
    monkeypatch.setitem(PAGES, "day", lambda panel: worked.append(panel.answer) or "worked")
    monkeypatch.setattr(panel._later, "_rest", 0.05)

    async def moves():
        panel.tables.selected_index = TITLES.index(TITLE["day"])
        for temp in (98, 99, 100):
            panel.temperature.value = temp
        waits = US("panel.page_working"), US("panel.page_earlier")
        assert worked == [] and any(one in panel.pages[TITLE["day"]].value for one in waits)
        await asyncio.sleep(0.3)
        assert worked == [panel.answer] and panel.pages[TITLE["day"]].value == "worked"
        panel.temperature.value = 101
        assert US("panel.page_earlier") in panel.pages[TITLE["day"]].value
        panel.temperature.value = 102
        await asyncio.sleep(0.3)

    asyncio.run(moves())
    assert len(worked) == 2 and panel.pages[TITLE["day"]].value == "worked"


def test_what_waits_can_be_forgotten():
    worked = []

    async def ask():
        later = AfterRest(lambda: worked.append(1), 0.02)
        later.ask()
        later.forget()
        await asyncio.sleep(0.1)

    asyncio.run(ask())
    assert worked == []


def test_a_page_of_the_job_alone_is_not_worked_again_for_a_slider(panel):
    panel.tables.selected_index = TITLES.index(TITLE["height"])
    before = panel.pages[TITLE["height"]].value
    panel.temperature.value = 99
    assert panel.pages[TITLE["height"]].value is before
    panel.motor.value = 2
    assert panel.pages[TITLE["height"]].value != before


def test_a_page_that_cannot_be_worked_says_so_and_the_error_goes_on(panel, monkeypatch):
    def explode(*_):
        raise ZeroDivisionError("broken on purpose")

    monkeypatch.setitem(PAGES, "year", explode)
    with pytest.raises(ZeroDivisionError):
        panel.tables.selected_index = TITLES.index(TITLE["year"])
    assert US("panel.broken") in panel.pages[TITLE["year"]].value


def test_the_day_gets_as_warm_as_the_slider_says(place):
    found = HeatAnswer(place, place.usual._replace(temp_outdoor=36.0))
    assert found.day.outdoor.max() == pytest.approx(36.0) and found.day.outdoor.shape == (24,)
    steady = np.median(found.study.winding)
    peak = np.median(found.day.history.average.max(axis=0))
    assert steady - 4 < peak < steady + 1  # it runs long enough in the afternoon
    told = reports.day_text(found, US)
    assert any(US("heat.day.opens", opens=opens, cases=20) in told for opens in (0, 1))


def test_a_blocked_blade_is_told_with_times_and_limits(found):
    told = reports.locked(found, US)
    assert "the overload trips after" in told and "and resets" in told
    assert re.search("437 degF in the first hour .* 392 degF", told)


def test_the_year_knows_cycles_and_trips(found):
    year = found.year
    assert year.cycled.years.mid >= year.cycled.steady.mid
    # two ways to the same, of 40 draws and of 100; the ends of a band need more of them
    assert year.cycled.steady.mid == pytest.approx(found.years.mid, rel=0.2)
    assert year.trips.trips.mid == 0 and year.trips.chance < 0.2
    assert " K" not in reports.trips(found, US)


def test_height_and_class_tables_say_what_is_not_taken(found):
    heights = reports.heights(found, US)
    assert US("heat.column.factor") in heights.columns
    assert heights[US("heat.column.load")].iloc[-1].startswith("-")
    assert "ft" in reports.height_text(found, US)
    classes = reports.classes_table(found, US)
    assert "times as long" in reports.classes_text(found, US)
    assert list(classes[US("heat.column.motor")])[2] == US("heat.classes.second")
    assert "times the life" in classes[US("heat.column.years")].iloc[2]


def test_units_change_and_the_weather_stays(panel):
    before = panel.answer
    panel.units.value = "SI"
    assert panel.temperature.value == 41 and "degC" in panel.temperature.description
    assert "degF" not in panel.verdict.value + panel.pages[TITLE["steps"]].value
    assert panel.answer.hot_spot.mid == pytest.approx(before.hot_spot.mid, abs=1.0)


@pytest.mark.parametrize(("temp", "stream"), [(20.0, 1.5), (40.0, 1.0), (55.0, 0.3)])
def test_words_of_the_picture_do_not_lie_on_each_other(place, temp, stream):
    found = HeatAnswer(place, HeatInput(temp, 236.0, stream=stream))
    for language, system in itertools.product(LANGUAGES, ("US", "SI")):
        drawn = reports.HeatPicture(Writer(language, system))
        drawn.png(found)
        for axes in (drawn.stack, drawn.rise, drawn.room, drawn.life):
            assert_words_apart(axes.figure, [*axes.texts, axes.title, axes._left_title])


def test_the_stack_ends_where_the_hottest_spot_is(place):
    found = HeatAnswer(place, place.usual)
    drawn = reports.HeatPicture(Writer("en", "SI"))
    drawn.set(found)
    tops = [patch.get_xy()[:, 1].max() for patch in drawn._parts]
    np.testing.assert_allclose(tops, [part.upto.mid for part in found.study.budget])
    low, high = drawn._whisker.get_ydata()
    assert (low, high) == (found.hot_spot.low, found.hot_spot.high)
    assert drawn._limit.get_ydata()[0] == 130.0
    assert drawn._rise_limit.get_xdata()[0] == pytest.approx(found.rise_allowed)


def test_years_are_said_with_two_figures():
    assert reports.years_text(Band(26.7, 58.0, 99.0), US) == "27 to 99 years"
    assert reports.years_text(Band(26.7, 58.0, 100.0), US) == "27 years or more"
    assert reports.years_text(Band(100.0, 100.0, 100.0), US) == "more than 100 years"


def test_everything_is_told_in_every_language_and_system(found):
    for language, system in itertools.product(LANGUAGES, ("US", "SI")):
        writer = Writer(language, system)
        said = [*reports.facts(found, writer), *reports.warnings(found, writer)]
        for tell in ("verdict", "day_text", "locked", "trips", "classes_text", "height_text"):
            said.append(getattr(reports, tell)(found, writer))
        assert all(one.endswith(".") for one in said)
        names = ("steps", "limits", "classes_table", "heights", "year")
        tables = [getattr(reports, name)(found, writer) for name in names]
        for draw in (reports.day_figure, reports.trip, reports.height_figure):
            assert draw(found, writer).startswith(b"\x89PNG")
        other = {"US": r"degC|\bK\b|\bm\b", "SI": r"degF|\bft\b"}[system]
        assert not re.search(other, " ".join([*said, *(table.to_string() for table in tables)]))


def test_pages_that_are_slow_are_pages(panel):
    assert set(panel.SLOW) < set(panel.pages)
