"""Write a proposal for the customer's signature, as PDF and HTML.

The first page is for the customer: what failed, what is recommended, what it includes, the price,
the warranty, the options and the signature. It has no ranges and no statistics. The optional second
page gives amps, temperatures, energy and life as expected values ("about 1.7 A").

The function `content` returns the proposal as plain data. The PDF is typeset by typst from a
template that users can replace. The HTML page escapes all text and loads no external files. A
template receives the proposal in ``proposal.json`` and displays it as text. It can read only this
file, the images and the logo. A template that imports, includes or evaluates anything is rejected
because typst could download a package. Ordinary jobs fit on one page, or on two with the details.
Very long text continues on another page.
"""

import base64
import datetime
import json
import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from airover.business.life_cost import LifeCosts, life_cost
from airover.business.price import Price
from airover.business.proposal import (
    Offer,
    OfferedMotor,
    advantages,
    in_catalog_currency,
    life,
    open_checks,
    options,
    part_warranty,
    reason,
    recommendation,
    technical,
    warranty,
)
from airover.core.errors import InputError
from airover.core.files import read_text, write_files
from airover.core.intervals import Band
from airover.core.message import Estimate, Message, Money
from airover.core.texts import ENGLISH, Writer
from airover.records.company import EVERYTHING, Company, logo_type
from airover.reports import palette
from airover.reports import proposal_figures as figures
from airover.reports.drawing import svg
from airover.reports.html import TEMPLATES, html_page
from airover.reports.plain import changed_limits
from airover.reports.typeset import everywhere, plain, typeset
from airover.selection.answer import Answer

PAPERS = {"US": "us-letter", "SI": "a4"}
TEMPLATE = TEMPLATES / "proposal.typ"
MOST_FINDINGS = 2  # on the first page
LARGEST_TEMPLATE = 200_000  # bytes
# Characters. Tens of thousands of consecutive combining marks would keep typst busy for minutes.
LONGEST_LINE = 1000
# Statements that could make typst download a package, also one whose name is assembled by code.
_GAP = r"(?:\s|/\*.*?\*/|//[^\n]*\n)*"  # spaces and comments
_OTHER_FILES = re.compile(
    rf"""["']@[a-z]|\beval\b|\bstd\b(?!\.[a-z])|#{_GAP}(?:import|include)\b"""
    rf"""|\b(?:import|include)\b{_GAP}["(]"""
    r"""|(?:[]{}();=,+*<>-]|(?<!/)/(?!/)|\b(?:return|else|in|and|or|not|context))"""
    rf"""{_GAP}\b(?:import|include)\b"""
    rf"""|^{_GAP}(?:import|include)\b{_GAP}\S+{_GAP}(?::|$)""",
    re.MULTILINE | re.DOTALL,
)
_NAME = "proposal"
_TYPES = {"svg": "image/svg+xml", "png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg"}


class ProposalPicture(NamedTuple):
    """SVG image with its file ``name`` and title.

    Attributes
    ----------
    words : str
        Description for readers who cannot see the image.
    """

    name: str
    title: str
    words: str
    svg: bytes


def read_template(path=None) -> str:
    """Read and check a template, by default the template supplied with airover."""
    text = read_text(TEMPLATE if path is None else path, "template", LARGEST_TEMPLATE)
    if max(map(len, text.splitlines() or [""])) > LONGEST_LINE:
        given = Message("error.template.long_line", most=LONGEST_LINE)
        raise InputError("template", given, Message("error.template.shorter"))
    if _OTHER_FILES.search(text):
        given, accepted = Message("error.template.imports"), Message("error.template.one_file")
        raise InputError("template", given, accepted)
    return text


def pdf(content: dict, files: dict[str, bytes], date: datetime.date, template: str) -> bytes:
    """Return the pages as one PDF file that includes ``files`` (images and logo by name).

    Raises
    ------
    InputError
        If the template cannot be typeset.
    """
    return typeset(_NAME, content, files, date, template)


def pages(content: dict, files: dict[str, bytes], date, template: str, ppi=100) -> list[bytes]:
    """Return the pages as PNG images with ``ppi`` pixels per inch.

    Raises
    ------
    InputError
        If the template cannot be typeset.
    """
    found = typeset(_NAME, content, files, date, template, "png", ppi=ppi)
    return found if isinstance(found, list) else [found]


def html(content: dict, files: dict[str, bytes]) -> str:
    """Return the page as HTML that includes ``files`` (images and logo by name)."""
    images = {name: _inline(name, data) for name, data in files.items()}
    values = {"images": images, "verdicts": palette.VERDICTS, "colors": palette.css()}
    return html_page("proposal", content=content, **values)


