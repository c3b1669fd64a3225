"""Write an answer as tables (pandas) and as files, including the current at other voltages.

All text is in the language and units of a ``writer``.
"""

from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd

from airover.core.files import json_text, write_files
from airover.core.intervals import Band
from airover.core.texts import ENGLISH, Writer
from airover.core.units import Amount
from airover.model.simulation import LOW, USUAL, simulate
from airover.reports import writing
from airover.reports.answer import answer_dict, report
from airover.reports.torque import TorquePicture
from airover.reports.writing import bare, table
from airover.selection.answer import Answer
from airover.selection.rules import DOES_NOT_FIT, Candidate, Case

SPAN = (0.85, 1.15)  # fraction of the usual supply voltage
STEPS = 9  # number of voltages; a multiple of three because three are simulated at a time


def candidates(answer: Answer, writer: Writer = ENGLISH, most: int | None = None) -> pd.DataFrame:
    """Return the verdict, expected values and deciding checks of each motor, best first.

    If the failed motor is known, the first row shows it under the same conditions, with index 0.

    Parameters
    ----------
    most : int or None, optional
        Maximum number of motors, not counting the failed motor, or None for all motors.
    """
    old = [] if answer.failed is None else [_failed_row(answer, writer)]
    rows = [*old, *(_row(c, writer) for c in answer.candidates[:most])]
    found = _table(rows, writer)
    found.index = pd.RangeIndex(
        1 - len(old), len(rows) + 1 - len(old), name=writer("answer.table.place")
    )
    return found


def needed(answer: Answer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the requirements of the fan and site, with medians and 90 % ranges."""
    kinds = {"power": "shaft_power", "speed": "speed", "torque": "torque", "air": "air_temperature"}
    rows = [
        [bare(x, kind, writer) for x in band]
        for kind, band in zip(kinds.values(), answer.needed.values(), strict=True)
    ]
    names = [writer(f"answer.table.{name}", unit=writer.unit(kinds[name])) for name in kinds]
    found = _table(rows, writer, ("from", "expected", "to"))
    return found.set_index(pd.Index(names, name=writer("answer.table.asked_by")))


def rejected(answer: Answer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the motors that do not fit and the reasons, closest match first."""
    out = [c for c in answer.candidates if c.verdict == DOES_NOT_FIT]
    rows = [(c.case.motor.name, _decisive(c, writer), _reasons(c, writer)) for c in out]
    return _table(rows, writer, ("motor", "fails_on", "why"))


def failures(answer: Answer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the number of motors that fail each check, most common failure first."""
    out = (c for c in answer.candidates if c.verdict == DOES_NOT_FIT)
    names = Counter(check.name for c in out for check in c.decisive)
    counts = sorted(names.items(), key=lambda one: (-one[1], one[0]))
    rows = [(writer(f"check.{name}"), count) for name, count in counts]
    return _table(rows, writer, ("fails_on", "motors"))


def checks(candidate: Candidate, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of every check of one motor."""
    rows = []
    for check in candidate.checks:
        name, why, state = writer.check(check)
        figures = (_text(x, writer) for x in (check.found, check.limit, check.margin))
        source = writer(f"source.{check.source}")
        rows.append((name, state, *figures, check.unit, why, source))
    columns = ("check", "state", "found", "limit", "margin", "unit", "why", "source")
    return _table(rows, writer, columns)


def inputs(answer: Answer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of the inputs with their sources (measured, nameplate, catalog or assumed)."""
    return input_table(answer.inputs, writer)


def input_table(inputs, writer: Writer) -> pd.DataFrame:
    """Return a table with one row for each Input in ``inputs``."""
    rows = []
    for one in inputs:
        name, value, why = writer.input(one)
        rows.append((name, value, writer(f"answer.origin.{one.origin}"), why))
    return _table(rows, writer, ("input", "value", "origin", "why"))


def amps_by_voltage(case: Case, line) -> tuple[np.ndarray, Band]:
    """Return voltages [V] that cover the ``line`` with a margin, and the current [A] at each.

    The simulation uses the same samples as the answer.
    """
    low, high = SPAN[0] * min(line[LOW], line[USUAL]), SPAN[1] * line[USUAL]
    voltage = np.linspace(min(low, 0.98 * line[LOW]), max(high, 1.02 * line[-1]), STEPS)
    each = []
    for three in voltage.reshape(-1, 3):
        volts = Amount(three[0], three[-1], "V", "")
        site = case.job.site.model_copy(update={"voltage": volts})
        at = simulate(
            case.job.model_copy(update={"site": site}), [case.motor], case.conditions.samples
        )
        each.append(at.figures["current_a"][:, 0])
    return voltage, Band.of(np.concatenate(each))


def write_all(answer: Answer, folder: Path, writer: Writer) -> list[Path]:
    """Write all results of a job to ``folder`` and return the paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    best = answer.candidates[0]
    files = {
        "answer.txt": report(answer, writer),
        "answer.json": json_text(answer_dict(answer, writer.in_english)) + "\n",
        "candidates.csv": writing.csv(candidates(answer, writer), index=True),
        "checks-of-the-first.csv": writing.csv(checks(best, writer)),
        "inputs.csv": writing.csv(inputs(answer, writer)),
        "torque.png": TorquePicture(writer).png(best),
    }
    return write_files(folder, files, "out")


def _table(rows, writer: Writer, columns=None) -> pd.DataFrame:
    return table(rows, "answer.table", writer, columns, {"winding": "temperature"})


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
    """Return the values of a motor with the fan, or an empty dict if the supply cannot run it."""
    amps = ""
    if current is not None:
        amps = writer("to", low=f"{current.low:.2f}", high=f"{current.high:.2f}")
    return {
        "current": amps,
        "speed": _text(speed_rpm, writer),
        "watts": _text(power_in, writer),
        "winding": "" if winding is None else bare(winding.mid, "temperature", writer),
    }


def _price(motor) -> str:
    return "" if motor.price is None else f"{motor.price:,.0f} {motor.currency}"


def _decisive(candidate: Candidate, writer: Writer) -> str:
    """Return the names of the checks that decide the verdict."""
    return ", ".join(writer(f"check.{check.name}") for check in candidate.decisive)


def _reasons(candidate: Candidate, writer: Writer) -> str:
    return " ".join(map(writer, candidate.reasons))


def _text(value, writer: Writer) -> str:
    """Format a band as "low to high", a number with three or four digits, or words."""
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
