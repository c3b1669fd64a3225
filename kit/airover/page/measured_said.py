"""A verified motor in the reader's language: pieces of HTML by the name of their place."""

from airover.page.reader import Reader
from airover.panels import style
from airover.verify.judged import AGREES, DIFFERS, OPEN
from airover.verify.readings import FIGURES
from airover.verify.verified import SUSPECTED, Verified

_BARS = {AGREES: "fits", DIFFERS: "does not fit", OPEN: "fits with work"}
_STATES = {AGREES: "agrees", DIFFERS: "differs", OPEN: "open"}
_BESIDE = {"expected": "measured.of_expected", "plate": "measured.of_plate_limit"}
WORTH = 0.05  # chance from which a fault is named
MOST = 3  # faults that are named
_SHOWN = ("power_shaft_w", "speed_rpm", "flow_m3s", "temp_winding_c")


def parts(found: Verified | None, reader: Reader) -> dict[str, str]:
    """What stands in each place; without readings only how to begin."""
    if found is None:
        return {"verdict": style.text(reader("measured.begin"))}
    return {
        "verdict": _verdict(found, reader),
        "readings": _readings(found, reader),
        "likely": _likely(found, reader),
        "inferred": _inferred(found, reader),
    }


def sentence(found: Verified, reader: Reader) -> str:
    """What all readings together say."""
    if found.state == OPEN and found.agrees_so_far:
        return reader("measured.agrees_so_far")
    if found.state != DIFFERS:
        return reader(f"measured.{_STATES[found.state]}")
    off = list(dict.fromkeys(one.name for one in found.judged if one.state == DIFFERS))
    names = ", ".join(reader(f"meter.{name}") for name in off)
    return reader("measured.differs_in", names=names) if off else reader("measured.differs")


def _verdict(found: Verified, reader: Reader) -> str:
    below = [*_likeliest(found, reader), _next(found, reader)]
    if found.measured.invented or found.job.invented:
        below.append(reader("invented"))
    return style.verdict(_BARS[found.state], sentence(found, reader), *below)


def _likeliest(found: Verified, reader: Reader):
    """The fault that is likelier than none, if the readings go together at all."""
    if found.findings and found.is_explained:
        first = found.findings[0]
        if first.chance > max(found.chance_expected, WORTH):
            name = reader(f"fault.{first.key}")
            yield reader("measured.likeliest", fault=name, chance=_percent(first.chance))


def _next(found: Verified, reader: Reader) -> str:
    """What to look at and to read next."""
    if not found.next:
        return reader("measured.stands")
    return reader("measured.next", how=reader(f"meter_how.{found.next[0].name}"))


def _readings(found: Verified, reader: Reader) -> str:
    heads = [reader(f"measured.{key}") for key in ("reading", "read", "expected", "word")]
    rows = [_row(found, one, reader) for one in found.judged]
    table = style.rows(heads, rows) if rows else ""
    odd = [
        _begun(reader("measured.odd", name=reader(f"meter.{one.name}"), text=one.text,
               why=reader.write.value(one.why)))
        for one in found.questioned
    ]  # fmt: skip
    seen = [_begun(reader.write.value(one.sentence)) for one in found.remarks]
    hint = style.text(reader("measured.bands"), "p", "soft") if rows else ""
    return (
        table + hint + style.listed(reader("measured.questioned"), odd)
        + style.listed(reader("measured.seen"), seen)
    )  # fmt: skip


def _row(found: Verified, one, reader: Reader) -> tuple[str, ...]:
    name = reader(f"meter.{one.name}")
    if len(found.measured.reading) > 1:
        name = f"{name} ({one.moment + 1})"
    against = _span(one.low, one.high, one.kind, reader)
    against = reader(_BESIDE[one.against], value=against)
    return name, one.text, against, reader(f"measured.state_{_STATES[one.state]}")


def _span(low, high, kind: str, reader: Reader) -> str:
    """From low to high, or at most high; watts in whole ones."""
    said = reader.said
    if kind == "meter_power":
        ends = [None if end is None else said.amount(end, "watts") for end in (low, high)]
        both = reader.texts("to", low=ends[0], high=ends[1])
    else:
        ends = [None if end is None else said.amount(end, kind) for end in (low, high)]
        both = "" if low is None else said.range(low, high, kind)
    return reader.texts("limit.most", value=ends[1]) if low is None else both


def _likely(found: Verified, reader: Reader) -> str:
    """The faults that are likely or open, with what to look at."""
    told = []
    for one in found.findings[:MOST]:
        if one.state == SUSPECTED or one.chance >= WORTH:
            name, chance = reader(f"fault.{one.key}"), _percent(one.chance)
            look_at = reader(f"fault_look.{one.key}")
            told.append(_begun(reader("measured.fault", fault=name, chance=chance, look=look_at)))
    if not found.findings:
        return ""
    expected = reader("measured.as_expected", chance=_percent(found.chance_expected))
    return style.listed(reader("measured.may_be"), [expected, *told])


def _inferred(found: Verified, reader: Reader) -> str:
    pairs = []
    for name in _SHOWN:
        if name in found.bands:
            band, kind = found.bands[name], FIGURES[name][1]
            pairs.append((reader(f"figure.{name}"), _span(band.low, band.high, kind, reader)))
    if not pairs:
        return ""
    return style.folded(reader("measured.follows"), style.facts(pairs))


def _percent(chance: float) -> str:
    """A chance in whole per cent, never none and never all."""
    return f"{100 * min(max(chance, 0.01), 0.99):.0f} %"


def _begun(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
