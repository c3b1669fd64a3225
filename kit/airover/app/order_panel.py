"""Panels for the work on the roof: the roof sheet and the installation steps.

Both show the work order for one motor (`WorkOrders`), so they agree with each other and with the
files that they offer. They appear only on the web page, not in worksheets. Completion dates are
stored with the job.
"""

import datetime
from collections.abc import Callable

import ipywidgets as widgets

from airover.app import ahead, style, uploads
from airover.app.fields import MotorChoice
from airover.app.panel import Panel
from airover.app.replacement import CAUTIONED, named, sentence
from airover.core.texts import Writer
from airover.records.job import Job, Ticks
from airover.reports.order import order_html
from airover.reports.roof_sheet import roof_content, roof_html, roof_pdf
from airover.selection.answer import Answer
from airover.service.order import Step, WorkOrder
from airover.service.roof_sheet import RoofSheet

CAUTIONS = (*CAUTIONED, "dual")
FILES = {
    "phone": ("roof-sheet.html", "text/html"),
    "paper": ("roof-sheet.pdf", "application/pdf"),
    "order": ("work-order.html", "text/html"),
}


class WorkOrders:
    """Roof sheet for the motor to install, kept until the answer or the motor changes.

    Completion dates do not change the sheet, so `order` adds them to the work order on request.
    """

    def __init__(self):
        self._of, self._sheet = None, None

    def sheet(self, answer: Answer, job: Job, name: str | None) -> RoofSheet | None:
        """Return the sheet for the motor called ``name``, as `ahead.sheet` does."""
        if self._of is None or self._of[0] is not answer or self._of[1:] != _key(job, name):
            self.keep(answer, job, name, ahead.sheet(answer, job, name))
        return self._sheet

    def keep(self, answer: Answer, job: Job, name: str | None, sheet: RoofSheet | None) -> None:
        """Keep the ``sheet`` that `ahead.sheet` returned."""
        self._of, self._sheet = (answer, *_key(job, name)), sheet

    def order(self, answer: Answer, job: Job, name: str | None) -> WorkOrder | None:
        """Return the work order with the completion dates in ``job``, or None if no motor fits."""
        sheet = self.sheet(answer, job, name)
        return None if sheet is None else sheet.order.with_ticks(job.ticks)


def _key(job: Job, name: str | None) -> tuple:
    return job.customer, job.dates, name


class RoofPanel(Panel):
    """Panel with the roof sheet on screen and buttons that create its files.

    The control ``motor`` selects the motor to install, also for the installation and readings
    steps. The ``buttons`` create the files in FILES.
    """

    step = "roof"
    cautions = CAUTIONS

    def __init__(self, host, language: str = "en"):
        super().__init__(language, host)
        self.motor = MotorChoice(self.writer("flow.roof.motor"))
        self.places("verdict", "lines", "below", "links")
        self.buttons = {name: self._button(name) for name in FILES}
        self.follow([self.motor], self._chosen)
        row = widgets.HBox(list(self.buttons.values()))
        row.add_class("ao-row")
        files = [widgets.HTML(style.heading(self.writer("flow.roof.files"))), row, self.links]
        self.arrange([self.verdict], [self.motor], [self.lines, *files], [self.below])

    @classmethod
    def ahead(cls, host) -> tuple:
        return ahead.sheet, host.form.job(), host.motor_to_install

    def compute(self) -> RoofSheet | None:
        return self.host.sheet()

    def draw(self) -> None:
        write, sheet, found = self.writer, self.answer, self.host.answer
        self.links.value = ""
        for one in (self.motor, *self.buttons.values()):
            one.layout.display = None if sheet is not None else "none"
        if sheet is None:
            self.verdict.value = style.verdict("does not fit", write("flow.roof.none"))
            self.lines.value = self.below.value = ""
            return
        with self.filling():
            offered = [(named(one, write), one.case.motor.name) for one in found.fitting]
            self.motor.offer(offered)
        content = roof_content(sheet, write)
        self.verdict.value = verdict_html(sheet, content)
        self.lines.value = lines_html(content)
        self.below.value = below_html(content, label_day(self.host.form.ticks, write), write)

    def make(self, name: str) -> None:
        """Create the file called ``name`` in FILES and show a link to save it."""
        file, kind = FILES[name]
        self.links.value = style.status(self.writer("flow.roof.making", name=file))
        content = self._content(name)
        said = self.writer(f"flow.roof.save.{name}")
        named = f"{uploads.file_name(self.host.form.name.value)}-{file}"
        self.links.value = style.row(style.link(named, content, kind, said))

    def choices(self) -> dict[str, MotorChoice]:
        return {"motor": self.motor}

    def _content(self, name: str) -> bytes:
        if name == "paper":
            return roof_pdf(self.answer, self.writer)
        if name == "phone":
            return roof_html(self.answer, self.writer).encode()
        return order_html(self.host.order(), self.writer.for_print).encode()

    def _chosen(self) -> None:
        self.host.outdate(self)
        self.update()

    def _button(self, name: str) -> widgets.Button:
        button = widgets.Button(description=self.writer(f"flow.roof.make.{name}"))
        button.on_click(lambda _: self.make(name))
        return button


