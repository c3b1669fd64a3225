"""Panel for worksheet 01, which selects a replacement for a failed motor."""

import os
from collections import Counter
from collections.abc import Callable
from functools import lru_cache

import ipywidgets as widgets

from airover.app import ahead, fields, style
from airover.app.calculators import calculates_here
from airover.app.current_job import CurrentJob
from airover.app.export import CarryAway
from airover.app.fields import Fields, Fold, choice, hint, text
from airover.app.import_panel import ImportPanel, fold
from airover.app.panel import AT_LEISURE, Drawing, FollowingPicture, Panel, Picture
from airover.app.running import AfterRest, running_loop
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.model.simulation import HIGH, LOW, identify_ahead
from airover.records.importing import open_catalog
from airover.records.job import Job
from airover.records.scope import suits
from airover.reports import answer_tables as tables
from airover.reports.answer import assumed
from airover.reports.torque import TorquePicture
from airover.selection.answer import CAUTIONS, Answer, answer
from airover.selection.check import STATES, Check
from airover.selection.rules import DOES_NOT_FIT, FITS, FITS_WITH_WORK, Candidate
from airover.service.order import WorkOrder
from airover.service.roof_sheet import RoofSheet
from airover.service.warranty import cover

NEAREST = 5  # closest matches shown if no motor fits
MOST = 12  # maximum number of suitable motors in a dropdown list
IDLE = 0.1  # s between two steps of the identification of other motors
MOTORS_A_STEP = 6  # identified motors in a step, about 30 ms
CAUTIONED = ("power", "capacitor", "blade", "law")
CARD = ("capacitor", "rotation", "drain")  # lines of the roof sheet shown for a motor


def verdict(answer: Answer, writer: Writer) -> str:
    """Return the verdict, the motor counts, and the requirements of the fan and site."""
    words = Counter(one.verdict for one in answer.candidates)
    counts = writer(
        "page.verdict.counts", count=len(answer.candidates), fits=words[FITS],
        work=words[FITS_WITH_WORK], out=words[DOES_NOT_FIT],
    )  # fmt: skip
    needed = answer.needed
    required = writer(
        "page.best.asks",
        power=Quantity(needed["shaft_power_w"], "shaft_power"),
        speed=Quantity(needed["speed_rpm"].mid, "speed"),
        air=Quantity(needed["temp_at_motor_c"], "air_temperature"),
    )
    invented = writer("panel.invented") if answer.job.invented else ""
    left_out = [writer(one.told) for one in answer.left_out]
    below = [answer.job.name, counts, required, invented, *left_out]
    return style.verdict(answer.candidates[0].verdict, writer(answer.verdict), *below)


def candidates(answer: Answer, writer: Writer) -> str:
    """Return the motors that fit, or the closest matches if none fits."""
    count = len(answer.fitting)
    title = writer("panel.answer.nearest", count=NEAREST)
    if count:
        title = writer("panel.answer.fitting", count=count, among=len(answer.candidates))
    shown = tables.candidates(answer, writer, count or NEAREST)
    shown = shown.drop(columns=writer("answer.table.decided"))
    table = style.table(shown.reset_index(), "figures")
    return style.heading(title) + table + style.quiet(writer("panel.answer.bands"))


def best_motors(answer: Answer, writer: Writer):
    """Return the table of the ten best motors (pandas)."""
    return tables.candidates(answer, writer).drop(columns=writer("answer.table.decided")).head(10)


def needed(answer: Answer, writer: Writer) -> str:
    """Return the fan and site requirements in one row, as medians with 90 % ranges."""
    table = tables.needed(answer, writer).rename_axis(None)
    first, mid, last = (table[name] for name in table.columns)
    shown = mid + " (" + first + " - " + last + ")"
    return style.heading(writer("panel.answer.needed")) + style.table(shown.to_frame().T, "figures")


