"""Pictures of a stock: calls fixed against money, and a plan's promise beside its replay."""

from matplotlib.figure import Figure

from airover.figures import BEHIND, INK, SOFT
from airover.stock import Plan
from airover.stock_study import Study, mean_ends

PALE = "#dfe5ea"
# how a call ends, in words, from the best end on
ENDS = {
    "first": "first visit",
    "short": "carried,\nbut used up",
    "counter": "second visit,\nat the counter",
    "ordered": "second visit,\nordered",
    "none": "no motor\ndoes",
}


def money_curve(found: Study) -> Figure:
    """Share of calls fixed at the first visit against the money on one truck."""
    figure = Figure(figsize=(6.8, 4.2), layout="constrained")
    axes = figure.subplots()
    reach = 100 - 100 * mean_ends(found.confirmed.forecasts)["none"]  # of the years planned by
    axes.axhline(reach, color=SOFT, lw=1, ls=":")
    place = {"xytext": (5, 3), "textcoords": "offset points", "fontsize": 8.5}
    axes.annotate("all calls that any motor of the catalogue does for", (0, reach), **place)
    _line(axes, found.single, "motors of one rating only", "--", "s", (10, -16))
    _line(axes, found.plans, "all motors", "-", "o", (-12, 10))
    _this_truck(axes, found)
    axes.set(xlim=(0, None), ylim=(0, min(1.15 * reach + 5, 100)))
    axes.set_xlabel(f"money on one truck [{found.currency}]")
    axes.set_ylabel("calls fixed at the first visit [%]")
    axes.set_title(
        "What more on the truck fixes, of calls it was not planned by", loc="left", fontsize=11
    )
    _finish(axes)
    return figure


def _this_truck(axes, found: Study) -> None:
    """The plan with its forecast's band; its words stand low, where no curve is."""
    money, (low, mid, high) = found.plan.money, found.confirmed.forecast.scaled(100)
    axes.plot([money] * 2, [low, high], color=INK, lw=1.8, marker="_", ms=9)
    axes.plot(money, mid, "D", ms=9, mfc="white", mec=INK, mew=1.6, zorder=5)
    told = (
        f"this truck: {money:.0f} {found.currency},\n{mid:.0f} % of the calls ({low:.0f} to "
        f"{high:.0f}\nin 9 seasons of 10)"
    )
    across = money / max(plan.money for plan in (found.plan, *found.plans))
    side = "left" if across < 0.3 else "right" if across > 0.85 else "center"
    axes.annotate(
        told, (money, low), xytext=(money, 1.5), fontsize=9, ha=side, va="bottom",
        bbox=BEHIND, arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.8},
    )  # fmt: skip


def _line(axes, plans: tuple[Plan, ...], words: str, style: str, mark: str, offset) -> None:
    money = [plan.money for plan in plans]
    fixed = [100 * plan.fresh for plan in plans]
    axes.plot(money, fixed, style, marker=mark, ms=4, color=INK, lw=1.3)
    place = {"xytext": offset, "textcoords": "offset points", "fontsize": 8.5, "bbox": BEHIND}
    axes.annotate(words, (money[-1], fixed[-1]), ha="right", color=INK, **place)


def replayed(found: Study) -> Figure:
    """How a season's calls end: seasons drawn from the history beside the one held out."""
    figure = Figure(figsize=(6.8, 3.8), layout="constrained")
    axes = figure.subplots()
    confirmed = found.confirmed
    sides = ((confirmed.forecasts, -0.19, PALE, ""), (confirmed.replays, 0.19, "white", "///"))
    for outcomes, shift, colour, hatch in sides:
        for place, name in enumerate(ENDS):
            shares = sorted(100 * getattr(one, name) for one in outcomes)
            mean = sum(shares) / len(shares)
            bar = {"color": colour, "hatch": hatch, "edgecolor": SOFT, "width": 0.36}
            axes.bar(place + shift, mean, **bar)
            ends = [shares[int(p * (len(shares) - 1))] for p in (0.05, 0.95)]
            axes.plot([place + shift] * 2, ends, color=INK, lw=1.4, marker="_", ms=6)
            text = {"ha": "center", "va": "bottom", "fontsize": 8, "color": INK}
            axes.text(place + shift, ends[1] + 0.6, f"{mean:.0f}", **text)
    axes.set_xticks(range(len(ENDS)), list(ENDS.values()), fontsize=8.5)
    axes.set_xlabel("how a call ends")
    axes.set_ylabel("share of the calls [%]")
    title = "Left bars: forecast. Right, hatched: the year held out. Lines hold 9 in 10"
    axes.set_title(title, loc="left", fontsize=10)
    axes.set_ylim(0, 1.12 * axes.get_ylim()[1])
    _finish(axes)
    return figure


def _finish(axes) -> None:
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=SOFT, alpha=0.25, lw=0.6)
    axes.set_axisbelow(True)
