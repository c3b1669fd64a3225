"""The panel of worksheet 08: what to carry on the truck.

What the panel of stock asks: money, room, trucks, which calls and which catalogue.

A stock in pieces of HTML, as its panel places them.
"""

import base64
import os
from functools import lru_cache
from pathlib import Path

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import AmountSlider, slider, text
from airover.app.panel import AfterRest, PagedPanel, Picture, read_motors, running_loop
from airover.app.progress import InSlices
from airover.business.stock import Ground, Live, StockStudy, usual_money
from airover.business.truck import Terms
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.message import Message
from airover.core.steps import Progress, finished
from airover.core.texts import Writer
from airover.core.units import quoted, show
from airover.records.calls import read_calls
from airover.reports import drawing
from airover.reports import stock as figures_stock
from airover.reports import stock as tables_stock
from airover.reports.stock import limits, load_page, write_stock
from airover.selection import answer

# unit, least, most and step of the room on a truck
SPACES = {"US": ("ft3", 1, 36, 1), "SI": ("L", 30, 1000, 10)}
STEPS = 20  # of the money's slider
MOST_TRUCKS, MOST_DAYS = 12, 28
USUAL_MONEY = 5000.0  # where a catalogue has no price: the calls then say why nothing is planned
HINT = (
    "A table of calls with what was read at each unit, over two years or more; the README tells "
    "its headings. Left empty: 600 invented calls of a shop with one truck, and the invented "
    "catalogue. Five thousand calls are matched in about a minute, once."
)


def sample_calls() -> Path:
    """The invented calls that are shown first."""
    return data_folder() / "calls" / "one-truck.csv"


def stamp(path) -> tuple:
    """What tells whether the file at ``path`` is the one that was read: name, size and time."""
    try:
        about = os.stat(path)
    except OSError:  # reading it will say why
        return str(path), 0, 0
    return str(path), about.st_size, about.st_mtime_ns


def results() -> str:
    """The folder that is written to, beside the worksheets' folder."""
    above = Path("..") if Path.cwd().name == "worksheets" else Path()
    return os.fspath(above / "results" / "stock")


WIDE = 700
FIRST = "Working: the calls are matched with the catalogue, once ..."
CAUTIONS = (
    *answer.CAUTIONS,
    "Secure what is carried: a motor weighs several kilograms and flies in a hard stop.",
    "Prices of capacitors and belly bands are usual ones, without a source.",
)


def verdict(found: StockStudy, invented: str) -> str:
    dot = " \N{MIDDLE DOT} "
    return style.verdict(_bar(found), sentence(found), dot.join([*facts(found), invented]))


def sentence(found: StockStudy) -> str:
    """What the truck fixes, and what the replay makes of that."""
    planned, checked = found.plan, found.confirmed
    motors = planned.units[: found.goods.motors]
    return (
        f"A truck for {money(planned.money, found)} fixes {percent(checked.forecast)} of calls at "
        f"the first visit: {motors.sum()} motors of {(motors > 0).sum()} kinds with their "
        f"capacitors. The year held out, replayed, gives {percent(checked.replayed)}."
    )


def facts(found: StockStudy) -> list[str]:
    """How much is known, and what nothing on a truck can mend."""
    unseen = 100 * found.confirmed.unseen
    told = [
        f"{len(found.calls)} calls with {len(found.matched.needs)} distinct needs",
        f"no motor of the catalogue does for {100 - 100 * found.reach:.0f} % of them",
        f"{unseen:.0f} % of the calls held out are of kinds that the years before never had",
    ]
    if _bar(found) != "fits":
        told.append("replay and forecast differ by more than their bands: plan with care")
    return told


def _bar(found: StockStudy) -> str:
    """Whether bands of forecast and replay meet."""
    forecast, replayed = found.confirmed.forecast, found.confirmed.replayed
    meet = forecast.low <= replayed.high and replayed.low <= forecast.high
    return "fits" if meet else "fits with work"


def percent(band) -> str:
    return f"{100 * band.mid:.0f} % ({100 * band.low:.0f} to {100 * band.high:.0f})"


def money(amount: float, found: StockStudy) -> str:
    return f"{amount:,.0f} {found.currency}"


def picture(found: StockStudy) -> Picture:
    each = "; ".join(
        f"{money(one.money, found)} {100 * one.fresh:.0f} %, of one rating {100 * two.fresh:.0f} %"
        for one, two in zip(found.plans, found.single, strict=True)
    )
    words = f"Calls fixed at the first visit against money on one truck: {each}. {sentence(found)}"
    return Picture(drawing.png(figures_stock.money_curve(found)), words)


