"""Limits that an engineer sets: in the job file, in every check, and in every document."""

import json
from dataclasses import replace
from html import unescape

import pytest

from airover.core.errors import InputError
from airover.core.files import LANGUAGES, data_folder
from airover.core.texts import Writer
from airover.core.units import convert
from airover.records.catalog import read_catalog
from airover.records.company import Company
from airover.records.job import Job
from airover.records.limits import LIMITS, Limits
from airover.reports.answer import answer_dict, report
from airover.reports.counter import counter_page, counter_text
from airover.reports.order import order_dict, order_html, order_text
from airover.reports.proposal import make
from airover.selection.answer import answer, counter_list
from airover.selection.check import ADAPT, FAIL, NOTE, PASS
from airover.selection.rules import DOES_NOT_FIT, RULES
from airover.service.order import work_order
from tests.jobs import HORSEPOWER, job, motor
from tests.one_case import check, why

UNITS = {"share": "%", "temperature_difference": "K", "clearance": "mm"}
STRICT = {
    "full_load_amps": "2 %", "running_amps": "0 %", "capacitance": "1 %",
    "capacitor_voltage": "0 %", "supply_voltage": "0 %", "supply_difference": "5 %",
    "airflow": "100 %", "larger_motor": "5 %", "power_margin": "50 %", "torque_margin": "100 %",
    "winding_margin": "40 K", "ambient_excess": "0 K", "question_risk": "1 %",
    "rejection_risk": "10 %", "shaft_clearance": "0 mm", "shaft_length": "0 mm",
    "body_length": "0 mm",
}  # fmt: skip


@pytest.fixture(scope="module")
def motors():
    return read_catalog(data_folder() / "catalogue.csv")


def typed(name: str, value: float) -> str:
    kind = LIMITS[name].kind
    return f"{convert(value, kind, UNITS[kind]):.9g} {UNITS[kind]}"


def limited(**limits) -> dict:
    return {f"limits__{name}": text for name, text in limits.items()}


@pytest.mark.parametrize("name", LIMITS)
def test_a_limit_is_accepted_in_its_range_only(name):
    """Typed in the file, its usual value changes nothing, and both ends are accepted."""
    one = LIMITS[name]
    assert Limits(**{name: typed(name, one.usual)}).changed() == ()
    for end in (one.low, one.high):
        found = Limits(**{name: typed(name, end)})
        assert getattr(found.values, name) == pytest.approx(end)
    step = 0.1 * (one.high - one.low)
    with pytest.raises(InputError, match=name.replace("_", " ")):
        Limits(**{name: typed(name, one.high + step)})


def test_a_limit_that_protects_cannot_be_relaxed():
    """The range of a protective limit ends at its usual value, and the error says so."""
    assert {name for name, one in LIMITS.items() if one.relaxed} == {
        "full_load_amps", "capacitance", "airflow",
    }  # fmt: skip
    with pytest.raises(InputError, match="can only be made stricter"):
        Limits(running_amps="15 %")
    with pytest.raises(InputError, match="can only be made stricter"):
        Limits(shaft_clearance="1 mm")
    with pytest.raises(InputError, match="one value from 2 % to 15 %"):
        Limits(full_load_amps="5-10 %")
    for temperature in ("winding_limit", "insulation_class"):
        with pytest.raises(InputError, match="nknown field"):
            Limits(**{temperature: "200 degC"})


def test_the_job_file_keeps_its_limits():
    told = Job.from_toml('[limits]\nfull_load_amps = "5 %"\nwinding_margin = "18 degF"\n')
    assert told.limits.values.winding_margin == pytest.approx(10.0)
    assert Job.from_toml(told.to_toml()) == told
    assert "limits" not in Job().to_toml()


def test_each_limit_belongs_to_a_check():
    used = {name for rule in RULES for name in rule.limits}
    assert used == set(LIMITS)


@pytest.mark.parametrize("name", LIMITS)
def test_a_stricter_limit_never_lets_another_motor_in(name, motors):
    """No motor that is rejected or needs more information gets a better verdict."""
    sample = Job.read(data_folder() / "jobs" / "roof-unit.toml")
    strict = sample.model_copy(update={"limits": Limits(**{name: STRICT[name]})})
    some = motors[::12]
    order = ("fits", "fits with work", "does not fit")
    usual, other = (
        {one.case.motor: order.index(one.verdict) for one in answer(told, some).candidates}
        for told in (sample, strict)
    )
    assert all(other[motor] >= usual[motor] for motor in some)


