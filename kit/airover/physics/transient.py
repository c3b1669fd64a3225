"""Time-domain simulation of a capacitor-run motor from start to steady state.

The simulation is an independent check of `circuit`: it does not use revolving-field theory, and it
does not assume a periodic state. The model has two stator windings in quadrature, a cage that is
represented by two windings in the stator frame, the capacitor voltage and the shaft speed. SciPy
integrates the equations. The model follows Krause, Wasynczuk, Sudhoff, Analysis of Electric
Machinery, chapter on two-phase and single-phase induction machines (cited from memory, not
verified).

The model does not include winding harmonics, skin effect within the cage bars or core hysteresis.
The core loss is modeled as a conductance across the supply, as in `circuit`.
"""

from dataclasses import dataclass
from math import cos, inf, pi, sqrt
from typing import NamedTuple

import numpy as np
from scipy.integrate import simpson, solve_ivp

from airover.core.errors import (
    DIAMETER,
    FREQUENCY,
    MASS,
    VOLTAGE,
    InputError,
    Range,
    array_of,
    check,
)
from airover.core.message import Message
from airover.physics.circuit import CapacitorRun, synchronous_speed
from airover.physics.operating_point import BREAKAWAY, FAN_COEFFICIENT

COEFFICIENT = Range(0.0, FAN_COEFFICIENT.high, FAN_COEFFICIENT.unit)  # 0: no fan
INERTIA = Range(1e-5, 10.0, "kg m2")
DURATION = Range(1e-3, 300.0, "s")
TURNING = Range(-5000.0, 5000.0, "rpm")
PHASE = Range(-2 * pi, 2 * pi, "rad")
SAMPLES = Range(16, 4096, "")
GYRATION = Range(0.2, 1.0, "")
EXPONENT = Range(2.0, 30.0, "")  # below 2 the magnetizing curve would have a kink at zero
CAPACITANCE = Range(1e-7, 2e-3, "F")  # a smaller capacitance oscillates too fast to simulate

# Ratio of the radius of gyration to the tip radius for a sheet-metal propeller fan with its hub,
# between .58 for a slender rod and .71 for a disk (common practice; no published source).
BLADE_GYRATION = 0.6

CUT = 1e4  # ohm: above this the auxiliary winding is treated as open, with zero current
CUT_INDUCTANCE = 1e6  # H, leakage inductance that makes the current of an open winding zero
HOLD_SPEED = 1.0  # rad/s at which the smoothed breakaway torque is at its maximum
CREEP_RPM = 40.0  # a slower fan counts as stopped; breakaway creep is well below this
RELATIVE_ERROR = 1e-8  # of the integration, per step
SAMPLES_USUAL = 64  # per supply cycle
CHUNK = 15  # supply cycles between two checks for a steady speed
SETTLED = 1e-5  # change in speed per chunk, divided by synchronous speed
REACHED = 0.95  # fraction of the final speed that ends the run-up


def disc_inertia(mass, diameter, gyration=BLADE_GYRATION):
    """Return the moment of inertia [kg m2] of a fan.

    The moment of inertia is J = m (gyration x diameter / 2)^2. Array arguments are broadcast
    against each other.

    Parameters
    ----------
    mass : array_like
        Mass of the fan [kg].
    diameter : array_like
        Fan diameter [m].
    gyration : array_like, optional
        Ratio of the radius of gyration to the tip radius, 0.71 for a plain disk or a rotor.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(disc_inertia(1.2, 0.559)), 4)  # a 22 in blade
    0.0337
    """
    mass = check("mass", mass, MASS)
    diameter = check("diameter", diameter, DIAMETER)
    return mass * (check("gyration", gyration, GYRATION) * diameter / 2) ** 2


class Waveforms(NamedTuple):
    """Waveforms of a simulation, as arrays of shape (times,).

    Attributes
    ----------
    time : ndarray
        Time [s] since the motor was switched on.
    voltage, voltage_capacitor : ndarray
        Supply voltage and capacitor voltage [V].
    current : ndarray
        Supply current [A], including the core-loss current.
    current_main, current_aux : ndarray
        Winding currents [A].
    torque : ndarray
        Shaft torque [N m].
    speed_rpm : ndarray
        Speed [rpm], negative for reverse rotation.
    loss_main, loss_aux, loss_rotor : ndarray
        Losses [W].
    energy_stored : ndarray
        Energy [J] in the magnetic fields and the capacitor.
    """

    time: np.ndarray
    voltage: np.ndarray
    current: np.ndarray
    current_main: np.ndarray
    current_aux: np.ndarray
    voltage_capacitor: np.ndarray
    torque: np.ndarray
    speed_rpm: np.ndarray
    loss_main: np.ndarray
    loss_aux: np.ndarray
    loss_rotor: np.ndarray
    energy_stored: np.ndarray


