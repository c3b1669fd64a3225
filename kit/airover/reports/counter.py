"""Write the counter's list of nameplates and the counter card as text, tables, JSON and pages."""

from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd

from airover.business.counter import Cover, card, fewest
from airover.core.cache import last_kept
from airover.core.files import write_files
from airover.core.texts import Writer
from airover.records.calls import Calls
from airover.records.catalog import CatalogMotor
from airover.records.nameplate import Nameplate
from airover.reports import printed, writing
from airover.reports.plain import changed_limits, listed, paragraphs, wrapped
from airover.reports.writing import table
from airover.selection.answer import CAUTIONS, Entry, Fitting
from airover.selection.check import ADAPT, FAIL, MISSING
from airover.selection.rules import DOES_NOT_FIT

# Nameplate fields to show, in this order.
SHOWN = ("voltage", "power", "current", "speed_rpm", "capacitor")
ROW = ("plate", "motor", "rating", "verdict", "chance", "adapt", "find out", "capacitor", "price")
LISTED = (
    "number", "reference", "quantity", "plate", "best", "second", "change", "ask", "price", "total",
)  # fmt: skip
WIDTHS = dict(zip(LISTED, (3, 10, 4, 29, 20, 20, 12, 14, 7, 8), strict=True))
OPTIONAL = ("reference", "quantity", "change", "ask", "total")  # columns shown if they have entries
RIGHT = ("number", "quantity", "price", "total")
WIDE = {"wide": True, "small": True}  # paper of the printed list
MOST = 2 / 3  # fraction of the nameplates for which a question is asked for the whole list


def counter_list(entries, writer: Writer, left_out=()) -> pd.DataFrame:
    """Return a table with one row for each combination of a nameplate and a motor that fits."""
    return table(counter_rows(entries, writer, left_out), "counter_list.column", writer, ROW)


def nameplate_line(plate: Nameplate, writer: Writer) -> str:
    """Return the nameplate on one line, as it appears in the list."""
    amounts = [getattr(plate, name) for name in SHOWN]
    words = [writer.value(amount) for amount in amounts if amount is not None]
    if plate.frame:
        words.append(writer("counter_list.frame", frame=plate.frame))
    if plate.kind:
        words.append(plate.kind)
    return ", ".join(words) or writer("counter_list.unread")


def counter_rows(entries, writer: Writer, left_out=()) -> list[dict]:
    """Return one row for each nameplate and motor, with the keys in ROW.

    Parameters
    ----------
    Omitted rows of the list and the catalog. They are added at the end with their reasons and the
    key "left_out".
    """
    rows = [row for entry in entries for row in _entry_rows(entry, writer)]
    for lost in (one.as_dict(writer) for one in left_out):
        for one in lost["left_out"]:
            plate = writer("left_out.row", line=one["line"], file=lost["file"])
            said = {"plate": plate, "motor": "", "verdict": writer("left_out.verdict")}
            source = {"table": lost["table"], "line": one["line"]}
            rows.append(said | {"adapt": one["reason"], "left_out": source})
    return rows


def counter_lines(entries, writer: Writer, calls: Calls | None = None) -> list[dict]:
    """Return one row for each nameplate on the list, in list order, with the keys in LISTED.

    Parameters
    ----------
    calls : optional
        Nameplates as read from the list, with references and quantities. By default, each entry is
        one nameplate.
    """
    known = [_counter_line(entry, writer) for entry in entries]
    need, references = _listed_as(entries, calls)
    quantities = calls.quantities if calls is not None else ()
    rows = []
    for number, (at, reference) in enumerate(zip(need, references, strict=True), 1):
        row = {"number": str(number), "reference": reference} | known[at]
        if quantities:
            units = quantities[number - 1]
            row |= {"quantity": str(units), "total": _total([(_best(entries[at]), units)])}
        rows.append({name: row[name] for name in LISTED})
    return rows


def _best(entry: Entry) -> CatalogMotor | None:
    return entry.fitting[0].candidate.case.motor if entry.fitting else None


def _counter_line(entry: Entry, writer: Writer) -> dict[str, str]:
    row = dict.fromkeys(LISTED[2:], "") | {"plate": nameplate_line(entry.job.nameplate, writer)}
    if not entry.fitting:
        return row | {"best": _no_motor(entry, writer)}
    best, *others = entry.fitting
    return row | {
        "best": _named(best, writer),
        "second": _named(others[0], writer) if others else "",
        "change": _names(best.candidate.having(ADAPT), writer),
        "ask": _asks(best.candidate.having(MISSING), writer),
        "price": _price(best.candidate.case.motor),
    }


