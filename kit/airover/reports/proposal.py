"""Write a two-page proposal for the customer's signature, as PDF and HTML.

The function `content` returns the proposal as plain data. Customers see expected values ("about 1.7
A") and only one range, the price range. The PDF is typeset by typst from a template that users can
replace. The HTML escapes all text and loads no external files. A template receives the proposal in
``proposal.json`` and displays it as text. It can read only this file, the images and the logo. A
template with a package name in quotes is rejected because typst would download the package. A
package name that is assembled by code is not detected, so use only templates from trusted sources.
The sample jobs fit on two pages, as do names of ordinary length. Very long text continues on a
third page.
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
from airover.business.proposal import (
    Offer,
    OfferedMotor,
    Price,
    fit,
    life,
    open_checks,
    options,
    price,
    reason,
    warranty,
)
from airover.core.errors import InputError
from airover.core.files import read_text, write_files
from airover.core.message import Estimate, Message, Money
from airover.core.texts import ENGLISH, Writer
from airover.records.company import Company
from airover.reports import palette
from airover.reports import proposal_figures as figures
from airover.reports.cost import GROUPS
from airover.reports.html import TEMPLATES, html_page
from airover.reports.plain import changed_limits
from airover.reports.typeset import breakable, everywhere, plain, typeset
from airover.selection.answer import Answer

PAPERS = {"US": "us-letter", "SI": "a4"}
TEMPLATE = TEMPLATES / "proposal.typ"
LARGEST_TEMPLATE = 200_000  # bytes
# Characters. Tens of thousands of consecutive combining marks would keep typst busy for minutes.
LONGEST_LINE = 1000
_PACKAGE = re.compile(r"""["']@[a-z]""")  # typst would download it
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
    """Read and check a template, by default the one supplied with airover."""
    text = read_text(TEMPLATE if path is None else path, "template", LARGEST_TEMPLATE)
    if max(map(len, text.splitlines() or [""])) > LONGEST_LINE:
        given = Message("error.template.long_line", most=LONGEST_LINE)
        raise InputError("template", given, Message("error.template.shorter"))
    if _PACKAGE.search(text):
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
    return typeset(_NAME, everywhere(breakable, content), files, date, template)


def pages(content: dict, files: dict[str, bytes], date, template: str, ppi=100) -> list[bytes]:
    """Return the pages as PNG images with ``ppi`` pixels per inch.

    Raises
    ------
    InputError
        If the template cannot be typeset.
    """
    broken = everywhere(breakable, content)
    found = typeset(_NAME, broken, files, date, template, "png", ppi=ppi)
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
) -> Proposal:
    """Return the proposal for an evaluated job, in the language and units of ``writer``.

    Parameters
    ----------
    costs : LifeCosts or None, optional
        Life-cycle costs of the motors. By default, they are calculated if a motor that fits has a
        price.
    motor : str or None, optional
        Name of the motor to recommend. By default, it is the first motor in ``found``.
    date : datetime.date or None, optional
        Date of the proposal, by default today.
    template : optional
        Template file for the PDF, by default the template supplied with airover.
    invented_motors : bool, optional
        True if the catalog is the fictional one supplied with airover.

    Raises
    ------
    InputError
        If no motor fits, if ``motor`` does not fit, or if the currency differs from the catalog's
        currency.
    """
    date = datetime.date.today() if date is None else date
    writer, set_by = writer.for_print, read_template(template)
    if costs is None and any(one.case.motor.price is not None for one in found.fitting):
        costs = life_cost(found)
    offer = Offer(found, options(found, costs, motor), costs, company, date, invented_motors)
    drawn = [_heat(offer, writer), *_costs(offer, writer)]
    files = {f"{one.name}.svg": one.svg for one in drawn} | _logo(company)
    written = content(offer, writer) | {
        "pictures": [_described(one) for one in drawn],
        "logo": next((name for name in files if name.startswith("logo.")), ""),
    }
    data = {"motor": offer.first.motor.name, **everywhere(plain, written)}
    return Proposal(data, files, date, set_by)


