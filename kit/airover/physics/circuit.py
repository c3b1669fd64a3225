"""Steady state of single-phase induction motors: circuit, saturation and run capacitor.

Main and auxiliary winding are in quadrature. Each winding's pulsating field is two fields that
revolve against each other: the rotor has slip s in the forward field and 2 - s in the backward one.
Closed form for a given slip, after Fitzgerald, Kingsley, Umans, Electric Machinery, chapter 9.
Impedances are in ohms at the rated frequency, rotor and magnetizing values as seen by the main
winding, temperatures those at which they were stated.

- Saturation: above a knee in air-gap voltage the magnetizing current grows by a power law. Close to
  resonance with the capacitor, saturated iron can have several states (none in 20,000 usual
  circuits, one in a thousand very unusual ones); the iteration returns one of them.
- ``skin``: rotor resistance grows with rotor frequency.
- ``tap``: the auxiliary winding may be fed from a tap of the main winding, as in 460 V motors with
  a 370 or 440 V capacitor.
- Run capacitor: its capacitance under load and what its standard allows. It stays charged after the
  power is off: lock the power out and discharge it before touching it. Measuring under load is live
  work for a qualified person.

Left out: leakage saturation as an equation (X1 and X2 are effective values), slot harmonics, stray
losses, windings that are not in quadrature. Torque near standstill is the least certain.

Independent methods: textbook examples, four coupled windings solved as one system, and
`physics.transient`.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.errors import FREQUENCY, SLIP, TEMP_AIR, VOLTAGE, InputError, Range, check


class Saturation(NamedTuple):
    """A magnetising current that grows faster than the air-gap voltage.

    I = E/Xm ((1 - share) + share (E/emf_rated)^exponent): at the rated voltage of the air gap
    the current is that of Xm, above it the last term takes over. A form in common use for small
    motors, no source; ``share`` .1 to .4 and ``exponent`` 4 to 8 cover what is seen.
    ``emf_rated`` [V] is the main winding's at its rated frequency. Arrays broadcast.
    """

    share: float
    exponent: float
    emf_rated: float

    def factor(self, emf):
        """Magnetising current over that of the unsaturated Xm, at ``emf`` [V].

        >>> float(Saturation(0.2, 5.0, 200.0).factor(200.0))
        1.0
        """
        return 1 - self.share + self.share * (np.asarray(emf) / self.emf_rated) ** self.exponent


CURRENT = Range(0.001, 100.0, "A")
TEMP_CAPACITOR = Range(TEMP_AIR.low, 130.0, "degC")
VOLTAGE_EXPONENT = Range(1.0, 20.0, "")
HALVING_INTERVAL = Range(5.0, 20.0, "K")

# IEC 60252-1, from memory, not verified: the marking on the capacitor decides.
TOLERANCES = (0.05, 0.10, 0.15)
OVERVOLTAGE = 1.1  # of the marked voltage, at most
LIFE_CLASSES = {"A": 30000.0, "B": 10000.0, "C": 3000.0, "D": 1000.0}  # [h] at marked voltage
STANDARD_SOURCE = "IEC 60252-1, from memory, not verified"


def capacitance(current, voltage, frequency):
    """Capacitance [F] of a capacitor that carries ``current`` [A] at ``voltage`` [V].

    I / (2 pi f V); ``voltage`` is across the capacitor's own terminals, which in a running
    motor is above the line's; ``frequency`` [Hz]. At 60 Hz it is the trade's uF = 2652 I/V.
    Arrays broadcast. Raises InputError out of range.

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
    """Hours [h] that a metallised-film run capacitor of an IEC 60252-1 ``life_class`` lasts.

    Its class hours at ``voltage_rated`` [V] and ``temp_rated`` [degC]; they go with the inverse
    ``exponent``-th power of the ``voltage`` [V] across it (7 to 10 for such films) and halve for
    every ``halving_interval`` [K] that ``temp_capacitor`` [degC] is higher. Both laws are common
    practice, no source: they compare, they do not promise. Arrays broadcast. Raises InputError
    for another class and out of range.

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


def synchronous_speed(frequency, poles):
    """Angular speed of the field [rad/s] at ``frequency`` [Hz]: 1200 rpm of six poles at 60 Hz.

    >>> round(float(synchronous_speed(60.0, 6)) * 30 / np.pi)
    1200
    """
    return 4 * np.pi * np.asarray(frequency) / poles


class SingleWinding(NamedTuple):
    """``current`` [A] (magnitude), ``power_factor``, ``power_in`` and ``power_out`` [W],
    ``torque`` [N m], ``speed_rpm``."""

    current: float
    power_factor: float
    power_in: float
    power_out: float
    torque: float
    speed_rpm: float


def single_winding(
    voltage, frequency, poles, slip, R1, X1, R2, X2, Xm, core_loss=0.0, friction_loss=0.0
) -> SingleWinding:
    """A motor that runs on its main winding alone.

    ``voltage`` [V], ``frequency`` [Hz], impedances [ohm] at that frequency, losses [W], both
    taken from the developed power. Arrays broadcast. Raises InputError out of range.
    Source: Fitzgerald, Kingsley, Umans, Electric Machinery, section 9.3.

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
    standing = speed == 0  # both fields pull alike there, and nothing turns
    torque = np.where(standing, 0.0, power_out / np.where(standing, 1.0, speed))
    power_in = voltage * current.real
    power_factor = current.real / np.abs(current)
    return SingleWinding(
        np.abs(current), power_factor, power_in, power_out, torque[()], speed * 30 / np.pi
    )


