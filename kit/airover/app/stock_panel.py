"""Panel for worksheet 08, which selects the motors to carry on a truck.

The panel uses service calls and a catalog to calculate three results: the truck stock for a given
budget and volume, the percentage of calls completed at each budget, and the counter stock.
"""

import os
from functools import lru_cache
from pathlib import Path

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import AmountSlider, slider, text
from airover.app.import_panel import ImportPanel
from airover.app.panel import Picture, read_motors
from airover.app.progress import InSlices
from airover.app.running import AfterRest, running_loop
from airover.app.subject_panel import SubjectPanel, cautions_list, table_page
from airover.business.decision import Decision, decide, read_carried
from airover.business.stock import Ground, Live, StockStudy, usual_money
from airover.business.truck import Terms
from airover.core.errors import NOTHING, InputError
from airover.core.files import data_folder
from airover.core.message import Message, Quantity
from airover.core.steps import Progress, finished
from airover.core.texts import Writer
from airover.records.importing import open_calls
from airover.reports import drawing, printed
from airover.reports import stock as reports
from airover.reports.decision import data_said, decision_said, decision_table, summary_blocks
from airover.reports.stock import load_page, write_stock

# unit, minimum, maximum and step of the truck volume
SPACES = {"US": ("ft3", 1, 36, 1), "SI": ("L", 30, 1000, 10)}
STEPS = 20  # number of steps of the budget slider
MOST_TRUCKS, MOST_DAYS = 12, 28
MOST_VISIT = 800  # currency, maximum cost of a second visit
USUAL_MONEY = 5000.0  # maximum budget for a catalog without prices


def sample_calls() -> Path:
    """Return the file of fictional service calls that is shown initially."""
    return data_folder() / "calls" / "one-truck.csv"


def stamp(path) -> tuple:
    """Return the name, size and modification time of the file at ``path``, to detect changes."""
    try:
        about = os.stat(path)
    except OSError:  # the reason is reported when the file is read
        return str(path), 0, 0
    return str(path), about.st_size, about.st_mtime_ns


def results() -> str:
    """Return the results folder, next to the worksheets folder."""
    above = Path("..") if Path.cwd().name == "worksheets" else Path()
    return os.fspath(above / "results" / "stock")


def sentence(found: StockStudy, write: Writer) -> str:
    """Return a sentence about the calls that the truck completes in the forecast and the replay."""
    planned, checked = found.plan, found.confirmed
    motors = planned.units[: found.goods.motors]
    return write(
        "panel.stock.verdict",
        money=money(planned.money, found),
        forecast=percent(checked.forecast, write),
        motors=int(motors.sum()),
        kinds=int((motors > 0).sum()),
        replayed=percent(checked.replayed, write),
    )


def facts(found: StockStudy, write: Writer) -> list[str]:
    """Return sentences about the calls used for the plan and those that no truck can complete."""
    calls, needs = len(found.calls), len(found.matched.needs)
    unseen, none = f"{100 * found.confirmed.unseen:.0f}", f"{100 - 100 * found.reach:.0f}"
    told = [
        write("panel.stock.calls_needs", calls=calls, needs=needs),
        write("panel.stock.out_of_reach", share=none),
        write("panel.stock.unseen", share=unseen),
    ]
    if not _agree(found):
        told.append(write("panel.stock.differ"))
    return told + data_said(found, write) + [write(one.told) for one in found.left_out]


def _agree(found: StockStudy) -> bool:
    """Return True if the ranges of the forecast and the replay overlap."""
    forecast, replayed = found.confirmed.forecast, found.confirmed.replayed
    return forecast.low <= replayed.high and replayed.low <= forecast.high


def percent(band, write: Writer) -> str:
    low, mid, high = (f"{100 * one:.0f}" for one in band)
    return write("panel.stock.percent", low=low, mid=mid, high=high)


def money(amount: float, found: StockStudy) -> str:
    return f"{amount:,.0f} {found.currency}"


