"""What readings tell of motor, fan and faults: every fault's samples brought into line with them.

Within one cell of faults, logarithms of what meters show are nearly normal and go nearly in
straight lines with each other. So each cell is updated as a linear-normal model (the ensemble
Kalman update; Evensen 1994) and weighed by how likely it made the readings; the whole is a sum of
such models (Alspach and Sorenson 1972). Weighing and resampling the samples themselves would need
hundreds of thousands of them for six good readings.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws
from airover.verify.faults import FAULTS, HEALTHY
from airover.verify.readings import FEWEST_RUNNING, READINGS, Simulated

SCALED = {name for name, shown in READINGS.items() if shown.scaled}
SCALED |= {"power_shaft_w", "flow_m3s", "load_share", "capacitor_share"}


UPPER_POINT = 3.0902  # of a normal deviate, which one in 1000 exceeds


class MeterReading(NamedTuple):
    """A figure that was read: at which ``moment``, its ``name`` in READINGS, its ``value`` and the
    largest error of its meter, ``limit``, both SI, and the ``text`` as it was written."""

    moment: int
    name: str
    value: float
    limit: float
    text: str

    @property
    def deviation(self) -> float:
        """Standard deviation of the meter: evenly likely errors up to its limit (GUM, 4.3.7)."""
        return self.limit / np.sqrt(3.0)


@dataclass(frozen=True)
class Inferred:
    """A ``simulated`` brought into line with readings; ``chances`` (cells,) add up to 1.

    ``fit`` (cells,) is how far the readings lie from each cell, in squared deviations, and
    ``evidence`` (cells,) the logarithm of how likely it made the ``readings``, so many of them.
    """

    readings: int
    simulated: Simulated
    chances: np.ndarray
    evidence: np.ndarray
    fit: np.ndarray

    def chance(self, fault: str) -> float:
        """Of one fault, or of HEALTHY, by its key."""
        return float(sum(self.chances[self._of(fault)]))

    def by_fault(self) -> dict[str, float]:
        """All of them, "as expected" first."""
        return {key: self.chance(key) for key in (HEALTHY, *(one.key for one in FAULTS))}

    def against_expected(self, fault: str) -> float:
        """How many times likelier the readings are with the fault than without (Bayes factor)."""
        of = self._of(fault)
        prior = np.array([cell.prior for cell in self.simulated.cells])
        least = float(self.evidence[self._of(HEALTHY)][0])
        likelier = np.exp(np.clip(self.evidence[of] - least, -700, 700))
        return float(np.average(likelier, weights=prior[of]))

    def band(self, figure: str, moment: int = 0) -> Band:
        """Of one of ``simulated.figures`` or readings, over all faults by their chances."""
        values = {**self.simulated.readings, **self.simulated.figures}[figure][moment]
        return weighted_band(values, self.weights)

    @property
    def is_explained(self) -> bool:
        """False where the readings lie further from every likely cell than in 99.9 % of cases."""
        if not self.readings:
            return True
        return bool(np.min(self.fit[self.chances > 0.01]) <= farthest(self.readings))

    @property
    def weights(self) -> np.ndarray:
        """Of each sample, (cells, samples); they add up to 1."""
        runs = self.simulated.runs
        return self.chances[:, None] * runs / np.maximum(runs.sum(axis=1, keepdims=True), 1)

    def _of(self, fault: str) -> np.ndarray:
        return np.array([cell.fault == fault for cell in self.simulated.cells])


def farthest(number: int) -> float:
    """Squared distance beyond which one of 1000 sets of ``number`` good readings lies.

    The chi-squared's upper point after Wilson and Hilferty 1931: 3 % high for one reading, below
    2 % from three on.

    >>> round(farthest(6), 1)
    22.7
    """
    ninth = 2 / (9 * number)
    return float(number * (1 - ninth + UPPER_POINT * np.sqrt(ninth)) ** 3)


def weighted_band(values, weights) -> Band:
    """The 5, 50 and 95 % points of ``values`` that count with their ``weights``."""
    values, weights = np.ravel(values), np.ravel(weights)
    order = np.argsort(values)
    counted = np.cumsum(weights[order])
    at = np.interp((0.05, 0.5, 0.95), counted - weights[order] / 2, values[order])
    return Band(*map(float, at))


def inferred(before: Simulated, taken: tuple[MeterReading, ...], seed: int = 0) -> Inferred:
    """``before`` after the readings ``taken``; without any it stays as it was.

    A cell of faults in which the motor hardly ever runs counts for nothing.
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


def _worked_in(arrays: dict) -> dict:
    """Copies of the ``arrays``, those that are positive as logarithms; at rest they are none."""
    return {
        name: np.log(np.maximum(values, 1e-12)) if name in SCALED else np.array(values, float)
        for name, values in arrays.items()
    }


def _plain(name: str, values):
    return np.exp(values) if name in SCALED else values


def worked_value(one: MeterReading) -> tuple[float, float]:
    """Value and deviation of a reading as they are worked, in logarithms where scaled."""
    if one.name in SCALED:
        return float(np.log(one.value)), one.deviation / one.value
    return one.value, one.deviation


def _noise(taken, samples: int, seed: int) -> np.ndarray:
    """Errors of the meters, (readings, samples), as they are worked."""
    names = [str(number) for number in range(len(taken))]
    z = normal_draws(np.random.default_rng([seed, 10]), names, samples)
    return np.stack([worked_value(one)[1] * z[name] for one, name in zip(taken, names)])


def _update(after: dict, before: Simulated, place: int, taken, noise) -> tuple[float, float]:
    """Shift the samples of one cell to the readings; returns evidence and squared distance."""
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
