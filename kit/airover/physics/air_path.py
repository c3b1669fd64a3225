"""Air path of a unit: flow resistance of coil, guard, louver and dirt, as samples or numbers.

Flow is assumed turbulent: pressure loss = resistance x flow^2, with resistance in Pa s2/m6,
proportional to air density (common practice; no published source). The exponent of a clean coil is
nearer 1.7 to 1.9, so away from the measured flow the square law is wrong by a few percent.
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
    """Return the resistance k [Pa s2/m6] of a system with ``pressure`` [Pa] at ``flow`` [m3/s].

    k = pressure / flow^2, from one measured point or from a part's published pressure loss. The
    resistance applies to the air density of the measurement. Array arguments are broadcast against
    each other.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> float(system_resistance(2.0, 100.0))
    25.0
    """
    flow = check("flow", flow, FLOW_POSITIVE)
    return check("pressure", pressure, PRESSURE_SYSTEM) / flow**2


def fitting_resistance(loss_factor, face_area, density):
    """Return the resistance [Pa s2/m6] of a part from its ``loss_factor`` K.

    Pressure loss = K rho v^2 / 2 with v = flow / ``face_area``. Any handbook of hydraulic losses.
    Array arguments are broadcast against each other.

    Parameters
    ----------
    loss_factor : array_like
        Multiple of the velocity pressure.
    face_area : array_like
        Area for which K is published [m2].
    density : array_like
        Air density [kg/m3].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> round(float(fitting_resistance(1.0, 0.5, 1.2)), 3)
    2.4
    """
    factor = check("loss_factor", loss_factor, LOSS_FACTOR)
    area = check("face_area", face_area, FACE_AREA)
    return factor * check("density", density, DENSITY) / (2 * area**2)


def resistance_at_density(resistance, density, density_ratio):
    """Return the resistance [Pa s2/m6] converted to another air density.

    At constant volume flow, turbulent pressure losses are proportional to air density. Array
    arguments are broadcast against each other.

    Parameters
    ----------
    resistance : array_like
        Resistance [Pa s2/m6] at ``density``.
    density : array_like
        Original air density [kg/m3].
    density_ratio : array_like
        New density over original density.

    Raises
    ------
    InputError
        If a value or the new density is out of range.

    Examples
    --------
    >>> float(resistance_at_density(25.0, 1.2, 0.5))
    12.5
    """
    check("density", check("density", density, DENSITY) * np.asarray(density_ratio), DENSITY)
    return check("resistance", resistance, RESISTANCE) * density_ratio


@dataclass(frozen=True)
class System:
    """Parts in series with the same airflow; their resistances [Pa s2/m6] add up.

    Values are numbers or arrays of samples.

    Attributes
    ----------
    coil : ndarray
        Resistance of the coil [Pa s2/m6].
    others : tuple
        Resistances of the guard, louver and cabinet, one number per part [Pa s2/m6].
    density : float
        Air density for all resistances [kg/m3].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
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
        """Return the system resistance [Pa s2/m6] in air of ``density`` [kg/m3].

        ``dirt`` multiplies the coil resistance; 1 is the coil in the condition in which its
        resistance was determined. Array arguments are broadcast against each other.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        fouled = check("dirt", dirt, DIRT) * np.asarray(self.coil, dtype=float)
        whole = sum((np.asarray(part, dtype=float) for part in self.others), start=fouled)
        return whole * check("density", density, DENSITY) / self.density
