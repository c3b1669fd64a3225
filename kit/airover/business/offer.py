"""The motors offered: the recommended one, one or two beside it, and what sets each apart.

With the texts on life, cost and warranty. Prices are added end to end, so the total's range is
rather too wide.
"""

import datetime
from dataclasses import dataclass, replace

from airover.business.cost_options import LEAST, choices, decides
from airover.business.life_cost import LifeCost, LifeCosts, cheaper
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.texts import LONGEST_YEARS, Writer
from airover.records.catalog import CatalogMotor
from airover.records.fields import Dates, Span
from airover.selection.answer import Answer
from airover.selection.comparison import winding_limit
from airover.selection.rules import Candidate
from airover.service.warranty import Cover, cover

LETTERS = "ABC"
# What sets an option apart, besides its roles by life cost: names of texts under ``best_at``.
CHEAPEST, COOLEST, COVERED, OTHER = "cheapest", "coolest", "covered", "other"


@dataclass(frozen=True)
class OfferedMotor:
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


def options(found: Answer, costs: LifeCosts | None, motor: str | None = None) -> list[OfferedMotor]:
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
        OfferedMotor(letter, candidate, by_name.get(name))
        for letter, (name, candidate) in zip(LETTERS, picked.items(), strict=False)
    ]
    return [replace(one, why=_why(one, plain, roles)) for one in plain]


@dataclass(frozen=True)
class Price:
    """Price paid at once, by ``lines`` (name to a Band of money, firm where its ends meet).

    ``hours`` [h] of labor, with what this motor's adapting adds; None without labor.
    """

    lines: dict[str, Band]
    currency: str
    hours: Band | None = None

    @property
    def total(self) -> Band:
        """Ends added to ends: the customer pays no more than the upper one."""
        return _sum(*self.lines.values())


def price(option: OfferedMotor, costs: LifeCosts | None) -> Price | None:
    """The price of an option today; None for a motor without a price.

    What its job gives as one amount is firm; a range, or what was assumed, is an estimate.
    """
    if option.cost is None:
        known = option.motor.price
        return None if known is None else Price({"motor": _firm(known)}, option.motor.currency)
    at = costs.costs.index(option.cost)
    hours = Band(*(end + costs.plan.extra_hours[at] for end in _band(costs.basis.labour_hours)))
    return Price(_lines(option, costs, at, hours), option.cost.currency, hours)


def life(option: OfferedMotor, costs: LifeCosts | None, writer: Writer) -> dict:
    """Years of each part over a year of weather; without a life cost hours at design heat."""
    items = _hours(option, writer) if option.cost is None else _years(option, costs, writer)
    if costs is not None:
        items.append(_counted(costs, writer))
    return {"title": writer("life.title"), "items": [*items, writer("life.note")]}


def reason(first: OfferedMotor, costs: LifeCosts | None, writer: Writer) -> list[str]:
    """Reason for the first: its cost over the years, beside the best of all others."""
    if first.cost is None:
        return []
    key, own = "only", first.cost
    values = {"cost": writer.money(own.mean, own.currency, 2), "years": costs.horizon,
              "motor": own.name}  # fmt: skip
    other = next((cost for cost in costs.costs if cost is not own), None)
    if other is not None:
        share = cheaper(own, other)
        key = _key(first, share, own.mean <= other.mean) if decides(own, other) else "near"
        share = max(share, 1 - share)  # how often the one that is named as cheaper is so
        apart = writer.money(abs(own.mean - other.mean), own.currency, 2)
        values |= {"other": other.name, "apart": apart, "share": f"{100 * share:.0f}"}
    return [writer(f"reason.{key}", **values)]


def chance(first: OfferedMotor, option: OfferedMotor, writer: Writer) -> str:
    """In how many of a hundred futures an option costs less than the first, where that decides."""
    known = None not in (first.cost, option.cost)
    if option is first or not known or not decides(option.cost, first.cost):
        return ""
    share = f"{100 * cheaper(option.cost, first.cost):.0f}"
    return writer("options.share", share=share)


def warranty(motor: CatalogMotor, dates: Dates, today: datetime.date, writer: Writer) -> dict:
    """The maker's terms, and the day they end if installed ``today`` (or on the job's day)."""
    known = dates.installed
    if known is None:
        known = Span(today, today, today.isoformat())
        if dates.manufactured is not None and dates.manufactured.first > today:
            known = dates.manufactured
        dates = dates.model_copy(update={"installed": known})
        when = writer("warranty.if_installed", date=writer.value(known.first))
    else:
        when = writer("warranty.installed", date=writer.value(known.first))
    found = cover(motor, dates)
    items = [writer("warranty.unknown")]
    if found.last is not None:
        items = [_terms(motor, writer), *_rule(found, writer), *_ending(found, when, writer)]
    return {"title": writer("warranty.title"), "items": [*items, writer("warranty.terms")]}


def _by_cost(costs: LifeCosts):
    """The roles of the motors that the life cost would offer, and these in its order."""
    found = choices(costs)
    offered, luck = found.options, () if found.decides else (LEAST,)  # see cost.options.decides
    roles = {
        one.cost.name: tuple(role for role in one.roles if role not in luck) for one in offered
    }
    return roles, [one.cost.candidate for one in offered]


