"""A proposal that a customer can sign: two pages, as PDF and as HTML, in the customer's language.

``make`` gathers it as plain data; a template sets that as PDF, ``page`` writes it as HTML.
"""

import datetime
import json
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from airover.answer import Answer
from airover.cost.life_cost import LifeCosts, life_cost
from airover.proposal import page, pdf
from airover.proposal.content import Offer, content
from airover.proposal.offered import options
from airover.proposal.pictures import Picture, pictures
from airover.proposal.safe_text import everywhere, plain
from airover.records import Company
from airover.safe_file import make_folder, write_bytes, write_text
from airover.texts import Writer


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
        return page.html(self.content, self.files)

    @cached_property
    def pdf(self) -> bytes:
        """The proposal as PDF; raises InputError for a template that fails."""
        return pdf.pdf(self.content, self.files, self.date, self.template)

    def pages(self, ppi: int = 100) -> list[bytes]:
        """The PDF's pages as PNG pictures, for a preview; raises as ``pdf``."""
        return pdf.pages(self.content, self.files, self.date, self.template, ppi)

    def to_json(self) -> str:
        return json.dumps(self.content, indent=1, ensure_ascii=False)

    def write(self, folder: Path) -> list[Path]:
        """Write ``proposal.pdf``, ``.html`` and ``.json`` into ``folder``; returns the paths.

        Raises InputError when a file cannot be made or written.
        """
        content, html, told = self.pdf, self.html, self.to_json() + "\n"
        make_folder(folder, "out")
        paths = [Path(folder) / f"proposal.{ending}" for ending in ("pdf", "html", "json")]
        write_bytes(paths[0], content, "out")
        write_text(paths[1], html, "out")
        write_text(paths[2], told, "out")
        return paths


def make(
    found: Answer,
    company: Company,
    costs: LifeCosts | None = None,
    motor: str | None = None,
    language: str = "en",
    system: str = "US",
    date: datetime.date | None = None,
    template=None,
    invented_motors: bool = False,
) -> Proposal:
    """The proposal of an answered job, in a ``language`` and a ``system`` of units.

    ``costs`` is its life cost, None works it where a fitting motor has a price; ``motor`` names
    the one to recommend, by default the first of ``found``; ``date`` None is today; ``template``
    is a file for the PDF, by default the kit's; ``invented_motors`` says that the catalogue is the
    kit's invented one. Raises InputError when nothing fits, for a motor that does not, another
    language, and another currency than the catalogue's.
    """
    date = datetime.date.today() if date is None else date
    writer, set_by = Writer(language, system, signs=True), pdf.read_template(template)
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


def _described(picture: Picture) -> dict[str, str]:
    return {"file": f"{picture.name}.svg", "title": picture.title, "words": picture.words}


def _logo(company: Company) -> dict[str, bytes]:
    content = company.logo_bytes()
    return {} if content is None else {f"logo{Path(company.logo).suffix.lower()}": content}


__all__ = ["Proposal", "make"]
