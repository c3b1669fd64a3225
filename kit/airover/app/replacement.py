"""The panel of worksheet 01: which motor replaces the failed one.

What a panel asks about a job, by page: each field with an example or the words it accepts.

An answer in pieces of HTML, as the panel places them.
"""

import os
from pathlib import Path

import ipywidgets as widgets

from airover.app import fields, style
from airover.app.fields import Fields, Lines, choice, hint, text
from airover.app.panel import Panel, Picture, running_loop
from airover.app.proposal_panel import results_for
from airover.app.unsaved import State, Unsaved
from airover.core.errors import InputError
from airover.core.files import data_folder, make_folder
from airover.core.intervals import Band
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.core.units import quoted
from airover.model.simulation import HIGH, LOW
from airover.records.catalog import read_catalog
from airover.records.fields import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    EXPOSURES,
    MOUNTINGS,
    SHAFT_POSITIONS,
)
from airover.records.job import Job, JobFile
from airover.records.nameplate import ENDS, SENSES
from airover.records.scope import suits
from airover.reports import answer_tables as figures
from airover.reports import answer_tables as tables
from airover.reports import drawing
from airover.reports.answer import assumed
from airover.selection.answer import CAUTIONS, Answer, answer
from airover.selection.rules import DOES_NOT_FIT, Candidate

PHASES = {"1": (), "3": ()}

NAMEPLATE = {
    "Nameplate": {
        "voltage": "208-230 V",
        "frequency": "60 Hz",
        "phase": PHASES,
        "power": "1/3 hp",
        "current": "1.9 A",
        "speed": "1075 rpm",
        "poles": "6",
        "capacitor": "7.5 uF",
        "capacitor_voltage": "370 V",
        "rotation": SENSES,
        "rotation_seen_from": ENDS,
        "frame": "48",
        "enclosure": ENCLOSURES,
        "insulation_class": CLASSES,
        "ambient_rating": "60 degC",
        "bearings": BEARINGS,
        "service": "continuous",
        "kind": "permanent split capacitor",
        "drive": "direct",
    },
    "Old motor": {
        "shaft_diameter": "1/2 in",
        "shaft_length": "6 in",
        "body_diameter": "5 5/8 in",
        "body_length": "5 1/4 in",
        "mounting": MOUNTINGS,
        "shaft_position": SHAFT_POSITIONS,
        "drain_plugs": DRAIN_PLUGS,
    },
}

BLADE = {
    "Blade": {
        "diameter": "22 in",
        "blades": "3",
        "pitch": "27 deg",
        "mass": "3.5 lb",
        "rotation": SENSES,
        "rotation_seen_from": ENDS,
        "bore": "1/2 in",
        "hub_diameter": "2 1/2 in",
        "height_in_orifice": "2 1/4 in",
        "material": "aluminum",
    },
}

SITE = {
    "Site": {
        "outdoor_temperature": "105 degF",
        "outdoor_temperature_min": "20 degF",
        "elevation": "1100 ft",
        "relative_humidity": "30 %",
        "recirculation": "5 degF",
        "coil_temperature_rise": "17 degF",
        "heat": "45000 Btu/h",
        "airflow": "2400 cfm",
        "voltage": "236 V",
        "frequency": "60 Hz",
        "phase": PHASES,
        "exposure": tuple(EXPOSURES),
        "hazardous": "no",
        "max_body_length": "7 in",
        "max_body_diameter": "6 in",
    },
}


NEAREST = 5


def verdict(answer: Answer, writer: Writer) -> str:
    invented = writer("panel.invented") if answer.job.invented else ""
    below = " \N{MIDDLE DOT} ".join(filter(None, [answer.job.name, invented]))
    return style.verdict(answer.candidates[0].verdict, writer(answer.verdict), below)


def candidates(answer: Answer, writer: Writer) -> str:
    """The motors that fit, or the nearest where none does."""
    count = len(answer.fitting)
    title = writer("panel.answer.nearest", count=NEAREST)
    if count:
        title = writer("panel.answer.fitting", count=count, among=len(answer.candidates))
    rows = (count or NEAREST) + (answer.failed is not None)
    shown = tables.candidates(answer, writer).head(rows)
    shown = shown.drop(columns=writer("answer.table.decided"))
    table = style.table(shown.reset_index(), "figures")
    return style.heading(title) + table + style.quiet(writer("panel.answer.bands"))


def needed(answer: Answer, writer: Writer) -> str:
    """What blade and site ask, in one row: expected, and 9 cases of 10."""
    table = tables.needed(answer, writer).rename_axis(None)
    first, mid, last = (table[name] for name in table.columns)
    shown = mid + " (" + first + " - " + last + ")"
    return style.heading(writer("panel.answer.needed")) + style.table(shown.to_frame().T, "figures")


