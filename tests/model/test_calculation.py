"""Calculations step by step: every equation gives its result, and the results are the answer's."""

import math
import re

import numpy as np
import pytest

from airover import Job, answer, read_catalog
from airover.core.files import data_folder
from airover.core.formula import (
    RESULT_DIGITS,
    fewest_digits,
    latex,
    number_latex,
    printed_number,
    symbols,
)
from airover.core.texts import Texts
from airover.model.calculation import Sheet, nearest_to_medians
from airover.model.calculation_bearings import bearings
from airover.model.calculation_fan import fan_at_site
from airover.model.calculation_heat import Ohms, motor_heat
from airover.model.calculation_motor import motor_expected, motor_of_job
from airover.model.conditions import curve_of
from airover.model.expected import Expected, mounted
from airover.model.fan_at_site import FanSite, Sized, conditions_with, measured_system
from airover.model.heat_answer import HeatAnswer, HeatPlace
from airover.model.simulation import USUAL
from airover.records.fan import read_curve
from airover.records.nameplate import Nameplate
from airover.selection.bearing_choice import BearingPlace, BearingStudy, prices

# Meaning of an expression for a reader with a calculator, independent of core.formula.
CALCULATOR = {
    "pi": math.pi, "j": 1j, "abs": abs, "exp": math.exp, "ln": math.log, "log10": math.log10,
    "sqrt": math.sqrt, "cbrt": lambda x: x ** (1 / 3), "max": max, "min": min,
    "re": lambda x: x.real,
}  # fmt: skip


@pytest.fixture(scope="module")
def found():
    return answer(Job.read(data_folder() / "jobs" / "roof-unit.toml"), catalog())


def catalog():
    return read_catalog(data_folder() / "catalogue.csv")


def case_of(found, number=0):
    return found.fitting[number].case


@pytest.fixture(scope="module")
def sections(found):
    """The sections of worksheets 01 to 05, by name."""
    case, job = case_of(found), found.job
    place = BearingPlace.of(job, case.motor)
    asked = place.usual._replace(mass_lost=0.01, grade=6.3)
    study = BearingStudy(place, asked, prices(case.motor, catalog()))
    level = place.usual._replace(shaft_position="horizontal")
    flat = BearingStudy(place, level, study.prices)
    heat = HeatPlace.of(job, case.motor)
    return {
        "01": motor_of_job(case.simulation, case.row),
        "02": motor_expected(expected(job.nameplate)),
        "02 tapped": motor_expected(expected(tapped())),
        "03": fan_at_site(sized(job)),
        "04": motor_heat(HeatAnswer(heat, heat.usual), Ohms(10.42, 13.6, 25.0, 53.0)),
        "05": of_study(study),
        "05 horizontal": of_study(flat),
    }


def expected(nameplate) -> Expected:
    motor = mounted(nameplate)
    volts = motor.voltage_high
    sweep, now = motor.across(volts)
    return Expected(motor, volts, 1.0, 1.0, now, sweep)


def tapped() -> Nameplate:
    """A 460 V motor with a capacitor that needs a tap."""
    return Nameplate(
        voltage="460 V", power="1/2 hp", current="1.4 A", speed="1075 rpm", capacitor="10 uF",
        capacitor_voltage="370 V", frequency="60 Hz",
    )  # fmt: skip


def sized(job) -> Sized:
    curve = read_curve(data_folder() / "curves" / "example-blade.csv")
    points = curve_of(curve)
    system = measured_system(1.13, 50.0, 0.7)
    place = FanSite(1060.0, 800.0, 38.0, dirt=1.5)
    return Sized.of(points, system, place, job, conditions_with(curve, job, 1.13))


def of_study(study):
    asked = study.asked
    return bearings(
        study.place.stand, study.met, study.place.size, asked.grade, asked.mass_lost,
        asked.discharge, asked.cleanliness, asked.reliability,
    )  # fmt: skip


def steps(sections):
    return [
        (name, section, step)
        for name, found in sections.items()
        for section in found
        for step in section.steps
    ]


def calculated(expression: str, values: dict):
    return eval(expression, {"__builtins__": {}}, CALCULATOR | values)


def test_every_equation_gives_the_result_of_the_function(sections):
    for name, _, step in steps(sections):
        values = {one: value.number for one, value in step.values.items()}
        assert set(values) == set(symbols(step.expression))
        ours = calculated(step.expression, values)
        assert np.isclose(ours, step.result.number, rtol=2e-6, atol=1e-12), (name, step)


def test_the_printed_numbers_give_the_printed_result(sections):
    """By hand: the numbers in the equation as printed, then the result as printed."""
    for name, _, step in steps(sections):
        values = {one: value.number for one, value in step.values.items()}
        result = step.result.number
        digits = fewest_digits(step.expression, values, result)
        assert digits < 11, (name, step)
        seen = {one: read_back(number_latex(x, digits)) for one, x in values.items()}
        by_hand = calculated(step.expression, seen)
        by_hand = complex(by_hand) if isinstance(result, complex) else by_hand
        shown = read_back(number_latex(by_hand, RESULT_DIGITS))
        assert shown == read_back(number_latex(result, RESULT_DIGITS)), (name, step)


