"""Thermal network of a motor.

The network has seven nodes: two windings, rotor, core, shell and two bearings. The surrounding air
is the boundary. Each loss enters at the node where it is generated. A winding node represents the
average of the winding, the core is a single node, and the internal air has no node. Internal heat
flows are proportional to temperature differences, so the network of each motor is reduced once to
the three nodes that reject heat to the air. The heat balance of the shell, with forced and natural
convection and radiation, is then an equation with one unknown.

Conductances and heat capacities are not measured but estimated from the size of the motor. The
reference is a 48-frame motor that is 0.14 m in diameter and 0.14 m long. The reference motor has 36
slots, each with a 0.25 mm liner, a 50 mm stack that is pressed into a steel shell, a 0.35 mm air
gap without vortices, a 1/2 in. shaft and 2.5 mm end shields. Each conductance is scaled with the
surface area or length of its heat path. Heat capacities are fractions of a typical mass per volume
(engineering judgment).
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.errors import RATIO, TEMP_AIR, Range, check
from airover.physics import heat
from airover.physics.heat import DIAMETER_SHELL, LENGTH_SHELL, combined_film, free_film, shell_area

CONDUCTANCE = Range(1e-6, 1e7, "W/K")
CAPACITY = Range(1e-3, 1e6, "J/K")
HUB = Range(0.0, 5.0, "m2")
FIN = Range(0.0, 1e3, "W/K")
AT_BEARINGS = 0.7  # fraction of friction loss in the bearings (the rest is windage); no source
GUESS = 30.0  # K, initial shell temperature rise for natural convection
STILL = 1e-10  # relative change in shell temperature rise that ends the iteration
FACTOR = Range(1e-3, 1e3, "")
SHARE = Range(0.0, 0.9, "")
DENSITY_BODY = Range(500.0, 9000.0, "kg/m3")
USUAL_DENSITY = 3250.0  # kg/m3, for 7 kg in a body of 0.14 m by 0.14 m, common practice
REFERENCE = 0.14  # m, diameter and length for the conductances below

_ACCEPTED = {
    "diameter": DIAMETER_SHELL,
    "length": LENGTH_SHELL,
    "area": heat.AREA,
    "hub": HUB,
    "fin": FIN,
    "emissivity": heat.EMISSIVITY,
    "upright": RATIO,
}


class Nodes(NamedTuple):
    """Node values: temperatures [degC], losses [W] or heat capacities [J/K].

    Winding temperatures are averages, as in a resistance measurement. ``bearing_blade`` is the
    fan-end bearing and ``bearing_far`` is the opposite-end bearing.
    """

    winding_main: float
    winding_aux: float
    rotor: float
    core: float
    shell: float
    bearing_blade: float
    bearing_far: float

    @classmethod
    def all_at(cls, value) -> "Nodes":
        """Return nodes with the same ``value`` [degC], as in a motor that has been off for hours."""
        return cls(*[value] * len(cls._fields))

    def part(self, which) -> "Nodes":
        """Return the nodes with the index or slice ``which`` applied to each array."""
        return Nodes(*(value[which] for value in self))


class Inside(NamedTuple):
    """Internal conductances [W/K], named after the two nodes that they connect.

    The windings are connected to the core through the slots, to each other where they are adjacent,
    and to the shell through the internal air. The rotor is connected to the core across the air gap
    and to the bearings along the shaft. The bearings are connected to the shell through the end
    shields.
    """

    main_core: float
    aux_core: float
    main_aux: float
    main_shell: float
    aux_shell: float
    core_shell: float
    rotor_core: float
    rotor_shell: float
    rotor_blade: float
    rotor_far: float
    blade_shell: float
    far_shell: float


MAIN, AUX, ROTOR, CORE, SHELL, BLADE, FAR = range(7)


LINKS = Inside(
    main_core=(MAIN, CORE),
    aux_core=(AUX, CORE),
    main_aux=(MAIN, AUX),
    main_shell=(MAIN, SHELL),
    aux_shell=(AUX, SHELL),
    core_shell=(CORE, SHELL),
    rotor_core=(ROTOR, CORE),
    rotor_shell=(ROTOR, SHELL),
    rotor_blade=(ROTOR, BLADE),
    rotor_far=(ROTOR, FAR),
    blade_shell=(BLADE, SHELL),
    far_shell=(FAR, SHELL),
)


# W/K, estimated from these dimensions as area times conductivity over thickness, with 300 W/m2K for
# a liner and the windings in it, 700 for a press fit, and 20 to 25 for the internal air.
IN_REFERENCE = Inside(
    main_core=7.0,
    aux_core=7.0,
    main_aux=3.0,
    main_shell=0.3,
    aux_shell=0.3,
    core_shell=14.0,
    rotor_core=1.0,
    rotor_shell=0.5,
    rotor_blade=0.13,
    rotor_far=0.13,
    blade_shell=1.2,
    far_shell=1.2,
)


# W/K, (pi/2) sqrt(h k d^3) for a long steel pin 12.7 mm thick with a coefficient of 47 W/m2K. A
# bare pin in a 6 m/s airstream would have 0.15, but the hub and shell shield it (engineering
# judgment).
FIN_IN_REFERENCE = 0.12


# Mass fractions and specific heats [J/kgK]: copper 385, aluminum 903, plain carbon steel 434,
# silicon steel 460. The first three are from Incropera and DeWitt, table A.1, 300 K (from memory,
# not verified). The mass fractions are common practice; no published source.
COPPER, ALUMINIUM, STEEL, SILICON_STEEL = 385.0, 903.0, 434.0, 460.0


COPPER_MAIN, COPPER_AUX = 0.06, 0.05


PER_MASS = Nodes(
    winding_main=COPPER_MAIN * COPPER,
    winding_aux=COPPER_AUX * COPPER,
    rotor=0.03 * ALUMINIUM + 0.17 * SILICON_STEEL + 0.05 * STEEL,
    core=0.38 * SILICON_STEEL,
    shell=0.20 * STEEL,
    bearing_blade=0.03 * STEEL,
    bearing_far=0.03 * STEEL,
)


def placed(loss_main, loss_aux, loss_rotor, loss_core, loss_friction, sun=0.0) -> Nodes:
    """Assign the losses [W] to the nodes where they are generated.

    The two bearings share 70 % of the friction loss equally, and 30 % is assigned to the rotor
    (engineering judgment). Array arguments are broadcast against each other.

    Parameters
    ----------
    loss_main, loss_aux, loss_rotor, loss_core, loss_friction : array_like
        Losses [W], as in a `circuit.Solution`.
    sun : array_like, optional
        Solar heat [W] absorbed by the shell.
    """
    bearing = AT_BEARINGS / 2 * loss_friction
    windage = (1 - AT_BEARINGS) * loss_friction
    return Nodes(loss_main, loss_aux, loss_rotor + windage, loss_core, sun, bearing, bearing)


@dataclass(frozen=True)
class Network:
    """Thermal network of one or more motors.

    Every value can be an array, and arrays are broadcast against each other. Radiation from the
    hubs is linearized.

    Attributes
    ----------
    inside : Inside
        Internal conductances [W/K].
    diameter, length : float
        Dimensions [m] of the shell.
    area : float
        Area [m2] of the shell without the hubs.
    hub : float
        Area [m2] of the part of each end shield that is at bearing temperature.
    fin : float
        Conductance [W/K] of the shaft end that carries the fan.
    capacity : Nodes
        Heat capacity [J/K] of each node.
    emissivity : float
        Emissivity of the shell: 0.9 for paint, 0 for no radiation.
    upright : float
        Shaft position: 1 for vertical, 0 for horizontal, or a value in between if unknown.

    Raises
    ------
    InputError
        If a value is out of range.
    """

    inside: Inside
    diameter: float
    length: float
    area: float
    hub: float
    fin: float
    capacity: Nodes
    emissivity: float = 0.9
    upright: float = 1.0

    def __post_init__(self):
        for field, accepted in _ACCEPTED.items():
            object.__setattr__(self, field, check(field, getattr(self, field), accepted))
        for group, accepted in ((self.inside, CONDUCTANCE), (self.capacity, CAPACITY)):
            for field, value in group._asdict().items():
                check(field, value, accepted)

    def better(self, share) -> "Network":
        """Return the same motor with all conductances multiplied by ``share``.

        If the losses are multiplied by the same factor, the temperatures do not change.
        """
        wider = {name: getattr(self, name) * share for name in ("area", "hub", "fin")}
        return replace(self, inside=Inside(*(g * share for g in self.inside)), **wider)

    def rearranged(self, rearrange) -> "Network":
        """Return the network with ``rearrange``, a selection or reshape, applied to each array."""
        values = {name: rearrange(getattr(self, name)) for name in _ACCEPTED}
        inside, capacity = map(rearrange, self.inside), map(rearrange, self.capacity)
        return Network(inside=Inside(*inside), capacity=Nodes(*capacity), **values)

    def matrix(self) -> np.ndarray:
        """Return the symmetric matrix of conductances [W/K] between nodes, shape (..., 7, 7).

        The sum of each row is 0. The product of the matrix and the node temperatures is the heat
        [W] that flows from each node to the other nodes.
        """
        found = np.zeros((*np.broadcast_shapes(*map(np.shape, self.inside)), 7, 7))
        for conductance, (one, other) in zip(self.inside, LINKS, strict=True):
            found[..., one, other] -= conductance
            found[..., other, one] -= conductance
            found[..., one, one] += conductance
            found[..., other, other] += conductance
        return found

    @cached_property
    def reduced(self) -> "_Reduced":
        matrix = self.matrix()
        inner = np.linalg.inv(matrix[..., :4, :4])
        across = matrix[..., 4:, :4]
        share = -across @ inner
        tie = -(matrix[..., 4:, 4:] + share @ np.swapaxes(across, -1, -2))

        def leading(array):  # node axes first, so each entry is an array over motors
            return np.ascontiguousarray(np.moveaxis(array, (-2, -1), (0, 1)))

        return _Reduced(
            leading(inner), leading(share), tie[..., 0, 1], tie[..., 0, 2], tie[..., 1, 2]
        )

    def inner_rises(self, losses: Nodes) -> tuple:
        """Return the temperature rises [K] of windings, rotor and core above shell and bearings.

        The shell and bearings are assumed to be at the same temperature. ``losses`` are the losses
        [W] at the nodes. Array arguments are broadcast against each other.
        """
        return tuple(_summed(row, losses[:4]) for row in self.reduced.rise)

    def film(self, film, rise, temp_air):
        """Return the combined coefficient [W/m2K] for forced and natural convection.

        Parameters
        ----------
        film
            Forced convection coefficient [W/m2K].
        rise
            Temperature rise [K] of the shell above the air.
        temp_air
            Air temperature [degC].

        Raises
        ------
        InputError
            If a value is out of range.
        """
        return combined_film(film, self.still_film(rise, temp_air))

    def still_film(self, rise, temp_air):
        """Return the natural convection coefficient [W/m2K], with arguments as in `film`."""
        free = free_film(self.diameter, self.length, rise, temp_air)
        return free.horizontal + self.upright * (free.vertical - free.horizontal)

    def to_air(self, temps: Nodes, film, temp_air) -> Nodes:
        """Return the heat [W] that each node rejects to the air.

        Parameters
        ----------
        temps : Nodes
            Node temperatures [degC].
        film
            Forced convection coefficient [W/m2K], 0 without an airstream.
        temp_air
            Temperature [degC] of the air and of the surroundings for radiation.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        rise = temps.shell - temp_air
        film = self.film(film, rise, temp_air)
        blade, far = self._bearings_to_air(film, temp_air)
        base = temp_air + heat.ZERO_CELSIUS
        radiated = self.emissivity * heat.STEFAN_BOLTZMANN * ((base + rise) ** 4 - base**4)
        shell = self.area * (film * rise + radiated)
        outside = (
            shell,
            blade * (temps.bearing_blade - temp_air),
            far * (temps.bearing_far - temp_air),
        )
        return Nodes(0.0, 0.0, 0.0, 0.0, *outside)

    def _bearings_to_air(self, film, temp_air):
        """Return the conductances [W/K] from the fan-end and opposite-end bearings to the air."""
        base = temp_air + heat.ZERO_CELSIUS
        hub = self.hub * (film + 4 * self.emissivity * heat.STEFAN_BOLTZMANN * base**3)
        return hub + self.fin, hub

    def approach(self, losses: Nodes, film, temp_air, temp_shell) -> Nodes:
        """Return approximate node temperatures [degC] for an estimated shell temperature.

        The function performs one iteration of `steady`. If the fan is turning, the result is close
        to the converged result. Array arguments are broadcast against each other.

        Parameters
        ----------
        losses : Nodes
            Losses [W] at the nodes.
        film : array_like
            Forced convection coefficient [W/m2K].
        temp_air : array_like
            Air temperature [degC].
        temp_shell : array_like
            Estimated shell temperature [degC], which affects only natural convection.

        Raises
        ------
        InputError
            If a value is out of range.
        """
        film = self.film(film, temp_shell - temp_air, temp_air)
        inside = self.reduced
        shell, blade, far = (
            own + _summed(row, losses[:4])
            for own, row in zip(losses[4:], inside.share, strict=True)
        )
        blade_air, far_air = self._bearings_to_air(film, temp_air)
        # Bearing rises as linear functions of the shell rise: at + slope x rise.
        of_blade = inside.shell_blade + inside.blade_far + blade_air
        of_far = inside.shell_far + inside.blade_far + far_air
        both = of_blade * of_far - inside.blade_far**2
        blade_at = (of_far * blade + inside.blade_far * far) / both
        far_at = (of_blade * far + inside.blade_far * blade) / both
        blade_slope = (of_far * inside.shell_blade + inside.blade_far * inside.shell_far) / both
        far_slope = (of_blade * inside.shell_far + inside.blade_far * inside.shell_blade) / both

        lost = inside.shell_blade * (1 - blade_slope) + inside.shell_far * (1 - far_slope)
        gained = shell + inside.shell_blade * blade_at + inside.shell_far * far_at
        rise = heat.shell_rise(
            gained, self.area, film + lost / self.area, temp_air, self.emissivity
        )
        outer = rise, blade_at + blade_slope * rise, far_at + far_slope * rise
        inner = (
            _summed(row, losses[:4]) + _summed(column, outer)
            for row, column in zip(inside.rise, np.swapaxes(inside.share, 0, 1), strict=True)
        )
        return Nodes(*(temp_air + x for x in (*inner, *outer)))

    def steady(self, losses: Nodes, film, temp_air) -> Nodes:
        """Return the steady-state node temperatures [degC].

        Array arguments are broadcast against each other.

        Parameters
        ----------
        losses : Nodes
            Losses [W] at the nodes.
        film : array_like
            Forced convection coefficient [W/m2K], 0 if the fan is stopped.
        temp_air : array_like
            Air temperature [degC].

        Raises
        ------
        InputError
            If a value is out of range.
        ArithmeticError
            If the iteration does not converge.
        """
        check("temp_air", temp_air, TEMP_AIR)
        found = self.approach(losses, film, temp_air, temp_air + GUESS)
        for _ in range(80):
            following = self.approach(losses, film, temp_air, found.shell)
            step = np.abs(following.shell - found.shell)
            found = following
            if np.all(step <= STILL * (1.0 + np.abs(found.shell))):
                return found
        raise ArithmeticError("the shell's film and its rise found no agreement")

    def time_constants(self, temps: Nodes, film, temp_air) -> np.ndarray:
        """Return the seven time constants [s] for small temperature changes, longest first.

        The time constants are calculated from the eigenvalues of the linearized network and have
        shape (7, ...). The natural convection coefficient is fixed at its value for ``temps``. As a
        result, the time constants are 5 % too long in still air and 0.2 % too long at a coefficient
        of 25 W/m2K.

        Parameters
        ----------
        temps : Nodes
            Node temperatures [degC].
        film
            Forced convection coefficient [W/m2K].
        temp_air
            Air temperature [degC].

        Raises
        ------
        InputError
            If a value is out of range.
        """
        film = self.film(film, temps.shell - temp_air, temp_air)
        radiant = 4 * self.emissivity * heat.STEFAN_BOLTZMANN
        shell = self.area * (film + radiant * (temps.shell + heat.ZERO_CELSIUS) ** 3)
        blade, far = self._bearings_to_air(film, temp_air)
        outside = np.broadcast_arrays(*np.zeros(4), shell, blade, far)
        matrix = self.matrix() + np.stack(outside, axis=-1)[..., None] * np.eye(7)
        root = np.sqrt(np.stack(np.broadcast_arrays(*self.capacity), axis=-1))
        rates = np.linalg.eigvalsh(matrix / (root[..., :, None] * root[..., None, :]))
        return np.moveaxis(1 / rates, -1, 0)