def load_list(panel: "StockPanel") -> str:
    found, write = panel.answer, panel.writer
    terms, plan = found.terms, found.plan
    hint = write(
        "panel.stock.together",
        money=money(plan.money, found),
        budget=money(terms.budget, found),
        space=Quantity(plan.space, "volume"),
        room=Quantity(terms.space, "volume"),
        gap=f"{100 * plan.gap:.1f}",
    )
    page = load_page(found, write).encode()
    words = write("panel.stock.save_list")
    saved = style.link("load-list.html", page, "text/html;charset=utf-8", words)
    return table_page(reports.on_truck(found, write), hint) + f"<p>{saved}</p>"


def decision(panel: "StockPanel") -> str:
    found, write = panel.answer, panel.writer
    if not found.plans:
        return style.quiet(write("panel.stock.curve_working"))
    try:
        chosen = panel.decision
    except InputError as error:
        return style.problem(write.error(error))
    said = decision_said(chosen, write)
    paper = write.for_print
    page = printed.page(write("decision.title"), summary_blocks(chosen, paper), paper).encode()
    link = style.link("summary.html", page, "text/html;charset=utf-8", write("decision.save"))
    lists = "".join(
        style.listed(write(f"decision.{name}_title"), said[name])
        for name in ("several", "drop", "outage")
        if said[name]
    )
    table = table_page(decision_table(chosen, write), write("decision.range"), "figures ao-loads")
    notes = "".join(map(style.quiet, said["limits"]))
    told = "".join(style.text(" ".join(said[name])) for name in ("headline", "main"))
    return f"{told}{table}{lists}{notes}<p>{link}</p>"


def next_motors(panel: "StockPanel") -> str:
    found, write = panel.answer, panel.writer
    if not found.next:
        return style.quiet(write("panel.stock.no_next"))
    return table_page(reports.next_motors(found, write), write("panel.stock.next"))


def curve(panel: "StockPanel") -> str:
    found, write = panel.answer, panel.writer
    if not found.plans:
        return style.quiet(write("panel.stock.curve_working"))
    return table_page(reports.curve(found, write), write("panel.stock.curve"))


def counter(panel: "StockPanel") -> str:
    found, write = panel.answer, panel.writer
    hint = write(
        "panel.stock.counter",
        trucks=found.terms.trucks,
        days=f"{found.terms.days:g}",
        lead=f"{found.terms.lead_days:g}",
        service=f"{100 * found.terms.service:.0f}",
        money=money(found.counter.money, found),
    )
    return table_page(reports.at_counter(found, write), hint)


def replay(panel: "StockPanel") -> str:
    ends = reports.ends(panel.answer, panel.writer)
    table = table_page(ends, panel.writer("panel.stock.replay"), "narrow")
    return panel.replay.html(panel.wide) + table


PAGES = {
    "load": load_list,
    "decision": decision,
    "next": next_motors,
    "curve": curve,
    "counter": counter,
    "replay": replay,
}


