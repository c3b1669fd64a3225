"""The page: a job at the left or on top, four steps beside or below it."""

from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

import ipywidgets as widgets

from airover.app import page_job, style
from airover.app.page_amps import AmpsView
from airover.app.page_job import JobForm
from airover.app.page_measured import MeasuredView
from airover.app.page_offer import OfferView
from airover.app.page_replacement import ReplacementView, sentence
from airover.app.page_view import Sections, View
from airover.app.panel import AfterRest, Undo
from airover.app.reader import Reader
from airover.app.unsaved import State, Unsaved
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.texts import languages
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.selection.answer import Answer, answer

SYSTEMS = ("US", "SI")
REST = 0.35  # s without a change, until it is worked
VIEWS: tuple[type[View], ...] = (ReplacementView, AmpsView, MeasuredView, OfferView)


class App:
    """The page without code; ``view`` is the widget to show.

    ``language`` "en" or "es" and ``units`` "US" or "SI" are where it begins; what is typed is kept
    in the file ``unsaved`` (`keep_in`), in memory only where it is None. Controls: ``language``,
    ``units``, ``form`` (the job's fields), ``steps`` (a Tab, one for each of ``views``), ``undo``,
    ``sample``, ``anew``, ``go_on``. Raises InputError for another language or system.
    """

    def __init__(self, language: str = "en", units: str = "US", unsaved: Path | None = None):
        self.reader = Reader(language, units)
        self.answer: Answer | None = None
        self.own_motors, self.is_filling = None, False
        self._rest = AfterRest(self.work, REST)
        self.form = JobForm()
        self.views = tuple(kind(self) for kind in VIEWS)
        self._make(language, units)
        self._arrange()
        self._observe()
        self.keep_in(unsaved)

    def keep_in(self, unsaved: Path | None, before: Path | None = None) -> None:
        """Keep what is typed in the file ``unsaved`` from now on, and show what it has.

        Where it has nothing, what is in the file ``before``, of another page, is offered.
        """
        self._unsaved = Unsaved(unsaved)
        with self.filling():
            self._restore()
        self.undo.begin()
        self._saved: State = self._state()
        self._find(Unsaved(before))
        self.say()
        self.work()

    @property
    def motors(self):
        """The motors of the catalog that was opened, else those that come with the page."""
        return _motors_of_the_kit() if self.own_motors is None else self.own_motors

    @property
    def shown(self) -> View:
        """The step that is looked at."""
        return self.views[self.steps.selected_index or 0]

    def work(self) -> None:
        """Keep what is typed, and work and show what it says."""
        self._keep()
        problems = self.form.problems()
        self.form.tell(problems, self.reader)
        try:
            found = None if problems or not self.form.enough() else self._worked()
        except InputError as error:
            self._refuse(error)
            return
        if found is None:
            self._wait(problems)
            return
        if found is not self.answer:
            self.answer = found
            for view in self.views:
                view.old = True
        self._offer_file()
        if self.shown.look():
            self._tell(style.answered(sentence(found, self.reader), self.reader("ready")), False)

    def leave(self) -> None:
        """Keep what is typed: nobody will type more."""
        self._rest.forget()
        self._keep()

    def job(self) -> Job:
        """The job as it goes into a file: what all steps know of it; raises InputError."""
        whole = self.form.job()
        for view in self.views:
            whole = whole.model_copy(update=view.of_job())
        return whole

    def _offer_file(self) -> None:
        """A link that saves the job; none while a part of it is refused."""
        try:
            self.sections.offer(self.job(), self.reader)
        except InputError:
            self.sections.offer(None, self.reader)

    def _worked(self) -> Answer:
        """The answer; that it is being worked is told meanwhile."""
        self._tell(style.text(self.reader("working")), earlier=True)
        return self._answer()

    def _answer(self) -> Answer:
        return _answered(self.form.job(), self.motors)

    def say(self) -> None:
        """Everything on the page in the reader's language and units."""
        with self.filling():  # words of choices change, and what is chosen does not
            self._say(self.reader)

    def _say(self, reader: Reader) -> None:
        self.form.say(reader)
        self.sections.say(reader)
        self.head.value = style.STYLE + style.title(reader("title"), reader.texts)
        self.language.description, self.units.description = reader("language"), reader("units")
        self.units.options = [(reader(f"system.{one}"), one) for one in SYSTEMS]
        self.units.value = reader.system
        for name, control in self._buttons().items():
            control.description = reader(f"job.{name}")
        self.undo.say(reader.write)
        self._say_before(reader)
        self.steps.titles = [reader(f"step.{view.step}") for view in self.views]
        for view in self.views:
            view.speak()

    def typed(self) -> State:
        """All that is typed, as texts by form and field."""
        return {one.record: one.typed() for one in self._forms()}

    def restore(self, state: State) -> None:
        """Put back what `typed` told; raises InputError for a damaged state."""
        with self.filling():
            for one in self._forms():
                one.restore(state.get(one.record, {}))
        for view in self.views:
            view.old = True

    def fill(self, job: Job | None) -> None:
        """Take ``job``, or an empty one, and work it."""
        with self.filling():
            self.form.fill(job)
            for view in self.views:
                view.fill(job)
        self.sections.fold(job)
        self.work()

    def _put(self, state: State) -> None:
        """Go to an earlier step, or forth again."""
        self.restore(state)
        self.work()

    def open_job(self, name: str, content: bytes) -> None:
        """Take an uploaded job file; one that is refused is told and changes nothing."""
        if job := self.opened(page_job.job, name, content):
            self.fill(job)

    def open_catalog(self, name: str, content: bytes) -> None:
        """Take the motors of an uploaded file; one that is refused is told and changes nothing."""
        if motors := self.opened(page_job.catalog, name, content):
            self.own_motors = motors
            self.work()

    def use_the_kits(self) -> None:
        """Go back to the motors that come with the page."""
        self.own_motors = None
        self.file_told.value = style.status(self.reader("file.own"))
        self.work()

    def take_before(self) -> None:
        """Go on with what was typed on another page of this computer."""
        self.restore(self._before[1])
        self.work()

    def opened(self, read, name: str, content: bytes):
        """What ``read`` finds in an uploaded file; None where it is refused, which is told."""
        try:
            found = read(name, bytes(content))
        except InputError as error:
            why = self.reader.write.error(error)
            self.file_told.value = style.problem(self.reader("file.refused", name=name, why=why))
            return None
        self.file_told.value = style.status(self.reader("file.opened", name=name))
        return found

    @contextmanager
    def filling(self):
        """Within it controls may be set without being worked one by one."""
        before, self.is_filling = self.is_filling, True
        try:
            yield
        finally:
            self.is_filling = before

    def changed(self, change=None) -> None:
        """Mark what stands as of an earlier input, and work once nothing changes for a while."""
        if not self.is_filling:
            self._tell(style.text(self.reader("waiting")), earlier=True)
            self._rest.ask()

    def _forms(self) -> list:
        own = [form for view in self.views for form in view.forms]
        return [self.form, *self.form.forms, *own]

    def _keep(self) -> None:
        """Note what is typed for a step back, and write it to the file of unsaved work."""
        if self.undo.note():
            self._find(Unsaved(None))
        state = self._state()
        if state != self._saved:
            try:
                self._unsaved.save(state) if any(self.typed().values()) else self._unsaved.forget()
            except InputError as error:
                why = self.reader.write.error(error)
                self.kept_told.value = style.problem(self.reader("job.unsaved", why=why))
            self._saved = state

    def _state(self) -> State:
        page = {"language": self.reader.language, "units": self.reader.system}
        return {"page": page, **self.typed()}

    def _find(self, before: Unsaved) -> None:
        """Offer what was typed on another page while nothing is typed here."""
        self._before = None if any(self.typed().values()) else before.load_if_whole()
        self.offered.layout.display = "none" if self._before is None else None

    def _say_before(self, reader: Reader) -> None:
        if self._before is not None:
            time, state = self._before
            name = state.get("job", {}).get("name", "") or reader("job.unnamed")
            self.before_told.value = style.text(reader("job.before", time=time, name=name))

    def _restore(self) -> None:
        """Put back what was typed before the page was loaded, and say so."""
        told = ""
        try:
            if found := self._unsaved.load():
                time, state = found
                self._speak_as(state.get("page", {}))
                self.restore(state)
                told = style.status(self.reader("job.restored", time=time))
        except InputError:
            self.form.fill(None)
            told = style.problem(self.reader("job.broken"))
        self.kept_told.value = told

    def _speak_as(self, page: dict[str, str]) -> None:
        """The language and units of a kept page, where it tells them; raises InputError."""
        known = {"language": self.reader.language, "units": self.reader.system} | page
        if known["units"] not in SYSTEMS:
            raise InputError("units", known["units"], " or ".join(SYSTEMS))
        self.reader = Reader(known["language"], known["units"])
        self.language.value, self.units.value = known["language"], known["units"]

    def _wait(self, problems) -> None:
        """Say which fields are refused, or what is still missing."""
        if problems:
            names = [
                self.reader.label(record, name)
                for record, fields in problems.items()
                for name in fields
            ]
            said = [self.reader("wrong.fields", fields=", ".join(names))]
        else:
            said = [self.reader("begin")]
        if self.answer is not None:
            said.append(self.reader("earlier"))
        told = style.problem(*said) if problems else style.status(" ".join(said))
        self._tell(told, earlier=True)

    def tell_problem(self, *sentences: str) -> None:
        """Tell on top what is wrong on the step that is shown."""
        self._tell(style.problem(*sentences), earlier=False)

    def _refuse(self, error: InputError) -> None:
        """Tell a refusal of the whole job beside its field, if it names one, and on top."""
        place = self.form.field_of(error)
        if place is not None:
            self.form.tell({place[0]: {place[1]: error}}, self.reader)
            why = self.reader("wrong.fields", fields=self.reader.label(*place))
        else:
            why = self.reader("failed", why=self.reader.write.error(error))
        self._tell(style.problem(why), earlier=True)

    def _tell(self, html: str, earlier: bool) -> None:
        self.status.value = html
        (self.body.add_class if earlier else self.body.remove_class)("ao-earlier")

    def _spoken(self, change) -> None:
        """Another language or other units."""
        if not self.is_filling:
            self.reader = Reader(self.language.value, self.units.value)
            self.say()
            self.work()

    def _make(self, language: str, units: str) -> None:
        self.language = widgets.Dropdown(options=languages(), value=language)
        self.units = widgets.Dropdown(options=[(one, one) for one in SYSTEMS], value=units)
        self.undo = Undo(self.typed, self._put)
        self.sample, self.anew, self.go_on = (widgets.Button() for _ in range(3))
        for name in ("head", "status", "kept_told", "before_told", "file_told"):
            setattr(self, name, widgets.HTML())
        self.status.add_class("ao-status")
        self.steps = widgets.Tab(children=[view.place for view in self.views], selected_index=0)
        self.sections = Sections(self)

    def _buttons(self) -> dict[str, widgets.Button]:
        return {name: getattr(self, name) for name in ("sample", "anew", "go_on")}

    def _arrange(self) -> None:
        def row(parts):
            box = widgets.HBox(parts)
            box.add_class("ao-row")
            return box

        top = row([self.language, self.units])
        buttons = row([self.sample, *self.undo.buttons, self.anew])
        self.offered = widgets.VBox([self.before_told, self.go_on])
        kept = [self.kept_told, self.offered]
        job = widgets.VBox([buttons, *kept, self.form.name, *self.sections.parts])
        self.body = widgets.VBox([widgets.HTML(style.ANCHOR), self.steps])
        job.add_class("ao-stack")
        self.body.add_class("ao-wide")
        panes = widgets.Box([job, self.body])
        panes.add_class("ao-panes")
        self.view = widgets.VBox([self.head, top, self.status, panes])
        self.view.add_class("airover")
        self.view.add_class("ao-page")

    def _observe(self) -> None:
        for control in self.form.controls():
            control.observe(self.changed, "value")
        for view in self.views:
            for control in view.controls:
                control.observe(view.changed, "value")
        for control in (self.language, self.units):
            control.observe(self._spoken, "value")
        self.steps.observe(lambda _: self.work(), "selected_index")
        # ipywidgets only logs what a click raises: the handlers do nothing but call these.
        self.sample.on_click(lambda _: self.fill(_sample()))
        self.anew.on_click(lambda _: self.fill(None))
        self.go_on.on_click(lambda _: self.take_before())


def get_ready() -> None:
    """Work the sample job before anybody asks for it, so that the first answer comes soon."""
    _answered(_sample(), _motors_of_the_kit())


# One for all pages of a process: most of them begin with the same job.
_answered = lru_cache(maxsize=8)(answer)


@lru_cache
def _motors_of_the_kit():
    return read_catalog(data_folder() / "catalogue.csv")


def _sample() -> Job:
    return Job.read(data_folder() / "jobs" / "roof-unit.toml")