def names(answer: Answer, writer: Writer) -> list[tuple[str, int]]:
    """Every motor, best first, as a choice: what is shown, and its place from 0."""
    return [(f"{at}. {named(c, writer)}", at - 1) for at, c in enumerate(answer.candidates, 1)]


def named(one: Candidate, writer: Writer) -> str:
    """A motor of a choice, with how it fits."""
    rating = writer.amount(one.case.rating, "power")
    return f"{one.case.motor.name}, {rating}: {writer(f'page.fit.{one.verdict}')}"


def picture(candidate: Candidate, writer: Writer) -> Picture:
    case = candidate.case
    if case.row is None:
        words = writer("answer.torque_figure.not_simulated", motor=case.motor.name)
        return Picture(drawing.png(figures.torque(candidate, writer)), words)
    low, high = case.conditions.voltage[[LOW, HIGH]]
    words = writer(
        "panel.answer.torque",
        motor=case.motor.name,
        volts=Quantity(Band(low, low, high), "voltage"),
        speed=Quantity(case.speed_rpm.mid, "speed"),
    )
    return Picture(drawing.png(figures.torque(candidate, writer)), words)


def reasons(candidate: Candidate, writer: Writer) -> str:
    """What the motor needs, or why it is rejected."""
    out = candidate.verdict == DOES_NOT_FIT
    title = writer("panel.answer.why_not" if out else "panel.answer.to_do")
    open_points = candidate.reasons or [Message("answer.report.nothing_open")]
    return style.listed(title, map(writer, open_points))


def checks(candidate: Candidate, writer: Writer) -> str:
    title = writer("page.best.checks", motor=candidate.case.motor.name)
    return style.folded(title, style.table(tables.checks(candidate, writer)))


def cautions(writer: Writer) -> str:
    return style.listed(writer("panel.before_touching"), map(writer.value, CAUTIONS))


def open_points(answer: Answer, writer: Writer) -> str:
    """What to find out, what is unusual, and what was assumed meanwhile."""
    return (
        style.listed(writer("panel.answer.find_out"), map(writer, answer.asked))
        + style.listed(writer("page.best.unusual"), map(writer.value, answer.warnings))
        + style.listed(writer("page.best.assumed"), assumed(answer.assumed, writer))
    )


def folded(answer: Answer, writer: Writer) -> str:
    """Why motors were rejected, and where every input comes from."""
    rejected = tables.rejected(answer, writer)
    why = style.folded(
        writer("panel.answer.rejected", count=len(rejected)),
        style.table(tables.failures(answer, writer), "narrow"),
        style.table(rejected),
    )
    origin = style.folded(writer("panel.answer.inputs"), style.table(tables.inputs(answer, writer)))
    return (why if len(rejected) else "") + origin + style.quiet(writer.value(suits()))


# tables of a job file that are kept as they are
WITHOUT_CONTROLS = ("customer", "finding", "found", "dates", "ticks", "cost")


UNSAVED = "AIROVER_UNSAVED"  # of the environment: the folder of unsaved work


def unsaved_path(folder=None) -> Path:
    """The file of unsaved work in ``folder``: by default the one that the variable AIROVER_UNSAVED
    names, else results/unsaved beside the folder of worksheets."""
    return Path(folder or os.environ.get(UNSAVED) or results_for("unsaved")).resolve() / "job.json"


