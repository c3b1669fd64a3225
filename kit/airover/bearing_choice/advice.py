"""Ball or sleeve bearings for one place: the recommendation and its reason.

Hours decide where one kind lasts clearly longer, both at the same reliability and no longer than
the unit itself lasts. Where they do not, dirt, frost and quiet decide, and then the price.
"""

from typing import NamedTuple

import numpy as np

from airover.bearings.life import thick_when_cold
from airover.bearings.place import MOTOR_MASS, Stand
from airover.bearings.suits import HOURS_A_YEAR, NOT_HERE, SEASON_OVER_DESIGN, SUITS, Suits, suits
from airover.message import Message, Quantity
from airover.physics import ball_bearing

BALL, SLEEVE, EITHER, NEITHER = "ball", "sleeve", "either", "neither"

# Times as long at which the other kind is worth its money. Ball bearings cost about a tenth of an
# installed motor more, and later money counts less: engineering judgment.
WORTH = 1.2
# A bearing need not outlast the unit: ASHRAE Handbook HVAC Applications, service life of small
# split and packaged air conditioners, from memory, not verified.
UNIT_LIFE = 15.0  # years
GRIT = {"dust", "salt"}
WARM_START = 10.0  # degC, where no colder start is known


class Advice(NamedTuple):
    """The ``kind`` to take (BALL, SLEEVE, EITHER or NEITHER), the ``code`` of the reason, and the
    ``reason``."""

    kind: str
    code: str
    reason: Message


class Use(NamedTuple):
    """Facts beside heat and load: ``quiet`` where noise matters; ``exposure`` of the place ("rain",
    "dust", "salt"); ``temp_start`` [degC] of the coldest start; ``hours_a_year`` [h] of running."""

    quiet: bool = False
    exposure: tuple[str, ...] = ()
    temp_start: float = WARM_START
    hours_a_year: float = HOURS_A_YEAR


ORDINARY = Use()


def advise(stand: Stand, axial, ball: Suits, sleeve: Suits, use: Use, position=None):
    """Advice from the verdicts on both kinds in the place ``stand`` with its ``use``.

    ``axial`` load [N] of weight and air thrust, samples; ``position`` of the shaft, by default that
    of ``stand``.
    """
    position = position or stand.shaft_position
    thick = thick_when_cold(stand, use.temp_start)
    kind, code = _decided(ball, sleeve, position, thick, use)
    other = ball if ball.code == NOT_HERE and sleeve.code != NOT_HERE else sleeve
    reason = other.reason if code == "position" else Message(
        f"bearings.advice.{code}",
        other=other.reason,
        cold=Quantity(use.temp_start, "air_temperature", 0),
        grit=[Message(f"bearings.grit.{one}") for one in sorted(GRIT & set(use.exposure))],
        shaft=Message(f"bearings.shaft.{position}"),
        axial=Quantity(float(np.median(axial)), "force"),
    )  # fmt: skip
    return Advice(kind, code, reason)


class Advised(NamedTuple):
    """Verdicts on ``ball`` and ``sleeve`` bearings in one place, and the ``advice``."""

    ball: Suits
    sleeve: Suits
    advice: Advice


def advise_for(
    shaft_position: str, temp_air, blade_mass: float, thrust: float, speed_rpm: float,
    use: Use = ORDINARY, motor_mass: float = MOTOR_MASS, seed: int = 0,
) -> Advised:  # fmt: skip
    """Verdicts and advice for a usual motor with a half-inch shaft, described in plain facts.

    ``shaft_position`` "up", "down" or "horizontal"; ``temp_air`` low and high [degC] at the motor
    on the design day; ``blade_mass`` of the fan and ``motor_mass`` [kg]; ``thrust`` of the air [N];
    ``speed_rpm`` [rpm]. Raises InputError out of range.
    """
    facts = shaft_position, temp_air, blade_mass, thrust, speed_rpm
    stand = Stand.at(*facts, motor_mass=motor_mass, seed=seed)
    size = ball_bearing.DEEP_GROOVE_02[15]
    ball, sleeve = (
        suits(kind, stand, size, hours_a_year=use.hours_a_year) for kind in (BALL, SLEEVE)
    )
    blade, far = stand.met().loads
    return Advised(ball, sleeve, advise(stand, blade.axial + far.axial, ball, sleeve, use))


def _decided(ball: Suits, sleeve: Suits, position, thick_oil, use: Use) -> tuple[str, str]:
    """Kind and code of the reason; the first rule that applies decides."""
    barred = ball.code == NOT_HERE, sleeve.code == NOT_HERE
    if all(barred):
        return NEITHER, "neither"
    if any(barred):
        return (SLEEVE if barred[0] else BALL), "position"
    if thick_oil:
        return BALL, "cold"
    if GRIT & set(use.exposure):
        return BALL, "grit"
    if use.quiet and sleeve.code == SUITS:
        return SLEEVE, "quiet"
    enough = UNIT_LIFE * SEASON_OVER_DESIGN * use.hours_a_year
    useful = [min(one.median.mid, enough) for one in (ball, sleeve)]
    if useful[0] >= WORTH * useful[1]:
        return BALL, sleeve.governed_by
    if useful[1] >= WORTH * useful[0]:
        return SLEEVE, ball.governed_by
    if use.quiet:
        return SLEEVE, "quieter"
    if "rain" in use.exposure and position == "up":
        return BALL, "water"
    return (SLEEVE, "enough") if WORTH * min(useful) >= enough else (EITHER, "same")
