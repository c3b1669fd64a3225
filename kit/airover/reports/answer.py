"""The answer as plain text, for a terminal or a printer."""

import textwrap

from airover.answer import CAUTIONS, Answer
from airover.choose import DOES_NOT_FIT, FITS, FITS_WITH_WORK, Candidate
from airover.scope import suits
from airover.texts import Writer
from airover.units import convert, show

WIDTH = 96


def report(answer: Answer, best: int = 3) -> str:
    """Verdict, the ``best`` candidates with their figures and reasons, and what was assumed."""
    shown = answer.candidates[:best]
    parts = [
        _heading(answer),
        _needed(answer),
        _failed(answer),
        *(_candidate(place, candidate) for place, candidate in enumerate(shown, 1)),
        _counted(answer),
        listed("Please find out", answer.asked),
        listed("Unusual", answer.warnings),
        listed("Assumed", [f"{one.name}: {one.value} ({one.why})" for one in answer.assumed]),
        listed("Caution", map(Writer(), CAUTIONS)),
        wrapped(suits()),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(answer: Answer) -> str:
    name = answer.job.name or "Job without a name"
    invented = " (invented scenario, makers, motors and prices)" if answer.job.invented else ""
    return f"{name}{invented}\n\n{wrapped(answer.verdict)}"


def _needed(answer: Answer) -> str:
    power, speed, torque, temp = answer.needed.values()
    low, mid, high = (convert(watts, "power", "hp") for watts in power)
    air = [show(end, "air_temperature", answer.system, 0) for end in temp]
    ends = (
        f"{low:.2f}-{high:.2f} hp"
        if answer.system == "US"
        else f"{power.low:.0f}-{power.high:.0f} W"
    )
    middle = f"{mid:.2f} hp" if answer.system == "US" else f"{power.mid:.0f} W"
    return wrapped(
        f"Required: {middle} ({ends}) and {torque.mid:.2f} N m at {speed.mid:.0f} rpm; air at the "
        f"motor {air[1]} ({air[0]} to {air[2]}). Figures in brackets are 90 % ranges."
    )


def _failed(answer: Answer) -> str:
    """The failed motor under the same conditions, before the motors that are compared with it."""
    figures = answer.failed
    if figures is None:
        return ""
    winding = show(figures["temp_c"].mid, "temperature", answer.system, 0)
    return wrapped(
        f"The old motor on this job, simulated: {_range(figures['current_a'], 'A')}, "
        f"{figures['speed_rpm'].mid:.0f} rpm, {figures['power_in_w'].mid:.0f} W in, winding {winding}."
    )


def _candidate(place: int, candidate: Candidate) -> str:
    case = candidate.case
    rating = case.shown(case.rating, "power")
    lines = [f"{place}. {case.motor.name} at {rating}: {candidate.verdict}"]
    if candidate.verdict != DOES_NOT_FIT:
        lines.append(_figures(candidate))
    lines += [wrapped(f"- {why}", "   ", "     ") for why in candidate.reasons]
    if candidate.verdict == FITS:
        lines.append("   Nothing to adapt, nothing left open.")
    return "\n".join(lines)


def _figures(candidate: Candidate) -> str:
    case = candidate.case
    figures = [
        _range(case.current, "A"),
        f"{case.speed_rpm.mid:.0f} rpm",
        f"{case.band('power_in_w').mid:.0f} W in",
        f"winding {show(case.winding.mid, 'temperature', case.system, 0)}",
        f"{candidate.case.motor.price:.0f} {case.motor.currency}" if case.motor.price else "",
    ]
    return "   " + ", ".join(figure for figure in figures if figure)


def _range(band, unit: str) -> str:
    """A figure with its unit and 90 % range."""
    return f"{band.mid:.2f} {unit} ({band.low:.2f}-{band.high:.2f})"


def _counted(answer: Answer) -> str:
    verdicts = [candidate.verdict for candidate in answer.candidates]
    plural = {FITS: "fit", FITS_WITH_WORK: "fit with work", DOES_NOT_FIT: "do not fit"}
    counts = [f"{verdicts.count(verdict)} {words}" for verdict, words in plural.items()]
    return f"Of {len(verdicts)} motors {', '.join(counts)}."


def listed(title: str, sentences) -> str:
    """The ``sentences`` below a ``title``, one line or more each; empty where there are none."""
    if not sentences:
        return ""
    return "\n".join([f"{title}:", *(wrapped(f"- {s}", "", "  ") for s in sentences)])


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """``text`` in lines of at most WIDTH letters; ``first`` and ``rest`` begin them."""
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
