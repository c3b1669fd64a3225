"""A season call by call: trucks, counter and supplier, day after day, against a plan's promise.

Every day calls come to trucks. A truck that carries a suitable motor, its capacitor and, where
one is needed, a belly band, fixes the call at the first visit; of several motors it takes the one
that covers the fewest needs, so that versatile ones are kept. It knows nothing of later calls.
Every ``terms.days`` the trucks are filled up from the counter as far as that reaches, in turn. The
counter orders one for one, and orders come after the lead time. A call that is not fixed is served
by the counter; where that has nothing, the supplier sends a motor for that call alone.

Forecast and replay share these simplifications: calls are shared out to the trucks at random, any
day is a working day, and each call's sample becomes known at the unit.
"""

from typing import NamedTuple

import numpy as np

from airover.business.counter import CounterStock
from airover.business.truck import Goods, Terms, TruckPlan, calls_in_a_load, sampled_needs
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message
from airover.records.calls import Calls
from airover.selection.cover import Matched

REPEATS = 40


class Arrivals(NamedTuple):
    """Calls of a season in their order: ``day`` from 0 on, ``truck``, ``need`` and its
    ``sample``."""

    day: np.ndarray
    truck: np.ndarray
    need: np.ndarray
    sample: np.ndarray


class SeasonEnds(NamedTuple):
    """Ends of a season's calls: five shares that add up to 1, and the counter's service.

    ``first`` visit; not carried, ``short`` (a fitting motor is carried but was used up, or its
    parts); ``counter`` had a motor for a second visit, ``ordered`` from the supplier; ``none`` of
    the catalog's motors does. ``refilled`` is the share of wanted units that the counter had
    when the trucks were filled up.
    """

    first: float
    short: float
    counter: float
    ordered: float
    none: float
    refilled: float


def sampled_season(calls: Calls, matched: Matched, terms: Terms, rng, days: int = 365) -> Arrivals:
    """A season like the history's: calls by stretches with its scatter, needs by sampled rates."""
    law = calls_in_a_load(calls, terms)
    stretches = int(np.ceil(days / terms.days))
    counts = law.rvs((stretches, terms.trucks), random_state=rng).ravel()
    truck = np.repeat(np.tile(np.arange(terms.trucks), stretches), counts)
    begin = np.repeat(np.repeat(np.arange(stretches), terms.trucks), counts) * terms.days
    day = (begin + rng.random(len(begin)) * terms.days).astype(int)
    order = np.argsort(day, kind="stable")
    need = sampled_needs(calls, len(day), rng)
    sample = rng.integers(matched.passes.shape[2], size=len(day))
    return Arrivals(day[order], truck[order], need, sample)


def held_out_season(calls: Calls, matched: Matched, terms: Terms, rng) -> Arrivals:
    """Calls that happened, on their days, with their needs; trucks and samples at random."""
    order = np.argsort(calls.days, kind="stable")
    day = (calls.days[order] - calls.days.min()).astype(int)
    truck = rng.integers(terms.trucks, size=len(day))
    sample = rng.integers(matched.passes.shape[2], size=len(day))
    return Arrivals(day, truck, calls.need[order], sample)


def run(
    arrivals: Arrivals, planned: TruckPlan, counter: CounterStock, matched: Matched, terms: Terms
):
    """The SeasonEnds of one season. Raises InputError for a season without calls."""
    if not len(arrivals.day):
        raise InputError("calls", Message("error.calls.none"), Message("error.calls.row"))
    goods, stock = planned.goods, _Stock(planned, counter, terms)
    rank = matched.passes.mean(axis=(0, 2))[goods.motor]
    ends = dict.fromkeys(SeasonEnds._fields[:-1], 0)
    due = terms.days
    for day, truck, need, sample in zip(*arrivals, strict=True):
        while day >= due:
            stock.receive(due)
            stock.refill(due)
            due += terms.days
        stock.receive(day)
        fits = matched.passes[need, goods.motor, sample]
        banded = matched.banded[need, goods.motor]
        ends[_call(stock, day, stock.trucks[truck], fits, banded, rank)] += 1
    shares = {name: count / len(arrivals.day) for name, count in ends.items()}
    return SeasonEnds(**shares, refilled=stock.had / max(stock.wanted, 1))


