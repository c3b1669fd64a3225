"""The panel of worksheet 08: what to carry on the truck."""

import os
from functools import lru_cache
from pathlib import Path

import ipywidgets as widgets

from airover.errors import InputError
from airover.in_steps import Step, finished
from airover.locations import data_folder
from airover.message import Message
from airover.panels import fields, stock_shown, style
from airover.panels.after_rest import AfterRest, running_loop
from airover.panels.fields import AmountSlider, slider, text
from airover.panels.in_slices import InSlices
from airover.panels.paged import PagedPanel
from airover.panels.parts import Picture, read_motors
from airover.panels.stock_fields import (
    MOST_DAYS,
    MOST_TRUCKS,
    SPACES,
    STEPS,
    USUAL_MONEY,
    results,
    sample_calls,
    stamp,
)
from airover.records.calls import read_calls
from airover.reports.stock import write_stock
from airover.stock.study import Ground, Live, StockStudy, usual_money
from airover.stock.truck_loads import Terms
from airover.texts import Writer
from airover.units import quoted

CURVE, REPLAY = "Curve", "Replay against forecast"
PAGES = {
    "Load list": stock_shown.load_list,
    "Next to add": stock_shown.next_motors,
    CURVE: stock_shown.curve,
    "Counter": stock_shown.counter,
    REPLAY: stock_shown.replay_page,
}


