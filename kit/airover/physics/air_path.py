"""A changed system or a changed fan: resistance of the air path; other blade count or pitch.

Resistance of coil, guard, louver and dirt: losses are turbulent, pressure = resistance x flow^2
[Pa s2/m6], in proportion to air density (common practice, no source). A clean coil's exponent is
nearer 1.7 to 1.9, so away from the measured flow the square errs by a few per cent.

No fan law carries a change of blade count or pitch, since the new fan is not similar to the old
one. Blade-element momentum theory of a rotor in uniform inflow (Leishman, Principles of Helicopter
Aerodynamics, chapter 3, from memory, not verified) gives thrust against solidity s and pitch,

    C_T = (s a / 2) (pitch / 3 - sqrt(C_T / 2) / 2),    induced power ~ C_T^(3/2).

For solidity 0.15 to 0.5, lift slope a 4 to 6 per rad and pitch 15 to 35 degrees, thrust goes with
s^0.4..0.8 and pitch^1.2..1.6. A fan's pressure goes as its thrust; on the same system flow goes
with its root. The ranges used are wider (engineering judgment), since ducted fans and cambered or
overlapping blades depart from the theory. Hub and casing are left out: an estimate of whether a
motor could carry the new fan, not a basis for selecting one.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.core.errors import DENSITY, FLOW, PRESSURE_FAN, SHAFT_POWER, InputError, Range, check
from airover.core.intervals import Band
from airover.core.message import Message
from airover.physics.fan import RESISTANCE

FLOW_POSITIVE = Range(1e-6, FLOW.high, FLOW.unit)
PRESSURE_SYSTEM = Range(0.0, PRESSURE_FAN.high, PRESSURE_FAN.unit)
LOSS_FACTOR = Range(0.0, 1000.0, "")
FACE_AREA = Range(1e-3, 20.0, "m2")
DIRT = Range(1.0, 100.0, "")

BLADES = Range(2, 8, "blades")
BLADES_RATIO = Range(0.6, 1.7, "times as many blades")
PITCH = Range(np.radians(12.0), np.radians(40.0), "rad")
PITCH_CHANGE = np.radians(5.0)  # rad, beyond it blades stall or unload

# Exponents (low, mid, high), on one system at one speed and density.
FLOW_OF_BLADES, POWER_OF_BLADES = (0.15, 0.3, 0.5), (0.5, 0.9, 1.3)
FLOW_OF_PITCH, POWER_OF_PITCH = (0.5, 0.7, 1.0), (1.4, 2.1, 3.0)


def system_resistance(flow, pressure):
    """Resistance k [Pa s2/m6] of a system with ``pressure`` [Pa] at ``flow`` [m3/s].

    k = pressure / flow^2, from one measured point or a part's printed loss, in the air in which
    it was measured. Arrays broadcast. Raises InputError out of range.

    >>> float(system_resistance(2.0, 100.0))
    25.0
    """
    flow = check("flow", flow, FLOW_POSITIVE)
    return check("pressure", pressure, PRESSURE_SYSTEM) / flow**2


def fitting_resistance(loss_factor, face_area, density):
    """Resistance [Pa s2/m6] of a part with ``loss_factor`` K on the velocity pressure.

    Loss = K rho v^2 / 2 with v = flow / ``face_area`` [m2]; ``density`` [kg/m3]. The area is that
    for which K is printed. Any handbook of hydraulic losses. Arrays broadcast. Raises InputError
    out of range.

    >>> round(float(fitting_resistance(1.0, 0.5, 1.2)), 3)
    2.4
    """
    factor = check("loss_factor", loss_factor, LOSS_FACTOR)
    area = check("face_area", face_area, FACE_AREA)
    return factor * check("density", density, DENSITY) / (2 * area**2)


def resistance_at_density(resistance, density, density_ratio):
    """Resistance [Pa s2/m6] in air of ``density_ratio`` times the ``density`` [kg/m3] it holds for.

    Losses of turbulent flow are in proportion to density at the same volume. Arrays broadcast.
    Raises InputError out of range, also for the density that comes of it.

    >>> float(resistance_at_density(25.0, 1.2, 0.5))
    12.5
    """
    check("density", check("density", density, DENSITY) * np.asarray(density_ratio), DENSITY)
    return check("resistance", resistance, RESISTANCE) * density_ratio


@dataclass(frozen=True)
class System:
    """Parts in series, all passed by the same flow: the sum of their resistances [Pa s2/m6].

    ``coil``, and ``others`` (guard, louvre, cabinet: one number per part), all in air of
    ``density`` [kg/m3]. Numbers or arrays of samples. Raises InputError out of range.

    >>> system = System(coil=15.0, others=(4.0, 2.0), density=1.2)
    >>> float(system.resistance(1.2)), float(system.resistance(1.0, dirt=2.0))
    (21.0, 30.0)
    """

    coil: np.ndarray
    others: tuple = ()
    density: float = 1.2

    def __post_init__(self):
        check("density", self.density, DENSITY)
        check("coil", self.coil, RESISTANCE)
        for part in self.others:
            check("others", part, RESISTANCE)

    def resistance(self, density, dirt=1.0):
        """Of the whole in air of ``density`` [kg/m3], the coil's part times ``dirt``.

        ``dirt`` 1 is the coil as it was when its resistance was found. Arrays broadcast. Raises
        InputError out of range.
        """
        fouled = check("dirt", dirt, DIRT) * np.asarray(self.coil, dtype=float)
        whole = sum((np.asarray(part, dtype=float) for part in self.others), start=fouled)
        return whole * check("density", density, DENSITY) / self.density


class BladeChange(NamedTuple):
    """Estimates on the same system at the same speed and density, each a `Band`.

    ``flow`` [m3/s], static ``pressure`` [Pa], shaft ``power`` [W].
    """

    flow: Band
    pressure: Band
    power: Band


def changed_blade(
    flow, pressure, power, blades=3, blades_new=3, pitch=0.5, pitch_new=0.5
) -> BladeChange:
    """A known operating point with another number of ``blades`` or another ``pitch``.

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