def test_a_torque_margin_refuses_with_its_number_and_limit():
    """Style: a refusal names the two numbers that were compared."""
    found = check("torque", reserve=(1.1, 1.16, 1.2))
    assert found.state == PASS and "Limit" not in why(found)
    found = check("torque", limited(torque_margin="25 %"), reserve=(1.1, 1.16, 1.2))
    assert found.state == FAIL
    assert "is 1.16 times the fan torque; at least 1.25 is needed." in why(found)
    assert why(found).endswith("(usually not required).")
    found = check("torque", limited(torque_margin="25 %"), reserve=(1.1, 1.3, 1.4))
    assert found.state == PASS


def test_more_amps_than_usual_keep_their_caution():
    """An allowed increase above 10 % is a note that still names branch circuit and contactor."""
    more = {"currents": (2.12,)}  # 11.6 % above 1.9 A
    assert check("full-load amps", a_motor=more).state == ADAPT
    found = check("full-load amps", limited(full_load_amps="15 %"), more)
    assert found.state == NOTE
    assert "12 % above" in why(found) and "branch circuit" in why(found)
    assert "within 15 % of the old motor's (usually 10 %)" in why(found)
    near = {"currents": (1.95,)}
    assert check("full-load amps", limited(full_load_amps="2 %"), near).state == ADAPT


def test_a_winding_margin_is_kept_below_the_class():
    """Class B allows 125 degC: 120 degC passes, and not with 10 K to spare."""
    figures = {"temp": (119.0, 120.0, 121.0), "old": {"temp": 90.0}}
    assert check("winding temperature", **figures).state == PASS
    found = check("winding temperature", limited(winding_margin="10 K"), **figures)
    assert found.state == FAIL and found.limit == pytest.approx(115.0)
    assert "257 degF" in why(found) and "18 degF cooler" in why(found)


def test_a_power_margin_applies_to_the_old_horsepower_too():
    """A motor of the old horsepower no longer passes for that reason alone."""
    needed = (200.0, 230.0, 245.0)
    assert check("shaft power", needed=needed).state == PASS
    found = check("shaft power", limited(power_margin="20 %"), needed=needed)
    assert found.state == FAIL and found.limit.mid == pytest.approx(276.0)
    assert "needs 0.308 hp" in why(found)
    big = {"ratings": (HORSEPOWER / 2,)}
    assert check("shaft power", limited(power_margin="20 %"), big, needed=needed).state == PASS


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_document_states_a_changed_limit(language, motors):
    """And none mentions limits while all are usual."""
    sample = Job.read(data_folder() / "jobs" / "roof-unit.toml")
    limits = Limits(full_load_amps="15 %", shaft_clearance="0.1 mm")
    strict = sample.model_copy(update={"limits": limits})
    writer = Writer(language, "SI")
    company = Company.read(data_folder() / "company.toml")
    for told in (sample, strict):
        found = answer(told, motors[:60])
        order = work_order(found)
        made = make(found, company, writer=writer, details=True)
        entries = counter_list([told], motors[:60])
        texts = [
            report(found, writer), order_text(order, writer), order_html(order, writer),
            made.html, counter_text(entries, writer), counter_page(entries, writer),
        ]  # fmt: skip
        whole = [
            " ".join(unescape(text).replace("\N{NO-BREAK SPACE}", " ").split()) for text in texts
        ]
        words = [writer(one.message) for one in limits.changed()]
        assert all((one in text) == (told is strict) for text in whole for one in words)
        for data in (
            answer_dict(found, Writer()), order_dict(order, Writer()), json.loads(made.to_json()),
        ):  # fmt: skip
            names = [(one["name"], one["usual"]) for one in data["limits"]]
            changed = [("full_load_amps", 0.1), ("shaft_clearance", 0.0003)]
            assert names == (changed if told is strict else [])


def test_a_job_of_a_list_keeps_its_own_limits():
    """Two equal nameplates in one list with different limits get different answers."""
    some = (replace(motor(), currents=(2.05,)), motor(model="same"))
    jobs = [job(), job(**limited(full_load_amps="5 %", larger_motor="5 %"))]
    usual, strict = counter_list(jobs, some)
    states = [
        {one.candidate.case.motor.model: one.candidate.check("full-load amps").state
         for one in entry.fitting}
        for entry in (usual, strict)
    ]  # fmt: skip
    assert states[0] == {"test-1": PASS, "same": PASS}
    assert states[1] == {"test-1": ADAPT, "same": PASS}


def test_no_motor_fits_is_said_of_the_limit(motors):
    """The verdict names the check whose limit refuses all motors."""
    sample = Job.read(data_folder() / "jobs" / "roof-unit.toml")
    strict = sample.model_copy(update={"limits": Limits(torque_margin="100 %")})
    found = answer(strict, [one for one in motors[:80] if one.poles == 6])
    refused = [one for one in found.candidates if one.check("torque").state == FAIL]
    assert refused and all(one.verdict == DOES_NOT_FIT for one in refused)