def _why(option: OfferedMotor, among: list[OfferedMotor], roles) -> tuple[str, ...]:
    """Its roles by life cost, and at what it alone is the best of those offered."""
    measures = {COOLEST: _heat, COVERED: _warranty}
    if not roles:
        measures[CHEAPEST] = _price
    best = (name for name, of in measures.items() if _alone(option, among, of))
    return (*roles.get(option.motor.name, ()), *best) or (OTHER,)


def _alone(option: OfferedMotor, among: list[OfferedMotor], of) -> bool:
    own, others = of(option), [of(one) for one in among if one is not option]
    known = own is not None and bool(others) and None not in others
    return known and own < min(others)


def _price(one: OfferedMotor) -> float | None:
    return one.motor.price


def _heat(one: OfferedMotor) -> float | None:
    """Kelvin over the limit, in steps that mean something."""
    return None if one.limit is None else round((one.case.winding.mid - one.limit) / 2)


def _warranty(one: OfferedMotor) -> float | None:
    months = one.motor.warranty_from_installation
    return None if months is None else -months


def _lines(option: OfferedMotor, costs: LifeCosts, at: int, hours: Band) -> dict[str, Band]:
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


def _counted(costs: LifeCosts, writer: Writer) -> str:
    """Basis of the cost over the years, with its price and rate."""
    energy, rate = costs.basis.energy_price, costs.basis.discount_rate
    return writer(
        "life.counted",
        years=costs.horizon,
        energy=writer.money(energy, energy.unit),
        rate=writer.amount(rate, "yearly_rate"),
    )


def _years(option: OfferedMotor, costs: LifeCosts, writer: Writer) -> list[str]:
    year = option.cost.yearly
    hours = f"{round(year.hours, -1):,.0f}"
    key = "winding_assumed" if "winding" in year.assumed else "winding"
    items = [writer("life.meaning")]
    items.append(writer(f"life.{key}", span=_span(year.lives["winding"], writer), hours=hours))
    known = {"bearing": option.motor.bearings, "capacitor": "years"}
    for part, worked in known.items():
        origin = "assumed" if part in year.assumed else worked
        items.append(writer(f"life.{part}_{origin}", span=_span(year.lives[part], writer)))
    return [*items, _repairs(option.cost, costs.horizon, writer)]


def _repairs(cost: LifeCost, years: int, writer: Writer) -> str:
    """Expected repairs: who reads of short lives beside a long horizon has to know."""
    most = max(cost.failures, key=cost.failures.get)
    return writer(
        "life.repairs",
        years=years,
        count=f"{sum(cost.failures.values()):.2g}",
        part=writer(f"life.part_{most}"),
        share=f"{100 * cost.untroubled:.0f}",
    )


def _span(band, writer: Writer) -> str:
    """Years from and to: whole ones, and none longer than anybody can promise."""
    more = writer("life.more", years=LONGEST_YEARS)
    ends = (band.low, band.high)
    low, high = (more if years > LONGEST_YEARS else f"{years:.0f}" for years in ends)
    if band.low < 1:
        low = writer("life.less")
    if band.high < 1:
        return low
    return low if low == high else writer("to", low=low, high=high)


def _hours(option: OfferedMotor, writer: Writer) -> list[str]:
    hours = option.case.winding_life.hours
    if hours is None:
        return [writer("life.hours_unknown")]
    return [
        writer(
            "life.hours",
            low=writer.amount(hours.low, "two_digits"),
            high=writer.amount(hours.high, "two_digits"),
        )
    ]


def _key(first: OfferedMotor, share: float, less: bool) -> str:
    """Key of the words on the first beside the other: ``share`` as `life_cost.cheaper`, and
    whether it costs ``less`` on average."""
    if share > 0.5:
        return "less" if less else "mixed"
    if less:
        return "seldom"
    return "plain" if "best" in first.why else "chosen"


def _terms(motor: CatalogMotor, writer: Writer) -> str:
    put_in, made = motor.warranty_from_installation, motor.warranty_from_manufacture
    if put_in is None:
        return writer("warranty.manufacture", months=writer.months(made))
    if made is None:
        return writer("warranty.installation", months=writer.months(put_in))
    return writer("warranty.both", months=writer.months(put_in), made=writer.months(made))


def _rule(found: Cover, writer: Writer) -> list[str]:
    if None in (found.from_manufacture, found.from_installation):
        return []
    assumed = "" if found.stated else "_assumed"
    return [writer(f"warranty.{found.rule}{assumed}")]


def _ending(found: Cover, when: str, writer: Writer) -> list[str]:
    """End of the cover, as far as it is known."""
    first, last = (end and writer.value(end) for end in (found.last.first, found.last.last))
    if first is None and last is None:
        return [writer("warranty.open")]
    both = "exact" if first == last else "between"
    key = both if first and last else "least" if first else "most"
    said_of_end = [writer(f"warranty.{key}", when=when, first=first, last=last)]
    if found.made_since is not None:
        said_of_end.append(writer("warranty.since", since=writer.value(found.made_since)))
    return said_of_end