@dataclass(frozen=True)
class Proposal:
    """Proposal as plain data.

    Attributes
    ----------
    content : dict
        All text, with the name of the recommended motor under ``motor``.
    files : dict[str, bytes]
        Images and logo by file name.
    """

    content: dict
    files: dict[str, bytes]
    date: datetime.date
    template: str

    @cached_property
    def html(self) -> str:
        """Return the proposal as a self-contained HTML page."""
        return html(self.content, self.files)

    @cached_property
    def pdf(self) -> bytes:
        """Return the proposal as a PDF file."""
        return pdf(self.content, self.files, self.date, self.template)

    def pages(self, ppi: int = 100) -> list[bytes]:
        """Return the PDF pages as PNG images for a preview.

        Raises
        ------
        InputError
            If the template cannot be typeset.
        """
        return pages(self.content, self.files, self.date, self.template, ppi)

    def to_json(self) -> str:
        return json.dumps(self.content, indent=1, ensure_ascii=False)

    def write(self, folder: Path) -> list[Path]:
        """Write ``proposal.pdf``, ``.html`` and ``.json`` to ``folder``; return the paths.

        Raises
        ------
        InputError
            If a file cannot be created or written.
        """
        files = {
            "proposal.pdf": self.pdf,
            "proposal.html": self.html,
            "proposal.json": self.to_json() + "\n",
        }
        return write_files(folder, files, "out")


def make(
    found: Answer,
    company: Company,
    costs: LifeCosts | None = None,
    motor: str | None = None,
    writer: Writer = ENGLISH,
    date: datetime.date | None = None,
    template=None,
    invented_motors: bool = False,
    details: bool = False,
    logo: bytes | None = None,
) -> Proposal:
    """Return the proposal for an evaluated job, in the language and units of ``writer``.

    Parameters
    ----------
    costs : LifeCosts or None, optional
        Life-cycle costs of the motors with the prices of the job and the company. By default, they
        are calculated if a motor that fits has a price.
    motor : str or None, optional
        Name of the motor to recommend. By default, it is the first motor in ``found``.
    date : datetime.date or None, optional
        Date of the proposal, by default today.
    template : optional
        Template file for the PDF, by default the template supplied with airover.
    invented_motors : bool, optional
        True if the catalog is the fictional one supplied with airover.
    details : bool, optional
        True for a second page with temperatures, energy and life.
    logo : bytes or None, optional
        Content of a logo file, as checked by `airover.records.company.checked_logo`. By default,
        the logo file of the company is used.

    Raises
    ------
    InputError
        If no motor fits, if ``motor`` does not fit, or if the currency differs from the catalog's
        currency.
    """
    date = datetime.date.today() if date is None else date
    writer, set_by = writer.for_print, read_template(template)
    company = in_catalog_currency(found, company)
    if costs is None and any(one.case.motor.price is not None for one in found.fitting):
        costs = life_cost(found, company.cost_basis(found.job.cost))
    offered = options(found, costs, motor, company)
    offer = Offer(found, offered, costs, company, date, invented_motors, details)
    drawn = [_heat(offer, writer), *_costs(offer, writer)] if details else []
    logo = company.logo_bytes() if logo is None else logo
    marks = {} if logo is None else {f"logo.{logo_type(logo)}": logo}
    files = {f"{one.name}.svg": one.svg for one in drawn} | marks
    written = content(offer, writer) | {
        "pictures": [_described(one) for one in drawn],
        "logo": next(iter(marks), ""),
    }
    data = {"motor": offer.first.motor.name, **everywhere(plain, written)}
    return Proposal(data, files, date, set_by)


def content(offer: Offer, writer: Writer) -> dict:
    """Return the text of the proposal as a dict for JSON and templates.

    A section has a ``title``, followed by ``rows`` (lists of strings) or ``items`` (sentences). The
    sections after "sign" are on the second page.
    """
    first = offer.first
    return {
        "language": writer.language,
        "paper": PAPERS[writer.system],
        "head": _head(offer, writer),
        "customer": _customer(offer, writer),
        "unit": _unit(offer, writer),
        "finding": _finding(offer, writer),
        "offer": _offer(offer, writer),
        "includes": _section("includes", offer.included, writer),
        "before": _before(offer, writer),
        "price": _price(offer, writer),
        "warranty": _warranty(offer, writer),
        "options": _options(offer, writer),
        "caution": _section("caution", [Message("caution.unit")], writer),
        "sign": _sign(offer, writer),
        "details": _details(offer, writer) if offer.details else {},
        "life": _section("life", life(first, offer.costs), writer),
        "known": _known(offer, writer),
        "limits": offer.found.job.limits.to_dict(writer),
        "work": _section("work", _work(offer), writer),
    }


