"""What decides between two motors: one input at a time from its low to its high end.

Every other input keeps its draws, and the draws of chance are the same at both ends, so what is
left between the two differences is what that input does.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.cost.failures import PARTS
from airover.cost.inputs import NOT_DRAWN, written, years
from airover.cost.life_cost import NINETY_FIVE, LifeCosts, Plan, Spent, chosen, lives, spend
from airover.message import Message, Money, Quantity

# Own judgement: how far an input is moved of which one number was given.
EITHER_SIDE = 0.2
PRICE_EITHER_SIDE = 0.1
HOURS_EITHER_SIDE = 0.25
YEARS_EITHER_SIDE = 5
FEWEST_YEARS = 1


class Driver(NamedTuple):
    """An input's ``name``; its ends ``low`` and ``high``, for texts; the expected cost of the first
    motor less that of the second ``at_low`` and ``at_high``."""

    name: Message
    low: Message | Quantity | Money
    high: Message | Quantity | Money
    at_low: float
    at_high: float

    @property
    def swing(self) -> float:
        """How far the difference moves between the ends."""
        return abs(self.at_high - self.at_low)

    @property
    def turns(self) -> bool:
        """Whether another motor is the cheaper one at the other end."""
        return self.at_low * self.at_high < 0


class Drivers(NamedTuple):
    """``first`` and ``second`` name the two motors, ``base`` is the expected cost of the first less
    that of the second in ``currency``; ``drivers`` have the greatest swing first."""

    first: str
    second: str
    base: float
    currency: str
    drivers: tuple[Driver, ...]


def drivers(costed: LifeCosts, first: int = 0, second: int = 1) -> Drivers | None:
    """What moves the difference between two of the motors of ``costed``, by their places.

    None where only one motor was found.
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
    base = spend(plan)
    worked = (_driver(name, *ends, plan, base) for name, ends in moved.items())
    order = sorted(worked, key=lambda driver: (-driver.swing, driver.name.key))
    return Drivers(one.name, other.name, _difference(base), costed.currency, tuple(order))


def _driver(name, low, high, plan: Plan, base: Spent) -> Driver:
    """``low`` and ``high`` are an end and its plan each; ``base`` is spent by the ``plan`` itself."""
    ends = []
    for _, moved in (low, high):
        same = moved.life is plan.life and moved.horizon == plan.horizon  # so are the repairs
        ends.append(_difference(spend(moved, base.repairs if same else None)))
    return Driver(name, low[0], high[0], *ends)


def _difference(spent: Spent) -> float:
    return float(np.mean(spent.total[0] - spent.total[1]))


def _inputs(costed: LifeCosts, plan: Plan) -> dict:
    """The prices and times of the basis, over their ranges or a fifth to either side."""
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
    """More running costs energy and uses up lives, both in proportion."""
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
    """How much more the first takes than the second, over the band of that difference."""
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
    """Each part's life at the ends of its band: the capacitor's for both, others motor by motor."""
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
