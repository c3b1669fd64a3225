"""Steady state of single-phase induction motors with a run capacitor.

The main and auxiliary windings are in quadrature. The pulsating field of each winding is the sum of
two fields that revolve in opposite directions. The rotor slip is s with respect to the forward
field and 2 - s with respect to the backward field. For a given slip, the solution has a closed form
(Fitzgerald, Kingsley, Umans, Electric Machinery, chapter 9). Impedances are in ohms at the rated
frequency, and resistances apply at their reference temperatures. Rotor and magnetizing values are
referred to the main winding.

- Saturation: above a knee in air-gap voltage, the magnetizing current follows a power law. Close to
  resonance with the capacitor, a saturated motor can have several steady states, and the iteration
  returns one of them. This did not happen in 20,000 typical circuits, but it happened in 1 of 1000
  very unusual circuits.
- Skin effect: the rotor resistance increases with rotor frequency.
- Tap: the auxiliary winding can be fed from a tap on the main winding, as in 460 V motors with a
  370 or 440 V capacitor.
- Run capacitor: the module calculates the capacitance from readings under load and contains the
  limits of the capacitor standard. A capacitor can stay charged after the power is turned off. Lock
  out the power and discharge the capacitor before touching it. Taking readings under load is
  energized work and must be done only by a qualified person.

The model does not include leakage saturation (X1 and X2 are effective values), slot harmonics,
stray losses or windings that are not in quadrature. Torque near standstill is the least accurate
result.

The results are checked against textbook examples, a model with four coupled windings, and
`physics.transient`.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.errors import FREQUENCY, SLIP, TEMP_AIR, VOLTAGE, InputError, Range, check

OHM = Range(0.0, 1e9, "ohm")
OHM_ABOVE_ZERO = Range(1e-6, 1e9, "ohm")
TURNS_RATIO = Range(0.05, 20.0, "")
CAPACITANCE = Range(1e-15, 2e-3, "F")
CONDUCTANCE = Range(0.0, 0.1, "S")
FRICTION = Range(0.0, 1.0, "N m s per rad")
SKIN = Range(0.0, 1.0, "")
TAP = Range(0.2, 1.0, "")
LOSS = Range(0.0, 5000.0, "W")
POLES = Range(2, 24, "")
CURRENT = Range(0.001, 100.0, "A")
TEMP_CAPACITOR = Range(TEMP_AIR.low, 130.0, "degC")
VOLTAGE_EXPONENT = Range(1.0, 20.0, "")
HALVING_INTERVAL = Range(5.0, 20.0, "K")

# IEC 60252-1, cited from memory, not verified. The marking on the capacitor governs.
TOLERANCES = (0.05, 0.10, 0.15)
OVERVOLTAGE = 1.1  # maximum, as a multiple of the marked voltage
LIFE_CLASSES = {"A": 30000.0, "B": 10000.0, "C": 3000.0, "D": 1000.0}  # [h] at marked voltage

_ACCEPTED = {
    "poles": POLES,
    "frequency": FREQUENCY,
    "R1": OHM,
    "X1": OHM,
    "R2": OHM_ABOVE_ZERO,
    "X2": OHM,
    "Xm": OHM_ABOVE_ZERO,
    "turns_ratio": TURNS_RATIO,
    "R_aux": OHM,
    "X_aux": OHM,
    "capacitance": CAPACITANCE,
    "core_conductance": CONDUCTANCE,
    "friction": FRICTION,
    "skin": SKIN,
    "tap": TAP,
}


def synchronous_speed(frequency, poles):
    """Return the synchronous angular speed [rad/s] for a ``frequency`` [Hz].

    >>> round(float(synchronous_speed(60.0, 6)) * 30 / np.pi)
    1200
    """
    return 4 * np.pi * np.asarray(frequency) / poles


class SingleWinding(NamedTuple):
    """Steady state of a motor that runs on its main winding alone.

    Attributes
    ----------
    current : float
        Current magnitude [A].
    power_factor : float
        Power factor.
    power_in, power_out : float
        Input power and shaft power [W].
    torque : float
        Shaft torque [N m].
    speed_rpm : float
        Speed [rpm].
    """

    current: float
    power_factor: float
    power_in: float
    power_out: float
    torque: float
    speed_rpm: float


def single_winding(
    voltage, frequency, poles, slip, R1, X1, R2, X2, Xm, core_loss=0.0, friction_loss=0.0
) -> SingleWinding:
    """Return the steady state of a motor that runs on its main winding alone.

    Array arguments are broadcast against each other. The equations are from Fitzgerald, Kingsley,
    Umans, Electric Machinery, section 9.3.

    Parameters
    ----------
    voltage : array_like
        Supply voltage [V].
    frequency : array_like
        Supply frequency [Hz].
    poles : array_like
        Number of poles.
    slip : array_like
        Slip.
    R1, X1, R2, X2, Xm : array_like
        Impedances [ohm] at the supply frequency.
    core_loss, friction_loss : array_like, optional
        Losses [W] that are subtracted from the developed power.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> motor = single_winding(110, 60, 4, 0.05, 2.02, 2.79, 4.12, 2.12, 66.8, 24, 13)
    >>> round(float(motor.current), 4), round(float(motor.power_out), 2)
    (3.6049, 147.44)
    """
    voltage = check("voltage", voltage, VOLTAGE)
    frequency = check("frequency", frequency, FREQUENCY)
    poles = check("poles", poles, POLES)
    slip = check("slip", slip, SLIP)
    R1, X1 = check("R1", R1, OHM), check("X1", X1, OHM)
    R2, X2 = check("R2", R2, OHM_ABOVE_ZERO), check("X2", X2, OHM)
    Xm = check("Xm", Xm, OHM_ABOVE_ZERO)
    lost = check("core_loss", core_loss, LOSS) + check("friction_loss", friction_loss, LOSS)

    forward, backward = _field_impedances(R2, X2, Xm, slip)
    current = voltage / (R1 + 1j * X1 + forward + backward)
    power_gap = np.abs(current) ** 2 * (forward.real - backward.real)
    speed = (1 - slip) * synchronous_speed(frequency, poles)
    power_out = (1 - slip) * power_gap - lost
    standing = speed == 0  # the torques of the two fields cancel, and the shaft is at rest
    torque = np.where(standing, 0.0, power_out / np.where(standing, 1.0, speed))
    power_in = voltage * current.real
    power_factor = current.real / np.abs(current)
    return SingleWinding(
        np.abs(current), power_factor, power_in, power_out, torque[()], speed * 30 / np.pi
    )


class Saturation(NamedTuple):
    """Saturation curve, along which the magnetizing current rises faster than the voltage.

    The current is I = E/Xm ((1 - share) + share (E/emf_rated)^exponent). At the rated air-gap
    voltage, the current is E/Xm. At higher voltages, the last term dominates. This form is common
    for small motors but has no published source. Array arguments are broadcast against each other.

    Attributes
    ----------
    share : float
        Weight of the saturation term, usually 0.1 to 0.4.
    exponent : float
        Exponent of the saturation term, usually 4 to 8.
    emf_rated : float
        Air-gap voltage [V] of the main winding at rated frequency.
    """

    share: float
    exponent: float
    emf_rated: float

    def factor(self, emf):
        """Return the ratio of the magnetizing current at ``emf`` [V] to the unsaturated current.

        >>> float(Saturation(0.2, 5.0, 200.0).factor(200.0))
        1.0
        """
        return 1 - self.share + self.share * (np.asarray(emf) / self.emf_rated) ** self.exponent


class Equations(NamedTuple):
    """Complex impedances [ohm] in the voltage equations of both windings at a given slip.

    Values for the auxiliary winding are referred to the full supply voltage. A winding that is fed
    from a tap has a lower voltage.

    Attributes
    ----------
    forward, backward : complex
        Half of the rotor impedance in each field.
    main, aux : complex
        Winding impedances. The auxiliary impedance includes the capacitor.
    own_main, own_aux : complex
        Impedance of each winding including both fields.
    coupling : complex
        Impedance between the windings.
    determinant : complex
        Determinant [ohm2] of the equations.
    """

    forward: complex
    backward: complex
    main: complex
    aux: complex
    own_main: complex
    own_aux: complex
    coupling: complex
    determinant: complex


class Solution(NamedTuple):
    """Steady state of a capacitor-run motor.

    Currents and the capacitor voltage are complex phasors relative to the supply voltage.
    ``current_main`` is the equivalent magnetizing current in all turns of the main winding. The
    input power is the sum of the output power and the five losses.

    Attributes
    ----------
    current, current_main, current_aux : complex
        Supply, main and auxiliary winding currents [A].
    voltage_capacitor : complex
        Capacitor voltage [V].
    torque : float
        Shaft torque [N m].
    speed_rpm : float
        Speed [rpm].
    power_in, power_out : float
        Input power and shaft power [W].
    loss_main, loss_aux, loss_rotor, loss_core, loss_friction : float
        Losses [W].
    emf : float
        Air-gap voltage [V] of the main winding, the root sum of squares of both fields.
    """

    current: complex
    current_main: complex
    current_aux: complex
    voltage_capacitor: complex
    torque: float
    speed_rpm: float
    power_in: float
    power_out: float
    loss_main: float
    loss_aux: float
    loss_rotor: float
    loss_core: float
    loss_friction: float
    emf: float

    @property
    def loss(self):
        """Return the total loss [W]."""
        return (
            self.loss_main + self.loss_aux + self.loss_rotor + self.loss_core + self.loss_friction
        )


@dataclass(frozen=True)
class CapacitorRun:
    """Motor with a run capacitor in series with the auxiliary winding.

    The main and auxiliary windings are in quadrature. Reactances apply at the rated frequency.

    The skin effect is proportional to rotor frequency. In the backward field of a running motor, it
    is therefore nearly twice as large as at standstill. A center tap allows a 460 V motor to use an
    ordinary capacitor. Every value can be an array, and arrays are broadcast against each other.

    Attributes
    ----------
    poles : int
        Number of poles.
    frequency : float
        Rated frequency [Hz].
    R1, X1 : float
        Resistance and reactance [ohm] of the main winding.
    R2, X2, Xm : float
        Rotor resistance, rotor reactance and magnetizing reactance [ohm], referred to the main
        winding.
    turns_ratio : float
        Ratio of auxiliary turns to main turns.
    R_aux, X_aux : float
        Resistance and reactance [ohm] of the auxiliary winding, not referred to the main winding.
    capacitance : float
        Capacitance [F] of the run capacitor.
    core_conductance : float
        Conductance [S] across the supply, which represents the core loss.
    friction : float
        Friction coefficient [N m s/rad].
    saturation : Saturation or None
        Saturation curve, or None for a linear magnetizing curve.
    reversed : bool
        True to reverse the polarity of the auxiliary winding. Slip is still defined for the
        original direction.
    skin : float
        Relative increase in rotor resistance at standstill, where the rotor frequency is the supply
        frequency.
    tap : float
        Fraction of the main winding's turns that feeds the auxiliary winding: 1 for the full supply
        voltage, 0.5 for a center tap.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    poles: int
    frequency: float
    R1: float
    X1: float
    R2: float
    X2: float
    Xm: float
    turns_ratio: float
    R_aux: float
    X_aux: float
    capacitance: float
    core_conductance: float = 0.0
    friction: float = 0.0
    saturation: Saturation | None = None
    reversed: bool = False
    skin: float = 0.0
    tap: float = 1.0

    def __post_init__(self):
        for field, accepted in _ACCEPTED.items():
            object.__setattr__(self, field, check(field, getattr(self, field), accepted))

    @property
    def shape(self) -> tuple:
        """Return the common shape of the motor's values after broadcasting."""
        return np.broadcast_shapes(*(np.shape(x) for x in self._values().values()))

    def rearranged(self, rearrange) -> "CapacitorRun":
        """Return the same motors with ``rearrange``, a selection or reshape, applied to each array."""
        return self._with({k: rearrange(x) for k, x in self._values().items()})

    def changed(self, **values) -> "CapacitorRun":
        """Return a copy with the given ``values``. Ranges are not checked, to save time in loops."""
        return self._with(self._values() | values)

    def at_level(self, emf) -> "CapacitorRun":
        """Return the motor with a linear magnetizing curve that is equivalent at ``emf`` [V]."""
        values = self._values()
        factor = self.saturation.factor(emf)
        for name in Saturation._fields:
            del values[name]
        return self._with(values | {"Xm": self.Xm / factor})

    def _values(self) -> dict:
        """Return all arrays of the motor by name, including the saturation parameters."""
        saturation = self.saturation._asdict() if self.saturation else {}
        return {"reversed": self.reversed} | {k: getattr(self, k) for k in _ACCEPTED} | saturation

    def _with(self, values) -> "CapacitorRun":
        """Return a copy with ``values`` derived from this motor. Ranges are not checked."""
        copy = object.__new__(type(self))
        parts = {k: values.pop(k) for k in Saturation._fields if k in values}
        values["saturation"] = Saturation(**parts) if parts else None
        copy.__dict__.update(values)
        return copy

    def solve(self, voltage, frequency, slip) -> Solution:
        """Return the steady state at a given supply ``voltage``, ``frequency`` and ``slip``.

        Array arguments are broadcast against the motor's values.

        The example is a fictional 1/3 hp motor. Three independently written programs give the same
        result.

        Parameters
        ----------
        voltage : array_like
            Supply voltage [V].
        frequency : array_like
            Supply frequency [Hz].
        slip : array_like
            Slip, which is 1 at standstill.

        Raises
        ------
        InputError
            If a value is out of range.
        ArithmeticError
            If the saturation iteration does not converge, for example because the rated air-gap
            voltage does not match the motor.

        Examples
        --------
        >>> motor = CapacitorRun(
        ...     6, 60.0, 20, 15.5, 25, 15.5, 140, 1.3, 42, 26, 7.5e-6, 4e-4, 3.0145e-4
        ... )
        >>> at = motor.solve(230, 60, 125 / 1200)
        >>> round(float(abs(at.current)), 4), round(float(abs(at.voltage_capacitor)), 2)
        (2.0016, 372.76)
        """
        voltage = check("voltage", voltage, VOLTAGE)
        frequency = check("frequency", frequency, FREQUENCY)
        slip = check("slip", slip, SLIP)
        return self.balance(voltage, frequency, slip)

    def balance(self, voltage, frequency, slip, emf=None) -> Solution:
        """Return the result of ``solve`` without range checks, to save time in loops.

        ``emf`` is the air-gap voltage [V] of a nearby state. Passing ``emf`` saves iterations if
        the motor has a saturation curve.
        """
        if self.saturation is None:
            return self._linear(voltage, frequency, slip, 1.0)
        if emf is None:
            emf = self.saturation.emf_rated * frequency / self.frequency
        return self._saturated(voltage, frequency, slip, emf)

    def _saturated(self, voltage, frequency, slip, emf) -> Solution:
        """Solve for the air-gap voltage that is consistent with the magnetizing current.

        The mismatch is nearly linear on logarithmic scales, so the secant method converges in about
        six steps. Near resonance with the capacitor, the mismatch is not linear, so the root is
        bracketed. Every eighth step, and any step that leaves the bracket, is replaced by
        bisection. A saturated motor with a large capacitor can have several solutions, and one of
        them is returned.
        """
        flux_scale = self.frequency / frequency  # saturation depends on volts per hertz
        trial = np.log(emf)
        low, high = trial - 8.0, trial + 3.0
        before, change = np.nan, np.nan
        for count in range(1, 200):
            factor = self.saturation.factor(np.exp(trial) * flux_scale)
            solution = self._linear(voltage, frequency, slip, factor)
            mismatch = np.log(solution.emf) - trial
            settled = np.abs(mismatch) < 1e-10
            if np.all(settled):
                return solution
            low = np.where(mismatch > 0, trial, low)
            high = np.where(mismatch > 0, high, trial)
            slope = (mismatch - before) / np.where(change == 0, np.nan, change)
            slope = np.where(np.isfinite(slope) & (slope < 0), slope, -1.5)
            following = trial - mismatch / slope
            halve = (following <= low) | (following >= high) | (count % 8 == 0)
            following = np.where(halve, (low + high) / 2, following)
            following = np.where(settled, trial, following)
            before, change, trial = mismatch, following - trial, following
        raise ArithmeticError("the saturated magnetising path found no balance")

    def equations(self, frequency, slip, saturation_factor=1.0) -> Equations:
        """Return the impedances in the voltage equations. Ranges are not checked.

        ``saturation_factor`` is the result of `Saturation.factor`, or 1 for a linear magnetizing
        curve. Array arguments are broadcast against each other.
        """
        scale = frequency / self.frequency
        a = self.turns_ratio_to_line
        forward, backward = _field_impedances(
            self.R2, self.X2 * scale, self.Xm * scale / saturation_factor, slip, self.skin * scale
        )
        z_main = self.R1 + 1j * self.X1 * scale
        # A tapped main winding is an autotransformer, so the auxiliary winding is referred to the
        # full supply voltage. The auxiliary current also flows through part of the main winding,
        # which adds R_tap (Kirchhoff).
        x_aux = self.X_aux * scale - self.capacitor_reactance(frequency)
        z_aux = (self.R_aux + 1j * x_aux) / self.tap**2 + self.R_tap
        own_main = z_main + forward + backward
        own_aux = z_aux + a**2 * (forward + backward)
        coupling = 1j * a * (forward - backward)
        determinant = own_main * own_aux + coupling**2
        return Equations(forward, backward, z_main, z_aux, own_main, own_aux, coupling, determinant)

    def capacitor_reactance(self, frequency):
        """Return the reactance [ohm] of the run capacitor at ``frequency`` [Hz]."""
        return 1 / (2 * np.pi * frequency * self.capacitance)

    @property
    def turns_ratio_to_line(self):
        """Turns ratio referred to the supply voltage, negative for a reversed winding."""
        return np.where(self.reversed, -self.turns_ratio, self.turns_ratio) / self.tap

    @property
    def R_tap(self):
        """Resistance [ohm] that a tapped main winding adds to the path of the auxiliary current."""
        return self.R1 * (1 - self.tap) / self.tap

    def gap_powers(self, current_main, current_aux, at: Equations):
        """Return the air-gap powers [W] of the forward and backward fields.

        ``current_main`` and ``current_aux`` are the winding currents [A] of a `Solution`.
        """
        return _gap_powers(*self._field_currents(current_main, current_aux * self.tap), at)

    def _field_currents(self, current_main, from_line):
        turned = 1j * self.turns_ratio_to_line * from_line
        return current_main - turned, current_main + turned

    def _linear(self, voltage, frequency, slip, saturation_factor) -> Solution:
        """Return the closed-form solution for a given magnetizing reactance."""
        at = self.equations(frequency, slip, saturation_factor)
        current_main = voltage * (at.own_aux + at.coupling) / at.determinant
        from_line = voltage * (at.own_main - at.coupling) / at.determinant
        current_aux = from_line / self.tap

        of_forward, of_backward = self._field_currents(current_main, from_line)
        gap_forward, gap_backward = _gap_powers(of_forward, of_backward, at)
        emf = np.sqrt(_squared(of_forward * at.forward) + _squared(of_backward * at.backward))
        synchronous = synchronous_speed(frequency, self.poles)
        speed = (1 - slip) * synchronous
        torque = (gap_forward - gap_backward) / synchronous - self.friction * speed
        current = current_main + from_line + self.core_conductance * voltage
        return Solution(
            current=current,
            current_main=current_main,
            current_aux=current_aux,
            voltage_capacitor=-1j * self.capacitor_reactance(frequency) * current_aux,
            torque=torque,
            speed_rpm=speed * 30 / np.pi,
            power_in=voltage * current.real,
            power_out=torque * speed,
            loss_main=_squared(current_main) * self.R1 + _squared(from_line) * self.R_tap,
            loss_aux=_squared(current_aux) * self.R_aux,
            loss_rotor=slip * gap_forward + (2 - slip) * gap_backward,
            loss_core=self.core_conductance * voltage**2,
            loss_friction=self.friction * speed**2,
            emf=emf,
        )


