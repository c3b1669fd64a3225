"""What to read next: the figure that is expected to tell most of what is still open."""

from typing import NamedTuple

import numpy as np

from airover.bayes import entropy
from airover.message import Message, Quantity
from airover.verify.inferred import SCALED, Inferred
from airover.verify.readings import READINGS

SETTLED = 0.3  # bits between "as expected" and the faults, below which that question is closed
LEAST = 0.01  # bits, below which no further reading says anything of the faults
STEPS = 400
# With one reading more these say nothing new of the motor: they are read only to know others.
_LEFT_OUT = ("voltage",)
# Usual limits of error as they are worked: shares of what is scaled, else rpm and K.
_LIMITS = {
    "voltage": 0.02, "current": 0.03, "power": 0.035, "speed_rpm": 5.0, "capacitor_voltage": 0.015,
    "capacitor_current": 0.04, "entering_temperature": 1.5, "motor_air_temperature": 1.5,
    "leaving_temperature": 1.5, "shell_temperature": 5.0, "winding_temperature": 6.0,
}  # fmt: skip
PAIR = "capacitor"
_PAIRED = ("capacitor_voltage", "capacitor_current")


class NextReading(NamedTuple):
    """A reading worth taking: its ``name``, the ``bits`` that it is expected to tell about which
    fault it is, if any, and the ``share`` of the shaft power's variance that it is expected to
    take away."""

    name: str
    bits: float
    share: float

    @property
    def how(self) -> Message:
        """How it is read."""
        return Message(f"verify.how.{self.name}")

    def sentence(self, closed: bool) -> Message:
        """What it is expected to tell: of the faults, or once they are ``closed`` of the power."""
        share = Quantity(self.share, "share")
        if closed:
            return Message("verify.next.power", how=self.how, share=share)
        return Message("verify.next.fault", how=self.how, bits=round(self.bits, 2), share=share)


def next_readings(known: Inferred, done=()) -> tuple[NextReading, ...]:
    """Readings that were not ``done`` (names), the most useful first.

    Useful is what tells most about the faults while that is open (`open_bits`), then what narrows
    the shaft power most. Simulated from the updated samples: each cell's figure is normal.
    """
    names = [name for name in READINGS if name not in (*done, *_LEFT_OUT)]
    if not set(_PAIRED) & set(done):
        names.append(PAIR)
    found = [_expected(known, name) for name in names]
    closed = open_bits(known) < SETTLED or all(one.bits < LEAST for one in found)
    return tuple(sorted(found, key=lambda one: (-one.share if closed else -one.bits, one.name)))


def open_bits(known: Inferred) -> float:
    """Uncertainty [bit] about which fault it is, none among them."""
    return float(entropy(np.array(list(known.by_fault().values()))))


def _expected(known: Inferred, name: str) -> NextReading:
    values, limit = _simulated(known, name)
    deviation = limit / np.sqrt(3.0)
    return NextReading(name, _bits(known, values, deviation), _share(known, values, deviation))


def _simulated(known: Inferred, name: str):
    """The figure's samples as they are worked, (cells, samples), and the limit of its meter."""
    readings = known.simulated.readings
    if name == PAIR:
        volts, amps = (np.log(np.maximum(readings[one][0], 1e-12)) for one in _PAIRED)
        return amps - volts, float(np.hypot(*(_LIMITS[one] for one in _PAIRED)))
    values = readings[name][0]
    return np.log(np.maximum(values, 1e-12)) if name in SCALED else values, _LIMITS[name]


def _bits(known: Inferred, values, deviation: float) -> float:
    """Mutual information between the fault and the figure, by integration over the figure."""
    densities, chances = [], []
    centres, widths = _normals(known, values, deviation)
    counting = known.chances > 0
    low = np.min((centres - 6 * widths)[counting])
    high = np.max((centres + 6 * widths)[counting])
    x = np.linspace(low, high, STEPS)
    peaks = np.exp(-0.5 * ((x - centres[:, None]) / widths[:, None]) ** 2) / widths[:, None]
    for key, chance in known.by_fault().items():
        if chance > 0:
            of = np.array([cell.fault == key for cell in known.simulated.cells])
            densities.append(known.chances[of] @ peaks[of])
            chances.append(chance)
    joint = np.array(densities)
    joint = joint / joint.sum()
    after = joint / np.maximum(joint.sum(axis=0), 1e-300)
    left = float(np.sum(joint.sum(axis=0) * entropy(after.T)))
    return max(float(entropy(np.array(chances))) - left, 0.0)


def _normals(known: Inferred, values, deviation: float):
    """Middle and deviation of the figure in each cell, the meter's counted in."""
    runs = known.simulated.runs
    count = np.maximum(runs.sum(axis=1), 1)
    centres = np.sum(np.where(runs, values, 0.0), axis=1) / count
    squares = np.sum(np.where(runs, (values - centres[:, None]) ** 2, 0.0), axis=1) / count
    return centres, np.sqrt(squares + deviation**2)


def _share(known: Inferred, values, deviation: float) -> float:
    """First-order share of the shaft power's variance that the figure would explain."""
    weights, power = known.weights, known.simulated.figures["power_shaft_w"][0]
    used = weights > 0
    w, x, y = weights[used], power[used], values[used]
    x, y = x - np.sum(w * x), y - np.sum(w * y)
    variance = np.sum(w * x * x) * (np.sum(w * y * y) + deviation**2)
    return float(np.sum(w * x * y) ** 2 / variance) if variance > 0 else 0.0
