"""A work order as plain text, as one HTML page that needs nothing from outside, and as JSON."""

import json
from pathlib import Path

from airover.core.files import make_folder, write_text
from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.core.units import convert
from airover.reports.answer import listed, wrapped
from airover.reports.html import html_page
from airover.service.order import ORDER_CAUTIONS, Blank, Step, WorkOrder

LINE = "________________"
TEMPLATE = Path(__file__).parent / "templates" / "work_order.html"


def order_text(order: WorkOrder, writer: Writer | None = None) -> str:
    """The order for a terminal or a plain printer."""
    say = writer or Writer()
    parts = [
        "\n".join(wrapped(say(one)) for one in (_heading(order, say), _motor(order))),
        listed(say("order.cautions"), map(say, ORDER_CAUTIONS)),
        *(_step_text(number, step, say) for number, step in enumerate(order.steps, 1)),
        listed(say("order.assumed"), _assumed(order, say)),
        say("order.ticked", done=order.done, count=len(order.steps)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def order_html(order: WorkOrder, writer: Writer | None = None) -> str:
    """The order as a page to print on A4 or letter paper; what people typed is escaped."""
    say = writer or Writer()
    customer = (order.job.customer.name, order.job.customer.address)
    return html_page(
        TEMPLATE,
        say=say,
        order=order,
        heading=_heading(order, say),
        job=_job(order, say),
        customer=", ".join(one for one in customer if one),
        motor=_motor(order),
        cautions=ORDER_CAUTIONS,
        assumed=_assumed(order, say),
    )


def order_dict(order: WorkOrder, writer: Writer | None = None) -> dict:
    """The order as JSON takes it; days as ISO 8601 texts, None where there is none."""
    say, case = writer or Writer(), order.candidate.case
    return {
        "job": {"name": order.job.name, "invented": order.job.invented},
        "motor": case.motor.name,
        "rating_hp": round(convert(case.rating, "power", "hp"), 6),
        "verdict": order.candidate.verdict,
        "reasons": [say(one) for one in order.candidate.reasons],
        "steps": [_step_dict(step, say) for step in order.steps],
        "warranty": _cover_dict(order.cover, say),
        "cause": None if order.why is None else order.why.to_dict(say),
        "assumed": [one.to_dict(say) for one in order.answer.assumed],
        "cautions": [say(one) for one in ORDER_CAUTIONS],
    }


def write_order(order: WorkOrder, folder: Path, writer: Writer | None = None) -> list[Path]:
    """Write the order as text, HTML and JSON into ``folder``, made if missing; returns the paths.

    Raises InputError when the folder or a file in it cannot be written.
    """
    make_folder(folder, "out")
    told = order_dict(order, writer)
    texts = {
        "work-order.html": order_html(order, writer),
        "work-order.txt": order_text(order, writer),
        "work-order.json": json.dumps(told, indent=1, ensure_ascii=False) + "\n",
    }
    for name, text in texts.items():
        write_text(folder / name, text, "out")
    return [folder / name for name in texts]


def _job(order: WorkOrder, say: Writer) -> str:
    name = order.job.name or say("order.no_name")
    return say("order.invented", job=name) if order.job.invented else name


def _heading(order: WorkOrder, say: Writer) -> Message:
    return Message("order.heading", job=_job(order, say))


def _motor(order: WorkOrder) -> Message:
    case, count = order.candidate.case, len(order.candidate.reasons)
    return Message(
        "order.motor_open" if count else "order.motor",
        motor=case.motor.name,
        rating=Quantity(case.rating, "power"),
        verdict=Message(f"answer.verdict.{order.candidate.verdict}"),
        count=count,
    )


def _assumed(order: WorkOrder, say: Writer) -> list[str]:
    names = ("name", "value", "why")
    inputs = (zip(names, say.input(one), strict=True) for one in order.answer.assumed)
    return [say("order.assumption", **dict(one)) for one in inputs]


def _step_text(number: int, step: Step, say: Writer) -> str:
    box = "[ ]" if step.done is None else f"[x] {step.done}"
    lines = [wrapped(f"{number}. {box} {say(step.title)}", "", "   ")]
    lines.append(wrapped(say(step.why), "   ", "   "))
    lines += [wrapped(say(one), "   - ", "     ") for one in step.do]
    lines += [wrapped(_blank_text(one, say), "   > ", "     ") for one in step.write]
    return "\n".join(lines)


def _blank_text(blank: Blank, say: Writer) -> str:
    key = "order.line_expected" if blank.expected else "order.line"
    line = f"{LINE} {blank.unit}".strip()
    return say(key, what=blank.what, line=line, expected=blank.expected)


def _step_dict(step: Step, say: Writer) -> dict:
    return {
        "key": step.key,
        "title": say(step.title),
        "why": say(step.why),
        "do": [say(one) for one in step.do],
        "write": [
            {
                "what": say(one.what),
                "unit": one.unit,
                "expected": say.value(one.expected) if one.expected else "",
            }
            for one in step.write
        ],
        "done": None if step.done is None else step.done.isoformat(),
    }


def _cover_dict(cover, say: Writer) -> dict:
    spans = ("last", "from_manufacture", "from_installation")
    return {
        **{name: _span_dict(getattr(cover, name)) for name in spans},
        "rule": cover.rule,
        "rule_stated": cover.stated,
        "sentences": [say(one) for one in cover.messages],
    }


def _span_dict(span) -> dict | None:
    if span is None:
        return None
    ends = {"first": span.first, "last": span.last}
    return {name: None if day is None else day.isoformat() for name, day in ends.items()}
