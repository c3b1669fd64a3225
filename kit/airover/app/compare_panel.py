"""Panel that compares two to four motors for the current job."""

from dataclasses import replace
from functools import lru_cache, partial

import ipywidgets as widgets

from airover.app import ahead, fields, style
from airover.app.fields import choice, hint
from airover.app.panel import FollowingPicture, Panel, Picture, read_job, read_motors
from airover.app.replacement import CAUTIONED, named
from airover.business.compare import FEWEST, MOST, Compared, compare
from airover.records.job import Job
from airover.reports import compare as reports
from airover.reports import drawing
from airover.selection.answer import Answer, answer

SHOWN = 2  # number of catalog motors compared initially
NOTHING = ""  # value of a dropdown list when no motor is selected
CHOICES = ("first", "second", "third", "fourth")
WIDTH, NARROW = 640, 430  # pixels, widths of the figure
# Shared by all panels in a process.
_compared = lru_cache(maxsize=8)(partial(compare, costs=False))
_priced = lru_cache(maxsize=8)(Compared.with_costs)


class ComparePanel(Panel):
    """Panel that compares motors side by side, with tables below the figure.

    The attribute ``answer`` is a `Compared`, ``figure`` is its figure, and ``picture`` is the
    figure with a description. The controls are ``motors`` (four dropdown lists of motor names, with
    "" for none), ``old`` (include the failed motor), ``again`` and ``units``.

    Parameters
    ----------
    source
        Panel whose ``answer`` is an `Answer`, such as a ReplacementPanel. Its job and motors are
        compared. If the source changes, this comparison is marked as outdated until ``again`` is
        clicked.
    job_path, catalog
        Files to use if there is no source. The defaults are the sample job and the catalog supplied
        with airover.
    host
        Page that provides the answer, if the panel is on a page.
    units : str
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es".

    Raises
    ------
    InputError
        If the files cannot be read or evaluated.
    """

    step = "compare"
    cautions = CAUTIONED

    def __init__(
        self, source=None, job_path=None, catalog=None, units="US", language="en", host=None
    ):
        super().__init__(language if source is None else source.writer.language, host)
        self.source, self._own, self._offered = source, None, None
        self._wanted: tuple[str, ...] = ()
        self.figure, self._picture = None, None
        if source is None and host is None:
            self._own = answer(read_job(job_path), read_motors(catalog))
        self._make_controls(units)
        self.places("verdict", "picture_shown", "table", "checks")
        others = (self.table, self.checks)
        self._pictured = FollowingPicture(self._draw_costs, self.picture_shown, others=others)
        if source is not None:
            self._work()
        elif host is None:
            self.begin()
        self._observe()
        self._arrange()

    @property
    def found(self) -> Answer:
        """Answer that provides the motors to compare."""
        return self._own or (self.host or self.source).answer

    def lacks(self) -> str:
        return "" if self.found is not None else self.writer("worksheet.no_answer")

    @classmethod
    def ahead(cls, host) -> tuple:
        return (ahead.whole,)

    def compute(self) -> Compared:
        self._offer()
        by_name = {one.case.motor.name: one.case.motor for one in self.found.candidates}
        chosen = (one.value for one in self.motors if one.value != NOTHING)
        motors = tuple(dict.fromkeys(by_name[name] for name in chosen))
        asked = self.found.job, motors, self.old.value
        found = compared(*asked, costs=False)
        self._asked = asked
        return found

    def draw(self) -> None:
        writer, found = self.writer, self.answer
        names = [reports.name_of(one, writer) for one in found.motors]
        told = writer("compare.panel.verdict", motors=", ".join(names))
        invented = writer("panel.invented") if found.job.invented else ""
        best = found.answer.candidates[0].verdict
        self.verdict.value = style.verdict(best, told, found.job.name, invented)
        self.again.disabled = True
        self._pictured.follow()

    def _draw_costs(self) -> None:
        """Add the life-cycle costs, which need most of the time, and show all values."""
        if self.answer is None:
            return
        self.answer, writer = compared(*self._asked, costs=True), self.writer
        self.table.value = side_by_side(self.answer, writer)
        self.checks.value = checks(self.answer, writer)
        self.figure = reports.picture(self.answer, writer, narrow=self.on_page)
        self._picture = Picture(drawing.png(self.figure), reports.words(self.answer, writer))
        self.picture_shown.value = self._picture.html(NARROW if self.on_page else WIDTH)

    @property
    def picture(self) -> Picture | None:
        """Return the plots of the comparison, or None if there is no answer yet."""
        self._pictured.hurry()
        return self._picture

    def typed(self) -> dict[str, dict[str, str]]:
        chosen = dict(zip(CHOICES, self._wanted, strict=False))
        old = {} if self.old.value else {"old": "no"}
        return {self.step: {name: one for name, one in chosen.items() if one} | old}

    def restore(self, state: dict[str, dict[str, str]]) -> None:
        chosen = state.get(self.step, {})
        wanted = tuple(chosen.get(name, NOTHING) for name in CHOICES)
        self._wanted, self._offered = wanted if any(wanted) else (), None
        with self.filling():
            self.old.value = chosen.get("old") != "no"
        self.stale = True

    def _offer(self) -> None:
        """List the motors in the answer, best first, and select those requested or the best."""
        if self._offered is self.found:
            return
        self._offered, writer = self.found, self.writer
        ranked = [(f"{at}. {named(one, writer)}", one.case.motor.name)
                  for at, one in enumerate(self.found.candidates, 1)]  # fmt: skip
        names = [name for _, name in ranked]
        wanted = [name for name in self._wanted if name in names] or names[:SHOWN]
        wanted += [NOTHING] * (len(CHOICES) - len(wanted))
        with self.filling():
            for control, name in zip(self.motors, wanted, strict=True):
                control.options = [(writer("compare.panel.nothing"), NOTHING), *ranked]
                control.value = name

    def _choose(self) -> None:
        self._wanted = tuple(one.value for one in self.motors)
        self.update()

    def _outdate(self) -> None:
        """Mark the comparison as outdated after the source job has changed."""
        if self.source.answer is not self._offered:
            self.again.disabled = False
            self._tell(style.quiet(self.writer("compare.panel.earlier")), earlier=True)

    def _make_controls(self, units: str) -> None:
        write = self.writer
        if self.source is not None and self.source.units is not None:
            self.units = self.source.units
        elif self.host is None:
            self.units = fields.units_shown(units, write)
        self.motors = tuple(choice(write(f"compare.panel.{name}"), []) for name in CHOICES)
        for control in self.motors:  # long names
            control.style.description_width = "60px"
        self.old = widgets.Checkbox(
            value=True, description=write("compare.panel.old"), indent=False
        )
        self.again = widgets.Button(description=write("compare.panel.again"), disabled=True)

    def _observe(self) -> None:
        self.follow(self.motors, self._choose)
        self.watch([self.old])
        self.again.on_click(lambda _: self.update())
        if self._own is not None:
            self.watch([self.units])
        if self.source is not None:
            for place in vars(self.source).values():
                if isinstance(place, widgets.HTML):
                    place.observe(lambda _: self._outdate(), "value")

    def _arrange(self) -> None:
        left = [hint(self.writer("compare.panel.choose")), *self.motors, self.old]
        if self._own is not None:
            left.append(self.units)
        more = [self.again] if self.source is not None else []
        below = [self.table, self.checks]
        self.arrange([self.verdict], left, [self._pictured.view], below, more)


def compared(job: Job, motors, old: bool, costs: bool) -> Compared:
    """Return the comparison, taken from that with the failed motor if it allows one more."""
    without_old = not old and FEWEST <= len(motors) < MOST
    found = _compared(job, motors, old or without_old)
    found = _priced(found) if costs else found
    return replace(found, motors=found.offered, old_missing=False) if without_old else found


def side_by_side(found: Compared, writer) -> str:
    """Return the table of all values with notes about ranges and changed limits."""
    table = reports.side_by_side(found, writer).rename_axis(columns=None).reset_index(names="")
    notes = "".join(map(style.quiet, reports.notes(found, writer)))
    return style.heading(writer("compare.panel.table")) + style.table(table, "narrow") + notes


def checks(found: Compared, writer) -> str:
    """Return the checks whose results differ, or a sentence if there are none."""
    table = reports.differing(found, writer)
    if table.empty:
        return style.quiet(writer("compare.same_checks"))
    return style.heading(writer("compare.checks")) + style.table(table, "narrow")
