"""Ball or sleeve bearings for one place: the recommendation and its reason.

Hours decide where one kind lasts clearly longer, both at the same reliability and no longer than
the unit itself lasts. Where they do not, dirt, frost and quiet decide, and then the price.
"""

from typing import NamedTuple

from airover.bearings.suits import NOT_HERE, SEASON_OVER_DESIGN, SUITS, Suits

BALL, SLEEVE, EITHER, NEITHER = "ball", "sleeve", "either", "neither"

# Times as long at which the other kind is worth its money. Ball bearings cost about a tenth of an
# installed motor more, and later money counts less: engineering judgment.
WORTH = 1.2
# A bearing need not outlast the unit: ASHRAE Handbook HVAC Applications, service life of small
# split and packaged air conditioners, from memory, not verified.
UNIT_LIFE = 15.0  # years
GRIT = {"dust", "salt"}

_WHY = {
    "neither": "Neither kind suits this place as the motor is: {other} Ask its maker for one that "
    "is built for this position.",
    "position": "{other}",
    "cold": "Below {cold} the oil of sleeve bearings is too thick to reach the shaft and brakes the "
    "start; cold grease hinders ball bearings less.",
    "grit": "Double-sealed ball bearings keep {grit} out; a sleeve bearing lets it in, and it wears "
    "shaft and bore.",
    "water": "With the shaft up, rain runs down it into the upper bearing: double-sealed ball "
    "bearings keep it out.",
    "oil": "At this heat the oil of sleeve bearings ages faster than the grease of ball bearings.",
    "wear of the thrust washer": "With the shaft {position}, a sleeve bearing's thrust washer "
    "carries {axial:.0f} N of weight and air thrust and wears all the time; ball bearings do not.",
    "wear of the bore": "Load and unbalance wear the bore of sleeve bearings; ball bearings carry "
    "them without wear.",
    "grease": "Sleeve bearings last longer here than the grease of ball bearings.",
    "fatigue": "Sleeve bearings last longer here: the load fatigues ball bearings of this size.",
    "quiet": "Sleeve bearings run quieter, and here they last long enough.",
    "enough": "Either kind lasts as long as the unit here; sleeve bearings cost less and run "
    "quieter.",
    "same": "No difference worth the money: take the cheaper motor.",
}


class Advice(NamedTuple):
    """The ``kind`` to take (BALL, SLEEVE, EITHER or NEITHER), the ``code`` of the reason, and the
    ``reason`` as a sentence."""

    kind: str
    code: str
    reason: str


class Wishes(NamedTuple):
    """Facts beside heat and load: ``quiet`` matters; ``exposure`` of the place ("rain", "dust",
    "salt"); ``thick_oil`` at the coldest start, which is ``cold``, a text; ``hours_a_year`` [h] of
    running."""

    quiet: bool
    exposure: tuple[str, ...]
    thick_oil: bool
    cold: str
    hours_a_year: float


def advise(ball: Suits, sleeve: Suits, position: str, axial: float, wishes: Wishes) -> Advice:
    """Recommendation from the verdicts on both kinds.

    ``position`` of the shaft, ``axial`` load [N] of weight and air thrust.
    """
    kind, code = _decided(ball, sleeve, position, wishes)
    other = ball if ball.code == NOT_HERE and sleeve.code != NOT_HERE else sleeve
    reason = _WHY[code].format(
        other=other.reason,
        cold=wishes.cold,
        grit=" and ".join(one for one in wishes.exposure if one in GRIT),
        position=position,
        axial=axial,
    )
    return Advice(kind, code, reason)


def _decided(ball: Suits, sleeve: Suits, position: str, wishes: Wishes) -> tuple[str, str]:
    """Kind and code of the reason; the first rule that applies decides."""
    barred = ball.code == NOT_HERE, sleeve.code == NOT_HERE
    if any(barred):
        return {(True, True): NEITHER, (True, False): SLEEVE}.get(barred, BALL), (
            "neither" if all(barred) else "position"
        )
    if wishes.thick_oil:
        return BALL, "cold"
    if GRIT & set(wishes.exposure):
        return BALL, "grit"
    enough = UNIT_LIFE * SEASON_OVER_DESIGN * wishes.hours_a_year
    useful = [min(one.median.mid, enough) for one in (ball, sleeve)]
    if wishes.quiet and sleeve.code == SUITS:
        return SLEEVE, "quiet"
    if useful[0] >= WORTH * useful[1]:
        return BALL, sleeve.governed_by
    if useful[1] >= WORTH * useful[0]:
        return SLEEVE, ball.governed_by
    if "rain" in wishes.exposure and position == "up":
        return BALL, "water"
    return (SLEEVE, "enough") if WORTH * min(useful) >= enough else (EITHER, "same")