class StockPanel(SubjectPanel):
    """Panel for planning truck stock from service calls.

    The controls are the sliders ``budget`` [currency of the catalog], ``space`` (volume in the
    display units), ``trucks`` and ``days`` (replenishment interval), and ``calls``, ``catalog``,
    ``units``, ``out`` (output folder), ``button`` and ``stopper``.

    Matching the calls to motors takes up to a minute, and planning takes one or two seconds. In a
    worksheet, which has an event loop, both run in short slices and can be stopped, and ``finish``
    waits for both. In a script, both run immediately. The attribute ``picture`` is the latest plot.

    Parameters
    ----------
    calls, catalog
        Files to use, by default fictional files for a shop with one truck.
    units : str, optional
        Unit system, "US" or "SI".
    language : str, optional
        Language, "en" or "es".

    Raises
    ------
    InputError
        If the files cannot be read or, in a script, if no plan is possible.
    """

    subject, PAGES, wide = "stock", PAGES, 700

    def __init__(self, calls=None, catalog=None, units="US", language="en"):
        super().__init__(language, units)
        self._picture = None
        self._lives, self._planned, self._decided = {}, False, (None, None)
        self._read_calls = lru_cache(maxsize=2)(lambda made: open_calls(made[0]))
        self._read_motors = lru_cache(maxsize=2)(lambda made: read_motors(made[0]))
        self._slices = InSlices(self._told_step, self._refuse, self._broken)
        self._rest = AfterRest(self._start)
        for control, path in ((self.calls, calls), (self.catalog, catalog)):
            control.value = "" if path is None else os.fspath(path)
        self._set_money()
        self._calls()
        self.verdict.value = style.quiet(self.text("stock.first"))
        self._observe()
        self._arrange()
        if running_loop() is None:
            self.begin()
        else:
            self.update()

    @property
    def SLOW(self):
        return [title for title, key in self._pages.items() if key in ("replay", "decision")]

    @property
    def terms(self) -> Terms:
        """Return the stock terms set by the sliders."""
        return Terms(
            budget=float(self.budget.value),
            space=self.space.amount,
            trucks=self.trucks.value,
            days=float(self.days.value),
            second_visit=float(self.visit.value),
        )

    def compute(self) -> StockStudy:
        live = finished(self._live())
        return finished(live.curving(finished(live.planning(self.terms)), self.budget.max))

    def update(self) -> None:
        """Recalculate and show the answer, in slices if there is an event loop."""
        self._tell(style.quiet(self.text("working")), earlier=True)
        self._start()

    def finish(self) -> StockStudy:
        """Finish the current calculation and return the answer.

        Raises
        ------
        InterruptedError
            If the calculation is stopped.
        InputError
            For the same reasons as in ``compute``.
        """
        self._rest.hurry()
        self._slices.finish()
        if self._slices.stopped:
            raise InterruptedError(self.text("stock.stopped_cell"))
        if self.answer is None or not self.answer.plans:
            self.begin()
        if self._snapshot is not None:
            self._snapshot.refresh()  # stored with the worksheet because it is updated in this cell
        return self.answer

    def stop(self) -> None:
        """Stop the current calculation, or resume a stopped one."""
        if self._slices.stopped:
            self._slices.go_on()
        elif self._slices.under_way:
            self._slices.stop()
            key = "stock.stopped_curve" if self._planned else "stock.stopped"
            self._tell(style.problem(self.text(key)), earlier=not self._planned)
        self._show_stopper()

    def write(self) -> None:
        """Write the printable load list with all tables and plots, or show an error."""
        try:
            folder = self._folder()
            replaced = (folder / "load-list.html").exists()
            decision = self.decision if self.answer.plans else None
            written = write_stock(self.answer, folder, self.writer, decision)
            self.written.value = style.written(written, replaced, self.writer)
        except InputError as error:
            self.written.value = style.problem(
                self.text("stock.not_written", why=self.writer.error(error))
            )

    @property
    def decision(self) -> Decision:
        """Return the comparison of truck loads, with today's truck if its list is given.

        Raises
        ------
        InputError
            If the list cannot be read.
        """
        path = self.today.value.strip()
        made = id(self.answer), stamp(path)
        if self._decided[0] != made:
            today = read_carried(path, self._motors()) if path else None
            self._decided = made, decide(self.answer, today)
        return self._decided[1]

    def draw(self) -> None:
        found, bar = self.answer, "fits" if _agree(self.answer) else "fits with work"
        below = " \N{MIDDLE DOT} ".join(filter(None, [*self.facts, self._invented()]))
        self.verdict.value = style.verdict(bar, self.sentence, below)
        if found.plans:
            figure = reports.money_curve(found, self.writer)
            self._picture = Picture(drawing.png(figure), self._picture_words())
            self.picture_shown.value = self.picture.html(self.wide)
        self.draw_page()
        self._show_stopper()

    def refused(self, error: InputError | None) -> None:
        """Update the Stop button. The error itself is shown as the status."""
        self._show_stopper()

    def page_key(self, title: str):
        return None if self.answer is None else (id(self.answer), self.units.value)

    def draw_page(self) -> None:
        if self.answer is not None:
            super().draw_page()

    @property
    def replay(self) -> Picture:
        """Plot the results of the calls in the forecast and the replay."""
        found, write = self.answer, self.writer
        forecast, replayed = (
            percent(one, write) for one in (found.confirmed.forecast, found.confirmed.replayed)
        )
        words = write("panel.stock.replay_words", forecast=forecast, replayed=replayed)
        return Picture(drawing.png(reports.replayed(found, write)), words)

    @property
    def sentence(self) -> str:
        """Return the verdict as a sentence."""
        return sentence(self.answer, self.writer)

    @property
    def facts(self) -> list[str]:
        """Return the sentences below the verdict."""
        return facts(self.answer, self.writer)

    @property
    def said(self) -> str:
        """Return the verdict, the sentences below it, and the motors to add next."""
        return "\n- ".join([self.sentence, *self.facts, *self.whys[:3]])

    @property
    def whys(self) -> list[str]:
        """Return sentences about the motors to add next, best first."""
        return [self.writer(one.why) for one in self.answer.next]

    def _start(self) -> None:
        self._planned = False
        self._slices.start(self._planning(), self._show_plan)
        self._show_stopper()

    def _planning(self):
        live = yield from self._live()
        self._working_on = live
        return (yield from live.planning(self.terms))

    def _show_plan(self, found: StockStudy) -> None:
        """Show the verdict, and then calculate the curve."""
        self.answer, self._planned = found, True
        self._slices.start(self._working_on.curving(found, self.budget.max), self._show_curve)
        if self._slices.under_way:
            self.draw()
            self._tell("", earlier=False)

    def _show_curve(self, found: StockStudy) -> None:
        self.answer = found
        self.draw()
        self._tell("", earlier=False)
        self._refresh()

    def _live(self):
        """Match the calls to the catalog in steps, keeping the last two results."""
        made = stamp(self._calls_path()), stamp(self._catalog_path())
        if made not in self._lives:
            yield Progress(Message("stock.step.read_file"), 0, 1)
            ground = yield from Ground.found(self._calls(), self._motors())
            self._lives = dict([*self._lives.items(), (made, Live(ground))][-2:])
        return self._lives[made]

    def _calls_path(self):
        return self.calls.value.strip() or sample_calls()

    def _calls(self):
        return self._read_calls(stamp(self._calls_path()))

    def _catalog_path(self):
        return self.catalog.value.strip() or data_folder() / "catalogue.csv"

    def _motors(self):
        return self._read_motors(stamp(self._catalog_path()))

    def _told_step(self, step: Progress) -> None:
        if self._planned and self.picture is not None:
            self.picture_shown.value = self._working(self.picture.html(self.wide))
        key = "stock.step_of" if step.of > 1 else "stock.step"
        told = self.text(key, step=step.words, done=step.done, of=step.of)
        self._tell(style.quiet(told), earlier=not self._planned)
        self.progress.value = step.done / step.of

    def _broken(self) -> None:
        self._tell(style.problem(self.text("broken")), earlier=True)
        self._show_stopper()

    def _show_stopper(self) -> None:
        busy = self._slices.under_way
        self.stopper.description = self.text(
            "stock.go_on" if self._slices.stopped else "stock.stop"
        )
        self.stopper.disabled = not busy
        self.progress.layout.visibility = "visible" if busy else "hidden"
        self.button.disabled = busy or self.answer is None

    def _invented(self) -> str:
        calls, motors = self.calls.value.strip(), self.catalog.value.strip()
        if calls and motors:
            return ""
        both = "both" if not calls and not motors else "motors" if calls else "calls"
        return self.text(f"stock.invented.{both}")

    def _folder(self) -> Path:
        given = self.out.value.strip()
        if not given:
            accepted = Message("error.file.writable_folder")
            raise InputError(Message("panel.results"), NOTHING, accepted)
        return Path(given)

    def _picture_words(self) -> str:
        each = ". ".join(reports.curve_lines(self.answer, self.writer))
        return self.text("stock.curve_words", each=each, verdict=self.sentence)

    def _set_money(self) -> None:
        """Set the range of the budget slider from the prices in the catalog."""
        motors = self._motors()
        most = usual_money(motors) or USUAL_MONEY
        currency = next((one.currency for one in motors if one.price is not None), "")
        self.budget.step = most / STEPS
        fields.reach(self.budget, most / STEPS, most, most / 2)
        self.budget.description = self.text("stock.money_in", currency=currency)

    def _use_calls(self, imports: ImportPanel) -> None:
        self.calls.value = os.fspath(imports.kept_file())

    def _use_catalog(self, imports: ImportPanel) -> None:
        self.catalog.value = os.fspath(imports.kept_file())

    def _moved(self) -> None:
        self._slices.forget()
        self._tell(style.quiet(self.text("stock.resting")), earlier=True)
        self._rest.ask()

    def _catalog_given(self) -> None:
        try:
            with self.filling():
                self._set_money()
        except InputError as error:
            self._refuse(error)
            return
        self._moved()

    def _observe(self) -> None:
        sliders = [self.budget, self.space, self.trucks, self.days, self.visit]
        self.follow([*sliders, self.calls, self.today], self._moved)
        self.follow([self.catalog], self._catalog_given)
        self.follow_units([self.space], self._moved)
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        self.button.on_click(lambda _: self.write())
        self.stopper.on_click(lambda _: self.stop())
        self.keep_steps([self.units, *sliders], first=[self.units])

    def _make_controls(self, write: Writer) -> None:
        self.budget = slider(write("panel.stock.money"), 250, 5000, 2500, 250)
        self.space = AmountSlider(write("panel.stock.room"), "volume", SPACES)
        self.space.show(Terms.space, write.system)
        self.trucks = slider(write("panel.stock.trucks"), 1, MOST_TRUCKS, 1)
        self.days = slider(write("panel.stock.days"), 1, MOST_DAYS, 7)
        self.visit = slider(write("panel.stock.visit"), 0, MOST_VISIT, Terms.second_visit, 20)
        self.today = text(write("panel.stock.today"), "my-truck.csv", write)
        self.calls = text(write("panel.stock.calls"), "my-calls.csv", write)
        self.catalog = text(write("panel.catalog"), "my-motors.csv", write)
        self.out = text(write("panel.results"), "results/stock", write)
        self.out.value = results()
        self.button = widgets.Button(
            description=write("panel.stock.write"), button_style="primary",
            tooltip=write("panel.stock.write_tip"),
            layout={"width": "auto", "margin": "6px 2px 2px"},
        )  # fmt: skip
        self.stopper = widgets.Button(
            description=write("panel.stock.stop"), tooltip=write("panel.stock.stop_tip")
        )
        self.progress = widgets.FloatProgress(min=0, max=1, layout={"width": "auto"})
        self.written = widgets.HTML()
        uses = {"calls": self._use_calls, "catalog": self._use_catalog}
        self.imports = ImportPanel("calls", language=write.language, uses=uses)

    def _arrange(self) -> None:
        files = [
            fields.hint(self.text("stock.hint")),
            self.calls,
            self.today,
            self.catalog,
            self.units,
            self.out,
        ]
        own = self.writer("capture.import_tab")
        tab = fields.tab({self.text("stock.files"): files, own: [self.imports.view]})
        sliders = [self.budget, self.space, self.trucks, self.days, self.visit]
        left = [*sliders, self.progress, self.button, self.written, tab]
        own = [self.text("stock.secure"), self.text("stock.usual_prices")]
        cautions = cautions_list(
            self.text("stock.cautions"), self.writer, *own, *reports.limits(self.writer)
        )
        below = [self.tables, cautions]
        self.arrange([self.verdict], left, [self.picture_shown], below, more=[self.stopper])
