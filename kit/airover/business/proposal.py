"""Select the motors for a proposal and provide the price, reason, life and warranty.

One or two alternatives are offered in addition to the recommended motor. The limits of the price
items are simply added, so the range of the total price is slightly too wide. The text consists of
messages that `airover.reports.proposal` formats for the customer. The customer sees expected values
and only one range, the price range.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

from airover.business.cost_options import LEAST, choices, decides
from airover.business.life_cost import LifeCost, LifeCosts
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Estimate, Message, Money, Quantity
from airover.core.units import Amount, quoted
from airover.model.conditions import Input
from airover.records.catalog import CatalogMotor
from airover.records.company import Company
from airover.records.fields import Dates, Span
from airover.selection.answer import Answer
from airover.selection.check import ADAPT, MISSING, Check
from airover.selection.comparison import winding_limit
from airover.selection.rules import Candidate
from airover.service.cause import CLEAR, cause
from airover.service.warranty import Cover, cover

LETTERS = "ABC"
# Advantages in addition to the life-cycle cost roles; keys of messages under ``best_at``.
CHEAPEST, COOLEST, COVERED, OTHER = "cheapest", "coolest", "covered", "other"
ORIGINS = ("measured", "nameplate", "catalog", "assumed")
# Inputs for which the customer may know a better value than the assumed one.
CUSTOMER_KNOWS = (
    "line voltage", "outdoor temperature", "fan diameter", "rated power", "rated speed",
    "energy price",
)  # fmt: skip
_OF_LIFE = ("winding life", "bearing life", "bearing kind")  # shown in the section on life
# years; lives above the first value are rounded to 5 years, and lives above the second are never
# promised
COARSE_YEARS, LONGEST_YEARS = 10, 20


@dataclass(frozen=True)
class OfferedMotor:
    """Motor offered under a ``letter``.

    Attributes
    ----------
    cost : LifeCost or None
        Life-cycle cost of the motor, or None if it has no price.
    why : tuple[str, ...]
        Names of the advantages of the motor.
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
        """Winding temperature limit [degC] of the insulation class, or None if unknown."""
        insulating = self.motor.insulation_class
        return None if insulating is None else winding_limit(insulating)


@dataclass(frozen=True)
class Price:
    """Price of the installation.

    Attributes
    ----------
    lines : dict[str, Band]
        Range of the amount by item name. The price is firm if the limits are equal.
    hours : Band or None
        Labor [h], including time for modifications, or None if there is no labor.
    """

    lines: dict[str, Band]
    currency: str
    hours: Band | None = None

    @property
    def total(self) -> Band:
        """Total price, calculated by adding the limits of the items."""
        return _sum(*self.lines.values())

    @property
    def is_firm(self) -> bool:
        return self.total.low == self.total.high


@dataclass(frozen=True)
class Offer:
    """Data of a proposal, with the recommended motor as the first of the ``options``.

    Attributes
    ----------
    invented_motors : bool
        True for the fictional catalog that comes with the kit.
    """

    found: Answer
    options: list[OfferedMotor]
    costs: LifeCosts | None
    company: Company
    date: datetime.date
    invented_motors: bool = False

    @property
    def first(self) -> OfferedMotor:
        return self.options[0]

    @property
    def valid_until(self) -> datetime.date:
        return self.date + datetime.timedelta(days=self.company.validity_days)

    @property
    def price(self) -> Price | None:
        """Return the price of the first option.

        Raises
        ------
        InputError
            If its currency is not the company's currency.
        """
        found = price(self.first, self.costs)
        if found is not None and found.currency != self.company.currency:
            accepted = Message("offer.refused.prices", currency=found.currency)
            field = Message("offer.refused.currency")
            raise InputError(field, quoted(self.company.currency), accepted)
        return found

    @property
    def invented(self) -> tuple[Message, ...]:
        """Names of the fictional items, or empty for a real proposal."""
        marked = {
            "job": self.found.job.invented,
            "company": self.company.invented,
            "motors": self.invented_motors or self.found.job.invented,
        }
        return tuple(Message(f"invented.{name}") for name, is_so in marked.items() if is_so)

    @property
    def cause(self) -> Message:
        """Cause recorded by the technician, or the most likely cause if none was recorded."""
        job = self.found.job
        if job.finding.why:
            return Message("finding.why", why=job.finding.why)
        try:
            why = cause(job)
        except InputError:  # no findings
            return Message("finding.why_unknown")
        names = [Message(f"cause.{one.cause.key}") for one in why.leaders]
        if why.standing == CLEAR or len(names) == 1:
            return Message("finding.likely", cause=names[0])
        return Message("finding.likely_not_alone", cause=names[0], other=names[1])

    @property
    def known(self) -> dict[str, list[Input]]:
        """Inputs by source.

        Assumed inputs are given as single values, and only if the customer may know a better value.
        """
        groups: dict[str, list[Input]] = {}
        assumed_costs = () if self.costs is None else self.costs.assumed
        for one in (*self.found.inputs, *assumed_costs):
            if one.origin == "assumed":
                if one.name not in CUSTOMER_KNOWS:
                    continue
                one = one._replace(value=_expected(one.value))
            groups.setdefault(one.origin, []).append(one)
        return {origin: groups[origin] for origin in ORIGINS if origin in groups}


