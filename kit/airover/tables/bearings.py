"""Ball and sleeve bearings side by side, as tables (pandas)."""

import numpy as np
import pandas as pd

from airover.bands import Band
from airover.bearing_choice.study import HOURS_A_YEAR, RARE, Both, Study, hours_text
from airover.motor.lifetime import LONGEST
from airover.physics import unbalance

_RULES = {
    "ball: grease": "Booser's line; hotter, sooner",
    "ball: fatigue": "ISO 281 with lubrication and dirt",
    "ball: fatigue, load alone": "ISO 281, basic",
    "sleeve: oil": "half for every 8 to 12 K; screening",
    "sleeve: bore": "Archard's wear at starts and stops; screening",
    "sleeve: thrust washer": "Archard's wear all the time; screening",
}


def side_by_side(study: Study) -> pd.DataFrame:
    """One row for each thing that can end a bearing, and in how many cases it comes first."""
    rows = [
        {
            "what ends it": name,
            "hours": hours_text(study.bands[name]),
            f"years of {HOURS_A_YEAR:.0f} h": _years(study.bands[name]),
            "first": _first(study.first.get(name, 0.0)),
            "by": rule,
        }
        for name, rule in _RULES.items()
    ]
    return pd.DataFrame(rows)


def positions(study: Study) -> pd.DataFrame:
    """One row for each position of the shaft."""
    return pd.DataFrame([{"shaft": name, **_row(pair)} for name, pair in study.positions.items()])


def balancing(study: Study) -> pd.DataFrame:
    """One row for each state of the blade: its force, and what the bearings make of it."""
    rows = []
    stand = study.place.stand
    for name, pair in study.balancing.items():
        force = pair.met.force
        grade = unbalance.grade_of(force, stand.blade_mass, stand.speed_rpm)
        rows.append(
            {
                "blade": name,
                "its force [N]": f"{np.median(force):.1f}",
                "as grade [mm/s]": f"{np.median(grade):.0f}",
                **_row(pair),
            }
        )
    return pd.DataFrame(rows)


def _row(pair: Both) -> dict:
    blade, far = pair.met.loads
    return {
        "across blade's / far [N]": f"{_mid(blade.radial)} / {_mid(far.radial)}",
        "along [N]": f"{_mid(blade.axial)} / {_mid(far.axial)}",
        "ball": hours_text(pair.ball),
        "sleeve": hours_text(pair.sleeve),
    }


def _mid(draws) -> str:
    return f"{float(np.median(draws)):.0f}"


def _first(share: float) -> str:
    return f"in {100 * share:.0f} of 100" if share >= RARE else ""


def _years(band: Band) -> str:
    if band.low >= LONGEST:
        return f"beyond {LONGEST / HOURS_A_YEAR:.0f}"
    low, high = (float(f"{end / HOURS_A_YEAR:.2g}") for end in (band.low, band.high))
    if band.high >= LONGEST:
        return f"{low:g} and more"
    return f"{low:g} to {high:g}" if low < high else f"{low:g}"
