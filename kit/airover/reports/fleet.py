"""Write the fleet results as text, a page and a workbook, and show the progress of a run."""

import datetime
import time
from collections.abc import Callable
from pathlib import Path

import pandas as pd

from airover.business.fleet_files import listed_units, rejected_units
from airover.core.files import write_files
from airover.core.texts import Writer
from airover.reports.html import html_page
from airover.reports.plain import changed_limits
from airover.reports.workbook import workbook
from airover.reports.writing import table

BAR = 30  # characters
NAMED = 5  # motors or checks in the text
YEARS = (1, 5, 10, 15)
SHARES = (0.5, 0.9, 0.99, 1.0)  # coverages of the short lists of motors in the text
MOST_LISTED = 5000  # units in the workbook
MOST_PRINTED = 100  # units on the page


def progress(stream, writer: Writer) -> Callable | None:
    """Return a function of (done, total, stage) that updates a progress line on ``stream``.

    Returns None if ``stream`` is not a terminal.
    """
    if not stream.isatty():
        return None
    begun = {}

    def tell(done: int, total: int, stage: str) -> None:
        now = time.monotonic()
        start, before = begun.setdefault(stage, (now, done))
        share = done / total if total else 1.0
        bar = ("#" * round(BAR * share)).ljust(BAR, ".")
        counts = {"done": f"{done:,}", "total": f"{total:,}"}
        line = writer(f"fleet.progress.{stage}", **counts)
        if before < done < total:
            left = (now - start) * (total - done) / (done - before)
            line = writer("fleet.progress.left", line=line, time=_time(left, writer))
        end = "\n" if done == total else ""
        print(f"\r[{bar}] {line}\x1b[K", end=end, file=stream, flush=True)

    return tell


def _time(seconds: float, writer: Writer) -> str:
    """Format a time of at least one second, in minutes if it is longer than 99 s."""
    long = seconds > 99
    count = max(1, round(seconds / 60 if long else seconds))
    return writer(f"fleet.progress.{'minutes' if long else 'seconds'}", count=count)


def summary_text(found: dict, out, writer: Writer) -> str:
    """Return the summary from `fleet` as text for a terminal."""
    counts = _counts(found)
    left_out = [writer(one.told) for one in found["left_out"]]
    if found["damaged"]:
        left_out += [writer("fleet.damaged", files=", ".join(found["damaged"]))]
    written = writer("fleet.written", folder=str(out))
    if not found["accepted"]:
        none = writer("left_out.all_units" if found["rows"] else "left_out.no_units")
        return "\n".join([writer("fleet.units", **counts), none, *left_out, written])
    lines = [
        writer("fleet.units", **counts),
        writer("fleet.verdicts", **counts),
        "",
        writer("fleet.best"),
        *(f"  {count:,} {name}" for name, count in list(found["best"].items())[:NAMED]),
        "",
        *_by_rule(found, "no_motor_because", "obstacle", writer),
        *_by_rule(found, "to_adapt", "adapt", writer),
        *_by_rule(found, "to_find_out", "find_out", writer),
        *_standard(found["standard"], writer),
        *_budget(found["budget"], writer),
        writer("fleet.failures"),
        *(f"  {_year(found['failures'][year - 1], writer)}" for year in YEARS),
        "",
        *left_out,
        writer(found["screening"]),
        *changed_limits(found["limits"], writer),
        written,
    ]
    return "\n".join(lines)


def _counts(found: dict) -> dict[str, str]:
    return {name: f"{value:,}" for name, value in found.items() if isinstance(value, int)}


def _by_rule(found: dict, name: str, key: str, writer: Writer) -> list[str]:
    """Return the most frequent rules as lines with a heading, or [] if there are none."""
    rules = list(found[name].items())[:NAMED]
    if not rules:
        return []
    lines = (f"  {count:,} {writer(f'fleet.{key}.{rule}')}" for rule, count in rules)
    return [writer(f"fleet.{name}"), *lines, ""]


