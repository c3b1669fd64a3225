"""Write results as tables of numbers (pandas) with 90 % ranges and units.

Use these tables for calculations in a spreadsheet or in Python. The tables of formatted text for
display are in the module for each subject.
"""

import numpy as np
import pandas as pd

from airover.business.life_cost import LifeCost
from airover.core.intervals import Band
from airover.core.kinds import KINDS
from airover.core.texts import ENGLISH, Writer
from airover.model.calculation_heat import LETTERS
from airover.model.expected import Expected
from airover.model.fan_at_site import Sized
from airover.model.heat_answer import HeatAnswer
from airover.model.simulation import USUAL
from airover.reports.bearings import ENDS
from airover.reports.verify_tables import reading_label
from airover.selection.answer import Answer
from airover.selection.bearing_choice import BearingStudy
from airover.selection.check import Check
from airover.selection.rules import Candidate
from airover.service.verification import Verified

# Type of quantity for each result. A result without a type has the same unit in all unit systems.
_KINDS = {
    "shaft_power_w": "power", "power_shaft_w": "power", "needed_w": "power", "speed_rpm": "speed",
    "motor_speed": "speed", "torque_nm": "torque", "temp_at_motor_c": "air_temperature",
    "current_a": "current", "capacitor_v": "voltage", "temp_c": "temperature",
    "rise_k": "temperature_rise", "flow_m3s": "flow", "pressure_pa": "pressure",
    "density_kgm3": "density", "hot_spot_c": "temperature", "margin_k": "temperature_rise",
    "life_h": "hours", "ball_h": "hours", "grease_h": "hours", "fatigue_h": "hours",
    "sleeve_h": "hours",
}  # fmt: skip
_UNITS = {"power_in_w": "W", "efficiency": "", "power_factor": ""}


