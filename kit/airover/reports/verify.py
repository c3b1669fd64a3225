"""Write the verification of a motor as plain text and as JSON."""

from airover.core.message import Message, Quantity
from airover.core.texts import Writer
from airover.core.units import Amount
from airover.reports.answer import assumed, input_dict
from airover.reports.plain import figure, listed, paragraphs, wrapped
from airover.service.judgment import OPEN
from airover.service.readings import FIGURES
from airover.service.verification import SUSPECTED, Verified, percent

WORTH = 0.02  # minimum probability for listing an open fault


def verify_report(found: Verified, writer: Writer) -> str:
    """Return the verification as text for a terminal."""
    name = found.job.name or writer("verify.no_name")
    sections = {
        "questioned": [writer(one.sentence) for one in found.questioned],
        "read": [_with_state(one.state, one.why, writer) for one in found.judged],
        "seen": remark_lines(found, writer),
        "inferred": _inferred_lines(found, writer),
        "faults": fault_lines(found, writer),
        "assumed": assumed(found.assumed, writer),
        "caution": [writer.value(one) for one in found.cautions],
    }
    lists = {key: listed(writer(f"verify.title.{key}"), told) for key, told in sections.items()}
    parts = [
        writer("verify.job_invented", job=name) if found.measured.invented else name,
        wrapped(writer(found.verdict)),
        *(lists[key] for key in ("questioned", "read", "seen", "inferred", "faults")),
        wrapped(next_text(found, writer)),
        *(lists[key] for key in ("assumed", "caution")),
    ]
    return paragraphs(parts)


def verified_dict(found: Verified, writer: Writer) -> dict:
    """Return the verification as a dict for JSON, with numbers in SI units."""
    return {
        "job": {"name": found.job.name, "invented": found.job.invented},
        "state": found.state,
        "verdict": writer(found.verdict),
        "readings": [_plain(one, writer) for one in found.judged],
        "questioned": [
            {**_plain(one, writer), "sentence": writer(one.sentence)} for one in found.questioned
        ],
        "remarks": [_plain(one, writer) for one in found.remarks],
        "inferred": {name: _plain(band, writer) for name, band in found.bands.items()},
        "expected": {name: _plain(band, writer) for name, band in found.bands_before.items()},
        "chance_as_expected": figure(found.chance_expected),
        "explained": found.is_explained,
        "faults": [
            {**_plain(one, writer), "name": writer(one.name), "look": writer(one.look)}
            for one in found.findings
        ],
        "open_bits": figure(found.open_bits),
        "next": [{**_plain(one, writer), "how": writer(one.how)} for one in found.next],
        "next_sentence": next_text(found, writer),
        "assumed": [input_dict(one, writer) for one in found.assumed],
        "cautions": [writer.value(one) for one in found.cautions],
    }


def remark_lines(found: Verified, writer: Writer) -> list[str]:
    """Return lines about what was observed and about values combined from several readings."""
    return [_with_state(one.state, one.sentence, writer) for one in found.remarks]


def fault_lines(found: Verified, writer: Writer) -> list[str]:
    """Return lines about the probability of no fault, suspected faults and unresolved faults.

    Advice about the most likely fault is in `next_text`.
    """
    if found.known is None:
        return []
    lines = [writer("verify.as_expected", chance=percent(found.chance_expected))]
    advised = found.next_sentences
    for one in found.findings:
        if one.state == SUSPECTED or (one.state == OPEN and one.chance >= WORTH):
            state = Message(f"verify.state.{one.state}")
            values = {"fault": one.name, "chance": percent(one.chance), "state": state}
            if one.chance >= found.chance_expected / 5 and one.look not in advised:
                lines.append(writer("verify.fault_state_look", look=one.look, **values))
            else:
                lines.append(writer("verify.fault_state", **values))
    return lines


def next_text(found: Verified, writer: Writer) -> str:
    """Return a sentence about the next inspection and reading."""
    return " ".join(map(writer, found.next_sentences))


def _with_state(state: str, sentence: Message, writer: Writer) -> str:
    return writer("verify.remark", state=Message(f"verify.state.{state}"), sentence=sentence)


def _inferred_lines(found: Verified, writer: Writer) -> list[str]:
    """Return one line for each quantity with its inferred and expected values."""
    return [
        writer(
            "verify.inferred",
            name=Message(f"verify.figure.{name}"),
            value=Quantity(band, FIGURES[name]),
            expected=Quantity(found.bands_before[name], FIGURES[name]),
        )
        for name, band in found.bands.items()
    ]


def _plain(one, writer: Writer) -> dict:
    """Return the fields of a named tuple for JSON, with reading times numbered from 1."""
    plain = {}
    for name, value in one._asdict().items():
        if isinstance(value, float):
            value = figure(value)
        elif isinstance(value, Message | Quantity | Amount):
            value = writer.value(value)
        plain[name] = value + 1 if name == "moment" else value
    return plain
