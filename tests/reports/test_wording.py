"""Sentences against the numbers that they are about: above and below, never and always, order.

Each test reads a sentence or a table as a technician does, and compares it with the values that
were calculated.
"""

import re
import tomllib
from dataclasses import replace
from functools import cache
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest

from airover.core.files import LANGUAGES, data_folder
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.texts import Texts, Writer
from airover.model.expected import OVER_PLATE, Expected, mounted
from airover.model.heat_answer import HeatAnswer, HeatPlace
from airover.physics import heat as physics
from airover.records.catalog import read_catalog
from airover.records.causes import read_causes
from airover.records.job import Job
from airover.records.nameplate import LEAD_END, SHAFT_END
from airover.records.readings import Measurements, Reading
from airover.reports import answer_tables, numbers, stock
from airover.reports.cause import ranking
from airover.reports.heat import verdict as heat_verdict
from airover.selection.answer import answer
from airover.service.cause import cause
from airover.service.judgment import DIFFERS, question_line
from airover.service.order import LOW_END, TEMP_COLD, work_order
from airover.service.roof_sheet import RoofSheet
from airover.service.verification import verify
from tests.jobs import job, motor

SAY = Writer("en")
MOTORS = read_catalog(data_folder() / "catalogue.csv")
ROOF = data_folder() / "jobs" / "roof-unit.toml"


@cache
def found():
    return answer(Job.read(ROOF), MOTORS[:12])


def step(key: str) -> str:
    """All sentences of a step of the work order."""
    (one,) = (one for one in work_order(found()).steps if one.key == key)
    return " ".join(map(SAY.value, one.do))


# Heat and overload


@pytest.mark.parametrize(
    ("share", "said", "unsaid"),
    [
        (0.0, "not expected to trip", "is expected"),
        (0.2, "trips in 20 %", "not expected"),
        (0.8, "is expected to trip on this day (80 %", "not expected"),
        (1.0, "is expected to trip on this day (100 %", "not expected"),
    ],
)
def test_an_overload_that_trips_is_not_called_safe(monkeypatch, share, said, unsaid):
    place = HeatPlace.of(found().job, found().fitting[0].case.motor)
    monkeypatch.setattr(HeatAnswer, "trips", share)
    text = heat_verdict(HeatAnswer(place, place.usual), SAY)
    assert said in text and unsaid not in text


@cache
def expected() -> Expected:
    motor = mounted(found().job.nameplate)
    sweep, now = motor.across(motor.voltage_high)
    return Expected(motor, motor.voltage_high, 1.0, 1.0, now, sweep)


@pytest.mark.parametrize(
    ("room", "said"),
    [
        (Band(8.0, 12.0, 15.0), r"22 degF.* below the trip"),
        (Band(-3.0, 5.0, 9.0), r"9 degF.* below the trip"),
        (Band(-20.0, -10.0, -2.0), r"18 degF.* above the trip"),
    ],
)
def test_a_winding_hotter_than_the_trip_temperature_is_said_to_be_above_it(room, said):
    one = replace(expected())
    one.__dict__["room"] = room
    assert re.search(said, SAY(one._heat()))


# The work order


def test_the_motor_is_shut_off_above_ten_percent_over_its_nameplate():
    rated = found().fitting[0].case.rated_current
    text = step("first_start")
    most, plate, over = re.search(
        r"draws more than ([\d.]+) A \(nameplate ([\d.]+) A plus (\d+) %\)", text
    ).groups()
    assert float(plate) == rated and int(over) == round(100 * (OVER_PLATE - 1)) == 10
    assert float(most) == pytest.approx(1.1 * rated, abs=0.006)


def test_the_amps_of_the_first_start_stand_by_their_voltages():
    case = found().fitting[0].case
    pairs = re.findall(r"([\d.]+) to ([\d.]+) A at (\d+) V", step("first_start"))
    assert [float(volts) for *_, volts in pairs] == [round(v) for v in case.conditions.voltage]
    for at, (low, high, _) in enumerate(pairs):
        band = case.band("current_a", at)
        assert (float(low), float(high)) == pytest.approx((band.low, band.high), abs=0.006)