def replay(found: StockStudy) -> Picture:
    words = (
        f"How calls end. Fixed at the first visit: forecast {percent(found.confirmed.forecast)}, "
        f"the year held out {percent(found.confirmed.replayed)}."
    )
    return Picture(drawing.png(figures_stock.replayed(found)), words)


def load_list(found: StockStudy, system: str) -> str:
    terms = found.terms
    room = [show(space, "volume", system) for space in (found.plan.space, terms.space)]
    told = (
        f"Together {money(found.plan.money, found)} of {money(terms.budget, found)}, and {room[0]} "
        f"of {room[1]}. HiGHS proves that no other truck fixes "
        f"{100 * found.plan.gap:.1f} points more of the calls that it was planned by."
    )
    table = style.table(tables_stock.on_truck(found, Writer("en", system)), "figures")
    return table + style.quiet(told) + _download(load_page(found))


def _download(page: str) -> str:
    data = base64.b64encode(page.encode()).decode()
    return (
        f'<p><a download="load-list.html" href="data:text/html;charset=utf-8;base64,{data}">'
        "Save the list to print, with boxes to tick</a></p>"
    )


def next_motors(found: StockStudy, system: str) -> str:
    if not found.next:
        return style.quiet("No further motor would fix any of the calls planned by.")
    hint = (
        "Calls of a load that this truck sends back for and that motor would do for, with its "
        "capacitor, one of them in each load; best for its money first."
    )
    return style.table(tables_stock.next_motors(found), "figures") + style.quiet(hint)


def curve(found: StockStudy, system: str) -> str:
    if not found.plans:
        return style.quiet("Working the curve ...")
    hint = (
        "Each row is a truck planned by some calls and tried on others: that is the figure to go "
        "by. What is fixed of the calls planned by is too high, as a truck is fitted to them."
    )
    return style.table(tables_stock.curve(found), "figures") + style.quiet(hint)


def counter(found: StockStudy, system: str) -> str:
    terms = found.terms
    hint = (
        f"Base stocks for {terms.trucks} trucks filled up every {terms.days:g} days, a supplier "
        f"who takes {terms.lead_days:g} days and {100 * terms.service:.0f} % of what is asked for "
        f"served at once; {money(found.counter.money, found)} in all. What leaves is ordered anew "
        "the same day."
    )
    return style.table(tables_stock.at_counter(found), "figures") + style.quiet(hint)


def replay_page(found: StockStudy, system: str) -> str:
    hint = (
        "The last year of the calls was held out: truck and counter were planned without it, then "
        "its calls came day by day. The forecast's seasons are drawn from the years before. Lines "
        "of the replay span the luck of which truck gets a call; the year itself happened once."
    )
    table = style.table(tables_stock.ends(found), "narrow")
    return replay(found).html(WIDE) + table + style.quiet(hint)


def cautions() -> str:
    return style.listed("Cautions and limits", (*map(Writer().value, CAUTIONS), *limits(Writer())))


CURVE, REPLAY = "Curve", "Replay against forecast"
PAGES = {
    "Load list": load_list,
    "Next to add": next_motors,
    CURVE: curve,
    "Counter": counter,
    REPLAY: replay_page,
}


