"""Content of a proposal as plain data: tables, texts and figures, all written.

Templates only place it. A section has its ``title`` and below it ``rows`` (lists of texts) or
``items`` (sentences). Text that people typed is cleaned for a page: no control characters, no line
without a break. It is never code: templates get it as data, and HTML gets it escaped.
"""

import datetime
import re
import unicodedata
from dataclasses import dataclass

from airover.business import offer as lasting
from airover.business.life_cost import LifeCosts
from airover.business.offer import OfferedMotor, Price, price
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.texts import Writer
from airover.core.units import quoted
from airover.model.conditions import Input
from airover.records.company import Company, CostBasis
from airover.selection.answer import Answer
from airover.selection.check import ADAPT, MISSING, Check
from airover.selection.rules import FITS_WITH_WORK
from airover.service.cause import CLEAR, cause

LONGEST_WORD, PIECE = 24, 6  # letters; a longer word may break after any of its pieces
_LONG = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")
_PIECE = re.compile(rf"\S{{{PIECE}}}(?=\S)")
_BREAK = "\u200b"
_ISOLATE, _END = "\u2068", "\u2069"
_FROM_THE_RIGHT = ("R", "AL", "AN")
_TURNING = ("LRE", "LRO", "RLE", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")


NOT_SHOWN = ("horizon", "belly band price")  # said elsewhere; seldom needed
ORIGINS = ("measured", "nameplate", "catalog", "assumed")
_ELSEWHERE = ("winding life", "bearing life", "bearing kind")  # in the section on life
_ROUTINE = (
    "catalog's plate", "nameplate", "number of phases", "frequency", "winding without the rating",
)  # fmt: skip
PAPERS = {"US": "us-letter", "SI": "a4"}


@dataclass(frozen=True)
class Offer:
    """All that a proposal is made from; the recommended motor is the first of ``options``.

    ``invented_motors``: whether the catalog is the invented one that comes with the kit.
    """

    found: Answer
    options: list[OfferedMotor]
    costs: LifeCosts | None
    company: Company
    date: datetime.date
    writer: Writer
    invented_motors: bool = False

    @property
    def first(self) -> OfferedMotor:
        return self.options[0]

    @property
    def valid_until(self) -> datetime.date:
        return self.date + datetime.timedelta(days=self.company.validity_days)

    @property
    def price(self) -> Price | None:
        """Raises InputError where the catalog's currency is not the company's."""
        found = price(self.first, self.costs)
        if found is not None and found.currency != self.company.currency:
            accepted = Message("offer.refused.prices", currency=found.currency)
            field = Message("offer.refused.currency")
            raise InputError(field, quoted(self.company.currency), accepted)
        return found


def content(offer: Offer) -> dict:
    """The proposal as a table of texts, ready for JSON. Raises InputError as ``Offer.price``."""
    writer = offer.writer
    return {
        "language": writer.texts.language,
        "paper": PAPERS[writer.system],
        "head": _head(offer),
        "customer": _customer(offer),
        "unit": _unit(offer),
        "finding": _finding(offer),
        "offer": _offer(offer),
        "options": _options(offer),
        "price": _price(offer),
        "life": lasting.life(offer.first, offer.costs, writer),
        "warranty": lasting.warranty(offer.first.motor, offer.found.job.dates, offer.date, writer),
        "known": _known(offer),
        "work": _work(offer),
        "checks": _checks(offer),
        "caution": _listed(writer, "caution"),
        "sign": _sign(offer),
    }


def plain(text: str) -> str:
    """``text`` without control characters, nor those that turn its direction.

    What is written from right to left is set apart, so that its neighbours stay in their order.
    """
    kept = "".join(_allowed(c) for c in text)
    apart = any(unicodedata.bidirectional(c) in _FROM_THE_RIGHT for c in kept)
    return f"{_ISOLATE}{kept}{_END}" if apart else kept


def breakable(text: str) -> str:
    """``text`` with places where a very long word may break."""
    return _LONG.sub(lambda word: _PIECE.sub(rf"\g<0>{_BREAK}", word[0]), text)


def everywhere(change, value):
    """``change`` made to every text in plain data."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {name: everywhere(change, one) for name, one in value.items()}
    return [everywhere(change, one) for one in value]


def shown_checks(checks) -> list[Check]:
    """The checks of a table: all but those of how long the motor lasts."""
    return [check for check in checks if check.name not in _ELSEWHERE]


def closed_checks(checks) -> list[Check]:
    """The checks of the customer's table: neither routine nor in the list of what is to be done."""
    return [
        check
        for check in shown_checks(checks)
        if check.name not in _ROUTINE and check.state not in (ADAPT, MISSING)
    ]


def open_checks(checks) -> list[Check]:
    """Checks that ask for adapting, then those that ask for a fact."""
    return [check for state in (ADAPT, MISSING) for check in checks if check.state == state]


def _allowed(letter: str) -> str:
    if letter in "\n\t":
        return " "
    if unicodedata.bidirectional(letter) in _TURNING:
        return ""
    return "\N{REPLACEMENT CHARACTER}" if unicodedata.category(letter) in ("Cc", "Cs") else letter


def _head(offer: Offer) -> dict:
    writer = offer.writer
    company, job = offer.company, offer.found.job
    subject = writer("head.subject")
    dates = [
        [writer("head.date"), writer.value(offer.date)],
        [writer("head.valid"), writer.value(offer.valid_until)],
    ]
    if job.name:
        dates.append([writer("head.job"), job.name])
    return {
        "title": writer("head.title"),
        "subject": subject,
        "document": writer("head.document", subject=subject),
        "company": company.name,
        "company_lines": [x for x in (company.address, company.contact, company.licence) if x],
        "rows": dates,
        "invented": _invented(offer),
        "foot": writer("head.foot"),
        "page": writer("head.page", page="{page}", pages="{pages}"),
    }


def _invented(offer: Offer) -> str:
    """Remark that all of it is invented, or only the catalog; nothing where nothing is."""
    writer = offer.writer
    if offer.found.job.invented or offer.company.invented:
        return writer("head.invented")
    return writer("head.invented_motors") if offer.invented_motors else ""


def _customer(offer: Offer) -> dict:
    writer = offer.writer
    customer = offer.found.job.customer
    rows = [["customer.name", customer.name], ["customer.address", customer.address]]
    if customer.contact:
        rows.append(["customer.contact", customer.contact])
    return {
        "title": writer("customer.title"),
        "rows": [[writer(key), value] for key, value in rows],
    }


def _unit(offer: Offer) -> dict:
    """Known facts of the unit, in few rows."""
    writer, job = offer.writer, offer.found.job
    plate = job.nameplate
    rows = []
    old = (
        (plate.power, "power"), (plate.current, "current"), (plate.speed_rpm, "speed"),
        (plate.capacitor, "capacitance"),
    )  # fmt: skip
    written = [writer.amount(a, kind) for a, kind in old if a is not None]
    if written:
        rows.append([writer("unit.old"), ", ".join(written)])
    if job.blade.diameter is not None:
        size = writer.amount(job.blade.diameter, "blade_diameter")
        if job.blade.blades:
            size = writer("unit.blade_value", diameter=size, blades=job.blade.blades)
        rows.append([writer("unit.blade"), size])
    low, usual, high = offer.first.case.conditions.voltage
    more = writer.range(low, high, "voltage")
    line = writer.amount(usual, "voltage")
    rows.append([writer("unit.line"), writer("of", one=line, more=more)])
    if (air := job.site.outdoor_temperature) is not None:
        rows.append([writer("unit.air"), writer.amount(air, "air_temperature")])
    at_motor = offer.found.needed["temp_at_motor_c"]
    rows.append([writer("unit.at_motor"), writer.amount(at_motor, "air_temperature")])
    return {"title": writer("unit.title"), "rows": rows}


def _finding(offer: Offer) -> dict:
    """The technician's words and what was seen; where the cause is not known that is said."""
    writer = offer.writer
    finding = offer.found.job.finding
    failed = finding.failed or writer("finding.failed_unknown")
    seen = (f"found.{name}.{word}" for name, word in offer.found.job.found)
    failed = " ".join([failed, *(writer(key) for key in seen if writer.texts.has(key))])
    needed = offer.found.needed
    load = writer(
        "finding.load",
        power=writer.amount(needed["shaft_power_w"], "shaft_power"),
        speed=writer.amount(needed["speed_rpm"].mid, "speed"),
        air=writer.amount(needed["temp_at_motor_c"], "air_temperature"),
    )
    return {"title": writer("finding.title"), "items": [failed, _why(offer), load]}


def _why(offer: Offer) -> str:
    """The cause as the technician wrote it, else the likeliest by what was seen, if anything."""
    writer = offer.writer
    job = offer.found.job
    if job.finding.why:
        return writer("finding.why", why=job.finding.why)
    try:
        why = cause(job)
    except InputError:  # nothing was looked at
        return writer("finding.why_unknown")
    names = [writer.named("cause", one.cause.key, one.cause.name) for one in why.leaders]
    if why.standing == CLEAR:
        return writer("finding.likely", cause=names[0])
    return writer("finding.likely_not_alone", cause=names[0], other=names[1])


def _offer(offer: Offer) -> dict:
    """The recommended motor, and why it will do."""
    writer, first = offer.writer, offer.first
    case, motor = first.case, first.motor
    rating = writer.amount(case.rating, "power")
    fit = writer(
        f"offer.{first.candidate.verdict}",
        adapt=len(first.candidate.having(ADAPT)),
        open=len(first.candidate.having(MISSING)),
    ) if first.candidate.verdict == FITS_WITH_WORK else writer("offer.fits")  # fmt: skip
    plate, amps = (writer.amount(x, "current") for x in (case.rated_current, case.current))
    over = "_over" if case.current.high > case.rated_current else ""
    items = [fit, writer(f"offer.amps{over}", amps=amps, plate=plate), _heat(first, writer)]
    items += lasting.reason(first, offer.costs, writer)
    headline = writer("offer.headline", motor=motor.name, rating=rating)
    return {
        "title": writer("offer.title"),
        "headline": headline,
        "verdict": first.candidate.verdict,
        "items": items,
    }


def _heat(option: OfferedMotor, writer: Writer) -> str:
    """The winding against its limit; that it may pass it in the worst cases is said."""
    found = option.case.winding
    temp = writer.amount(found, "temperature")
    if option.limit is None:
        return writer("offer.heat_unknown", temp=temp)
    over = "_over" if found.high > option.limit else ""
    limit, letter = writer.amount(option.limit, "temperature"), option.motor.insulation_class
    return writer(f"offer.heat{over}", temp=temp, letter=letter, limit=limit)


def _options(offer: Offer) -> dict:
    """A column for each option, a row for each thing that one compares."""
    writer = offer.writer
    names = [writer("options.option", letter=option.letter) for option in offer.options]
    names[0] = writer("options.recommended", option=names[0])
    columns = [_option(offer, option) for option in offer.options]
    rows = [[title, *(column[title] for column in columns)] for title in columns[0]]
    return {
        "title": writer("options.title"),
        "head": ["", *names],
        "rows": [row for row in rows if any(row[1:])],
        "items": [] if len(offer.options) > 1 else [writer("options.single")],
    }


def _option(offer: Offer, option: OfferedMotor) -> dict[str, str]:
    """An option's cells by the title of their row."""
    writer, case, motor = offer.writer, option.case, option.motor
    amps = writer(
        "options.of_plate",
        found=writer.amount(case.current, "current"),
        limit=writer.amount(case.rated_current, "current"),
    )
    months = motor.warranty_from_installation
    cost = price(option, offer.costs)
    cells = {
        "motor": motor.name,
        "rating": writer.amount(case.rating, "power"),
        "fit": writer(f"fit.{option.candidate.verdict}"),
        "amps": amps,
        "winding": _winding(writer, option),
        "warranty": writer("none") if months is None else writer.months(months),
        "price": writer("none") if cost is None else writer.price(cost.total, cost.currency),
        **_over_years(offer, option),
        "why": ", ".join(writer(f"best_at.{name}") for name in option.why),
    }
    years = {} if offer.costs is None else {"years": offer.costs.horizon}
    return {writer(f"options.{name}", **years): text for name, text in cells.items()}


def _over_years(offer: Offer, option: OfferedMotor) -> dict[str, str]:
    """Cost and energy of an option over the years; empty cells where it has no price."""
    if offer.costs is None:
        return {}
    if option.cost is None:
        return dict.fromkeys(("energy", "cost", "chance"), "")
    writer, cost = offer.writer, option.cost
    return {
        "energy": writer.amount(cost.energy, "kwh"),
        "cost": writer.money(cost.band, cost.currency, 2),
        "chance": lasting.chance(offer.first, option, writer),
    }


def _winding(writer: Writer, option: OfferedMotor) -> str:
    found = writer.amount(option.case.winding, "temperature")
    if option.limit is None:
        return found
    limit = writer.amount(option.limit, "temperature")
    return writer("options.of_limit", found=found, limit=limit)


def _price(offer: Offer) -> dict:
    writer, found = offer.writer, offer.price
    below = [writer("price.valid", date=writer.value(offer.valid_until))]
    named = {} if found is None else found.lines
    left_out = [] if "labour" in named else ["labour", "materials"]
    excluded = {
        "title": writer("price.excluded"),
        "items": [writer(f"excluded.{name}") for name in (*left_out, "repair", "permit")],
    }
    if found is None:
        return {
            "title": writer("price.title"), "rows": [], "total": [],
            "items": [writer("price.unknown"), *below], "excluded": excluded,
        }  # fmt: skip
    estimated = any(band.low != band.high for band in found.lines.values())
    total = writer("price.total_estimate" if estimated else "price.total")
    if estimated:
        below.append(writer("price.estimated"))
    return {
        "title": writer("price.title"),
        "rows": [_line(writer, name, found) for name in found.lines],
        "total": [total, writer.price(found.total, found.currency)],
        "items": below,
        "excluded": excluded,
    }


def _line(writer: Writer, name: str, found: Price) -> list[str]:
    band, hours = found.lines[name], found.hours
    title = writer(
        f"line.{name}", hours="" if hours is None else writer.amount(hours, "working_time")
    )
    if band.low != band.high:
        title = writer("price.estimate", name=title)
    return [title, writer.price(band, found.currency)]


def _known(offer: Offer) -> dict:
    """Every input under where it came from."""
    writer, groups = offer.writer, {}
    for one in (*offer.found.inputs, *_assumed_costs(offer.costs)):
        groups.setdefault(one.origin, []).append(list(writer.input(one)[:2]))
    order = [origin for origin in ORIGINS if origin in groups]
    return {
        "title": writer("known.title"),
        "groups": [
            {"title": writer(f"known.{origin}"), "rows": groups[origin]} for origin in order
        ],
    }


def _assumed_costs(costs: LifeCosts | None) -> list[Input]:
    """Assumed inputs of the cost over the years."""
    names = {name.replace("_", " ") for name in CostBasis.names()} - set(NOT_SHOWN)
    return [] if costs is None else [one for one in costs.assumed if one.name in names]


def _work(offer: Offer) -> dict:
    writer = offer.writer
    items = [writer(check.why) for check in open_checks(offer.first.candidate.checks)]
    return {"title": writer("work.title"), "items": items or [writer("work.nothing")]}


def _checks(offer: Offer) -> dict:
    writer = offer.writer
    head = [writer(f"checks.{name}") for name in ("name", "sentence")]
    checks = closed_checks(offer.first.candidate.checks)
    return {
        "title": writer("checks.title"),
        "head": head,
        "rows": [list(writer.check(check)[:2]) for check in checks],
    }


def _listed(writer: Writer, table: str) -> dict:
    title, *items = writer.texts.below(table)
    return {"title": title, "items": items}


def _sign(offer: Offer) -> dict:
    writer = offer.writer
    return {
        "title": writer("sign.title"),
        "sentence": writer("sign.sentence"),
        "choices": [
            writer("options.option", letter=option.letter) + ": " + option.motor.name
            for option in offer.options
        ],
        "who": [writer("sign.customer"), writer("sign.company")],
        "lines": [writer(f"sign.{name}") for name in ("name", "signature", "date")],
    }