def _standard(found: dict, writer: Writer) -> list[str]:
    lists = found["lists"]
    if not lists:
        return []
    shown = {next(one["motors"] for one in lists if one["share"] >= share) for share in SHARES}
    lines = (f"  {_list(one, writer)}" for one in lists if one["motors"] in shown)
    return [standard_line(found, writer), *lines, ""]


def standard_line(found: dict, writer: Writer) -> str:
    """Return the number of motor models that cover the fleet, and the number of first choices."""
    counts = {name: f"{found[name]:,}" for name in ("units", "first_choices", "fewest")}
    return writer(f"fleet.standard.{'fewest' if found['proven'] else 'few'}", **counts)


def _list(one: dict, writer: Writer) -> str:
    values = {name: f"{one[name]:,}" for name in ("motors", "units", "more_with_work")}
    kwh = f"{one['kwh_more_per_year']:+,.0f}"
    share = f"{100 * one['share']:.3g}"
    return writer("fleet.standard.line", **values, share=share, kwh=kwh, added=one["added"])


def _budget(found: dict, writer: Writer) -> list[str]:
    if not found["units"]:
        return []
    lines = (f"  {_budget_year(one, found, writer)}" for one in found["years"][:NAMED])
    return [writer("fleet.budget.head"), *lines, *budget_notes(found, writer), ""]


def _budget_year(one: dict, found: dict, writer: Writer) -> str:
    return writer("fleet.budget.line", year=one["year"], **_budget_values(one, found))


def _budget_values(one: dict, found: dict) -> dict[str, str]:
    replaced = {end: f"{value:,.0f}" for end, value in one["replacements"].items()}
    costs = {f"cost_{end}": f"{value:,.0f}" for end, value in one["cost"].items()}
    return replaced | costs | {"currency": found["currency"]}


def budget_notes(found: dict, writer: Writer) -> list[str]:
    """Return the assumptions behind the budget."""
    whole = _budget_values(found["all_years"], found)
    labor = "with_labor" if found["with_labor"] else "without_labor"
    keys = ["units_without_age", "units_without_price"]
    notes = [writer(f"fleet.budget.{key}", units=f"{found[key]:,}") for key in keys if found[key]]
    return [writer("fleet.budget.whole", **whole), writer(f"fleet.budget.{labor}"), *notes]


def write_report(found: dict, out, writer: Writer) -> list[Path]:
    """Write the summary as a page and a workbook to the folder ``out``. Return the paths."""
    tables = report_tables(found, out, writer)
    page = fleet_page(found, tables, writer)
    book = workbook({writer(f"fleet.sheet.{name}"): one for name, one in tables.items()},
                    datetime.date.today())  # fmt: skip
    return write_files(out, {"fleet.html": page, "fleet.xlsx": book}, "out")


def report_tables(found: dict, out, writer: Writer) -> dict[str, pd.DataFrame]:
    """Return the tables of the report by name: plans first, then the units."""
    rows = {
        "summary": [
            {"what": writer(f"fleet.count.{name}"), "units": found[name]}
            for name in ("rows", "accepted", "rejected", "fits", "fits_with_work", "does_not_fit")
        ],
        "budget": [
            {
                "year": one["year"],
                **{f"motors_{end}": round(one["replacements"][end], 1) for end in one["cost"]},
                **{f"cost_{end}": round(one["cost"][end]) for end in one["cost"]},
                "uncovered": round(one["failures_without_motor"]["mid"], 1),
            }
            for one in found["budget"]["years"]
        ],
        "standard": [
            {
                "motors": one["motors"],
                "added": one["added"],
                "units": one["units"],
                "percent": round(100 * one["share"], 2),
                "fits": one["fits"],
                "more_with_work": one["more_with_work"],
                "kwh": round(one["kwh_more_per_year"]),
                "price": round(one["price_more"]),
            }
            for one in found["standard"]["lists"]
        ],
        "best": [{"motor": name, "units": count} for name, count in found["best"].items()],
        "obstacles": _rules(found["no_motor_because"], "obstacle", writer),
        "adapt": _rules(found["to_adapt"], "adapt", writer),
        "find_out": _rules(found["to_find_out"], "find_out", writer),
        "rejects": [
            {"row": one["row"], "unit": one["unit"], "reason": writer.error(one["error"])}
            for one in rejected_units(out, MOST_LISTED)
        ],
        "units": [_unit(one, writer) for one in listed_units(out, MOST_LISTED)],
    }
    values = {"currency": found["budget"]["currency"]}
    columns = {name: list(one[0]) if one else ["none"] for name, one in rows.items()}
    return {
        name: table(one, "fleet.column", writer, columns[name], **values)
        for name, one in rows.items()
    }


