"""The panel of worksheet 07: what it costs over the years, and a proposal to sign."""

import os
from functools import lru_cache
from pathlib import Path

import ipywidgets as widgets

from airover.answer import answer
from airover.cost.life_cost import LifeCosts, life_cost, recounted
from airover.errors import InputError
from airover.locations import data_folder
from airover.panels import fields, proposal_shown, style
from airover.panels.fields import Fields, choice, hint, text
from airover.panels.paged import PagedPanel
from airover.panels.parts import Picture
from airover.panels.proposal_fields import (
    MONEY,
    MORE,
    TONGUES,
    job_files,
    placeholder,
    results_for,
)
from airover.panels.proposal_shown import Counted
from airover.proposal import Proposal, make
from airover.records import Company, CostBasis, Job, read_catalogue
from airover.records.dates import read_day
from airover.texts import Writer
from airover.units import quoted

PAGES = {
    "Options": proposal_shown.side_by_side,
    "What decides": proposal_shown.what_decides,
    "Counted with": proposal_shown.counted_with,
}
PREVIEW = len(PAGES)  # the tab after them


class ProposalPanel(PagedPanel):
    """A job file to its proposal: choose the file, press the button.

    ``job_path``, ``catalogue`` and ``company`` are files, by default the sample job, the catalogue
    and the company that come with the kit; ``units`` is "US" or "SI", ``language``
    "en" or "es", also that of the paper at first. Controls: ``jobs`` (the job
    files found) and ``path`` (any other one), ``motor``, ``money`` (with the fields of a CostBasis
    as attributes), ``language``, ``units``, ``date``, ``company``, ``template``, ``catalogue``,
    ``out`` (the folder that is written to) and ``button``. ``made`` is the last proposal that was
    written, None before. Raises InputError when the files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalogue=None, company=None, units="US", language="en"):
        super().__init__(language)
        self._as_recommended = (self.text("proposal.as_recommended"), "")
        self._answered, self._counted = lru_cache(maxsize=4)(answer), None
        self._catalogue = lru_cache(maxsize=2)(read_catalogue)
        self._make_controls(units, catalogue, company)
        path = str(job_path or data_folder() / "jobs" / "roof-unit.toml")
        self.fill((path, Job.read(path)))
        self.begin()
        self._observe()
        self._arrange()

    def fill(self, opened: tuple[str, Job]) -> None:
        """Take the job that was ``opened`` at a path: what it says of money, a folder for it."""
        path, self.job = opened
        known = [value for _, value in self.jobs.options]
        with self.filling():
            self.money.fill(self.job.cost)
            self.motor.options, self.motor.value = [self._as_recommended], ""
            self.jobs.value = path if path in known else None
            self.out.value = results_for(path)
        self.made = None
        self.made_told.value = ""
        self._show_made()

    def open(self, path) -> None:
        """Read the job file at ``path`` and work it; what is wrong with it is told."""
        self.open_with(_read, str(path), self.fill)

    @property
    def basis(self) -> CostBasis:
        """What the fields of money say; raises InputError."""
        return Job(cost=self.money.given()).cost

    def compute(self) -> Counted:
        basis = self.basis
        path = self.catalogue.value.strip() or str(data_folder() / "catalogue.csv")
        found = self._answered(self.job, self._catalogue(path))
        fitting = [one.case.motor.name for one in found.fitting]
        wanted = self.motor.value if self.motor.value in fitting else ""
        return Counted(found, self._costs(found, basis), wanted, self.writer)

    def proposal(self) -> Proposal:
        """The proposal of what the controls say, as it would be written; raises InputError."""
        counted, date = self.compute(), self.date.value.strip()
        return make(
            counted.found,
            Company.read(self.company.value.strip() or data_folder() / "company.toml"),
            counted.costs,
            motor=counted.wanted or None,
            language=self.language.value,
            system=self.units.value,
            date=read_day(date, "date") if date else None,
            template=self.template.value.strip() or None,
            invented_motors=not self.catalogue.value.strip(),
        )

    def write(self) -> None:
        """Make the proposal, write its files and show its pages; what is wrong is told."""
        self.made_told.value = style.quiet(self.text("proposal.making"))
        try:
            made, folder = self.proposal(), self._folder()
            replaced = (folder / "proposal.pdf").exists()
            paths = made.write(folder)
        except InputError as error:
            notes = getattr(error, "__notes__", ())
            self.made_told.value = style.problem(
                self.text("proposal.not_made", why=self.writer.error(error)), *notes
            )
            return
        self.made = made
        self.made_told.value = style.written(paths, replaced, self.writer)
        self._show_made()
        self.tables.selected_index = PREVIEW

    def draw(self) -> None:
        with self.filling():
            self.motor.options = [self._as_recommended, *proposal_shown.motors(self.answer)]
            self.motor.value = self.answer.wanted
        self.verdict.value = proposal_shown.verdict(self.answer)
        self.picture = proposal_shown.life(self.answer)
        none = style.quiet(self.text("proposal.no_cost"))
        shown = none if self.picture is None else self.picture.html()
        self.picture_shown.value = shown + proposal_shown.facts(self.answer)
        self.draw_page()
        self._note_change()

    def page(self, title: str) -> str:
        return self._pages[title](self.answer)

    def page_key(self, title: str):
        return id(self.answer)

    def refused(self, error: InputError | None) -> None:
        self.money.show_problem(error)

    @property
    def deciding(self) -> Picture | None:
        """What decides between the motor on offer and the cheapest other one."""
        return proposal_shown.decides(self.answer)

    @property
    def first_page(self) -> Picture:
        """The first page of the proposal as it prints; nothing is written. Raises InputError."""
        return proposal_shown.pages(self.proposal(), self.writer)[0]

    def _costs(self, found, basis: CostBasis) -> LifeCosts | None:
        """The motors are worked in their year of weather once; other money counts them again."""
        if all(one.case.motor.price is None for one in found.fitting):
            return None
        if self._counted is None or self._counted[0] is not found:
            self._counted = found, life_cost(found, basis)
            return self._counted[1]
        return recounted(self._counted[1], basis)

    def _folder(self) -> Path:
        given = self.out.value.strip()
        if not given:
            raise InputError("results folder", "nothing", 'a folder, such as "results/my-job"')
        if Path(given).is_file():
            raise InputError("results folder", f"{quoted(given)}, which is a file,", "a folder")
        return Path(given)

    def _show_made(self) -> None:
        """The pages of the proposal that was made, or that there is none."""
        none = style.quiet(self.text("proposal.none_made"))
        made = self.made and proposal_shown.preview(self.made, self.writer)
        self.preview.value = made or none
        self.preview_told.value = ""

    def _note_change(self) -> None:
        """A proposal that was made before a change must not look like one of now."""
        if self.made is not None:
            self.preview_told.value = style.problem(self.text("proposal.changed"))

    def _job_chosen(self) -> None:
        if self.jobs.value is not None:
            self.open(self.jobs.value)

    def _observe(self) -> None:
        money = self.money.controls.values()
        paper = [self.language, self.date, self.company, self.template]
        self.watch([*money, self.motor, self.units])
        self.follow([self.catalogue], self.update, as_typed=False)
        self.follow(paper, self._note_change)
        self.follow([self.jobs], self._job_chosen)
        self.follow_path(self.path, self.open)
        self.keep_steps([*money, self.units, self.language, self.date])
        # ipywidgets only logs what a click raises: the handler does nothing but call this one.
        self.button.on_click(lambda _: self.write())

    def _make_controls(self, units: str, catalogue, company) -> None:
        write = Writer(self._language, units)
        self.jobs = choice(write("panel.job_file"), job_files(write))
        self.path = text(write("panel.proposal.another"), "my-job.toml", write)
        self.motor = choice(write("panel.motor"), [self._as_recommended])
        for control in (self.jobs, self.path, self.motor):
            control.style.description_width = "96px"
        self.button = widgets.Button(
            description=write("page.offer.make"), tooltip=write("panel.proposal.make_tip"),
            button_style="primary", layout={"width": "auto", "margin": "6px 2px 2px 98px"},
        )  # fmt: skip
        self.money = Fields(
            "cost", {"Money": _asked(MONEY), "More money": _asked(MORE)}, write=write
        )
        for name, control in self.money.controls.items():
            control.placeholder = placeholder(name, write)
            control.style.description_width = "112px"
        self.language, self.units = (
            choice(write("page.language"), TONGUES),
            fields.units_shown(units, write),
        )
        self.language.value = self._language
        self.date = text(write("panel.proposal.date"))
        self.date.placeholder = write("panel.proposal.today")
        self.company = text(write("panel.proposal.company"), "my-company.toml", write)
        self.company.value = "" if company is None else os.fspath(company)
        self.template = text(write("panel.proposal.template"), "my-template.typ", write)
        self.catalogue = text(write("panel.catalog"), "my-motors.csv", write)
        self.catalogue.value = "" if catalogue is None else os.fspath(catalogue)
        self.out = text(write("panel.results"), "results/my-job", write)
        self.places("verdict", "picture_shown")
        self.told_places("made_told")
        self.preview_told, self.preview = widgets.HTML(), widgets.HTML()
        self._pages = {write(f"panel.proposal.page.{key}"): page for key, page in PAGES.items()}
        preview = write("panel.proposal.page.Preview")
        self.make_pages(self._pages, more={preview: [self.preview_told, self.preview]})

    def _arrange(self) -> None:
        left = [self.jobs, self.path, self.motor, self.button, self.made_told, self._tab()]
        below = [self.tables, widgets.HTML(proposal_shown.cautions(self.writer))]
        self.arrange([self.verdict], left, [self.picture_shown], below)

    def _tab(self) -> widgets.Tab:
        papers = [
            self.language, self.units, self.date, self.company, self.template, self.catalogue,
            self.out,
        ]  # fmt: skip
        left_empty = self.text("proposal.left_empty")
        money, more = self.money.pages.values()
        return fields.tab({
            self.text("proposal.tab.money"): [money, hint(self.text("proposal.hint"))],
            self.text("proposal.tab.more"): [more],
            self.text("proposal.tab.paper"): [*papers, hint(left_empty)],
        })  # fmt: skip


def _read(path: str) -> tuple[str, Job]:
    return path, Job.read(path)


def _asked(names) -> dict[str, str]:
    return dict.fromkeys(names, "")