def names(answer: Answer, writer: Writer) -> list[tuple[str, int]]:
    """Return all motors, best first, as pairs of displayed text and index."""
    return [(f"{at}. {named(c, writer)}", at - 1) for at, c in enumerate(answer.candidates, 1)]


def load(
    answer: Answer, candidate: Candidate, writer: Writer, names: str = "panel.answer.load"
) -> str:
    """Return bars with text that show a motor's load relative to its limits.

    Parameters
    ----------
    names : str, optional
        Table of the texts that name the bars.
    """
    case, needed = candidate.case, answer.needed
    power = needed["shaft_power_w"]
    rows = [("power", power, case.rating, "shaft_power", 0.0)]
    found = {check.name: check for check in candidate.having(*STATES)}
    if case.row is not None:
        rows.append(("amps", found["running amps"].found, case.rated_current, "current", 0.0))
        air = needed["temp_at_motor_c"].mid  # the temperature bar starts at the air temperature
        limit = found["winding temperature"].limit
        if limit is not None and limit > air:
            rows.append(("winding", case.winding, limit, "temperature", air))
    bars = [
        style.bar(
            writer(f"{names}.{name}"),
            writer("panel.answer.load.of", value=writer.estimate(band, kind),
                   limit=Quantity(limit, kind.removeprefix("shaft_")), judged=writer(_judged(band, limit))),
            *((end - begin) / (limit - begin) for end in band),
        )
        for name, band, limit, kind, begin in rows
    ]  # fmt: skip
    if case.row is not None:
        bars.insert(1, _torque(found["torque"], needed["torque_nm"], writer, names))
    title = writer("panel.answer.load.title", motor=case.motor.name)
    return style.heading(title) + style.bars(bars, writer("panel.answer.load.limit"))


def _torque(check: Check, required: Band, writer: Writer, names: str) -> str:
    """Return a bar for the fan torque relative to the breakdown torque at the lowest voltage."""
    shares = [check.limit / end for end in reversed(check.found)]
    words = writer(
        "panel.answer.load.breakdown",
        value=writer.estimate(required, "torque"),
        times=Quantity(check.found.mid, "times"),
        volts=check.values["volts"],
        judged=writer(_judged(Band(*shares), 1.0)),
    )
    return style.bar(writer(f"{names}.torque"), words, *shares)


def _judged(band: Band, limit: float) -> str:
    """Return the key of the text that compares a 90 % range with its limit."""
    word = "over" if band.mid > limit else "may_exceed" if band.high > limit else "within"
    return f"panel.answer.load.{word}"


def offered(answer: Answer, writer: Writer) -> list[tuple[str, str]]:
    """Return the motors that fit, or the closest matches, as pairs of displayed text and name."""
    among = answer.fitting[:MOST] or answer.candidates[:NEAREST]
    return [(named(one, writer), one.case.motor.name) for one in among]


def candidate_named(answer: Answer, name: str) -> Candidate | None:
    """Return the candidate whose motor is called ``name``, or None."""
    return next((one for one in answer.candidates if one.case.motor.name == name), None)


def named(one: Candidate, writer: Writer) -> str:
    """Return the text for a motor in a dropdown list, with its verdict."""
    told = writer.language, writer.system, writer.signs
    return f"{one.case.motor.name}, {_rated(one.case.rating, one.verdict, *told)}"


@lru_cache(maxsize=1000)  # a list has each motor of the catalog
def _rated(rating: float, verdict: str, language: str, system: str, signs: bool) -> str:
    writer = Writer(language, system, signs)
    return f"{writer.amount(rating, 'power')}: {writer(f'page.fit.{verdict}')}"


def described(candidate: Candidate, writer: Writer) -> str:
    """Return the torque plot of a motor in words."""
    case = candidate.case
    if case.row is None:
        return writer("answer.torque_figure.not_simulated", motor=case.motor.name)
    low, high = case.conditions.voltage[[LOW, HIGH]]
    return writer(
        "panel.answer.torque",
        motor=case.motor.name,
        volts=Quantity(Band(low, low, high), "voltage"),
        speed=Quantity(case.speed_rpm.mid, "speed"),
    )