def test_the_warm_ohms_are_those_of_the_warm_winding():
    """Hot over cold is (235 + T) / (235 + 25) of copper, IEC 60034-1; T is the answer's range."""
    (warm,) = (one for one in work_order(found()).steps if one.key == "warm")
    (ratio,) = (one.expected for one in warm.write if one.what.key == "order.warm.ratio")
    winding = found().fitting[0].case.winding
    for factor, temp in zip(ratio.value, winding, strict=True):
        assert factor == pytest.approx((235 + temp) / (235 + 25))
        assert physics.rise_by_resistance(1.0, factor, 25.0, 25.0) == pytest.approx(temp - 25)
    assert TEMP_COLD == 25.0 and "77 degF" in step("warm")
    assert f" {(235 + 125) / (235 + 25):.2f} " in step(
        "warm"
    )  # class B: 125 degC average, 257 degF
    assert "257 degF" in step("warm")


def test_the_low_end_is_the_same_in_the_sentence_and_in_the_data():
    """Water runs to the low end: the end away from the shaft if the shaft points up."""
    assert LOW_END == {"up": LEAD_END, "down": SHAFT_END}
    sides = {
        "en": (
            "With the shaft up, the lead end is low",
            "With the shaft down, the shaft end is low",
        ),
        "es": (
            "Flecha hacia arriba: abajo queda el lado de los cables",
            "Flecha hacia abajo: abajo queda el lado de la flecha",
        ),
    }
    for language, sentences in sides.items():
        text = Texts(language).texts["order.drains.low_end"]
        assert all(one in text for one in sentences), language
    slinger = Texts("en").texts
    assert "upper bearing" in slinger["order.slinger.up"]
    assert "lead end is on top" in slinger["order.slinger.down"]


@pytest.mark.parametrize(
    ("changes", "new", "part"),
    [
        ({}, {}, "Run capacitor: 7.5 uF, 370 V or higher"),
        ({"nameplate__capacitor": "45/7.5 uF"}, {},
         "Separate run capacitor for the fan motor: 7.5 uF, 370 V or higher"),
        ({}, {"shaft_length": 0.1524}, "Hacksaw, file and rags"),
        ({"nameplate__mounting": "belly band"}, {"mounting": ("belly band",)}, "for a 5 9/16 in motor"),
        ({"found__blade": "bent or cracked"}, {}, "Replacement fan blade (22 in"),
        ({"found__slinger": "missing"}, {}, "Slinger"),
    ],
)  # fmt: skip
def test_the_parts_to_bring_are_those_of_the_job(changes, new, part):
    """A part is on the list of the job that needs it, and not on the ordinary list."""

    def parts(changes, new) -> str:
        sheet = RoofSheet(work_order(answer(job(**changes), [motor(**new)])))
        return "\n".join(map(SAY, sheet.parts))

    assert part in parts(changes, new)
    assert (part in parts({}, {})) == (not changes and not new)


# Readings


@pytest.mark.parametrize(
    ("volts", "said"),
    [("480 V", "208 to 230 V"), ("120 V", "one leg"), ("231 V", None), ("187 V", None)],
)
def test_a_supply_that_no_motor_runs_on_is_questioned(volts, said):
    found = question_line(0, Reading(voltage=volts).voltage, 208.0, 230.0)
    assert (found is None) == (said is None)
    if found is not None:
        text = SAY(found.sentence)
        assert said in text and volts in text


def test_a_reading_above_its_range_is_called_too_high():
    weak = Measurements.read(data_folder() / "measured" / "roof-unit-weak-capacitor.toml")
    seen = set()
    for one in verify(Job.read(ROOF), weak, MOTORS).judged:
        said = SAY(one.why)
        if one.against == "expected" and one.state == DIFFERS:
            high = one.value > one.high
            seen.add(high)
            assert ("Too high" in said, "Too low" in said) == (high, not high), said
    assert seen


# Tables


@pytest.mark.parametrize("system", ["US", "SI"])
def test_columns_of_a_range_rise_from_left_to_right(system):
    writer = Writer("en", system)
    table = answer_tables.needed(found(), writer)
    assert list(table.columns) == ["from", "expected", "to"]
    low, mid, high = (table[name].str.replace(",", "").astype(float) for name in table.columns)
    assert (low <= mid).all() and (mid <= high).all() and (low < high).any()
    power = found().needed["shaft_power_w"]
    numeric = numbers.needed(found(), writer)
    assert list(numeric.columns)[2:] == ["low (5 %)", "median", "high (95 %)"]
    assert float(numeric.iloc[0, 2]) == pytest.approx(float(writer.number(power.low, "power")))