def integrate(
    circuit: CapacitorRun,
    voltage,
    frequency,
    coefficient,
    inertia,
    duration,
    speed_rpm=0.0,
    wind_rpm=0.0,
    phase=0.0,
    samples=SAMPLES_USUAL,
) -> Waveforms:
    """Simulate one motor with its fan after it is switched on.

    All arguments must be scalars. Initially, the windings carry no current and the capacitor has no
    charge.

    Bearing friction at rest is a smoothed form of `operating_point.BREAKAWAY`. A motor that cannot
    overcome it creeps at less than 10 rpm instead of remaining at rest. An auxiliary winding
    resistance above 10 kohm represents an open capacitor and is treated as an open circuit. Without
    saturation, the steady state agrees with `circuit` to within 1e-6. Saturation causes
    non-sinusoidal waveforms, which phasors cannot represent, and couples the two fields. With
    saturation, the current agrees to within about 2 %. The torque agrees to within 1 % under load
    and to within several percent near no load.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuit of the motor.
    voltage
        RMS supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan coefficient [N m s^2]. The fan torque opposes rotation in either direction.
    inertia
        Inertia [kg m2] of fan and rotor, or infinity to keep the speed at ``speed_rpm``.
    duration
        Simulated time [s].
    speed_rpm : optional
        Initial speed [rpm], negative for reverse rotation.
    wind_rpm : optional
        Speed [rpm] at which wind alone would turn the fan. The wind is represented by the steady
        torque for this speed (engineering judgment; no published source).
    phase : optional
        Phase [rad] of the supply voltage when the motor is switched on, 0 at the peak.
    samples : optional
        Number of output times per supply cycle.

    Raises
    ------
    InputError
        If a value is out of range.
    ArithmeticError
        If SciPy does not converge.
    """
    machine = _machine(circuit, voltage, frequency, coefficient, inertia, wind_rpm, phase)
    step = 1 / (float(frequency) * _one("samples", samples, SAMPLES))
    time = np.arange(round(_one("duration", duration, DURATION) / step) + 1) * step
    return machine.shown(time, machine.integrate(machine.without_current(speed_rpm), time))


class RunUp(NamedTuple):
    """Result of a simulated start.

    Attributes
    ----------
    starts : bool
        True if the fan turns in the rated direction of the motor.
    direction : int
        Direction of rotation: 1, -1, or 0 at rest.
    time : float
        Time [s] to reach 95 % of the final speed, or until the fan is nearly at rest.
    speed_rpm : float
        Final speed [rpm], negative for reverse rotation.
    voltage_capacitor_peak : float
        Peak capacitor voltage [V].
    current_peak : float
        Peak current [A].
    energy_windings, energy_rotor : float
        Heat [J] generated in the windings and in the cage up to ``time``.
    """

    starts: bool
    direction: int
    time: float
    speed_rpm: float
    voltage_capacitor_peak: float
    current_peak: float
    energy_windings: float
    energy_rotor: float


def run_up(
    circuit: CapacitorRun,
    voltage,
    frequency,
    coefficient,
    inertia,
    duration=60.0,
    speed_rpm=0.0,
    wind_rpm=0.0,
    phase=0.0,
) -> RunUp:
    """Simulate a start until the speed is steady.

    The arguments and errors are the same as in `integrate`. ``duration`` is the maximum simulated
    time [s]. A motor may start, remain at rest, or continue in reverse if wind was turning the fan
    backward. ArithmeticError is also raised if the speed is still changing at the end.
    """
    machine = _machine(circuit, voltage, frequency, coefficient, inertia, wind_rpm, phase)
    run = _until_settled(machine, speed_rpm, _one("duration", duration, DURATION))
    final = float(np.mean(run.speed_rpm[-SAMPLES_USUAL:]))
    direction = int(np.sign(final)) if abs(final) > CREEP_RPM else 0
    within = (1 - REACHED) * abs(final) if direction else CREEP_RPM
    away = np.flatnonzero(np.abs(run.speed_rpm - final) > within)
    until = slice(away[-1] + 2 if len(away) else 1)
    return RunUp(
        starts=direction == (-1 if circuit.reversed else 1),
        direction=direction,
        time=float(run.time[until][-1]),
        speed_rpm=final,
        voltage_capacitor_peak=float(np.max(np.abs(run.voltage_capacitor))),
        current_peak=float(np.max(np.abs(run.current))),
        energy_windings=float(simpson((run.loss_main + run.loss_aux)[until], x=run.time[until])),
        energy_rotor=float(simpson(run.loss_rotor[until], x=run.time[until])),
    )