def read_back(text: str):
    """The number that a reader sees in LaTeX."""
    plain = re.sub(r"\\cdot 10\^\{(-?\d+)\}", r"e\1", text).replace(r"\mathrm{j}\,", "")
    both = re.fullmatch(r"\((\S+) ([+-]) (\S+)\)", plain)
    if both:
        return complex(float(both[1]), float(both[2] + both[3]))
    return float(plain)


def test_the_circuit_is_that_of_the_answer(found, sections):
    case = case_of(found)
    bands = case.simulation.bands
    by_symbol = {step.symbol: step for section in sections["01"] for step in section.steps}
    for symbol, figure in (
        ("I_line", "current_a"), ("P_in", "power_in_w"), ("P_out", "power_shaft_w"),
        ("eta", "efficiency"), ("lambda_pf", "power_factor"), ("n", "speed_rpm"),
    ):  # fmt: skip
        band = [end[USUAL, case.row] for end in bands[figure]]
        assert np.allclose(by_symbol[symbol].band, band)
    assert np.isclose(by_symbol["T"].result.number, by_symbol["T_fan"].result.number, rtol=1e-6)
    lost, left = (by_symbol[name].result.number for name in ("P_loss", "P_diff"))
    assert np.isclose(lost, left)


def test_a_tapped_motor_has_its_own_equations(sections):
    names = {step.symbol for section in sections["02 tapped"] for step in section.steps}
    assert {"R_tau", "I_tau", "a_tau"} <= names
    assert not {"R_tau", "I_tau"} & {s.symbol for part in sections["02"] for s in part.steps}


def test_all_heat_of_the_motor_leaves_to_the_air(sections):
    """The printed temperatures carry away the printed losses, over whatever equations."""
    balance = next(one for one in sections["04"] if one.key == "heat_balance")
    printed = {name: value for step in balance.steps for name, value in step.values.items()}
    printed |= {step.symbol: step.result for step in balance.steps}
    at = {name: value.number for name, value in printed.items()}
    losses = sum(at[f"P_{part}"] for part in "1a2csbo")
    leaves = sum(at[f"G_{part}_air"] * (at[f"theta_{part}"] - at["theta_air"]) for part in "sbo")
    assert losses > 50 and np.isclose(leaves, losses, rtol=1e-3)


def test_rise_by_resistance_agrees_with_the_average_temperature(sections):
    by_symbol = {step.symbol: step.result.number for part in sections["04"] for step in part.steps}
    assert abs(by_symbol["Delta_R"] - by_symbol["Delta_w"]) < 0.1
    assert np.isclose(by_symbol["Delta_read"], (13.6 - 10.42) / 10.42 * 260 + 25 - 53)


def test_shaft_position_and_lost_mass_change_the_load_equations(sections):
    down, level = (
        {step.symbol: step.expression for part in sections[name] for step in part.steps}
        for name in ("05", "05 horizontal")
    )
    assert "m_lost" in down["F_u"] and "F_g" not in down
    assert level["F_r"] == "F_rot + F_g" and level["F_a"] == "abs(F_th)"


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_symbol_and_source_has_a_text(sections, language):
    texts = Texts(language)
    for _, section, step in steps(sections):
        for symbol in (step.symbol, *step.values):
            assert texts.has(f"calculation.{section.subject}.{symbol}"), symbol
        assert texts.has(f"calculation.source.{step.source}")
        assert texts.has(f"calculation.title.{section.key}")
        assert texts.has(f"calculation.intro.{section.key}")
        for value in step.values.values():
            assert texts.has(f"calculation.origin.{value.origin}")


def test_the_sample_shown_is_near_the_medians():
    assert nearest_to_medians(np.array([1.0, 2.0, 3.0]), np.array([9.0, 5.0, 7.0])) != 0
    assert nearest_to_medians(np.array([5.0, 1.0, 2.0])) == 2


def test_an_exact_result_has_no_range():
    sheet = Sheet("motor", 3, 1)
    sheet.begin("speed")
    sheet.given("f", 60.0, "Hz", "nameplate")
    sheet.given("p", 6, "", "nameplate")
    sheet.given("s", np.array([0.1, 0.2, 0.3]), "", "solved")
    sheet.step("n_s", "120 * f / p", 1200.0, "rpm", "textbook")
    sheet.step("n", "(1 - s) * n_s", np.array([1080.0, 960.0, 840.0]), "rpm", "definition")
    exact, ranged = sheet.sections[0].steps
    assert exact.band is None and exact.result.number == 1200.0
    assert ranged.result.number == 960.0 and ranged.band.mid == 960.0


def test_an_expression_is_written_with_the_parentheses_that_it_needs():
    assert latex("a - (b - c)") == r"a - \left(b - c\right)"
    assert latex("(a + b) * c") == r"\left(a + b\right)\,c"
    assert latex("a * (b + c)**2") == r"a\,\left(b + c\right)^{2}"
    assert latex("-j * X_C * I_a").startswith("-")
    shown = {"a": "-2", "b": "3"}
    assert latex("b - a", shown) == r"3 - \left(-2\right)"
    assert latex("a**2 * b", shown) == r"\left(-2\right)^{2} \cdot 3"


def test_a_printed_number_keeps_the_digits_that_it_means():
    assert printed_number(1234.56789, 4) == 1235.0
    assert printed_number(101325.0, 4) == 101325.0
    assert printed_number(0.0, 4) == 0.0
    assert printed_number(complex(1.23456, -0.000456), 4) == complex(1.235, 0.0)