def _section(name: str, messages, writer: Writer) -> dict:
    return {"title": writer(f"{name}.title"), "items": [writer.value(one) for one in messages]}


def _head(offer: Offer, writer: Writer) -> dict:
    company, job = offer.company, offer.found.job
    lines = [company.address, company.contact, company.licence]
    dates = [
        [writer("head.date"), writer.value(offer.date)],
        [writer("head.valid"), writer.value(offer.valid_until)],
    ]
    if job.name:
        dates.append([writer("head.job"), job.name])
    subject = writer("head.subject")
    return {
        "title": writer("head.title"),
        "subject": subject,
        "document": writer("head.document", subject=subject),
        "company": company.name or writer("head.your_company"),
        "company_lines": [line for line in lines if line],
        "rows": dates,
        "invented": writer("head.invented", what=offer.invented) if offer.invented else "",
        "foot": writer("head.foot") if offer.details else "",
        "page": writer("head.page", page="{page}", pages="{pages}"),
    }


def _customer(offer: Offer, writer: Writer) -> dict:
    customer = offer.found.job.customer
    rows = [["customer.name", customer.name], ["customer.address", customer.address]]
    if customer.contact:
        rows.append(["customer.contact", customer.contact])
    return {
        "title": writer("customer.title"),
        "rows": [[writer(key), value] for key, value in rows],
    }


def _unit(offer: Offer, writer: Writer) -> dict:
    """Return the known facts about the unit in a few rows."""
    job = offer.found.job
    plate, rows = job.nameplate, []
    old = (
        (plate.power, "power"), (plate.voltage, "voltage"), (plate.current, "current"),
        (plate.speed_rpm, "speed"), (plate.capacitor, "capacitance"),
    )  # fmt: skip
    written = [writer.amount(one, kind) for one, kind in old if one is not None]
    if written:
        rows.append([writer("unit.old"), ", ".join(written)])
    if job.blade.diameter is not None:
        size = writer.amount(job.blade.diameter, "blade_diameter")
        if job.blade.blades:
            size = writer("unit.blade_value", diameter=size, blades=job.blade.blades)
        rows.append([writer("unit.blade"), size])
    return {"title": writer("unit.title"), "rows": rows}


def _finding(offer: Offer, writer: Writer) -> dict:
    """Return the technician's notes, the findings on the motor, and the cause if known."""
    failed = offer.found.job.finding.failed or writer("finding.failed_unknown")
    failed = " ".join([failed, *_written(offer.findings[0], writer)[:MOST_FINDINGS]])
    return _section("finding", [failed, offer.cause], writer)


def _written(messages, writer: Writer) -> list[str]:
    """Write the messages that exist in the text files, such as the findings about a fault."""
    return [writer(one) for one in messages if writer.texts.has(one.key)]


def _offer(offer: Offer, writer: Writer) -> dict:
    """Return the section with the recommended motor."""
    first = offer.first
    rating = writer.amount(first.case.rating, "power")
    return _section("offer", recommendation(offer), writer) | {
        "headline": writer("offer.headline", motor=first.motor.name, rating=rating),
        "verdict": first.candidate.verdict,
    }


def _before(offer: Offer, writer: Writer) -> str:
    names = [writer(one) for one in offer.first.unconfirmed]
    return writer("includes.before", names=", ".join(dict.fromkeys(names))) if names else ""


def _options(offer: Offer, writer: Writer) -> dict:
    """Return one row per option."""
    columns = ("option", "motor", "advantage", "warranty", "total")
    said = [writer("options.each" if len(offer.options) > 1 else "options.single")]
    to_confirm = [one.letter for one in offer.options[1:] if one.unconfirmed]
    if to_confirm:
        named = [writer("options.letter", letter=letter) for letter in to_confirm]
        said.append(writer("options.confirm", options=named))
    return {
        "title": writer("options.title"),
        "head": [writer(f"options.{name}") for name in columns],
        "rows": [_option(offer, option, writer) for option in offer.options],
        "items": said,
    }


def _option(offer: Offer, option: OfferedMotor, writer: Writer) -> list[str]:
    years = 0 if offer.costs is None else offer.costs.horizon
    months = option.motor.warranty_from_installation
    name = writer("options.letter", letter=option.letter)
    rating = writer.amount(option.case.rating, "power")
    return [
        writer("options.recommended", option=name) if option is offer.first else name,
        writer("offer.headline", motor=option.motor.name, rating=rating),
        ", ".join(map(writer, advantages(option, offer.options, years))),
        writer("none") if months is None else writer.months(months),
        _total(option.price, writer),
    ]


