"""What stands on a proposal, gathered as plain data: tables, texts and figures, all said.

Templates only place it. A section has its ``title`` and below it ``rows`` (lists of texts) or
``items`` (sentences).
"""

import datetime
from dataclasses import dataclass

from airover.answer import Answer
from airover.cause.why import CLEAR, cause
from airover.choose import FITS_WITH_WORK
from airover.choose.check import ADAPT, MISSING
from airover.cost.life_cost import LifeCosts
from airover.errors import InputError
from airover.motor.conditions import Input
from airover.proposal import lasting
from airover.proposal.offered import Option, Price, price
from airover.proposal.said import Said, closed_checks, open_checks
from airover.records import Company, CostBasis
from airover.units import quoted

NOT_SHOWN = ("horizon", "belly band price")  # said elsewhere; seldom needed
ORIGINS = ("measured", "nameplate", "catalogue", "assumed")
PAPERS = {"US": "us-letter", "SI": "a4"}


@dataclass(frozen=True)
class Offer:
    """All that a proposal is made from; the recommended motor is the first of ``options``.

    ``invented_motors``: whether the catalogue is the invented one that comes with the kit.
    """

    found: Answer
    options: list[Option]
    costs: LifeCosts | None
    company: Company
    date: datetime.date
    said: Said
    invented_motors: bool = False

    @property
    def first(self) -> Option:
        return self.options[0]

    @property
    def valid_until(self) -> datetime.date:
        return self.date + datetime.timedelta(days=self.company.validity_days)

    @property
    def price(self) -> Price | None:
        """Raises InputError where the catalogue's currency is not the company's."""
        found = price(self.first, self.costs)
        if found is not None and found.currency != self.company.currency:
            accepted = f"{found.currency}, in which the catalogue has its prices"
            raise InputError("company currency", quoted(self.company.currency), accepted)
        return found


def content(offer: Offer) -> dict:
    """The proposal as a table of texts, ready for JSON. Raises InputError as ``Offer.price``."""
    said = offer.said
    return {
        "language": said.texts.language,
        "paper": PAPERS[said.system],
        "head": _head(offer),
        "customer": _customer(offer),
        "unit": _unit(offer),
        "finding": _finding(offer),
        "offer": _offer(offer),
        "options": _options(offer),
        "price": _price(offer),
        "life": lasting.life(offer.first, offer.costs, said),
        "warranty": lasting.warranty(offer.first.motor, offer.found.job.dates, offer.date, said),
        "known": _known(offer),
        "work": _work(offer),
        "checks": _checks(offer),
        "caution": _listed(said, "caution"),
        "sign": _sign(offer),
    }


def _head(offer: Offer) -> dict:
    texts, company, job = offer.said.texts, offer.company, offer.found.job
    subject = texts("head.subject")
    dates = [
        [texts("head.date"), texts.date(offer.date)],
        [texts("head.valid"), texts.date(offer.valid_until)],
    ]
    if job.name:
        dates.append([texts("head.job"), job.name])
    return {
        "title": texts("head.title"),
        "subject": subject,
        "document": texts("head.document", subject=subject),
        "company": company.name,
        "company_lines": [x for x in (company.address, company.contact, company.licence) if x],
        "rows": dates,
        "invented": _invented(offer),
        "foot": texts("head.foot"),
        "page": texts("head.page", page="{page}", pages="{pages}"),
    }


def _invented(offer: Offer) -> str:
    """That all of it is made up, or only the catalogue; nothing where nothing is."""
    if offer.found.job.invented or offer.company.invented:
        return offer.said.texts("head.invented")
    return offer.said.texts("head.invented_motors") if offer.invented_motors else ""


def _customer(offer: Offer) -> dict:
    texts, customer = offer.said.texts, offer.found.job.customer
    rows = [["customer.name", customer.name], ["customer.address", customer.address]]
    if customer.contact:
        rows.append(["customer.contact", customer.contact])
    return {
        "title": texts("customer.title"),
        "rows": [[texts(key), value] for key, value in rows],
    }


