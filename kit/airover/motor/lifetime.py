"""How long a winding lasts at the temperatures of this job; its bearings are in ``bearings``."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.motor.work import USUAL, Worked
from airover.physics import insulation

# Common practice, no source.
HOT_SPOT_OVER_AVERAGE = (5.0, 10.0)  # K
HALVING_INTERVAL = (8.0, 10.0)  # K, IEC 60216 names the range
HOTTEST = insulation.TEMP_HOT_SPOT.high  # degC
LONGEST = 1e6  # h: beyond a century of running an estimate says nothing


class Life(NamedTuple):
    """Hours as a band; ``kind`` of bearing and what ``governs`` are empty for the winding."""

    hours: Band | None
    kind: str = ""
    governed_by: str = ""


def hot_spot(temp_winding, seed: int = 0):
    """Hottest spot [degC] of a winding whose average is ``temp_winding`` [degC], draws last."""
    spot = _drawn(temp_winding, seed)["spot"]
    return np.minimum(temp_winding + uniform(HOT_SPOT_OVER_AVERAGE, spot), HOTTEST)


def life_hours(temp_winding, insulation_class, seed: int = 0):
    """Hours that insulation lasts at the average ``temp_winding`` [degC], draws on the last axis.

    Hot spot and halving interval are drawn. Raises InputError for an unknown class.
    """
    interval = uniform(HALVING_INTERVAL, _drawn(temp_winding, seed)["interval"])
    return insulation.life(hot_spot(temp_winding, seed), insulation_class, interval)


def winding_life(worked: Worked, number: int, seed: int = 0) -> Life:
    """Hours of insulation life of motor ``number`` at the job's usual voltage and design heat."""
    motor = worked.motors[number]
    if motor.insulation_class is None:
        return Life(None, governed_by="insulation class unknown")
    hours = life_hours(worked.temp_winding[USUAL, number], motor.insulation_class, seed)
    return Life(Band.of(np.minimum(hours, LONGEST)))


def _drawn(temp_winding, seed):
    rng = np.random.default_rng([seed, 2])
    return normal_draws(rng, ("spot", "interval"), np.shape(temp_winding)[-1])
