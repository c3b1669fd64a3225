"""Air path of a unit: resistance of coil, guard, louver and dirt, as samples or numbers.

Losses are turbulent, pressure = resistance x flow^2 [Pa s2/m6], in proportion to air density
(common practice, no source). A clean coil's exponent is nearer 1.7 to 1.9, so away from the
measured flow the square errs by a few per cent.
"""

from dataclasses import dataclass

import numpy as np

from airover.core.errors import DENSITY, FLOW, PRESSURE_FAN, Range, check
from airover.physics.fan import RESISTANCE

FLOW_POSITIVE = Range(1e-6, FLOW.high, FLOW.unit)
PRESSURE_SYSTEM = Range(0.0, PRESSURE_FAN.high, PRESSURE_FAN.unit)
LOSS_FACTOR = Range(0.0, 1000.0, "")
FACE_AREA = Range(1e-3, 20.0, "m2")
DIRT = Range(1.0, 100.0, "")


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
