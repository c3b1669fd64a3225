"""A job whose blade has a curve but whose airflow nobody measured."""

import numpy as np
import pytest

from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.model.conditions import curve_of, site_conditions
from airover.records.fan import Blade
from tests.jobs import HORSEPOWER, job

ENGLISH = Writer("en")
CURVE = {
    "flow": ["1200 cfm", "1600 cfm", "2000 cfm", "2400 cfm", "2800 cfm"],
    "pressure": ["0.42 in. w.g.", "0.34 in. w.g.", "0.26 in. w.g.", "0.15 in. w.g.", "0.02 in. w.g."],
    "power": ["285 W", "270 W", "255 W", "235 W", "205 W"],
    "speed": "1075 rpm",
    "density": "0.075 lb/ft3",
}  # fmt: skip


def asked(**changes):
    facts = {"blade__curve": CURVE, "site__airflow": None} | changes
    return site_conditions(job(**facts), 200)


def airflow(found):
    return next(one for one in found.inputs if one.name == "airflow")


def test_the_fan_load_finds_the_flow_on_the_curve():
    """92 % of 249 W lies between 235 W at 2400 cfm and 205 W at 2800 cfm; the ends are reached."""
    found = asked()
    assert 2300 * 4.719e-4 < np.median(found.flow) < 2700 * 4.719e-4
    assert found.flow.min() < 1400 * 4.719e-4 and found.flow.max() > 2750 * 4.719e-4
    assert airflow(found).origin == "assumed" and "rated power" in ENGLISH(airflow(found).why)
    about = ENGLISH.amount(np.median(found.flow), "flow")
    assert ENGLISH.value(airflow(found).value) == f"about {about}"
    standard = found.shaft_power / (found.density / 1.2014)
    assert 0.90 < np.median(standard) / (HORSEPOWER / 3) < 1.0
    at_1075 = standard / (found.speed_rpm / 1075) ** 3  # nameplate rpm has a tolerance
    assert at_1075.min() >= 205 * 0.999 and at_1075.max() <= 285 * 1.001


@pytest.mark.parametrize(
    "changes",
    [
        {"nameplate__power": "1/2 hp", "nameplate__current": "2.8 A"},  # beyond the curve
        {"blade__curve": CURVE | {"power": ["250 W", "262 W", "265 W", "255 W", "230 W"]}},
    ],
)
def test_where_power_does_not_tell_the_flow_the_usual_part_is_taken(changes):
    found = asked(**changes)
    assert "60-90 %" in ENGLISH(airflow(found).why)
    share = found.flow / (2800 * 4.719474e-4 * found.speed_rpm / 1075)
    assert np.all((share > 0.599) & (share < 0.901))


def test_a_flow_that_was_measured_counts_before_the_plate():
    found = asked(site__airflow="2600 cfm")
    assert np.median(found.flow) == pytest.approx(2600 * 4.719474e-4, rel=1e-3)
    assert airflow(found).origin == "measured"


def test_a_plate_that_says_nothing_of_power_leaves_the_usual_part():
    found = asked(nameplate__power=None, nameplate__current=None)
    assert "60-90 %" in ENGLISH(airflow(found).why)


def test_a_curve_in_the_units_of_the_trade_becomes_one_in_si():
    written = Blade(curve=CURVE).curve
    fan = curve_of(written)
    assert fan.flow[0] == pytest.approx(1200 * 0.3048**3 / 60)
    assert fan.pressure[0] == pytest.approx(0.42 * 249.089, rel=1e-4)
    assert fan.density == pytest.approx(1.2014, rel=1e-4) and fan.speed_rpm == 1075.0
    assert fan.scatter.power == 0 and curve_of(written, smooth=True).scatter.power > 0


def test_a_curve_with_more_air_than_shaft_power_is_refused_with_the_job():
    wrong = CURVE | {"power": ["0.03 hp", "0.03 hp", "0.03 hp", "0.03 hp", "0.03 hp"]}
    with pytest.raises(InputError, match="power: 22.371 W .* 59.25 W"):
        asked(blade__curve=wrong)
