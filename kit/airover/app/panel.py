"""The base of all panels: one question, its controls, its answer, and what they share.

A panel is shown in a worksheet, where it has its own job, or as a step of the page (`page`), where
all steps share one. Slow work waits until the controls rest; changes can be undone.
"""

import asyncio
from collections.abc import Callable
from contextlib import contextmanager

import ipywidgets as widgets

from airover.app import style
from airover.app.current_job import motors_of_the_kit, sample_job
from airover.app.fields import Fields, Folds, tab
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.catalog import read_catalog
from airover.records.job import Job
from airover.records.scope import check_scope

MOST = 200  # steps that are kept


class Undo:
    """Steps back and forth through changes. ``now`` returns the state of the controls, as something
    that can be compared; ``put`` writes a state into them.

    `note` adds a step if something has changed. ``buttons`` go back and forth; a button is disabled
    while there is no step to go to.
    """

    def __init__(self, now: Callable[[], object], put: Callable[[object], None]):
        self._now, self._put = now, put
        self.back, self.forth = widgets.Button(), widgets.Button()
        self.say(Writer())
        # ipywidgets only logs what a click raises: the handlers do nothing but call this one.
        self.back.on_click(lambda _: self.step(-1))
        self.forth.on_click(lambda _: self.step(1))
        self.buttons = [self.back, self.forth]
        self._going = False
        self.begin()

    def say(self, write: Writer) -> None:
        """Label the buttons."""
        self.back.description, self.forth.description = write("panel.undo"), write("panel.redo")
        self.back.tooltip, self.forth.tooltip = write("panel.undo_tip"), write("panel.redo_tip")

    def begin(self) -> None:
        """Forget all steps; the present state of the controls is the first."""
        self._steps, self._at = [self._now()], 0
        self._show()

    def note(self) -> bool:
        """Add the present state as a step; return True if it is a new one."""
        now = self._now()
        if self._going or now == self._steps[self._at]:
            return False
        self._steps = [*self._steps[: self._at + 1], now][-MOST:]
        self._at = len(self._steps) - 1
        self._show()
        return True

    def step(self, by: int) -> None:
        """Go back (-1) or forth (1), if there is a step."""
        self.note()
        if 0 <= self._at + by < len(self._steps):
            self._at += by
            self._go()

    def _go(self) -> None:
        self._going = True
        try:
            self._put(self._steps[self._at])
        finally:
            self._going = False
        self._steps[self._at] = self._now()  # a span that has changed since may have moved one
        self._show()

    def _show(self) -> None:
        self.back.disabled = self._at == 0
        self.forth.disabled = self._at == len(self._steps) - 1


REST = 0.4  # s without a move


class AfterRest:
    """Calls ``work`` once nothing has asked for it for ``rest`` [s].

    Slow work must not run at every move of a slider. In a script, where no event loop runs, it runs
    at once.
    """

    def __init__(self, work: Callable[[], None], rest: float = REST):
        self._work, self._rest, self._waiting = work, rest, None

    def ask(self) -> None:
        """Work after the next rest; a request that still waits is dropped."""
        self.forget()
        loop = running_loop()
        if loop is None:
            self._work()
        else:
            self._waiting = loop.call_later(self._rest, self._run)

    def forget(self) -> None:
        """Drop a request that still waits."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def hurry(self) -> None:
        """Work now if a request still waits."""
        if self._waiting is not None:
            self.forget()
            self._work()

    def _run(self) -> None:
        self._waiting = None
        self._work()


def running_loop() -> asyncio.AbstractEventLoop | None:
    """The event loop that runs, as in a worksheet; None in a script."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


TYPING = 0.7  # s without a key, after which a text counts as typed
SETTLED = 1.0  # s without a change, after which it counts as one step


def read_job(path=None) -> Job:
    """The job in the file at ``path``, else the sample job; raises InputError, also for a job
    that the method does not cover."""
    job = Job.read(path) if path else sample_job()
    check_scope(job)
    return job


def read_motors(path=None):
    """The motors of the catalog at ``path``, else of the one that comes with the kit."""
    return read_catalog(path) if path else motors_of_the_kit()