def _named(one: Fitting, writer: Writer) -> str:
    case = one.candidate.case
    said = {"motor": case.motor.name, "rating": writer.amount(case.rating, "power")}
    if case.motor.capacitor is None:
        return writer("counter_line.motor", **said)
    size = writer.amount(case.motor.capacitor, "capacitance")
    return writer("counter_line.with_capacitor", capacitor=size, **said)


def _names(checks, writer: Writer) -> str:
    return ", ".join(writer(f"check.{check.name}").lower() for check in checks)


def _asks(checks, writer: Writer) -> str:
    """Return the questions for the customer, in a few words for each open check."""
    said = []
    for check in checks:
        own = f"counter_ask.{check.name}"
        key = own if writer.texts.has(own) else f"check.{check.name}"
        said.append(writer(key).lower())
    return ", ".join(dict.fromkeys(said))


def _asks_all(rows: list[dict]) -> list[str]:
    """Return the questions that apply to most nameplates, and remove them from the rows."""
    asks = [row["ask"].split(", ") for row in rows if row["ask"]]
    counts = Counter(one for ask in asks for one in ask)
    if len(asks) < 2:
        return []
    shared = [one for one, count in counts.items() if count >= MOST * len(asks)]
    for row in rows:
        row["ask"] = ", ".join(one for one in row["ask"].split(", ") if one not in shared)
    return shared


def counter_blocks(entries, writer: Writer, left_out=(), calls=None) -> list[dict]:
    """Return the counter list as blocks of `reports.printed`, with one line for each nameplate."""
    rows = counter_lines(entries, writer, calls)
    shared = _asks_all(rows)
    fields = [name for name in LISTED if name not in OPTIONAL or any(row[name] for row in rows)]
    headings = [writer(f"counter_line.{name}") for name in fields]
    blocks = []
    if shared:
        blocks.append(printed.strong(writer("counter_line.ask_all", asks=", ".join(shared))))
    widths = [WIDTHS[name] for name in fields]
    cells = [[row[name] for name in fields] for row in rows]
    right = [at for at, name in enumerate(fields) if name in RIGHT]
    blocks.append(printed.columns(headings, cells, widths, right=right))
    blocks += map(printed.text, _sum_said(entries, writer, calls))
    told = fewest_said(entries, writer, calls)
    if told:
        blocks += [printed.heading(writer("counter_line.fewest_title")), printed.listed(told)]
    notes = [
        *(writer(one.told) for one in left_out),
        *_unused(calls, writer),
        *changed_limits(entries[0].job.limits, writer),
        " ".join(writer(one) for one in CAUTIONS),
    ]
    return [*blocks, *map(printed.note, notes)]


def fewest_said(entries, writer: Writer, calls: Calls | None = None) -> list[str]:
    """Return the sentences about the smallest set of motors that covers the list."""
    found, several = _fewest_of(entries, calls), calls is not None and calls.quantities
    if not found.covers:
        return []
    covered = sum(len(lines) for lines in found.covers.values())
    counts = {"motors": len(found.covers), "lines": covered, "all": len(found.units)}
    said = [writer("counter_line.fewest", **counts)]
    if several:
        sold = [(motor, found.count(lines)) for motor, lines in found.covers.items()]
        said = [writer("counter_line.fewest_units", **counts, **_sum(sold, writer))]
    for motor, lines in found.covers.items():
        price = _price(motor) or writer("counter_line.no_price")
        values = {"motor": motor.name, "price": price, "lines": _numbers(lines)}
        if several:
            units = found.count(lines)
            values |= {"units": units, "total": _total([(motor, units)]) or values["price"]}
        said.append(writer(f"counter_line.fewest_line{'_units' if several else ''}", **values))
    if len(found.open):
        said.append(writer("counter_line.not_covered", lines=_numbers(found.open)))
    return said


@last_kept  # the text, the tables and the pages show the same set
def _fewest_of(entries, calls: Calls | None) -> Cover:
    need, _ = _listed_as(entries, calls)
    return fewest(entries, need, () if calls is None else calls.quantities)


def _sum_said(entries, writer: Writer, calls: Calls | None) -> list[str]:
    """Return the price of the best motor for every nameplate, if the list has quantities."""
    if calls is None or not calls.quantities:
        return []
    best = (_best(entries[at]) for at in calls.need)
    sold = [pair for pair in zip(best, calls.quantities, strict=True) if pair[0] is not None]
    if not sold:
        return []
    counts = {"models": len({id(motor) for motor, _ in sold}), "all": sum(calls.quantities)}
    return [writer("counter_line.sum", **counts, **_sum(sold, writer))]


def _sum(sold, writer: Writer) -> dict[str, str]:
    """Return the number of motors ``sold``, as pairs of a motor and its units, and their price."""
    total = _total(sold) or writer("counter_line.no_price")
    without = sum(units for motor, units in sold if motor.price is None)
    if without and any(motor.price is not None for motor, _ in sold):
        total = writer("counter_line.without_price", total=total, count=without)
    return {"units": sum(units for _, units in sold), "total": total}