def _total(price: Price | None, writer: Writer) -> str:
    """Write a total as a firm or not-to-exceed price."""
    if price is None:
        return writer("price.quoted")
    total = _exact(price.total, price, writer)
    return total if price.is_firm else writer("price.at_most", total=total)


def _exact(amount: float, price: Price, writer: Writer) -> str:
    """Write an amount in a price, with cents if the price is firm and any amount has cents."""
    cents = any(not line.high.is_integer() for line in price.lines.values())
    return writer.price(amount, price.currency, cents and price.is_firm)


def _price(offer: Offer, writer: Writer) -> dict:
    price = offer.price
    excluded = _section("price.excluded", offer.excluded, writer)
    valid = offer.valid_until
    if price is None:
        told = {"rows": [], "total": [], "items": [writer("price.unknown")]}
    elif price.is_firm:
        told = {
            "rows": [_line(name, offer, writer) for name in price.lines],
            "total": [writer("price.total"), _exact(price.total, price, writer)],
            "items": [writer("price.firm", date=valid)],
        }
    else:
        told = {
            "rows": [_line(name, offer, writer) for name in price.lines]
            + _allowance(price, writer),
            "total": [writer("price.total_at_most"), _exact(price.total, price, writer)],
            "items": [writer("price.estimated"), writer("price.valid", date=valid)],
        }
    return {"title": writer("price.title"), **told, "excluded": excluded}


def _line(name: str, offer: Offer, writer: Writer) -> list[str]:
    """Return a price line with an exact or approximate amount."""
    price, company = offer.price, offer.company
    values = {}
    if name == "labour":
        time = writer.amount(price.hours.mid, "working_time")
        is_exact = price.hours.low == price.hours.high
        values = {"hours": time if is_exact else writer("about", value=time)}
    if name == "tax":
        values = {"share": writer.amount(company.tax, "share")}
        name = "tax" if company.tax_on == EVERYTHING else "tax_on_parts"
    if name == "materials" and price.has_band:
        name = "materials_and_band"
    band = price.lines["tax" if name == "tax_on_parts" else name.removesuffix("_and_band")]
    if band.low == band.high:
        amount = _exact(band.mid, price, writer)
    else:
        amount = writer("about", value=Money(_expected(band), price.currency))
    return [writer(f"line.{name}", **values), amount]


def _expected(band: Band) -> float:
    """Return the amount shown for a price line: a known one, or one with two significant digits."""
    return band.mid if band.low == band.high else float(f"{band.mid:.2g}")


def _allowance(price: Price, writer: Writer) -> list[list[str]]:
    """Return the row with the difference between the not-to-exceed total and the other rows."""
    rest = round(price.total - sum(map(_expected, price.lines.values())), 2)
    if rest <= 0:
        return []
    return [[writer("line.allowance"), writer("price.up_to", amount=_exact(rest, price, writer))]]


def _warranty(offer: Offer, writer: Writer) -> dict:
    """Return the parts and labor warranty. Empty text becomes a blank line to fill in."""
    first, dates, labour = offer.first, offer.found.job.dates, offer.company.labour_warranty
    part = part_warranty(first.motor, dates)
    term = "" if labour is None else writer.amount(labour, "duration")
    rows = [
        [writer("warranty.of_part"), "" if part is None else writer(part)],
        [writer("warranty.of_labour"), term and writer("warranty.labour", term=term)],
    ]
    return _section("warranty", warranty(first.motor, dates, offer.date), writer) | {"rows": rows}


def _details(offer: Offer, writer: Writer) -> dict:
    """Return the technical sentences and the comparison for the second page."""
    own, others = (_written(messages, writer) for messages in offer.findings)
    cause = [] if offer.other_cause is None else [writer(offer.other_cause)]
    why = None if offer.costs is None else reason(offer.options, offer.costs.horizon)
    said = [*technical(offer.options), *([why] if why else [])]
    names = [writer("options.letter", letter=option.letter) for option in offer.options]
    columns = [_compared(offer, option, writer) for option in offer.options]
    rows = [[title, *(column[title] for column in columns)] for title in columns[0]]
    return _section("details", said, writer) | {
        "found": " ".join([*own[MOST_FINDINGS:], *others, *cause]),
        "head": ["", *names],
        "rows": [row for row in rows if any(row[1:])],
    }