def test_numbers_and_units_of_results_are_the_same_in_both_systems():
    """Each result in US customary units, converted by its unit, is the result in SI units."""
    convert = {
        ("hp", "W"): lambda x: 745.7 * x,
        ("degF", "degC"): lambda x: (x - 32) / 1.8,
        ("degF", "K"): lambda x: x / 1.8,
        ("cfm", "m3/s"): lambda x: x * 0.3048**3 / 60,
        ("in. wg", "Pa"): lambda x: 249.089 * x,
        ("oz-ft", "N m"): lambda x: 0.0847386 * x,
        ("lb/ft3", "kg/m3"): lambda x: 16.01846 * x,
    }
    place = HeatPlace.of(found().job, found().fitting[0].case.motor)
    hot = HeatAnswer(place, place.usual)
    changed = 0
    for results in (found(), hot, expected()):
        us, si = (numbers.results(results, Writer("en", system)) for system in ("US", "SI"))
        for (_, first), (_, second) in zip(us.iterrows(), si.iterrows(), strict=True):
            units = first["unit"], second["unit"]
            change = convert.get(units, lambda x: x)
            assert units in convert or units[0] == units[1], units
            for name in us.columns[2:]:
                got = change(float(first[name]))
                assert got == pytest.approx(float(second[name]), rel=1e-3, abs=1e-6), first
            rise = "rise" in first["quantity"] or "argin" in first["quantity"]
            assert not rise or units[1] == "K", first["quantity"]
            changed += units in convert
    assert changed >= 6


def test_tables_are_sorted_by_what_they_say():
    lines = [
        {"item": Message("limit.least", value=f"part {n}"), "counter": 1, "price": 10.0,
         "asked_a_year": asked}
        for n, asked in enumerate((3.0, 9.0, 1.0))
    ]  # fmt: skip
    study = SimpleNamespace(load_list=lambda: lines, currency="USD")
    asked = stock.at_counter(study, SAY).iloc[:, -1].astype(float)
    assert list(asked) == [9.0, 3.0, 1.0]
    failed = answer_tables.failures(found(), SAY).iloc[:, 1]
    assert list(failed) == sorted(failed, reverse=True) and len(set(failed)) > 1
    rank = {verdict: place for place, verdict in enumerate(("fits", "fits with work"))}
    places = [rank.get(one.verdict, 2) for one in found().candidates]
    assert places == sorted(places)


# Causes


COMMON = (  # in the words of a technician, from common to rare; those of a row are about equal
    {"capacitor", "bearing_wear"},
    {"blocked_coil", "water"},
    {"hot_air", "wiring", "blade", "old_insulation"},
    {"overload", "surge", "low_voltage"},
    {"high_voltage", "backward", "other"},
)


def test_common_causes_are_more_probable_than_rare_ones():
    path = data_folder() / "causes.toml"
    with open(path, "rb") as file:
        priors = {name: one["prior"] for name, one in tomllib.load(file)["causes"].items()}
    assert sum(priors.values()) == pytest.approx(100, abs=5)
    assert set().union(*COMMON) == set(priors)
    for common, rare in pairwise(COMMON):
        assert min(priors[one] for one in common) > max(priors[one] for one in rare)
    shares = np.array(list(priors.values())) / sum(priors.values())
    assert read_causes(path).prior / read_causes(path).prior.sum() == pytest.approx(shares)


# A finding, one of its states, and a cause that makes the state more likely than other causes do.
SIGNS = [
    ("start", "only with a push", "capacitor"),
    ("start", "hums, won't start", "capacitor"),
    ("start", "only with a push", "low_voltage"),
    ("start", "hums, won't start", "low_voltage"),
    ("start", "hums, won't start", "water"),
    ("capacitor", "dead", "capacitor"),
    ("bearings", "worn", "bearing_wear"),
    ("inside", "water", "water"),
    ("coil", "blocked", "blocked_coil"),
]


@pytest.mark.parametrize(("finding", "state", "cause"), SIGNS)
def test_a_sign_of_a_cause_is_more_likely_with_it_than_with_others(finding, state, cause):
    with open(data_folder() / "causes.toml", "rb") as file:
        table = tomllib.load(file)["findings"][finding]
    place = table["states"].index(state)
    assert table[cause][place] > table["others"][place]


@pytest.mark.parametrize("language", LANGUAGES)
def test_causes_are_ranked_by_their_probability(language):
    why = cause(Job.read(ROOF))
    writer = Writer(language)
    chances = [one.chance for one in why.likely]
    assert chances == sorted(chances, reverse=True) and sum(chances) == pytest.approx(1)
    names = [name for _, name in ranking(why, writer)]
    assert names == [writer.value(one.cause.name) for one in why.likely[: len(names)]]
