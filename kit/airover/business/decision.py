"""Compare truck loads by second visits, working time and money, to support a decision.

All loads are replayed in the same sampled seasons, each with the counter stock that it requires, so
the differences between loads are less uncertain than the percentages. The number of calls per year
is that of the whole list, because the calls of the plan alone may leave out a season. The baseline
is today's load if it is known. Otherwise, it is a truck without motors.

The savings are the second visits avoided times the shop's cost of a second visit. The payback
period is the additional cost of all truck loads divided by the annual savings. It is also
calculated with the counter stock, for a shop that has none yet. It does not include interest, or
the business lost when customers do not wait for a second visit.
"""

import re
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from airover.business.counter import counter_stock
from airover.business.stock import (
    DAYS_A_YEAR,
    StockStudy,
    expected,
    of_one_rating,
    run,
    seasons,
)
from airover.business.truck import TruckPlan, loaded, plan
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.units import quoted
from airover.records.sheets import Sheet, read_sheet
from airover.records.tables import count_in

BUDGETS = 4  # number of budgets in the table
MOST_MAKERS = 4  # manufacturers to remove, one at a time
BANDS = 2  # belly bands on today's truck (assumed)
TODAY, EMPTY, ALL, SINGLE = "today", "empty", "all", "single"


class Carried(NamedTuple):
    """Motors on a truck, from a list of models and counts.

    Attributes
    ----------
    units : ndarray
        Units of each catalog motor, shape (motors,).
    unknown : tuple[str, ...]
        Models that are not in the catalog.
    """

    units: np.ndarray
    unknown: tuple[str, ...]


def read_carried(path, motors) -> Carried:
    """Read the motors on a truck from a table with a column of models and a column of counts.

    The headings can be any text. The column of models is the column with the most catalog models,
    and the column of counts is the column with whole numbers and the most suitable heading. If
    there is no column of counts, each line is one motor.

    Raises
    ------
    InputError
        If the file is not a table or if no cell is a model in the catalog.
    """
    return carried_in(read_sheet(path), motors)


def carried_in(sheet: Sheet, motors) -> Carried:
    """Return the motors in a table. See `read_carried`."""
    known = {}
    for at, motor in enumerate(motors):
        for name in (motor.model, motor.name):
            known.setdefault(_bare(name), at)
    columns = [sheet.column(at) for at in range(len(sheet.headings))]
    found = [sum(_bare(cell) in known for cell in cells) for cells in columns]
    if not any(found):
        given = Message("decision.given.no_model", file=quoted(sheet.file))
        raise InputError("today", given, Message("decision.accepts.model"))
    models = columns[int(np.argmax(found))]
    counts = _counts(sheet, columns, int(np.argmax(found)))
    units, unknown = np.zeros(len(motors), int), []
    for model, count in zip(models, counts, strict=True):
        if (at := known.get(_bare(model))) is not None:
            units[at] += count
        elif model.strip() and count:
            unknown.append(model.strip())
    return Carried(units, tuple(dict.fromkeys(unknown)))


_COUNT = re.compile(
    r"qty|quantity|count|units?\b|on (?:the )?(?:truck|van|hand)|stock|pcs|pieces|cant|existencia|"
    r"unidades|camioneta|number|no\.?$|#",
    re.IGNORECASE,
)


def _bare(name: str) -> str:
    return re.sub(r"[^0-9a-z]", "", name.lower())


def _counts(sheet: Sheet, columns, models: int) -> list[int]:
    """Return the counts in the most suitable column, or 1 for each line."""
    best, most = None, 0.0
    for at, cells in enumerate(columns):
        whole = [_whole(cell) for cell in cells]
        share = sum(one is not None for one in whole) / len(cells)
        score = share * (2 if _COUNT.search(sheet.headings[at]) else 0.5 if share == 1 else 0)
        if at != models and score > most:
            best, most = whole, score
    return [1] * len(sheet.rows) if best is None else [one or 0 for one in best]


def _whole(cell: str) -> int | None:
    """Return a count from 0 to 99, or None."""
    if not cell.strip():
        return 0
    count = count_in(cell)
    return count if count is not None and count < 100 else None


class Choice(NamedTuple):
    """One truck load in the table.

    Attributes
    ----------
    kind : str
        TODAY, EMPTY, ALL (planned with all motors) or SINGLE (planned with single-rating motors).
    first : Band
        Fraction of the calls completed on the first visit. The middle value is the mean.
    avoided : Band
        Second visits avoided by all trucks, compared with the baseline [1/year]. The middle value
        is the mean.
    """

    kind: str
    plan: TruckPlan
    first: Band
    avoided: Band

    @property
    def motors(self) -> int:
        return int(self.plan.carried.sum())

    @property
    def kinds(self) -> int:
        return int((self.plan.carried > 0).sum())