class Confirmed(NamedTuple):
    """A plan's promise beside a replay: bands of the share fixed at the first visit.

    ``planned`` is the program's own share, ``forecast`` that of seasons sampled from the history,
    ``replayed`` that of the held-out season; both also as lists of every SeasonEnds. ``unseen`` is
    the share of the held-out calls whose need the history never had.
    """

    planned: float
    forecast: Band
    replayed: Band
    forecasts: tuple[SeasonEnds, ...]
    replays: tuple[SeasonEnds, ...]
    unseen: float


def confirm(
    history: Calls, held_out: Calls, matched: Matched, planned: TruckPlan, counter: CounterStock,
    terms: Terms, repeats: int = REPEATS, seed: int = 0,
) -> Confirmed:  # fmt: skip
    """Forecast seasons sampled from ``history`` beside ``repeats`` replays of ``held_out`` calls.

    TruckPlan and counter must come from ``history`` alone. The same ``seed`` gives the same.
    """
    rng = np.random.default_rng([seed, 4])
    days = int((held_out.days.max() - held_out.days.min()).astype(int)) + 1
    setting = planned, counter, matched, terms
    seasons = (sampled_season(history, matched, terms, rng, days) for _ in range(repeats))
    forecasts = tuple(run(one, *setting) for one in seasons)
    real = (held_out_season(held_out, matched, terms, rng) for _ in range(repeats))
    replays = tuple(run(one, *setting) for one in real)
    unseen = float(np.mean(history.counts[held_out.need] == 0))
    bands = (Band.of([one.first for one in some]) for some in (forecasts, replays))
    return Confirmed(planned.fixed, *bands, forecasts, replays, unseen)


def split(calls: Calls, days: int = 365) -> tuple[Calls, Calls]:
    """History and held-out calls: the last ``days`` [day] are held out.

    Raises InputError when less than twice as many days are there.
    """
    last = calls.days.max() - np.timedelta64(days, "D")
    if calls.days.min() > last - np.timedelta64(days, "D"):
        span = int((calls.days.max() - calls.days.min()).astype(int)) + 1
        given, accepted = Message("stock.given.span", days=span), "stock.accepts.span"
        raise InputError("calls", given, Message(accepted, days=2 * days))
    return calls.part(calls.days <= last), calls.part(calls.days > last)


class _Stock:
    """Units on trucks and counter, and on their way, while a season runs."""

    def __init__(self, planned: TruckPlan, counter: CounterStock, terms: Terms):
        self.goods, self.terms = planned.goods, terms
        self.full = planned.units
        self.trucks = np.tile(planned.units, (terms.trucks, 1))
        self.counter = counter.level.copy()
        self.coming = []  # (day, units), in the order of their days
        self.wanted = self.had = 0

    def receive(self, day: float) -> None:
        """Put on the shelf what has come by ``day``."""
        while self.coming and self.coming[0][0] <= day:
            self.counter += self.coming.pop(0)[1]

    def refill(self, day: float) -> None:
        """Fill the trucks up, one after the other, and order what the counter gives."""
        for truck in self.trucks:
            short = self.full - truck
            given = np.minimum(short, self.counter)
            self.wanted, self.had = self.wanted + short.sum(), self.had + given.sum()
            truck += given
            self.leave(day, given)

    def leave(self, day: float, units: np.ndarray) -> None:
        """Take ``units`` off the shelf and order them anew."""
        self.counter -= units
        self.coming.append((day + self.terms.lead_days, units))

    def use(self, have: np.ndarray, fits, banded, rank) -> np.ndarray | None:
        """The units that a call takes from ``have``, or None: the first by ``rank`` that does."""
        goods = self.goods
        at_hand = have[: goods.motors] * have[goods.motors + goods.capacitor] > 0
        can = np.flatnonzero(fits & at_hand & (~banded | (have[-1] > 0)))
        return None if not len(can) else _unit(goods, can[np.argmin(rank[can])], banded)


def _unit(goods: Goods, motor: int, banded) -> np.ndarray:
    """One motor with its capacitor and, where it is wanted, a belly band."""
    units = np.zeros(len(goods.price), int)
    units[[motor, goods.motors + goods.capacitor[motor]]] = 1
    units[-1] = banded[motor]
    return units


def _call(stock: _Stock, day, have, fits, banded, rank) -> str:
    """End of one call; it changes the stocks."""
    if not fits.any():
        return "none"
    used = stock.use(have, fits, banded, rank)
    if used is not None:
        have -= used
        return "first"
    carried = (fits & (stock.full[: stock.goods.motors] > 0)).any()
    used = stock.use(stock.counter, fits, banded, rank)
    if used is not None:
        stock.leave(day, used)
    if carried:
        return "short"
    return "ordered" if used is None else "counter"
