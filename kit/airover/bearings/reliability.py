"""Part scatter of bearings: from the median life to the life at another reliability.

Two kinds of doubt must not be mixed. The Monte Carlo samples say what is not known about this
motor model and its place (grease, oil, wear, temperature): they give a 90 % range *of the median
life*. Bearings of one make in one place still fail one after another: that scatter is a Weibull
distribution with the slopes below, and a *reliability* states the share that reaches a life.
Ball and sleeve bearings are always compared at one reliability.
"""

import numpy as np

from airover.limits import Range, check
from airover.physics import ball_bearing

MEDIAN, L10 = 0.5, 0.9  # half, and nine of ten, of such motors last longer
RELIABILITY = Range(MEDIAN, 0.9995, "")

# Weibull slopes. Fatigue: ISO 281:2007. Grease: L10 is 0.44 of L50, common practice.
FATIGUE_SLOPE, GREASE_SLOPE = ball_bearing.FATIGUE_SLOPE, ball_bearing.GREASE_SLOPE
# Oil and wear of sleeve bearings: engineering judgment, no source. Wear-out of one make in one
# place lies between 1 (mixed field data) and 3 (life tests of small fans). L10 is 0.39 of L50.
SLEEVE_SLOPE = 2.0


def over_median(reliability, slope):
    """Life at a ``reliability`` of 0.5 to 0.9995 over the median life, two-parameter Weibull.

    (ln(1/R) / ln 2)^(1/slope). Raises InputError out of range.

    >>> round(float(over_median(0.9, GREASE_SLOPE)), 2)
    0.44
    """
    reliability = check("reliability", reliability, RELIABILITY)
    return (np.log(1 / reliability) / np.log(2)) ** (1 / slope)


def fatigue_over_l10(reliability):
    """Fatigue life at a ``reliability`` of 0.5 to 0.9995 over L10: a1 of ISO 281:2007.

    The standard's table begins at 90 %. Below it the closed form of the same three-parameter
    Weibull distribution is used: 0.95 (ln(1/R) / ln(1/0.9))^(1/1.5) + 0.05. Raises InputError out
    of range.

    >>> round(float(fatigue_over_l10(0.5)), 2), float(fatigue_over_l10(0.95))
    (3.39, 0.64)
    """
    reliability = float(check("reliability", reliability, RELIABILITY))
    if reliability >= L10:
        return ball_bearing.reliability_factor(reliability)
    return 0.95 * (np.log(1 / reliability) / np.log(1 / L10)) ** (1 / FATIGUE_SLOPE) + 0.05
