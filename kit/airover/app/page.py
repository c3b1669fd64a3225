"""Web page with a job and its steps, for users who do not work with notebooks.

The first steps follow a replacement on the roof: the motor, the roof sheet, the installation and
the readings. The other steps are the cause of the failure, the proposal, the amps and a comparison.
All steps share one job. A step is created when it is first opened, and is recalculated if the job
has changed.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import lru_cache
from html import escape
from pathlib import Path

import ipywidgets as widgets

from airover.app import style, uploads
from airover.app.calculators import Overtaken, answered, calculates_here, selected, unless
from airover.app.cause_panel import FOUND, CausePanel
from airover.app.compare_panel import ComparePanel
from airover.app.current_job import CUSTOMER, FORM, CurrentJob, motors_of_the_kit, sample_job
from airover.app.fields import SYSTEMS, Fields, Folds
from airover.app.import_panel import ImportPanel
from airover.app.kept_jobs import KeptJobs
from airover.app.kept_panel import KeptPanel
from airover.app.motor_panel import MotorPanel
from airover.app.order_panel import InstallPanel, RoofPanel, WorkOrders
from airover.app.panel import INPUT, Panel, Undo
from airover.app.proposal_panel import COST, ProposalPanel
from airover.app.replacement import ReplacementPanel, load, named
from airover.app.running import AfterRest
from airover.app.unsaved import State, Unsaved, UnsavedCatalog
from airover.app.verify_panel import VerifyPanel
from airover.core.errors import InputError
from airover.core.texts import Writer, languages
from airover.records.catalog import Catalog
from airover.records.company import CostBasis
from airover.records.found import Found
from airover.records.job import Customer, Job, Ticks
from airover.selection.answer import Answer
from airover.selection.check import MISSING
from airover.service.order import WorkOrder
from airover.service.roof_sheet import RoofSheet

STEPS: tuple[type[Panel], ...] = (
    ReplacementPanel, RoofPanel, InstallPanel, VerifyPanel,
    CausePanel, ProposalPanel, MotorPanel, ComparePanel,
)  # fmt: skip
IMPORTED = "table.csv"  # file name of an imported table
AFTER_OTHERS = 0.05  # s, in which the messages that wait are read
FLOW = 4  # number of the first steps that follow one another
# The findings are in the step for the cause. The customer and prices are in the proposal step.
SELECTING = FORM | {"found": (FOUND, Found)}
FORMS = SELECTING | {"customer": (CUSTOMER, Customer), "cost": (COST, CostBasis)}
# Parts of a job that do not affect its answer
ASIDE = {"customer": Customer(), "cost": CostBasis(), "ticks": Ticks()}
SECTIONS = {"Nameplate": "plate", "Old motor": "body", "Blade": "blade", "Site": "site",
            "Limits": "limits"}  # fmt: skip


class App(Panel):
    """Web page, displayed by the widget ``view``.

    Entries are stored in the file ``unsaved`` (see `keep_in`), or only in memory if ``unsaved`` is
    None.

    The controls are ``language``, ``units``, ``form`` (the job), ``kept`` (the list of jobs), ``steps``
    (a Tab with one page for each of STEPS), ``undo``, ``sample``, ``anew`` and ``go_on``. The attribute ``panels`` contains
    the steps created so far.

    Parameters
    ----------
    language : str, optional
        Initial language, "en" or "es".
    units : str, optional
        Initial units, "US" or "SI".
    jobs : Path or None, optional
        Folder of saved jobs, or None for a page without a list of jobs.

    Raises
    ------
    InputError
        If the language or unit system is unknown.
    """

    def __init__(
        self, language: str = "en", units: str = "US", unsaved: Path | None = None,
        jobs: Path | None = None,
    ):  # fmt: skip
        Writer(language, units)  # raises an error for unknown values
        self.on_inputs: Callable[[list, bool], None] | None = None
        self.is_overtaken: Callable[[], bool] = lambda: False
        self._again = AfterRest(self.update, AFTER_OTHERS)
        super().__init__(language)
        self.on_page = True
        self.language = widgets.Dropdown(options=languages(), value=language)
        self.units = widgets.Dropdown(options=[(one, one) for one in SYSTEMS], value=units)
        self.sample, self.anew, self.go_on = (widgets.Button() for _ in range(3))
        for name in ("head", "kept_told", "before_told", "file_told", "used"):
            setattr(self, name, widgets.HTML())
        self.offered = widgets.VBox([self.before_told, self.go_on])
        self._left: State = {}  # entries for steps that have not been created
        self.panels: list[Panel | None] = []
        self._before, self._trouble, self._bar, self._catalog_name = None, "", "", ""
        self._evaluated: tuple[Job | None, object] = None, None  # job and motors of the answer
        self._orders, self._jobs, self._linked = WorkOrders(), KeptJobs(jobs), None
        self._make()
        self.undo = Undo(self.typed, self._go_to)
        self._arrange()
        self._observe()
        self.keep_in(unsaved)
        self.update()

    def keep_in(self, unsaved: Path | None, before: Path | None = None) -> None:
        """Show the entries from the file ``unsaved`` and store all changes in it.

        If ``unsaved`` has no entries, the page offers to restore the entries in ``before``, the
        file of another page. The answer is shown by `update`, which may take a while.
        """
        self._unsaved, self._own_catalog = Unsaved(unsaved), UnsavedCatalog(unsaved)
        self._restore_unsaved()
        self.undo.begin()
        self._saved: State = self._state()
        self._find(Unsaved(before))
        self._say()
        if self.form.enough():
            self._tell(style.text(self.writer("page.working")), earlier=True)

    @property
    def shown(self) -> Panel | None:
        """Return the visible step, or None if it has nothing to show yet."""
        return self.panels[self.steps.selected_index or 0]

    def compute(self) -> Answer:
        """Evaluate the job without the parts that do not affect the answer.

        What the visible step shows of the answer is calculated with it.
        """
        whole, motors = self.form.job(), self.form.motors
        job, at = whole.model_copy(update=ASIDE), self.steps.selected_index or 0
        known, used = self._evaluated
        if self.answer is None or motors is not used or job != known:
            name = self.motor_to_install
            with unless(self.is_overtaken):
                found, more = _answered(job, motors, STEPS[at].ahead(self))
            if isinstance(more, RoofSheet):
                self._orders.keep(found, whole, name, more)
            self._evaluated = job, motors
            return found
        return self.answer

    @property
    def motor_to_install(self) -> str | None:
        """Name of the motor to install, or None for the best motor."""
        return self.typed().get(RoofPanel.step, {}).get("motor")

    def sheet(self) -> RoofSheet | None:
        """Return the roof sheet for the motor to install, or None if no motor fits.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        return self._orders.sheet(self.answer, self.form.job(), self.motor_to_install)

    def order(self) -> WorkOrder | None:
        """Return the work order for the motor to install, or None if no motor fits.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        return self._orders.order(self.answer, self.form.job(), self.motor_to_install)

    def outdate(self, changed: Panel) -> None:
        """Mark the other steps as outdated after the user edits an entry in step ``changed``."""
        for panel in filter(None, self.panels):
            panel.stale = panel.stale or panel is not changed
        self._bar = bar(self.answer, self.motor_to_install, self.writer)

    def update(self) -> None:
        """Show the answer for the job unless entries are missing or rejected.

        If the user has changed more while the answer waited for a process, it is not calculated.
        """
        self._again.forget()
        self.refused(None)
        for record in self.records():
            record.tell(record.found())
        self._offer_file()
        if any(record.refused for record in self.records()) or not self.form.enough():
            self._wait()
            return
        self._tell(style.text(self.writer("page.working")), earlier=True)
        try:
            found = self.compute()
        except InputError as error:
            self._refuse(error)
            return
        except Overtaken:
            self._again.ask()  # unless the messages that wait change an input
            return
        if found is not self.answer:
            self.answer = found
            for panel in filter(None, self.panels):
                panel.stale = True
        self._trouble = ""
        self._bar = bar(found, self.motor_to_install, self.writer)
        self.used.value = style.quiet(self._catalog_used(len(self.form.motors)))
        self.body.remove_class("ao-earlier")
        self._look()

    def inputs(self) -> list:
        """Return the values of the controls that an answer depends on, in their order on the page."""
        return [getattr(one, _key(one)) for one in self._asked()]

    def tell_inputs(self, drawing: bool = False) -> None:
        """Report to ``on_inputs`` the inputs of the answer that the page now shows.

        Parameters
        ----------
        drawing : bool, optional
            True if the answer for these inputs is still to be drawn.
        """
        if self.on_inputs is not None:
            self.on_inputs(self.inputs(), drawing)

    def agree(self) -> None:
        """Send all inputs again and recalculate, because the browser shows different inputs."""
        for one in self._asked():
            one.send_state(_key(one))
        if self.shown is not None:
            self.shown.stale = True
        self.update()
        self.settled()

    def _asked(self) -> list[widgets.Widget]:
        return [one for one in _below(self.view) if INPUT in one._dom_classes]

    def ready(self) -> str:
        """Return the short verdict, marked as current, with a link to the full answer.

        If the job is rejected or incomplete, return the reason instead.
        """
        return self._trouble or self._bar

    def records(self) -> tuple[Fields, ...]:
        return self.form.forms[: len(SELECTING)]

    def leave(self) -> None:
        """Store the entries when the page is closed."""
        self._change.forget()
        self._again.forget()
        self.settled()

    def settled(self) -> None:
        """Record the entries as an undo step and write them to the file for unsaved work."""
        if self.undo.note():
            self._find(Unsaved(None))
        self._offer_file()
        self.kept.settled()
        state = self._state()
        if state != self._saved:
            try:
                self._unsaved.save(state) if any(self.typed().values()) else self._unsaved.forget()
            except InputError as error:
                why = self.writer.error(error)
                self.kept_told.value = style.problem(self.writer("page.job.unsaved", why=why))
            self._saved = state

    def typed(self) -> State:
        """Return all entries as text, by form and field."""
        made = [panel.typed() for panel in self.panels if panel is not None]
        state = self._left | self.form.typed() | {"kept": {"file": self.kept.file}}
        for one in made:
            state |= one
        if not self.kept.file:
            del state["kept"]
        return {name: texts for name, texts in state.items() if texts}

    def restore(self, state: State) -> None:
        """Restore the state returned by `typed`.

        Raises
        ------
        InputError
            If the state is damaged.
        """
        with self.filling():
            self.form.restore(state)
            for panel in filter(None, self.panels):
                panel.restore(state)
        self._left = {name: texts for name, texts in state.items() if name != "page"}
        self.kept.attach(state.get("kept", {}).get("file", ""))

    def fill(self, job: Job | None, file: str = "") -> None:
        """Fill in ``job`` and show its answer, or clear the job and all steps if it is None.

        Parameters
        ----------
        file : str, optional
            File in which the job is saved.
        """
        if job is None:
            self.restore({})
        else:
            with self.filling():
                self.form.fill(job)
            self.kept.attach(file)
        for panel in filter(None, self.panels):
            panel.stale = True
        self.folds.fold("" if job is not None else next(iter(self.folds.buttons)))
        self.update()
        self.settled()

    @contextmanager
    def filling(self):
        """Return a context in which setting a control does not trigger an update.

        The controls of the steps are included.
        """
        with ExitStack() as stack:
            stack.enter_context(super().filling())
            for panel in filter(None, self.panels):
                stack.enter_context(panel.filling())
            yield

    def open_job(self, name: str, content: bytes) -> None:
        """Load an uploaded job file, or show the error if it is rejected."""
        if job := self.opened(uploads.job, name, content):
            self.fill(job)

    def open_catalog(self, name: str, content: bytes) -> None:
        """Load the motors from an uploaded file.

        If the file is rejected, show the error and change nothing.
        """
        if motors := self.opened(uploads.catalog, name, content):
            self._use_motors(motors, name)
            self._keep_catalog(name, content)

    def _use_imported(self, imports: ImportPanel) -> None:
        self._use_motors(imports.catalog(), "")
        self._keep_catalog("", imports.content)

    def _use_motors(self, motors: Catalog, name: str) -> None:
        """Use ``motors`` for the evaluation and report how many rows of their file were omitted.

        Parameters
        ----------
        name : str
            Name of the file, or "" for an imported table.
        """
        self.form.own_motors, self._catalog_name = motors, name
        if motors.left_out is not None:
            self.file_told.value += style.problem(self.writer(motors.left_out.told))
        self.update()

    def use_the_kits(self) -> None:
        """Return to the motors supplied with airover."""
        self.form.own_motors = None
        self.file_told.value = style.status(self.writer("page.file.own"))
        self._keep_catalog()
        self.update()

    def take_before(self) -> None:
        """Continue with the entries and the catalog from another page on this computer."""
        if found := self._catalog_before.load():
            self._restore_catalog(*found)
            self._keep_catalog(*found)
        self._go_to(self._before[1])
        self.settled()

    def opened(self, read, name: str, content: bytes):
        """Return the result of applying ``read`` to an uploaded file.

        If the file is rejected, show the reason and return None.
        """
        try:
            found = read(name, bytes(content))
        except InputError as error:
            self.refuse_file(name, error)
            return None
        self.file_told.value = style.status(self.writer("page.file.opened", name=name))
        return found

    def refuse_file(self, name: str, error: InputError) -> None:
        """Show the reason why an uploaded file was rejected."""
        why = self.writer.error(error)
        self.file_told.value = style.problem(self.writer("page.file.refused", name=name, why=why))

    def _catalog_used(self, count: int) -> str:
        """Return the name of the catalog that the answer is from, with its number of motors."""
        write, name = self.writer, self._catalog_name
        if self.form.own_motors is None:
            name = write("page_catalog.kit")
        return write("page_catalog.used", name=name or write("page_catalog.imported"), count=count)

    def _look(self) -> None:
        """Show the selected step, creating it if necessary."""
        at = self.steps.selected_index or 0
        if self.answer is None:
            return
        if self.panels[at] is None:
            panel = STEPS[at](host=self)
            panel.restore(self.typed())
            self.panels[at] = panel
            self.steps.children[at].children = [panel.view, *self._onward(at)]
        self.panels[at].look()

    def _onward(self, at: int) -> list[widgets.Button]:
        """Return the button that leads from a step to the next step, if any."""
        if at + 1 >= FLOW:
            return []
        title = self.steps.titles[at + 1]
        button = widgets.Button(description=self.writer("flow.onward", step=title))
        for name in ("ao-main", "ao-onward"):
            button.add_class(name)
        button.on_click(lambda _: setattr(self.steps, "selected_index", at + 1))
        return [button]

    def _offer_file(self) -> None:
        """Show a link that saves the job, unless part of the job is rejected."""
        try:
            job = self.form.job()
        except InputError:
            self.link.value, self._linked = "", None
            return
        if self._linked == (linked := (job, self._language)):
            return
        self._linked = linked
        name, content = f"{uploads.file_name(job.name)}.toml", job.to_toml().encode()
        words = self.writer("page.job.download")
        self.link.value = style.link(name, content, "application/toml", words)

    def _go_to(self, state: State) -> None:
        """Go back or forward to a recorded state of the entries."""
        self.restore(state)
        self.update()
        self.changed()

    def _state(self) -> State:
        return {"page": {"language": self._language, "units": self.units.value}, **self.typed()}

    def _find(self, before: Unsaved) -> None:
        """Offer to restore the entries from another page if this page is empty."""
        self._before = None if any(self.typed().values()) else before.load_if_whole()
        self._catalog_before = UnsavedCatalog(before.path)
        self.offered.layout.display = "none" if self._before is None else None

    def _restore_unsaved(self) -> None:
        """Restore the entries from before the page was reloaded, and tell the user."""
        told = ""
        try:
            if found := self._unsaved.load():
                time, state = found
                self._speak_as(state.get("page", {}))
                self.restore(state)
                told = style.status(self.writer("page.job.restored", time=time))
        except InputError:
            self.restore({})
            told = style.problem(self.writer("page.job.broken"))
        self.kept_told.value = told
        if found := self._own_catalog.load():
            self._restore_catalog(*found)

    def _restore_catalog(self, name: str, content: bytes) -> None:
        """Use the motors from a stored catalog."""
        if motors := self.opened(uploads.catalog, name or IMPORTED, content):
            self.form.own_motors, self._catalog_name = motors, name

    def _keep_catalog(self, name: str = "", content: bytes | None = None) -> None:
        """Store the catalog for the next load of this page, or delete it if there is no content."""
        try:
            if content is None:
                self._own_catalog.forget()
            else:
                self._own_catalog.save(name, bytes(content))
        except InputError as error:
            why = self.writer.error(error)
            self.kept_told.value = style.problem(self.writer("page.job.unsaved", why=why))

    def _speak_as(self, page: dict[str, str]) -> None:
        """Switch to the language and units of a stored page, if they are recorded.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        language = page.get("language", self._language)
        units = page.get("units", self.units.value)
        Writer(language, units)  # rejects unknown values
        with self.filling():
            self.language.value, self.units.value = language, units
        self._anew()

    def _anew(self) -> None:
        """Recreate all controls in another language, keeping the entries and opened files."""
        state, motors, old = self.typed(), self.form.own_motors, set(_below(self.panes))
        opened = [button.value for button in self.folds.buttons.values()]
        self._language = self.language.value
        self._make()
        self.form.own_motors = motors
        self.restore(state)
        self._arrange()
        self._follow()
        for button, value in zip(self.folds.buttons.values(), opened, strict=True):
            button.value = value
        self._say()
        for one in old.difference(_below(self.view)):
            one.close()

    def _reader_changed(self) -> None:
        """Respond to a change of language or units."""
        if self._filling:
            return
        if self.language.value != self._language:
            self._anew()
        for form in self._all_forms():
            form.say(self.writer)
        self.form.printed.say(self.writer)
        for panel in filter(None, self.panels):
            panel.stale = True
        self.update()
        self.settled()

    def _all_forms(self) -> list[Fields]:
        made = [form for panel in filter(None, self.panels) for form in panel.records()]
        return [*self.form.forms, *made]

    def _wait(self) -> None:
        """Show which fields are rejected or missing."""
        labels = [record.label(name) for record in self.records() for name in record.refused]
        said = [self._needed()]
        if labels:
            said = [self.writer("page.wrong.fields", fields=", ".join(labels))]
        if self.answer is not None:
            said.append(self.text("earlier"))
        told = style.problem(*said) if labels else style.status(" ".join(said))
        self._tell(told, earlier=True)

    def _needed(self) -> str:
        """Return the entries that are still needed for an answer."""
        needed = self.form.needed()
        if not self.form.nameplate.given() or not needed:
            return self.writer("page.begin")
        labels = [[self.form.nameplate.label(name) for name in names] for names in needed]
        either = (
            self.writer("flow.either", first=names[0], other=names[1]) if names[1:] else names[0]
            for names in labels
        )  # fmt: skip
        return self.writer("flow.needed", fields=", ".join(either))

    def _tell(self, html: str, earlier: bool) -> None:
        self._trouble, before = html, ""
        if earlier and self.answer is not None:
            before = style.quiet(self.writer("flow.before", verdict=self.answer.verdict))
        self.status.value = html + before
        (self.body.add_class if earlier else self.body.remove_class)("ao-earlier")
        self.tell_inputs()

    def _say(self) -> None:
        """Show the text around the job and the steps in the user's language."""
        write = self.writer
        self.head.value = style.STYLE + style.title(write("page.title"), write.texts)
        self.language.description = write("page.language")
        self.units.description = write("page.units")
        with self.filling():
            system = self.units.value
            self.units.options = [(write(f"page.system.{one}"), one) for one in SYSTEMS]
            self.units.value = system
        for name in ("sample", "anew", "go_on"):
            getattr(self, name).description = write(f"page.job.{name}")
        self.undo.say(write)
        self.kept.say()
        if self._before is not None:
            time, state = self._before
            name = state.get("job", {}).get("name", "") or write("page.job.unnamed")
            self.before_told.value = style.text(write("page.job.before", time=time, name=name))

    def _make(self) -> None:
        """Create the controls and step areas in the user's language and units."""
        write = self.writer
        self.form = CurrentJob(write, hints=True, forms=FORMS)
        file = self.kept.file if hasattr(self, "kept") else ""
        self.kept = KeptPanel(self, self._jobs)
        self.kept.attach(file)
        self.kept.begin()
        self.panels = [None] * len(STEPS)
        places = [widgets.VBox() for _ in STEPS]
        titles = [write(f"page.step.{kind.step}") for kind in STEPS]
        at = self.steps.selected_index if hasattr(self, "steps") else 0
        self.steps = widgets.Tab(children=places, titles=titles, selected_index=at)
        self.steps.add_class(INPUT)
        self.job_file = uploads.upload(write("page.file.job"), ".toml", self.open_job)
        self.catalog = uploads.upload(write("page.file.catalog"), uploads.TABLES, self.open_catalog)
        self.back = widgets.Button(description=write("page.file.back"))
        self.imports = ImportPanel(host=self, uses={"catalog": self._use_imported})
        self.link = widgets.HTML()
        self.folds = Folds(self._sections(write), opened=True)

    def _sections(self, write: Writer) -> dict[str, list]:
        """Return the sections of the job by title."""
        forms = self.form.forms[: len(FORM)]
        shown = {title: box for form in forms for title, box in form.pages.items()}
        pages = {}
        for title, key in SECTIONS.items():
            about = widgets.HTML(style.quiet(write(f"page.about.{key}")))
            pages[write(f"page.section.{key}")] = [about, shown[title]]
        pages[write("page.section.plate")].insert(0, self.form.printed.view)
        size = f"{uploads.LARGEST / 1e6:g}"
        files = widgets.VBox([self.job_file, self.link, self.catalog, self.back, self.file_told])
        files.add_class("ao-files")
        about = widgets.HTML(style.quiet(write("page.about.files", size=size)))
        more = [about, files, self.form.note, self.form.invented]
        kept = {write("page.section.kept"): [self.kept.view]} if self.kept.is_offered else {}
        imports = {write("capture.import_tab"): [self.imports.view]}
        return pages | kept | {write("page.section.files"): more} | imports

    def _arrange(self) -> None:
        keep = [self.kept.keep_button] if self.kept.is_offered else []
        buttons = _row([self.sample, *self.undo.buttons, self.anew, *keep])
        kept = [self.kept_told, self.offered, self.kept.told, self.kept.notice]
        job = widgets.VBox([buttons, *kept, self.form.name, *self.folds.parts])
        self.body = widgets.VBox([widgets.HTML(style.ANCHOR), self.used, self.steps])
        job.add_class("ao-stack")
        job.add_class("ao-job")
        self.body.add_class("ao-wide")
        self.panes = widgets.Box([job, self.body])
        self.panes.add_class("ao-panes")
        top = _row([self.language, self.units])
        self.view.children = [self.head, top, self.status, self.panes]
        self.view.remove_class("ao-sheet")
        self.view.add_class("ao-page")

    def _observe(self) -> None:
        for control in (self.language, self.units):
            control.observe(lambda _: self._reader_changed(), "value")
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        self.sample.on_click(lambda _: self.fill(sample_job()))
        self.anew.on_click(lambda _: self.fill(None))
        self.go_on.on_click(lambda _: self.take_before())
        self._follow()

    def _follow(self) -> None:
        """Connect the handlers to the controls, which are recreated for each language."""
        fields = [one for form in self.records() for one in form.controls.values()]
        self.watch([*fields, self.form.name, self.form.invented])
        self.follow([self.form.note], lambda: None)
        self.form.printed.follow(self, lambda: self.restore({}))
        self.steps.observe(lambda _: self.update(), "selected_index")
        self.back.on_click(lambda _: self.use_the_kits())