def _compared(offer: Offer, option: OfferedMotor, writer: Writer) -> dict[str, str]:
    """Return an option's entries in the technical comparison, by row title."""
    case = option.case
    amps = writer(
        "details.of_plate",
        found=Estimate(case.current.mid, "current"),
        limit=writer.amount(case.rated_current, "current"),
    )
    cells = {
        "fit": writer(f"fit.{option.candidate.verdict}"),
        "amps": amps,
        "winding": _winding(option, writer),
        "energy": "",
        "cost": "",
    }
    if option.over_years is not None:
        energy = writer.amount(option.cost.energy.mid, "kwh")
        cells["energy"] = writer("about", value=energy)
        whole = Money(option.over_years, option.price.currency, 2)
        cells["cost"] = writer("about", value=whole)
    years = 0 if offer.costs is None else offer.costs.horizon
    return {writer(f"details.{name}", years=years): text for name, text in cells.items()}


def _winding(option: OfferedMotor, writer: Writer) -> str:
    found = writer.amount(option.case.winding.mid, "temperature")
    if option.limit is None:
        return writer("about", value=found)
    limit = writer.amount(option.limit, "temperature")
    return writer("details.of_limit", found=found, limit=limit)


def _known(offer: Offer, writer: Writer) -> dict:
    """Return the inputs by source, and the limits changed by the job."""
    groups = [
        {
            "title": writer(f"known.{origin}"),
            "rows": [list(writer.input(one)[:2]) for one in inputs],
        }
        for origin, inputs in offer.known.items()
    ]
    limits = changed_limits(offer.found.job.limits, writer)
    return {"title": writer("known.title"), "groups": groups, "items": limits}


def _work(offer: Offer) -> list[Message]:
    checks = open_checks(offer.first.candidate.checks)
    return [check.why for check in checks] or [Message("work.nothing")]


def _sign(offer: Offer, writer: Writer) -> dict:
    return {
        "title": writer("sign.title"),
        "sentence": writer("sign.sentence"),
        "choices": [
            writer("options.letter", letter=option.letter) + ": " + option.motor.name
            for option in offer.options
        ],
        "who": [writer("sign.customer"), writer("sign.company")],
        "lines": [writer(f"sign.{name}") for name in ("name", "signature", "date")],
    }


def _heat(offer: Offer, writer: Writer) -> ProposalPicture:
    """Plot the expected winding temperature of each option and its limit."""
    bars, each = [], []
    for option in offer.options:
        temp, limit = option.case.winding.mid, option.limit
        written = {"temp": writer.amount(temp, "temperature")}
        known = limit is not None
        if known:
            written["limit"] = writer.amount(limit, "temperature")
        bars.append(
            figures.Bar(
                writer("options.letter", letter=option.letter),
                writer.number(temp, "temperature"),
                written["temp"],
                writer.number(limit, "temperature") if known else None,
                writer("picture.heat.limit", limit=written["limit"]) if known else "",
            )
        )
        key = "picture.heat.each" if known else "picture.heat.each_unknown"
        each.append(Message(key, letter=option.letter, **written))
    unit = writer.set(writer.unit("temperature"))
    figure = figures.against_limit(bars, writer("picture.heat.across", unit=unit))
    words = writer("picture.heat.words", each=" ".join(map(writer, each)))
    return ProposalPicture("heat", writer("picture.heat.title"), words, svg(figure))


def _costs(offer: Offer, writer: Writer) -> list[ProposalPicture]:
    """Plot the expected cost of each option over the years if prices are known."""
    priced = [option for option in offer.options if option.spending is not None]
    if not priced:
        return []
    years, currency, stacks, each = offer.costs.horizon, priced[0].price.currency, [], []
    for option in priced:
        parts = [
            (writer(f"picture.cost.{group}"), amount) for group, amount in option.spending.items()
        ]
        whole = writer("about", value=Money(option.over_years, "", 2))
        name = writer("options.letter", letter=option.letter)
        stacks.append(figures.Stack(name, parts, whole))
        told = {"letter": option.letter, "cost": Money(option.over_years, currency, 2)}
        each.append(Message("picture.cost.each", **told))
    figure = figures.stacked(stacks, writer("picture.cost.across", currency=currency, years=years))
    words = writer("picture.cost.words", years=years, each=" ".join(map(writer, each)))
    title = writer("picture.cost.title", years=years)
    return [ProposalPicture("cost", title, words, svg(figure))]


def _inline(name: str, data: bytes) -> str:
    kind = _TYPES[name.rpartition(".")[2]]
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def _described(picture: ProposalPicture) -> dict[str, str]:
    return {"file": f"{picture.name}.svg", "title": picture.title, "words": picture.words}
