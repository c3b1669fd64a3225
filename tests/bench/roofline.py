"""The compiled kernel beside the most that one core of this machine can do.

The peer's time is that of the same number of operations at the rate of a large matrix product on
one core, which comes near a core's peak. A kernel that decides at each step and does one case
after the other cannot use the lanes of the vector unit; the line says how far that leaves it.
Operations are counted, not estimated: the kernel's own source is run once more by Python, with
numbers that count what is done to them (a product of complex numbers as six).
"""

import os
import subprocess
import sys

import numpy as np
from kernel import VOLTAGES, motor_of
from row import Row, timed

from airover.physics import compiled, kernels

MATRIX = 1024
PRODUCT = f"""
import time
import numpy as np

one = np.random.default_rng(0).random(({MATRIX}, {MATRIX}))
times = []
for _ in range(6):
    start = time.perf_counter()
    one @ one
    times.append(time.perf_counter() - start)
print(2 * {MATRIX}**3 / min(times))
"""


def rooflines(draws: int, sample: int, repeats: int) -> list[Row]:
    rate = float(_python({"OPENBLAS_NUM_THREADS": "1"}, "-c", PRODUCT))
    return [_row(draws, sample, repeats, saturated, rate) for saturated in (False, True)]


def _row(draws, sample, repeats, saturated, rate) -> Row:
    circuit, coefficient = motor_of(draws, saturated)
    case = circuit, VOLTAGES, 60.0, coefficient
    compiled.settle(*case)
    ours, points = timed(lambda: compiled.settle(*case), repeats)
    asked = (str(draws), str(sample), str(int(saturated)))
    told = _python({"NUMBA_DISABLE_JIT": "1"}, __file__, *asked)
    operations, slip = (float(word) for word in told.split())
    kind = "saturated" if saturated else "straight"
    apart = abs(slip / float(points.slip.flat[0]) - 1)
    name = f"{operations:.0f} operations each, at {rate / 1e9:.3g} thousand million a second"
    limit = operations * points.slip.size / rate
    return Row(f"{points.slip.size} points compiled, {kind}", ours, name, limit, apart, 1e-6)


def _python(settings, *arguments) -> str:
    env = {**os.environ, **settings}
    done = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=True, env=env
    )
    return done.stdout


class Counted:
    """A real or complex number that counts the operations on real numbers done to it."""

    done = 0

    def __init__(self, value):
        self.value = value

    def _with(self, other, result, real, mixed, both):
        value = other.value if isinstance(other, Counted) else other
        parts = isinstance(self.value, complex) + isinstance(value, complex)
        Counted.done += (real, mixed, both)[parts]
        return Counted(result(self.value, value))

    def __add__(self, other):
        return self._with(other, lambda a, b: a + b, 1, 1, 2)

    def __sub__(self, other):
        return self._with(other, lambda a, b: a - b, 1, 1, 2)

    def __rsub__(self, other):
        return self._with(other, lambda a, b: b - a, 1, 1, 2)

    def __mul__(self, other):
        return self._with(other, lambda a, b: a * b, 1, 2, 6)

    def __truediv__(self, other):
        return self._with(other, lambda a, b: a / b, 1, 2, 11)

    def __rtruediv__(self, other):
        return self._with(other, lambda a, b: b / a, 1, 2, 11)

    def __pow__(self, other):
        return self._with(other, lambda a, b: a**b, 1, 6, 6)

    __radd__, __rmul__ = __add__, __mul__

    def __neg__(self):
        return Counted(-self.value)

    def __abs__(self):
        return Counted(abs(self.value))

    def __float__(self):
        Counted.done += 1  # for the exponential or logarithm that asks
        return float(self.value)

    def __lt__(self, other):
        return self.value < _plain(other)

    def __le__(self, other):
        return self.value <= _plain(other)

    def __gt__(self, other):
        return self.value > _plain(other)

    def __ge__(self, other):
        return self.value >= _plain(other)

    def __eq__(self, other):
        return self.value == _plain(other)

    __hash__ = None

    @property
    def real(self):
        return Counted(self.value.real)

    @property
    def imag(self):
        return Counted(self.value.imag)


def _plain(number):
    return number.value if isinstance(number, Counted) else number


def _count(draws: int, sample: int, saturated: bool) -> tuple[float, float]:
    """Mean operations of a point over the first ``sample`` draws, and the first one's slip."""
    kernels.complex = lambda real, imag: Counted(complex(_plain(real), _plain(imag)))
    circuit, coefficient = motor_of(draws, saturated)
    share, exponent, emf_rated = circuit.saturation or (0.0, 1.0, 1.0)
    values = [VOLTAGES, 60.0, coefficient]
    values += [getattr(circuit, name) for name in compiled.VALUES]
    values += [circuit.reversed, share, exponent, emf_rated]
    table = np.broadcast_arrays(*values)
    slips = []
    for at in np.ndindex(sample, VOLTAGES.size):
        case = [Counted(column[at].item()) for column in table]
        case[-4] = case[-4].value  # whether the auxiliary winding is reversed
        motor = kernels._case(*case)
        slips.append(_plain(kernels._settled(motor, compiled.SCAN, compiled.RULES)[0]))
    return Counted.done / len(slips), slips[0]


if __name__ == "__main__":
    print(*_count(*map(int, sys.argv[1:])))
