"""The picture of a verified motor: each reading on its expected band, and what it may be."""

from matplotlib.figure import Figure

from airover.figures.palette import EDGE, FAN, INK, PALE, PAPER, SOFT
from airover.figures.style import DOTS, LINE, SHADE, SMALL, THIN, frame, note, title, unframed
from airover.message import Message
from airover.tables.verify import reading_label
from airover.texts import Writer
from airover.verify.faults import HEALTHY
from airover.verify.judged import JudgedReading
from airover.verify.verified import Verified, percent

DPI = DOTS
LONG = 6.6  # inches
ROW = 0.48  # inches for a reading, or a fault
FARTHEST = 3.0  # half widths, beyond which a reading is drawn at the edge
MARKS = {"agrees": "o", "cannot tell yet": "s", "differs": "D"}
MOST_FAULTS = 4


def beside_expected(found: Verified, write: Writer) -> Figure:
    """Readings on the bands that were expected of them, words on each; under it the faults."""
    rows = [one for one in found.judged if one.against == "expected"]
    faults = found.findings[:MOST_FAULTS]
    heights = (max(len(rows), 1), len(faults) + 1)
    figure = Figure(figsize=(LONG, ROW * sum(heights) + 2.1), dpi=DPI, layout="constrained")
    readings, chances = figure.subplots(2, height_ratios=heights)
    _draw_readings(readings, found, rows, write)
    _draw_chances(chances, found, faults, write)
    return figure


def _draw_readings(axes, found: Verified, rows: list[JudgedReading], write: Writer) -> None:
    title(axes, write("verify.picture.readings"))
    for place, one in enumerate(rows):
        _draw_row(axes, write, place, one)
    if not rows:
        axes.text(0, 0, write("verify.picture.nothing"), ha="center", va="center", color=INK)
    axes.set_yticks(range(len(rows)), [reading_label(found, one, write) for one in rows])
    axes.set(
        xlim=(-FARTHEST - 0.25, FARTHEST + 2.6),
        ylim=(max(len(rows), 1) - 0.3, -0.6),
        xlabel=write("verify.picture.half_widths"),
        ylabel=write("verify.picture.reading"),
    )
    axes.set_xticks(range(-3, 4))
    _bare(axes)


def _draw_row(axes, write: Writer, place: int, one: JudgedReading) -> None:
    """The band as a bar with the values of its ends, the reading as a mark with its word."""
    axes.barh(place, 2, left=-1, height=0.4, **SHADE)
    for end, value in ((-1, one.low), (1, one.high)):
        axes.text(
            end, place + 0.25, write.amount(value, one.kind), ha="center", va="top",
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
    words = write(key, text=one.text, state=Message(f"verify.state.{one.state}"))
    axes.text(FARTHEST + 0.35, place, words, va="center", ha="left", fontsize=SMALL, color=color)


def _draw_chances(axes, found: Verified, faults, write: Writer) -> None:
    named = [(HEALTHY, found.chance_expected), *((one.key, one.chance) for one in faults)]
    if found.known is None:
        named = []
        axes.text(50, 0, write("verify.picture.stands"), ha="center", va="center", color=INK)
    for place, (_, chance) in enumerate(named):
        fill = {"color": PALE, "hatch": "" if place == 0 else "///", "edgecolor": EDGE}
        axes.barh(place, 100 * chance, height=0.55, **fill)
        note(axes, write.value(percent(chance)), (100 * chance, place), (4, 0), va="center")
    names = [write(f"verify.short_fault.{key}") for key, _ in named]
    axes.set_yticks(range(len(named)), names)
    axes.set(xlim=(0, 118), ylim=(max(len(named), 1) - 0.4, -0.6))
    axes.set(xlabel=write("verify.picture.chance"), ylabel=write("verify.picture.may_be"))
    axes.set_xticks(range(0, 101, 20))
    title(axes, write("verify.picture.chances"))
    _bare(axes)


def _bare(axes) -> None:
    frame(axes, "x")
    unframed(axes, "y")
