"""Step-by-step calculation of motor cooling, heat balance, limits and insulation life.

The node temperatures satisfy seven heat balances simultaneously. Each step shows one balance,
solved for the temperature of its node. The balances are solved again for the losses at the
operating point, which eliminates the error of the combined iteration (up to 0.02 K).
"""

from typing import NamedTuple

import numpy as np

from airover.core.errors import AIR_SPEED
from airover.model.aging import LONGEST_HOURS, halving_interval
from airover.model.calculation import (
    ASSUMED,
    CALCULATED,
    CATALOG,
    CONSTANT,
    IDENTIFIED,
    MEASURED,
    SOLVED,
    Section,
    Sheet,
    nearest_to_medians,
)
from airover.model.cooling import losses_of
from airover.model.heat_answer import HeatAnswer
from airover.physics import air, heat, insulation
from airover.physics.thermal_network import AT_BEARINGS, LINKS, SHELL, Nodes

IEC, IEC_LIFE, INCROPERA, BALANCE = "iec_60034", "iec_60216", "incropera", "heat_balance"
DEFINITION, JUDGMENT, CONDUCTION = "definition", "judgment", "conduction"
TEMP_COLD = 25.0  # degC, typical winding temperature for a cold resistance reading
LETTERS = ("1", "a", "2", "c", "s", "b", "o")  # nodes: windings, rotor, core, shell, bearings


class Ohms(NamedTuple):
    """Cold and hot winding resistance [ohm], with winding and air temperatures [degC]."""

    cold: float
    hot: float
    temp_cold: float
    temp_air: float


class _Case(NamedTuple):
    """Losses [W], node temperatures and cooling for all samples."""

    answer: HeatAnswer
    losses: Nodes
    nodes: Nodes
    speed: np.ndarray
    film: np.ndarray

    @classmethod
    def of(cls, answer: HeatAnswer) -> "_Case":
        warm, load = answer.study.run.warm.part(0), answer.study.run.load
        shell, stream = answer.study.motor.shell, load.air
        sun = stream.sun[0] * np.pi / 4 * shell.network.diameter**2
        losses = losses_of(warm.solution, sun)
        speed = stream.speed * warm.solution.speed_rpm / stream.speed_rpm
        nodes = shell.temperatures(losses, speed, stream.temp_air)
        film = shell.film(speed, stream.temp_air)
        return cls(answer, losses, nodes, speed, film)

    @property
    def solution(self):
        return self.answer.study.run.warm.part(0).solution

    @property
    def shell(self):
        return self.answer.study.motor.shell

    @property
    def network(self):
        return self.shell.network

    @property
    def temp_air(self):
        return self.answer.study.run.load.air.temp_air

    @property
    def winding(self):
        return self.shell.average(self.nodes)

    def sheet(self) -> Sheet:
        spot = self.answer.study.hot_spot
        circuit = self.answer.study.motor.rated.circuit
        cooling = self.film, self.network.area, sum(self.losses), circuit.R1, circuit.R_aux
        chosen = nearest_to_medians(spot, *self.nodes, self.temp_air, *map(np.log, cooling))
        return Sheet("heat", len(spot), chosen)


def motor_heat(answer: HeatAnswer, ohms: Ohms | None = None) -> tuple[Section, ...]:
    """Return the heat calculation for a motor on a job.

    ``ohms`` are the user's resistance readings, if any.
    """
    case = _Case.of(answer)
    sheet = case.sheet()
    _sources(sheet, case)
    _cooling(sheet, case)
    _balance(sheet, case)
    _winding(sheet, case)
    _by_resistance(sheet, case, ohms)
    _life(sheet, case)
    return sheet.sections


