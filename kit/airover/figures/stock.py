"""Pictures of a stock: calls fixed against money, and a plan's promise beside its replay."""

from matplotlib.figure import Figure

from airover.figures.palette import EDGE, INK, PALE, PAPER
from airover.figures.style import LEADER, LINE, SMALL, THIN, frame, note, title, unframed
from airover.stock.plan import Plan
from airover.stock.study import Study, mean_ends

SIZE = (6.2, 4.0)  # inches
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
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    reach = 100 - 100 * mean_ends(found.confirmed.forecasts)["none"]  # of the years planned by
    axes.axhline(reach, color=EDGE, lw=THIN, ls=":")
    note(axes, "all calls that any motor of the catalogue does for", (0, reach), (5, 3))
    _line(axes, found.single, "motors of one\nrating only", "--", "s", -9)
    _line(axes, found.plans, "all motors", "-", "o", 4)
    _this_truck(axes, found)
    most = max(plan.money for plan in (found.plan, *found.plans, *found.single))
    axes.set(xlim=(0, 1.22 * most), ylim=(0, min(1.15 * reach + 5, 100)))
    axes.set_xlabel(f"money on one truck [{found.currency}]")
    axes.set_ylabel("calls fixed at the first visit [%]")
    title(axes, "What more on the truck fixes, of calls it was not planned by")
    frame(axes, "y")
    return figure


def _this_truck(axes, found: Study) -> None:
    """The plan with its forecast's band; its words stand low, where no curve is."""
    money, (low, mid, high) = found.plan.money, found.confirmed.forecast.scaled(100)
    axes.plot([money] * 2, [low, high], color=INK, lw=LINE, marker="_", ms=9)
    axes.plot(money, mid, "D", ms=9, mfc=PAPER, mec=INK, mew=1.6, zorder=5)
    told = (
        f"this truck: {money:.0f} {found.currency},\n{mid:.0f} % of the calls ({low:.0f} to "
        f"{high:.0f}\nin 9 seasons of 10)"
    )
    across = money / max(plan.money for plan in (found.plan, *found.plans))
    side = "left" if across < 0.3 else "right" if across > 0.85 else "center"
    low_down = {"textcoords": "data", "va": "bottom", "arrowprops": LEADER}
    note(axes, told, (money, low), (money, 1.5), ha=side, **low_down)


def _line(axes, plans: tuple[Plan, ...], words: str, style: str, mark: str, up) -> None:
    money = [plan.money for plan in plans]
    fixed = [100 * plan.fresh for plan in plans]
    axes.plot(money, fixed, style, marker=mark, ms=4, color=INK, lw=THIN)
    note(axes, words, (money[-1], fixed[-1]), (7, up), va="center")


def replayed(found: Study) -> Figure:
    """How a season's calls end: seasons drawn from the history beside the one held out."""
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
    axes.set_xticks(range(len(ENDS)), list(ENDS.values()))
    axes.set_xlabel("how a call ends")
    axes.set_ylabel("share of the calls [%]")
    words = "Left bars: forecast. Right, hatched: the year held out. Lines hold 9 of 10"
    title(axes, words)
    axes.set_ylim(0, 1.12 * axes.get_ylim()[1])
    frame(axes, "y")
    unframed(axes, "x")
    return figure
