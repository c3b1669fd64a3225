"""TruckLoads of calls: what one truck may be asked for between two restockings, sampled many times.

How many calls come follows a negative binomial law fitted to the history, so heat waves are in it.
Needs are sampled by weights that know how short the history is: a gamma draw for each
need's rate, which is the Bayesian bootstrap (Rubin 1981, from memory). Needs that the history never
had are not in it. Of each need one of its samples is taken, as found at the unit.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy import stats

from airover.errors import InputError
from airover.limits import Range, check
from airover.matching.match import Matched
from airover.message import Message
from airover.records import CatalogueMotor
from airover.records.calls import Calls

CALLS = 1500  # sampled for one plan
BOX_ROOM = 0.05  # m of packing around a motor
USUAL_VOLUME = 0.012  # m3 of a box where the catalogue does not tell the body
MEAN = Range(0.0, 1e9, "")  # calls
# Beyond these a mistake of typing is likelier than a shop.
ACCEPTED = {
    "budget": Range(1.0, 1e7, ""),
    "space": Range(0.001, 100.0, "m3"),
    "trucks": Range(1, 1000, ""),
    "days": Range(0.5, 366.0, ""),
    "lead_days": Range(0.1, 1000.0, ""),
}


@dataclass(frozen=True)
class Terms:
    """Terms of a stock. Prices of parts are usual ones, no source.

    ``budget`` in the catalogue's currency and ``space`` [m3] of one truck; ``trucks``; working
    ``days`` between two restockings; ``lead_days`` of the counter's supplier and the ``service``
    level kept there; prices and volumes [m3] of a capacitor and of a belly band.
    """

    budget: float = 2500.0
    space: float = 0.35
    trucks: int = 4
    days: float = 7.0
    lead_days: float = 10.0
    service: float = 0.95
    capacitor_price: float = 12.0
    band_price: float = 9.0
    capacitor_volume: float = 0.0006
    band_volume: float = 0.0010

    def __post_init__(self):
        for name, accepted in ACCEPTED.items():
            if not accepted.low <= (value := getattr(self, name)) <= accepted.high:
                raise InputError(name, f"{value:g}", accepted, accepted.unit)
        if not 0 < self.service < 1:
            raise InputError("service", f"{self.service:g}", Message("stock.accepts.share"))


class Goods(NamedTuple):
    """What can be stocked: motors by number, then capacitors by size, then belly bands.

    ``price`` and ``volume`` [m3] are those of one unit; ``capacitor`` (motors,) is the place
    among ``sizes`` [F]; ``motor`` the numbers in the catalogue.
    """

    motor: np.ndarray
    capacitor: np.ndarray
    sizes: np.ndarray
    price: np.ndarray
    volume: np.ndarray

    @property
    def motors(self) -> int:
        return len(self.motor)


class TruckLoads(NamedTuple):
    """Drawn calls, in the order of their loads: what each needs and what does for it.

    ``fits`` and ``banded`` are (calls, motors of the goods); ``load`` (calls,) ascends from 0,
    and there are ``count`` loads, empty ones too.
    """

    need: np.ndarray
    fits: np.ndarray
    banded: np.ndarray
    load: np.ndarray
    count: int


def goods_of(matched: Matched, terms: Terms) -> Goods:
    """The motors that do for any need and have a price and a capacitor's size, and their parts.

    Raises InputError when there is none.
    """
    known = [m.price is not None and m.capacitor is not None for m in matched.motors]
    motor = np.flatnonzero(matched.passes.any(axis=(0, 2)) & known)
    if not len(motor):
        raise InputError("calls", Message("stock.given.no_motor"), Message("stock.accepts.others"))
    chosen = [matched.motors[at] for at in motor]
    sizes, capacitor = np.unique([m.capacitor for m in chosen], return_inverse=True)
    parts = len(sizes)
    price = [m.price for m in chosen] + [terms.capacitor_price] * parts + [terms.band_price]
    volume = [_box(m) for m in chosen] + [terms.capacitor_volume] * parts + [terms.band_volume]
    return Goods(motor, capacitor, sizes, np.array(price), np.array(volume))


def _box(motor: CatalogueMotor) -> float:
    """Volume [m3] of a motor in its box."""
    if None in (motor.body_diameter, motor.body_length, motor.shaft_length):
        return USUAL_VOLUME
    side = motor.body_diameter + BOX_ROOM
    return side**2 * (motor.body_length + motor.shaft_length + BOX_ROOM)


def calls_in_a_load(calls: Calls, terms: Terms):
    """The law of how many calls one truck has between two restockings; scipy.stats.

    The history's ``calls`` are counted in stretches of ``terms.days`` and shared out to the trucks
    at random, which keeps a share of the mean and its square of what is beyond Poisson.
    """
    day = (calls.days - calls.days.min()).astype(int)
    stretches = int(np.ceil((day.max() + 1) / terms.days))
    counts = np.bincount((day // terms.days).astype(int), minlength=stretches)
    share = 1 / terms.trucks
    beyond = max(np.var(counts, ddof=1) - counts.mean(), 0.0) if stretches > 1 else 0.0
    mean = counts.mean() * share
    return overdispersed(mean, mean + beyond * share**2)


def overdispersed(mean: float, variance: float):
    """The law of counts with that ``mean`` and ``variance``: negative binomial, else Poisson.

    Raises InputError for a mean below 0.
    """
    mean = float(check("mean", mean, MEAN))
    if variance <= mean * (1 + 1e-9) or mean == 0:
        return stats.poisson(mean)
    return stats.nbinom(mean**2 / (variance - mean), mean / variance)


def sampled_needs(calls: Calls, how_many: int, rng: np.random.Generator) -> np.ndarray:
    """Needs of ``how_many`` calls to come, (how_many,), by one sample of all rates."""
    weight = rng.gamma(np.maximum(calls.counts, 1e-12))
    return rng.choice(len(weight), how_many, p=weight / weight.sum())


def sampled_loads(
    calls: Calls, matched: Matched, goods: Goods, terms: Terms, seed=0, most=CALLS, rates=1
):
    """Loads with about ``most`` calls in all; the same ``seed`` gives the same.

    Their needs come by ``rates`` samples of all rates, each for as many calls: of a short history
    one sample alone may lie well beside the others.
    """
    rng = np.random.default_rng([seed, 3])
    law = calls_in_a_load(calls, terms)
    count = max(int(np.ceil(most / law.mean())), 1)
    sizes = law.rvs(count, random_state=rng)
    parts = np.array_split(np.arange(sizes.sum()), rates)
    need = np.concatenate([sampled_needs(calls, len(part), rng) for part in parts])
    sample = rng.integers(matched.passes.shape[2], size=len(need))
    fits = matched.passes[need, :, sample][:, goods.motor]
    banded = matched.banded[need][:, goods.motor] & fits
    return TruckLoads(need, fits, banded, np.repeat(np.arange(count), sizes), count)
