"""The picture of a verified motor: each reading on its expected band, and what it may be."""

from matplotlib.figure import Figure

from airover.figures.palette import EDGE, FAN, INK, PALE, PAPER, SOFT
from airover.figures.style import DOTS, LINE, SHADE, SMALL, THIN, frame, note, title, unframed
from airover.verify.judged import Judged
from airover.verify.readings import READINGS, told
from airover.verify.verified import Verified, percent

DPI = DOTS
LONG = 6.6  # inches
ROW = 0.48  # inches for a reading, or a fault
FARTHEST = 3.0  # half widths, beyond which a reading is drawn at the edge
MARKS = {"agrees": "o", "cannot tell yet": "s", "differs": "D"}
MOST_FAULTS = 4


def beside_expected(found: Verified) -> Figure:
    """Readings on the bands that were expected of them, words on each; under it the faults."""
    rows = [one for one in found.judged if one.against == "expected"]
    faults = [one for one in found.findings[:MOST_FAULTS]]
    heights = (max(len(rows), 1), len(faults) + 1)
    figure = Figure(figsize=(LONG, ROW * sum(heights) + 2.1), dpi=DPI, layout="constrained")
    readings, chances = figure.subplots(2, height_ratios=heights)
    _draw_readings(readings, found, rows)
    _draw_chances(chances, found, faults)
    return figure


def _draw_readings(axes, found: Verified, rows: list[Judged]) -> None:
    title(axes, "Read, on what was expected before")
    for place, one in enumerate(rows):
        _draw_row(axes, found.system, place, one)
    if not rows:
        axes.text(0, 0, "nothing to compare", ha="center", va="center", color=INK)
    several = len(found.measured.reading) > 1
    names = [
        f"{READINGS[one.name].words}, {one.moment + 1}" if several else READINGS[one.name].words
        for one in rows
    ]
    axes.set_yticks(range(len(rows)), names)
    axes.set(
        xlim=(-FARTHEST - 0.25, FARTHEST + 2.6),
        ylim=(max(len(rows), 1) - 0.3, -0.6),
        xlabel="from the middle of what was expected [half widths of 9 cases of 10]",
        ylabel="reading",
    )
    axes.set_xticks(range(-3, 4))
    _bare(axes)


def _draw_row(axes, system: str, place: int, one: Judged) -> None:
    """The band as a bar with the values of its ends, the reading as a mark with its word."""
    axes.barh(place, 2, left=-1, height=0.4, **SHADE)
    shown = READINGS[one.name]
    for end, value in ((-1, one.low), (1, one.high)):
        axes.text(
            end, place + 0.25, told(shown.kind, value, system), ha="center", va="top",
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
    words = f"{one.text}: {one.state}" + (", farther than drawn" if shown_at != at else "")
    axes.text(FARTHEST + 0.35, place, words, va="center", ha="left", fontsize=SMALL, color=color)


def _draw_chances(axes, found: Verified, faults) -> None:
    named = [("as expected", found.chance_expected), *((one.key, one.chance) for one in faults)]
    if found.known is None:
        named = []
        axes.text(50, 0, "it stands: nothing more can be told", ha="center", va="center", color=INK)
    for place, (_, chance) in enumerate(named):
        fill = {"color": PALE, "hatch": "" if place == 0 else "///", "edgecolor": EDGE}
        axes.barh(place, 100 * chance, height=0.55, **fill)
        note(axes, percent(chance), (100 * chance, place), (4, 0), va="center")
    axes.set_yticks(range(len(named)), [name for name, _ in named])
    axes.set(xlim=(0, 118), ylim=(max(len(named), 1) - 0.4, -0.6), xlabel="chance [%]")
    axes.set_ylabel("what it may be")
    axes.set_xticks(range(0, 101, 20))
    title(axes, "What the readings make of it")
    _bare(axes)


def _bare(axes) -> None:
    frame(axes, "x")
    unframed(axes, "y")
