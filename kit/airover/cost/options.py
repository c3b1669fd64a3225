"""Two or three motors to choose from, the one to take, and why, in words with their numbers.

The recommended motor is the one that the answer puts first, so that all documents name the same
one. Where another costs less over the years, or two cost about the same, the reason says so.
"""

from typing import NamedTuple

from airover.bands import Band
from airover.choose import FITS
from airover.cost.life_cost import LifeCost, LifeCosts, cheaper, difference

LEAST, TODAY, LASTING = "least over its life", "least today", "longest between visits"
BEST, NEXT = "best match", "next over its life"
MOST = 3
# Engineering judgment: cost decides between two motors where one is cheaper in nine of ten futures
# (the confidence of the 90 % ranges elsewhere; the other is the least of many estimates, so a
# smaller majority is often luck) and by more than 2 %. Motors whose failures are as near as this
# to the fewest last equally long.
CLEAR, NEGLIGIBLE = 0.9, 0.02
SAME_FAILURES, SAME_SHARE = 0.02, 0.05

NOT_INCLUDED = (
    "Taxes, permits, disposal of the old motor and any repair of the refrigerant side.",
    "Failures from water, lightning, a blade out of true or a mistake in fitting.",
    "Labour of a replacement under warranty is counted as paid; the motor itself is free.",
    "Prices that rise faster or slower than all others.",
)
NO_LOST_COOLING = "What a hot day without cooling costs the customer."


class Option(NamedTuple):
    """A motor's ``cost`` with the ``roles`` in which it is the best, and its figures in ``why``.

    ``assumed`` names its parts whose life nobody could work out."""

    roles: tuple[str, ...]
    cost: LifeCost
    why: str
    assumed: tuple[str, ...]


class Choices(NamedTuple):
    """``options``, the recommended first, and the ``reason`` in one sentence.

    ``other`` is the cost that the recommended one is measured against, None if there is none;
    ``probability`` that the recommended costs less, ``difference`` its cost less the other's (a
    Band, negative when it saves); ``decides`` is false where neither
    is clearly cheaper: see `decides`.
    """

    options: tuple[Option, ...]
    reason: str
    other: LifeCost | None
    probability: float | None
    difference: Band | None
    decides: bool
    not_included: tuple[str, ...]

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


def money_text(value: float, currency: str = "", digits: int = 3) -> str:
    """An amount with the ``digits`` that mean something.

    >>> money_text(1766.2, "USD"), money_text(-0.25, "USD")
    ('1,770 USD', '-0.25 USD')
    """
    return f"{float(f'{value:.{digits}g}'):,.10g} {currency}".strip()


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
    today = money_text(cost.today.mean(), cost.currency)
    why = f"About {today} today and {_life_text(cost, years)}; {_futures(cost.untroubled)} without"
    return Option(roles, cost, f"{why} a failure.", cost.yearly.assumed)


def _life_text(cost: LifeCost, years: int) -> str:
    low, _, high = (money_text(end) for end in cost.band)
    return f"{money_text(cost.mean, cost.currency)} over {years} years ({low} to {high})"


def _futures(share: float) -> str:
    return f"{100 * share:.0f} of 100 futures"


def _reason(best: LifeCost, other: LifeCost | None, chance, decided: bool, years: int) -> str:
    about = f"about {_life_text(best, years)}"
    plain = best.candidate.verdict == FITS
    take = f"Take the {best.name}{'' if plain else ', once what is open about it is settled'}"
    if other is None:
        return f"The {best.name} is the only motor that fits and has a price: {about}."
    apart = money_text(abs(best.mean - other.mean), best.currency, 2)
    seen = f"cheaper in {_futures(chance)}"
    if not decided:
        return (
            f"{take}: {about}. No other motor is clearly cheaper: the {other.name} averages "
            f"{apart} {'more' if best.mean <= other.mean else 'less'}, and the {best.name} is "
            f"{seen}."
        )
    often = _futures(max(chance, 1 - chance))
    if best.mean <= other.mean:
        return f"{take}: {about}, {_less(chance, apart, other.name, often)}."
    return (
        f"{take}, the best match: {about}; the {other.name} would come "
        f"{_lower(chance, apart, often)}, which may be a reason to choose it."
    )


def _less(chance, apart, other, often) -> str:
    """How one that costs less on average stands beside the ``other``."""
    if chance > 0.5:
        return f"{apart} less than the {other}, cheaper in {often}"
    return f"{apart} less on average than the {other}, though that is cheaper in {often}"


def _lower(chance, apart, often) -> str:
    """How far one of a lower average comes below the recommended."""
    if chance < 0.5:
        return f"{apart} lower, cheaper in {often}"
    return f"{apart} lower on average, though dearer in {often}"


def _not_included(costed: LifeCosts) -> tuple[str, ...]:
    lost = () if costed.basis.lost_cooling else (NO_LOST_COOLING,)
    without = ", ".join(costed.unpriced)
    unpriced = (f"Motors without a price in the catalogue: {without}.",) if without else ()
    return (*NOT_INCLUDED, *lost, *unpriced)
