"""Time simulation of a capacitor-run motor: start, run-up and steady state.

Independent method for `circuit`, without the revolving-field theory or a periodic assumption. The
model has two stator windings in quadrature, the cage as two windings fixed in the stator frame (a
moving conductor adds speed times the flux of the other axis), the capacitor voltage and the shaft
speed; SciPy integrates them. After Krause, Wasynczuk, Sudhoff, Analysis of Electric Machinery, the
chapter on two-phase and single-phase induction machines; cited from memory, not verified.

Not included: winding harmonics, skin effect within the cage bars, hysteresis of the iron (core loss
is a conductance across the supply, as in `circuit`).
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

# Radius of gyration over tip radius of a sheet-metal propeller fan with its hub: between .58 for a
# slender rod and .71 for a disc (common practice, no source).
BLADE_GYRATION = 0.6

CUT = 1e4  # ohm: above this the auxiliary winding is treated as open, with zero current
CUT_INDUCTANCE = 1e6  # H, leakage inductance that makes the current of an open winding zero
HOLD_SPEED = 1.0  # rad/s at which the smoothed breakaway torque is at its maximum
CREEP_RPM = 40.0  # a slower fan is at rest; breakaway creep is well below this speed
RELATIVE_ERROR = 1e-8  # of the integration, per step
SAMPLES_USUAL = 64  # per supply cycle
CHUNK = 15  # supply cycles between two checks for a steady speed
SETTLED = 1e-5  # change in speed per chunk, over synchronous speed
REACHED = 0.95  # fraction of the final speed that ends the run-up


def disc_inertia(mass, diameter, gyration=BLADE_GYRATION):
    """Return the moment of inertia [kg m2] of a fan.

    J = m (gyration x diameter / 2)^2, any handbook. Array arguments are broadcast against each
    other.

    Parameters
    ----------
    mass : array_like
        Mass of the fan [kg].
    diameter : array_like
        Fan diameter [m].
    gyration : array_like, optional
        Radius of gyration over tip radius, 0.71 for a plain disc or a motor's rotor.

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
    """Waveforms of one simulation, as on an oscilloscope; all arrays have shape (times,).

    Attributes
    ----------
    time : ndarray
        Time since the motor was switched on [s].
    voltage, voltage_capacitor : ndarray
        Supply and capacitor voltage [V].
    current : ndarray
        Supply current, including the core-loss current [A].
    current_main, current_aux : ndarray
        Winding currents [A].
    torque : ndarray
        Shaft torque [N m].
    speed_rpm : ndarray
        Speed, negative for reverse rotation [rpm].
    loss_main, loss_aux, loss_rotor : ndarray
        Losses [W].
    energy_stored : ndarray
        Energy in the magnetic fields and capacitor [J].
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
    """Simulate one motor and its fan from switching on; all inputs are single values, not arrays.

    Windings start without current and the capacitor without charge.

    Bearing friction at rest is `operating_point.BREAKAWAY`, smoothed: a motor that cannot overcome
    it creeps at less than 10 rpm instead of remaining at rest. An auxiliary winding resistance
    above 10 kohm represents an open capacitor and is treated as an open circuit. Without saturation
    the steady state agrees with `circuit` to 1e-6. Saturated iron causes non-sinusoidal waveforms,
    which phasors cannot represent, and couples the two fields: amps agree within about 2 %, torque
    within 1 % under load and within several percent near no load.

    Parameters
    ----------
    voltage
        Rms supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan torque over speed squared [N m s^2], opposing rotation in either direction.
    inertia
        Inertia of fan and rotor [kg m2], infinite to keep the speed at ``speed_rpm``.
    duration
        Simulated time [s].
    speed_rpm : optional
        Initial speed, negative for reverse rotation [rpm].
    wind_rpm : optional
        Speed at which wind alone would turn the fan [rpm], represented by the steady torque for
        that speed (engineering judgment; no published source).
    phase : optional
        Supply phase at switching on, 0 at the crest [rad].
    samples : optional
        Samples per supply cycle.

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
    """Result of a start.

    Attributes
    ----------
    starts : bool
        True if the fan turns in the motor's rated direction.
    direction : int
        1, -1, or 0 at rest.
    time : float
        Time to 95 % of the final speed, or until the fan is practically at rest [s].
    speed_rpm : float
        Final speed, negative for reverse rotation [rpm].
    voltage_capacitor_peak : float
        Crest capacitor voltage [V].
    current_peak : float
        Crest current [A].
    energy_windings, energy_rotor : float
        Heat generated in the windings and in the cage until ``time`` [J].
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
    """Simulate a start until the speed is steady; arguments and errors as in integrate.

    ``duration``: longest simulated time [s]. A motor may start, remain at rest, or continue in
    reverse if wind was turning the fan backward: see ``direction``. Also raises ArithmeticError if
    the speed is still changing at the end.
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
    """Return a single checked number."""
    if np.ndim(value):
        raise InputError(field, array_of(np.shape(value)), Message("error.physics.one_number"))
    return float(check(field, value, accepted))


