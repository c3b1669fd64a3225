"""The fourth step: a proposal for the customer, to save and to sign."""

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import ipywidgets as widgets

from airover.app import page_job, style
from airover.app.fields import Fields
from airover.app.page_job import MotorChoice
from airover.app.page_view import View, shown, take, upload
from airover.app.panel import Picture
from airover.app.reader import Reader
from airover.business.costs import USUAL_BASIS
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import Writer
from airover.records.company import Company, CostBasis
from airover.records.job import Customer, Job
from airover.reports.proposal import Proposal, make
from airover.selection.answer import Answer

CUSTOMER = {"customer": {"name": "", "address": "", "contact": ""}}
COMPANY = {
    "company": {"name": "", "address": "", "contact": "", "licence": "", "currency": "USD",
                "validity_days": "30"}
}  # fmt: skip
_MONEY = ("labour_rate", "labour_hours", "visit_price", "capacitor_price", "energy_price")
COST = {"cost": {name: USUAL_BASIS[name] for name in _MONEY}}
DOTS, WIDE = 110, 760  # in an inch of the preview; pixels
BEST = "offer.best"


class Asked(NamedTuple):
    """All that a proposal is made from: the language and ``system`` of units among it."""

    found: Answer
    company: Company
    motor: str
    language: str
    system: str
    invented_motors: bool


class OfferView(View):
    """Who offers to whom, few prices, and a button that makes the papers.

    ``made`` is the last proposal, None before. Where no company is typed, the invented one of the
    kit stands on it.
    """

    step = "proposal"
    cautions = ("power", "law", "paper")

    def __init__(self, page):
        super().__init__(page)
        self.motor = MotorChoice(BEST, first=True)
        self.customer = Fields("customer", CUSTOMER, Customer)
        self.cost = Fields("cost", COST, CostBasis)
        self.company = Fields("company", COMPANY, Company)
        self.made: Proposal | None = None
        self._made_of: Asked | None = None

    @property
    def forms(self) -> list:
        return [self.customer, self.cost, self.company]

    @property
    def controls(self) -> list[widgets.Widget]:
        fields = [one for form in self.forms for one in form.controls.values()]
        return [*fields, self.motor.control]

    def fill(self, job: Job | None) -> None:
        self.customer.fill(None if job is None else job.customer)
        self.cost.fill(None if job is None else job.cost)

    def of_job(self) -> dict:
        """What a job file has of this step; raises InputError."""
        return {
            "customer": Customer(**self.customer.given()),
            "cost": Job(cost=self.cost.given()).cost,
        }

    def build(self):
        self.upload, self.button = upload(".toml"), widgets.Button()
        self.button.add_class("ao-main")
        self.heads = {name: widgets.HTML() for name in ("customer", "cost", "company")}
        self.state, self.links, self.preview = widgets.HTML(), shown(), shown()
        self.state.add_class("ao-told")
        take(self.upload, self.open)
        # ipywidgets only logs what a click raises: the handler does nothing but call this one.
        self.button.on_click(lambda _: self.write())
        parts = [self.motor.control]
        for form in self.forms:
            (section,) = form.pages.values()
            parts += [self.heads[form.record], section]
        last = [self.upload, self.told, self.button, self.state, self.links, self.preview]
        return [*parts, *last]

    def open(self, name: str, content: bytes) -> None:
        """Take an uploaded file of company details; one that is refused is told."""
        found = self.page.opened(page_job.company, name, content)
        if found is not None:
            with self.page.filling():
                self.company.fill(found[0])
            self.old = True
            self.page.work()
        logo = style.status(self.page.reader("file.logo")) if found and found[1] else ""
        self.told.value = self.page.file_told.value + logo

    def compute(self) -> Asked:
        """All that stands on the proposal; making it waits for the button."""
        page, reader = self.page, self.page.reader
        with page.filling():
            self.motor.offer(page.answer, reader)
        job = page.answer.job.model_copy(update=self.of_job())
        found, tongue = replace(page.answer, job=job), (reader.language, reader.system)
        return Asked(found, self._company(), self._wanted(), *tongue, not page.own_motors)

    @property
    def has_answer(self) -> bool:
        return self.made is not None

    def write(self) -> None:
        """Make the papers of what is typed now, and offer them; what is wrong is told."""
        reader = self.page.reader
        if labels := self.refused():
            fields = ", ".join(labels)
            self.state.value = style.problem(reader("wrong.fields", fields=fields))
            return
        self.button.disabled = True  # a second click on the way would only make it twice
        self.state.value = style.status(reader("offer.making"))
        try:
            asked = self.compute()
            made = make(
                asked.found, asked.company, motor=asked.motor or None,
                writer=Writer(asked.language, asked.system), invented_motors=asked.invented_motors,
            )  # fmt: skip
            content = made.pdf, made.html.encode(), made.pages(DOTS)[0]
        except InputError as error:
            self.button.disabled = False
            self.state.value = style.problem(reader("failed", why=reader.write.error(error)))
            return
        self.result = self._made_of = asked
        self.made, self._content = made, content
        self.state.value = style.status(reader("offer.made"))
        self.draw(reader)

    def say(self, reader: Reader) -> None:
        self.motor.control.description = reader("offer.motor")
        self.button.description = reader("offer.make")
        self.upload.description = reader("file.company")
        for name, head in self.heads.items():
            head.value = style.text(reader(f"offer.{name}"), "h2")
            about = reader(f"offer.about_{name}")
            head.value += style.text(about, "p", "soft")
        for form in self.forms:
            form.say(reader)
        if self.page.answer is not None:
            with self.page.filling():
                self.motor.offer(self.page.answer, reader)

    def draw(self, reader: Reader) -> None:
        """The papers that were made, or that they are of an earlier input."""
        fits = bool(self.page.answer.fitting)
        self.button.disabled = not fits
        self.state.value = "" if fits else style.status(reader("offer.none_fits"))
        if self.made is None:
            return
        if fits:
            key = "offer.made" if self._is_of_now(reader) else "offer.changed"
            self.state.value = style.status(reader(key))
        pdf, html, first = self._content
        name = page_job.file_name(self._made_of.found.job.name)
        self.links.value = style.row(
            style.link(f"{name}.pdf", pdf, "application/pdf", reader("offer.pdf")),
            style.link(f"{name}.html", html, "text/html", reader("offer.html")),
        )
        self.preview.value = Picture(first, reader("offer.preview")).html(WIDE)

    def _is_of_now(self, reader: Reader) -> bool:
        """Whether the papers say what is typed now, in the reader's language and units."""
        made, now = self._made_of, self.result
        same = made.found.job == now.found.job and made.found.candidates is now.found.candidates
        rest = made._replace(found=None) == now._replace(found=None)
        tongue = (made.language, made.system) == (reader.language, reader.system)
        return same and rest and tongue

    def _wanted(self) -> str:
        return "" if self.motor.chosen is None else self.motor.chosen.case.motor.name

    def _company(self) -> Company:
        given = self.company.given()
        return Company(**given) if given.get("name") else _example_company()


@lru_cache
def _example_company() -> Company:
    return Company.read(data_folder() / "company.toml")