def options(found: Answer, costs: LifeCosts | None, motor: str | None = None) -> list[OfferedMotor]:
    """Return the two or three motors to offer, with the recommended motor first.

    The recommended motor is the motor named ``motor``. By default, it is the first motor in
    ``found``, which is also the recommended motor in the answer and the work order. The other
    motors are those with a role in the life-cycle cost comparison.

    Raises
    ------
    InputError
        If no motor fits, or if no motor that fits has that name.
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


def price(option: OfferedMotor, costs: LifeCosts | None) -> Price | None:
    """Return today's price of an option, or None for a motor without a price.

    An amount entered in the job is a firm price. A range or an assumed amount is an estimate.
    """
    if option.cost is None:
        known = option.motor.price
        return None if known is None else Price({"motor": _firm(known)}, option.motor.currency)
    at = costs.costs.index(option.cost)
    hours = Band(*(end + costs.plan.extra_hours[at] for end in _band(costs.basis.labour_hours)))
    return Price(_lines(option, costs, at, hours), option.cost.currency, hours)


def shown_checks(checks) -> list[Check]:
    """Return the checks to list in a table, excluding those for motor life."""
    return [check for check in checks if check.name not in _OF_LIFE]


def open_checks(checks) -> list[Check]:
    """Return the checks that require a modification and the checks with missing information."""
    return [check for state in (ADAPT, MISSING) for check in checks if check.state == state]


def fit(offered: list[OfferedMotor]) -> list[Message]:
    """Return messages about fit, amps and winding temperature for the first motor.

    A cooler-running motor is mentioned if one may be needed.
    """
    first, case = offered[0], offered[0].case
    amps = {"amps": Estimate(case.current.mid, "current"),
            "plate": Quantity(case.rated_current, "current")}  # fmt: skip
    said = [Message(f"offer.{first.candidate.verdict}"), Message("offer.amps", **amps)]
    temp = Quantity(case.winding.mid, "temperature")
    if first.limit is None:
        return [*said, Message("offer.heat_unknown", temp=temp)]
    limit = {"letter": first.motor.insulation_class, "limit": Quantity(first.limit, "temperature")}
    said.append(Message("offer.heat", temp=temp, **limit))
    if case.winding.high > first.limit:
        cooler = next((one for one in offered[1:] if COOLEST in one.why), None)
        said.append(
            Message("offer.hot") if cooler is None
            else Message("offer.hot_cooler", letter=cooler.letter)
        )  # fmt: skip
    return said


def reason(first: OfferedMotor, costs: LifeCosts | None) -> Message | None:
    """Return the expected costs of the first motor and the best other motor, if available."""
    own = first.cost
    if own is None:
        return None
    values = {"cost": Money(own.mean, own.currency, 2), "years": costs.horizon, "motor": own.name}
    other = next((cost for cost in costs.costs if cost is not own), None)
    if other is None:
        return Message("reason.only", **values)
    if not decides(own, other):
        return Message("reason.near", **values)
    apart = Money(abs(own.mean - other.mean), own.currency, 2)
    key = "less" if own.mean <= other.mean else "match" if "best" in first.why else "chosen"
    return Message(f"reason.{key}", other=other.name, apart=apart, **values)


def life(option: OfferedMotor, costs: LifeCosts | None) -> list[Message]:
    """Return the expected life of each part, or the winding hours if no cost is available."""
    said = [_hours(option)] if option.cost is None else _years(option, costs.horizon)
    if costs is not None:
        energy = costs.basis.energy_price
        rate = Money(energy.mid, energy.unit, 2)
        said.append(Message("life.counted", years=costs.horizon, energy=rate))
    return [*said, Message("life.note")]


def warranty(motor: CatalogMotor, dates: Dates, today: datetime.date) -> list[Message]:
    """Return the warranty terms and the end of the warranty for an installation ``today``.

    The installation date of the job, if known, is used instead of ``today``.
    """
    key, known = "installed", dates.installed
    if known is None:
        key, known = "if_installed", Span(today, today, today.isoformat())
        if dates.manufactured is not None and dates.manufactured.first > today:
            known = dates.manufactured
        dates = dates.model_copy(update={"installed": known})
    found = cover(motor, dates)
    if found.last is None:
        return [Message("warranty.unknown"), Message("warranty.terms")]
    when = Message(f"warranty.{key}", date=known.first)
    return [_terms(motor), *_rule(found), *_ending(found, when), Message("warranty.terms")]


def _expected(value):
    """Return the median of a range, so that the customer sees a single value."""
    match value:
        case Quantity(Band() | Amount() as known, kind) | Estimate(
            Band() | Amount() as known, kind
        ):
            return Message("about", value=Estimate(known.mid, kind))
        case Money(Band() | Amount() as known, currency):
            return Message("about", value=Money(known.mid, currency, 2))
    return value


def _by_cost(costs: LifeCosts):
    """Return the life-cycle cost roles of the offered motors, and the motors in order of cost."""
    found = choices(costs)
    offered, luck = found.options, () if found.decides else (LEAST,)  # see cost_options.decides
    roles = {
        one.cost.name: tuple(role for role in one.roles if role not in luck) for one in offered
    }
    return roles, [one.cost.candidate for one in offered]


def _why(option: OfferedMotor, among: list[OfferedMotor], roles) -> tuple[str, ...]:
    """Return the life-cycle cost roles of ``option`` and the criteria by which it alone is best."""
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
    """Return the winding temperature relative to its limit, rounded to steps of 2 K.

    Smaller differences are ignored.
    """
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
    """Return the sum of bands by adding their limits."""
    return Band(*(sum(ends) for ends in zip(*bands, strict=True)))


def _years(option: OfferedMotor, horizon: int) -> list[Message]:
    lives = option.cost.yearly.lives
    parts = {part: _span(lives[part].mid) for part in ("winding", "bearing", "capacitor")}
    return [Message("life.parts", **parts), _repairs(option.cost, horizon)]


def _span(years: float) -> Message:
    """Format a life in rounded years for display, up to the longest life that is promised."""
    if years > LONGEST_YEARS:
        return Message("life.more", years=LONGEST_YEARS)
    whole = 5 * round(years / 5) if years > COARSE_YEARS else round(years)
    key = "less" if whole < 1 else "one" if whole == 1 else "about"
    return Message(f"life.{key}", years=whole)


def _repairs(cost: LifeCost, horizon: int) -> Message:
    """Return a message about the expected repairs within the horizon."""
    most = max(cost.failures, key=cost.failures.get)
    count = round(sum(cost.failures.values()))
    key = "repairs_none" if count < 1 else "repairs_one" if count == 1 else "repairs"
    return Message(f"life.{key}", years=horizon, count=count, part=Message(f"life.part_{most}"))


def _hours(option: OfferedMotor) -> Message:
    hours = option.case.winding_life.hours
    if hours is None:
        return Message("life.hours_unknown")
    return Message("life.hours", hours=Quantity(hours.mid, "two_digits"))


def _terms(motor: CatalogMotor) -> Message:
    months = {
        "installation": motor.warranty_from_installation,
        "manufacture": motor.warranty_from_manufacture,
    }
    known = {name: _months(count) for name, count in months.items() if count is not None}
    return Message(f"warranty.{'both' if len(known) == 2 else next(iter(known))}", **known)


def _months(count: float) -> Message:
    return Message("months.one") if round(count) == 1 else Message("months.many", count=count)


def _rule(found: Cover) -> Iterator[Message]:
    if None not in (found.from_manufacture, found.from_installation):
        yield Message(f"warranty.{found.rule}{'' if found.stated else '_assumed'}")


def _ending(found: Cover, when: Message) -> Iterator[Message]:
    """Return messages about the end date of the warranty coverage, if known."""
    first, last = found.last.first, found.last.last
    if first is None and last is None:
        yield Message("warranty.open")
        return
    both = "exact" if first == last else "between"
    key = both if first and last else "least" if first else "most"
    yield Message(f"warranty.{key}", when=when, first=first, last=last)
    if found.made_since is not None:
        yield Message("warranty.since", since=found.made_since)
