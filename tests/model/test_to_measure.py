"""What else to measure: the right fact first, and nothing where nothing is missing."""

import numpy as np

from airover.core.texts import Writer
from airover.model.conditions import site_conditions
from airover.model.fan_at_site import ASSUMED, to_measure
from airover.model.sizing import Duty, duty
from airover.physics.fan import FanCurve
from tests.jobs import job
from tests.model.test_sizing import FAN, FLOW, POWER, PRESSURE, scattered


def facts(asks):
    return [ask.fact for ask in asks]


def test_what_is_least_known_comes_first():
    wide, narrow = (15.0, 55.0), (29.0, 31.0)
    by_system = to_measure(duty(FAN, wide, 1075.0, (1.09, 1.11)), FAN)
    by_density = to_measure(duty(FAN, narrow, 1075.0, (0.95, 1.2)), FAN)
    assert by_system[0].fact == "resistance" and by_system[0].share > 0.8
    assert by_density[0].fact == "density" and by_density[0].share > 0.5
    said = Writer("en")(by_density[0].advice)
    assert "elevation" in said and "100 %" in said


def test_shares_add_to_one_and_fixing_the_first_fact_narrows_the_band():
    known = duty(FAN, (15.0, 55.0), 1075.0, (1.0, 1.2))
    shares = [ask.share for ask in to_measure(known, FAN)]
    assert sum(shares) <= 1.0001 and shares == sorted(shares, reverse=True)
    first = to_measure(known, FAN)[0].fact
    fixed = {"resistance": (15.0, 55.0), "density": (1.0, 1.2)} | {first: {"resistance": 33.0, "density": 1.1}[first]}  # fmt: skip
    narrower = duty(FAN, fixed["resistance"], 1075.0, fixed["density"])
    other = {"resistance": 33.0, "density": 1.1} | {first: {"resistance": (15.0, 55.0), "density": (1.0, 1.2)}[first]}  # fmt: skip
    assert np.std(narrower.power) < np.std(
        duty(FAN, other["resistance"], 1075.0, other["density"]).power
    )


def test_nothing_uncertain_leaves_the_line_voltage_only():
    assert facts(to_measure(duty(FAN, 30.0, 1075.0, 1.1), FAN)) == ["line voltage"]


def test_a_short_curve_is_asked_for_its_ends_and_more_points():
    cut = FanCurve(FLOW[5:8], PRESSURE[5:8], POWER[5:8], 1075.0, 1.2)
    assert {"points", "free delivery", "blocked"} <= set(
        facts(to_measure(duty(cut, 35.0, 1075.0, 1.2), cut))
    )
    beyond = duty(cut, 20.5, 1075.0, 1.2, extrapolate=True)
    assert "reach" in facts(to_measure(beyond, cut))


def test_a_stall_is_warned_of():
    pressure = np.array([90.0, 50.0, 22.0, 26.0, 58.0, 54.0, 45.0, 31.0, 17.0, 0.0])
    fan = FanCurve(FLOW, pressure, POWER, 1075.0, 1.2)
    assert "stall" in facts(to_measure(duty(fan, (80.0, 90.0), 1075.0, 1.2), fan))
    assert "stall" not in facts(to_measure(duty(fan, 20.0, 1075.0, 1.2), fan))


def test_scatter_asks_for_better_readings():
    fan = scattered()
    assert {"pressure", "power"} & set(facts(to_measure(duty(fan, 25.0, 1075.0, 1.2), fan)))


def test_strays_are_named_as_given():
    flow = np.linspace(0.6, 1.5, 12)
    pressure = 62 - 26 * flow**2
    pressure[4] += 12
    fan = FanCurve.from_measured(flow, pressure, 280 - 66 * flow, 1075, 1.2)
    (ask,) = [ask for ask in to_measure(duty(fan, 25.0, 1075.0, 1.2), fan) if ask.fact == "strays"]
    assert "entered): 5." in Writer("en")(ask.advice)


def test_a_job_is_asked_for_what_it_assumes():
    changes = {"site__airflow": None, "site__voltage": None, "site__elevation": None}
    asked = site_conditions(job(**changes), 60)
    named = facts(to_measure(Duty.of(asked), conditions=asked))
    assert named[:2] == ["fan load", "airflow"]
    assert {"line voltage", "elevation", "curve"} <= set(named)
    whole = site_conditions(job(), 60)
    assert "elevation" not in facts(to_measure(Duty.of(whole), conditions=whole))


def test_the_names_of_assumed_facts_are_those_that_jobs_show():
    """A fact renamed in `conditions` would silently not be asked for."""
    gone = {"outdoor_temperature", "elevation", "voltage", "heat", "airflow", "recirculation"}
    nothing = {f"site__{name}": None for name in gone} | {"blade__diameter": None}
    jobs = [
        job(**nothing),
        job(nameplate__power=None),
        job(nameplate__speed=None, nameplate__poles=6),
        job(),
    ]
    shown = {one.name for each in jobs for one in site_conditions(each, 40).inputs if one.why}
    assert set(ASSUMED) <= shown
