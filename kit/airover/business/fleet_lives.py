"""Estimate the expected failures per year of the best motor for each unit in a fleet.

The aging of windings and capacitors is calculated with Miner's rule at five outdoor temperatures in
an example year. The bearing life is the observed life of similar motors and is the same at every
site. Each part is assumed to be replaced when it fails, independently of the other parts, so the
number of failures is slightly too high. Each sample of the aging laws applies to all units in the
fleet, so the range does not get narrower as the number of units increases.
"""

from functools import cache
from math import gamma
from typing import NamedTuple

import numpy as np

from airover.business.costs import (
    ASSUMED_HOURS,
    CAPACITOR_CLASSES,
    CAPACITOR_EXPONENT,
    CAPACITOR_HALVING,
    CAPACITOR_OVER_OUTDOOR,
    CAPACITOR_VOLTAGES,
    LIFE,
    PARTS,
    SHAPES,
    SURVIVORS,
    completed,
    life_at,
    service,
    weibull_scale,
)
from airover.core.intervals import Band, normal_draws, uniform
from airover.model.aging import LONGEST, STEPS, life_hours
from airover.model.climate import TEMP_BALANCE, Season
from airover.physics import circuit
from airover.physics.insulation import temperature_index
from airover.records.company import CostBasis
from airover.selection.screening import ScreenedUnits, Surfaces
from airover.selection.screening_kernel import winding_temperatures

YEARS = 15
HORIZON = 10  # years, for the failures of one unit
DESIGNS = np.arange(TEMP_BALANCE + 2, 60.1, 0.5)  # degC, design temperatures
USUAL_TEMP = 80.0  # degC, at which the aging law of a winding is calculated, and at twice of it
HOTTEST_AVERAGE = 250.0  # degC; a hotter winding lasts less than a day
CAPACITOR_SAMPLED = ("over", "class", "exponent", "halving")
SERVICE = service(completed(CostBasis(), "USD"))  # years, observed life of similar motors
SCALES = np.geomspace(LIFE.low, 1000.0, 600)  # years
STEP, END = 0.01, 6.0  # step and end of the table of renewals, in units of the Weibull scale


class Weather(NamedTuple):
    """Running hours by outdoor temperature and design temperature.

    Attributes
    ----------
    temps_outdoor : ndarray
        Outdoor temperatures [degC], shape (temperatures,).
    hours : ndarray
        Running hours [h/year], shape (designs, temperatures).
    designs : ndarray
        Design temperatures [degC], shape (designs,).
    usual : float
        Design temperature [degC] assumed for a unit that does not have one.
    """

    temps_outdoor: np.ndarray
    hours: np.ndarray
    designs: np.ndarray
    usual: float

    @classmethod
    def of(cls, year) -> "Weather":
        seasons = [Season.of(year, design) for design in DESIGNS]
        outdoor = seasons[0].temp_outdoor
        grid = np.linspace(outdoor[0], outdoor[-1], STEPS)
        hats = np.array([np.interp(outdoor, grid, hat) for hat in np.eye(STEPS)])
        hours = np.array([hats @ season.hours for season in seasons])
        return cls(grid, hours, DESIGNS, float(year.exceeded()))

    def hours_of(self, temp_design):
        """Return the running hours per year of units, shape (units, temperatures)."""
        design = np.where(np.isnan(temp_design), self.usual, temp_design)
        columns = [np.interp(design, self.designs, column) for column in self.hours.T]
        return np.stack(columns, axis=1)


