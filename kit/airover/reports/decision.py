"""Write the comparison of truck loads as a table, text, JSON, and a one-page summary."""

import pandas as pd

from airover.business.decision import (
    ALL,
    BANDS,
    EMPTY,
    TODAY,
    Choice,
    Decision,
)
from airover.business.stock import StockStudy
from airover.business.truck import Terms
from airover.core.texts import ENGLISH, Writer
from airover.reports import printed
from airover.reports.plain import listed, paragraphs, wrapped
from airover.reports.writing import table
from airover.selection.cover import FROM_CALLS, FROM_CATALOG

SLOW_PAYBACK = 24  # months, beyond which a smaller load is the better buy (engineering judgment)
FULL = 0.95  # fraction of the space above which a truck is called full
MOST_DROPPED, MOST_NAMED = 6, 8  # motors named in a list or a sentence
_NUMBERS = tuple(range(1, 10))  # columns with numbers
_WIDTHS = (28, 9, 10, 10, 16, 10, 12, 9, 10, 11)
COLUMNS = (
    "load", "motors", "kinds", "money", "first", "visits", "avoided", "hours", "saved", "payback",
)  # fmt: skip


def decision_table(found: Decision, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return one row for each truck load, with the baseline first."""
    rows = [_row(found, one, writer) for one in found.choices]
    currency = found.study.currency
    return table(rows, "decision.column", writer, COLUMNS, currency=currency)


def decision_said(found: Decision, writer: Writer) -> dict[str, list[str]]:
    """Return the sentences about the recommended load, in groups by subject."""
    study, best = found.study, found.recommended
    terms = study.terms
    before, after = (f"{found.second_visits(one):.0f}" for one in (found.baseline, best))
    trucks = "one_truck" if terms.trucks == 1 else "trucks"
    calls = f"{found.calls_a_year:.0f}"
    against = TODAY if found.baseline.kind == TODAY else EMPTY
    headline = [
        writer(
            "decision.headline",
            motors=best.motors,
            kinds=best.kinds,
            money=_money(found, best.plan.money),
        ),
        writer(f"decision.{against}", before=before, after=after),
        *_savings(found, writer),
    ]
    main = [
        writer(f"decision.{trucks}", trucks=terms.trucks, calls=calls),
        *_counter(found, writer),
        *_step(found, writer),
        *([writer("decision.enter_today")] if against == EMPTY else []),
    ]
    usual = terms.second_visit, terms.visit_hours
    cost = "assumed_cost" if usual == (Terms.second_visit, Terms.visit_hours) else "cost"
    visit = _money(found, terms.second_visit)
    return {
        "headline": headline,
        "main": main,
        "several": _several(found, writer),
        "drop": _dropped(found, writer),
        "outage": _outages(found, writer),
        "limits": [
            writer(f"decision.{cost}", visit=visit, hours=f"{terms.visit_hours:g}"),
            *([writer("decision.parts_today", bands=BANDS)] if against == TODAY else []),
            *data_said(study, writer),
            " ".join(
                [
                    writer("decision.limit"),
                    *([writer("decision.limit_counter")] if terms.counter else []),
                ]
            ),
        ],
    }


def data_said(study: StockStudy, writer: Writer) -> list[str]:
    """Return sentences about a short call history and incomplete or unsupported calls."""
    calls = len(study.calls)
    said = []
    if study.short:
        days = int((study.calls.days.max() - study.calls.days.min()).astype(int)) + 1
        said.append(writer("decision.short", days=days))
    for name in ("similar", "outside"):
        if count := getattr(study, name):
            said.append(writer(f"decision.{name}", count=count, calls=calls))
    for source in (FROM_CATALOG, FROM_CALLS):
        filled = {gap: n for (gap, one), n in study.matched.filled.items() if one == source}
        filled.pop("rotation_seen_from", None)
        if filled:
            fields = ", ".join(writer(f"check.{gap.replace('_', ' ')}").lower() for gap in filled)
            count = f"{max(filled.values()):.0f}"
            said.append(writer(f"decision.filled_{source}", count=count, fields=fields))
    return said


def decision_text(found: Decision, writer: Writer) -> str:
    """Return the comparison as text for a terminal."""
    said = decision_said(found, writer)
    rows = [_line(found, one, writer) for one in found.choices]
    return paragraphs([
        wrapped(" ".join(said["headline"])),
        wrapped(" ".join(said["main"])),
        listed(writer("decision.table_title"), rows) + "\n" + wrapped(writer("decision.range")),
        listed(writer("decision.several_title"), said["several"]),
        listed(writer("decision.drop_title"), said["drop"]),
        listed(writer("decision.outage_title"), said["outage"]),
        "\n".join(wrapped(f"- {one}", "", "  ") for one in said["limits"]),
    ])  # fmt: skip


def decision_dict(found: Decision, writer: Writer) -> dict:
    """Return the comparison as a dict for JSON."""
    return {
        "calls_a_year": round(found.calls_a_year, 1),
        "payback_with_counter_months": _rounded(
            found.payback(found.recommended, found.study.counter.money)
        ),
        "loads": [_choice_dict(found, one) for one in found.choices],
        "stop_carrying": [
            {
                "motor": one.name,
                "today": one.today,
                "planned": one.planned,
                "used_a_year": round(one.used, 2),
                "why": writer(one.why),
            }
            for one in found.dropped
        ],
        "supplier_out": [
            {
                "maker": one.maker,
                "motors": one.motors,
                "first_visit": _ends(one.without),
                "first_visit_replanned": None if one.replanned is None else _ends(one.replanned),
            }
            for one in found.outages
        ],
        "not_in_catalog": list(found.unknown),
        "not_usable": list(found.unused),
    }


def summary_blocks(found: Decision, writer: Writer) -> list[dict]:
    """Return the one-page summary for the owner as blocks of `reports.printed`."""
    said = decision_said(found, writer)
    rows = [list(_row(found, one, writer).values()) for one in found.choices]
    at = [number for number, one in enumerate(found.choices) if one is found.recommended]
    names = [writer(f"decision.column.{one}", currency=found.study.currency) for one in COLUMNS]
    blocks = [
        printed.strong(" ".join(said["headline"])),
        printed.text(" ".join(said["main"])),
        printed.heading(writer("decision.table_title")),
        printed.columns(names, rows, _WIDTHS, right=_NUMBERS, bold=at),
        printed.note(writer("decision.range")),
    ]
    for name in ("several", "drop", "outage"):
        if said[name]:
            blocks += [
                printed.heading(writer(f"decision.{name}_title")),
                printed.listed(said[name]),
            ]
    return [*blocks, *map(printed.note, said["limits"])]


def _savings(found: Decision, writer: Writer) -> list[str]:
    best = found.recommended
    if (saved := found.saved(best)) <= 0:
        return [writer("decision.saves_nothing")]
    hours, invested = f"{found.hours(best):,.0f}", found.invested(best)
    said = [writer("decision.saves", hours=hours, saved=_money(found, saved))]
    if invested > 0:
        months = _payback(found, best, writer)
        said.append(writer("decision.pays", invested=_money(found, invested), months=months))
    else:
        said.append(writer("decision.pays_at_once", less=_money(found, -invested)))
    return said


def _counter(found: Decision, writer: Writer) -> list[str]:
    """Return a sentence about the counter stock and the payback with it, or about its absence."""
    terms = found.study.terms
    if not terms.counter:
        numbers = {name: f"{getattr(terms, name):g}" for name in ("days", "lead_days", "load_days")}
        return [writer("decision.no_counter", **numbers)]
    money = found.study.counter.money
    months = found.payback(found.recommended, money)
    if money <= 0 or months is None:
        return []
    said = {"money": _money(found, money), "months": _months(months, writer)}
    return [writer("decision.counter", **said)]


def _step(found: Decision, writer: Writer) -> list[str]:
    """Return a sentence that compares the recommended load with the next cheaper load."""
    best = found.recommended
    cheaper = [
        one
        for one in found.choices
        if one.kind == ALL and one.motors and one.plan.money < best.plan.money
    ]
    if not cheaper:
        return []
    next_one = max(cheaper, key=lambda one: one.plan.money)
    more = best.avoided.mid - next_one.avoided.mid
    extra = (best.plan.money - next_one.plan.money) * found.study.terms.trucks
    values = {"money": _money(found, next_one.plan.money), "extra": _money(found, extra)}
    worth = more * found.study.terms.second_visit
    if round(more) < 1 or worth <= 0:
        return [writer("decision.step_none", **values)]
    months = 12 * extra / worth
    key = "step_slow" if months > SLOW_PAYBACK else "step"
    said = {"more": f"{more:.0f}", "months": _months(months, writer)}
    return [writer(f"decision.{key}", **said, **values)]


def _several(found: Decision, writer: Writer) -> list[str]:
    """Return sentences that compare multi-rating motors with single-rating motors."""
    best, single = found.recommended, found.single
    more = best.avoided.mid - single.avoided.mid
    said = []
    if more > 0:
        worth = _money(found, more * found.study.terms.second_visit)
        shares = {"all": _share(best.first.mid), "single": _share(single.first.mid)}
        said.append(writer("decision.several", more=f"{more:.0f}", saved=worth, **shares))
    enough = [
        one
        for one in found.choices
        if one.kind == ALL and one.avoided.mid >= single.avoided.mid and one.motors
    ]
    least = min(enough, key=lambda one: one.plan.money, default=None)
    if least is not None and least.motors < single.motors:
        said.append(
            writer(
                "decision.fewer",
                motors=least.motors,
                money=_money(found, least.plan.money),
                single_motors=single.motors,
                single_money=_money(found, single.plan.money),
            )
        )
    return said


def _dropped(found: Decision, writer: Writer) -> list[str]:
    said = [
        writer(
            "decision.drop_line",
            motor=one.name,
            planned=one.planned,
            today=one.today,
            why=writer(one.why),
        )
        for one in found.dropped[:MOST_DROPPED]
    ]
    for name in ("unused", "unknown"):
        if names := getattr(found, name):
            shown = ", ".join(names[:MOST_NAMED]) + (" ..." if len(names) > MOST_NAMED else "")
            said.append(writer(f"decision.{name}", models=shown))
    return said


def _outages(found: Decision, writer: Writer) -> list[str]:
    said = []
    for one in found.outages:
        values = {"maker": one.maker, "motors": one.motors, "all": found.recommended.motors}
        if one.replanned is None:
            said.append(writer("decision.outage_only", **values))
            continue
        shares = {"without": _share(one.without.mid), "again": _share(one.replanned.mid)}
        said.append(writer("decision.outage_line", **values, **shares))
    return said


def _row(found: Decision, one: Choice, writer: Writer) -> dict[str, str]:
    base = one is found.baseline
    low, mid, high = (_share(end) for end in one.first)
    none = writer("decision.none")
    return {
        "load": _named(found, one, writer),
        "motors": str(one.motors),
        "kinds": str(one.kinds),
        "money": f"{one.plan.money:,.0f}",
        "first": f"{mid} ({low}-{high})" if one.motors else mid,
        "visits": f"{found.second_visits(one):.0f}",
        "avoided": none if base else f"{one.avoided.mid + 0.0:.0f}",
        "hours": none if base else f"{found.hours(one) + 0.0:,.0f}",
        "saved": none if base else f"{found.saved(one) + 0.0:,.0f}",
        "payback": none if base else _payback(found, one, writer),
    }


def _line(found: Decision, one: Choice, writer: Writer) -> str:
    """Return a row of the table as one sentence."""
    row = _row(found, one, writer)
    names = [writer(f"decision.column.{key}", currency=found.study.currency) for key in row]
    pairs = list(zip(names, row.values(), strict=True))[1:]
    said = "; ".join(f"{name} {value}" for name, value in pairs if value != writer("decision.none"))
    return f"{row['load']}: {said}"


def _named(found: Decision, one: Choice, writer: Writer) -> str:
    budget = _money(found, one.plan.budget)
    kind = one.kind
    if one is found.recommended:
        kind = "recommended"
    elif kind == ALL and one.plan.budget == found.baseline.plan.money:
        kind = "same"
    elif one.plan.space > FULL * found.study.terms.space:
        kind = f"{kind}_full"
    return writer(f"decision.kind.{kind}", budget=budget)


def _payback(found: Decision, one: Choice, writer: Writer) -> str:
    return _months(found.payback(one), writer)


def _months(months: float | None, writer: Writer) -> str:
    """Return a payback period [months] in words."""
    if months is None:
        return writer("decision.never")
    if months < 1:
        return writer("decision.less_than_month")
    if months >= 24:
        return writer("decision.years", years=f"{months / 12:.0f}")
    if round(months) == 1:
        return writer("decision.month")
    return writer("decision.months", months=f"{months:.0f}")


def _choice_dict(found: Decision, one: Choice) -> dict:
    return {
        "load": "recommended" if one is found.recommended else one.kind,
        "budget": round(one.plan.budget, 2),
        "motors": one.motors,
        "kinds": one.kinds,
        "money": round(one.plan.money, 2),
        "first_visit": _ends(one.first),
        "second_visits_a_year": round(found.second_visits(one), 1),
        "avoided_a_year": {name: round(float(x), 1) for name, x in one.avoided._asdict().items()},
        "hours_saved_a_year": round(found.hours(one), 1),
        "money_saved_a_year": round(found.saved(one), 1),
        "payback_months": _rounded(found.payback(one)),
    }


def _rounded(months: float | None) -> float | None:
    return None if months is None else round(months, 1)


def _ends(band) -> dict:
    return {name: round(float(end), 4) for name, end in band._asdict().items()}


def _share(share: float) -> str:
    return f"{100 * share + 0.0:.0f}"


def _money(found: Decision, amount: float) -> str:
    return f"{amount:,.0f} {found.study.currency}"
