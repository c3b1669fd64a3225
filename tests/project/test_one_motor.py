"""Every view of one motor on one job shows the same numbers.

A technician compares the answer, the work order, the page's amps and the counter's list; two
figures for one motor would make all of them doubtful.
"""

import pytest

from airover.core.files import data_folder
from airover.model.conditions import site_conditions
from airover.model.expected import mounted
from airover.model.motor import Load, Motor
from airover.model.simulation import USUAL, simulate
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.selection.answer import answer, counter_list
from airover.service.cause import old_motor
from airover.service.order import work_order

MOTORS = read_catalog(data_folder() / "catalogue.csv")
SAME = 1e-3  # of a figure: where iterations stop
JOBS = {
    "roof unit": Job.read(data_folder() / "jobs" / "roof-unit.toml"),
    "few facts": Job(nameplate={"voltage": "208-230 V", "power": "1/4 hp", "speed": "825 rpm"}),
    "460 V": Job(
        nameplate={"voltage": "460 V", "power": "1/2 hp", "current": "1.6 A", "speed": "1075 rpm"},
        site={"voltage": "478 V", "outdoor_temperature": "95 degF"},
    ),
    "several ratings": Job(
        nameplate={"voltage": "208-230 V", "power": "1/6 hp", "speed": "1075 rpm"},
        site={"voltage": "212 V"},
    ),
}


@pytest.fixture(scope="module", params=JOBS)
def found(request):
    return answer(JOBS[request.param], MOTORS)


@pytest.fixture(scope="module")
def case(found):
    """The first motor of several ratings that fits, else the first."""
    several = (one for one in found.fitting if len(one.case.motor.ratings) > 1)
    return next(several, found.fitting[0]).case


def near(band):
    return pytest.approx(tuple(band), rel=SAME)


def test_the_motor_panel_shows_the_answer_s_figures(found, case):
    run = mounted(case.motor, case.rating, found.job).at(case.conditions.voltage[USUAL])
    figures = run.first_bands()
    assert tuple(figures["current_a"]) == near(case.current)
    assert tuple(figures["power_in_w"]) == near(case.band("power_in_w"))
    assert tuple(figures["speed_rpm"]) == near(case.speed_rpm)
    assert tuple(figures["temp_winding_c"]) == near(case.winding)


def test_the_counter_s_list_shows_the_answer_s_figures(found, case):
    (entry,) = counter_list([found.job], MOTORS)
    same = next(one for one in entry.fitting if one.candidate.case.motor == case.motor)
    listed = same.candidate.case
    assert tuple(listed.current) == near(case.current)
    assert tuple(listed.winding) == near(case.winding)
    assert [one.candidate.case.motor for one in entry.fitting] == [
        one.case.motor for one in found.fitting
    ]


def test_a_lesson_and_a_year_simulate_the_same_motor(found, case):
    short = answer(found.job, (case.motor,), thorough=True).candidates[0].case
    alone = simulate(found.job, (case.motor,))
    assert tuple(short.current) == near(case.current)
    for name in ("current_a", "temp_c"):
        ends = (end[USUAL, 0] for end in alone.bands[name])
        assert tuple(ends) == near(case.band(name))


def test_worksheet_04_shows_the_same_winding(found, case):
    asked = site_conditions(found.job, case.conditions.samples)
    motor = Motor.from_catalog(case.motor)
    run = motor.run(Load.of(asked), asked.voltage[USUAL])
    assert tuple(run.first_bands()["temp_winding_c"]) == near(case.winding)


def test_the_order_prints_the_answer_s_amps(found, case):
    order = work_order(found, case.motor.name)
    start = next(one for one in order.steps if one.key == "first_start")
    amps = next(one.expected for one in start.write if one.unit == "A")
    assert amps.value == case.current


def test_the_cause_simulates_the_failed_motor_of_the_answer(found):
    old = old_motor(found.job)
    run = old.motor.run(old.load, site_conditions(found.job, 100).voltage[USUAL])
    assert tuple(run.first_bands()["current_a"]) == near(found.failed["current_a"])
    assert tuple(run.first_bands()["temp_winding_c"]) == near(found.failed["temp_c"])