class Ages(NamedTuple):
    """Part lives for each unit.

    Attributes
    ----------
    scale : ndarray
        Weibull scales [years], shape (units, parts, samples), or NaN for a unit that no motor fits.
    """

    scale: np.ndarray

    def within(self, years: float) -> np.ndarray:
        """Return the expected number of failures within ``years``, shape (units, samples)."""
        return sum(renewals(years / self.scale[:, at], SHAPES[p]) for at, p in enumerate(PARTS))

    def counted(self) -> np.ndarray:
        """Return the number of lives in each bin of SCALES, shape (parts, samples, scales).

        The numbers can be summed over a fleet.
        """
        logs, step = np.log(SCALES), np.log(SCALES[1] / SCALES[0])
        known = self.scale[~np.isnan(self.scale[:, 0, 0])]
        at = (np.log(np.clip(known, SCALES[0], SCALES[-1])) - logs[0]) / step
        low = np.minimum(at.astype(int), len(SCALES) - 2)
        weight, shape = (at - low).ravel(), known.shape[1:]
        # every part and sample has its own bins
        place = (low + len(SCALES) * np.arange(np.prod(shape)).reshape(shape)).ravel()
        bins = np.prod(shape) * len(SCALES)
        out = np.bincount(place, 1 - weight, minlength=bins)
        out += np.bincount(place + 1, weight, minlength=bins)
        return out.reshape(*shape, len(SCALES))


def failures(counted) -> np.ndarray:
    """Return the failures in each year from ``Ages.counted``, shape (parts, years, samples)."""
    ends = np.arange(YEARS + 1)
    within = [renewals(ends[:, None] / SCALES, SHAPES[part]) for part in PARTS]
    return np.stack([np.diff(m, axis=0) @ c.T for m, c in zip(within, counted, strict=True)])


def by_year(expected) -> list[dict]:
    """Return ``expected`` failures, shape (parts, years, samples), as bands by part and overall."""
    found = []
    for year, samples in enumerate(np.moveaxis(np.asarray(expected), 1, 0), 1):
        parts = {part: _band(one) for part, one in zip(PARTS, samples, strict=True)}
        found.append({"year": year, **parts, "all": _band(samples.sum(axis=0))})
    return found


def renewals(time, shape: float):
    """Return the expected number of failures within ``time`` for a part replaced at each failure.

    The time is in units of the Weibull scale. The function solves the renewal equation of a Weibull
    distribution with ``shape`` in steps of 0.01 times the scale. Beyond six times the scale, it
    uses the asymptote t/m + (s^2/m^2 - 1)/2 with the mean m and the standard deviation s.
    """
    table = _renewal_table(shape)
    mean = gamma(1 + 1 / shape)
    ahead = (gamma(1 + 2 / shape) / mean**2 - 2) / 2
    time = np.asarray(time, dtype=float)
    near = np.interp(time, np.arange(len(table)) * STEP, table)
    return np.where(time > END, time / mean + ahead, near)


@cache
def _renewal_table(shape: float) -> np.ndarray:
    """Return M(t) = F(t) + integral of M(t - x) dF(x) by the trapezoidal rule in F."""
    share = 1 - np.exp(-((np.arange(0, END + STEP / 2, STEP)) ** shape))
    steps = np.diff(share)
    found = np.zeros_like(share)
    for at in range(1, len(share)):
        before = found[at - 1 :: -1][:at]  # M at t - x for x one step later, down to 0
        known = share[at] + steps[1:at] @ (before[: at - 1] + before[1:at]) / 2
        known += steps[0] * before[0] / 2
        found[at] = known / (1 - steps[0] / 2)
    return found


def ages(
    surfaces: Surfaces,
    units: ScreenedUnits,
    motors,
    best,
    capacitor_v,
    temp_design,
    weather: Weather,
) -> Ages:
    """Return the part lives of the ``best`` motor of each unit.

    Parameters
    ----------
    best
        Motor index, or -1 if there is none.
    capacitor_v
        Voltage across the capacitor [V].
    temp_design
        Design temperature of each unit [degC], or NaN.
    """
    best = np.asarray(best)
    hours = weather.hours_of(temp_design)
    samples = units.coefficient.shape[1]
    z = normal_draws(np.random.default_rng([0, 11]), PARTS, samples)
    years = {
        "winding": _winding_years(surfaces, units, motors, best, hours, weather, z["winding"]),
        "capacitor": _capacitor_years(motors, best, capacitor_v, hours, weather, z["capacitor"]),
        "bearing": np.broadcast_to(life_at(SERVICE, z["bearing"]), (len(best), samples)),
    }
    kinds = {"winding": "winding", "bearing": "winding", "capacitor": "capacitor"}
    scale = np.stack(
        [
            weibull_scale(
                np.clip(years[part], LIFE.low, LONGEST), SURVIVORS[kinds[part]], SHAPES[part]
            )
            for part in PARTS
        ],
        axis=1,
    )
    scale[best < 0] = np.nan
    return Ages(scale)


