"""The answer as plain text, for a terminal or a printer."""

import textwrap

from airover.answer import CAUTIONS, Answer
from airover.choose import DOES_NOT_FIT, FITS, FITS_WITH_WORK, Candidate
from airover.scope import suits

WIDTH = 96


def report(answer: Answer, best: int = 3) -> str:
    """Verdict, the ``best`` candidates with their figures and reasons, and what was assumed."""
    shown = answer.candidates[:best]
    parts = [
        _heading(answer),
        _needed(answer),
        *(_candidate(place, candidate) for place, candidate in enumerate(shown, 1)),
        _counted(answer),
        listed("Please find out", answer.asked),
        listed("Unusual", answer.warnings),
        listed("Assumed", [f"{one.name}: {one.value} ({one.why})" for one in answer.assumed]),
        listed("Caution", CAUTIONS),
        wrapped(suits()),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(answer: Answer) -> str:
    name = answer.job.name or "Job without a name"
    invented = " (invented scenario, makers, motors and prices)" if answer.job.invented else ""
    return f"{name}{invented}\n\n{wrapped(answer.verdict.upper())}"


def _needed(answer: Answer) -> str:
    power, speed, torque, temp = answer.needed.values()
    shown = answer.candidates[0].case.shown
    return wrapped(
        f"The blade takes {power.mid:.0f} W ({power.low:.0f} to {power.high:.0f}) and "
        f"{torque.mid:.2f} N m at {speed.mid:.0f} rpm, in air of {shown(temp, 'air_temperature')} "
        f"({shown(temp.low, 'air_temperature')} to {shown(temp.high, 'air_temperature')}) at the "
        "motor. Figures in brackets hold in 9 cases of 10."
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
    low, mid, high = case.current
    figures = [
        f"{mid:.2f} A ({low:.2f} to {high:.2f})",
        f"{case.speed_rpm.mid:.0f} rpm",
        f"{case.band('power_in_w').mid:.0f} W in",
        f"winding {case.shown(case.winding, 'temperature')}",
        f"{candidate.case.motor.price:.0f} {case.motor.currency}" if case.motor.price else "",
    ]
    return "   " + ", ".join(figure for figure in figures if figure)


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