def _rules(counts: dict, key: str, writer: Writer) -> list[dict]:
    return [
        {"what": writer(f"fleet.{key}.{rule}"), "units": count} for rule, count in counts.items()
    ]


def _unit(one: dict, writer: Writer) -> dict:
    """Return the row of a unit with its tasks and obstacles in words."""

    def words(name: str, key: str) -> str:
        return "; ".join(writer(f"fleet.{key}.{rule}") for rule in (one[name] or "").split(", ")
                         if rule)  # fmt: skip

    obstacle = ""
    if one["nearest_motor"]:
        why = words("nearest_fails_on", "obstacle")
        obstacle = writer("fleet.nearest", motor=one["nearest_motor"], why=why)
    return {
        "unit": one["unit"],
        "verdict": writer(f"fleet.verdict.{one['verdict']}"),
        "motor": one["motor_1"] or "",
        "to_adapt": words("to_adapt_1", "adapt"),
        "to_find_out": words("to_find_out_1", "find_out"),
        "obstacle": obstacle,
    }


def fleet_page(found: dict, tables: dict[str, pd.DataFrame], writer: Writer) -> str:
    """Return the report as a page, with at most MOST_PRINTED units."""
    counts, budget, standard = _counts(found), found["budget"], found["standard"]
    notes = {
        "standard": [standard_line(standard, writer), writer("fleet.standard.note")],
        "budget": budget_notes(budget, writer),
        "obstacles": [writer("fleet.nearest_note")] if found["no_motor_because"] else [],
    }
    none = writer("fleet.verdict.does not fit")
    units = tables["units"]
    blocked = units[units.iloc[:, 1] == none].iloc[:, [0, -1]] if len(units) else units
    shown = tables | {
        "rejects": tables["rejects"].head(MOST_PRINTED),
        "without_motor": blocked.head(MOST_PRINTED),
    }
    sections = [
        {
            "title": writer(f"fleet.sheet.{name}"),
            "notes": notes.get(name, []),
            "columns": list(one.columns),
            "rows": [[_shown(cell) for cell in row] for row in one.itertuples(index=False)],
        }
        for name, one in shown.items()
        if len(one) and name not in ("summary", "units")
    ]
    return html_page(
        "fleet",
        writer=writer,
        title=writer("fleet.title"),
        lines=[writer("fleet.units", **counts), writer("fleet.verdicts", **counts)],
        sections=sections,
        notes=[
            *(writer(one.told) for one in found["left_out"]),
            writer(found["screening"]),
            *changed_limits(found["limits"], writer),
        ],
    )


def _shown(cell) -> str:
    return f"{cell:,}" if isinstance(cell, int | float) else str(cell)


def _year(line: dict, writer: Writer) -> str:
    ends = {name: f"{end:,.0f}" for name, end in line["all"].items()}
    parts = {name: f"{line[name]['mid']:,.0f}" for name in ("winding", "capacitor", "bearing")}
    return writer("fleet.year", year=line["year"], **ends, **parts)
