"""Write a comparison of motors as tables, a figure, text, JSON and files.

The main table has one column per motor. The figure shows amps against supply voltage, and motor and
fan torque against speed. Each motor has its own line style. Its label is beside the axes, connected
to the end of its line.
"""

import textwrap
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from airover.business.compare import Compared, ComparedMotor
from airover.core.files import json_text, write_files
from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.message import Quantity
from airover.core.texts import ENGLISH, FIGURES, Writer
from airover.model.conditions import HOURS_A_YEAR
from airover.model.simulation import USUAL
from airover.reports import drawing, writing
from airover.reports.drawing import LINE, SMALL, THICK, THIN, WIDE, Figure, frame, note, title
from airover.reports.palette import BLUE, EDGE, FAN, FITS, INK, PAPER, SOFT, WORK
from airover.reports.plain import changed_limits, figure, paragraphs, wrapped
from airover.selection.check import ADAPT, FAIL, MISSING

WIDE_SIZE, NARROW_SIZE = (WIDE, 6.2), (4.3, 6.2)  # inches, in a worksheet and on a phone
COLUMN_WIDE, COLUMN_NARROW = 0.26, 0.4  # fraction of the axes width for labels
APART = 0.085  # minimum distance between two labels, as a fraction of the axes height
JOINT = 0.25  # fraction of the label column for leader lines
LONGEST_NAME = 15  # characters per line of a label
# color, dashes and width (the wide line of the failed motor stays visible under a coinciding line)
OLD_STYLE = (EDGE, "-", 5.0)
STYLES = (
    (INK, "-", LINE), (BLUE, "--", LINE), (FITS, "-.", LINE), (WORK, (0, (1, 1.2)), THICK),
)  # fmt: skip
# simulation results: name of the row, name of the result, kind
SIMULATED = (
    ("current", "current_a", "amps"),
    ("power_in", "power_in_w", "watts"),
    ("speed", "speed_rpm", "speed"),
    ("flow", "flow_m3s", "flow"),
    ("winding", "temp_c", "temperature"),
)


# names in JSON, with the unit
JSON = {
    "rating": "rating_w", "nameplate_speed": "nameplate_speed_rpm",
    "nameplate_amps": "nameplate_current_a", "capacitor": "capacitor_f", "limit": "temp_limit_c",
    "winding_life": "winding_life_years", "bearing_life": "bearing_life_years",
    "reserve": "torque_reserve", "energy": "energy_kwh_per_year",
} | {row: name for row, name, _ in SIMULATED}  # fmt: skip


def name_of(one: ComparedMotor, writer: Writer) -> str:
    """Return the name of a motor, which is "Old motor" for the failed motor."""
    return writer("compare.old") if one.is_old else one.motor.name


