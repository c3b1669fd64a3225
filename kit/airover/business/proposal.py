"""Select the motors for a proposal and provide the work, price, reason, life and warranty.

One or two alternatives are offered in addition to the recommended motor. The text consists of
messages that `airover.reports.proposal` formats for the customer. The customer sees expected values
and no ranges. The cost over the years includes the total that the customer pays today, with markup,
tax and permit, and future repairs at the same prices.
"""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

from airover.business.cost_options import BEST, LASTING, LEAST, TODAY, choices, decides
from airover.business.life_cost import BELLY_BAND, LifeCost, LifeCosts
from airover.business.price import Price, price
from airover.core.errors import InputError
from airover.core.intervals import Band
from airover.core.message import Estimate, Message, Money, Quantity
from airover.core.units import Amount, quoted
from airover.model.conditions import Input
from airover.records.catalog import CatalogMotor
from airover.records.company import VALIDITY_DAYS, Company
from airover.records.fields import ENDS_FIRST, Dates, Span
from airover.selection.answer import Answer
from airover.selection.check import ADAPT, MISSING, Check
from airover.selection.comparison import winding_limit
from airover.selection.rules import FITS, Candidate
from airover.service.cause import CLEAR, cause
from airover.service.roof_sheet import BAD_BLADE
from airover.service.warranty import Cover, cover

LETTERS = "ABC"
NOBODY = Company()
# Advantages in addition to the life-cycle cost roles; keys of messages under ``advantage``.
COOLEST, COVERED, OTHER = "coolest", "covered", "other"
ORIGINS = ("measured", "nameplate", "catalog", "assumed")
# Inputs for which the customer may know a better value than the assumed one.
CUSTOMER_KNOWS = (
    "line voltage", "outdoor temperature", "fan diameter", "rated power", "rated speed",
    "energy price",
)  # fmt: skip
# Findings on the motor itself, the most important first.
OF_MOTOR = ("winding", "bearings", "inside", "start", "capacitor_fault")
# Checks whose modification is work that the customer can picture.
FITTING = ("shaft length", "body length", "full-load amps", "horsepower")
# Checks that are settled by a reading on the running motor, unless the catalog lacks the rating.
AFTER_START = ("ambient rating", "winding temperature", "running amps", "starting on low voltage")
_OF_ENERGY = ("energy of the motor", "compressor's extra energy")
# years; lives above the first value are rounded to 5 years, and lives above the second are never
# promised
COARSE_YEARS, LONGEST_YEARS = 10, 20


@dataclass(frozen=True)
class OfferedMotor:
    """Motor offered as one of the lettered options, with its ``letter``.

    Attributes
    ----------
    cost : LifeCost or None
        Life-cycle cost of the motor, or None if it has no price.
    price : Price or None
        Price of the installation, or None if the motor has no price.
    why : tuple[str, ...]
        Names of the advantages of the motor.
    """

    letter: str
    candidate: Candidate
    cost: LifeCost | None
    price: Price | None
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

    @property
    def spending(self) -> dict[str, float] | None:
        """Expected cost over the years by purpose, or None if the motor has no price.

        The purposes are "today" (the total in the proposal), "energy" and "repairs". The repairs
        of the life-cycle cost are scaled to the prices of the company.
        """
        if self.cost is None or self.price is None:
            return None
        energy = sum(float(self.cost.parts[name].mean()) for name in _OF_ENERGY)
        today = float(self.cost.today.mean())
        worth = self.price.sum.mid / today if today else 1.0
        repairs = worth * float(self.cost.parts["repairs"].mean())
        return {"today": self.price.total, "energy": energy, "repairs": repairs}

    @property
    def unconfirmed(self) -> list[Message]:
        """Names of the facts to confirm before the motor is ordered."""
        return [
            Message(f"confirm.{check.name}")
            for check in self.candidate.having(MISSING)
            if check.name not in AFTER_START or check.why.key.endswith(".unlisted")
        ]

    @property
    def over_years(self) -> float | None:
        """Expected cost over the years, or None if the motor has no price."""
        return None if self.spending is None else sum(self.spending.values())