def bar(found: Answer, wanted: str | None, writer: Writer) -> str:
    """Return the one-line answer, the next fact to check, and the load compared with the limits.

    As soon as the user types, the page frame shows that the answer is outdated until Python
    responds.

    Parameters
    ----------
    wanted : str or None
        Name of the motor to install, or None for the best motor.
    """
    said, waiting = writer(found.verdict), escape(writer("flow.not_yet"), quote=True)
    motor = next((one for one in found.fitting if one.case.motor.name == wanted), None)
    if motor is not None and motor is not found.fitting[0]:
        said = writer("flow.chosen", motor=named(motor, writer))
    link = f'<a href="#ao-answer">{escape(said)}</a>'
    unsent = escape(writer("flow.unsent"), quote=True)
    marks = f'data-waiting="{waiting}" data-unsent="{unsent}"'
    state = f'<span class="ao-state" {marks}>{escape(writer("page.ready"))}</span>'
    told, picture = f"<p data-aloud>{link} {state}</p>", ""
    if found.fitting:
        motor = motor or found.fitting[0]
        asked = [writer(f"check.{one.name}") for one in motor.having(MISSING)]
        if asked:
            told += style.text(writer("flow.find_out", facts=", ".join(asked)), "p", "next")
        picture = f'<div class="ao-mini" aria-hidden="true">{load(found, motor, writer, "flow.load")}</div>'
    return told + picture


def _row(parts) -> widgets.HBox:
    box = widgets.HBox(parts)
    box.add_class("ao-row")
    return box


def _key(control: widgets.Widget) -> str:
    """Return the name of the attribute that holds a control's value in Python and the browser."""
    return next(name for name in ("index", "selected_index", "value") if hasattr(control, name))


def _below(widget: widgets.Widget) -> Iterator[widgets.Widget]:
    left = [widget]
    while left:
        one = left.pop()
        yield one
        if isinstance(one, widgets.Box):
            left += reversed(one.children)


def get_ready() -> None:
    """Evaluate the sample job in advance so that the first result appears quickly."""
    job = sample_job().model_copy(update=ASIDE)
    _answered(job, motors_of_the_kit(), STEPS[0].ahead(None))


@lru_cache(maxsize=8)  # shared by all pages in a process: most pages start with the same job
def _answered(job: Job, motors, ahead: tuple | None) -> tuple[Answer, object]:
    """Return the answer for a job and the result of ``ahead``."""
    if not calculates_here():
        return answered(job, motors, ahead)
    return selected(job, motors), None
