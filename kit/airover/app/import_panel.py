"""Panel that imports a table with any headings and matches its columns to fields.

The panel is used in worksheets 01 and 08 and, for catalogs, on the page. Lists from suppliers,
service companies or building owners can be imported without editing.
"""

import os
from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets
import pandas as pd

from airover.app import style, uploads
from airover.app.calculators import read
from airover.app.fields import text
from airover.app.panel import Panel
from airover.app.proposal_panel import results_for
from airover.core.errors import InputError
from airover.core.files import read_bytes, write_files
from airover.core.kinds import KINDS
from airover.core.texts import Writer
from airover.records.catalog import Catalog
from airover.records.importing import (
    CATALOG,
    CURRENCIES,
    FIELDS,
    KINDS_OF_TABLE,
    MATCH_ENDING,
    OF_TABLE,
    Imported,
    Match,
    catalog_in,
    import_table,
    maker_of,
    save_matches,
    saved_matches,
)
from airover.records.sheets import FILE, LARGEST_FILE, Sheet, sheet_of
from airover.reports import writing
from airover.reports.importing import (
    as_file,
    left_out_table,
    problem_table,
    write_import,
)

PREVIEWED = 5  # rows
MOST_COLUMNS = 60  # maximum number of columns whose match can be changed here


class ImportPanel(Panel):
    """Panel for importing a table.

    The controls are ``kind``, ``path``, ``upload``, ``maker``, ``folder``, ``save_button``, and a
    dropdown list in ``fields`` and in ``units_of`` for each column. With a ``host``, there are no
    controls for paths and folders. Files are uploaded, and ``links`` save the results. The
    attribute ``answer`` is the `Imported` table, or None before the first file is read.

    Parameters
    ----------
    kind : str, optional
        Kind of table, an element of KINDS_OF_TABLE.
    path
        File to read initially.
    uses
        Functions by kind of table that receive this panel when the button ``use`` is clicked.
    """

    step = "import"

    def __init__(self, kind: str = CATALOG, path=None, language: str = "en", host=None, uses=None):
        super().__init__(language, host)
        self.status = widgets.HTML()  # not shared with the page
        self._uses: dict[str, Callable[[ImportPanel], None]] = uses or {}
        self._sheet: Sheet | None = None
        self._columns: dict[str, str] = {}
        self._content, self.good = "", 0
        self.fields: list[widgets.Dropdown] = []
        self.units_of: list[widgets.Dropdown] = []
        self._make_controls(kind)
        self._observe()
        self._arrange()
        if path is not None:
            self.path.value = os.fspath(path)  # starts reading the file

    def read(self) -> None:
        """Read the file at ``path`` with its saved column matches, if any."""
        path = self.path.value.strip()
        if not path:
            return
        try:
            known = saved_matches(path)
            content = read_bytes(path, FILE, LARGEST_FILE)
            sheet = sheet_of(Path(path).name, content, known.get("sheet", ""))
        except InputError as error:
            self._refuse(error)
            return
        if known.get("maker"):
            self.maker.value = known["maker"]
        self._open(sheet, content, known.get("columns", {}))

    def open_file(self, name: str, content: bytes) -> None:
        """Read an uploaded file."""
        try:
            sheet = uploads.table(name, content)
        except InputError as error:
            self._refuse(error)
            return
        self._open(sheet, content, {})

    def compute(self) -> Imported:
        """Import the table with the current column matches.

        Raises
        ------
        InputError
            If no column of the table is recognized.
        """
        told = self.kind.value, self._sheet, self._columns, self._maker()
        found, self._content, self.good, self._why_none = read(_imported, *told)
        return found

    def draw(self) -> None:
        found, write = self.answer, self.writer
        self._show_matches(found.matches)
        counts = {"good": self.good, "out": len(found.left_out), "rows": len(found.sheet.rows)}
        said = write("import.counts", **counts)
        none = "" if self._why_none is None else style.problem(write.error(self._why_none))
        self.counts.value = style.heading(said) + none
        problems = problem_table(found, write)
        told = style.listed(write("import.assumptions"), map(write, found.assumed))
        self.problems.value = (style.table(problems) if len(problems) else "") + told
        sheet = found.sheet
        rows = pd.DataFrame(sheet.rows[:PREVIEWED], columns=list(sheet.headings))
        self.preview.value = style.folded(
            write("capture.preview", count=len(rows)), style.table(rows)
        )
        self.links.value = style.row(*self._links())
        for button in self.buttons:
            button.disabled = not self._content
        self.use.layout.display = None if self.kind.value in self._uses else "none"
        self.maker.layout.display = None if self.kind.value == CATALOG else "none"

    def write(self) -> None:
        """Write the accepted rows, the column matches and the omitted rows to the folder."""
        folder = Path(self.folder.value.strip() or results_for("import"))
        stem = Path(self.answer.sheet.file).stem
        try:
            paths = write_import(self.answer, folder, stem, self._content, self.writer)
        except InputError as error:
            self.told.value = style.problem(self.writer.error(error))
            return
        self.told.value = style.written(paths, False, self.writer)

    def catalog(self) -> Catalog:
        """Return the motors in the table."""
        return read(_catalog, self._sheet, self._columns, self._maker())

    @property
    def content(self) -> bytes:
        """Imported catalog as a CSV file."""
        return self._content.encode()

    def kept_file(self) -> Path:
        """Copy the file and its column matches to the folder and return the path of the copy.

        The copy can be read without editing because its column matches are saved with it. Omitted
        rows are still reported.
        """
        folder, name = (
            Path(self.folder.value.strip() or results_for("import")),
            Path(self._sheet.file),
        )
        match = save_matches(self.answer, self.maker.value.strip())
        files = {name.name: self._raw, f"{name.stem}{MATCH_ENDING}": match}
        return write_files(folder, files, "out")[0]

    def use_it(self) -> None:
        """Pass the accepted rows to the surrounding panel."""
        try:
            self._uses[self.kind.value](self)
        except InputError as error:
            self.told.value = style.problem(self.writer.error(error))
            return
        self.told.value = style.status(self.text_of("used", count=self.good))

    def text_of(self, key: str, **values) -> str:
        return self.writer(f"capture.{key}", **values)

    def ready(self) -> str:
        return ""

    def _open(self, sheet: Sheet, content: bytes, columns: dict[str, str]) -> None:
        """Import a new table and show it."""
        self._sheet, self._raw, self._columns = sheet, content, columns
        self.told.value = ""
        if not self.maker.value.strip():
            self.maker.placeholder = maker_of(sheet.file)
        self.update()

    def _maker(self) -> str:
        return self.maker.value.strip() or maker_of(self._sheet.file)

    def _again(self) -> None:
        """Match the columns again after the kind of table has changed."""
        self._columns = {}
        if self._sheet is not None:
            self.update()

    def _changed(self, at: int) -> None:
        """Import the table again after the field or unit of a column has changed."""
        chosen = self.fields[at].value
        columns = {}
        for place, one in enumerate(self.answer.matches):
            name, unit = one.field, one.unit
            if place == at:
                same = chosen == one.field
                name = chosen
                unit = self.units_of[at].value if same else FIELDS[chosen].unit if chosen else ""
            elif one.field and one.field == chosen:
                name, unit = "", ""
            columns[one.heading] = f"{name} [{unit}]" if unit else name
        self._columns = columns
        self.update()

    def _show_matches(self, matches: tuple[Match, ...]) -> None:
        """Show each column with dropdown lists for its field and unit."""
        write, names = self.writer, OF_TABLE[self.kind.value]
        options = [(write("import.not_used"), ""), *((field_label(n, write), n) for n in names)]
        rows, self.fields, self.units_of = [], [], []
        for at, one in enumerate(matches[:MOST_COLUMNS]):
            field = widgets.Dropdown(options=options, value=one.field, layout={"width": "200px"})
            units = units_accepted(one)
            shown = [(name or "?", name) for name in units]
            unit = widgets.Dropdown(options=shown, layout={"width": "90px"})
            unit.value = one.unit if one.unit in units else units[0]
            unit.layout.visibility = "visible" if len(units) > 1 else "hidden"
            field.observe(lambda _, at=at: self._changed(at), "value")
            unit.observe(lambda _, at=at: self._changed(at), "value")
            self.fields.append(field)
            self.units_of.append(unit)
            example = next((cell for cell in self._sheet.column(at) if cell), "")
            how = write(f"import.how.{one.how}") if one.how else ""
            about = style.text(one.heading or "-", "b") + style.quiet(example[:40])
            row = widgets.HBox([widgets.HTML(about), field, unit, widgets.HTML(style.quiet(how))])
            row.children[0].layout = {"width": "210px"}
            row.layout = {"flex_flow": "row wrap", "align_items": "center"}
            rows.append(row)
        if len(matches) > MOST_COLUMNS:
            more = self.text_of("more_columns", count=len(matches) - MOST_COLUMNS)
            rows.append(widgets.HTML(style.quiet(more)))
        for old in self.matches.children:
            old.close()
        self.matches.children = rows

    def _links(self) -> list[str]:
        """Return links that save the accepted rows, the omitted rows and the column matches."""
        found, write = self.answer, self.writer
        stem = Path(found.sheet.file).stem
        files = {"match": (f"{stem}{MATCH_ENDING}", save_matches(found, self.maker.value.strip()))}
        if found.left_out:
            out = writing.csv(left_out_table(found, write))
            files = {"left_out": (f"{stem}.left-out.csv", out)} | files
        if self._content:
            files = {"good": (f"{stem}.{found.table}.csv", self._content)} | files
        return [
            style.link(name, content.encode(), "text/plain;charset=utf-8", write(f"capture.save.{key}"))
            for key, (name, content) in files.items()
        ]  # fmt: skip

    def _make_controls(self, kind: str) -> None:
        write = self.writer
        kinds = [(write(f"capture.kind.{one}"), one) for one in KINDS_OF_TABLE]
        if kind not in KINDS_OF_TABLE:
            raise InputError("kind", f'"{kind}"', ", ".join(KINDS_OF_TABLE))
        self.kind = widgets.Dropdown(options=kinds, value=kind)
        self.kind.description = write("capture.kind_of_table")
        self.kind.style.description_width = "initial"
        self.upload = uploads.upload(write("capture.choose_file"), uploads.TABLES, self.open_file)
        self.maker = text(write("capture.maker"), "", write)
        self.use = widgets.Button(description=write("capture.use"), disabled=True)
        self.buttons = [self.use]
        if not self.on_page:  # page visitors must not have access to files on this computer
            self.path = text(write("capture.file"), "price-list.xlsx", write)
            self.folder = text(write("panel.results"), "results/import", write)
            self.folder.value = results_for("import")
            self.save_button = widgets.Button(
                description=write("capture.save_files"), disabled=True
            )
            self.buttons.append(self.save_button)
        for button in (self.upload, *self.buttons):
            button.layout.width = "auto"
        self.use.layout.display = "none"
        for name in ("counts", "problems", "preview", "links", "told"):
            setattr(self, name, widgets.HTML())
        self.matches = widgets.VBox()

    def _observe(self) -> None:
        self.follow([self.kind], self._again)
        self.follow([self.maker], lambda: self._sheet and self.update(), as_typed=False)
        # ipywidgets only logs exceptions from clicks, so the handlers only call these methods.
        if not self.on_page:
            self.follow_path(self.path, lambda _: self.read())
            self.save_button.on_click(lambda _: self.write())
        self.use.on_click(lambda _: self.use_it())

    def settled(self) -> None:
        """Store nothing, because the panel has no job entries."""

    def _arrange(self) -> None:
        about = widgets.HTML(style.quiet(self.text_of("about_import")))
        own = [] if self.on_page else [self.path]
        buttons = widgets.HBox(self.buttons)
        buttons.layout.flex_flow = "row wrap"
        saved = [] if self.on_page else [self.folder]
        parts = [about, self.kind, self.upload, *own, self.maker, self.status, self.counts]
        links = [self.links] if self.on_page else []
        parts += [buttons, *saved, self.told, *links, self.problems, self.matches, self.preview]
        styles = [] if self.on_page else [widgets.HTML(style.STYLE)]
        self.view.children = [*styles, *parts]

    def _refuse(self, error: InputError) -> None:
        self.status.value = style.problem(self.writer.error(error))


