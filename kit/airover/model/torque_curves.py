"""Torque of a simulated motor and its fan against speed, for a plot."""

from typing import NamedTuple

import numpy as np

from airover.model.simulation import USUAL, MotorOnFan
from airover.physics import compiled

POINTS = 61  # speeds from standstill to synchronous speed


class TorqueCurves(NamedTuple):
    """Medians of the samples for a warm motor.

    Attributes
    ----------
    speed : ndarray
        Speed [rpm], shape (POINTS,).
    motor : ndarray
        Motor torque [N m] at each voltage, shape (voltages, POINTS).
    fan : ndarray
        Fan torque [N m], shape (POINTS,).
    settled : float
        Torque [N m] at the operating point at the usual voltage.
    """

    speed: np.ndarray
    motor: np.ndarray
    fan: np.ndarray
    settled: float


def torque_curves(simulation: MotorOnFan, row: int) -> TorqueCurves:
    """Return the torque curves of the motor in one ``row`` of the simulation."""
    frequency, poles = simulation.conditions.frequency, simulation.motors[row].poles
    synchronous = 120 * frequency / poles
    speed = np.linspace(0, synchronous, POINTS)
    slip, volts = 1 - speed / synchronous, simulation.conditions.voltage[:, None]
    warm = simulation.warm_circuit(USUAL, row)
    if compiled.AVAILABLE:
        torque = compiled.shaft_torques(warm, volts, frequency, slip)
    else:
        torque = warm.balance(volts[..., None], frequency, slip[:, None]).torque.swapaxes(1, 2)
    fan = np.median(simulation.conditions.coefficient) * (speed * np.pi / 30) ** 2
    settled = float(np.median(simulation.solution.torque[USUAL, row]))
    return TorqueCurves(speed, np.median(torque, axis=1), fan, settled)
