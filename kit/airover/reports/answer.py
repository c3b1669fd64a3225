"""Write an answer as plain text for a terminal or printer, and as JSON."""

from collections.abc import Callable
from functools import cache

from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.texts import ENGLISH, Writer
from airover.core.units import convert
from airover.model.conditions import Input
from airover.records.scope import suits
from airover.reports.plain import changed_limits, figure, listed, paragraphs, wrapped
from airover.selection.answer import CAUTIONS, Answer
from airover.selection.check import Check
from airover.selection.comparison import winding_limit
from airover.selection.measurement import Decisive
from airover.selection.rules import DOES_NOT_FIT, FITS, FITS_WITH_WORK, ORDER, Candidate


def report(answer: Answer, writer: Writer = ENGLISH, best: int = 3) -> str:
    """Return the verdict, the ``best`` candidates with reasons, and the assumed inputs."""
    parts = [
        _heading(answer, writer),
        _needed(answer, writer),
        _failed(answer, writer),
        *(_candidate(at, one, writer) for at, one in enumerate(answer.candidates[:best], 1)),
        _counted(answer, writer),
        *map(wrapped, [writer(one.told) for one in answer.left_out]),
        wrapped(writer(answer.screened.told)) if answer.screened else "",
        listed(writer("answer.report.find_out"), map(writer, answer.asked)),
        wrapped(writer(answer.measurement.message)),
        listed(writer("answer.report.unusual"), map(writer.value, answer.warnings)),
        listed(writer("answer.report.assumed"), assumed(answer.assumed, writer)),
        *map(wrapped, changed_limits(answer.job.limits, writer)),
        listed(writer("answer.report.caution"), map(writer.value, CAUTIONS)),
        wrapped(writer.value(suits())),
    ]
    return paragraphs(parts)


def answer_dict(answer: Answer, writer: Writer) -> dict:
    """Return the answer as a dict for JSON, with numbers in SI units and text from ``writer``."""
    inputs = [input_dict(one, writer) for one in answer.inputs]
    write = cache(writer)  # several motors have the same sentences
    checks = {}

    def written(check: Check) -> dict:  # several motors have the same checks as well
        if id(check) not in checks:
            checks[id(check)] = _check_dict(check, write)
        return checks[id(check)]

    return {
        "job": {"name": answer.job.name, "invented": answer.job.invented},
        "verdict": writer(answer.verdict),
        "suits": writer.value(suits()),
        "needed": {name: figure(band) for name, band in answer.needed.items()},
        "failed_motor": _failed_dict(answer.failed),
        "candidates": [_candidate_dict(candidate, written) for candidate in answer.candidates],
        "limits": answer.job.limits.to_dict(writer),
        "order": writer(ORDER),
        "inputs": inputs,
        "assumed": [one for one in inputs if one["origin"] == "assumed"],
        "asked": [writer(one) for one in answer.asked],
        "measurement": _measurement_dict(answer.measurement, writer),
        "warnings": [writer.value(one) for one in answer.warnings],
        "cautions": [writer.value(one) for one in CAUTIONS],
        "left_out": [one.as_dict(writer) for one in answer.left_out],
        "screened": None if answer.screened is None else vars(answer.screened),
    }


def _measurement_dict(found: Decisive, writer: Writer) -> dict:
    """Return the measurement that could change the recommendation as a dict for JSON."""
    names = ("when", "check", "reading", "share", "fails")
    fields = {name: figure(getattr(found, name)) or None for name in names}
    limit = unit = None
    if found.limit is not None:
        limit, kind = figure(found.limit.value), found.limit.kind
        unit = "W" if kind == "watts" else KINDS[kind].unit
    return fields | {"limit": limit, "unit": unit, "why": writer(found.message)}


def input_dict(one: Input, writer: Writer) -> dict[str, str]:
    """Return an input as a dict for JSON, with text from ``writer``."""
    fields = {"name": one.name, "value": one.value, "origin": one.origin, "why": one.why}
    return {name: writer.value(value) if value else "" for name, value in fields.items()}


def assumed(inputs, writer: Writer) -> list[str]:
    """Return one line for each of the ``inputs`` with its name, value and reason."""
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
    """Return, as text, the performance of the failed motor under the same conditions."""
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
            figures["price"] = f"{price:,.0f} {case.motor.currency}"
        lines.append("   " + writer(key, **figures))
    lines += [wrapped(f"- {writer(why)}", "   ", "     ") for why in candidate.reasons]
    if candidate.verdict == FITS:
        lines.append("   " + writer("answer.report.nothing_open"))
    return "\n".join(lines)


def _figures(writer: Writer, current, speed_rpm, power_in, winding) -> dict[str, str]:
    """Return, as text, the amps, speed, watts and winding temperature of a motor with the fan."""
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


def _candidate_dict(candidate: Candidate, written: Callable[[Check], dict]) -> dict:
    case, motor = candidate.case, candidate.case.motor
    return {
        "motor": motor.name,
        "rating_hp": figure(convert(case.rating, "power", "hp")),
        "verdict": candidate.verdict,
        "reasons": [written(one)["why"] for one in candidate.decisive],
        "checks": [written(check) for check in candidate.checks],
        "duty": _duty(case),
        "winding": _winding_dict(candidate),
        "bearing": _bearing_dict(case),
        "cost": {"price": figure(motor.price), "currency": motor.currency},
    }


def _check_dict(check: Check, write: Callable[[object], str]) -> dict:
    found = check.found
    if isinstance(found, tuple) and not isinstance(found, Band):  # more than one word
        found = ", ".join(found)
    return {
        "name": check.name,
        "state": check.state,
        "found": figure(found),
        "limit": figure(check.limit),
        "margin": figure(check.margin),
        "unit": check.unit,
        "why": write(check.why),
        "source": write(f"source.{check.source}"),
        "outcome": check.outcome,
    }


_DUTY = (
    "speed_rpm", "current_a", "power_in_w", "power_shaft_w", "efficiency", "power_factor",
    "flow_m3s", "pressure_pa",
)  # fmt: skip


def _failed_dict(figures: dict[str, Band] | None) -> dict | None:
    """Return the data of the failed motor as a dict for JSON."""
    if figures is None:
        return None
    duty = {name: figure(figures[name]) for name in _DUTY}
    return {"duty": duty, "winding": {name: figure(figures[name]) for name in ("temp_c", "rise_k")}}


def _duty(case) -> dict:
    return {name: figure(case.band(name)) for name in _DUTY}


def _winding_dict(candidate: Candidate) -> dict:
    case = candidate.case
    temp, rise = case.winding, case.band("rise_k")
    insulating = case.motor.insulation_class
    limit = None if insulating is None else winding_limit(insulating)
    margin = None
    if limit is not None and temp is not None:
        margin = Band(limit - temp.high, limit - temp.mid, limit - temp.low)
    return {
        "temp_c": figure(temp),
        "temp_without_rating_c": figure(candidate.winding_without_rating),
        "rise_k": figure(rise),
        "limit_c": figure(limit),
        "margin_k": figure(margin),
        "life_h": figure(case.winding_life.hours),
    }


def _bearing_dict(case) -> dict:
    life = case.bearing_life
    return {"kind": life.kind, "life_h": figure(life.hours), "governed_by": life.governed_by}
