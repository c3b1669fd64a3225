"""The answer as tables (pandas)."""

from collections import Counter

import pandas as pd

from airover.answer import Answer
from airover.bands import Band
from airover.choose import DOES_NOT_FIT, Candidate
from airover.choose.check import ADAPT, FAIL, MISSING
from airover.units import show


def candidates(answer: Answer) -> pd.DataFrame:
    """One row per motor, best first: verdict, expected figures, and what decides.

    The failed motor under the same conditions comes first, in place 0, where it is known.
    """
    old = [] if answer.failed is None else [_failed_row(answer)]
    table = pd.DataFrame([*old, *(_row(answer, c) for c in answer.candidates)])
    table.index = pd.RangeIndex(1 - len(old), len(answer.candidates) + 1, name="place")
    return table


def needed(answer: Answer) -> pd.DataFrame:
    """What blade and site ask of any motor: the middle and the ends of 9 cases of 10."""
    power, speed, torque, temp = answer.needed.values()
    degrees = [answer.candidates[0].case.shown(t, "air_temperature").split()[0] for t in temp]
    rows = {
        "shaft power [W]": [f"{x:.0f}" for x in power],
        "speed [rpm]": [f"{x:.0f}" for x in speed],
        "torque [N m]": [f"{x:.2f}" for x in torque],
        f"air at the motor [{_degrees(answer)}]": degrees,
    }
    table = pd.DataFrame.from_dict(rows, "index", columns=["from", "expected", "to"])
    return table.rename_axis("asked by blade and site")


def rejected(answer: Answer) -> pd.DataFrame:
    """Why each motor that does not fit was left out, nearest first."""
    rows = [
        {
            "motor": c.case.motor.name,
            "fails on": ", ".join(_decisive(c)),
            "why": " ".join(c.reasons),
        }
        for c in answer.candidates
        if c.verdict == DOES_NOT_FIT
    ]
    return pd.DataFrame(rows, columns=["motor", "fails on", "why"])


def failures(answer: Answer) -> pd.DataFrame:
    """How many motors fail on each check, the most common first."""
    names = [check.name for c in answer.candidates for check in c.having(FAIL)]
    counts = sorted(Counter(names).items(), key=lambda one: (-one[1], one[0]))
    return pd.DataFrame(counts, columns=["fails on", "motors"])


def checks(candidate: Candidate) -> pd.DataFrame:
    """Every check of one motor: found, limit, margin, state, why, source."""
    rows = [
        {
            "check": check.name,
            "state": check.state,
            "found": _text(check.found),
            "limit": _text(check.limit),
            "margin": _text(check.margin),
            "unit": check.unit,
            "why": check.why,
            "source": check.source,
        }
        for check in candidate.checks
    ]
    return pd.DataFrame(rows)


def inputs(answer: Answer) -> pd.DataFrame:
    """Every input with where it came from: measured, nameplate, catalogue or assumed."""
    return pd.DataFrame([one._asdict() for one in answer.inputs])


def _row(answer: Answer, candidate: Candidate) -> dict:
    case = candidate.case
    return {
        "motor": case.motor.name,
        "rating": case.shown(case.rating, "power"),
        "verdict": candidate.verdict,
        **_duty(answer, case.current, case.speed_rpm, case.band("power_in_w"), case.winding),
        "price": _price(case.motor),
        "because of": ", ".join(_decisive(candidate)),
        "decided by": " ".join(candidate.reasons),
    }


def _failed_row(answer: Answer) -> dict:
    figures, plate = answer.failed, answer.job.nameplate
    names = ("current_a", "speed_rpm", "power_in_w", "temp_c")
    return {
        "motor": "old motor",
        "rating": "" if plate.power is None else plate.power.text,
        "verdict": "",
        **_duty(answer, *(figures[name] for name in names)),
        "price": "",
        "because of": "",
        "decided by": "",
    }


def _duty(answer: Answer, current, speed_rpm, power_in, winding) -> dict:
    """Figures of a motor on the fan; empty for one that cannot run on the supply."""
    amps = "" if current is None else f"{current.low:.2f} to {current.high:.2f}"
    hot = ""
    if winding is not None:
        hot = show(winding.mid, "temperature", answer.system, 0).split()[0]
    return {
        "current [A]": amps,
        "speed [rpm]": _text(speed_rpm),
        "input [W]": _text(power_in),
        f"winding [{_degrees(answer)}]": hot,
    }


def _price(motor) -> str:
    return "" if motor.price is None else f"{motor.price:.0f} {motor.currency}"


def _decisive(candidate: Candidate) -> list[str]:
    """The names of the checks that decide the verdict."""
    states = (FAIL,) if candidate.verdict == DOES_NOT_FIT else (ADAPT, MISSING)
    return [check.name for check in candidate.having(*states)]


def _degrees(answer: Answer) -> str:
    return {"US": "degF", "SI": "degC"}[answer.system]


def _text(value) -> str:
    """A band as "low to high", a number with three or four digits, a text as it is."""
    if value is None:
        return ""
    if isinstance(value, Band):
        return f"{_text(float(value.low))} to {_text(float(value.high))}"
    if isinstance(value, str):
        return value
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