class InstallPanel(Panel):
    """Panel with the steps of the work order, each with a check box (``ticks``, by step)."""

    step = "install"
    cautions = CAUTIONS

    def __init__(self, host, language: str = "en", today: Callable = datetime.date.today):
        super().__init__(language, host)
        self._today = today
        self.places("verdict")
        self.ticks = {name: widgets.Checkbox(indent=False) for name in Ticks.names()}
        self.details = {name: widgets.HTML() for name in self.ticks}
        rows = []
        for name, tick in self.ticks.items():
            tick.observe(lambda change, name=name: self._ticked(name, change["new"]), "value")
            tick.add_class(f"ao-at-ticks-{name}")
            row = widgets.VBox([tick, self.details[name]])
            row.add_class("ao-step")
            rows.append(row)
        self.rows = widgets.VBox(rows)
        self.rows.add_class("ao-answer")
        self.arrange([self.verdict], [], [self.rows], [])

    @classmethod
    def ahead(cls, host) -> tuple:
        return ahead.steps, host.form.job(), host.motor_to_install

    def compute(self) -> WorkOrder | None:
        return self.host.order()

    def draw(self) -> None:
        order, write = self.answer, self.writer
        self.rows.layout.display = None if order is not None else "none"
        if order is None:
            self.verdict.value = style.verdict("does not fit", write("flow.roof.none"))
            return
        with self.filling():
            for number, one in enumerate(order.steps, 1):
                tick = self.ticks[one.key]
                tick.description, tick.value = f"{number}. {write(one.title)}", one.done is not None
                self.details[one.key].value = details_html(one, write)
        self._draw_progress()

    def _ticked(self, name: str, done: bool) -> None:
        """Record today as the completion date of a step, or remove its date."""
        if self._filling or self.answer is None:
            return
        self.host.form.tick(name, self._today() if done else None)
        self.answer = self.answer.with_ticks(self.host.form.ticks)
        step = next(one for one in self.answer.steps if one.key == name)
        self.details[name].value = details_html(step, self.writer)
        self._draw_progress()
        self.host.outdate(self)
        self.settled()

    def _draw_progress(self) -> None:
        order, write = self.answer, self.writer
        count, motor = len(order.steps), order.motor.name
        if order.done == count:
            said, bar = write("flow.install.done", motor=motor, count=count), "fits"
        else:
            said = write("flow.install.progress", motor=motor, done=order.done, count=count)
            bar = "fits with work"
        left = [one for one in order.steps if one.done is None]
        below = [write("flow.install.next", step=left[0].title)] if left else []
        self.verdict.value = style.verdict(bar, said, *below)


# HTML elements


def verdict_html(sheet: RoofSheet, content: dict) -> str:
    """Return the motor with its job and customer."""
    below = (content[name] for name in ("job", "customer", "invented"))
    return style.verdict(sheet.order.candidate.verdict, content["motor"], *below)


def lines_html(content: dict) -> str:
    """Return the facts to check first, followed by the lines of the sheet."""
    asked = content["questions"]
    lines = style.facts((one["name"], sentence(one["text"])) for one in content["lines"])
    return (
        style.listed(asked["title"], asked["items"]) + f'<div class="ao-sheet-lines">{lines}</div>'
    )


def below_html(content: dict, replaced: str, write: Writer) -> str:
    """Return the parts, the expected amps and the label on the sheet."""
    amps, parts, label = (content[name] for name in ("amps", "parts", "label"))
    day = f"{label['replaced']} {replaced or '____________'}"
    return "".join((
        style.listed(parts["title"], parts["items"]),
        style.heading(amps["title"]),
        style.rows((write("roof.line.volts"), write("order.amps")), amps["rows"]),
        style.quiet(amps["note"]),
        style.heading(label["title"]),
        style.card(style.text(label["text"], "b"), style.text(day)),
    ))  # fmt: skip


def label_day(ticks: Ticks, write: Writer) -> str:
    """Return the day on which the motor was started, or an empty string."""
    return "" if ticks.first_start is None else write.value(ticks.first_start)


def details_html(step: Step, write: Writer) -> str:
    """Return the completion date of a step and its collapsed instructions."""
    done = "" if step.done is None else write("flow.install.done_on", day=step.done)
    read = [
        write("flow.install.read", what=one.what, unit=one.unit).strip()
        if one.expected is None
        else write("flow.install.expected", what=one.what, expected=one.expected)
        for one in step.write
    ]
    how = style.quiet(write(step.why)) + style.listed("", map(write, step.do))
    how += style.listed(write("flow.install.write"), read)
    return style.quiet(done) + style.folded(write("flow.install.how"), how)