def numbers(found: Compared, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the low, median and high values of each quantity for each motor as numbers.

    An exact value is repeated in all three columns, and an unknown value is NaN.
    """
    rows = []
    for one in found.motors:
        for row, value, kind in _figures(found, one):
            unit, ends = _converted(value, kind, writer)
            rows.append((name_of(one, writer), _row_name(row, found, writer), unit, *ends))
    columns = ("motor", "figure", "unit", "low", "median", "high")
    return pd.DataFrame(rows, columns=[writer(f"compare.number.{name}") for name in columns])


def side_by_side(found: Compared, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of formatted values with one column per motor and one row per quantity."""
    columns = {name_of(one, writer): dict(_cells(found, one, writer)) for one in found.motors}
    table = pd.DataFrame(columns)
    return table[(table != "").any(axis=1)]


def differing(found: Compared, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of the checks whose results differ, with one column per motor."""
    names = [one.motor.name for one in found.offered]
    rows = [
        [
            writer(f"check.{checks[0].name}"),
            *(f"{state.capitalize()}. {why}" for _, why, state in told),
        ]
        for checks in found.differing
        for told in [[writer.check(one) for one in checks]]
    ]
    return pd.DataFrame(rows, columns=[writer("compare.check.check"), *names])


def picture(found: Compared, writer: Writer = ENGLISH, narrow: bool = False) -> Figure:
    """Plot amps against supply voltage, and motor and fan torque against speed.

    The lines are medians of the samples. Set ``narrow`` to True for a phone screen.
    """
    drawn = Figure(figsize=NARROW_SIZE if narrow else WIDE_SIZE, layout="constrained")
    above, below = drawn.subplots(2, 1)
    column = COLUMN_NARROW if narrow else COLUMN_WIDE
    styled = list(zip(_styles(found), found.motors, strict=True))
    styled = [(style, one) for style, one in styled if one.row is not None]
    _draw_amps(above, found, styled, column, writer)
    _draw_torque(below, found, styled, column, writer)
    return drawn


def words(found: Compared, writer: Writer = ENGLISH) -> str:
    """Return a description of the figure for readers who cannot see it."""
    each = [
        writer("compare.figure.each", motor=name_of(one, writer),
               amps=writer.estimate(one.band("current_a"), "amps"),
               speed=writer.amount(one.band("speed_rpm").mid, "speed"))
        for one in found.motors
        if one.row is not None
    ]  # fmt: skip
    return writer("compare.figure.words", volts=_volts(found, writer), each=" ".join(each))


def notes(found: Compared, writer: Writer = ENGLISH) -> list[str]:
    """Return sentences about ranges, missing columns and rows, and changed limits."""
    told = [writer("compare.ranges", volts=_volts(found, writer))]
    if found.old_missing:
        told.append(writer("compare.old_unknown"))
    if any(one.cost is None for one in found.offered):
        told.append(writer("compare.no_cost"))
    return [*told, *changed_limits(found.job.limits, writer)]


def compare_text(found: Compared, writer: Writer = ENGLISH) -> str:
    """Return the comparison as text for a terminal."""
    job = found.job.name or writer("compare.unnamed")
    if found.job.invented:
        job = writer("answer.report.invented", name=job)
    heading = writer("compare.heading", job=job, count=len(found.motors))
    rows = _blocks(side_by_side(found, writer))
    checks = differing(found, writer)
    checks = checks.set_index(checks.columns[0])
    title = "compare.checks" if len(checks) else "compare.same_checks"
    told = map(wrapped, notes(found, writer))
    return paragraphs([wrapped(heading), *rows, wrapped(writer(title)), *_blocks(checks), *told])


def compare_dict(found: Compared, writer: Writer) -> dict:
    """Return the comparison as a dict for JSON, with numbers in SI units."""
    return {
        "job": {"name": found.job.name, "invented": found.job.invented},
        "voltage_v": [figure(float(volts)) for volts in found.voltage],
        "motors": [_motor_dict(found, one, writer) for one in found.motors],
        "differing": [
            {"check": checks[0].name, "states": [check.state for check in checks]}
            for checks in found.differing
        ],
        "limits": found.job.limits.to_dict(writer),
        "notes": notes(found, writer),
    }  # fmt: skip


def write_compare(found: Compared, folder: Path, writer: Writer) -> list[Path]:
    """Write text, JSON, tables and the figure to ``folder`` and return the paths.

    Raises
    ------
    InputError
        If the folder or a file in it cannot be written.
    """
    files = {
        "compare.txt": compare_text(found, writer),
        "compare.json": json_text(compare_dict(found, writer.in_english)) + "\n",
        "compare.csv": writing.csv(side_by_side(found, writer), index=True),
        "compare-numbers.csv": writing.csv(numbers(found, writer)),
        "compare.png": drawing.png(picture(found, writer)),
    }
    return write_files(folder, files, "out")


def _figures(found: Compared, one: ComparedMotor) -> Iterator[tuple[str, object, str]]:
    """Yield the name of each numeric row, its value in SI units and its kind."""
    motor = one.motor
    yield "rating", one.rating, "power"
    yield "nameplate_speed", motor.speed_rpm, "speed"
    yield "nameplate_amps", one.rated_current, "current"
    yield "capacitor", motor.capacitor, "capacitance"
    for row, name, kind in SIMULATED:
        yield row, one.band(name), kind
    yield "limit", one.winding_limit, "temperature"
    yield "reserve", one.reserve, "times"
    yield "winding_life", one.winding_years, "years"
    yield "bearing_life", one.bearing_years, "years"
    yield "price", motor.price, motor.currency
    if found.costs is not None:
        yield "energy", one.cost and one.cost.energy, "kwh"
        yield "cost", one.cost and one.cost.band, found.costs.currency


def _converted(value, kind: str, writer: Writer) -> tuple[str, list[float]]:
    """Return the display unit and the low, median and high values in that unit."""
    ends = [np.nan] * 3 if value is None else [*value] if isinstance(value, Band) else [value] * 3
    if kind in FIGURES:
        return FIGURES[kind][1](0).partition(" ")[2], ends
    if kind in KINDS:
        return writer.unit(kind), [float(writer.number(end, kind)) for end in ends]
    return kind, ends  # the kind of an amount of money is its currency


def _row_name(row: str, found: Compared, writer: Writer) -> str:
    hours = HOURS_A_YEAR if row in ("winding_life", "bearing_life") else None
    years = None if found.costs is None else found.costs.horizon
    told = {"hours": None if hours is None else Quantity(hours, "count"), "years": years}
    return writer(f"compare.row.{row}", **told)


def _cells(found: Compared, one: ComparedMotor, writer: Writer) -> Iterator[tuple[str, str]]:
    """Yield the row name and the text of each cell in a motor's column."""
    candidate = one.candidate

    def row(name: str, text: str) -> tuple[str, str]:
        return _row_name(name, found, writer), text

    verdict = "" if one.is_old else writer(f"answer.verdict.{candidate.verdict}")
    yield row("verdict", verdict)
    for name, value, kind in _figures(found, one):
        yield row(name, _cell(name, value, kind, one, writer))
        if name == "capacitor":
            yield row("shaft", _shaft(one.motor, writer))
            turns = one.motor.rotation_shaft_end
            yield row("rotation", writer("compare.unknown") if turns is None
                      else writer.texts.word(turns))  # fmt: skip
    for name, state in (("adapt", ADAPT), ("open", MISSING), ("refused", FAIL)):
        checks = () if one.is_old else candidate.having(state)
        yield row(name, " ".join(writer(check.why) for check in checks))


def _cell(row: str, value, kind: str, one: ComparedMotor, writer: Writer) -> str:
    """Format a value, with prices and life-cycle costs rounded to whole currency units."""
    if row in ("price", "cost", "energy"):
        if value is None:
            return "" if one.is_old else writer("compare.none")
        if row == "energy":
            return writer.estimate(value, kind)
        if row == "price":
            return writer.money(value, kind)
        low, high = (writer.money(end, "", 2) for end in (value.low, value.high))
        mean = writer.money(one.cost.mean, kind, 2)
        return writer("compare.range", mid=mean, range=f"{low}-{high}")
    if _unknown(value):
        known_later = one.row is None and row not in ("rating", "nameplate_amps", "capacitor")
        return writer("compare.not_simulated" if known_later else "compare.unknown")
    if kind == "years":
        low, mid, high = (writer.amount(end, kind) for end in value)
        spread = writer("to", low=low, high=high) if low != high else ""
        return writer("compare.range", mid=mid, range=spread) if spread else mid
    if row == "capacitor" and one.motor.capacitor_voltage is not None:
        volts = writer.amount(one.motor.capacitor_voltage, "voltage")
        return f"{writer.amount(value, kind)}, {volts}"
    if kind == "times":
        low, mid, high = (writer.amount(end, kind) for end in value)
        return writer("compare.range", mid=mid, range=f"{low}-{high}")
    return writer.estimate(value, kind) if isinstance(value, Band) else writer.amount(value, kind)


def _unknown(value) -> bool:
    """Return True for None and NaN."""
    return value is None or isinstance(value, float) and np.isnan(value)


def _shaft(motor, writer: Writer) -> str:
    """Return the diameter and length of a shaft."""
    sizes = ((motor.shaft_diameter, "shaft_diameter"), (motor.shaft_length, "shaft_length"))
    known = [writer("compare.unknown") if size is None else writer.amount(size, kind)
             for size, kind in sizes]  # fmt: skip
    return " x ".join(dict.fromkeys(known))


def _blocks(table: pd.DataFrame) -> list[str]:
    """Return each row of a table as a heading followed by one line per column."""
    return [
        "\n".join([f"{name}:", *(wrapped(f"{motor}: {text}", "  ", "    ")
                                 for motor, text in row.items() if text)])
        for name, row in table.iterrows()
    ]  # fmt: skip


def _motor_dict(found: Compared, one: ComparedMotor, writer: Writer) -> dict:
    known = {
        JSON.get(row, row): None if _unknown(value) else figure(value)
        for row, value, _ in _figures(found, one)
    }
    candidate = one.candidate
    checks = () if one.is_old else candidate.having(ADAPT, MISSING, FAIL)
    return {
        "motor": name_of(one, writer),
        "old": one.is_old,
        "verdict": "" if one.is_old else candidate.verdict,
        **known,
        "rotation": one.motor.rotation_shaft_end,
        "amps_a": [] if one.amps is None else [_amps(ends) for ends in zip(*one.amps, strict=True)],
        "checks": [{"name": check.name, "state": check.state, "why": writer(check.why)}
                   for check in checks],
    }  # fmt: skip


def _amps(ends):
    """Return low, median and high amps, or None for a voltage that was not simulated."""
    return figure(Band(*ends)) if np.isfinite(ends).all() else None


def _volts(found: Compared, writer: Writer) -> str:
    return writer.amount(float(found.conditions.voltage[USUAL]), "voltage")


def _styles(found: Compared) -> list[tuple]:
    """Return the line style of each motor."""
    others = iter(STYLES)
    return [OLD_STYLE if one.is_old else next(others) for one in found.motors]


def _draw_amps(axes, found: Compared, styled, column: float, writer: Writer) -> None:
    volts, usual = found.voltage, float(found.conditions.voltage[USUAL])
    for (color, dashes, width), one in styled:
        axes.plot(volts, one.amps.mid, ls=dashes, color=color, lw=width)
    axes.axvline(usual, color=SOFT, lw=THIN, zorder=0)
    told = writer("compare.figure.supply", volts=writer.amount(usual, "voltage"))
    note(axes, told, (usual, 1), (0, 3), SOFT, ha="center", va="bottom",
         xycoords=axes.get_xaxis_transform(), annotation_clip=False)  # fmt: skip
    each = np.array([one.amps.mid for _, one in styled])
    room = 0.12 * (np.nanmax(each) - np.nanmin(each)) + 0.02
    end = volts[-1] + column / (1 - column) * (volts[-1] - volts[0])
    axes.set(
        xlabel=writer("compare.figure.voltage"),
        ylabel=writer("compare.figure.amps"),
        xlim=(volts[0], end),
        ylim=(np.nanmin(each) - room, np.nanmax(each) + room),
    )
    title(axes, writer("compare.figure.title_amps"), pad=20)
    _ended(axes, volts[0], volts[-1])
    _label(axes, styled, each[:, -1], volts[-1], end, writer)


def _draw_torque(axes, found: Compared, styled, column: float, writer: Writer) -> None:
    speed, load = found.fan_torque
    curves = [writer.number(_torque(one, speed), "torque") for _, one in styled]
    load = writer.number(load, "torque")
    for ((color, dashes, width), one), curve in zip(styled, curves, strict=True):
        axes.plot(speed, curve, ls=dashes, color=color, lw=width)
        there = one.band("speed_rpm").mid, writer.number(one.running_torque, "torque")
        axes.plot(*there, "o", color=color, ms=10 if one.is_old else 6, mec=PAPER, zorder=3)
    axes.plot(speed, load, color=FAN, lw=THICK)
    at = int(0.62 * len(speed))  # below the curve, which rises to the right
    note(axes, writer("compare.figure.fan"), (speed[at], load[at]), (5, -5), FAN, va="top")
    end = -column / (1 - column) * speed[-1]
    axes.set(
        xlabel=writer("compare.figure.speed"),
        ylabel=writer("compare.figure.torque", unit=writer.unit("torque")),
        xlim=(end, speed[-1]),
        ylim=(0, 1.06 * np.nanmax([*curves, load])),
    )
    title(axes, writer("compare.figure.title_torque", volts=_volts(found, writer)))
    _ended(axes, 0, speed[-1])
    _label(axes, styled, [curve[0] for curve in curves], 0, end, writer)


def _torque(one: ComparedMotor, speed) -> np.ndarray:
    """Return the torque of a motor [N m] up to its synchronous speed, and NaN at higher speeds."""
    within = speed <= one.motor.synchronous_rpm
    return np.where(within, one.torque(np.where(within, speed, 0.0)), np.nan)


def _ended(axes, low: float, high: float) -> None:
    """Add a frame to the axes, with ticks only from ``low`` to ``high``."""
    frame(axes)
    axes.set_xticks([tick for tick in axes.get_xticks() if low <= tick <= high])


def _label(axes, styled, levels, start: float, end: float, writer: Writer) -> None:
    """Write each motor's name beside its line, in the column from ``start`` to ``end``.

    A thin leader connects each line to its name.

    Parameters
    ----------
    levels
        Height of each line at ``start``.
    """
    names = [
        textwrap.fill(name_of(one, writer), LONGEST_NAME, break_long_words=False)
        for _, one in styled
    ]
    lines = 1 + max(name.count("\n") for name in names)
    places = _spread(np.asarray(levels, float), *axes.get_ylim(), lines * APART)
    side, joint = "left" if end > start else "right", start + JOINT * (end - start)
    each = zip(styled, names, levels, places, strict=True)
    for ((color, _, _), _), told, level, place in each:
        axes.plot([start, joint], [level, place], color=color, lw=0.8, zorder=1)
        note(axes, told, (joint, place), (4 if side == "left" else -4, 0), color, SMALL,
             ha=side, va="center", bbox=None)  # fmt: skip


def _spread(levels: np.ndarray, low: float, high: float, share: float) -> np.ndarray:
    """Return ``levels``, shifted to be at least ``share`` of the axis height apart."""
    apart, order = share * (high - low), np.argsort(levels, kind="stable")
    placed = np.clip(levels[order], low + apart / 2, high - apart / 2)
    for at in range(1, len(placed)):
        placed[at] = max(placed[at], placed[at - 1] + apart)
    placed = np.minimum(placed, high - apart * (len(placed) - np.arange(len(placed)) - 0.5))
    moved = np.empty_like(placed)
    moved[order] = placed
    return moved
