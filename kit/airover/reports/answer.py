"""The answer as plain text, for a terminal or a printer."""

from airover.core.texts import ENGLISH, Writer
from airover.records.scope import suits
from airover.reports.plain import listed, paragraphs, wrapped
from airover.selection.answer import CAUTIONS, Answer
from airover.selection.rules import DOES_NOT_FIT, FITS, FITS_WITH_WORK, Candidate


def report(answer: Answer, writer: Writer = ENGLISH, best: int = 3) -> str:
    """Verdict, the ``best`` candidates with their figures and reasons, and what was assumed."""
    parts = [
        _heading(answer, writer),
        _needed(answer, writer),
        _failed(answer, writer),
        *(_candidate(at, one, writer) for at, one in enumerate(answer.candidates[:best], 1)),
        _counted(answer, writer),
        listed(writer("answer.report.find_out"), map(writer, answer.asked)),
        listed(writer("answer.report.unusual"), map(writer.value, answer.warnings)),
        listed(writer("answer.report.assumed"), assumed(answer.assumed, writer)),
        listed(writer("answer.report.caution"), map(writer.value, CAUTIONS)),
        wrapped(writer.value(suits())),
    ]
    return paragraphs(parts)


def assumed(inputs, writer: Writer) -> list[str]:
    """A line for each of ``inputs``: its name, its value, and why."""
    return [f"{name}: {value} ({why})" for name, value, why in map(writer.input, inputs)]


def _heading(answer: Answer, writer: Writer) -> str:
    name = answer.job.name or writer("answer.report.unnamed")
    if answer.job.invented:
        name = writer("answer.report.invented", name=name)
    return f"{name}\n\n{wrapped(writer(answer.verdict))}"


def _needed(answer: Answer, writer: Writer) -> str:
    power, speed, torque, temp = answer.needed.values()
    required = writer(
        "answer.report.required",
        power=writer.estimate(power, "shaft_power", 2 if writer.system == "US" else 0),
        torque=writer.amount(torque.mid, "torque"),
        speed=writer.amount(speed.mid, "speed"),
        air=writer.estimate(temp, "air_temperature"),
    )
    return wrapped(required)


def _failed(answer: Answer, writer: Writer) -> str:
    """The failed motor under the same conditions, before the motors that are compared with it."""
    old = answer.failed
    if old is None:
        return ""
    names = ("current_a", "speed_rpm", "power_in_w", "temp_c")
    return wrapped(writer("answer.report.old", **_figures(writer, *(old[name] for name in names))))


def _candidate(place: int, candidate: Candidate, writer: Writer) -> str:
    case = candidate.case
    title = writer(
        "answer.report.candidate",
        place=place,
        motor=case.motor.name,
        rating=writer.amount(case.rating, "power"),
        verdict=writer(f"answer.verdict.{candidate.verdict}"),
    )
    lines = [title]
    if candidate.verdict != DOES_NOT_FIT:
        duty = case.current, case.speed_rpm, case.band("power_in_w"), case.winding
        figures, price = _figures(writer, *duty), case.motor.price
        key = "answer.report.figures_and_price" if price else "answer.report.figures"
        if price:
            figures["price"] = f"{price:.0f} {case.motor.currency}"
        lines.append("   " + writer(key, **figures))
    lines += [wrapped(f"- {writer(why)}", "   ", "     ") for why in candidate.reasons]
    if candidate.verdict == FITS:
        lines.append("   " + writer("answer.report.nothing_open"))
    return "\n".join(lines)


def _figures(writer: Writer, current, speed_rpm, power_in, winding) -> dict[str, str]:
    """The figures of a motor on the fan."""
    return {
        "amps": writer.estimate(current, "amps"),
        "speed": writer.amount(speed_rpm.mid, "speed"),
        "watts": writer.amount(power_in.mid, "watts"),
        "winding": writer.amount(winding.mid, "temperature"),
    }


def _counted(answer: Answer, writer: Writer) -> str:
    verdicts = [candidate.verdict for candidate in answer.candidates]
    names = {"fit": FITS, "work": FITS_WITH_WORK, "not": DOES_NOT_FIT}
    counts = {name: verdicts.count(verdict) for name, verdict in names.items()}
    return writer("answer.report.counted", count=len(verdicts), **counts)
