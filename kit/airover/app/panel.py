"""Base class and shared parts of all panels.

Each panel has the controls for one question and shows the answer. It appears in a worksheet with its
own job, or as a step of the page (`page`), where all steps share one job. Slow calculations wait
until the controls stop changing, and changes can be undone.
"""

import json
import re
from collections.abc import Callable
from contextlib import contextmanager, suppress
from html import unescape

import ipywidgets as widgets
from traitlets import TraitError

from airover.app import style
from airover.app.current_job import motors_of_the_kit, sample_job
from airover.app.fields import Fields, Folds, tab
from airover.app.job_bar import JobBar
from airover.app.job_folder import Current
from airover.app.live import Checked, Live, Snapshot, show_widget
from airover.app.running import AfterRest, keep_order, running_loop
from airover.core.collection import collection_postponed
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.importing import open_catalog
from airover.records.job import Job
from airover.records.scope import check_scope

MOST = 200  # maximum number of undo steps


class Undo:
    """Undo and redo steps.

    The method `note` adds a step if the state has changed. The ``buttons`` go back and forward, and
    are disabled if there is no step to go to.

    Parameters
    ----------
    now : Callable[[], object]
        Function that returns the state of the controls as a comparable value.
    put : Callable[[object], None]
        Function that restores a state.
    """

    def __init__(self, now: Callable[[], object], put: Callable[[object], None]):
        self._now, self._put = now, put
        self.back, self.forth = widgets.Button(), widgets.Button()
        self.say(Writer())
        # ipywidgets only logs exceptions from clicks, so the handlers only call this method.
        self.back.on_click(lambda _: self.step(-1))
        self.forth.on_click(lambda _: self.step(1))
        self.buttons = [self.back, self.forth]
        self._going = False
        self.begin()

    def say(self, write: Writer) -> None:
        """Set the button labels in the language of ``write``."""
        self.back.description, self.forth.description = write("panel.undo"), write("panel.redo")
        self.back.tooltip, self.forth.tooltip = write("panel.undo_tip"), write("panel.redo_tip")

    def begin(self) -> None:
        """Clear all steps and record the current state as the first step."""
        self._steps, self._at = [self._now()], 0
        self._show()

    def note(self) -> bool:
        """Add the current state as a step and return True if the state is new."""
        now = self._now()
        if self._going or now == self._steps[self._at]:
            return False
        self._steps = [*self._steps[: self._at + 1], now][-MOST:]
        self._at = len(self._steps) - 1
        self._show()
        return True

    def step(self, by: int) -> None:
        """Go back (-1) or forward (1) by one step, if possible."""
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
        self._steps[self._at] = self._now()  # if a range has changed since, a value may have moved
        self._show()

    def _show(self) -> None:
        self.back.disabled = self._at == 0
        self.forth.disabled = self._at == len(self._steps) - 1


INPUT = "ao-input"  # class of the controls of the page that an answer depends on
TYPING = 0.7  # s without a keystroke before the text is read
SETTLED = 1.0  # s without changes before they are recorded as one step
AFTER_RUN = (1.0, 2.5)  # s after which JupyterLab has selected the last cell and drawn the panel
LATE = 0.3  # s of delay after which the user may have started
LIVE = 0.5  # s without a change before the cells below a panel are updated
AT_LEISURE = 0.15  # s between an answer and the parts that follow it


def read_job(path=None) -> Job:
    """Return the job from the file at ``path``, or the sample job if ``path`` is empty.

    Raises
    ------
    InputError
        If the file cannot be read, or airover does not cover the job.
    """
    job = Job.read(path) if path else sample_job()
    check_scope(job)
    return job


def read_motors(path=None):
    """Return the motors in the catalog at ``path``, or in the catalog supplied with airover."""
    return open_catalog(path) if path else motors_of_the_kit()


class Picture:
    """PNG image with a text description, displayed in a worksheet or as HTML in a panel."""

    def __init__(self, png: bytes, words: str):
        self.png, self.words = png, words

    def html(self, width: int = 640) -> str:
        return style.image(self.png, self.words, width)

    def own_size(self, width: int = 640) -> str:
        """Return HTML with the image at least ``width`` pixels wide, so its text is legible."""
        return style.scrolled(self.html(width))

    def __repr__(self) -> str:
        return self.words

    def _repr_png_(self) -> bytes:
        return self.png