def _total(sold) -> str:
    """Return the price of the motors ``sold``, or of each currency, without motors of no price."""
    totals = Counter()
    for motor, units in sold:
        if motor is not None and motor.price is not None:
            totals[motor.currency] += motor.price * units
    return " + ".join(f"{money:,.0f} {currency}" for currency, money in totals.items())


def _numbers(lines) -> str:
    """Return line numbers, counted from 1, with runs of three or more as ranges."""
    runs = []
    for line in lines:
        if runs and line == runs[-1][-1] + 1:
            runs[-1].append(line)
        else:
            runs.append([line])
    parts = []
    for run in runs:
        numbers = [str(one + 1) for one in run]
        parts += [f"{numbers[0]}-{numbers[-1]}"] if len(run) > 2 else numbers
    return ", ".join(parts)


def counter_page(entries, writer: Writer, left_out=(), calls: Calls | None = None) -> str:
    """Return the counter list as a printable page with one line for each nameplate."""
    writer = writer.for_print
    blocks = counter_blocks(entries, writer, left_out, calls)
    return printed.page(writer("counter_list.title"), blocks, writer, **WIDE)


def card_blocks(motors, writer: Writer) -> list[dict]:
    """Return the counter card: for each voltage, speed and power, the motor and its setting."""
    settings = card(motors)
    several = len({one.motor.frequency for one in settings}) > 1
    rows = [
        [
            volts_of(one.motor) + (f", {one.motor.frequency:.0f} Hz" if several else ""),
            f"{one.motor.speed_rpm:.0f}",
            writer.amount(one.rating, "power"),
            one.motor.name,
            writer.amount(one.current, "current"),
            _capacitor(one.motor, writer),
            _price(one.motor),
        ]
        for one in settings
    ]
    names = ("voltage", "speed", "power", "motor", "current", "capacitor", "price")
    headings = [writer(f"counter_card.{name}") for name in names]
    models = len({one.motor.name for one in settings})
    about = writer("counter_card.about", motors=models, count=len(rows))
    return [printed.text(about), printed.columns(headings, rows, (15, 8, 10, 24, 14, 13, 12))]


def volts_of(motor: CatalogMotor) -> str:
    """Return the rated voltage of a motor, such as "208-230"."""
    low, high = f"{motor.voltage_low:.0f}", f"{motor.voltage_high:.0f}"
    return low if low == high else f"{low}-{high}"


def _capacitor(motor: CatalogMotor, writer: Writer) -> str:
    return "" if motor.capacitor is None else writer.amount(motor.capacitor, "capacitance")


def counter_dict(entries, writer: Writer, left_out=(), calls: Calls | None = None) -> dict:
    """Return the list as a dict for JSON, with one entry for each nameplate, in list order."""
    need, references = _listed_as(entries, calls)
    cover = _fewest_of(entries, calls)
    motors = [
        [{name: row.get(name, "") for name in ROW[1:]} for row in _entry_rows(entry, writer)]
        if entry.fitting
        else []
        for entry in entries
    ]
    lines = [
        {
            "number": number,
            "reference": reference,
            "quantity": int(cover.units[number - 1]),
            "plate": nameplate_line(entries[at].job.nameplate, writer),
            "motors": motors[at],
            "no_motor": "" if motors[at] else _no_motor(entries[at], writer),
        }
        for number, (at, reference) in enumerate(zip(need, references, strict=True), 1)
    ]
    return {
        "nameplates": lines,
        "fewest": [
            {
                "motor": motor.name,
                "price": _price(motor),
                "quantity": cover.count(covered),
                "total": _total([(motor, cover.count(covered))]),
                "nameplates": [one + 1 for one in covered],
            }
            for motor, covered in cover.covers.items()
        ],
        "without_a_motor": [one + 1 for one in cover.open],
        "columns_not_used": [] if calls is None else list(calls.unused),
        "left_out": [one.as_dict(writer) for one in left_out],
    }


def _unused(calls: Calls | None, writer: Writer) -> list[str]:
    """Return a sentence about the columns of the list that were not read."""
    names = () if calls is None else calls.unused
    return [writer("counter_line.unused", columns=", ".join(names))] if names else []


def _listed_as(entries, calls: Calls | None):
    """Return the entry and the reference of each nameplate on the list."""
    need = np.arange(len(entries)) if calls is None else np.asarray(calls.need)
    told = calls is not None and calls.references
    return need, calls.references if told else [""] * len(need)


def _price(motor: CatalogMotor) -> str:
    return "" if motor.price is None else f"{motor.price:,.0f} {motor.currency}"


