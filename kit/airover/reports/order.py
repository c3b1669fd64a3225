"""A work order on paper: as plain text, and as one HTML page that needs nothing from outside."""

import json
from html import escape
from pathlib import Path

from airover.order import Blank, Step
from airover.order.work_order import ORDER_CAUTIONS, WorkOrder
from airover.reports.answer import listed, wrapped
from airover.safe_file import make_folder, write_text

LINE = "________________"
INVENTED = "invented scenario, makers, motors and prices"
LONG, WIDE = 5, 30  # sentences of a step that may be parted, letters of a label with its own row
CAUTION = "Before anyone touches the unit"
STYLE = """
@page { size: auto; margin: 13mm 14mm 15mm; }
@page { @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; } }
* { box-sizing: border-box; }
body { font: 9.5pt/1.32 "Helvetica Neue", Arial, sans-serif; color: #000; background: #fff;
       max-width: 190mm; margin: 0 auto; padding: 0 4mm; overflow-wrap: anywhere; }
h1 { font-size: 17pt; margin: 4mm 0 0; }
h2 { font-size: 11pt; margin: 0; }
p { margin: 1mm 0; }
ul { margin: 1mm 0; padding-left: 5mm; }
.job { margin: 0 0 3mm; }
.caution { border: 1.5pt solid #000; padding: 1.5mm 4mm; margin: 3mm 0; break-inside: avoid; }
.step { display: grid; grid-template-columns: 15mm 1fr; column-gap: 3mm;
        border-top: .75pt solid #000; padding: 1.8mm 0; break-inside: avoid; }
.long { break-inside: auto; }
.long h2, .long .why { break-after: avoid; }
li { break-inside: avoid; }
.mark { text-align: center; font-size: 8pt; }
.box { display: block; width: 7mm; height: 7mm; border: 1.2pt solid #000; margin: 0 auto .6mm;
       font-size: 14pt; line-height: 6.4mm; }
.day { display: block; border-bottom: .75pt solid #000; height: 5mm; }
.why { font-style: italic; color: #333; }
.write { display: grid; grid-template-columns: repeat(2, 1fr); gap: 1.2mm 7mm; margin: 1.5mm 0 0;
         padding: 0; list-style: none; }
.write li { display: flex; flex-wrap: wrap; align-items: baseline; column-gap: 1.5mm; }
.wide { grid-column: 1 / -1; }
.line { flex: 1 0 22mm; border-bottom: .75pt solid #000; height: 5.5mm; }
.expected { flex-basis: 100%; font-size: 8.5pt; color: #333; }
.end { border-top: .75pt solid #000; padding-top: 2mm; font-size: 8.5pt; }
"""


def order_text(order: WorkOrder) -> str:
    """The order for a terminal or a plain printer."""
    parts = [
        "\n".join([f"WORK ORDER: {_job_name(order)}", wrapped(_motor(order))]),
        listed(CAUTION, ORDER_CAUTIONS),
        *(_step_text(number, step) for number, step in enumerate(order.steps, 1)),
        listed("Assumed", _assumed(order)),
        f"{order.done} of {len(order.steps)} steps are ticked.",
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def order_html(order: WorkOrder) -> str:
    """The order as a page to print on A4 or letter paper; what people typed is escaped."""
    name, steps = escape(_job_name(order)), enumerate(order.steps, 1)
    customer = ", ".join(x for x in (order.job.customer.name, order.job.customer.address) if x)
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>Work order: {name}</title>\n<style>{STYLE}</style>\n</head>\n<body>",
            f"<h1>Work order</h1>\n<div class='job'><p><b>{name}</b></p>",
            f"<p>{escape(customer)}</p>" if customer else "",
            f"<p>{escape(_motor(order))}</p></div>",
            f'<div class="caution"><h2>{CAUTION}</h2>{_points(ORDER_CAUTIONS)}</div>',
            *(_step_html(number, step) for number, step in steps),
            f'<div class="end"><h2>Assumed</h2>{_points(_assumed(order))}</div>',
            "</body>\n</html>\n",
        ]
    )


def write_order(order: WorkOrder, folder: Path) -> list[Path]:
    """Write the order as text, HTML and JSON into ``folder``, made if missing; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    texts = {
        "work-order.html": order_html(order),
        "work-order.txt": order_text(order),
        "work-order.json": json.dumps(order.to_dict(), indent=1) + "\n",
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    return [folder / name for name in texts]


def _job_name(order: WorkOrder) -> str:
    name = order.job.name or "Job without a name"
    return f"{name} ({INVENTED})" if order.job.invented else name


def _motor(order: WorkOrder) -> str:
    adapted = len(order.candidate.reasons)
    points = f": {adapted} to adapt or find out, listed below" if adapted else ""
    return f"New motor: {order.title}, which {order.candidate.verdict}{points}."


def _assumed(order: WorkOrder) -> list[str]:
    return [f"{one.name}: {one.value} ({one.why})" for one in order.answer.assumed]


def _step_text(number: int, step: Step) -> str:
    box = "[ ]" if step.done is None else f"[x] {step.done}"
    lines = [wrapped(f"{number}. {box} {step.title}", "", "   "), wrapped(step.why, "   ", "   ")]
    lines += [wrapped(one, "   - ", "     ") for one in step.do]
    lines += [wrapped(_blank_text(one), "   > ", "     ") for one in step.write]
    return "\n".join(lines)


def _blank_text(blank: Blank) -> str:
    expected = f" (expected: {blank.expected})" if blank.expected else ""
    return f"{blank.what}: {LINE} {blank.unit}".rstrip() + expected


def _step_html(number: int, step: Step) -> str:
    done = "" if step.done is None else "&#10003;"
    day = step.done or 'done on<span class="day"></span>'
    kind = "step long" if len(step.do) >= LONG else "step"
    write = "".join(map(_blank_html, step.write))
    write = f'<ul class="write">{write}</ul>' if write else ""
    return (
        f'<div class="{kind}"><div class="mark"><span class="box">{done}</span>{day}</div><div>'
        f"<h2>{number}. {escape(step.title)}</h2>\n"
        f'<p class="why">{escape(step.why)}</p>\n{_points(step.do)}'
        f"{write}</div></div>"
    )


def _blank_html(blank: Blank) -> str:
    unit = f"<span>{escape(blank.unit)}</span>" if blank.unit else ""
    expected = ""
    if blank.expected:
        expected = f'<span class="expected">expected: {escape(blank.expected)}</span>'
    kind = ' class="wide"' if len(blank.what) >= WIDE else ""
    label = f"<span>{escape(blank.what)}</span>"
    return f'<li{kind}>{label}<span class="line"></span>{unit}{expected}</li>'


def _points(sentences) -> str:
    return f"<ul>{''.join(f'<li>{escape(one)}</li>' for one in sentences)}</ul>"
