"""Two or three motors to choose from, the one to take, and why, with the numbers.

The recommended motor is the one that the answer puts first, so that all documents name the same
one. Where another costs less over the years, or two cost about the same, the reason says so.
"""

from typing import NamedTuple

from airover.bands import Band
from airover.choose import FITS
from airover.cost.life_cost import LifeCost, LifeCosts, cheaper, difference
from airover.message import Message, Money

# What a motor is the best at: names of texts under ``best_at``.
LEAST, TODAY, LASTING, BEST, NEXT = "least", "today", "lasting", "best", "next"
MOST = 3
# Engineering judgment: cost decides between two motors where one is cheaper in nine of ten futures
# (the confidence of the 90 % ranges elsewhere; the other is the least of many estimates, so a
# smaller majority is often luck) and by more than 2 %. Motors whose failures are as near as this
# to the fewest last equally long.
CLEAR, NEGLIGIBLE = 0.9, 0.02
SAME_FAILURES, SAME_SHARE = 0.02, 0.05
NOT_INCLUDED = ("taxes", "damage", "labor", "inflation")


class Option(NamedTuple):
    """A motor's ``cost`` with the ``roles`` in which it is the best, and its figures in ``why``.

    ``assumed`` names its parts whose life nobody could work out."""

    roles: tuple[str, ...]
    cost: LifeCost
    why: Message
    assumed: tuple[str, ...]


class Choices(NamedTuple):
    """``options``, the recommended first, and the ``reason`` in one sentence.

    ``other`` is the cost that the recommended one is measured against, None if there is none;
    ``probability`` that the recommended costs less, ``difference`` its cost less the other's (a
    Band, negative when it saves); ``decides`` is false where neither
    is clearly cheaper: see `decides`.
    """

    options: tuple[Option, ...]
    reason: Message
    other: LifeCost | None
    probability: float | None
    difference: Band | None
    decides: bool
    not_included: tuple[Message, ...]

    @property
    def recommended(self) -> Option:
        return self.options[0]


def choices(costed: LifeCosts) -> Choices:
    """What to offer of the motors of ``costed``, and which one to take."""
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


def decides(one: LifeCost, other: LifeCost) -> bool:
    """True if one of two motors is clearly cheaper: in nine of ten futures, and by enough money."""
    apart, share = abs(one.mean - other.mean), cheaper(one, other)
    return max(share, 1 - share) >= CLEAR and apart >= NEGLIGIBLE * other.mean


def _recommended(costed: LifeCosts) -> LifeCost:
    """The cost of the motor that the answer recommends; the least where that has no price."""
    known = (cost for cost in costed.costs if cost.name == costed.recommended)
    return next(known, costed.costs[0])


def _options(costed: LifeCosts, best: LifeCost, other: LifeCost | None) -> tuple[Option, ...]:
    """The recommended one, then who has a role; at least two where there are two."""
    holders = [
        (LEAST, costed.costs[0]),
        (TODAY, min(costed.costs, key=lambda cost: (cost.today.mean(), cost.mean))),
        (LASTING, _lasting(costed)),
    ]
    if best.name == costed.recommended:
        holders.insert(0, (BEST, best))
    if other is not None and all(cost is best for _, cost in holders):
        holders.append((NEXT, other))
    roles = {best.name: ()}  # the recommended one comes first
    for role, cost in holders:
        roles[cost.name] = (*roles.get(cost.name, ()), role)
    by_name = {cost.name: cost for cost in costed.costs}
    made = [_option(roles[name], by_name[name], costed.horizon) for name in roles]
    return tuple(made[:MOST])


def _lasting(costed: LifeCosts) -> LifeCost:
    """The cheapest of those with the fewest failures: a difference by luck gives no role."""
    counts = [sum(cost.failures.values()) for cost in costed.costs]
    luck = 3 * (2 * min(counts) / costed.costs[0].total.size) ** 0.5  # of two counts, by the draws
    most = min(counts) + max(SAME_SHARE * min(counts), SAME_FAILURES, luck)
    return next(c for c, count in zip(costed.costs, counts, strict=True) if count <= most)


def _option(roles, cost: LifeCost, years: int) -> Option:
    today, share = Money(cost.today.mean(), cost.currency), _of_100(cost.untroubled)
    why = Message("cost.option", today=today, share=share, **_life(cost, years))
    return Option(roles, cost, why, cost.yearly.assumed)


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