def usual_network(
    diameter, length, inside=None, hub_share=0.25, emissivity=0.9, upright=1.0
) -> Network:
    """Return the network of a typical motor.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    diameter, length : array_like
        Dimensions [m] of the shell.
    inside : array_like, optional
        Internal conductances [W/K], or None for typical values.
    hub_share : array_like, optional
        Fraction of each end shield that is at bearing temperature, 0.15 to 0.35 (engineering
        judgment).
    emissivity : array_like, optional
        Emissivity of the shell, 0 for no radiation.
    upright : array_like, optional
        Shaft position: 0 for horizontal, 1 for vertical.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    hub = check("hub_share", hub_share, SHARE) * np.pi / 4 * np.square(diameter)
    return Network(
        inside=usual_inside(diameter, length) if inside is None else inside,
        diameter=diameter,
        length=length,
        area=shell_area(diameter, length) - 2 * hub,
        hub=hub,
        fin=FIN_IN_REFERENCE * (np.asarray(diameter) / REFERENCE) ** 1.5,
        capacity=usual_capacity(diameter, length),
        emissivity=emissivity,
        upright=upright,
    )


def usual_inside(diameter, length, ways_stator=1.0, ways_rotor=1.0, ways_shields=1.0) -> Inside:
    """Return the internal conductances [W/K] of a typical motor.

    The factors represent differences between motors of the same size. The conductances of the
    slots, the press fit and the air gap are proportional to the diameter times the length. The
    conductances of the ends are proportional to the diameter squared. Array arguments are broadcast
    against each other.

    Parameters
    ----------
    diameter, length : array_like
        Dimensions [m] of the shell.
    ways_stator : array_like, optional
        Multiplier for the conductances from the windings to the shell.
    ways_rotor : array_like, optional
        Multiplier for the conductances of the rotor.
    ways_shields : array_like, optional
        Multiplier for the conductances of the end shields.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    d = check("diameter", diameter, DIAMETER_SHELL) / REFERENCE
    x = check("length", length, LENGTH_SHELL) / REFERENCE
    ways_stator = check("ways_stator", ways_stator, FACTOR)
    ways_rotor = check("ways_rotor", ways_rotor, FACTOR)
    ways_shields = check("ways_shields", ways_shields, FACTOR)
    grown = Inside(
        main_core=ways_stator * d * x,
        aux_core=ways_stator * d * x,
        main_aux=ways_stator * d * x,
        main_shell=ways_stator * d**2,
        aux_shell=ways_stator * d**2,
        core_shell=ways_stator * d * x,
        rotor_core=ways_rotor * d * x,
        rotor_shell=ways_rotor * d**2,
        rotor_blade=ways_rotor * d**2 / x,
        rotor_far=ways_rotor * d**2 / x,
        blade_shell=ways_shields * d,
        far_shell=ways_shields * d,
    )
    return Inside(*(g * factor for g, factor in zip(IN_REFERENCE, grown, strict=True)))