def _until_settled(machine: "_Machine", speed_rpm, duration) -> Waveforms:
    """Simulate in chunks until the mean speed no longer changes from one chunk to the next."""
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
    """Return a machine with checked scalar values, all referred to the main winding."""
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
    """Return the motor parameters as inductances, with the auxiliary winding divided by a^2."""
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
    """Machine equations; axis d is the main winding, q the auxiliary with ``a`` times the turns.

    State: leakage flux linkage in both axes (stator minus rotor flux linkage, L i_s - L2 i_r),
    magnetizing flux in both axes [Wb], capacitor voltage [V], speed [rad/s]. With this state the
    currents follow explicitly, with or without saturation, and either leakage inductance may be
    zero. Methods without a time or state argument accept floats during the integration and arrays
    afterward.
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
        """Return the state at switching on: initial speed, no current and no charge."""
        speed = _one("speed_rpm", speed_rpm, TURNING) * pi / 30
        return np.array([0.0, 0.0, 0.0, 0.0, 0.0, speed])

    def iron(self, flux_d, flux_q):
        """Return magnetizing current per flux [1/H] and its slope with flux squared [1/(H Wb^2)].

        The saturation in `circuit` is defined for an air-gap voltage that is the root of the sum of
        squares of both fields; the mean squared flux of an elliptical field is half its squared
        crest.
        """
        square = (flux_d**2 + flux_q**2) / self.flux_rated**2
        steep = self.share * square ** (self.half_exponent - 1)
        ratio = 1 - self.share + steep * square
        return ratio / self.Lm, 2 * self.half_exponent * steep / (self.flux_rated**2 * self.Lm)

    def currents(self, slack_d, slack_q, flux_d, flux_q, per_flux):
        """Return stator and rotor currents in both axes [A]; the sum is the magnetizing current."""
        magnetising_d, magnetising_q = per_flux * flux_d, per_flux * flux_q
        i_d = (slack_d + self.L2 * magnetising_d) / (self.L_d + self.L2)
        i_q = (slack_q + self.L2 * magnetising_q) / (self.L_q + self.L2)
        return i_d, i_q, magnetising_d - i_d, magnetising_q - i_q

    def rotor_resistance(self, speed):
        """Return the rotor resistance [ohm] with skin effect at the slip of the forward field.

        A winding in the time domain has one resistance; it cannot have a second value for the
        backward field.
        """
        return self.R2 * (1 + self.skin * abs(1 - abs(speed) / self.speed_synchronous))

    def hold(self, speed):
        """Return the breakaway torque [N m]: maximum at HOLD_SPEED, negligible at tens of rad/s."""
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
        """Return one axis's flux equation: driving voltage [V], factor, leakage inductance [H].

        Stator and rotor voltages drive the common flux, each through its leakage inductance; the
        two inductances in parallel also carry the change in magnetizing current.
        """
        both = leakage + self.L2
        parallel = leakage * self.L2 / both
        driving = (leakage * rotor + self.L2 * stator) / both
        return driving, 1 + parallel * per_flux, parallel

    def integrate(self, state, time):
        """Return the state at each ``time``, one column per time, starting from ``state``."""
        flux = self.crest / self.omega
        usual = np.array([flux, flux, flux, flux, self.crest, self.speed_synchronous])
        error = {"rtol": RELATIVE_ERROR, "atol": RELATIVE_ERROR * usual}
        ends = time[0], time[-1]
        done = solve_ivp(self.derivatives, ends, state, method="LSODA", t_eval=time, **error)
        if not done.success:
            raise ArithmeticError(f"the motor could not be followed in time: {done.message}")
        return done.y

    def shown(self, time, states) -> Waveforms:
        """Return the measurable waveforms calculated from the states."""
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
        """Return the energy of the magnetizing field [J]: the integral of current over flux."""
        square = flux_d**2 + flux_q**2
        steep = self.share * (square / self.flux_rated**2) ** self.half_exponent
        return square / self.Lm * ((1 - self.share) / 2 + steep / (2 * self.half_exponent + 2))


def _both_axes(d, q, cross):
    """Return the flux derivatives in both axes, coupled by ``cross`` [1/H], by Cramer's rule."""
    (driving_d, weight_d, leakage_d), (driving_q, weight_q, leakage_q) = d, q
    d_by_q, q_by_d = leakage_d * cross, leakage_q * cross
    determinant = weight_d * weight_q - d_by_q * q_by_d
    change_d = (weight_q * driving_d - d_by_q * driving_q) / determinant
    return change_d, (weight_d * driving_q - q_by_d * driving_d) / determinant
