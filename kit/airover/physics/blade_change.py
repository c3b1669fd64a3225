"""A blade with another number of blades or another pitch: an estimate, as a band.

No fan law carries this: the new blade is not similar to the old one. Blade-element momentum
theory of a rotor in uniform inflow (Leishman, Principles of Helicopter Aerodynamics, chapter 3,
from memory, not verified) gives thrust against solidity and pitch,

    C_T = (s a / 2) (pitch / 3 - sqrt(C_T / 2) / 2),    induced power ~ C_T^(3/2).

For solidity s 0.15 to 0.5, lift slope a 4 to 6 per rad and pitch 15 to 35 degrees, thrust goes
with s^0.4..0.8 and pitch^1.2..1.6. A fan's pressure goes as its thrust; on the same system flow
goes with the root of it. The bands below are wider: ducted fans, cambered and overlapping blades
depart from the theory by an amount that nobody published for this trade.
"""

from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.errors import InputError
from airover.limits import FLOW, PRESSURE_FAN, SHAFT_POWER, Range, check
from airover.message import Message

SOURCE = (
    "estimate: exponents from blade-element momentum theory (Leishman, from memory, not"
    " verified), widened by own judgement; measure amps and flow with the new blade"
)
BLADES = Range(2, 8, "blades")
BLADES_RATIO = Range(0.6, 1.7, "times as many blades")
PITCH = Range(np.radians(12.0), np.radians(40.0), "rad")
PITCH_CHANGE = np.radians(5.0)  # rad, beyond it blades stall or unload

# Exponents (low, mid, high), on one system at one speed and density.
FLOW_OF_BLADES, POWER_OF_BLADES = (0.15, 0.3, 0.5), (0.5, 0.9, 1.3)
FLOW_OF_PITCH, POWER_OF_PITCH = (0.5, 0.7, 1.0), (1.4, 2.1, 3.0)


class BladeChange(NamedTuple):
    """Estimates on the same system at the same speed and density, each a `bands.Band`.

    ``flow`` [m3/s], static ``pressure`` [Pa], shaft ``power`` [W]; ``source`` says whose they are.
    """

    flow: Band
    pressure: Band
    power: Band
    source: str = SOURCE


def changed_blade(
    flow, pressure, power, blades=3, blades_new=3, pitch=0.5, pitch_new=0.5
) -> BladeChange:
    """What a known operating point becomes with another number of ``blades`` or another ``pitch``.

    ``flow`` [m3/s], ``pressure`` [Pa] and ``power`` [W] of the point with the old blade. Blades
    of the same shape, 2 to 8, at most 1.7 times as many or 0.6 times as few; ``pitch`` and
    ``pitch_new`` [rad] 12 to 40 degrees, at most 5 degrees apart. Both may change. Arrays
    broadcast. Raises InputError out of range, since no relation reaches further.

    >>> four = changed_blade(1.1, 35.0, 200.0, blades=3, blades_new=4)
    >>> [round(float(watts)) for watts in four.power]
    [231, 259, 291]
    """
    flow = check("flow", flow, FLOW)
    pressure = check("pressure", pressure, PRESSURE_FAN)
    power = check("power", power, SHAFT_POWER)
    more = _blades_ratio(blades, blades_new)
    steeper = _pitch_ratio(pitch, pitch_new)
    flow_ratio = _band(more, FLOW_OF_BLADES, steeper, FLOW_OF_PITCH)
    power_ratio = _band(more, POWER_OF_BLADES, steeper, POWER_OF_PITCH)
    return BladeChange(
        Band(*(flow * ratio for ratio in flow_ratio)),
        Band(*(pressure * ratio**2 for ratio in flow_ratio)),
        Band(*(power * ratio for ratio in power_ratio)),
    )


def _blades_ratio(blades, blades_new):
    ratio = check("blades_new", blades_new, BLADES) / check("blades", blades, BLADES)
    return check("blades_new", ratio, BLADES_RATIO)


def _pitch_ratio(pitch, pitch_new):
    old, new = check("pitch", pitch, PITCH), check("pitch_new", pitch_new, PITCH)
    change = np.abs(new - old)
    if np.any(change > PITCH_CHANGE * (1 + 1e-9)):
        given = Message("error.physics.pitch_change", angle=f"{np.degrees(change.max()):.3g}")
        most = Message("error.physics.most_pitch_change", angle=f"{np.degrees(PITCH_CHANGE):.3g}")
        raise InputError("pitch_new", given, most)
    return new / old


def _band(more, of_blades, steeper, of_pitch):
    """The product of two powers: least, middle and greatest, whichever way the ratios go."""
    ends = [
        np.sort([ratio**low, ratio**high], axis=0)
        for ratio, (low, _, high) in ((more, of_blades), (steeper, of_pitch))
    ]
    mid = more ** of_blades[1] * steeper ** of_pitch[1]
    return ends[0][0] * ends[1][0], mid, ends[0][1] * ends[1][1]
