"""Compare the life-cycle costs of two or three motors and find the inputs that matter most.

The recommended motor is the first motor in the answer, so that all documents recommend the same
motor. If another motor has a lower life-cycle cost, or if two motors cost about the same, the
reason says so.

`drivers` varies one input at a time from its low to its high limit. All other samples stay the
same, so the change in the cost difference between two motors is caused by that input alone. An
input that was entered as a single number is treated as exact in the cost calculation, but is varied
by 20 % here.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from airover.business.costs import NINETY_FIVE, NOT_DRAWN, PARTS, Repairs, written, years
from airover.business.life_cost import (
    LifeCost,
    LifeCosts,
    Plan,
    Spent,
    cheaper,
    chosen,
    difference,
    lives,
    spend,
)
from airover.core.intervals import Band
from airover.core.message import Message, Money, Quantity
from airover.selection.rules import FITS

# Engineering judgment: variation of an input that was entered as a single number.
EITHER_SIDE = 0.2
PRICE_EITHER_SIDE = 0.1
HOURS_EITHER_SIDE = 0.25
YEARS_EITHER_SIDE = 5
FEWEST_YEARS = 1


# Advantages of a motor; keys of messages under ``best_at``.
LEAST, TODAY, LASTING, BEST, NEXT = "least", "today", "lasting", "best", "next"
MOST = 3
# Engineering judgment: cost decides between two motors only if one is cheaper with 90 % probability
# (the confidence level used elsewhere; the lowest of many estimates is often low by chance) and by
# more than 2 %. Motors whose failure count is within the limits below are considered to have equal
# lives.
CLEAR, NEGLIGIBLE = 0.9, 0.02
SAME_FAILURES, SAME_SHARE = 0.02, 0.05
NOT_INCLUDED = ("taxes", "damage", "labor", "inflation")


class CostOption(NamedTuple):
    """Life-cycle cost and advantages of one motor.

    Attributes
    ----------
    roles : tuple[str, ...]
        Roles in which the motor is best.
    cost : LifeCost
        Life-cycle cost of the motor.
    why : Message
        Values that explain the advantages, as a Message.
    assumed : tuple[str, ...]
        Names of the parts whose life could not be calculated.
    """

    roles: tuple[str, ...]
    cost: LifeCost
    why: Message
    assumed: tuple[str, ...]


class Choices(NamedTuple):
    """Motors from which a customer can choose, with the recommended motor first.

    Attributes
    ----------
    options : tuple[CostOption, ...]
        Motors with their life-cycle costs.
    reason : Message
        Reason for the recommendation in one sentence.
    other : LifeCost or None
        Cost of the motor to which the recommended motor is compared, or None if there is no other
        motor.
    probability : float or None
        Probability that the recommended motor costs less than the other motor.
    difference : Band or None
        Cost of the recommended motor minus the cost of the other motor, negative if the recommended
        motor saves money.
    decides : bool
        True if one of the motors is clearly cheaper (see `decides`).
    not_included : tuple[Message, ...]
        Items that are not included in the life-cycle cost.
    """

    options: tuple[CostOption, ...]
    reason: Message
    other: LifeCost | None
    probability: float | None
    difference: Band | None
    decides: bool
    not_included: tuple[Message, ...]

    @property
    def recommended(self) -> CostOption:
        return self.options[0]


def choices(costed: LifeCosts) -> Choices:
    """Return the motors to offer from ``costed``, with the recommended motor first."""
    best = _recommended(costed)
    other = next((cost for cost in costed.costs if cost is not best), None)
    chance = None if other is None else cheaper(best, other)
    decided = other is not None and decides(best, other)
    return Choices(
        options=_options(costed, best, other),
        reason=_reason(best, other, chance, decided, costed.horizon),
        other=other,
        probability=chance,
        difference=None if other is None else difference(best, other),
        decides=decided,
        not_included=_not_included(costed),
    )


class Driver(NamedTuple):
    """Effect of one input on the cost difference between two motors.

    Attributes
    ----------
    name : Message
        Name of the input.
    low, high : Message or Quantity or Money
        Limits of the input, formatted for display.
    at_low, at_high : float
        Expected cost of the first motor minus the expected cost of the second motor at each limit.
    """

    name: Message
    low: Message | Quantity | Money
    high: Message | Quantity | Money
    at_low: float
    at_high: float

    @property
    def swing(self) -> float:
        """Change in the cost difference from the low limit to the high limit."""
        return abs(self.at_high - self.at_low)

    @property
    def turns(self) -> bool:
        """True if one motor is cheaper at the low limit and the other at the high limit."""
        return self.at_low * self.at_high < 0


class Drivers(NamedTuple):
    """Inputs that change the cost difference between two motors.

    Attributes
    ----------
    first, second : str
        Names of the motors.
    base : float
        Expected cost of the first motor minus the expected cost of the second motor, in
        ``currency``.
    drivers : tuple[Driver, ...]
        Inputs, sorted by decreasing swing.
    """

    first: str
    second: str
    base: float
    currency: str
    drivers: tuple[Driver, ...]


def drivers(costed: LifeCosts, first: int = 0, second: int = 1) -> Drivers | None:
    """Return the inputs that change the cost difference between two motors in ``costed``.

    Returns None if ``costed`` has only one motor.

    Parameters
    ----------
    first, second : int, optional
        Indices of the motors in ``costed.costs``.
    """
    if len(costed.costs) < 2:
        return None
    one, other = costed.costs[first], costed.costs[second]
    plan = chosen(costed.plan, (first, second))
    bands = [cost.yearly.lives for cost in (one, other)]
    moved = {
        **_inputs(costed, plan),
        **_years(plan),
        **_hours(plan, one.yearly.hours),
        **_prices(plan, (one.name, other.name), costed.currency),
        **_kilowatt_hours(plan),
        **_lives(plan, bands, (one.name, other.name)),
    }
    base = spend(plan, Repairs(*(part[[first, second]] for part in costed.repairs)))
    worked = (_driver(name, *ends, plan, base) for name, ends in moved.items())
    order = sorted(worked, key=lambda driver: (-driver.swing, driver.name.key))
    return Drivers(one.name, other.name, _difference(base), costed.currency, tuple(order))


def decides(one: LifeCost, other: LifeCost) -> bool:
    """Return True if a motor is cheaper with 90 % probability and by more than 2 %."""
    apart, share = abs(one.mean - other.mean), cheaper(one, other)
    return max(share, 1 - share) >= CLEAR and apart >= NEGLIGIBLE * other.mean


def _driver(name, low, high, plan: Plan, base: Spent) -> Driver:
    """Return the Driver for an input.

    Parameters
    ----------
    low, high
        Pairs of a displayed limit and the plan at that limit.
    base : Spent
        Costs for the unchanged ``plan``.
    """
    ends = []
    for _, moved in (low, high):
        same = moved.life is plan.life and moved.horizon == plan.horizon  # same repairs too
        ends.append(_difference(spend(moved, base.repairs if same else None)))
    return Driver(name, low[0], high[0], *ends)


def _difference(spent: Spent) -> float:
    return float(np.mean(spent.total[0] - spent.total[1]))


def _inputs(costed: LifeCosts, plan: Plan) -> dict:
    """Return plans with each price and time in the basis at its limits, or at +/-20 %."""
    moved = {}
    for name, amount in costed.basis:
        if amount is None or name in NOT_DRAWN:
            continue
        ends = (amount.low, amount.high)
        if not amount.is_range:
            ends = tuple(amount.mid * (1 + step) for step in (-EITHER_SIDE, EITHER_SIDE))
        plans = [replace(plan, inputs={**plan.inputs, name: np.array(end)}) for end in ends]
        shown = [written(name, end, amount.unit) for end in ends]
        moved[_name(name.replace("_", " "))] = tuple(zip(shown, plans, strict=True))
    return moved


def _name(name: str, motor: str = "") -> Message:
    named = Message(f"cost.driver.{name}")
    return Message("cost.driver.of_motor", name=named, motor=motor) if motor else named


def _years(plan: Plan) -> dict:
    ends = (max(plan.horizon - YEARS_EITHER_SIDE, FEWEST_YEARS), plan.horizon + YEARS_EITHER_SIDE)
    moved = tuple((years(n), replace(plan, horizon=n)) for n in ends)
    return {_name("years counted"): moved}


def _hours(plan: Plan, hours: float) -> dict:
    """Return plans with the running hours at both limits."""
    ends = []
    for step in (-HOURS_EITHER_SIDE, HOURS_EITHER_SIDE):
        share = 1 + step
        scaled = replace(
            plan, energy=plan.energy * share, air=plan.air * share, life=plan.life / share
        )
        shown = Message("cost.hours_a_year", hours=Quantity(hours * share, "count"))
        ends.append((shown, scaled))
    return {_name("hours of running"): tuple(ends)}


def _prices(plan: Plan, names, currency) -> dict:
    moved = {}
    for at, name in enumerate(names):
        ends = []
        for step in (-PRICE_EITHER_SIDE, PRICE_EITHER_SIDE):
            price = plan.price.copy()
            price[at] *= 1 + step
            ends.append((Money(price[at], currency), replace(plan, price=price)))
        moved[_name("price", name)] = tuple(ends)
    return moved


def _kilowatt_hours(plan: Plan) -> dict:
    """Return plans with the extra energy of the first motor at the limits of its 90 % range."""
    moved = {}
    for field, name in (("energy", "energy of the motors"), ("air", "compressor's extra energy")):
        first, second = getattr(plan, field)
        apart = Band.of(first - second)
        plans = [replace(plan, **{field: np.stack([second + d, second])}) for d in apart[::2]]
        more = (Quantity(end, "difference") for end in apart[::2])
        shown = [Message("cost.kwh_a_year", energy=end) for end in more]
        moved[_name(name)] = tuple(zip(shown, plans, strict=True))
    return moved


def _lives(plan: Plan, bands, names) -> dict:
    """Return plans with the life of each part at the limits of its 90 % range.

    The capacitor life is varied for both motors at once; the winding and bearing lives are varied
    for one motor at a time.
    """
    moved = {_name("capacitor life"): _ends(plan, bands, "capacitor", (0, 1))}
    for at, name in enumerate(names):
        for part in ("winding", "bearing"):
            moved[_name(f"{part} life", name)] = _ends(plan, bands, part, (at,))
    return moved


def _ends(plan: Plan, bands, part, motors):
    found = []
    for z in (-NINETY_FIVE, NINETY_FIVE):
        at_end = lives(bands, [dict.fromkeys(PARTS, np.array([z]))] * len(bands))
        life, place = plan.life.copy(), PARTS.index(part)
        for at in motors:
            life[at, place] = at_end[at, place]
        shown = list(dict.fromkeys(years(round(at_end[at, place, 0])) for at in motors))
        if len(shown) == 2:
            shown = [Message("cost.both", one=shown[0], other=shown[1])]
        found.append((shown[0], replace(plan, life=life)))
    return tuple(found)


def _recommended(costed: LifeCosts) -> LifeCost:
    """Return the cost of the recommended motor, or the lowest cost if that motor has no price."""
    known = (cost for cost in costed.costs if cost.name == costed.recommended)
    return next(known, costed.costs[0])


def _options(costed: LifeCosts, best: LifeCost, other: LifeCost | None) -> tuple[CostOption, ...]:
    """Return the recommended motor, then motors with a role (at least two motors if available)."""
    holders = [
        (LEAST, costed.costs[0]),
        (TODAY, min(costed.costs, key=lambda cost: (cost.today.mean(), cost.mean))),
        (LASTING, _lasting(costed)),
    ]
    if best.name == costed.recommended:
        holders.insert(0, (BEST, best))
    if other is not None and all(cost is best for _, cost in holders):
        holders.append((NEXT, other))
    roles = {best.name: ()}  # the recommended motor comes first
    for role, cost in holders:
        roles[cost.name] = (*roles.get(cost.name, ()), role)
    by_name = {cost.name: cost for cost in costed.costs}
    made = [_option(roles[name], by_name[name], costed.horizon) for name in roles]
    return tuple(made[:MOST])


def _lasting(costed: LifeCosts) -> LifeCost:
    """Return the cheapest of the motors with the fewest failures.

    Differences within the sampling error are ignored.
    """
    counts = [sum(cost.failures.values()) for cost in costed.costs]
    luck = (
        3 * (2 * min(counts) / costed.costs[0].total.size) ** 0.5
    )  # sampling error of the difference
    most = min(counts) + max(SAME_SHARE * min(counts), SAME_FAILURES, luck)
    return next(c for c, count in zip(costed.costs, counts, strict=True) if count <= most)


def _option(roles, cost: LifeCost, years: int) -> CostOption:
    today, share = Money(cost.today.mean(), cost.currency), _of_100(cost.untroubled)
    why = Message("cost.option", today=today, share=share, **_life(cost, years))
    return CostOption(roles, cost, why, cost.yearly.assumed)


def _life(cost: LifeCost, years: int) -> dict:
    low, _, high = (Money(end, "") for end in cost.band)
    return {"mean": Money(cost.mean, cost.currency), "years": years, "low": low, "high": high}


def _of_100(share: float) -> int:
    return round(100 * share)


def _reason(best: LifeCost, other: LifeCost | None, chance, decided: bool, years: int) -> Message:
    life = Message("cost.life", **_life(best, years))
    if other is None:
        return Message("cost.reason.only", motor=best.name, life=life)
    take = "cost.take.now" if best.candidate.verdict == FITS else "cost.take.settled"
    values = {
        "take": Message(take, motor=best.name),
        "life": life,
        "other": other.name,
        "apart": Money(abs(best.mean - other.mean), best.currency, 2),
    }
    less = best.mean <= other.mean
    if not decided:
        key = "near_more" if less else "near_less"
        return Message(f"cost.reason.{key}", motor=best.name, share=_of_100(chance), **values)
    key = "less" if less else "lower"
    mixed = "" if (chance > 0.5) == less else "_mixed"
    return Message(f"cost.reason.{key}{mixed}", often=_of_100(max(chance, 1 - chance)), **values)


def _not_included(costed: LifeCosts) -> tuple[Message, ...]:
    lost = () if costed.basis.lost_cooling else ("lost_cooling",)
    found = tuple(Message(f"cost.not_included.{name}") for name in (*NOT_INCLUDED, *lost))
    unpriced = Message("cost.not_included.unpriced", motors=costed.unpriced)
    return (*found, unpriced) if costed.unpriced else found