def _unit(offer: Offer) -> dict:
    """What is known of the unit, in few rows; what is not is left out."""
    said, job = offer.said, offer.found.job
    texts, plate = said.texts, job.nameplate
    rows = []
    old = (
        (plate.power, "power"), (plate.current, "current"), (plate.speed_rpm, "speed"),
        (plate.capacitor, "capacitance"),
    )  # fmt: skip
    written = [said.range(a.low, a.high, kind) for a, kind in old if a is not None]
    if written:
        rows.append([texts("unit.old"), ", ".join(written)])
    if job.blade.diameter is not None:
        size = said.range(job.blade.diameter.low, job.blade.diameter.high, "blade_diameter")
        if job.blade.blades:
            size = texts("unit.blade_value", diameter=size, blades=job.blade.blades)
        rows.append([texts("unit.blade"), size])
    low, usual, high = offer.first.case.conditions.voltage
    more = said.range(low, high, "voltage")
    line = said.amount(usual, "voltage")
    rows.append([texts("unit.line"), texts("of", one=line, more=more)])
    if (air := job.site.outdoor_temperature) is not None:
        rows.append([texts("unit.air"), said.range(air.low, air.high, "air_temperature")])
    at_motor = offer.found.needed["temp_at_motor_c"]
    rows.append([texts("unit.at_motor"), said.amount(at_motor, "air_temperature")])
    return {"title": texts("unit.title"), "rows": rows}


def _finding(offer: Offer) -> dict:
    """The technician's words and what was seen; where the cause is not known that is said."""
    texts, finding = offer.said.texts, offer.found.job.finding
    failed = finding.failed or texts("finding.failed_unknown")
    seen = (f"found.{name}.{word}" for name, word in offer.found.job.found)
    failed = " ".join([failed, *(texts(key) for key in seen if texts.has(key))])
    needed = offer.found.needed
    load = texts(
        "finding.load",
        power=offer.said.watts(needed["shaft_power_w"]),
        speed=offer.said.amount(needed["speed_rpm"].mid, "speed"),
        air=offer.said.amount(needed["temp_at_motor_c"], "air_temperature"),
    )
    return {"title": texts("finding.title"), "items": [failed, _why(offer), load]}


def _why(offer: Offer) -> str:
    """The cause as the technician wrote it, else the likeliest by what was seen, if anything."""
    texts, job = offer.said.texts, offer.found.job
    if job.finding.why:
        return texts("finding.why", why=job.finding.why)
    try:
        why = cause(job)
    except InputError:  # nothing was looked at
        return texts("finding.why_unknown")
    said = [offer.said.named("cause", one.cause.key, one.cause.name) for one in why.leaders]
    if why.standing == CLEAR:
        return texts("finding.likely", cause=said[0])
    return texts("finding.likely_not_alone", cause=said[0], other=said[1])


def _offer(offer: Offer) -> dict:
    """The recommended motor, and why it will do."""
    said, first = offer.said, offer.first
    texts, case, motor = said.texts, first.case, first.motor
    rating = said.amount(case.rating, "power")
    fit = texts(
        f"offer.{first.candidate.verdict}",
        adapt=len(first.candidate.having(ADAPT)),
        open=len(first.candidate.having(MISSING)),
    ) if first.candidate.verdict == FITS_WITH_WORK else texts("offer.fits")  # fmt: skip
    plate, amps = (said.amount(x, "current") for x in (case.rated_current, case.current))
    over = "_over" if case.current.high > case.rated_current else ""
    items = [fit, texts(f"offer.amps{over}", amps=amps, plate=plate), _heat(first, said)]
    items += lasting.reason(first, offer.costs, said)
    headline = texts("offer.headline", motor=motor.name, rating=rating)
    return {
        "title": texts("offer.title"),
        "headline": headline,
        "verdict": first.candidate.verdict,
        "items": items,
    }


def _heat(option: Option, said: Said) -> str:
    """The winding against its limit; that it may pass it in the worst cases is said."""
    texts, found = said.texts, option.case.winding
    temp = said.amount(found, "temperature")
    if option.limit is None:
        return texts("offer.heat_unknown", temp=temp)
    over = "_over" if found.high > option.limit else ""
    limit, letter = said.amount(option.limit, "temperature"), option.motor.insulation_class
    return texts(f"offer.heat{over}", temp=temp, letter=letter, limit=limit)


def _options(offer: Offer) -> dict:
    """A column for each option, a row for each thing that one compares."""
    texts = offer.said.texts
    names = [texts("options.option", letter=option.letter) for option in offer.options]
    names[0] = texts("options.recommended", option=names[0])
    columns = [_option(offer, option) for option in offer.options]
    rows = [[title, *(column[title] for column in columns)] for title in columns[0]]
    return {
        "title": texts("options.title"),
        "head": ["", *names],
        "rows": [row for row in rows if any(row[1:])],
        "items": [] if len(offer.options) > 1 else [texts("options.single")],
    }


