"""Write tables (pandas) to an Excel workbook that stores no text as a formula."""

import datetime
import io
import math
import re

import pandas as pd

from airover.reports.typeset import plain

WIDEST, NARROWEST = 60, 9  # characters, limits for the column width
LONGEST_NAME = 31  # characters, Excel's limit for a sheet name
LONGEST_TEXT = 32_000  # characters, below Excel's limit for a cell
HEADING, TEXT, NUMBER = "heading", "text", "number"  # styles, shared by all cells
_FORBIDDEN = re.compile(r"[\\/*?:\[\]]")


def workbook(tables: dict[str, pd.DataFrame], date: datetime.date) -> bytes:
    """Return a workbook dated ``date``, with ``tables`` as its sheets by name."""
    from openpyxl import Workbook  # slow import, needed only for a file
    from openpyxl.styles import Alignment, Font, NamedStyle

    book = Workbook()
    book.remove(book.active)
    for name, bold, wrap in ((HEADING, True, True), (TEXT, False, True), (NUMBER, False, False)):
        look = Alignment(vertical="top", wrap_text=wrap)
        font = Font(name="Calibri", size=11, bold=bold)
        book.add_named_style(NamedStyle(name, font=font, alignment=look))
    moment = datetime.datetime.combine(date, datetime.time())
    book.properties.created = book.properties.modified = moment
    book.properties.creator = "airover"
    for name, table in tables.items():
        sheet = book.create_sheet(_FORBIDDEN.sub(" ", name)[:LONGEST_NAME])
        for row, cells in enumerate([table.columns, *table.itertuples(index=False)], 1):
            for column, value in enumerate(cells, 1):
                cell = sheet.cell(row, column)
                cell.style = HEADING if row == 1 else TEXT if isinstance(value, str) else NUMBER
                _write(cell, value)
        sheet.freeze_panes = "A2"
        for cells in sheet.columns:
            longest = max(len(_shown(cell.value)) for cell in cells)
            width = min(max(longest + 2, NARROWEST), WIDEST)
            sheet.column_dimensions[cells[0].column_letter].width = width
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.print_title_rows = "1:1"
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _write(cell, value) -> None:
    """Write numbers as numbers and everything else as text that is never evaluated."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return
    if isinstance(value, int | float):
        cell.value, cell.number_format = value, _format(value)
        return
    cell.value = plain(str(value))[:LONGEST_TEXT]
    cell.data_type = "s"  # openpyxl would store "=..." as a formula
    cell.quotePrefix = True


def _format(value: float) -> str:
    """Return the Excel format that shows a number with four digits."""
    size = abs(value)
    if size == int(size):
        return "General"
    if not 1e-4 <= size < 1e7:
        return "0.000E+00"
    decimals = max(0, 3 - math.floor(math.log10(size)))
    return "0." + "0" * decimals if decimals else "#,##0"


def _shown(value) -> str:
    """Return approximately the text that Excel displays for a value."""
    return f"{value:,.4g}" if isinstance(value, float) else str(value or "")
