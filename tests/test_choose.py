"""Verdicts: each check of the trade with a fact that passes, one that has to be adapted, fails."""

from types import SimpleNamespace

import pytest

from airover.answer import answer
from airover.bands import Band
from airover.choose import (
    DOES_NOT_FIT,
    FITS,
    FITS_WITH_WORK,
    ORDER,
    Candidate,
    choose,
    electrical,
    load,
    mechanical,
)
from airover.choose.check import ADAPT, FAIL, MISSING, NOTE, PASS, Check
from airover.units import read

from .jobs import HORSEPOWER, MOTOR, job, motor
from .one_case import case


def judged(a_job=None, a_motor=MOTOR):
    return answer(a_job or job(), (a_motor,)).candidates[0]


def check(candidate, name):
    return next(one for one in candidate.checks if one.name == name)


@pytest.fixture(scope="module")
def ordinary():
    return judged()


def test_the_ordinary_motor_fits_the_ordinary_job(ordinary):
    assert ordinary.verdict == FITS, ordinary.reasons
    assert ordinary.reasons == ()


SOURCES = {
    "common practice, no source",
    "worked out by this kit's motor and heat models",
    "NEMA MG 1, 12.43, from memory, not verified",
    "NEMA MG 1, 12.44, from memory, not verified",
    "UL 1004-3, running overload, from memory, not verified",
    "IEC 60216, halving per 8 to 10 K, from memory",
    "IEC 60252-1, 1.1 times the rated voltage, from memory, not verified",
    "no standard: Archard's wear and oil that ages, ranges of common practice",
}


def test_every_check_says_why_and_whose_rule(ordinary):
    for one in ordinary.checks:
        assert one.why.endswith("."), one.name
        assert one.source, one.name
        assert one.state in ("pass", "note"), one.name
    assert {one.source for one in ordinary.checks} == SOURCES
    names = [one.name for one in ordinary.checks]
    assert len(names) == len(set(names)) >= 27


INCH = 0.0254

# Checks that hang on what was worked, and one each that is adapted or open; the rest, and what each
# says, is in test_choose_load, _electrical and _mechanical without any work.
# check, its state, changes of the job, changes of the motor
CASES = [
    ("catalogue's plate", "fail", {}, {"capacitor": 60e-6, "currents": (1.2,)}),
    ("voltage", "missing", {"site__voltage": None}, {}),
    ("voltage", "fail", {"site__voltage": "180-240 V"}, {}),
    ("voltage", "missing", {"site__voltage": "245 V"}, {}),
    ("frequency", "fail", {}, {"frequency": 50.0, "speed_rpm": 900.0}),
    ("speed", "fail", {}, {"poles": 8, "speed_rpm": 825.0}),
    ("shaft power", "fail", {}, {"ratings": (HORSEPOWER / 4,), "currents": (1.5,)}),
    ("shaft power", "missing", {"nameplate__power": None}, {"ratings": (HORSEPOWER / 3.4,)}),
    ("torque", "fail", {"site__voltage": "150 V"}, {}),
    ("airflow", "fail", {}, {"ratings": (HORSEPOWER / 6,), "currents": (1.1,)}),
    ("full-load amps", "missing", {"nameplate__current": None}, {}),
    ("ambient rating", "fail", {}, {"ambient_rating": 40.0}),
    ("ambient rating", "missing", {"site__recirculation": "0-12 K"}, {}),
    (
        "winding temperature",
        "fail",
        {"site__outdoor_temperature": "135 degF", "site__airflow": "1400 cfm"},
        {},
    ),
    ("capacitor", "adapt", {"nameplate__capacitor": "10 uF"}, {}),
    ("capacitor", "missing", {}, {"capacitor": None}),
    ("shaft length", "adapt", {}, {"shaft_length": 6 * INCH}),
    ("mounting", "missing", {"nameplate__mounting": None}, {}),
    ("starting on low voltage", "fail", {"site__voltage": "120 V"}, {}),
]