class Drawing(Picture):
    """SVG image with a text description, displayed as HTML in a step of the page."""

    def __init__(self, svg: bytes, words: str):
        self.svg, self.words = svg, words

    def html(self, width: int = 640) -> str:
        return style.image(self.svg, self.words, width, "svg+xml")


class FollowingPicture:
    """Panel figure that is drawn after the rest of an answer to avoid delaying the verdict.

    The first figure in a worksheet is drawn immediately. After that, the earlier figure is dimmed
    until the next one is drawn.

    Parameters
    ----------
    draw : Callable[[], None]
        Function that draws the figure and shows it.
    place : widgets.HTML
        Area in which ``draw`` shows the figure. It is displayed in the widget ``view``.
    on_page : bool, optional
        True if the first figure may also follow.
    others : optional
        Other areas that ``draw`` fills, dimmed like the figure.
    """

    def __init__(
        self, draw: Callable[[], None], place: widgets.HTML, on_page: bool = False, others=()
    ):
        self.view = widgets.VBox([place])
        self._dimmed = (self.view, *others)
        self._draw, self._is_first = draw, not on_page
        self._rest = AfterRest(self._work, AT_LEISURE)

    def follow(self) -> None:
        """Draw the figure shortly after the answer."""
        if self._is_first:
            self._work()
        else:
            for one in self._dimmed:
                one.add_class("ao-earlier")
            self._rest.ask()

    def hurry(self) -> None:
        """Draw the figure now if it is outdated."""
        self._rest.hurry()

    def _work(self) -> None:
        self._is_first = False
        self._draw()
        for one in self._dimmed:
            one.remove_class("ao-earlier")


