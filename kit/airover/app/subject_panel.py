"""Panels of one subject: a verdict on top, a picture that follows the sliders, pages below.

A subject has a module of `reports` that writes its answer and draws its picture, and texts below
``panel.SUBJECT`` and ``SUBJECT.hint``.
"""

from collections.abc import Callable
from functools import lru_cache
from types import ModuleType

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import OUTDOORS, AmountSlider, choice, text
from airover.app.panel import PagedPanel, Picture, read_job, read_motors
from airover.core.texts import Writer
from airover.records.job import Job
from airover.reports.drawing import MovingPicture
from airover.selection.answer import CAUTIONS, answer

OFFERED = 12  # motors, best first


def table_page(frame, hint: str, kind: str = "figures") -> str:
    """Return a page with a table (pandas) and a ``hint`` below it."""
    return style.table(frame, kind) + style.quiet(hint)


def cautions_list(title: str, write: Writer, *own: str) -> widgets.HTML:
    """The usual cautions before work on a unit, and the panel's ``own``, below a ``title``."""
    return widgets.HTML(style.listed(title, [*map(write.value, CAUTIONS), *own]))


class SubjectPanel(PagedPanel):
    """A verdict on top, a picture at the right, pages below.

    A kind of panel names its ``subject``, the module of ``reports`` with its `verdict` and
    `details`, the ``bars`` of its answer's states (names of verdicts), and its ``PAGES``: for each
    key below ``panel.SUBJECT.page`` a function of the panel that returns HTML.
    """

    subject: str
    reports: ModuleType
    bars: dict[str, str]
    PAGES: dict[str, Callable[["SubjectPanel"], str]]
    wide = 640  # px, of the picture

    def __init__(self, language: str, units: str):
        super().__init__(language)
        self._pictured = {}
        write = Writer(language, units)
        self.units = fields.units_shown(units, write)
        self._make_controls(write)
        self.places("verdict", "picture_shown")
        self._pages = {write(f"panel.{self.subject}.page.{key}"): key for key in self.PAGES}
        self.make_pages(self._pages)

    def page(self, title: str) -> str:
        return self.PAGES[self._pages[title]](self)

    def draw(self) -> None:
        found, write = self.answer, self.writer
        below = self.reports.details(found, write)
        if self.job.invented:
            below.append(write(f"{self.subject}.hint.invented"))
        bar, said = self.bars[found.state], self.reports.verdict(found, write)
        self.verdict.value = style.verdict(bar, said, " ".join(below))
        self.picture = Picture(self._drawn().png(found), self._picture_words())
        self.picture_shown.value = self.picture.html(self.wide)
        self.draw_page()

    def follow_units(self, amounts, work: Callable[[], None] | None = None) -> None:
        """Show each control of ``amounts`` in the units that are chosen, then ``work``."""

        def changed() -> None:
            with self.filling():
                for control in amounts:
                    control.show(control.amount, self.units.value)
            (work or self.update)()

        self.follow([self.units], changed)

    def arrange_pages(self, left, *cautions: str) -> None:
        """Put the controls at the ``left``, the picture at the right, pages and cautions below."""
        title = self.writer(f"{self.subject}.hint.before")
        below = [self.tables, cautions_list(title, self.writer, *cautions)]
        self.arrange([self.verdict], left, [self.picture_shown], below)

    def _drawn(self) -> MovingPicture:
        """The picture in the units shown; its axes are drawn once for each."""
        system = self.units.value
        if system not in self._pictured:
            self._pictured[system] = self._new_picture(self.writer)
        return self._pictured[system]

    def _make_controls(self, write: Writer) -> None:
        """Make the controls, in the words of ``write``."""
        raise NotImplementedError

    def _new_picture(self, writer: Writer) -> MovingPicture:
        raise NotImplementedError

    def _picture_words(self) -> str:
        """The picture in words."""
        raise NotImplementedError


class JobMotorPanel(SubjectPanel):
    """One of the motors that suit a job best, in its place on the job.

    ``job_path`` and ``catalog`` are files, by default the sample job and the catalog that come
    with the kit; ``units`` is "US" or "SI", ``language`` "en" or "es". Controls: ``motor`` (a
    number among the job's best), ``temperature`` (outdoors, in the units shown), ``units``,
    ``path``. Raises InputError when the files cannot be read or no motor can be offered.
    """

    def __init__(self, job_path=None, catalog=None, units="US", language="en"):
        super().__init__(language, units)
        self._motors = read_motors(catalog)
        self._placed = lru_cache(maxsize=4)(self._place)
        self.fill(read_job(job_path))
        self.begin()
        self._observe()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Take ``job``: the motors that suit it best, its weather and supply."""
        cases = [one.case for one in answer(job, self._motors).candidates[:OFFERED]]
        with self.filling():
            self.job, self._cases = job, cases
            self.motor.options = [(self._named(one.motor), at) for at, one in enumerate(cases)]
            self.motor.value = 0
            self._set_usual()

    @property
    def chosen(self):
        """The motor of the catalog that ``motor`` points at."""
        return self._cases[self.motor.value].motor

    @property
    def place(self):
        """The chosen motor on the job; simulated once."""
        return self._placed(self.job, self.chosen)

    def _place(self, job: Job, motor):
        """The ``motor`` on the ``job``."""
        raise NotImplementedError

    def _named(self, motor) -> str:
        """A motor of the choice, with what matters here."""
        raise NotImplementedError

    def _set_usual(self) -> None:
        """Put the controls where the job has them."""
        self.temperature.show(self.place.usual.temp_outdoor, self.units.value)

    def _observe(self) -> None:
        """Follow the controls."""
        raise NotImplementedError

    def _arrange(self) -> None:
        """Arrange the view."""
        raise NotImplementedError

    def _make_controls(self, write: Writer) -> None:
        self.motor = choice(write("panel.motor"), [])
        self.motor.style.description_width = "60px"
        self.temperature = AmountSlider(write("panel.outdoors"), "air_temperature", OUTDOORS)
        self.path = text(write("panel.job_file"), "my-job.toml", write)
