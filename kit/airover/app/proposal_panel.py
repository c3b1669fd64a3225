"""Panel for worksheet 07, which calculates life-cycle costs and writes a proposal."""

import os
from base64 import b64decode, b64encode
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from pathlib import Path

import ipywidgets as widgets
import pandas as pd

from airover.app import ahead, fields, style, uploads
from airover.app.current_job import CUSTOMER, enough
from airover.app.fields import Fields, MotorChoice, choice, hint, text
from airover.app.panel import FollowingPicture, PagedPanel, Picture
from airover.business.cost_options import Choices, Drivers, choices, drivers
from airover.business.costs import USUAL_BASIS
from airover.business.life_cost import (
    LifeCost,
    LifeCosts,
    cheaper,
    difference,
    life_cost,
    recounted,
)
from airover.business.proposal import OfferedMotor, in_catalog_currency, options
from airover.core.errors import NOTHING, InputError
from airover.core.files import data_folder
from airover.core.message import Message
from airover.core.texts import Writer, languages
from airover.core.units import quoted
from airover.records.catalog import Catalog
from airover.records.company import CURRENCY, TAXED, Company, CostBasis, checked_logo
from airover.records.fields import read_day
from airover.records.importing import open_catalog
from airover.records.job import Customer, Job
from airover.reports import cost as figures_cost
from airover.reports import cost as tables_cost
from airover.reports import drawing, numbers
from airover.reports.proposal import Proposal, make
from airover.selection.answer import CAUTIONS, Answer, answer

MONEY = (
    "horizon", "energy_price", "labour_rate", "labour_hours", "visit_price", "capacitor_price",
    "discount_rate",
)  # fmt: skip
MORE = ("motor_life", "capacitor_hours", "second_visits", "belly_band_price", "lost_cooling")
COST = {
    title: {name: USUAL_BASIS.get(name, "") for name in names}
    for title, names in (("Money", MONEY), ("More money", MORE))
}
COMPANY = {
    "Company": {"name": "", "address": "", "contact": "", "licence": "", "currency": "USD",
                "validity_days": "30", "labour_warranty": "1 year"},
    "Prices": {"labour_rate": "110 USD/h", "labour_hours": "2 h", "visit_price": "85 USD",
               "flat_rate": "295 USD", "capacitor_price": "18 USD", "belly_band_price": "20 USD",
               "markup": "40 %", "tax": "8.25 %", "tax_on": dict.fromkeys(TAXED),
               "permit": "45 USD"},
}  # fmt: skip
LOGOS = ".png,.jpg,.jpeg"


def placeholder(name: str, write: Writer) -> str:
    """Return the placeholder for a cost field: the value used while the field is empty."""
    if name not in USUAL_BASIS:
        return write("panel.proposal.nothing_counted")
    return write("panel.proposal.assumed", value=USUAL_BASIS[name])


def results_for(name: str) -> str:
    """Return the proposal folder for the job called ``name``, next to the worksheets folder."""
    above = Path("..") if Path.cwd().name == "worksheets" else Path()
    return os.fspath(above / "results" / name)


_FOLDER = Message("panel.results_folder")
DOTS = 110  # per inch in the preview of a page
WIDE, SCREEN = 620, 920  # pixels


