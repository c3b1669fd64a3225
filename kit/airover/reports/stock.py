"""Write the stock study as tables (pandas), text, pages and figures."""

import textwrap
from dataclasses import asdict
from pathlib import Path

import pandas as pd

from airover.business.decision import Decision
from airover.business.stock import Confirmed, StockStudy, mean_ends
from airover.business.truck import TruckPlan
from airover.core.files import json_text, write_files
from airover.core.intervals import Band
from airover.core.message import Message
from airover.core.texts import ENGLISH, Writer
from airover.records.catalog import CatalogMotor
from airover.reports import drawing, printed, writing
from airover.reports.counter import volts_of
from airover.reports.decision import (
    data_said,
    decision_dict,
    decision_table,
    decision_text,
    summary_blocks,
)
from airover.reports.drawing import LEADER, LINE, SMALL, THIN, Figure, frame, note, title, unframed
from airover.reports.palette import EDGE, INK, PALE, PAPER
from airover.reports.plain import changed_limits, listed, paragraphs, wrapped
from airover.reports.writing import table

ENDS = (
    "first",
    "short",
    "counter",
    "ordered",
    "none",
    "outside",
)  # rows of the results table, best first
SIZE = (6.2, 4.0)  # inches
TICK = 15  # characters per line


def load_list(found: StockStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return one row for each item to load on the truck or keep at the counter."""
    return _frame(found, writer, _line, found.load_list())


def on_truck(found: StockStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the items to load on each truck."""
    return _frame(found, writer, _on_truck, [one for one in found.load_list() if one["truck"]])


def at_counter(found: StockStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the items to keep at the counter, highest demand first."""
    kept = [one for one in found.load_list() if one["counter"]]
    kept.sort(key=lambda one: -one["asked_a_year"])
    return _frame(found, writer, _at_counter, kept)


def ends(found: StockStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the mean percentages of calls with each result, in the forecast and the replay."""
    confirmed = found.confirmed
    shares = {"forecast": confirmed.forecasts, "replayed": confirmed.replays}
    shown = _ends_of(found)
    columns = {"ends": [writer(f"stock.end.{end}") for end in shown]}
    for name, seasons in shares.items():
        means = mean_ends(seasons)
        columns[name] = [_percent(means[end]) for end in shown]
    return table(columns, "stock.column", writer)


def _ends_of(found: StockStudy) -> tuple[str, ...]:
    """Return the outcomes that are possible for these calls and this shop."""
    never = [*([] if found.outside else ["outside"]), *([] if found.terms.counter else ["counter"])]
    return tuple(one for one in ENDS if one not in never)


def curve(found: StockStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return budgets and completed calls, with all motors and with single-rating motors only."""
    plans = [("all", plan) for plan in found.plans] + [("single", one) for one in found.single]
    return _frame(found, writer, _curve, plans)


def next_motors(found: StockStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the motors to add next, with the reason for each."""

    def row(one, writer: Writer) -> dict:
        shares = {"gain": _percent(one.gain), "money": f"{one.money:,.0f}"}
        return {"motor": found.names[one.motor], **shares, "why": writer(one.why)}

    return _frame(found, writer, row, found.next, ("motor", "gain", "money", "why"))


def money_curve(found: StockStudy, writer: Writer = ENGLISH) -> Figure:
    """Plot the percentage of calls completed on the first visit against one truck's budget."""
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    reach = 100 * found.ceiling  # for the same calls as the curve
    axes.axhline(reach, color=EDGE, lw=THIN, ls=":")
    note(axes, writer("stock.picture.reach"), (0, reach), (5, 3))
    _drawn_line(axes, found.single, writer("stock.picture.single"), "--", "s", -9)
    _drawn_line(axes, found.plans, writer("stock.picture.all"), "-", "o", 4)
    _this_truck(axes, found, writer)
    most = max(plan.money for plan in (found.plan, *found.plans, *found.single))
    axes.set(xlim=(0, 1.22 * most), ylim=(0, min(1.15 * reach + 5, 100)))
    axes.set_xlabel(writer("stock.picture.money_axis", currency=found.currency))
    axes.set_ylabel(writer("stock.picture.fixed_axis"))
    title(axes, writer("stock.picture.money_title"))
    frame(axes, "y")
    return figure


def replayed(found: StockStudy, writer: Writer = ENGLISH) -> Figure:
    """Plot the results of sampled seasons next to replays of the held-out calls."""
    figure = Figure(figsize=SIZE, layout="constrained")
    axes = figure.subplots()
    confirmed = found.confirmed
    sides = ((confirmed.forecasts, -0.19, PALE, ""), (confirmed.replays, 0.19, PAPER, "///"))
    shown = _ends_of(found)
    for outcomes, shift, color, hatch in sides:
        for place, name in enumerate(shown):
            shares = sorted(100 * getattr(one, name) for one in outcomes)
            mean = sum(shares) / len(shares)
            bar = {"color": color, "hatch": hatch, "edgecolor": EDGE, "width": 0.36}
            axes.bar(place + shift, mean, **bar)
            ends = [shares[int(p * (len(shares) - 1))] for p in (0.05, 0.95)]
            axes.plot([place + shift] * 2, ends, color=INK, lw=THIN, marker="_", ms=6)
            text = {"ha": "center", "va": "bottom", "fontsize": SMALL, "color": INK}
            axes.text(place + shift, ends[1] + 0.6, f"{mean:.0f}", **text)
    names = [textwrap.fill(writer(f"stock.end.{end}"), TICK) for end in shown]
    axes.set_xticks(range(len(shown)), names)
    axes.set_xlabel(writer("stock.picture.ends_axis"))
    axes.set_ylabel(writer("stock.picture.share_axis"))
    title(axes, writer("stock.picture.ends_title"))
    axes.set_ylim(0, 1.12 * axes.get_ylim()[1])
    frame(axes, "y")
    unframed(axes, "x")
    return figure


def limits(writer: Writer) -> list[str]:
    """Return the limitations of a stock plan."""
    return writer.texts.below("stock.limit")


def stock_text(found: StockStudy, writer: Writer, decision: Decision | None = None) -> str:
    """Return the study as text for a terminal, preceded by any comparison of loads."""
    currency, planned, checked = found.currency, found.plan, found.confirmed
    motors = int(planned.units[: found.goods.motors].sum())
    places = ("truck", "counter") if found.terms.counter else ("truck",)
    load = [
        f"{' '.join(f'{line[place]:3d}' for place in places)}  {writer.value(line['item'])}"
        for line in found.load_list()
    ]
    nexts = [
        writer(
            "stock.next_line",
            why=one.why,
            gain=_percent(one.gain),
            money=_money(one.money, currency),
        )
        for one in found.next[:3]
    ]
    headline = writer(
        "stock.headline",
        motors=motors,
        money=_money(planned.money, currency),
        share=_percent(checked.forecast.mid, 0),
    )
    begin = [] if decision is None else [decision_text(decision, writer).rstrip("\n")]
    data = data_said(found, writer) if decision is None else []  # the comparison includes these
    parts = [
        *begin,
        wrapped(headline),
        *map(wrapped, data),
        wrapped(" ".join(_confirmed(found, writer))),
        *(wrapped(writer(one.told)) for one in found.left_out),
        "\n".join([writer("stock.load" if found.terms.counter else "stock.load_truck"), *load]),
        listed(writer("stock.next_title"), nexts),
        listed(writer("stock.curve_title"), curve_lines(found, writer)),
        listed(writer("stock.limits_title"), limits(writer)),
        *map(wrapped, _changed(found, writer)),
    ]
    return paragraphs(parts)


def _changed(found: StockStudy, writer: Writer) -> list[str]:
    return changed_limits(found.matched.needs[0].limits, writer)


def curve_lines(found: StockStudy, writer: Writer) -> list[str]:
    """Return sentences on budgets and completed calls, for all motors and single-rating motors.

    Plans for an empty truck are omitted.
    """
    lines = []
    for choice, plans in (("all", found.plans), ("single", found.single)):
        shares = [(_money(one.money, found.currency), one.fresh) for one in plans if one.money]
        points = [
            writer("stock.point", money=money, share=_percent(share, 0)) for money, share in shares
        ]
        name = Message(f"stock.choice.{choice}")
        lines.append(writer("stock.curve_line", choice=name, points="; ".join(points)))
    return lines


def load_blocks(found: StockStudy, writer: Writer) -> list[dict]:
    """Return the truck load list as blocks of `reports.printed`, with a bin for each item."""
    names, units, goods = found.names, found.plan.units, found.goods
    motors, parts = [], []
    for at, label in found.bins().items():
        checked = [printed.BOX, label, units[at], writer.value(names[at])]
        if at >= goods.motors:
            parts.append(checked)
            continue
        motors.append(checked + list(_data(found.matched.motors[goods.motor[at]], writer)))
    power = "power" if writer.system == "US" else "power_si"
    fields = ("check", "bin", "units", "item", power, "speed", "voltage", "capacitor")
    headings = [writer(f"load_list.{name}") for name in fields]
    money = _money(found.plan.money, found.currency)
    notes = [
        *data_said(found, writer),
        *(writer(one.told) for one in found.left_out),
        *limits(writer),
        *_changed(found, writer),
    ]
    return [
        printed.text(writer("load_list.total", days=f"{found.terms.days:g}", money=money)),
        printed.columns(headings, motors, (8, 6, 8, 22, 28, 8, 12, 13), right=(2,)),
        printed.heading(writer("load_list.parts")),
        printed.note(writer("load_list.capacitor_note")),
        printed.columns(headings[:4], parts, (8, 6, 8, 83), right=(2,)),
        *map(printed.note, notes),
    ]


def _data(motor: CatalogMotor, writer: Writer):
    """Yield the power settings, the speed, the voltage and the capacitor of a motor."""
    yield ", ".join(writer.amount(one, "power") for one in motor.ratings)
    yield f"{motor.speed_rpm:.0f}"
    yield volts_of(motor)
    size = motor.capacitor
    yield "" if size is None else writer.amount(size, "capacitance")


def load_page(found: StockStudy, writer: Writer = ENGLISH) -> str:
    """Return the truck load list as a printable page."""
    writer = writer.for_print
    return printed.page(writer("stock.page_title"), load_blocks(found, writer), writer)


def stock_dict(found: StockStudy, writer: Writer, decision: Decision | None = None) -> dict:
    """Return the study as a dict for JSON, with numbers in SI units and text from ``writer``."""
    items = [line | {"item": writer.value(line["item"])} for line in found.load_list()]
    return {
        "calls": len(found.calls),
        "needs": len(found.matched.needs),
        "outside_the_method": round(found.outside / len(found.calls), 4),
        "similar_calls": found.similar,
        "filled": {f"{gap}, {source}": n for (gap, source), n in found.matched.filled.items()},
        "reach": round(found.reach, 4),
        "terms": asdict(found.terms),
        "limits": found.matched.needs[0].limits.to_dict(writer),
        "currency": found.currency,
        "plan": _plan_dict(found.plan),
        "load_list": items,
        "curve": [_plan_dict(one) for one in found.plans],
        "single_rating_curve": [_plan_dict(one) for one in found.single],
        "next": [
            {
                "motor": found.names[one.motor],
                "gain": round(one.gain, 5),
                "money": round(one.money, 2),
                "why": writer(one.why),
            }
            for one in found.next
        ],
        "counter": {"money": round(found.counter.money, 2)},
        "replay": _confirmed_dict(found.confirmed),
        "left_out": [one.as_dict(writer) for one in found.left_out],
        "decision": None if decision is None else decision_dict(decision, writer),
    }


def write_stock(
    found: StockStudy, folder: Path, writer: Writer, decision: Decision | None = None
) -> list[Path]:
    """Write text, JSON, tables, load list and figures to ``folder``; return the paths.

    With a ``decision``, the comparison of loads and the owner's summary are written as well. The
    JSON file is in English.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    paper, heading = writer.for_print, writer("stock.page_title")
    files = {
        "stock.txt": stock_text(found, writer, decision),
        "stock.json": json_text(stock_dict(found, writer.in_english, decision)) + "\n",
        "load-list.csv": writing.csv(load_list(found, writer)),
        "curve.csv": writing.csv(curve(found, writer)),
        "next.csv": writing.csv(next_motors(found, writer)),
        "load-list.html": load_page(found, writer),
        "load-list.pdf": printed.pdf(heading, load_blocks(found, paper), paper),
        "curve.png": drawing.png(money_curve(found, writer)),
        "replay.png": drawing.png(replayed(found, writer)),
    }
    if decision is not None:
        heading, blocks = writer("decision.title"), summary_blocks(decision, paper)
        files |= {
            "decision.csv": writing.csv(decision_table(decision, writer)),
            "summary.html": printed.page(heading, blocks, paper),
            "summary.pdf": printed.pdf(heading, blocks, paper),
        }
    return write_files(folder, files, "out")


def _line(line: dict, writer: Writer) -> dict:
    return {"item": writer.value(line["item"]), "each_truck": line["truck"]} | _counter(line)


def _at_counter(line: dict, writer: Writer) -> dict:
    return {"item": writer.value(line["item"])} | _counter(line)


def _counter(line: dict) -> dict:
    price, asked = f"{line['price']:,.0f}", f"{line['asked_a_year']:.1f}"
    return {"at_counter": line["counter"], "price": price, "asked": asked}


def _on_truck(line: dict, writer: Writer) -> dict:
    return {
        "truck": line["truck"],
        "item": writer.value(line["item"]),
        "price_of_one": f"{line['price']:,.0f}",
        "volume_of_one": writer.amount(line["volume_m3"], "volume", 2),
    }


def _curve(choice_and_plan, writer: Writer) -> dict:
    choice, plan = choice_and_plan
    return {
        "choice": writer(f"stock.choice.{choice}"),
        "money": f"{plan.money:,.0f}",
        "carried": int(plan.units[: plan.goods.motors].sum()),
        "fresh": _percent(plan.fresh),
        "planned": _percent(plan.fixed),
        "bound": _percent(plan.bound),
    }


def _frame(found: StockStudy, writer: Writer, row, things, columns=None) -> pd.DataFrame:
    """Return a table of ``things`` with the column headings in stock.column."""
    rows = [row(one, writer) for one in things]
    return table(rows, "stock.column", writer, columns, currency=found.currency)


def _this_truck(axes, found: StockStudy, writer: Writer) -> None:
    """Plot the planned truck with its forecast range, and label it below the curves."""
    money, (low, mid, high) = found.plan.money, found.confirmed.forecast.scaled(100)
    axes.plot([money] * 2, [low, high], color=INK, lw=LINE, marker="_", ms=9)
    axes.plot(money, mid, "D", ms=9, mfc=PAPER, mec=INK, mew=1.6, zorder=5)
    shares = {"low": f"{low:.0f}", "mid": f"{mid:.0f}", "high": f"{high:.0f}"}
    told = writer("stock.picture.this_truck", money=_money(money, found.currency), **shares)
    across = money / max(plan.money for plan in (found.plan, *found.plans))
    side = "left" if across < 0.3 else "right" if across > 0.85 else "center"
    low_down = {"textcoords": "data", "va": "bottom", "arrowprops": LEADER}
    note(axes, told, (money, low), (money, 1.5), ha=side, **low_down)


def _drawn_line(axes, plans: tuple[TruckPlan, ...], words: str, style: str, mark: str, up) -> None:
    money = [plan.money for plan in plans]
    fixed = [100 * plan.fresh for plan in plans]
    axes.plot(money, fixed, style, marker=mark, ms=4, color=INK, lw=THIN)
    note(axes, words, (money[-1], fixed[-1]), (7, up), va="center")


def _confirmed(found: StockStudy, writer: Writer) -> list[str]:
    """Return sentences about the evidence for the plan."""
    planned, checked = found.plan, found.confirmed
    counts = {"calls": len(found.calls), "needs": len(found.matched.needs)}
    forecast, replayed = (_range(one, writer) for one in (checked.forecast, checked.replayed))
    unseen, money = _percent(checked.unseen, 0), _money(found.counter.money, found.currency)
    return [
        writer("stock.calls", reach=_percent(found.reach, 0), **counts),
        writer(
            "stock.forecast",
            forecast=forecast,
            replayed=replayed,
            unseen=unseen,
            days=found.held_out_days,
        ),
        writer(
            "stock.proof",
            planned=_percent(checked.planned),
            bound=_percent(planned.bound),
            gap=_percent(planned.gap, 2),
        ),
        *([writer("stock.counter_money", money=money)] if found.terms.counter else []),
    ]


def _range(band, writer: Writer) -> str:
    ends = {name: _percent(end) for name, end in band._asdict().items()}
    return writer("stock.share_range", **ends)


def _percent(share: float, digits: int = 1) -> str:
    # Adding 0.0 avoids a minus sign before zero.
    return f"{round(100 * share, digits) + 0.0:.{digits}f}"


def _money(amount: float, currency: str) -> str:
    return f"{amount:,.0f} {currency}"


def _plan_dict(one: TruckPlan) -> dict:
    return {
        "money": round(one.money, 2),
        "space_m3": round(one.space, 4),
        "motors": int(one.units[: one.goods.motors].sum()),
        "kinds": int((one.units[: one.goods.motors] > 0).sum()),
        "fixed": round(one.fixed, 4),
        "fixed_of_other_calls": round(one.fresh, 4),
        "bound": round(one.bound, 4),
        "gap": round(one.gap, 5),
    }


def _confirmed_dict(one: Confirmed) -> dict:
    return {
        "planned": round(one.planned, 4),
        "forecast": _ends(one.forecast),
        "replayed": _ends(one.replayed),
        "forecast_ends": mean_ends(one.forecasts),
        "replayed_ends": mean_ends(one.replays),
        "unseen_needs": round(one.unseen, 4),
    }


def _ends(band: Band) -> dict:
    return {name: round(float(end), 4) for name, end in band._asdict().items()}
