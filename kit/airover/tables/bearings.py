"""Ball and sleeve bearings side by side, as tables (pandas)."""

import numpy as np
import pandas as pd

from airover.bearing_choice.advice import ORDINARY, Use, advise_for
from airover.bearing_choice.study import RARE, Both, Study, hours_text, share_text, years_of
from airover.bearings.suits import MOST_YEARS, Suits, years_text
from airover.physics import unbalance
from airover.units import show

_RULES = {
    "ball: grease": "Booser's line; heat and a vertical shaft shorten it",
    "ball: fatigue": "ISO 281 with lubrication and dirt",
    "ball: fatigue, load alone": "ISO 281, basic",
    "sleeve: oil": "half for every 8-12 K more; screening",
    "sleeve: bore": "Archard's wear at starts and stops; screening",
    "sleeve: thrust washer": "Archard's wear all the time; screening",
}


def side_by_side(study: Study) -> pd.DataFrame:
    """One row for each end of a bearing: life at the asked reliability, and how often it is first.

    Hours and years are 90 % ranges.
    """
    reach = share_text(study.asked.reliability).lower()
    rows = [
        {
            "what ends it": name,
            f"hours that {reach} reach": hours_text(study.bands[name]),
            "years of service": _years(study, name),
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
    return f"{100 * share:.0f} %" if share >= RARE else ""


def _years(study: Study, name: str) -> str:
    years = years_of(study.bands[name], study.asked.hours_a_year)
    low, high = (f"{end:.0f}" if end >= 1 else "under 1" for end in (years.low, years.high))
    if years.low > MOST_YEARS:
        return f"over {MOST_YEARS}"
    if years.high > MOST_YEARS:
        return f"{low} and more"
    return f"{low}-{high}" if low != high else low


# Fans on usual motors of 6 poles: name, mass of the fan and of the motor [kg], air thrust [N].
FANS = (
    ("1/8 hp, fan of 0.8 kg", 0.8, 5.0, 8.0),
    ("1/3 hp, fan of 1.6 kg", 1.6, 7.0, 16.0),
    ("3/4 hp, fan of 4 kg", 4.0, 9.0, 30.0),
)
FAN_RPM = 1075.0
AIR_AT_MOTOR = (35.0, 45.0, 55.0, 70.0)  # degC, design day, 2 K either way


def places(shown: str = "US", use: Use = ORDINARY) -> pd.DataFrame:
    """One row for each shaft position and air temperature: which bearings for which fan, and how
    long half of such motors last with ball and with sleeve bearings. Temperatures in ``shown``."""
    rows = []
    for position in ("up", "horizontal"):
        for temp in AIR_AT_MOTOR:
            row = {"shaft": position, "air at the motor": show(temp, "air_temperature", shown, 0)}
            for name, mass, motor, thrust in FANS:
                air = temp - 2.0, temp + 2.0
                found = advise_for(position, air, mass, thrust, FAN_RPM, use, motor)
                years = (f"{one.years.mid:.0f}" for one in (found.ball, found.sleeve))
                row[name] = f"{found.advice.kind} ({' / '.join(years)} years)"
            rows.append(row)
    return pd.DataFrame(rows)


def motors(found: list[tuple[str, Suits | None]]) -> pd.DataFrame:
    """One row for each motor of a job, by name: do its bearings suit this place, and why."""
    return pd.DataFrame(
        {
            "motor": name,
            "bearings": "not known" if one is None else one.kind,
            "verdict": "" if one is None else one.code,
            "half last longer than": "" if one is None else years_text(one.years),
            "why": "Read the kind on its label or in the maker's data." if one is None
            else one.reason,
        }
        for name, one in found
    )  # fmt: skip