@dataclass(frozen=True)
class Offer:
    """Data for a proposal, with the recommended motor as the first of the ``options``.

    Attributes
    ----------
    invented_motors : bool
        True for the fictional catalog that comes with the kit.
    details : bool
        True for a second page with technical details.
    """

    found: Answer
    options: list[OfferedMotor]
    costs: LifeCosts | None
    company: Company
    date: datetime.date
    invented_motors: bool = False
    details: bool = False

    @property
    def first(self) -> OfferedMotor:
        return self.options[0]

    @property
    def valid_until(self) -> datetime.date:
        return self.date + datetime.timedelta(days=self.company.validity_days or VALIDITY_DAYS)

    @property
    def price(self) -> Price | None:
        """Price of the first option."""
        return self.first.price

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
        """Cause recorded by the technician, or otherwise the most likely cause."""
        job = self.found.job
        if job.finding.why:
            return Message("finding.why", why=job.finding.why)
        leaders = self._leaders[0]
        if not leaders:
            return Message("finding.why_unknown")
        return Message("finding.likely", cause=leaders[0])

    @property
    def other_cause(self) -> Message | None:
        """Second possible cause, or None if the first is known or clear."""
        leaders, clear = self._leaders
        if self.found.job.finding.why or clear or len(leaders) < 2:
            return None
        return Message("finding.also_possible", cause=leaders[1])

    @property
    def findings(self) -> tuple[list[Message], list[Message]]:
        """Findings on the motor itself, and all other findings."""
        found = {name: Message(f"found.{name}.{word}") for name, word in self.found.job.found}
        own = [found.pop(name) for name in OF_MOTOR if name in found]
        return own, list(found.values())

    @property
    def included(self) -> list[Message]:
        """Parts and work in the price of the first option."""
        motor, adapted = self.first.motor, self.first.candidate.having(ADAPT)
        rating = Quantity(self.first.case.rating, "power")
        said = [Message("includes.motor", motor=motor.name, rating=rating)]
        if motor.capacitor is None:
            said.append(Message("includes.capacitor_unknown"))
        else:
            said.append(
                Message("includes.capacitor", size=Quantity(motor.capacitor, "capacitance"))
            )
        names = {check.name for check in adapted}
        if not names.isdisjoint(BELLY_BAND):
            said.append(Message("includes.band"))
        said += [Message(f"includes.fitting.{name}") for name in FITTING if name in names]
        return [*said, *(Message(f"includes.{name}") for name in ("work", "start", "removal"))]

    @property
    def excluded(self) -> list[Message]:
        """Items that the price does not include."""
        found, names = self.found.job.found, ["repair"]
        if found.coil in ("dirty", "blocked"):
            names.append("coil")
        if found.blade in BAD_BLADE:
            names.append("blade")
        names += [name for name in ("permit", "tax") if getattr(self.company, name) is None]
        return [Message(f"excluded.{name}") for name in names]

    @property
    def _leaders(self) -> tuple[list[Message], bool]:
        """Names of the most likely causes, and True if the first is clear."""
        try:
            why = cause(self.found.job)
        except InputError:  # no findings
            return [], False
        names = [Message(f"cause.{one.cause.key}") for one in why.leaders]
        return names, why.standing == CLEAR

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