def _winding_years(surfaces, units, motors, best, hours, weather, z):
    indices = np.array([_index(motor) for motor in motors])
    index = indices[best]
    known = (best >= 0) & ~np.isnan(index)
    temps = winding_temperatures(surfaces, units, np.where(known, best, -1), weather.temps_outdoor)
    temps[~known] = USUAL_TEMP
    classes = np.unique(indices[~np.isnan(indices)])
    log_life, slope = _aging_law(classes, len(z))
    log_life = log_life[np.searchsorted(classes, np.where(known, index, classes[0]))]
    np.minimum(temps, HOTTEST_AVERAGE, out=temps)
    aging = np.exp(-(log_life[:, None] + slope * (temps - USUAL_TEMP)))  # per hour
    worked = np.einsum("ut,utd->ud", hours, aging)
    return _years(hours, worked, known, life_at(ASSUMED_HOURS["winding"], z))


def _aging_law(classes, samples: int):
    """Return ln(life in h) at USUAL_TEMP, shape (classes, samples), and its slope [1/K].

    The logarithm of the life is a linear function of the temperature, so two temperatures give all
    others. The result has single precision, which is sufficient and four times as fast.
    """
    temps = np.broadcast_to([[USUAL_TEMP], [2 * USUAL_TEMP]], (2, samples))
    law = np.log([life_hours(temps, index) for index in classes])
    slope = (law[0, 1] - law[0, 0]) / USUAL_TEMP
    return law[:, 0].astype(np.float32), slope.astype(np.float32)


def _capacitor_years(motors, best, voltage, hours, weather, z):
    rated = np.array([motor.capacitor_voltage or np.nan for motor in motors])[best]
    known = (best >= 0) & ~np.isnan(rated)
    rated, voltage = np.where(known, rated, 370.0), np.where(known, voltage, 370.0)
    place = np.searchsorted(CAPACITOR_VOLTAGES, voltage / circuit.OVERVOLTAGE)
    shop = np.append(CAPACITOR_VOLTAGES, -np.inf)[place]  # keep the rating if it is above all sizes
    reserve = np.log(np.maximum(rated, shop) / voltage)
    own = normal_draws(np.random.default_rng([0, 7]), CAPACITOR_SAMPLED, len(z))
    temp = weather.temps_outdoor[:, None] + uniform(CAPACITOR_OVER_OUTDOOR, own["over"])
    classes = np.log([circuit.LIFE_CLASSES[letter] for letter in CAPACITOR_CLASSES])
    share = np.exp(uniform(classes, own["class"])) / circuit.LIFE_CLASSES["B"]
    exponent, halving = (
        uniform(ends, own[name])
        for name, ends in (("exponent", CAPACITOR_EXPONENT), ("halving", CAPACITOR_HALVING))
    )
    at_rating = circuit.life(370.0, temp, 370.0, exponent=exponent, halving_interval=halving)
    worked = hours @ (1 / (share * at_rating)) / np.exp(exponent * reserve[:, None])
    return _years(hours, worked, known, life_at(ASSUMED_HOURS["capacitor"], z))


def _years(hours, worked, known, assumed_hours):
    """Return the lives [years], shape (units, samples).

    Assumed hours are used if the life is unknown.

    Parameters
    ----------
    worked
        Fraction of the life that is used up in a year (Miner's rule).
    """
    return np.where(known[:, None], 1 / worked, assumed_hours / hours.sum(axis=1)[:, None])


def _index(motor) -> float:
    """Return the insulation class temperature [degC] of a motor, or NaN if unknown."""
    if motor.insulation_class is None:
        return np.nan
    return float(temperature_index(motor.insulation_class))


def _band(samples) -> dict[str, float]:
    ends = zip(Band._fields, Band.of(samples), strict=True)
    return {name: float(f"{end:.6g}") for name, end in ends}
