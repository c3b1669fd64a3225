"""Random motors for the calibration test, by a recipe that shares nothing with the priors.

Every share is evenly likely between two ends, all our own judgement; what no maker would sell is
thrown away. The iron saturates in the form of ``physics.saturation`` with its knee at the rating.
"""

from dataclasses import dataclass, replace

import numpy as np

from airover.physics.circuit import CapacitorRun
from airover.physics.operating_point import fan_coefficient, settle
from airover.physics.saturation import Saturation

CAPACITORS = np.array([2, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 20, 25, 30]) * 1e-6
VOLTAGE, FREQUENCY, HORSEPOWER = 230.0, 60.0, 745.6999


@dataclass
class Truths:
    """Motors and what their plates say; arrays of shape (motors,)."""

    circuit: CapacitorRun
    power: np.ndarray
    speed_rpm: np.ndarray
    plate_current: np.ndarray
    plate_rpm: np.ndarray

    def amps(self, voltage):
        """Amps, motors x voltages [V], on each motor's rated cube-law fan."""
        column = self.circuit.rearranged(lambda value: value[:, None])
        fan = fan_coefficient(self.power, self.speed_rpm)[:, None]
        return np.abs(settle(column, np.atleast_1d(voltage), FREQUENCY, fan).solution.current)


def truths(number: int, seed: int) -> Truths:
    """``number`` sellable motors."""
    rng = np.random.default_rng(seed)
    size = 12 * number
    poles = rng.choice([6, 8], size, p=[0.65, 0.35])
    slip = np.where(poles == 6, rng.uniform(0.075, 0.125, size), rng.uniform(0.06, 0.105, size))
    power = HORSEPOWER * rng.choice([1 / 8, 1 / 6, 1 / 5, 1 / 4, 1 / 3, 1 / 2, 3 / 4], size)
    circuit = _circuits(rng, size, poles, slip, power)
    good = _sellable(circuit, slip)
    rated = circuit.solve(VOLTAGE, FREQUENCY, slip)
    circuit = _saturated(rng, size, circuit, rated.emf)
    keep = np.flatnonzero(good)[:number]
    assert len(keep) == number, f"the recipe gave {len(keep)} motors only"
    amps, rpm = np.abs(rated.current)[keep], rated.speed_rpm[keep]
    return Truths(
        circuit.rearranged(lambda value: np.broadcast_to(value, size)[keep]),
        power=rated.power_out[keep],
        speed_rpm=rpm,
        plate_current=np.where(amps < 1, np.round(amps, 2), np.round(amps, 1)),
        plate_rpm=np.round(rpm / 5) * 5,
    )


def _circuits(rng, size, poles, slip, power) -> CapacitorRun:
    def between(low, high):
        return rng.uniform(low, high, size)

    base = VOLTAGE**2 * between(0.45, 0.64) / power
    a, per_ohm, leakage = between(1.0, 1.6), between(0.09, 0.20), between(0.08, 0.18)
    wanted = 1 / (2 * np.pi * FREQUENCY * between(2.2, 3.4) * base)
    speed = (1 - slip) * 4 * np.pi * FREQUENCY / poles
    return CapacitorRun(
        poles=poles,
        frequency=FREQUENCY,
        R1=per_ohm * base,
        X1=leakage * base,
        R2=between(1.8, 2.9) * slip * base,
        X2=between(0.6, 1.4) * leakage * base,
        Xm=between(1.0, 1.7) * base,
        turns_ratio=a,
        R_aux=between(0.9, 1.5) * a**2 * per_ohm * base,
        X_aux=between(0.8, 1.2) * a**2 * leakage * base,
        capacitance=CAPACITORS[np.abs(np.log(wanted[:, None] / CAPACITORS)).argmin(axis=1)],
        core_conductance=between(0.05, 0.11) * power / VOLTAGE**2,
        friction=between(0.008, 0.025) * power / speed**2,
    )


def _saturated(rng, size, circuit, emf) -> CapacitorRun:
    """The same motors with iron that saturates, unchanged at their rating."""
    saturation = Saturation(rng.uniform(0.1, 0.4, size), rng.uniform(4.0, 8.0, size), emf)
    return replace(circuit, saturation=saturation)


def _sellable(circuit, slip):
    at = circuit.solve(VOLTAGE, FREQUENCY, slip)
    slips = np.linspace(0.12, 0.6, 9)[:, None]
    breakdown = circuit.solve(VOLTAGE, FREQUENCY, slips).torque.max(axis=0) / at.torque
    standing = circuit.solve(0.85 * VOLTAGE, FREQUENCY, 1.0).torque
    beyond = circuit.solve(VOLTAGE, FREQUENCY, 1.02 * slip).torque
    return (
        _between(at.power_out / at.power_in, 0.45, 0.69)
        & _between(at.power_in / (VOLTAGE * np.abs(at.current)), 0.83, 0.99)
        & _between(breakdown, 1.35, 2.4)
        & _between(np.abs(at.voltage_capacitor) / VOLTAGE, 1.2, 1.9)
        & (standing > 0.05 * at.torque)
        & (beyond > at.torque)
    )


def _between(value, low, high):
    return (low <= value) & (value <= high)