class Picture:
    """A PNG with its words: itself in a worksheet, HTML in a panel."""

    def __init__(self, png: bytes, words: str):
        self.png, self.words = png, words

    def html(self, width: int = 640) -> str:
        return style.image(self.png, self.words, width)

    def own_size(self, width: int = 640) -> str:
        """The picture never smaller than ``width``, so that its letters can be read."""
        return style.scrolled(self.html(width))

    def __repr__(self) -> str:
        return self.words

    def _repr_png_(self) -> bytes:
        return self.png


class Panel:
    """A panel of one question. A kind of panel has ``compute``, ``draw`` and ``records``.

    Input that cannot be accepted is told in a sentence, and the last good answer stays, marked as
    of the previous entry. Any other error is raised, and the panel then says that it is working
    instead of showing an old answer as if it were new. What is typed into a watched text is taken
    once the keys rest, or at once by Enter; what Python writes there is taken at once.

    ``language`` is "en" or "es"; ``writer`` writes in it, in the units that ``units`` says. With a
    ``host`` the panel is one of its steps: language, units, job, status, undo and unsaved work are
    the host's, and ``stale`` says that the job has changed since the step was calculated.
    """

    units = None  # a control with the value "US" or "SI"
    step = ""  # its name on the page, and in the state that is kept
    cautions = ()  # keys of what a step of the page warns of

    def __init__(self, language: str = "en", host=None):
        self.host, self.on_page = host, host is not None
        self._language = host.writer.language if self.on_page else Writer(language).language
        self.answer = None
        self.undo = None
        self.stale = True
        self.status = host.status if self.on_page else widgets.HTML()
        self.view = widgets.VBox()
        if self.on_page:
            self.units = host.units
            self.view.add_class("ao-stack")
        else:
            self.status.add_class("ao-status")
            self.view.add_class("airover")
            self.view.add_class("ao-sheet")
        self._filling = False
        self._change = AfterRest(self.settled, SETTLED)

    @property
    def writer(self) -> Writer:
        """Writes in the reader's language and units."""
        system = "US" if self.units is None else self.units.value
        return Writer(self._language, system, signs=self.on_page)

    def text(self, key: str, **values) -> str:
        """A text of the panels, in the reader's language and units."""
        return self.writer(f"panel.{key}", **values)

    def fields(self, record: str, asked: dict, kind=None) -> Fields:
        """The controls of a record; on the page with an example below each."""
        return Fields(record, asked, kind, self.writer, hints=self.on_page)

    def parts(self, pages: dict[str, list], opened: bool = False) -> list:
        """Controls by title: behind tabs in a worksheet, on the page behind buttons, of which the
        first is ``opened``."""
        return Folds(pages, opened).parts if self.on_page else [tab(pages)]

    def records(self) -> tuple[Fields, ...]:
        """Return the forms of this panel."""
        return ()

    def choices(self) -> dict:
        """Choices among motors that are kept with what is typed, by name."""
        return {}

    def typed(self) -> dict[str, dict[str, str]]:
        """All that is typed or chosen on this step, as texts by record and field."""
        chosen = {
            name: one.wanted for name, one in self.choices().items() if one.wanted is not None
        }
        return {self.step: chosen} | {record.record: record.typed() for record in self.records()}

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        """Put back what `typed` returned; raises InputError for a damaged state."""
        with self.filling():
            for name, choice in self.choices().items():
                choice.want(state.get(self.step, {}).get(name))
            for record in self.records():
                record.restore(state.get(record.record, {}))
        self.stale = True

    def compute(self):
        """Read the controls and return the answer; draws nothing. Raises InputError."""
        raise NotImplementedError

    def draw(self) -> None:
        """Show ``self.answer``."""
        raise NotImplementedError

    def refused(self, error: InputError | None) -> None:
        """Show at the controls what is wrong with them; None when nothing is."""
        for record in self.records():
            record.show_problem(error)

    def ready(self) -> str:
        """The status of a panel that is up to date."""
        return self.host.ready() if self.on_page else ""

    def look(self) -> None:
        """Show this step of the page as of now."""
        if self.stale:
            self.update()
        else:
            self._tell(self.ready(), earlier=False)

    def update(self) -> None:
        """Calculate what the controls say, once, and show it."""
        self._tell(style.quiet(self.text("working")), earlier=True)
        self._work()

    def slide(self) -> None:
        """Work and show what a slider says: too quick to tell that it is being worked."""
        try:
            self._work()
        except Exception:  # what stands below must not look new; the error itself goes on
            self._tell(style.problem(self.text("broken")), earlier=True)
            raise

    def begin(self) -> None:
        """The first answer, before anybody can change a control. Raises InputError."""
        self.answer = self.compute()
        self.draw()

    def open(self, path) -> None:
        """Read the job file at ``path`` and work it; what is wrong with it is told."""
        self.open_with(read_job, path, self.fill)

    def fill(self, job: Job) -> None:
        """Take ``job`` into the controls; nothing is worked."""
        raise NotImplementedError

    def open_with(self, read, path, fill) -> None:
        """``fill`` the controls with what ``read`` finds at ``path`` and work it; a file that
        cannot be accepted is told and changes nothing."""
        try:
            found = read(path)
        except InputError as error:
            self._refuse(error)
            return
        fill(found)
        self.update()
        self._change.forget()
        if self.undo is not None:
            self.undo.begin()

    def watch(self, controls) -> None:
        """Update whenever one of ``controls`` is changed by hand."""
        self.follow(controls, self.update)

    def follow(self, controls, work: Callable[[], None], as_typed: bool = True) -> None:
        """Call ``work`` whenever one of ``controls`` is changed by hand: texts as they are typed,
        or once they are left."""
        typed = AfterRest(work, TYPING)

        def changed(change) -> None:
            if self._filling:
                return
            if as_typed and getattr(change.owner, "typing", False):
                if self.on_page:
                    self._tell(style.text(self.writer("page.waiting")), earlier=True)
                typed.ask()
            else:
                typed.forget()
                work()
            self._change.ask()

        def pressed(_, content, __) -> None:
            if content.get("event") == "submit":  # Enter
                typed.hurry()

        for control in controls:
            control.observe(changed, "value")
            if as_typed and hasattr(control, "typing"):
                control.continuous_update = True
                control.on_msg(pressed)

    def follow_sliders(self, sliders) -> None:
        """Slide with ``sliders``; the verdict keeps its height, so that nothing below it jumps."""
        self.follow(sliders, self.slide)
        self.verdict.add_class("ao-steady")

    def follow_path(self, control, read: Callable[[str], None]) -> None:
        """Call ``read`` with the path in ``control`` once it is left or Enter is pressed."""

        def given() -> None:
            if control.value.strip():
                read(control.value.strip())

        self.follow([control], given, as_typed=False)

    def keep_steps(self, controls, first=()) -> None:
        """Offer to undo changes of ``controls``. ``first`` are those of them that change what
        others accept: they are put back before the others, with all that follows from it."""
        if self.on_page:
            return  # the page's steps are of all that is typed there
        others = [control for control in controls if control not in first]
        self._in_steps = [*first, *others]
        self.undo = Undo(self._values, lambda values: self._put(values, len(first)))
        self.undo.say(self.writer)

    def settled(self) -> None:
        """Changes have come to rest: they are one step."""
        if self.on_page:
            self.host.settled()
        elif self.undo is not None:
            self.undo.note()

    @contextmanager
    def filling(self):
        """Within it controls may be set without an update for each."""
        before, self._filling = self._filling, True
        try:
            yield
        finally:
            self._filling = before

    def places(self, *names: str) -> None:
        """An empty place for HTML under each of ``names``, marked while it is of earlier input."""
        for name in names:
            place = widgets.HTML()
            place.add_class("ao-answer")
            setattr(self, name, place)

    def told_places(self, *names: str) -> None:
        """A place for what a button did under each of ``names``; its height does not change."""
        for name in names:
            place = widgets.HTML()
            place.add_class("ao-told")
            setattr(self, name, place)

    def arrange(self, head, left, right, below, more=(), extra=()) -> None:
        """Status and ``head`` on top, controls ``left`` with ``extra`` ones below them, what they
        give ``right`` and ``below``; ``more`` are buttons beside the status. One after the other on
        the page, the extra controls and the cautions last."""
        if self.on_page:
            said = [self.writer("page.measured_only")]
            said += [self.writer(f"page.caution.{key}") for key in self.cautions]
            self.caution = widgets.HTML(style.caution(self.writer("page.caution.title"), said))
            self.view.children = [*left, *head, *right, *below, *extra, self.caution]
            return
        steps = [] if self.undo is None else self.undo.buttons
        top = _box(widgets.HBox, "top", [*steps, *more, self.status])
        left, right = (
            _box(widgets.VBox, "controls", [*left, *extra]),
            _box(widgets.VBox, "result", right),
        )
        both = _box(widgets.HBox, "both", [left, right])
        self.view.children = [widgets.HTML(style.STYLE), top, *head, both, *below]

    def _work(self) -> None:
        before = self.answer
        try:
            self.answer = self.compute()
            self.draw()
        except InputError as error:
            self.answer = before
            self._refuse(error)
            return
        self.stale = False
        self.refused(None)
        self._tell(self.ready(), earlier=False)

    def _values(self) -> tuple:
        return tuple(control.value for control in self._in_steps)

    def _put(self, values: tuple, first: int) -> None:
        controls = self._in_steps
        for control, value in zip(controls[:first], values, strict=False):
            control.value = value
        with self.filling():
            for control, value in zip(controls, values, strict=True):
                control.value = value
        self.update()
        self._change.forget()

    def _refuse(self, error: InputError) -> None:
        self.stale = True
        self.refused(error)
        labels = [record.label(name) for record in self.records() for name in record.refused]
        if self.on_page and labels:  # beside each field it is told why
            told = [self.writer("page.wrong.fields", fields=", ".join(labels))]
        else:
            told = [self.writer.error(error), *getattr(error, "__notes__", ())]
        if self.answer is not None:
            told.append(self.text("earlier"))
        self._tell(style.problem(*told), earlier=True)

    def _tell(self, html: str, earlier: bool) -> None:
        self.status.value = html
        (self.view.add_class if earlier else self.view.remove_class)("ao-earlier")

    def __repr__(self) -> str:
        return f"{type(self).__name__}: run this cell to use it"

    def _repr_mimebundle_(self, **options):
        bundle = self.view._repr_mimebundle_(**options)
        data, *metadata = bundle if isinstance(bundle, tuple) else (bundle,)
        data = {**data, "text/plain": repr(self)}
        return (data, *metadata) if metadata else data


