"""Define base classes for panels with a verdict, a plot that sliders update, and pages.

Each subject has a `reports` module that writes its answer and creates its plot. Its text is stored
under the keys ``panel.SUBJECT`` and ``SUBJECT.hint``.
"""

from collections.abc import Callable
from functools import lru_cache
from types import ModuleType

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.current_job import enough
from airover.app.export import CarryAway
from airover.app.fields import OUTDOORS, AmountSlider, choice
from airover.app.panel import FollowingPicture, PagedPanel, Picture, read_motors
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.job import Job
from airover.reports.drawing import MovingPicture
from airover.selection.answer import CAUTIONS, answer

OFFERED = 12  # maximum number of motors in the list, best first


def table_page(frame, hint: str, kind: str = "figures") -> str:
    """Return a page with a table (pandas) and a ``hint`` below it."""
    return style.table(frame, kind) + style.quiet(hint)


def cautions_list(title: str, write: Writer, *own: str) -> widgets.HTML:
    """Return the standard cautions and the panel's own cautions under a ``title``."""
    return widgets.HTML(style.listed(title, [*map(write.value, CAUTIONS), *own]))


class SubjectPanel(CarryAway, PagedPanel):
    """Base class for a panel with a verdict at the top, a plot on the right and pages below.

    Subclasses define ``subject`` and the following attributes.

    Attributes
    ----------
    reports : ModuleType
        Module with the functions ``verdict`` and ``details``.
    bars : dict[str, str]
        Color bar (a verdict) for each state of the answer.
    PAGES : dict
        Functions of the panel that return HTML, keyed by the names under ``panel.SUBJECT.page``.
    """

    subject: str
    reports: ModuleType
    bars: dict[str, str]
    PAGES: dict[str, Callable[["SubjectPanel"], str]]
    wide = 640  # px, width of the plot

    def __init__(self, language: str, units: str):
        super().__init__(language)
        self._pictured = {}
        write = Writer(language, units)
        self.units = fields.units_shown(units, write)
        self._make_controls(write)
        self.places("verdict", "picture_shown")
        self._following = FollowingPicture(self._draw_picture, self.picture_shown)
        self._pages = {write(f"panel.{self.subject}.page.{key}"): key for key in self.PAGES}
        self.make_pages(self._pages)

    @property
    def said(self) -> str:
        """Return the verdict and its details, one per line."""
        found, write = self.answer, self.writer
        return "\n".join([self.reports.verdict(found, write), *self.reports.details(found, write)])

    def page(self, title: str) -> str:
        return self.PAGES[self._pages[title]](self)

    def draw(self) -> None:
        found, write = self.answer, self.writer
        below = self.reports.details(found, write)
        if self.job.invented:
            below.append(write(f"{self.subject}.hint.invented"))
        bar, said = self.bars[found.state], self.reports.verdict(found, write)
        self.verdict.value = style.verdict(bar, said, " ".join(below))
        if self.units.value in self._pictured:
            self._draw_picture()
        else:  # drawing the axes in other units takes 0.1 s
            self._following.follow()
        self.draw_page()

    @property
    def picture(self) -> Picture:
        """Return the plot of the answer."""
        self._following.hurry()
        return self._picture

    def follow_units(self, amounts, work: Callable[[], None] | None = None) -> None:
        """Convert each control in ``amounts`` when the units change, and then call ``work``."""

        def changed() -> None:
            with self.filling():
                for control in amounts:
                    control.show(control.amount, self.units.value)
            (work or self.update)()

        self.follow([self.units], changed)

    def arrange_pages(self, left, *cautions: str) -> None:
        """Arrange the controls on the ``left``, the plot on the right, and the pages below."""
        title = self.writer(f"{self.subject}.hint.before")
        below = [self.tables, cautions_list(title, self.writer, *cautions)]
        self.arrange([self.verdict], left, [self._following.view], below)

    def _draw_picture(self) -> None:
        if self.answer is None:  # another job was opened in the meantime
            return
        self._picture = Picture(self._drawn().png(self.answer), self._picture_words())
        self.picture_shown.value = self._picture.html(self.wide)

    def _drawn(self) -> MovingPicture:
        """Return the plot in the display units."""
        system = self.units.value
        if system not in self._pictured:
            self._pictured[system] = self._new_picture(self.writer)
        return self._pictured[system]

    def _make_controls(self, write: Writer) -> None:
        """Create the controls with labels from ``write``."""
        raise NotImplementedError

    def _new_picture(self, writer: Writer) -> MovingPicture:
        raise NotImplementedError

    def _picture_words(self) -> str:
        """Return a text description of the plot."""
        raise NotImplementedError


class JobMotorPanel(SubjectPanel):
    """Base class for a panel that evaluates one of the motors that best match a job.

    The controls are ``bar`` (the current job), ``motor`` (its index among the best matches),
    ``temperature`` (outdoor, in the display units) and ``units``.

    Parameters
    ----------
    job_path, catalog : str or os.PathLike, optional
        Files to use. The defaults are the current job of all worksheets and the catalog supplied
        with airover.
    units : str, optional
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es".

    Raises
    ------
    InputError
        If the files cannot be read or no motor is available.
    """

    def __init__(self, job_path=None, catalog=None, units="US", language="en"):
        super().__init__(language, units)
        self._motors = read_motors(catalog)
        self._placed = lru_cache(maxsize=4)(self._place)
        self.use_job(job_path)
        self._observe()
        self.resume()
        self._arrange()

    def fill(self, job: Job) -> None:
        """Load ``job`` with its best-matching motors, outdoor temperature and supply voltage."""
        self.job, self._cases, self._trouble = job, [], None
        if self.lacks():
            return
        try:
            self._cases = [one.case for one in answer(job, self._motors).candidates[:OFFERED]]
        except InputError as error:
            self._trouble = error
            return
        with self.filling():
            shown = [(self._named(one.motor), at) for at, one in enumerate(self._cases)]
            self.motor.options, self.motor.value = shown, 0
            self._set_usual()

    def lacks(self) -> str:
        return "" if enough(self.job) else self.writer("worksheet.enter_nameplate_in_01")

    def _offered(self) -> None:
        """Raise the error that prevents this job from being evaluated, if any."""
        if self._trouble is not None:
            raise self._trouble

    @property
    def chosen(self):
        """Return the selected catalog motor."""
        return self._cases[self.motor.value].motor

    @property
    def place(self):
        """Return the selected motor installed on the job."""
        return self._placed(self.job, self.chosen)

    def _place(self, job: Job, motor):
        """Return the ``motor`` installed on the ``job``."""
        raise NotImplementedError

    def _named(self, motor) -> str:
        """Return the text for a motor in the list, including data about this subject."""
        raise NotImplementedError

    def _set_usual(self) -> None:
        """Set the controls to the job's values."""
        self.temperature.show(self.place.usual.temp_outdoor, self.units.value)

    def _observe(self) -> None:
        """Connect the handlers to the controls."""
        raise NotImplementedError

    def _arrange(self) -> None:
        """Arrange the widgets of the panel."""
        raise NotImplementedError

    def _make_controls(self, write: Writer) -> None:
        self.motor = choice(write("panel.motor"), [])
        self.motor.style.description_width = "60px"
        self.temperature = AmountSlider(write("panel.outdoors"), "air_temperature", OUTDOORS)