def reasons(candidate: Candidate, writer: Writer) -> str:
    """Return the required modifications and open questions, or the reasons for rejection."""
    out = candidate.verdict == DOES_NOT_FIT
    title = writer("panel.answer.why_not" if out else "panel.answer.to_do")
    open_points = candidate.reasons or [Message("answer.report.nothing_open")]
    return style.listed(title, map(writer, open_points))


def to_install(answer: Answer, candidate: Candidate, writer: Writer) -> str:
    """Return a fitting motor's capacitor, rotation and drain plug, as shown on the roof sheet."""
    if candidate.verdict == DOES_NOT_FIT:
        return ""
    warranty = cover(candidate.case.motor, answer.job.dates)
    facts = RoofSheet(WorkOrder(answer, candidate, warranty, None, answer.job.ticks)).facts
    return style.facts(
        (writer(f"roof.line.{name}"), sentence(writer(facts[name]))) for name in CARD
    )


def sentence(text: str) -> str:
    """Return ``text`` with a capital first letter."""
    return text[:1].upper() + text[1:]


def open_points(answer: Answer, writer: Writer) -> str:
    """Return the open questions, unusual data and temporary assumptions."""
    taken = style.listed("", assumed(answer.assumed, writer))
    return (
        style.listed(writer("panel.answer.find_out"), map(writer, answer.asked))
        + style.listed(writer("measurement.title"), depends_on(answer, writer))
        + style.listed(writer("page.best.unusual"), map(writer.value, answer.warnings))
        + (style.folded(writer("page.best.assumed"), taken) if taken else "")
    )


def depends_on(answer: Answer, writer: Writer) -> list[str]:
    """Return what carries the verdict: the rating, and the measurement that could change it."""
    best = answer.candidates[0]
    rating = [best.check("winding without the rating").why] if answer.fitting else []
    return [writer(one) for one in (*rating, answer.measurement.message)]


def sections(
    answer: Answer, candidate: Candidate, writer: Writer
) -> list[tuple[str, Callable[[], str]]]:
    """Return the titles of the collapsible sections, and the functions that return their HTML.

    They are the checks of one motor, the rejected motors (without a title if there are none), and
    the inputs with their sources.
    """
    count = len(answer.candidates) - len(answer.fitting)
    return [
        (
            writer("page.best.checks", motor=candidate.case.motor.name),
            lambda: style.table(tables.checks(candidate, writer)),
        ),
        (
            writer("panel.answer.rejected", count=count) if count else "",
            lambda: rejected(answer, writer),
        ),
        (writer("panel.answer.inputs"), lambda: style.table(tables.inputs(answer, writer))),
    ]


def rejected(answer: Answer, writer: Writer) -> str:
    """Return the number of motors that fail each check, and the reasons for each motor."""
    failures = style.table(tables.failures(answer, writer), "narrow")
    return failures + style.table(tables.rejected(answer, writer))


def large(answer: Answer, writer: Writer) -> str:
    """Return a note about a large catalog, or an empty string."""
    return style.quiet(writer(answer.screened.told)) if answer.screened else ""


