"""Update the motor, fan and faults from meter readings, and recommend the next reading.

Within one cell of the fault range, the logarithms of the readings are nearly normally distributed
and nearly linear functions of each other. Each cell is therefore updated as a linear-normal model
(the ensemble Kalman update; Evensen 1994) and weighted by its likelihood; the result is a sum of
normal models (Alspach and Sorenson 1972). Importance resampling would leave only about six of a
thousand samples after four readings. The readings are assumed to be independent for a given motor.
In reality, two readings taken with the same meter share its scale error.

The recommended next reading is the one expected to reduce the remaining uncertainty most.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band, normal_draws
from airover.core.message import Message, Quantity
from airover.service.cause import entropy
from airover.service.readings import FAULTS, FEWEST_RUNNING, HEALTHY, READINGS, Simulated

SCALED = {name for name, shown in READINGS.items() if shown.scaled}
SCALED |= {"power_shaft_w", "flow_m3s", "load_share", "capacitor_share"}


UPPER_POINT = 3.0902  # standard normal deviate with an exceedance probability of 1/1000


SETTLED = 0.3  # bits; the fault is considered known below this uncertainty
LEAST = 0.01  # bits; a reading below this value does not help to distinguish the faults
STEPS = 400
# Not recommended as a next reading because other readings are needed as well.
_LEFT_OUT = ("voltage",)
# Typical meter error limits in calculation units: fractions for logarithms, otherwise rpm and K.
_LIMITS = {
    "voltage": 0.02, "current": 0.03, "power": 0.035, "speed_rpm": 5.0, "capacitor_voltage": 0.015,
    "capacitor_current": 0.04, "entering_temperature": 1.5, "motor_air_temperature": 1.5,
    "leaving_temperature": 1.5, "shell_temperature": 5.0, "winding_temperature": 6.0,
}  # fmt: skip
PAIR = "capacitor"
_PAIRED = ("capacitor_voltage", "capacitor_current")


class MeterReading(NamedTuple):
    """Single meter reading.

    Attributes
    ----------
    moment : int
        Index of the moment at which the reading was taken.
    name : str
        Key of the quantity in READINGS.
    value : float
        Value of the reading [SI unit].
    limit : float
        Maximum meter error [SI unit].
    text : str
        Reading as typed.
    """

    moment: int
    name: str
    value: float
    limit: float
    text: str

    @property
    def deviation(self) -> float:
        """Standard deviation of the meter error, assumed uniform up to its limit (GUM, 4.3.7)."""
        return self.limit / np.sqrt(3.0)


@dataclass(frozen=True)
class Inferred:
    """Simulated motor updated from readings.

    Attributes
    ----------
    readings : int
        Number of readings used.
    simulated : Simulated
        Updated samples.
    chances : ndarray
        Probability of each cell, shape (cells,). The probabilities sum to 1.
    evidence : ndarray
        Log-likelihood of the readings for each cell, shape (cells,).
    fit : ndarray
        Squared distance of the readings from each cell, in standard deviations, shape (cells,).
    """

    readings: int
    simulated: Simulated
    chances: np.ndarray
    evidence: np.ndarray
    fit: np.ndarray

    def chance(self, fault: str) -> float:
        """Return the probability of a ``fault``, or of HEALTHY, given its key."""
        return float(sum(self.chances[self._of(fault)]))

    def by_fault(self) -> dict[str, float]:
        """Return the probability of each fault by its key, "as expected" first."""
        return {key: self.chance(key) for key in (HEALTHY, *(one.key for one in FAULTS))}

    def against_expected(self, fault: str) -> float:
        """Return the likelihood ratio (Bayes factor) of the readings with vs. without the fault."""
        of = self._of(fault)
        prior = np.array([cell.prior for cell in self.simulated.cells])
        least = float(self.evidence[self._of(HEALTHY)][0])
        likelier = np.exp(np.clip(self.evidence[of] - least, -700, 700))
        return float(np.average(likelier, weights=prior[of]))

    def band(self, figure: str, moment: int = 0) -> Band:
        """Return the 90 % range of a quantity, with each fault weighted by its probability."""
        values = {**self.simulated.readings, **self.simulated.figures}[figure][moment]
        return weighted_band(values, self.weights)

    @property
    def is_explained(self) -> bool:
        """True if the readings agree with a likely cell at a significance level of 0.1 %."""
        if not self.readings:
            return True
        return bool(np.min(self.fit[self.chances > 0.01]) <= farthest(self.readings))

    @property
    def weights(self) -> np.ndarray:
        """Weight of each sample, shape (cells, samples). The weights sum to 1."""
        runs = self.simulated.runs
        return self.chances[:, None] * runs / np.maximum(runs.sum(axis=1, keepdims=True), 1)

    def _of(self, fault: str) -> np.ndarray:
        return np.array([cell.fault == fault for cell in self.simulated.cells])


def farthest(number: int) -> float:
    """Return the squared distance exceeded by one in 1000 sets of ``number`` correct readings.

    The result is an upper percentage point of the chi-squared distribution, calculated with the
    Wilson-Hilferty approximation (1931). It is 3 % high for one reading and less than 2 % high for
    three or more readings.

    >>> round(farthest(6), 1)
    22.7
    """
    ninth = 2 / (9 * number)
    return float(number * (1 - ninth + UPPER_POINT * np.sqrt(ninth)) ** 3)


def weighted_band(values, weights) -> Band:
    """Return the weighted 5th, 50th and 95th percentiles of ``values``."""
    values, weights = np.ravel(values), np.ravel(weights)
    order = np.argsort(values)
    counted = np.cumsum(weights[order])
    at = np.interp((0.05, 0.5, 0.95), counted - weights[order] / 2, values[order])
    return Band(*map(float, at))


def inferred(before: Simulated, taken: tuple[MeterReading, ...], seed: int = 0) -> Inferred:
    """Return the simulated motor ``before`` updated from the readings ``taken``.

    A fault cell in which the motor almost never comes up to speed is assigned a probability of
    zero.
    """
    chances = np.array([cell.prior for cell in before.cells])
    chances = np.where(before.runs.sum(axis=1) < FEWEST_RUNNING, 0.0, chances)
    evidence, fit = np.zeros(len(chances)), np.zeros(len(chances))
    known = Inferred(0, before, chances / chances.sum(), evidence, fit)
    if not taken:
        return known
    noise = _noise(taken, before.runs.shape[1], seed)
    after = _worked_in({**before.readings, **before.figures})
    for place in np.flatnonzero(chances):
        evidence[place], fit[place] = _update(after, before, place, taken, noise)
    weight = np.where(chances > 0, evidence, -np.inf) + np.log(np.maximum(chances, 1e-300))
    chances = np.exp(weight - weight.max())
    written = {name: _plain(name, values) for name, values in after.items()}
    readings = {name: written[name] for name in before.readings}
    figures = {name: written[name] for name in before.figures}
    simulated = replace(before, readings=readings, figures=figures)
    return Inferred(len(taken), simulated, chances / chances.sum(), evidence, fit)


def worked_value(one: MeterReading) -> tuple[float, float]:
    """Return the value and the standard deviation of a reading in calculation units.

    Quantities in SCALED are converted to logarithms. All other quantities are in SI units.
    """
    if one.name in SCALED:
        return float(np.log(one.value)), one.deviation / one.value
    return one.value, one.deviation


class NextReading(NamedTuple):
    """Recommended reading.

    Attributes
    ----------
    name : str
        Name of the reading.
    bits : float
        Expected information about the fault [bit].
    share : float
        Expected fractional reduction in the variance of the shaft power.
    """

    name: str
    bits: float
    share: float

    @property
    def how(self) -> Message:
        """Instructions for taking the reading."""
        return Message(f"verify.how.{self.name}")

    def sentence(self, closed: bool) -> Message:
        """Recommend a reading to find the fault or, if ``closed`` is True, the shaft power."""
        share = Quantity(self.share, "share")
        if closed:
            return Message("verify.next.power", how=self.how, share=share)
        return Message("verify.next.fault", how=self.how)


def next_readings(known: Inferred, done=()) -> tuple[NextReading, ...]:
    """Return the recommended readings, except those named in ``done``, most useful first.

    As long as the fault is uncertain (`open_bits`), the most useful readings are those that
    distinguish the faults. After that, they are the readings that reduce the uncertainty in shaft
    power. The benefit is estimated from the updated samples. Each value is assumed to be normally
    distributed within a cell.
    """
    names = [name for name in READINGS if name not in (*done, *_LEFT_OUT)]
    if not set(_PAIRED) & set(done):
        names.append(PAIR)
    found = [_expected(known, name) for name in names]
    closed = open_bits(known) < SETTLED or all(one.bits < LEAST for one in found)
    return tuple(sorted(found, key=lambda one: (-one.share if closed else -one.bits, one.name)))


def open_bits(known: Inferred) -> float:
    """Return the uncertainty about the fault [bit], with "as expected" as one of the states."""
    return float(entropy(np.array(list(known.by_fault().values()))))


def _worked_in(arrays: dict) -> dict:
    """Return copies of ``arrays`` in calculation units, with scaled quantities as logarithms."""
    return {
        name: np.log(np.maximum(values, 1e-12)) if name in SCALED else np.array(values, float)
        for name, values in arrays.items()
    }


def _plain(name: str, values):
    return np.exp(values) if name in SCALED else values


def _noise(taken, samples: int, seed: int) -> np.ndarray:
    """Return random meter errors in calculation units, shape (readings, samples)."""
    names = [str(number) for number in range(len(taken))]
    z = normal_draws(np.random.default_rng([seed, 10]), names, samples)
    return np.stack([worked_value(one)[1] * z[name] for one, name in zip(taken, names)])


def _update(after: dict, before: Simulated, place: int, taken, noise) -> tuple[float, float]:
    """Shift the samples in a cell toward the readings; return evidence and squared distance."""
    runs = before.runs[place]
    shown = np.stack([after[one.name][one.moment, place, runs] for one in taken])
    value, deviation = np.array([worked_value(one) for one in taken]).T
    around = shown - shown.mean(axis=1, keepdims=True)
    count = around.shape[1]
    spread = around @ around.T / (count - 1) + np.diag(deviation**2)
    missing = value[:, None] - shown - noise[:, runs]
    gain = np.linalg.solve(spread, missing)
    off = value - shown.mean(axis=1)
    fit = float(off @ np.linalg.solve(spread, off))
    for values in after.values():
        part = values[:, place, runs]
        slope = (part - part.mean(axis=1, keepdims=True)) @ around.T / (count - 1)
        values[:, place, runs] = part + slope @ gain
    _, log_size = np.linalg.slogdet(spread)
    return -0.5 * (fit + log_size), fit


def _expected(known: Inferred, name: str) -> NextReading:
    values, limit = _simulated(known, name)
    deviation = limit / np.sqrt(3.0)
    return NextReading(name, _bits(known, values, deviation), _share(known, values, deviation))


def _simulated(known: Inferred, name: str):
    """Return the samples of a quantity, shape (cells, samples), and its meter limit."""
    readings = known.simulated.readings
    if name == PAIR:
        volts, amps = (np.log(np.maximum(readings[one][0], 1e-12)) for one in _PAIRED)
        return amps - volts, float(np.hypot(*(_LIMITS[one] for one in _PAIRED)))
    values = readings[name][0]
    return np.log(np.maximum(values, 1e-12)) if name in SCALED else values, _LIMITS[name]


def _bits(known: Inferred, values, deviation: float) -> float:
    """Return the mutual information between the fault and a quantity by numerical integration."""
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
    """Return the mean and standard deviation of a quantity in each cell, including meter error."""
    runs = known.simulated.runs
    count = np.maximum(runs.sum(axis=1), 1)
    centres = np.sum(np.where(runs, values, 0.0), axis=1) / count
    squares = np.sum(np.where(runs, (values - centres[:, None]) ** 2, 0.0), axis=1) / count
    return centres, np.sqrt(squares + deviation**2)


def _share(known: Inferred, values, deviation: float) -> float:
    """Return the fraction of the shaft power variance that is explained by a quantity."""
    weights, power = known.weights, known.simulated.figures["power_shaft_w"][0]
    used = weights > 0
    w, x, y = weights[used], power[used], values[used]
    x, y = x - np.sum(w * x), y - np.sum(w * y)
    variance = np.sum(w * x * x) * (np.sum(w * y * y) + deviation**2)
    return float(np.sum(w * x * y) ** 2 / variance) if variance > 0 else 0.0