def _sources(sheet: Sheet, case: _Case) -> None:
    """Add the heat generated at each node."""
    at, losses = case.solution, case.losses
    sheet.begin("heat_sources")
    for name, loss in (("P_1", at.loss_main), ("P_a", at.loss_aux), ("P_Cu2", at.loss_rotor)):
        sheet.given(name, loss, "W", CALCULATED)
    sheet.given("P_c", at.loss_core, "W", CALCULATED)
    sheet.given("P_fr", at.loss_friction, "W", CALCULATED)
    windage = f"{1 - AT_BEARINGS:g}"
    sheet.step("P_2", f"P_Cu2 + {windage} * P_fr", losses.rotor, "W", JUDGMENT)
    sheet.step("P_b", f"{AT_BEARINGS / 2:g} * P_fr", losses.bearing_blade, "W", JUDGMENT)
    sheet.given("d", case.network.diameter, "m", CATALOG, "body_diameter")
    sun = case.answer.study.run.load.air.sun[0]
    sheet.given("E_sun", sun, "W/m2", ASSUMED)
    sheet.step("P_s", "E_sun * pi * d**2 / 4", losses.shell, "W", DEFINITION)


def _cooling(sheet: Sheet, case: _Case) -> None:
    """Add the heat transfer coefficients from shell to air."""
    network, shell, temp_air = case.network, case.shell, case.temp_air
    speed = np.clip(case.speed, AIR_SPEED.low, AIR_SPEED.high)
    of_air = air.properties(temp_air)
    reynolds = speed * network.diameter / of_air.kinematic_viscosity
    rise = case.nodes.shell - temp_air
    sheet.begin("cooling")
    sheet.given("v", speed, "m/s", CALCULATED)
    sheet.given("theta_air", temp_air, "degC", CALCULATED, "air_temperature")
    sheet.given("nu", of_air.kinematic_viscosity, "m2/s", CONSTANT)
    sheet.given("Pr", of_air.prandtl, "", CONSTANT)
    sheet.step("Re", "v * d / nu", reynolds, "", DEFINITION)
    churchill = heat.nusselt_churchill_bernstein(reynolds, of_air.prandtl)
    zukauskas = heat.nusselt_zukauskas(reynolds, of_air.prandtl)
    damped = "(1 + (0.4 / Pr)**(2 / 3))**0.25"
    rough = "(1 + (Re / 282000)**(5 / 8))**(4 / 5)"
    equation = f"0.3 + 0.62 * sqrt(Re) * cbrt(Pr) / {damped} * {rough}"
    sheet.step("Nu_C", equation, churchill, "", "churchill")
    laws = "max(0.51 * Re**0.5, 0.26 * Re**0.6, 0.076 * Re**0.7)"
    sheet.step("Nu_Z", f"{laws} * Pr**0.37", zukauskas, "", "zukauskas")
    low, high = heat.film_coefficient(network.diameter, speed, temp_air)
    sheet.given("lambda_air", of_air.conductivity, "W/mK", CONSTANT)
    sheet.step("h_low", "min(Nu_C, Nu_Z) * lambda_air / d", low, "W/m2K", DEFINITION)
    sheet.step("h_high", "max(Nu_C, Nu_Z) * lambda_air / d", high, "W/m2K", DEFINITION)
    sheet.given("y_h", shell.film_place, "", ASSUMED)
    sheet.given("x_h", shell.film_factor, "", ASSUMED)
    equation = "(h_low + y_h * (h_high - h_low)) * x_h"
    sheet.step("h_forced", equation, case.film, "W/m2K", JUDGMENT)
    sheet.given("h_still", network.still_film(rise, temp_air), "W/m2K", CALCULATED)
    both = network.film(case.film, rise, temp_air)
    sheet.step("h", "cbrt(h_forced**3 + h_still**3)", both, "W/m2K", INCROPERA)
    outside = network.to_air(case.nodes, case.film, temp_air)
    sheet.given("theta_s", case.nodes.shell, "degC", SOLVED, "temperature")
    sheet.given("epsilon", network.emissivity, "", ASSUMED)
    sheet.given("sigma", heat.STEFAN_BOLTZMANN, "W/m2K4", CONSTANT)
    hot, cold = "(theta_s + 273.15)**4", "(theta_air + 273.15)**4"
    equation = f"epsilon * sigma * ({hot} - {cold}) / (theta_s - theta_air)"
    radiant = outside.shell / network.area / rise - both
    sheet.step("h_rad", equation, radiant, "W/m2K", INCROPERA)
    sheet.given("A", network.area, "m2", CALCULATED)
    conductance = outside.shell / rise
    sheet.step("G_s_air", "A * (h + h_rad)", conductance, "W/K", DEFINITION)
    sheet.given("A_hub", network.hub, "m2", ASSUMED)
    sheet.given("G_fin", network.fin, "W/K", ASSUMED)
    hub = "A_hub * (h + 4 * epsilon * sigma * (theta_air + 273.15)**3)"
    to_air = outside.bearing_far / (case.nodes.bearing_far - temp_air)
    sheet.step("G_o_air", hub, to_air, "W/K", INCROPERA)
    to_air = outside.bearing_blade / (case.nodes.bearing_blade - temp_air)
    sheet.step("G_b_air", "G_o_air + G_fin", to_air, "W/K", DEFINITION)