class Dropped(NamedTuple):
    """Motor with fewer units in the recommended load than on today's truck.

    Attributes
    ----------
    name : str
        Name of the motor.
    today, planned : int
        Units on today's truck and in the recommended load.
    used : float
        Calls that the motor completes on today's trucks [1/year].
    why : Message
        Reason for the difference.
    """

    name: str
    today: int
    planned: int
    used: float
    why: Message


class Outage(NamedTuple):
    """Effect of a manufacturer that cannot deliver.

    Attributes
    ----------
    motors : int
        Motors of this manufacturer in the recommended load.
    without : Band
        Fraction of the calls completed on the first visit if these motors are missing.
    replanned : Band or None
        The same fraction if the load is planned again without this manufacturer, or None if no
        other manufacturer is left.
    """

    maker: str
    motors: int
    without: Band
    replanned: Band | None


@dataclass(frozen=True)
class Decision:
    """Truck loads to choose from, and the effects of the choice.

    Attributes
    ----------
    choices : tuple[Choice, ...]
        Loads. The first is the baseline.
    recommended, single : Choice
        Loads for the budget, with all motors and with single-rating motors only.
    calls_a_year : float
        Calls of all trucks [1/year].
    unknown : tuple[str, ...]
        Models on today's truck that are not in the catalog.
    unused : tuple[str, ...]
        Motors on today's truck that do not cover any call or have no price.
    """

    study: StockStudy
    choices: tuple[Choice, ...]
    recommended: Choice
    single: Choice
    calls_a_year: float
    dropped: tuple[Dropped, ...]
    outages: tuple[Outage, ...]
    unknown: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()

    @property
    def baseline(self) -> Choice:
        return self.choices[0]

    def hours(self, choice: Choice) -> float:
        """Return the working time saved by all trucks [h/year]."""
        return choice.avoided.mid * self.study.terms.visit_hours

    def saved(self, choice: Choice) -> float:
        """Return the money saved by all trucks [currency/year]."""
        return choice.avoided.mid * self.study.terms.second_visit

    def invested(self, choice: Choice) -> float:
        """Return the additional cost of all truck loads."""
        return (choice.plan.money - self.baseline.plan.money) * self.study.terms.trucks

    def payback(self, choice: Choice, also: float = 0.0) -> float | None:
        """Return the payback period [months]. It is None if the choice saves nothing.

        ``also`` is a further investment, such as the counter stock.
        """
        if (saved := self.saved(choice)) <= 0:
            return None
        return max(12 * (self.invested(choice) + also) / saved, 0.0)

    def second_visits(self, choice: Choice) -> float:
        """Return the number of second visits for all trucks [1/year]."""
        before = (1 - self.baseline.first.mid) * self.calls_a_year
        return before - (0.0 if choice is self.baseline else choice.avoided.mid)


def decide(found: StockStudy, today: Carried | None = None) -> Decision:
    """Compare the loads of a study with today's load, if it is known.

    The study must include the loads for the smaller budgets.
    """
    replays = _Replays(found)
    goods, budget = found.goods, found.terms.budget
    base = np.zeros(len(goods.price), int)
    unused = ()
    if today is not None:
        base = goods.with_parts(today.units[goods.motor], BANDS * bool(today.units.any()))
        idle = np.setdiff1d(np.flatnonzero(today.units), goods.motor)
        unused = tuple(found.matched.motors[at].name for at in idle)
    baseline = loaded(base, found.loads, goods)
    one_rating = of_one_rating(found.matched, goods)
    same = (one for one in found.single if abs(one.budget - budget) <= 1)
    single = next(same, None) or _plan(found, budget, one_rating)
    plans = [(ALL, found.plan), (SINGLE, single)]
    for kind, curve in ((ALL, found.plans), (SINGLE, found.single)):
        plans += [(kind, one) for one in curve[-BUDGETS:] if abs(one.budget - budget) > 1]
    if today is not None and baseline.money and abs(baseline.money - budget) > 1:
        plans.append((ALL, _plan(found, baseline.money)))
    replays.baseline = replays.first(baseline)
    first = replays.choice(EMPTY if today is None else TODAY, baseline)
    choices = [replays.choice(kind, one) for kind, one in plans]
    recommended, single = choices[:2]
    rest = _improving(choices, found.plan, single.plan)
    return Decision(
        study=found,
        choices=(first, *rest),
        recommended=recommended,
        single=single,
        calls_a_year=float(replays.calls.mean()),
        dropped=_dropped(found, baseline, replays) if today is not None else (),
        outages=tuple(_outages(found, replays)),
        unknown=() if today is None else today.unknown,
        unused=unused,
    )