def _option(offer: Offer, option: Option) -> dict[str, str]:
    """An option's cells by the title of their row."""
    said, case, motor = offer.said, option.case, option.motor
    texts = said.texts
    amps = texts(
        "options.of_plate",
        found=said.amount(case.current, "current"),
        limit=said.amount(case.rated_current, "current"),
    )
    months = motor.warranty_from_installation
    cost = price(option, offer.costs)
    cells = {
        "motor": motor.name,
        "rating": said.amount(case.rating, "power"),
        "fit": texts(f"fit.{option.candidate.verdict}"),
        "amps": amps,
        "winding": _winding(said, option),
        "warranty": texts("none") if months is None else said.months(months),
        "price": texts("none") if cost is None else said.money_band(cost.total, cost.currency),
        **_over_years(offer, option),
        "why": ", ".join(texts(f"best_at.{name}") for name in option.why),
    }
    years = {} if offer.costs is None else {"years": offer.costs.horizon}
    return {texts(f"options.{name}", **years): text for name, text in cells.items()}


def _over_years(offer: Offer, option: Option) -> dict[str, str]:
    """What an option costs and uses over the years; empty cells where it has no price."""
    if offer.costs is None:
        return {}
    if option.cost is None:
        return dict.fromkeys(("energy", "cost", "chance"), "")
    said, cost = offer.said, option.cost
    return {
        "energy": said.kilowatt_hours(cost.energy),
        "cost": said.money_about(cost.band, cost.currency),
        "chance": lasting.chance(offer.first, option, said),
    }


def _winding(said: Said, option: Option) -> str:
    found = said.amount(option.case.winding, "temperature")
    if option.limit is None:
        return found
    limit = said.amount(option.limit, "temperature")
    return said.texts("options.of_limit", found=found, limit=limit)


def _price(offer: Offer) -> dict:
    said, found = offer.said, offer.price
    texts = said.texts
    below = [texts("price.valid", date=texts.date(offer.valid_until))]
    named = {} if found is None else found.lines
    left_out = [] if "labour" in named else ["labour", "materials"]
    excluded = {
        "title": texts("price.excluded"),
        "items": [texts(f"excluded.{name}") for name in (*left_out, "repair", "permit")],
    }
    if found is None:
        return {
            "title": texts("price.title"), "rows": [], "total": [],
            "items": [texts("price.unknown"), *below], "excluded": excluded,
        }  # fmt: skip
    estimated = any(band.low != band.high for band in found.lines.values())
    total = texts("price.total_estimate" if estimated else "price.total")
    if estimated:
        below.append(texts("price.estimated"))
    return {
        "title": texts("price.title"),
        "rows": [_line(said, name, found) for name in found.lines],
        "total": [total, said.money_band(found.total, found.currency)],
        "items": below,
        "excluded": excluded,
    }


def _line(said: Said, name: str, found: Price) -> list[str]:
    band, hours = found.lines[name], found.hours
    title = said.texts(f"line.{name}", hours="" if hours is None else said.working_time(hours))
    if band.low != band.high:
        title = said.texts("price.estimate", name=title)
    return [title, said.money_band(band, found.currency)]


def _known(offer: Offer) -> dict:
    """Every input under where it came from."""
    said, groups = offer.said, {}
    for one in (*offer.found.inputs, *_assumed_costs(offer.costs)):
        groups.setdefault(one.origin, []).append(list(said.input(one)))
    order = [origin for origin in ORIGINS if origin in groups]
    return {
        "title": said.texts("known.title"),
        "groups": [
            {"title": said.texts(f"known.{origin}"), "rows": groups[origin]} for origin in order
        ],
    }


def _assumed_costs(costs: LifeCosts | None) -> list[Input]:
    """What the cost over the years is counted with and nobody gave."""
    names = {name.replace("_", " ") for name in CostBasis.names()} - set(NOT_SHOWN)
    return [] if costs is None else [one for one in costs.assumed if one.name in names]


def _work(offer: Offer) -> dict:
    texts = offer.said.texts
    items = [offer.said.sentence(check) for check in open_checks(offer.first.candidate.checks)]
    return {"title": texts("work.title"), "items": items or [texts("work.nothing")]}


def _checks(offer: Offer) -> dict:
    texts = offer.said.texts
    head = [texts(f"checks.{name}") for name in ("name", "sentence")]
    checks = closed_checks(offer.first.candidate.checks)
    return {
        "title": texts("checks.title"),
        "head": head,
        "rows": [list(offer.said.check(check)[:2]) for check in checks],
    }


def _listed(said: Said, table: str) -> dict:
    title, *items = said.texts.below(table)
    return {"title": title, "items": items}


def _sign(offer: Offer) -> dict:
    texts = offer.said.texts
    return {
        "title": texts("sign.title"),
        "sentence": texts("sign.sentence"),
        "choices": [
            texts("options.option", letter=option.letter) + ": " + option.motor.name
            for option in offer.options
        ],
        "who": [texts("sign.customer"), texts("sign.company")],
        "lines": [texts(f"sign.{name}") for name in ("name", "signature", "date")],
    }
