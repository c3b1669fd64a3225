"""The folding sections of the job: four of fields, one of files.

One step of the page: built when it is first looked at, worked when what it shows is old.
"""

import ipywidgets as widgets

from airover.app import page_job, style
from airover.app.fields import Fields
from airover.app.reader import Reader
from airover.core.errors import InputError
from airover.records.job import Job

CAUTIONS = ("power", "capacitor", "blade", "law")


class View:
    """A kind of view has ``build``, ``compute`` and ``draw``, and the keys of its ``cautions``.

    ``page`` is the App, whose ``answer``, ``motors`` and ``reader`` a view looks at. ``result`` is
    what ``compute`` gave last, None before. A step is ``old`` when something that it shows has
    changed since.
    """

    step = ""
    cautions = CAUTIONS

    def __init__(self, page):
        self.page, self.result, self.old, self.built = page, None, True, False
        self.place = widgets.VBox()
        self.place.add_class("ao-stack")
        self.told = widgets.HTML()  # of a file that was opened on this step
        self.caution = widgets.HTML()

    def build(self) -> list[widgets.Widget]:
        """Make what stands on this step; its order is that of the page."""
        raise NotImplementedError

    def compute(self):
        """What is shown; draws nothing. Raises InputError."""
        raise NotImplementedError

    def draw(self, reader: Reader) -> None:
        """Show ``result``."""
        raise NotImplementedError

    def say(self, reader: Reader) -> None:
        """Labels of this step's own controls."""

    @property
    def forms(self) -> list:
        """What is typed on this step: each with a ``record``, ``typed`` and ``restore``."""
        return []

    @property
    def controls(self) -> list[widgets.Widget]:
        """What makes this step old when it is changed."""
        return []

    def fill(self, job: Job | None) -> None:
        """Take what this step asks of a ``job``; None empties it."""

    def of_job(self) -> dict:
        """What this step knows for a job's file; raises InputError."""
        return {}

    def changed(self, change) -> None:
        """This step is old; the page works it once nothing changes for a while."""
        if not self.page.is_filling:
            self.old, self.told.value = True, ""
            self.page.changed()

    def look(self) -> bool:
        """Show this step as of now; whether nothing is refused."""
        if not self.built:
            self.place.children = [*self.build(), self.caution]
            self.built = True
            self.speak()
        if self.old and self.page.answer is not None:
            self.work()
        return not self.old or self.page.answer is None

    def work(self) -> None:
        """Work out what is shown, and show it; what is refused is told, and the last good answer
        stays, marked as of the earlier input."""
        if labels := self.refused():
            self.refuse(self.page.reader("wrong.fields", fields=", ".join(labels)))
            return
        try:
            self.result = self.compute()
        except InputError as error:
            self.refuse(self.page.reader("failed", why=self.page.reader.write.error(error)))
            return
        self.old = False
        self.mark(earlier=False)
        self.draw(self.page.reader)

    def refused(self) -> list[str]:
        """The labels of this step's fields that are refused; beside each it is told why."""
        reader, labels = self.page.reader, []
        for form in self.forms:
            if isinstance(form, Fields):
                problems = form.found()
                form.tell(problems, reader)
                labels += [form.label(name, reader) for name in problems]
        return labels

    @property
    def has_answer(self) -> bool:
        """Whether an answer stands on this step."""
        return self.result is not None

    def refuse(self, sentence: str) -> None:
        """Tell on top of the page what is wrong on this step, where there is room for it."""
        earlier = [self.page.reader("earlier")] if self.has_answer else []
        self.page.tell_problem(sentence, *earlier)
        self.mark(earlier=True)

    def mark(self, earlier: bool) -> None:
        (self.place.add_class if earlier else self.place.remove_class)("ao-earlier")

    def speak(self) -> None:
        """Everything of this step in the reader's language and units."""
        if not self.built:
            return
        reader, self.told.value = self.page.reader, ""
        said = [reader("measured_only"), *(reader(f"caution.{key}") for key in self.cautions)]
        self.caution.value = style.caution(reader("caution.title"), said)
        self.say(reader)
        if self.result is not None:
            self.draw(reader)


def shown() -> widgets.HTML:
    """A place for an answer, which is marked while it is of an earlier input."""
    place = widgets.HTML()
    place.add_class("ao-answer")
    return place


OPEN_FIRST = "plate"
_MARKS = {True: "\N{BLACK DOWN-POINTING TRIANGLE}", False: "\N{BLACK RIGHT-POINTING TRIANGLE}"}
FILES = "files"


class Sections:
    """``parts`` are a button and what it opens, one after the other; ``job_file`` and
    ``catalog`` are uploads, ``folds`` the buttons by section."""

    def __init__(self, page):
        self._page = page
        self.job_file, self.catalog = upload(".toml"), upload(".csv")
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
        name, content = f"{page_job.file_name(job.name)}.toml", job.to_toml().encode()
        self.link.value = style.link(name, content, "application/toml", reader("job.download"))

    def say(self, reader: Reader) -> None:
        for name, about in self._about.items():
            size = {"size": f"{page_job.LARGEST / 1e6:g}"} if name == FILES else {}
            about.value = style.text(reader(f"about.{name}", **size), "p", "soft")
        self.job_file.description = reader("file.job")
        self.catalog.description = reader("file.catalog")
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
            [self.job_file, self.link, self.catalog, self.back, self._page.file_told]
        )
        box.add_class("ao-files")
        return box

    def _observe(self) -> None:
        for name, fold in self.folds.items():
            fold.add_class("ao-fold")
            fold.observe(lambda _, name=name: self._say_fold(name, self._page.reader), "value")
        take(self.job_file, self._page.open_job)
        take(self.catalog, self._page.open_catalog)
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