def _improving(choices, *kept: TruckPlan) -> list[Choice]:
    """Return the choices by budget, without those that avoid no more visits than a cheaper one.

    The plans in ``kept`` are never left out.
    """
    rows = []
    for one in sorted(choices, key=lambda one: (one.plan.budget, one.kind)):
        cheaper = [row.avoided.mid for row in rows if row.kind == one.kind]
        if any(one.plan is plan for plan in kept) or one.avoided.mid > max(
            cheaper, default=-np.inf
        ):
            rows.append(one)
    return rows


def _plan(found: StockStudy, budget: float, allowed=None) -> TruckPlan:
    goods, space = found.goods, found.terms.space
    return plan(found.loads, goods, budget, space, allowed)


class _Replays:
    """Replays of loads in the same sampled seasons."""

    def __init__(self, found: StockStudy):
        self.found = found
        given = found.history, found.held_out, found.matched, found.terms
        # generated like the seasons of the forecast, so these are the same
        self.seasons, _ = seasons(*given, len(found.confirmed.forecasts), found.seed)
        counts = np.array([len(one.day) for one in self.seasons])
        self.calls = counts * (found.calls_a_year / counts.mean())  # 1/year
        self.baseline = None

    def first(self, one: TruckPlan, kept=None) -> np.ndarray:
        """Return the fraction of calls completed on the first visit in each season.

        ``kept`` is False for motors that are neither on the trucks nor at the counter.
        """
        found = self.found
        if one is found.plan and kept is None:
            return np.array([season.first for season in found.confirmed.forecasts])
        one = loaded(one.units, found.loads, found.goods)
        counter = counter_stock(one, found.loads, found.history, found.terms)
        if kept is not None:
            out = np.flatnonzero(~kept)
            counter.level[out] = 0
        given = one, counter, found.matched, found.terms
        return np.array([run(season, *given).first for season in self.seasons])

    def choice(self, kind: str, one: TruckPlan) -> Choice:
        first = self.first(one)
        avoided = (first - self.baseline) * self.calls
        return Choice(kind, one, expected(first, self.calls), expected(avoided))


def _dropped(found: StockStudy, today: TruckPlan, replays: _Replays):
    """Return the motors with fewer units in the recommended load than today, least used first."""
    goods, fits = found.goods, found.loads.fits
    loads_a_year = DAYS_A_YEAR / found.terms.load_days * found.terms.trucks
    rows = []
    for motor in np.flatnonzero(today.carried > found.plan.carried):
        used = float(today.sold[motor] * loads_a_year)
        mine = fits[:, motor]
        others = (fits & mine[:, None] & (found.plan.carried > 0)).sum(axis=0)
        others[motor] = 0
        best = int(np.argmax(others))
        share = others[best] / max(mine.sum(), 1)
        key, values = "rarely", {}
        if found.plan.carried[motor]:
            key = "fewer"
        elif share >= 0.5:
            ratings = len(found.matched.motors[goods.motor[best]].ratings)
            key = "covered_several" if ratings > 1 else "covered"
            values = {"motor": found.names[best], "share": f"{100 * share:.0f}", "count": ratings}
        units = int(today.carried[motor]), int(found.plan.carried[motor])
        why = Message(f"decision.drop.{key}", **values)
        rows.append(Dropped(found.names[motor], *units, used, why))
    return tuple(sorted(rows, key=lambda one: one.used))


def _outages(found: StockStudy, replays: _Replays):
    """Yield the effect of removing each manufacturer, in descending order of motor count."""
    goods, planned = found.goods, found.plan
    makers = np.array([found.matched.motors[at].maker for at in goods.motor])
    units = {maker: int(planned.carried[makers == maker].sum()) for maker in set(makers)}
    for maker in sorted(units, key=lambda one: (-units[one], one))[:MOST_MAKERS]:
        if not units[maker]:
            continue
        kept = makers != maker
        left = planned.units.copy()
        left[: goods.motors][~kept] = 0
        without = expected(replays.first(replace(planned, units=left), kept), replays.calls)
        again = None
        if kept.any():
            other = _plan(found, found.terms.budget, kept)
            again = expected(replays.first(other, kept), replays.calls)
        yield Outage(str(maker), units[maker], without, again)
