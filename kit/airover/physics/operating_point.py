"""Operating point of a motor with a fan, where motor torque equals fan torque.

A fan in a fixed system follows the fan laws exactly. Torque is proportional to density and to the
square of speed, so a single coefficient [N m s2] describes the load. `settle` returns the first
stable crossing from standstill. The function evaluates the torque at only eleven slips, so it may
miss a torque dip that prevents the motor from accelerating. A torque dip was missed for 3 of
240,000 combinations of typical circuits and loads, and for 51 of 240,000 very unusual combinations.
`crossings` divides the slip range into 400 steps.
"""

from typing import NamedTuple

import numpy as np

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
# From standstill to synchronous speed, closely spaced where torque curves bend the most.
SCAN = np.array([1.0, 0.8, 0.6, 0.45, 0.33, 0.24, 0.17, 0.12, 0.08, 0.04, 0.0])
FINE_SCAN = np.linspace(1.0, 0.0, 401)  # includes the slips in SCAN
NUDGE = 1e-5  # change in slip for numerical derivatives

# Bearing friction at rest, as a fraction of the fan torque at synchronous speed (common practice;
# no published source). A motor with less torque than this at standstill does not start.
BREAKAWAY = 0.02


def fan_coefficient(power, speed_rpm):
    """Return the load coefficient k [N m s^2] of a fan.

    The shaft power is P = k w^3, with angular speed w. The equation follows from the fan laws.
    Array arguments are broadcast against each other.

    Parameters
    ----------
    power : array_like
        Shaft power [W].
    speed_rpm : array_like
        Speed [rpm].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(fan_coefficient(248.5667, 1075.0) * (1075 * np.pi / 30) ** 2), 3)
    2.208
    """
    power = check("power", power, SHAFT_POWER)
    return power / (check("speed_rpm", speed_rpm, SPEED_RPM) * np.pi / 30) ** 3


class MotorPoint(NamedTuple):
    """Slip and steady state of a motor with its fan.

    In the running range, torque increases with slip, and there is no higher torque between this
    slip and synchronous speed. A motor that stays below its breakdown speed, or on the low-speed
    side of a torque dip, starts but does not run.

    Attributes
    ----------
    slip : float
        Slip.
    starts : bool
        True if the motor starts to turn.
    runs : bool
        True if the motor reaches its running range.
    solution : Solution
        Steady state at this slip.
    """

    slip: float
    starts: bool
    runs: bool
    solution: Solution


