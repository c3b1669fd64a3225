"""Plot the winding temperatures and costs of the options in a proposal.

The caller supplies the labels in the reader's language. Identical figures produce identical files.
"""

from typing import NamedTuple

from airover.reports.drawing import (
    LINE,
    PRINT_PLAIN,
    PRINT_SMALL,
    Figure,
    frame,
    note,
    unframed,
)
from airover.reports.palette import EDGE, INK, MIDDLE, PALE, PAPER

SIZE = (3.55, 2.1)  # inches
FILLS = ((MIDDLE, ""), (PALE, "///"), (PAPER, ""))  # for the segments of a bar


class Bar(NamedTuple):
    """Value of one option.

    Attributes
    ----------
    name : str
        Name of the option.
    value, word
        Value of the bar and its label.
    limit, limit_word
        Limit, or None if unknown, and its label.
    """

    name: str
    value: float
    word: str
    limit: float | None
    limit_word: str


def against_limit(bars: list[Bar], across: str) -> Figure:
    """Plot a dot for each option, with its upper limit."""
    figure, axes = _axes("x")
    places = range(len(bars) - 1, -1, -1)
    ends = [end for bar in bars for end in (bar.value, bar.limit) if end is not None]
    width = max(max(ends) - min(ends), 0.05 * max(ends))
    for place, bar in zip(places, bars, strict=True):
        axes.plot([bar.value], [place], "o", color=INK, ms=5.5)
        _label(axes, bar.word, (bar.value, place), (0, 5), "center", "bottom")
        if bar.limit is not None:
            axes.plot([bar.limit] * 2, [place - 0.3, place + 0.3], color=INK, lw=LINE)
            _label(axes, bar.limit_word, (bar.limit, place), (4, 0), "left", "center")
    axes.set(xlim=(min(ends) - 0.35 * width, max(ends) + 0.9 * width), xlabel=across)
    _named(axes, [bar.name for bar in bars], 0.75)
    return figure


class Stack(NamedTuple):
    """Cost of one option.

    Attributes
    ----------
    parts : list[tuple[str, float]]
        Labels and amounts of the parts.
    whole : str
        Label of the total.
    """

    name: str
    parts: list[tuple[str, float]]
    whole: str


def stacked(stacks: list[Stack], across: str) -> Figure:
    """Plot a bar for each option, labeling the parts of the first bar."""
    figure, axes = _axes("x")
    places = range(len(stacks) - 1, -1, -1)
    longest = max(sum(amount for _, amount in one.parts) for one in stacks)
    for place, one in zip(places, stacks, strict=True):
        start = 0.0
        for (word, amount), (fill, hatch) in zip(one.parts, FILLS, strict=True):
            look = {"color": fill, "hatch": hatch, "edgecolor": EDGE, "lw": 0.7}
            axes.barh(place, amount, left=start, height=0.4, **look)
            if one is stacks[0] and amount > 0:
                middle = (start + amount / 2, place + 0.2)
                _label(axes, word, middle, (0, 3), "center", "bottom")
            start += amount
        _label(axes, one.whole, (start, place), (4, 0), "left", "center")
    axes.set(xlim=(0, 1.35 * longest), xlabel=across)
    axes.spines["left"].set_visible(False)  # the label of a narrow first part extends beyond it
    _named(axes, [one.name for one in stacks], 0.8)
    return figure


def _named(axes, names: list[str], above: float) -> None:
    """Label the bars with their names at the left edge, from top to bottom."""
    axes.set(ylim=(-0.6, len(names) - 1 + above), yticks=range(len(names) - 1, -1, -1))
    axes.set_yticklabels(names)
    unframed(axes, "y")


def _axes(grid: str = "both"):
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    frame(axes, grid, PRINT_SMALL, PRINT_PLAIN)
    axes.locator_params(nbins=6)
    return figure, axes


def _label(axes, word, place, away, side, height) -> None:
    note(axes, word, place, away, size=PRINT_SMALL, ha=side, va=height)