class Panel:
    """Base class for panels. Subclasses define ``compute``, ``draw`` and ``records``.

    Invalid input is reported in one sentence. The last valid answer stays visible and is marked as
    outdated. Any other error is raised, and the panel then continues to show that a calculation is
    in progress so that an old answer does not look current. Text typed into a watched control is
    read after a pause in typing, or immediately on Enter. Values set by Python are read
    immediately.

    The attribute ``language`` is "en" or "es". The attribute ``writer`` uses this language and the
    unit system selected by ``units``. With a ``host``, the panel is a step of the page. In this
    case, the host provides the language, units, job, status, undo and unsaved work, and ``stale``
    is True if the job has changed since the step was calculated.
    """

    units = None  # control with the value "US" or "SI"
    bar: JobBar | None = None  # current job of a worksheet
    step = ""  # name on the page and in the stored state
    cautions = ()  # keys of the cautions shown in a step of the page

    def __init__(self, language: str = "en", host=None):
        keep_order()
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
        self._in_steps, self._usual = [], ()
        self._cells, self._snapshot, self._outdated = {}, None, []
        self._looked_at = self.is_used = False
        self._rested = AfterRest(self._refresh_next, LIVE)
        self._next = AfterRest(self._refresh_next, 0.01)

    @property
    def writer(self) -> Writer:
        """Return a Writer for the user's language and units."""
        system = "US" if self.units is None else self.units.value
        return Writer(self._language, system, signs=self.on_page)

    def text(self, key: str, **values) -> str:
        """Return the panel's text for ``key`` in the user's language and units."""
        return self.writer(f"panel.{key}", **values)

    def fields(self, record: str, asked: dict, kind=None) -> Fields:
        """Return the controls for a record, with examples below them on the page."""
        return Fields(record, asked, kind, self.writer, hints=self.on_page)

    def parts(self, pages: dict[str, list], opened: bool = False) -> list:
        """Return controls by title: in tabs in a worksheet, or in collapsible sections on the page.

        Parameters
        ----------
        opened : bool, optional
            If True, open the first section on the page.
        """
        return Folds(pages, opened).parts if self.on_page else [tab(pages)]

    def records(self) -> tuple[Fields, ...]:
        """Return this panel's forms."""
        return ()

    def choices(self) -> dict:
        """Return, by name, the motor selections that are stored with the entries."""
        return {}

    def settings(self) -> dict[str, tuple]:
        """Return, by name, other controls that are stored with the entries, with their defaults."""
        return {}

    def typed(self) -> dict[str, dict[str, str]]:
        """Return all entries and selections in this step as text, by record and field."""
        chosen = {
            name: one.wanted for name, one in self.choices().items() if one.wanted is not None
        }
        chosen |= {name: json.dumps(one.value) for name, (one, usual) in self.settings().items()
                   if one.value != usual}  # fmt: skip
        return {self.step: chosen} | {record.record: record.typed() for record in self.records()}

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        """Restore the state returned by `typed`.

        Raises
        ------
        InputError
            If the state is damaged.
        """
        with self.filling():
            for name, choice in self.choices().items():
                choice.want(state.get(self.step, {}).get(name))
            for name, (control, usual) in self.settings().items():
                _put_shown(control, state.get(self.step, {}).get(name) or json.dumps(usual))
            for record in self.records():
                record.restore(state.get(record.record, {}))
        self.stale = True

    def compute(self):
        """Read the controls and return the answer without drawing.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        raise NotImplementedError

    def draw(self) -> None:
        """Show the current answer."""
        raise NotImplementedError

    def refused(self, error: InputError | None) -> None:
        """Show an error next to the affected controls, or clear the errors if it is None."""
        for record in self.records():
            record.show_problem(error)

    def ready(self) -> str:
        """Return the status to show when the panel is up to date."""
        return self.host.ready() if self.on_page else ""

    @classmethod
    def ahead(cls, host) -> tuple | None:
        """Return what to calculate with the answer of ``host`` for this step: see `app.ahead`."""
        return None

    def look(self) -> None:
        """Show this step of the page and update it if necessary."""
        if self.stale:
            self.update()
        else:
            self._tell(self.ready(), earlier=False)

    def update(self) -> None:
        """Calculate from the current values of the controls and show the answer."""
        self._tell(style.quiet(self.text("working")), earlier=True)
        for record in () if self.on_page else self.records():
            record.say(self.writer)  # the units may have changed
        self._work()

    def slide(self) -> None:
        """Calculate and show the answer for a slider position without showing a busy status."""
        try:
            self._work()
        except Exception:  # do not show outdated content as current
            self._tell(style.problem(self.text("broken")), earlier=True)
            raise

    def begin(self) -> None:
        """Calculate the first answer."""
        if self.bar is not None and self.bar.is_shared:
            self._work()
            return
        if lacking := self.lacks():
            self._wait_for(lacking)
            return
        self.answer = self.compute()
        self.draw()
        self.stale = False

    def use_job(self, path=None) -> None:
        """Show the job from the file at ``path``, or the current job of all worksheets.

        Raises
        ------
        InputError
            If the file cannot be read.
        """
        self.bar = JobBar(self, path)
        self.fill(self.bar.current.job)

    def resume(self) -> None:
        """Restore the entries this worksheet has stored for the job, and show the first answer."""
        self._resume()
        self.begin()
        if self.undo is not None:
            self.undo.begin()
        self.bar.begin()

    def take(self, current: Current) -> None:
        """Show another job, or another version of the job."""
        self.answer = None
        self.fill(current.job)
        self._resume()
        self.update()
        self._change.forget()
        if self.undo is not None:
            self.undo.begin()

    def lacks(self) -> str:
        """Return a sentence about missing input, or an empty string if nothing is missing."""
        return ""

    def own_job(self) -> Job:
        """Return the job defined by the controls of this panel.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        return self.job

    def typed_job(self) -> dict[str, str]:
        """Return, as text keyed by position, the values of the controls that define the job."""
        own = {id(control) for control in self.job_controls()}
        controls = enumerate(self._in_steps)
        return {str(at): _shown(one) for at, one in controls if id(one) in own}

    def job_controls(self) -> list:
        """Return the controls whose values are part of the job."""
        return []

    def entries(self) -> dict[str, dict[str, str]]:
        """Return the values of controls that are not part of the job and that the user changed."""
        own = {id(control) for control in self.job_controls()}
        now = zip(self._in_steps, self._values(), self._usual, strict=True)
        changed = {
            str(at): _shown(control)
            for at, (control, value, usual) in enumerate(now)
            if value != usual and id(control) not in own
        }
        return {"controls": changed} if changed else {}

    def open(self, path) -> None:
        """Open the job file at ``path``, evaluate the job and report any errors."""
        self.bar.open_file(path)

    def save(self, path) -> None:
        """Save the job to the file at ``path`` and report any errors."""
        self.bar.save_as(path)

    def fill(self, job: Job) -> None:
        """Fill in the controls from ``job`` without calculating."""
        raise NotImplementedError

    def live(self, show, *names: str) -> None:
        """Show part of the answer below the panel and keep it up to date.

        Parameters
        ----------
        show
            Name of an attribute of this panel, or a function whose arguments are the attributes
            ``names`` (the answer by default) and the writer.
        """
        self._cells[show, names] = Live(self, show, names)

    def check(self, figures, *names: str) -> None:
        """Show checked values from ``figures``, a function of the attributes ``names``.

        By default, the function is called with the answer.
        """
        self._cells[figures, names] = Checked(self, figures, names)
        loop = running_loop()
        if loop is not None and not self._looked_at:  # Run All ends here, far below the panel
            self._looked_at = True
            for wait in AFTER_RUN:
                loop.call_later(wait, self._come_into_view, loop, loop.time() + wait)

    def _come_into_view(self, loop, due: float) -> None:
        """Scroll the browser to the panel by moving the focus to a control.

        The focus is not taken from a user who has started, or may have while Python was busy.
        """
        if self.is_used or loop.time() > due + LATE:
            return
        control = getattr(self, "motor", None) or (self.bar.path if self.bar else self.units)
        if control is not None:
            control.focus()
            control.blur()  # so that a key pressed for scrolling changes nothing

    @property
    def stored_picture(self) -> "Picture | None":
        """Return the figure stored with the worksheet."""
        found = getattr(self, "picture", None)
        return found if isinstance(found, Picture) else None

    def open_with(self, read, path, fill) -> None:
        """Read ``path`` with ``read``, fill in the controls and evaluate the result.

        If the file is rejected, show the error and change nothing.

        Parameters
        ----------
        fill
            Function that enters the result into the controls.
        """
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
        """Update whenever the user changes one of ``controls``."""
        self._mark(controls)
        self.follow(controls, self.update)

    def _mark(self, controls) -> None:
        """Have the page compare ``controls`` with the inputs of the answer."""
        for control in controls if self.on_page else ():
            control.add_class(INPUT)

    def follow(self, controls, work: Callable[[], None], as_typed: bool = True) -> None:
        """Call ``work`` whenever the user changes one of ``controls``.

        Only the page reads text while the user is typing.

        Parameters
        ----------
        as_typed : bool, optional
            If True, read text while the user is typing. If False, read it on Enter or loss of
            focus.
        """
        as_typed = as_typed and self.on_page
        typed = AfterRest(work, TYPING)

        def changed(change) -> None:
            if self._filling or getattr(change.owner, "filled", False):
                return
            self.is_used = True
            if as_typed and getattr(change.owner, "typing", False):
                if self.on_page:
                    self._tell(style.text(self.writer("page.waiting")), earlier=True)
                typed.ask()
            else:
                typed.forget()
                if self.host is not None:
                    self.host.tell_inputs(drawing=True)
                work()
                if self.host is not None:
                    self.host.tell_inputs()
            self._change.ask()
            if hasattr(change.owner, "filled"):
                self._change.hurry()  # the entry is complete, so it becomes one undo step

        def pressed(_, content, __) -> None:
            if content.get("event") == "submit":  # Enter
                typed.hurry()

        for control in controls:
            control.observe(changed, "value")
            if as_typed and hasattr(control, "typing"):
                control.continuous_update = True
                control.on_msg(pressed)

    def follow_sliders(self, sliders) -> None:
        """Update when ``sliders`` move, with a fixed verdict height to avoid layout shifts."""
        self._mark(sliders)
        self.follow(sliders, self.slide)
        self.verdict.add_class("ao-steady")

    def follow_path(self, control, read: Callable[[str], None]) -> None:
        """Call ``read`` with the path in ``control`` on Enter or loss of focus."""

        def given() -> None:
            if control.value.strip():
                read(control.value.strip())

        self.follow([control], given, as_typed=False)

    def keep_steps(self, controls, first=()) -> None:
        """Provide undo for changes to ``controls``.

        Parameters
        ----------
        first : optional
            Controls that determine the accepted values of other controls. They are restored before
            the others, together with the changes that they trigger.
        """
        if self.on_page:
            return  # undo on the page covers all entries on it
        others = [control for control in controls if control not in first]
        self._in_steps = [*first, *others]
        self._usual = self._values()
        self.undo = Undo(self._values, lambda values: self._put(values, len(first)))
        self.undo.say(self.writer)

    def settled(self) -> None:
        """Record the current state as an undo step and store it."""
        if self.on_page:
            self.host.settled()
            return
        if self.undo is not None:
            self.undo.note()
        if self.bar is not None:
            self.bar.settled()

    def changed(self) -> None:
        """Record the state as an undo step once changes have stopped."""
        self._change.ask()

    @contextmanager
    def filling(self):
        """Return a context in which setting a control does not trigger an update."""
        before, self._filling = self._filling, True
        try:
            yield
        finally:
            self._filling = before

    def places(self, *names: str) -> None:
        """Create, for each of ``names``, an HTML area that is marked when it is outdated."""
        for name in names:
            place = widgets.HTML()
            place.add_class("ao-answer")
            setattr(self, name, place)

    def told_places(self, *names: str) -> None:
        """Create a fixed-height area for each of ``names`` to show the result of a click."""
        for name in names:
            place = widgets.HTML()
            place.add_class("ao-told")
            setattr(self, name, place)

    def arrange(self, head, left, right, below, more=(), extra=()) -> None:
        """Arrange the status, ``head``, the controls and the results.

        On the page, the parts follow one another, with the extra controls and the cautions at the
        end.

        Parameters
        ----------
        left
            Widgets with the controls.
        right, below
            Widgets with the results.
        more : optional
            Buttons next to the status.
        extra : optional
            Additional controls, below or after the others.
        """
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
        job = [] if self.bar is None else [self.bar.view]
        below = _box(widgets.VBox, "below", below)
        self.view.children = [widgets.HTML(style.STYLE), *job, top, *head, both, below]

    @collection_postponed()
    def _work(self) -> None:
        before, lacking = self.answer, self.lacks()
        if lacking:
            self._wait_for(lacking)
            return
        try:
            self.answer = self.compute()
            self.draw()
        except InputError as error:
            self.answer = before
            self._refuse(error)
            return
        self.stale = False
        self.refused(None)
        self._blank(False)
        self._tell(self.ready(), earlier=False)
        self._refresh()

    def _wait_for(self, lacking: str) -> None:
        """Show which input is required in place of a result."""
        self.answer = None
        self.refused(None)
        self.verdict.value = style.verdict("fits with work", lacking)
        self._blank(True)
        self._tell("", earlier=False)
        self._refresh()

    def _blank(self, blank: bool) -> None:
        """Hide the results while there is no answer."""
        (self.view.add_class if blank else self.view.remove_class)("ao-blank")

    def _resume(self) -> None:
        """Restore the entries this worksheet has stored for the current job."""
        self._usual = self._values()
        kept = self.bar.restored()
        rejected = kept.get("rejected", {})
        if rejected.get("revision") != self.bar.current.revision:
            rejected = {}
        with self.filling():
            for texts in (kept.get("controls", {}), rejected):
                for at, shown in texts.items():
                    if at.isdecimal() and int(at) < len(self._in_steps):
                        _put_shown(self._in_steps[int(at)], shown)

    def _refresh(self) -> None:
        """Mark the cells below as outdated, and update them when the controls stop changing."""
        self._outdated = [*self._cells.values()]
        for live in self._outdated:
            live.age()
        if self._snapshot is not None:
            self._outdated.append(self._snapshot)
        if self._outdated:
            self._rested.ask()

    def _refresh_next(self) -> None:
        """Update one cell and schedule the next one, so that the controls stay responsive."""
        if self._outdated:
            self._outdated.pop(0).refresh()
            self._next.ask()

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
        if self.on_page and labels:  # the reason is shown next to each field
            told = [self.writer("page.wrong.fields", fields=", ".join(labels))]
        else:
            told = [self.writer.error(error), *getattr(error, "__notes__", ())]
        if self.answer is not None:
            told.append(self.text("earlier"))
        elif not self.on_page:
            self.verdict.value = ""
            self._blank(True)
        for live in self._cells.values():
            live.age()
        self._tell(style.problem(*told), earlier=True)

    def _tell(self, html: str, earlier: bool) -> None:
        self.status.value = html
        (self.view.add_class if earlier else self.view.remove_class)("ao-earlier")
        if self.host is not None:
            self.host.tell_inputs()

    def __repr__(self) -> str:
        verdict = getattr(self, "verdict", None)
        html = verdict.value if isinstance(verdict, widgets.HTML) else ""
        said = re.search(r"<strong[^>]*>(.*?)</strong>", html, re.DOTALL)
        return unescape(re.sub(r"<[^>]*>", "", said[1])) if said else type(self).__name__

    def _ipython_display_(self, **options) -> None:
        self._snapshot = Snapshot(self)
        show_widget(self.view)


