"""Step-by-step calculation for a motor with its fan.

The equations are the same as in `physics.circuit` and are evaluated at the slip where motor torque
equals fan torque, with resistances at running temperature.
"""

from dataclasses import dataclass

import numpy as np

from airover.model.calculation import (
    ASSUMED,
    CALCULATED,
    CATALOG,
    CONSTANT,
    ENTERED,
    IDENTIFIED,
    NAMEPLATE,
    SOLVED,
    Section,
    Sheet,
    nearest_to_medians,
    origin_of,
)
from airover.model.conditions import DENSITY_STANDARD
from airover.model.cooling import Shell, at_temperature
from airover.model.expected import Expected
from airover.model.identify import Ensemble
from airover.model.simulation import USUAL, MotorOnFan
from airover.physics.circuit import CapacitorRun, Equations, Solution, synchronous_speed
from airover.physics.heat import INTERCEPT
from airover.physics.thermal_network import Nodes

# Sources of the equations; keys of messages under ``calculation.source``.
TEXTBOOK, IEC, FAN_LAWS, DEFINITION = "textbook", "iec_60034", "fan_laws", "definition"
TAP, SATURATION = "tap", "saturation"


@dataclass(frozen=True)
class WarmMotor:
    """Motor at its operating point, with arrays of shape (samples,).

    Attributes
    ----------
    rated : Ensemble
        Equivalent circuits at the nameplate rating.
    shell : Shell
        Thermal network.
    nodes : Nodes
        Node temperatures [degC].
    circuit : CapacitorRun
        Equivalent circuits at the node temperatures.
    solution : Solution
        Steady state at the operating point.
    slip : ndarray
        Slip at the operating point.
    voltage : float
        Supply voltage [V].
    frequency : float
        Supply frequency [Hz].
    coefficient : ndarray
        Fan coefficient [N m s2].
    origins : dict[str, str]
        Origin of the voltage, frequency, number of poles and capacitance.
    """

    rated: Ensemble
    shell: Shell
    nodes: Nodes
    circuit: CapacitorRun
    solution: Solution
    slip: np.ndarray
    voltage: float
    frequency: float
    coefficient: np.ndarray
    origins: dict[str, str]

    @classmethod
    def of_job(cls, simulation: MotorOnFan, number: int) -> "WarmMotor":
        """Create a WarmMotor from a simulation at the usual voltage."""
        conditions, shape = simulation.conditions, simulation.reserve.shape

        def one(value):
            return np.broadcast_to(value, shape)[number]

        return cls(
            rated=simulation.rated.rearranged(one),
            shell=simulation.shell.rearranged(one),
            nodes=simulation.nodes.part((USUAL, number)),
            circuit=simulation.warm_circuit(USUAL, number),
            solution=Solution(*(value[USUAL, number] for value in simulation.solution)),
            slip=simulation.slip[USUAL, number],
            voltage=float(conditions.voltage[USUAL]),
            frequency=conditions.frequency,
            coefficient=conditions.coefficient,
            origins={
                "V": origin_of(conditions.inputs, "line voltage"),
                "f": origin_of(conditions.inputs, "frequency"),
                "p": CATALOG,
                "C": CATALOG,
            },
        )

    @classmethod
    def of_expected(cls, expected: Expected) -> "WarmMotor":
        """Create a WarmMotor for the selected voltage in worksheet 02."""
        run, motor = expected.now, expected.now.motor
        nodes = run.warm.nodes.part(0)
        origin = CATALOG if motor.of_catalog else NAMEPLATE
        unmarked = np.ptp(motor.rated.circuit.capacitance) > 0
        return cls(
            rated=motor.rated,
            shell=motor.shell,
            nodes=nodes,
            circuit=at_temperature(motor.rated, motor.shell, nodes),
            solution=Solution(*(value[0] for value in run.solution)),
            slip=run.warm.slip[0],
            voltage=float(run.voltage[0]),
            frequency=motor.frequency,
            coefficient=run.load.coefficient,
            origins={
                "V": ENTERED,
                "f": origin,
                "p": origin,
                "C": IDENTIFIED if unmarked else origin,
            },
        )

    @property
    def samples(self) -> int:
        return len(self.slip)

    @property
    def chosen(self) -> int:
        """Return the index of the sample that is nearest to the medians."""
        at, circuit = self.solution, self.circuit
        figures = (np.abs(at.current), at.power_in, at.speed_rpm, self.shell.average(self.nodes))
        names = ("R1", "X1", "R2", "X2", "Xm", "R_aux", "X_aux", "turns_ratio")
        return nearest_to_medians(*figures, *(np.log(getattr(circuit, name)) for name in names))

    @property
    def turns_ratio(self):
        """Turns ratio, negative if the auxiliary winding is reversed."""
        return self.circuit.turns_ratio_to_line * self.circuit.tap

    @property
    def saturation_factor(self):
        """Ratio of the magnetizing current to the unsaturated magnetizing current."""
        if self.circuit.saturation is None:
            return 1.0
        scale = self.circuit.frequency / self.frequency
        return self.circuit.saturation.factor(self.solution.emf * scale)

    @property
    def equations(self) -> Equations:
        """Impedances in the voltage equations at the operating point."""
        return self.circuit.equations(self.frequency, self.slip, self.saturation_factor)

    def sheet(self) -> Sheet:
        return Sheet("motor", self.samples, self.chosen)


