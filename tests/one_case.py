"""One motor on one job as the checks see it, its figures told and not worked.

So a check is asked right at its limit, and in no time. The motor is the second of two: figures of
the first are NaN, and nobody may look at them.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from airover.bands import Band
from airover.choose.case import Case
from airover.choose.check import Check
from airover.motor.lifetime import Life

from .jobs import job, motor

ORDINARY = job()  # read once
POINTS = 21  # so that 5, 50 and 95 per cent are draws themselves
FIGURES = {  # at the usual voltage, or at the low, the usual and the high one
    "current_a": Band(1.6, 1.7, 1.8),
    "speed_rpm": (Band(1060.0, 1070.0, 1080.0), Band(1080.0, 1090.0, 1100.0), None),
    "speed_ratio": Band(0.98, 1.0, 1.02),
    "flow_m3s": Band(1.0, 1.1, 1.2),
    "capacitor_v": Band(330.0, 340.0, 350.0),
    "temp_c": (Band(105.0, 112.0, 119.0), Band(100.0, 110.0, 120.0), Band(95.0, 108.0, 121.0)),
}
NOTHING = Band(np.nan, np.nan, np.nan)


def case(
    a_job=None, a_motor=None, *, system="US", line=(220.0, 232.0, 244.0), frequency=60.0,
    needed=(200.0, 213.0, 230.0), air=(50.0, 52.0, 54.0), reserve=(1.5, 2.0, 2.5), met=True,
    starts=True, slip=0.1, **figures,
) -> Case:  # fmt: skip
    """The ordinary motor on the ordinary job (see ``jobs``), with changed facts and figures.

    ``needed`` [W] and ``air`` [degC] are bands; ``met`` is whether the last draw of the motor's
    circuit meets its plate; ``starts`` and ``slip`` on the low voltage are of one draw or of each.
    """
    worked = SimpleNamespace(
        job=job(**a_job) if a_job else ORDINARY,
        motors=(motor(), motor(**(a_motor or {}))),
        conditions=SimpleNamespace(
            system=system,
            voltage=np.array(line),
            frequency=frequency,
            shaft_power=_draws(needed),
            temp_air=_draws(air),
        ),
        bands={name: _ends(told) for name, told in (FIGURES | figures).items()},
        reserve=np.stack([_draws(NOTHING), _draws(reserve)]),
        rated=SimpleNamespace(met=np.array([[False, False], [True, met]])),
        starts=_at_low(starts, False),
        slip=_at_low(slip, 1.0),
    )
    return Case(worked, 1)


def living(bearing=None, winding=None) -> SimpleNamespace:
    """A case of which nothing is known but how long its bearings or its winding last."""
    return SimpleNamespace(bearing_life=bearing, winding_life=Life(winding))


def near(check: Check) -> Check:
    """The same, to be compared but for the last digits of its figures."""
    return Check(*(one if isinstance(one, str | None) else pytest.approx(one) for one in check))


def name(one) -> str:
    """What pytest calls a check, and what it says, in a row of a table."""
    return getattr(one, "state", None) or getattr(one, "__name__", "")


def _draws(band):
    """Draws whose band is ``band``."""
    return np.interp(np.linspace(0, 1, POINTS), (0.05, 0.5, 0.95), band)


def _ends(told) -> Band:
    """A band whose members are (voltages, motors), from the told one of the second motor."""
    bands = (None, told, None) if isinstance(told, Band) else told
    rows = [(NOTHING, NOTHING if band is None else band) for band in bands]
    return Band(*np.moveaxis(np.array(rows), -1, 0))


def _at_low(second, elsewhere):
    """(voltages, motors, draws): the ``second`` motor's on the low voltage, else ``elsewhere``."""
    found = np.full((3, 2, np.size(second)), elsewhere)
    found[0, 1] = second
    return found
