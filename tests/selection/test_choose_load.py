"""Rules of load and heat: the outcome and the state of each, right at its limits.

Limits that no standard gives are common practice; they stand here a second time, so that a change
is seen. NEMA MG 1, 12.43, totally enclosed, from memory: average rises by resistance of 65, 85,
110 and 130 K over 40 degC for classes A, B, F and H, so 105, 125, 150 and 170 degC.
"""

import numpy as np
import pytest

from airover.core.intervals import Band
from airover.model.aging import Life
from airover.selection import rules
from tests.one_case import check, why

HORSEPOWER = 745.6999
UNREAD = {"nameplate__power": None}
CURVE = {
    "blade__curve": {
        "speed": "1075 rpm",
        "flow": ["1000 cfm", "2000 cfm", "3000 cfm"],
        "pressure": ["0.4 in. w.g.", "0.3 in. w.g.", "0.1 in. w.g."],
        "power": ["200 W", "210 W", "200 W"],
    }
}
WEAK = {"ratings": (200.0,)}


def hp(new, old="1/3 hp"):
    return {"a_job": {"nameplate__power": old}, "a_motor": {"ratings": (new * HORSEPOWER,)}}


def rated(degrees, old=None, **more):
    """A motor for ``degrees`` of ambient in place of one for ``old``."""
    a_job = {"nameplate__ambient_rating": None if old is None else f"{old} degC"} | more
    return {"a_job": a_job, "a_motor": {"ambient_rating": degrees}}


def letter(name):
    return {"a_motor": {"insulation_class": name}}


TRIPPED = {"found__trips": "in the heat"}
TIMID = {"nameplate__ambient_rating": None, "site__outdoor_temperature": None}

