"""The picture of a student's choice: amps across voltage, temperatures from the weather up, years.

Its words come from the caller, who knows the reader's language.
"""

from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure

from airover.bands import Band
from airover.figures.palette import INK, PALE
from airover.figures.style import LINE, SHADE, THIN, WIDE, frame, note, title, unframed

SIZE = (WIDE, 5.9)  # inches
MOST_YEARS = 40.0  # end of the axis of years


class Sweep(NamedTuple):
    """``current`` [A], a Band over ``voltage`` [V]; ``line`` low, usual and high [V]; the
    ``plate``'s amps [A]."""

    voltage: np.ndarray
    current: Band
    line: tuple[float, float, float]
    plate: float


class Rung(NamedTuple):
    """A temperature of the ladder: its ``name``, its ``band``, and a ``limit`` with its ``word``
    (None and "" where there is none), all in the unit shown."""

    name: str
    band: Band
    limit: float | None = None
    word: str = ""


class LifeBar(NamedTuple):
    """Years of one part: its ``name`` and ``band``, None where a ``word`` says why."""

    name: str
    band: Band | None
    word: str = ""


def choice(sweep: Sweep, ladder: list[Rung], years: list[LifeBar], words: dict[str, str]) -> Figure:
    """Amps against voltage, the ladder of temperatures with its limits, years as bands.

    ``words``: amps, volts_axis, amps_axis, plate, line, ladder, temp_axis, years, years_axis.
    """
    figure = Figure(figsize=SIZE, layout="constrained")
    amps, temps, lives = figure.subplots(3, 1, height_ratios=(1.35, 1.1, 0.75))
    _amps(amps, sweep, words)
    _ladder(temps, ladder, words)
    _years(lives, years, words)
    for axes in (amps, temps, lives):
        frame(axes, "both" if axes is amps else "x")
    unframed(temps, "y")
    unframed(lives, "y")
    return figure


def _amps(axes, sweep: Sweep, words) -> None:
    low, mid, high = sweep.current
    axes.fill_between(sweep.voltage, low, high, **SHADE)
    axes.plot(sweep.voltage, mid, color=INK, lw=LINE)
    axes.axhline(sweep.plate, color=INK, ls="--", lw=THIN)
    bottom, top = min(low.min(), sweep.plate), max(high.max(), sweep.plate)
    room = max(top - bottom, 0.1 * top)
    axes.set(ylim=(bottom - 0.35 * room, top + 0.2 * room), ylabel=words["amps_axis"])
    axes.set(xlim=(sweep.voltage[0], sweep.voltage[-1]), xlabel=words["volts_axis"])
    title(axes, words["amps"])
    end = int(np.argmax(np.abs(mid[[0, -1]] - sweep.plate)))  # where the line is far from it
    at = sweep.voltage[-end], ("left", "right")[end], (4, -4)[end]
    _label(axes, words["plate"], (at[0], sweep.plate), at[1], (at[2], 2))
    at_foot = axes.get_xaxis_transform()
    axes.plot(sweep.line[::2], [0.06, 0.06], "|-", color=INK, lw=THIN, ms=8, transform=at_foot)
    axes.plot(sweep.line[1], 0.06, "o", color=INK, ms=4, transform=at_foot)
    sides = {"ha": "right", "va": "center", "xycoords": at_foot}
    note(axes, words["line"], (sweep.line[0], 0.06), (-6, 0), **sides)


def _ladder(axes, ladder: list[Rung], words) -> None:
    places = np.arange(len(ladder))[::-1]
    for place, rung in zip(places, ladder, strict=True):
        _band(axes, place, rung.band)
        if rung.limit is not None:
            axes.plot([rung.limit] * 2, [place - 0.4, place + 0.4], color=INK, lw=2.2)
            beyond = max(rung.limit, rung.band.high)
            _label(axes, rung.word, (beyond, place), "left", (5, -5))
    ends = [end for rung in ladder for end in (*rung.band, rung.limit) if end is not None]
    room = max(ends) - min(ends)
    axes.set(xlim=(min(ends) - 0.06 * room, max(ends) + 0.24 * room), xlabel=words["temp_axis"])
    _named(axes, places, [rung.name for rung in ladder])
    title(axes, words["ladder"])


def _years(axes, years: list[LifeBar], words) -> None:
    places = np.arange(len(years))[::-1]
    for place, span in zip(places, years, strict=True):
        if span.band is None:
            _label(axes, span.word, (0.6, place), "left", (0, -3))
            continue
        ends = np.minimum(span.band, MOST_YEARS)
        _band(axes, place, Band(*ends), {"facecolor": PALE} if span.band.low > MOST_YEARS else {})
        if span.band.high > MOST_YEARS:
            axes.plot(MOST_YEARS, place, ">", color=INK, ms=7, clip_on=False)
    axes.set(xlim=(0, MOST_YEARS), xlabel=words["years_axis"])
    _named(axes, places, [span.name for span in years])
    title(axes, words["years"])


def _band(axes, place, band: Band, fill=None) -> None:
    """A bar from the low to the high end with a dot in the middle; a thin one still shows."""
    low, mid, high = band
    axes.barh(place, high - low, left=low, height=0.5, **SHADE | (fill or {}))
    axes.plot(mid, place, "o", color=INK, ms=4.5)


def _named(axes, places, names) -> None:
    axes.set(ylim=(-0.7, len(names) - 0.3), yticks=places)
    axes.set_yticklabels(names)


def _label(axes, word, place, side, away) -> None:
    note(axes, word, place, away, ha=side, va="bottom")
