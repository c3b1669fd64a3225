"""From a nameplate to circuits: ours for all draws at once, least squares for one after another."""

import math

import numpy as np
from row import Row, timed
from scalar import Motor
from scipy.optimize import least_squares

from airover.model import identify


def identified(plate: dict, draws: int, sample: int, repeats: int) -> Row:
    """Ours proposes four times as many circuits, solves and weighs them; the peer solves only
    those that were taken, on the same two residuals: current and power at the rated slip."""
    ours, found = timed(lambda: identify.from_nameplate(plate, draws), repeats)
    stated = found.at_rating()
    places = np.random.default_rng(1).choice(draws, sample, replace=False)

    def loop():
        return [_solved(found, stated, place) for place in places]

    seconds, pairs = timed(loop)
    circuit = found.circuit
    reactance = circuit.Xm / circuit.saturation.factor(stated.emf)  # as saturated as at the rating
    wanted = np.stack([circuit.R2, reactance], axis=-1)[places]
    apart = float(np.max(np.abs(np.array(pairs) / wanted - 1)))
    name = f"least_squares per draw; {sample} timed, scaled"
    return Row(f"nameplate to {draws} circuits", ours, name, seconds * draws / sample, apart, 1e-5)


def _solved(found, stated, place):
    """Rotor resistance and magnetising reactance [ohm] of one draw."""
    motor = Motor(found.circuit, found.power.shape, place)
    voltage, frequency = float(found.voltage[place]), motor.frequency
    current, power = float(abs(stated.current[place])), float(found.power[place])
    slip = 1 - float(found.speed_rpm[place]) * motor.poles / (120 * frequency)

    def residuals(logarithms):
        motor.R2, motor.Xm = map(math.exp, logarithms)
        at = motor.unsaturated(voltage, frequency, slip)
        return math.log(abs(at.current) / current), math.log(max(at.power_out / power, 1e-3))

    base = voltage / current
    start = identify.R2_PER_SLIP.centre * slip * base, identify.XM.centre * base
    # SciPy's fastest method here: MINPACK's Levenberg-Marquardt
    return np.exp(least_squares(residuals, np.log(start), method="lm", xtol=1e-10).x)
