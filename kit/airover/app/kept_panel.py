"""List of saved jobs on the page, with search, open, copy and automatic saving."""

import weakref

import ipywidgets as widgets

from airover.app import style
from airover.app.fields import Line
from airover.app.kept_jobs import KeptJob, KeptJobs, copied
from airover.app.running import AfterRest, running_loop
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.job import Job

LOOK = 3.0  # s between checks for changes by another device
SHOWN = 30  # maximum number of jobs in the list
TYPING = 0.4  # s without a keystroke before the list is searched


class KeptPanel:
    """List of the ``jobs`` and the state of the job on the ``page``, with the widget ``view``.

    Once the user has saved the job, it is written to ``file`` after every change. If another device
    has changed the file, the page shows ``notice`` and writes nothing until the user decides.

    The page must provide ``writer``, ``form``, ``fill`` (shows a job) and ``settled``.
    """

    def __init__(self, page, jobs: KeptJobs):
        self._page, self.jobs, self.file = weakref.proxy(page), jobs, ""
        self.told, self._parted = widgets.HTML(), False
        self._make_controls()

    @property
    def is_offered(self) -> bool:
        """True if the page has a folder for jobs."""
        return self.jobs.folder is not None

    def begin(self) -> None:
        """Check for changes by other devices at regular intervals while an event loop runs."""
        loop = running_loop()
        if loop is not None and self.is_offered:
            loop.call_later(LOOK, _look_again, weakref.ref(self))

    def look(self) -> None:
        """Show a notice if another device has changed the job."""
        if self.file and not self._parted and self.jobs.is_changed(self.file):
            self._part(True)

    def keep(self) -> None:
        """Save the job on the page as a new file, which is then updated after every change."""
        if (job := self._job()) is None:
            return
        try:
            self.file = self.jobs.keep_as_new(job)
        except InputError as error:
            self._refuse(error)
            return
        self._part(False)
        self._page.settled()
        self.say()

    def settled(self) -> None:
        """Write the job to its file, unless an entry is rejected or the file changed elsewhere."""
        self.look()
        if not self.file or self._parted:
            return
        try:
            self.jobs.keep(self.file, self._page.form.job())
        except InputError as error:
            if self.jobs.is_changed(self.file):
                self._part(True)
            else:
                self._refuse(error)
            return
        self._tell()

    def open(self, file: str) -> None:
        """Show the job in ``file`` on the page."""
        try:
            job = self.jobs.open(file)
        except InputError as error:
            self._refuse(error)
            return
        self._show(file, job)

    def copy(self, file: str) -> None:
        """Show a copy of the job in ``file`` on the page and save it as a new file."""
        try:
            job = self.jobs.open(file)
            job = copied(job, self._write("flow.kept.copy_of", name=job.name or file))
            self._show(self.jobs.keep_as_new(job), job)
        except InputError as error:
            self._refuse(error)

    def load_other(self) -> None:
        """Show the version from the other device."""
        self._part(False)
        self.open(self.file)

    def keep_this(self) -> None:
        """Replace the version from the other device with the job on the page."""
        if (job := self._job()) is None:
            return
        try:
            self.jobs.overwrite(self.file, job)
        except InputError as error:
            self._refuse(error)
            return
        self._part(False)
        self._tell()

    def attach(self, file: str) -> None:
        """Continue with ``file``, or with an unsaved job if ``file`` is empty.

        If this page has not read the file before, the file is compared with the job on the page.
        """
        if file == self.file:
            return
        self.file = file
        self._part(False)
        if file and not self.jobs.has_read(file):
            try:
                self._part(self.jobs.open(file) != self._job())
            except InputError as error:
                self.file = ""
                self._refuse(error)
                return
        self._tell()

    def say(self) -> None:
        """Show the list of jobs in the user's language."""
        if not self.is_offered:
            return
        write = self._write
        found = self.jobs.found(self.search.value, self.sort.value == "customer")
        for row in self.rows.children:
            for one in row.children:
                one.close()
            row.close()
        self.rows.children = [self._row(one) for one in found[:SHOWN]]
        more = len(found) - SHOWN
        told = write("flow.kept.none") if not found else ""
        self.count.value = style.quiet(write("flow.kept.more", count=more) if more > 0 else told)
        self._tell()

    def _show(self, file: str, job: Job) -> None:
        self._part(False)
        self._page.fill(job, file)
        self.say()

    def _job(self) -> Job | None:
        """Return the job on the page, or show why it is rejected."""
        try:
            return self._page.form.job()
        except InputError as error:
            self._refuse(error)
            return None

    @property
    def _write(self) -> Writer:
        return self._page.writer

    def _tell(self) -> None:
        write = self._write
        said = write("flow.kept.in", file=self.file) if self.file else ""
        self.told.value = style.status(said) if said else ""
        self.keep_button.layout.display = "none" if self.file else None

    def _refuse(self, error: InputError) -> None:
        self.told.value = style.problem(self._write("flow.kept.not", why=self._write.error(error)))

    def _part(self, parted: bool) -> None:
        self._parted = parted
        self.notice.layout.display = None if parted else "none"

    def _row(self, one: KeptJob) -> widgets.HBox:
        write = self._write
        name = one.name or write("page.job.unnamed")
        whole = name if one.customer in name else f"{one.customer}, {name}"
        day = write.value(one.day)
        words = write("flow.kept.line", job=whole, day=day, done=one.done, steps=one.steps)
        row = widgets.HBox([
            _button(words, lambda: self.open(one.file)),
            _button(write("flow.kept.copy"), lambda: self.copy(one.file),
                    write("flow.kept.copy_tip", job=whole)),
        ])  # fmt: skip
        row.add_class("ao-kept")
        return row

    def _make_controls(self) -> None:
        write = self._write
        self.keep_button = _button(write("flow.kept.keep"), self.keep)
        self.search = Line(description=write("flow.kept.search"), continuous_update=True)
        orders = [(write(f"flow.kept.by.{one}"), one) for one in ("day", "customer")]
        self.sort = widgets.Dropdown(description=write("flow.kept.sort"), options=orders)
        searched = AfterRest(self.say, TYPING)
        self.search.observe(lambda _: searched.ask(), "value")
        self.sort.observe(lambda _: self.say(), "value")
        self.rows, self.count = widgets.VBox(), widgets.HTML()
        self.load_button = _button(write("worksheet.load_other"), self.load_other)
        self.mine_button = _button(write("flow.kept.mine"), self.keep_this)
        problem = widgets.HTML(style.problem(write("flow.kept.other")))
        self.notice = widgets.VBox([problem, self.load_button, self.mine_button])
        self.notice.layout.display = "none"
        row = widgets.HBox([self.search, self.sort])
        row.add_class("ao-row")
        self.view = widgets.VBox([row, self.rows, self.count])


def _button(words: str, work, tip: str = "") -> widgets.Button:
    button = widgets.Button(description=words, tooltip=tip or words)
    # ipywidgets only logs exceptions from clicks, so the handler only calls this function.
    button.on_click(lambda _: work())
    return button


def _look_again(seen: "weakref.ref[KeptPanel]") -> None:
    """Keep checking for changes as long as the page exists."""
    panel = seen()
    if panel is None:
        return
    try:
        panel.look()
        panel.begin()
    except ReferenceError:
        pass  # the page has been closed
