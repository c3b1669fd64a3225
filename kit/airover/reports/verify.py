"""A verified motor as plain text."""

from airover.reports.answer import assumed, listed, wrapped
from airover.texts import Writer
from airover.verify.judged import OPEN
from airover.verify.readings import FIGURES, told
from airover.verify.verified import SUSPECTED, Verified, percent

WORTH = 0.02  # chance from which an open fault is worth a line


def verify_report(found: Verified) -> str:
    """Verdict, readings, what is inferred, faults, what to read next, what was assumed."""
    invented = " (invented scenario and readings)" if found.measured.invented else ""
    parts = [
        f"{found.job.name or 'Job without a name'}{invented}",
        wrapped(found.verdict.upper()),
        listed("Questioned", [one.sentence for one in found.questioned]),
        listed("Read", [f"{one.state}: {one.why}" for one in found.judged]),
        listed("Seen and worked out", [f"{one.state}: {one.sentence}" for one in found.remarks]),
        listed("Inferred, 9 cases of 10", inferred_lines(found)),
        listed("What it may be", fault_lines(found)),
        wrapped(found.next_sentence),
        listed("Assumed", assumed(found.assumed, Writer("en", found.system))),
        listed("Caution", found.cautions),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def inferred_lines(found: Verified) -> list[str]:
    """Each inferred figure with what was expected of it before."""
    lines = []
    for name, band in found.bands.items():
        words, kind = FIGURES[name]
        low, high = (told(kind, end, found.system) for end in (band.low, band.high))
        ends = found.bands_before[name]
        before = " to ".join(told(kind, end, found.system) for end in (ends.low, ends.high))
        lines.append(f"{words}: {low} to {high} (expected {before})")
    return lines


def fault_lines(found: Verified) -> list[str]:
    """Nothing wrong that is looked for, then the faults that are likely or open."""
    if found.known is None:
        return []
    lines = [f"as expected: {percent(found.chance_expected)}"]
    for one in found.findings:
        if one.state == SUSPECTED or (one.state == OPEN and one.chance >= WORTH):
            look = f" {one.look}" if one.chance >= found.chance_expected / 5 else ""
            lines.append(f"{one.name}: {percent(one.chance)}, {one.state}.{look}")
    return lines
