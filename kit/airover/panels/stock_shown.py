"""A stock in pieces of HTML, as its panel places them."""

from airover.answer import CAUTIONS
from airover.figures import drawing
from airover.figures import stock as figures_stock
from airover.message import Quantity
from airover.panels import style
from airover.panels.parts import Picture
from airover.reports.stock import limits, load_page
from airover.stock.study import StockStudy
from airover.tables import stock as tables_stock
from airover.texts import Writer

WIDE = 700


def verdict(found: StockStudy, invented: str, write: Writer) -> str:
    below = " \N{MIDDLE DOT} ".join(filter(None, [*facts(found, write), invented]))
    return style.verdict(_bar(found), sentence(found, write), below)


def sentence(found: StockStudy, write: Writer) -> str:
    """What the truck fixes, and what the replay makes of that."""
    planned, checked = found.plan, found.confirmed
    motors = planned.units[: found.goods.motors]
    return write(
        "panel.stock.verdict",
        money=money(planned.money, found),
        forecast=percent(checked.forecast, write),
        motors=int(motors.sum()),
        kinds=int((motors > 0).sum()),
        replayed=percent(checked.replayed, write),
    )


def facts(found: StockStudy, write: Writer) -> list[str]:
    """How much is known, and what nothing on a truck can mend."""
    calls, needs = len(found.calls), len(found.matched.needs)
    unseen, none = f"{100 * found.confirmed.unseen:.0f}", f"{100 - 100 * found.reach:.0f}"
    told = [
        write("panel.stock.calls_needs", calls=calls, needs=needs),
        write("panel.stock.out_of_reach", share=none),
        write("panel.stock.unseen", share=unseen),
    ]
    if _bar(found) != "fits":
        told.append(write("panel.stock.differ"))
    return told


def _bar(found: StockStudy) -> str:
    """Whether bands of forecast and replay meet."""
    forecast, replayed = found.confirmed.forecast, found.confirmed.replayed
    meet = forecast.low <= replayed.high and replayed.low <= forecast.high
    return "fits" if meet else "fits with work"


def percent(band, write: Writer) -> str:
    low, mid, high = (f"{100 * one:.0f}" for one in band)
    return write("panel.stock.percent", low=low, mid=mid, high=high)


def money(amount: float, found: StockStudy) -> str:
    return f"{amount:,.0f} {found.currency}"


def picture(found: StockStudy, write: Writer) -> Picture:
    each = "; ".join(
        write(
            "panel.stock.point",
            money=money(one.money, found),
            share=f"{100 * one.fresh:.0f}",
            single=f"{100 * two.fresh:.0f}",
        )
        for one, two in zip(found.plans, found.single, strict=True)
    )
    words = write("panel.stock.curve_words", each=each, verdict=sentence(found, write))
    return Picture(drawing.png(figures_stock.money_curve(found, write)), words)


def replay(found: StockStudy, write: Writer) -> Picture:
    forecast, replayed = (
        percent(one, write) for one in (found.confirmed.forecast, found.confirmed.replayed)
    )
    words = write("panel.stock.replay_words", forecast=forecast, replayed=replayed)
    return Picture(drawing.png(figures_stock.replayed(found, write)), words)


def load_list(found: StockStudy, write: Writer) -> str:
    terms, plan = found.terms, found.plan
    told = write(
        "panel.stock.together",
        money=money(plan.money, found),
        budget=money(terms.budget, found),
        space=Quantity(plan.space, "volume"),
        room=Quantity(terms.space, "volume"),
        gap=f"{100 * plan.gap:.1f}",
    )
    table = style.table(tables_stock.on_truck(found, write), "figures")
    page = load_page(found, write).encode()
    words = write("panel.stock.save_list")
    saved = f"<p>{style.link('load-list.html', page, 'text/html;charset=utf-8', words)}</p>"
    return table + style.quiet(told) + saved


def next_motors(found: StockStudy, write: Writer) -> str:
    if not found.next:
        return style.quiet(write("panel.stock.no_next"))
    table = style.table(tables_stock.next_motors(found, write), "figures")
    return table + style.quiet(write("panel.stock.next"))


def curve(found: StockStudy, write: Writer) -> str:
    if not found.plans:
        return style.quiet(write("panel.stock.curve_working"))
    table = style.table(tables_stock.curve(found, write), "figures")
    return table + style.quiet(write("panel.stock.curve"))


def counter(found: StockStudy, write: Writer) -> str:
    terms = found.terms
    hint = write(
        "panel.stock.counter",
        trucks=terms.trucks,
        days=f"{terms.days:g}",
        lead=f"{terms.lead_days:g}",
        service=f"{100 * terms.service:.0f}",
        money=money(found.counter.money, found),
    )
    return style.table(tables_stock.at_counter(found, write), "figures") + style.quiet(hint)


def replay_page(found: StockStudy, write: Writer) -> str:
    table = style.table(tables_stock.ends(found, write), "narrow")
    return replay(found, write).html(WIDE) + table + style.quiet(write("panel.stock.replay"))


def cautions(write: Writer) -> str:
    own = [write("panel.stock.secure"), write("panel.stock.usual_prices")]
    told = [*map(write.value, CAUTIONS), *own, *limits(write)]
    return style.listed(write("panel.stock.cautions"), told)
