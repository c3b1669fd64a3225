"""Where a motor settles on its fan: motor torque equals fan torque.

A fan on a fixed system follows its laws exactly: torque goes with density and speed squared.
So the whole load is one coefficient, N m s^2 per rad^2.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import elementwise

from airover.limits import FREQUENCY, SHAFT_POWER, SPEED_RPM, VOLTAGE, Range, check
from airover.physics.circuit import CapacitorRun, Solution, synchronous_speed

FAN_COEFFICIENT = Range(1e-8, 10.0, "N m s^2")
# From standstill upwards, close together where a torque curve bends most.
SCAN = np.array([1.0, 0.8, 0.6, 0.45, 0.33, 0.24, 0.17, 0.12, 0.08, 0.04, 0.0])

# A bearing at rest holds back about this share of the fan's torque at synchronous speed
# (common practice, no source): less than that at standstill does not start.
BREAKAWAY = 0.02


def fan_coefficient(power, speed_rpm):
    """Coefficient k [N m s^2] of a fan that takes ``power`` [W] at ``speed_rpm``: P = k w^3.

    Arrays broadcast. Raises InputError out of range. Source: fan laws, any handbook.

    >>> round(float(fan_coefficient(248.5667, 1075.0) * (1075 * np.pi / 30) ** 2), 3)
    2.208
    """
    power = check("power", power, SHAFT_POWER)
    return power / (check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30) ** 3


class OperatingPoint(NamedTuple):
    """``slip`` and the motor's ``solution`` there; ``starts`` says whether it left standstill."""

    slip: float
    starts: bool
    solution: Solution


def settle(circuit: CapacitorRun, voltage, frequency, coefficient) -> OperatingPoint:
    """The first stable speed from standstill upwards, for every case at once.

    ``voltage`` [V], ``frequency`` [Hz], ``coefficient`` [N m s^2] and the motor's own values
    broadcast. A motor whose torque at standstill cannot break its bearings away stays there: slip 1
    and ``starts`` False. One that hangs below its breakdown torque is shown at that low speed.
    Raises InputError out of range.
    """
    voltage = check("voltage", voltage, VOLTAGE)
    frequency = check("frequency", frequency, FREQUENCY)
    coefficient = check("coefficient", coefficient, FAN_COEFFICIENT)

    shape = np.broadcast_shapes(voltage.shape, frequency.shape, coefficient.shape, circuit.shape)

    def flat(value):
        return np.broadcast_to(value, shape).ravel()

    case = _Cases(circuit.rearranged(flat), flat(voltage), flat(frequency), flat(coefficient))
    surplus = case.scanned()
    starts = surplus[0] > BREAKAWAY * case.coefficient * case.speed(0.0) ** 2
    # The first fall below zero is the bracket; at synchronous speed it has always come.
    below = np.argmax(surplus <= 0, axis=0)
    slip = np.ones(len(case.voltage))
    slip[starts] = case.picked(starts).settle_between(SCAN[below[starts]], SCAN[below[starts] - 1])
    solution = case.circuit.balance(case.voltage, case.frequency, slip)
    return OperatingPoint(
        slip.reshape(shape), starts.reshape(shape), Solution(*(x.reshape(shape) for x in solution))
    )


def resettle(circuit: CapacitorRun, voltage, frequency, coefficient, slip, emf):
    """One Newton step from a ``slip`` and ``emf`` [V] close to the balance of torques.

    For motors whose resistances move a little, as when they warm up: a few steps among the
    other iterations cost far less than settling anew. Arrays of one shape; out of range is not
    checked here.
    """
    nudge = 1e-5

    def surplus(at):
        speed = (1 - at) * synchronous_speed(frequency, circuit.poles)
        return circuit.balance(voltage, frequency, at, emf).torque - coefficient * speed**2

    here = surplus(slip)
    slope = (surplus(slip + nudge) - here) / nudge
    step = here / np.where(slope == 0, 1.0, slope)
    return np.clip(slip - np.clip(step, -0.05, 0.05), 0.0, 1.0)


class _Cases(NamedTuple):
    """Motors and their loads as flat arrays of one length."""

    circuit: CapacitorRun
    voltage: np.ndarray
    frequency: np.ndarray
    coefficient: np.ndarray

    def picked(self, which) -> "_Cases":
        return _Cases(
            self.circuit.rearranged(lambda value: value[which]),
            self.voltage[which],
            self.frequency[which],
            self.coefficient[which],
        )

    def surplus(self, slip):
        """Motor torque less fan torque [N m]."""
        torque = self.circuit.balance(self.voltage, self.frequency, slip).torque
        return torque - self.coefficient * self.speed(slip) ** 2

    def scanned(self):
        """Surplus at every slip of the scan, each from the air-gap voltage of the one before."""
        surplus, emf = [], None
        for slip in SCAN:
            at = self.circuit.balance(self.voltage, self.frequency, slip, emf)
            surplus.append(at.torque - self.coefficient * self.speed(slip) ** 2)
            emf = at.emf
        return np.stack(surplus)

    def speed(self, slip):
        return (1 - slip) * synchronous_speed(self.frequency, self.circuit.poles)

    def settle_between(self, slip_low, slip_high):
        """Slip of the balance in each bracket (SciPy's Chandrupatla rule, case by case)."""
        found = elementwise.find_root(
            lambda slip, which: self.picked(which).surplus(slip),
            (slip_low, slip_high),
            args=(np.arange(len(self.voltage)),),
            tolerances={"xatol": 1e-10, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0},
        )
        if not np.all(found.success):
            raise ArithmeticError("no balance of motor and fan torque inside the bracket")
        return found.x
