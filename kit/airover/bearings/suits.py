"""Verdict on a motor's bearings in their shaft position and heat, with the reason."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.bearings.life import L10, MEDIAN, ball, size_of, sleeve
from airover.bearings.place import BearingDuty, Stand
from airover.errors import InputError, either
from airover.message import Message
from airover.motor.work import Worked

KINDS = ("ball", "sleeve")
SUITS, SHORTER, NOT_HERE = "suits", "shorter life", "not in this position"

# A season's running hours age grease and oil about half as much as the design day does: they are
# some 10 K cooler on average (AHRI 210/240, cooling bins, from memory, not verified).
SEASON_OVER_DESIGN = 0.5
HOURS_A_YEAR = 1500.0  # h of running; 500 in a cool climate to 3000 in a hot one, common practice
# Half of such motors should last so long: the trade sees 8 to 15 years. Common practice, no source.
EXPECTED = 8.0  # years
LEAST_SHARE = 0.05  # of the washer sizes: beyond the limit with nearly all of them
MOST_YEARS = 40  # beyond, "over" says enough


class Suits(NamedTuple):
    """Verdict on one ``kind`` of bearing in one place.

    ``code`` is SUITS, SHORTER or NOT_HERE; ``median`` and ``l10`` are 90 % ranges of the hours [h]
    at the design heat without pause that half, and nine of ten, of such motors reach; ``years`` is
    the range of the median life in years of service; ``governed_by`` names the first end in most
    samples; ``reason`` says why.
    """

    kind: str
    code: str
    median: Band
    l10: Band
    years: Band
    governed_by: str
    reason: Message

    @property
    def sentence(self) -> Message:
        """Verdict, years of service and reason."""
        key = f"bearings.{self.kind}.{self.code}"
        return Message(key, years=median_years(self.years), reason=self.reason)


def median_years(years: Band) -> Message:
    """Median years with the 90 % range: "9 years (4 to 21)"."""
    low, mid, high = (
        Message("bearings.years.under_one") if end < 0.5
        else Message("bearings.years.over", most=MOST_YEARS) if end > MOST_YEARS
        else round(end)
        for end in years
    )  # fmt: skip
    key = "one" if years.mid < 1.5 else "many"
    if low == high:
        return Message(f"bearings.years.just_{key}", years=mid)
    return Message(f"bearings.years.{key}", years=mid, low=low, high=high)


def motor_suits(worked: Worked, number: int) -> Suits | None:
    """Verdict on the bearings of motor ``number`` on the job of ``worked``; None where the catalog
    does not say which kind they are."""
    motor = worked.motors[number]
    if motor.bearings is None:
        return None
    stand = Stand.of(worked, number)
    size = size_of(motor, stand.shaft_diameter)
    return suits(motor.bearings, stand, size, motor.shaft_positions)


def suits(kind: str, stand: Stand, size, allowed=(), hours_a_year=HOURS_A_YEAR) -> Suits:
    """Verdict on ``kind`` ("ball" or "sleeve") of bearing for a motor in its place, a ``stand``.

    ``size`` is a ball_bearing.BearingSize; ``allowed`` are the shaft positions of the catalog,
    empty where it does not say; ``hours_a_year`` of running [h]. Raises InputError out of range.
    """
    if kind not in KINDS:
        raise InputError("bearings", repr(kind), either(KINDS))
    met = stand.met()
    median, l10 = (
        ball(stand, met, size, share) if kind == "ball" else sleeve(stand, met, None, share)
        for share in (MEDIAN, L10)
    )
    return judged(kind, met, median, l10, allowed, hours_a_year)


def judged(
    kind: str, met: BearingDuty, median, l10, allowed=(), hours_a_year=HOURS_A_YEAR
) -> Suits:
    """Verdict on lives that are known: ``median`` and ``l10`` are two `Ball` or two `SleeveLife`.

    ``met`` are the loads and the heat behind them; the rest as in suits.
    """
    hours = Band.of(median.hours)
    years = hours.scaled(1 / (SEASON_OVER_DESIGN * hours_a_year))
    code, why, times = SUITS, "lasts", 0.0
    if years.mid < EXPECTED:
        code, why = SHORTER, median.governed_by
    if kind == "sleeve":
        times = float(np.median(median.pv_washer))
        if times > 1:
            code, why = SHORTER, "washer"
        if np.quantile(median.pv_washer, LEAST_SHARE) > 1:
            code = NOT_HERE
        if np.mean(median.film_rpm > met.speed_rpm) > MEDIAN:
            code, why = NOT_HERE, "film"
    if allowed and met.shaft_position not in allowed:
        code, why = NOT_HERE, "position"
    reason = Message(
        f"bearings.why.{why}",
        kind=Message(f"bearings.kinds.{kind}"),
        shaft=Message(f"bearings.shaft.{met.shaft_position}"),
        times=round(times, 1),
    )
    return Suits(kind, code, hours, Band.of(l10.hours), years, median.governed_by, reason)
