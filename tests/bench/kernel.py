"""The compiled operating point beside its reference, SciPy's vectorised finder, and a loop."""

from dataclasses import replace

import numpy as np
from points import PLATE, looped, vectorised
from row import Row, timed

from airover.model.identify import from_nameplate
from airover.physics import compiled, operating_point

VOLTAGES = np.linspace(220.0, 250.0, 10)


def kernel(draws: int, sample: int, repeats: int) -> list[Row]:
    """Three peers, with the iron straight and saturated; one core for all. Compiled beforehand."""
    return _kernel(draws, sample, repeats, False) + _kernel(draws, sample, repeats, True)


def motor_of(draws: int, saturated: bool):
    """Circuits of one plate, each in a row of its own, and their fans' coefficients."""
    motor = from_nameplate(PLATE, draws)
    circuit = motor.rearranged(lambda value: value[:, None]).circuit
    circuit = circuit if saturated else replace(circuit, saturation=None)
    return circuit, motor.coefficient[:, None]


def _kernel(draws, sample, repeats, saturated):
    circuit, coefficient = motor_of(draws, saturated)
    case = circuit, VOLTAGES, 60.0, coefficient
    compiled.settle(*case)
    ours, points = timed(lambda: compiled.settle(*case), repeats)
    reference, also = timed(lambda: operating_point.settle(*case))
    vector, found = timed(lambda: vectorised(circuit, case[1], case[3]))
    loop, apart = looped(*case, points, sample)
    what = f"{points.slip.size} points compiled, {'saturated' if saturated else 'straight'}"

    def row(name, seconds, apart):
        return Row(what, ours, name, seconds, float(apart), 1e-6)

    return [
        row("the reference, operating_point.settle", reference, _apart(also.slip, points.slip)),
        row("elementwise.find_root, known bracket", vector, _apart(found, points.slip)),
        row(f"brentq per case; {sample} timed, scaled", loop, apart),
    ]


def _apart(slip, other):
    return np.max(np.abs(slip / other - 1))
