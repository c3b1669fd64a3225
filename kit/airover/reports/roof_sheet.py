"""Write a roof sheet as plain text, PDF, JSON and a self-contained web page for a phone.

The PDF page is half letter size or A5. The web page works offline and needs no other files. It
contains the table in `airover.service.roof_sheet.ExpectedAmps` and evaluates readings in the same
way as `RoofSheet.judge`, but stores nothing.
"""

import datetime
from pathlib import Path

from airover.core.files import write_files
from airover.core.message import Quantity
from airover.core.texts import Writer
from airover.core.units import convert
from airover.model.simulation import USUAL
from airover.reports.html import TEMPLATES, html_page
from airover.reports.plain import figure, listed, paragraphs, wrapped
from airover.reports.typeset import everywhere, plain, typeset
from airover.service.roof_sheet import OUTDOOR, STATES, STOP, RoofSheet

PAPERS = {"US": ("5.5in", "8.5in"), "SI": ("148mm", "210mm")}
TEMPLATE = TEMPLATES / "roof_sheet.typ"
_NAME = "roof_sheet"
_DECIMALS = 3  # of the amps in the page


def roof_content(sheet: RoofSheet, writer: Writer) -> dict:
    """Return the text of the sheet as plain data."""

    def said(messages) -> list[str]:
        return [writer.value(one) for one in messages]

    job = sheet.order.job
    return {
        "language": writer.language,
        "title": writer("roof.title"),
        "job": job.name or writer("order.no_name"),
        "customer": ", ".join(one for one in (job.customer.name, job.customer.address) if one),
        "invented": writer("roof.invented") if job.invented else "",
        "motor": sheet.order.motor.name,
        "verdict": said(sheet.order.candidate.reasons),
        "lines": [
            {"key": key, "name": writer(f"roof.line.{key}"), "text": writer(message)}
            for key, message in sheet.facts.items()
        ],
        "amps": {
            "title": writer("roof.amps_title"),
            "note": writer("roof.amps_note", air=Quantity(sheet.air, "air_temperature")),
            "rows": [
                [writer.amount(volts, "voltage"), writer.value(Quantity(band, "current"))]
                for volts, band in sheet.printed_amps
            ],
        },
        "parts": {"title": writer("roof.parts"), "items": said(sheet.parts)},
        "questions": {"title": writer("roof.questions"), "items": said(sheet.questions)},
        "cautions": {"title": writer("roof.cautions"), "items": said(sheet.cautions)},
        "label": {
            "title": writer("roof.label_title"),
            "text": writer(sheet.label),
            "replaced": writer("roof.replaced"),
            "by": writer("roof.by"),
        },
        "foot": writer("roof.foot"),
    }


def roof_text(sheet: RoofSheet, writer: Writer) -> str:
    """Return the sheet as plain text for a terminal or a text message."""
    it = roof_content(sheet, writer)
    head = [writer("roof.heading", job=it["job"]), it["customer"], it["invented"], it["motor"]]
    amps = [f"{volts}: {amps}" for volts, amps in it["amps"]["rows"]]
    label = it["label"]
    parts = [
        "\n".join(wrapped(one) for one in head if one),
        "\n".join(wrapped(f"{one['name']}: {one['text']}", "", "  ") for one in it["lines"]),
        listed(it["questions"]["title"], it["questions"]["items"]),
        listed(it["amps"]["title"], amps) + "\n" + wrapped(it["amps"]["note"]),
        listed(it["parts"]["title"], it["parts"]["items"]),
        listed(it["cautions"]["title"], it["cautions"]["items"]),
        wrapped(f"{label['title']}: {label['text']}. {label['replaced']} ____-__-__"),
        wrapped(it["foot"]),
    ]
    return paragraphs(parts)


def roof_html(sheet: RoofSheet, writer: Writer) -> str:
    """Return the sheet as one HTML page that evaluates readings offline."""
    writer, case = writer.for_print, sheet.order.case
    examples = {
        "volts": f"{case.conditions.voltage[USUAL]:.0f}",
        "amps": writer.amount(case.current.mid, "current").split()[0],
    }
    return html_page(
        _NAME,
        it=roof_content(sheet, writer),
        say=writer,
        table=judge_table(sheet, writer),
        examples=examples,
        unit=writer.unit("air_temperature"),
    )


def judge_table(sheet: RoofSheet, writer: Writer) -> dict:
    """Return the limits, expected amps and sentences that the page needs to evaluate readings."""
    amps, order = sheet.amps, sheet.order
    least, _, most = order.supply
    return {
        "volts": [float(one) for one in amps.voltage],
        "outdoor": [float(writer.number(one, "air_temperature")) for one in OUTDOOR],
        "low": [[round(float(one), _DECIMALS) for one in row] for row in amps.low],
        "high": [[round(float(one), _DECIMALS) for one in row] for row in amps.high],
        "least": least,
        "most": most,
        "stop": order.most_amps,
        "nameplate": order.case.rated_current,
        "said": {state: writer(f"roof.state.{state}") for state in STATES},
        "stops": list(STOP),
        "range": writer("roof.judge.range", low="{low}", high="{high}"),
    }


def roof_dict(sheet: RoofSheet, writer: Writer) -> dict:
    """Return the sheet as a dict for JSON."""
    case = sheet.order.case
    return {
        "job": {"name": sheet.order.job.name, "invented": sheet.order.job.invented},
        "motor": case.motor.name,
        "rating_hp": round(convert(case.rating, "power", "hp"), 6),
        "amps_full_load": figure(case.rated_current),
        "amps_most": figure(sheet.order.most_amps),
        "volts_allowed": [figure(sheet.order.supply.low), figure(sheet.order.supply.high)],
        "amps": [
            {"volts": volts, **{name: figure(end) for name, end in band._asdict().items()}}
            for volts, band in sheet.printed_amps
        ],
        **{name: one for name, one in roof_content(sheet, writer).items()
           if name in ("lines", "parts", "questions", "cautions", "label")},
    }  # fmt: skip


def roof_pdf(sheet: RoofSheet, writer: Writer, date: datetime.date | None = None) -> bytes:
    """Return the sheet as one PDF page."""
    content = everywhere(plain, roof_content(sheet, writer.for_print))
    content["paper"] = PAPERS[writer.system]
    template = TEMPLATE.read_text(encoding="utf-8")
    day = date or datetime.date.today()
    return typeset(_NAME, content, {}, day, template)


def write_roof(sheet: RoofSheet, folder: Path, writer: Writer) -> list[Path]:
    """Write the sheet as HTML, PDF and text to ``folder`` and return the paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    files = {
        "roof-sheet.html": roof_html(sheet, writer),
        "roof-sheet.pdf": roof_pdf(sheet, writer),
        "roof-sheet.txt": roof_text(sheet, writer),
    }
    return write_files(folder, files, "out")
