"""A proposal that a customer can sign: two pages, as PDF and as HTML, in the customer's language.

`make` gathers it as plain data with two pictures (amps across voltage, heat and its limit). The PDF
is set by typst from a template that the user may change; HTML has every text escaped and needs
nothing from outside. A template gets the proposal in ``proposal.json`` and shows it as text; it
sees that file, the pictures and the logo, and no other file of this machine. One that names a
package in quotes, which typst would fetch from the network, is rejected; a name composed in code
would pass, so use templates from people whom you trust. Two pages are enough for the sample jobs
and names of usual length; thousands of characters flow onto a third.
"""

import base64
import datetime
import json
import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.business.life_cost import LifeCosts, life_cost
from airover.business.offer import OfferedMotor, options
from airover.business.proposal import Offer, breakable, content, everywhere, plain
from airover.core.errors import InputError
from airover.core.files import read_text, write_files
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.texts import ENGLISH, Writer
from airover.core.units import Amount
from airover.model.simulation import LOW, USUAL, simulate
from airover.records.company import Company
from airover.records.job import Job
from airover.reports import palette
from airover.reports import proposal_figures as figures
from airover.reports.html import TEMPLATES, html_page
from airover.reports.typeset import typeset
from airover.selection.answer import Answer

SPAN = (0.85, 1.15)  # of the line's usual voltage
STEPS = 9  # voltages; a multiple of the three that are worked at once
TEMPLATE = TEMPLATES / "proposal.typ"
LARGEST_TEMPLATE = 200_000  # bytes
LONGEST_LINE = 1000  # letters; tens of thousands of marks in a row keep typst busy for minutes
_PACKAGE = re.compile(r"""["']@[a-z]""")  # would be fetched from the network
_NAME = "proposal"
_TYPES = {"svg": "image/svg+xml", "png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg"}


class ProposalPicture(NamedTuple):
    """An SVG file under a ``name``, its ``title``, and its ``words`` for who cannot see it."""

    name: str
    title: str
    words: str
    svg: bytes


def pictures(job: Job, options: list[OfferedMotor], writer: Writer) -> list[ProposalPicture]:
    """The proposal's two pictures: amps over volts, and heat of the ``options``."""
    return [_amps(job, options[0], writer), _heat(options, writer)]


def across(job: Job, option: OfferedMotor, line) -> tuple[np.ndarray, Band]:
    """Voltages [V] and the current [A] at each, worked as the answer was: the same samples."""
    low, high = SPAN[0] * min(line[LOW], line[USUAL]), SPAN[1] * line[USUAL]
    voltage = np.linspace(min(low, 0.98 * line[LOW]), max(high, 1.02 * line[-1]), STEPS)
    samples = option.case.conditions.samples
    each = []
    for three in voltage.reshape(-1, 3):
        volts = Amount(three[0], three[-1], "V", "")
        site = job.site.model_copy(update={"voltage": volts})
        at = simulate(job.model_copy(update={"site": site}), [option.motor], samples)
        each.append(at.figures["current_a"][:, 0])
    return voltage, Band.of(np.concatenate(each))


def read_template(path=None) -> str:
    """A template, by default the kit's; raises InputError when it cannot be used."""
    text = read_text(TEMPLATE if path is None else path, "template", LARGEST_TEMPLATE)
    if max(map(len, text.splitlines() or [""])) > LONGEST_LINE:
        given = Message("error.template.long_line", most=LONGEST_LINE)
        raise InputError("template", given, Message("error.template.shorter"))
    if _PACKAGE.search(text):
        given, accepted = Message("error.template.imports"), Message("error.template.one_file")
        raise InputError("template", given, accepted)
    return text


def pdf(content: dict, files: dict[str, bytes], date: datetime.date, template: str) -> bytes:
    """The pages as one PDF file. ``files`` by the names that ``content`` has for them.

    Raises InputError when the template cannot be set.
    """
    return typeset(_NAME, everywhere(breakable, content), files, date, template)


def pages(content: dict, files: dict[str, bytes], date, template: str, ppi=100) -> list[bytes]:
    """The same pages as PNG pictures of ``ppi`` pixels per inch. Raises as ``pdf``."""
    told = everywhere(breakable, content)
    found = typeset(_NAME, told, files, date, template, "png", ppi=ppi)
    return found if isinstance(found, list) else [found]


def html(content: dict, files: dict[str, bytes]) -> str:
    """The whole page; ``files`` are the pictures and the logo by their names in ``content``."""
    images = {name: _inline(name, data) for name, data in files.items()}
    values = {"images": images, "verdicts": palette.VERDICTS, "colors": palette.css()}
    return html_page("proposal", content=content, **values)