@pytest.mark.parametrize("name, state, of_job, of_motor", CASES)
def test_a_check_decides(name, state, of_job, of_motor):
    candidate = judged(job(**of_job), motor(**of_motor))
    found = check(candidate, name)
    assert found.state == state, found.why
    if state == "fail":
        assert candidate.verdict == DOES_NOT_FIT
        assert found.why in candidate.reasons
    elif state in ("adapt", "missing"):
        assert candidate.verdict != FITS
        if candidate.verdict == FITS_WITH_WORK:
            assert found.why in candidate.reasons


def ending(*states) -> Candidate:
    """A motor whose checks end so; each says its own state."""
    return Candidate(
        None, tuple(Check(f"check {n}", s, f"{s} {n}", "") for n, s in enumerate(states))
    )


@pytest.mark.parametrize(
    ("states", "verdict", "reasons"),
    [
        ([PASS, NOTE], FITS, ()),
        ([PASS, ADAPT, NOTE], FITS_WITH_WORK, ("adapt 1",)),
        ([MISSING, PASS, ADAPT], FITS_WITH_WORK, ("missing 0", "adapt 2")),
        ([MISSING, FAIL, ADAPT, FAIL], DOES_NOT_FIT, ("fail 1", "fail 3")),
    ],
)
def test_one_failure_decides_and_a_missing_fact_is_no_pass(states, verdict, reasons):
    candidate = ending(*states)
    assert candidate.verdict == verdict
    assert candidate.reasons == reasons


@pytest.mark.parametrize("part", [load, electrical, mechanical])
def test_every_check_that_is_written_is_made(part):
    written = [
        one for one in vars(part).values() if getattr(one, "__module__", "") == part.__name__
    ]
    checks = {one for one in written if one.__annotations__.get("return") is Check}
    assert checks == set(part.CHECKS) and len(checks) == len(part.CHECKS) >= 9


def test_the_words_and_states_are_those_of_the_guide():
    assert (FITS, FITS_WITH_WORK, DOES_NOT_FIT) == ("fits", "fits with work", "does not fit")
    assert (PASS, ADAPT, FAIL, MISSING, NOTE) == ("pass", "adapt", "fail", "missing", "note")


RATINGS = {"ratings": (100.0, 200.0, 300.0), "currents": (1.0, 1.5, 2.0)}


@pytest.mark.parametrize(
    ("plate", "number"),
    [
        ("90 W", 0),
        ("103 W", 0),  # 97 per cent is the same rating in other digits: common practice, no source
        ("103.2 W", 1),
        ("190-210 W", 1),
        ("250 W", 2),
        ("400 W", 2),  # the highest is not enough; the check of shaft power tells
        (None, 2),  # the blade takes 213 W
    ],
)
def test_the_rating_used_is_the_smallest_that_covers_the_old_one(plate, number):
    used = case({"nameplate__power": plate}, RATINGS)
    assert used.rating == RATINGS["ratings"][number]
    assert used.rated_current == RATINGS["currents"][number]


def test_a_rating_of_just_97_per_cent_covers_the_old_one():
    assert (
        case({"nameplate__power": "200 W"}, RATINGS | {"ratings": (97.0, 194.0, 300.0)}).rating
        == 194.0
    )


def test_the_amps_of_the_rating_used_are_compared():
    a_job = {"nameplate__power": "200 W", "nameplate__current": "1.5 A"}
    assert electrical.full_load_amps(case(a_job, RATINGS)).margin == pytest.approx(0.15)


WARM, HOT, HOTTER = Band(80.0, 100.0, 150.0), Band(90.0, 110.0, 130.0), Band(85.0, 120.0, 125.0)


@pytest.mark.parametrize("bands", [(HOTTER, HOT, WARM), (WARM, HOTTER, HOT), (WARM, HOT, HOTTER)])
def test_the_hottest_winding_is_that_of_the_hottest_middle(bands):
    found = case(temp_c=bands)
    assert found.hottest_winding == HOTTER
    assert found.winding == bands[1]


