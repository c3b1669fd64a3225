"""How long a winding lasts at the temperatures of this job; its bearings are in ``bearings``."""

from typing import NamedTuple

import numpy as np

from airover.bands import Band, normal_draws, uniform
from airover.physics import insulation
from airover.work import USUAL, Worked

# Common practice, no source.
HOT_SPOT_OVER_AVERAGE = (5.0, 10.0)  # K
HALVING_INTERVAL = (8.0, 10.0)  # K, IEC 60216 names the range
LONGEST = 1e6  # h: beyond a century of running an estimate says nothing


class Life(NamedTuple):
    """Hours as a band; ``kind`` of bearing and what ``governs`` are empty for the winding."""

    hours: Band | None
    kind: str = ""
    governed_by: str = ""


def winding_life(worked: Worked, number: int, seed: int = 0) -> Life:
    """Hours of insulation life of motor ``number`` at the job's usual voltage and design heat."""
    motor = worked.motors[number]
    if motor.insulation_class is None:
        return Life(None, governed_by="insulation class unknown")
    z = normal_draws(np.random.default_rng([seed, 2]), ("spot", "interval"), worked.draws)
    average = worked.temp_winding[USUAL, number]
    hot_spot = np.minimum(average + uniform(HOT_SPOT_OVER_AVERAGE, z["spot"]), 300.0)
    interval = uniform(HALVING_INTERVAL, z["interval"])
    hours = insulation.life(hot_spot, motor.insulation_class, interval)
    return Life(Band.of(np.minimum(hours, LONGEST)))
