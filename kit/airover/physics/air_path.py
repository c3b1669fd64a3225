"""Flow resistance of a unit's air path: coil, guard, louver and dirt.

Flow is assumed to be turbulent. The pressure loss is the resistance [Pa s2/m6] times the square of
the flow, and the resistance is proportional to air density (common practice; no published source).
For a clean coil, the exponent is actually 1.7 to 1.9, so the square law is off by a few percent at
flows other than the measured flow.
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
    """Return the resistance [Pa s2/m6] of a system with ``pressure`` [Pa] at ``flow`` [m3/s].

    The resistance is pressure / flow^2. The two values can be measured, or they can be the
    published pressure loss of a part and its flow. The resistance is valid at the air density of
    the measurement. Array arguments are broadcast against each other.

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
    """Return the resistance [Pa s2/m6] of a part from its loss factor.

    The pressure loss is K rho v^2 / 2, with loss factor K and velocity v = flow / ``face_area``.
    Handbooks of hydraulic resistance list loss factors. Array arguments are broadcast against each
    other.

    Parameters
    ----------
    loss_factor : array_like
        Pressure loss as a multiple of the velocity pressure.
    face_area : array_like
        Area [m2] on which the loss factor is based.
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
    """Convert a resistance [Pa s2/m6] to a different air density.

    At constant volume flow, turbulent pressure losses are proportional to air density. Array
    arguments are broadcast against each other.

    Parameters
    ----------
    resistance : array_like
        Resistance [Pa s2/m6] at ``density``.
    density : array_like
        Original air density [kg/m3].
    density_ratio : array_like
        Ratio of the new density to the original density.

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
    """Parts in series, all with the same airflow.

    The resistances of the parts are added. Values are numbers or arrays of samples.

    Attributes
    ----------
    coil : ndarray
        Resistance of the coil [Pa s2/m6].
    others : tuple
        Resistances [Pa s2/m6] of the guard, louver and cabinet, one per part.
    density : float
        Air density [kg/m3] at which all resistances apply.

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

        ``dirt`` is a factor by which dirt increases the coil resistance. A factor of 1 represents
        the condition of the coil when its resistance was measured. Array arguments are broadcast
        against each other.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        fouled = check("dirt", dirt, DIRT) * np.asarray(self.coil, dtype=float)
        whole = sum((np.asarray(part, dtype=float) for part in self.others), start=fouled)
        return whole * check("density", density, DENSITY) / self.density