def counter_text(entries, writer: Writer, left_out=(), calls: Calls | None = None) -> str:
    """Return the counter list as text for a terminal, with one paragraph for each nameplate."""
    rows = counter_lines(entries, writer, calls)
    shared = _asks_all(rows)
    parts = [wrapped(writer("counter_line.ask_all", asks=", ".join(shared)))] if shared else []
    parts += [_entry_text(row, writer) for row in rows]
    parts += map(wrapped, _sum_said(entries, writer, calls))
    told = fewest_said(entries, writer, calls)
    parts.append(listed(writer("counter_line.fewest_title"), told))
    parts += [wrapped(writer(one.told)) for one in left_out]
    parts += map(wrapped, _unused(calls, writer))
    return paragraphs([*parts, *map(wrapped, changed_limits(entries[0].job.limits, writer))])


def write_counter_list(
    entries, folder: Path, writer: Writer, left_out=(), calls=None, stocked=()
) -> list[Path]:
    """Write the counter list and the counter card as CSV, printable pages and PDF.

    ``counter.csv`` contains all motors that fit, and ``counter-lines.csv`` contains one line for
    each nameplate. The card is written for the ``stocked`` motors.

    Raises
    ------
    InputError
        For the same reasons as in `write_stock`.
    """
    paper, title = writer.for_print, writer("counter_list.title")
    blocks = counter_blocks(entries, paper, left_out, calls)
    lines = counter_lines(entries, writer, calls)
    files = {
        "counter.csv": writing.csv(counter_list(entries, writer, left_out)),
        "counter-lines.csv": writing.csv(table(lines, "counter_line", writer, LISTED)),
        "counter.html": printed.page(title, blocks, paper, **WIDE),
        "counter.pdf": printed.pdf(title, blocks, paper, **WIDE),
    }
    if stocked:
        title, blocks = writer("counter_card.title"), card_blocks(stocked, paper)
        files["counter-card.html"] = printed.page(title, blocks, paper, small=True)
        files["counter-card.pdf"] = printed.pdf(title, blocks, paper, small=True)
    return write_files(folder, files, "out")


def _entry_rows(entry: Entry, writer: Writer) -> list[dict[str, str]]:
    """Return one row per motor, or a single row that explains why there are none."""
    plate = nameplate_line(entry.job.nameplate, writer)
    if entry.fitting:
        return [_fitting(plate, one, writer) for one in entry.fitting]
    verdict = _verdict(DOES_NOT_FIT, writer)
    return [{"plate": plate, "motor": "", "verdict": verdict, "adapt": _no_motor(entry, writer)}]


def _no_motor(entry: Entry, writer: Writer) -> str:
    """Return the reason that no motor is offered for a nameplate."""
    if entry.refused is not None:
        return writer.error(entry.refused)
    if entry.closest is None:
        return writer("counter_list.no_motor")
    checks = _names(entry.closest.having(FAIL), writer)
    return writer("counter_list.closest", motor=entry.closest.case.motor.name, checks=checks)


def _fitting(plate: str, one: Fitting, writer: Writer) -> dict[str, str]:
    candidate, motor = one.candidate, one.candidate.case.motor
    chance = writer("counter_list.unknown_chance")
    if one.chance is not None:
        chance = writer("counter_list.chance", share=f"{100 * one.chance:.0f}")
    return {
        "plate": plate,
        "motor": motor.name,
        "rating": writer.amount(candidate.case.rating, "power"),
        "verdict": _verdict(candidate.verdict, writer),
        "chance": chance,
        "adapt": _whys(candidate.having(ADAPT), writer),
        "find out": _whys(candidate.having(MISSING), writer),
        "capacitor": _capacitor(motor, writer),
        "price": _price(motor),
    }


def _verdict(verdict: str, writer: Writer) -> str:
    return writer(f"answer.verdict.{verdict}")


def _whys(checks, writer: Writer) -> str:
    return " ".join(writer(check.why) for check in checks)


def _entry_text(row: dict, writer: Writer) -> str:
    number, price, first = f"{row['number']}.", row["price"], (row["reference"], row["plate"])
    if row["quantity"]:
        wanted = writer("counter_line.wanted", count=row["quantity"])
        first = (", ".join(filter(None, (row["reference"], wanted))) + ":", row["plate"])
        if row["quantity"] != "1" and price:
            price = writer("counter_line.each", price=price, total=row["total"])
    lines = [row["best"] + (f" ({price})" if price else "")]
    for name in ("second", "change", "ask"):
        if row[name]:
            lines.append(f"{writer(f'counter_line.{name}')}: {row[name]}")
    return "\n".join([
        wrapped(" ".join(filter(None, (number, *first))), "", "    "),
        *(wrapped(line, "  ", "    ") for line in lines),
    ])  # fmt: skip
