"""A stock and a cross-reference as text, as pages to print, and as files in a folder."""

import json
from html import escape
from pathlib import Path

from airover.answer import CAUTIONS
from airover.figures import drawing
from airover.figures import stock as figures_stock
from airover.reports.answer import listed, wrapped
from airover.safe_file import make_folder, write_bytes, write_text
from airover.stock.study import StockStudy
from airover.tables import stock as tables_stock
from airover.tables import writing
from airover.tables.stock import crossref_rows
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


def limits(write: Writer) -> list[str]:
    """What a plan of a stock does not say."""
    return write.texts.below("stock.limit")


def stock_text(found: StockStudy, write: Writer | None = None) -> str:
    """The study for a terminal."""
    write = write or Writer()
    currency, planned, checked = found.currency, found.plan, found.confirmed
    motors = int(planned.units[: found.goods.motors].sum())
    load = [
        f"{line['truck']:3d} {line['counter']:3d}  {write.value(line['item'])}"
        for line in found.load_list()
    ]
    nexts = [
        write(
            "stock.next_line",
            why=one.why,
            gain=_percent(one.gain),
            money=_money(one.money, currency),
        )
        for one in found.next[:3]
    ]
    curve = [
        write(
            "stock.curve_line",
            money=_money(plan.money, currency),
            share=_percent(plan.fresh, 0),
            single=_percent(single.fresh, 0),
        )
        for plan, single in zip(found.plans, found.single, strict=True)
    ]
    headline = write(
        "stock.headline",
        motors=motors,
        money=_money(planned.money, currency),
        share=_percent(checked.forecast.mid, 0),
    )
    parts = [
        wrapped(headline),
        wrapped(" ".join(_confirmed(found, write))),
        "\n".join([write("stock.load"), *load]),
        listed(write("stock.next_title"), nexts),
        listed(write("stock.curve_title"), curve),
        listed(write("stock.limits_title"), limits(write)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _confirmed(found: StockStudy, write: Writer) -> list[str]:
    """How far the plan can be trusted, a sentence each."""
    planned, checked = found.plan, found.confirmed
    counts = {"calls": len(found.calls), "needs": len(found.matched.needs)}
    forecast, replayed = (_range(one, write) for one in (checked.forecast, checked.replayed))
    unseen = _percent(checked.unseen, 0)
    return [
        write("stock.calls", reach=_percent(found.reach, 0), **counts),
        write("stock.forecast", forecast=forecast, replayed=replayed, unseen=unseen),
        write(
            "stock.proof",
            planned=_percent(checked.planned),
            bound=_percent(planned.bound),
            gap=_percent(planned.gap, 2),
        ),
        write("stock.counter_money", money=_money(found.counter.money, found.currency)),
    ]


def _range(band, write: Writer) -> str:
    ends = {name: _percent(end) for name, end in band._asdict().items()}
    return write("stock.share_range", **ends)


def _percent(share: float, digits: int = 1) -> str:
    return f"{100 * share:.{digits}f}"


def _money(amount: float, currency: str) -> str:
    return f"{amount:.0f} {currency}"


def load_page(found: StockStudy, write: Writer | None = None) -> str:
    """The list to load on the truck, to print and to tick."""
    write = write or Writer()
    names = (write("stock.column.truck"), write("stock.column.item"))
    head = "<tr><th></th>" + "".join(f"<th>{escape(name)}</th>" for name in names) + "</tr>"
    rows = "\n".join(
        f'<tr><td><span class="box"></span></td><td>{line["truck"]}</td>'
        f"<td>{escape(write.value(line['item']))}</td></tr>"
        for line in found.load_list()
        if line["truck"]
    )
    table = f"<table><thead>{head}</thead><tbody>\n{rows}\n</tbody></table>"
    money = _money(found.plan.money, found.currency)
    told = escape(write("stock.page_note", days=found.terms.days, money=money))
    body = f"<p>{told}</p>\n{table}\n{_points(limits(write))}"
    return _page(write("stock.page_title"), body, write)


def crossref_page(entries, write: Writer | None = None) -> str:
    """The cross-reference, a table for each nameplate, to print for the counter."""
    write = write or Writer()
    parts = "\n".join(_entry(entry, write) for entry in entries)
    note = "<p class='note'>" + escape(" ".join(map(write, CAUTIONS))) + "</p>"
    return _page(write("crossref.title"), parts + note, write)


def _entry(entry, write: Writer) -> str:
    names = ("motor", "rating", "verdict", "chance", "capacitor", "adapt", "find out")
    head = "".join(f"<th>{escape(write(f'crossref.column.{name}'))}</th>" for name in names)
    rows = crossref_rows(entry, write)
    body = "\n".join(
        "<tr>" + "".join(f"<td>{escape(row.get(name, ''))}</td>" for name in names) + "</tr>"
        for row in rows
    )
    table = f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>"
    kind = "entry" if len(entry.fitting) < 6 else ""
    return f'<div class="{kind}"><h2>{escape(rows[0]["plate"])}</h2>\n{table}</div>'


def crossref_text(entries, write: Writer | None = None) -> str:
    """The cross-reference for a terminal."""
    write = write or Writer()
    return "\n\n".join(_entry_text(crossref_rows(entry, write), write) for entry in entries) + "\n"


def _entry_text(rows: list[dict], write: Writer) -> str:
    lines = (wrapped(_told(row, write), "  ", "    ") for row in rows)
    return "\n".join([rows[0]["plate"], *lines])


def _told(row: dict, write: Writer) -> str:
    if not row["motor"]:
        return row["adapt"]
    judged = write("crossref.line", **{n: row[n] for n in ("motor", "rating", "verdict", "chance")})
    return " ".join(text for text in (judged, row["adapt"], row["find out"]) if text)


def write_stock(found: StockStudy, folder: Path, write: Writer | None = None) -> list[Path]:
    """Text, JSON, tables, the list to print and pictures into ``folder``; returns the paths.

    JSON is in English. Raises InputError when the folder or a file in it cannot be written.
    """
    write = write or Writer()
    make_folder(folder, "out")
    plain = Writer("en", write.system)
    texts = {
        "stock.txt": stock_text(found, write),
        "stock.json": json.dumps(found.to_dict(plain), indent=1) + "\n",
        "load-list.csv": writing.csv(tables_stock.load_list(found, write)),
        "curve.csv": writing.csv(tables_stock.curve(found, write)),
        "next.csv": writing.csv(tables_stock.next_motors(found, write)),
        "load-list.html": load_page(found, write),
    }
    pictures = {"curve.png": figures_stock.money_curve, "replay.png": figures_stock.replayed}
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    for name, draw in pictures.items():
        write_bytes(folder / name, drawing.png(draw(found, write)), "out")
    return [folder / name for name in (*texts, *pictures)]


def write_crossref(entries, folder: Path, write: Writer | None = None) -> list[Path]:
    """The cross-reference as CSV and as a page to print; errors as in write_stock."""
    make_folder(folder, "out")
    texts = {
        "crossref.csv": writing.csv(tables_stock.crossref(entries, write)),
        "crossref.html": crossref_page(entries, write),
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    return [folder / name for name in texts]


def _points(sentences) -> str:
    return f"<ul class='note'>{''.join(f'<li>{escape(one)}</li>' for one in sentences)}</ul>"


def _page(title: str, body: str, write: Writer) -> str:
    return "\n".join(
        [
            f'<!DOCTYPE html>\n<html lang="{write.language}">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>",
            f"<h1>{escape(title)}</h1>\n{body}\n</body>\n</html>\n",
        ]
    )
