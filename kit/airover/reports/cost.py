"""Write life-cycle costs as tables (pandas) of motors and inputs, and as figures.

All text is in the language and units of a ``writer``. Every bar segment has a label. Grays and
hatching are used only to separate the labeled segments.
"""

import numpy as np
import pandas as pd

from airover.business.cost_options import Drivers
from airover.business.life_cost import LifeCost, LifeCosts, cheaper, difference
from airover.core.texts import ENGLISH, Writer
from airover.reports.answer_tables import input_table
from airover.reports.drawing import BEHIND, SMALL, THIN, WIDE, Figure, frame, note, title, unframed
from airover.reports.palette import EDGE, INK, MIDDLE, PALE, PAPER
from airover.reports.writing import table

MOST_MOTORS, MOST_DRIVERS = 3, 7
# present costs, then later costs; the patterns separate adjacent segments in gray
GROUPS = {
    "today": (("motor", "materials", "labour", "visits"), MIDDLE, ""),
    "energy": (("energy of the motor", "compressor's extra energy"), PALE, "///"),
    "repairs": (("repairs",), PAPER, "..."),
}
LEAST_SHARE = 0.09  # minimum fraction of the axis for a label inside a bar segment


def options(
    costs: list[LifeCost], currency: str, years: int, writer: Writer = ENGLISH
) -> pd.DataFrame:
    """Return a table of ``costs`` as 90 % ranges, with differences from the first motor."""
    rows = [_row(cost, costs[0], writer) for cost in costs]
    return table(rows, "cost.table", writer, currency=currency, years=years)


def counted_with(
    costed: LifeCosts, costs: list[LifeCost], writer: Writer = ENGLISH
) -> pd.DataFrame:
    """Return a table of the life-cycle cost inputs for the motors in ``costs``, with sources."""
    shown = {"", *(cost.name for cost in costs)}
    return input_table([one for one in costed.inputs if one.motor in shown], writer)


def life_cost(found: LifeCosts, most: int = MOST_MOTORS, writer: Writer = ENGLISH) -> Figure:
    """Plot the expected cost of the first ``most`` motors by category.

    The plot also shows the 90 % range of each total.
    """
    costs = found.costs[:most]
    figure = Figure(figsize=(WIDE, 1.5 + 0.75 * len(costs)), layout="constrained")
    axes = figure.subplots()
    reach = 1.45 * max(cost.band.high for cost in costs)
    for row, cost in enumerate(costs):
        without = _stacked(axes, row, cost, reach, writer)
        low, _, high = cost.band
        axes.plot([low, high], [row + 0.36] * 2, color=INK, lw=THIN, marker="|", ms=7)
        mean, *ends = (writer.money(x) for x in (cost.mean, low, high))
        whole = writer("cost.table.range", mean=mean, low=ends[0], high=ends[1])
        words = "\n".join([whole, *without])
        axes.text(1.02 * high, row + 0.05, words, va="center", fontsize=SMALL, color=INK)
    axes.set_yticks(range(len(costs)), [_broken(cost.name) for cost in costs])
    axes.set(ylim=(len(costs) - 0.4, -0.55), xlim=(0, reach))
    value = {"years": found.horizon, "currency": found.currency}
    _finish(axes, writer("cost.figure.value", **value))
    axes.set_ylabel(writer("cost.figure.motor"))
    title(axes, writer("cost.figure.title"))
    return figure


def decides(found: Drivers, most: int = MOST_DRIVERS, writer: Writer = ENGLISH) -> Figure:
    """Plot the inputs that change the cost difference between two motors the most.

    To the right of zero, the second motor is cheaper; to the left, the first motor is cheaper.
    """
    shown = found.drivers[:most]
    figure = Figure(figsize=(WIDE, 1.9 + 0.5 * len(shown)), layout="constrained")
    axes = figure.subplots()
    ends = [end for one in shown for end in (one.at_low, one.at_high)] + [0.0, found.base]
    reach = 1.6 * max(map(abs, ends)) or 1.0
    for row, one in enumerate(shown):
        left, right = sorted((one.at_low, one.at_high))
        axes.barh(row, right - left, left=left, height=0.5, color=PALE, edgecolor=EDGE)
        for end, input_end in ((one.at_low, one.low), (one.at_high, one.high)):
            outside = (end > (left + right) / 2) if right > left else input_end is one.high
            side, away = ("left", 4) if outside else ("right", -4)
            note(axes, writer.value(input_end), (end, row), (away, 0), ha=side, va="center")
    axes.axvline(found.base, color=INK, lw=THIN, ls="--")
    axes.axvline(0, color=INK, lw=1.0)
    axes.set_yticks(range(len(shown)), [_broken(writer(one.name)) for one in shown])
    axes.set(ylim=(len(shown) - 0.4, -1.35), xlim=(-reach, reach))
    for name, side in ((found.first, "left"), (found.second, "right")):
        place = {"ha": side, "va": "center", "fontsize": SMALL, "color": INK}
        where = 0.98 * reach * (-1 if side == "left" else 1)
        axes.text(where, -0.85, f"{_broken(name)}\n{writer('cost.figure.cheaper')}", **place)
    _finish(axes, writer("cost.figure.difference", currency=found.currency))
    axes.set_ylabel(writer("cost.figure.input"))
    title(axes, writer("cost.figure.decides"))
    return figure


def _row(cost: LifeCost, first: LifeCost, writer: Writer) -> dict[str, str]:
    low, _, high = (writer.money(end, digits=2) for end in cost.band)
    apart = "" if cost is first else writer.money(difference(cost, first), digits=2)
    return {
        "motor": cost.name,
        "fit": writer(f"answer.verdict.{cost.candidate.verdict}"),
        "today": writer.money(float(cost.today.mean())),
        "over": writer("cost.table.range", mean=writer.money(cost.mean), low=low, high=high),
        "share": "" if cost is first else _of_100(cheaper(cost, first), writer),
        "less": apart,
        "failures": f"{sum(cost.failures.values()):.1f}",
        "untroubled": _of_100(cost.untroubled, writer),
        "energy": writer.amount(cost.energy, "two_digits"),
    }


def _of_100(share: float, writer: Writer) -> str:
    return writer("cost.table.of_100", share=f"{100 * share:.0f}")


def _stacked(axes, row, cost, reach, writer: Writer) -> list[str]:
    """Add the bar for one motor and return the labels that do not fit inside it."""
    start, without = 0.0, []
    for group, (names, colour, hatch) in GROUPS.items():
        width = float(sum(np.mean(cost.parts[name]) for name in names))
        if width <= 0:
            continue
        bar = {"color": colour, "hatch": hatch, "edgecolor": EDGE, "height": 0.54}
        axes.barh(row, width, left=start, **bar)
        told = (writer(f"cost.figure.{group}"), writer.money(width))
        if width > LEAST_SHARE * reach:
            place = {"ha": "center", "va": "center", "fontsize": SMALL, "color": INK}
            axes.text(start + width / 2, row, "\n".join(told), bbox=BEHIND, **place)
        else:
            without.append(" ".join(told))
        start += width
    return without


def _finish(axes, words: str) -> None:
    axes.set_xlabel(words)
    frame(axes, "x")
    unframed(axes, "y")


def _broken(name: str) -> str:
    """Split a long name into two lines at the space closest to its center."""
    spaces = [at for at, letter in enumerate(name) if letter == " "]
    if len(name) < 22 or not spaces:
        return name
    at = min(spaces, key=lambda place: abs(place - len(name) / 2))
    return f"{name[:at]}\n{name[at + 1 :]}"