@dataclass(frozen=True)
class Proposal:
    """``content`` is all that is said, as plain data, with the name of the motor that it is about
    under ``motor``; ``files`` are pictures and logo by name."""

    content: dict
    files: dict[str, bytes]
    date: datetime.date
    template: str

    @cached_property
    def html(self) -> str:
        """The proposal as one page of HTML that asks nothing of any other file."""
        return html(self.content, self.files)

    @cached_property
    def pdf(self) -> bytes:
        """The proposal as PDF; raises InputError for a template that fails."""
        return pdf(self.content, self.files, self.date, self.template)

    def pages(self, ppi: int = 100) -> list[bytes]:
        """The PDF's pages as PNG pictures, for a preview; raises as ``pdf``."""
        return pages(self.content, self.files, self.date, self.template, ppi)

    def to_json(self) -> str:
        return json.dumps(self.content, indent=1, ensure_ascii=False)

    def write(self, folder: Path) -> list[Path]:
        """Write ``proposal.pdf``, ``.html`` and ``.json`` into ``folder``; returns the paths.

        Raises InputError when a file cannot be made or written.
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
    """The proposal of an answered job, in the language and units of ``writer``.

    ``costs`` is its life cost, None works it where a fitting motor has a price; ``motor`` names
    the one to recommend, by default the first of ``found``; ``date`` None is today; ``template``
    is a file for the PDF, by default the kit's; ``invented_motors`` says that the catalog is the
    kit's invented one. Raises InputError when nothing fits, for a motor that does not, and
    for another currency than the catalog's.
    """
    date = datetime.date.today() if date is None else date
    writer, set_by = writer.for_print, read_template(template)
    if costs is None and any(one.case.motor.price is not None for one in found.fitting):
        costs = life_cost(found)
    offered = options(found, costs, motor)
    drawn = pictures(found.job, offered, writer)
    told = content(Offer(found, offered, costs, company, date, writer, invented_motors))
    files = {f"{one.name}.svg": one.svg for one in drawn} | _logo(company)
    told["pictures"] = [_described(one) for one in drawn]
    told["logo"] = next((name for name in files if name.startswith("logo.")), "")
    data = {"motor": offered[0].motor.name, **everywhere(plain, told)}
    return Proposal(data, files, date, set_by)


def _amps(job: Job, option: OfferedMotor, writer: Writer) -> ProposalPicture:
    case = option.case
    line = tuple(float(volts) for volts in case.conditions.voltage)
    voltage, current = across(job, option, line)
    plate = case.rated_current
    words = {name: writer(f"picture.amps.{name}") for name in ("across", "up", "line", "band")}
    words["plate"] = writer("picture.amps.plate", amps=f"{plate:g}")
    figure = figures.amps(figures.Amps(voltage, current, line, plate), words)
    told = writer(
        "picture.amps.words", low=f"{voltage[0]:.0f}", high=f"{voltage[-1]:.0f}",
        amps=writer.amount(case.current, "current"), volts=f"{line[USUAL]:.0f}", plate=f"{plate:g}",
    )  # fmt: skip
    return ProposalPicture("amps", writer("picture.amps.title"), told, figures.svg(figure))


def _heat(options: list[OfferedMotor], writer: Writer) -> ProposalPicture:
    unit = writer.unit("temperature")
    bars, told = [], []
    for option in options:
        band = Band(*(writer.number(end, "temperature") for end in option.case.winding))
        limit = None if option.limit is None else writer.number(option.limit, "temperature")
        word = "" if limit is None else writer.amount(option.limit, "temperature")
        name = writer("picture.heat.option", letter=option.letter)
        bars.append(
            figures.Bar(name, band, limit, writer("picture.heat.limit", limit=word) if word else "")
        )
        temp = writer.amount(option.case.winding, "temperature")
        key = "picture.heat.each" if word else "picture.heat.each_unknown"
        values = {"limit": word} if word else {}
        told.append(writer(key, letter=option.letter, temp=temp, **values))
    figure = figures.against_limit(bars, writer("picture.heat.across", unit=writer.set(unit)))
    words = writer("picture.heat.words", each=" ".join(told))
    return ProposalPicture("heat", writer("picture.heat.title"), words, figures.svg(figure))


def _inline(name: str, data: bytes) -> str:
    kind = _TYPES[name.rpartition(".")[2]]
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def _described(picture: ProposalPicture) -> dict[str, str]:
    return {"file": f"{picture.name}.svg", "title": picture.title, "words": picture.words}


def _logo(company: Company) -> dict[str, bytes]:
    content = company.logo_bytes()
    return {} if content is None else {f"logo{Path(company.logo).suffix.lower()}": content}
