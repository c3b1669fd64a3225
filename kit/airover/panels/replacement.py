"""The panel of worksheet 01: which motor replaces the failed one."""

import os
from pathlib import Path

import ipywidgets as widgets

from airover.answer import Answer, answer
from airover.errors import InputError
from airover.locations import data_folder
from airover.panels import answer_shown, fields, job_fields, style
from airover.panels.after_rest import running_loop
from airover.panels.fields import Fields, Lines, choice, hint, text
from airover.panels.parts import Panel
from airover.panels.proposal_fields import results_for
from airover.panels.unsaved import State, Unsaved
from airover.records import Job, read_catalogue
from airover.records.job_file import JobFile
from airover.safe_file import make_folder
from airover.texts import Writer
from airover.units import quoted

# tables of a job file that are kept as they are
WITHOUT_CONTROLS = ("customer", "finding", "found", "dates", "ticks", "cost")


UNSAVED = "AIROVER_UNSAVED"  # of the environment: the folder of unsaved work


def unsaved_path(folder=None) -> Path:
    """The file of unsaved work in ``folder``: by default the one that the variable AIROVER_UNSAVED
    names, else results/unsaved beside the folder of worksheets."""
    return Path(folder or os.environ.get(UNSAVED) or results_for("unsaved")).resolve() / "job.json"


class ReplacementPanel(Panel):
    """A job in controls at the left, its answer at the right, the verdict on top.

    ``job_path`` and ``catalogue`` are files, by default the sample job and the catalogue that
    come with the kit; ``units`` "US" or "SI" and ``language`` "en" or "es" are for what is shown. Controls: ``nameplate``,
    ``blade`` and ``site`` (each with its fields as attributes), ``name``, ``note``, ``invented``,
    ``units``, ``path``, ``catalogue``, and ``motor``, the candidate that is pictured: the best one
    after every change of the job. ``torque`` is its picture. What was typed and not saved is kept
    in the folder ``unsaved`` (`unsaved_path`), and ``restore_button`` brings it back. Raises
    InputError when the files cannot be read or worked.
    """

    def __init__(self, job_path=None, catalogue=None, units="US", unsaved=None, language="en"):
        super().__init__(language)
        self._read_from, self._motors, self._own = None, (), {}
        self._curve, self._kept = None, {}
        write = Writer(language, units)
        self.nameplate = Fields("nameplate", job_fields.NAMEPLATE, write=write)
        self.blade = Fields("blade", job_fields.BLADE, write=write)
        self.site = Fields("site", job_fields.SITE, write=write)
        self.units = fields.units_shown(units, write)
        self._make_file_controls(catalogue)
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
        """The motors of the catalogue, read once for each path; raises InputError."""
        path = self.catalogue.value.strip() or str(data_folder() / "catalogue.csv")
        if path != self._read_from:
            self._motors, self._read_from = read_catalogue(path), path
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
            self.motor.options = answer_shown.names(self.answer, writer)
            self.motor.value = 0
        self.verdict.value = answer_shown.verdict(self.answer, writer)
        self.candidates.value = answer_shown.candidates(self.answer, writer)
        self.needed.value = answer_shown.needed(self.answer, writer)
        self.open_points.value = answer_shown.open_points(self.answer, writer)
        self.folded.value = answer_shown.folded(self.answer, writer)
        self.draw_motor()

    def draw_motor(self) -> None:
        """Show the chosen candidate: its torque, and what decides about it."""
        writer = self.writer
        self.torque = answer_shown.picture(self.chosen, writer)
        self.picture.value = self.torque.html()
        self.reasons.value = answer_shown.reasons(self.chosen, writer)
        self.checks.value = answer_shown.checks(self.chosen, writer)

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
        self.follow([self.catalogue], self.update, as_typed=False)
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

    def _make_file_controls(self, catalogue) -> None:
        self.name = text(self.text("answer.name"), "Roof unit, Customer 1", self.writer)
        self.note = Lines(placeholder=self.text("answer.notes"), rows=6)
        self.note.layout.width = "auto"
        self.invented = widgets.Checkbox(description=self.text("answer.invented"), indent=False)
        self.path = text(self.text("job_file"), "my-job.toml", self.writer)
        self.catalogue = text(self.text("catalog"), "my-motors.csv", self.writer)
        self.catalogue.value = "" if catalogue is None else os.fspath(catalogue)
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
        right = [chosen, widgets.HTML(answer_shown.cautions(self.writer))]
        more = [] if self.restore_button is None else [self.restore_button]
        self.arrange([self.verdict, self.needed], self._inputs(), right, [below], more)

    def _inputs(self) -> list:
        buttons = widgets.HBox([self.open_button, self.save_button])
        empty = hint(self.text("answer.empty_catalog"))
        files = [self.path, buttons, self.file_told, self.catalogue, empty]
        pages = {title: page for record in self._records() for title, page in record.pages.items()}
        pages["Blade"] = widgets.VBox([pages["Blade"], self._curve_told])
        pages["Files"] = widgets.VBox([*files, self.note, self.invented])
        titles = [self.text(f"answer.tab.{title}") for title in pages]
        tab = widgets.Tab(children=list(pages.values()), titles=titles)
        return [self.name, self.units, tab]