def options(
    found: Answer, costs: LifeCosts | None, motor: str | None = None, company: Company = NOBODY
) -> list[OfferedMotor]:
    """Return the two or three motors to offer, with the recommended motor first.

    The recommended motor is the motor named ``motor``. By default, it is the first motor in
    ``found``, which is also the recommended motor in the answer and the work order. The other
    motors are those with a role in the life-cycle cost comparison.

    Raises
    ------
    InputError
        If no motor fits, or if no fitting motor has that name.
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
    pairs = zip(LETTERS, picked.items(), strict=False)
    plain = [
        OfferedMotor(letter, one, by_name.get(name), price(one, found.job.cost, company))
        for letter, (name, one) in pairs
    ]
    return [replace(one, why=_why(one, plain, roles)) for one in plain]


def in_catalog_currency(found: Answer, company: Company) -> Company:
    """Return ``company``, or a company without data in the currency of the catalog.

    Raises
    ------
    InputError
        If the company's currency differs from the catalog's currency.
    """
    motors = (one.case.motor for one in found.fitting)
    currency = next((motor.currency for motor in motors if motor.price is not None), "")
    if currency in ("", company.currency):
        return company
    if company == NOBODY:
        return Company(currency=currency)
    accepted = Message("offer.refused.prices", currency=currency)
    raise InputError(Message("offer.refused.currency"), quoted(company.currency), accepted)


def open_checks(checks) -> list[Check]:
    """Return the checks that require a modification and the checks with missing information."""
    return [check for state in (ADAPT, MISSING) for check in checks if check.state == state]


def recommendation(offer: Offer) -> list[Message]:
    """Return one or two plain sentences about the first motor."""
    first = offer.first
    names = {check.name for check in first.candidate.having(ADAPT)}
    key = first.candidate.verdict
    if key != FITS and names.isdisjoint((*FITTING, *BELLY_BAND)):
        key = "to_confirm"
    said = [Message(f"offer.{key}")]
    if BEST not in first.why:
        return said
    cheaper = next((one.letter for one in offer.options[1:] if LEAST in one.why), None)
    best = Message("offer.best") if cheaper is None else Message("offer.best_but", letter=cheaper)
    return [*said, best]


def advantages(option: OfferedMotor, offered: list[OfferedMotor], years: int) -> list[Message]:
    """Return the one or two main advantages of an option."""
    first, said = offered[0], []
    for name in option.why[:2]:
        if name == LEAST and option is not first and first.over_years is not None:
            apart = Money(first.over_years - option.over_years, option.price.currency, 2)
            letter = first.letter
            said.append(Message("advantage.less", apart=apart, years=years, letter=letter))
        else:
            said.append(Message(f"advantage.{name}", years=years))
    return said


def technical(offered: list[OfferedMotor]) -> list[Message]:
    """Return messages about the amps and the winding temperature of the first motor.

    The message mentions a cooler-running motor if one may be needed.
    """
    first, case = offered[0], offered[0].case
    amps = {"amps": Estimate(case.current.mid, "current"),
            "plate": Quantity(case.rated_current, "current")}  # fmt: skip
    said = [Message("offer.amps", **amps)]
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


def reason(offered: list[OfferedMotor], years: int) -> Message | None:
    """Return the expected costs of the first option and the best alternative, if known."""
    first, *others = offered
    if first.over_years is None:
        return None
    currency = first.price.currency
    values = {"cost": Money(first.over_years, currency, 2), "years": years}
    known = [one for one in others if one.over_years is not None]
    if not known:
        return Message("reason.only", **values)
    other = min(known, key=lambda one: one.over_years)
    if not decides(first.cost, other.cost):
        return Message("reason.near", **values)
    apart = Money(abs(first.over_years - other.over_years), currency, 2)
    key = "less" if first.over_years <= other.over_years else "more"
    return Message(f"reason.{key}", letter=other.letter, apart=apart, **values)


def life(option: OfferedMotor, costs: LifeCosts | None) -> list[Message]:
    """Return the expected life of each part, or the winding hours if no cost is available."""
    said = _hours(option) if option.cost is None else _years(option, costs.horizon)
    if costs is not None:
        energy = costs.basis.energy_price
        rate = Money(energy.mid, energy.unit, 2)
        said.append(Message("life.counted", years=costs.horizon, energy=rate))
    return [*said, Message("life.note")]


def part_warranty(motor: CatalogMotor, dates: Dates) -> Message | None:
    """Return the manufacturer's warranty terms in one phrase, or None if they are unknown."""
    months = _warranty_months(motor)
    if not months:
        return None
    rule = f"both_{dates.warranty_ends or ENDS_FIRST}"
    return Message(f"warranty.part.{rule if len(months) == 2 else next(iter(months))}", **months)


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
    """Return the criteria by which ``option`` alone is best, or OTHER."""
    own = roles.get(option.motor.name, ())
    measures = {LEAST: _over_years, TODAY: _total, LASTING: _failures, COOLEST: _heat,
                COVERED: _warranty}  # fmt: skip
    for name in (LEAST, LASTING):  # only if the difference is clear
        if name not in own:
            measures.pop(name)
    best = tuple(name for name, of in measures.items() if _alone(option, among, of))
    return ((BEST,) if BEST in own else ()) + best or (OTHER,)


def _alone(option: OfferedMotor, among: list[OfferedMotor], of) -> bool:
    own, others = of(option), [of(one) for one in among if one is not option]
    known = own is not None and bool(others) and None not in others
    return known and own < min(others)


def _over_years(one: OfferedMotor) -> float | None:
    return one.over_years


def _total(one: OfferedMotor) -> float | None:
    return None if one.price is None else one.price.total


def _failures(one: OfferedMotor) -> float | None:
    return None if one.cost is None else sum(one.cost.failures.values())


def _heat(one: OfferedMotor) -> float | None:
    """Return the winding temperature relative to its limit, rounded to steps of 2 K.

    Smaller differences are ignored.
    """
    return None if one.limit is None else round((one.case.winding.mid - one.limit) / 2)


def _warranty(one: OfferedMotor) -> float | None:
    months = one.motor.warranty_from_installation
    return None if months is None else -months


def _years(option: OfferedMotor, horizon: int) -> list[Message]:
    lives = option.cost.yearly.lives
    parts = {part: _span(lives[part].mid) for part in ("winding", "bearing", "capacitor")}
    repairs = _repairs(option.cost, horizon)
    if option.motor.insulation_class is None:
        del parts["winding"]
        return [Message("life.parts_unclassed", **parts), Message("life.hours_unknown"), repairs]
    return [Message("life.parts", **parts), repairs]


def _span(years: float) -> Message:
    """Format a life for display, rounded to years and capped at the longest life promised."""
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


def _hours(option: OfferedMotor) -> list[Message]:
    hours = option.case.winding_life.hours
    if hours is None:
        return [Message("life.hours_unknown")]
    return [Message("life.hours", hours=Quantity(hours.mid, "two_digits"))]


def _terms(motor: CatalogMotor) -> Message:
    months = _warranty_months(motor)
    return Message(f"warranty.{'both' if len(months) == 2 else next(iter(months))}", **months)


def _warranty_months(motor: CatalogMotor) -> dict[str, Message]:
    months = {
        "installation": motor.warranty_from_installation,
        "manufacture": motor.warranty_from_manufacture,
    }
    return {name: _months(count) for name, count in months.items() if count is not None}


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
