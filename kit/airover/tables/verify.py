"""A verified motor as tables (pandas), in the language and units of a Writer."""

import pandas as pd

from airover.message import Quantity
from airover.texts import Writer
from airover.verify.readings import FIGURES, reading_name
from airover.verify.verified import Verified, percent

WORTH = 0.01  # bits, or of the variance, from which a reading is worth a row


def comparisons(found: Verified, write: Writer) -> pd.DataFrame:
    """One row for each reading and what it is compared with; questioned ones last."""
    rows = [
        (
            reading_label(found, one, write),
            write.value(one.text),
            write(
                "verify.table.of_expected" if one.against == "expected" else "verify.table.of_plate"
            ),
            allowed(one, write),
            write(f"verify.state.{one.state}"),
        )
        for one in found.judged
    ]
    left_out = write("verify.table.left_out")
    rows += [
        (reading_label(found, one, write), one.text, "", "", left_out) for one in found.questioned
    ]
    return _frame(rows, ("reading", "given", "beside", "allowed", "result"), write)


def inferred_figures(found: Verified, write: Writer) -> pd.DataFrame:
    """Figures that were not read: expected before, and inferred with the readings; 90 % ranges."""
    rows = [
        (
            write(f"verify.figure.{name}"),
            write.amount(found.bands_before[name], FIGURES[name]),
            write.amount(band, FIGURES[name]),
        )
        for name, band in found.bands.items()
    ]
    return _frame(rows, ("figure", "expected_before", "with_readings"), write)


def faults(found: Verified, write: Writer) -> pd.DataFrame:
    """Every fault with its chance before and after, and what to look at."""
    rows = [
        (
            write(one.name),
            write.value(percent(one.before)),
            write.value(percent(one.chance)),
            write(f"verify.state.{one.state}"),
            write(one.look),
        )
        for one in found.findings
    ]
    columns = ("may_be", "usual_chance", "with_readings", "result", "look_at")
    return _frame(rows, columns, write)


def next_figures(found: Verified, write: Writer, most: int = 5) -> pd.DataFrame:
    """Further readings, the most useful first."""
    rows = [
        (write(reading_name(one.name)), f"{one.bits:.2f}", write.amount(one.share, "share"))
        for one in found.next[:most]
        if max(one.bits, one.share) >= WORTH
    ]
    return _frame(rows, ("read", "bits", "variance"), write)


def reading_label(found: Verified, one, write: Writer) -> str:
    """Name of a reading, with its number where there are several."""
    name = reading_name(one.name)
    if len(found.measured.reading) < 2:
        return write(name)
    return write("verify.reading_in_table", name=name, number=one.moment + 1)


def allowed(one, write: Writer) -> str:
    """From low to high, or at most high."""
    if one.low is None:
        return write("verify.most", value=Quantity(one.high, one.kind))
    return write.range(one.low, one.high, one.kind)


def _frame(rows, names, write: Writer) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=[write(f"verify.table.{name}") for name in names])
