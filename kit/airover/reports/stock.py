"""A stock and a cross-reference as text, as pages to print, and as files in a folder."""

import json
from html import escape
from pathlib import Path

from airover.answer import CAUTIONS
from airover.figures import drawing
from airover.figures import stock as figures_stock
from airover.reports.answer import listed, wrapped
from airover.safe_file import make_folder, write_bytes, write_text
from airover.stock.study import Study
from airover.tables import stock as tables_stock
from airover.tables import writing
from airover.texts import Writer

STYLE = """
@page { size: auto; margin: 12mm; }
@page { @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; } }
body { font: 9.5pt/1.3 Helvetica, Arial, sans-serif; color: #000; background: #fff;
       max-width: 190mm; margin: 0 auto; padding: 0 4mm; overflow-wrap: anywhere; }
h1 { font-size: 16pt; margin: 3mm 0 1mm; } h2 { font-size: 11pt; margin: 4mm 0 1mm; }
table { border-collapse: collapse; width: 100%; }
thead { display: table-header-group; }
th, td { text-align: left; vertical-align: top; padding: .8mm 1.5mm;
         border-bottom: .5pt solid #000; }
tr, .entry { break-inside: avoid; }
.box { display: inline-block; width: 4mm; height: 4mm; border: 1pt solid #000; }
.note { font-size: 8.5pt; color: #333; }
"""
LIMITS = (
    "Shares are worked from calls that were drawn or replayed, not counted on real trucks.",
    "A kind of call that the history never had is in no plan.",
    "On the job each motor is worked and checked as one job, and measured after installing.",
)


def stock_text(found: Study) -> str:
    """The study for a terminal."""
    planned, checked = found.plan, found.confirmed
    money = f"{planned.money:.0f} {found.currency}"
    motors = int(planned.units[: found.goods.motors].sum())
    lines = [f"{line['truck']:3d} {line['counter']:3d}  {line['item']}"
             for line in found.load_list()]  # fmt: skip
    nexts = [f"{one.why} {100 * one.gain:.1f} % more calls for {one.money:.0f} {found.currency}."
             for one in found.next[:3]]  # fmt: skip
    curve = [f"{plan.money:6.0f} {found.currency}: {100 * plan.fresh:.0f} %; "
             f"motors of one rating only: {100 * single.fresh:.0f} %"
             for plan, single in zip(found.plans, found.single, strict=True)]  # fmt: skip
    parts = [
        wrapped(
            f"A TRUCK WITH {motors} MOTORS AND THEIR PARTS FOR {money} FIXES "
            f"{100 * checked.forecast.mid:.0f} % OF THE CALLS AT THE FIRST VISIT."
        ),
        wrapped(
            f"{len(found.calls)} calls with {len(found.matched.needs)} distinct needs; the "
            f"catalogue has a motor for {100 * found.reach:.0f} % of the calls. Forecast "
            f"{_percent(checked.forecast)}; the year held out, replayed: "
            f"{_percent(checked.replayed)}, {100 * checked.unseen:.0f} % of its calls of kinds "
            f"never seen before. The programme itself, which knows a load's calls beforehand, says "
            f"{100 * checked.planned:.1f} %, and no plan reaches more than "
            f"{100 * planned.bound:.1f} % on these calls (gap {100 * planned.gap:.2f} points). "
            f"The counter's shelf takes {found.counter.money:.0f} {found.currency}."
        ),
        "\n".join(["Truck, counter:", *lines]),
        listed("Next to add", nexts),
        listed("Money on one truck, and calls fixed at the first visit", curve),
        listed("Limits", LIMITS),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _percent(band) -> str:
    return f"{100 * band.mid:.1f} % ({100 * band.low:.1f} to {100 * band.high:.1f})"


def load_page(found: Study) -> str:
    """The list to load on the truck, to print and to tick."""
    head = "<tr><th></th><th>on the truck</th><th>item</th></tr>"
    rows = "\n".join(
        f'<tr><td><span class="box"></span></td><td>{line["truck"]}</td>'
        f"<td>{escape(line['item'])}</td></tr>"
        for line in found.load_list()
        if line["truck"]
    )
    table = f"<table><thead>{head}</thead><tbody>\n{rows}\n</tbody></table>"
    days, cost = f"{found.terms.days:g} days", f"{found.plan.money:.0f} {found.currency}"
    told = f"<p>For each truck, filled up every {days}; {cost} in all.</p>"
    return _page("Load on the truck", f"{told}\n{table}\n{_points(LIMITS)}")


def crossref_page(entries) -> str:
    """The cross-reference, a table for each plate, to print for the counter."""
    parts = "\n".join(map(_entry, entries))
    note = "<p class='note'>" + escape(" ".join(map(Writer(), CAUTIONS))) + "</p>"
    return _page("Motors that fit", parts + note)


def _entry(entry) -> str:
    names = ("motor", "rating", "verdict", "chance", "capacitor", "adapt", "find out")
    head = "".join(f"<th>{name}</th>" for name in names)
    body = "\n".join(
        "<tr>" + "".join(f"<td>{escape(row.get(name, ''))}</td>" for name in names) + "</tr>"
        for row in entry.rows(Writer())
    )
    table = f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>"
    kind = "entry" if len(entry.fitting) < 6 else ""
    return f'<div class="{kind}"><h2>{escape(entry.plate)}</h2>\n{table}</div>'


def crossref_text(entries, language: str = "en", system: str = "US") -> str:
    """The cross-reference for a terminal."""
    writer = Writer(language, system)
    return "\n\n".join(
        "\n".join([entry.plate, *(wrapped(_told(row), "  ", "    ") for row in entry.rows(writer))])
        for entry in entries
    ) + "\n"  # fmt: skip


def _told(row: dict) -> str:
    if not row["motor"]:
        return row["adapt"]
    work = " ".join(text for text in (row["adapt"], row["find out"]) if text)
    judged = f"{row['verdict']} (chance {row['chance']})"
    return f"{row['motor']} at {row['rating']}: {judged}. {work}".strip()


def write_stock(found: Study, folder: Path) -> list[Path]:
    """Text, JSON, tables, the list to print and pictures into ``folder``; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    texts = {
        "stock.txt": stock_text(found),
        "stock.json": json.dumps(found.to_dict(), indent=1) + "\n",
        "load-list.csv": writing.csv(tables_stock.load_list(found)),
        "curve.csv": writing.csv(tables_stock.curve(found)),
        "next.csv": writing.csv(tables_stock.next_motors(found)),
        "load-list.html": load_page(found),
    }
    pictures = {"curve.png": figures_stock.money_curve, "replay.png": figures_stock.replayed}
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    for name, draw in pictures.items():
        write_bytes(folder / name, drawing.png(draw(found)), "out")
    return [folder / name for name in (*texts, *pictures)]


def write_crossref(entries, folder: Path) -> list[Path]:
    """The cross-reference as CSV and as a page to print; errors as in write_stock."""
    make_folder(folder, "out")
    texts = {
        "crossref.csv": writing.csv(tables_stock.crossref(entries)),
        "crossref.html": crossref_page(entries),
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    return [folder / name for name in texts]


def _points(sentences) -> str:
    return f"<ul class='note'>{''.join(f'<li>{escape(one)}</li>' for one in sentences)}</ul>"


def _page(title: str, body: str) -> str:
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>",
            f"<h1>{escape(title)}</h1>\n{body}\n</body>\n</html>\n",
        ]
    )
