"""Air that a warm shell sets moving by itself, alone and together with a fan's stream."""

from typing import NamedTuple

import numpy as np

from airover.limits import TEMP_AIR, Range, check
from airover.physics import air
from airover.physics.heat import DIAMETER_SHELL, LENGTH_SHELL, ZERO_CELSIUS

GRAVITY = 9.80665  # m/s2
RISE = Range(-500.0, 1e4, "K")  # a locked motor without a protector is worked too
FILM = Range(0.0, 5000.0, "W/m2K")


class FreeFilm(NamedTuple):
    """Convection coefficient [W/m2K] of a shell in still air that lies, and of one that stands."""

    lying: float
    standing: float


def nusselt_horizontal_cylinder(rayleigh, prandtl):
    """Nusselt number over the diameter of a lying cylinder; Rayleigh number up to 1e12.

    ``rayleigh`` and ``prandtl`` of the air at the mean temperature. Churchill and Chu 1975, as in
    Incropera and DeWitt, equation 9.34. Arrays broadcast. Its example
    9.4, which prints 23.3 by rounding on the way:

    >>> round(float(nusselt_horizontal_cylinder(5.073e6, 0.697)), 1)
    23.1
    """
    damping = (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.60 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2


def nusselt_vertical_plate(rayleigh, prandtl):
    """Nusselt number over the height of a standing plate, any Rayleigh number.

    ``rayleigh`` and ``prandtl`` as above. Churchill and Chu 1975, as in Incropera and DeWitt,
    equation 9.26. It holds for a standing
    cylinder that is thicker than 35 / Gr^(1/4) of its height, as motors are. Arrays broadcast.
    """
    damping = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.825 + 0.387 * rayleigh ** (1 / 6) / damping) ** 2


def free_film(diameter, length, rise, temp_air) -> FreeFilm:
    """Convection coefficient [W/m2K] of a shell in still air, by the mantle's law for its ends too.

    ``diameter`` and ``length`` [m], ``rise`` [K] of the shell over ``temp_air`` [degC]; a shell
    colder than the air counts alike. Properties of air at the mean of both temperatures, which
    is held to the 200 degC up to which they are known. Arrays broadcast. Raises InputError out of
    range.

    >>> [round(float(h), 1) for h in free_film(0.142, 0.13, 50.0, 40.0)]
    [5.4, 6.0]
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    length = check("length", length, LENGTH_SHELL)
    rise = np.abs(check("rise", rise, RISE))
    mean = check("temp_air", temp_air, TEMP_AIR) + rise / 2
    of_air = air.properties(np.minimum(mean, air.TEMP_FILM.high))
    driving = rise / (mean + ZERO_CELSIUS) * of_air.prandtl / of_air.kinematic_viscosity**2
    lying = nusselt_horizontal_cylinder(GRAVITY * driving * diameter**3, of_air.prandtl)
    standing = nusselt_vertical_plate(GRAVITY * driving * length**3, of_air.prandtl)
    k = of_air.conductivity
    return FreeFilm(lying * k / diameter, standing * k / length)


def combined_film(film, free):
    """Convection coefficient [W/m2K] of a stream and of the shell's own draught together.

    ``film`` [W/m2K] of the stream alone and ``free`` [W/m2K] of still air: cubes add up, which
    Incropera and DeWitt, section 9.9, give as the usual best exponent for streams that do not
    oppose each other. Arrays broadcast. Raises InputError out of range.

    >>> round(float(combined_film(20.0, 6.0)), 2)
    20.18
    """
    film, free = check("film", film, FILM), check("free", free, FILM)
    return np.cbrt(film**3 + free**3)