def motor_of_job(simulation: MotorOnFan, number: int) -> tuple[Section, ...]:
    """Return the calculation for a motor on a job, including its fan load."""
    motor = WarmMotor.of_job(simulation, number)
    sheet, conditions = motor.sheet(), simulation.conditions
    curve = simulation.job.blade.curve is not None
    sheet.begin("fan_torque")
    ratio = conditions.density / DENSITY_STANDARD
    load = origin_of(conditions.inputs, "blade's curve" if curve else "fan load", ASSUMED)
    sheet.given("P_0", conditions.shaft_power / ratio, "W", load, "power")
    sheet.given("rho", conditions.density, "kg/m3", CALCULATED, "density")
    sheet.given("rho_0", DENSITY_STANDARD, "kg/m3", CONSTANT, "density")
    sheet.step("P_L", "P_0 * rho / rho_0", conditions.shaft_power, "W", FAN_LAWS, "power")
    sheet.given("n_L", conditions.speed_rpm, "rpm", CALCULATED)
    angular = conditions.speed_rpm * np.pi / 30
    sheet.step("omega_L", "pi * n_L / 30", angular, "rad/s", DEFINITION)
    sheet.step("T_L", "P_L / omega_L", conditions.torque, "N m", DEFINITION, "torque")
    sheet.step("k", "P_L / omega_L**3", conditions.coefficient, "N m s2", FAN_LAWS)
    add_motor(sheet, motor)
    return sheet.sections


def motor_expected(expected: Expected) -> tuple[Section, ...]:
    """Return the calculation for the motor in worksheet 02 at the selected voltage."""
    motor = WarmMotor.of_expected(expected)
    sheet, load = motor.sheet(), expected.now.load
    origin = CALCULATED if expected.mounted.on_job else motor.origins["p"]
    sheet.begin("fan_torque")
    angular = load.air.speed_rpm * np.pi / 30
    sheet.given("P_L", load.coefficient * angular**3, "W", origin, "power")
    sheet.given("n_L", load.air.speed_rpm, "rpm", origin)
    sheet.step("omega_L", "pi * n_L / 30", angular, "rad/s", DEFINITION)
    sheet.step("k", "P_L / omega_L**3", load.coefficient, "N m s2", FAN_LAWS)
    add_motor(sheet, motor)
    return sheet.sections


