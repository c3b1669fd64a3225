"""The answer as tables (pandas), in the language and units of a ``writer``; None writes English
and US units."""

from collections import Counter

import pandas as pd

from airover.answer import Answer
from airover.bands import Band
from airover.choose import DOES_NOT_FIT, Candidate
from airover.choose.check import FAIL
from airover.texts import Writer


def candidates(answer: Answer, writer: Writer | None = None) -> pd.DataFrame:
    """One row per motor, best first: verdict, expected figures, and what decides.

    The failed motor under the same conditions comes first, in place 0, where it is known.
    """
    writer = writer or Writer()
    old = [] if answer.failed is None else [_failed_row(answer, writer)]
    table = pd.DataFrame([*old, *(_row(c, writer) for c in answer.candidates)])
    name = writer("answer.table.place")
    table.index = pd.RangeIndex(1 - len(old), len(answer.candidates) + 1, name=name)
    return table.rename(columns=lambda column: _title(writer, column))


def needed(answer: Answer, writer: Writer | None = None) -> pd.DataFrame:
    """Required by fan and site: the middle and the ends of the 90 % range."""
    writer = writer or Writer()
    power, speed, torque, temp = answer.needed.values()
    rows = {
        "power": [f"{x:.0f}" for x in power],
        "speed": [f"{x:.0f}" for x in speed],
        "torque": [f"{x:.2f}" for x in torque],
        "air": [_degrees(writer, x, "air_temperature") for x in temp],
    }
    rows = {_title(writer, name): row for name, row in rows.items()}
    columns = [writer(f"answer.table.{name}") for name in ("from", "expected", "to")]
    table = pd.DataFrame.from_dict(rows, "index", columns=columns)
    return table.rename_axis(writer("answer.table.asked_by"))


def rejected(answer: Answer, writer: Writer | None = None) -> pd.DataFrame:
    """Why each motor that does not fit was left out, nearest first."""
    writer = writer or Writer()
    out = [c for c in answer.candidates if c.verdict == DOES_NOT_FIT]
    rows = [(c.case.motor.name, _decisive(c, writer), _reasons(c, writer)) for c in out]
    return _table(writer, ("motor", "fails_on", "why"), rows)


def failures(answer: Answer, writer: Writer | None = None) -> pd.DataFrame:
    """How many motors fail on each check, the most common first."""
    writer = writer or Writer()
    names = Counter(check.name for c in answer.candidates for check in c.having(FAIL))
    counts = sorted(names.items(), key=lambda one: (-one[1], one[0]))
    rows = [(writer(f"check.{name}"), count) for name, count in counts]
    return _table(writer, ("fails_on", "motors"), rows)


def checks(candidate: Candidate, writer: Writer | None = None) -> pd.DataFrame:
    """Every check of one motor: found, limit, margin, state, why, source."""
    writer = writer or Writer()
    rows = []
    for check in candidate.checks:
        name, why, state = writer.check(check)
        figures = (_text(x, writer) for x in (check.found, check.limit, check.margin))
        source = writer.named("answer.source", check.source)
        rows.append((name, state, *figures, check.unit, why, source))
    columns = ("check", "state", "found", "limit", "margin", "unit", "why", "source")
    return _table(writer, columns, rows)


def inputs(answer: Answer, writer: Writer | None = None) -> pd.DataFrame:
    """Every input with where it came from: measured, nameplate, catalogue or assumed."""
    writer = writer or Writer()
    return input_table(answer.inputs, writer)


def input_table(inputs, writer: Writer) -> pd.DataFrame:
    """A row for each Input of ``inputs``."""
    rows = []
    for one in inputs:
        name, value, why = writer.input(one)
        rows.append((name, value, writer(f"answer.origin.{one.origin}"), why))
    return _table(writer, ("input", "value", "origin", "why"), rows)


def _table(writer: Writer, columns, rows) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=[_title(writer, column) for column in columns])


def _title(writer: Writer, column: str) -> str:
    """The heading of a column; temperatures name their unit."""
    return writer(f"answer.table.{column}", unit=writer.unit("temperature"))


def _row(candidate: Candidate, writer: Writer) -> dict:
    case = candidate.case
    return {
        "motor": case.motor.name,
        "rating": writer.amount(case.rating, "power"),
        "verdict": writer(f"answer.verdict.{candidate.verdict}"),
        **_duty(writer, case.current, case.speed_rpm, case.band("power_in_w"), case.winding),
        "price": _price(case.motor),
        "because": _decisive(candidate, writer),
        "decided": _reasons(candidate, writer),
    }


def _failed_row(answer: Answer, writer: Writer) -> dict:
    figures, plate = answer.failed, answer.job.nameplate
    names = ("current_a", "speed_rpm", "power_in_w", "temp_c")
    return {
        "motor": writer("answer.table.old"),
        "rating": "" if plate.power is None else writer.amount(plate.power, "power"),
        "verdict": "",
        **_duty(writer, *(figures[name] for name in names)),
        "price": "",
        "because": "",
        "decided": "",
    }


def _duty(writer: Writer, current, speed_rpm, power_in, winding) -> dict:
    """Figures of a motor on the fan; empty for one that cannot run on the supply."""
    amps = ""
    if current is not None:
        amps = writer("to", low=f"{current.low:.2f}", high=f"{current.high:.2f}")
    return {
        "current": amps,
        "speed": _text(speed_rpm, writer),
        "watts": _text(power_in, writer),
        "winding": "" if winding is None else _degrees(writer, winding.mid, "temperature"),
    }


def _price(motor) -> str:
    return "" if motor.price is None else f"{motor.price:.0f} {motor.currency}"


def _decisive(candidate: Candidate, writer: Writer) -> str:
    """The names of the checks that decide the verdict."""
    return ", ".join(writer(f"check.{check.name}") for check in candidate.decisive)


def _reasons(candidate: Candidate, writer: Writer) -> str:
    return " ".join(map(writer, candidate.reasons))


def _degrees(writer: Writer, value: float, kind: str) -> str:
    """A temperature without its unit."""
    return writer.amount(value, kind).split()[0]


def _text(value, writer: Writer) -> str:
    """A band as "low to high", a number with three or four digits, words in the reader's language."""
    if value is None:
        return ""
    if isinstance(value, Band):
        ends = (_text(float(end), writer) for end in (value.low, value.high))
        return writer("to", **dict(zip(("low", "high"), ends, strict=True)))
    if isinstance(value, str):
        return writer.texts.word(value)
    if isinstance(value, tuple):
        return writer.texts.words(value)
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
