"""Export a panel's answer as a calculation, figure, tables of numbers and files.

`CarryAway` is a base class for the panels of worksheets 01 to 05. `ExportPart` is the section of a
panel with the buttons that write the calculation report, the workbook and the figure.
"""

import re
from pathlib import Path

import ipywidgets as widgets
import pandas as pd
from matplotlib.figure import Figure

from airover.app import fields, style
from airover.app.proposal_panel import results_for
from airover.core.errors import InputError
from airover.core.files import write_files
from airover.core.message import Message
from airover.reports.calculation import Calculation
from airover.reports.export import Export
from airover.selection.answer import Answer

FILES = {
    "report": ("pdf", "application/pdf", Export.pdf),
    "workbook": (
        "xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        Export.workbook,
    ),
    "html": ("html", "text/html", Export.html),
    "picture_svg": ("svg", "image/svg+xml", Export.svg),
    "picture_png": ("png", "image/png", Export.png),
}  # fmt: skip
FIRST_STEP = "replacement"  # of the page
_FOLDER = Message("panel.results_folder")
_UNSAFE = re.compile(r"[^\w-]+")


class CarryAway:
    """Base class for a panel with an exportable answer.

    The panel has an ``answer``, a ``writer`` and a ``job``. Subclasses can override `carried`.
    """

    def carried(self, **more) -> Export:
        """Return the answer for export, with ``more`` fields of `Export` such as ``prepared``."""
        found, candidate = self.answer, None
        job = found.job if isinstance(found, Answer) else self.job
        if isinstance(found, Answer):
            candidate = self.chosen
        return Export(found, job, self.writer, candidate, **more)

    @property
    def calculation(self) -> Calculation:
        """Step-by-step calculation of the answer for a worksheet cell."""
        return self.carried().calculation

    @property
    def figure(self) -> Figure:
        """Plot of the answer as a matplotlib figure 7 in. wide."""
        return self.carried().figure()

    @property
    def results(self) -> pd.DataFrame:
        """Table of the results as numbers."""
        return self.carried().results

    @property
    def sheets(self) -> dict[str, pd.DataFrame]:
        """Sheets of the workbook by name, with numbers for further calculation."""
        return self.carried().tables

    def page_parts(self) -> list:
        """Return the collapsible sections of the page with the calculation and its files.

        Only the first step has the file buttons, so each button appears on the page only once.
        """
        title = self.writer("calculation.report.calculation")
        self._steps = widgets.HTML()
        pages = {title: [self._steps]}
        if self.step == FIRST_STEP:
            pages[self.writer("export.title")] = [self.export_part()]
        folds = fields.Folds(pages, opened=False)
        self._steps_button = folds.buttons[title]
        self._steps_button.observe(lambda _: self.show_steps(), "value")
        return folds.parts

    def show_steps(self) -> None:
        """Show the calculation on the page while its section is open."""
        shown = self._steps_button.value and self.answer is not None
        self._steps.value = self.calculation.html() if shown else ""

    def export_part(self) -> widgets.Widget:
        """Return the section with buttons that write files, or that offer links on the page."""
        self.export = ExportPart(self)
        return self.export.view


class ExportPart:
    """Buttons that write the answer from a ``panel`` to files.

    Attributes
    ----------
    prepared
        Control for the preparer's name on the report.
    folder
        Control for the output folder. On the page, a link to the file is shown instead.
    buttons
        Buttons by their names in FILES.
    told
        Message with the result of the last click.
    """

    def __init__(self, panel):
        self._panel = panel
        say = panel.writer
        self.prepared = fields.text(say("export.prepared"))
        self.folder = fields.text(say("export.folder"))
        self.told = widgets.HTML()
        self.told.add_class("ao-told")
        self.buttons = {}
        for name in FILES:
            tip = say(f"export.{'picture' if name.startswith('picture') else name}_tip")
            button = widgets.Button(description=say(f"export.{name}"), tooltip=tip)
            button.layout.width = "auto"
            button.on_click(lambda _, name=name: self.write(name))
            self.buttons[name] = button
        place = [] if panel.on_page else [self.folder]
        row = widgets.HBox(list(self.buttons.values()), layout={"flex_flow": "row wrap"})
        hint = say("export.hint_page" if panel.on_page else "export.hint")
        parts = [fields.hint(hint), self.prepared, *place, row, self.told]
        self.view = widgets.VBox(parts)

    def write(self, name: str) -> None:
        """Write the file called ``name`` in FILES or, on the page, offer a link to it."""
        say = self._panel.writer
        if self._panel.answer is None:
            self.told.value = style.problem(say("export.nothing"))
            return
        ending, kind, make = FILES[name]
        self.told.value = style.quiet(say("panel.working"))
        try:
            carried = self._panel.carried(prepared=self.prepared.value.strip())
            file = f"{_file_name(carried)}.{ending}"
            content = make(carried)
            if self._panel.on_page:
                self.told.value = style.link(file, content, kind, file)
                return
            folder = self.folder.value.strip() or results_for(_folder_name(carried))
            replaced = (Path(folder) / file).exists()
            (path,) = write_files(folder, {file: content}, _FOLDER)
        except InputError as error:
            self.told.value = style.problem(say.error(error))
            return
        self.folder.value = folder
        key = "export.written_again" if replaced else "export.written"
        told = say(key, name=path.name, folder=str(path.resolve().parent))
        self.told.value = style.quiet(told)


def _folder_name(carried: Export) -> str:
    """Return a folder name based on the job name."""
    return _UNSAFE.sub("-", carried.job.name.lower()).strip("-") or "job"


def _file_name(carried: Export) -> str:
    """Return a file name based on the worksheet subject and the motor name."""
    return _UNSAFE.sub("-", f"{carried.kind} {carried.motor}".lower()).strip("-")
