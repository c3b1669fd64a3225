"""Bar for the current job at the top of a worksheet panel.

The bar has the controls New, Open, Save, Save as and Recent. All worksheets share the same current
job (`job_folder`). The bar stores every change in its panel and detects when another worksheet or
window changes the job.
"""

import weakref
from dataclasses import replace
from pathlib import Path

import ipywidgets as widgets

from airover.app import style
from airover.app.fields import text
from airover.app.job_folder import Current, JobFolder, new_job, the_sample, user_folder
from airover.app.running import running_loop
from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.units import quoted
from airover.records.job import FILE, JobFile

LOOK = 3.0  # s between checks for changes in another window
SAMPLE, ASIDE = ":sample", ":aside"  # values of ``recent`` that are not files


class JobBar:
    """Bar for the current job of a ``panel``, with the widget ``view``.

    The panel must provide ``writer``, ``take`` (shows a Current), ``own_job`` (returns the job
    defined by its controls) and ``entries`` (returns the other entries in its controls).

    The controls are ``path``, ``new``, ``open``, ``save``, ``save_as`` and ``recent``. After
    another window has changed the job, the controls ``load_other`` and ``keep_this`` also appear.

    Parameters
    ----------
    path
        Job file for this panel only, or None for the job shared by all worksheets.
    """

    def __init__(self, panel, path=None):
        self._panel = weakref.proxy(panel)
        self.folder = JobFolder(user_folder() if path is None else None)
        self._parted = False  # True while another window has a newer version
        self._make_controls()
        self.current = self._first(path)
        self.say()

    @property
    def is_shared(self) -> bool:
        """True if this is the current job shared by all worksheets."""
        return self.folder.folder is not None

    def begin(self) -> None:
        """Check for changes in other windows at regular intervals while an event loop runs."""
        loop = running_loop()
        if loop is not None and self.is_shared:
            loop.call_later(LOOK, _look_again, weakref.ref(self))

    def settled(self) -> None:
        """Store the panel's entries unless another window has a newer version."""
        if running_loop() is not None:  # scripts are not resumed, so they store nothing
            self.keep()

    def keep(self) -> None:
        """Store the job and the panel's other entries now."""
        self.look()
        if self._parted:
            return
        try:
            self._store()
        except InputError as error:
            self._tell_problem("worksheet.not_kept", error)
        self.say()

    def look(self) -> None:
        """Show a notice if another window has stored a newer version of the job."""
        newest = self.folder.newest()
        if newest in ("", self.current.revision):
            return
        try:
            other = self.folder.load()
        except InputError:
            return
        if _same(other, self.current):  # stored or saved again without changes
            self.current = other
            self.say()
        else:
            self._part(True)

    def load_the_other(self) -> None:
        """Show the version stored by another window."""
        try:
            self._show(self.folder.load())
        except InputError as error:
            self._tell_problem("worksheet.lost", error)

    def keep_this_one(self) -> None:
        """Replace the version from another window with this panel's version."""
        self._part(False)
        try:
            self.current = self.folder.store(self._now())
        except InputError:  # an entry is rejected, so store the last accepted job
            self.current = self.folder.store(self.current)
        self.keep()

    def begin_new(self) -> None:
        """Create a blank job. An unsaved job remains available under recent jobs."""
        self._replace(new_job())

    def open_file(self, path) -> None:
        """Open the job file at ``path`` as the current job."""
        try:
            file = JobFile.read(_named(path))
            content = file.content.decode("utf-8-sig")
        except InputError as error:
            self._tell_problem("worksheet.not_opened", error)
            return
        whole = str(Path(path).resolve())
        self._replace(new_job(file.job, whole, content))
        self._remember(whole)
        self.told.value = style.quiet(self._text("panel.opened", path=str(path)))

    def save_as(self, path) -> None:
        """Save the job to the file at ``path``.

        A file is replaced only if it is this job's file and no other program has changed it since
        it was opened.
        """
        try:
            job = self._panel.own_job()
            target = self._free(path)
            seen = self.current.content.encode() if self._is_own(target) else b""
            saved = JobFile(target, seen, job).saved(job)
        except InputError as error:
            self._tell_problem("panel.not_saved", error)
            return
        known = {"path": str(target), "content": saved.content.decode()}
        self.current = self.folder.store(replace(self.current, job=job, **known))
        self._part(False)
        self._remember(str(target))
        self.say()
        named = {"name": target.name, "folder": str(target.parent)}
        self.told.value = style.quiet(self._text("panel.saved", **named))

    def save(self) -> None:
        """Save the job to its file, or to the file named in ``path``."""
        self.save_as(self.current.path or self.path.value)

    def say(self) -> None:
        """Show the job name, its file, and the files that can be opened."""
        current, job = self.current, self.current.job
        name = job.name or self._text("worksheet.unnamed")
        if current.path:
            state = self._text(
                "worksheet.in_file" if current.is_saved else "worksheet.changed",
                file=Path(current.path).name,
            )
        elif current.is_sample:
            state = self._text("worksheet.sample")
        else:
            state = self._text("worksheet.no_file")
        self.name.value = style.named(self._text("worksheet.job"), name, state)
        self._offer()

    def _first(self, path) -> Current:
        """Return the job from the file at ``path``, or the current job of all worksheets."""
        if path is not None:
            file = JobFile.read(path)
            whole = str(Path(path).resolve())
            return new_job(file.job, whole, file.content.decode("utf-8-sig"))
        try:
            return self.folder.load()
        except InputError as error:
            self._tell_problem("worksheet.lost", error)
            return the_sample()

    def _store(self) -> None:
        try:
            now, rejected = self._now(), {}
        except InputError:  # store the last accepted job for the other worksheets
            now, rejected = self.current, self._panel.typed_job()
        if now.job != self.current.job:
            self.current = self.folder.store(now)
        entries = self._panel.entries()
        if rejected:
            entries = entries | {"rejected": {"revision": self.current.revision, **rejected}}
        step, key = self._panel.step, self.current.key
        if entries != self._kept:
            self.folder.keep(step, key, entries)
            self._kept = entries

    def _now(self) -> Current:
        job = self._panel.own_job()
        return self.current if job == self.current.job else self.current.changed(job)

    def _replace(self, current: Current) -> None:
        """Make ``current`` the job for all worksheets and show it."""
        self._panel.is_used = True
        try:
            before = self.current if self._parted else self._now()
        except InputError:
            before = self.current
        try:
            self.folder.put_aside(before)
            current = self.folder.store(current)
        except InputError as error:
            self._tell_problem("worksheet.not_kept", error)
        self._show(current)

    def _show(self, current: Current) -> None:
        self._part(False)
        self.current, self.told.value = current, ""
        self._panel.take(current)
        self.say()

    def restored(self) -> dict:
        """Return the entries that this worksheet has stored for the current job."""
        kept = self.folder.entries(self._panel.step, self.current.key)
        self._kept = {name: texts for name, texts in kept.items() if name != "of"}
        return self._kept

    def _part(self, parted: bool) -> None:
        self._parted = parted
        self._notice.layout.display = None if parted else "none"

    def _is_own(self, target: Path) -> bool:
        return bool(self.current.path) and target == Path(self.current.path)

    def _free(self, path) -> Path:
        """Return ``path`` as an absolute path if the job can be written to it."""
        target = Path(_named(path)).resolve()
        if target.is_dir():
            raise InputError(FILE, quoted(str(path)), Message("panel.answer.a_file_name"))
        if target.exists() and not self._is_own(target):
            given = Message("panel.answer.exists", name=quoted(str(path)))
            raise InputError(FILE, given, Message("panel.answer.a_free_name"))
        return target

    def _remember(self, path: str) -> None:
        try:
            self.folder.remember(path)
        except InputError:
            pass  # the list of recent files is only a convenience
        self._offer()

    def _offer(self) -> None:
        """List the recent jobs."""
        aside = self.folder.aside()
        options = [(self._text("worksheet.recent"), "")]
        options += [(Path(path).name, path) for path in self.folder.recent()]
        if aside is not None:
            name = aside.job.name or self._text("worksheet.unnamed")
            options.append((self._text("worksheet.aside", name=name), ASIDE))
        options.append((self._text("worksheet.the_sample"), SAMPLE))
        self._choosing = True
        self.recent.options, self.recent.value = options, ""
        self._choosing = False

    def _chosen(self, change) -> None:
        if self._choosing or not change.new:
            return
        if change.new == SAMPLE:
            self._replace(the_sample())
        elif change.new == ASIDE:
            self._replace(self.folder.aside() or self.current)
        else:
            self.open_file(change.new)
        self._offer()

    def _text(self, key: str, **values) -> str:
        return self._panel.writer(key, **values)

    def _tell_problem(self, key: str, error: InputError) -> None:
        why, notes = self._panel.writer.error(error), getattr(error, "__notes__", ())
        self.told.value = style.problem(self._text(key, why=why), *notes)

    def _make_controls(self) -> None:
        self._kept, self._choosing = {}, False
        self.name, self.told = widgets.HTML(), widgets.HTML()
        self.told.add_class("ao-job-told")
        self.recent = widgets.Dropdown(
            options=[], tooltip=self._text("worksheet.recent"), layout={"width": "150px"}
        )
        self.recent.observe(self._chosen, "value")
        self.path = text(self._text("panel.job_file"), "my-job.toml", self._panel.writer)
        self.path.style.description_width = "60px"
        self.path.layout.width = "260px"
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        actions = {
            "new": self.begin_new,
            "save": self.save,
            "open": lambda: self.open_file(self.path.value),
            "save_as": lambda: self.save_as(self.path.value),
            "load_other": self.load_the_other,
            "keep_this": self.keep_this_one,
        }
        self.buttons = {}
        for name, work in actions.items():
            button = widgets.Button(
                description=self._text(f"worksheet.{name}"),
                tooltip=self._text(f"worksheet.tip.{name}"),
            )
            button.on_click(lambda _, work=work: work())
            self.buttons[name] = button
        made = self.buttons
        self._notice = widgets.HBox(
            [
                widgets.HTML(style.problem(self._text("worksheet.other"))),
                made["load_other"],
                made["keep_this"],
            ]
        )
        self._notice.add_class("ao-job-notice")
        self._part(False)
        row = [self.name, made["new"], made["save"], self.recent, self.path, made["open"]]
        bar = widgets.HBox([*row, made["save_as"]])
        bar.add_class("ao-job-bar")
        self.view = widgets.VBox([bar, self.told, self._notice])
        self.view.add_class("ao-job")


def _named(path) -> str:
    """Return the path as text without surrounding spaces.

    Raises
    ------
    InputError
        If the path is empty.
    """
    named = str(path).strip()
    if not named:
        raise InputError(FILE, quoted(""), Message("panel.answer.a_file_name"))
    return named


def _same(one: Current, other: Current) -> bool:
    return one.key == other.key and one.job == other.job


def _look_again(seen: "weakref.ref[JobBar]") -> None:
    """Keep checking for changes as long as the bar exists."""
    bar = seen()
    if bar is None:
        return
    try:
        bar.look()
        bar.begin()
    except ReferenceError:
        pass  # the panel has been replaced