def _one(field, value, accepted) -> float:
    """Check a number and return it as a float."""
    if np.ndim(value):
        raise InputError(field, array_of(np.shape(value)), Message("error.physics.one_number"))
    return float(check(field, value, accepted))


def _until_settled(machine: "_Machine", speed_rpm, duration) -> Waveforms:
    """Simulate in chunks until the mean speed no longer changes."""
    step = 2 * pi / machine.omega / SAMPLES_USUAL
    grid = np.arange(CHUNK * SAMPLES_USUAL + 1)
    parts, mean = [machine.without_current(speed_rpm)[:, None]], inf
    for start in range(0, round(duration / step), len(grid) - 1):
        parts.append(machine.integrate(parts[-1][:, -1], (start + grid) * step)[:, 1:])
        before, mean = mean, np.mean(parts[-1][-1, -SAMPLES_USUAL:])
        if abs(mean - before) < SETTLED * machine.speed_synchronous:
            states = np.concatenate(parts, axis=1)
            return machine.shown(np.arange(states.shape[1]) * step, states)
    raise ArithmeticError(f"the fan's speed still changes after {duration:g} s")


def _machine(circuit, voltage, frequency, coefficient, inertia, wind_rpm, phase) -> "_Machine":
    """Return a machine with checked scalar parameters, referred to the main winding."""
    windings = _windings(circuit)
    frequency = _one("frequency", frequency, FREQUENCY)
    coefficient = _one("coefficient", coefficient, COEFFICIENT)
    wind = _one("wind_rpm", wind_rpm, TURNING) * pi / 30
    synchronous = float(synchronous_speed(frequency, circuit.poles))
    return _Machine(
        **windings,
        crest=sqrt(2) * _one("voltage", voltage, VOLTAGE),
        omega=2 * pi * frequency,
        phase=_one("phase", phase, PHASE),
        coefficient=coefficient,
        inertia=inf if np.array_equal(inertia, inf) else _one("inertia", inertia, INERTIA),
        wind=coefficient * wind * abs(wind),
        breakaway=BREAKAWAY * coefficient * synchronous**2,
        speed_synchronous=synchronous,
    )


def _windings(circuit) -> dict:
    """Return the inductances and resistances, with the auxiliary winding divided by a^2."""
    if circuit.shape != ():
        raise InputError("circuit", array_of(circuit.shape), Message("error.physics.one_motor"))
    if min(circuit.X1, circuit.X_aux) + circuit.X2 <= 0:
        given, accepted = Message("error.physics.no_leakage"), Message("error.physics.leakage")
        raise InputError("X2", given, accepted)
    per_radian = 1 / (2 * pi * float(circuit.frequency))
    tap = float(circuit.tap)  # refer the auxiliary winding to the full supply voltage
    a = float(circuit.turns_ratio) * (-1 if circuit.reversed else 1) / tap
    R_tap = float(circuit.R1) * (1 - tap) / tap
    R_aux = circuit.R_aux / tap**2 + R_tap
    cut = circuit.R_aux > CUT
    share, exponent, emf_rated = circuit.saturation or (0.0, EXPONENT.low, 1.0)
    return {
        "pole_pairs": float(circuit.poles) / 2,
        "a": a,
        "R_d": float(circuit.R1),
        "R_q": 0.0 if cut else float(R_aux) / a**2,
        "R2": float(circuit.R2),
        "L_d": float(circuit.X1) * per_radian,
        "L_q": CUT_INDUCTANCE if cut else float(circuit.X_aux / tap**2) * per_radian / a**2,
        "L2": float(circuit.X2) * per_radian,
        "Lm": float(circuit.Xm) * per_radian,
        "share": float(share),
        "half_exponent": _one("exponent", exponent, EXPONENT) / 2,
        "flux_rated": sqrt(2) * float(emf_rated) * per_radian,
        "capacitance": _one("capacitance", circuit.capacitance, CAPACITANCE) * tap**2,
        "tap": tap,
        "R_tap": R_tap,
        "skin": float(circuit.skin),
        "core_conductance": float(circuit.core_conductance),
        "friction": float(circuit.friction),
    }


