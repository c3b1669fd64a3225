"""What is offered: the recommended motor, one or two beside it, and what sets each apart."""

from dataclasses import dataclass, replace

from airover.answer import Answer
from airover.bands import Band
from airover.choose import Candidate
from airover.choose.load import winding_limit
from airover.cost.life_cost import LifeCost, LifeCosts
from airover.cost.options import LEAST, choices
from airover.errors import InputError
from airover.message import Message

LETTERS = "ABC"
# What sets an option apart, besides its roles by life cost: names of texts under ``best_at``.
CHEAPEST, COOLEST, COVERED, OTHER = "cheapest", "coolest", "covered", "other"


@dataclass(frozen=True)
class Option:
    """A motor that is offered under a ``letter``; ``cost`` is None where it has no price.

    ``why`` names what it is best at.
    """

    letter: str
    candidate: Candidate
    cost: LifeCost | None
    why: tuple[str, ...] = ()

    @property
    def case(self):
        return self.candidate.case

    @property
    def motor(self):
        return self.candidate.case.motor

    @property
    def limit(self) -> float | None:
        """Highest average winding temperature [degC] of its class, None if that is not known."""
        insulating = self.motor.insulation_class
        return None if insulating is None else winding_limit(insulating)


def options(found: Answer, costs: LifeCosts | None, motor: str | None = None) -> list[Option]:
    """Two or three motors where there are so many, the recommended one first.

    That is ``motor`` by its name, else the first of ``found``, as in the answer and the work
    order; those beside it have the life cost's roles. Raises InputError when nothing fits, and for
    a name that no fitting motor has.
    """
    if not found.fitting:
        given = Message("offer.refused.none_fits", count=len(found.candidates))
        field = Message("offer.refused.proposal")
        raise InputError(field, given, Message("offer.refused.at_least_one"))
    roles, order = _by_cost(costs) if costs else ({}, [])
    order = [found.fitting[0], *order, *found.fitting[: 2 if costs else len(LETTERS)]]
    if motor is not None:
        order.insert(0, found.named(motor))
    by_name = {one.name: one for one in costs.costs} if costs else {}
    picked = {one.case.motor.name: one for one in order}
    plain = [
        Option(letter, candidate, by_name.get(name))
        for letter, (name, candidate) in zip(LETTERS, picked.items(), strict=False)
    ]
    return [replace(one, why=_why(one, plain, roles)) for one in plain]


def _by_cost(costs: LifeCosts):
    """The roles of the motors that the life cost would offer, and these in its order."""
    found = choices(costs)
    offered, luck = found.options, () if found.decides else (LEAST,)  # see cost.options.decides
    roles = {
        one.cost.name: tuple(role for role in one.roles if role not in luck) for one in offered
    }
    return roles, [one.cost.candidate for one in offered]


def _why(option: Option, among: list[Option], roles) -> tuple[str, ...]:
    """Its roles by life cost, and at what it alone is the best of those offered."""
    measures = {COOLEST: _heat, COVERED: _warranty}
    if not roles:
        measures[CHEAPEST] = _price
    best = (name for name, of in measures.items() if _alone(option, among, of))
    return (*roles.get(option.motor.name, ()), *best) or (OTHER,)


def _alone(option: Option, among: list[Option], of) -> bool:
    own, others = of(option), [of(one) for one in among if one is not option]
    known = own is not None and bool(others) and None not in others
    return known and own < min(others)


def _price(one: Option) -> float | None:
    return one.motor.price


def _heat(one: Option) -> float | None:
    """Kelvin over the limit, in steps that mean something."""
    return None if one.limit is None else round((one.case.winding.mid - one.limit) / 2)


def _warranty(one: Option) -> float | None:
    months = one.motor.warranty_from_installation
    return None if months is None else -months


@dataclass(frozen=True)
class Price:
    """What is paid at once, by ``lines`` (name to a Band of money, firm where its ends meet).

    ``hours`` [h] of labour, with what this motor's adapting adds; None without labour.
    """

    lines: dict[str, Band]
    currency: str
    hours: Band | None = None

    @property
    def total(self) -> Band:
        """Ends added to ends: the customer pays no more than the upper one."""
        return _sum(*self.lines.values())


def price(option: Option, costs: LifeCosts | None) -> Price | None:
    """The price of an option today; None for a motor without a price.

    What its job gives as one amount is firm; a range, or what was assumed, is an estimate.
    """
    if option.cost is None:
        known = option.motor.price
        return None if known is None else Price({"motor": _firm(known)}, option.motor.currency)
    at = costs.costs.index(option.cost)
    hours = Band(*(end + costs.plan.extra_hours[at] for end in _band(costs.basis.labour_hours)))
    return Price(_lines(option, costs, at, hours), option.cost.currency, hours)


def _lines(option: Option, costs: LifeCosts, at: int, hours: Band) -> dict[str, Band]:
    basis, materials = costs.basis, _band(costs.basis.capacitor_price)
    if costs.plan.bands[at]:
        materials = _sum(materials, _band(basis.belly_band_price))
    pairs = zip(_band(basis.labour_rate), hours, strict=True)
    return {
        "motor": _firm(option.motor.price),
        "materials": materials,
        "labour": Band(*(float(rate * time) for rate, time in pairs)),
        "visit": _band(basis.visit_price),
    }


def _firm(value: float) -> Band:
    return Band(value, value, value)


def _band(amount) -> Band:
    return Band(amount.low, amount.mid, amount.high)


def _sum(*bands: Band) -> Band:
    """Ends added to ends."""
    return Band(*(sum(ends) for ends in zip(*bands, strict=True)))