def _box(kind, name: str, children) -> widgets.Box:
    box = kind(children)
    box.add_class(f"ao-{name}")
    return box


_WORKING = object()


class PagedPanel(Panel):
    """A panel with pages: the one that is looked at is worked, and no other.

    ``pages`` has the place of each by its title, ``tables`` the tabs. A page of ``SLOW`` is worked
    once the controls rest.
    """

    SLOW = ()

    def page(self, title: str) -> str:
        """The page of that ``title`` as HTML; an InputError is told in its place."""
        raise NotImplementedError

    def page_key(self, title: str):
        """Return a key of all that the page depends on: it is calculated again once the key changes."""
        return self.answer

    def make_pages(self, titles, more=None) -> None:
        """An empty page for each of ``titles``; ``more`` are lists of widgets by title,
        behind tabs of their own."""
        self.pages, self._told = {title: widgets.HTML() for title in titles}, {}
        self.tables = tab({title: [place] for title, place in self.pages.items()} | (more or {}))
        self.tables.add_class("ao-answer")
        self.tables.observe(lambda _: self.draw_page(), "selected_index")
        self._later = AfterRest(self.draw_slow)

    @property
    def page_shown(self) -> str:
        """Title of the page that is looked at."""
        return self.tables.titles[self.tables.selected_index or 0]

    def draw_page(self) -> None:
        """The page that is looked at, if it is not up to date; a slow one once controls rest."""
        title = self.page_shown
        if title not in self.pages or self._told.get(title) == self.page_key(title):
            self._later.forget()
        elif title not in self.SLOW:
            self._write(title)
        else:
            if self._told.get(title) is not _WORKING:
                self.pages[title].value = self._working(self.pages[title].value)
                self._told[title] = _WORKING
            self._later.ask()

    def draw_slow(self) -> None:
        """Work the page that is looked at, now."""
        try:
            self._write(self.page_shown)
        except Exception:
            self.pages[self.page_shown].value = style.problem(self.text("broken"))
            raise

    def _working(self, earlier: str) -> str:
        """A page that is being worked: the ``earlier`` one, if any, stays and is said to be that."""
        if not earlier:
            return style.quiet(self.text("page_working"))
        return style.quiet(self.text("page_earlier")) + style.faded(earlier)

    def _write(self, title: str) -> None:
        try:
            shown = self.page(title)
        except InputError as error:  # the answer holds; this page alone cannot be worked
            shown = style.problem(self.text("page_refused", why=self.writer.error(error)))
        self.pages[title].value = shown
        self._told[title] = self.page_key(title)