class StockPanel(PagedPanel):
    """Service calls to a truck's load: sliders at the left, the curve of money at the right.

    ``calls`` and ``catalogue`` are files, by default the invented ones of a shop with one truck;
    ``units`` is "US" or "SI". Controls: the sliders ``budget`` [the catalogue's currency],
    ``space`` (in the units shown), ``trucks`` and ``days`` between fillings; ``calls``,
    ``catalogue``, ``units``, ``out`` (the folder that is written to), ``button`` and ``stopper``.

    Matching takes seconds to a minute, a plan a second or two. On an event loop, as in a
    worksheet, both are done in slices and can be stopped; ``finish`` waits for them. In a script
    they are done at once. ``picture`` is the last one drawn. Raises InputError when the files
    cannot be read; in a script also when nothing can be planned by them.
    """

    SLOW = (REPLAY,)

    def __init__(self, calls=None, catalogue=None, units="US"):
        super().__init__()
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
        self._tell(style.quiet("Working ..."), earlier=True)
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
            what = "the curve" if self._planned else "what stands below"
            told = style.problem(f"Stopped; {what} is of the earlier input, or not there yet.")
            self._tell(told, earlier=not self._planned)
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
            self.written.value = style.problem(f"Not written. {error}")

    def draw(self) -> None:
        found = self.answer
        self.verdict.value = verdict(found, self._invented())
        if found.plans:
            self.picture = picture(found)
            self.picture_shown.value = self.picture.html(WIDE)
        self.draw_page()
        self._show_stopper()

    def refused(self, error: InputError | None) -> None:
        """Sliders have ranges of their own: what is wrong with a file stands on top."""
        self._show_stopper()

    def page(self, title: str) -> str:
        return PAGES[title](self.answer, self.units.value)

    def page_key(self, title: str):
        return None if self.answer is None else (id(self.answer), self.units.value)

    def draw_page(self) -> None:
        if self.answer is not None:
            super().draw_page()

    @property
    def replay(self) -> Picture:
        """How the calls of forecast and replay end."""
        return replay(self.answer)

    @property
    def sentence(self) -> str:
        """The verdict."""
        return sentence(self.answer)

    @property
    def facts(self) -> list[str]:
        """What stands below the verdict."""
        return facts(self.answer)

    @property
    def whys(self) -> list[str]:
        """What to add next, and for which calls, best first."""
        return [Writer()(one.why) for one in self.answer.next]

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
            yield Progress(Message("stock.step.read_file"), 0, 1)
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

    def _told_step(self, step: Progress) -> None:
        if self._planned and self.picture is not None:
            self.picture_shown.value = self._working(self.picture.html(WIDE))
        count = f", {step.done} of {step.of}" if step.of > 1 else ""
        self._tell(
            style.quiet(f"Working: {Writer()(step.words)}{count} ..."), earlier=not self._planned
        )
        self.progress.value = step.done / step.of

    def _broken(self) -> None:
        self._tell(style.problem("This could not be worked."), earlier=True)
        self._show_stopper()

    def _show_stopper(self) -> None:
        busy = self._slices.under_way
        self.stopper.description = "Go on" if self._slices.stopped else "Stop"
        self.stopper.disabled = not busy
        self.progress.layout.visibility = "visible" if busy else "hidden"
        self.button.disabled = busy or self.answer is None

    def _invented(self) -> str:
        what = ["calls"] * (not self.calls.value.strip())
        what += ["makers, motors and prices"] * (not self.catalogue.value.strip())
        return f"Invented {', '.join(what)}." if what else ""

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
        self.budget.description = f"Money [{currency}]"

    def _moved(self) -> None:
        self._slices.forget()
        self._tell(style.quiet("Working once the controls rest ..."), earlier=True)
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
        self.budget = slider("Money", 250, 5000, 2500, 250)
        self.space = AmountSlider("Room", "volume", SPACES)
        self.space.show(Terms.space, units)
        self.trucks = slider("Trucks", 1, MOST_TRUCKS, 1)
        self.days = slider("Days between fillings", 1, MOST_DAYS, 7)
        self.units = fields.units_shown(units)
        self.calls = text("Calls (CSV, Parquet)", "my-calls.csv")
        self.catalogue = text("Catalogue (CSV)", "my-motors.csv")
        for control, path in ((self.calls, calls), (self.catalogue, catalogue)):
            control.value = "" if path is None else os.fspath(path)
        self.out = text("Results folder", "results/stock")
        self.out.value = results()
        self.button = widgets.Button(
            description="Write the list to load", button_style="primary",
            tooltip="Write the page to print, tables, pictures and text",
            layout={"width": "auto", "margin": "6px 2px 2px"},
        )  # fmt: skip
        self.stopper = widgets.Button(description="Stop", tooltip="Stop, or go on")
        self.progress = widgets.FloatProgress(min=0, max=1, layout={"width": "auto"})
        self.written = widgets.HTML()
        self.places("verdict", "picture_shown")
        self.verdict.value = style.quiet(FIRST)
        self.make_pages(PAGES)

    def _arrange(self) -> None:
        files = [fields.hint(HINT), self.calls, self.catalogue, self.units, self.out]
        tab = fields.tab({"Files and units": files})
        sliders = [self.budget, self.space, self.trucks, self.days]
        left = [*sliders, self.progress, self.button, self.written, tab]
        below = [self.tables, widgets.HTML(cautions())]
        self.arrange([self.verdict], left, [self.picture_shown], below, more=[self.stopper])