@dataclass(frozen=True)
class Counted:
    """Answer for a job with its life-cycle ``costs`` (None if no motor has a price).

    Attributes
    ----------
    wanted : str
        Name of the motor to offer first, or an empty string for the recommended motor.
    """

    found: Answer
    costs: LifeCosts | None
    wanted: str = ""
    writer: Writer = field(default_factory=Writer)
    company: Company = field(default_factory=Company)

    @cached_property
    def choices(self) -> Choices | None:
        return None if self.costs is None else choices(self.costs)

    @cached_property
    def options(self) -> list[OfferedMotor]:
        """Options in the proposal, or none if no motor has a price."""
        if self.costs is None:
            return []
        return options(self.found, self.costs, self.wanted or None, self.company)

    @property
    def offered(self) -> list[LifeCost]:
        """Life-cycle costs of the options with a price, in the order of the proposal."""
        return [one.cost for one in self.options if one.cost is not None]

    @property
    def whys(self) -> list[str]:
        """Reasons for including each priced option, with the name of its motor."""
        known = [] if self.choices is None else self.choices.options
        return [
            self.writer(
                "cost.role",
                motor=one.cost.name,
                roles=[Message(f"best_at.{role}") for role in one.roles],
                why=one.why,
            )
            for one in known
        ]

    @property
    def pair(self) -> tuple[LifeCost, ...]:
        """First option and the cheapest alternative, or only the first option."""
        first = self.offered[0]
        return (first, *[cost for cost in self.costs.costs if cost is not first][:1])

    @cached_property
    def drivers(self) -> Drivers | None:
        """Inputs that decide between the two motors in ``pair``, or None if there is only one."""
        if self.costs is None or len(self.pair) < 2:
            return None
        names = [cost.name for cost in self.costs.costs]
        return drivers(self.costs, *(names.index(cost.name) for cost in self.pair))

    @property
    def verdict(self) -> str:
        """Recommendation and reason, or the selected motor's cost compared with the lowest cost."""
        if self.choices is None:
            return self.writer(self.found.verdict)
        first, best = self.offered[0], self.choices.recommended.cost
        if not self.wanted or first.name != self.wanted or first is best:
            return self.writer(self.choices.reason)
        return self.writer(
            "panel.proposal.chosen",
            motor=first.name,
            about=self.writer.money(first.mean, first.currency),
            years=self.costs.horizon,
            best=best.name,
            **_against(first, best, self.writer),
        )


def verdict(counted: Counted) -> str:
    found = counted.found
    bar = counted.offered[0].candidate.verdict if counted.offered else found.candidates[0].verdict
    write, count = counted.writer, len(found.fitting)
    below = [found.job.name]
    below.append(write("panel.proposal.fitting", count=count, among=len(found.candidates)))
    if counted.costs is not None and counted.costs.unpriced:
        below.append(write("panel.proposal.unpriced", motors=counted.costs.unpriced))
    if found.fitting and counted.costs is None:
        below.append(write("panel.proposal.no_prices"))
    if found.job.invented:
        below.append(write("panel.invented"))
    dot = " \N{MIDDLE DOT} "
    return style.verdict(bar, counted.verdict, dot.join(filter(None, below)))


def motors(counted: Counted) -> list[tuple[str, str]]:
    """Return the motors that fit, as pairs of displayed text and name for a dropdown list."""
    shown = ((one.case.motor.name, one.verdict) for one in counted.found.fitting)
    return [(f"{name}, {counted.writer(f'page.fit.{fit}')}", name) for name, fit in shown]


def life(counted: Counted) -> Picture | None:
    """Return a plot of the offered motors' costs by category."""
    if not counted.offered:
        return None
    shown = replace(counted.costs, costs=tuple(counted.offered))
    write, years = counted.writer, counted.costs.horizon
    each = "; ".join(f"{one.name} {_about(one, write)}" for one in counted.offered)
    words = write("panel.proposal.life", years=years, each=each)
    return Picture(drawing.png(figures_cost.life_cost(shown, writer=counted.writer)), words)


def facts(counted: Counted) -> str:
    """Break down the cost of the first motor and compare it with the cheapest alternative."""
    if not counted.offered:
        return ""
    first, *others = counted.pair
    write = counted.writer
    told = [
        write("panel.proposal.beside", other=other.name, **_against(first, other, write))
        for other in others
    ]
    energy = sum(first.parts[name].mean() for name in figures_cost.GROUPS["energy"][0])
    told.append(write("panel.proposal.energy", share=f"{100 * energy / first.mean:.0f}"))
    told.append(
        write(
            "panel.proposal.failures",
            count=f"{sum(first.failures.values()):.2g}",
            years=counted.costs.horizon,
            untroubled=f"{100 * first.untroubled:.0f}",
        )
    )
    option = next(one for one in counted.options if one.cost is first)
    currency = option.price.currency
    told.append(
        write(
            "panel.proposal.on_paper",
            total=write.price(option.price.total, currency),
            cost=write.money(option.over_years, currency),
            years=counted.costs.horizon,
        )
    )
    return style.listed(first.name, told)


def _against(first: LifeCost, other: LifeCost, write: Writer) -> dict[str, str]:
    """Return the fraction of samples in which ``first`` costs less, and the difference.

    The difference in cost is a 90 % range.
    """
    low, _, high = (write.money(end, digits=2) for end in difference(first, other))
    share = f"{100 * cheaper(first, other):.0f}"
    return {"share": share, "low": low, "high": high, "currency": first.currency}


