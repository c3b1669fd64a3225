"""Pictures of a stock: calls fixed against money, and a plan's promise beside its replay."""

import textwrap

from matplotlib.figure import Figure

from airover.figures.palette import EDGE, INK, PALE, PAPER
from airover.figures.style import LEADER, LINE, SMALL, THIN, frame, note, title, unframed
from airover.stock.plan import TruckPlan
from airover.stock.study import StockStudy, mean_ends
from airover.tables.stock import ENDS
from airover.texts import Writer

SIZE = (6.2, 4.0)  # inches
TICK = 15  # characters of a line


def money_curve(found: StockStudy, write: Writer | None = None) -> Figure:
    """Share of calls fixed at the first visit against the money on one truck."""
    write = write or Writer()
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    reach = 100 - 100 * mean_ends(found.confirmed.forecasts)["none"]  # of the years planned by
    axes.axhline(reach, color=EDGE, lw=THIN, ls=":")
    note(axes, write("stock.picture.reach"), (0, reach), (5, 3))
    _line(axes, found.single, write("stock.picture.single"), "--", "s", -9)
    _line(axes, found.plans, write("stock.picture.all"), "-", "o", 4)
    _this_truck(axes, found, write)
    most = max(plan.money for plan in (found.plan, *found.plans, *found.single))
    axes.set(xlim=(0, 1.22 * most), ylim=(0, min(1.15 * reach + 5, 100)))
    axes.set_xlabel(write("stock.picture.money_axis", currency=found.currency))
    axes.set_ylabel(write("stock.picture.fixed_axis"))
    title(axes, write("stock.picture.money_title"))
    frame(axes, "y")
    return figure


def _this_truck(axes, found: StockStudy, write: Writer) -> None:
    """The plan with its forecast's band; its words stand low, where no curve is."""
    money, (low, mid, high) = found.plan.money, found.confirmed.forecast.scaled(100)
    axes.plot([money] * 2, [low, high], color=INK, lw=LINE, marker="_", ms=9)
    axes.plot(money, mid, "D", ms=9, mfc=PAPER, mec=INK, mew=1.6, zorder=5)
    shares = {"low": f"{low:.0f}", "mid": f"{mid:.0f}", "high": f"{high:.0f}"}
    told = write("stock.picture.this_truck", money=f"{money:.0f} {found.currency}", **shares)
    across = money / max(plan.money for plan in (found.plan, *found.plans))
    side = "left" if across < 0.3 else "right" if across > 0.85 else "center"
    low_down = {"textcoords": "data", "va": "bottom", "arrowprops": LEADER}
    note(axes, told, (money, low), (money, 1.5), ha=side, **low_down)


def _line(axes, plans: tuple[TruckPlan, ...], words: str, style: str, mark: str, up) -> None:
    money = [plan.money for plan in plans]
    fixed = [100 * plan.fresh for plan in plans]
    axes.plot(money, fixed, style, marker=mark, ms=4, color=INK, lw=THIN)
    note(axes, words, (money[-1], fixed[-1]), (7, up), va="center")


def replayed(found: StockStudy, write: Writer | None = None) -> Figure:
    """How a season's calls end: seasons sampled from the history beside the one held out."""
    write = write or Writer()
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    confirmed = found.confirmed
    sides = ((confirmed.forecasts, -0.19, PALE, ""), (confirmed.replays, 0.19, PAPER, "///"))
    for outcomes, shift, colour, hatch in sides:
        for place, name in enumerate(ENDS):
            shares = sorted(100 * getattr(one, name) for one in outcomes)
            mean = sum(shares) / len(shares)
            bar = {"color": colour, "hatch": hatch, "edgecolor": EDGE, "width": 0.36}
            axes.bar(place + shift, mean, **bar)
            ends = [shares[int(p * (len(shares) - 1))] for p in (0.05, 0.95)]
            axes.plot([place + shift] * 2, ends, color=INK, lw=THIN, marker="_", ms=6)
            text = {"ha": "center", "va": "bottom", "fontsize": SMALL, "color": INK}
            axes.text(place + shift, ends[1] + 0.6, f"{mean:.0f}", **text)
    names = [textwrap.fill(write(f"stock.end.{end}"), TICK) for end in ENDS]
    axes.set_xticks(range(len(ENDS)), names)
    axes.set_xlabel(write("stock.picture.ends_axis"))
    axes.set_ylabel(write("stock.picture.share_axis"))
    title(axes, write("stock.picture.ends_title"))
    axes.set_ylim(0, 1.12 * axes.get_ylim()[1])
    frame(axes, "y")
    unframed(axes, "x")
    return figure