class StockPanel(PagedPanel):
    """Service calls to a truck's load: sliders at the left, the curve of money at the right.

    ``calls`` and ``catalogue`` are files, by default the invented ones of a shop with one truck;
    ``units`` is "US" or "SI", ``language`` "en" or "es". Controls: the sliders ``budget`` [the catalogue's currency],
    ``space`` (in the units shown), ``trucks`` and ``days`` between fillings; ``calls``,
    ``catalogue``, ``units``, ``out`` (the folder that is written to), ``button`` and ``stopper``.

    Matching takes seconds to a minute, a plan a second or two. On an event loop, as in a
    worksheet, both are done in slices and can be stopped; ``finish`` waits for them. In a script
    they are done at once. ``picture`` is the last one drawn. Raises InputError when the files
    cannot be read; in a script also when nothing can be planned by them.
    """

    def __init__(self, calls=None, catalogue=None, units="US", language="en"):
        super().__init__(language)
        self.picture = None
        self._lives, self._planned = {}, False
        self._read_calls = lru_cache(maxsize=2)(lambda made: read_calls(made[0]))
        self._read_motors = lru_cache(maxsize=2)(lambda made: read_motors(made[0]))
        self._slices = InSlices(self._told_step, self._refuse, self._broken)
        self._rest = AfterRest(self._start)
        self._make_controls(calls, catalogue, units)
        self._set_money()
        self._calls()
        self._observe()
        self._arrange()
        if running_loop() is None:
            self.begin()
        else:
            self.update()

    @property
    def SLOW(self):
        return [title for title, key in self._pages.items() if key == REPLAY]

    @property
    def terms(self) -> Terms:
        """What the sliders say."""
        return Terms(
            budget=float(self.budget.value),
            space=self.space.amount,
            trucks=self.trucks.value,
            days=float(self.days.value),
        )

    def compute(self) -> StockStudy:
        live = finished(self._live())
        return finished(live.curving(finished(live.planning(self.terms)), self.budget.max))

    def update(self) -> None:
        """Work out what the controls say and show it; on an event loop in slices."""
        self._tell(style.quiet(self.text("working")), earlier=True)
        self._start()

    def finish(self) -> StockStudy:
        """The answer of what the controls say: what is under way is worked to its end now.

        Raises InterruptedError where somebody stops it meanwhile, InputError as ``compute`` does.
        """
        self._rest.hurry()
        self._slices.finish()
        if self._slices.stopped:
            raise InterruptedError("Stopped: press Go on, or run this cell again.")
        if self.answer is None or not self.answer.plans:
            self.begin()
        return self.answer

    def stop(self) -> None:
        """Stop what is under way, or let it go on where it was stopped."""
        if self._slices.stopped:
            self._slices.go_on()
        elif self._slices.under_way:
            self._slices.stop()
            key = "stock.stopped_curve" if self._planned else "stock.stopped"
            self._tell(style.problem(self.text(key)), earlier=not self._planned)
        self._show_stopper()

    def write(self) -> None:
        """Write the list to print with all tables and pictures; what is wrong is told."""
        try:
            folder = self._folder()
            replaced = (folder / "load-list.html").exists()
            self.written.value = style.written(
                write_stock(self.answer, folder, self.writer), replaced, self.writer
            )
        except InputError as error:
            self.written.value = style.problem(
                self.text("stock.not_written", why=self.writer.error(error))
            )

    def draw(self) -> None:
        found = self.answer
        self.verdict.value = stock_shown.verdict(found, self._invented(), self.writer)
        if found.plans:
            self.picture = stock_shown.picture(found, self.writer)
            self.picture_shown.value = self.picture.html(stock_shown.WIDE)
        self.draw_page()
        self._show_stopper()

    def refused(self, error: InputError | None) -> None:
        """Sliders have ranges of their own: what is wrong with a file stands on top."""
        self._show_stopper()

    def page(self, title: str) -> str:
        return PAGES[self._pages[title]](self.answer, self.writer)

    def page_key(self, title: str):
        return None if self.answer is None else (id(self.answer), self.units.value)

    def draw_page(self) -> None:
        if self.answer is not None:
            super().draw_page()

    @property
    def replay(self) -> Picture:
        """How the calls of forecast and replay end."""
        return stock_shown.replay(self.answer, self.writer)

    @property
    def sentence(self) -> str:
        """The verdict."""
        return stock_shown.sentence(self.answer, self.writer)

    @property
    def facts(self) -> list[str]:
        """What stands below the verdict."""
        return stock_shown.facts(self.answer, self.writer)

    @property
    def whys(self) -> list[str]:
        """What to add next, and for which calls, best first."""
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
        """The verdict at once; the curve follows, at once where it was worked before."""
        self.answer, self._planned = found, True
        self._slices.start(self._working_on.curving(found, self.budget.max), self._show_curve)
        if self._slices.under_way:
            self.draw()
            self._tell("", earlier=False)

    def _show_curve(self, found: StockStudy) -> None:
        self.answer = found
        self.draw()
        self._tell("", earlier=False)

    def _live(self):
        """The calls matched with the catalogue, in steps; the last two are kept."""
        made = stamp(self._calls_path()), stamp(self._catalogue_path())
        if made not in self._lives:
            yield Step(Message("stock.step.read_file"), 0, 1)
            ground = yield from Ground.found(self._calls(), self._motors())
            self._lives = dict([*self._lives.items(), (made, Live(ground))][-2:])
        return self._lives[made]

    def _calls_path(self):
        return self.calls.value.strip() or sample_calls()

    def _calls(self):
        return self._read_calls(stamp(self._calls_path()))

    def _catalogue_path(self):
        return self.catalogue.value.strip() or data_folder() / "catalogue.csv"

    def _motors(self):
        return self._read_motors(stamp(self._catalogue_path()))

    def _told_step(self, step: Step) -> None:
        if self._planned and self.picture is not None:
            self.picture_shown.value = self._working(self.picture.html(stock_shown.WIDE))
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
        calls, motors = self.calls.value.strip(), self.catalogue.value.strip()
        if calls and motors:
            return ""
        both = "both" if not calls and not motors else "motors" if calls else "calls"
        return self.text(f"stock.invented.{both}")

    def _folder(self) -> Path:
        given = self.out.value.strip()
        if not given:
            raise InputError("results folder", "nothing", 'a folder, such as "results/stock"')
        if Path(given).is_file():
            raise InputError("results folder", f"{quoted(given)}, which is a file,", "a folder")
        return Path(given)

    def _set_money(self) -> None:
        """The money's slider over what trucks of this catalogue's motors cost."""
        motors = self._motors()
        most = usual_money(motors) or USUAL_MONEY
        currency = next((one.currency for one in motors if one.price is not None), "")
        self.budget.step = most / STEPS
        fields.reach(self.budget, most / STEPS, most, most / 2)
        self.budget.description = self.text("stock.money_in", currency=currency)

    def _moved(self) -> None:
        self._slices.forget()
        self._tell(style.quiet(self.text("stock.resting")), earlier=True)
        self._rest.ask()

    def _catalogue_given(self) -> None:
        try:
            with self.filling():
                self._set_money()
        except InputError as error:
            self._refuse(error)
            return
        self._moved()

    def _units_changed(self) -> None:
        with self.filling():
            self.space.show(self.space.amount, self.units.value)
        self._moved()

    def _observe(self) -> None:
        sliders = [self.budget, self.space, self.trucks, self.days]
        self.follow([*sliders, self.calls], self._moved)
        self.follow([self.catalogue], self._catalogue_given)
        self.follow([self.units], self._units_changed)
        # ipywidgets only logs what a click raises: the handlers do nothing but call these.
        self.button.on_click(lambda _: self.write())
        self.stopper.on_click(lambda _: self.stop())
        self.keep_steps([self.units, *sliders], first=[self.units])

    def _make_controls(self, calls, catalogue, units: str) -> None:
        write = Writer(self._language, units)
        self.budget = slider(write("panel.stock.money"), 250, 5000, 2500, 250)
        self.space = AmountSlider(write("panel.stock.room"), "volume", SPACES)
        self.space.show(Terms.space, units)
        self.trucks = slider(write("panel.stock.trucks"), 1, MOST_TRUCKS, 1)
        self.days = slider(write("panel.stock.days"), 1, MOST_DAYS, 7)
        self.units = fields.units_shown(units, write)
        self.calls = text(write("panel.stock.calls"), "my-calls.csv", write)
        self.catalogue = text(write("panel.catalog"), "my-motors.csv", write)
        for control, path in ((self.calls, calls), (self.catalogue, catalogue)):
            control.value = "" if path is None else os.fspath(path)
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
        self.places("verdict", "picture_shown")
        self.verdict.value = style.quiet(write("panel.stock.first"))
        self._pages = {write(f"panel.stock.page.{key}"): key for key in PAGES}
        self.make_pages(self._pages)

    def _arrange(self) -> None:
        files = [
            fields.hint(self.text("stock.hint")),
            self.calls,
            self.catalogue,
            self.units,
            self.out,
        ]
        tab = fields.tab({self.text("stock.files"): files})
        sliders = [self.budget, self.space, self.trucks, self.days]
        left = [*sliders, self.progress, self.button, self.written, tab]
        below = [self.tables, widgets.HTML(stock_shown.cautions(self.writer))]
        self.arrange([self.verdict], left, [self.picture_shown], below, more=[self.stopper])