def decides(counted: Counted) -> Picture | None:
    """Return a plot of the inputs that change the cost difference between two motors."""
    found = counted.drivers
    if found is None:
        return None
    most = ", ".join(counted.writer(one.name) for one in found.drivers[:3])
    names = {"first": found.first, "second": found.second}
    words = counted.writer("panel.proposal.drivers", **names, most=most)
    return Picture(drawing.png(figures_cost.decides(found, writer=counted.writer)), words)


def side_by_side(counted: Counted) -> str:
    if not counted.offered:
        return style.quiet(counted.writer("panel.proposal.nothing_to_compare"))
    costs = counted.costs
    table = tables_cost.options(counted.offered, costs.currency, costs.horizon, counted.writer)
    write, left_out = counted.writer, counted.choices.not_included
    hint = style.quiet(write("panel.proposal.present_value"))
    return (
        style.table(table)
        + hint
        + style.listed(write("panel.proposal.not_included"), map(write, left_out))
    )


def what_decides(counted: Counted) -> str:
    shown = decides(counted)
    if shown is None:
        return style.quiet(counted.writer("panel.proposal.no_second"))
    turning = [counted.writer(one.name) for one in counted.drivers.drivers if one.turns]
    told = counted.writer("panel.proposal.none_turns")
    if turning:
        told = counted.writer("panel.proposal.turning", inputs=turning)
    return shown.own_size(WIDE) + style.quiet(told)


def counted_with(counted: Counted) -> str:
    if counted.costs is None:
        return style.quiet(counted.writer("panel.proposal.not_counted"))
    hint = counted.writer("panel.proposal.given")
    return style.table(
        tables_cost.counted_with(counted.costs, counted.offered, counted.writer)
    ) + style.quiet(hint)


def pages(proposal: Proposal, write: Writer) -> list[Picture]:
    """Return the pages of the PDF as images."""
    title = proposal.content["head"]["document"]
    return [
        Picture(png, write("panel.proposal.printed", title=title, page=at))
        for at, png in enumerate(proposal.pages(DOTS), 1)
    ]


def preview(proposal: Proposal, write: Writer) -> str:
    edge = f"border: 1px solid var(--ao-line); max-width: {SCREEN}px; margin: 0 0 14px"
    return "".join(
        f'<div style="{edge}">{page.html(SCREEN)}</div>' for page in pages(proposal, write)
    )


def cautions(write: Writer) -> str:
    return style.listed(write("panel.before_touching"), map(write.value, CAUTIONS))


def _about(cost: LifeCost, write: Writer) -> str:
    mean, low, high = (write.money(x) for x in (cost.mean, cost.band.low, cost.band.high))
    return f"{mean} {cost.currency} ({low} - {high})"


PAGES = {
    "Options": side_by_side,
    "What decides": what_decides,
    "Counted with": counted_with,
}
PREVIEW = len(PAGES)  # index of the tab after the pages