def content(offer: Offer, writer: Writer) -> dict:
    """Return the text of the proposal as a dict for JSON and templates.

    A section has a ``title``, followed by ``rows`` (lists of strings) or ``items`` (sentences).

    Raises
    ------
    InputError
        For the same reasons as in `Offer.price`.
    """
    return {
        "language": writer.language,
        "paper": PAPERS[writer.system],
        "head": _head(offer, writer),
        "customer": _customer(offer, writer),
        "unit": _unit(offer, writer),
        "finding": _finding(offer, writer),
        "offer": _offer(offer, writer),
        "options": _options(offer, writer),
        "price": _price(offer, writer),
        "life": _section("life", life(offer.first, offer.costs), writer),
        "warranty": _section("warranty", _warranty(offer), writer),
        "known": _known(offer, writer),
        "limits": offer.found.job.limits.to_dict(writer),
        "work": _section("work", _work(offer), writer),
        "caution": _listed("caution", writer),
        "sign": _sign(offer, writer),
    }


def _section(name: str, messages, writer: Writer) -> dict:
    return {"title": writer(f"{name}.title"), "items": [writer.value(one) for one in messages]}


def _head(offer: Offer, writer: Writer) -> dict:
    company, job = offer.company, offer.found.job
    name, lines = company.name, [company.address, company.contact, company.licence]
    if company.invented:
        name, lines = writer("head.sample_company"), [writer("head.sample_lines")]
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
        "company": name,
        "company_lines": [line for line in lines if line],
        "rows": dates,
        "invented": writer("head.invented", what=offer.invented) if offer.invented else "",
        "foot": writer("head.foot"),
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
    """Return the known data about the unit in a few rows."""
    job = offer.found.job
    plate, rows = job.nameplate, []
    old = (
        (plate.power, "power"), (plate.current, "current"), (plate.speed_rpm, "speed"),
        (plate.capacitor, "capacitance"),
    )  # fmt: skip
    written = [writer.amount(one, kind) for one, kind in old if one is not None]
    if written:
        rows.append([writer("unit.old"), ", ".join(written)])
    if job.blade.diameter is not None:
        size = writer.amount(job.blade.diameter, "blade_diameter")
        if job.blade.blades:
            size = writer("unit.blade_value", diameter=size, blades=job.blade.blades)
        rows.append([writer("unit.blade"), size])
    _, usual, _ = offer.first.case.conditions.voltage
    rows.append([writer("unit.line"), writer.amount(usual, "voltage")])
    if (air := job.site.outdoor_temperature) is not None:
        rows.append([writer("unit.air"), writer.amount(air, "air_temperature")])
    return {"title": writer("unit.title"), "rows": rows}


def _finding(offer: Offer, writer: Writer) -> dict:
    """Return the technician's notes, the findings and, if known, the cause of failure."""
    job = offer.found.job
    failed = job.finding.failed or writer("finding.failed_unknown")
    seen = (f"found.{name}.{word}" for name, word in job.found)
    failed = " ".join([failed, *(writer(key) for key in seen if writer.texts.has(key))])
    return _section("finding", [failed, offer.cause], writer)


def _offer(offer: Offer, writer: Writer) -> dict:
    """Return the section about how well the recommended motor fits and what it costs."""
    first, why = offer.first, reason(offer.first, offer.costs)
    rating = writer.amount(first.case.rating, "power")
    section = _section("offer", [*fit(offer.options), *([why] if why else [])], writer)
    return section | {
        "headline": writer("offer.headline", motor=first.motor.name, rating=rating),
        "verdict": first.candidate.verdict,
    }


def _options(offer: Offer, writer: Writer) -> dict:
    """Return one column per option and one row for each item compared."""
    names = [writer("options.option", letter=option.letter) for option in offer.options]
    names[0] = writer("options.recommended", option=names[0])
    columns = [_option(offer, option, writer) for option in offer.options]
    rows = [[title, *(column[title] for column in columns)] for title in columns[0]]
    return {
        "title": writer("options.title"),
        "head": ["", *names],
        "rows": [row for row in rows if any(row[1:])],
        "items": [] if len(offer.options) > 1 else [writer("options.single")],
    }


def _option(offer: Offer, option: OfferedMotor, writer: Writer) -> dict[str, str]:
    """Return the cells of an option by row title."""
    case, motor = option.case, option.motor
    amps = writer(
        "options.of_plate",
        found=Estimate(case.current.mid, "current"),
        limit=writer.amount(case.rated_current, "current"),
    )
    months, cost = motor.warranty_from_installation, price(option, offer.costs)
    cells = {
        "motor": motor.name,
        "rating": writer.amount(case.rating, "power"),
        "fit": writer(f"fit.{option.candidate.verdict}"),
        "amps": amps,
        "winding": _winding(option, writer),
        "warranty": writer("none") if months is None else writer.months(months),
        "price": writer("none") if cost is None else writer.price(cost.total, cost.currency),
        **_over_years(offer, option, writer),
        "why": ", ".join(writer(f"best_at.{name}") for name in option.why),
    }
    years = {} if offer.costs is None else {"years": offer.costs.horizon}
    return {writer(f"options.{name}", **years): text for name, text in cells.items()}


