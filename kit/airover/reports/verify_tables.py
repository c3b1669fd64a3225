"""Write the verification of a motor as tables (pandas), a figure, and files.

The figure shows each reading against its expected range, and the fault probabilities.
"""

from pathlib import Path

import pandas as pd

from airover.core.files import json_text, write_files
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.reports import drawing, writing
from airover.reports.drawing import (
    DOTS,
    LINE,
    SHADE,
    SMALL,
    THIN,
    Figure,
    frame,
    note,
    title,
    unframed,
)
from airover.reports.palette import EDGE, FAN, INK, PALE, PAPER, SOFT
from airover.reports.verify import verified_dict, verify_report
from airover.reports.writing import table
from airover.service.judgment import JudgedReading
from airover.service.readings import FIGURES, HEALTHY, reading_name
from airover.service.verification import Verified, percent

WORTH = 0.01  # minimum bits or fraction of the variance for a row
DPI = DOTS
LONG = 6.6  # inches
ROW = 0.48  # inches per reading or fault
FARTHEST = 3.0  # half widths; a reading beyond them is plotted at the edge
MARKS = {"agrees": "o", "cannot tell yet": "s", "differs": "D"}
MOST_FAULTS = 4


def comparisons(found: Verified, writer: Writer) -> pd.DataFrame:
    """Return a table of the readings and comparisons, with questionable readings last."""
    rows = [
        (
            reading_label(found, one, writer),
            writer.value(one.text),
            writer(
                "verify.table.of_expected" if one.against == "expected" else "verify.table.of_plate"
            ),
            allowed(one, writer),
            writer(f"verify.state.{one.state}"),
        )
        for one in found.judged
    ]
    left_out = writer("verify.table.left_out")
    rows += [
        (reading_label(found, one, writer), writer.value(one.text), "", "", left_out)
        for one in found.questioned
    ]
    return table(rows, "verify.table", writer, ("reading", "given", "beside", "allowed", "result"))


def inferred_figures(found: Verified, writer: Writer) -> pd.DataFrame:
    """Return the 90 % ranges of unmeasured values before and after the readings."""
    rows = [
        (
            writer(f"verify.figure.{name}"),
            writer.amount(found.bands_before[name], FIGURES[name]),
            writer.amount(band, FIGURES[name]),
        )
        for name, band in found.bands.items()
    ]
    return table(rows, "verify.table", writer, ("figure", "expected_before", "with_readings"))


def faults(found: Verified, writer: Writer) -> pd.DataFrame:
    """Return each fault with its probability before and after the readings, and the advice."""
    rows = [
        (
            writer(one.name),
            writer.value(percent(one.before)),
            writer.value(percent(one.chance)),
            writer(f"verify.state.{one.state}"),
            writer(one.look),
        )
        for one in found.findings
    ]
    columns = ("may_be", "usual_chance", "with_readings", "result", "look_at")
    return table(rows, "verify.table", writer, columns)


def next_figures(found: Verified, writer: Writer, most: int = 5) -> pd.DataFrame:
    """Return additional readings to take, most useful first."""
    rows = [
        (writer(reading_name(one.name)), f"{one.bits:.2f}", writer.amount(one.share, "share"))
        for one in found.next[:most]
        if max(one.bits, one.share) >= WORTH
    ]
    return table(rows, "verify.table", writer, ("read", "bits", "variance"))


def reading_label(found: Verified, one, writer: Writer) -> str:
    """Return the name of a reading, with its number if there are several."""
    name = reading_name(one.name)
    if len(found.measured.reading) < 2:
        return writer(name)
    return writer("verify.reading_in_table", name=name, number=one.moment + 1)


def allowed(one, writer: Writer) -> str:
    """Format an allowed range as "low to high" or "at most high"."""
    if one.low is None:
        return writer("verify.most", value=Quantity(one.high, one.kind))
    return writer.range(one.low, one.high, one.kind)