class ProposalPanel(PagedPanel):
    """Panel for a job's proposal.

    The controls are ``bar`` (the current job), ``motor``, ``money`` (with the fields of a CostBasis
    as attributes), ``customer`` and ``contractor`` (with the fields of a Customer and a Company),
    ``language``, ``units``, ``date``, ``company``, ``template``, ``catalog``, ``out`` (output
    folder) and ``button``. The attribute ``made`` is the latest proposal, or None. With a ``host``,
    the page provides the job and its customer, and the documents are offered as links instead of
    being written to files.

    Parameters
    ----------
    job_path, catalog, company : str or os.PathLike, optional
        Files to use. The defaults are the current job of all worksheets and the catalog and company
        supplied with airover.
    units : str, optional
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es", which is also the initial language of the proposal.

    Raises
    ------
    InputError
        If the files cannot be read or evaluated.
    """

    step = "proposal"
    cautions = ("power", "law", "paper")

    def __init__(
        self, job_path=None, catalog=None, company=None, units="US", language="en", host=None
    ):
        super().__init__(language, host)
        self._as_recommended = (self.text("proposal.as_recommended"), "")
        self._answered, self._counted = lru_cache(maxsize=4)(answer), (None, None, None)
        self._drawn, self._version = (None, None), 0
        self._catalog = lru_cache(maxsize=2)(open_catalog)
        self._picture, self.made, self._made_of, self._logo = None, None, None, None
        self._make_controls(units, catalog, company)
        if self.on_page:
            self._show_made()
        else:
            self.use_job(job_path)
        self._observe()
        if not self.on_page:
            self.resume()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Load ``job`` with its customer, cost data and output folder."""
        self.job, path = job, self.bar.current.path
        name = Path(path).stem if path else uploads.file_name(job.name)
        with self.filling():
            self.money.fill(self.job.cost)
            self.customer.fill(self.job.customer)
            self.motor.wanted = None
            self.motor.offer([self._as_recommended])
            self.out.value = results_for(name)
        self.made = None
        self.made_told.value = ""
        self._show_made()

    def lacks(self) -> str:
        known = self.on_page or enough(self.job)
        return "" if known else self.writer("worksheet.enter_nameplate_in_01")

    def own_job(self) -> Job:
        known = {"cost": self.basis, "customer": Customer(**self.customer.given())}
        return self.job.model_copy(update=known)

    def job_controls(self) -> list:
        return [*self.customer.controls.values(), *self.money.controls.values()]

    @property
    def basis(self) -> CostBasis:
        """Return the cost basis from the fields.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        return Job(cost=self.money.given()).cost

    @classmethod
    def ahead(cls, host) -> tuple:
        return (ahead.whole,)

    def compute(self) -> Counted:
        basis, customer = self.basis, Customer(**self.customer.given())
        if self.on_page:
            found = self.host.answer
        else:
            found = self._answered(self.job, self._motors())
        fitting = [one.case.motor.name for one in found.fitting]
        wanted = self.motor.wanted if self.motor.wanted in fitting else ""
        company = in_catalog_currency(found, self._company())
        costs = self._costs(found, basis, company)
        own = found.job.model_copy(update={"customer": customer, "cost": basis})
        return Counted(replace(found, job=own), costs, wanted, self.writer, company)

    def proposal(self) -> Proposal:
        """Return the proposal for the current values of the controls.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        counted, date = self.compute(), self.date.value.strip()
        return make(
            counted.found,
            counted.company,
            counted.costs,
            motor=counted.wanted or None,
            writer=Writer(self.language.value, self.units.value),
            date=read_day(date, "date") if date else None,
            template=None if self.on_page else self.template.value.strip() or None,
            invented_motors=self._is_invented(),
            details=self.details.value,
            logo=self._logo,
        )

    def write(self) -> None:
        """Create the proposal, write its files and show its pages, or show the error."""
        self.made_told.value = style.status(self.writer("page.offer.making"))
        self.button.disabled = True  # a second click would only repeat the work
        try:
            made = self.proposal()
            if self.on_page:
                self._content = made.pdf, made.html.encode()
                told = style.status(self.writer("page.offer.made"))
            else:
                folder = self._folder()
                replaced = (folder / "proposal.pdf").exists()
                told = style.written(made.write(folder), replaced, self.writer)
        except InputError as error:
            self.refused(error)
            notes = getattr(error, "__notes__", ())
            self.made_told.value = style.problem(
                self.text("proposal.not_made", why=self.writer.error(error)), *notes
            )
            return
        finally:
            self.button.disabled = self._nothing_fits()
        self.made, self._made_of, self.made_told.value = made, self._asked(), told
        self._show_made()
        self.tables.selected_index = PREVIEW

    def upload(self, name: str, content: bytes) -> None:
        """Load an uploaded file of company details, or show the error if it is rejected."""
        found = self.host.opened(uploads.company, name, content)
        logo = ""
        if found is not None:
            with self.filling():
                self.contractor.fill(found[0])
            logo = style.status(self.writer("page.file.logo")) if found[1] else ""
            self.update()
            self.settled()
        self.file_told.value = self.host.file_told.value + logo

    def upload_logo(self, name: str, content: bytes) -> None:
        """Use an uploaded logo, or show the error if it is rejected."""
        try:
            self._use_logo(name, checked_logo(name, content))
        except InputError as error:
            self.logo_told.value = style.problem(self.writer.error(error))
            return
        self._note_change()
        self.settled()

    def _use_logo(self, name: str, logo: bytes | None) -> None:
        """Use a logo, or none if it is None."""
        self._logo, self._logo_name = logo, name
        told = style.status(self.writer("page.offer.logo_used", name=name)) if logo else ""
        self.logo_told.value = told

    def settings(self) -> dict[str, tuple]:
        return {"details": (self.details, False)}

    def typed(self) -> dict[str, dict[str, str]]:
        state = super().typed()
        if self._logo is not None:
            own = {"logo": b64encode(self._logo).decode(), "logo_name": self._logo_name}
            state[self.step] = state[self.step] | own
        return state

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        super().restore(state)
        own = state.get(self.step, {})
        name, logo = own.get("logo_name", ""), own.get("logo", "")
        self._use_logo("", None)
        if logo:
            with suppress(ValueError):  # a damaged logo is left out
                self._use_logo(name, checked_logo(name, b64decode(logo)))

    def draw(self) -> None:
        with self.filling():
            self.motor.offer([self._as_recommended, *motors(self.answer)])
        self.button.disabled = self._nothing_fits()
        if self.on_page and self.button.disabled:
            self.made_told.value = style.status(self.writer("page.offer.none_fits"))
        self.verdict.value = verdict(self.answer)
        self.facts.value = facts(self.answer)
        shown = [one.name for one in self.answer.offered], self.units.value
        if self.answer.costs is not self._drawn[0] or shown != self._drawn[1]:
            self._drawn, self._version = (self.answer.costs, shown), self._version + 1
            self._pictured.follow()
        self.draw_page()
        self._note_change()

    def _draw_picture(self) -> None:
        if self.answer is not None:
            self._picture = life(self.answer)
            none = style.quiet(self.text("proposal.no_cost"))
            shown = none if self._picture is None else self._picture.own_size()
            self.picture_shown.value = shown

    @property
    def picture(self) -> Picture | None:
        """Return the plot of the offered motors' costs, or None if no motor has a price."""
        self._pictured.hurry()
        return self._picture

    @property
    def SLOW(self):
        return [title for title, page in self._pages.items() if page is what_decides]

    def page(self, title: str) -> str:
        return self._pages[title](self.answer)

    def page_key(self, title: str):
        return self._version

    def records(self) -> tuple[Fields, ...]:
        return self.customer, self.money, self.contractor

    def choices(self) -> dict[str, MotorChoice]:
        return {"motor": self.motor}

    def _company(self) -> Company:
        """Return the company details from the fields or from the file.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        given = self.contractor.given()
        path = "" if self.on_page else self.company.value.strip()
        if path:
            of_file = {name: value for name, value in Company.read(path) if value not in ("", None)}
            return Company(**(of_file | given))
        if not given:
            return Company.usual(self.job_shown.invented)
        return Company(**({"currency": self._catalog_currency() or CURRENCY} | given))

    @property
    def job_shown(self) -> Job:
        return self.host.answer.job if self.on_page else self.job

    def _own_currency(self) -> str:
        """Return the currency of the user's company, or "" if it is not known."""
        typed = self.contractor.given().get("currency", "")
        path = "" if self.on_page else self.company.value.strip()
        with suppress(InputError):
            return typed or (Company.read(path).currency if path else "")
        return ""

    def _catalog_currency(self) -> str:
        """Return the currency of the catalog, or "" if it has no prices."""
        with suppress(InputError):
            motors = self.host.form.motors if self.on_page else self._motors()
            return next((one.currency for one in motors if one.price is not None), "")
        return ""

    def _motors(self) -> Catalog:
        path = self.catalog.value.strip() or str(data_folder() / "catalogue.csv")
        return self._catalog(path, self._own_currency())

    def _nothing_fits(self) -> bool:
        return self.answer is not None and not self.answer.found.fitting

    def _is_invented(self) -> bool:
        """Return True if the catalog is the fictional one supplied with airover."""
        return not self.host.form.own_motors if self.on_page else not self.catalog.value.strip()

    def _asked(self) -> tuple:
        """Return all inputs of the proposal, to detect changes."""
        found = self.answer.found if self.answer is not None else None
        try:
            company = self._company()
        except InputError:
            company = None
        controls = [self.language, self.units, self.date, self.motor, self.details]
        if not self.on_page:
            controls.append(self.template)
        paper = tuple(one.value for one in controls)
        typed = self.customer.given(), self.money.given()
        return found and found.job, found and found.candidates, typed, company, self._logo, paper

    @property
    def costs(self) -> LifeCosts | None:
        """Life-cycle costs of all motors that fit and have a price."""
        return self.answer.costs

    @property
    def drivers(self) -> Drivers | None:
        """Inputs that decide between the first motor and the cheapest alternative."""
        return self.answer.drivers

    @property
    def options(self):
        """Table of the offered motors and their costs (pandas)."""
        found = self.answer
        if not found.offered:
            return self.text("proposal.nothing_to_compare")
        costs = found.costs
        return tables_cost.options(found.offered, costs.currency, costs.horizon, self.writer)

    @property
    def results(self) -> pd.DataFrame:
        """Table of the offered motors' costs as numbers."""
        years = self.costs.horizon if self.costs else 0
        return numbers.costs(self.answer.offered, years, self.writer)

    @property
    def said(self) -> str:
        """Return the verdict, the reason for each option, and the costs that are not included."""
        found = self.answer
        left_out = [] if found.choices is None else map(self.writer, found.choices.not_included)
        title = self.text("proposal.not_included")
        return "\n- ".join([found.verdict, *found.whys]) + "\n- ".join([f"\n\n{title}", *left_out])

    @property
    def deciding(self) -> Picture | None:
        """Plot of the inputs that decide between the first motor and the cheapest alternative."""
        return decides(self.answer)

    @property
    def first_page(self) -> Picture:
        """First page of the proposal, as printed.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        return pages(self.proposal(), self.writer)[0]

    def _costs(self, found, basis: CostBasis, company: Company) -> LifeCosts | None:
        """Return the life-cycle costs, reusing the simulated year for a new cost basis."""
        if all(one.case.motor.price is None for one in found.fitting):
            return None
        basis = company.cost_basis(basis)
        before, with_basis, costs = self._counted
        if before is not found:
            costs = life_cost(found, basis)
        elif with_basis != basis:
            costs = recounted(costs, basis)
        self._counted = found, basis, costs
        return costs

    def _folder(self) -> Path:
        given = self.out.value.strip()
        if not given:
            raise InputError(_FOLDER, NOTHING, Message("panel.proposal.a_folder"))
        if Path(given).is_file():
            file = Message("panel.proposal.a_file", name=quoted(given))
            raise InputError(_FOLDER, file, Message("panel.proposal.a_folder"))
        return Path(given)

    def _show_made(self) -> None:
        """Show the pages of the latest proposal, or a message if there is none."""
        none = style.quiet(self.text("proposal.none_made"))
        self.preview.value = preview(self.made, self.writer) if self.made else none
        self.preview_told.value, self.links.value = "", ""
        if self.made and self.on_page:
            pdf, html = self._content
            name = uploads.file_name(self.host.form.name.value)
            self.links.value = style.row(
                style.link(f"{name}.pdf", pdf, "application/pdf", self.writer("page.offer.pdf")),
                style.link(f"{name}.html", html, "text/html", self.writer("page.offer.html")),
            )

    def _note_change(self) -> None:
        """Mark the latest proposal as outdated if its inputs have changed."""
        if self.made is not None and self._asked() != self._made_of:
            self.preview_told.value = style.problem(self.text("proposal.changed"))
            if self.on_page:
                self.made_told.value = style.status(self.writer("page.offer.changed"))

    def _observe(self) -> None:
        typed = [one for record in self.records() for one in record.controls.values()]
        self.watch([*typed, self.motor])
        self.follow([self.language, self.date, self.details], self._note_change)
        # ipywidgets only logs exceptions from clicks, so the handler only calls this method.
        self.button.on_click(lambda _: self.write())
        if not self.on_page:
            self.watch([self.units])
            self.follow([self.template], self._note_change)
            self.follow([self.catalog, self.company], self.update, as_typed=False)
            self.keep_steps([*typed, self.units, self.language, self.date, self.details])

    def _make_controls(self, units: str, catalog, company) -> None:
        if not self.on_page:
            self.units = fields.units_shown(units, self.writer)
        write = self.writer
        self.motor = MotorChoice(write("page.offer.motor" if self.on_page else "panel.motor"))
        self.motor.offer([self._as_recommended])
        self.button = widgets.Button(
            description=write("page.offer.make"), tooltip=write("panel.proposal.make_tip"),
            button_style="primary", layout={"width": "auto"},
        )  # fmt: skip
        self.button.add_class("ao-main")
        self._make_records()
        self.language = choice(write("panel.proposal.language"), languages())
        self.language.value = self._language
        self.date = text(write("panel.proposal.date"))
        self.date.placeholder = write("panel.proposal.today")
        self.details = widgets.Checkbox(
            description=write("page.offer.details"), indent=False, layout={"width": "auto"}
        )
        self.places("verdict", "picture_shown", "facts", "links")
        self._pictured = FollowingPicture(self._draw_picture, self.picture_shown)
        self.told_places("made_told", "file_told", "logo_told")
        self.preview_told, self.preview = widgets.HTML(), widgets.HTML()
        self._pages = {write(f"panel.proposal.page.{key}"): page for key, page in PAGES.items()}
        preview = write("panel.proposal.page.Preview")
        self.make_pages(self._pages, more={preview: [self.preview_told, self.preview]})
        if self.on_page:  # page visitors must not have access to files on this computer
            words = write("page.file.company")
            self.upload_button = uploads.upload(words, ".toml", self.upload)
            words = write("page.offer.logo")
            self.logo_button = uploads.upload(words, LOGOS, self.upload_logo)
        else:
            self._make_file_controls(catalog, company)

    def _make_file_controls(self, catalog, company) -> None:
        write = self.writer
        self.company = text(write("panel.proposal.company"), "my-company.toml", write)
        self.company.value = "" if company is None else os.fspath(company)
        self.template = text(write("panel.proposal.template"), "my-template.typ", write)
        self.catalog = text(write("panel.catalog"), "my-motors.csv", write)
        self.catalog.value = "" if catalog is None else os.fspath(catalog)
        self.out = text(write("panel.results"), "results/my-job", write)

    def _make_records(self) -> None:
        """Create the customer, cost and company forms."""
        if self.on_page:
            self.customer, self.money = self.host.form.customer, self.host.form.cost
        else:
            self.customer = self.fields("customer", CUSTOMER, Customer)
            self.money = self.fields("cost", COST, CostBasis)
            for name, control in self.money.controls.items():
                control.placeholder = placeholder(name, self.writer)
        self.contractor = self.fields("company", COMPANY, Company)
        words = [(self.writer(f"word.{word}"), word) for word in TAXED]
        self.contractor.tax_on.options = [(words[0][0], ""), *words[1:]]  # by default, parts
        usual = lambda: self._own_currency() or self._catalog_currency()
        self.money.usual_currency = self.contractor.usual_currency = usual

    def _arrange(self) -> None:
        money, more = self.money.pages.values()
        (customer,), (company, prices) = (
            self.customer.pages.values(),
            self.contractor.pages.values(),
        )
        own = [hint(self.writer("page.offer.about_company")), company]
        pages = {
            self.writer("page.offer.customer"): [
                hint(self.writer("page.offer.about_customer")), customer
            ],
            self.writer("page.offer.company"): own,
            self.writer("page.offer.company_prices"): [
                hint(self.writer("page.offer.about_prices")), prices
            ],
            self.text("proposal.tab.money"): [money, hint(self.text("proposal.hint"))],
            self.text("proposal.tab.more"): [more],
        }  # fmt: skip
        if self.on_page:
            own += [self.upload_button, self.file_told, self.logo_button, self.logo_told]
            left = [
                self.motor,
                *self.parts(pages, opened=True),
                self.language,
                self.date,
                self.details,
                self.button,
            ]
            right = [self.made_told, self.links, self._pictured.view, self.facts]
            self.arrange([self.verdict], left, right, [self.tables])
            return
        papers = [
            self.language, self.units, self.date, self.details, self.company, self.template, self.catalog,
            self.out, hint(self.text("proposal.left_empty")),
        ]  # fmt: skip
        pages[self.text("proposal.tab.paper")] = papers
        left = [self.motor, self.button, self.made_told, *self.parts(pages)]
        below = [self.tables, widgets.HTML(cautions(self.writer))]
        self.arrange([self.verdict], left, [self._pictured.view, self.facts], below)