def results(found, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return one row for each calculated quantity in an answer from worksheets 01 to 05.

    The columns are quantity, unit, low, median and high.

    Parameters
    ----------
    found
        Answer in one of the types accepted by `calculation.calculation_of`.
    """
    rows = [
        (writer(f"calculation.result.{name}"), _unit(name, writer), *_shown(name, band, writer))
        for name, band in bands_of(found).items()
        if band is not None
    ]
    return pd.DataFrame(rows, columns=_headings(writer))


def bands_of(found) -> dict[str, Band | None]:
    """Return the 90 % ranges of an answer in SI units, by name."""
    match found:
        case Answer():
            return bands_of(found.candidates[0])
        case Candidate(case=case):
            return _of_case(case)
        case Expected(bands=bands):
            names = {"speed_rpm": "motor_speed", "temp_winding_c": "temp_c"}
            return {names.get(name, name): band for name, band in bands.items()}
        case Sized(bands=bands, size=size):
            return bands | {"needed_w": size.needed}
        case HeatAnswer(study=study):
            return {
                "temp_at_motor_c": Band.of(study.conditions.temp_air),
                "temp_c": Band.of(study.winding),
                "rise_k": study.rise,
                "hot_spot_c": Band.of(study.hot_spot),
                "margin_k": study.margin,
                "life_h": study.hours,
            }
        case BearingStudy(bands=bands):
            names = {
                "ball_h": "ball", "grease_h": "ball: grease", "fatigue_h": "ball: fatigue",
                "sleeve_h": "sleeve",
            }  # fmt: skip
            return {name: bands[key] for name, key in names.items()}
    raise TypeError(f"no results for {type(found).__name__}")


def needed(answer: Answer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the requirements of the fan and site as numbers."""
    rows = [
        (writer(f"calculation.result.{name}"), _unit(name, writer), *_shown(name, band, writer))
        for name, band in answer.needed.items()
    ]
    return pd.DataFrame(rows, columns=_headings(writer))


def candidates(answer: Answer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of the motors, best first, with numeric values."""
    rows = []
    for one in answer.candidates:
        case = one.case
        current, watts = case.current, case.band("power_in_w")
        row = {
            "motor": case.motor.name,
            "maker": case.motor.maker,
            "rating": writer.number(case.rating, "power"),
            "verdict": writer(f"answer.verdict.{one.verdict}"),
            **_spread("amps", current),
            "watts": watts and watts.mid,
            "speed": case.speed_rpm and case.speed_rpm.mid,
            "winding": case.winding and float(writer.number(case.winding.mid, "temperature")),
            "price": case.motor.price,
            "currency": case.motor.currency,
        }
        rows.append(row)
    kinds = {"rating": "power", "winding": "temperature"}
    names = {
        name: writer(
            f"calculation.motors.{name}", unit=writer.unit(kinds[name]) if name in kinds else ""
        )
        for name in rows[0]
    }
    return pd.DataFrame(rows).rename(columns=names)


def checks(candidate: Candidate, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of the checks of one motor, with numeric values."""
    rows = [_check(check, writer) for check in candidate.checks]
    names = (
        "check", "state", "found_low", "found", "found_high", "limit", "unit", "why", "source",
    )  # fmt: skip
    return pd.DataFrame(rows, columns=[writer(f"calculation.check.{name}") for name in names])


def voltages(expected: Expected, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return a table of amps, watts and speed against supply voltage as numbers.

    The low, median and high values of each quantity have separate columns.
    """
    run = expected.sweep
    columns = {f"{writer('calculation.result.supply')} [V]": run.voltage}
    for name, key in (("current_a", "current_a"), ("power_in_w", "power_in_w"), ("speed_rpm",) * 2):
        text = writer(f"calculation.result.{'motor_speed' if name == 'speed_rpm' else key}")
        unit = {"current_a": "A", "power_in_w": "W", "speed_rpm": "rpm"}[name]
        for end, heading in zip(expected.across[name], ("low", "median", "high"), strict=True):
            columns[f"{text}, {writer(f'calculation.result.{heading}')} [{unit}]"] = end
    return pd.DataFrame(columns)


def temperatures(answer: HeatAnswer, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the temperatures of the air, each motor node and the hot spot."""
    study = answer.study
    nodes = {
        f"calculation.heat.theta_{letter}": Band.of(temp[0])
        for letter, temp in zip(LETTERS, study.run.warm.nodes, strict=True)
    }
    bands = {
        "calculation.result.temp_at_motor_c": Band.of(study.conditions.temp_air),
        **nodes,
        "calculation.result.temp_c": Band.of(study.winding),
        "calculation.result.hot_spot_c": Band.of(study.hot_spot),
    }
    return _table({writer(key): (band, "temperature") for key, band in bands.items()}, writer)


def bearing_lives(study: BearingStudy, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the hours to each failure mode and the fraction of motors in which it comes first."""
    bands = {name: study.bands[name] for name in ENDS}
    rows = {writer(f"bearings.row.{name}"): (band, "hours") for name, band in bands.items()}
    found = _table(rows, writer)
    found[writer("bearings.column.first")] = [study.first.get(name, 0.0) for name in bands]
    return found


def readings(found: Verified, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return each reading with its range of agreement, as numbers."""
    rows = []
    for one in found.judged:
        values, unit = [one.value, one.low, one.high], "W"  # watts are watts in both systems
        if one.kind != "watts":
            unit = writer.unit(one.kind)
            values = [None if x is None else float(writer.number(x, one.kind)) for x in values]
        state = writer(f"verify.state.{one.state}")
        rows.append((reading_label(found, one, writer), unit, *values, state))
    headings = [
        writer("verify.table.reading"),
        writer("calculation.result.unit"),
        writer("verify.table.given"),
        *(writer(f"calculation.result.{end}") for end in ("low", "high")),
        writer("verify.table.result"),
    ]
    return pd.DataFrame(rows, columns=headings)


def costs(found: list[LifeCost], years: int, writer: Writer = ENGLISH) -> pd.DataFrame:
    """Return the initial cost, life-cycle cost and energy use of each motor in ``found``."""
    rows = []
    for cost in found:
        bands = {"today": Band.of(cost.today), "over": cost.band, "energy": cost.energy}
        for name, band in bands.items():
            heading = writer(f"cost.table.{name}", currency=cost.currency, years=years)
            quantity, _, unit = heading.removesuffix("]").partition(" [")
            rows.append((cost.name, quantity, unit, *map(float, band)))
    return pd.DataFrame(rows, columns=[writer("cost.table.motor"), *_headings(writer)])


def _table(bands: dict[str, tuple[Band, str]], writer: Writer) -> pd.DataFrame:
    """Return a table of ``bands``, a dict of bands and their quantity types by name."""
    rows = [
        (name, writer.unit(kind), *(float(writer.number(end, kind)) for end in band))
        for name, (band, kind) in bands.items()
    ]
    return pd.DataFrame(rows, columns=_headings(writer))


def _of_case(case) -> dict[str, Band | None]:
    conditions = case.conditions
    found = {
        "shaft_power_w": Band.of(conditions.shaft_power),
        "speed_rpm": Band.of(conditions.speed_rpm),
        "torque_nm": Band.of(conditions.torque),
        "temp_at_motor_c": Band.of(conditions.temp_air),
    }
    if case.row is None:
        return found
    names = (
        "current_a", "power_in_w", "power_shaft_w", "efficiency", "power_factor", "capacitor_v",
        "temp_c", "rise_k", "flow_m3s", "pressure_pa",
    )  # fmt: skip
    figures = case.simulation.figures
    found["motor_speed"] = case.speed_rpm
    return found | {name: Band.of(figures[name][USUAL, case.row]) for name in names}


def _check(check: Check, writer: Writer) -> tuple:
    name, why, state = writer.check(check)
    kind = check.kind if check.kind in KINDS else ""
    found, limit = check.found, check.limit
    ends = found if isinstance(found, Band) else (None, found, None)
    limit = limit.mid if isinstance(limit, Band) else limit
    values = [_plain(value, kind, writer) for value in (*ends, limit)]
    unit = writer.unit(kind) if kind else check.unit
    return name, state, *values, unit, why, writer(f"source.{check.source}")


def _plain(value, kind: str, writer: Writer):
    """Return a number in the reader's unit, words in the reader's language, or None."""
    if isinstance(value, str):
        return writer.texts.word(value)
    if isinstance(value, tuple):
        return writer.texts.words(value)
    return float(writer.number(value, kind)) if kind and value is not None else value


def _spread(name: str, band: Band | None) -> dict:
    ends = (None,) * 3 if band is None else band
    return dict(zip((f"{name}_low", f"{name}_median", f"{name}_high"), ends, strict=True))


def _unit(name: str, writer: Writer) -> str:
    return writer.unit(_KINDS[name]) if name in _KINDS else _UNITS[name]


def _shown(name: str, band: Band, writer: Writer) -> list[float]:
    ends = [float(np.asarray(end)) for end in band]
    return [float(writer.number(end, _KINDS[name])) for end in ends] if name in _KINDS else ends


def _headings(writer: Writer) -> list[str]:
    names = ("quantity", "unit", "low", "median", "high")
    return [writer(f"calculation.result.{name}") for name in names]
