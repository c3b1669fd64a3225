"""The entrances of tables with any headings, and of nameplates as text."""

import datetime
import io
from functools import partial
from pathlib import Path
from random import Random

import openpyxl

from airover.business.fleet_files import units_file
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.records.importing import (
    CALLS,
    CATALOG,
    NAMEPLATES,
    UNITS,
    import_table,
    open_calls,
    open_catalog,
    open_table,
)
from airover.records.nameplate_text import read_nameplate
from airover.records.sheets import sheet_of
from airover.records.tables import left_out_of
from airover.reports.importing import as_file, import_dict, left_out_table
from tests.fuzz import samples
from tests.fuzz.entrance import Entrance
from tests.fuzz.mutate import hostile_text
from tests.fuzz.rules import is_sentence

TABLES = Path(__file__).parents[1] / "records" / "tables"
HEADINGS = (
    "Part #", "HP", "Volts", "FLA", "RPM", "MFD/VAC", "Rotation", "Date", "Price", "Notes", "Amb",
    "Shaft (in)", "Unit", "", "Weight kg", "Potencia (W)", "Fecha", "Sunday", "=1+1",
)  # fmt: skip
CELLS = (
    "1/4", "208-230", "1.5", "1,5", "1075", "1.075", "7.5/370", "CCWLE", "2025-07-14", "45474",
    "99/99/9999", "$1.234,50", "1.234.567,89", "N/A", "60C", '1/2" x 6"', "=SUM(A1:A9)", "#REF!",
    "9" * 400, "1e308", "-1", "0", "\u0661/\u0664", "HP 1/3 V 208-230", "1/0", "nan", "inf",
    "12/31/0000", "31.02.2025", "(1)", "5/5/5/5", "-,5",
)  # fmt: skip


def told(found) -> dict:
    """The table as a file and for JSON; every reason is a sentence."""
    _, good = as_file(found, "Shop")
    for one in found.problems:
        if isinstance(one.reason, InputError):
            is_sentence(one.reason)
    left_out_table(found, Writer("es"))
    assert good + len(found.left_out) == len(found.sheet.rows)
    return import_dict(found, Writer(), good, {})


def catalog_read(path: Path) -> list:
    motors = open_catalog(path)
    return [*(one.as_dict(Writer("es")) for one in left_out_of(motors)), len(motors)]


def calls_read(dated: bool, path: Path) -> list:
    calls = open_calls(path, dated)
    return [*(one.as_dict(Writer()) for one in left_out_of(calls)), len(calls)]


def units_read(path: Path) -> int:
    return len(units_file(open_table(UNITS, path)))


def imported(table: str, path: Path) -> dict:
    return told(import_table(table, sheet_of("shop.xlsx", path.read_bytes(), "", 10_000_000)))


def nameplate_read(path: Path) -> dict:
    return read_nameplate(path.read_text("utf-8", "replace")).fields


def workbook_drawn(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A workbook of two sheets: titles, headings in one or two rows, odd cells, merged cells."""
    book = openpyxl.Workbook()
    for sheet in (book.active, book.create_sheet(rng.choice(("2", "'", "a" * 31)))):
        width = rng.randrange(1, 14)
        for _ in range(rng.randrange(3)):
            sheet.append([clean(hostile_text(rng))])
        for _ in range(rng.randrange(1, 3)):
            sheet.append([rng.choice(HEADINGS) for _ in range(width)])
        for _ in range(rng.randrange(12)):
            sheet.append([cell(rng) for _ in range(width)])
        if rng.random() < 0.3:
            sheet.merge_cells(
                start_row=1, end_row=rng.randrange(1, 5), start_column=1, end_column=3
            )
    out = io.BytesIO()
    book.save(out)
    content = bytearray(out.getvalue())
    if rng.random() < 0.1:  # damaged
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
    return bytes(content)


def cell(rng: Random):
    day = datetime.datetime(2025, rng.randrange(1, 13), rng.randrange(1, 28), rng.randrange(24))
    odd = (None, True, day, day.time(), rng.random(), 10.0**300, -5, rng.randrange(10**9))
    return rng.choice(
        (rng.choice(CELLS), rng.choice(CELLS), rng.choice(odd), clean(hostile_text(rng)))
    )


def clean(text: str) -> str:
    """``text`` without the characters that a workbook cannot hold."""
    return openpyxl.cell.cell.ILLEGAL_CHARACTERS_RE.sub("", text)[:30_000]


def of(*names: str) -> tuple[bytes, ...]:
    return tuple((TABLES / name).read_bytes() for name in names)


def tables() -> tuple[Entrance, ...]:
    match = (
        b'table = "catalog"\n[columns]\n"Item #" = "model"\n"FLA" = "current [A]"\n"RPM" = ""\n',
    )
    prices = samples.files("start/price-list.csv")
    plates = (b"HP 1/3 V 208-230 A 1.9 RPM 1075 CAP 7.5/370 CL B AMB 60C CCWLE 48Y FR TEAO PSC",
              b"Potencia 1/4 HP\nVoltaje 208-230 V\nA 1,5\nRPM 1.075\n45/5/440 MFD INS F")  # fmt: skip
    return (
        Entrance("tables, catalogs", "shop.csv", (*prices, *of("prices-copper-pine.csv", "precios-nopal.csv")),
                 catalog_read, share=3),
        Entrance("tables, calls", "shop.csv", of("calls-high-desert.csv", "servicios-costa.csv"),
                 partial(calls_read, True), share=3),
        Entrance("tables, nameplates", "shop.csv", of("plates-counter.csv", "placas-taller.csv"),
                 partial(calls_read, False), share=2),
        Entrance("tables, units", "shop.csv", of("units-lakeside.csv", "equipos-hotel.txt"), units_read,
                 share=2),
        Entrance("tables, matches", "shop.columns.toml", match,
                 lambda path: catalog_read(path.with_name("shop.csv")), beside=(("shop.csv", prices[0]),)),
        *(Entrance(f"workbooks, {kind}", "shop.xlsx", (b"",), partial(imported, kind), share=0.5,
                   make=workbook_drawn) for kind in (CATALOG, CALLS, NAMEPLATES, UNITS)),
        Entrance("nameplates as text", "plate.txt", plates, nameplate_read, share=4),
    )  # fmt: skip
