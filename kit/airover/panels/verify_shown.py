"""A verified motor in pieces of HTML as its panel places them."""

from airover.figures.drawing import png
from airover.figures.verify import DPI, beside_expected
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports.verify import fault_lines, next_text, remark_lines
from airover.tables import verify as tables_verify
from airover.texts import Writer
from airover.verify.judged import AGREES, DIFFERS
from airover.verify.verified import Verified

_BARS = {AGREES: "fits", DIFFERS: "does not fit"}
HOW_TO_READ = (
    "Read at one moment, once the motor has run for half an hour. Write every digit that the meter "
    "shows, with its unit: what it can tell depends on them. Leave empty what was not read. "
    "Measuring on live parts is for persons who are licensed and equipped for it."
)
OHMS = (
    "Locked out and discharged, between the same two leads of the main winding: cold, after hours "
    "of standing, and again within half a minute of switching off; several values, with the "
    "seconds since then, are drawn back."
)
ACCURACY = "Empty: a usual class of meter is assumed, and said."


def verdict(found: Verified, write: Writer) -> str:
    invented = found.measured.invented or found.job.invented
    told = [next_text(found, write), "Invented scenario and motors." * invented]
    bar = _BARS.get(found.state, "fits with work")
    return style.verdict(bar, write(found.verdict), " ".join(filter(None, told)))


def picture(found: Verified, write: Writer) -> Picture:
    states = [
        f"{write.value(one.text)} {one.state}" for one in found.judged if one.against == "expected"
    ]
    words = f"Readings on the bands that were expected: {', '.join(states) or 'none'}. Chances: "
    return Picture(
        png(beside_expected(found, write), DPI), words + f"{'; '.join(fault_lines(found, write))}"
    )


def remarks(found: Verified, write: Writer) -> str:
    questioned = [write(one.sentence) for one in found.questioned]
    seen = [line[0].upper() + line[1:] for line in remark_lines(found, write)]
    return style.listed("Questioned and left out", questioned) + style.listed(
        "Seen, and worked out of several readings", seen
    )


def comparisons(found: Verified, write: Writer) -> str:
    hint = (
        "Agrees: within what 9 of 10 such motors would show on this meter, or within the plate. "
        "Differs: beyond 99 of 100, or beyond the plate by more than the meter's error. Else "
        "nobody can tell yet."
    )
    table = style.table(tables_verify.comparisons(found, write), "figures")
    return style.heading("Each reading") + table + style.quiet(hint)


def inferred(found: Verified, write: Writer) -> str:
    """Nothing for a motor that stands."""
    if found.known is None:
        return ""
    return style.heading("What follows from them, 9 cases of 10") + style.table(
        tables_verify.inferred_figures(found, write), "figures"
    )


def faults(found: Verified, write: Writer) -> str:
    if found.known is None:
        return ""
    hint = (
        "Usual chances are engineering judgment; one fault at a time is looked for. Likely from 90 % on. "
        "Shorted turns here are watts that do not reach the shaft."
    )
    return (
        style.heading("What it may be")
        + style.table(tables_verify.faults(found, write))
        + style.quiet(hint)
    )


def next_readings(found: Verified, write: Writer) -> str:
    if not found.next:
        return ""
    hint = (
        f"{found.open_bits:.2f} bit are open about which fault it is, if any. What a reading is "
        "expected to tell is simulated from all that is still possible."
    )
    table = style.table(tables_verify.next_figures(found, write), "narrow")
    return style.heading("What to read next") + table + style.quiet(hint)


def cautions(found: Verified, write: Writer) -> str:
    return style.listed(
        "Before anyone touches or measures it", [write.value(one) for one in found.cautions]
    )
