"""A verified motor in the reader's language: pieces of HTML by the name of their place."""

from airover.message import Message
from airover.panels import style
from airover.panels.reader import Reader
from airover.tables.verify import allowed, reading_label
from airover.texts import Writer
from airover.verify.judged import AGREES, DIFFERS, OPEN
from airover.verify.readings import FIGURES
from airover.verify.verified import SUSPECTED, Verified, percent

_BARS = {AGREES: "fits", DIFFERS: "does not fit", OPEN: "fits with work"}
_BESIDE = {"expected": "measured.of_expected", "plate": "measured.of_plate_limit"}
WORTH = 0.05  # chance from which a fault is named
MOST = 3  # faults that are named
_SHOWN = ("power_shaft_w", "speed_rpm", "flow_m3s", "temp_winding_c")


def parts(found: Verified | None, reader: Reader) -> dict[str, str]:
    """HTML of each place; without readings only how to begin."""
    if found is None:
        return {"verdict": style.text(reader("measured.begin"))}
    return {
        "verdict": _verdict(found, reader, reader.said),
        "readings": _readings(found, reader, reader.said),
        "likely": _likely(found, reader, reader.said),
        "inferred": _inferred(found, reader, reader.said),
    }


def _verdict(found: Verified, reader: Reader, write: Writer) -> str:
    below = [write(one) for one in found.next_sentences]
    if found.measured.invented or found.job.invented:
        below.append(reader("invented"))
    return style.verdict(_BARS[found.state], write(found.verdict), *below)


def _readings(found: Verified, reader: Reader, write: Writer) -> str:
    heads = [reader(f"measured.{key}") for key in ("reading", "read", "expected", "word")]
    rows = [_row(found, one, reader, write) for one in found.judged]
    table = style.rows(heads, rows) if rows else ""
    odd = [write(one.sentence) for one in found.questioned]
    seen = [write(one.sentence) for one in found.remarks]
    hint = style.text(reader("measured.bands"), "p", "soft") if rows else ""
    return (
        table + hint + style.listed(reader("measured.questioned"), odd)
        + style.listed(reader("measured.seen"), seen)
    )  # fmt: skip


def _row(found: Verified, one, reader: Reader, write: Writer) -> tuple[str, ...]:
    beside = reader(_BESIDE[one.against], value=allowed(one, write))
    state = write(f"verify.state.{one.state}")
    return reading_label(found, one, write), write.value(one.text), beside, state


def _likely(found: Verified, reader: Reader, write: Writer) -> str:
    """The faults that are likely or open, with what to look at."""
    if not found.findings:
        return ""
    told = [write("verify.as_expected", chance=percent(found.chance_expected))]
    for one in found.findings[:MOST]:
        if one.state == SUSPECTED or one.chance >= WORTH:
            state = Message(f"verify.state.{one.state}")
            values = {"chance": percent(one.chance), "state": state, "look": one.look}
            told.append(write("verify.fault_state_look", fault=one.name, **values))
    return style.listed(reader("measured.may_be"), [_begun(one) for one in told])


def _inferred(found: Verified, reader: Reader, write: Writer) -> str:
    pairs = [
        (_begun(write(f"verify.figure.{name}")), write.amount(found.bands[name], FIGURES[name]))
        for name in _SHOWN
        if name in found.bands
    ]
    return style.folded(reader("measured.follows"), style.facts(pairs)) if pairs else ""


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]
