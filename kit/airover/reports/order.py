"""Write a work order as plain text, a self-contained HTML page, and JSON."""

import json
from pathlib import Path

from airover.core.files import write_files
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.core.units import convert
from airover.reports.answer import input_dict
from airover.reports.cause import cause_dict
from airover.reports.html import html_page
from airover.reports.plain import changed_limits, listed, paragraphs, wrapped
from airover.service.order import ORDER_CAUTIONS, Blank, Step, WorkOrder

LINE = "________________"


def order_text(order: WorkOrder, writer: Writer) -> str:
    """Return the order as plain text for a terminal or printer."""
    parts = [
        "\n".join(wrapped(writer(one)) for one in (_heading(order, writer), _motor(order))),
        listed(writer("order.cautions"), map(writer, ORDER_CAUTIONS)),
        *(_step_text(number, step, writer) for number, step in enumerate(order.steps, 1)),
        listed(writer("order.assumed"), _assumed(order, writer)),
        *map(wrapped, changed_limits(order.job.limits, writer)),
        writer("order.ticked", done=order.done, count=len(order.steps)),
    ]
    return paragraphs(parts)


def order_html(order: WorkOrder, writer: Writer) -> str:
    """Return the order as an HTML page for printing on A4 or letter paper."""
    customer = (order.job.customer.name, order.job.customer.address)
    return html_page(
        "work_order",
        writer=writer,
        order=order,
        heading=_heading(order, writer),
        job=_job(order, writer),
        customer=", ".join(one for one in customer if one),
        motor=_motor(order),
        cautions=ORDER_CAUTIONS,
        limits=changed_limits(order.job.limits, writer),
        assumed=_assumed(order, writer),
    )


def order_dict(order: WorkOrder, writer: Writer) -> dict:
    """Return the order as a dict for JSON, with dates as ISO 8601 strings or None."""
    case = order.candidate.case
    return {
        "job": {"name": order.job.name, "invented": order.job.invented},
        "motor": case.motor.name,
        "rating_hp": round(convert(case.rating, "power", "hp"), 6),
        "verdict": order.candidate.verdict,
        "reasons": [writer(one) for one in order.candidate.reasons],
        "steps": [_step_dict(step, writer) for step in order.steps],
        "warranty": _cover_dict(order.cover, writer),
        "cause": None if order.why is None else cause_dict(order.why, writer),
        "assumed": [input_dict(one, writer) for one in order.answer.assumed],
        "limits": order.job.limits.to_dict(writer),
        "cautions": [writer(one) for one in ORDER_CAUTIONS],
    }


def write_order(order: WorkOrder, folder: Path, writer: Writer) -> list[Path]:
    """Write the order as text, HTML and JSON to ``folder`` and return the paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    told = order_dict(order, writer)
    files = {
        "work-order.html": order_html(order, writer),
        "work-order.txt": order_text(order, writer),
        "work-order.json": json.dumps(told, indent=1, ensure_ascii=False) + "\n",
    }
    return write_files(folder, files, "out")


def _job(order: WorkOrder, writer: Writer) -> str:
    name = order.job.name or writer("order.no_name")
    return writer("order.invented", job=name) if order.job.invented else name


def _heading(order: WorkOrder, writer: Writer) -> Message:
    return Message("order.heading", job=_job(order, writer))


def _motor(order: WorkOrder) -> Message:
    case, count = order.candidate.case, len(order.candidate.reasons)
    return Message(
        "order.motor_open" if count else "order.motor",
        motor=case.motor.name,
        rating=Quantity(case.rating, "power"),
        verdict=Message(f"answer.verdict.{order.candidate.verdict}"),
        count=count,
    )


def _assumed(order: WorkOrder, writer: Writer) -> list[str]:
    names = ("name", "value", "why")
    inputs = (zip(names, writer.input(one), strict=True) for one in order.answer.assumed)
    return [writer("order.assumption", **dict(one)) for one in inputs]


def _step_text(number: int, step: Step, writer: Writer) -> str:
    box = "[ ]" if step.done is None else f"[x] {step.done}"
    lines = [wrapped(f"{number}. {box} {writer(step.title)}", "", "   ")]
    lines.append(wrapped(writer(step.why), "   ", "   "))
    lines += [wrapped(writer(one), "   - ", "     ") for one in step.do]
    lines += [wrapped(_blank_text(one, writer), "   > ", "     ") for one in step.write]
    return "\n".join(lines)


def _blank_text(blank: Blank, writer: Writer) -> str:
    key = "order.line_expected" if blank.expected else "order.line"
    line = f"{LINE} {blank.unit}".strip()
    return writer(key, what=blank.what, line=line, expected=blank.expected)


def _step_dict(step: Step, writer: Writer) -> dict:
    return {
        "key": step.key,
        "title": writer(step.title),
        "why": writer(step.why),
        "do": [writer(one) for one in step.do],
        "write": [
            {
                "what": writer(one.what),
                "unit": one.unit,
                "expected": writer.value(one.expected) if one.expected else "",
            }
            for one in step.write
        ],
        "done": None if step.done is None else step.done.isoformat(),
    }


def _cover_dict(cover, writer: Writer) -> dict:
    spans = ("last", "from_manufacture", "from_installation")
    return {
        **{name: _span_dict(getattr(cover, name)) for name in spans},
        "rule": cover.rule,
        "rule_stated": cover.stated,
        "sentences": [writer(one) for one in cover.messages],
    }


def _span_dict(span) -> dict | None:
    if span is None:
        return None
    ends = {"first": span.first, "last": span.last}
    return {name: None if day is None else day.isoformat() for name, day in ends.items()}
