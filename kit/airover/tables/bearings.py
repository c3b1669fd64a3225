"""Ball and sleeve bearings side by side, as tables (pandas), in the language of their Writer."""

import numpy as np
import pandas as pd

from airover.bearing_choice.advice import ORDINARY, Use, advise_for
from airover.bearing_choice.study import RARE, BearingStudy, BothKinds, years_of
from airover.bearings.life import MEDIAN, OIL_HALVING
from airover.bearings.suits import MOST_YEARS, Suits, median_years
from airover.message import Quantity
from airover.physics import unbalance
from airover.reports.bearings import fan_state, hours_text
from airover.texts import Writer

ENDS = (
    "ball: grease", "ball: fatigue", "ball: fatigue, load alone", "sleeve: oil",
    "sleeve: wear of the bore", "sleeve: wear of the thrust washer",
)  # fmt: skip


def side_by_side(study: BearingStudy, writer: Writer) -> pd.DataFrame:
    """One row for each end of a bearing: life at the asked reliability, and how often it is first.

    Hours and years are 90 % ranges.
    """
    share = study.asked.reliability
    if share == MEDIAN:
        hours = writer("bearings.column.hours_half")
    else:
        hours = writer("bearings.column.hours_share", share=100 * share)
    column = _columns(writer)
    halving = writer.range(*OIL_HALVING, "temperature_rise", 0)
    rows = [
        {
            column("end"): writer(f"bearings.row.{name}"),
            hours: hours_text(study.bands[name], writer),
            column("years"): _years(study, name, writer),
            column("first"): _first(study.first.get(name, 0.0)),
            column("rule"): writer(f"bearings.rule.{name}", halving=halving),
        }
        for name in ENDS
    ]
    return pd.DataFrame(rows)


def positions(study: BearingStudy, writer: Writer) -> pd.DataFrame:
    """One row for each position of the shaft."""
    column = writer("bearings.column.shaft")
    return pd.DataFrame(
        {column: writer.texts.word(name), **_row(pair, writer)}
        for name, pair in study.positions.items()
    )


def balancing(study: BearingStudy, writer: Writer) -> pd.DataFrame:
    """One row for each state of the fan: its force, and the loads and hours that follow."""
    rows, column = [], _columns(writer)
    stand = study.place.stand
    for (of_fan, lost), pair in study.balancing.items():
        force = pair.met.force
        grade = unbalance.grade_of(force, stand.blade_mass, stand.speed_rpm)
        rows.append(
            {
                column("fan"): fan_state(of_fan, lost, writer),
                column("force", "force"): f"{np.median(writer.number(force, 'force')):.1f}",
                column("grade"): f"{np.median(grade):.0f}",
                **_row(pair, writer),
            }
        )
    return pd.DataFrame(rows)


def _columns(writer: Writer):
    """The headings by name; an amount's has the unit of its kind."""

    def heading(name: str, kind: str = "") -> str:
        return writer(f"bearings.column.{name}", unit=writer.unit(kind) if kind else "")

    return heading


def _row(pair: BothKinds, writer: Writer) -> dict:
    blade, far = pair.met.loads
    column = _columns(writer)
    return {
        column("across", "force"): _forces(writer, blade.radial, far.radial),
        column("along", "force"): _forces(writer, blade.axial, far.axial),
        column("ball"): hours_text(pair.ball, writer),
        column("sleeve"): hours_text(pair.sleeve, writer),
    }


def _forces(writer: Writer, *samples) -> str:
    medians = (writer.amount(np.median(one), "force") for one in samples)
    return " / ".join(one.removesuffix(f" {writer.unit('force')}") for one in medians)


def _first(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= RARE else ""


def _years(study: BearingStudy, name: str, writer: Writer) -> str:
    years = years_of(study.bands[name], study.asked.hours_a_year)
    under = writer("bearings.years.under_one")
    low, high = (f"{end:.0f}" if end >= 1 else under for end in (years.low, years.high))
    if years.low > MOST_YEARS:
        return writer("bearings.years.over", most=MOST_YEARS)
    if years.high > MOST_YEARS:
        return writer("bearings.years.and_more", low=low)
    return writer("bearings.years.range", low=low, high=high) if low != high else low


# Fans on usual motors of 6 poles: name, mass of the fan and of the motor [kg], air thrust [N].
FANS = (("light", 0.8, 5.0, 8.0), ("usual", 1.6, 7.0, 16.0), ("heavy", 4.0, 9.0, 30.0))
FAN_RPM = 1075.0
AIR_AT_MOTOR = (35.0, 45.0, 55.0, 70.0)  # degC, design day, 2 K either way


def places(writer: Writer, use: Use = ORDINARY) -> pd.DataFrame:
    """One row for each shaft position and air temperature: which bearings for which fan, and how
    long half of such motors last with ball and with sleeve bearings."""
    rows = []
    for position in ("up", "horizontal"):
        for temp in AIR_AT_MOTOR:
            row = {
                writer("bearings.column.shaft"): writer.texts.word(position),
                writer("bearings.column.air"): writer.amount(temp, "air_temperature", 0),
            }
            for name, mass, motor, thrust in FANS:
                air = temp - 2.0, temp + 2.0
                found = advise_for(position, air, mass, thrust, FAN_RPM, use, motor)
                ball, sleeve = (f"{one.years.mid:.0f}" for one in (found.ball, found.sleeve))
                kind = writer(f"bearings.kind.{found.advice.kind}")
                heading = writer(f"bearings.column.{name}", mass=Quantity(mass, "mass", 1))
                row[heading] = writer("bearings.in_years", kind=kind, ball=ball, sleeve=sleeve)
            rows.append(row)
    return pd.DataFrame(rows)


def motors(found: list[tuple[str, Suits | None]], writer: Writer) -> pd.DataFrame:
    """One row for each motor of a job, by name: do its bearings suit this place, and why."""
    names = ("motor", "bearings", "verdict", "lasts", "why")
    headings = [writer(f"bearings.column.{name}") for name in names]
    rows = [(name, *_suits(one, writer)) for name, one in found]
    return pd.DataFrame(rows, columns=headings)


def _suits(one: Suits | None, writer: Writer) -> tuple[str, str, str, str]:
    if one is None:
        return writer("bearings.kind.unknown"), "", "", writer("bearings.table.label")
    kind, code = writer(f"bearings.kind.{one.kind}"), writer(f"bearings.code.{one.code}")
    return kind, code, writer(median_years(one.years)), writer(one.reason)