def _balance(sheet: Sheet, case: _Case) -> None:
    """Add the heat balance of each node, solved for its temperature."""
    sheet.begin("heat_balance")
    for letter, temp in zip(LETTERS, case.nodes, strict=True):
        sheet.given(f"theta_{letter}", temp, "degC", SOLVED, "temperature")
    for (one, other), value in zip(LINKS, case.network.inside, strict=True):
        sheet.given(_conductance(one, other), value, "W/K", ASSUMED)
    sheet.given("P_o", case.losses.bearing_far, "W", CALCULATED)
    for node, letter in enumerate(LETTERS):
        paths = [
            (_conductance(one, other), LETTERS[other if node == one else one])
            for one, other in LINKS
            if node in (one, other)
        ]
        if letter == "s":
            _shell(sheet, case, paths)
            continue
        if letter in "bo":
            paths.append((f"G_{letter}_air", "air"))
        gained = " + ".join(f"{path} * theta_{end}" for path, end in paths)
        whole = " + ".join(path for path, _ in paths)
        equation = f"(P_{letter} + {gained}) / ({whole})"
        temp = case.nodes[node]
        sheet.step(f"theta_{letter}", equation, temp, "degC", BALANCE, "temperature")


def _shell(sheet: Sheet, case: _Case, paths: list[tuple[str, str]]) -> None:
    """Add the heat flow along each path to the shell, and the heat balance of the shell."""
    flows = []
    for path, end in paths:
        temp = case.nodes[LETTERS.index(end)]
        heat_flow = getattr(case.network.inside, _path_name(end)) * (temp - case.nodes.shell)
        flows.append(f"Q_{end}")
        sheet.step(flows[-1], f"{path} * (theta_{end} - theta_s)", heat_flow, "W", CONDUCTION)
    equation = f"theta_air + (P_s + {' + '.join(flows)}) / G_s_air"
    sheet.step("theta_s", equation, case.nodes.shell, "degC", BALANCE, "temperature")


def _path_name(end: str) -> str:
    """Return the field of `Inside` for the path from a node to the shell."""
    node = LETTERS.index(end)
    pair = (node, SHELL)
    return next(name for name, link in LINKS._asdict().items() if sorted(link) == sorted(pair))


def _conductance(one: int, other: int) -> str:
    return f"G_{LETTERS[one]}_{LETTERS[other]}"


def _winding(sheet: Sheet, case: _Case) -> None:
    """Add the average winding temperature, the rise and the hot spot."""
    study = case.answer.study
    sheet.begin("winding_temperature")
    sheet.given("y_1", case.shell.share_main, "", IDENTIFIED)
    equation = "theta_a + y_1 * (theta_1 - theta_a)"
    sheet.step("theta_w", equation, case.winding, "degC", IEC, "temperature")
    rise = case.winding - case.temp_air
    sheet.step("Delta_w", "theta_w - theta_air", rise, "K", IEC, "temperature_rise")
    allowance = study.hot_spot - study.winding
    sheet.given("Delta_hot", allowance, "K", ASSUMED, "temperature_rise")
    spot = case.winding + allowance
    sheet.step("theta_hot", "theta_w + Delta_hot", spot, "degC", DEFINITION, "temperature")