def beside_expected(found: Verified, writer: Writer) -> Figure:
    """Plot the readings against their expected ranges, with the faults below."""
    rows = [one for one in found.judged if one.against == "expected"]
    faults = found.findings[:MOST_FAULTS]
    heights = (max(len(rows), 1), len(faults) + 1)
    figure = Figure(figsize=(LONG, ROW * sum(heights) + 2.1), dpi=DPI, layout="constrained")
    readings, chances = figure.subplots(2, height_ratios=heights)
    _draw_readings(readings, found, rows, writer)
    _draw_chances(chances, found, faults, writer)
    return figure


def write_verified(found: Verified, folder: Path, writer: Writer) -> list[Path]:
    """Write all results in ``found`` to ``folder`` and return the paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    files = {
        "verified.txt": verify_report(found, writer),
        "verified.json": json_text(verified_dict(found, writer.in_english)) + "\n",
        "readings.csv": writing.csv(comparisons(found, writer)),
        "inferred.csv": writing.csv(inferred_figures(found, writer)),
        "faults.csv": writing.csv(faults(found, writer)),
        "readings.png": drawing.png(beside_expected(found, writer)),
    }
    return write_files(folder, files, "out")


def _draw_readings(axes, found: Verified, rows: list[JudgedReading], writer: Writer) -> None:
    title(axes, writer("verify.picture.readings"))
    for place, one in enumerate(rows):
        _draw_row(axes, writer, place, one)
    if not rows:
        axes.text(0, 0, writer("verify.picture.nothing"), ha="center", va="center", color=INK)
    axes.set_yticks(range(len(rows)), [reading_label(found, one, writer) for one in rows])
    axes.set(
        xlim=(-FARTHEST - 0.25, FARTHEST + 2.6),
        ylim=(max(len(rows), 1) - 0.3, -0.6),
        xlabel=writer("verify.picture.half_widths"),
        ylabel=writer("verify.picture.reading"),
    )
    axes.set_xticks(range(-3, 4))
    _bare(axes)


def _draw_row(axes, writer: Writer, place: int, one: JudgedReading) -> None:
    """Plot the range as a bar with its limits, and the reading as a labeled marker."""
    axes.barh(place, 2, left=-1, height=0.4, **SHADE)
    for end, value in ((-1, one.low), (1, one.high)):
        axes.text(
            end, place + 0.25, writer.amount(value, one.kind), ha="center", va="top",
            fontsize=SMALL, color=SOFT,
        )  # fmt: skip
    at = 2 * (one.value - one.low) / (one.high - one.low) - 1
    shown_at = min(max(at, -FARTHEST), FARTHEST)
    color = INK if one.state == "agrees" else FAN
    wide = 2 * one.limit / (one.high - one.low)
    axes.errorbar(
        shown_at, place, xerr=min(wide, 1.5), fmt=MARKS[one.state], color=color, ms=7,
        mfc=PAPER, mew=LINE, capsize=3, lw=THIN, zorder=3,
    )  # fmt: skip
    key = "verify.picture.told" if shown_at == at else "verify.picture.told_far"
    words = writer(key, text=one.text, state=Message(f"verify.state.{one.state}"))
    axes.text(FARTHEST + 0.35, place, words, va="center", ha="left", fontsize=SMALL, color=color)


def _draw_chances(axes, found: Verified, faults, writer: Writer) -> None:
    named = [(HEALTHY, found.chance_expected), *((one.key, one.chance) for one in faults)]
    if found.known is None:
        named = []
        axes.text(50, 0, writer("verify.picture.stands"), ha="center", va="center", color=INK)
    for place, (_, chance) in enumerate(named):
        fill = {"color": PALE, "hatch": "" if place == 0 else "///", "edgecolor": EDGE}
        axes.barh(place, 100 * chance, height=0.55, **fill)
        note(axes, writer.value(percent(chance)), (100 * chance, place), (4, 0), va="center")
    names = [writer(f"verify.short_fault.{key}") for key, _ in named]
    axes.set_yticks(range(len(named)), names)
    axes.set(xlim=(0, 118), ylim=(max(len(named), 1) - 0.4, -0.6))
    axes.set(xlabel=writer("verify.picture.chance"), ylabel=writer("verify.picture.may_be"))
    axes.set_xticks(range(0, 101, 20))
    title(axes, writer("verify.picture.chances"))
    _bare(axes)


def _bare(axes) -> None:
    frame(axes, "x")
    unframed(axes, "y")
