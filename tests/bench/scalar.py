"""The peer: the same motor in plain Python numbers, one case at a time, roots by SciPy's brentq.

Written from the equations and not from the kit's code, as somebody would who knows the model
and has not thought of arrays.
"""

import cmath
import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

SLIPS = (
    1.0,
    0.8,
    0.6,
    0.45,
    0.33,
    0.24,
    0.17,
    0.12,
    0.08,
    0.04,
    0.0,
)  # where to look for a bracket
VALUES = (
    "poles", "frequency", "R1", "X1", "R2", "X2", "Xm", "turns_ratio", "R_aux", "X_aux",
    "capacitance", "core_conductance", "friction", "skin", "tap",
)  # fmt: skip


@dataclass
class State:
    """Torque [N m], line current [A, complex], shaft power [W], air-gap voltage [V]."""

    torque: float
    current: complex
    power_out: float
    emf: float


class Motor:
    """One motor out of the arrays of an ensemble's ``circuit``."""

    def __init__(self, circuit, shape, place):
        def at(value):
            return float(np.broadcast_to(value, shape)[place])

        for name in VALUES:
            setattr(self, name, at(getattr(circuit, name)))
        self.saturation = circuit.saturation and tuple(map(at, circuit.saturation))

    def speed(self, frequency, slip):
        """Angular speed [rad/s]."""
        return (1 - slip) * 4 * math.pi * frequency / self.poles

    def unsaturated(self, voltage, frequency, slip, factor=1.0) -> State:
        """The mesh equations of both windings for a magnetising reactance Xm / factor.

        The auxiliary hangs on a tap of the main winding, or on all of it where ``tap`` is 1.
        """
        scale = frequency / self.frequency

        def field(s):
            bars = self.R2 * (1 + self.skin * scale * s)
            rotor = bars / s + 1j * self.X2 * scale if s else math.inf
            magnetising = 1j * self.Xm * scale / factor
            return 0.5 * (magnetising if s == 0 else magnetising * rotor / (magnetising + rotor))

        forward, backward = field(slip), field(2 - slip)
        a = self.turns_ratio / self.tap
        series = 1 / (2j * math.pi * frequency * self.capacitance)
        main = self.R1 + 1j * self.X1 * scale + forward + backward
        aux = (self.R_aux + 1j * self.X_aux * scale + series) / self.tap**2
        aux += self.R1 * (1 - self.tap) / self.tap + a * a * (forward + backward)
        mutual = 1j * a * (forward - backward)  # of the auxiliary's current in the main winding
        determinant = main * aux + mutual * mutual
        current_main = voltage * (aux + mutual) / determinant
        current_aux = voltage * (main - mutual) / determinant
        ahead, behind = (current_main - sign * 1j * a * current_aux for sign in (1, -1))
        gap = abs(ahead) ** 2 * forward.real - abs(behind) ** 2 * backward.real
        speed = self.speed(frequency, slip)
        torque = gap / self.speed(frequency, 0.0) - self.friction * speed
        current = current_main + current_aux + self.core_conductance * voltage
        emf = math.hypot(abs(ahead * forward), abs(behind * backward))
        return State(torque, current, torque * speed, emf)

    def at(self, voltage, frequency, slip) -> State:
        """The same with the iron as saturated as its own air-gap voltage makes it."""
        if not self.saturation:
            return self.unsaturated(voltage, frequency, slip)
        share, exponent, rated = self.saturation
        scale = self.frequency / frequency

        def state(log_emf):
            relative = cmath.exp(log_emf).real * scale / rated
            factor = 1 - share + share * relative**exponent
            return self.unsaturated(voltage, frequency, slip, factor)

        start = math.log(rated / scale)
        found = brentq(lambda x: math.log(state(x).emf) - x, start - 8, start + 3, xtol=1e-11)
        return state(found)

    def settled_slip(self, voltage, frequency, coefficient) -> float:
        """Slip of the first stable balance with a fan of torque coefficient x speed^2."""

        def surplus(slip):
            fan = coefficient * self.speed(frequency, slip) ** 2
            return self.at(voltage, frequency, slip).torque - fan

        before = SLIPS[0]
        for slip in SLIPS[1:]:
            if surplus(slip) <= 0:
                return brentq(surplus, slip, before, xtol=1e-10)
            before = slip
        raise ArithmeticError("no balance between standstill and synchronous speed")
