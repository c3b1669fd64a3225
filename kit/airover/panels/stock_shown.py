"""A stock in pieces of HTML, as its panel places them."""

import base64

from airover import answer
from airover.figures import drawing
from airover.figures import stock as figures_stock
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports.stock import limits, load_page
from airover.stock.study import StockStudy
from airover.tables import stock as tables_stock
from airover.texts import Writer
from airover.units import show

WIDE = 700
FIRST = "Working: the calls are matched with the catalogue, once ..."
CAUTIONS = (
    *answer.CAUTIONS,
    "Secure what is carried: a motor weighs several kilograms and flies in a hard stop.",
    "Prices of capacitors and belly bands are usual ones, without a source.",
)


def verdict(found: StockStudy, invented: str) -> str:
    dot = " \N{MIDDLE DOT} "
    return style.verdict(_bar(found), sentence(found), dot.join([*facts(found), invented]))


def sentence(found: StockStudy) -> str:
    """What the truck fixes, and what the replay makes of that."""
    planned, checked = found.plan, found.confirmed
    motors = planned.units[: found.goods.motors]
    return (
        f"A truck for {money(planned.money, found)} fixes {percent(checked.forecast)} of calls at "
        f"the first visit: {motors.sum()} motors of {(motors > 0).sum()} kinds with their "
        f"capacitors. The year held out, replayed, gives {percent(checked.replayed)}."
    )


def facts(found: StockStudy) -> list[str]:
    """How much is known, and what nothing on a truck can mend."""
    unseen = 100 * found.confirmed.unseen
    told = [
        f"{len(found.calls)} calls with {len(found.matched.needs)} distinct needs",
        f"no motor of the catalogue does for {100 - 100 * found.reach:.0f} % of them",
        f"{unseen:.0f} % of the calls held out are of kinds that the years before never had",
    ]
    if _bar(found) != "fits":
        told.append("replay and forecast differ by more than their bands: plan with care")
    return told


def _bar(found: StockStudy) -> str:
    """Whether bands of forecast and replay meet."""
    forecast, replayed = found.confirmed.forecast, found.confirmed.replayed
    meet = forecast.low <= replayed.high and replayed.low <= forecast.high
    return "fits" if meet else "fits with work"


def percent(band) -> str:
    return f"{100 * band.mid:.0f} % ({100 * band.low:.0f} to {100 * band.high:.0f})"


def money(amount: float, found: StockStudy) -> str:
    return f"{amount:,.0f} {found.currency}"


def picture(found: StockStudy) -> Picture:
    each = "; ".join(
        f"{money(one.money, found)} {100 * one.fresh:.0f} %, of one rating {100 * two.fresh:.0f} %"
        for one, two in zip(found.plans, found.single, strict=True)
    )
    words = f"Calls fixed at the first visit against money on one truck: {each}. {sentence(found)}"
    return Picture(drawing.png(figures_stock.money_curve(found)), words)


def replay(found: StockStudy) -> Picture:
    words = (
        f"How calls end. Fixed at the first visit: forecast {percent(found.confirmed.forecast)}, "
        f"the year held out {percent(found.confirmed.replayed)}."
    )
    return Picture(drawing.png(figures_stock.replayed(found)), words)


def load_list(found: StockStudy, system: str) -> str:
    terms = found.terms
    room = [show(space, "volume", system) for space in (found.plan.space, terms.space)]
    told = (
        f"Together {money(found.plan.money, found)} of {money(terms.budget, found)}, and {room[0]} "
        f"of {room[1]}. HiGHS proves that no other truck fixes "
        f"{100 * found.plan.gap:.1f} points more of the calls that it was planned by."
    )
    table = style.table(tables_stock.on_truck(found, Writer("en", system)), "figures")
    return table + style.quiet(told) + _download(load_page(found))


def _download(page: str) -> str:
    data = base64.b64encode(page.encode()).decode()
    return (
        f'<p><a download="load-list.html" href="data:text/html;charset=utf-8;base64,{data}">'
        "Save the list to print, with boxes to tick</a></p>"
    )


def next_motors(found: StockStudy, system: str) -> str:
    if not found.next:
        return style.quiet("No further motor would fix any of the calls planned by.")
    hint = (
        "Calls of a load that this truck sends back for and that motor would do for, with its "
        "capacitor, one of them in each load; best for its money first."
    )
    return style.table(tables_stock.next_motors(found), "figures") + style.quiet(hint)


def curve(found: StockStudy, system: str) -> str:
    if not found.plans:
        return style.quiet("Working the curve ...")
    hint = (
        "Each row is a truck planned by some calls and tried on others: that is the figure to go "
        "by. What is fixed of the calls planned by is too high, as a truck is fitted to them."
    )
    return style.table(tables_stock.curve(found), "figures") + style.quiet(hint)


def counter(found: StockStudy, system: str) -> str:
    terms = found.terms
    hint = (
        f"Base stocks for {terms.trucks} trucks filled up every {terms.days:g} days, a supplier "
        f"who takes {terms.lead_days:g} days and {100 * terms.service:.0f} % of what is asked for "
        f"served at once; {money(found.counter.money, found)} in all. What leaves is ordered anew "
        "the same day."
    )
    return style.table(tables_stock.at_counter(found), "figures") + style.quiet(hint)


def replay_page(found: StockStudy, system: str) -> str:
    hint = (
        "The last year of the calls was held out: truck and counter were planned without it, then "
        "its calls came day by day. The forecast's seasons are drawn from the years before. Lines "
        "of the replay span the luck of which truck gets a call; the year itself happened once."
    )
    table = style.table(tables_stock.ends(found), "narrow")
    return replay(found).html(WIDE) + table + style.quiet(hint)


def cautions() -> str:
    return style.listed("Cautions and limits", (*map(Writer().value, CAUTIONS), *limits(Writer())))