def settle(circuit: CapacitorRun, voltage, frequency, coefficient) -> MotorPoint:
    """Return the first stable operating point from standstill for every motor.

    The array arguments are broadcast against the motor's values. A motor that cannot overcome
    bearing friction at standstill remains at slip 1, and ``starts`` is False. If a motor stays
    below its breakdown speed, the function returns this low speed. The function evaluates the
    torque at eleven slips. Use `crossings` if two crossings may be close together.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuits of the motors.
    voltage
        Supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan coefficient [N m s^2].

    Raises
    ------
    InputError
        If a value is out of range.
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
    # The first sign change is the bracket. There is always a sign change before slip 0.
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
    """Speed at which motor torque equals fan torque.

    Attributes
    ----------
    slip : float
        Slip.
    speed_rpm : float
        Speed [rpm].
    torque : float
        Torque [N m].
    stable : bool
        True if motor torque exceeds fan torque just below this speed and is less than fan torque
        just above it.
    """

    slip: float
    speed_rpm: float
    torque: float
    stable: bool


def crossings(circuit: CapacitorRun, voltage, frequency, coefficient) -> tuple[Crossing, ...]:
    """Return all crossings of motor torque and fan torque, from standstill upward.

    All arguments, including the motor parameters, must be scalars. Returns an empty tuple if fan
    torque exceeds motor torque at all speeds, which means that the motor stalls. Two crossings less
    than 1/400 of synchronous speed apart are missed.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuit of the motor.
    voltage
        Supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan coefficient [N m s^2].

    Raises
    ------
    InputError
        If a value is out of range or is an array.
    """
    voltage = check("voltage", voltage, VOLTAGE)
    frequency = check("frequency", frequency, FREQUENCY)
    coefficient = check("coefficient", coefficient, FAN_COEFFICIENT)
    shape = np.broadcast_shapes(voltage.shape, frequency.shape, coefficient.shape, circuit.shape)
    if shape:
        raise InputError("crossings", array_of(shape), Message("error.physics.one_case"))

    from scipy.optimize import brentq  # takes long

    case = _Cases(circuit, voltage, frequency, coefficient)
    stronger = case.surplus(FINE_SCAN) > 0
    found = []
    for place in np.flatnonzero(stronger[:-1] != stronger[1:]):
        slip = brentq(case.surplus, FINE_SCAN[place + 1], FINE_SCAN[place], xtol=1e-12)
        at = circuit.balance(voltage, frequency, slip)
        found.append(Crossing(slip, float(at.speed_rpm), float(at.torque), bool(stronger[place])))
    return tuple(found)


def step(circuit: CapacitorRun, voltage, frequency, coefficient, slip, emf, moves):
    """Return the slip after one Newton step toward the torque balance, and the Solution.

    Use this function for motors whose resistances change slightly, for example while they warm up.
    A few of these steps within another iteration are much faster than a new call to `settle`.
    ``slip``, ``emf`` and ``moves`` have the same shape. Ranges are not checked.

    Parameters
    ----------
    circuit : CapacitorRun
        Equivalent circuits of the motors.
    voltage
        Supply voltage [V].
    frequency
        Supply frequency [Hz].
    coefficient
        Fan coefficient [N m s^2].
    slip
        Initial slip.
    emf
        Air-gap voltage [V].
    moves
        True to update the slip, False to keep it.
    """

    def surplus(at):
        speed = (1 - at) * synchronous_speed(frequency, circuit.poles)
        return circuit.balance(voltage, frequency, at, emf).torque - coefficient * speed**2

    here = surplus(slip)
    slope = (surplus(slip + NUDGE) - here) / NUDGE
    change = here / np.where(slope == 0, 1.0, slope)
    moved = np.clip(slip - np.clip(change, -0.05, 0.05), 0.0, 1.0)
    slip = np.where(moves, moved, slip)
    return slip, circuit.balance(voltage, frequency, slip, emf)


class _Cases(NamedTuple):
    """Motors and their loads as one-dimensional arrays of equal length."""

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
        """Return the fan torque [N m]."""
        speed = (1 - slip) * synchronous_speed(self.frequency, self.circuit.poles)
        return self.coefficient * speed**2

    def surplus(self, slip, emf=None):
        """Return the net torque [N m]. An ``emf`` [V] from a nearby slip saves iterations."""
        at = self.circuit.balance(self.voltage, self.frequency, slip, emf)
        return at.torque - self.load(slip)

    def scanned(self):
        """Return the torque and the air-gap voltage at each slip in the scan."""
        torque, emf = [], [None]
        for slip in SCAN:
            at = self.circuit.balance(self.voltage, self.frequency, slip, emf[-1])
            torque.append(at.torque)
            emf.append(at.emf)
        return np.stack(torque), np.stack(emf[1:])

    def settle_between(self, slip_low, slip_high, emf):
        """Return the slip at the crossing in each bracket, using Chandrupatla's method in SciPy."""
        from scipy.optimize import elementwise  # takes long

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
        """Return True if torque rises with slip and no lower slip has a higher torque."""
        nudged = self.circuit.balance(self.voltage, self.frequency, slip + NUDGE, solution.emf)
        faster = SCAN[:, None] < slip - NUDGE
        stronger = np.any(faster & (scanned > solution.torque), axis=0)
        return (nudged.torque > solution.torque) & ~stronger