class Solution(NamedTuple):
    """Steady state of a capacitor-run motor.

    Currents [A] and ``voltage_capacitor`` [V] are complex phasors with the line voltage as
    reference, ``current_main`` the one that magnetizes together with all of its turns;
    ``torque`` [N m] is at the shaft; powers and the five losses [W] balance:
    power_in = power_out + sum of the losses. ``emf`` [V] is the air-gap voltage of the main
    winding, both fields together (root of the sum of squares).
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
        """All losses together [W]."""
        return (
            self.loss_main + self.loss_aux + self.loss_rotor + self.loss_core + self.loss_friction
        )


@dataclass(frozen=True)
class CapacitorRun:
    """A main and an auxiliary winding in quadrature, the auxiliary with a capacitor in series.

    R1, X1 of the main winding, R_aux, X_aux of the auxiliary as wound, R2, X2, Xm as seen by
    the main winding [ohm at ``frequency`` Hz]; ``turns_ratio`` auxiliary over main;
    ``capacitance`` [F]; ``core_conductance`` [S] across the line; ``friction`` [N m s per rad];
    ``saturation`` None for a straight magnetising line. ``reversed`` turns the auxiliary's
    polarity while slip keeps counting in the first direction. ``skin`` is the share by which the
    rotor's resistance grows at standstill, where its bars carry the line's frequency; it grows in
    proportion to that frequency, so nearly twice as much in the backward field of a running motor.
    ``tap`` is the share of the main winding's turns that feeds auxiliary and capacitor: 1 across
    the whole line, 0.5 from the middle, as where an ordinary capacitor serves on 460 V. Every value
    may be an array; they broadcast. Raises InputError out of range.
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
        """Shape to which the motor's values broadcast."""
        return np.broadcast_shapes(*(np.shape(x) for x in self._values().values()))

    def rearranged(self, rearrange) -> "CapacitorRun":
        """The same motors in other arrays: ``rearrange`` picks from, or reshapes, each of them."""
        return self._with({k: rearrange(x) for k, x in self._values().items()})

    def changed(self, **values) -> "CapacitorRun":
        """A copy with other ``values``, whose ranges are not checked again: for inner loops."""
        return self._with(self._values() | values)

    def at_level(self, emf) -> "CapacitorRun":
        """The motor with the straight magnetizing line that its iron has at ``emf`` [V]."""
        values = self._values()
        factor = self.saturation.factor(emf)
        for name in Saturation._fields:
            del values[name]
        return self._with(values | {"Xm": self.Xm / factor})

    def _values(self) -> dict:
        """Every array of the motor by name, the saturation's three among them."""
        saturation = self.saturation._asdict() if self.saturation else {}
        return {"reversed": self.reversed} | {k: getattr(self, k) for k in _ACCEPTED} | saturation

    def _with(self, values) -> "CapacitorRun":
        """A copy with arrays that are parts of ours, so there is nothing to check again."""
        copy = object.__new__(type(self))
        parts = {k: values.pop(k) for k in Saturation._fields if k in values}
        values["saturation"] = Saturation(**parts) if parts else None
        copy.__dict__.update(values)
        return copy

    def solve(self, voltage, frequency, slip) -> Solution:
        """Steady state at line ``voltage`` [V], ``frequency`` [Hz] and ``slip`` (1 = standstill).

        Arrays broadcast with the motor's own. Raises InputError out of range, ArithmeticError
        when saturation finds no balance, as when its rated voltage is far from the motor's own.

        An invented motor of 1/3 hp, on which three programs written apart agree:

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
        """``solve`` without the checks of range, for inner loops over arrays known to be good.

        An ``emf`` [V] of a state close by saves steps where the iron saturates.
        """
        if self.saturation is None:
            return self._linear(voltage, frequency, slip, 1.0)
        if emf is None:
            emf = self.saturation.emf_rated * frequency / self.frequency
        return self._saturated(voltage, frequency, slip, emf)

    def _saturated(self, voltage, frequency, slip, emf) -> Solution:
        """Find the air-gap voltage that its own magnetising current leaves over.

        In logarithms the mismatch is close to a straight line, which the secant rule crosses in
        some six steps. Near resonance with the capacitor it is not: so a bracket is kept, and a
        step that leaves it, and every eighth step, halves it instead. Of several balances, which
        iron and a large capacitor can have, it finds one.
        """
        flux_scale = self.frequency / frequency  # iron feels volts per hertz
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

    def _linear(self, voltage, frequency, slip, saturation_factor) -> Solution:
        """The closed form for a given magnetising reactance."""
        scale = frequency / self.frequency
        a = np.where(self.reversed, -self.turns_ratio, self.turns_ratio) / self.tap
        forward, backward = _field_impedances(
            self.R2, self.X2 * scale, self.Xm * scale / saturation_factor, slip, self.skin * scale
        )
        z_main = self.R1 + 1j * self.X1 * scale
        x_capacitor = 1 / (2 * np.pi * frequency * self.capacitance)
        # A tapped main winding is an autotransformer: the auxiliary as it would be across the
        # whole line. Its current in a part of the main winding costs R_tap there (Kirchhoff).
        R_tap = self.R1 * (1 - self.tap) / self.tap
        z_aux = (self.R_aux + 1j * (self.X_aux * scale - x_capacitor)) / self.tap**2 + R_tap

        own_main = z_main + forward + backward
        own_aux = z_aux + a**2 * (forward + backward)
        coupling = 1j * a * (forward - backward)
        determinant = own_main * own_aux + coupling**2
        current_main = voltage * (own_aux + coupling) / determinant
        from_line = voltage * (own_main - coupling) / determinant
        current_aux = from_line / self.tap

        turned = 1j * a * from_line
        gap_forward = _squared(current_main - turned) * forward.real
        gap_backward = _squared(current_main + turned) * backward.real
        emf = np.sqrt(
            _squared((current_main - turned) * forward)
            + _squared((current_main + turned) * backward)
        )
        synchronous = synchronous_speed(frequency, self.poles)
        speed = (1 - slip) * synchronous
        torque = (gap_forward - gap_backward) / synchronous - self.friction * speed
        current = current_main + from_line + self.core_conductance * voltage
        return Solution(
            current=current,
            current_main=current_main,
            current_aux=current_aux,
            voltage_capacitor=-1j * x_capacitor * current_aux,
            torque=torque,
            speed_rpm=speed * 30 / np.pi,
            power_in=voltage * current.real,
            power_out=torque * speed,
            loss_main=_squared(current_main) * self.R1 + _squared(from_line) * R_tap,
            loss_aux=_squared(current_aux) * self.R_aux,
            loss_rotor=slip * gap_forward + (2 - slip) * gap_backward,
            loss_core=self.core_conductance * voltage**2,
            loss_friction=self.friction * speed**2,
            emf=emf,
        )


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


def _squared(phasor):
    """|phasor|^2 without the square root that abs would take."""
    return phasor.real**2 + phasor.imag**2


def _field_impedances(R2, X2, Xm, slip, skin=0.0):
    """Half the rotor's impedance in the forward and in the backward field.

    Written with the rotor's admittance s/(R2 (1 + skin s) + j s X2), which is finite at s = 0.
    """
    along = skin * R2 + 1j * X2

    def half(s):
        return 0.5 / (-1j / Xm + s / (R2 + s * along))

    return half(slip), half(2 - np.asarray(slip))