def _imported(kind: str, sheet: Sheet, columns: dict[str, str], maker: str):
    """Return the imported table, its accepted rows as a file, their number and any error."""
    found = import_table(kind, sheet, columns)
    try:
        return found, *as_file(found, maker), None
    except InputError as error:  # no usable row, so show the matches for correction
        return found, "", 0, error


def _catalog(sheet: Sheet, columns: dict[str, str], maker: str) -> Catalog:
    return catalog_in(import_table(CATALOG, sheet, columns), maker)


def field_label(name: str, write: Writer) -> str:
    """Return the label of a field in FIELDS."""
    key = name.replace(" ", "_")
    places = ("capture.field", "page.nameplate", "page.site", "page.blade")
    known = (f"{place}.{key}" for place in places)
    return next((write(one) for one in known if write.texts.has(one)), name)


def units_accepted(match: Match) -> list[str]:
    """Return the possible units for a column, with its current unit first."""
    if match.field == "price":
        return list(CURRENCIES) if match.unit else ["", *CURRENCIES]
    kind = FIELDS[match.field].kind if match.field else ""
    if not kind:
        return [""]
    first: dict[str, str] = {}
    for word, name in KINDS[kind].words.items():
        first.setdefault(name, word)
    return list(dict.fromkeys([match.unit, *first.values()]))


def fold(title: str, view: widgets.Widget) -> widgets.Accordion:
    """Return ``view`` as a collapsible section with a title."""
    return widgets.Accordion(children=[view], titles=[title], selected_index=None)