class ReplacementPanel(Panel):
    """A job in controls at the left, its answer at the right, the verdict on top.

    ``job_path`` and ``catalog`` are files, by default the sample job and the catalog that
    come with the kit; ``units`` "US" or "SI" and ``language`` "en" or "es" are for what is shown. Controls: ``nameplate``,
    ``blade`` and ``site`` (each with its fields as attributes), ``name``, ``note``, ``invented``,
    ``units``, ``path``, ``catalog``, and ``motor``, the candidate that is pictured: the best one
    after every change of the job. ``torque`` is its picture. What was typed and not saved is kept
    in the folder ``unsaved`` (`unsaved_path`), and ``restore_button`` brings it back. Raises
    InputError when the files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalog=None, units="US", unsaved=None, language="en"):
        super().__init__(language)
        self._read_from, self._motors, self._own = None, (), {}
        self._curve, self._kept = None, {}
        write = Writer(language, units)
        self.nameplate = Fields("nameplate", NAMEPLATE, write=write)
        self.blade = Fields("blade", BLADE, write=write)
        self.site = Fields("site", SITE, write=write)
        self.units = fields.units_shown(units, write)
        self._make_file_controls(catalog)
        self._make_places()
        self.fill(Job.read(job_path or data_folder() / "jobs" / "roof-unit.toml"))
        self.begin()
        self._observe()
        self.unsaved = Unsaved(unsaved_path(unsaved))
        self._left = self._found()  # before anything is kept anew
        self.restore_button = self._offer()
        self._arrange()

    def job(self) -> Job:
        """The job that the controls tell; raises InputError."""
        return Job(
            name=self.name.value,
            note=self.note.value,
            invented=self.invented.value,
            nameplate=self.nameplate.given(),
            blade={**self.blade.given(), "curve": self._curve},
            site=self.site.given(),
            **self._kept,
        )

    def fill(self, job: Job) -> None:
        """Write ``job`` into the controls; nothing is worked."""
        with self.filling():
            for name in ("name", "note", "invented"):
                getattr(self, name).value = getattr(job, name)
            for record in self._records():
                record.fill(getattr(job, record.record))
            self._curve = job.blade.curve
            self._kept = {name: getattr(job, name) for name in WITHOUT_CONTROLS}
        self._clean = self.typed()
        points = 0 if self._curve is None else len(self._curve.flow)
        self._curve_told.value = style.quiet(self.text("answer.curve", points=points))

    def compute(self) -> Answer:
        return answer(self.job(), self.motors())

    def motors(self):
        """The motors of the catalog, read once for each path; raises InputError."""
        path = self.catalog.value.strip() or str(data_folder() / "catalogue.csv")
        if path != self._read_from:
            self._motors, self._read_from = read_catalog(path), path
        return self._motors

    def open(self, path) -> None:
        """Read the job file at ``path`` and work it; what is wrong with it is told."""
        try:
            file = JobFile.read(path)
        except InputError as error:
            self.file_told.value = style.problem(
                self.writer.error(error), *getattr(error, "__notes__", ())
            )
            return
        self._own[Path(path).resolve()] = file
        self.file_told.value = style.quiet(self.text("opened", path=str(path)))
        self.open_with(lambda _: file.job, path, self.fill)

    def typed(self) -> State:
        """All that is typed, as texts by record and field, and as TOML what has no control."""
        kept = Job(blade={"curve": self._curve}, **self._kept)
        own = {
            "name": self.name.value,
            "note": self.note.value,
            "invented": "yes" if self.invented.value else "",
            "kept": "" if kept == Job() else kept.to_toml().strip(),
        }
        told = {name: value for name, value in own.items() if value}
        return {"job": told} | {record.record: record.typed() for record in self._records()}

    def restore(self) -> None:
        """Put back what was typed and not saved when the worksheet last ran, and work it."""
        self.open_with(lambda state: (Job.from_toml(state["job"].get("kept", "")), state),
                       self._left[1], self._fill_unsaved)  # fmt: skip

    def settled(self) -> None:
        super().settled()
        # A script has no reload to outlive: there nothing is written.
        if self.typed() == self._clean or running_loop() is None:
            return
        try:
            make_folder(self.unsaved.path.parent, "folder of unsaved work")
            self.unsaved.save(self.typed())
        except InputError as error:
            self.file_told.value = style.problem(
                self.text("answer.not_kept", why=self.writer.error(error))
            )

    def save(self, path) -> None:
        """Save the job at ``path``; a file that was not opened or saved here is never replaced,
        nor one that another changed since."""
        try:
            job = self.job()
            target = self._free(path)
            new = JobFile(target, b"", job)
            self._own[target] = self._own.get(target, new).saved(job)
        except InputError as error:
            self.file_told.value = style.problem(
                self.text("not_saved", why=self.writer.error(error))
            )
            return
        self._clean = self.typed()
        self.unsaved.forget()
        self.file_told.value = style.quiet(
            self.text("saved", name=str(path), folder=str(target.parent))
        )

    def draw(self) -> None:
        writer = self.writer
        with self.filling():
            self.motor.options = names(self.answer, writer)
            self.motor.value = 0
        self.verdict.value = verdict(self.answer, writer)
        self.candidates.value = candidates(self.answer, writer)
        self.needed.value = needed(self.answer, writer)
        self.open_points.value = open_points(self.answer, writer)
        self.folded.value = folded(self.answer, writer)
        self.draw_motor()

    def draw_motor(self) -> None:
        """Show the chosen candidate: its torque, and what decides about it."""
        writer = self.writer
        self.torque = picture(self.chosen, writer)
        self.picture.value = self.torque.html()
        self.reasons.value = reasons(self.chosen, writer)
        self.checks.value = checks(self.chosen, writer)

    @property
    def chosen(self):
        """The candidate that ``motor`` points at."""
        return self.answer.candidates[self.motor.value]

    def refused(self, error: InputError | None) -> None:
        for record in self._records():
            record.show_problem(error)

    def _free(self, path) -> Path:
        """``path`` as the place of a file that may be written."""
        written = str(path).strip()
        target = Path(written).resolve()
        if not written or target.is_dir():
            raise InputError("job file", quoted(written), 'a file name, such as "my-job.toml"')
        if target.exists() and target not in self._own:
            accepted = "a new name, or a file that was opened or saved here"
            raise InputError("job file", f"{quoted(written)}, which exists already,", accepted)
        return target

    def _records(self) -> tuple[Fields, ...]:
        return self.nameplate, self.blade, self.site

    def _observe(self) -> None:
        typed = [control for record in self._records() for control in record.controls.values()]
        asked = [*typed, self.name, self.invented]
        self.watch([*asked, self.units])
        self.follow([self.note], lambda: None)
        self.follow([self.catalog], self.update, as_typed=False)
        self.follow([self.motor], self.draw_motor)
        self.keep_steps([*asked, self.note, self.units])

    def _fill_unsaved(self, found: tuple[Job, State]) -> None:
        job, state = found
        own = state.get("job", {})
        self.fill(job)
        with self.filling():
            self.name.value, self.note.value = own.get("name", ""), own.get("note", "")
            self.invented.value = bool(own.get("invented"))
            for record in self._records():
                record.restore(state.get(record.record, {}))

    def _found(self) -> tuple[str, State] | None:
        """When an earlier session kept something, and what; a damaged file is told."""
        try:
            return self.unsaved.load()
        except InputError as error:
            self.file_told.value = style.problem(
                self.text("answer.lost", why=self.writer.error(error))
            )
            return None

    def _offer(self) -> widgets.Button | None:
        """A button that brings back what an earlier session left; None where nothing was left."""
        if self._left is None:
            return None
        button = widgets.Button(
            description=self.text("answer.restore", time=self._left[0][:16]),
            tooltip=self.text("answer.restore_tip"),
        )
        button.on_click(lambda _: self.restore())
        return button

    def _make_file_controls(self, catalog) -> None:
        self.name = text(self.text("answer.name"), "Roof unit, Customer 1", self.writer)
        self.note = Lines(placeholder=self.text("answer.notes"), rows=6)
        self.note.layout.width = "auto"
        self.invented = widgets.Checkbox(description=self.text("answer.invented"), indent=False)
        self.path = text(self.text("job_file"), "my-job.toml", self.writer)
        self.catalog = text(self.text("catalog"), "my-motors.csv", self.writer)
        self.catalog.value = "" if catalog is None else os.fspath(catalog)
        self.open_button = widgets.Button(
            description=self.text("open"), tooltip=self.text("open_tip")
        )
        self.save_button = widgets.Button(
            description=self.text("save"), tooltip=self.text("save_tip")
        )
        # ipywidgets only logs what a click raises: the handlers do nothing but call these two.
        self.open_button.on_click(lambda _: self.open(self.path.value.strip()))
        self.save_button.on_click(lambda _: self.save(self.path.value))

    def _make_places(self) -> None:
        for name in (
            "verdict", "candidates", "needed", "picture", "reasons", "checks",
            "open_points", "folded", "_curve_told",
        ):  # fmt: skip
            setattr(self, name, widgets.HTML())
        self.told_places("file_told")
        self.motor = choice(self.text("answer.pictured"), [])

    def _arrange(self) -> None:
        chosen = widgets.VBox([self.motor, self.picture, self.reasons])
        below = widgets.VBox([self.candidates, self.open_points, self.checks, self.folded])
        for place in (self.verdict, self.needed, chosen, below):
            place.add_class("ao-answer")  # what is marked while it is of an earlier input
        right = [chosen, widgets.HTML(cautions(self.writer))]
        more = [] if self.restore_button is None else [self.restore_button]
        self.arrange([self.verdict, self.needed], self._inputs(), right, [below], more)

    def _inputs(self) -> list:
        buttons = widgets.HBox([self.open_button, self.save_button])
        empty = hint(self.text("answer.empty_catalog"))
        files = [self.path, buttons, self.file_told, self.catalog, empty]
        pages = {title: page for record in self._records() for title, page in record.pages.items()}
        pages["Blade"] = widgets.VBox([pages["Blade"], self._curve_told])
        pages["Files"] = widgets.VBox([*files, self.note, self.invented])
        titles = [self.text(f"answer.tab.{title}") for title in pages]
        tab = widgets.Tab(children=list(pages.values()), titles=titles)
        return [self.name, self.units, tab]