def _over_years(offer: Offer, option: OfferedMotor, writer: Writer) -> dict[str, str]:
    """Return the energy use and cost of an option over the years."""
    if offer.costs is None:
        return {}
    if (cost := option.cost) is None:
        return {"energy": "", "cost": ""}
    whole = Money(cost.mean, cost.currency, 2)
    return {
        "energy": writer("about", value=writer.amount(cost.energy.mid, "kwh")),
        "cost": writer("about", value=whole),
    }


def _winding(option: OfferedMotor, writer: Writer) -> str:
    found = writer.amount(option.case.winding.mid, "temperature")
    if option.limit is None:
        return writer("about", value=found)
    limit = writer.amount(option.limit, "temperature")
    return writer("options.of_limit", found=found, limit=limit)


def _price(offer: Offer, writer: Writer) -> dict:
    found = offer.price
    named = {} if found is None else found.lines
    left_out = [] if "labour" in named else ["labour", "materials"]
    excluded = {
        "title": writer("price.excluded"),
        "items": [writer(f"excluded.{name}") for name in (*left_out, "repair", "permit")],
    }
    items = [writer("price.valid", date=offer.valid_until)]
    rows, total = [], []
    if found is None:
        items.insert(0, writer("price.unknown"))
    else:
        rows = [_line(name, found, writer) for name in found.lines]
        key = "price.total" if found.is_firm else "price.total_estimate"
        total = [writer(key), writer.price(found.total, found.currency)]
        if not found.is_firm:
            items.append(writer("price.estimated"))
    below = {"rows": rows, "total": total, "items": items, "excluded": excluded}
    return {"title": writer("price.title"), **below}


def _line(name: str, found: Price, writer: Writer) -> list[str]:
    """Return a price line with an exact or approximate amount."""
    band, hours = found.lines[name], found.hours
    time = ""
    if hours is not None:
        time = writer.amount(hours.mid, "working_time")
        time = time if hours.low == hours.high else writer("about", value=time)
    amount = writer.price(band, found.currency)
    if band.low != band.high:
        amount = writer("about", value=Money(band.mid, found.currency, 2))
    return [writer(f"line.{name}", hours=time), amount]


def _warranty(offer: Offer) -> list[Message]:
    return warranty(offer.first.motor, offer.found.job.dates, offer.date)


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


def _listed(table: str, writer: Writer) -> dict:
    title, *items = writer.texts.below(table)
    return {"title": title, "items": items}


def _sign(offer: Offer, writer: Writer) -> dict:
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
                writer("options.option", letter=option.letter),
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
    return ProposalPicture("heat", writer("picture.heat.title"), words, figures.svg(figure))


def _costs(offer: Offer, writer: Writer) -> list[ProposalPicture]:
    """Plot the expected cost of each option over the years if prices are known."""
    priced = [option for option in offer.options if option.cost is not None]
    if offer.costs is None or not priced:
        return []
    years, currency, stacks, each = offer.costs.horizon, priced[0].cost.currency, [], []
    for option in priced:
        cost = option.cost
        parts = [
            (writer(f"picture.cost.{group}"), float(sum(cost.parts[name].mean() for name in names)))
            for group, (names, *_) in GROUPS.items()
        ]
        whole = writer("about", value=Money(cost.mean, "", 2))
        name = writer("options.option", letter=option.letter)
        stacks.append(figures.Stack(name, parts, whole))
        told = {"letter": option.letter, "cost": Money(cost.mean, currency, 2)}
        each.append(Message("picture.cost.each", **told))
    figure = figures.stacked(stacks, writer("picture.cost.across", currency=currency, years=years))
    words = writer("picture.cost.words", years=years, each=" ".join(map(writer, each)))
    title = writer("picture.cost.title", years=years)
    return [ProposalPicture("cost", title, words, figures.svg(figure))]


def _inline(name: str, data: bytes) -> str:
    kind = _TYPES[name.rpartition(".")[2]]
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def _described(picture: ProposalPicture) -> dict[str, str]:
    return {"file": f"{picture.name}.svg", "title": picture.title, "words": picture.words}


def _logo(company: Company) -> dict[str, bytes]:
    content = company.logo_bytes()
    return {} if content is None else {f"logo{Path(company.logo).suffix.lower()}": content}
