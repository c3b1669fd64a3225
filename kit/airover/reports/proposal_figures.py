"""Pictures of a proposal: small, calm, for paper; the same figure gives the same bytes.

Their words come from the caller, who knows the reader's language.
"""

import io
from typing import NamedTuple

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from airover.core.intervals import Band
from airover.reports.drawing import (
    LINE,
    PRINT_PLAIN,
    PRINT_SMALL,
    SHADE,
    THIN,
    frame,
    note,
    unframed,
)
from airover.reports.palette import INK

SIZE = (3.55, 2.1)  # inches
# Letters as outlines, so that no font of the reader's machine is asked for.
_SVG = {"svg.hashsalt": "airover", "svg.fonttype": "path"}
_NOTHING = {"Date": None, "Creator": None, "Format": None, "Type": None}


def svg(figure: Figure) -> bytes:
    """The picture as an SVG file without date, links or fonts."""
    picture = io.BytesIO()
    with matplotlib.rc_context(_SVG):
        figure.savefig(picture, format="svg", metadata=_NOTHING)
    return picture.getvalue()


class Amps(NamedTuple):
    """``current`` [A], a Band over ``voltage`` [V]; the ``line``'s low, usual and high voltage
    [V]; the ``plate``'s amps [A]."""

    voltage: np.ndarray
    current: Band
    line: tuple[float, float, float]
    plate: float


def amps(found: Amps, words: dict[str, str]) -> Figure:
    """Amps across voltage with their band, the plate's amps, and where the line lies.

    ``words``: across, up, plate, line, band.
    """
    figure, axes = _axes()
    low, mid, high = found.current
    axes.fill_between(found.voltage, low, high, **SHADE)
    axes.plot(found.voltage, mid, color=INK, lw=LINE)
    axes.axhline(found.plate, color=INK, ls="--", lw=THIN)
    bottom = min(low.min(), found.plate)
    top = max(high.max(), found.plate)
    axes.set(xlim=(found.voltage[0], found.voltage[-1]), xlabel=words["across"])
    axes.set(ylim=(bottom - 0.45 * (top - bottom), top + 0.2 * (top - bottom)), ylabel=words["up"])
    _label(axes, words["plate"], (found.voltage[0], found.plate), (3, 2), "left", "bottom")
    at = len(mid) // 3
    _label(axes, words["band"], (found.voltage[at], low.min()), (0, -3), "center", "top")
    _mark_line(axes, found.line, words["line"])
    return figure


def _mark_line(axes, line, word: str) -> None:
    """A bar at the foot from the line's lowest to its highest voltage, a dot at the usual one."""
    at_foot = axes.get_xaxis_transform()
    low, usual, high = line
    axes.plot([low, high], [0.07, 0.07], "|-", color=INK, lw=THIN, ms=6, transform=at_foot)
    axes.plot([usual], [0.07], "o", color=INK, ms=3.5, transform=at_foot)
    sides = {"ha": "right", "va": "center", "xycoords": at_foot}
    note(axes, word, (low, 0.07), (-5, 0), size=PRINT_SMALL, **sides)


class Bar(NamedTuple):
    """One option: what it is called, a figure's band and its limit (None if not known)."""

    name: str
    band: Band
    limit: float | None
    limit_word: str


def against_limit(bars: list[Bar], across: str) -> Figure:
    """A band for each option, and the limit that each has to stay under."""
    figure, axes = _axes("x")
    places = range(len(bars) - 1, -1, -1)
    for place, bar in zip(places, bars, strict=True):
        low, mid, high = bar.band
        axes.barh(place, high - low, left=low, height=0.34, **SHADE)
        axes.plot([mid], [place], "o", color=INK, ms=4.5)
        if bar.limit is not None:
            axes.plot([bar.limit] * 2, [place - 0.34, place + 0.34], color=INK, lw=LINE)
            _label(axes, bar.limit_word, (bar.limit, place + 0.36), (2, 0), "right", "bottom")
    ends = [end for bar in bars for end in (*bar.band, bar.limit) if end is not None]
    room = max(ends) - min(ends)
    axes.set(xlim=(min(ends) - 0.12 * room, max(ends) + 0.1 * room), xlabel=across)
    axes.set(ylim=(-0.6, len(bars) - 0.25), yticks=list(places))
    axes.set_yticklabels([bar.name for bar in bars])
    unframed(axes, "y")
    return figure


def _axes(grid: str = "both"):
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    frame(axes, grid, PRINT_SMALL, PRINT_PLAIN)
    axes.locator_params(nbins=6)
    return figure, axes


def _label(axes, word, place, away, side, height) -> None:
    note(axes, word, place, away, size=PRINT_SMALL, ha=side, va=height)


def font_folder() -> str:
    """The folder of the fonts that come with matplotlib."""
    return str(matplotlib.get_data_path() + "/fonts/ttf")