class ReplacementPanel(CarryAway, Panel):
    """Panel for selecting the replacement motor for a job.

    The controls are ``bar`` (the current job), ``nameplate``, ``blade``, ``site`` and ``limits``
    (with their fields as attributes), ``name``, ``note``, ``invented``, ``units``, ``catalog``, and
    ``motor`` (the displayed candidate). Any change to the job resets ``motor`` to the best
    candidate. The attribute ``torque`` is the plot for the displayed candidate. With a ``host``,
    the page provides the job.

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
        If the files cannot be read or evaluated.
    """

    step = "replacement"
    cautions = CAUTIONED

    def __init__(self, job_path=None, catalog=None, units="US", language="en", host=None):
        super().__init__(language, host)
        self._torque, self._plots = None, {}
        for name in ("verdict", "load", "picture", "reasons", "needed"):
            setattr(self, name, widgets.HTML())
        for name in ("candidates", "checks", "open_points", "folded"):
            setattr(self, name, widgets.HTML())
        self._pictured = FollowingPicture(self._draw_picture, self.picture)
        self.details = widgets.VBox([self.checks, self.folded])
        if self.on_page:
            self.folds, self.note = [Fold() for _ in range(3)], widgets.HTML()
            of_motor, *others = (fold.parts for fold in self.folds)
            others = [part for parts in others for part in parts]
            self.details.children = [*of_motor, self.note, *others, self.folded]
            self.details.add_class("ao-stack")
        self._at_leisure = AfterRest(self.draw_details, AT_LEISURE)
        self._idle = AfterRest(self._prepare, IDLE)
        self.motor = choice(self.text("answer.shown"), [])
        if host is None:
            self._make_form(job_path, catalog, units)
        self.follow([self.motor], self.draw_motor)
        self._arrange()

    def _make_form(self, job_path, catalog, units: str) -> None:
        self.units = fields.units_shown(units, self.writer)
        self.form = CurrentJob(Writer(self._language, units))
        for name in ("nameplate", "blade", "site", "limits", "name", "note", "invented"):
            setattr(self, name, getattr(self.form, name))
        self._read_from = None
        self._make_catalog_controls(catalog)
        self.use_job(job_path)
        self._observe()
        self.resume()

    def job(self) -> Job:
        """Return the job defined by the controls.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        return self.form.job()

    def fill(self, job: Job) -> None:
        """Fill in the controls from ``job`` without calculating."""
        with self.filling():
            self.form.fill(job)
        points = 0 if job.blade.curve is None else len(job.blade.curve.flow)
        self._curve_told.value = style.quiet(self.text("answer.curve", points=points))

    @classmethod
    def ahead(cls, host) -> tuple:
        return (ahead.best,)

    def compute(self) -> Answer:
        return self.host.answer if self.on_page else answer(self.job(), self.motors())

    def motors(self):
        """Return the motors in the catalog, read once for each path.

        Raises
        ------
        InputError
            If an input is invalid.
        """
        path = self.catalog.value.strip()
        if path != self._read_from:
            self.form.own_motors, self._read_from = open_catalog(path) if path else None, path
        return self.form.motors

    def lacks(self) -> str:
        enough = self.on_page or self.form.enough()
        return "" if enough else self.writer("worksheet.enter_nameplate")

    def own_job(self) -> Job:
        return self.job()

    def job_controls(self) -> list:
        return [*self.form.controls(), self.note]

    @property
    def stored_picture(self) -> Picture | None:
        return self.torque

    def draw(self) -> None:
        writer = self.writer
        with self.filling():
            self.motor.options = names(self.answer, writer)
            self.motor.value = 0
        self.verdict.value = verdict(self.answer, writer)
        self.candidates.value = candidates(self.answer, writer)
        self.needed.value = needed(self.answer, writer)
        self.open_points.value = open_points(self.answer, writer)
        self.draw_motor()

    def draw_motor(self) -> None:
        """Show the load and reasons for the selected candidate, then its torque and the details."""
        writer = self.writer
        card = to_install(self.answer, self.chosen, writer)
        self.load.value = card + load(self.answer, self.chosen, writer)
        self.reasons.value = reasons(self.chosen, writer)
        self._pictured.follow()
        self.details.add_class("ao-earlier")
        self._at_leisure.ask()
        if self.on_page:
            self.show_steps()

    def _draw_picture(self) -> None:
        if self.answer is not None:
            chosen, plot = self.chosen, self._plot()
            words = described(chosen, self.writer)
            if self.on_page:
                self._torque = Drawing(plot.svg(chosen), words)
            else:
                self._torque = Picture(plot.png(chosen), words)
            self.picture.value = self._torque.own_size()

    @property
    def torque(self) -> Picture | None:
        """Return the plot for the displayed candidate, or None if there was no answer yet."""
        self._pictured.hurry()
        return self._torque

    def draw_details(self) -> None:
        """Update the collapsed sections, which were marked as outdated."""
        if self.answer is None:
            return
        write, note = self.writer, large(self.answer, self.writer)
        found, suited = sections(self.answer, self.chosen, write), style.quiet(write.value(suits()))
        if self.on_page:
            self.note.value, self.folded.value = note, suited
            self.note.layout.display = None if note else "none"
            for fold, (title, html) in zip(self.folds, found, strict=True):
                fold.hold(title, html)
        else:
            first, *others = (style.folded(title, html()) for title, html in found if title)
            self.checks.value = first
            self.folded.value = "".join([note, *others, suited])
        self.details.remove_class("ao-earlier")
        if running_loop() is not None:
            self._idle.ask()

    def _prepare(self) -> None:
        """Identify the circuits of a few more motors, in case the next entry requires them."""
        if self.answer is not None and calculates_here():
            motors = (one.case.motor for one in self.answer.candidates)
            if identify_ahead(motors, MOTORS_A_STEP):
                self._idle.ask()

    def _plot(self) -> TorquePicture:
        """Return the plot in the display units."""
        writer = self.writer
        if writer.system not in self._plots:
            self._plots[writer.system] = TorquePicture(writer)
        return self._plots[writer.system]

    @property
    def chosen(self) -> Candidate:
        """Return the candidate selected with ``motor``."""
        return self.answer.candidates[self.motor.value]

    def records(self) -> tuple[Fields, ...]:
        return () if self.on_page else self.form.forms

    def _observe(self) -> None:
        asked = self.form.controls()
        self.watch([*asked, self.units])
        self.follow([self.note], lambda: None)
        self.form.printed.follow(self, lambda: self.form.restore({}))
        self.follow([self.catalog], self.update, as_typed=False)
        self.keep_steps([*asked, self.note, self.form.printed.text, self.units])

    def _make_catalog_controls(self, catalog) -> None:
        self.catalog = text(self.text("catalog"), "my-motors.csv", self.writer)
        self.catalog.value = "" if catalog is None else os.fspath(catalog)
        self._curve_told = widgets.HTML()
        self.imports = ImportPanel(language=self._language, uses={"catalog": self._use_catalog})

    def _use_catalog(self, imports: ImportPanel) -> None:
        self.catalog.value = os.fspath(imports.kept_file())

    def _arrange(self) -> None:
        chosen = widgets.VBox([self.motor, self.load, self.reasons, self._pictured.view])
        below = widgets.VBox([self.candidates, self.open_points, self.needed])
        for place in (self.verdict, chosen, self.picture, below, self.checks, self.folded):
            place.add_class("ao-answer")  # marked as outdated when an input changes
        left = () if self.on_page else self._inputs()
        right = [chosen] if self.on_page else [chosen, widgets.HTML(cautions(self.writer))]
        extra = self.page_parts() if self.on_page else ()
        self.arrange([self.verdict], left, right, [below, self.details], extra=extra)

    def _inputs(self) -> list:
        empty = hint(self.text("answer.empty_catalog"))
        files = [self.catalog, empty, self.note, self.invented]
        pages = {title: [page] for form in self.form.forms for title, page in form.pages.items()}
        pages["Nameplate"].insert(0, self.form.printed.view)
        pages["Blade"].append(self._curve_told)
        pages["Files"] = [*files, fold(self.writer("capture.import_tab"), self.imports.view)]
        tabs = {self.text(f"answer.tab.{title}"): parts for title, parts in pages.items()}
        tabs[self.writer("export.title")] = [self.export_part()]
        return [self.name, self.units, *self.parts(tabs)]


def cautions(writer: Writer) -> str:
    """Return the cautions to read before working on the unit."""
    return style.listed(writer("panel.before_touching"), map(writer.value, CAUTIONS))