def _by_resistance(sheet: Sheet, case: _Case, ohms: Ohms | None) -> None:
    """Add the expected and measured temperature rise by resistance."""
    rated, shell = case.answer.study.motor.rated, case.shell
    k = f"{heat.INTERCEPT['copper']:g}"
    sheet.begin("rise_by_resistance")
    cold = hot = 0.0
    parts = ("1", rated.circuit.R1, "winding_main"), ("a", rated.circuit.R_aux, "winding_aux")
    for letter, resistance, node in parts:
        reference = rated.temp_reference + getattr(shell.over_winding, node)
        sheet.given(f"R_N{letter}", resistance, "ohm", IDENTIFIED)
        sheet.given(f"theta_N{letter}", reference, "degC", IDENTIFIED, "temperature")
        at_node = getattr(case.nodes, node)
        cold = cold + resistance * heat.resistance_factor(TEMP_COLD, reference)
        hot = hot + resistance * heat.resistance_factor(at_node, reference)
    sheet.given("theta_cold", TEMP_COLD, "degC", ASSUMED, "temperature")
    each = "R_N{0} * (" + k + " + {1}) / (" + k + " + theta_N{0})"
    equation = " + ".join(each.format(letter, "theta_cold") for letter in "1a")
    sheet.step("R_cold", equation, cold, "ohm", IEC)
    equation = " + ".join(each.format(letter, f"theta_{letter}") for letter in "1a")
    sheet.step("R_hot", equation, hot, "ohm", IEC)
    rise = heat.rise_by_resistance(cold, hot, TEMP_COLD, case.temp_air)
    law = f"(R_hot - R_cold) / R_cold * ({k} + theta_cold) + theta_cold - theta_air"
    sheet.step("Delta_R", law, rise, "K", IEC, "temperature_rise")
    if ohms is not None:
        read = (
            ("R_cr", ohms.cold, "ohm", ""), ("R_hr", ohms.hot, "ohm", ""),
            ("theta_cr", ohms.temp_cold, "degC", "temperature"),
            ("theta_ar", ohms.temp_air, "degC", "air_temperature"),
        )  # fmt: skip
        for name, value, unit, kind in read:
            sheet.given(name, value, unit, MEASURED, kind)
        rise = heat.rise_by_resistance(ohms.cold, ohms.hot, ohms.temp_cold, ohms.temp_air)
        law = f"(R_hr - R_cr) / R_cr * ({k} + theta_cr) + theta_cr - theta_ar"
        sheet.step("Delta_read", law, rise, "K", IEC, "temperature_rise")


def _life(sheet: Sheet, case: _Case) -> None:
    """Add the insulation life and the margin to the class temperature."""
    study, letter = case.answer.study, case.answer.study.motor.insulation_class
    if letter is None:
        return
    spot = case.winding + study.hot_spot - study.winding
    sheet.begin("insulation")
    sheet.given("theta_class", study.class_temperature, "degC", CATALOG, "temperature")
    margin = study.class_temperature - spot
    sheet.step("Delta_class", "theta_class - theta_hot", margin, "K", IEC, "temperature_rise")
    interval = halving_interval(study.winding, study.seed)
    sheet.given("H", interval, "K", ASSUMED)
    hours = insulation.life(spot, letter, interval)
    if sheet.one(hours) >= LONGEST_HOURS:
        return
    equation = f"{insulation.REFERENCE_LIFE:.0f} * 2**((theta_class - theta_hot) / H)"
    sheet.step("L_ins", equation, hours, "h", IEC_LIFE, "hours")