CASES = [
    # a rating no smaller than the old motor's carries what the old motor carried
    ("shaft power", {"needed": (250, 260, 270)}, "carries", "pass"),
    ("shaft power", {"a_motor": WEAK, "needed": (190, 195, 200)}, "carries", "pass"),
    ("shaft power", {"a_motor": WEAK, "needed": (190, 195, 206)}, "doubtful", "missing"),
    ("shaft power", {"a_motor": WEAK, "needed": (190, 200, 210)}, "doubtful", "missing"),
    ("shaft power", {"a_motor": WEAK, "needed": (190, 200.1, 210)}, "too_weak", "fail"),
    # the fan's own curve is better evidence than the old nameplate
    ("shaft power", {"a_job": CURVE, "needed": (250, 260, 270)}, "too_weak", "fail"),
    ("shaft power", {"a_job": UNREAD, "needed": 100.0}, "by_amps", "pass"),
    (
        "shaft power",
        {"a_job": UNREAD, "a_motor": {"currents": (2.2,)}, "needed": 100.0},
        "estimated",
        "missing",
    ),
    ("horsepower", hp(1 / 3), "same", "pass"),
    ("horsepower", hp(0.971 / 3), "same", "pass"),  # 1/3 hp printed as 0.33 hp or 245 W
    ("horsepower", hp(0.969 / 3), "smaller", "adapt"),
    ("horsepower", hp(1 / 3, None), "estimated", "pass"),  # 1.9 A at 230 V
    # a 0.21 hp fan: 1/4 hp is its size, 1/3 hp one up
    ("horsepower", {**hp(1 / 4), "a_job": CURVE | UNREAD, "needed": 161.0}, "by_curve", "pass"),
    ("horsepower", {**hp(1 / 3), "a_job": CURVE | UNREAD, "needed": 161.0}, "one_size_up", "adapt"),
    ("horsepower", hp(1 / 4, "1/6 hp"), "one_size_up", "adapt"),
    ("horsepower", hp(1 / 3, "1/4 hp"), "one_size_up", "adapt"),
    ("horsepower", hp(1 / 2), "one_size_up", "adapt"),
    ("horsepower", hp(3 / 4, "1/2 hp"), "one_size_up", "adapt"),
    ("horsepower", hp(1.549 / 3), "one_size_up", "adapt"),
    ("horsepower", hp(1.551 / 3), "too_large", "fail"),
    ("horsepower", hp(1 / 3, "1/6 hp"), "too_large", "fail"),
    ("horsepower", hp(1 / 2, "1/4 hp"), "too_large", "fail"),
    ("torque", {"reserve": (0.9, 1.0, 1.2)}, "enough", "pass"),
    ("torque", {"reserve": (0.9, 0.999, 1.2)}, "slows", "note"),
    ("speed", {}, "same", "pass"),
    ("speed", {"a_motor": {"poles": 8, "speed_rpm": 825.0}}, "other", "fail"),
    ("speed", {"a_job": {"nameplate__speed": "825 rpm"}}, "other", "fail"),
    (
        "speed",
        {"a_job": {"nameplate__frequency": None, "nameplate__speed": "1075 rpm"}},
        "same",
        "pass",
    ),
    ("speed", {"a_job": {"nameplate__speed": None, "nameplate__poles": 6}}, "same", "pass"),
    ("speed", {"a_job": {"nameplate__speed": None}}, "old_unknown", "missing"),
    # 95 % of the airflow that the failed motor moved: common practice, no source
    ("airflow", {"ratio": 0.951}, "enough", "pass"),
    ("airflow", {"ratio": 0.949}, "near", "note"),
    ("airflow", {"ratio": 0.931}, "near", "note"),
    ("airflow", {"ratio": 0.929}, "short", "fail"),
    ("airflow", {"ratio": 0.92, "old": {"ratio": 0.95}}, "enough", "pass"),
    ("airflow", {"ratio": 0.92, "old": None}, "short", "fail"),
    ("ambient rating", rated(60.0) | {"air": (50, 55, 60)}, "cool", "pass"),
    ("ambient rating", rated(60.0) | {"air": (50, 55, 65)}, "may_exceed", "missing"),
    ("ambient rating", rated(60.0) | {"air": (55, 60, 65)}, "may_exceed", "missing"),
    ("ambient rating", rated(60.0) | {"air": (55, 60.1, 65)}, "too_hot", "fail"),
    # a nameplate that promises as much as the old one's did
    ("ambient rating", rated(60.0, 60) | {"air": (55, 60, 65)}, "like_old", "note"),
    ("ambient rating", rated(60.0, 60) | {"air": (55, 60.1, 65)}, "like_old_hot", "missing"),
    ("ambient rating", rated(60.0, 60) | {"air": (65, 70, 75)}, "like_old_hot", "missing"),
    ("ambient rating", rated(60.0, 60) | {"air": (65, 70.1, 75)}, "too_hot", "fail"),
    ("ambient rating", rated(60.0, 70) | {"air": (55, 60.1, 65)}, "too_hot", "fail"),
    ("ambient rating", rated(60.0, 60, **TRIPPED) | {"air": (55, 60.1, 65)}, "too_hot", "fail"),
    # weather that nobody gave stops no motor
    (
        "ambient rating",
        {"a_job": TIMID, "air": (60, 65, 70), "a_motor": {"ambient_rating": 40.0}},
        "may_exceed",
        "missing",
    ),
    ("ambient rating", {"a_motor": {"ambient_rating": None}}, "unlisted", "missing"),
    *(
        ("winding temperature", letter(name) | {"temp": temp}, outcome, state)
        for name, limit in (("A", 105.0), ("B", 125.0), ("F", 150.0), ("H", 170.0))
        for temp, outcome, state in (
            ((limit - 20, limit - 10, limit), "cool", "pass"),
            ((limit - 20, limit, limit + 20), "may_exceed", "missing"),
            ((limit - 20, limit + 0.1, limit + 20), "too_hot", "fail"),
        )
    ),
    ("winding temperature", {"temp": (115, 120, 130), "old": {"temp": 126.0}}, "like_old", "note"),
    ("winding temperature", {"temp": 135.0, "old": {"temp": 126.0}}, "like_old_hot", "missing"),
    # a failed motor that ran above its overload's trip limit (165 degC in class B) excuses nothing
    ("winding temperature", {"temp": 135.0, "old": {"temp": 166.0}}, "too_hot", "fail"),
    (
        "winding temperature",
        {"temp": 135.0, "old": {"temp": 126.0}, "a_job": TRIPPED},
        "too_hot",
        "fail",
    ),
    ("winding temperature", {"temp": 135.0, "old": None}, "too_hot", "fail"),
    ("winding temperature", letter(None), "unlisted", "missing"),
    ("winding as voltage moves", {}, "hottest", "note"),
    ("winding as voltage moves", letter(None), "unlisted", "note"),
]