def _box(kind, name: str, children) -> widgets.Box:
    box = kind(children)
    box.add_class(f"ao-{name}")
    return box


_WORKING = object()


def _shown(control) -> str:
    """Return the value of a control as text for storage."""
    if hasattr(control, "options"):
        return control.label or ""
    return json.dumps(control.value)


def _put_shown(control, shown: str) -> None:
    """Set a control to a stored value if it still accepts the value."""
    with suppress(ValueError, TraitError):
        if not hasattr(control, "options"):
            control.value = json.loads(shown)
        elif shown in (named := dict(zip(control._options_labels, control._options_values))):
            control.value = named[shown]


class PagedPanel(Panel):
    """Panel with pages. Only the visible page is calculated.

    A page listed in ``SLOW`` is calculated after the controls stop changing.

    Attributes
    ----------
    pages
        Area of each page by title.
    tables
        Tabs that contain the pages.
    """

    SLOW = ()

    def page(self, title: str) -> str:
        """Return the page called ``title`` as HTML."""
        raise NotImplementedError

    def page_key(self, title: str):
        """Return a cache key that covers all inputs of the page."""
        return self.answer

    def make_pages(self, titles, more=None) -> None:
        """Create an empty page for each of ``titles``.

        Parameters
        ----------
        more : optional
            Lists of widgets to show in additional tabs, by title.
        """
        self.pages, self._told = {title: widgets.HTML() for title in titles}, {}
        self.tables = tab({title: [place] for title, place in self.pages.items()} | (more or {}))
        self.tables.add_class("ao-answer")
        self.tables.observe(lambda _: self.draw_page(), "selected_index")
        self._later = AfterRest(self.draw_slow)

    @property
    def page_shown(self) -> str:
        """Return the title of the visible page."""
        return self.tables.titles[self.tables.selected_index or 0]

    def draw_page(self) -> None:
        """Update the visible page if it is outdated."""
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
        """Calculate the visible page now."""
        try:
            self._write(self.page_shown)
        except Exception:
            self.pages[self.page_shown].value = style.problem(self.text("broken"))
            raise

    def _working(self, earlier: str) -> str:
        """Return a page that is marked as calculating, with the ``earlier`` page dimmed."""
        if not earlier:
            return style.quiet(self.text("page_working"))
        return style.quiet(self.text("page_earlier")) + style.faded(earlier)

    def _write(self, title: str) -> None:
        try:
            shown = self.page(title)
        except InputError as error:  # the answer is valid, but this page cannot be calculated
            shown = style.problem(self.text("page_refused", why=self.writer.error(error)))
        self.pages[title].value = shown
        self._told[title] = self.page_key(title)