def test_a_figure_or_the_middle_of_its_band_is_shown_in_the_reader_s_units():
    assert case().shown(HOT, "temperature") == "230 degF"
    assert case(system="SI").shown(120.0, "temperature") == "120 degC"


def told(model, margin=0.0, price=90.0, work=0, fails=0):
    """A motor and what its checks are to say."""
    states = [ADAPT] * work + [FAIL] * fails
    checks = [Check("winding temperature", PASS, "", "", margin=margin)]
    checks += [Check(f"check {n}", state, f"{state} {n}", "") for n, state in enumerate(states)]
    return motor(model=model, price=price), checks


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (told("b"), told("a", work=1)),
        (told("b", work=3), told("a", fails=1)),
        (told("b", work=1, margin=0.0), told("a", work=2, margin=50.0)),
        (told("b", fails=1), told("a", fails=2)),
        (told("b", margin=12.6), told("a", margin=12.4)),  # steps of 5 K: three and two
        (told("b", margin=12.6, price=80.0), told("a", margin=17.4, price=81.0)),
        (told("b", margin=-40.0), told("a", margin=None)),
        (told("b", price=1e6), told("a", price=None)),
        (told("b", price=0.5), told("a", price=1.0)),
        (told("a"), told("b")),
    ],
)
def test_the_better_motor_comes_first(monkeypatch, first, second):
    """Own judgement: verdict, things to do, 5 K of winding, price, name."""
    says = {one.name: checks for one, checks in (first, second)}
    for part in (load, electrical, mechanical):
        monkeypatch.setattr(part, "CHECKS", ())
    checks = [lambda case, n=n: (says[case.motor.name] + [NOTHING] * 5)[n] for n in range(5)]
    monkeypatch.setattr(load, "CHECKS", checks)
    for pair in (first, second), (second, first):
        worked = SimpleNamespace(motors=tuple(one for one, _ in pair))
        assert [one.case.motor for one in choose(worked)] == [first[0], second[0]]


NOTHING = Check("nothing", NOTE, "", "")


def test_both_kinds_of_bearing_get_hours_as_a_note(ordinary):
    ball = judged(None, motor(bearings="ball", bearing_bore=0.015))
    hours = check(ball, "bearing life").found
    assert 1_000 < hours.low < hours.high < 50_000  # L10 of grease, 80 to 115 degC, Booser's line
    assert "grease governs" in check(ball, "bearing life").why
    sleeve = check(ordinary, "bearing life")
    assert "screening estimate, no standard" in sleeve.why and sleeve.state == "note"
    assert sleeve.found.high > 5 * sleeve.found.low  # its band says how little is known


def test_the_hot_spot_and_not_the_average_ages_the_winding(ordinary):
    """Class B at its 130 degC lives 20 000 h; 10 K cooler twice that (IEC 60216)."""
    hours, temp = check(ordinary, "winding life").found, ordinary.case.winding.mid
    plain = 20_000 * 2 ** ((130 - (temp + 7.5)) / 9)
    assert hours.mid == pytest.approx(plain, rel=0.15)


def test_order_is_fits_then_least_work_then_rest():
    longer = motor(model="longer", shaft_length=6 * INCH)
    longest = motor(model="longest", shaft_length=6 * INCH, capacitor=10e-6)
    wrong = motor(model="wrong", poles=8, speed_rpm=825.0)
    order = answer(job(), (wrong, longest, longer, MOTOR)).candidates
    assert [c.case.motor.model for c in order] == ["test-1", "longer", "longest", "wrong"]
    assert ORDER == (
        "Motors that fit come first, then those with the fewest things to adapt or to find out, "
        "then the cooler winding (in steps of 5 K), then the lower price."
    )


def test_units_are_the_readers_choice():
    in_si = answer(job(), (MOTOR,), system="SI").candidates[0]
    assert "degC" in check(in_si, "ambient rating").why
    us = answer(job(), (MOTOR,)).candidates[0]
    assert "degF" in check(us, "ambient rating").why
    assert read("60 degC", "temperature", "t").mid == check(us, "ambient rating").limit