def usual_capacity(diameter, length, density=USUAL_DENSITY) -> Nodes:
    """Return the heat capacities [J/K] of the nodes of a typical motor.

    Array arguments are broadcast against each other.

    Parameters
    ----------
    diameter, length : array_like
        Dimensions [m] of the shell.
    density : array_like, optional
        Mean density [kg/m3] of the motor.

    Raises
    ------
    InputError
        If a value is out of range.
    """
    diameter = check("diameter", diameter, DIAMETER_SHELL)
    length = check("length", length, LENGTH_SHELL)
    mass = check("density", density, DENSITY_BODY) * np.pi / 4 * diameter**2 * length
    return Nodes(*(mass * each for each in PER_MASS))


class _Reduced(NamedTuple):
    """Internal network, reduced to the three outer nodes (shell and bearings).

    Attributes
    ----------
    rise : ndarray
        Temperature rise [K/W] of the four inner nodes per unit loss, shape (4, 4), with the outer
        nodes at a fixed temperature.
    share : ndarray
        Fraction of each inner loss that flows to each outer node, shape (3, 4).
    shell_blade, shell_far, blade_far : ndarray
        Conductances [W/K] between the outer nodes.
    """

    rise: np.ndarray
    share: np.ndarray
    shell_blade: np.ndarray
    shell_far: np.ndarray
    blade_far: np.ndarray


def _summed(weights, values):
    """Return the weighted sum of ``values``."""
    return sum(a * b for a, b in zip(weights, values, strict=True))
