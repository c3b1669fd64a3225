"""Operating point of a motor on its fan: motor torque equals fan torque.

A fan on a fixed system follows its laws exactly: torque goes with density and speed squared, so the
whole load is one coefficient [N m s2]. `settle` returns the first stable crossing from standstill.
It looks at eleven slips, so it may miss a dip of torque that would hold a motor back: 3 of 240,000
usual circuits and loads, 51 of 240,000 very unusual ones. `crossings` looks at 400 slips.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq, elementwise

from airover.core.errors import (
    FREQUENCY,
    SHAFT_POWER,
    SPEED_RPM,
    VOLTAGE,
    InputError,
    Range,
    array_of,
    check,
)
from airover.core.message import Message
from airover.physics.circuit import CapacitorRun, Solution, synchronous_speed

FAN_COEFFICIENT = Range(1e-8, 10.0, "N m s^2")
# From standstill upwards, close together where a torque curve bends most.
SCAN = np.array([1.0, 0.8, 0.6, 0.45, 0.33, 0.24, 0.17, 0.12, 0.08, 0.04, 0.0])
FINE_SCAN = np.linspace(1.0, 0.0, 401)  # the slips of SCAN are among these
NUDGE = 1e-5  # of slip, for slopes

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


class MotorPoint(NamedTuple):
    """``slip`` and the motor's ``solution`` there, and two truths about it.

    ``starts``: it left standstill. ``runs``: it came up to its working range. More slip means more
    torque there, and nowhere on the way to synchronous speed is there more; so a motor that hangs
    below its breakdown speed, or on the slow side of a dip, starts but does not run.
    """

    slip: float
    starts: bool
    runs: bool
    solution: Solution


def settle(circuit: CapacitorRun, voltage, frequency, coefficient) -> MotorPoint:
    """The first stable speed from standstill upwards, for every case at once.

    ``voltage`` [V], ``frequency`` [Hz], ``coefficient`` [N m s^2] and the motor's own values
    broadcast. A motor whose torque at standstill cannot break its bearings away stays there: slip 1
    and ``starts`` False. One that hangs below its breakdown torque is shown at that low speed.
    Eleven slips are evaluated: of two balances between the same two, `crossings` sees more.
    Raises InputError out of range.
    """
    voltage = check("voltage", voltage, VOLTAGE)
    frequency = check("frequency", frequency, FREQUENCY)
    coefficient = check("coefficient", coefficient, FAN_COEFFICIENT)

    shape = np.broadcast_shapes(voltage.shape, frequency.shape, coefficient.shape, circuit.shape)

    def flat(value):
        return np.broadcast_to(value, shape).ravel()

    case = _Cases(circuit.rearranged(flat), flat(voltage), flat(frequency), flat(coefficient))
    torque, emf = case.scanned()
    surplus = torque - case.load(SCAN[:, None])
    starts = surplus[0] > BREAKAWAY * case.load(0.0)
    # The first fall below zero is the bracket; at synchronous speed it has always come.
    below = np.where(starts, np.argmax(surplus <= 0, axis=0), 0)
    emf = emf[below, np.arange(below.size)]
    slip = np.ones(below.size)
    slip[starts] = case.picked(starts).settle_between(
        SCAN[below[starts]], SCAN[below[starts] - 1], emf[starts]
    )
    solution = case.circuit.balance(case.voltage, case.frequency, slip, emf)
    runs = starts & case.in_working_range(slip, solution, torque)
    solution = Solution(*(x.reshape(shape) for x in solution))
    return MotorPoint(slip.reshape(shape), starts.reshape(shape), runs.reshape(shape), solution)


class Crossing(NamedTuple):
    """A speed at which motor and fan torque [N m] are equal.

    ``stable``: a little slower the motor is the stronger, a little faster the fan is.
    """

    slip: float
    speed_rpm: float
    torque: float
    stable: bool


def crossings(circuit: CapacitorRun, voltage, frequency, coefficient) -> tuple[Crossing, ...]:
    """Every balance of one motor with one fan, from standstill to synchronous speed.

    ``voltage`` [V], ``frequency`` [Hz], ``coefficient`` [N m s^2] and the motor's values: one
    number each. Empty when the fan is the stronger all the way: the motor stalls. Two balances
    closer together than 1/400 of the synchronous speed are not seen. Raises InputError out of
    range, or for arrays.
    """
    voltage = check("voltage", voltage, VOLTAGE)
    frequency = check("frequency", frequency, FREQUENCY)
    coefficient = check("coefficient", coefficient, FAN_COEFFICIENT)
    shape = np.broadcast_shapes(voltage.shape, frequency.shape, coefficient.shape, circuit.shape)
    if shape:
        raise InputError("crossings", array_of(shape), Message("error.physics.one_case"))

    case = _Cases(circuit, voltage, frequency, coefficient)
    stronger = case.surplus(FINE_SCAN) > 0
    found = []
    for place in np.flatnonzero(stronger[:-1] != stronger[1:]):
        slip = brentq(case.surplus, FINE_SCAN[place + 1], FINE_SCAN[place], xtol=1e-12)
        at = circuit.balance(voltage, frequency, slip)
        found.append(Crossing(slip, float(at.speed_rpm), float(at.torque), bool(stronger[place])))
    return tuple(found)


def resettle(circuit: CapacitorRun, voltage, frequency, coefficient, slip, emf):
    """One Newton step from a ``slip`` and ``emf`` [V] close to the balance of torques.

    For motors whose resistances move a little, as when they warm up: a few steps among the
    other iterations cost far less than settling anew. ``voltage`` [V], ``frequency`` [Hz] and fan
    ``coefficient`` [N m s^2] as for `settle`, all of one shape; ranges are not checked here.
    """

    def surplus(at):
        speed = (1 - at) * synchronous_speed(frequency, circuit.poles)
        return circuit.balance(voltage, frequency, at, emf).torque - coefficient * speed**2

    here = surplus(slip)
    slope = (surplus(slip + NUDGE) - here) / NUDGE
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

    def load(self, slip):
        """Fan torque [N m]."""
        speed = (1 - slip) * synchronous_speed(self.frequency, self.circuit.poles)
        return self.coefficient * speed**2

    def surplus(self, slip, emf=None):
        """Motor torque less fan torque [N m]; an ``emf`` [V] of a slip close by saves steps."""
        at = self.circuit.balance(self.voltage, self.frequency, slip, emf)
        return at.torque - self.load(slip)

    def scanned(self):
        """Torque and air-gap voltage at every slip of the scan, each from the voltage before."""
        torque, emf = [], [None]
        for slip in SCAN:
            at = self.circuit.balance(self.voltage, self.frequency, slip, emf[-1])
            torque.append(at.torque)
            emf.append(at.emf)
        return np.stack(torque), np.stack(emf[1:])

    def settle_between(self, slip_low, slip_high, emf):
        """Slip of the balance in each bracket (SciPy's Chandrupatla rule, case by case)."""
        found = elementwise.find_root(
            lambda slip, which: self.picked(which).surplus(slip, emf[which]),
            (slip_low, slip_high),
            args=(np.arange(len(self.voltage)),),
            tolerances={"xatol": 1e-10, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0},
        )
        if not np.all(found.success):
            raise ArithmeticError("no balance of motor and fan torque inside the bracket")
        return found.x

    def in_working_range(self, slip, solution, scanned):
        """True if torque rises with slip here and none ``scanned`` at faster slips is greater."""
        nudged = self.circuit.balance(self.voltage, self.frequency, slip + NUDGE, solution.emf)
        faster = SCAN[:, None] < slip - NUDGE
        stronger = np.any(faster & (scanned > solution.torque), axis=0)
        return (nudged.torque > solution.torque) & ~stronger
