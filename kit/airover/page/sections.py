"""The folding sections of the job: four of fields, one of files."""

import ipywidgets as widgets

from airover.page import opened
from airover.panels import style
from airover.panels.reader import Reader
from airover.records import Job

OPEN_FIRST = "plate"
_MARKS = {True: "\N{BLACK DOWN-POINTING TRIANGLE}", False: "\N{BLACK RIGHT-POINTING TRIANGLE}"}
FILES = "files"


class Sections:
    """``parts`` are a button and what it opens, one after the other; ``job_file`` and
    ``catalogue`` are uploads, ``folds`` the buttons by section."""

    def __init__(self, page):
        self._page = page
        self.job_file, self.catalogue = upload(".toml"), upload(".csv")
        self.back = widgets.Button()
        self.link = widgets.HTML()
        self._offered: Job | None = None
        pages = {name: box for form in page.form.forms for name, box in form.pages.items()}
        pages[FILES] = self._files()
        self._about = {name: widgets.HTML() for name in pages}
        self._bodies = {name: widgets.VBox([self._about[name], box]) for name, box in pages.items()}
        self.folds = {name: widgets.ToggleButton(value=name == OPEN_FIRST) for name in pages}
        self.parts = [one for name in pages for one in (self.folds[name], self._bodies[name])]
        self._observe()

    def fold(self, job: Job | None) -> None:
        """Fold all sections over a ``job`` that is there; open the first for an empty one."""
        for name, fold in self.folds.items():
            fold.value = job is None and name == OPEN_FIRST

    def offer(self, job: Job | None, reader: Reader) -> None:
        """Offer ``job`` as a file to save; nothing for None."""
        self._offered = job
        if job is None:
            self.link.value = ""
            return
        name, content = f"{opened.file_name(job.name)}.toml", job.to_toml().encode()
        self.link.value = style.link(name, content, "application/toml", reader("job.download"))

    def say(self, reader: Reader) -> None:
        for name, about in self._about.items():
            size = {"size": f"{opened.LARGEST / 1e6:g}"} if name == FILES else {}
            about.value = style.text(reader(f"about.{name}", **size), "p", "soft")
        self.job_file.description = reader("file.job")
        self.catalogue.description = reader("file.catalogue")
        self.back.description = reader("file.back")
        for name in self.folds:
            self._say_fold(name, reader)
        if self._offered is not None:
            self.offer(self._offered, reader)

    def _say_fold(self, name: str, reader: Reader) -> None:
        fold = self.folds[name]
        fold.description = f"{_MARKS[fold.value]} {reader(f'section.{name}')}"
        self._bodies[name].layout.display = None if fold.value else "none"

    def _files(self) -> widgets.VBox:
        box = widgets.VBox(
            [self.job_file, self.link, self.catalogue, self.back, self._page.file_told]
        )
        box.add_class("ao-files")
        return box

    def _observe(self) -> None:
        for name, fold in self.folds.items():
            fold.add_class("ao-fold")
            fold.observe(lambda _, name=name: self._say_fold(name, self._page.reader), "value")
        take(self.job_file, self._page.open_job)
        take(self.catalogue, self._page.open_catalogue)
        self.back.on_click(lambda _: self._page.use_the_kits())


def upload(suffix: str) -> widgets.FileUpload:
    """A button that hands a file of this ``suffix`` to the page."""
    return widgets.FileUpload(accept=suffix, multiple=False)


def take(control: widgets.FileUpload, opens) -> None:
    """Have ``opens(name, content)`` take what is uploaded; the same file may come again."""

    def changed(change):
        files = change["new"]
        if files:
            control.value = ()
            opens(files[0]["name"], bytes(files[0]["content"]))

    control.observe(changed, "value")