@pytest.mark.parametrize(("name", "told", "outcome", "state"), CASES)
def test_an_outcome_and_its_state(name, told, outcome, state):
    found = check(name, **told)
    assert (found.outcome, found.state) == (outcome, state), found.why


REFUSALS = [
    ("shaft power", {"a_motor": WEAK, "needed": (215, 220, 230)}, ("200 W", "220 W")),
    ("horsepower", hp(3 / 4), ("559 W", "385 W", "249 W")),
    ("speed", {"a_motor": {"poles": 8, "speed_rpm": 825.0}}, ("8 poles", "825 rpm", "6 poles")),
    ("airflow", {"ratio": 0.9}, ("90 %", "95 %")),
    ("ambient rating", rated(40.0), ("52 degC", "40 degC")),
    ("winding temperature", {"temp": 130.0}, ("130 degC", "class B", "125 degC")),
]


@pytest.mark.parametrize(("name", "told", "figures"), REFUSALS)
def test_a_refusal_prints_its_number_and_its_limit(name, told, figures):
    found = check(name, **told)
    assert found.state == "fail"
    assert all(figure in why(found, "SI") for figure in figures), why(found, "SI")


def test_the_hottest_of_three_voltages_is_shown():
    hottest = check("winding as voltage moves", temp=((105, 112, 119), 110.0, 108.0))
    assert hottest.found == pytest.approx(Band(105, 112, 119)) and hottest.limit == 165.0
    said = why(hottest, "SI")
    assert all(figure in said for figure in ("112 degC", "220 V", "244 V", "165 degC"))


def test_the_margin_is_the_limit_less_the_middle():
    assert check("winding temperature").margin == pytest.approx(15.0)
    assert check("ambient rating", a_motor={"ambient_rating": 60.0}).margin == pytest.approx(8.0)
    np.testing.assert_allclose(check("airflow", ratio=0.9).margin, -0.05)


HOURS = Band(20_000.0, 40_000.0, 60_000.0)
BALL, SLEEVE = "ball_life", "sleeve_life"


class Living:
    """A case of which only the lives are known."""

    def __init__(self, winding=None, bearing=None):
        self.winding_life, self.bearing_life = Life(winding), bearing


@pytest.mark.parametrize(
    ("life", "outcome", "source"),
    [
        (Life(HOURS, "ball", "grease"), "hours", BALL),
        (Life(HOURS, "sleeve", "oil (screening estimate, no standard)"), "hours", SLEEVE),
        (Life(None, "ball", "bearing size unknown"), "unlisted", BALL),
    ],
)
def test_the_life_of_the_bearings_is_a_remark(life, outcome, source):
    found = rules.bearing_check(Living(bearing=life))
    assert (found.outcome, found.state, found.source) == (outcome, "note", source)
    assert life.kind in why(found) and "screening" not in why(found)
    if life.hours:
        # the hours over 1500 h a year, which age a bearing half as much as the design day
        assert "40 years (27 to 40) at 1,500 h" in why(found)


@pytest.mark.parametrize(
    ("hours", "outcome", "said"), [(HOURS, "hours", "13 to 40 years"), (None, "unlisted", "class")]
)
def test_the_life_of_the_winding_is_a_remark(hours, outcome, said):
    found = rules.winding_check(Living(winding=hours))
    assert (found.state, found.outcome) == ("note", outcome) and said in why(found)