@dataclass(frozen=True)
class _Machine:
    """Machine equations in the d axis (main winding) and the q axis (auxiliary winding).

    The auxiliary winding has ``a`` times as many turns as the main winding. The state consists of
    the leakage flux linkages in both axes (stator minus rotor, L i_s - L2 i_r), the magnetizing
    fluxes in both axes [Wb], the capacitor voltage [V] and the speed [rad/s]. With these state
    variables, the currents can be calculated explicitly, with or without saturation, and any
    leakage inductance can be zero. Methods without a time or state argument accept floats during
    the integration and arrays afterward.
    """

    pole_pairs: float
    a: float
    R_d: float
    R_q: float
    R2: float
    L_d: float
    L_q: float
    L2: float
    Lm: float
    share: float
    half_exponent: float
    flux_rated: float
    capacitance: float
    tap: float
    R_tap: float
    skin: float
    core_conductance: float
    friction: float
    crest: float
    omega: float
    phase: float
    coefficient: float
    inertia: float
    wind: float
    breakaway: float
    speed_synchronous: float

    def without_current(self, speed_rpm):
        """Return the initial state, without current or charge."""
        speed = _one("speed_rpm", speed_rpm, TURNING) * pi / 30
        return np.array([0.0, 0.0, 0.0, 0.0, 0.0, speed])

    def iron(self, flux_d, flux_q):
        """Return the inverse magnetizing inductance [1/H] and its slope [1/(H Wb^2)].

        The slope is with respect to the flux squared. In `circuit`, saturation is defined for the
        root sum of squares of the two air-gap voltages. The mean squared flux of an elliptical
        field is half of its squared peak.
        """
        square = (flux_d**2 + flux_q**2) / self.flux_rated**2
        steep = self.share * square ** (self.half_exponent - 1)
        ratio = 1 - self.share + steep * square
        return ratio / self.Lm, 2 * self.half_exponent * steep / (self.flux_rated**2 * self.Lm)

    def currents(self, slack_d, slack_q, flux_d, flux_q, per_flux):
        """Return the stator and rotor currents [A] in both axes.

        The sum of the two currents is the magnetizing current.
        """
        magnetising_d, magnetising_q = per_flux * flux_d, per_flux * flux_q
        i_d = (slack_d + self.L2 * magnetising_d) / (self.L_d + self.L2)
        i_q = (slack_q + self.L2 * magnetising_q) / (self.L_q + self.L2)
        return i_d, i_q, magnetising_d - i_d, magnetising_q - i_q

    def rotor_resistance(self, speed):
        """Return the rotor resistance [ohm] with skin effect for the forward field.

        In the time domain, a winding has a single resistance, so the backward field has the same
        value.
        """
        return self.R2 * (1 + self.skin * abs(1 - abs(speed) / self.speed_synchronous))

    def hold(self, speed):
        """Return the breakaway torque [N m], which has its maximum at HOLD_SPEED."""
        u = speed / (HOLD_SPEED * sqrt(3))
        return self.breakaway * 16 / (3 * sqrt(3)) * u / (1 + u**2) ** 2

    def torque(self, i_d, i_q, flux_d, flux_q, speed):
        """Return the shaft torque [N m]."""
        gap = self.pole_pairs * (flux_q * i_d - flux_d * i_q)
        return gap - self.friction * speed - self.hold(speed)

    def derivatives(self, time, state):
        """Return the time derivative of the state."""
        slack_d, slack_q, flux_d, flux_q, v_capacitor, speed = state.tolist()
        per_flux, growth = self.iron(flux_d, flux_q)
        i_d, i_q, r_d, r_q = self.currents(slack_d, slack_q, flux_d, flux_q, per_flux)
        line = self.crest * cos(self.omega * time + self.phase)
        electric = self.pole_pairs * speed
        stator_d = line - self.R_d * i_d
        stator_q = (line - v_capacitor) / self.a - self.R_q * i_q
        R2 = self.rotor_resistance(speed)
        rotor_d = electric * (flux_q + self.L2 * r_q) - R2 * r_d
        rotor_q = -electric * (flux_d + self.L2 * r_d) - R2 * r_q
        d = self.axis(self.L_d, stator_d, rotor_d, per_flux + growth * flux_d**2)
        q = self.axis(self.L_q, stator_q, rotor_q, per_flux + growth * flux_q**2)
        change_d, change_q = _both_axes(d, q, growth * flux_d * flux_q)
        surplus = self.torque(i_d, i_q, flux_d, flux_q, speed) + self.wind
        surplus -= self.coefficient * speed * abs(speed)
        return (
            stator_d - rotor_d,
            stator_q - rotor_q,
            change_d,
            change_q,
            i_q / (self.a * self.capacitance),
            surplus / self.inertia,
        )

    def axis(self, leakage, stator, rotor, per_flux):
        """Return the voltage [V], factor and leakage inductance [H] in an axis's flux equation.

        The stator and rotor voltages drive the common flux through their leakage inductances. The
        parallel leakage inductances also carry the change in magnetizing current.
        """
        both = leakage + self.L2
        parallel = leakage * self.L2 / both
        driving = (leakage * rotor + self.L2 * stator) / both
        return driving, 1 + parallel * per_flux, parallel

    def integrate(self, state, time):
        """Return the state at each ``time`` as columns, starting from ``state``."""
        flux = self.crest / self.omega
        usual = np.array([flux, flux, flux, flux, self.crest, self.speed_synchronous])
        error = {"rtol": RELATIVE_ERROR, "atol": RELATIVE_ERROR * usual}
        ends = time[0], time[-1]
        done = solve_ivp(self.derivatives, ends, state, method="LSODA", t_eval=time, **error)
        if not done.success:
            raise ArithmeticError(f"the motor could not be followed in time: {done.message}")
        return done.y

    def shown(self, time, states) -> Waveforms:
        """Return the waveforms that correspond to the states."""
        slack_d, slack_q, flux_d, flux_q, v_capacitor, speed = states
        per_flux, _ = self.iron(flux_d, flux_q)
        i_d, i_q, r_d, r_q = self.currents(slack_d, slack_q, flux_d, flux_q, per_flux)
        voltage = self.crest * np.cos(self.omega * time + self.phase)
        rotor = r_d**2 + r_q**2
        leakage = (self.L_d * i_d**2 + self.L_q * i_q**2 + self.L2 * rotor) / 2
        capacitor = self.capacitance * v_capacitor**2 / 2
        return Waveforms(
            time=time,
            voltage=voltage,
            current=i_d + i_q / self.a + self.core_conductance * voltage,
            current_main=i_d,
            current_aux=i_q / (self.a * self.tap),
            voltage_capacitor=self.tap * v_capacitor,
            torque=self.torque(i_d, i_q, flux_d, flux_q, speed),
            speed_rpm=speed * 30 / pi,
            loss_main=self.R_d * i_d**2 + self.R_tap * (i_q / self.a) ** 2,
            loss_aux=(self.R_q - self.R_tap / self.a**2) * i_q**2,
            loss_rotor=self.rotor_resistance(speed) * rotor,
            energy_stored=leakage + capacitor + self.energy_iron(flux_d, flux_q),
        )

    def energy_iron(self, flux_d, flux_q):
        """Return the energy [J] of the magnetizing field (current integrated over flux)."""
        square = flux_d**2 + flux_q**2
        steep = self.share * (square / self.flux_rated**2) ** self.half_exponent
        return square / self.Lm * ((1 - self.share) / 2 + steep / (2 * self.half_exponent + 2))


def _both_axes(d, q, cross):
    """Return the flux derivatives in both axes, which are coupled by ``cross`` [1/H]."""
    (driving_d, weight_d, leakage_d), (driving_q, weight_q, leakage_q) = d, q
    d_by_q, q_by_d = leakage_d * cross, leakage_q * cross
    determinant = weight_d * weight_q - d_by_q * q_by_d
    change_d = (weight_q * driving_d - d_by_q * driving_q) / determinant
    return change_d, (weight_d * driving_q - q_by_d * driving_d) / determinant
