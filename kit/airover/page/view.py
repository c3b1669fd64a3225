"""One step of the page: built when it is first looked at, worked when what it shows is old."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.panels import style
from airover.panels.fields import Fields
from airover.panels.reader import Reader
from airover.records import Job

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