def add_motor(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the steps for a motor. The fan coefficient k must already be on the ``sheet``."""
    _resistances(sheet, motor)
    _speed(sheet, motor)
    _impedances(sheet, motor)
    _currents(sheet, motor)
    _torque(sheet, motor)
    _losses(sheet, motor)


def _resistances(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the resistances at running temperature."""
    rated, warm, over = motor.rated, motor.circuit, motor.shell.over_winding
    sheet.begin("resistances")
    parts = (("1", "R1", "winding_main", "copper"), ("a", "R_aux", "winding_aux", "copper"))
    for letter, name, node, material in (*parts, ("2", "R2", "rotor", "aluminum")):
        reference = rated.temp_reference + getattr(over, node)
        sheet.given(f"R_N{letter}", getattr(rated.circuit, name), "ohm", IDENTIFIED)
        sheet.given(f"theta_N{letter}", reference, "degC", IDENTIFIED, "temperature")
        sheet.given(f"theta_{letter}", getattr(motor.nodes, node), "degC", SOLVED, "temperature")
        k = f"{INTERCEPT[material]:g}"
        equation = f"R_N{letter} * ({k} + theta_{letter}) / ({k} + theta_N{letter})"
        sheet.step(f"R_{letter}", equation, getattr(warm, name), "ohm", IEC)


def _speed(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the synchronous speed, the speed and the angular speeds."""
    origins, slip, frequency = motor.origins, motor.slip, motor.frequency
    poles = motor.circuit.poles
    synchronous = synchronous_speed(frequency, poles)
    sheet.begin("speed")
    sheet.given("V", motor.voltage, "V", origins["V"])
    sheet.given("f", frequency, "Hz", origins["f"])
    sheet.given("p", poles, "", origins["p"])
    sheet.given("s", slip, "", SOLVED)
    sheet.step("n_s", "120 * f / p", synchronous * 30 / np.pi, "rpm", TEXTBOOK)
    sheet.step("omega_s", "4 * pi * f / p", synchronous, "rad/s", TEXTBOOK)
    sheet.step("n", "(1 - s) * n_s", motor.solution.speed_rpm, "rpm", DEFINITION)
    angular = motor.solution.speed_rpm * np.pi / 30
    sheet.step("omega", "pi * n / 30", angular, "rad/s", DEFINITION)


def _impedances(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the field and winding impedances."""
    circuit, at = motor.circuit, motor.equations
    scale = motor.frequency / circuit.frequency
    tapped = np.any(circuit.tap != 1)
    sheet.begin("impedances")
    for name, value in (("X_1", circuit.X1), ("X_a", circuit.X_aux), ("X_2", circuit.X2)):
        sheet.given(name, value * scale, "ohm", IDENTIFIED)
    sheet.given("X_m", circuit.Xm * scale, "ohm", IDENTIFIED)
    sheet.given("c", circuit.skin * scale, "", IDENTIFIED)
    sheet.given("a", motor.turns_ratio, "", IDENTIFIED)
    sheet.given("C", circuit.capacitance, "F", motor.origins["C"], "capacitance")
    _magnetizing(sheet, motor, scale)
    rotor = "0.5 / (1 / (j * X_mu) + {s} / (R_2 * (1 + c * {s}) + j * {s} * X_2))"
    sheet.step("Z_f", rotor.format(s="s"), at.forward, "ohm", TEXTBOOK)
    sheet.step("Z_b", rotor.format(s="(2 - s)"), at.backward, "ohm", TEXTBOOK)
    reactance = circuit.capacitor_reactance(motor.frequency)
    sheet.step("X_C", "1 / (2 * pi * f * C)", reactance, "ohm", TEXTBOOK)
    sheet.step("Z_1", "R_1 + j * X_1", at.main, "ohm", TEXTBOOK)
    own = "R_a + j * (X_a - X_C)"
    if tapped:
        sheet.given("tau", circuit.tap, "", IDENTIFIED)
        sheet.step("R_tau", "R_1 * (1 - tau) / tau", circuit.R_tap, "ohm", TAP)
        own = f"({own}) / tau**2 + R_tau"
        sheet.step("a_tau", "a / tau", motor.turns_ratio / circuit.tap, "", TAP)
    sheet.step("Z_a", own, at.aux, "ohm", TAP if tapped else TEXTBOOK)


def _magnetizing(sheet: Sheet, motor: WarmMotor, scale: float) -> None:
    """Add the saturated magnetizing reactance."""
    saturation = motor.circuit.saturation
    saturated = motor.circuit.Xm * scale / motor.saturation_factor
    if saturation is None:
        sheet.step("X_mu", "X_m", saturated, "ohm", TEXTBOOK)
        return
    sheet.given("E", motor.solution.emf, "V", SOLVED)
    sheet.given("E_N", saturation.emf_rated * scale, "V", IDENTIFIED)
    sheet.given("q", saturation.share, "", IDENTIFIED)
    sheet.given("x", saturation.exponent, "", IDENTIFIED)
    sheet.step("X_mu", "X_m / (1 - q + q * (E / E_N)**x)", saturated, "ohm", SATURATION)


def _currents(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the current phasors of both windings, with angles relative to the supply voltage."""
    circuit, at, solution = motor.circuit, motor.equations, motor.solution
    tapped = np.any(circuit.tap != 1)
    a = "a_tau" if tapped else "a"
    sheet.begin("currents")
    sheet.step("A_1", "Z_1 + Z_f + Z_b", at.own_main, "ohm", TEXTBOOK)
    sheet.step("A_a", f"Z_a + {a}**2 * (Z_f + Z_b)", at.own_aux, "ohm", TEXTBOOK)
    sheet.step("B", f"j * {a} * (Z_f - Z_b)", at.coupling, "ohm", TEXTBOOK)
    sheet.step("D", "A_1 * A_a + B**2", at.determinant, "ohm2", TEXTBOOK)
    sheet.step("I_1", "V * (A_a + B) / D", solution.current_main, "A", TEXTBOOK)
    from_line = solution.current_aux * circuit.tap
    if tapped:
        sheet.step("I_tau", "V * (A_1 - B) / D", from_line, "A", TAP)
        sheet.step("I_a", "I_tau / tau", solution.current_aux, "A", TAP)
    else:
        sheet.step("I_a", "V * (A_1 - B) / D", solution.current_aux, "A", TEXTBOOK)
    sheet.given("G", circuit.core_conductance, "S", IDENTIFIED)
    total = f"I_1 + {'I_tau' if tapped else 'I_a'} + G * V"
    sheet.step("I", total, solution.current, "A", TEXTBOOK)
    sheet.step("V_C", "-j * X_C * I_a", solution.voltage_capacitor, "V", TEXTBOOK)
    sheet.step("I_line", "abs(I)", np.abs(solution.current), "A", DEFINITION)
    sheet.step("U_C", "abs(V_C)", np.abs(solution.voltage_capacitor), "V", DEFINITION)


def _torque(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the air-gap powers and the torque balance of motor and fan."""
    circuit, solution = motor.circuit, motor.solution
    tapped = np.any(circuit.tap != 1)
    a, aux = ("a_tau", "I_tau") if tapped else ("a", "I_a")
    currents = solution.current_main, solution.current_aux
    forward, backward = circuit.gap_powers(*currents, motor.equations)
    sheet.begin("torque")
    sheet.given("b", circuit.friction, "N m s", IDENTIFIED)
    sheet.step("P_f", f"abs(I_1 - j * {a} * {aux})**2 * re(Z_f)", forward, "W", TEXTBOOK)
    sheet.step("P_b", f"abs(I_1 + j * {a} * {aux})**2 * re(Z_b)", backward, "W", TEXTBOOK)
    sheet.step("T", "(P_f - P_b) / omega_s - b * omega", solution.torque, "N m", TEXTBOOK, "torque")
    fan = motor.coefficient * (solution.speed_rpm * np.pi / 30) ** 2
    sheet.step("T_fan", "k * omega**2", fan, "N m", FAN_LAWS, "torque")


def _losses(sheet: Sheet, motor: WarmMotor) -> None:
    """Add the losses, powers, efficiency and power factor."""
    at = motor.solution
    tapped = np.any(motor.circuit.tap != 1)
    sheet.begin("losses")
    main = "abs(I_1)**2 * R_1" + (" + abs(I_tau)**2 * R_tau" if tapped else "")
    sheet.step("P_Cu1", main, at.loss_main, "W", DEFINITION)
    sheet.step("P_Cua", "abs(I_a)**2 * R_a", at.loss_aux, "W", DEFINITION)
    sheet.step("P_Cu2", "s * P_f + (2 - s) * P_b", at.loss_rotor, "W", TEXTBOOK)
    sheet.step("P_Fe", "G * V**2", at.loss_core, "W", TEXTBOOK)
    sheet.step("P_fr", "b * omega**2", at.loss_friction, "W", TEXTBOOK)
    sheet.step("P_loss", "P_Cu1 + P_Cua + P_Cu2 + P_Fe + P_fr", at.loss, "W", DEFINITION)
    sheet.step("P_in", "V * re(I)", at.power_in, "W", DEFINITION)
    sheet.step("P_out", "T * omega", at.power_out, "W", DEFINITION, "power")
    sheet.step("P_diff", "P_in - P_out", at.power_in - at.power_out, "W", DEFINITION)
    sheet.step("eta", "P_out / P_in", at.power_out / at.power_in, "", DEFINITION)
    factor = at.power_in / (motor.voltage * np.abs(at.current))
    sheet.step("lambda_pf", "P_in / (V * I_line)", factor, "", DEFINITION)