def capacitance(current, voltage, frequency):
    """Return the capacitance [F] of a capacitor from its current and voltage.

    The capacitance is I / (2 pi f V). At 60 Hz this is the trade formula uF = 2652 I/V. Array
    arguments are broadcast against each other.

    Parameters
    ----------
    current : array_like
        Current [A] through the capacitor.
    voltage : array_like
        Voltage [V] across the capacitor terminals. In a running motor, this voltage is higher than
        the supply voltage.
    frequency : array_like
        Supply frequency [Hz].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(capacitance(1.054, 372.8, 60.0)) * 1e6, 2)
    7.5
    """
    current = check("current", current, CURRENT)
    voltage = check("voltage", voltage, VOLTAGE)
    return current / (2 * np.pi * check("frequency", frequency, FREQUENCY) * voltage)


def life(
    voltage, temp_capacitor, voltage_rated, life_class="B", temp_rated=70.0, exponent=8.0,
    halving_interval=10.0,
):  # fmt: skip
    """Return the life [h] of a metallized-film run capacitor.

    Life is proportional to the voltage ratio raised to the power -``exponent``, and it is halved
    for every ``halving_interval`` of temperature increase. Both rules are common practice and have
    no published source. Use the result for comparisons only. Array arguments are broadcast against
    each other.

    Parameters
    ----------
    voltage : array_like
        Voltage across the capacitor [V].
    temp_capacitor : array_like
        Capacitor temperature [degC].
    voltage_rated : array_like
        Rated voltage [V].
    life_class : str, optional
        IEC 60252-1 class, which defines the life at rated voltage and rated temperature.
    temp_rated : array_like, optional
        Rated temperature [degC].
    exponent : array_like, optional
        Voltage exponent, 7 to 10 for metallized film.
    halving_interval : array_like, optional
        Temperature increase [K] that halves the life.

    Raises
    ------
    InputError
        If the class is unknown or a value is out of range.

    Examples
    --------
    >>> float(life(370.0, 70.0, 370.0)), round(float(life(407.0, 70.0, 370.0)))
    (10000.0, 4665)
    """
    if life_class not in LIFE_CLASSES:
        raise InputError("life_class", repr(life_class), ", ".join(LIFE_CLASSES))
    voltage = check("voltage", voltage, VOLTAGE)
    voltage_rated = check("voltage_rated", voltage_rated, VOLTAGE)
    temp = check("temp_capacitor", temp_capacitor, TEMP_CAPACITOR)
    temp_rated = check("temp_rated", temp_rated, TEMP_CAPACITOR)
    exponent = check("exponent", exponent, VOLTAGE_EXPONENT)
    interval = check("halving_interval", halving_interval, HALVING_INTERVAL)
    by_voltage = (voltage_rated / voltage) ** exponent
    return LIFE_CLASSES[life_class] * by_voltage * 2 ** ((temp_rated - temp) / interval)


def _squared(phasor):
    """Return the squared magnitude of a phasor."""
    return phasor.real**2 + phasor.imag**2


def _gap_powers(of_forward, of_backward, at: Equations):
    """Return the air-gap powers [W] of both fields from their currents [A]."""
    return _squared(of_forward) * at.forward.real, _squared(of_backward) * at.backward.real


def _field_impedances(R2, X2, Xm, slip, skin=0.0):
    """Return half of the rotor impedance [ohm] in the forward and backward fields.

    The calculation uses the rotor admittance s/(R2 (1 + skin s) + j s X2), which is finite at s =
    0.
    """
    along = skin * R2 + 1j * X2

    def half(s):
        return 0.5 / (-1j / Xm + s / (R2 + s * along))

    return half(slip), half(2 - np.asarray(slip))
